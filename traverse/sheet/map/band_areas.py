"""The band of ground that was looked at, cut between units along the contacts that part them.

Everything here is on paper, in millimetres of the page.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import replace
from functools import cached_property
from itertools import combinations
from typing import TypeAlias

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from traverse.ground.records import Traverse
from traverse.location.records import Survey
from traverse.log.records import LegKind
from traverse.record import record
from traverse.settled import least, settled, settled_shape
from traverse.sheet.map.joined import along_computed
from traverse.sheet.map.parting import part_units
from traverse.sheet.paper.page import Command, Point, polyline
from traverse.sheet.paper.window import Window
from traverse.structure.readings.records import PlacedContact
from traverse.structure.records import Geology
from traverse.structure.walk.records import BandStretch
from traverse.trade import BAND_M, STRIKE_SLIP_DEG

LEAST_MM, MOST_MM = 3.0, 8.0
"""Half the width on paper: less would not hold letters and dips, more would colour ground that nobody looked at."""
_SIDE_SHARE = 0.7
"""Radius about the end of a side shot, over half the band."""
_QUAD = 12
_SAME_MM = 2.0
"""Two lines of one contact nearer than this on paper are one."""
_STRIKE_SLIP = math.tan(math.radians(STRIKE_SLIP_DEG))
"""How far a straight line may pass by a second place, over their distance: about two sd of a measured strike."""
_AT_MM = 0.4
_WALKED_MM = 1.0
"""A walk shorter than this in an area does not count against another."""
_STEP_MM = 0.8
"""Distance of points along a walk whose ground is parted by what is nearest."""
_TOUCH_MM = 0.01
"""Lines and areas that share no more than this only touch."""
_RIM_MM = 0.2
_RIM_CORNERS = 12
_OVER_MM = 0.05
"""Cuts run over the edge by this, so that they part what they cross."""


def half_width_m(asked_m: float | None, scale: int) -> float:
    """Half the width of the band: as asked, else 20 m, but 3 mm at least and 8 mm at most on paper."""
    if asked_m is not None:
        return asked_m
    m_per_mm = scale / 1000.0
    # Whole metres, since the legend tells them.
    return min(max(BAND_M, math.ceil(LEAST_MM * m_per_mm)), max(1.0, math.floor(MOST_MM * m_per_mm)))


@record(frozen=True, kw_only=True)
class Arm:
    """A leg on paper with the ground looked at along it."""

    leg: int | None
    start: Point
    end: Point
    side: bool
    ground: BaseGeometry

    @cached_property
    def line(self) -> BaseGeometry:
        """The leg itself."""
        return LineString([self.start, self.end]) if self.length > 1e-6 else shapely.Point(self.start)

    @cached_property
    def turn_across_deg(self) -> float:
        """Direction square to it, clockwise from up."""
        return math.degrees(math.atan2(self.end[0] - self.start[0], self.end[1] - self.start[1])) + 90.0

    @cached_property
    def length(self) -> float:
        """In millimetres."""
        return math.dist(self.start, self.end)

    def at(self, share: float) -> Point:
        """Point at a share of the leg."""
        return (
            self.start[0] + share * (self.end[0] - self.start[0]),
            self.start[1] + share * (self.end[1] - self.start[1]),
        )


@record(frozen=True, kw_only=True)
class Area:
    """Ground of one unit, in as many parts as it has."""

    unit: str | None
    covered: bool
    queried: bool = False
    """Whether the unit is doubted there."""
    parts: tuple[Polygon, ...]


@record(frozen=True, kw_only=True)
class Crossed:
    """A contact where the band is cut by it."""

    contact: PlacedContact
    at: Point
    line: LineString
    """From edge to edge of the band; or to half-way to the next place where the walk met the same contact."""
    course_known: bool
    tied: bool = False
    """Whether it goes on, from its last point, in the line of another crossing."""


@record(frozen=True, kw_only=True)
class Band:
    """The whole band."""

    whole: BaseGeometry
    """Beyond the window too."""
    edge: BaseGeometry
    """The part inside the window."""
    areas: tuple[Area, ...]
    crossed: tuple[Crossed, ...]
    half_mm: float


def arms(survey: Survey, geology: Geology, window: Window, half_mm: float) -> tuple[Arm, ...]:
    """The legs and single stations on paper."""
    found: list[Arm] = []
    for index, placed in enumerate(survey.legs):
        start = survey.places.get(placed.booked.start)
        if start is None:
            continue
        first = window.at(start.east_m, start.north_m)
        last = window.at(start.east_m + placed.adjusted.east_m, start.north_m + placed.adjusted.north_m)
        side = placed.booked.kind is LegKind.SIDE
        line = LineString([first, last]) if math.dist(first, last) > 1e-6 else shapely.Point(first)
        radius = half_mm * _SIDE_SHARE if side else half_mm
        ground = settled_shape(line.buffer(radius, quad_segs=_QUAD))
        found.append(Arm(leg=index, start=first, end=last, side=side, ground=ground))
    for stretch in geology.band:
        if stretch.leg is None:
            at = window.at(*stretch.start)
            ground = settled_shape(shapely.Point(at).buffer(half_mm, quad_segs=_QUAD))
            found.append(Arm(leg=None, start=at, end=at, side=False, ground=ground))
    return tuple(found)


def lay_band(trav: Traverse, window: Window, half_mm: float) -> Band | None:
    """The band with its areas by unit, and the contacts that cut it; None where nobody walked."""
    walked = arms(trav.survey, trav.geology, window, half_mm)
    if not walked:
        return None
    extra = [
        settled_shape(
            shapely.Point(window.at(one.place.east_m, one.place.north_m)).buffer(
                half_mm * 0.5, quad_segs=_QUAD
            )
        )
        for one in trav.geology.contacts
    ]
    whole = shapely.union_all([*(arm.ground for arm in walked), *extra])
    edge = whole.intersection(shapely.box(window.box.x, window.box.y, window.box.right, window.box.top))
    network = _Network(walked)
    crossed = _tied(
        [
            found
            for one in trav.geology.contacts
            if (found := _crossing(one, network, edge, window, half_mm)) is not None
        ],
        edge,
        trav.geology.band,
        window,
        half_mm,
    )
    crossed = along_computed(crossed, trav.ground, window, edge)
    areas = _areas(trav.geology, network, edge, crossed, window, half_mm)
    crossed = part_units(crossed, areas)
    return Band(whole=whole, edge=edge, areas=areas, crossed=crossed, half_mm=half_mm)


def _crossing(
    contact: PlacedContact, network: _Network, edge: BaseGeometry, window: Window, half_mm: float
) -> Crossed | None:
    """The line of a contact from edge to edge of the arm that it was met on."""
    at = window.at(contact.place.east_m, contact.place.north_m)
    leg_turn = contact.place.leg_azimuth_deg
    if contact.course_deg is not None:
        turn = window.turn_deg(contact.course_deg)
    elif leg_turn is not None:
        turn = leg_turn + 90.0
    else:
        turn = network.arms[network.nearest(at)].turn_across_deg
    oblique = 1.0 if leg_turn is None else max(0.3, abs(math.sin(math.radians(turn - leg_turn))))
    near = network.about(at, reach=max(3.0, 3.0 / oblique) * half_mm)
    ground = shapely.union_all(
        [*(arm.ground for arm in near), settled_shape(shapely.Point(at).buffer(half_mm * 0.5))]
    )
    far = 40.0 * half_mm + 50.0
    line = _through(at, turn, ground.intersection(edge), far=far)
    if line is None:
        return None
    ends = [shapely.Point(end).distance(edge.boundary) for end in (line.coords[0], line.coords[-1])]
    if max(ends) > _OVER_MM:
        # It would end in ground that was looked at: run on to the edge.
        line = _joined(line, _through(at, turn, edge, far=far), ends)
    return Crossed(contact=contact, at=at, line=line, course_known=contact.course_deg is not None)


class _Network:
    """Arms by the places where they meet."""

    def __init__(self, walked: tuple[Arm, ...]) -> None:
        self.arms = walked
        self._tree = shapely.STRtree([arm.line for arm in walked])
        self._by_end: dict[tuple[float, float], list[int]] = defaultdict(list)
        for index, arm in enumerate(walked):
            for end in (arm.start, arm.end):
                self._by_end[_key(end)].append(index)

    def nearest(self, at: Point) -> int:
        """The arm that a point is on."""
        return _nearest_to(self._tree, shapely.Point(at))

    def about(self, at: Point, *, reach: float) -> list[Arm]:
        """Arms that are reached along the walk within a distance of a point on it."""
        first = self.nearest(at)
        found = {first: 0.0}
        waiting = [(first, end, math.dist(at, end)) for end in (self.arms[first].start, self.arms[first].end)]
        while waiting:
            index, end, walk = waiting.pop()
            if walk > reach:
                continue
            for other in self._by_end[_key(end)]:
                if other == index or found.get(other, math.inf) <= walk:
                    continue
                found[other] = walk
                arm = self.arms[other]
                beyond = arm.end if _key(arm.start) == _key(end) else arm.start
                waiting.append((other, beyond, walk + arm.length))
        return [self.arms[index] for index in sorted(found)]


def _key(point: Point) -> tuple[float, float]:
    return settled(point[0], 2), settled(point[1], 2)


def _through(at: Point, turn_deg: float, ground: BaseGeometry, *, far: float) -> LineString | None:
    """The straight line through a point as far as the ground about it goes."""
    sin, cos = math.sin(math.radians(turn_deg)), math.cos(math.radians(turn_deg))
    line = LineString(
        [(at[0] - far * sin, at[1] - far * cos), (at[0] + far * sin, at[1] + far * cos)]
    ).intersection(ground)
    here = shapely.Point(at)
    pieces = [one for one in shapely.get_parts(line) if isinstance(one, LineString) and not one.is_empty]
    found = least(pieces, key=lambda one: one.distance(here), same=_TOUCH_MM)
    if found is None or found.distance(here) >= 1.0 or found.length <= 0.1:
        return None
    return settled_shape(found)


def _joined(line: LineString, whole: LineString | None, ends: list[float]) -> LineString:
    """The line, with those of its ends that fall short of the edge taken from the longer one."""
    if whole is None:
        return line
    (first, last), (start, end) = (line.coords[0], line.coords[-1]), (whole.coords[0], whole.coords[-1])
    return LineString([start if ends[0] > _OVER_MM else first, end if ends[1] > _OVER_MM else last])


def _tied(
    crossed: list[Crossed],
    edge: BaseGeometry,
    stretches: tuple[BandStretch, ...],
    window: Window,
    half_mm: float,
) -> tuple[Crossed, ...]:
    """One contact met twice in ground that hangs together is one line, bent where the two places ask for it.

    Two are taken for one where they part the same units with the younger one on the same side, and each lies as near
    to the other's line as their standard deviations and that of the strike allow.
    """
    found = list(crossed)
    younger = [_toward_younger(one, stretches, window) for one in found]
    whole = edge.buffer(_OVER_MM)
    tied: set[int] = set()
    for first, second in combinations(range(len(found)), 2):
        one, other = found[first], found[second]
        pair = (one.contact.kind, one.contact.younger, one.contact.older)
        sides = younger[first], younger[second]
        if (
            None in sides
            or pair != (other.contact.kind, other.contact.younger, other.contact.older)
            or tied & {first, second}
        ):
            continue
        far = math.dist(one.at, other.at)
        apart = window.mm(2.0 * math.hypot(one.contact.sd_m, other.contact.sd_m)) + far * _STRIKE_SLIP
        near = min(max(_SAME_MM, apart), 0.75 * half_mm)
        away = max(_off(one.line, other.at), _off(other.line, one.at))
        if away > near or far < _SAME_MM:
            continue
        if not _same_side(one.at, other.at, sides) or not whole.contains(LineString([one.at, other.at])):
            continue
        middle = ((one.at[0] + other.at[0]) / 2, (one.at[1] + other.at[1]) / 2)
        tied |= {first, second}
        found[first] = _half(one, middle, away_from=other.at)
        found[second] = _half(other, middle, away_from=one.at)
    return tuple(found)


def _off(line: LineString, at: Point) -> float:
    """Distance of a point from a straight line that has no ends."""
    (x0, y0), (x1, y1) = line.coords[0], line.coords[-1]
    across = (x1 - x0) * (at[1] - y0) - (y1 - y0) * (at[0] - x0)
    return abs(float(across)) / line.length


def _toward_younger(one: Crossed, stretches: tuple[BandStretch, ...], window: Window) -> Point | None:
    """Way along the walk in which the younger unit lies from a contact; None where the walk doesn't tell."""
    for stretch in stretches:
        if stretch.unit not in {one.contact.younger, one.contact.older} or stretch.unit is None:
            continue
        start, end = window.at(*stretch.start), window.at(*stretch.end)
        for here, there in ((start, end), (end, start)):
            if math.dist(here, one.at) < _AT_MM and math.dist(here, there) > 1e-6:
                way = (there[0] - here[0], there[1] - here[1])
                return way if stretch.unit == one.contact.younger else (-way[0], -way[1])
    return None


