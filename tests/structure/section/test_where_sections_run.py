"""Where a section is laid, how long it is and how it is carried, by plain geometry in a grid whose north is 7° off."""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from traverse.location.records import PlaceKind
from traverse.log.items import PlaneKind
from traverse.log.records import Projection
from traverse.structure.readings.directions import pole
from traverse.structure.readings.records import FoldAxis
from traverse.structure.section.sections import (
    _across_levels,
    _as_looked_at,
    _default_line,
    _SectionMaker,
    _station_m2,
    _through,
    line_through,
    stations_squared,
)
from traverse.trade import (
    ALONG_ONE_STRIKE_DEG,
    NEARLY_FLAT_DEG,
    ONE_LINE_M,
    OVERHANG_SHARE,
    SIDE_BANDS,
    SQUARE_TO_STRIKE_DEG,
)

TURN_DEG = 7.0


def unit(azimuth_deg):
    return np.array([math.sin(math.radians(azimuth_deg)), math.cos(math.radians(azimuth_deg))])


def surveyed(places, *, sighted=(), ups=None):
    found = {
        str(number): SimpleNamespace(
            east_m=east, north_m=north, kind=PlaceKind.CONTROL, up_m=None if ups is None else ups[number]
        )
        for number, (east, north) in enumerate(places)
    }
    found |= {
        f"L{number}": SimpleNamespace(east_m=east, north_m=north, kind=PlaceKind.SIGHTED, up_m=None)
        for number, (east, north) in enumerate(sighted)
    }
    return SimpleNamespace(places=found, frame=SimpleNamespace(to_true_deg=TURN_DEG))


WALK = [(500.0, 900.0), (560.0, 980.0), (655.0, 1010.0), (700.0, 940.0), (820.0, 1015.0)]
FAR = [(5_000.0, -3_000.0)]


@pytest.mark.parametrize("course_deg", [None, 20.0, 300.0])
@pytest.mark.parametrize("azimuth_deg", [75.0, 160.0, 255.0])
def test_a_line_by_azimuth_is_a_little_longer_than_the_walk_along_it(azimuth_deg, course_deg):
    """Each station is carried to it square, or along a course; what was only sighted makes it no longer."""
    point, way = np.array((600.0, 950.0)), unit(azimuth_deg)
    carried = []
    for place in WALK:
        course = unit(azimuth_deg + 90.0 if course_deg is None else course_deg)
        along, _ = np.linalg.solve(np.column_stack((way, -course)), np.array(place) - point)
        carried.append(float(along))
    over = OVERHANG_SHARE * (max(carried) - min(carried))
    found = _through(tuple(point), azimuth_deg, surveyed(WALK, sighted=FAR), course_deg)
    assert found.points == pytest.approx(
        np.array([point + (min(carried) - over) * way, point + (max(carried) + over) * way])
    )
    assert found.grid_azimuths_deg == pytest.approx((azimuth_deg,))


@pytest.mark.parametrize("axis_deg", [0.0, 10.0, 22.0, 23.0, 60.0, 100.0, 157.0, 158.0, 179.0])
def test_sections_are_looked_at_from_west_to_east_or_from_north_to_south(axis_deg):
    for azimuth in (axis_deg, axis_deg + 180.0):
        found = _as_looked_at(azimuth)
        assert abs(math.sin(math.radians(found - azimuth))) < 1e-9
        assert 22.5 <= found < 202.5


def bed(direction_deg, dip_deg=40.0):
    return SimpleNamespace(kind=PlaneKind.BED, dip_deg=dip_deg, dip_direction_deg=direction_deg)


@pytest.fixture
def plain_beds(monkeypatch):
    monkeypatch.setattr("traverse.structure.section.sections.bedding", list)


