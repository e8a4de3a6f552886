"""Contacts of a log beside those of the key: the same place, or a place between two where the key met the same contact."""

from __future__ import annotations

import math
from collections.abc import Mapping
from heapq import heappop, heappush
from typing import NamedTuple

import numpy as np
import shapely

from traverse.compare.camp_key import contacts_once, stops_once
from traverse.compare.records import ContactPair, Scheme
from traverse.compare.traces import Traces
from traverse.ground.records import Traverse
from traverse.location.records import PlaceKind, Survey
from traverse.log.items import ContactKind
from traverse.log.unit_order import turned_contacts
from traverse.settled import first_least, settled, settled_all
from traverse.source import Span
from traverse.structure.readings.records import PlacedContact

_Point = tuple[float, float]


class ContactsMet(NamedTuple):
    """What comes of holding the contacts of a log against the key's."""

    contacts: tuple[ContactPair, ...]
    between: tuple[ContactPair, ...]
    elsewhere: tuple[PlacedContact, ...]


def contact_pairs(
    log: Traverse,
    key: Traverse,
    places: Mapping[str, _Point],
    letters: Mapping[str, str],
    names: Mapping[str, str],
    moved: Mapping[str, _Point],
    scheme: Scheme,
    file: str | None,
) -> ContactsMet:
    """Each contact of the key that the log's walk came by, with the nearest one of the same two units in the log.

    Each of the log's is taken once, one on a way that the key did not walk only where it lies between two places where
    the key met it. How far the two are apart is told square to the key's trace. `file` is that of the party of the key
    which the log is.
    """
    ours = list(log.geology.contacts)
    theirs = (
        contacts_once(key, scheme)
        if file is None
        else [one for one in key.geology.contacts if one.booked.span.file == file]
    )
    on_walk = [_on_walk(one, log, places, moved) for one in ours]
    traces, stops = Traces(key), stops_once(key, scheme)
    ways = {frozenset((stops.get(leg.start), stops.get(leg.end))) for leg in key.log.legs}
    reach_m = scheme.contact_m + scheme.place_m

    def ends_of(contact: PlacedContact) -> frozenset[str | None]:
        leg = contact.booked.address.leg
        return (
            frozenset()
            if leg is None
            else frozenset(stops.get(names.get(one, "")) for one in (leg.start, leg.end))
        )

    def by_the_key(contact: PlacedContact, at: _Point) -> bool:
        """Whether the key walked where the log met a contact."""
        ends = ends_of(contact)
        return (None not in ends and ends in ways) or traces.beyond_walk_m(at) <= reach_m

    by_key = [by_the_key(one, at) for one, at in zip(ours, on_walk, strict=True)]
    came_by = _CameBy(log, key, places, names, stops)
    walked = [came_by.leg_beside(one, reach_m) is not None for one in theirs]
    taken: dict[int, int] = {}
    used: set[int] = set()
    near = []
    for j, contact in enumerate(theirs):
        for i, (one, place) in enumerate(zip(ours, on_walk, strict=True)):
            if not by_key[i] or _units_of(one, letters) != _units_of(contact, None):
                continue
            apart = math.dist(place, _at(contact))
            other = _is_fault(one) is not _is_fault(contact)
            here = apart <= _there(one, contact, scheme)
            if here or (walked[j] and not other):
                # Near a station the walk of the key may have met it on two legs: that of the log's own leg comes first.
                leg = contact.booked.address.leg
                own = leg is not None and ends_of(one) == {stops.get(leg.start), stops.get(leg.end)}
                near.append((other, not (here and own), round(apart, 3), j, i))
    for *_, j, i in sorted(near):
        if j not in taken and i not in used:
            taken[j] = i
            used.add(i)
    turned, far = {one.span for one in turned_contacts(log.log)}, walked_m(log.survey)

    def drift_m(contact: PlacedContact, at: _Point) -> float:
        leg, ends = contact.booked.address.leg, ends_of(contact)
        if leg is None or ends in ways:
            return 0.0
        share = scheme.place_share * max(far.get(one, 0.0) for one in (leg.start, leg.end))
        if None in ends:
            # Where a stop lies that the key has not, the log's own walk alone says.
            own = sum(part for name, part in contact.place.rests_on if name not in moved)
            return settled(share + scheme.place_m * min(own, 1.0), 6)
        # Away from its walk the key knows a contact by a computed trace alone.
        return settled(share + traces.beyond_walk_m(at), 6)

    def pair(contact: PlacedContact, i: int, off: float | None) -> ContactPair:
        one = ours[i]
        return ContactPair(
            key=contact,
            log=one,
            moved_m=off,
            turned=one.booked.span in turned and _letters(one, letters) == (contact.older, contact.younger),
            drift_m=drift_m(one, on_walk[i]),
        )

    def instead(contact: PlacedContact) -> PlacedContact | None:
        """The nearest contact of the log there that nothing is paired with and that has one of the two units."""
        near = [
            (settled(math.dist(place, _at(contact)), 3), i)
            for i, (one, place) in enumerate(zip(ours, on_walk, strict=True))
            if i not in used and by_key[i] and _is_fault(one) is _is_fault(contact)
            if None
            not in _letters(one, letters)  # what nothing says to be a unit of the key is no other one of it
            if len(_units_of(one, letters) & _units_of(contact, None)) == 1
        ]
        apart, i = min(near, default=(math.inf, -1))
        if i < 0 or apart > _there(ours[i], contact, scheme):
            return None
        used.add(i)
        return ours[i]

    found = []
    for j, contact in enumerate(theirs):
        i = taken.get(j, -1)
        # Where the log went its own way it met the contact farther along, by as much as tells one stop from another.
        runs_on_m = 0.0 if i < 0 or ends_of(ours[i]) in ways else reach_m + scheme.pair_m
        apart = traces.off_m(contact, on_walk[i], runs_on_m) if i >= 0 else math.inf
        if i >= 0 and apart <= _reach(ours[i], contact, scheme):
            found.append(pair(contact, i, settled(apart, 6)))
        elif walked[j]:
            missed = came_by.leg_beside(contact, reach_m)
            misnamed = None if j in taken else instead(contact)
            found.append(ContactPair(key=contact, log=None, moved_m=None, beside=missed, instead=misnamed))
    between = []
    for i, (one, place) in enumerate(zip(ours, on_walk, strict=True)):
        if by_key[i]:
            continue
        held = [
            (off, j)
            for j, contact in enumerate(theirs)
            if _units_of(one, letters) == _units_of(contact, None) and _is_fault(one) is _is_fault(contact)
            if (off := traces.between_m(contact, place)) is not None
        ]
        off, j = min(held, default=(math.inf, -1))
        # Farther off, it is as like another contact that the key did not meet.
        if j >= 0 and off <= _there(one, theirs[j], scheme) + drift_m(one, place):
            between.append(pair(theirs[j], i, off))
    return ContactsMet(
        contacts=tuple(found),
        between=tuple(between),
        elsewhere=tuple(one for j, one in enumerate(theirs) if not walked[j] and j not in taken),
    )


