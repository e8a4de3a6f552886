"""Arms of a walk, lines across them and beside them, slopes of the ground and hinges of folds: each worked out by hand."""

from __future__ import annotations

import dataclasses
import math
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from shapely import LineString, Point

from traverse.ground import beside, fold_traces
from traverse.ground.arm_network import Arm, ArmNetwork, about, straight
from traverse.ground.crossed import edge_to_edge as across
from traverse.ground.crossed import one_line
from traverse.ground.crossed.as_walked import WalksByUnit, shifted_m
from traverse.ground.crossed.onto_followed import _seen_from
from traverse.ground.crossed.over_slopes import Slopes
from traverse.ground.records import CrossedContact
from traverse.heights.records import Terrain
from traverse.log.records import Projection
from traverse.structure.readings.records import Surface

HALF_M = 20.0


def arm(start, end, up=None):
    return Arm(start=start, end=end, ground=about(straight(start, end), HALF_M), up_m=up)


def way_of(deg):
    return math.sin(math.radians(deg)), math.cos(math.radians(deg))


def azimuth(line):
    (x0, y0), (x1, y1) = line.coords[0], line.coords[-1]
    return math.degrees(math.atan2(x1 - x0, y1 - y0)) % 360.0


# --- arms ---------------------------------------------------------------------------------------------------------


def test_arms_are_near_along_the_walk_and_not_across_it():
    """Four legs round a narrow loop: of a place 10 m along the first those within 60 m of walking, each way."""
    places = [(0.0, 0.0), (100.0, 0.0), (100.0, 5.0), (0.0, 5.0)]
    legs = tuple(arm(one, other) for one, other in zip(places, [*places[1:], places[0]], strict=True))
    network = ArmNetwork(legs)
    at = (10.0, 0.0)
    assert network.near(at, reach_m=9.0) == [legs[0]]
    assert network.near(at, reach_m=11.0) == [legs[0], legs[3]]
    assert network.near(at, reach_m=16.0) == [legs[0], legs[2], legs[3]]
    assert network.near(at, reach_m=91.0) == list(legs)
    # 90 m on along the leg, though 5 m beside the walk back.
    assert legs[1] not in ArmNetwork(legs[:2]).near(at, reach_m=89.0)
    assert legs[1] in ArmNetwork(legs[:2]).near(at, reach_m=91.0)


def test_an_arm_is_told_by_the_place_nearest_to_it_and_has_its_own_square():
    legs = (arm((0.0, 0.0), (100.0, 0.0)), arm((100.0, 0.0), (100.0, 80.0)), arm((30.0, 40.0), (30.0, 40.0)))
    network = ArmNetwork(legs)
    assert [network.nearest(at) for at in ((50.0, 3.0), (97.0, 50.0), (31.0, 36.0))] == [0, 1, 2]
    assert [one.across_deg % 180.0 for one in legs[:2]] == pytest.approx([0.0, 90.0])
    assert [one.length_m for one in legs] == [100.0, 80.0, 0.0]


def may_be(at, up, *, sd_m=0.0, more_m=0.0, long=100.0, rise=10.0):
    network = ArmNetwork((arm((0.0, 0.0), (long, 0.0), (50.0, 50.0 + rise)),))
    return bool(network.may_be_so_high(np.array([at]), up, sd_m, more_m)[0])


@pytest.mark.parametrize("side", [1.0, -1.0])
@pytest.mark.parametrize(
    # How far ground may lie off the 54 m of the leg 40 m along: three times its half metre; by 3 in 10 aside; by its place.
    ("at", "more", "open_m"),
    [
        ((40.0, 0.0), {}, 1.5),
        ((40.0, 0.0), {"sd_m": 30.0}, 3.0 * math.hypot(30.0 * 0.1, 0.5)),
        ((40.0, 0.0), {"more_m": 7.0}, 8.5),
        ((40.0, -12.0), {}, None),
        ((150.0, 0.0), {"long": 400.0, "rise": 40.0}, None),
    ],
)  # fmt: skip
def test_ground_is_as_high_as_it_was_walked_within_what_is_left_open(side, at, more, open_m):
    if open_m is None:
        # Beside the walk by its distance, and far from both stations of a long leg by what is beyond 100 m.
        aside, beyond = abs(at[1]), max(0.0, min(at[0], more.get("long", 100.0) - at[0]) - 100.0)
        open_m = 1.5 + 0.3 * (aside + beyond)
    walked = 50.0 + 0.1 * at[0]
    assert may_be(at, walked + side * (open_m - 0.05), **more)
    assert not may_be(at, walked + side * (open_m + 0.05), **more)


