"""Limbs, faults as one line and domes, each rule on invented beds: by numpy and shapely, in a grid whose north is 7° off."""

import math
from itertools import pairwise
from types import SimpleNamespace

import numpy as np
import pytest
import shapely

from traverse.log.items import ContactKind, HowMet
from traverse.structure.form.contact_plane import _beside_agree, _in_the_beds, beds_turn
from traverse.structure.form.fault_sides import FaultSides, _in_a_row, _times_over
from traverse.structure.form.fault_traces import (
    _course_deg,
    _lying,
    _on_one_plane,
    _StraightTrace,
    with_fault_traces,
)
from traverse.structure.form.limbs import faces_apart, fold_of, parted_by_way_up, side_of_limb, turned
from traverse.structure.form.records import AllRound, DipTurns, FormKind, Level
from traverse.structure.form.what_beds_tell import (
    _gentle_limb,
    _reversals,
    _steepening,
    all_round,
    hinges,
    lone_beds,
    turns_again,
)
from traverse.structure.form.what_units_tell import rock_between
from traverse.structure.walk.arms import ArmStep
from traverse.trade import (
    ALIKE_DEG,
    ALL_ROUND_DEG,
    LEVEL_DEG,
    ONE_CONTACT_M,
    REACH_BED_M,
    STEEPENS,
    SURE_SD,
)

TURN_DEG = 7.0
SURVEY = SimpleNamespace(frame=SimpleNamespace(to_true_deg=TURN_DEG))


def unit(azimuth_deg):
    return np.array([math.sin(math.radians(azimuth_deg)), math.cos(math.radians(azimuth_deg))])


def pole(dip_deg, way_deg):
    dip, way = math.radians(dip_deg), math.radians(way_deg)
    return np.array([math.sin(dip) * math.sin(way), math.sin(dip) * math.cos(way), math.cos(dip)])


def bed(
    dip_deg,
    *,
    way_deg=None,
    at=(0.0, 0.0),
    sd_deg=2.0,
    overturned=False,
    known=False,
    block=0,
    across_m=0.0,
    order=0,
):
    """A bed by its dip across the strike, positive with increasing distance."""
    way = (90.0 if dip_deg > 0.0 else 270.0) if way_deg is None else way_deg
    attitude = SimpleNamespace(
        dip_deg=abs(dip_deg), dip_direction_deg=way, sd_deg=sd_deg, order=order, upside_down=overturned,
        place=SimpleNamespace(east_m=at[0], north_m=at[1]),
    )  # fmt: skip
    return SimpleNamespace(attitude=attitude, dip_deg=dip_deg, dips=abs(dip_deg) > LEVEL_DEG, sided=True, overturned=overturned,
                           known=known or overturned, block=block, across_m=across_m,
                           facing_deg=dip_deg if not overturned else dip_deg - math.copysign(180.0, dip_deg))  # fmt: skip


# --- domes and basins ----------------------------------------------------------------------------------------


def dome(count=8, *, off_deg=0.0, basin=False, gap=0, dip_deg=20.0, middle=(91_000.0, 47_000.0), sd_deg=2.0):
    """Beds on an ellipse far from where distances count from; `gap` beds of one side left out."""
    beds = []
    for at in range(count - gap):
        azimuth = 360.0 * at / count + 13.0
        place = np.array(middle) + np.array([120.0, 80.0]) * unit(azimuth)
        bearing = math.degrees(math.atan2(*(place - middle)))
        beds.append(
            bed(dip_deg, way_deg=(bearing + off_deg + 180.0 * basin) % 360.0, at=place, sd_deg=sd_deg)
        )
    return beds


@pytest.mark.parametrize("side", [1.0, -1.0])
@pytest.mark.parametrize(("off_deg", "found"), [(0.0, True), (56.0, True), (64.0, False)])
def test_beds_dip_away_from_the_middle_within_sixty_degrees(off_deg, found, side):
    """Or toward it, as a basin's do; the middle is that of the beds' extent."""
    for basin, kind in ((False, FormKind.DOME), (True, FormKind.BASIN)):
        told = all_round(dome(12, off_deg=side * off_deg, basin=basin))
        assert (told is not None) is found
        assert told is None or (told.form.kind, told.level, isinstance(told, AllRound)) == (
            kind,
            Level.FOLLOWS,
            True,
        )


