"""The test before the adjustment, and the rules that share a misclosure out."""

from __future__ import annotations

import math

import pytest

from tests.walk import along, conditions, control, pace, walk
from traverse.log.readings import North, PaceKind, Precision
from traverse.log.records import Rule
from traverse.survey import survey_log

# An invented loop, computed for these tests.
DOUBLE = pace(1.52, kind=PaceKind.DOUBLE)
SAWBILL_AT = conditions(
    bearings=North.MAGNETIC, declination=8.5, pace=DOUBLE, precision=Precision(bearing_deg=1.5)
)
SAWBILL = [
    ("1", "2", 41, "66p", {"back": 222}),
    ("2", "3", 107, "58.5p", {"back": 286}),
    ("3", "4", 166, "81p", {"back": 347}),
    ("4", "5", 272, "99p", {"back": 91}),
    ("5", "1", 337, "45p", {"back": 157.5}),
]


def sawbill(change=None, **settings):
    """The loop with some legs replaced."""
    legs = [*SAWBILL]
    for index, leg in (change or {}).items():
        legs[index] = leg
    return survey_log(walk(*legs, at=SAWBILL_AT, controls=[control("1", 0, 0, 640)], **settings))


def places(survey):
    return {name: (place.east_m, place.north_m) for name, place in survey.places.items()}


def test_a_plain_loop():
    survey, diagnostics = sawbill()
    assert [leg.azimuth_true_deg for leg in survey.legs] == pytest.approx([50, 115, 175, 280, 345.75])
    assert [leg.horizontal_m for leg in survey.legs] == pytest.approx(
        [100.3, 88.9, 123.1, 150.5, 68.4], abs=0.05
    )
    raw = {name: (place.raw.east_m, place.raw.north_m) for name, place in survey.places.items()}
    assert raw["2"] == pytest.approx((76.8, 64.5), abs=0.05)
    assert raw["5"] == pytest.approx((20.0, -69.6), abs=0.05)
    [closure] = survey.closures
    assert closure.length_m == pytest.approx(531.2, abs=0.05)
    assert closure.misclosure.distance_m == pytest.approx(4.6, abs=0.05)
    assert closure.misclosure.azimuth_deg == pytest.approx(137, abs=0.5)
    assert closure.ratio == pytest.approx(116, abs=0.5)
    assert closure.q == pytest.approx(0.92, abs=0.005)
    assert survey.rule is Rule.COMPASS
    adjusted = places(survey)
    for name, expected in {
        "2": (76.3, 65.1),
        "3": (156.3, 28.1),
        "4": (166.3, -93.8),
        "5": (17.2, -66.7),
    }.items():
        assert adjusted[name] == pytest.approx(expected, abs=0.05)
    [unchecked] = diagnostics
    assert unchecked.code == "unchecked"
    assert "declination" in unchecked.message
    assert unchecked.span.line == 140


def test_a_page_with_slopes():
    """The invented loop on sloping ground: slopes shorten two legs, the plan closes 1 in 138, the heights miss by 6.7 m."""
    survey, _ = sawbill(
        {
            1: ("2", "3", 107, "58.5p", {"back": 286, "slope": 4}),
            2: ("3", "4", 166, "81p", {"back": 347, "slope": -6}),
        }
    )
    assert survey.legs[1].horizontal_m == pytest.approx(88.7, abs=0.05)
    assert survey.legs[2].horizontal_m == pytest.approx(122.4, abs=0.05)
    misclosure = survey.closures[0].misclosure
    assert misclosure.distance_m == pytest.approx(3.9, abs=0.06)
    assert survey.closures[0].ratio == pytest.approx(138, abs=1)
    assert misclosure.up_m == pytest.approx(-6.7, abs=0.05)


def test_a_address_off_the_adjusted_leg():
    """By hand: 40 of 58.5 paces, 12 m left, on the leg from (76.3, 65.1) to (156.3, 28.1)."""
    survey, _ = sawbill(addresses=lambda legs: [along(legs[1], "40p", side="left", offset=12)])
    [address] = survey.addresses
    assert (address.east_m, address.north_m) == pytest.approx((136.0, 50.7), abs=0.06)
    assert address.start_share == pytest.approx(40 / 58.5)
    assert address.half_width_m is None