def test_legs_without_a_slope_leave_everything_open():
    network = ArmNetwork((arm((0.0, 0.0), (100.0, 0.0)),))
    assert network.may_be_so_high(np.array([(50.0, 0.0)]), 900.0, 0.0).all()


@pytest.mark.parametrize(("dip", "expected"), [(16.0, 0.0), (45.0, 5.0), (60.0, 5.0 * math.sqrt(3.0))])
def test_a_steep_plane_moved_a_little_aside_changes_its_height(dip, expected):
    """By a quarter of half the band; one that is no steeper than ground is taken to be, 3 in 10 or 16.7 degrees, by nothing."""
    assert shifted_m(dip, HALF_M) == pytest.approx(expected)


# --- lines from edge to edge --------------------------------------------------------------------------------------


LEG = arm((0.0, 0.0), (200.0, 0.0))
BAND = about(straight((0.0, 0.0), (200.0, 0.0)), HALF_M)


@pytest.mark.parametrize(("course", "convergence"), [(30.0, 0.0), (150.0, 3.0), (353.0, -2.0), (60.0, 0.0)])
def test_a_contact_runs_along_its_true_course_from_edge_to_edge(course, convergence):
    """Turned to the grid; through a band of 20 m to each side it is 40 m over the sine of its angle with the leg long."""
    found = across.edge_to_edge((100.0, 0.0), course, 90.0, ArmNetwork((LEG,)), BAND, HALF_M, convergence)
    turned = course - convergence
    assert (azimuth(found) - turned + 90.0) % 180.0 == pytest.approx(90.0, abs=0.01)
    assert found.length == pytest.approx(2.0 * HALF_M / abs(math.cos(math.radians(turned))), rel=1e-3)
    assert found.distance(Point(100.0, 0.0)) < 1e-6


@pytest.mark.parametrize("leg_deg", [90.0, None])
def test_a_contact_of_no_course_runs_square_to_its_leg(leg_deg):
    found = across.edge_to_edge((100.0, 0.0), None, leg_deg, ArmNetwork((LEG,)), BAND, HALF_M, 5.0)
    assert azimuth(found) % 180.0 == pytest.approx(0.0, abs=1e-6)
    assert found.length == pytest.approx(2.0 * HALF_M)


def test_a_line_runs_on_beyond_its_own_arms_only_in_ground_that_was_looked_at():
    """A second arm 38 m beside the first, joined to it 500 m away alone: the line goes on through both bands."""
    beside_it = arm((0.0, 38.0), (200.0, 38.0))
    both = shapely.union_all([BAND, beside_it.ground])
    found = across.edge_to_edge((100.0, 0.0), 0.0, 90.0, ArmNetwork((LEG, beside_it)), both, HALF_M, 0.0)
    assert sorted(y for _, y in found.coords) == pytest.approx([-20.0, 58.0], abs=1e-3)


def test_the_part_of_a_line_through_a_place_is_the_one_that_passes_it():
    """No farther than an eighth of half the band, and no shorter than an eightieth of it."""
    ground = shapely.union_all([shapely.box(-5.0, 0.0, 5.0, 10.0), shapely.box(-5.0, 20.0, 5.0, 60.0)])
    assert across.through((0.0, 5.0), 0.0, ground, half_m=HALF_M).bounds == pytest.approx(
        (0.0, 0.0, 0.0, 10.0)
    )
    assert across.through((0.0, 30.0), 180.0, ground, half_m=HALF_M).bounds == pytest.approx(
        (0.0, 20.0, 0.0, 60.0)
    )
    assert across.through((0.0, 12.4), 0.0, ground, half_m=HALF_M).bounds == pytest.approx(
        (0.0, 0.0, 0.0, 10.0)
    )
    assert across.through((0.0, 12.6), 0.0, ground, half_m=HALF_M) is None
    for high, found in ((0.2, False), (0.3, True)):
        piece = across.through((0.0, 0.1), 0.0, shapely.box(-5.0, 0.0, 5.0, high), half_m=HALF_M)
        assert (piece is not None) is found


def test_a_line_is_cut_to_as_far_as_it_is_known_to_both_sides():
    line = LineString([(0.0, -50.0), (0.0, 70.0)])
    assert across._near(line, (0.0, 0.0), 30.0).bounds == pytest.approx((0.0, -30.0, 0.0, 30.0))
    assert across._near(line, (0.0, 60.0), 30.0).bounds == pytest.approx((0.0, 30.0, 0.0, 70.0))


@pytest.mark.parametrize(
    ("tied", "between", "grown"),
    [(False, False, (0.1, 0.1)), (True, False, (0.1, 0.0)), (False, True, (0.0, 0.0))],
)
def test_cuts_run_a_decimetre_over_the_edge_but_not_where_they_meet_another(tied, between, grown):
    line = LineString([(3.0, 4.0), (0.0, 0.0), (0.0, 10.0)])
    found = across.longer(line, tied=tied, between=between)
    assert found.coords[0] == pytest.approx((3.0 + 0.6 * grown[0], 4.0 + 0.8 * grown[0]))
    assert found.coords[-1] == pytest.approx((0.0, 10.0 + grown[1]))
    assert found.coords[1] == (0.0, 0.0)


