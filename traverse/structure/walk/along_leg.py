"""What lies along one leg: the contacts crossed, the units booked, and the ground between them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise

from traverse.location.records import PlacedAddress, Survey
from traverse.log.items import Address, Certainty, Contact, Leg, LegKind
from traverse.record import record
from traverse.settled import settled
from traverse.source import Span
from traverse.structure.walk.unit_at import UnitsSaid
from traverse.trade import SAME_CROSSING_M


@dataclass
class BandWalk:
    """What is known of the ground while the walk goes on."""

    said: UnitsSaid
    on_legs: Mapping[int, tuple[Address, ...]]
    """Points and stretches of a leg, by the leg's index."""
    contacts: Mapping[int, tuple[Contact, ...]]
    """Those crossed, by the index of the address."""
    beside: Mapping[int, tuple[Contact, ...]]
    """Those beside the walk or followed, by the index of the address."""
    at_stations: Mapping[str, tuple[Contact, ...]]
    places: Mapping[frozenset[str | None], tuple[tuple[float, float], ...]]
    """East and north of every contact crossed, by its two units."""
    rank: Mapping[str, int]
    """Place of a unit in the list, youngest first; intrusive ones before all."""
    intrusive: frozenset[str]
    here: dict[str | tuple[str, str], str | None] = field(default_factory=dict)
    """Unit on which each station was left; by whom, with the file, and first by anybody."""

    def left_on(self, leg: Leg) -> str | None:
        """The unit on which the start of a leg was left, by its own party or else by another."""
        return self.here.get((leg.start, leg.span.file), self.here.get(leg.start))

    def come_to(self, leg: Leg, unit: str | None) -> None:
        """Keep the unit on which a leg ends, where none is kept."""
        self.here.setdefault((leg.end, leg.span.file), unit)
        self.here.setdefault(leg.end, unit)


@record(frozen=True)
class Missing:
    """Two units that follow each other with no contact between."""

    units: tuple[str, str]
    """In walking order."""
    share: float
    """Where the second is taken to begin."""
    span: Span
    """Where it is told."""

    def body(self, walk: BandWalk) -> str | None:
        """The intrusive one of the two; None where neither is."""
        return next((unit for unit in self.units if unit in walk.intrusive), None)


@record(frozen=True)
class Change:
    """A place along a leg where the unit may change."""

    share: float
    contact: Contact | None = None
    unit: str | None = None
    """Unit of a stretch from here on; None at its end."""
    ends: str | None = None
    """Unit of the stretch that ends here."""
    queried: bool = False
    said_at: Span | None = None
    """Where the unit was booked."""


Piece = tuple[float, float, str | None, bool, bool]


