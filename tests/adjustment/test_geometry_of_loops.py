"""What turning, mirroring, scaling and re-ordering a loop must do to its closure and its places."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.walk import conditions, control, pace, walk
from traverse.survey import survey_log

RULES = st.sampled_from(["compass-rule", "least-squares"])
RING = st.lists(
    st.tuples(st.floats(0, 359.9), st.floats(20, 300), st.floats(-15, 15)), min_size=3, max_size=8
)
PACED = conditions(pace=pace(1.0))


def ring(readings, rule, *, turn=0.0, scale=1.0, mirror=1.0):
    count = len(readings)
    legs = [
        (str(i), str((i + 1) % count), (mirror * a + turn) % 360, f"{scale * d}p", {"slope": s})
        for i, (a, d, s) in enumerate(readings)
    ]
    controls = [control("0", 0, 0, 0)]
    log = walk(*legs, at=PACED, controls=controls, rule=rule, anyway="to see")
    return survey_log(log, explain=False).value


def plan(survey):
    return np.array([(place.east_m, place.north_m) for place in survey.places.values()])


def turned(points, degrees):
    a = np.radians(degrees)
    return points @ np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])


@given(RING, RULES, st.floats(0, 360))
def test_turning_a_loop_turns_the_answer_and_nothing_else(readings, rule, turn):
    straight, other = ring(readings, rule), ring(readings, rule, turn=turn)
    assert plan(other) == pytest.approx(turned(plan(straight), turn), abs=1e-6)
    assert other.closures[0].q == pytest.approx(straight.closures[0].q, rel=1e-6, abs=1e-9)
    assert other.closures[0].q_up == pytest.approx(straight.closures[0].q_up, rel=1e-6, abs=1e-9)


@given(RING, RULES)
def test_mirroring_a_loop_mirrors_the_answer(readings, rule):
    straight, other = ring(readings, rule), ring(readings, rule, mirror=-1.0)
    assert plan(other) == pytest.approx(plan(straight) * (-1.0, 1.0), abs=1e-6)
    assert other.closures[0].misclosure.distance_m == pytest.approx(
        straight.closures[0].misclosure.distance_m, abs=1e-6
    )


@given(RING, RULES, st.floats(0.3, 4.0))
def test_scaling_a_loop_scales_the_answer(readings, rule, scale):
    straight, other = ring(readings, rule), ring(readings, rule, scale=scale)
    assert plan(other) == pytest.approx(plan(straight) * scale, abs=1e-6)
    assert other.closures[0].q == pytest.approx(straight.closures[0].q, rel=1e-6, abs=1e-9)


@given(RING, RULES)
def test_starting_elsewhere_on_the_loop_gives_the_same_shape(readings, rule):
    straight, other = ring(readings, rule), ring([*readings[1:], readings[0]], rule)
    moved = plan(straight)
    shape = np.roll(moved, -1, axis=0) - moved[1]
    assert plan(other) == pytest.approx(shape, abs=1e-6)


@given(RING)
def test_a_loop_that_closes_exactly_is_left_alone(readings):
    """The last leg is the way home as it is."""
    east, north, up = 0.0, 0.0, 0.0
    for azimuth, distance, slope in readings:
        level = distance * np.cos(np.radians(slope))
        east += level * np.sin(np.radians(azimuth))
        north += level * np.cos(np.radians(azimuth))
        up += distance * np.sin(np.radians(slope))
    flat = float(np.hypot(east, north))
    if flat < 1.0:
        return
    home = (
        float(np.degrees(np.arctan2(-east, -north))) % 360,
        float(np.hypot(flat, up)),
        float(np.degrees(np.arctan2(-up, flat))),
    )
    survey = ring([*readings, home], "compass-rule")
    assert survey.closures[0].misclosure.distance_m == pytest.approx(0.0, abs=1e-6)
    assert survey.closures[0].ratio is None or survey.closures[0].ratio > 1e6
    for place in survey.places.values():
        assert (place.east_m, place.north_m) == pytest.approx((place.raw.east_m, place.raw.north_m), abs=1e-6)


@given(st.floats(0, 359.9), st.floats(10, 300), st.floats(-30, 30))
def test_a_leg_walked_backwards_agrees(azimuth, distance, slope):
    there = ("1", "2", azimuth, distance, {"slope": slope})
    back = ("2", "1", (azimuth + 180) % 360, distance, {"slope": -slope})
    [closure] = survey_log(walk(there, back)).value.closures
    assert closure.misclosure.distance_m == pytest.approx(0.0, abs=1e-9)
    assert closure.misclosure.up_m == pytest.approx(0.0, abs=1e-9)
    assert closure.adjusted
