"""Dips, poles, lines and means against printed answers and closed forms.

Sources stand beside each table. Values marked "derived" have no printed answer: they follow from the relation that
the source prints, evaluated by hand for this table.
"""

import math

import numpy as np
import pytest
import scipy.linalg
from scipy.spatial.transform import Rotation

from traverse.structure.readings.directions import (
    apparent_dip,
    dip_of,
    line,
    plane_through,
    pole,
    rake_line,
    trend_of,
)
from traverse.structure.readings.girdle import fold_axis, girdle_axis
from traverse.structure.readings.mean import bedding_mean, orientation, principal_axis

# Relation: tan(apparent) = tan(true) sin(angle between strike and section), Dennis (1972), Structural Geology.
# Degrees and minutes, derived, in the layout of the classical table: columns are the angle strike to section.
ANGLES = (80, 70, 60, 50, 45, 40, 30, 20, 10, 5)
APPARENT = {
    5: "4 55,4 42,4 20,3 50,3 32,3 13,2 30,1 43,0 52,0 26",
    10: "9 51,9 24,8 41,7 42,7 06,6 28,5 02,3 27,1 45,0 53",
    15: "14 47,14 08,13 04,11 36,10 44,9 46,7 38,5 14,2 40,1 20",
    20: "19 43,18 53,17 30,15 35,14 26,13 10,10 19,7 06,3 37,1 49",
    25: "24 40,23 40,21 59,19 39,18 15,16 41,13 07,9 04,4 38,2 20",
    30: "29 37,28 29,26 34,23 52,22 12,20 22,16 06,11 10,5 44,2 53",
    35: "34 35,33 21,31 14,28 13,26 20,24 14,19 18,13 28,6 56,3 30",
    40: "39 34,38 15,36 00,32 44,30 41,28 20,22 46,16 01,8 17,4 11",
    45: "44 34,43 13,40 54,37 27,35 16,32 44,26 34,18 53,9 51,4 59",
    50: "49 34,48 14,45 54,42 24,40 07,37 27,30 47,22 11,11 42,5 56",
    60: "59 37,58 26,56 19,53 00,50 46,48 04,40 54,30 39,16 44,8 35",
    70: "69 43,68 50,67 12,64 35,62 46,60 29,53 57,43 13,25 30,13 28",
    80: "79 51,79 22,78 29,77 02,76 00,74 40,70 34,62 44,44 34,26 18",
    89: "88 59,88 56,88 51,88 42,88 35,88 27,88 00,87 05,84 16,78 40",
}


@pytest.mark.parametrize("true_dip", sorted(APPARENT))
def test_apparent_dips_are_those_of_the_table(true_dip):
    for angle, printed in zip(ANGLES, APPARENT[true_dip].split(","), strict=True):
        degrees, minutes = printed.split()
        expected = int(degrees) + int(minutes) / 60.0
        # A section at `angle` from the strike of a bed that dips east.
        found = apparent_dip(true_dip, dip_direction_deg=90.0, azimuth_deg=angle)
        assert found == pytest.approx(expected, abs=0.51 / 60.0), (true_dip, angle)


@pytest.mark.parametrize(
    ("dip", "way", "azimuth", "apparent"),
    [
        # Exercise inputs of two lab sheets ("Apparent dip, plunge"; GEO 3Z03 lab 2); answers derived.
        (20.0, 300.0, 270.0, 17.495),
        (45.439, 320.0, 330.0, 45.0),
        (50.0, 140.0, 80.0, 30.790),
        # Common practice, no source; computed from the relation above.
        (42.0, 128.0, 110.0, 40.6),
    ],
)
def test_apparent_dips_of_the_exercises(dip, way, azimuth, apparent):
    found = apparent_dip(dip, dip_direction_deg=way, azimuth_deg=azimuth)
    assert abs(found) == pytest.approx(apparent, abs=0.05 if dip == 42.0 else 0.002)


