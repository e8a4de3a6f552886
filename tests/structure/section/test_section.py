"""What stands where on a section."""

import math

import numpy as np
import pytest

HEAD = """notation 1
bearings true
attitudes dip-right
control 1 0 E 0 N 100 m
"""


def points(compiled, index=0):
    section = compiled.geology.sections[index]
    return {(point.kind.value, point.label): point for point in section.points}


def test_square_and_along_strike_land_apart(compile_text):
    """A station at 160 E, 90 N whose beds strike 038, on a line of azimuth 110 from the origin: along strike 74 m
    (carried 146 m), square 120 m; common practice, no source, recomputed from the geometry."""
    body = "control 2 160 E 90 N 100 m\ncontrol 3 939.693 E -342.020 N 100 m\nat 1\nat 3\nat 2\nbed 038/42\n"
    strike = compile_text(HEAD + body + "section A-A' from 1 to 3, project strike\n")
    square = compile_text(HEAD + body + "section A-A' from 1 to 3, project square\n")
    carried = points(strike)["attitude", "2"]
    assert carried.distance_m == pytest.approx(74.0, abs=0.6)
    assert abs(carried.carried_m) == pytest.approx(146.0, abs=0.6)
    # Strike good to 6 degrees: 146 tan 6 square to the strike, which meets the line at 72 degrees: 16 m.
    sure = HEAD.replace(
        "attitudes dip-right", f"attitudes dip-right\nprecision attitude {6 * math.sin(math.radians(42)):.4f}"
    )
    off = points(compile_text(sure + body + "section A-A' from 1 to 3, project strike\n"))["attitude", "2"]
    assert off.sd_m == pytest.approx(16.1, abs=0.2)
    assert points(square)["attitude", "2"].sd_m == pytest.approx(0.0, abs=0.01)
    assert points(square)["attitude", "2"].distance_m == pytest.approx(119.6, abs=0.1)


def test_a_thousand_strikes_put_a_reading_as_far_off_as_is_stated(compile_text):
    """Strike redrawn 4000 times about 038 by 2 degrees of the pole on a dip of 42; the foot on the line worked out anew."""
    text = (
        HEAD.replace("attitudes dip-right", "attitudes dip-right\nprecision attitude 2")
        + "control 2 160 E 90 N 100 m\ncontrol 3 939.693 E -342.020 N 100 m\nat 1\nat 3\nat 2\nbed 038/42\n"
        "section A-A' from 1 to 3, project strike\n"
    )
    stated = points(compile_text(text))["attitude", "2"].sd_m
    rng = np.random.default_rng(5)
    strikes = np.radians(38.0 + rng.normal(0.0, 2.0 / math.sin(math.radians(42.0)), 4000))
    line = np.array([math.sin(math.radians(110.0)), math.cos(math.radians(110.0))])
    way = np.stack([np.sin(strikes), np.cos(strikes)], axis=1)
    place = np.array([160.0, 90.0])
    cross = way[:, 0] * line[1] - way[:, 1] * line[0]
    feet = (way[:, 0] * place[1] - way[:, 1] * place[0]) / cross
    assert stated == pytest.approx(feet.std(), rel=0.1)


def test_apparent_dips_go_down_with_distance_when_positive(compile_text):
    """Beds that dip 32 toward 128 on a section of azimuth 100, bent to 140: 28.9, then 31.4 (recomputed by hand)."""
    compiled = compile_text(
        HEAD
        + "at 1\nto 2 100 100m\nbed 038/32\nto 3 100 50m\nto 4 140 100m\nbed 038/32\nsection A-A' from 1 via 3 to 4\n"
    )
    found = points(compiled)
    assert found["attitude", "2"].apparent_dip_deg == pytest.approx(28.9, abs=0.05)
    assert found["attitude", "4"].apparent_dip_deg == pytest.approx(31.4, abs=0.05)
    assert compiled.geology.sections[0].bends_m == (pytest.approx(150.0),)
    back = compile_text(HEAD + "at 1\nto 2 100 100m\nbed 038/32\nsection A-A' from 2 to 1\n")
    assert points(back)["attitude", "2"].apparent_dip_deg == pytest.approx(-28.9, abs=0.05)


