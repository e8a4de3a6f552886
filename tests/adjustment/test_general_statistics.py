"""Limits, fits and means of the adjustment against scipy, and against sums that any text on statistics has."""

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.optimize import least_squares
from scipy.stats import chi2

from tests.walk import conditions, control, pace, walk
from traverse.adjustment.calibration import stretched_ways
from traverse.adjustment.closure import limits
from traverse.adjustment.fit import similarity
from traverse.adjustment.misread.slips import _same_quadrant
from traverse.adjustment.misread.trials import _near_in_plan
from traverse.adjustment.records import Fix
from traverse.location.known_points import _together
from traverse.source import Span
from traverse.survey import survey_log
from traverse.trade import SPACE_REFUSE

SPAN = Span("a.trav", 1, 1, 2)


def spread(rng, size):
    """A covariance of no particular shape."""
    root = rng.normal(size=(size, size))
    return root @ root.T + 0.1 * np.eye(size)


@pytest.mark.parametrize("loops", [1, 2, 7])
@pytest.mark.parametrize("heights", [False, True])
def test_limits_of_several_tests_are_quantiles_of_chi_square(loops, heights):
    """scipy.stats.chi2, each test with the share divided by their number (Bonferroni)."""
    closings = [SimpleNamespace(q_up=1.0 if heights else None)] * loops
    plan, up = limits(closings, 0.01)
    each = 0.01 / (loops * (2 if heights else 1))
    assert plan == pytest.approx(chi2.isf(each, 2), rel=1e-9)
    assert up == pytest.approx(chi2.isf(each, 1), rel=1e-6)


