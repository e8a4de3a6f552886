"""Sights and heights that check a walk or pull it over: what each says of its station, worked out from plain figures."""

from __future__ import annotations

import datetime as dt
import math
from types import SimpleNamespace

import numpy as np
import pytest

from traverse.adjustment.network import build_network
from traverse.length import METRES
from traverse.location import magnetic
from traverse.location.address import Spread, _largest_m, _share
from traverse.location.elevation import (
    elevation_checks,
    elevation_observations,
    readings_without_drift,
)
from traverse.location.known_points import known_points, unreached
from traverse.location.landmark import sight_checks, sight_observations
from traverse.location.sight_heights import _sd_m, height_disagrees
from traverse.notation.read import read_log
from traverse.source import Source

HEAD = "notation 1\nbearings true\n"
AS_READ = SimpleNamespace(grid_azimuth_deg=lambda sight, here: sight.bearing.azimuth_deg)
"""True north as the grid's."""


def page(text):
    reading = read_log(Source(name="day.trav", text=HEAD + text), load=lambda *_: None)
    assert [one.message for one in reading.diagnostics] == []
    log = reading.value.log
    fixes = known_points(log, None).value
    return log, fixes, build_network(log, fixes)


SIGHTED = "control Peak 700 E 1400 N ±3 m map\ncontrol 1 100 E 600 N\nprecision bearing 2\nat 1\nto 2 040 100m\nsight Peak {}\nto 3 100 50m\n"
RAW = np.array([(100.0, 600.0, 0.0), (164.0, 677.0, 0.0), (213.0, 668.0, 0.0)])


def whole(weight_or_onto):
    return np.asarray(weight_or_onto)[:2, :2]


@pytest.mark.parametrize("off", [0.0, 2.5, -4.0])
def test_a_sight_checks_what_lies_across_it(off):
    """From where the walk came to the peak lies on its true azimuth; read to its right, the walk lies to its right."""
    toward = np.array([700.0, 1400.0]) - RAW[1, :2]
    azimuth, distance = math.degrees(math.atan2(*toward)), math.hypot(*toward)
    log, fixes, network = page(SIGHTED.format(f"{azimuth + off:08.4f}"))
    (check,) = sight_checks(log, fixes, network, RAW, AS_READ)
    assert [step.edge for step in check.steps] == [0]
    # Any place on the line of the sight back from the peak agrees with it: what is left is how far across it the walk lies.
    turn = math.radians(azimuth + off)
    back = np.array([math.sin(turn), math.cos(turn)])
    foot = np.array([700.0, 1400.0]) - (toward @ back) * back
    across = RAW[1, :2] - foot
    size = np.linalg.norm(across)
    assert abs(check.misclosure_m[0]) == pytest.approx(size, abs=1e-3)
    assert size == pytest.approx(distance * abs(math.sin(math.radians(off))), abs=1e-3)
    right = np.array([math.cos(turn), -math.sin(turn)])
    assert check.misclosure_m[0] == pytest.approx(float(across @ right), abs=1e-3)
    assert check.onto[0, :2] == pytest.approx(right, abs=1e-5)
    assert np.abs(check.onto[1:]).max() == 0.0
    # Two degrees at its distance, and what the peak is good to.
    assert check.covariance_m2[0, 0] == pytest.approx((math.radians(2.0) * distance) ** 2 + 9.0, rel=1e-6)


@pytest.mark.parametrize("off", [0.0, 2.5, -4.0])
def test_a_sight_holds_its_station_on_its_line_and_nothing_along_it(off):
    toward = np.array([700.0, 1400.0]) - RAW[1, :2]
    azimuth, distance = math.degrees(math.atan2(*toward)), math.hypot(*toward)
    log, fixes, network = page(SIGHTED.format(f"{azimuth + off:08.4f}"))
    (seen,) = sight_observations(log, fixes, network, RAW, AS_READ)
    turn = math.radians(azimuth + off)
    variance = (math.radians(2.0) * distance) ** 2 + 9.0
    across = np.array([math.cos(turn), -math.sin(turn)])
    assert network.names[seen.station] == "2"
    assert whole(seen.weight) == pytest.approx(np.outer(across, across) / variance, rel=1e-6)
    assert np.abs(np.asarray(seen.weight)[2]).max() == 0.0
    assert seen.value_m[:2] == pytest.approx((700.0, 1400.0))


