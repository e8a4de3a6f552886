"""A note that reads like a hazard: the sheet does not say that none was noted."""

import pytest

from traverse.compile import compile_log
from traverse.sheet.handout.given import given
from traverse.sheet.said.cautions import NONE_NOTED, hazards_closing
from traverse.source import Source

WALK = """notation 1
bearings true
at 1
  {first}
to 2 090 80m level
  {second}
close 1 270 80m level
"""


def compiled(first="rock shale", second="rock shale"):
    text = WALK.format(first=first, second=second)
    return compile_log(Source("day.trav", text), load=lambda name: b"")


@pytest.mark.parametrize(
    ("first", "second", "said"),
    [
        ("note hazard: loose blocks", "rock shale", "A note reads like a hazard that is not listed (station\u00a01)."),
        ("note loose blocks over the path", "note danger: bog", "Notes read like a hazard that is not listed (station\u00a01 and station\u00a02)."),
        ("hazard loose blocks", "note danger: bog", "A note reads like a hazard that is not listed (station\u00a02)."),
    ],
)  # fmt: skip
def test_the_closing_says_where_such_a_note_is(first, second, said):
    found = compiled(first, second)
    assert hazards_closing(found.log).startswith(said)
    assert NONE_NOTED not in hazards_closing(found.log)
    shown = given(found.trav, parts=()).value.trav.log
    assert hazards_closing(shown).startswith(said)
    assert not any("bog" in str(one) for one in shown.like_hazards)


@pytest.mark.parametrize(
    "first", ["rock shale", "note hazard: loose blocks\n  checked XX far below the path"]
)
def test_without_one_or_where_checked_answers_it_none_was_noted(first):
    assert hazards_closing(compiled(first).log).startswith(NONE_NOTED)


@pytest.mark.parametrize(
    ("first", "told"),
    [
        ("rock edge of crag\n  hazard crag, 6 m drop, loose edge", False),
        ("hazard loose blocks on slab\n  note hazard: blocks, loose blocks", False),
        ("note deep bog\n  hazard bog behind the wall", False),
        # Another hazard; one more than is listed; no more in common than that both are loose.
        ("note deep bog\n  hazard crag, 6 m drop", True),
        ("note edge of crag; deep bog\n  hazard crag, 6 m drop", True),
        ("note loose blocks\n  hazard loose edge of crag", True),
        # What is listed denies it, and so warns nobody.
        ("note deep bog\n  hazard no bog here, crag", True),
        # Nobody knows what it means.
        ("note hazard: as above\n  hazard crag, 6 m drop", True),
    ],
)
def test_one_that_is_listed_there_is_not_asked_for_again(first, told):
    found = compiled(first)
    assert any(one.code == "hazard-noted" for one in found.diagnostics) is told
    assert hazards_closing(found.log).startswith("A note reads") is told
    assert NONE_NOTED not in hazards_closing(found.log)


def test_one_that_is_listed_elsewhere_is_asked_for():
    found = compiled("hazard crag, 6 m drop", "note edge of crag")
    assert hazards_closing(found.log).startswith(
        "A note reads like a hazard that is not listed (station\u00a02)."
    )
