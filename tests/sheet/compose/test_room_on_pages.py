"""What shares a page and what gives way on it: no half-empty pages, and units keep their thickness while words can run on."""

import re
from functools import cache
from itertools import pairwise, product
from pathlib import Path as File

import pytest

from tests import once
from tests.sheet.fixture_sheet import compiled, sheet, walk
from tests.sheet.pages import assert_inside
from tests.sheet.text_boxes import covering, outside
from tests.thorough import some
from traverse.compile import map_ground, section_ground
from traverse.sheet.compose.compose import compose
from traverse.sheet.paper.page import Box, Path, Text
from traverse.sheet.paper.style import PENS
from traverse.sheet.report.tomorrow_strip import strip_to_complete, tomorrow_strip, visits
from traverse.sheet.section.note import MORE_OF_SECTION
from traverse.sheet.section.strip import section_panel, strip_heights
from traverse.sheet.signs.colour import unit_styles
from traverse.sheet.template.reading import read_template

ROOT = File(__file__).parents[3]
SAMPLES = {one.stem: one for one in sorted(ROOT.glob("samples/*/*.trav"))}
LOGS = {**SAMPLES, **{one.stem: one for one in sorted(ROOT.glob("tests/reference/logs/*.trav"))}}


@cache
def asked(name, sheet_line=None):
    """The text of a log with another line for its sheet; None as it is."""
    if sheet_line is None:
        return None
    lines = [line for line in LOGS[name].read_text("utf-8").splitlines() if not line.startswith("sheet ")]
    return "\n".join([*lines, sheet_line, ""])


def read(name, sheet_line=None):
    found = once.compiled(LOGS[name], asked(name, sheet_line))
    assert not found.failed
    return found


def laid(name):
    return once.laid(LOGS[name])


@cache
def made(name, *, sheet_line=None, report=False, template="field"):
    found = read(name, sheet_line)
    if report:
        return found, sheet(found, report=True)[0]
    return found, once.drawn(LOGS[name], "key", template, asked(name, sheet_line))


def blank(name, sheet_line=None):
    return once.drawn(LOGS[name], "blank", "field", asked(name, sheet_line))


def said(page):
    return [item.text for item in walk(page.items) if isinstance(item, Text)]


def at(page, start):
    return next(
        item.at for item in walk(page.items) if isinstance(item, Text) and item.text.startswith(start)
    )


def test_a_short_log_is_one_sheet_of_paper_front_and_back():
    _, document = made("ternel-point", report=True)
    assert len(document.pages) == 2
    assert {"Legs", "What this loop cannot check"} <= set(said(document.pages[1]))
    assert "closure" in document.pages[1].title


@pytest.mark.parametrize("name", ["ternel-point", "copperjar-wash"])
def test_a_student_gets_two_pages_and_the_report_when_it_is_asked_for(name):
    _, document = made(name)
    assert len(document.pages) == 2
    first = " ".join(said(document.pages[0]))
    for words in ("Units, youngest first", "Closure", "imits", "Emergency number", "Turn back by"):
        assert words in first
    assert not any("Poles to bedding" in said(page) for page in document.pages)
    _, whole = made(name, report=True)
    assert any("What this loop cannot check" in said(page) for page in whole.pages)


def test_a_loop_that_fails_brings_its_report():
    found = compiled("bearings true\nat 1\nto 2 090 100m\nto 3 180 100m\nto 4 270 60m\nclose 1 000 100m\n")
    pages = sheet(found)[0].pages
    assert any("What this loop cannot check" in said(page) for page in pages)


@pytest.mark.parametrize(
    ("name", "paper"),
    some(
        product(SAMPLES, ["A4 landscape", "A4 portrait", "A3 landscape", "Letter portrait"]),
        [
            ("oskerra-valley", "A4 portrait"),
            ("copperjar-wash", "A4 landscape"),
            ("ternel-point", "A3 landscape"),
            ("ternel-point", "Letter portrait"),
        ],
    ),
)
def test_what_shares_a_page_stays_above_its_foot(name, paper):
    _, document = made(name, sheet_line=f"sheet paper {paper}")
    for page in document.pages:
        foot = at(page, "log ")[1]
        bases = sorted(item.at[1] for item in walk(page.items) if isinstance(item, Text))
        assert bases[0] == foot
        assert next(one for one in bases if one > foot) >= foot + 3.0


