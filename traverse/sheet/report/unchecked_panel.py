"""What nothing checks, and below it lines to fill in before anyone goes out again."""

from __future__ import annotations

from functools import partial

from traverse.ground.records import Traverse
from traverse.sheet.paper.block import framed, set_lines
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import Block, Face, Path, Text, polyline, shifted
from traverse.sheet.paper.panel import Form, Panel
from traverse.sheet.paper.style import HEAD, PENS, SMALL, line_mm
from traverse.sheet.paper.words import wrap
from traverse.sheet.said.emergency import calls
from traverse.sheet.said.unchecked import unchecked_paragraphs


def unchecked_panel(trav: Traverse) -> Panel:
    """What the closures leave open; hazards stand at the foot of the page."""
    return Panel(
        name="unchecked",
        draw=partial(_block, trav),
        shorter=(Form(draw=partial(_block, trav, size_pt=SMALL)),),
    )


def _block(trav: Traverse, *, width: float, size_pt: float = HEAD) -> Block:
    heading = "What this loop cannot check" if trav.survey.closures else "What nothing here checks"
    if len(trav.survey.closures) > 1:
        heading = "What these cannot check"
    items = framed(heading, width=width)
    y = -7.4
    for paragraph in unchecked_paragraphs(trav.log, trav.survey):
        y = set_lines(items, wrap(paragraph, Face.REGULAR, size_pt, width), y=y, size_pt=size_pt) - 1.1
    y += line_mm(size_pt) - 4.2
    items += shifted(framed("Before going out again", width=width), 0.0, y)
    help_by = calls(trav.log.heading.emergency)
    # The first base stands below the heading as any; over a line to write on there is room already.
    y -= 7.0 if help_by[0].words else 5.7
    left = max(text_width_mm(one.name, Face.REGULAR, size_pt) for one in help_by) + 3.0
    for one in help_by:
        y -= 0.4 if one.words else 1.9
        items.append(Text(at=(0.0, y), text=one.name, size_pt=size_pt))
        if one.words:
            told = wrap(one.words, Face.SEMIBOLD, size_pt, width - left)
            y = set_lines(items, told, x=left, y=y, face=Face.SEMIBOLD, size_pt=size_pt)
            continue
        items.append(Path(commands=polyline([(left, y - 0.4), (width, y - 0.4)]), pen=PENS["ruled line"]))
        y -= line_mm(size_pt)
    return Block(items=tuple(items), height=-y)