def test_a_stretch_lies_at_its_middle():
    """By hand: covered from 17 to 44 paces, so the contact lies at 30.5 paces, 13.5 to either side."""
    survey, _ = sawbill(addresses=lambda legs: [along(legs[1], "17p", "44p")])
    [address] = survey.addresses
    start, leg = survey.places["2"], survey.legs[1]
    walked = math.hypot(address.east_m - start.east_m, address.north_m - start.north_m)
    whole = math.hypot(leg.adjusted.east_m, leg.adjusted.north_m)
    assert walked / whole == pytest.approx(30.5 / 58.5)
    assert address.half_width_m == pytest.approx(13.5 * 1.52)


@pytest.mark.parametrize(
    ("change", "distance", "azimuth", "q"),
    [
        ({2: ("3", "4", 347, "81p")}, 242.7, 356, 1740),
        ({3: ("4", "5", 282, "99p")}, 24.2, 24, 16.7),
        ({1: ("2", "3", 107, "38.5p", {"back": 286})}, 26.2, 291, 23.5),
    ],
)
def test_a_blundered_loop_is_not_adjusted(change, distance, azimuth, q):
    """A bearing reversed, a bearing ten degrees off, twenty paces dropped; q computed without back bearings, so only its size."""
    survey, diagnostics = sawbill(change)
    [closure] = survey.closures
    assert closure.misclosure.distance_m == pytest.approx(distance, rel=0.06)
    assert closure.misclosure.azimuth_deg == pytest.approx(azimuth, abs=6)
    assert closure.q == pytest.approx(q, rel=0.6)
    assert not closure.adjusted
    assert places(survey) == {n: (p.raw.east_m, p.raw.north_m) for n, p in survey.places.items()}
    [failed] = [one for one in diagnostics if one.code == "closure-fails"]
    assert failed.span.line == 140
    assert "not adjusted" in failed.message


def test_ten_paces_lost_is_ordinary_closure():
    """Computed for these tests, with both bearings: q 5.63, under the limit of 95 in 100."""
    survey, diagnostics = sawbill({1: ("2", "3", 107, "48.5p", {"back": 286})})
    assert survey.closures[0].q == pytest.approx(5.63, abs=0.01)
    assert survey.closures[0].adjusted
    assert [one.code for one in diagnostics] == ["unchecked"]


def test_anyway_adjusts_what_fails():
    change = {3: ("4", "5", 282, "99p")}
    survey, _ = sawbill(change, rule="compass-rule", anyway="for the exercise")
    assert survey.closures[0].adjusted
    legs = [leg.adjusted for leg in survey.legs]
    assert sum(leg.east_m for leg in legs) == pytest.approx(0.0, abs=1e-9)


def test_adjust_none_leaves_the_walk_as_it_is():
    survey, _ = sawbill(rule="none")
    assert not survey.closures[0].adjusted
    assert survey.places["4"].east_m == survey.places["4"].raw.east_m


def test_heights_are_tested_apart_from_the_plan():
    survey, diagnostics = sawbill({2: ("3", "4", 166, "81p", {"back": 347, "slope": 7})})
    [closure] = survey.closures
    assert closure.adjusted
    assert not closure.adjusted_up
    [failed] = [one for one in diagnostics if one.code == "heights-fail"]
    assert "15 m too high" in failed.message
    assert survey.places["5"].up_m == survey.places["5"].raw.up_m
    assert survey.places["5"].east_m != survey.places["5"].raw.east_m


def test_a_poor_height_between_known_points_asks_for_their_figures_too():
    """14 m up by the slopes, 8 m by the two points."""
    legs = [("1", "2", 40, 100, {"slope": 5}), ("2", "3", 70, 100, {"slope": 3})]
    ends = [control("1", 0, 0, 100.0, line=4), control("3", 158, 111, 108.0, line=7)]
    [poor] = [one for one in survey_log(walk(*legs, controls=ends)).diagnostics if one.code == "heights-poor"]
    assert "too high" in poor.message
    assert poor.hints[0].endswith("; and at the heights of both known points, lines 4 and 7")


