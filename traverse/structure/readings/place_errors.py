"""Poles and places with their errors, as thicknesses and planes are computed from."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from traverse.location.records import PlacedAddress, Rests, Survey
from traverse.structure.readings.directions import Vectors, pole
from traverse.structure.readings.records import Measured, PlacedContact, PlaneAttitude
from traverse.trade import HILLSIDE_DEG, OFFSET_SHARE

_AT_ONCE = 32
"""Pairs whose errors are worked out together: a large network answers few questions with much in them fastest."""


def contact_pole(contact: PlacedContact) -> tuple[Vectors, float] | None:
    """Pole of a measured contact and its standard deviation in degrees."""
    reading = contact.booked.plane
    if reading is None or contact.dip_deg is None:
        return None
    direction = 0.0 if contact.strike_deg is None else contact.strike_deg + 90.0
    sd = reading.sd_deg if reading.sd_deg is not None else contact.booked.conditions.precision.attitude_deg
    return pole(contact.dip_deg, dip_direction_deg=direction), sd


def bed_pole(bed: PlaneAttitude) -> tuple[Vectors, float]:
    """Pole of a bed and its standard deviation in degrees."""
    return pole(bed.dip_deg, dip_direction_deg=bed.dip_direction_deg), bed.sd_deg


def poles_of(beds: Sequence[PlaneAttitude]) -> Vectors:
    """Poles of beds, shape (n, 3)."""
    return pole([bed.dip_deg for bed in beds], dip_direction_deg=[bed.dip_direction_deg for bed in beds])


def place_vector(place: PlacedAddress) -> Vectors:
    """East, north and height, for differences."""
    return np.array([place.east_m, place.north_m, place.relative_up_m])


def place_covariance(contact: PlacedContact) -> Vectors:
    """Covariance of a contact's place in east, north and up, shape (3, 3) in square metres.

    The station's own error, joined with that of the contact along its leg.
    """
    return np.asarray(_walked(contact.place) + own_covariance(contact), dtype=np.float64)


def reading_covariance(reading: Measured) -> Vectors:
    """Covariance of the place of a reading in east, north and up, shape (3, 3) in square metres."""
    return _walked(reading.place)


def _walked(place: PlacedAddress) -> Vectors:
    if place.covariance_m2 is not None:
        return np.array(place.covariance_m2, dtype=np.float64)
    return np.diag([place.sd_m**2, place.sd_m**2, 0.0])


def own_covariance(contact: PlacedContact) -> Vectors:
    """What a contact's place is off by in itself, apart from the walk, shape (3, 3).

    Along its leg, or all round where no leg is known; beside it by the guess of the distance and by the hillside, whose
    slope nobody read.
    """
    place = contact.place
    along = (
        place.half_width_m / np.sqrt(3.0) if place.half_width_m is not None else contact.booked.sd_m or 0.0
    )
    if place.leg_azimuth_deg is None:
        return np.diag([along**2, along**2, 0.0])
    azimuth = math.radians(place.leg_azimuth_deg)
    way = np.array([math.sin(azimuth), math.cos(azimuth), 0.0])
    covariance = along**2 * np.outer(way, way)
    away = abs(place.offset_m)
    if away:
        right = np.array([math.cos(azimuth), -math.sin(azimuth), 0.0])
        covariance = covariance + (OFFSET_SHARE * away) ** 2 * np.outer(right, right)
        covariance[2, 2] += (math.tan(math.radians(HILLSIDE_DEG)) * away) ** 2
    return np.asarray(covariance, dtype=np.float64)


def together(survey: Survey, contacts: Sequence[PlacedContact]) -> Vectors:
    """Covariance of the places of contacts, each with each, shape (n, n, 3, 3) in square metres.

    What the walk makes two of them share is in the block between them, so that it cancels in a difference; what each is
    off by along its leg is its own. The length of a pace, common to all, is apart: see `scale_sd`.
    """
    found = _joint(survey, [contact.place for contact in contacts])
    every = np.arange(len(contacts))
    found[every, every] += np.array([own_covariance(contact) for contact in contacts]).reshape(-1, 3, 3)
    return found


def apart(survey: Survey, pairs: Sequence[tuple[Rests, Rests]]) -> Vectors:
    """Covariance of the way from one place to another, shape (n, 3, 3), for pairs by what they rest on.

    Only the walk between counts: what both share cancels. Source: var(a - b) = var a + var b - cov(a, b) - cov(b, a).
    """
    if survey.joint_m2 is None or not pairs:
        return np.zeros((len(pairs), 3, 3))
    found = []
    for start in range(0, len(pairs), _AT_ONCE):
        some = pairs[start : start + _AT_ONCE]
        both = survey.joint_m2([*(one for one, _ in some), *(other for _, other in some)])
        one = np.arange(len(some))
        other = one + len(some)
        found.append(both[one, one] + both[other, other] - both[one, other] - both[other, one])
    return np.concatenate(found)


def scale_sd(survey: Survey) -> float:
    """Share by which all paced lengths may be off together, by the calibration of the pace; 0 where two known points tell.

    It turns no plane: rises are paced too.
    """
    if survey.fits:
        return 0.0
    paced = {id(leg.booked.conditions.pace) for leg in survey.legs if leg.booked.distance.unit.is_pace}
    shares = [
        pace.sd_m / pace.length_m
        for pace in survey.paces
        if pace.sd_m is not None and id(pace.course) in paced
    ]
    return max(shares, default=0.0)


def _joint(survey: Survey, places: Sequence[PlacedAddress]) -> Vectors:
    if survey.joint_m2 is None:
        found = np.zeros((len(places), len(places), 3, 3))
    else:
        found = np.array(survey.joint_m2([place.rests_on for place in places]))
    for at, place in enumerate(places):
        # A landmark that was only looked at shares its place with nothing.
        if place.covariance_m2 is not None and not found[at, at].any():
            found[at, at] = place.covariance_m2
    return found
