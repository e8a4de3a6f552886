"""Parties that share some outcrops with the key and have stops of their own between: only what is borne out is paired."""

import math
import random
import re

import pytest

from tests.compare.camp import held
from tests.compare.round_walks import Ground
from tests.compare.round_walks import held as round_held
from tests.thorough import some
from traverse.compare.against_key import NoSharedStationError
from traverse.compare.records import Grade, PairedBy, Part

SEEDS = range(8)


def party(seed, *, numbered=False, **slip):
    """A ground with stops besides the key's, the key's walk, and a walk over every other stop of it and these."""
    ground, chance = Ground(seed), random.Random(f"own {seed}")  # noqa: S311 - invented ground
    order = []
    for at in range(0, ground.count - 1, 2):
        order.append(at)
        (east, north), (to_east, to_north) = ground.places[at], ground.places[(at + 2) % ground.count]
        middle = (east + to_east) / 2, (north + to_north) / 2
        inward = 0.35 + chance.uniform(0.0, 0.2)
        ground.places.append(
            tuple(a + inward * (b - a) for a, b in zip(middle, _centre(ground), strict=True))
        )
        order.append(len(ground.places) - 1)
    names = {at: str(at + 1) if at < ground.count else f"p{at}" for at in order}
    if numbered:
        names = {at: str(number + 3) for number, at in enumerate(order)}
    log = ground.walk((seed, "P"), order=order, names=names, **slip)
    return log, ground.walk((seed, "key")), [str(at + 1) for at in order if at < ground.count]


def _centre(ground):
    stops = ground.places[: ground.count]
    return tuple(sum(one[axis] for one in stops) / len(stops) for axis in (0, 1))


@pytest.mark.parametrize("seed", some(SEEDS, 4))
def test_a_sound_party_is_paired_by_name_alone_and_accused_of_nothing(seed):
    log, key, shared = party(seed)
    found = round_held(log, key)
    assert {one.station: (one.key, one.by) for one in found.standing.pairs} == {
        name: (name, PairedBy.NAME) for name in shared
    }
    assert (found.causes, found.apart) == ((), ())
    assert all(name.startswith("p") for name in found.standing.alone)


@pytest.mark.every(2)
@pytest.mark.parametrize("seed", some(SEEDS, 4))
def test_feet_for_metres_are_named_where_no_leg_is_the_keys(seed):
    log, key, _ = party(seed, unit="feet")
    line = next(at for at, row in enumerate(log.splitlines(), 1) if row.startswith("distances"))
    found = round_held(log.replace("distances feet", "distances metres"), key)
    assert [(one.span.line, one.cause) for one in found.causes] == [(line, "feet taken for metres")]


@pytest.mark.parametrize("seed", some(SEEDS, 3))
def test_without_a_known_point_no_contact_is_missed_on_ground_that_was_not_walked(seed):
    log, key, _ = party(seed)
    key = key.replace("unit Fg", "grid EPSG:25833\ncontrol 1 431200 E 5205400 N ±4 gps\n\nunit Fg", 1)
    found = round_held(log, key)
    assert not found.standing.framed
    contacts = [item for one in found.marks if one.part is Part.CONTACTS for item in one.items]
    assert not [one for one in contacts if one.grade is Grade.MISSING]
    assert found.standing.elsewhere


@pytest.mark.parametrize("seed", some(SEEDS, 4))
def test_numbers_that_are_other_places_pair_nothing_and_are_told(seed):
    log, key, _ = party(seed, numbered=True)
    key = key.replace("unit Fg", "grid EPSG:25833\ncontrol 1 431200 E 5205400 N ±4 gps\n\nunit Fg", 1)
    with pytest.raises(NoSharedStationError, match="are other places there") as none:
        round_held(log, key)
    # What is offered, typed with the log's own name of that place, says which station is which.
    grid, control = re.findall(r"`(.*?)`", str(none.value))[:2]
    assert (grid, control) == ("grid EPSG:25833", "control STATION 431200 E 5205400 N")
    own = next(row.split()[1] for row in log.splitlines() if row.startswith("at "))
    typed = log.replace("unit Fg", f"{grid}\n\n{control.replace('STATION', own)}\n\nunit Fg", 1)
    assert round_held(typed, key).standing.pairs


def test_a_known_points_own_name_pairs_its_walk_without_a_control():
    """Its stops are numbered anew; from the one name that says where it stood the others are paired by place."""
    log, key, shared = party(0, numbered=True)
    log = re.sub(r"(?m)^(at|close) 3\b", r"\1 Cairn", log)
    key = re.sub(r"(?m)^(at|close) 1\b", r"\1 Cairn", key)
    key = key.replace("unit Fg", "grid EPSG:25833\ncontrol Cairn 431200 E 5205400 N ±4 gps\n\nunit Fg", 1)
    assert {one.station: one.key for one in round_held(log, key).standing.pairs} == {
        "Cairn": "Cairn",
        **{str(2 * number + 3): name for number, name in enumerate(shared) if number},
    }


