"""The geometry of lines from arm to arm, of outcrops and of planes: plain figures, shapely, and a matrix of rotation."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from shapely import LineString, Point
from shapely.ops import substring

from traverse.ground import joins, outcrop
from traverse.ground.joins import (
    _ContactMet,
    _crossings,
    _NotJoined,
    _once,
    _pair,
    _run,
    _Segments,
    _until,
    _way,
    _ways,
)
from traverse.ground.plane import angle_deg, holding, normal
from traverse.ground.records import WhyApart
from traverse.heights.records import Terrain

# --- planes -------------------------------------------------------------------------------------------------------


def turned(strike_deg, dip_deg):
    """The upward axis, tilted about north down to the east by the dip, then turned with the clock to the strike."""
    dip, strike = math.radians(dip_deg), math.radians(strike_deg)
    tilt = np.array([[math.cos(dip), 0, math.sin(dip)], [0, 1, 0], [-math.sin(dip), 0, math.cos(dip)]])
    turn = np.array(
        [[math.cos(strike), math.sin(strike), 0], [-math.sin(strike), math.cos(strike), 0], [0, 0, 1]]
    )
    return turn @ tilt @ np.array([0.0, 0.0, 1.0])


@pytest.mark.parametrize(("strike", "dip"), [(0, 30), (37, 62), (145, 5), (251, 88), (333, 45)])
def test_a_normal_is_the_upward_axis_tilted_and_turned(strike, dip):
    assert normal(strike, dip) == pytest.approx(turned(strike, dip), abs=1e-11)


@pytest.mark.parametrize("seed", range(6))
def test_the_angle_between_two_vectors_by_their_cosine(seed):
    one, other = np.random.default_rng(seed).normal(size=(2, 3))
    expected = math.degrees(math.acos(one @ other / np.linalg.norm(one) / np.linalg.norm(other)))
    assert angle_deg(one, other) == pytest.approx(expected, abs=1e-5)


@pytest.mark.parametrize("seed", range(6))
def test_the_plane_that_holds_a_line_is_square_to_it_and_to_what_it_was_turned_about(seed):
    """Turned the least: the new normal lies in the plane of the old one and the line."""
    plane, along = np.random.default_rng(seed).normal(size=(2, 3))
    held = holding(plane, along)
    assert held @ along == pytest.approx(0.0, abs=1e-10)
    assert np.linalg.norm(held) == pytest.approx(1.0)
    assert np.linalg.det([held, plane, along]) == pytest.approx(0.0, abs=1e-10)
    assert held @ plane > 0.0
    assert holding(plane, 7.0 * plane) is None


# --- lines that cross ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(8))
def test_where_others_cross_a_line_is_where_shapely_finds_it(seed):
    rng = np.random.default_rng(seed)
    line = np.cumsum(rng.uniform((5.0, -20.0), (40.0, 40.0), (6, 2)), axis=0)
    starts, ends = rng.uniform(-20.0, 120.0, (2, 30, 2))
    along, which = _crossings(line, _run(line), starts, ends)
    whole = LineString(line)
    expected = sorted(
        (index, whole.project(place))
        for index, (one, other) in enumerate(zip(starts, ends, strict=True))
        for place in shapely.get_parts(LineString([one, other]).intersection(whole))
        if not place.is_empty
    )
    found = sorted(zip(which.tolist(), along.tolist(), strict=True))
    assert [index for index, _ in found] == [index for index, _ in expected]
    assert [at for _, at in found] == pytest.approx([at for _, at in expected])
    assert found


@pytest.mark.parametrize("along", [1.0, 4.0, 5.0, 8.5, 12.0])
def test_a_line_as_far_as_a_distance_along_it_ends_there(along):
    line = np.array([(0.0, 0.0), (3.0, 4.0), (3.0, 11.0)])
    found = LineString(_until(line, _run(line), along))
    assert found.length == pytest.approx(along)
    assert found.equals_exact(substring(LineString(line), 0.0, along), 1e-9)


def test_parts_of_lines_are_kept_in_the_order_they_come():
    kept, lines = _Segments(), []
    for count in (2, 50, 3, 90, 200):
        line = np.cumsum(np.random.default_rng(count).uniform(size=(count, 2)), axis=0)
        kept.add(line)
        lines.append(line)
    starts, ends = kept.ends()
    assert np.array_equal(starts, np.vstack([line[:-1] for line in lines]))
    assert np.array_equal(ends, np.vstack([line[1:] for line in lines]))


def test_ways_between_two_parts_of_a_line_and_of_a_ring():
    """Parts run from point to point of the same number; from part 1 to part 4, and back."""
    line = np.array([(i, i * i) for i in range(6)], dtype=float)
    assert [way[:, 0].tolist() for way in _ways(line, 1, 4)] == [[2, 3, 4]]
    assert [way[:, 0].tolist() for way in _ways(line, 4, 1)] == [[4, 3, 2]]
    ring = np.array([(0, 0), (1, 0), (2, 1), (2, 2), (1, 3), (0, 2), (0, 0)], dtype=float)
    corners = {tuple(point): index for index, point in enumerate(ring[:-1].tolist())}
    ways = [[corners[tuple(point)] for point in way.tolist()] for way in _ways(ring, 1, 4)]
    assert ways == [[2, 3, 4], [1, 0, 5]]
    ways = [[corners[tuple(point)] for point in way.tolist()] for way in _ways(ring, 4, 1)]
    assert ways == [[5, 0, 1], [4, 3, 2]]


# --- two that belong together -------------------------------------------------------------------------------------


def met(
    east,
    north,
    up,
    plane,
    *,
    order=0,
    sd_deg=0.0,
    sd_m=0.0,
    leg=None,
    file="day.trav",
    own_sd_m=None,
    on_grid=None,
):
    """A contact at a place; `plane` by strike and dip."""
    address = SimpleNamespace(leg=None if leg is None else SimpleNamespace(index=leg))
    contact = SimpleNamespace(
        order=order, place=SimpleNamespace(address=address), sd_m=sd_m, own_sd_m=sd_m if own_sd_m is None else own_sd_m,
        booked=SimpleNamespace(span=SimpleNamespace(file=file, line=order)),
    )  # fmt: skip
    return _ContactMet(
        contact=contact,
        at=np.array([east, north, up], dtype=float),
        on_grid=on_grid,
        normal=None if plane is None else turned(*plane),
        sd_deg=sd_deg,
        sd_m=sd_m,
    )


def down_dip(strike_deg, dip_deg, along_m, off_m):
    """A place of the plane through 0 so far along its strike and down its dip, on the level."""
    strike = math.radians(strike_deg)
    east = along_m * math.sin(strike) + off_m * math.cos(strike)
    north = along_m * math.cos(strike) - off_m * math.sin(strike)
    return east, north, -off_m * math.tan(math.radians(dip_deg))


@pytest.mark.parametrize(("strike", "dip"), [(20, 40), (115, 25), (260, 70)])
def test_two_places_of_one_plane_belong_together_and_it_is_theirs(strike, dip):
    pair = _pair(met(0, 0, 0, (strike, dip)), met(*down_dip(strike, dip, 80.0, 15.0), (strike, dip), order=1))
    assert pair.normal == pytest.approx(turned(strike, dip), abs=1e-9)
    assert pair.apart_m == pytest.approx(math.hypot(80.0, 15.0))
    assert pair.off_deg == pytest.approx(0.0, abs=1e-6)
    # The second lies ahead along the strike; seen from it the first lies behind.
    assert _way(pair)
    back = _pair(met(*down_dip(strike, dip, 80.0, 15.0), (strike, dip)), met(0, 0, 0, (strike, dip), order=1))
    assert not _way(back)


def apart_by(angle, **errors):
    """Upright planes that strike so much to either side of the line between their places, 100 m on."""
    first = met(0, 0, 0, (40.0 + angle, 90.0), **errors)
    return _pair(
        first, met(*down_dip(40.0, 90.0, 100.0, 0.0)[:2], 0.0, (40.0 - angle, 90.0), order=1, **errors)
    )


@pytest.mark.parametrize(
    ("angle", "errors", "joined"),
    [
        # 10 degrees of each, whatever is known; with errors twice theirs, and never beyond 15.
        (9.9, {}, True),
        (10.1, {}, False),
        (11.9, {"sd_deg": 6.0}, True),
        (12.1, {"sd_deg": 6.0}, False),
        (14.9, {"sd_deg": 20.0}, True),
        (15.1, {"sd_deg": 20.0}, False),
        # Two places of 8 m each: atan(8 √2 / 100) = 6.45 degrees, twice that 12.9.
        (12.8, {"sd_m": 8.0}, True),
        (13.0, {"sd_m": 8.0}, False),
        # Both together: twice hypot(5, atan(5 √2 / 100) = 4.04) = 12.9.
        (12.8, {"sd_m": 5.0, "sd_deg": 5.0}, True),
        (13.0, {"sd_m": 5.0, "sd_deg": 5.0}, False),
    ],
)  # fmt: skip
def test_planes_may_be_off_by_as_much_as_their_errors_and_no_more(angle, errors, joined):
    found = apart_by(angle, **errors)
    assert (not isinstance(found, _NotJoined)) is joined
    assert found.off_deg == pytest.approx(angle, abs=1e-4)
    assert joined or found.why is WhyApart.PLANES


@pytest.mark.parametrize(
    ("dip", "on_grid", "joined"),
    [(9.9, False, False), (10.1, False, True), (2.9, True, False), (3.1, True, True)],
)
def test_a_gentle_plane_is_carried_over_heights_alone_and_a_level_one_never(dip, on_grid, joined):
    far = down_dip(30.0, dip, 60.0, 20.0)
    places = [np.zeros(3), np.array(far)]
    first, second = (
        met(
            *(place if not on_grid else np.add(place, (0.0, 0.0, 9.0))),
            (30.0, dip),
            order=order,
            on_grid=place if on_grid else None,
        )
        for order, place in enumerate(places)
    )
    found = _pair(first, second)
    assert (not isinstance(found, _NotJoined)) is joined
    if joined:
        # Over heights by these, whatever the walk's own are.
        assert found.over_heights is on_grid
        assert found.normal == pytest.approx(turned(30.0, dip), abs=1e-9)
    else:
        assert found.why is WhyApart.GENTLE


@pytest.mark.parametrize(("apart", "joined"), [(4.9, False), (5.1, True)])
def test_places_within_five_metres_are_no_two(apart, joined):
    far = down_dip(40.0, 60.0, apart, 0.0)
    assert (_pair(met(0, 0, 0, (40, 60)), met(*far, (40, 60), order=1)) is not None) is joined


def test_what_goes_by_no_plane_or_lies_on_one_leg_is_no_pair():
    far = down_dip(40.0, 60.0, 50.0, 0.0)
    assert _pair(met(0, 0, 0, None), met(*far, None, order=1)) is None
    assert _pair(met(0, 0, 0, (40, 60), leg=3), met(*far, (40, 60), order=1, leg=3)) is None
    assert _pair(met(0, 0, 0, (40, 60), leg=3), met(*far, (40, 60), order=1, leg=4)) is not None
    assert _pair(met(0, 0, 0, (40, 60), leg=3), met(*far, (40, 60), order=1)) is not None
    # One plane serves both, whichever of them has it.
    for planes in ((None, (40, 60)), ((40, 60), None)):
        one = _pair(met(0, 0, 0, planes[0]), met(*far, planes[1], order=1))
        assert one.normal == pytest.approx(turned(40, 60), abs=1e-9)


@pytest.mark.parametrize(
    ("apart", "sd_m", "own_sd_m", "file", "kept"),
    [
        (4.9, 0.0, 0.0, "day.trav", 1),
        (5.1, 0.0, 0.0, "day.trav", 2),
        # Twice hypot(3, 3) = 8.5 m of what each is off by itself in one walk, of all where two parties were there.
        (8.4, 20.0, 3.0, "day.trav", 1),
        (8.6, 20.0, 3.0, "day.trav", 2),
        (8.4, 3.0, 0.0, "other.trav", 1),
        (8.6, 3.0, 0.0, "other.trav", 2),
    ],
)
def test_sightings_of_one_place_are_counted_once(apart, sd_m, own_sd_m, file, kept):
    group = [
        met(0, 0, 0, (40, 60), sd_m=sd_m, own_sd_m=own_sd_m),
        met(apart, 0, 0, (40, 60), order=1, sd_m=sd_m, own_sd_m=own_sd_m, file=file),
    ]
    assert len(_once(group)) == len(_once(group[::-1])) == kept


@pytest.mark.parametrize(("turn", "kept"), [(29.9, 1), (30.1, 2)])
def test_planes_that_part_by_thirty_degrees_are_no_one_contact(turn, kept):
    group = [met(0, 0, 0, (40, 90)), met(1.0, 0, 0, (40 + turn, 90), order=1)]
    assert len(_once(group)) == kept
    assert len(_once([group[0], met(1.0, 0, 0, None, order=1)])) == 1


def test_of_one_place_the_sighting_that_is_known_best_is_kept_and_of_equals_the_first():
    poor, good, last = (
        met(0, 0, 0, (40, 60), order=order, sd_m=sd_m) for order, sd_m in enumerate((3.0, 1.0, 1.0))
    )
    assert _once([poor, last, good]) == [good]


# --- outcrops -----------------------------------------------------------------------------------------------------


def test_half_of_the_ground_lies_on_the_side_that_a_way_leads_to():
    half = outcrop._half_plane(Point(700.0, 250.0), 0.6, 0.8)
    for along, across in ((1.0, 0.0), (900.0, 0.0), (5.0, 900.0), (5.0, -900.0)):
        here = (700.0 + 0.6 * along - 0.8 * across, 250.0 + 0.8 * along + 0.6 * across)
        there = (700.0 - 0.6 * along - 0.8 * across, 250.0 - 0.8 * along + 0.6 * across)
        assert half.contains(Point(here))
        assert not half.intersects(Point(there))
    assert half.area == pytest.approx(1200.0 * 2400.0)


def bed(east, north, strike, dip):
    return SimpleNamespace(place=SimpleNamespace(east_m=east, north_m=north), strike_deg=strike, dip_deg=dip)


HERE = SimpleNamespace(place=SimpleNamespace(east_m=100.0, north_m=50.0))


def test_a_plane_is_carried_half_way_to_the_nearest_bed_that_lies_otherwise():
    """200 m and 50 m off by 3-4-5 triangles; the nearer one of the same dip, and 300 m without any."""
    reach = outcrop._reach
    assert reach(40.0, 60.0, HERE, []) == 300.0
    assert reach(40.0, 60.0, HERE, [bed(220.0, 210.0, 40.0, 5.0)]) == pytest.approx(100.0)
    assert reach(
        40.0, 60.0, HERE, [bed(220.0, 210.0, 40.0, 5.0), bed(130.0, 90.0, 40.0, 58.0)]
    ) == pytest.approx(100.0)
    assert reach(
        40.0, 60.0, HERE, [bed(220.0, 210.0, 40.0, 5.0), bed(130.0, 90.0, 130.0, 60.0)]
    ) == pytest.approx(25.0)
    # Overturned beds of the same plane lie no other way.
    assert reach(40.0, 89.0, HERE, [bed(130.0, 90.0, 220.0, 89.0)]) == 300.0


def test_the_part_of_the_heights_about_a_place_reaches_one_spacing_farther():
    east, north = np.arange(0.0, 401.0, 10.0), np.arange(-200.0, 201.0, 10.0)
    up = np.arange(len(east) * len(north), dtype=float).reshape(len(north), len(east))
    terrain = Terrain(name="x", east_m=east, north_m=north, up_m=up)
    x, y, height = outcrop._window(terrain, 100.0, 50.0, 40.0)
    assert (x.min(), x.max(), y.min(), y.max()) == (50.0, 150.0, 0.0, 100.0)
    assert height.shape == (len(y), len(x))
    assert height[0, 0] == up[20, 5]
    assert height[-1, -1] == up[30, 15]


def test_a_line_is_led_through_the_contact_itself():
    """Beside the middle of its second part; where a corner lies at it that is left out."""
    line = LineString([(0.0, 0.0), (10.0, 0.0), (20.0, 10.0)])
    assert list(outcrop._through(line, Point(14.0, 6.0)).coords) == [
        (0.0, 0.0),
        (10.0, 0.0),
        (14.0, 6.0),
        (20.0, 10.0),
    ]
    assert list(outcrop._through(line, Point(10.0, 0.0)).coords) == [(0.0, 0.0), (10.0, 0.0), (20.0, 10.0)]


def test_pieces_of_an_outcrop_are_those_at_the_contact():
    """Within two spacings of it, each in one, those of no length left out."""
    lines = shapely.MultiLineString(
        [[(0, 0), (10, 0)], [(10, 0), (20, 5)], [(0, 19), (20, 19)], [(0, 21), (20, 21)]]
    )
    found = outcrop._parts(lines, shapely.box(-5, -5, 30, 30), Point(5.0, 0.0), 10.0)
    assert sorted(one.bounds[3] for one in found) == [5.0, 19.0]
    assert outcrop._parts(lines, shapely.box(-5, 40, 30, 60), Point(5.0, 0.0), 10.0) == []


def test_faults_run_on_far_beyond_where_they_were_met(monkeypatch):
    """Along the course that was read, turned to the grid, or as joined; the contact itself is none."""
    fault = SimpleNamespace(
        kind=joins.ContactKind.FAULT, course_deg=35.0, place=SimpleNamespace(east_m=10.0, north_m=20.0),
        booked=SimpleNamespace(span="fault"),
    )  # fmt: skip
    contact = SimpleNamespace(booked=SimpleNamespace(span="contact"))
    survey = SimpleNamespace(frame=SimpleNamespace(to_true_deg=3.0))
    (line,) = outcrop._faults(contact, SimpleNamespace(contacts=[fault]), survey, ())
    (x0, y0), (x1, y1) = line.coords
    assert math.degrees(math.atan2(x1 - x0, y1 - y0)) == pytest.approx(32.0)
    assert ((x0 + x1) / 2.0, (y0 + y1) / 2.0) == pytest.approx((10.0, 20.0))
    assert line.length == pytest.approx(2400.0)
    joined = SimpleNamespace(fault=True, ends=("fault", "again"), lines=(((0.0, 0.0), (30.0, 40.0)),))
    (line,) = outcrop._faults(contact, SimpleNamespace(contacts=[fault]), survey, (joined,))
    expected = [(-720.0, -960.0), (0.0, 0.0), (30.0, 40.0), (750.0, 1000.0)]
    assert np.array(line.coords) == pytest.approx(np.array(expected))
    itself = SimpleNamespace(fault=True, ends=("contact", "again"), lines=joined.lines)
    assert list(outcrop._faults(contact, SimpleNamespace(contacts=[]), survey, (itself,))) == []


# --- over heights -------------------------------------------------------------------------------------------------

SIDE_M = np.arange(-200.0, 201.0, 10.0)


def pair_over(up, plane, ends):
    """Heights of a grid, and two places on them that a plane is to hold."""
    terrain = Terrain(name="x", east_m=SIDE_M, north_m=SIDE_M, up_m=up(SIDE_M[None, :], SIDE_M[:, None]))
    first, last = (np.array((*at, float(up(*at)))) for at in ends)
    held = holding(turned(*plane), last - first)
    pair = SimpleNamespace(start=first, end=last, normal=held, apart_m=float(np.hypot(*(last - first)[:2])))
    return terrain, pair


@pytest.mark.parametrize("plane", [(20.0, 50.0), (95.0, 30.0), (200.0, 75.0)])
def test_over_ground_that_is_a_plane_itself_the_outcrop_is_straight(plane):
    """Where two planes meet; the places lie 800 m up, where no last term may be left out."""
    terrain, pair = pair_over(lambda x, y: 800.0 + 0.1 * x - 0.2 * y, plane, [(-63.0, -41.0), (52.0, 74.0)])
    line = joins._outcrop(terrain, pair)
    assert line[0].tolist() == [-63.0, -41.0]
    assert line[-1].tolist() == [52.0, 74.0]
    along = np.array([115.0, 115.0]) / math.hypot(115.0, 115.0)
    off = (line - line[0]) @ np.array([along[1], -along[0]])
    assert np.abs(off).max() < 1e-3
    assert _run(line)[-1] == pytest.approx(math.hypot(115.0, 115.0), abs=1e-3)


def hill(x, y):
    return 800.0 + 0.15 * x + 25.0 * np.exp(-((x - 10.0) ** 2 + (y - 20.0) ** 2) / 5000.0)


@pytest.mark.parametrize("plane", [(45.0, 50.0), (60.0, 35.0), (225.0, 60.0)])
def test_over_a_hill_every_vertex_of_an_outcrop_lies_on_its_plane(plane):
    terrain, pair = pair_over(hill, plane, [(-80.0, -60.0), (90.0, 110.0)])
    line = joins._outcrop(terrain, pair)
    up = terrain.at(*line[1:-1].T)
    off = np.column_stack((line[1:-1], up)) @ pair.normal - pair.start @ pair.normal
    # On lines of the grid heights run evenly from crossing to crossing.
    assert len(line) > 10
    assert np.abs(off).max() < 1e-6
    assert pair.apart_m < _run(line)[-1] < 3.0 * pair.apart_m


def test_where_a_plane_does_not_lead_from_place_to_place_there_is_no_outcrop():
    """A hole between them, and heights of which one column is left."""
    terrain, pair = pair_over(hill, (45.0, 50.0), [(-80.0, -60.0), (90.0, 110.0)])
    torn = terrain.up_m.copy()
    torn[20:24, :] = np.nan
    assert joins._outcrop(Terrain(name="x", east_m=SIDE_M, north_m=SIDE_M, up_m=torn), pair) is None
    far = Terrain(name="x", east_m=SIDE_M + 5000.0, north_m=SIDE_M, up_m=terrain.up_m)
    assert joins._outcrop(far, pair) is None


def test_a_closed_outcrop_is_followed_the_shorter_way_round():
    """Round a hilltop at one height: a level plane at 12 o'clock and at 3, a quarter of the way."""

    def top(x, y):
        return 900.0 - 0.5 * np.hypot(x, y)

    terrain, pair = pair_over(top, (0.0, 0.0), [(0.0, 100.0), (100.0, 0.0)])
    line = joins._outcrop(terrain, pair)
    assert _run(line)[-1] == pytest.approx(50.0 * math.pi, rel=0.01)
    assert np.hypot(*line.T) == pytest.approx(100.0, rel=0.02)
    assert (line >= -1e-6).all()
