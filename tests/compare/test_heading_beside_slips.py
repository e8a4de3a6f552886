"""A wrong line of a party's heading is named beside slips of others, and beside a slip of its own that hides by how much it does."""

import pytest

from tests.compare.round_walks import DECLINATION, Ground, joined
from tests.compare.test_legs_and_turns import plain_leg
from tests.compare.test_shared_known_points import known
from tests.thorough import some


def in_feet(text):
    """Its lengths as feet where the heading says metres: what was read off the tape is larger."""
    return text.replace("distances feet", "distances metres")


def left_out(found):
    return {
        found.log.parties[one.party].letters: next(
            fit.cause for fit in found.survey.fits if fit.log == found.log.parties[one.party].file
        )
        for one in found.survey.aside
    }


def small_turn(seed, degrees, stops, ties, *, wrong, feet):
    """Four parties; `wrong` set the declination on its compass as well, `feet` wrote feet for metres."""
    ground = Ground(seed)
    logs = {}
    for letter in "ABCD":
        turned = DECLINATION - (degrees if letter != wrong else 0)
        text = ground.walk((seed, letter), bearings=turned, unit="feet" if letter == feet else "metres")
        text = in_feet(text) if letter == feet else known(ground, text, stops, lambda: 0)
        logs[letter] = text.replace(
            "bearings true\ndeclination 6", f"bearings magnetic\ndeclination {degrees}"
        )
        logs[letter] = logs[letter].replace("declination 6 E", f"declination {degrees} E")
    return joined(logs, [(f"A-{at}", f"{other}-{at}") for at in ties for other in "BCD"])


CAMPS = [(2, 3, [0], (2, 4, 6, 8)), (4, 4, [0], (2, 3, 4, 5, 6)), (5, 3, [0], (2, 3, 5, 7))]


@pytest.mark.every(2)
@pytest.mark.parametrize(("seed", "degrees", "stops", "ties"), some(CAMPS, 2))
def test_a_small_turn_is_named_beside_a_party_in_feet(seed, degrees, stops, ties):
    causes = left_out(small_turn(seed, degrees, stops, ties, wrong="A", feet="D"))
    assert set(causes) == {"A", "D"}
    assert causes["A"].startswith("declination applied twice")
    assert causes["D"].startswith("feet taken for metres")


@pytest.mark.every(2)
@pytest.mark.parametrize(("seed", "degrees", "stops", "ties"), some(CAMPS, 1))
def test_of_sound_parties_beside_one_in_feet_none_is_left_out(seed, degrees, stops, ties):
    assert set(left_out(small_turn(seed, degrees, stops, ties, wrong=None, feet="D"))) == {"D"}


@pytest.mark.every(2)
@pytest.mark.parametrize("seed", some(range(2, 5), 2))
def test_feet_for_metres_are_named_beside_a_leg_too_short(seed):
    ground = Ground(seed)
    slip = {plain_leg(ground): lambda length: f"{length * 0.8:.1f}"}
    logs = {one: ground.walk((seed, one)) for one in "BC"}
    logs["A"] = in_feet(ground.walk((seed, "A"), unit="feet", lengths=slip).replace("tape 1%", "tape 3%"))
    ties = [(f"B-{at}", f"{other}-{at}") for at in (2, 4, 6, 8) for other in "AC"]
    causes = left_out(joined(logs, ties))
    assert set(causes) == {"A"}
    assert (causes["A"] or "").startswith("feet taken for metres")
