"""The wrong reading, found: slips put into an invented loop, computed for these tests."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from tests.adjustment.test_sharing import SAWBILL, SAWBILL_AT, sawbill
from tests.walk import conditions, control, pace, walk
from traverse.log.readings import North
from traverse.survey import survey_log


def listed(survey):
    return [(one.start, one.end, one.slip, one.reading) for one in survey.suspects]


def test_a_good_loop_accuses_nobody():
    assert sawbill().value.suspects == ()


def test_a_reversed_bearing_has_one_explanation():
    survey, diagnostics = sawbill({2: ("3", "4", 347, "81p")})
    assert listed(survey) == [("3", "4", "bearing reversed", "167")]
    [failed] = [one for one in diagnostics if one.code == "closure-fails"]
    assert failed.labels[0].span.line == 120
    assert "3 to 4: 167" in failed.labels[0].text


@pytest.mark.parametrize("leg", [1, 2])
def test_fore_and_back_that_stand_at_each_others_place_are_offered_first(leg):
    """The back bearing agrees with it all the same, so it says nothing against the leg."""
    start, end, fore, count, more = SAWBILL[leg]
    back = more["back"]
    survey, _ = sawbill({leg: (start, end, back, count, {"back": fore})})
    first = survey.suspects[0]
    assert (first.start, first.end, first.slip) == (start, end, "fore and back bearings exchanged")
    assert first.reading == f"{fore:03d} back {back:03d}"


def test_a_loop_that_just_fails_is_told_what_would_bring_it_back():
    """Chi-square 10.2 with two degrees of freedom, where 9.2 is one in a hundred: ten paces or so are missing."""
    survey, _ = sawbill({1: ("2", "3", 107, "46p", {"back": 286})})
    assert not survey.closures[0].adjusted
    assert ("2", "3", "10 paces dropped", "56p") in listed(survey)[:2]


def test_ten_degrees_off_without_a_back_bearing_lists_all_that_fit():
    survey, diagnostics = sawbill({3: ("4", "5", 282, "99p")})
    found = listed(survey)
    assert found[0] == ("4", "5", "bearing 10 degrees too large", "272")
    assert len(found) > 1
    # Every other leg has a back bearing, which speaks against another fore bearing.
    assert not [one for one in found if one[0] != "4" and one[2].startswith("bearing")]
    assert survey.suspects[0].q_after == pytest.approx(0.7, abs=0.1)
    [failed] = [one for one in diagnostics if one.code == "closure-fails"]
    assert "single readings would explain it" in failed.message
    assert "back bearing" in failed.hints[0]


def test_a_back_bearing_settles_it():
    survey, _ = sawbill({3: ("4", "5", 282, "99p", {"back": 91})})
    assert listed(survey)[0] == ("4", "5", "bearing 10 degrees too large", "272")


def test_twenty_paces_lost_can_not_be_told_from_twenty_too_many_on_the_leg_back():
    survey, _ = sawbill({1: ("2", "3", 107, "38.5p", {"back": 286})})
    assert listed(survey)[:2] == [
        ("2", "3", "20 paces dropped", "58.5p"),
        ("4", "5", "20 paces too many", "79p"),
    ]
    assert survey.suspects[0].misclosure_after_m == pytest.approx(4.6, abs=0.05)


def test_ten_paces_lost_is_no_blunder():
    assert sawbill({1: ("2", "3", 107, "48.5p", {"back": 286})}).value.suspects == ()


def test_between_the_limits_a_loop_is_asked_about_and_no_leg_accused():
    survey, diagnostics = sawbill({1: ("2", "3", 107, "47.5p", {"back": 286})})
    assert 5.99 < survey.closures[0].q < 9.21
    [poor] = [one for one in diagnostics if one.code == "closure-poor"]
    assert poor.labels == ()
    assert "nineteen loops in twenty" in poor.hints[0]
    assert survey.suspects == ()


def test_a_quadrant_letter():
    legs = [
        ("1", "2", "N41W", "66p", {"back": "S42W"}), ("2", "3", "S73E", "58.5p", {"back": "N74W"}),
        ("3", "4", "S14E", "81p", {"back": "N13W"}), ("4", "5", "N88W", "99p", {"back": "S89E"}),
        ("5", "1", "N23W", "45p", {"back": "S22.5E"}),
    ]  # fmt: skip
    survey = survey_log(walk(*legs, at=SAWBILL_AT, controls=[control("1", 0, 0)])).value
    assert survey.closures[0].misclosure.distance_m == pytest.approx(129, abs=2)
    assert listed(survey) == [("1", "2", "E and W exchanged", "N41E")]


def test_when_nothing_explains_it_that_is_said():
    change = {0: ("1", "2", 131, "250p"), 2: ("3", "4", 95, "140p")}
    survey, diagnostics = sawbill(change)
    assert survey.suspects == ()
    [failed] = [one for one in diagnostics if one.code == "closure-fails"]
    assert "no one slip" in failed.hints[0]


SQUARE = [("1", "2", 92, 100), ("2", "3", 181, 100), ("3", "4", 272, 100), ("4", "1", 1, 100)]
# No two legs of this one run alike, so that one slip has one explanation.
CROOKED = [("1", "2", 41, 100), ("2", "3", 118, 133), ("3", "4", 206, 171), ("4", "1", 322.5, 177)]


@pytest.mark.parametrize(
    ("leg", "slip", "reading"),
    [
        (("2", "3", 118, "436.35m"), "feet taken for metres", "436.35ft"),
        (("2", "3", 118, "133ft"), "metres taken for feet", "133m"),
        (("2", "3", 118, 66.5), "leg left out", "66.5m"),
        (("2", "3", 181, 133), "digits exchanged", "118"),
        (("2", "3", 18, 133), "bearing 100 degrees too small", "118"),
        (("2", "3", 298, 133), "bearing reversed", "118"),
    ],
)
def test_slips_of_a_tape_and_of_a_compass(leg, slip, reading):
    survey = survey_log(walk(CROOKED[0], leg, *CROOKED[2:])).value
    assert listed(survey)[0][2:] == (slip, reading)


@pytest.mark.parametrize(
    ("text", "slip", "reading"),
    [
        ("33p", "100 paces dropped", "133p"),
        ("66.5p", "double paces counted as single", "133p"),
        ("83p", "50 paces dropped", "133p"),
        ("266p", "single paces counted as double", "133p"),
    ],
)
def test_slips_of_a_count(text, slip, reading):
    at = conditions(pace=pace(0.75))
    legs = [(a, b, azimuth, f"{length}p") for a, b, azimuth, length in CROOKED]
    legs[1] = ("2", "3", 118, text)
    assert listed(survey_log(walk(*legs, at=at)).value)[0] == ("2", "3", slip, reading)


def test_digits_of_a_count():
    at = conditions(pace=pace(0.75))
    legs = [(a, b, azimuth, f"{length}p") for a, b, azimuth, length in CROOKED]
    legs[2] = ("3", "4", 206, "711p")
    assert listed(survey_log(walk(*legs, at=at)).value)[0] == (
        "3", "4", "digits of the paces exchanged", "171p"
    )  # fmt: skip


def test_metres_typed_for_paces_and_paces_for_metres():
    at = conditions(pace=pace(1.52))
    paced = [(a, b, azimuth, f"{length}p") for a, b, azimuth, length in CROOKED]
    paced[2] = ("3", "4", 206, "171m")
    found = listed(survey_log(walk(*paced, at=at)).value)
    assert ("3", "4", "paces taken for metres", "171p") in found[:2]
    taped = [*CROOKED]
    taped[1] = ("2", "3", 118, "133p")
    found = listed(survey_log(walk(*taped, at=at)).value)
    assert ("2", "3", "metres taken for paces", "133m") in found[:2]


def test_a_quadrant_angle_read_from_the_other_end():
    legs = [
        ("1", "2", "N41E", 100),
        ("2", "3", "S28E", 133),
        ("3", "4", "S26W", 171),
        ("4", "1", "N37.5W", 177),
    ]
    found = listed(survey_log(walk(*legs)).value)
    assert found[0] == ("2", "3", "quadrant angle read from the other end", "S62E")


def test_a_leg_typed_twice():
    legs = [*CROOKED[:2], ("3", "3a", 118, 133), ("3a", "4", 206, 171), CROOKED[3]]
    found = listed(survey_log(walk(*legs)).value)
    assert found[0] == ("3", "3a", "leg booked twice", "a leg already booked")


@pytest.mark.parametrize(
    ("slope", "slip", "reading"),
    [
        (20, "per cent taken for degrees", "+20%"),
        ("18%", "degrees taken for per cent", "+18"),
    ],
)
def test_per_cent_for_degrees_and_back(slope, slip, reading):
    true_rise = 100 * np.sin(np.arctan(0.20) if slope == 20 else np.radians(18))
    down = -float(np.degrees(np.arcsin(true_rise / 100)))
    legs = [
        ("1", "2", 92, 100, {"slope": slope}),
        *SQUARE[1:2],
        ("3", "4", 272, 100, {"slope": down}),
        SQUARE[3],
    ]
    legs = [leg if len(leg) > 4 else (*leg, {"slope": 0}) for leg in legs]
    survey = survey_log(walk(*legs)).value
    assert survey.closures[0].q_up > 6.63
    assert ("1", "2", slip, reading) in listed(survey)


def test_a_loop_closed_on_the_wrong_station():
    """The last leg came back to 2 and was booked as coming to 1."""
    legs = [("1", "2", 300, 260), *CROOKED[1:3], ("4", "5", 300, 90), ("5", "1", 0, 0)]
    east, north = 0.0, 0.0
    for _, _, azimuth, length in legs[1:4]:
        east += length * np.sin(np.radians(azimuth))
        north += length * np.cos(np.radians(azimuth))
    legs[4] = ("5", "1", float(np.degrees(np.arctan2(-east, -north)) % 360), float(np.hypot(east, north)))
    survey = survey_log(walk(*legs)).value
    assert ("5", "1", "closed on the wrong station", "close 2") in listed(survey)


def test_close_11_typed_for_close_1():
    """A walk out to 12 and straight back to 1: the station meant is not on the loop that was booked."""
    out = [(str(i), str(i + 1), 60 if i % 2 else 75, 80) for i in range(1, 12)]
    east = sum(length * np.sin(np.radians(azimuth)) for _, _, azimuth, length in out)
    north = sum(length * np.cos(np.radians(azimuth)) for _, _, azimuth, length in out)
    back = float(np.degrees(np.arctan2(-east, -north)) % 360), float(np.hypot(east, north))
    survey, diagnostics = survey_log(walk(*out, ("12", "11", *back)))
    assert listed(survey) == [("12", "11", "closed on the wrong station", "close 1")]
    assert survey.suspects[0].written == "close 11"
    [failed] = [one for one in diagnostics if one.code == "closure-fails"]
    assert "12 to 11: close 1" in failed.labels[0].text


def turned(legs, angle, since):
    return [
        (start, end, round((azimuth + (angle if i >= since else 0)) % 360, 3), *more)
        for i, (start, end, azimuth, *more) in enumerate(legs)
    ]


HEXAGON = [
    ("1", "2", 17, 100), ("2", "3", 78, 130), ("3", "4", 142, 110),
    ("4", "5", 199, 100), ("5", "6", 258, 130), ("6", "1", 322, 110),
]  # fmt: skip
"""Each leg 180 or so from the one three on: it closes within two metres."""


def test_a_compass_set_anew_turns_all_that_follows():
    """The rule of the bisector: 1 and the end as computed lie equally far from where the compass changed."""
    survey = survey_log(walk(*turned(HEXAGON, 12, 3))).value
    [found] = [one for one in survey.suspects if one.slip.startswith("compass set anew") and one.start == "4"]
    assert found.slip == "compass set anew: bearings from here on 12 degrees too large"
    assert found.reading == "199"
    assert found.q_after < 1.0


def test_a_second_observer_with_the_declination_on_the_dial():
    at = conditions(bearings=North.MAGNETIC, declination=9.0)
    survey = survey_log(walk(*turned(HEXAGON, 9, 3), at=at)).value
    found = [(one.start, one.slip, one.reading) for one in survey.suspects]
    slip = "compass set anew: bearings from here on 9 degrees too large, the declination"
    assert ("4", slip, "199") in found
    handed = [
        (*leg, {"at": replace(at, reader="LB") if i >= 3 else at})
        for i, leg in enumerate(turned(HEXAGON, 9, 3))
    ]
    survey = survey_log(walk(*handed, at=at)).value
    assert (survey.suspects[0].start, survey.suspects[0].slip) == ("4", slip)


def test_loops_that_share_a_leg_are_judged_together():
    """The leg that both failing loops run over is named before those of one loop alone, in both."""
    at = conditions(pace=pace(1.0))
    first = [(a, b, azimuth, f"{length}p") for a, b, azimuth, length in CROOKED]
    first[1] = ("2", "3", 118, "33p")
    east = 133 * np.sin(np.radians(118))
    north = 133 * np.cos(np.radians(118))
    over = (200.0, 150.0)
    out = float(np.degrees(np.arctan2(*over))), float(np.hypot(*over))
    back = east - over[0], north - over[1]
    home = float(np.degrees(np.arctan2(*back)) % 360), float(np.hypot(*back))
    second = [("2", "7", out[0], f"{out[1]:.1f}p"), ("7", "3", home[0], f"{home[1]:.1f}p")]
    survey = survey_log(walk(*first, *second, at=at)).value
    assert [one.adjusted for one in survey.closures] == [False, False]
    assert listed(survey)[0] == ("2", "3", "100 paces dropped", "133p")


def test_two_faults_of_which_one_is_shared_are_found_one_after_the_other():
    """No one slip explains both loops; what mends the first alone is still told, and spoils no good one."""
    at = conditions(pace=pace(1.0))
    legs = [(a, b, azimuth, f"{length}p") for a, b, azimuth, length in CROOKED]
    over = [("2", "7", 60, "120p"), ("7", "3", 0, "0p")]
    way = [133 * np.sin(np.radians(118)) - 120 * np.sin(np.radians(60)), 133 * np.cos(np.radians(118)) - 60.0]
    over[1] = ("7", "3", float(np.degrees(np.arctan2(*way)) % 360), f"{np.hypot(*way):.1f}p")
    legs[1] = ("2", "3", 18, "133p")
    over[0] = ("2", "7", 160, "120p")
    survey = survey_log(walk(*legs, *over, at=at)).value
    assert [one.adjusted for one in survey.closures] == [False, False]
    assert ("2", "3", "bearing 100 degrees too small", "118") in listed(survey)[:2]


def test_a_sighting_that_decides_is_named_with_what_it_would_read():
    _, diagnostics = sawbill({3: ("4", "5", 282, "99p")})
    [failed] = [one for one in diagnostics if one.code == "closure-fails"]
    assert "a back bearing from 5 to 4 would decide: 092 if 4 to 5 is 272, 102 if not" in failed.hints[0]
    _, diagnostics = sawbill({1: ("2", "3", 107, "38.5p", {"back": 286})})
    [failed] = [one for one in diagnostics if one.code == "closure-fails"]
    # By hand: with 2 to 3 too short, 5 lies from 3 as the good loop has it, (-137.4, -96.5): 235 true,
    # 226.4 as the compass shows it. With 4 to 5 too long it lies 30.4 m nearer along 100 true.
    east, north = -137.4 + 30.4 * np.sin(np.radians(100)), -96.5 + 30.4 * np.cos(np.radians(100))
    other = np.degrees(np.arctan2(east, north)) % 360 - 8.5
    assert (
        f"a sight from 3 to 5 would decide: about 226 if 2 to 3 is wrong, {other:.0f} if" in failed.hints[0]
    )


def test_of_many_readings_that_would_do_as_well_none_is_accused():
    """A paced loop that fails by the error of its paces: three are named, and how many there are is said."""
    rng = np.random.default_rng(4)
    legs = [
        (
            str(at + 1),
            str((at + 1) % 18 + 1),
            round(20 * at + float(rng.normal(0, 1.8))) % 360,
            f"{54 + int(rng.normal(0, 3))}p",
        )
        for at in range(18)
    ]
    said = survey_log(walk(*legs, at=conditions(pace=pace(0.76)))).diagnostics
    [failed] = [one for one in said if one.code == "closure-fails"]
    words = r"(\d+) single readings would explain it, (\d+) of them about equally, so none is accused"
    every, alike = (int(one) for one in re.search(words, failed.message).groups())
    assert 6 < alike <= every
    assert len([one for one in failed.labels if re.match(r"\(\d\) ", one.text)]) == 3
    assert failed.hints[0].startswith(f"{every - 3} more would fit as well")
    # Of few it names all, and says nothing of the kind.
    [failed] = [one for one in sawbill({3: ("4", "5", 282, "99p")})[1] if one.code == "closure-fails"]
    assert "single readings would explain it" in failed.message
    assert "accused" not in failed.message


def test_the_sign_of_a_slope():
    legs = [("1", "2", 92, 100, {"slope": 12}), *SQUARE[1:3], ("4", "1", 1, 100, {"slope": 12})]
    legs[1] = ("2", "3", 181, 100, {"slope": 3})
    legs[2] = ("3", "4", 272, 100, {"slope": -3})
    survey = survey_log(walk(*legs)).value
    assert {one[2:] for one in listed(survey)} == {("sign of the slope lost", "-12")}


def test_a_slip_that_would_spoil_a_good_loop_is_no_explanation():
    """The leg 2 to 3 is shared with a loop that closes; a slip on it can't be what is wrong with the other."""
    at = conditions(pace=pace(1.0))
    good = [(a, b, azimuth, f"{length}p") for a, b, azimuth, length in SQUARE]
    bad = [("2", "5", 92, "100p"), ("5", "6", 181, "80p"), ("6", "3", 272, "100p")]
    alone = survey_log(walk(good[1], *bad, at=at)).value
    assert ("2", "3", "20 paces too many", "80p") in listed(alone)
    shared = survey_log(walk(*good, *bad, at=at)).value
    assert [one.adjusted for one in shared.closures] == [True, False]
    assert ("5", "6", "20 paces dropped", "100p") in listed(shared)
    assert ("2", "3") not in {one[:2] for one in listed(shared)}


