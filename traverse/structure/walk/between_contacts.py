"""Units booked on a leg between two contacts that have another unit there, and contacts booked on the leg beside their own."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from traverse.diagnostic import Diagnostic, Label, warning
from traverse.location.records import PlacedAddress, Survey
from traverse.log.items import Contact, ContactKind, HowMet, Leg, LegKind, UnitHere
from traverse.log.records import Log
from traverse.settled import settled
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


class OnOtherLeg(NamedTuple):
    """A contact that stands on the leg beside its own."""

    mends: tuple[Diagnostic, ...]
    """What is said of it now."""
    contact: Contact
    leg: Leg
    """Its own."""
    way: str
    """Whether it was booked `late` or `early`."""
    asked: Diagnostic


_MENDED = frozenset({"contact-missing", "contact-of-others", "contact-leads-back"})


def on_other_leg(log: Log, survey: Survey, said: Sequence[Diagnostic]) -> Iterator[OnOtherLeg]:
    """Of what is `said` that of which the very contact stands on the leg next to it, where it does not fit.

    Both legs go from unit to unit by their contacts once that is moved, and neither does before. Side shots aside.
    """
    said = [one for one in said if one.code in _MENDED]
    if not said:
        return
    units = units_said(log)
    crossed = crossed_on_legs(log, survey)
    walked = [leg for leg in log.legs if leg.kind is not LegKind.SIDE]

    def ends(leg: Leg) -> tuple[UnitHere, UnitHere] | None:
        here, there = units.at_ends(leg)
        return None if here is None or there is None else (here, there)

    def met(leg: Leg) -> list[Contact]:
        return [one for _, _, one in crossed.get(leg.index, ())]

    for at, leg in enumerate(walked):
        own, between = met(leg), ends(leg)
        if between is None or between[0].letters == between[1].letters or _leads(between, own):
            continue
        found = [
            (other, stray)
            for other in (*walked[max(0, at - 1) : at], *walked[at + 1 : at + 2])
            if other.end == leg.start or other.start == leg.end
            if (stray := _stray(ends(other), met(other), between, own, late=other.start == leg.end))
            is not None
        ]
        if len(found) != 1:
            continue
        other, stray = found[0]
        beside = ends(other)
        assert beside is not None
        named = {between[1].span, beside[1].span, *(one.span for one in (*own, *met(other)))}
        mends = tuple(one for one in said if one.span in named)
        first = next((one for one in mends if one.span == between[1].span), None)
        if mends:
            way = "late" if other.start == leg.end else "early"
            yield OnOtherLeg(
                mends, stray, leg, way, _asked(other, stray, leg, between, own, mends, first, way)
            )


_Ends = tuple[UnitHere, UnitHere]


def _stray(
    ends: _Ends | None, met: Sequence[Contact], between: _Ends, own: Sequence[Contact], *, late: bool
) -> Contact | None:
    """The contact without which alone a leg goes from unit to unit, and with which its `own` lead over the leg beside it.

    Of two between the same units the one that was typed nearer to that leg.
    """
    if ends is None or _leads(ends, met):
        return None
    found = [
        one
        for one in met
        if one.kind is ContactKind.CONTACT
        if any(_leads(between, [*own[:at], one, *own[at:]]) for at in range(len(own) + 1))
        if _leads(ends, [other for other in met if other is not one])
    ]
    if len({frozenset((one.younger, one.older)) for one in found}) != 1:
        return None
    return (min if late else max)(found, key=lambda one: one.span.line)


def _leads(ends: _Ends, met: Sequence[Contact]) -> bool:
    """Whether contacts lead from one unit to another, one by one."""
    unit = ends[0].letters
    for one in met:
        if unit not in {one.younger, one.older} or one.younger is None or one.older is None:
            return False
        unit = one.older if unit == one.younger else one.younger
    return unit == ends[1].letters


def _asked(
    other: Leg,
    stray: Contact,
    leg: Leg,
    between: _Ends,
    own: Sequence[Contact],
    mends: Sequence[Diagnostic],
    missing: Diagnostic | None,
    way: str,
) -> Diagnostic:
    pair = f"{stray.younger}/{stray.older}"
    before, after = (one.letters for one in between)
    said = warning(
        "contact-of-others",
        f"{pair} does not fit between {other.start} and {other.end}, and {before} is followed by {after} between "
        f"{leg.start} and {leg.end} with no{' such' if own else ''} contact",
        stray.span,
        f"was it booked a leg too {way}? move it, with the `along` or `covered` line above it, to below "
        f"`to {leg.end}`",
        labels=() if missing is None else (Label(between[1].span, f"{after} is told here"),),
        rests_on=[label.span for one in mends for label in one.rests_on],
    )
    return replace(said, doubts=() if missing is None else (between[1].span,))
