"""Ties that contradict each other, on invented ground: what is accused, what only asked, and nothing by the order of lines."""

import random
import re

import pytest

from tests.compare.round_walks import Ground, joined
from tests.compare.test_legs_and_turns import line_of_leg, plain_leg
from tests.thorough import some
from traverse.sheet.said.sentences import not_adjusted

SEEDS = range(8)
SPREAD = {"closure-poor", "heights-poor", "heights-fail", "fore-back"}
"""What chance alone brings about now and then."""


def camp(seed, letters="ACF", *, instead=None, at=(0, 2, 5, 8), order=None, shuffled=None):
    """Parties tied to the first of them at some stops; `instead` has other names by those that a tie would have."""
    ground = Ground(seed)
    logs = {one: ground.walk((seed, one)) for one in letters}
    ties = [(f"A-{stop + 1}", f"{one}-{stop + 1}") for one in letters[1:] for stop in at]
    ties = [(instead or {}).get(tie, tie) for tie in ties]
    if shuffled is not None:
        random.Random(shuffled).shuffle(ties)  # noqa: S311 - the order of lines
    return joined(logs, ties, order=order)


def told(found, code="tie-differs"):
    return sorted(re.sub(r" \(line \d+\)", "", one.message) for one in found.diagnostics if one.code == code)


def doubts(found):
    return {one.code for one in found.diagnostics if one.kind == "warning"} - SPREAD


@pytest.mark.parametrize("seed", some(SEEDS, 4))
def test_of_clean_parties_no_tie_is_asked_about(seed):
    found = camp(seed)
    assert doubts(found) == set()
    assert len(found.log.ties) == 8


@pytest.mark.parametrize("seed", some(SEEDS, 4))
def test_a_tie_wrong_by_one_station_alone_is_accused_and_no_other(seed):
    found = camp(seed, instead={("A-6", "F-6"): ("A-6", "F-7")})
    (said,) = told(found)
    assert said.startswith("A-6 and F-7 come out ")
    assert "3 other ties of A and F agree" in said
    assert "A-6 comes out " in said
    assert "from F-6" in said
    assert doubts(found) == {"tie-differs"}
    assert ("A-6", "F-7") not in {(tie.first, tie.second) for tie in found.log.ties}
    assert len(found.log.ties) == 7
    assert all(one.adjusted for one in found.survey.closures)
    assert found.survey.suspects == ()
    (line,) = [one.span.line for one in found.diagnostics if one.code == "tie-differs"]
    assert found.sources["camp.trav"].line(line) == "tie A-6 to F-7"


@pytest.mark.every(2)
@pytest.mark.parametrize("seed", some(SEEDS, 4))
def test_no_verdict_hangs_on_the_order_of_ties_or_logs(seed):
    instead = {("A-6", "F-6"): ("A-6", "F-7"), ("A-3", "C-3"): ("A-3", "C-4")}
    first = camp(seed, instead=instead)
    assert len(told(first)) == 2
    for shuffled, order in ((seed, "FAC"), (seed + 100, "CFA")):
        other = camp(seed, instead=instead, order=order, shuffled=shuffled)
        assert told(other) == told(first)
        assert {name: (round(one.east_m, 3), round(one.north_m, 3)) for name, one in other.survey.places.items()} == {
            name: (round(one.east_m, 3), round(one.north_m, 3)) for name, one in first.survey.places.items()
        }  # fmt: skip


@pytest.mark.parametrize("seed", some(SEEDS, 4))
def test_of_two_ties_that_disagree_the_walks_say_which_and_no_heading_is_blamed(seed):
    for shuffled in (1, 2, 4):
        found = camp(seed, "AF", at=(3, 5), instead={("A-4", "F-4"): ("A-4", "F-5")}, shuffled=shuffled)
        (said,) = told(found)
        assert said.startswith("tie A-4 to F-5 and tie A-6 to F-6 disagree by ")
        assert "one of them is wrong" in said
        assert "that is the one to look at" in said
        assert doubts(found) == {"tie-differs"}
        assert [(tie.first, tie.second) for tie in found.log.ties] == [("A-6", "F-6")]