def _same_side(one: Point, other: Point, ways: tuple[Point | None, Point | None]) -> bool:
    """Whether both ways lead to the same side of the line between two places."""
    along = (other[0] - one[0], other[1] - one[1])
    sides = [along[0] * way[1] - along[1] * way[0] for way in ways if way is not None]
    return len(sides) == 2 and sides[0] * sides[1] > 0.0


def _half(one: Crossed, middle: Point, *, away_from: Point) -> Crossed:
    """The line from its outer edge through its own place to the middle between two."""
    ends = [(float(x), float(y)) for x, y in (one.line.coords[0], one.line.coords[-1])]
    outer = max(ends, key=lambda end: math.dist(end, away_from))
    return replace(one, line=LineString([outer, one.at, middle]), tied=True)


def _longer(line: LineString, *, tied: bool = False) -> LineString:
    """The line with its ends a little farther out; of a tied one only the outer end, the other meets its twin."""
    points = [(float(x), float(y)) for x, y in line.coords]
    last = points[-1] if tied else _beyond(points[-2], points[-1])
    return LineString([_beyond(points[1], points[0]), *points[1:-1], last])


def _beyond(inner: Point, end: Point) -> Point:
    share = _OVER_MM / max(math.dist(inner, end), _OVER_MM)
    return (end[0] + (end[0] - inner[0]) * share, end[1] + (end[1] - inner[1]) * share)


