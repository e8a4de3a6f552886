"""A panel of a page: drawn to a width, in less room where it can be, and of a list as much as a column holds."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import replace
from functools import cache
from itertools import accumulate
from typing import Protocol

from traverse.record import record
from traverse.sheet.paper.page import Block, side_by_side


class Draw(Hashable, Protocol):
    """Draws a panel."""

    def __call__(self, *, width: float) -> Block | None:
        """The block to a width; None with nothing to say."""


class DrawPart(Protocol):
    """Draws a list."""

    def __call__(self, *, width: float, part: slice) -> Block | None:
        """Some of its rows to a width."""


@record(frozen=True, kw_only=True)
class Form:
    """A panel in less room, and at which step it gives way on sheet 1 (`fitting.py`)."""

    draw: Draw
    step: str = ""
    part: DrawPart | None = None
    """Of a list, some of its rows so."""


@record(frozen=True, kw_only=True)
class Panel:
    """What may be drawn of a panel, and where."""

    name: str
    draw: Draw
    shorter: tuple[Form, ...] = ()
    """The longest first; on sheet 1 those of one step."""
    part: DrawPart | None = None
    """Of a list that may be longer than a page; None for what never is."""
    rows: int | Callable[[float], int] = 0
    """How many there are; where it depends on the width, by that."""
    breaks: Callable[[float], Sequence[int]] | None = None
    """Rows that a part should begin with, by the width; None where any will do."""
    first: int = 0
    """The row that it goes on with."""

    def begun(self, width: float, room: float) -> tuple[Block | None, Panel | None]:
        """As much as a height holds, and what is left of a list.

        That is the longest form, or the shortest where all are higher, and of a list one row at least.
        """
        if self.part is not None:
            return self._begun_list(self.part, width, room)
        forms = [self.draw, *(form.draw for form in self.shorter)]

        @cache
        def drawn(index: int) -> Block | None:
            return forms[index](width=width)

        def fits(index: int) -> bool:
            block = drawn(index)
            return block is None or block.height <= room

        return drawn(bisect_left(range(len(forms) - 1), True, key=fits)), None

    def _begun_list(self, part: DrawPart, width: float, room: float) -> tuple[Block | None, Panel | None]:
        first, rows = self.first, self.rows(width) if callable(self.rows) else self.rows
        if first >= rows:
            return None, None

        @cache
        def drawn(end: int) -> Block | None:
            return part(width=width, part=slice(first, end))

        def too_high(end: int) -> bool:
            block = drawn(end)
            return block is not None and block.height > room

        # A list may be many pages long: twice as many rows each time, until they are too many.
        most = 1
        while first + most < rows and not too_high(first + most):
            most *= 2
        ends = range(first + 1, min(first + most, rows) + 1)
        end = max(first + bisect_left(ends, True, key=too_high), first + 1)
        if end < rows and self.breaks is not None:
            # What is longer than a column is broken all the same.
            end = max((one for one in self.breaks(width) if first < one <= end), default=end)
        return drawn(end), replace(self, first=end) if end < rows else None


def drawn_once(panel: Panel) -> Panel:
    """A panel that many arrangements ask for: each of its forms, and each part of a list, is drawn once to a width."""
    shorter = tuple(
        replace(form, draw=cache(form.draw), part=_part_drawn_once(form.part)) for form in panel.shorter
    )
    return replace(panel, draw=cache(panel.draw), shorter=shorter, part=_part_drawn_once(panel.part))


def _part_drawn_once(part: DrawPart | None) -> DrawPart | None:
    if part is None:
        return None
    drawn: dict[tuple[float, int | None, int | None], Block | None] = {}

    def once(*, width: float, part: slice, draw: DrawPart = part) -> Block | None:
        key = (width, part.start, part.stop)
        if key not in drawn:
            drawn[key] = draw(width=width, part=part)
        return drawn[key]

    return once


def pieces(panels: Iterable[Panel], width: float, height: float) -> Iterable[Block]:
    """Panels for columns of a page of their own, in full; a list higher than a column in parts."""
    for panel in panels:
        block = panel.draw(width=width)
        rest: Panel | None = None
        if block is not None and block.height > height and panel.part is not None:
            block, rest = panel.begun(width, height)
        while block is not None:
            yield block
            block, rest = (None, None) if rest is None else rest.begun(width, height)


@record(frozen=True, kw_only=True)
class Shelf:
    """Panels side by side, with the share of the width that each takes."""

    panels: tuple[tuple[float, Panel], ...]
    least: float
    """Height below which it begins on a new page."""

    def begun(self, width: float, room: float, *, gap: float) -> tuple[Block | None, tuple[Panel, ...]]:
        """Its panels in the height there is, and what is left of lists; None where none has anything to say.

        The room of those that have nothing to say goes to the others.
        """
        there = self.panels
        while there:
            total, free = sum(share for share, _ in there), width - gap * (len(there) - 1)
            # A panel alone does not grow without end: lines of more than 130 mm are hard to follow.
            wide = [min(free * share / total, 1.5 * share * width) for share, _ in there]
            drawn = [panel.begun(each, room) for each, (_, panel) in zip(wide, there, strict=True)]
            blocks = [block for block, _ in drawn if block is not None]
            if len(blocks) == len(there):
                xs = accumulate((each + gap for each in wide[:-1]), initial=0.0)
                rest = tuple(panel for _, panel in drawn if panel is not None)
                return side_by_side(list(zip(xs, blocks, strict=True))), rest
            there = tuple(one for one, (block, _) in zip(there, drawn, strict=True) if block is not None)
        return None, ()
