"""Constructed contacts on the section: where they are drawn, in which pen, and colour on the side they say."""

import math
from dataclasses import replace

import pytest
from shapely import LineString, Point, Polygon
from shapely import box as shapely_box

from tests.reference.drawn import logs
from tests.sheet.fixture_loop import make
from tests.sheet.opened import opened
from tests.sheet.pages import box as text_box
from tests.sheet.pages import flat, paths, texts, words
from traverse.compile import compile_log
from traverse.ground.records import Traverse
from traverse.log.items import Certainty
from traverse.sheet.paper.page import Box, Group, Text
from traverse.sheet.paper.style import PENS
from traverse.sheet.section.construction import _words
from traverse.sheet.section.strip import section_panel
from traverse.sheet.signs.colour import unit_styles
from traverse.source import Source
from traverse.structure.section.records import (
    AxialLine,
    CarryRule,
    ConstructedLine,
    Construction,
    LinePiece,
    PointKind,
    ProfilePoint,
)

BOX = Box(x=26.0, y=40.0, width=160.0, height=60.0)
GROUND_M, LONG_M = 1150.0, 400.0


@pytest.fixture(scope="module")
def loop():
    return make()


def line(pieces, *, younger="Jq", older="Jd", kind=PointKind.CONTACT, **more):
    found = tuple(LinePiece(eroded=style == "above", points=tuple(points)) for style, *points in pieces)
    outcrops = [points for style, *points in pieces if style == "ground"]
    return ConstructedLine(
        kind=kind,
        younger=younger,
        older=older,
        certainty=None,
        queried=False,
        contacts=(),
        outcrops=tuple(dict.fromkeys(p for points in outcrops for p in points if p[1] == GROUND_M)),
        pieces=found,
        **more,
    )


def trough():
    """Beds down at 45 degrees from 100 m to 200 m along and up again to 300 m: 1050 m at the foot, young inside."""
    return line(
        [
            ("ground", (100.0, GROUND_M), (120.0, 1130.0)),
            ("depth", (120.0, 1130.0), (200.0, 1050.0), (280.0, 1130.0)),
            ("ground", (280.0, 1130.0), (300.0, GROUND_M)),
        ]
    )


def panel(
    loop,
    lines,
    *,
    axial=(),
    rule=CarryRule.DIP_DOMAINS,
    sentences=(),
    units=("Jd", "Jq", "Jd"),
    factor=1.0,
    box=BOX,
    known=(None, None),
):
    """Level ground at 1150 m with borders at 100 and 300 m, where a contact was met as well `known` as that."""
    log, survey, geology = loop
    first, second, third = units
    seen = next(one for one in geology.sections[0].points if one.kind is PointKind.CONTACT)
    contacts = [replace(seen.contact, younger="Jq", older="Jd", certainty=one) for one in known]
    lines = [replace(one, contacts=tuple(contacts)) for one in lines]
    points = tuple(
        replace(seen, distance_m=at, up_m=GROUND_M, contact=contact)
        for at, contact in zip((97.0, 304.0), contacts, strict=True)
    )
    profile = tuple(
        ProfilePoint(distance_m=at, up_m=GROUND_M, unit=first if at < 100 else second if at < 300 else third)
        for at in (float(step) for step in range(0, 401, 4))
    )
    section = replace(
        geology.sections[0],
        length_m=LONG_M,
        profile=profile,
        points=points,
        bends_m=(),
        depth_m=140.0,
        exaggeration=factor,
        construction=Construction(rule=rule, lines=tuple(lines), axial=tuple(axial), sentences=sentences),
    )
    # Of an invented construction over this ground: what the walk itself saw is left out.
    trav = Traverse(log=log, survey=survey, geology=replace(geology, band=()))
    return section_panel(
        opened(section, trav),
        trav,
        box=box,
        scale=2500,
        styles=unit_styles(log.units),
    ).items