def test_spurs_and_side_shots_hang_from_the_adjusted_station():
    survey = survey_log(
        walk(
            *SAWBILL[:3], ("3", "3a", 20, 30, {"kind": "side"}), *SAWBILL[3:],
            ("3a", "3b", 110, 12), at=SAWBILL_AT, controls=[control("1", 0, 0)],
        )
    ).value  # fmt: skip
    three, spur = survey.places["3"], survey.places["3a"]
    assert spur.east_m - three.east_m == pytest.approx(spur.raw.east_m - three.raw.east_m)
    assert three.east_m != three.raw.east_m
    assert survey.legs[3].adjusted.north_m == pytest.approx(survey.legs[3].raw.north_m)


def test_a_control_that_the_walk_contradicts_is_not_used():
    controls = [control("1", 0, 0), control("9", 240, 0)]
    survey, diagnostics = survey_log(walk(("1", "2", 90, 100), ("2", "9", 90, 100), controls=controls))
    assert not survey.adjusted
    assert survey.places["9"].east_m == pytest.approx(200.0)
    [failed] = [one for one in diagnostics if one.code == "closure-fails"]
    assert "control 9 is not used" in failed.message


def test_second_loop_holds_what_the_first_has_done():
    """Two loops that share a leg, under the compass rule: the shared stations are those of the first alone."""
    first = [("1", "2", 90, 100), ("2", "3", 180, 100), ("3", "4", 270, 100), ("4", "1", 0, 101)]
    second = [("2", "5", 90, 100), ("5", "6", 180, 100), ("6", "3", 270, 101)]
    alone = places(survey_log(walk(*first, rule="compass-rule")).value)
    both = places(survey_log(walk(*first, *second, rule="compass-rule")).value)
    assert {name: both[name] for name in alone} == alone
    assert survey_log(walk(*first, *second)).value.rule is Rule.LEAST_SQUARES
    # 2 to 3 is done; 5 and 6 take the rest by length: 3 lies at (100, -99.75), the run comes to (99, -100).
    gap = 99 - both["3"][0]
    assert both["6"][0] - 200 == pytest.approx(both["2"][0] - 100 - gap * 200 / 301, abs=1e-9)


def test_loops_without_a_shared_leg_stay_with_the_compass_rule():
    eight = [
        ("1", "2", 90, 100), ("2", "3", 180, 100), ("3", "1", 315, 141.4),
        ("1", "4", 270, 100), ("4", "5", 0, 100), ("5", "1", 135, 141.4),
    ]  # fmt: skip
    assert survey_log(walk(*eight)).value.rule is Rule.COMPASS


def test_two_controls_of_which_one_has_an_error_call_for_least_squares():
    legs = [("1", "2", 90, 100), ("2", "9", 90, 100)]
    held = [control("1", 0, 0), control("9", 201, 0)]
    known = [control("1", 0, 0), control("9", 201, 0, sd=3)]
    assert survey_log(walk(*legs, controls=held)).value.rule is Rule.COMPASS
    survey = survey_log(walk(*legs, controls=known)).value
    assert survey.rule is Rule.LEAST_SQUARES
    # Along the legs a tape's 0.5 per cent of 100 m, twice: a variance of 0.5, against 9 of the control.
    share = 0.5 / (0.5 + 9.0)
    assert survey.places["9"].east_m == pytest.approx(200 + share)


def test_a_loop_that_closes_too_well_is_mentioned_mildly():
    paced = conditions(pace=pace(1.0))
    square = [("1", "2", 90, "100p"), ("2", "3", 180, "100p"), ("3", "4", 270, "100p"), ("4", "1", 0, "100p")]
    [lucky] = [one for one in survey_log(walk(*square, at=paced)).diagnostics if one.code == "closure-lucky"]
    assert lucky.severity.value == "note"
    assert "closure-lucky" not in [one.code for one in sawbill().diagnostics]
