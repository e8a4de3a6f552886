"""One bed alone on its side of a fold, as read once and as read twice."""

import pytest

from traverse.structure.form.records import Level, Other

WALK = """notation 1
bearings true
attitudes dip-direction
unit Bb Upper ; Jurassic
unit Aa Lower ; Triassic
at 1
  unit {outer}
  bed 090/40
to 2 090 100m level
along 10m
  bed 090/40
{border}at 2
  unit Bb
to 3 090 100m level
{border}at 3
  unit {outer}
  bed {lone}
"""
BORDER = "along 50m\n  contact Bb/Aa certain\n"
CHECKED = "270/40\n  checked NE read twice, the limb turns"


def found(compile_text, claim, lone, **parts):
    compiled = compile_text(WALK.format(lone=lone, **parts))
    assert "answers-nothing" not in {one.code for one in compiled.diagnostics}
    (one,) = (one for one in compiled.geology.findings if one.claim == claim)
    return one


@pytest.mark.parametrize("lone", [CHECKED, "270/40, 272/41"])
def test_a_bed_that_was_read_twice_makes_the_side_of_mirrored_units(compile_text, lone):
    parts = {"outer": "Aa", "border": BORDER}
    once = found(compile_text, "units mirrored", "270/40", **parts)
    assert once.finding.level is Level.POSSIBLE
    assert "One bed alone, at 3, says so; a second would tell" in once.words
    twice = found(compile_text, "units mirrored", lone, **parts)
    assert twice.finding.level is Level.FOLLOWS
    assert twice.finding.form.name == "syncline"
    assert "one bed alone, at 3, was read twice" in twice.words


def test_without_an_order_of_units_it_is_no_slip_and_may_be_a_small_fold(compile_text):
    parts = {"outer": "Bb", "border": ""}
    once = found(compile_text, "dip turns", "270/40", **parts)
    assert Other.READING in once.finding.others
    twice = found(compile_text, "dip turns", CHECKED, **parts)
    assert twice.finding.level is Level.POSSIBLE
    assert Other.READING not in twice.finding.others
    assert twice.words.endswith(
        "by one bed at 3, read twice: a synform, or a small fold? Beds farther out would tell."
    )


def test_a_bed_against_those_on_both_sides_that_was_read_twice_is_not_to_be_read_again(compile_text):
    beyond = "to 4 090 100m level\nat 4\n  unit Bb\n  bed 090/40\n"
    text = WALK.format(outer="Bb", border="", lone="{}") + beyond
    for lone, words in (("270/40", "or a reading to look at again?"), (CHECKED, "a small fold or a fault?")):
        compiled = compile_text(text.format(lone))
        (one,) = (one for one in compiled.geology.findings if one.claim == "against")
        assert one.words.endswith(words)
