"""Parties of a camp whose own loop was left open: nobody knows where they walked, so others tell what the ground is."""

from __future__ import annotations

from collections.abc import Sequence

from traverse.log.records import Log
from traverse.structure.walk.records import BandStretch, ContactLine


def open_parties(log: Log) -> frozenset[str]:
    """Files of parties that hang on the others, as the step that places them found."""
    return frozenset(one.file for one in log.parties if one.hung)


def settled_stretches(
    log: Log, band: Sequence[BandStretch], loose: frozenset[str]
) -> tuple[BandStretch, ...]:
    """The walk without the legs of the files `loose`."""
    return tuple(one for one in band if one.leg is None or log.legs[one.leg].span.file not in loose)


def settled_lines(lines: Sequence[ContactLine], loose: frozenset[str]) -> tuple[ContactLine, ...]:
    """Contacts beside the walk or along it without those that the files `loose` have a part in."""
    return tuple(
        one for one in lines if all(part.contact.booked.span.file not in loose for part in one.parts)
    )
