"""Rows of the station table: every place with what was read there, verbatim and as it is meant."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import assert_never

from traverse.length import METRES
from traverse.location.records import (
    HeightsMeasured,
    Place,
    PlaceKind,
    Standing,
    Survey,
    own_sd,
)
from traverse.log.items import Address, Leg, PlaneKind, Tops, UnitHere, WayUp, Words
from traverse.log.items import Item as Described
from traverse.log.records import Log
from traverse.sheet.paper.page import Face
from traverse.sheet.paper.table import Column, Laid, Row, Table
from traverse.sheet.paper.words import (
    NO_BREAK,
    NOTHING,
    along,
    arrow,
    azimuth,
    leg_name,
    number,
    plain,
)
from traverse.sheet.paper.words import (
    address as address_words,
)
from traverse.sheet.said.in_force import attitude_norths, iron_turn, turned_for_iron, with_changes
from traverse.sheet.said.sentences import control_source
from traverse.sheet.said.stops import Stops, carried_on
from traverse.sheet.signs.shown import Printed, shown, told
from traverse.structure.readings.records import Attitude, LineAttitude, StrikeAttitude
from traverse.structure.records import Geology

NO_ERROR = "Not adjusted: no ± tells how far a place is off."
"""Of places that hang on a loop or tie which was left open."""


def station_columns(log: Log, survey: Survey, geology: Geology | None = None) -> tuple[Column, ...]:
    """Heads of the columns."""
    carried = geology is not None and carried_on(geology)
    common = survey.common_control
    about = "from start" if common is not None else "1 sd"
    # Heights that were read beside the control's make its error no longer the one that all share.
    whole = common is not None and common.sd_height_m and survey.common_height_sd_m is None
    if about == "1 sd" or log.lengths.in_feet:
        # Beside coordinates in metres it can't be left open that these errors are in feet.
        about = f"{log.lengths.sign}, {about}"
    return (
        Column(name="Station", face=Face.BOLD, least_mm=11.0, most_lines=2),
        Column(name="East", unit=log.lengths.grid_sign, right=True),
        Column(name="North", unit=log.lengths.grid_sign, right=True),
        Column(name="Height", unit=log.lengths.sign, right=True),
        Column(name="± E N", unit=about, right=True),
        Column(name="± H", unit=f"{log.lengths.sign}, 1 sd" if whole else log.lengths.sign, right=True),
        Column(name="Fixed by", least_mm=14.0, most_lines=2),
        Column(name="Unit", unit="(not booked)" if carried else "", face=Face.SEMIBOLD),
        Column(name="As written", unit="attitudes", least_mm=24.0, most_lines=4),
        Column(name="Dip → dir.", unit="true", right=True),
        Column(name="Strike", unit="true", right=True),
        Column(name="Tops", unit="and seen in", least_mm=12.0, most_lines=3),
        Column(name="Rock", least_mm=26.0, most_lines=3),
        Column(name="Samples, photos", unit="hazards, fossils", least_mm=20.0, most_lines=3),
    )


_WORDS = 3
"""Columns of words at the end of the table: tops, rock, and samples with what else was noted."""


def words_together(table: Table) -> Table:
    """The table with all words of a place in one column: on narrow paper they take fewer lines than in three."""
    columns = (
        *table.columns[:-_WORDS],
        Column(
            name="Rock",
            unit="tops, samples, photos, hazards, fossils",
            least_mm=40.0,
            most_lines=4,
            takes_rest=True,
        ),
    )
    rows = []
    for row in table.rows:
        tops, rock, things = row.cells[-_WORDS:]
        told = (rock, "" if tops in {"", NOTHING} else f"tops: {tops}", things)
        rows.append(replace(row, cells=(*row.cells[:-_WORDS], "; ".join(one for one in told if one))))
    return replace(table, columns=columns, rows=tuple(rows))


def station_asides(log: Log, survey: Survey) -> tuple[str, ...]:
    """What the attitudes are read from, and how far figures go; the fullest first.

    Where something was not adjusted, first that no error is told of it.
    """
    open_walk = any(one.standing is Standing.NOT_ADJUSTED for one in survey.places.values())
    asides = _asides(log, survey)
    if not open_walk:
        return asides
    return (*(f"{NO_ERROR} {one}" for one in asides), NO_ERROR)


def _asides(log: Log, survey: Survey) -> tuple[str, ...]:
    norths = attitude_norths(log)
    told = dict.fromkeys((METRES, log.lengths))
    whole = ", ".join(f"{one.name} to {one.one}" for one in told).capitalize()
    care = f"{whole.replace(NO_BREAK, ' ')}, angles to 1°: the readings bear no more."
    iron = turned_for_iron(survey)
    if not norths:
        return (care,)
    read = _as_read(norths)
    first = norths[0][1].partition(",")[0]
    shortest = f"As written: {first}." if len(norths) == 1 else "As written: the notes say from which north."
    if iron:
        turned = f"Turned for iron, all that was read at {iron}."
        return (f"{read} {turned} {care}", f"{read} {turned}", f"{shortest} {turned}", turned)
    return (f"{read} {care}", read, shortest)


def _as_read(norths: Sequence[tuple[str, str]]) -> str:
    """From which north attitudes are written, and all else; said once where it is one north."""
    forms = [words.partition(", ") for _, words in norths]
    if {north for north, _, _ in forms} != {"true north"}:
        return f"Attitudes as written: {with_changes(norths)}; all else true north."
    hows = [(station, how) for (station, _), (_, _, how) in zip(norths, forms, strict=True)]
    if not any(how for _, how in hows):
        return "All directions from true north."
    return f"Attitudes as written: {with_changes(hows)}. All directions from true north."


def station_rows(log: Log, survey: Survey, stops: Stops) -> tuple[list[Row], list[str]]:
    """A row for each station, and for each place on a leg where more than a contact was seen, in walking order."""
    rows: list[Row] = []
    keys: list[str] = []
    done: set[str] = set()
    iron = {one.station: iron_turn(one) for one in survey.deviations if round(abs(one.degrees)) > 0}

    def add(place: str, head: tuple[str, ...], unit: str, items: Sequence[Described]) -> None:
        found = [stops.attitudes[item.span] for item in items if item.span in stops.attitudes]
        way = next((item for item in items if isinstance(item, WayUp)), None)
        turn = iron.get(items[0].address.station or "") if items else None
        written = [_attitude_cells(attitude, turn) for attitude in found] or [(NOTHING,) * 3]
        rows.append(
            Row(
                cells=(
                    *head,
                    unit,
                    *("\n".join(cells) for cells in zip(*written, strict=True)),
                    _tops(way) if way is not None else NOTHING if found else "",
                    "; ".join(words for _, _, words in _told(items, Printed.ROCK)),
                    _things(items, stops),
                )
            )
        )
        keys.append(place)

    height_m = survey.common_height_sd_m
    heights = survey.heights is not HeightsMeasured.NONE
    for address in _walking_order(log):
        if address.station is not None:
            place = survey.places.get(address.station)
            done.add(address.station)
            add(
                f"station{NO_BREAK}{address.station}",
                (
                    plain(address.station),
                    *_coordinates(log, survey, place, height_m, heights=heights),
                    _fixed_by(address.station, place, log),
                ),
                stops.unit_told(address.station),
                stops.at_station.get(address.station, ()),
            )
            continue
        items = tuple(one for one in stops.at_address.get(address.index, ()) if _in_stations(one))
        if not items:
            continue
        where = survey.at(address)
        units = [one.letters + ("?" if one.queried else "") for one in items if isinstance(one, UnitHere)]
        add(
            address_words(address),
            (
                plain(leg_name(address)),
                number(where.east_m) if where else NOTHING,
                number(where.north_m) if where else NOTHING,
                log.lengths.figure(where.up_m) if where and heights else NOTHING,
                log.lengths.error(survey.own_sd_m(where.sd_m))
                if where and not survey.left_open(address)
                else NOTHING,
                NOTHING,
                " ".join(["at", ", ".join(plain(words) for words in along(address))]),
            ),
            "".join(units[:1]),
            items,
        )
    for name, place in survey.places.items():
        if name not in done:
            add(
                name,
                (
                    plain(name),
                    *_coordinates(log, survey, place, height_m, heights=heights),
                    _fixed_by(name, place, log),
                ),
                "",
                stops.at_station.get(name, ()),
            )
    return rows, keys


def _walking_order(log: Log) -> list[Address]:
    """Every station once and every place on a leg, as they are met: places of a leg before the station it ends at."""
    order = {name: index for index, name in enumerate(log.first_at)}
    reached: dict[str, Leg] = {}
    for leg in log.legs:
        reached.setdefault(leg.end, leg)

    def key(address: Address) -> tuple[int, int, int]:
        if address.station is not None:
            return (order[address.station], 1, address.index)
        if (
            address.leg is not None
            and reached.get(address.leg.end) is address.leg
            and address.leg.end in order
        ):
            start = order.get(address.leg.start, -1)
            if start < order[address.leg.end]:
                return (order[address.leg.end], 0, address.index)
        return (len(order), 0, address.index)

    found = [
        address
        for address in log.addresses
        if address.station is None or log.first_at[address.station] is address
    ]
    return sorted(found, key=key)


def _in_stations(item: Described) -> bool:
    """Whether the station table has a column for it."""
    match shown(item).printed:
        case Printed.UNIT | Printed.AS_WRITTEN | Printed.TOPS | Printed.ROCK | Printed.BESIDE:
            return True
        case Printed.CONTACTS | Printed.IN_FULL:
            return False


def _coordinates(
    log: Log, survey: Survey, place: Place | None, height_m: float | None, *, heights: bool
) -> tuple[str, str, str, str, str]:
    if place is None:
        return (NOTHING,) * 5
    closed = place.standing is not Standing.NOT_ADJUSTED
    return (
        number(place.east_m),
        number(place.north_m),
        log.lengths.figure(place.up_m) if heights else NOTHING,
        log.lengths.error(survey.plan_sd_m(place)),
        log.lengths.error(own_sd(place.sd_up_m, height_m))
        if heights and closed and place.up_m is not None
        else NOTHING,
    )


def _fixed_by(name: str, place: Place | None, log: Log) -> str:
    if place is None:
        return "not placed"
    match place.kind:
        case PlaceKind.CONTROL:
            control = next((one for one in log.controls if one.name == name), None)
            if control is None:
                return "known point"
            sd_m = control.sd_plan_m
            good = f"±{NO_BREAK}{log.lengths.printed(sd_m)}" if sd_m is not None else "held"
            return ", ".join(words for words in (control_source(control) or "control", good) if words)
        case PlaceKind.UNUSED:
            return "traverse; known point not used"
        case PlaceKind.SIDE:
            leg = next((one for one in log.legs if one.end == name), None)
            return f"side shot, {leg.start}" if leg is not None else "side shot"
        case PlaceKind.SIGHTED:
            return "sights"
        case PlaceKind.WALKED:
            return "traverse"
        case _:
            assert_never(place.kind)


def _attitude_cells(attitude: Attitude | None, iron: str | None) -> tuple[str, str, str]:
    """As written with what it was turned by for iron, dip and direction (or plunge and trend), strike."""
    if attitude is None:
        return (NOTHING, NOTHING, NOTHING)
    written = plain(attitude.written)
    if attitude.kind is not PlaneKind.BED:
        written = f"{attitude.kind.value} {written}"
    if attitude.n > 1:
        written += f" (mean of {attitude.n})"
    if iron is not None:
        written += f" (iron: turned{NO_BREAK}{iron})"
    if isinstance(attitude, LineAttitude):
        return (written, arrow(attitude.plunge_deg, attitude.trend_deg), "")
    if isinstance(attitude, StrikeAttitude):
        return (written, "dip not read", f"{azimuth(attitude.strike_deg)}°")
    way = None if attitude.flat else attitude.dip_direction_deg
    return (
        written,
        arrow(attitude.dip_deg, way),
        "" if attitude.flat else f"{azimuth(attitude.strike_deg)}°",
    )


def _tops(way: WayUp) -> str:
    """Which way they young, as it was written, and what it was seen in."""
    words = plain(way.words or "")
    match way.tops:
        case Tops.UP:
            side = "up" if words else "upright"
        case Tops.DOWN:
            side = "down" if words else "overturned"
        case Tops.UNSEEN | None:
            side = "unseen" if way.toward is None else f"toward {way.toward.written}"
        case _:
            assert_never(way.tops)
    return f"{side}: {words}" if words else side


def _told(items: Iterable[Described], column: Printed) -> Iterator[tuple[Described, str, str]]:
    """What is printed in a column: the record, what it is, and what was said."""
    for item in items:
        said = told(item)
        if said is not None and shown(item).printed is column:
            yield item, said[0], plain(said[1])


def _things(items: Iterable[Described], stops: Stops) -> str:
    marks = {item.span: mark for mark, item in stops.hazards}
    said: list[str] = []
    for item, what, words in _told(items, Printed.BESIDE):
        # Words of the party stand after a colon; a label or a number goes with what it is.
        head = marks.get(item.span) or (f"{what}:" if isinstance(item, Words) else what)
        said.append(f"{head} {words}")
    return "; ".join(said)


def cut_words(table: Table, laid: Laid, keys: Sequence[str]) -> list[tuple[str, str, str]]:
    """Place, column and whole words of every cell that was cut."""
    names = [column.name for column in table.columns]
    return [
        (keys[row], name, table.rows[row].cells[names.index(name)])
        for row, name in sorted(laid.cut, key=lambda pair: (pair[0], names.index(pair[1])))
    ]
