"""Contacts from arm to arm of the walk: in grey where nobody walked, and in the band the contact runs along the same line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from traverse.record import record
from traverse.sheet.page import Item, Path, Point, polyline
from traverse.sheet.scale import Window
from traverse.sheet.style import PENS

if TYPE_CHECKING:
    from traverse.ground.records import Join
    from traverse.sheet.band import Crossed

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
            line = LineString([window.at(east, north) for east, north in points])
            for part in shapely.get_parts(line.intersection(bare)):
                if isinstance(part, LineString) and part.length >= _LEAST_MM:
                    items.append(Path(commands=polyline(_points(part)), pen=PENS[sign]))
                    shapes.append(part.buffer(0.3, quad_segs=1))
                    signs.add(sign)
    # A heavier one among them is a fault, as among the contacts: it needs no row of its own in the legend.
    return JoinDrawing(items=tuple(items), signs=tuple(sorted(signs, reverse=True)[:1]), obstacle=shapely.union_all(shapes))


def along_joins(
    crossed: Sequence[Crossed], joins: Sequence[Join], window: Window, edge: BaseGeometry
) -> tuple[Crossed, ...]:
    """Contacts bent so that each runs on, where it leaves the band, as what was computed beyond it."""
    outward: dict[object, list[LineString]] = {}
    for join in joins:
        for span, points in (
            (join.ends[0], join.lines[0]),
            (join.ends[1], tuple(reversed(join.lines[-1]))),
        ):
            line = LineString([window.at(east, north) for east, north in points])
            inside = _first_part(line, edge)
            # One that never leaves the band parts nothing there but what the contacts themselves part.
            if inside is not None and inside.length < line.length - _LEAST_MM:
                outward.setdefault(span, []).append(inside)
    return tuple(_bent(one, outward.get(one.contact.booked.span, ()), edge) for one in crossed)


def _bent(one: Crossed, ways: Sequence[LineString], edge: BaseGeometry) -> Crossed:
    if one.tied or not ways:
        return one
    first, last = (_points(one.line)[index] for index in (0, -1))
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
        x, y = _step(way)
        toward = [(end[0] - one.at[0]) * x + (end[1] - one.at[1]) * y for end in (first, last)]
        halves[toward[1] > toward[0]] = [one.at, *_points(way)[1:]]
    return replace(one, line=LineString([*reversed(halves[0]), *halves[1][1:]]), course_known=True)


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
