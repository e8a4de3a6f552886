"""Beds of one dip in a valley along it: a contact leaves its course on the slope, and comes to the section once."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from shapely import box, union_all

from tests.invented.cut_true import beside_lines
from tests.sheet.pages import paths
from traverse.compile import compile_log, section_ground
from traverse.ground.records import SectionFill
from traverse.ground.section_guesses import without_guesses
from traverse.sheet.paper.page import Box
from traverse.sheet.paper.style import PENS
from traverse.sheet.section.strip import section_panel
from traverse.source import Source
from traverse.structure.section.records import PointKind
from traverse.trade import BAND_M, GUESS_SHARE

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
    assert len(beside) > 50
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


def test_a_guessed_height_may_be_off_by_what_places_of_the_walk_so_far_apart_differ_by():
    """In the stream the ground falls evenly from station 3 to 8: the guess of a hill there is within twice its error."""
    section = cut().section
    up_m = {one.label: section.place_of(one) for one in section.points if one.kind is PointKind.STATION}
    (start_m, high_m), (end_m, low_m) = up_m["3"], up_m["8"]
    guessed = [one for one in section.profile if one.sd_m is not None]
    assert len(guessed) > 60
    off = [
        abs(one.up_m - np.interp(one.distance_m, (start_m, end_m), (high_m, low_m))) / one.sd_m
        for one in guessed
    ]
    assert 0.5 < max(off) < 2.0
    near = [one for one in section.profile if min(abs(one.distance_m - at) for at in (start_m, end_m)) < 12.0]
    assert all(one.sd_m is None for one in near)


@pytest.mark.parametrize(
    ("west", "east", "over_m"), [(0.0, 0.0, 10.0), (45.0, -45.0, 14.142), (45.0, 0.0, 10.0)]
)
def test_ground_is_coloured_where_its_height_moves_it_little_square_to_its_beds(west, east, over_m):
    """Heights off by 10 m and more are left white over flat beds, by 14 m over such of 45°, of two sorts as over the gentler."""
    section = cut().section
    points = [one for one in section.points if not one.tells_bedding or one.distance_m < 100.0]
    beds = [replace(one, apparent_dip_deg=west) if one.tells_bedding else one for one in points]
    last = max((one for one in beds if one.tells_bedding), key=lambda one: one.distance_m)
    beds.append(replace(last, distance_m=section.length_m, apparent_dip_deg=east))
    given = replace(section, points=tuple(beds))
    low_m = min(one.up_m for one in section.profile) - 1.0
    whole = box(0.0, low_m - 1.0, section.length_m, low_m)
    fill = SectionFill(unit="Cc", area=whole, start_m=0.0, end_m=section.length_m)
    white = fill.area.difference(
        union_all([one.area for one in without_guesses([fill], given, depth_m=20.0)])
    )
    assert white.area == pytest.approx(
        sum(end - start for start, end in section.guessed(over_m=over_m)), abs=0.01
    )


def test_nothing_is_coloured_under_ground_that_may_lie_anywhere_and_no_contact_is_firm_there():
    section = cut().section
    ((open_m, shut_m),) = section.guessed(over_m=GUESS_SHARE * BAND_M)
    assert shut_m - open_m > 80.0
    assert cut().fills
    assert not any(
        fill.area.intersects(box(open_m + 0.1, -500.0, shut_m - 0.1, 500.0)) for fill in cut().fills
    )
    trav = section_ground(compile_log(Source(name="t.trav", text=LOG), load=lambda _: b"").trav)
    box_mm = Box(x=20.0, y=20.0, width=250.0, height=80.0)
    drawn = paths(section_panel(cut(), trav, box=box_mm, scale=1000, styles={}).items)
    dashed = [one for one in drawn if one.pen == PENS["ground guessed"]]
    ends = [one.commands[at][1] - 20.0 for one in dashed for at in (0, -1)]
    assert ends == pytest.approx([at_m for stretch in section.guessed() for at_m in stretch])
    firm = [one for one in drawn if one.pen == PENS["contact in section"]]
    assert firm
    for one in firm:
        at = [command[1] - 20.0 for command in one.commands]
        assert all(max(at) <= start + 0.1 or min(at) >= end - 0.1 for start, end in section.guessed())
