"""Contours of a grid of heights on the map, and outcrops projected over it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely
from contourpy import LineType, contour_generator
from numpy.typing import NDArray
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from traverse.ground.records import Outcrop
from traverse.heights.records import Terrain
from traverse.length import METRES, Lengths
from traverse.record import record
from traverse.shapes import lines_in, points_of
from traverse.sheet.map.on_page import outline
from traverse.sheet.paper.growing import Shapes
from traverse.sheet.paper.labels import Taken, text_size
from traverse.sheet.paper.page import Anchor, Box, Face, Item, Path, Point, Text, polyline
from traverse.sheet.paper.style import CONTOUR_FIGURE, GREY_45, PENS, PROJECTED_BAND, WHITE
from traverse.sheet.paper.window import Window
from traverse.sheet.paper.words import number, plain

_APART_MM = 10.0
"""Contours lie this far apart on paper on half of the ground, or farther: what was seen is drawn between them."""
_FIFTH = 5
_SIMPLE_MM = 0.05
_LEAST_MM = 4.0
_FIGURE_EVERY_MM = 90.0
_FIGURE_LEAST_MM = 20.0
"""A contour shorter than this has no figure."""
_FIGURE_STEP_MM = 3.0
_FIGURE_IN_MM = 6.0
"""A figure's middle lies this far from the end of its line at least."""
_BENT_DEG = 15.0
"""A line that bends by more than this under its figure has it elsewhere."""
_CROWDED_MM = 8.0
"""Where contours lie nearer than this to each other on paper, every fifth alone has a figure."""
_MOST_CELLS = 500


@record(frozen=True, kw_only=True)
class Height:
    """The height of a contour, and where on it the figure may stand, best first."""

    text: str
    stands: tuple[tuple[Point, float], ...]
    """Middle, and turn counter-clockwise in degrees."""


@record(frozen=True, kw_only=True)
class GroundDrawing:
    """Contours and projected outcrops, what the figures stand on, and what is to be said of the heights."""

    contours: tuple[Item, ...]
    figures: tuple[Height, ...]
    bands: tuple[Item, ...]
    traces: tuple[Item, ...]
    signs: tuple[str, ...]
    words: str


def interval(terrain: Terrain, scale: int, lengths: Lengths) -> int:
    """Contour interval in the unit of lengths: 1, 2 or 5 with noughts, so that half of the ground has them 10 mm apart or farther."""
    rise = np.hypot(
        *np.gradient(
            terrain.up_m, terrain.north_m[1] - terrain.north_m[0], terrain.east_m[1] - terrain.east_m[0]
        )
    )
    known = rise[np.isfinite(rise)]
    slope = float(np.median(known)) if known.size else 0.0
    wanted = max(1.0, lengths.of(slope * _APART_MM * scale / 1000.0))
    power = 10 ** math.floor(math.log10(wanted) + 1e-9)
    return next(int(digit * power) for digit in (1, 2, 5, 10) if digit * power >= wanted - 1e-6)


