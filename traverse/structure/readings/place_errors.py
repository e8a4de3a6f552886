"""Poles and places with their errors, as thicknesses and planes are computed from."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from traverse.location.records import PlacedAddress, Survey
from traverse.log.items import HowMet
from traverse.log.records import Log
from traverse.structure.readings.directions import Vectors, pole
from traverse.structure.readings.records import PlacedContact, PlaneAttitude
from traverse.trade import BESIDE_SLOPE_DEG


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


def start_covariance(log: Log, survey: Survey) -> Vectors:
    """Error that a single fix gives to every place alike, shape (3, 3); it moves the map and changes no thickness."""
    names = {control.name for control in log.controls}
    place = survey.places.get(next(iter(names))) if len(names) == 1 else None
    if place is None:
        return np.zeros((3, 3))
    return np.diag([(sd or 0.0) ** 2 for sd in (place.sd_east_m, place.sd_north_m, place.sd_up_m)])


def place_covariance(contact: PlacedContact) -> Vectors:
    """Covariance of a contact's place in east, north and up, shape (3, 3) in square metres.

    The station's own error, joined with that of the contact along its leg; beside the walk with that to any side, and
    with the height of ground that was not walked.
    """
    place = contact.place
    if place.covariance_m2 is not None:
        covariance = np.array(place.covariance_m2, dtype=np.float64)
    else:
        covariance = np.diag([place.sd_m**2, place.sd_m**2, 0.0])
    along = contact.own_sd_m
    if contact.met is not HowMet.CROSSED:
        up = place.right_m * math.tan(math.radians(BESIDE_SLOPE_DEG))
        return np.asarray(covariance + np.diag([along**2, along**2, up**2]), dtype=np.float64)
    if along:
        if place.leg_azimuth_deg is None:
            covariance = covariance + np.diag([along**2, along**2, 0.0])
        else:
            azimuth = math.radians(place.leg_azimuth_deg)
            way = np.array([math.sin(azimuth), math.cos(azimuth), 0.0])
            covariance = covariance + along**2 * np.outer(way, way)
    return covariance


def points_of(contact: PlacedContact) -> Vectors:
    """East, north and height, shape (n, 3): both ends of a stretch along which it was followed, else its place."""
    if contact.met is HowMet.FOLLOWED and contact.place.ends:
        return np.array(contact.place.ends)
    return place_vector(contact.place)[None, :]
