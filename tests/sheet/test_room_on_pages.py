"""What shares a page and what gives way on it: no half-empty pages, and units keep their rock while words can run on."""

from pathlib import Path as File

import pytest

from tests.sheet.fixture_sheet import sheet, walk
from traverse.command.files import loader, read_source
from traverse.compile import compile_log
from traverse.sheet.page import Text

SAMPLES = {one.stem: one for one in sorted((File(__file__).parents[2] / "samples").glob("*/*.trav"))}


def made(name, *, sheet_line=None):
    source, _ = read_source(str(SAMPLES[name]))
    assert source is not None
    if sheet_line is not None:
        kept = [line for line in source.text.splitlines() if not line.startswith("sheet ")]
        source = type(source)(name=source.name, text="\n".join([*kept, sheet_line, ""]))
    found = compile_log(source, load=loader(str(SAMPLES[name])))
    assert not found.failed
    return found, sheet(found)[0]


def said(page):
    return [item.text for item in walk(page.items) if isinstance(item, Text)]


def at(page, start):
    return next(
        item.at for item in walk(page.items) if isinstance(item, Text) and item.text.startswith(start)
    )


def test_a_short_log_is_one_sheet_of_paper_front_and_back():
    _, document = made("gull-point")
    assert len(document.pages) == 2
    assert {"Legs", "What this loop cannot check"} <= set(said(document.pages[1]))
    assert "closure" in document.pages[1].title


@pytest.mark.parametrize("name", SAMPLES)
@pytest.mark.parametrize("paper", ["A4 landscape", "A4 portrait", "A3 landscape", "Letter portrait"])
def test_what_shares_a_page_stays_above_its_foot(name, paper):
    _, document = made(name, sheet_line=f"sheet paper {paper}")
    for page in document.pages:
        foot = at(page, "log ")[1]
        bases = sorted(item.at[1] for item in walk(page.items) if isinstance(item, Text))
        assert bases[0] == foot
        assert next(one for one in bases if one > foot) >= foot + 3.0


def test_notes_fill_the_page_of_the_stations_where_the_legs_need_another():
    _, document = made("oskerra-valley")
    stations = next(page for page in document.pages if any("stations and" in one for one in said(page)))
    assert "Notes in full" in said(stations)
    assert "Legs" not in said(stations)


def test_a_full_column_still_says_the_rock_of_each_unit():
    found, document = made("oskerra-valley")
    first = said(document.pages[0])
    assert "More on the structure sheet." in " ".join(first)
    assert any("cobbles of Ts and Jl" in one for one in first)
    assert sum("at least" in one or "±" in one for one in first) >= len(found.log.units) - 1


@pytest.mark.parametrize(("paper", "aligned"), [("A4 landscape", True), ("A4 portrait", False)])
def test_the_foot_line_begins_under_the_map_beside_a_column(paper, aligned):
    """The left edge of map, strip and foot line is one line; 14 mm on A4 landscape."""
    _, document = made("oskerra-valley", sheet_line=f"sheet paper {paper}")
    x = at(document.pages[0], "Grid: ")[0]
    assert x == pytest.approx(14.0 if aligned else 10.0, abs=0.3)
    assert at(document.pages[1], "Grid: ")[0] == pytest.approx(10.0)
