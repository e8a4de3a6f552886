"""Closed traverses worked in print, through our own reduction and adjustment.

Bearings are typed as azimuths from true north and lengths as metres: the arithmetic does not know the unit.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.walk import control, walk
from traverse.adjustment.closure import judge_circuits
from traverse.adjustment.least_squares import least_squares
from traverse.adjustment.network import build_network
from traverse.adjustment.records import Fix, LeftOut, Vectors
from traverse.adjustment.sharing import compass_weights, raw_places, share_out, transit_weights
from traverse.location.records import LoopKind
from traverse.log.records import Rule
from traverse.survey import survey_log


def dms(degrees, minutes=0, seconds=0):
    return degrees + minutes / 60 + seconds / 3600


def loop(legs, *, start=(0.0, 0.0), rule=None):
    """Survey of a loop of (station, azimuth, length); `anyway`, since print adjusts far beyond our limits."""
    names = [name for name, _, _ in legs]
    walked = [
        (name, names[(i + 1) % len(names)], azimuth, length) for i, (name, azimuth, length) in enumerate(legs)
    ]
    log = walk(*walked, controls=[control(names[0], *start)], rule=rule, anyway="published" if rule else None)
    return survey_log(log).value


# Purdue University, Agricultural Systems Management, ASM 215 course notes, "Traverse calculations", in feet.
# https://engineering.purdue.edu/~asm215/topics/travcalc.html
ASM_215 = [
    ("A", dms(26, 10), 285.10),
    ("B", dms(104, 35), 610.45),
    ("C", dms(195, 30), 720.48),
    ("D", dms(358, 18), 203.00),
    ("E", dms(306, 54), 647.02),
]
ASM_215_LATITUDES = [255.88, -153.70, -694.28, 202.91, 388.48]
ASM_215_DEPARTURES = [125.72, 590.78, -192.54, -6.02, -517.41]
ASM_215_ADJUSTED = {
    "B": (10255.96, 10125.66),
    "C": (10102.44, 10716.31),
    "D": (9408.37, 10523.62),
    "E": (9611.34, 10517.55),
}

# J. Mahun, open-access surveying notes, XVII Traverse Computations, chap. I, fig. I-5, in feet.
# https://jerrymahun.com/index.php/home/open-access/17-trav-comps/49-travcomps-chap-i?start=3
MAHUN_I_5 = [
    ("A", 180 + dms(68, 5, 35), 472.68),
    ("B", 360 - dms(19, 46, 0), 216.13),
    ("C", dms(45, 55, 20), 276.52),
    ("D", 180 - dms(54, 59, 15), 382.24),
]

# NPTEL (India), course 105107122 "Surveying", module 9, lecture 29, Example 29-6, in metres.
# https://archive.nptel.ac.in/content/storage2/courses/105107122/modules/module9/html/29-17.htm
# The page prints the azimuth of BC as 94 42; its own components are those of 94 03.
NPTEL_29_6 = [
    ("A", dms(0, 42), 372.222),
    ("B", dms(94, 3), 164.988),
    ("C", dms(183, 4), 242.438),
    ("D", dms(232, 51), 197.145),
]

# Second-hand: a textbook problem, "Sample Traverse Computations", as course notes repeat it; the book was not seen.
POOR_LOOP = [
    ("A", dms(5, 30), 495.85),
    ("B", dms(46, 2), 850.62),
    ("C", dms(112, 22), 855.45),
    ("D", dms(167, 35), 1020.87),
    ("E", dms(263, 44), 1117.26),
    ("F", dms(304, 51), 660.08),
]

# Second-hand: a problem of closed polygon traverses in feet, its book unknown. The coordinates printed with it do not
# follow from its own components, so only components and closure are used; both were derived again from the readings.
POLYGON = [
    ("A", 360 - dms(22, 36, 40), 314.02),
    ("B", 180 + dms(60, 39, 24), 264.49),
    ("C", 180 - dms(38, 46, 10), 213.50),
    ("D", dms(88, 22, 58), 217.69),
]


def test_asm_215_components_closure_and_coordinates():
    survey = loop(ASM_215, start=(10000.0, 10000.0), rule=Rule.COMPASS)
    raw = [leg.raw for leg in survey.legs]
    assert [v.north_m for v in raw] == pytest.approx(ASM_215_LATITUDES, abs=0.006)
    assert [v.east_m for v in raw] == pytest.approx(ASM_215_DEPARTURES, abs=0.006)
    [closure] = survey.closures
    assert closure.length_m == pytest.approx(2466.05, abs=0.001)
    assert closure.misclosure.north_m == pytest.approx(
        -0.7043, abs=0.0001
    )  # printed -0.71 from rounded terms
    assert closure.misclosure.east_m == pytest.approx(0.5332, abs=0.0001)
    assert closure.misclosure.distance_m == pytest.approx(0.8833, abs=0.0001)  # printed 0.89
    assert closure.misclosure.azimuth_deg == pytest.approx(142.873, abs=0.001)  # recomputed, not printed
    assert closure.ratio == pytest.approx(2791.8, abs=0.5)  # printed 2771, from the rounded 0.89
    for name, (north, east) in ASM_215_ADJUSTED.items():
        assert survey.places[name].north_m == pytest.approx(north, abs=0.01)
        assert survey.places[name].east_m == pytest.approx(east, abs=0.01)


def test_mahun_i_5_closure():
    survey = loop(MAHUN_I_5, start=(2000.0, 500.0), rule=Rule.COMPASS)
    [closure] = survey.closures
    assert [leg.raw.north_m for leg in survey.legs] == pytest.approx(
        [-176.357, 203.395, 192.357, -219.312], abs=0.001
    )
    assert [leg.raw.east_m for leg in survey.legs] == pytest.approx(
        [-438.548, -73.093, 198.651, 313.065], abs=0.001
    )
    assert closure.misclosure.north_m == pytest.approx(0.083, abs=0.001)
    assert closure.misclosure.east_m == pytest.approx(0.075, abs=0.001)
    # The adjusted places are pictures in the source; these are recomputed from its readings.
    assert survey.places["B"].north_m == pytest.approx(323.6140, abs=0.0002)
    assert survey.places["D"].east_m == pytest.approx(1686.9563, abs=0.0002)


def test_nptel_29_6_with_the_misprint_mended():
    survey = loop(NPTEL_29_6, rule=Rule.COMPASS)
    [closure] = survey.closures
    assert closure.length_m == pytest.approx(976.793, abs=0.001)
    assert closure.misclosure.east_m == pytest.approx(-0.983, abs=0.001)
    assert closure.misclosure.north_m == pytest.approx(-0.606, abs=0.001)
    adjusted = [(leg.adjusted.east_m, leg.adjusted.north_m) for leg in survey.legs]
    printed = [(4.922, 372.425), (164.742, -11.551), (-12.726, -241.940), (-156.938, -118.934)]
    assert np.array(adjusted) == pytest.approx(np.array(printed), abs=0.001)


def test_nptel_29_6_as_misprinted_closes_four_times_worse():
    misprinted = [*NPTEL_29_6]
    misprinted[1] = ("B", dms(94, 42), 164.988)
    [closure] = loop(misprinted, rule=Rule.COMPASS).closures
    assert closure.misclosure.north_m == pytest.approx(-2.4721, abs=0.001)
    assert closure.ratio == pytest.approx(360, abs=1)


def test_poor_loop_by_the_compass_rule():
    survey = loop(POOR_LOOP, rule=Rule.COMPASS)
    [closure] = survey.closures
    assert closure.misclosure.north_m == pytest.approx(16.8171, abs=0.0001)
    assert closure.misclosure.east_m == pytest.approx(18.0737, abs=0.0001)
    assert closure.misclosure.distance_m == pytest.approx(24.6876, abs=0.0001)
    north = [491.8995, 587.6733, -328.4036, -1000.4252, -125.7134, 374.9694]
    east = [45.7328, 609.1538, 788.0003, 215.8168, -1114.6225, -544.0812]
    assert [leg.adjusted.north_m for leg in survey.legs] == pytest.approx(north, abs=0.0001)
    assert [leg.adjusted.east_m for leg in survey.legs] == pytest.approx(east, abs=0.0001)


def test_poor_loop_by_the_transit_rule():
    """Printed: factor 0.00579, first correction 2.86; the rest recomputed from the printed readings."""
    survey = loop(POOR_LOOP, rule=Rule.TRANSIT)
    corrections = [leg.adjusted.north_m - leg.raw.north_m for leg in survey.legs]
    assert corrections[0] == pytest.approx(-2.86, abs=0.005)
    assert corrections == pytest.approx([-2.8565, -3.4177, -1.8840, -5.7701, -0.7058, -2.1830], abs=0.0001)
    east = [47.2666, 608.8982, 786.7892, 218.3129, -1116.6251, -544.6418]
    assert [leg.adjusted.east_m for leg in survey.legs] == pytest.approx(east, abs=0.0001)


def test_transit_rule_on_given_components():
    """Second-hand: an examination problem, "an abstract from a traverse sheet", metres; the rule was worked again by hand."""
    north = [-173.20, -314.50, 86.60, 250.00, 154.90]
    east = [100.00, 128.40, 50.00, 0.00, -280.00]
    names = "ABCDE"
    legs = [
        (names[i], names[(i + 1) % 5], math.degrees(math.atan2(e, n)), math.hypot(e, n))
        for i, (e, n) in enumerate(zip(east, north, strict=True))
    ]
    survey = survey_log(
        walk(*legs, controls=[control("A", 0, 0)], rule="transit-rule", anyway="printed")
    ).value
    by_north = [leg.adjusted.north_m - leg.raw.north_m for leg in survey.legs]
    by_east = [leg.adjusted.east_m - leg.raw.east_m for leg in survey.legs]
    assert by_north == pytest.approx(
        [-0.6721, -1.2204, -0.3360, -0.9701, -0.6011], abs=1.2e-4
    )  # truncated there
    assert by_east == pytest.approx([0.2865, 0.3679, 0.1432, 0.0, 0.8022], abs=1.2e-4)


def test_components_and_closure():
    [closure] = loop(POLYGON, rule=Rule.COMPASS).closures
    raw = [leg.raw for leg in loop(POLYGON).legs]
    assert [v.east_m for v in raw] == pytest.approx([-120.733, -230.556, 133.691, 217.603], abs=0.001)
    assert [v.north_m for v in raw] == pytest.approx([289.883, -129.611, -166.460, 6.144], abs=0.001)
    assert closure.misclosure.distance_m == pytest.approx(0.045, abs=0.0005)
    assert closure.ratio == pytest.approx(22500, abs=30)
    assert closure.kind is LoopKind.LOOP


def test_least_squares_is_the_compass_rule_where_variance_goes_with_length():
    """Derived: independent legs with component variances in proportion to length share a gap out by length."""
    names = [name for name, _, _ in ASM_215]
    log = walk(*((n, names[(i + 1) % 5], azimuth, length) for i, (n, azimuth, length) in enumerate(ASM_215)))
    fix = Fix(position_m=np.zeros(3), sd_plan_m=0.0, sd_height_m=0.0, span=log.legs[0].span)
    network = build_network(log, {"A": fix})
    azimuth, length = np.radians([a for _, a, _ in ASM_215]), np.array([d for _, _, d in ASM_215])
    observed = np.stack((length * np.sin(azimuth), length * np.cos(azimuth), np.zeros(5)), axis=1)
    vectors = Vectors(
        observed_m=observed,
        covariance_m2=length[:, None, None] * np.eye(3) * 0.014182**2,
        horizontal_m=length,
    )
    closings = judge_circuits(network, vectors, anyway=True)
    raw = raw_places(network, observed)
    compass = share_out(network, vectors, closings, LeftOut(), weights=compass_weights(vectors), raw=raw)
    squares = least_squares(network, vectors, LeftOut(), near_m=raw.position_m)
    assert squares.position_m == pytest.approx(compass.position_m, abs=1e-9)
    assert squares.position_m[1:, 1] == pytest.approx(
        [255.96297, 102.43341, -591.63730, -388.66867], abs=1e-5
    )
    assert np.sqrt(squares.covariance_m2[1:, 1, 1]) == pytest.approx(
        [0.2252, 0.3387, 0.3347, 0.3098], abs=1e-4
    )
    assert transit_weights(vectors)[0] == pytest.approx([125.7245, 255.8815, 0.0], abs=1e-4)


def test_levelling_network():
    """J. Mahun, XV Least Squares Lite, chap. B: seven height differences from four benchmarks to Q and R.

    The benchmarks' heights are a picture; the residuals printed fix their differences: 0, 11.80, 13.60, 17.52.
    https://jerrymahun.com/index.php/home/open-access/xv-least-squares-lite/232-chapter-b-ls-brute-force-method
    """
    heights = {"A": 0.0, "B": 11.80, "C": 13.60, "D": 17.52}
    observations = [
        ("A", "Q", 8.91), ("B", "Q", -2.92), ("C", "Q", -4.67), ("D", "Q", -8.66),
        ("A", "R", -3.56), ("C", "R", -17.12), ("D", "R", -21.10),
    ]  # fmt: skip
    log = walk(*((start, end, 0.0, 1.0) for start, end, _ in observations))
    fixes = {
        name: Fix(position_m=np.array([0.0, 0.0, up]), sd_plan_m=0.0, sd_height_m=0.0, span=log.legs[0].span)
        for name, up in heights.items()
    }
    network = build_network(log, fixes)
    observed = np.array([[0.0, 0.0, rise] for _, _, rise in observations])
    vectors = Vectors(
        observed_m=observed,
        covariance_m2=np.tile(np.eye(3), (7, 1, 1)),
        horizontal_m=np.ones(7),
    )
    squares = least_squares(network, vectors, LeftOut(), near_m=raw_places(network, observed).position_m)
    up = dict(zip(network.names, squares.position_m[:, 2], strict=True))
    residuals = [up[end] - up[start] - rise for start, end, rise in observations]
    assert residuals == pytest.approx([-0.015, 0.015, -0.035, 0.035, 0.007, -0.033, 0.027], abs=0.0005)
    assert sum(v**2 for v in residuals) == pytest.approx(0.004767, abs=1e-6)
    unit = math.sqrt(sum(v**2 for v in residuals) / 5)
    at = {name: i for i, name in enumerate(network.names)}
    deviation = {name: unit * math.sqrt(squares.covariance_m2[at[name], 2, 2]) for name in ("Q", "R")}
    assert deviation["Q"] == pytest.approx(0.015438, abs=1e-6)
    assert deviation["R"] == pytest.approx(0.017826, abs=1e-6)
