"""Readings that geology makes doubtful: worth a look, answered by `checked`."""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cache
from itertools import pairwise

import numpy as np

from traverse.angle import wrap_180, wrap_360
from traverse.diagnostic import Diagnostic, Label, note, warning
from traverse.location.records import Survey
from traverse.log.items import Certainty, ContactKind, HowMet, PlaneKind, UnitHere, Words, WordsKind
from traverse.log.laid_down import is_laid_down, laid_down_units
from traverse.log.records import Log
from traverse.settled import settled
from traverse.source import Span
from traverse.structure.beds_apart import beds_apart
from traverse.structure.beds_off import beds_off
from traverse.structure.cutting_contacts import cutting_contacts
from traverse.structure.cutting_planes import OddCut, crossings, odd_cuts, odd_faults
from traverse.structure.end_beds import end_beds
from traverse.structure.fault_doubts import fault_doubts, lines_off_planes
from traverse.structure.form.contact_plane import beds_turn
from traverse.structure.form.domains import BedDomain
from traverse.structure.form.records import ContactPlane
from traverse.structure.odd_attitudes import (
    ContactRead,
    Odd,
    OddContact,
    WrittenSlip,
    fitting_slip,
    odd_attitudes,
    odd_contacts,
)
from traverse.structure.order_doubts import BorneOut, order_doubts
from traverse.structure.readings.directions import Vectors, pole, pole_angle
from traverse.structure.readings.place_errors import bed_pole, contact_pole
from traverse.structure.readings.records import Attitude, PlacedContact, PlaneAttitude, bedding
from traverse.structure.strike_for_direction import strikes_for_directions
from traverse.structure.walk.across import unit_ranks
from traverse.structure.walk.beds import place_words
from traverse.structure.walk.bodies import Strata, apart_deg, walls_agree
from traverse.structure.walk.neighbours import Neighbours
from traverse.structure.walk.order import WalkOrder
from traverse.structure.walk.records import Body, UnsaidBody
from traverse.structure.walk.unit_at import UnitsSaid, one_place, units_said
from traverse.structure.way_up_doubts import (
    contacts_overturned_apart,
    overturned_apart,
    overturned_other_way,
    way_up,
)
from traverse.trade import (
    ALIKE_DEG,
    FORESET_DEG,
    LEVEL_DEG,
    ODD_BED_DEG,
    SLIPPED_DEG,
    SLIPPED_WAY_DEG,
)

_EDGE_M = 0.5

_CROSSBEDDED = re.compile(
    r"\b(?:cross[- ]?(?:bed|lamina|strat)|x[- ]?(?:bed|lam)|foreset|dune|aeolian|eolian)", re.IGNORECASE
)
_FOLDED = re.compile(
    r"\b(?:(?:small|minor|parasitic|drag|tight|little)(?:[- ]scale)? folds?|hinge|crest of (?:a|the) fold|kink(?:ed|s)?|crumpl\w+)\b",
    re.IGNORECASE,
)
"""Words of what was seen to turn a bed by itself."""
_LOOSE = re.compile(
    r"\b(?:slump|slid(?:e|es|den)?\b|slipped|landslide|landslip|creep|creeping|float\b|not in place|loose block|toppled|"
    r"talus|fallen)",
    re.IGNORECASE,
)


