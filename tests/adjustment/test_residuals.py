"""What the network shows of each reading."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import least_squares
from scipy.stats import chi2

from tests.adjustment.test_least_squares import random_network
from tests.oracle.turned_page import EPSG, START
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


@pytest.mark.parametrize("seed", range(5))
def test_each_reading_is_tested_as_by_the_hat_matrix_of_a_general_solver(seed):
    """Redundancy 1 - h and residual over its error, h the diagonal of J (J'J)^-1 J' of scipy.optimize.least_squares.

    Source: W. Baarda (1968), A testing procedure for use in geodetic networks, from memory; any text on regression.
    """
    log, _ = random_network(seed, stations=8, loops=4)
    survey = survey_log(log).value
    at = {name: i for i, name in enumerate(survey.places)}
    start, end = (np.array([at[getattr(leg, which)] for leg in log.legs]) for which in ("start", "end"))
    azimuth = np.radians([leg.bearing.azimuth_deg for leg in log.legs])
    slope = np.radians([leg.slope.value for leg in log.legs])
    length = np.array([leg.distance.value for leg in log.legs])
    found = np.array([[p.east_m, p.north_m, p.up_m] for p in survey.places.values()])

    def off(flat):
        place = np.vstack((found[:1], flat.reshape(-1, 3)))
        d = place[end] - place[start]
        level = np.hypot(d[:, 0], d[:, 1])
        turned = np.angle(np.exp(1j * (azimuth - np.arctan2(d[:, 0], d[:, 1])))) / np.radians(1.0)
        climb = (slope - np.arctan2(d[:, 2], level)) / np.radians(1.0)
        return np.concatenate(((length - np.hypot(level, d[:, 2])) / (0.02 * length), climb, turned))

    solved = least_squares(off, found[1:].ravel(), xtol=1e-12, ftol=1e-12)
    hat = solved.jac @ np.linalg.solve(solved.jac.T @ solved.jac, solved.jac.T)
    redundancy = np.clip(1.0 - np.diag(hat), 0.0, 1.0).reshape(3, -1)
    checked = redundancy > 0.02  # nothing checks a spur
    standardised = solved.fun.reshape(3, -1) / np.sqrt(np.where(checked, redundancy, 1.0))
    assert 9 < np.count_nonzero(checked) <= checked.size
    for index, leg in enumerate(survey.legs):
        if leg.check is None:
            assert not checked[:, index].any()
            continue
        for kind, one in enumerate(readings(leg).values()):
            assert one.redundancy == pytest.approx(redundancy[kind, index], abs=0.03)
            if checked[kind, index]:
                assert one.standardised == pytest.approx(standardised[kind, index], abs=0.2)


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


def test_each_reading_is_tested_alike_in_a_grid_of_another_north():
    """By the bearing as it lies on the ground: the north of this grid is 37° off true north."""
    legs = [*SQUARE, ("1", "3", 141, "145p"), ("2", "4", 226, "141p")]
    at = conditions(pace=pace(1.0))
    east, north = START
    lying = {"controls": [control("1", east, north, 0)], "epsg": EPSG}
    own, turned = (
        survey_log(walk(*legs, at=at, anyway="x", rule="least-squares", **how)).value for how in ({}, lying)
    )
    checked = 0
    for one, other in zip(own.legs, turned.legs, strict=True):
        for here, there in zip(readings(one).values(), readings(other).values(), strict=True):
            assert there.redundancy == pytest.approx(here.redundancy, abs=0.005)
            if here.standardised is not None:
                assert there.standardised == pytest.approx(here.standardised, abs=0.02)
                checked += abs(here.standardised) > 1.0
    assert checked > 4


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
