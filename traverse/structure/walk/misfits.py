"""Units of the walk that do not follow each other, and the one line that would mend it if it were another."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from traverse.diagnostic import Diagnostic, Label, warning
from traverse.location.records import Survey
from traverse.log.items import Certainty, Contact, HowMet, UnitHere
from traverse.log.records import Log
from traverse.record import record
from traverse.settled import settled
from traverse.source import Span
from traverse.structure.readings.records import PlacedContact
from traverse.structure.walk.across import unit_ranks
from traverse.structure.walk.band import band
from traverse.structure.walk.records import BandStretch

MOST_TRIED = 12
"""Messages up to which other units are tried; in a log with more the lines are still to be written."""
MOST_LEGS = 4_000
"""Legs gone over in all trials together, in half a second; of a day's walk every line near a misfit is tried."""
_REACH = 3
"""Lines of units before and after one that does not fit, of which one may be wrong in its place."""

_Key = tuple[str, str, int]


@record(frozen=True, slots=True, kw_only=True)
class _MeantLine:
    """A line of units as it may have been meant, and what would then be said no more."""

    item: UnitHere | Contact
    written: str
    meant: str
    mends: frozenset[_Key]
    order: int


def misfits(
    log: Log,
    survey: Survey,
    contacts: Sequence[PlacedContact],
    under: Sequence[BandStretch],
    missing: Sequence[Diagnostic],
) -> tuple[Diagnostic, ...]:
    """What is said of units that follow each other with no contact, or of contacts that are met in a third unit.

    One line that would mend several of these is named alone. `missing` are those that the band has found.
    """
    said = (*missing, *wrong_units(contacts, under, log))
    if not said or len(said) > MOST_TRIED:
        return said
    others = sorted(
        _others(log, survey, contacts, said),
        key=lambda one: (-len(one.mends), not isinstance(one.item, UnitHere), one.order),
    )
    left = {_key(one): one for one in said}
    out: list[Diagnostic] = []
    for other in others:
        mends = [key for key in left if key in other.mends]
        if len(mends) > 1:
            out.append(_one_for(other, [left.pop(key) for key in mends]))
    for key, one in left.items():
        out.append(_beside([other for other in others if key in other.mends], one))
    return tuple(out)


def _key(one: Diagnostic) -> _Key:
    assert one.span is not None
    return one.code, one.span.file, one.span.line


def _others(
    log: Log, survey: Survey, contacts: Sequence[PlacedContact], said: Sequence[Diagnostic]
) -> Iterator[_MeantLine]:
    """Lines near what does not fit, each with every other unit that stands near; those that mend and spoil nothing."""
    rank = unit_ranks(log)
    of_units = [
        (at, item)
        for at, item in enumerate(log.items)
        if (isinstance(item, UnitHere) and item.letters in rank)
        or (
            isinstance(item, Contact)
            and item.met is HowMet.CROSSED
            and {item.younger, item.older} <= rank.keys()
        )
    ]
    near: dict[int, int] = {}  # how far each line stands from one that does not fit
    for one in said:
        spans = {one.span, *(label.span for label in one.rests_on)}
        for place, (_, item) in enumerate(of_units):
            if item.span in spans:
                for index in range(max(0, place - _REACH), min(len(of_units), place + _REACH + 1)):
                    near[index] = min(abs(index - place), near.get(index, _REACH))
    named = {unit for index in near for unit in _units(of_units[index][1])}
    known = sorted(named, key=lambda unit: rank[unit])
    before = _trial(log, survey, contacts, None)
    left = MOST_LEGS // max(1, len(log.legs))
    for index in sorted(near, key=lambda one: (near[one], one)):
        at, item = of_units[index]
        for other, written, meant in _as_others(item, known, rank):
            if left <= 0:
                return
            left -= 1
            items = (*log.items[:at], other, *log.items[at + 1 :])
            after = _trial(replace(log, items=items), survey, contacts, (item.span, other))
            if after < before:
                mends = frozenset(before - after)
                yield _MeantLine(item=item, written=written, meant=meant, mends=mends, order=index)


def _units(item: UnitHere | Contact) -> tuple[str, ...]:
    if isinstance(item, UnitHere):
        return (item.letters,)
    return tuple(unit for unit in (item.younger, item.older) if unit is not None)


