"""One contact that was met at several places, by one walk or by two parties, as one line through all of them.

Places within their own errors of each other are one place, at their mean; from place to place the line is straight.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from traverse.ground.joins import one_place_m
from traverse.ground.records import CrossedContact, Point
from traverse.record import record
from traverse.settled import settled, settled_shape
from traverse.shapes import points_of
from traverse.structure.walk.records import BandStretch
from traverse.trade import JOINED_DEG, ONE_CONTACT_M, STRIKE_SLIP_DEG

AT_M = 1.0
"""Ground that changes so near to a contact changes there."""
_OVER_M = 0.1
_LEAST_M = 0.05
_SLACK_SHARE = 0.15
"""So far outside of the ground that was looked at a line from place to place may run, over half the band: past a corner."""
_STRIKE_SLIP = math.tan(math.radians(STRIKE_SLIP_DEG))
"""How far a straight line may pass by a second place, over their distance."""
_ONE_LINE_SHARE = 0.75
_STRIKE_OFF = math.tan(math.radians(JOINED_DEG))
"""And never by more than this share of half the band, or at this angle."""
_CLEAR = math.sin(math.radians(STRIKE_SLIP_DEG))
"""Sine of the angle from which on the side of a strike is one."""
_ACROSS = math.sin(math.radians(2.0 * STRIKE_SLIP_DEG))
"""A step from place to place that keeps off the strike by more than this sine is an error of the places."""


def in_one_line(
    found: Sequence[CrossedContact],
    stretches: Sequence[BandStretch],
    whole: BaseGeometry,
    half_m: float,
    through: Callable[[Point, float], LineString | None],
    leads: Callable[[CrossedContact, CrossedContact], bool],
) -> tuple[CrossedContact, ...]:
    """The crossings, those of one contact in ground that hangs together each with its part of their one line.

    Two are of one line where they part the same units with the younger one on the same side, and each lies as near to the
    other's line as their standard deviations and that of the strike allow. `through` gives the line from edge to edge
    through a place along a grid azimuth in degrees; `leads` says whether the walk and its heights let one line lead from
    place to place.
    """
    met = [_MetHere(one=one, way=_way(one.line), younger=toward_younger(one, stretches)) for one in found]
    places = [_OnePlace(met=(one,), at=one.one.at, way=one.way, line=one.one.line) for one in met]
    pairs = sorted(_alike(met, half_m), key=lambda pair: (settled(_far(met[pair[0]], met[pair[1]]), 3), pair))
    place_of = list(range(len(met)))
    for first, second in pairs:
        one, other = places[place_of[first]], places[place_of[second]]
        if one is other or not _all_one_place(one, other):
            continue
        mean = _mean((*one.met, *other.met), through)
        if mean is not None:
            gone = place_of[second]
            places[place_of[first]] = mean
            place_of = [place_of[first] if number == gone else number for number in place_of]
    held = whole.buffer(max(_OVER_M, _SLACK_SHARE * half_m))
    linked: dict[tuple[int, bool], int] = {}
    for first, second in pairs:
        mine, theirs = place_of[first], place_of[second]
        if mine == theirs:
            continue
        here, there = places[mine], places[theirs]
        way, back = (mine, _ahead(here, there)), (theirs, _ahead(there, here))
        if way in linked or back in linked or not _between_alike(met[first], met[second]):
            continue
        if held.contains(LineString([here.at, there.at])) and leads(met[first].one, met[second].one):
            linked[way], linked[back] = theirs, mine
    by_crossing = {
        id(member.one): part
        for index in sorted(set(place_of))
        for member, part in _parts(
            places[index],
            *(
                places[linked[index, ahead]].at if (index, ahead) in linked else None
                for ahead in (False, True)
            ),
        )
    }
    return tuple(by_crossing[id(one)] for one in found)


def toward_younger(one: CrossedContact, stretches: Sequence[BandStretch]) -> Point | None:
    """Way along the walk in which the younger unit lies from a contact; None where the walk doesn't tell."""
    for stretch in stretches:
        if stretch.unit not in {one.contact.younger, one.contact.older} or stretch.unit is None:
            continue
        for here, there in ((stretch.start, stretch.end), (stretch.end, stretch.start)):
            if math.dist(here, one.at) < AT_M and math.dist(here, there) > 1e-6:
                way = (there[0] - here[0], there[1] - here[1])
                return way if stretch.unit == one.contact.younger else (-way[0], -way[1])
    return None


