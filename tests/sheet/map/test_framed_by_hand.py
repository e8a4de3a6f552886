"""Where the window of a map is laid and the norths stand: by trying every place of both, in millimetres of paper."""

from __future__ import annotations

import dataclasses
import math
from functools import cache
from itertools import product

import pytest
import shapely
from shapely import affinity

from tests.sheet.fixture_sheet import compiled
from traverse.compile import map_ground
from traverse.location.records import PlaceKind
from traverse.sheet.map.framing import corners, extent, frame_map, walked, walked_band, walks_to_show
from traverse.sheet.map.grid_ticks import _kept_in, _labels, grid_lines, grid_ticks
from traverse.sheet.map.north import HEIGHT_MM, WIDTH_MM
from traverse.sheet.paper.fonts import width_mm
from traverse.sheet.paper.page import Anchor, Box, Face, Path, Text
from traverse.sheet.paper.style import SCALE_RATIO, SMALL
from traverse.sheet.paper.window import PaceRule, Window, bar, scale_strip

BOX = Box(x=14.0, y=89.0, width=192.0, height=107.0)
HEAD = "bearings true\nattitudes dip-right\ncontrol 1 612500 E 5214250 N 800 m\nunit Sh Reed Shale ;\n"
LOOP = (
    HEAD + "at 1\n  unit Sh\n  bed 040/30\nto 2 040 260m\nto 3 130 140m\nclose 1 247 280m\nsheet band 15 m\n"
)
LOGS = {
    "loop": LOOP,
    "section": LOOP + "section A-B from 1 to 2\n",
    "two sections": LOOP + "section A-B 110 through 2\nsection C-D 020 through 3\n",
    "mast": LOOP.replace("to 2 040 260m\n", "sight Mast 085\nto 2 040 260m\nsight Mast 140\n"),
}
SCALES = (1500, 2000, 2500, 3000, 5000)


@cache
def ground(name):
    return map_ground(compiled(LOGS[name], title=f"Framing, {name}").trav)


def sections_of(trav):
    return [shapely.LineString(one.line) for one in trav.geology.sections if len(one.line) > 1]


def masts_of(trav):
    return [
        shapely.Point(one.east_m, one.north_m)
        for one in trav.survey.places.values()
        if one.kind is PlaceKind.SIGHTED
    ]


@pytest.mark.parametrize("name", LOGS)
@pytest.mark.parametrize("scale", [1000, 2500])
def test_a_map_holds_the_band_with_its_labels_and_the_ends_of_its_sections(name, scale):
    """4 mm about the band, 5.5 mm beyond the ends of every section; the first has the room its panel asks for."""
    trav = ground(name)
    mm = scale / 1000.0
    (walk, *_) = walks_to_show(trav.survey, trav.geology)
    left, lower, right, upper = walk.bounds
    margin = trav.ground.width.half_m + 4.0 * mm
    rims = [(left - margin, lower - margin, right + margin, upper + margin)]
    for number, line in enumerate(sections_of(trav)):
        x0, y0, x1, y1 = line.bounds
        rims.append((x0 - 5.5 * mm, y0 - 5.5 * mm, x1 + 5.5 * mm, y1 + 5.5 * mm))
        if number == 0:
            (first, _), (last, _) = line.coords
            rims.append((first - 30.0 * mm, y0, last + 40.0 * mm, y1))
    expected = (
        *(min(one[at] for one in rims) for at in (0, 1)),
        *(max(one[at] for one in rims) for at in (2, 3)),
    )
    assert extent(trav, scale=scale, walk=walk, beside=(30.0, 40.0)) == pytest.approx(expected)


def to_paper(shape, window):
    """Ground in millimetres of the page."""
    scale = 1000.0 / window.scale
    moved = affinity.translate(shape, -window.east_m, -window.north_m)
    return affinity.translate(
        affinity.scale(moved, scale, scale, origin=(0.0, 0.0)), window.box.x, window.box.y
    )