def _areas(
    geology: Geology,
    network: _Network,
    edge: BaseGeometry,
    crossed: tuple[Crossed, ...],
    window: Window,
    half_mm: float,
) -> tuple[Area, ...]:
    """Faces of the band between the cuts, each of the unit walked on in it, those of one unit joined."""
    stretches = [one for one in geology.band if one.unit is not None or one.covered]
    if not stretches:
        return ()
    joins = _joins(geology.band, window)
    booked = np.array([one.at for one in crossed], dtype=np.float64).reshape(-1, 2)
    unbooked = [one for one in joins if not len(booked) or np.hypot(*(booked - one.at).T).min() > _AT_MM]
    cuts = [_longer(one.line, tied=one.tied) for one in crossed]
    cuts += _across(unbooked, network, edge, half_mm)
    walks = [_walk(one, window) for one in geology.band]
    tree = shapely.STRtree(walks)
    kinds = [_kind(one) for one in geology.band]
    faces = [(face, _walked_in(face, walks, tree, kinds)) for face in _faces(edge, cuts)]
    mixed = [face for face, lengths in faces if sum(one > _WALKED_MM for one in lengths.values()) > 1]
    if mixed:
        # A contact so near the walk's own course that it parts nothing: the walk itself says where the ground changes.
        whole = shapely.union_all(mixed).buffer(_AT_MM)
        cuts += _across(
            [one for one in joins if whole.contains(shapely.Point(one.at))], network, edge, half_mm
        )
        faces = [(face, _walked_in(face, walks, tree, kinds)) for face in _faces(edge, cuts)]
    by_kind: dict[_Kind, list[BaseGeometry]] = defaultdict(list)
    for face, lengths in faces:
        if sum(one > _WALKED_MM for one in lengths.values()) > 1:
            for kind, ground in _nearest(face, walks, tree, kinds):
                by_kind[kind].append(ground)
            continue
        if lengths:
            kind = max(lengths, key=lambda one: settled(lengths[one], 2))
        else:
            # A corner that no walk passes: what lies nearest along it decides.
            kind = kinds[_nearest_to(tree, face.representative_point())]
        by_kind[kind].append(face)
    areas: list[Area] = []
    for (unit, covered, queried), found in by_kind.items():
        if unit is None and not covered:
            continue
        joined = shapely.union_all(found, grid_size=1e-4)
        parts = tuple(
            one for one in shapely.get_parts(joined) if isinstance(one, Polygon) and one.area > 0.02
        )
        areas.append(Area(unit=unit, covered=covered, queried=queried, parts=parts))
    return tuple(areas)


