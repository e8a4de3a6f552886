"""Limits of fore and back bearings, and iron solved by least squares: beside scipy, and worked out by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import norm

from tests.walk import conditions, pace, walk
from traverse.log.readings import PaceKind, Precision
from traverse.reduction import attraction, backsight
from traverse.reduction.pace import pace_sd_m
from traverse.reduction.reduce import reduce_legs
from traverse.reduction.slope import slope_table


@pytest.mark.parametrize(
    ("fore", "back", "off"),
    [
        (40.0, 220.0, 0.0),
        (40.0, 223.0, -3.0),
        (350.0, 172.0, -2.0),
        (5.0, 180.0, 5.0),
        (10.0, 10.0, 180.0),
        (179.0, 1.0, -2.0),
    ],
)
def test_fore_and_back_differ_by_what_is_left_of_half_a_turn(fore, back, off):
    assert backsight.disagreement_deg(np.array([fore]), np.array([back]))[0] == pytest.approx(off)


@pytest.mark.parametrize("angle", [-540.0, -180.0, -179.9, 0.0, 180.0, 180.1, 359.0, 720.5])
def test_differences_of_azimuths_are_wrapped_to_half_a_turn(angle):
    found = float(backsight.wrap_180(np.array([angle]))[0])
    assert -180.0 < found <= 180.0
    assert math.remainder(found - angle, 360.0) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("sd", [0.5, 1.0, 2.0])
@pytest.mark.parametrize("legs", [1, 5, 40, 400])
def test_the_worst_of_many_legs_is_odd_where_one_page_in_a_hundred_has_one_so_far_off(sd, legs):
    """Both bearings read to whole degrees: a twelfth more of variance each; never less than three deviations of one leg."""
    alone = 3.0 * math.sqrt(2.0) * sd
    found = backsight.limit_of_all_deg(sd, legs)
    spread = math.sqrt(2.0 * (sd**2 + 1.0 / 12.0))
    within = (norm.cdf(found / spread) - norm.cdf(-found / spread)) ** legs
    assert found == pytest.approx(alone) if found <= alone else within == pytest.approx(0.99, abs=1e-6)
    assert within >= 0.99 - 1e-6
    assert backsight.limit_deg(np.array([sd]))[0] == pytest.approx(alone)


@pytest.mark.parametrize("off", [-4.2, 0.0, 4.2, 4.3, -4.3])
def test_bearings_that_agree_are_averaged_and_as_good_as_two(off):
    """Within three root two of a degree, 4.24; else the fore bearing stands."""
    azimuth, sd, agrees = backsight.reconciled(np.array([2.0]), np.array([off]), np.array([1.0]))
    good = abs(off) < 4.25
    assert agrees[0] == good
    assert azimuth[0] == pytest.approx((2.0 - off / 2.0) % 360.0 if good else 2.0)
    assert sd[0] == pytest.approx(1.0 / math.sqrt(2.0) if good else 1.0)


# --- iron ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("dense", [True, False])
def test_deviations_are_those_of_least_squares(seed, dense, monkeypatch):
    """Each leg tells that of its start less that of its end; the first two of eight stations are free, the last is joined to none."""
    if not dense:
        monkeypatch.setattr(attraction, "DENSE_LIMIT", 0)
    rng = np.random.default_rng(seed)
    start = np.concatenate(([0, 1, 2, 3, 4, 5], rng.integers(0, 7, 8)))
    end = np.concatenate(([2, 3, 4, 5, 6, 6], (start[6:] + rng.integers(1, 7, 8)) % 7))
    difference = rng.normal(0.0, 4.0, len(start))
    free = np.array([True, True] + [False] * 6)
    found = attraction._solve(free, start, end, difference)
    design = np.zeros((len(start), 8))
    for row, (one, other) in enumerate(zip(start, end, strict=True)):
        design[row, one] += 1.0
        design[row, other] -= 1.0
    solved, *_ = np.linalg.lstsq(design[:, 2:7], difference, rcond=None)
    assert found[2:7] == pytest.approx(solved, abs=1e-9)
    assert (found[0], found[1]) == (0.0, 0.0)
    assert np.isnan(found[7])


def test_stations_are_grouped_by_legs_that_agree():
    group = attraction._groups(7, np.array([5, 1, 2, 6]), np.array([3, 2, 4, 5]))
    assert group.tolist() == [0, 1, 1, 3, 1, 3, 3]
    assert attraction._largest(group) == 1
    assert attraction._largest(np.array([0, 0, 2, 2, 4])) == 0


@pytest.mark.parametrize(("deviation", "nothing"), [(4.2, True), (4.3, False), (-4.2, True), (-4.3, False)])
def test_a_deviation_within_three_of_its_standard_errors_is_none(deviation, nothing):
    """A degree each of two bearings: a leg tells it to root two; four legs to half of that."""
    start, end = np.array([0]), np.array([1])
    found = attraction._like_nothing(
        np.array([True, False]), np.array([0.0, deviation]), start, end, np.array([1.0])
    )
    assert found.tolist() == [False, nothing]
    four = attraction._like_nothing(
        np.array([True, False]),
        np.array([0.0, deviation / 2.0]),
        np.zeros(4, dtype=int),
        np.ones(4, dtype=int),
        np.ones(4),
    )
    assert four.tolist() == [False, nothing]


def iron_at(*deviations, sds):
    """A ring of stations with these deviations, each leg read both ways as well as `sds` say."""
    names = [str(at) for at in range(len(deviations))]
    legs = []
    for at, sd in zip(range(len(names)), sds, strict=True):
        on = (at + 1) % len(names)
        fore = (37.0 + 40.0 * at) % 360.0
        legs.append(
            (names[at], names[on], (fore + deviations[at]) % 360.0, 50.0,
             {"back": (fore + 180.0 + deviations[on]) % 360.0, "at": conditions(precision=Precision(bearing_deg=sd))})
        )  # fmt: skip
    return attraction._found(walk(*legs))[0]


def test_two_neighbours_deviate_alike_within_the_loosest_of_the_limits():
    """4 and 7 degrees: 3 apart, where legs read to half a degree may differ by 2.1 and one read to two by 8.5."""
    found = iron_at(0.0, 0.0, 0.0, 0.0, 4.0, 7.0, sds=(0.5, 0.5, 0.5, 0.5, 2.0, 0.5))
    assert found == pytest.approx({"4": 4.0, "5": 7.0}, abs=0.01)
    # One alone between two good ones.
    assert iron_at(0.0, 0.0, 0.0, 0.0, 6.0, sds=(0.5,) * 5) == pytest.approx({"4": 6.0}, abs=0.01)
    # More than 20 degrees are no iron.
    assert iron_at(0.0, 0.0, 0.0, 0.0, 25.0, sds=(0.5,) * 5) == {}


# --- paces --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("counts", [(65, 66, 68), (130.5, 131.0, 129.0), (66, 66, 66), (66.5, 66.5)])
def test_a_pace_is_no_better_known_than_its_count(counts):
    """The error of the mean, or of a count to the whole or the half where that is more: 1/√12 of it over the count."""
    mean = 100.0 * sum(1.0 / count for count in counts) / len(counts)
    lengths = [100.0 / count for count in counts]
    own = np.std(lengths, ddof=1) / math.sqrt(len(counts))
    step = 1.0 if all(count == int(count) for count in counts) else 0.5
    rounded = step / math.sqrt(12.0) * mean / (sum(counts) / len(counts))
    assert pace_sd_m(pace(course=100.0, counts=counts, kind=PaceKind.DOUBLE)) == pytest.approx(
        max(own, rounded)
    )


@pytest.mark.parametrize(("at_start", "at_end"), [(6.0, 0.0), (0.0, 6.0), (4.0, -3.0), (-8.0, -8.0)])
def test_iron_that_is_taken_out_leaves_fore_and_back_in_agreement(at_start, at_end):
    """A leg of 40 degrees: both readings are turned by what was at their own ends."""
    log = walk(("1", "2", 40.0 + at_start, 100.0, {"back": 220.0 + at_end}))
    found = reduce_legs(log, deviations={"1": at_start, "2": at_end}).value
    assert found.azimuth_deg[0] == pytest.approx(40.0)
    assert found.difference_deg[0] == pytest.approx(0.0, abs=1e-9)
    assert found.fore_back_deg[0] == pytest.approx(at_start - at_end)
    assert found.bearing_sd_deg[0] == pytest.approx(found.reading_sd_deg[0] / math.sqrt(2.0))


@pytest.mark.parametrize(
    # A right-angled triangle: 45 degrees rise as much as they go, 30 half of the way; 3-4-5 is 36.8699 degrees.
    ("angle", "level", "rise", "grade"),
    [
        (0.0, 100.0, 0.0, 0.0),
        (30.0, 86.6025, 50.0, 57.735),
        (45.0, 70.7107, 70.7107, 100.0),
        (36.8699, 80.0, 60.0, 75.0),
    ],
)
def test_the_table_of_slopes(angle, level, rise, grade):
    for of in (100.0, 50.0):
        (row,) = slope_table(steps_deg=(angle,), of=of)
        assert (row.level, row.rise) == pytest.approx((level * of / 100.0, rise * of / 100.0), abs=1e-3)
        assert row.grade_percent == pytest.approx(grade, abs=1e-3)
        assert row.slope_deg == angle


@pytest.mark.parametrize("outward", [True, False])
@pytest.mark.parametrize(("last", "found"), [(6.0, {"X": 6.0}), (3.2, {})])
def test_a_bearing_of_its_station_speaks_against_iron_whichever_end_of_its_leg_it_is(outward, last, found):
    """Five legs join a station to a ring without iron; four of what was read there are 6 degrees high.

    Of 6, 6, 6, 6 and 3.2 the mean is 5.44, from which half a degree of each bearing takes nothing farther than 2.1.
    """
    precision = conditions(precision=Precision(bearing_deg=0.5))
    ring = [
        (str(at), str((at + 1) % 5), 20.0 + 70.0 * at, 50.0, {"back": 200.0 + 70.0 * at, "at": precision})
        for at in range(5)
    ]
    spokes = []
    for at, off in ((0, 6.0), (1, 6.0), (2, 6.0), (3, 6.0), (4, last)):
        fore = 15.0 + 65.0 * at
        if outward:
            spokes.append(("X", str(at), fore + off, 50.0, {"back": (fore + 180.0) % 360.0, "at": precision}))
        else:
            spokes.append((str(at), "X", fore, 50.0, {"back": (fore + 180.0 + off) % 360.0, "at": precision}))
    assert attraction._found(walk(*ring, *spokes))[0] == pytest.approx(found, abs=0.01)
