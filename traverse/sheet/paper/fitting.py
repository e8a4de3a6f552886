"""Blocks of words one below the other in a column: what gives way, and what moves, where they do not fit."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Sequence
from functools import cache
from typing import Protocol

from traverse.record import record
from traverse.sheet.paper.filling import FilledTo, Pages
from traverse.sheet.paper.page import Block, Box, Face, Item, Text
from traverse.sheet.paper.style import SMALL, line_mm
from traverse.sheet.paper.words import cut
from traverse.wording import listed


class Draw(Hashable, Protocol):
    """Draws a block of words."""

    def __call__(self, *, width: float) -> Block | None:
        """The block to a width; None with nothing to say."""


class DrawPart(Protocol):
    """Draws a list."""

    def __call__(self, *, width: float, part: slice) -> Block | None:
        """Some of its rows to a width."""


BESIDE = (
    "closer signs",
    "running words",
    "closer units",
    "fewer words",
    "short units",
    "least words",
    "closure",
)
"""What gives way beside a map, in this order."""
UPRIGHT = (
    "closer signs",
    "running words",
    "closer units",
    "fewer words",
    "least words",
    "short units",
    "closure",
)
"""The same in the narrow columns under an upright map, where units on one line would lose their ages."""
_MOVE = ("structure", "closure", "signs", "units")
"""What moves to another page, in this order; hazards and limits never do."""
FEWER_HAZARDS = "fewer hazards"
"""The step after all others, when nothing is left to move."""


@record(frozen=True, kw_only=True)
class Form:
    """A block in less room, and at which step of `BESIDE` or `UPRIGHT` it is taken, or at `FEWER_HAZARDS`."""

    step: str
    draw: Draw


@record(frozen=True, kw_only=True)
class Panel:
    """A block of sheet 1: how to draw it, and whether it may move to a page of its own."""

    name: str
    draw: Draw
    shorter: tuple[Form, ...] = ()
    """Those of one step the longest first."""
    part: DrawPart | None = None
    """Of a list that may be longer than a page; None for what never is."""
    rows: int | Callable[[float], int] = 0
    """How many there are; where it depends on the width, by that."""
    breaks: Callable[[float], Sequence[int]] | None = None
    """Rows that a part should begin with, by the width; None where any will do."""


@record(frozen=True, kw_only=True)
class Fitted:
    """A column as it is drawn."""

    items: tuple[Item, ...]
    moved: tuple[Panel, ...]
    """Panels that found no room."""
    shortened: frozenset[str]
    """Names of panels that say less than they could."""


def fit(
    panels: Sequence[Panel], column: Box, order: Sequence[str], *, pages: frozenset[str] = frozenset()
) -> Fitted:
    """Panels one below the other; what does not fit gives way in the order of the steps, or is moved.

    `pages` names those that have a page of their own anyway.
    """
    width = column.width
    forms = {one.name: one.draw for one in panels}
    kept = list(panels)
    room = column.height + 1e-6

    @cache
    def drawn(draw: Draw) -> Block | None:
        return draw(width=width)

    def height(draw: Draw) -> float:
        block = drawn(draw)
        return 0.0 if block is None else block.height

    def used() -> float:
        return sum(height(forms[one.name]) for one in kept)

    for step in order:
        for panel, form in ((one, form) for one in panels for form in one.shorter if form.step == step):
            if used() <= room:
                break
            forms[panel.name] = form.draw
    if used() > room:
        room -= line_mm(SMALL)
    for name in _MOVE:
        if used() <= room:
            break
        kept = [one for one in kept if one.name != name or height(forms[name]) == 0.0]
    for panel in panels:
        # What moved for the sake of a panel that then moved itself comes back.
        if panel not in kept:
            before, kept = kept, [one for one in panels if one in kept or one is panel]
            if used() > room:
                kept = before
    for panel, form in ((one, form) for one in kept for form in one.shorter if form.step == FEWER_HAZARDS):
        if used() <= room:
            break
        forms[panel.name] = form.draw
    moved = tuple(one for one in panels if one not in kept)
    filled, at = Pages(columns=(column,)), FilledTo()
    for panel in kept:
        block = drawn(forms[panel.name])
        if block is not None:
            at = filled.put(block, at)
    if moved:
        own = [one.name for one in moved if one.name in pages]
        later = [one.name for one in moved if one.name not in pages]
        told = [f"{listed(later).capitalize()}: next sheet"] if later else []
        if own:
            told.append(
                f"{listed(own).capitalize()}: {'sheets of their' if len(own) > 1 else 'a sheet of its'} own"
            )
        words = cut(". ".join(told), Face.ITALIC, SMALL, width)
        text = Text(at=(0.0, -line_mm(SMALL)), text=words, face=Face.ITALIC, size_pt=SMALL)
        filled.put(Block(items=(text,), height=line_mm(SMALL)), at)
    return Fitted(
        items=tuple(filled.on(0)),
        moved=moved,
        shortened=frozenset(one.name for one in kept if forms[one.name] is not one.draw),
    )


def pieces(panels: Iterable[Panel], width: float, height: float) -> Iterable[Block]:
    """Panels for columns of a page of their own; a list higher than a column in parts."""
    for panel in panels:
        block = panel.draw(width=width)
        if block is None:
            continue
        if panel.part is None or block.height <= height:
            yield block
            continue
        rows = panel.rows(width) if callable(panel.rows) else panel.rows
        each = max(1, int((height - 8.0) / (block.height / rows)))
        breaks = range(rows) if panel.breaks is None else panel.breaks(width)
        start = 0
        while start < rows:
            end = min(start + each, rows)
            if end < rows:
                # What is longer than a column is broken all the same.
                end = max((one for one in breaks if start < one <= end), default=end)
            part = panel.part(part=slice(start, end), width=width)
            if part is not None:
                yield part
            start = end
