"""Column, rose and readings laid flat: measured by arithmetic of their own; nothing where there is nothing to show."""

import math
import re
from dataclasses import replace
from pathlib import Path

import pytest

from tests.sheet.fixture_loop import make
from tests.sheet.pages import assert_inside, overlaps, paths, texts, words
from tests.thorough import some
from traverse.angle import mean_azimuth
from traverse.command.files import LogFiles
from traverse.compile import compile_log, map_ground
from traverse.ground.records import Traverse
from traverse.sheet.compose.compose import compose
from traverse.sheet.paper.page import Box, Tile
from traverse.sheet.paper.style import PENS
from traverse.sheet.report.column import column_block
from traverse.sheet.report.rose_block import rose_block
from traverse.sheet.report.structure_page import structure_pages
from traverse.sheet.template.reading import read_template
from traverse.source import Source
from traverse.structure.readings.rose import rose

FRAME = Box(x=10.0, y=15.0, width=277.0, height=185.0)
CURRENTS = """notation 1
traverse Current Dale
bearings true
attitudes dip-direction
pace MO double 100 m in 65, 66, 66
at 1
  bed 090/30
  crossbed 100/45
  current 20->080
to 2 047 64p +3
  bed 092/31
  crossbed 060/40
  crossbed 050/44
"""
OSKERRA = Path(__file__).parents[3] / "samples" / "oskerra-valley" / "oskerra-valley.trav"


def compiled_beside(path, text):
    """Text compiled as if it stood in a file, with the files beside that."""
    found = compile_log(Source(name=path.name, text=text), load=LogFiles(str(path)).load)
    assert not found.failed
    return found


