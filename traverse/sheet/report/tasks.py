"""Readings to check tomorrow: a list to tick off, over as many columns as it takes."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache, partial

from traverse.sheet.paper.block import framed, set_lines
from traverse.sheet.paper.page import Block, Box, Face, Path, Text, rectangle
from traverse.sheet.paper.panel import Panel
from traverse.sheet.paper.style import HEAD, PENS, line_mm
from traverse.sheet.paper.words import cut_lines
from traverse.sheet.said.tomorrow import Task
from traverse.wording import capital

_FIRST_MM = 7.4
_INDENT_MM = 4.6
_BOX_MM = 2.8
_AFTER_MM = 0.9
_PLACE_LINES, _REASON_LINES = 3, 12
"""Of one task at most, so that none is higher than a column, whatever was noted."""


def tasks_panel(tasks: Sequence[Task]) -> Panel:
    """What to check in the order given, numbered, with a box to tick."""

    @cache
    def lines(index: int, width: float) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """Place and reason of a task."""
        task = tasks[index]
        return (
            cut_lines(task.place, Face.SEMIBOLD, HEAD, width - 12.0, most=_PLACE_LINES),
            cut_lines(capital(task.reason), Face.REGULAR, HEAD, width - 9.0, most=_REASON_LINES),
        )

    def draw(*, width: float, part: slice) -> Block | None:
        shown = range(len(tasks))[part]
        if not shown:
            return None
        items = framed("Readings to check tomorrow" + (", continued" if shown.start else ""), width=width)
        y = -_FIRST_MM
        for index in shown:
            head, body = lines(index, width)
            box = Box(x=width - _BOX_MM, y=y - 0.5, width=_BOX_MM, height=_BOX_MM)
            items += (
                Text(at=(0.0, y), text=str(index + 1), face=Face.BOLD, size_pt=HEAD),
                Path(commands=rectangle(box), pen=PENS["tick box"]),
            )
            y = set_lines(items, head, x=_INDENT_MM, y=y, face=Face.SEMIBOLD, size_pt=HEAD)
            y = set_lines(items, body, x=_INDENT_MM, y=y, size_pt=HEAD) - _AFTER_MM
        # The air below the last line is none of it.
        return Block(items=tuple(items), height=-y - _AFTER_MM - line_mm(HEAD))

    return Panel(name="tasks", draw=partial(draw, part=slice(None)), part=draw, rows=len(tasks))
