"""Whether poles make a girdle, what leaves them without one, and how sure a mean is: each by numpy and scipy alone.

Sets of poles at random, many of them near a limit: what is expected is worked out from the published statistics, with
scipy's chi-square and F in place of tables. Limits that are the trade's own are those of `trade.py`.
"""

import math
from functools import cache
from itertools import combinations

import numpy as np
import pytest
from scipy import stats

from traverse.structure.readings.girdle import (
    _leaving_together,
    axis_or_lack,
    girdle_axis,
    off_circle_deg,
    scatter_deg,
)
from traverse.structure.readings.mean import bedding_mean, mean_plane, orientation, widest_angle
from traverse.structure.readings.records import FoldAxis, NoGirdle

F_ONE, F_FIVE = stats.f.ppf([0.99, 0.95], 1, 8)
"""One and five in a hundred exceed these: of all poles, and without any one of them."""


def girdle(rng, *, n, spread_deg, off_deg, smooth=False):
    """Poles along a great circle of any lie, in order, each off it by chance or little by little."""
    turn = np.sort(rng.uniform(-spread_deg / 2.0, spread_deg / 2.0, n))
    off = rng.normal(0.0, off_deg, n)
    if smooth:
        off = off_deg * 1.4 * np.cos(2.0 * np.radians(turn) * 180.0 / spread_deg) + rng.normal(
            0.0, off_deg / 3.0, n
        )
    turn, off = np.radians(turn), np.radians(off)
    poles = np.column_stack((np.sin(turn) * np.cos(off), np.sin(off), np.cos(turn) * np.cos(off)))
    poles @= np.linalg.qr(rng.normal(size=(3, 3)))[0]
    return np.where(poles[:, 2:] < 0.0, -poles, poles)


def widest(poles):
    return max(math.degrees(math.acos(min(1.0, abs(float(a @ b))))) for a, b in combinations(poles, 2))


def spread(poles):
    """Singular values over the root of the number, largest first, and the axes."""
    _, values, axes = np.linalg.svd(poles, full_matrices=False)
    return values**2 / len(poles), axes


@cache
def chance(freedom, normal):
    """Chi-square that is exceeded as seldom as a normal variate exceeds `normal`."""
    return stats.chi2.ppf(stats.norm.cdf(normal), freedom)


def circle_f(poles):
    """The small circle by regression: constant, how far off a great one, F, and the constant's share of one variance."""
    _, axes = spread(poles)
    off, second, first = poles @ axes[2], poles @ axes[1], poles @ axes[0]
    known = np.column_stack((np.ones(len(poles)), second, first))
    fit, *_ = np.linalg.lstsq(known, off, rcond=None)
    rest = off - known @ fit
    share = np.linalg.inv(known.T @ known)[0, 0]
    off_deg = math.degrees(math.asin(abs(fit[0]) / math.sqrt(1.0 + fit[1] ** 2 + fit[2] ** 2)))
    return fit[0], off_deg, fit[0] ** 2 / (float(rest @ rest) / (len(poles) - 3) * share), share


def conical(poles, sd_deg):
    if len(poles) < 8:
        return False
    constant, off_deg, f, share = circle_f(poles)
    if sd_deg and off_deg > 30.0 and constant**2 > chance(1, 1.645) * math.radians(sd_deg) ** 2 * share:
        return True
    if off_deg <= 5.0 or f <= F_ONE:
        return False
    return all(circle_f(np.delete(poles, one, axis=0))[2] > F_FIVE for one in range(len(poles)))


def together(poles, sd_deg):
    """Von Neumann's ratio of departures that are more than errors: below 2 by 2.326 of its deviations."""
    n = len(poles)
    values, axes = spread(poles)
    rms_deg = math.degrees(math.asin(math.sqrt(values[2])))
    if not sd_deg or n < 8 or n * (rms_deg / sd_deg) ** 2 <= chance(n - 2, 1.645):
        return False
    off = np.degrees(np.arcsin(poles @ axes[2]))
    ratio = float((np.diff(off) ** 2).sum()) / (n - 1) / rms_deg**2
    return ratio < 2.0 - 2.326 * math.sqrt(4.0 * (n - 2) / (n**2 - 1))


