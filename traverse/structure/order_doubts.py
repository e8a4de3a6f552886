"""Contacts at which the younger unit lies below: those of one limb together, with the readings that they rest on."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from traverse.angle import axial_difference, wrap_360
from traverse.diagnostic import Diagnostic, Label, Severity, note, warning
from traverse.location.records import Survey
from traverse.log.items import ContactKind, Planes, Side
from traverse.log.readings import TO_DIP_DEG, Convention
from traverse.log.records import Log
from traverse.record import record
from traverse.settled import SAME_M, settled
from traverse.source import Span
from traverse.structure.cutting_planes import Crossing, across_deg, cuts_again
from traverse.structure.met_again import MetAgain, met_again
from traverse.structure.odd_attitudes import WrittenSlip, fitting_slips, half_turn_by_contact
from traverse.structure.readings.directions import Vectors, dot
from traverse.structure.readings.place_errors import bed_pole, contact_pole
from traverse.structure.readings.records import PlacedContact, PlaneAttitude, by_rule
from traverse.structure.walk.across import unit_ranks
from traverse.structure.walk.beds import listed_places
from traverse.structure.walk.neighbours import Neighbours
from traverse.structure.walk.order import WalkOrder
from traverse.structure.walk.records import BandStretch, UnsaidBody
from traverse.structure.walk.sides import younger_beside, younger_side
from traverse.structure.walk.unit_at import UnitsSaid, units_said
from traverse.trade import ALIKE_DEG, CROSSED_DEG, FORESET_DEG, LEG_ON_BED_DEG, SURE_SD
from traverse.wording import listed

_MANY_BELOW = 3
"""So many contacts upside down, and none upright, have one cause; common practice, no source."""
_FEW_BELOW = 2
"""So many upside down by one bed, or by one rule of which another sets all upright; common practice, no source."""
_ALONG_DEG = 30.0
"""A leg nearer to the strike of the beds runs more along them than across; common practice, no source."""
_SURE_OF_SIDE = 2.0
"""A hillside beside the walk is steeper than by so many of its errors once in some forty; common practice, no source."""
_ALIKE_COSINE = math.cos(math.radians(ALIKE_DEG)) - 1e-12


@record(frozen=True, slots=True, kw_only=True)
class _Rise:
    """How the walk goes into the younger unit at a contact, through the beds."""

    contact: PlacedContact
    beds: tuple[PlaneAttitude, ...]
    """Those that tell which way; none of an unconformity, which does so by its own plane."""
    rises_deg: tuple[float, ...]
    """By each of them, else by that plane: upward through the beds, negative downward."""
    sure_deg: tuple[float, ...]
    """From which on each is no matter of how well that plane was read."""
    way: Vectors
    """Of length 1, in the grid."""

    @property
    def down(self) -> bool:
        """Whether all say for sure that the younger unit lies below."""
        return all(rise < -sure for rise, sure in zip(self.rises_deg, self.sure_deg, strict=True))

    @property
    def up(self) -> bool:
        """Whether all say that it lies above."""
        return min(self.rises_deg) > LEG_ON_BED_DEG


class _LimbUpsideDown(NamedTuple):
    """Contacts upside down by beds that lie alike."""

    normal: Vectors
    """Younging normal, as the beds are taken, of the first."""
    rises: list[_Rise]
    beds: dict[Span, PlaneAttitude]


class _WalkMet(NamedTuple):
    """What tells the way into the younger unit at each contact."""

    log: Log
    survey: Survey
    band: tuple[BandStretch, ...]
    caps: frozenset[str]
    cuts: Sequence[Sequence[Crossing]] = ()


class _OneReading:
    """Beds and contacts as they are read, with what they say of each other, worked out once."""

    def __init__(
        self, walk: _WalkMet, beds: Sequence[PlaneAttitude], contacts: Sequence[PlacedContact]
    ) -> None:
        self.walk, self.beds, self.contacts = walk, beds, contacts

    @cached_property
    def rises(self) -> tuple[_Rise, ...]:
        """At each contact."""
        return tuple(_rises(self.walk, self.beds, self.contacts))

    @cached_property
    def courses(self) -> tuple[MetAgain, ...]:
        """Of contacts that were met again."""
        met = [one for one in self.contacts if one.younger not in self.walk.caps]
        return met_again(self.walk.survey, met, self.beds)


def order_doubts(
    log: Log,
    survey: Survey,
    beds: Sequence[PlaneAttitude],
    contacts: Sequence[PlacedContact],
    band: tuple[BandStretch, ...],
    caps: frozenset[str],
    unsaid: Mapping[str, UnsaidBody],
    seen_beside: Sequence[PlacedContact] = (),
    cuts: Sequence[Sequence[Crossing]] = (),
) -> Iterator[Diagnostic]:
    """What is said of contacts whose younger unit lies below by the beds beside them.

    `contacts` were crossed, `seen_beside` lie beside the walk or were followed, `cuts` are faults and bodies.

    One message where another way of reading all planes sets all contacts upright, where all of several are upside
    down and nothing is said of way-up, for each bed that alone turns over those on both its sides, and for each limb.
    """
    walk = _WalkMet(log, survey, band, caps, cuts)
    likely = {unit for unit, one in unsaid.items() if one.likely}
    of_bodies = [one for one in contacts if {one.younger, one.older} & likely]
    yield from _unsaid_bodies(log, unsaid, [one for one in _rises(walk, beds, of_bodies) if one.down])
    contacts = [one for one in contacts if not {one.younger, one.older} & likely]
    asked, taken = _by_another_rule(_OneReading(walk, beds, contacts))
    yield from asked
    beds, contacts, every = taken.beds, taken.contacts, taken.rises
    met = [one for one in every if one.down or one.up]
    below = [one for one in met if one.down]
    yield from _below_beside(
        walk, beds, contacts, seen_beside, {bed.span for one in below for bed in one.beds}
    )
    alone = {bed.span: rises for bed, rises in _alone(every)}
    astray = [one for one in taken.courses if not one.kept]
    if not below and not astray and not alone:
        return
    way_up = any(bed.upside_down is not None for bed in beds)
    if len(below) >= _MANY_BELOW and len(below) == len(met) and not way_up:
        yield warning(
            "all-below",
            f"by the beds beside them the younger unit lies under the older at all of {len(below)} contacts",
            beds[0].span,
            "look first at the `attitudes` line: is the dip to the right of the strike, to its left, or is the figure "
            "the dip direction; else the list of units is upside down, or all beds are",
            labels=tuple(Label(one.contact.booked.span, _pair(one.contact)) for one in below),
        )
        return
    for course in astray:
        yield _off_course(course, log)
    for bed in beds:
        if bed.span in alone:
            yield _by_one_bed(bed, alone[bed.span], walk)
    borne_out = {bed.span for one in met if one.up for bed in one.beds}
    for limb in _limbs(_by_own_limb(every, contacts, WalkOrder(log)), borne_out):
        if len(limb.rises) < _FEW_BELOW:
            yield _at_one_contact(limb.rises[0], log, unsaid, Neighbours(beds, contacts, WalkOrder(log)))
        elif len(limb.beds) == 1:
            yield _by_one_bed(next(iter(limb.beds.values())), limb.rises, walk)
        else:
            yield _by_limb(tuple(limb.beds.values()), limb.rises, log)


def _unsaid_bodies(
    log: Log, unsaid: Mapping[str, UnsaidBody], below: Sequence[_Rise]
) -> Iterator[Diagnostic]:
    """Units that the list does not call intrusive, and that lie as a body does; asked first where they would lie upside down."""
    for unit in log.units:
        one = unsaid.get(unit.letters)
        if one is None or not one.likely:
            continue
        why = (
            f"its border cuts the beds beside it at {one.cut_deg:.0f}°"
            if one.cut is not None
            else f"it is called a {one.called}, and {one.host} lies on both sides of it"
        )
        met = [rise.contact for rise in below if unit.letters in {rise.contact.younger, rise.contact.older}]
        told = note(
            "intrusive-unsaid",
            f"is {unit.letters} intrusive? {why}",
            unit.span if one.cut is None else one.cut.booked.span,
            f"then add `; intrusive` to its `unit` line, and it is no part of the order of units (line {unit.span.line})",
        )
        if not met:
            yield told
            continue
        at = "one of its contacts" if len(met) == 1 else f"{len(met)} of its contacts"
        yield replace(
            told,
            severity=Severity.WARNING,
            message=f"{told.message}, and as one of the pile it would put the younger unit under the older at {at}",
            labels=tuple(Label(contact.booked.span, _pair(contact)) for contact in met),
        )


def _alone(every: Sequence[_Rise]) -> Iterator[tuple[PlaneAttitude, list[_Rise]]]:
    """Beds that turn over the contact before and the one after them, each with these, where the bed beyond one says otherwise.

    Good readings say so only if beds turn twice within the unit that lies between the two contacts.
    """
    of_bed: dict[Span, list[tuple[_Rise, int]]] = defaultdict(list)
    for one in every:
        for at, bed in enumerate(one.beds):
            of_bed[bed.span].append((one, at))
    for own in of_bed.values():
        bed = own[0][0].beds[own[0][1]]
        before = [one for one in own if one[0].contact.order < bed.order]
        after = [one for one in own if one[0].contact.order > bed.order]
        if not before or not after:
            continue
        nearest = [max(before, key=lambda one: one[0].contact.order), after[0]]
        if any(one.rises_deg[at] >= -one.sure_deg[at] for one, at in nearest):
            continue
        beyond = [rise for one, at in nearest for other, rise in enumerate(one.rises_deg) if other != at]
        if any(rise > LEG_ON_BED_DEG for rise in beyond):
            yield bed, [one for one, _ in nearest]


def _below_beside(
    walk: _WalkMet,
    beds: Sequence[PlaneAttitude],
    crossed: Sequence[PlacedContact],
    seen_beside: Sequence[PlacedContact],
    doubted: Collection[Span],
) -> Iterator[Diagnostic]:
    """Contacts beside the walk whose younger unit lies below on the side where they were booked, not by `doubted` beds.

    Beyond what the hillside there may be steeper.
    """
    side = younger_beside(walk.log, walk.survey, walk.band)
    near = Neighbours(beds, crossed, WalkOrder(walk.log))
    turn_deg = walk.survey.frame.to_true_deg
    rank = unit_ranks(walk.log)
    for contact in seen_beside:
        younger, older = contact.younger, contact.older
        if (
            contact.kind is not ContactKind.CONTACT
            or younger is None
            or older is None
            or younger in walk.caps
        ):
            continue
        if {younger, older} & walk.log.intrusive:
            continue
        if rank.get(younger, 0) >= rank.get(older, 0) or (found := side(contact)) is None:
            continue
        way, good_deg = found
        beside = [near.beds[one] for one in near.beside(contact.order)]
        own = contact_pole(contact, to_true_deg=turn_deg)
        if not beside or any(bed.span in doubted for bed in beside):
            continue
        rises, sures = [], []
        for bed in beside:
            normal = bed_pole(bed, to_true_deg=turn_deg)[0] * (-1.0 if bed.upside_down else 1.0)
            if own is not None:
                normal = own[0] if dot(own[0], normal) >= 0.0 else -own[0]
            rises.append(settled(math.degrees(math.asin(dot(normal, way) / math.hypot(*way.tolist())))))
            sd_deg = bed.sd_deg if own is None else own[1]
            sures.append(math.hypot(_SURE_OF_SIDE * good_deg, _sure_deg(sd_deg)))
        one = _Rise(
            contact=contact, beds=tuple(beside), rises_deg=tuple(rises), sure_deg=tuple(sures), way=way
        )
        if not one.down:
            continue
        booked = contact.booked.address.side
        other = Side.LEFT if booked is Side.RIGHT else Side.RIGHT
        yield warning(
            "younger-below",
            f"by {_taken(beside)} {younger} lies under {older}, which is older, where this lies on the "
            f"{booked.value if booked else 'one side'}",
            contact.booked.span,
            f"was it on the {other.value}; else look at the way-up (`bed … overturned`, with `tops`), for a `fault` between, and "
            "at the list of units",
            labels=tuple(Label(bed.span, bed.written) for bed in beside),
            rests_on=_rest(beside, [one], walk.log),
        )


def _by_own_limb(every: Sequence[_Rise], contacts: Sequence[PlacedContact], order: WalkOrder) -> list[_Rise]:
    """Contacts upside down but those that are so only by good beds of another limb, on which the walk came back over them.

    Where it goes back over the contact that it crossed last, beds turn between the two, or the walk does. A bed that the
    contact on its own side bears out, or one that lies alike before the next contact, tells nothing of what lies beyond.
    """
    ordered = sorted(contacts, key=lambda one: one.order)
    orders = [one.order for one in ordered]
    turns = [
        (ordered[before].order, one.order)
        for at, one in enumerate(ordered)
        if (before := order.before(orders, at)) is not None
        if {ordered[before].younger, ordered[before].older} == {one.younger, one.older}
    ]
    borne_out: dict[tuple[str, int], list[Vectors]] = defaultdict(list)

    def stretch(bed: PlaneAttitude) -> tuple[str, int]:
        return bed.span.file, bisect_left(orders, bed.order)

    for one in every:
        for bed, rise in zip(one.beds, one.rises_deg, strict=False):
            if rise > LEG_ON_BED_DEG:
                borne_out[stretch(bed)].append(bed_pole(bed)[0])

    def beyond(rise: _Rise, bed: PlaneAttitude) -> bool:
        met, read, own = rise.contact.order, bed.order, bed_pole(bed)[0]
        turned = any((met <= first < read) or (read < second <= met) for first, second in turns)
        return turned and any(dot(other, own) >= _ALIKE_COSINE for other in borne_out[stretch(bed)])

    return [one for one in every if one.down and not (one.beds and all(beyond(one, bed) for bed in one.beds))]


def _limbs(below: Sequence[_Rise], borne_out: Collection[Span]) -> list[_LimbUpsideDown]:
    """Contacts upside down by the limb of the beds beside them that turns over most; each by its own plane is one by itself.

    Beds that another contact bears out are of the limb beyond, unless there are no others.
    """
    limbs: list[_LimbUpsideDown] = []
    alone: list[_LimbUpsideDown] = []
    for one in below:
        beds = [bed for bed in one.beds if bed.span not in borne_out] or one.beds
        if not beds:
            alone.append(_LimbUpsideDown(np.zeros(3), [one], {}))
        for bed in beds:
            normal = bed_pole(bed)[0] * (-1.0 if bed.upside_down else 1.0)
            limb = next((limb for limb in limbs if dot(limb.normal, normal) >= _ALIKE_COSINE), None)
            if limb is None:
                limbs.append(limb := _LimbUpsideDown(normal, [], {}))
            limb.beds[bed.span] = bed
            if one not in limb.rises[-1:]:
                limb.rises.append(one)
    said: set[Span] = set()
    told = []
    for limb in sorted(limbs, key=lambda one: -len(one.rises)):
        rises = [one for one in limb.rises if one.contact.booked.span not in said]
        said.update(one.contact.booked.span for one in rises)
        its = {bed.span for one in rises for bed in one.beds}
        if rises:
            told.append(
                _LimbUpsideDown(
                    limb.normal, rises, {span: bed for span, bed in limb.beds.items() if span in its}
                )
            )
    return [*told, *alone]


class BorneOut:
    """Beds that the contacts next to them bear out: by each of these the younger unit lies above."""

    def __init__(
        self,
        log: Log,
        survey: Survey,
        beds: Sequence[PlaneAttitude],
        contacts: Sequence[PlacedContact],
        band: tuple[BandStretch, ...],
        caps: frozenset[str],
    ) -> None:
        self._to_true_deg = survey.frame.to_true_deg
        self._before: dict[Span, tuple[_Rise, int]] = {}
        self._after: dict[Span, tuple[_Rise, int]] = {}
        met = _rises(_WalkMet(log, survey, band, caps), beds, contacts)
        for one in sorted(met, key=lambda one: one.contact.order):
            for at, bed in enumerate(one.beds):
                if one.contact.order < bed.order:
                    self._before[bed.span] = one, at
                else:
                    self._after.setdefault(bed.span, (one, at))

    def _beside(self, bed: PlaneAttitude) -> list[tuple[_Rise, int]]:
        return [by[bed.span] for by in (self._before, self._after) if bed.span in by]

    def upright(self, bed: PlaneAttitude) -> bool:
        """Whether it has such contacts beside it, and each lies upright by it."""
        beside = self._beside(bed)
        return bool(beside) and all(one.rises_deg[at] > LEG_ON_BED_DEG for one, at in beside)

    def turned_over(self, bed: PlaneAttitude, slip: WrittenSlip) -> bool:
        """Whether a bed that is upright as it was read would, read otherwise, set a contact beside it upside down."""
        if not self.upright(bed):
            return False
        read = _read_as(bed, slip)
        return any(
            _rise_deg(one, read, self._to_true_deg) < -one.sure_deg[at] for one, at in self._beside(bed)
        )

    def of_another_limb(self, bed: PlaneAttitude) -> bool:
        """Whether contacts on both sides lie upright by it, and one of them upside down by the bed beyond it."""
        beside = self._beside(bed)
        beyond = [
            rise < -one.sure_deg[other]
            for one, at in beside
            for other, rise in enumerate(one.rises_deg)
            if other != at
        ]
        return len(beside) > 1 and self.upright(bed) and any(beyond)


def _read_as(bed: PlaneAttitude, slip: WrittenSlip) -> PlaneAttitude:
    return replace(bed, dip_deg=slip.dip_deg, dip_direction_deg=slip.dip_direction_deg)


def _rise_deg(one: _Rise, bed: PlaneAttitude, to_true_deg: float) -> float:
    """How the walk goes into the younger unit at a contact by another plane of a bed beside it."""
    normal = bed_pole(bed, to_true_deg=to_true_deg)[0] * (-1.0 if bed.upside_down else 1.0)
    own = contact_pole(one.contact, to_true_deg=to_true_deg)
    if own is not None:
        normal = own[0] if dot(own[0], normal) >= 0.0 else -own[0]
    return settled(math.degrees(math.asin(max(-1.0, min(1.0, dot(normal, one.way))))))


def _rises(
    walk: _WalkMet, beds: Sequence[PlaneAttitude], contacts: Sequence[PlacedContact]
) -> Iterator[_Rise]:
    """Contacts at which the walk goes into the younger unit, and how by each of the beds beside."""
    log, survey, band, caps, _ = walk
    side = younger_side(log, survey, band)
    near = Neighbours(beds, contacts, WalkOrder(log))
    turn_deg = survey.frame.to_true_deg
    rank = unit_ranks(log)
    for contact in contacts:
        younger, older = contact.younger, contact.older
        if contact.kind is ContactKind.FAULT or younger is None or older is None:
            continue
        own = contact_pole(contact, to_true_deg=turn_deg)
        if contact.kind is ContactKind.CONTACT and younger in caps:
            continue
        way = side(contact)
        size = math.hypot(*way.tolist())
        if size <= SAME_M or rank.get(younger, 0) >= rank.get(older, 0):
            continue
        way = way / size
        beside: tuple[PlaneAttitude, ...] = ()
        if contact.kind is ContactKind.UNCONFORMITY:
            # The beds below it lie another way; it says for itself how it lies, and which side is up unless overturned.
            over = contact.booked.plane is not None and contact.booked.plane.overturned
            normals = [] if own is None else [-own[0] if over else own[0]]
        else:
            beside = tuple(near.beds[one] for one in near.beside(contact.order))
            normals = [
                bed_pole(bed, to_true_deg=turn_deg)[0] * (-1.0 if bed.upside_down else 1.0) for bed in beside
            ]
            if own is not None:
                normals = [own[0] if dot(own[0], normal) >= 0.0 else -own[0] for normal in normals]
        rises = [
            settled(math.degrees(math.asin(max(-1.0, min(1.0, dot(normal, way)))))) for normal in normals
        ]
        sds = [bed.sd_deg for bed in beside] if own is None else [own[1]] * len(rises)
        if rises:
            yield _Rise(
                contact=contact,
                beds=beside,
                rises_deg=tuple(rises),
                sure_deg=tuple(map(_sure_deg, sds)),
                way=way,
            )


def _sure_deg(sd_deg: float) -> float:
    """From which angle between a walk and a plane, read to `sd_deg`, it is told on which side the walk goes on."""
    return max(LEG_ON_BED_DEG, SURE_SD * sd_deg)


def _by_another_rule(taken: _OneReading) -> tuple[list[Diagnostic], _OneReading]:
    """What is asked of the rule of each log that a camp brings in, or of one log's; and the beds and contacts of the others.

    Each party has a rule of its own, and is judged by its own readings, as in its log by itself.
    """
    files = dict.fromkeys(party.file for party in taken.walk.log.parties)
    if len(files) < 2:
        one = _other_rule(taken, None)
        return ([], taken) if one is None else ([one], _OneReading(taken.walk, [], []))
    asked: dict[str, Diagnostic] = {}
    for file in files:
        own = (
            [one for one in taken.beds if file == one.span.file],
            [one for one in taken.contacts if file == one.booked.span.file],
        )
        if (one := _other_rule(_OneReading(taken.walk, *own), file)) is not None:
            asked[file] = one
    if not asked:
        return [], taken
    others = (
        [one for one in taken.beds if one.span.file not in asked],
        [one for one in taken.contacts if one.booked.span.file not in asked],
    )
    return list(asked.values()), _OneReading(taken.walk, *others)


def _other_rule(taken: _OneReading, file: str | None) -> Diagnostic | None:
    """Planes written under one rule that set most contacts upside down or off their course, and under another none."""
    walk, beds, contacts = taken.walk, taken.beds, taken.contacts
    met = [one for one in taken.rises if one.down or one.up]
    cuts = [
        own
        for group in walk.cuts
        if (own := [one for one in group if file in {None, one[0].booked.span.file}])
    ]
    # Two dikes side by side are no one body off its plane, where the walk crossed each of them.
    cut_astray = [one for one, crossed in cuts_again(walk.survey, cuts) if not (one.kept or crossed)]
    astray = [*(one for one in taken.courses if not one.kept), *cut_astray]
    below = [one for one in met if one.down]
    rules = {(one.booked.conditions.convention, one.booked.conditions.convention_span) for one in beds}
    along = _runs_along(walk, contacts, beds, cuts)
    # Gentle beds lie as the hill makes them lie under any rule. Where all steeper ones are upside down, walls alone tell.
    steep = [one for one in met if one.beds and min(bed.dip_deg for bed in one.beds) > FORESET_DEG]
    upside_down = bool(below) and all(one.down for one in steep)
    along = along or (_along_walls(walk, cuts) if upside_down else [])
    if (len(below) < _FEW_BELOW and not astray and not along) or len(rules) != 1:
        return None
    convention, span = rules.pop()
    if convention is None or convention not in TO_DIP_DEG or span is None:
        return None
    fits = []
    for other in (Convention.DIP_RIGHT, Convention.DIP_LEFT, Convention.DIP_DIRECTION):
        turn = TO_DIP_DEG[other] - TO_DIP_DEG[convention]
        if turn == 0.0:
            continue
        turned = _OneReading(
            walk, [_turned_bed(bed, turn) for bed in beds], [_turned_contact(one, turn) for one in contacts]
        )
        if any(one.down for one in turned.rises) or not _as_many(turned.rises, len(met)):
            continue
        if along and (
            _along_walls(walk, cuts, turn)
            if upside_down
            else _runs_along(walk, turned.contacts, turned.beds, cuts, turn)
        ):
            continue
        cut = cuts_again(walk.survey, cuts, lambda one, turn=turn: _turned_contact(one, turn))  # type: ignore[misc]
        if all(one.kept for one in (*turned.courses, *(again for again, _ in cut))):
            fits.append(other)
    if not fits:
        return None
    read = listed([f"`{one.value}`" for one in fits])
    at = f"{len(below)} contacts" if len(below) > 1 else "one contact"
    against = [f"put the younger unit under the older at {at} of {len(met)}"] if below else []
    labels = [Label(one.contact.booked.span, _pair(one.contact)) for one in below]
    if astray:
        worst = max(astray, key=lambda one: (one.off_sd, one.off_m))
        off = walk.log.lengths.said(worst.off_m)
        against.append(f"leave {_pair(worst.second)} {off} off the plane read where it was met before")
        labels += [Label(one.booked.span, _pair(one)) for one in (worst.first, worst.second)]
    if along:
        only_walls = all(walk.log.intrusive & {one.younger, one.older} for one in along)
        against.append(
            f"have the walk run along {len(along)} {'walls' if only_walls else 'contacts and walls'} that it went through"
        )
        labels += [Label(one.booked.span, _pair(one)) for one in along]
    cuts_alone = len(cut_astray) == len(astray) and not below
    what = "planes" if along else "walls and faults" if cuts_alone else "beds"
    none = "they do not" if astray or along else "at none"
    return replace(
        warning(
            "other-rule",
            f"read as `{convention.value}`, the {what} {' and '.join(against)}; read as {read}, {none}",
            span,
            "ask who read them: on which side of the strike is the dip, or is the figure the dip direction",
            labels=tuple({label.span: label for label in labels}.values()),
        ),
        doubts=tuple(
            item.span
            for item in walk.log.items
            if isinstance(item, Planes) and file in {None, item.span.file}
        ),
    )


def _runs_along(
    walk: _WalkMet,
    contacts: Sequence[PlacedContact],
    beds: Sequence[PlaneAttitude],
    cuts: Sequence[Sequence[Crossing]],
    turn_deg: float = 0.0,
) -> list[PlacedContact]:
    """Walls of bodies that the walk went through, and contacts, where it runs along all of them by planes of one rule.

    Walls within `CROSSED_DEG`, contacts by the strike of the beds beside them within `_ALONG_DEG`. Walk, beds and bodies
    all lie one way seldom; empty where one does not. `turn_deg` turns the walls, as `contacts` and `beds` are turned.
    """
    walls = _along_walls(walk, cuts, turn_deg)
    if not walls:
        return []
    near, found = Neighbours(beds, contacts, WalkOrder(walk.log)), []
    for contact in contacts:
        beside = [near.beds[one] for one in near.beside(contact.order)]
        strikes = [one.strike_deg for one in beside if one.strike_known and one.dip_deg > FORESET_DEG]
        if contact.kind is ContactKind.CONTACT and contact.place.leg_azimuth_deg is not None and strikes:
            grid = contact.place.leg_azimuth_deg + walk.survey.frame.to_true_deg
            if min(axial_difference(one, grid) for one in strikes) > _ALONG_DEG:
                return []
            found.append(contact)
    return [*found, *walls] if len(found) >= _MANY_BELOW else []


def _along_walls(
    walk: _WalkMet, cuts: Sequence[Sequence[Crossing]], turn_deg: float = 0.0
) -> list[PlacedContact]:
    """All walls of the bodies that the walk went through, turned so far, where it runs along them, within `CROSSED_DEG`; else none."""
    through = [one for group in cuts for one in group if len(one) == 2]
    walls = [_turned_contact(wall, turn_deg) for one in through for wall in one if wall.booked.plane]
    if not walls or not all(one.booked.plane and by_rule(one.booked.plane.written) for one in walls):
        return []
    off = [across_deg(walk.survey, one) for one in walls]
    return walls if sum(off) <= CROSSED_DEG * len(off) else []


def _as_many(rises: Sequence[_Rise], count: int) -> bool:
    """Whether as many contacts lie upright as are told now; of more than two one may be crossed too near its strike to tell."""
    upright = sum(one.up for one in rises)
    if upright >= count:
        return True
    leaning = sum(not one.up and min(one.rises_deg) > 0.0 for one in rises)
    return upright > _FEW_BELOW and upright + 1 == count and bool(leaning)


def _off_course(one: MetAgain, log: Log) -> Diagnostic:
    lengths = log.lengths
    return note(
        "off-its-course",
        f"{_pair(one.second)} lies {lengths.said(one.off_m)} off the plane read where it was met on line {one.first.booked.span.line}, {lengths.said(one.apart_m)} "
        f"away, {one.off_sd:.1f} times the error of that",
        one.second.booked.span,
        "look first at the `attitudes` line and at the attitudes at both places; else a fold or a fault lies between",
    )


def _turned_bed(bed: PlaneAttitude, turn_deg: float) -> PlaneAttitude:
    """As read under another rule; what has a letter or an arrow speaks for itself."""
    if bed.flat or not by_rule(bed.written):
        return bed
    return replace(bed, dip_direction_deg=wrap_360(bed.dip_direction_deg + turn_deg))


def _turned_contact(contact: PlacedContact, turn_deg: float) -> PlacedContact:
    plane = contact.booked.plane
    if contact.strike_deg is None or plane is None or not by_rule(plane.written):
        return contact
    return replace(contact, strike_deg=wrap_360(contact.strike_deg + turn_deg))


def _at_one_contact(one: _Rise, log: Log, unsaid: Mapping[str, UnsaidBody], near: Neighbours) -> Diagnostic:
    contact = one.contact
    over = _overturned_alone(one, near)
    look_first = "" if over is None else _look_at_way_up(*over)
    said = warning(
        "younger-below",
        f"by {_taken(one.beds) if one.beds else 'its own plane'} {contact.younger} lies under "
        f"{contact.older}, which is older",
        contact.booked.span,
        f"{look_first}{_hint(contact, unsaid)}",
        labels=tuple(Label(bed.span, bed.written) for bed in one.beds),
        rests_on=_rest(one.beds, [one], log),
    )
    if over is not None:
        return replace(said, doubts=(over[0].span,))
    # Of two beds that say so neither is likelier wrong than what they say it of.
    return replace(said, doubts=(one.beds[0].span,)) if len(one.beds) == 1 else said


def _overturned_alone(one: _Rise, near: Neighbours) -> tuple[PlaneAttitude, PlaneAttitude] | None:
    """The one bed beside a contact that is said to be overturned, by no tops, and the bed next to it that lies alike and is not."""
    found = []
    for index in near.beside(one.contact.order):
        bed = near.beds[index]
        if bed in one.beds and bed.upside_down and bed.tops is None:
            next_to = [near.beds[other] for other in near.beside(bed.order, bed.booked.address)]
            alike = [other for other in next_to if dot(bed_pole(bed)[0], bed_pole(other)[0]) >= _ALIKE_COSINE]
            if alike and not any(other.upside_down for other in alike):
                found.append((bed, alike[0]))
    return found[0] if len(found) == 1 else None


def _look_at_way_up(bed: PlaneAttitude, other: PlaneAttitude) -> str:
    return (
        f"is the bed at {listed_places([bed])} upright, as that at {listed_places([other])}, which lies alike (line {other.span.line})? then "
        "leave `overturned` out; else "
    )


def _taken(beds: Sequence[PlaneAttitude]) -> str:
    """Beds beside a contact, and which way up they are taken where nothing tells."""
    unsaid = all(bed.upside_down is None for bed in beds)
    which = "bed" if len(beds) == 1 else "beds"
    return f"the {which} at {listed_places(beds)}{', taken as upright,' if unsaid else ''}"


def _by_one_bed(bed: PlaneAttitude, rises: Sequence[_Rise], walk: _WalkMet) -> Diagnostic:
    said = "overturned" if bed.upside_down else "upright"
    others = {other.span: other for one in rises for other in one.beds if other is not bed}
    alone = f"; the bed at {listed_places(tuple(others.values()))} lies otherwise" if others else ""
    slip = _upright_slip(bed, tuple(others.values()), rises, walk.survey.frame.to_true_deg)
    fits = "" if slip is None else f": {slip.words}? {slip.reading} would fit"
    overturned = f"is the bed overturned, as its `tops` would show, or was it another reading{fits}"
    half = half_turn_by_contact(bed, [one.contact for one in rises])
    if half is not None:
        turned, by = half
        other = slip is not None and slip.reading != turned.reading
        or_slip = f", or was it {slip.reading}, {slip.words}?" if slip is not None and other else ""
        overturned = (
            f"{turned.words}? {turned.reading} would fit, as {_pair(by)} was read on line {by.booked.span.line}; "
            f"else is the bed overturned, as its `tops` would show{or_slip}"
        )
    return warning(
        "bed-turns-over",
        f"by {bed.written}, taken as {said}, the younger unit lies under the older at {len(rises)} contacts beside it{alone}",
        bed.span,
        "is the bed upright after all, as its `tops` would show" if bed.upside_down else overturned,
        labels=tuple(Label(one.contact.booked.span, _pair(one.contact)) for one in rises),
        rests_on=_rest([bed, *others.values()], rises, walk.log),
    )


def _upright_slip(
    bed: PlaneAttitude, others: Sequence[PlaneAttitude], rises: Sequence[_Rise], to_true_deg: float
) -> WrittenSlip | None:
    """The slip that brings a bed to one of those on its sides, and sets no contact that it turns over upside down again."""
    for other in others:
        for slip in fitting_slips(bed, bed_pole(other)[0], within_deg=FORESET_DEG):
            read = _read_as(bed, slip)
            if all(_rise_deg(one, read, to_true_deg) > -LEG_ON_BED_DEG for one in rises):
                return slip
    return None


def _by_limb(beds: Sequence[PlaneAttitude], rises: Sequence[_Rise], log: Log) -> Diagnostic:
    """All contacts that beds of one attitude turn over: an observation, and what would make it so."""
    beds = sorted(beds, key=lambda one: one.order)
    over = bool(beds[0].upside_down)
    return warning(
        "limb-turns-over",
        f"by the beds at {listed_places(beds)}, which lie alike and are taken as {'overturned' if over else 'upright'}, the "
        f"younger unit lies under the older at {len(rises)} contacts",
        beds[0].span,
        f"are these beds {'upright after all' if over else 'overturned'}, as `tops` would show; else look for a `fault`, or at "
        "the list of units",
        labels=tuple(Label(one.contact.booked.span, _pair(one.contact)) for one in rises),
        rests_on=_rest(beds, rises, log),
    )


def _rest(beds: Sequence[PlaneAttitude], rises: Sequence[_Rise], log: Log) -> tuple[Span, ...]:
    """Lines that contacts upside down rest on: the way to them, and the beds."""
    said = units_said(log)
    ways = (span for one in rises for span in _way_there(one.contact, log, said))
    return (*ways, *(bed.span for bed in beds))


def _pair(contact: PlacedContact) -> str:
    return f"{contact.younger}/{contact.older}"


def _hint(contact: PlacedContact, unsaid: Mapping[str, UnsaidBody]) -> str:
    body = next((unit for unit in (contact.younger, contact.older) if unit in unsaid), None)
    cuts = (
        "" if body is None else f"`; intrusive` on the line of unit {body}, if it is a body that cuts; else "
    )
    leg = contact.booked.address.leg
    unchecked = (
        f", and at the bearing of the leg (line {leg.span.line})" if leg and leg.back_bearing is None else ""
    )
    return (
        f"{cuts}look at the way-up (`bed … overturned`, with `tops`), for a `fault` there, at the list of units"
        f"{unchecked}"
    )


def _way_there(contact: PlacedContact, log: Log, said: UnitsSaid) -> Iterator[Span]:
    """The leg that a contact was met on, and the units at its ends, by which it is told on which side each unit lies."""
    leg = contact.booked.address.leg
    if leg is None:
        return
    yield leg.span
    if leg.index in log.begun_at:
        yield log.begun_at[leg.index]
    yield from (one.span for one in said.at_ends(leg) if one is not None)