class _CameBy:
    """Where the log's walk came by in the key's grid: its stations where the key has them, else where it has them itself."""

    def __init__(
        self,
        log: Traverse,
        key: Traverse,
        places: Mapping[str, _Point],
        names: Mapping[str, str],
        stops: Mapping[str, str],
    ) -> None:
        self._key, self._of = key, stops
        self._stops = {name: stops.get(of, of) for name, of in names.items()}
        there = dict(places)
        for name, of in names.items():
            one = key.survey.places[of]
            there[name] = one.east_m, one.north_m
        self._legs: list[tuple[Span, str, str]] = []
        lines = []
        last: str | None = None
        for leg in log.log.legs:
            start = leg.start if leg.start in there else last
            if start is not None and leg.end in there:
                lines.append((there[start], there[leg.end]))
                self._legs.append((leg.span, leg.start, leg.end))
            last = leg.end if leg.end in there else start
        self._lines = shapely.linestrings(lines) if lines else None
        whole = _told_whole(log)
        self._whole = np.array([ends[1:] in whole for ends in self._legs], dtype=bool)

    def leg_beside(self, contact: PlacedContact, within_m: float) -> tuple[Span, str] | None:
        """The line of the leg of the log that came nearest to where the key's walk met a contact, and it in words."""
        rests = [(self._key.survey.places[name], share) for name, share in contact.place.rests_on]
        whole = sum(share for _, share in rests)
        if self._lines is None or whole <= 0.0:
            return None
        here = shapely.Point(
            sum(one.east_m * share for one, share in rests) / whole,
            sum(one.north_m * share for one, share in rests) / whole,
        )
        booked, stops = contact.booked.address, {stop: name for name, stop in self._stops.items()}
        off = settled_all(shapely.distance(self._lines, here), 3)
        if booked.leg is not None:
            ends = {stops.get(self._of.get(one, one)) for one in (booked.leg.start, booked.leg.end)}
            same = [{start, end} == ends for _, start, end in self._legs]
            # At its end a walk turns off to where the key's did not go: it came by what lies between its stops.
            along = settled_all(shapely.line_locate_point(self._lines, here), 3)
            inside = np.minimum(along, settled_all(shapely.length(self._lines), 3) - along) > within_m
            # One beside the key's that comes from unit to unit by what was booked on it crossed nothing else.
            inside &= ~self._whole
            off = np.where(same, 0.0, np.where(inside, off, np.inf))
        nearest = first_least(off)
        if off[nearest] > within_m:
            return None
        span, start, end = self._legs[nearest]
        return span, f"leg {start}–{end}"


