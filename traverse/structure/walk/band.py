"""Which unit underlies the walk, stretch by stretch."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from traverse.diagnostic import Diagnostic, Label, Outcome, warning
from traverse.location.records import PlacedLeg, Survey
from traverse.log.items import Address, Contact, HowMet, Leg, LegKind
from traverse.log.records import Log
from traverse.settled import settled
from traverse.source import Span
from traverse.structure.walk.along_leg import BandWalk, Missing, along, beyond, changes_of, pair_of, shares_of
from traverse.structure.walk.records import BandStretch
from traverse.structure.walk.unit_at import units_said, written_ranks
from traverse.structure.walk.unsaid_bodies import inside_one
from traverse.trade import SEEN_OF_BODY_M


def band(log: Log, survey: Survey) -> Outcome[tuple[BandStretch, ...]]:
    """The coloured band: the unit of the last station, then that beyond each contact crossed, until the next one's own.

    It begins where a unit was first booked; a contact tells of both its sides, back to the start of its leg. Where two
    units follow each other without a contact the change is where another walk booked one on the same ground, else half-way,
    with a warning.
    """
    walk = _gather(log, survey)
    ahead = _ahead(log, survey, walk)
    stretches: list[BandStretch] = []
    open_ends: list[tuple[Leg, Missing]] = []
    for index, (leg, placed) in enumerate(zip(log.legs, survey.legs, strict=True)):
        start, end = survey.places.get(leg.start), survey.places.get(leg.end)
        if start is None or end is None:
            continue
        pieces, missing_here = along(leg, survey, walk, ahead[index])
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
        for missing in missing_here:
            body = missing.body(walk)
            if body is not None:
                stretches = _as_far_as_seen(stretches, log, survey, walk, body, missing)
            open_ends.append((leg, missing))
    walked = {name for leg in log.legs for name in (leg.start, leg.end)}
    for name, place in survey.places.items():
        own = walk.said.first.get(name)
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
    return Outcome(tuple(stretches), tuple(_said_missing(log, survey, walk, open_ends, stretches)))


def _as_far_as_seen(
    stretches: list[BandStretch], log: Log, survey: Survey, walk: BandWalk, body: str, missing: Missing
) -> list[BandStretch]:
    """The walk so far, a body on its last leg that has no wall between it and its host no farther than it was seen."""
    entered = missing.units[1] == body
    index = len(stretches) - 1
    if not entered:
        while index > 0 and (stretches[index].unit != body or stretches[index].start_share >= missing.share):
            index -= 1
    found: list[BandStretch] = []
    while index >= 0 and stretches[index].unit == body:
        one = stretches[index]
        assert one.leg is not None
        leg, placed = log.legs[one.leg], survey.legs[one.leg]
        before = stretches[index - 1] if index else None
        begins = before is None or before.unit != body
        shares = _seen_at(one, leg, survey, walk, body, begins=begins and not entered)
        about = SEEN_OF_BODY_M / placed.horizontal_m if placed.horizontal_m else 1.0
        low, high = one.end_share, one.start_share
        if shares:
            low = max(one.start_share, min(shares) - about) if entered else one.start_share
            high = one.end_share if entered else min(one.end_share, max(shares) + about)
        start = survey.places[leg.start]
        cuts = [one.start_share, *((low, high) if low < high else ()), one.end_share]
        parts = [
            replace(
                one,
                start=_at(placed, start.east_m, start.north_m, first),
                end=_at(placed, start.east_m, start.north_m, last),
                start_share=first,
                end_share=last,
                unit=body if low <= first < last <= high else None,
            )
            for first, last in pairwise(cuts)
            if first < last
        ]
        found = [*parts, *found]
        stretches, rest = stretches[:index], stretches[index + 1 :]
        found = [*found, *rest]
        index -= 1
        if shares or begins:
            break
    return [*stretches, *found]


def _seen_at(
    stretch: BandStretch, leg: Leg, survey: Survey, walk: BandWalk, body: str, *, begins: bool
) -> list[float]:
    """Shares of the leg at which a stretch of a body was seen: its wall, or where its unit was booked."""
    first, last = stretch.start_share, stretch.end_share
    found = [first] if begins and first > 0.0 else []
    for said, share in zip(walk.said.at_ends(leg), (0.0, 1.0), strict=True):
        if first <= share <= last and said is not None and said.letters == body:
            found.append(share)
    for address in walk.on_legs.get(leg.index, ()):
        said, place = walk.said.first.get(address.index), survey.at(address)
        if said is not None and said.letters == body and place is not None:
            found += [share for share in shares_of(place) if first <= share <= last]
    return found


def _at(placed: PlacedLeg, east: float, north: float, share: float) -> tuple[float, float]:
    return settled(east + share * placed.adjusted.east_m), settled(north + share * placed.adjusted.north_m)


def _gather(log: Log, survey: Survey) -> BandWalk:
    on_legs: dict[int, list[Address]] = defaultdict(list)
    for address in log.addresses:
        if address.leg is not None and address.station is None:
            on_legs[address.leg.index].append(address)
    places: dict[frozenset[str | None], list[tuple[float, float]]] = defaultdict(list)
    by_address: dict[int, list[Contact]] = defaultdict(list)
    by_station: dict[str, list[Contact]] = defaultdict(list)
    beside: dict[int, list[Contact]] = defaultdict(list)
    for item in log.items:
        if not isinstance(item, Contact) or item.younger is None or survey.at(item.address) is None:
            continue
        where = survey.at(item.address)
        if where is not None and item.met is HowMet.CROSSED:
            places[frozenset((item.younger, item.older))].append((where.east_m, where.north_m))
        if item.met is not HowMet.CROSSED:
            beside[item.address.index].append(item)
        elif item.address.station is not None:
            by_station[item.address.station].append(item)
        else:
            by_address[item.address.index].append(item)
    return BandWalk(
        rank=written_ranks(log),
        intrusive=log.intrusive,
        said=units_said(log),
        on_legs={key: tuple(value) for key, value in on_legs.items()},
        contacts={key: tuple(value) for key, value in by_address.items()},
        beside={key: tuple(value) for key, value in beside.items()},
        at_stations={key: tuple(value) for key, value in by_station.items()},
        places={key: tuple(value) for key, value in places.items()},
    )


def _ahead(log: Log, survey: Survey, walk: BandWalk) -> list[set[str | None]]:
    """For each leg the units of which one lies at its end, by what the walk meets next: one unit, or a contact's two."""
    found: list[set[str | None]] = [set() for _ in log.legs]
    next_met: set[str | None] = set()
    next_start: str | None = None
    for leg in reversed(log.legs):
        after = next_met if next_start == leg.end else set[str | None]()
        own, at_end = walk.said.at_ends(leg)
        after = {at_end.letters} if at_end is not None else _pair_at(walk, leg.end) or after
        found[leg.index] = after
        if leg.kind is LegKind.SIDE:
            continue
        changes = changes_of(leg, survey, walk)[0]
        first = next(iter(changes), None)
        if own is not None:
            next_met = {own.letters}
        elif pair := _pair_at(walk, leg.start):
            next_met = pair
        elif first is not None:
            next_met = {first.unit} if first.unit else pair_of(first)
            if len(next_met) == 2:
                crossed = [one for one in changes if one.contact is not None]
                next_met = next_met - {beyond(crossed, 0, after)}
        else:
            next_met = after
        next_start = leg.start
    return found


