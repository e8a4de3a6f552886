"""One upright fault that strikes 040, met at several places between different units."""

from types import SimpleNamespace

import pytest

from traverse.log.items import ContactKind
from traverse.structure.form.what_units_tell import repeats
from traverse.structure.section.records import PointKind
from traverse.structure.walk.arms import ArmStep

HEAD = """notation 1
bearings true
attitudes dip-direction
heights above the mill
unit Dd Top ; Jurassic
unit Cc Upper ; Jurassic
unit Bb Middle ; Triassic
unit Aa Base ; Permian
"""
# The fault goes through (60, 0) and along 040 through (144, 100): the walk goes east over it, and comes back west.
WALK = (
    HEAD
    + """at 1
  unit Bb
  bed 180/30
to 2 090 160m level
along 60m
  fault Bb/Aa certain 130/88 {moved}
at 2
  unit Aa
  bed 180/30
to 3 360 60m level
along 30m
  contact Bb/Aa certain
at 3
  unit Bb
  bed 180/30
to 4 360 40m level
at 4
  unit Bb
to 5 270 100m level
along {met}m
  fault Cc/Bb certain {other}
at 5
  unit Cc
  bed 180/30
section A-A' from 2 to 5
"""
)


def _faults(compiled):
    return [one for one in compiled.geology.contacts if one.kind is ContactKind.FAULT]


@pytest.mark.parametrize("other", ["", "dextral"])
def test_places_on_one_plane_are_one_fault_on_the_line_through_them(compile_text, other):
    compiled = compile_text(WALK.format(met=16, moved="dextral", other=other))
    read, bare = _faults(compiled)
    assert read.of_fault == bare.of_fault == 0
    assert bare.surface.dip_deg == read.surface.dip_deg
    assert read.course_deg == bare.course_deg == pytest.approx(40.0, abs=0.5)
    (section,) = compiled.geology.sections
    (line,) = [one for one in section.construction.lines if one.kind is PointKind.FAULT]
    assert len(line.contacts) == 2
    [told] = [one for one in compiled.geology.findings if one.claim == "one fault"]
    assert told.whole == (
        "Faults at 2 places are taken for one, in whose plane as read (leg 1–2) they lie; several in line with each other "
        "are not excluded. Rests on leg 1–2 and leg 4–5."
    )
    # From 2 at (160, 0) to 5 at (60, 100) halfway is the middle of the two places.
    assert line.outcrops[0][0] == pytest.approx(0.5 * section.length_m + 4.7, abs=6.0)


@pytest.mark.parametrize(("met", "other"), [(80, ""), (16, "sinistral"), (16, "certain 220/88")])
def test_a_place_off_the_plane_or_that_moved_otherwise_is_another_fault(compile_text, met, other):
    text = WALK.format(met=met, moved="dextral", other=other).replace("certain certain", "certain")
    compiled = compile_text(text)
    assert {one.of_fault for one in _faults(compiled)} == {None}
    assert "one fault" not in {one.claim for one in compiled.geology.findings}


def test_two_crossed_the_same_way_with_no_way_back_between_are_two(compile_text):
    text = (
        HEAD
        + """at 1
  unit Bb
  bed 180/30
to 2 090 66m level
along 60m
  fault Bb/Aa certain 130/88
at 2
  unit Aa
to 3 090 60m level
along 4m
  fault Cc/Aa certain
at 3
  unit Cc
  bed 180/30
"""
    )
    assert {one.of_fault for one in _faults(compile_text(text))} == {None}


def _arm(*steps):
    return tuple(
        ArmStep(unit=unit, start_m=10.0 * at, end_m=10.0 * at + 10.0, fault_before=fault)
        for at, (unit, fault) in enumerate(steps)
    )


def test_units_come_again_across_a_fault_only_where_the_walk_stays_beyond_it(compile_text):
    one, same = _faults(compile_text(WALK.format(met=16, moved="dextral", other="")))
    said = repeats(
        SimpleNamespace(
            border=lambda *_: None,
            beds=(),
            arms=[_arm(("Bb", None), ("Cc", None), ("Bb", one), ("Cc", None), ("Dd", None))],
        )
    )
    assert [finding.units for finding in said] == [("Bb", "Cc")]
    back = _arm(("Bb", None), ("Cc", None), ("Aa", one), ("Bb", same), ("Cc", None), ("Dd", None))
    assert repeats(SimpleNamespace(border=lambda *_: None, arms=[back])) == []


def test_one_unit_on_both_sides_of_a_fault_is_no_order(compile_text):
    fault = _faults(compile_text(WALK.format(met=16, moved="dextral", other="")))[0]
    arm = _arm(("Dd", None), ("Dd", fault), ("Cc", fault), ("Dd", fault), ("Dd", fault), ("Cc", None))
    assert [
        finding.units
        for finding in repeats(SimpleNamespace(border=lambda *_: None, arms=[arm]))
        if len(set(finding.units)) < 2
    ] == []


def test_a_gentle_one_lies_everywhere_as_it_was_read_and_runs_on_no_straight_line(compile_text):
    """Level ground: at 30° its plane passes within 6 m of the other place."""
    read, bare = _faults(
        compile_text(WALK.replace("130/88", "130/30").format(met=16, moved="thrust", other=""))
    )
    assert bare.surface.dip_deg == 30.0
    assert bare.course_deg == read.course_deg == pytest.approx(40.0, abs=0.5)
    assert read.of_fault is None
    assert bare.of_fault is None


def test_one_almost_level_goes_through_too_much_to_be_met_again(compile_text):
    _, bare = _faults(compile_text(WALK.replace("130/88", "130/20").format(met=16, moved="thrust", other="")))
    assert bare.surface is None
