"""Axial traces on the map: where the axial surfaces of the constructed section come out, run on along their strike."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

from traverse.record import record
from traverse.sheet.contacts import Figure
from traverse.sheet.page import Item, Path, polyline
from traverse.sheet.page import Point as PagePoint
from traverse.sheet.scale import Window
from traverse.sheet.style import PENS
from traverse.sheet.symbols import symbol
from traverse.structure.records import AxialLine, FoldAxis, Geology, Section

_LEVEL_DEG = 0.5
_HEAD_MM = 2.6
_LEAST_MM = 8.0
"""A trace shorter than two dashes says nothing."""
_ASIDE_MM = 2.6


@record(frozen=True, kw_only=True)
class AxialTrace:
    """One trace as drawn."""

    items: tuple[Item, ...]
    signs: tuple[str, ...]
    figure: Figure | None
    """Its plunge."""
    obstacle: BaseGeometry


def axial_traces(geology: Geology, window: Window, edge: BaseGeometry) -> Iterator[AxialTrace]:
    """Traces of the hinges of every section whose fold has an axis, as far as ground was walked about them.

    Where beds only steepen within one limb there is no trace: that would name a fold of which one limb was seen.

    A trace runs straight along the strike of its axial plane, which holds the fold axis and the line on the section;
    the relief of the ground is left out of it.
    """
    axis = geology.fold_axis
    if axis is None:
        return
    room = edge.convex_hull
    for section in geology.sections:
        if section.construction is None or len(section.profile) < 2:
            continue
        for axial in section.construction.axial:
            if not axial.hinge:
                continue
            for distance in _outcrops(section, axial):
                drawn = _trace(section, axial, axis, distance, window, room)
                if drawn is not None:
                    yield drawn


def _outcrops(section: Section, axial: AxialLine) -> Iterator[float]:
    """Distances at which a line of the section meets the ground."""
    ground = LineString([(point.distance_m, point.up_m) for point in section.profile])
    if len(axial.points) < 2:
        return
    met = LineString(axial.points).intersection(ground)
    for part in getattr(met, "geoms", [met]):
        if isinstance(part, Point) and not part.is_empty:
            yield part.x
            return


def strike_of(axial: AxialLine, axis: FoldAxis, section_azimuth_deg: float) -> float | None:
    """True azimuth of the strike of an axial plane, at the end nearer to the plunge; None for a flat plane."""
    trend, plunge = math.radians(axis.trend_deg), math.radians(axis.plunge_deg)
    along = math.radians(section_azimuth_deg)
    line = np.array(
        [math.sin(trend) * math.cos(plunge), math.cos(trend) * math.cos(plunge), -math.sin(plunge)]
    )
    (d0, h0), (d1, h1) = axial.points[0], axial.points[-1]
    on_section = np.array([(d1 - d0) * math.sin(along), (d1 - d0) * math.cos(along), h1 - h0])
    normal = np.cross(line, on_section)
    if math.hypot(normal[0], normal[1]) < 1e-3 * float(np.linalg.norm(normal)) or not normal.any():
        return None
    strike = math.degrees(math.atan2(normal[1], -normal[0]))
    ahead = math.cos(math.radians(strike - axis.trend_deg)) >= 0.0
    return (strike if ahead else strike + 180.0) % 360.0


def _trace(
    section: Section,
    axial: AxialLine,
    axis: FoldAxis,
    distance_m: float,
    window: Window,
    room: BaseGeometry,
) -> AxialTrace | None:
    strike = strike_of(axial, axis, _azimuth_at(section, distance_m))
    if strike is None:
        return None
    place = LineString(section.line).interpolate(distance_m)
    at = window.at(place.x, place.y)
    turn_deg = window.turn_deg(strike)
    turn = math.radians(turn_deg)
    way = (math.sin(turn), math.cos(turn))
    far = window.box.width + window.box.height
    ends = [(at[0] + sign * far * way[0], at[1] + sign * far * way[1]) for sign in (-1.0, 1.0)]
    box = window.box.inset(1.0)
    frame = LineString([(box.x, box.y), (box.right, box.top)]).envelope
    line = LineString(ends).intersection(room).intersection(frame)
    if not isinstance(line, LineString) or line.length < _LEAST_MM:
        return None
    coords: list[PagePoint] = sorted(
        ((x, y) for x, y in line.coords), key=lambda one: one[0] * way[0] + one[1] * way[1]
    )
    first, last = coords[0], coords[-1]
    items: list[Item] = [Path(commands=polyline([first, last]), pen=PENS["axial trace"])]
    signs = ["axial trace"]
    figure: Figure | None = None
    if axis.plunge_deg >= _LEVEL_DEG:
        items += symbol("axial head", last, turn_deg=turn_deg)
        signs.append("axial head")
        aside = (way[1], -way[0])
        centres = tuple(
            (
                last[0] - back * way[0] + side * _ASIDE_MM * aside[0],
                last[1] - back * way[1] + side * _ASIDE_MM * aside[1],
            )
            for back in (0.0, 2.0, 4.0, -3.0, 6.0)
            for side in (1.0, -1.0, 1.4, -1.4)
        )
        figure = Figure(text=f"{axis.plunge_deg:.0f}", centres=centres, name="the axial trace")
    tip = (last[0] + _HEAD_MM * way[0], last[1] + _HEAD_MM * way[1])
    return AxialTrace(
        items=tuple(items),
        signs=tuple(signs),
        figure=figure,
        obstacle=LineString([first, tip]).buffer(0.5, quad_segs=1),
    )


def _azimuth_at(section: Section, distance_m: float) -> float:
    """True azimuth of the stretch of the section's line that a distance lies on."""
    run = 0.0
    to_true = section.azimuth_deg - section.grid_azimuth_deg
    for (x0, y0), (x1, y1) in zip(section.line, section.line[1:], strict=False):
        run += math.hypot(x1 - x0, y1 - y0)
        if distance_m <= run:
            return math.degrees(math.atan2(x1 - x0, y1 - y0)) + to_true
    return section.azimuth_deg
