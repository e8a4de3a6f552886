"""Units booked on a leg between two contacts that have another unit there, and contacts booked on the leg beside their own."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace

from traverse.diagnostic import Diagnostic, Label, warning
from traverse.location.records import PlacedAddress, Survey
from traverse.log.items import Contact, ContactKind, HowMet, Leg, UnitHere
from traverse.log.records import Log
from traverse.settled import settled
from traverse.source import Span
from traverse.structure.walk.along_leg import shares_of
from traverse.structure.walk.unit_at import units_said

OnLeg = Sequence[tuple[float, float, Contact]]
"""Contacts that a leg crosses as from where, to where and which, in walking order."""


def crossed_on_legs(log: Log, survey: Survey) -> dict[int, OnLeg]:
    """Contacts crossed, by the index of their leg."""
    found: dict[int, list[tuple[float, float, Contact]]] = defaultdict(list)
    for item in log.items:
        leg = item.address.leg if isinstance(item, Contact) and item.met is HowMet.CROSSED else None
        if leg is None or not isinstance(item, Contact) or item.named is None:
            continue
        place = survey.at(item.address)
        if place is not None and place.start_share is not None:
            first, last = shares_of(place)
            found[leg.index].append((settled(first, 9), settled(last, 9), item))
    return {leg: sorted(met, key=lambda one: one[:2]) for leg, met in found.items()}


def contacts_beside(
    place: PlacedAddress, crossed: Mapping[int, OnLeg]
) -> tuple[Contact | None, Contact | None]:
    """The contact that a leg crosses last before a place on it, and the one next after; None where there is none."""
    if place.address.leg is None:
        return None, None
    first, last = (settled(share, 9) for share in shares_of(place))
    met = crossed.get(place.address.leg.index, ())
    before = [one for _, end, one in met if end < first]
    after = [one for start, _, one in met if start > last]
    return (before[-1] if before else None), (after[0] if after else None)


def units_between(log: Log, survey: Survey, said: Collection[Diagnostic]) -> Iterator[Diagnostic]:
    """A question at each unit on a leg that the contacts before and after it do not have between them.

    None where one of the three lines is asked about already, by what is `said`; nor of what lies loose over the rock, or
    cuts it.
    """
    asked = {
        (span.file, span.line)
        for one in said
        for span in (one.span, *one.doubts, *(label.span for label in (*one.labels, *one.rests_on)))
        if span is not None
    }
    others = {unit.letters for unit in log.units if unit.loose} | log.intrusive
    crossed = crossed_on_legs(log, survey)
    for here in log.items:
        if not isinstance(here, UnitHere) or here.queried or here.letters in others:
            continue
        place = survey.at(here.address)
        if here.address.leg is None or here.address.offset is not None or place is None:
            continue
        before, after = contacts_beside(place, crossed)
        if before is None or after is None:
            continue
        between = {before.younger, before.older} & {after.younger, after.older}
        if len(between) != 1 or here.letters in between:
            continue
        if any((one.span.file, one.span.line) in asked for one in (here, before, after)):
            continue
        (unit,) = between
        pairs = [
            f"{one.kind.value} {'/'.join(one.named or ())} (line {one.span.line})" for one in (before, after)
        ]
        yield warning(
            "unit-misfit",
            f"`unit {here.letters}` is booked between {pairs[0]} and {pairs[1]}, which have {unit} there",
            here.span,
            f"was it `unit {unit}`? else a contact into {here.letters} and one out of it are missing, or one of the two is of "
            "other units",
            labels=tuple(
                Label(one.span, f"{unit} lies {where} it") for one, where in ((before, "after"), (after, "before"))
            ),
        )  # fmt: skip


def on_other_leg(
    log: Log, survey: Survey, missing: Sequence[Diagnostic]
) -> Iterator[tuple[Diagnostic, Diagnostic]]:
    """Of what is said to be `missing` that of which the very contact stands on the leg next to it, where it does not fit.

    With each the question in its place. The leg that it stands on goes from unit to unit by its other contacts alone.
    """
    missing = [one for one in missing if one.code == "contact-missing"]
    if not missing:
        return
    said = units_said(log)
    crossed = crossed_on_legs(log, survey)

    def ends(leg: Leg) -> tuple[str, str] | None:
        here, there = said.at_ends(leg)
        return None if here is None or there is None else (here.letters, there.letters)

    by_end: dict[Span, list[int]] = defaultdict(list)
    for at, leg in enumerate(log.legs):
        at_end = said.met(leg.end, leg.span)
        if at_end is not None:
            by_end[at_end.span].append(at)
    for one in missing:
        rests = {label.span for label in one.rests_on}
        for at in sorted(at for span in rests for at in by_end.get(span, ())):
            leg = log.legs[at]
            units = ends(leg)
            if units is None or crossed.get(leg.index) or units[0] == units[1]:
                continue
            at_start = said.met(leg.start, leg.span)
            if at_start is None or at_start.span not in rests:
                continue
            beside = [*log.legs[max(0, at - 1) : at], *log.legs[at + 1 : at + 2]]
            found = [
                (other, stray)
                for other in beside
                if other.end == leg.start or other.start == leg.end
                if (stray := _stray(ends(other), [met for _, _, met in crossed.get(other.index, ())], units))
            ]
            if len(found) == 1:
                yield one, _asked(*found[0], leg, units, one)


def _stray(ends: tuple[str, str] | None, met: Sequence[Contact], units: tuple[str, str]) -> Contact | None:
    """The one contact of two units without which alone a leg goes from the unit at its start to that at its end."""
    if ends is None or _leads(ends, met):
        return None
    found = [
        one
        for one in met
        if {one.younger, one.older} == {*units} and one.kind is ContactKind.CONTACT
        if _leads(ends, [other for other in met if other is not one])
    ]
    return found[0] if len(found) == 1 else None


def _leads(ends: tuple[str, str], met: Sequence[Contact]) -> bool:
    """Whether contacts lead from one unit to another, one by one."""
    unit = ends[0]
    for one in met:
        if unit not in {one.younger, one.older} or one.younger is None or one.older is None:
            return False
        unit = one.older if unit == one.younger else one.younger
    return unit == ends[1]


def _asked(other: Leg, stray: Contact, leg: Leg, units: tuple[str, str], missing: Diagnostic) -> Diagnostic:
    pair, late = f"{stray.younger}/{stray.older}", other.start == leg.end
    said = warning(
        "contact-of-others",
        f"{pair} does not fit between {other.start} and {other.end}, and {units[0]} is followed by {units[1]} between "
        f"{leg.start} and {leg.end} with no contact",
        stray.span,
        f"was it booked a leg too {'late' if late else 'early'}? move it, with the `along` or `covered` line above it, to below "
        f"`to {leg.end}`",
        labels=() if missing.span is None else (Label(missing.span, f"{units[1]} is told here"),),
        rests_on=[label.span for label in missing.rests_on],
    )
    return replace(said, doubts=() if missing.span is None else (missing.span,))
