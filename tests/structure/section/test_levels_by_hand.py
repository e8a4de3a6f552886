"""Contacts of flat and gentle beds on planes of one dip: by least squares of numpy, in a grid whose north is 7° off."""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from traverse.log.items import HowMet
from traverse.structure.section.level_beds import (
    MetAt,
    _as_far_as_walked,
    _elsewhere,
    _gentle,
    _largest_of,
    _one_height,
    _open_m,
    _walked_from,
    _WalkEnd,
    _ways,
)
from traverse.structure.section.records import LevelContact

TURN_DEG = 7.0
TOGETHER = 3.0


def pole(dip_deg, way_deg):
    dip, way = math.radians(dip_deg), math.radians(way_deg - TURN_DEG)
    return np.array([math.sin(dip) * math.sin(way), math.sin(dip) * math.cos(way), math.cos(dip)])


def contact(at, *, sd_m=1.0, sd_up_m=1.5, own_sd_m=0.5, leg=0):
    place = SimpleNamespace(
        east_m=at[0], north_m=at[1], up_m=at[2], covariance_m2=np.diag([sd_m**2, sd_m**2, sd_up_m**2]).tolist(), sd_m=sd_m,
        leg_azimuth_deg=90.0, leg_slope_deg=0.0, right_m=0.0, address=SimpleNamespace(leg=SimpleNamespace(index=leg)),
    )  # fmt: skip
    return SimpleNamespace(place=place, own_sd_m=own_sd_m, met=HowMet.CROSSED)


WAYS = {0: np.array([0.6, 0.8, 0.1]), 1: np.array([1.0, 0.0, -0.3])}


def test_a_leg_rises_so_much_for_each_metre_of_it():
    legs = [
        SimpleNamespace(
            booked=SimpleNamespace(start="1", end="2", index=4),
            horizontal_m=50.0,
            adjusted=SimpleNamespace(up_m=6.0),
        ),
        SimpleNamespace(
            booked=SimpleNamespace(start="1", end="?", index=5),
            horizontal_m=50.0,
            adjusted=SimpleNamespace(up_m=6.0),
        ),
    ]
    places = {
        "1": SimpleNamespace(east_m=10.0, north_m=20.0),
        "2": SimpleNamespace(east_m=40.0, north_m=60.0),
    }
    found = _ways(SimpleNamespace(legs=legs, places=places))
    assert {leg: way.tolist() for leg, way in found.items()} == {4: pytest.approx([0.6, 0.8, 0.12])}


@pytest.mark.parametrize("leg", [0, 1])
@pytest.mark.parametrize("rise", [(0.0, 0.0), (0.05, -0.02)])
def test_a_height_met_is_off_by_its_place_as_the_plane_sees_it(leg, rise):
    """Along the walk by how far leg and plane part; in place by its covariance along the plane's pole, as height."""
    one = MetAt(contact((5.0, 6.0, 80.0), leg=leg, own_sd_m=0.5), WAYS)
    part = WAYS[leg][2] - float(np.dot(WAYS[leg][:2], rise))
    assert one.rise_m(np.array(rise)) == pytest.approx(0.5 * abs(part))
    own = np.diag([0.25, 0.0, 0.0])  # along the leg, due east
    up = np.array([-rise[0], -rise[1], 1.0])
    covariance = np.diag([1.0, 1.0, 2.25]) + own
    assert one.sd_m(np.array(rise)) == pytest.approx(math.sqrt(float(up @ covariance @ up)))
    sure = MetAt(contact((5.0, 6.0, 80.0), sd_m=0.0, sd_up_m=0.01, own_sd_m=0.0), WAYS)
    assert sure.sd_m() == 0.1


