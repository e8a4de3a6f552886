"""Lines of a section cut off where something ends them, and hinges put where two limbs of one contact meet: by shapely and by hand."""

import math
from itertools import pairwise
from types import SimpleNamespace

import numpy as np
import pytest
import shapely

from traverse.log.items import ContactKind
from traverse.structure.section.construct import _chains, _Constructor, _dip, _limbs, _turns_over
from traverse.structure.section.dip_domains import DipDomains, Domain, TracedLine
from traverse.structure.section.drawing_plane import Plane
from traverse.structure.section.inputs import FaultLine
from traverse.structure.section.records import AxialLine, PointKind
from traverse.trade import LEVEL_DEG

GROUND = Plane(distance_m=np.array([0.0, 60.0, 140.0, 200.0]), up_m=np.array([10.0, 30.0, 18.0, 40.0]), length_m=200.0,
               floor_m=-150.0, top_m=160.0, level=False)  # fmt: skip
SEEDS = range(6)


def maker(**known):
    made = _Constructor.__new__(_Constructor)
    made.given = SimpleNamespace(plane=GROUND, faults=[], section=SimpleNamespace(length_m=200.0, bends_m=(), over=(), profile=()),
                                 above={}, open_m=lambda start: 0.0)  # fmt: skip
    for name, value in known.items():
        setattr(made.given, name, value)
    return made


def line_at_random(seed, sense=1):
    rng = np.random.default_rng(seed)
    x = np.sort(rng.uniform(5.0, 195.0, 8))[::sense]
    return [(float(one), float(z)) for one, z in zip(x, rng.uniform(-60.0, 60.0, 8), strict=True)]


def cut_at(points, line):
    """A line up to where it first meets another, by shapely; None where it does not."""
    own = shapely.LineString(points)
    met = [own.project(one) for one in shapely.get_parts(own.intersection(line)).tolist() if one]
    return min(met) if met else None


def length(points):
    return float(np.hypot(*np.diff(np.array(points), axis=0).T).sum())


@pytest.mark.parametrize("block", [0, 1, 2])
@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize("seed", SEEDS)
def test_a_line_ends_at_the_first_of_the_two_faults_beside_its_block(seed, sense, block):
    faults = [
        FaultLine(points=[], at=(70.0, 28.0), way=(0.6, -0.8), measured=True),
        FaultLine(points=[], at=(130.0, 20.0), way=(-0.28, -0.96), measured=True),
    ]
    points = line_at_random(seed, sense)
    runs = []
    for index in (block - 1, block):
        if 0 <= index < 2:
            at, way = np.array(faults[index].at), np.array(faults[index].way)
            runs.append(cut_at(points, shapely.LineString([at - 900.0 * way, at + 900.0 * way])))
    met = [one for one in runs if one is not None]
    found, hit = maker(faults=faults)._at_faults(points, block)
    assert hit is bool(met)
    assert length(found) == pytest.approx(min(met) if met else length(points), abs=1e-6)


@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize("seed", SEEDS)
def test_a_line_ends_where_it_comes_up_to_the_plane_of_the_cover(seed, sense):
    """That plane falls from 50 to -20 over a bend; a line that begins over it and goes up is not drawn that way."""
    over = SimpleNamespace(across=lambda section: ((0.0, 50.0), (90.0, 10.0), (200.0, -20.0)))
    made = maker(section=SimpleNamespace(length_m=200.0, bends_m=(90.0,), over=(over,), profile=()))
    points = line_at_random(seed, sense)
    cover = [(0.0, 50.0), (90.0, 10.0), (200.0, -20.0)]
    above = [z - float(np.interp(x, *np.array(cover).T)) for x, z in points]
    found, hit = made._up_to_cover(points)
    if above[0] > 0.0:
        first = points[1][0] if (points[0][0] - 90.0) * (points[1][0] - 90.0) >= 0.0 else 90.0
        share = (first - points[0][0]) / (points[1][0] - points[0][0])
        then = (
            points[0][1] + share * (points[1][1] - points[0][1]) - float(np.interp(first, *np.array(cover).T))
        )
        if then > above[0]:
            assert (found, hit) == (tuple(points[:1]), True)
            return
    line = shapely.LineString(points)
    met = sorted(
        line.project(one)
        for one in shapely.get_parts(line.intersection(shapely.LineString(cover))).tolist()
        if one
    )
    upward = []
    for run in met:
        before, after = (line.interpolate(run + step) for step in (-1e-3, 1e-3))
        gaps = [one.y - float(np.interp(one.x, *np.array(cover).T)) for one in (before, after)]
        upward += [run] if gaps[0] < 0.0 < gaps[1] else []
    assert hit is bool(upward)
    assert length(found) == pytest.approx(upward[0] if upward else line.length, abs=1e-5)
    assert maker()._up_to_cover(points) == (tuple(points), False)


