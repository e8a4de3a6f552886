"""Where the walk comes into another unit and no contact was booked."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from traverse.location.records import Survey
from traverse.log.items import HowMet
from traverse.log.records import Log
from traverse.nearest import Nearest
from traverse.settled import settled
from traverse.structure.readings.records import PlacedContact
from traverse.structure.walk.along_leg import shares_of
from traverse.structure.walk.records import BandStretch, UnbookedChange
from traverse.trade import SAME_CROSSING_M

_AT_M = 1.0
"""A contact so near to a change of the walk is what changes there."""


def unbooked_changes(
    log: Log, survey: Survey, band: Sequence[BandStretch], contacts: Sequence[PlacedContact]
) -> tuple[UnbookedChange, ...]:
    """Changes within a leg, on open ground, with no contact of any kind at the place; in walking order."""
    places_m: dict[frozenset[str | None], list[tuple[float, float]]] = defaultdict(list)
    for met in contacts:
        if met.met is HowMet.CROSSED:
            places_m[frozenset({met.younger, met.older})].append((met.place.east_m, met.place.north_m))
    crossed = Nearest(np.array([each for some in places_m.values() for each in some]))
    of_pair = {pair: Nearest(np.array(some)) for pair, some in places_m.items()}
    booked = {
        (one.leg.index, settled(share, 6))
        for one in log.addresses
        if one.leg is not None and (place := survey.at(one)) is not None and place.start_share is not None
        for share in shares_of(place)
    }
    rank = {unit.letters: number for number, unit in enumerate(log.units)}
    found: list[UnbookedChange] = []
    for one, other in pairwise(band):
        if one.leg is None or one.leg != other.leg or one.unit is None or other.unit is None:
            continue
        if one.unit == other.unit or one.covered or other.covered or math.dist(one.end, other.start) > _AT_M:
            continue
        of_both = of_pair.get(frozenset({one.unit, other.unit}))
        if crossed.any_within(*one.end, reach_m=_AT_M) or (
            of_both is not None and of_both.any_within(*one.end, reach_m=SAME_CROSSING_M)
        ):
            continue
        younger, older = sorted((one.unit, other.unit), key=lambda unit: rank.get(unit, len(rank)))
        way_deg = math.degrees(math.atan2(other.end[0] - one.start[0], other.end[1] - one.start[1]))
        found.append(
            UnbookedChange(
                units=(one.unit, other.unit),
                younger=younger,
                older=older,
                at=one.end,
                leg=one.leg,
                share=one.end_share,
                course_deg=settled((way_deg + 90.0) % 360.0),
                half_way=(one.leg, settled(one.end_share, 6)) not in booked,
            )
        )
    return tuple(found)
