"""Which places and legs are vouched for by a closure, and which hang on one that was left open."""

from types import SimpleNamespace

from tests.walk import control, walk
from traverse.location.records import Standing
from traverse.log.records import Rule
from traverse.survey import survey_log

SQUARE = [("1", "2", 0, 100), ("2", "3", 90, 100), ("3", "4", 180, 100), ("4", "1", 270, 100)]
SPUR = ("2", "9", 45, 50)
OPEN = ("4", "1", 90, 100)
"""The last leg read the wrong way round."""
HERE = control("1", 1000.0, 2000.0)


def standings(*legs, controls=(HERE,), **more):
    survey = survey_log(walk(*legs, controls=controls, **more)).value
    places = {name: one.standing for name, one in survey.places.items()}
    return survey, places, [one.standing for one in survey.legs]


def test_a_loop_that_closes_vouches_for_its_legs_and_for_no_spur():
    survey, places, legs = standings(*SQUARE, SPUR)
    assert survey.done is Rule.COMPASS
    assert places == dict.fromkeys("1234", Standing.ADJUSTED) | {"9": Standing.UNCHECKED}
    assert legs == [*[Standing.ADJUSTED] * 4, Standing.UNCHECKED]


def test_what_hangs_on_an_open_loop_is_as_doubtful_as_the_loop():
    survey, places, legs = standings(*SQUARE[:3], OPEN, SPUR)
    assert survey.done is Rule.NONE
    assert places == dict.fromkeys("2349", Standing.NOT_ADJUSTED) | {"1": Standing.UNCHECKED}
    assert legs == [*[Standing.NOT_ADJUSTED] * 4, Standing.UNCHECKED]


def test_a_leg_of_a_sound_loop_stays_sound_in_an_open_one():
    """Over the leg from 1 to 2 a second loop is walked whose last leg is wrong."""
    second = [("2", "5", 0, 100), ("5", "6", 270, 100), ("6", "1", 90, 100)]
    survey, places, legs = standings(*SQUARE, *second)
    assert [one.adjusted for one in survey.closures] == [True, False]
    assert survey.done is not Rule.NONE
    assert legs[:4] == [Standing.ADJUSTED] * 4
    assert legs[4:] == [Standing.NOT_ADJUSTED] * 3
    assert {name for name, one in places.items() if one is Standing.NOT_ADJUSTED} == {"5", "6"}


def test_a_walk_that_comes_back_to_nothing_is_unchecked():
    survey, places, legs = standings(*SQUARE[:3], controls=())
    assert survey.done is Rule.NONE
    assert {*places.values(), *legs} == {Standing.UNCHECKED}


def test_a_station_is_left_open_as_its_loop_is():
    for last, left_open in ((SQUARE[3], False), (OPEN, True)):
        survey, _, _ = standings(*SQUARE[:3], last, SPUR)
        at = {one.booked.end: one.booked for one in survey.legs}
        here = [SimpleNamespace(leg=None, station=name) for name in ("3", "9")]
        assert [survey.left_open(one) for one in here] == [left_open, left_open]
        assert survey.left_open(SimpleNamespace(leg=at["3"], station=None)) is left_open
