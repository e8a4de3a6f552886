"""Faults and dikes that were read at several places: no bed bears them out, they bear out each other."""

import pytest

from traverse.log.items import ContactKind

FAULT = """notation 1
bearings true
attitudes dip-direction
unit Up Upper Marl ; Cretaceous
unit Lo Lower Lime ; Jurassic
at 1
unit Up
bed 180/20
to 2 090 100m +1
along 50m
fault Up/Lo certain 270/70 down W
at 2
unit Lo
bed 180/21
to 3 000 120m +1
at 3
unit Lo
bed 180/20
to 4 270 100m -1
along 50m
fault Up/Lo certain 270/70 down W
at 4
unit Up
bed 180/19
close 1 180 120m -1
"""
"""A fault that runs north and is crossed going east and coming back."""

DIKE = """notation 1
bearings true
attitudes dip-left
unit Dk Black Dike ; Neogene ; intrusive
unit Sh Dun Shale ; Jurassic
at 1
unit Sh
bed flat
to 2 090 100m +1
along 50m
contact Dk/Sh certain 000/85
along 60m
contact Dk/Sh certain 000/85
at 2
unit Sh
bed flat
to 3 000 120m +1
to 4 270 100m -1
along 40m
contact Dk/Sh certain 000/85
along 50m
contact Dk/Sh certain 000/85
at 4
unit Sh
bed flat
close 1 180 120m -1
"""
"""A dike that runs north through flat beds, crossed twice."""


def told(compile_text, text):
    return [one for one in compile_text(text).diagnostics if one.kind == "warning"]


@pytest.mark.parametrize("text", [FAULT, DIKE])
def test_readings_that_agree_are_quiet(compile_text, text):
    assert told(compile_text, text) == []


@pytest.mark.parametrize("written", ["270/07", "090/70", "000/70"])
def test_a_fault_met_twice_that_does_not_lie_as_before_is_asked_about(compile_text, written):
    (one,) = told(compile_text, FAULT.replace("270/70 down W", written, 1))
    assert one.code == "cut-slipped"
    assert {one.span.line, *(label.span.line for label in one.labels)} == {11, 21}
    assert "270/70" in one.hints[0]


def test_of_a_quarter_turn_the_way_between_the_places_says_which(compile_text):
    for line in (11, 21):
        lines = FAULT.splitlines()
        lines[line - 1] = "fault Up/Lo certain 000/70"
        (one,) = told(compile_text, "\n".join(lines) + "\n")
        assert one.span.line == line
        assert "a quarter turn? 270/70 would fit;" in one.hints[0]


def test_the_plane_that_is_asked_about_takes_no_part_in_the_section(compile_text):
    text = FAULT.replace("270/70 down W", "000/70", 1) + "section A-B from 1 to 2\n"
    (section,) = compile_text(text).geology.sections
    faults = [one.contact for one in section.points if one.contact and one.contact.kind is ContactKind.FAULT]
    assert {one.dip_deg for one in faults if one.booked.span.line == 11} == {None}


def test_two_faults_with_the_younger_on_outer_sides_are_two(compile_text):
    """A horst, whose sides dip apart, read as they are."""
    horst = FAULT.replace(
        "to 3 000 120m +1\nat 3\nunit Lo",
        "to 3 090 100m +1\nalong 50m\nfault Up/Lo certain 090/70 down E\nat 3\nunit Up",
    )
    assert told(compile_text, horst.partition("to 4")[0]) == []


def test_one_wall_of_a_dike_against_three_that_agree_is_named(compile_text):
    (one,) = told(compile_text, DIKE.replace("000/85", "090/85", 1))
    assert one.code == "cut-slipped"
    assert one.span.line == 11
    assert "a quarter turn? 000/85 would fit" in one.hints[0]


def test_digits_of_a_wall_exchanged_are_told_by_three_that_agree(compile_text):
    """Three tell how far the walls bend; what lies as far off, and no exchange explains, may bend so."""
    dike = DIKE.replace("000/85", "000/86")
    (one,) = told(compile_text, dike.replace("000/86", "000/68", 1))
    assert (one.code, one.span.line) == ("cut-slipped", 11)
    assert "digits exchanged? 000/86 would fit" in one.hints[0]
    assert told(compile_text, dike) == told(compile_text, dike.replace("000/86", "000/69", 1)) == []


