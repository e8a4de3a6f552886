"""Places carried to a line of section, by plain geometry of the map; and by how much they move with what that hangs on.

The line has two bends and runs no way due north or east; the grid's north is 4° off. What is expected is solved for by
numpy from places and azimuths alone.
"""

import math
from itertools import pairwise
from types import SimpleNamespace

import numpy as np
import pytest
import shapely

from traverse.log.items import ContactKind
from traverse.log.records import Projection
from traverse.structure.readings.records import FoldAxis
from traverse.structure.section.carry import Carrier, LookedAt, off_stretches, too_near
from traverse.structure.section.sections import line_through
from traverse.structure.walk.records import BandStretch

ENDS = [(1000.0, 1000.0), (1110.0, 1055.0), (1190.0, 1040.0), (1330.0, 1125.0)]
TURN_DEG = 4.0
AXIS = FoldAxis(trend_deg=341.0, plunge_deg=23.0, rms_deg=6.0, n=9)
STRIKES = [None, 152.0, 170.0, 341.0]
"""The first is carried square; the others cross each stretch of the line at more than 30°, from either side."""


def unit(azimuth_deg):
    return np.array([math.sin(math.radians(azimuth_deg)), math.cos(math.radians(azimuth_deg))])


def expected(east, north, up, course_deg, drop):
    """Distance, run along the course to the line from the right of it, height; the nearest of all stretches."""
    best, before = None, 0.0
    for place, (one, other) in enumerate(pairwise(ENDS)):
        start, step = np.array(one), np.subtract(other, one)
        length = float(np.hypot(*step))
        way = step / length
        course = unit(course_deg) if course_deg is not None else np.array([way[1], -way[0]])
        at, run = np.linalg.solve(np.column_stack((way, -course)), np.array([east, north]) - start)
        # A little before the first end and beyond the last, half a metre at most.
        low, high = (-0.5 if place == 0 else 0.0), length + (0.5 if place == 2 else 0.0)
        if low <= at <= high and (best is None or abs(run) < abs(best[1]) - 0.001):
            best = before + at, run, up - run * drop, place
        before += length
    return best


def carry(place, up, *, strike_deg, projection, axis=AXIS):
    return Carrier(axis, TURN_DEG).carry(
        line_through(ENDS), *place, up, strike_deg=strike_deg, projection=projection
    )


def same(found, wanted, place):
    if wanted is None:
        assert found is None
        return
    distance, run, up, stretch = wanted
    assert (found.distance_m, found.up_m) == pytest.approx((distance, up), abs=1e-6)
    one, other = np.array(ENDS[stretch]), np.array(ENDS[stretch + 1])
    right = float(np.linalg.det([np.subtract(other, one), np.subtract(place, one)])) < 0.0
    assert found.offset_m == pytest.approx(abs(run) if right else -abs(run), abs=1e-6)
    assert found.stretch == stretch


PLACES = [
    tuple(one)
    for one in np.random.default_rng(11).uniform((990.0, 960.0), (1340.0, 1160.0), (60, 2)).tolist()
]


@pytest.mark.parametrize("strike_deg", STRIKES)
def test_a_place_comes_to_where_its_course_meets_the_line(strike_deg):
    """Along its strike at its height; square to the nearest stretch where it has none."""
    projection = Projection.SQUARE if strike_deg is None else Projection.STRIKE
    met = 0
    for place in PLACES:
        course = None if strike_deg is None else strike_deg - TURN_DEG
        wanted = expected(*place, 30.0, course, 0.0)
        same(carry(place, 30.0, strike_deg=strike_deg, projection=projection), wanted, place)
        met += wanted is not None
    assert met > 30


def test_down_the_plunge_a_place_comes_to_the_line_deeper_or_higher():
    for place in PLACES:
        wanted = expected(*place, 30.0, 341.0 - TURN_DEG, math.tan(math.radians(23.0)))
        same(carry(place, 30.0, strike_deg=70.0, projection=Projection.PLUNGE), wanted, place)
        found = carry(place, None, strike_deg=70.0, projection=Projection.PLUNGE)
        assert found is None or found.up_m is None


