"""On which side of a contact its younger unit lies, as the walk saw it: crossed, or beside it."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence

import numpy as np

from traverse.location.records import Survey
from traverse.log.records import Log
from traverse.structure.readings.directions import Vectors
from traverse.structure.readings.records import PlacedContact
from traverse.structure.walk.records import BandStretch
from traverse.trade import BESIDE_SLOPE_DEG

_AT = 1e-6
_LEAST_SPREAD = 0.35
"""Least singular value of unit directions of legs that tell a slope across them: some 30° apart."""


def by_leg(band: Sequence[BandStretch]) -> Mapping[int, Sequence[BandStretch]]:
    """The stretches of each leg."""
    on_legs: dict[int, list[BandStretch]] = defaultdict(list)
    for stretch in band:
        if stretch.leg is not None:
            on_legs[stretch.leg].append(stretch)
    return on_legs


def contacts_at(log: Log, contacts: Sequence[PlacedContact]) -> Callable[[int, float], list[PlacedContact]]:
    """A function that gives the contacts met at a share of a leg, or at the station where that begins or ends."""
    on_legs: dict[int, list[tuple[float, PlacedContact]]] = defaultdict(list)
    at_stations: dict[str, list[PlacedContact]] = defaultdict(list)
    for contact in contacts:
        address, middle = contact.place.address, contact.place.middle_share
        if address.station is not None:
            at_stations[address.station].append(contact)
        elif address.leg is not None and middle is not None:
            on_legs[address.leg.index].append((middle, contact))

    def met(leg: int, share: float) -> list[PlacedContact]:
        here = [one for at, one in on_legs.get(leg, ()) if abs(at - share) < _AT]
        if share <= _AT:
            here += at_stations.get(log.legs[leg].start, ())
        if share >= 1.0 - _AT:
            here += at_stations.get(log.legs[leg].end, ())
        return here

    return met


def walked_on(contact: PlacedContact, on_legs: Mapping[int, Sequence[BandStretch]]) -> str | None:
    """The unit that the walk was on abreast of a contact beside it, of one followed half-way along; None where it isn't known."""
    leg = contact.place.address.leg
    if leg is None:
        return None
    at = contact.place.middle_share or 0.0
    return next(
        (one.unit for one in on_legs.get(leg.index, ()) if one.start_share <= at <= one.end_share), None
    )


def younger_beside(
    log: Log, survey: Survey, band: Sequence[BandStretch]
) -> Callable[[PlacedContact], tuple[Vectors, float] | None]:
    """A function that gives the way from a contact beside the walk into its younger unit, square to the leg, and how well its slope is known, degrees.

    Toward the walk lies what was walked on. The hillside is that of the legs that meet at the ends of this one, where they
    run several ways. None where the walk was on neither of the two units, or on the contact itself.
    """
    on_legs = by_leg(band)
    at_station: dict[str, list[int]] = defaultdict(list)
    for leg in log.legs:
        at_station[leg.start].append(leg.index)
        at_station[leg.end].append(leg.index)

    def hillside(leg: int) -> Vectors | None:
        booked = log.legs[leg]
        near = dict.fromkeys([*at_station[booked.start], *at_station[booked.end]])
        steps = [survey.legs[one].adjusted for one in near if survey.legs[one].slope_known]
        runs = np.array([(one.east_m, one.north_m) for one in steps]).reshape(-1, 2)
        lengths = np.linalg.norm(runs, axis=1)
        walked = lengths > _AT
        if int(walked.sum()) < 2:
            return None
        ways = runs[walked] / lengths[walked, None]
        if float(np.linalg.svd(ways, compute_uv=False)[-1]) < _LEAST_SPREAD:
            return None
        rises = np.array([one.up_m or 0.0 for one in steps])[walked] / lengths[walked]
        found: Vectors = np.linalg.lstsq(ways, rises, rcond=None)[0]
        return found

    def side(contact: PlacedContact) -> tuple[Vectors, float] | None:
        leg, right = contact.place.address.leg, contact.place.right_m
        unit = walked_on(contact, on_legs)
        toward = (unit == contact.younger) - (unit == contact.older)
        if leg is None or abs(right) <= _AT or not toward:
            return None
        step = survey.legs[leg.index].adjusted
        length = math.hypot(step.east_m, step.north_m)
        if length <= _AT:
            return None
        way = np.array([step.north_m, -step.east_m]) / length * (-toward if right > 0.0 else toward)
        slope = hillside(leg.index)
        up = 0.0 if slope is None else float(slope @ way)
        return np.array([*way, up]), BESIDE_SLOPE_DEG / (1.0 if slope is None else 2.0)

    return side


def younger_side(
    log: Log, survey: Survey, band: tuple[BandStretch, ...]
) -> Callable[[PlacedContact], Vectors]:
    """A function that gives the way from a contact into its younger unit: east, north, up in metres, along the legs there.

    Zero where the band does not tell.
    """
    on_legs = by_leg(band)
    at_station: dict[str, list[int]] = defaultdict(list)
    for leg in log.legs:
        at_station[leg.start].append(leg.index)
        at_station[leg.end].append(leg.index)

    def way(leg: int) -> Vectors:
        step = survey.legs[leg].adjusted
        return np.array([step.east_m, step.north_m, step.up_m or 0.0])

    def side(contact: PlacedContact) -> Vectors:
        place = contact.place
        younger, older = contact.younger, contact.older

        def sign(stretch: BandStretch) -> int:
            return (stretch.unit == younger) - (stretch.unit == older)

        total = np.zeros(3)
        if place.address.leg is not None and place.start_share is not None and place.address.station is None:
            leg = place.address.leg.index
            last = place.end_share if place.end_share is not None else place.start_share
            share = (place.start_share + last) / 2.0
            for stretch in on_legs.get(leg, ()):
                if abs(stretch.end_share - share) < _AT:
                    total -= way(leg) * sign(stretch)
                if abs(stretch.start_share - share) < _AT:
                    total += way(leg) * sign(stretch)
        elif place.address.station is not None:
            for leg in at_station[place.address.station]:
                came = log.legs[leg].end == place.address.station
                for stretch in on_legs.get(leg, ()):
                    if came and stretch.end_share >= 1.0 - _AT:
                        total -= way(leg) * sign(stretch)
                    if not came and stretch.start_share <= _AT:
                        total += way(leg) * sign(stretch)
        return total

    return side
