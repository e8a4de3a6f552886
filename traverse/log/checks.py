"""Checks of a log that need no arithmetic beyond a count: what is missing, contradicts itself or looks wrong."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from typing import assert_never

from traverse.diagnostic import Diagnostic, Label, error, note, warning
from traverse.log.along_lost import check_along_lost
from traverse.log.idle_lines import check_idle_lines
from traverse.log.items import (
    Address,
    Apparent,
    Certainty,
    Contact,
    Crossing,
    Elevation,
    HowMet,
    Item,
    Leg,
    LegKind,
    Lines,
    Photo,
    PlaneKind,
    Planes,
    Sample,
    Sight,
    Tops,
    UnitHere,
    WayUp,
    Words,
)
from traverse.log.pieces import check_pieces
from traverse.log.readings import (
    Conditions,
    Declination,
    Distance,
    North,
    PaceCourse,
    PaceKind,
    SlopeKind,
    Unit,
)
from traverse.log.records import ALONE_AMONG, Log
from traverse.log.unit_order import oldest_first
from traverse.source import Span
from traverse.trade import (
    DOUBLE_PACE_M,
    LARGE_DECLINATION_DEG,
    OLD_DECLINATION_YEARS,
    SINGLE_PACE_M,
    STEEP_TO_PACE_DEG,
)
from traverse.wording import listed

_PACE_M = {
    PaceKind.SINGLE: SINGLE_PACE_M,
    PaceKind.DOUBLE: DOUBLE_PACE_M,
    None: (SINGLE_PACE_M[0], DOUBLE_PACE_M[1]),
}


AS_AT_OTHERS = 4
"""Stations at which something was booked, from which on one where nothing was is asked about."""


def check_log(log: Log, *, unread: frozenset[str] = frozenset()) -> tuple[Diagnostic, ...]:
    """What is missing from a log or can't be right in it.

    `unread` names, in capitals, the first words of lines that could not be read: what such a line would have
    said is not called missing.
    """
    return (
        *_norths(log, unread),
        *_paces(log, unread),
        *_declinations(log),
        *_unused_declination(log),
        *_pace_lengths(log),
        *_controls(log, unread),
        *_exact_fixes(log),
        *_figures_of_a_grid(log, unread),
        *_seen_under_cover(log),
        *_unit_order(log),
        *_units_of_places(log),
        *_overturned(log),
        *_legs(log),
        *_booked_twice(log),
        # What could not be read may be what is booked there.
        *(() if unread else check_idle_lines(log)),
        *_lone_units(log),
        *_lone_feet(log),
        *_lone_slope(log),
        *_left_out_at(log),
        *(() if unread & {"ALONG", "COVERED"} else check_along_lost(log)),
        *_numbering(log),
        *_start_beside_control(log, unread),
        *check_pieces(log, unread=unread),
    )


# --- which north --------------------------------------------------------------------------------------------


def _read_from_north(log: Log) -> Iterator[tuple[Span, str, Conditions, bool]]:
    """Every reading that needs a north: where, as written, what is in force, and whether it is an attitude."""
    last = None
    for leg in log.legs:
        if leg.conditions is not last:
            last = leg.conditions
            yield leg.bearing.span, leg.bearing.written, last, False
    seen: set[tuple[int, bool]] = set()
    for item in log.items:
        read = _read(item)
        if read is None:
            continue
        reading, conditions, attitude = read
        key = (id(conditions), attitude)
        if key not in seen:
            seen.add(key)
            yield item.span, reading, conditions, attitude


def _read(item: Item) -> tuple[str, Conditions, bool] | None:
    """A reading that needs a north as written, what is in force, and whether it is an attitude; None without one."""
    match item:
        case Planes():
            flat = all(one.strike_deg is None for one in item.readings)
            return None if flat else (item.written, item.conditions, True)
        case Lines() | Apparent():
            return item.written, item.conditions, True
        case Contact():
            return None if item.plane is None else (item.plane.written, item.conditions, True)
        case Sight():
            return item.bearing.written, item.conditions, False
        case WayUp():
            return None if item.toward is None else (item.toward.written, item.conditions, False)
        case Photo() | Crossing():
            way = item.looking if isinstance(item, Photo) else item.runs
            # A compass point is as coarse as the norths are apart; it is drawn as it is where none is stated.
            return None if way is None or way.written.isalpha() else (way.written, item.conditions, False)
        case UnitHere() | Words() | Sample() | Elevation():
            return None
        case _:
            assert_never(item)


def _norths(log: Log, unread: frozenset[str]) -> Iterator[Diagnostic]:
    north_told = "BEARINGS" in unread
    declination_told = "DECLINATION" in unread
    for span, written, conditions, attitude in _read_from_north(log):
        north = conditions.attitudes_from if attitude else conditions.bearings
        if north is None and not north_told:
            north_told = True
            yield error(
                "no-north",
                f"{written}: from which north",
                span,
                "add `bearings magnetic`, `bearings true` or `bearings grid` to the heading",
            )
        if north is North.MAGNETIC and conditions.declination is None and not declination_told:
            declination_told = True
            yield error(
                "no-declination",
                f"{written} is magnetic, and no declination says how far that is from true north",
                span,
                "add `declination VALUE E|W, YEAR, SOURCE` to the heading, as the map's margin says, or `declination from model`",
                "if the dial was set, the readings are true; `bearings true`",
            )


# --- paces --------------------------------------------------------------------------------------------------


def _paced(log: Log) -> Iterator[tuple[Distance, Conditions]]:
    for leg in log.legs:
        if leg.distance.unit.is_pace:
            yield leg.distance, leg.conditions
    for address in log.addresses:
        if address.leg is not None:
            for distance in (address.start, address.end, address.offset):
                if distance is not None and distance.unit.is_pace:
                    yield distance, address.conditions


def _paces(log: Log, unread: frozenset[str]) -> Iterator[Diagnostic]:
    if "PACE" in unread:
        return
    told: set[str | None] = set()
    kinds_told: set[tuple[Span, Unit]] = set()
    counted = Counter((one.pace.span, distance.unit) for distance, one in _paced(log) if one.pace is not None)
    others = Counter(span for span, _ in counted.elements())
    for distance, conditions in _paced(log):
        pace = conditions.pace
        if pace is None:
            if conditions.pacer not in told and "PACER" not in unread:
                told.add(conditions.pacer)
                yield _no_pace(log, distance, conditions)
        elif distance.unit is not Unit.PACES and (pace.span, distance.unit) not in kinds_told:
            kinds_told.add((pace.span, distance.unit))
            alone = counted[pace.span, distance.unit] == 1 and others[pace.span] > ALONE_AMONG
            yield from _kind_of_pace(distance, pace, alone=alone)


def _no_pace(log: Log, distance: Distance, conditions: Conditions) -> Diagnostic:
    if not log.paces:
        return error(
            "no-pace",
            f"{distance.written}: how long is a pace",
            distance.span,
            "add `pace double LENGTH in COUNT, COUNT` to the heading, as it was walked, or `single` for `double`",
        )
    if conditions.pacer is not None:
        return error(
            "no-pace-of",
            f"{distance.written}: no pace of {conditions.pacer} is given",
            distance.span,
            f"add `pace {conditions.pacer} double LENGTH in COUNT, COUNT`, as it was walked, or `single` for `double`",
        )
    owners = [pace.who for pace in log.paces if pace.who]
    return error(
        "whose-paces",
        f"{distance.written}: whose paces",
        distance.span,
        f"`pacer {owners[0] if owners else 'WHO'}` above this line",
    )


def _kind_of_pace(distance: Distance, pace: PaceCourse, *, alone: bool) -> Iterator[Diagnostic]:
    """A count that says another kind of pace than the one in force; asked about where it does so alone."""
    typed = PaceKind.DOUBLE if distance.unit is Unit.DOUBLE_PACES else PaceKind.SINGLE
    if pace.kind is None:
        yield error(
            "pace-kind",
            f"{distance.written}: the `pace` line (line {pace.span.line}) does not say whether a pace is single or double",
            distance.span,
            "`pace single …` or `pace double …` there",
        )
    elif pace.kind is not typed:
        count = distance.value * (2.0 if typed is PaceKind.DOUBLE else 0.5)
        fact = f"{distance.written} counts as {count:g} of the {pace.kind.value} paces in force"
        if not alone:
            yield note("pace-kind", fact, distance.span)
            return
        figures = distance.written.rstrip("sdpSDP ")
        yield warning(
            "pace-kind",
            f"{fact}, alone of all counts",
            distance.span,
            f"look at the page: was it `{figures}p`, counted as the others?",
        )


def _pace_lengths(log: Log) -> Iterator[Diagnostic]:
    for pace in log.paces:
        length = pace.length_m
        if length is None and pace.course_m is not None and pace.counts:
            length = pace.course_m * len(pace.counts) / sum(pace.counts)
        shortest, longest = _PACE_M[pace.kind]
        if length is not None and not shortest <= length <= longest:
            kind = f"{pace.kind.value} pace" if pace.kind else "pace"
            yield warning(
                "pace-length",
                f"a {kind} of {log.lengths.said(length, places=2)} is unusual; "
                f"{log.lengths.said_between(shortest, longest)} is what people walk",
                pace.span,
                "single or double, metres or feet? look at the page",
            )


# --- heading ------------------------------------------------------------------------------------------------


def _declinations(log: Log) -> Iterator[Diagnostic]:
    seen: dict[Span, Declination] = {}
    old: set[Span] = set()
    for conditions in _all_conditions(log):
        given = conditions.declination
        if given is None or given.value_deg is None:
            continue
        if given.span not in seen:
            seen[given.span] = given
            if abs(given.value_deg) > LARGE_DECLINATION_DEG:
                yield warning(
                    "large-declination",
                    f"a declination of {abs(given.value_deg):g} degrees is found near the poles only",
                    given.span,
                    "look at the chart",
                )
        stale = conditions.date is not None and given.year is not None and given.change_deg is None
        if stale and given.span not in old:
            assert conditions.date is not None
            assert given.year is not None
            apart = abs(conditions.date.year - given.year)
            if apart > OLD_DECLINATION_YEARS:
                old.add(given.span)
                day = conditions.date
                # The same figures in another order are the year of the one day or of the other, misread.
                turned = sorted(f"{day.year:04}") == sorted(f"{given.year:04}")
                # Nobody reads a declination before it is, nor walked before there were charts of it.
                value = f"{abs(given.value_deg):g} {'W' if given.value_deg < 0.0 else 'E'}"
                meant = (
                    f"date {given.year:04}-{day:%m-%d}"
                    if given.year < day.year or day.year < _FIRST_CHARTED
                    else f"declination {value}, {day.year:04}, SOURCE"
                )
                fits = f"`{meant}` if its figures were exchanged; else " if turned else ""
                yield warning(
                    "old-declination",
                    f"the declination of {given.year} is {apart} years from the day of the work",
                    given.span,
                    f"{fits}give the year's change too, `declination {value}, "
                    f"{given.year}, change VALUE E|W, SOURCE`, "
                    "or `declination from model`",
                )


_FIRST_CHARTED = 1700
"""Year before which no chart gave a declination; source, from memory: Halley's chart of the Atlantic, 1701."""
_SET = re.compile(r"\bset\b", re.IGNORECASE)


