"""The report as tables on a terminal. Imported only where there is one."""

from __future__ import annotations

from collections.abc import Iterable

from rich import box
from rich.console import Console
from rich.padding import Padding
from rich.table import Table as RichTable
from rich.text import Text

from traverse.output.report import Part, Table
from traverse.sheet.paper.words import NO_BREAK, THOUSANDS


def show(parts: Iterable[Part], console: Console) -> None:
    """Print the report; what a party wrote is text, never a command to the terminal."""
    for index, part in enumerate(parts):
        if index:
            console.print()
        if part.heading:
            console.print(_text(part.heading, style="bold"))
        if isinstance(part, Table):
            console.print(_table(part))
            paragraphs = part.below
        else:
            paragraphs = part.paragraphs
        for words in paragraphs:
            console.print(Padding(_text(words), (0, 0, 0, 2 if part.heading else 0)))


def _table(part: Table) -> RichTable:
    table = RichTable(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False, header_style="bold")
    for column, name in enumerate(part.columns):
        words = column in part.left
        last = column == len(part.columns) - 1
        table.add_column(
            _text(name), justify="left" if words else "right", no_wrap=not (words and last), overflow="fold"
        )
    for row in part.rows:
        table.add_row(*(_text(cell) for cell in row))
    return table


def _text(words: str, *, style: str = "") -> Text:
    """Without what a terminal would obey."""
    words = words.replace(NO_BREAK, " ").replace(THOUSANDS, " ")
    return Text("".join(letter for letter in words if letter.isprintable() or letter == "\n"), style=style)
