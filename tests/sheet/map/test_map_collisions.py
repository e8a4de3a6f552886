"""Nothing on a map stands on anything else: texts, signs and leaders of whole sheets, looked at pair by pair."""

import math
import re
from pathlib import Path as File

import numpy as np
import pytest
import shapely
from shapely import affinity

from tests import once
from tests.sheet.fixture_sheet import compiled, layer, sheet
from tests.thorough import either
from traverse.compile import map_ground
from traverse.sheet.map.map import map_panel
from traverse.sheet.paper.fonts import width_mm
from traverse.sheet.paper.page import Anchor, Box, Group, Path, Text
from traverse.sheet.paper.style import MM_PER_POINT, PENS

SAMPLES = sorted((File(__file__).parents[3] / "samples").glob("*/*.trav"))
LABELS = ("names", "figures", "unit letters", "things", "section lines", "streams and paths", "norths")
SIGNS = ("attitudes", "stations")
CAPITALS = 0.64
"""Height of capitals and figures over the size of type."""


UNITS = "unit Aa Upper beds ; Jurassic\nunit Bb Lower beds ; Triassic\n"


def lattice(count, *, side, described=True):
    """A walk up and down a square of ground, stations 50 m apart with a bed at each, closed by no leg."""
    lines = ["bearings true", "attitudes dip-right", UNITS.rstrip()]
    for number in range(count):
        row = number // side
        turned = (number - 1) // side != row
        bearing = 0 if turned else 90 if row % 2 == 0 else 270
        lines.append(f"to {number + 1} {bearing:03d} 50m" if number else "at 1")
        if described:
            lines.append(f"  unit {'Aa' if row < count / side / 2 else 'Bb'}")
            lines.append(f"  bed {30 + number % 40:03d}/{20 + number % 50}")
    return "\n".join(lines) + "\n"


ONE = """\
bearings true
attitudes dip-right
unit Aa Upper beds ; Jurassic
at 1
  unit Aa
  bed 030/40
  sample S1 grey marl
  hazard old shaft
  photo 3 looking 200
"""
LINE = (
    "bearings true\nattitudes dip-right\nunit Aa Upper beds ; Jurassic\nat 1\n  unit Aa\n  bed 000/30\n"
    + "".join(f"to {number} 090 25m\n  unit Aa\n  bed 000/{30 + number % 9}\n" for number in range(2, 41))
)
LONG = "bearings true\nattitudes dip-right\nat 1\n  bed 000/30\nto 2 070 3000m\n  bed 010/33\n" + "".join(
    f"to {number} {40 * number % 360:03d} 2m\n  bed 0{10 + number}/{30 + number}\n" for number in range(3, 13)
)
ONE_BEHIND_ANOTHER = """\
bearings true
attitudes dip-right
unit Aa Upper beds ; Jurassic
at 1
  unit Aa
to 2 193 6m
  hazard loose blocks
to 3 021 12m
  hazard loose blocks
  bed 063/40
  joint 294/60
to 4 351 9m
to 5 092 40m
  hazard loose blocks
  sample S5 marl
  bed 325/40
  joint 347/60
to 6 050 40m
  sample S6 marl
  bed 082/40
  joint 316/60
to 7 235 6m
  hazard loose blocks
to 8 065 6m
  sample S8 marl
"""
"""The shortest leader of a thing here runs by another station."""
NEIGHBOURS = "bearings true\nat 1\nto 2 090 1200m\nside 45 010 44m\nside 46 010 56m\nto 3 180 300m\n"
"""The dots of two side shots touch, and their numbers stand beside each other."""
HARD = {
    "side by side": NEIGHBOURS,
    "one behind another": ONE_BEHIND_ANOTHER,
    "one station": ONE,
    "all on a line": LINE,
    "a long leg beside short ones": LONG,
}


SIDE, ASKED = either((10, "sheet scale 1:5000 paper A4\n"), (20, ""))
"""Of the square of stations that a sheet has no room for, and its scale: a quarter of them lie as close as all do on A4."""


@pytest.fixture(scope="module")
def crowded():
    return sheet(compiled(ASKED + lattice(SIDE * SIDE, side=SIDE)))


@pytest.fixture(scope="module")
def sheets(crowded):
    made = {"crowded": crowded[0].pages[0]}
    made |= {name: sheet(compiled(body))[0].pages[0] for name, body in HARD.items()}
    return made | {path.stem: once.drawn(path).pages[0] for path in SAMPLES}


NAMES = ["crowded", *HARD, *(path.stem for path in SAMPLES)]


def on_map(page):
    (found,) = [item for item in page.items if isinstance(item, Group) and item.layer == "map"]
    return found.items


