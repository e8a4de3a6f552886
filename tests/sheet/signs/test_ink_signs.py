"""Ink of each sign where arithmetic of the test's own puts it, to 0.3 mm, and turned as it should be.

Shapes are drawn anew here, from the measures in `sheet/signs/measures.py` as they are meant and from the sign's own
definition elsewhere: y along the strike or the trend, x down the dip, millimetres. Grid north is 2.5 degrees off true
north, so that a sign that is not turned to the sheet lies visibly wrong.
"""

import math
import re
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from pyproj import Proj
from shapely import LineString

from tests.sheet.compose.fixture_ink import CONTACTS, EAST, NORTH, SCALE, STATIONS, body, ground, leg
from tests.sheet.fixture_sheet import compiled, layer, sheet
from tests.sheet.ink import Render, area, disc, outlined, placed, ring, stroke
from traverse.output.pdf import write_pdf
from traverse.sheet.paper.page import Group, Text

WITHIN_MM = 0.3
STRIKE, TREND, VIEW, FLOW = 51.0, 131.0, 311.0, 160.0
NEAT_LEFT_MM, NEAT_TOP_MM = 14.2, 282.8
"""Of A3 lying: margin 10 and room of 4.2 for the coordinates."""
DOT = disc(0.0, 0.0, 0.55)
BAR = stroke((0.0, -2.5), (0.0, 2.5))
TICK = stroke((0.0, 0.0), (1.5, 0.0))
HOOK = LineString(
    [(-0.94 * math.sin(t), 0.75 - 0.75 * math.cos(t)) for t in np.linspace(0.0, math.pi, 40)]
).buffer(0.15)
TOPS = disc(1.6, 0.0, 0.5)
BAR_OF_KINDS = stroke((0.0, -2.2), (0.0, 2.2))
TRIANGLE = (0.0, 1.2), (2.2, 0.0), (0.0, -1.2)
FLATTER = (0.0, 1.5), (1.7, 0.0), (0.0, -1.5)
"""Of cleavage: no control is so flat."""
SLAB = (0.0, 1.4), (1.0, 1.4), (1.0, -1.4), (0.0, -1.4)
APART = tuple((x + 0.8, y) for x, y in SLAB)
"""Clear of the dot of the station."""
CIRCLE = ring(0.0, 0.0, 1.3, 0.3)
CROSS = stroke((-2.0, 0.0), (2.0, 0.0)) | stroke((0.0, -2.0), (0.0, 2.0))
ARM_HOOK = shapely.affinity.translate(shapely.affinity.scale(HOOK, -1.0, 1.0, origin=(0.0, 0.0)), 2.0, 0.0)
"""At the end of the arm to the right, as if the bed ran through it and hooked back."""


def over(points):
    """The same on the other side of the bar."""
    return [(-x, y) for x, y in points]


AT_STATIONS = {
    2: (BAR | TICK | DOT, STRIKE),
    3: (BAR | TICK | TOPS | DOT, STRIKE),
    4: (BAR | TICK | HOOK | DOT, STRIKE),
    5: (BAR | TICK | HOOK | TOPS | DOT, STRIKE),
    6: (CIRCLE | CROSS | DOT, None),
    7: (BAR | stroke((-1.5, 0.0), (1.5, 0.0)) | DOT, STRIKE),
    8: (BAR_OF_KINDS | outlined(*FLATTER, width=0.22) | DOT, STRIKE),
    9: (BAR_OF_KINDS | area(*TRIANGLE) | DOT, STRIKE),
    10: (BAR_OF_KINDS | area(*SLAB) | DOT, STRIKE),
    11: (
        stroke((0.0, 0.0), (0.0, 5.0)) | area((0.0, 6.0), (0.55, 4.4), (-0.55, 4.4)) | DOT,
        TREND,
    ),
    16: (CIRCLE | CROSS | ARM_HOOK | DOT, None),
    17: (BAR_OF_KINDS | area(*APART) | area(*over(APART)) | DOT, STRIKE),
    18: (
        BAR_OF_KINDS | outlined(*FLATTER, width=0.22) | outlined(*over(FLATTER), width=0.22) | DOT,
        STRIKE,
    ),
}
"""The sign at each station, and its true azimuth; None for one that stands upright."""


