"""Units of the walk that do not follow each other, and the one line that would mend it if it were another."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from traverse.diagnostic import Diagnostic, Label, warning
from traverse.location.records import Survey
from traverse.log.items import Address, Certainty, Contact, ContactKind, HowMet, Leg, LegKind, UnitHere
from traverse.log.readings import Unit
from traverse.log.records import Log
from traverse.record import record
from traverse.settled import settled
from traverse.source import Span
from traverse.structure.readings.records import PlacedContact
from traverse.structure.walk.band import band
from traverse.structure.walk.between_contacts import OnOtherLeg, on_other_leg
from traverse.structure.walk.records import BandStretch
from traverse.structure.walk.sides import by_leg, walked_on
from traverse.structure.walk.unit_at import UnitsSaid, units_said, written_ranks
from traverse.trade import SAME_CROSSING_M

MOST_TRIED = 12
"""Messages up to which other units are tried; in a log with more the lines are still to be written."""
MOST_LEGS = 4_000
"""Legs gone over in all trials together, in half a second; of a day's walk every line near a misfit is tried."""
_REACH = 3
"""Lines of units before and after one that does not fit, of which one may be wrong in its place."""
_SAME_SHARE = 1e-6

_LEADS_BACK = "contact-leads-back"

_Key = tuple[str, str, int]


@record(frozen=True, slots=True, kw_only=True)
class Misfits:
    """What does not fit the walk, and what can't be told because of it."""

    said: tuple[Diagnostic, ...]
    unsure: frozenset[Span]
    """Contacts that do not fit, or on either side of which it is not sure what lies."""


@record(frozen=True, slots=True, kw_only=True)
class _MeantLine:
    """A line of units as it may have been meant, and what would then be said no more."""

    item: UnitHere | Contact
    other: UnitHere | Contact
    mends: frozenset[_Key]
    order: int

    @property
    def written(self) -> str:
        return _as_written(self.item)

    @property
    def meant(self) -> str:
        return _as_written(self.other)


@record(frozen=True, slots=True, kw_only=True)
class _Exchange:
    """Two contacts that may stand in each other's place, and what would then be said no more."""

    first: Contact
    second: Contact
    mends: frozenset[_Key]


def misfits(
    log: Log,
    survey: Survey,
    contacts: Sequence[PlacedContact],
    under: Sequence[BandStretch],
    missing: Sequence[Diagnostic],
) -> Misfits:
    """What is said of units that follow each other with no contact, or of contacts that are met in a third unit.

    One line that would mend several of these is named alone. `contacts` are all that were met, `under` is the walk with
    its bodies, and `missing` are those that the band has found.
    """
    together = _at_one_place(log)
    one_place = {one.span for one in together}
    of_others = tuple(wrong_units(contacts, under, log))
    missing = tuple(_not_back(missing, of_others))
    said = (*missing, *(one for one in of_others if one.span not in one_place))
    # Where a contact is missing, what lies on either side of another is not sure, nor of those on the leg after it.
    legs = _without_contact(contacts, under)
    reached = {log.legs[before].end for before in legs}
    legs |= {leg.index for leg in log.legs if leg.start in reached}
    doubtful = {one.booked.span for one in contacts if _leg_of(one) in legs}
    unsure = frozenset({one.span for one in of_others if one.span is not None} | doubtful)
    others: list[_MeantLine] = []
    if said and len(said) <= MOST_TRIED:
        others = sorted(
            _others(log, survey, contacts, said),
            key=lambda one: (-len(one.mends), not isinstance(one.item, UnitHere), one.order),
        )
    left = {_key(one): one for one in said}
    out: list[Diagnostic] = list(together)
    out.extend(_contact_lost(left.pop(_key(one)), empty) for one, empty in _under_empty(log, said))
    for stray in on_other_leg(log, survey, said):
        mended, elsewhere = {_key(one) for one in stray.mends}, stray.asked
        by_unit = [other for other in others if isinstance(other.item, UnitHere) and other.mends & mended]
        # A unit that mends more than the contact would is the likelier.
        if not mended <= left.keys() or any(not other.mends <= mended for other in by_unit):
            continue
        assert elsewhere.span is not None
        unsure |= {elsewhere.span}
        gone = [left.pop(key) for key in sorted(mended)]
        if by_unit and len(gone) > 1:
            # Letters of a unit are written wrong more often than a contact on another leg.
            out.append(_unit_or_leg(by_unit[0], gone, stray))
        else:
            out.append(_or_unit(elsewhere, by_unit))
    swaps = _exchanged(log, survey, contacts, said) if said and len(said) <= MOST_TRIED else ()
    out.extend(
        _exchange(swap, [left.pop(key) for key in keys])
        for swap in swaps
        if (keys := [key for key in left if key in swap.mends])
    )
    for other in others:
        mends = [key for key in left if key in other.mends]
        if len(mends) > 1:
            out.append(_one_for(other, [left.pop(key) for key in mends]))
    of_band = frozenset(missing)
    for key, one in left.items():
        if one in of_band or one.code == _LEADS_BACK or one.span not in doubtful:
            out.append(_beside([other for other in others if key in other.mends], one, log))
    return Misfits(said=tuple(out), unsure=unsure)


