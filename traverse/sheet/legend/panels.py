"""The panels of words on a key: what each draws, and its shorter forms."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache, partial

from traverse.ground.records import Traverse
from traverse.log.records import RockUnit
from traverse.sheet.legend.blocks import (
    brief_limits,
    closure_block,
    hazard_lines,
    hazards_block,
    limits_block,
    structure_block,
    structure_lines,
)
from traverse.sheet.legend.unit_legend import UnitRows, lines_of_units, units_block
from traverse.sheet.legend.unit_names import unit_names_block
from traverse.sheet.paper.block import text_block
from traverse.sheet.paper.fitting import (
    ACCURACY_MOVED,
    AGES_TOO,
    CLOSER_SIGNS,
    CLOSER_UNITS,
    FEWER_HAZARDS,
    NAMES_ALONE,
    RUN_ON,
)
from traverse.sheet.paper.page import Block, Face
from traverse.sheet.paper.panel import Form, Panel
from traverse.sheet.paper.style import SMALL, UnitStyle
from traverse.sheet.paper.words import plain, wrap
from traverse.sheet.said.sentences import closure_lines
from traverse.sheet.said.stops import gather
from traverse.sheet.signs.sign_list import (
    TIGHT_SIGN_PITCH_MM,
    SignList,
)
from traverse.structure.records import Geology

IN_FULL = {"structure": "Structure", "closure": "Closure", "sections": "Sections, in full"}
"""By the name of a panel the heading under which a later sheet has whole what sheet 1 cuts."""
_LEAST_SENTENCES = 2
"""Of the structure: what it is, and the next. Units lose their second line before these go."""


def listed_units(
    trav: Traverse, *, styles: Mapping[str, UnitStyle], units: Sequence[RockUnit] | None = None
) -> Panel:
    """Units on the sheet, or those named, in as many parts as columns need; a unit is broken only where one can't hold it."""
    draw = partial(units_block, trav, styles=styles, units=units)

    def rows(width: float) -> int:
        return len(lines_of_units(trav, width=width, units=units))

    def breaks(width: float) -> list[int]:
        lines = lines_of_units(trav, width=width, units=units)
        return [index for index, begins in enumerate(lines) if begins]

    closer = partial(draw, rows=UnitRows.CLOSE)
    forms = (Form(step=CLOSER_UNITS, draw=closer, part=closer),)
    return Panel(name="units", draw=draw, shorter=forms, part=draw, rows=rows, breaks=breaks)


def units_panel(trav: Traverse, *, styles: Mapping[str, UnitStyle], short: bool) -> Panel:
    """Units on the sheet; `short` where the layout has taken their second lines already."""
    units = partial(units_block, trav, styles=styles)
    shorter = (
        Form(step=CLOSER_UNITS, draw=partial(units, rows=UnitRows.CLOSE)),
        Form(step="short units", draw=partial(units, rows=UnitRows.SHORT)),
        Form(step=AGES_TOO, draw=partial(units, rows=UnitRows.AGES)),
        Form(step=NAMES_ALONE, draw=partial(unit_names_block, trav, styles=styles)),
    )
    whole = listed_units(trav, styles=styles)
    return replace(whole, draw=shorter[1].draw if short else whole.draw, shorter=shorter)


def signs_panel(signs: Sequence[str], trav: Traverse, *, half_m: float | None, tight: bool) -> Panel:
    """Signs on the sheet; `tight` where the layout has drawn their rows together already."""
    rows = SignList(signs, trav, half_m=half_m)
    listed = rows.block
    closer = partial(listed, pitch=TIGHT_SIGN_PITCH_MM)
    usual = closer if tight else listed
    return Panel(
        name="signs",
        draw=usual,
        shorter=(Form(step=CLOSER_SIGNS, draw=closer, part=closer),),
        part=usual,
        rows=len(rows.names),
    )