def test_a_dome_has_beds_on_every_side_steep_enough_to_tell():
    """No more than the widest gap that is allowed between two, and five at least that surely dip."""
    assert all_round(dome(12, gap=2)) is not None
    assert ALL_ROUND_DEG > 90.0
    assert all_round(dome(12, gap=4)) is None
    assert all_round(dome(5)) is not None
    assert all_round(dome(4)) is None
    sure = max(LEVEL_DEG, SURE_SD * 2.0)
    assert all_round(dome(dip_deg=sure + 0.1)) is not None
    assert all_round(dome(dip_deg=sure - 0.1)) is None
    assert all_round(dome(dip_deg=LEVEL_DEG - 0.1, sd_deg=0.1)) is None
    assert all_round(dome(dip_deg=LEVEL_DEG + 0.1, sd_deg=0.1)) is not None


# --- limbs ---------------------------------------------------------------------------------------------------


def test_a_bed_against_two_that_agree_is_alone():
    """Those on both sides differ by no more than two readings of one panel."""
    for apart, alone in ((ALIKE_DEG - 0.1, True), (ALIKE_DEG + 0.1, False)):
        beds = [bed(20.0), bed(-30.0), bed(20.0 + apart)]
        assert (lone_beds(beds) == [beds[1]]) is alone
        assert turns_again(beds) is not alone
    beds = [bed(20.0), bed(-30.0), bed(-28.0), bed(21.0)]
    assert lone_beds(beds) == []
    assert turns_again(beds)
    assert not turns_again([*beds[:3], bed(-21.0)])
    assert not turns_again([*beds, bed(30.0, overturned=True)])


def test_a_fold_lies_half_way_between_the_beds_that_turn_where_that_is_sure():
    beds = [bed(20.0, across_m=30.0), bed(-20.0, across_m=70.0), bed(25.0, across_m=150.0)]

    def turn(first, last, level):
        made = DipTurns.__new__(DipTurns)
        object.__setattr__(made, "named", (beds[first].attitude, beds[last].attitude))
        object.__setattr__(made, "level", level)
        return made

    turns = [
        turn(0, 1, Level.FOLLOWS),
        turn(1, 2, Level.POSSIBLE),
        turn(1, 2, Level.FOLLOWS),
        SimpleNamespace(),
    ]
    assert hinges(beds, turns) == pytest.approx([50.0, 110.0])


@pytest.mark.parametrize(
    ("first", "last"), [((40.0, 35.0, 44.0), (-20.0, -26.0)), ((70.0, 80.0), (30.0, 38.0))]
)
def test_limbs_and_the_surface_between_them_are_those_of_their_mean_normals(first, last):
    """The second fold is overturned: its first limb stands upside down."""
    over = last[0] > 0.0
    left = [bed(dip, way_deg=90.0 + 3.0 * at, overturned=over, sd_deg=4.0) for at, dip in enumerate(first)]
    right = [
        bed(dip, way_deg=(90.0 if dip > 0.0 else 270.0) - 4.0 * at, sd_deg=4.0) for at, dip in enumerate(last)
    ]
    means = []
    for side in (left, right):
        normals = [
            pole(one.attitude.dip_deg, one.attitude.dip_direction_deg) * (-1.0 if one.overturned else 1.0)
            for one in side
        ]
        total = np.sum(normals, axis=0)
        means.append(total / np.linalg.norm(total))
    found = fold_of(left, right)
    for limb, mean, side in zip(found.limbs, means, (left, right), strict=True):
        up = -mean if mean[2] < 0.0 else mean
        assert limb.dip_deg == pytest.approx(math.degrees(math.acos(up[2])))
        assert limb.dip_direction_deg == pytest.approx(math.degrees(math.atan2(up[0], up[1])) % 360.0)
        assert (limb.n, limb.overturned) == (len(side), bool(mean[2] < 0.0))
    assert found.interlimb_deg == pytest.approx(180.0 - math.degrees(math.acos(float(means[0] @ means[1]))))
    axial = means[0] - means[1]
    axial = (axial if axial[2] >= 0.0 else -axial) / np.linalg.norm(axial)
    assert found.axial_dip_deg == pytest.approx(math.degrees(math.acos(axial[2])))
    assert found.axial_dip_direction_deg == pytest.approx(
        math.degrees(math.atan2(axial[0], axial[1])) % 360.0
    )


