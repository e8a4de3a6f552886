"""A pattern goes on from tile to tile as if it were drawn in one: plain geometry of the plane, no source."""

import math
from functools import partial

import pytest
import shapely

from traverse.log.records import RockUnit
from traverse.sheet.signs.pattern import PATTERNS, STANDS_FOR_ROCK, unit_patterns
from traverse.sheet.signs.symbols import symbol
from traverse.source import Span

SAME = 1e-6


def strokes(tile):
    """Straight strokes, end by end."""
    found, at = [], None
    for operator, *numbers in tile.commands:
        if operator == "C":
            return []
        if operator == "M":
            at = tuple(numbers)
        elif numbers:
            found.append((at, tuple(numbers)))
            at = tuple(numbers)
    return found


def apart(one, other, size):
    """Of two places along an axis that comes round."""
    off = abs(one - other) % size
    return min(off, size - off)


@pytest.mark.parametrize("name", PATTERNS)
def test_strokes_that_reach_an_edge_go_on_beyond_it(name):
    """Where one ends on an edge another begins on the opposite one, and none leaves its tile."""
    tile = PATTERNS[name].tile
    size = (tile.width_mm, tile.height_mm)
    ends = [end for stroke in strokes(tile) for end in stroke]
    for end in ends:
        for axis in (0, 1):
            assert -SAME <= end[axis] <= size[axis] + SAME
            for edge, opposite in ((0.0, size[axis]), (size[axis], 0.0)):
                if abs(end[axis] - edge) < SAME:
                    assert any(
                        abs(other[axis] - opposite) < SAME
                        and apart(other[1 - axis], end[1 - axis], size[1 - axis]) < SAME
                        for other in ends
                    )


@pytest.mark.parametrize("name", [name for name, one in PATTERNS.items() if len(one.tile.dots) > 1])
def test_dots_stand_evenly(name):
    """To go from one dot to the next, from every dot, leads to a dot again; all are of one size."""
    tile = PATTERNS[name].tile
    size = (tile.width_mm, tile.height_mm)
    at = [dot[:2] for dot in tile.dots]
    assert len({round(dot[2], 6) for dot in tile.dots}) == 1
    for other in at[1:]:
        step = (other[0] - at[0][0], other[1] - at[0][1])
        for one in at:
            there = (one[0] + step[0], one[1] + step[1])
            assert any(all(apart(there[axis], dot[axis], size[axis]) < SAME for axis in (0, 1)) for dot in at)


@pytest.mark.parametrize("name", ["limestone", "chalk", "dolomite"])
def test_joints_of_bricks_run_from_bed_to_bed_and_are_staggered(name):
    tile = PATTERNS[name].tile
    wide, high = tile.width_mm, tile.height_mm
    levels = [one[1] for one, other in strokes(tile) if abs(one[1] - other[1]) < SAME]
    assert abs(levels[1] - levels[0]) == pytest.approx(high / 2.0)
    joints = [(one, other) for one, other in strokes(tile) if abs(one[1] - other[1]) > SAME]
    for end in (end for joint in joints for end in joint):
        assert any(apart(end[1], level, high) < SAME for level in levels) or end[1] in {0.0, high}
    leans = [(other[0] - one[0]) / (other[1] - one[1]) for one, other in joints]
    assert leans == pytest.approx([leans[0]] * len(leans))
    # Half a brick from course to course, each taken half way up.
    whole = next(joint for joint in joints if abs(joint[1][1] - joint[0][1]) == pytest.approx(high / 2.0))
    middle = (whole[0][0] + whole[1][0]) / 2.0
    at_edge = next(end[0] for joint in joints for end in joint if end[1] == 0.0)
    assert apart(at_edge, middle, wide) == pytest.approx(wide / 2.0)


@pytest.mark.parametrize(
    "beds", [("Mell Sandstone", "Orr Shale"), ("Ash Limestone", "Low Marl"), ("Upper", "Lower")]
)
def test_a_dike_of_no_named_rock_has_a_close_pattern_that_stands_for_none(beds):
    """Rings 2.7 mm apart left a dike of 2.5 mm white on a copy."""
    unit = partial(RockUnit, age=None, colour=None, span=Span("day.trav", 1, 1, 5))
    units = [unit(letters=f"U{at}", name=name) for at, name in enumerate(beds)]
    dike = unit(letters="Dk", name="Dun Dike", intrusive=True)
    (name,) = [one for one, it in PATTERNS.items() if it.tile == unit_patterns([*units, dike], {})["Dk"]]
    assert name not in STANDS_FOR_ROCK
    assert PATTERNS[name].pitch_pt * 25.4 / 72.0 < 2.0


def corners(name):
    """Of the first closed shape of a sign."""
    shape = symbol(name, (0.0, 0.0))[0]
    return [tuple(command[1:3]) for command in shape.commands if len(command) > 2]


def test_the_triangle_of_a_station_has_equal_sides_about_its_place():
    found = list(dict.fromkeys((round(x, 6), round(y, 6)) for x, y in corners("station triangle")))
    assert len(found) == 3
    sides = [math.dist(found[at], found[at - 1]) for at in range(3)]
    assert sides == pytest.approx([sides[0]] * 3, abs=1e-4)
    assert sum(x for x, _ in found) == pytest.approx(0.0, abs=1e-4)
    assert sum(y for _, y in found) == pytest.approx(0.0, abs=1e-4)


def test_the_stroke_and_dot_of_a_hazard_stand_within_its_triangle():
    """By shapely, clear of its sides."""
    triangle, *marks = symbol("hazard", (0.0, 0.0))
    room = shapely.Polygon([tuple(command[1:3]) for command in triangle.commands if len(command) > 2])
    low, high = room.bounds[1], room.bounds[3]
    assert len(marks) == 2
    tops = []
    for mark in marks:
        points = [
            pair for command in mark.commands for pair in zip(command[1::2], command[2::2], strict=True)
        ]
        assert all(room.buffer(-0.1).contains(shapely.Point(point)) for point in points)
        tops.append(max(y for _, y in points))
        assert min(x for x, _ in points) + max(x for x, _ in points) == pytest.approx(0.0, abs=1e-6)
    assert tops[0] > tops[1], "the stroke stands over the dot"
    assert low < 0.0 < high
