"""The section strip: scale, slopes and places by arithmetic of their own; lines that stop where they should."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from types import SimpleNamespace

import pytest
from shapely import LineString, Polygon

from tests import once
from tests.sheet.fixture_loop import make
from tests.sheet.opened import opened
from tests.sheet.pages import assert_inside, flat, overlaps, paths, texts, words
from traverse.ground.records import Evidence, EvidenceRun, Traverse
from traverse.log.items import PlaneKind
from traverse.log.records import Projection
from traverse.sheet.paper.labels import shape_of_text, spread
from traverse.sheet.paper.page import Box, Face, Text
from traverse.sheet.paper.style import PENS
from traverse.sheet.section.note import LeftOff, caption
from traverse.sheet.section.point_names import NamesLeftOff
from traverse.sheet.section.strip import (
    ROOM_ABOVE_MM,
    ROOM_BESIDE_MM,
    _depth_limit,
    room_below_mm,
    section_panel,
    signs_in_section,
    wanted_height_mm,
)
from traverse.sheet.signs.colour import unit_styles
from traverse.sheet.signs.symbols import SIGNS
from traverse.structure.section.records import NOTHING_CARRIED, PointKind

BOX = Box(x=26.0, y=40.0, width=174.4, height=50.0)


@pytest.fixture(scope="module")
def loop():
    return make()


def panel(loop, *, scale=2500, box=BOX, lines=1, **changes):
    log, survey, geology = loop
    section = replace(geology.sections[0], **changes)
    trav = Traverse(log=log, survey=survey, geology=geology)
    return section_panel(
        opened(section, trav),
        trav,
        box=box,
        scale=scale,
        styles=unit_styles(log.units),
        lines=lines,
    ).items


def tick_lines(items):
    """Middle and slope (rise to the right over run) of every apparent-dip tick."""
    found = []
    for one in paths(items):
        # The ground is drawn as heavy as a tick, but in more than one piece.
        if (
            one.pen in {PENS["apparent dip"], PENS["apparent dip carried"], PENS["apparent dip far"]}
            and len(one.commands) == 2
        ):
            (_, x0, y0), (_, x1, y1) = one.commands
            found.append((((x0 + x1) / 2, (y0 + y1) / 2), math.degrees(math.atan2(y1 - y0, x1 - x0))))
    return found


@pytest.mark.every(2)
@pytest.mark.parametrize("exaggeration", [1.0, 2.0, 3.0])
def test_ticks_stand_at_their_place_and_slope(loop, exaggeration):
    """Place by scale; slope by tan d' = VE tan d, down to the right for a positive apparent dip."""
    _, _, geology = loop
    items = panel(loop, exaggeration=exaggeration, box=Box(x=26.0, y=40.0, width=174.4, height=120.0))
    ticks = tick_lines(items)
    beds = [one for one in geology.sections[0].points if one.kind is PointKind.ATTITUDE]
    assert len(ticks) == len(beds)
    heights = {}
    for (x, y), slope in ticks:
        near = [one for one in beds if abs(26.0 + one.distance_m * 0.4 - x) < 0.01]
        assert near, "a tick that stands at no reading"
        expected = [
            -math.degrees(math.atan(exaggeration * math.tan(math.radians(one.apparent_dip_deg))))
            for one in near
        ]
        assert min(abs((slope - one + 90.0) % 180.0 - 90.0) for one in expected) < 0.01
        heights[near[0].label] = (near[0].up_m, y)
    # Differences of height on paper are 0.4 mm a metre, times the exaggeration.
    (first_up, first_y), *rest = heights.values()
    for up, y in rest:
        assert y - first_y == pytest.approx(exaggeration * 0.4 * (up - first_up), abs=1e-6)


def test_axes_are_true_to_scale(loop):
    """Figures of distance and height stand 1:2500 apart, to 0.1 %."""
    items = panel(loop)
    found = {one.text.replace("\u00a0m", ""): one for one in flat(items) if isinstance(one, Text)}
    assert found["400"].at[0] - found["100"].at[0] == pytest.approx(300 * 0.4, rel=1e-3)
    assert found["1180"].at[1] - found["1100"].at[1] == pytest.approx(80 * 0.4, rel=1e-3)