def test_a_sight_far_off_the_walk_pulls_nothing_and_one_from_a_known_point_checks_nothing():
    toward = np.array([700.0, 1400.0]) - RAW[1, :2]
    azimuth = math.degrees(math.atan2(*toward))
    log, fixes, network = page(SIGHTED.format(f"{azimuth + 90.0:08.4f}"))
    assert sight_observations(log, fixes, network, RAW, AS_READ) == []
    assert len(sight_checks(log, fixes, network, RAW, AS_READ)) == 1
    text = SIGHTED.replace("at 1\n", f"at 1\nsight Peak {azimuth:08.4f}\n").replace("sight Peak {}\n", "")
    log, fixes, network = page(text)
    assert sight_observations(log, fixes, network, RAW, AS_READ) == []
    assert sight_checks(log, fixes, network, RAW, AS_READ) == []


READ = "control 1 0 E 0 N 400 m map\nat 1\nto 2 040 100m +5\nelevation 430 m ±{} m map\nto 3 100 50m\n"


@pytest.mark.parametrize(("error", "sd_m"), [("4", 4.0), ("0.5", 0.5), ("0.001", 0.01)])
def test_a_height_that_was_read_checks_and_holds_nothing_but_height(error, sd_m):
    """A centimetre is the best that any height is taken for."""
    log, _, network = page(READ.format(error))
    readings = readings_without_drift(log).value
    raw = np.array([(0.0, 0.0, 400.0), (64.0, 77.0, 408.7), (100.0, 60.0, 408.7)])
    (check,) = elevation_checks(readings, network, raw)
    assert check.misclosure_m == pytest.approx((0.0, 0.0, 408.7 - 430.0))
    assert check.covariance_m2[2, 2] == pytest.approx(sd_m**2)
    assert check.onto == pytest.approx(np.diag((0.0, 0.0, 1.0)))
    assert [step.edge for step in check.steps] == [0]
    (seen,) = elevation_observations(readings, network)
    assert network.names[seen.station] == "2"
    assert seen.weight == pytest.approx(np.diag((0.0, 0.0, 1.0 / sd_m**2)))
    assert seen.value_m[2] == 430.0


def sighted(slope, **more):
    """A sight with its vertical angle, from a place whose own error is known in plan and height."""
    text = f"control Peak 0 E 1000 N {more.pop('peak', 200)} m ±{more.pop('peak_sd', 3)} m map\ncontrol 1 0 E 0 N 100 m\nprecision slope 1\nat 1\nsight Peak 000 {slope}\nto 2 090 10m\n"
    log, fixes, _ = page(text)
    (sight,) = [item for item in log.items if type(item).__name__ == "Sight"]
    covariance = tuple(tuple(map(float, row)) for row in np.diag((1.0, 1.0, more.get("up_sd", 0.0) ** 2)))
    address = SimpleNamespace(
        east_m=0.0, north_m=0.0, up_m=100.0, sd_m=more.get("plan_sd", 0.0), covariance_m2=covariance
    )
    return sight, address, fixes["Peak"]


@pytest.mark.parametrize(
    ("slope", "up_sd", "plan_sd", "target_sd"),
    [("+5", 0.0, 0.0, 0.0), ("+5", 4.0, 0.0, 0.0), ("+30", 0.0, 20.0, 0.0), ("-30", 3.0, 20.0, 15.0)],
)
def test_the_error_of_a_height_by_a_sight_is_what_drawn_readings_scatter(slope, up_sd, plan_sd, target_sd):
    """40,000 draws of the angle by a degree, of the height sighted from, and of the distance by both places."""
    sight, address, _ = sighted(slope, up_sd=up_sd, plan_sd=plan_sd)
    rng = np.random.default_rng(5)
    draw = rng.normal(size=(4, 40_000))
    angle = math.radians(float(slope)) + math.radians(1.0) * draw[0]
    far = 1000.0 + plan_sd * draw[1] + target_sd * draw[2]
    up = far * np.tan(angle) + up_sd * draw[3]
    assert _sd_m(sight, address, 1000.0, target_sd**2) == pytest.approx(up.std(), rel=0.03)


def test_the_error_of_a_height_by_a_sight_that_runs_a_few_paces_is_no_less_than_a_decimetre():
    sight, address, _ = sighted("+1")
    assert _sd_m(sight, address, 1.0, 0.0) == 0.1


