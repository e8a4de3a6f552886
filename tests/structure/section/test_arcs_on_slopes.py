"""Arcs over readings on a slope, each step held against the circle about the place where two normals meet.

The circle is solved for by numpy from the two readings alone: Busk (1929), Earth flexures, as `arc.py` names it.
"""

import math
from itertools import pairwise

import numpy as np
import pytest

from traverse.structure.section.arc import Arcs, centre
from traverse.structure.section.dip_domains import SectionFrame, SectionReading
from traverse.trade import AS_READ_M

SYNCLINE = [(0.0, 12.0, 48.0), (35.0, 3.0, 30.0), (80.0, -6.0, 11.0), (130.0, 2.0, -9.0), (170.0, 9.0, -33.0)]
ANTICLINE = [
    (0.0, 12.0, -44.0),
    (35.0, 3.0, -26.0),
    (80.0, -6.0, -8.0),
    (130.0, 2.0, 12.0),
    (170.0, 9.0, 30.0),
]
"""Distance, height, and how far the younger side leans toward increasing distance, degrees."""
MIRRORED = [(170.0 - x, z, -angle) for x, z, angle in SYNCLINE[::-1]]


def readings(rows):
    return tuple(SectionReading(at=(x, z), younging_rad=math.radians(angle)) for x, z, angle in rows)


def normal(angle):
    return np.array([math.sin(math.radians(angle)), math.cos(math.radians(angle))])


def solved(one, other):
    """Where the normals of two rows meet, and how far along each."""
    apart = np.subtract(other[:2], one[:2])
    first, second = np.linalg.solve(np.column_stack((normal(one[2]), -normal(other[2]))), apart)
    return np.array(one[:2]) + first * normal(one[2]), first, second


@pytest.mark.parametrize("rows", [SYNCLINE, ANTICLINE, MIRRORED])
def test_normals_meet_where_two_straight_lines_do(rows):
    for (one, other), pair in zip(pairwise(rows), pairwise(readings(rows)), strict=True):
        at, first, second = solved(one, other)
        place, on_left, on_right = centre(*pair)
        assert place == pytest.approx(tuple(at))
        assert (on_left, on_right) == pytest.approx((first, second))


@pytest.mark.parametrize(("turn_deg", "meet"), [(1.9, False), (2.1, True), (-1.9, False), (-2.1, True)])
def test_normals_within_two_degrees_are_parallel(turn_deg, meet):
    one, other = readings([(0.0, 5.0, 20.0), (50.0, 0.0, 20.0 + turn_deg)])
    assert (centre(one, other) is not None) is meet


def off_normal(point, row):
    """How far a place lies from the normal of a row."""
    way = normal(row[2])
    return abs(float(np.linalg.det([way, np.subtract(point, row[:2])])))


def sector_of(point, rows):
    """Between the normals of which two rows a place lies; -1 before all, one less than their number beyond all.

    Each normal is crossed one way by what keeps its younger side on the left, as all lean less than upright.
    """
    return (
        sum(float(np.linalg.det([normal(row[2]), np.subtract(point, row[:2])])) < -1e-6 for row in rows) - 1
    )


@pytest.mark.parametrize("sense", [1.0, -1.0])
@pytest.mark.parametrize("start", [(12.0, 9.0), (55.0, -1.0), (100.0, -4.0), (150.0, 6.0)])
@pytest.mark.parametrize("rows", [SYNCLINE, ANTICLINE, MIRRORED])
def test_a_bed_keeps_its_distance_from_the_centre_of_each_pair_and_is_straight_beyond(rows, start, sense):
    line = Arcs(readings=readings(rows)).trace(start, sense, reach_m=400.0)
    assert not line.no_space
    points = np.array(line.points)
    assert tuple(points[0]) == start
    corners = 0
    for before, after in pairwise(points):
        middle = (before + after) / 2.0
        at = sector_of(middle, rows)
        if at in {-1, len(rows) - 1}:
            # Straight on along the outermost reading.
            row = rows[0 if at < 0 else -1]
            assert abs(float((after - before) @ normal(row[2]))) < 1e-5
            continue
        centre_at, *_ = solved(rows[at], rows[at + 1])
        radii = [float(np.hypot(*(one - centre_at))) for one in (before, after)]
        assert radii[0] == pytest.approx(radii[1], abs=1e-5)
        # Chords of three degrees and no more, so that an arc is drawn round.
        turn = 2.0 * math.degrees(math.asin(np.hypot(*(after - before)) / 2.0 / radii[0]))
        assert turn <= 3.0 + 1e-6
        corners += 1
    assert corners > 1
    # It runs the way it was asked: with its younger side on the left, toward increasing distance.
    assert (points[-1][0] - points[0][0]) * sense > 0.0
    steps = np.hypot(*np.diff(points, axis=0).T)
    inside = [one for one in points[1:-1] if min(off_normal(one, row) for row in rows) < 1e-5]
    crossed = sector_of(points[-1] - 1e-3 * (points[-1] - points[-2]), rows) - sector_of(
        np.array(start), rows
    )
    assert len(inside) == abs(crossed)
    assert steps[-1] >= 399.0


