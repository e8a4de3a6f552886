"""Poles and places with their errors, as thicknesses and planes are computed from."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from traverse.location.records import PlacedAddress, Rests, Survey
from traverse.log.items import HowMet
from traverse.settled import SAME_M, settled_all
from traverse.structure.readings.directions import Vectors, pole
from traverse.structure.readings.records import Measured, PlacedContact, PlaneAttitude
from traverse.trade import BESIDE_SLOPE_DEG, OFFSET_SHARE, UNEVEN_SHARE


def contact_pole(contact: PlacedContact, *, to_true_deg: float = 0.0) -> tuple[Vectors, float] | None:
    """Pole of a measured contact and its standard deviation in degrees.

    In true north; in the grid of the places where the degrees from grid to true north are given.
    """
    reading = contact.booked.plane
    if reading is None or contact.dip_deg is None:
        return None
    direction = 0.0 if contact.strike_deg is None else contact.strike_deg + 90.0
    sd = reading.sd_deg if reading.sd_deg is not None else contact.booked.conditions.precision.attitude_deg
    return pole(contact.dip_deg, dip_direction_deg=direction - to_true_deg), sd


def bed_pole(bed: PlaneAttitude, *, to_true_deg: float = 0.0) -> tuple[Vectors, float]:
    """Pole of a bed and its standard deviation in degrees; by true or by grid north as `contact_pole`."""
    return pole(bed.dip_deg, dip_direction_deg=bed.dip_direction_deg - to_true_deg), bed.sd_deg


def poles_of(beds: Sequence[PlaneAttitude], *, to_true_deg: float = 0.0) -> Vectors:
    """Poles of beds, shape (n, 3); by true or by grid north as `contact_pole`."""
    return pole(
        [bed.dip_deg for bed in beds],
        dip_direction_deg=[bed.dip_direction_deg - to_true_deg for bed in beds],
    )


def place_vector(place: PlacedAddress) -> Vectors:
    """East and north in the grid and height, for differences."""
    return np.array([place.east_m, place.north_m, place.relative_up_m])


def place_covariance(contact: PlacedContact) -> Vectors:
    """Covariance of a contact's place in east, north and up, shape (3, 3) in square metres.

    The station's own error, joined with that of the contact along its leg; beside the walk with that to any side, and
    with the height of ground that was not walked.
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

    Along its leg, up and down with it, or all round where no leg is known. Beside the walk all round, by the guess of the distance, and in
    height by the hillside, whose slope nobody read.
    """
    place, along = contact.place, contact.own_sd_m
    if place.leg_azimuth_deg is None:
        return np.diag([along**2, along**2, 0.0])
    azimuth, slope = math.radians(place.leg_azimuth_deg), math.radians(place.leg_slope_deg)
    ahead = np.array([math.sin(azimuth), math.cos(azimuth), 0.0])
    way = math.cos(slope) * ahead + np.array([0.0, 0.0, math.sin(slope)])
    covariance = along**2 * np.outer(way, way)
    if contact.met is not HowMet.CROSSED:
        across = np.array([ahead[1], -ahead[0], 0.0])
        covariance += (along**2 + (OFFSET_SHARE * place.right_m) ** 2) * np.outer(across, across)
        covariance[2, 2] += (place.right_m * math.tan(math.radians(BESIDE_SLOPE_DEG))) ** 2
    return np.asarray(covariance, dtype=np.float64)


def points_of(contact: PlacedContact) -> Vectors:
    """East, north and height, shape (n, 3): both ends of a stretch along which it was followed, else its place."""
    if contact.met is HowMet.FOLLOWED and contact.place.ends:
        return np.array(contact.place.ends)
    return place_vector(contact.place)[None, :]


def _rests_of(contact: PlacedContact) -> tuple[Rests, ...]:
    """What each of `points_of` rests on."""
    if contact.met is HowMet.FOLLOWED and contact.place.ends:
        return contact.place.ends_rest_on
    return (contact.place.rests_on,)


def together(survey: Survey, contacts: Sequence[PlacedContact]) -> Vectors:
    """Covariance of the places of contacts, each with each, shape (n, n, 3, 3) in square metres, in the order of `points_of`.

    What the walk makes two of them share is in the block between them, so that it cancels in a difference; what each is
    off by along its leg is its own.
    """
    rests = [_rests_of(contact) for contact in contacts]
    of = [contact for contact, its in zip(contacts, rests, strict=True) for _ in its]
    if survey.joint_m2 is None:
        found = np.zeros((len(of), len(of), 3, 3))
    else:
        found = np.array(survey.joint_m2([one for its in rests for one in its]))
    for at, contact in enumerate(of):
        # A landmark that was only looked at shares its place with nothing.
        if contact.place.covariance_m2 is not None and not found[at, at].any():
            found[at, at] = contact.place.covariance_m2
        found[at, at] += own_covariance(contact)
    return found


def apart(survey: Survey, pairs: Sequence[tuple[Rests, Rests]]) -> Vectors:
    """Covariance of the way from one place to another, shape (n, 3, 3), for pairs by what they rest on.

    Only the walk between counts: what both share cancels. In height also by how far the ground lies off the straight line
    between the ends of a leg.
    """
    if survey.apart_m2 is None or not pairs:
        return np.zeros((len(pairs), 3, 3))
    found = np.array(survey.apart_m2(pairs), dtype=np.float64)
    found[:, 2, 2] += _unevenness(survey, pairs)
    return found


def _unevenness(survey: Survey, pairs: Sequence[tuple[Rests, Rests]]) -> Vectors:
    """Variance in height by ground that is no straight line between stations, shape (n,): parabolas over each leg's part.

    Of two places on one leg by the part of it between them, of others by the part from each to a station. None where no
    slope was read.
    """
    rises = [
        (leg.adjusted.up_m or 0.0, math.hypot(leg.adjusted.east_m, leg.adjusted.north_m))
        for leg in survey.legs
        if leg.slope_known
    ]
    gradients = [(up / level) ** 2 for up, level in rises if level > SAME_M]
    if not gradients:
        return np.zeros(len(pairs))
    usual = math.sqrt(math.fsum(gradients) / len(gradients))

    def off_m(rests: Rests, part: float) -> float:
        ends = [survey.places[name] for name, _ in rests if name in survey.places]
        if len(ends) < 2:
            return 0.0
        length = math.hypot(ends[0].east_m - ends[1].east_m, ends[0].north_m - ends[1].north_m)
        return UNEVEN_SHARE * usual * length * 4.0 * part * (1.0 - part)

    found = []
    for first, second in pairs:
        one, other = dict(first), dict(second)
        if len(one) == 2 and one.keys() == other.keys():
            name = first[0][0]
            found.append(off_m(first, abs(one[name] - other[name])) ** 2)
        else:
            found.append(sum(off_m(rests, rests[0][1]) ** 2 for rests in (first, second)))
    return settled_all(np.array(found))
