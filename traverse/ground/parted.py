"""The ground that was looked at, parted between units along the contacts and by what was walked on."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from itertools import combinations
from typing import TypeAlias

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from traverse.ground.arm_network import TOUCH_M, ArmNetwork, about, nearest_to, one_place, straight
from traverse.ground.beside import SideSeen
from traverse.ground.crossed.edge_to_edge import longer, through
from traverse.ground.crossed.one_line import AT_M, toward_younger, unit_beyond
from traverse.ground.records import CrossedContact, Point, UnitArea
from traverse.record import record
from traverse.settled import SAME_M, settled
from traverse.shapes import areas_in
from traverse.structure.walk.records import BandStretch
from traverse.trade import WALKED_SHARE

_STEP_SHARE = 0.1
"""Distance of points along a walk whose ground is parted by what is nearest, over half the band."""
_CUT_HALVES = 2.0
"""A cut across a leg that goes on farther, in halves of the band, runs beside another, where other ground was walked on."""
_TELLS_HALVES = 3.0
"""A contact tells what lies beside it so far from where it was met, in halves of the band."""
_SPECK_SHARE = 0.0003
"""Less ground than this, over the square of half the band, is what is left between two cuts."""

_Kind: TypeAlias = tuple[str | None, bool, bool]
"""Unit, covered, queried."""


def areas(
    stretches: tuple[BandStretch, ...],
    network: ArmNetwork,
    whole: BaseGeometry,
    crossed: Sequence[CrossedContact],
    half_m: float,
    beside: Sequence[SideSeen] = (),
) -> tuple[UnitArea, ...]:
    """Faces of the band between the cuts, each of the unit walked on in it, those of one unit joined.

    What was seen beyond a contact beside the walk counts as walked on.
    """
    if not any(one.unit is not None or one.covered for one in stretches):
        return ()
    changes = _changes(stretches)
    booked = np.array([one.at for one in crossed], dtype=np.float64).reshape(-1, 2)
    unbooked = [one for one in changes if not len(booked) or np.hypot(*(booked - one.at).T).min() > AT_M]
    cuts = [longer(one.line, tied=one.tied, between=one.between) for one in crossed]
    cuts += _across(unbooked, network, whole, half_m)
    cuts += [cut for one in beside for cut in one.cuts]
    walked = _Walked(stretches, half_m, beside, _unsure(crossed))
    faces = [(face, walked.inside(face)) for face in _faces(whole, cuts)]
    mixed = [(face, walked.counting(lengths)) for face, lengths in faces if walked.is_mixed(lengths)]
    if mixed:
        # A contact so near the walk's own course that it parts nothing: the walk itself says where the ground changes.
        # One that parts its two kinds, at the edge of a face that others are mixed in, does so along its own strike.
        near = [(face.buffer(AT_M), kinds) for face, kinds in mixed]
        inside = [
            one
            for one in changes
            if any(one.kinds <= kinds and face.contains(shapely.Point(one.at)) for face, kinds in near)
        ]
        cuts += _across(inside, network, whole, half_m)
        faces = [(face, walked.inside(face)) for face in _faces(whole, cuts)]
    by_kind: dict[_Kind, list[BaseGeometry]] = defaultdict(list)
    for face, lengths in faces:
        if walked.is_mixed(lengths):
            for kind, ground in walked.nearest(face):
                by_kind[kind].append(ground)
        elif lengths:
            by_kind[max(lengths, key=lambda one: settled(lengths[one], 2))].append(face)
        else:
            # A corner that no walk passes: the contact that bounds it decides, else what lies nearest along it.
            by_kind[_beyond(face, crossed, stretches, half_m) or walked.kind_at(face.centroid)].append(face)
    found: list[UnitArea] = []
    for (unit, covered, queried), ground_of in by_kind.items():
        if unit is None and not covered:
            continue
        parts = tuple(
            one
            for one in areas_in(shapely.union_all(ground_of, grid_size=SAME_M))
            if one.area > _SPECK_SHARE * half_m**2
        )
        found.append(UnitArea(unit=unit, covered=covered, queried=queried, parts=parts))
    return tuple(found)


def _beyond(
    face: Polygon, crossed: Sequence[CrossedContact], stretches: Sequence[BandStretch], half_m: float
) -> _Kind | None:
    """The unit that the longest contact about a face has on its side; None where none is long, or tells no side.

    A gentle contact, or one met far off, does not tell: nobody knows that it still runs so there.
    """
    edge = face.boundary.buffer(TOUCH_M)
    near = face.buffer(_TELLS_HALVES * half_m)
    bounding = [
        (settled(one.line.intersection(edge).length, 2), one)
        for one in crossed
        if one.steep and one.line.intersects(edge) and near.contains(shapely.Point(one.at))
    ]
    long, one = max(bounding, key=lambda each: each[0], default=(0.0, None))
    if one is None or long < WALKED_SHARE * half_m:
        return None
    reach = shapely.Point(one.at).buffer(_TELLS_HALVES * half_m)
    if not reach.contains(one.line.intersection(edge)):
        return None
    younger = toward_younger(one, stretches)
    unit = None if younger is None else unit_beyond(one, younger, face.representative_point())
    return None if unit is None else (unit, False, one.contact.queried)


def _kind(stretch: BandStretch) -> _Kind:
    if stretch.covered:
        return (None, True, False)
    return (stretch.unit, False, stretch.queried and stretch.unit is not None)


def _unsure(crossed: Sequence[CrossedContact]) -> BaseGeometry | None:
    """Ground between the places where one contact was met by several and their mean, at which its line runs."""
    discs = [
        shapely.Point(one.at).buffer(off + AT_M)
        for one in crossed
        if one.tied and (off := one.line.distance(shapely.Point(one.at))) > TOUCH_M
    ]
    return shapely.union_all(discs) if discs else None


class _Walked:
    """Which kind of ground was walked on where."""

    def __init__(
        self,
        stretches: Sequence[BandStretch],
        half_m: float,
        beside: Sequence[SideSeen],
        unsure: BaseGeometry | None,
    ) -> None:
        self.half_m = half_m
        self.lines = [straight(one.start, one.end) for one in stretches]
        if unsure is not None:
            self.lines = [one.difference(unsure) if one.intersects(unsure) else one for one in self.lines]
        self.lines += [one.inside for one in beside]
        self.kinds = [_kind(one) for one in stretches]
        self.kinds += [(one.unit, False, one.queried) for one in beside]
        self.tree = shapely.STRtree(self.lines)

    def is_mixed(self, lengths: dict[_Kind, float]) -> bool:
        """Whether more than one kind was walked on so far that it counts."""
        return len(self.counting(lengths)) > 1

    def counting(self, lengths: dict[_Kind, float]) -> frozenset[_Kind]:
        """The kinds that were walked on so far that they count."""
        return frozenset(kind for kind, one in lengths.items() if one > WALKED_SHARE * self.half_m)

    def kind_at(self, at: shapely.Point) -> _Kind:
        """What was walked on nearest to a place."""
        return self.kinds[nearest_to(self.tree, at)]

    def inside(self, face: Polygon) -> dict[_Kind, float]:
        """How far each kind of ground was walked on inside a face."""
        lengths: dict[_Kind, float] = defaultdict(float)
        found = np.sort(self.tree.query(face, predicate="intersects"))
        there = np.array([self.lines[index] for index in found], dtype=object)
        shapely.prepare(face)
        walked = np.where(shapely.covers(face, there), shapely.length(there), math.nan)
        for index, length in zip(found.tolist(), walked.tolist(), strict=True):
            inside = self.lines[index].intersection(face).length if math.isnan(length) else length
            # What only comes to the edge of a face, as every walk does to its own cut, was not walked in it.
            if inside > TOUCH_M or self.lines[index].length <= TOUCH_M:
                lengths[self.kinds[index]] += inside + 1e-6
        return lengths

    def nearest(self, face: Polygon) -> list[tuple[_Kind, BaseGeometry]]:
        """A face in which no line parts two kinds, as where two arms run side by side: to each what is nearer.

        The cells of points along the walks, joined by kind.
        """
        points: dict[Point, _Kind] = {}
        for index in sorted(int(one) for one in self.tree.query(face, predicate="intersects")):
            inside = self.lines[index].intersection(face)
            if inside.length <= TOUCH_M < self.lines[index].length:
                # As above; whether it comes to the very edge is chance.
                continue
            for x, y in shapely.get_coordinates(shapely.segmentize(inside, _STEP_SHARE * self.half_m)):
                points.setdefault((settled(float(x), 3), settled(float(y), 3)), self.kinds[index])
        cells = list(
            shapely.get_parts(shapely.voronoi_polygons(shapely.MultiPoint(list(points)), extend_to=face))
        )
        at, cell = shapely.STRtree(cells).query(shapely.points(list(points)), predicate="intersects")
        own = dict(zip(cell.tolist(), at.tolist(), strict=True))
        there = list(points.values())
        found: dict[_Kind, list[BaseGeometry]] = defaultdict(list)
        for number, index in own.items():
            found[there[index]].append(cells[number])
        # Of points on a regular net some cells cross themselves by a hair, and have no union as they are.
        return [
            (kind, shapely.union_all(shapely.make_valid(np.array(parts, dtype=object))).intersection(face))
            for kind, parts in found.items()
        ]


@record(frozen=True, kw_only=True)
class _GroundChange:
    """Where two stretches of different ground meet."""

    at: Point
    way_deg: float
    """Of the line that halves the angle between them; square to the leg in the midst of one."""
    kinds: frozenset[_Kind]
    """The two."""


def _changes(stretches: Sequence[BandStretch]) -> list[_GroundChange]:
    """Every place where the ground changes along the walk."""
    meeting: dict[Point, list[tuple[_Kind, Point, Point]]] = defaultdict(list)
    for stretch in stretches:
        start, end = stretch.start, stretch.end
        length = math.dist(start, end)
        if length > 1e-6:
            way = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
            meeting[one_place(start)].append((_kind(stretch), start, way))
            meeting[one_place(end)].append((_kind(stretch), end, (-way[0], -way[1])))
    found: list[_GroundChange] = []
    for ends in meeting.values():
        for (kind, at, way), (other, _, back) in combinations(ends, 2):
            if kind == other:
                continue
            x, y = way[0] + back[0], way[1] + back[1]
            if math.hypot(x, y) < 0.05:
                x, y = way[1], -way[0]
            found.append(
                _GroundChange(at=at, way_deg=math.degrees(math.atan2(x, y)), kinds=frozenset((kind, other)))
            )
    return found


def _across(
    changes: Sequence[_GroundChange], network: ArmNetwork, whole: BaseGeometry, half_m: float
) -> list[LineString]:
    """Cuts across the walk."""
    cuts: list[LineString] = []
    for change in changes:
        near = network.near(change.at, reach_m=2.0 * half_m)
        reach = about(shapely.Point(change.at), _CUT_HALVES * half_m)
        ground = shapely.union_all([one.ground for one in near]).intersection(whole).intersection(reach)
        line = through(change.at, change.way_deg, ground, half_m=half_m)
        if line is not None:
            cuts.append(longer(line))
    return cuts


def _faces(whole: BaseGeometry, cuts: Sequence[LineString]) -> list[Polygon]:
    lines = shapely.union_all([whole.boundary, *cuts])
    return [
        face for face in areas_in(shapely.polygonize([lines])) if whole.contains(face.representative_point())
    ]
