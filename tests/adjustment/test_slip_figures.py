"""What each slip would have the page say, and by how much it changes the leg: worked out by hand."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest

from tests.walk import conditions, walk
from traverse.adjustment.misread.deciding import _places
from traverse.adjustment.misread.everywhere import _against_model
from traverse.adjustment.misread.explained import Explained
from traverse.adjustment.misread.find import _best_turn_deg, _steepness
from traverse.adjustment.misread.slips import OTHER_DISTANCE, Slip, slips_of
from traverse.adjustment.misread.starts import _Names
from traverse.adjustment.misread.trials import Trials, _spoils, likeliest
from traverse.adjustment.misread.turned import _angles, _Walk
from traverse.log.readings import North
from traverse.trade import DOUBTED_DECLINATION, MODEL_DECLINATION_DEG


def slips(azimuth, length, more=None, *, declination_deg=0.0, odd_unit=False, at=None):
    """Every slip of one leg by its words."""
    (leg,) = walk(("1", "2", azimuth, length, more or {}), at=at or conditions()).legs
    return {one.slip: one for one in slips_of(0, leg, declination_deg, odd_unit=odd_unit)}


@pytest.mark.parametrize(
    ("length", "words", "reading", "stretch"),
    [
        # A foot is 0.3048 m (international yard and pound agreement, 1959).
        ("100m", "feet taken for metres", "100ft", 0.3048),
        ("100ft", "metres taken for feet", "100m", 1.0 / 0.3048),
        ("40m", "10 times too small", "400m", 10.0),
        ("40m", "10 times too large", "4m", 0.1),
        ("140m", "a hundred too many", "40m", 40.0 / 140.0),
        ("40m", "a hundred left out", "140m", 3.5),
        ("54p", "digits of the paces exchanged", "45p", 45.0 / 54.0),
        ("68m", "digits of the distance exchanged", "86m", 86.0 / 68.0),
        ("12.5m", "digits of the distance exchanged", "21.5m", 21.5 / 12.5),
        ("54p", "20 paces too many", "34p", 34.0 / 54.0),
        ("54p", "20 paces dropped", "74p", 74.0 / 54.0),
    ],
)
def test_a_distance(length, words, reading, stretch):
    found = slips(40, length)[words]
    assert found.reading == reading
    assert found.stretch == pytest.approx(stretch)


def test_a_first_figure_that_was_lost_may_be_any_and_is_rarer_than_a_hundred():
    lost = {length: [one for one in slips_of(0, walk(("1", "2", 40, length), at=conditions()).legs[0], 0.0)
                     if one.slip == "first figure lost"] for length in ("74m", "174m", "7m")}  # fmt: skip
    assert [one.reading for one in lost["74m"]] == [f"{first}74m" for first in range(2, 10)]
    assert not lost["174m"] + lost["7m"]
    assert min(one.rank for one in lost["74m"]) > slips(40, "74m")["a hundred left out"].rank


@pytest.mark.parametrize(
    ("azimuth", "words", "reading", "turn_deg"),
    [
        (27, "a nought too few", "270", -117.0),
        (270, "a nought too many", "027", 117.0),
        ("N27E", "E and W exchanged", "N27W", -54.0),
        ("N27E", "N and S exchanged", "S27E", 126.0),
        ("S67.5E", "N and S exchanged", "N67.5E", -45.0),
        ("N27E", "quadrant angle read from the other end", "N63E", 36.0),
        (347, "bearing reversed", "167", -180.0),
    ],
)
def test_a_bearing(azimuth, words, reading, turn_deg):
    found = slips(azimuth, "40m")[words]
    assert found.reading == reading
    assert math.isclose(abs(found.turn_deg), abs(turn_deg))
    assert found.turn_deg == pytest.approx(turn_deg) or abs(turn_deg) == 180.0


@pytest.mark.parametrize(("east_deg", "reading"), [(8.0, "132"), (-8.0, "148")])
def test_a_declination_that_was_booked_into_the_bearing_is_taken_out(east_deg, reading):
    found = slips(140, "40m", declination_deg=east_deg, at=conditions(bearings=North.MAGNETIC))
    one = found["declination applied twice"]
    assert (one.reading, one.turn_deg) == (reading, pytest.approx(-east_deg))


def test_what_would_change_nothing_is_no_slip():
    """Due east has no N or S to exchange, due north no E or W, and a quadrant angle is never ten times as large."""
    assert "N and S exchanged" not in slips("N90E", "40m")
    assert "E and W exchanged" not in slips("N0E", "40m")
    assert not [one for one in slips("N27E", "40m") if "nought" in one]
    for leg in (("N90E", "40m"), ("N0E", "40m"), (0, "40m"), (90, "54p")):
        for one in slips(*leg, {"slope": 5}).values():
            assert (one.turn_deg, one.stretch, one.tilt) != (0.0, 1.0, 1.0)


@pytest.mark.parametrize(
    ("slope", "words", "reading"),
    [
        (5, "slope 10 times too steep", "+0.5"),
        (4, "slope 10 times too steep", None),  # nobody reads 0.4 of a degree
        (3, "slope 10 times too gentle", "+30"),
        (4, "slope 10 times too gentle", None),  # nor paces up 40
        (14, "slope too steep by 10 degrees", "+4"),
        (-14, "slope too steep by 10 degrees", "-4"),
        (4, "slope too gentle by 10 degrees", "+14"),
    ],
)
def test_a_slope(slope, words, reading):
    found = slips(40, "40m", {"slope": slope}).get(words)
    assert (found and found.reading) == reading
    if found:
        # Slopes in degrees stay as they are in proportion.
        assert found.tilt == pytest.approx(float(reading) / slope)


def test_the_unit_that_no_other_leg_has_is_likelier_to_be_wrong_than_any_other_figure():
    words = "feet taken for metres"
    assert slips(40, "40m", odd_unit=True)[words].rank < 0.0 == slips(40, "40m")[words].rank


# --- a compass set anew -----------------------------------------------------------------------------------------


def turned_walk():
    """Two legs of a circuit, 100 m north and 50 m east: 2 m in plan along the way, 1 m across, of the second."""
    loops = SimpleNamespace(
        steps=[[SimpleNamespace(edge=0, sign=1.0), SimpleNamespace(edge=1, sign=1.0)]],
        misclosure_m=np.zeros((1, 3)),
    )
    vectors = SimpleNamespace(
        observed_m=np.array([(0.0, 100.0, 0.0), (50.0, 0.0, 5.0)]),
        covariance_m2=np.array([np.diag((1.0, 1.0, 0.25)), np.diag((4.0, 1.0, 0.25))]),
    )
    return _Walk(loops, 0, SimpleNamespace(leg_count=2), SimpleNamespace(vectors=vectors))


def test_what_is_walked_after_a_compass_was_set_anew_is_turned_with_its_errors():
    """By a quarter clockwise 50 m east are 50 m south, and what was 2 m along the way lies north and south."""
    shift, growth = turned_walk().change(1, 90.0)
    assert shift == pytest.approx((-50.0, -50.0, 0.0))
    assert growth == pytest.approx(np.diag((1.0 - 4.0, 4.0 - 1.0, 0.0)), abs=1e-9)


@pytest.mark.parametrize("handed_over", [False, True])
def test_the_declination_and_twice_it_are_tried_as_what_was_set_either_way(handed_over):
    magnetic = conditions(bearings=North.MAGNETIC, declination=8.0)
    log = walk(("1", "2", 0, "100m"), ("2", "3", 90, "50m"), at=magnetic)
    before = log.legs[0]
    if handed_over:
        before = SimpleNamespace(conditions=SimpleNamespace(compass="old", reader="MO"))
    legs = SimpleNamespace(
        booked=(before, log.legs[1]), declination_deg=np.full(2, 8.0), reading_sd_deg=np.full(2, 1.0)
    )
    tried = _angles(legs, 1, turned_walk(), 1)
    named = {words: {turn for turn, told, _ in tried if told == words} for words in {one[1] for one in tried}}
    assert named["the declination"] == {-8.0, 8.0}
    assert named["twice the declination"] == {-16.0, 16.0}
    # Another compass or another reader makes it likelier.
    ranks = {rank for _, told, rank in tried if told}
    assert ranks == ({0.0} if handed_over else {6.0})


# --- several slips ----------------------------------------------------------------------------------------------


def test_steep_slopes_speak_against_a_slip_by_the_squares_of_the_others():
    """Beside slopes of 12° and 9°, 6° doubled is 144 for 36: (144 - 36) over the mean of 144 and 81."""
    legs = SimpleNamespace(slope_rad=np.radians([12.0, -9.0, 6.0, 0.0]), slope_known=np.array([1, 1, 1, 0]))
    doubled, turned, left = (SimpleNamespace(tilt=tilt) for tilt in (2.0, -1.0, 1.0))
    against = _steepness(legs, [doubled, turned, left], np.array([2, 2, 2]))
    assert against == pytest.approx([108.0 / 112.5, 0.0, 0.0])


def spoilt(first, second):
    """Whether two slips together spoil a circuit that closes well: where its gap is over three deviations."""
    trials = Trials()
    for shift, growth in (first, second):
        row = (0, np.array((shift, 0.0, 0.0)), np.diag((growth, growth, 0.0)))
        trials.add(SimpleNamespace(), 0.0, [row])
    loops = SimpleNamespace(
        failing=[False],
        changed=lambda _, shift, more: SimpleNamespace(mends=shift[:, 0] ** 2 <= 9.0 * more[:, 0, 0]),
    )
    return _spoils(trials, loops, np.array([0]), np.array([1])).tolist() == [True]


def test_two_slips_shift_a_good_circuit_by_both_and_make_it_less_sure_by_both():
    assert spoilt((3.0, 0.5), (3.0, 0.5))  # 6 m, ±1 m
    assert not spoilt((3.0, 0.5), (-3.0, 0.5))
    assert not spoilt((4.0, 1.0), (0.0, 1.0))  # 4 m, ±1.4 m
    assert spoilt((4.0, 0.5), (0.0, 0.5))


def test_what_two_circuits_share_stays_with_its_own_slip():
    trials = Trials()
    nothing = (np.zeros(3), np.zeros((3, 3)))
    for growth in (1.0, 2.0):
        rows = [(0, *nothing), (1, *nothing)]
        trials.add(SimpleNamespace(), 0.0, rows, [(0, 1, growth * np.eye(3))])
    changes = trials.changes()
    assert changes.pair_slip.tolist() == [0, 1]
    assert changes.pair_m2[:, 0, 0].tolist() == [1.0, 2.0]


@pytest.mark.parametrize(("about", "kept"), [(2.05, 1), (1.98, 1), (2.6, 2), (1.4, 2)])
def test_a_distance_by_the_closure_alone_is_left_out_where_a_usual_slip_comes_to_the_same(about, kept):
    usual = Slip(edge=4, slip="double paces counted as single", reading="80p", stretch=2.0)
    vague = Slip(edge=4, slip=OTHER_DISTANCE, reading=f"about {40 * about:.0f}p", stretch=about)
    found = [
        Explained(slip=slip, rank=rank, misclosure_after_m=0.0, q_after=0.0)
        for slip, rank in ((usual, 0.0), (vague, 0.5))
    ]
    assert len(likeliest(found)) == kept


# --- what tells two slips apart ---------------------------------------------------------------------------------


def test_stations_as_they_would_lie_after_a_slip():
    """A leg to (30, 40), a quarter clockwise and twice as long, ends at (80, -60); walked back it is taken off."""
    slip = SimpleNamespace(edge=0, turn_deg=90.0, stretch=2.0)
    drawn = SimpleNamespace(
        vectors=SimpleNamespace(observed_m=np.array([(30.0, 40.0, 0.0), (10.0, 0.0, 0.0)]))
    )
    for sign in (1.0, -1.0):
        steps = (SimpleNamespace(edge=0, sign=sign), SimpleNamespace(edge=1, sign=1.0))
        closing = SimpleNamespace(circuit=SimpleNamespace(steps=steps))
        there = np.array([(0.0, 0.0), (80.0, -60.0), (80.0, -60.0)]) * sign + [(0, 0), (0, 0), (10, 0)]
        assert _places(slip, closing, drawn) == pytest.approx(there)


# --- begun at another station -----------------------------------------------------------------------------------


def test_names_are_beside_each_other_by_the_walk_or_by_one_figure():
    log = walk(*((str(n), str(n + 1), 90, "50m") for n in range(10, 25)))
    names = _Names(log)
    assert names._beside("12", "13")
    assert names._beside("13", "12")
    assert names._beside("12", "22")  # one figure
    assert not names._beside("12", "20")  # two
    assert not names._beside("13", "25")
    names = _Names(walk(("4", "71", 0, "50m"), ("71", "88", 90, "50m")))
    assert names._beside("71", "88")  # one after the other, whatever they are called
    assert names._beside("88", "71")
    assert not names._beside("4", "88")


def test_a_station_from_which_a_spur_went_is_likelier_to_have_been_left_out():
    """Below the leg to 5 stands one from 5: was `at 2` left out, from where a leg went before, or `at 4`?"""
    log = walk(
        ("1", "2", 0, "50m"), ("2", "3", 90, "50m"), ("3", "4", 90, "50m"), ("4", "5", 90, "50m"),
        ("5", "6", 90, "50m"),
    )  # fmt: skip
    names = _Names(log)
    spur, fresh = (names.slip(log, 4, log.legs[4], other) for other in ("2", "6"))
    assert spur.rank == 0.0 < fresh.rank
    assert spur.slip == fresh.slip.replace("6", "2") == "`at 2` missing before it"


def test_a_declination_counts_by_how_far_it_lies_from_the_model():
    assert _against_model(8.0, 6.0) == pytest.approx((2.0 / MODEL_DECLINATION_DEG) ** 2)
    assert _against_model(-8.0, -6.0) == pytest.approx((2.0 / MODEL_DECLINATION_DEG) ** 2)
    # Near a pole of the field it may be counted from either side of south.
    assert _against_model(179.0, -179.0) == pytest.approx((2.0 / MODEL_DECLINATION_DEG) ** 2)
    assert _against_model(12.0, -12.0) == DOUBTED_DECLINATION


@pytest.mark.parametrize(
    ("change", "way"),
    [
        ({"turn_deg": 10.0}, "too far to the left"),
        ({"turn_deg": -10.0}, "too far to the right"),
        ({"turn_deg": 180.0}, ""),
        ({"turn_deg": -180.0}, ""),
        ({"stretch": 2.0}, "too short"),
        ({"stretch": 0.5}, "too long"),
        ({"tilt": -1.0}, ""),
        ({"tilt": 2.0}, "too gentle"),
        ({"tilt": 0.5}, "too steep"),
    ],
)
def test_which_way_a_reading_is_off(change, way):
    """What would be added to it, or what it would be multiplied by, has the opposite sense."""
    assert Slip(slip="", reading="", **change).way == way


@pytest.mark.parametrize("turn", [25, -70, 180])
def test_a_leg_is_turned_to_where_its_circuit_closes(turn):
    """30 m to the east and 40 m to the north, of which the turned leg leaves the rest open; the errors are no circle."""
    along, way = np.array((30.0, 40.0)), math.radians(turn)
    turned = np.array(
        (
            30.0 * math.cos(way) + 40.0 * math.sin(way),
            40.0 * math.cos(way) - 30.0 * math.sin(way),
        )
    )
    assert _best_turn_deg(along, along - turned, np.array(((1.0, 0.2), (0.2, 0.4)))) == pytest.approx(turn)
