"""Which places and legs an adjustment stands behind, and which hang on a loop or tie that was left open."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from traverse.location.records import Closure, Place, PlacedLeg, PlaceKind, Standing
from traverse.log.items import Tie

_ROOTS = frozenset({PlaceKind.CONTROL, PlaceKind.SIGHTED})
"""Places that no leg is needed for."""


def with_standing(
    places: Mapping[str, Place],
    legs: Sequence[PlacedLeg],
    closures: Sequence[Closure],
    ties: Iterable[Tie],
) -> tuple[dict[str, Place], tuple[PlacedLeg, ...]]:
    """Places and legs with their `standing`.

    A leg of a loop that was not adjusted is vouched for by another loop that was. A place that is reached from no
    known point, or else from the first station, without a leg of an open loop is as doubtful as that.
    """
    closures = [one for one in closures if not one.hung]
    vouched = {leg.index for one in closures if one.adjusted for leg in one.legs}
    doubtful = {leg.index for one in closures if not one.adjusted for leg in one.legs} - vouched
    closed = {name for one in closures if one.adjusted for name in one.stations}
    sound = _reached(places, [one for one in legs if one.booked.index not in doubtful], ties)

    def of_place(name: str) -> Standing:
        if doubtful and name not in sound:
            return Standing.NOT_ADJUSTED
        return Standing.ADJUSTED if name in closed else Standing.UNCHECKED

    def of_leg(index: int) -> Standing:
        if index in doubtful:
            return Standing.NOT_ADJUSTED
        return Standing.ADJUSTED if index in vouched else Standing.UNCHECKED

    return (
        {name: replace(one, standing=of_place(name)) for name, one in places.items()},
        tuple(replace(one, standing=of_leg(one.booked.index)) for one in legs),
    )


def _reached(places: Mapping[str, Place], legs: Iterable[PlacedLeg], ties: Iterable[Tie]) -> set[str]:
    """Stations that a way of legs and ties leads to from a known point, from the first station where there is none."""
    beside: defaultdict[str, list[str]] = defaultdict(list)
    joined = [
        *((one.booked.start, one.booked.end) for one in legs),
        *((one.first, one.second) for one in ties),
    ]
    for start, end in joined:
        beside[start].append(end)
        beside[end].append(start)
    found = {name for name, one in places.items() if one.kind in _ROOTS} or set(list(places)[:1])
    waiting = list(found)
    while waiting:
        new = [name for name in beside[waiting.pop()] if name not in found]
        found.update(new)
        waiting += new
    return found
