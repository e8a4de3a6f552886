"""Tables as they are printed: columns that take what they need, rows over as many pages as it takes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import partial
from typing import TypeAlias

from traverse.record import record
from traverse.sheet.paper.filling import FilledTo, Pages, Undrawn
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import Anchor, Block, Box, Face, Item, Path, Text, polyline
from traverse.sheet.paper.style import LARGE, PENS, SMALL, line_mm
from traverse.sheet.paper.words import ELLIPSIS, NOTHING, cut, cut_lines, plain

ROW_MM = 4.0
TIGHT_ROW_MM = 3.6
"""Rows nearer where that saves a page."""
CLOSE_ROW_MM = 3.2
"""As near as they may stand: lines of one cell are no farther apart."""
_HEAD_MM = 8.0
_BASE_MM = 2.75
_GAPS_MM = (3.0, 2.0, 1.5)
"""Between columns, the wider the better."""
_TITLE_MM = 6.6
"""From the base line area of a table's title to its rule."""
_NARROWEST_MM = 10.0
"""To this a column that wraps may be squeezed before figures are cut."""
_COMMON_MM = 52.0
"""Width that serves most remarks."""
_LEAST_ROWS = 3
"""Rows that a table begins with before a page ends; else it begins on the next."""


@record(frozen=True, slots=True, kw_only=True)
class Column:
    """A column by its head."""

    name: str
    unit: str = ""
    right: bool = False
    face: Face = Face.REGULAR
    least_mm: float | None = None
    """Width at which its words wrap; None for a column that keeps its width."""
    most_lines: int = 1
    """Lines an entry of a cell may take before it is cut."""
    takes_rest: bool = False
    """Whether room that nobody needs goes here; without any such column all share it."""


@record(frozen=True, slots=True, kw_only=True)
class Row:
    """Cells from left to right; an empty string is a blank.

    Line ends part the entries of a cell; entries of cells with the same number of them begin on the same line.
    """

    cells: tuple[str, ...]
    bold: frozenset[int] = frozenset()
    joined: bool = False
    """Belongs to the row above: no rule between the two."""
    rule_above: bool = False
    struck: int | None = None
    """Cell that is struck through."""


@record(frozen=True, slots=True, kw_only=True)
class Table:
    """What one table says."""

    title: str
    asides: tuple[str, ...] = ()
    """What may stand at the right of the title, the fullest first."""
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]


@record(frozen=True, slots=True, kw_only=True)
class Laid:
    """A table fitted to a width."""

    columns: tuple[Column, ...]
    widths: tuple[float, ...]
    gap: float
    rows: tuple[tuple[Row, tuple[tuple[str, ...], ...]], ...]
    """Each row with its cells in lines."""
    cut: frozenset[tuple[int, str]]
    """Row number and column name of every cell that was cut."""


class Laying:
    """Fits tables to widths; one that is tried in several ways is measured once."""

    def __init__(self) -> None:
        self._sized: dict[int, tuple[Table, _Sized]] = {}
        self._laid: dict[tuple[int, float], Laid] = {}

    def _of(self, table: Table) -> _Sized:
        # A table is told by itself, not by what it says: that would be read through at every question.
        if id(table) not in self._sized:
            used = _used(table)
            self._sized[id(table)] = table, (used, _natural(table, used))
        return self._sized[id(table)][1]

    def lay(self, table: Table, *, width: float) -> Laid:
        """Drop columns that are empty throughout, and give their room to those that wrap."""
        sized = self._of(table)
        if (id(table), width) not in self._laid:
            self._laid[id(table), width] = _lay(table, sized, width=width)
        return self._laid[id(table), width]

    def least_mm(self, table: Table) -> float:
        """Width below which its figures would be cut."""
        used, natural = self._of(table)
        columns = (table.columns[index] for index in used)
        wide = [_least(column, wide) for column, wide in zip(columns, natural, strict=True)]
        return sum(wide) + _GAPS_MM[-1] * (len(wide) - 1)


