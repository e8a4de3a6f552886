"""Beds that lie off those on both their sides, as a contact's own attitude bears them out or not."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from traverse.angle import wrap_180
from traverse.diagnostic import Diagnostic, Label, warning
from traverse.log.items import ContactKind
from traverse.settled import settled
from traverse.source import Span
from traverse.structure.form.records import Against, DipTurns, FoldAge, Told
from traverse.structure.odd_attitudes import (
    HALF_TURN,
    WrittenSlip,
    fitting_slip,
    fitting_slips,
    odd_between,
    slips,
)
from traverse.structure.readings.directions import Vectors, dot, pole_angle, pole_angles
from traverse.structure.readings.mean import principal_axis, widest_angle
from traverse.structure.readings.place_errors import bed_pole, contact_pole
from traverse.structure.readings.records import PlacedContact, PlaneAttitude
from traverse.structure.walk.beds import place_words
from traverse.structure.walk.neighbours import Neighbours
from traverse.trade import ALIKE_DEG, FORESET_DEG, NEARLY_FLAT_DEG, ODD_BED_DEG, POLE_SD_DEG, SURE_SD
from traverse.wording import article

_ONE_WAY_DEG = 75.0
"""Beds farther apart may turn into each other either way; common practice, no source."""

_ONE_SIDE_DEG = 45.0
"""Beds whose dips point no farther apart dip to one side, degrees; common practice, no source."""


_NEAREST = 3
"""Outcrops of other parties that are asked whether a bed is one of another limb; common practice, no source."""


class _BedApart(NamedTuple):
    """A bed and the two beside it, which agree."""

    at: int
    beside: tuple[int, int]
    off_deg: float
    slip: WrittenSlip | None
    turning: bool = False
    """Whether the two differ, as beds do that turn from one to the other, and it lies on no way between."""


class _OwnPlane(NamedTuple):
    """A contact's own attitude."""

    contact: PlacedContact
    normal: Vectors


def beds_apart(
    near: Neighbours, contacts: Sequence[PlacedContact], of_another_limb: Callable[[PlaneAttitude], bool]
) -> Iterator[Diagnostic]:
    """Beds off those on both sides, which agree: of several next to each other the one that mends them all left out.

    A contact's own attitude next to a bed that reads as the bed does bears it out. Where one bed alone on that side, at an
    end of the walk, is then left against both, it is that bed that is asked about. None is where by the units at the contacts
    on both its sides it is `of_another_limb`.
    """
    read = [
        _OwnPlane(one, own[0])
        for one in contacts
        if one.kind is ContactKind.CONTACT
        and one.booked.plane is not None
        and (own := contact_pole(one)) is not None
    ]
    read.sort(key=lambda one: one.contact.order)
    sides = {index: _beside(near, index) for index in range(len(near.beds))}
    found = {
        index: apart
        for index, beside in sides.items()
        if (apart := _apart(near, index, beside) or _apart_over_fault(near, index, beside)) is not None
    }
    asked: set[int] = set()
    for either in _wrong_ones(near, found):
        bears = {index: _borne_out_by(near, index, found[index].beside, read) for index in either}
        left = [
            found[one]
            for one in either
            if not bears[one] and not _met_by_others(near, found[one]) and not of_another_limb(near.beds[one])
        ]
        if left:
            asked.update(one.at for one in left)
            yield _told(near, left)
        for index, by in bears.items():
            for contact, other in by:
                if (end := _end_against(near, index, other, contact)) is not None:
                    asked.add(other)
                    yield end
    for index, beside in sides.items():
        if len(beside) == 1 and index not in asked:
            for contact, _ in _borne_out_by(near, beside[0], (index,), read):
                if (end := _end_against(near, beside[0], index, contact)) is not None:
                    yield end
                    break


def _beside(near: Neighbours, index: int, without: int | None = None) -> tuple[int, ...]:
    """Beds next to one, another left out."""
    beside = _next_to(near, index)
    if without not in beside:
        return beside
    beyond = [
        one for one in near.next_to(without) if one != index and (one - without) * (without - index) > 0
    ]
    return tuple(sorted([*(one for one in beside if one != without), *beyond]))


