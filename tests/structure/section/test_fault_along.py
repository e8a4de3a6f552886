"""A fault that strikes along the section and was met beside it: nothing tells where it is there."""

import pytest

from traverse.structure.section.records import PointKind

WALK = """notation 1
bearings true
attitudes dip-direction
heights above the mill
unit Cc Top ; Jurassic
unit Bb Middle ; Triassic
unit Aa Base ; Permian
at 1
  unit Aa
  bed 090/30
to 2 090 150m level
along 100m
  contact Bb/Aa certain
at 2
  unit Bb
  bed 090/30
to 3 090 150m level
along 100m
  contact Cc/Bb certain
at 3
  unit Cc
  bed 090/30
to 4 {way} 150m level
along {met}m
  fault Cc/Cc certain {plane}
at 4
  unit Cc
section A-A' from 1 to 3
"""


@pytest.mark.parametrize("plane", ["180/70 down S", "182/70 down S", "360/70 down N"])
def test_one_met_beside_the_section_is_left_off_and_ends_no_contact(compile_text, plane):
    (section,) = compile_text(WALK.format(way="180", met=60, plane=plane)).geology.sections
    lines = section.construction.lines
    assert {one.kind for one in lines} == {PointKind.CONTACT}
    # On level ground, dipping 30°, each goes down to the frame and not along the ground.
    for one in lines:
        low = min(height for piece in one.pieces for _, height in piece.points)
        assert low < -20.0
    (said,) = [one.fact for one in section.limits if one.code == "section-fault-along"]
    assert said.endswith("from section A–A′, so its place and dip there are not told, and it is left off")


def test_one_that_crosses_the_section_is_drawn(compile_text):
    (section,) = compile_text(
        WALK.format(way="090", met=60, plane="090/70 down E").replace("1 to 3", "1 to 4")
    ).geology.sections
    assert PointKind.FAULT in {one.kind for one in section.construction.lines}
