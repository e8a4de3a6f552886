"""Contacts followed beside the walk are held against the ground that was walked on and the dip of the beds."""

import pytest

WALK = """notation 1
bearings true
attitudes dip-right
unit Ss Upper ; Permian
unit Si Middle ; Permian
unit Do Lower ; Carboniferous
at 1
unit Do
bed 270/{dip}
to 2 000 90m +3
along 30m
contact Si/Do certain
along 80m
contact Ss/Si certain
at 2
unit Ss
bed 272/{dip}
to 3 270 60m -2
along {where}
contact {pair} certain
at 3
unit Ss
bed 271/{dip}
"""


def told(compile_text, *, where="0m to 50m left 3m", pair="Ss/Si", dip=22):
    text = WALK.format(where=where, pair=pair, dip=dip)
    found = [one for one in compile_text(text).diagnostics if one.kind == "warning"]
    return [(one.code, text.splitlines()[one.span.line - 1], one) for one in found]


@pytest.mark.parametrize("where", ["0m to 50m left 3m", "20m left 3m", "20m left 40m"])
def test_a_contact_that_lies_where_the_beds_lead_is_not_asked_about(compile_text, where):
    assert told(compile_text, where=where) == []


@pytest.mark.parametrize("where", ["0m to 50m right 3m", "20m right 3m"])
def test_right_for_left_is_asked_about_where_the_younger_would_lie_below(compile_text, where):
    """The beds dip north and the walk goes west over the upper unit: the lower one lies to its left."""
    ((code, line, one),) = told(compile_text, where=where)
    assert (code, line) == ("younger-below", "contact Ss/Si certain")
    assert "on the right" in one.message
    assert one.hints[0].startswith("was it on the left")


def test_a_hillside_may_be_steeper_than_gentle_beds(compile_text):
    assert told(compile_text, where="20m right 3m", dip=8) == []


@pytest.mark.parametrize("where", ["0m to 50m left 3m", "20m left 3m", "0m to 50m"])
def test_a_contact_of_two_other_units_is_asked_about_at_its_line(compile_text, where):
    ((code, line, one),) = told(compile_text, where=where, pair="Si/Do")
    assert (code, line) == ("contact-of-others", "contact Si/Do certain")
    assert "`contact Ss/Si` would fit" in one.hints[0]
