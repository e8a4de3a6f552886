"""How much likelier a change makes all circuits together, beside the density of a normal law written out."""

import random

import numpy as np
import pytest

from tests.adjustment.slip_cases import SHAPES, walk
from traverse.adjustment.closure import judge_circuits
from traverse.adjustment.jointly import taken_together
from traverse.adjustment.misread.explained import AT_ONCE, Changes, Loops
from traverse.adjustment.network import build_network
from traverse.adjustment.vectors import draw
from traverse.location.known_points import known_points
from traverse.notation.read import read_log
from traverse.reduction.reduce import reduce_legs
from traverse.source import Source


def loops_of(text):
    log = read_log(Source(name="day.trav", text=text), load=lambda _: None).value.log
    legs = reduce_legs(log).value
    network = build_network(log, known_points(log, None).value)
    vectors = draw(legs, network, None).vectors
    closings = judge_circuits(network, vectors, anyway=False)
    together = taken_together(closings, network, vectors, ())
    return Loops.of(closings, vectors=vectors, together=together), together


def minus_twice_log(gap, spread):
    """Of a normal law, but for its constant."""
    return gap @ np.linalg.solve(spread, gap) + np.linalg.slogdet(spread)[1]


@pytest.mark.parametrize("shape", [shape for shape in SHAPES if shape not in {"one loop", "heights"}])
def test_a_change_is_ranked_by_how_much_likelier_all_circuits_are(shape):
    """Also of more changes than are solved in one go, and of those that two circuits share."""
    loops, together = loops_of(walk(random.Random(5), shape).text)  # noqa: S311 - a simulated walk
    assert together is not None
    size, count = len(loops.flat), AT_ONCE + 9
    assert size > 1
    rng = np.random.default_rng(11)
    plan = np.array([1.0, 1.0, 0.0])
    pairs = np.array([sorted(rng.choice(size, 2, replace=False)) for _ in range(count)])
    shift = rng.normal(0.0, 2.0, (count, 2, 3)) * plan
    # A leg of both circuits with an error of its own: what each grows by, and what they share.
    half = rng.normal(0.0, 0.5, (count, 3, 3)) * plan[:, None]
    grown = half @ half.transpose(0, 2, 1)
    shift[0], grown[0] = 0.0, 0.0
    changes = Changes(
        count=count,
        slip=np.repeat(np.arange(count), 2),
        circuit=pairs.ravel(),
        shift_m=shift.reshape(-1, 3),
        more_m2=np.repeat(grown, 2, axis=0),
        pair_slip=np.arange(count),
        first=pairs[:, 0],
        second=pairs[:, 1],
        pair_m2=0.5 * grown,
    )
    after = loops.changed(changes.circuit, changes.shift_m, changes.more_m2)
    found = loops.whole(changes, after)
    gap, spread = together.misclosure_m, together.covariance_m2
    before = minus_twice_log(gap, spread)
    assert found.rank[0] == pytest.approx(0.0, abs=1e-6)
    for at in range(count):
        moved, wider = gap.copy(), spread.copy()
        for side, circuit in enumerate(pairs[at]):
            here = slice(3 * circuit, 3 * circuit + 3)
            moved[here] += shift[at, side]
            wider[here, here] += grown[at]
        one, other = (slice(3 * circuit, 3 * circuit + 3) for circuit in pairs[at])
        wider[one, other] += 0.5 * grown[at]
        wider[other, one] += 0.5 * grown[at].T
        assert found.rank[at] == pytest.approx(minus_twice_log(moved, wider) - before, rel=1e-6, abs=1e-6)
        assert found.better[at] == pytest.approx(
            together.q - moved @ np.linalg.solve(wider, moved), rel=1e-6, abs=1e-6
        )
