"""Attitudes against the course of a contact that is met twice over ground whose heights are known."""

import pytest

EAST = """notation 1
bearings true
attitudes dip-direction
pace 1 m
unit Mg Grit ; Cretaceous
unit Cl Lime ; Jurassic
at 1
unit Cl
bed 350/20
to 2 090 260p +3
unit Cl
bed 351/21
to 3 000 120p +5
along 60p
contact Mg/Cl certain 349/21
at 3
unit Mg
bed 350/22
to 4 270 260p -3
unit Mg
bed 349/19
close 1 180 120p -5
along 60p
contact Mg/Cl certain 350/20
"""
"""A contact that runs east, met at both ends of 260 m; it dips north."""


def told(compiled):
    return [one for one in compiled.diagnostics if one.kind == "warning"]


def strikes(text):
    """The same planes by the azimuth to the right of which they dip."""
    for figure in ("350", "351", "349"):
        text = text.replace(f" {figure}/", f" {int(figure) - 270:03d}@")
    return text.replace("@", "/")


def test_readings_that_carry_a_contact_to_its_next_place_are_quiet(compile_text):
    assert told(compile_text(EAST)) == []


@pytest.mark.parametrize(
    ("text", "rule"), [(EAST, "dip-right"), (EAST, "dip-left"), (strikes(EAST), "dip-direction")]
)
def test_a_wrong_rule_is_told_by_where_a_contact_comes_again(compile_text, text, rule):
    (one,) = told(compile_text(text.replace("dip-direction", rule, 1)))
    assert one.code == "other-rule"
    assert one.span.line == 3
    assert "off the plane read where it was met before" in one.message
    assert {label.span.line for label in one.labels} == {15, 24}


def test_without_another_rule_a_note_says_so_and_the_attitudes_are_asked_about_first(compile_text):
    # A letter says the side whatever the rule.
    text = EAST.replace("dip-direction", "dip-right", 1)
    for figure in ("349/19", "349/21", "350/20", "350/22", "351/21"):
        text = text.replace(figure, f"{figure}E")
    (one,) = [one for one in compile_text(text).diagnostics if one.code == "off-its-course"]
    assert one.kind == "note"
    assert one.span.line == 24
    assert one.hints[0].startswith("look first at the `attitudes` line")


@pytest.mark.parametrize(
    ("was", "then"),
    [
        # No heights; a fault between; another limb between.
        (" +5", ""),
        ("at 3\n", "along 100p\nfault Mg/Mg certain\nat 3\n"),
        ("bed 350/22", "bed 260/22"),
    ],
)
def test_nothing_is_told_of_ground_that_may_turn_or_of_unread_heights(compile_text, was, then):
    assert was in EAST
    text = EAST.replace("dip-direction", "dip-right", 1).replace(was, then, 1)
    assert not {"other-rule", "off-its-course"} & {one.code for one in told(compile_text(text))}


def test_nothing_is_told_over_a_loop_that_fails(compile_text):
    text = EAST.replace("dip-direction", "dip-right", 1).replace("to 4 270 260p", "to 4 270 160p")
    assert [one.code for one in told(compile_text(text))] == ["closure-fails"]
