"""The plane through three places, its refusals, and its errors beside a thousand trials."""

import math

import numpy as np
import pytest
from scipy.optimize import minimize

from traverse.structure.readings.plane_of_places import plane_of_places


def test_a_thin_triangle_is_refused():
    thin = np.array([(0.0, 0.0, 0.0), (100.0, 0.0, 0.0), (50.0, 14.0, 3.0)])
    assert plane_of_places(thin).dip_deg is None
    assert "line" in plane_of_places(thin).refused
    assert plane_of_places(thin * [1.0, 1.2, 1.0]).refused is None


def test_places_at_one_point_are_refused():
    assert plane_of_places(np.zeros((3, 3))).refused


def test_a_triangle_lost_in_its_errors_is_refused():
    points = np.array([(0.0, 0.0, 0.0), (100.0, 0.0, 10.0), (50.0, 30.0, 5.0)])
    sure = plane_of_places(points, covariance_m2=np.tile(np.eye(3) * 1.0, (3, 1, 1)))
    lost = plane_of_places(points, covariance_m2=np.tile(np.eye(3) * 15.0**2, (3, 1, 1)))
    assert sure.refused is None
    assert "standard errors" in lost.refused


def test_errors_are_those_of_a_thousand_trials():
    points = np.array([(0.0, 0.0, 10.0), (120.0, 20.0, 60.0), (40.0, 110.0, -5.0)])
    sds = np.array([2.0, 3.0, 1.5])
    plane = plane_of_places(points, covariance_m2=np.tile(np.diag(sds**2), (3, 1, 1)))
    rng = np.random.default_rng(11)
    trials = points + rng.normal(size=(4000, 3, 3)) * sds
    normals = np.cross(trials[:, 1] - trials[:, 0], trials[:, 2] - trials[:, 0])
    normals *= np.sign(normals[:, 2:])
    dips = np.degrees(np.arctan2(np.hypot(normals[:, 0], normals[:, 1]), normals[:, 2]))
    ways = np.degrees(np.arctan2(normals[:, 0], normals[:, 1])) - plane.dip_direction_deg
    assert plane.sd_dip_deg == pytest.approx(dips.std(), rel=0.1)
    assert plane.sd_strike_deg == pytest.approx(((ways + 180) % 360 - 180).std(), rel=0.1)


def test_places_nearly_on_a_line_leave_steep_planes_open():
    """Three places 15 m beside one line, each off by 3 m: what three errors leave is told by trying planes one by one."""
    points = np.array([(0.0, 0.0, 0.0), (150.0, 15.0, 5.0), (300.0, 0.0, 2.0)])
    plane = plane_of_places(points, covariance_m2=np.tile(np.eye(3) * 3.0**2, (3, 1, 1)))
    dips, ways = np.meshgrid(np.radians(np.arange(0.5, 90.0, 0.5)), np.radians(np.arange(0.0, 360.0, 1.0)))
    normals = np.stack((np.sin(dips) * np.sin(ways), np.sin(dips) * np.cos(ways), np.cos(dips)), axis=-1)
    off = normals @ points.T
    # A distance along a unit vector is off by 3 m whatever its way; the best level of each plane is the mean.
    left = ((off - off.mean(axis=-1, keepdims=True)) ** 2).sum(axis=-1) / 3.0**2 <= 9.0
    farthest = np.abs(np.degrees(dips[left]) - plane.dip_deg).max()
    assert 3.0 * plane.sd_dip_deg == pytest.approx(farthest, abs=1.0)
    to_first_order = plane_of_places(points, covariance_m2=np.tile(np.eye(3) * 0.3**2, (3, 1, 1)))
    assert plane.sd_dip_deg > 10.0 * to_first_order.sd_dip_deg
    # A level one is among them.
    assert plane.sd_strike_deg is None


def test_a_gentle_plane_strikes_any_way_until_it_dips_beyond_its_error():
    """Of 300 draws of each plane's places at most nine strike farther off than three of what is stated."""
    rng = np.random.default_rng(5)
    told = []
    for dip_deg in (0.0, 3.0, 8.0):
        points = np.array([(0.0, 0.0, 0.0), (200.0, 0.0, 0.0), (0.0, 200.0, 0.0), (200.0, 200.0, 0.0)])
        points[:, 2] = -np.tan(np.radians(dip_deg)) * points[:, 0]
        off = []
        for draw in points + rng.normal(size=(300, 4, 3)) * (0.0, 0.0, 2.0):
            plane = plane_of_places(draw, covariance_m2=np.tile(np.diag((0.0, 0.0, 2.0**2)), (4, 1, 1)))
            if plane.sd_strike_deg is not None:
                off.append(abs(plane.dip_direction_deg % 180.0 - 90.0) / plane.sd_strike_deg)
        told.append(len(off))
        assert np.sum(np.array(off) > 3.0) <= 9 or dip_deg == 0.0
    level, gentle, sure = told
    assert level < 15
    assert 150 < gentle < sure == 300


def test_a_level_plane_has_no_strike():
    plane = plane_of_places(np.array([(0.0, 0.0, 5.0), (10.0, 0.0, 5.0), (0.0, 10.0, 5.0)]))
    assert (plane.dip_deg, plane.dip_direction_deg, plane.sd_strike_deg) == (0.0, None, None)


@pytest.mark.parametrize("seed", range(5))
def test_the_plane_is_that_of_the_least_chi_square(seed):
    """Places of unlike errors, each with each: sought by scipy among all planes; no place is surer than 0.1 m."""
    rng = np.random.default_rng(seed)
    count = 6
    ground = rng.uniform(0.0, 300.0, (count, 2))
    normal = np.array([0.3, -0.4, 1.0]) / math.hypot(0.3, 0.4, 1.0)
    heights = -(ground @ normal[:2]) / normal[2] + rng.normal(0.0, 4.0, count)
    points = np.column_stack((ground, heights))
    root = rng.normal(0.0, 1.0, (count * 3, count * 3)) * rng.uniform(0.5, 4.0, count * 3)[:, None]
    joint = (root @ root.T / count).reshape(count, 3, count, 3).transpose(0, 2, 1, 3)

    def chi_square(tilt):
        way = np.array([tilt[0], tilt[1], 1.0])
        way /= np.linalg.norm(way)
        weight = np.linalg.inv(np.einsum("k,ijkl,l->ij", way, joint, way) + 0.01 * np.eye(count))
        off = points @ way
        off = off - float(np.ones(count) @ weight @ off) / float(weight.sum())
        return float(off @ weight @ off)

    best = minimize(
        chi_square, normal[:2] / normal[2], method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-10}
    )
    plane = plane_of_places(points, covariance_m2=joint)
    assert plane.chi_square == pytest.approx(best.fun, rel=0.02)
    # The weights are those of the plane found, not of each that is tried: the two differ by a part of the plane's error.
    dip = math.degrees(math.atan(math.hypot(*best.x)))
    way = math.degrees(math.atan2(*best.x))
    assert abs(plane.dip_deg - dip) < 0.2 * plane.sd_dip_deg + 0.02
    assert abs((plane.dip_direction_deg - way + 180.0) % 360.0 - 180.0) < 0.2 * plane.sd_strike_deg + 0.02