@pytest.mark.parametrize(
    "paper",
    some(["A4", "A4 portrait", "A4 landscape", "Letter", "Letter portrait"], ["A4 portrait", "A4 landscape"]),
)
def test_a_loop_of_a_class_is_one_sheet_of_paper_front_and_back(paper):
    """17 stations, 18 legs, 19 contacts: the copying room copies two pages a student."""
    _, document = made("oskerra-valley", sheet_line=f"sheet paper {paper}")
    assert len(document.pages) == 2
    second = said(document.pages[1])
    assert {"Legs", "Contacts and faults, in walking order", "Notes in full"} <= set(second)
    assert any("stations and attitudes" in one for one in second)


def test_a_full_column_still_says_the_thickness_of_each_unit():
    found, document = made("oskerra-valley", sheet_line="sheet paper A4 portrait")
    first = said(document.pages[0])
    assert "the report" not in " ".join(first)
    # A thickness for all but the gravel: at least, with its error, or a range where the rules differ.
    thick = re.compile(r"at least \d+|\d+ ± \d+|\d+–\d+\s*m\b")
    assert sum(bool(thick.search(one)) for one in first) >= len(found.log.units) - 1


@pytest.mark.parametrize(("paper", "aligned"), [("A4 landscape", True), ("A4 portrait", False)])
def test_the_foot_line_begins_under_the_map_beside_a_column(paper, aligned):
    """The left edge of map, strip and foot line is one line; 14 mm on A4 landscape."""
    _, document = made("oskerra-valley", sheet_line=f"sheet paper {paper}")
    x = at(document.pages[0], "Grid: ")[0]
    assert x == pytest.approx(14.0 if aligned else 10.0, abs=0.3)
    assert at(document.pages[1], "Grid: ")[0] == pytest.approx(10.0)


@pytest.mark.parametrize(
    ("name", "line"),
    some(
        [
            (name, line)
            for name in SAMPLES
            for line in ("A4", "A4 landscape", "A4 portrait", "A3", "Letter portrait")
            # The largest of them is turned the way that suits it, and has room on A3.
            if name != "oskerra-valley" or line in {"A4", "A3"}
        ],
        [("ternel-point", "A4 landscape")],
    ),
)
def test_blank_key_and_grey_sheet_lie_on_each_other(name, line):
    """One paper, turned one way, and one scale: a leader lays the key on what was drawn."""
    text = asked(name, f"sheet paper {line}")
    firsts = [once.drawn(LOGS[name], kind, text=text).pages[0] for kind in ("key", "blank", "grey")]
    assert len({(page.width_mm, page.height_mm) for page in firsts}) == 1
    ratios = [next(one for one in said(page) if one.startswith("1:")) for page in firsts]
    assert ratios[0] == ratios[2]
    assert ratios[0] == ratios[1]


def test_closure_stands_under_the_signs_where_that_leaves_the_map_its_scale():
    """Ternel Point on an upright A4: its limits are a high column, its signs a low one."""
    _, document = made("ternel-point", sheet_line="sheet paper A4 portrait")
    first = document.pages[0]
    assert "1:500" in said(first)
    assert at(first, "Closure")[0] == at(first, "Signs on this sheet")[0]
    assert at(first, "Limits")[0] > at(first, "Closure")[0]


def many_units(letters, paper):
    units = "".join(f"unit U{letter} Upper Beds {letter} ; Jurassic\n" for letter in letters)
    walk = "".join(f"to {n} {20 * n % 360:03} 30m\n  unit U{letter}\n" for n, letter in enumerate(letters, 2))
    return compiled(
        f"bearings true\nattitudes dip-direction\n{units}at 1\n  unit U{letters[0]}\n  bed 120/30\n{walk}"
        f"section A-A' from 1 to 4\nsection B-B' from 2 to 6\nsheet paper {paper}\n"
    )


