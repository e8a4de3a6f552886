"""Two limbs of one contact made one line: each rule by plain geometry, and again for the section drawn from its other end."""

import math
from types import SimpleNamespace

import numpy as np
import pytest
import shapely

from traverse.structure.section.dip_domains import TracedLine
from traverse.structure.section.drawing_plane import Plane
from traverse.structure.section.joining import (
    _are_limbs,
    _blend,
    _follows,
    _ground_over,
    _met,
    _past_each_other,
    _surfaces,
    joined_lines,
    missed_limbs,
    up_to_hinge,
)
from traverse.structure.section.records import PointKind
from traverse.trade import UNEVEN_DEG

LENGTH_M = 200.0


def plane(heights=(0.0, 0.0, 0.0), *, floor_m=-80.0, top_m=90.0):
    return Plane(distance_m=np.linspace(0.0, LENGTH_M, len(heights)), up_m=np.array(heights), length_m=LENGTH_M,
                 floor_m=floor_m, top_m=top_m, level=False)  # fmt: skip


def start(x, z=0.0, *, ahead=1, kind=PointKind.CONTACT, pair=("Cm", "Gg"), block=0, label="Cm/Gg"):
    return SimpleNamespace(
        points=[SimpleNamespace(kind=kind, label=label)], at=(x, z), ahead=ahead, pair=pair, block=block
    )


def given(starts, *, beds=(), ground=None, near=20.0, way=(1.0, 0.0), parted=False):
    ground = ground or plane()
    return SimpleNamespace(
        starts=starts,
        plane=ground,
        near=near,
        of_block=lambda _: [SimpleNamespace(at=(x, 0.0), younging_rad=math.radians(one)) for x, one in beds],
        on_ground=lambda at: abs(at[1] - ground.at(at[0])) < 1e-6,
        way_at=lambda point, block: way,
        parted=lambda one, other: parted,
    )


def mirrored(points):
    return tuple((LENGTH_M - x, z) for x, z in points)


@pytest.mark.parametrize("turned", [False, True])
def test_two_limbs_that_end_at_one_trace_meet_where_the_shorter_is_moved_less(turned):
    """30 m and 10 m long, 4 m apart at the trace: they meet 3 m from the end of the one, 1 m from that of the other."""
    limb = ((0.0, 0.0), (18.0, -24.0))
    other = ((28.0, -20.0), (18.0, -20.0))
    if turned:
        limb, other = mirrored(limb), mirrored(other)
    found = _met(limb, other)
    trace = 18.0 if not turned else LENGTH_M - 18.0
    assert found == (pytest.approx(limb[0]), pytest.approx((trace, -21.0)), pytest.approx(other[0]))


def test_what_a_limb_is_moved_by_grows_from_nothing_with_the_way_along_it():
    limb = ((0.0, 0.0), (10.0, -2.0), (16.0, -10.0), (40.0, -17.0))
    other = ((90.0, 4.0), (61.0, -9.0), (43.0, -13.0))
    found = np.array(_met(limb, other))
    runs = [
        np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(np.array(one), axis=0).T))))
        for one in (limb, other)
    ]
    share = runs[0][-1] / (runs[0][-1] + runs[1][-1])
    middle = (1.0 - share) * np.array(limb[-1]) + share * np.array(other[-1])
    for line, run, drawn in ((limb, runs[0], found[:4]), (other, runs[1], found[:2:-1])):
        for point, at, got in zip(line, run / run[-1], drawn, strict=True):
            assert got == pytest.approx(np.array(point) + at * (middle - np.array(line[-1])))
    assert [tuple(one) for one in _met(other, limb)] == [pytest.approx(tuple(one)) for one in found[::-1]]


def test_without_a_trace_in_common_two_lines_are_mixed_by_the_share_of_the_way():
    """Straight ones, equally long along the section: at a share t of the way (1 - t) of the one and t of the other."""
    there, back = ((0.0, 0.0), (60.0, 9.0), (120.0, 18.0)), ((120.0, 0.0), (0.0, -12.0))
    one, other = TracedLine(points=there, bounds=(3,)), TracedLine(points=back, bounds=(5,))
    found = np.array(_blend(there, back[::-1], one, other, apart=False))
    shares = found[:, 0] / 120.0
    expected = (1.0 - shares) * shares * 18.0 + shares * (shares * 12.0 - 12.0)
    assert found[:, 1] == pytest.approx(expected, abs=0.05)
    assert len(found) == 41
    assert tuple(found[0]) == there[0]
    assert tuple(found[-1]) == back[0]
    again = np.array(_blend(back, there[::-1], other, one, apart=False))[::-1]
    assert again == pytest.approx(found, abs=1e-9)