def along(
    leg: Leg, survey: Survey, walk: BandWalk, ahead: set[str | None]
) -> tuple[list[Piece], list[Missing]]:
    """Pieces of one leg as start, end, unit, covered, queried; and what is missing."""
    own_start, own_end = walk.said.at_ends(leg)
    unit = own_start.letters if own_start else walk.left_on(leg)
    wanted = own_end.letters if own_end else None
    changes, covers = changes_of(leg, survey, walk)
    crossed = [change for change in changes if change.contact is not None]
    if not crossed and wanted is not None and unit is not None and wanted != unit:
        # A contact may be booked at the station itself, on either side of which the ground differs.
        for name, share in ((leg.start, 0.0), (leg.end, 1.0)):
            at = next(
                (c for c in walk.at_stations.get(name, ()) if {c.younger, c.older} == {unit, wanted}), None
            )
            if at is not None:
                changes = sorted([*changes, Change(share, contact=at)], key=lambda change: change.share)
                break
        else:
            # One that was followed on the walk may be left on its other side.
            changes = sorted(
                [*changes, *_followed(leg, survey, walk, {unit, wanted})], key=lambda one: one.share
            )
    if crossed and unit is not None and unit not in pair_of(crossed[0]):
        # Left on one side of a contact booked at the station, the leg begins on its other side.
        changes = [*_bridge(walk, leg.start, unit, pair_of(crossed[0]), share=0.0), *changes]
    elif crossed and wanted is not None and wanted not in pair_of(crossed[-1]):
        changes = [*changes, *_bridge(walk, leg.end, wanted, pair_of(crossed[-1]), share=1.0)]
    if unit is None and crossed and crossed[0].contact is not None:
        pair = (crossed[0].contact.younger, crossed[0].contact.older)
        after = beyond(crossed, 0, ahead)
        unit = None if after is None else pair[after == pair[0]]
    pieces, unit, position, missing = _cut(changes, unit, ahead, wanted, walk.intrusive)
    if wanted is not None and unit is not None and unit != wanted:
        stands = _standing_there(leg, survey, walk, (unit, wanted), position)
        half = (position + 1.0) / 2.0 if stands is None else stands
        pieces += [(position, half, unit, False), (half, 1.0, wanted, False)]
        if stands is None:
            missing.append(Missing((unit, wanted), half, own_end.span if own_end else leg.span))
        unit = wanted
    else:
        pieces.append((position, 1.0, unit, False))
    if own_end is not None and leg.kind is not LegKind.SIDE:
        walk.come_to(leg, wanted)
    walk.come_to(leg, unit)
    return _with_cover([piece for piece in pieces if piece[1] > piece[0]], covers), missing


def _standing_there(
    leg: Leg, survey: Survey, walk: BandWalk, units: tuple[str, str], position: float
) -> float | None:
    """Share of the leg, past a position, at which a contact of its two units stands that was booked on another walk.

    One that the leg crossed itself so near by is that contact, which it does not cross again.
    """
    start, end = survey.places[leg.start], survey.places[leg.end]
    east, north = end.east_m - start.east_m, end.north_m - start.north_m
    long_m2 = east * east + north * north
    if long_m2 < SAME_CROSSING_M**2 / 4.0:
        return None
    own = [
        sum(shares_of(place)) / 2.0
        for address in walk.on_legs.get(leg.index, ())
        if (place := survey.at(address)) is not None and place.start_share is not None
        for contact in walk.contacts.get(address.index, ())
        if {contact.younger, contact.older} == {*units}
    ]
    near = SAME_CROSSING_M / math.sqrt(long_m2)
    found: list[tuple[float, float]] = []
    for e, n in walk.places.get(frozenset(units), ()):
        share = ((e - start.east_m) * east + (n - start.north_m) * north) / long_m2
        off_m = math.hypot(e - start.east_m - share * east, n - start.north_m - share * north)
        if any(abs(settled(share - one)) <= near for one in own):
            continue
        if position < share < 1.0 and off_m <= SAME_CROSSING_M:
            found.append((settled(off_m, 3), settled(share)))
    return min(found)[1] if found else None


def _followed(leg: Leg, survey: Survey, walk: BandWalk, units: set[str | None]) -> list[Change]:
    """A contact of two units that was followed on the walk itself, as crossed in the midst of it."""
    return [
        Change(sum(shares_of(place)) / 2.0, contact=contact)
        for address in walk.on_legs.get(leg.index, ())
        if address.offset is None and (place := survey.at(address)) is not None
        for contact in walk.beside.get(address.index, ())
        if {contact.younger, contact.older} == units
    ][:1]


def shares_of(place: PlacedAddress) -> tuple[float, float]:
    """From where to where along its leg; twice the same of a point."""
    first = place.start_share or 0.0
    return first, first if place.end_share is None else place.end_share


def pair_of(change: Change) -> set[str | None]:
    """The two units of a contact; none where a unit was booked."""
    return {change.contact.younger, change.contact.older} if change.contact is not None else set()


def _bridge(walk: BandWalk, station: str, unit: str, pair: set[str | None], *, share: float) -> list[Change]:
    """A contact at a station that leads from a unit to one of a pair."""
    return [
        Change(share, contact=contact)
        for contact in walk.at_stations.get(station, ())
        if unit in {contact.younger, contact.older} and {contact.younger, contact.older} & pair
    ][:1]