def _pair_at(walk: BandWalk, station: str) -> set[str | None]:
    met = walk.at_stations.get(station, ())
    return {met[0].younger, met[0].older} if met else set()


def _begun(log: Log, leg: Leg) -> Span | None:
    """The line by which a leg begins elsewhere than where the last one ended: an `at` above it, or its own `from`."""
    before = next((one for one in reversed(log.legs[: leg.index]) if one.kind is not LegKind.SIDE), None)
    own = leg.span if before is not None and before.end != leg.start else None
    return log.begun_at.get(leg.index, own)


def _said_missing(
    log: Log,
    survey: Survey,
    walk: BandWalk,
    open_ends: Sequence[tuple[Leg, Missing]],
    stretches: Sequence[BandStretch],
) -> Iterator[Diagnostic]:
    """One message for each contact that is missing; a unit that may be a body is asked about once."""
    inside = inside_one(log, survey, stretches) if open_ends else {}
    for leg, missing in open_ends:
        cuts = [
            f"`; intrusive` on the `unit` line of {unit}, if it is a body that cuts {inside.pop(unit)}"
            for unit in missing.units
            if unit in inside
        ]
        said = _contact_missing(leg, missing, survey, walk, cuts, _begun(log, leg))
        if leg.span == survey.ends_elsewhere:
            said = replace(said, rests_on=(*said.rests_on, Label(leg.span, "")))
        yield said