class Ink(Render):
    """Sheet 1 without its words, so that no figure is taken for a sign; its words are read beside."""

    def __init__(self, document, convergence):
        super().__init__(write_pdf(replace(document, pages=tuple(map(wordless, document.pages)))))
        self.worded = Render(write_pdf(document))
        self.words = self.worded.page.get_textpage()
        self.convergence = convergence
        self.east_at, self.x0 = self._coordinate(r"\d{3}\s\d{3}\sm\sE", 0, NEAT_TOP_MM - 1.1)
        self.north_at, self.y0 = self._coordinate(r"\d\s\d{3}\s\d{3}\sm\sN", 1, NEAT_LEFT_MM + 1.1)

    def _coordinate(self, pattern, axis, beside):
        """A coordinate by its label, and where its tick is along an axis."""
        found = re.search(pattern, self.words.get_text_range().replace("\u00a0", " "))
        boxes = [self.words.get_charbox(one) for one in range(*found.span())]
        boxes = [box for box in boxes if box[2] > box[0] and box[3] > box[1]]
        start, end = min(box[axis] for box in boxes), max(box[axis + 2] for box in boxes)
        # A label stands at the middle of its tick, or starts at it where a corner is near.
        for at in ((start + end) / 2.0, start):
            line = at / 72.0 * 25.4 + np.arange(-1.5, 1.5, 0.02)
            flat = np.full_like(line, beside)
            dark = self.dark(line, flat) if axis == 0 else self.dark(flat, line)
            if dark.any():
                return int(re.sub(r"\D", "", found[0])), float(line[dark].mean())
        raise AssertionError("no tick beside the label")

    def place(self, east, north):
        """Where a coordinate lies, from the ticks beside the whole labels."""
        return (
            self.x0 + (east - self.east_at) * 1000.0 / SCALE,
            self.y0 + (north - self.north_at) * 1000.0 / SCALE,
        )

    def station(self, name):
        return self.place(*ground(name, self.convergence))

    def turn(self, azimuth_true):
        """Clockwise from page-up: the sheet is grid north up."""
        return azimuth_true - self.convergence

    def legs(self, name):
        """The legs at a station, so that they count neither as ink nor as white."""
        ends = [one for one in (name - 1, name + 1) if one in STATIONS]
        return shapely.union_all(
            [LineString([self.station(name), self.station(one)]).buffer(0.2) for one in ends]
        )

    def half_way(self, name):
        """Where the contact on the leg to a station is met."""
        (x0, y0), (x1, y1) = self.station(name - 1), self.station(name)
        return (x0 + x1) / 2.0, (y0 + y1) / 2.0


def wordless(page):
    def kept(items):
        for item in items:
            if isinstance(item, Group):
                yield replace(item, items=tuple(kept(item.items)))
            elif not isinstance(item, Text):
                yield item

    # The figures of the grid are read from the full page.
    return replace(page, items=tuple(kept(page.items)))


@pytest.fixture(scope="module")
def document():
    return sheet(compiled(body(), title="Ink Dale, day 1"))[0]


@pytest.fixture(scope="module")
def ink(document):
    utm = Proj("EPSG:25833")
    convergence = utm.get_factors(*utm(EAST, NORTH, inverse=True)).meridian_convergence
    return Ink(document, convergence)


def moved(at, azimuth_page, by):
    turn = math.radians(azimuth_page)
    return at[0] + by * math.sin(turn), at[1] + by * math.cos(turn)


@pytest.mark.parametrize("name", AT_STATIONS)
def test_a_sign_stands_at_its_station_turned_to_the_sheet(ink, name):
    shape, azimuth = AT_STATIONS[name]
    at, turn = ink.station(name), 0.0 if azimuth is None else ink.turn(azimuth)
    fit = ink.best(shape, at, turn, ink.legs(name))
    assert fit.score > 0.85
    assert math.dist(fit.at, at) < WITHIN_MM
    assert abs(fit.turn_deg - turn) <= 1.0