def unit_beyond(one: CrossedContact, younger: Point, place: shapely.Point) -> str | None:
    """The unit of a contact on whose side a place lies; None where its line runs with the walk, and has no side of it."""
    way, line = _way(one.line), one.line
    along = min(max(line.project(place), _LEAST_M), line.length - _LEAST_M)
    before, after = (line.interpolate(along + step) for step in (-_LEAST_M, _LEAST_M))
    here = (after.x - before.x, after.y - before.y)
    side = _cross(here, (place.x - before.x, place.y - before.y))
    of_younger = _cross(way, younger) / math.hypot(*younger)
    if abs(of_younger) < _CLEAR:
        return None
    return one.contact.younger if side * of_younger > 0.0 else one.contact.older


@record(frozen=True, kw_only=True)
class _MetHere:
    """A crossing with the way its line runs and the way to the younger unit."""

    one: CrossedContact
    way: Point
    younger: Point | None


@record(frozen=True, kw_only=True)
class _OnePlace:
    """Crossings of a contact that are one place."""

    met: tuple[_MetHere, ...]
    at: Point
    way: Point
    line: LineString


def _way(line: LineString) -> Point:
    (x0, y0), (x1, y1) = points_of(line)[0], points_of(line)[-1]
    size = math.hypot(x1 - x0, y1 - y0)
    return (x1 - x0) / size, (y1 - y0) / size


def _far(one: _MetHere, other: _MetHere) -> float:
    return math.dist(one.one.at, other.one.at)


def _cross(one: Point, other: Point) -> float:
    return one[0] * other[1] - one[1] * other[0]


def _dot(one: Point, other: Point) -> float:
    return one[0] * other[0] + one[1] * other[1]


def _along(way: Point, like: Point) -> Point:
    """A way turned round where it runs against another."""
    return way if _dot(way, like) >= 0.0 else (-way[0], -way[1])


def _alike(met: Sequence[_MetHere], half_m: float) -> Iterator[tuple[int, int]]:
    """Pairs that part the same units, the younger one on the same side, each as near to the other's line as it may be."""
    groups: dict[tuple[object, ...], list[int]] = defaultdict(list)
    for index, one in enumerate(met):
        contact = one.one.contact
        groups[contact.kind, contact.younger, contact.older].append(index)
    for group in groups.values():
        at = np.array([met[index].one.at for index in group])
        ends = np.array(
            [(points[0], points[-1]) for points in (points_of(met[index].one.line) for index in group)]
        )
        starts, ways = ends[:, 0], ends[:, 1] - ends[:, 0]
        long_m = np.hypot(*ways.T)
        sd_m = np.array([met[index].one.contact.sd_m for index in group])
        for first, index in enumerate(group):
            rest = slice(first + 1, None)
            far = np.hypot(*(at[rest] - at[first]).T)
            off = np.maximum(
                np.abs(_cross(ways[first], (at[rest] - starts[first]).T)) / long_m[first],
                np.abs(_cross(ways[rest].T, (at[first] - starts[rest]).T)) / long_m[rest],
            )
            apart = 2.0 * np.hypot(sd_m[first], sd_m[rest]) + far * _STRIKE_SLIP
            near = np.minimum(
                np.maximum(ONE_CONTACT_M, apart), np.maximum(_ONE_LINE_SHARE * half_m, far * _STRIKE_OFF)
            )
            for other in np.flatnonzero(off <= near).tolist():
                its = group[first + 1 + other]
                if _on_one_side(met[index], met[its]):
                    yield index, its


def _on_one_side(one: _MetHere, other: _MetHere) -> bool:
    """Whether two contacts of the same units have the younger one on the same side of lines that run the same way."""
    first = one.one.contact
    if first.younger is not None and first.younger == first.older:
        # A fault inside one unit has no younger side.
        return True
    if one.younger is None or other.younger is None:
        return False
    sides = [
        _cross(way, younger) / math.hypot(*younger)
        for way, younger in ((one.way, one.younger), (_along(other.way, one.way), other.younger))
    ]
    return min(map(abs, sides)) < _CLEAR or sides[0] * sides[1] > 0.0


