"""Pace courses and slope tables as printed."""

from __future__ import annotations

import math

import pytest

from tests.walk import conditions, pace, slope, walk
from traverse.length import METRES_PER_FOOT
from traverse.reduction.pace import pace_length_m, pace_sd_m
from traverse.reduction.slope import horizontal_distance, slope_rad
from traverse.survey import survey_log

# D. B. Hill, Univ. Kentucky Cooperative Extension, FOR-47 "Pacing": feet to a pace for a count over 66 ft.
# http://www2.ca.uky.edu/agcomm/pubs/for/for47/for47.htm. 10.5 is printed truncated.
FOR_47 = {
    10.0: 6.60, 10.5: 6.28, 11.0: 6.00, 11.5: 5.74, 12.0: 5.50, 14.5: 4.55, 15.0: 4.40, 15.5: 4.26, 16.0: 4.13,
    16.5: 4.00, 19.0: 3.47, 20.0: 3.30, 21.0: 3.14, 23.5: 2.81, 24.0: 2.75, 25.0: 2.64, 25.5: 2.59,
}  # fmt: skip


@pytest.mark.parametrize(("count", "feet"), FOR_47.items())
def test_pace_over_66_feet(count, feet):
    length = pace_length_m(pace(course=66 * METRES_PER_FOOT, counts=(count,)))
    assert length / METRES_PER_FOOT == pytest.approx(feet, abs=0.0065)


def test_eight_walks_of_200_feet():
    """D. Allison, Univ. South Alabama, GY403 lecture 3: mean 2.09 ft, squared deviations of the walks 0.0114.

    Second-hand, from a copy of the lecture; both follow from the eight counts.
    """
    course = pace(course=200 * METRES_PER_FOOT, counts=(95, 97, 95, 99, 93, 96, 94, 96))
    assert pace_length_m(course) / METRES_PER_FOOT == pytest.approx(2.09, abs=0.005)
    squares = (pace_sd_m(course) / METRES_PER_FOOT) ** 2 * 8 * 7
    assert squares == pytest.approx(0.0114, abs=0.0002)


def test_four_walks_of_100_metres():
    """Common practice, no source: 65, 66, 66, 67 over 100 m make 1.515 m, good to 0.6 per cent."""
    course = pace(course=100.0, counts=(65, 66, 66, 67))
    assert pace_length_m(course) == pytest.approx(1.515, abs=0.0005)
    assert pace_sd_m(course) / pace_length_m(course) == pytest.approx(0.006, abs=0.0005)


# Grade to degrees and cosine; derived for the method of US Navy, Engineering Aid Basic, p. 12-15 (slope correction).
GRADES = {
    5: (2.86, 0.9988),
    10: (5.71, 0.9950),
    30: (16.70, 0.9578),
    60: (30.96, 0.8575),
    100: (45.00, 0.7071),
}


@pytest.mark.parametrize(("grade", "expected"), GRADES.items())
def test_grades(grade, expected):
    degrees = math.degrees(slope_rad(slope(f"{grade}%")))
    assert degrees == pytest.approx(expected[0], abs=0.005)
    assert horizontal_distance(1.0, slope_deg=degrees) == pytest.approx(expected[1], abs=0.00005)


SLOPES = {1: (0.9998, 0.0175), 5: (0.9962, 0.0872), 15: (0.9659, 0.2588), 30: (0.8660, 0.5000)}


@pytest.mark.parametrize(("degrees", "expected"), SLOPES.items())
def test_slopes(degrees, expected):
    leg = survey_log(walk(("1", "2", 0.0, 1.0, {"slope": degrees}))).value.legs[0]
    assert (leg.horizontal_m, leg.rise_m) == pytest.approx(expected, abs=0.00005)


def test_expected_closure_of_equal_legs():
    """Derived: n legs of length l expect sqrt(n ((l p)^2 + (l a)^2)); 6 of 100 m, 2 per cent, 1 degree: 6.50 m."""
    at = conditions(pace=pace(1.0))
    ring = [(str(i), str((i + 1) % 6), 60.0 * i, "100p") for i in range(6)]
    [closure] = survey_log(walk(*ring, at=at)).value.closures
    assert closure.expected_m == pytest.approx(6.50, abs=0.005)
    assert closure.length_m / closure.expected_m == pytest.approx(92, abs=0.5)


def test_grid_azimuth_from_magnetic():
    """US Army common task, convert azimuths: magnetic 190 and an easterly G-M angle of 9 are grid 199; second-hand."""
    from traverse.log.readings import North

    at = conditions(bearings=North.MAGNETIC, declination=9.0)
    leg = survey_log(walk(("1", "2", 190.0, 100.0), at=at)).value.legs[0]
    assert leg.azimuth_true_deg == pytest.approx(199.0)