@pytest.mark.parametrize(
    ("name", "mistaken"),
    [(2, 4), (3, 2), (4, 2), (6, 16), (8, 9), (9, 8), (9, 10), (10, 9), (17, 10), (18, 8)],
)
def test_no_sign_would_pass_for_another(ink, name, mistaken):
    """The finding can fail: the shape of another sign lies worse on the same ink, by the share that they differ in."""
    shape, azimuth = AT_STATIONS[name]
    other, _ = AT_STATIONS[mistaken]
    turn = 0.0 if azimuth is None else ink.turn(azimuth)
    at, legs = ink.station(name), ink.legs(name)
    assert ink.score(shape, at, turn, legs) > ink.score(other, at, turn, legs) + 0.04


def test_dips_on_the_other_side_would_be_seen(ink):
    shape, azimuth = AT_STATIONS[2]
    assert ink.score(shape, ink.station(2), ink.turn(azimuth + 180.0), ink.legs(2)) < 0.85


def test_a_control_is_a_triangle_with_a_dot(ink):
    corners = [(1.5 * math.sin(math.radians(a)), 1.5 * math.cos(math.radians(a))) for a in (0, 120, 240)]
    shape = outlined(*corners, width=0.22) | disc(0.0, 0.0, 0.32)
    at = ink.station(1)
    fit = ink.best(shape, at, 0.0, ink.legs(1), turns=(0,))
    assert fit.score > 0.8
    assert math.dist(fit.at, at) < WITHIN_MM


def test_a_side_shot_ends_in_an_open_dot_south_of_its_station(ink):
    start = ink.station(27)
    at = moved(start, ink.turn(180.0), 60.0 * 1000.0 / SCALE)
    fit = ink.best(ring(0.0, 0.0, 0.55, 0.22), at, 0.0, LineString([start, at]).buffer(0.2), turns=(0,))
    assert fit.score > 0.8
    assert math.dist(fit.at, at) < WITHIN_MM


def beside_words(ink, pattern, shape, turn_deg):
    """The best fit of a shape near some words of the map, level with them."""
    found = re.search(pattern, ink.words.get_text_range())
    box = [np.array(ink.words.get_charbox(one)) / 72.0 * 25.4 for one in range(*found.span())]
    left, right = min(one[0] for one in box), max(one[2] for one in box)
    level = (min(one[1] for one in box) + max(one[3] for one in box)) / 2.0
    fits = [ink.best(shape, (x, level), turn_deg, reach=1.6) for x in (left - 2.2, right + 2.2)]
    return max(fits, key=lambda fit: fit.score)


def leader(ink, name, at):
    return LineString([ink.station(name), at]).buffer(0.2)


def test_a_sample_is_a_square_on_its_corner(ink):
    shape = outlined((0.0, 1.05), (1.05, 0.0), (0.0, -1.05), (-1.05, 0.0), width=0.22)
    fit = beside_words(ink, "AA-01", shape, 0.0)
    again = ink.best(shape, fit.at, 0.0, leader(ink, 12, fit.at), reach=0.3)
    assert again.score > 0.8
    assert abs(again.turn_deg) <= 2.0


def test_a_photo_looks_where_it_was_taken(ink):
    """Dot of 0.62, shaft to 4.2 along the view, head of 1.4."""
    shape = disc(0.0, 0.0, 0.62) | stroke((0.0, 0.0), (0.0, 3.2)) | area((0.0, 4.2), (0.5, 2.8), (-0.5, 2.8))
    turn = ink.turn(VIEW)
    fit = beside_words(ink, "photo 12", shape, turn)
    again = ink.best(shape, fit.at, turn, leader(ink, 13, fit.at), reach=0.3)
    assert again.score > 0.8
    assert abs(again.turn_deg - turn) <= 1.0


def test_a_hazard_is_a_triangle_with_a_stroke_and_a_dot(ink):
    """2.9 wide and 2.5 high."""
    outline = outlined((0.0, 1.5), (1.45, -1.0), (-1.45, -1.0), width=0.3)
    shape = outline | stroke((0.0, 0.75), (0.0, -0.15)) | disc(0.0, -0.55, 0.19)
    fit = beside_words(ink, r"H1\b", shape, 0.0)
    again = ink.best(shape, fit.at, 0.0, leader(ink, 14, fit.at), reach=0.3)
    assert again.score > 0.8


