"""What every page says at its foot where no block of limits stands on it: limits, hazards whole, whose and when."""

from __future__ import annotations

from collections.abc import Sequence

from traverse.log.records import Log
from traverse.sheet.legend.blocks import lines_behind_sign, set_behind_sign
from traverse.sheet.paper.block import set_lines
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import Anchor, Block, Face, Item, Path, Text, polyline
from traverse.sheet.paper.style import PENS, SMALL, line_mm
from traverse.sheet.paper.words import counted, wrap
from traverse.sheet.said.cautions import hazard_sentences, hazards_closing
from traverse.sheet.said.emergency import emergency_sentences
from traverse.sheet.said.sentences import SKETCH

_ABOVE_MM = 1.4
"""Air over the rule that parts them from what stands above."""
_FIRST_MM = 3.4
"""First base below the rule."""
_APART_MM = 5.0
_MOST_LINES = 8
"""Of hazards; more than these have a page of their own."""


def holds_hazards(log: Log, *, width: float) -> bool:
    """Whether the hazards stand whole at the foot of a page so wide."""
    return len(_hazard_lines(log, width)) <= _MOST_LINES


def page_cautions(log: Log, *, width: float, who: str, elsewhere: str | None = None) -> Block:
    """Limits, `who` and when on the same line where both fit, then the hazards; of many, where they stand `elsewhere`.

    Without an `elsewhere` all of them, however many.
    """
    rule = Path(commands=polyline([(0.0, -_ABOVE_MM), (width, -_ABOVE_MM)]), pen=PENS["row rule"])
    items: list[Item] = [rule]
    limits = wrap(SKETCH, Face.SEMIBOLD, SMALL, width)
    y = set_lines(items, limits, y=-_ABOVE_MM - _FIRST_MM, face=Face.SEMIBOLD)
    room = width - text_width_mm(limits[-1], Face.SEMIBOLD, SMALL) - _APART_MM
    if text_width_mm(who, Face.REGULAR, SMALL) <= room:
        at = (width, y + line_mm(SMALL))
        items += [Text(at=at, text=who, size_pt=SMALL, anchor=Anchor.END)] if who else []
    else:
        y = set_lines(items, wrap(who, Face.REGULAR, SMALL, width), y=y)
    hazards = _hazard_lines(log, width)
    if len(hazards) > _MOST_LINES and elsewhere is not None:
        told = f"{counted(len(hazard_sentences(log)), 'hazard')} noted, whole {elsewhere}. {hazards_closing(log)}"
        hazards = lines_behind_sign(told, width)
    y = (set_behind_sign if log.hazards else set_lines)(items, hazards, y=y)
    for words in wrap(" ".join(emergency_sentences(log.heading.emergency)), Face.SEMIBOLD, SMALL, width):
        y = set_lines(items, [words], y=y, face=Face.SEMIBOLD)
    return Block(items=tuple(items), height=-y - line_mm(SMALL) + 1.0)


def _hazard_lines(log: Log, width: float) -> Sequence[str]:
    told = hazard_sentences(log)
    words = " ".join([*(["Hazards:"] if told else []), *told, hazards_closing(log)])
    return lines_behind_sign(words, width) if log.hazards else wrap(words, Face.REGULAR, SMALL, width)