@pytest.mark.usefixtures("plain_beds")
@pytest.mark.parametrize("direction_deg", [40.0, 115.0, 200.0, 290.0])
def test_without_a_wish_a_section_runs_through_the_middle_square_to_the_beds(direction_deg):
    beds = [
        bed(direction_deg - 4.0),
        bed(direction_deg + 184.0),
        bed(direction_deg),
        bed(direction_deg + 77.0, NEARLY_FLAT_DEG - 0.1),
    ]
    found = _default_line(surveyed(WALK, sighted=FAR), tuple(beds))
    (azimuth,) = found.grid_azimuths_deg
    assert abs(math.sin(math.radians(azimuth + TURN_DEG - direction_deg))) < 1e-9
    assert 22.5 <= azimuth < 202.5
    # Half-way from west to east, and from south to north.
    middle = np.array((660.0, 957.5))
    aside = np.linalg.det([found.points[1] - found.points[0], middle - found.points[0]])
    assert abs(float(aside)) < 1e-3


@pytest.mark.usefixtures("plain_beds")
@pytest.mark.parametrize("turn_deg", [0.0, 50.0, 130.0, 200.0])
def test_without_beds_it_runs_along_the_length_of_the_walk(turn_deg):
    """The first singular vector of the places, by numpy."""
    turn = math.radians(turn_deg)
    places = [
        (east * math.cos(turn) + north * math.sin(turn), north * math.cos(turn) - east * math.sin(turn))
        for east, north in WALK
    ]
    found = _default_line(surveyed(places), ())
    where = np.array(places) - np.mean(places, axis=0)
    longest = np.linalg.svd(where)[2][0]
    assert abs(float(np.linalg.det([longest, unit(found.grid_azimuths_deg[0])]))) < 1e-9
    square = [(0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0)]
    # A centimetre or two longer one way than the other is no length of it.
    for places in (square, [*square[:2], (100.0, 100.02), (0.0, 100.01)]):
        assert _default_line(surveyed(places), ()).grid_azimuths_deg == pytest.approx((90.0,))
    assert _default_line(surveyed(square[:1]), ()) is None


def test_over_flat_beds_other_lines_go_over_the_highest_station():
    ups = [40.0, None, 95.0, 12.0, 60.0]
    survey = surveyed(WALK, ups=ups)
    line = line_through([(500.0, 950.0), (800.0, 1010.0)])
    along = line.grid_azimuths_deg[0]
    down = math.degrees(math.atan2(WALK[2][0] - WALK[3][0], WALK[2][1] - WALK[3][1]))
    found = list(_across_levels(line, survey))
    for one, azimuth in zip(found, (along, along + 90.0, down), strict=True):
        assert abs(math.sin(math.radians(one.grid_azimuths_deg[0] - azimuth))) < 1e-9
        high = np.array(WALK[2]) - one.points[0]
        assert abs(float(np.linalg.det([one.points[1] - one.points[0], high]))) < 1e-3
    assert list(_across_levels(line, surveyed(WALK))) == []


@pytest.mark.parametrize("azimuth_deg", [0.0, 33.0, 118.0, 170.0])
def test_a_station_is_off_by_its_ellipse(azimuth_deg):
    place = SimpleNamespace(ellipse=SimpleNamespace(major_m=5.0, minor_m=2.0, azimuth_deg=azimuth_deg))
    found = _station_m2(place)
    for turn, wanted in ((0.0, 25.0), (90.0, 4.0), (45.0, 14.5)):
        way = unit(azimuth_deg + turn)
        assert float(way @ found @ way) == pytest.approx(wanted)
    assert not _station_m2(SimpleNamespace(ellipse=None)).any()


def maker(**known):
    made = _SectionMaker.__new__(_SectionMaker)
    made.turn, made.strike_deg, made.axis, made.levels, made.over, made.beds = (
        TURN_DEG,
        None,
        None,
        (),
        frozenset(),
        (),
    )
    made.carrier = SimpleNamespace(along_strike=False, one_strike_deg=None, least_deg=30.0)
    made.log = SimpleNamespace(heading=SimpleNamespace(sheet=SimpleNamespace(band_m=20.0)))
    made.folded = SimpleNamespace(one_pole=None)
    for name, value in known.items():
        setattr(made, name, value)
    return made


