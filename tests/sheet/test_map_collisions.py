"""Nothing on a map stands on anything else: texts, signs and leaders of whole sheets, looked at pair by pair."""

import math
from pathlib import Path as File

import numpy as np
import pytest
import shapely

from tests.sheet.fixture_sheet import compiled, layer, sheet
from traverse.command.files import loader, read_source
from traverse.compile import compile_log
from traverse.sheet.fonts import width_mm
from traverse.sheet.page import Anchor, Group, Path, Text
from traverse.sheet.style import MM_PER_POINT, PENS

SAMPLES = sorted((File(__file__).parents[2] / "samples").glob("*/*.trav"))
LABELS = ("names", "figures", "unit letters", "things", "section lines", "streams and paths", "norths")
SIGNS = ("attitudes", "stations")
CAPITALS = 0.64
"""Height of capitals and figures over the size of type."""


def lattice(count, *, side, step=50):
    """A walk up and down a square of ground with a bed at every station, closed by no leg."""
    lines = [
        "bearings true",
        "attitudes dip-right",
        "unit Aa Upper beds ; Jurassic",
        "unit Bb Lower beds ; Triassic",
    ]
    for number in range(count):
        row = number // side
        turned = (number - 1) // side != row
        bearing = 0 if turned else 90 if row % 2 == 0 else 270
        lines.append(f"to {number + 1} {bearing:03d} {step}m" if number else "at 1")
        lines.append(f"  unit {'Aa' if row < count / side / 2 else 'Bb'}")
        lines.append(f"  bed {30 + number % 40:03d}/{20 + number % 50}")
    return "\n".join(lines) + "\n"


@pytest.fixture(scope="module")
def crowded():
    found = compiled(lattice(400, side=20))
    return sheet(found)


@pytest.fixture(scope="module")
def sheets(crowded):
    made = {"400 stations": crowded[0].pages[0]}
    for path in SAMPLES:
        source, _ = read_source(str(path))
        made[path.stem] = sheet(compile_log(source, load=loader(str(path))))[0].pages[0]
    return made


NAMES = ["400 stations", *(path.stem for path in SAMPLES)]


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


def test_four_hundred_stations_on_a4_say_what_they_leave_off(crowded):
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
    figures = [one.text for one in layer(items, "figures") if isinstance(one, Text)]
    assert len(shown) + left.get("station names", 0) == 400
    assert len(figures) + left.get("figures of dip", 0) + left.get("readings", 0) == 400
    assert len(shown) > 80
    assert len(figures) > 80
    assert {"Aa", "Bb"} <= {one.text for one in layer(items, "unit letters") if isinstance(one, Text)}