@pytest.mark.parametrize(("turn_deg", "chords"), [(2.9, 1), (3.1, 2), (5.9, 2), (6.1, 3), (12.1, 5)])
def test_an_arc_has_as_many_chords_as_it_turns_by_three_degrees(turn_deg, chords):
    half = math.radians(turn_deg / 2.0)
    rows = [(-200.0 * math.sin(half), 0.0, turn_deg / 2.0), (200.0 * math.sin(half), 0.0, -turn_deg / 2.0)]
    line = Arcs(readings=readings(rows)).trace(rows[0][:2], 1.0, reach_m=30.0)
    assert len([one for one in line.points[1:] if one[0] <= rows[1][0] + 1e-6]) == chords


@pytest.mark.parametrize("sense", [1.0, -1.0])
@pytest.mark.parametrize("lean", [30.0, -25.0])
def test_like_readings_are_one_panel_that_ends_on_the_normal_of_the_next(lean, sense):
    """Straight along their mean, from the place to the other's normal, then along that reading."""
    rows = [(0.0, 0.0, lean), (100.0, 8.0, lean + 1.0)]
    start = (50.0, 3.0)
    line = Arcs(readings=readings(rows)).trace(start, sense, reach_m=200.0)
    mean = lean + 0.5
    target = rows[1 if sense > 0 else 0]
    first = np.subtract(line.points[1], line.points[0])
    assert abs(float(first @ normal(mean))) < 1e-9
    assert off_normal(line.points[1], target) < 1e-6
    last = np.subtract(line.points[-1], line.points[-2])
    assert abs(float(last @ normal(target[2]))) < 1e-6
    assert np.hypot(*last) == pytest.approx(200.0)


@pytest.mark.parametrize("sense", [1.0, -1.0])
@pytest.mark.parametrize("x", [-60.0, 230.0])
def test_from_beyond_all_readings_a_bed_comes_in_along_the_outermost_or_goes_off(x, sense):
    line = Arcs(readings=readings(SYNCLINE)).trace((x, 0.0), sense, reach_m=500.0)
    outer = SYNCLINE[0 if x < 0.0 else -1]
    inward = (sense > 0.0) == (x < 0.0)
    step = np.subtract(line.points[1], line.points[0])
    assert abs(float(step @ normal(outer[2]))) < 1e-6
    assert step[0] * sense > 0.0
    if inward:
        assert off_normal(line.points[1], outer) < 1e-6
        assert len(line.points) > 8
    else:
        assert len(line.points) == 2
        assert np.hypot(*step) == pytest.approx(500.0)


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_one_reading_alone_is_a_straight_bed(sense):
    (row,) = rows = [(40.0, 5.0, 35.0)]
    line = Arcs(readings=readings(rows)).trace((10.0, 2.0), sense, reach_m=70.0)
    assert len(line.points) == 2
    end = np.subtract(line.points[1], line.points[0])
    assert end == pytest.approx(
        sense * 70.0 * np.array([math.cos(math.radians(35.0)), -math.sin(math.radians(35.0))])
    )
    assert row[2] == 35.0


def test_a_bed_is_followed_no_farther_than_asked_or_out_of_the_frame():
    arcs = Arcs(readings=readings(SYNCLINE))
    whole = arcs.trace((12.0, 9.0), 1.0, reach_m=900.0)
    short = arcs.trace((12.0, 9.0), 1.0, reach_m=60.0)
    assert short.points == whole.points[: len(short.points)]
    run = np.cumsum(np.hypot(*np.diff(np.array(short.points), axis=0).T))
    assert run[-1] >= 60.0
    frame = SectionFrame(length_m=90.0, floor_m=-200.0, top_m=100.0)
    framed = arcs.trace((12.0, 9.0), 1.0, reach_m=900.0, frame=frame)
    assert framed.points == whole.points[: len(framed.points)]
    assert not frame.holds(framed.points[-1])
    assert len(framed.points) < len(whole.points)


@pytest.mark.parametrize("dz", [8.0, -8.0])
@pytest.mark.parametrize("rows", [SYNCLINE, ANTICLINE])
def test_a_place_off_the_ground_lies_between_those_normals_that_hold_it(rows, dz):
    """Near a normal that leans, it lies on the other side of it than the ground under it."""
    x, z, angle = rows[1]
    place = (x + (3.0 if dz * angle > 0.0 else -3.0), z + dz)
    line = Arcs(readings=readings(rows)).trace(place, 1.0, reach_m=300.0, ground_m=z)
    middle = (np.array(line.points[0]) + np.array(line.points[1])) / 2.0
    at = sector_of(np.array(place), rows)
    centre_at, *_ = solved(rows[at], rows[at + 1])
    radii = [float(np.hypot(*(np.array(one) - centre_at))) for one in line.points[:2]]
    assert radii[0] == pytest.approx(radii[1], abs=1e-5)
    assert sector_of(middle, rows) == at
    assert at != sector_of((place[0], z), rows)


@pytest.mark.parametrize("x", [34.0, 36.0])
def test_without_room_a_bed_begins_along_the_nearer_reading(x):
    rows = [(0.0, 0.0, 28.0), (70.0, 0.0, -114.0)]
    for reach in (300.0, 0.4 * AS_READ_M):
        line = Arcs(readings=readings(rows)).trace((x, 0.0), 1.0, reach_m=reach)
        assert line.no_space
        near = rows[0 if x < 35.0 else 1][2]
        run = min(AS_READ_M, reach)
        end = np.subtract(line.points[1], line.points[0])
        assert end == pytest.approx(
            run * np.array([math.cos(math.radians(near)), -math.sin(math.radians(near))]), abs=1e-6
        )
