"""Parts of what holds heights, sights and known points against each other: figures of plain least squares."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from traverse.adjustment.records import Fix
from traverse.length import METRES
from traverse.location import elevation, odd_height, party_fits, sighting
from traverse.location.known_points import _contradiction, _together
from traverse.location.odd_height import _HeightsTold, _HeldAgainst
from traverse.location.party_fits import _how, _where
from traverse.location.records import Fit
from traverse.location.sighting import Rays, meet, without_each
from traverse.log.readings import North
from traverse.notation.read import read_log
from traverse.source import Source, Span

# --- heights ------------------------------------------------------------------------------------------------------


def weighed(gap, covariance, datum):
    """What is least of the square sum of residuals over the free datums, by whitening and least squares."""
    root = np.linalg.inv(np.linalg.cholesky(covariance))
    solved, *_ = np.linalg.lstsq(root @ datum, root @ gap, rcond=None)
    left = root @ (gap - datum @ solved)
    return float(left @ left)


@pytest.mark.parametrize("seed", range(4))
def test_heights_are_held_against_each_other_by_generalised_least_squares(seed):
    rng = np.random.default_rng(seed)
    half = rng.normal(size=(6, 6))
    covariance, gap = half @ half.T + np.eye(6), rng.normal(size=6)
    datum = np.array([[1.0, 0.0]] * 3 + [[0.0, 1.0]] * 3)
    held = _HeldAgainst.of(gap, covariance, datum)
    assert held.chi_square == pytest.approx(weighed(gap, covariance, datum), abs=1e-5)
    along = np.array([0.0, 1.0, 0.0, 0.0, 1.0, 0.0])
    for shift in (-3.0, 0.5, 2.0):
        assert held.after(along, shift) == pytest.approx(
            weighed(gap + shift * along, covariance, datum), abs=1e-4
        )
    least = minimize_scalar(lambda shift: weighed(gap + shift * along, covariance, datum), method="brent")
    assert held.best_m(along) == pytest.approx(least.x, abs=1e-4)
    # What every datum takes up tells nothing.
    assert held.best_m(datum[:, 0]) == 0.0


def told(*of):
    """Heights by their day, -1 for those that don't drift, and hour."""
    found = _HeightsTold()
    for number, (day, hour) in enumerate(of):
        odd_height._add(found, number, 100.0, 1.0, SimpleNamespace() if day >= 0 else None, day, hour)
    return found


def test_the_air_moves_an_altimeter_by_a_random_walk_from_its_first_reading():
    """By 3 m for each hour: none, 3² and 3² + 6² for readings an hour and then two hours apart; a day by itself."""
    one = told((0, 8.0), (-1, 0.0), (0, 9.0), (1, 8.0), (0, 11.0), (1, 10.0))
    rate = odd_height.DRIFT_SD_M_AN_HOUR**2
    expected = np.zeros((6, 6))
    for of, at in (((0, 2, 4), (0.0, 1.0, 5.0)), ((3, 5), (0.0, 4.0))):
        for i, first in zip(of, at, strict=True):
            for j, second in zip(of, at, strict=True):
                expected[i, j] = rate * min(first, second)
    assert odd_height._drift_m2(one, range(6)) == pytest.approx(expected)
    # Without the second of the day its walk is as long.
    assert odd_height._drift_m2(one, [0, 4])[1, 1] == pytest.approx(9.0 * rate)


def test_an_altimeter_may_have_been_set_anew_between_two_readings_before_and_two_after():
    one = told((0, 8.0), (0, 9.0), (-1, 0.0), (0, 10.0), (0, 11.0), (0, 12.0), (1, 8.0), (1, 9.0), (1, 10.0))
    found = [along.tolist() for along in odd_height._set_anew(one, range(9))]
    assert found == [[0, 0, 0, 1, 1, 1, 0, 0, 0], [0, 0, 0, 0, 1, 1, 0, 0, 0]]