_Kind: TypeAlias = tuple[str | None, bool, bool]
"""Unit, covered, queried."""


def _kind(stretch: BandStretch) -> _Kind:
    if stretch.covered:
        return (None, True, False)
    return (stretch.unit, False, stretch.queried and stretch.unit is not None)


def _walk(stretch: BandStretch, window: Window) -> BaseGeometry:
    start, end = window.at(*stretch.start), window.at(*stretch.end)
    return LineString([start, end]) if math.dist(start, end) > 1e-6 else shapely.Point(start)


def _walked_in(
    face: Polygon, walks: list[BaseGeometry], tree: shapely.STRtree, kinds: list[_Kind]
) -> dict[_Kind, float]:
    """How far each kind of ground was walked on inside a face."""
    lengths: dict[_Kind, float] = defaultdict(float)
    found = np.sort(tree.query(face, predicate="intersects"))
    there = np.array([walks[index] for index in found], dtype=object)
    shapely.prepare(face)
    walked = np.where(shapely.covers(face, there), shapely.length(there), math.nan)
    for index, length in zip(found.tolist(), walked.tolist(), strict=True):
        inside = walks[index].intersection(face).length if math.isnan(length) else length
        # What only comes to the edge of a face, as every walk does to its own cut, was not walked in it.
        if inside > _TOUCH_MM or walks[index].length <= _TOUCH_MM:
            lengths[kinds[index]] += inside + 1e-6
    return lengths


