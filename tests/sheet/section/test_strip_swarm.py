"""Very many readings on a section: far enough apart to be seen, the rest counted."""

from __future__ import annotations

import math
import re
from itertools import pairwise

import pytest

from tests.sheet.opened import opened
from tests.sheet.pages import paths, words
from traverse.sheet.paper.page import Box
from traverse.sheet.paper.style import PENS
from traverse.sheet.section.strip import section_panel
from traverse.sheet.signs.colour import unit_styles

HEAD = "notation 1\nbearings true\nattitudes dip-direction\nunit Bb Top ;\nunit Aa Base ;\ncontrol 0 0 E 0 N 100 m\nat 0\n"


def walk(count, step_m, dip=lambda at: 30 + at % 5, extra=""):
    """East over level ground, one bed at each station."""
    lines = []
    for at in range(count):
        lines += [f"to {at} 090 {step_m}m level"] if at else []
        angle = dip(at)
        lines += [
            "unit Aa",
            f"bed {'090' if angle >= 0 else '270'}/{abs(angle)}",
            *([extra] if extra else []),
        ]
    return HEAD + "\n".join(lines) + f"\nsection A-A' from 0 to {count - 1}\n"


def drawn(compile_text, text, scale):
    found = compile_text(text)
    section = found.geology.sections[0]
    box = Box(x=26.0, y=40.0, width=section.length_m * 1000.0 / scale, height=50.0)
    styles = unit_styles(found.log.units)
    return section_panel(
        opened(section, found.trav), found.trav, box=box, scale=scale, styles=styles, limits=False
    ).items


def places(items, pen):
    lines = [one.commands for one in paths(items) if one.pen == PENS[pen] and len(one.commands) == 2]
    return sorted((a[1] + b[1]) / 2.0 for a, b in lines)


def left_off(items):
    said = words(items)
    return {kind: int(count) for count, kind in re.findall(r"(\d+) (reading|changes? of dip)s? ?", said)}


@pytest.mark.every(2)
@pytest.mark.parametrize("extra", ["", "joint 350/80"])
def test_a_swarm_of_ticks_is_thinned_and_the_rest_counted(compile_text, extra):
    items = drawn(compile_text, walk(200, 1.0, extra=extra), 2500)
    ticks = places(items, "apparent dip")
    assert all(right - left > 5.0 for left, right in pairwise(ticks))
    # The whole length keeps its ticks: none of its gaps is wider than two of them.
    assert max(right - left for left, right in pairwise(ticks)) < 11.0
    assert len(ticks) >= 199.0 / 2.5 / 11.0
    others = len(places(items, "plane in section")) if extra else 0
    assert left_off(items)["reading"] == 200 * (2 if extra else 1) - len(ticks) - others


def test_a_day_of_readings_is_drawn_whole(compile_text):
    items = drawn(compile_text, walk(40, 10.0), 2500)
    assert len(places(items, "apparent dip")) == 40
    assert "reading" not in left_off(items)


def test_a_few_that_crowd_are_all_drawn(compile_text):
    items = drawn(compile_text, walk(25, 1.0), 2500)
    assert len(places(items, "apparent dip")) == 25


def test_a_swarm_of_axial_surfaces_keeps_the_hinge(compile_text):
    """Ten degrees up and down from reading to reading, as bad readings have it, over a fold that turns once in the middle."""
    text = walk(120, 5.0, dip=lambda at: (35 + 10 * (at % 2)) * (1 if at < 60 else -1))
    text = text.replace("to 30 090 5.0m level\nunit Aa", "to 30 090 5.0m level\ncontact Bb/Aa certain")
    items = drawn(compile_text, text, 5000)
    count = left_off(items)["changes of dip"]
    section = compile_text(text).geology.sections[0]
    total = len(section.construction.axial)
    assert 0 < count < total
    lines = [one.commands for one in paths(items) if one.pen in (PENS["axial surface"], PENS["dip changes"])]
    middle = 26.0 + 59.5 * 5.0 / 5.0
    nearest = min(abs(command[1] - middle) for line in lines for command in line)
    assert nearest < 1.0
    feet = {round(max(line, key=lambda c: c[2])[1], 1) for line in lines}
    assert len(feet) <= 2 * math.ceil(120.0 / 5.0)