@pytest.mark.parametrize(
    ("sign", "rise", "worse"),
    [(1.0, 2.0, (25.0 - 9.0) / 4.0), (-1.0, 2.0, 0.0), (-1.0, 8.0, (25.0 - 9.0) / 4.0)],
)
def test_circuits_over_a_leg_close_worse_by_what_it_adds_to_their_gap(sign, rise, worse):
    """3 m of a gap of 2 m of deviation become 5, 1 and 5 the other way."""
    assert odd_height._closes_worse([(sign, 3.0, 4.0)], rise) == pytest.approx(worse)
    assert odd_height._closes_worse([(sign, 3.0, 4.0), (1.0, 0.0, 1.0)], rise) == pytest.approx(
        max(0.0, ((3.0 + sign * rise) ** 2 - 9.0) / 4.0 + rise**2)
    )


def test_more_heights_than_are_held_at_once_are_taken_in_stretches_with_all_known_points():
    few = told(*[(0, float(hour)) for hour in range(200)])
    assert list(odd_height._in_stretches(few)) == [few]
    many = told(*[(-1, 0.0)] * 3, *[(0, float(hour)) for hour in range(450)])
    found = list(odd_height._in_stretches(many))
    assert [one.station[:3] for one in found] == [[0, 1, 2]] * 3
    assert [len(one.station) - 3 for one in found] == [200, 200, 50]
    assert [one.station[3] for one in found] == [3, 203, 403]
    assert found[1].hour[3:5] == [200.0, 201.0]


def test_other_figures_of_a_height_keep_its_unit():
    reading = SimpleNamespace(written="1240 ft", height_m=1240 * 0.3048)
    found = {one.reading: one.height_m for one in odd_height._figures(reading)}
    assert found["1420 ft"] == pytest.approx(1420 * 0.3048)
    assert found.pop("1240 m") == pytest.approx(1240)
    assert all(height == pytest.approx(float(words.split()[0]) * 0.3048) for words, height in found.items())
    assert list(odd_height._figures(SimpleNamespace(written="about 0 m", height_m=0.0))) == []


# --- sights -------------------------------------------------------------------------------------------------------


def rays(*lines, sd=1.0, own=0.0):
    return Rays(
        origin_m=np.array([line[:2] for line in lines], dtype=float),
        azimuth_deg=np.array([line[2] for line in lines], dtype=float),
        azimuth_sd_deg=np.full(len(lines), sd),
        origin_covariance_m2=np.array([own**2 * np.eye(2)] * len(lines)),
    )


@pytest.mark.parametrize("turn", [0.0, 77.0, 200.0])
def test_two_sights_square_to_each_other_are_off_by_what_each_is_at_its_distance(turn):
    """100 m and 200 m by a degree, and 2 m of where each was taken: the ellipse lies along them."""

    def way(deg):
        return np.array([math.sin(math.radians(deg)), math.cos(math.radians(deg))])

    first, second = -100.0 * way(turn), -200.0 * way(turn + 90.0)
    met = meet(rays((*first, turn), (*second, turn + 90.0), own=2.0))
    assert met.position_m == pytest.approx((0.0, 0.0), abs=1e-6)
    assert met.distance_m == pytest.approx((100.0, 200.0))
    assert met.crossing_deg == pytest.approx(90.0)
    variances = [(math.radians(1.0) * far) ** 2 + 4.0 for far in (100.0, 200.0)]
    # The first tells what lies across it, which is along the second.
    expected = variances[0] * np.outer(way(turn + 90.0), way(turn + 90.0)) + variances[1] * np.outer(
        way(turn), way(turn)
    )
    assert met.covariance_m2 == pytest.approx(expected, rel=1e-4)
    assert met.chi_square == pytest.approx(0.0, abs=1e-6)