def _not_back(missing: Sequence[Diagnostic], of_others: Sequence[Diagnostic]) -> Iterator[Diagnostic]:
    """What is missing, without the second contact of a leg whose one contact is told to lead back."""
    back = {one.span for one in of_others if one.code == _LEADS_BACK}
    return (one for one in missing if all(label.span not in back for label in one.rests_on))


def _under_empty(log: Log, said: Sequence[Diagnostic]) -> list[tuple[Diagnostic, Address]]:
    """What is said right after a point of a leg at which nothing is booked, or covered ground without a contact, with that.

    Or further on that leg, up to the station at its end, where it has one such point alone.
    """
    if not said:
        return []
    crossed = {one.address.index for one in log.items if isinstance(one, Contact)}
    covered = [one for one in log.addresses if one.covered and one.side is None and one.index not in crossed]
    if not (empty := [*log.empty_points, *covered]):
        return []
    by_line = sorted(
        (one for one in log.items if isinstance(one, UnitHere | Contact)), key=lambda one: one.address.index
    )
    indices = [one.address.index for one in by_line]
    points: dict[int, list[Address]] = defaultdict(list)
    after: dict[Span, Address] = {}
    for address in empty:
        at = bisect_right(indices, address.index)
        if address.leg is None:
            continue
        points[address.leg.index].append(address)
        if at < len(by_line) and _up_to_end(by_line[at].address, address.leg):
            after[by_line[at].span] = address
    for alone in points.values():
        address, leg = alone[0], alone[0].leg
        assert leg is not None
        at = bisect_right(indices, address.index)
        while len(alone) == 1 and at < len(by_line) and _up_to_end(by_line[at].address, leg):
            after.setdefault(by_line[at].span, address)
            at += 1
    # Ground may be covered and hide nothing: only where a contact is missing it may be there.
    return [
        (one, after[one.span])
        for one in said
        if one.span in after and (one.code == "contact-missing" or not after[one.span].covered)
    ]


def _up_to_end(address: Address, leg: Leg) -> bool:
    """Whether a place lies on a leg or is the station at its end."""
    return address.leg is leg or address.station == leg.end


def _contact_lost(one: Diagnostic, empty: Address) -> Diagnostic:
    """What is said after such a point, that point first."""
    assert empty.start is not None
    first, *rest = one.hints or ("look at the page for the units",)
    lost = f"is the contact missing that was met `along {empty.start.written}` (line {empty.span.line}), where nothing is booked"
    if empty.covered and empty.end is not None:
        covered = f"`covered {empty.start.written} to {empty.end.written}` (line {empty.span.line})"
        lost = f"does it belong below {covered}, where no contact is booked"
    return replace(one, hints=(f"{lost}; else {first}", *rest), doubts=(*one.doubts, empty.span))


