"""Long names and narrow paper: nothing is cut, printed over something else or led astray."""

import math
import re
from dataclasses import replace
from functools import cache
from itertools import product

import pytest

from tests import once
from tests.reference.drawn import logs
from tests.sheet.fixture_sheet import compiled, sheet
from tests.sheet.pages import assert_inside, box, flat, overlaps, words
from tests.thorough import some
from traverse.compile import blank_ground, map_ground
from traverse.sheet.compose.compose import compose
from traverse.sheet.compose.grey import compose_grey
from traverse.sheet.handout.handout import compose_blank
from traverse.sheet.legend.unit_legend import UnitRows, units_block
from traverse.sheet.paper.labels import ground_of
from traverse.sheet.paper.page import Group, Path, Text, Tile
from traverse.sheet.paper.style import PROJECTED_BAND
from traverse.sheet.paper.window import PaceRule, scale_strip
from traverse.sheet.report.tomorrow_strip import strip_to_complete, tomorrow_strip, visits
from traverse.sheet.said.stops import units_on_sheet
from traverse.sheet.signs.colour import unit_styles
from traverse.sheet.signs.pattern import NUMBERS, rock_of, unit_patterns
from traverse.sheet.template.reading import read_template

NAME = "Hallow Greensand with glauconite and phosphate nodules"
QUARRY = (
    "party AB Ann Bell\nparty CD Cal Dorn\n"
    "bearings magnetic\ndeclination 2 E, 2026, map margin\nattitudes dip-right\n"
    "pace AB double 100 m in 65, 66, 66\npace CD double 100 m in 60, 61, 61\n"
    f"unit Gl {NAME} ; Lower Cretaceous\nunit Ol Hallow Oolite ; Middle Jurassic\nunit Bc Black Beds ; Lower Jurassic\n"
    "pacer AB\ncontrol 1 1000 E 2000 N 100 m\nat 1\n  unit Bc\n  rock clay, black, with cement-stones and pyrite\n  bed 010/20\n"
    "to 2 090 60p +2\n  unit Ol\n  bed 010/22\n  photo 4 looking 088\nalong 20p\n  contact Ol/Bc inferred\n"
    "to 3 100 60p +2\n  unit Gl\n  rock greensand, soft, with phosphate nodules\n  bed 012/21\n"
    "to 4 190 70p +2\n  unit Gl\n  bed 015/20\n  crosses stream 200 Hallow Brook\n"
    "to 5 275 120p +2\n  unit Bc\n  bed 011/19\nclose 1 005 62p -8\nsection A-A' 100 through 3\n"
)
PAPERS = ("A5", "A5 landscape", "A4", "A4 landscape")


def found(extra=""):
    return compiled(QUARRY + extra, title="Quarry lane, class 3B, afternoon exercise")


@cache
def keyed(paper):
    return sheet(found(f"sheet paper {paper}\n"))[0]


def groups(items):
    for one in items:
        if isinstance(one, Group):
            yield one
            yield from groups(one.items)


def blank(extra):
    log = found(extra)
    made = compose_blank(
        log.trav, log.diagnostics, lay=blank_ground, template=read_template("field").value, mark="x"
    )
    return made.value


@pytest.mark.parametrize("rows", UnitRows)
@pytest.mark.parametrize("width", [48.0, 60.0, 76.0])
def test_a_name_of_a_unit_is_never_cut_and_its_rock_leaves_no_stump(rows, width):
    log = found()
    block = units_block(map_ground(log.trav), width=width, styles=unit_styles(log.log.units), rows=rows)
    said = words(block.items)
    assert "…" not in said
    for word in NAME.split():
        assert word in said
    assert "Cretaceous" in said
    assert_inside(block.items, -0.3, -block.height, width + 0.3, 0.0)
    assert not overlaps(block.items)


@pytest.mark.parametrize("width", [62.0, 90.0, 110.0])
def test_headings_of_the_strip_stand_apart_and_whose_paces_is_never_cut(width):
    log = found()
    places, more = visits(log.trav, log.diagnostics)
    assert places
    for block in (tomorrow_strip(places, more=more, width=width), strip_to_complete(width=width)):
        assert not overlaps(block.items)
        assert_inside(block.items, -0.3, -block.height, width + 0.3, 0.0)
    assert more in words(tomorrow_strip(places, more=more, width=width).items)


@pytest.mark.every(2)
@pytest.mark.parametrize("paper", PAPERS)
def test_the_caption_of_a_section_keeps_to_its_side_of_the_page(paper):
    page = keyed(paper).pages[0]
    for one in flat(page.items):
        if isinstance(one, Text) and one.text.startswith("Section 1:"):
            column = [
                other
                for other in flat(page.items)
                if isinstance(other, Text) and other.text.startswith("Units, ")
            ]
            right = box(column[0])[0] if "landscape" in paper else page.width_mm - 9.0
            assert box(one)[2] < right
            return
    raise AssertionError("no caption")


@pytest.mark.parametrize("paper", PAPERS)
def test_words_of_a_photo_stand_clear_of_its_arrow(paper):
    page = keyed(paper).pages[0]
    items = list(flat(page.items))
    words_at = next(one for one in items if isinstance(one, Text) and one.text == "photo 4")
    left, low, right, top = box(words_at)
    heads = [
        path
        for path in items
        if isinstance(path, Path) and path.fill == "#000000" and path.pen is None and len(path.commands) <= 5
    ]
    assert heads
    for head in heads:
        points = [command[-2:] for command in head.commands if len(command) > 2]
        assert not any(left < x < right and low < y < top for x, y in points)


