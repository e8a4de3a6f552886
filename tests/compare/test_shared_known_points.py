"""Known points that all parties of a camp share: none is left out for what one party read."""

import functools
import math
import random
from itertools import product

import pytest

from tests.compare.round_walks import Ground, joined
from tests.compare.test_legs_and_turns import line_of_leg, plain_leg
from tests.thorough import some
from traverse.location.records import PlaceKind
from traverse.sheet.said.sentences import not_adjusted

SEEDS = range(6)
LETTERS = "ABCD"
EAST, NORTH = 431200, 5205400


def known(ground, text, stops, scatter, wrong=None):
    """The log with the fixes of a party's own receiver; that of the stop `wrong` is 100 m off."""
    rows = "\n".join(
        f"control {stop + 1} {EAST + round(east + scatter()) + 100 * (stop == wrong)} E "
        f"{NORTH + round(north + scatter())} N {round(ground.height((east, north)))} m ±3 gps"
        for stop, (east, north) in ((stop, ground.places[stop]) for stop in stops)
    )
    text = text.replace("unit Fg", f"{rows}\n\nunit Fg", 1).replace("declination 6 E, 2026, map margin\n", "")
    return text.replace(
        "bearings magnetic", "grid EPSG:25833\nbearings true\ndeclination 6 E, 2026, map margin"
    )


def logs_of(seed, wrong, *, turned=False, points=2, own=False, misplaced=None):
    """Parties that walk round between the same known points; `wrong` has a leg a hundred too long, or its declination twice.

    Or it has but the known point at the stop `misplaced` wrong. With their `own` receivers they have fixes of their own.
    """
    ground = Ground(seed)
    stops = [0, 5, 8][:points]
    slip = {plain_leg(ground): lambda length: f"{length + 100:.1f}"}
    logs = {}
    for one in LETTERS:
        text = ground.walk(
            (seed, one),
            bearings=0.0 if one != wrong or not turned else 6.0,
            lengths=slip if one == wrong and not turned and misplaced is None else None,
        )
        chance = random.Random(f"{seed}{one}")  # noqa: S311 - a simulated receiver
        scatter = functools.partial(chance.gauss, 0, 2 if own else 0)
        text = known(ground, text, stops, scatter, wrong=misplaced if one == wrong else None)
        logs[one] = text.replace("bearings true\ndeclination", "bearings magnetic\ndeclination")
    return ground, logs


def sound_places(found, wrong):
    return {
        name: (one.east_m, one.north_m)
        for name, one in found.survey.places.items()
        if not name.startswith(f"{wrong}-")
    }


def farthest(one, other):
    return max(math.dist(one[name], other[name]) for name in one)


def line_of(text, start):
    return next(at for at, row in enumerate(text.splitlines(), 1) if row.startswith(start))


@pytest.mark.every(2)
@pytest.mark.parametrize(
    ("seed", "wrong", "points"), some(product(SEEDS, LETTERS, (2, 3)), [(1, "B", 2), (3, "D", 3)])
)
def test_a_slip_in_one_leg_moves_no_point_and_no_sound_party(seed, wrong, points):
    ground, logs = logs_of(seed, wrong, points=points)
    found = joined(logs, (), order=LETTERS)
    without = joined({one: text for one, text in logs.items() if one != wrong}, ())
    assert not [name for name, one in found.survey.places.items() if one.kind is PlaceKind.UNUSED]
    assert [one.letters for one in found.log.parties if one.hung] == [wrong]
    assert farthest(sound_places(without, wrong), sound_places(found, wrong)) < 0.001
    named = {(one.span.file, one.span.line) for one in found.survey.suspects}
    assert (f"{wrong}.trav", line_of_leg(logs[wrong], plain_leg(ground))) in named
    assert {file for file, _ in named} == {f"{wrong}.trav"}


@pytest.mark.every(2)
@pytest.mark.parametrize("seed", some(SEEDS, 3))
def test_neither_letters_nor_the_order_of_logs_decide(seed):
    found = []
    for order, wrong in (("ABCD", "A"), ("DCBA", "A")):
        _, logs = logs_of(seed, wrong)
        found.append(joined(logs, (), order=order))
    one, other = ({name: (at.east_m, at.north_m) for name, at in each_of.survey.places.items()} for each_of in found)  # fmt: skip
    assert farthest(one, other) < 0.01


