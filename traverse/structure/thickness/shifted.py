"""A contact that makes the unit on one side as much thinner as that on the other thicker: its place may be miscounted."""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from traverse.diagnostic import Diagnostic, Label, warning
from traverse.length import Lengths
from traverse.location.records import Survey
from traverse.log.readings import Distance
from traverse.numerals import neighbours_exchanged
from traverse.settled import settled
from traverse.source import Span
from traverse.structure.readings.directions import dot
from traverse.structure.readings.place_errors import bed_pole, place_vector
from traverse.structure.readings.records import PlacedContact
from traverse.structure.thickness.records import Thickness
from traverse.structure.walk.fault_blocks import BodyBeds
from traverse.trade import SURE_SD

_WHOLE = re.compile(r"\d+(?![\d.])")
_EXCHANGED = "digits exchanged"
_LEAST_OTHERS = 2
"""So many other crossings, which agree, tell how thick a unit is; common practice, no source."""
_OUTERMOST_SD = 4.0
"""A crossing is off by so many standard errors where it alone says so; common practice, no source."""


class _Off(NamedTuple):
    """A crossing beside the other ones of its unit."""

    thick: Thickness
    by_m: float
    """Thicker than the others; thinner below zero."""
    sd_m: float


class _Shift(NamedTuple):
    """A contact between a unit too thick and one too thin."""

    contact: PlacedContact
    first: _Off
    second: _Off


def shifted_contacts(
    survey: Survey,
    thick: Sequence[Thickness],
    contacts: Sequence[PlacedContact],
    beds: BodyBeds,
    lengths: Lengths,
) -> Iterator[Diagnostic]:
    """Contacts along a leg on whose two sides the units differ from their other crossings, by more than their errors, by as much.

    Where each unit has two crossings alone, the contact between the other two may be the one instead: one message has both.
    Of a contact of the outermost unit, which was crossed whole on one side alone, another figure must set that side right.
    """
    at = {one.booked.span: one for one in contacts}
    whole: dict[str, list[Thickness]] = defaultdict(list)
    for one in thick:
        if not one.at_least:
            whole[one.unit].append(one)
    beside: dict[Span, list[_Off]] = defaultdict(list)
    for crossings in whole.values():
        for index, one in enumerate(crossings):
            off = _off(one, [*crossings[:index], *crossings[index + 1 :]])
            if off is not None:
                for span in one.between:
                    beside[span].append(off)
    found = [
        _Shift(at[span], *two)
        for span, two in beside.items()
        if len(two) == 2 and span in at and at[span].booked.address.leg is not None and _as_much(*two)
    ]
    told: set[frozenset[str]] = set()
    for shift in found:
        units = frozenset({shift.first.thick.unit, shift.second.thick.unit})
        if len(units) == 2 and units not in told:
            told.add(units)
            same = [other for other in found if {other.first.thick.unit, other.second.thick.unit} == units]
            yield _told(shift, same, lengths)
    asked = {span for shift in found for span in (*shift.first.thick.between, *shift.second.thick.between)}
    of_span: dict[Span, list[Thickness]] = defaultdict(list)
    for one in (one for crossings in whole.values() for one in crossings):
        for span in one.between:
            of_span[span].append(one)
    for crossings in whole.values():
        for index, one in enumerate(crossings):
            others = [*crossings[:index], *crossings[index + 1 :]]
            off = _off(one, others) if len(others) >= _LEAST_OTHERS else None
            if off is None or abs(off.by_m) <= _OUTERMOST_SD * off.sd_m or asked & {*one.between}:
                continue
            # Of the two contacts the one that is borne out on its other side is not the one.
            alone = [span for span in one.between if len(of_span[span]) == 1]
            if len(alone) == 1 and alone[0] in at:
                ends = [at[span] for span in one.between if span in at]
                if len(ends) == 2:
                    yield from _outermost(survey, off, at[alone[0]], ends, contacts, beds, lengths)