def test_what_else_is_said_of_units_stands_at_the_back_and_the_page_says_whose_it_is():
    found = many_units("abcdefghijkl", "A5 portrait")
    template = read_template("insert").value
    pages = compose(map_ground(found.trav), (), template=template, mark="abc").value.pages
    assert {f"Upper Beds {letter}" for letter in "abcdefghijkl"} <= set(said(pages[0]))
    assert "Jurassic" not in said(pages[0])
    assert len(pages) == 2
    assert "Test Dale, day 1: legend" in said(pages[1])
    assert "Jurassic" in said(pages[1])


@pytest.mark.thorough
def test_what_the_report_tells_in_full_takes_no_page_of_its_own():
    pages = sheet(many_units("abcdefghijklmnopqrstuv", "A5 landscape"), report=True)[0].pages
    assert "Signs: on a later sheet. Closure: a sheet of its own" in said(pages[0])
    assert any("Signs on this sheet" in said(page) for page in pages[1:])
    assert not any("Closure" in said(page) for page in pages)
    assert sum("What nothing here checks" in said(page) for page in pages) == 1


def test_the_section_alone_keeps_eleven_units_beside_it():
    found = many_units("abcdefghijk", "A4")
    pages = compose(
        map_ground(found.trav), (), template=read_template("section").value, mark="abc"
    ).value.pages
    assert not any("later sheet" in one for one in said(pages[0]))
    assert {f"Upper Beds {letter}" for letter in "abcdefghijk"} <= set(said(pages[0]))


@pytest.mark.parametrize(
    ("name", "paper"),
    some(
        product(SAMPLES, ["A4 portrait", "Letter portrait"]),
        [("oskerra-valley", "A4 portrait"), ("ternel-point", "Letter portrait")],
    ),
)
def test_no_figure_of_a_station_is_cut_on_narrow_paper(name, paper):
    """Words wrap before that: half a coordinate tells nothing."""
    found, document = made(name, sheet_line=f"sheet paper {paper}")
    printed = {
        text.replace("\u00a0", " ").replace("−", "-") for page in document.pages[1:] for text in said(page)
    }
    for place in found.survey.places.values():
        for value in (place.east_m, place.north_m):
            assert f"{round(value):,}".replace(",", " ") in printed


@pytest.mark.every(2)
@pytest.mark.parametrize(
    "name",
    some(
        ["loop-that-fails", "local-attraction", "ternel-point", "oskerra-valley"],
        ["local-attraction", "ternel-point"],
    ),
)
def test_a_sheet_for_the_wall_has_its_report_beside_or_under_its_tables(name):
    """Half of a page of that size would stay white, and nobody hangs up a second one."""
    _, document = made(name, sheet_line="sheet paper A0", report=True)
    (page,) = document.pages
    assert {"Legs", "What this loop cannot check"} <= set(said(page))
    assert covering(page) == []
    assert outside(page, margin_mm=10.0) == []


@pytest.mark.thorough
def test_what_moved_stands_on_the_page_of_sections_where_that_has_room():
    pages = made("traced", sheet_line="sheet paper A5")[1].pages
    assert [one.title for one in pages][1] == "Sections; legend"
    assert not any(one.title == "Legend" for one in pages)


@pytest.mark.thorough
@pytest.mark.parametrize("paper", some(["A5 portrait", "A5 landscape"], 2))
def test_a_report_on_small_paper_keeps_off_its_foot_and_says_what_to_look_at_once(paper):
    pages = made("four-parties", sheet_line=f"sheet paper {paper}", report=True)[1].pages
    assert [outside(page, margin_mm=9.9) for page in pages] == [[]] * len(pages)
    assert [covering(page) for page in pages[1:]] == [[]] * (len(pages) - 1)
    assert sum(any("tomorrow" in one for one in said(page)) for page in pages) <= 1


def told_on(paper, **options):
    """The words of each page of the log with the most of all."""
    pages = made("many-units", sheet_line=f"sheet paper {paper}", **options)[1].pages
    return [" ".join(said(page)).replace("\u00a0", " ") for page in pages]


def test_small_paper_leaves_the_legs_to_the_report_and_says_so():
    """Seven pages of a notebook in place of eleven."""
    pages = told_on("A5")
    assert len(pages) <= 7
    left = "The table of the 48 legs is left off this paper: a sheet with its report has it, and one on A4."
    assert left in " ".join(pages)
    assert "Adj. E" not in " ".join(pages)