def test_lines_through_the_same_traces_are_mixed_corner_by_corner():
    there = ((0.0, 0.0), (20.0, -14.0), (70.0, -18.0), (100.0, 6.0))
    back = ((100.0, 0.0), (66.0, -22.0), (24.0, -19.0), (0.0, -5.0))
    one, other = TracedLine(points=there, bounds=(1, 2)), TracedLine(points=back, bounds=(2, 1))
    found = np.array(_blend(there, back[::-1], one, other, apart=False))
    assert len(found) == 4
    between = (np.array(there) + np.array(back[::-1])) / 2.0
    run = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(between, axis=0).T))))
    weight = (run / run[-1])[:, None]
    assert found == pytest.approx((1.0 - weight) * np.array(there) + weight * np.array(back[::-1]))
    # Far apart they meet at one axial surface: by bound 1 the limbs are 24 m and 83 m long, by bound 2 75 m and 41 m.
    apart = _blend(there, back[::-1], one, other, apart=True)
    assert apart == tuple(pytest.approx(one) for one in _met(there[:3], back[:2]))


def test_through_one_of_several_traces_each_limb_goes_up_to_that_which_asks_least_of_either():
    """Bounds 1 and 2 in common, and one more on the one side: they meet at the bound whose longer limb is the shorter."""
    there = ((0.0, 0.0), (10.0, -8.0), (40.0, -30.0), (80.0, -30.0), (120.0, 0.0))
    back = ((120.0, 2.0), (84.0, -27.0), (14.0, -10.0), (0.0, 3.0))
    one, other = TracedLine(points=there, bounds=(1, 7, 2)), TracedLine(points=back, bounds=(2, 1))
    found = _blend(there, back[::-1], one, other, apart=False)
    # By bound 1 the limbs are 13 m and 118 m long, by bound 2 90 m and 46 m.
    assert found == tuple(pytest.approx(one) for one in _met(there[:4], back[:2]))


BEDS = [(10.0, 40.0), (60.0, 15.0), (110.0, -20.0), (160.0, -50.0)]


@pytest.mark.parametrize(
    ("ahead", "beds", "limbs"),
    [
        ((1, -1), BEDS, True),
        ((-1, 1), [(x, -one) for x, one in BEDS], True),
        ((-1, 1), BEDS, False),  # the younger unit outside, and beds that young toward each other
        ((1, 1), BEDS, False),
        ((1, 0), BEDS, False),
        (
            (1, -1),
            [(10.0, 40.0), (60.0, -15.0), (110.0, 20.0), (160.0, -50.0)],
            False,
        ),  # they turn three times
        ((1, -1), [(10.0, 40.0), (160.0, 50.0)], False),
        ((1, -1), [(10.0, 100.0), (160.0, -70.0)], True),
        ((1, -1), [(10.0, 100.0), (160.0, -100.0)], False),  # over half a turn
    ],
)
def test_two_contacts_are_limbs_where_the_beds_between_them_turn_once_and_as_the_units_do(ahead, beds, limbs):
    starts = [start(20.0, ahead=ahead[0]), start(150.0, ahead=ahead[1])]
    assert _are_limbs(given(starts, beds=beds), 0, 1) is limbs
    if limbs:
        assert _are_limbs(given(starts, beds=beds), 1, 0) is False
        # Drawn from the other end.
        turned = [start(50.0, ahead=-ahead[1]), start(180.0, ahead=-ahead[0])]
        flipped = [(LENGTH_M - x, -one) for x, one in beds[::-1]]
        assert _are_limbs(given(turned, beds=flipped), 0, 1) is True


def test_of_beds_only_those_beside_and_between_the_two_contacts_are_asked():
    """A turn far outside of them is another fold's."""
    starts = [start(70.0, ahead=1), start(100.0, ahead=-1)]
    outside = [(5.0, -60.0), (60.0, 30.0), (90.0, 10.0), (110.0, -20.0), (190.0, 55.0)]
    assert _are_limbs(given(starts, beds=outside), 0, 1) is True