def _outermost(
    survey: Survey,
    off: _Off,
    contact: PlacedContact,
    ends: Sequence[PlacedContact],
    contacts: Sequence[PlacedContact],
    beds: BodyBeds,
    lengths: Lengths,
) -> Iterator[Diagnostic]:
    """A contact that leaves the one unit beside it that was crossed whole too thick or thin, where figures exchanged or lost would not."""
    address, place, unit = contact.booked.address, contact.place, off.thick.unit
    own = beds.of(unit)
    start = address.start
    if address.leg is None or start is None or address.end is not None or not own:
        return
    if place.start_share is None or place.leg_azimuth_deg is None or start.value <= 0.0:
        return
    # By how much thicker the unit is for each unit of the figure that the contact lies farther along its leg.
    nearest = min(own, key=lambda bed: abs(bed.order - contact.order))
    normal = bed_pole(nearest, to_true_deg=survey.frame.to_true_deg)[0]
    azimuth, slope = math.radians(place.leg_azimuth_deg), math.radians(place.leg_slope_deg)
    along = np.array(
        [math.sin(azimuth) * math.cos(slope), math.cos(azimuth) * math.cos(slope), math.sin(slope)]
    )
    other = next(one for one in ends if one is not contact)
    across = dot(normal, place_vector(place) - place_vector(other.place))
    length_m = survey.legs[address.leg.index].ground_m
    rate = math.copysign(1.0, across) * dot(normal, along) * place.start_share * length_m / start.value
    on_leg = sorted(
        one.place.start_share
        for one in contacts
        if one is not contact and one.booked.address.leg is address.leg and one.place.start_share is not None
    )
    low = max((share for share in on_leg if share <= place.start_share), default=0.0)
    high = min((share for share in on_leg if share > place.start_share), default=1.0)
    fits = []
    for words, figure in _figures(start):
        share = place.start_share * figure / start.value
        left_m = abs(off.by_m + rate * (figure - start.value))
        if low < share < high and left_m <= off.sd_m:
            fits.append((words != _EXCHANGED, settled(left_m, 3), words, figure))
    if not fits:
        return
    *_, words, figure = min(fits)
    written = _WHOLE.sub(f"{figure:g}", start.written, count=1)
    booked = contact.booked
    how = "thinner" if off.by_m < 0.0 else "thicker"
    yield warning(
        "contact-shifted",
        f"{booked.younger}/{booked.older} here leaves {unit} {lengths.said(abs(off.by_m))} {how} than where it was met elsewhere",
        booked.span,
        f"{words} in its `along`? {written} would fit; else {unit} changes, a bed turns, or a fault runs unseen",
        rests_on=[booked.span],
    )


def _figures(distance: Distance) -> Iterator[tuple[str, float]]:
    """Other figures that a whole number may have been; none of one with a part that stays as it is, as 12½ has."""
    found = _WHOLE.match(distance.written)
    if found is None or float(found[0]) != distance.value:
        return
    digits = found[0]
    for other in neighbours_exchanged(digits):
        yield _EXCHANGED, float(other)
    for digit in "0123456789":
        for other in {digit + digits, digits + digit}:
            if other[0] != "0":
                yield "a figure lost", float(other)


def _off(one: Thickness, others: Sequence[Thickness]) -> _Off | None:
    """How a crossing differs from the others, which agree; None where they don't, or it doesn't."""
    if not others:
        return None
    weights = [1.0 / max(_sd_m(other), 1e-3) ** 2 for other in others]
    mean = math.fsum(w * other.true_m for w, other in zip(weights, others, strict=True)) / math.fsum(weights)
    if any(abs(other.true_m - mean) > SURE_SD * _sd_m(other) for other in others):
        return None
    sd = math.hypot(_sd_m(one), 1.0 / math.sqrt(math.fsum(weights)))
    by = settled(one.true_m - mean)
    return _Off(one, by, sd) if abs(by) > SURE_SD * sd else None


def _sd_m(one: Thickness) -> float:
    """With half of what the ways of reckoning it leave open."""
    low, high = one.range_m
    return math.hypot(one.sd_m, (high - low) / 2.0)


def _as_much(one: _Off, other: _Off) -> bool:
    both = math.hypot(one.sd_m, other.sd_m)
    return one.by_m * other.by_m < 0.0 and abs(one.by_m + other.by_m) <= 2.0 * both


def _told(one: _Shift, same: Sequence[_Shift], lengths: Lengths) -> Diagnostic:
    thin, thickened = sorted((one.first, one.second), key=lambda off: off.by_m)
    booked = one.contact.booked
    others = [other.contact.booked for other in same if other is not one]
    said = (
        f"{booked.younger}/{booked.older} here leaves {thin.thick.unit} {lengths.said(-thin.by_m)} thinner, and "
        f"{thickened.thick.unit} {lengths.said(thickened.by_m)} thicker, than where they were met elsewhere"
    )
    return warning(
        "contact-shifted",
        said,
        booked.span,
        "look at the page for its `along`: digits exchanged, a ten lost; else both units change, or a fault runs unseen",
        labels=tuple(Label(other.span, "or it is this one that is off") for other in others),
        rests_on=[booked.span, *(other.span for other in others)],
    )
