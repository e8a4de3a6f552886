"""Contacts turned as little as the walk asks for, so that each runs between its two units.

A strike is good to some degrees; where a line along it would run over ground that was walked on in one unit, the walk is
right, and the line turns until it passes by, each half for itself.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from itertools import product

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from traverse.ground.arm_network import LOOK_SHARE, TOUCH_M, ArmNetwork, about, straight
from traverse.ground.crossed.one_line import AT_M
from traverse.ground.records import CrossedContact, Point
from traverse.settled import settled, settled_shape
from traverse.shapes import lines_in, points_of
from traverse.structure.walk.records import BandStretch
from traverse.trade import AT_END_M, GROUND_SLOPE, JOINED_MOST_DEG, ONE_CONTACT_M

_STEP_DEG = 3.0
_TOUCHES_M = 0.25
_ON_LINE = math.radians(0.5)
"""A walk that leaves a contact nearer to its line than this is on neither side of it."""
_SHIFT_SHARE = 0.25
"""Of half the band: so far aside of where it is drawn straight a contact may come out."""
_REACH_HALVES = 3.0
_LONGEST_HALVES = 4.0
"""A line that runs farther along ground looked at, in halves of the band, runs along the walk: how it turns there is not known."""


class WalksByUnit:
    """The walk by unit."""

    def __init__(
        self,
        crossed: Sequence[CrossedContact],
        stretches: Sequence[BandStretch],
        network: ArmNetwork,
        half_m: float,
    ) -> None:
        self.network, self.half_m = network, half_m
        known = [one for one in stretches if one.unit is not None and not one.covered]
        self.stretches = [one for one in known if math.dist(one.start, one.end) > TOUCH_M]
        self.tree = shapely.STRtree([straight(one.start, one.end) for one in self.stretches])
        self.met: dict[frozenset[str | None], list[CrossedContact]] = defaultdict(list)
        for one in crossed:
            self.met[_pair(one)].append(one)
        self._met_at = cache(self._met_at_of)

    def leads(self, one: CrossedContact, other: CrossedContact) -> bool:
        """Whether one line can lead from one crossing to another.

        It runs over no ground walked on in their units, and at heights that the walk beside it leaves open.
        """
        far = math.dist(one.at, other.at)
        if far <= ONE_CONTACT_M:
            return True
        if self._crosses(one, other.at, touches_m=TOUCH_M):
            return False
        first, last = (each.contact.place.relative_up_m for each in (one, other))
        sd_m = max(one.contact.sd_m, other.contact.sd_m)
        lies = [each.contact.lies for each in (one, other)]
        more_m = shifted_m(min(0.0 if each is None else each.dip_deg for each in lies), self.half_m)
        share = np.linspace(0.0, 1.0, math.ceil(far / (LOOK_SHARE * self.half_m)) + 1)[1:-1]
        places = one.at + share[:, None] * np.subtract(other.at, one.at)
        return bool(self.network.may_be_so_high(places, first + share * (last - first), sd_m, more_m).all())

    def turned(self, one: CrossedContact) -> CrossedContact:
        """A crossing, turned where the walk contradicts it and that mends it, `JOINED_MOST_DEG` at most."""
        points = points_of(one.line)
        whole = len(points) == 2
        if not one.course_known or one.between or None in _pair(one) or len(_pair(one)) < 2:
            return one
        if len(points) > 3 or one.line.distance(shapely.Point(one.at)) > TOUCH_M:
            return one
        ends = points[:1] + points[-1:]
        if not any(self._crosses(one, end) for end in ends[: 2 if whole else 1]) and self._parts(one, ends):
            return one
        ground = self._ground(one.at)
        choices = [
            self._ends(one, ends[0], ground),
            self._ends(one, ends[1], ground) if whole else [(0.0, ends[1])],
        ]
        found: dict[float, list[tuple[Point, Point]]] = defaultdict(list)
        for (first_deg, first), (last_deg, last) in product(*choices):
            turned_deg = abs(first_deg) + abs(last_deg) + 0.5 * abs(first_deg - last_deg)
            if self._parts(one, [first, last]):
                found[settled(turned_deg, 3)].append((first, last))
        ways = found[min(found)] if found else []
        if len(ways) != 1:
            # None, or as little to either hand: the walk does not say which.
            return one
        return replace(one, line=settled_shape(LineString([ways[0][0], one.at, ways[0][1]])))

    def _ends(self, one: CrossedContact, end: Point, ground: BaseGeometry) -> list[tuple[float, Point]]:
        """Where half a line may end, each with how far it was turned for that."""
        found = [] if self._crosses(one, end) else [(0.0, end)]
        way = math.atan2(end[0] - one.at[0], end[1] - one.at[1])
        steps = int(JOINED_MOST_DEG / _STEP_DEG)
        for turn in (sense * step * _STEP_DEG for step in range(1, steps + 1) for sense in (1.0, -1.0)):
            turned = way + math.radians(turn)
            far = 60.0 * self.half_m
            ray = LineString(
                [one.at, (one.at[0] + far * math.sin(turned), one.at[1] + far * math.cos(turned))]
            )
            here = shapely.Point(one.at)
            first = [part for part in lines_in(ray.intersection(ground)) if part.distance(here) < TOUCH_M]
            if not first:
                continue
            last = max(points_of(first[0]), key=lambda point: math.dist(point, one.at))
            if not self._crosses(one, last) and math.dist(last, one.at) < _LONGEST_HALVES * self.half_m:
                found.append((turn, last))
        return found

    def _ground(self, at: Point) -> BaseGeometry:
        near = self.network.near(at, reach_m=_REACH_HALVES * self.half_m)
        return shapely.union_all([*(arm.ground for arm in near), about(shapely.Point(at), 0.5 * self.half_m)])

    def _crosses(self, one: CrossedContact, end: Point, touches_m: float = _TOUCHES_M) -> bool:
        """Whether half a line runs over ground walked on in one of its units, away from where its contact was met."""
        half, units = LineString([one.at, end]), _pair(one)
        near = [
            index
            for index in self.tree.query(half, "dwithin", touches_m).tolist()
            if self.stretches[index].unit in units
        ]
        if not near:
            return False
        # A line along a leg touches it as it happens: nearly is as good.
        lines = shapely.buffer(self.tree.geometries[near], touches_m)
        touched = shapely.get_coordinates(shapely.intersection(half, lines))
        east, north, own_m = self._met_at(units).T
        off_m = np.hypot(touched[:, :1] - east, touched[:, 1:] - north)
        return bool((off_m > own_m).all(axis=1).any())

    def _met_at_of(self, units: frozenset[str | None]) -> NDArray[np.float64]:
        """Where the contacts of two units were met, and how near to that they may lie, (n, 3)."""
        return np.array(
            [(*other.at, max(AT_END_M, 2.0 * other.contact.own_sd_m)) for other in self.met[units]]
        )

    def _parts(self, one: CrossedContact, ends: Sequence[Point]) -> bool:
        """Whether the walk leads from a contact into its two units on two sides of its line."""
        first, last = (math.atan2(end[0] - one.at[0], end[1] - one.at[1]) for end in ends)
        sides: dict[str | None, set[bool]] = defaultdict(set)
        for index in self.tree.query(shapely.Point(one.at), "dwithin", AT_M).tolist():
            stretch = self.stretches[index]
            if stretch.unit not in _pair(one):
                continue
            for here, there in ((stretch.start, stretch.end), (stretch.end, stretch.start)):
                if math.dist(here, one.at) < AT_M < math.dist(there, one.at):
                    way = math.atan2(there[0] - one.at[0], there[1] - one.at[1])
                    if min(abs(math.remainder(way - ray, math.tau)) for ray in (first, last)) < _ON_LINE:
                        return False
                    sides[stretch.unit].add((way - first) % math.tau < (last - first) % math.tau)
        known = list(sides.values())
        return all(len(each) == 1 for each in known) and (len(known) < 2 or known[0] != known[1])


def shifted_m(dip_deg: float, half_m: float) -> float:
    """How much higher or lower the ground may be than a line of a plane has it, which takes it a little aside; 0 of gentle ones."""
    slope = math.tan(math.radians(dip_deg))
    return slope * _SHIFT_SHARE * half_m if slope > GROUND_SLOPE else 0.0


def _pair(one: CrossedContact) -> frozenset[str | None]:
    return frozenset((one.contact.younger, one.contact.older))
