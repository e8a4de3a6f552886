"""Contacts from arm to arm of the walk: in grey where nobody walked, and in the band the contact runs along the same line."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from traverse.record import record
from traverse.sheet.paper.page import Item, Path, Point, polyline
from traverse.sheet.paper.style import PENS
from traverse.sheet.paper.window import Window

if TYPE_CHECKING:
    from traverse.ground.records import Ground, Join
    from traverse.sheet.map.band_areas import Crossed
    from traverse.source import Span

_LEAST_MM = 1.6
"""A gap between two arms that is shorter holds not even a dash."""
_HAIR_MM = 0.01


@record(frozen=True, kw_only=True)
class JoinDrawing:
    """Lines, their signs, and what labels keep off."""

    items: tuple[Item, ...]
    signs: tuple[str, ...]
    obstacle: BaseGeometry


def draw_joins(joins: Sequence[Join], window: Window, edge: BaseGeometry) -> JoinDrawing:
    """What was computed between the arms, from the edge of one to the edge of the other."""
    box = window.box
    bare = shapely.box(box.x, box.y, box.right, box.top).difference(edge)
    items: list[Item] = []
    signs: set[str] = set()
    shapes: list[BaseGeometry] = []
    for join in joins:
        sign = "computed fault trace" if join.fault else "computed trace"
        for points in join.lines:
            line = _on_page(points, window)
            for part in shapely.get_parts(line.intersection(bare)):
                if isinstance(part, LineString) and part.length >= _LEAST_MM:
                    items.append(Path(commands=polyline(_points(part)), pen=PENS[sign]))
                    shapes.append(part.buffer(0.3, quad_segs=1))
                    signs.add(sign)
    # A heavier one among them is a fault, as among the contacts: it needs no row of its own in the legend.
    return JoinDrawing(
        items=tuple(items), signs=tuple(sorted(signs, reverse=True)[:1]), obstacle=shapely.union_all(shapes)
    )


def along_computed(
    crossed: Sequence[Crossed], ground: Ground, window: Window, edge: BaseGeometry
) -> tuple[Crossed, ...]:
    """Contacts bent so that each runs on, where it leaves the band, as what was computed beyond it."""
    lines: dict[Span, list[LineString]] = defaultdict(list)
    for join in ground.joins:
        lines[join.ends[0]].append(_on_page(join.lines[0], window))
        lines[join.ends[1]].append(_on_page(join.lines[-1][::-1], window))
    places = {one.contact.booked.span: one.at for one in crossed}
    for outcrop in ground.outcrops:
        for points in outcrop.lines if outcrop.contact in places else ():
            lines[outcrop.contact] += _halves(_on_page(points, window), places[outcrop.contact])
    outward: dict[Span, list[LineString]] = defaultdict(list)
    for span, found in lines.items():
        for line in found:
            inside = _first_part(line, edge)
            # One that never leaves the band parts nothing there but what the contacts themselves part.
            if inside is not None and inside.length < line.length - _LEAST_MM:
                outward[span].append(inside)
    return tuple(_bent(one, outward.get(one.contact.booked.span, ()), edge) for one in crossed)


def _on_page(points: Sequence[tuple[float, float]], window: Window) -> LineString:
    return LineString([window.at(east, north) for east, north in points])


def _halves(line: LineString, at: Point) -> list[LineString]:
    """A line that passes a place, as two lines from the place outward; one where it ends there."""
    along = line.project(shapely.Point(at))
    if line.distance(shapely.Point(at)) > _HAIR_MM:
        return []
    return [
        LineString([at, *_points(part)[1:]])
        for part in (substring(line, along, 0.0), substring(line, along, line.length))
        if isinstance(part, LineString) and part.length > _LEAST_MM
    ]


def _bent(one: Crossed, ways: Sequence[LineString], edge: BaseGeometry) -> Crossed:
    if not ways:
        return one
    first, last = (_points(one.line)[index] for index in (0, -1))
    if one.tied:
        # Its last point lies on another crossing of the same contact.
        outer = [way for way in ways if _toward(one.at, first, way) > _toward(one.at, last, way)]
        return replace(one, line=LineString([*reversed(_points(outer[0])), last])) if outer else one
    if not one.course_known:
        # Drawn square to the leg for want of a plane; what was computed tells better how it runs.
        x, y = _step(ways[0])
        far = 1000.0
        back = LineString([one.at, (one.at[0] - far * x, one.at[1] - far * y)])
        other = _first_part(back, edge)
        if other is not None:
            first, last = _points(other)[-1], _points(ways[0])[-1]
    halves: list[list[Point]] = [[one.at, first], [one.at, last]]
    for way in ways:
        halves[_toward(one.at, last, way) > _toward(one.at, first, way)] = [one.at, *_points(way)[1:]]
    return replace(one, line=LineString([*reversed(halves[0]), *halves[1][1:]]), course_known=True)


def _toward(at: Point, end: Point, way: LineString) -> float:
    """How far an end lies from a place in the direction of a line."""
    x, y = _step(way)
    return (end[0] - at[0]) * x + (end[1] - at[1]) * y


def _first_part(line: LineString, edge: BaseGeometry) -> LineString | None:
    """The line as far as it first leaves the band; None where it does not begin in it."""
    start = shapely.Point(line.coords[0])
    for part in shapely.get_parts(line.intersection(edge)):
        if isinstance(part, LineString) and part.length > _HAIR_MM and part.distance(start) < _HAIR_MM:
            points = _points(part)
            near = math.dist(points[0], line.coords[0]) <= math.dist(points[-1], line.coords[0])
            return LineString(points if near else points[::-1])
    return None


def _step(line: LineString) -> Point:
    """Direction in which a line begins, of length 1."""
    (x0, y0), (x1, y1) = _points(line)[0], _points(line)[-1]
    length = math.hypot(x1 - x0, y1 - y0)
    return ((x1 - x0) / length, (y1 - y0) / length)


def _points(line: LineString) -> list[Point]:
    return [(float(x), float(y)) for x, y in line.coords]
