"""Contacts of the band bent so that each runs on, where it leaves the band, as what was computed beyond it."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from traverse.ground.arm_network import TOUCH_M
from traverse.ground.records import CrossedContact, Ground, Point
from traverse.shapes import lines_in, points_of
from traverse.source import Span

_LEAVES_M = 0.5
"""A line that runs no farther than this outside the band does not leave it."""


def along_computed(
    crossed: Sequence[CrossedContact], ground: Ground, whole: BaseGeometry
) -> tuple[CrossedContact, ...]:
    """The contacts, those that were joined to another arm or projected over heights in the line of that."""
    lines: dict[Span, list[LineString]] = defaultdict(list)
    for join in ground.joins:
        lines[join.ends[0]].append(LineString(join.lines[0]))
        lines[join.ends[1]].append(LineString(join.lines[-1][::-1]))
    places = {one.contact.booked.span: one.at for one in crossed}
    for outcrop in ground.outcrops:
        for points in outcrop.lines if outcrop.contact in places else ():
            lines[outcrop.contact] += _halves(LineString(points), places[outcrop.contact])
    outward: dict[Span, list[LineString]] = defaultdict(list)
    for span, found in lines.items():
        for line in found:
            inside = _first_part(line, whole)
            # One that never leaves the band parts nothing there but what the contacts themselves part.
            if inside is not None and inside.length < line.length - _LEAVES_M:
                outward[span].append(inside)
    return tuple(_bent(one, outward.get(one.contact.booked.span, ()), whole) for one in crossed)


def _halves(line: LineString, at: Point) -> list[LineString]:
    """A line that passes a place, as two lines from the place outward; one where it ends there."""
    along = line.project(shapely.Point(at))
    if line.distance(shapely.Point(at)) > TOUCH_M:
        return []
    return [
        LineString([at, *points_of(part)[1:]])
        for part in (substring(line, along, 0.0), substring(line, along, line.length))
        if isinstance(part, LineString) and part.length > _LEAVES_M
    ]


def _bent(one: CrossedContact, ways: Sequence[LineString], whole: BaseGeometry) -> CrossedContact:
    if not ways:
        return one
    first, last = (points_of(one.line)[index] for index in (0, -1))
    if one.between or one.line.distance(shapely.Point(one.at)) > TOUCH_M:
        # Between other crossings, or at the mean of several, which the line of one would make a step.
        return one
    if one.tied:
        # Its last point lies on another crossing of the same contact.
        outer = [way for way in ways if _toward(one.at, first, way) > _toward(one.at, last, way)]
        return replace(one, line=LineString([*reversed(points_of(outer[0])), last])) if outer else one
    if not one.course_known:
        # Drawn square to the leg for want of a plane; what was computed tells better how it runs.
        x, y = _step(ways[0])
        left, lower, right, upper = whole.bounds
        far = (right - left) + (upper - lower)
        back = LineString([one.at, (one.at[0] - far * x, one.at[1] - far * y)])
        other = _first_part(back, whole)
        if other is not None:
            first, last = points_of(other)[-1], points_of(ways[0])[-1]
    halves: list[list[Point]] = [[one.at, first], [one.at, last]]
    for way in ways:
        halves[_toward(one.at, last, way) > _toward(one.at, first, way)] = [one.at, *points_of(way)[1:]]
    return replace(one, line=LineString([*reversed(halves[0]), *halves[1][1:]]), course_known=True)


def _toward(at: Point, end: Point, way: LineString) -> float:
    """How far an end lies from a place in the direction of a line."""
    x, y = _step(way)
    return (end[0] - at[0]) * x + (end[1] - at[1]) * y


def _first_part(line: LineString, whole: BaseGeometry) -> LineString | None:
    """The line as far as it first leaves the band; None where it does not begin in it."""
    start = shapely.Point(line.coords[0])
    for part in lines_in(line.intersection(whole)):
        if part.length > TOUCH_M and part.distance(start) < TOUCH_M:
            points = points_of(part)
            near = math.dist(points[0], line.coords[0]) <= math.dist(points[-1], line.coords[0])
            return LineString(points if near else points[::-1])
    return None


def _step(line: LineString) -> Point:
    """Direction in which a line begins, of length 1."""
    (x0, y0), (x1, y1) = points_of(line)[0], points_of(line)[-1]
    length = math.hypot(x1 - x0, y1 - y0)
    return ((x1 - x0) / length, (y1 - y0) / length)
