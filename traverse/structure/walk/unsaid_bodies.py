"""Units that may be intrusive bodies, though the list of units does not say so."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from itertools import groupby

from traverse.location.records import Survey
from traverse.log.items import Contact, ContactKind, PlaneKind, Planes
from traverse.log.laid_down import laid_down_units
from traverse.log.records import Log
from traverse.structure.readings.directions import pole_angle
from traverse.structure.readings.place_errors import contact_pole
from traverse.structure.readings.records import PlacedContact, PlaneAttitude
from traverse.structure.walk.bodies import chains
from traverse.structure.walk.neighbours import Neighbours
from traverse.structure.walk.order import WalkOrder
from traverse.structure.walk.records import BandStretch, UnsaidBody
from traverse.structure.walk.unit_at import unit_finder
from traverse.trade import ODD_BED_DEG

_CALLED = re.compile(
    r"\b(?:dikes?|dykes?|sills?|intrusions?|intrusive|plutons?|stocks?|plugs?|batholiths?|laccoliths?)\b",
    re.IGNORECASE,
)


def unsaid_bodies(
    log: Log,
    beds: Sequence[PlaneAttitude],
    contacts: Sequence[PlacedContact],
    band: Sequence[BandStretch],
) -> Mapping[str, UnsaidBody]:
    """By unit; none in which a bed was read, for bedding is what a body has not, nor of a rock that is laid down."""
    near = Neighbours(beds, contacts, WalkOrder(log))
    bedded = {bed.unit for bed in beds}
    no_body = bedded | laid_down_units(log.units, log.items)
    open_ones = {
        unit.letters: unit
        for unit in log.units
        if not (unit.intrusive or unit.loose) and unit.letters not in no_body
    }
    hosts: dict[str, str] = {}
    for chain in chains(log, band):
        units = [unit for unit, _ in groupby(one.unit for one in chain)]
        for before, unit, after in zip(units, units[1:], units[2:], strict=False):
            if unit in open_ones and before is not None and before == after:
                hosts.setdefault(unit, before)
    cuts: dict[str, tuple[PlacedContact, float]] = {}
    for contact in contacts:
        own = contact_pole(contact)
        if contact.kind is not ContactKind.CONTACT or own is None:
            continue
        off = min((pole_angle(own[0], near.poles[one]) for one in near.beside(contact.order)), default=0.0)
        for unit in {contact.younger, contact.older} & open_ones.keys() if off > ODD_BED_DEG else ():
            cuts.setdefault(str(unit), (contact, off))
    found = {}
    for letters, rock in open_ones.items():
        called = _CALLED.search(rock.name)
        cut, off = cuts.get(letters, (None, 0.0))
        if cut is not None or letters in hosts:
            found[letters] = UnsaidBody(
                unit=letters,
                called=called[0].lower() if called else None,
                cut=cut,
                cut_deg=off,
                host=hosts.get(letters),
            )
    return found


def inside_one(log: Log, survey: Survey, stretches: Sequence[BandStretch]) -> dict[str, str]:
    """Units without bedding that lie within one older unit, and that unit.

    None of the pile, which is booked over one and under another, nor of a rock that is laid down.
    """
    rank = {unit.letters: index for index, unit in enumerate(log.units)}
    unit_at = unit_finder(log, tuple(stretches))
    bedded = {
        unit_at(place)
        for item in log.items
        if isinstance(item, Planes)
        and item.kind is PlaneKind.BED
        and (place := survey.at(item.address)) is not None
    }
    booked = [one for one in log.items if isinstance(one, Contact) and one.kind is ContactKind.CONTACT]
    piled = {one.younger for one in booked} & {one.older for one in booked}
    no_body = bedded | log.intrusive | piled | laid_down_units(log.units, log.items)
    found: dict[str, str] = {}
    for chain in chains(log, stretches):
        units = [unit for unit, _ in groupby(chain, key=lambda one: one.unit)]
        for before, unit, after in zip(units, units[1:], units[2:], strict=False):
            if (
                unit is not None
                and before is not None
                and before == after
                and unit not in no_body
                and rank.get(unit, 0) < rank.get(before, 0)
            ):
                found.setdefault(unit, before)
    return found