def _unused_declination(log: Log) -> Iterator[Diagnostic]:
    """A declination that no reading of the log wants, while nothing says that the dial was set by it."""
    norths = {
        one.attitudes_from if attitude else one.bearings for _, _, one, attitude in _read_from_north(log)
    }
    if not log.legs or len(norths) != 1 or norths & {North.MAGNETIC, None}:
        return
    given = next((one.declination for one in _all_conditions(log) if one.declination is not None), None)
    if given is None or _SET.search(given.source or ""):
        return
    [north] = norths
    value = (
        ""
        if given.value_deg is None
        else f" of {abs(given.value_deg):g} {'W' if given.value_deg < 0.0 else 'E'}"
    )
    yield warning(
        "declination-unused",
        f"under `bearings {north.value if north else ''}` this declination{value} is used for nothing",
        given.span,
        "a compass that was not set reads `bearings magnetic`",
        "if its dial was set, say so in this line, `…, set on the dial`",
    )


def _all_conditions(log: Log) -> Iterator[Conditions]:
    last = log.heading.first
    yield last
    for address in log.addresses:
        if address.conditions is not last:
            last = address.conditions
            yield last


def _controls(log: Log, unread: frozenset[str]) -> Iterator[Diagnostic]:
    if log.heading.epsg is not None or "GRID" in unread:
        return
    for control in log.controls:
        if control.lat_deg is not None:
            yield error(
                "no-grid",
                f"{control.name} is given by latitude and longitude, and no grid says where that is on the map",
                control.span,
                "add `grid EPSG:n`; a UTM zone on WGS 84 is EPSG:326zz north, EPSG:327zz south, zz the zone",
            )
            return


