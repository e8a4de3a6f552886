"""On which side of a contact its younger unit lies, as the walk saw it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable

import numpy as np

from traverse.location.records import Survey
from traverse.log.records import Log
from traverse.structure.records import BandStretch, PlacedContact, Section

_AT = 1e-6


def younger_ahead(
    log: Log, survey: Survey, band: tuple[BandStretch, ...], section: Section
) -> Callable[[PlacedContact], int]:
    """A function that gives 1 where the younger unit lies with increasing distance on the section, -1 where against it.

    0 where the band does not tell, as where a leg runs along the contact.
    """
    on_legs: dict[int, list[BandStretch]] = defaultdict(list)
    at_station: dict[str, list[int]] = defaultdict(list)
    for stretch in band:
        if stretch.leg is not None:
            on_legs[stretch.leg].append(stretch)
    for leg in log.legs:
        at_station[leg.start].append(leg.index)
        at_station[leg.end].append(leg.index)
    azimuth = np.radians(section.grid_azimuth_deg)
    way = (float(np.sin(azimuth)), float(np.cos(azimuth)))

    def sense(leg: int) -> float:
        step = survey.legs[leg].adjusted
        return step.east_m * way[0] + step.north_m * way[1]

    def ahead(contact: PlacedContact) -> int:
        place = contact.place
        younger, older = contact.younger, contact.older
        total = 0.0
        if place.spot.leg is not None and place.start_share is not None and place.spot.station is None:
            leg = place.spot.leg.index
            last = place.end_share if place.end_share is not None else place.start_share
            share = (place.start_share + last) / 2.0
            for stretch in on_legs[leg]:
                if abs(stretch.end_share - share) < _AT:
                    total += sense(leg) * ((stretch.unit == older) - (stretch.unit == younger))
                if abs(stretch.start_share - share) < _AT:
                    total += sense(leg) * ((stretch.unit == younger) - (stretch.unit == older))
        elif place.spot.station is not None:
            for leg in at_station[place.spot.station]:
                came = log.legs[leg].end == place.spot.station
                for stretch in on_legs[leg]:
                    unit = (stretch.unit == older) - (stretch.unit == younger)
                    if came and stretch.end_share >= 1.0 - _AT:
                        total += sense(leg) * unit
                    if not came and stretch.start_share <= _AT:
                        total -= sense(leg) * unit
        return int(np.sign(total)) if abs(total) > _AT else 0

    return ahead
