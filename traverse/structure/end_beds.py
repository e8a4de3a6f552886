"""Beds at an end of a walk, an unconformity or an overturned limb, off the panel that lies on their one side."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Container, Iterator, Sequence
from typing import NamedTuple

import numpy as np

from traverse.diagnostic import Diagnostic, Label, note, warning
from traverse.log.items import ContactKind
from traverse.source import Span
from traverse.structure.beds_off import along_one_side
from traverse.structure.odd_attitudes import (
    EXCHANGED,
    HALF_TURN,
    QUARTER_TURN,
    TurnsOver,
    WrittenSlip,
    fitting_slips,
)
from traverse.structure.readings.directions import Vectors, pole_angle
from traverse.structure.readings.mean import principal_axis
from traverse.structure.readings.place_errors import contact_pole
from traverse.structure.readings.records import PlacedContact, PlaneAttitude
from traverse.structure.walk.beds import listed_places, place_words
from traverse.structure.walk.neighbours import Neighbours
from traverse.trade import ALIKE_DEG, FORESET_DEG, POLE_SD_DEG

_LEAST_PANEL = 3
"""So many beds next to each other, all alike, tell how the beds lie that go on to the end; common practice, no source."""
_FIT_SD = 2.0
"""Where beds on one side alone tell, a slip leads so near to them, standard errors of a pole; common practice, no source."""
_TURNING_SD = 1.5
"""Beds of which the nearest lies nearer to another by so much turn toward it, standard errors of a pole; common practice, no source."""


class _ReadContact(NamedTuple):
    """A plain contact whose own plane was read."""

    order: int
    normal: Vectors


class _OnOneSide(NamedTuple):
    """Beds next to one on its one side, which agree."""

    beds: tuple[PlaneAttitude, ...]
    mean: Vectors
    """With that of the contacts between them whose own plane was read."""


def end_beds(
    near: Neighbours,
    contacts: Sequence[PlacedContact],
    without: Container[Span],
    turns_over: TurnsOver,
    of_another_limb: Callable[[PlaneAttitude], bool],
) -> Iterator[Diagnostic]:
    """Beds that lie off three or more on the one side where beds were read, which agree, and by a slip as these do.

    A quarter turn and figures exchanged are asked about. A half turn is the other limb of a fold just as well, and is
    noted. The first or last bed of an overturned limb is held against that limb. None beside a fault, which turns beds, nor `without`, nor that was read again there.
    """
    read = sorted(
        (
            _ReadContact(one.order, own[0])
            for one in contacts
            if one.kind is ContactKind.CONTACT and (own := contact_pole(one)) is not None
        ),
        key=lambda one: one.order,
    )
    for index, bed in enumerate(near.beds):
        if bed.span in without or "," in bed.written:
            continue
        if (panel := _panel(near, read, index, without)) is None:
            continue
        off = pole_angle(near.poles[index], panel.mean)
        if off <= FORESET_DEG or of_another_limb(bed):
            continue
        fits = [
            slip
            for slip in fitting_slips(bed, panel.mean, within_deg=_FIT_SD * POLE_SD_DEG)
            if slip.words in ({EXCHANGED} if bed.upside_down else {EXCHANGED, QUARTER_TURN, HALF_TURN})
            and not turns_over(bed, slip)
        ]
        if fits:
            yield _asked(bed, off, panel, fits[0])


def _asked(bed: PlaneAttitude, off_deg: float, panel: _OnOneSide, slip: WrittenSlip) -> Diagnostic:
    by = f"the {len(panel.beds)} beds next to it, at {listed_places(panel.beds)}, which agree"
    fits = f"{slip.words}? {slip.reading} would fit"
    labels = tuple(Label(one.span, one.written) for one in panel.beds)
    message = f"bed {bed.written}, at an end of its beds, lies {off_deg:.0f}° off {by}"
    if slip.words == HALF_TURN:
        hint = f"a second bed at {place_words(bed)} would tell whether another limb begins there; {fits}"
        return note("bed-off", message, bed.span, hint)
    return warning(
        "bed-apart",
        message,
        bed.span,
        f"{fits}; or does a fold begin there, which a second bed would show, or was a joint or block taken for bedding",
        labels=labels,
    )


def _one_side(near: Neighbours, index: int, without: Container[Span]) -> list[int]:
    """Beds on the one side of a bed where the walk ends on the other, or the beds there are not overturned as it is said to be."""
    bed = near.beds[index]
    ends = len(near.next_to(index, over_faults=True)) == 1
    if not ends and not bed.upside_down:
        return []
    sides = [side for step in (-1, 1) if (side := along_one_side(near, index, step, without))]
    if len(sides) == 2 and bed.upside_down:
        return next((side for side in sides if _of_its_limb(near, side)), []) if _parted(near, sides) else []
    return sides[0] if len(sides) == 1 and ends and near.closing(index) is None else []


def _of_its_limb(near: Neighbours, side: Sequence[int]) -> bool:
    return all(near.beds[at].upside_down for at in side)


def _parted(near: Neighbours, sides: Sequence[Sequence[int]]) -> bool:
    """Whether those next to a bed on its two sides are of two limbs, one of them overturned."""
    return len({bool(near.beds[side[0]].upside_down) for side in sides}) == 2


def _panel(
    near: Neighbours, read: Sequence[_ReadContact], index: int, without: Container[Span]
) -> _OnOneSide | None:
    """What lies on the one side of a bed; None where beds lie on both, a fault ends them, or they don't agree."""
    bed = near.beds[index]
    side = _one_side(near, index, without)
    if len(side) < _LEAST_PANEL:
        return None
    beds = tuple(near.beds[at] for at in sorted(side))
    orders = [bed.order, *(one.order for one in beds)]
    low, high = (bisect_left(read, at, key=lambda one: one.order) for at in (min(orders), max(orders)))
    between = [one.normal for one in read[low:high] if near.walk.connected(one.order, bed.order)]
    poles = np.array([*(near.poles[at] for at in side), *between])
    mean = principal_axis(poles)[0]
    if max(pole_angle(one, mean) for one in poles) > ALIKE_DEG / 2.0:
        return None
    # Beds that turn toward it, as round a dome, go on turning.
    nearest, *_, farthest = (pole_angle(near.poles[at], near.poles[index]) for at in side)
    if farthest - nearest > _TURNING_SD * POLE_SD_DEG:
        return None
    # What is read at one place stands next to each other.
    here = [
        at
        for at in (index - 1, index + 1)
        if 0 <= at < len(near.beds) and near.beds[at].booked.address is bed.booked.address
    ]
    if any(pole_angle(near.poles[at], near.poles[index]) <= FORESET_DEG for at in here):
        return None
    return _OnOneSide(beds, mean)
