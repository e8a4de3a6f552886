"""A known point that is wrong is left out alone, and what then closes is tested and holds: invented walks of known truth."""

import math
import random
from itertools import pairwise

import pytest

from traverse.compile import compile_log
from traverse.location.records import LoopKind, PlaceKind
from traverse.source import Source

POINTS = [(0, 0), (150, 40), (300, 20), (430, 120), (520, 260), (480, 420), (340, 500), (180, 520), (60, 430)]
KNOWN = (0, 3, 6, 8)


def walk(seed, *, wrong=None, known=KNOWN, slip=None, adjust=""):
    """A walk past four known points, of which `wrong` is 70 m out; `slip` is a leg whose length is 60 m too long."""
    chance = random.Random(seed)  # noqa: S311 - a simulated walk
    rows = ["notation 1", "traverse Sallow Combe", "date 2026-05-11", "party NN Nora Nash", "grid EPSG:25833"]
    rows += ["bearings grid", "precision bearing 1, tape 1%", *([adjust] if adjust else [])]
    for at in known:
        east, north = POINTS[at]
        off = (60, -37) if at == wrong else (0, 0)
        rows.append(f"control {at + 1} {512000 + east + off[0]} E {6712000 + north + off[1]} N ±3 m gps")
    rows += ["", "at 1"]
    for at, ((east, north), (to_east, to_north)) in enumerate(pairwise(POINTS)):
        azimuth = math.degrees(math.atan2(to_east - east, to_north - north)) + chance.gauss(0, 0.7)
        length = math.hypot(to_east - east, to_north - north) * (1 + chance.gauss(0, 0.007))
        rows.append(f"to {at + 2} {round(azimuth) % 360:03d} {length + 60 * (at == slip):.1f}m level")
    return "\n".join(rows) + "\n"


def surveyed(text):
    found = compile_log(Source(name="walk.trav", text=text), load=lambda _: b"")
    assert not found.failed
    return found


def unused(survey):
    return [name for name, one in survey.places.items() if one.kind is PlaceKind.UNUSED]


@pytest.mark.every(2)
@pytest.mark.parametrize("wrong", KNOWN[:-1])
@pytest.mark.parametrize("seed", range(4))
def test_everything_lies_as_if_the_wrong_point_had_not_been_written(seed, wrong):
    survey = surveyed(walk(seed, wrong=wrong)).trav.survey
    rest = surveyed(walk(seed, known=tuple(one for one in KNOWN if one != wrong))).trav.survey
    assert unused(survey) == [str(wrong + 1)]
    for name, place in survey.places.items():
        other = rest.places[name]
        assert math.dist((place.east_m, place.north_m), (other.east_m, other.north_m)) < 0.001
    ties = [one for one in survey.closures if one.kind is LoopKind.TIE]
    assert [one.stations for one in ties if one.adjusted]
    assert all(str(wrong + 1) not in (one.stations[0], one.stations[-1]) for one in ties if one.adjusted)


@pytest.mark.parametrize("seed", range(4))
def test_the_tie_over_a_point_in_the_midst_is_tested_and_told(seed):
    survey = surveyed(walk(seed, wrong=3)).trav.survey
    (over,) = (one for one in survey.closures if (one.stations[0], one.stations[-1]) == ("1", "7"))
    assert over.adjusted
    assert over.span.line == next(one.span.line for one in survey.closures if one.stations[-1] == "7")


def test_the_message_names_the_point_that_is_left_out():
    said = [one.message for one in surveyed(walk(1, wrong=0)).diagnostics if one.kind == "warning"]
    assert any("control 1 is not used" in one for one in said)
    assert not any("control 4 is not used" in one for one in said)


@pytest.mark.parametrize("seed", range(4))
def test_a_wrong_leg_holds_no_point_beyond_it(seed):
    """Two points on either side: those before it stay, and nothing is drawn between points that don't agree."""
    survey = surveyed(walk(seed, slip=4)).trav.survey
    assert unused(survey) == ["7", "9"]
    for at in range(5):
        place = survey.places[str(at + 1)]
        east, north = POINTS[at]
        assert math.dist((place.east_m - 512000, place.north_m - 6712000), (east, north)) < 12


def test_of_two_points_the_last_reached_is_left_out():
    assert unused(surveyed(walk(2, wrong=3, known=(0, 3))).trav.survey) == ["4"]


@pytest.mark.parametrize("seed", range(6))
def test_of_sound_points_none_is_left_out(seed):
    survey = surveyed(walk(seed)).trav.survey
    assert unused(survey) == []
    assert len(survey.closures) == 3


def test_adjusted_anyway_all_points_hold():
    survey = surveyed(walk(1, wrong=3, adjust="adjust least-squares anyway to see it")).trav.survey
    assert unused(survey) == []
