"""Contours of a grid of heights on the map, and outcrops projected over it."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely
from contourpy import LineType, contour_generator
from numpy.typing import NDArray
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from traverse.ground.records import GroundModel, Terrain
from traverse.record import record
from traverse.sheet.page import Anchor, Face, Item, Path, Point, Text, polyline
from traverse.sheet.scale import Window
from traverse.sheet.style import CONTOUR, CONTOUR_FIGURE, PENS, PROJECTED_BAND, WHITE
from traverse.sheet.words import NO_BREAK, number, plain

_APART_MM = 2.5
"""Contours lie this far apart on paper on half of the ground, or farther."""
_FIFTH = 5
_SIMPLE_MM = 0.05
_LEAST_MM = 4.0
_FIGURE_EVERY_MM = 60.0
_MOST_CELLS = 500


@record(frozen=True, kw_only=True)
class GroundDrawing:
    """Contours and projected outcrops, what the figures stand on, and what is to be said of the heights."""

    contours: tuple[Item, ...]
    figures: tuple[tuple[str, Point, float], ...]
    """Height, place, and turn counter-clockwise; for those that find room."""
    bands: tuple[Item, ...]
    traces: tuple[Item, ...]
    signs: tuple[str, ...]
    words: str


def interval_m(terrain: Terrain, scale: int) -> int:
    """Contour interval: 1, 2 or 5 with noughts, so that half of the ground has them 2.5 mm apart or farther."""
    rise = np.hypot(
        *np.gradient(
            terrain.up_m, terrain.north_m[1] - terrain.north_m[0], terrain.east_m[1] - terrain.east_m[0]
        )
    )
    known = rise[np.isfinite(rise)]
    slope = float(np.median(known)) if known.size else 0.0
    wanted = max(1.0, slope * _APART_MM * scale / 1000.0)
    power = 10 ** math.floor(math.log10(wanted))
    return next(int(digit * power) for digit in (1, 2, 5, 10) if digit * power >= wanted - 1e-6)


def draw_ground(model: GroundModel, window: Window, walked: BaseGeometry | None) -> GroundDrawing:
    """Contours inside the window; a hole in the heights is a gap. Projected outcrops in a pen of their own.

    On the ground that was `walked`, outlined in millimetres, the contact itself is drawn, and no projection of it.
    """
    terrain = _inside(model.terrain, window)
    contours: list[Item] = []
    figures: list[tuple[str, Point, float]] = []
    words = ""
    if terrain is not None:
        interval = interval_m(terrain, window.scale)
        for level, line in _lines(terrain, interval, window):
            fifth = round(level / interval) % _FIFTH == 0
            contours.append(
                Path(
                    commands=polyline([(x, y) for x, y in line.coords]),
                    pen=PENS["contour every fifth" if fifth else "contour"],
                )
            )
            if fifth:
                figures += _figures(level, line)
        words = (
            f"contours every {interval}{NO_BREAK}m; heights of {plain(model.terrain.name)},"
            f" {number(model.terrain.spacing_m)}{NO_BREAK}m apart"
        )
    bands: list[Item] = []
    traces: list[Item] = []
    for outcrop in model.outcrops:
        for ring in outcrop.band:
            commands = polyline([window.at(*point) for point in ring], close=True)
            bands.append(Path(commands=commands, fill=PROJECTED_BAND))
        for line_m in outcrop.lines:
            whole = LineString([window.at(*point) for point in line_m])
            shown: BaseGeometry = whole if walked is None else whole.difference(walked)
            traces += [
                Path(commands=polyline([(x, y) for x, y in part.coords]), pen=PENS["projected trace"])
                for part in shapely.get_parts(shown)
                if isinstance(part, LineString) and part.length > 0.0
            ]
    signs = (*(("contour",) if contours else ()), *(("projected trace",) if traces else ()))
    return GroundDrawing(
        contours=tuple(contours),
        figures=tuple(figures),
        bands=tuple(bands),
        traces=tuple(traces),
        signs=signs,
        words=words,
    )


def _inside(terrain: Terrain, window: Window) -> Terrain | None:
    """The part of the grid that the window shows, with a line more all round."""
    spans = (
        (terrain.east_m, window.east_m, window.box.width),
        (terrain.north_m, window.north_m, window.box.height),
    )
    kept: list[NDArray[np.intp]] = []
    for values, low, wide_mm in spans:
        high = low + wide_mm * window.scale / 1000.0
        step = float(values[1] - values[0])
        found = np.flatnonzero((values >= low - step) & (values <= high + step))
        found = found[:: max(1, len(found) // _MOST_CELLS)]
        if len(found) < 2:
            return None
        kept.append(found)
    columns, rows = kept
    return Terrain(
        name=terrain.name,
        east_m=terrain.east_m[columns],
        north_m=terrain.north_m[rows],
        up_m=terrain.up_m[np.ix_(rows, columns)],
    )


def _lines(terrain: Terrain, interval: int, window: Window) -> Iterator[tuple[float, LineString]]:
    up = np.ma.masked_invalid(terrain.up_m)
    if up.count() == 0:
        return
    drawn = contour_generator(terrain.east_m, terrain.north_m, up, line_type=LineType.Separate)
    low, high = float(up.min()), float(up.max())
    for level in range(math.ceil(low / interval), math.floor(high / interval) + 1):
        for points in drawn.lines(float(level * interval)):
            on_page = [window.at(float(x), float(y)) for x, y in np.asarray(points)]
            if len(on_page) > 1:
                line = LineString(on_page)
                if line.length >= _LEAST_MM:
                    simple = line.simplify(_SIMPLE_MM)
                    assert isinstance(simple, LineString)
                    yield float(level * interval), simple


def _figures(level: float, line: LineString) -> Iterator[tuple[str, Point, float]]:
    """Places along a line for its height, head up the slope or not: whichever reads from below."""
    count = max(1, int(line.length / _FIGURE_EVERY_MM))
    for index in range(count):
        along = line.length * (index + 0.5) / count
        at, before, after = (line.interpolate(along + step) for step in (0.0, -1.5, 1.5))
        turn = math.degrees(math.atan2(after.y - before.y, after.x - before.x))
        turn = turn - 180.0 if turn > 90.0 else turn + 180.0 if turn < -90.0 else turn
        yield number(level), (at.x, at.y), turn


def contour_figure(text: str, at: Point, turn_deg: float) -> Text:
    """A height on its contour, which it breaks."""
    turn = math.radians(turn_deg)
    drop = CONTOUR_FIGURE * 0.115
    return Text(
        at=(at[0] + drop * math.sin(turn), at[1] - drop * math.cos(turn)),
        text=text,
        face=Face.REGULAR,
        size_pt=CONTOUR_FIGURE,
        colour=CONTOUR,
        anchor=Anchor.MIDDLE,
        turn_deg=turn_deg,
        halo=WHITE,
        halo_mm=0.4,
    )