def test_apparent_dip_changes_sign_with_the_way_one_looks():
    there = apparent_dip(42.0, dip_direction_deg=128.0, azimuth_deg=110.0)
    back = apparent_dip(42.0, dip_direction_deg=128.0, azimuth_deg=290.0)
    assert there == pytest.approx(-back)
    assert there > 0.0


@pytest.mark.parametrize(
    ("faces", "dip", "direction", "tolerance"),
    [
        # Second-hand, a lab note on two apparent dips, example 3: strike 090, dip 40 N (graphical).
        (((20, 296), (30, 46)), 40.0, 0.0, 0.5),
        # SIG2003 Practical 5, answers, exercise 7: pole 33/010 (stereonet, to 1 degree), so the plane dips 57 to 190.
        (((30, 258), (45, 141)), 57.0, 190.0, 1.0),
        # Exercise inputs of GEO 3Z03 lab 2; answers derived.
        (((30, 260), (22, 346)), 34.328, 292.276, 0.001),
        (((23, 179), (44, 88)), 46.716, 112.564, 0.001),
        # Exercise input of the other lab sheet, 20 toward N10E and 15 toward N85W; answer derived.
        (((20, 10), (15, 275)), 25.276, 330.427, 0.001),
        # Common practice, no source; computed.
        (((20, 80), (28, 150)), 29.5, 130.0, 0.5),
    ],
)
def test_two_apparent_dips_make_a_plane(faces, dip, direction, tolerance):
    lines = line([face[0] for face in faces], trend_deg=[face[1] for face in faces])
    found_dip, found_direction = dip_of(plane_through(lines))
    assert found_dip == pytest.approx(dip, abs=tolerance)
    assert abs((found_direction - direction + 180.0) % 360.0 - 180.0) <= tolerance


@pytest.mark.parametrize(
    ("strike", "dip", "plunge", "trend"),
    [
        # SIG2003 Practical 5, answers: poles read off a net to 1 degree (strike right-handed here).
        (12, 78, 12, 282),
        (150, 45, 45, 60),
        (65, 79, 11, 335),
        # GG303 lab 5 (2011), exercise inputs 256/22 and 068/72 right-handed; answers derived.
        (256, 22, 68, 166),
        (68, 72, 18, 338),
    ],
)
def test_poles_are_those_of_the_answer_sheet(strike, dip, plunge, trend):
    found_plunge, found_trend = trend_of(pole(dip, dip_direction_deg=strike + 90.0))
    assert found_plunge == pytest.approx(plunge, abs=1e-9)
    assert found_trend == pytest.approx(trend, abs=1e-9)


@pytest.mark.parametrize(
    ("plunge", "trend", "strike", "dip"),
    [
        # SIG2003 Practical 5, answers (net, to 1 degree; strike right-handed here): the plane of a pole.
        (44, 345, 75, 46),
        (78, 123, 213, 12),
        (56, 256, 346, 34),
    ],
)
def test_planes_are_those_of_their_poles(plunge, trend, strike, dip):
    found_dip, direction = dip_of(line(plunge, trend_deg=trend))
    assert found_dip == pytest.approx(dip, abs=1e-9)
    assert (direction - 90.0) % 360.0 == pytest.approx(strike, abs=1e-9)


@pytest.mark.parametrize(
    ("strike", "dip", "rake", "end", "trend", "plunge"),
    [
        # Derived from sin(plunge) = sin(rake) sin(dip).
        (30.0, 50.0, 40.0, 30.0, 58.341, 29.499),
        (140.0, 60.0, 120.0, 140.0, 279.107, 48.590),
        # The same line told from the other end.
        (140.0, 60.0, 60.0, 320.0, 279.107, 48.590),
        # 045/60SE, 35 from the north-east end: common practice, no source; computed.
        (45.0, 60.0, 35.0, 45.0, 64.295, 29.784),
        # 310/75NE, 20 from the north-west end.
        (310.0, 75.0, 20.0, 315.0, 315.0, 19.3),
    ],
)
def test_rakes_become_plunge_and_trend(strike, dip, rake, end, trend, plunge):
    found_plunge, found_trend = rake_line(strike, dip_deg=dip, rake_deg=rake, end_deg=end)
    tolerance = 0.5 if dip == 75.0 else 0.001
    assert found_plunge == pytest.approx(plunge, abs=tolerance)
    assert found_trend == pytest.approx(trend, abs=tolerance)


