"""Lines in the plane of a section against shapely: where they cross the ground, come out of it, and lie between two heights.

Each line is drawn at random over rough ground, so that no two figures of it are alike, and again the other way round.
"""

import math
from itertools import pairwise
from types import SimpleNamespace

import numpy as np
import pytest
import shapely

from traverse.structure.section.drawing_plane import (
    Plane,
    along,
    between_heights,
    comes_out,
    cut_by,
    emerges,
    meets_ground,
    pieces,
    plane_of,
    runs,
    straightened,
    with_bends,
)
from traverse.trade import DEEP_M

SEEDS = range(8)
LENGTH_M = 200.0


def ground_of(rng, *, count=9, rough_m=12.0):
    """Ground with bends at uneven distances."""
    distances = np.concatenate(([0.0], np.sort(rng.uniform(3.0, LENGTH_M - 3.0, count)), [LENGTH_M]))
    return plane_over(distances, 40.0 + rng.uniform(-rough_m, rough_m, len(distances)))


def plane_over(distances, heights):
    return Plane(
        distance_m=np.array(distances),
        up_m=np.array(heights),
        length_m=LENGTH_M,
        floor_m=min(heights) - 70.0,
        top_m=max(heights) + 50.0,
        level=False,
    )


def ground_line(plane):
    return shapely.LineString(np.column_stack((plane.distance_m, plane.up_m)))


def air_over(plane):
    return shapely.Polygon([*ground_line(plane).coords, (LENGTH_M, 1000.0), (0.0, 1000.0)])


def line_at_random(rng, sense):
    """From near one end to near the other, rising and falling through the ground."""
    x = np.sort(rng.uniform(2.0, LENGTH_M - 2.0, 11))[::sense]
    return [(float(one), float(z)) for one, z in zip(x, 40.0 + rng.uniform(-15.0, 15.0, 11), strict=True)]


def crossings(points, plane):
    """Runs at which a line crosses the ground, in order."""
    line = shapely.LineString(points)
    return sorted(
        line.project(one) for one in shapely.get_parts(line.intersection(ground_line(plane))).tolist()
    )


@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize("seed", SEEDS)
def test_a_line_is_cut_into_what_is_in_the_air_and_what_in_the_ground(seed, sense):
    rng = np.random.default_rng(seed)
    plane = ground_of(rng)
    air = air_over(plane)
    points = line_at_random(rng, sense)
    line = shapely.LineString(points)
    found = pieces(points, plane)
    for one, other in pairwise(found):
        assert one.points[-1] == pytest.approx(other.points[0])
        assert one.eroded is not other.eroded
    assert [line.project(shapely.Point(one.points[-1])) for one in found[:-1]] == pytest.approx(
        crossings(points, plane), abs=1e-6
    )
    for eroded, part in ((True, line.intersection(air)), (False, line.difference(air))):
        drawn = shapely.MultiLineString([one.points for one in found if one.eroded is eroded])
        assert drawn.length == pytest.approx(part.length, rel=1e-9)
        assert drawn.hausdorff_distance(part) < 1e-6


@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize("seed", SEEDS)
def test_a_line_that_starts_off_the_ground_comes_out_where_it_first_meets_it(seed, sense):
    rng = np.random.default_rng(100 + seed)
    plane = ground_of(rng)
    points = line_at_random(rng, sense)
    expected = shapely.LineString(points).interpolate(crossings(points, plane)[0])
    assert comes_out(points, plane) == pytest.approx((expected.x, expected.y), abs=1e-6)
    aloft = [(x, z + 60.0) for x, z in points]
    assert comes_out(aloft, plane) is None


@pytest.mark.parametrize("side", [1.0, -1.0])
@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize("seed", SEEDS)
def test_a_line_from_the_ground_emerges_where_it_comes_to_the_other_side(seed, sense, side):
    rng = np.random.default_rng(200 + seed)
    plane = ground_of(rng)
    start = 5.0 if sense > 0 else LENGTH_M - 5.0
    rest = [(x, z) for x, z in line_at_random(rng, sense) if (x - start) * sense > 15.0]
    points = [
        (start, plane.at(start)),
        (start + 10.0 * sense, plane.at(start + 10.0 * sense) + 25.0 * side),
        *rest,
    ]
    # Over the first ground it stays on that side: steeper than any ground here.
    met = [run for run in crossings(points, plane) if run > 1e-6]
    assert emerges(points, plane) == pytest.approx(met[0], abs=1e-6)
    assert emerges(points[:2], plane) is None
    assert emerges(points[:1], plane) is None


