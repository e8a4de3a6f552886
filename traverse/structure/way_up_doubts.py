"""Beds of which the page says, or leaves out, that they lie upside down, against those beside them or their tops."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

from traverse.angle import POINTS, bearing_text, is_quadrant
from traverse.diagnostic import Diagnostic, Label, note, warning
from traverse.log.items import ContactKind
from traverse.source import Span
from traverse.structure.limbs_way_up import alike, limb_ends
from traverse.structure.odd_attitudes import half_turn_by_contact, slips
from traverse.structure.readings.directions import dot, pole_angle
from traverse.structure.readings.place_errors import bed_pole, contact_pole
from traverse.structure.readings.records import PlacedContact, PlaneAttitude
from traverse.structure.walk.beds import listed_places, place_words
from traverse.structure.walk.neighbours import Neighbours
from traverse.trade import ALIKE_DEG

_ALIKE_COSINE = math.cos(math.radians(ALIKE_DEG))


def overturned_apart(near: Neighbours, contacts: Sequence[PlacedContact]) -> Iterator[Diagnostic]:
    """Beds that lie as those beside them do, and alone are said to be overturned, or not to be.

    Those of one run of which nothing is said, and that lie alike, are asked about in one message where the beds known next
    on its sides, which lie as they do, are overturned; where one alone is, as another bed beside it or its way-up bears out,
    where the one on the other side is of another limb. At an end of the walk an overturned contact between the run and the
    bed known next stands for the bed that is missing.
    """
    for index, bed in enumerate(near.beds):
        if bed.tops is None and bed.upside_down:
            beside = near.next_to(index)
            if len(beside) < 2 and (last := near.closing(index)) is not None and last not in beside:
                beside = tuple(sorted({*beside, last}))
            others = [near.beds[place] for place in beside if alike(near, index, place)]
            if len(others) > 1 and not any(one.upside_down for one in others):
                yield _asked_apart([bed], others, borders=False)
    if not any(bed.upside_down for bed in near.beds):
        return
    turned = [
        (one.order, own[0])
        for one in contacts
        if one.kind is ContactKind.CONTACT
        and one.booked.plane is not None
        and one.booked.plane.overturned
        and (own := contact_pole(one)) is not None
    ]
    runs: dict[tuple[int, ...], list[PlaneAttitude]] = {}
    by_contact: set[tuple[int, ...]] = set()
    for index, (run, ends) in enumerate(limb_ends(near)):
        bed = near.beds[index]
        if not run or bed.tops is not None or not all(near.beds[one].upside_down for one in run):
            continue
        # One bed alone may stand at both ends of a run that is a whole loop.
        if ends < 2:
            low, high = sorted((bed.order, near.beds[run[0]].order))
            between = near.walk.between([order for order, _ in turned], low, high)
            if not any(pole_angle(near.poles[index], turned[at][1]) <= ALIKE_DEG for at in between):
                continue
            by_contact.add(run)
        elif len(run) < 2 and not _borne_out(near, run[0], index):
            continue
        runs.setdefault(run, []).append(bed)
    for run, beds in runs.items():
        index = near.beds.index(beds[0])
        met_there = [one for one in contacts if index in near.beside(one.order)] if len(beds) == 1 else []
        others = [near.beds[place] for place in run]
        yield _asked_apart(beds, others, borders=run in by_contact, beside=met_there)


def contacts_overturned_apart(near: Neighbours, contacts: Sequence[PlacedContact]) -> Iterator[Diagnostic]:
    """Contacts of which the page says another way up than of the beds beside them that lie alike.

    Of one that is not said to be overturned only where the page says so of others.
    """
    read = [
        (one, own[0], one.booked.plane)
        for one in contacts
        if one.kind is ContactKind.CONTACT
        and one.booked.plane is not None
        and (own := contact_pole(one)) is not None
    ]
    said = any(plane.overturned for _, _, plane in read)
    for contact, normal, plane in read:
        beside = [at for at in near.beside(contact.order) if pole_angle(near.poles[at], normal) <= ALIKE_DEG]
        beds = [near.beds[at] for at in beside]
        over = {bool(bed.upside_down) for bed in beds}
        if over != {not plane.overturned} or plane.upright or not (said or plane.overturned):
            continue
        is_said, rest = ("said to be", "is not") if plane.overturned else ("not said to be", "is")
        bed = "bed" if len(beds) == 1 else "beds"
        lies, rest = ("lies", rest) if len(beds) == 1 else ("lie", rest.replace("is", "are"))
        yield note(
            "overturned-apart",
            f"the contact {contact.younger}/{contact.older}, {plane.written}, is {is_said} overturned; the {bed} at "
            f"{listed_places(beds)}, which {lies} alike, {rest}",
            contact.booked.span,
            "leave `overturned` out; or look at the beds"
            if plane.overturned
            else "`overturned` after the attitude; or look at the beds",
        )


def overturned_other_way(near: Neighbours, asked: Collection[Span]) -> Iterator[Diagnostic]:
    """Steep beds said to be overturned whose tops then point away from those of the overturned beds on both sides, and agree by a slip.

    None that is `asked` about already, or whose way-up was seen. A fault between is no reason to young the other way.
    """
    for index, bed in enumerate(near.beds):
        if not bed.upside_down or bed.tops is not None or bed.span in asked:
            continue
        beside = near.next_to(index, over_faults=True)
        if len(beside) < 2 and (end := near.closing(index)) is not None:
            beside = tuple(sorted({*beside, end}))
        others = [near.beds[one] for one in beside]
        if len(others) < 2 or not all(one.upside_down for one in others):
            continue
        own, (first, second) = bed_pole(bed)[0], (bed_pole(one)[0] for one in others)
        if dot(first, second) < _ALIKE_COSINE or max(dot(own, first), dot(own, second)) >= 0.0:
            continue
        slip = next((one for one in slips(bed) if dot(one.pole, first) >= _ALIKE_COSINE), None)
        if slip is not None:
            yield warning(
                "overturned-apart",
                f"bed {bed.written} lies upside down with its tops the other way than the beds at {listed_places(others)}, which "
                "are overturned and agree",
                bed.span,
                f"{slip.words}? {slip.reading} would fit; else is it overturned, and is there a fold between",
                labels=tuple(Label(other.span, other.written) for other in others),
            )


def _asked_apart(
    beds: Sequence[PlaneAttitude],
    others: Sequence[PlaneAttitude],
    *,
    borders: bool,
    beside: Sequence[PlacedContact] = (),
) -> Diagnostic:
    """Beds that alone are said to be overturned, or not to be; with `borders` by a contact between them and the other.

    A half turn goes first where one of the contacts `beside` a single bed bears it out.
    """
    over = bool(beds[0].upside_down)
    said, rest = ("said to be", "are not") if over else ("not said to be", "are")
    where = listed_places(others)
    if len(dict.fromkeys(place_words(one) for one in others)) > 1:
        lie = f"the beds at {where}, which lie alike, {rest}"
    elif borders:
        lie = f"the bed at {where} and the contact between, which lie alike, {rest}"
    else:
        lie = f"the bed at {where}, which lies alike, {'is not' if over else 'is'}"
    if len(beds) > 1:
        one = f"the beds at {listed_places(beds)} are {said} overturned"
    else:
        one = f"bed {beds[0].written} is {said} overturned"
    half = half_turn_by_contact(beds[0], beside)
    turned = ""
    if half is not None:
        slip, by = half
        turned = f"{slip.words}? {slip.reading} would fit, as {by.younger}/{by.older} was read on line {by.booked.span.line}; else type "
    apart = warning(
        "overturned-apart",
        f"{one}; {lie}",
        beds[0].span,
        "leave `overturned` out where the bed is upright, else type it after the others too, and `tops` where it was seen"
        if over
        else f"{turned}`overturned` after the attitude, or `upright`, and `tops` where it was seen",
        labels=(
            *(Label(bed.span, "nor this one") for bed in beds[1:]),
            *(Label(other.span, other.written) for other in others),
        ),
    )
    # Where it is asked what shows that the bed is overturned, this is said with it; and where tops alone turn over all those
    # that it is held against, it hangs on these.
    by_tops = () if over or any(one.overturned for one in others) else others
    return replace(
        apart,
        rests_on=(*(Label(bed.span, lie) for bed in beds[:1]), *(Label(one.span, "") for one in by_tops)),
        doubts=tuple(bed.span for bed in beds),
    )


def _borne_out(near: Neighbours, place: int, apart_from: int) -> bool:
    """Whether the way-up of a bed, or another overturned one beside it that lies alike, says that it is overturned."""
    bed = near.beds[place]
    return bed.tops is not None or any(
        other != apart_from
        and bool(near.beds[other].upside_down)
        and pole_angle(near.poles[place], near.poles[other]) <= ALIKE_DEG
        for other in near.next_to(place)
    )


def way_up(beds: Sequence[PlaneAttitude]) -> Iterator[Diagnostic]:
    """Tops that young along the strike of their bed, or say another way up than its line."""
    for bed in beds:
        if bed.tops is None or bed.dip_deg >= 89.5:
            continue
        over = bed.upside_down
        if bed.tops_along_strike:
            yield warning(
                "tops-along-strike",
                f"the beds young to {bed.tops.toward.written if bed.tops.toward else ''}, along the strike of {bed.written}",
                bed.tops.span,
                "beds young across their strike: look at both figures, or `up`, `down` as it was seen",
                labels=(Label(bed.span, "the bed"),),
            )
        elif over is not None and over != bed.overturned:
            says = "upside down" if over else "upright"
            yield warning(
                "way-up-contradicts",
                f"bed {bed.written} is {'' if bed.overturned else 'not '}said to be overturned, and its tops say {says}",
                bed.span,
                "look at both: the beds are upright, without `overturned`, or they young the other way"
                if bed.overturned
                else _upside_down(bed, [one for one in beds if one is not bed]),
                labels=(Label(bed.tops.span, "tops"),),
            )


def _upside_down(bed: PlaneAttitude, others: Sequence[PlaneAttitude]) -> str:
    """What to type where tops alone turn a bed over: first what the other beds of the day bear out."""
    assert bed.tops is not None
    toward = bed.tops.toward
    meant = "up" if toward is None else _opposite(toward.written, toward.azimuth_deg)
    over, tops = "`overturned` after the attitude where the beds lie upside down", f"`tops {meant}`"
    if any(one.overturned or one.upside_down for one in others):
        return f"{over}; or {tops}: look at the page"
    return f"{tops}, as no other bed lies upside down; or {over}" if others else f"{over}; or {tops}"


def _opposite(written: str, azimuth_deg: float) -> str:
    point = written.upper()
    if point in POINTS:
        return POINTS[(POINTS.index(point) + len(POINTS) // 2) % len(POINTS)]
    return bearing_text(azimuth_deg + 180.0, quadrant=is_quadrant(written))
