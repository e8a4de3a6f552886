"""What lies across the strike: distances, arms, one plane through two places, outliers; each limit from both sides.

By plain geometry in a grid whose north is 7° off true; sums of errors by any textbook of statistics.
"""

import math
from types import SimpleNamespace

import numpy as np
import pytest
import shapely

from traverse.log.items import ContactKind, HowMet
from traverse.structure.walk.across import Across, _alike, _tilted, along
from traverse.structure.walk.arms import ArmStep, _monotone, _Piece, _steps
from traverse.structure.walk.contact_lines import _by_dip, _cut_corner
from traverse.structure.walk.outliers import _is_outlier
from traverse.trade import (
    ALIKE_DEG,
    CAP_DEG,
    OUTLIER_BED_DEG,
    OUTLIER_MEAN_DEG,
    OUTLIER_RISE,
    OUTLIER_SD_DEG,
    POLE_SD_DEG,
    SURE_SD,
)

TURN_DEG = 7.0


def pole(dip_deg, way_deg):
    dip, way = math.radians(dip_deg), math.radians(way_deg - TURN_DEG)
    return np.array([math.sin(dip) * math.sin(way), math.sin(dip) * math.cos(way), math.cos(dip)])


def contact(at, plane, *, sd_m=1.0, younger="Bb", older="Aa"):
    """A place good to so much all round in plan; `plane` is dip and dip direction, true."""
    booked = SimpleNamespace(
        plane=SimpleNamespace(sd_deg=2.0, overturned=False),
        conditions=SimpleNamespace(precision=SimpleNamespace(attitude_deg=2.0)),
    )
    place = SimpleNamespace(east_m=at[0], north_m=at[1], relative_up_m=at[2], covariance_m2=None, sd_m=sd_m, leg_azimuth_deg=None,
                            right_m=0.0)  # fmt: skip
    return SimpleNamespace(booked=booked, place=place, dip_deg=plane[0], strike_deg=plane[1] - 90.0, younger=younger, older=older,
                           own_sd_m=0.0, met=HowMet.CROSSED, kind=ContactKind.CONTACT)  # fmt: skip


def seen(**known):
    made = Across.__new__(Across)
    for name, value in ({"to_true_deg": TURN_DEG, "beds": (), "alike": None} | known).items():
        object.__setattr__(made, name, value)
    return made


@pytest.mark.parametrize("way_deg", [35.0, 140.0, 260.0])
@pytest.mark.parametrize(("share", "one"), [(0.97, True), (1.03, False), (-0.97, True), (-1.03, False)])
@pytest.mark.parametrize("all_beds", [None, 0.8])
def test_one_plane_goes_through_two_places_within_three_errors_of_both_and_of_the_plane(
    share, one, way_deg, all_beds
):
    normal = pole(40.0, way_deg)
    strike = np.array([-normal[1], normal[0], 0.0]) / math.hypot(*normal[:2])
    sd_deg = POLE_SD_DEG if all_beds is None else all_beds
    off = 0.0
    for _ in range(5):
        step = 70.0 * strike + off * normal
        places = math.sqrt(2.0) * math.hypot(*normal[:2])
        off = share * SURE_SD * math.hypot(places, float(np.linalg.norm(step)) * math.radians(sd_deg))
    pair = (
        contact((0.0, 0.0, 0.0), (40.0, way_deg)),
        contact(tuple(70.0 * strike + off * normal), (40.0, way_deg)),
    )
    made = seen(alike=None if all_beds is None else (normal, all_beds))
    assert made.is_one_contact(pair) is one
    assert made.is_one_contact(pair[::-1]) is one
    assert made.is_one_contact((pair[0], pair[0])) is True
    assert made.is_one_contact(pair[:1]) is False
    assert made.is_one_contact((pair[0], contact((0.0, 0.0, 0.0), (40.0, way_deg), older="Cc"))) is False


@pytest.mark.parametrize(("apart_deg", "one"), [(ALIKE_DEG - 0.3, True), (ALIKE_DEG + 0.3, False)])
def test_places_whose_beds_differ_more_than_two_readings_of_a_panel_are_two(apart_deg, one):
    pair = contact((0.0, 0.0, 0.0), (40.0, 90.0)), contact((0.1, 0.1, 0.0), (40.0 + apart_deg, 90.0))
    assert seen().is_one_contact(pair) is one