_RECEIVER = re.compile(r"\b(?:gps|gnss|receiver|phone|handheld|fix)\b", re.IGNORECASE)


def _exact_fixes(log: Log) -> Iterator[Diagnostic]:
    """Points by a receiver that are held as exact, where others of the log say how good they are."""
    fixes = [one for one in log.controls if _RECEIVER.search(one.source or "")]
    good = [one for one in fixes if one.sd_plan_m is not None]
    if not good:
        if len(fixes) > 1:
            names = listed([one.name for one in fixes])
            yield warning(
                "control-exact",
                f"how good {names} by {fixes[0].source} are no line says, and they are held as exact",
                fixes[0].span,
                "`±n m` before the source, with the error that the receiver showed",
            )
        return
    for one in log.controls:
        if one.sd_plan_m is None and one.source is not None and _RECEIVER.search(one.source):
            yield warning(
                "control-exact",
                f"how good the point {one.name} by {one.source} is, its line does not say, and it is held as exact; line "
                f"{good[0].span.line} says ±{log.lengths.said(good[0].sd_plan_m or 0.0)} of {good[0].name}",
                one.span,
                "`±n m` before the source, with the error that the receiver showed",
            )


_OF_A_GRID_M = 100_000.0
"""Eastings and northings from which on nobody's own grid counts; common practice, no source."""