def test_ends_are_lettered_with_the_way_they_look(loop):
    """Line from (612330, 5214346) to (612766, 5214301): grid azimuth 95.9, true 97.0 here; the first end looks back."""
    said = words(panel(loop))
    for part in ("A ", "W 277°", "A′", "E 097°", "Section 1:2500, no vertical exaggeration"):
        assert part in said


def test_exaggeration_is_said_with_what_it_does(loop):
    said = words(panel(loop, exaggeration=2.0))
    assert "vertical exaggeration ×2: dips drawn steeper, thicknesses not true" in said


@pytest.mark.parametrize(
    ("projection", "said"),
    [
        (Projection.PLUNGE, "down the plunge of the axis (8° → 187°)"),
        (Projection.STRIKE, "along strike"),
        (Projection.SQUARE, "square to the line"),
    ],
)
def test_the_way_of_carrying_is_said(loop, projection, said):
    assert said in words(panel(loop, projection=projection))


@pytest.mark.in_turn
@pytest.mark.parametrize("scale", [1000, 2500, 5000, 10_000])
@pytest.mark.parametrize("height", [24.0, 50.0, 90.0])
def test_nothing_leaves_the_room_that_is_stated(loop, scale, height):
    box = Box(x=26.0, y=40.0, width=174.4, height=height)
    items = panel(loop, scale=scale, box=box)
    wide = 438.3 * 1000.0 / scale
    side = max(ROOM_BESIDE_MM, 95.0 - wide / 2, 12.0)
    assert_inside(
        items,
        26.0 - side,
        40.0 - room_below_mm(1),
        26.0 + max(wide, 174.4) + side,
        40.0 + height + ROOM_ABOVE_MM + 1.0,
    )


def test_names_do_not_cover_each_other(loop):
    for scale in (2500, 5000, 10_000):
        names = [
            one for one in flat(panel(loop, scale=scale)) if isinstance(one, Text) and one.face is Face.BOLD
        ]
        assert not overlaps(names)


def test_where_names_have_no_room_with_how_far_they_were_carried_they_stand_without(loop):
    """On a handout a place without its name can't be worked with; how far it was carried can be measured."""
    items = panel(loop, scale=5000)
    section = loop[2].sections[0]
    named = {one.text for one in flat(items) if isinstance(one, Text) and one.face is Face.BOLD}
    assert {point.label for point in section.points if point.is_bed} <= named
    said = words(items)
    assert "Left off: how far some were carried" in said
    assert "station name" not in said


LEFT = LeftOff(of_names=NamesLeftOff(names=7, distances=2), ticks=1, figures=3, axial=1)


def test_what_is_left_off_stands_in_every_form_of_the_note(loop):
    """However narrow the paper: the last is what is cut where nothing else fits."""
    log, survey, geology = loop
    trav = Traverse(log=log, survey=survey, geology=geology)
    note = caption(geology.sections[0], trav, 5000, LEFT, made=["contacts drawn"], limits=["A.", "B: c."])
    told = (*note.whole, *note.less)
    assert all(one.endswith((LEFT.words, LEFT.briefly)) for one in told)
    # Nor is it left open how places came on to the section, but where what is left off would be cut for it.
    assert all(". Stations carried " in one or ". Carried " in one for one in told[:-1])
    assert LEFT.briefly == " 7 names, 1 reading, 3 dips, 1 change of dip, some distances left off."