def test_the_border_of_a_step_is_the_contact_of_its_two_units_nearest_to_it():
    arm = (
        ArmStep(unit="Aa", start_m=0.0, end_m=50.0),
        ArmStep(unit="Bb", start_m=50.0, end_m=90.0),
        ArmStep(unit="Cc", start_m=90.0, end_m=99.0),
    )
    pair = frozenset({"Aa", "Bb"})
    made = seen(met={pair: ("far", "near", "later")}, met_m={pair: np.array([20.0, 53.0, 46.0])})
    assert made.border(arm, 1) == "near"
    assert made.border(arm, 2) is None
    assert (made.border(arm, 0), made.border(arm, 3)) == (None, None)
    assert made.borders(arm, 1) == ("near",)
    assert seen(azimuth_deg=120.0).toward_deg(1.0) == 120.0
    assert seen(azimuth_deg=120.0).toward_deg(-1.0) == 300.0


def test_a_distance_across_is_counted_along_its_direction():
    for azimuth in (15.0, 130.0, 250.0):
        way = np.array([math.sin(math.radians(azimuth)), math.cos(math.radians(azimuth))])
        place = SimpleNamespace(east_m=30.0 * way[0] + 9.0 * way[1], north_m=30.0 * way[1] - 9.0 * way[0])
        assert along(place, way) == pytest.approx(30.0)


def standing(dip_deg, way_deg=90.0, sd_deg=2.0, unit="Aa"):
    attitude = SimpleNamespace(dip_deg=dip_deg, dip_direction_deg=way_deg, sd_deg=sd_deg)
    return SimpleNamespace(attitude=attitude, dip_deg=dip_deg, sd_deg=sd_deg, unit=unit)


def test_beds_that_do_not_turn_are_told_by_their_mean_as_well_as_they_scatter():
    beds = [standing(dip, way) for dip, way in ((30.0, 95.0), (41.0, 99.0), (36.0, 80.0), (33.0, 91.0))]
    normal, sd_deg = _alike(beds, TURN_DEG)
    poles = np.array([pole(bed.attitude.dip_deg, bed.attitude.dip_direction_deg) for bed in beds])
    axis = np.linalg.svd(poles)[2][0]
    assert abs(float(normal @ axis)) == pytest.approx(1.0)
    off = np.degrees(np.arccos(np.minimum(1.0, np.abs(poles @ axis))))
    assert sd_deg == pytest.approx(math.sqrt(float(off @ off)) / 4.0, rel=1e-6)
    same = [standing(30.0, sd_deg=sd) for sd in (1.0, 2.0, 3.0, 2.0)]
    assert _alike(same, TURN_DEG)[1] == pytest.approx(3.0 / math.sqrt(4.0))
    assert _alike(beds[:2], TURN_DEG) is None


@pytest.mark.parametrize("count", [1, 4, 9])
def test_a_unit_is_too_steep_for_a_cap_by_the_middle_of_its_dips_less_its_error(count):
    limit = CAP_DEG + 3.0 * 2.0 / math.sqrt(count)
    for dip, steep in ((limit - 0.1, False), (limit + 0.1, True)):
        assert (_tilted([standing(dip)] * count, sure_sd=3.0) == {"Aa"}) is steep
    assert _tilted([standing(CAP_DEG - 0.1)] * count) == set()
    assert _tilted([standing(CAP_DEG + 0.1)] * count) == {"Aa"}
    assert _tilted([standing(2.0), standing(3.0), standing(60.0)]) == set()


# --- arms ----------------------------------------------------------------------------------------------------


def pieces(*stretches):
    """Pieces of one leg each by start and end across, every unit another."""
    return [_Piece(start, end, f"U{index}", index, 0.0, 0.0) for index, (start, end) in enumerate(stretches)]


LOG = SimpleNamespace(legs=[SimpleNamespace(start=str(at), end=str(at + 1)) for at in range(9)])


