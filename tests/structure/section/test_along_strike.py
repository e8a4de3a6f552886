"""A section along the strike of the beds: a contact beside it lies under it at another height, or nowhere."""

import math

import pytest

from traverse.structure.section.records import PointKind

WALK = """notation 1
bearings true
attitudes dip-direction
heights above the mill
unit Bb Upper ; Jurassic
unit Aa Lower ; Triassic
at 1
  unit Bb
  bed 090/40
to 2 000 200m +2
  unit Bb
  bed 090/40
to 3 270 {away}m level
along {met}m
  contact Bb/Aa certain
at 3
  unit Aa
section A-A' {line}
"""


def drawn(compile_text, text=WALK, **asked):
    (section,) = compile_text(text.format(**asked)).geology.sections
    return [one for one in section.points if one.kind is PointKind.CONTACT]


def test_no_contact_is_carried_down_its_dip_at_its_own_height(compile_text):
    """150 m west of a section that runs north, beds dipping 40° east: under the line it lies 126 m lower."""
    (one,) = drawn(compile_text, away=200, met=150, line="from 1 to 2")
    assert one.up_m == pytest.approx(
        200.0 * math.sin(math.radians(2.0)) - 150.0 * math.tan(math.radians(40.0)), abs=0.5
    )
    # By beds that turn nobody knows how much lower.
    turning = WALK.replace("  unit Bb\n  bed 090/40\nto 3", "  unit Bb\n  bed 100/10\nto 3")
    assert drawn(compile_text, turning, away=200, met=150, line="from 1 to 2") == []


def test_one_beside_the_line_and_one_across_it_are_drawn(compile_text):
    assert len(drawn(compile_text, away=200, met=5, line="from 1 to 2")) == 1
    assert len(drawn(compile_text, away=200, met=150, line="090 through 2")) == 1