def clear_mm(trav, walk, window, corner):
    """How far the norths are from what they must keep off."""
    there = shapely.box(corner.x, corner.y, corner.right, corner.top)
    away = there.distance(to_paper(walk, window)) - trav.ground.width.half_m * 1000.0 / window.scale
    away = min([away, *(there.distance(to_paper(one, window)) - 2.0 for one in sections_of(trav))])
    return min([away, *(there.distance(to_paper(one, window)) - 4.0 for one in masts_of(trav))])


@pytest.mark.parametrize("name", LOGS)
@pytest.mark.parametrize("scale", SCALES)
def test_the_window_is_moved_as_little_as_leaves_a_corner_for_the_norths(name, scale):
    """Middle, edges and corners of the room that is left are tried, and all four corners of each."""
    trav = ground(name)
    (walk, *_) = walks_to_show(trav.survey, trav.geology)
    found = frame_map(trav, box=BOX, scale=scale, walk=walk)
    mm = scale / 1000.0
    left, lower, right, upper = extent(trav, scale=scale, walk=walk)
    assert (found.wide_mm, found.high_mm) == pytest.approx(((right - left) / mm, (upper - lower) / mm))
    slack = (BOX.width * mm - (right - left), BOX.height * mm - (upper - lower))
    room = min(slack) >= 0.0
    tried = []
    for shift in product((0, -1, 1), repeat=2) if room else [(0, 0)]:
        window = dataclasses.replace(
            found.window,
            # Whole metres, so that the grid's ticks stand at round places of the page.
            east_m=float(
                math.floor((left + right - BOX.width * mm + shift[0] * max(0.0, slack[0])) / 2.0 + 1e-6)
            ),
            north_m=float(
                math.floor((lower + upper - BOX.height * mm + shift[1] * max(0.0, slack[1])) / 2.0 + 1e-6)
            ),
        )
        tried += [
            (sum(map(abs, shift)), clear_mm(trav, walk, window, corner), window, corner)
            for corner in corners(BOX)
        ]
    free = [one for one in tried if one[1] > -0.005]
    assert found.fits is (room and bool(free))
    assert found.holds is room
    mine = [
        one
        for one in tried
        if (one[2].east_m, one[2].north_m) == (found.window.east_m, found.window.north_m)
        and one[3] == found.norths
    ]
    assert mine
    if free:
        least = min(one[0] for one in free)
        assert least == min(one[0] for one in mine)
        # Of as little moved the corner that has most room, beyond 12 mm any.
        most = max(min(one[1], 12.0) for one in free if one[0] == least)
        assert max(min(one[1], 12.0) for one in mine) == pytest.approx(most, abs=0.06)
    else:
        assert max(one[1] for one in mine) == pytest.approx(max(one[1] for one in tried), abs=0.02)


def test_the_sizes_of_the_maps_that_were_tried_are_of_both_kinds():
    """Else the test above would ask less than it seems to."""
    kinds = set()
    for name, scale in product(LOGS, SCALES):
        (walk, *_) = walks_to_show(ground(name).survey, ground(name).geology)
        found = frame_map(ground(name), box=BOX, scale=scale, walk=walk)
        kinds.add((found.fits, found.holds))
    assert kinds >= {(True, True), (False, False)}


def test_corners_for_the_norths_stand_2_2_millimetres_in_from_the_neat_line():
    found = corners(BOX)
    assert {(one.width, one.height) for one in found} == {(WIDTH_MM, HEIGHT_MM)}
    assert [(round(one.x - BOX.x, 6), round(one.y - BOX.y, 6)) for one in found] == [
        (192.0 - 2.2 - 41.0, 2.2), (2.2, 2.2), (192.0 - 2.2 - 41.0, 107.0 - 2.2 - 20.5), (2.2, 107.0 - 2.2 - 20.5),
    ]  # fmt: skip
    small = Box(x=0.0, y=0.0, width=30.0, height=20.0)
    assert {(round(one.width, 6), round(one.height, 6)) for one in corners(small)} == {(25.6, 15.6)}


