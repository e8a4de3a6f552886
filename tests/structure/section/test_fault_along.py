"""A fault that strikes along the section and was met beside it: nothing tells where it is there."""

import math

import numpy as np
import pytest

from traverse.source import Span
from traverse.structure.form.fault_sides import FaultSides
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


BESIDE = """notation 1
bearings true
attitudes dip-right
unit Qb Sandstone ; Permian
unit Rc Limestone ; Carboniferous
unit Td Slate ; Devonian
section A-A' from 1 to 3
at 1
  elevation 100m map
  unit Qb
  bed 000/30
to 2 090 100m level
at 2
  unit Qb
  bed 000/30
to 3 090 150m level
at 3
  unit Qb
  bed 000/30
to 4 000 200m level
along 100m
  fault Qb/Rc certain {plane}
at 4
  unit Rc
  bed 000/50
to 5 270 300m level
along 60m
  contact Rc/Td certain
at 5
  unit Td
  bed 000/50
to 6 180 200m level
along 100m
  fault Qb/Td certain {plane}
at 6
  unit Qb
"""


@pytest.mark.parametrize("plane", ["090/80 down S", "down S", ""])
def test_nothing_is_carried_over_a_fault_that_passes_the_section_by(compile_text, plane):
    (section,) = compile_text(BESIDE.format(plane=plane)).geology.sections
    assert {point.unit for point in section.profile} <= {"Qb", None}
    met = [one for one in section.points if one.kind is not PointKind.STATION]
    assert met
    assert all(one.attitude is not None and one.attitude.unit == "Qb" for one in met)
    assert not section.construction.lines
    (said,) = [one.fact for one in section.limits if one.code == "section-fault-beside"]
    assert (
        said == "a fault runs past section A–A′, 100\N{NO-BREAK SPACE}m off, and nothing is carried over it"
    )


def test_a_section_across_the_fault_shows_both_sides_of_it(compile_text):
    text = BESIDE.format(plane="090/80 down S").replace("from 1 to 3", "from 3 to 4")
    (section,) = compile_text(text).geology.sections
    assert PointKind.FAULT in {one.kind for one in section.construction.lines}
    assert not [one for one in section.limits if one.code == "section-fault-beside"]
    units = [point.unit for point in section.profile]
    assert units[0] == "Qb"
    assert units[-1] == "Rc"


ASKEW = """notation 1
bearings true
attitudes dip-right
unit Qb Sandstone ; Permian
unit Rc Limestone ; Carboniferous
at 1
  elevation 100m map
  unit Qb
  bed 000/30
to 2 000 200m level
along 100m
  fault Qb/Rc certain 099/70 down N
at 2
  unit Rc
  bed 000/30
to 3 090 600m level
at 3
  unit Rc
  bed 000/30
to 4 180 200m level
along 195m
  {met}
at 4
  unit {last}
  bed 000/30
from 1 to 5 072 137m level
from 2 to 6 108 316m level
section A-A' from 5 to 6
"""
CROSSED = {"met": "fault Qb/Rc certain 099/70 down N", "last": "Qb"}


def test_one_met_on_both_sides_of_the_section_is_drawn_where_the_map_has_it_cross(compile_text):
    (section,) = compile_text(ASKEW.format(**CROSSED)).geology.sections
    (fault,) = [one for one in section.construction.lines if one.kind is PointKind.FAULT]
    # By hand: the straight line from (0, 100) to (600, 5) has y = 52 at x = 300 and 73 at 170; so does the section at 205.
    ((at_m, _),) = fault.outcrops
    assert at_m == pytest.approx(math.hypot(205 - 130.3, 67.5 - 42.3), abs=3.0)


def test_one_met_once_may_come_to_a_section_that_its_line_run_on_crosses():
    fault, sides = Span("log.trav", 1, 1, 2), FaultSides.__new__(FaultSides)
    sides.lines, sides.line_of = [np.array([(-300.0, 150.0), (0.0, 100.0), (300.0, 50.0)])], {fault: 0}
    assert sides.may_cross(np.array([(400.0, 0.0), (400.0, 150.0)]), fault)
    assert not sides.may_cross(np.array([(400.0, 100.0), (400.0, 200.0)]), fault)