_Sized: TypeAlias = tuple[list[int], list[float]]
"""The columns of a table in which anything stands, and the width that each takes where nothing in it wraps."""


def _lay(table: Table, sized: _Sized, *, width: float) -> Laid:
    used, natural = sized
    columns = [table.columns[index] for index in used]
    for gap in _GAPS_MM:
        widths = _widths(columns, natural, width=width, gap=gap)
        if widths is not None:
            break
    else:
        widths = _squeezed(columns, natural, width=width, gap=gap)
    rows: list[tuple[Row, tuple[tuple[str, ...], ...]]] = []
    short: set[tuple[int, str]] = set()
    for number, row in enumerate(table.rows):
        entries: list[list[tuple[str, ...]]] = []
        for index, column, wide, wants in zip(used, columns, widths, natural, strict=True):
            texts = row.cells[index].split("\n")
            if wants <= wide - gap + 1e-6:
                entries.append([(text,) if text else () for text in texts])
                continue
            face = Face.BOLD if index in row.bold else column.face
            found = [_lines(text, column, face, room=wide - gap) for text in texts]
            if any(was_cut for _, was_cut in found):
                short.add((number, column.name))
            entries.append([lines for lines, _ in found])
        cells = _aligned(entries)
        places = {index: at for at, index in enumerate(used)}
        kept = Row(
            cells=tuple(row.cells[index] for index in used),
            bold=frozenset(places[index] for index in row.bold if index in places),
            joined=row.joined,
            rule_above=row.rule_above,
            struck=places.get(row.struck) if row.struck is not None else None,
        )
        rows.append((kept, cells))
    return Laid(columns=tuple(columns), widths=tuple(widths), gap=gap, rows=tuple(rows), cut=frozenset(short))


def _used(table: Table) -> list[int]:
    """The columns in which anything stands."""
    return [
        index
        for index in range(len(table.columns))
        if any(row.cells[index].strip("\n" + NOTHING) for row in table.rows)
    ] or [0]


def _natural(table: Table, used: Sequence[int]) -> list[float]:
    """Width that each of these columns takes where nothing in it wraps."""
    return [
        max(
            [_head_wide(column)]
            + [
                text_width_mm(entry, Face.BOLD if index in row.bold else column.face, SMALL)
                for row in table.rows
                for entry in row.cells[index].split("\n")
            ]
        )
        for index, column in ((index, table.columns[index]) for index in used)
    ]


def _head_wide(column: Column) -> float:
    return max(
        text_width_mm(column.name, Face.SEMIBOLD, SMALL), text_width_mm(column.unit, Face.ITALIC, SMALL)
    )


def _least(column: Column, natural: float) -> float:
    """Width of a column that wraps as much as it may, never less than its head."""
    return natural if column.least_mm is None else min(natural, max(column.least_mm, _head_wide(column)))


def _lines(text: str, column: Column, face: Face, *, room: float) -> tuple[tuple[str, ...], bool]:
    """An entry in lines, and whether it was cut."""
    if text_width_mm(text, face, SMALL) <= room + 1e-6:
        return ((text,) if text else (), False)
    if column.least_mm is not None:
        lines = cut_lines(text, face, SMALL, room, most=column.most_lines)
    else:
        lines = (cut(text, face, SMALL, room),)
    return lines, bool(lines) and lines[-1].endswith(ELLIPSIS) and not plain(text).endswith(ELLIPSIS)


def _aligned(entries: Sequence[Sequence[tuple[str, ...]]]) -> tuple[tuple[str, ...], ...]:
    """Cells in lines; where cells have as many entries as the most have, each entry begins level with the others."""
    most = max(len(cell) for cell in entries)
    if most == 1:
        return tuple(cell[0] for cell in entries)
    tall = [max(max(1, len(cell[entry])) for cell in entries if len(cell) == most) for entry in range(most)]
    cells: list[tuple[str, ...]] = []
    for cell in entries:
        if len(cell) == most:
            padded = [(*lines, *("",) * (high - len(lines))) for lines, high in zip(cell, tall, strict=True)]
            cells.append(tuple(line for lines in padded for line in lines))
        else:
            cells.append(tuple(line for lines in cell for line in lines))
    return tuple(cells)


