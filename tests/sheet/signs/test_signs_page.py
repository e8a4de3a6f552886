"""The page of signs: every sign once, with its name and its measures, whatever the paper and the log."""

import pytest

from tests.sheet.fixture_sheet import compiled, walk
from tests.sheet.pages import assert_inside, overlaps
from traverse.compile import blank_ground, map_ground
from traverse.output.pdf import write_pdf
from traverse.sheet.compose.compose import compose
from traverse.sheet.compose.grey import compose_grey
from traverse.sheet.handout.handout import compose_blank
from traverse.sheet.paper.page import Box, Text
from traverse.sheet.paper.style import PENS
from traverse.sheet.signs import signs_page
from traverse.sheet.signs.pattern import NUMBERS
from traverse.sheet.signs.signs_page import pen_words, sections, signs_pages
from traverse.sheet.signs.symbols import LINES, SIGNS
from traverse.sheet.template.reading import read_template

WALK = "bearings true\nattitudes dip-right\nunit Ka Marl ; Cretaceous\nat 1\n  unit Ka\n  bed 142/35\n"
PAPERS = {"A5": (148.0, 210.0), "A4": (210.0, 297.0), "A4 lying": (297.0, 210.0), "A3 lying": (420.0, 297.0)}


def pages(width, height):
    frame = Box(x=10.0, y=15.0, width=width - 20.0, height=height - 25.0)
    return signs_pages(width=width, height=height, frame=frame), frame


def words_of(found):
    return [one.text for page in found for one in walk(page.items) if isinstance(one, Text)]


def test_every_sign_line_and_rock_stands_in_one_section():
    names = [name for _, group in sections() for name in group]
    assert len(names) == len(set(names))
    assert set(names) == {*SIGNS, *LINES, *NUMBERS}


@pytest.mark.parametrize("paper", PAPERS)
def test_all_are_named_inside_the_frame_and_nothing_overlaps(paper):
    found, frame = pages(*PAPERS[paper])
    said = " ".join(words_of(found))
    for name in (*SIGNS, *LINES):
        words = LINES.get(name) or SIGNS[name].words
        assert words in said, words
    for page in found:
        assert_inside(page.items, frame.x, frame.y, frame.right, frame.top)
        assert overlaps(page.items) == []


@pytest.mark.parametrize("paper", ["A4", "A4 lying"])
def test_a4_takes_one_page_with_some_signs_more(paper, monkeypatch):
    more = [f"station {shape}" for shape in ("square", "triangle", "cross")]
    listed = [(head, (*names, *(more if head == "Ground" else ()))) for head, names in sections()]
    monkeypatch.setattr(signs_page, "sections", lambda: listed)
    found, _ = pages(*PAPERS[paper])
    assert len(found) == 1


@pytest.mark.every(2)
@pytest.mark.parametrize("paper", PAPERS)
def test_many_more_signs_go_on_in_further_columns_and_pages(paper, monkeypatch):
    """Each heading with all its signs several times over, so that every one of them goes on somewhere."""
    times = 5
    listed = [(head, names * times) for head, names in sections()]
    monkeypatch.setattr(signs_page, "sections", lambda: listed)
    found, frame = pages(*PAPERS[paper])
    assert len(found) > 1
    said = words_of(found)
    assert sum(one == SIGNS["bedding"].words for one in said) == times
    for page in found:
        assert_inside(page.items, frame.x, frame.y, frame.right, frame.top)
        assert overlaps(page.items) == []


def test_measures_stand_beside_the_names():
    said = words_of(pages(*PAPERS["A4"])[0])
    for words in (
        "bar 5, tick 1.5",
        "0.25, dash 3.5, gap 0.75",
        "0.25, dash 1.5, gap 0.75",
        "bar 2.2, ball 1.2",
        "627",
    ):
        assert words in said


def test_pens_in_words():
    assert pen_words(PENS["contact certain"]) == "0.25"
    assert pen_words(PENS["section line"]) == "0.3, dash 6, gap 0.9, dash 0.9, gap 0.9"
    assert pen_words(PENS["contact concealed"]) == "dots 0.48, every 0.97"


@pytest.mark.parametrize("make", [compose, compose_grey])
def test_the_template_of_signs_makes_that_page_alone(make):
    found = compiled(WALK, title="Quiet Beck, day 1")
    document = make(map_ground(found.trav), (), template=read_template("signs").value, mark="abc123").value
    assert {page.title for page in document.pages} == {"Signs"}
    assert write_pdf(document).startswith(b"%PDF")
    said = " ".join(words_of(document.pages))
    assert "Ka" not in said.split()
    assert "Quiet Beck" not in said


def test_a_handout_may_carry_it_and_it_tells_nothing():
    found = compiled(WALK, title="Quiet Beck, day 1")
    document = compose_blank(
        found.trav, lay=blank_ground, template=read_template("signs").value, mark="abc123"
    ).value
    assert {page.title for page in document.pages} == {"Signs"}
    assert "Marl" not in " ".join(words_of(document.pages))


def test_nobody_gets_it_unasked():
    assert "reference" not in read_template("field").value.show