def doubts(
    log: Log,
    survey: Survey,
    attitudes: tuple[Attitude, ...],
    on_walks: tuple[Attitude, ...],
    strata: Strata,
    met: tuple[PlacedContact, ...],
    planes: tuple[ContactPlane, ...],
    caps: frozenset[str],
    unsaid: Mapping[str, UnsaidBody],
    domains: tuple[BedDomain, ...],
    bodies: tuple[Body, ...],
    misfits: frozenset[Span],
    agreed: frozenset[Span],
) -> tuple[Diagnostic, ...]:
    """Warnings on readings that do not fit the rock, the ground, each other or the order of the units.

    Where parties read one outcrop alike, `attitudes` have it once and `on_walks` on the walk of each; `agreed` are the lines
    of all of these, of which none is a slip of the pen, nor a bed where a small fold was noted. `met` are all contacts, with the walls of intrusive bodies and those beside the walk. `misfits` are contacts whose
    units do not fit the walk, or may not.
    """
    beds, walked, contacts = bedding(attitudes), bedding(on_walks), strata.contacts
    walk = WalkOrder(log)
    near = Neighbours(walked, contacts, walk)
    words, said = _words(log), units_said(log)
    # Of a bed that the page says a small fold turns it is not asked why it is turned.
    folded = _speaking(words, _FOLDED)
    agreed |= {bed.span for bed in walked if bed.booked.address.index in folded}

    @cache
    def borne_out() -> BorneOut:
        return BorneOut(log, survey, walked, contacts, strata.band, caps)

    # What lies out of a panel may be the limb of a fold that another wrong bed hides: the units next to it tell.
    odd = {
        one.bed.span: one
        for one in odd_attitudes(domains, walk, lambda bed, slip: borne_out().turned_over(bed, slip))
        if one.bed.span not in agreed and not (_turned_over(one) and borne_out().upright(one.bed))
    }
    igneous = {unit.letters for unit in log.units if is_laid_down(unit.name) is False}
    bedded = laid_down_units(log.units, log.items) | {bed.unit for bed in walked}
    strata_contacts = [one for one in contacts if not caps & {one.younger, one.older}]
    odd_planes = {
        one.contact.booked.span: one
        for one in odd_contacts(near, strata_contacts, igneous)
        if not odd.keys() & {bed.span for bed in one.beds}
    }
    # A border that was misread says nothing of a body.
    unsaid = {
        unit: replace(one, cut=None) if one.cut and one.cut.booked.span in odd_planes else one
        for unit, one in unsaid.items()
    }
    loose = {unit.letters for unit in log.units if unit.loose}
    of_rock = [one for one in contacts if not loose & {one.younger, one.older}]
    layered = {unit: at for unit, at in unit_ranks(log).items() if unit not in loose | log.intrusive}
    cuts = crossings(log, survey, strata.band, contacts, bodies)
    odd_cut = {
        one.contact.booked.span: one for one in (*odd_faults(survey, contacts), *odd_cuts(survey, cuts))
    }
    apart = [
        one
        for one in beds_apart(near, contacts, lambda bed: borne_out().of_another_limb(bed))
        if one.span not in odd.keys() | agreed
    ]
    asked = odd.keys() | agreed | {one.span for one in apart if one.span is not None}
    ends = tuple(
        end_beds(
            near,
            contacts,
            asked,
            lambda bed, slip: borne_out().turned_over(bed, slip),
            lambda bed: borne_out().of_another_limb(bed),
        )
    )
    asked |= {one.span for one in ends if one.span is not None}
    return (
        *(
            one
            for one in _crossbeds(near, on_walks, contacts, words)
            if one.span not in {other.span for other in apart}
        ),
        *_in_loose_ground(log, beds),
        *_downslope(log, survey, beds, words),
        *(_slipped(one, _whose(one.bed, said)) for one in odd.values()),
        *(_contact_slipped(one, bedded) for one in odd_planes.values()),
        *map(_cut_slipped, odd_cut.values()),
        *cutting_contacts(
            near, of_rock, misfits | odd.keys() | odd_planes.keys() | odd_cut.keys(), bedded, layered
        ),
        *_or_foresets(apart, near, words),
        *ends,
        *beds_off(near, asked),
        *overturned_apart(near, contacts),
        *contacts_overturned_apart(near, contacts),
        *overturned_other_way(near, asked),
        *(one for one in _off_their_contact(near, beds, met, planes) if one.span not in odd_planes),
        *order_doubts(
            log,
            survey,
            walked,
            [one for one in contacts if one.booked.span not in misfits | odd_planes.keys()],
            strata.band,
            caps,
            unsaid,
            [one for one in met if one.met is not HowMet.CROSSED and one.booked.span not in misfits],
            () if odd_cut else cuts,
        ),
        *fault_doubts(log, survey, contacts, walked, strata.band),
        *lines_off_planes(contacts, on_walks),
        *way_up([bed for bed in beds if bed.span not in odd]),
        *_edges(log, survey, met),
        *_walls_apart(bodies, odd_cut.keys()),
        *strikes_for_directions(survey, contacts, bodies, cuts, log.lengths),
        *_without_strike(log, bodies),
    )