def _figures_of_a_grid(log: Log, unread: frozenset[str]) -> Iterator[Diagnostic]:
    """Known points in figures as only the grid of a map has, where no grid is named."""
    if log.heading.epsg is not None or "GRID" in unread:
        return
    for one in log.controls:
        if one.east_m is not None and min(abs(one.east_m), abs(one.north_m or 0.0)) >= _OF_A_GRID_M:
            yield warning(
                "grid-missing",
                f"{one.name} has figures of a map's grid, and no line says of which: it is taken as a grid of your own, with "
                "true north up it",
                one.span,
                "`grid EPSG:n` in the heading, as the map's margin or the receiver says",
            )
            return


def _seen_under_cover(log: Log) -> Iterator[Diagnostic]:
    """Contacts booked as seen in a stretch in which no rock is seen."""
    for item in log.items:
        if (
            isinstance(item, Contact)
            and item.address.covered
            and item.certainty is Certainty.CERTAIN
            and item.met is HowMet.CROSSED
        ):
            what = "the fault" if item.named is None else "/".join(item.named)
            yield warning(
                "certain-covered",
                f"{what} is `certain`, which says that it was seen, and stands under `covered` (line {item.address.span.line}), "
                "where no rock is seen",
                item.span,
                "`inferred` for `certain`; or `along DISTANCE` above it, where it was seen",
                rests_on=[item.address.span],
            )


def _unit_order(log: Log) -> Iterator[Diagnostic]:
    if oldest_first(log):
        dated = [unit for unit in log.units if unit.age and not unit.intrusive]
        first, last = dated[0], dated[-1]
        yield warning(
            "units-upside-down",
            f"the list of units runs from {first.age} to {last.age}: oldest first",
            first.span,
            "`unit` lines stand youngest first, as a legend reads",
        )


