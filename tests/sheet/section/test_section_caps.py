"""Caps on a section: over an unconformity a plane for a base, else a lens of unknown depth."""

from __future__ import annotations

import pytest

from tests.sheet.opened import opened
from tests.sheet.pages import paths
from traverse.sheet.paper.page import Box
from traverse.sheet.section.strip import section_panel
from traverse.sheet.signs.colour import unit_styles

LOG = """notation 1
bearings true
attitudes dip-direction
unit Qt Gravel ; Quaternary
unit Pz Sandstone ; Permian
control 1 1000 E 1000 N 640 m
at 1
unit Pz
bed 128/32
to 2 090 150m +6
unit Pz
bed 128/32
to 3 090 100m +10
along 40m
{}
at 3
unit Qt
to 4 090 100m -1
unit Qt
section A-A' from 1 to 4
"""


@pytest.mark.parametrize(
    ("border", "level"),
    [
        ("unconformity Qt/Pz certain flat", True),
        ("unconformity Qt/Pz certain", False),
        ("contact Qt/Pz certain", False),
    ],
)
def test_gravel_has_one_base_over_a_measured_unconformity_and_else_a_lens(compile_text, border, level):
    found = compile_text(LOG.format(border))
    box = Box(x=26.0, y=40.0, width=174.4, height=50.0)
    styles = unit_styles(found.log.units)
    items = section_panel(
        opened(found.geology.sections[0], found.trav), found.trav, box=box, scale=2500, styles=styles
    ).items
    (fill,) = [one for one in paths(items) if one.fill == styles["Qt"].colour]
    corners = [(command[1], command[2]) for command in fill.commands if len(command) == 3]
    low = min(y for _, y in corners)
    on_base = [x for x, y in corners if abs(y - low) < 0.01]
    assert (max(on_base) - min(on_base) > 50.0) == level