def test_the_ends_of_a_line_that_fall_short_are_those_of_the_longer_one():
    short, long = LineString([(0.0, 1.0), (0.0, 5.0)]), LineString([(0.0, 0.0), (0.0, 9.0)])
    assert list(across._run_on(short, long, [0.0, 4.0]).coords) == [(0.0, 1.0), (0.0, 9.0)]
    assert list(across._run_on(short, long, [1.0, 0.0]).coords) == [(0.0, 0.0), (0.0, 5.0)]
    assert across._run_on(short, None, [1.0, 4.0]) is short


def test_a_line_goes_as_far_as_the_ground_may_be_so_high():
    """Level, in ground that a second leg has 60 m up beside it: it ends where that leg's ground begins."""
    low, high = arm((0.0, 0.0), (200.0, 0.0), (50.0, 50.0)), arm((0.0, 100.0), (200.0, 100.0), (110.0, 110.0))
    line = LineString([(100.0, -30.0), (100.0, 90.0)])
    contact = SimpleNamespace(place=SimpleNamespace(relative_up_m=50.0), sd_m=0.0)
    found = across._where_it_can_be(line, contact, 10.0, (100.0, 0.0), ArmNetwork((low, high)), HALF_M)
    # Nearest to the second leg from 50 m on, where 60 m are more than 1 m and half of 50 m.
    assert found.bounds[1] == pytest.approx(-30.0)
    assert found.bounds[3] == pytest.approx(48.0)


# --- one line -----------------------------------------------------------------------------------------------------


def crossed(line, at, younger="Aa", older="Bb", **more):
    contact = SimpleNamespace(younger=younger, older=older, sd_m=more.pop("sd_m", 0.0), kind=None)
    return SimpleNamespace(
        contact=contact, at=at, line=LineString(line), course_known=True, steep=more.pop("steep", False)
    )


def stretch(start, end, unit):
    return SimpleNamespace(start=start, end=end, unit=unit)


def test_the_younger_unit_lies_where_the_walk_has_it():
    one = crossed([(50.0, -20.0), (50.0, 20.0)], (50.0, 0.0))
    walk = [stretch((0.0, 0.0), (50.0, 0.0), "Aa"), stretch((50.0, 0.0), (100.0, 0.0), "Bb")]
    for stretches in (walk, walk[:1], walk[1:]):
        toward = one_line.toward_younger(one, stretches)
        assert toward[0] < 0.0
        assert toward[1] == 0.0
    # Walked the other way, and of ground elsewhere nothing.
    assert one_line.toward_younger(one, [stretch((100.0, 0.0), (50.0, 0.0), "Aa")])[0] > 0.0
    assert one_line.toward_younger(one, [stretch((0.0, 0.0), (48.0, 0.0), "Aa")]) is None
    assert one_line.toward_younger(one, [stretch((0.0, 0.0), (50.0, 0.0), "Cc")]) is None


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize(
    "place", [(30.0, 5.0), (49.0, -15.0), (30.0, 60.0), (70.0, 5.0), (51.0, -15.0), (70.0, 60.0)]
)
def test_the_unit_beyond_a_contact_is_that_of_its_side(place, turned):
    line = [(50.0, -20.0), (50.0, 20.0)]
    one = crossed(line[::-1] if turned else line, (50.0, 0.0))
    assert one_line.unit_beyond(one, (-1.0, 0.2), Point(place)) == ("Aa" if place[0] < 50.0 else "Bb")
    # Along the line no side is told: within ten degrees.
    assert one_line.unit_beyond(one, (-0.01, 1.0), Point(place)) is None


def met(at, way, younger, **more):
    x, y = way
    one = crossed([(at[0] - 10.0 * x, at[1] - 10.0 * y), (at[0] + 10.0 * x, at[1] + 10.0 * y)], at, **more)
    return one_line._MetHere(one=one, way=way, younger=younger)


