"""Intersection, resection and their error ellipses against worked examples and classical formulas."""

import math

import numpy as np
import pytest
from scipy.stats import chi2

from traverse.adjustment.ellipse import ellipses

HEAD = "notation 1\nbearings grid\nprecision bearing 0.01\n"


def dms(angle):
    """An azimuth as a page has it, to a tenth of a second."""
    minutes, seconds = divmod(round(angle % 360.0 * 36000.0), 600)
    return f"{minutes // 60:03d}°{minutes % 60:02d}'{seconds / 10.0:04.1f}\""


def test_intersection_of_two_azimuths(compile_text):
    """C. D. Ghilani and P. R. Wolf, Elementary Surveying, ch. 11, intersection of two lines of known azimuth: A 1425.07 E
    1971.28 N, B 7484.80 E 5209.64 N, azimuths 76 04 24 and 141 30 16, P 8637.85 E 3759.83 N.

    From memory; the figures bear each other out.
    """
    found = compile_text(
        HEAD + "control A 1425.07 E 1971.28 N ±0.01 m\ncontrol B 7484.80 E 5209.64 N ±0.01 m\n"
        "at A\nsight P 076°04'24\"\nat B\nsight P 141°30'16\"\n"
    )
    place = found.trav.survey.places["P"]
    assert (place.east_m, place.north_m) == pytest.approx((8637.85, 3759.83), abs=0.03)


def tienstra(known, angles):
    """Place from the angles between three known points, as read from it clockwise from each to the next.

    K_A = 1 / (cot A - cot alpha), alpha the angle at the place opposite to A, and the place the mean of the points by
    these weights. J. M. Tienstra's formula; from memory of A. L. Allan, J. R. Hollwey and J. H. B. Maynes, Practical
    Field Surveying and Computations (1968).
    """
    weights = []
    for at in range(3):
        one, second, third = (np.array(known[(at + k) % 3]) for k in range(3))
        to_second, to_third = second - one, third - one
        inside = math.atan2(
            to_second[0] * to_third[1] - to_second[1] * to_third[0], float(to_second @ to_third)
        )
        opposite = math.radians(angles[(at + 1) % 3])
        weights.append(1.0 / (1.0 / math.tan(-inside) - 1.0 / math.tan(opposite)))
    return np.average(np.array(known), axis=0, weights=weights)


@pytest.mark.parametrize("azimuths", [(20.0, 155.0, 262.0), (310.0, 350.0, 47.0)], ids=["inside", "outside"])
def test_resection_by_the_angles_between_three_points(compile_text, azimuths):
    """Derived: what the party reads to three known points, and where Tienstra's formula puts it by the angles alone."""
    here, ways = np.array([4000.0, 7000.0]), (900.0, 1400.0, 1100.0)
    known = [
        np.round(here + way * np.array([math.sin(math.radians(a)), math.cos(math.radians(a))]), 3)
        for a, way in zip(azimuths, ways, strict=True)
    ]
    angles = [(azimuths[(k + 1) % 3] - azimuths[k]) % 360.0 for k in range(3)]
    place = tienstra([tuple(one) for one in known], angles)
    assert place == pytest.approx(here, abs=0.02)
    text = "".join(f"control P{k} {e:.3f} E {n:.3f} N ±0.01 m\n" for k, (e, n) in enumerate(known, start=1))
    text += "at 1\n" + "".join(f"sight P{k} {dms(a)}\n" for k, a in enumerate(azimuths, start=1))
    found = compile_text(HEAD + text + "to 2 100 50m\n").trav.survey.places["1"]
    assert (found.east_m, found.north_m) == pytest.approx(tuple(place), abs=0.05)


@pytest.mark.parametrize("crossing", [30.0, 60.0, 90.0, 140.0])
def test_the_ellipse_of_two_sights_of_one_length(compile_text, crossing):
    """Derived: two lines that are good to s cross at g in an ellipse of half-axes s / (sqrt 2 sin g/2) and s / (sqrt 2 cos g/2),
    the longer of which halves the acute angle between them (any text on adjustment).
    """
    way, first = 800.0, 40.0
    s = math.radians(0.5) * way
    towards = [first, first + crossing]
    text = HEAD.replace("0.01", "0.5") + "".join(
        f"control {name} {5000.0 - way * math.sin(math.radians(a)):.4f} E {5000.0 - way * math.cos(math.radians(a)):.4f} N ±0.001 m\n"
        for name, a in zip("AB", towards, strict=True)
    )
    text += "".join(f"at {name}\nsight P {dms(a)}\n" for name, a in zip("AB", towards, strict=True))
    place = compile_text(text).trav.survey.places["P"]
    half = math.radians(crossing / 2.0)
    axes = sorted((s / (math.sqrt(2.0) * math.sin(half)), s / (math.sqrt(2.0) * math.cos(half))))
    assert [place.ellipse.minor_m, place.ellipse.major_m] == pytest.approx(axes, rel=0.002)
    if crossing != 90.0:
        along = first + crossing / 2.0 + (90.0 if crossing > 90.0 else 0.0)
        assert (place.ellipse.azimuth_deg - along + 90.0) % 180.0 == pytest.approx(90.0, abs=0.1)


@pytest.mark.parametrize("seed", range(3))
def test_an_ellipse_touches_the_error_in_every_direction(seed):
    """The pedal curve: the variance in a direction is s'Cs, and that of the axes a2 cos2 + b2 sin2 of the angle to them.

    E. M. Mikhail and G. Gracie, Analysis and Adjustment of Survey Measurements (1981), from memory. An ellipse of one
    standard deviation holds 39.4 in 100 places: printed in any text on adjustment, here by scipy.
    """
    rng = np.random.default_rng(seed)
    root = rng.normal(size=(5, 2, 2))
    covariance = root @ root.transpose(0, 2, 1) + 0.05 * np.eye(2)
    major, minor, azimuth = ellipses(covariance)
    for way in np.radians(np.arange(0.0, 180.0, 15.0)):
        s = np.array([math.sin(way), math.cos(way)])
        turned = way - np.radians(azimuth)
        printed = (major * np.cos(turned)) ** 2 + (minor * np.sin(turned)) ** 2
        assert s @ covariance @ s == pytest.approx(printed, rel=1e-6)
    drawn = rng.multivariate_normal((0.0, 0.0), covariance[0], 20_000)
    along = drawn @ np.array([math.sin(math.radians(azimuth[0])), math.cos(math.radians(azimuth[0]))])
    across = np.sqrt(np.maximum((drawn**2).sum(axis=1) - along**2, 0.0))
    inside = np.hypot(along / major[0], across / minor[0]) <= 1.0
    assert inside.mean() == pytest.approx(chi2.cdf(1.0, 2), abs=0.015)
    assert chi2.cdf(1.0, 2) == pytest.approx(0.394, abs=0.001)
