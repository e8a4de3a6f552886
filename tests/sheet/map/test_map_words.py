"""The line under a map that tells what is not on it."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.sheet.fixture_sheet import compiled, sheet, texts
from tests.walk import along, span, walk
from traverse.compile import blank_ground, compile_log
from traverse.length import Lengths, LengthUnit
from traverse.sheet.handout.handout import compose_blank
from traverse.sheet.map.map_words import DrawnSquare, drawn_square, not_shown
from traverse.sheet.paper.fonts import width_mm
from traverse.sheet.paper.page import Box, Face
from traverse.sheet.paper.style import SMALL
from traverse.sheet.template.reading import read_template
from traverse.source import Source


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


def test_of_contacts_read_to_lie_level_their_trace_is_not_known_and_not_their_strike():
    leg = walk(("1", "2", 90.0, 100.0)).legs[0]
    there = {span(7): along(leg, 40.0)}
    assert drawn_square(DrawnSquare(there))[0].startswith("Strike of the contact on leg 1–2 not known")
    level = DrawnSquare({}).also(DrawnSquare(there, level=True))
    assert drawn_square(level)[0] == ("Trace of the contact on leg 1–2 not known: drawn square to the walk.")


def test_names_that_all_fit_are_told_without_a_count():
    """Where the last name is shorter than `1 more` the line that tells it is the shorter one too."""
    left = {"attitudes at": ["3", "5", "9"]}
    whole = "Not on this map, see the tables: attitudes at 3, 5 and 9."
    assert told(left, width_mm(whole, Face.ITALIC, SMALL) + 1.001) == whole


def test_a_unit_that_nobody_booked_at_a_station_is_told_on_map_and_table_and_not_on_the_handout():
    """`unit` stands at 1 alone; 2 lies behind a contact that tells its unit, 3 and 4 behind no line at all."""
    body = (
        "bearings true\nattitudes dip-right\npace 1 m\nunit Aa Slate ; Silurian\nunit Bb Shale ; Ordovician\n"
        "at 1\n  unit Aa\n  bed 030/40\nto 2 080 60m\nalong 20m\n  contact Aa/Bb certain\n"
        "to 3 190 40m\nto 4 260 60m\n  unit Bb\nclose 1 350 45m\n"
    )
    found = compiled(body)
    pages = sheet(found)[0].pages
    assert any("Unit not booked at 3: carried on." in one for one in texts(pages[0].items))
    assert texts(pages[1].items).count("(Bb)") == 1
    blank = compose_blank(found.trav, lay=blank_ground, template=read_template("field").value, mark="a").value
    assert not [one for page in blank.pages for one in texts(page.items) if "booked" in one or "(Bb)" in one]


def test_a_line_of_a_section_that_stands_on_another_sheet_says_on_which():
    path = Path(__file__).parents[2] / "reference/logs/plunging-fold.trav"
    text = path.read_text("utf-8")
    found = compile_log(Source(name=path.name, text=text), load=lambda _: None)
    pages = sheet(found)[0].pages
    assert any("Section B–B′: sheet 2." in one for one in texts(pages[0].items))
    assert "B′" in texts(pages[1].items)