def test_a_strike_within_thirty_degrees_of_a_stretch_carries_nothing_to_it():
    """The first stretch runs at 63.4° in the grid, 67.4° true."""
    azimuth = math.degrees(math.atan2(110.0, 55.0)) + TURN_DEG
    for off, along in ((29.9, False), (30.1, True), (-29.9, False), (-30.1, True)):
        place = (1040.0, 1060.0)
        found = carry(place, 0.0, strike_deg=azimuth + off, projection=Projection.STRIKE)
        assert (found.swing_m is not None) is along
        assert too_near(azimuth + off + 180.0, azimuth) is not along


def test_down_a_plunge_as_steep_as_a_shaft_or_along_the_line_places_are_carried_square():
    place = (1040.0, 1060.0)
    azimuth = math.degrees(math.atan2(110.0, 55.0)) + TURN_DEG
    for trend, plunge, measured in (
        (341.0, 88.5, True), (341.0, 89.5, False), (azimuth + 0.9, 20.0, False), (azimuth + 1.1, 20.0, None),
    ):  # fmt: skip
        axis = FoldAxis(trend_deg=trend, plunge_deg=plunge, rms_deg=6.0, n=9)
        line = line_through(ENDS[:2])
        found = Carrier(axis, TURN_DEG).carry(
            line, *place, 5.0, strike_deg=None, projection=Projection.PLUNGE
        )
        # So near to the line that it would come out far beyond its end.
        assert (found is None) if measured is None else (found.swing_m is not None) is measured


@pytest.mark.parametrize("beyond_m", [-0.4, 0.4, 0.6])
@pytest.mark.parametrize("end", [0, -1])
def test_half_a_metre_beyond_an_end_is_still_on_the_section(beyond_m, end):
    step = np.subtract(ENDS[1], ENDS[0]) if end == 0 else np.subtract(ENDS[-2], ENDS[-1])
    way = step / np.hypot(*step)
    place = np.array(ENDS[end]) - beyond_m * way + 20.0 * np.array([way[1], -way[0]])
    found = carry(place.tolist(), 0.0, strike_deg=None, projection=Projection.SQUARE)
    length = line_through(ENDS).length_m
    if beyond_m > 0.5:
        assert found is None
    else:
        assert found.distance_m == pytest.approx(-beyond_m if end == 0 else length + beyond_m, abs=1e-6)


@pytest.mark.parametrize("bend", [1, 2])
def test_a_place_on_a_bend_lies_on_the_stretch_before_it(bend):
    line = line_through(ENDS)
    found = carry(ENDS[bend], 0.0, strike_deg=None, projection=Projection.SQUARE)
    assert found.distance_m == float(line.starts_m[bend])
    assert found.stretch == bend - 1


COVARIANCE = np.array([[9.0, 2.5], [2.5, 4.0]])
SMALL_DEG = 1e-3


