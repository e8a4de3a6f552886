"""The arms of the walk: each leg, or single station, with the ground that was looked at along it."""

from __future__ import annotations

import math
from collections import defaultdict
from functools import cached_property

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from traverse.ground.records import Point
from traverse.location.records import Survey
from traverse.log.items import LegKind
from traverse.record import record
from traverse.settled import settled, settled_shape
from traverse.structure.walk.records import BandStretch
from traverse.trade import GROUND_SLOPE, SIDE_BAND_SHARE, SURE_SD

TOUCH_M = 0.02
"""Lines and areas that share no more than this only touch."""
_QUAD = 12
_UP_SD_M = 0.5


@record(frozen=True, kw_only=True)
class Arm:
    """A leg with the ground looked at along it."""

    start: Point
    end: Point
    ground: BaseGeometry
    up_m: tuple[float, float] | None = None
    """Heights of its ends, counted as those of contacts are; None where no slope was read."""

    @cached_property
    def line(self) -> BaseGeometry:
        """The leg itself."""
        return straight(self.start, self.end)

    @cached_property
    def across_deg(self) -> float:
        """Grid azimuth square to it."""
        return math.degrees(math.atan2(self.end[0] - self.start[0], self.end[1] - self.start[1])) + 90.0

    @cached_property
    def length_m(self) -> float:
        """Of the leg."""
        return math.dist(self.start, self.end)


def straight(start: Point, end: Point) -> BaseGeometry:
    """The line between two places; one place where they are one."""
    return LineString([start, end]) if math.dist(start, end) > 1e-6 else shapely.Point(start)


def about(shape: BaseGeometry, radius_m: float) -> BaseGeometry:
    """The ground about a line or a place."""
    return settled_shape(shape.buffer(radius_m, quad_segs=_QUAD))


def arms(
    survey: Survey, stretches: tuple[BandStretch, ...], half_m: float, loose: frozenset[str] = frozenset()
) -> tuple[Arm, ...]:
    """The legs and single stations, but for legs of the files `loose`."""
    found: list[Arm] = []
    for placed in survey.legs:
        place = survey.places.get(placed.booked.start)
        if place is None or placed.booked.span.file in loose:
            continue
        start = (place.east_m, place.north_m)
        end = (place.east_m + placed.adjusted.east_m, place.north_m + placed.adjusted.north_m)
        radius_m = half_m * SIDE_BAND_SHARE if placed.booked.kind is LegKind.SIDE else half_m
        rise_m = placed.adjusted.up_m
        up_m = None if rise_m is None else (place.relative_up_m, place.relative_up_m + rise_m)
        found.append(Arm(start=start, end=end, ground=about(straight(start, end), radius_m), up_m=up_m))
    for stretch in stretches:
        if stretch.leg is None:
            ground = about(shapely.Point(stretch.start), half_m)
            found.append(Arm(start=stretch.start, end=stretch.start, ground=ground))
    return tuple(found)


class ArmNetwork:
    """Arms by the places where they meet."""

    def __init__(self, walked: tuple[Arm, ...]) -> None:
        self.arms = walked
        self._tree = shapely.STRtree([arm.line for arm in walked])
        self._by_end: dict[Point, list[int]] = defaultdict(list)
        for index, arm in enumerate(walked):
            for end in (arm.start, arm.end):
                self._by_end[one_place(end)].append(index)

    def nearest(self, at: Point) -> int:
        """The arm that a place is on."""
        return nearest_to(self._tree, shapely.Point(at))

    def walked_near(self, at: Point) -> tuple[float, float] | None:
        """Height of the walk where it comes nearest to a place, and how far off that is; None where none is known."""
        arm = self.arms[self.nearest(at)]
        if arm.up_m is None:
            return None
        here = shapely.Point(at)
        share = arm.line.project(here) / arm.length_m if arm.length_m > TOUCH_M else 0.0
        return arm.up_m[0] + share * (arm.up_m[1] - arm.up_m[0]), arm.line.distance(here)

    def may_be_so_high(self, at: Point, up_m: float, sd_m: float, more_m: float = 0.0) -> bool:
        """Whether the heights walked leave open that the ground is so high at a place, from where it was so `sd_m` along a leg.

        Aside of the walk it may rise or fall by `GROUND_SLOPE` for each metre, and by `more_m`.
        """
        arm = self.arms[self.nearest(at)]
        walked = self.walked_near(at)
        if walked is None or arm.up_m is None:
            return True
        slope = abs(arm.up_m[1] - arm.up_m[0]) / max(arm.length_m, TOUCH_M)
        open_m = SURE_SD * math.hypot(sd_m * slope, _UP_SD_M) + walked[1] * GROUND_SLOPE + more_m
        return abs(walked[0] - up_m) <= open_m

    def near(self, at: Point, *, reach_m: float) -> list[Arm]:
        """Arms that are reached along the walk within a distance of a place on it."""
        first = self.nearest(at)
        found = {first: 0.0}
        waiting = [(first, end, math.dist(at, end)) for end in (self.arms[first].start, self.arms[first].end)]
        while waiting:
            index, end, walk_m = waiting.pop()
            if walk_m > reach_m:
                continue
            for other in self._by_end[one_place(end)]:
                if other == index or found.get(other, math.inf) <= walk_m:
                    continue
                found[other] = walk_m
                arm = self.arms[other]
                beyond = arm.end if one_place(arm.start) == one_place(end) else arm.start
                waiting.append((other, beyond, walk_m + arm.length_m))
        return [self.arms[index] for index in sorted(found)]


def one_place(at: Point) -> Point:
    """What is the same for two places that are one."""
    return settled(at[0], 2), settled(at[1], 2)


def nearest_to(tree: shapely.STRtree, at: shapely.Point) -> int:
    """Number of the line nearest to a place, the first of those that are as near."""
    near = tree.geometries[int(tree.nearest(at))].distance(at)
    return int(tree.query(at, predicate="dwithin", distance=near + TOUCH_M).min())