PROFILE = [SimpleNamespace(distance_m=x, up_m=GROUND.at(x), unit="Pp" if 100.0 < x < 150.0 else "Qq" if x > 160.0 else None)
           for x in np.arange(2.0, 200.0, 4.0).tolist()]  # fmt: skip


@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize("seed", SEEDS)
def test_a_line_in_the_air_over_ground_of_a_pile_was_worn_off_there(seed, sense):
    """It ends at the first place of the profile on the pile, or on the unit that it lies on, that it passes more than a metre over."""
    made = maker(
        above={"Pp": ("Qq",)}, section=SimpleNamespace(profile=PROFILE, bends_m=(), over=(), length_m=200.0)
    )
    points = line_at_random(seed, sense)
    line = shapely.LineString(points)
    over = []
    for ground in PROFILE:
        if ground.unit is None:
            continue
        at = line.intersection(shapely.LineString([(ground.distance_m, -900.0), (ground.distance_m, 900.0)]))
        if not at.is_empty and at.y > ground.up_m + 1.0:
            over.append(line.project(at))
    contact = SimpleNamespace(kind=ContactKind.CONTACT, younger="Aa")
    found, hit = made._up_to_pile(points, contact)
    assert hit is bool(over)
    assert length(found) == pytest.approx(min(over) if over else line.length, abs=1e-6)
    for other in (
        SimpleNamespace(kind=ContactKind.UNCONFORMITY, younger="Aa"),
        SimpleNamespace(kind=ContactKind.CONTACT, younger="Pp"),
    ):
        assert made._up_to_pile(points, other) == (tuple(points), False)


@pytest.mark.parametrize("over", [True, False])
@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize("seed", SEEDS)
def test_an_unconformity_ends_where_ground_of_the_wrong_side_is_known(seed, sense, over):
    """More than a metre over ground of what lies on it, or under ground of what it cuts; not near where it was met."""
    made = maker(section=SimpleNamespace(profile=PROFILE, bends_m=(), over=(), length_m=200.0), lies_over=lambda contact, unit: over,
                 open_m=lambda start: 12.0)  # fmt: skip
    points = line_at_random(seed, sense)
    line = shapely.LineString(points)
    wrong = []
    for ground in PROFILE:
        at = line.intersection(shapely.LineString([(ground.distance_m, -900.0), (ground.distance_m, 900.0)]))
        if ground.unit is None or at.is_empty or abs(ground.distance_m - points[0][0]) <= 12.0:
            continue
        if (at.y - ground.up_m if over else ground.up_m - at.y) > 1.0:
            wrong.append(line.project(at))
    found, hit = made._at_other_ground(points, SimpleNamespace(at=points[0], contact=None))
    assert hit is bool(wrong)
    assert length(found) == pytest.approx(min(wrong) if wrong else line.length, abs=1e-6)


def surface(points):
    return SimpleNamespace(pieces=[SimpleNamespace(points=points)])


@pytest.mark.parametrize("lean", [0.0, 25.0, -20.0])
def test_an_axial_trace_goes_up_to_the_surface_that_a_cover_lies_on(lean):
    """From its lower end; the surface ends where it was drawn."""
    way = np.array([math.sin(math.radians(lean)), math.cos(math.radians(lean))])
    low = np.array([100.0, -100.0])
    axial = AxialLine(
        points=(tuple(low + 160.0 * way), tuple(low)), left_dip_deg=30.0, right_dip_deg=-30.0, hinge=True
    )
    path = ((20.0, -10.0), (90.0, 5.0), (190.0, 20.0))
    trace = shapely.LineString(axial.points)
    at = trace.intersection(shapely.LineString(path))
    found = maker()._under_cover(axial, [surface(path)])
    assert found.points[0] == pytest.approx((at.x, at.y), abs=1e-6)
    assert found.points[-1] == tuple(low)
    beside = ((0.0, -10.0), (15.0, 0.0))
    assert maker()._under_cover(axial, [surface(beside)]) == axial
    # Of two the lower ends it; one that lies under its lower end leaves nothing of it.
    lower = ((20.0, -60.0), (190.0, -55.0))
    assert maker()._under_cover(axial, [surface(path), surface(lower)]).points[0][1] < -50.0
    assert maker()._under_cover(axial, [surface(((20.0, -120.0), (190.0, -101.0)))]) is None
    assert maker()._under_cover(axial, [surface(((20.0, -99.8), (190.0, -99.6)))]) is None


