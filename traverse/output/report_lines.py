"""The report laid out in lines: as plain text for a file or a pipe, in bold and to its width on a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator
from enum import Enum
from typing import TYPE_CHECKING

from traverse.diagnostic import columns
from traverse.output.report import Part, ReportTable, Sentences
from traverse.record import record
from traverse.sheet.paper.words import NO_BREAK, THOUSANDS

if TYPE_CHECKING:
    from rich.console import Console

WIDTH = 96
_LEAST_LAST = 16
"""Columns of the last cell of a table, whose words run on below themselves."""


class LineRole(Enum):
    """What a line of the report is."""

    HEADING = "heading"
    COLUMNS = "columns"
    """Over the columns of a table."""
    BODY = "body"
    BETWEEN = "between"
    """Parts one from the other; empty."""


_BOLD = frozenset({LineRole.HEADING, LineRole.COLUMNS})


@record(frozen=True, slots=True)
class ReportLine:
    """A line of the report."""

    role: LineRole
    words: str


def report_lines(parts: Iterable[Part], *, width: int) -> Iterator[ReportLine]:
    """No wider than `width` columns but for words that are longer, and tables that can't be narrower."""
    for index, part in enumerate(parts):
        if index:
            yield ReportLine(LineRole.BETWEEN, "")
        for line in _part(part, width):
            yield ReportLine(line.role, line.words.replace(NO_BREAK, " ").replace(THOUSANDS, " "))


def plain_text(parts: Iterable[Part]) -> str:
    """The report for a file or a pipe."""
    return "\n".join(line.words for line in report_lines(parts, width=WIDTH))


def show(parts: Iterable[Part], console: Console) -> None:
    """Print the report on a terminal; what a party wrote is text, never a command to it."""
    from rich.text import Text

    for line in report_lines(parts, width=console.width):
        words = "".join(letter for letter in line.words if letter.isprintable())
        console.print(Text(words, style="bold" if line.role in _BOLD else ""), soft_wrap=True)


def _part(part: Part, width: int) -> Iterator[ReportLine]:
    if part.heading:
        yield ReportLine(LineRole.HEADING, part.heading)
    if isinstance(part, ReportTable):
        yield from _columns(part, width)
    paragraphs = part.paragraphs if isinstance(part, Sentences) else part.below
    indent = "  " if part.heading else ""
    for words in paragraphs:
        for line in textwrap.wrap(
            words,
            width,
            initial_indent=indent,
            subsequent_indent=indent + "  ",
            break_long_words=False,
        ):
            yield ReportLine(LineRole.BODY, line)


def _columns(table: ReportTable, width: int) -> Iterator[ReportLine]:
    """Cells in columns; words in the last one run on below themselves."""
    cells = [table.columns, *table.rows]
    last = len(table.columns) - 1
    widths = [max(columns(row[column]) for row in cells) for column in range(last + 1)]
    room = max(_LEAST_LAST, width - sum(widths[:last]) - 2 * last - 2)
    for index, row in enumerate(cells):
        role = LineRole.BODY if index else LineRole.COLUMNS
        shown = [
            cell + " " * (wide - columns(cell))
            if column in table.left
            else " " * (wide - columns(cell)) + cell
            for column, (cell, wide) in enumerate(zip(row[:last], widths[:last], strict=True))
        ]
        if last in table.left:
            first, *more = textwrap.wrap(row[last], room, break_long_words=False) or [""]
        else:
            first, more = row[last].rjust(widths[last]), []
        start = "  " + "  ".join([*shown, ""])
        yield ReportLine(role, (start + first).rstrip())
        for words in more:
            yield ReportLine(role, " " * len(start) + words)
