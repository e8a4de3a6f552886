"""Places carried to a line of section: where they come to lie on it, how far off they were, and how sure that is."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from traverse.angle import axial_difference
from traverse.location.records import PlacedAddress
from traverse.log.items import ContactKind
from traverse.log.records import Projection
from traverse.record import record
from traverse.settled import SAME_DEG, SAME_M, first_least, settled, settled_all
from traverse.structure.readings.directions import Vectors, apparent_dip
from traverse.structure.readings.records import FoldAxis, PlacedContact, PlaneAttitude
from traverse.structure.walk.records import BandStretch
from traverse.trade import (
    ALONG_STRIKE_DEG,
    BEYOND_M,
    FOLDED_DEG,
    HEIGHT_BETWEEN_M,
    ONE_CONTACT_M,
    SIDE_BANDS,
)

_MOST_HALVES = 6
"""A contact is followed over ground that was looked at for so many halves of the band at most."""


def too_near(strike_deg: float, azimuth_deg: float, *, least_deg: float = ALONG_STRIKE_DEG) -> bool:
    """Whether a strike lies too near to a line to carry a point along it; both in the grid."""
    return axial_difference(strike_deg, azimuth_deg) < least_deg - SAME_DEG


@record(frozen=True, slots=True, kw_only=True)
class LineOfSection:
    """The line on the map."""

    points: Vectors
    """(n, 2), east and north."""
    starts_m: Vectors
    """Distance at each point."""
    grid_azimuths_deg: tuple[float, ...]
    """Of each stretch."""

    @property
    def length_m(self) -> float:
        """Over the bends."""
        return float(self.starts_m[-1])

    def at(self, distance_m: float) -> tuple[float, float]:
        """East and north of a place on it."""
        east, north = (float(np.interp(distance_m, self.starts_m, self.points[:, axis])) for axis in (0, 1))
        return east, north


@record(frozen=True, slots=True, kw_only=True)
class Carried:
    """Where a point comes to lie on the line."""

    distance_m: float
    offset_m: float
    """Level distance carried; positive from the right of the line."""
    up_m: float | None
    stretch: int
    swing_m: float | None
    """Metres along the line that it moves for each radian that the strike or axis turns; None where carried square."""
    lead: tuple[float, float]
    """Metres along the line that it moves for each that the place moves east, and north."""
    by: Projection
    """How it was carried."""
    beside: bool = False
    """Whether the ground from it to the line was looked at: it is followed there, not carried."""
    level_m: float | None = None
    """Where it would come out were that ground level, as the map draws it, which it is not; None of all else."""


class LookedAt:
    """The ground about a walk that was looked at."""

    def __init__(self, band: Sequence[BandStretch], half_m: float) -> None:
        self.starts = np.array([one.start for one in band], dtype=np.float64).reshape(-1, 2)
        self.ends = np.array([one.end for one in band], dtype=np.float64).reshape(-1, 2)
        self.low = np.minimum(self.starts, self.ends).T.copy()
        self.high = np.maximum(self.starts, self.ends).T.copy()
        self.half_m = half_m

    def beside(self, one: tuple[float, float], other: tuple[float, float]) -> bool:
        """Whether all ground straight between two places was looked at."""
        if math.dist(one, other) > _MOST_HALVES * self.half_m or not len(self.starts):
            return False
        shares = np.linspace(0.0, 1.0, 2 * _MOST_HALVES + 1)[:, None]
        places = np.array(one) + shares * (np.array(other) - np.array(one))
        reach_m = self.half_m + 2.0 * SAME_M
        (west, south), (east, north) = places.min(axis=0) - reach_m, places.max(axis=0) + reach_m
        near = np.flatnonzero(
            (self.high[0] >= west) & (self.low[0] <= east) & (self.high[1] >= south) & (self.low[1] <= north)
        )
        if not len(near):
            return False
        off = off_stretches(places, self.starts[near], self.ends[near] - self.starts[near])
        return bool((off.min(axis=1) <= self.half_m + SAME_M).all())


def off_stretches(places: Vectors, starts: Vectors, ways: Vectors) -> Vectors:
    """How far places (n, 2) lie from each stretch that runs from its start along its way, both (m, 2): shape (n, m)."""
    apart = places[:, None, :] - starts
    square = np.maximum((ways**2).sum(axis=1), SAME_M)
    on = np.clip((apart * ways).sum(axis=2) / square, 0.0, 1.0)
    return np.asarray(np.hypot(*np.moveaxis(apart - on[..., None] * ways, 2, 0)), dtype=np.float64)


class Carrier:
    """Carries places to a line, square to it, along their strike or down the plunge of the axis."""

    def __init__(
        self,
        axis: FoldAxis | None,
        turn_deg: float,
        walked: LookedAt | None = None,
        *,
        least_deg: float = ALONG_STRIKE_DEG,
    ) -> None:
        self.axis = axis
        self.turn = turn_deg
        """Degrees from grid to true north."""
        self.walked = walked
        self.least_deg = least_deg
        """Between a strike and a line that something is carried to along it."""
        self.one_strike_deg: float | None = None
        """True, of beds that all lie alike: what strikes about so is carried along it, so that nothing overtakes another."""
        self.along_strike = False
        """Whether the line lies across the one strike of all beds, so that everything keeps its height on the way to it."""
        self.bed_near: Callable[[float, float], PlaneAttitude | None] = lambda _east, _north: None
        """The bed nearest to a place, by east and north."""
        self.fault_between: Callable[[tuple[float, float], tuple[float, float]], bool] | None = None
        """Whether a fault lies between two places of the map; None where there is none."""
        self.passes_by: Callable[[LineOfSection, PlacedContact], bool] = lambda _line, _fault: False
        """Whether a fault passes a line by, and comes to it nowhere."""
        self.ground: tuple[Vectors, Vectors] = (np.empty(0), np.empty(0))
        """Distances along the line that is carried to, and heights of the ground there; empty where none were measured."""

    def strike_of(self, own_deg: float | None) -> float | None:
        """The true strike that something is carried along, by its own."""
        one = self.one_strike_deg
        if one is None or own_deg is None or axial_difference(own_deg, one) > FOLDED_DEG:
            return own_deg
        return one

    def down_dip(self, line: LineOfSection, carried: Carried, bed: PlaneAttitude | None) -> bool:
        """Whether a place lies aside of a line along its strike, too far to be the ground under it.

        Where beds have not all one strike, too far across the bed that tells how it lies.
        """
        if carried.swing_m is not None or self.walked is None:
            return False
        most_m = SIDE_BANDS * self.walked.half_m
        if abs(carried.offset_m) <= most_m or self.one_strike_deg is not None:
            return abs(carried.offset_m) > most_m
        if bed is None or bed.strike_deg is None:
            return False
        along = too_near(bed.strike_deg - self.turn, line.grid_azimuths_deg[carried.stretch])
        return along and settled(abs(carried.offset_m) * math.sin(math.radians(bed.dip_deg))) > most_m

    def over_fault(self, line: LineOfSection, carried: Carried, east: float, north: float) -> bool:
        """Whether a fault lies between a place and the line that it was carried to."""
        if self.fault_between is None:
            return False
        return self.fault_between((east, north), line.at(carried.distance_m))

    def parted(self, line: LineOfSection, carried: Carried, contact: PlacedContact) -> bool:
        """Whether a contact lies beyond a fault, or is a fault that passes the line by."""
        if contact.kind is ContactKind.FAULT:
            return self.passes_by(line, contact)
        return self.over_fault(line, carried, contact.place.east_m, contact.place.north_m)

    def carry(
        self,
        line: LineOfSection,
        east: float,
        north: float,
        up: float | None,
        *,
        strike_deg: float | None,
        projection: Projection,
    ) -> Carried | None:
        """To the stretch that is nearest of those it falls on, the first of equals; None beyond the ends or inside a bend.

        `strike_deg` is the true strike that the point is carried along under `Projection.STRIKE`.
        """
        best: Carried | None = None
        last = len(line.grid_azimuths_deg) - 1
        for stretch, azimuth_deg in enumerate(line.grid_azimuths_deg):
            course, drop, free = self._course(projection, azimuth_deg, strike_deg)
            azimuth = math.radians(azimuth_deg)
            way = (math.sin(azimuth), math.cos(azimuth))
            apart = (east - float(line.points[stretch][0]), north - float(line.points[stretch][1]))
            offset = apart[0] * way[1] - apart[1] * way[0]
            # Along the course until the line is met.
            turn = math.sin(azimuth - course)
            share = offset / turn
            along = apart[0] * way[0] + apart[1] * way[1] + share * math.cos(azimuth - course)
            length = float(line.starts_m[stretch + 1] - line.starts_m[stretch])
            low = -BEYOND_M if stretch == 0 else 0.0
            high = length + (BEYOND_M if stretch == last else 0.0)
            if not low - SAME_M <= along <= high + SAME_M:
                continue
            if best is not None and abs(share) >= abs(best.offset_m) - SAME_M:
                continue
            distance = float(line.starts_m[stretch]) + along
            # At a bend it belongs to the stretch before, and lies on the bend.
            bend = 0 if along < SAME_M else 1 if along > length - SAME_M else None
            if bend is not None and 0 < stretch + bend <= last:
                distance, here = float(line.starts_m[stretch + bend]), stretch + bend - 1
            else:
                here = stretch
            best = Carried(
                distance_m=settled(distance),
                offset_m=settled(math.copysign(share, offset)),
                up_m=None if up is None else settled(up - share * drop),
                stretch=here,
                lead=(
                    way[0] + way[1] * math.cos(azimuth - course) / turn,
                    way[1] - way[0] * math.cos(azimuth - course) / turn,
                ),
                swing_m=settled(abs(share) / max(1e-9, abs(turn))) if free else None,
                by=projection,
            )
        return best

    def _course(
        self, projection: Projection, azimuth_deg: float, strike_deg: float | None
    ) -> tuple[float, float, bool]:
        """Grid azimuth in radians that a point is carried along, metres it drops for each, and whether that was measured."""
        if projection is Projection.PLUNGE and self.axis is not None:
            course = self.axis.trend_deg - self.turn
            if axial_difference(course, azimuth_deg) > 1.0 and self.axis.plunge_deg < 89.0:
                return math.radians(course), math.tan(math.radians(self.axis.plunge_deg)), True
        if projection is Projection.STRIKE and strike_deg is not None:
            course = strike_deg - self.turn
            if not too_near(course, azimuth_deg, least_deg=self.least_deg):
                return math.radians(course), 0.0, True
        return math.radians(azimuth_deg + 90.0), 0.0, False

    def sd(
        self,
        covariance_m2: Vectors,
        carried: Carried,
        plane: tuple[float, float | None] | None,
    ) -> float:
        """Of a distance along the line as it is drawn, from the place's own and the direction it was carried along, metres.

        `covariance_m2` is of the place in east and north, (2, 2) or more. `plane` is the sd of the pole and the dip, degrees;
        a dip that is not known counts as 30.

        Source: to first order the foot moves by L tan(sd) / sin(angle to the line); the strike of a plane is off by the sd
        of its pole over sin(dip), the axis by its rms over the root of the number of poles.
        """
        lead = np.array(carried.lead)
        own_m = settled(math.sqrt(max(0.0, float((lead[:, None] * covariance_m2[:2, :2] * lead).sum()))))
        if carried.swing_m is None:
            return own_m
        if carried.by is Projection.PLUNGE and self.axis is not None:
            off = self.axis.rms_deg / math.sqrt(self.axis.n)
        elif plane is not None:
            off = plane[0] / max(0.02, math.sin(math.radians(plane[1] if plane[1] is not None else 30.0)))
        else:
            return own_m
        return settled(math.hypot(own_m, carried.swing_m * math.tan(math.radians(min(off, 60.0)))))

    def at(
        self, line: LineOfSection, place: PlacedAddress, strike_deg: float | None, projection: Projection
    ) -> Carried | None:
        """A place of the log, as `carry`."""
        return self.carry(
            line,
            place.east_m,
            place.north_m,
            place.up_m,
            strike_deg=self.strike_of(strike_deg),
            projection=projection,
        )

    def contact(self, line: LineOfSection, contact: PlacedContact, projection: Projection) -> Carried | None:
        """A contact; along its course, as the map draws it, where the ground from it to the line was looked at.

        However the rest is carried: what was seen stands.
        """
        place, course_deg = contact.place, contact.course_deg
        along = self.carry(
            line,
            place.east_m,
            place.north_m,
            place.up_m,
            strike_deg=course_deg,
            projection=Projection.STRIKE,
        )
        if along is not None and along.swing_m is not None and course_deg is not None:
            looked_at = self.walked is not None and self.walked.beside(
                (place.east_m, place.north_m), line.at(along.distance_m)
            )
            if looked_at and self._comes_out_there(line, contact, along):
                return replace(along, beside=True)
            if looked_at:
                carried = self.at(line, place, course_deg, projection)
                return None if carried is None else replace(carried, level_m=along.distance_m)
        if contact.kind is ContactKind.FAULT and along is not None and along.swing_m is not None:
            # It cuts the folds: its own strike leads on, however the beds beside it are carried.
            return along
        return self.at(line, place, course_deg, projection)

    def comes_out(self, line: LineOfSection, carried: Carried, east: float, north: float) -> float | None:
        """Distance at which the bed of a place, carried from there, comes out of the ground; None where it does nowhere near.

        Where it was carried to, unless the line lies across the one strike of all beds.
        """
        distances_m, ups_m = self.ground
        bed = self.bed_near(east, north) if self.along_strike and carried.up_m is not None else None
        if bed is None or not len(distances_m) or carried.up_m is None or bed.strike_deg is None:
            return carried.distance_m
        fall = math.tan(math.radians(self.apparent(line, carried, bed.dip_deg, bed.strike_deg)))
        over = settled_all(carried.up_m - fall * (distances_m - carried.distance_m) - ups_m, 6)
        here = carried.up_m - float(np.interp(carried.distance_m, distances_m, ups_m))
        if abs(here) <= HEIGHT_BETWEEN_M:
            return carried.distance_m
        change = np.flatnonzero((over[:-1] <= 0.0) != (over[1:] <= 0.0))
        if not len(change):
            return None
        share = over[change] / (over[change] - over[change + 1])
        out_m = distances_m[change] + share * (distances_m[change + 1] - distances_m[change])
        near_m = float(out_m[first_least(np.abs(out_m - carried.distance_m))])
        return settled(near_m) if abs(near_m - carried.distance_m) <= line.length_m / 4.0 else None

    def _comes_out_there(self, line: LineOfSection, contact: PlacedContact, along: Carried) -> bool:
        """Whether a contact that goes on level along its course comes out of the ground about where it meets the line.

        On a slope it leaves its course there: by how much the ground lies over or under it, and by its dip.
        """
        if along.up_m is None or not len(self.ground[0]):
            return True
        off_m = abs(along.up_m - float(np.interp(along.distance_m, *self.ground)))
        lies = contact.surface
        bed = self.bed_near(contact.place.east_m, contact.place.north_m) if lies is None else None
        dip_deg = lies.dip_deg if lies is not None else None if bed is None else bed.dip_deg
        if dip_deg is None or settled(off_m) <= HEIGHT_BETWEEN_M:
            return True
        strike_deg = contact.course_deg if lies is None or lies.strike_deg is None else lies.strike_deg
        fall = math.tan(math.radians(abs(self.apparent(line, along, dip_deg, strike_deg))))
        return settled(off_m - ONE_CONTACT_M * fall) <= 0.0

    def apparent(
        self, line: LineOfSection, carried: Carried, dip_deg: float, strike_deg: float | None
    ) -> float:
        """Apparent dip on the stretch that a plane was carried to, positive down with increasing distance."""
        if strike_deg is None:
            return 0.0
        azimuth = line.grid_azimuths_deg[carried.stretch] + self.turn
        return apparent_dip(dip_deg, dip_direction_deg=strike_deg + 90.0, azimuth_deg=azimuth)