@pytest.mark.parametrize("floor_m", [-50.0, -80.0])
def test_limbs_that_pass_each_other_go_half_way_where_one_leaves_the_section(floor_m):
    """Both dip inward and go out at the floor, the one far on: each is drawn up to the middle of where they overlap."""
    ground = plane(floor_m=floor_m)
    one = ((20.0, 0.0), (60.0, -30.0), (150.0, floor_m))
    other = ((180.0, 0.0), (130.0, -40.0), (50.0, floor_m))
    lines = {(0, 1.0): TracedLine(points=one), (1, -1.0): TracedLine(points=other)}
    met = _past_each_other(given([start(20.0), start(180.0)], ground=ground), lines, {}, 0, 1)
    middle = (50.0 + 150.0) / 2.0
    for limb, drawn in zip((one, other), met, strict=True):
        line = shapely.LineString(limb)
        upright = shapely.LineString([(middle, -500.0), (middle, 500.0)])
        at = line.intersection(upright)
        assert drawn[-1] == pytest.approx((at.x, at.y))
        assert shapely.LineString(drawn).length == pytest.approx(line.project(at))
    # One that comes out ends there; the reach between them is from there on.
    run = shapely.LineString(one).project(shapely.Point(60.0, -30.0))
    near = _past_each_other(given([start(20.0), start(180.0)], ground=ground), lines, {(0, 1.0): run}, 0, 1)
    assert near is None
    for key in lines:
        fewer = {one: line for one, line in lines.items() if one != key}
        assert _past_each_other(given([start(20.0), start(180.0)], ground=ground), fewer, {}, 0, 1) is None


@pytest.mark.parametrize(("over_m", "passes"), [(19.0, False), (21.0, True)])
def test_limbs_that_overlap_by_less_than_the_reach_of_one_line_do_not_pass_each_other(over_m, passes):
    one = ((20.0, 0.0), (90.0 + over_m, 90.0))
    other = ((180.0, 0.0), (90.0, 90.0))
    lines = {(0, 1.0): TracedLine(points=one), (1, -1.0): TracedLine(points=other)}
    assert (_past_each_other(given([start(20.0), start(180.0)]), lines, {}, 0, 1) is not None) is passes
    # Ending inside the section, neither out of the ground nor at its frame, it is no limb.
    inside = {**lines, (0, 1.0): TracedLine(points=((20.0, 0.0), (90.0 + over_m, 70.0)))}
    assert _past_each_other(given([start(20.0), start(180.0)]), inside, {}, 0, 1) is None


def test_how_far_the_ground_lies_over_a_straight_line_is_its_mean():
    heights = (10.0, 42.0, 18.0, 30.0, 6.0)
    found = _ground_over(given([], ground=plane(heights)), ((0.0, 14.0), (200.0, 22.0)))
    x = np.linspace(0.0, 200.0, 41)
    expected = np.interp(x, np.linspace(0.0, 200.0, 5), heights) - (14.0 + 8.0 * x / 200.0)
    assert found == pytest.approx(expected.mean())


@pytest.mark.parametrize("rise_deg", [-12.0, 0.0, 9.0])
@pytest.mark.parametrize("off_deg", [-1.03, -0.97, 0.97, 1.03])
def test_a_line_follows_an_unconformity_within_what_one_is_uneven_by(rise_deg, off_deg):
    read = math.radians(rise_deg)
    drawn = math.radians(rise_deg + off_deg * UNEVEN_DEG)
    chord = ((30.0, 5.0), (30.0 + 100.0 * math.cos(drawn), 5.0 + 100.0 * math.sin(drawn)))
    for sense in (1.0, -1.0):
        way = (sense * math.cos(read), sense * math.sin(read))
        assert _follows(given([], way=way), start(30.0), chord) is (abs(off_deg) < 1.0)
    assert _follows(given([], way=(0.0, 1.0)), start(30.0), chord) is False


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize(
    ("ahead", "heights", "joined"),
    [
        ((1, -1), (0.0, 30.0, 0.0), True),  # a hill of the younger unit
        ((1, -1), (0.0, -30.0, 0.0), False),
        ((-1, 1), (0.0, -30.0, 0.0), True),  # a valley through it
        ((-1, 1), (0.0, 30.0, 0.0), False),
        ((0, 0), (0.0, 30.0, 0.0), True),
        ((1, 1), (0.0, 30.0, 0.0), False),
    ],
)
def test_an_unconformity_is_one_surface_under_a_hill_or_over_a_valley(ahead, heights, joined, turned):
    first, last = ahead if not turned else (-ahead[1], -ahead[0])
    ground = plane(heights)
    kind = PointKind.UNCONFORMITY
    starts = [
        start(40.0, ground.at(40.0), ahead=first, kind=kind),
        start(160.0, ground.at(160.0), ahead=last, kind=kind),
    ]
    paths = {(0, 1.0): None, (1, -1.0): None}
    found = _surfaces(given(starts, ground=ground), paths)
    chord = (starts[0].at, starts[1].at)
    assert found == ({(0, 1.0): (1, chord), (1, -1.0): (0, chord)} if joined else {})
    assert _surfaces(given(starts, ground=ground), {(0, 1.0): None}) == {}


