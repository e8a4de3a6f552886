"""All circuits at once, beside the brute-force solution of the whole walk in `slip_cases.py`."""

from __future__ import annotations

import random

import pytest

from tests.adjustment.slip_cases import SHAPES, score, walk
from tests.adjustment.tired import ACROSS, RING, walked
from traverse.adjustment.closure import judge_circuits
from traverse.adjustment.jointly import taken_together
from traverse.adjustment.network import build_network
from traverse.adjustment.vectors import draw
from traverse.location.known_points import known_points
from traverse.notation.read import read_log
from traverse.reduction.reduce import reduce_legs
from traverse.source import Source


def together(text):
    log = read_log(Source(name="day.trav", text=text), load=lambda _: None).value.log
    legs = reduce_legs(log).value
    network = build_network(log, known_points(log, None).value)
    vectors = draw(legs, network, None).vectors
    closings = judge_circuits(network, vectors, anyway=False)
    return taken_together(closings, network, vectors, ()), closings


@pytest.mark.parametrize("shape", [shape for shape in SHAPES if shape not in {"one loop", "heights"}])
def test_chi_square_is_that_of_the_whole_walk_solved_by_brute_force(shape):
    """The reference takes loops by singular values of the incidence; any basis of loops gives one chi-square."""
    chance = random.Random(5)  # noqa: S311 - simulated walks
    for _ in range(8):
        day = walk(chance, shape)
        found, _ = together(day.text)
        assert found is not None
        # What hangs on rounding: the reference takes covariances at the bearing as reconciled, as the program does.
        assert found.q == pytest.approx(score(day)[0], rel=1e-3)


def test_two_loops_with_a_common_side_count_less_than_each_by_itself():
    found, closings = together(walked(RING + ACROSS, seed=3).text)
    assert found is not None
    assert found.freedom == 4
    assert found.q != pytest.approx(sum(one.q for one in closings))
    assert not found.fails


def test_one_loop_is_judged_by_itself():
    found, _ = together(walked(RING, seed=3).text)
    assert found is None
