"""The first or last stop of a walk numbered anew that nothing but a wrong leg leads to."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from traverse.adjustment.misread.slips import slips_of
from traverse.ground.records import Traverse
from traverse.location.records import PlacedLeg
from traverse.settled import settled
from traverse.trade import CAUSE_LEG_SHARE, LEG_APART, LEG_APART_M

_Way = tuple[float, float]


def open_ends(
    log: Traverse, key: Traverse, found: Mapping[str, str], turn_deg: float
) -> Iterator[tuple[str, str]]:
    """Stops of a log that lie at the far end of one leg, each with the key's stop that its leg would lead to with one slip.

    `found` are stations by the key's; `turn_deg` is from the log's grid to the key's. The key must have walked there from
    the same stop, and no other of the log's stations be it.
    """
    places, taken = key.survey.places, set(found.values())
    beside: dict[str, set[str]] = {}
    for leg in key.log.legs:
        beside.setdefault(leg.start, set()).add(leg.end)
        beside.setdefault(leg.end, set()).add(leg.start)
    legs: dict[str, list[PlacedLeg]] = {}
    for placed in log.survey.legs:
        for end in (placed.booked.start, placed.booked.end):
            legs.setdefault(end, []).append(placed)
    for name, its in legs.items():
        if name in found or len(its) != 1:
            continue
        booked = its[0].booked
        here = found.get(booked.end if booked.start == name else booked.start)
        if here is None:
            continue
        back = -1.0 if booked.start == name else 1.0
        reached = []
        for there in sorted(beside.get(here, set()) - taken):
            if here in places and there in places:
                way = (
                    back * (places[there].east_m - places[here].east_m),
                    back * (places[there].north_m - places[here].north_m),
                )
                if _led_to(its[0], way, turn_deg, log.survey.frame.declination_deg or 0.0):
                    reached.append(there)
        if len(reached) == 1:
            taken.add(reached[0])
            yield name, reached[0]


def _led_to(leg: PlacedLeg, way: _Way, turn_deg: float, declination_deg: float) -> bool:
    """Whether a leg is this way with one of its readings misread."""
    long = math.hypot(*way)
    most = max(
        LEG_APART * math.sqrt(2.0) * long * math.hypot(CAUSE_LEG_SHARE, math.radians(leg.bearing_sd_deg)),
        LEG_APART_M,
    )
    for slip in slips_of(-1, leg.booked, declination_deg):
        if slip.is_vague or slip.stretch == 0.0:
            continue
        angle = math.radians(turn_deg + slip.turn_deg)
        east = slip.stretch * (leg.raw.east_m * math.cos(angle) + leg.raw.north_m * math.sin(angle))
        north = slip.stretch * (leg.raw.north_m * math.cos(angle) - leg.raw.east_m * math.sin(angle))
        if settled(math.dist((east, north), way), 3) <= most:
            return True
    return False
