"""Angles on the compass beside complex numbers and scipy's circular statistics, all round by an odd step."""

import cmath
import math

import numpy as np
import pytest
from scipy import stats

from traverse.angle import (
    POINT_DEG,
    axial_difference,
    bearing_text,
    bearings_exchanged,
    is_quadrant,
    mean_axis,
    mean_azimuth,
    nearest_point,
    quadrant,
    quadrant_angle,
    wrap_180,
    wrap_360,
)

ROUND = [7.3 * step for step in range(-60, 110)]


def turn(degrees):
    return cmath.exp(1j * math.radians(degrees))


@pytest.mark.parametrize("azimuth", ROUND[::7])
def test_an_azimuth_is_the_same_however_often_one_goes_round(azimuth):
    assert 0.0 <= wrap_360(azimuth) < 360.0
    assert turn(wrap_360(azimuth)) == pytest.approx(turn(azimuth))
    assert -180.0 < wrap_180(azimuth) <= 180.0
    assert turn(wrap_180(azimuth)) == pytest.approx(turn(azimuth))
    for other in ROUND[::31]:
        apart = math.degrees(abs(cmath.phase(turn(azimuth) / turn(other))))
        assert axial_difference(azimuth, other) == pytest.approx(min(apart, 180.0 - apart), abs=1e-9)


@pytest.mark.parametrize("azimuth", [*ROUND[::5], 0.0, 90.0, 180.0, 270.0])
def test_a_bearing_in_quadrants_is_the_same_azimuth(azimuth):
    first, angle, last = quadrant_angle(azimuth)
    assert 0.0 <= angle <= 90.0
    north, east = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    expected = complex(north if first == "N" else -north, east if last == "E" else -east)
    assert turn(azimuth) == pytest.approx(expected)
    assert turn(quadrant(first, angle, last)) == pytest.approx(expected)
    assert quadrant(first.lower(), angle, last.lower()) == quadrant(first, angle, last)


@pytest.mark.parametrize("points", [4, 8, 16])
def test_the_nearest_point_lies_within_half_a_step(points):
    for azimuth in ROUND:
        found = nearest_point(azimuth, points=points)
        assert abs(wrap_180(POINT_DEG[found] - azimuth)) <= 180.0 / points + 1e-9
        assert POINT_DEG[found] % (360.0 / points) == 0.0


@pytest.mark.parametrize("seed", range(4))
def test_means_are_those_of_scipys_circular_statistics(seed):
    rng = np.random.default_rng(seed)
    azimuths = (rng.uniform(0.0, 360.0) + rng.normal(0.0, 40.0, 9)) % 360.0
    mean, strength = mean_azimuth(azimuths.tolist())
    assert turn(mean) == pytest.approx(turn(stats.circmean(azimuths, high=360.0)), abs=1e-7)
    assert strength == pytest.approx(1.0 - stats.circvar(azimuths, high=360.0), abs=1e-7)
    lines = azimuths + 180.0 * (np.arange(9) % 2)
    axis, strength = mean_axis(lines.tolist())
    assert 0.0 <= axis < 180.0
    assert turn(2.0 * axis) == pytest.approx(turn(2.0 * stats.circmean(lines, high=180.0)), abs=1e-7)
    assert strength == pytest.approx(1.0 - stats.circvar(lines, high=180.0), abs=1e-7)


@pytest.mark.parametrize(
    ("read", "quadrants", "expected"),
    [
        (291.0, False, [219.0]),
        (123.5, False, [213.5, 132.5]),
        (47.25, False, [74.25]),
        (62.0, True, [26.0]),  # N62E: N26E
        (118.0, True, [154.0]),  # S62E: S26E
        (215.5, True, [233.5]),  # S35.5W: S53.5W
        (342.0, True, [279.0]),  # N18W: N81W
        (330.5, True, []),  # N29.5W: N92.5W is none
    ],
)
def test_bearings_with_neighbouring_digits_exchanged_are_these(read, quadrants, expected):
    """By hand; an angle of a quadrant is no more than 90, an azimuth less than 360."""
    assert list(bearings_exchanged(read, in_quadrants=quadrants)) == expected


@pytest.mark.parametrize(
    ("azimuth", "text"),
    [(7.0, "007"), (47.5, "047.5"), (359.9999999, "000"), (123.25, "123.25"), (-15.0, "345")],
)
def test_an_azimuth_is_typed_with_three_figures(azimuth, text):
    assert bearing_text(azimuth, quadrant=False) == text
    typed = bearing_text(azimuth, quadrant=True)
    assert is_quadrant(typed)
    assert not is_quadrant(text)