@pytest.mark.parametrize("turn", [0.0, 70.0, 200.0])
def test_two_contacts_are_one_line_where_the_younger_unit_lies_on_one_side(turn):
    north, east = way_of(turn), way_of(turn + 90.0)
    west = (-east[0], -east[1])
    on = (40.0 * north[0], 40.0 * north[1])
    one = met((0.0, 0.0), north, east)
    for other_way in (north, (-north[0], -north[1])):
        assert one_line._on_one_side(one, met(on, other_way, east))
        assert not one_line._on_one_side(one, met(on, other_way, west))
    assert one_line._between_alike(one, met(on, north, east))
    assert not one_line._between_alike(one, met(on, north, west))
    assert one_line._on_one_side(one, met(on, north, None)) is False
    assert one_line._ahead(SimpleNamespace(at=(0.0, 0.0), way=north), SimpleNamespace(at=on))
    assert not one_line._ahead(SimpleNamespace(at=on, way=north), SimpleNamespace(at=(0.0, 0.0)))


def test_places_that_are_one_have_a_line_through_their_weighted_mean():
    """Of 1 m and 3 m the first counts nine times as much; ways that run against each other are turned."""
    first, second = (
        met((0.0, 0.0), (0.0, 1.0), None, sd_m=1.0),
        met((10.0, 20.0), (0.6, -0.8), None, sd_m=3.0),
    )
    asked = []

    def through(at, way_deg):
        asked.append((at, way_deg))
        return LineString([(at[0], at[1] - 5.0), (at[0], at[1] + 5.0)])

    found = one_line._mean((first, second), through)
    ((at, way_deg),) = asked
    assert at == pytest.approx((1.0, 2.0))
    # North and 0.6 west, 0.8 north: half of 36.87 degrees west of north.
    assert way_deg == pytest.approx(-36.8699 / 2.0, abs=1e-3)
    assert found.at == at
    assert one_line._mean((first, second), lambda *_: None) is None


def test_a_line_goes_half_way_to_the_places_before_and_after():
    place = one_line._OnePlace(
        met=(met((0.0, 0.0), (0.0, 1.0), None),), at=(0.0, 0.0), way=(0.0, 1.0), line=LineString([(0.0, -20.0), (0.0, 20.0)])
    )  # fmt: skip

    def parts(behind, ahead):
        one = dataclasses.replace(place.met[0], one=CROSSED)
        ((_, found),) = one_line._parts(dataclasses.replace(place, met=(one,)), behind, ahead)
        return found

    alone = parts(None, None)
    assert (alone.tied, alone.between) == (False, False)
    on = parts(None, (6.0, 40.0))
    assert (on.tied, on.between) == (True, False)
    assert set(on.line.coords) == {(0.0, -20.0), (0.0, 0.0), (3.0, 20.0)}
    # The end that meets another stands last.
    assert on.line.coords[-1] == (3.0, 20.0)
    back = parts((6.0, -40.0), None)
    assert back.line.coords[-1] == (3.0, -20.0)
    both = parts((6.0, -40.0), (8.0, 50.0))
    assert (both.tied, both.between) == (True, True)
    assert list(both.line.coords) == [(3.0, -20.0), (0.0, 0.0), (4.0, 25.0)]


CROSSED = CrossedContact(
    contact=SimpleNamespace(), at=(0.0, 0.0), line=LineString([(0.0, -20.0), (0.0, 20.0)]), course_known=True
)

# --- beside the walk ----------------------------------------------------------------------------------------------


def seen_beside(course_deg, right_m, leg_deg=90.0):
    place = SimpleNamespace(leg_azimuth_deg=leg_deg, right_m=right_m)
    return SimpleNamespace(course_deg=course_deg, place=place)


@pytest.mark.parametrize(("convergence", "course"), [(0.0, 30.0), (4.0, 34.0), (0.0, 210.0)])
def test_a_contact_beside_the_walk_keeps_clear_of_it(convergence, course):
    """At 60 degrees to the leg and 5 m off it: four fifths of the way there are 4 m over the sine of 60 degrees."""
    line, known = beside._alone(seen_beside(course, 5.0), (0.0, 0.0), HALF_M, convergence)
    assert known
    assert azimuth(line) == pytest.approx(30.0)
    assert line.length == pytest.approx(2.0 * 4.0 / math.sin(math.radians(60.0)))
    assert line.interpolate(0.5, normalized=True).distance(Point(0.0, 0.0)) < 1e-9


def test_a_contact_beside_the_walk_is_drawn_half_the_half_band_far_where_nothing_is_near():
    line, known = beside._alone(seen_beside(30.0, 50.0), (0.0, 0.0), HALF_M, 0.0)
    assert (line.length, known) == (pytest.approx(20.0), True)
    line, known = beside._alone(seen_beside(None, 5.0, leg_deg=250.0), (0.0, 0.0), HALF_M, 7.0)
    assert (line.length, known) == (pytest.approx(20.0), False)
    assert azimuth(line) == pytest.approx(250.0)


