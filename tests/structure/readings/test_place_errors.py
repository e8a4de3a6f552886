"""What the place of a contact is off by in itself and by the ground between stations, beside geometry in loops."""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from traverse.log.items import HowMet
from traverse.structure.readings.place_errors import (
    apart,
    contact_pole,
    own_covariance,
    place_covariance,
    points_of,
    together,
)
from traverse.trade import BESIDE_SLOPE_DEG, OFFSET_SHARE, UNEVEN_SHARE


def contact(
    *,
    azimuth_deg=None,
    slope_deg=0.0,
    right_m=0.0,
    met=HowMet.CROSSED,
    own_sd_m=2.0,
    covariance_m2=None,
    ends=(),
    **known,
):
    place = SimpleNamespace(
        leg_azimuth_deg=azimuth_deg, leg_slope_deg=slope_deg, right_m=right_m, covariance_m2=covariance_m2, sd_m=5.0,
        east_m=10.0, north_m=20.0, relative_up_m=3.0, ends=ends, ends_rest_on=("first", "last"), rests_on="middle",
    )  # fmt: skip
    return SimpleNamespace(place=place, own_sd_m=own_sd_m, met=met, **known)


def spread(covariance, way):
    """Deviation along a direction."""
    way = np.asarray(way, dtype=float)
    return math.sqrt(max(0.0, float(way @ covariance @ way)))


@pytest.mark.parametrize("slope_deg", [0.0, 18.0, -25.0])
@pytest.mark.parametrize("azimuth_deg", [23.0, 118.0, 290.0])
def test_a_contact_crossed_is_off_along_its_leg_alone(azimuth_deg, slope_deg):
    found = own_covariance(contact(azimuth_deg=azimuth_deg, slope_deg=slope_deg))
    a, s = math.radians(azimuth_deg), math.radians(slope_deg)
    assert spread(
        found, (math.sin(a) * math.cos(s), math.cos(a) * math.cos(s), math.sin(s))
    ) == pytest.approx(2.0)
    assert spread(found, (math.cos(a), -math.sin(a), 0.0)) == pytest.approx(0.0, abs=1e-6)
    assert spread(
        found, (-math.sin(a) * math.sin(s), -math.cos(a) * math.sin(s), math.cos(s))
    ) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("right_m", [12.0, -30.0])
@pytest.mark.parametrize("azimuth_deg", [23.0, 118.0, 290.0])
def test_beside_the_walk_it_is_off_to_the_side_by_the_guess_and_up_by_the_hillside(azimuth_deg, right_m):
    found = own_covariance(contact(azimuth_deg=azimuth_deg, right_m=right_m, met=HowMet.BESIDE))
    a = math.radians(azimuth_deg)
    assert spread(found, (math.sin(a), math.cos(a), 0.0)) == pytest.approx(2.0)
    assert spread(found, (math.cos(a), -math.sin(a), 0.0)) == pytest.approx(
        math.hypot(2.0, OFFSET_SHARE * right_m)
    )
    assert spread(found, (0.0, 0.0, 1.0)) == pytest.approx(
        abs(right_m) * math.tan(math.radians(BESIDE_SLOPE_DEG))
    )


def test_without_a_leg_it_is_off_all_round_and_the_walk_adds_to_it():
    one = contact()
    for way in ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.6, -0.8, 0.0)):
        assert spread(own_covariance(one), way) == pytest.approx(2.0)
        assert spread(place_covariance(one), way) == pytest.approx(math.hypot(2.0, 5.0))
    assert spread(place_covariance(one), (0.0, 0.0, 1.0)) == 0.0
    walked = [[4.0, 1.0, 0.0], [1.0, 9.0, 2.0], [0.0, 2.0, 16.0]]
    found = place_covariance(contact(covariance_m2=walked))
    assert found == pytest.approx(np.array(walked) + np.diag([4.0, 4.0, 0.0]))


def test_what_was_followed_has_two_places_and_all_else_one():
    ends = ((1.0, 2.0, 3.0), (4.0, 5.0, 6.0))
    assert points_of(contact(met=HowMet.FOLLOWED, ends=ends)).tolist() == [list(one) for one in ends]
    assert points_of(contact(ends=ends)).tolist() == [[10.0, 20.0, 3.0]]
    assert points_of(contact(met=HowMet.FOLLOWED)).tolist() == [[10.0, 20.0, 3.0]]


