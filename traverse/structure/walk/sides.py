"""On which side of a contact its younger unit lies, as the walk saw it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable

import numpy as np

from traverse.location.records import Survey
from traverse.log.records import Log
from traverse.structure.readings.directions import Vectors
from traverse.structure.readings.records import PlacedContact
from traverse.structure.walk.records import BandStretch

_AT = 1e-6


def younger_side(
    log: Log, survey: Survey, band: tuple[BandStretch, ...]
) -> Callable[[PlacedContact], Vectors]:
    """A function that gives the way from a contact into its younger unit: east, north, up in metres, along the legs there.

    Zero where the band does not tell.
    """
    on_legs: dict[int, list[BandStretch]] = defaultdict(list)
    at_station: dict[str, list[int]] = defaultdict(list)
    for stretch in band:
        if stretch.leg is not None:
            on_legs[stretch.leg].append(stretch)
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
            for stretch in on_legs[leg]:
                if abs(stretch.end_share - share) < _AT:
                    total -= way(leg) * sign(stretch)
                if abs(stretch.start_share - share) < _AT:
                    total += way(leg) * sign(stretch)
        elif place.address.station is not None:
            for leg in at_station[place.address.station]:
                came = log.legs[leg].end == place.address.station
                for stretch in on_legs[leg]:
                    if came and stretch.end_share >= 1.0 - _AT:
                        total -= way(leg) * sign(stretch)
                    if not came and stretch.start_share <= _AT:
                        total += way(leg) * sign(stretch)
        return total

    return side