@pytest.mark.thorough
@pytest.mark.parametrize(("paper", "report"), some([("A4", False), ("A5", True)], [("A4", False)]))
def test_the_legs_stand_on_larger_paper_and_in_the_report(paper, report):
    told = " ".join(told_on(paper, report=report))
    assert "left off this paper" not in told
    assert "Adj. E" in told


def test_what_finds_no_room_on_small_sheets_stands_once_each_on_later_ones():
    """Units, signs, closure, and where to look again."""
    pages = told_on("A5")
    for heading in ("Signs on this sheet", "Look again tomorrow", "Before going out", "Notes in full"):
        assert sum(heading in one for one in pages) == 1


@pytest.mark.every(2)
@pytest.mark.parametrize(
    ("name", "template"),
    some(
        product(["plunging-fold", "traced", "unconformity"], ["field", "wall"]),
        [("traced", "wall"), ("unconformity", "field")],
    ),
)
def test_paper_to_hang_up_has_all_sections_under_its_map(name, template):
    """A second sheet of A0 for one strip is paper nobody hangs up."""
    found, document = made(name, sheet_line="sheet paper A0", template=template)
    assert len(found.trav.geology.sections) == 2
    (page,) = document.pages
    captions = [words for words in said(page) if "Section 1:" in words]
    assert len(captions) == 2
    assert {"A", "B"} <= set(said(page))


@pytest.mark.every(2)
@pytest.mark.parametrize("tall_mm", [36.0, 50.0])
def test_a_low_section_shows_its_ground_and_counts_what_lies_too_high_above_it(tall_mm):
    """Readings carried down a plunging axis lie up to 120 m over the ground."""
    found = read("plunging-fold")
    first = found.trav.geology.sections[0]
    heights = strip_heights(first, found.trav, tall_mm=tall_mm, scale=1000)
    ground = [point.up_m for point in first.profile]
    assert heights.top_m - heights.floor_m == pytest.approx(tall_mm)
    assert heights.floor_m < min(ground) - 5.0
    assert heights.top_m > max(ground)
    box = Box(x=20.0, y=40.0, width=700.0, height=tall_mm)
    cut = section_ground(found.trav).ground.cuts[0]
    drawn = section_panel(cut, found.trav, box=box, scale=1000, styles=unit_styles(found.log.units)).items
    words = " ".join(item.text for item in walk(drawn) if isinstance(item, Text))
    beyond = [
        point
        for point in first.points
        if point.is_bed and not heights.floor_m <= first.place_of(point)[1] <= heights.top_m
    ]
    assert beyond
    assert f"Left off: {len(beyond)} reading" in words


@pytest.mark.parametrize(
    ("name", "paper", "most"),
    some(
        [("many-units", "A4", 3), ("many-units", "A5", 6), ("many-units", "Letter", 3)],
        [("many-units", "A4", 3), ("many-units", "A5", 6)],
    ),
)
def test_what_sheet_1_has_no_room_for_stands_under_closer_tables(name, paper, most):
    """Structure alone had a page of its own; 45 stations in four loops, nine units."""
    _, document = made(name, sheet_line=f"sheet paper {paper}")
    assert len(document.pages) <= most
    assert any("Structure" in said(page) for page in document.pages)


@pytest.mark.parametrize(
    ("name", "paper", "most"),
    some(
        [
            ("oskerra-valley", "A5 portrait", 5),
            ("no-units", "A5", 3),
            ("oskerra-valley", "A5 landscape", 5),
            ("copperjar-wash", "A5", 4),
            ("no-units", "A5 portrait", 2),
        ],
        [("oskerra-valley", "A5 portrait", 5), ("no-units", "A5 portrait", 2)],
    ),
)
def test_a_loop_on_half_the_paper_takes_no_more_of_it(name, paper, most):
    """Two sheets of A4 are four of A5, and one has whole what sheet 1 cuts: what follows takes the room that notes and tables leave."""
    found, document = made(name, sheet_line=f"sheet paper {paper}")
    assert len(document.pages) <= most
    for page in document.pages:
        assert not outside(page, margin_mm=9.9)
        assert not covering(page)
    words = [one for page in document.pages for one in said(page)]
    # What sheet 1 cuts of structure and sections is on one of them, not in a report that nobody printed.
    assert not [one for one in words if MORE_OF_SECTION in one]
    if any("more on sheet" in one.lower().replace("\u00a0", " ") for one in words):
        assert {"Structure", "Closure", "Sections, in full"} & {
            one for page in document.pages[1:] for one in said(page)
        }
    assert words.count("Before going out") == 1
    for unit in found.log.units:
        assert unit.letters in words
    if found.log.units:
        # Each in full on a later page: its thickness stands there.
        assert "age; true thickness" in {one for page in document.pages[1:] for one in said(page)}


