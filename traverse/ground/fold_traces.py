"""Axial traces: where the axial surfaces of the constructed section come out, run on along their strike."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Container, Iterator, Sequence
from itertools import chain

import numpy as np
import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from traverse.angle import axial_difference
from traverse.ground.records import FoldTrace, Point
from traverse.log.records import Projection
from traverse.settled import SAME_M, least, settled, settled_shape
from traverse.shapes import lines_in
from traverse.structure.readings.records import FoldAxis
from traverse.structure.records import Geology
from traverse.structure.section.records import AxialLine, Section
from traverse.trade import JOINED_DEG, REACH_M

_SAME_DEG = 0.5
"""Traces at one place that differ by less are one."""
_CLEAR_SHARE = 0.25
"""Between the arms a trace keeps clear of the band by this share of half of it."""
_STEP_M = 1.0
"""So near is told where a trace comes to a cover."""
_LEAST = 1.25
"""And is no shorter there than so many times half the band."""


def fold_traces(
    geology: Geology, whole: BaseGeometry, *, half_m: float, convergence_deg: float
) -> Iterator[FoldTrace]:
    """Traces of the hinges of folds that follow from the readings, one of each fold, by the first section that shows it.

    A section that is carried square, askew to the axis, shows none. A fold that none shows of those that the log asks for is
    traced by the one across the beds that would be drawn without them.

    As far as ground was walked about it, and no farther from its section than a contact may run. Where beds only steepen
    within one limb there is no trace: that would name a fold of which one limb was seen.

    A trace runs straight along the strike of its axial plane, which holds the fold axis and the line on the section;
    the relief of the ground is left out of it. Where it runs between the arms of the walk it keeps off them: what was
    seen there is told by what was seen.
    """
    for strike, line in _runs(geology, whole, half_m=half_m, convergence_deg=convergence_deg):
        yield FoldTrace(
            strike_deg=strike,
            plunge_deg=0.0 if geology.fold_axis is None else geology.fold_axis.plunge_deg,
            lines=tuple(_ends(one) for one in _between(line, whole, half_m)),
        )


def axes_known(geology: Geology, *, half_m: float, convergence_deg: float) -> tuple[tuple[Point, Point], ...]:
    """The same traces whole, over all the ground walked, and those of sections askew: no contact is carried from side to side."""
    whole = shapely.MultiPoint([end for one in geology.band for end in (one.start, one.end)]).convex_hull
    return tuple(
        _ends(line)
        for _, line in _runs(geology, whole, half_m=half_m, convergence_deg=convergence_deg, askew=True)
    )


def _runs(
    geology: Geology, whole: BaseGeometry, *, half_m: float, convergence_deg: float, askew: bool = False
) -> Iterator[tuple[float, LineString]]:
    """The strike of each trace and the line that it runs along; also by sections that are `askew`, if asked for."""
    axis = geology.fold_axis
    forms = [one.finding.form for one in geology.recognised if one.finding.form is not None]
    hollow = Counter(one.kind.hollow for one in forms if one.fold is not None)
    # Beds that dip one way on both sides are limbs of a fold that lies over.
    overturned = sum(one.overturned for one in forms if one.fold is not None)
    if axis is None or not hollow:
        return
    drawn: list[tuple[bool | None, Point, Point]] = []
    for section in chain(geology.sections, _across_beds(geology, drawn, hollow.total())):
        if len(section.profile) < 2 or (not askew and _askew(section, axis, half_m)):
            continue
        met = list(_hinges_met(section, axis, hollow))
        for shape, distance, strike in met:
            # Of more hinges than folds follow from the readings nobody knows which is whose.
            most = overturned if shape is None else hollow[shape]
            if sum(kind == shape for kind, _, _ in met) > most:
                continue
            # Nor is it another fold where all have their traces.
            if sum(kind == shape for kind, _, _ in drawn) >= most:
                continue
            place = LineString(section.line).interpolate(distance)
            way = math.radians(strike - convergence_deg)
            at, ahead = (place.x, place.y), (math.sin(way), math.cos(way))
            if any(
                shape == kind and _one_trace(at, ahead, other, its_way, half_m)
                for kind, other, its_way in drawn
            ):
                continue
            line = _before_cover(_run(at, ahead, whole), geology, section)
            if line.length > 0.0:
                drawn.append((shape, at, ahead))
                yield strike, line


def _across_beds(
    geology: Geology, drawn: Sequence[tuple[bool | None, Point, Point]], folds: int
) -> Iterator[Section]:
    """The section that no line asks for, where those before it have not shown every fold."""
    if len(drawn) < folds:
        yield from geology.across_beds


def _hinges_met(
    section: Section, axis: FoldAxis, hollow: Container[bool | None]
) -> Iterator[tuple[bool | None, float, float]]:
    """Where axial surfaces of hinges of some shapes come out on a section: shape, distance and strike."""
    met: list[tuple[float, float]] = []
    for axial in section.construction.axial:
        shape = _hollow(axial)
        if not axial.hinge or (shape is not None and shape not in hollow):
            continue
        for distance in _outcrops(section, axial):
            strike = strike_of(axial, axis, section.azimuths_deg[section.stretch_at(distance)])
            # The parts of one axial surface above the ground and below it come out at one place.
            if strike is None or any(
                abs(distance - at) < SAME_M and axial_difference(strike, way) < _SAME_DEG for at, way in met
            ):
                continue
            met.append((distance, strike))
            yield shape, distance, strike


def _askew(section: Section, axis: FoldAxis, half_m: float) -> bool:
    """Whether contacts that were carried square to a section lie off their places along the axis by more than half the band.

    The limbs come out apart there, or over each other, and what lies between them is no hinge.
    """
    if section.projection is Projection.PLUNGE:
        return False
    for point in section.points:
        if point.contact is None or point.beside:
            continue
        apart = math.radians(axial_difference(axis.trend_deg, section.azimuths_deg[point.stretch]))
        if abs(point.carried_m) * math.cos(apart) > half_m * math.sin(apart) + SAME_M:
            return True
    return False


def _hollow(axial: AxialLine) -> bool | None:
    """Whether beds dip toward an axial surface from both sides; None where they dip one way, one limb overturned."""
    if axial.left_dip_deg * axial.right_dip_deg >= 0.0:
        return None
    return axial.left_dip_deg > 0.0


def _one_trace(at: Point, way: Point, other: Point, its_way: Point, half_m: float) -> bool:
    """Whether a trace at one section is that of another, run on: off it by no more than its strike may err."""
    east, north = at[0] - other[0], at[1] - other[1]
    along = abs(east * its_way[0] + north * its_way[1])
    off = abs(east * its_way[1] - north * its_way[0])
    turned = abs(way[0] * its_way[1] - way[1] * its_way[0])
    near = along <= 2.0 * REACH_M and turned <= math.sin(math.radians(2.0 * JOINED_DEG))
    return near and off <= half_m + along * math.tan(math.radians(JOINED_DEG))


def _outcrops(section: Section, axial: AxialLine) -> Iterator[float]:
    """Distances at which a line of the section meets the ground."""
    ground = LineString([(point.distance_m, point.up_m) for point in section.profile])
    if len(axial.points) < 2:
        return
    # It begins or ends in the ground where it was swept from there: a last bit may have it just miss.
    for end in (axial.points[0], axial.points[-1]):
        if ground.distance(shapely.Point(end)) < SAME_M:
            yield end[0]
            return
    met = LineString(axial.points).intersection(ground)
    for part in getattr(met, "geoms", [met]):
        if isinstance(part, shapely.Point) and not part.is_empty:
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


def _run(at: Point, way: Point, whole: BaseGeometry) -> LineString:
    """The line through a place as far as ground was walked about it, `REACH_M` at most, toward the plunge."""
    hull = whole.convex_hull
    ends = [(at[0] + sign * REACH_M * way[0], at[1] + sign * REACH_M * way[1]) for sign in (-1.0, 1.0)]
    line = LineString(ends).intersection(hull)
    if not isinstance(line, LineString) or line.is_empty:
        return LineString()
    coords = sorted(line.coords, key=lambda one: one[0] * way[0] + one[1] * way[1])
    return LineString(coords)


def _before_cover(line: LineString, geology: Geology, section: Section) -> LineString:
    """As much of a trace as lies nearer to ground seen under the unconformity than to the cover on it, in one piece."""
    over = {level.younger for level in section.over}
    cover, worn = (
        shapely.union_all(
            [
                LineString([one.start, one.end])
                for one in geology.band
                if one.unit and (one.unit in over) is on
            ]
        )
        for on in (True, False)
    )
    if not over or line.is_empty or cover.is_empty or worn.is_empty:
        return line
    steps = np.linspace(0.0, line.length, 2 + round(line.length / _STEP_M))
    places = shapely.line_interpolate_point(line, steps)
    bare = shapely.distance(places, worn) <= shapely.distance(places, cover)
    edges = np.flatnonzero(np.diff(np.concatenate(([False], bare, [False])).astype(int)))
    longest = least(
        list(zip(edges[::2], edges[1::2] - 1, strict=True)), key=lambda one: steps[one[0]] - steps[one[1]]
    )
    if longest is None or longest[0] == longest[1]:
        return LineString()
    return settled_shape(LineString([places[longest[0]], places[longest[1]]]))


def _between(line: LineString, whole: BaseGeometry, half_m: float) -> list[LineString]:
    """Its pieces between the arms of the walk, clear of them; itself, on the ground walked, where none is."""
    free = line.difference(settled_shape(whole.buffer(_CLEAR_SHARE * half_m)))
    found = [part for part in lines_in(free) if part.length >= _LEAST * half_m]
    return found or [line]


def _ends(line: LineString) -> tuple[Point, Point]:
    (x0, y0), (x1, y1) = line.coords[0], line.coords[-1]
    return (float(x0), float(y0)), (float(x1), float(y1))
