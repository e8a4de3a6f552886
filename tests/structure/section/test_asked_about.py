"""A bed that is only asked about, and so left out, turns no contact the other way."""

import math

import pytest

from traverse.structure.section.records import PointKind

WALK = """notation 1
bearings true
attitudes dip-direction
heights above the mill
unit Fl Flags ; Ordovician
unit Gr Greywacke ; Cambrian
at 1
  unit Fl
  bed 270/44
to 2 090 100m level
along 50m
  contact Fl/Gr certain
at 2
  unit Gr
  bed 270/35
to 3 090 100m level
at 3
  unit Gr
  bed 090/44
  {checked}
  note dune foresets, cross-bedding
to 4 090 100m level
along 10m
  contact Fl/Gr certain
at 4
  unit Fl
section A-A' from 1 to 4, depth 100 m
"""


@pytest.mark.parametrize(("checked", "way"), [("note limb", 0.0), ("checked AB read twice", 1.0)])
def test_a_contact_goes_not_the_other_way_for_a_bed_left_out(compile_text, checked, way):
    (section,) = compile_text(WALK.format(checked=checked)).geology.sections
    settled = checked.startswith("checked")
    assert [one.counts for one in section.points if one.is_bed][-1] is settled
    (line,) = [
        one
        for one in section.construction.lines
        if one.kind is PointKind.CONTACT and any(at > 150.0 for at, _ in one.outcrops)
    ]
    places = [place for piece in line.pieces if not piece.eroded for place in piece.points]
    top, foot = max(places, key=lambda one: one[1]), min(places, key=lambda one: one[1])
    assert math.copysign(1.0, foot[0] - top[0]) * (abs(foot[0] - top[0]) > 1.0) == pytest.approx(way)
    assert line.course_known is settled