def lacks(poles, sd_deg):
    """Why poles make no axis; None where they make one."""
    n = len(poles)
    if n < 5:
        return NoGirdle.FEW
    if widest(poles) < 30.0:
        return NoGirdle.ALIKE
    values, axes = spread(poles)
    rms_deg = math.degrees(math.asin(math.sqrt(values[2])))
    if rms_deg > 10.0:
        return NoGirdle.SCATTERED
    if sd_deg and n * rms_deg**2 / (sd_deg**2 + 2.0**2) > chance(n - 2, 2.326):
        return NoGirdle.SCATTERED
    # Woodcock's (1977) K over 1 is a cluster; the axis is off by the departures over the poles' way along the girdle.
    sure_deg = math.degrees(math.sqrt(values[2] / (n - 2) / values[1]))
    if math.log(values[0] / values[1]) > math.log(values[1] / values[2]) or sure_deg > 5.0:
        return NoGirdle.NO_GIRDLE
    if conical(poles, sd_deg) or together(poles, sd_deg):
        return NoGirdle.CONICAL
    if widest(np.delete(poles, int(np.abs(poles @ axes[1]).argmax()), axis=0)) < 30.0:
        return NoGirdle.ONE_READING
    return None


DESIGNS = [
    {"spread_deg": 60.0, "off_deg": 3.0}, {"spread_deg": 100.0, "off_deg": 5.0}, {"spread_deg": 140.0, "off_deg": 9.5},
    {"spread_deg": 34.0, "off_deg": 2.0}, {"spread_deg": 70.0, "off_deg": 8.0}, {"spread_deg": 110.0, "off_deg": 4.0, "smooth": True},
    {"spread_deg": 80.0, "off_deg": 2.5, "smooth": True},
]  # fmt: skip


@pytest.mark.parametrize("sd_deg", [None, 2.0, 4.0])
@pytest.mark.parametrize("design", DESIGNS)
def test_poles_make_a_girdle_where_the_published_statistics_say_so(design, sd_deg):
    rng = np.random.default_rng(17)
    for _ in range(16):
        poles = girdle(rng, n=int(rng.integers(4, 16)), **design)
        found = axis_or_lack(poles, sd_deg=sd_deg)
        assert (None if isinstance(found, FoldAxis) else found.why) is lacks(poles, sd_deg)


def test_without_the_one_reading_that_lies_apart_the_rest_must_still_turn():
    rng = np.random.default_rng(23)
    seen = set()
    for apart_deg in (35.0, 50.0, 70.0):
        for spread_deg in (25.0, 36.0, 50.0):
            turn = np.radians([*np.linspace(0.0, spread_deg, 7), spread_deg + apart_deg])
            off = np.radians(rng.normal(0.0, 0.8, 8))
            poles = np.column_stack((np.sin(turn) * np.cos(off), np.sin(off), np.cos(turn) * np.cos(off)))
            found = axis_or_lack(poles)
            why = None if isinstance(found, FoldAxis) else found.why
            assert why is lacks(poles, None)
            seen.add(why)
            if why is NoGirdle.ONE_READING:
                assert found.farthest == 7
    assert {None, NoGirdle.ONE_READING} <= seen


@pytest.mark.parametrize("seed", range(2))
def test_poles_leave_their_girdle_together_by_von_neumanns_ratio(seed):
    """Of many sets some stand close to the limit on either side."""
    rng = np.random.default_rng(60 + seed)
    both = set()
    for _ in range(150):
        n = int(rng.integers(8, 18))
        steps = np.cumsum(rng.normal(0.0, 1.6, n)) + rng.normal(0.0, 2.0, n)
        turn, off = np.radians(np.sort(rng.uniform(-60.0, 60.0, n))), np.radians(steps - steps.mean())
        poles = np.column_stack((np.sin(turn) * np.cos(off), np.sin(off), np.cos(turn) * np.cos(off)))
        expected = together(poles, 2.0)
        assert _leaving_together(poles, girdle_axis(poles), 2.0) is expected
        both.add(expected)
    assert both == {True, False}
    assert _leaving_together(poles, girdle_axis(poles), None) is False