def _units_of_places(log: Log) -> Iterator[Diagnostic]:
    """The first unit of a place counts, so that another is either the far side of a contact or a slip."""
    rank = {unit.letters: index for index, unit in enumerate(log.units)}
    first: dict[str | int, UnitHere] = {}
    for item in log.items:
        if not isinstance(item, UnitHere):
            continue
        address = item.address
        said = first.setdefault(address.index if address.station is None else address.station, item)
        if said.letters == item.letters:
            continue
        place = "this place" if address.station is None else f"station {address.station}"
        younger, older = sorted((said.letters, item.letters), key=lambda unit: rank.get(unit, len(rank)))
        labels = [Label(said.span, f"{said.letters} is said here")]
        came = _came_to(log, address)
        if came is not None:
            labels.append(
                Label(address.span, f"or `at {address.station}` was `at {came}`, where the walk had come")
            )
        two = warning(
            "two-units",
            f"{place} is on {said.letters} (line {said.span.line}) and on {item.letters}; {said.letters} counts",
            item.span,
            f"one unit at one place: if two meet there, `contact {younger}/{older} certain` in place of this line",
            "if one is a slip, correct it, with `was` for what it read",
            labels=tuple(labels),
            rests_on=[address.span],
        )
        # Which of the two is wrong is open.
        yield replace(two, doubts=(said.span, *([] if came is None else [address.span])))


def _came_to(log: Log, address: Address) -> str | None:
    """The station that the leg above an `at` came to, where that names another one."""
    legs = [
        leg for leg in log.legs if leg.span.file == address.span.file and leg.span.line < address.span.line
    ]
    begun_by_leg = any(leg.span == address.span for leg in log.legs)
    if address.station is None or not legs or address.leg is not None or begun_by_leg:
        return None
    last = legs[-1]
    return None if address.station == last.end else last.end


# --- readings -----------------------------------------------------------------------------------------------


def _overturned(log: Log) -> Iterator[Diagnostic]:
    """Ask once for the evidence: seen at one place, it serves the beds that go with it."""
    overturned = [
        item
        for item in log.items
        if isinstance(item, Planes)
        and item.kind is PlaneKind.BED
        and any(reading.overturned for reading in item.readings)
    ]
    if not overturned:
        return
    young = {
        item.address.index for item in log.items if isinstance(item, WayUp) and item.tops is not Tops.UNSEEN
    }
    if not any(item.address.index in young for item in overturned):
        yield warning(
            "overturned-unsupported",
            f"{overturned[0].written}: what shows that it is overturned",
            overturned[0].span,
            "say how you know in a `tops` line, such as `tops SE graded beds`",
        )


def _booked_twice(log: Log) -> Iterator[Diagnostic]:
    """A contact that stands twice at one place of a leg in the same words: it would count as two."""
    seen: dict[tuple[object, ...], Contact] = {}
    for item in log.items:
        where = item.address
        if not isinstance(item, Contact) or where.leg is None or where.start is None or item.younger is None:
            continue
        beside = None if where.offset is None else (where.side, where.offset.value, where.offset.unit)
        plane = None if item.plane is None else item.plane.written
        start = (where.start.value, where.start.unit)
        key = (item.span.file, where.leg.index, start, beside, item.kind, item.younger, item.older, plane)
        first = seen.setdefault(key, item)
        if first is not item:
            yield warning(
                "contact-twice",
                f"{item.younger}/{item.older} at {where.start.written} is booked twice",
                item.span,
                "leave one of the two out, or look at the page for its own place",
                labels=(Label(first.span, "the other"),),
            )


def _lone_units(log: Log) -> Iterator[Diagnostic]:
    """A place along a leg whose distance is the one length of its log in that unit: metres typed for feet, or for paces."""
    lengths: dict[str, list[Distance]] = {}
    places: dict[str, list[Distance]] = {}
    for leg in log.legs:
        lengths.setdefault(leg.span.file, []).append(leg.distance)
    for address in log.addresses:
        if address.leg is not None:
            found = [one for one in (address.start, address.end, address.offset) if one is not None]
            lengths.setdefault(address.span.file, []).extend(found)
            if address.start is not None:
                places.setdefault(address.span.file, []).append(address.start)
    for file, starts in places.items():
        counted = Counter(_measure(one) for one in lengths[file])
        for one in starts:
            if counted[_measure(one)] > 1 or counted.total() <= ALONE_AMONG:
                continue
            alike = Counter(
                other.written.lstrip("0123456789.,/½¼¾ ") for other in starts if other is not one
            ).most_common(1)
            figures = one.written[: len(one.written) - len(one.written.lstrip("0123456789.,/½¼¾ "))].strip()
            meant = f"`{figures}{alike[0][0]}`" if alike else "the unit of the others"
            yield warning(
                "lone-unit",
                f"{one.written} is the one length of this log in {_measure(one)}",
                one.span,
                f"look at the page: was it {meant}?",
            )


