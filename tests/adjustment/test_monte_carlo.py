"""Many loops walked with known errors: what the report promises happens as often as it says.

References: chi-square and Kolmogorov-Smirnov by scipy.stats; 39.3 % is 1 - exp(-1/2), the share of a plane normal
distribution within its ellipse of one standard deviation.
"""

import math

import numpy as np
import pytest
from scipy import stats

from tests.thorough import either
from tests.walk import conditions, control, pace, walk
from traverse.log.readings import Precision
from traverse.survey import survey_log

LOOPS = either(700, 2_000)
BEARING, SLOPE, SHARE = 1.5, 1.0, 0.02
AT = np.array(
    [(0, 0, 0), (80, 40, 6), (150, 20, 2), (190, -60, -8), (140, -150, -3), (60, -170, 4), (-10, -110, 9), (-50, -40, 3)],
    dtype=float,
)  # fmt: skip


@pytest.fixture(scope="module")
def walked():
    """One log of many loops of the same shape, each on a control of its own, a kilometre apart."""
    rng = np.random.default_rng(20)
    count = len(AT)
    ways = np.roll(AT, -1, axis=0) - AT
    ground = np.linalg.norm(ways, axis=1)
    azimuth = np.degrees(np.arctan2(ways[:, 0], ways[:, 1])) + rng.normal(0, BEARING, (LOOPS, count))
    slope = np.degrees(np.arcsin(ways[:, 2] / ground)) + rng.normal(0, SLOPE, (LOOPS, count))
    paces = ground * (1 + rng.normal(0, SHARE, (LOOPS, count)))
    legs = [
        (f"{loop}.{i}", f"{loop}.{(i + 1) % count}", float(azimuth[loop, i]), f"{paces[loop, i]:.6f}p", {"slope": float(slope[loop, i])})
        for loop in range(LOOPS)
        for i in range(count)
    ]  # fmt: skip
    at = conditions(
        pace=pace(1.0), precision=Precision(bearing_deg=BEARING, slope_deg=SLOPE, pace_share=SHARE)
    )
    controls = [control(f"{loop}.0", 1000.0 * loop, 0, 0) for loop in range(LOOPS)]
    log = walk(*legs, at=at, controls=controls, rule="least-squares", anyway="to count all")
    return survey_log(log, explain=False).value


def test_q_is_chi_square_with_two_degrees_of_freedom_and_q_up_with_one(walked):
    q = [one.q for one in walked.closures]
    assert len(q) == LOOPS
    assert stats.kstest(q, stats.chi2(2).cdf).pvalue > 0.01
    assert stats.kstest([one.q_up for one in walked.closures], stats.chi2(1).cdf).pvalue > 0.01


def test_the_test_at_99_in_100_rejects_one_good_loop_in_a_hundred(walked):
    rejected = sum(one.q > 9.21 for one in walked.closures)
    low, high = stats.binom(LOOPS, 0.01).interval(0.998)
    assert low <= rejected <= high
    warned = sum(one.q > 5.99 for one in walked.closures)
    low, high = stats.binom(LOOPS, 0.05).interval(0.998)
    assert low <= warned <= high


@pytest.mark.parametrize("station", [1, 3, 5, 7])
def test_ellipses_hold_39_in_100_of_the_true_places(walked, station):
    inside = 0
    for loop in range(LOOPS):
        place = walked.places[f"{loop}.{station}"]
        east = place.east_m - 1000.0 * loop - AT[station, 0]
        north = place.north_m - AT[station, 1]
        turn = math.radians(place.ellipse.azimuth_deg)
        along = (east * math.sin(turn) + north * math.cos(turn)) / place.ellipse.major_m
        across = (east * math.cos(turn) - north * math.sin(turn)) / place.ellipse.minor_m
        inside += along**2 + across**2 <= 1.0
    low, high = stats.binom(LOOPS, 1.0 - math.exp(-0.5)).interval(0.999)
    assert low <= inside <= high


def test_the_sum_of_all_residuals_is_what_its_freedom_says(walked):
    """Three degrees a loop; the sum lies within what chi-square gives in 999 of 1000."""
    test = walked.network_test
    assert test.freedom == 3 * LOOPS
    low, high = stats.chi2(3 * LOOPS).interval(0.999)
    assert low <= test.chi_square <= high
    assert test.limit == pytest.approx(stats.chi2(3 * LOOPS).ppf(0.95), rel=1e-4)


def test_standardised_residuals_are_normal(walked):
    """Of one bearing of each loop, so that no two depend on each other."""
    values = [walked.legs[len(AT) * loop + 2].check.bearing.standardised for loop in range(LOOPS)]
    assert stats.kstest(values, stats.norm.cdf).pvalue > 0.01
