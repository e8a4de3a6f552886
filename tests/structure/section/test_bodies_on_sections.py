"""Bodies where they come to a section, lines that leave a stretch of it, and the relief of horizons: by geometry and shapely."""

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
import shapely

from traverse.structure.readings.directions import apparent_dip
from traverse.structure.section import body_sides
from traverse.structure.section.bent import Bent, Stretch, _leaves, within
from traverse.structure.section.body_sides import _beside, _lies_along, _OnLine, _told
from traverse.structure.section.carry import Carrier
from traverse.structure.section.dip_domains import DipDomains, Domain
from traverse.structure.section.drawing_plane import Plane
from traverse.structure.section.records import LevelContact
from traverse.structure.section.relief import _turns
from traverse.structure.section.sections import line_through

TURN_DEG = 7.0
GROUND = Plane(distance_m=np.array([0.0, 80.0, 200.0]), up_m=np.array([20.0, 60.0, 12.0]), length_m=200.0, floor_m=-100.0, top_m=150.0,
               level=False)  # fmt: skip


def unit(azimuth_deg):
    return np.array([math.sin(math.radians(azimuth_deg)), math.cos(math.radians(azimuth_deg))])


def carried(distance_m, *, offset_m=0.0, up_m=None, swing_m=1.0):
    return SimpleNamespace(distance_m=distance_m, offset_m=offset_m, up_m=up_m, swing_m=swing_m, stretch=0)


def on_line(ends, *, azimuth_deg=100.0, strike_deg=None, dip_deg=None, through=True, unit_="Dk", sd_deg=3.0):
    """A body by its two ends: where each was carried to, which way leads into it and the plane of its wall, strike and dip."""
    made = _OnLine.__new__(_OnLine)
    made.along_beds = False
    made.plane, made.section = GROUND, SimpleNamespace(length_m=200.0)
    made.line = SimpleNamespace(grid_azimuths_deg=(azimuth_deg - TURN_DEG,))
    made.carrier = SimpleNamespace(
        turn=TURN_DEG,
        apparent=lambda line, one, dip, strike: apparent_dip(
            dip, dip_direction_deg=strike + 90.0, azimuth_deg=azimuth_deg
        ),
    )
    made.ends = []
    for place, inward, wall, goes_on in ends:
        plane = None if wall is None else SimpleNamespace(strike_deg=wall[0], dip_deg=wall[1])
        made.ends.append((SimpleNamespace(inward=inward, wall=plane, goes_on=goes_on), place))
    made.body = SimpleNamespace(
        unit=unit_, strike_deg=strike_deg, dip_deg=dip_deg, through=through, sd_deg=sd_deg, width_m=None
    )
    return made


def end(place, inward=(1.0, 0.0), wall=None, *, goes_on=False):
    return place, inward, wall, goes_on


@pytest.mark.parametrize(
    ("other", "gap_m"),
    [((130.0, 150.0), 30.0), ((10.0, 40.0), 20.0), ((90.0, 130.0), 0.0), ((70.0, 80.0), 0.0)],
)
def test_two_bodies_lie_as_far_apart_as_the_ground_between_them(other, gap_m):
    one = on_line([end(carried(60.0)), end(carried(100.0))])
    its = on_line([end(carried(other[1])), end(carried(other[0]))])
    assert one.gap_m(its) == pytest.approx(gap_m)
    assert its.gap_m(one) == pytest.approx(gap_m)
    assert one.is_one_with(its, gap_m + 0.1)
    other_unit = on_line([end(carried(60.0)), end(carried(100.0))], unit_="Gr")
    assert not one.is_one_with(other_unit, 500.0)


