"""Which unit underlies the walk, stretch by stretch."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise

from traverse.diagnostic import Diagnostic, Outcome, warning
from traverse.location.records import PlacedAddress, PlacedLeg, Survey
from traverse.log.items import Address, Certainty, Contact, HowMet, Leg, LegKind, UnitHere
from traverse.log.records import Log
from traverse.settled import settled
from traverse.source import Span
from traverse.structure.walk.records import BandStretch
from traverse.structure.walk.unit_at import OnePlace, units_said


@dataclass
class _BandWalk:
    """What is known of the ground while the walk goes on."""

    said: Mapping[OnePlace, UnitHere]
    """A place's own unit, by the station or the index of the address."""
    on_legs: Mapping[int, tuple[Address, ...]]
    """Points and stretches of a leg, by the leg's index."""
    contacts: Mapping[int, tuple[Contact, ...]]
    """Those crossed, by the index of the address."""
    beside: Mapping[int, tuple[Contact, ...]]
    """Those beside the walk or followed, by the index of the address."""
    at_stations: Mapping[str, tuple[Contact, ...]]
    rank: Mapping[str, int]
    """Place of a unit in the list, youngest first; intrusive ones before all."""
    intrusive: frozenset[str]
    here: dict[str, str | None] = field(default_factory=dict)
    """Unit on which each station was left."""


@dataclass(frozen=True)
class _Change:
    """A place along a leg where the unit may change."""

    share: float
    contact: Contact | None = None
    unit: str | None = None
    """Unit of a stretch from here on; None at its end."""
    ends: str | None = None
    """Unit of the stretch that ends here."""
    queried: bool = False


def band(log: Log, survey: Survey) -> Outcome[tuple[BandStretch, ...]]:
    """The coloured band: the unit of the last station, then that beyond each contact crossed, until the next one's own.

    It begins where a unit was first booked; a contact tells of both its sides, back to the start of its leg. Where two
    units follow each other without a contact the change is drawn half-way, with a warning.
    """
    walk = _gather(log, survey)
    ahead = _ahead(log, survey, walk)
    stretches: list[BandStretch] = []
    said: list[Diagnostic] = []
    for index, (leg, placed) in enumerate(zip(log.legs, survey.legs, strict=True)):
        start, end = survey.places.get(leg.start), survey.places.get(leg.end)
        if start is None or end is None:
            continue
        pieces, missing = _along(leg, survey, walk, ahead[index], log.begun_at.get(leg.index))
        if missing is not None:
            said.append(missing)
        for first, last, unit, covered, queried in pieces:
            stretches.append(
                BandStretch(
                    start=_at(placed, start.east_m, start.north_m, first),
                    end=_at(placed, start.east_m, start.north_m, last),
                    leg=index,
                    start_share=first,
                    end_share=last,
                    unit=unit,
                    covered=covered,
                    queried=queried,
                )
            )
    walked = {name for leg in log.legs for name in (leg.start, leg.end)}
    for name, place in survey.places.items():
        own = walk.said.get(name)
        if name not in walked and own is not None:
            here = (place.east_m, place.north_m)
            stretches.append(
                BandStretch(
                    start=here,
                    end=here,
                    leg=None,
                    start_share=0.0,
                    end_share=0.0,
                    unit=own.letters,
                    covered=False,
                    queried=own.queried,
                )
            )
    return Outcome(tuple(stretches), tuple(said))


def _at(placed: PlacedLeg, east: float, north: float, share: float) -> tuple[float, float]:
    return settled(east + share * placed.adjusted.east_m), settled(north + share * placed.adjusted.north_m)


def _gather(log: Log, survey: Survey) -> _BandWalk:
    on_legs: dict[int, list[Address]] = defaultdict(list)
    for address in log.addresses:
        if address.leg is not None and address.station is None:
            on_legs[address.leg.index].append(address)
    by_address: dict[int, list[Contact]] = defaultdict(list)
    by_station: dict[str, list[Contact]] = defaultdict(list)
    beside: dict[int, list[Contact]] = defaultdict(list)
    for item in log.items:
        if not isinstance(item, Contact) or item.younger is None or survey.at(item.address) is None:
            continue
        if item.met is not HowMet.CROSSED:
            beside[item.address.index].append(item)
        elif item.address.station is not None:
            by_station[item.address.station].append(item)
        else:
            by_address[item.address.index].append(item)
    return _BandWalk(
        rank={
            unit.letters: index
            for index, unit in enumerate(sorted(log.units, key=lambda one: not one.intrusive))
        },
        intrusive=log.intrusive,
        said=units_said(log),
        on_legs={key: tuple(value) for key, value in on_legs.items()},
        contacts={key: tuple(value) for key, value in by_address.items()},
        beside={key: tuple(value) for key, value in beside.items()},
        at_stations={key: tuple(value) for key, value in by_station.items()},
    )


