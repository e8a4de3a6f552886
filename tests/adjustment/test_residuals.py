"""What the network shows of each reading."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import chi2

from tests.adjustment.test_least_squares import random_network
from tests.walk import conditions, control, pace, walk
from traverse.survey import survey_log
from traverse.trade import OUTLYING, chi_square_limit

SQUARE = [("1", "2", 92, "100p"), ("2", "3", 181, "100p"), ("3", "4", 272, "100p"), ("4", "1", 1, "100p")]


def square(*more, **settings):
    return survey_log(
        walk(*SQUARE, *more, at=conditions(pace=pace(1.0)), anyway="x", rule="least-squares", **settings)
    ).value


def readings(leg):
    return {"distance": leg.check.distance, "slope": leg.check.slope, "bearing": leg.check.bearing}


@pytest.mark.parametrize("seed", range(5))
def test_redundancy_adds_up_to_what_is_measured_twice(seed):
    """Three components for each loop: the sum of the redundancy numbers is the number of degrees of freedom."""
    log, _ = random_network(seed, stations=15, loops=4)
    survey = survey_log(log).value
    total = sum(one.redundancy for leg in survey.legs if leg.check for one in readings(leg).values())
    assert total == pytest.approx(12, abs=1e-6)
    assert survey.network_test.freedom == 12


def test_one_loop_has_the_q_of_its_closure():
    """With one loop the weighted squares are the closure's own chi-square, plan and height together."""
    survey = square()
    [closure] = survey.closures
    assert survey.network_test.chi_square == pytest.approx(closure.q + closure.q_up, rel=1e-6, abs=1e-9)


def test_nothing_checks_a_spur():
    survey = square(("3", "7", 120, "50p"))
    assert survey.legs[-1].check is None
    assert survey_log(walk(("1", "2", 90, 100))).value.network_test is None


def test_a_gross_bearing_in_a_braced_figure_stands_out():
    legs = [("1", "3", 136, "141p"), ("2", "4", 226, "141p")]
    wrong = [("1", "2", 92, "100p"), ("2", "3", 196, "100p"), *SQUARE[2:]]
    at = conditions(pace=pace(1.0))
    survey = survey_log(walk(*wrong, *legs, at=at, anyway="x", rule="least-squares")).value
    largest = max(
        (abs(one.standardised), (leg.booked.start, leg.booked.end), name)
        for leg in survey.legs
        for name, one in readings(leg).items()
        if one.standardised is not None
    )
    assert largest[0] > OUTLYING
    assert largest[1:] == (("2", "3"), "bearing")
    assert survey.legs[1].check.bearing.standardised > 0  # read too large
    assert survey.network_test.chi_square > survey.network_test.limit


@pytest.mark.parametrize("freedom", [1, 2, 3, 5, 10, 50, 1000])
def test_limit_against_the_distribution(freedom):
    assert chi_square_limit(freedom) == pytest.approx(chi2.ppf(0.95, freedom), rel=0.025)


def test_standardised_residuals_of_good_loops_are_standard():
    rng = np.random.default_rng(5)
    found = []
    for _ in range(150):
        legs = [
            (
                a,
                b,
                azimuth - 1 + rng.normal(0, 1),
                f"{100 * (1 + rng.normal(0, 0.02))}p",
                {"slope": rng.normal(0, 1)},
            )
            for a, b, azimuth, _ in SQUARE
        ]
        at = conditions(pace=pace(1.0))
        survey = survey_log(
            walk(*legs, at=at, controls=[control("1", 0, 0, 0)], anyway="x", rule="least-squares")
        ).value
        found += [one.standardised for leg in survey.legs for one in readings(leg).values()]
    assert np.std(found) == pytest.approx(1.0, abs=0.08)
