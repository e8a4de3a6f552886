"""The map: everything at its place and turned its way, checked by arithmetic of the test's own on the page model."""

import math
from itertools import combinations
from pathlib import Path as File

import pytest
import shapely

from tests import once
from tests.sheet.fixture_sheet import compiled, layer, paths, texts, walk
from traverse.compile import map_ground
from traverse.sheet.map.map import map_panel
from traverse.sheet.map.on_page import band_on_page
from traverse.sheet.paper.fonts import width_mm
from traverse.sheet.paper.page import Anchor, Box, Text
from traverse.sheet.paper.style import MM_PER_POINT, PENS
from traverse.sheet.signs.colour import unit_styles

BOX = Box(x=14.0, y=89.0, width=192.0, height=107.0)
SAMPLES = sorted((File(__file__).parents[3] / "samples").glob("*/*.trav"))
TWO_UNITS = """\
bearings true
attitudes dip-right
unit Aa Upper beds ; Jurassic
unit Bb Lower beds ; Triassic
at 1
  unit Aa
  bed 030/40
to 2 090 100m
along 40m
  contact Aa/Bb certain 030/40
at 2
  unit Bb
"""


def drawn(found, *, scale=1000, box=BOX):
    return map_panel(map_ground(found.trav), box=box, scale=scale, styles=unit_styles(found.log.units))


def at(drawing, east, north):
    """Place on the page by hand: the window's corner and the scale."""
    window = drawing.window
    return (
        BOX.x + (east - window.east_m) * 1000.0 / window.scale,
        BOX.y + (north - window.north_m) * 1000.0 / window.scale,
    )


def near(point, wanted):
    return math.dist(point, wanted) < 1e-6


def text_box(item):
    """Box of an upright label, from its base line to the height of its capitals."""
    wide = width_mm(item.text, item.face, item.size_pt)
    left = item.at[0] - {Anchor.START: 0.0, Anchor.MIDDLE: wide / 2, Anchor.END: wide}[item.anchor]
    return shapely.box(left, item.at[1], left + wide, item.at[1] + 0.64 * item.size_pt * MM_PER_POINT)


def test_legs_join_their_stations_at_the_scale():
    """100 m east at 1:1000 are 100 mm, to 0.1 per cent."""
    drawing = drawn(compiled("bearings true\nat 1\nto 2 090 100m\n"))
    (leg,) = layer(drawing.items, "legs")
    start, end = leg.commands[0][1:], leg.commands[1][1:]
    assert end[0] - start[0] == pytest.approx(100.0, rel=1e-3)
    assert end[1] - start[1] == pytest.approx(0.0, abs=1e-6)
    assert near(start, at(drawing, 0.0, 0.0))


def test_a_strike_bar_stands_on_its_station_and_is_turned_by_the_convergence():
    """Strike 142 true in a grid whose north lies 2 degrees east of true is drawn at 140 on grid-north-up paper."""
    found = compiled(
        "grid EPSG:25830\nbearings true\nattitudes dip-right\ncontrol 1 412350 E 4289020 N\nat 1\n  bed 142/68\n"
        "to 2 090 60m\n"
    )
    convergence = found.survey.frame.convergence_deg
    assert abs(convergence) > 0.3
    drawing = drawn(found)
    bar = next(iter(layer(drawing.items, "attitudes")))
    (x0, y0), (x1, y1) = bar.commands[0][1:], bar.commands[1][1:]
    assert math.degrees(math.atan2(x1 - x0, y1 - y0)) % 360 == pytest.approx(142.0 - convergence, abs=1e-6)
    assert near(((x0 + x1) / 2, (y0 + y1) / 2), at(drawing, 412350.0, 4289020.0))


def test_the_figure_of_dip_stands_down_the_dip():
    """Strike 000 by the right-hand rule dips east: the figure is right of the station."""
    drawing = drawn(compiled("bearings true\nattitudes dip-right\nat 1\n  bed 000/30\nto 2 000 60m\n"))
    (figure,) = layer(drawing.items, "figures")
    x, y = at(drawing, 0.0, 0.0)
    assert figure.text == "30"
    assert 1.5 < figure.at[0] - x < 4.0
    assert abs(figure.at[1] - y) < 4.5