def _words(log: Log) -> Mapping[int, str]:
    """What was written at each address, by its index."""
    found: dict[int, list[str]] = defaultdict(list)
    for item in log.items:
        if isinstance(item, Words) and item.kind in {WordsKind.ROCK, WordsKind.NOTE, WordsKind.FLOAT}:
            found[item.address.index].append(
                f"float {item.text}" if item.kind is WordsKind.FLOAT else item.text
            )
    return {index: "; ".join(texts) for index, texts in found.items()}


def _crossbeds(
    near: Neighbours,
    attitudes: Sequence[Attitude],
    contacts: Sequence[PlacedContact],
    words: Mapping[int, str],
) -> Iterator[Diagnostic]:
    told = {one.booked.address.index for one in attitudes if one.kind is PlaneKind.CROSSBED}
    planes: dict[int, list[Vectors]] = defaultdict(list)
    for contact in contacts:
        if contact.kind is ContactKind.CONTACT and (own := contact_pole(contact)) is not None:
            planes[contact.booked.address.index].append(own[0])
    crossbedded = _speaking(words, _CROSSBEDDED)
    for index, bed in enumerate(near.beds):
        address = bed.booked.address
        if address.index in told or address.index not in crossbedded:
            continue
        here = near.poles[index]
        beside = near.next_to(index)
        # The one next to it may be the slip; the one after that tells.
        after = {one for other in beside for one in near.next_to(other) if one != index}
        others = [near.poles[one] for one in (*beside, *after)] + planes[address.index]
        if others:
            off = min(pole_angle(here, other) for other in others)
            if off <= FORESET_DEG:
                continue
            fact = f"{off:.0f}° from the beds next to it"
        elif len(near.beds) == 1 and bed.dip_deg > FORESET_DEG:
            fact = "with no other bed beside it"
        else:
            continue
        yield warning(
            "crossbed-as-bed",
            f"bed {bed.written} in cross-bedded rock, {fact}: bedding, or a foreset",
            bed.span,
            "a foreset is a `crossbed`; look for the surface that bounds the set",
            rests_on=[near.beds[one].span for one in beside],
        )


def _or_foresets(
    apart: Sequence[Diagnostic], near: Neighbours, words: Mapping[int, str]
) -> Iterator[Diagnostic]:
    """Beds that lie off those beside them, with the foreset that one may be where its rock is said to be cross-bedded."""
    crossbedded = {
        bed.span: bed.written
        for bed in near.beds
        if apart and _CROSSBEDDED.search(words.get(bed.booked.address.index, ""))
    }
    for one in apart:
        written = None if one.span is None else crossbedded.get(one.span)
        if written is None:
            yield one
            continue
        first, *rest = one.hints
        yield replace(one, hints=(f"a foreset? then `crossbed {written}`; else {first}", *rest))


def _in_loose_ground(log: Log, beds: Sequence[PlaneAttitude]) -> Iterator[Diagnostic]:
    """Beds steeper than loose ground is laid down at, one message for each of its units."""
    said = units_said(log)
    for unit in log.units:
        steep = [bed for bed in beds if unit.loose and bed.unit == unit.letters and bed.dip_deg > FORESET_DEG]
        if not steep:
            continue
        more = f", and {len(steep) - 1} more" if len(steep) > 1 else ""
        yield warning(
            "bed-in-loose",
            f"bed {steep[0].written}{more} in {unit.letters}, which is loose ground by its age: is it bedding of that",
            steep[0].span,
            "of rock that shows through it, book the unit of that rock; a layer laid on a slope is a `crossbed`",
            labels=tuple(Label(bed.span, bed.written) for bed in steep[1:]),
            rests_on=[span for bed in steep[:1] for span in _whose(bed, said)],
        )


def _speaking(words: Mapping[int, str], of: re.Pattern[str]) -> set[int]:
    """The addresses whose words speak of something: asked once each, however many beds were read there."""
    return {index for index, text in words.items() if of.search(text)}


