"""Lines, bodies, guesses and runs of a section, marks of walls and ways back: from records, each rule by hand."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
from shapely import LineString, Point, box

from traverse.ground import lay, lay_sections, parted, section_bodies, section_guesses, section_lines
from traverse.ground.joins import _Barrier, _run, _Segments
from traverse.ground.map_bodies import _mark
from traverse.ground.records import Evidence
from traverse.ground.section_runs import (
    UnitRun,
    as_seen,
    evidence_along,
    seen_runs,
    without_loose,
    without_slopes,
)
from traverse.log.items import Certainty
from traverse.log.readings import North
from traverse.structure.section.records import BodySide, PointKind

FAR_M = 200.0


def runs(*borders):
    starts = (0.0, *(end for _, end in borders))
    return [
        UnitRun(unit=unit, start_m=start, end_m=end)
        for start, (unit, end) in zip(starts, borders, strict=False)
    ]


def told(found):
    return [(one.unit, pytest.approx(one.start_m), pytest.approx(one.end_m)) for one in found]


# --- lines --------------------------------------------------------------------------------------------------------


def piece(*points, eroded=False):
    return SimpleNamespace(points=points, eroded=eroded)


def line_of(*pieces, known=True, contacts=(), certainty=None):
    return SimpleNamespace(pieces=pieces, course_known=known, contacts=contacts, certainty=certainty)


LOOKED_AT = box(0.0, -20.0, FAR_M, 0.0)


def drawn(parts):
    return [[tuple(point) for point in one.coords] for one in parts]


def test_pieces_that_meet_are_one_line_and_what_is_worn_away_is_apart():
    down, on, up, again = (0.0, -50.0), (10.0, -30.0), (20.0, 0.0), (30.0, 25.0)
    line = line_of(
        piece(down, on), piece(on, up), piece(up, again, eroded=True), piece((60.0, 0.0), (70.0, -9.0))
    )
    found = section_lines.carried_line(line, (), LOOKED_AT)
    assert drawn(found.below) == [[down, on, up], [(60.0, 0.0), (70.0, -9.0)]]
    assert drawn(found.above) == [[up, again]]
    # A metre apart they are two.
    gap = line_of(piece(down, on), piece((11.0, -30.0), up))
    assert len(section_lines.carried_line(gap, (), LOOKED_AT).below) == 2


def test_a_line_of_no_known_course_is_drawn_in_the_ground_that_was_looked_at_alone():
    line = line_of(
        piece((10.0, -60.0), (10.0, 0.0)), piece((10.0, 0.0), (10.0, 9.0), eroded=True), known=False
    )
    found = section_lines.carried_line(line, (), LOOKED_AT)
    assert [one.length for one in found.below] == [20.0]
    assert found.above == ()


@pytest.mark.parametrize("seed", range(5))
def test_a_line_is_known_everywhere_as_well_as_at_the_sighting_nearest_to_there(seed):
    """Distance along the section and how far it was carried to it, by the root of both squares.

    A sighting to whose own place another is nearer tells nothing.
    """
    rng = np.random.default_rng(seed)
    at, aside = rng.uniform(0.0, FAR_M, 6).round(1), rng.uniform(-60.0, 60.0, 6).round(1)
    sure = [list(Certainty)[index] for index in rng.integers(0, len(Certainty), 6)]
    contacts = [SimpleNamespace(certainty=one) for one in sure]
    points = [
        SimpleNamespace(distance_m=x, carried_m=y, contact=one)
        for x, y, one in zip(at.tolist(), aside.tolist(), contacts, strict=True)
    ]
    points.append(
        SimpleNamespace(
            distance_m=100.0, carried_m=0.0, contact=SimpleNamespace(certainty=Certainty.CONCEALED)
        )
    )
    found = section_lines.certainty_along(line_of(contacts=contacts), points)
    tells = np.hypot(at[:, None] - at, aside[:, None]).min(axis=0) >= np.abs(aside) - 1e-9
    assert found[0].start_m == -math.inf
    assert found[-1].end_m == math.inf
    for here in np.arange(-50.0, 251.0, 3.7):
        far = np.where(tells, np.hypot(at - here, aside), np.inf)
        if tells.sum() > 1 and np.ptp(np.sort(far)[:2]) < 0.05:
            continue
        (run,) = [one for one in found if one.start_m <= here < one.end_m]
        assert run.certainty is sure[int(far.argmin())]


def test_a_line_of_no_sighting_is_known_as_it_was_told():
    (run,) = section_lines.certainty_along(line_of(certainty=Certainty.INFERRED), ())
    assert (run.start_m, run.end_m, run.certainty) == (-math.inf, math.inf, Certainty.INFERRED)


# --- bodies -------------------------------------------------------------------------------------------------------


def section(**more):
    slope = more.pop("slope", 0.0)
    profile = [SimpleNamespace(distance_m=at, up_m=slope * at, unit=None) for at in (0.0, 100.0, FAR_M)]
    return SimpleNamespace(
        **{
            "length_m": FAR_M, "profile": profile, "ground_at": lambda at: slope * at, "points": (), "levels": (), "over": (),
            "line": ((0.0, 0.0), (FAR_M, 0.0)), "construction": SimpleNamespace(lines=()),
        } | more
    )  # fmt: skip


def body(low, high):
    sides = tuple(
        None if at is None else BodySide(at=(at, 0.0), way=(0.0, -1.0), wall=None) for at in (low, high)
    )
    return SimpleNamespace(sides=sides)


@pytest.mark.parametrize(
    ("low", "high", "left", "right"),
    [(80.0, 100.0, 40.0, 160.0), (None, 100.0, -1.0, 160.0), (80.0, None, 40.0, 201.0)],
)
def test_a_body_ends_where_it_would_come_out_again_and_was_not_met(low, high, left, right):
    """Ground that it touches at 20 to 40 m, at its own 80 to 100 m and at 160 to 180 m."""
    area = (
        box(-1.0, -50.0, 201.0, -1.0)
        | box(20.0, -2.0, 40.0, 0.0)
        | box(80.0, -2.0, 100.0, 0.0)
        | box(160.0, -2.0, 180.0, 0.0)
    )
    surface = LineString([(0.0, 0.0), (FAR_M, 0.0)])
    found = section_bodies._not_out_again(area, body(low, high), section(), surface)
    assert found.bounds[0] == pytest.approx(left, abs=0.2)
    assert found.bounds[2] == pytest.approx(right, abs=0.2)
    assert found.bounds[1] == -50.0


@pytest.mark.parametrize("toward", [(60.0, 0.0), (-60.0, 0.0), (0.0, 40.0)])
@pytest.mark.parametrize("way", [(0.0, -1.0), (0.6, -0.8), (-0.8, -0.6)])
def test_all_on_one_side_of_a_wall_is_on_the_side_of_the_body(toward, way):
    side = BodySide(at=(10.0, -5.0), way=way, wall=None)
    half = section_bodies._half(side, Point(toward), 500.0)
    assert half.contains(Point(toward))
    for x in range(-100, 101, 25):
        for y in range(-100, 101, 25):
            ways = [(at[0] - 10.0) * way[1] - (at[1] + 5.0) * way[0] for at in ((x, y), toward)]
            if abs(ways[0]) > 1e-6:
                assert half.contains(Point(x, y)) is (ways[0] * ways[1] > 0.0)


def test_the_middle_of_a_body_lies_on_the_ground_between_its_sides():
    for low, high, middle in ((80.0, 100.0, 90.0), (None, 100.0, 50.0), (80.0, None, 140.0)):
        found = section_bodies._met(body(low, high), section(slope=0.25))
        assert (found.x, found.y) == pytest.approx((middle, 0.25 * middle))


@pytest.mark.parametrize("leg_deg", [0.0, 35.0, 140.0, 275.0])
def test_the_mark_of_a_wall_lies_square_across_the_walk(leg_deg):
    """Half of half the band to each side."""
    line = _mark((700.0, 250.0), leg_deg, 20.0)
    (x0, y0), (x1, y1) = line.coords
    assert ((x0 + x1) / 2.0, (y0 + y1) / 2.0) == pytest.approx((700.0, 250.0))
    assert line.length == pytest.approx(20.0)
    along = (math.sin(math.radians(leg_deg)), math.cos(math.radians(leg_deg)))
    assert (x1 - x0) * along[0] + (y1 - y0) * along[1] == pytest.approx(0.0, abs=1e-6)


def test_a_body_that_the_section_has_hides_what_was_seen_of_it_and_another_leaves_it_unknown(monkeypatch):
    monkeypatch.setattr(lay_sections, "outcrop_of", lambda one, _: one.out)
    one = SimpleNamespace(body=SimpleNamespace(unit="Db"), out=(40.0, 60.0))
    seen = runs(("Ts", 35.0), ("Db", 62.0), ("Jl", 100.0), ("Db", 120.0), ("Gr", 140.0))
    found = lay_sections._under_bodies(seen, SimpleNamespace(bodies=[one]), frozenset({"Db", "Gr"}))
    assert [(each.unit, each.start_m) for each in found] == [
        ("Ts", 0.0),
        ("Jl", 62.0),
        (None, 100.0),
        (None, 120.0),
    ]


# --- guesses ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("sense", [1.0, -1.0])
@pytest.mark.parametrize(
    ("dip", "falls"), [(40.0, 40.0), (-40.0, 40.0), (3.0, 10.0), (90.0, 87.0), (None, 10.0)]
)
def test_ground_past_beds_goes_down_along_the_bed_nearest_to_it(sense, dip, falls):
    """No gentler than 10 degrees, and no steeper than 87; without a bed as gently."""
    points = [
        SimpleNamespace(distance_m=at, apparent_dip_deg=value, tells_bedding=tells)
        for at, value, tells in (
            (60.0, dip, dip is not None),
            (90.0, 70.0, dip is not None),
            (50.0, 20.0, False),
        )
    ]
    found = section_guesses._down(section(points=points), (50.0, -10.0), sense, to_m=-70.0)
    assert found == pytest.approx((50.0 + sense * 60.0 / math.tan(math.radians(falls)), -70.0))


@pytest.mark.parametrize(("past", "said"), [(-0.1, True), (0.0, None), (29.0, None), (31.0, False)])
def test_ground_lies_under_all_beds_or_over_them_by_more_than_a_skin(past, said):
    assert section_guesses._past(SimpleNamespace(past_beds_m=past), 30.0) is said


# --- runs ---------------------------------------------------------------------------------------------------------


def test_loose_ground_hides_what_is_one_unit_on_both_its_sides():
    loose = frozenset({"Qa", "Qb"})
    assert told(without_loose(runs(("Ts", 40.0), ("Qa", 60.0), ("Ts", 100.0), ("Jl", 150.0)), loose)) == [
        ("Ts", 0.0, 100.0), ("Jl", 100.0, 150.0)
    ]  # fmt: skip
    assert told(without_loose(runs(("Ts", 40.0), ("Qa", 60.0), ("Jl", 100.0)), loose)) == [
        ("Ts", 0.0, 40.0), (None, 40.0, 60.0), ("Jl", 60.0, 100.0)
    ]  # fmt: skip
    assert told(without_loose(runs(("Qa", 40.0), ("Ts", 60.0), ("Qa", 70.0), ("Qb", 90.0), ("Ts", 100.0)), loose)) == [
        (None, 0.0, 40.0), ("Ts", 40.0, 60.0), (None, 60.0, 90.0), ("Ts", 90.0, 100.0)
    ]  # fmt: skip


def test_what_was_seen_stands_over_runs_between_its_own_ends():
    seen = [UnitRun(unit="Jl", start_m=30.0, end_m=50.0), UnitRun(unit="Ks", start_m=90.0, end_m=120.0)]
    assert told(as_seen(runs(("Ts", 100.0), ("Jl", 200.0)), seen)) == [
        ("Ts", 0.0, 30.0), ("Jl", 30.0, 50.0), ("Ts", 50.0, 90.0), ("Ks", 90.0, 120.0), ("Jl", 120.0, 200.0)
    ]  # fmt: skip


def test_on_a_slope_ground_between_a_contact_and_where_it_comes_out_is_not_as_the_map_has_it():
    """Met at the level of 60 m, out at 72 m; the map has the border at 58 m, within five metres of where it was met."""
    contact = object()
    line = SimpleNamespace(
        younger="Jl", older="Ts", contacts=(contact,), outcrops=((72.0, 0.0), (190.0, 0.0))
    )
    point = SimpleNamespace(contact=contact, levels_m=(60.0,))
    of = section(points=[point], construction=SimpleNamespace(lines=(line,)))
    assert told(without_slopes(runs(("Ts", 58.0), ("Jl", 150.0)), of)) == [
        ("Ts", 0.0, 58.0),
        ("Jl", 72.0, 150.0),
    ]
    # Farther than that it is another arm's, and of other units none of its own.
    assert told(without_slopes(runs(("Ts", 54.0), ("Jl", 150.0)), of)) == [
        ("Ts", 0.0, 54.0), ("Jl", 54.0, 60.0), ("Jl", 72.0, 150.0)
    ]  # fmt: skip
    assert told(without_slopes(runs(("Ks", 58.0), ("Jl", 150.0)), of)) == [
        ("Ks", 0.0, 58.0), ("Jl", 58.0, 60.0), ("Jl", 72.0, 150.0)
    ]  # fmt: skip


def test_runs_are_where_the_line_of_a_section_passes_ground_of_a_unit():
    """Round a bend: 100 m east, then north."""
    of = section(line=((0.0, 0.0), (100.0, 0.0), (100.0, 100.0)))
    areas = [
        SimpleNamespace(unit="Ts", parts=(box(20.0, -5.0, 60.0, 5.0), box(60.0, -5.0, 70.0, 5.0))),
        SimpleNamespace(unit="Jl", parts=(box(90.0, 30.0, 110.0, 45.0),)),
        SimpleNamespace(unit=None, parts=(box(75.0, -5.0, 80.0, 5.0),)),
    ]
    assert told(seen_runs(of, SimpleNamespace(areas=areas))) == [("Ts", 20.0, 70.0), ("Jl", 130.0, 145.0)]


def test_a_section_rests_on_ground_walked_and_on_what_was_carried_as_far_as_was_looked_at():
    """The band from 30 to 50 m; a contact at 100 m, and a leg between stations at 140 and 170 m; 10 m to each side."""

    def point(at, kind, label=""):
        return SimpleNamespace(distance_m=at, kind=kind, label=label)

    points = [
        point(100.0, PointKind.CONTACT),
        point(140.0, PointKind.STATION, "7"),
        point(170.0, PointKind.STATION, "8"),
    ]
    legs = [
        SimpleNamespace(booked=SimpleNamespace(start="8", end="7")),
        SimpleNamespace(booked=SimpleNamespace(start="8", end="9")),
    ]
    fill = SimpleNamespace(area=box(60.0, -30.0, 75.0, 1.0))
    cut = SimpleNamespace(section=section(points=points), fills=[fill])
    band = SimpleNamespace(whole=box(30.0, -5.0, 50.0, 5.0))
    found = [
        (one.evidence, round(one.start_m, 3), round(one.end_m, 3))
        for one in evidence_along(cut, band, legs, 10.0)
    ]
    assert found == [
        (Evidence.WALKED, 30.0, 50.0), (Evidence.CARRIED, 60.0, 75.0), (Evidence.CARRIED, 90.0, 110.0),
        (Evidence.CARRIED, 130.0, 180.0),
    ]  # fmt: skip


# --- what a computed line may not run over ----------------------------------------------------------------------


def barrier(*, capped=(), walked=(), drawn_before=(), axes=()):
    found = _Barrier.__new__(_Barrier)
    ends = np.array([*capped, *walked], dtype=float).reshape(-1, 2, 2)
    found.turn_deg, found.starts, found.ends = 0.0, ends[:, 0], ends[:, 1]
    found.capped = np.array([True] * len(capped) + [False] * len(walked), dtype=bool)
    found.drawn = _Segments()
    for line in drawn_before:
        found.drawn.add(np.array(line, dtype=float))
    axis = np.array(axes, dtype=float).reshape(-1, 2, 2)
    found.axes = (axis[:, 0], axis[:, 1])
    return found


TRACE = np.array([(0.0, 0.0), (60.0, 0.0), (100.0, 0.0)])


def across(at):
    return ((at, -10.0), (at, 10.0))


def kept(sd_m=0.0, **more):
    pair = SimpleNamespace(first=SimpleNamespace(sd_m=sd_m), second=SimpleNamespace(sd_m=sd_m))
    return [line.tolist() for line in barrier(**more).kept(TRACE, pair)]


def test_a_computed_line_stops_at_the_cover_on_both_sides_of_it():
    """Covered ground walked at 30, 50 and 70 m: up to the first, and from the last on."""
    assert kept() == [TRACE.tolist()]
    first, last = kept(capped=[across(50.0), across(30.0), across(70.0)])
    assert first == [[0.0, 0.0], [30.0, 0.0]]
    assert last == [[70.0, 0.0], [100.0, 0.0]]


@pytest.mark.parametrize(
    ("at", "sd_m", "left"),
    [
        (50.0, 0.0, 0),
        (4.9, 0.0, 1),
        (5.1, 0.0, 0),
        (95.1, 0.0, 1),
        (94.9, 0.0, 0),
        (11.9, 6.0, 1),
        (12.1, 6.0, 0),
    ],
)
def test_it_runs_over_no_ground_walked_on_and_no_axis_but_near_its_ends(at, sd_m, left):
    """Within five metres of them, or twice what they are off by."""
    assert len(kept(sd_m, walked=[across(at)])) == left
    assert len(kept(sd_m, axes=[across(at)])) == left


@pytest.mark.parametrize(("at", "left"), [(0.4, 1), (0.6, 0), (50.0, 0), (99.4, 0), (99.6, 1)])
def test_it_runs_over_no_line_drawn_before_but_where_both_part_from_one_place(at, left):
    assert len(kept(drawn_before=[across(at)])) == left


def test_what_is_kept_stands_in_the_way_of_the_next_and_what_is_not_does_not():
    pair = SimpleNamespace(first=SimpleNamespace(sd_m=0.0), second=SimpleNamespace(sd_m=0.0))
    one = barrier(walked=[across(50.0)])
    assert one.kept(TRACE, pair) == ()
    other = np.array([(30.0, -40.0), (30.0, 40.0)])
    assert len(one.kept(other, pair)) == 1
    assert one.kept(np.array([(0.0, 20.0), (45.0, 20.0)]), pair) == ()


def fault(course_deg, leg_deg=None):
    booked = SimpleNamespace(span="fault")
    place = SimpleNamespace(leg_azimuth_deg=leg_deg)
    return SimpleNamespace(
        contact=SimpleNamespace(booked=booked, place=place, course_deg=course_deg),
        at=np.array([10.0, 20.0, 5.0]),
    )


@pytest.mark.parametrize(
    ("course", "leg", "turn", "expected"),
    [(30.0, 90.0, 0.0, 30.0), (30.0, 90.0, 3.0, 33.0), (None, 70.0, 3.0, 160.0)],
)
def test_a_fault_runs_on_to_both_sides_along_its_course_or_square_to_its_leg(course, leg, turn, expected):
    one = barrier()
    one.turn_deg = turn
    one.cut_by_faults([fault(course, leg)], [])
    starts, ends = one.drawn.ends()
    assert starts.tolist() == [[10.0, 20.0]] * 2
    ways = sorted(
        math.degrees(math.atan2(*(end - start))) % 360.0 for start, end in zip(starts, ends, strict=True)
    )
    assert ways == pytest.approx([expected, expected + 180.0])
    assert np.hypot(*(ends - starts).T) == pytest.approx(300.0)


def test_toward_where_a_fault_was_joined_it_is_not_run_on():
    """Joined to the north by a line that bears 20 degrees: of its course of 30 only the way back is left."""
    join = SimpleNamespace(
        ends=("fault", "other"),
        lines=(((10.0, 20.0), (10.0 + 50.0 * math.sin(0.35), 20.0 + 50.0 * math.cos(0.35))),),
    )
    one = barrier()
    one.cut_by_faults([fault(30.0)], [join])
    starts, ends = one.drawn.ends()
    (way,) = [
        math.degrees(math.atan2(*(end - start))) % 360.0 for start, end in zip(starts, ends, strict=True)
    ]
    assert way == pytest.approx(210.0)
    assert _run(TRACE).tolist() == [0.0, 60.0, 100.0]


# --- the way back -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("north", "reads"),
    # 3-4-5: 36.87 degrees by the grid; 2 degrees more by true north, 7 less again by the needle, 4 more beside iron.
    [
        (North.GRID, 36.8699 + 4.0),
        (North.TRUE, 38.8699 + 4.0),
        (North.MAGNETIC, 31.8699 + 4.0),
        (None, 38.8699 + 4.0),
    ],
)
def test_a_way_back_reads_as_the_party_reads(north, reads):
    start = SimpleNamespace(name="1", east_m=100.0, north_m=200.0)
    far = SimpleNamespace(name="2", east_m=100.0, north_m=320.0)
    leg = SimpleNamespace(start="1", end="2", bearing=SimpleNamespace(written="N37E"))
    conditions = SimpleNamespace(bearings=north, pace="course")
    placed = SimpleNamespace(
        east_m=130.0, north_m=240.0, address=SimpleNamespace(conditions=conditions, leg=leg)
    )
    survey = SimpleNamespace(
        frame=SimpleNamespace(to_true_deg=2.0, declination_deg=7.0), places={"1": start, "2": far}, paces=(),
        deviations=(SimpleNamespace(station="1", degrees=4.0), SimpleNamespace(station="2", degrees=9.0)),
    )  # fmt: skip
    found = lay._way_back("span", placed, start, survey)
    assert found.distance_m == pytest.approx(50.0)
    assert found.leg_m == pytest.approx(120.0)
    assert found.reads_deg == pytest.approx(reads, abs=1e-3)
    assert found.in_quadrants
    placed.east_m, placed.north_m = 100.0, 201.4
    assert lay._way_back("span", placed, start, survey).reads_deg is None


# --- what was seen against bodies and corners -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("other_m", "sd_m", "against"), [(4.9, 0.0, False), (5.1, 0.0, True), (8.9, 3.0, False), (9.1, 3.0, True)]
)
def test_a_body_is_against_what_was_seen_by_more_than_one_contact_or_three_deviations_of_its_walls(
    other_m, sd_m, against
):
    """It would come out from 40 to 80 m, of which so much was seen to be of another unit."""

    def side(at, sd):
        return BodySide(at=(at, 0.0), way=(0.0, -1.0), wall=SimpleNamespace(sd_m=sd))

    seen = [
        UnitRun(unit="Ts", start_m=0.0, end_m=40.0 + other_m),
        UnitRun(unit="Db", start_m=40.0 + other_m, end_m=80.0),
        UnitRun(unit="Jl", start_m=80.0, end_m=120.0),
    ]
    one = SimpleNamespace(sides=(side(40.0, sd_m), side(80.0, 0.0)), body=SimpleNamespace(unit="Db"))
    assert section_bodies.against_seen(one, section(), seen) is against
    # A wall that was not met tells nothing, and a side that is open lies at the end of the section.
    bare = BodySide(at=(80.0, 0.0), way=(0.0, -1.0), wall=None)
    one = SimpleNamespace(sides=(side(40.0, sd_m), bare), body=SimpleNamespace(unit="Db"))
    assert section_bodies.against_seen(one, section(), seen) is against
    open_one = SimpleNamespace(sides=(side(40.0, sd_m), None), body=SimpleNamespace(unit="Db"))
    assert section_bodies.outcrop_of(open_one, section()) == (40.0, FAR_M)
    assert section_bodies.against_seen(open_one, section(), seen) is True


@pytest.mark.parametrize(
    ("long_m", "steep", "at_y", "tells"),
    [(2.6, True, 0.0, True), (2.4, True, 0.0, False), (30.0, False, 0.0, False), (30.0, True, 97.0, False)],
)
def test_a_corner_that_no_walk_passes_is_of_the_side_of_the_longest_steep_contact_about_it(
    long_m, steep, at_y, tells
):
    """An eighth of half the band at least, of a contact met within three halves of it."""
    contact = SimpleNamespace(younger="Aa", older="Bb", queried=True)
    line = (
        LineString([(0.0, at_y), (0.0, 5.0 + long_m)])
        if at_y < 5.0
        else LineString([(0.0, 5.0), (0.0, at_y)])
    )
    one = SimpleNamespace(contact=contact, at=(0.0, at_y), line=line, steep=steep)
    walk = [
        SimpleNamespace(start=(-30.0, at_y), end=(0.0, at_y), unit="Aa"),
        SimpleNamespace(start=(0.0, at_y), end=(30.0, at_y), unit="Bb"),
    ]
    face = box(0.0, 5.0, 8.0, 35.0)
    found = parted._beyond(face, [one], walk, 20.0)
    assert found == (("Bb", False, True) if tells else None)
    left = parted._beyond(box(-8.0, 5.0, 0.0, 35.0), [one], walk, 20.0)
    assert left == (("Aa", False, True) if tells else None)
