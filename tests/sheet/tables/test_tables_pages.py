"""The data tables: every reading verbatim beside its meaning, nothing lost, nothing off the page."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.sheet.fixture_loop import make, span
from tests.sheet.pages import assert_inside, flat, overlaps, texts, words
from traverse.diagnostic import Answer, warning
from traverse.ground.records import Traverse
from traverse.log.items import Correction, Words, WordsKind
from traverse.log.records import Checked, Omitted
from traverse.sheet.paper.filling import FilledTo, Pages
from traverse.sheet.paper.fonts import width_mm
from traverse.sheet.paper.page import Box, Face, Path, Text
from traverse.sheet.paper.style import PENS, SMALL
from traverse.sheet.paper.table import Column, Laying, Row, Table, flow
from traverse.sheet.tables.data_tables import table_pages
from traverse.sheet.tables.station_rows import station_columns, words_together

PAPERS = {
    "A4 lying": (297.0, 210.0),
    "A4 upright": (210.0, 297.0),
    "Letter upright": (215.9, 279.4),
    "A3": (420.0, 297.0),
}


def frame_of(width, height):
    return Box(x=10.0, y=15.0, width=width - 20.0, height=height - 25.0)


def pages(loop, paper="A4 lying", diagnostics=()):
    width, height = PAPERS[paper]
    return table_pages(loop, diagnostics, width=width, height=height, frame=frame_of(width, height))


def line_of(found, name):
    """Words on the base of the row that begins with a name in bold, from left to right."""
    for page in found:
        for one in flat(page.items):
            if isinstance(one, Text) and one.text == name and one.face is Face.BOLD:
                row = [(x, text) for x, y, text in texts(page.items) if abs(y - one.at[1]) < 0.01]
                return [text.replace("\u00a0", " ") for x, text in sorted(row) if x >= one.at[0]]
    raise AssertionError(name)


@pytest.fixture(scope="module")
def loop():
    log, survey, geology = make()
    return Traverse(log=log, survey=survey, geology=geology)


@pytest.mark.parametrize("paper", PAPERS)
def test_tables_stay_in_their_frame_and_do_not_overlap(loop, paper):
    width, height = PAPERS[paper]
    for page in pages(loop, paper):
        assert (page.width_mm, page.height_mm) == (width, height)
        assert_inside(page.items, 10.0, 15.0, width - 10.0, height - 10.0)
        assert not overlaps(page.items)


def test_a_station_is_printed_as_read_and_as_meant(loop):
    """178/72 dip right, magnetic, declination 4.1 east: strike 182, dips 72 toward 272 true."""
    row = line_of(pages(loop), "1")
    assert row[1:4] == ["612 358", "5 214 314", "1168"]
    for cell in ("held", "GPS, ± 6 m", "Tv", "178/72 overturned", "72° → 272°", "182°"):
        assert cell in row
    assert "red-brown sandstone, cross-bedded" in row


def test_no_head_is_wider_than_its_words_need_be(loop):
    """A column of words gives way to the others as far as `least_mm`: a wider head would move the table of every sheet."""
    columns = [
        *station_columns(loop.log, loop.survey),
        *words_together(Table(title="", columns=(), rows=())).columns,
    ]
    for column in columns:
        name, unit = (
            width_mm(said, face, SMALL)
            for said, face in ((column.name, Face.SEMIBOLD), (column.unit, Face.ITALIC))
        )
        assert column.least_mm is None or max(name, unit) <= column.least_mm, column.name


def test_stations_stand_in_walking_order(loop):
    names = [one.name for one in loop.survey.places.values()]
    first = pages(loop)[0]
    seen = [
        one.text
        for one in flat(first.items)
        if isinstance(one, Text) and one.face is Face.BOLD and one.text in names and one.at[0] == 10.0
    ]
    assert seen[: len(names)] == names


def test_legs_close_with_their_sums(loop):
    """Sums of the fixture's columns: paces of 17 legs; adjusted parts of a closed loop are nothing."""
    found = pages(loop)
    paces = sum(leg.distance.value for leg in loop.log.legs[:17])
    row = line_of(found, "loop")
    assert row[1] == f"{paces:.0f}"
    assert row[-2:] == ["0", "0"]
    assert line_of(found, "13–14")[:5] == ["13–14", "281", "104", "−3°", "−11°"]