def _at_one_place(log: Log) -> tuple[Diagnostic, ...]:
    """Contacts booked at one point of a leg, under one line or by the same figure, which leave the unit between them no ground.

    A dike thinner than a pace is written with both its walls at one figure.
    """
    first: dict[tuple[int, float, Unit], Contact] = {}
    found = []
    for item in log.items:
        if not isinstance(item, Contact) or item.met is not HowMet.CROSSED:
            continue
        address = item.address
        if address.leg is None or address.station is not None or address.end is not None or address.covered:
            continue
        if item.older is None or item.kind is ContactKind.FAULT or address.start is None:
            continue
        other = first.setdefault((address.leg.index, address.start.value, address.start.unit), item)
        one_line = other.address is address
        if other is item or (not one_line and log.intrusive & {*_units(item), *_units(other)}):
            continue
        twice = _pair(other) == _pair(item)
        what = f"{_pair(item)} stands twice" if twice else f"{_pair(other)} and {_pair(item)} stand"
        line = address.span if one_line else other.address.span
        found.append(
            warning(
                "contacts-at-one-place",
                f"{what} at one place of the walk, with no ground between",
                item.span,
                "look for an `along` that is missing above it"
                if one_line
                else f"look on the page at both figures: `along {address.start.written}` stands on lines {line.line} and "
                f"{address.span.line}",
                labels=(Label(other.span, _pair(other)),),
                rests_on=[other.span],
            )
        )
    return tuple(found)


def _pair(contact: Contact) -> str:
    return f"{contact.younger}/{contact.older}"


def _leg_of(contact: PlacedContact) -> int | None:
    return None if contact.booked.address.leg is None else contact.booked.address.leg.index


def _without_contact(met: Sequence[PlacedContact], band: Sequence[BandStretch]) -> set[int]:
    """Legs on which one unit follows another with no contact there, nor one that another walk crossed at that place."""
    there: dict[int, list[float]] = defaultdict(list)
    crossed: dict[frozenset[str | None], list[tuple[float, float]]] = defaultdict(list)
    for contact in met:
        place = contact.place
        crossed[frozenset({contact.younger, contact.older})].append((place.east_m, place.north_m))
        if place.address.leg is not None and place.middle_share is not None:
            there[place.address.leg.index].append(place.middle_share)
    return {
        one.leg
        for one, other in pairwise(band)
        if one.leg is not None
        and one.leg == other.leg
        and None not in {one.unit, other.unit}
        and one.unit != other.unit
        and all(abs(share - one.end_share) > _SAME_SHARE for share in there[one.leg])
        and all(
            math.dist(place, one.end) > SAME_CROSSING_M
            for place in crossed.get(frozenset({one.unit, other.unit}), ())
        )
    }


def _key(one: Diagnostic) -> _Key:
    assert one.span is not None
    return one.code, one.span.file, one.span.line


def _others(
    log: Log, survey: Survey, contacts: Sequence[PlacedContact], said: Sequence[Diagnostic]
) -> Iterator[_MeantLine]:
    """Lines near what does not fit, each with every other unit that stands near; those that mend and spoil nothing."""
    rank = written_ranks(log)
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
    before = _trial(log, survey, contacts, {}) or set()
    left = MOST_LEGS // max(1, len(log.legs))
    met = pairs_met(log)
    for index in sorted(near, key=lambda one: (near[one], one)):
        at, item = of_units[index]
        for other in _as_others(item, known, rank):
            if left <= 0:
                return
            if isinstance(item, Contact) and _skipped(_units(other), _units(item), rank, log, met):
                continue
            left -= 1
            after = _trial(log, survey, contacts, {at: other})
            if after is not None and after < before:
                yield _MeantLine(item=item, other=other, mends=frozenset(before - after), order=index)