_Piece = tuple[float, float, str | None, bool, bool]


def _ahead(log: Log, survey: Survey, walk: _BandWalk) -> list[set[str | None]]:
    """For each leg the units of which one lies at its end, by what the walk meets next: one unit, or a contact's two."""
    found: list[set[str | None]] = [set() for _ in log.legs]
    next_met: set[str | None] = set()
    next_start: str | None = None
    for leg in reversed(log.legs):
        after = next_met if next_start == leg.end else set[str | None]()
        at_end = walk.said.get(leg.end)
        after = {at_end.letters} if at_end is not None else _pair_at(walk, leg.end) or after
        found[leg.index] = after
        if leg.kind is LegKind.SIDE:
            continue
        changes = _changes(leg, survey, walk)[0]
        first = next(iter(changes), None)
        own = walk.said.get(leg.start)
        if own is not None:
            next_met = {own.letters}
        elif pair := _pair_at(walk, leg.start):
            next_met = pair
        elif first is not None:
            next_met = {first.unit} if first.unit else _pair(first)
            if len(next_met) == 2:
                crossed = [one for one in changes if one.contact is not None]
                next_met = next_met - {_beyond(crossed, 0, after)}
        else:
            next_met = after
        next_start = leg.start
    return found


def _pair_at(walk: _BandWalk, station: str) -> set[str | None]:
    met = walk.at_stations.get(station, ())
    return {met[0].younger, met[0].older} if met else set()


def _along(
    leg: Leg, survey: Survey, walk: _BandWalk, ahead: set[str | None], begun: Span | None
) -> tuple[list[_Piece], Diagnostic | None]:
    """Pieces of one leg as start, end, unit, covered, queried; and what is missing."""
    own_start, own_end = walk.said.get(leg.start), walk.said.get(leg.end)
    unit = own_start.letters if own_start else walk.here.get(leg.start)
    wanted = own_end.letters if own_end else None
    changes, covers = _changes(leg, survey, walk)
    crossed = [change for change in changes if change.contact is not None]
    if not crossed and wanted is not None and unit is not None and wanted != unit:
        # A contact may be booked at the station itself, on either side of which the ground differs.
        for name, share in ((leg.start, 0.0), (leg.end, 1.0)):
            at = next(
                (c for c in walk.at_stations.get(name, ()) if {c.younger, c.older} == {unit, wanted}), None
            )
            if at is not None:
                changes = sorted([*changes, _Change(share, contact=at)], key=lambda change: change.share)
                break
        else:
            # One that was followed on the walk may be left on its other side.
            changes = sorted(
                [*changes, *_followed(leg, survey, walk, {unit, wanted})], key=lambda one: one.share
            )
    if crossed and unit is not None and unit not in _pair(crossed[0]):
        # Left on one side of a contact booked at the station, the leg begins on its other side.
        changes = [*_bridge(walk, leg.start, unit, _pair(crossed[0]), share=0.0), *changes]
    elif crossed and wanted is not None and wanted not in _pair(crossed[-1]):
        changes = [*changes, *_bridge(walk, leg.end, wanted, _pair(crossed[-1]), share=1.0)]
    if unit is None and crossed and crossed[0].contact is not None:
        pair = (crossed[0].contact.younger, crossed[0].contact.older)
        after = _beyond(crossed, 0, ahead)
        unit = None if after is None else pair[after == pair[0]]
    pieces, unit, position = _cut(changes, unit, ahead, wanted, walk.intrusive)
    missing = None
    if wanted is not None and unit is not None and unit != wanted:
        half = (position + 1.0) / 2.0
        pieces += [(position, half, unit, False), (half, 1.0, wanted, False)]
        missing = _missing(leg, (unit, wanted), own_end.span if own_end else leg.span, walk, begun)
        unit = wanted
    else:
        pieces.append((position, 1.0, unit, False))
    if own_end is not None and leg.kind is not LegKind.SIDE:
        walk.here.setdefault(leg.end, wanted)
    walk.here.setdefault(leg.end, unit)
    return _with_cover([piece for piece in pieces if piece[1] > piece[0]], covers), missing


def _followed(leg: Leg, survey: Survey, walk: _BandWalk, units: set[str | None]) -> list[_Change]:
    """A contact of two units that was followed on the walk itself, as crossed in the midst of it."""
    return [
        _Change(sum(_shares(place)) / 2.0, contact=contact)
        for address in walk.on_legs.get(leg.index, ())
        if address.offset is None and (place := survey.at(address)) is not None
        for contact in walk.beside.get(address.index, ())
        if {contact.younger, contact.older} == units
    ][:1]


