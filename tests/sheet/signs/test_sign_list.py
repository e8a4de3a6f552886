"""The legend of signs: what is on the sheet and nothing else, in one order, with whole words."""

import math
from itertools import product

import pytest

from tests.sheet.fixture_sheet import compiled, walk
from tests.sheet.pages import assert_inside, box, overlaps, texts
from tests.sheet.signs.fixture_signs import walk as every_sign
from tests.thorough import some
from traverse.compile import map_ground
from traverse.sheet.compose.compose import Composer, compose
from traverse.sheet.compose.following import legend_pages
from traverse.sheet.legend.panels import signs_panel
from traverse.sheet.map.map import map_panel
from traverse.sheet.paper.page import Box, Face, Path, Text
from traverse.sheet.paper.style import PENS
from traverse.sheet.section.strip import signs_expected_in
from traverse.sheet.signs.sign_list import (
    SIGN_PITCH_MM,
    TIGHT_SIGN_PITCH_MM,
    in_legend_order,
    listed_signs,
    sample,
    sign_words,
    signs_block,
)
from traverse.sheet.signs.symbols import LINES, SECTION_LINES, SIGNS
from traverse.sheet.template.reading import Paper, read_template

EVERY = (*LINES, *SIGNS)


@pytest.fixture(scope="module")
def found():
    return compiled(every_sign(), title="All Signs, test")


def block(found, names, *, width, pitch=SIGN_PITCH_MM):
    return signs_block(names, found.trav, width=width, pitch=pitch, half_m=20.0)


@pytest.mark.every(3)
@pytest.mark.parametrize("width", [45.0, 52.0, 60.0, 66.0, 69.0, 76.0, 90.0])
@pytest.mark.parametrize("pitch", [SIGN_PITCH_MM, TIGHT_SIGN_PITCH_MM])
def test_no_word_is_cut_and_nothing_overlaps_at_any_width(found, width, pitch):
    made = block(found, EVERY, width=width, pitch=pitch)
    said = " ".join(text for _, _, text in texts(made.items))
    assert "…" not in said
    folded = {
        "computed fault trace",
        "section line",
        "contour",
        "flow",
        "axial head",
        "station",
        "side shot",
        "fault certain",
    }
    special = {
        "control",
        "leg",
        "spur",
        "edge of ground seen",
        *(name for name in LINES if "contact " in name),
    }
    for name in EVERY:
        words = LINES.get(name) or SIGNS[name].words
        if name not in folded | special:
            assert words in said, words
    assert overlaps(made.items) == []
    assert_inside(made.items, -0.1, -made.height, width, 0.0)


def test_words_of_one_sign_never_run_into_the_sample_of_the_next(found):
    made = block(found, EVERY, width=60.0)
    words = [box(one) for one in walk(made.items) if isinstance(one, Text) and one.face is Face.REGULAR]
    for item in walk(made.items):
        if not isinstance(item, Path):
            continue
        points = [p for _, *n in item.commands for p in zip(n[::2], n[1::2], strict=True)]
        left, right = min(x for x, _ in points), max(x for x, _ in points)
        low, top = min(y for _, y in points), max(y for _, y in points)
        if right - left > 20.0:
            # The rule over the block.
            continue
        for x0, y0, x1, y1 in words:
            assert min(right, x1) - max(left, x0) < 0.1 or min(top, y1) - max(low, y0) < 0.1


def test_a_line_that_goes_on_stays_nearer_to_its_own_sign_than_to_the_next(found):
    made = block(found, EVERY, width=60.0, pitch=TIGHT_SIGN_PITCH_MM)
    columns: dict[float, list[tuple[float, str]]] = {}
    for x, y, words in texts(made.items):
        columns.setdefault(round(x, 2), []).append((-y, words))
    at = {words.replace("\u00a0", " "): (-y, x) for x, y, words in texts(made.items)}
    wrapped = 0
    for name in EVERY:
        whole = (LINES.get(name) or SIGNS[name].words).replace("\u00a0", " ")
        last = next((one for one in at if whole.endswith(f" {one}") and whole.startswith(tuple(at))), None)
        if last is None or whole in at:
            continue
        low, x = at[last]
        column = sorted(columns[round(x, 2)])
        index = [y for y, _ in column].index(low)
        if index + 1 < len(column) and index:
            wrapped += 1
            assert column[index + 1][0] - low > low - column[index - 1][0] + 0.5, whole
    assert wrapped


def test_the_order_is_contacts_faults_readings_places_ground_section():
    order = in_legend_order(EVERY)
    assert sorted(order) == sorted(EVERY)
    marks = ["contact certain", "contact concealed", "fault approximate", "fault down", "edge of ground seen",
             "bedding", "cleavage", "lineation", "control", "hazard", "section line", "stream", "apparent dip"]  # fmt: skip
    places = [order.index(name) for name in marks]
    assert places == sorted(places)


def test_contacts_go_from_certain_to_concealed():
    for kind in ("contact", "fault"):
        order = [one for one in in_legend_order(EVERY) if one.startswith(f"{kind} ") and one in LINES]
        assert order == [f"{kind} {one}" for one in ("certain", "approximate", "inferred", "concealed")]


