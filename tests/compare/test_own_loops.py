"""What a party's own loop names stays named at its line in a camp, beside a slip of its heading too, and no other party's leg."""

import random
import re

import pytest

from tests.compare.camp import compiled_camp, line_of, six_parties
from tests.compare.camp import joined as joined_parties
from tests.compare.round_walks import Ground, alone, asked, joined
from tests.compare.test_legs_and_turns import line_of_leg
from tests.thorough import some

SLOPE = re.compile(r"(?m)^((?:to|close) \S+ \S+ \S+ )([+-])(\d+)(?= back)")
HEADINGS = {"twice": "declination", "feet": "distances", None: None}


def camp(seed, slip):
    """Three to five parties, of which one wrote a hundred too many, under a wrong heading as well where there is a `slip`.

    They are tied at random, and some of them by the wrong party alone.
    """
    chance = random.Random(f"own loops {seed}")  # noqa: S311 - who is tied where
    ground = Ground(seed)
    letters = "ABCDE"[: chance.choice((3, 4, 5))]
    bad, leg = chance.choice(letters), chance.randrange(ground.count - 1)
    logs = {one: ground.walk((seed, one)) for one in letters}
    turned = 6 if slip == "twice" else 0
    text = ground.walk(
        (seed, bad), lengths={leg: lambda length: f"{length + 100:.1f}"}, bearings=turned, beds=turned
    )
    logs[bad] = text.replace("distances metres", "distances feet") if slip == "feet" else text
    ties = [
        (f"{to}-{at + 1}", f"{one}-{at + 1}")
        for number, one in enumerate(letters[1:], 1)
        for to in [chance.choice(letters[:number])]
        for at in sorted(chance.sample(range(ground.count), chance.randint(2, 5)))
    ]
    return logs, ties, bad, line_of_leg(text, leg)


@pytest.mark.in_turn
@pytest.mark.parametrize("slip", HEADINGS)
@pytest.mark.parametrize("seed", some(range(24), 8))
def test_a_lost_hundred_of_one_is_named_and_no_leg_of_another(seed, slip):
    logs, ties, bad, line = camp(seed, slip)
    by_itself = {one.span.line for one in alone(logs[bad]).survey.suspects}
    found = joined(logs, ties)
    named = {(one.span.file, one.span.line) for one in found.survey.suspects}
    assert {file for file, _ in named} <= {f"{bad}.trav"}
    assert line not in by_itself or (f"{bad}.trav", line) in named
    told = [one for one in asked(found) if one[2] in {"closure-fails", "party-differs", "tie-differs"}]
    assert {file for file, _, _ in told} == {f"{bad}.trav"}
    assert [code for _, _, code in told].count("closure-fails") == 1
    # A heading is asked about only where it was wrong.
    lines = {at for _, at, code in told if code == "party-differs"}
    heading = HEADINGS[slip]
    rows = logs[bad].splitlines()
    assert all(heading is not None and rows[at - 1].startswith(heading) for at in lines)


def test_a_wrong_heading_beside_a_lost_hundred_is_told_in_its_own_loops_terms():
    """The hundred is told where the loop closes, the heading by what the rest of the walk says."""
    logs, ties, *_ = camp(1, "twice")
    found = joined(logs, ties)
    (said,) = [one for one in found.diagnostics if one.code == "party-differs"]
    assert "which its own loop asks about, comes out turned by" in said.message
    assert "declination applied twice" in said.message


@pytest.mark.parametrize("seed", some((1, 7, 14), 3))
def test_a_lost_sign_of_a_slope_is_told_once_though_it_runs_through_a_loop_and_a_tie(seed):
    chance = random.Random(f"slope {seed}")  # noqa: S311 - who is tied where
    ground = Ground(seed)
    logs = {one: ground.walk((seed, one)) for one in "ABC"}
    slope = max(SLOPE.finditer(logs["B"]), key=lambda one: int(one[3]))
    line = logs["B"].count("\n", 0, slope.start()) + 1
    sign = "-" if slope[2] == "+" else "+"
    logs["B"] = f"{logs['B'][: slope.start(2)]}{sign}{logs['B'][slope.end(2) :]}"
    stops = sorted(chance.sample(range(ground.count), 4))
    found = joined(logs, [(f"A-{at + 1}", f"{one}-{at + 1}") for one in "BC" for at in stops])
    (told,) = [one for one in found.diagnostics if one.code == "heights-fail"]
    assert "it would mend loop B-1" in told.message
    assert {one.span.file for one in found.survey.suspects} == {"B.trav"}
    assert line in {one.span.line for one in found.survey.suspects}


def test_of_many_readings_that_explain_a_loop_alike_none_is_accused():
    """A paced loop that misses by chance, all its legs as they were walked: how many would do, a few by name, and what decides."""
    found = alone(six_parties(38)["left"])
    (told,) = [one for one in found.diagnostics if one.code == "closure-fails"]
    count, alike = map(
        int, re.search(r"(\d+) single readings .*, (\d+) of them about equally", told.message).groups()
    )
    assert count >= alike > 6
    assert len(told.labels) == len(found.survey.suspects) == 3
    assert len(found.survey.unnamed_suspects) == count - 3
    assert re.search(r"a sight from \S+ to \S+ would decide", told.hints[0])


def test_a_party_in_feet_whose_own_loop_fails_is_told_of_its_feet():
    """Feet for metres in a pace that is two per cent long besides, and a loop that misses by more than that: once, at the pace."""
    files = joined_parties(630, names=("none", "left", "feet"))
    found = compiled_camp(files)
    assert any(one.code == "closure-fails" and one.span.file == "feet.trav" for one in found.diagnostics)
    (told,) = [one for one in found.diagnostics if one.code == "party-differs"]
    assert (told.span.file, told.span.line) == ("feet.trav", line_of(files["feet.trav"], "pace"))
    assert "likely cause: feet taken for metres" in told.message