@pytest.mark.parametrize("apart_deg", [4.0, 12.0, -20.0])
def test_a_wall_that_strikes_along_the_line_runs_beside_it_where_it_lies_off(apart_deg):
    """By its strike it would come to the line so far along it: beside it from five metres on."""
    reach = 5.0 * abs(math.tan(math.radians(apart_deg)))
    for off, beside in ((0.97 * reach, False), (1.03 * reach, True), (-1.03 * reach, True)):
        body = on_line(
            [end(carried(50.0, offset_m=off, swing_m=None)), end(None)],
            strike_deg=100.0 + apart_deg,
            dip_deg=80.0,
        )
        assert body.runs_beside is beside
        assert on_line([end(carried(50.0, offset_m=off, swing_m=None)), end(None)]).runs_beside is False
        carried_along = on_line(
            [end(carried(50.0, offset_m=off)), end(None)], strike_deg=100.0 + apart_deg, dip_deg=80.0
        )
        assert carried_along.runs_beside is False
    body = on_line([end(carried(50.0, offset_m=-8.0)), end(carried(60.0, offset_m=3.0))])
    assert body.offset_m == 3.0


@pytest.mark.parametrize("azimuth_deg", [20.0, 100.0, 250.0])
def test_a_body_lies_ahead_of_the_end_by_which_the_walk_went_in(azimuth_deg):
    """Of one walked through by where its other end came to; else by the way into it, square to its walls where they are known."""
    way = unit(azimuth_deg - TURN_DEG)
    through = on_line([end(carried(60.0)), end(carried(90.0))], azimuth_deg=azimuth_deg)
    assert [through._ahead(*one) for one in through.ends] == [1.0, -1.0]
    for inward, ahead in ((way, 1.0), (-way, -1.0)):
        alone = on_line(
            [end(carried(60.0), tuple(inward)), end(None)], azimuth_deg=azimuth_deg, through=False
        )
        assert alone._ahead(*alone.ends[0]) == ahead
    # Walls at 30° to the line, gone into at 50° to them from the other side of it: along the line it lies behind.
    strike = azimuth_deg + 30.0
    square = unit(strike - 90.0 - TURN_DEG)
    inward = 0.5 * square + 0.6 * unit(strike - TURN_DEG) * -1.0
    askew = on_line(
        [end(carried(60.0), tuple(inward)), end(None)],
        azimuth_deg=azimuth_deg,
        strike_deg=strike,
        dip_deg=80.0,
        through=False,
    )
    assert askew._ahead(*askew.ends[0]) == math.copysign(1.0, float(square @ way))


@pytest.mark.parametrize("azimuth_deg", [20.0, 100.0, 250.0])
@pytest.mark.parametrize(
    ("strike_deg", "dip_deg"), [(10.0, 70.0), (160.0, 50.0), (300.0, 85.0), (40.0, 90.0)]
)
def test_a_side_goes_down_its_own_wall_from_where_that_meets_the_ground(strike_deg, dip_deg, azimuth_deg):
    """Else as the rest of the body: the apparent dip in the section, by tangent and cosine."""
    for wall, rest in (((strike_deg, dip_deg), (77.0, 33.0)), (None, (strike_deg, dip_deg))):
        body = on_line(
            [end(carried(70.0, up_m=50.0), wall=wall), end(None)],
            azimuth_deg=azimuth_deg,
            strike_deg=rest[0],
            dip_deg=rest[1],
        )
        fall = math.tan(math.radians(dip_deg)) * math.cos(math.radians(azimuth_deg - strike_deg - 90.0))
        expected = (
            np.array([math.copysign(1.0, fall), -abs(fall)]) / math.hypot(1.0, fall)
            if dip_deg < 90.0
            else np.array([0.0, -1.0])
        )
        side = body._side(*body.ends[0])
        assert side.way == pytest.approx(tuple(expected), abs=1e-6)
        line = shapely.LineString([np.array((70.0, 50.0)) + run * expected for run in (-900.0, 900.0)])
        met = shapely.get_parts(
            line.intersection(shapely.LineString(np.column_stack((GROUND.distance_m, GROUND.up_m))))
        ).tolist()
        near = min(
            (one for one in met if one and abs(one.x - 70.0) <= 50.0),
            key=lambda one: math.dist((one.x, one.y), (70.0, 50.0)),
            default=None,
        )
        there = (70.0, GROUND.at(70.0)) if near is None else (near.x, near.y)
        assert side.at == pytest.approx(there, abs=1e-5)
    upright = on_line([end(carried(70.0, up_m=50.0)), end(None)])
    assert upright._side(*upright.ends[0]).at == (70.0, GROUND.at(70.0))
    assert upright._side(upright.ends[0][0], None) is None
    assert (
        on_line([end(carried(70.0), goes_on=True), end(None)])._side(
            SimpleNamespace(goes_on=True), carried(70.0)
        )
        is None
    )
    beyond = on_line([end(carried(200.4)), end(None)])
    assert beyond._side(*beyond.ends[0]).at == (200.0, GROUND.at(200.0))