@pytest.mark.parametrize(
    ("paper", "way"), some(product(["A4", "Letter"], ["portrait", "landscape"]), [("A4", "portrait")])
)
def test_only_signs_that_are_drawn_are_listed_and_all_of_them(paper, way, monkeypatch):
    """On each paper, of a log with every sign: the rows of what the map and the section drew, on whatever page."""
    found = compiled(every_sign() + f"sheet paper {paper} {way}\n", title="All Signs, test")
    maps = []

    def kept(*args, **kwargs):
        maps.append(map_panel(*args, **kwargs))
        return maps[-1]

    monkeypatch.setattr("traverse.sheet.compose.compose.map_panel", kept)
    composer = Composer(map_ground(found.trav), found.diagnostics, read_template("field").value, "mark")
    document = composer.compose().value
    drawn = {
        *maps[-1].signs,
        *(name for one in found.trav.geology.sections for name in signs_expected_in(one)),
    }
    assert {"foliation", "cleavage vertical", "joint flat", "hinge level", "queried", "landmark"} <= drawn
    (legend,) = (page for page in document.pages if f" {SIGNS['foliation'].words} " in said_on(page))
    special = sign_words(found.trav)
    for name in (*LINES, *SIGNS):
        words = special.get(name) or LINES.get(name) or SIGNS[name].words
        if name in listed_signs(drawn) and name != "edge of ground seen":
            assert f" {words} " in said_on(legend), name
        elif name not in drawn and name not in special:
            assert f" {words} " not in said_on(legend), name
    assert "overturned, tops seen" in said_on(legend)
    assert "…" not in said_on(legend)


def said_on(page):
    """The words of a page, row by row."""
    return f"  {'  '.join(one.text for one in walk(page.items) if isinstance(one, Text))}  "


def test_a_log_without_a_kind_does_not_list_it():
    found = compiled(
        "bearings true\nattitudes dip-right\nunit Ka Marl ; Cretaceous\nat 1\n  unit Ka\n  bed 142/35\n"
        "to 2 090 80m +0\n  unit Ka\n  joint 020/vertical\n"
    )
    document = compose(
        map_ground(found.trav),
        found.diagnostics,
        template=read_template("field").value,
        mark="mark",
    ).value
    said = [one.text for one in walk(document.pages[0].items) if isinstance(one, Text)]
    assert SIGNS["joint vertical"].words in said
    assert SIGNS["bedding"].words in said
    for name in ("joint", "foliation", "overturned", "hinge", "sample"):
        assert SIGNS[name].words not in said


def test_every_sample_is_drawn_with_the_pens_and_shapes_of_its_sign():
    """A line's sample has its pen; a sign's sample has as many shapes as the sign, and those on a line one more."""
    for name in LINES:
        assert sample(name, 0.0, 0.0, ())[0].pen == PENS[name]
    for name, sign in SIGNS.items():
        shapes = [one for one in sample(name, 0.0, 0.0, ()) if isinstance(one, Path)]
        assert len(shapes) == len(sign.shapes) + (sign.shown_on is not None)


def test_a_dashed_sample_ends_with_a_whole_dash():
    for name in LINES:
        (_, x0, _), (_, x1, _) = sample(name, 0.0, 0.0, ())[0].commands
        dashes = PENS[name].dash_mm
        rest = math.fmod(x1 - x0, sum(dashes)) if dashes else 0.0
        if dashes and len(dashes) == 2 and 2 * sum(dashes) < 8.6:
            assert rest == pytest.approx(dashes[0], abs=1e-6), name


def test_the_section_lists_what_it_draws(found):
    """Foliation and cleavage in a section are told apart as on the map."""
    names = {name for section in found.geology.sections for name in signs_expected_in(section)}
    assert {"apparent dip"} <= names
    assert names <= {*SIGNS, *LINES, *SECTION_LINES}


@pytest.mark.thorough
def test_a_list_longer_than_its_page_goes_on_beside_or_on_the_next(found):
    """A5 with every sign: nothing leaves the page, and the last row is there."""
    panel = signs_panel(EVERY, found.trav, half_m=20.0, tight=False)
    paper, frame = Paper(name="A5", width=210.0, height=148.0), Box(x=10.0, y=30.0, width=190.0, height=108.0)
    assert_goes_on(legend_pages([panel], paper=paper, gap=6.0, frame=frame))


@pytest.mark.thorough
def test_so_it_does_on_a_whole_sheet():
    found = compiled(every_sign() + "sheet paper A5 landscape\n", title="All Signs, test")
    composer = Composer(map_ground(found.trav), found.diagnostics, read_template("field").value, "mark")
    assert_goes_on([page for page in composer.compose().value.pages if page.title == "Legend"])


def assert_goes_on(legends):
    assert legends
    said = [one.text for page in legends for one in walk(page.items) if isinstance(one, Text)]
    assert SIGNS["apparent dip"].words in said
    assert "Signs on this sheet" in said
    assert "Signs on this sheet, continued" in said
    for page in legends:
        assert_inside(page.items, 10.0, 10.0, page.width_mm - 10.0, page.height_mm - 10.0)


def test_the_line_of_section_has_a_row_only_beside_the_axial_surface_that_it_looks_like():
    assert listed_signs(["leg", "section line"]) == ["leg"]
    assert listed_signs(["leg", "section line", "axial surface"]) == ["leg", "section line", "axial surface"]