def structure_panel(geology: Geology, *, reported: bool) -> Panel:
    """What is said of the structure: in paragraphs, running on, and ever fewer sentences."""
    whole = partial(structure_block, geology, reported=reported)
    fewer = tuple(
        Form(
            step="fewer words" if keep >= _LEAST_SENTENCES else "least words",
            draw=partial(whole, keep=keep, run_on=True),
        )
        for keep in reversed(range(1, len(structure_lines(geology))))
    )
    return Panel(
        name="structure",
        draw=whole,
        shorter=(Form(step=RUN_ON, draw=partial(whole, run_on=True)), *fewer),
    )


def closure_panel(trav: Traverse, *, reported: bool) -> Panel:
    """How the walk closes; ever fewer sentences."""
    whole = partial(closure_block, trav, reported=reported)
    return Panel(
        name="closure",
        draw=whole,
        shorter=tuple(
            Form(step="closure", draw=partial(whole, keep=keep))
            for keep in reversed(range(1, len(closure_lines(trav.log, trav.survey))))
        ),
    )


def limits_panel(trav: Traverse, *, last: str | None = None, calls: bool = False) -> Panel:
    """Hazards and limits; fewer hazards only where nothing else is left to give way, the words of an exercise among it.

    `last` stands in place of how good the stations are, and what dashes and depth mean; `calls` where nothing beside it
    tells what is said for an emergency.
    """
    limits = partial(limits_block, trav, last=last, calls=calls)
    count = len(gather(trav).hazards)
    fewer = [most for most in (16, 8, 4, 3, 2, 1, 0) if most < count]
    brief = partial(limits, run_on=True, last=last or brief_limits(trav))
    least = partial(brief, last="")
    return Panel(
        name="limits",
        draw=limits,
        shorter=(
            Form(step="running hazards", draw=partial(limits, run_on=True)),
            Form(step="fewer limits", draw=brief),
            Form(step=ACCURACY_MOVED, draw=least),
            *(Form(step=FEWER_HAZARDS, draw=partial(least, most_hazards=most)) for most in fewer),
        ),
    )


def accuracy_panel(trav: Traverse) -> Panel:
    """How good the stations are, for a later page, where the limits had no room for it beside the hazards."""

    def draw(*, width: float) -> Block | None:
        return text_block("How good the stations are", [brief_limits(trav)], width=width)

    return Panel(name="accuracy", draw=draw)


def left_off_panel(lines: Sequence[str]) -> Panel:
    """What a map has no room for, in full, where no tables follow it."""

    def draw(*, width: float) -> Block | None:
        return text_block("Not on the map", lines, width=width)

    return Panel(name="left off", draw=draw)


def in_full_panel(name: str, paragraphs: Sequence[str]) -> Panel:
    """What sheet 1 cuts, whole for a later page, in as many parts as columns need."""

    @cache
    def lines(width: float) -> list[str]:
        return [line for one in paragraphs for line in wrap(one, Face.REGULAR, SMALL, width)]

    def draw(*, width: float, part: slice = slice(None)) -> Block:
        heading = f"{IN_FULL[name]}, continued" if part.start else IN_FULL[name]
        block = text_block(heading, lines(width)[part], width=width)
        assert block is not None, "something is said"
        return block

    return Panel(name=name, draw=draw, part=draw, rows=lambda width: len(lines(width)))


def structure_in_full(geology: Geology) -> Panel:
    """What is said of the structure, as the first sheet has it where it has room."""
    return in_full_panel("structure", structure_lines(geology))


def closure_in_full(trav: Traverse) -> Panel:
    """How the walk closes, the same."""
    return in_full_panel("closure", [plain(one) for one in closure_lines(trav.log, trav.survey)])


def hazards_panel(trav: Traverse) -> Panel:
    """Every hazard in full, for a page of its own."""
    # Asked for again and again, until as many stand in a column as it holds.
    lines = cache(partial(hazard_lines, trav))
    hazards = partial(hazards_block, lines)

    def rows(width: float) -> int:
        return len(lines(width))

    @cache
    def breaks(width: float) -> list[int]:
        return [index for index, (_, first) in enumerate(lines(width)) if first]

    return Panel(name="hazards", draw=hazards, part=hazards, rows=rows, breaks=breaks)
