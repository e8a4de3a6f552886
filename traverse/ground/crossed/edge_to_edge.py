"""The contacts that the walk met, each in a line from edge to edge of the ground that was looked at."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from traverse.ground.arm_network import LOOK_SHARE, TOUCH_M, ArmNetwork, about
from traverse.ground.crossed.as_walked import WalksByUnit, shifted_m
from traverse.ground.crossed.one_line import in_one_line
from traverse.ground.crossed.over_slopes import Slopes
from traverse.ground.records import CrossedContact, Point
from traverse.log.items import HowMet
from traverse.settled import least, settled_shape
from traverse.shapes import lines_in, points_of
from traverse.structure.readings.records import PlacedContact, Surface
from traverse.structure.walk.records import BandStretch
from traverse.trade import GENTLE_DEG, SURE_SD

OVER_M = 0.1
"""Cuts run over the edge by this, so that they part what they cross."""
_PASSES_SHARE = 0.125
"""A line that passes a place by more than this share of half the band does not run through it."""
_SHORTEST_SHARE = 0.0125
_ASIDE_SHARE = 0.5
"""Of half the band: a line that gets no farther from the leg parts nothing."""
_UNKNOWN_HALVES = 1.5
"""A contact whose course is not known is drawn no farther than so many halves of the band from where it was met."""
_GENTLE_HALVES = 3.0
"""How a gentle contact runs on hangs on the ground, which is known so far from where it was met, in halves of the band."""


def crossings(
    contacts: Sequence[PlacedContact],
    stretches: tuple[BandStretch, ...],
    network: ArmNetwork,
    whole: BaseGeometry,
    slopes: Slopes,
    *,
    half_m: float,
    convergence_deg: float,
) -> tuple[CrossedContact, ...]:
    """Every contact that the walk crossed in the band, one that it met at several places in one line.

    Each runs straight as it comes out on the ground's own slope, or as near to that as the walk leaves it.
    """
    crossed = (one for one in contacts if one.met is HowMet.CROSSED)
    found = [
        line
        for one in crossed
        if (line := _crossing(one, slopes, network, whole, half_m, convergence_deg)) is not None
    ]

    def through_mean(at: Point, way_deg: float) -> LineString | None:
        return edge_to_edge(at, way_deg, None, network, whole, half_m, 0.0)

    walks = WalksByUnit(found, stretches, network, half_m)
    joined = in_one_line(found, stretches, whole, half_m, through_mean, walks.leads)
    return tuple(walks.turned(one) for one in joined)


def _crossing(
    contact: PlacedContact,
    slopes: Slopes,
    network: ArmNetwork,
    whole: BaseGeometry,
    half_m: float,
    convergence_deg: float,
) -> CrossedContact | None:
    """The line of a contact from edge to edge of the arm that it was met on."""
    at = (contact.place.east_m, contact.place.north_m)
    leg_deg = contact.place.leg_azimuth_deg
    lies = contact.lies
    course = slopes.course(contact)
    course_deg, known = (None, False) if course is None else (course.azimuth_deg, course.known)
    line = edge_to_edge(at, course_deg, leg_deg, network, whole, half_m, convergence_deg)
    if line is None:
        return None
    likeliest = course_deg is not None and not known
    if likeliest:
        line = _near(line, at, _UNKNOWN_HALVES * half_m)
    elif not _is_steep(lies) and lies is not None:
        line = _near(line, at, _GENTLE_HALVES * half_m)
    kept = _where_it_can_be(line, contact, 0.0 if lies is None else lies.dip_deg, at, network, half_m)
    short = likeliest or all(
        math.dist(one, other) > TOUCH_M for one, other in zip(*map(_ends, (line, kept)), strict=True)
    )
    if (
        course_deg is not None
        and leg_deg is not None
        and short
        and not _gets_aside(kept, at, leg_deg, half_m)
    ):
        # Its strike takes it along the walk, where the ground is too high or too low for it.
        square = edge_to_edge(at, None, leg_deg, network, whole, half_m, convergence_deg)
        if square is not None:
            kept, known = square, False
    return CrossedContact(
        contact=contact, at=at, line=kept, course_known=known, steep=known and _is_steep(lies)
    )


def _near(line: LineString, at: Point, reach_m: float) -> LineString:
    """A line no farther to both sides of a place than it is known."""
    here = line.project(shapely.Point(at))
    found = substring(line, max(0.0, here - reach_m), min(line.length, here + reach_m))
    return settled_shape(found) if isinstance(found, LineString) else line


def _ends(line: LineString) -> tuple[Point, Point]:
    points = points_of(line)
    return points[0], points[-1]


def _is_steep(lies: Surface | None) -> bool:
    """Whether a plane is no gentle one."""
    return lies is not None and lies.dip_deg > max(GENTLE_DEG, SURE_SD * lies.sd_deg)


def _gets_aside(line: LineString, at: Point, leg_deg: float, half_m: float) -> bool:
    """Whether a line gets away from the leg on either hand, so that it parts the ground there."""
    x, y = math.sin(math.radians(leg_deg)), math.cos(math.radians(leg_deg))
    off = max(abs((end[0] - at[0]) * y - (end[1] - at[1]) * x) for end in points_of(line))
    return off >= _ASIDE_SHARE * half_m


def edge_to_edge(
    at: Point,
    course_deg: float | None,
    leg_deg: float | None,
    network: ArmNetwork,
    whole: BaseGeometry,
    half_m: float,
    convergence_deg: float,
) -> LineString | None:
    """The line through a place of the walk along a true course, square to the leg where none is known."""
    if course_deg is not None:
        way_deg = course_deg - convergence_deg
    elif leg_deg is not None:
        way_deg = leg_deg + 90.0
    else:
        way_deg = network.arms[network.nearest(at)].across_deg
    oblique = 1.0 if leg_deg is None else max(0.3, abs(math.sin(math.radians(way_deg - leg_deg))))
    near = network.near(at, reach_m=max(3.0, 3.0 / oblique) * half_m)
    ground = shapely.union_all([*(arm.ground for arm in near), about(shapely.Point(at), 0.5 * half_m)])
    if course_deg is None:
        # Nobody knows its way: it parts the ground where it was met, and the walk says what is beyond.
        ground = ground.intersection(about(shapely.Point(at), _UNKNOWN_HALVES * half_m))
        return through(at, way_deg, ground, half_m=half_m)
    line = through(at, way_deg, ground, half_m=half_m)
    if line is None:
        return None
    ends = [shapely.Point(end).distance(whole.boundary) for end in (line.coords[0], line.coords[-1])]
    if max(ends) > OVER_M:
        # It would end in ground that was looked at: run on to the edge.
        line = _run_on(line, through(at, way_deg, whole, half_m=half_m), ends)
    return line


def through(at: Point, way_deg: float, ground: BaseGeometry, *, half_m: float) -> LineString | None:
    """The straight line through a place as far as the ground about it goes."""
    far = 60.0 * half_m
    sin, cos = math.sin(math.radians(way_deg)), math.cos(math.radians(way_deg))
    line = LineString(
        [(at[0] - far * sin, at[1] - far * cos), (at[0] + far * sin, at[1] + far * cos)]
    ).intersection(ground)
    here = shapely.Point(at)
    pieces = list(lines_in(line))
    found = least(pieces, key=lambda one: one.distance(here), same=TOUCH_M)
    if (
        found is None
        or found.distance(here) >= _PASSES_SHARE * half_m
        or found.length <= _SHORTEST_SHARE * half_m
    ):
        return None
    return settled_shape(found)


def _where_it_can_be(
    line: LineString, contact: PlacedContact, dip_deg: float, at: Point, network: ArmNetwork, half_m: float
) -> LineString:
    """The line of a contact as far as the heights that were walked leave open that the ground is so high there.

    Along its strike it runs level. Between the walk and a place aside of it the ground may rise or fall by
    `GROUND_SLOPE` for each metre.
    """
    if line.length <= half_m:
        return line
    more_m = shifted_m(dip_deg, half_m)
    here, step_m = line.project(shapely.Point(at)), LOOK_SHARE * half_m
    ends = []
    for way, room in ((-1.0, here), (1.0, line.length - here)):
        along = np.minimum(np.arange(1, math.ceil(room / step_m) + 1) * step_m, room)
        places = shapely.get_coordinates(shapely.line_interpolate_point(line, here + way * along))
        can_be = network.may_be_so_high(places, contact.place.relative_up_m, contact.sd_m, more_m)
        far = room if can_be.all() else float(along[can_be.argmin()]) - step_m
        ends.append(here + way * max(far, min(room, step_m)))
    found = substring(line, ends[0], ends[1])
    return settled_shape(found) if isinstance(found, LineString) else line


def longer(line: LineString, *, tied: bool = False, between: bool = False) -> LineString:
    """The line with its ends a little farther out; not those that meet another crossing of the contact."""
    points = points_of(line)
    first = points[0] if between else _beyond(points[1], points[0])
    last = points[-1] if tied or between else _beyond(points[-2], points[-1])
    return LineString([first, *points[1:-1], last])


def _beyond(inner: Point, end: Point) -> Point:
    share = OVER_M / max(math.dist(inner, end), OVER_M)
    return (end[0] + (end[0] - inner[0]) * share, end[1] + (end[1] - inner[1]) * share)


def _run_on(line: LineString, whole: LineString | None, ends: list[float]) -> LineString:
    """The line, with those of its ends that fall short of the edge taken from the longer one."""
    if whole is None:
        return line
    (first, last), (start, end) = (line.coords[0], line.coords[-1]), (whole.coords[0], whole.coords[-1])
    return LineString([start if ends[0] > OVER_M else first, end if ends[1] > OVER_M else last])
