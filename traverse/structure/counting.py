"""Which readings count: those that neither another party nor a question says are something else.

The one place that says so: means, folds, thicknesses, contacts and sections all ask here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from traverse.diagnostic import Diagnostic
from traverse.log.items import Contact
from traverse.log.records import Log
from traverse.log.unit_order import turned_contacts
from traverse.source import Span
from traverse.structure.readings.records import (
    Attitude,
    JointOutcrop,
    PlacedContact,
    PlaneAttitude,
    by_rule,
)

OF_A_RULE = frozenset({"other-rule", "party-attitudes"})
"""What asks about the line `attitudes` of a party."""
_PLANE_DOUBTED = frozenset({"contact-slipped", "cut-slipped", "vertical-turned"})
_NO_BEDDING = frozenset({"bed-slipped", "crossbed-as-bed", "dips-with-slope", "party-attitudes"})
"""Questions whether a reading is a slip of the pen, or no bedding in place; one may be a fold is not among them."""


def under_a_doubted_rule(attitudes: Sequence[Attitude], files: frozenset[str]) -> frozenset[Span]:
    """Readings of the logs `files`, whose rule for attitudes is asked about, that it decides about; a letter speaks for itself."""
    return frozenset(
        one.span
        for one in attitudes
        if isinstance(one, PlaneAttitude) and one.span.file in files and by_rule(one.written)
    )


def not_counted(
    log: Log,
    shared: Sequence[JointOutcrop],
    ruled: frozenset[Span],
    asked: Iterable[Diagnostic] | None = None,
    loose: frozenset[str] = frozenset(),
) -> frozenset[Span]:
    """Readings and contacts that nothing is constructed from until they are settled.

    Those `ruled` by a line of the heading that is asked about, those that lie out where parties measured one outcrop, those
    that a warning says may be no bedding, or written wrong, and contacts that name the older of their units first. A
    `ruling` and a `checked` settle these, all but the first. Contacts of the files `loose`, of parties whose loop was left
    open, are off by nobody knows how much.

    Before anything was `asked`, two that disagree both count: by what each would make of the ground it is told which to
    ask about.
    """
    settled = log.answered
    doubted = {span for outcrop in shared for span in _lying_out(outcrop, ruled, of_two=asked is not None)}
    doubted |= {
        span
        for one in asked or ()
        if one.code in _NO_BEDDING and one.span is not None
        if (one.span.file, one.span.line) not in settled
        for span in (one.span, *one.doubts)
    }
    doubted |= {one.span for one in turned_contacts(log)}
    return ruled | _met_by(log, loose) | {one for one in doubted if (one.file, one.line) not in settled}


def without_doubted_planes(
    log: Log, contacts: Sequence[PlacedContact], asked: Iterable[Diagnostic]
) -> tuple[PlacedContact, ...]:
    """Contacts without the attitudes that a warning says may be written wrong, until a `checked` settles it."""
    settled = log.answered
    doubted = {
        span
        for one in asked
        if one.code in _PLANE_DOUBTED
        and one.span is not None
        and (one.span.file, one.span.line) not in settled
        for span in (one.span, *one.doubts)
    }
    return tuple(
        replace(one, strike_deg=None, dip_deg=None) if one.booked.span in doubted else one for one in contacts
    )


def _met_by(log: Log, files: frozenset[str]) -> frozenset[Span]:
    return frozenset(item.span for item in log.items if isinstance(item, Contact) and item.span.file in files)


def _lying_out(outcrop: JointOutcrop, ruled: frozenset[Span], *, of_two: bool) -> Iterator[Span]:
    """What lies out of what others read alike; `of_two` that disagree both, unless nothing but a doubted rule says so."""
    whose = {one.span.file for one in outcrop.read if one.span not in ruled}
    if outcrop.mean is not None or (of_two and len(whose) > 1):
        yield from (one.span for one, out in zip(outcrop.read, outcrop.out, strict=True) if out)