@pytest.mark.parametrize(
    ("projection", "strike_deg", "plane", "off_deg"),
    [
        (Projection.SQUARE, None, (2.0, 40.0), 0.0),
        (Projection.STRIKE, 170.0, (2.0, 40.0), 2.0 / math.sin(math.radians(40.0))),
        # A dip nobody knows counts as 30, whose sine is a half.
        (Projection.STRIKE, 170.0, (2.0, None), 4.0),
        (Projection.STRIKE, 341.0, None, 0.0),
        # The flatter, the worse its strike; but the sine of no dip is taken for less than a fiftieth, nor the angle for over 60.
        (Projection.STRIKE, 341.0, (0.5, 0.5), 25.0),
        (Projection.STRIKE, 341.0, (2.0, 0.5), 60.0),
        (Projection.PLUNGE, 70.0, (2.0, 40.0), 6.0 / 3.0),
    ],
)
def test_a_place_on_the_section_is_off_by_its_own_error_and_that_of_its_course(
    projection, strike_deg, plane, off_deg
):
    """Beside differences: the place carried again from elsewhere, and along a course a thousandth of a degree aside."""
    place = (1060.0, 1130.0)
    carrier = Carrier(AXIS, TURN_DEG)

    def to(east, north, aside_deg=0.0):
        return Carrier(
            FoldAxis(trend_deg=341.0 + aside_deg, plunge_deg=23.0, rms_deg=6.0, n=9), TURN_DEG
        ).carry(
            line_through(ENDS),
            east,
            north,
            0.0,
            strike_deg=None if strike_deg is None else strike_deg + aside_deg,
            projection=projection,
        )

    here = to(*place)
    moves = [to(place[0] + 0.1, place[1]), to(place[0], place[1] + 0.1)]
    lead = np.array([(one.distance_m - here.distance_m) / 0.1 for one in moves])
    own_m2 = float(lead @ COVARIANCE @ lead)
    swing = (to(*place, SMALL_DEG).distance_m - here.distance_m) / math.radians(SMALL_DEG)
    wanted = math.hypot(math.sqrt(own_m2), swing * math.tan(math.radians(off_deg)))
    assert carrier.sd(COVARIANCE, here, plane) == pytest.approx(wanted, rel=1e-3)


@pytest.mark.parametrize(
    ("one_deg", "own_deg", "expected_deg"),
    [(None, 140.0, 140.0), (120.0, None, None), (120.0, 139.0, 120.0), (120.0, 141.5, 141.5), (120.0, 99.0, 99.0),
     (120.0, 319.0, 120.0), (350.0, 8.0, 350.0)],
)  # fmt: skip
def test_what_strikes_within_twenty_degrees_of_the_one_strike_of_all_is_carried_along_that(
    one_deg, own_deg, expected_deg
):
    carrier = Carrier(None, 0.0)
    carrier.one_strike_deg = one_deg
    assert carrier.strike_of(own_deg) == expected_deg


@pytest.mark.parametrize(("offset_m", "aside"), [(55.0, False), (65.0, True), (-55.0, False), (-65.0, True)])
def test_more_than_two_bands_aside_a_place_is_not_the_ground_under_the_line(offset_m, aside):
    carrier, line = Carrier(None, 0.0, LookedAt([], 30.0)), SimpleNamespace(grid_azimuths_deg=(20.0,))
    carried = SimpleNamespace(swing_m=None, offset_m=offset_m, stretch=0)
    assert carrier.down_dip(line, carried, None) is False
    carrier.one_strike_deg = 20.0
    assert carrier.down_dip(line, carried, None) is aside
    free = SimpleNamespace(swing_m=3.0, offset_m=offset_m, stretch=0)
    assert carrier.down_dip(line, free, None) is False


@pytest.mark.parametrize(
    ("strike_deg", "dip_deg", "aside"),
    [
        (20.0, 90.0, True),
        (230.0 - 1.0, 30.5, True),
        (20.0, 29.5, False),
        (51.0, 90.0, False),
        (None, 0.0, False),
    ],
)
def test_across_beds_that_strike_along_a_line_a_place_tells_of_as_much_as_it_lies_off_square_to_them(
    strike_deg, dip_deg, aside
):
    """120 m aside, where the ground was looked at to 30 m: half of it square to a bed of 30°."""
    carrier, line = Carrier(None, 0.0, LookedAt([], 30.0)), SimpleNamespace(grid_azimuths_deg=(20.0,))
    carried = SimpleNamespace(swing_m=None, offset_m=-120.0, stretch=0)
    assert carrier.down_dip(line, carried, SimpleNamespace(strike_deg=strike_deg, dip_deg=dip_deg)) is aside