def line(*azimuths_deg):
    return SimpleNamespace(grid_azimuths_deg=azimuths_deg, length_m=300.0)


@pytest.mark.parametrize("side", [1.0, -1.0])
@pytest.mark.parametrize(
    ("apart_deg", "projection", "along"),
    [
        (90.0 - SQUARE_TO_STRIKE_DEG + 0.3, Projection.SQUARE, True),
        (90.0 - SQUARE_TO_STRIKE_DEG - 0.3, Projection.STRIKE, True),
        (ALONG_ONE_STRIKE_DEG + 0.3, Projection.STRIKE, True),
        (ALONG_ONE_STRIKE_DEG - 0.3, Projection.SQUARE, False),
    ],
)
def test_where_all_beds_strike_alike_a_section_askew_is_carried_along_their_strike(
    apart_deg, projection, along, side
):
    made = maker(strike_deg=64.0)
    assert made._unasked(line(64.0 - TURN_DEG + side * apart_deg)) is projection
    assert made.carrier.along_strike is along
    square = apart_deg > 90.0 - SQUARE_TO_STRIKE_DEG
    assert made.carrier.one_strike_deg == (None if square else 64.0)
    assert made.carrier.least_deg == (30.0 if square else ALONG_ONE_STRIKE_DEG)


@pytest.mark.parametrize("side", [1.0, -1.0])
@pytest.mark.parametrize(
    ("apart_deg", "projection"),
    [(29.5, Projection.SQUARE), (30.5, Projection.PLUNGE), (90.0 - SQUARE_TO_STRIKE_DEG - 0.3, Projection.PLUNGE),
     (90.0 - SQUARE_TO_STRIKE_DEG + 0.3, Projection.SQUARE)],
)  # fmt: skip
def test_across_a_fold_askew_a_section_is_carried_down_the_plunge(apart_deg, projection, side):
    made = maker(axis=FoldAxis(trend_deg=310.0, plunge_deg=15.0, rms_deg=3.0, n=9))
    askew = line(310.0 - TURN_DEG + side * apart_deg)
    assert made._unasked(askew) is projection
    for known in (
        {"levels": (object(),)},
        {"over": frozenset({"Cm"}), "beds": [SimpleNamespace(unit="Cm")]},
        {"axis": None},
    ):
        assert maker(**({"axis": made.axis} | known))._unasked(askew) is Projection.SQUARE


@pytest.mark.parametrize("side", [1.0, -1.0])
@pytest.mark.parametrize(("offset_m", "apart_deg", "down"), [(20.0 * SIDE_BANDS + 0.5, 29.5, True), (20.0 * SIDE_BANDS - 0.5, 29.5, False),
                                                             (20.0 * SIDE_BANDS + 0.5, 30.5, False)])  # fmt: skip
def test_a_contact_along_whose_strike_the_section_runs_is_not_carried_down_its_dip(
    offset_m, apart_deg, down, side
):
    from traverse.log.items import ContactKind

    carried = SimpleNamespace(beside=False, swing_m=None, stretch=0, offset_m=side * offset_m)
    contact = SimpleNamespace(course_deg=115.0, kind=ContactKind.CONTACT)
    there = line(115.0 - TURN_DEG + side * apart_deg)
    assert maker()._down_dip(there, carried, contact) is down
    for dip_deg, dropped in ((40.0, False), (70.0, down)):
        alike = SimpleNamespace(one_pole=pole(dip_deg, dip_direction_deg=205.0 - TURN_DEG))
        assert maker(folded=alike)._down_dip(there, carried, contact) is dropped
    for other in (
        SimpleNamespace(**{**vars(carried), "beside": True}),
        SimpleNamespace(**{**vars(carried), "swing_m": 1.0}),
    ):
        assert maker()._down_dip(there, other, contact) is False
    assert (
        maker()._down_dip(there, carried, SimpleNamespace(course_deg=115.0, kind=ContactKind.FAULT)) is False
    )
    assert (
        maker()._down_dip(there, carried, SimpleNamespace(course_deg=None, kind=ContactKind.CONTACT)) is False
    )