@pytest.mark.parametrize("seed", some(SEEDS, 4))
def test_of_two_ties_of_walks_that_share_no_more_both_are_asked_about(seed):
    ground = Ground(seed)
    few = [0, 3, 6, 8]
    logs = {"A": ground.walk((seed, "A"), order=[1, 3, 5, 7, 9]), "F": ground.walk((seed, "F"), order=few)}
    ties = [("A-4", "F-4"), ("A-8", "F-7")]
    for lines in (ties, ties[::-1]):
        found = joined(logs, lines)
        (said,) = told(found)
        assert said.startswith("tie A-8 to F-7 and tie A-4 to F-4 disagree by ")
        assert "one of them is wrong, or a party lies turned; each rests on its own line" in said
        assert doubts(found) == {"tie-differs"}
        assert told(found, "parties-near") == []
        # Where F lies hangs on the one that is used: it is drawn, and colours nothing.
        assert [one.letters for one in found.log.parties if one.by_open_tie] == ["F"]
        assert not_adjusted(found.log, found.trav.survey) == "PARTY F NOT ADJUSTED"
        assert found.trav.geology.open_parties == {"F.trav"}


@pytest.mark.parametrize("seed", some(SEEDS, 4))
def test_a_party_that_more_than_two_ties_at_odds_place_is_drawn_as_others_are(seed):
    """The third party is tied by itself, and one of the two at odds is outvoted or told by the walks."""
    for found in (camp(seed), camp(seed, "AF", at=(3, 5), instead={("A-4", "F-4"): ("A-4", "F-5")})):
        assert not any(one.by_open_tie for one in found.log.parties)
        assert found.trav.geology.open_parties == frozenset()


@pytest.mark.parametrize("seed", some(SEEDS, 4))
def test_stations_that_may_be_one_are_suggested_in_one_note_at_nobodys_line(seed):
    first, other = camp(seed), camp(seed, order="FCA", shuffled=7)
    (said,) = [one for one in first.diagnostics if one.code == "parties-near"]
    assert (said.kind, said.span) == ("note", None)
    assert told(other, "parties-near") == [said.message]


@pytest.mark.every(2)
@pytest.mark.parametrize("seed", some(SEEDS, 4))
def test_among_parties_with_slips_of_their_own_a_wrong_tie_is_told_apart_from_each(seed):
    ground = Ground(seed)
    leg = plain_leg(ground)
    feet = {number: lambda length: f"{length / 0.3048:.1f}" for number in range(ground.count)}
    logs = {
        "A": ground.walk((seed, "A")),
        "B": re.sub(r"(?m)^along (\d+)", lambda one: f"along {int(one[1]) / 0.3048:.0f}", ground.walk((seed, "B"), lengths=feet)),
        "D": ground.walk((seed, "D"), bearings=6, beds=6),
        "E": ground.walk((seed, "E"), lengths={leg: lambda length: f"{length + 100:.1f}"}),
        "F": ground.walk((seed, "F")),
        "G": ground.walk((seed, "G")),
    }  # fmt: skip
    ties = [(f"A-{stop + 1}", f"{one}-{stop + 1}") for one in "BDEFG" for stop in (0, 2, 5, 8)]
    ties = [("A-6", "F-7") if tie == ("A-6", "F-6") else tie for tie in ties]
    random.Random(seed).shuffle(ties)  # noqa: S311 - the order of lines
    found = joined(logs, ties)
    feet = next(
        one.span
        for one in found.diagnostics
        if one.span and one.span.file == "B.trav" and one.code == "party-differs"
    )
    assert found.sources["B.trav"].line(feet.line).startswith("distances")
    (said,) = told(found)
    assert said.startswith("A-6 and F-7 come out ")
    assert [one.letters for one in found.log.parties if one.aside] == ["B", "D"]
    assert {one.span.file for one in found.survey.suspects} == {"E.trav"}
    assert line_of_leg(logs["E"], leg) in {one.span.line for one in found.survey.suspects}
    asked = {
        (one.code, one.span.file)
        for one in found.diagnostics
        if one.kind == "warning" and one.code not in SPREAD
    }
    assert asked - {("closure-fails", "E.trav")} == {("tie-differs", "camp.trav"), ("party-differs", "B.trav"), ("party-differs", "D.trav")}  # fmt: skip
