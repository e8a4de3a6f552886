"""Contacts whose own plane says that they are of another kind than booked, and unconformities that lie off what lies on them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import TypeAlias

from traverse.angle import wrap_360
from traverse.diagnostic import Diagnostic, Label, warning
from traverse.log.items import ContactKind, HowMet
from traverse.source import Span
from traverse.structure.odd_attitudes import ContactRead, odd_between
from traverse.structure.readings.directions import pole_angle
from traverse.structure.readings.mean import principal_axis
from traverse.structure.readings.place_errors import contact_pole, poles_of
from traverse.structure.readings.records import PlacedContact, PlaneAttitude
from traverse.structure.walk.beds import listed_places
from traverse.structure.walk.neighbours import Neighbours
from traverse.trade import ALIKE_DEG, FOLD_SPREAD_DEG, FORESET_DEG, ODD_BED_DEG

_LEAST_ON_IT = 2
_LEAST_BELOW = 4
"""So many beds on a contact, and below it, tell how each lie; common practice, no source."""
_STEP_SPREADS = 2.0
"""Two panels are told apart from so many times what they scatter together; common practice, no source."""
_UnitBeds: TypeAlias = "Mapping[str | None, Sequence[PlaneAttitude]]"


def cutting_contacts(
    near: Neighbours,
    contacts: Sequence[PlacedContact],
    without: Collection[Span],
    bedded: Collection[str | None],
    rank: Mapping[str, int],
) -> Iterator[Diagnostic]:
    """Of contacts with an attitude of their own those that cut the beds on both sides, or below alone, as no plain contact does.

    `contacts` are those of layered rocks. None `without`, which are asked about already, nor beside beds that are.
    Units `bedded` are no bodies that cut; `rank` has the place of each layered rock in the list, the youngest lowest.
    """
    base = {
        one.younger: one
        for one in reversed(contacts)
        if one.kind is ContactKind.UNCONFORMITY and one.younger is not None
    }
    faults = [
        (one, read[0])
        for one in contacts
        if one.kind is ContactKind.FAULT and (read := contact_pole(one)) is not None
    ]
    of_unit: dict[str | None, list[PlaneAttitude]] = defaultdict(list)
    for bed in near.beds:
        of_unit[bed.unit].append(bed)
    for contact in contacts:
        own, booked = contact_pole(contact), contact.booked.plane
        if contact.met is not HowMet.CROSSED or contact.booked.span in without:
            continue
        if own is None or booked is None:
            yield from _laid_on_a_panel(near, contact, of_unit, without, rank)
            continue
        if contact.kind is ContactKind.UNCONFORMITY:
            yield from _off_what_lies_on_it(near, contact, of_unit)
            continue
        beside = _beside(near, contact)
        if contact.kind is not ContactKind.CONTACT or any(bed.span in without for bed in beside):
            continue
        poles = poles_of(beside)
        off = [pole_angle(own[0], one) for one in poles]
        where = listed_places(beside)
        labels = tuple(Label(bed.span, bed.written) for bed in beside)
        what = f"{contact.younger}/{contact.older}, {booked.written}"
        if len(beside) == 2 and pole_angle(poles[0], poles[1]) <= ALIKE_DEG and min(off) > ODD_BED_DEG:
            like = [one for one, normal in faults if pole_angle(own[0], normal) <= ALIKE_DEG / 2.0]
            laid = {contact.younger, contact.older} <= set(bedded)
            body = " or an `unconformity`" if laid else ", an `unconformity`, or a body that is intrusive"
            as_there = f", as that of line {like[0].booked.span.line}, which lies so" if like else ""
            yield warning(
                "contact-cuts-beds",
                f"the contact {what}, cuts the beds at {where}, which agree, at {min(off):.0f}°",
                contact.booked.span,
                f"is it a `fault`{as_there}{body}; or read it again",
                labels=labels,
            )
            continue
        below = [at for at, bed in zip(off, beside, strict=True) if bed.unit == contact.older]
        on_it = [pole_angle(own[0], one) for one in poles_of(_on_it(near, contact, of_unit))]
        there = base.get(contact.younger or "")
        if (
            there is not None
            and below
            and on_it
            and max(on_it) <= ALIKE_DEG / 2.0
            and min(below) > FOLD_SPREAD_DEG
        ):
            yield warning(
                "contact-cuts-beds",
                f"the contact {what}, lies as the beds on it and cuts those below at {min(below):.0f}°, and "
                f"{contact.younger} lies on an unconformity on line {there.booked.span.line}",
                contact.booked.span,
                f"`unconformity {contact.younger}/{contact.older}`, as there",
                labels=labels,
            )
            continue
        yield from _laid_on_a_panel(near, contact, of_unit, without, rank)


def _laid_on_a_panel(
    near: Neighbours,
    contact: PlacedContact,
    of_unit: _UnitBeds,
    without: Collection[Span],
    rank: Mapping[str, int],
) -> Iterator[Diagnostic]:
    """A plain contact between gentle beds of the younger unit and those above it, and all below, one panel that dips another way.

    Its own plane, where it was read, lies as the beds on it, and bears them out.
    """
    least_older, most_younger = rank.get(contact.older or ""), rank.get(contact.younger or "")
    if contact.kind is not ContactKind.CONTACT or least_older is None or most_younger is None:
        return
    on_it = [bed for bed in near.beds if rank.get(bed.unit or "", least_older) <= most_younger]
    below = [bed for bed in near.beds if rank.get(bed.unit or "", -1) >= least_older]
    of_the_younger = of_unit.get(contact.younger, ())
    if len(of_the_younger) < _LEAST_ON_IT or len(below) < _LEAST_BELOW:
        return
    if any(bed.span in without for bed in near.beds) or max(bed.dip_deg for bed in on_it) > FORESET_DEG:
        return
    means, spreads = [], []
    for poles in (poles_of(on_it), poles_of(below)):
        means.append(principal_axis(poles)[0])
        spreads.append(max(pole_angle(one, means[-1]) for one in poles))
    step = pole_angle(*means)
    if max(spreads) > ALIKE_DEG / 2.0 or step <= max(FORESET_DEG, _STEP_SPREADS * sum(spreads)):
        return
    own, plane = contact_pole(contact), contact.booked.plane
    of_others = "" if len(of_the_younger) == len(on_it) else " and what lies on it"
    fact = f"the {len(on_it)} beds of {contact.younger}{of_others} agree"
    if own is not None and plane is not None:
        if pole_angle(own[0], means[0]) > ALIKE_DEG / 2.0:
            return
        fact = f"the contact {contact.younger}/{contact.older}, {plane.written}, lies as the {len(on_it)} beds on it"
    yield warning(
        "contact-cuts-beds",
        f"{fact}, and {len(below)} of all units below it agree, {step:.0f}° off them",
        contact.booked.span,
        f"is it an `unconformity {contact.younger}/{contact.older}`, or a `fault`; or do all beds turn just here, which more beds "
        "beside it would show",
        labels=tuple(Label(bed.span, bed.written) for bed in _beside(near, contact)),
        rests_on=[bed.span for bed in (*on_it, *below)],
    )


def _beside(near: Neighbours, contact: PlacedContact) -> list[PlaneAttitude]:
    return [near.beds[one] for one in near.beside(contact.order)]


def _on_it(near: Neighbours, contact: PlacedContact, of_unit: _UnitBeds) -> Sequence[PlaneAttitude]:
    """The bed of the younger unit next to a contact on the walk; where none is, all of that unit, if several lie alike."""
    beside = [bed for bed in _beside(near, contact) if bed.unit == contact.younger]
    every = of_unit.get(contact.younger, [])
    if beside or len(every) < 2:
        return beside
    poles = poles_of(every)
    mean = principal_axis(poles)[0]
    return every if max(pole_angle(one, mean) for one in poles) <= ALIKE_DEG / 2.0 else []


def _off_what_lies_on_it(
    near: Neighbours, contact: PlacedContact, of_unit: _UnitBeds
) -> Iterator[Diagnostic]:
    """The attitude of an unconformity that a slip explains better than the bed of its younger unit next on the walk bears it out."""
    own, booked = contact_pole(contact), contact.booked.plane
    assert own is not None
    assert booked is not None
    on_it = _on_it(near, contact, of_unit)
    if not on_it or contact.strike_deg is None or contact.dip_deg is None:
        return
    if max(bed.dip_deg for bed in on_it) > FORESET_DEG:
        # Tilted since, both lie any way; gentle beds are laid on a steep floor where one was buried alone.
        return
    poles = poles_of(on_it)
    mean = principal_axis(poles)[0]
    read = ContactRead(booked.written, False, contact.dip_deg, wrap_360(contact.strike_deg + 90.0), own[1])
    slip = odd_between(read, mean, poles)
    if slip is None:
        return
    where = listed_places(on_it)
    yield warning(
        "contact-slipped",
        f"the attitude of {contact.younger}/{contact.older}, {booked.written}, lies {pole_angle(own[0], mean):.0f}° off the beds "
        f"on it at {where}",
        contact.booked.span,
        f"{slip.words}? {slip.reading} would fit; or were they laid down on a slope",
        labels=tuple(Label(bed.span, bed.written) for bed in on_it),
    )