def _shares(place: PlacedAddress) -> tuple[float, float]:
    first = place.start_share or 0.0
    return first, first if place.end_share is None else place.end_share


def _pair(change: _Change) -> set[str | None]:
    return {change.contact.younger, change.contact.older} if change.contact is not None else set()


def _bridge(
    walk: _BandWalk, station: str, unit: str, pair: set[str | None], *, share: float
) -> list[_Change]:
    """A contact at a station that leads from a unit to one of a pair."""
    return [
        _Change(share, contact=contact)
        for contact in walk.at_stations.get(station, ())
        if unit in {contact.younger, contact.older} and {contact.younger, contact.older} & pair
    ][:1]


def _changes(leg: Leg, survey: Survey, walk: _BandWalk) -> tuple[list[_Change], list[tuple[float, float]]]:
    changes: list[_Change] = []
    covers: list[tuple[float, float]] = []
    for address in walk.on_legs.get(leg.index, ()):
        place = survey.at(address)
        if place is None or place.start_share is None:
            continue
        first, last = _shares(place)
        if address.covered:
            covers.append((first, last))
        found = walk.contacts.get(address.index, ())
        changes.extend(_Change((first + last) / 2.0, contact=contact) for contact in found)
        unit = walk.said.get(address.index)
        if unit is not None and not found and address.index not in walk.beside:
            changes.append(_Change(first, unit=unit.letters, queried=unit.queried))
            if address.end is not None:
                changes.append(_Change(last, ends=unit.letters))
    # A contact at the end of a stretch leads into it or out of it, whichever stands first on the page.
    return sorted(changes, key=lambda change: (change.share, change.contact is None)), covers


def _beyond(crossed: list[_Change], index: int, ahead: set[str | None]) -> str | None:
    """Unit that lies beyond a contact of a leg, told from what comes after it."""
    pair = _pair(crossed[index])
    following = _pair(crossed[index + 1]) if index + 1 < len(crossed) else ahead
    if following == pair:
        # The same contact again: what lies beyond that tells.
        last = _beyond(crossed, index + 1, ahead) if index + 1 < len(crossed) else None
        return None if last is None else next(iter(pair - {last}), last)
    common = pair & following
    return common.pop() if len(common) == 1 else None


def _cut(
    changes: list[_Change],
    unit: str | None,
    ahead: set[str | None],
    wanted: str | None,
    intrusive: frozenset[str],
) -> tuple[list[tuple[float, float, str | None, bool]], str | None, float]:
    pieces: list[tuple[float, float, str | None, bool]] = []
    position, queried = 0.0, False
    host: str | None = None
    crossed = [change for change in changes if change.contact is not None]
    for change in changes:
        after = unit
        if change.contact is not None:
            pair = (change.contact.younger, change.contact.older)
            if unit in pair:
                after = pair[0] if unit == pair[1] else pair[1]
            elif unit is None or change.contact.certainty is Certainty.CERTAIN:
                # A contact that was seen has no third unit beside it, as a covered one may have loose ground over it.
                after = _beyond(crossed, crossed.index(change), ahead)
        elif change.unit is not None:
            after = change.unit
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
    return pieces, unit, position


def _with_cover(
    pieces: list[tuple[float, float, str | None, bool]], covers: list[tuple[float, float]]
) -> list[_Piece]:
    cuts = sorted({share for cover in covers for share in cover})
    out: list[_Piece] = []
    for first, last, unit, queried in pieces:
        edges = [first, *(cut for cut in cuts if first < cut < last), last]
        for start, end in pairwise(edges):
            middle = (start + end) / 2.0
            covered = any(low <= middle <= high for low, high in covers)
            out.append((start, end, unit, covered, queried))
    return out


def _missing(leg: Leg, units: tuple[str, str], span: Span, walk: _BandWalk, begun: Span | None) -> Diagnostic:
    younger, older = sorted(units, key=lambda unit: walk.rank.get(unit, len(walk.rank)))
    beside = any(
        {one.younger, one.older} == set(units)
        for address in walk.on_legs.get(leg.index, ())
        for one in walk.beside.get(address.index, ())
    )
    return warning(
        "contact-missing",
        f"{units[0]} is followed by {units[1]} between {leg.start} and {leg.end} with no contact; drawn half-way",
        span,
        "the one beside the walk is not crossed; `along DISTANCE` without a side where the walk does"
        if beside
        else f"`contact {younger}/{older} inferred` under a `covered … to …` or `along …` line of that leg",
        rests_on=[
            *([] if begun is None else [begun]),
            *(walk.said[name].span for name in (leg.start, leg.end) if name in walk.said),
            *(
                one.span
                for address in walk.on_legs.get(leg.index, ())
                for one in walk.contacts.get(address.index, ())
            ),
        ],
    )