def _next_to(near: Neighbours, index: int) -> tuple[int, ...]:
    """The bed before and the bed after one; where a loop begins, that before it is the last one of the loop."""
    beside = near.next_to(index)
    if len(beside) < 2 and (last := near.closing(index)) is not None and last not in beside:
        return (*beside, last)
    return beside


def _apart(near: Neighbours, index: int, beside: Sequence[int]) -> _BedApart | None:
    if len(beside) < 2:
        return None
    first, second = (near.poles[one] for one in beside)
    if pole_angle(first, second) > ALIKE_DEG:
        return _off_turn(near, index, beside)
    nearer, farther = sorted(pole_angle(near.poles[index], other) for other in (first, second))
    if farther <= FORESET_DEG:
        # It lies as near to their mean, and no slip is looked for there.
        return None
    both = np.array([first, second])
    mean = principal_axis(both)[0]
    slip = odd_between(near.beds[index], mean, both)
    if nearer <= ODD_BED_DEG and slip is None:
        return None
    slip = slip or fitting_slip(near.beds[index], mean, within_deg=FORESET_DEG)
    return _BedApart(index, (beside[0], beside[1]), nearer, slip)


def _apart_over_fault(near: Neighbours, index: int, beside: Sequence[int]) -> _BedApart | None:
    """A bed next to a fault, off the beds on both sides, which agree over it; by a slip alone, as a fault turns beds."""
    if len(beside) != 1:
        return None
    over = {*beside, *near.next_to(index, over_faults=True)}
    found = None if len(over) != 2 else _apart(near, index, sorted(over))
    return found if found is not None and found.slip is not None and not found.turning else None


def _off_turn(near: Neighbours, index: int, beside: Sequence[int]) -> _BedApart | None:
    """A bed off the way by which those on its sides turn into each other, onto which a half turn brings it."""
    first, second = (near.poles[one] for one in beside)
    between = pole_angle(first, second)
    sides = [near.beds[one] for one in beside]
    ways = [one.dip_direction_deg for one in sides if one.dip_deg > NEARLY_FLAT_DEG]
    if between > _ONE_WAY_DEG or (len(ways) == 2 and abs(wrap_180(ways[0] - ways[1])) > _ONE_SIDE_DEG):
        return None
    axis = np.cross(first, second) / math.sin(math.radians(between))

    def off(one: Vectors) -> float:
        turned = math.degrees(math.atan2(dot(np.cross(first, one), axis), dot(first, one)))
        if 0.0 <= turned <= between:
            return settled(math.degrees(math.asin(min(1.0, abs(dot(one, axis))))))
        return min(pole_angle(one, first), pole_angle(one, second))

    bed = near.beds[index]
    here = off(near.poles[index])
    half = [slip for slip in slips(bed) if slip.words == "a half turn"]
    fits = [slip for slip in half if off(slip.pole) <= SURE_SD * max(bed.sd_deg, POLE_SD_DEG)]
    if here <= ODD_BED_DEG or not fits:
        return None
    return _BedApart(index, (beside[0], beside[1]), here, fits[0], turning=True)


def _wrong_ones(near: Neighbours, found: Mapping[int, _BedApart]) -> Iterator[list[int]]:
    """Of beds apart that stand next to each other those of which any one would mend all; where none does, each by itself.

    One that a slip explains goes before those that none does.
    """
    runs: list[list[int]] = []
    for index in found:
        if runs and runs[-1][-1] in found[index].beside:
            runs[-1].append(index)
        else:
            runs.append([index])
    for run in runs:
        mend = [
            one
            for one in run
            if all(other == one or _apart(near, other, _beside(near, other, one)) is None for other in run)
        ]
        wrong = mend or run
        explained = [one for one in wrong if found[one].slip is not None] or wrong
        yield from [explained] if mend else ([one] for one in explained)


