"""Which unit a place of the walk is on."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping

from traverse.location.records import PlacedAddress
from traverse.log.items import Address, Leg, UnitHere
from traverse.log.records import Log
from traverse.record import record
from traverse.source import Span
from traverse.structure.walk.records import BandStretch, StationUnit

OnePlace = str | int
"""A station's name, else the index of an address on a leg."""


@record(frozen=True)
class UnitsSaid:
    """The units that the page names at its places."""

    first: Mapping[OnePlace, UnitHere]
    """Of each place: the first where lines of it name two, of which a check has warned."""
    of_party: Mapping[tuple[OnePlace, str], UnitHere]
    """The same of each party of a camp by itself, by its file: a stop that several share is one place of each."""

    def met(self, place: OnePlace, on: Span) -> UnitHere | None:
        """What is said at a place of the walk that a line is of: by its own party, else by another that stood there."""
        return self.of_party.get((place, on.file)) or self.first.get(place)

    def at_ends(self, leg: Leg) -> tuple[UnitHere | None, UnitHere | None]:
        """What is said where a leg begins and where it ends."""
        return self.met(leg.start, leg.span), self.met(leg.end, leg.span)


def units_said(log: Log) -> UnitsSaid:
    """The unit said at each place."""
    parties = {one.file for one in log.parties if one.letters is not None}
    said, of_party = dict[OnePlace, UnitHere](), dict[tuple[OnePlace, str], UnitHere]()
    for item in log.items:
        if isinstance(item, UnitHere):
            place, file = one_place(item.address), item.address.span.file
            said.setdefault(place, item)
            if file in parties:
                of_party.setdefault((place, file), item)
    return UnitsSaid(said, of_party)


def written_ranks(log: Log) -> Mapping[str, int]:
    """Place of a unit in the list as a contact names it, the younger first; bodies that cut before all."""
    listed = sorted(log.units, key=lambda one: not one.intrusive)
    return {unit.letters: index for index, unit in enumerate(listed)}


def one_place(address: Address) -> OnePlace:
    """What is one place: a station however often one is there, and each address on a leg."""
    return address.index if address.station is None else address.station


def station_units(log: Log, band: tuple[BandStretch, ...]) -> tuple[StationUnit, ...]:
    """The unit of each station: its own line, else that of the first stretch of the walk that ends or begins there.

    A station is reached before it is left, but for the one where the walk begins, so that is the unit on which the
    walk left it when nothing was said.
    """
    found = {
        key: StationUnit(station=key, letters=item.letters, queried=item.queried)
        for key, item in units_said(log).first.items()
        if isinstance(key, str)
    }
    for stretch in band:
        if stretch.leg is None or stretch.unit is None:
            continue
        leg = log.legs[stretch.leg]
        for station, touched in (
            (leg.end, stretch.end_share >= 1.0),
            (leg.start, stretch.start_share <= 0.0),
        ):
            if touched:
                found.setdefault(
                    station,
                    StationUnit(
                        station=station,
                        letters=stretch.unit,
                        queried=stretch.queried,
                        carried=stretch.start_share <= 0.0 and stretch.end_share >= 1.0,
                    ),
                )
    return tuple(found.values())


def unit_finder(log: Log, band: tuple[BandStretch, ...]) -> Callable[[PlacedAddress], str | None]:
    """A function that gives the unit of a place: its own line, else that of the band there; None where none is known."""
    said = units_said(log)
    at_stations = {one.station: one.letters for one in station_units(log, band)}
    on_legs: dict[int, list[BandStretch]] = defaultdict(list)
    for stretch in band:
        if stretch.leg is not None and stretch.unit is not None:
            on_legs[stretch.leg].append(stretch)

    def unit_at(place: PlacedAddress) -> str | None:
        address = place.address
        told = said.met(one_place(address), address.span)
        if told is not None:
            return told.letters
        if address.station is not None:
            return at_stations.get(address.station)
        if address.leg is None or place.start_share is None:
            return None
        share = (place.start_share + (place.end_share or place.start_share)) / 2.0
        return next(
            (one.unit for one in on_legs[address.leg.index] if one.start_share <= share <= one.end_share),
            None,
        )

    return unit_at
