"""Which end of a line or a normal is told, and the errors of a station turned, against numpy and plain trigonometry."""

import math

import numpy as np
import pytest

from traverse.adjustment.ellipse import ellipses
from traverse.location.records import Ellipse, Place, PlaceKind, Vector
from traverse.structure.readings.directions import dip_of, planes_of, trend_of, upward
from traverse.structure.section.sections import _station_m2

LEVEL = [(math.sin(math.radians(way)), math.cos(math.radians(way)), 0.0) for way in range(0, 360, 15)]


def vectors():
    rng = np.random.default_rng(11)
    found = rng.normal(size=(200, 3))
    return np.vstack((found / np.linalg.norm(found, axis=1)[:, None], LEVEL))


def test_both_ends_of_a_line_are_one_line_that_goes_down():
    """A line points down; a level one into the half from 0 up to 180 degrees, the end by which people book it."""
    for one in vectors():
        plunge, trend = trend_of(one)
        assert trend_of(-one) == pytest.approx((plunge, trend), abs=1e-9)
        p, t = math.radians(plunge), math.radians(trend)
        again = np.array([math.cos(p) * math.sin(t), math.cos(p) * math.cos(t), -math.sin(p)])
        assert abs(float(again @ one)) == pytest.approx(1.0, abs=1e-9)
        assert plunge >= 0.0
        if abs(one[2]) < 1e-12:
            assert 0.0 <= trend < 180.0


def test_both_normals_of_a_plane_are_one_plane():
    """The dip goes down along its direction; of an upright plane the direction is in the half from 0 up to 180 degrees."""
    several = vectors()
    for turned in (several, -several):
        dips, ways = planes_of(turned)
        for one, dip, way in zip(turned, dips, ways, strict=True):
            assert dip_of(one) == pytest.approx((dip, way), abs=1e-9)
            d, w = math.radians(dip), math.radians(way)
            normal = np.array([math.sin(d) * math.sin(w), math.sin(d) * math.cos(w), math.cos(d)])
            assert abs(float(normal @ one)) == pytest.approx(1.0, abs=1e-9)
            if dip == pytest.approx(90.0):
                assert 0.0 <= way < 180.0


def test_of_two_senses_the_upper_one_is_taken():
    for one in vectors():
        up = upward(one)
        np.testing.assert_allclose(upward(-one), up, atol=1e-12)
        assert abs(float(up @ one)) == pytest.approx(1.0, abs=1e-9)
        assert up[2] > 1e-9 or 0.0 <= math.degrees(math.atan2(up[0], up[1])) % 360.0 < 180.0


@pytest.mark.parametrize("seed", range(10))
def test_the_ellipse_of_a_station_is_its_covariance_again(seed):
    """Half-axes and azimuth from numpy.linalg.eigh of the covariance, and back."""
    root = np.random.default_rng(seed).normal(0.0, 3.0, (2, 2))
    covariance = root @ root.T + 0.5 * np.eye(2)
    values, axes = np.linalg.eigh(covariance)
    (major,), (minor,), (azimuth,) = ellipses(covariance[None])
    assert (major, minor) == pytest.approx((math.sqrt(values[1]), math.sqrt(values[0])), rel=1e-6)
    long = math.degrees(math.atan2(axes[0, 1], axes[1, 1]))
    assert (azimuth - long + 90.0) % 180.0 - 90.0 == pytest.approx(0.0, abs=1e-4)
    place = Place(
        name="1",
        kind=PlaceKind.WALKED,
        east_m=0.0,
        north_m=0.0,
        up_m=None,
        raw=Vector(east_m=0.0, north_m=0.0, up_m=None),
        ellipse=Ellipse(major_m=major, minor_m=minor, azimuth_deg=azimuth),
    )
    np.testing.assert_allclose(_station_m2(place), covariance, atol=1e-5)