def test_what_a_note_leaves_out_is_told_elsewhere_and_never_by_how_much_heights_may_be_off(loop):
    """On narrow paper `± 17 m` and what white ground is went first, and stood nowhere else."""
    log, survey, geology = loop
    trav = Traverse(log=log, survey=survey, geology=geology)
    section = geology.sections[0]
    profile = tuple(replace(one, off_m=40.0, sd_m=17.0) for one in section.profile)
    note = caption(
        replace(section, profile=profile),
        trav,
        5000,
        LEFT,
        limits=["A.", "B: c."],
        white_over_m=10.0,
        more="More.",
    )
    assert all("17\u00a0m" in one and "10\u00a0m" in one for one in (*note.whole, *note.less, note.in_full))
    assert all("A. B: c." in one for one in (*note.whole, note.in_full))
    assert not [one for one in note.whole if one.endswith("More.")]
    assert all(one.endswith(" More.") for one in note.less)
    assert note.in_full.startswith("Section A–A′: ")


def test_a_note_takes_as_many_lines_as_it_is_given_and_no_more(loop):
    """The fullest that they hold, each no wider than the one."""
    tall = section_caption(panel(loop, scale=5000, lines=3))
    (low,) = section_caption(panel(loop, scale=5000, lines=1))
    assert 1 < len(tall) <= 3
    assert len(" ".join(one.text for one in tall)) > len(low.text)
    assert low.at[1] - tall[-1].at[1] <= room_below_mm(3) - room_below_mm(1) + 1e-6


def section_caption(items):
    """The lines under the axis of distances."""
    return [one for one in flat(items) if isinstance(one, Text) and one.at[1] < BOX.y - 6.0]


def test_names_that_find_no_room_are_counted(loop):
    assert re.search(r"\d+ (station )?names", words(panel(loop, scale=10_000)))


def test_without_heights_there_is_no_height_axis():
    items = panel(make(heights=False), box=Box(x=26.0, y=40.0, width=174.4, height=24.0))
    said = words(items)
    assert "no heights measured" in said
    assert "1160" not in said
    assert len(tick_lines(items)) == 14


def test_colour_stays_within_the_ground_and_its_depth(loop):
    """Filled ground lies between the profile and 20 m below it, nowhere else, and never twice."""
    log, _, geology = loop
    styles = unit_styles(log.units)
    colours = {style.colour for style in styles.values()}
    items = panel(loop)
    areas = [
        Polygon([command[1:] for command in one.commands if command[0] != "Z"]).buffer(0.0)
        for one in paths(items)
        if one.fill in colours and one.pen is None
    ]
    assert len(areas) > 6
    profile = [(26.0 + one.distance_m * 0.4, one.up_m) for one in geology.sections[0].profile]
    base = 40.0
    top_figure = next(
        one for one in flat(items) if isinstance(one, Text) and one.text.split("\u00a0")[0] == "1100"
    )
    zero = top_figure.at[1] + 0.85 - 1100 * 0.4
    assert base <= zero + 1200 * 0.4
    ground = [(x, zero + up * 0.4) for x, up in profile]
    band = Polygon([*ground, *((x, y - 8.0) for x, y in reversed(ground))]).buffer(0.6)
    window = Polygon([(26, 0), (26 + 174, 0), (26 + 174, 300), (26, 300)])
    for area in areas:
        assert area.intersection(window).difference(band).area < 0.6


def test_the_legend_is_told_of_ticks(loop):
    assert "apparent dip" in signs_in_section(panel(loop))
    assert "apparent dip" not in signs_in_section(panel(loop, points=()))


def test_height_asked_for_holds_relief_and_a_unit(loop):
    """Relief 43 m and as much again with a unit below, at 0.4 mm a metre."""
    log, survey, geology = loop
    trav = Traverse(log=log, survey=survey, geology=geology)
    height = wanted_height_mm(geology.sections[0], trav, scale=2500)
    assert 40.0 < height < 70.0


@pytest.mark.every(3)
@pytest.mark.parametrize("tall", [24.0, 36.0])
@pytest.mark.parametrize("exaggeration", [2.0, 3.0, 5.0])
def test_ground_stays_in_its_frame_however_much_it_is_exaggerated(loop, exaggeration, tall):
    """Relief 43 m: 17 mm at 1:2500, 86 at five times."""
    low = replace(BOX, height=tall)
    items = panel(loop, exaggeration=exaggeration, box=low)
    ground = max(
        (one for one in paths(items) if one.pen == PENS["ground profile"]), key=lambda one: len(one.commands)
    )
    assert len(ground.commands) == len(loop[2].sections[0].profile)
    assert all(low.y - 1e-6 <= command[-1] <= low.top + 1e-6 for command in ground.commands)