@pytest.mark.parametrize(("way", "turn"), [(1.0, -90.0), (-1.0, 90.0)])
@pytest.mark.parametrize("course", [0.0, 35.0, 140.0])
def test_a_cut_from_the_end_of_a_line_runs_square_to_it_to_the_edge_of_the_ground(way, turn, course):
    x, y = way_of(course)
    found = beside._cap(
        (0.0, 0.0), (3.0 * x, 3.0 * y), way, Point(0.0, 0.0).buffer(30.0, quad_segs=200), HALF_M
    )
    assert (azimuth(found) - course - turn + 180.0) % 360.0 == pytest.approx(180.0)
    assert found.length == pytest.approx(30.1, abs=0.01)


def test_ground_beyond_a_line_on_both_sides_is_cut_at_both_its_ends():
    """Two metres aside of a line that runs north, 30 m off the walk: a cut from either end away from it, on each side."""
    part = SimpleNamespace(contact=SimpleNamespace(queried=True, place=SimpleNamespace(right_m=30.0)))
    of = SimpleNamespace(left="Ts", right="Jl", side=1, parts=[part])
    line = LineString([(0.0, 0.0), (0.0, 20.0)])
    left, right = beside.sides_seen(
        SimpleNamespace(of=of, line=line), shapely.box(-50.0, -50.0, 50.0, 70.0), HALF_M
    )
    assert (left.unit, right.unit) == ("Ts", "Jl")
    assert [one.inside.bounds[0] for one in (left, right)] == pytest.approx([-1.0, 1.0])
    # The side toward the walk is seen from it.
    assert (left.queried, right.queried) == (False, True)
    assert len(left.cuts) == 1
    first, start, end = right.cuts
    assert first.equals(line)
    assert np.array(start.coords) == pytest.approx(np.array([(0.0, 0.0), (50.1, 0.0)]))
    assert np.array(end.coords) == pytest.approx(np.array([(0.0, 20.0), (50.1, 20.0)]))


@pytest.mark.parametrize(("off", "found"), [(4.9, True), (5.1, False)])
@pytest.mark.parametrize("turn", [0.0, 130.0])
def test_a_half_of_a_line_ends_at_what_was_followed_along_it(off, found, turn):
    """Five metres are one place; and a tenth of a turn more than that the farther it is."""
    north, east = way_of(turn), way_of(turn + 90.0)
    booked = SimpleNamespace(span=SimpleNamespace(file="day.trav"))
    contact = SimpleNamespace(booked=booked, own_sd_m=0.0, sd_m=0.0)
    line = LineString(
        [(off * east[0], off * east[1]), (off * east[0] + 60.0 * north[0], off * east[1] + 60.0 * north[1])]
    )
    other = SimpleNamespace(line=line, of=SimpleNamespace(parts=[SimpleNamespace(contact=contact)]))
    one = SimpleNamespace(at=(0.0, 0.0), contact=contact)
    held = Point(0.0, 0.0).buffer(100.0)
    ahead = _seen_from(one, (40.0 * north[0], 40.0 * north[1]), [other], held, HALF_M)
    slack = off - off * math.tan(math.radians(10.0))
    assert (ahead is not None) is (slack <= 5.0)
    assert found or slack < 5.0
    if ahead is not None:
        assert ahead == pytest.approx((off * east[0], off * east[1]))
    # Behind nothing was followed.
    assert _seen_from(one, (-40.0 * north[0], -40.0 * north[1]), [other], held, HALF_M) is None


# --- slopes -------------------------------------------------------------------------------------------------------


def contact_at(lies, east=0.0, north=0.0, up=0.0, course=None):
    place = SimpleNamespace(east_m=east, north_m=north, relative_up_m=up)
    return SimpleNamespace(place=place, lies=lies, surface=None, course_deg=course)


def surface(strike, dip, sd=3.0):
    return Surface(strike_deg=strike, dip_deg=dip, sd_deg=sd)


@pytest.mark.parametrize(("east_rise", "north_rise"), [(0.3, 0.0), (-0.1, 0.25), (0.05, -0.4)])
@pytest.mark.parametrize(("strike", "dip"), [(20.0, 40.0), (250.0, 15.0), (120.0, 70.0)])
def test_a_plane_comes_out_along_the_line_in_which_it_meets_the_ground(strike, dip, east_rise, north_rise):
    """The cross product of the normals of both, over heights that are a plane themselves; 3 degrees of convergence."""
    side = np.arange(-100.0, 101.0, 10.0)
    up = east_rise * side[None, :] + north_rise * side[:, None]
    slopes = Slopes((), 3.0, Terrain(name="x", east_m=side, north_m=side, up_m=up))
    found = slopes.course(contact_at(surface(strike, dip)))
    dip_way = math.radians(strike - 3.0 + 90.0)
    bed = np.array(
        [
            math.sin(math.radians(dip)) * math.sin(dip_way),
            math.sin(math.radians(dip)) * math.cos(dip_way),
            math.cos(math.radians(dip)),
        ]
    )
    meets = np.cross(bed, (-east_rise, -north_rise, 1.0))
    course = math.degrees(math.atan2(meets[0], meets[1])) + 3.0
    assert (found.azimuth_deg - course + 90.0) % 180.0 == pytest.approx(90.0, abs=0.01)