def shape(text):
    """Box of a text from its base line to the height of its capitals, turned with it."""
    wide = width_mm(text.text, text.face, text.size_pt)
    left = {Anchor.START: 0.0, Anchor.MIDDLE: -wide / 2, Anchor.END: -wide}[text.anchor]
    turn = math.radians(text.turn_deg)
    corners = [(left, 0.0), (left + wide, 0.0), (left + wide, 1.0), (left, 1.0)]
    high = CAPITALS * text.size_pt * MM_PER_POINT
    return shapely.Polygon(
        [
            (
                text.at[0] + x * math.cos(turn) - y * high * math.sin(turn),
                text.at[1] + x * math.sin(turn) + y * high * math.cos(turn),
            )
            for x, y in corners
        ]
    )


def ink(path):
    """Ground that a stroke or an area covers; curves by their corners, which lie outside them."""
    points = [command[-2:] for command in path.commands if len(command) > 2]
    if path.fill is not None:
        return shapely.MultiPoint(points).convex_hull
    return shapely.LineString(points).buffer(path.pen.width_mm / 2)


def labels(items):
    return [one for name in LABELS for one in layer(items, name) if isinstance(one, Text)]


def touching(first, second, *, by=0.01):
    """Pairs of which one covers more than `by` square millimetres of the other."""
    tree = shapely.STRtree(second)
    pairs = tree.query(np.array(first, dtype=object), predicate="intersects").T
    return [(i, j) for i, j in pairs.tolist() if first[i].intersection(second[j]).area > by]


@pytest.mark.parametrize("name", NAMES)
def test_no_two_texts_on_a_map_overlap(sheets, name):
    said = labels(on_map(sheets[name]))
    said += [one for one in layer(on_map(sheets[name]), "contour figures") if isinstance(one, Text)]
    assert len(said) > 3
    shapes = [shape(one) for one in said]
    assert [(said[i].text, said[j].text) for i, j in touching(shapes, shapes) if i < j] == []


def test_no_letter_of_a_section_stands_on_a_stream(sheets):
    """Copperjar Wash runs by one end of its section, on three sides of which there is no room at hand."""
    items = on_map(sheets["copperjar-wash"])
    letters = [shape(one) for one in layer(items, "section lines") if isinstance(one, Text)]
    streams = [ink(one) for one in layer(items, "streams and paths") if isinstance(one, Path)]
    assert (len(letters), len(streams) > 0) == (2, True)
    assert touching(letters, streams) == []