def test_what_was_walked_is_every_leg_place_and_reading_and_no_landmark():
    trav = ground("mast")
    mast = masts_of(trav)[0]
    walk = walked(trav.survey, trav.geology)
    assert walk.distance(mast) > 5.0
    assert walks_to_show(trav.survey, trav.geology)[0].distance(mast) == 0.0
    assert walks_to_show(trav.survey, trav.geology)[1].equals(walk)
    for leg in trav.survey.legs:
        start = trav.survey.places[leg.booked.start]
        for share in (0.0, 0.5, 1.0):
            at = (start.east_m + share * leg.adjusted.east_m, start.north_m + share * leg.adjusted.north_m)
            assert walk.distance(shapely.Point(at)) < 1e-6
    band = walked_band(trav, beyond_m=3.0)
    assert band.boundary.distance(walk) == pytest.approx(trav.ground.width.half_m + 3.0, rel=0.02)


# --- figures of the grid ----------------------------------------------------------------------------------------


def half(text):
    return width_mm(text, Face.REGULAR, SMALL) / 2.0


@pytest.mark.parametrize("text", ["612 300 m E", "400"])
def test_a_figure_is_centred_on_its_tick_where_its_half_has_room_and_else_begins_or_ends_there(text):
    low, high, room = 20.0, 120.0, half(text)
    for off, expected in ((room + 0.1, low + room + 0.1), (room - 0.1, low + room - 0.1), (0.2, low + 0.7)):
        at, anchor = _kept_in(low + off, low, high, text)
        assert (at, anchor) == (pytest.approx(expected), Anchor.MIDDLE if off > room else Anchor.START)
        at, anchor = _kept_in(high - off, low, high, text)
        assert (at, anchor) == (
            pytest.approx(low + high - expected),
            Anchor.MIDDLE if off > room else Anchor.END,
        )


def test_no_figure_is_kept_in_farther_than_nine_millimetres_from_a_corner():
    wide = "1 612 300 m E, 1 612 300 m E"
    assert half(wide) > 9.0
    assert _kept_in(20.0 + 8.9, 20.0, 120.0, wide)[1] is Anchor.START
    assert _kept_in(20.0 + 9.1, 20.0, 120.0, wide)[1] is Anchor.MIDDLE


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ((612_800, 612_900, 613_000, 613_100), ["612800mE", "900", "613000E", "100"]),
        ((5_214_005, 5_214_010), ["5214005mE", "010"]),
        ((-200, -100, 0, 100), ["−200mE", "−100", "0E", "100"]),
        ((9_900, 10_000, 10_100), ["9900mE", "10000E", "100"]),
    ],
)  # fmt: skip
def test_figures_of_the_grid(values, said):
    """In full where thousands change, then the last three; small ones always in full."""
    assert ["".join(text.split()) for _, text in _labels(values, "E")] == said


@pytest.mark.parametrize("scale", [1000, 2500, 4500])
def test_lines_of_the_grid_are_all_that_pass_the_window(scale):
    view = Window(box=BOX, scale=scale, east_m=612_290.0, north_m=5_214_177.0, convergence_deg=0.0)
    for lines, first, length in (
        (grid_lines(view)[0], view.east_m, BOX.width * scale / 1000.0),
        (grid_lines(view)[1], view.north_m, BOX.height * scale / 1000.0),
    ):
        step = lines[1] - lines[0]
        assert lines == tuple(one for one in range(0, 6_000_000, step) if first <= one <= first + length)


def test_figures_of_the_grid_stand_1_1_millimetres_off_the_neat_line_at_their_ticks():
    view = Window(box=BOX, scale=2500, east_m=612_250.0, north_m=5_214_150.0, convergence_deg=0.0)
    figures = [one for one in grid_ticks(view) if isinstance(one, Text)]
    above = [one.at for one in figures if not one.turn_deg]
    beside = [one.at for one in figures if one.turn_deg]
    assert {round(y, 6) for _, y in above} == {BOX.top + 1.1}
    assert {round(x, 6) for x, _ in beside} == {BOX.x - 1.1}
    assert [x for x, _ in above] == pytest.approx([BOX.x + 20.0 + 40.0 * at for at in range(len(above))])
    assert [y for _, y in beside] == pytest.approx([BOX.y + 20.0 + 40.0 * at for at in range(len(beside))])


