"""What explains a walk that does not close, and how its pace is known: small figures beside the program's own."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest

from tests.walk import pace, tie, walk
from traverse.adjustment import hanging, verdict
from traverse.adjustment.calibration import _share
from traverse.adjustment.misread import told, turned
from traverse.adjustment.misread.explained import Explanation
from traverse.adjustment.misread.left_out import with_leg_left_out
from traverse.adjustment.misread.slips import OTHER_DISTANCE, Slip, slips_of
from traverse.adjustment.misread.trials import Trials, likeliest
from traverse.adjustment.network import _NetworkBuilder
from traverse.adjustment.records import Step
from traverse.adjustment.weighed_ties import _explanations, _Weighed
from traverse.length import METRES

# --- the pace -----------------------------------------------------------------------------------------------------


def scatter(counts):
    """Standard error of the mean length of 100 m over so many paces, over that mean."""
    lengths = [100.0 / count for count in counts]
    return np.std(lengths, ddof=1) / math.sqrt(len(lengths)) / (100.0 * len(counts) / sum(counts))


@pytest.mark.parametrize("counts", [(130, 132, 134), (131, 132, 132, 133), (120, 125, 131), (100, 104)])
@pytest.mark.parametrize("stated", [0.01, 0.02, 0.03])
def test_walks_over_a_course_are_pooled_with_what_is_stated_unless_they_belie_it(counts, stated):
    """Of n walks n - 1 degrees of freedom, of what is stated 8; belied beyond 6.63, 9.21 or 11.34 (chi-square, 0.99)."""
    own, count = scatter(counts), len(counts)
    limit = {2: 6.635, 3: 9.210, 4: 11.345}[count]
    squares = (count - 1) * own**2 * count
    expected = (
        own
        if squares > limit * stated**2
        else math.sqrt((8.0 * stated**2 + squares) / (8.0 + count - 1.0) / count)
    )
    assert _share(pace(course=100.0, counts=counts), stated) == pytest.approx(expected, rel=1e-3)


def test_both_of_those_happen_above():
    belied = [
        (len(counts) - 1) * scatter(counts) ** 2 * len(counts)
        > {2: 6.635, 3: 9.210, 4: 11.345}[len(counts)] * stated**2
        for counts in ((130, 132, 134), (131, 132, 132, 133), (120, 125, 131), (100, 104))
        for stated in (0.01, 0.02, 0.03)
    ]
    assert {True, False} == set(belied)


# --- paths --------------------------------------------------------------------------------------------------------


def test_a_tie_by_name_costs_nothing_on_the_way_to_a_known_point():
    """From 1 to 9 by three legs, or by two with a tie between them: that is the shorter way."""
    log = walk(
        ("1", "2", 0, 10), ("2", "3", 0, 10), ("3", "9", 0, 10), ("1", "A", 90, 10), ("B", "9", 90, 10),
        ties=[tie("A", "B", line=500)],
    )  # fmt: skip
    builder = _NetworkBuilder(log, {})
    for edge in range(len(builder.edges)):
        one, other = builder.start[edge], builder.end[edge]
        builder.adjacent[one].append((other, edge))
        builder.adjacent[other].append((one, edge))

    def path(**more):
        stations, steps = builder._path(builder.index["1"], {builder.index["9"]}, **more)
        return [builder.names[at] for at in stations], [step.edge for step in steps]

    assert path() == (["1", "A", "B", "9"], [3, 5, 4])
    assert path(without={5}) == (["1", "2", "3", "9"], [0, 1, 2])


# --- a compass set anew -------------------------------------------------------------------------------------------


PLAN = np.diag((1.0, 1.0, 0.0))


def walks(*circuits, observed):
    loops = SimpleNamespace(
        steps=[[Step(edge=edge, forward=sign > 0) for edge, sign in one] for one in circuits],
        misclosure_m=np.zeros((len(circuits), 3)),
    )
    vectors = SimpleNamespace(
        observed_m=np.array([(*way, 0.0) for way in observed]),
        covariance_m2=np.array([(index + 1.0) * np.diag((1.0, 4.0, 0.0)) for index in range(len(observed))]),
    )
    network, drawn = SimpleNamespace(leg_count=len(observed)), SimpleNamespace(vectors=vectors)
    return [turned._Walk(loops, at, network, drawn) for at in range(len(circuits))], vectors


@pytest.mark.parametrize("turn", [20.0, -50.0])
def test_all_legs_walked_later_turn_with_the_compass(turn):
    """Leg by leg, with the sign of each circuit over it, whatever order it runs over them."""
    ways = [(100.0, 10.0), (20.0, -60.0), (-80.0, 5.0), (-30.0, 55.0)]
    circuits = [[(2, 1.0), (0, -1.0), (3, 1.0)], [(1, 1.0), (2, -1.0)]]
    (one, other), vectors = walks(*circuits, observed=ways)
    angle = math.radians(turn)
    rotation = np.array(
        [(math.cos(angle), math.sin(angle), 0.0), (-math.sin(angle), math.cos(angle), 0.0), (0.0, 0.0, 1.0)]
    )
    for edge in range(4):
        for found, circuit in ((one, circuits[0]), (other, circuits[1])):
            shift, growth = found.change(edge, turn)
            later = [(at, sign) for at, sign in circuit if at >= edge]
            moved = sum(
                (sign * (rotation - np.eye(3)) @ vectors.observed_m[at] for at, sign in later), np.zeros(3)
            )
            grown = sum(
                (
                    rotation @ vectors.covariance_m2[at] @ rotation.T - vectors.covariance_m2[at]
                    for at, _ in later
                ),
                np.zeros((3, 3)),
            )
            assert shift == pytest.approx(moved)
            assert growth == pytest.approx(grown)
        # Both run over leg 2, against each other.
        shared = vectors.covariance_m2[2]
        expected = -(rotation @ shared @ rotation.T - shared) if edge <= 2 else np.zeros((3, 3))
        assert one.change_with(other, edge, turn) == pytest.approx(expected)


def test_of_other_circuits_those_that_were_walked_later_turn_as_well(monkeypatch):
    """The third was done before; a fourth has no legs at all, but a tie."""
    circuits = [[(2, 1.0), (3, 1.0), (4, 1.0)], [(3, 1.0), (5, 1.0)], [(0, 1.0), (1, 1.0)], [(9, 1.0)]]
    ways = [(10.0, 0.0)] * 6
    loops = SimpleNamespace(
        steps=[[Step(edge=edge, forward=True) for edge, _ in one] for one in circuits], misclosure_m=np.zeros((4, 3)), together=None,
        changed=lambda circuit, shift, more: SimpleNamespace(mends=np.ones(len(circuit), dtype=bool)),
    )  # fmt: skip
    vectors = SimpleNamespace(
        observed_m=np.array([(*way, 0.0) for way in ways]), covariance_m2=np.array([PLAN] * 6)
    )
    legs = walk(*((str(at), str(at + 1), 90, 10) for at in range(6))).legs
    monkeypatch.setattr(turned, "_angles", lambda *_: [(15.0, "", 0.0)])
    trials = Trials()
    turned.try_turns(
        trials,
        SimpleNamespace(booked=legs),
        SimpleNamespace(leg_count=6),
        loops,
        SimpleNamespace(vectors=vectors),
        [0],
    )
    # Of the failing circuit the legs between its first and its last.
    assert [slip.edge for slip in trials.slips] == [3]
    assert trials.circuit == [0, 1]


# --- a leg left out -----------------------------------------------------------------------------------------------


def lost(gap, *, sign=1.0, others=(), lengths=(40.0, 100.0)):
    """What is said where leg 1 stands for two, of a walk with these lengths, by the gaps of the circuits over it."""
    steps = [Step(edge=1, forward=sign > 0.0)]
    closings = [
        SimpleNamespace(
            circuit=SimpleNamespace(steps=steps), misclosure_m=np.array((*one, 0.0)), covariance_m2=np.eye(3)
        )
        for one in (gap, *others)
    ]
    log = SimpleNamespace(skipped=SimpleNamespace(leg=SimpleNamespace(index=1)), legs=[None] * len(lengths))
    drawn = SimpleNamespace(
        vectors=SimpleNamespace(observed_m=np.array([(one, 0.0, 0.0) for one in lengths]))
    )
    explained = dict.fromkeys(range(len(closings)), EXPLAINED)
    found = with_leg_left_out(log, closings, explained, drawn)
    return found[0].left_out


EXPLAINED = Explanation(ranked=(), decides=None, together=None, contradicted=frozenset())


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_leg_that_was_left_out_is_as_long_as_the_gap_and_leads_back_over_it(sign):
    """The walk ends 30 m east and 40 m north of where it should: what is missing leads south-west, the way it was walked."""
    found = lost((30.0, 40.0), sign=sign)
    assert found.length_m == pytest.approx(50.0)
    back = math.degrees(math.atan2(-30.0 * sign, -40.0 * sign)) % 360.0
    assert found.toward_deg == pytest.approx(back)


@pytest.mark.parametrize(
    ("gap", "others", "told"),
    [
        ((0.0, 9.0), (), False),
        ((0.0, 11.0), (), True),
        ((0.0, 199.0), (), True),
        ((0.0, 201.0), (), False),
        ((60.0, 0.0), ((62.0, 1.0),), True),
        ((60.0, 0.0), ((70.0, 1.0),), False),
    ],
)
def test_a_gap_is_a_leg_left_out_that_is_about_as_long_as_the_others_and_the_same_in_all_circuits(
    gap, others, told
):
    """Between a quarter of the shortest of 40 m and twice the longest of 100 m."""
    assert (lost(gap, others=others) is not None) is told


# --- which are named ----------------------------------------------------------------------------------------------


def _explained(change, rank):
    return SimpleNamespace(slip=change, rank=rank)


def named(*several):
    return [
        (each.slip.edge, each.slip.reading) for each in likeliest([_explained(*each) for each in several])
    ]


def slip(edge, reading, **more):
    return Slip(edge=edge, slip=more.pop("slip", "digits exchanged"), reading=reading, **more)


def test_of_two_bearings_of_one_leg_within_three_degrees_the_likelier_is_named():
    first = (slip(1, "a", turn_deg=20.0), 1.0)
    assert named(first, (slip(1, "b", turn_deg=22.9), 2.0)) == [(1, "a")]
    assert named(first, (slip(1, "b", turn_deg=23.1), 2.0)) == [(1, "a"), (1, "b")]
    assert named(first, (slip(2, "b", turn_deg=20.0), 0.5)) == [(2, "b"), (1, "a")]


@pytest.mark.parametrize(("stretch", "kept"), [(2.059, False), (2.07, True), (1.945, False), (1.93, True)])
def test_a_distance_that_only_the_closure_names_is_not_told_where_a_usual_slip_comes_to_it(stretch, kept):
    """Within three hundredths of it: of 2 by 2.0594 at the most and by 1.9417 at the least."""
    usual, vague = (
        (slip(1, "a", stretch=2.0), 1.0),
        (slip(1, "about b", stretch=stretch, slip=OTHER_DISTANCE), 2.0),
    )
    assert (len(named(usual, vague)) == 2) is kept


def test_what_is_a_hundred_times_less_likely_than_the_first_is_left_out():
    """Twice the logarithm of a hundred: 9.21."""
    first = (slip(1, "a", stretch=2.0), 1.0)
    assert len(named(first, (slip(2, "b", stretch=3.0), 10.2))) == 2
    assert len(named(first, (slip(2, "b", stretch=3.0), 10.3))) == 1
    assert named(first, first) == [(1, "a")]


# --- which way ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("to_true_deg", [0.0, 3.0, -12.0])
def test_a_gap_leads_toward_true_north_s_azimuth(to_true_deg):
    """30 m east and 40 m north in the grid are 36.87 degrees there."""
    circuit = SimpleNamespace(
        closed=True, is_tie=False, of_parties=False, stations=(0, 1, 0), span=None, last_control=None, maker=0
    )
    closing = SimpleNamespace(
        circuit=circuit, misclosure_m=np.array((30.0, 40.0, math.nan)), covariance_m2=np.diag((9.0, 16.0, 1.0)), length_m=400.0, ratio=8.0,
        q=99.0, limits=SimpleNamespace(refuse=9.21), used=False, tests=1,
    )  # fmt: skip
    network = SimpleNamespace(names=("1", "2"), leg_count=2, fixes={})
    said = verdict._plan(network, closing, METRES, to_true_deg=to_true_deg, wanted=True)
    assert f"misses by 50 m toward {round(36.87 + to_true_deg):03d} in 400 m (1 in 8)" in said.message
    assert "expect about 5 m" in said.message or "expect about 5.0 m" in said.message


@pytest.mark.parametrize(("fails", "used_up", "wanted", "said"), [
    (True, False, True, "heights not adjusted"), (False, False, True, "heights not adjusted"), (False, True, False, "heights not adjusted"),
    (True, True, True, "heights adjusted"), (False, True, True, "heights adjusted"),
])  # fmt: skip
def test_what_becomes_of_heights_is_said(fails, used_up, wanted, said):
    """All the same where the log asks for it: then what fails is used."""
    circuit = SimpleNamespace(
        closed=True, is_tie=False, stations=(0, 1), span=SimpleNamespace(file="day.trav"), steps=()
    )
    closing = SimpleNamespace(
        circuit=circuit, misclosure_m=np.array((0.0, 0.0, -12.0)), covariance_m2=np.diag((1.0, 1.0, 9.0)),
        q_up=16.0 if fails else 5.0, used_up=used_up, limits=SimpleNamespace(refuse_up=6.63),
    )  # fmt: skip
    log = SimpleNamespace(lengths=METRES, legs=())
    one = verdict._height(log, SimpleNamespace(names=("1", "2"), fixes={}), closing, wanted=wanted)
    assert one.message.endswith(said)
    assert "comes back 12 m too low; its slopes lead one to expect about 3" in one.message
    assert one.code == ("heights-fail" if fails and not used_up else "heights-poor")


@pytest.mark.parametrize("after", [10.0, 100.0, 190.0, 280.0, 350.0])
@pytest.mark.parametrize("turn", [-170.0, -95.0, -3.0, 40.0, 120.0, 179.0])
def test_the_turn_that_closes_brings_what_follows_back_over_what_came_before(after, turn):
    """60 m by an azimuth follow, and back to the beginning would lead another that lies so far to the right."""

    def way(deg):
        return np.array([60.0 * math.sin(math.radians(deg)), 60.0 * math.cos(math.radians(deg)), 0.0])

    (one,), _ = walks([(0, 1.0), (1, 1.0)], observed=[tuple(-way(after + turn)[:2]), tuple(way(after)[:2])])
    one.misclosure = way(after) - way(after + turn)
    assert one.closing_turn_deg(1) == pytest.approx(turn)
    # Turned so, nothing is left.
    shift, _ = one.change(1, turn)
    assert one.misclosure + shift == pytest.approx(np.zeros(3), abs=1e-9)


@pytest.mark.parametrize(
    ("read", "azimuth", "meant"),
    [("N37E", 37.0, "N53E"), ("S20W", 200.0, "S70W"), ("N82W", 278.0, "N8W"), ("S5E", 175.0, "S85E")],
)
def test_a_quadrant_angle_counted_from_the_other_end_has_the_same_letters(read, azimuth, meant):
    (leg,) = walk(("1", "2", read, "100m")).legs
    assert leg.bearing.azimuth_deg == azimuth
    (found,) = [
        each for each in slips_of(0, leg, 0.0) if each.slip == "quadrant angle read from the other end"
    ]
    assert found.reading == meant


def test_many_stations_of_a_piece_are_told_by_its_first_and_its_last():
    """Eight in full; of more six and the last."""
    assert verdict._listed([str(at) for at in range(8)]) == "0, 1, 2, 3, 4, 5, 6, 7"
    assert verdict._listed([str(at) for at in range(12)]) == "0, 1, 2, 3, 4, 5, … 11 (12 stations)"


@pytest.mark.parametrize(
    ("closed", "what"),
    [((True, True), "2 loops"), ((False, False), "2 ties"), ((True, False), "2 loops and ties")],
)
def test_circuits_that_contradict_each_other_are_told_by_what_they_are_and_by_the_worst(
    monkeypatch, closed, what
):
    """By its chi-square, of which 9 m of a gap are the worse of the two."""
    monkeypatch.setattr(told, "with_suspects", lambda said, *_: said)
    closings = [
        SimpleNamespace(
            circuit=SimpleNamespace(closed=one, is_tie=not one, stations=(0, 1), span=at), q=q, misclosure_m=np.array((0.0, gap, 0.0)),
        )
        for at, (one, q, gap) in enumerate(zip(closed, (2.0, 5.0), (4.0, 9.0), strict=True))
    ]  # fmt: skip
    explained = {
        at: Explanation(
            ranked=(_explained(slip(at, "a", stretch=2.0), rank),),
            decides=None,
            together=None,
            contradicted=frozenset(),
        )
        for at, rank in ((0, 1.0), (1, 3.0))
    }
    network = SimpleNamespace(names=("1", "2"))
    said = told.against_each_other(SimpleNamespace(lengths=METRES), network, tuple(closings), explained)
    assert f"each of the {what} closes near enough by itself" in said.message
    assert "the worst with 9" in said.message
    # At the line of the one that is explained best.
    assert said.span == 0


# --- ties against each other --------------------------------------------------------------------------------------


def least_left(gap, *columns):
    """The least square sum that is left of gaps of variance one, with some things taken out."""
    if not columns:
        return float(gap @ gap)
    design = np.concatenate(columns, axis=1)
    left = gap - design @ np.linalg.lstsq(design, gap, rcond=None)[0]
    return float(left @ left)


@pytest.mark.parametrize("seed", range(4))
def test_what_each_thing_explains_besides_others_is_by_how_much_less_is_left(seed):
    """By numpy's own least squares; and how far apart what two of them tie comes out, with its covariance."""
    rng = np.random.default_rng(seed)
    gap, columns = 3.0 * rng.normal(size=10), rng.normal(size=(5, 10, 2))
    weighed = _Weighed(gap, columns)
    base = weighed._of_no_force([1, 3])
    before = least_left(gap, columns[1], columns[3])
    falls = [before - least_left(gap, columns[1], columns[3], one) for one in columns]
    assert weighed._falls(base) == pytest.approx(falls, abs=2e-3)
    alone = least_left(gap) - np.array([least_left(gap, one) for one in columns])
    expected = [at for at in range(5) if at != 2 and alone[at] >= alone[2] - 9.21]
    assert weighed.others([2], 2) == expected
    design = np.concatenate((columns[0], columns[4], columns[2]), axis=1)
    solved = np.linalg.lstsq(design, gap, rcond=None)[0]
    spread = np.linalg.inv(design.T @ design)
    for at, (found, covariance) in enumerate(weighed.gaps([0, 4], [2])):
        part = slice(2 * at, 2 * at + 2)
        assert found == pytest.approx(solved[part])
        assert covariance == pytest.approx(spread[part, part])