def test_a_level_contact_is_as_high_as_its_places_weighted_by_their_errors():
    ats = [(0.0, 0.0, 80.0), (100.0, 30.0, 82.0), (40.0, 90.0, 79.0)]
    sds = [1.0, 2.0, 0.8]
    met = [
        MetAt(contact(at, sd_up_m=sd, own_sd_m=0.5, leg=index % 2), WAYS)
        for index, (at, sd) in enumerate(zip(ats, sds, strict=True))
    ]
    found = _one_height("Bb", "Aa", met, 1.0)
    weights = 1.0 / np.array(sds) ** 2
    ups = np.array([at[2] for at in ats])
    mean = float(weights @ ups / weights.sum())
    scatter = math.sqrt(float(weights @ (ups - mean) ** 2 / weights.sum()))
    assert found.up_m == pytest.approx(mean)
    assert found.sd_m == pytest.approx(math.hypot(1.0 / math.sqrt(weights.sum()), scatter))
    # Against the ground beside it: the worst of what each is off along the walk.
    assert found.own_sd_m == pytest.approx(math.hypot(max(0.1, 0.5 * 0.1, 0.5 * 0.3), scatter))
    assert (found.younger, found.older, found.sd_deg) == ("Bb", "Aa", 1.0)


@pytest.mark.parametrize("sense", [1.0, -1.0])
@pytest.mark.parametrize("lies_deg", [0.0, 1.5])
@pytest.mark.parametrize(("share", "level"), [(0.97, True), (1.03, False)])
def test_places_are_of_one_level_within_three_errors_and_what_beds_may_lean(share, level, lies_deg, sense):
    """Two of one error 300 m apart: each is half of what they differ by from the mean, and 150 m from the middle."""
    lean = math.tan(math.radians(lies_deg)) * 150.0
    limit = TOGETHER * math.sqrt(4.0 + 2.0 + lean**2)
    ats = [(0.0, 0.0, 80.0), (180.0, 240.0, 80.0 + sense * share * 2.0 * limit)]
    met = [MetAt(contact(at, sd_up_m=2.0, own_sd_m=0.0), WAYS) for at in ats]
    assert (_one_height("Bb", "Aa", met, lies_deg) is not None) is level


def level(
    up_m=80.0,
    *,
    own_sd_m=0.5,
    sd_deg=1.0,
    rise=(0.0, 0.0),
    at=(0.0, 0.0),
    younger="Bb",
    older="Aa",
    places=((0.0, 0.0, 80.0),),
):
    return LevelContact(younger=younger, older=older, up_m=up_m, sd_m=1.0, own_sd_m=own_sd_m, sd_deg=sd_deg, rise=rise, at=at,
                        contacts=tuple(contact(one) for one in places))  # fmt: skip


def test_a_gentle_contact_rises_over_a_place_as_its_plane_does():
    one = level(rise=(0.02, -0.05), at=(100.0, 50.0))
    assert one.up_at((160.0, 10.0)) == pytest.approx(80.0 + 60.0 * 0.02 + 40.0 * 0.05)
    section = SimpleNamespace(
        bends_m=(50.0,), length_m=100.0, line=((100.0, 50.0), (150.0, 50.0), (150.0, 100.0))
    )
    assert one.across(section) == ((0.0, 80.0), (50.0, 81.0), (100.0, pytest.approx(78.5)))


@pytest.mark.parametrize("younger", [True, False])
def test_a_unit_was_walked_on_beyond_its_contact_from_so_many_errors_and_its_lean_on(younger):
    """Twice what it may be off level, over the way from the nearest place where it was met."""
    one = level(places=((0.0, 0.0, 80.0), (90.0, 0.0, 80.0)))
    at = (120.0, 40.0)
    limit = math.hypot(2.5 * 0.5, 50.0 * math.tan(math.radians(2.0)))
    assert _open_m(one, at, 2.5) == pytest.approx(limit)
    for share, told in ((0.97, False), (1.03, True), (-1.03, False)):
        over = -share * limit if younger else share * limit
        assert _elsewhere(one, [_WalkEnd(over, younger, at)], 2.5) is told


