"""Bodies of rock that have a structure of their own: above and below an unconformity, on each side of a fault."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence

import numpy as np

from traverse.location.records import PlacedAddress
from traverse.log.items import ContactKind
from traverse.log.records import Log
from traverse.record import record
from traverse.settled import first_least
from traverse.structure.readings.directions import pole_angle
from traverse.structure.readings.place_errors import bed_pole
from traverse.structure.readings.records import PlacedContact, PlaneAttitude
from traverse.structure.walk.across import unit_ranks
from traverse.trade import CAP_DEG, DISCORDANT_DEG

Node = tuple[str | int, int]
"""A station before and after the faults booked at it, or a leg between its faults."""


def body_finder(
    log: Log, beds: Sequence[PlaneAttitude], contacts: Sequence[PlacedContact]
) -> Callable[[str | None], int | None]:
    """Which body a unit belongs to, 0 the uppermost bedrock; loose ground is -1.

    An unconformity parts all units from its upper one on from those below it, unless the beds beside it agree and are no
    longer gentle: then both were turned together. None of no unit where there are several bodies.
    """
    rank = unit_ranks(log)
    loose = {unit.letters for unit in log.units if unit.loose}
    cuts = sorted(
        {
            rank[one.younger]
            for one in contacts
            if one.kind is ContactKind.UNCONFORMITY
            and one.younger is not None
            and one.younger not in loose
            and rank.get(one.younger, 0) < rank.get(one.older or "", -1)
            and _angular(one, beds)
        }
    )

    def body(unit: str | None) -> int | None:
        if unit in loose:
            return -1
        if unit is not None and unit in rank:
            return bisect_left(cuts, rank[unit])
        return None if cuts else 0

    return body


@record(frozen=True, slots=True, kw_only=True)
class BodyBeds:
    """Beds by the body of rock that they belong to: those of one tell nothing of how another lies."""

    body: Callable[[str | None], int | None]
    """Of a unit."""
    beds: Mapping[int, tuple[PlaneAttitude, ...]]
    """By body, in the order of the log; none of ground whose unit is not known where there are several bodies."""

    def of(self, unit: str | None) -> tuple[PlaneAttitude, ...]:
        """The beds of the body that a unit belongs to."""
        where = self.body(unit)
        return () if where is None else self.beds.get(where, ())

    def lies_as(self, contact: PlacedContact, unit: str) -> bool:
        """Whether the surface of a contact lies as the beds of a unit: that on which a cover rests goes with the cover."""
        where = self.body(contact.younger)
        return where is not None and where == self.body(unit)


def body_beds(log: Log, beds: Sequence[PlaneAttitude], contacts: Sequence[PlacedContact]) -> BodyBeds:
    """The beds parted by body; see `body_finder`."""
    body = body_finder(log, beds, contacts)
    parted: dict[int, list[PlaneAttitude]] = defaultdict(list)
    for bed in beds:
        where = body(bed.unit)
        if where is not None:
            parted[where].append(bed)
    return BodyBeds(body=body, beds={where: tuple(own) for where, own in parted.items()})


def _angular(contact: PlacedContact, beds: Sequence[PlaneAttitude]) -> bool:
    """Whether the beds nearest to a contact above and below it differ, or are gentle, which beds are as they are laid down.

    True too where one of them is not known.
    """
    here = contact.place
    near = []
    for unit in (contact.younger, contact.older):
        own = [bed for bed in beds if bed.unit == unit]
        if not own:
            return True
        off = [math.hypot(bed.place.east_m - here.east_m, bed.place.north_m - here.north_m) for bed in own]
        near.append(own[first_least(np.array(off))])
    if all(bed.dip_deg < CAP_DEG for bed in near):
        return True
    upper, lower = (bed_pole(bed)[0] for bed in near)
    return pole_angle(upper, lower) > DISCORDANT_DEG


def block_finder(log: Log, contacts: Sequence[PlacedContact]) -> Callable[[PlacedAddress, int], int | None]:
    """Which block between faults a place lies in, by what was booked there of such an order: what can be walked to from it without crossing one.

    A fault round whose end one can walk parts nothing. None of a station that no leg reaches.
    """
    on_legs: dict[int, list[float]] = defaultdict(list)
    at_stations: dict[str, int] = {}
    for one in contacts:
        address = one.booked.address
        if one.kind is not ContactKind.FAULT or address.offset is not None:
            continue
        if address.station is not None:
            at_stations.setdefault(address.station, one.order)
        elif address.leg is not None and (middle := one.place.middle_share) is not None:
            on_legs[address.leg.index].append(middle)
    if not on_legs and not at_stations:
        return lambda *_: 0
    parent: dict[Node, Node] = {}

    def root(node: Node) -> Node:
        parent.setdefault(node, node)
        while parent[node] != node:
            parent[node] = node = parent[parent[node]]
        return node

    for shares in on_legs.values():
        shares.sort()
    for leg in log.legs:
        parent[root((leg.index, 0))] = root((leg.start, int(leg.start in at_stations)))
        parent[root((leg.index, len(on_legs.get(leg.index, ()))))] = root((leg.end, 0))
    numbers = {node: index for index, node in enumerate(dict.fromkeys(map(root, list(parent))))}

    def block(place: PlacedAddress, order: int) -> int | None:
        address = place.address
        if address.station is not None:
            after = order > at_stations.get(address.station, order)
            node: Node = (address.station, int(after))
        elif address.leg is not None:
            share = place.start_share or 0.0
            node = (address.leg.index, bisect_left(on_legs.get(address.leg.index, []), share))
        else:
            return None
        return numbers[root(node)] if node in parent else None

    return block