def _booked_into(leg: Leg, missing: Missing, survey: Survey, walk: BandWalk) -> Contact | None:
    """A contact of the second unit with a third, booked where the first is followed by the second."""
    left_at = 2.0 * missing.share - 1.0
    for address in walk.on_legs.get(leg.index, ()):
        place = survey.at(address)
        if place is None or place.start_share is None or sum(shares_of(place)) / 2.0 <= left_at:
            continue
        for contact in walk.contacts.get(address.index, ()):
            pair = {contact.younger, contact.older}
            if missing.units[1] in pair and missing.units[0] not in pair and None not in pair:
                return contact
    return None


def _contact_missing(
    leg: Leg, missing: Missing, survey: Survey, walk: BandWalk, cuts: Sequence[str], begun: Span | None
) -> Diagnostic:
    units, body = missing.units, missing.body(walk)
    younger, older = sorted(units, key=lambda unit: walk.rank.get(unit, len(walk.rank)))
    beside = any(
        {one.younger, one.older} == set(units)
        for address in walk.on_legs.get(leg.index, ())
        for one in walk.beside.get(address.index, ())
    )
    booked = None if body is not None else _booked_into(leg, missing, survey, walk)
    needed = f"{younger}/{older}"
    if body is not None:
        where = "where the walk leaves it" if body == units[0] else "where the walk enters it"
        fact = f": no wall of {body} is booked {where}; it is drawn no farther than it was seen"
    elif booked is not None:
        between = booked.younger if booked.older == units[1] else booked.older
        first, second = sorted(
            (units[0], between or ""), key=lambda unit: walk.rank.get(unit, len(walk.rank))
        )
        needed = f"{first}/{second}"
        fact = f": {booked.younger}/{booked.older} is booked there, and no contact {needed} before it; drawn half-way"
    else:
        fact = " with no contact; drawn half-way"
    # Under cover nobody saw which of the two it is.
    hidden = any(address.covered for address in walk.on_legs.get(leg.index, ()))
    fault = f", or `fault {needed} inferred`," if hidden and body is None else ""
    return warning(
        "contact-missing",
        f"{units[0]} is followed by {units[1]} between {leg.start} and {leg.end}{fact}",
        missing.span,
        "the one beside the walk is not crossed; `along DISTANCE` without a side where the walk does"
        if beside
        else f"`contact {needed} inferred`{fault} under a `covered … to …` or `along …` line of that leg",
        *cuts,
        rests_on=[
            *([] if begun is None else [begun]),
            *(one.span for one in walk.said.at_ends(leg) if one is not None),
            *(
                one.span
                for address in walk.on_legs.get(leg.index, ())
                for one in walk.contacts.get(address.index, ())
            ),
        ],
    )
