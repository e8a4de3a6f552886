"""Ground of a section that lies past all beds that were walked on, and beds that tell a section little alone."""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely

from tests.invented.judge import compiled_walk
from tests.invented.models import make
from tests.invented.walker import walked
from tests.structure.section.test_both_limbs import RING
from traverse.compile import map_ground, section_ground
from traverse.ground.section_guesses import with_white_told
from traverse.ground.section_runs import UnitRun, left_open
from traverse.structure.section.records import PointKind

ROUND = """notation 1
bearings true
attitudes dip-direction
unit Sh Shale ; Silurian
at 1
  unit Sh
  bed {first}
to 2 {out} {leg}m level
  unit Sh
  bed {second}
to 3 {back} {leg}m level
  unit Sh
  bed {third}
section A-A' from 1 to 3, project square
sheet band 20 m
"""
"""A walk that leaves its section by 60 m, or by 15 m, and comes back to it 200 m on."""


ALONG_DIP = """notation 1
bearings true
attitudes dip-direction
unit Ss Sandstone ; Devonian
unit Sh Shale ; Silurian
at 1
  unit {first}
  bed {bed}
to 2 090 250m level
  contact Ss/Sh certain
at 2
  unit {second}
  bed {bed}
to 3 090 250m level
at 3
  unit {second}
  bed {bed}
section A-A' 090 through 1
sheet band 15 m
"""
"""A walk along the dip on level ground; its section goes on past both its ends."""


def cut_of(compile_text, *beds, far=True):
    first, second, third = beds
    legs = {"out": "121", "back": "059", "leg": 117} if far else {"out": "099", "back": "081", "leg": 101}
    text = ROUND.format(first=first, second=second, third=third, **legs)
    (cut,) = section_ground(compile_text(text).trav).ground.cuts
    return cut


def thick_m(cut, at_m):
    """How much is coloured under a place of the ground."""
    column = shapely.LineString([(at_m, -1000.0), (at_m, 1000.0)])
    return shapely.union_all([fill.area for fill in cut.fills]).intersection(column).length


def says_so(cut):
    return any(one.code == "section-past-beds" for one in cut.section.limits)


def test_ground_under_all_beds_that_were_walked_on_is_of_no_known_unit(compile_text):
    # Beds dip away from the middle all round: 15 m or more under those nearest to it.
    cut = cut_of(compile_text, "270/30", "180/30", "090/30")
    assert thick_m(cut, 100.0) == 0.0
    assert thick_m(cut, 2.0) > 19.0
    assert says_so(cut)


def test_so_is_ground_over_all_of_them(compile_text):
    # Beds dip toward the middle from all round; what was walked on comes under it along them.
    cut = cut_of(compile_text, "090/30", "000/30", "270/30")
    under = shapely.Point(100.0, cut.section.ground_at(100.0) - 3.0)
    assert not any(fill.area.contains(under) for fill in cut.fills)
    assert thick_m(cut, 2.0) > 19.0
    assert says_so(cut)


def test_a_skin_is_left_where_it_lies_little_under_them(compile_text):
    # At 30 m along the dip of 6° it lies 3.1 m under them, and 6 m is a skin.
    cut = cut_of(compile_text, "270/06", "180/06", "090/06")
    assert 2.0 < thick_m(cut, 100.0) < 4.0
    assert says_so(cut)


def test_ground_that_was_looked_at_keeps_its_colour(compile_text):
    cut = cut_of(compile_text, "270/30", "180/30", "090/30", far=False)
    assert thick_m(cut, 100.0) > 19.0
    assert not says_so(cut)


def test_ground_along_the_strike_of_the_beds_keeps_its_colour(compile_text):
    cut = cut_of(compile_text, "090/30", "090/30", "090/30")
    assert thick_m(cut, 100.0) > 19.0
    assert not says_so(cut)