def test_of_three_sights_each_is_left_out_in_turn():
    """From three corners of a square to its middle, the third 10 degrees too far to the right."""
    three = rays((0, 0, 45.0), (100, 0, 315.0), (100, 100, 235.0))
    found = without_each(three)
    assert found[2].position_m == pytest.approx((50.0, 50.0))
    assert found[0].position_m == pytest.approx(meet(rays((100, 0, 315.0), (100, 100, 235.0))).position_m)
    assert found[1] is None or found[1].crossing_deg == pytest.approx(10.0)
    # Those that part ahead meet nowhere.
    assert without_each(rays((0, 0, 315.0), (100, 0, 45.0), (50, -50, 0.0)))[2] is None


def sight(written, azimuth):
    return SimpleNamespace(bearing=SimpleNamespace(written=written, azimuth_deg=azimuth))


def test_what_a_bearing_may_have_been():
    found = {}
    for words, other, rank in sighting._slips(sight("107", 107.0)):
        found.setdefault(words, set()).add(other)
        assert rank == (sighting.UNCOMMON_SLIP if words == "one digit misread" else sighting.RARE_SLIP)
    assert found["digits exchanged"] == {17.0, 170.0}
    assert found["reversed"] == {287.0}
    assert found["digits in another order"] == {71.0}
    assert found["100 degrees off"] == {7.0, 207.0}
    assert found["10 degrees off"] == {97.0, 117.0}
    assert {127.0, 307.0, 100.0, 109.0} <= found["one digit misread"]
    assert not {407.0 - 360.0} & found["one digit misread"]


def test_what_a_bearing_in_quadrants_may_have_been():
    found = {}
    for words, other, _ in sighting._slips(sight("N37E", 37.0)):
        found.setdefault(words, set()).add(other)
    assert found["digits exchanged"] == {73.0}
    assert (found["reversed"], found["E and W exchanged"], found["N and S exchanged"]) == (
        {217.0},
        {323.0},
        {143.0},
    )
    assert found["10 degrees off"] == {27.0, 47.0}
    assert "one digit misread" not in found


# --- known points -------------------------------------------------------------------------------------------------


def fix(east, north, up, sd_plan=0.0, sd_up=0.0, file="day.trav"):
    return Fix(
        position_m=np.array([east, north, math.nan if up is None else up], dtype=float),
        sd_plan_m=sd_plan, sd_height_m=sd_up, span=Span(file, 3, 1, 9),
    )  # fmt: skip


def test_two_fixes_of_one_place_are_their_weighted_mean():
    """Of 3 m and 4 m: 16 to 9 of 25 parts, good to the root of 9 times 16 over 25; heights of 1 and 2 m 4 to 1."""
    one = _together(fix(100.0, 200.0, 50.0, 3.0, 1.0), fix(125.0, 225.0, 55.0, 4.0, 2.0))
    assert one.position_m == pytest.approx((109.0, 209.0, 51.0))
    assert one.sd_plan_m == pytest.approx(12.0 / 5.0)
    assert one.sd_height_m == pytest.approx(2.0 / math.sqrt(5.0))
    assert not one.sure
    assert _together(fix(0, 0, 0, 1.0), fix(0, 0, 0, 1.0, file="other.trav")).sure


@pytest.mark.parametrize("turned", [False, True])
def test_a_fix_that_is_held_outweighs_one_with_an_error_and_a_height_one_without(turned):
    held, vague = fix(100.0, 200.0, None), fix(110.0, 205.0, 52.0, 5.0, 3.0)
    one = _together(*((vague, held) if turned else (held, vague)))
    assert one.position_m == pytest.approx((100.0, 200.0, 52.0))
    assert (one.sd_plan_m, one.sd_height_m) == (0.0, 3.0)
    both = _together(fix(100.0, 200.0, 40.0), fix(100.00004, 200.00004, 40.00002))
    assert both.position_m == pytest.approx((100.00002, 200.00002, 40.00001), abs=1e-9)


