"""Constructed lines of a section, told apart by ground and air."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import shapely
from shapely import LineString, Polygon
from shapely import Point as Point2D
from shapely.geometry.base import BaseGeometry

from traverse.ground.records import CarriedLine, CertaintyRun, Point, SectionFill
from traverse.log.items import Certainty
from traverse.settled import SAME_M, settled, settled_shape
from traverse.shapes import lines_in
from traverse.structure.section.records import ConstructedLine, SectionPoint, Stop

_ON_EDGE_M = 0.3
"""A line that runs so near to the edge of a unit's colour runs on it."""
_LEAST_M = 1.0
_SURE = tuple(Certainty)


def carried_line(line: ConstructedLine, points: Sequence[SectionPoint], looked_at: Polygon) -> CarriedLine:
    """A line in the ground, and above it; of unknown course only in the ground that was `looked_at`.

    `points` are those of its section, which tell how well it is known.
    """
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
    return CarriedLine(of=line, below=tuple(below), above=tuple(above), known=certainty_along(line, points))


def certainty_along(line: ConstructedLine, points: Sequence[SectionPoint]) -> tuple[CertaintyRun, ...]:
    """Runs by distance: everywhere that of the sighting nearest to there, with how far it was carried.

    A sighting to whose own place another is nearer tells nothing of the line. Of a line none of whose sightings is
    among the points, that of the line.
    """
    ids = {id(one) for one in line.contacts}
    met = [
        (settled(one.distance_m), settled(one.carried_m**2), one.contact.certainty or Certainty.CERTAIN)
        for one in points
        if one.contact is not None and id(one.contact) in ids
    ]
    nearest = sorted(
        # Of several that come to one place from as far the surest, first; the others tell no more.
        {one for one in met if all(settled((at - one[0]) ** 2 + m2 - one[1], 4) >= 0.0 for at, m2, _ in met)},
        key=lambda one: (one[0], one[1], _SURE.index(one[2])),
    )
    found: list[CertaintyRun] = []
    at_m = aside_m2 = -math.inf
    for next_m, next_m2, certainty in nearest:
        if next_m - at_m <= SAME_M:
            continue
        # Where both are as far: (x - at)² + aside² is the same of them.
        even_m = (next_m**2 + next_m2 - at_m**2 - aside_m2) / (2.0 * (next_m - at_m)) if found else -math.inf
        at_m, aside_m2 = next_m, next_m2
        if found and found[-1].certainty is certainty:
            continue
        if found:
            found[-1] = replace(found[-1], end_m=even_m)
        found.append(CertaintyRun(start_m=even_m, end_m=math.inf, certainty=certainty))
    return tuple(found) or (
        CertaintyRun(start_m=-math.inf, end_m=math.inf, certainty=line.certainty or Certainty.CERTAIN),
    )


def room_about(line: ConstructedLine, wide_m: float, *, far_m: float) -> BaseGeometry:
    """All that lies no farther from a line than so much; at its ends from where it would go straight on."""
    path = [point for piece in line.pieces for point in piece.points]
    path = [one for index, one in enumerate(path) if not index or math.dist(one, path[index - 1]) > SAME_M]
    if len(path) < 2:
        return LineString()
    ends = []
    for end, before in ((path[0], path[1]), (path[-1], path[-2])):
        share = far_m / math.dist(end, before)
        ends.append((end[0] + share * (end[0] - before[0]), end[1] + share * (end[1] - before[1])))
    return settled_shape(LineString([ends[0], *path, ends[1]])).buffer(wide_m)


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