@pytest.fixture(scope="module")
def oskerra():
    return compiled_beside(OSKERRA, OSKERRA.read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def dale(compile_text):
    return compile_text(CURRENTS)


def compile_text_of(text):
    return compile_log(Source(name="log.trav", text=text), load=None)


def test_units_are_as_thick_on_paper_as_they_were_measured():
    log, survey, geology = make()
    assert geology.thicknesses
    block = column_block(Traverse(log=log, survey=survey, geology=geology), width=130.0, height=170.0)
    scale = int(next(text for _, _, text in texts(block.items) if text.startswith("1:")).split(",")[0][2:])
    heights = {}
    for one in paths(block.items):
        if isinstance(one.fill, Tile):
            ys = [command[2] for command in one.commands if len(command) == 3]
            heights[len(heights)] = max(ys) - min(ys)
    shown = [unit.letters for unit in log.units]
    for index, letters in enumerate(shown):
        mine = [one for one in geology.thicknesses if one.unit == letters]
        if mine:
            weights = [one.sd_m**-2 for one in mine]
            mean = sum(w * one.true_m for w, one in zip(weights, mine, strict=True)) / sum(weights)
            assert heights[index] == pytest.approx(max(6.5, mean * 1000 / scale), rel=1e-6)
        else:
            assert "not measured" in words(block.items)
    # Youngest on top.
    ys = [next(y for _, y, text in texts(block.items) if text == letters) for letters in shown]
    assert ys == sorted(ys, reverse=True)
    assert block.height <= 170.0


def test_nothing_to_show_makes_no_page(compile_text):
    compiled = compile_text("notation 1\ntraverse A\nbearings true\npace MO double 100 m in 65, 66\nat 1\n")
    assert structure_pages(compiled.trav, width=297.0, height=210.0, frame=FRAME) == ()


def test_the_page_stays_in_its_frame_and_no_words_cover_each_other(dale):
    for log, survey, geology in (make(), (dale.log, dale.survey, dale.geology)):
        (page,) = structure_pages(
            Traverse(log=log, survey=survey, geology=geology), width=297.0, height=210.0, frame=FRAME
        )
        assert_inside(page.items, 10.0, 15.0, 287.0, 200.0)
        assert overlaps(page.items) == []


@pytest.mark.thorough
def test_words_cut_on_sheet_1_stand_in_full_on_the_structure_sheet(oskerra):
    """Cut only between sentences, and with the words that name the page where the rest stands."""
    found = oskerra
    document = compose(
        map_ground(found.trav), (), template=read_template("field").value, mark="abc", report=True
    ).value
    page = next(one for one in document.pages if one.title == "Structure")
    first, rest = words(document.pages[0].items), words(page.items)
    assert "More in the report." in first
    assert "structure" in texts(page.items)[0][2]
    sentences = [one.whole.replace("\u00a0", " ") for one in found.geology.findings]
    assert all(one in rest for one in sentences)
    shown = first.partition(" Structure ")[2].partition(" More in the report.")[0]
    # What they rest on stands with the rest, on the structure sheet.
    kept = [said for one in found.geology.findings if (said := one.words.replace("\u00a0", " ")) in shown]
    assert kept
    assert sorted(shown) == sorted(" ".join(kept))
    assert shown.startswith("An overturned syncline")
    for one in found.geology.reliefs:
        assert f"relief at least {one.relief_m:.0f} m" in rest
    assert overlaps(page.items) == []


def test_a_unit_never_crossed_whole_stays_open_and_fills_no_page(oskerra):
    """The oldest unit is known to be at least 97 m thick, the others 22 and 28 m."""
    found = oskerra
    block = column_block(found.trav, width=130.0, height=170.0)
    said = words(block.items)
    assert "at least 97 m" in said
    assert "open units drawn shorter than they are" in said
    assert [one.pen for one in paths(block.items)].count(PENS["level unknown"]) == 3
    assert block.height <= 170.0


def heads(page):
    """Headings of the blocks with where they stand, left to right and from above."""
    names = ("Structure", "Thickness by unit", "Relief of horizons", "Column", "Currents", "Poles to bedding")
    return {text: (x, y) for x, y, text in texts(page.items) if text in names}


def test_the_net_is_printed_once_in_a_report(oskerra):
    found = oskerra
    document = compose(
        map_ground(found.trav), (), template=read_template("field").value, mark="abc", report=True
    ).value
    assert sum("Poles to bedding" in words(page.items) for page in document.pages) == 1


def test_the_net_makes_no_page_of_its_own(oskerra):
    found = oskerra
    low = replace(FRAME, height=110.0)
    pages = structure_pages(found.trav, width=297.0, height=135.0, frame=low)
    assert "Poles to bedding" not in heads(pages[0])
    assert all(len(heads(page)) > ("Poles to bedding" in heads(page)) for page in pages)


def test_what_the_left_column_can_not_hold_stands_below_a_lower_column_of_units(oskerra):
    """Many readings laid flat: the column of units gives way, and no page is made for them."""
    found = oskerra
    turned = compile_text_of(CURRENTS).geology.restored
    geology = replace(found.geology, restored=turned * 4)
    low = replace(FRAME, height=150.0)
    pages = structure_pages(replace(found.trav, geology=geology), width=297.0, height=175.0, frame=low)
    assert len(pages) == 1
    assert overlaps(pages[0].items) == []
    assert_inside(pages[0].items, 10.0, 15.0, 287.0, 165.0)


def test_what_a_section_can_not_show_is_said_on_the_structure_sheet(compile_text):
    found = compile_text(SHAFT + "section A-A' 010 through 1\n")
    pages = structure_pages(found.trav, width=297.0, height=210.0, frame=FRAME)
    assert "off the strike" in words(pages[0].items)


SHAFT = """notation 1
bearings true
attitudes dip-direction
unit Cc Top ;
unit Bb Middle ;
unit Aa Base ;
at 1
unit Aa
sample A-9
bed 090/30
to 2 090 200m level
along 40m
contact Bb/Aa certain
along 60m
sample S-1 low
along 120m
sample S-2 high
along 140m
contact Cc/Bb certain
at 2
unit Cc
bed 090/30
"""


def test_samples_stand_at_their_level_in_the_unit_as_it_is_drawn(compile_text):
    """A fifth and four fifths up the middle unit, which is the one crossed whole: 50 m at 1:500, 100 mm."""
    found = compile_text(SHAFT)
    block = column_block(found.trav, width=130.0, height=170.0)
    said = words(block.items)
    assert "S-1, 10 m above base" in said
    assert "S-2, 40 m above base" in said
    assert "samples at their level, square to the beds" in said
    bars = [one for one in paths(block.items) if isinstance(one.fill, Tile)]
    low, high = (pick(command[2] for command in bars[1].commands if len(command) == 3) for pick in (min, max))
    ticks = sorted(one.commands[0][2] for one in paths(block.items) if one.pen == PENS["leader"])
    assert [(tick - low) / (high - low) for tick in ticks][-2:] == pytest.approx([0.2, 0.8])


def test_a_sample_without_a_level_stands_beside_its_unit_and_says_so(compile_text):
    text = SHAFT + "to 3 090 90m level\nalong 50m\nfault Cc/Aa certain\nat 3\nunit Aa\nsample B-1\n"
    found = compile_text(text)
    block = column_block(found.trav, width=130.0, height=170.0)
    said = words(block.items)
    assert "sample B-1 beside the unit: level not known" in said
    assert "a sample whose level is not known stands beside its unit" in said


def test_names_stand_in_full_beside_a_column_on_upright_paper(oskerra):
    """Half of an upright A4 page: the bar gives way, and a long name goes on below."""
    block = column_block(oskerra, width=91.0, height=240.0)
    said = words(block.items)
    assert all(unit.name in said for unit in oskerra.log.units)
    assert "m above base" in said
    assert "m below top" in said
    assert_inside(block.items, -0.1, -250.0, 91.1, 0.1)
    assert not overlaps(block.items)


def test_many_samples_of_one_bed_keep_a_line_each(compile_text):
    rows = "".join(f"along {at}m\nsample Q-{at}\n" for at in range(60, 100))
    found = compile_text(SHAFT.replace("along 60m\nsample S-1 low\n", rows))
    block = column_block(found.trav, width=130.0, height=170.0)
    assert overlaps(block.items) == []
    assert_inside(block.items, 0.0, -175.0, 130.0, 1.0)


def test_currents_are_counted_as_they_were_when_the_beds_were_flat(dale):
    """A bed 090/30 and a cross-bed 100/45 in it: the normal of the cross-bed turned back about the strike by 30."""
    dip, way = math.radians(45.0), math.radians(100.0)
    east, north, up = math.sin(dip) * math.sin(way), math.sin(dip) * math.cos(way), math.cos(dip)
    back = math.radians(-30.0)
    # The bed strikes north, so the turn is in the plane of east and up.
    east, up = east * math.cos(back) + up * math.sin(back), up * math.cos(back) - east * math.sin(back)
    expected = math.degrees(math.atan2(east, north)) % 360.0
    assert any(abs(one.direction_deg - expected) < 0.01 for one in dale.geology.restored)
    assert sum(dale.geology.rose.counts) == 4
    assert "n = 4" in words(rose_block(dale.geology.rose, width=130.0).items)


def test_a_rose_of_two_readings_is_a_list(dale):
    few = rose(dale.geology.attitudes[:3], dale.geology.restored[:2])
    assert few.n == 2
    assert rose_block(few, width=130.0) is None


def test_currents_that_cancel_have_no_mean_on_the_rose(compile_text):
    text = "notation 1\nbearings true\nat 1\n" + "".join(f"current {one:03d}\n" for one in (0, 120, 240))
    said = words(rose_block(compile_text(text).geology.rose, width=130.0).items)
    assert "agreement 0.00 (1: all one way)" in said
    assert "mean toward" not in said


def test_vector_mean_of_the_ring_is_nothing_and_of_one_is_itself():
    assert mean_azimuth([0.0, 120.0, 240.0])[1] == pytest.approx(0.0, abs=1e-12)
    assert mean_azimuth([200.0]) == pytest.approx((200.0, 1.0))


@pytest.mark.parametrize("nasty", ["<b>&\"'", "x" * 300])
def test_nasty_words_do_not_leave_the_page(nasty):
    log, survey, geology = make()
    log = replace(log, units=tuple(replace(unit, name=nasty) for unit in log.units))
    (page,) = structure_pages(
        Traverse(log=log, survey=survey, geology=geology), width=297.0, height=210.0, frame=FRAME
    )
    assert_inside(page.items, 10.0, 15.0, 287.0, 200.0)


@pytest.mark.thorough
def test_upright_paper_keeps_the_scale_and_gives_words_away():
    """The walk and its section are 178 mm wide at 1:2500, and Letter upright has 191 mm for the map.

    The borders of its alluvium are read here: those drawn square to the walk are told in a line under the map.
    """
    known = re.sub(r"(contact Qa/\w+ \w+)", r"\1 090/80", OSKERRA.read_text(encoding="utf-8"))
    lines = known.splitlines()
    text = "\n".join(
        "sheet paper Letter portrait band 20 m" if one.startswith("sheet ") else one for one in lines
    )
    found = compiled_beside(OSKERRA, text)
    document = compose(
        map_ground(found.trav), (), template=read_template("field").value, mark="abc", report=True
    ).value
    first = words(document.pages[0].items)
    assert "1:2500" in first
    assert "An overturned syncline, its overturned limb on the west" in first
    assert "More in the report." in first
    assert "Lower Cretaceous" in first
    assert "at least 13 m" in first
    assert "Structure" in [page.title for page in document.pages]


@pytest.mark.every(2)
@pytest.mark.parametrize(
    "paper",
    some(
        ["A4 portrait", "Letter portrait", "A5 portrait", "A5 landscape", "A4 landscape"],
        ["A5 portrait", "A4 landscape"],
    ),
)
def test_the_foot_line_takes_shorter_words_and_is_not_cut(compile_text, paper):
    path = Path(__file__).parents[3] / "samples" / "copperjar-wash" / "copperjar-wash.trav"
    text = path.read_text(encoding="utf-8")
    found = compile_text(
        "\n".join(f"sheet paper {paper}" if one.startswith("sheet ") else one for one in text.splitlines())
    )
    document = compose(
        map_ground(found.trav), (), template=read_template("field").value, mark="abc", report=True
    ).value
    (foot,) = [
        text for _, _, text in texts(document.pages[-1].items) if "EPSG:26912" in text and "+ 10.5°" in text
    ]
    assert "…" not in foot
    for part in ("Heights: above sea level", "agnetic + 10.5°", "Attitudes: "):
        assert part in foot


def test_the_column_draws_each_rock_by_its_name_and_a_wave_where_beds_were_worn_off():
    """Two conglomerates and two shales: none is ruled as another rock, however many there are of one."""
    text = Path(__file__).parents[2] / "reference" / "logs" / "unconformity.trav"
    words = text.read_text(encoding="utf-8").replace("Brae Slate", "Upper Tuff")
    found = compile_text_of(words)
    block = column_block(found.trav, width=130.0, height=170.0)
    fills = [one.fill for one in paths(block.items) if isinstance(one.fill, Tile)]
    names = ["basalt", "gravel", "basalt", "sand", "basalt"]
    assert [one.name for one in fills] == names
    waves = [one for one in paths(block.items) if one.pen and one.fill is None and len(one.commands) > 6]
    assert len(waves) == 1


def test_a_loose_deposit_stands_on_worn_edges_whatever_the_walk_met_under_it():
    """Alluvium was met on the clay alone; in the column it lies on the chalk, which it never met."""
    found = compile_text_of(
        "notation 1\nbearings true\nattitudes dip-direction\nunit Qa Alluvium ; Holocene\nunit Ed Chalk ; Cretaceous\n"
        "unit Ec Clay ; Jurassic\nat 1\n  unit Ed\n  bed 270/36\nto 2 090 100m\nalong 60m\n  contact Ed/Ec certain\n"
        "at 2\n  unit Ec\n  bed 270/36\nto 3 090 100m\nalong 50m\n  contact Qa/Ec approximate\nat 3\n  unit Qa\n"
    )
    block = column_block(found.trav, width=130.0, height=170.0)
    waves = [one for one in paths(block.items) if one.pen and one.fill is None and len(one.commands) > 6]
    assert len(waves) == 1


def test_a_thickness_of_two_parts_stays_beside_its_column(oskerra, monkeypatch):
    """It is wrapped in the room at the left of the bar, and runs out of no column."""
    said = "5–27 m; at least 29 m elsewhere"
    told = iter(["", "13 m", "20 m", said])
    monkeypatch.setattr("traverse.sheet.report.column.thickness_words", lambda *_: next(told, ""))
    block = column_block(oskerra, width=91.0, height=240.0)
    assert said not in [one for _, _, one in texts(block.items)]
    assert "elsewhere" in words(block.items)
    assert_inside(block.items, -0.1, -250.0, 91.1, 0.1)
    assert not overlaps(block.items)


@pytest.mark.every(2)
@pytest.mark.parametrize(
    ("report", "tables", "more", "told"),
    [
        (False, False, "more in the log’s report", True),
        (False, True, "more on sheet 2", False),
        (True, True, "More in the report.", False),
    ],
)
def test_words_that_sheet_1_has_no_room_for_stand_on_a_later_one_or_are_told_with_the_option(
    report, tables, more, told
):
    """The paper says that there is more, and where; on stderr, what prints it."""
    path = Path(__file__).parents[2] / "reference" / "logs" / "unconformity.trav"
    # One section, which sheet 1 has.
    found = compiled_beside(path, re.sub("(?m)^section B.*\n", "", path.read_text(encoding="utf-8")))
    template = read_template("field").value
    made = compose(
        map_ground(found.trav),
        found.diagnostics,
        template=template if tables else replace(template, show=template.show - {"tables"}),
        mark="abc123",
        report=report,
    )
    first, *later = (words(one.items) for one in made.value.pages)
    assert more in first
    whole = [one.whole.replace("\u00a0", " ") for one in found.geology.findings]
    assert any(all(one in page for one in whole) for page in later) is not told
    said = [one for one in made.diagnostics if one.code == "words-left-out"]
    assert [("structure" in one.message, any("--report" in hint for hint in one.hints)) for one in said] == [
        (True, True)
    ] * told
