"""Contacts that part nothing where their strike takes them, bent to where the walk says that the ground changes.

Along a strike that nearly follows the walk a straight line would run between ground of one unit; there the walk is
right, and the line goes where the two units meet. Where a unit gives way to another and nobody booked a contact, the walk alone
says about where.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import shapely
from shapely import LineString, MultiPolygon, STRtree
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from traverse.ground.arm_network import TOUCH_M, ArmNetwork
from traverse.ground.crossed.edge_to_edge import through
from traverse.ground.records import Band, CrossedContact, Point, SectionCut, UnitArea, UnseenChange
from traverse.log.items import ContactKind
from traverse.settled import SAME_M, first_least, settled, settled_all, settled_shape
from traverse.shapes import areas_in, lines_in, points_of
from traverse.structure.walk.records import UnbookedChange
from traverse.trade import IN_ONE_UNIT_SHARE

_MEET_M = 1.0
"""Grounds nearer than this meet."""
_BESIDE_SHARE = 0.04
"""Nearer to the edge of its unit than this share of half the band, a line runs on the edge."""
_NEAR_SHARE = 0.075
_LEAST_SHARE = 0.25
_SIMPLE_SHARE = 0.04
_KEEPS_TO = math.radians(35.0)
_LEAST_UNSEEN_SHARE = 0.1
"""Of half the band: a shorter line parts nothing that could be seen."""


def part_units(
    crossed: Sequence[CrossedContact], areas: Sequence[UnitArea], half_m: float
) -> tuple[CrossedContact, ...]:
    """The same contacts; those that run between ground of one unit in the line in which their two units meet.

    One that goes on in the line of another keeps to that, as far as it parts anything. Where nothing of it does, it runs
    where its units meet, as one that is alone; several that meet there in one line each have a piece of that. A fault
    that parts its units where it was met runs on straight past the end of a contact, which ends at it.
    """
    meetings = _Meetings(areas, half_m)
    kept = [_kept(one, meetings) for one in crossed]
    found: list[CrossedContact] = []
    shared: dict[tuple[Point, ...], list[int]] = defaultdict(list)
    for one, own in zip(crossed, kept, strict=True):
        if own is not None:
            found.append(own)
            continue
        parted = _not_drawn(meetings.parted(one), kept, half_m)
        points = tuple(points_of(parted.line))
        shared[min(points, points[::-1])].append(len(found))
        found.append(replace(parted, tied=False, between=False))
    for same in shared.values():
        if len(same) > 1:
            _share_out(found, same)
    return tuple(found)


def _kept(one: CrossedContact, meetings: _Meetings) -> CrossedContact | None:
    """A contact whose line stays, or what is kept of it; None of one that runs where its units meet."""
    if not meetings.in_one_unit(one.line):
        return one
    if one.tied:
        return meetings.where_it_parts(one)
    if one.contact.kind is ContactKind.FAULT and meetings.where_it_parts(one) is not None:
        return one
    return None


def _not_drawn(one: CrossedContact, kept: Sequence[CrossedContact | None], half_m: float) -> CrossedContact:
    """A contact without what of the meeting of its units is the line of another kind, or of a fault another's, where something is left."""
    units = {one.contact.younger, one.contact.older}
    drawn = [
        other.line
        for other in kept
        if other is not None and {other.contact.younger, other.contact.older} == units
        if other.contact.kind is not one.contact.kind or one.contact.kind is ContactKind.FAULT
    ]
    if not drawn:
        return one
    here = shapely.Point(one.at)
    left = lines_in(one.line.difference(shapely.union_all(drawn).buffer(_BESIDE_SHARE * half_m)))
    near = [part for part in left if part.length > TOUCH_M]
    if not near:
        return one
    nearest = near[first_least(settled_all(shapely.distance(near, here), 2))]
    return replace(one, line=settled_shape(nearest))


def _share_out(found: list[CrossedContact], same: Sequence[int]) -> None:
    """Give each of several contacts that have one line its piece of it, in their order along it."""
    line = found[same[0]].line
    order = sorted(same, key=lambda at: settled(line.project(shapely.Point(found[at].at)), 2))
    for number, at in enumerate(order):
        start, end = (line.length * place / len(order) for place in (number, number + 1))
        piece = substring(line, start, end)
        assert isinstance(piece, LineString)
        tied = [number > 0, number < len(order) - 1]
        points = points_of(piece)
        if tied == [True, False]:
            points = points[::-1]
        found[at] = replace(found[at], line=LineString(points), tied=True, between=all(tied))


def meeting_units(band: Band | None, cuts: Sequence[SectionCut]) -> tuple[tuple[str, str], ...]:
    """Letters of every two units whose grounds meet on the map or on a section, by name; bodies drawn as lines too."""
    met: set[tuple[str, str]] = set()
    grounds: list[list[tuple[str, BaseGeometry]]] = [
        [(fill.unit, fill.area) for fill in cut.fills] for cut in cuts
    ]
    if band is not None:
        grounds.append(
            [
                *((area.unit, part) for area in band.areas if area.unit is not None for part in area.parts),
                *((one.body.unit, one.line) for one in band.narrow),
            ]
        )
    for ground in grounds:
        if not ground:
            continue
        shapes = [shape for _, shape in ground]
        for one, other in zip(*STRtree(shapes).query(shapes, "dwithin", _MEET_M), strict=True):
            first, second = sorted((ground[one][0], ground[other][0]))
            if first != second:
                met.add((first, second))
    return tuple(sorted(met))