def test_beds_beyond_the_next_hinge_are_of_no_limb():
    """Dips of 20 west, of 64 west overturned, and again of 26 west beyond a syncline: 44 degrees between the first two."""
    left = [bed(-20.0, way_deg=270.0) for _ in range(4)]
    nose, over = bed(69.0, way_deg=90.0), [bed(-64.0, way_deg=270.0, overturned=True) for _ in range(9)]
    beyond = [bed(-26.0, way_deg=270.0) for _ in range(7)]
    found = fold_of([*left[:3], nose, left[3]], [*over, *beyond])
    assert [limb.n for limb in found.limbs] == [4, 9]
    assert found.interlimb_deg == pytest.approx(44.0)
    assert found.axial_dip_deg == pytest.approx(42.0)
    # Means of 4 and of 9 beds that are each good to 2 degrees.
    assert found.sd_deg == pytest.approx(math.hypot(2.0 / 2.0, 2.0 / 3.0))


def test_beds_about_the_hinge_do_not_flatten_a_limb():
    found = fold_of(
        [bed(45.0), bed(45.0), bed(45.0), bed(20.0)], [bed(-20.0), bed(-50.0), bed(-50.0), bed(-50.0)]
    )
    assert found.interlimb_deg == pytest.approx(85.0)
    assert [limb.n for limb in found.limbs] == [3, 3]


@pytest.mark.parametrize(("dips", "side"), [((20.0, 30.0, -10.0), 0), ((20.0, 30.0, 25.0, -10.0), 1), ((-20.0, -30.0, -25.0, 10.0), -1),
                                            ((2.0, -1.0), 0), ((20.0, 2.0), 1)])  # fmt: skip
def test_a_limb_dips_to_the_side_of_more_than_two_thirds_of_its_beds(dips, side):
    assert side_of_limb([bed(dip) for dip in dips]) == side


def test_way_up_of_a_limb_is_that_of_most_of_its_beds():
    over, up, silent = bed(40.0, overturned=True), bed(40.0, known=True), bed(40.0)
    assert turned([over, over, up, silent]) is True
    assert turned([over, up, up]) is False
    assert turned([over, up]) is None
    assert turned([silent]) is None
    assert faces_apart([bed(-30.0)], [bed(40.0)])
    assert not faces_apart([bed(30.0)], [bed(-40.0)])


@pytest.mark.parametrize("flip", [False, True])
def test_beds_part_into_an_overturned_limb_and_an_upright_one_with_one_stray_in_five(flip):
    def told(marks, blocks=None):
        beds = [
            bed(40.0, overturned=one == "o", block=0 if blocks is None else blocks[at])
            for at, one in enumerate(marks)
        ]
        parted = parted_by_way_up(beds[::-1] if flip else beds)
        if parted is None:
            return None
        over, up = sorted(parted, key=lambda side: -sum(one.overturned for one in side) / len(side))
        return [len(over), len(up)]

    assert told("ooouuu") == [3, 3]
    assert told("oooouou") == [4, 3]
    assert told("oououu") == [2, 4]
    assert told("ooouuuuoou") == [3, 7]
    assert told("ooouuuoou") is None
    assert told("oouuuouuuu") == [2, 8]
    assert told("oouououuu") is None
    assert told("ouuuu") is None
    assert told("ooouuu", blocks=[0, 0, 0, 1, 1, 1]) is None