def _widths(
    columns: Sequence[Column], natural: Sequence[float], *, width: float, gap: float
) -> list[float] | None:
    """Widths with the gap, or None where the least of them don't fit."""
    widths = [_least(column, wide) + gap for column, wide in zip(columns, natural, strict=True)]
    # The last column needs no gap after it, but keeping one lets every column be drawn alike.
    spare = width + gap - sum(widths)
    if spare < 0.0:
        return None
    # First what most cells want, then what the longest want: one long remark takes no room from the rest.
    for most in (_COMMON_MM, math.inf):
        wants = [max(0.0, min(wide, most) + gap - given) for wide, given in zip(natural, widths, strict=True)]
        spare, total = width + gap - sum(widths), sum(wants)
        share = min(1.0, spare / total) if total > 0.0 else 0.0
        widths = [given + share * want for given, want in zip(widths, wants, strict=True)]
    spare = width + gap - sum(widths)
    taking = [column.takes_rest for column in columns]
    whole = sum(given for given, takes in zip(widths, taking, strict=True) if takes or not any(taking))
    return [
        given * (1.0 + spare / whole) if takes or not any(taking) else given
        for given, takes in zip(widths, taking, strict=True)
    ]


def _squeezed(
    columns: Sequence[Column], natural: Sequence[float], *, width: float, gap: float
) -> list[float]:
    """Where even the least is too wide, columns that wrap give first: a figure cut short tells nothing."""
    widths = [_least(column, wide) + gap for column, wide in zip(columns, natural, strict=True)]
    spare = [
        0.0 if column.least_mm is None else max(0.0, given - gap - max(_NARROWEST_MM, _head_wide(column)))
        for column, given in zip(columns, widths, strict=True)
    ]
    wanted = sum(widths) - width - gap
    if wanted <= sum(spare):
        return [given - give * wanted / sum(spare) for given, give in zip(widths, spare, strict=True)]
    narrow = [given - give for given, give in zip(widths, spare, strict=True)]
    return [given * (width + gap) / sum(narrow) for given in narrow]


def flow(
    table: Table,
    pages: Pages,
    at: FilledTo,
    *,
    page_title: str,
    row_mm: float = ROW_MM,
    laying: Laying | None = None,
) -> tuple[FilledTo, Laid]:
    """Put a table down a column from a place, with its head again on every page; return where it ends.

    `page_title` stands in bold over the table where it goes on; rows are `row_mm` apart. Who puts the same table down
    in several ways gives one `laying` to all.
    """
    width = pages.columns[at.column].width
    laid = (laying or Laying()).lay(table, width=width)
    head_mm = _TITLE_MM + _head_mm(table)

    def head(title: str) -> Undrawn:
        return Undrawn(head_mm, partial(_head, table, laid, width=width, title=title))

    heights = [row_mm + (_most_lines(cells) - 1) * line_mm(SMALL) for _, cells in laid.rows]
    # A head alone at the foot of a page is no beginning.
    at = pages.fitting(sum(heights[:_LEAST_ROWS]) + _TITLE_MM + _head_mm(table), at)
    at = pages.put(head(table.title), at)
    since_rule = 0
    for number, ((row, cells), height) in enumerate(zip(laid.rows, heights, strict=True)):
        if pages.room(at) < height:
            pages.put(_rule(width, "table rule"), at)
            at = pages.after(at)
            at = pages.put(head(f"{page_title}, continued"), at)
            since_rule = 0
        elif number and not row.joined:
            since_rule += 1
            if row.rule_above:
                pages.put(_rule(width, "table rule"), at)
                since_rule = 0
            elif since_rule == 3:
                pages.put(_rule(width, "row rule"), at)
                since_rule = 0
        drawn = partial(_drawn, row, cells, laid, height=height, row_mm=row_mm)
        at = pages.put(Undrawn(height, drawn), at)
    pages.put(_rule(width, "table rule"), at)
    return at, laid