def test_fore_and_back_that_differ_stand_out(loop):
    """Twice sqrt(2) degrees: 3 stands bold, 2 does not."""
    bold = {
        one.text
        for page in pages(loop)
        for one in flat(page.items)
        if isinstance(one, Text) and one.face is Face.BOLD
    }
    assert "−3°" in bold
    assert "+2°" not in bold


def test_columns_without_a_reading_are_left_out():
    log, survey, geology = make()
    legs = tuple(replace(leg, back_bearing=None) for leg in log.legs)
    placed = tuple(
        replace(leg, booked=one, fore_back_deg=None) for leg, one in zip(survey.legs, legs, strict=True)
    )
    closures = tuple(replace(one, legs=legs[:17]) for one in survey.closures)
    said = words(
        [
            item
            for page in pages(
                Traverse(
                    log=replace(log, legs=legs),
                    survey=replace(survey, legs=placed, closures=closures),
                    geology=geology,
                )
            )
            for item in page.items
        ]
    )
    assert "Differ" not in said
    assert "Back" not in said
    assert "Slope" in said


def test_contacts_and_thicknesses(loop):
    found = pages(loop)
    row = line_of(found, "c5")
    assert row[:5] == ["c5", "6–7", "31p", "Jq / Jd", "inferred"]
    said = words([item for page in found for item in page.items])
    assert "fault, Tv | Jd" in said
    assert "24 ± 3 m" in said


def test_a_long_note_is_printed_whole(loop):
    """500 words under Notes in full, none lost."""
    log = loop.log
    text = " ".join(f"word{number}" for number in range(500))
    note = Words(address=log.items[0].address, kind=WordsKind.NOTE, text=text, span=span())
    found = pages(replace(loop, log=replace(log, items=(note, *log.items))), "Letter upright")
    said = words([item for page in found for item in page.items])
    assert text in said
    for page in found:
        assert_inside(page.items, 10.0, 15.0, 205.9, 269.4)


@pytest.mark.parametrize("paper", ["A4 lying", "Letter upright"])
def test_a_word_without_an_end_is_printed_whole(loop, paper):
    log = loop.log
    note = Words(address=log.items[0].address, kind=WordsKind.NOTE, text="x" * 30000, span=span())
    found = pages(replace(loop, log=replace(log, items=(note, *log.items))), paper)
    width, height = PAPERS[paper]
    letters = 0
    for page in found:
        assert_inside(page.items, 10.0, 15.0, width - 10.0, height - 10.0)
        letters += sum(text.count("x") for _, _, text in texts(page.items) if set(text) == {"x"})
    assert letters == 30000


def test_what_is_cut_in_a_table_stands_in_full_below(loop):
    log = loop.log
    text = "a very long description of a rock, " * 20
    items = tuple(
        replace(item, text=text) if isinstance(item, Words) and item.address.station == "4" else item
        for item in log.items
    )
    said = words(
        [item for page in pages(replace(loop, log=replace(log, items=items))) for item in page.items]
    )
    assert "…" in said
    assert text.strip() in said