@pytest.mark.parametrize(
    ("walls", "comes_to"),
    [
        (((30.0, 47.0), (330.0, 60.0)), (50.0 - 40.0 / math.sqrt(3.0), 90.0 + 40.0 / math.sqrt(3.0))),
        # Too gentle to run along its strike.
        (((30.0, 47.0), (330.0, 2.0)), (50.0 - 40.0 / math.sqrt(3.0), 90.0)),
        # They meet before they come to the line.
        (((330.0, 47.0), (30.0, 60.0)), (50.0, 90.0)),
        # Of one wall alone the strike was read.
        (((30.0, None), None), (50.0 - 40.0 / math.sqrt(3.0), 90.0 - 40.0 / math.sqrt(3.0))),
        ((None, None), (50.0, 90.0)),
    ],
)
def test_walls_read_apart_come_to_the_line_each_along_its_own_strike(walls, comes_to):
    """40 m north of a line to the east: 40 tan 30° along it."""
    ends = tuple(
        SimpleNamespace(
            place=(east, 40.0, 0.0),
            up_m=0.0,
            wall=None if wall is None else SimpleNamespace(course_deg=wall[0], dip_deg=wall[1]),
        )
        for east, wall in zip((50.0, 90.0), walls, strict=True)
    )
    line = line_through(((0.0, 0.0), (200.0, 0.0)))
    made = _OnLine(
        SimpleNamespace(strike_deg=None, ends=ends), None, line, GROUND, Carrier(None, 0.0, least_deg=5.0)
    )
    assert [one.distance_m for _, one in made.ends] == pytest.approx(comes_to, abs=1e-5)


def test_of_two_ends_on_one_side_that_carried_less_far_is_drawn():
    body = on_line(
        [end(carried(60.0, offset_m=-30.0)), end(carried(60.0, offset_m=12.0))],
        through=False,
        azimuth_deg=90.0 + TURN_DEG,
    )
    body._side = lambda one, place: place.offset_m
    assert body._facing(1.0) == 12.0
    assert body._facing(-1.0) is None


@pytest.mark.parametrize(("off_m", "near"), [(1.0, True), (500.0, False)])
def test_a_body_whose_walls_nobody_read_lies_as_the_bed_nearest_to_its_middle(off_m, near):
    def bed(east, north, dip):
        place = SimpleNamespace(east_m=east, north_m=north)
        lies = SimpleNamespace(place=place, course_deg=30.0, dip_deg=dip, sd_deg=2.0)
        return SimpleNamespace(tells_bedding=True, attitude=lies)

    body = SimpleNamespace(strike_deg=None, middle=(40.0, 90.0))
    here = bed(40.0 + 0.6 * off_m, 90.0 + 0.8 * off_m, 14.0)
    far = bed(90.0 + 2.0 * off_m, 40.0 - 2.0 * off_m, 20.0)
    section = SimpleNamespace(points=[far, here], levels=())
    assert (_lies_along(body, section, TURN_DEG) == (30.0, 14.0, 2.0)) is near
    assert _lies_along(SimpleNamespace(strike_deg=20.0, middle=(40.0, 90.0)), section, TURN_DEG) is None
    # Where planes of one dip hold the contacts, along these: here down 12 degrees to the grid's east.
    level = LevelContact(
        younger="Bb",
        older="Aa",
        up_m=0.0,
        sd_m=1.0,
        own_sd_m=1.0,
        sd_deg=0.5,
        contacts=(),
        rise=(-math.tan(math.radians(12.0)), 0.0),
    )
    section.levels = (level,)
    assert (_lies_along(body, section, TURN_DEG) == pytest.approx((TURN_DEG, 12.0, 0.5))) is near


