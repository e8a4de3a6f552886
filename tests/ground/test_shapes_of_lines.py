"""Lines in the plane against general libraries: curves through crossings, traces run on, caps square to a line, rings."""

import math
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from scipy.interpolate import BPoly

from traverse.ground.beside import _cap, _pieces
from traverse.ground.fold_traces import _one_trace
from traverse.ground.joins import _ways
from traverse.ground.records import HowSeen
from traverse.ground.section_runs import _LEAST_STEEP, UnitRun, _one_after_other, _steep, without_loose
from traverse.trade import JOINED_DEG

TURNS = range(0, 360, 24)


def turned(points, turn_deg, by=(3000.0, -700.0)):
    """Clockwise about the origin, and moved."""
    angle = math.radians(turn_deg)
    cos, sin = math.cos(angle), math.sin(angle)
    return [(x * cos + y * sin + by[0], y * cos - x * sin + by[1]) for x, y in points]


def way(turn_deg):
    return math.sin(math.radians(turn_deg)), math.cos(math.radians(turn_deg))


@pytest.mark.parametrize("turn", TURNS)
def test_a_trace_goes_on_in_another_by_how_far_it_lies_beside_it(turn):
    """100 m on along its strike a trace may lie off by the ground looked at and what its strike may err; no matter which way."""
    half = 20.0
    room = half + 100.0 * math.tan(math.radians(JOINED_DEG))
    for beside, one in ((room - 0.5, True), (room + 0.5, False), (0.5 - room, True), (-0.5 - room, False)):
        at, other = turned([(beside, 100.0), (0.0, 0.0)], turn)
        assert _one_trace(at, way(turn), other, way(turn), half) is one
        assert _one_trace(at, way(turn + 180.0), other, way(turn), half) is one
    at, other = turned([(0.0, 100.0), (0.0, 0.0)], turn)
    assert _one_trace(at, way(turn + 2.0 * JOINED_DEG - 0.5), other, way(turn), half) is True
    assert _one_trace(at, way(turn + 2.0 * JOINED_DEG + 0.5), other, way(turn), half) is False


@pytest.mark.parametrize("turn", TURNS)
def test_a_cap_stands_square_to_the_end_of_a_line_out_to_the_edge_of_the_ground(turn):
    """By shapely: from the end to the edge of a disc about it, on the left of the way ahead for 1, on the right for -1."""
    at, ahead = turned([(0.0, 0.0), (7.0, 0.0)], turn)
    whole = shapely.Point(at).buffer(30.0, quad_segs=64)
    for sense in (1.0, -1.0):
        (x0, y0), (x1, y1) = _cap(at, ahead, sense, whole, 25.0).coords
        along, out = np.subtract(ahead, at), np.array([x1 - x0, y1 - y0])
        assert (x0, y0) == pytest.approx(at, abs=1e-6)
        assert float(along @ out) == pytest.approx(0.0, abs=1e-3)
        assert np.sign(along[0] * out[1] - along[1] * out[0]) == sense
        assert 30.0 - 0.1 < np.hypot(*out) < 31.0


@pytest.mark.parametrize(("first", "last"), [(0, 3), (3, 0), (2, 2), (1, 6), (6, 1), (5, 7)])
def test_round_a_ring_there_are_two_ways_that_share_no_corner(first, last):
    """Both together are the ring once; each is a run of neighbours."""
    ring = np.array([(math.cos(angle), math.sin(angle)) for angle in np.linspace(0.0, 2.0 * math.pi, 9)])
    ring[-1] = ring[0]
    forward, back = _ways(ring, first, last)
    corners = [tuple(one) for one in ring[:-1]]
    numbers = [[corners.index(tuple(one)) for one in part] for part in (forward, back)]
    assert numbers[0] == [(first + 1 + step) % 8 for step in range((last - first) % 8)]
    assert sorted(numbers[0] + numbers[1]) == (list(range(8)) if first != last else numbers[0] + numbers[1])
    assert all((b - a) % 8 == 1 for a, b in zip(numbers[0], numbers[0][1:], strict=False))
    assert all((a - b) % 8 == 1 for a, b in zip(numbers[1], numbers[1][1:], strict=False))