@pytest.mark.parametrize(
    ("at_m", "sd_m", "far_m"),
    [
        (100.0, 1.0, 60.0),
        (100.0, 19.0, 60.0),
        (100.0, 21.0, None),
        (160.0 - ONE_LINE_M + 0.5, 1.0, None),
        (160.0 - ONE_LINE_M - 0.5, 1.0, ONE_LINE_M + 0.5),
    ],
)
def test_a_contact_carried_square_is_off_the_map_by_more_than_its_error(at_m, sd_m, far_m):
    """Along the one strike it would come out at 160 m."""
    carrier = SimpleNamespace(at=lambda line, place, way, projection: SimpleNamespace(distance_m=160.0))
    made = maker(strike_deg=64.0, carrier=carrier)
    point = SimpleNamespace(
        distance_m=at_m, sd_m=sd_m, beside=False, contact=SimpleNamespace(course_deg=64.0, place=None)
    )
    booked = SimpleNamespace(projection=Projection.SQUARE)
    found = made._off_map(line(100.0), booked, [point])
    assert (None if found is None else found.far_m) == (None if far_m is None else pytest.approx(far_m))
    assert found is None or (found.projection, found.way_deg) == (Projection.STRIKE, 64.0)
    beside = SimpleNamespace(**{**vars(point), "beside": True})
    assert made._off_map(line(100.0), booked, [beside]) is None
    assert made._off_map(line(100.0), SimpleNamespace(projection=None), [point]) is None
    made.carrier = SimpleNamespace(at=lambda line, place, way, projection: None)
    far = SimpleNamespace(**{**vars(point), "distance_m": 230.0, "sd_m": 1.0})
    # Beyond the ends: by as far as to the nearer of them, 70 m of 300.
    assert made._off_map(line(100.0), booked, [far]).far_m == pytest.approx(70.0)


def test_a_line_through_one_place_twice_has_it_once():
    there = [(0.0, 0.0), (0.0, 0.0005), (30.0, 40.0), (30.0, 40.0), (90.0, 40.0)]
    found = line_through(there)
    assert found.points.tolist() == [[0.0, 0.0], [30.0, 40.0], [90.0, 40.0]]
    assert found.starts_m.tolist() == [0.0, 50.0, 110.0]
    assert found.grid_azimuths_deg == pytest.approx((math.degrees(math.atan2(3.0, 4.0)), 90.0))
    assert found.at(80.0) == pytest.approx((60.0, 40.0))
    assert line_through(there[:2]) is None


@pytest.mark.parametrize("azimuth_deg", [75.0, 160.0, 255.0])
def test_stations_are_carried_square_to_a_section_whatever_its_way(azimuth_deg):
    """Down to its ground: none has a height of its own; one that hangs in the air, or that nobody described, is none."""
    way = unit(azimuth_deg)
    ends = tuple(tuple(np.array((660.0, 960.0)) + run * way) for run in (-150.0, 150.0))
    log = SimpleNamespace(
        first_at={str(at): SimpleNamespace(span=None) for at in range(4)}, hangs=lambda name: name == "1"
    )
    found = stations_squared(SimpleNamespace(line=ends), log, surveyed(WALK))
    told = {one.label: one for one in found}
    expected = {}
    for at in (0, 2, 3):
        apart = np.array(WALK[at]) - ends[0]
        if -0.5 <= float(apart @ way) <= 300.5:
            expected[str(at)] = float(apart @ way), float(apart @ [way[1], -way[0]])
    assert set(told) == set(expected)
    assert len(expected) > 1
    for name, (distance, right) in expected.items():
        assert (told[name].distance_m, told[name].carried_m) == pytest.approx((distance, right), abs=1e-5)
        assert told[name].up_m is None
