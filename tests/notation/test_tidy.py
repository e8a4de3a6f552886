"""Tidying changes the layout and nothing else."""

from dataclasses import fields, is_dataclass

import pytest
from hypothesis import given

from tests.strategies import logs
from traverse.diagnostic import Severity
from traverse.log.items import PlaneKind, UnitHere
from traverse.notation.read import read_log
from traverse.notation.tidy_text import tidy
from traverse.source import Source, Span


def missing(path):
    raise OSError(path)


def spanless(value):
    """A record without the places in the text that its parts came from."""
    if isinstance(value, Span):
        return None
    if is_dataclass(value):
        return type(value).__name__, tuple(spanless(getattr(value, one.name)) for one in fields(value))
    if isinstance(value, tuple):
        return tuple(map(spanless, value))
    return value


def read(text):
    outcome = read_log(Source(name="day.trav", text=text), load=missing)
    return outcome.value.log, [one for one in outcome.diagnostics if one.severity is Severity.ERROR]


def tidied(text):
    outcome = tidy(Source(name="day.trav", text=text))
    assert outcome.diagnostics == ()
    return outcome.value


@given(logs())
def test_the_records_stay_and_a_second_time_changes_nothing(text):
    before, errors = read(text)
    assert errors == []
    once = tidied(text)
    after, _ = read(once)
    assert spanless(after) == spanless(before)
    assert tidied(once) == once


LOOSE = """notation 1
# the camp's own sheet
Bearings true
ATTITUDES dip-right
unit Ms   Stag Marl   ;Miocene;   #d9d2a6
unit Lt Tollhouse Limestone ;
distances metres



at 1
# pale ledge
rock Limestone, “pale”   grey # not a comment
| ribs
    # between
|
| solution pits
   checked MO seen twice


bed N38W / 68SW good,  140/69   # two faces
to 2 12 N47E +3 back level 230
WAS N74E , MO 2026-07-03, figures exchanged
along 3 to 7 Left 2
contact Ms/Lt Certain 140/72
  omit MO other bank
section A-A' FROM 1 TO 2,project strike
# end
"""
TIDY = """notation 1
# the camp's own sheet
bearings    true
attitudes   dip-right
unit  Ms Stag Marl ; Miocene ; #d9d2a6
unit  Lt Tollhouse Limestone ;
distances   metres

at 1
  # pale ledge
  rock  Limestone, “pale”   grey # not a comment
      | ribs
      # between
      |
      | solution pits
    checked MO seen twice
  bed   N38W / 68SW good, 140/69  # two faces

to 2  N47E 12 +3 back 230 level
  was N74E , MO 2026-07-03, figures exchanged
along 3 to 7 left 2
  contact Ms/Lt certain 140/72
    omit MO other bank
section A-A' from 1 to 2, project strike
# end
"""


def test_the_layout():
    """Reviewed by eye: an invented log."""
    assert tidied(LOOSE.replace("2,project", "2, project")) == TIDY


def test_a_change_in_the_log_is_a_change_in_one_line():
    longer = TIDY.replace("Stag Marl", "Stag Marl with a very long name indeed")
    changed = [
        one for one, other in zip(TIDY.split("\n"), tidied(longer).split("\n"), strict=True) if one != other
    ]
    assert len(changed) == 1


@pytest.mark.parametrize("text", ["notation 1\nfoo\n", "notation 1\nat 1\nto 2 N95E 20m\n", "", "at 1"])
def test_a_log_with_errors_stays_as_it_is(text):
    outcome = tidy(Source(name="day.trav", text=text))
    assert outcome.value == text
    assert outcome.diagnostics
    assert all(one.severity is Severity.ERROR for one in outcome.diagnostics)


def test_files_that_a_log_uses_are_not_needed():
    assert tidied("notation 1\nuse camp.trav\nat 1\nunit Ms\nto 2 045 20p\nbed 142/68\n").startswith(
        "notation 1\n"
    )


@pytest.mark.parametrize("leg", ["to 2  ½m 263", "to 2  ¾m 045 +3"])
def test_a_leg_that_would_read_otherwise_in_order_stays_in_its_own(leg):
    """`263 ½m` is 263.5 metres."""
    text = TIDY[: TIDY.index("\nat 1")] + f"\nat 1\n\n{leg}\n"
    assert tidied(text) == text


def test_letters_of_a_unit_that_are_a_word_elsewhere_stay_what_they_are(compile_text):
    """`OT` is a unit where letters stand, and `overturned` behind an attitude, where no letters can."""
    text = (
        "notation 1\nbearings true\nattitudes dip-right\nunit OT Ottery Tuff ; Jurassic\nunit Ss Pike Sandstone ; Triassic\n"
        "at 1\nunit OT\nbed 200/30\nbed 020/80 OT\ntops down graded\nto 2 090 60m\nalong 20 m\ncontact OT/Ss certain 200/30\n"
        "at 2\nunit Ss\nto 3 090 60m\nalong 30 m\nfault OT/Ss certain 200/70 OT down E\n"
    )
    once = tidied(text)
    assert tidied(once) == once
    for one in (text, once):
        found = compile_text(one)
        assert [unit.letters for unit in found.trav.log.units] == ["OT", "Ss"]
        assert [bed.overturned for bed in found.geology.attitudes if bed.kind is PlaneKind.BED] == [
            False,
            True,
        ]
        assert {(met.younger, met.older) for met in found.geology.contacts} == {("OT", "Ss")}
        assert [one.letters for one in found.trav.log.items if isinstance(one, UnitHere)] == ["OT", "Ss"]
