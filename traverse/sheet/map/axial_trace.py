"""Axial traces on the map: where the axial surfaces of the constructed section come out, run on along their strike."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from traverse.angle import axial_difference
from traverse.record import record
from traverse.settled import SAME_M, settled, settled_shape
from traverse.sheet.map.contacts import Figure
from traverse.sheet.paper.page import Item, Path, polyline
from traverse.sheet.paper.page import Point as PagePoint
from traverse.sheet.paper.style import PENS
from traverse.sheet.paper.window import Window
from traverse.sheet.signs.symbols import symbol
from traverse.structure.readings.records import FoldAxis
from traverse.structure.records import Geology
from traverse.structure.section.records import AxialLine, Section
from traverse.trade import PRINTS_LEVEL_DEG

_SAME_DEG = 0.5
"""Traces at one place that differ by less are one on paper."""
_HEAD_MM = 2.6
_LEAST_MM = 8.0
"""A trace shorter than two dashes says nothing."""
_ASIDE_MM = 2.6
_CLEAR_MM = 2.0
"""Air between a trace and the ground that was walked."""


@record(frozen=True, kw_only=True)
class AxialTrace:
    """One trace as drawn."""

    items: tuple[Item, ...]
    signs: tuple[str, ...]
    figure: Figure | None
    """Its plunge."""
    obstacle: BaseGeometry


def axial_traces(geology: Geology, window: Window, walked: BaseGeometry) -> Iterator[AxialTrace]:
    """Traces of the hinges of every section whose fold has an axis, as far as ground was walked about them.

    Where beds only steepen within one limb there is no trace: that would name a fold of which one limb was seen.

    A trace runs straight along the strike of its axial plane, which holds the fold axis and the line on the section;
    the relief of the ground is left out of it. Where it runs between the arms of the walk it keeps off them: there
    it would lie on letters and contacts. `walked` is the band on the page, inside the window or not.
    """
    axis = geology.fold_axis
    if axis is None:
        return
    for section in geology.sections:
        if section.construction is None or len(section.profile) < 2:
            continue
        met: list[tuple[float, float]] = []
        for axial in section.construction.axial:
            if not axial.hinge:
                continue
            for distance in _outcrops(section, axial):
                strike = strike_of(axial, axis, section.azimuths_deg[section.stretch_at(distance)])
                # The parts of one axial surface above the ground and below it come out at one place.
                if strike is None or any(
                    abs(distance - at) < SAME_M and axial_difference(strike, way) < _SAME_DEG
                    for at, way in met
                ):
                    continue
                met.append((distance, strike))
                drawn = _trace(section, axis, distance, strike, window, walked)
                if drawn is not None:
                    yield drawn


def _outcrops(section: Section, axial: AxialLine) -> Iterator[float]:
    """Distances at which a line of the section meets the ground."""
    ground = LineString([(point.distance_m, point.up_m) for point in section.profile])
    if len(axial.points) < 2:
        return
    # It begins or ends in the ground where it was swept from there: a last bit may have it just miss.
    for end in (axial.points[0], axial.points[-1]):
        if ground.distance(Point(end)) < SAME_M:
            yield end[0]
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
    if (
        math.hypot(normal[0], normal[1]) < 1e-3 * math.hypot(*normal.tolist())
        or not np.abs(normal).max() > 1e-9
    ):
        return None
    strike = settled(math.degrees(math.atan2(normal[1], -normal[0])))
    ahead = math.cos(math.radians(strike - axis.trend_deg)) >= -1e-9
    return (strike if ahead else strike + 180.0) % 360.0


def _trace(
    section: Section,
    axis: FoldAxis,
    distance_m: float,
    strike_deg: float,
    window: Window,
    walked: BaseGeometry,
) -> AxialTrace | None:
    place = LineString(section.line).interpolate(distance_m)
    at = window.at(place.x, place.y)
    turn_deg = window.turn_deg(strike_deg)
    turn = math.radians(turn_deg)
    way = (math.sin(turn), math.cos(turn))
    line = _run(at, way, walked)
    pieces = _between(line, walked)
    frame = shapely.box(window.box.x, window.box.y, window.box.right, window.box.top)
    shown = [
        part
        for piece in pieces
        for part in shapely.get_parts(piece.intersection(frame))
        if isinstance(part, LineString) and part.length > 0.0
    ]
    if not shown:
        return None
    items: list[Item] = [
        Path(commands=polyline([(x, y) for x, y in part.coords]), pen=PENS["axial trace"]) for part in shown
    ]
    signs = ["axial trace"]
    figure: Figure | None = None
    shapes: list[BaseGeometry] = list(shown)
    ends: list[PagePoint] = [(x, y) for piece in pieces for x, y in piece.coords]
    last = max(ends, key=lambda end: end[0] * way[0] + end[1] * way[1])
    tip = (last[0] + _HEAD_MM * way[0], last[1] + _HEAD_MM * way[1])
    if axis.plunge_deg >= PRINTS_LEVEL_DEG and frame.contains(LineString([last, tip])):
        items += symbol("axial head", last, turn_deg=turn_deg)
        signs.append("axial head")
        shapes.append(LineString([last, tip]))
        aside = (way[1], -way[0])
        centres = tuple(
            (
                last[0] - back * way[0] + side * _ASIDE_MM * aside[0],
                last[1] - back * way[1] + side * _ASIDE_MM * aside[1],
            )
            for out in (1.0, 1.3)
            for back in (-1.3, 0.5, 2.5, 4.5, 7.0)
            for side in (-out, out)
        )
        figure = Figure(text=f"{axis.plunge_deg:.0f}", centres=centres, name="the axial trace")
    return AxialTrace(
        items=tuple(items),
        signs=tuple(signs),
        figure=figure,
        obstacle=shapely.union_all([shape.buffer(0.5, quad_segs=1) for shape in shapes]),
    )


def _run(at: PagePoint, way: tuple[float, float], walked: BaseGeometry) -> LineString:
    """The line through a point as far as ground was walked about it, toward the plunge."""
    hull = walked.convex_hull
    left, lower, right, upper = hull.bounds
    far = math.hypot(right - left, upper - lower) + math.dist(at, ((left + right) / 2, (lower + upper) / 2))
    ends = [(at[0] + sign * far * way[0], at[1] + sign * far * way[1]) for sign in (-1.0, 1.0)]
    line = LineString(ends).intersection(hull)
    if not isinstance(line, LineString) or line.is_empty:
        return LineString()
    coords = sorted(line.coords, key=lambda one: one[0] * way[0] + one[1] * way[1])
    return LineString(coords)


def _between(line: LineString, walked: BaseGeometry) -> list[LineString]:
    """Its pieces between the arms of the walk, clear of them and of the head; on the ground walked where none is."""
    if line.length < _LEAST_MM:
        return []
    free = line.difference(settled_shape(walked.buffer(_CLEAR_MM)))
    found = [
        part
        for part in shapely.get_parts(free)
        if isinstance(part, LineString) and part.length >= _LEAST_MM + _HEAD_MM
    ]
    short = [substring(part, 0.0, part.length - _HEAD_MM) for part in found]
    return [part for part in short if isinstance(part, LineString)] or [line]