def _downslope(
    log: Log, survey: Survey, beds: Sequence[PlaneAttitude], words: Mapping[int, str]
) -> Iterator[Diagnostic]:
    """Beds that dip with the ground, where the page speaks of loose rock."""
    loose = _speaking(words, _LOOSE)
    suspect = [bed for bed in beds if bed.booked.address.index in loose]
    if not suspect:
        return
    at: dict[str, list[int]] = defaultdict(list)
    for leg in log.legs:
        at[leg.start].append(leg.index)
        at[leg.end].append(leg.index)
    turn = survey.frame.to_true_deg
    for bed in suspect:
        address = bed.booked.address
        legs = (
            at[address.station] if address.station is not None else [address.leg.index] if address.leg else []
        )
        steps = [survey.legs[index] for index in legs if survey.legs[index].slope_known]
        if not steps or bed.flat:
            continue
        level = np.array([(leg.adjusted.east_m, leg.adjusted.north_m) for leg in steps])
        rise = np.array([leg.adjusted.up_m or 0.0 for leg in steps])
        # All legs of the place together, then each alone: above a bench the ground is as steep as its steepest leg.
        parts = [slice(None), *(slice(index, index + 1) for index in range(len(steps)))]
        gradients = [np.linalg.lstsq(level[part], rise[part], rcond=None)[0] for part in parts]
        dip = bed.dip_deg
        for gradient in gradients:
            slope = settled(math.degrees(math.atan(math.hypot(*gradient))))
            down = settled(math.degrees(math.atan2(-gradient[0], -gradient[1])) + turn)
            if (
                slope <= LEVEL_DEG
                or abs(wrap_180(bed.dip_direction_deg - down)) > SLIPPED_WAY_DEG
                or abs(dip - slope) > SLIPPED_DEG
            ):
                continue
            yield warning(
                "dips-with-slope",
                f"bed {bed.written} dips {dip:.0f}° down a slope of {slope:.0f}°, and the page speaks of loose rock: "
                "is it in place",
                bed.span,
                "rock that has moved is `float`, described and never measured",
            )
            break


def _whose(bed: PlaneAttitude, said: UnitsSaid) -> list[Span]:
    """The line that tells whose bed it is."""
    told = said.met(one_place(bed.booked.address), bed.booked.address.span)
    return [] if told is None else [told.span]


def _turned_over(one: Odd) -> bool:
    """Whether a slip off a panel would make a bed dip to the other side, so that what lies on it would lie under it."""
    turned_deg = wrap_180(one.slip.dip_direction_deg - one.bed.dip_direction_deg)
    return not one.girdle and one.other is None and abs(settled(turned_deg)) > 90.0


def _slipped(one: Odd, whose: Sequence[Span]) -> Diagnostic:
    what = "the girdle" if one.girdle else "the mean"
    but = "" if one.other is None else f" but {one.other.written} at {place_words(one.other)}"
    labels = () if one.other is None else (Label(one.other.span, "lies off it too"),)
    off = f"lies {one.off_deg:.0f}° off {what} of all other"
    fits = f"{one.slip.words}? {one.slip.reading} would fit"
    if one.turning:
        return warning(
            "bed-at-turn",
            f"bed {one.bed.written}, where the beds turn from one limb to the other, {off}s{but}",
            one.bed.span,
            "do they dip round the end of a dome or of a fold here, which more beds about it would show; or was it a slip of the "
            f"pen: {fits}",
            labels=labels,
            rests_on=whose,
        )
    return warning(
        "bed-slipped",
        f"bed {one.bed.written} {off} beds{but}",
        one.bed.span,
        f"{fits}; or a joint or block was taken for bedding",
        labels=labels,
        rests_on=whose,
    )


def _contact_slipped(one: OddContact, bedded: Collection[str | None]) -> Diagnostic:
    laid = {one.contact.younger, one.contact.older} <= set(bedded)
    body = " or an `unconformity`" if laid else ", an `unconformity`, or a body that is intrusive"
    where = " and ".join(dict.fromkeys(map(place_words, one.beds)))
    return warning(
        "contact-slipped",
        f"the attitude of {one.contact.younger}/{one.contact.older}, {one.written}, lies {one.off_deg:.0f}° off the beds at {where}"
        f"{', which agree' if one.agree else ''}",
        one.contact.booked.span,
        f"{one.slip.words}? {one.slip.reading} would fit; or does the contact cut the beds: a `fault`{body}",
        labels=tuple(Label(bed.span, bed.written) for bed in one.beds),
    )