def _met_by_others(near: Neighbours, apart: _BedApart) -> bool:
    """Whether others bear a bed out: two parties, at most of their outcrops nearest to it.

    They count as far off as the farther of the beds beside it. A walk that comes over a hinge to one station alone has
    there a bed between two of the other limb; others walked that limb.
    """
    bed = near.beds[apart.at]
    file = bed.span.file
    here = _east_north(bed)
    reach_m = max(math.dist(here, _east_north(near.beds[one])) for one in apart.beside)
    outcrops: dict[tuple[float, float], list[int]] = {}
    for at, other in enumerate(near.beds):
        if other.span.file != file:
            outcrops.setdefault(_east_north(other), []).append(at)
    by_distance = sorted((settled(math.dist(here, place), 3), place) for place in outcrops)
    nearest = [outcrops[place] for apart_m, place in by_distance if apart_m <= reach_m][:_NEAREST]
    agree = [
        at for some in nearest for at in some if pole_angle(near.poles[at], near.poles[apart.at]) <= ALIKE_DEG
    ]
    places = {_east_north(near.beds[at]) for at in agree}
    return 2 * len(places) > _NEAREST and len({near.beds[at].span.file for at in agree}) > 1


def _east_north(bed: PlaneAttitude) -> tuple[float, float]:
    return settled(bed.place.east_m, 3), settled(bed.place.north_m, 3)


def _borne_out_by(
    near: Neighbours, index: int, beside: Sequence[int], read: Sequence[_OwnPlane]
) -> list[tuple[_OwnPlane, int]]:
    """Contacts between a bed and those beside it that lie as it does, and not as those; each with the bed on its side.

    What was `read` comes in the order of the log.
    """
    orders = [one.contact.order for one in read]
    found: list[tuple[_OwnPlane, int]] = []
    for other in sorted(beside):
        found += [
            (one, other)
            for one in (read[at] for at in near.between(orders, index, other))
            if pole_angle(one.normal, near.poles[index]) <= ALIKE_DEG
            and pole_angle(one.normal, near.poles[other]) > ALIKE_DEG
        ]
    return found


def _end_against(near: Neighbours, index: int, other: int, read: _OwnPlane) -> Diagnostic | None:
    """The first or last bed, against the contact and the bed next to it, where a slip would bring it to them."""
    bed, end = near.beds[index], near.beds[other]
    if len(_beside(near, other)) > 1:
        return None
    both = np.array([read.normal, near.poles[index]])
    slip = odd_between(end, principal_axis(both)[0], both)
    if slip is None:
        return None
    plane, contact = read.contact.booked.plane, read.contact
    assert plane is not None
    off = min(pole_angle(near.poles[other], one) for one in both)
    return warning(
        "bed-apart",
        f"bed {end.written} lies {off:.0f}° off {contact.younger}/{contact.older}, {plane.written}, and the bed at "
        f"{place_words(bed)}, which agree",
        end.span,
        f"{_ASKED}: {slip.words}? {slip.reading} would fit",
        labels=(Label(contact.booked.span, plane.written), Label(bed.span, bed.written)),
    )


_ASKED = (
    "is there a fold or fault between, was a joint or block taken for bedding, or was it a slip of the pen"
)


def _told(near: Neighbours, either: Sequence[_BedApart]) -> Diagnostic:
    """The first of those that may be wrong, with the others in its place."""
    apart = either[0]
    bed = near.beds[apart.at]
    one, other = (near.beds[place] for place in apart.beside)
    fits = "" if apart.slip is None else f": {apart.slip.words}? {apart.slip.reading} would fit"
    for instead in either[1:]:
        fits += f"; or is it the bed at {place_words(near.beds[instead.at])}, which lies apart as well"
        fits += "" if instead.slip is None else f": {instead.slip.words}? {instead.slip.reading} would fit"
    may = {instead.at: "or it is this one" for instead in either[1:]}
    beside = {at: near.beds[at].written for at in apart.beside} | may
    return replace(
        warning(
            "bed-apart",
            f"bed {bed.written} lies {apart.off_deg:.0f}° off {'all between ' if apart.turning else ''}the beds at "
            f"{place_words(one)} and {place_words(other)}, which {'dip to one side' if apart.turning else 'agree'}",
            bed.span,
            f"{_ASKED}{fits}",
            labels=tuple(Label(near.beds[at].span, text) for at, text in beside.items()),
        ),
        doubts=tuple(near.beds[at].span for at in may),
    )