@pytest.mark.parametrize("sense", [1.0, -1.0])
@pytest.mark.parametrize(("back_m", "arms"), [(9.5, [5]), (10.5, [2, 1, 2])])
def test_a_walk_turns_back_where_it_goes_back_by_more_than_a_limit(back_m, arms, sense):
    run = [(0.0, 40.0), (40.0, 80.0), (80.0, 80.0 - back_m), (80.0 - back_m, 110.0), (110.0, 150.0)]
    found = _monotone(pieces(*((sense * one, sense * other) for one, other in run)), LOG, 10.0)
    assert [len(one) for one in found] == arms


def test_a_walk_over_and_back_is_two_arms_and_legs_apart_are_others():
    found = _monotone(pieces((0.0, 40.0), (40.0, 80.0), (80.0, 35.0), (35.0, 0.0)), LOG, 10.0)
    assert [[piece.leg for piece in one] for one in found] == [[0, 1], [2, 3]]
    broken = SimpleNamespace(legs=[SimpleNamespace(start=a, end=b) for a, b in ("12", "23", "78", "89")])
    found = _monotone(pieces((0.0, 40.0), (40.0, 80.0), (80.0, 120.0), (120.0, 160.0)), broken, 10.0)
    assert [[piece.leg for piece in one] for one in found] == [[0, 1], [2, 3]]


@pytest.mark.parametrize("back", [False, True])
def test_units_of_an_arm_stand_by_distance_with_faults_between(back):
    """Of a walk against the count too; equal neighbours are one step unless a fault parts them."""
    run = [_Piece(0.0, 40.0, "Aa", 0, 1.0, 5.0), _Piece(40.0, 60.0, "Aa", 0, 5.0, 7.0), _Piece(60.0, 100.0, "Bb", 1, 7.0, 3.0),
           _Piece(100.0, 120.0, None, 1, 3.0, 3.0), _Piece(120.0, 160.0, "Bb", 2, 3.0, 11.0)]  # fmt: skip
    if back:
        run = [piece.turned() for piece in run[::-1]]
    fault = SimpleNamespace(order=5)
    found = _steps(run, {2: [(140.0, fault)]}, frozenset(), True)
    assert [(one.unit, one.start_m, one.end_m) for one in found] == [
        ("Aa", 0.0, 60.0),
        ("Bb", 60.0, 140.0),
        ("Bb", 140.0, 160.0),
    ]
    assert [one.fault_before for one in found] == [None, None, fault]
    assert found[0].ground == ((0.0, 1.0), (40.0, 5.0), (40.0, 5.0), (60.0, 7.0))
    assert found[2].ground == ((140.0, 7.0), (160.0, 11.0))
    assert [one.unit for one in _steps(run, {}, frozenset({"Bb"}), False)] == ["Aa"]


# --- outliers ------------------------------------------------------------------------------------------------


def outlier(dips, *, rise_m, dip_deg=4.0, younger=True, sink_m=0.0):
    """Whether a unit 100 m across, on ground so much over the plane of its borders, is one; beds at its ends and within."""
    fall = math.tan(math.radians(dip_deg))
    sign = 1.0 if younger else -1.0
    ground = tuple(
        (x, 50.0 - x * fall + sign * over)
        for x, over in ((10.0, 0.0), (40.0, rise_m), (80.0, -sink_m), (110.0, 0.0))
    )
    core = ArmStep(unit="Bb" if younger else "Aa", start_m=10.0, end_m=110.0, ground=ground)
    after = ArmStep(unit="Aa" if younger else "Bb", start_m=110.0, end_m=150.0)
    at = np.linspace(5.0, 115.0, len(dips))
    beds = [
        SimpleNamespace(across_m=x, dip_deg=dip, dips=abs(dip) > 3.0, overturned=False)
        for x, dip in zip(at, dips, strict=True)
    ]
    return _is_outlier(core, after, beds, at, {"Bb": 0, "Aa": 1})