def _cut_slipped(one: OddCut) -> Diagnostic:
    contact, plane = one.contact, one.contact.booked.plane
    assert plane is not None
    what = "fault" if contact.kind is ContactKind.FAULT else "wall"
    others = [other.booked for other in one.others]
    off = "that of the other place" if len(others) == 1 else f"those of {len(others)} others, which agree"
    there = (
        f", or {one.other_slip.reading} on line {others[0].span.line}" if one.other_slip is not None else ""
    )
    return warning(
        "cut-slipped",
        f"the attitude of the {what} {contact.younger}/{contact.older}, {plane.written}, lies {one.off_deg:.0f}° off {off}",
        contact.booked.span,
        f"{one.slip.words}? {one.slip.reading} would fit{there}; or are they two {what}s, and not one met again",
        labels=tuple(Label(other.span, other.plane.written) for other in others if other.plane is not None),
    )


def _off_their_contact(
    near: Neighbours,
    beds: Sequence[PlaneAttitude],
    contacts: Sequence[PlacedContact],
    planes: Sequence[ContactPlane],
) -> Iterator[Diagnostic]:
    """Attitudes at a contact that its course over three places or more belies by more than both are off by.

    None of a contact that keeps to no plane, or whose other beds lie as those of two limbs: places on both limbs of a fold
    may lie on one plane that is none of the bed. None that the bed before or after it bears out.
    """
    by_span = {contact.booked.span: contact for contact in contacts}
    at_address: dict[int, list[PlaneAttitude]] = defaultdict(list)
    for bed in beds:
        at_address[bed.booked.address.index].append(bed)
    for plane in planes:
        if plane.strike_deg is None or plane.dip_deg is None or (plane.sd_dip_deg or 0.0) > FORESET_DEG:
            continue
        if not plane.fits:
            continue
        course = pole(plane.dip_deg, dip_direction_deg=plane.strike_deg + 90.0)
        read: list[tuple[Vectors, str, PlacedContact | PlaneAttitude]] = []
        for span in plane.lines:
            contact = by_span[span]
            if (own := contact_pole(contact)) is not None and contact.booked.plane is not None:
                read.append((own[0], contact.booked.plane.written, contact))
            here = at_address[contact.booked.address.index]
            read.extend((bed_pole(bed)[0], bed.written, bed) for bed in here)
        # Readings that differ among themselves tell of a fold, which no plane follows.
        agree = all(pole_angle(one[0], other[0]) <= ALIKE_DEG for one, other in pairwise(read))
        for normal, written, one in read if agree else []:
            off = pole_angle(normal, course)
            if off <= ODD_BED_DEG or any(
                pole_angle(normal, near.poles[other]) <= ALIKE_DEG
                for other in near.beside(one.order, one.booked.address)
            ):
                continue
            if not beds_turn(
                [by_span[span] for span in plane.lines], [bed for bed in beds if bed is not one]
            ):
                yield warning(
                    "off-its-contact",
                    f"{written} lies {off:.0f}° off the plane that {plane.younger}/{plane.older} keeps over "
                    f"{len(plane.lines)} places",
                    one.span if isinstance(one, PlaneAttitude) else one.booked.span,
                    "is it the bedding, and is the contact the same one at each place",
                )


