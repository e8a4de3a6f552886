"""What the walks saw of which it is known where it lies."""

from __future__ import annotations

from dataclasses import replace

from traverse.log.records import Log
from traverse.structure.records import Geology
from traverse.structure.walk.open_parties import settled_stretches


def settled_ground(log: Log, geology: Geology) -> Geology:
    """Without the ground, contacts and bodies of parties whose own loop was left open beside others'."""
    loose = geology.open_parties
    if not loose:
        return geology
    return replace(
        geology,
        band=settled_stretches(log, geology.band, loose),
        contacts=tuple(one for one in geology.contacts if one.booked.span.file not in loose),
        contact_lines=tuple(
            one
            for one in geology.contact_lines
            if all(part.contact.booked.span.file not in loose for part in one.parts)
        ),
        bodies=tuple(
            one
            for one in geology.bodies
            if not any(
                part.leg is not None and log.legs[part.leg].span.file in loose for part in one.stretches
            )
        ),
    )
