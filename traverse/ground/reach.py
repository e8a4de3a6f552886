"""How to come back to a contact: from the nearer end of its leg, by a bearing as the compass reads it, and paces."""

from __future__ import annotations

import math

from traverse.angle import wrap_360
from traverse.ground.records import Reach
from traverse.location.records import Place, PlacedAddress, Survey
from traverse.log.readings import North
from traverse.settled import settled
from traverse.source import Span
from traverse.structure.records import Geology

_AT_M = 1.5
"""Nearer than this one stands there."""


def reaches(survey: Survey, geology: Geology) -> tuple[Reach, ...]:
    """One for each contact whose leg has a place.

    Stations of another arm may be nearer, but between arms lies the error of the walk, along a leg its own alone.
    """
    found: list[Reach] = []
    for contact in geology.contacts:
        address = contact.place.address
        names = (address.leg.start, address.leg.end) if address.leg is not None else (address.at_or_from,)
        ends = [survey.places[name] for name in names if name in survey.places]
        if ends:
            start = min(ends, key=lambda one: settled(math.hypot(*_from(one, contact.place)), 6))
            found.append(_reach(contact.booked.span, contact.place, start, survey))
    return tuple(found)


def _from(start: Place, placed: PlacedAddress) -> tuple[float, float]:
    return placed.east_m - start.east_m, placed.north_m - start.north_m


def _reach(span: Span, placed: PlacedAddress, start: Place, survey: Survey) -> Reach:
    east, north = _from(start, placed)
    distance = settled(math.hypot(east, north), 6)
    conditions = placed.address.conditions
    reads: float | None = None
    if distance > _AT_M:
        azimuth = math.degrees(math.atan2(east, north)) + survey.frame.to_true_deg
        if conditions.bearings is North.MAGNETIC:
            azimuth -= survey.frame.declination_deg or 0.0
        elif conditions.bearings is North.GRID:
            azimuth -= survey.frame.to_true_deg
        # The compass is drawn aside there tomorrow as well.
        azimuth += sum(one.degrees for one in survey.deviations if one.station == start.name)
        reads = wrap_360(settled(azimuth, 6))
    pace = next((one for one in survey.paces if one.course is conditions.pace), None)
    return Reach(span=span, station=start.name, distance_m=distance, reads_deg=reads, pace=pace)