class _Meetings:
    """Ground of the units, and the lines in which two of them meet, found once for each pair."""

    def __init__(self, areas: Sequence[UnitArea], half_m: float) -> None:
        self.half_m = half_m
        # Of a unit without ground, or with a sliver that joining made a line, there is no edge to meet.
        joined = {
            area.unit: MultiPolygon(list(areas_in(shapely.union_all(list(area.parts)))))
            for area in areas
            if area.unit is not None
        }
        self.ground = {unit: ground for unit, ground in joined.items() if not ground.is_empty}
        inner = [
            (unit, part)
            for unit, one in self.ground.items()
            for part in shapely.get_parts(settled_shape(one.buffer(-_BESIDE_SHARE * half_m))).tolist()
        ]
        self._units = [unit for unit, _ in inner]
        self._inner = [part for _, part in inner]
        self._tree = shapely.STRtree(self._inner)
        self._lines: dict[tuple[str, str], tuple[list[LineString], shapely.STRtree]] = {}

    def in_one_unit(self, line: LineString) -> bool:
        """Whether a line runs so far inside the ground of one unit that it parts nothing there."""
        lengths: dict[str, float] = defaultdict(float)
        for index in self._tree.query(line, predicate="intersects").tolist():
            lengths[self._units[index]] += line.intersection(self._inner[index]).length
        return any(one > IN_ONE_UNIT_SHARE * self.half_m for one in lengths.values())

    def parted(self, one: CrossedContact) -> CrossedContact:
        """A contact in the longest line near it in which its two units meet; where there is none, only what parts ground."""
        younger, older = one.contact.younger, one.contact.older
        if younger is None or older is None or younger == older or not {younger, older} <= self.ground.keys():
            return self.where_it_parts(one) or self._mark(one)
        lines, tree = self._meeting(younger, older)
        here = shapely.Point(one.at)
        near = tree.query(here, predicate="dwithin", distance=_NEAR_SHARE * self.half_m)
        pieces = [lines[index] for index in np.sort(near).tolist()]
        if not pieces:
            return self.where_it_parts(one) or self._mark(one)
        line = max(pieces, key=lambda piece: settled(piece.length, 2)).simplify(_SIMPLE_SHARE * self.half_m)
        assert isinstance(line, LineString)
        return replace(one, line=line, course_known=one.course_known and _keeps_to(one.line, line))

    def where_it_parts(self, one: CrossedContact) -> CrossedContact | None:
        """A contact without what runs far through ground of one unit on both sides, and beyond it; None where nothing is left."""
        through = [
            self._inner[index] for index in self._tree.query(one.line, predicate="intersects").tolist()
        ]
        far = [
            part for part in through if one.line.intersection(part).length > IN_ONE_UNIT_SHARE * self.half_m
        ]
        # Of several sightings of one place the line runs through their mean.
        here = one.line.interpolate(one.line.project(shapely.Point(one.at)))
        left = lines_in(one.line.difference(shapely.union_all(far)))
        near_m, least_m = _NEAR_SHARE * self.half_m, _LEAST_SHARE * self.half_m
        kept = [part for part in left if part.distance(here) <= near_m and part.length > least_m]
        return replace(one, line=settled_shape(kept[0])) if kept else None

    def _mark(self, one: CrossedContact) -> CrossedContact:
        """One that lies far inside of one unit all along: as much of it as a line may run there."""
        here = one.line.interpolate(one.line.project(shapely.Point(one.at)))
        along, reach = one.line.project(here), IN_ONE_UNIT_SHARE * self.half_m
        mark = substring(one.line, max(0.0, along - reach), along + reach)
        return replace(one, line=settled_shape(mark)) if isinstance(mark, LineString) and one.tied else one

    def _meeting(self, younger: str, older: str) -> tuple[list[LineString], shapely.STRtree]:
        """The lines in which two units meet that are long enough to be drawn, and their tree."""
        if (younger, older) not in self._lines:
            meeting = self.ground[younger].boundary.intersection(
                settled_shape(self.ground[older].buffer(TOUCH_M))
            )
            lines = [
                piece
                for piece in lines_in(shapely.line_merge(shapely.union_all(shapely.get_parts(meeting))))
                if piece.length > _LEAST_SHARE * self.half_m
            ]
            self._lines[younger, older] = lines, shapely.STRtree(lines)
        return self._lines[younger, older]


def _keeps_to(course: LineString, line: LineString) -> bool:
    """Whether half of a line or more runs about as a course does; else it lies as the walk says, and across its strike."""
    (x0, y0), (x1, y1) = points_of(course)[0], points_of(course)[-1]
    along = 0.0
    for here, there in pairwise(points_of(line)):
        x, y = there[0] - here[0], there[1] - here[1]
        off = abs(math.atan2((x1 - x0) * y - (y1 - y0) * x, (x1 - x0) * x + (y1 - y0) * y))
        if min(off, math.pi - off) <= _KEEPS_TO:
            along += math.hypot(x, y)
    return along >= 0.5 * line.length


def unseen_changes(
    changes: Sequence[UnbookedChange],
    areas: Sequence[UnitArea],
    network: ArmNetwork,
    whole: BaseGeometry,
    half_m: float,
) -> tuple[UnseenChange, ...]:
    """A line square to the leg at each change of unit that nobody booked, where its ground changes."""
    found: list[UnseenChange] = []
    for one in changes:
        near = network.near(one.at, reach_m=2.0 * half_m)
        ground = shapely.union_all([arm.ground for arm in near]).intersection(whole)
        line = through(one.at, one.course_deg, ground, half_m=half_m)
        if line is None:
            continue
        parting: BaseGeometry = line
        for unit in one.units:
            parts = [part for area in areas if area.unit == unit for part in area.parts]
            parting = parting.intersection(shapely.union_all(parts).buffer(TOUCH_M + SAME_M))
        found += [
            UnseenChange(change=one, line=part)
            for part in lines_in(settled_shape(parting))
            if part.length > _LEAST_UNSEEN_SHARE * half_m
        ]
    return tuple(found)