def _told_whole(log: Traverse) -> set[tuple[str, str]]:
    """Legs of a log whose contacts lead, in the order in which they were met, from the unit at one end to that at the other."""
    units = {
        one.station: one.letters for one in log.geology.station_units if not one.queried and not one.carried
    }
    met: dict[Span, list[tuple[float, frozenset[str]]]] = {}
    for contact in log.geology.contacts:
        leg, share = contact.booked.address.leg, contact.place.middle_share
        if leg is not None and share is not None:
            met.setdefault(leg.span, []).append((share, _units_of(contact, None)))
    found = set()
    for leg in log.log.legs:
        unit, end = units.get(leg.start), units.get(leg.end)
        for _, both in sorted(met.get(leg.span, ()), key=lambda one: one[0]):
            unit = next(iter(both - {unit}), None) if unit in both and len(both) == 2 else None
        if unit is not None and unit == end:
            found.add((leg.start, leg.end))
    return found


def walked_m(survey: Survey) -> dict[str, float]:
    """How far along the walk each station lies from the nearest known point that holds it; from its first without one.

    By Dijkstra's shortest ways (1959), any text on graphs.
    """
    beside: dict[str, list[tuple[str, float]]] = {}
    for leg in survey.legs:
        start, end = leg.booked.start, leg.booked.end
        beside.setdefault(start, []).append((end, leg.horizontal_m))
        beside.setdefault(end, []).append((start, leg.horizontal_m))
    held = [name for name, place in survey.places.items() if place.kind is PlaceKind.CONTROL]
    open_ones = [(0.0, name) for name in sorted(held or list(survey.places)[:1])]
    found: dict[str, float] = {}
    while open_ones:
        far, name = heappop(open_ones)
        if name not in found:
            found[name] = settled(far, 6)
            for beyond, long in beside.get(name, ()):
                if beyond not in found:
                    heappush(open_ones, (far + long, beyond))
    return found


def _at(contact: PlacedContact) -> _Point:
    return contact.place.east_m, contact.place.north_m


def _is_fault(contact: PlacedContact) -> bool:
    return contact.kind is ContactKind.FAULT


def _there(log: PlacedContact, key: PlacedContact, scheme: Scheme) -> float:
    """Within this a line at one place may be one that was taken for another kind of line."""
    return scheme.contact_m + scheme.pair_m + (log.half_width_m or 0.0) + (key.half_width_m or 0.0)


def _reach(log: PlacedContact, key: PlacedContact, scheme: Scheme) -> float:
    """Farther apart two contacts are not the same one that was misplaced."""
    return 5.0 * (scheme.contact_m + scheme.pair_m) + (log.half_width_m or 0.0) + (key.half_width_m or 0.0)


def _on_walk(
    contact: PlacedContact, log: Traverse, places: Mapping[str, _Point], moved: Mapping[str, _Point]
) -> _Point:
    """Where a contact lies in the key's grid, were the stations beside it where the key has them.

    So a station that is off is not held against the contacts as well.
    """
    own = log.survey.places
    at = contact.place.east_m, contact.place.north_m
    rests = [(name, share) for name, share in contact.place.rests_on if name in places]
    whole, paired = sum(share for _, share in rests), sum(share for name, share in rests if name in moved)
    found = []
    for axis in (0, 1):
        laid = off = 0.0
        for name, share in rests:
            mine = own[name].east_m, own[name].north_m
            laid += share * (places[name][axis] - mine[axis]) / max(whole, 1e-9)
            if name in moved:
                off += share * moved[name][axis] / paired if paired > 0.0 else 0.0
        found.append(at[axis] + laid - off)
    return found[0], found[1]


def _letters(contact: PlacedContact, letters: Mapping[str, str]) -> tuple[str | None, str | None]:
    """Younger and older, in letters of the key."""
    return letters.get(contact.younger or ""), letters.get(contact.older or "")


def _units_of(contact: PlacedContact, letters: Mapping[str, str] | None) -> frozenset[str]:
    named = [one for one in (contact.younger, contact.older) if one is not None]
    return frozenset(named if letters is None else [letters.get(one, f"?{one}") for one in named])