@pytest.mark.parametrize("seed", range(6))
def test_axis_scatter_and_widest_pair_are_those_of_numpy(seed):
    rng = np.random.default_rng(seed)
    poles = girdle(rng, n=11, spread_deg=95.0, off_deg=5.0)
    values, axes = spread(poles)
    found = girdle_axis(poles)
    trend, plunge = math.radians(found.trend_deg), math.radians(found.plunge_deg)
    axis = np.array(
        [math.sin(trend) * math.cos(plunge), math.cos(trend) * math.cos(plunge), -math.sin(plunge)]
    )
    assert abs(float(axis @ axes[2])) == pytest.approx(1.0)
    assert found.rms_deg == pytest.approx(math.degrees(math.asin(math.sqrt(values[2]))))
    assert found.sd_deg == pytest.approx(math.degrees(math.sqrt(values[2] / 9.0 / values[1])))
    assert orientation(poles)[0] == pytest.approx(values, abs=1e-9)
    off = np.degrees(np.arcsin(poles @ axes[2]))
    # Half the mean square of successive differences; two of eleven departures were spent on the girdle.
    assert scatter_deg(poles) == pytest.approx(math.sqrt((np.diff(off) ** 2).mean() / 2.0 * 11.0 / 9.0))
    assert widest_angle(poles) == pytest.approx(widest(poles), abs=1e-5)
    assert girdle_axis(poles[:2]).sd_deg == pytest.approx(0.0, abs=1e-5)


@pytest.mark.parametrize("half_deg", [20.0, 55.0, 80.0])
def test_poles_on_a_small_circle_lie_off_it_by_what_they_were_moved(half_deg):
    """Alternately so far inward and outward, evenly round: the circle of least squares stays where it was."""
    moved = 1.5
    round_deg = np.radians(np.arange(0.0, 360.0, 15.0))
    cone = np.radians(half_deg + np.where(np.arange(24) % 2, moved, -moved))
    poles = np.column_stack(
        (np.sin(cone) * np.sin(round_deg), np.sin(cone) * np.cos(round_deg), np.cos(cone))
    )
    turned = poles @ np.linalg.qr(np.random.default_rng(3).normal(size=(3, 3)))[0]
    assert off_circle_deg(turned) == pytest.approx(moved, abs=0.02)


@pytest.mark.parametrize("seed", range(4))
def test_a_mean_plane_is_as_sure_as_statement_and_scatter_pooled(seed):
    """Eight degrees of freedom for what is stated, two for each reading but the one that the mean takes."""
    rng = np.random.default_rng(seed)
    stated = rng.uniform(1.0, 4.0, 6)
    poles = girdle(rng, n=6, spread_deg=12.0, off_deg=4.0)
    axis, sd_deg = mean_plane(list(zip(poles, stated, strict=True)))
    _, axes = spread(poles)
    assert abs(float(axis @ axes[0])) == pytest.approx(1.0)
    off = np.degrees(np.arccos(np.abs(poles @ axes[0])))
    pooled = (8.0 * (stated**2).mean() + (off**2).sum()) / (8.0 + 2.0 * 5.0)
    assert sd_deg == pytest.approx(math.sqrt(pooled / 6.0), rel=1e-6)
    assert mean_plane([(poles[0], 3.0)])[1] == pytest.approx(3.0)
    assert mean_plane([(poles[0], 0.0), (poles[1], 0.0)])[1] == 0.0


@pytest.mark.parametrize("n", [2, 5, 30])
def test_precision_and_cone_of_95_in_100_are_fishers(n):
    """k = (N - 1) / (N - R); cos a = 1 - (N - R) / R ((1 / 0.05)^(1 / (N - 1)) - 1): Fisher (1953), as printed in any text."""
    poles = girdle(np.random.default_rng(n), n=n, spread_deg=25.0, off_deg=6.0)
    found = bedding_mean(poles)
    _, axes = spread(poles)
    resultant = float(np.linalg.norm((poles * np.sign(poles @ axes[0])[:, None]).sum(axis=0)))
    assert found.kappa == pytest.approx((n - 1) / (n - resultant))
    cosine = 1.0 - (n - resultant) / resultant * ((1.0 / 0.05) ** (1.0 / (n - 1)) - 1.0)
    assert found.alpha95_deg == pytest.approx(math.degrees(math.acos(cosine)))
    assert found.n == n


def test_two_readings_far_apart_have_no_cone():
    poles = np.array([(math.sin(one), 0.0, math.cos(one)) for one in np.radians([-44.0, 44.0])])
    found = bedding_mean(poles)
    assert found.alpha95_deg is None
    assert found.kappa == pytest.approx(1.0 / (2.0 - 2.0 * math.cos(math.radians(44.0))))
    assert bedding_mean(np.empty((0, 3))) is None