def test_a_contact_that_was_seen_is_solid_for_4_mm_each_way_then_dashed_to_the_edge():
    drawing = drawn(compiled(TWO_UNITS))
    lines = [item for item in layer(drawing.items, "contacts") if len(item.commands) == 2 and not item.fill]
    solid = [item for item in lines if item.pen == PENS["contact certain"]]
    dashed = [item for item in lines if item.pen == PENS["contact approximate"]]
    assert math.dist(solid[0].commands[0][1:], solid[0].commands[1][1:]) == pytest.approx(8.0, abs=1e-6)
    assert len(dashed) == 2
    assert drawing.signs.count("contact certain") == 1


@pytest.mark.parametrize("word", ["approximate", "inferred", "concealed"])
def test_a_contact_is_styled_by_its_certainty(word):
    drawing = drawn(compiled(TWO_UNITS.replace("certain", word)))
    pens = {
        item.pen for item in layer(drawing.items, "contacts") if len(item.commands) == 2 and not item.fill
    }
    assert PENS[f"contact {word}"] in pens
    assert PENS["contact certain"] not in pens


def test_covered_ground_is_not_coloured():
    found = compiled(
        TWO_UNITS.replace(
            "along 40m\n  contact Aa/Bb certain 030/40", "covered 30m to 50m scree\n  contact Aa/Bb inferred"
        )
    )
    drawing = drawn(found)
    fills = [item.fill for item in layer(drawing.items, "units")]
    assert sum(not isinstance(fill, str) for fill in fills) == 1
    assert "covered" in drawing.signs


def test_a_fault_bears_its_ball_on_the_side_that_went_down():
    found = compiled(TWO_UNITS.replace("contact Aa/Bb certain 030/40", "fault Aa/Bb certain 000/60 down W"))
    drawing = drawn(found)
    x, _ = at(drawing, 40.0, 0.0)
    balls = [item for item in layer(drawing.items, "contacts") if item.fill and len(item.commands) == 6]
    assert len(balls) == 1
    assert sum(command[-2] for command in balls[0].commands[:-1]) / 5 < x
    assert {"fault certain", "fault down", "fault dip"} <= set(drawing.signs)


def test_a_photo_points_along_its_view():
    drawing = drawn(compiled("bearings true\nat 1\n  photo 7 looking 320\nto 2 090 80m\n"))
    shaft = [item for item in paths(layer(drawing.items, "things")) if item.pen == PENS["symbol"]]
    (x0, y0), (x1, y1) = shaft[0].commands[0][1:], shaft[0].commands[1][1:]
    assert math.degrees(math.atan2(x1 - x0, y1 - y0)) % 360 == pytest.approx(320.0, abs=1e-6)


def test_a_stream_runs_through_the_place_it_was_met_and_is_named():
    drawing = drawn(
        compiled("bearings true\nat 1\nto 2 090 80m\nalong 40m\n  crosses stream 200 Cold Beck\n")
    )
    stream = next(item for item in layer(drawing.items, "streams and paths") if item.pen == PENS["stream"])
    points = [command[-2:] for command in stream.commands]
    assert shapely.LineString(points).distance(shapely.Point(at(drawing, 40.0, 0.0))) < 1e-6
    assert "Cold Beck" in texts(drawing.items)


def test_a_loop_that_fails_is_stamped_and_drawn_with_its_gap():
    found = compiled("bearings true\nat 1\nto 2 090 150m\nto 3 180 150m\nclose 1 315 71m\n")
    drawing = drawn(found, scale=2000)
    assert "NOT ADJUSTED" in texts(drawing.items)
    assert "open end" in drawing.signs
    assert any(item.pen == PENS["open end"] for item in layer(drawing.items, "legs"))


def sample_map(path, scale=2500):
    found = once.compiled(path)
    return found, drawn(found, scale=scale)


