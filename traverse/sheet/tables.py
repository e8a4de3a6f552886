"""The data tables: stations and attitudes, legs, contacts with thicknesses, and what was noted in full."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from itertools import groupby

from traverse.diagnostic import Diagnostic
from traverse.length import metres_to_feet
from traverse.location.records import (
    Closure,
    HeightsMeasured,
    LoopKind,
    PaceLength,
    PlacedLeg,
    PlaceKind,
    Survey,
)
from traverse.location.records import Place as Station
from traverse.log.records import (
    Apparent,
    Certainty,
    Contact,
    ContactKind,
    Control,
    Convention,
    Crossing,
    Elevation,
    Leg,
    LegKind,
    Lines,
    Log,
    North,
    PaceKind,
    Photo,
    PlaneKind,
    Planes,
    Sample,
    Sight,
    Spot,
    Tops,
    UnitHere,
    WayUp,
    Words,
    WordsKind,
)
from traverse.log.records import (
    Item as Described,
)
from traverse.sheet.fonts import width_mm as text_width_mm
from traverse.sheet.legend import weighted_mean
from traverse.sheet.page import Anchor, Box, Face, Page, Text
from traverse.sheet.stops import Stops, common_control, gather, names_by_line, own_sd
from traverse.sheet.style import HEAD, SMALL, line_mm
from traverse.sheet.tabular import ROW_MM, Column, Laid, Pages, Place, Row, Table, flow
from traverse.sheet.words import (
    EN_DASH,
    NO_BREAK,
    NOTHING,
    along,
    arrow,
    at_least_one,
    azimuth,
    counted,
    dates,
    leg_name,
    metres,
    number,
    plain,
    plus_minus,
    quoted,
    signed,
    slope,
    title_parts,
    wrap,
)
from traverse.sheet.words import (
    spot as spot_words,
)
from traverse.source import Span
from traverse.structure.records import Attitude, Geology

_GAP_MM = 9.0
_WIDE_MM = 240.0
"""From this width on, legs and contacts stand side by side."""
_LEGS_SHARE = 0.475
_LEGS_MM, _CONTACTS_MM = 150.0, 200.0
"""Widths beyond which figures stand too far apart to be read across."""
_ALIKE = 12
"""Open warnings of one kind that are printed."""
_NOTE_LINES = 40
"""Lines of a note in one row, so that no row is taller than a page."""
_BETWEEN_MM = 4.0


def table_pages(
    log: Log,
    survey: Survey,
    geology: Geology,
    diagnostics: Sequence[Diagnostic],
    *,
    width: float,
    height: float,
    frame: Box,
) -> tuple[Page, ...]:
    """Every table, on as many pages as it takes; none where nothing was booked.

    `width` and `height` are the paper's, `frame` is what may be filled, in millimetres. Foot lines are not drawn here.
    """
    stops = gather(log, survey, geology)
    pages = Pages(frame)
    at = Place(0, 0.0)
    shortened: list[tuple[str, str, str]] = []
    rows, keys = _station_rows(log, survey, stops)
    if rows:
        title = f"{short_title(log)}: stations and attitudes"
        columns = _station_columns(log, survey)
        table = Table(title=title, asides=_station_asides(log), columns=columns, rows=tuple(rows))
        at, laid = flow(table, pages, at, x=frame.x, width=frame.width, page_title=title)
        shortened.extend(_cut_words(table, laid, keys))
    legs, contacts = _legs_table(log, survey), _contacts_table(log, survey, geology, stops)
    at = _legs_and_contacts(legs, contacts, _thickness_lines(geology, stops), pages, at)
    notes = _notes(log, shortened, diagnostics)
    if notes:
        title = "Notes in full"
        table = Table(
            title=title, asides=(_answer_count(diagnostics),), columns=_NOTE_COLUMNS, rows=tuple(notes)
        )
        flow(table, pages, _below(at), x=frame.x, width=frame.width, page_title=title)
    filled = [items for items in pages.items if items]
    return tuple(
        Page(
            width_mm=width,
            height_mm=height,
            items=tuple(items),
            title="Tables" + (f", {index + 1} of {len(filled)}" if len(filled) > 1 else ""),
        )
        for index, items in enumerate(filled)
    )


def short_title(log: Log) -> str:
    """Place and day as the head of a page: the title, its subtitle up to the first stop."""
    head, rest = title_parts(log)
    rest = rest.partition(":")[0]
    whole = f"{head}, {rest[:1].lower()}{rest[1:]}" if rest else head
    return whole if len(whole) <= 60 else whole[:57].rstrip(" ,") + "…"


def _below(at: Place) -> Place:
    return Place(at.page, at.used + _BETWEEN_MM) if at.used else at


# --- stations -----------------------------------------------------------------------------------------------


def _station_columns(log: Log, survey: Survey) -> tuple[Column, ...]:
    about = "from start" if common_control(log, survey) is not None else "m, 1 sd"
    return (
        Column(name="Station", face=Face.BOLD, least_mm=11.0, most_lines=2),
        Column(name="East", unit="m", right=True),
        Column(name="North", unit="m", right=True),
        Column(name="Height", unit="m", right=True),
        Column(name="± E N", unit=about, right=True),
        Column(name="± H", unit="m", right=True),
        Column(name="Fixed by", least_mm=14.0, most_lines=2),
        Column(name="Unit", face=Face.SEMIBOLD),
        Column(name="As written", unit="attitudes", least_mm=24.0, most_lines=4),
        Column(name="Dip → dir.", unit="true", right=True),
        Column(name="Strike", unit="true", right=True),
        Column(name="Tops", unit="seen in", least_mm=12.0, most_lines=3),
        Column(name="Rock", least_mm=26.0, most_lines=3),
        Column(name="Samples, photos", unit="hazards, fossils", least_mm=20.0, most_lines=3),
    )


_CONVENTIONS = {
    Convention.DIP_RIGHT: "dip to the right of the strike",
    Convention.DIP_LEFT: "dip to the left of the strike",
    Convention.DIP_DIRECTION: "dip direction and dip",
    Convention.LETTERS: "side of the dip by its letters",
}


def _station_asides(log: Log) -> tuple[str, ...]:
    conditions = log.heading.first
    north = conditions.attitudes_from or conditions.bearings
    care = "Metres to 1 m, angles to 1°: the readings bear no more."
    if north is None:
        return (care,)
    how = f", {_CONVENTIONS[conditions.convention]}" if conditions.convention is not None else ""
    read = f"Attitudes as written: {north.value} north{how}; all else true north."
    return (f"{read} {care}", read, f"As written: {north.value} north.")


def _station_rows(log: Log, survey: Survey, stops: Stops) -> tuple[list[Row], list[str]]:
    """A row for each station, and for each place on a leg where more than a contact was seen, in walking order."""
    rows: list[Row] = []
    keys: list[str] = []
    done: set[str] = set()

    def add(place: str, head: tuple[str, ...], unit: str, items: Sequence[Described]) -> None:
        found = [stops.attitudes[item.span] for item in items if item.span in stops.attitudes]
        way = next((item for item in items if isinstance(item, WayUp)), None)
        written = [_attitude_cells(attitude) for attitude in found] or [(NOTHING,) * 3]
        rows.append(
            Row(
                cells=(
                    *head,
                    unit,
                    *("\n".join(cells) for cells in zip(*written, strict=True)),
                    _tops(way) if way is not None else NOTHING if found else "",
                    _rock(items),
                    _things(items, stops),
                )
            )
        )
        keys.append(place)

    common = common_control(log, survey)
    heights = survey.heights is not HeightsMeasured.NONE
    for spot in _walking_order(log):
        if spot.station is not None:
            place = survey.places.get(spot.station)
            done.add(spot.station)
            add(
                f"station{NO_BREAK}{spot.station}",
                (
                    plain(spot.station),
                    *_coordinates(place, common, heights=heights),
                    _fixed_by(spot.station, place, log),
                ),
                stops.unit_at(spot.station) or "",
                stops.at_station.get(spot.station, ()),
            )
            continue
        items = tuple(one for one in stops.at_spot.get(spot.index, ()) if _in_stations(one))
        if not items:
            continue
        where = survey.at(spot)
        units = [one.letters + ("?" if one.queried else "") for one in items if isinstance(one, UnitHere)]
        add(
            spot_words(spot),
            (
                plain(leg_name(spot)),
                number(where.east_m) if where else NOTHING,
                number(where.north_m) if where else NOTHING,
                number(where.up_m) if where and heights else NOTHING,
                _own(where.sd_m, common.sd_plan_m if common is not None else None) if where else NOTHING,
                NOTHING,
                " ".join(["at", ", ".join(plain(words) for words in along(spot))]),
            ),
            "; ".join(units),
            items,
        )
    for name, place in survey.places.items():
        if name not in done:
            add(
                name,
                (plain(name), *_coordinates(place, common, heights=heights), _fixed_by(name, place, log)),
                "",
                stops.at_station.get(name, ()),
            )
    return rows, keys


def _walking_order(log: Log) -> list[Spot]:
    """Every station once and every place on a leg, as they are met: places of a leg before the station it ends at."""
    first: dict[str, Spot] = {}
    for spot in log.spots:
        if spot.station is not None:
            first.setdefault(spot.station, spot)
    order = {name: index for index, name in enumerate(first)}
    reached: dict[str, Leg] = {}
    for leg in log.legs:
        reached.setdefault(leg.end, leg)

    def key(spot: Spot) -> tuple[int, int, int]:
        if spot.station is not None:
            return (order[spot.station], 1, spot.index)
        if spot.leg is not None and reached.get(spot.leg.end) is spot.leg and spot.leg.end in order:
            start = order.get(spot.leg.start, -1)
            if start < order[spot.leg.end]:
                return (order[spot.leg.end], 0, spot.index)
        return (len(order), 0, spot.index)

    found = [spot for spot in log.spots if spot.station is None or first[spot.station] is spot]
    return sorted(found, key=key)


def _in_stations(item: Described) -> bool:
    """Whether the station table has a column for it."""
    if isinstance(item, Words):
        return item.kind in {WordsKind.ROCK, WordsKind.HAZARD, WordsKind.FOSSIL}
    return isinstance(item, UnitHere | Sample | Photo | Planes | Lines | Apparent)


def _own(sd_m: float | None, common_m: float | None) -> str:
    return at_least_one(own_sd(sd_m, common_m))


def _coordinates(
    place: Station | None, common: Control | None, *, heights: bool
) -> tuple[str, str, str, str, str]:
    if place is None:
        return (NOTHING,) * 5
    worse = None if place.sd_east_m is None else max(place.sd_east_m, place.sd_north_m or 0.0)
    return (
        number(place.east_m),
        number(place.north_m),
        number(place.up_m) if heights else NOTHING,
        _own(worse, common.sd_plan_m if common is not None else None),
        _own(place.sd_up_m, common.sd_height_m if common is not None else None)
        if heights and place.up_m is not None
        else NOTHING,
    )


def _fixed_by(name: str, place: Station | None, log: Log) -> str:
    if place is None:
        return "not placed"
    if place.kind is PlaceKind.CONTROL:
        control = next((one for one in log.controls if one.name == name), None)
        if control is None:
            return "known point"
        good = (
            f"±{NO_BREAK}{number(control.sd_plan_m)}{NO_BREAK}m" if control.sd_plan_m is not None else "held"
        )
        return ", ".join(words for words in (plain(control.source or "control"), good) if words)
    if place.kind is PlaceKind.SIDE:
        leg = next((one for one in log.legs if one.end == name), None)
        return f"side shot, {leg.start}" if leg is not None else "side shot"
    return "sights" if place.kind is PlaceKind.SIGHTED else "traverse"


def _attitude_cells(attitude: Attitude | None) -> tuple[str, str, str]:
    """As written, dip and direction (or plunge and trend), strike."""
    if attitude is None:
        return (NOTHING, NOTHING, NOTHING)
    written = plain(attitude.written)
    if attitude.kind is not PlaneKind.BED:
        written = f"{attitude.kind.value} {written}"
    if attitude.n > 1:
        written += f" (mean of {attitude.n})"
    if attitude.trend_deg is not None:
        return (written, arrow(attitude.plunge_deg, attitude.trend_deg), "")
    return (
        written,
        arrow(attitude.dip_deg, attitude.dip_direction_deg),
        f"{azimuth(attitude.strike_deg)}°" if attitude.strike_deg is not None else "",
    )


def _tops(way: WayUp) -> str:
    words = plain(way.words or "")
    if words:
        return words
    if way.toward is not None:
        return f"toward {way.toward.written}"
    return {Tops.UP: "upright", Tops.DOWN: "overturned", Tops.UNSEEN: "unseen"}.get(
        way.tops or Tops.UNSEEN, ""
    )


def _rock(items: Iterable[Described]) -> str:
    return "; ".join(
        plain(item.text) for item in items if isinstance(item, Words) and item.kind is WordsKind.ROCK
    )


def _things(items: Iterable[Described], stops: Stops) -> str:
    marks = {id(item): mark for mark, item in stops.hazards}
    said: list[str] = []
    for item in items:
        if isinstance(item, Sample):
            said.append(f"sample {plain(item.label)}" + (f" {plain(item.words)}" if item.words else ""))
        elif isinstance(item, Photo):
            looking = f" looking {item.looking.written}" if item.looking is not None else ""
            said.append(
                f"photo {plain(item.number)}{looking}" + (f" {plain(item.words)}" if item.words else "")
            )
        elif isinstance(item, Words) and item.kind is WordsKind.HAZARD:
            said.append(f"{marks[id(item)]} {plain(item.text)}")
        elif isinstance(item, Words) and item.kind is WordsKind.FOSSIL:
            said.append(f"fossil: {plain(item.text)}")
    return "; ".join(said)


def _cut_words(table: Table, laid: Laid, keys: Sequence[str]) -> list[tuple[str, str, str]]:
    """Place, column and whole words of every cell that was cut."""
    names = [column.name for column in table.columns]
    return [
        (keys[row], name, table.rows[row].cells[names.index(name)])
        for row, name in sorted(laid.cut, key=lambda pair: (pair[0], names.index(pair[1])))
    ]


# --- legs ---------------------------------------------------------------------------------------------------


def _legs_table(log: Log, survey: Survey) -> Table | None:
    if not survey.legs:
        return None
    counted_legs = [leg for leg in log.legs if leg.distance.unit.is_pace]
    paced = len(counted_legs) == len(log.legs)
    kinds = {leg.conditions.pace.kind for leg in counted_legs if leg.conditions.pace is not None}
    unit = "double" if kinds == {PaceKind.DOUBLE} else "single" if kinds == {PaceKind.SINGLE} else "paces"
    norths = {leg.conditions.bearings for leg in log.legs}
    north = (
        {North.MAGNETIC: "mag.", North.TRUE: "true", North.GRID: "grid"}.get(
            next(iter(norths)) or North.TRUE, ""
        )
        if len(norths) == 1
        else "as read"
    )
    columns = (
        Column(name="Leg", face=Face.BOLD),
        Column(name="Fore", unit=north, right=True),
        Column(name="Back", unit=north, right=True),
        Column(name="Differ", right=True),
        Column(name="Slope", right=True),
        Column(name="Paces" if paced else "As written", unit=unit if paced else "distance", right=True),
        Column(name="Ground", unit="m", right=True),
        Column(name="Level", unit="m", right=True),
        Column(name="Rise", unit="m", right=True),
        Column(name="Adj. E", unit="m", right=True),
        Column(name="Adj. N", unit="m", right=True),
    )
    walked = [leg for leg in survey.legs if leg.booked.kind is not LegKind.SIDE]
    shots = [leg for leg in survey.legs if leg.booked.kind is LegKind.SIDE]
    rows = [_leg_row(leg, paced=paced) for leg in walked]
    rows += [
        _sum_row(closure, survey, paced=paced, alone=len(survey.closures) == 1) for closure in survey.closures
    ]
    rows += [_leg_row(leg, paced=paced) for leg in shots]
    if survey.closures and shots:
        first = len(walked) + len(survey.closures)
        rows[first] = Row(cells=rows[first].cells, bold=rows[first].bold, rule_above=True)
    return Table(title="Legs", asides=(_paces_aside(survey.paces),), columns=columns, rows=tuple(rows))


def _paces_aside(paces: Sequence[PaceLength]) -> str:
    said = []
    for pace in paces:
        course = pace.course
        kind = f"{course.kind.value} " if course.kind is not None else ""
        words = f"{kind}pace {number(pace.length_m, places=3)}"
        if pace.sd_m is not None:
            words += f"{NO_BREAK}±{NO_BREAK}{number(max(pace.sd_m, 0.001), places=3)}"
        words += f"{NO_BREAK}m"
        if course.counts and course.course_m is not None:
            words += f", from {counted(len(course.counts), 'walk')} of {_course(course.course_m)}"
        said.append(f"{course.who}: {words}" if course.who and len(paces) > 1 else words)
    return "; ".join(said)


def _course(length_m: float) -> str:
    """A measured course in the unit in which it is a whole number."""
    feet = metres_to_feet(length_m)
    if abs(feet - round(feet)) < 1e-6 and abs(length_m - round(length_m)) > 1e-6:
        return f"{number(feet)}{NO_BREAK}ft"
    return metres(length_m, places=0 if length_m == round(length_m) else 1)


def _leg_row(leg: PlacedLeg, *, paced: bool) -> Row:
    booked = leg.booked
    expected = math.sqrt(2.0) * booked.conditions.precision.bearing_deg
    bold = {0}
    if leg.fore_back_deg is not None and abs(leg.fore_back_deg) > 2.0 * expected:
        bold.add(3)
    return Row(
        cells=(
            f"{plain(booked.start)}{EN_DASH}{plain(booked.end)}",
            _queried(booked.bearing.written, queried=booked.bearing.queried),
            _queried(booked.back_bearing.written, queried=booked.back_bearing.queried)
            if booked.back_bearing is not None
            else NOTHING,
            f"{signed(leg.fore_back_deg)}°" if leg.fore_back_deg is not None else NOTHING,
            slope(booked.slope),
            _distance(booked, paced=paced),
            number(leg.ground_m),
            number(leg.horizontal_m),
            signed(leg.rise_m) if leg.slope_known else NOTHING,
            signed(leg.adjusted.east_m),
            signed(leg.adjusted.north_m),
        ),
        bold=frozenset(bold),
    )


def _distance(leg: Leg, *, paced: bool) -> str:
    written = plain(leg.distance.written)
    if paced:
        value = leg.distance.value
        written = number(value, places=0 if value == round(value) else 1)
    return _queried(written, queried=leg.distance.queried) + (" level" if leg.horizontal else "")


def _queried(written: str, *, queried: bool) -> str:
    words = plain(written)
    return words + "?" if queried and not words.endswith("?") else words


def _sum_row(closure: Closure, survey: Survey, *, paced: bool, alone: bool) -> Row:
    """Sums round a loop or along a tie, each leg counted in the sense it is met."""
    by_index = {leg.booked.index: leg for leg in survey.legs}
    legs = [by_index[leg.index] for leg in closure.legs if leg.index in by_index]
    senses: list[float] = []
    here = closure.stations[0] if closure.stations else ""
    for leg in legs:
        forward = leg.booked.start == here
        senses.append(1.0 if forward else -1.0)
        here = leg.booked.end if forward else leg.booked.start
    pace_sum = sum(leg.booked.distance.value for leg in legs)
    known = all(leg.slope_known for leg in legs)
    if closure.kind is LoopKind.LOOP:
        name = "loop" if alone else f"loop {closure.stations[0]}" if closure.stations else "loop"
    else:
        name = (
            "tie"
            if alone or len(closure.stations) < 2
            else f"{closure.stations[0]} to {closure.stations[-1]}"
        )
    return Row(
        cells=(
            plain(name),
            "",
            "",
            "",
            "",
            number(pace_sum, places=0 if pace_sum == round(pace_sum) else 1) if paced else "",
            number(sum(leg.ground_m for leg in legs)),
            number(sum(leg.horizontal_m for leg in legs)),
            signed(sum(sense * leg.rise_m for sense, leg in zip(senses, legs, strict=True)))
            if known
            else NOTHING,
            signed(sum(sense * leg.adjusted.east_m for sense, leg in zip(senses, legs, strict=True))),
            signed(sum(sense * leg.adjusted.north_m for sense, leg in zip(senses, legs, strict=True))),
        ),
        bold=frozenset(range(11)),
        rule_above=True,
    )


# --- contacts -----------------------------------------------------------------------------------------------


def _contacts_table(log: Log, survey: Survey, geology: Geology, stops: Stops) -> Table | None:
    placed = {one.booked.span: one for one in geology.contacts}
    common = common_control(log, survey)
    rows: list[Row] = []
    for item in log.items:
        if not isinstance(item, Contact):
            continue
        where = survey.at(item.spot)
        here = placed.get(item.span)
        rows.append(
            Row(
                cells=(
                    stops.contact_numbers[item.span],
                    leg_name(item.spot) or f"at {plain(item.spot.station or '')}",
                    ", ".join(plain(words) for words in along(item.spot)),
                    _between(item),
                    _placed(item),
                    number(where.east_m) if where else NOTHING,
                    number(where.north_m) if where else NOTHING,
                    _own(here.sd_m, common.sd_plan_m if common is not None else None)
                    if here is not None
                    else NOTHING,
                    _evidence(item, log),
                ),
                bold=frozenset({0}),
            )
        )
    if not rows:
        return None
    columns = (
        Column(name="No.", face=Face.BOLD),
        Column(name="On leg"),
        Column(name="At", unit="from its start", least_mm=13.0, most_lines=2),
        Column(name="Between", unit="younger / older", least_mm=18.0, most_lines=2),
        Column(name="Placed"),
        Column(name="East", unit="m", right=True),
        Column(name="North", unit="m", right=True),
        Column(name="±", unit="m", right=True),
        Column(name="Evidence", least_mm=18.0, most_lines=3),
    )
    return Table(
        title="Contacts and faults, in walking order"
        if any(one.kind is ContactKind.FAULT for one in geology.contacts)
        else "Contacts, in walking order",
        asides=(
            "± along the leg, with the station’s own error from the start",
            "± along the leg, with the station’s own",
        ),
        columns=columns,
        rows=tuple(rows),
    )


def _between(item: Contact) -> str:
    doubt = "?" if item.queried else ""
    if item.younger is None or item.older is None:
        return "fault" + doubt
    if item.kind is ContactKind.FAULT:
        first, second = item.named or (item.younger, item.older)
        return f"fault, {first} | {second}{doubt}"
    words = f"{item.younger}{NO_BREAK}/{NO_BREAK}{item.older}{doubt}"
    return words if item.kind is ContactKind.CONTACT else f"{words} unconformity"


def _placed(item: Contact) -> str:
    return item.certainty.value if item.certainty is not None else NOTHING


def _evidence(item: Contact, log: Log) -> str:
    said: list[str] = []
    if item.certainty is Certainty.CERTAIN:
        said.append("seen")
    if item.plane is not None:
        said.append(plain(item.plane.written))
    if item.movement is not None:
        said.append(item.movement.value)
    if item.down is not None:
        said.append(f"down {plain(item.down.written)}")
    cover = _cover(item.spot, log)
    if cover is not None and item.certainty is not Certainty.CERTAIN:
        said.append(cover)
    if item.sd_m is not None:
        said.append(f"±{NO_BREAK}{number(item.sd_m)}{NO_BREAK}m as noted")
    return ", ".join(said)


def _cover(spot: Spot, log: Log) -> str | None:
    """What covers the ground at a place on a leg, with the stretch."""
    if spot.covered:
        return " ".join([plain(spot.words or "covered"), *along(spot)])
    if spot.leg is None or spot.start is None:
        return None
    for one in log.spots:
        if (
            one.covered
            and one.leg is spot.leg
            and one.start is not None
            and one.end is not None
            and one.start.unit is spot.start.unit
            and one.start.value <= spot.start.value <= one.end.value
        ):
            return " ".join([plain(one.words or "covered"), *along(one)])
    return None


def _thickness_lines(geology: Geology, stops: Stops) -> list[tuple[str, str, str]]:
    """Unit, its crossings, and their mean."""
    found: list[tuple[str, str, str]] = []
    for unit in dict.fromkeys(one.unit for one in geology.thicknesses):
        mine = [one for one in geology.thicknesses if one.unit == unit]
        crossings = "; ".join(
            EN_DASH.join(stops.contact_numbers.get(span, "?") for span in one.between)
            + f"{NO_BREAK}{NO_BREAK}{plus_minus(one.true_m, one.sd_m)}"
            for one in mine
        )
        mean = weighted_mean(mine)
        assert mean is not None
        found.append((unit, crossings, f"mean {plus_minus(*mean)}"))
    return found


def _legs_and_contacts(
    legs: Table | None,
    contacts: Table | None,
    thicknesses: Sequence[tuple[str, str, str]],
    pages: Pages,
    at: Place,
) -> Place:
    """Side by side where the paper is wide, else below each other."""
    start = _below(at)
    x, width = pages.frame.x, pages.frame.width
    if legs is not None and contacts is not None and width >= _WIDE_MM:
        tall = max(len(legs.rows), len(contacts.rows) + 3 + len(thicknesses)) * ROW_MM + 18.0
        # Both begin on a page of their own where that keeps them whole.
        if start.y(pages) - tall < pages.floor and tall <= pages.frame.height:
            start = Place(start.page + 1, 0.0)
        first = width * _LEGS_SHARE - _GAP_MM / 2.0
        second, rest = x + first + _GAP_MM, width - first - _GAP_MM
        left, _ = flow(legs, pages, start, x=x, width=first, page_title=legs.title)
        right, _ = flow(contacts, pages, start, x=second, width=rest, page_title=contacts.title)
        return max(left, _thickness(thicknesses, pages, right, x=second, width=rest))
    if legs is not None:
        start, _ = flow(legs, pages, start, x=x, width=min(width, _LEGS_MM), page_title=legs.title)
        start = _below(start)
    if contacts is not None:
        wide = min(width, _CONTACTS_MM)
        start, _ = flow(contacts, pages, start, x=x, width=wide, page_title=contacts.title)
        start = _below(_thickness(thicknesses, pages, start, x=x, width=wide))
    return start


def _thickness(
    found: Sequence[tuple[str, str, str]], pages: Pages, at: Place, *, x: float, width: float
) -> Place:
    """Thickness by each crossing and the weighted mean, under the contacts."""
    if not found:
        return at
    indent = 2.0 + max(text_width_mm(unit, Face.SEMIBOLD, SMALL) for unit, _, _ in found)
    room = width - indent - max(text_width_mm(mean, Face.SEMIBOLD, SMALL) for _, _, mean in found) - 3.0
    blocks = [(unit, wrap(words, Face.REGULAR, SMALL, room), mean) for unit, words, mean in found]
    tall = 5.0 + sum(len(lines) for _, lines, _ in blocks) * line_mm(SMALL)
    if at.y(pages) - tall < pages.floor:
        at = Place(at.page + 1, 0.0)
    y = at.y(pages) - 3.9
    pages.on(at.page).append(
        Text(at=(x, y), text="Thickness between contacts, metres", face=Face.SEMIBOLD, size_pt=HEAD)
    )
    y -= 3.9
    for unit, lines, mean in blocks:
        if y < pages.floor:
            at = Place(at.page + 1, 0.0)
            y = at.y(pages) - 3.9
        items = pages.on(at.page)
        items += (
            Text(at=(x, y), text=unit, face=Face.SEMIBOLD, size_pt=SMALL),
            Text(at=(x + width, y), text=mean, face=Face.SEMIBOLD, size_pt=SMALL, anchor=Anchor.END),
        )
        for line in lines:
            items.append(Text(at=(x + indent, y), text=line, size_pt=SMALL))
            y -= line_mm(SMALL)
    return Place(at.page, pages.top - y)


# --- notes --------------------------------------------------------------------------------------------------

_NOTE_COLUMNS = (
    Column(name="Where", face=Face.BOLD, least_mm=22.0, most_lines=3),
    Column(name="What", least_mm=14.0, most_lines=2),
    Column(name="In full", takes_rest=True, least_mm=80.0, most_lines=_NOTE_LINES),
)


def _notes(
    log: Log, shortened: Sequence[tuple[str, str, str]], diagnostics: Sequence[Diagnostic]
) -> list[Row]:
    """What the tables do not print whole, and what was changed, taken out or answered."""
    rows: list[Row] = []

    def add(where: str, what: str, words: str, *, struck: bool = False, joined: bool = False) -> None:
        text = plain(words)
        # A row may not be taller than a page.
        for index, piece in enumerate(_chunks(text)):
            rows.append(
                Row(
                    cells=(plain(where) if not index else "", what if not index else "", piece),
                    struck=2 if struck else None,
                    joined=joined or index > 0,
                )
            )

    for place, items in groupby(log.items, key=lambda item: item.spot.index):
        spot = log.spots[place]
        first = True
        for item in items:
            said = _note(item)
            if said is not None:
                add(spot_words(spot) if first else "", *said)
                first = False
    for place_words, column, words in shortened:
        add(place_words, column.lower(), words)
    names = names_by_line(log)
    for correction in log.corrections:
        leg = next(
            (leg for leg in log.legs if any(one.span == correction.span for one in leg.corrections)), None
        )
        where = (
            f"leg{NO_BREAK}{leg.start}{EN_DASH}{leg.end}"
            if leg is not None
            else f"line{NO_BREAK}{correction.span.line - 1}"
        )
        day = f" {dates([correction.date])}" if correction.date is not None else ""
        add(where, "corrected", f"once read {correction.old}; {correction.who}{day}: {correction.why}")
    for omitted in log.omitted:
        add(_place_of(omitted.span, names), "left out", omitted.written, struck=True)
        add("", "", f"by {omitted.who}: {omitted.why}", joined=True)
    said_of = {(one.span.file, one.span.line): one for one in diagnostics if one.answer and one.span}
    for checked in log.checked:
        warned = said_of.get((checked.of.file, checked.of.line))
        about = f"{quoted(warned.message)}. " if warned is not None else ""
        add(_place_of(checked.of, names), "checked", f"{about}{checked.who}: {checked.why}")
    alike: dict[str, int] = {}
    for one in diagnostics:
        if one.kind == "warning":
            alike[one.code] = alike.get(one.code, 0) + 1
            if alike[one.code] <= _ALIKE:
                add(_place_of(one.span, names), "open", quoted(one.message))
    more = sum(max(0, count - _ALIKE) for count in alike.values())
    if more:
        add(
            "",
            "open",
            f"{counted(more, 'more warning')} of the same kinds; the check of the log lists them all",
        )
    return rows


def _place_of(span: Span | None, names: Mapping[tuple[str, int], str]) -> str:
    """Where to look in the log: its line, after the station or leg that the line speaks of."""
    if span is None:
        return "the log"
    line = f"line{NO_BREAK}{span.line}"
    name = names.get((span.file, span.line))
    if name is None:
        return line
    kind = "leg" if EN_DASH in name else "station"
    return f"{kind}{NO_BREAK}{plain(name)}, {line}"


def _note(item: Described) -> tuple[str, str] | None:
    if isinstance(item, Words) and item.kind in {WordsKind.NOTE, WordsKind.SKETCH, WordsKind.FLOAT}:
        return (item.kind.value, item.text)
    if isinstance(item, Crossing):
        return ("crosses", f"{item.kind} {item.runs.written}" + (f" {item.name}" if item.name else ""))
    if isinstance(item, Sight):
        return (
            "sight",
            f"{item.target} {item.bearing.written}" + (f" {item.slope.written}" if item.slope else ""),
        )
    if isinstance(item, Elevation):
        return ("elevation", item.written)
    return None


def _chunks(text: str) -> Iterable[str]:
    """Pieces of a long note, each less than a page, cut at blanks where there are any."""
    while len(text) > _CHUNK:
        head, blank, _ = text[:_CHUNK].rpartition(" ")
        piece = head if blank and len(head) > _CHUNK // 2 else text[:_CHUNK]
        yield piece
        text = text[len(piece) :].lstrip(" ")
    yield text


_CHUNK = 2400


def _answer_count(diagnostics: Sequence[Diagnostic]) -> str:
    answered = sum(1 for one in diagnostics if one.answer)
    still = sum(1 for one in diagnostics if one.kind == "warning")
    said = []
    if answered:
        said.append(f"{counted(answered, 'warning')} answered")
    if still:
        said.append(f"{counted(still, 'warning')} open")
    return ", ".join(said)
