"""Lines that say nothing, or say again what the line before them said."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from traverse.diagnostic import Diagnostic, note
from traverse.log.described import described
from traverse.log.items import Elevation, Item, Lines, Photo, Planes, Words
from traverse.log.records import Log


def check_idle_lines(log: Log) -> Iterator[Diagnostic]:
    """Notes on a place of a leg at which nothing is booked, and on a line that stands twice in the same words."""
    for address in log.empty_points:
        assert address.start is not None
        yield note(
            "along-empty",
            f"nothing is booked {address.start.written} along this leg",
            address.span,
            "leave the line out, or look on the page for what was met there",
        )
    for before, item in pairwise(log.items):
        own = _said(item)
        if own is not None and own == _said(before) and item.address.index == before.address.index:
            count = "; it counts twice" if isinstance(item, Planes | Lines) else ""
            yield note(
                "line-twice",
                f"this stands twice here in the same words (line {before.span.line}){count}",
                item.span,
                "leave one of the two out, or look at the page for what the second one was",
            )


def _said(item: Item) -> tuple[str, ...] | None:
    """What a line says, as it was typed; None of one that is asked about elsewhere where it stands twice."""
    match item:
        case Planes() | Lines() | Elevation():
            return described(item).word, item.written
        case Words():
            return item.kind.value, item.text
        case Photo():
            return "photo", item.number
        case _:
            return None