@pytest.mark.parametrize("younger", [True, False])
def test_an_outlier_stands_over_the_plane_of_its_borders_and_an_inlier_under_it(younger):
    tolerance = OUTLIER_RISE * 100.0
    level = (4.0, 4.0, 4.0)
    assert outlier(level, rise_m=tolerance + 0.1, younger=younger)
    assert not outlier(level, rise_m=tolerance - 0.1, younger=younger)
    assert not outlier(level, rise_m=-tolerance - 0.1, younger=younger)
    assert outlier(level, rise_m=20.0, sink_m=tolerance - 0.1, younger=younger)
    assert not outlier(level, rise_m=20.0, sink_m=tolerance + 0.1, younger=younger)


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_beds_of_an_outlier_follow_the_plane_of_its_borders(side):
    """The one within by a little, all together by their mean and by their scatter."""

    def with_middle(off):
        return outlier((4.0, 4.0 + side * off, 4.0), rise_m=20.0)

    alone = min(OUTLIER_BED_DEG, OUTLIER_MEAN_DEG * 3.0, OUTLIER_SD_DEG * 3.0 / math.sqrt(2.0))
    assert with_middle(alone - 0.1)
    assert not with_middle(alone + 0.1)
    mean = 4.0 + side * (OUTLIER_MEAN_DEG - 0.1)
    assert outlier((mean,) * 3, rise_m=20.0)
    beyond = 4.0 + side * (OUTLIER_MEAN_DEG + 0.1)
    assert not outlier((beyond,) * 3, rise_m=20.0)


def test_beds_that_dip_toward_each_other_bring_a_unit_back_by_a_fold():
    assert outlier((-4.0, 0.0, 0.0, 0.0, 0.0, 4.0), rise_m=20.0, dip_deg=0.0)
    assert not outlier((4.0, 0.0, 0.0, 0.0, 0.0, -4.0), rise_m=20.0, dip_deg=0.0)
    assert not outlier((-4.0, 0.0, 0.0, 0.0, 0.0, 4.0), rise_m=20.0, dip_deg=0.0, younger=False)


# --- lines beside the walk -----------------------------------------------------------------------------------


def test_stretches_that_cross_end_where_shapely_says():
    rng = np.random.default_rng(4)
    crossed = 0
    for ends in rng.uniform(0.0, 100.0, (200, 4, 3)):
        first, second = [tuple(one) for one in ends[:2]], [tuple(one) for one in ends[2:]]
        met = shapely.LineString(ends[:2, :2]).intersection(shapely.LineString(ends[2:, :2]))
        _cut_corner(first, second)
        if met.is_empty:
            assert (first, second) == ([tuple(one) for one in ends[:2]], [tuple(one) for one in ends[2:]])
            continue
        crossed += 1
        share = math.dist(ends[0, :2], (met.x, met.y)) / math.dist(ends[0, :2], ends[1, :2])
        at = (met.x, met.y, ends[0, 2] + share * (ends[1, 2] - ends[0, 2]))
        assert first[1] == second[0] == pytest.approx(at, abs=1e-6)
        assert (first[0], second[1]) == (tuple(ends[0]), tuple(ends[3]))
    assert crossed > 20


@pytest.mark.parametrize("strike_deg", [0.0, 75.0, 190.0, 300.0])
@pytest.mark.parametrize(("off_deg", "left"), [(90.0, "Aa"), (31.0, "Aa"), (149.0, "Aa"), (29.0, None), (151.0, None), (-90.0, "Bb"),
                                               (-31.0, "Bb"), (-29.0, None)])  # fmt: skip
def test_of_a_contact_followed_the_younger_unit_lies_where_its_plane_dips_to(strike_deg, off_deg, left):
    """Thirty degrees off the way at least; the dip direction is a true one, the leg's azimuth the grid's."""
    leg_deg = strike_deg + 90.0 - TURN_DEG - off_deg
    found = SimpleNamespace(
        place=SimpleNamespace(leg_azimuth_deg=leg_deg % 360.0), booked=SimpleNamespace(plane=SimpleNamespace(overturned=False)),
        strike_deg=strike_deg, dip_deg=40.0, kind=ContactKind.CONTACT, older="Aa", younger="Bb",
    )  # fmt: skip
    survey = SimpleNamespace(frame=SimpleNamespace(to_true_deg=TURN_DEG))
    sides = {"Aa": ("Aa", "Bb"), "Bb": ("Bb", "Aa"), None: (None, None)}[left]
    assert _by_dip(found, survey) == sides
    found.booked.plane.overturned = True
    assert _by_dip(found, survey) == (None, None)