def doubts_uttered(
    findings: Sequence[Told], doubted: Collection[Span], agreed: Collection[Span], legs: Sequence[Span]
) -> Iterator[Diagnostic]:
    """What the structure itself leaves open because a reading may be wrong, where none of its readings is asked about yet.

    Of beds that turn against the order of the units one that is alone on its side, and that a slip would bring to the
    next, is named; else the two between which they turn. A bed that parties `agreed` on is there, whatever lies beside it.
    What lies beside what rests on `legs` of which one may be wrong.
    """
    for told in findings:
        one = told.finding
        if isinstance(one, DipTurns) and one.age is FoldAge.ROCK_REVERSED:
            if not any(bed.span in doubted for bed in one.readings):
                yield _against_units(one)
        elif isinstance(one, Against):
            # Which beds lie beside each other along the fold hangs on all of them.
            asked = [bed.span for bed in one.readings if bed.span in doubted]
            for bed in one.readings:
                if bed.span not in doubted and bed.span not in agreed:
                    yield warning(
                        "bed-against",
                        f"bed {bed.written} dips against those on both sides, which agree",
                        bed.span,
                        "is it a small fold, a fault, or a slip of the pen",
                        rests_on=[bed.span, *asked, *legs],
                    )


def both_ways(
    beds: Sequence[PlaneAttitude], doubted: Collection[Span], agreed: Collection[Span]
) -> Iterator[Diagnostic]:
    """Two beds that a party read at one outcrop of which one, its strike read from the other end, would lie as the other; once a place.

    The one that more beds there lie against, else the later. None where one is asked about yet, or is as parties `agreed` on.
    """
    by_place: dict[tuple[str | None, str], list[PlaneAttitude]] = {}
    for bed in beds:
        station = bed.booked.address.station
        if station is not None and not bed.overturned:
            by_place.setdefault((bed.span.file, station), []).append(bed)
    for read in by_place.values():
        if len(read) < 2:
            continue
        poles = np.array([bed_pole(bed)[0] for bed in read])
        if widest_angle(poles) <= ODD_BED_DEG:
            continue
        # Of many beds at one place most lie alike.
        facing = {
            bed.span: [
                read[one]
                for one in np.flatnonzero(pole_angles(poles, pole) > ODD_BED_DEG).tolist()
                if _half_turned(bed, read[one])
            ]
            for bed, pole in zip(read, poles, strict=True)
        }
        bed = max(read, key=lambda one: (len(facing[one.span]), one.order))
        if not facing[bed.span] or any(one.span in doubted or one.span in agreed for one in read):
            continue
        other = facing[bed.span][0]
        yield warning(
            "beds-both-ways",
            f"beds {other.written} and {bed.written} at {place_words(bed)} dip to opposite sides",
            bed.span,
            "was one strike read from its other end; where both are so, `checked` what was seen, such as a small fold",
            labels=(Label(other.span, "the other"),),
        )


def _half_turned(bed: PlaneAttitude, other: PlaneAttitude) -> bool:
    """Whether two beds lie apart as beds do that are asked about, and alike were the strike of one read from its other end."""
    normal = bed_pole(other)[0]
    if pole_angle(bed_pole(bed)[0], normal) <= ODD_BED_DEG:
        return False
    return any(slip.words == HALF_TURN for slip in fitting_slips(bed, normal, within_deg=ALIKE_DEG))


def _against_units(one: DipTurns) -> Diagnostic:
    first, last = one.named
    alone = [bed for bed in one.named if bed in one.lone]
    bed = alone[0] if len(alone) == 1 else last
    other = first if bed is last else last
    slip = fitting_slip(bed, bed_pole(other)[0], within_deg=FORESET_DEG) if len(alone) == 1 else None
    fits = "" if slip is None else f", or was it a slip of the pen: {slip.words}? {slip.reading} would fit"
    turn = "toward each other" if one.weighed.hollow else "away from each other"
    return warning(
        "beds-against-units",
        f"the beds at {place_words(first)} and {place_words(last)} dip {turn}, and the rock between is the wrong way about "
        f"for {article(one.weighed.value)}",
        bed.span,
        f"which holds, as way-up would tell{fits}",
        labels=(Label(other.span, other.written),),
        rests_on=[*(one.span for one in (first, last)), *(one.booked.address.span for one in (first, last))],
    )