@pytest.mark.parametrize(("gap_m", "taken"), [(0.5, []), (60.0, [1])])
def test_what_all_the_rest_speaks_against_is_taken_out_until_the_rest_agrees(gap_m, taken):
    """Three things, each with its own two gaps and the first with one of both others; the second is off."""
    columns = np.zeros((3, 8, 2))
    columns[0, 0:2], columns[0, 6:8] = np.eye(2), np.eye(2)
    columns[1, 2:4], columns[1, 6:8] = np.eye(2), -np.eye(2)
    columns[2, 4:6] = np.eye(2)
    gap = np.full(8, 0.3)
    gap[2:4] += gap_m
    gap[6:8] -= gap_m
    assert _Weighed(gap, columns).taken() == taken


def explained_by(*slips):
    return Explanation(
        ranked=tuple(_explained(one, 1.0) for one in slips),
        decides=None,
        together=None,
        contradicted=frozenset(),
    )


def test_beside_what_a_party_s_own_loops_name_nothing_of_others_is_told(monkeypatch):
    """The first circuit is the party's own; of the others those are told that it explains, and no more."""
    monkeypatch.setattr(hanging, "_hung_files", lambda _: {"ar.trav"})
    monkeypatch.setattr(hanging, "_walked_by", lambda log, network, circuit: circuit)
    own, others = slip(1, "a", stretch=2.0), slip(2, "b", stretch=3.0)
    every = {
        0: explained_by(own),
        1: explained_by(own),
        2: explained_by(own, others),
        3: explained_by(others),
    }
    closings = [SimpleNamespace(circuit={"ar.trav"}), *[SimpleNamespace(circuit={"ar.trav", "kb.trav"})] * 3]
    log = SimpleNamespace(
        legs=[SimpleNamespace(span=SimpleNamespace(file=name)) for name in ("kb.trav", "ar.trav", "kb.trav")]
    )
    found = hanging.own_loops_first(log, None, closings, every, {0: every[0]})
    assert sorted(found) == [0, 1]


def test_known_points_are_doubted_but_those_that_two_fixes_vouch_for():
    """Three points and two ties from the first: its place enters both, that of the others one, the other way."""
    closings = [
        SimpleNamespace(
            circuit=SimpleNamespace(
                closed=False, steps=(Step(edge=at, forward=True),), stations=(0, 3, at + 1)
            )
        )
        for at in range(2)
    ]
    fixes = {0: SimpleNamespace(sure=False), 1: SimpleNamespace(sure=True), 2: SimpleNamespace(sure=False)}
    vectors = SimpleNamespace(observed_m=np.zeros((2, 3)))
    whats, columns = _explanations(closings, SimpleNamespace(fixes=fixes), vectors, {}, {})
    assert [(kind.name, station) for kind, station in whats] == [("POINT", 0), ("POINT", 2)]
    one, other = np.eye(2), np.zeros((2, 2))
    assert columns[0] == pytest.approx(np.vstack((one, one)))
    assert columns[1] == pytest.approx(np.vstack((other, -one)))