@pytest.mark.every(2)
@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_no_two_labels_of_a_sample_overlap_and_none_leaves_the_map(path):
    _, drawing = sample_map(path)
    labels = [
        item
        for name in ("names", "figures", "unit letters", "things", "norths")
        for item in layer(drawing.items, name)
        if isinstance(item, Text)
    ]
    assert len(labels) > 3
    inside = shapely.box(BOX.x, BOX.y, BOX.right, BOX.top)
    boxes = [text_box(item) for item in labels]
    for item, box in zip(labels, boxes, strict=True):
        assert inside.contains(box), item.text
    for (one, first), (other, second) in combinations(zip(labels, boxes, strict=True), 2):
        assert first.intersection(second).area < 1e-6, f"{one.text} on {other.text}"


@pytest.mark.every(2)
@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_figures_of_dip_stand_on_no_contact_and_no_leg(path):
    _, drawing = sample_map(path)
    lines = [
        shapely.LineString([command[-2:] for command in item.commands if len(command) > 2])
        for name in ("contacts", "legs")
        for item in layer(drawing.items, name)
        if item.fill is None
    ]
    for figure in layer(drawing.items, "figures"):
        box = text_box(figure)
        assert not any(line.intersects(box) for line in lines), figure.text


@pytest.mark.every(2)
@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_every_coloured_area_of_a_sample_has_its_letter(path):
    """A letter stands in it, or a leader from one ends in it."""
    found, drawing = sample_map(path)
    window = drawing.window
    band = band_on_page(map_ground(found.trav).ground.map.band, window)
    said = list(layer(drawing.items, "unit letters"))
    letters = [(item.text, shapely.Point(item.at)) for item in said if isinstance(item, Text)]
    leaders = [shapely.Point(item.commands[-1][1:]) for item in said if not isinstance(item, Text)]
    for area in band.areas:
        for part in area.parts if area.unit else ():
            assert any(
                text == area.unit and part.buffer(1.5).contains(point) for text, point in letters
            ) or any(part.contains(point) for point in leaders), area.unit


def test_the_same_map_twice_is_the_same_to_the_bit():
    path = SAMPLES[0]
    assert sample_map(path)[1].items == sample_map(path)[1].items


def test_what_finds_no_room_is_named():
    """A hundred and fifty stations half a metre apart at 1:1000 cannot all be numbered."""
    body = "bearings true\nat 1\n" + "".join(f"to {n} 090 0.5m\n" for n in range(2, 151))
    drawing = drawn(compiled(body))
    shown = {item.text for item in layer(drawing.items, "names") if isinstance(item, Text)}
    (said,) = [one for one in drawing.diagnostics if "station name" in one.message]
    assert int(said.message.split()[0]) == 150 - len(shown)
    assert said.hints == ("a larger scale has more room, on several maps if it must be: `sheet scale 1:750`",)
    (largest,) = [
        one
        for one in drawn(compiled(body.replace("0.5m", "0.05m")), scale=100).diagnostics
        if "station name" in one.message
    ]
    assert "sheet paper" in largest.hints[0]


def test_nothing_but_paths_and_text_is_drawn():
    drawing = drawn(compiled(TWO_UNITS))
    assert paths(drawing.items)
    assert all(
        math.isfinite(number)
        for item in walk(drawing.items)
        if not isinstance(item, Text)
        for command in item.commands
        for number in command[1:]
    )


def test_a_doubted_unit_keeps_its_doubt():
    drawing = drawn(
        compiled(
            TWO_UNITS.replace(
                "at 2\n  unit Bb", "at 2\n  unit Bb\nto 3 090 60m\nalong 10m to 60m\n  unit Aa?"
            )
        )
    )
    letters = {item.text for item in layer(drawing.items, "unit letters") if isinstance(item, Text)}
    assert "Aa?" in letters


@pytest.mark.every(2)
@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_letters_of_the_section_line_touch_no_sign_of_a_station(path):
    _, drawing = sample_map(path)
    signs = [
        shapely.MultiPoint([command[-2:] for command in item.commands if len(command) > 2]).convex_hull
        for item in layer(drawing.items, "stations")
    ]
    letters = [item for item in layer(drawing.items, "section lines") if isinstance(item, Text)]
    assert len(letters) == 2
    for letter in letters:
        assert all(sign.distance(text_box(letter)) > 0.3 for sign in signs), letter.text