# Remanence directions of Palaeozoic red-beds, Embleton (1970); data set B2 of Fisher, Lewis and Embleton (1987),
# Statistical Analysis of Spherical Data, appendix B. Declination and inclination, degrees.
DIRECTIONS = """122.5 55.5 130.5 58.0 132.5 44.0 148.5 56.0 140.0 63.0 133.0 64.5 157.5 53.0 153.0 44.5 140.0 61.5
147.5 54.5 142.0 51.0 163.5 56.0 141.0 59.5 156.0 56.5 139.5 54.0 153.5 47.5 151.5 61.0 147.5 58.5 141.0 57.0
143.5 67.5 131.5 62.5 147.5 63.5 147.0 55.5 149.0 62.0 144.0 53.5 139.5 58.0"""


def test_fisher_statistics_of_26_directions():
    """Mean 144.2/57.2 as printed (from memory of the book); R, kappa and the cone recomputed from the formulas of Fisher (1953)."""
    figures = np.array(DIRECTIONS.split(), dtype=float).reshape(-1, 2)
    # A direction down is the pole of an overturned plane; its opposite points up, as poles do here.
    poles = -line(figures[:, 1], trend_deg=figures[:, 0])
    mean = bedding_mean(poles)
    assert mean.n == 26
    assert (mean.dip_direction_deg + 180.0) % 360.0 == pytest.approx(144.2, abs=0.05)
    assert 90.0 - mean.dip_deg == pytest.approx(57.2, abs=0.05)
    assert mean.kappa == pytest.approx(108.93422, abs=1e-4)
    assert mean.alpha95_deg == pytest.approx(2.72852, abs=1e-4)
    assert 26 - 25 / mean.kappa == pytest.approx(25.770504, abs=1e-6)


def test_principal_axis_of_26_directions():
    """Principal axis 144.203/57.218 of the orientation matrix: recomputed, no printed answer."""
    figures = np.array(DIRECTIONS.split(), dtype=float).reshape(-1, 2)
    vectors = line(figures[:, 1], trend_deg=figures[:, 0])
    axis, farthest = principal_axis(vectors)
    plunge, trend = trend_of(axis)
    assert (trend, plunge) == (pytest.approx(144.20346, abs=1e-4), pytest.approx(57.21802, abs=1e-4))
    assert farthest == pytest.approx(max(np.degrees(np.arccos(np.abs(vectors @ axis)))), abs=1e-9)
    # No two of them 30 degrees apart: no girdle is read from them.
    assert fold_axis(vectors) is None


def test_eigenvalues_of_26_directions():
    """Normalised eigenvalues and all three axes of the orientation matrix: recomputed, no printed answer."""
    figures = np.array(DIRECTIONS.split(), dtype=float).reshape(-1, 2)
    values, axes = orientation(line(figures[:, 1], trend_deg=figures[:, 0]))
    assert values == pytest.approx([0.98250556, 0.01039359, 0.00710085], abs=1e-8)
    for axis, (trend, plunge) in zip(
        axes, [(144.20346, 57.21802), (359.883, 27.615), (261.112, 16.249)], strict=True
    ):
        assert abs(axis @ line(plunge, trend_deg=trend)) == pytest.approx(1.0, abs=1e-9)