def test_the_slope_between_legs_is_that_of_the_surface_that_a_gaussian_process_lays_through_their_ends():
    """By its mean and covariance at places a decimetre apart, of the kernel (1 + a r) exp(-a r) with a = root 3 / 300 m."""
    legs = (
        arm((-40.0, -10.0), (20.0, 15.0), (0.0, 9.0)), arm((20.0, 15.0), (60.0, -30.0), (9.0, 4.0)),
        arm((60.0, -30.0), (10.0, -70.0), (4.0, -6.0)),
    )  # fmt: skip
    slopes = Slopes(legs, 0.0)
    found, covariance = slopes._slope(contact_at(None, 5.0, 2.0, 3.0))
    runs = np.array([one.length_m for one in legs])
    rises = np.array([9.0, -5.0, -10.0])
    sd = max(0.05, math.sqrt((rises**2 / runs).sum() / runs.sum() / 2.0))
    assert sd > 0.05
    a = math.sqrt(3.0) / 300.0
    ends = np.array([(-40.0, -10.0), (20.0, 15.0), (60.0, -30.0), (10.0, -70.0)])
    heights = np.array([0.0, 9.0, 4.0, -6.0]) - 3.0

    def kernel(one, other):
        far = np.hypot(*(one[:, None] - other[None]).transpose(2, 0, 1))
        return (sd / a) ** 2 * (1.0 + a * far) * np.exp(-a * far) + 100.0**2

    step = 0.05
    at = np.array([5.0, 2.0])
    asked = at + step * np.array([(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)])
    known = kernel(ends, ends) + 0.25 * np.eye(4)
    gain = np.linalg.solve(known, kernel(ends, asked))
    mean = gain.T @ heights
    differ = np.array([(1.0, -1.0, 0.0, 0.0), (0.0, 0.0, 1.0, -1.0)]) / (2.0 * step)
    assert found == pytest.approx(differ @ mean, abs=2e-4)
    spread = kernel(asked, asked) - kernel(asked, ends) @ gain
    assert covariance == pytest.approx(differ @ spread @ differ.T, abs=0.05 * sd**2)


def test_level_legs_are_taken_for_ground_that_rises_five_in_a_hundred_and_heights_far_off_for_none():
    assert Slopes((arm((0.0, 0.0), (100.0, 0.0), (5.0, 5.0)),), 0.0)._sd == 0.05
    slopes = Slopes((arm((0.0, 0.0), (100.0, 0.0), (5.0, 15.0)),), 0.0)
    assert slopes._sd == pytest.approx(0.1 / math.sqrt(2.0))
    assert slopes._slope(contact_at(None, 50.0, 119.0)) is not None
    assert slopes._slope(contact_at(None, 50.0, 121.0)) is None
    assert Slopes((), 0.0).course(contact_at(surface(20.0, 40.0), course=20.0)).azimuth_deg == 20.0


# --- folds --------------------------------------------------------------------------------------------------------


def plane_normal(strike, dip):
    way = math.radians(strike + 90.0)
    return np.array(
        [
            math.sin(math.radians(dip)) * math.sin(way),
            math.sin(math.radians(dip)) * math.cos(way),
            math.cos(math.radians(dip)),
        ]
    )


@pytest.mark.parametrize(("strike", "dip"), [(15.0, 80.0), (200.0, 55.0), (110.0, 70.0)])
@pytest.mark.parametrize("rake", [10.0, 160.0])
@pytest.mark.parametrize("off", [60.0, 95.0, -70.0])
def test_an_axial_plane_strikes_as_the_plane_of_the_axis_and_its_line_on_the_section(strike, dip, rake, off):
    """An axis in the plane, so many degrees down from its strike; toward the end that it plunges to."""
    upward = plane_normal(strike, dip)
    along = np.array([*way_of(strike), 0.0])
    down = np.cross(upward, along)
    down = down if down[2] < 0.0 else -down
    axis = math.cos(math.radians(rake)) * along + math.sin(math.radians(rake)) * down
    trend, plunge = math.degrees(math.atan2(axis[0], axis[1])) % 360.0, math.degrees(math.asin(-axis[2]))
    azimuth_deg = strike + off
    x, y = way_of(azimuth_deg)
    # Where the upright plane of the section meets it.
    rise = -(upward[0] * x + upward[1] * y) / upward[2]
    axial = SimpleNamespace(points=((10.0, 50.0), (12.0, 50.0 + 2.0 * rise)))
    found = fold_traces.strike_of(axial, SimpleNamespace(trend_deg=trend, plunge_deg=plunge), azimuth_deg)
    assert (found - strike + 90.0) % 180.0 == pytest.approx(90.0, abs=1e-4)
    assert math.cos(math.radians(found - trend)) > 0.0