def test_places_together_have_their_own_errors_on_the_diagonal_alone():
    joint = np.arange(81.0).reshape(3, 3, 3, 3)
    asked = []
    survey = SimpleNamespace(joint_m2=lambda rests: (asked.extend(rests), joint)[1])
    ends = ((1.0, 2.0, 3.0), (4.0, 5.0, 6.0))
    pair = [contact(met=HowMet.FOLLOWED, ends=ends, azimuth_deg=40.0), contact(own_sd_m=1.0)]
    found = together(survey, pair)
    assert asked == ["first", "last", "middle"]
    added = found - joint
    for at, one in ((0, pair[0]), (1, pair[0]), (2, pair[1])):
        assert added[at, at] == pytest.approx(own_covariance(one))
        added[at, at] = 0.0
    assert not added.any()


@pytest.mark.parametrize("joint", [0.0, 3.0])
def test_a_landmark_that_was_only_looked_at_has_its_own_covariance(joint):
    """What the walk tells of a place stands before that."""
    survey = SimpleNamespace(joint_m2=lambda rests: np.full((1, 1, 3, 3), joint))
    own = [[4.0, 1.0, 0.0], [1.0, 9.0, 2.0], [0.0, 2.0, 16.0]]
    found = together(survey, [contact(covariance_m2=own, own_sd_m=0.0)])
    assert found[0, 0] == pytest.approx(np.array(own) if joint == 0.0 else np.full((3, 3), joint))
    assert not together(SimpleNamespace(joint_m2=None), [contact(own_sd_m=0.0)]).any()


@pytest.mark.parametrize("north_deg", [0.0, 11.0, 37.0])
def test_a_contact_dips_to_the_right_of_its_strike_by_either_north(north_deg):
    plane = SimpleNamespace(sd_deg=None)
    booked = SimpleNamespace(
        plane=plane, conditions=SimpleNamespace(precision=SimpleNamespace(attitude_deg=2.5))
    )
    normal, sd_deg = contact_pole(
        contact(booked=booked, dip_deg=35.0, strike_deg=130.0), to_true_deg=north_deg
    )
    way, dip = math.radians(130.0 + 90.0 - north_deg), math.radians(35.0)
    assert tuple(normal) == pytest.approx(
        (math.sin(dip) * math.sin(way), math.sin(dip) * math.cos(way), math.cos(dip))
    )
    assert sd_deg == 2.5
    plane.sd_deg = 1.0
    assert contact_pole(contact(booked=booked, dip_deg=35.0, strike_deg=130.0))[1] == 1.0


STATIONS = {"1": (0.0, 0.0), "2": (80.0, 60.0), "3": (80.0, -30.0)}


def leg(up_m, east_m, north_m, *, known=True):
    return SimpleNamespace(
        adjusted=SimpleNamespace(up_m=up_m, east_m=east_m, north_m=north_m), slope_known=known
    )


def surveyed(legs):
    places = {name: SimpleNamespace(east_m=east, north_m=north) for name, (east, north) in STATIONS.items()}
    return SimpleNamespace(
        legs=legs, places=places, apart_m2=lambda pairs: np.tile(np.diag([1.0, 2.0, 3.0]), (len(pairs), 1, 1))
    )


def test_ground_between_stations_may_bulge_as_a_parabola_by_how_steep_the_walk_is():
    """The root of the mean square of all gradients read; most at the middle of a leg, none at its ends."""
    survey = surveyed(
        [leg(8.0, 80.0, 60.0), leg(-27.0, 0.0, -90.0), leg(500.0, 1.0, 0.0, known=False), leg(3.0, 0.0, 0.0)]
    )
    usual = math.sqrt((0.08**2 + 0.3**2) / 2.0)
    long_m, other_m = 100.0, 90.0

    def bulge(length_m, share):
        return UNEVEN_SHARE * usual * length_m * 4.0 * share * (1.0 - share)

    pairs = [
        # On one leg, 0.2 and 0.9 of it along: by the part between.
        ((("1", 0.8), ("2", 0.2)), (("1", 0.1), ("2", 0.9))),
        # On two legs: from each to its station.
        ((("1", 0.7), ("2", 0.3)), (("2", 0.75), ("3", 0.25))),
        # At stations: nothing.
        ((("1", 1.0),), (("2", 1.0),)),
    ]
    found = apart(survey, pairs)
    assert [one[2, 2] - 3.0 for one in found] == pytest.approx(
        [bulge(long_m, 0.7) ** 2, bulge(long_m, 0.3) ** 2 + bulge(other_m, 0.25) ** 2, 0.0]
    )
    for one in found:
        assert (one[0, 0], one[1, 1], one[0, 1]) == (1.0, 2.0, 0.0)
    flat = apart(surveyed([leg(500.0, 1.0, 0.0, known=False)]), pairs)
    assert [one[2, 2] for one in flat] == [3.0, 3.0, 3.0]
    assert not apart(SimpleNamespace(apart_m2=None), pairs).any()