def _as_others(
    item: UnitHere | Contact, known: Sequence[str], rank: Mapping[str, int]
) -> Iterator[tuple[UnitHere | Contact, str, str]]:
    """A line with one unit another, as it was and as it would be written."""
    if isinstance(item, UnitHere):
        for unit in known:
            if unit != item.letters:
                yield replace(item, letters=unit), f"unit {item.letters}", f"unit {unit}"
        return
    pair = (item.younger, item.older)
    for kept in pair:
        for unit in known:
            if unit in pair or kept is None:
                continue
            younger, older = sorted((kept, unit), key=lambda one: rank[one])
            yield (
                replace(item, younger=younger, older=older),
                f"{item.kind.value} {item.younger}/{item.older}",
                f"{item.kind.value} {younger}/{older}",
            )


def _trial(
    log: Log,
    survey: Survey,
    contacts: Sequence[PlacedContact],
    other: tuple[Span, UnitHere | Contact] | None,
) -> set[_Key]:
    """What would be said of the log with a line as another."""
    walk = band(log, survey)
    span, booked = other if other is not None else (None, None)
    if isinstance(booked, Contact):
        contacts = [
            replace(one, booked=booked, younger=booked.younger, older=booked.older)
            if one.booked.span == span
            else one
            for one in contacts
        ]
    return {_key(one) for one in (*walk.diagnostics, *wrong_units(contacts, walk.value, log))}


def _one_for(other: _MeantLine, mended: Sequence[Diagnostic]) -> Diagnostic:
    """The line that would mend several, in place of what is said of each."""
    return warning(
        "unit-misfit",
        f"`{other.written}` does not fit the walk at {len(mended)} places, and `{other.meant}` would fit at all of them",
        other.item.span,
        f"was it `{other.meant}`? else contacts are missing on both sides of it",
        rests_on=[label.span for one in mended for label in one.rests_on],
    )


def _beside(others: Sequence[_MeantLine], one: Diagnostic) -> Diagnostic:
    """A message with the lines that may be wrong in its place."""
    first: dict[Span, _MeantLine] = {}
    for other in others:
        first.setdefault(other.item.span, other)
    own = first.pop(one.span, None) if one.span is not None else None
    hints = one.hints
    if own is not None and own.meant not in " ".join(hints):
        hints = (*hints, f"or was it `{own.meant}`")
    elsewhere = sorted(first.values(), key=lambda other: isinstance(other.item, UnitHere))[:2]
    return replace(
        one,
        hints=hints,
        labels=(
            *one.labels,
            *(Label(other.item.span, f"or `{other.written}` was `{other.meant}`") for other in elsewhere),
        ),
        doubts=tuple(other.item.span for other in elsewhere),
    )


def wrong_units(
    contacts: Sequence[PlacedContact], band: Sequence[BandStretch], log: Log
) -> Iterator[Diagnostic]:
    """Contacts that were seen, of two units of which the walk came from neither."""
    loose = {unit.letters for unit in log.units if unit.loose}
    rank = unit_ranks(log)
    ends = {(one.leg, settled(one.end_share)): one.unit for one in band if one.leg is not None}
    known = [
        ((one.leg, settled(one.start_share)), one.unit)
        for one in band
        if one.leg is not None and one.unit is not None
    ]
    known.sort(key=lambda one: one[0])
    for contact in contacts:
        leg, place = contact.booked.address.leg, contact.place
        pair = {contact.younger, contact.older}
        beside = contact.booked.address.offset is not None or contact.booked.address.covered
        if leg is None or beside or place.start_share is None or contact.certainty is not Certainty.CERTAIN:
            continue
        last = place.start_share if place.end_share is None else place.end_share
        share = settled((place.start_share + last) / 2.0)
        before = ends.get((leg.index, share))
        # The ground next to a contact that fits nothing may have no unit until the next is booked.
        next_known = bisect_left(known, (leg.index, share), key=lambda one: one[0])
        after = known[next_known][1] if next_known < len(known) else None
        if before is None or before in pair or before in loose or not pair <= rank.keys():
            continue
        hint = "look at the page for the units, or book the contact that was crossed before it"
        if after is not None and after != before:
            younger, older = sorted((before, after), key=lambda unit: rank.get(unit, 0))
            hint = f"`{contact.kind.value} {younger}/{older}` would fit; else a contact before it is missing"
        yield warning(
            "contact-of-others",
            f"{contact.younger}/{contact.older} is met in {before}, which is neither of them",
            contact.booked.span,
            hint,
            rests_on=[log.begun_at[leg.index]] if leg.index in log.begun_at else [],
        )
