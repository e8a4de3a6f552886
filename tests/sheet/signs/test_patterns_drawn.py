"""Marks of each pattern: how large they are, how evenly and how far apart they stand, and how dark that is.

Sizes are our own, set for the copier, and were looked at on the page of signs; the rest is worked out here on a plane
that is covered with the tile.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
import shapely
from shapely import affinity

from traverse.sheet.paper.page import Tile, polyline
from traverse.sheet.signs.pattern import PATTERNS, Pattern

MM = 25.4 / 72.0
FINE = [name for name in PATTERNS if not name.endswith(", bold")]
SIZES_PT = {
    "gravel": (0.55, None, 2.4), "conglomerate": (0.55, 2.0, 4.8), "sand": (None, 1.6, None),
    "loose sand": (None, 1.7, None), "bedded sand": (0.6, 1.8, None), "silt": (0.7, 1.4, None),
    "shale": (0.62, None, None), "wide rules": (0.6, None, None), "marl": (0.6, None, None),
    "limestone": (0.55, None, None), "sandy limestone": (0.55, 1.8, None), "chalk": (0.55, None, None),
    "dolomite": (0.6, None, None), "coal": (1.4, None, None), "salt": (0.5, None, None),
    "granite": (0.6, None, None), "basalt": (0.7, None, None), "schist": (0.6, None, None),
    "slate": (0.6, None, None), "back slant": (0.8, None, None), "quartzite": (None, 2.3, None),
    "upright rules": (0.6, None, None), "cross hatch": (0.5, None, None),
}  # fmt: skip
"""Strokes, dots and open rings in points, the last two by their diameter."""
ALIKE = {
    "gravel", "loose sand", "quartzite", "granite", "basalt", "limestone", "chalk", "dolomite", "sandy limestone",
}  # fmt: skip
"""The second row as the first, half a step on."""
LEANING = {"dolomite", "slate", "back slant", "silt", "marl"}
"""Not the same from left to right as from right to left."""


def pieces(tile):
    """Strokes, rings and dots of a tile in points, as lines."""
    found, at, curve = [], None, []
    for operator, *numbers in tile.commands:
        point = tuple(value / MM for value in numbers[-2:])
        if operator == "M":
            curve = [point]
        elif operator == "C":
            curve.append(point)
        elif operator == "L":
            found.append(shapely.LineString([at, point]))
        if len(curve) == 5:
            middle = np.mean(curve[:4], axis=0)
            found.append(shapely.Point(middle).buffer(math.dist(middle, curve[0]), quad_segs=32).exterior)
            curve = []
        at = point or at
    return found, [shapely.Point(x / MM, y / MM) for x, y, _ in tile.dots]


def plane(tile, around=1):
    """Strokes and middles of dots on tiles around the first, in points."""
    wide, high = tile.width_mm / MM, tile.height_mm / MM
    steps = list(itertools.product(range(-around, around + 1), repeat=2))
    strokes, dots = pieces(tile)
    return tuple(
        shapely.union_all([affinity.translate(one, i * wide, j * high) for i, j in steps for one in group])
        for group in (strokes, dots)
    )


def distances(tile, at):
    """Of places (n, 2) in points from the nearest stroke and from the nearest dot of the plane."""
    points = shapely.points(at)
    return [shapely.distance(points, one) if not one.is_empty else np.zeros(len(at)) for one in plane(tile)]


def places(tile, count=24):
    """Spread evenly over a tile, off its own lines."""
    wide, high = tile.width_mm / MM, tile.height_mm / MM
    shares = (np.arange(count) + 0.37) / count
    return np.array(list(itertools.product(wide * shares, high * shares)))


@pytest.mark.parametrize("name", FINE)
def test_strokes_dots_and_rings_have_these_sizes(name):
    tile = PATTERNS[name].tile
    stroke, dot, ring = SIZES_PT[name]
    strokes, dots = pieces(tile)
    assert {round(2.0 * radius / MM, 6) for *_, radius in tile.dots} == ({dot} if dots else set())
    round_ones = {round(one.bounds[2] - one.bounds[0], 3) for one in strokes if one.is_closed}
    assert round_ones == ({ring} if ring else set())
    assert not strokes or tile.line_mm / MM == pytest.approx(stroke)


def levels(tile):
    """Heights of level strokes of a plane, and of dots without any, each once."""
    strokes, dots = plane(tile, 2)
    flat = [one.bounds for one in shapely.get_parts(strokes) if one.bounds[3] - one.bounds[1] < 1e-6]
    return sorted(
        {round(bounds[1], 6) for bounds in flat} or {round(one.y, 6) for one in shapely.get_parts(dots)}
    )


def rows_apart(pattern):
    """Of rules, courses and dashes: what is met on a straight line square to them."""
    wide, high = pattern.tile.width_mm / MM, pattern.tile.height_mm / MM
    if pattern.sort in {"rules and dots", "dashes and dots"}:
        return np.diff(levels(pattern.tile))
    if "rules" not in pattern.sort and pattern.sort not in {"grid", "hatch", "waves"}:
        return np.diff(levels(pattern.tile))
    turn = math.radians(
        {"slanting rules": 135.0, "back slanting rules": 45.0, "hatch": 45.0, "upright rules": 0.0}.get(
            pattern.sort, 90.0
        )
    )
    way, middle = np.array((math.cos(turn), math.sin(turn))) * 30.0, np.array((0.36 * wide, 0.41 * high))
    across = shapely.LineString([middle - way, middle + way])
    met = shapely.get_parts(across.intersection(plane(pattern.tile, 3)[0]))
    return np.diff(
        sorted(
            one
            for one in (across.project(shapely.Point(each.coords[0])) for each in met)
            if 20.0 < one < 40.0
        )
    )


@pytest.mark.parametrize("name", FINE)
def test_marks_stand_as_far_apart_as_is_said(name):
    """From the middle of a mark to that of the next; of rules, dashes and courses square to them."""
    pattern = PATTERNS[name]
    if any(word in pattern.sort for word in ("rule", "brick", "dash", "grid", "hatch", "waves")):
        steps = rows_apart(pattern)
        assert len(steps) > 1
        assert steps == pytest.approx([pattern.pitch_pt] * len(steps), rel=0.02)
        return
    strokes, dots = plane(pattern.tile)
    whole = shapely.get_parts(shapely.union_all([strokes.buffer(0.01, quad_segs=2), dots.buffer(0.01)]))
    marks = [one.centroid for one in whole]
    first = min(marks, key=lambda one: math.hypot(one.x - 3.0, one.y - 3.0))
    apart = sorted(first.distance(one) for one in marks if one is not first)
    # In four ways alike far.
    assert apart[:4] == pytest.approx([pattern.pitch_pt] * 4, rel=0.02)
    assert apart[3] == pytest.approx(apart[0], rel=1e-6)


@pytest.mark.parametrize("name", sorted(ALIKE))
def test_a_second_row_is_the_first_half_a_step_on(name):
    tile = PATTERNS[name].tile
    at = places(tile)
    step = np.array((tile.width_mm, tile.height_mm)) / MM / 2.0
    for one, other in zip(distances(tile, at), distances(tile, (at + step)), strict=True):
        assert np.abs(one - other).max() < 1e-6


@pytest.mark.parametrize("name", [name for name in FINE if name not in LEANING])
def test_marks_look_alike_from_left_and_from_right(name):
    """Mirrored in an upright line through the middle of a mark nothing changes."""
    tile = PATTERNS[name].tile
    strokes, dots = pieces(tile)
    bricks = "bricks" in PATTERNS[name].sort  # after two level courses stand their joints
    left, _, right, _ = strokes[2 if bricks else 0].bounds if strokes else dots[0].bounds
    middle = right if name in {"basalt", "schist"} else (left + right) / 2.0
    at = places(tile, 12)
    mirrored = np.column_stack(((2.0 * middle - at[:, 0]) % (tile.width_mm / MM), at[:, 1]))
    for one, other in zip(distances(tile, at), distances(tile, mirrored), strict=True):
        assert np.abs(one - other).max() < 1e-6


@pytest.mark.parametrize("name", PATTERNS)
def test_the_share_of_black_is_what_is_counted_on_the_plane(name):
    """By shapely; strokes that cross are counted twice, which adds a fifth at most."""
    one = PATTERNS[name]
    tile = one.tile
    room = shapely.box(0.0, 0.0, tile.width_mm / MM, tile.height_mm / MM)
    strokes, dots = plane(tile)
    drawn = strokes.buffer(tile.line_mm / MM / 2.0, cap_style="flat")
    drawn |= dots.buffer(tile.dots[0][2] / MM) if tile.dots else shapely.Polygon()
    assert 0.8 * one.ink < drawn.intersection(room).area / room.area < 1.01 * one.ink


def pattern(sort, pitch, ink):
    """Level rules of a tile of 10 mm square, as heavy as makes it so dark."""
    tile = Tile(
        name="x",
        width_mm=10.0,
        height_mm=10.0,
        commands=polyline([(0.0, 5.0), (10.0, 5.0)]),
        line_mm=10.0 * ink,
        dots=(),
    )
    return Pattern(tile=tile, sort=sort, pitch_pt=pitch)


@pytest.mark.parametrize(
    ("other", "by"),
    [
        (("rules", 5.0, 0.10), 0),
        (("dots", 5.0, 0.10), 1),
        (("rules", 6.9, 0.10), 0),
        (("rules", 7.1, 0.10), 1),
        (("rules", 3.6, 0.10), 0),
        (("rules", 3.5, 0.10), 1),
        (("rules", 5.0, 0.139), 0),
        (("rules", 5.0, 0.141), 1),
        (("rules", 5.0, 0.059), 1),
        (("dots", 10.0, 0.30), 3),
    ],
)
def test_patterns_are_told_from_each_other_by_sort_by_distance_and_by_grey(other, by):
    """By two fifths in distance and four hundredths in grey; common practice, no source."""
    one, beside = pattern("rules", 5.0, 0.10), pattern(*other)
    assert one.ink == pytest.approx(0.10)
    assert one.told_from(beside) == beside.told_from(one) == by


@pytest.mark.parametrize("name", [name for name in PATTERNS if name.endswith(", bold")])
def test_a_bold_pattern_is_the_same_marks_heavier_by_a_grey_that_is_seen(name):
    bold, fine = PATTERNS[name], PATTERNS[name.removesuffix(", bold")]
    assert (bold.sort, bold.pitch_pt, bold.tile.commands) == (fine.sort, fine.pitch_pt, fine.tile.commands)
    assert bold.ink - fine.ink > 0.03
    assert bold.tile.line_mm == pytest.approx(1.8 * fine.tile.line_mm)
    assert [dot[2] for dot in bold.tile.dots] == pytest.approx([1.35 * dot[2] for dot in fine.tile.dots])


@pytest.mark.parametrize(("name", "long"), [("marl", 5.5), ("silt", 4.0), ("granite", 3.0)])
def test_dashes_and_arms_of_crosses_are_all_as_long(name, long):
    """Over the edge of its tile a dash goes on; those at the edge of what is looked at are left out."""
    tile = PATTERNS[name].tile
    wide, high = tile.width_mm / MM, tile.height_mm / MM
    whole = shapely.get_parts(shapely.line_merge(plane(tile, 2)[0], directed=False))
    inner = shapely.box(-wide, -high, 2.0 * wide, 2.0 * high)
    parts = [part for one in whole if inner.contains(one) for part in shapely.get_parts(one)]
    lengths = {round(one.length, 4) for one in parts}
    assert lengths == ({long} if name != "granite" else {long / 2.0})
