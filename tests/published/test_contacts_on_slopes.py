"""Thickness on slopes and planes through three outcrops, typed as a party would, against the formulas of the handbooks.

J. B. Mertie (1922), Graphic and mechanical computation of thickness of strata and distance to a stratum, U.S. Geological
Survey Professional Paper 129-C, pp. 39-52, and R. R. Compton (1962), Manual of Field Geology, ch. 11, for the thickness;
R. J. Lisle (2004), Geological Structures and Maps, 3rd ed., ch. 2, for structure contours: all from memory, and their
worked figures were not at hand, so those here are derived from the formulas.
"""

import math

import pytest

HEAD = "notation 1\nbearings true\nattitudes dip-right\nunit Cc Top ;\nunit Bb Middle ;\nunit Aa Base ;\n"


@pytest.mark.parametrize("dip", [12, 40, 75])
@pytest.mark.parametrize("slope", [-25, -8, 0, 15])
@pytest.mark.parametrize("azimuth", [20, 55, 90, 140])
def test_thickness_on_a_slope_oblique_to_the_strike(compile_text, dip, slope, azimuth):
    """t = L |cos slope sin dip sin beta + sin slope cos dip|, beta the angle from the strike, the slope rising down the dip.

    Beds strike north and dip east; L is 120 m along the ground.
    """
    (one,) = compile_text(
        HEAD
        + f"control 1 0 E 0 N 100 m\nat 1\nunit Aa\ncontact Bb/Aa certain\nto 2 {azimuth:03d} 120m {slope:+d}\n"
        + f"unit Bb\ncontact Cc/Bb certain\nbed 000/{dip}\n"
    ).geology.thicknesses
    down, rise, beta = (math.radians(angle) for angle in (dip, slope, azimuth))
    printed = 120.0 * abs(math.cos(rise) * math.sin(down) * math.sin(beta) + math.sin(rise) * math.cos(down))
    assert one.true_m == pytest.approx(printed, abs=1e-3)


@pytest.mark.parametrize(("spacing", "step", "strike"), [(100.0, 20.0, 40.0), (50.0, 50.0, 300.0)])
def test_three_outcrops_by_structure_contours(compile_text, spacing, step, strike):
    """Two outcrops at one height lie on a contour of the surface; the third, a contour lower, stands off by the spacing.

    tan dip = step over spacing, and the dip is square to the contour on its lower side.
    """
    way, side = math.radians(strike), math.radians(strike + 90.0)
    places = [
        (0.0, 0.0, 300.0),
        (180.0 * math.sin(way), 180.0 * math.cos(way), 300.0),
        (
            60.0 * math.sin(way) + spacing * math.sin(side),
            60.0 * math.cos(way) + spacing * math.cos(side),
            300.0 - step,
        ),
    ]
    text = HEAD + "".join(
        f"control {at} {1000 + x:.4f} E {1000 + y:.4f} N {z:.4f} m ±1\n"
        for at, (x, y, z) in enumerate(places, start=1)
    )
    text += "".join(f"at {at}\ncontact Bb/Aa certain\n" for at in (1, 2, 3))
    (plane,) = compile_text(text).geology.planes
    assert plane.dip_deg == pytest.approx(math.degrees(math.atan(step / spacing)), abs=1e-3)
    assert plane.strike_deg == pytest.approx(strike, abs=1e-3)