@pytest.mark.parametrize("name", NAMES)
def test_no_two_numbers_of_stations_read_as_one(sheets, name):
    """45 and 46 beside each other with a hair between them were 4645: there is half a figure at least."""
    said = [one for one in layer(on_map(sheets[name]), "names") if isinstance(one, Text)]
    numbers = [(one.text, shape(one)) for one in said if re.fullmatch(r"\d+[a-z]?", one.text)]
    assert numbers
    wider = [affinity.translate(place, dx) for _, place in numbers for dx in (-0.6, 0.6)]
    pairs = touching([place for _, place in numbers], wider)
    assert [(numbers[i][0], numbers[j // 2][0]) for i, j in pairs if i != j // 2] == []


@pytest.mark.parametrize("name", NAMES)
def test_no_text_hides_a_sign(sheets, name):
    """Signs of readings and stations; the words of a thing stand beside its icon."""
    items = on_map(sheets[name])
    said = labels(items)
    signs = [one for each in SIGNS for one in layer(items, each) if isinstance(one, Path)]
    assert signs
    found = touching([shape(one) for one in said], [ink(one) for one in signs])
    assert [said[i].text for i, _ in found] == []


@pytest.mark.parametrize("name", NAMES)
def test_no_leader_runs_through_a_text(sheets, name):
    items = on_map(sheets[name])
    said = labels(items)
    leaders = [
        ink(one)
        for each in ("names", "unit letters", "things")
        for one in layer(items, each)
        if isinstance(one, Path) and one.pen == PENS["leader"]
    ]
    found = touching([shape(one) for one in said], leaders, by=0.02)
    assert [said[i].text for i, _ in found] == []


def test_a_crowded_sheet_says_what_it_leaves_off(crowded):
    """Of each kind as many as stand on the map and as are said to be left off; ten are named."""
    document, said = crowded
    items = on_map(document.pages[0])
    left = {}
    for one in said:
        if one.code == "no-room-on-map":
            count, _, rest = one.message.partition(" ")
            left[rest.partition(" found")[0]] = int(count)
            assert one.message.count(",") <= 11
    shown = [one.text for one in layer(items, "names") if isinstance(one, Text)]
    # A change of units that nobody booked is drawn with a query, which is no dip.
    figures = [one.text for one in layer(items, "figures") if isinstance(one, Text) and one.text != "?"]
    assert len(shown) + left.get("station names", 0) == SIDE**2
    assert len(figures) + left.get("figures of dip", 0) + left.get("readings", 0) == SIDE**2
    assert len(shown) > SIDE**2 // 5
    assert len(figures) > SIDE**2 // 5
    assert {"Aa", "Bb"} <= {one.text for one in layer(items, "unit letters") if isinstance(one, Text)}


@pytest.mark.parametrize("name", NAMES)
def test_every_text_of_a_map_lies_inside_its_neat_line(sheets, name):
    (neat,) = [
        one
        for one in layer(on_map(sheets[name]), "grid")
        if isinstance(one, Path) and one.pen == PENS["neat line"]
    ]
    corners = [command[-2:] for command in neat.commands if len(command) > 2]
    inside = shapely.MultiPoint(corners).convex_hull
    for one in labels(on_map(sheets[name])):
        assert inside.contains(shape(one)), one.text


def test_one_station_is_drawn_with_all_that_was_noted_there(sheets):
    items = on_map(sheets["one station"])
    said = {one.text for one in labels(items)}
    assert {"1", "40", "Aa", "S1", "H1", "photo 3"} <= said


def test_the_far_end_of_a_long_leg_keeps_its_number_and_its_dip(sheets):
    """The party's other stations lie within a millimetre of each other; they do not crowd out the lone one."""
    items = on_map(sheets["a long leg beside short ones"])
    assert "1" in [one.text for one in layer(items, "names") if isinstance(one, Text)]
    assert "30" in [one.text for one in layer(items, "figures") if isinstance(one, Text)]


def test_stations_a_millimetre_apart_are_dots_with_paper_between_them():
    """A square of 50 by 50 stations is 50 mm wide at 1:50 000: far too dense, but no black patch and no heap of names."""
    side = either(20, 50)
    found = compiled(lattice(side * side, side=side, described=False))
    box = Box(x=14.0, y=60.0, width=182.0, height=160.0)
    drawing = map_panel(map_ground(found.trav), box=box, scale=50_000, styles={})
    dots = [one for one in layer(drawing.items, "stations") if isinstance(one, Path)]
    middles = np.array([np.mean([command[-2:] for command in one.commands[:-1]], axis=0) for one in dots])
    near, _ = shapely.STRtree(shapely.points(middles)).query(
        shapely.points(middles), predicate="dwithin", distance=1.5
    )
    assert len(near) == len(middles)
    assert len(middles) > side**2 // 9
    said = [one for one in layer(drawing.items, "names") if isinstance(one, Text)]
    shapes = [shape(one) for one in said]
    assert [(said[i].text, said[j].text) for i, j in touching(shapes, shapes) if i < j] == []
    left = {}
    for one in drawing.diagnostics:
        count, _, rest = one.message.replace("\u00a0", "").partition(" ")
        left[rest.partition(" found")[0]] = int(count)
        assert len(one.message) < 200
    assert left == {"stations": side**2 - len(middles), "station names": side**2 - len(said)}


@pytest.mark.parametrize("name", NAMES)
def test_a_coloured_halo_does_not_run_out_over_white_paper(sheets, name):
    """Half a millimetre about a label that stands wholly on its ground, a hair about one that straddles the edge."""
    items = on_map(sheets[name])
    grounds = {}
    for one in layer(items, "units"):
        if isinstance(one.fill, str):
            corners, parts = [], []
            for command in one.commands:
                if command[0] == "Z":
                    parts.append(shapely.Polygon(corners))
                    corners = []
                else:
                    corners.append(command[-2:])
            whole = parts[0]
            for part in parts[1:]:
                whole = whole.symmetric_difference(part)
            grounds[one.fill] = grounds.get(one.fill, shapely.Polygon()).union(whole)
    wide = [
        one
        for each in ("names", "figures", "unit letters")
        for one in layer(items, each)
        if isinstance(one, Text) and one.halo in grounds and one.halo_mm > 0.2
    ]
    assert wide or name not in {path.stem for path in SAMPLES}
    for one in wide:
        assert grounds[one.halo].buffer(0.05).contains(shape(one).buffer(0.4)), one.text


@pytest.mark.parametrize(
    "name",
    [one for one in NAMES if one not in {"crowded", "all on a line", "a long leg beside short ones"}],
)
def test_no_leader_passes_another_station(sheets, name):
    """It would be read as that one's; in a swarm there is no other way."""
    items = on_map(sheets[name])
    stations = [shapely.centroid(ink(one)) for one in layer(items, "stations") if isinstance(one, Path)]
    leaders = [
        shapely.LineString([command[1:] for command in one.commands])
        for each in ("names", "things", "attitudes")
        for one in layer(items, each)
        if isinstance(one, Path) and one.pen == PENS["leader"] and len(one.commands) == 2
    ]
    for leader in leaders:
        own = shapely.Point(leader.coords[0])
        others = [one for one in stations if one.distance(own) > 0.8]
        assert all(leader.distance(one) > 1.4 for one in others), leader