def test_runs_over_each_other_become_one_after_the_other():
    """Of one unit they are what shapely makes of them together; of two the first keeps its ground."""
    rng = np.random.default_rng(4)
    for _ in range(50):
        starts = rng.uniform(0.0, 100.0, 8)
        runs = [
            UnitRun(unit="Sh", start_m=float(one), end_m=float(one + size))
            for one, size in zip(starts, rng.uniform(1.0, 25.0, 8), strict=True)
        ]
        whole = shapely.union_all(
            [shapely.LineString([(one.start_m, 0.0), (one.end_m, 0.0)]) for one in runs]
        )
        found = _one_after_other(runs)
        assert sum(one.end_m - one.start_m for one in found) == pytest.approx(whole.length)
        parts = shapely.get_parts(shapely.line_merge(whole))
        assert len(found) == len(parts)
    kept = _one_after_other(
        [UnitRun(unit="Sh", start_m=0.0, end_m=10.0), UnitRun(unit="Lt", start_m=6.0, end_m=14.0)]
    )
    assert [(one.unit, one.start_m, one.end_m) for one in kept] == [("Sh", 0.0, 10.0), ("Lt", 10.0, 14.0)]


@pytest.mark.parametrize("turn", [10, 100, 250])
def test_a_stream_bends_through_its_crossings_as_scipy_draws_the_curve(compile_text, turn):
    """Between two crossings a cubic Bézier curve whose handles are a third of the way apart along the booked courses."""
    compiled = compile_text(
        "notation 1\nbearings true\nunit Sh Reed Shale ;\nat 1\nunit Sh\n"
        f"to 2 {turn:03d} 100m level\nalong 50m\ncrosses stream {(turn + 70) % 360:03d} Dale beck\n"
        f"to 3 {(turn + 80) % 360:03d} 150m level\nto 4 {(turn + 190) % 360:03d} 120m level\nalong 60m\n"
        f"crosses stream {(turn + 115) % 360:03d} Dale beck\n"
    )
    from traverse.compile import map_ground

    (course,) = map_ground(compiled.trav).ground.map.courses
    (one, other, end) = course.curves[0]
    apart = math.dist(course.met, end)
    for handle, at, sense, toward in ((one, course.met, 1.0, turn + 70), (other, end, -1.0, turn + 115)):
        x, y = way(toward)
        assert handle == pytest.approx(
            (at[0] + sense * x * apart / 3.0, at[1] + sense * y * apart / 3.0), abs=1e-3
        )
    corners = np.array([course.met, one, other, end])
    curve = BPoly(corners[:, None, :], [0.0, 1.0])
    drawn = shapely.LineString(curve(np.linspace(0.0, 1.0, 400)))
    inside = [point for point in course.line.coords if shapely.Point(point).distance(drawn) < 0.05]
    assert len(inside) == len(course.line.coords) - 2, "all but its two ends lie on the curve"
    for met in (course.met, end):
        assert min(math.dist(met, one) for one in course.line.coords) < 1e-6


@pytest.mark.parametrize("turn", [0, 65, 170, 300])
def test_what_was_seen_at_two_places_beside_the_walk_reaches_half_way(compile_text, turn):
    """By shapely: the straight line from place to place, parted in its middle."""
    compiled = compile_text(
        "notation 1\nbearings true\nunit Cm Cliff marl ;\nunit Gg Grey grit ;\nat 1\nunit Gg\n"
        f"to 2 {turn:03d} 100m level\nalong 20m left 4m\ncontact Cm/Gg certain\nalong 70m left 9m\ncontact Cm/Gg certain\n"
        "at 2\nunit Gg\n"
    )
    (line,) = compiled.geology.contact_lines
    first, last = (part.points[0][:2] for part in line.parts)
    whole = shapely.LineString([first, last])
    middle = whole.interpolate(0.5, normalized=True)
    found = list(_pieces(line.parts))
    seen = [one for one in found if one.seen is HowSeen.AT]
    assert len(seen) == 2
    for piece, place in zip(seen, (first, last), strict=True):
        assert piece.at == pytest.approx(place)
        assert piece.line.length == pytest.approx(whole.length / 2.0, abs=1e-6)
        assert piece.line.distance(middle) < 1e-6
        assert piece.line.distance(shapely.Point(place)) < 1e-6