def draw_ground(
    terrain: Terrain,
    outcrops: Sequence[Outcrop],
    window: Window,
    walked: BaseGeometry | None,
    *,
    lengths: Lengths,
    norths: Box | None = None,
) -> GroundDrawing:
    """Contours inside the window, off its `norths`; a hole in the heights is a gap. Projected outcrops in a pen of their own.

    On the ground that was `walked`, outlined in millimetres, the contact itself is drawn, and no projection of it.
    """
    shown_m = _inside(terrain, window)
    contours: list[Item] = []
    figures: tuple[Height, ...] = ()
    frame = shapely.box(window.box.x, window.box.y, window.box.right, window.box.top)
    words = ""
    if shown_m is not None:
        step = interval(shown_m, window.scale, lengths)
        lines = list(_off(_lines(shown_m, step * lengths.metres_each, window), norths))
        for index, line in lines:
            pen = PENS["contour" if index % _FIFTH else "contour every fifth"]
            contours.append(Path(commands=polyline(points_of(line)), pen=pen))
        figures = _all_figures(lines, step, frame)
        named = f" of {plain(terrain.name)}," if terrain.name else ""
        apart = f"{METRES.printed(terrain.spacing_m)} apart"
        words = f"contours every {lengths.with_unit(str(step))}; heights{named} {apart}"
    bands: list[Item] = []
    traces: list[Item] = []
    for outcrop in outcrops:
        for ring in outcrop.band:
            area: BaseGeometry = Polygon([window.at(*point) for point in ring]).buffer(0.0)
            shown = area if walked is None else area.difference(walked)
            if not shown.is_empty:
                bands.append(Path(commands=outline(shown), fill=PROJECTED_BAND))
        for line_m in outcrop.lines:
            whole = LineString([window.at(*point) for point in line_m])
            bare: BaseGeometry = whole if walked is None else whole.difference(walked)
            traces += [
                Path(commands=polyline(points_of(part)), pen=PENS["projected trace"])
                for part in lines_in(bare)
            ]
    drawn = (("contour", contours), ("projected trace", traces), ("projected band", bands))
    signs = tuple(name for name, items in drawn if items)
    return GroundDrawing(
        contours=tuple(contours),
        figures=figures,
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


def _lines(terrain: Terrain, interval_m: float, window: Window) -> Iterator[tuple[int, LineString]]:
    """The contours on the page, each with how many intervals high it is."""
    up = np.ma.masked_invalid(terrain.up_m)
    if up.count() == 0:
        return
    drawn = contour_generator(terrain.east_m, terrain.north_m, up, line_type=LineType.Separate)
    low, high = float(up.min()), float(up.max())
    for level in range(math.ceil(low / interval_m), math.floor(high / interval_m) + 1):
        for points in drawn.lines(float(level * interval_m)):
            on_page = [window.at(float(x), float(y)) for x, y in np.asarray(points)]
            if len(on_page) > 1:
                line = LineString(on_page)
                if line.length >= _LEAST_MM:
                    simple = line.simplify(_SIMPLE_MM)
                    assert isinstance(simple, LineString)
                    yield level, simple


def _off(lines: Iterable[tuple[int, LineString]], norths: Box | None) -> Iterator[tuple[int, LineString]]:
    """The lines interrupted at the norths, whose arrows among them would be lines among lines."""
    if norths is None:
        yield from lines
        return
    there = shapely.box(norths.x, norths.y, norths.right, norths.top)
    for index, line in lines:
        yield from ((index, part) for part in lines_in(line.difference(there)))


def _all_figures(
    lines: Sequence[tuple[int, LineString]], step: int, frame: BaseGeometry
) -> tuple[Height, ...]:
    """The figures of the heavy contours, then those of the others, which stand where these lie well apart.

    On steep ground the heavy ones tell the height, and the rest is counted (common practice, no source).
    """
    heavy: list[Height] = []
    light: list[tuple[int, Height]] = []
    for index, line in lines:
        found = _figures(index * step, line.intersection(frame))
        if index % _FIFTH:
            light += [(index, one) for one in found]
        else:
            heavy += found
    if not heavy:
        return tuple(one for _, one in light)
    levels = np.array([index for index, _ in lines])
    tree = shapely.STRtree([line for _, line in lines])
    apart = (replace(one, stands=_well_apart(one.stands, level, tree, levels)) for level, one in light)
    return (*heavy, *(one for one in apart if one.stands))


def _well_apart(
    stands: tuple[tuple[Point, float], ...], level: int, tree: shapely.STRtree, levels: NDArray[np.intp]
) -> tuple[tuple[Point, float], ...]:
    """Places on a contour to which no contour of another height comes near."""
    points = shapely.points([at for at, _ in stands])
    place, line = tree.query(points, predicate="dwithin", distance=_CROWDED_MM)
    crowded = set(place[levels[line] != level].tolist())
    return tuple(one for index, one in enumerate(stands) if index not in crowded)


def _figures(level: int, shown: BaseGeometry) -> Iterator[Height]:
    """The figures of one contour: near the ends of what is shown of it, and between where it is long."""
    for line in lines_in(shown):
        if line.length < _FIGURE_LEAST_MM:
            continue
        count = max(1, round(line.length / _FIGURE_EVERY_MM))
        for index in range(count):
            low, high = line.length * index / count, line.length * (index + 1) / count
            places = np.arange(
                max(low, _FIGURE_IN_MM), min(high, line.length - _FIGURE_IN_MM), _FIGURE_STEP_MM
            )
            # Close to the neat line, where the eye looks for them; those between stand in the middle of their part.
            wanted = 0.0 if index == 0 else line.length if index == count - 1 else (low + high) / 2.0
            ordered = places[np.argsort(np.abs(places - wanted), kind="stable")]
            stands = _stands(line, ordered)
            if stands:
                yield Height(text=number(level), stands=stands)


def _stands(line: LineString, along: NDArray[np.float64]) -> tuple[tuple[Point, float], ...]:
    """Middle and turn of a figure at places on a line, read from below; left out where the line bends under it."""
    at, before, after = (
        shapely.get_coordinates(shapely.line_interpolate_point(line, along + step))
        for step in (0.0, -3.0, 3.0)
    )
    turn, first, last = (
        np.degrees(np.arctan2(step[:, 1], step[:, 0])) for step in (after - before, at - before, after - at)
    )
    straight = np.abs((last - first + 180.0) % 360.0 - 180.0) <= _BENT_DEG
    turn = np.where(turn > 90.0, turn - 180.0, np.where(turn < -90.0, turn + 180.0, turn))
    return tuple(
        ((x, y), one) for (x, y), one in zip(at[straight].tolist(), turn[straight].tolist(), strict=True)
    )


def place_heights(figures: tuple[Height, ...], taken: Taken, walked: BaseGeometry | None) -> tuple[Text, ...]:
    """The figures that find room off the ground that was walked, where the contours lie under its colour."""
    placed: list[Text] = []
    for height in figures:
        wide, high = text_size(height.text, Face.REGULAR, CONTOUR_FIGURE)
        shapes = _turned_boxes(height.stands, wide, high)
        free = np.ones(len(shapes), dtype=bool) if walked is None else ~shapely.intersects(walked, shapes)
        free[free] = taken.free_shapes(shapes[free])
        if free.any():
            numbers = np.flatnonzero(free)
            best = int(numbers[np.argmin(taken.discouraged(shapes[numbers]))])
            at, turn_deg = height.stands[best]
            taken.block(shapes[best])
            placed.append(contour_figure(height.text, at, turn_deg))
    return tuple(placed)


def _turned_boxes(stands: Sequence[tuple[Point, float]], wide: float, high: float) -> Shapes:
    """The box of a figure where it may stand."""
    at = np.array([place for place, _ in stands])
    turn = np.radians([turn_deg for _, turn_deg in stands])
    x = np.array([1.0, 1.0, -1.0, -1.0]) * wide / 2
    y = np.array([-1.0, 1.0, 1.0, -1.0]) * high / 2
    cos, sin = np.cos(turn)[:, None], np.sin(turn)[:, None]
    corners = np.stack([x * cos - y * sin, x * sin + y * cos], axis=2) + at[:, None, :]
    return np.asarray(shapely.polygons(corners), dtype=object)


def contour_figure(text: str, at: Point, turn_deg: float) -> Text:
    """A height on its contour, which it breaks."""
    turn = math.radians(turn_deg)
    drop = CONTOUR_FIGURE * 0.115
    return Text(
        at=(at[0] + drop * math.sin(turn), at[1] - drop * math.cos(turn)),
        text=text,
        face=Face.REGULAR,
        size_pt=CONTOUR_FIGURE,
        colour=GREY_45,
        anchor=Anchor.MIDDLE,
        turn_deg=turn_deg,
        halo=WHITE,
        halo_mm=0.4,
    )
