"""Sheets to hang up: type, signs and lines grow with the paper, lengths and ratios on it stay true."""

import re
from functools import cache
from pathlib import Path as File

import pytest

from tests import once
from tests.sheet.fixture_sheet import walk
from tests.thorough import some
from traverse.compile import map_ground
from traverse.sheet.compose.compose import compose
from traverse.sheet.paper.page import Text
from traverse.sheet.template.growth import growth_of
from traverse.sheet.template.reading import read_template

SAMPLES = {one.stem: one for one in (File(__file__).parents[3] / "samples").glob("*/*.trav")}


@cache
def text_of(name, line):
    kept = [one for one in SAMPLES[name].read_text("utf-8").splitlines() if not one.startswith("sheet ")]
    return "\n".join([*kept, f"sheet {line}", ""])


def found(name, line):
    return once.compiled(SAMPLES[name], text_of(name, line))


def made(name, line, kind="key"):
    return once.drawn(SAMPLES[name], kind, text=text_of(name, line))


def texts(page):
    return [one for one in walk(page.items) if isinstance(one, Text)]


@pytest.mark.every(2)
@pytest.mark.parametrize(
    ("paper", "by"), [("A4", 1.0), ("A3", 1.0), ("A2", 1.2), ("A1", 1.6), ("A0", 2.0), ("Roll-914", 2.0)]
)
def test_type_grows_from_a2_on(paper, by):
    document = made("ternel-point", f"paper {paper}")
    sizes = {round(one.size_pt / by, 3) for one in texts(document.pages[0])}
    assert {7.2, 8.5, 10.5, 19.0} <= sizes


@pytest.mark.every(2)
@pytest.mark.parametrize("name", some(["ternel-point", "oskerra-valley"], 2))
@pytest.mark.parametrize(
    ("paper", "short", "long"), [("A2", 420.0, 594.0), ("A1", 594.0, 841.0), ("A0", 841.0, 1189.0)]
)
def test_the_page_has_the_size_of_its_paper_and_nothing_stands_in_the_margin(name, paper, short, long):
    for page in made(name, f"paper {paper} landscape").pages:
        assert sorted((page.width_mm, page.height_mm)) == [short, long]
        for one in texts(page):
            assert 9.0 <= one.at[0] <= page.width_mm - 9.0
            assert 9.0 <= one.at[1] <= page.height_mm - 9.0
        # What a printer leaves white grows with nothing: the line at the foot stands upon it.
        assert min(one.at[1] for one in texts(page)) < 12.0


@pytest.mark.parametrize("paper", some(["A4", "A2", "A1", "A0"], ["A2", "A1", "A0"]))
def test_the_check_line_is_as_long_as_it_says_and_the_ratio_is_true(paper):
    """Measured on the page: the line, and figures of the bar where the ratio puts them."""
    page = made("ternel-point", f"paper {paper} landscape").pages[0]
    said = texts(page)
    ratio = next(int(one.text[2:].replace("\u00a0", "")) for one in said if re.match(r"1:\d", one.text))
    words = next(one for one in said if one.text.startswith("check line"))
    length = float(re.search(r"(\d+)\s?mm on paper", words.text)[1])
    below = [
        (words.at[1] - y, x2 - x)
        for one in walk(page.items)
        if not isinstance(one, Text) and len(one.commands) == 2
        for (_, x, y), (_, x2, y2) in [one.commands]
        if y == y2 < words.at[1] and x - 1.0 < words.at[0] < x2 + 1.0
    ]
    assert min(below)[1] == pytest.approx(length, abs=0.01)
    row = sorted(
        (one.at[0], int(one.text))
        for one in said
        if re.fullmatch(r"\d+", one.text) and abs(one.at[1] - bar_y(said)) < 0.1
    )
    row = [one for one in row if one[0] < 0.5 * page.width_mm]
    (x0, zero), (x1, last) = row[0], row[-1]
    assert zero == 0
    assert (x1 - x0) * ratio / 1000.0 == pytest.approx(last, rel=1e-3)


def bar_y(said):
    """Base of the figures over the bar in metres: those that stand over the `m` at its left."""
    sign = next(one for one in said if one.text == "m" and one.anchor.name == "END")
    zeros = [one.at[1] for one in said if one.text == "0" and one.at[0] > sign.at[0]]
    return min((y for y in zeros if y > sign.at[1]), key=lambda y: y - sign.at[1])


@pytest.mark.thorough
@pytest.mark.parametrize("name", some(SAMPLES, ["copperjar-wash"]))
def test_all_tables_stand_on_the_one_sheet_of_a0(name):
    document = made(name, "paper A0")
    assert len(document.pages) == 1
    said = [one.text for one in texts(document.pages[0])]
    assert any("stations and attitudes" in one for one in said)
    assert "Legs" in said
    blank = made(name, "paper A0", "blank")
    assert len(blank.pages) == 1
    assert any("to be completed" in one.text for one in texts(blank.pages[0]))


def test_a_small_walk_fills_a_large_sheet():
    """Larger scales than on a page in the hand are taken there."""
    said = [one.text for one in texts(made("ternel-point", "paper A0").pages[0])]
    assert "1:100" in said


def test_what_is_asked_for_in_odd_figures_or_shows_measures_does_not_grow():
    template = read_template("field").value
    sheet = found("ternel-point", "paper A1").log.heading.sheet
    assert growth_of(template, sheet) == 1.6
    assert growth_of(template, found("ternel-point", "paper A1 scale 1:1234").log.heading.sheet) == 1.0
    assert growth_of(read_template("signs").value, sheet) == 1.0


def test_a_wall_sheet_says_which_scale_would_fill_it_where_the_log_fixes_a_smaller_one(compile_text):
    """A loop of 100 m at 1:2500 on A1; without a scale there is nothing to say."""
    walk = (
        "notation 1\ntraverse Wall\nbearings true\n{}at 1\nto 2 080 100m\nto 3 200 100m\nclose 1 320 100m\n"
    )
    said, printed = [], []
    for line in ("sheet scale 1:2500 paper A1\n", "sheet paper A1\n"):
        found = compile_text(walk.format(line))
        drawn = compose(
            map_ground(found.trav), found.diagnostics, template=read_template("wall").value, mark="a"
        )
        said.append([one.message for one in drawn.diagnostics if one.code == "scale-of-log"])
        printed.append(
            [one.text for one in texts(drawn.value.pages[0]) if "Scale fixed by the log" in one.text]
        )
    assert len(said[0]) == 1
    assert "would fill A1" in said[0][0]
    larger = re.search(r"1:\d+ would", said[0][0])
    assert len(printed[0]) == 1
    assert larger.group() in printed[0][0]
    assert said[1] == printed[1] == []
