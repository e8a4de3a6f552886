"""Parts of the search for a wrong reading, each on a walk of a leg or three that is worked out by hand."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest

from tests.walk import conditions, walk
from traverse.adjustment.jointly import Together
from traverse.adjustment.misread.ends import _Reachable
from traverse.adjustment.misread.explained import Changes, Check, Loops, _with_checks
from traverse.adjustment.misread.forest import Forest
from traverse.adjustment.misread.rerouted import Rerouted
from traverse.adjustment.misread.slips import Slip
from traverse.adjustment.misread.trials import Trials, two_together
from traverse.adjustment.misread.turned import _angles, _Walk
from traverse.adjustment.records import Step

PLAN = np.diag((1.0, 1.0, 0.0))


def network(*legs, leg_count=None):
    """Stations 0, 1, 2 … joined by legs `(start, end)`; those that first come to a station are the forest."""
    reached, forest = {legs[0][0]}, []
    for edge, (_, end) in enumerate(legs):
        if end not in reached:
            reached.add(end)
            forest.append((edge, True))
    return SimpleNamespace(
        names=[str(one) for one in range(max(map(max, legs)) + 1)],
        start=np.array([start for start, _ in legs]),
        end=np.array([end for _, end in legs]),
        forest=forest,
        roots=(legs[0][0],),
        fixes={},
        leg_count=len(legs) if leg_count is None else leg_count,
    )


# --- ended at another station -----------------------------------------------------------------------------------


@pytest.mark.parametrize(("off_m", "reached"), [(7.7, True), (7.8, False)])
@pytest.mark.parametrize("way", [(1.0, 0.0), (0.0, -1.0), (-0.6, 0.8)])
def test_a_leg_may_have_ended_as_far_off_as_it_and_the_walk_there_are_off(way, off_m, reached):
    """Variances of 4 + 4 m² of the leg and 1 + 1 m² of the walk: in 95 of 100 within √(5.99 · 10) = 7.74 m.

    Source: chi-square of two degrees of freedom, 5.99 at 0.95, any table.
    """
    legs = network((0, 1), (0, 2))
    at = (100.0 + off_m * way[0], off_m * way[1], 0.0)
    drawn = SimpleNamespace(
        raw=SimpleNamespace(position_m=np.array([(0.0, 0.0, 0.0), at, (300.0, 300.0, 0.0)])),
        vectors=SimpleNamespace(
            observed_m=np.array([at, (100.0, 0.0, 0.0)]), covariance_m2=np.array([PLAN, 4.0 * PLAN])
        ),
    )
    assert (1 in _Reachable(legs, drawn).near(0, 1)) == reached


def test_a_station_was_reached_after_a_leg_that_was_walked_before_the_one_that_came_to_it():
    """Of a way that is none of the walk, such as a tie to a known point, that is not asked."""
    tree = Forest(network((0, 1), (1, 2), (2, 3), leg_count=2))
    assert [tree.reached_after(2, edge) for edge in (0, 1, 2)] == [True, True, False]
    assert not tree.reached_after(0, 0)  # where the walk begins
    assert not tree.reached_after(3, 0)


# --- another way ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("over", "times"),
    # Off a leg that it ran over, on it a second time, and on the leg that it did not run over.
    [([(0, -1.0)], (-1.0, 1.0)), ([(0, 1.0)], (3.0, 1.0))],
)
def test_a_circuit_grows_less_sure_by_how_often_it_runs_over_a_leg(over, times):
    """The error of a leg counts by the square of how often it is walked: 0 for 1, 4 for 1, 1 for 0."""
    loops = SimpleNamespace(steps=[[Step(edge=0, forward=True)]], together=None)
    covariance = np.array([PLAN, 10.0 * PLAN])
    place = np.array([(0.0, 0.0, 0.0), (30.0, 0.0, 0.0), (30.0, 40.0, 5.0)])
    drawn = SimpleNamespace(
        raw=SimpleNamespace(position_m=place), vectors=SimpleNamespace(covariance_m2=covariance)
    )
    ((circuit, shift, growth),), pairs = Rerouted(network((0, 1), (1, 2)), loops, drawn).by(0, 2, over)
    assert (circuit, pairs) == (0, [])
    assert shift == pytest.approx(over[0][1] * place[2])
    assert growth == pytest.approx(times[0] * covariance[0] + times[1] * covariance[1])


# --- a compass set anew -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("turn_deg", [20.0, -35.0])
def test_the_turn_that_closes_best_is_likelier_where_the_compass_changed_hands(turn_deg):
    """50 m east after the first leg: turned by that angle, they end where they should."""
    turn = math.radians(turn_deg)
    later = np.array((50.0, 0.0, 0.0))
    turned = np.array((50.0 * math.cos(turn), -50.0 * math.sin(turn), 0.0))
    loops = SimpleNamespace(
        steps=[[Step(edge=0, forward=True), Step(edge=1, forward=True)]], misclosure_m=[later - turned]
    )
    vectors = SimpleNamespace(
        observed_m=np.array([(0.0, 100.0, 0.0), later]), covariance_m2=np.array([PLAN, PLAN])
    )
    way = _Walk(loops, 0, SimpleNamespace(leg_count=2), SimpleNamespace(vectors=vectors))
    same, second = walk(("1", "2", 0, "100m"), ("2", "3", 90, "50m"), at=conditions()).legs
    other = SimpleNamespace(conditions=SimpleNamespace(compass="old", reader="MO"))
    ranks = []
    for before in (same, other):
        legs = SimpleNamespace(
            booked=(before, second), declination_deg=np.zeros(2), reading_sd_deg=np.ones(2)
        )
        ((found, words, rank),) = _angles(legs, 1, way, 1)
        assert (found, words) == (pytest.approx(turn_deg), "")
        ranks.append(rank)
    # By as much as a declination set is; and any angle stays less likely than that.
    assert ranks == pytest.approx([6.0 + 6.0, 6.0])


# --- two slips --------------------------------------------------------------------------------------------------


def paired(*slips, gap_m=20.0):
    """The two of slips `(leg, metres east)` that make up a gap, in a circuit where a metre is left unasked."""
    trials = Trials()
    for edge, shift_m in slips:
        slip = Slip(edge=edge, slip="a hundred too many", reading=f"{shift_m}m", stretch=2.0)
        trials.add(slip, 0.0, [(0, np.array((shift_m, 0.0, 0.0)), np.zeros((3, 3)))])

    def changed(circuit, shift, more):
        off = np.abs(shift[:, 0] - gap_m)
        return SimpleNamespace(mends=off < 1.0, rank=off)

    loops = SimpleNamespace(
        misclosure_m=np.array([(-gap_m, 0.0, 0.0)]),
        covariance_m2=np.array([np.eye(3)]),
        failing=[True],
        changed=changed,
    )
    return two_together(trials, loops, 0, ())


def test_two_slips_stand_alone_only_where_no_other_legs_would_do_as_well():
    """15 m on leg 1 go with 5 m on leg 2, and as well with 5 m on leg 3."""
    _, found = paired((1, 15.0), (2, 5.0))
    assert {one.edge for one in found.slips} == {1, 2}
    assert found.alone
    assert not paired((1, 15.0), (2, 5.0), (3, 5.0))[1].alone
    assert not paired((3, 15.0), (2, 5.0), (1, 5.0))[1].alone
    assert paired((1, 15.0), (2, 5.0), (2, 5.2))[1].alone  # two figures of one leg
    assert paired((1, 15.0), (2, 7.0)) is None


# --- what else checks the walk ----------------------------------------------------------------------------------


def check(off_m, *steps):
    """A sight to a known point, of its east and north, off by so much; good to a metre."""
    return Check(
        steps=steps, misclosure_m=np.array((*off_m, 0.0)), covariance_m2=np.diag((1.0, 1.0, 1.0)), onto=PLAN
    )


@pytest.mark.parametrize("way", [(1.0, 0.0), (0.0, -1.0), (-0.6, 0.8)])
def test_a_sight_is_to_be_mended_where_it_is_off_by_more_than_one_in_a_hundred_is(way):
    """The walk there and the sight, 1 m² each: √(9.21 · 2) = 4.29 m. Source: chi-square, 9.21 at 0.99, any table."""
    vectors = SimpleNamespace(covariance_m2=np.array([PLAN]))
    step = Step(edge=0, forward=True)
    checks = [check((off * way[0], off * way[1]), step) for off in (4.2, 4.4, 0.0)]
    loops = Loops.of((), checks, vectors=vectors)
    assert loops.failing.tolist() == [False, True, False]
    assert loops.q == pytest.approx([4.2**2 / 2.0, 4.4**2 / 2.0, 0.0])


def test_a_sight_shares_with_a_circuit_the_legs_that_both_run_over():
    """A loop over legs 0 and 1, a sight from the end of leg 0: they share its 4 m²; a plan tells two figures."""
    vectors = SimpleNamespace(covariance_m2=np.array([4.0 * PLAN, 9.0 * PLAN]))
    steps = [(Step(edge=0, forward=True), Step(edge=1, forward=False)), (Step(edge=0, forward=True),)]
    gap, loop = np.array((3.0, -2.0, 0.0)), np.diag((50.0, 50.0, 1.0))  # with what pacers share
    own = np.diag((5.0, 5.0, 1.0))
    found = _with_checks(
        Together(misclosure_m=gap, covariance_m2=loop, q=0.0, freedom=2),
        steps,
        np.array([np.eye(3), PLAN]),
        np.array([True, False]),
        np.array([gap, (1.0, 6.0, 0.0)]),
        np.array([loop, own]),
        vectors,
    )
    shared = np.zeros((6, 6))
    shared[:3, :3], shared[3:, 3:] = loop, own
    shared[:3, 3:] = shared[3:, :3] = np.diag((4.0, 4.0, 0.0))
    assert found.covariance_m2 == pytest.approx(shared, abs=1e-6)
    assert found.misclosure_m == pytest.approx((3.0, -2.0, 0.0, 1.0, 6.0, 0.0))
    assert found.freedom == 4
    # East and north apart, each two of a variance 50 and 5 with 4 in common: (5 a² - 8 a b + 50 b²) / 234.
    each = [(5.0 * a * a - 8.0 * a * b + 50.0 * b * b) / 234.0 for a, b in ((3.0, 1.0), (-2.0, 6.0))]
    assert found.q == pytest.approx(sum(each), abs=1e-5)


@pytest.mark.parametrize(("flat", "better"), [(False, 9.0 + 4.0), (True, 9.0)])
def test_a_slip_of_slope_mends_the_height_of_a_circuit_that_has_one(flat, better):
    """3 m east and 2 m up are made up for, each good to a metre; a second circuit stays as it is."""
    gap = np.array((-3.0, 0.0, 0.0 if flat else -2.0, 1.0, 1.0, 1.0))
    none = np.zeros(2, dtype=np.bool_)
    loops = Loops(
        closings=(), steps=((), ()), misclosure_m=gap.reshape(2, 3), covariance_m2=np.array([np.eye(3)] * 2),
        flat=np.array([flat, False]), climbs=~none, onto=None, failing=~none, in_height=none, q=np.zeros(2),
        likelihood=np.zeros(2), limits=(9.0, 7.0),
        together=Together(misclosure_m=gap, covariance_m2=np.eye(6), q=float(gap @ gap), freedom=6),
    )  # fmt: skip
    nothing = np.zeros(0, dtype=np.intp)
    changes = Changes(
        count=1, slip=np.array([0]), circuit=np.array([0]), shift_m=np.array([(3.0, 0.0, 2.0)]),
        more_m2=np.zeros((1, 3, 3)), pair_slip=nothing, first=nothing, second=nothing, pair_m2=np.zeros((0, 3, 3)),
    )  # fmt: skip
    whole = loops.whole(changes, loops.changed(changes.circuit, changes.shift_m, changes.more_m2))
    assert whole.better == pytest.approx([better])
    assert whole.rank == pytest.approx([-better])
