"""Contacts beside the walk and along it: their lines, and the ground that was seen beyond them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from traverse.ground.records import ContactPiece, HowSeen, Point
from traverse.log.items import HowMet
from traverse.record import record
from traverse.settled import settled_shape
from traverse.structure.readings.records import PlacedContact
from traverse.structure.walk.records import ContactLine, LinePart

_ALONE_SHARE = 0.5
"""A contact seen at one place beside the walk is drawn so far to both sides of it, over half the band."""
_CLEAR_SHARE = 0.8
"""And no nearer to the walk than leaves this share of its way there."""
_INSIDE_SHARE = 0.05
"""Ground beyond a line is told by what lies so far beyond it, over half the band."""
_OVER_M = 0.1
_LEAST_M = 0.05
_FAR = 60.0


@record(frozen=True, kw_only=True)
class Beside:
    """A contact beside the walk as it lies on the map."""

    of: ContactLine
    line: LineString
    pieces: tuple[ContactPiece, ...]


@record(frozen=True, kw_only=True)
class SideSeen:
    """Ground seen on one side of a contact beside the walk."""

    unit: str
    queried: bool
    inside: LineString
    """A line in it."""
    cuts: tuple[LineString, ...]
    """The contact, and from its ends away from it: no farther along was anything seen there."""


def lie_beside(line: ContactLine, half_m: float, convergence_deg: float) -> Beside:
    """The line through all its places, and its pieces; through one place alone along its course."""
    points = _without_steps(
        point for part in line.parts for point in (*_plan(part), *([part.corner[:2]] if part.corner else []))
    )
    if len(points) < 2:
        alone = line.parts[0].contact
        drawn, known = _alone(alone, points[0], half_m, convergence_deg)
        piece = ContactPiece(contact=alone, seen=HowSeen.AT, at=points[0], line=drawn, course_known=known)
        return Beside(of=line, line=drawn, pieces=(piece,))
    whole = settled_shape(LineString(points))
    return Beside(of=line, line=whole, pieces=tuple(_pieces(line.parts)))


def _plan(part: LinePart) -> list[Point]:
    return [(east, north) for east, north, _ in part.points]


def _without_steps(points: Iterator[Point]) -> list[Point]:
    found: list[Point] = []
    for point in points:
        if not found or math.dist(found[-1], point) > _LEAST_M:
            found.append(point)
    return found


def _alone(
    contact: PlacedContact, at: Point, half_m: float, convergence_deg: float
) -> tuple[LineString, bool]:
    """Along its course as far as it keeps clear of the walk; along the walk where no course is known."""
    leg_deg, known = contact.place.leg_azimuth_deg or 0.0, contact.course_deg is not None
    way_deg = leg_deg if contact.course_deg is None else contact.course_deg - convergence_deg
    toward = abs(math.sin(math.radians(way_deg - leg_deg)))
    most = _ALONE_SHARE * half_m
    if toward > 1e-6:
        most = min(most, _CLEAR_SHARE * abs(contact.place.right_m) / toward)
    x, y = math.sin(math.radians(way_deg)), math.cos(math.radians(way_deg))
    # Forward along the walk, so that its left is the left of the walk.
    x, y = (x, y) if math.cos(math.radians(way_deg - leg_deg)) >= 0.0 else (-x, -y)
    ends = [(at[0] - most * x, at[1] - most * y), (at[0] + most * x, at[1] + most * y)]
    return settled_shape(LineString(ends)), known


def _pieces(parts: Sequence[LinePart]) -> Iterator[ContactPiece]:
    """What was followed, what lies about a place, half-way to the next, and what lies between two stretches."""
    reach: list[list[Point]] = [_plan(part) for part in parts]
    gaps: list[list[Point]] = []
    for index, (first, second) in enumerate(pairwise(parts)):
        start, end = reach[index][-1], _plan(second)[0]
        middle = ((start[0] + end[0]) / 2.0, (start[1] + end[1]) / 2.0)
        at = [one.contact.met is HowMet.BESIDE for one in (first, second)]
        if at[0]:
            reach[index].append(middle)
        if at[1]:
            reach[index + 1].insert(0, middle)
        bend = [] if first.corner is None else [first.corner[:2]]
        gaps.append([middle if at[0] else start, *bend, middle if at[1] else end])
    for index, part in enumerate(parts):
        if part.contact.met is HowMet.BESIDE:
            yield from _piece(part.contact, HowSeen.AT, reach[index], _plan(part)[0])
        else:
            yield from _piece(part.contact, HowSeen.ALONG, reach[index], None)
        if index < len(gaps):
            yield from _piece(part.contact, HowSeen.BETWEEN, gaps[index], None)


def _piece(
    contact: PlacedContact, seen: HowSeen, points: Sequence[Point], at: Point | None
) -> Iterator[ContactPiece]:
    kept = _without_steps(iter(points))
    if len(kept) < 2:
        return
    line = settled_shape(LineString(kept))
    middle = line.interpolate(0.5, normalized=True)
    yield ContactPiece(
        contact=contact, seen=seen, at=at or (middle.x, middle.y), line=line, course_known=True
    )


def sides_seen(beside: Beside, whole: BaseGeometry, half_m: float) -> Iterator[SideSeen]:
    """The ground beyond a line, out to the edge of what was looked at; on both sides of one on the walk or far off it."""
    line, of = beside.line, beside.of
    points = [(float(x), float(y)) for x, y in line.coords]
    queried = any(part.contact.queried for part in of.parts)
    for unit, way, side in ((of.left, 1.0, -1), (of.right, -1.0, 1)):
        near = of.side == -side
        if unit is None or (near and abs(of.parts[0].contact.place.right_m) < half_m):
            # Between it and the walk the walk itself tells.
            continue
        inside = line.offset_curve(way * _INSIDE_SHARE * half_m)
        if not isinstance(inside, LineString) or inside.is_empty:
            continue
        (x0, y0), (x1, y1) = points[-2:]
        caps = [] if near else [_cap(points[0], points[1], way, whole, half_m)]
        caps += [] if near else [_cap((x1, y1), (2 * x1 - x0, 2 * y1 - y0), way, whole, half_m)]
        # Clear of its cuts, or its ends would lie in the faces beyond them.
        clear = min(_OVER_M, inside.length / 4.0)
        kept = substring(inside, clear, inside.length - clear)
        if isinstance(kept, LineString):
            yield SideSeen(
                unit=unit, queried=queried and not near, inside=settled_shape(kept), cuts=(line, *caps)
            )


def _cap(at: Point, ahead: Point, way: float, whole: BaseGeometry, half_m: float) -> LineString:
    """From an end of a line square to it, as far as the ground that was looked at goes on."""
    x, y = ahead[0] - at[0], ahead[1] - at[1]
    size = math.hypot(x, y)
    out = (-y / size * way, x / size * way)
    ray = LineString([at, (at[0] + _FAR * half_m * out[0], at[1] + _FAR * half_m * out[1])])
    here = shapely.Point(at)
    reach = [
        part.length for part in shapely.get_parts(ray.intersection(whole)) if part.distance(here) < _OVER_M
    ]
    long = max(reach, default=0.0) + _OVER_M
    return settled_shape(LineString([at, (at[0] + long * out[0], at[1] + long * out[1])]))