def pairs_met(log: Log) -> Counter[frozenset[str | None]]:
    """How often two units are booked as meeting."""
    return Counter(frozenset({one.younger, one.older}) for one in log.items if isinstance(one, Contact))


def _skipped(
    pair: Collection[str],
    booked: Collection[str],
    rank: Mapping[str, int],
    log: Log,
    met: Mapping[frozenset[str | None], int],
) -> list[str]:
    """Units of a contact as it was booked that another pair would leap over, where that pair meets nowhere else."""
    if met.get(frozenset(pair), 0) or not {*pair, *booked} <= rank.keys():
        return []
    low, high = sorted(rank[unit] for unit in pair)
    return [unit for unit in booked if unit not in log.intrusive and low < rank[unit] < high]


def _units(item: UnitHere | Contact) -> tuple[str, ...]:
    if isinstance(item, UnitHere):
        return (item.letters,)
    return tuple(unit for unit in (item.younger, item.older) if unit is not None)


def _as_written(item: UnitHere | Contact) -> str:
    return (
        f"unit {item.letters}"
        if isinstance(item, UnitHere)
        else f"{item.kind.value} {item.younger}/{item.older}"
    )


def _as_others(
    item: UnitHere | Contact, known: Sequence[str], rank: Mapping[str, int]
) -> Iterator[UnitHere | Contact]:
    """A line with one unit another."""
    if isinstance(item, UnitHere):
        yield from (replace(item, letters=unit) for unit in known if unit != item.letters)
        return
    pair = (item.younger, item.older)
    for kept in pair:
        for unit in known:
            if unit not in pair and kept is not None:
                younger, older = sorted((kept, unit), key=lambda one: rank[one])
                yield replace(item, younger=younger, older=older)


def _trial(
    log: Log, survey: Survey, contacts: Sequence[PlacedContact], others: Mapping[int, UnitHere | Contact]
) -> set[_Key] | None:
    """What would be said of the log with some lines, by their places among its items, as others.

    None where a contact would then not lie between its two units: what it mends another walk's contact does.
    """
    meant = {log.items[at].span: one for at, one in others.items()}
    if others:
        log = replace(log, items=tuple(others.get(at, item) for at, item in enumerate(log.items)))
    walk = band(log, survey)
    contacts = [
        replace(one, booked=booked, younger=booked.younger, older=booked.older)
        if isinstance(booked := meant.get(one.booked.span), Contact)
        else one
        for one in contacts
    ]
    of_others = tuple(wrong_units(contacts, walk.value, log))
    found = {_key(one) for one in (*_not_back(walk.diagnostics, of_others), *of_others)}
    parts = all(_parts(one, walk.value) for one in contacts if one.booked.span in meant)
    return found if parts else None


def _parts(contact: PlacedContact, walk: Sequence[BandStretch]) -> bool:
    """Whether the walk comes from one unit of a contact, as far as it is known, into the other at its place."""
    leg, place = _leg_of(contact), contact.place
    if leg is None or place.start_share is None:
        return True
    last = place.start_share if place.end_share is None else place.end_share
    share, pair = settled((place.start_share + last) / 2.0), {contact.younger, contact.older}
    here = [one for one in walk if one.leg == leg]
    before = {one.unit for one in here if settled(one.end_share) == share} - {None}
    after = {one.unit for one in here if settled(one.start_share) == share} - {None}
    return bool(before or after) and before | after <= pair and not before & after


