"""Feet for metres in a log that numbers its stops anew and made stops of its own: named, and its stations paired."""

import pytest

from tests.compare.round_walks import Ground, held
from tests.thorough import some
from traverse.compare.records import Part

SEEDS = [0, 1, 2, 3, 4, 5, 7]
"""On ground 6, of eleven stops, five ways are the key's: too few to tell a stretch by."""


def walks(seed, *, feet):
    """A party and a key that each passed over three stops of the other's; the party has letters of its own."""
    ground = Ground(seed)
    stops = list(range(ground.count))
    mine = [at for at in stops if at not in {1, 6, 9}]
    theirs = [at for at in stops if at not in {3, 8}]
    names = {at: f"q{number}" for number, at in enumerate(mine, start=1)}
    text = ground.walk((seed, "party"), order=mine, names=names, unit="feet" if feet else "metres")
    known = "control {} 0 E 0 N 300 m ±4 gps\n\nunit Fg"
    party = text.replace("distances feet", "distances metres").replace("unit Fg", known.format("q1"), 1)
    return party, ground.walk((seed, "key"), order=theirs).replace("unit Fg", known.format("1"), 1)


@pytest.mark.every(2)
@pytest.mark.parametrize("seed", some(SEEDS, 3))
def test_feet_are_named_before_stations_are_paired(seed):
    found = held(*walks(seed, feet=True))
    assert [one.cause for one in found.causes][:1] == ["feet taken for metres"]
    assert len(found.standing.pairs) >= 7
    mended = next(one for one in found.marks_mended if one.part is Part.SHAPE)
    assert mended.scored == mended.of


@pytest.mark.parametrize("seed", some(SEEDS, 4))
def test_of_a_sound_walk_nothing_is_named(seed):
    assert not held(*walks(seed, feet=False)).causes