def width_across(ink, at, azimuth_page, reach=1.2):
    """How wide the ink is on a cut across a direction, through a place; 0 where there is none."""
    steps = np.arange(-reach, reach, 0.02)
    turn = math.radians(azimuth_page + 90.0)
    dark = ink.dark(at[0] + steps * math.sin(turn), at[1] + steps * math.cos(turn))
    return float(dark.sum() * 0.02)


def test_a_stream_has_its_arrow_downstream(ink):
    """2.2 x 1.24: wide where it begins, then narrower and narrower down the flow, and its tip on the line."""
    turn = ink.turn(FLOW)
    run = np.arange(6.0, 40.0, 0.1)
    widths = np.array([width_across(ink, moved(ink.station(15), turn, by), turn) for by in run])
    widest = int(widths.argmax())
    assert widths[widest] == pytest.approx(1.24, abs=WITHIN_MM)
    # Half-way to the tip it is half as wide; just upstream of the barbs only the line is there.
    assert widths[widest + 11] == pytest.approx(0.62, abs=WITHIN_MM)
    assert widths[widest - 4] < 0.5
    tip = run[widest:][widths[widest:] <= 0.36][0]
    assert tip - run[widest] == pytest.approx(2.2 * (1 - 0.35 / 1.24), abs=WITHIN_MM)


def runs(ink, at, azimuth_page, far, *, round_ends=False):
    """Lengths of ink and of white by turns along a line that starts at a place."""
    steps = np.arange(0.0, far, 0.02)
    turn = math.radians(azimuth_page)
    # The darkest across the line, since it may lie between two pixels.
    dark = np.zeros(len(steps), dtype=bool)
    for aside in (-0.08, 0.0, 0.08):
        x = at[0] + steps * math.sin(turn) + aside * math.cos(turn)
        y = at[1] + steps * math.cos(turn) - aside * math.sin(turn)
        dark |= ink.dark(x, y)
    edges = np.flatnonzero(np.diff(dark.astype(int))) + 1
    bounds = [0, *edges.tolist(), len(steps)]
    return bool(dark[0]), [(b - a) * 0.02 for a, b in pairwise(bounds)]


@pytest.mark.parametrize(("name", "dash", "gap"), [(21, 3.5, 0.75), (22, 1.5, 0.75), (23, 0.5, 0.47)])
def test_dashes_have_the_lengths_of_their_certainty(ink, name, dash, gap):
    """Approximate 3.5 and 0.75, inferred 1.5 and 0.75; concealed dots 0.48 wide every 0.97. From the walk outward."""
    first, lengths = runs(ink, ink.half_way(name), ink.turn(STRIKE), 7.0)
    assert first
    inked, white = lengths[::2], lengths[1::2]
    assert inked[0] == pytest.approx(dash if name != 23 else dash / 2, abs=WITHIN_MM)
    assert np.mean(white[:2]) == pytest.approx(gap, abs=0.2)
    if name != 21:
        assert np.mean(inked[1:3]) == pytest.approx(dash, abs=0.2)


def test_a_certain_contact_is_solid_where_it_was_seen_and_has_its_dip(ink):
    """Solid for 4 to each side of the leg; an arrow 2.4 long down the dip of its plane, on one side only."""
    at, turn = ink.half_way(20), ink.turn(STRIKE)
    for way in (turn, turn + 180.0):
        first, lengths = runs(ink, at, way, 7.0)
        assert first
        assert lengths[0] == pytest.approx(4.0, abs=WITHIN_MM)
    arrow = stroke((0.0, 0.0), (1.4, 0.0), width=0.22) | area((2.4, 0.0), (1.4, 0.35), (1.4, -0.35))
    fit = along_line(ink, 20, arrow, turn)
    assert fit.score > 0.8
    assert along_line(ink, 20, arrow, turn + 180.0).score < fit.score - 0.2


def along_line(ink, name, shape, turn):
    """The best fit of what stands somewhere on a contact or fault, its line left aside."""
    at, line_turn = ink.half_way(name), ink.turn(STRIKE)
    ends = moved(at, line_turn, -9.0), moved(at, line_turn, 9.0)
    others = LineString(ends).buffer(0.35) | ink.legs(name)
    # Where most of it is black, and there alone, the white about it is looked at too.
    stands = [moved(at, line_turn, by) for by in np.arange(-7.5, 7.6, 0.2)]
    stands.sort(key=lambda one: -ink.inked(shape, one, turn))
    fits = [ink.best(shape, one, turn, others, reach=0.3, turns=(0,)) for one in stands[:4]]
    return max(fits, key=lambda fit: fit.score)


