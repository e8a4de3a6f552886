"""Planes and lines in bulk, each beside another way of working it out."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from traverse.structure.readings.directions import (
    apparent_dip,
    apparent_dips,
    dip_of,
    intersections,
    line,
    planes_of,
    pole,
    rake_line,
    rake_of,
)
from traverse.structure.readings.mean import principal_axis, widest_angle
from traverse.structure.readings.place_errors import bed_pole, poles_of

DIPS = st.floats(1.0, 89.0)
AZIMUTHS = st.floats(0.0, 359.9)


@given(DIPS, AZIMUTHS, DIPS, AZIMUTHS)
def test_the_line_of_two_planes_lies_in_both(dip_a, way_a, dip_b, way_b):
    """Beside numpy.linalg: the intersection is the null space of the two poles."""
    poles = pole([dip_a, dip_b], dip_direction_deg=[way_a, way_b])
    if np.linalg.norm(np.cross(*poles)) < 1e-3:
        return
    plunge, trend = intersections(poles[0], poles[1])
    null = np.linalg.svd(poles)[2][2]
    assert abs(line(plunge, trend_deg=trend) @ null) == pytest.approx(1.0, abs=1e-9)
    assert plunge >= 0.0


def test_parallel_planes_meet_in_no_line():
    plunge, trend = intersections(
        pole([30.0], dip_direction_deg=[90.0]), pole([30.0], dip_direction_deg=[90.0])
    )
    assert np.isnan(plunge[0])
    assert np.isnan(trend[0])


@given(AZIMUTHS, DIPS, st.floats(0.5, 179.5))
def test_rake_comes_back_from_plunge_and_trend(strike, dip, rake):
    plunge, trend = rake_line(strike, dip_deg=dip, rake_deg=rake, end_deg=strike)
    assert rake_of(strike, dip_deg=dip, plunge_deg=plunge, trend_deg=trend) == pytest.approx(rake, abs=1e-6)


def test_bulk_and_single_agree():
    rng = np.random.default_rng(3)
    dips, ways, azimuths = rng.uniform(0, 89, 50), rng.uniform(0, 360, 50), rng.uniform(0, 360, 50)
    bulk = apparent_dips(dips, dip_direction_deg=ways, azimuth_deg=azimuths)
    one_by_one = [
        apparent_dip(a, dip_direction_deg=b, azimuth_deg=c)
        for a, b, c in zip(dips, ways, azimuths, strict=True)
    ]
    np.testing.assert_allclose(bulk, one_by_one, atol=1e-9)
    found_dips, found_ways = planes_of(-pole(dips, dip_direction_deg=ways))
    np.testing.assert_allclose(found_dips, dips, atol=1e-9)
    np.testing.assert_allclose(found_ways, ways, atol=1e-9)
    assert planes_of(np.array([[0.0, 0.0, 1.0]])) == (pytest.approx([0.0]), pytest.approx([0.0]))


@pytest.mark.parametrize("spread", [3.0, 20.0, 80.0])
def test_the_widest_pair_is_that_of_every_pair_compared(spread):
    rng = np.random.default_rng(5)
    poles = pole(rng.uniform(0, spread, 300), dip_direction_deg=rng.uniform(0, 360, 300))
    every = np.degrees(np.arccos(np.clip(np.abs(poles @ poles.T).min(), -1, 1)))
    assert widest_angle(poles) == pytest.approx(every, abs=1e-6)


def test_the_mean_plane_is_numpys_first_singular_vector():
    poles = pole([30.0, 40.0, 35.0, 88.0], dip_direction_deg=[100.0, 120.0, 95.0, 280.0])
    axis, spread = principal_axis(poles)
    first = np.linalg.svd(poles)[2][0]
    assert abs(axis @ first) == pytest.approx(1.0)
    assert spread == pytest.approx(np.degrees(np.arccos(np.abs(poles @ first).min())))
    assert dip_of(axis)[0] <= 90.0


@given(AZIMUTHS, AZIMUTHS)
def test_upright_planes_meet_in_a_plumb_line_and_level_lines_trend_east(way_a, way_b):
    """Level lines are told by the end in the eastern half, whichever plane is named first."""
    flat, steep = pole(0.0, dip_direction_deg=0.0), pole(60.0, dip_direction_deg=way_a)
    for one, other in ((flat, steep), (steep, flat)):
        plunge, trend = intersections(one, other)
        assert float(plunge) == pytest.approx(0.0, abs=1e-9)
        # The strike, beside the dip direction.
        assert abs(np.cos(np.radians(float(trend) - way_a))) < 1e-9
        assert -1e-9 <= float(trend) % 360.0 <= 180.0 or float(trend) > 360.0 - 1e-6
    # Due north, whichever way the plane dips that strikes so.
    assert float(intersections(flat, pole(60.0, dip_direction_deg=90.0))[1]) == pytest.approx(0.0, abs=1e-9)
    assert float(intersections(pole(60.0, dip_direction_deg=270.0), flat)[1]) == pytest.approx(0.0, abs=1e-9)
    if abs(np.sin(np.radians(way_a - way_b))) > 1e-3:
        upright = pole([90.0, 90.0], dip_direction_deg=[way_a, way_b])
        assert float(intersections(*upright)[0]) == pytest.approx(90.0, abs=1e-6)


def test_the_pole_of_a_bed_is_told_by_grid_north_where_asked(compile_text):
    """By hand, sin dip sin and cos of the dip direction: 5 degrees of convergence turn it back by 5."""
    (bed,) = compile_text(
        "notation 1\nbearings true\nattitudes dip-direction\nat 1\nbed 040/30\n"
    ).geology.beds
    for convergence in (0.0, 5.0):
        found, sd_deg = bed_pole(bed, to_true_deg=convergence)
        azimuth, dip = np.radians(40.0 - convergence), np.radians(30.0)
        expected = [np.sin(dip) * np.sin(azimuth), np.sin(dip) * np.cos(azimuth), np.cos(dip)]
        assert found == pytest.approx(expected, abs=1e-12)
        assert poles_of([bed], to_true_deg=convergence)[0] == pytest.approx(expected, abs=1e-12)
        assert sd_deg == bed.sd_deg


@given(st.floats(0.0, 90.0), st.floats(-180.0, 540.0))
def test_a_plane_alone_has_the_pole_that_it_has_among_others(dip, way):
    alone = pole(dip, dip_direction_deg=way)
    assert alone == pytest.approx(pole([dip, 10.0], dip_direction_deg=[way, 20.0])[0], abs=2e-12)
    assert not np.signbit(alone[alone == 0.0]).any()