def _between_alike(one: _MetHere, other: _MetHere) -> bool:
    """Whether the younger unit lies on the same side of the line between two places as well.

    Where the walk runs nearly along it, down into a valley and up again, each place has its own side: no line is one.
    """
    if one.younger is None or other.younger is None or _far(one, other) < ONE_CONTACT_M:
        return True
    between = (other.one.at[0] - one.one.at[0], other.one.at[1] - one.one.at[1])
    far = math.hypot(*between)
    sides = [
        _cross(between, younger) / (far * math.hypot(*younger)) for younger in (one.younger, other.younger)
    ]
    if _dot(one.younger, other.younger) < 0.0 and max(map(abs, sides)) < _ACROSS:
        steep = one.one.steep and other.one.steep
        return steep and sides[0] * sides[1] > 0.0
    return sides[0] * sides[1] > 0.0


def _all_one_place(one: _OnePlace, other: _OnePlace) -> bool:
    """Whether each lies within the errors of each, and off its strike: along it a line leads from one to the other."""
    for first in one.met:
        for second in other.met:
            far = _far(first, second)
            if far > one_place_m(first.one.contact, second.one.contact):
                return False
            if not (first.one.course_known and second.one.course_known):
                return False
            step = (second.one.at[0] - first.one.at[0], second.one.at[1] - first.one.at[1])
            if max(abs(_cross(way, step)) for way in (first.way, second.way)) < _ACROSS * far:
                return False
    return True


def _mean(
    met: tuple[_MetHere, ...], through: Callable[[Point, float], LineString | None]
) -> _OnePlace | None:
    weights = [1.0 / max(one.one.contact.sd_m, 0.1) ** 2 for one in met]
    whole = sum(weights)
    at = (
        sum(weight * one.one.at[0] for weight, one in zip(weights, met, strict=True)) / whole,
        sum(weight * one.one.at[1] for weight, one in zip(weights, met, strict=True)) / whole,
    )
    ways = [_along(one.way, met[0].way) for one in met]
    way = (sum(one[0] for one in ways), sum(one[1] for one in ways))
    line = through(at, math.degrees(math.atan2(*way)))
    return None if line is None else _OnePlace(met=met, at=at, way=_way(line), line=line)


def _ahead(one: _OnePlace, other: _OnePlace) -> bool:
    """Whether another place lies ahead along the way of one."""
    return _dot(one.way, (other.at[0] - one.at[0], other.at[1] - one.at[1])) > 0.0


def _parts(
    place: _OnePlace, behind: Point | None, ahead: Point | None
) -> list[tuple[_MetHere, CrossedContact]]:
    """Each crossing of a place with its part of the line, which goes half-way to the places behind and ahead."""
    if len(place.met) == 1 and behind is None and ahead is None:
        return [(place.met[0], place.met[0].one)]
    # Not the end that is nearer: near a corner the line may run farther beyond the other place.
    outer = sorted(
        ((float(x), float(y)) for x, y in (place.line.coords[0], place.line.coords[-1])),
        key=lambda end: _dot(place.way, (end[0] - place.at[0], end[1] - place.at[1])),
    )
    ends = [
        edge if other is None else ((place.at[0] + other[0]) / 2.0, (place.at[1] + other[1]) / 2.0)
        for edge, other in zip(outer, (behind, ahead), strict=True)
    ]
    # Of two sightings of one place, drawn square, half-way to the other is the place itself.
    line = LineString(
        [
            *(end for end in ends[:1] if math.dist(end, place.at) > _LEAST_M),
            place.at,
            *(end for end in ends[1:] if math.dist(end, place.at) > _LEAST_M),
        ]
    )
    met = sorted(place.met, key=lambda one: settled(_dot(place.way, one.one.at), 3))
    here = line.project(shapely.Point(place.at))
    cuts = (
        [0.0, here, line.length]
        if len(met) == 2
        else [line.length * at / len(met) for at in range(len(met) + 1)]
    )
    found: list[tuple[_MetHere, CrossedContact]] = []
    for number, (member, (start, end)) in enumerate(zip(met, pairwise(cuts), strict=True)):
        part = substring(line, start, end) if len(met) > 1 else line
        assert isinstance(part, LineString)
        tied = [number > 0 or behind is not None, number < len(met) - 1 or ahead is not None]
        points = points_of(part)
        if tied[0] and not tied[1]:
            points = points[::-1]
        found.append(
            (
                member,
                replace(member.one, line=settled_shape(LineString(points)), tied=True, between=all(tied)),
            )
        )
    return found
