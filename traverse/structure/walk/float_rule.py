"""What loose rock on covered ground says of a contact under it."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator

from traverse.diagnostic import Diagnostic, note, warning
from traverse.location.records import Survey
from traverse.log.items import Words, WordsKind
from traverse.log.records import Log
from traverse.settled import settled
from traverse.structure.readings.records import PlacedContact
from traverse.structure.walk.records import BandStretch
from traverse.structure.walk.sides import younger_side
from traverse.trade import FLOAT_SLOPE_DEG


def float_limits(
    log: Log, survey: Survey, contacts: tuple[PlacedContact, ...], band: tuple[BandStretch, ...]
) -> Iterator[Diagnostic]:
    """Where float narrows the stretch that a contact lies in, and where it can't.

    Float moves downhill: the contact lies at or above the highest piece of the unit below it. Pieces of the unit above
    say nothing. A warning where the middle of the stretch, at which the contact is drawn, is ruled out; else a note.
    Nothing is moved: the stretch stays as it was booked. Common practice, no source.
    """
    loose: dict[int, list[Words]] = defaultdict(list)
    for item in log.items:
        if (
            isinstance(item, Words)
            and item.kind is WordsKind.FLOAT
            and item.unit
            and item.address.leg is not None
        ):
            loose[item.address.leg.index].append(item)
    if not loose:
        return
    side = younger_side(log, survey, band)
    for contact in contacts:
        address, place = contact.booked.address, contact.place
        if address.leg is None or address.start is None or address.end is None or contact.younger is None:
            continue
        leg = survey.legs[address.leg.index]
        first, last = place.start_share, place.end_share
        climb = settled(math.degrees(math.atan2(leg.rise_m, leg.horizontal_m)))
        east, north, _ = side(contact).tolist()
        ahead = settled(east * leg.adjusted.east_m + north * leg.adjusted.north_m, 3)
        if (
            first is None
            or last is None
            or not leg.slope_known
            or abs(climb) < FLOAT_SLOPE_DEG
            or ahead == 0.0
        ):
            continue
        before, after = (contact.older, contact.younger) if ahead > 0.0 else (contact.younger, contact.older)
        below = before if climb > 0.0 else after
        name = f"{contact.younger}/{contact.older}"
        found: list[tuple[float, str]] = []
        for item in loose[address.leg.index]:
            at = survey.at(item.address)
            if at is None or at.start_share is None or item.address.start is None:
                continue
            shares = (at.start_share, at.start_share if at.end_share is None else at.end_share)
            written = (item.address.start.written, (item.address.end or item.address.start).written)
            highest = 1 if climb > 0.0 else 0
            if not first < shares[highest] < last:
                continue
            if item.unit == below:
                found.append((shares[highest], written[highest]))
            elif item.unit in {before, after}:
                yield note(
                    "float-from-above",
                    f"float of {item.unit} comes from above, so it moves no limit of {name}",
                    item.span,
                )
        if not found:
            continue
        share, written_at = max(found) if climb > 0.0 else min(found)
        limits = (written_at, address.end.written) if climb > 0.0 else (address.start.written, written_at)
        words = (
            f"float of {below} goes up to {written_at}, so {name} lies above it, "
            f"between {limits[0]} and {limits[1]}"
        )
        hint = f"`covered {limits[0]} to {limits[1]}` for the stretch it can lie in"
        middle = (first + last) / 2.0
        if (share > middle) if climb > 0.0 else (share < middle):
            yield warning("float-above-contact", words, contact.booked.span, hint)
        else:
            yield note("float-limits", words, contact.booked.span, hint)
