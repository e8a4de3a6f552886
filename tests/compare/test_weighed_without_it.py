"""A party whose own loop fails, or fails by chance, hides no slip of another, and blames no sound tie."""

import pytest

from tests.compare.round_walks import Ground, alone, asked, joined
from tests.compare.test_legs_and_turns import line_of_leg, plain_leg
from tests.thorough import some
from traverse.sheet.paper.words import number
from traverse.sheet.said.parties import NOTHING_CHECKS, parties_told

SEEDS = range(6)
PARTIES = {"closure-fails", "closure-poor", "party-differs", "tie-differs", "heights-fail", "heights-poor"}
PRECISE = ("precision bearing 1, slope 1, tape 1%", "precision bearing 0.65, slope 0.5, tape 0.5%")


def feet_for_metres(text):
    return text.replace("distances metres", "distances feet")


def line_of(text, start):
    return next(number for number, row in enumerate(text.splitlines(), 1) if row.startswith(start))


def of_parties(found):
    return {(file, line) for file, line, code in asked(found) if code in PARTIES}


@pytest.mark.every(2)
@pytest.mark.parametrize("seed", some(SEEDS, 3))
def test_a_leg_of_one_does_not_hide_the_heading_of_another(seed):
    """Three sound parties, one in feet, and one that lost a hundred, which alone joins many of the ties."""
    ground = Ground(seed)
    leg = plain_leg(ground)
    logs = {one: ground.walk((seed, one)) for one in "ABEF"}
    logs["A"] = feet_for_metres(logs["A"])
    logs["D"] = ground.walk((seed, "D"), lengths={leg: lambda length: f"{length + 100:.1f}"})
    pairs = "AB 0 4 8; BD 4 8; BE 1 10; DE 6; DF 2 9; AE 10"
    ties = [
        (f"{whose[0]}-{int(stop) + 1}", f"{whose[1]}-{int(stop) + 1}")
        for whose, *stops in (one.split() for one in pairs.split(";"))
        for stop in stops
    ]
    found = joined(logs, ties)
    told = [(one.span.file, one.span.line) for one in found.diagnostics if one.code == "party-differs"]
    assert told == [("A.trav", line_of(logs["A"], "distances"))]
    assert {one.span for one in found.survey.suspects if one.span.file != "D.trav"} == set()
    assert line_of_leg(logs["D"], leg) in {one.span.line for one in found.survey.suspects}
    assert of_parties(found) == {*told, ("D.trav", line_of(logs["D"], "close "))}


@pytest.mark.every(2)
@pytest.mark.parametrize(("seed", "letter"), [(5, "D"), (35, "F")])
def test_a_party_that_closes_badly_by_chance_hides_no_heading(seed, letter):
    ground = Ground(seed)
    logs = {one: ground.walk((seed, one)).replace(*PRECISE) for one in "ABCDEF"}
    logs["B"] = feet_for_metres(logs["B"])
    found = joined(logs, [(f"A-{at + 1}", f"{one}-{at + 1}") for at in (0, 2, 5, 8) for one in "BCDEF"])
    told = [(one.span.file, one.span.line) for one in found.diagnostics if one.code == "party-differs"]
    assert told == [("B.trav", line_of(logs["B"], "distances"))]
    assert not any(one.code == "tie-differs" for one in found.diagnostics)
    assert not any(one.hung for one in found.log.parties)


@pytest.mark.parametrize("seed", some(SEEDS, 3))
def test_a_tie_that_is_not_used_turns_no_party_in_the_table(seed):
    ground = Ground(seed)
    logs = {one: ground.walk((seed, one)) for one in "AB"}
    right = [(f"A-{at}", f"B-{at}") for at in (2, 4, 6, 8, 10)]
    sound, found = joined(logs, right), joined(logs, [*right, ("A-3", "B-9")])
    assert [one.code for one in found.diagnostics if one.code == "tie-differs"] == ["tie-differs"]
    for one, other in zip(sound.survey.fits, found.survey.fits, strict=True):
        assert (other.rotation_deg, other.scale) == pytest.approx((one.rotation_deg, one.scale), abs=1e-6)
        assert other.stations == one.stations


TURNED_AND_STRETCHED = [
    {"C": {"north": "true"}, "D": {"unit": "feet"}},
    {"C": {"unit": "feet"}, "D": {"north": "true"}},
]


@pytest.mark.in_turn
@pytest.mark.parametrize("seed", some(SEEDS, 2))
@pytest.mark.parametrize("slips", TURNED_AND_STRETCHED)
def test_a_party_that_does_not_fit_hides_no_second_one(seed, slips):
    """Of the two places that D shares one is of a sound party, and the other of C, which has a wrong heading too."""
    ground = Ground(seed)
    logs = {one: ground.walk((seed, one), **slips.get(one, {})) for one in "ABCD"}
    logs = {one: text.replace("distances feet", "distances metres") for one, text in logs.items()}
    ties = [
        ("A-1", "B-1"),
        ("A-4", "B-4"),
        ("A-8", "B-8"),
        ("A-2", "C-2"),
        ("B-6", "C-6"),
        ("A-5", "D-5"),
        ("C-9", "D-9"),
    ]
    found = joined(logs, ties)
    told = [(one.span.file, one.span.line) for one in found.diagnostics if one.code == "party-differs"]
    lines = {"north": "bearings", "unit": "distances"}
    assert sorted(told) == [
        (f"{one}.trav", line_of(logs[one], lines[next(iter(slips[one]))])) for one in "CD"
    ]
    assert not any(one.code == "tie-differs" for one in found.diagnostics)
    assert all(name[0] in "AB" for name in found.survey.places)


def test_the_table_of_parties_tells_each_own_loop_and_whom_nothing_checks():
    """C shares one place alone: turned or stretched as a whole it would close as well."""
    ground = Ground(0)
    logs = {one: ground.walk((0, one)) for one in "ABC"}
    logs["C"] = logs["C"].replace("distances metres", "distances feet")
    found = joined(logs, [("A-1", "B-1"), ("A-4", "B-4"), ("A-8", "B-8"), ("A-2", "C-2")])
    told = parties_told(found.log, found.survey)
    assert [NOTHING_CHECKS in one.lies for one in told] == [False, False, True]
    ratios = [alone(text).survey.closures[0].ratio for text in logs.values()]
    assert [one.closes for one in told] == [f"1 in {number(ratio)}" for ratio in ratios]
