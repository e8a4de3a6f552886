"""An unconformity on a section lies as the beds on it do, where its own plane was not read, and goes on into the ground."""

import math

import pytest

from traverse.structure.section.records import PointKind

WALK = """notation 1
bearings true
attitudes dip-direction
heights above the mill
unit Cc Top ; Jurassic
unit Bb Middle ; Triassic
unit Aa Base ; Devonian
at 1
  unit Aa
  bed 260/62
to 2 090 100m level
along 80m
  unconformity Bb/Aa certain {plane}
at 2
  unit Bb
  {bed}
to 3 090 100m level
along 60m
  contact Cc/Bb certain
at 3
  unit Cc
  bed {above}/28
to 4 090 60m level
  unit Cc
  bed {above}/28
section A-A' from 1 to 4
"""


@pytest.mark.parametrize("rule", ["construction", "arcs"])
@pytest.mark.parametrize(
    ("plane", "bed"),
    [("", "bed 090/28"), ("090/28", "bed 090/28"), ("090/28", "note no bed"), ("", "note no bed")],
)
def test_it_goes_down_beneath_what_lies_on_it_and_cuts_off_no_contact_there(compile_text, rule, plane, bed):
    """Also where no bed was read in the unit next above it, but in the one above that."""
    (section,) = compile_text(WALK.format(plane=plane, bed=bed, above="090")).geology.sections
    lines = {one.kind: one for one in getattr(section, rule).lines}
    # Arcs bend a contact by the beds of both piles.
    straight = () if rule == "arcs" else (PointKind.CONTACT,)
    for kind in (PointKind.UNCONFORMITY, *straight):
        (below,) = [one for one in lines[kind].pieces if not one.eroded]
        (x, up), (far_x, far_up) = sorted(below.points[:: len(below.points) - 1])
        assert math.degrees(math.atan2(up - far_up, far_x - x)) == pytest.approx(28.0, abs=0.5)
        assert far_up < -20.0
    # The unit above it lies on its upper side, on the left of its line.
    along = [point for piece in lines[PointKind.UNCONFORMITY].pieces for point in piece.points]
    assert along[0][0] < along[-1][0]


def test_beds_over_the_next_unconformity_tell_nothing_of_it(compile_text):
    text = WALK.format(plane="", bed="note no bed", above="090").replace(
        "contact Cc/Bb", "unconformity Cc/Bb"
    )
    (section,) = compile_text(text).geology.sections
    (line,) = [one for one in section.construction.lines if one.younger == "Bb"]
    assert all(up == pytest.approx(0.0) for piece in line.pieces for _, up in piece.points)
    assert "No bed on the unconformity Bb/Aa was read: it is drawn level." in section.construction.sentences