@pytest.mark.parametrize("angle", [-100.0, -60.0, -5.0, 0.0, 35.0, 89.0, 120.0, 175.0])
def test_an_apparent_dip_is_told_by_the_younging_angle(angle):
    """Of an overturned bed too: the plane is the same whichever of its sides is the younger."""
    expected = (angle + 90.0) % 180.0 - 90.0
    assert _dip(math.radians(angle)) == pytest.approx(expected)


@pytest.mark.parametrize(("heights", "over"), [((0.0, 5.0, 2.0), True), ((0.0, -5.0, 2.0), True), ((0.0, 1.0, 2.0), False), ((2.0, 1.0, 0.0), False),
                                               ((0.0,), False), ((), False)])  # fmt: skip
def test_a_line_turns_over_where_it_goes_beyond_both_its_ends(heights, over):
    assert _turns_over([(float(x), up) for x, up in enumerate(heights)]) is over


def test_starts_joined_one_to_the_next_are_one_chain():
    joined = {(0, 1.0): (2, ()), (2, -1.0): (0, ()), (2, 1.0): (5, ()), (5, -1.0): (2, ())}
    assert sorted(map(sorted, _chains(joined, range(6)))) == [[0, 2, 5], [1], [3], [4]]


def start(x, pair, ahead, z=None):
    return SimpleNamespace(at=(x, GROUND.at(x) if z is None else z), pair=pair, ahead=ahead)


def test_the_innermost_contact_on_both_sides_of_a_hinge_tells_where_it_lies():
    contacts = [
        start(10.0, "ab", 1),
        start(30.0, "bc", 1),
        start(50.0, "bc", 1),
        start(110.0, "bc", -1),
        start(150.0, "ab", -1),
        start(190.0, "bc", -1),
    ]
    assert _limbs(contacts, 80.0) == (contacts[2], contacts[3])
    assert _limbs(contacts[:2] + contacts[4:5], 80.0) == (contacts[0], contacts[4])
    # Whose younger unit lies on the same side twice is no fold's.
    assert _limbs([start(50.0, "bc", 1), start(110.0, "bc", 1)], 80.0) is None
    assert _limbs([start(50.0, "bc", 0), start(110.0, "bc", 1)], 80.0) is not None
    assert _limbs(contacts[:3], 80.0) is None


def domain(x, angle):
    at = (x, GROUND.at(x))
    return Domain(younging_rad=math.radians(angle), first=at, last=at, middle=at)


@pytest.mark.parametrize(("left_deg", "right_deg"), [(35.0, -50.0), (-35.0, 50.0), (60.0, -25.0)])
def test_a_hinge_lies_where_the_limbs_of_one_contact_meet(left_deg, right_deg):
    """Two straight limbs from where the contact was met: their trace goes through where they meet, and halves their angle."""
    one, other = start(50.0, "bc", 1), start(120.0, "bc", -1)
    domains = [domain(40.0, left_deg), domain(140.0, right_deg)]
    ways = [np.array([math.cos(math.radians(a)), -math.sin(math.radians(a))]) for a in (left_deg, right_deg)]
    runs = np.linalg.solve(np.column_stack((ways[0], -ways[1])), np.subtract(other.at, one.at))
    met = np.array(one.at) + runs[0] * ways[0]
    normals = [
        np.array([math.sin(math.radians(a)), math.cos(math.radians(a))]) for a in (left_deg, right_deg)
    ]
    way = normals[0] + normals[1]
    way /= np.linalg.norm(way)
    trace = shapely.LineString([met - 400.0 * way, met + 400.0 * way])
    ground = shapely.LineString(np.column_stack((GROUND.distance_m, GROUND.up_m)))
    at = min(
        shapely.get_parts(trace.intersection(ground)).tolist(),
        key=lambda point: math.dist(met, (point.x, point.y)),
    )
    midway = (90.0, GROUND.at(90.0))
    found = maker()._hinge(domains, [midway], 0, [one, other], midway=midway)
    assert found == (pytest.approx((at.x, at.y), abs=1e-5) if 40.0 < at.x < 140.0 else None)
    fields = [DipDomains(domains=[one_of], starts=[]) for one_of in domains]
    assert maker()._meeting((one, other), *fields) == pytest.approx(tuple(met))
    alike = [domain(40.0, 35.0), domain(140.0, 50.0)]
    assert maker()._hinge(alike, [midway], 0, [one, other], midway=midway) is None


@pytest.mark.parametrize("sense", [1.0, -1.0])
@pytest.mark.parametrize(("rise_deg", "ahead", "says"), [(30.0, 1, 1), (30.0, -1, -1), (-30.0, 1, -1), (-30.0, -1, 1),
                                                         (LEVEL_DEG + 0.2, 1, 1), (LEVEL_DEG - 0.2, 1, 0), (30.0, 0, 0)])  # fmt: skip
