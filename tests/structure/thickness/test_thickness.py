"""Thickness between two contacts, by closed forms."""

import math

import pytest

HEAD = """notation 1
bearings true
attitudes dip-right
unit Cc Top ;
unit Bb Middle ;
unit Aa Base ;
at 1
unit Aa
"""

# Length 100 m on the slope, beds that dip toward 090: thickness = |L . n|; derived from the vector form for any
# traverse, which the thickness lab of GY403 (Univ. South Alabama) gives case by case.
CASES = [
    (90, 0.0, "000/30", 50.0000),
    (90, -10.0, "000/30", 34.2020),
    (90, -30.0, "000/10", 34.2020),
    (270, -10.0, "000/30", 64.2788),
    (270, -40.0, "000/60", 98.4808),
    (40, 0.0, "000/30", 32.1394),
    (40, -10.0, "000/30", 16.6127),
    (40, 10.0, "000/30", 46.6895),
    (90, -10.0, "000/90", 98.4808),
    (90, -10.0, "flat", 17.3648),
]


@pytest.mark.parametrize(("azimuth", "slope", "bed", "expected"), CASES)
def test_thickness_is_that_of_the_closed_form(compile_text, azimuth, slope, bed, expected):
    sign = f"{slope:+.0f}"
    compiled = compile_text(
        HEAD
        + f"contact Bb/Aa certain\nto 2 {azimuth:03d} 100m {sign}\nunit Bb\ncontact Cc/Bb certain\nbed {bed}\n"
    )
    (one,) = compiled.geology.thicknesses
    assert one.unit == "Bb"
    assert one.true_m == pytest.approx(expected, abs=1e-3)
    assert one.sd_m > 0.0


def test_no_thickness_over_a_fault(compile_text):
    compiled = compile_text(
        HEAD
        + "contact Bb/Aa certain\nto 2 090 100m\nalong 50m\nfault Bb/Aa certain 010/80\nat 2\ncontact Cc/Bb certain\nbed 000/30\n"
    )
    assert compiled.geology.thicknesses == ()


def test_a_unit_entered_and_left_on_the_same_side_has_none(compile_text):
    """The core of a fold: its younger unit is named as the younger one twice."""
    compiled = compile_text(
        HEAD + "contact Bb/Aa certain\nbed 000/30\nto 2 090 100m\ncontact Bb/Aa certain\n"
    )
    assert compiled.geology.thicknesses == ()


def test_the_fix_of_the_start_adds_nothing_to_a_thickness(compile_text):
    body = "contact Bb/Aa certain\nto 2 090 100m\ncontact Cc/Bb certain\nbed 000/30\n"
    held = compile_text(HEAD.replace("at 1", "control 1 0 E 0 N 0 m\nat 1") + body).geology.thicknesses[0]
    loose = compile_text(
        HEAD.replace("at 1", "control 1 0 E 0 N ±50 0 m ±50\nat 1") + body
    ).geology.thicknesses[0]
    assert loose.sd_m == pytest.approx(held.sd_m, rel=1e-6)


MISSED = (
    HEAD
    + "unit Aa\nbed 270/30\nto 2 090 100m level\nalong 50m\ncontact Bb/Aa certain\nat 2\nunit Bb\n"
    + "to 3 090 100m level\nunit Cc\nto 4 090 100m level\nalong 50m\ncontact Cc/Bb certain\nat 4\nunit Bb\n"
)


def test_where_a_contact_was_missed_between_two_there_is_none(compile_text):
    """Into Bb, into Cc with no contact logged, and out of it again: from the first to the last is not Bb alone."""
    assert compile_text(MISSED).geology.thicknesses == ()
    assert [one.unit for one in compile_text(MISSED.replace("unit Cc\nto", "to")).geology.thicknesses] == [
        "Bb"
    ]


def test_another_unit_at_the_contacts_or_beside_the_walk_takes_nothing_away(compile_text):
    body = "unit Aa\ncontact Bb/Aa certain\nto 2 090 100m\n{}\nto 3 090 100m\nunit Cc\ncontact Cc/Bb certain\nbed 000/30\n"
    for between in ("unit Bb", "side 2a 000 30m\nunit Cc"):
        (one,) = compile_text(HEAD + body.format(between)).geology.thicknesses
        assert one.unit == "Bb"


