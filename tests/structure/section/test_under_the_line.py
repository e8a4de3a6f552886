"""The ground under a line of section, from what the walk and its contacts say of it: each rule by hand.

The line runs due east from 0, and what lies beside it is carried to it square.
"""

from __future__ import annotations

import math
from collections import defaultdict
from types import SimpleNamespace

import numpy as np
import pytest

from traverse.structure.section import profile
from traverse.structure.section.profile import SectionGround, _sides
from traverse.structure.walk.records import BandStretch
from traverse.trade import BAND_M

LINE = SimpleNamespace(grid_azimuths_deg=(90.0,))


class Square:
    """Carries what lies east and north to that distance and offset; but where told otherwise."""

    turn = 0.0
    one_strike_deg = None

    def __init__(self, *, up_m=None, nowhere=False, aside=False):
        self.up_m, self.nowhere, self.aside = up_m, nowhere, aside

    def strike_of(self, own_deg):
        return own_deg

    def down_dip(self, line, carried, bed):
        return carried.aside

    def over_fault(self, line, carried, east, north):
        return False

    def parted(self, line, carried, contact):
        return False

    def comes_out(self, line, carried, east, north):
        return carried.distance_m

    def carry(self, line, east, north, up_m, **_):
        if self.nowhere:
            return None
        return SimpleNamespace(
            distance_m=east, offset_m=-north, up_m=self.up_m, stretch=0, aside=self.aside, beside=False,
            swing_m=0.0,
        )  # fmt: skip

    def contact(self, line, contact, projection):
        return self.carry(line, contact.place.east_m, contact.place.north_m, None)


class Near:
    """The strike of the nearest bed: north, everywhere."""

    def __call__(self, east, north):
        return 0.0

    def all_of(self, places):
        return [0.0] * len(places)


def contact(at_m, younger, older, *, way=1.0, off_m=0.0):
    """A contact at a distance; `way` is 1 where the younger unit lies beyond it."""
    place = SimpleNamespace(east_m=at_m, north_m=off_m, up_m=None)
    return SimpleNamespace(younger=younger, older=older, place=place, course_deg=0.0, way=way)


def walked(start, end, unit, *, leg=0, north=0.0):
    """Ground on one unit from one distance to another."""
    return BandStretch(
        start=(start, north),
        end=(end, north),
        leg=leg,
        start_share=0.0,
        end_share=1.0,
        unit=unit,
        covered=False,
    )


def ground(band=(), contacts=(), carrier=None):
    one = object.__new__(SectionGround)
    one.band, one.contacts, one.carrier = tuple(band), tuple(contacts), carrier or Square()
    one.cover, one.levels, one.over = frozenset(), (), ()
    one.beds, one.strike_near = (), Near()
    one.survey = SimpleNamespace(legs=defaultdict(_leg), places={})
    one.younger_side = lambda each: np.array((each.way, 0.0, 0.0))
    return one


def _leg():
    return SimpleNamespace(booked=SimpleNamespace(start="1", end="2"))


def units(one, *places, within=lambda _: True):
    return one._units_of(LINE, np.array(places), None, (), within, frozenset())


# --- what the walk says of the ground between two contacts ------------------------------------------------------


def test_ground_that_both_borders_name_is_that_unit_and_else_what_most_of_the_walk_there_is_on():
    """Between 40 and 80 m an arm of the walk is on Ts. Both contacts name Jl there, or the first alone does."""
    arm = walked(45.0, 75.0, "Ts", north=30.0)
    both = [contact(40.0, "Jl", "Ks"), contact(80.0, "Jl", "Ks", way=-1.0)]
    assert units(ground([arm], both), 20.0, 60.0, 90.0) == ["Ks", "Jl", "Ks"]
    first = [contact(40.0, "Jl", "Ks"), contact(80.0, "Ts", "Ks", way=-1.0)]
    assert units(ground([arm], first), 20.0, 60.0, 90.0) == ["Ks", "Ts", "Ks"]
    assert units(ground([arm], both[:1]), 20.0, 60.0) == ["Ks", "Ts"]


@pytest.mark.parametrize(
    ("carrier", "says"),
    [
        (Square(), "Ts"),
        (Square(up_m=BAND_M - 0.5), "Ts"),
        (Square(up_m=0.5 - BAND_M), "Ts"),
        (Square(up_m=BAND_M + 0.5), None),
        (Square(up_m=-BAND_M - 0.5), None),
        (Square(aside=True), None),
        (Square(nowhere=True), None),
    ],
)
def test_ground_that_comes_to_lie_over_the_line_or_under_it_says_nothing_of_it(carrier, says):
    assert units(ground([walked(0.0, 100.0, "Ts")], carrier=carrier), 50.0) == [says]