@pytest.mark.parametrize(
    ("first", "second", "bed"), [("Sh", "Ss", "090/25"), ("Sh", "Ss", "090/60"), ("Ss", "Sh", "270/25")]
)
def test_ground_that_was_stood_on_keeps_its_colour_beside_ground_past_beds(compile_text, first, second, bed):
    (cut,) = section_ground(
        compile_text(ALONG_DIP.format(first=first, second=second, bed=bed)).trav
    ).ground.cuts
    (at,) = (one.distance_m for one in cut.section.points if one.label == "1" and one.is_bed)
    seen = (at - 15.0, at + 250.0)
    assert says_so(cut)
    assert seen[0] > 5.0
    for place in np.arange(seen[0] + 1.0, seen[1] - 1.0, 2.0).tolist():
        ground = shapely.Point(place, cut.section.ground_at(place) - 0.1)
        assert [fill.unit for fill in cut.fills if fill.area.contains(ground)] == [first]
    # Nobody stood as far out as that, 8 m and more past all beds; under the lowest of them nothing is known.
    outside = shapely.Point(1.0, cut.section.ground_at(1.0) - 0.5)
    assert not any(fill.area.contains(outside) for fill in cut.fills)
    if bed != "270/25":
        assert thick_m(cut, 1.0) == 0.0
        return
    # Over them the bed that crops out last goes down under what is not known.
    (white_m,) = (
        one.distance_m
        for one, after in pairwise(cut.section.profile)
        if one.past_beds_m > 3.0 >= after.past_beds_m
    )
    assert 15.0 - thick_m(cut, 1.0) == pytest.approx((white_m - 1.0) * math.tan(math.radians(25.0)), abs=0.1)


def test_a_bed_whose_error_turns_its_strike_is_carried_along_that_of_the_bed_beside_it():
    # A bed of 1° on a crest, carried 85 m along its own strike, would flatten the limb there and cut the core off.
    trav = map_ground(compiled_walk(walked(make("upright", 2))).trav)
    (cut,) = trav.ground.cuts
    met = [
        line.outcrops
        for line in cut.section.construction.lines
        if line.kind is PointKind.CONTACT and {line.younger, line.older} == {"Cc", "Bb"}
    ]
    (((one, _), (other, _)),) = met
    core = shapely.union_all([fill.area for fill in cut.fills if fill.unit == "Bb"])
    assert core.covers(shapely.Point((one + other) / 2.0, cut.section.ground_at((one + other) / 2.0) - 5.0))


def test_gentle_planes_are_taken_where_heights_and_beds_together_tell_against_level_ones():
    # No bed alone dips, but the contact lies 8 m lower where it is met again, the way that the beds lean.
    trav = map_ground(compiled_walk(walked(make("flat", 13))).trav)
    (section,) = trav.geology.sections
    assert not section.levels[0].is_level
    # Both ends of the walk are on Ee, and so are those of the section.
    assert section.profile[0].unit == section.profile[-1].unit == "Ee"


def test_ground_where_the_lines_contradict_what_was_carried_there_is_white_and_has_a_word(compile_text):
    """Before the fault Sd was carried to where Lk/Sd has Lk, which no second line and no walk bears out."""
    text = RING.replace("from 16 to 6", "from 14 to 3")
    (cut,) = section_ground(compile_text(text).trav).ground.cuts
    assert [thick_m(cut, at_m) > 15.0 for at_m in (30.0, 120.0, 220.0)] == [True, False, True]
    (open_ground,) = [one for one in cut.section.limits if one.code == "section-open-ground"]
    # It names its lines, by where they were met, and the unit that they contradict.
    assert "Lk/Sd on leg" in open_ground.fact
    assert "and Sd, carried there from the walk," in open_ground.fact
    # Of colour that is gone without such a unit it is said that none was carried there; not where nothing tells of the ground.
    without = replace(cut, section=replace(cut.section, limits=()), fills=cut.fills[:1])
    told = with_white_told(without, (), depth_m=20.0)
    assert [one.code for one in told.section.limits] == ["section-none-carried"]
    assert not with_white_told(replace(without, evidence=()), (), depth_m=20.0).section.limits
    # Along the first of its lines no ground is left without a unit.
    (bare,) = section_ground(
        compile_text(ALONG_DIP.format(first="Ss", second="Sh", bed="270/30")).trav
    ).ground.cuts
    assert "section-open-ground" not in {one.code for one in bare.section.limits}


def test_what_lines_leave_open_is_what_had_a_unit_before_them():
    def run(unit, start_m, end_m):
        return UnitRun(unit=unit, start_m=start_m, end_m=end_m)

    runs = (run("Aa", 0.0, 50.0), run(None, 50.0, 60.0), run("Bb", 60.0, 90.0))
    told = (run("Aa", 0.0, 30.0), run(None, 30.0, 70.0), run("Bb", 70.0, 90.0))
    assert left_open(runs, told) == (run("Aa", 30.0, 50.0), run("Bb", 60.0, 70.0))