def table_block(table: Table, *, width: float, below_mm: float = 0.0) -> Block:
    """A table whose cells take one line each, in one piece, and what is kept clear below it."""
    tall = _TITLE_MM + _head_mm(table) + ROW_MM * len(table.rows)
    room = Box(x=0.0, y=-tall - ROW_MM, width=width, height=tall + ROW_MM)
    pages = Pages.of(room)
    flow(table, pages, FilledTo(), page_title=table.title)
    return Block(items=tuple(pages.on(0)), height=tall + below_mm)


def _head_mm(table: Table) -> float:
    """Names of columns and, where any has one, their units."""
    return _HEAD_MM if any(column.unit for column in table.columns) else _HEAD_MM - 3.0


def _most_lines(cells: Sequence[Sequence[str]]) -> int:
    return max([len(cell) for cell in cells] + [1])


def _head(table: Table, laid: Laid, *, width: float, title: str) -> Block:
    """Title, rule, names and units of the columns, rule."""
    title_width = min(text_width_mm(title, Face.BOLD, LARGE), width)
    items: list[Item] = [
        Text(at=(0.0, -4.2), text=cut(title, Face.BOLD, LARGE, width), face=Face.BOLD, size_pt=LARGE)
    ]
    room = width - title_width - 4.0
    aside = next((one for one in table.asides if text_width_mm(one, Face.REGULAR, SMALL) <= room), "")
    if aside:
        items.append(Text(at=(width, -4.2), text=aside, size_pt=SMALL, anchor=Anchor.END))
    y = -_TITLE_MM
    items.append(Path(commands=polyline([(0.0, y), (width, y)]), pen=PENS["table rule"]))
    left = 0.0
    for column, wide in zip(laid.columns, laid.widths, strict=True):
        edge = left + wide - laid.gap
        for text, face, down in ((column.name, Face.SEMIBOLD, 3.4), (column.unit, Face.ITALIC, 6.4)):
            if text:
                items.append(
                    Text(
                        at=(edge if column.right else left, y - down),
                        text=cut(text, face, SMALL, wide - laid.gap + 1.0),
                        face=face,
                        size_pt=SMALL,
                        anchor=Anchor.END if column.right else Anchor.START,
                    )
                )
        left += wide
    y -= _head_mm(table)
    items.append(Path(commands=polyline([(0.0, y), (width, y)]), pen=PENS["axis"]))
    return Block(items=tuple(items), height=-y)


def _drawn(row: Row, cells: Sequence[Sequence[str]], laid: Laid, *, height: float, row_mm: float) -> Block:
    items: list[Item] = []
    left = 0.0
    for index, (column, wide, lines) in enumerate(zip(laid.columns, laid.widths, cells, strict=True)):
        face = Face.BOLD if index in row.bold else column.face
        y = (ROW_MM - row_mm) / 2.0 - _BASE_MM
        for line in lines:
            edge = left + wide - laid.gap
            items.append(
                Text(
                    at=(edge if column.right else left, y),
                    text=line,
                    face=face,
                    size_pt=SMALL,
                    anchor=Anchor.END if column.right else Anchor.START,
                )
            )
            if index == row.struck:
                end = left + text_width_mm(line, face, SMALL)
                items.append(
                    Path(commands=polyline([(left, y + 0.8), (end, y + 0.8)]), pen=PENS["struck out"])
                )
            y -= line_mm(SMALL)
        left += wide
    return Block(items=tuple(items), height=height)


def _rule(width: float, pen: str) -> Block:
    rule = Path(commands=polyline([(0.0, 0.0), (width, 0.0)]), pen=PENS[pen])
    return Block(items=(rule,), height=0.0)
