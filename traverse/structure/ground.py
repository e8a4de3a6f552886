"""Which unit a place of the walk is on."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable

from traverse.location.records import PlacedSpot
from traverse.log.records import Log, UnitHere
from traverse.structure.records import BandStretch


def unit_finder(log: Log, band: tuple[BandStretch, ...]) -> Callable[[PlacedSpot], str | None]:
    """A function that gives the unit of a place: its own line, else that of the band there; None where none is known."""
    own: dict[int, str] = {}
    at_stations: dict[str, str] = {}
    for item in log.items:
        if isinstance(item, UnitHere):
            own.setdefault(item.spot.index, item.letters)
            if item.spot.station is not None:
                at_stations.setdefault(item.spot.station, item.letters)
    on_legs: dict[int, list[BandStretch]] = defaultdict(list)
    for stretch in band:
        if stretch.leg is None or stretch.unit is None:
            continue
        on_legs[stretch.leg].append(stretch)
        leg = log.legs[stretch.leg]
        if stretch.end_share >= 1.0:
            at_stations.setdefault(leg.end, stretch.unit)
        if stretch.start_share <= 0.0:
            at_stations.setdefault(leg.start, stretch.unit)

    def unit_at(place: PlacedSpot) -> str | None:
        spot = place.spot
        if spot.index in own:
            return own[spot.index]
        if spot.station is not None:
            return at_stations.get(spot.station)
        if spot.leg is None or place.start_share is None:
            return None
        share = (place.start_share + (place.end_share or place.start_share)) / 2.0
        return next(
            (one.unit for one in on_legs[spot.leg.index] if one.start_share <= share <= one.end_share), None
        )

    return unit_at