def frame(items):
    """Metres to the page, read off the figures of the axes: 0.4 mm a metre."""
    zero = next(y for _, y, text in texts(items) if text.split("\u00a0")[0] == "1140") + 0.85 - 1140 * 0.4
    return lambda d, up: (26.0 + 0.4 * d, zero + 0.4 * up)


def coloured(items, loop, unit):
    colour = unit_styles(loop[0].units)[unit].colour
    shapes = [
        Polygon([command[1:] for command in one.commands if command[0] != "Z"]).buffer(0.0)
        for group in items
        if isinstance(group, Group) and group.clip is not None
        for one in paths(group.items)
        if one.fill == colour
    ]
    return lambda at: any(shape.contains(Point(at)) for shape in shapes)


def drawn(items, pen):
    return [LineString([c[1:] for c in one.commands]) for one in paths(items) if one.pen == PENS[pen]]


def test_an_unconformity_is_a_wave_about_its_line(loop):
    base = replace(trough(), kind=PointKind.UNCONFORMITY)
    items = panel(loop, [base])
    at = frame(items)
    assert not drawn(items, "contact in section")
    near = drawn(items, "unconformity in section")
    straight = LineString([at(100, GROUND_M), at(120, 1130)])
    off = [Point(one).distance(straight) for wave in near for one in wave.coords if one[0] < at(150, 0)[0]]
    assert max(off) == pytest.approx(0.5, abs=0.05)


def test_lines_lie_where_they_were_constructed_solid_near_the_ground_and_dashed_below(loop):
    items = panel(loop, [trough()])
    at = frame(items)
    near = drawn(items, "contact in section")
    deep = drawn(items, "section depth")
    for distance, up in ((102, 1148), (118, 1132), (290, 1140)):
        assert min(one.distance(Point(at(distance, up))) for one in near) < 0.05
    for distance, up in ((130, 1120), (200, 1050), (260, 1110)):
        assert min(one.distance(Point(at(distance, up))) for one in deep) < 0.05
    # 20 m down at 45 degrees are 28.3 m of line on either side, 0.4 mm a metre.
    assert sum(one.length for one in near) == pytest.approx(2 * 20 * math.sqrt(2) * 0.4, abs=0.1)


def test_each_end_of_a_line_is_drawn_as_well_known_as_it_was_met_there(loop):
    """A trough met certain at 100 m and inferred at 300 m: solid on the first limb, dashed on the second."""
    items = panel(loop, [trough()], known=(Certainty.CERTAIN, Certainty.INFERRED))
    at = frame(items)
    (certain,), (inferred,) = drawn(items, "contact in section"), drawn(items, "contact inferred")
    assert certain.distance(Point(at(110, 1140))) < 0.05
    assert inferred.distance(Point(at(290, 1140))) < 0.05


def test_colour_changes_at_the_line_and_not_below_the_border(loop):
    items = panel(loop, [trough()])
    at = frame(items)
    young, old = coloured(items, loop, "Jq"), coloured(items, loop, "Jd")
    for distance, up, is_young in (
        (104, 1149, True), (112, 1135, False), (108, 1145, True), (116, 1131, False),
        (292, 1145, True), (288, 1135, False), (200, 1131, True), (50, 1140, False), (399, 1140, False),
    ):  # fmt: skip
        assert young(at(distance, up)) is is_young
        assert old(at(distance, up)) is not is_young
    assert not young(at(200, 1128))
    assert not old(at(110, 1128))


def test_ground_that_does_not_come_out_is_told_by_the_side_of_the_line(loop):
    """A flat contact 10 m down: the younger unit, on the left of its points, lies above it."""
    flat = line([("ground", (0.0, 1140.0), (400.0, 1140.0))])
    items = panel(loop, [flat], units=("Jq", "Jq", "Jq"))
    at = frame(items)
    young, old = coloured(items, loop, "Jq"), coloured(items, loop, "Jd")
    assert young(at(200, 1145))
    assert old(at(200, 1135))
    assert not young(at(200, 1135))