@pytest.mark.parametrize(
    ("strike", "dip", "sense"),
    [(10.0, 35.0, 1.0), (190.0, 35.0, 1.0), (40.0, 60.0, -1.0), (10.0, 90.0, -1.0)],
)
def test_a_wall_past_the_end_of_a_line_lies_as_far_from_the_other_as_the_body_is_wide(
    monkeypatch, strike, dip, sense
):
    """Both as planes in space: the first through a place on the line, the second 12 m from it, square to both."""
    azimuth = 100.0
    monkeypatch.setattr(body_sides, "walls_agree", lambda _: True)
    body = on_line([end(carried(195.0)), end(None)], azimuth_deg=azimuth, strike_deg=strike, dip_deg=dip)
    level = replace(GROUND, up_m=np.array([20.0, 20.0, 20.0]))
    body.plane = level
    body.section = SimpleNamespace(length_m=200.0, azimuths_deg=(azimuth,), stretch_at=lambda _: 0)
    body.body.width_m, body.body.walls = 12.0, ()
    body.ends[1][0].wall = "the other"
    first = 195.0 if sense > 0.0 else 5.0
    way = body._way(body.ends[0][0], body.ends[0][1])
    found = body._across(SimpleNamespace(at=(first, 20.0), way=way), sense)
    pole = np.array([*math.sin(math.radians(dip)) * unit(strike + 90.0), math.cos(math.radians(dip))])
    apart = (found.at[0] - first) * np.array([*unit(azimuth), 0.0])
    assert abs(float(pole @ apart)) == pytest.approx(12.0)
    assert (found.at[0] - first) * sense > 0.0
    assert (found.wall, found.way) == ("the other", way)
    body.body.width_m = None
    assert body._across(SimpleNamespace(at=(first, 20.0), way=way), sense) is None


def told(*units, read=True, shallow=False):
    wall = SimpleNamespace(
        dip_deg=70.0 if read else None, booked=SimpleNamespace(address=SimpleNamespace(station="4", leg=None))
    )
    other = SimpleNamespace(dip_deg=None, booked=wall.booked)
    sides = (SimpleNamespace(wall=wall), SimpleNamespace(wall=other))
    return _told(
        [
            SimpleNamespace(
                body=SimpleNamespace(unit=one, as_on=None, read_at=("line",) if read else ()),
                sides=sides,
                along_beds=False,
                shallow=shallow,
                off_ground=False,
            )
            for one in units
        ]
    )


def test_what_walls_rest_on_is_said_once_of_one_body_and_of_several():
    assert told("Dk") == ("One wall of Dk (4) was measured: the other is drawn with the same dip.",)
    assert told("Dk", "Gr") == (
        "One wall each of Dk (4) and Gr (4) was measured: the other is drawn with the same dip.",
    )
    assert told("Dk", shallow=True)[0].startswith("The walls of Dk (4) lie each as the bed beside")
    assert told("Dk", read=False)[0].startswith("The walls of Dk (4) were not measured: it is drawn upright")
    assert told("Dk", "Gr", read=False)[0].startswith(
        "The walls of Dk (4) and Gr (4) were not measured: they are drawn upright"
    )


def test_bodies_along_the_line_are_said_to_lie_beside_it_or_to_cross_it_somewhere():
    def beside(unit_, offset_m):
        body = on_line(
            [end(carried(50.0, offset_m=offset_m, swing_m=None)), end(None)],
            strike_deg=101.0,
            dip_deg=80.0,
            unit_=unit_,
        )
        body.crosses_with = lambda other: body.body.unit == other.body.unit
        return body

    assert _beside([beside("Dk", 40.0)], []) == ("Dk strikes along the line, beside it: not drawn.",)
    both = [beside("Dk", 40.0), beside("Gr", 30.0)]
    assert _beside(both, []) == ("Dk and Gr strike along the line, beside it: not drawn.",)
    assert _beside([beside("Dk", 40.0), beside("Dk", -40.0)], []) == (
        "Dk strikes along the line and was met on both sides of it: not drawn, as nobody saw where it crosses.",
    )
    assert _beside(both, [SimpleNamespace(body=SimpleNamespace(unit="Dk"))]) == (
        "Gr strikes along the line, beside it: not drawn.",
    )