@pytest.mark.thorough
def test_simulated_slips_are_named():
    """One slip in a loop of eight legs that closes badly: the leg is among the first three in most of 60 trials."""
    rng = np.random.default_rng(11)
    at = conditions(pace=pace(0.75))
    first, three, trials = 0, 0, 0
    while trials < 60:
        place = np.cumsum(rng.normal(0, 70, (8, 2)), axis=0)
        legs = []
        for i in range(8):
            east, north = place[(i + 1) % 8] - place[i]
            azimuth = (np.degrees(np.arctan2(east, north)) + rng.normal(0, 1)) % 360
            count = max(5.0, np.hypot(east, north) / 0.75 * (1 + rng.normal(0, 0.02)))
            legs.append([str(i), str((i + 1) % 8), round(azimuth), f"{count:.0f}p"])
        wrong = int(rng.integers(8))
        if rng.random() < 0.5:
            legs[wrong][2] = (legs[wrong][2] + 180) % 360
        else:
            legs[wrong][2] = (legs[wrong][2] + 10) % 360
        survey = survey_log(walk(*legs, at=at)).value
        if survey.closures[0].q < 13:
            continue
        trials += 1
        named = [int(one.start) for one in survey.suspects]
        first += named[:1] == [wrong]
        three += wrong in list(dict.fromkeys(named))[:3]
    assert three / trials > 0.9
    assert first / trials > 0.75


