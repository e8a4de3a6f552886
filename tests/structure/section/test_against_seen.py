"""A contact carried to where ground seen much nearer is of one unit is left off: what was seen stands."""

import pytest

from traverse.compile import map_ground

TWO_ARMS = """notation 1
bearings true
attitudes dip-direction
unit Cc Upper ;
unit Bb Middle ;
unit Aa Lower ;
control 1 0 E 0 N 100 m
at 1
unit Bb
bed 270/20
to 2 090 300m level
unit Bb
bed 090/20
at 2
to 3 000 150m {slope}
unit Bb
to 4 270 300m level
along 100m
contact Bb/Aa certain 090/20
along 200m
contact Bb/Aa certain 270/20
at 4
unit Bb
close 1 180 150m {back}
section A-A' from 1 to 2{more}
"""


@pytest.mark.parametrize(("slope", "back"), [("level", "level"), ("+2", "-2"), ("-2", "+2")])
def test_a_core_seen_aside_is_not_drawn_through_ground_that_was_walked(compile_text, slope, back):
    trav = map_ground(compile_text(TWO_ARMS.format(slope=slope, back=back, more="")).trav)
    (cut,) = trav.ground.cuts
    assert {fill.unit for fill in cut.fills} == {"Bb"}
    assert cut.lines == ()
    (said,) = (one for one in cut.section.limits if one.code == "section-against-ground")
    assert said.sentence == (
        "Bb/Aa on leg 3–4 at 100m and on leg 3–4 at 200m, carried 150\xa0m or more to section A–A′, would come out where ground seen nearer is Bb, "
        "and are left off: lay a section where they were met."
    )
    assert said.brief == "Bb/Aa on leg 3–4 at 100m and 1 more left off"


def test_what_a_cover_hides_goes_on_under_it(compile_text):
    """Ground of the cover tells nothing of what lies under it."""
    text = TWO_ARMS.format(slope="level", back="level", more="").replace(
        "unit Cc", "unit Wt Wash ; Quaternary\nunit Cc"
    )
    walked, rest = text.split("to 3", 1)
    (section,) = compile_text(walked.replace("unit Bb\nbed", "unit Wt\nbed") + "to 3" + rest).geology.sections
    assert not [one for one in section.limits if one.code == "section-against-ground"]


TURNING = """notation 1
bearings true
attitudes dip-direction
unit Bb Upper ;
unit Aa Lower ;
control 1 0 E 0 N 100 m
at 1
unit Bb
bed 270/16
to 2 090 150m level
along 100m
contact Bb/Aa certain
at 2
unit Aa
bed 270/2
to 3 090 150m level
along 20m
contact Bb/Aa certain
at 3
unit Bb
bed 090/18
section A-A' from 1 to 3, depth 60 m
"""


def test_a_contact_goes_down_on_the_side_that_it_was_seen_to(compile_text):
    """Half-way between two beds it would lie in the one that has its younger side where the older was walked on."""
    trav = map_ground(compile_text(TURNING).trav)
    (cut,) = trav.ground.cuts
    ways = [part.coords for line in cut.lines for part in line.below]
    assert len(ways) == 2
    for way in ways:
        top, foot = sorted(way, key=lambda one: -one[1])[:: len(way) - 1]
        assert (foot[0] < top[0]) == (top[0] < 150.0)
