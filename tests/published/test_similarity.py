"""The four-parameter fit of a walk on known points, against a printed example."""

import math

import numpy as np
import pytest

from traverse.adjustment.fit import similarity

# C. D. Ghilani and P. R. Wolf, Adjustment Computations, 4th ed. (2006), Example 18.1, two-dimensional conformal
# transformation; from memory, and the figures bear each other out. Points as measured, then in the other system, in feet.
MEASURED = np.array([(121.622, -128.066), (141.228, 187.718), (175.802, 135.728)])
TRANSFORMED = np.array([(1049422.40, 51089.20), (1049413.95, 49659.30), (1049244.95, 49884.95)])
A, B = -4.51249, -0.25371
SHIFT = (1050003.715, 50542.131)
SCALE, TURN_DEG = 4.51962, 183.0 + 13.0 / 60.0 + 5.0 / 3600.0


def test_turn_and_scale_as_printed():
    """The book's angle runs counterclockwise, ours clockwise."""
    found = similarity(MEASURED, TRANSFORMED, np.eye(6))
    assert found.scale == pytest.approx(SCALE, abs=0.5e-5)
    assert -found.rotation_deg % 360.0 == pytest.approx(TURN_DEG, abs=0.1 / 3600.0)


def test_what_is_left_is_what_the_printed_parameters_leave():
    """E = a x - b y + shift, N = b x + a y + shift; the parameters are printed to five figures behind the point."""
    x, y = MEASURED.T
    by_print = np.stack((A * x - B * y + SHIFT[0], B * x + A * y + SHIFT[1]), axis=1)
    found = similarity(MEASURED, TRANSFORMED, np.eye(6))
    assert found.residual_m == pytest.approx(TRANSFORMED - by_print, abs=0.003)
    assert found.chi_square == pytest.approx(((TRANSFORMED - by_print) ** 2).sum(), abs=0.001)


def test_errors_of_turn_and_scale_are_those_of_the_normal_equations():
    """Derived: of n points with one error s each way, scale is good to s / sqrt(sum of squared distances to their middle)."""
    s = 0.14
    found = similarity(MEASURED, TRANSFORMED, s**2 * np.eye(6))
    spread = math.sqrt(((MEASURED - MEASURED.mean(axis=0)) ** 2).sum())
    assert found.scale_sd == pytest.approx(s / spread, rel=1e-6)
    assert math.radians(found.rotation_sd_deg) == pytest.approx(s / spread / SCALE, rel=1e-4)