def stretches(rng, count):
    corners = np.cumsum(rng.uniform(-60.0, 60.0, (count + 1, 2)), axis=0).tolist()
    return [
        BandStretch(start=tuple(start), end=tuple(end), unit="Cm", leg=index, start_share=0.0, end_share=1.0,
                    covered=False, queried=False)
        for index, (start, end) in enumerate(pairwise(corners))
    ]  # fmt: skip


def test_ground_between_two_places_was_looked_at_where_it_lies_within_the_band_all_along():
    """Beside shapely: the walk buffered by half the band covers the way; not over six halves, whatever lies there."""
    rng = np.random.default_rng(12)
    band = stretches(rng, 40)
    walk = shapely.union_all([shapely.LineString([one.start, one.end]) for one in band])
    within, out_of = (walk.buffer(half) for half in (19.0, 21.5))
    looked, places = LookedAt(band, 20.0), rng.uniform(-150.0, 150.0, (150, 2, 2))
    places[:, 1] = places[:, 0] + 0.3 * (places[:, 1] - places[:, 0])
    seen = 0
    for one, other in places.tolist():
        way = shapely.LineString([one, other])
        # Unless the border runs so near that a place between two looked at decides.
        inside = way.within(within)
        if inside or not way.within(out_of) or way.length > 120.0:
            assert looked.beside(tuple(one), tuple(other)) is (inside and way.length <= 120.0)
            seen += inside
    assert seen > 8
    straight = stretches(np.random.default_rng(1), 1)[0]
    long = LookedAt([type(straight)(start=(0.0, 0.0), end=(300.0, 90.0), unit="Cm", leg=0, start_share=0.0,
                                    end_share=1.0, covered=False, queried=False)], 20.0)  # fmt: skip
    way = np.array([300.0, 90.0]) / math.hypot(300.0, 90.0)
    for run, beside in ((119.0, True), (121.0, False)):
        assert long.beside((0.0, 0.0), tuple(run * way)) is beside
    assert LookedAt([], 20.0).beside((0.0, 0.0), (1.0, 1.0)) is False


def test_how_far_places_lie_from_stretches_is_what_shapely_finds():
    rng = np.random.default_rng(13)
    places, starts, ways = (rng.uniform(-50.0, 50.0, (count, 2)) for count in (30, 7, 7))
    ways[0] = 0.0
    found = off_stretches(places, starts, ways)
    for row, place in zip(found, places, strict=True):
        for off, start, way in zip(row, starts, ways, strict=True):
            assert off == pytest.approx(
                shapely.LineString([start, start + way]).distance(shapely.Point(place)), abs=1e-6
            )


GROUND = np.array([0.0, 30.0, 60.0, 95.0, 140.0, 200.0]), np.array([40.0, 44.0, 38.0, 52.0, 45.0, 60.0])
SLOPE = SimpleNamespace(dip_deg=18.0, strike_deg=71.0)


def over_ground(up_m, at_m=100.0, *, bed=SLOPE, length_m=200.0):
    """Where a bed that was carried to a height over a distance comes out, by the program, and its straight line in the section."""
    azimuth = 151.0
    line = line_through([(0.0, 0.0), tuple((length_m * unit(azimuth)).tolist())])
    carrier = Carrier(None, TURN_DEG)
    carrier.along_strike, carrier.ground = True, GROUND
    carrier.bed_near = lambda _east, _north: bed
    carried = SimpleNamespace(distance_m=at_m, up_m=up_m, stretch=0)
    # The plane falls square to its strike, to the right of it: along the line by the cosine between the two.
    fall = math.tan(math.radians(bed.dip_deg)) * float(unit(bed.strike_deg + 90.0) @ unit(azimuth + TURN_DEG))
    drawn = shapely.LineString([(at_m + run, up_m - fall * run) for run in (-900.0, 900.0)])
    return carrier.comes_out(line, carried, 7.0, 9.0), drawn


