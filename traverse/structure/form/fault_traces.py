"""A fault that the walk met at several places, as one fault."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from traverse.angle import wrap_360
from traverse.location.records import Survey
from traverse.log.items import ContactKind, HowMet
from traverse.record import record
from traverse.settled import SAME_M, least, settled
from traverse.structure.readings.directions import pole_angle
from traverse.structure.readings.place_errors import contact_pole, place_covariance, place_vector
from traverse.structure.readings.records import PlacedContact
from traverse.trade import ALIKE_DEG, ONE_CONTACT_M, SURE_SD

_STEEP_DEG = 60.0
"""A fault that dips less comes out where the ground has it, and not on a straight line. Common practice, no source."""
_PLANE_DEG = 25.0
"""And the plane of one that dips less says too little of where it is met again. Common practice, no source."""
_FAR_SD = 6.0
"""Standard errors of two places that lie so far apart that the line through both tells its way."""
_CLEAR = 0.2
"""Sine of the angle from which on a leg goes over a fault, and not along it."""


def with_fault_traces(survey: Survey, contacts: tuple[PlacedContact, ...]) -> tuple[PlacedContact, ...]:
    """The contacts; faults that are places of one fault with its number, and with the plane read nearest where none was.

    One that dips gently has no number: it runs on no straight line.

    Two are one where the plane that was read at either passes the other within three standard errors of both places
    and of itself, and what they did agrees. A walk that crosses such a fault comes back over it before it crosses it again
    the same way: places where it did not are of several.
    """
    changed: dict[int, PlacedContact] = {}
    for number, met in enumerate(its for its in each_fault(survey, contacts) if len(its) > 1):
        steep = all(one.dip_deg is None or one.dip_deg >= _STEEP_DEG for one in met)
        course_deg = _course_deg(survey, met) if steep else None
        changed |= {id(one): _lying(one, met, number if steep else None, course_deg) for one in met}
    return tuple(changed.get(id(one), one) for one in contacts)


def each_fault(survey: Survey, contacts: Sequence[PlacedContact]) -> list[list[PlacedContact]]:
    """The places of each fault that the walk crossed, as `with_fault_traces` takes them for one, in the order of the log."""
    faults = [one for one in contacts if one.kind is ContactKind.FAULT and one.met is HowMet.CROSSED]
    if len(faults) < 2 or all(one.booked.plane is None for one in faults):
        return [[one] for one in faults]
    group = list(range(len(faults)))
    for first, second in _on_one_plane(survey, faults):
        one, other = group[first], group[second]
        if one != other:
            group = [one if number == other else number for number in group]
    members: dict[int, list[PlacedContact]] = defaultdict(list)
    for fault, number in zip(faults, group, strict=True):
        members[number].append(fault)
    return [
        part
        for met in members.values()
        for part in ([met] if len(met) == 1 or _there_and_back(survey, met) else [[one] for one in met])
    ]


def _on_one_plane(survey: Survey, faults: Sequence[PlacedContact]) -> list[tuple[int, int]]:
    """Pairs of faults that may be one by their places and by all planes that were read at them."""
    at = np.array([place_vector(one.place) for one in faults])
    own_m2 = np.array([place_covariance(one) for one in faults])
    read = [contact_pole(one, to_true_deg=survey.frame.to_true_deg) for one in faults]
    fits = np.ones((len(faults), len(faults)), dtype=bool)
    for index, plane in enumerate(read):
        if plane is None:
            continue
        normal, sd_deg = plane
        apart = at - at[index]
        places_m2 = np.einsum("i,nij,j->n", normal, own_m2 + own_m2[index], normal)
        aim_m = np.hypot(*apart[:, :2].T) * math.radians(sd_deg)
        near = np.abs(apart @ normal) <= SURE_SD * np.sqrt(np.maximum(0.0, places_m2) + aim_m**2)
        if abs(float(normal[2])) > math.cos(math.radians(_PLANE_DEG)):
            # Too near to level ground: its plane goes through most of what is there.
            near[:] = False
        fits[index] &= near
        fits[:, index] &= near
    found = []
    for first, second in zip(*np.nonzero(np.triu(fits, 1)), strict=True):
        planes = [one for one in (read[first], read[second]) if one is not None]
        alike = len(planes) < 2 or pole_angle(planes[0][0], planes[1][0]) <= ALIKE_DEG
        if planes and alike and _agree(faults[first], faults[second]):
            found.append((int(first), int(second)))
    return found


def _agree(one: PlacedContact, other: PlacedContact) -> bool:
    """Whether two faults do not differ in what they did."""
    moved = {each.booked.movement for each in (one, other)} - {None}
    return len(moved) < 2


def _there_and_back(survey: Survey, met: Sequence[PlacedContact]) -> bool:
    """Whether the walk, where it went on without a break, could cross one line at these places in this order.

    What it crosses twice the same way it has come back over between, seen or not.
    """
    legs = [leg.booked for leg in survey.legs]
    breaks = np.cumsum([0, *(one.end != other.start for one, other in pairwise(legs))])
    stretch = {leg.index: int(number) for leg, number in zip(legs, breaks, strict=False)}
    strikes = [one.strike_deg for one in met if one.strike_deg is not None]
    for one, other in pairwise(sorted(met, key=lambda each: each.order)):
        first, last = one.place.address.leg, other.place.address.leg
        if first is None or last is None or not strikes:
            continue
        if stretch.get(first.index) is None or stretch.get(first.index) != stretch.get(last.index):
            continue
        line = _StraightTrace.through(one, other, strikes[0] - survey.frame.to_true_deg)
        sides = [line.way_over(each.place.leg_azimuth_deg) for each in (one, other)]
        if not all(sides):
            continue
        after, before = survey.places.get(first.end), survey.places.get(last.start)
        between = [0 if at is None else line.side_of((at.east_m, at.north_m)) for at in (after, before)]
        came_back = between[0] * between[1] < 0
        if first.index == last.index or came_back != (sides[0] == sides[1]):
            return False
    return True


@record(frozen=True, slots=True)
class _StraightTrace:
    """A straight line on the map."""

    at: tuple[float, float]
    azimuth_rad: float

    @classmethod
    def through(cls, one: PlacedContact, other: PlacedContact, grid_strike_deg: float) -> _StraightTrace:
        """Through two places, or between them along a strike where they lie too near to each other to tell its way."""
        east, north = other.place.east_m - one.place.east_m, other.place.north_m - one.place.north_m
        middle = (one.place.east_m + east / 2.0, one.place.north_m + north / 2.0)
        far = math.hypot(east, north) > _FAR_SD * math.hypot(one.sd_m, other.sd_m) + ONE_CONTACT_M
        return cls(middle, math.atan2(east, north) if far else math.radians(grid_strike_deg))

    def way_over(self, azimuth_deg: float | None) -> int:
        """To which side of it one walks along an azimuth; 0 along it."""
        over = 0.0 if azimuth_deg is None else math.sin(math.radians(azimuth_deg) - self.azimuth_rad)
        return int(math.copysign(1.0, over)) if abs(over) > _CLEAR else 0

    def side_of(self, place: tuple[float, float]) -> int:
        """On which side of it a place lies."""
        east, north = place[0] - self.at[0], place[1] - self.at[1]
        return int(
            np.sign(settled(east * math.cos(self.azimuth_rad) - north * math.sin(self.azimuth_rad), 3))
        )


def _course_deg(survey: Survey, met: Sequence[PlacedContact]) -> float | None:
    """True azimuth of the straight line nearest to the places of a fault; None where they lie too near together to tell it.

    The main axis of their places, each by the inverse of its variance.
    """
    at = np.array([(one.place.east_m, one.place.north_m) for one in met])
    sd_m = np.array([max(one.sd_m, SAME_M) for one in met])
    off = at - np.average(at, axis=0, weights=sd_m**-2)
    if float(np.hypot(*off.T).max()) <= _FAR_SD * float(sd_m.max()) + ONE_CONTACT_M:
        return None
    _, axes = np.linalg.eigh((off / sd_m[:, None]).T @ (off / sd_m[:, None]))
    azimuth_deg = math.degrees(math.atan2(float(axes[0, -1]), float(axes[1, -1])))
    return wrap_360(settled(azimuth_deg + survey.frame.to_true_deg) % 180.0)


def _lying(
    contact: PlacedContact, met: Sequence[PlacedContact], number: int | None, course_deg: float | None
) -> PlacedContact:
    """A contact with the number and the line of its fault; with the plane read nearest to it, where none was at it."""
    place = contact.place
    near = least(
        [one for one in met if one.surface is not None and one.booked.plane is not None],
        key=lambda one: settled(
            math.hypot(one.place.east_m - place.east_m, one.place.north_m - place.north_m), 3
        ),
    )
    if near is None or near.surface is None:
        return contact
    read = contact.booked.plane is not None
    return replace(
        contact,
        of_fault=number,
        surface=contact.surface if read else replace(near.surface, through=len(met)),
        course_deg=(contact.course_deg if read else near.course_deg) if course_deg is None else course_deg,
    )
