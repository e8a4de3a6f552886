"""Sheet 1 where a template places its panels: the scale at which map and section fit theirs."""

from __future__ import annotations

from traverse.ground.records import Traverse
from traverse.record import record
from traverse.sheet.compose.arrangement import scales_from
from traverse.sheet.map.framing import Framing, frame_map
from traverse.sheet.map.map_words import note_mm
from traverse.sheet.paper.page import Box
from traverse.sheet.section.strip import (
    ROOM_ABOVE_MM,
    ROOM_BESIDE_MM,
    note_lines,
    room_below_mm,
    wanted_height_mm,
)
from traverse.sheet.template.reading import Template


@record(frozen=True, kw_only=True)
class Placing:
    """Map and section in the panels of a template."""

    scale: int
    map: Box | None
    """Inside the neat line."""
    framing: Framing | None
    section: Box | None
    """Between the axes."""
    note_lines: int
    """Of what stands under it."""


def place(trav: Traverse, *, template: Template) -> Placing:
    """The scale that the log asks for where map and section fit at it, else the largest round one at which they do."""
    note = note_mm(trav)
    inner = _neat(template, note)
    for scale in scales_from(trav.log, trav.log.heading.sheet.scale):
        framing = None if inner is None else frame_map(trav, box=inner, scale=scale, note=note)
        section, lines, fits = _section(trav, template, scale)
        if fits and (framing is None or framing.fits):
            return Placing(scale=scale, map=inner, framing=framing, section=section, note_lines=lines)
    raise AssertionError("the scales have no end")


def _neat(template: Template, note: float) -> Box | None:
    panel = template.panels.get("map")
    if panel is None:
        return None
    room = template.coordinates
    return Box(
        x=panel.x + room,
        y=panel.y + note,
        width=panel.width - room,
        height=panel.height - room - note,
    )


def _section(trav: Traverse, template: Template, scale: int) -> tuple[Box | None, int, bool]:
    """The box, the lines of its note, and whether it has its width."""
    panel = template.panels.get("section")
    if panel is None or not trav.geology.sections:
        return None, 1, True
    section = trav.geology.sections[0]
    wide = section.length_m * 1000.0 / scale
    wanted = wanted_height_mm(section, trav, scale=scale)
    # The section comes before words: its note has more than one line where that takes nothing from it.
    most = note_lines(panel.width)
    talls = {lines: panel.height - ROOM_ABOVE_MM - room_below_mm(lines) for lines in range(most, 0, -1)}
    lines = next((one for one, tall in talls.items() if tall >= wanted), 1)
    height = min(talls[lines], wanted)
    x = panel.x + (panel.width - wide) / 2
    # The caption may go on to the edge of the panel.
    free = max(wide, panel.right - ROOM_BESIDE_MM - x)
    box = Box(x=x, y=panel.top - ROOM_ABOVE_MM - height, width=free, height=height)
    return box, lines, wide + 2 * ROOM_BESIDE_MM <= panel.width