def _nearest_to(tree: shapely.STRtree, at: shapely.Point) -> int:
    """Number of the line nearest to a place, the first of those that are as near."""
    near = tree.geometries[int(tree.nearest(at))].distance(at)
    return int(tree.query(at, predicate="dwithin", distance=near + _TOUCH_MM).min())


def _nearest(
    face: Polygon, walks: list[BaseGeometry], tree: shapely.STRtree, kinds: list[_Kind]
) -> list[tuple[_Kind, BaseGeometry]]:
    """A face in which no line parts two kinds of ground, as where two arms run side by side: to each what is nearer.

    The cells of points along the walks, joined by kind.
    """
    points: dict[tuple[float, float], _Kind] = {}
    for index in sorted(int(one) for one in tree.query(face, predicate="intersects")):
        inside = walks[index].intersection(face)
        for x, y in shapely.get_coordinates(shapely.segmentize(inside, _STEP_MM)):
            points.setdefault((settled(float(x), 3), settled(float(y), 3)), kinds[index])
    cells = list(
        shapely.get_parts(shapely.voronoi_polygons(shapely.MultiPoint(list(points)), extend_to=face))
    )
    at, cell = shapely.STRtree(cells).query(shapely.points(list(points)), predicate="intersects")
    own = dict(zip(cell.tolist(), at.tolist(), strict=True))
    there = list(points.values())
    found: dict[_Kind, list[BaseGeometry]] = defaultdict(list)
    for number, index in own.items():
        found[there[index]].append(cells[number])
    return [(kind, shapely.union_all(parts).intersection(face)) for kind, parts in found.items()]