# --- bends and turns -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(8))
def test_a_line_leaves_a_stretch_where_it_first_passes_one_of_its_ends(seed):
    rng = np.random.default_rng(seed)
    low, high = 40.0, 120.0
    points = [
        (80.0, 0.0),
        *map(
            tuple,
            np.column_stack(
                (80.0 + np.cumsum(rng.uniform(-40.0, 40.0, 9)), rng.uniform(-50.0, 50.0, 9))
            ).tolist(),
        ),
    ]
    line = shapely.LineString(points)
    met = [
        (line.project(one), x)
        for x in (low, high)
        for one in shapely.get_parts(
            line.intersection(shapely.LineString([(x, -999.0), (x, 999.0)]))
        ).tolist()
        if one
    ]
    found = _leaves(points, low, high)
    if not met:
        assert found is None
        return
    run, x = min(met)
    at = line.interpolate(run)
    count, place, step = found
    assert place == pytest.approx((at.x, at.y), abs=1e-6)
    assert step == (1 if x == high else -1)
    assert (
        shapely.LineString(points[: count + 1]).length
        >= run
        > (shapely.LineString(points[:count]).length if count > 1 else 0.0) - 1e-9
    )
    assert _leaves(points, -math.inf, math.inf) is None
    straight = within(points[0], points[1], low, high)
    cut = shapely.LineString(points[:2]).intersection(shapely.box(low, -999.0, high, 999.0))
    assert straight == pytest.approx(cut.coords[-1], abs=1e-6)


def field(angle):
    at = (0.0, 0.0)
    return DipDomains(
        domains=[Domain(younging_rad=math.radians(angle), first=at, last=at, middle=at)], starts=[]
    )


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_a_bed_followed_over_bends_has_the_dip_of_each_stretch(sense):
    angles = (20.0, -12.0, 33.0)
    bends = (-math.inf, 60.0, 140.0, math.inf)
    bent = Bent(
        [
            Stretch(low_m=low, high_m=high, field=field(one))
            for one, low, high in zip(angles, bends, bends[1:], strict=False)
        ],
        lambda x: 0.0,
    )
    x = 100.0
    line = bent.trace((x, 0.0), sense, reach_m=150.0, frame=GROUND)
    expected, z, at = [(x, 0.0)], 0.0, 1
    for bend in (140.0,) if sense > 0.0 else (60.0,):
        z -= math.tan(math.radians(angles[at])) * (bend - x)
        expected.append((bend, z))
        x, at = bend, at + (1 if sense > 0.0 else -1)
    assert line.points[: len(expected)] == tuple(pytest.approx(one) for one in expected)
    last = np.subtract(line.points[-1], line.points[-2])
    assert math.degrees(math.atan2(-last[1] * sense, last[0] * sense)) == pytest.approx(angles[at])
    run = float(np.hypot(*np.diff(np.array(line.points), axis=0).T).sum())
    assert run == pytest.approx(150.0)
    assert bent.crossed(line.bounds[0]) is None
    assert bent.at(10.0) is bent.stretches[0].field
    assert bent.at(100.0) is bent.stretches[1].field


@pytest.mark.parametrize(
    ("heights", "crests", "troughs"),
    [
        ((0.0, 9.0, 2.0), [9.0], []),
        ((0.0, -9.0, -2.0, -20.0), [-2.0], [-9.0]),
        ((0.0, 0.0, 9.0), [], [0.0]),
        ((9.0, 9.0, 0.0), [9.0], []),
        ((0.0, 9.0, 9.0, 3.0), [9.0, 9.0], []),
        ((0.0, 9.0, 9.0, 15.0), [9.0], [9.0]),
        ((0.0, 5.0, 9.0), [], []),
        ((0.0, 0.0, 0.0), [], []),
    ],
)
def test_crests_and_troughs_of_a_line_are_where_it_turns(heights, crests, troughs):
    points = [(20.0 * at, up) for at, up in enumerate(heights)]
    assert _turns(points) == (crests, troughs)
    assert _turns(points[::-1]) == (crests[::-1], troughs[::-1])