def test_a_wrong_rule_is_told_by_a_dike_where_beds_are_flat(compile_text):
    (one,) = told(compile_text, DIKE.replace("dip-left", "dip-direction"))
    assert one.code == "other-rule"
    assert one.span.line == 3


def test_two_dikes_side_by_side_on_one_walk_are_no_wrong_rule(compile_text):
    straight = DIKE.partition("to 3")[0] + (
        "to 3 090 100m +1\nalong 40m\ncontact Dk/Sh certain 000/85\nalong 50m\ncontact Dk/Sh certain 000/85\nat 3\nunit Sh\n"
    )
    assert told(compile_text, straight) == []


ALONG = """notation 1
bearings true
attitudes dip-right
distances metres
unit A Alpha ; Cretaceous
unit B Beta ; Jurassic
unit C Gamma ; Triassic
unit D Delta ; Permian
unit K Dyke ; Eocene ; intrusive
at 1
unit D
bed 060/30
to 2 075 80 +2
along 40m
contact C/D certain
at 2
unit C
bed 062/31
to 3 070 80 +2
along 40m
contact B/C certain
at 3
unit B
bed 059/29
to 4 062 80 +2
along 30m
contact K/B certain 245/80
along 40m
contact K/B certain 243/82
at 4
unit B
bed 061/30
to 5 080 80 +2
along 40m
contact A/B certain
at 5
unit A
bed 060/30
section A-A' from 1 to 5
"""
"""A walk along the dip direction of the beds, through a dike, its page read as strikes."""


def test_a_wrong_rule_is_told_where_the_walk_would_run_along_all_that_it_went_through(compile_text):
    (one,) = [one for one in compile_text(ALONG).diagnostics if one.code == "other-rule"]
    assert one.span.line == 3
    assert "read as `dip-direction`, they do not" in one.message
    assert {"other-rule", "strike-along-section"}.isdisjoint(
        one.code for one in compile_text(ALONG.replace("dip-right", "dip-direction")).diagnostics
    )
    # Walls alone tell where no steep bed bears the rule out, and what does not is upside down.
    first, rest = ALONG.replace("to 2 075", "to 2 030").split("at 3\n", 1)
    gentle = first.replace("/30", "/45").replace("/31", "/45") + "at 3\n" + rest.replace("/30\n", "/08\n")
    gentle = gentle.replace("059/29", "059/08")
    (one,) = [one for one in compile_text(gentle).diagnostics if one.code == "other-rule"]
    assert "under the older at one contact of" in one.message
    # One contact that it crosses squarely speaks for the rule.
    square = ALONG.replace("to 5 080 80 +2", "to 5 150 80 +2")
    assert "other-rule" not in {one.code for one in compile_text(square).diagnostics}


def test_a_section_along_the_strike_leaves_it_open_whether_the_figures_are_directions(compile_text):
    text = "".join(line for line in ALONG.splitlines(True) if "K/B" not in line and " K " not in line)
    (one,) = [one for one in compile_text(text).diagnostics if one.code == "strike-along-section"]
    assert (
        "look at the `attitudes` line: were the figure the dip direction, it would lie across" in one.hints[0]
    )
    lettered = text.replace("bed 060/30", "bed 060/30SE")
    (one,) = [one for one in compile_text(lettered).diagnostics if one.code == "strike-along-section"]
    assert "attitudes" not in one.hints[0]


def test_of_two_faults_in_one_line_a_half_turn_is_asked_about_with_both_its_places(compile_text):
    """With one side down and opposite dips one would be normal and the other reverse."""
    there, back = FAULT.partition("close")[0].split("to 3")
    back = back.replace("Up/Lo", "Mi/Lo").replace("unit Up", "unit Mi")
    text = f"{there}to 3{back}".replace("unit Lo Lower", "unit Mi Middle Marl ; Jurassic\nunit Lo Lower", 1)
    assert told(compile_text, text) == []
    (one,) = told(compile_text, text.replace("Mi/Lo certain 270/70", "Mi/Lo certain 090/70"))
    assert (one.code, one.span.line) == ("cut-slipped", 22)
    assert "a half turn? 270/70 would fit, or 090/70 on line 12" in one.hints[0]
