"""Parties of a camp whose own loop was left open: nobody knows where they walked, so others tell what the ground is."""

from __future__ import annotations

from collections.abc import Sequence

from traverse.location.records import Survey
from traverse.log.records import Log
from traverse.structure.walk.records import BandStretch, ContactLine


def open_parties(log: Log, survey: Survey) -> frozenset[str]:
    """Files of parties one of whose own loops was not adjusted; none where no other party walked.

    A loop or tie over several parties is no one's: it does not say whose reading is wrong.
    """
    files = {one.file for one in log.parties if one.letters is not None and not one.aside}
    walked = {leg.booked.span.file for leg in survey.legs}
    failing = {
        file
        for one in survey.closures
        if not one.adjusted
        for file in ({leg.span.file for leg in one.legs} & files)
        if all(leg.span.file == file for leg in one.legs)
    }
    return frozenset(failing) if walked - failing else frozenset()


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