@pytest.mark.parametrize(("east", "north", "up", "said"), [
    # Of 3 and 4 m: beyond the root of 9.21 times 5 m in plan; of 1 and 2 m beyond that of 6.63 times 2.24 m in height.
    (12.0, 9.0, 0.0, None), (12.3, 9.2, 0.0, "15 m apart"), (0.0, 0.0, 5.7, None), (0.0, 0.0, -5.8, "6 m apart in height"),
    (-15.3, 0.0, 9.0, "15 m apart"),
])  # fmt: skip
def test_two_fixes_disagree_beyond_what_one_in_a_hundred_does(east, north, up, said):
    """Source: chi-square of one and two degrees of freedom, 6.63 and 9.21 at 0.99, any table."""
    found = _contradiction(
        "Cairn", fix(0.0, 0.0, 50.0, 3.0, 1.0), fix(east, north, 50.0 + up, 4.0, 2.0), METRES
    )
    assert (found is None) is (said is None)
    assert said is None or f"are {said}, more than" in found.message


# --- parties ------------------------------------------------------------------------------------------------------


def lies(rotation, rotation_sd, scale, scale_sd):
    return SimpleNamespace(rotation_deg=rotation, rotation_sd_deg=rotation_sd, scale=scale, scale_sd=scale_sd)


def test_how_a_party_lies_is_told_with_its_errors():
    assert _how(lies(-8.2, 0.4, 1.001, 0.01), turned=True) == "turned by -8 ± 1 degrees"
    assert (
        _how(lies(8.2, 2.4, 1.04, 0.01), turned=True)
        == "turned by +8 ± 2 degrees and 1.04 ± 0.01 times as long"
    )
    assert _how(lies(0.2, 2.4, 0.3048, 0.002), turned=False) == "0.30 ± 0.01 times as long"
    assert _how(lies(0.2, 2.4, 1.02, 0.01), turned=False) == "as seen in a mirror"


@pytest.mark.parametrize(
    ("turned", "bearings", "declination", "paced", "distances", "expected"),
    [
        (True, North.TRUE, True, True, "unit", "bearings"),
        (True, North.MAGNETIC, True, True, "unit", "declination"),
        (True, North.MAGNETIC, False, True, "unit", "party"),
        (False, North.TRUE, True, True, "unit", "pace"),
        (False, North.TRUE, True, False, "unit", "unit"),
        (False, North.TRUE, True, False, None, "party"),
    ],
)
def test_a_party_that_differs_is_asked_about_at_the_line_that_it_hangs_on(
    turned, bearings, declination, paced, distances, expected
):
    conditions = SimpleNamespace(
        bearings=bearings, bearings_span="bearings", declination=SimpleNamespace(span="declination") if declination else None,
        pace=SimpleNamespace(span="pace"),
    )  # fmt: skip
    legs = [
        SimpleNamespace(conditions=conditions, distance=SimpleNamespace(unit=SimpleNamespace(is_pace=paced)))
    ]
    assert _where(legs, SimpleNamespace(span="party", distances=distances), turned=turned) == expected


def fit_of(rotation, scale, cause=None):
    """Each good to a degree and to two in a hundred."""
    return Fit(
        stations=("A", "B", "C"),
        rotation_deg=rotation,
        rotation_sd_deg=1.0,
        scale=scale,
        scale_sd=0.02,
        cause=cause,
    )


def laid(chi_square, places=3, *, mirrored=False):
    return SimpleNamespace(stations=(0,) * places, chi_square=chi_square, mirrored=mirrored)


def differs(monkeypatch, fit, lies_so):
    monkeypatch.setattr(party_fits, "fit_on_others", lambda *_: (fit, lies_so))
    conditions = SimpleNamespace(bearings=North.TRUE, bearings_span=None, declination=None, pace=None)
    leg = SimpleNamespace(
        conditions=conditions, distance=SimpleNamespace(unit=SimpleNamespace(is_pace=False))
    )
    party = SimpleNamespace(letters="AR", file="ar.trav", span=Span("ar.trav", 2, 1, 5), distances=None)
    return party_fits.party_fit(SimpleNamespace(legs=[leg]), party, None, {}, None, {}, None)