def _exchanged(
    log: Log, survey: Survey, contacts: Sequence[PlacedContact], said: Sequence[Diagnostic]
) -> Iterator[_Exchange]:
    """Two contacts next to each other on a leg with something that does not fit, which fit the other way about."""
    on_legs: dict[int, list[tuple[int, Contact]]] = defaultdict(list)
    for at, item in enumerate(log.items):
        if isinstance(item, Contact) and item.met is HowMet.CROSSED and item.address.leg is not None:
            on_legs[item.address.leg.index].append((at, item))
    spans = {span for one in said for span in (one.span, *(label.span for label in one.rests_on))}
    left = MOST_LEGS // max(1, len(log.legs))
    before = None
    for met in on_legs.values():
        for (at, first), (next_at, second) in pairwise(met):
            if first.kind is not second.kind or set(_units(first)) == set(_units(second)):
                continue
            if not {first.span, second.span} & spans or left <= 0:
                continue
            left -= 1
            before = (_trial(log, survey, contacts, {}) or set()) if before is None else before
            after = _trial(
                log,
                survey,
                contacts,
                {
                    at: replace(first, younger=second.younger, older=second.older),
                    next_at: replace(second, younger=first.younger, older=first.older),
                },
            )
            if after is not None and after < before:
                yield _Exchange(first=first, second=second, mends=frozenset(before - after))


def _exchange(swap: _Exchange, mended: Sequence[Diagnostic]) -> Diagnostic:
    """Two lines in each other's place, in place of what is said of what follows from it."""
    first, second = swap.first, swap.second
    return replace(
        warning(
            "contacts-exchanged",
            f"the walk meets {_pair(first)} and then {_pair(second)}, and the units before and after fit the other way about",
            first.span,
            f"exchange lines {first.span.line} and {second.span.line}: `{_as_written(second)}` comes first; else a contact is "
            "missing",
            labels=(Label(second.span, f"`{_as_written(second)}` stands here"),),
            rests_on=[first.span, second.span, *(label.span for one in mended for label in one.rests_on)],
        ),
        doubts=(second.span,),
    )


def _unit_or_leg(other: _MeantLine, mended: Sequence[Diagnostic], stray: OnOtherLeg) -> Diagnostic:
    """The unit that would mend what is said, with the contact that may stand on the leg beside its own in its place."""
    one, contact = _one_for(other, mended), stray.contact
    late = (
        f"was {contact.younger}/{contact.older} on line {contact.span.line} booked a leg too {stray.way}; it belongs below "
        f"`to {stray.leg.end}` then, with the line above it"
    )
    return replace(
        one,
        hints=(
            f"was it `{other.meant}`? else {late}",
            *one.hints[1:],
        ),
        doubts=(*one.doubts, contact.span),
    )


def _or_unit(elsewhere: Diagnostic, by_unit: Sequence[_MeantLine]) -> Diagnostic:
    """A contact that may stand on the leg beside its own, with the line of a unit that would mend it as well."""
    if not by_unit:
        return elsewhere
    other = by_unit[0]
    first, *rest = elsewhere.hints
    return replace(
        elsewhere,
        hints=(f"{first}; else was it `{other.meant}` on line {other.item.span.line}", *rest),
        doubts=(*elsewhere.doubts, *({other.item.span} - {*elsewhere.doubts})),
    )


def _one_for(other: _MeantLine, mended: Sequence[Diagnostic]) -> Diagnostic:
    """The line that would mend several, in place of what is said of each."""
    return warning(
        "unit-misfit",
        f"`{other.written}` does not fit the walk at {len(mended)} places, and `{other.meant}` would fit at all of them",
        other.item.span,
        f"was it `{other.meant}`? else contacts are missing on both sides of it",
        *(hint for one in mended for hint in one.hints[1:]),
        rests_on=[label.span for one in mended for label in one.rests_on],
    )


