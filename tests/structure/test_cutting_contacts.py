"""Contacts that cut the beds, unconformities off what lies on them, and two faults that may be one."""

import pytest

HEAD = """notation 1
bearings true
attitudes dip-direction
unit Cg Cove Conglomerate ; Permian
unit Us Upper Slate ; Devonian
unit Ml Mid Limestone ; Silurian
"""
COVERED = (
    HEAD
    + """at 1
  unit Ml
  bed 256/48
to 2 000 60m level
along 40m
  unconformity Cg/Ml certain 350/05
at 2
  unit Cg
  bed 351/03
to 3 090 60m level
  unit Cg
  bed 349/05
to 4 180 60m level
along 30m
  unconformity Cg/Us certain 347/04
at 4
  unit Us
  bed 255/47
"""
)
FAULTED = (
    HEAD
    + """at 1
  unit Ml
  bed 115/30
to 2 090 100m level
along 50m
  fault Us/Ml certain 072/69 down E
at 2
  unit Us
  bed 113/31
to 3 090 50m level
along 25m
  contact Us/Ml certain 114/30
at 3
  unit Ml
  bed 116/31
to 4 162 200m level
  unit Ml
  bed 114/30
to 5 270 100m level
along 38m
  fault Ml/Ml certain 072/69 down E
at 5
  unit Ml
  bed 115/29
"""
)


def told(compile_text, text, *codes):
    return [
        (one.code, one.span.line, one.hints[0]) for one in compile_text(text).diagnostics if one.code in codes
    ]


@pytest.mark.parametrize("text", [COVERED, FAULTED])
def test_sound_days_are_not_asked(compile_text, text):
    assert told(compile_text, text, "contact-cuts-beds", "contact-slipped", "cut-slipped") == []


def test_digits_exchanged_in_the_dip_of_an_unconformity_are_named(compile_text):
    """By the bed of the younger unit next to it; the beds below may lie any way."""
    found = told(compile_text, COVERED.replace("350/05", "350/50"), "contact-slipped")
    assert [(line, hint[:39]) for _, line, hint in found] == [(12, "digits exchanged? 350/05 would fit; or ")]


@pytest.mark.parametrize(
    ("booked", "meant"),
    [
        # A half turn leads to 320, thirty degrees off; another first figure to 340, ten degrees off.
        ("140/14", "first figure misread? 340/14"),
        ("170/14", "a half turn? 350/14"),
        # To 020 or to 000.
        ("200/14", "first figure misread? 000/14"),
    ],
)
def test_of_an_unconformity_the_slip_is_named_that_leads_nearest_to_what_lies_on_it(
    compile_text, booked, meant
):
    """All of its beds dip 350/14."""
    page = COVERED.replace("unit Cg Cove", "precision attitude 2\nunit Cg Cove").replace("350/05", booked)
    for gentle in ("351/03", "349/05", "347/04"):
        page = page.replace(gentle, "350/14")
    found = told(compile_text, page, "contact-slipped")
    assert [hint.split(";")[0] for *_, hint in found] == [f"{meant} would fit"]


def test_an_unconformity_booked_as_contact_is_asked_about_where_the_unit_lies_on_one(compile_text):
    page = COVERED.replace("unconformity Cg/Ml", "contact Cg/Ml")
    assert told(compile_text, page, "contact-cuts-beds") == [
        ("contact-cuts-beds", 12, "`unconformity Cg/Ml`, as there")
    ]
    # Of a contact without an attitude nothing says how it lies.
    assert told(compile_text, page.replace(" 350/05", ""), "contact-cuts-beds") == []


def test_a_fault_booked_as_contact_is_asked_about_by_its_own_attitude(compile_text):
    page = FAULTED.replace("fault Us/Ml certain 072/69 down E", "contact Us/Ml certain 072/69")
    ((_, line, hint),) = told(compile_text, page, "contact-cuts-beds")
    assert (line, hint[:48]) == (12, "is it a `fault`, as that of line 27, which lies ")


@pytest.mark.parametrize(("wrong", "line"), [("162/69", 12), ("045/69", 0)])
def test_the_strike_of_one_of_two_faults_is_asked_about_where_the_other_leads_to_it(
    compile_text, wrong, line
):
    """Not where no slip of the pen turns it onto the other: they are two faults."""
    found = told(compile_text, FAULTED.replace("072/69", wrong, 1), "cut-slipped")
    assert [one[1] for one in found] == [line] * bool(line)


ON_A_PANEL = (
    HEAD
    + """at 1
  unit Ml
  bed 065/28
  bed 059/30
to 2 060 60m level
  unit Ml
  bed 062/29
to 3 060 60m level
  unit Ml
  bed 061/27
to 4 060 60m level
along 30m
  contact Cg/Ml certain
at 4
  unit Cg
  bed 099/10
to 5 060 60m level
  unit Cg
  bed 099/08
"""
)


def test_gentle_beds_on_a_panel_that_dips_another_way_are_asked_about_at_their_contact(compile_text):
    (one,) = told(compile_text, ON_A_PANEL, "contact-cuts-beds")
    assert one[1] == ON_A_PANEL.splitlines().index("  contact Cg/Ml certain") + 1
    assert "`unconformity Cg/Ml`" in one[2]
    assert told(compile_text, ON_A_PANEL.replace("contact Cg", "unconformity Cg"), "contact-cuts-beds") == []
    # Beds that flatten on the way are a fold's.
    assert (
        told(
            compile_text,
            ON_A_PANEL.replace("061/27", "075/16").replace("062/29", "070/22"),
            "contact-cuts-beds",
        )
        == []
    )
    assert told(compile_text, ON_A_PANEL.replace("099/08", "060/22"), "contact-cuts-beds") == []


@pytest.mark.parametrize(
    "above", ["", "to 6 060 60m level\nalong 20m\ncontact Up/Cg certain\nunit Up\nbed 101/09\n"]
)
def test_a_contact_with_its_own_plane_lies_as_the_gentle_beds_on_it(compile_text, above):
    """Units above it are on it too; a plane as that of the beds below it is their contact, by which they turn."""
    page = ON_A_PANEL.replace("unit Cg Cove", "unit Up Upper Marl ; Triassic\nunit Cg Cove") + above
    read = page.replace("contact Cg/Ml certain", "contact Cg/Ml certain 098/09")
    (one,) = told(compile_text, read, "contact-cuts-beds")
    assert one[1] == read.splitlines().index("  contact Cg/Ml certain 098/09") + 1
    assert told(compile_text, read.replace("098/09", "062/28"), "contact-cuts-beds") == []
