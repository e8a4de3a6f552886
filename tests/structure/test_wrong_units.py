"""One wrong unit in a log: one message, at its line, with what would fit, and none at later lines."""

import pytest

RIGHT = """notation 1
bearings true
attitudes dip-right
unit Dk Dolerite ; Paleogene
unit Cs Upper Shale ; Jurassic
unit Bs Middle Sandstone ; Jurassic
unit As Lower Limestone ; Triassic
unit Gw Greywacke ; Permian
unit Gk Old greensand ; Permian
at 1
  unit Gk
  bed 000/25
to 2 090 90m level
along 40m
  contact Gw/Gk certain
at 2
  unit Gw
  bed 002/26
to 3 090 80m level
along 30m
  contact As/Gw certain
along 60m
  contact Bs/As certain
at 3
  unit Bs
  bed 001/25
to 4 090 60m level
along 30m
  contact Cs/Bs certain
at 4
  unit Cs
"""
"""Up through a pile that dips 25° east."""


def told(compile_text, text):
    found = compile_text(text, errors=True)
    return [one for one in found.diagnostics if one.kind in {"warning", "error"}]


def test_the_walk_itself_is_quiet(compile_text):
    assert told(compile_text, RIGHT) == []


# The slip, its code and the hint that mends it.
SLIPS = [
    ("contact Gw/Gk", "contact As/Gk", "contact-of-others", "`contact Gw/Gk` would fit"),
    ("contact Gw/Gk", "contact Gw/Bs", "contact-of-others", "`contact Gw/Gk` would fit"),
    ("contact As/Gw", "contact As/Gk", "contact-of-others", "`contact As/Gw` would fit"),
    ("contact Cs/Bs", "contact Cs/As", "contact-of-others", "`contact Cs/Bs` would fit"),
    ("contact As/Gw", "contact As/Gv", "unknown-unit", "write `Gw`"),
    ("at 2\n  unit Gw", "at 2\n  unit As", "unit-misfit", "was it `unit Gw`?"),
    ("at 3\n  unit Bs", "at 3\n  unit Cs", "unit-misfit", "was it `unit Bs`?"),
]


@pytest.mark.parametrize(("was", "slip", "code", "hint"), SLIPS)
def test_one_wrong_unit_is_told_at_its_line_and_nowhere_else(compile_text, was, slip, code, hint):
    text = RIGHT.replace(was, slip, 1)
    (one,) = told(compile_text, text)
    assert one.code == code
    line = text.splitlines()[one.span.line - 1].strip()
    assert line.startswith(slip.splitlines()[-1].strip())
    assert any(hint in said for said in one.hints)


def test_a_young_unit_inside_an_old_one_may_be_a_body(compile_text):
    """Asked where a contact of it is missing, and where the contacts go against the list; of bedded rock never."""
    offer = "`; intrusive` on the `unit` line of Dk, if it is a body that cuts Gk"
    point = RIGHT.replace(
        "to 2 090 90m level\n",
        "to 1a 090 20m level\n  unit Dk\nto 1b 090 20m level\n  unit Gk\nto 2 090 90m level\n",
    )
    (one,) = told(compile_text, point)
    assert one.code == "unit-misfit"
    assert offer in one.hints
    bedded = point.replace("  unit Dk\nto", "  unit Dk\n  bed 000/25\nto")
    assert all(offer not in one.hints for one in told(compile_text, bedded))
    listed = RIGHT.replace("unit Dk Dolerite ; Paleogene\n", "").replace(
        "at 1\n", "unit Dk Dolerite ; Paleogene\nat 1\n", 1
    )
    listed = listed.replace(
        "along 40m\n",
        "along 20m\n  contact Dk/Gk certain\nalong 24m\n  contact Dk/Gk certain\nalong 40m\n",
        1,
    )
    (one,) = [one for one in told(compile_text, listed) if one.code == "younger-first"]
    assert offer in one.hints


SKIPS = [
    # A contact deleted: what is offered keeps the unit that was booked.
    ("along 30m\n  contact As/Gw certain\n", "", "contact-of-others", "`contact As/Gw`"),
    ("contact As/Gw certain", "contact As/Gw inferred", None, ""),
    # Its `along` deleted: two stand at one place.
    ("along 60m\n  contact Bs/As", "  contact Bs/As", "contacts-at-one-place", "`along`"),
    ("along 60m\n  contact Bs/As", "  unconformity Bs/As", "contacts-at-one-place", "`along`"),
    # A figure of its own that is the other's.
    ("along 60m\n", "along 30m\n", "contacts-at-one-place", "`along 30m` stands on lines"),
    # A wall where the bedded contact was: the pair of the units before and after.
    ("contact Gw/Gk", "contact Dk/Gk", "contact-of-others", "`contact Gw/Gk` would fit"),
]


@pytest.mark.parametrize(("was", "slip", "code", "hint"), SKIPS)
def test_no_remedy_loses_a_unit_that_was_booked(compile_text, was, slip, code, hint):
    assert was in RIGHT
    found = told(compile_text, RIGHT.replace(was, slip, 1))
    assert [one.code for one in found] == ([] if code is None else [code])
    for one in found:
        assert hint in one.hints[0]
        assert "contact Bs/Gw" not in " ".join((*one.hints, *(label.text for label in one.labels)))


def test_a_wall_met_in_a_third_unit_leads_from_the_unit_before_to_the_one_after(compile_text):
    text = RIGHT.replace("contact As/Gw", "contact Dk/As").replace("along 60m\n  contact Bs/As certain\n", "")
    text = text.replace("at 3\n  unit Bs", "at 3\n  unit As").replace("Cs/Bs", "Cs/As")
    text = text.replace("; Paleogene", "; Paleogene ; intrusive")
    (one,) = told(compile_text, text)
    assert one.hints[0].startswith("`contact As/Gw` would fit; else a wall of Dk before it, `contact Dk/Gw`")


def test_what_is_booked_between_two_units_is_said(compile_text):
    text = RIGHT.replace("along 30m\n  contact As/Gw certain\n", "").replace(
        "Bs/As certain", "Bs/As inferred"
    )
    (one,) = told(compile_text, text)
    assert one.code == "contact-missing"
    assert "Bs/As is booked there, and no contact As/Gw before it" in one.message
    assert one.hints[0].startswith("`contact As/Gw inferred`")
