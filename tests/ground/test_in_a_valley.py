"""Beds of one dip in a valley along it: a contact leaves its course on the slope, and comes to the section once."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest

from tests.invented.cut_true import beside_lines
from traverse.compile import compile_log, section_ground
from traverse.source import Source

LOG = """notation 1
traverse Both sides of a valley
date 2026-07-14
bearings true
attitudes dip-direction
unit Cd Dale Grit ; Carboniferous
unit Cc Moss Shale ; Carboniferous
unit Cb Lime Beds ; Carboniferous
unit Ca Foot Shale ; Carboniferous
at 1
  unit Cc
  bed 000/12
to 2  097 83m -14
along 40m
  contact Cc/Cb certain
at 2
  unit Cb
  bed 000/12
to 3  104 42m -13
along 18m
  contact Cb/Ca certain
at 3
  unit Ca
  bed 000/12
to 4  084 93m +14
along 26m
  contact Cb/Ca certain
along 89m
  contact Cc/Cb certain
at 4
  unit Cc
  bed 000/12
to 5  037 101m +7
along 60m
  contact Cd/Cc certain
at 5
  unit Cd
  bed 000/12
to 6  342 96m -7
at 6
  unit Cd
  bed 000/12
to 7  297 69m -14
at 7
  unit Cd
  bed 000/12
to 8  265 62m -14
along 38m
  contact Cd/Cc certain
at 8
  unit Cc
  bed 000/12
to 9  282 74m +13
along 22m
  contact Cd/Cc certain
at 9
  unit Cd
  bed 000/12
to 10  225 101m +12
at 10
  unit Cd
  bed 000/12
close 1  171 132m level
along 93m
  contact Cd/Cc certain
section A-A' 000 through 3
"""
"""Typed by hand for a cone of 14° about a stream, and beds of 12° without error: Cb is 16 m thick on either side."""


@cache
def cut():
    traverse = compile_log(Source(name="t.trav", text=LOG), load=lambda _: b"").trav
    return section_ground(traverse).ground.cuts[0]


def test_each_contact_is_drawn_once_and_parts_its_two_units():
    names = [(one.of.younger, one.of.older) for one in cut().lines if one.below]
    assert sorted(names) == [("Cb", "Ca"), ("Cc", "Cb"), ("Cd", "Cc")]
    beside = list(beside_lines(cut()))
    assert len(beside) > 100
    assert all(one != other for one, other in beside)


def test_a_unit_is_as_thick_as_its_contacts_were_met_apart():
    """They were met 6 to 20 m over the ground under the line, within 90 m of it along the strike."""
    at_m = 120.0
    ups = {}
    for line in cut().lines:
        places = np.array([place for part in line.below for place in part.coords])
        ups[line.of.younger] = float(np.interp(at_m, *places[places[:, 0].argsort()].T))
    thick_m = (ups["Cc"] - ups["Cb"]) * math.cos(math.radians(12.0))
    assert thick_m == pytest.approx(16.0, abs=1.5)


def test_a_profile_that_rests_on_heights_far_off_says_how_far():
    """Between stations 3 and 8, in the stream, the walk went round on both sides."""
    assert 90.0 < cut().section.ground_off_m < 150.0
