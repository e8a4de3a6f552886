"""The line under a map that tells what is not on it."""

from __future__ import annotations

import pytest

from traverse.length import Lengths, LengthUnit
from traverse.sheet.map.map_words import not_shown
from traverse.sheet.paper.fonts import width_mm
from traverse.sheet.paper.page import Box, Face
from traverse.sheet.paper.style import SMALL


def told(left, wide):
    line = not_shown(Box(x=0.0, y=0.0, width=wide, height=100.0), left, None, Lengths(unit=LengthUnit.METRES))
    return line.text


@pytest.mark.parametrize("wide", [60.0, 87.0, 120.0, 180.0])
@pytest.mark.parametrize("count", [3, 9, 12, 40, 5000])
def test_as_many_names_are_told_as_the_line_holds(wide, count):
    """What it tells fits; with one name more of each list it would not, however many are left out."""
    left = {"attitudes at": [str(one) for one in range(count)], "": [f"sample OV-{one}" for one in range(2)]}
    text = told(left, wide)
    assert width_mm(text, Face.ITALIC, SMALL) <= wide
    names = text.partition("attitudes at ")[2].partition(";")[0]
    shown = names.replace(" and ", ", ").split(", ")
    if "more" in shown[-1]:
        *shown, rest = shown
        assert len(shown) + int(rest.removesuffix(" more")) == count
        assert shown == left["attitudes at"][: len(shown)]
        longer = text.replace(f" and {rest}", f", {len(shown)} and {rest}")
        assert width_mm(longer, Face.ITALIC, SMALL) > wide - 1.0


def test_names_that_all_fit_are_told_without_a_count():
    """Where the last name is shorter than `1 more` the line that tells it is the shorter one too."""
    left = {"attitudes at": ["3", "5", "9"]}
    whole = "Not on this map, see the tables: attitudes at 3, 5 and 9."
    assert told(left, width_mm(whole, Face.ITALIC, SMALL) + 1.001) == whole
