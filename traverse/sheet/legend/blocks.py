"""Blocks of running text on sheet 1: structure, closure, hazards and limits; and the frame that every block has."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from traverse.ground.records import Traverse
from traverse.length import unbroken
from traverse.sheet.paper.block import BELOW_MM, TEXT_BASE_MM, framed, set_lines, text_block
from traverse.sheet.paper.page import Block, Face, Item
from traverse.sheet.paper.style import SMALL, line_mm
from traverse.sheet.paper.words import NO_BREAK, counted, plain, wrap
from traverse.sheet.said.cautions import hazard_words, hazards_closing
from traverse.sheet.said.emergency import emergency_sentences
from traverse.sheet.said.sentences import (
    MOST_CLOSURES,
    SKETCH,
    accuracy,
    closure_lines,
    interpretation,
    named_structure,
)
from traverse.sheet.said.stops import gather
from traverse.sheet.signs.symbols import symbol
from traverse.structure.form.records import (
    Discordance,
    EvenDip,
    FaultSeen,
    Finding,
    Level,
    OneFault,
    Steepening,
)
from traverse.structure.records import Geology

HAZARDS_WHOLE = "Hazards noticed, in full"
"""Heads the block that cuts and counts none of them."""
LIMITS_HEADS = ("Hazards noticed, and limits", "Limits")
"""Head the block of limits: with hazards, and without any."""
MORE_UNPRINTED = "more in the log’s report"
"""Beside the heading of a block that says less than it could, where no report is printed with the sheet: it costs no line."""
_HAZARD_INDENT_MM = 3.9
_FEW_HAZARDS = 4
MOST_HAZARDS = 30
"""More than these would leave the column no room for the limits."""


def _kept(paragraphs: Sequence[str], keep: int | None, *, reported: bool) -> list[str]:
    """The first `keep` of them, and that the rest stands in the report where there is one; all without a `keep`."""
    if keep is None or keep >= len(paragraphs):
        return [*paragraphs]
    return [*paragraphs[:keep], *(["More in the report."] if reported else [])]


def _aside(keep: int | None, of: int, *, reported: bool) -> str:
    """That there is more than is kept, where no report is printed."""
    return MORE_UNPRINTED if keep is not None and keep < of and not reported else ""


def structure_lines(geology: Geology, *, rests: bool = True) -> tuple[str, ...]:
    """What can be said of the structure, and what can't for want of readings; with what each `rests` on."""
    named = named_structure(geology)
    # What the beds make stands first, then what parts them: where room is short, it is what must not be cut.
    told = sorted(geology.findings, key=lambda one: (one is not named, _standing(one.finding)))
    return tuple(_unbroken(one.whole if rests else one.words) for one in told)


def _standing(finding: Finding) -> int:
    """What parts the beds comes first, then what they make together, an even dip after that, and last what was read alone."""
    if isinstance(finding, Discordance | OneFault):
        return 0 if isinstance(finding, Discordance) else 1
    if isinstance(finding, FaultSeen) and finding.separation is not None:
        return 1
    if isinstance(finding, EvenDip | Steepening):
        return 3
    return 2 if finding.level is not Level.OBSERVED else 4


def _unbroken(sentence: str) -> str:
    """A quantity never breaks over a line."""
    return unbroken(sentence).replace(" → ", f"{NO_BREAK}→{NO_BREAK}")


def structure_block(
    geology: Geology, *, width: float, reported: bool, keep: int | None = None, run_on: bool = False
) -> Block | None:
    """The structure in words; None without a reading.

    `keep` leaves all but so many sentences to the report, and what they rest on; `reported` is whether it is printed
    with the sheet. With `run_on` they follow each other on one line.
    """
    lines = structure_lines(geology, rests=keep is None)
    told = _kept(lines, keep, reported=reported)
    if run_on:
        told = [" ".join(told)] if told else []
    return text_block("Structure", told, width=width, aside=_aside(keep, len(lines), reported=reported))


def closure_block(trav: Traverse, *, width: float, reported: bool, keep: int | None = None) -> Block | None:
    """How the walk closes, in a line or two; None without a leg.

    `keep` as with the structure; where it leaves loops or ties out, the worst stand and the rest is counted.
    """
    if not trav.survey.legs:
        return None
    lines = closure_lines(trav.log, trav.survey)
    if keep is not None and keep < len(trav.survey.closures):
        most = min(keep, MOST_CLOSURES)
        lines = closure_lines(trav.log, trav.survey, most=most)
        keep = most + 1
    paragraphs = _kept([plain(line) for line in lines], keep, reported=reported)
    aside = _aside(keep, len(lines), reported=reported)
    if len(trav.survey.closures) == 1:
        paragraphs = [" ".join(paragraphs)]
    return text_block("Closure", paragraphs, width=width, aside=aside)


