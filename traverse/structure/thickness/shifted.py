"""A contact that makes the unit on one side as much thinner as that on the other thicker: its place may be miscounted."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from traverse.diagnostic import Diagnostic, Label, warning
from traverse.length import Lengths
from traverse.settled import settled
from traverse.source import Span
from traverse.structure.readings.records import PlacedContact
from traverse.structure.thickness.records import Thickness
from traverse.trade import SURE_SD


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
    thick: Sequence[Thickness], contacts: Sequence[PlacedContact], lengths: Lengths
) -> Iterator[Diagnostic]:
    """Contacts along a leg on whose two sides the units differ from their other crossings, by more than their errors, by as much.

    Where each unit has two crossings alone, the contact between the other two may be the one instead: one message has both.
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