def test_a_fault_has_its_ball_on_the_side_that_went_down(ink):
    """Bar 2.2 square to the line, ball of radius 0.6, to the south-east; its dip arrow 3.2 long the same way."""
    turn = ink.turn(STRIKE)
    ball = stroke((0.0, 0.0), (2.2, 0.0)) | disc(2.2, 0.0, 0.6)
    fit = along_line(ink, 24, ball, turn)
    assert fit.score > 0.85
    assert distance_off(ink, 24, fit.at) < WITHIN_MM
    assert along_line(ink, 24, ball, turn + 180.0).score < 0.6
    arrow = stroke((0.0, 0.0), (2.0, 0.0)) | area((3.2, 0.0), (2.0, 0.42), (2.0, -0.42))
    dipping = along_line(ink, 24, arrow, turn)
    assert dipping.score > 0.85
    assert distance_off(ink, 24, dipping.at) < WITHIN_MM
    assert along_line(ink, 24, arrow, turn + 180.0).score < 0.6


def distance_off(ink, name, at):
    """How far a place lies off the line of a contact."""
    start = ink.half_way(name)
    turn = math.radians(ink.turn(STRIKE))
    return abs((at[0] - start[0]) * math.cos(turn) - (at[1] - start[1]) * math.sin(turn))


def test_a_thrust_has_teeth_on_its_upper_side(ink):
    """It dips south-east, so what lies there was pushed over what lies north-west."""
    tooth = area((0.0, 1.0), (1.7, 0.0), (0.0, -1.0))
    turn = ink.turn(STRIKE)
    fit = along_line(ink, 25, tooth, turn)
    assert fit.score > 0.85
    assert along_line(ink, 25, tooth, turn + 180.0).score < fit.score - 0.2


def test_arrows_of_a_right_lateral_fault_move_the_far_side_to_the_right(ink):
    """Seen from the north-west, the south-east side moves to the right: down the page, to the south-west."""
    half = 2.5
    right = stroke((0.9, -half), (0.9, half)) | stroke((0.9, -half), (1.65, -half + 1.5))
    left = stroke((-0.9, -half), (-0.9, half)) | stroke((-0.9, half), (-1.65, half - 1.5))
    turn = ink.turn(STRIKE)
    fit = along_line(ink, 26, right | left, turn)
    assert fit.score > 0.85
    mirrored = shapely.affinity.scale(right | left, 1.0, -1.0, origin=(0.0, 0.0))
    assert along_line(ink, 26, mirrored, turn).score < fit.score - 0.2


def test_a_query_breaks_the_line_with_clear_space(ink):
    """0.75 clear on each side of the letter (FGDC-STD-013-2006, 1.1.2, as read): a break of 2 to 3 in all, both ways."""
    for way in (0.0, 180.0):
        _, lengths = runs(ink, ink.half_way(27), ink.turn(STRIKE) + way, 8.0)
        assert any(2.0 < one < 3.3 for one in lengths[1::2])


def test_the_ends_of_the_section_line_have_arrows_to_its_left(ink):
    """0.4 x 3.4 with a head; the line runs east from station 2 to station 9, so it is looked at northward.

    Both ends are stations: the arrows stand 2.8 beyond, clear of their signs.
    """
    for name, away in ((2, 270.0), (9, 90.0)):
        station, beyond = ink.station(name), math.radians(ink.turn(away))
        at = (station[0] + 2.8 * math.sin(beyond), station[1] + 2.8 * math.cos(beyond))
        north = ink.turn(0.0)
        tick = stroke((0.0, 0.0), (0.0, 2.0), width=0.4) | area((0.0, 3.4), (0.65, 1.9), (-0.65, 1.9))
        others = ink.legs(name) | placed(AT_STATIONS[name][0].buffer(0.3), station, ink.turn(STRIKE))
        fit = ink.best(tick, at, north, others, turns=(0,))
        assert fit.score > 0.8
        assert math.dist(fit.at, at) < WITHIN_MM