@pytest.mark.parametrize("side", [1.0, -1.0])
@pytest.mark.parametrize(("off_m", "left"), [(0.045, False), (0.055, True)])
def test_a_line_has_left_the_ground_when_it_is_five_centimetres_off(off_m, left, side):
    """It leaves it a little to one side, comes through it, stays on the other, and comes through it at last."""
    plane = plane_over([0.0, LENGTH_M], [40.0, 60.0])
    shape = [(20.0, 0.0), (30.0, off_m), (40.0, -off_m), (60.0, -5.0), (80.0, 5.0)]
    points = [(x, plane.at(x) + side * over) for x, over in shape]
    first, last = 35.0, 70.0
    ran = shapely.LineString(points).project(
        shapely.Point(first if left else last, plane.at(first if left else last))
    )
    assert emerges(points, plane) == pytest.approx(ran, abs=1e-6)


@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize("seed", SEEDS)
def test_of_a_line_that_stretch_is_kept_which_lies_longest_between_two_heights(seed, sense):
    rng = np.random.default_rng(300 + seed)
    points = line_at_random(rng, 1)
    points = points if sense > 0 else [(LENGTH_M - x, z) for x, z in points[::-1]]
    low, high = 34.0, 47.0
    parts = shapely.get_parts(
        shapely.LineString(points).intersection(shapely.box(0.0, low, LENGTH_M, high))
    ).tolist()
    widest = max(parts, key=lambda part: part.bounds[2] - part.bounds[0])
    found = shapely.LineString(between_heights(points, low, high))
    assert found.bounds == pytest.approx(widest.bounds, abs=1e-6)
    assert found.length == pytest.approx(widest.length, rel=1e-9)
    assert between_heights(points, 200.0, 300.0) == ()


def test_a_level_line_lies_between_two_heights_or_nowhere():
    points = [(0.0, 10.0), (30.0, 10.0), (70.0, 10.0)]
    assert between_heights(points, 5.0, 15.0) == tuple(points)
    assert between_heights(points, 11.0, 15.0) == ()


@pytest.mark.parametrize("seed", SEEDS)
def test_a_straight_line_cuts_another_where_shapely_says(seed):
    rng = np.random.default_rng(400 + seed)
    points = line_at_random(rng, 1)
    start, angle = (100.0, 40.0), rng.uniform(0.0, 2.0 * math.pi)
    way = (math.cos(angle), math.sin(angle))
    endless = shapely.LineString([(start[0] - 900 * way[0], start[1] - 900 * way[1]),
                                  (start[0] + 900 * way[0], start[1] + 900 * way[1])])  # fmt: skip
    line = shapely.LineString(points)
    met = sorted(line.project(one) for one in shapely.get_parts(line.intersection(endless)).tolist())
    run, cuts = cut_by(points, start, way)
    assert cuts is bool(met)
    assert run == pytest.approx(met[0] if met else line.length, abs=1e-6)
    # Not where it starts: it is on that line there.
    assert cut_by(points, points[0], (points[1][1] - points[0][1], points[0][0] - points[1][0]))[0] > 1e-3


@pytest.mark.parametrize("seed", SEEDS)
def test_the_first_of_a_line_ends_where_so_much_of_it_is_run(seed):
    rng = np.random.default_rng(500 + seed)
    points = line_at_random(rng, 1)
    line = shapely.LineString(points)
    for run in (*rng.uniform(0.5, line.length - 0.5, 4), line.length + 7.0):
        kept = shapely.LineString(along(points, float(run)))
        assert kept.length == pytest.approx(min(run, line.length))
        end = line.interpolate(min(run, line.length))
        assert kept.coords[-1] == pytest.approx((end.x, end.y))
    assert runs(points).tolist() == pytest.approx([line.project(shapely.Point(one)) for one in points])


@pytest.mark.parametrize("sense", [1, -1])
def test_a_line_has_a_point_at_each_bend_of_the_section(sense):
    rng = np.random.default_rng(600)
    points = line_at_random(rng, sense)
    bends = [31.0, 77.7, 78.4, 150.2, points[3][0]]
    found = with_bends(points, bends)
    inner = [bend for bend in bends if min(points)[0] < bend < max(points)[0]]
    assert sorted({x for x, _ in found}) == pytest.approx(sorted({*inner, *(x for x, _ in points)}))
    assert [x for x, _ in found] == sorted((x for x, _ in found), reverse=sense < 0)
    line = shapely.LineString(points)
    assert all(line.distance(shapely.Point(one)) < 1e-9 for one in found)


@pytest.mark.parametrize("sense", [1, -1])
def test_points_on_the_way_between_their_neighbours_are_left_out(sense):
    """A ten-millionth of a metre aside is still on the way, a thousandth is not."""
    rng = np.random.default_rng(650)
    bends = line_at_random(rng, sense)
    filled = bends[:1]
    for one, other in pairwise(bends):
        for share, off in ((0.2, 0.0), (0.5, 1e-7), (0.9, 0.0)):
            filled.append(tuple(a + share * (b - a) + off for a, b in zip(one, other, strict=True)))
        filled.append(other)
    assert straightened(filled) == tuple(bends)
    (x0, z0), (x1, z1) = bends[:2]
    aside = ((x0 + x1) / 2.0, (z0 + z1) / 2.0 + 1e-3)
    assert straightened([bends[0], aside, *bends[1:]]) == (bends[0], aside, *bends[1:])
    assert straightened(bends[:2]) == tuple(bends[:2])