@record(frozen=True, kw_only=True)
class _Join:
    """Where two stretches of different ground meet."""

    at: Point
    turn_deg: float
    """Of the line that halves the angle between them; square to the leg in the midst of one."""


def _joins(stretches: tuple[BandStretch, ...], window: Window) -> list[_Join]:
    """Every place where the ground changes along the walk."""
    meeting: dict[tuple[float, float], list[tuple[_Kind, Point, Point]]] = defaultdict(list)
    for stretch in stretches:
        start, end = window.at(*stretch.start), window.at(*stretch.end)
        length = math.dist(start, end)
        if length > 1e-6:
            way = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
            meeting[_key(start)].append((_kind(stretch), start, way))
            meeting[_key(end)].append((_kind(stretch), end, (-way[0], -way[1])))
    found: list[_Join] = []
    for ends in meeting.values():
        for (kind, at, way), (other, _, back) in combinations(ends, 2):
            if kind == other:
                continue
            x, y = way[0] + back[0], way[1] + back[1]
            if math.hypot(x, y) < 0.05:
                x, y = way[1], -way[0]
            found.append(_Join(at=at, turn_deg=math.degrees(math.atan2(x, y))))
    return found


def _across(joins: list[_Join], network: _Network, edge: BaseGeometry, half_mm: float) -> list[LineString]:
    """Cuts across the walk."""
    cuts: list[LineString] = []
    for join in joins:
        near = network.about(join.at, reach=2.0 * half_mm)
        ground = shapely.union_all([one.ground for one in near]).intersection(edge)
        line = _through(join.at, join.turn_deg, ground, far=20.0 * half_mm + 20.0)
        if line is not None:
            cuts.append(_longer(line))
    return cuts


def _faces(edge: BaseGeometry, cuts: list[LineString]) -> list[Polygon]:
    lines = shapely.union_all([edge.boundary, *cuts])
    return [
        face
        for face in shapely.get_parts(shapely.polygonize([lines]))
        if isinstance(face, Polygon) and edge.contains(face.representative_point())
    ]


def outline(shape: BaseGeometry) -> tuple[Command, ...]:
    """Commands for the rings of areas, to be filled by the even-odd rule."""
    commands: list[Command] = []
    for part in shapely.get_parts(shape):
        if isinstance(part, Polygon):
            for ring in (part.exterior, *part.interiors):
                commands += polyline([(float(x), float(y)) for x, y in ring.coords[:-1]], close=True)
    return tuple(commands)


def rim(shape: BaseGeometry) -> list[BaseGeometry]:
    """The outline of areas as narrow strips, short ones, which are found faster than one long one."""
    pieces: list[LineString] = []
    for part in shapely.get_parts(shape):
        if isinstance(part, Polygon):
            for ring in (part.exterior, *part.interiors):
                corners = shapely.get_coordinates(ring)
                pieces += [
                    LineString(corners[start : start + _RIM_CORNERS + 1])
                    for start in range(0, len(corners) - 1, _RIM_CORNERS)
                ]
    return list(shapely.buffer(np.array(pieces, dtype=object), _RIM_MM, quad_segs=1))