def test_a_level_axial_plane_has_no_strike():
    axial = SimpleNamespace(points=((0.0, 5.0), (10.0, 5.0)))
    assert fold_traces.strike_of(axial, SimpleNamespace(trend_deg=0.0, plunge_deg=0.0), 90.0) is None


@pytest.mark.parametrize(
    ("dips", "hollow"),
    [((30.0, -40.0), True), ((-30.0, 40.0), False), ((30.0, 40.0), None), ((-30.0, -5.0), None)],
)
def test_a_hollow_is_where_beds_dip_toward_the_surface_from_both_sides(dips, hollow):
    assert fold_traces._hollow(SimpleNamespace(left_dip_deg=dips[0], right_dip_deg=dips[1])) is hollow


@pytest.mark.parametrize("turn", [0.0, 50.0, 170.0])
@pytest.mark.parametrize(
    ("along", "off", "by", "same"),
    [
        (100.0, 37.0, 0.0, True),  # 20 m and the tangent of 10 degrees of 100 m: 37.6
        (100.0, 38.2, 0.0, False),
        (-100.0, -37.0, 0.0, True),
        (599.0, 0.0, 0.0, True),  # twice as far as a contact is carried
        (601.0, 0.0, 0.0, False),
        (100.0, 0.0, 19.9, True),  # and 10 degrees of each
        (100.0, 0.0, 20.1, False),
    ],
)  # fmt: skip
def test_a_trace_on_another_section_is_the_same_run_on(turn, along, off, by, same):
    x, y = way_of(turn)
    at = (along * x + off * y, along * y - off * x)
    assert fold_traces._one_trace(at, way_of(turn + by), (0.0, 0.0), (x, y), HALF_M) is same


@pytest.mark.parametrize("apart", [30.0, 70.0])
def test_a_section_is_askew_where_contacts_were_carried_past_the_band_along_the_axis(apart):
    """Carried square to the section by c, a place lies c over the tangent of the angle off that of the axis."""
    limit = HALF_M * math.tan(math.radians(apart))
    for carried, askew in ((limit - 0.1, False), (limit + 0.1, True), (-limit - 0.1, True)):
        point = SimpleNamespace(contact=object(), beside=False, stretch=0, carried_m=carried)
        section = SimpleNamespace(projection=Projection.SQUARE, points=[point], azimuths_deg=(20.0,))
        axis = SimpleNamespace(trend_deg=20.0 + apart)
        assert fold_traces._askew(section, axis, HALF_M) is askew
        section.projection = Projection.PLUNGE
        assert fold_traces._askew(section, axis, HALF_M) is False


def test_a_trace_runs_toward_the_plunge_as_far_as_ground_was_walked():
    whole = shapely.box(-40.0, -30.0, 500.0, 60.0)
    south = fold_traces._run((0.0, 0.0), (0.0, -1.0), whole)
    assert np.array(south.coords) == pytest.approx(np.array([(0.0, 60.0), (0.0, -30.0)]))
    # 300 m from its section at most.
    assert np.array(fold_traces._run((0.0, 0.0), (1.0, 0.0), whole).coords) == pytest.approx(
        np.array([(-40.0, 0.0), (300.0, 0.0)])
    )


def test_between_arms_a_trace_keeps_off_the_ground_that_was_walked():
    """A quarter of half the band off each; pieces shorter than five quarters of it are none."""
    line = LineString([(0.0, 0.0), (0.0, 200.0)])
    arms_ = shapely.union_all(
        [
            shapely.box(-9.0, 0.0, 9.0, 40.0),
            shapely.box(-9.0, 100.0, 9.0, 140.0),
            shapely.box(-9.0, 170.0, 9.0, 200.0),
        ]
    )
    (free,) = fold_traces._between(line, arms_, HALF_M)
    assert free.bounds == pytest.approx((0.0, 45.0, 0.0, 95.0))
    wider = shapely.union_all(
        [
            shapely.box(-9.0, 0.0, 9.0, 40.0),
            shapely.box(-9.0, 100.0, 9.0, 134.0),
            shapely.box(-9.0, 170.0, 9.0, 200.0),
        ]
    )
    assert [one.bounds[1::2] for one in fold_traces._between(line, wider, HALF_M)] == [
        (45.0, 95.0),
        (139.0, 165.0),
    ]
    assert fold_traces._between(line, shapely.box(-9.0, 0.0, 9.0, 200.0), HALF_M) == [line]


