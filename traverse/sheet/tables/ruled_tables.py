"""Tables to be filled in by hand: a row for every station, and some for contacts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from traverse.location.records import Survey
from traverse.log.readings import Convention
from traverse.log.records import Log
from traverse.sheet.paper.block import text_block
from traverse.sheet.paper.filling import FilledTo, Pages
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import Block, Box, Face, Item, Page, Path, Text, polyline
from traverse.sheet.paper.style import LARGE, PENS, SMALL
from traverse.sheet.paper.words import cut, cut_before, plain
from traverse.sheet.said.in_force import change_notes
from traverse.sheet.said.sentences import short_title
from traverse.sheet.template.reading import Paper
from traverse.wording import capital

_ROW_MM, _LOW_ROW_MM = 8.0, 7.0
"""A row that can be written in with cold hands; as low as paper to write on is ruled, where that saves a page (common
practice, no source)."""
_LEAST_SHARE = 2.0 / 3.0
"""Of the rows for contacts, what stays where that saves a page: nobody knows how many there will be."""
_LEGS_SPARE = 6
_TWO_COLUMNS_MM, _GAP_MM = 380.0, 9.0
"""From this width on they run down two columns."""
_DIP = ("Dip", 13.0)
_PAIRS = {
    Convention.DIP_DIRECTION: (("Dip direction", 23.0), _DIP),
    Convention.DIP_FIRST: (_DIP, ("Dip direction", 23.0)),
}
"""Columns for an attitude, in the order in which the party writes it, with their widths in millimetres."""
_STRIKE_AND_DIP = (("Strike", 23.0), _DIP)


def ruled_tables(
    log: Log,
    survey: Survey,
    *,
    paper: Paper,
    frame: Box,
    part: slice = slice(None),
    close: bool = False,
) -> list[Page]:
    """A table with a row for every station, and one for contacts, to be filled in by hand; on as few pages as may be.

    Over them stands what the log changes on the way, which the foot of a page may have no room for. `part` of both.
    Tables that stand `close` leave the most room under them.
    """
    rows = max(_LEGS_SPARE, min(len(log.legs), 24))
    ways = (
        (_ROW_MM, rows),
        (_LOW_ROW_MM, rows),
        (_LOW_ROW_MM, math.ceil(_LEAST_SHARE * rows)),
        (_LOW_ROW_MM, _LEGS_SPARE),
    )
    found = [
        _laid(log, survey, frame, row_mm=row_mm, contacts=contacts, part=part)
        for row_mm, contacts in ([min(ways, key=lambda one: one[1])] if close else ways)
    ]
    return [
        Page(
            width_mm=paper.width,
            height_mm=paper.height,
            items=tuple(items),
            title="Table to complete" + (f", {index + 1}" if index else ""),
        )
        for index, items in enumerate(min(found, key=lambda one: len(one.items)).items)
    ]


def _laid(log: Log, survey: Survey, frame: Box, *, row_mm: float, contacts: int, part: slice) -> Pages:
    convention = log.heading.first.convention
    pair = _PAIRS.get(convention, _STRIKE_AND_DIP) if convention is not None else _STRIKE_AND_DIP
    stations = _RuledTable(
        "stations",
        (
            ("Station", 14.0),
            ("Unit", 13.0),
            *pair,
            ("Tops", 22.0),
            ("Rock", 90.0),
            ("Samples, photos, notes", 75.0),
        ),
        tuple(plain(name) for name in log.stations),
    )
    met = _RuledTable(
        "contacts and faults",
        (
            ("On leg", 20.0),
            ("At", 18.0),
            ("Between", 34.0),
            ("Placed", 28.0),
            *pair,
            ("Evidence", 90.0),
        ),
        ("",) * contacts,
    )
    columns = 2 if frame.width >= _TWO_COLUMNS_MM else 1
    pages, at = Pages.of(frame, columns=columns, gap=_GAP_MM), FilledTo()
    notes = [f"{what.capitalize()}: {words}." for what, words in change_notes(log, survey)]
    told = text_block("Notes", notes, width=pages.width) if not part.start else None
    if told is not None:
        at = pages.put(replace(told, height=told.height + _BELOW_NOTES_MM), at)
    both = [stations, met]
    for table in both[part]:
        names = list(table.names)
        aside = FilledTo(at.page, at.column + 1)
        whole = _TABLE_HEAD_MM + len(names) * row_mm
        if at.used and aside.column < columns and whole <= pages.room(aside) + _SAME:
            # Beside the one before it each is read whole.
            at = aside
        while names:
            at = pages.fitting(_TABLE_HEAD_MM + min(3, len(names)) * row_mm, at)
            count = max(1, int((pages.room(at) - _TABLE_HEAD_MM) / row_mm + _SAME))
            going_on = len(names) < len(table.names)
            # On each page the first says whose it is, should they part.
            first = not (at.used or at.column) or (table.title == stations.title and not going_on)
            whose = short_title(log) if first else ""
            rows = names[:count]
            block = table.block(rows, width=pages.width, row_mm=row_mm, whose=whose, going_on=going_on)
            at = pages.put(block, at)
            names = names[count:]
    return pages


_BELOW_NOTES_MM = 4.0
_TABLE_HEAD_MM, _BELOW_TABLE_MM = 12.4, 6.0
_SAME = 1e-6


def _shared(columns: Sequence[tuple[str, float]], width: float) -> list[float]:
    """A width for each column by its share, none too narrow for its head: what that takes the wider ones give."""
    least = [text_width_mm(name, Face.SEMIBOLD, SMALL) + 1.5 for name, _ in columns]
    share = width / sum(wide for _, wide in columns)
    spare = [max(0.0, wide * share - need) for (_, wide), need in zip(columns, least, strict=True)]
    kept = min(1.0, (width - sum(least)) / sum(spare)) if any(spare) else 0.0
    return [need + max(0.0, kept) * more for need, more in zip(least, spare, strict=True)]


class _RuledTable:
    """Columns by name and the share of the width that they take, and what stands first in each row."""

    def __init__(self, title: str, columns: tuple[tuple[str, float], ...], names: tuple[str, ...]) -> None:
        self.title, self.columns, self.names = title, columns, names

    def block(
        self, names: Sequence[str], *, width: float, row_mm: float, whose: str, going_on: bool
    ) -> Block:
        """The table with some of its rows, and the air below it; `whose` it is stands first, where it is said."""
        what = f"{self.title}, to be completed" + (", continued" if going_on else "")
        title = cut_before(whose, what, Face.BOLD, LARGE, width) if whose else capital(what)
        widths = _shared(self.columns, width)
        floor = -_TABLE_HEAD_MM - row_mm * len(names)
        items: list[Item] = [
            Text(at=(0.0, -4.2), text=title, face=Face.BOLD, size_pt=LARGE),
            Path(commands=polyline([(0.0, -6.6), (width, -6.6)]), pen=PENS["table rule"]),
        ]
        left = 0.0
        for index, ((name, _), wide) in enumerate(zip(self.columns, widths, strict=True)):
            if index:
                items.append(Path(commands=polyline([(left, -6.6), (left, floor)]), pen=PENS["row rule"]))
            items.append(
                Text(
                    at=(left + (1.2 if index else 0.0), -10.4),
                    text=cut(name, Face.SEMIBOLD, SMALL, wide - 1.4),
                    face=Face.SEMIBOLD,
                    size_pt=SMALL,
                )
            )
            left += wide
        y = -_TABLE_HEAD_MM
        for name in names:
            items.append(Path(commands=polyline([(0.0, y), (width, y)]), pen=PENS["ruled line"]))
            first = cut(name, Face.BOLD, SMALL, widths[0] - 1.0)
            items.append(Text(at=(0.0, y - 0.625 * row_mm), text=first, face=Face.BOLD, size_pt=SMALL))
            y -= row_mm
        items.append(Path(commands=polyline([(0.0, floor), (width, floor)]), pen=PENS["table rule"]))
        return Block(items=tuple(items), height=_BELOW_TABLE_MM - floor)