def _beside(others: Sequence[_MeantLine], one: Diagnostic, log: Log) -> Diagnostic:
    """A message with the lines that may be wrong in its place."""
    first: dict[Span, _MeantLine] = {}
    for other in others:
        first.setdefault(other.item.span, other)
    leads = next((other for other in others if _leads_astray(other, one, log)), None)
    if leads is not None and isinstance(leads.item, Contact):
        one = _at_contact(leads.item, leads.other, one, log)
    own = first.pop(one.span, None) if one.span is not None else None
    hints = one.hints
    if own is not None and own.meant not in " ".join(hints):
        hints = (*hints, f"or was it `{own.meant}`")
    # A wall of a body is no slip for a contact of beds where only its second wall is missing.
    walls = {
        span
        for span, other in first.items()
        if isinstance(other.item, Contact) and not log.intrusive.isdisjoint(_units(other.item))
    }
    if one.code == "contact-of-others" and "a wall of" in " ".join(hints):
        first = {span: other for span, other in first.items() if span not in walls}
    elsewhere = sorted(first.values(), key=lambda other: isinstance(other.item, UnitHere))[:2]
    return replace(
        one,
        hints=hints,
        labels=(
            *one.labels,
            *(
                Label(other.item.span, f"it may be that `{other.written}` was `{other.meant}`")
                for other in elsewhere
            ),
        ),
        doubts=(*one.doubts, *(other.item.span for other in elsewhere)),
    )


def _leads_astray(other: _MeantLine, one: Diagnostic, log: Log) -> bool:
    """Whether a contact that was seen is likelier wrong than a contact after it missing.

    The unit that would fit stands between its two in the list, or the one it came from between that and the one it leads into,
    which meet nowhere; or it is the second wall of a body, and the first names it.
    """
    item = other.item
    if not isinstance(item, Contact) or item.kind is not ContactKind.CONTACT:
        return False
    if item.certainty is not Certainty.CERTAIN or item.span not in {label.span for label in one.rests_on}:
        return False
    if one.code != "contact-missing":
        return False
    pair, meant = set(_units(item)), set(_units(other.other))
    if (pair ^ meant) & log.intrusive:
        return False
    rank = written_ranks(log)
    (fits,) = meant - pair
    low, high = sorted(rank[unit] for unit in pair)
    if pair & log.intrusive:
        before = [wall for wall in log.items if isinstance(wall, Contact) and wall.span.line < item.span.line]
        return any(wall.address.leg is item.address.leg and set(_units(wall)) == meant for wall in before)
    (wrong,) = pair - meant
    # Else what is missing would leap over the unit that the walk came from.
    return low < rank[fits] < high or bool(_skipped((wrong, fits), pair, rank, log, pairs_met(log)))


def _at_contact(item: Contact, meant: UnitHere | Contact, one: Diagnostic, log: Log) -> Diagnostic:
    """What is said of a contact that is missing, told at the one before it that leads into another unit."""
    (wrong,), (fits,) = set(_units(item)) - set(_units(meant)), set(_units(meant)) - set(_units(item))
    rank = written_ranks(log)
    younger, older = _in_order((wrong, fits), rank)
    assert one.span is not None
    return replace(
        one,
        code="contact-of-others",
        message=f"{item.younger}/{item.older} leads into {wrong}, and the next that was booked is {fits}, with no contact "
        "between; drawn half-way",
        span=item.span,
        hints=(
            f"`{_as_written(meant)}` would fit; else `contact {younger}/{older}` after it is missing",
            *one.hints[1:],
        ),
        labels=(Label(one.span, f"{fits} is told here"),),
        doubts=(one.span,),
    )


def _in_order(units: Collection[str], rank: Mapping[str, int]) -> tuple[str, str]:
    """Two units, the younger first."""
    younger, older = sorted(units, key=lambda unit: rank[unit])
    return younger, older