def test_a_place_says_whether_its_younger_unit_lies_where_its_beds_have_it(rise_deg, ahead, says, sense):
    """Along a line that keeps its younger side on the left: where it rises with distance, that is against the distance."""
    rise = math.radians(rise_deg)
    way = np.array([math.cos(rise), math.sin(rise)])
    path = TracedLine(points=((50.0, 20.0), tuple(np.array([50.0, 20.0]) + sense * 12.0 * way)))
    made = maker(starts=[SimpleNamespace(ahead=ahead)])
    assert made._says_turned(0, {(0, sense): path}) == says
    assert made._says_turned(0, {}) == 0


def test_most_of_a_line_says_whether_it_is_turned():
    """Each place by the length of its own halves, and half of what it is joined by."""
    made = maker(starts=[])
    votes = {0: 1, 1: -1}
    made._says_turned = lambda index, paths: votes[index]
    alone = {
        index: SimpleNamespace(halves=[SimpleNamespace(points=((0.0, 0.0), (1.0, 0.0), (long, 0.0)))])
        for index, long in ((0, 30.0), (1, 20.0))
    }
    assert made._turned([0, 1], {}, alone, {}) is True
    joined = {(1, 1.0): (0, ((0.0, 0.0), (2.0, 0.0), (21.0, 0.0)))}
    assert made._turned([0, 1], {}, alone, joined) is False
    joined = {(1, 1.0): (0, ((0.0, 0.0), (2.0, 0.0), (19.0, 0.0)))}
    assert made._turned([0, 1], {}, alone, joined) is True
    assert made._turned([1], {}, alone, {}) is False


@pytest.mark.parametrize("read", [1, 3, 9])
def test_the_error_of_a_line_is_that_of_its_surest_place_or_of_two_that_disagree(read):
    from traverse.structure.section.construct import _LineCourse
    from traverse.structure.section.inputs import Start

    points = [SimpleNamespace(at=(50.0, 20.0), sd=3.0), SimpleNamespace(at=(70.0, 45.0), sd=2.0)]
    one = Start(points=points, at=(60.0, 30.0), ahead=1, block=0)
    way = (0.8, -0.6)
    made = maker(tells=lambda point: True, place=lambda point: point.at, way_at=lambda point, block: way)
    made.errors = SimpleNamespace(sd_m=lambda point: point.sd, sd_deg=lambda point: 5.0)
    found = made._error(SimpleNamespace(starts=[one]), {one.at: _LineCourse(read, [])})
    apart = abs(float(np.linalg.det([np.subtract(points[0].at, points[1].at), way])))
    assert found.at == points[1].at
    assert found.sd_m == pytest.approx(max(2.0, apart / math.sqrt(12.0)))
    assert found.sd_deg == pytest.approx(5.0 / math.sqrt(min(read, 4)))


@pytest.mark.parametrize("measured", [True, False])
def test_a_fault_runs_both_ways_to_the_frame(measured):
    fault = FaultLine(points=[], at=(90.0, GROUND.at(90.0)), way=(0.6, -0.8), measured=measured)
    line = maker()._fault_line(fault)
    frame = shapely.box(0.0, GROUND.floor_m, 200.0, GROUND.top_m)
    whole = shapely.LineString(
        [np.array(fault.at) + run * np.array(fault.way) for run in (-900.0, 900.0)]
    ).intersection(frame)
    drawn = shapely.union_all([shapely.LineString(half.points) for half in line.halves])
    assert drawn.hausdorff_distance(whole) < 1e-6
    assert [half.back for half in line.halves] == [True, False]
    assert {half.rank for half in line.halves} == {3 if measured else 2}
    for half in line.halves:
        for before, after in pairwise(half.points):
            assert (after[1] < before[1]) is not half.back


@pytest.mark.parametrize("sense", [1.0, -1.0])
@pytest.mark.parametrize(
    ("way", "own", "down"),
    [((0.8, -0.6), True, (0.8, -0.6)), ((-0.8, -0.6), True, (0.8, 0.6)), ((-0.8, -0.6), False, (-0.8, -0.6))],
)
def test_a_contact_without_beds_goes_straight_by_its_own_plane(way, own, down, sense):
    """Its plane says nothing of way-up: as if the younger unit lay above it."""
    point = SimpleNamespace(apparent_dip_deg=30.0 if own else None, kind=PointKind.CONTACT)
    made = maker(way_at=lambda point, block: way)
    found = made._straight(SimpleNamespace(points=[point], block=0, at=(50.0, 20.0)), sense)
    step = np.subtract(found.points[1], found.points[0])
    assert step / np.hypot(*step) == pytest.approx(sense * np.array(down))
    assert np.hypot(*step) == pytest.approx(GROUND.reach_m)
