"""The legend has a row for every line and sign that a sheet draws, and for nothing else.

What is drawn is found in the page itself: lines by the pen in their layer, signs by the shapes that `symbol` made and
that lie inside the map or the section.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from itertools import product

import pytest

from tests import once
from tests.reference.drawn import logs
from tests.thorough import some
from traverse.compile import map_ground
from traverse.sheet.compose import compose as composing
from traverse.sheet.paper.layers import Layer
from traverse.sheet.paper.page import Group, Path, Text
from traverse.sheet.paper.style import COVERED, PENS
from traverse.sheet.signs import symbols
from traverse.sheet.signs.symbols import LINES, SECTION_LINES, SIGNS
from traverse.sheet.template.reading import read_template

ON_MAP = {
    Layer.CONTACTS: [name for name in LINES if name.startswith(("contact ", "fault "))],
    Layer.LEGS: ["leg", "spur", "walk aside", "receiver track", "open end"],
    Layer.EDGE: ["edge of ground seen"],
    Layer.AXIAL_TRACES: ["axial trace"],
    Layer.COMPUTED_TRACES: ["computed trace", "computed fault trace"],
    Layer.COURSES: ["stream", "path", "track", "road", "ridge", "cliff", "wall", "fence"],
    Layer.CONTOURS: ["contour"],
    Layer.PROJECTED_TRACES: ["projected trace"],
    Layer.SECTION_LINES: ["section line"],
}
IN_SECTION = [*SECTION_LINES, *(name for name in ON_MAP[Layer.CONTACTS] if name != "contact certain")]
UNDER = {"queried", "projected band"}
"""A query is a word, and the band of a trace a fill."""


def visible(items, layer=None, clip=None):
    """Every path and text with its layer, where its clip lets it be seen."""
    for item in items:
        if isinstance(item, Group):
            inside = clip
            if item.clip is not None:
                points = [command[1:] for command in item.clip if len(command) == 3]
                inside = tuple(pick(point[at] for point in points) for at in (0, 1) for pick in (min, max))
            yield from visible(item.items, item.layer or layer, inside)
        elif clip is None or isinstance(item, Text) or meets(item, clip):
            yield layer, item


def meets(path, clip):
    left, right, low, top = clip
    xs, ys = zip(*((x, y) for _, *values in path.commands for x, y in zip(values[::2], values[1::2], strict=True)), strict=True)  # fmt: skip
    return min(xs) < right and max(xs) > left and min(ys) < top and max(ys) > low


def found_on(page_parts, made):
    """Names of what maps and sections show."""
    seen = set()
    for in_section, items in page_parts:
        for layer, item in visible(items):
            if not isinstance(item, Path):
                continue
            name = made.get(id(item))
            if name is not None and name in SIGNS:
                seen.add(name)
            names = IN_SECTION if in_section else ON_MAP.get(layer, ())
            seen |= {one for one in names if name is None and item.pen == PENS[one]}
            if item.fill == COVERED and not in_section:
                seen.add("covered")
    return seen


USUAL = [
    (path, ("A4", "A3")[at // 8 % 2]) for at, path in enumerate(logs(["samples", "logs"])) if at % 8 == 0
]


@pytest.mark.parametrize(("path", "paper"), some(product(logs(["samples", "logs"]), ["A4", "A3"]), USUAL))
def test_the_legend_is_what_is_drawn(path, paper, monkeypatch):
    found = once.compiled(path)
    assert found.trav.survey.places
    made, kept, drawn, told = {}, [], [], []
    plain = symbols.symbol

    def symbol(name, *args, **kwargs):
        shapes = plain(name, *args, **kwargs)
        kept.append(shapes)
        made.update((id(one), name) for one in shapes)
        return shapes

    for name, module in list(sys.modules.items()):
        if name.startswith(("traverse.sheet.map.", "traverse.sheet.section.")) and hasattr(module, "symbol"):
            monkeypatch.setattr(module, "symbol", symbol)
    panels = composing.map_panel, composing.section_panel, composing.signs_panel

    def map_panel(*args, **kwargs):
        drawing = panels[0](*args, **kwargs)
        drawn.append((False, drawing.items))
        return drawing

    def section_panel(*args, **kwargs):
        drawing = panels[1](*args, **kwargs)
        drawn.append((True, drawing.items))
        return drawing

    def signs_panel(signs, *args, **kwargs):
        told.append(set(signs))
        return panels[2](signs, *args, **kwargs)

    monkeypatch.setattr(composing, "map_panel", map_panel)
    monkeypatch.setattr("traverse.sheet.compose.tiles.map_panel", map_panel)
    monkeypatch.setattr(composing, "section_panel", section_panel)
    monkeypatch.setattr(composing, "signs_panel", signs_panel)
    log = replace(
        found.trav.log,
        heading=replace(found.trav.log.heading, sheet=replace(found.trav.log.heading.sheet, paper=paper)),
    )
    trav = map_ground(replace(found.trav, log=log))
    composing.compose(trav, found.diagnostics, template=read_template("field").value, mark="mark")
    assert found_on(drawn, made) - UNDER == told[-1] - UNDER