@pytest.mark.parametrize(
    ("rotation", "scale", "said"),
    [
        (2.9, 1.0, None), (-2.9, 1.059, None), (0.0, 0.941, None),
        (3.1, 1.0, "turned by +3 ± 1 degrees"), (-3.1, 1.0, "turned by -3 ± 1 degrees"),
        (0.0, 1.061, "1.06 ± 0.02 times as long"), (0.0, 0.939, "0.94 ± 0.02 times as long"),
        (4.0, 0.9, "turned by +4 ± 1 degrees and 0.90 ± 0.02 times as long"),
    ],
)  # fmt: skip
def test_a_party_differs_that_is_turned_or_stretched_by_more_than_three_of_its_errors(
    monkeypatch, rotation, scale, said
):
    found = differs(monkeypatch, fit_of(rotation, scale), laid(1.0))
    assert (found is None) is (said is None)
    if found is not None:
        assert found.how == said
        assert f"(A, B, C), its walk comes out {said}; no usual slip does just that" in found.question.message
        assert ("compass" in found.question.hints[0]) is (abs(rotation) > 3.0)


@pytest.mark.parametrize(
    ("chi_square", "places", "cause", "whole"),
    [
        # Two degrees of freedom of three places: 9.21; where a usual slip does just that four times as much.
        (9.2, 3, None, True), (9.22, 3, None, False), (36.8, 3, "single paces", True), (36.9, 3, "single paces", False),
        (0.0, 2, None, False), (0.0, 2, "single paces", True), (0.1, 2, "single paces", False),
    ],
)  # fmt: skip
def test_turn_and_scale_explain_how_a_party_lies_where_the_rest_is_within_its_errors(
    monkeypatch, chi_square, places, cause, whole
):
    """Source: chi-square of two degrees of freedom, 9.21 at 0.99, any table."""
    found = differs(monkeypatch, fit_of(0.0, 2.0, cause), laid(chi_square, places))
    assert found.whole is whole
    assert found.usual is (cause is not None)


@pytest.mark.parametrize(
    ("rotation", "scale", "mirrored", "usual"),
    [(8.0, 1.2, False, False), (8.0, 1.2, True, True), (8.0, 1.0, False, True)],
)
def test_a_usual_cause_makes_a_turn_or_a_scale_and_a_mirror_both(
    monkeypatch, rotation, scale, mirrored, usual
):
    assert (
        differs(monkeypatch, fit_of(rotation, scale, "declination"), laid(0.0, mirrored=mirrored)).usual
        is usual
    )


def test_heights_that_no_altimeter_told_are_those_of_known_points_and_off_a_map():
    text = (
        "notation 1\nbearings true\ncontrol 1 0 E 0 N 400 m map\ncontrol 2 100 E 0 N\ncontrol 5 9 E 9 N 77 m map\nat 1\nelevation 404 m altimeter\n"
        "to 2 090 100m\nelevation 431 m map\nto 3 090 50m\nelevation 440 m altimeter\nto 4 090 50m\nelevation 460 m map\n"
    )
    log = read_log(Source(name="day.trav", text=text), load=lambda *_: None).value.log
    assert elevation._known_heights(log, frozenset(), frozenset()) == {
        "1": 400.0,
        "2": 431.0,
        "4": 460.0,
        "5": 77.0,
    }
    last = next(one for one in log.items if getattr(one, "height_m", None) == 460.0)
    assert elevation._known_heights(log, frozenset({id(last)}), frozenset({"1"})) == {"2": 431.0, "5": 77.0}


def test_how_fast_the_air_may_move_an_altimeter_is_told_from_the_nearest_known_height():
    """6 m for each hour from it."""
    booked = [SimpleNamespace(address=SimpleNamespace(station=name)) for name in ("1", "2", "3", "1")]
    found = elevation._drift_sd_m(booked, [8.0, 9.0, 10.5, 11.0], {"1": 400.0})
    assert found == pytest.approx([0.0, 6.0, 3.0, 0.0])
    assert elevation._drift_sd_m(booked, [8.0, 9.0, 10.5, 11.0], {}) == [0.0] * 4