def test_a_bed_beyond_the_hinge_does_not_measure_the_limb(compile_text):
    """Limbs of 45 and 40 degrees; the last bed before the contact is nearest to it and on the other limb: 100 sin 40."""
    body = (
        "bed 000/45\nto 2 090 100m level\nunit Cc\nbed 000/45\nto 3 090 100m level\nalong 5m\ncontact Cc/Bb certain\n"
        "at 3\nunit Bb\nbed 180/40\nto 4 090 100m level\nunit Bb\nbed 180/40\nto 5 090 100m level\nalong 5m\n"
        "contact Bb/Aa certain\nat 5\nunit Aa\nbed 180/40\n"
    )
    (one,) = compile_text(HEAD + body).geology.thicknesses
    true = 200.0 * math.sin(math.radians(40.0))
    assert one.true_m == pytest.approx(true, abs=1e-6)
    assert one.range_m == pytest.approx((true, true), abs=1e-6)


def test_a_hinge_may_lie_within_a_unit_up_to_the_first_bed_read_in_it(compile_text):
    """Beds of 70 degrees before the lower contact, of 20 within from 60 m on, all down the walk: a bend at 0 to 60 of 100 m."""
    body = (
        "bed 000/70\nto 2 090 100m level\nunit Aa\nbed 000/70\nto 3 090 100m level\nalong 40m\ncontact Bb/Aa certain\n"
        "at 3\nunit Bb\nbed 000/20\nto 4 090 100m level\nalong 40m\ncontact Cc/Bb certain\nat 4\nunit Cc\nbed 000/20\n"
    )
    (one,) = compile_text(HEAD + body).geology.thicknesses
    gentle, steep = (100.0 * math.sin(math.radians(dip)) for dip in (20.0, 70.0))
    assert one.true_m == pytest.approx(gentle, abs=1e-6)
    assert one.range_m == pytest.approx((gentle, 0.6 * steep + 0.4 * gentle), abs=1e-6)


LEANING = """
notation 1
bearings true
attitudes dip-direction
{place}
unit  Cc Cover ; Jurassic
unit  Bb Beds ; Triassic
unit  Aa Base ; Permian
{control}at 1
  unit Aa
  bed 118/22
to 2 062 386m +7
along 197m
  contact Bb/Aa approximate
along 250m
  sample S-1 sandstone
to 3 071 397m +6
along 358m
  contact Cc/Bb certain 121/24
to 4 055 386m -2
  unit Cc
  bed 124/26
"""


def test_thickness_does_not_hang_on_the_north_of_the_grid(compile_text):
    """One walk by true north, in a zone whose grid turns 2.9° off it and in none: the ground is the same."""
    alone = compile_text(LEANING.format(place="", control="")).geology
    grid = compile_text(
        LEANING.format(place="grid EPSG:25832", control="control 1 788000 E 5201400 N 0 m ±3\n")
    )
    assert grid.survey.frame.convergence_deg > 2.5
    for one, other in zip(alone.thicknesses, grid.geology.thicknesses, strict=True):
        # The scale of the grid there is 0.06 %.
        assert other.true_m == pytest.approx(one.true_m, rel=1.5e-3)
    for one, other in zip(alone.least, grid.geology.least, strict=True):
        assert other.true_m == pytest.approx(one.true_m, rel=1.5e-3)
    (level,), (other) = (
        [sample.level_m for unit in geology.column for sample in unit.samples]
        for geology in (alone, grid.geology)
    )
    assert other == pytest.approx([level], rel=1.5e-3)
    assert alone.thicknesses
    assert alone.least


def test_a_unit_whose_beds_dip_all_round_is_as_thick_as_by_the_beds_on_its_way(compile_text):
    """A cone with sides of 20°, walked all round between its two contacts, 100 m apart on flat ground: 100 sin 20°."""
    round_m = [(0, 100), (100, 0), (0, -100), (-100, 0), (0, 110)]
    walk, at = "", (0, 45)
    for n, (east, north) in enumerate(round_m, start=2):
        way, long = math.degrees(math.atan2(east - at[0], north - at[1])) % 360, math.dist(at, (east, north))
        walk += f"to {n} {way:03.0f} {long:.1f}m level\n"
        walk += "along 5m\n  contact Bb/Aa certain\n" if n == 2 else ""
        walk += f"at {n}\n  unit Bb\n  bed {math.degrees(math.atan2(east, north)) % 360:03.0f}/20\n"
        at = east, north
    found = compile_text(
        "notation 1\nbearings true\nattitudes dip-direction\nunit Cc Grit ;\nunit Bb Marl ;\nunit Aa Sand ;\n"
        f"at 1\n  unit Aa\n{walk}to 7 000 50m level\nalong 40m\n  contact Cc/Bb certain\nat 7\n  unit Cc\n"
    ).geology
    (one,) = found.thicknesses
    assert one.true_m == pytest.approx(100.0 * math.sin(math.radians(20.0)), abs=1.0)