@pytest.mark.parametrize("scale", [500, 1000, 2500, 10_000, 50_000])
def test_however_flat_the_ground_a_section_is_36_mm_high(loop, scale):
    log, survey, geology = loop
    section = geology.sections[0]
    flat = tuple(replace(point, up_m=1150.0 + 0.001 * point.distance_m) for point in section.profile)
    low = replace(section, profile=flat, points=())
    trav = Traverse(log=log, survey=survey, geology=replace(geology, thicknesses=()))
    assert wanted_height_mm(low, trav, scale=scale) >= 36.0


@pytest.mark.parametrize(
    ("places", "width"),
    [([], 1.0), ([5.0], 4.0), ([1.0, 1.0, 1.0], 4.0), ([0.0, 30.0], 4.0), ([29.0, 29.5, 30.0, 30.0], 5.0)],
)
def test_spread_keeps_order_and_distance(places, width):
    moved = spread(places, [width] * len(places), low=0.0, high=30.0)
    assert len(moved) == len(places)
    assert all(b - a >= width - 1e-9 for a, b in pairwise(moved))
    assert all(-1e-9 <= one <= 30.0 + 1e-9 for one in moved)


def test_stations_are_named_with_metres_and_side(loop):
    said = words(panel(loop))
    carried = next(
        one for one in loop[2].sections[0].points if one.kind is PointKind.ATTITUDE and one.label == "8"
    )
    assert carried.carried_m < 0
    assert f"{abs(round(carried.carried_m))} m N" in said
    assert [word for _, _, word in texts(panel(loop)) if word == "12a"] == ["12a"]


@pytest.mark.parametrize(
    ("kind", "sign"),
    [
        (PlaneKind.CLEAVAGE, "cleavage in section"),
        (PlaneKind.FOLIATION, "foliation in section"),
        (PlaneKind.JOINT, "joint in section"),
    ],
)
def test_cleavage_and_joints_stand_at_their_place_and_slope_thinner_than_beds(loop, kind, sign):
    """Place by scale, slope by tan d' = VE tan d; the legend is told."""
    _, _, geology = loop
    section = geology.sections[0]
    bed = next(one for one in section.points if one.kind is PointKind.ATTITUDE)
    other = replace(
        bed, distance_m=200.0, apparent_dip_deg=-40.0, up_m=1120.0, attitude=replace(bed.attitude, kind=kind)
    )
    items = panel(
        loop,
        points=(*section.points, other),
        exaggeration=2.0,
        box=Box(x=26.0, y=40.0, width=174.4, height=120.0),
    )
    (line,) = [one for one in paths(items) if one.pen == PENS["plane in section"] and len(one.commands) == 2]
    (_, x0, y0), (_, x1, y1) = line.commands
    assert (x0 + x1) / 2 == pytest.approx(26.0 + 200.0 * 0.4)
    assert math.degrees(math.atan2(y1 - y0, x1 - x0)) % 180.0 == pytest.approx(
        math.degrees(math.atan(2.0 * math.tan(math.radians(40.0))))
    )
    told = signs_in_section(items)
    assert [one for one in told if one in SIGNS] == ["apparent dip", sign]


@pytest.mark.every(3)
@pytest.mark.parametrize(
    ("times", "dip", "drawn"),
    [(2, 10, 19), (2, 20, 36), (2, 30, 49), (2, 45, 63), (3, 10, 28), (3, 30, 60), (5, 10, 41), (5, 30, 71)],
)
def test_an_exaggerated_dip_is_drawn_as_steep_as_the_table_says(loop, times, dip, drawn):
    """Dips as drawn at 2, 3 and 5 times the height: common practice, no source; computed from tan d' = VE tan d."""
    log, survey, geology = loop
    section = geology.sections[0]
    bed = next(one for one in section.points if one.kind is PointKind.ATTITUDE)
    alone = replace(
        section,
        exaggeration=float(times),
        points=(replace(bed, apparent_dip_deg=float(dip)),),
        construction=NOTHING_CARRIED,
    )
    high = replace(BOX, height=120.0)
    ((_, slope),) = tick_lines(panel((log, survey, replace(geology, sections=(alone,))), box=high))
    assert -slope % 180.0 == pytest.approx(drawn, abs=0.6)