@pytest.mark.parametrize("slope", [0.05, 0.4, -0.4, -1.2])
def test_how_steep_the_ground_is_along_a_section(slope):
    """Its rise over its run, up or down; flat ground counts as little steep and not as none."""
    profile = [SimpleNamespace(distance_m=10.0 * at, up_m=10.0 * at * slope) for at in range(11)]
    section = SimpleNamespace(length_m=100.0, profile=profile, ground_at=lambda at: at * slope)
    assert _steep(section, 50.0) == pytest.approx(max(abs(slope), _LEAST_STEEP))


@pytest.mark.parametrize(
    ("over", "under"),
    [
        (["Sh", "Qd", "Sh"], [("Sh", 0, 30)]),
        (["Sh", "Qd", "Lt"], [("Sh", 0, 10), (None, 10, 20), ("Lt", 20, 30)]),
        (["Qd", "Sh", "Qd"], [(None, 0, 10), ("Sh", 10, 20), (None, 20, 30)]),
        (["Lt", "Sh", "Qd", "Sh", "Lt"], [("Lt", 0, 10), ("Sh", 10, 40), ("Lt", 40, 50)]),
        (["Sh", "Qd", "Qe", "Sh"], [("Sh", 0, 10), (None, 10, 30), ("Sh", 30, 40)]),
        (["Sh", "Lt"], [("Sh", 0, 10), ("Lt", 10, 20)]),
    ],
)
def test_under_loose_ground_lies_what_is_seen_on_both_its_sides(over, under):
    """And nothing that is known where they differ, or where one wasn't seen."""
    runs = [UnitRun(unit=unit, start_m=10.0 * at, end_m=10.0 * at + 10.0) for at, unit in enumerate(over)]
    found = without_loose(runs, frozenset({"Qd", "Qe"}))
    assert [(one.unit, one.start_m, one.end_m) for one in found] == under


@pytest.mark.parametrize(
    ("out", "border"),
    [
        # Within its error, the nearest of several, of these two units only.
        ([(46.0, 10.0, "Sh", "Lt"), (53.0, 10.0, "Sh", "Lt")], 53.0),
        ([(47.5, 10.0, "Sh", "Lt"), (53.0, 10.0, "Sh", "Lt")], 47.5),
        ([(47.5, 2.0, "Sh", "Lt"), (53.0, 10.0, "Sh", "Lt")], 53.0),
        ([(53.0, 2.0, "Sh", "Lt")], 50.0),
        ([(53.0, 10.0, "Sh", "Qd")], 50.0),
        ([(130.0, 200.0, "Sh", "Lt")], 50.0),
    ],
)
def test_colour_ends_at_the_line_of_the_contact_that_lies_nearest(monkeypatch, out, border):
    from traverse.ground import section_runs

    found = [
        section_runs._Out(
            contact=SimpleNamespace(younger=younger, older=older),
            carried_to_m=at,
            at_m=at,
            good_m=good,
            seen_m=good,
        )
        for at, good, younger, older in out
    ]
    monkeypatch.setattr(section_runs, "_contacts_out", lambda _: found)
    runs = [UnitRun(unit="Sh", start_m=0.0, end_m=50.0), UnitRun(unit="Lt", start_m=50.0, end_m=120.0)]
    first, second = section_runs.at_lines(runs, None)
    assert (first.start_m, first.end_m) == (0.0, border)
    assert (second.start_m, second.end_m) == (border, 120.0)


@pytest.mark.parametrize("turn", TURNS)
def test_the_younger_unit_lies_on_the_left_of_a_line(turn):
    """The left by the sign of the product of two vectors, whichever way the line runs."""
    from traverse.ground.section_fills import Parting

    start, end, left = turned([(-50.0, 0.0), (50.0, 0.0), (0.0, 8.0)], turn)
    line = shapely.LineString([start, end])
    cell = shapely.Point(left).buffer(7.9)
    shared = line.intersection(shapely.Point(left).buffer(20.0))
    on = Parting._on_left(SimpleNamespace(touching_m=0.5), cell, line, shared)
    assert on is True
    assert Parting._on_left(SimpleNamespace(touching_m=0.5), cell, line.reverse(), shared) is False
