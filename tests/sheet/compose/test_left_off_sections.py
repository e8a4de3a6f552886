"""What is left off a section, and nobody sees to be missing, is told beside it on every sheet and paper."""

from pathlib import Path

import pytest

from tests import once
from tests.sheet.pages import words

SYNCLINE = """notation 1
traverse Mill Bank
bearings true
attitudes dip-direction
heights above the mill
unit Cc Top ; Jurassic
unit Bb Middle ; Triassic
unit Aa Base ; Permian
at 1
  unit Aa
  bed 090/40
to 2 090 150m +3
along 60m
  contact Bb/Aa certain
at 2
  unit Bb
  bed 090/40
to 3 090 150m +2
along 60m
  contact Cc/Bb certain
at 3
  unit Cc
  bed 090/20
to 4 090 150m +2
at 4
  unit Cc
  bed 270/20
to 5 090 150m +1
along 60m
  contact Cc/Bb certain
at 5
  unit Bb
  bed 270/40
to 6 180 150m level
along 80m
  fault Bb/Bb certain 190/70 down S
at 6
  unit Bb
  bed 270/40
section A-A' from 1 to 5
"""
FAULT = "ault on leg 5–6 at 80m left off"
FULL = "The fault on leg 5–6 at 80m strikes 10° from section A–A′"


def drawn(kind, extra):
    made = once.drawn(Path("mill-bank.trav"), kind, text=SYNCLINE + extra)
    return " ".join(words(made.pages[0].items).split())


@pytest.mark.in_turn
@pytest.mark.parametrize("kind", ["key", "grey", "film"])
@pytest.mark.parametrize("paper", ["A5", "A5 landscape", "A4", "A4 landscape"])
def test_a_fault_that_is_not_on_the_section_is_told_beside_it(kind, paper):
    said = drawn(kind, f"sheet paper {paper}\n")
    assert FAULT in said or FULL in said


DOME = """notation 1
traverse Mill Dome
bearings true
attitudes dip-direction
unit Sh Shale ; Silurian
at 1
  unit Sh
  bed 270/30
to 2 121 117m level
  unit Sh
  bed 180/30
to 3 059 117m level
  unit Sh
  bed 090/30
section A-A' from 1 to 3, project square
sheet band 20 m, paper {paper}
"""


@pytest.mark.every(2)
@pytest.mark.parametrize("paper", ["A5", "A5 landscape", "A4"])
def test_ground_of_no_known_unit_is_not_white_without_a_word(paper):
    made = once.drawn(Path("mill-dome.trav"), "key", text=DOME.format(paper=paper))
    said = " ".join(words(made.pages[0].items).split())
    assert "hite past all beds walked on" in said or "lies past all beds that were walked on" in said