def test_each_word_over_the_bar_stands_over_a_stretch_of_its_own(loop):
    """Walked to 60 m and from 400 m on, carried in between for 20 m: an empty bar between would explain nothing."""
    log, survey, geology = loop
    section = geology.sections[0]
    trav = Traverse(log=log, survey=survey, geology=geology)
    metres = section.length_m
    runs = [(Evidence.WALKED, 0.0, 60.0), (Evidence.CARRIED, 60.0, 80.0), (Evidence.WALKED, 400.0, metres)]
    cut = replace(
        opened(section, trav),
        evidence=tuple(EvidenceRun(evidence=one, start_m=start, end_m=end) for one, start, end in runs),
    )
    items = section_panel(cut, trav, box=BOX, scale=2500, styles=unit_styles(log.units)).items
    said = (one for one in flat(items) if isinstance(one, Text) and one.text in EVIDENCE_WORDS)
    at = {one.text: (one.at[0] - BOX.x) * 2.5 for one in said}
    assert at.keys() == EVIDENCE_WORDS
    assert 40.0 < at["carried"] < 100.0
    assert 80.0 < at["nothing seen or carried"] < 400.0
    assert not 60.0 < at["walked"] < 400.0


def test_no_word_over_the_bar_stands_on_a_ruled_line(loop):
    log, survey, geology = loop
    trav = Traverse(log=log, survey=survey, geology=geology)
    cut = opened(geology.sections[0], trav)
    items = section_panel(cut, trav, box=BOX, scale=2500, styles={}, ruled=True).items
    rules = [
        LineString([command[1:3] for command in one.commands])
        for one in paths(items)
        if one.pen == PENS["ruling"]
    ]
    words_there = [one for one in flat(items) if isinstance(one, Text) and one.text in EVIDENCE_WORDS]
    assert words_there
    assert len(rules) > 5
    assert not [one.text for one in words_there for rule in rules if rule.intersects(shape_of_text(one))]


EVIDENCE_WORDS = {"walked", "carried", "nothing seen or carried"}


def test_a_section_of_level_beds_is_no_deeper_than_what_is_drawn():
    """On 60 m of relief; the lowest contact lies 5 m under the lowest ground, and colour goes to 15 m."""
    line = SimpleNamespace(pieces=(SimpleNamespace(points=((0.0, -5.0), (300.0, -5.0))),))
    section = SimpleNamespace(
        profile=[SimpleNamespace(up_m=up_m) for up_m in (0.0, 60.0, 10.0)],
        depth_m=None,
        bodies=(),
        levels=("any",),
        points=[SimpleNamespace(up_m=2.0), SimpleNamespace(up_m=None)],
        construction=SimpleNamespace(lines=(line,)),
    )
    geology = SimpleNamespace(thicknesses=[])
    assert _depth_limit(section, geology, 15.0) == -15.0
    section.points.append(SimpleNamespace(up_m=-22.0))
    assert _depth_limit(section, geology, 15.0) == -22.0
    # Dipping beds go on below.
    section.levels = ()
    assert _depth_limit(section, geology, 15.0) == -75.0


@pytest.mark.parametrize("kind", ["key", "grey"])
def test_how_contacts_were_drawn_stands_on_the_key_as_on_its_copy(kind):
    """A triangle of white under the beds had room for it in one width of lines and not in the widths that were tried."""
    path = Path(__file__).parents[3] / "samples" / "copperjar-wash" / "copperjar-wash.trav"
    said = " ".join(words(once.drawn(path, kind).pages[0].items).split())
    assert "contacts drawn on planes of one gentle dip" in said