@pytest.mark.thorough
def test_blocks_on_a_later_page_stand_side_by_side_while_columns_are_free():
    """Units, signs and closure stood below each other, two thirds of the page empty, then apart from tables with room below."""
    _, document = made("plateau", sheet_line="sheet paper A5")
    assert len(document.pages) == 3
    last = document.pages[1]
    assert at(last, "Units, youngest first")[1] == pytest.approx(at(last, "Signs on this sheet")[1])


def test_a_list_that_goes_on_in_the_next_column_does_so_by_halves():
    """Eight of nine units stood in one column and the last alone in the next."""
    last = made("many-units", sheet_line="sheet paper A4")[1].pages[-1]
    left = at(last, "Units, youngest first")[0]
    right = at(last, "Units, youngest first, continued")[0]
    names = [
        at(last, name)[0] for name in ("Rigg Drift", "Redgate Sandstone", "Kettle Shale", "Cairn Quartzite")
    ]
    assert [left < x < right for x in names] == [True, True, False, False]


def test_tables_to_complete_leave_room_for_what_would_have_a_page_of_its_own():
    """The lines for tomorrow stood alone on a third page of A5; the key had two."""
    handout = blank("no-units", "sheet paper A5")
    assert len(handout.pages) == 2
    assert "Look again tomorrow, in walking order" in said(handout.pages[1])


@pytest.mark.every(2)
@pytest.mark.parametrize(("name", "most"), [("oskerra-valley", 2), ("many-units", 3)])
def test_tables_to_complete_take_the_turn_and_the_rows_that_save_a_page(name, most):
    """Rows stay as high as ruled paper is (7 mm), and two of three contacts keep a row."""
    found, handout = read(name, "sheet paper A4"), blank(name, "sheet paper A4")
    assert len(handout.pages) <= most
    rules = [
        path.commands[0][2]
        for page in handout.pages[1:]
        for path in walk(page.items)
        if isinstance(path, Path) and path.pen == PENS["ruled line"]
    ]
    apart = [a - b for a, b in pairwise(rules) if 0.0 < a - b < 10.0]
    assert min(apart) >= 7.0 - 1e-6
    assert len(rules) >= len(found.log.stations) + 2 * min(len(found.log.legs), 24) // 3


@pytest.mark.parametrize("width", [44.0, 56.0, 60.0, 73.0, 91.0, 93.0])
def test_lines_to_write_on_beside_or_below_tomorrow_are_long_enough(width):
    """In a column of A5 the name of a line ran past the margin and left 4 mm to write on."""
    found = read("oskerra-valley")
    places, more = visits(found.trav, found.diagnostics)
    for block in (tomorrow_strip(places, more=more, width=width), strip_to_complete(width=width)):
        assert_inside(block.items, -0.3, -block.height, width + 0.3, 0.0)
        lines = [one for one in block.items if isinstance(one, Path) and one.pen == PENS["ruled line"]]
        assert min(one.commands[1][1] - one.commands[0][1] for one in lines) > 8.0


def test_tables_to_complete_stand_under_a_section_that_has_a_page_of_its_own():
    """Most of that page was white, and a third one held the tables."""
    _, second = blank("unconformity").pages
    words = said(second)
    assert "B′" in words
    assert [one for one in words if one.endswith("stations, to be completed")]
    assert [one for one in words if one.lower().endswith("contacts and faults, to be completed")]