@pytest.mark.parametrize("depth", [5.0, 12.0, 19.5, 19.99, 20.0])
def test_colour_still_changes_where_a_line_ends_within_it(loop, depth):
    short = line([("ground", (100.0, GROUND_M), (100.0 + depth, GROUND_M - depth))])
    items = panel(loop, [short], units=("Jd", "Jq", "Jq"))
    at = frame(items)
    young, old = coloured(items, loop, "Jq"), coloured(items, loop, "Jd")
    assert old(at(95, 1145))
    assert young(at(130, 1145))
    assert old(at(101, 1131.5))
    assert young(at(122, 1131.5))


def test_an_exaggerated_section_is_stretched_after_it_was_constructed(loop):
    tall = Box(x=26.0, y=40.0, width=160.0, height=150.0)
    items = panel(loop, [trough()], factor=2.0, box=tall)
    figures = {text.split("\u00a0")[0]: y for _, y, text in texts(items)}
    assert figures["1140"] - figures["1120"] == pytest.approx(20 * 0.8)
    foot = (26.0 + 0.4 * 200.0, figures["1140"] + 0.85 - 90 * 0.8)
    assert min(one.distance(Point(foot)) for one in drawn(items, "section depth")) < 0.05


def test_what_is_gone_is_sketched_short_and_grey(loop):
    gone = line([("above", (0.0, 1550.0), (100.0, GROUND_M)), ("ground", (100.0, GROUND_M), (105.0, 1130.0))])
    (sketch,) = drawn(panel(loop, [gone]), "section eroded")
    assert sketch.length == pytest.approx(22.0)


def test_a_line_that_can_not_go_on_ends_in_dots_and_one_at_a_fault_does_not(loop):
    stopped = line(
        [("ground", (100.0, GROUND_M), (120.0, 1130.0)), ("depth", (120.0, 1130.0), (150.0, 1100.0))]
    )
    assert len(drawn(panel(loop, [stopped]), "section unknown")) == 1
    fault = line(
        [("depth", (150.0, GROUND_M), (150.0, 900.0))], kind=PointKind.FAULT, younger=None, older=None
    )
    assert drawn(panel(loop, [stopped, fault]), "section unknown") == []


def test_axial_surfaces_have_a_pen_of_their_own_and_end_a_little_over_the_ground(loop):
    axial = AxialLine(
        points=((200.0, 2000.0), (200.0, 1030.0)), left_dip_deg=45.0, right_dip_deg=-45.0, hinge=True
    )
    items = panel(loop, [trough()], axial=[axial])
    (found,) = drawn(items, "axial surface")
    within_a_limb = replace(axial, left_dip_deg=22.0, right_dip_deg=16.0, hinge=False)
    turned = panel(loop, [trough()], axial=[within_a_limb])
    assert drawn(turned, "axial surface") == []
    assert len(drawn(turned, "dip changes")) == 1
    ground_y = frame(items)(0.0, GROUND_M)[1]
    assert found.bounds[0] == pytest.approx(26.0 + 80.0)
    assert found.bounds[3] == pytest.approx(ground_y + 22.0, abs=0.2)


@pytest.mark.parametrize(
    ("rule", "said"),
    [
        (CarryRule.DIP_DOMAINS, "straight limbs"),
        (CarryRule.ARCS, "arcs of constant"),
        (CarryRule.STRAIGHT, "straight, along their own apparent dip"),
    ],
)
def test_the_panel_names_the_construction_and_what_it_can_not_do(loop, rule, said):
    items = panel(loop, [trough()], rule=rule, sentences=("One reading only: drawn as one straight panel.",))
    assert said in words(items)
    assert "One reading only" in words(items)