@pytest.mark.parametrize("side", [1.0, -1.0])
@pytest.mark.parametrize(("peak_sd", "up_sd"), [(1, 0.0), (30, 0.0), (1, 40.0)])
@pytest.mark.parametrize(("share", "asked"), [(3.25, False), (3.33, True)])
def test_a_vertical_angle_is_asked_about_beyond_what_one_in_a_thousand_is_off_by(
    side, peak_sd, up_sd, share, asked
):
    """3.29 deviations: of a degree at 1000 m, of where it was read, and of the peak's height and, by the slope, its place.

    The slope as read is sought at which it is off by so many of its own deviations.
    """
    peak_m2 = float(peak_sd) ** 2
    tangent = 0.1
    for _ in range(30):
        own = 1000.0 * math.radians(1.0) * (1.0 + tangent**2)
        sd = math.sqrt(own**2 + up_sd**2 + tangent**2 * peak_m2 + peak_m2)
        tangent = 0.1 + side * share * sd / 1000.0
    sight, address, fix = sighted(f"{math.degrees(math.atan(tangent)):+.4f}", peak_sd=peak_sd, up_sd=up_sd)
    told = height_disagrees(sight, address, fix)
    assert (told is not None) is asked
    assert told is None or "about +6" in told.message


# --- addresses and known points ---------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(4))
def test_the_larger_half_axis_is_the_root_of_the_larger_eigenvalue(seed):
    root = np.random.default_rng(seed).normal(size=(3, 3))
    covariance = root @ root.T
    assert _largest_m(covariance) == pytest.approx(
        math.sqrt(np.linalg.eigvalsh(covariance[:2, :2])[-1]), abs=1e-6
    )


@pytest.mark.parametrize("ground_m", [0.0, 80.0])
def test_a_place_along_a_leg_is_its_share_of_the_ground_walked(ground_m):
    log, *_ = page("at 1\nto 2 040 80m\nalong 20m\nrock Marl\n")
    (leg,) = log.legs
    distance = next(one.start for one in log.addresses if one.start is not None)
    assert _share(distance, leg, ground_m) == (0.25 if ground_m else 0.0)
    assert _share(None, leg, ground_m) == 0.0


@pytest.mark.parametrize("share", [0.0, 0.25, 0.5, 1.0])
def test_the_covariance_along_a_leg_is_that_of_a_mixture_of_its_ends(share):
    """x = (1 - s) a + s b of two ends that were drawn together."""
    rng = np.random.default_rng(3)
    root = rng.normal(size=(6, 6))
    joint = root @ root.T
    adjusted = SimpleNamespace(
        covariance_m2=np.array([joint[:3, :3], joint[3:, 3:]]), between_m2=np.array([joint[:3, 3:]])
    )
    network = SimpleNamespace(start=np.array([0]), end=np.array([1]), index={"1": 0, "2": 1})
    spread = Spread(network=network, adjusted=adjusted, sighted={"Mast": 7.0 * np.eye(3)}, walked_m2={})
    mixed = np.hstack(((1.0 - share) * np.eye(3), share * np.eye(3)))
    assert spread.at(0, share) == pytest.approx(mixed @ joint @ mixed.T)
    assert spread.of("2") == pytest.approx(joint[3:, 3:])
    assert spread.of("Mast") == pytest.approx(7.0 * np.eye(3))
    walked = Spread(network=network, adjusted=adjusted, sighted={}, walked_m2={0: 4.0 * np.eye(3)})
    assert walked.at(0, share) == pytest.approx(joint[:3, :3] + share**2 * 4.0 * np.eye(3))


@pytest.mark.parametrize(
    ("off", "sd_m", "asked"),
    [(29.0, 2.0, True), (31.0, 2.0, False), (59.0, 20.0, True), (61.0, 20.0, False), (70.0, 20.0, False)],
)
def test_a_known_point_never_come_to_is_asked_about_within_thirty_metres_or_three_deviations(
    off, sd_m, asked
):
    """Of the two stations the nearer one is told."""
    log, fixes, network = page("control Cairn 1000 E 1000 N\nat 1\nto 2 090 40m\n")
    raw = SimpleNamespace(
        position_m=np.array([(1000.0 - off - 40.0, 1000.0, 0.0), (1000.0 - off, 1000.0, 0.0)])
    )
    network = SimpleNamespace(index=network.index, names=network.names, placed=np.array([True, True]))
    (one,) = unreached(log, fixes, network, raw, np.full(2, sd_m))
    assert (one.severity.value == "warning") is asked
    assert not asked or f"2 comes out {METRES.said_finely(off)} from it" in one.message


def test_the_declination_of_a_day_lies_between_those_of_its_year_s_ends():
    """Within a year of a model it runs evenly: a fifth of the year on, a fifth of the change."""
    start, end = (magnetic.declination_at(60.0, 10.0, 0.0, dt.date(year, 1, 1)) for year in (2025, 2026))
    day = magnetic.declination_at(60.0, 10.0, 0.0, dt.date(2025, 1, 1) + dt.timedelta(days=73))
    assert day - start == pytest.approx((end - start) / 5.0, abs=0.002)
    assert abs(end - start) > 0.05