def test_a_handout_of_several_loops_has_lines_for_them_and_the_notes_that_its_foot_sends_to():
    pages = blank("four-parties").pages
    words = [one for page in pages for one in said(page)]
    assert any("see notes" in one for one in words)
    assert any(one.startswith("Bearings: magnetic") and "from" in one for one in words)
    assert sum(one.startswith("loop ___") for one in words) > 1


@pytest.mark.thorough
def test_a_map_hardly_larger_than_that_of_sheet_1_is_not_drawn_again_on_a_page_of_its_own():
    """A plateau at 1:5200 on A4, hardly larger than on sheet 1, which one page more would hold."""
    _, document = made("plateau", sheet_line="sheet paper A4 portrait scale 1:5200")
    assert len(document.pages) == 2
    assert "1:6000" in said(document.pages[0])


@pytest.mark.thorough
def test_what_gave_way_is_said_again_where_a_later_step_made_room():
    """The units of a crowded sheet give all but their names, and leave more than the words before had lost."""
    _, document = made("many-units")
    first = said(document.pages[0])
    assert sum(one.startswith("Beds at 19 places") for one in first) == 1
    assert any("Axis not determined" in one for one in first)


@pytest.mark.thorough
def test_tables_of_a_lying_wall_sheet_cut_no_words_beside_a_map_that_leaves_them_room():
    """The log fixes a scale at which its map fills a sixth of A0, and `down: graded beds, two places` was cut."""
    _, document = made("oskerra-valley", sheet_line="sheet scale 1:2500 paper A0 landscape band 20 m")
    assert len(document.pages) == 1
    words = said(document.pages[0])
    assert "1:2500" in words
    assert not [one for one in words if one.endswith("…")]


@pytest.mark.thorough
def test_tables_of_a_lying_wall_sheet_stand_narrower_for_a_larger_map_and_whole():
    """Their columns as on a page in the hand; looked at: the walk at 1:360 is 1.3 times as large as beside wide tables."""
    _, document = made("copperjar-wash", sheet_line="sheet paper A0 landscape")
    assert len(document.pages) == 1
    words = said(document.pages[0])
    assert "1:360" in words
    assert {"Station", "Fixed by", "As written", "Dip → dir.", "Notes in full"} <= set(words)


@pytest.mark.thorough
def test_air_over_a_flat_section_gives_way_before_the_map_gets_smaller():
    """Two legs over level ground on A5: 1:4000 with 36 mm of section, nearly all of it white; 1:3000 with less."""
    units = "unit Ls Lorn Limestone ; Cretaceous\nunit Ms Mard Marl ; Jurassic\n"
    walked = (
        "at 1\nunit Ms\nbed 290/35\nto 2 090 180m level\nalong 74m\ncontact Ls/Ms certain\nat 2\nunit Ls\nbed 290/35\n"
        "to 3 000 130m level\nunit Ls\nsheet paper A5 landscape band 20 m\n"
    )
    document, said_of = sheet(compiled(f"bearings true\nattitudes dip-direction\n{units}{walked}"))
    assert "1:3000" in said(document.pages[0])
    assert not [one for one in said_of if one.code == "section-cut"]


@pytest.mark.thorough
@pytest.mark.parametrize(
    ("name", "second"),
    [
        pytest.param("oskerra-valley", "section B-B' from 17 to 8", marks=pytest.mark.thorough),
        ("long-ridge", "section B-B' from RC to RE"),
    ],
)
def test_a_second_section_stands_on_sheet_1_where_it_costs_no_scale(name, second):
    """It had a page of its own below a map with a third of its height empty."""
    _, alone = made(name, sheet_line="sheet paper A3 portrait")
    _, both = made(name, sheet_line=f"{second}\nsheet paper A3 portrait")
    assert len(alone.pages) == len(both.pages)
    first, second_too = (said(one.pages[0]) for one in (alone, both))
    assert {"A′", "B′"} <= set(second_too)
    assert {one for one in first if one.startswith("1:")} <= set(second_too)
    # No words gave way for it.
    for words in ("age; true thickness", "Structure", "Closure", "Hazards noticed, and limits"):
        assert (words in first) == (words in second_too)