def test_a_line_of_unknown_course_goes_as_deep_as_the_ground_was_looked_at(loop):
    """Upright at 100 m, 20 m deep: 8 mm at 0.4 mm a metre; nothing above the ground, and no dots at its foot."""
    upright = line(
        [("above", (100.0, 1300.0), (100.0, GROUND_M)), ("ground", (100.0, GROUND_M), (100.0, 1000.0))],
        course_known=False,
    )
    items = panel(loop, [upright], rule=CarryRule.STRAIGHT)
    (near,) = drawn(items, "contact in section")
    assert near.length == pytest.approx(8.0)
    assert not [
        one for pen in ("section depth", "section eroded", "section unknown") for one in drawn(items, pen)
    ]
    assert "contacts drawn upright where they were met; colour 20 m deep" in words(items)
    assert "lines to" not in words(items)
    fault = line([("ground", (150.0, GROUND_M), (150.0, 900.0))], kind=PointKind.FAULT)
    told = words(panel(loop, [upright, fault], rule=CarryRule.STRAIGHT))
    assert "contacts drawn upright where they were met; colour 20 m deep" in told
    assert "lines to" in told


@pytest.mark.every(2)
@pytest.mark.parametrize(
    "points",
    [
        ((100.0, GROUND_M), (100.0, GROUND_M)),
        ((-500.0, 900.0), (900.0, 900.0)),
        ((100.0, GROUND_M), (100.0, 1140.0), (100.0, GROUND_M)),
        ((0.0, 1150.0), (400.0, 1150.0)),
        ((100.0, 1155.0), (150.0, 1135.0), (120.0, 1125.0), (160.0, 1145.0)),
    ],
)
def test_odd_lines_do_not_stop_the_sheet(loop, points):
    for younger in ("Jq", None, "Zz"):
        items = panel(loop, [line([("ground", *points)], younger=younger), trough()])
        assert all(math.isfinite(v) for one in paths(items) for c in one.commands for v in c[1:])


def test_how_lines_were_made_stands_clear_of_them_or_below_the_panel(loop):
    """In a tall panel on the floor, off every line and colour; in a low one in the line below it."""
    tall = panel(loop, [trough()])
    inside = [one for one in flat(tall) if isinstance(one, Text) and "constant" in one.text]
    assert inside
    drawn = [
        LineString([command[1:] for command in one.commands if command[0] != "Z"])
        for group in tall
        if isinstance(group, Group)
        for one in paths(group.items)
        if one.pen is not None
    ]
    for one in inside:
        left, low, right, top = text_box(one)
        assert BOX.x < left < right < BOX.right
        assert not any(each.intersects(shapely_box(left, low, right, top)) for each in drawn)
    low = panel(loop, [trough()], box=replace(BOX, height=16.0))
    caption = [one for one in flat(low) if isinstance(one, Text) and "dip domains" in one.text]
    assert [one.at[1] < BOX.y for one in caption] == [True]
    assert caption[0].text.startswith("Section 1:2500")


def test_nothing_is_said_of_contacts_where_a_section_has_a_fault_alone():
    (path,) = logs(["no-units"])
    text = path.read_text(encoding="utf-8").replace("fault 120/70", "fault 020/70")
    found = compile_log(Source(name=path.name, text=text), load=lambda _: b"")
    (section,) = found.trav.geology.sections
    assert {line.kind for line in section.construction.lines if line.pieces} == {PointKind.FAULT}
    assert _words(section.construction) == (
        "faults drawn straight, along their own apparent dip",
        "faults straight",
    )


def test_where_nothing_is_told_of_a_section_nothing_is_drawn_on_it():
    """A fault along the section, met far aside of it, and one upright bed beside four that lie nearly flat."""
    (path,) = logs(["no-units"])
    found = compile_log(Source(name=path.name, text=path.read_text(encoding="utf-8")), load=lambda _: b"")
    (section,) = found.trav.geology.sections
    assert not section.construction.lines
    assert not section.construction.axial
    (said,) = [one.fact for one in section.limits if one.code == "section-fault-along"]
    assert said.endswith("its place and dip there are not told, and it is left off")
