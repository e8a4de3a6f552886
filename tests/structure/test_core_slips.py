"""Slips beside the core of a fold: the reading is named first, and a body that cuts only where its rock could be one."""

import pytest

HEAD = """notation 1
bearings true
attitudes dip-direction
unit Mm Mere Marl ; Cretaceous
unit Rs Rook Sandstone ; Jurassic
unit Lt Tor Limestone ; Jurassic
"""
WALK = """at 1
unit Lt
bed 304/63 overturned
to 2 140 60m level
along 20m
contact Rs/Lt certain 305/62 overturned
at 2
unit Rs
bed 306/62 overturned
tops SE graded
to 3 140 60m level
at 3
unit Rs
bed 303/62 overturned
to 4 140 50m level
along 40m
contact Mm/Rs approximate
at 4
unit Mm
to 5 140 60m level
along 40m
contact Mm/Rs certain 303/33
at 5
unit Rs
bed 303/32
to 6 140 60m level
at 6
unit Rs
bed 302/32
to 7 140 60m level
along 30m
contact Rs/Lt certain 304/33
at 7
unit Lt
bed 302/33
"""
CORE = "contact Mm/Rs certain 303/33"
FIFTH = "bed 303/32\n"


def warned(done):
    return {one.code: one for one in done.diagnostics if one.kind == "warning"}


@pytest.mark.parametrize("name", ["Mere Marl", "Mere Beds"])
def test_a_half_turn_of_a_contact_between_two_limbs_is_named(compile_text, name):
    sound = HEAD.replace("Mere Marl", name) + WALK
    assert not {"contact-slipped", "younger-below"} & warned(compile_text(sound)).keys()
    told = warned(compile_text(sound.replace(CORE, CORE.replace("303/33", "123/33"))))["contact-slipped"]
    assert "off the beds at 3 and 5" in told.message
    assert "agree" not in told.message
    assert told.hints[0].startswith("a half turn? 303/33 would fit")


def test_a_wrong_overturned_on_one_side_of_the_core_is_named(compile_text):
    wrong = (HEAD + WALK).replace(FIFTH, FIFTH.replace("\n", " overturned\n"))
    told = warned(compile_text(wrong))["younger-below"]
    line = 1 + wrong.splitlines().index("bed 302/32")
    assert told.hints[0].startswith(f"is the bed at 5 upright, as that at 6, which lies alike (line {line})?")
    assert "intrusive" not in told.hints[0]


@pytest.mark.every(2)
@pytest.mark.parametrize(
    ("name", "rock", "asked"),
    [
        ("Mere Marl", "", False),
        ("Mere Beds", "", True),
        ("Mere Beds", "rock marl, grey\n", False),
        ("Mere Basalt", "", True),
        ("Sandstone dike", "", True),
    ],
)
def test_a_rock_that_is_laid_down_is_no_body(compile_text, name, rock, asked):
    """A sandstone is laid down, and a dike of it is not; a name without a rock leaves it to the words of the place."""
    cut = (HEAD + WALK).replace("Mere Marl", name).replace(CORE, CORE.replace("303/33", "030/85"))
    found = compile_text(cut.replace("unit Mm\nto", f"unit Mm\n{rock}to"))
    assert ("intrusive" in " ".join(hint for one in found.diagnostics for hint in one.hints)) == asked