@pytest.mark.parametrize("strike_deg", [71.0, 30.0, 251.0, 200.0])
@pytest.mark.parametrize("up_m", [60.0, 56.0, 45.0, 30.0])
def test_a_bed_carried_over_or_under_the_ground_comes_out_where_its_plane_meets_it(up_m, strike_deg):
    found, drawn = over_ground(up_m, bed=SimpleNamespace(dip_deg=18.0, strike_deg=strike_deg))
    met = [
        one.x
        for one in shapely.get_parts(drawn.intersection(shapely.LineString(np.column_stack(GROUND)))).tolist()
        if one
    ]
    nearest = min(met, key=lambda x: abs(x - 100.0), default=None)
    wanted = nearest if nearest is not None and abs(nearest - 100.0) <= 50.0 else None
    assert found == (None if wanted is None else pytest.approx(wanted, abs=1e-5))


def test_a_bed_within_three_metres_of_the_ground_comes_out_where_it_was_carried():
    here = float(np.interp(100.0, *GROUND))
    for off, there in ((2.9, True), (-2.9, True), (3.4, False), (-3.4, False)):
        assert (over_ground(here + off)[0] == 100.0) is there


@pytest.mark.parametrize("dip_deg", [20.0, 55.0])
@pytest.mark.parametrize("side", [1.0, -1.0])
@pytest.mark.parametrize("read", ["at the contact", "at a bed", "nowhere"])
def test_a_contact_followed_over_the_band_stays_where_five_metres_aside_it_comes_out(dip_deg, side, read):
    """On its course at its height it is over or under the ground by so much; never asked of less than three metres."""
    azimuth, strike = 151.0, 92.0
    line = line_through([(0.0, 0.0), tuple((200.0 * unit(azimuth)).tolist())])
    plane = SimpleNamespace(dip_deg=dip_deg, strike_deg=strike)
    fall = math.tan(math.radians(dip_deg)) * abs(float(unit(strike + 90.0) @ unit(azimuth + TURN_DEG)))
    at = np.array(line.at(100.0)) + 15.0 * unit(strike - TURN_DEG)
    stretch = BandStretch(start=tuple(at), end=line.at(100.0), unit="Cm", leg=0, start_share=0.0, end_share=1.0,
                          covered=False, queried=False)  # fmt: skip
    carrier = Carrier(None, TURN_DEG, LookedAt([stretch], 20.0))
    carrier.ground = GROUND
    carrier.bed_near = lambda _east, _north: None if read == "nowhere" else plane
    ground_m = float(np.interp(100.0, *GROUND))
    limit = max(3.0, 5.0 * fall)
    for off, stays in ((0.97 * limit, True), (1.03 * limit, read == "nowhere")):
        contact = SimpleNamespace(
            place=SimpleNamespace(east_m=at[0], north_m=at[1], up_m=ground_m + side * off),
            course_deg=strike,
            surface=plane if read == "at the contact" else None,
            kind=ContactKind.CONTACT,
            of_fault=None,
        )
        found = carrier.contact(line, contact, Projection.SQUARE)
        assert found.beside is stays
        assert found.level_m == (None if stays else pytest.approx(100.0, abs=1e-6))


@pytest.mark.parametrize("kind", [ContactKind.CONTACT, ContactKind.FAULT])
def test_a_fault_is_carried_along_its_own_strike_where_folds_are_carried_down_their_plunge(kind):
    """A fault askew to the fold that it cuts: down the plunge, its places on two sides of a line came to it far apart."""
    place = SimpleNamespace(east_m=1040.0, north_m=1090.0, up_m=30.0)
    contact = SimpleNamespace(kind=kind, of_fault=None, course_deg=152.0, place=place)
    found = Carrier(AXIS, TURN_DEG).contact(line_through(ENDS), contact, Projection.PLUNGE)
    courses = {
        ContactKind.FAULT: (152.0 - TURN_DEG, 0.0),
        ContactKind.CONTACT: (341.0 - TURN_DEG, math.tan(math.radians(23.0))),
    }
    same(found, expected(1040.0, 1090.0, 30.0, *courses[kind]), (1040.0, 1090.0))