@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize(("odd_deg", "told"), [(0.0, True), (16.0, True), (18.0, False)])
def test_beds_steepen_to_one_side_where_dip_and_distance_go_together(odd_deg, told, sense):
    """Pearson's correlation by numpy; the gentlest of the first half and the steepest are named."""
    dips = np.array([20.0, 27.0 + odd_deg, 33.0, 41.0, 50.0])
    at = np.array([10.0, 40.0, 60.0, 95.0, 120.0])
    at = at if sense > 0 else 130.0 - at[::-1]
    beds = [
        bed(dip, across_m=x, order=n)
        for n, (dip, x) in enumerate(zip(dips[::sense].tolist(), at.tolist(), strict=True))
    ]
    correlation = float(np.corrcoef(at, dips[::sense])[0, 1])
    assert (abs(correlation) >= STEEPENS) is told
    seen = SimpleNamespace(beds=tuple(beds), toward_deg=lambda along: 90.0 if along > 0.0 else 270.0)
    found = _steepening(seen, dips[::sense])
    assert (found is not None) is told
    if told:
        assert found.other_way == 0
        min(beds, key=lambda one: one.dip_deg).dip_deg *= -1.0
        assert _steepening(seen, dips[::sense]).other_way == 1
        assert found.toward_deg == (90.0 if sense > 0 else 270.0)
        assert [one.dip_deg for one in found.named] == [20.0, 50.0]
    level = SimpleNamespace(beds=tuple(bed(dip, across_m=5.0) for dip in dips), toward_deg=None)
    assert _steepening(level, dips) is None


@pytest.mark.parametrize("flip", [1, -1])
@pytest.mark.parametrize(("gentle_deg", "told"), [(4.1, True), (3.9, False)])
def test_a_gentle_limb_is_told_by_the_mean_of_its_beds(gentle_deg, told, flip):
    """Nine beds that none alone dip by more than their 4 degrees allow: their mean is good to 4/3."""
    dips = [-gentle_deg] * 9 + [40.0, 44.0, 46.0]
    beds = [bed(dip * flip, across_m=10.0 * at, order=at, sd_deg=4.0) for at, dip in enumerate(dips[::flip])]
    for one in beds:
        one.dips = abs(one.dip_deg) >= 12.0
    seen = SimpleNamespace(beds=tuple(beds), arms=(), toward_deg=lambda along: 90.0)
    found = _gentle_limb(seen, {})
    assert (found is not None) is told
    if told:
        assert (found.form.kind, found.level) == (FormKind.ANTIFORM, Level.FOLLOWS)


def test_beds_that_turn_more_than_four_times_are_counted_and_make_no_folds(monkeypatch):
    seen = SimpleNamespace(arms=())
    beds = [bed(20.0 * (-1.0) ** at, across_m=10.0 * at, order=at) for at in range(6)]
    (found,) = _reversals(seen, beds, {})
    assert (found.times, len(found.readings), found.level) == (5, 6, Level.POSSIBLE)
    monkeypatch.setattr(
        "traverse.structure.form.what_beds_tell._reversal", lambda seen, left, right, rank: (left, right)
    )
    assert _reversals(seen, beds[:5], {}) == [([one], [other]) for one, other in pairwise(beds[:5])]


# --- the rock between ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("steps", "core"),
    [
        ([("Aa", 0.0, 40.0), ("Bb", 40.0, 60.0), ("Aa", 60.0, 100.0)], 1),
        ([("Bb", 0.0, 40.0), ("Aa", 40.0, 60.0), ("Bb", 60.0, 100.0)], -1),
        ([("Aa", 0.0, 100.0)], 0),
        ([("Aa", 0.0, 50.0), ("Bb", 50.0, 100.0)], 0),  # the contact is half-way
        ([("Aa", 0.0, 51.0), ("Bb", 51.0, 100.0)], -1),
        ([("Aa", 0.0, 49.0), ("Bb", 49.0, 100.0)], 1),
        ([("Aa", 0.0, 40.0), ("Bb", 60.0, 100.0)], 0),  # nobody walked there
        ([("Aa", 0.0, 40.0), ("Xx", 40.0, 60.0), ("Aa", 60.0, 100.0)], 0),
    ],
)
def test_the_rock_between_limbs_is_the_youngest_or_the_oldest_or_that_is_open(steps, core):
    """Beds at 20 and 35 of the one limb, at 65 and 80 of the other; Bb is younger than Aa."""
    arm = tuple(ArmStep(unit=one, start_m=start, end_m=end) for one, start, end in steps)
    left, right = ([bed(20.0, across_m=at) for at in side] for side in ((20.0, 35.0), (65.0, 80.0)))
    assert rock_between(SimpleNamespace(arms=(arm,)), left, right, {"Bb": 0, "Aa": 1}) == core
    turned_arm = tuple(
        ArmStep(unit=one, start_m=100.0 - end, end_m=100.0 - start) for one, start, end in steps[::-1]
    )
    assert rock_between(SimpleNamespace(arms=(turned_arm,)), left, right, {"Bb": 0, "Aa": 1}) == core