@pytest.mark.parametrize("seed", range(8))
def test_a_fit_under_any_covariance_is_that_of_a_general_solver(seed):
    """scipy.optimize.least_squares in turn, scale and shift; errors from its Jacobian."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(3, 7))
    known = rng.uniform(-300.0, 300.0, (count, 2))
    turn, scale = rng.uniform(-3.0, 3.0), rng.uniform(0.4, 3.0)
    covariance = 4.0 * spread(rng, 2 * count)
    whiten = np.linalg.cholesky(np.linalg.inv(covariance)).T

    def laid(values):
        cos, sin = values[1] * np.cos(values[0]), values[1] * np.sin(values[0])
        east, north = (known - known.mean(axis=0)).T
        return np.stack((cos * east + sin * north + values[2], cos * north - sin * east + values[3]), axis=1)

    walked = laid((turn, scale, 1000.0, -400.0)) + rng.normal(0.0, 1.0, known.shape)
    solved = least_squares(
        lambda values: whiten @ (walked - laid(values)).ravel(),
        (turn, scale, 1000.0, -400.0),
        xtol=1e-14,
        ftol=1e-14,
    )
    sd = np.sqrt(np.diag(np.linalg.inv(solved.jac.T @ solved.jac)))
    found = similarity(known, walked, covariance)
    off = (found.rotation_deg - np.degrees(solved.x[0]) + 180.0) % 360.0 - 180.0
    assert off == pytest.approx(0.0, abs=1e-4)
    assert found.scale == pytest.approx(solved.x[1], rel=1e-6)
    assert found.chi_square == pytest.approx(2.0 * solved.cost, rel=1e-6)
    assert found.rotation_sd_deg == pytest.approx(np.degrees(sd[0]), rel=1e-4)
    assert found.scale_sd == pytest.approx(sd[1], rel=1e-4)


def test_two_slips_are_kept_where_the_gap_they_leave_passes_by_its_covariance():
    """Chi-square of what is left, by numpy.linalg.solve, for a thousand pairs."""
    rng = np.random.default_rng(3)
    count = 1000
    whole = spread(rng, 3)
    loops = SimpleNamespace(misclosure_m=rng.normal(0.0, 3.0, (1, 3)), covariance_m2=whole[None])
    shift = rng.normal(0.0, 4.0, (2 * count, 3))
    more = np.array([spread(rng, 3) for _ in range(2 * count)])
    a, b = np.arange(count), np.arange(count, 2 * count)
    left = loops.misclosure_m[0, :2] + shift[a, :2] + shift[b, :2]
    together = whole[:2, :2] + more[a, :2, :2] + more[b, :2, :2]
    q = (left * np.linalg.solve(together, left[..., None])[..., 0]).sum(axis=1)
    expected = q <= SPACE_REFUSE + 1.0
    assert 100 < np.count_nonzero(expected) < 900
    np.testing.assert_array_equal(_near_in_plan(loops, 0, shift, more, a, b), expected)


@pytest.mark.parametrize(("first_sd", "second_sd"), [(2.0, 3.0), (3.0, 2.0), (1.0, 1.0), (0.5, 9.0)])
def test_two_fixes_of_one_place_weigh_by_the_inverse_of_their_variances(first_sd, second_sd):
    """Mean = sum(w x) / sum(w), its variance 1 / sum(w), w = 1 / sd²: any text on errors of observation."""
    at = np.array([[10.0, 20.0, 100.0], [13.0, 16.0, 108.0]])
    sds = np.array([[first_sd, 2.0 * first_sd], [second_sd, 3.0 * second_sd]])
    found = _together(
        *(
            Fix(position_m=one, sd_plan_m=sd[0], sd_height_m=sd[1], span=SPAN)
            for one, sd in zip(at, sds, strict=True)
        )
    )
    weights = 1.0 / sds[:, [0, 0, 1]] ** 2
    assert found.position_m == pytest.approx((weights * at).sum(axis=0) / weights.sum(axis=0))
    assert found.sd_plan_m == pytest.approx(weights[:, 0].sum() ** -0.5)
    assert found.sd_height_m == pytest.approx(weights[:, 2].sum() ** -0.5)


def test_of_two_fixes_one_that_is_held_counts_alone_and_two_that_are_held_have_their_mean():
    def fix(east, sd):
        return Fix(position_m=np.array([east, 0.0, 50.0]), sd_plan_m=sd, sd_height_m=sd, span=SPAN)

    for first, second in ((fix(5.0, 0.0), fix(9.0, 2.0)), (fix(9.0, 2.0), fix(5.0, 0.0))):
        held = _together(first, second)
        assert (held.position_m[0], held.sd_plan_m) == (5.0, 0.0)
    both = _together(fix(5.0, 0.0), fix(5.0001, 0.0))
    assert both.position_m[0] == pytest.approx(5.00005, abs=1e-9)
    assert both.sd_plan_m == 0.0


@pytest.mark.parametrize("azimuth", [20.0, 110.0, 155.0, 290.0])
def test_the_ellipse_of_one_leg_lies_along_it_and_across_it(azimuth):
    """Half-axes: the error of the distance, and that of the bearing times the distance; any surveying text."""
    log = walk(("1", "2", azimuth, "100p"), at=conditions(pace=pace(1.0)), controls=[control("1", 0.0, 0.0)])
    precision = log.legs[0].conditions.precision
    ellipse = survey_log(log).value.places["2"].ellipse
    along, across = 100.0 * precision.pace_share, 100.0 * np.radians(precision.bearing_deg)
    assert (ellipse.major_m, ellipse.minor_m) == pytest.approx((along, across), rel=1e-3)
    assert (ellipse.azimuth_deg - azimuth + 90.0) % 180.0 - 90.0 == pytest.approx(0.0, abs=0.01)


@pytest.mark.parametrize(
    ("closed", "legs", "counts"),
    [
        (True, [0, 1], True),
        (True, [0, 1, 2, 3], False),
        (False, [0, 1, 2, 3], True),
        (False, [2], True),
        (True, [7], False),
    ],
)
def test_a_pacers_calibration_moves_a_misclosure_along_what_he_walked(closed, legs, counts):
    """By its share of the sum of his legs, each in the sense of the circuit; round a loop of his own alone by nothing."""
    observed = np.random.default_rng(1).normal(0.0, 100.0, (8, 3))
    signs = [1.0, -1.0, 1.0, -1.0]
    circuit = SimpleNamespace(
        steps=[SimpleNamespace(edge=edge, sign=sign) for edge, sign in enumerate(signs)], closed=closed
    )
    several = [SimpleNamespace(legs=np.array(legs), share=0.02)]
    expected = 0.02 * sum(signs[leg] * observed[leg] for leg in legs) if counts else np.zeros(3)
    np.testing.assert_allclose(stretched_ways(circuit, observed, several)[0], expected)


@pytest.mark.parametrize("off", [-100.0, -20.0, -10.0, 10.0, 20.0, 100.0])
def test_a_quadrant_angle_is_only_changed_where_its_letters_stay(off):
    """The letters by the signs of cosine and sine."""

    def letters(azimuth):
        way = np.radians(azimuth)
        return np.cos(way) > 0.0, np.sin(way) > 0.0

    for read in np.arange(1.5, 360.0, 4.0):
        assert _same_quadrant(float(read), off) == (letters(read) == letters(read + off))
