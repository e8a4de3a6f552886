"""Constructed lines of a section, told apart by ground and air."""

from __future__ import annotations

from shapely import LineString, Polygon

from traverse.ground.records import CarriedLine, Point
from traverse.settled import SAME_M, settled_shape
from traverse.shapes import lines_in
from traverse.structure.section.records import ConstructedLine


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


def _line(points: list[Point]) -> list[LineString]:
    """A line through points; none where it has no length."""
    line = settled_shape(LineString(points)) if len(points) > 1 else LineString()
    return [line] if line.length > 0.0 else []