def test_apparent_dips_of_the_section_lie_at_their_angle_on_the_ground(ink):
    """The section runs at 090 true; a bed that dips 62 toward 141 dips 50 in it: tan a = tan d cos(141 - 90)."""
    x = ink.station(2)[0]
    # The section hangs under its line: one ruler, laid upright, joins both. Its ground is level.
    profile = [
        y
        for y in np.arange(27.0, 90.0, 0.05)
        if ink.dark(np.linspace(x + 42.0, x + 55.0, 60), np.full(60, y)).mean() > 0.97
    ]
    # Below it lie the bar of evidence on the floor, and rules of the key.
    profile = [y for y in profile if y > profile[-1] - 1.0]
    level = float(np.mean(profile))
    assert profile[-1] - profile[0] == pytest.approx(0.45, abs=0.15)
    for name, dip in ((4, 62.0), (5, 62.0)):
        apparent = math.degrees(math.atan(math.tan(math.radians(dip)) * math.cos(math.radians(51.0))))
        at = (x + (name - 2) * 75.0 * 1000.0 / SCALE, level)
        mark = stroke((0.0, -2.6), (0.0, 2.6), width=0.45) - disc(0.0, 0.0, 0.45) | ring(0.0, 0.0, 0.5, 0.22)
        ground_line = LineString([(x, level), (x + 250.0, level)]).buffer(0.4)
        upright = LineString([at, (at[0], at[1] + 30.0)]).buffer(0.3)
        fit = ink.best(mark, at, 90.0 + apparent, ground_line | upright)
        assert fit.score > 0.8
        assert math.dist(fit.at, at) < WITHIN_MM
        assert abs(fit.turn_deg - 90.0 - apparent) <= 2.0


def test_words_are_found_where_the_drawing_put_them(document, ink):
    """Dips, station numbers and letters of units: read back from the file within the box that they were given."""
    checked = 0
    for name in ("figures", "names", "unit letters"):
        for item in layer(document.pages[0].items, name):
            if not isinstance(item, Text) or item.turn_deg:
                continue
            wide = 0.6 * len(item.text) * item.size_pt / 72.0 * 25.4 + 1.0
            left, low = item.at[0] - wide / 2 - 0.5, item.at[1] - 1.0
            right, top = item.at[0] + wide / 2 + 0.5, item.at[1] + 3.2
            points = [value / 25.4 * 72.0 for value in (left, low, right, top)]
            found = ink.words.get_text_bounded(*points)
            assert item.text in found.replace("\u00a0", " "), (item.text, found)
            checked += 1
    assert checked > len(STATIONS)


@pytest.mark.parametrize(("name", "figure"), [(2, "35"), (4, "62"), (8, "44"), (11, "20")])
def test_the_figure_of_dip_stands_beside_its_sign(ink, name, figure):
    """Within 6 of the station, and not on the bar: its middle is 2 away at least."""
    x, y = ink.station(name)
    searcher = ink.words.search(figure)
    distances = []
    while (found := searcher.get_next()) is not None:
        boxes = np.array([ink.words.get_charbox(found[0] + i) for i in range(found[1])]) / 72.0 * 25.4
        middle = ((boxes[:, 0].min() + boxes[:, 2].max()) / 2, (boxes[:, 1].min() + boxes[:, 3].max()) / 2)
        distances.append(math.dist(middle, (x, y)))
    limit = 9.0 if figure == "20" else 6.0
    assert any(2.0 < one < limit for one in distances)


def test_every_leg_of_the_walk_is_where_its_bearing_puts_it(ink):
    """Black along the middle of each leg, between the signs at its ends."""
    for name in range(2, max(STATIONS) + 1):
        if name in CONTACTS or (name - 1) in CONTACTS:
            continue
        (x0, y0), (x1, y1) = ink.station(name - 1), ink.station(name)
        share = np.linspace(0.3, 0.7, 60)
        inked = np.zeros(60, dtype=bool)
        for aside in (-0.1, 0.0, 0.1):
            across = math.radians(ink.turn(leg(name)[0]) + 90.0)
            inked |= ink.dark(
                x0 + share * (x1 - x0) + aside * math.sin(across),
                y0 + share * (y1 - y0) + aside * math.cos(across),
            )
        assert inked.mean() > 0.9, name
