"""Blocks of words one below the other in a column: what gives way, and what moves, where they do not fit."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

from traverse.record import record
from traverse.sheet.paper.filling import FilledTo, Pages
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import Block, Box, Face, Item, Text
from traverse.sheet.paper.panel import Draw, Panel
from traverse.sheet.paper.style import SMALL, line_mm
from traverse.sheet.paper.words import cut
from traverse.wording import listed

CLOSER_SIGNS, CLOSER_UNITS = "closer signs", "closer units"
"""Rows that stand nearer: nothing goes unsaid by it."""
CLOSER_LINES = "closer lines"
"""The same of a strip that has moved: lines to write on, and as many words as they leave room for."""
RUN_ON = "running words"
"""Sentences that follow each other on a line: the same."""
NAMES_ALONE = "names of units"
"""The last step before one moves: what else is said of units does. No map is larger for it."""
AGES_TOO = "names and ages of units"
"""Instead of those, where all other words have their room again: nothing gives way for it."""
BESIDE = (
    CLOSER_SIGNS,
    RUN_ON,
    CLOSER_UNITS,
    "fewer words",
    "short units",
    "least words",
    "least units",
    "closure",
    NAMES_ALONE,
)
"""What gives way beside a map, in this order."""
UPRIGHT = (
    CLOSER_SIGNS,
    RUN_ON,
    CLOSER_UNITS,
    "fewer words",
    "least words",
    "short units",
    "least units",
    "closure",
    NAMES_ALONE,
)
"""The same in the narrow columns under an upright map, where units on one line would lose their ages."""
MOVE = ("structure", "closure", "signs", "units")
"""What moves to another page, in this order; hazards and limits never do."""
FEWER_HAZARDS = "fewer hazards"
ACCURACY_MOVED = "accuracy"
LAST = ("running hazards", "fewer limits", ACCURACY_MOVED, FEWER_HAZARDS)
"""The steps after all others, when nothing is left to move."""


@record(frozen=True, kw_only=True)
class Fitted:
    """A column as it is drawn."""

    items: tuple[Item, ...]
    moved: tuple[Panel, ...]
    """Panels that found no room."""
    shortened: frozenset[str]
    """Names of panels that say less than they could."""
    units_named: bool
    """Whether of the units only names stand there, or names and ages."""
    last_step: str | None
    """Of `LAST`, the one that was come to."""


def fit(
    panels: Sequence[Panel],
    column: Box,
    order: Sequence[str],
    *,
    pages: frozenset[str] = frozenset(),
    kept_longest: str | None = None,
) -> Fitted:
    """Panels one below the other; what does not fit gives way in the order of the steps, or is moved.

    `pages` names those that have a page of their own anyway; `kept_longest` the one that moves after all others.
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
    if used() > room and any(one.name in MOVE for one in kept):
        # What has moved is told in a line.
        room -= line_mm(SMALL)
    for name in sorted(MOVE, key=lambda one: one == kept_longest):
        if used() <= room:
            break
        kept = [one for one in kept if one.name != name or height(forms[name]) == 0.0]
    for panel in panels:
        # What moved for the sake of a panel that then moved itself comes back.
        if panel not in kept:
            before, kept = kept, [one for one in panels if one in kept or one is panel]
            if used() > room:
                kept = before
    # What gave way before a later step made room for it says all it can again.
    first = (kept_longest, *MOVE)
    for panel in sorted((one for one in kept if one.name in MOVE), key=lambda one: first.index(one.name)):
        for draw in (panel.draw, *(form.draw for form in panel.shorter)):
            before_draw = forms[panel.name]
            if draw is before_draw or used() > room:
                break
            forms[panel.name] = draw
            if used() <= room:
                break
            forms[panel.name] = before_draw
    last_step: str | None = None
    for step in LAST:
        for panel, form in ((one, form) for one in kept for form in one.shorter if form.step == step):
            if used() <= room:
                break
            forms[panel.name] = form.draw
            last_step = step
    moved = tuple(one for one in panels if one not in kept)
    filled, at = Pages(columns=(column,)), FilledTo()
    for panel in kept:
        block = drawn(forms[panel.name])
        if block is not None:
            at = filled.put(block, at)
    if moved:
        own = [one.name for one in moved if one.name in pages]
        later = [one.name for one in moved if one.name not in pages]
        told = [f"{listed(later).capitalize()}: on a later sheet"] if later else []
        if own:
            told.append(
                f"{listed(own).capitalize()}: {'sheets of their' if len(own) > 1 else 'a sheet of its'} own"
            )
        whole = ". ".join(told)
        words = (
            whole
            if text_width_mm(whole, Face.ITALIC, SMALL) <= width
            else cut(f"{listed([one.name for one in moved]).capitalize()}: later", Face.ITALIC, SMALL, width)
        )
        text = Text(at=(0.0, -line_mm(SMALL)), text=words, face=Face.ITALIC, size_pt=SMALL)
        filled.put(Block(items=(text,), height=line_mm(SMALL)), at)
    return Fitted(
        items=tuple(filled.on(0)),
        moved=moved,
        units_named=any(
            forms[one.name] is form.draw
            for one in kept
            for form in one.shorter
            if form.step in {NAMES_ALONE, AGES_TOO}
        ),
        last_step=last_step,
        shortened=frozenset(
            one.name
            for one in kept
            if forms[one.name] not in (one.draw, *(form.draw for form in one.shorter if form.step == RUN_ON))
        ),
    )
