"""A contact that was booked on the leg after or before its own."""

HEAD = """notation 1
bearings true
unit Lm Limestone ; Carboniferous
unit Sh Shale ; Devonian
unit Ss Sandstone ; Silurian
at 0
unit Lm
to 1 090 60m
at 1
unit Lm
"""
LEGS = """to 2 090 60m
{first}at 2
unit Sh
to 3 090 60m
{second}at 3
unit Ss
"""
COVERED = "covered 36m to 46m\ncontact Lm/Sh inferred\n"
SEEN = "along 35m\ncontact Sh/Ss certain\n"


def told(compile_text, text):
    return [one for one in compile_text(text).diagnostics if one.kind == "warning"]


def test_a_contact_on_the_leg_after_its_own_is_asked_about(compile_text):
    text = HEAD + LEGS.format(first="", second=COVERED + SEEN)
    (one,) = told(compile_text, text)
    assert (one.code, one.span.line) == (
        "contact-of-others",
        text.splitlines().index("contact Lm/Sh inferred") + 1,
    )
    assert "a leg too late? move it" in one.hints[0]


def test_on_its_own_leg_it_is_quiet_and_what_stands_nowhere_is_missing(compile_text):
    assert told(compile_text, HEAD + LEGS.format(first=COVERED, second=SEEN)) == []
    (one,) = told(compile_text, HEAD + LEGS.format(first="", second=SEEN))
    assert one.code == "contact-missing"


def test_where_another_unit_at_the_station_would_fit_that_is_asked_first(compile_text):
    first = "along 20m\ncontact Lm/Sh certain\n" + SEEN
    (one,) = told(compile_text, HEAD + LEGS.format(first=first, second=""))
    assert "was it `unit Ss`" in one.hints[0]
    assert "Sh/Ss on line 15 booked a leg too early; it belongs below `to 3`" in one.hints[0]
    assert [span.line for span in one.doubts] == [15]


def test_a_contact_beside_its_own_leg_is_asked_about_where_both_legs_have_others(compile_text):
    """Two between the same units, or one with another before it; a side shot between the two legs is none of them."""
    first = "along 20m\ncontact Lm/Sh certain\n"
    side = "side 2a 000 9m\nat 2\n"
    text = HEAD + f"to 2 090 60m\n{first}{SEEN}at 2\nunit Ss\n{side}to 3 090 60m\nat 3\nunit Ss\n"
    assert told(compile_text, text) == []
    (one,) = told(compile_text, text.replace(SEEN, "").replace("to 3 090 60m\n", f"to 3 090 60m\n{SEEN}"))
    assert "Sh/Ss on line 20 booked a leg too late; it belongs below `to 2`" in one.hints[0]