def test_how_far_units_were_seen_from_a_contact():
    ends = [
        _WalkEnd(4.0, True, (0.0, 0.0)),
        _WalkEnd(9.0, True, (0.0, 0.0)),
        _WalkEnd(-6.0, False, (0.0, 0.0)),
        _WalkEnd(3.0, False, (0.0, 0.0)),
    ]
    found = _as_far_as_walked(level(), ends)
    assert (found.over_m, found.under_m) == (9.0, 6.0)
    assert (_as_far_as_walked(level(), []).over_m, _as_far_as_walked(level(), []).under_m) == (0.0, 0.0)


@pytest.mark.parametrize("count", [1, 10, 200])
def test_the_largest_of_many_errors_stays_under_its_limit_ninety_nine_times_in_a_hundred(count):
    """Of errors in two directions, whose size is Rayleigh's: 1 - (1 - exp(-x² / 2))^n is at most 0.01, and not much less."""
    found = _largest_of(count)
    beyond = 1.0 - (1.0 - math.exp(-(found**2) / 2.0)) ** count
    assert 0.009 < beyond <= 0.01 + 1e-9


def test_ends_of_the_walk_on_a_unit_are_counted_from_its_contacts():
    """A leg up a hill; the unit between has a top and a base."""
    upper, lower = level(95.0, younger="Cc", older="Bb"), level(80.0, younger="Bb", older="Aa")
    places = {"1": SimpleNamespace(east_m=0.0, north_m=0.0, up_m=70.0), "2": SimpleNamespace(east_m=60.0, north_m=80.0, up_m=110.0),
              "3": SimpleNamespace(east_m=0.0, north_m=9.0, up_m=None)}  # fmt: skip
    legs = [
        SimpleNamespace(booked=SimpleNamespace(start=a, end=b), horizontal_m=long)
        for a, b, long in (("1", "2", 100.0), ("2", "3", 50.0))
    ]
    band = [SimpleNamespace(unit=unit, leg=leg, start=(0.6 * a, 0.8 * a), end=(0.6 * b, 0.8 * b))
            for unit, leg, a, b in (("Aa", 0, 0.0, 25.0), ("Bb", 0, 25.0, 60.0), ("Cc", 0, 60.0, 100.0), ("Cc", 1, 0.0, 9.0), ("Cc", None, 0.0, 9.0))]  # fmt: skip
    found = _walked_from(SimpleNamespace(legs=legs, places=places), band, (upper, lower))
    assert [(one.over_m, one.younger) for one in found["Bb"]] == [
        (pytest.approx(-10.0), False), (pytest.approx(0.0), False), (pytest.approx(0.0), True), (pytest.approx(14.0), True)
    ]  # fmt: skip
    assert [(one.over_m, one.younger) for one in found["Cc"]] == [
        (pytest.approx(-15.0), False), (pytest.approx(-1.0), False), (pytest.approx(-1.0), True), (pytest.approx(15.0), True)
    ]  # fmt: skip


RISE = np.array([0.04, -0.025])
"""Beds that dip 2.7°."""


def bed(dip_deg, way_deg, sd_deg=2.0):
    return SimpleNamespace(dip_deg=dip_deg, dip_direction_deg=way_deg, sd_deg=sd_deg, lies_over=False)


def gentle_ground(seed):
    rng = np.random.default_rng(seed)
    pairs, rows = {}, []
    for index, (pair, base) in enumerate(((("Cc", "Bb"), 120.0), (("Bb", "Aa"), 95.0))):
        met = []
        for at in rng.uniform((4_000.0, 7_000.0), (4_600.0, 7_500.0), (4, 2)):
            up = base + float((at - (4_300.0, 7_250.0)) @ RISE) + float(rng.normal(0.0, 1.0))
            met.append(
                MetAt(
                    contact((*at, up), sd_up_m=float(rng.uniform(0.8, 2.0)), leg=int(rng.integers(2))), WAYS
                )
            )
        pairs[pair] = met
        rows += [(index, one) for one in met]
    way = math.degrees(math.atan2(-RISE[0], -RISE[1])) + TURN_DEG
    beds = [bed(2.7 + float(rng.normal(0.0, 0.8)), way + float(rng.normal(0.0, 12.0))) for _ in range(6)]
    return pairs, rows, beds