def test_a_loop_that_fails_and_is_adjusted_anyway_is_told_by_itself(compile_text):
    """It was said that each of the one loops closes near enough, and that they contradict each other."""
    found = compile_text(
        "notation 1\nbearings true\nadjust compass-rule anyway nobody can go back\n"
        "at 1\nto 2 000 100m\nto 3 090 100m\nto 4 180 100m\nclose 1 270 85m\n"
    )
    (said,) = [one for one in found.diagnostics if one.kind == "warning"]
    assert said.code == "closure-poor"
    assert "adjusted all the same, as the log asks" in said.message


def test_what_a_loop_misses_by_in_height_is_told_in_height(compile_text):
    """Two loops that close in plan, the second 15 m off in height: its gap there, and what became of its heights."""
    found = compile_text(
        "notation 1\nbearings true\nat 1\nto 2 115 100m level\nto 3 143 84m -1\nto 4 206 77m level\nto 5 222 81m -2\n"
        "to 6 257 109m level\nto 7 301 99m +3\nto 8 335 77m +3\nto 9 348 80m +3\nto 10 059 99m +1\nclose 1 083 104m +1\n"
        "at 10\nto 11 153 130m -4\nclose 4 109 157m -2\n"
    )
    (said,) = [one for one in found.diagnostics if one.code.startswith("heights")]
    whole = " ".join((said.message, *said.hints, *(label.text for label in said.rests_on)))
    assert "misses by 15 m in height; its heights are not adjusted" in " ".join(whole.split())
