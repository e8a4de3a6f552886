"""The walk laid on known points."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from tests.walk import conditions, control, pace, walk
from traverse.adjustment.fit import similarity
from traverse.log.readings import North
from traverse.survey import survey_log

LEGS = [("1", "2", 50, 140), ("2", "3", 120, 160), ("3", "4", 30, 150), ("4", "5", 80, 130)]
PLACES = {"1": np.zeros(2)}
for _start, _end, _azimuth, _length in LEGS:
    _a = np.radians(_azimuth)
    PLACES[_end] = PLACES[_start] + _length * np.array([np.sin(_a), np.cos(_a)])


def laid(points, *, turn=0.0, scale=1.0, mirror=1.0, unit="p", at=None, sd=None):
    """The walk as booked with everything turned, stretched or mirrored, on points that are right."""
    legs = [
        (a, b, (mirror * azimuth + turn) % 360, f"{scale * length}{unit}") for a, b, azimuth, length in LEGS
    ]
    at = at or conditions(pace=pace(1.0))
    controls = [control(name, *PLACES[name], sd=sd) for name in points]
    return survey_log(walk(*legs, at=at, controls=controls))


def test_turn_and_scale_of_two_points():
    survey, _ = laid("15", turn=5.0, scale=1.02)
    [fit] = survey.fits
    assert fit.stations == ("1", "5")
    assert fit.rotation_deg == pytest.approx(5.0)
    assert fit.scale == pytest.approx(1.02)


def test_three_points_that_agree_give_the_same():
    survey, _ = laid("135", turn=-3.0, scale=0.97)
    [fit] = survey.fits
    assert (fit.rotation_deg, fit.scale) == pytest.approx((-3.0, 0.97))


def test_standard_errors_are_those_of_the_way_between():
    """A straight walk of four legs of 100 m: along, 2 per cent each; across, a degree each; both over 400 m."""
    legs = [(str(i), str(i + 1), 90, "100p") for i in range(1, 5)]
    log = walk(*legs, at=conditions(pace=pace(1.0)), controls=[control("1", 0, 0), control("5", 400, 0)])
    [fit] = survey_log(log).value.fits
    assert fit.scale_sd == pytest.approx(0.02 / 2)
    assert fit.rotation_sd_deg == pytest.approx(1.0 / 2)


def test_errors_of_the_points_count():
    tight, loose = laid("15").value.fits[0], laid("15", sd=10.0).value.fits[0]
    assert loose.rotation_sd_deg > 2 * tight.rotation_sd_deg


def test_one_point_says_nothing():
    assert laid("1").value.fits == ()


@pytest.mark.parametrize(
    ("settings", "cause"),
    [
        ({"scale": 2.0}, "single paces counted as double"),
        ({"scale": 0.5}, "double paces counted as single"),
        ({"scale": 3.2808, "unit": "m"}, "feet taken for metres"),
        ({"scale": 1.0, "unit": "ft"}, "metres taken for feet"),
        ({}, None),
        ({"turn": 2.0}, None),
    ],
)
def test_likely_cause_of_a_stretch(settings, cause):
    survey, diagnostics = laid("15", **settings)
    [fit] = survey.fits
    assert fit.cause == cause
    # The suspects may have named it first; then it is not told twice.
    named = "walk-does-not-fit" in [one.code for one in diagnostics]
    named |= any("throughout" in one.slip for one in survey.suspects[:1])
    assert named == (cause is not None)


@pytest.mark.parametrize(("turn", "cause"), [(0.0, "applied twice"), (8.5, "wrong sign")])
def test_likely_cause_of_a_turn(turn, cause):
    """Readings of a set dial turn by the declination once more; with the wrong sign, by twice of it."""
    at = conditions(bearings=North.MAGNETIC, declination=8.5, pace=pace(1.0))
    survey, _ = laid("15", turn=turn, at=at)
    assert cause in survey.fits[0].cause


def test_bearings_called_true_leave_the_declination_out():
    at = conditions(bearings=North.TRUE, declination=8.5, pace=pace(1.0))
    assert "left out" in laid("15", turn=-8.5, at=at)[0].fits[0].cause
    assert laid("15", turn=8.5, at=at)[0].fits[0].cause is None


def test_no_declination_explains_a_walk_that_is_stretched_too():
    at = conditions(bearings=North.MAGNETIC, declination=8.5, pace=pace(1.0))
    survey, diagnostics = laid("15", turn=8.5, scale=0.9, at=at)
    assert survey.fits[0].cause is None
    assert "walk-does-not-fit" not in [one.code for one in diagnostics]


def test_a_mirrored_dial_is_seen_with_three_points():
    survey, _ = laid("135", mirror=-1.0)
    assert "mirror" in survey.fits[0].cause


@pytest.mark.parametrize("seed", range(20))
def test_shift_turn_and_scale_are_those_of_a_general_library(seed):
    """`scipy.spatial.transform.Rotation.align_vectors` of the places about their middle, all errors alike; with the turn
    known, the scale of least squares is the mean of the products over that of the squares (any text of regression)."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(2, 9))
    known = rng.uniform(-200.0, 200.0, (count, 2))
    turn, scale = rng.uniform(-180.0, 180.0), rng.uniform(0.3, 3.5)
    cos, sin = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    walked = scale * known @ np.array([[cos, -sin], [sin, cos]]) + rng.uniform(-1e3, 1e3, 2)
    walked += rng.normal(0.0, 3.0, walked.shape)
    found = similarity(known, walked, 9.0 * np.eye(2 * count))
    from_, to = known - known.mean(axis=0), walked - walked.mean(axis=0)
    level = np.zeros((count, 1))
    rotation, _ = Rotation.align_vectors(
        np.vstack((np.hstack((to, level)), 1e9 * np.array([[0, 0, 1.0]]))),
        np.vstack((np.hstack((from_, level)), 1e9 * np.array([[0, 0, 1.0]]))),
    )
    expected = -rotation.as_euler("xyz", degrees=True)[2]  # clockwise of the grid's north
    assert (found.rotation_deg - expected + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=1e-6)
    turned = rotation.apply(np.hstack((from_, level)))[:, :2]
    assert found.scale == pytest.approx(float((turned * to).sum() / (from_**2).sum()), abs=2e-9)
    left = to - found.scale * turned
    assert np.abs(found.residual_m - left).max() < 1e-6
    assert found.chi_square == pytest.approx(float((left**2).sum() / 9.0), abs=1e-6)