def test_down_plunge_lowers_what_is_carried_down_it(compile_text):
    """Beds turned about a level line would stay at their height; about one that plunges they drop by L tan(plunge)."""
    axis = "\n".join(f"bed {plane}" for plane in FOLD)
    compiled = compile_text(
        HEAD
        + f"at 1\n{axis}\nto 2 090 100m\nto 3 000 80m\nbed {FOLD[0]}\nsection A-A' from 1 to 2, project plunge\n"
    )
    fold = compiled.geology.fold_axis
    assert (round(fold.trend_deg), round(fold.plunge_deg)) == (180, 20)
    point = points(compiled)["attitude", "3"]
    assert point.distance_m == pytest.approx(100.0, abs=0.5)
    assert point.up_m == pytest.approx(100.0 - 80.0 * 0.36397, abs=0.2)


# Planes that all hold the line 20 -> 180: tan(dip) = tan(20) / cos(180 - dip direction), dip direction 110, 135, 180, …
FOLD = ("020/46.78", "045/27.24", "090/20", "135/27.24", "160/46.78")


def test_points_beyond_the_ends_are_left_out(compile_text):
    compiled = compile_text(
        HEAD + "at 1\nto 2 090 100m\nto 3 090 50m\nbed 000/30\nsection A-A' from 1 to 2\n"
    )
    assert ("attitude", "3") not in points(compiled)


def test_a_strike_along_the_section_is_carried_square_with_a_warning(compile_text):
    compiled = compile_text(
        HEAD + "at 1\nto 2 090 100m\nto 3 000 30m\nbed 080/40\nsection A-A' from 1 to 2, project strike\n"
    )
    assert points(compiled)["attitude", "3"].distance_m == pytest.approx(100.0, abs=1e-6)
    assert "strike-along-section" in {one.code for one in compiled.diagnostics}


def test_a_section_without_length_is_said_and_the_rest_stands(compile_text):
    compiled = compile_text(HEAD + "at 1\nto 2 090 100m\nsection A-A' from 2 to 2\n")
    assert "section-without-length" in {one.code for one in compiled.diagnostics}


def test_the_profile_follows_the_walk_under_the_line(compile_text):
    compiled = compile_text(HEAD + "at 1\nto 2 090 100m +10\nto 3 090 100m -5\nsection A-A' from 1 to 3\n")
    profile = compiled.geology.sections[0].profile
    top = max(profile, key=lambda point: point.up_m)
    assert top.distance_m == pytest.approx(98.5, abs=3.0)
    assert top.up_m == pytest.approx(117.4, abs=0.5)


def test_without_slopes_there_is_no_profile(compile_text):
    compiled = compile_text(HEAD + "at 1\nto 2 090 100m\nsection A-A' from 1 to 2\n")
    assert compiled.geology.sections[0].profile == ()


def test_a_section_down_the_plunge_of_no_axis_is_carried_square_and_says_so(compile_text):
    text = (
        "notation 1\nbearings true\nattitudes dip-direction\nat 1\nbed 090/30\nto 2 090 100m +2\nbed 091/31\n"
        "section A-A' from 1 to 2, project plunge\n"
    )
    compiled = compile_text(text)
    (told,) = [one for one in compiled.diagnostics if one.code == "no-axis"]
    assert told.kind == "warning"
    assert compiled.geology.sections[0].projection.value == "square"


def test_a_fault_booked_over_a_stretch_is_told_with_both_ends(compile_text):
    """Its beginning alone is not where it is drawn, half-way."""
    head = "notation 1\nbearings true\nattitudes dip-direction\nunit A Upper ; Jurassic\nunit B Lower ; Triassic\n"
    walk = "at 1\nunit A\nbed 100/30\nto 2 090 122m level\ncovered 11m to 51m scree\nfault A/B concealed\nat 2\nunit B\nbed 100/30\n"
    (section,) = compile_text(f"{head}section A-A' from 1 to 2\n{walk}").trav.geology.sections
    assert any("the fault on leg 1–2 at 11m to 51m was measured" in one.fact for one in section.limits)