def limits_block(
    trav: Traverse,
    *,
    width: float,
    most_hazards: int = MOST_HAZARDS,
    rest: str = "on a later sheet",
    last: str | None = None,
    run_on: bool = False,
    calls: bool = False,
) -> Block:
    """Hazards noticed, with their places, and the limits of the sheet. Never left out and never moved.

    Many hazards `run_on` in one paragraph; beyond `most_hazards` the rest is counted, and `rest` says where it stands.
    `last` stands in place of how good the stations are, and what dashes and depth mean. `calls` where no strip beside it
    tells what is said for an emergency.
    """
    stops = gather(trav)
    hazards = stops.hazards
    items = framed(LIMITS_HEADS[0 if hazards else 1], width=width)
    y = -TEXT_BASE_MM
    told = [hazard_words(mark, one) for mark, one in hazards[:most_hazards]]
    if 0 < len(told) <= _FEW_HAZARDS and not run_on:
        for words in told:
            items.extend(symbol("hazard", (1.5, y + 0.75)))
            lines = wrap(words, Face.REGULAR, SMALL, width - _HAZARD_INDENT_MM)
            y = set_lines(items, lines, x=_HAZARD_INDENT_MM, y=y) - 0.45
    elif told:
        y = set_behind_sign(items, lines_behind_sign(" ".join(told), width), y=y)
    if len(told) < len(hazards):
        left = len(hazards) - len(told)
        more = f"{counted(left, 'more hazard' if told else 'hazard')} {rest}."
        y = set_lines(items, wrap(more, Face.SEMIBOLD, SMALL, width), y=y, face=Face.SEMIBOLD)
    y = set_lines(items, wrap(hazards_closing(trav.log), Face.REGULAR, SMALL, width), y=y)
    if calls:
        words = " ".join(emergency_sentences(trav.log.heading.emergency))
        y = set_lines(items, wrap(words, Face.SEMIBOLD, SMALL, width), y=y, face=Face.SEMIBOLD)
    y = set_lines(items, wrap(SKETCH, Face.SEMIBOLD, SMALL, width), y=y - 0.3, face=Face.SEMIBOLD)
    good = (
        f"{accuracy(trav.log, trav.survey)} {interpretation(trav.log, section=bool(trav.geology.sections))}"
    )
    y = set_lines(items, wrap(good if last is None else last, Face.REGULAR, SMALL, width), y=y - 0.2)
    return Block(items=tuple(items), height=BELOW_MM - y - line_mm(SMALL))


def lines_behind_sign(words: str, width: float) -> Sequence[str]:
    """Hazards in one paragraph so wide, whose first line has the sign before it."""
    first, *more = wrap(words, Face.REGULAR, SMALL, width - _HAZARD_INDENT_MM)
    rest = " ".join(more)
    return (first, *wrap(rest, Face.REGULAR, SMALL, width))


def set_behind_sign(items: list[Item], lines: Sequence[str], *, y: float) -> float:
    """Add them from base `y`, by the sign that stands at each on the map; return the base of the line that would follow."""
    items.extend(symbol("hazard", (1.5, y + 0.75)))
    y = set_lines(items, lines[:1], x=_HAZARD_INDENT_MM, y=y)
    return set_lines(items, lines[1:], y=y)


def brief_limits(trav: Traverse) -> str:
    """How good the stations are, without what dashes and depth mean."""
    return accuracy(trav.log, trav.survey)


def hazards_block(
    lines: Callable[[float], Sequence[tuple[str, bool]]], *, width: float, part: slice = slice(None)
) -> Block:
    """Hazards noticed, in full: all of `hazard_lines` of that width, or some."""
    items = framed(HAZARDS_WHOLE, width=width)
    y = -TEXT_BASE_MM
    for line, first in lines(width)[part]:
        if first:
            y -= 0.45
            items.extend(symbol("hazard", (1.5, y + 0.75)))
        y = set_lines(items, [line], x=_HAZARD_INDENT_MM, y=y)
    return Block(items=tuple(items), height=BELOW_MM - y - line_mm(SMALL))


def hazard_lines(trav: Traverse, width: float) -> list[tuple[str, bool]]:
    """Every hazard in lines of a block so wide, and whether one begins with the line."""
    return [
        (line, index == 0)
        for mark, hazard in gather(trav).hazards
        for index, line in enumerate(
            wrap(hazard_words(mark, hazard), Face.REGULAR, SMALL, width - _HAZARD_INDENT_MM)
        )
    ]
