"""Poles on a small circle, against an ordinary regression of their departures from the girdle: numpy alone.

Gray, Geiser and Guiser (1980), Math. Geol. 12, 173-184, from memory; the F test of one parameter by any text of statistics.
"""

import numpy as np
import pytest

from traverse.structure.readings.girdle import _conical, axis_or_lack
from traverse.structure.readings.mean import orientation
from traverse.structure.readings.records import FoldAxis
from traverse.trade import CONE_DEG, CONE_F


def drawn(rng, *, off_deg, noise_deg, n):
    """Poles within 70° of each other on a circle that lies so far from a great one."""
    turn, off = np.radians(rng.uniform(-70.0, 70.0, n)), np.radians(off_deg + rng.normal(0.0, noise_deg, n))
    poles = np.stack((np.sin(turn) * np.cos(off), np.sin(off), np.cos(turn) * np.cos(off)), axis=1)
    turned, _ = np.linalg.qr(rng.normal(0.0, 1.0, (3, 3)))
    return poles @ turned


def _f(poles):
    one, other, off = (poles @ axis for axis in orientation(poles)[1])
    known = np.stack((np.ones(len(poles)), one, other), axis=1)
    fit, (rest,), *_ = np.linalg.lstsq(known, off, rcond=None)
    return fit[0] ** 2 / (rest / (len(poles) - 3) * np.linalg.inv(known.T @ known)[0, 0])


def test_one_reading_makes_no_cone():
    """Two straight limbs of a fold, a degree or two of scatter, and one bed at the hinge that lies off both."""
    limbs = [
        (197, 16),
        (192, 18),
        (191, 17),
        (194, 17),
        (199, 17),
        (194, 17),
        (195, 19),
        (194, 19),
        (199, 16),
    ]
    limbs += [(193, 19), (197, 20), (192, 84), (195, 80), (192, 83), (194, 81), (24, 64)]
    strike, dip = np.radians(limbs).T
    poles = np.stack((np.sin(dip) * np.cos(strike), -np.sin(dip) * np.sin(strike), np.cos(dip)), axis=1)
    poles[11:15] *= -1.0
    found = axis_or_lack(poles, sd_deg=2.0)
    assert isinstance(found, FoldAxis)
    # Where all limbs strike: 195, or 015, and level.
    assert abs(found.trend_deg % 180.0 - 15.0) < 3.0
    assert found.plunge_deg < 3.0


@pytest.mark.parametrize("seed", range(6))
def test_a_cone_is_one_where_its_circle_leaves_the_great_one_by_more_than_chance(seed):
    rng = np.random.default_rng(seed)
    for off_deg in (0.0, 3.0, 6.0, 8.0, 20.0):
        poles = drawn(rng, off_deg=off_deg, noise_deg=2.5, n=int(rng.integers(8, 20)))
        axes = orientation(poles)[1]
        one, other, off = (poles @ axis for axis in axes)
        known = np.stack((np.ones(len(poles)), one, other), axis=1)
        fit, (rest,), *_ = np.linalg.lstsq(known, off, rcond=None)
        spread = rest / (len(poles) - 3) * np.linalg.inv(known.T @ known)
        leaves_deg = np.degrees(np.arcsin(abs(fit[0]) / np.linalg.norm((1.0, *fit[1:]))))
        expected = leaves_deg > CONE_DEG and fit[0] ** 2 / spread[0, 0] > CONE_F
        # Without any one reading the rest must tend to it still: 5 % of F, with 1 and 8 degrees of freedom.
        expected = expected and min(_f(np.delete(poles, at, axis=0)) for at in range(len(poles))) > 5.32
        assert _conical(poles, axes, None) == expected
        # Far from both limits it is plain without arithmetic.
        assert expected or off_deg < 20.0 or len(poles) < 12
        assert not expected or off_deg > 0.0
