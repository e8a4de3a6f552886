"""Intersections, three points, rakes and tilt correction against printed answers and exercise inputs.

Sources stand beside each table. "Derived": no printed answer; evaluated from the closed form for this table.
"""

import numpy as np
import pytest

from traverse.structure.readings.directions import (
    apparent_dip,
    intersections,
    line,
    plane_through,
    pole,
    pole_angle,
    rake_of,
    trend_of,
)
from traverse.structure.readings.plane_of_places import plane_of_places
from traverse.structure.readings.tilt import restore_line, restore_plane, younging


def apart(one, other):
    return abs((one - other + 180.0) % 360.0 - 180.0)


@pytest.mark.parametrize(
    ("lines", "plunge", "trend", "tolerance"),
    [
        # SIG2003 Practical 5, answers (net, to 1 degree): pole of the plane through two lines.
        (((30, 89), (60, 234)), 15, 350, 1.0),
        (((30, 345), (20, 123)), 37, 230, 1.0),
    ],
)
def test_pole_of_the_plane_through_two_lines(lines, plunge, trend, tolerance):
    found = trend_of(plane_through(line([one[0] for one in lines], trend_deg=[one[1] for one in lines])))
    assert found[0] == pytest.approx(plunge, abs=tolerance)
    assert apart(found[1], trend) <= tolerance


@pytest.mark.parametrize(
    ("strike", "dip", "way", "plunge", "trend", "printed"),
    [
        # SIG2003 Practical 5, answers: angle between a line and the pole of a plane.
        (40, 40, 130, 60, 325, 13),
        (10, 80, 100, 10, 237, 42),
    ],
)
def test_angle_between_a_line_and_a_pole(strike, dip, way, plunge, trend, printed):
    assert way == strike + 90
    angle = pole_angle(pole(dip, dip_direction_deg=way), line(plunge, trend_deg=trend))
    assert angle == pytest.approx(printed, abs=1.0)


@pytest.mark.parametrize(
    ("strike", "dip", "plunge", "trend", "acute"), [(40, 40, 60, 325, 76.870), (10, 80, 10, 237, 47.685)]
)
def test_angle_between_a_line_and_a_plane(strike, dip, plunge, trend, acute):
    """The same problems; the sheet prints 103 or 77 and 132 or 48, of which 77 and 48 are angles to a plane."""
    to_pole = pole_angle(pole(dip, dip_direction_deg=strike + 90), line(plunge, trend_deg=trend))
    assert 90.0 - to_pole == pytest.approx(acute, abs=0.001)


@pytest.mark.parametrize(
    ("first", "second", "plunge", "trend", "tolerance"),
    [
        # Engineering Rock Mechanics, app. B, p. 436: dip direction before dip here.
        ((266, 36), (146, 59), 26, 219, 1.0),
        # Exercise input N20E 40 SE and N30W 60 SW; answer derived.
        ((110, 40), (240, 60), 25.250, 165.801, 0.001),
        # Two planes of one station, 128/42 and 290/35; common practice, no source, recomputed.
        ((128, 42), (290, 35), 7, 210, 0.5),
    ],
)
def test_two_planes_meet_in_a_line(first, second, plunge, trend, tolerance):
    found = intersections(*(pole(dip, dip_direction_deg=way) for way, dip in (first, second)))
    assert float(found[0]) == pytest.approx(plunge, abs=tolerance)
    assert apart(float(found[1]), trend) <= tolerance


@pytest.mark.parametrize(
    ("points", "dip", "direction"),
    [
        # S. Martel, GG303 lab 3 (2011), exercise 1 (east, north, up); answer derived.
        (((400, 100, 400), (0, 0, 200), (0, 300, 500)), 45.868, 194.036),
        # Derived: gradients -0.1 east and +0.1 north, tan(dip) = 0.1 sqrt 2.
        (((0, 0, 100), (400, 0, 60), (0, 300, 130)), 8.049, 135.0),
        # Derived: equilateral triangle of side 50, tan(dip) = 10 / 43.3013.
        (((0, 0, 10), (50, 0, 0), (25, 43.3013, 0)), 13.004, 60.0),
    ],
)
def test_three_points_make_a_plane(points, dip, direction):
    plane = plane_of_places(np.array(points, dtype=float))
    assert plane.dip_deg == pytest.approx(dip, abs=0.001)
    assert plane.dip_direction_deg == pytest.approx(direction, abs=0.001)


