"""Least squares over networks, against routes that share no code with it."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import least_squares as minimise

from tests.walk import conditions, control, pace, tie, walk
from traverse.adjustment import elimination, normal_equations
from traverse.survey import survey_log


def random_network(seed, *, stations=12, loops=5, sd=None):
    """Legs between true places, read with noise; a tree first, then legs that close."""
    rng = np.random.default_rng(seed)
    place = rng.uniform(0, 400, (stations, 3)) * (1.0, 1.0, 0.05)
    pairs = [(int(rng.integers(0, i)), i) for i in range(1, stations)]
    while len(pairs) < stations - 1 + loops:
        a, b = sorted(rng.choice(stations, 2, replace=False).tolist())
        if (a, b) not in pairs:
            pairs.append((a, b))
    legs = []
    for a, b in pairs:
        east, north, up = place[b] - place[a]
        level = np.hypot(east, north)
        azimuth = np.degrees(np.arctan2(east, north)) + rng.normal(0, 0.2)
        slope = np.degrees(np.arctan2(up, level)) + rng.normal(0, 0.2)
        length = np.hypot(level, up) * (1 + rng.normal(0, 0.004))
        legs.append((str(a), str(b), azimuth, f"{length:.3f}p", {"slope": slope}))
    controls = [control("0", *place[0], sd=sd, sd_height=sd)]
    if sd:
        controls.append(control(str(stations - 1), *place[-1], sd=sd, sd_height=sd))
    return walk(
        *legs, at=conditions(pace=pace(1.0)), controls=controls, rule="least-squares", anyway="test"
    ), rng


@pytest.mark.parametrize("seed", range(10))
def test_against_a_general_solver_on_bearings_distances_and_slopes(seed):
    """scipy.optimize.least_squares on the readings themselves; vectors are a first-order form of them."""
    log, _ = random_network(seed)
    survey = survey_log(log).value
    names = list(survey.places)
    at = {name: i for i, name in enumerate(names)}
    start = np.array([at[leg.start] for leg in log.legs])
    end = np.array([at[leg.end] for leg in log.legs])
    azimuth = np.radians([leg.bearing.azimuth_deg for leg in log.legs])
    slope = np.radians([leg.slope.value for leg in log.legs])
    distance = np.array([leg.distance.value for leg in log.legs])

    def residuals(flat):
        place = np.vstack((np.array([[*start_place]]), flat.reshape(-1, 3)))
        d = place[end] - place[start]
        level = np.hypot(d[:, 0], d[:, 1])
        turned = np.angle(np.exp(1j * (np.arctan2(d[:, 0], d[:, 1]) - azimuth)))
        climb = np.arctan2(d[:, 2], level) - slope
        longer = (np.hypot(level, d[:, 2]) - distance) / (0.02 * distance)
        return np.concatenate((turned / np.radians(1), climb / np.radians(1), longer))

    first = survey.places["0"]
    start_place = (first.east_m, first.north_m, first.up_m)
    guess = np.array([[p.raw.east_m, p.raw.north_m, p.raw.up_m] for p in survey.places.values()])[1:]
    solved = minimise(residuals, guess.ravel(), xtol=1e-12, ftol=1e-12).x.reshape(-1, 3)
    ours = np.array([[p.east_m, p.north_m, p.up_m] for p in survey.places.values()])[1:]
    deviation = np.array([[p.sd_east_m, p.sd_north_m, p.sd_up_m] for p in survey.places.values()])[1:]
    assert np.abs((ours - solved) / deviation).max() < 0.1


@pytest.mark.parametrize("sd", [None, 3.0])
@pytest.mark.parametrize("seed", range(5))
def test_elimination_by_blocks_is_the_whole_inverse(seed, sd, monkeypatch):
    log, _ = random_network(seed, stations=30, loops=12, sd=sd)
    dense = survey_log(log).value
    monkeypatch.setattr(normal_equations, "DENSE_LIMIT", 0)
    sparse = survey_log(log).value
    for name, place in dense.places.items():
        other = sparse.places[name]
        assert (other.east_m, other.north_m, other.up_m) == pytest.approx(
            (place.east_m, place.north_m, place.up_m), abs=1e-7
        )
        assert other.sd_east_m == pytest.approx(place.sd_east_m, abs=1e-9)
        assert other.ellipse.major_m == pytest.approx(place.ellipse.major_m, abs=1e-9)


@pytest.mark.parametrize("sd", [None, 3.0])
def test_a_tangled_network_is_solved_with_errors_that_are_bounds(sd, monkeypatch):
    log, _ = random_network(3, stations=30, loops=40, sd=sd)
    exact = survey_log(log).value
    monkeypatch.setattr(normal_equations, "DENSE_LIMIT", 0)
    monkeypatch.setattr(elimination, "COST_LIMIT", 10)
    outcome = survey_log(log)
    assert "tangled" in [one.code for one in outcome.diagnostics]
    for name, place in outcome.value.places.items():
        other = exact.places[name]
        assert (place.east_m, place.north_m, place.up_m) == pytest.approx(
            (other.east_m, other.north_m, other.up_m), abs=1e-6
        )
        assert place.sd_east_m >= other.sd_east_m - 1e-9
        assert place.ellipse.major_m >= other.ellipse.major_m - 1e-9


def test_an_open_walk_has_the_sum_of_its_legs_covariances():
    log = walk(("1", "2", 0, "100p"), ("2", "3", 90, "100p"), at=conditions(pace=pace(1.0)))
    place = survey_log(log).value.places["3"]
    along, across = 2.0, np.radians(1) * 100
    both = np.hypot(along, across)
    assert (place.sd_east_m, place.sd_north_m) == pytest.approx((both, both))


def test_a_held_control_is_exact_and_one_with_an_error_is_not():
    legs = [("1", "2", 90, 100), ("2", "9", 90, 100)]
    held = survey_log(walk(*legs, controls=[control("1", 0, 0), control("9", 200, 0)])).value
    assert held.places["9"].sd_east_m == 0.0
    assert held.places["2"].sd_east_m == pytest.approx(0.5 / np.sqrt(2))
    loose = survey_log(walk(*legs, controls=[control("1", 0, 0, sd=4)])).value
    assert loose.places["9"].sd_east_m == pytest.approx(np.sqrt(16 + 0.5))
    assert loose.worst_station_m == pytest.approx(np.radians(1) * 100 * np.sqrt(2))
    assert loose.control_sd_m == 4


def test_a_loose_tie_pulls_and_a_firm_one_binds():
    legs = [("1", "2", 90, 100), ("2", "3", 180, 100), ("1", "7", 180, 100), ("7", "8", 90, 103)]
    firm = survey_log(walk(*legs, ties=[tie("8", "3", line=500)], rule="least-squares")).value
    loose = survey_log(walk(*legs, ties=[tie("8", "3", sd=2.0, line=500)], rule="least-squares")).value
    apart = [s.places["8"].east_m - s.places["3"].east_m for s in (firm, loose)]
    assert apart[0] == pytest.approx(0.0, abs=1e-9)
    assert 0.5 < apart[1] < 3.0


def test_readings_without_any_error_do_not_break_the_solution():
    from traverse.log.readings import Precision

    exact = Precision(bearing_deg=0.0, slope_deg=0.0, tape_share=0.0)
    legs = [("1", "2", 90, 100), ("2", "3", 180, 100), ("3", "1", 315, 141.4)]
    survey = survey_log(walk(*legs, at=conditions(precision=exact))).value
    assert all(np.isfinite(place.east_m) for place in survey.places.values())


@pytest.mark.thorough
def test_simulated_loops_hold_what_the_ellipses_promise():
    """39.3 in 100 true places within one standard ellipse; q below 5.99 in 95 of 100 (chi-square, 2 degrees)."""
    rng = np.random.default_rng(7)
    place = np.array([[0, 0], [90, 60], [180, 30], [200, -80], [90, -110]], dtype=float)
    inside, q = [], []
    for _ in range(400):
        legs = []
        for i in range(5):
            east, north = place[(i + 1) % 5] - place[i]
            azimuth = np.degrees(np.arctan2(east, north)) + rng.normal(0, 1)
            legs.append(
                (str(i), str((i + 1) % 5), azimuth, f"{np.hypot(east, north) * (1 + rng.normal(0, 0.02))}p")
            )
        log = walk(
            *legs,
            at=conditions(pace=pace(1.0)),
            controls=[control("0", 0, 0)],
            rule="least-squares",
            anyway="x",
        )
        survey = survey_log(log).value
        q.append(survey.closures[0].q)
        two = survey.places["2"]
        turn = np.radians(two.ellipse.azimuth_deg)
        off = np.array([two.east_m, two.north_m]) - place[2]
        u = off @ (np.sin(turn), np.cos(turn)) / two.ellipse.major_m
        v = off @ (np.cos(turn), -np.sin(turn)) / two.ellipse.minor_m
        inside.append(u * u + v * v < 1.0)
    assert np.mean(inside) == pytest.approx(0.393, abs=0.075)  # three standard errors of 400 trials
    assert np.mean(np.array(q) < 5.99) == pytest.approx(0.95, abs=0.033)