def test_the_rock_between_is_told_as_far_as_the_units_go_and_up_to_a_fault():
    """Beds beyond the end of an arm, and the same units again across a fault, leave the core the oldest."""
    units = [("Bb", 0.0, 40.0), ("Aa", 40.0, 60.0), ("Bb", 60.0, 100.0)]
    steps = [ArmStep(unit=one, start_m=start, end_m=end) for one, start, end in units]
    beyond = ArmStep(unit="Aa", start_m=100.0, end_m=200.0, fault_before=SimpleNamespace())
    left, right = ([bed(20.0, across_m=at) for at in side] for side in ((-30.0, 35.0), (65.0, 180.0)))
    for arm in ((*steps,), (*steps, beyond)):
        assert rock_between(SimpleNamespace(arms=(arm,)), left, right, {"Bb": 0, "Aa": 1}) == -1


# --- faults --------------------------------------------------------------------------------------------------


def fault(
    at,
    plane=None,
    *,
    sd_m=1.0,
    up_m=0.0,
    movement=None,
    kind=ContactKind.FAULT,
    met=HowMet.CROSSED,
    number=None,
    course_deg=None,
):
    """A place of a fault; `plane` is its true strike and dip."""
    booked = SimpleNamespace(
        plane=None if plane is None else SimpleNamespace(sd_deg=2.0, overturned=False),
        movement=movement,
        span=object(),
        conditions=SimpleNamespace(precision=SimpleNamespace(attitude_deg=2.0)),
    )
    place = SimpleNamespace(east_m=at[0], north_m=at[1], relative_up_m=up_m, covariance_m2=None, sd_m=sd_m, leg_azimuth_deg=None,
                            right_m=0.0, address=SimpleNamespace(leg=None))  # fmt: skip
    strike, dip = (None, None) if plane is None else plane
    surface = None if plane is None else SimpleNamespace(strike_deg=strike, dip_deg=dip)
    return SimpleNamespace(booked=booked, place=place, strike_deg=strike, dip_deg=dip, surface=surface, kind=kind, met=met, sd_m=sd_m,
                           own_sd_m=0.0, order=0, of_fault=number, course_deg=strike if course_deg is None else course_deg)  # fmt: skip


@pytest.mark.parametrize("strike_deg", [20.0, 115.0, 250.0])
@pytest.mark.parametrize(("share", "one"), [(0.97, True), (1.03, False), (-1.03, False)])
@pytest.mark.parametrize("second", [None, 10.0])
def test_two_places_are_of_one_fault_on_the_plane_read_at_one_within_three_errors(
    strike_deg, share, one, second
):
    normal = pole(75.0, strike_deg + 90.0 - TURN_DEG)
    along = np.array([-normal[1], normal[0], 0.0]) / math.hypot(*normal[:2])
    off = 0.0
    for _ in range(5):
        step = 90.0 * along + off * normal
        off = (
            share
            * SURE_SD
            * math.sqrt(2.0 * math.hypot(*normal[:2]) ** 2 + (math.hypot(*step[:2]) * math.radians(2.0)) ** 2)
        )
    step = 90.0 * along + off * normal
    pair = [
        fault((0.0, 0.0), (strike_deg, 75.0)),
        fault(step[:2], None if second is None else (strike_deg + second, 75.0), up_m=step[2]),
    ]
    if second is None or not one:
        assert (_on_one_plane(SURVEY, pair) == [(0, 1)]) is one
    if second is None:
        flat = [fault((0.0, 0.0), (strike_deg, 24.0)), fault((3.0, 4.0))]
        assert _on_one_plane(SURVEY, flat) == []
        assert _on_one_plane(SURVEY, [fault((0.0, 0.0), (strike_deg, 26.0)), fault((0.5, 0.5))]) == [(0, 1)]
    for apart, alike in ((ALIKE_DEG - 1.0, True), (ALIKE_DEG + 1.0, False)):
        near = [fault((0.0, 0.0), (strike_deg, 90.0)), fault((0.1, 0.1), (strike_deg + apart, 90.0))]
        assert (_on_one_plane(SURVEY, near) == [(0, 1)]) is alike
    moved = [fault((0.0, 0.0), (strike_deg, 90.0), movement="normal"), fault((0.1, 0.1), movement="reverse")]
    assert _on_one_plane(SURVEY, moved) == []


