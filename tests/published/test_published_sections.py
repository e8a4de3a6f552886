"""Thickness and depth of beds as a whole log gives them, against printed problems and closed forms.

Formulas: Univ. South Alabama GY403, thickness and depth problems: t = w sin(dip + slope) where slope and dip incline in
opposite ways, t = w sin(dip - slope) where they incline the same way; a bed is |L . n| deep square to itself. "Derived":
no printed answer; evaluated from the formula for this table.
"""

import math

import numpy as np
import pytest

HEAD = "notation 1\nbearings true\nattitudes dip-direction\nunit Cc Top ;\nunit Bb Middle ;\nunit Aa Base ;\n"


def test_flat_beds_between_93_and_87_feet_are_6_feet_thick(compile_text):
    """GY403 lab: horizontal beds, contacts at 93 and 87 ft: 6 ft."""
    slope = math.degrees(math.asin(6.0 / 40.0))
    text = HEAD + (
        "distances feet\ncontrol 0 0 E 0 N 93 ft\nat 0\nunit Cc\ncontact Cc/Bb certain\nbed flat\n"
        f"to 1 090 40ft -{slope:.4f}\ncontact Bb/Aa certain\nunit Aa\n"
    )
    (one,) = compile_text(text).geology.thicknesses
    assert one.true_m / 0.3048 == pytest.approx(6.0, abs=0.01)


def test_an_upright_bed_is_as_thick_as_its_outcrop_is_wide(compile_text):
    """GY403 lab: thickness = outcrop width on level ground."""
    text = (
        HEAD
        + "at 0\nunit Aa\nbed 090/90\ncontact Bb/Aa certain\nto 1 090 37m level\ncontact Cc/Bb certain\nunit Cc\n"
    )
    (one,) = compile_text(text).geology.thicknesses
    assert one.true_m == pytest.approx(37.0, abs=1e-6)


@pytest.mark.parametrize("turn", [0, 70, 205, 310])
@pytest.mark.parametrize(
    ("along", "slope", "dip", "printed"),
    [
        # The slope falls with the dip, and is gentler: w sin(dip - slope).
        (0, -10, 30, math.sin(math.radians(30 - 10))),
        # It falls with the dip, and is steeper: w sin(slope - dip); now the older bed is met lower down.
        (0, -30, 10, math.sin(math.radians(30 - 10))),
        # It falls against the dip: w sin(dip + slope).
        (180, -10, 30, math.sin(math.radians(30 + 10))),
        # The same where both come to more than a right angle.
        (180, -40, 60, math.sin(math.radians(60 + 40))),
        # Climbing down the dip is falling against it, walked the other way.
        (0, 10, 30, math.sin(math.radians(30 + 10))),
    ],
)
def test_thickness_on_a_slope_walked_square_to_the_strike(compile_text, turn, along, slope, dip, printed):
    """GY403's two formulas in their cases, w = 100 m on the ground, and every way round the compass."""
    way = (90 + turn) % 360
    text = HEAD + (
        f"at 0\nunit Aa\nbed {way:03d}/{dip}\ncontact Bb/Aa certain\n"
        f"to 1 {(way + along) % 360:03d} 100m {slope:+d}\ncontact Cc/Bb certain\nunit Cc\n"
    )
    (one,) = compile_text(text).geology.thicknesses
    assert one.true_m == pytest.approx(100.0 * printed, abs=1e-3)


def test_thickness_of_an_oblique_climb_down_dip(compile_text):
    """Base at (0, 0), top 150 E, 60 S and 28 m higher, beds 42 toward 128: 124.6 m; the climb forgotten, 103.8 (computed)."""
    level = math.hypot(150.0, 60.0)
    azimuth = math.degrees(math.atan2(150.0, -60.0)) % 360.0

    def thickness(up_m):
        slope = math.degrees(math.atan2(up_m, level))
        text = HEAD + (
            "at 0\nunit Aa\nbed 128/42\ncontact Bb/Aa certain\n"
            f"to 1 {azimuth:.6f} {math.hypot(level, up_m):.6f}m {slope:+.6f}\ncontact Cc/Bb certain\nunit Cc\n"
        )
        (one,) = compile_text(text).geology.thicknesses
        return one.true_m

    assert thickness(28.0) == pytest.approx(124.6, abs=0.1)
    assert thickness(0.0) == pytest.approx(103.8, abs=0.1)


@pytest.mark.parametrize(
    ("azimuth", "slope", "depth"),
    [
        # Derived: level ground 200 m down dip of 25 degrees; ground falling and rising 10 degrees (200 m on the slope);
        # level, 50 degrees from the strike.
        (90, 0, 93.2615),
        (90, -10, 57.1150),
        (90, 10, 126.5743),
        (50, 0, 71.4425),
    ],
)
def test_depth_of_a_bed_under_the_end_of_a_walk(compile_text, azimuth, slope, depth):
    """The section's contact, as deep under the last station as d = 200 (cos g sin a tan dip + sin g)."""
    text = HEAD + (
        "control 0 0 E 0 N 500 m\nat 0\nunit Aa\nbed 090/25\ncontact Bb/Aa certain\n"
        f"to 1 {azimuth:03d} 200m {slope:+d}\nunit Bb\nsection A-A' from 0 to 1, depth 300 m\n"
    )
    section = compile_text(text).geology.sections[0]
    for construction in (section.construction, section.arcs):
        (line,) = construction.lines
        points = sorted(point for piece in line.pieces for point in piece.points)
        distances, heights = np.array(points).T
        ground = section.profile[-1]
        under = float(np.interp(section.length_m, distances, heights))
        assert ground.up_m - under == pytest.approx(depth, abs=0.01)