# --- turned as the walk asks --------------------------------------------------------------------------------------


PLACE = (700.0, 250.0)


def off(along, aside=0.0, turn=0.0):
    """East and north of the place, turned with the clock."""
    x, y = way_of(turn)
    return (PLACE[0] + aside * y + along * x, PLACE[1] - aside * x + along * y)


def walk_of(*stretches, met_at=(PLACE,), own_sd_m=0.0):
    records = [
        SimpleNamespace(start=start, end=end, unit=unit, covered=covered)
        for start, end, unit, covered in stretches
    ]
    crossed_ = [
        SimpleNamespace(at=at, contact=SimpleNamespace(younger="Aa", older="Bb", own_sd_m=own_sd_m))
        for at in met_at
    ]
    legs = tuple(arm(start, end) for start, end, *_ in stretches)
    return WalksByUnit(crossed_, records, ArmNetwork(legs), HALF_M)


def at_place(line):
    contact = SimpleNamespace(younger="Aa", older="Bb", own_sd_m=0.0, sd_m=0.0, lies=None)
    return SimpleNamespace(at=PLACE, contact=contact, line=LineString(line))


@pytest.mark.parametrize("turn", [0.0, 65.0, 200.0])
def test_a_line_parts_two_units_where_the_walk_leads_from_it_to_both_its_sides(turn):
    """Walked square to it, 40 m to either hand."""

    def at(along, aside):
        return off(along, aside, turn)

    walk = walk_of((at(0.0, -40.0), PLACE, "Aa", False), (PLACE, at(0.0, 40.0), "Bb", False))
    one = at_place([at(-20.0, 0.0), at(20.0, 0.0)])
    assert walk._parts(one, [at(-20.0, 0.0), at(20.0, 0.0)])
    assert walk._parts(one, [at(20.0, 0.0), at(-20.0, 0.0)])
    # Bent, so that both lie to one side of it; or along the walk.
    assert walk._parts(one, [at(-20.0, 30.0), at(20.0, 30.0)])
    assert not walk._parts(one, [at(-5.0, 20.0), at(0.0, 40.0)])
    assert not walk._parts(one, [at(-20.0, -30.0), at(-30.0, 0.0)])
    # One unit on both its sides.
    both = walk_of((at(0.0, -40.0), PLACE, "Aa", False), (PLACE, at(0.0, 40.0), "Aa", False))
    assert not both._parts(one, [at(-20.0, 0.0), at(20.0, 0.0)])
    # What is covered, and what is no unit of its own, tells nothing.
    silent = walk_of((at(0.0, -40.0), PLACE, "Aa", True), (PLACE, at(0.0, 40.0), "Cc", False))
    assert silent._parts(one, [at(-20.0, 0.0), at(20.0, 0.0)])


@pytest.mark.parametrize(
    ("aside", "own_sd_m", "crosses"),
    [(4.7, 0.0, False), (5.5, 0.0, True), (11.6, 6.0, False), (12.5, 6.0, True)],
)
def test_half_a_line_may_run_over_ground_of_its_units_near_where_it_was_met_alone(aside, own_sd_m, crosses):
    """Within five metres, or twice what the place is off by; a leg that crosses it farther on is all Bb."""
    leg = (off(-30.0, aside), off(30.0, aside))
    walk = walk_of((*leg, "Bb", False), own_sd_m=own_sd_m)
    one = at_place([off(0.0, -20.0), off(0.0, 20.0)])
    assert walk._crosses(one, off(0.0, 20.0)) is crosses
    assert walk._crosses(one, off(0.0, -20.0)) is False
    assert walk_of((*leg, "Cc", False), own_sd_m=own_sd_m)._crosses(one, off(0.0, 20.0)) is False
    # Where the contact was met on that leg too.
    again = walk_of((*leg, "Bb", False), met_at=(PLACE, off(0.0, aside)), own_sd_m=own_sd_m)
    assert again._crosses(one, off(0.0, 20.0)) is False


@pytest.mark.parametrize(("far", "leads"), [(4.0, True), (30.0, False)])
def test_one_line_leads_from_place_to_place_over_no_other_ground_of_its_units(far, leads):
    walk = walk_of(
        (off(-30.0, 15.0), off(30.0, 15.0), "Bb", False), (off(-30.0, 0.0), off(30.0, 0.0), "Cc", False)
    )
    place = SimpleNamespace(relative_up_m=0.0)
    one, other = at_place([off(0.0, -20.0), off(0.0, 20.0)]), at_place([off(0.0, 0.0), off(0.0, 40.0)])
    for each, at in ((one, PLACE), (other, off(0.0, far))):
        each.at, each.contact.place = at, place
    assert walk.leads(one, other) is leads
