"""The strike of an axial trace by a plane known beforehand, and which folds have one."""

import math

import pytest
from shapely import LineString

from traverse.compile import map_ground
from traverse.ground import fold_traces
from traverse.ground.fold_traces import strike_of
from traverse.structure.readings.records import FoldAxis
from traverse.structure.section.records import AxialLine


@pytest.mark.parametrize(("strike", "dip"), [(30.0, 50.0), (200.0, 85.0), (359.0, 20.0), (140.0, 89.0)])
@pytest.mark.parametrize("rake", [10.0, 60.0, 150.0])
@pytest.mark.parametrize("azimuth", [90.0, 277.0])
def test_strike_is_that_of_the_plane_that_holds_axis_and_line(strike, dip, rake, azimuth):
    """Plunge and trend of a rake, and the apparent dip, by their common formulas: the way back must give the strike."""
    s, d, r = map(math.radians, (strike, dip, rake))
    plunge = math.degrees(math.asin(math.sin(r) * math.sin(d)))
    trend = strike + math.degrees(math.atan2(math.sin(r) * math.cos(d), math.cos(r)))
    fall = math.tan(d) * math.sin(math.radians(azimuth) - s)
    axial = AxialLine(points=((0.0, 0.0), (10.0, -10.0 * fall)), left_dip_deg=0.0, right_dip_deg=0.0)
    found = strike_of(axial, FoldAxis(trend_deg=trend, plunge_deg=plunge, rms_deg=1.0, n=9), azimuth)
    assert min((found - strike) % 180.0, (strike - found) % 180.0) == pytest.approx(0.0, abs=1e-6)
    assert math.cos(math.radians(found - trend)) >= 0.0


SYNCLINE = """\
notation 1
bearings true
attitudes dip-direction
unit Bb Upper ; Jurassic
unit Aa Lower ; Triassic
at 1
  unit Aa
  bed 110/40
to 2 090 300m level
along 60m
  bed 110/40
along 86.2m
  contact Bb/Aa certain
along 213.8m
  contact Bb/Aa certain
along 240m
  bed 290/60
at 2
  unit Aa
  bed 290/60
to 3 180 200m level
at 3
  unit Aa
  bed 290/60
to 4 270 300m level
along 100m
  bed 290/60
along 158.9m
  contact Bb/Aa certain
along 286.6m
  contact Bb/Aa certain
at 4
  unit Aa
  bed 110/40
close 1 000 200m level
section A-A' 080 through 1"""
"""Level ground over a syncline with a level axis along 020: its contact runs 60 m to either side of that, through 1–2 half-way."""


@pytest.mark.parametrize(("asked", "off"), [("", 0), (", project plunge", 0), (", project square", 1)])
def test_a_section_askew_to_a_fold_is_told_and_tells_nothing_of_its_trace(compile_text, asked, off):
    """Carried square, the limbs on one side of the loop come out 70 m and more off those on the other."""
    trav = map_ground(compile_text(f"{SYNCLINE}{asked}\n").trav)
    assert len(trav.ground.map.folds) == 1
    for trace in trav.ground.map.folds:
        assert trace.strike_deg % 180.0 == pytest.approx(20.0, abs=2.0)
        for east, north in (end for line in trace.lines for end in line):
            # Square to the axis, from it: between the two lines of the contact.
            assert (
                abs((east - 150.0) * math.cos(math.radians(20.0)) - north * math.sin(math.radians(20.0)))
                < 60.0
            )
    (section,) = trav.geology.sections
    said = [one.fact for one in section.limits if one.code == "section-off-map"]
    assert len(said) == off
    assert all("the fold axis trends 020°" in one or "the fold axis trends 200°" in one for one in said)


OVERTURNED = """\
notation 1
bearings true
attitudes dip-direction
unit Cc Upper ; Cretaceous
unit Bb Middle ; Jurassic
unit Aa Lower ; Triassic
at 1
  unit Aa
  bed 270/65
to 2 090 60m level
  unit Aa
  bed 270/65 overturned
to 3 090 60m level
along 30m
  contact Bb/Aa certain
at 3
  unit Bb
  bed 270/66
to 4 090 60m level
along 10m
  bed 270/66
  unit Bb
  bed 270/64 overturned
to 5 090 60m level
along 30m
  contact Cc/Bb certain
at 5
  unit Cc
  bed 270/65 overturned
to 6 090 60m level
  unit Cc
  bed 270/30 upright
to 7 090 60m level
along 30m
  contact Cc/Bb certain
at 7
  unit Bb
  bed 270/31
section A-A' from 1 to 7
"""
"""From the overturned limb of a syncline, whose beds were not all said to be so, into the upright one beyond station 5."""


def _traces(compile_text, text):
    with_hinges = map_ground(compile_text(text).trav)
    (section,) = with_hinges.geology.sections
    hinges = [one for one in section.construction.axial if one.hinge]
    return len(with_hinges.ground.map.folds), len({round(one.left_dip_deg) for one in hinges})


def test_a_bed_of_unread_way_up_among_overturned_ones_is_no_fold_of_its_own(compile_text):
    """At station 1, and at 3 and beyond it, where two more axial traces were drawn; the one between 5 and 6 stays."""
    assert _traces(compile_text, OVERTURNED) == (1, 1)


def test_of_more_hinges_than_folds_that_follow_none_is_drawn(compile_text, monkeypatch):
    """Which of two the one fold of the findings is, nobody knows."""
    trav = compile_text(f"{SYNCLINE}\n").trav
    two = list(fold_traces._hinges_met(trav.geology.sections[0], trav.geology.fold_axis, {True, False}))
    assert len(two) == 1
    shape, distance, strike = two[0]
    monkeypatch.setattr(fold_traces, "_hinges_met", lambda *_: iter([*two, (shape, distance + 60.0, strike)]))
    whole = LineString([(-50.0, -50.0), (400.0, 300.0)])
    assert list(fold_traces.fold_traces(trav.geology, whole, half_m=20.0, convergence_deg=0.0)) == []


@pytest.mark.parametrize(
    "asked",
    ["section A-A' from 1 to 3, project square\n", "section N-S from 2 to 3\n", "section B-B' from 1 to 2\n"],
)
def test_a_trace_hangs_on_no_section_that_the_log_asks_for(compile_text, asked):
    """One that runs past the fold or lies askew to it shows none, and the fold is there all the same."""
    (drawn,) = map_ground(compile_text(f"{SYNCLINE.partition('section')[0]}{asked}").trav).ground.map.folds
    (alone,) = map_ground(compile_text(SYNCLINE.partition("section")[0]).trav).ground.map.folds
    assert drawn.strike_deg == pytest.approx(alone.strike_deg, abs=2.0)
    assert drawn.lines[0][0] == pytest.approx(alone.lines[0][0], abs=8.0)
