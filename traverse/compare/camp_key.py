"""What several parties of a key met at one place, once: stops, and contacts."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

from traverse.compare.records import Scheme
from traverse.ground.records import Traverse
from traverse.log.records import one_place
from traverse.settled import settled
from traverse.structure.readings.records import PlacedContact


def stops_once(key: Traverse, scheme: Scheme) -> dict[str, str]:
    """Each station of a key by the first that stands for its place: tied to it, or of another party and within its reach.

    Of a key that brings in no others each stands for itself.
    """
    places, ties = key.survey.places, one_place(key.log.ties)
    found: dict[str, str] = {}
    parties: dict[str, set[int | None]] = {}
    for name in (one for one in key.log.stations if one in places):
        party = key.log.party_of(name)
        first = next((found[one] for one in sorted(ties.get(name, ())) if one in found), None)
        if first is None and party is not None:
            here = places[name].east_m, places[name].north_m
            near = [
                (settled(math.dist(here, (places[one].east_m, places[one].north_m)), 3), one)
                for one, met in parties.items()
                if party not in met and None not in met
            ]
            apart, one = min(near, default=(math.inf, ""))
            first = one if apart <= scheme.pair_m else None
        found[name] = first if first is not None else name
        parties.setdefault(found[name], set()).add(party)
    return found


def missed_once(names: Iterable[str], stops: Mapping[str, str], paired: Iterable[str]) -> tuple[str, ...]:
    """Stops of a key that a log has not, each place once."""
    met = {stops.get(name, name) for name in paired}
    found: list[str] = []
    for name in names:
        if (one := stops.get(name, name)) not in met:
            met.add(one)
            found.append(name)
    return tuple(found)


def contacts_once(key: Traverse, scheme: Scheme) -> list[PlacedContact]:
    """The contacts of a key, with the first for those of other parties that met the same two units at one place."""
    found: list[PlacedContact] = []
    files: list[set[str]] = []
    lettered = {one.file for one in key.log.parties if one.letters is not None}
    for contact in key.geology.contacts:
        file = contact.booked.span.file
        near = [
            (apart, index)
            for index, one in enumerate(found)
            if file in lettered and files[index] <= lettered and file not in files[index]
            if _units(one) == _units(contact)
            if one.booked.kind is contact.booked.kind
            if (apart := _apart(one, contact)) <= _within(one, contact, scheme)
        ]
        if near:
            files[min(near)[1]].add(file)
        else:
            found.append(contact)
            files.append({file})
    return found


def _units(contact: PlacedContact) -> frozenset[str | None]:
    return frozenset((contact.younger, contact.older))


def _apart(one: PlacedContact, other: PlacedContact) -> float:
    return settled(
        math.dist((one.place.east_m, one.place.north_m), (other.place.east_m, other.place.north_m)), 3
    )


def _within(one: PlacedContact, other: PlacedContact, scheme: Scheme) -> float:
    return scheme.pair_m + scheme.contact_m + (one.half_width_m or 0.0) + (other.half_width_m or 0.0)
