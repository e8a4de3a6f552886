"""What nothing checks, and below it the hazards with lines to fill in."""

from __future__ import annotations

from functools import partial

from traverse.ground.records import Traverse
from traverse.sheet.paper.block import framed, set_lines
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import Block, Face, Path, Text, polyline, shifted
from traverse.sheet.paper.panel import Form, Panel
from traverse.sheet.paper.style import HEAD, PENS, line_mm
from traverse.sheet.paper.words import address, plain, wrap
from traverse.sheet.said.sentences import EMERGENCY_LINES, HAZARDS
from traverse.sheet.said.stops import Stops
from traverse.sheet.said.unchecked import unchecked_paragraphs
from traverse.sheet.signs.symbols import symbol


def unchecked_panel(trav: Traverse, stops: Stops) -> Panel:
    """All hazards, or as many as there is room for; the lines to fill in always."""
    draw = partial(_block, trav, stops)
    fewer = reversed(range(len(stops.hazards)))
    return Panel(
        name="unchecked", draw=draw, shorter=tuple(Form(draw=partial(draw, most=most)) for most in fewer)
    )


def _block(trav: Traverse, stops: Stops, *, width: float, most: int | None = None) -> Block:
    heading = "What this loop cannot check" if trav.survey.closures else "What nothing here checks"
    if len(trav.survey.closures) > 1:
        heading = "What these cannot check"
    items = framed(heading, width=width)
    y = -7.4
    for paragraph in unchecked_paragraphs(trav.log, trav.survey):
        y = set_lines(items, wrap(paragraph, Face.REGULAR, HEAD, width), y=y, size_pt=HEAD) - 1.1
    y += line_mm(HEAD) - 4.2
    items += shifted(framed("Hazards noticed", width=width), 0.0, y)
    y -= 7.6
    indent = 5.6 + max([text_width_mm(mark, Face.BOLD, HEAD) for mark, _ in stops.hazards] or [0.0])
    for mark, hazard in stops.hazards[:most]:
        words = f"{address(hazard.address)}: {plain(hazard.text)}"
        items.extend(symbol("hazard", (1.5, y + 0.9)))
        items.append(Text(at=(4.6, y), text=mark, face=Face.BOLD, size_pt=HEAD))
        lines = wrap(words, Face.REGULAR, HEAD, width - indent)
        y = set_lines(items, lines, x=indent, y=y, size_pt=HEAD) - 0.5
    if most is not None:
        rest = f"{len(stops.hazards) - most} more stand in the tables."
        y = set_lines(items, [rest], y=y, face=Face.SEMIBOLD, size_pt=HEAD)
    closing = HAZARDS if stops.hazards else f"None was noted. {HAZARDS}"
    y = set_lines(items, wrap(closing, Face.REGULAR, HEAD, width), y=y, size_pt=HEAD)
    left = text_width_mm(EMERGENCY_LINES[1], Face.REGULAR, HEAD) + 3.0
    for words in EMERGENCY_LINES:
        y -= 1.9
        items.append(Text(at=(0.0, y), text=words, size_pt=HEAD))
        items.append(Path(commands=polyline([(left, y - 0.4), (width, y - 0.4)]), pen=PENS["ruled line"]))
        y -= line_mm(HEAD)
    return Block(items=tuple(items), height=-y)