def wrong_units(
    contacts: Sequence[PlacedContact], band: Sequence[BandStretch], log: Log
) -> Iterator[Diagnostic]:
    """Contacts that were seen, of two units of which the walk came from neither, or beside which it was on neither."""
    loose = {unit.letters for unit in log.units if unit.loose}
    rank, met, on_legs = written_ranks(log), pairs_met(log), by_leg(band)
    ends = {(one.leg, settled(one.end_share)): one.unit for one in band if one.leg is not None}
    onward: dict[str, list[int]] = defaultdict(list)
    for each in log.legs:
        onward[each.start].append(each.index)
    said = units_said(log)
    crossed = Counter(_leg_of(one) for one in contacts if one.met is HowMet.CROSSED)
    at_place: dict[tuple[int, float], list[PlacedContact]] = defaultdict(list)
    for contact in contacts:
        leg, place = contact.booked.address.leg, contact.place
        pair = {contact.younger, contact.older}
        beside = contact.booked.address.offset is not None or contact.booked.address.covered
        if contact.met is not HowMet.CROSSED:
            yield from _beside_others(contact, walked_on(contact, on_legs), loose, rank, log)
            continue
        if leg is None or beside or place.middle_share is None or contact.certainty is not Certainty.CERTAIN:
            continue
        share = settled(place.middle_share)
        before = _led_into(ends.get((leg.index, share)), at_place[leg.index, share])
        at_place[leg.index, share].append(contact)
        # The ground next to a contact that fits nothing may have no unit until the next is booked.
        after = _next_known(log, on_legs, onward, leg.index, share)
        at_end = said.met(leg.end, leg.span)
        if before is None and crossed[leg.index] == 1 and at_end is not None and pair <= rank.keys():
            yield from _goes_on_in_a_third(contact, at_end, leg.end, rank, log)
        # A second contact under cover is missing in the common way.
        past = [one for one in on_legs.get(leg.index, ()) if settled(one.end_share) > share]
        beyond = [] if any(one.covered for one in past) else [one.unit for one in past]
        if (
            before in pair
            and crossed[leg.index] == 1
            and contact.kind is ContactKind.CONTACT
            and pair.issuperset(beyond)
            and beyond[-1:] == [before]
        ):
            yield from _leads_back(contact, before, said, loose)
        if before is None or before in pair or before in loose or not pair <= rank.keys():
            continue
        kind = contact.kind.value
        hint = "look at the page for the units, or book the contact that was crossed before it"
        body = next((unit for unit in (contact.younger, contact.older) if unit in log.intrusive), None)
        after = before if after is None else after
        if before in log.intrusive:
            # The far wall leads out of the body into the unit from which this contact then leads on.
            other = contact.older if after == contact.younger else contact.younger
            hint = f"a wall of {before} before it, `contact {before}/{other}`, is missing; or it is that wall"
        elif after != before and after in rank:
            # What would fit leads from the unit before it to that after it, and leaps over none that was booked.
            younger, older = _in_order((before, after), rank)
            leapt = _skipped((before, after), _units(contact.booked), rank, log, met)
            if len(leapt) == 1 and after in pair:
                first, second = _in_order((before, leapt[0]), rank)
                hint = f"a contact before it is missing: `contact {first}/{second}`"
            elif leapt:
                hint = f"a contact before it, out of {before}, and one after it, into {after}, are missing"
            elif body is not None and body not in {before, after}:
                hint = (
                    f"`{kind} {younger}/{older}` would fit; else a wall of {body} before it, "
                    f"`contact {body}/{before}`, is missing"
                )
            else:
                hint = f"`{kind} {younger}/{older}` would fit; else a contact before it is missing"
        elif body is not None:
            # A body lies in the unit that the walk comes from.
            hint = f"`{kind} {body}/{before}` would fit; else a contact before it is missing"
        yield warning(
            "contact-of-others",
            f"{contact.younger}/{contact.older} is met in {before}, which is neither of them",
            contact.booked.span,
            hint,
            rests_on=[*_begun_by(leg, log), contact.booked.address.span],
        )


def _led_into(before: str | None, met: Sequence[PlacedContact]) -> str | None:
    """The unit that contacts booked at one place lead into, one after another, from what lies before them."""
    for one in met:
        pair = _units(one.booked)
        if before in pair:
            before = next((unit for unit in pair if unit != before), before)
    return before