# --- the strip under the map ------------------------------------------------------------------------------------


@pytest.mark.parametrize("width", [192.0, 262.0])
def test_whose_paces_a_rule_counts_stands_under_it_from_its_beginning(width):
    words = "AR’s double paces"
    items = scale_strip(2500, x=14.0, top=89.0, width=width, paces=[PaceRule(words=words, length_m=1.52)])
    (said,) = [one for one in items if isinstance(one, Text) and one.text == words]
    rule = [
        one for one in items if not isinstance(one, Text) and one.fill is not None
        and min(command[1] for command in one.commands if len(command) > 2) >= said.at[0] - 1e-6
    ]  # fmt: skip
    corners_of = [command[1:3] for one in rule for command in one.commands if len(command) > 2]
    assert min(x for x, _ in corners_of) == pytest.approx(said.at[0])
    assert min(y for _, y in corners_of) - said.at[1] == pytest.approx(3.0)


def parts_of(items):
    """Bars by the height of their lower edge, each with its parts from left to right: left, right, top."""
    bars = {}
    for one in items:
        if isinstance(one, Path) and one.fill is not None:
            at = [command[1:3] for command in one.commands if len(command) > 2]
            xs, ys = zip(*at, strict=True)
            bars.setdefault(round(min(ys), 3), []).append((min(xs), max(xs), max(ys)))
    return {low: sorted(parts) for low, parts in bars.items()}


def strip(width, *, paces=(), scale=2500):
    return scale_strip(scale, x=14.0, top=89.0, width=width, paces=paces)


def check_of(items):
    """Left and right end of the check line, or None."""
    level = [
        (one.commands[0][1], one.commands[1][1])
        for one in items
        if isinstance(one, Path) and len(one.commands) == 2 and one.commands[0][2] == one.commands[1][2]
    ]
    return level[0] if level else None


@pytest.mark.parametrize("width", [120.0, 192.0, 262.0])
def test_bars_stand_on_each_other_at_the_left_with_their_figures_and_units(width):
    """1.1 mm high, the metres 3 mm over the feet; figures 1.9 over the foot of the one and 2.3 under that of the other."""
    items = strip(width)
    texts = {one.text: one for one in items if isinstance(one, Text)}
    ratio = next(one for text, one in texts.items() if text.startswith("1:"))
    assert ratio.at == (14.0, 89.0 - 6.2)
    (feet, below), (metres, above) = sorted(parts_of(items).items())
    assert (metres, feet) == pytest.approx((84.4, 81.4))
    left = 14.0 + width_mm(ratio.text, Face.BOLD, SCALE_RATIO) + 7.0
    for low, parts in ((metres, above), (feet, below)):
        assert parts[0][0] == pytest.approx(left)
        assert {round(top - low, 6) for _, _, top in parts} == {1.1}
    for name, low in (("m", metres), ("ft", feet)):
        assert texts[name].at == pytest.approx((left - 1.6, low - 0.4))
        assert texts[name].anchor is Anchor.END
    figures = {
        round(one.at[1], 3) for one in items if isinstance(one, Text) and one.text.replace(" ", "").isdigit()
    }
    assert figures == {round(metres + 1.9, 3), round(feet - 2.3, 3)}


@pytest.mark.parametrize(("spare", "long"), [(0.1, 100.0), (-0.1, 50.0), (-50.1, 30.0), (-70.1, None)])
def test_the_check_line_is_as_long_as_leaves_the_bars_28_millimetres(spare, long):
    """It ends at the right edge: 100 mm, 50, 30 or none; 10 mm of air beside the bars."""
    ratio = width_mm("1:2500", Face.BOLD, SCALE_RATIO)
    items = strip(ratio + 7.0 + 10.0 + 28.0 + 100.0 + spare)
    found = check_of(items)
    assert (found is None) is (long is None)
    if found is not None:
        assert found[1] == pytest.approx(14.0 + ratio + 145.0 + spare)
        assert found[1] - found[0] == pytest.approx(long)
        assert (
            next(one.commands[0][2] for one in items if isinstance(one, Path) and len(one.commands) == 2)
            < 89.0
        )
    widest = max(parts[-1][1] for parts in parts_of(items).values())
    assert found is None or widest <= found[0] - 10.0 + 1e-6