def _lone_slope(log: Log) -> Iterator[Diagnostic]:
    """A slope that is the one of its log in per cent, or in degrees."""
    for one in log.lone_slopes:
        what, meant = (
            ("per cent", f"{one.value:+g}")
            if one.kind is SlopeKind.GRADE
            else ("degrees", f"{one.value:+g}%")
        )
        yield warning(
            "lone-slope",
            f"{one.written} is the one slope of this log in {what}",
            one.span,
            f"look at the page: was it `{meant}`?",
        )


_HEIGHT_IN_FEET = re.compile(rf"(?<![±\d.,/+-])(?P<figures>\d+(?:\.\d+)?)\s*{Unit.FEET.value}\b")
_FEET = re.compile(rf"\b(?:{Unit.FEET.value}|{Unit.FEET.name})\b", re.IGNORECASE)


def _lone_feet(log: Log) -> Iterator[Diagnostic]:
    """The height of a known point that alone is in feet where all else of a log is in metres or paces."""
    by_feet = [one for one in log.controls if _HEIGHT_IN_FEET.search(one.written)]
    measured = [leg.distance for leg in log.legs]
    measured += [
        one for at in log.addresses for one in (at.start, at.end, at.offset) if at.leg is not None and one
    ]
    elsewhere = (
        log.heading.heights or "",
        *(one.written for one in log.items if isinstance(one, Elevation)),
        *(one.source or "" for one in log.controls),
    )
    if (
        len(by_feet) != 1
        or len(measured) <= ALONE_AMONG
        or log.lengths.in_feet
        or any(one.unit is Unit.FEET for one in measured)
        or any(map(_FEET.search, elsewhere))
    ):
        return
    height = _HEIGHT_IN_FEET.search(by_feet[0].written)
    assert height is not None
    yield warning(
        "lone-unit",
        f"the height of {by_feet[0].name}, {height[0]}, is the one figure of this log in {Unit.FEET.name.lower()}",
        by_feet[0].span,
        f"look at the page and the map: was it `{height['figures']} m`?",
    )


def _measure(distance: Distance) -> str:
    """What a distance was measured in, paces of either kind alike."""
    return "paces" if distance.unit.is_pace else distance.unit.name.lower()


def _left_out_at(log: Log) -> Iterator[Diagnostic]:
    """Units and beds along the leg to the one station at which nothing was booked: its `at` may have been left out."""
    # An `at` that leads back later, to begin an arm, is not the one that is missing.
    told = {item.address.station for item in log.items} | _come_to_at(log)
    reached = [leg for leg in log.legs if leg.kind is LegKind.TO]
    silent = [leg for leg in reached if leg.end not in told]
    if len(silent) != 1 or len(reached) <= AS_AT_OTHERS:
        return
    [leg] = silent
    last = max((one.index for one in log.addresses if one.leg is leg), default=None)
    here = [item for item in log.items if item.address.index == last]
    first = next((item for item in here if isinstance(item, UnitHere) or _is_bed(item)), None)
    if first is not None and (first.address.end is None or first.address.covered):
        # Where the next `at` names the wrong station, this one's is not missing.
        after = next((one for one in log.addresses if one.index > first.address.index), None)
        yield warning(
            "at-left-out",
            f"this lies along the leg to {leg.end}, and at {leg.end}, alone of all stations, nothing is booked",
            first.span,
            f"if it was read at {leg.end}, write `at {leg.end}` above this line; `checked WHO WHY` answers this",
            rests_on=[] if after is None else [after.span],
        )


def _come_to_at(log: Log) -> set[str]:
    """Stations whose `at` stands where the walk had just come to them."""
    legs = {leg.span: leg for leg in log.legs}
    found: set[str] = set()
    came: str | None = None
    for one in log.addresses:
        if one.span in legs:
            came = legs[one.span].end
        elif one.station is not None and one.station == came:
            found.add(one.station)
    return found