def _edges(log: Log, survey: Survey, contacts: Sequence[PlacedContact]) -> Iterator[Diagnostic]:
    """Contacts said to be seen at the very end of covered ground, or in the midst of it."""
    covered: dict[int, list[tuple[float, float]]] = defaultdict(list)
    over: dict[int, list[tuple[float, float, Span]]] = defaultdict(list)
    for address in log.addresses:
        place = survey.at(address)
        if (
            address.covered
            and address.leg is not None
            and place is not None
            and place.start_share is not None
        ):
            stretch = place.start_share, place.end_share or place.start_share
            covered[address.leg.index].append(stretch)
            if address.side is None and address.offset is None:
                over[address.leg.index].append((*stretch, address.span))
    if not covered:
        return
    ends: dict[str, list[tuple[int, float]]] = defaultdict(list)
    for leg in log.legs:
        if leg.index in covered:
            ends[leg.start].append((leg.index, 0.0))
            ends[leg.end].append((leg.index, 1.0))
    for contact in contacts:
        if contact.certainty is not Certainty.CERTAIN or contact.kind is ContactKind.FAULT:
            continue
        address, place = contact.booked.address, contact.place
        if address.station is not None:
            at = ends[address.station]
        elif address.leg is not None and place.start_share is not None and not address.covered:
            at = [(address.leg.index, place.start_share)]
        else:
            continue
        for leg_index, share in at:
            length = survey.legs[leg_index].ground_m
            if any(abs(share - end) * length < _EDGE_M for pair in covered[leg_index] for end in pair):
                yield warning(
                    "edge-of-outcrop",
                    f"{contact.younger}/{contact.older} is certain and lies at the very edge of covered ground: seen, or the "
                    "edge of the outcrop",
                    contact.booked.span,
                    "`inferred` under the `covered` line where the two rocks were not seen to touch",
                )
                break
            within = [
                span
                for start, end, span in over[leg_index]
                if (share - start) * length > _EDGE_M and (end - share) * length > _EDGE_M
            ]
            if within:
                yield warning(
                    "certain-covered",
                    f"{contact.younger}/{contact.older} is certain, and lies in the midst of ground that is covered",
                    contact.booked.span,
                    "look on the page at the figure of its `along`, and at those of the covered stretch; `inferred` under the "
                    "`covered` line where it was not seen",
                    labels=tuple(Label(span, "covered") for span in within),
                    rests_on=[address.span],
                )
                break


def _walls_apart(bodies: Sequence[Body], asked: Collection[Span]) -> Iterator[Diagnostic]:
    """Two walls of one body that run each their own way, where neither is `asked` about by others of that body."""
    for body in bodies:
        if any(wall.booked.span in asked for wall in body.walls):
            continue
        if not body.through or len(body.walls) < 2 or walls_agree(body.walls):
            continue
        first, second = body.walls
        assert first.booked.plane is not None
        assert second.booked.plane is not None
        fits = [
            f"{slip.words} on line {wall.booked.span.line}, {slip.reading}"
            for wall, other in ((first, second), (second, first))
            if (slip := _wall_as(wall, other)) is not None
        ]
        pen = (
            f", a slip of the pen ({' or '.join(fits)})"
            if fits and not body.folded
            else ", a slip of the pen"
        )
        yield warning(
            "walls-apart",
            f"the walls of {body.unit}, {first.booked.plane.written} and {second.booked.plane.written}, lie "
            f"{apart_deg(first, second):.0f}° apart; each is drawn by itself, and no width is told",
            second.booked.span,
            (
                "is it folded with its beds, as each wall lies like the bed beside it; or "
                if body.folded
                else ""
            )
            + f"is one a joint{pen}, or a fault; or does the body end in a wedge? look at both again",
            labels=(Label(first.booked.span, "the other wall"),),
        )


def _wall_as(wall: PlacedContact, other: PlacedContact) -> WrittenSlip | None:
    """The slip of the pen by which a wall was read as the other one lies."""
    own, beyond, plane = contact_pole(wall), contact_pole(other), wall.booked.plane
    if own is None or beyond is None or plane is None or wall.dip_deg is None or wall.strike_deg is None:
        return None
    read = ContactRead(plane.written, False, wall.dip_deg, wrap_360(wall.strike_deg + 90.0), own[1])
    return fitting_slip(read, beyond[0], within_deg=ALIKE_DEG / 2.0)


def _without_strike(log: Log, bodies: Sequence[Body]) -> Iterator[Diagnostic]:
    """Bodies that may run any way from where they were crossed."""
    for body in bodies:
        if body.without_strike:
            legs = {one.leg for one in body.stretches}
            booked = [
                item.span
                for item in log.items
                if isinstance(item, UnitHere)
                and item.letters == body.unit
                and item.address.leg is not None
                and item.address.leg.index in legs
            ]
            spans = [*(wall.booked.span for wall in body.walls), *booked, None]
            host = next((end.host for end in body.ends if end.host is not None), "OTHER")
            yield note(
                "body-without-strike",
                f"the strike of the walls of {body.unit} was not read; on the map it is drawn at the walk alone",
                spans[0],
                f"`contact {body.unit}/{host} certain STRIKE/DIP` where a wall is laid bare, or a `dike` reading in it",
            )
