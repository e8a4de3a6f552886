"""The report as plain text: for a file, a pipe, or a terminal that shows no more."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from traverse.output.report import Part, Sentences, Table
from traverse.sheet.paper.words import NO_BREAK, THOUSANDS

WIDTH = 96


def plain_text(parts: Iterable[Part]) -> str:
    """No wider than 96 columns but for words that are longer."""
    text = "\n\n".join("\n".join(_part(part)) for part in parts)
    return text.replace(NO_BREAK, " ").replace(THOUSANDS, " ")


def _part(part: Part) -> list[str]:
    if isinstance(part, Table):
        rows = [part.heading, *_columns(part)]
        for words in part.below:
            rows.extend(_wrapped(words, indent="  "))
        return rows
    return _sentences(part)


def _sentences(part: Sentences) -> list[str]:
    rows = [part.heading] if part.heading else []
    indent = "  " if part.heading else ""
    for words in part.paragraphs:
        rows.extend(_wrapped(words, indent=indent))
    return rows


def _wrapped(text: str, *, indent: str = "") -> list[str]:
    return textwrap.wrap(
        text, WIDTH, initial_indent=indent, subsequent_indent=indent + "  ", break_long_words=False
    )


def _columns(table: Table) -> list[str]:
    """Cells in columns; words in the last one run on below themselves."""
    cells = [table.columns, *table.rows]
    last = len(table.columns) - 1
    widths = [max(len(row[column]) for row in cells) for column in range(last + 1)]
    room = max(24, WIDTH - sum(widths[:last]) - 2 * last - 2)
    rows = []
    for row in cells:
        shown = [
            cell.ljust(width) if column in table.left else cell.rjust(width)
            for column, (cell, width) in enumerate(zip(row[:last], widths[:last], strict=True))
        ]
        if last in table.left:
            first, *more = textwrap.wrap(row[last], room, break_long_words=False) or [""]
        else:
            first, more = row[last].rjust(widths[last]), []
        start = "  " + "  ".join([*shown, ""])
        rows.append((start + first).rstrip())
        rows.extend(" " * len(start) + words for words in more)
    return rows
