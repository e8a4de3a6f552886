"""The error of a pace's calibration: what it does to a tie, to a loop and to ellipses, against walks that are simulated."""

from __future__ import annotations

import numpy as np
import pytest

from tests.walk import conditions, control, pace, walk
from traverse.log.readings import Precision
from traverse.survey import survey_log

COURSE = pace(course=100.0, counts=(130, 132, 134))
"""Good to a share of 1 in 114: walks of 130, 132 and 134 paces, standard error 1.155 of 132."""
SHARE = 0.00875
EXACT = conditions(pace=COURSE, precision=Precision(bearing_deg=1e-6, slope_deg=1e-6, pace_share=1e-6))
OUT = [(str(i), str(i + 1), 90, "132p") for i in range(1, 11)]


def test_between_known_points_it_adds_up_along_the_line():
    """By hand: 10 legs of 132 paces are 1000 m, so 8.75 m are expected and a gap of 10 m is no failure."""
    survey, said = survey_log(walk(*OUT, at=EXACT, controls=[control("1", 0, 0), control("11", 1010, 0)]))
    [closure] = survey.closures
    assert closure.expected_m == pytest.approx(8.75, abs=0.02)
    assert closure.q == pytest.approx((10 / 8.75) ** 2, rel=0.05)
    assert closure.shares.calibration == pytest.approx(1.0, abs=1e-3)
    assert "closure-fails" not in {one.code for one in said}


def test_walks_that_count_alike_by_chance_are_not_taken_for_exact():
    """By hand: 8 degrees of freedom at the stated 2 per cent, 2 at nothing, of three walks: 0.0004 * 0.8 / 3."""
    at = conditions(
        pace=pace(course=100.0, counts=(132, 132, 132)),
        precision=Precision(bearing_deg=1e-6, pace_share=0.02),
    )
    survey, _ = survey_log(walk(*OUT, at=at, controls=[control("1", 0, 0), control("11", 1005, 0)]))
    alike, legs = 1000 * (0.0004 * 0.8 / 3) ** 0.5, 2.0 * 10**0.5
    assert survey.closures[0].expected_m == pytest.approx((alike**2 + legs**2) ** 0.5, rel=0.01)


def test_a_loop_of_one_pacer_can_not_show_it_and_says_so():
    legs = [("1", "2", 0, "132p"), ("2", "3", 90, "132p"), ("3", "4", 180, "132p"), ("4", "1", 270, "132p")]
    survey, said = survey_log(walk(*legs, at=EXACT))
    assert survey.closures[0].expected_m < 0.01
    [unchecked] = [one for one in said if one.code == "unchecked"]
    assert "pace length" in unchecked.message


def test_ellipses_grow_along_the_way_from_the_known_point():
    survey = survey_log(walk(*OUT, at=EXACT, controls=[control("1", 0, 0)])).value
    assert survey.places["11"].sd_east_m == pytest.approx(1000 * SHARE, rel=0.01)
    assert survey.places["6"].sd_east_m == pytest.approx(500 * SHARE, rel=0.01)
    assert survey.places["11"].sd_north_m < 0.1


def test_between_two_known_points_the_pace_is_mended():
    """Exact readings and a pace one in a hundred too short: all stations lie where they are."""
    survey = survey_log(
        walk(*OUT, at=EXACT, controls=[control("1", 0, 0), control("11", 1010, 0)], rule="least-squares")
    ).value
    assert survey.places["6"].east_m == pytest.approx(505, abs=0.01)
    assert survey.places["6"].sd_east_m < 0.1


def test_ellipses_of_95_in_100_hold_as_many():
    """Against simulated walks: 400 pacers with a calibration of their own, one far station."""
    rng = np.random.default_rng(3)
    at = conditions(pace=COURSE, precision=Precision(bearing_deg=1.0, pace_share=0.02))
    survey = survey_log(walk(*OUT, at=at, controls=[control("1", 0, 0)])).value
    place = survey.places["11"]
    # By hand: 2 degrees of freedom of walks that scatter by 2 of 132, 8 at the stated 2 per cent, of three walks.
    course = ((8 * 0.02**2 + 2 * 0.01515**2) / 10 / 3) ** 0.5
    length = 100.0 * (1 + rng.normal(0, 0.02, (400, 10))) * (1 + rng.normal(0, course, (400, 1)))
    azimuth = np.radians(90 + rng.normal(0, 1.0, (400, 10)))
    east, north = (length * np.sin(azimuth)).sum(axis=1), (length * np.cos(azimuth)).sum(axis=1)
    q = ((east - place.east_m) / place.sd_east_m) ** 2 + ((north - place.north_m) / place.sd_north_m) ** 2
    assert 0.92 < float((q < 5.99).mean()) < 0.98
