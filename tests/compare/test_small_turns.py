"""A small declination applied twice shows only where a party walked far from what it shares: its heading is named, and no other."""

import pytest

from tests.compare.round_walks import DECLINATION, Ground, asked, held, joined
from tests.compare.test_shared_known_points import known
from tests.thorough import some

CAMPS = [
    # A seed, the declination, stops that are known points of all, and stops at which A is tied to the others.
    (4, 4, [0, 1, 2, 3], (2,)),
    (2, 4, [0, 1], (2, 4)),
    (1, 3, [0, 1], (3, 10)),
    # Of two parties tied to A one is missed by more than the other: it was accused.
    (0, 4, [0, 1, 2], (2, 4)),
    (5, 3, [0], (2, 3)),
    # No circuit fails as one of a camp would; three do as those of one log.
    (4, 4, [0], (2, 3, 4, 5, 6)),
]


def camp(seed, degrees, stops, ties, *, wrong):
    """Three parties with known points of one receiver; one of them set the declination on its compass as well."""
    ground = Ground(seed)
    logs = {}
    for letter in "ABC":
        text = ground.walk((seed, letter), bearings=DECLINATION - (degrees if letter != wrong else 0))
        text = known(ground, text, stops, lambda: 0)
        logs[letter] = text.replace(
            "bearings true\ndeclination 6", f"bearings magnetic\ndeclination {degrees}"
        )
    return joined(logs, [(f"A-{at}", f"{other}-{at}") for at in ties for other in "BC"])


@pytest.mark.every(2)
@pytest.mark.parametrize(("seed", "degrees", "stops", "ties"), some(CAMPS, 4))
def test_the_heading_is_named_once_and_no_tie_beside_it(seed, degrees, stops, ties):
    found = camp(seed, degrees, stops, ties, wrong="A")
    told = [one for one in asked(found) if one[2] != "declination-model"]
    assert told == [("A.trav", 7, "party-differs")]
    (said,) = [one.message for one in found.diagnostics if one.code == "party-differs"]
    assert "declination applied twice" in said
    assert [found.log.parties[one.party].letters for one in found.survey.aside] == ["A"]


@pytest.mark.every(2)
@pytest.mark.parametrize(("seed", "degrees", "stops", "ties"), some(CAMPS, 2))
def test_of_sound_parties_none_is_named(seed, degrees, stops, ties):
    found = camp(seed, degrees, stops, ties, wrong=None)
    assert not [one for one in asked(found) if one[2] != "declination-model"]
    assert not found.survey.aside


def of_the_key(seed, turn):
    """A party turned by so much, held against a key that was at three of its stops, both with beds there."""
    ground = Ground(seed)
    names = {
        at: ["Cairn", "Gate", "Ford"][at // 4] if at in {0, 4, 8} else f"p{at}" for at in range(ground.count)
    }
    key = ground.walk((seed, "key"), order=[0, 4, 8], names=names)
    return held(ground.walk((seed, "party"), names=names, bearings=turn), key)


def turns_told(found):
    return [one for one in found.for_leader if "its walk lies turned" in one]


@pytest.mark.every(2)
@pytest.mark.parametrize("seed", some([500, 501, 502, 506], 2))
def test_a_turn_on_few_shared_stations_is_told_to_the_leader_where_no_cause_is_named(seed):
    found = of_the_key(seed, 4.0)
    said = turns_told(found)
    assert len(found.causes) + len(said) == 1
    assert not any("turned" in one for one in found.notes)
    for one in said:
        assert f"turned by +{found.standing.fit.rotation_deg:.1f}°, ± 1." in one


def test_the_declination_twice_is_named_beside_a_turn_that_it_would_make():
    (said,) = turns_told(of_the_key(506, 4.0))
    assert "the declination applied twice would turn it by +6.0°" in said


@pytest.mark.parametrize("seed", some(range(530, 560), 10))
def test_of_a_sound_party_no_turn_is_told(seed):
    assert turns_told(of_the_key(seed, 0.0)) == []