@pytest.mark.parametrize("seed", range(4))
def test_planes_of_one_dip_are_those_of_least_squares(seed):
    """Rise to east and north and a height of each contact; heights and slopes of beds each over its own error, by lstsq."""
    pairs, rows, beds = gentle_ground(seed)
    found = _gentle(pairs, beds, TURN_DEG, most_deg=10.0).contacts
    slopes = np.array(
        [
            -pole(one.dip_deg, one.dip_direction_deg)[:2] / pole(one.dip_deg, one.dip_direction_deg)[2]
            for one in beds
        ]
    )
    middle = np.mean([one.at for _, one in rows], axis=0)
    design, values = [], []
    for index, one in rows:
        sd = one.sd_m(slopes.mean(axis=0))
        design.append(np.array([*(np.array(one.at) - middle), float(index == 0), float(index == 1)]) / sd)
        values.append(one.up_m / sd)
    for slope, one in zip(slopes, beds, strict=True):
        sd = math.radians(one.sd_deg)
        design += [np.array([1.0, 0.0, 0.0, 0.0]) / sd, np.array([0.0, 1.0, 0.0, 0.0]) / sd]
        values += (slope / sd).tolist()
    design = np.array(design)
    solved, *_ = np.linalg.lstsq(design, np.array(values), rcond=None)
    covariance = np.linalg.inv(design.T @ design)
    off = [
        one.up_m - solved[2 + index] - float((np.array(one.at) - middle) @ solved[:2]) for index, one in rows
    ]
    scatter = math.sqrt(float(np.mean(np.square(off))))
    for index, one in enumerate(found):
        assert one.rise == pytest.approx(tuple(solved[:2]), abs=1e-7)
        assert one.at == pytest.approx(tuple(middle))
        assert one.up_m == pytest.approx(solved[2 + index], abs=1e-5)
        assert one.sd_m == pytest.approx(math.sqrt(covariance[2 + index, 2 + index]), rel=1e-5)
        assert one.sd_deg == pytest.approx(
            math.degrees(math.sqrt(np.linalg.eigvalsh(covariance[:2, :2])[-1])), rel=1e-5
        )
        own = max(0.1, *(met.rise_m(solved[:2]) for number, met in rows if number == index))
        assert one.own_sd_m == pytest.approx(math.hypot(own, scatter), rel=1e-5)


def test_planes_of_one_dip_dip_no_more_than_they_may_and_hold_all_places():
    pairs, rows, beds = gentle_ground(1)
    dip = math.degrees(math.atan(math.hypot(*_gentle(pairs, beds, TURN_DEG, most_deg=10.0).contacts[0].rise)))
    assert _gentle(pairs, beds, TURN_DEG, most_deg=dip + 0.01).contacts
    assert _gentle(pairs, beds, TURN_DEG, most_deg=dip - 0.01).contacts == []
    assert _gentle(pairs, beds, TURN_DEG, most_deg=10.0).leans
    assert _gentle(pairs, [], TURN_DEG, most_deg=10.0).contacts == []
    over = SimpleNamespace(**{**vars(beds[0]), "lies_over": True})
    assert _gentle(pairs, [*beds, over], TURN_DEG, most_deg=10.0).contacts == []
    # One bed that lies off is left out where five others stand; of two none is.
    astray = bed(30.0, 120.0)
    kept = _gentle(pairs, [*beds, astray], TURN_DEG, most_deg=10.0).contacts
    assert kept == _gentle(pairs, beds, TURN_DEG, most_deg=10.0, whole=False).contacts
    assert _gentle(pairs, [*beds, astray, astray], TURN_DEG, most_deg=10.0).contacts == []
    assert _gentle(pairs, [*beds[:4], astray], TURN_DEG, most_deg=10.0).contacts == []
    rows[0][1].up_m += 30.0
    assert _gentle(pairs, beds, TURN_DEG, most_deg=10.0).contacts == []
