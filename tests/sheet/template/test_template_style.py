"""Lines and signs of a template: what is replaced is drawn everywhere, and what is wrong is told with its place."""

import math

import pytest

from tests.sheet.fixture_sheet import compiled, layer, walk
from traverse.compile import map_ground
from traverse.sheet.compose.compose import compose
from traverse.sheet.compose.grey import compose_grey
from traverse.sheet.paper.page import Path, Text
from traverse.sheet.paper.style import PENS
from traverse.sheet.signs.symbols import SIGNS
from traverse.sheet.template.reading import read_template

WALK = (
    "bearings true\nattitudes dip-right\nunit Ka Marl ; Cretaceous\nunit Jb Shale ; Jurassic\n"
    "at 1\n  unit Ka\n  bed 142/35\nto 2 090 150m +0\nalong 75 m\n  contact Ka/Jb approximate 142/35\n"
    "at 2\n  unit Jb\n"
)
OWN = """extends = "field"
show = ["map", "section", "title", "units", "signs", "structure", "closure", "limits", "reference"]

[lines]
contact_approximate = { width = 0.4, dash = [2.0, 1.0] }
stream = { colour = "#3A7A20" }

[signs]
bedding = { bar = 7.0, tops_dot = 1.4 }
"""


def read(tmp_path, text):
    path = tmp_path / "mine.toml"
    path.write_text(text, encoding="utf-8")
    return read_template(str(path))


def composed(template, make=compose):
    found = compiled(WALK)
    return make(map_ground(found.trav), found.diagnostics, template=template, mark="abc123").value


def lengths(items):
    """Of straight lines."""
    return [
        math.dist(item.commands[0][1:], item.commands[1][1:])
        for item in items
        if isinstance(item, Path) and len(item.commands) == 2
    ]


def signs_of(page):
    """What is on sheet 1 beside the map and the section: the legend among it."""
    inside = {id(one) for name in ("map", "section") for one in layer(page.items, name)}
    return [one for one in walk(page.items) if id(one) not in inside]


def test_map_legend_and_page_of_signs_follow_a_template(tmp_path):
    template = read(tmp_path, OWN)
    assert not template.diagnostics
    document = composed(template.value)
    first, further = document.pages[0], document.pages[1:]
    contacts = [one for one in layer(first.items, "contacts") if isinstance(one, Path) and one.pen]
    assert any(one.pen.dash_mm == (2.0, 1.0) and one.pen.width_mm == 0.4 for one in contacts)
    assert not any(one.pen.dash_mm == (3.5, 0.75) for one in contacts)
    assert max(lengths(layer(first.items, "attitudes"))) == pytest.approx(7.0)
    legend = signs_of(first)
    assert any(isinstance(one, Path) and one.pen and one.pen.dash_mm == (2.0, 1.0) for one in legend)
    assert any(one == pytest.approx(7.0) for one in lengths(legend))
    said = [one.text for page in further for one in walk(page.items) if isinstance(one, Text)]
    assert "bar 7, tick 1.5" in said
    assert "0.4, dash 2, gap 1" in said


def test_the_next_sheet_is_drawn_as_the_project_draws_it(tmp_path):
    composed(read(tmp_path, OWN).value)
    first = composed(read_template("field").value).pages[0]
    assert max(lengths(layer(first.items, "attitudes"))) == pytest.approx(5.0)
    assert PENS["contact approximate"].dash_mm == (3.5, 0.75)
    assert "bar 5" in SIGNS["bedding"].measures


def test_grey_follows_too(tmp_path):
    first = composed(read(tmp_path, OWN).value, compose_grey).pages[0]
    assert max(lengths(layer(first.items, "attitudes"))) == pytest.approx(7.0)


def test_a_setting_stands_in_braces_or_in_a_table_of_its_own(tmp_path):
    text = (
        'extends = "field"\n[lines."contact approximate"]\nwidth = 0.35\n[signs.bedding]\n"tops dot" = 1.2\n'
    )
    found = read(tmp_path, text)
    assert not found.diagnostics
    assert found.value.lines["contact approximate"].width_mm == 0.35
    assert found.value.signs["bedding"] == {"tops dot": 1.2}


@pytest.mark.parametrize(
    ("setting", "underlined", "said", "hint"),
    [
        ("[lines]\ncontact_aproximate = { width = 0.3 }", "contact_aproximate = { width = 0.3 }",
         "no line `contact_aproximate`", "`contact_approximate`"),
        ("[lines]\nfault_certain = 0.6", "fault_certain = 0.6", "must be a table", "width = 0.25"),
        ("[lines]\nfault_certain = { widht = 0.6 }", "widht = 0.6", "no `widht`", "`width`"),
        ("[lines]\nfault_certain = { width = 0.02 }", "width = 0.02", "0.1 to 3 mm", "0.5"),
        ("[lines]\nfence = { width = 0.2, colour = 'red' }", "colour = 'red'", "red is no colour", "#1a619e"),
        ("[lines]\ncontact_inferred = { dash = [1.5] }", "dash = [1.5]", "dash and gap by turns", "[1.5, 0.75]"),
        ("[lines]\ncontact_inferred = { dash = [0.02, 1.0] }", "dash = [0.02, 1.0]", "0.2 to 50", "round = true"),
        ("[lines]\nwall = { round = 3 }", "round = 3", "true or false", "round = true"),
        ("[lines]\ncontact_approximate = { dash = [] }", "contact_approximate = { dash = [] }",
         "contact certain and contact approximate would look the same", "another dash"),
        ("[signs]\nbeding = { bar = 6 }", "beding = { bar = 6 }", "no sign `beding`", "`bedding`"),
        ("[signs]\nbedding = { bra = 6 }", "bra = 6", "no part `bra`", "`bar`"),
        ("[signs]\nbedding = { bar = 'long' }", "bar = 'long'", "length from 0.2 to 15 mm", "such as 5"),
        ("[signs]\nbedding = { bar = 5, tick = 99 }", "tick = 99", "length from 0.2 to 15 mm", "such as 1.5"),
        ("[signs]\nbedding = 6", "bedding = 6", "must be a table", "{ bar = 5 }"),
        ("[signs]\nbedding = { bar = nan }", "bar = nan", "length from", "such as 5"),
        ("[lines]\nfence = { width = true }", "width = true", "mm wide", "0.2"),
    ],
)  # fmt: skip
def test_a_mistake_is_told_with_its_place_and_a_remedy(tmp_path, setting, underlined, said, hint):
    text = f'extends = "field"\n{setting}\n'
    found = read(tmp_path, text)
    assert found.value is None
    (one,) = found.diagnostics
    assert said in one.message
    assert hint in one.hints[0]
    line = text.splitlines()[one.span.line - 1]
    assert line[one.span.column - 1 : one.span.end - 1] == underlined


def test_all_mistakes_are_told_at_once(tmp_path):
    found = read(tmp_path, 'extends = "field"\n[lines]\na = { width = 1 }\n[signs]\nb = { bar = 1 }\n')
    assert len(found.diagnostics) == 2
