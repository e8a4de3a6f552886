"""What the log says of each place, gathered once for tables, blocks and lists."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

from traverse.ground.records import Traverse
from traverse.log.items import Contact, Item, UnitHere, Words, WordsKind
from traverse.log.records import Log, RockUnit
from traverse.record import record
from traverse.sheet.paper.words import EN_DASH
from traverse.source import Span
from traverse.structure.readings.records import Attitude
from traverse.structure.records import Geology
from traverse.structure.walk.records import StationUnit


@record(frozen=True, slots=True, kw_only=True)
class Stops:
    """Lookups by station, by address and by line of the log."""

    at_station: Mapping[str, tuple[Item, ...]]
    """Everything described at a station, in the order of the log."""
    at_address: Mapping[int, tuple[Item, ...]]
    """Everything described at an address, by `Address.index`."""
    units: Mapping[str, StationUnit]
    """By the station."""
    attitudes: Mapping[Span, Attitude]
    """By the line of the reading."""
    contact_numbers: Mapping[Span, str]
    """`c1`, `c2` and so on in the order of the log."""
    hazards: tuple[tuple[str, Words], ...]
    """`H1`, `H2` and so on with what was noted, in the order of the log, placed or not."""

    def unit_at(self, station: str) -> str | None:
        """Letters of the unit at a station, with `?` where it is doubted."""
        found = self.units.get(station)
        return None if found is None else found.letters + ("?" if found.queried else "")

    def unit_told(self, station: str) -> str:
        """The same for a table: in brackets where it was not booked; empty where none is known."""
        letters = self.unit_at(station) or ""
        return f"({letters})" if letters and self.units[station].carried else letters


def carried_on(geology: Geology) -> tuple[str, ...]:
    """Stations whose unit is that of the station before, with neither a line of their own nor a contact that tells it."""
    return tuple(one.station for one in geology.station_units if one.carried)


def gather(trav: Traverse) -> Stops:
    """Sort everything described by where it is."""
    at_station: dict[str, list[Item]] = defaultdict(list)
    at_address: dict[int, list[Item]] = defaultdict(list)
    for item in trav.log.items:
        at_address[item.address.index].append(item)
        if item.address.station is not None:
            at_station[item.address.station].append(item)
    return Stops(
        at_station={name: tuple(items) for name, items in at_station.items()},
        at_address={index: tuple(items) for index, items in at_address.items()},
        units={one.station: one for one in trav.geology.station_units},
        attitudes={one.span: one for one in trav.geology.attitudes},
        contact_numbers={
            item.span: f"c{number}"
            for number, item in enumerate(
                (one for one in trav.log.items if isinstance(one, Contact)), start=1
            )
        },
        hazards=numbered_hazards(trav.log),
    )


def numbered_hazards(log: Log) -> tuple[tuple[str, Words], ...]:
    """`H1`, `H2` and so on with what was noted, in the order of the log, placed or not."""
    return tuple((f"H{number}", item) for number, item in enumerate(log.hazards, start=1))


def names_by_line(log: Log) -> Mapping[tuple[str, int], str]:
    """Station, or leg such as `3–4`, that a line of the log speaks of; by file and line."""
    names: dict[tuple[str, int], str] = {}
    for address in log.addresses:
        if address.station is not None:
            names[address.span.file, address.span.line] = address.station
        elif address.leg is not None:
            names[address.span.file, address.span.line] = f"{address.leg.start}{EN_DASH}{address.leg.end}"
    for item in log.items:
        if item.address.station is not None:
            names[item.span.file, item.span.line] = item.address.station
        elif item.address.leg is not None:
            leg = item.address.leg
            names[item.span.file, item.span.line] = f"{leg.start}{EN_DASH}{leg.end}"
    for leg in log.legs:
        names[leg.span.file, leg.span.line] = f"{leg.start}{EN_DASH}{leg.end}"
    return names


def units_on_sheet(log: Log, geology: Geology) -> tuple[RockUnit, ...]:
    """Units under the walk, in a contact or said at a place, youngest first; intrusive bodies apart, after the others."""
    seen: set[str | None] = {stretch.unit for stretch in geology.band}
    for contact in geology.contacts:
        seen |= {contact.younger, contact.older}
    seen |= {item.letters for item in log.items if isinstance(item, UnitHere)}
    met = [unit for unit in log.units if unit.letters in seen]
    return tuple(sorted(met, key=lambda unit: unit.intrusive))


def units_between(log: Log, geology: Geology) -> tuple[RockUnit, ...]:
    """Strata that the list has between those on the sheet and that nobody met, youngest first.

    A list that several days share goes on over and under what was met on one: of that nobody asks.
    """
    on = {unit.letters for unit in units_on_sheet(log, geology)}
    strata = [unit for unit in log.units if not (unit.intrusive or unit.loose)]
    met = [at for at, unit in enumerate(strata) if unit.letters in on]
    return tuple(unit for unit in strata[met[0] : met[-1]] if unit.letters not in on) if met else ()


def rock_line(letters: str, log: Log, stops: Stops) -> str:
    """What the rock of a unit may be called: the shortest of its descriptions at a station on it, to its first stop.

    It chooses a pattern where the name of the unit tells no rock; what was said of one place is printed for no unit.
    """
    best = ""
    for item in log.items:
        if not isinstance(item, Words) or item.kind is not WordsKind.ROCK:
            continue
        here: str | None
        if item.address.station is not None:
            here = (stops.unit_at(item.address.station) or "").rstrip("?")
        else:
            said = (one for one in stops.at_address[item.address.index] if isinstance(one, UnitHere))
            here = next((one.letters for one in said), None)
        if here == letters:
            words = item.text.replace("\n", " ").strip()
            if words and (not best or len(words) < len(best)):
                best = words
    if len(best) <= _LONG_ROCK:
        return best
    for end in (";", ". "):
        head, found, _ = best.partition(end)
        if found:
            best = head
    return best


_LONG_ROCK = 44
"""Letters that fit under a unit's name beside its thickness."""
