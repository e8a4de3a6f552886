"""Rows of the contact table, and the thicknesses under it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import assert_never

from traverse.ground.records import Traverse
from traverse.length import Lengths
from traverse.log.items import Address, Certainty, Contact, ContactKind
from traverse.log.records import Log
from traverse.settled import SAME_M
from traverse.sheet.paper.block import set_lines
from traverse.sheet.paper.filling import FilledTo, Pages
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import Anchor, Block, Face, Item, Text
from traverse.sheet.paper.style import HEAD, SMALL, line_mm
from traverse.sheet.paper.table import Column, Row, Table
from traverse.sheet.paper.words import (
    EN_DASH,
    NO_BREAK,
    NOTHING,
    along,
    leg_name,
    number,
    plain,
    wrap,
)
from traverse.sheet.said.stops import Stops
from traverse.sheet.said.thickness_words import of_unit, thickness_words, told_range
from traverse.sheet.tables.station_rows import NO_ERROR
from traverse.source import Span
from traverse.structure.records import Geology
from traverse.structure.thickness.records import LeastThickness, Thickness, UnitThickness
from traverse.structure.walk.records import UnbookedChange
from traverse.wording import listed


def contacts_table(trav: Traverse, stops: Stops) -> Table | None:
    """Every contact and fault with what it was placed by; None without any."""
    placed = {one.booked.span: one for one in trav.geology.contacts}
    rows: list[Row] = []
    # A body's walls that nobody booked are told with the body.
    unbooked = [one for one in trav.geology.unbooked if not trav.log.intrusive & set(one.units)]
    for item in trav.log.items:
        if not isinstance(item, Contact):
            continue
        while unbooked and _before(trav.log.legs[unbooked[0].leg].span, item.span, trav.log):
            rows.append(_unbooked_row(unbooked.pop(0), trav))
        where = trav.survey.at(item.address)
        here = placed.get(item.span)
        rows.append(
            Row(
                cells=(
                    stops.contact_numbers[item.span],
                    leg_name(item.address) or f"at {plain(item.address.station or '')}",
                    ", ".join(plain(words) for words in along(item.address)),
                    _between(item),
                    _placed(item),
                    number(where.east_m) if where else NOTHING,
                    number(where.north_m) if where else NOTHING,
                    trav.log.lengths.error(trav.survey.own_sd_m(here.sd_m))
                    if here is not None and not trav.survey.left_open(item.address)
                    else NOTHING,
                    _evidence(item, trav.log),
                ),
                bold=frozenset({0}),
            )
        )
    rows += [_unbooked_row(one, trav) for one in unbooked]
    if not rows:
        return None
    columns = (
        Column(name="No.", face=Face.BOLD),
        Column(name="On leg"),
        Column(name="At", unit="along leg", least_mm=13.0, most_lines=2),
        Column(name="Between", unit="younger / older", least_mm=18.0, most_lines=2),
        Column(name="Placed"),
        Column(name="East", unit=trav.log.lengths.grid_sign, right=True),
        Column(name="North", unit=trav.log.lengths.grid_sign, right=True),
        Column(name="±", unit=trav.log.lengths.sign, right=True),
        Column(name="Evidence", least_mm=18.0, most_lines=3),
    )
    return Table(
        title="Contacts and faults, in walking order"
        if any(one.kind is ContactKind.FAULT for one in trav.geology.contacts)
        else "Contacts, in walking order",
        asides=(NO_ERROR,)
        if all(trav.survey.left_open(one.place.address) for one in trav.geology.contacts)
        else (
            "± along the leg, with the station’s own error from the start",
            "± along the leg, and of the station",
            "± along the leg",
        ),
        columns=columns,
        rows=tuple(rows),
    )


def _before(leg: Span, item: Span, log: Log) -> bool:
    """Whether a leg was walked before a contact was booked."""
    if leg.file == item.file:
        return leg.line < item.line
    files = [one.span.file for one in log.legs]
    return item.file in files and files.index(leg.file) < files.index(item.file)


def _unbooked_row(one: UnbookedChange, trav: Traverse) -> Row:
    """A change of unit that the map draws and nobody booked."""
    leg = trav.log.legs[one.leg]
    told = "not seen" if one.half_way else f"where {plain(one.units[1])} was booked"
    return Row(
        cells=(
            NOTHING,
            f"{plain(leg.start)}{EN_DASH}{plain(leg.end)}",
            "half-way" if one.half_way else NOTHING,
            f"{one.younger}{NO_BREAK}/{NO_BREAK}{one.older}?",
            "not booked",
            number(one.at[0]),
            number(one.at[1]),
            NOTHING,
            f"no contact booked; drawn {told}",
        ),
    )


def _between(item: Contact) -> str:
    doubt = "?" if item.queried else ""
    if item.younger is None or item.older is None:
        return "fault" + doubt
    words = f"{item.younger}{NO_BREAK}/{NO_BREAK}{item.older}{doubt}"
    match item.kind:
        case ContactKind.FAULT:
            first, second = item.named or (item.younger, item.older)
            return f"fault, {first} | {second}{doubt}"
        case ContactKind.UNCONFORMITY:
            return f"{words} unconformity"
        case ContactKind.CONTACT:
            return words
        case _:
            assert_never(item.kind)


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
    cover = _cover(item.address, log)
    if cover is not None and item.certainty is not Certainty.CERTAIN:
        said.append(cover)
    if item.sd_m is not None:
        said.append(f"±{NO_BREAK}{log.lengths.printed(item.sd_m)} as noted")
    return ", ".join(said)


def _cover(address: Address, log: Log) -> str | None:
    """What covers the ground at a place on a leg, with the stretch."""
    if address.covered:
        return " ".join([plain(address.words or "covered"), *along(address)])
    if address.leg is None or address.start is None:
        return None
    for one in log.addresses:
        if (
            one.covered
            and one.leg is address.leg
            and one.start is not None
            and one.end is not None
            and one.start.unit is address.start.unit
            and one.start.value <= address.start.value <= one.end.value
        ):
            return " ".join([plain(one.words or "covered"), *along(one)])
    return None


def thickness_lines(geology: Geology, stops: Stops, lengths: Lengths) -> list[tuple[str, str, str]]:
    """Unit, its crossings, and how thick it is by all of them, in the words of the legend: each figure of these stands among them."""
    found: list[tuple[str, str, str]] = []
    for unit in dict.fromkeys(one.unit for one in geology.thicknesses):
        mine = [one for one in geology.thicknesses if one.unit == unit]
        known = of_unit(geology, unit)
        ends = None if known is None else told_range(known, lengths)
        crossings = [_crossing(one, ends, stops, lengths) for one in mine]
        part = _part_beyond(geology, known, mine)
        if part is not None:
            crossings.append(
                f"beyond {stops.contact_numbers.get(part.contact, '?')}{NO_BREAK}{NO_BREAK}at least{NO_BREAK}"
                f"{lengths.plus_minus(part.true_m, part.sd_m)}"
            )
        found.append((unit, "; ".join(crossings), thickness_words(known, lengths)))
    return found


def _crossing(one: Thickness, ends: tuple[float, float] | None, stops: Stops, lengths: Lengths) -> str:
    """`c6–c7  44 ± 3 (35–44 as beds bend)`: what the rules leave open, where an end of what is told of all is from there."""
    words = EN_DASH.join(stops.contact_numbers.get(span, "?") for span in one.between) + 2 * NO_BREAK
    words += f"at least{NO_BREAK}" if one.at_least else ""
    words += lengths.plus_minus(one.true_m, one.sd_m)
    sets = ends is not None and any(
        abs(end - own) < SAME_M and lengths.figure(own) != lengths.figure(one.true_m)
        for end, own in zip(ends, one.range_m, strict=True)
    )
    words += f" ({lengths.extent(one.range_m)} as beds bend)" if sets else ""
    return words + (f" less {listed(list(map(plain, one.less)))}" if one.less else "")


def _part_beyond(
    geology: Geology, known: UnitThickness | None, crossings: Sequence[Thickness]
) -> LeastThickness | None:
    """A part of a unit, nowhere crossed whole, that is as thick as the most that is told of it; None where a crossing is."""
    if known is None:
        return None
    most_m = known.least_m if known.least_m is not None or known.range_m is None else known.range_m[1]
    told = [high for one in crossings for high in (one.true_m, one.range_m[1])]
    if most_m is None or any(abs(high - most_m) < SAME_M for high in told):
        return None
    return next(
        (one for one in geology.least if one.unit == known.unit and abs(one.true_m - most_m) < SAME_M), None
    )


def draw_thicknesses(
    found: Sequence[tuple[str, str, str]], lengths: Lengths, pages: Pages, at: FilledTo
) -> FilledTo:
    """Thickness by each crossing and the weighted mean, under the contacts."""
    if not found:
        return at
    width = pages.columns[at.column].width
    indent = 2.0 + max(text_width_mm(unit, Face.SEMIBOLD, SMALL) for unit, _, _ in found)
    room = width - indent - max(text_width_mm(mean, Face.SEMIBOLD, SMALL) for _, _, mean in found) - 3.0
    units = [(unit, wrap(words, Face.REGULAR, SMALL, room), mean) for unit, words, mean in found]
    heading = Text(
        at=(0.0, -_LEAD_MM),
        text=f"Thickness between contacts, {lengths.name}",
        face=Face.SEMIBOLD,
        size_pt=HEAD,
    )
    tall = 5.0 + sum(len(lines) for _, lines, _ in units) * line_mm(SMALL)
    at = pages.put(Block(items=(heading,), height=2.0 * _LEAD_MM), pages.fitting(tall, at))
    for unit, lines, mean in units:
        if pages.room(at) < 0.0:
            at = replace(pages.after(at), used=_LEAD_MM)
        items: list[Item] = [
            Text(at=(0.0, 0.0), text=unit, face=Face.SEMIBOLD, size_pt=SMALL),
            Text(at=(width, 0.0), text=mean, face=Face.SEMIBOLD, size_pt=SMALL, anchor=Anchor.END),
        ]
        below = -set_lines(items, lines, x=indent, y=0.0)
        at = pages.put(Block(items=tuple(items), height=below), at)
    return at


_LEAD_MM = 3.9
"""From a rule or the top of a page to the base below it."""
