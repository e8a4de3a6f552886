"""Booked legs to azimuths, lengths and their deviations."""

from __future__ import annotations

import numpy as np
import pytest

from tests.walk import conditions, pace, walk
from traverse.log.readings import North, PaceKind, Precision
from traverse.notation.read import read_log
from traverse.reduction.pace import pace_sd_m
from traverse.reduction.reduce import reduce_legs
from traverse.source import Source
from traverse.survey import survey_log
from traverse.trade import UNMEASURED_SLOPE_DEG

MAGNETIC = North.MAGNETIC


def legs(*booked, **settings):
    return survey_log(walk(*booked, **settings)).value.legs


def first(*booked, **settings):
    return legs(*booked, **settings)[0]


@pytest.mark.parametrize(
    ("read", "declination", "azimuth"),
    [(10, -25, 345), (352, -17.5, 334.5), (355, 8.5, 3.5), (41, 8.5, 49.5)],
)
def test_magnetic_plus_declination_is_true(read, declination, azimuth):
    """Common practice, no source: declination 25 W, magnetic 010 is true 345; 17.5 W, 352 is 334.5."""
    at = conditions(bearings=MAGNETIC, declination=declination)
    assert first(("1", "2", read, 10), at=at).azimuth_true_deg == pytest.approx(azimuth)


def test_declination_is_brought_forward_by_whole_years():
    at = conditions(bearings=MAGNETIC, declination=-25, year=2019, change=0.1, date="2026-02-18")
    assert first(("1", "2", 100, 10), at=at).azimuth_true_deg == pytest.approx(100 - 25 + 0.7)
    undated = conditions(bearings=MAGNETIC, declination=-25, year=2019, change=0.1, date=None)
    assert first(("1", "2", 100, 10), at=undated).azimuth_true_deg == pytest.approx(75)


def test_true_bearings_take_no_declination():
    at = conditions(bearings=North.TRUE, declination=8.5)
    assert first(("1", "2", 41, 10), at=at).azimuth_true_deg == 41


def test_fore_and_back_are_averaged_across_north():
    """Common practice, no source: fore 002, back 179: discrepancy 3, mean 000.5."""
    leg = first(("1", "2", 2, 10, {"back": 179}))
    assert leg.fore_back_deg == 3
    assert leg.azimuth_true_deg == pytest.approx(0.5)
    assert leg.bearing_sd_deg == pytest.approx(1 / np.sqrt(2))


def test_beyond_three_deviations_the_fore_bearing_stands_and_both_stations_are_named():
    outcome = survey_log(walk(("4", "5", 282, 10, {"back": 91})))
    leg = outcome.value.legs[0]
    assert (leg.azimuth_true_deg, leg.fore_back_deg, leg.bearing_sd_deg) == (282, 11, 1)
    [warning] = outcome.diagnostics
    assert warning.code == "fore-back"
    assert "leg 4 to 5: fore 282, back 091" in warning.message
    assert "they are 11 off, more than 4 of ordinary reading" in warning.message
    assert warning.span.line == 100


def test_of_many_legs_one_may_differ_by_more_than_three_deviations():
    """Of 30 good legs read to whole degrees with 1 degree one in 15 pages has a leg 5 degrees off, and one in 150 6 degrees."""
    legs = [(str(at), str(at + 1), 40, 10, {"back": 220}) for at in range(1, 30)]
    for back, kind in ((225, "note"), (226, "warning")):
        said = survey_log(walk(*legs, ("30", "31", 40, 10, {"back": back}))).diagnostics
        assert [(one.code, one.kind) for one in said if one.code == "fore-back"] == [("fore-back", kind)]
    (alone,) = survey_log(walk(("1", "2", 40, 10, {"back": 225}))).diagnostics
    assert alone.kind == "warning"


def test_the_limit_goes_with_the_precision():
    agrees = first(("1", "2", 10, 10, {"back": 196}), at=conditions(precision=Precision(bearing_deg=1.5)))
    assert agrees.azimuth_true_deg == 13
    assert first(("1", "2", 10, 10, {"back": 196})).azimuth_true_deg == 10


@pytest.mark.parametrize(("back", "iron"), [(296, True), (10, False)])
def test_bearings_far_apart_are_no_reversed_one_and_no_iron(back, iron):
    """A slip of the pen leaves 90 degrees as well: nothing says that one was read at the wrong end."""
    [warning] = survey_log(walk(("1", "2", 100, 10, {"back": back}))).diagnostics
    assert warning.code == "fore-back"
    assert ("iron" in warning.hints[0]) is iron


def test_a_back_bearing_that_points_forward_is_called_reversed():
    [warning] = survey_log(walk(("1", "2", 100, 10, {"back": 102}))).diagnostics
    assert warning.code == "fore-back-reversed"
    assert "2 degrees apart" in warning.message


@pytest.mark.parametrize(
    ("kind", "text", "metres"),
    [
        (PaceKind.DOUBLE, "66p", 66 * 1.52),
        (PaceKind.DOUBLE, "66dp", 66 * 1.52),
        (PaceKind.DOUBLE, "132sp", 66 * 1.52),
        (PaceKind.SINGLE, "66dp", 132 * 1.52),
        (PaceKind.SINGLE, "66sp", 66 * 1.52),
        (None, "66p", 66 * 1.52),
        (PaceKind.SINGLE, "105ft", 105 * 0.3048),
        (PaceKind.SINGLE, "31.5m", 31.5),
    ],
)
def test_distances(kind, text, metres):
    assert first(("1", "2", 0, text), at=conditions(pace=pace(1.52, kind=kind))).ground_m == pytest.approx(
        metres
    )


