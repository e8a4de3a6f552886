"""Contacts straight along their own dip, where no bed near the section tells how they bend."""

import math

import pytest

from traverse.structure.section.records import CarryRule, PointKind, Stop

HEAD = """notation 1
bearings true
attitudes dip-direction
unit Cc Top ;
unit Bb Middle ;
unit Aa Base ;
control 1 1000 E 1000 N 0 m
"""
WALK = (
    HEAD
    + """at 1
unit Aa
to 2 090 400m level
along 100m
{}
unit Bb
along 300m
{}
unit Cc
section A-A' from 1 to 2
"""
)
FAR = """at 1
to 9 180 {}m level
at 9
bed 090/30
"""


def only(compiled):
    (section,) = compiled.geology.sections
    return section.construction


def down(line):
    """Dip of each piece of a line, positive down with increasing distance, 0 to 180."""
    found = []
    for piece in line.pieces:
        (ax, az), (bx, bz) = piece.points[0], piece.points[-1]
        found.append(math.degrees(math.atan2(az - bz, bx - ax)) % 180.0)
    return found


@pytest.mark.parametrize("rule", ["construction", "arcs"])
def test_without_a_bed_contacts_stand_upright_and_their_course_is_unknown(compile_text, rule):
    (section,) = compile_text(WALK.format("contact Bb/Aa certain", "contact Cc/Bb certain")).geology.sections
    built = getattr(section, rule)
    assert built.rule is CarryRule.STRAIGHT
    assert [line.outcrops[0][0] for line in built.lines] == pytest.approx([100.0, 300.0])
    for line in built.lines:
        assert not line.course_known
        assert down(line) == pytest.approx([90.0] * len(line.pieces))


def test_a_bed_carried_too_far_for_a_fold_still_gives_a_dip(compile_text):
    """300 m off a section of 400 m: nothing nearer was read, so both contacts go down east at 30 degrees."""
    text = WALK.format("contact Bb/Aa certain", "contact Cc/Bb certain") + FAR.format(300)
    built = only(compile_text(text))
    assert built.rule is CarryRule.STRAIGHT
    for line in built.lines:
        assert line.course_known
        assert down(line) == pytest.approx([30.0] * len(line.pieces))


def test_a_bed_near_enough_makes_dip_domains(compile_text):
    text = WALK.format("contact Bb/Aa certain", "contact Cc/Bb certain") + FAR.format(100)
    assert only(compile_text(text)).rule is CarryRule.DIP_DOMAINS


def test_straight_contacts_end_at_a_fault_that_goes_on(compile_text):
    """From 100 m down east at 20 degrees to the upright fault at 300 m, 73 m deep."""
    text = WALK.format("contact Bb/Aa certain", "fault 090/90") + FAR.format(300).replace("/30", "/20")
    lines = only(compile_text(text)).lines
    (fault,) = [line for line in lines if line.kind is PointKind.FAULT]
    assert fault.stopped == ()
    assert down(fault) == pytest.approx([90.0] * len(fault.pieces))
    (first,) = [line for line in lines if line.younger == "Bb"]
    assert first.stopped == (Stop.AT_FAULT,)
    assert max(x for piece in first.pieces for x, _ in piece.points) == pytest.approx(300.0, abs=0.01)


def test_the_younger_unit_lies_on_the_left_of_an_upright_line(compile_text):
    """Walking east from Aa to Bb to Cc the younger lies ahead, so each line runs down: its left is east."""
    for line in only(compile_text(WALK.format("contact Bb/Aa certain", "contact Cc/Bb certain"))).lines:
        points = [point for piece in line.pieces for point in piece.points]
        assert points[-1][1] < points[0][1]


def test_a_section_that_nothing_lies_on_has_no_line(compile_text):
    built = only(compile_text(HEAD + "at 1\nto 2 090 400m level\nsection A-A' from 1 to 2\n"))
    assert built.rule is CarryRule.STRAIGHT
    assert built.lines == ()