@pytest.mark.parametrize("azimuth_deg", [25.0, 120.0, 310.0])
def test_a_straight_fault_runs_through_its_places_or_along_its_strike_between_them(azimuth_deg):
    one = fault((500.0, 300.0))
    limit = 6.0 * math.sqrt(2.0) + ONE_CONTACT_M
    for far, way_deg in ((limit + 0.5, azimuth_deg), (limit - 0.5, 77.0)):
        at = np.array((500.0, 300.0)) + far * unit(azimuth_deg)
        line = _StraightTrace.through(one, fault(at), 77.0)
        middle = np.array((500.0, 300.0)) + far / 2.0 * unit(azimuth_deg)
        right = np.array([unit(way_deg)[1], -unit(way_deg)[0]])
        for along in (-40.0, 0.0, 60.0):
            for aside in (0.02, -0.02, 30.0, -30.0):
                assert line.side_of(tuple(middle + along * unit(way_deg) + aside * right)) == math.copysign(
                    1.0, aside
                )
        for off_deg, over in (
            (90.0, 1),
            (13.0, 1),
            (10.0, 0),
            (-13.0, -1),
            (-10.0, 0),
            (170.0, 0),
            (165.0, 1),
            (200.0, -1),
        ):
            assert line.way_over(way_deg + off_deg) == over
        assert line.way_over(None) == 0


@pytest.mark.parametrize("azimuth_deg", [25.0, 120.0, 170.0])
def test_the_course_of_a_fault_is_the_line_nearest_to_its_places_by_their_errors(azimuth_deg):
    """Minimised by trying every tenth of a degree."""
    rng = np.random.default_rng(7)
    at = np.array([run * unit(azimuth_deg) for run in (0.0, 60.0, 130.0, 190.0)]) + rng.normal(
        0.0, 3.0, (4, 2)
    )
    sds = np.array([1.0, 2.0, 1.0, 4.0])
    met = [fault(place, sd_m=sd) for place, sd in zip(at, sds.tolist(), strict=True)]
    centred = (at - np.average(at, axis=0, weights=sds**-2)) / sds[:, None]
    tried = np.arange(0.0, 180.0, 0.1)
    off = [float(((centred @ [unit(one)[1], -unit(one)[0]]) ** 2).sum()) for one in tried]
    best = (tried[int(np.argmin(off))] + TURN_DEG) % 180.0
    found = _course_deg(SURVEY, met)
    assert abs((found - best + 90.0) % 180.0 - 90.0) <= 0.06
    assert 0.0 <= found < 180.0
    assert _course_deg(SURVEY, [fault((0.0, 0.0)), fault((4.0, 5.0))]) is None


def test_a_place_without_a_plane_has_that_read_nearest_to_it(monkeypatch):
    monkeypatch.setattr("traverse.structure.form.fault_traces.replace", lambda one, **changes: changes)
    near, far, other = (
        fault((40.0, 10.0), (20.0, 80.0)),
        fault((10.0, 70.0), (24.0, 78.0)),
        fault((20.0, 20.0)),
    )
    found = _lying(other, [far, near, other], 3, None)
    assert found["course_deg"] == 20.0
    assert _lying(fault((20.0, 55.0)), [near, far], 3, None)["course_deg"] == 24.0
    assert _lying(other, [far, near], 3, 99.0)["course_deg"] == 99.0
    assert _lying(far, [far, near], 3, None)["course_deg"] == 24.0
    assert _lying(other, [other], 3, None) is other