@pytest.mark.every(2)
@pytest.mark.parametrize(("seed", "wrong"), some(product(SEEDS, LETTERS), [(0, "A"), (4, "B"), (5, "D")]))
def test_a_declination_taken_twice_is_asked_at_its_line_and_no_point_beside_it(seed, wrong):
    _, logs = logs_of(seed, wrong, turned=True)
    found = joined(logs, (), order=LETTERS)
    line = line_of(logs[wrong], "declination")
    told = [one for one in found.diagnostics if one.code == "party-differs"]
    assert [(one.span.file, one.span.line) for one in told] == [(f"{wrong}.trav", line)]
    assert not any("is not used" in one.message for one in found.diagnostics)
    assert {(one.span.file, one.span.line) for one in found.survey.suspects} <= {(f"{wrong}.trav", line)}
    assert not [name for name, one in found.survey.places.items() if one.kind is PlaceKind.UNUSED]


@pytest.mark.every(2)
@pytest.mark.parametrize("seed", some(SEEDS, 3))
def test_metres_taken_for_feet_are_told_once(seed):
    _, logs = logs_of(seed, "")
    logs["C"] = logs["C"].replace("distances metres", "distances feet")
    found = joined(logs, ())
    line = line_of(logs["C"], "distances")
    told = {
        (one.span.file, one.span.line)
        for one in found.diagnostics
        if one.code in {"party-differs", "closure-fails"}
    }
    assert told == {("C.trav", line)}
    assert {(one.span.file, one.span.line) for one in found.survey.suspects} <= told


@pytest.mark.every(2)
@pytest.mark.parametrize(
    ("seed", "wrong", "at"), some(product(SEEDS, LETTERS, (0, 5, 8)), [(1, "C", 8), (3, "D", 0), (5, "B", 5)])
)
def test_a_point_that_one_party_fixed_wrong_is_left_out_alone(seed, wrong, at):
    _, logs = logs_of(seed, wrong, points=3, own=True, misplaced=at)
    found = joined(logs, (), order=LETTERS)
    unused = [name for name, place in found.survey.places.items() if place.kind is PlaceKind.UNUSED]
    assert unused in ([], [f"{wrong}-{at + 1}"])
    named = {(one.span.file, one.span.line) for one in found.survey.suspects}
    assert named <= {(f"{wrong}.trav", line_of(logs[wrong], f"control {at + 1} "))}


@pytest.mark.every(2)
@pytest.mark.parametrize(
    ("seed", "wrong", "points"), some(product(SEEDS, LETTERS, (2, 3)), [(0, "A", 3), (2, "C", 2)])
)
def test_a_leg_that_is_wrong_leaves_out_no_point_that_others_fixed_too(seed, wrong, points):
    ground, logs = logs_of(seed, wrong, points=points, own=True)
    found = joined(logs, (), order=LETTERS)
    assert not [name for name, one in found.survey.places.items() if one.kind is PlaceKind.UNUSED]
    named = {(one.span.file, one.span.line) for one in found.survey.suspects}
    assert (f"{wrong}.trav", line_of_leg(logs[wrong], plain_leg(ground))) in named
    assert {file for file, _ in named} == {f"{wrong}.trav"}


@pytest.mark.every(2)
@pytest.mark.parametrize("seed", some(SEEDS, 3))
def test_a_party_that_takes_no_part_is_asked_about_a_known_point_of_its_own_as_well(seed):
    """Its declination is applied twice, and one of its points has other figures than the three others have."""
    _, logs = logs_of(seed, "C", turned=True, points=3)
    right = next(row for row in logs["C"].splitlines() if row.startswith("control 6 "))
    east = right.split()[2]
    logs["C"] = logs["C"].replace(right, right.replace(east, str(int(east) + 100)))
    found = joined(logs, (), order=LETTERS)
    assert [one.letters for one in found.log.parties if one.aside] == ["C"]
    # The declination of this ground is invented.
    asked = [one for one in found.diagnostics if one.kind == "warning" and one.code != "declination-model"]
    told = {(one.code, one.span.file, one.span.line) for one in asked}
    assert ("control-differs", "C.trav", line_of(logs["C"], "control 6 ")) in told
    assert {file for _, file, _ in told} == {"C.trav"}


def test_heights_of_one_party_are_stamped_as_its_own():
    _, logs = logs_of(2, "", points=1)
    row = next(row for row in logs["B"].splitlines() if row.startswith("to 8 "))
    logs["B"] = logs["B"].replace(row, row.replace(" -", " +"))
    found = joined(logs, [("A-3", f"{one}-3") for one in "BCD"])
    assert not_adjusted(found.log, found.survey) == "HEIGHTS OF PARTY B NOT ADJUSTED"


def test_what_closes_over_several_parties_shares_one_chance_of_a_false_alarm():
    """Parties that come to the same known points close so often over each other that one of them would be asked in vain."""
    _, logs = logs_of(1, None)
    closures = joined(logs, []).survey.closures
    over = [len({leg.span.file for leg in one.legs}) > 1 for one in closures]
    assert sum(over) >= len(LETTERS) - 1
    assert [one.tests > 1 for one in closures] == over
