"""Parties of a camp whose own loop was left open, or the tie that places them: nobody knows where they walked, so others tell what the ground is."""

from __future__ import annotations

import math
from collections.abc import Sequence

from traverse.log.records import Log
from traverse.structure.readings.records import JointPlace
from traverse.structure.walk.records import BandStretch, ContactLine
from traverse.trade import SAME_CROSSING_M

_AT = 1e-6


def open_parties(log: Log) -> frozenset[str]:
    """Files of parties that hang on the others, or on a tie that may be wrong, as the step that places them found."""
    return frozenset(one.file for one in log.parties if one.hung or one.by_open_tie)


def settled_stretches(
    log: Log, band: Sequence[BandStretch], loose: frozenset[str]
) -> tuple[BandStretch, ...]:
    """The walk without the legs of the files `loose`."""
    return tuple(one for one in band if one.leg is None or log.legs[one.leg].span.file not in loose)


def without_outvoted(
    log: Log, band: tuple[BandStretch, ...], places: Sequence[JointPlace]
) -> tuple[BandStretch, ...]:
    """The walk without what one party walked of a unit that others, who agree, did not find there and walked beside it."""
    dropped: set[int] = set()
    for place in places:
        alone = place.alone
        if alone is None:
            continue
        here = [index for index, one in enumerate(band) if _touches(log, one, place.stations)]
        of_others = [band[at] for at in here if log.legs[band[at].leg or 0].span.file != alone.span.file]
        for index in here:
            one = band[index]
            of_it = log.legs[one.leg or 0].span.file == alone.span.file and one.unit == alone.letters
            beside = (other for other in of_others if other.unit != one.unit and not other.covered)
            if of_it and any(_beside(one, other) for other in beside):
                dropped.add(index)
    return tuple(one for index, one in enumerate(band) if index not in dropped) if dropped else band


def _touches(log: Log, one: BandStretch, stations: Sequence[str]) -> bool:
    """Whether a stretch of a leg begins or ends at one of these stations."""
    if one.leg is None:
        return False
    leg = log.legs[one.leg]
    begins = leg.start in stations and one.start_share <= _AT
    return begins or (leg.end in stations and one.end_share >= 1.0 - _AT)


def _beside(one: BandStretch, other: BandStretch) -> bool:
    """Whether the midst of one stretch lies by another."""
    (x0, y0), (x1, y1) = other.start, other.end
    x, y = (one.start[0] + one.end[0]) / 2.0, (one.start[1] + one.end[1]) / 2.0
    size = max((x1 - x0) ** 2 + (y1 - y0) ** 2, 1e-12)
    share = min(1.0, max(0.0, ((x - x0) * (x1 - x0) + (y - y0) * (y1 - y0)) / size))
    return math.hypot(x - x0 - share * (x1 - x0), y - y0 - share * (y1 - y0)) <= SAME_CROSSING_M


def settled_lines(lines: Sequence[ContactLine], loose: frozenset[str]) -> tuple[ContactLine, ...]:
    """Contacts beside the walk or along it without those that the files `loose` have a part in."""
    return tuple(
        one for one in lines if all(part.contact.booked.span.file not in loose for part in one.parts)
    )
