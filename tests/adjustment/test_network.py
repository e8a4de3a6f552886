"""Pieces, first reaching, loops and ties."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from tests.walk import control, tie, walk
from traverse.adjustment.network import _NetworkBuilder, build_network
from traverse.location.records import LoopKind
from traverse.survey import survey_log


def survey(*legs, **settings):
    return survey_log(walk(*legs, **settings)).value


def kinds(result):
    return [(one.kind, one.stations) for one in result.closures]


SQUARE = [("1", "2", 90, 100), ("2", "3", 180, 100), ("3", "4", 270, 100), ("4", "1", 0, 100)]
LOOP, TIE = LoopKind.LOOP, LoopKind.TIE


def test_a_loop_runs_from_the_station_closed_on():
    assert kinds(survey(*SQUARE)) == [(LOOP, ("1", "2", "3", "4"))]


def test_a_loop_takes_the_path_of_fewest_legs():
    result = survey(*SQUARE, ("1", "5", 200, 50), ("5", "4", 300, 60))
    assert kinds(result)[1] == (LOOP, ("4", "1", "5"))


def test_a_leg_walked_twice_is_a_loop():
    result = survey(("4", "5", 30, 80), ("5", "4", 211, 81))
    assert kinds(result) == [(LOOP, ("4", "5"))]
    assert result.closures[0].length_m == 161


def test_only_legs_above_make_the_path():
    """The short cut from 1 to 3 is logged after the loop is closed, and makes a loop of its own."""
    result = survey(*SQUARE, ("1", "3", 135, 141))
    assert kinds(result) == [(LOOP, ("1", "2", "3", "4")), (LOOP, ("3", "2", "1"))]


@pytest.mark.parametrize("kind", ["to", "close"])
def test_a_control_first_reached_by_a_leg_makes_a_tie(kind):
    controls = [control("1", 0, 0), control("9", 201, 0)]
    result = survey(("1", "2", 90, 100), ("2", "9", 90, 100, {"kind": kind}), controls=controls)
    assert kinds(result) == [(TIE, ("1", "2", "9"))]
    assert result.closures[0].misclosure.east_m == pytest.approx(-1.0)
    assert result.places["9"].raw.east_m == pytest.approx(200.0)
    assert result.places["9"].east_m == 201.0


def test_a_tie_goes_to_the_nearest_control_above():
    controls = [control("1", 0, 0), control("3", 200, 0), control("5", 400, 0)]
    legs = [(str(i), str(i + 1), 90, 100) for i in range(1, 5)]
    assert kinds(survey(*legs, controls=controls)) == [(TIE, ("1", "2", "3")), (TIE, ("3", "4", "5"))]


def test_a_control_is_no_tie_while_no_other_stands_above():
    result = survey(("5", "6", 90, 100), ("6", "1", 90, 100), controls=[control("1", 0, 0)])
    assert kinds(result) == []
    assert result.places["5"].east_m == pytest.approx(-200.0)


def test_a_leg_between_pieces_with_a_control_each_is_a_tie():
    controls = [control("1", 0, 0), control("9", 302, 0)]
    legs = [("1", "2", 90, 100), ("9", "8", 270, 100), ("8", "2", 270, 100)]
    result = survey(*legs, controls=controls)
    assert kinds(result) == [(TIE, ("9", "8", "2", "1"))]
    assert result.closures[0].misclosure.east_m == pytest.approx(2.0)
    assert result.places["8"].raw.east_m == pytest.approx(202.0)  # from its own control


def test_a_leg_to_a_piece_without_control_only_places_it():
    legs = [("5", "6", 90, 100), ("1", "2", 90, 100), ("2", "6", 90, 100)]
    result = survey(*legs, controls=[control("1", 0, 0)])
    assert kinds(result) == []
    assert result.places["5"].east_m == pytest.approx(100.0)


def test_two_names_of_one_place_close_a_loop_and_are_adjusted_to_one():
    legs = [("1", "2", 90, 100), ("2", "3", 180, 100), ("1", "7", 180, 100), ("7", "8", 90, 101)]
    result = survey(*legs, ties=[tie("8", "3", line=500)])
    assert kinds(result) == [(TIE, ("3", "2", "1", "7", "8"))]
    assert result.closures[0].misclosure.east_m == pytest.approx(1.0)
    assert result.places["3"].east_m == pytest.approx(result.places["8"].east_m)
    assert result.places["3"].east_m == pytest.approx(101 - 201 / 401)


def test_a_tie_counts_from_where_both_places_are_reached():
    """Ties stand anywhere; in the heading they wait for their stations."""
    legs = [("1", "2", 90, 100), ("2", "3", 180, 100), ("1", "7", 180, 100), ("7", "8", 90, 101)]
    early = survey(*legs, ties=[tie("8", "3", line=5)])
    late = survey(*legs, ties=[tie("8", "3", line=500)])
    assert kinds(early) == kinds(late)


def test_a_tie_by_name_joins_two_pieces():
    result = survey(
        ("1", "2", 90, 100), ("5", "6", 0, 100), ties=[tie("2", "5", line=500)], controls=[control("1", 0, 0)]
    )
    assert kinds(result) == []
    assert (result.places["6"].east_m, result.places["6"].north_m) == pytest.approx((100.0, 100.0))


def test_pieces_that_nothing_joins_are_named_and_not_placed():
    outcome = survey_log(
        walk(("1", "2", 90, 100), ("5", "6", 0, 100), ("6", "7", 0, 10), controls=[control("1", 0, 0)])
    )
    [diagnostic] = outcome.diagnostics
    assert diagnostic.code == "pieces"
    assert "1, 2; 5, 6, 7" in diagnostic.message
    assert diagnostic.span.line == 110
    assert list(outcome.value.places) == ["1", "2"]


def test_without_control_the_first_station_is_the_origin():
    place = survey(("7", "8", 90, 100)).places["7"]
    assert (place.east_m, place.north_m, place.up_m) == (0.0, 0.0, 0.0)


def test_a_control_without_height_lends_none():
    result = survey(("1", "2", 90, 100, {"slope": 10}), controls=[control("1", 500, 500)])
    assert result.places["2"].up_m is None
    assert result.places["2"].relative_up_m == pytest.approx(17.3648, abs=1e-4)
    assert result.legs[0].adjusted.up_m == pytest.approx(17.3648, abs=1e-4)


def test_a_control_farther_on_lends_its_height_to_the_whole_piece():
    controls = [control("1", 500, 500), control("2", 598, 500, 100.0)]
    result = survey(("1", "2", 90, 100, {"slope": 10}), controls=controls)
    assert result.closures[0].q_up is None
    assert result.closures[0].misclosure.up_m is None
    assert result.places["1"].up_m == pytest.approx(100.0 - 17.3648, abs=1e-4)


def test_an_empty_log_and_a_single_station():
    assert survey().places == {}
    single = survey(controls=[control("1", 5, 5)])
    assert single.places == {}
    assert single.closures == ()


def test_a_long_log_is_not_walked_again_for_each_loop():
    """A thousand small loops along a chain: each path is found among its own neighbours."""
    legs = []
    for i in range(1000):
        legs.append((f"a{i}", f"a{i + 1}", 90, 10))
        if i:
            legs.append((f"a{i + 1}", f"a{i - 1}", 270, 20))
    result = survey(*legs)
    assert len(result.closures) == 999
    assert all(len(one.stations) == 3 for one in result.closures)


def test_a_tie_to_another_partys_station_waits():
    outcome = survey_log(walk(("1", "2", 90, 100), ties=[tie("2", "B-7", line=500)]))
    [note] = outcome.diagnostics
    assert (note.code, note.span.line) == ("tie-elsewhere", 500)
    assert list(outcome.value.places) == ["1", "2"]


@pytest.mark.parametrize("seed", range(20))
def test_a_path_is_the_first_logged_of_the_shortest_from_whichever_end_it_is_searched(seed):
    """Against a search from one end over all stations, written here: same length, and the same among equals."""
    rng = np.random.default_rng(seed)
    count = 40
    ways = [(int(rng.integers(max(0, i - 6), i)), i) for i in range(1, count)]
    while len(ways) < 80:
        a, b = rng.integers(0, count, 2).tolist()
        if a != b:
            ways.append((a, b))
    network = build_network(walk(*((str(a), str(b), 0, 10) for a, b in ways)), {})
    circuits = iter(network.circuits)
    near = {i: [] for i in range(count)}
    for edge, (a, b) in enumerate(ways):
        if edge >= count - 1:
            start, end = network.index[str(b)], network.index[str(a)]
            came = {start: start}
            queue = [start]
            for station in queue:
                for other in near[station]:
                    if other not in came:
                        came[other] = station
                        queue.append(other)
            path = [end]
            while path[-1] != start:
                path.append(came[path[-1]])
            assert next(circuits).stations == tuple(reversed(path))
        i, j = network.index[str(a)], network.index[str(b)]
        near[i].append(j)
        near[j].append(i)


def test_ties_of_a_party_that_holds_no_other_come_last():
    """Whichever of the two names has its letter; among the rest those of the first stations first, by line within a party."""
    pairs = [("H-1", "A-1"), ("B-3", "A-3"), ("A-2", "H-2"), ("A-1", "B-1"), ("A-1", "A-5")]
    names = ["A-1", "B-1", "A-2", "A-3", "B-3", "H-1", "H-2", "A-5"]
    made = SimpleNamespace(
        ties=[SimpleNamespace(first=one, second=other) for one, other in pairs],
        index={name: at for at, name in enumerate(names)},
        log=SimpleNamespace(
            of_two_parties=lambda one, other: one[0] != other[0], hangs=lambda name: name.startswith("H")
        ),
    )
    order = sorted(range(len(pairs)), key=lambda tie: _NetworkBuilder._of_first_reached(made, tie))
    assert [pairs[at] for at in order] == [
        ("A-1", "A-5"),
        ("A-1", "B-1"),
        ("B-3", "A-3"),
        ("H-1", "A-1"),
        ("A-2", "H-2"),
    ]