def test_a_fault_beside_the_walk_and_a_contact_are_no_places_of_one():
    plane = (20.0, 80.0)
    one = fault((0.0, 0.0), plane)
    for other in (fault((0.1, 0.1), met=HowMet.BESIDE), fault((0.1, 0.1), kind=ContactKind.CONTACT)):
        assert with_fault_traces(SURVEY, (one, other)) == (one, other)


@pytest.mark.parametrize("seed", range(3))
def test_a_way_crosses_a_line_as_often_as_shapely_says(seed):
    rng = np.random.default_rng(seed)
    line = np.cumsum(rng.uniform(-30.0, 50.0, (6, 2)), axis=0)
    seen = set()
    for one, other in rng.uniform(line.min(axis=0), line.max(axis=0), (60, 2, 2)):
        met = shapely.LineString([one, other]).intersection(shapely.LineString(line))
        count = 0 if met.is_empty else len(shapely.get_parts(met))
        assert _times_over(line, tuple(one), tuple(other)) == count
        seen.add(count)
    assert {0, 1} <= seen
    assert _times_over(line, (1.0, 1.0), (1.0, 1.0)) == 0


def sides_of(met, **known):
    log = SimpleNamespace(heading=SimpleNamespace(sheet=SimpleNamespace(band_m=20.0)))
    return FaultSides(log, SimpleNamespace(**vars(SURVEY), legs=(), places={}, **known), met)


@pytest.mark.parametrize("dip_deg", [59.0, 61.0])
@pytest.mark.parametrize("strike_deg", [40.0, 130.0, 280.0])
def test_a_fault_goes_on_along_its_strike_where_it_stands_steep(strike_deg, dip_deg):
    """Else no farther than the ground to either side was looked at."""
    on_m = REACH_BED_M if dip_deg > 60.0 else 20.0
    (line,) = sides_of([fault((100.0, 50.0), (strike_deg, dip_deg))]).lines
    way = unit(strike_deg - TURN_DEG)
    assert line == pytest.approx(
        np.array([(100.0, 50.0) - on_m * way, (100.0, 50.0), (100.0, 50.0) + on_m * way])
    )


@pytest.mark.parametrize("turn_deg", [0.0, 65.0, 200.0])
def test_a_section_beside_a_fault_that_runs_past_it_is_told_how_far_off(turn_deg):
    way, right = unit(turn_deg), unit(turn_deg + 90.0)
    met = [
        fault(run * way + aside * right, (0.0, 80.0), number=1)
        for run, aside in ((0.0, 0.0), (80.0, 2.0), (160.0, 0.0))
    ]
    made = sides_of(met)
    section = np.array([20.0 * way + 30.0 * right, 120.0 * way + 45.0 * right])
    (axis,) = np.linalg.svd(
        np.array([(one.place.east_m, one.place.north_m) for one in met])
        - np.mean([(one.place.east_m, one.place.north_m) for one in met], axis=0)
    )[2][:1]
    trace = shapely.LineString(made.lines[0][[0, -1]])
    expected = min(trace.distance(shapely.Point(one)) for one in section)
    assert abs(float(axis @ way)) > 0.99
    assert made.beside(section, met[0]) == pytest.approx(expected, abs=1e-3)
    assert made.all_beside(section, met) == (pytest.approx(expected, abs=1e-3),)
    across = np.array([20.0 * way + 30.0 * right, 120.0 * way - 30.0 * right])
    assert made.beside(across, met[0]) is None
    past = np.array([20.0 * way + 30.0 * right, 900.0 * way + 45.0 * right])
    assert made.beside(past, met[0]) is None
    assert made.between(tuple(60.0 * way + 20.0 * right), tuple(60.0 * way - 20.0 * right)) is True
    assert made.between(tuple(60.0 * way + 20.0 * right), tuple(70.0 * way + 30.0 * right)) is False