def _next_known(
    log: Log,
    on_legs: Mapping[int, Sequence[BandStretch]],
    onward: Mapping[str, Sequence[int]],
    leg: int,
    share: float,
) -> str | None:
    """The unit that is known next on the walk, which goes on from the end of each leg: one booked after it may lie on another arm."""
    while True:
        units = [
            one.unit
            for one in on_legs.get(leg, ())
            if one.unit is not None and settled(one.start_share) >= share
        ]
        legs = onward.get(log.legs[leg].end, ())
        place = bisect_right(legs, leg)
        if units or place == len(legs):
            return units[0] if units else None
        leg, share = legs[place], 0.0


def _begun_by(leg: Leg, log: Log) -> list[Span]:
    """The `at` line by which a leg begins where it does; where it goes on from a loop just closed, which asks for one, its own."""
    if leg.index in log.begun_at:
        return [log.begun_at[leg.index]]
    before = log.legs[leg.index - 1] if leg.index else None
    closed = before is not None and before.kind is LegKind.CLOSE and before.end == leg.start
    return [leg.span] if closed else []


def _leads_back(
    contact: PlacedContact, before: str | None, said: UnitsSaid, loose: Collection[str]
) -> Iterator[Diagnostic]:
    """The one contact of a leg both ends of which are told to lie on one of its units: of the other there is no ground."""
    leg = contact.booked.address.leg
    assert leg is not None
    ends = said.at_ends(leg)
    told = [one for one in ends if one is not None and one.letters == before]
    if len(told) < len(ends) or before in loose:
        return
    other = contact.older if before == contact.younger else contact.younger
    yield warning(
        "contact-leads-back",
        f"{contact.younger}/{contact.older} is the one contact between {leg.start} and {leg.end}, and both lie on {before}",
        contact.booked.span,
        f"where was {other}: a second contact is missing, or `unit {other}` at one of the two",
        rests_on=[one.span for one in told],
    )


def _goes_on_in_a_third(
    contact: PlacedContact, told: UnitHere, station: str, rank: Mapping[str, int], log: Log
) -> Iterator[Diagnostic]:
    """The first contact of a walk, alone on its leg, where the station at the end of that is told to lie on a third unit."""
    after, pair = told.letters, _units(contact.booked)
    if after in pair or after not in rank or {after, *pair} & log.intrusive:
        return
    near = min(pair, key=lambda unit: (abs(rank[unit] - rank[after]), rank[unit]))
    younger, older = _in_order((after, near), rank)
    yield warning(
        "contact-of-others",
        f"{contact.younger}/{contact.older} is the last before {station}, and {after} there is neither of them",
        contact.booked.span,
        f"a contact of {after} would fit; else `contact {younger}/{older}` after it is missing",
    )


def _beside_others(
    contact: PlacedContact, walked: str | None, loose: Collection[str], rank: Mapping[str, int], log: Log
) -> Iterator[Diagnostic]:
    """A contact beside the walk, or along it, while that was on a third unit."""
    pair = _units(contact.booked)
    if contact.certainty is not Certainty.CERTAIN or contact.kind is ContactKind.FAULT or len(pair) < 2:
        return
    if walked is None or walked in pair or walked in loose or not {walked, *pair} <= rank.keys():
        return
    if {walked, *pair} & log.intrusive:
        return
    near = min(pair, key=lambda unit: (abs(rank[unit] - rank[walked]), rank[unit]))
    younger, older = _in_order((walked, near), rank)
    leg = contact.booked.address.leg
    yield warning(
        "contact-of-others",
        f"{contact.younger}/{contact.older} is booked beside {walked}, which is neither of them",
        contact.booked.span,
        f"`{contact.kind.value} {younger}/{older}` would fit; else another contact lies between it and the walk",
        rests_on=[log.begun_at[leg.index]] if leg is not None and leg.index in log.begun_at else [],
    )