@pytest.mark.parametrize(("own", "missing"), [(False, ["bed at {}"]), (True, [])])
def test_no_bed_is_missed_at_a_stop_that_only_lies_near_one_of_the_keys(own, missing):
    """It may be another outcrop beside it; under the key's own name it is that outcrop."""
    log, key, shared = party(3)
    known = "grid EPSG:25833\ncontrol 1 431200 E 5205400 N ±4 gps\n\nunit Fg"
    log, key = (text.replace("unit Fg", known, 1) for text in (log, key))
    stop = shared[2]
    log = re.sub(rf"(?m)(^at {stop}\n(  unit .*\n))  bed .*\n", r"\1", log)
    name = "near" if own else stop
    log = re.sub(rf"(?m)^(at|to) {stop}\b", rf"\1 {name}", log)
    found = round_held(log, key)
    pair = next(one for one in found.standing.pairs if one.key == stop)
    assert (pair.station, pair.by) == (name, PairedBy.PLACE if own else PairedBy.NAME)
    beds = [item for one in found.marks if one.part is Part.ATTITUDES for item in one.items]
    assert [one.what for one in beds if one.grade is Grade.MISSING] == [one.format(stop) for one in missing]


HEAD = """notation 1
grid EPSG:25833
bearings true
attitudes dip-right
distances metres
control P 500300 E 5168000 N 400 m ±4 gps
unit Ss Reed Sandstone ; Triassic
at P
  unit Ss
  bed 090/30
"""
KEY = HEAD + (
    "to K2 020 100 level back 200\nto Q 160 100 level back 340\n  bed 090/31\nto K3 135 120 level back 315\n"
    "to K4 250 140 level back 070\nclose P 349 135 level back 169\n"
)
SMALL = HEAD + (
    "to a2 060 70 level back 240\nto Q 168 36 level back 348\n  bed 089/31\nto a3 180 60 level back 000\n"
    "close P 311 91 level back 131\n"
)


def test_names_that_a_known_point_and_their_ways_bear_out_are_not_overruled_by_a_shape():
    found = held(SMALL, KEY)
    assert {one.station: one.key for one in found.standing.pairs} == {"P": "P", "Q": "Q"}
    assert (found.causes, found.apart) == ((), ())
    assert found.standing.alone == ("a2", "a3")
    assert math.isclose(*[sum(one.scored for one in found.marks if one.part is Part.LOCATION), 15.0])


def test_one_way_that_is_the_keys_by_chance_bears_no_numbers_out():
    """Its K2 and Q lie 180 m from the key's, with the same way between them."""
    key = HEAD + (
        "to K2 020 100 level\nto Q 160 100 level\nto K3 135 120 level\nto K4 215 140 level\nto K5 300 150 level\n"
    )
    log = HEAD + (
        "to K2 290 150 level\n  bed 180/30\nto Q 160 100 level\n  bed 180/30\nto K3 250 90 level\nto K4 330 130 level\n"
        "to K5 020 95 level\n"
    )
    found = held(log, key)
    assert {one.station: one.key for one in found.standing.pairs} == {"P": "P"}
    assert found.standing.misnamed == ("K2", "Q", "K3", "K4", "K5")
    assert (found.causes, found.apart) == ((), ())
    assert "names can't be the key's: 5 of them" in found.notes[0]


def test_a_stop_of_its_own_near_one_of_the_keys_is_not_it():
    """17 m from K2, farther than two careful parties differ over the way there, and no leg of it is judged."""
    log = SMALL.replace(
        "to a2 060 70 level back 240\nto Q 168 36 level back 348", "to a2 030 98 level\nto Q 170 97 level"
    )
    found = held(log, KEY)
    assert {one.station for one in found.standing.pairs} == {"P", "Q"}
    assert found.apart == ()


CROSSED = KEY.replace("Triassic", "Triassic\nunit Mm Mill Mudstone ; Permian").replace(
    "to K3 135 120 level back 315\n", "to K3 135 120 level back 315\nalong 60\n  contact Ss/Mm certain\nat K3\n  unit Mm\n"
)  # fmt: skip


@pytest.mark.parametrize(("unit", "missed"), [("Ss", 0), ("Mm", 1)])
def test_a_leg_beside_the_keys_that_tells_its_units_whole_missed_no_contact(unit, missed):
    """It goes on 8 m past where the key met the contact; with another unit at its end it must have crossed it."""
    log = HEAD.replace("Triassic", "Triassic\nunit Mm Mill Mudstone ; Permian") + (
        "to a2 060 70 level\nto Q 168 36 level\n  unit Ss\nto a3 139 140 level\n"
        f"  unit {unit}\nclose P 306 190 level\n"
    )
    contacts = [one for one in held(log, CROSSED).standing.contacts if one.log is None]
    assert len(contacts) == missed
