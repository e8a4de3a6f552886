"""Blocks of sheet 1: what they say, and that they keep to their width and height."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.sheet.fixture_loop import make
from tests.sheet.pages import assert_inside, overlaps, paths, texts, words
from traverse.ground.records import Traverse
from traverse.log.items import Words, WordsKind
from traverse.log.records import Heading, Log
from traverse.sheet.legend.blocks import closure_block, limits_block, structure_block
from traverse.sheet.legend.title import title_block
from traverse.sheet.legend.unit_legend import UnitRows, units_block
from traverse.sheet.report.column import column_block
from traverse.sheet.signs.colour import unit_styles
from traverse.sheet.signs.sign_list import signs_block
from traverse.sheet.signs.symbols import LINES, SIGNS, symbol
from traverse.structure.form.records import AllRound, FormKind, Other, StructuralForm, Told
from traverse.structure.records import Geology
from traverse.structure.thickness.records import UnitThickness

WIDTH = 76.0


def bare(geology):
    """Nothing seen at all."""
    return Geology(
        attitudes=(),
        contacts=(),
        things=(),
        band=(),
        thicknesses=(),
        bedding_mean=None,
        fold_axis=None,
        planes=(),
        sections=(),
    )


@pytest.fixture(scope="module")
def loop():
    return make()


def all_blocks(log, survey, geology):
    yield title_block(Traverse(log=log, survey=survey, geology=geology), width=WIDTH)
    yield units_block(
        Traverse(log=log, survey=survey, geology=geology), styles=unit_styles(log.units), width=WIDTH
    )
    yield units_block(
        Traverse(log=log, survey=survey, geology=geology),
        styles=unit_styles(log.units),
        rows=UnitRows.SHORT,
        width=WIDTH,
    )
    yield signs_block([*LINES, *SIGNS], Traverse(log=log, survey=survey, geology=geology), width=WIDTH)
    yield structure_block(geology, width=WIDTH, reported=True)
    yield closure_block(Traverse(log=log, survey=survey, geology=geology), width=WIDTH, reported=True)
    yield limits_block(Traverse(log=log, survey=survey, geology=geology), width=WIDTH)


def test_blocks_keep_to_their_width_and_height(loop):
    for block in all_blocks(*loop):
        assert_inside(block.items, -0.3, -block.height, WIDTH + 0.3, 0.0)
        assert not overlaps(block.items)


def test_blocks_with_nothing_to_say_are_left_out():
    _, survey, geology = make()
    log = Log(file="x", heading=Heading())
    nothing = bare(geology)
    assert units_block(Traverse(log=log, survey=survey, geology=nothing), styles={}, width=WIDTH) is None
    assert signs_block([], Traverse(log=log, survey=survey, geology=nothing), width=WIDTH) is None
    assert structure_block(nothing, width=WIDTH, reported=True) is None
    assert (
        closure_block(
            Traverse(log=log, survey=replace(survey, legs=(), closures=()), geology=nothing),
            width=WIDTH,
            reported=True,
        )
        is None
    )


@pytest.mark.parametrize("band", [False, True])
def test_a_long_title_stays_on_the_paper(band):
    log, survey, geology = make(title='<b>Long & title "of" words</b> ' * 12)
    block = title_block(Traverse(log=log, survey=survey, geology=geology), band=band, width=WIDTH)
    assert_inside(block.items, 0.0, -block.height, WIDTH, 0.0)
    assert "<b>Long" in words(block.items)
    assert "…" in words(block.items)


def test_the_title_says_when_and_who(loop):
    said = words(title_block(Traverse(log=loop[0], survey=loop[1], geology=loop[2]), width=WIDTH).items)
    for part in (
        "Hollin Dale",
        "Loop 2: overturned syncline",
        "14 July 2026",
        "dry, wind light",
        "Noor Jansen",
    ):
        assert part in said


def test_units_stand_youngest_first_and_only_those_on_the_sheet(loop):
    log, survey, geology = loop
    spare = replace(log.units[0], letters="Zz", name="Never met")
    log = replace(log, units=(log.units[0], spare, *log.units[1:]))
    block = units_block(
        Traverse(log=log, survey=survey, geology=geology), styles=unit_styles(log.units), width=WIDTH
    )
    letters = [word for _, _, word in texts(block.items) if word in {"Qa", "Kp", "Jq", "Jd", "Tv", "Zz"}]
    assert letters == ["Qa", "Kp", "Jq", "Jd", "Tv"]


@pytest.mark.parametrize(
    ("at", "width", "words"), [(2, WIDTH, "Zz not met"), (2, 45.0, None), (0, WIDTH, None), (5, WIDTH, None)]
)
def test_a_unit_of_the_list_between_those_on_the_sheet_that_nobody_met_is_named(loop, at, width, words):
    """Over and under them a list that several days share goes on; where the heading has no room nothing is cut for it."""
    log, survey, geology = loop
    spare = replace(log.units[1], letters="Zz", name="Never met")
    log = replace(log, units=(*log.units[:at], spare, *log.units[at:]))
    trav = Traverse(log=log, survey=survey, geology=geology)
    said = [one for _, _, one in texts(units_block(trav, styles=unit_styles(log.units), width=width).items)]
    assert [one.partition(";")[0] for one in said if "not met" in one] == ([] if words is None else [words])


def test_thickness_is_the_weighted_mean(loop):
    """Three crossings of 24 m with sd 5, 11 and 5: mean 24, sd 1/sqrt(1/25 + 1/121 + 1/25) = 3.4."""
    log, survey, geology = loop
    said = words(
        units_block(
            Traverse(log=log, survey=survey, geology=geology), styles=unit_styles(log.units), width=WIDTH
        ).items
    )
    assert "24 ± 3 m" in said


def test_a_unit_never_crossed_whole_is_at_least_so_thick(loop):
    log, survey, geology = loop
    part = UnitThickness(unit="Jq", true_m=None, sd_m=None, range_m=None, n=0, least_m=13.4)
    geology = replace(geology, unit_thicknesses=(part,))
    for rows in (UnitRows.FULL, UnitRows.CLOSE, UnitRows.SHORT):
        block = units_block(
            Traverse(log=log, survey=survey, geology=geology),
            styles=unit_styles(log.units),
            rows=rows,
            width=WIDTH,
        )
        assert "at least 13 m" in words(block.items)
        assert "±" not in words(block.items)
    column = words(
        column_block(Traverse(log=log, survey=survey, geology=geology), width=130.0, height=170.0).items
    )
    assert "at least 13 m" in column
    assert "±" not in column


def test_signs_are_those_of_the_map_and_no_others(loop):
    """The legend draws a sign by the table that the map drew it from."""
    log, survey, geology = loop
    block = signs_block(
        ["sample", "contact inferred"], Traverse(log=log, survey=survey, geology=geology), width=WIDTH
    )
    said = words(block.items)
    assert "sample" in said
    assert "inferred" in said
    assert "under cover" not in said, "a contact may be inferred where no cover was booked"
    assert "bedding" not in said
    shape = symbol("sample", (0.0, 0.0))[0].commands
    drawn = [one.commands for one in paths(block.items) if len(one.commands) == len(shape)]
    assert any(
        all(
            abs((a[1] - b[1]) - (one[0][1] - shape[0][1])) < 1e-9
            for a, b in zip(one[:-1], shape[:-1], strict=True)
        )
        for one in drawn
    )


def test_closure_in_a_line(loop):
    said = words(
        closure_block(
            Traverse(log=loop[0], survey=loop[1], geology=loop[2]), width=WIDTH, reported=True
        ).items
    )
    for part in (
        "Loop of 17 legs, 949 m",
        "out by 6 m toward 100°",
        "1 in 155",
        "6 m expected",
        "2 m in height",
        "Compass rule",
    ):
        assert part in said
    assert "cannot check the start" in said


@pytest.mark.parametrize(("up_m", "said"), [(12.0, "12 m in height (4 m expected)"), (3.0, "3 m in height.")])
def test_of_a_gap_in_height_that_is_more_it_is_told_what_was_expected(loop, up_m, said):
    log, survey, geology = loop
    one = replace(survey.closures[0], misclosure=replace(survey.closures[0].misclosure, up_m=up_m))
    trav = Traverse(log=log, survey=replace(survey, closures=(one,)), geology=geology)
    assert said in words(closure_block(trav, width=WIDTH, reported=True).items)


def test_a_failed_loop_says_so_and_names_no_rule(loop):
    log, survey, geology = loop
    failed = replace(survey.closures[0], q=80.0, adjusted=False)
    said = words(
        closure_block(
            Traverse(log=log, survey=replace(survey, closures=(failed,)), geology=geology),
            width=WIDTH,
            reported=True,
        ).items
    )
    assert "NOT ADJUSTED: of 200 sound walks none closes worse" in said
    assert "Compass rule" not in said


def test_limits_stand_on_every_sheet(loop):
    """The cautions that the trade prints; figures are computed: 2.2 m and sqrt(2.2² + 6²)."""
    log, survey, geology = loop
    for told in (geology, bare(geology)):
        said = words(limits_block(Traverse(log=log, survey=survey, geology=told), width=WIDTH).items)
        for part in (
            "Not a land survey",
            "boundaries, engineering, excavation, blasting, well siting, rescue or navigation",
            "local rules and the leader’s risk assessment come first",
            "1 m in the loop, 6 m in the grid (1 sd)",
        ):
            assert part in said
    assert "H1, station 8: loose blocks above the path." in words(
        limits_block(Traverse(log=loop[0], survey=loop[1], geology=loop[2]), width=WIDTH).items
    )


def test_many_hazards_are_counted(loop):
    log, survey, geology = loop
    more = tuple(
        Words(address=log.items[0].address, kind=WordsKind.HAZARD, text=f"hazard {n}", span=log.items[0].span)
        for n in range(80)
    )
    block = limits_block(Traverse(log=replace(log, items=more), survey=survey, geology=geology), width=WIDTH)
    assert "50 more hazards" in words(block.items)
    assert block.height < 130.0


def test_without_a_control_no_place_in_the_grid_is_promised(loop):
    log, survey, geology = loop
    local = replace(survey, frame=replace(survey.frame, local=True))
    assert "in the grid" not in words(
        limits_block(Traverse(log=log, survey=local, geology=geology), width=WIDTH).items
    )


@pytest.mark.parametrize(
    ("forms", "closed", "subtitle"),
    [
        ((StructuralForm(kind=FormKind.SYNCLINE, overturned=True),), False, "overturned syncline"),
        (
            (StructuralForm(kind=FormKind.ANTICLINE), StructuralForm(kind=FormKind.ANTICLINE)),
            False,
            "anticline",
        ),
        ((StructuralForm(kind=FormKind.ANTICLINE),), True, "anticline or dome"),
        ((StructuralForm(kind=FormKind.ANTICLINE), StructuralForm(kind=FormKind.SYNCLINE)), False, None),
        ((), False, None),
    ],
)
@pytest.mark.parametrize("band", [False, True])
def test_the_subtitle_names_a_structure_that_was_recognised_and_never_on_the_blank(
    loop, forms, closed, subtitle, band
):
    log, survey, geology = loop
    log = replace(log, heading=replace(log.heading, title="Hollin Dale, loop 2"))
    others = (Other.DOME,) if closed else ()
    told = (Told(finding=AllRound(form=one, others=others), words="Beds dip.") for one in (*forms, None))
    geology = replace(geology, findings=tuple(told))
    width = 190.0 if band else WIDTH
    key = [
        word
        for _, _, word in texts(
            title_block(Traverse(log=log, survey=survey, geology=geology), band=band, width=width).items
        )
    ]
    assert ("Loop 2" if subtitle is None else f"Loop 2: {subtitle}") in key
    blank = title_block(
        Traverse(log=log, survey=survey, geology=geology), band=band, kind="blank", width=width
    )
    assert "Loop 2" in [word for _, _, word in texts(blank.items)]