@pytest.mark.parametrize("angle_deg", [0.5, 8.0, 25.0, 60.0, 88.0, 95.0, 140.0, 172.0])
@pytest.mark.parametrize("seed", range(4))
def test_a_line_through_a_place_meets_the_ground_at_the_nearest_of_both_ways(seed, angle_deg):
    rng = np.random.default_rng(700 + seed)
    plane = ground_of(rng)
    x = float(rng.uniform(60.0, 140.0))
    at = (x, plane.at(x) + float(rng.choice([-4.0, 4.0])))
    way = (math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg)))
    reach = 60.0
    span = reach / abs(way[0])
    whole = shapely.LineString([(at[0] - span * way[0], at[1] - span * way[1]),
                                (at[0] + span * way[0], at[1] + span * way[1])])  # fmt: skip
    ends = [(-9000.0, plane.at(0.0)), *ground_line(plane).coords, (9000.0, plane.at(LENGTH_M))]
    met = [one for one in shapely.get_parts(whole.intersection(shapely.LineString(ends))).tolist() if one]
    nearest = min(met, key=shapely.Point(at).distance, default=None)
    expected = (at[0], plane.at(at[0]))
    if nearest is not None and 0.0 <= nearest.x <= LENGTH_M:
        expected = (nearest.x, nearest.y)
    assert meets_ground(at, way, plane, reach_m=reach) == pytest.approx(expected, abs=1e-6)


def test_a_place_on_the_ground_and_an_upright_line_meet_it_where_they_are():
    plane = plane_over([0.0, 90.0, LENGTH_M], [40.0, 55.0, 30.0])
    assert meets_ground((70.0, plane.at(70.0)), (0.6, 0.8), plane, reach_m=50.0) == (70.0, plane.at(70.0))
    assert meets_ground((70.0, 90.0), (0.018, 1.0), plane, reach_m=50.0) == (70.0, plane.at(70.0))
    met = meets_ground((70.0, 90.0), (0.022, 1.0), plane, reach_m=50.0)
    assert met[0] < 69.5


def test_the_ground_rises_by_its_slope_over_five_metres_to_either_side():
    """And at the ends over what there is of it."""
    plane = plane_over([0.0, 100.0, 104.0, LENGTH_M], [40.0, 60.0, 64.0, 16.0])
    assert plane.rise_at(50.0) == pytest.approx(0.2)
    assert plane.rise_at(150.0) == pytest.approx(-0.5)
    # From 4 m before the foot of the step: to 1 m up it.
    assert plane.rise_at(96.0) == pytest.approx((61.0 - 58.2) / 10.0)
    assert plane.rise_at(1.0) == pytest.approx(0.2)
    assert plane.rise_at(198.0) == pytest.approx(-0.5)
    plane = plane_over([0.0, 2.0, 198.0, LENGTH_M], [40.0, 42.0, 42.0, 48.0])
    assert plane.rise_at(0.0) == pytest.approx(2.0 / 5.0)
    assert plane.rise_at(LENGTH_M) == pytest.approx(6.0 / 5.0)


@pytest.mark.parametrize(
    ("length_m", "heights", "below_m", "depth_m", "beyond_m"),
    [
        (100.0, (10.0, 40.0), 50.0, None, 80.0),  # the relief and what is asked for below it
        (4.0 * DEEP_M, (10.0, 12.0), 5.0, None, DEEP_M),
        (DEEP_M, (10.0, 12.0), 5.0, None, DEEP_M / 4.0),
        (9.0 * DEEP_M, (10.0, 12.0), 5.0, None, DEEP_M),
        (100.0, (10.0, 40.0), 50.0, 95.0, 95.0),
        (100.0, (), 10.0, None, 25.0),  # no height: level at 0
    ],
)
def test_the_plane_of_a_section_reaches_as_far_below_the_ground_as_above(
    length_m, heights, below_m, depth_m, beyond_m
):
    profile = [
        SimpleNamespace(distance_m=at, up_m=up)
        for at, up in zip(np.linspace(0.0, length_m, max(len(heights), 1)), heights, strict=False)
    ]
    section = SimpleNamespace(profile=profile, length_m=length_m, depth_m=depth_m)
    plane = plane_of(section, below_m=below_m)
    low, high = (min(heights), max(heights)) if heights else (0.0, 0.0)
    assert (plane.floor_m, plane.top_m) == pytest.approx((low - beyond_m, high + beyond_m))
    assert plane.level is not bool(heights)
    assert plane.length_m == length_m
    assert plane.at(length_m / 2.0) == pytest.approx((low + high) / 2.0)
    # A line of that length leaves it from anywhere inside, whichever way it goes.
    assert plane.reach_m > math.hypot(plane.length_m, plane.top_m - plane.floor_m)