def test_figures_that_would_stand_on_each_other_are_those_of_the_ends_alone():
    """A part of 1:7500 to a foot bar on narrow paper is narrower than its figure."""
    seen = set()
    for width in range(96, 200, 4):
        for scale in (1000, 7500, 40_000, 150_000):
            items = strip(float(width), scale=scale)
            for low, parts in parts_of(items).items():
                over = sorted(
                    (one.at[0], one.text) for one in items
                    if isinstance(one, Text) and "".join(one.text.split()).isdigit() and abs(one.at[1] - low) < 2.5
                )  # fmt: skip
                part = parts[0][1] - parts[0][0]
                close = width_mm(over[-1][1], Face.REGULAR, SMALL) + 0.3 > part
                assert len(over) == (2 if close else len(parts) + 1)
                assert [over[0][0], over[-1][0]] == pytest.approx([parts[0][0], parts[-1][1]])
                seen.add(close)
    assert seen == {True, False}


@pytest.mark.parametrize("count", [1, 2, 3])
def test_rules_of_paces_stand_beside_the_bars_one_after_the_other(count):
    """On wide paper each 40 mm, or as wide as its words, and 9 mm of air."""
    rules = [
        PaceRule(words=f"{name}’s double paces", length_m=1.5 + 0.01 * number)
        for number, name in enumerate("ABC"[:count])
    ]
    items = strip(420.0, paces=rules)
    said = [one for one in items if isinstance(one, Text) and one.text.endswith("paces")]
    assert [one.text for one in said] == [one.words for one in rules]
    wide = [max(40.0, width_mm(one.words, Face.REGULAR, SMALL)) + 9.0 for one in rules]
    (feet, below), (metres, above) = sorted(parts_of(items).items())
    bars = [part for part in above if part[0] < said[0].at[0] - 1.0]
    start = max(bars[-1][1], below[-1][1]) + 9.0
    assert [one.at[0] for one in said] == pytest.approx([start + sum(wide[:at]) for at in range(count)])
    for one in said:
        ends = [part[1] for part in above if one.at[0] - 1e-6 <= part[0] < one.at[0] + 40.0]
        assert 20.0 < max(ends) - one.at[0] <= 40.0
    assert feet < metres


@pytest.mark.parametrize(
    ("scale", "parts", "each"), [(2500, 3, 50), (1000, 3, 20), (5000, 3, 100), (7500, 5, 100)]
)
def test_a_bar_is_the_one_of_two_to_five_round_parts_nearest_to_60_millimetres(scale, parts, each):
    """60 mm of 1:2500 are 150 m, of 1:1000 60 m, of 1:5000 300 m and of 1:7500 450 m, where 400 and 500 m are as far off."""
    found = bar(scale, unit_m=1.0, most_mm=120.0)
    assert (found.parts, found.each) == (parts, each)
    assert found.length_mm == pytest.approx(parts * each * 1000.0 / scale)


def test_ticks_of_the_grid_are_1_8_millimetres_long_on_all_sides():
    view = Window(box=BOX, scale=2500, east_m=612_250.0, north_m=5_214_150.0, convergence_deg=0.0)
    ticks = [[command[1:3] for command in one.commands] for one in grid_ticks(view) if isinstance(one, Path)]
    assert {round(math.dist(*one), 6) for one in ticks} == {1.8}
    assert {x for (x, y), (to_x, _) in ticks if y == to_x or x != to_x} == {BOX.x, BOX.right}
    assert {y for (x, y), (to_x, _) in ticks if x == to_x} == {BOX.y, BOX.top}