def test_ground_where_no_unit_is_known_says_nothing():
    """Nor does that about a station without legs, of which nobody knows how far it goes."""
    band = [walked(0.0, 80.0, None), walked(80.0, 100.0, "Ts"), walked(0.0, 70.0, "Jl", leg=None)]
    one = ground(band)
    assert [unit for unit, *_ in one._walked_on] == ["Ts"] * 5
    assert [east for _, _, east, *_ in one._walked_on] == pytest.approx([82.0, 86.0, 90.0, 94.0, 98.0])
    assert units(one, 20.0) == ["Ts"]


def test_of_a_very_long_walk_the_middle_of_each_stretch_stands_for_all_of_it(monkeypatch):
    monkeypatch.setattr(profile, "_FINE", 0)
    ((unit, length_m, east, *_),) = ground([walked(80.0, 100.0, "Ts")])._walked_on
    assert (unit, length_m, east) == ("Ts", pytest.approx(20.0), pytest.approx(90.0))


# --- where one unit follows another with no contact booked ------------------------------------------------------


def unbooked(one, within=lambda _: True):
    return [(each.distance_m, each.before, each.after) for each in one._unbooked(LINE, None, within)]


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_one_unit_gives_way_to_another_half_way_between_the_two(way):
    """As on both sides of a dike that was taken out: Ts up to 40 m, Jl from 46 m."""
    band = [walked(way * 0.0, way * 40.0, "Ts"), walked(way * 46.0, way * 90.0, "Jl")]
    one = ("Ts", "Jl") if way > 0.0 else ("Jl", "Ts")
    assert unbooked(ground(band)) == [(way * 43.0, *one)]


@pytest.mark.parametrize(
    ("at_m", "told"), [(40.0, False), (46.0, False), (36.5, False), (35.5, True), (51.0, True)]
)
def test_a_contact_of_the_two_as_far_off_as_the_gap_and_a_metre_is_theirs(at_m, told):
    """From half-way at 43 m: 6 m of gap and one."""
    band = [walked(0.0, 40.0, "Ts"), walked(46.0, 90.0, "Jl")]
    assert bool(unbooked(ground(band, [contact(at_m, "Jl", "Ts")]))) == told
    assert unbooked(ground(band, [contact(at_m, "Ks", "Ts")]))


@pytest.mark.parametrize("covered", ["Ts", "Jl"])
def test_a_unit_gives_way_to_another_only_among_what_is_asked_for(covered):
    """Of a cover and what it lies on each is drawn by itself."""
    band = [walked(0.0, 40.0, "Ts"), walked(46.0, 90.0, "Jl")]
    assert unbooked(ground(band), lambda unit: unit != covered) == []
    assert unbooked(ground(band), lambda unit: unit != "Ks")


# --- on which side the younger unit lies ------------------------------------------------------------------------


def way_deg(azimuth):
    return math.sin(math.radians(azimuth)), math.cos(math.radians(azimuth))


@pytest.mark.parametrize("azimuth", [80.0, 100.0, 190.0, 350.0])
@pytest.mark.parametrize(("off_deg", "ahead"), [(85.0, True), (-85.0, True), (95.0, False), (-95.0, False)])
def test_the_younger_unit_lies_beyond_where_the_way_into_it_leads_on_along_the_line(azimuth, off_deg, ahead):
    line = SimpleNamespace(grid_azimuths_deg=(0.0, azimuth))
    found = _sides(line, contact(0.0, "Jl", "Ts"), 1, way_deg(azimuth + off_deg))
    assert found == (("Ts", "Jl") if ahead else ("Jl", "Ts"))


@pytest.mark.parametrize("turn", [0.0, 2.0])
@pytest.mark.parametrize("strike", [10.0, 30.0, 60.0, 125.0, 170.0])
@pytest.mark.parametrize("off_deg", [11.0, 40.0, 90.0, 169.0])
def test_of_beds_of_one_strike_what_of_the_way_leads_across_them_tells(strike, off_deg, turn):
    """A leg at 11° to the strike tells, whichever way it runs; the line may cross the strike at a small angle."""
    line = SimpleNamespace(grid_azimuths_deg=(strike - turn + 80.0,))
    carrier = Square()
    carrier.one_strike_deg, carrier.turn = strike, turn
    one = ground(carrier=carrier)
    carried = SimpleNamespace(swing_m=0.0, stretch=0)
    met = contact(0.0, "Jl", "Ts")
    met.course_deg = strike
    right = one._sides(line, met, carried, way_deg(strike - turn + off_deg))
    left = one._sides(line, met, carried, way_deg(strike - turn - off_deg))
    assert (right, left) == (("Ts", "Jl"), ("Jl", "Ts"))
    for along in (9.0, -9.0, 171.0):
        assert one._sides(line, met, carried, way_deg(strike - turn + along)) == (None, None)