def test_corrections_omissions_and_answers_are_printed(loop):
    log, survey, geology = loop.log, loop.survey, loop.geology
    leg = log.legs[3]
    correction = Correction(old="N30E <b>", who="TB", date=None, why="digits exchanged", span=span())
    taken_out = Omitted(
        record=log.items[1], who="AV", why="counted twice", written="bed 999/<i>", span=span()
    )
    answered = warning("odd", "worth a look", leg.span)
    open_one = warning("odd", "add `bearings true`", log.legs[4].span)
    answer = Answer("AV", "looked again", span())
    log = replace(
        log,
        corrections=(correction,),
        omitted=(taken_out,),
        checked=(Checked(of=leg.span, who="AV", why="looked again", span=span()),),
    )
    found = pages(
        Traverse(log=log, survey=survey, geology=geology),
        diagnostics=(replace(answered, answer=answer), open_one),
    )
    said = words([item for page in found for item in page.items])
    for part in (
        "once read N30E <b>; TB: digits exchanged",
        "bed 999/<i>",
        "by AV: counted twice",
        "worth a look. AV: looked again",
        "add “bearings true”",
        "1 warning answered, 1 warning open",
    ):
        assert part in said
    struck = [
        one
        for page in found
        for one in flat(page.items)
        if isinstance(one, Path) and one.pen == PENS["struck out"] and len(one.commands) == 2
    ]
    row = next(
        one
        for page in found
        for one in flat(page.items)
        if isinstance(one, Text) and one.text == "bed 999/<i>"
    )
    assert any(abs(one.commands[0][2] - row.at[1] - 0.8) < 1e-6 for one in struck)


def test_a_table_goes_on_with_its_head_again():
    table = Table(
        title="Long",
        columns=(Column(name="A"), Column(name="B", unit="m", right=True)),
        rows=tuple(Row(cells=(f"r{number}", str(number))) for number in range(100)),
    )
    made = Pages.of(Box(x=10.0, y=15.0, width=100.0, height=100.0))
    end, _ = flow(table, made, FilledTo(), page_title="Long")
    assert end.page == len(made.items) - 1 > 2
    for number, items in enumerate(made.items):
        said = [text for _, _, text in texts(items)]
        assert said[0] == ("Long" if number == 0 else "Long, continued")
        assert {"A", "B", "m"} <= set(said)
        assert_inside(items, 10.0, 15.0, 110.0, 115.0)
    rows = [text for items in made.items for _, _, text in texts(items) if text.startswith("r")]
    assert rows == [f"r{number}" for number in range(100)]


def test_entries_of_one_row_stand_level():
    """Attitude by attitude: the meaning begins on the line of its reading."""
    table = Table(
        title="T",
        columns=(Column(name="Written", least_mm=20.0, most_lines=4), Column(name="Means")),
        rows=(Row(cells=("a reading that takes two lines at least\nsecond", "first\nnext")),),
    )
    cells = Laying().lay(table, width=40.0).rows[0][1]
    assert cells[1].index("next") == cells[0].index("second") >= 2


def test_a_log_with_nothing_has_no_tables():
    log, survey, geology = make()
    log = replace(log, legs=(), items=(), addresses=(), stations=(), units=(), controls=())
    survey = replace(survey, places={}, legs=(), addresses=(), closures=(), paces=())
    geology = replace(geology, attitudes=(), contacts=(), things=(), band=(), thicknesses=(), sections=())
    assert pages(Traverse(log=log, survey=survey, geology=geology)) == ()


@pytest.mark.thorough
def test_rows_stand_nearer_where_that_saves_a_page(loop):
    """The first height, from 120 mm up, at which the tables fit one page less than with rows of 4.0."""
    log, survey, geology = loop.log, loop.survey, loop.geology
    for height in range(120, 300):
        frame = Box(x=10.0, y=15.0, width=277.0, height=float(height))
        pages = table_pages(
            Traverse(log=log, survey=survey, geology=geology),
            (),
            width=297.0,
            height=height + 30.0,
            frame=frame,
        )
        names = [one for one in flat(pages[0].items) if isinstance(one, Text) and one.text in {"5", "6"}]
        rows = sorted(
            (one.at[1] for one in names if one.face is Face.BOLD and one.at[0] == 10.0), reverse=True
        )
        if len(rows) == 2 and abs(rows[0] - rows[1] - 3.6) < 1e-6:
            break
    else:
        pytest.fail("rows never stood nearer than usual")
    for page in pages:
        assert_inside(page.items, 10.0, 15.0, 287.0, 15.0 + height)