def test_paces_of_another_kind_are_noted():
    at = conditions(pace=pace(0.76, kind=PaceKind.SINGLE))
    [note] = survey_log(walk(("1", "2", 0, "66dp"), at=at)).diagnostics
    assert note.message == "66dp is 132 of the single paces in force"


def test_each_leg_takes_the_pace_in_force_at_its_line():
    long, short = conditions(pace=pace(1.52)), conditions(pace=pace(1.47))
    walked = legs(("1", "2", 0, "100p", {"at": long}), ("2", "3", 0, "100p", {"at": short}))
    assert [leg.ground_m for leg in walked] == pytest.approx([152, 147])


def test_slopes_shorten_and_raise():
    leg = first(("1", "2", 0, 100, {"slope": 30}))
    assert (leg.horizontal_m, leg.rise_m) == pytest.approx((86.6025, 50.0), abs=1e-4)
    assert leg.slope_known


def test_grade_is_rise_over_level():
    leg = first(("1", "2", 0, 100, {"slope": "100%"}))
    assert leg.horizontal_m == pytest.approx(leg.rise_m)


def test_a_horizontal_distance_is_not_shortened():
    leg = first(("1", "2", 0, 100, {"slope": 30, "horizontal": True}))
    assert (leg.horizontal_m, leg.rise_m) == pytest.approx((100.0, 57.735), abs=1e-3)


def test_a_back_slope_is_averaged_with_its_sign_turned():
    leg = first(("1", "2", 0, 100, {"slope": 8, "back_slope": -6}))
    assert leg.rise_m == pytest.approx(100 * np.sin(np.radians(7)))


def test_no_slope_is_level_and_said_to_be_unknown():
    leg = first(("1", "2", 0, 100))
    assert (leg.rise_m, leg.slope_known) == (0.0, False)


@pytest.mark.parametrize(("page", "sd_deg"), [("iron below 2", 1), ("read below 2", UNMEASURED_SLOPE_DEG)])
def test_only_where_heights_were_read_a_leg_without_slope_may_climb(page, sd_deg):
    """A party that reads heights books no slopes; one that reads none means level."""
    read = "elevation 412 m altimeter" if page == "read below 2" else "rock limestone"
    log = read_log(
        Source(
            name="page.trav",
            text=f"notation 1\nbearings true\nat 1\nto 2 010 100m\n{read}\nto 3 090 100m +2\n",
        ),
        load=lambda _: None,
    ).value.log
    assert reduce_legs(log).value.slope_sd_deg.tolist() == [sd_deg, 1.0]


def test_one_walk_over_a_course_tells_no_error():
    assert pace_sd_m(pace(course=100.0, counts=(66.0,))) is None
    # Four walks of one count: what is left of a pace at the end of each is the same, anything up to half of one.
    assert pace_sd_m(pace(course=100.0, counts=(64.0,) * 4)) == pytest.approx(
        100 / 64 * 0.2887 / 64, rel=1e-3
    )
    assert pace_sd_m(pace(course=100.0, counts=(64.0, 66.0))) == pytest.approx(100 * (1 / 64 - 1 / 66) / 2)


def test_a_leg_without_length_is_an_error_on_its_line():
    [error] = survey_log(walk(("1", "2", 0, 0))).diagnostics
    assert (error.code, error.severity.value, error.span.line) == ("zero-leg", "error", 100)


def test_a_stated_error_replaces_the_share_of_the_distance():
    assert first(("1", "2", 0, 100, {"sd": 8})).distance_sd_m == 8
    assert first(("1", "2", 0, 100)).distance_sd_m == pytest.approx(0.5)
    assert first(("1", "2", 0, "100p"), at=conditions(pace=pace(1.0))).distance_sd_m == pytest.approx(2.0)


def covariance_by_simulation(azimuth, slope, distance, sd, *, level):
    rng = np.random.default_rng(3)
    d = distance + sd * rng.normal(size=400_000)
    a, s = (np.radians(x + rng.normal(size=400_000)) for x in (azimuth, slope))
    flat = d if level else d * np.cos(s)
    up = d * (np.tan(s) if level else np.sin(s))
    return np.cov(np.stack((flat * np.sin(a), flat * np.cos(a), up)))


@pytest.mark.parametrize("level", [False, True])
def test_covariance_of_a_leg_is_what_simulated_readings_scatter(level):
    log = walk(("1", "2", 37, 100, {"slope": 20, "sd": 2.0, "horizontal": level}))
    survey = survey_log(log).value
    place = survey.places["2"]
    expected = covariance_by_simulation(37, 20, 100, 2.0, level=level)
    assert (place.sd_east_m, place.sd_north_m, place.sd_up_m) == pytest.approx(
        tuple(np.sqrt(np.diag(expected))), rel=0.01
    )


def test_columns_stand_in_the_order_of_the_log():
    reduced = reduce_legs(walk(("1", "2", 10, 10), ("2", "3", 20, 20))).value
    assert reduced.azimuth_deg.tolist() == [10, 20]
    assert reduced.horizontal_m.tolist() == [10, 20]