@pytest.mark.thorough
def test_a_template_without_a_section_draws_none_and_no_line_of_it():
    """An insert had a page with the second section, and the line of the first on its map without the section."""
    second = "section B-B' from 4 to 18, project strike"
    _, document = made("many-units", sheet_line=second, template="insert")
    assert not any("Section" in page.title for page in document.pages)
    assert not {"A", "A′", "B", "B′"} & {word for page in document.pages for word in said(page)}


@pytest.mark.thorough
@pytest.mark.parametrize("template", some(["field", "insert"], 2))
def test_a_handout_has_the_line_under_its_map_where_its_key_has_it(template):
    """Its words lay on the degree scale where the key kept room below the map for readings that the handout has not."""
    second = "section B-B' from 4 to 18, project strike"
    text = asked("many-units", f"{second}\nsheet paper A4")
    for page in (once.drawn(LOGS["many-units"], kind, template, text).pages[0] for kind in ("key", "blank")):
        low = min(one.box.y for one in page.maps)
        told = [one for one in walk(page.items) if isinstance(one, Text) and "sheet 2." in one.text]
        assert all(one.at[1] < low for one in told)
        assert told or template == "insert"


@pytest.mark.parametrize(
    ("name", "tall_mm", "scale"), [("ternel-point", 36.0, 250), ("copperjar-wash", 36.0, 700)]
)
def test_the_ground_of_a_low_section_stands_clear_of_the_bar_at_its_floor(name, tall_mm, scale):
    """Where a height round to 10 lay no lower than the ground, the bar struck it out under a panel of air."""
    found = once.compiled(LOGS[name])
    (section,) = found.trav.geology.sections
    heights = strip_heights(section, found.trav, tall_mm=tall_mm, scale=scale)
    ground = [point.up_m for point in section.profile]
    mm_per_m = 1000.0 / scale * heights.exaggeration
    assert (min(ground) - heights.floor_m) * mm_per_m > 5.0
    assert (heights.top_m - max(ground)) * mm_per_m > 2.0


@pytest.mark.thorough
def test_what_an_insert_has_no_room_for_is_listed_in_full_with_its_signs():
    """It has no tables to look into: all that its map tells by number stands at its back, and nothing else."""
    _, document = made("many-units", template="insert", sheet_line="sheet scale 1:25000")
    first, second = (said(page) for page in document.pages)
    (line,) = [one for one in first if "Not on this map" in one]
    places = int(re.search(r"Not on this map, see the legend: (\d+) places\.", line)[1])
    below = " ".join(second[second.index("Not on the map") + 1 :])
    names = re.findall(r"(?:sample|photo) (\S+) at ", below, re.IGNORECASE)
    # Figures of dip are among them, and were told by the terminal alone.
    dips = re.findall(r"Dip figures at ([^.]*)\.", below)
    assert len(dips) == 1
    assert len(names) + len(re.split(", | and ", dips[0])) == places > 5
    # A photo is named with its word on the map, a sample alone.
    drawn = {word for text in first for word in text.split()}
    assert not drawn.intersection(names)


def test_signs_alone_at_the_back_of_an_insert_have_its_width():
    """In half of it their words broke: `hazard (see / list)`."""
    _, document = made("copperjar-wash", template="insert")
    assert {"hazard (see list)", "computed, not walked", "photo, looking so"} <= set(said(document.pages[1]))


@pytest.mark.parametrize("paper", some(["A3 landscape", "A0"], 2))
def test_lists_to_fill_in_stand_beside_each_other_where_each_is_whole_there(paper):
    """The second stood under the first, one row of it alone in the empty column beside them."""
    page = blank("plateau", f"sheet paper {paper}").pages[-1]
    (contacts,) = [one for one in said(page) if one.startswith("Contacts and faults, to be completed")]
    (stations,) = [one for one in said(page) if "stations, to be completed" in one]
    assert at(page, contacts)[1] == pytest.approx(at(page, stations)[1])


def test_each_map_of_a_handout_has_degrees_to_lay_bearings_off():
    """They stood on the index alone, on which nobody draws."""
    document = once.drawn(LOGS["oskerra-valley"], "blank", "insert")
    maps = [page for page in document.pages if page.maps]
    assert len(maps) == 3
    assert all("degrees from" in said(page) for page in maps)
    assert all(any("double paces" in one for one in said(page)) for page in maps)