def _numbering(log: Log) -> Iterator[Diagnostic]:
    """Stations numbered on by one but for one place: lines in another order, or a number that is missing."""
    odd = log.out_of_order
    if odd:
        first = odd[0]
        then = listed([f"{leg.start} to {leg.end} (line {leg.span.line})" for leg in odd[1:]])
        told = warning(
            "stations-order",
            f"{first.start} leads to {first.end}, then {then}; else stations are numbered on by one",
            first.span,
            f"do the lines of {first.end} stand in the wrong place? look at the page; `checked WHO WHY` answers this",
        )
        yield replace(told, doubts=(*(leg.span for leg in odd), *_at_ends(log, odd)))
    skipped = log.skipped
    if skipped is not None:
        yield note(
            "station-skipped",
            f"stations are numbered on by one, and after {skipped.before} there is no {skipped.name}",
            skipped.leg.span,
            f"if the page has a {skipped.name}, its leg and what was booked there stand above this line",
        )


def _at_ends(log: Log, legs: tuple[Leg, ...]) -> tuple[Span, ...]:
    """The `at` lines of the stations that legs lead between, from the first of them to where the walk goes on in order."""
    ends = {name for leg in legs for name in (leg.start, leg.end)}
    return tuple(one.span for one in log.addresses if one.station in ends)


def _reached_from(log: Log, start: str) -> set[str]:
    """Stations that legs and ties join to one."""
    near: dict[str, list[str]] = {}
    for a, b in (*((leg.start, leg.end) for leg in log.legs), *((tie.first, tie.second) for tie in log.ties)):
        near.setdefault(a, []).append(b)
        near.setdefault(b, []).append(a)
    found, front = {start}, [start]
    for one in front:  # grows while it is walked
        fresh = [other for other in near.get(one, ()) if other not in found]
        found.update(fresh)
        front += fresh
    return found


def _is_bed(item: Item) -> bool:
    return isinstance(item, Planes) and item.kind is PlaneKind.BED


def _start_beside_control(log: Log, unread: frozenset[str]) -> Iterator[Diagnostic]:
    """A walk that begins at a name of its own, while one known point of the log is never come to."""
    if not log.addresses or not log.legs or "AT" in unread:
        return
    begun = log.addresses[0]
    come_to = {name for leg in log.legs for name in (leg.start, leg.end)}
    come_to |= {name for tie in log.ties for name in (tie.first, tie.second)}
    controls = {control.name for control in log.controls}
    looked_at = {item.target for item in log.items if isinstance(item, Sight)}
    missed = [
        one
        for one in log.controls
        if one.name not in come_to and one.name not in looked_at and one.span.file == log.file
    ]
    again = any(leg.end == begun.station for leg in log.legs) or begun.station in {
        name for tie in log.ties for name in (tie.first, tie.second)
    }
    if begun.station is None or begun.station in controls or again or len({one.name for one in missed}) != 1:
        return
    # That the walk, or a piece of it, comes to none is said with the places.
    if _reached_from(log, begun.station) & controls:
        name = missed[0].name
        yield warning(
            "start-unknown",
            f"the walk begins at {begun.station}, which is no known point, and never comes to {name}, which is one",
            begun.span,
            f"if it begins there, write `at {name}`; `checked WHO WHY` answers this",
            labels=(Label(missed[0].span, f"{name} is here"),),
        )


def _legs(log: Log) -> Iterator[Diagnostic]:
    for leg in log.legs:
        slope = leg.slope
        if (
            slope is not None
            and slope.kind is SlopeKind.DEGREES
            and abs(slope.value) > STEEP_TO_PACE_DEG
            and leg.distance.unit.is_pace
        ):
            yield warning(
                "steep-leg",
                f"{slope.written} degrees is too steep to pace",
                slope.span,
                f"if it was read in per cent, `{slope.value:+g}%`",
            )
    for address in log.addresses:
        if (
            address.leg is not None
            and address.offset is not None
            and address.offset.unit is address.leg.distance.unit
            and address.offset.value > address.leg.distance.value
        ):
            yield warning(
                "wide-offset",
                f"{address.offset.written} beside a leg of {address.leg.distance.written}",
                address.offset.span,
                "left and right face forward along the leg; a far place is better a `side` shot",
                labels=(Label(address.leg.span, "the leg"),),
            )
