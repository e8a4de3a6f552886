"""Crossings of one unit that differ, and ground between stations that is no straight line."""

import pytest

from traverse.length import METRES
from traverse.output.json_file import as_json
from traverse.sheet.said.thickness_words import differing_crossings

HEAD = """notation 1
bearings true
attitudes dip-right
unit Cc Top ;
unit Bb Middle ;
unit Aa Base ;
"""


def _walk(second_m, slope=0):
    return (
        HEAD
        + f"""at 1
unit Aa
bed 000/30
to 2 090 60m {slope:+d}
along 10m
contact Bb/Aa certain
along 30m
contact Cc/Bb certain
at 2
unit Cc
bed 000/30
to 3 000 200m {slope:+d}
at 3
unit Cc
bed 000/30
to 4 270 60m {-slope:+d}
along 10m
contact Cc/Bb certain
along {10 + second_m}m
contact Bb/Aa certain
at 4
unit Aa
bed 000/30
"""
    )


def test_crossings_that_differ_by_more_than_their_errors_are_said_to(compile_text):
    found = compile_text(_walk(50))
    geology = found.geology
    (known,) = [one for one in geology.unit_thicknesses if one.unit == "Bb"]
    assert known.differs
    low, high = (one.true_m for one in geology.thicknesses)
    # The error of the mean is what they scatter by: half of what two of about one weight differ by.
    assert known.sd_m > (high - low) / 4.0
    column = as_json(found.log, found.trav, found.diagnostics)["column"]
    assert {one["unit"]: one["differs"] for one in column} == {"Cc": False, "Bb": True, "Aa": False}


@pytest.mark.parametrize("wrong_m", [5, 48])
def test_one_wrong_of_three_does_not_move_the_thickness(compile_text, wrong_m):
    """20 m of ground over beds of 30° are 10 m thick, twice; the third crossing has its contact along a wrong distance."""
    third = (
        "to 5 000 200m level\nat 5\nunit Aa\nbed 000/30\nto 6 090 60m level\nalong 10m\ncontact Bb/Aa certain\n"
        f"along {10 + wrong_m}m\ncontact Cc/Bb certain\nat 6\nunit Cc\nbed 000/30\n"
    )
    geology = compile_text(_walk(20) + third).geology
    (known,) = [one for one in geology.unit_thicknesses if one.unit == "Bb"]
    assert (known.n, known.differs) == (3, True)
    assert known.true_m == pytest.approx(10.0, abs=0.1)


def test_crossings_that_agree_are_not(compile_text):
    geology = compile_text(_walk(20)).geology
    (known,) = [one for one in geology.unit_thicknesses if one.unit == "Bb"]
    assert not known.differs
    assert known.sd_m < min(one.sd_m for one in geology.thicknesses)


def test_it_is_said_with_what_they_range_over(compile_text):
    (words,) = differing_crossings(compile_text(_walk(50)).geology, METRES)
    assert words.startswith("Bb, 10–25\N{NO-BREAK SPACE}m: these differ by more than their errors")
    assert differing_crossings(compile_text(_walk(20)).geology, METRES) == ()


def test_a_crossing_along_a_slope_is_less_sure_than_on_the_level(compile_text):
    """The ground bulges from the straight line by a tenth of what a leg so long rises, half-way along; at a third of the
    leg's part, 4 · 1/3 · 2/3 of that."""
    level, steep = (next(iter(compile_text(_walk(20, slope)).geology.thicknesses)) for slope in (0, 20))
    rise = 60 * 0.9397 * 0.36397
    bulge = 0.1 * rise * 4 * (1 / 3) * (2 / 3)
    assert steep.sd_m > level.sd_m
    # 20 m up 20° against beds of 30°: the height counts by cos 30°.
    assert steep.sd_m == pytest.approx((level.sd_m**2 + (bulge * 0.866) ** 2) ** 0.5, rel=0.25)
