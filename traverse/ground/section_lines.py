"""Constructed lines of a section, told apart by ground and air."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import shapely
from shapely import LineString, Polygon
from shapely import Point as Point2D

from traverse.ground.records import CarriedLine, Point, SectionFill
from traverse.settled import SAME_M, settled_shape
from traverse.shapes import lines_in
from traverse.structure.section.records import ConstructedLine, Stop

_ON_EDGE_M = 0.3
"""A line that runs so near to the edge of a unit's colour runs on it."""
_LEAST_M = 1.0


def carried_line(line: ConstructedLine, looked_at: Polygon) -> CarriedLine:
    """A line in the ground, and above it; of unknown course only in the ground that was `looked_at`."""
    below: list[LineString] = []
    above: list[LineString] = []
    path: list[Point] = []
    for piece in line.pieces:
        if piece.eroded:
            below += _line(path)
            path = []
            above += _line([*piece.points])
        elif path and LineString([path[-1], piece.points[0]]).length < SAME_M:
            path += piece.points[1:]
        else:
            below += _line(path)
            path = [*piece.points]
    below += _line(path)
    if not line.course_known:
        below, above = [part for one in below for part in lines_in(one.intersection(looked_at))], []
    return CarriedLine(of=line, below=tuple(below), above=tuple(above))


def where_it_parts(line: CarriedLine, fills: Sequence[SectionFill]) -> CarriedLine:
    """A line that comes up again where it was not met, without what of that runs through coloured ground of one unit.

    The ground was seen there: it has the unit on both sides.
    """
    if Stop.OUT_AGAIN not in line.of.stopped:
        return line
    of_unit: dict[str, list[Polygon]] = {}
    for fill in fills:
        of_unit.setdefault(fill.unit, []).append(fill.area)
    inner = [shapely.union_all(parts).buffer(-_ON_EDGE_M) for parts in of_unit.values()]
    met = [Point2D(*place) for place in line.of.outcrops]
    kept: list[LineString] = []
    for part in line.below:
        inside = [piece for one in inner for piece in lines_in(part.intersection(one))]
        again = [
            piece
            for piece in inside
            if piece.length > _LEAST_M and all(piece.distance(place) > _LEAST_M for place in met)
        ]
        left = part.difference(shapely.union_all(again).buffer(SAME_M)) if again else part
        kept += [settled_shape(piece) for piece in lines_in(left) if piece.length > _LEAST_M]
    return replace(line, below=tuple(kept))


def _line(points: list[Point]) -> list[LineString]:
    """A line through points; none where it has no length."""
    line = settled_shape(LineString(points)) if len(points) > 1 else LineString()
    return [line] if line.length > SAME_M else []
