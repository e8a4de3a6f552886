"""The arms of the walk: each leg, or single station, with the ground that was looked at along it."""

from __future__ import annotations

import math
from collections import defaultdict
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
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
LOOK_SHARE = 0.2
"""Of half the band: steps in which a line is held against the heights walked."""
_QUAD = 12
_UP_SD_M = 0.5
_STRAIGHT_M = 100.0
"""So far from a station the slope of a leg is taken for the ground's own; common practice, no source."""


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
        self._long_m = np.array([arm.length_m for arm in walked])
        self._up_m = np.array([arm.up_m or (math.nan, math.nan) for arm in walked]).reshape(-1, 2)
        self._by_end: dict[Point, list[int]] = defaultdict(list)
        for index, arm in enumerate(walked):
            for end in (arm.start, arm.end):
                self._by_end[one_place(end)].append(index)

    def nearest(self, at: Point) -> int:
        """The arm that a place is on."""
        return nearest_to(self._tree, shapely.Point(at))

    def may_be_so_high(
        self, places: NDArray[np.float64], up_m: NDArray[np.float64] | float, sd_m: float, more_m: float = 0.0
    ) -> NDArray[np.bool_]:
        """Whether the heights walked leave open that the ground is so high at places, (n, 2), from where it was so `sd_m` along a leg.

        Aside of the walk it may rise or fall by `GROUND_SLOPE` for each metre, and by `more_m`.
        """
        here = np.asarray(shapely.points(places))
        arm = _nearest_to_all(self._tree, here)
        lines, long_m, (low_m, high_m) = self._tree.geometries[arm], self._long_m[arm], self._up_m[arm].T
        legs = long_m > TOUCH_M
        share = np.zeros(len(arm))
        share[legs] = shapely.line_locate_point(lines[legs], here[legs]) / long_m[legs]
        slope = np.abs(high_m - low_m) / np.maximum(long_m, TOUCH_M)
        off_m = shapely.distance(lines, here)
        open_m = SURE_SD * np.hypot(sd_m * slope, _UP_SD_M) + off_m * GROUND_SLOPE + more_m
        # In the midst of a long leg the ground may be far over or under the line from end to end.
        open_m += GROUND_SLOPE * np.maximum(0.0, np.minimum(share, 1.0 - share) * long_m - _STRAIGHT_M)
        walked_m = low_m + share * (high_m - low_m)
        return np.asarray(np.isnan(walked_m) | (np.abs(walked_m - up_m) <= open_m), dtype=np.bool_)

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
    return int(_nearest_to_all(tree, np.array([at]))[0])


def _nearest_to_all(tree: shapely.STRtree, places: NDArray[np.object_]) -> NDArray[np.int64]:
    near_m = shapely.distance(tree.geometries[tree.nearest(places)], places)
    place, line = tree.query(places, predicate="dwithin", distance=near_m + TOUCH_M)
    found = np.full(len(places), len(tree.geometries))
    np.minimum.at(found, place, line)
    return found