def test_girdle_of_26_directions_and_a_far_one():
    """Least eigenvalue and its vector beside numpy's, which finds them from the singular values of the same rows.

    The one far direction alone spreads them: no axis is told from it.
    """
    figures = np.array(DIRECTIONS.split(), dtype=float).reshape(-1, 2)
    vectors = np.concatenate([line(figures[:, 1], trend_deg=figures[:, 0]), line([20.0], trend_deg=[60.0])])
    found = girdle_axis(vectors)
    assert fold_axis(vectors) is None
    _, sizes, rows = np.linalg.svd(vectors)
    assert found.rms_deg == pytest.approx(
        math.degrees(math.asin(sizes[2] / math.sqrt(len(vectors)))), abs=1e-9
    )
    assert abs(rows[2] @ line(found.plunge_deg, trend_deg=found.trend_deg)) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize(("trend", "plunge"), [(25.0, 10.0), (140.0, 35.0), (290.0, 0.0), (355.0, 62.0)])
def test_the_girdle_of_a_cylindrical_fold_is_that_of_numpy_and_scipy(trend, plunge):
    """Poles turned about an axis and read to 3 degrees, beside eigenvectors of their covariance about the origin.

    N. H. Woodcock (1977), Specification of fabric shapes using an eigenvalue method, Geol. Soc. Am. Bull. 88, 1231-1236,
    from memory: the axis of a girdle is the eigenvector of the least eigenvalue; no printed answer, derived.
    """
    rng = np.random.default_rng(11)
    axis = line(plunge, trend_deg=trend)
    first = line(0.0, trend_deg=trend + 90.0)
    turns = Rotation.from_rotvec(np.radians(np.linspace(-70.0, 70.0, 15))[:, None] * axis)
    poles = turns.apply(np.cross(axis, first)) + rng.normal(0.0, np.radians(3.0), (15, 3))
    poles /= np.linalg.norm(poles, axis=1)[:, None]
    found = girdle_axis(poles)
    values, vectors = scipy.linalg.eigh(np.einsum("ni,nj->ij", poles, poles) / 15)
    assert abs(vectors[:, 0] @ line(found.plunge_deg, trend_deg=found.trend_deg)) == pytest.approx(1.0)
    assert found.rms_deg == pytest.approx(math.degrees(math.asin(math.sqrt(values[0]))))
    # Fifteen poles over 140 degrees: the axis is good to about 3 / sqrt of the sum of squares along the girdle.
    assert abs(axis @ line(found.plunge_deg, trend_deg=found.trend_deg)) > math.cos(math.radians(3.0))
    assert found.sd_deg == pytest.approx(math.degrees(math.sqrt(values[0] / 13 / values[1])))


def test_poles_that_do_not_spread_leave_their_axis_anywhere_about_them():
    found = girdle_axis(np.array([[0.0, 0.0, 1.0]] * 4))
    assert found.sd_deg == pytest.approx(90.0)


def test_planes_turned_about_an_axis_give_it_back():
    """266/36 and 146/59 meet in 219/26: Engineering Rock Mechanics, app. B, p. 436; then any plane that holds the line."""
    first, second = (pole(dip, dip_direction_deg=way) for way, dip in ((266.0, 36.0), (146.0, 59.0)))
    turned = np.array([first * math.cos(t) + second * math.sin(t) for t in np.linspace(0.0, 1.4, 7)])
    turned /= np.linalg.norm(turned, axis=1)[:, None]
    axis = fold_axis(turned)
    assert (axis.trend_deg, axis.plunge_deg) == (pytest.approx(219.0, abs=1.0), pytest.approx(26.0, abs=1.0))
    assert axis.trend_deg == pytest.approx(218.759, abs=1e-3)
    assert axis.plunge_deg == pytest.approx(26.256, abs=1e-3)
    assert axis.rms_deg == pytest.approx(0.0, abs=1e-5)


def test_beds_alike_leave_the_axis_open():
    alike = pole([30.0, 31.0, 32.0, 33.0, 34.0], dip_direction_deg=[90.0, 92.0, 91.0, 95.0, 93.0])
    assert fold_axis(alike) is None
    assert fold_axis(alike[:4]) is None
