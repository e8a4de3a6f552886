"""Units booked on a leg between two contacts that have another unit there."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence

from traverse.diagnostic import Diagnostic, Label, warning
from traverse.location.records import PlacedAddress, Survey
from traverse.log.items import Contact, HowMet, UnitHere
from traverse.log.records import Log
from traverse.settled import settled
from traverse.structure.walk.along_leg import shares_of

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