def test_a_blank_has_each_pacers_rule_and_its_scales_keep_to_themselves():
    page = blank("sheet paper A4\n").pages[0]
    said = words(page.items)
    assert "AB’s double paces" in said
    assert "CD’s double paces" in said
    scales = [
        one
        for one in groups(page.items)
        if any(isinstance(word, Text) and word.text == "grid north" for word in one.items)
    ]
    assert scales
    neat = [one for one in flat(page.items) if isinstance(one, Path) and one.commands[-1] == ("Z",)]
    xs = [command[1] for one in neat for command in one.commands if len(command) > 2]
    for scale in scales:
        ground = ground_of(scale)
        assert ground.area > 0.0
        for word in (one for one in scale.items if isinstance(one, Text)):
            left, _, right, _ = box(word)
            assert left > min(xs)
            assert right < page.width_mm - 9.0
        lines = [one for one in scale.items if isinstance(one, Path)]
        corner = ground.bounds
        for word in (one for one in scale.items if isinstance(one, Text) and one.text.startswith("degrees")):
            left, _, right, _ = box(word)
            assert left >= corner[0] + 1.0
            assert right <= corner[2] - 1.0
        assert lines


def test_rules_of_two_pacers_are_shortened_before_one_is_left_out():
    rules = [PaceRule(words=f"{who}’s double paces", length_m=1.5) for who in ("AB", "CD")]
    said = words(scale_strip(1500, x=0.0, top=0.0, width=186.0, paces=rules))
    assert "AB’s" in said
    assert "CD’s" in said


def test_a_narrow_blank_has_whole_heads_and_names_its_grid():
    titles = []
    for page in blank("sheet paper A5\n").pages:
        said = words(page.items)
        assert "…" not in said
        titles += re.findall(r"[^.]{0,40}: stations, to be completed(?:, continued)?", said)
        if "stations, to be completed" in said:
            assert " Station " in f" {said} "
        assert "Grid:" in said
    assert titles


def test_a_rule_of_paces_stands_on_the_smallest_paper():
    """Beside the bars of A5, upright: shorter than on A4, as the bars and the check line are."""
    rules = [PaceRule(words="TB’s double paces", length_m=1.53)]
    items = scale_strip(5000, x=0.0, top=0.0, width=124.0, paces=rules)
    assert "TB’s double paces" in words(items)
    assert "check line: 30" in words(items)
    assert not overlaps(items)


def test_rock_that_is_named_has_its_own_pattern_and_no_other_unit_has_it():
    assert rock_of("Hallow Oolite") == "limestone"
    assert rock_of("Hallow Greensand") == "sand"
    units = found().log.units
    given = unit_patterns(units, {})
    assert given["Ol"].name == "limestone"
    assert given["Gl"].name == "sand"
    assert given["Bc"].name not in NUMBERS


def test_the_column_of_a_copy_has_the_patterns_of_its_sheet():
    log = found()
    pages = compose_grey(
        map_ground(log.trav), log.diagnostics, template=read_template("field").value, mark="x", report=True
    ).value.pages
    fills = {}
    for page in pages:
        for one in flat(page.items):
            if isinstance(one, Path) and one.unit is not None and isinstance(one.fill, Tile):
                fills.setdefault(one.unit, set()).add(one.fill.name)
    assert fills
    assert all(len(names) == 1 for names in fills.values())


def test_a_section_alone_names_every_line_that_it_draws():
    log = found()
    document = compose(
        map_ground(log.trav), log.diagnostics, template=read_template("section").value, mark="x"
    ).value
    said = words(document.pages[0].items)
    for name in ("contact at depth", "eroded, above ground", "walked", "apparent dip"):
        assert name in said


def test_the_band_of_a_projected_trace_has_its_row():
    from traverse.sheet.signs.symbols import SIGNS

    assert any(one.fill == PROJECTED_BAND for one in SIGNS["projected band"].shapes)
    assert math.isfinite(SIGNS["projected band"].reach)


@pytest.mark.every(2)
@pytest.mark.parametrize(
    ("name", "landscape"),
    some(
        product(["intrusive-bodies", "many-units", "unconformity", "oskerra-valley"], [True, False]),
        [("unconformity", False), ("intrusive-bodies", True)],
    ),
)
def test_letters_on_a_small_map_have_the_names_of_their_units_beside_them(name, landscape):
    """On A5 too, where ages, signs and words on structure give way first."""
    (path,) = logs([name])
    found = once.compiled(path)
    asked = replace(found.log.heading.sheet, paper="A5", landscape=landscape, scale=None)
    log = replace(found.log, heading=replace(found.log.heading, sheet=asked))
    document = compose(
        replace(once.laid(path), log=log),
        found.diagnostics,
        template=read_template("field").value,
        mark="x",
    ).value
    said = re.sub(r"\s+", " ", words(document.pages[0].items))
    for unit in units_on_sheet(log, found.trav.geology):
        assert unit.name in said, unit.name