def changes_of(leg: Leg, survey: Survey, walk: BandWalk) -> tuple[list[Change], list[tuple[float, float]]]:
    """Where the unit may change, in walking order, and what is covered."""
    changes: list[Change] = []
    covers: list[tuple[float, float]] = []
    for address in walk.on_legs.get(leg.index, ()):
        place = survey.at(address)
        if place is None or place.start_share is None:
            continue
        first, last = shares_of(place)
        if address.covered:
            covers.append((first, last))
        found = walk.contacts.get(address.index, ())
        changes.extend(Change((first + last) / 2.0, contact=contact) for contact in found)
        unit = walk.said.first.get(address.index)
        if unit is not None and not found and address.index not in walk.beside:
            changes.append(Change(first, unit=unit.letters, queried=unit.queried, said_at=unit.span))
            if address.end is not None:
                changes.append(Change(last, ends=unit.letters))
    # A contact at the end of a stretch leads into it or out of it, whichever stands first on the page.
    return sorted(changes, key=lambda change: (change.share, change.contact is None)), covers


def beyond(crossed: list[Change], index: int, ahead: set[str | None]) -> str | None:
    """Unit that lies beyond a contact of a leg, told from what comes after it."""
    pair = pair_of(crossed[index])
    # Where the same contact comes again, what lies beyond the last of them tells, and each turns it to the other side.
    last = index
    while last + 1 < len(crossed) and pair_of(crossed[last + 1]) == pair:
        last += 1
    following = pair_of(crossed[last + 1]) if last + 1 < len(crossed) else ahead
    common = pair & following
    if following == pair or len(common) != 1:
        return None
    (unit,) = common
    return unit if (last - index) % 2 == 0 else next(iter(pair - common), unit)


def _cut(
    changes: list[Change],
    unit: str | None,
    ahead: set[str | None],
    wanted: str | None,
    intrusive: frozenset[str],
) -> tuple[list[tuple[float, float, str | None, bool]], str | None, float, list[Missing]]:
    pieces: list[tuple[float, float, str | None, bool]] = []
    missing: list[Missing] = []
    position, queried = 0.0, False
    host: str | None = None
    crossed = [change for change in changes if change.contact is not None]
    passed = -1
    for change in changes:
        after = unit
        if change.contact is not None:
            passed += 1
            pair = (change.contact.younger, change.contact.older)
            if unit in pair:
                after = pair[0] if unit == pair[1] else pair[1]
            elif unit is None or change.contact.certainty is Certainty.CERTAIN:
                # A contact that was seen has no third unit beside it, as a covered one may have loose ground over it.
                after = beyond(crossed, passed, ahead)
        elif change.unit is not None:
            after = change.unit
            if unit in intrusive and after != unit and unit is not None and change.said_at is not None:
                # What was booked in its host does not say how far the body goes.
                missing.append(Missing((unit, after), change.share, change.said_at))
        elif (
            change.ends == unit
            and wanted != unit
            and (unit in intrusive or (host is not None and wanted == host))
        ):
            after = host
        if after != unit or change.queried != queried:
            pieces.append((position, change.share, unit, queried))
            host = unit if after != unit else host
            position, unit, queried = change.share, after, change.queried
    return pieces, unit, position, missing


def _with_cover(
    pieces: list[tuple[float, float, str | None, bool]], covers: list[tuple[float, float]]
) -> list[Piece]:
    cuts = sorted({share for cover in covers for share in cover})
    out: list[Piece] = []
    for first, last, unit, queried in pieces:
        edges = [first, *(cut for cut in cuts if first < cut < last), last]
        for start, end in pairwise(edges):
            middle = (start + end) / 2.0
            covered = any(low <= middle <= high for low, high in covers)
            out.append((start, end, unit, covered, queried))
    return out