def test_fall_along_the_line_that_joins_two_outcrops():
    """Derived: 600 m and 200 m high, 1600 m apart: atan(400 / 1600) is 14.036 degrees; 300 m is met 400 m from the lower.

    Worksheets that print 401 m took the angle rounded to 14. The third outcrop is anywhere beside.
    """
    for third in ((900.0, 500.0, 300.0), (200.0, -700.0, 300.0)):
        plane = plane_of_places(np.array([(0.0, 0.0, 600.0), (1600.0, 0.0, 200.0), third]))
        fall = apparent_dip(plane.dip_deg, dip_direction_deg=plane.dip_direction_deg, azimuth_deg=90.0)
        assert fall == pytest.approx(14.0, abs=0.5)
        assert fall == pytest.approx(14.036, abs=0.001)
        assert 100.0 / np.tan(np.radians(fall)) == pytest.approx(401.0, abs=1.5)
        assert 100.0 / np.tan(np.radians(fall)) == pytest.approx(400.0, abs=1e-6)


def test_the_strike_runs_to_where_the_middle_height_divides_the_long_side():
    """H. L. Vacher, J. Geosci. Educ. 48(4), 522 (2000): heights 3400, 2700, 2400 ft: 700 of 1000 along the side."""
    high, middle, low = (0.0, 0.0, 3400.0), (600.0, 400.0, 2700.0), (1000.0, 0.0, 2400.0)
    plane = plane_of_places(np.array([high, middle, low]))
    mark = np.array([700.0, 0.0]) - middle[:2]
    assert apart(np.degrees(np.arctan2(*mark)) % 180.0, (plane.dip_direction_deg - 90.0) % 180.0) < 1e-6


@pytest.mark.parametrize(
    ("trend", "plunge", "pitch"), [(42, 27.920, 41.467), (90, 44.561, 82.893), (176, 13.600, 19.423)]
)
def test_pitch_of_lines_in_a_plane(trend, plunge, pitch):
    """Plane 010/45 E of GEO 3Z03 lab 2 (exercise inputs); answers derived."""
    found = apparent_dip(45.0, dip_direction_deg=100.0, azimuth_deg=trend)
    assert found == pytest.approx(plunge, abs=0.001)
    rake = rake_of(10.0, dip_deg=45.0, plunge_deg=found, trend_deg=trend)
    assert min(rake, 180.0 - rake) == pytest.approx(pitch, abs=0.001)


@pytest.mark.parametrize(
    ("bedding", "crossbed", "dip", "direction", "tolerance"),
    [
        # GSA Bulletin 81(2), 537 (1970), abstract: bedding N30E 40 SE, cross-bed N50E 55 SE; printed 21 toward 172.
        ((40, 120), (55, 140), 21, 172, 0.5),
        # The same, recomputed.
        ((40, 120), (55, 140), 20.905, 171.736, 0.001),
        # Derived: of one strike dips subtract, opposed dips add.
        ((20, 90), (45, 90), 25.0, 90.0, 1e-6),
        ((20, 90), (10, 270), 30.0, 270.0, 1e-6),
    ],
)
def test_tilt_correction_of_cross_beds(bedding, crossbed, dip, direction, tolerance):
    bed = younging(bedding[0], dip_direction_deg=bedding[1])
    found_dip, found_direction = restore_plane(crossbed[0], dip_direction_deg=crossbed[1], bedding=bed)
    assert found_dip == pytest.approx(dip, abs=tolerance)
    assert apart(found_direction, direction) <= tolerance


def test_tilt_correction_of_a_line():
    """Line 55 -> 140 on bedding 120/40 (dip direction first): derived."""
    plunge, trend = restore_line(55.0, trend_deg=140.0, bedding=younging(40.0, dip_direction_deg=120.0))
    assert (plunge, trend) == (pytest.approx(16.323, abs=0.001), pytest.approx(131.795, abs=0.001))


@pytest.mark.parametrize(
    ("trends", "angle"),
    [((320, 0, 210, 10), 109.683), ((210, 10, 85, 30), 113.726), ((320, 0, 85, 30), 119.784)],
)
def test_angles_between_lines(trends, angle):
    """Lines N40W/00, S30W/10, N85E/30 of GG303 lab 5 (2011), exercise inputs; answers derived. Acute angles here."""
    first = line(trends[1], trend_deg=trends[0])
    second = line(trends[3], trend_deg=trends[2])
    assert pole_angle(first, second) == pytest.approx(180.0 - angle, abs=0.001)