def limbs_off(miss_m, *, beds, out=True, near=20.0, parted=False):
    """Two limbs 100 m apart, each of which comes out so far from the other's start; what they are joined to."""
    starts = [start(50.0, ahead=1), start(150.0, ahead=-1)]
    paths = {
        (0, 1.0): TracedLine(points=((50.0, 0.0), (100.0, -40.0), (150.0 - miss_m, 0.0), (160.0, 20.0))),
        (1, -1.0): TracedLine(points=((150.0, 0.0), (100.0, -40.0), (50.0 + miss_m, 0.0), (40.0, 20.0))),
    }
    ran = {
        key: float(np.hypot(*np.diff(np.array(line.points[:3]), axis=0).T).sum())
        for key, line in paths.items()
    }
    known = given(starts, beds=beds, near=near, parted=parted)
    found, rolling, apart = joined_lines(known, paths, ran if out else {})
    assert apart == (["Cm/Gg"] if parted else [])
    return {key: other for key, (other, _) in found.items()}, rolling


TURN, ALIKE = [(40.0, 30.0), (160.0, -30.0)], [(40.0, 30.0), (160.0, 28.0)]
BOTH = {(0, 1.0): 1, (1, -1.0): 0}


@pytest.mark.parametrize(
    ("miss_m", "beds", "near", "joined", "said"),
    [
        (10.0, TURN, 20.0, True, False),
        # Within a third of the way between them, a little over: one contact; beyond it only limbs of one fold are.
        (34.0, ALIKE, 20.0, True, False),
        (36.0, ALIKE, 20.0, False, False),
        (34.0, TURN, 20.0, True, False),
        (36.0, TURN, 20.0, True, True),
        (74.0, TURN, 20.0, True, True),
        (76.0, TURN, 20.0, False, False),
        (36.0, ALIKE, 37.0, True, False),
    ],
)
def test_limbs_may_miss_each_other_by_a_share_of_the_way_between_them(miss_m, beds, near, joined, said):
    found, rolling = limbs_off(miss_m, beds=beds, near=near)
    assert found == (BOTH if joined else {})
    assert rolling == (["Cm/Gg"] if said else [])


def test_limbs_with_a_fault_between_that_is_left_off_are_not_joined_and_named():
    assert limbs_off(10.0, beds=TURN, parted=True) == ({}, [])


def test_limbs_that_come_out_nowhere_are_not_joined():
    assert limbs_off(10.0, beds=ALIKE, out=False) == ({}, [])


@pytest.mark.parametrize(
    ("aheads", "beds", "joined", "missed"),
    [
        # An anticline, whose limbs nothing joins; the same joined; one limb twice; beds that turn three times between.
        ((-1, 1), [(40.0, -30.0), (90.0, -20.0), (160.0, 35.0)], {}, {(0, 1.0), (1, -1.0)}),
        ((-1, 1), [(40.0, -30.0), (160.0, 35.0)], {(0, 1.0): (1, ()), (1, -1.0): (0, ())}, set()),
        ((-1, -1), [(40.0, -30.0), (160.0, 35.0)], {}, set()),
        ((-1, 1), [(40.0, -30.0), (70.0, 20.0), (110.0, -20.0), (160.0, 35.0)], {}, set()),
    ],
)
def test_limbs_that_nothing_joins_are_followed_to_the_hinge(aheads, beds, joined, missed):
    met = [start(x, ahead=ahead) for x, ahead in zip((50.0, 150.0), aheads, strict=True)]
    assert missed_limbs(given(met, beds=beds), joined) == missed


@pytest.mark.parametrize(
    ("points", "kept"),
    [
        # Up a limb and down the other; into a trough; past a level stretch; one way all along.
        ([(0.0, 0.0), (20.0, 9.0), (40.0, 12.0), (60.0, 3.0)], 3),
        ([(60.0, 3.0), (40.0, -12.0), (0.0, 0.0)], 2),
        ([(0.0, 0.0), (20.0, 9.0), (40.0, 9.0), (60.0, 3.0), (80.0, 0.0)], 3),
        ([(0.0, 0.0), (20.0, 9.0), (40.0, 9.0), (60.0, 13.0)], 4),
        ([(0.0, 0.0)], 1),
    ],
)
def test_a_hinge_is_the_first_crest_or_trough(points, kept):
    assert up_to_hinge(points) == tuple(points[:kept])