@pytest.mark.parametrize("turn_deg", [0.0, 65.0])
def test_places_without_a_plane_are_of_one_line_where_they_lie_off_it_by_little(turn_deg):
    way, right = unit(turn_deg), unit(turn_deg + 90.0)
    survey = SimpleNamespace(**vars(SURVEY), legs=(), places={})
    # 0.15 of their length of 80 m is 12.
    for off, row in ((11.8, True), (12.2, False)):
        places = [0.0 * way, 40.0 * way + off * right, 80.0 * way]
        assert _in_a_row(survey, [fault(place) for place in places]) is row


# --- planes of contacts beside beds --------------------------------------------------------------------------


def plain_bed(dip_deg, way_deg, at=(0.0, 0.0), sd_deg=2.0):
    return SimpleNamespace(
        dip_deg=dip_deg,
        dip_direction_deg=way_deg,
        sd_deg=sd_deg,
        place=SimpleNamespace(east_m=at[0], north_m=at[1]),
    )


def test_beds_beside_the_places_of_a_contact_turn_from_two_limbs_difference_on():
    places = [SimpleNamespace(place=SimpleNamespace(east_m=x, north_m=0.0)) for x in (0.0, 200.0)]
    for apart, turn in ((ALIKE_DEG - 0.1, False), (ALIKE_DEG + 0.1, True)):
        assert beds_turn(places, [plain_bed(20.0, 90.0), plain_bed(20.0 + apart, 90.0, (200.0, 0.0))]) is turn
        far = plain_bed(20.0 + apart, 90.0, (200.0, REACH_BED_M + 1.0))
        assert beds_turn(places, [plain_bed(20.0, 90.0), far]) is False
    assert beds_turn(places, []) is False


@pytest.mark.parametrize(("sd_deg", "plane_sd_deg"), [(2.0, 1.0), (6.0, 4.0)])
def test_a_plane_of_places_agrees_with_the_bed_beside_them_within_three_errors_of_both(sd_deg, plane_sd_deg):
    """Or within what two readings of a panel differ by, where that is less."""
    limit = min(ALIKE_DEG, 3.0 * math.hypot(sd_deg, plane_sd_deg))
    plane = SimpleNamespace(dip_deg=30.0, strike_deg=40.0, sd_pole_deg=plane_sd_deg)
    for off, agree in ((limit - 0.1, True), (limit + 0.1, False)):
        place = SimpleNamespace(kind=ContactKind.CONTACT, place=SimpleNamespace(east_m=0.0, north_m=0.0))
        assert _beside_agree(plane, [place], [plain_bed(30.0 + off, 130.0, sd_deg=sd_deg)]) is agree
        assert (
            _beside_agree(plane, [place], [plain_bed(30.0 + off, 130.0, (REACH_BED_M + 1.0, 0.0), sd_deg)])
            is True
        )
        place.kind = ContactKind.UNCONFORMITY
        assert _beside_agree(plane, [place], [plain_bed(30.0 + off, 130.0, sd_deg=sd_deg)]) is True


@pytest.mark.parametrize("share", [0.97, 1.03, -1.03])
def test_places_on_one_line_lie_in_the_beds_within_three_errors(share):
    """Of the places, and of the beds turned over the way from the middle of the places."""
    normal = pole(30.0, 130.0 - TURN_DEG)
    strike = np.array([-normal[1], normal[0], 0.0]) / math.hypot(*normal[:2])
    off = 0.0
    for _ in range(6):
        # One of three off by so much: from their mean it is two thirds of that off, the others one third.
        points = np.array([-80.0 * strike, 0.0 * strike + off * normal, 80.0 * strike])
        centred = points - points.mean(axis=0)
        off = (
            share
            * 1.5
            * SURE_SD
            * math.sqrt(4.0 + (math.hypot(*centred[1, :2]) * math.sin(math.radians(2.0))) ** 2)
        )
    points = np.array([-80.0 * strike, 0.0 * strike + off * normal, 80.0 * strike])
    places = [
        SimpleNamespace(kind=ContactKind.CONTACT, place=SimpleNamespace(east_m=one[0], north_m=one[1]))
        for one in points
    ]
    joint = np.zeros((3, 3, 3, 3))
    for at in range(3):
        joint[at, at] = 4.0 * np.eye(3)
    assert _in_the_beds(places, points, joint, [plain_bed(30.0, 130.0)], SURVEY) is (abs(share) < 1.0)
