"""A log and a key without a known point in common, whose numbers are not the same stations."""

import pytest

from tests.compare.camp import held
from tests.compare.round_walks import Ground
from tests.compare.round_walks import held as round_held
from tests.thorough import each, some
from traverse.compare.against_key import NoSharedStationError
from traverse.compare.records import PairedBy, Part

HEAD = """notation 1
bearings true
attitudes dip-right
pace double 1.5 m
unit Rg Rigg Shale ; Jurassic
"""
KEY = (
    HEAD.replace("pace", "grid EPSG:25833\ncontrol 1 512300 E 6712400 N ±5 gps\npace")
    + """
at 1
  unit Rg
  bed 020/30
to 2 090 60p back 270
  bed 050/40
to 3 045 40p back 225
  bed 080/50
to 4 000 60p back 180
  bed 110/60
close 1 233 154p
"""
)
SKIPPED = (
    HEAD
    + """
at 1
  unit Rg
  bed 020/30
to 2 072 93p back 252
  bed 080/50
to 3 000 60p back 180
  bed 110/60
close 1 233 142p
"""
)
"""The same walk past the key's station 2, so that its 2 and 3 are the key's 3 and 4."""


def paired(comparison):
    return {one.station: one.key for one in comparison.standing.pairs}


def test_a_station_skipped_is_told_by_the_shape_and_costs_a_correct_party_nothing():
    found = held(SKIPPED, KEY)
    assert paired(found) == {"1": "1", "2": "3", "3": "4"}
    assert {one.by for one in found.standing.pairs} == {PairedBy.SHAPE}
    scored = {one.part: (one.scored, one.of) for one in found.marks}
    assert scored[Part.ATTITUDES] == (25.0, 25.0)
    assert scored[Part.SHAPE] == (15.0, 15.0)
    assert Part.LOCATION not in scored
    assert found.causes == ()
    assert found.apart == ()
    assert any("its numbers are not the key's" in note for note in found.notes)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("", ""),
        ("090 60p back 270", "090 30p back 270"),  # one leg by half its paces
        ("pace double 1.5 m", "pace double 0.75 m"),  # all of them
        ("bearings true", "bearings magnetic\ndeclination 20 W, 2026, map margin"),
    ],
)
def test_a_slip_does_not_make_numbers_another_partys(old, new):
    log = KEY.replace("grid EPSG:25833\ncontrol 1 512300 E 6712400 N ±5 gps\n", "").replace(old, new)
    found = held(log, KEY)
    assert paired(found) == {one: one for one in "1234"}
    assert {one.by for one in found.standing.pairs} == {PairedBy.NAME}


def test_a_square_whose_mirror_image_fits_nothing_is_judged():
    """The best fit of a square on its mirror image has the scale 0; the numbers of this one are walked the other way."""
    square = HEAD + "\nat 1\nto 2 090 60p\nto 3 000 60p\nto 4 270 60p\nclose 1 180 60p\n"
    other = HEAD + "\nat 1\nto 2 000 60p\nto 4 090 60p\nto 3 180 60p\nclose 1 270 60p\n"
    found = held(other, square.replace("pace", "grid EPSG:25833\ncontrol 1 512300 E 6712400 N\npace"))
    assert set(paired(found)) == set("1234")


LOOP = (
    HEAD + "\nat 1\nto 2 090 80p\nto 3 045 50p\nto 4 000 60p\nto 5 290 70p\nto 6 260 60p\nclose 1 181 120p\n"
)
RENAMED = {"1": "11", "2": "4", "3": "7", "4": "2", "5": "1", "6": "5"}


def renamed(log, names):
    """The log with its stations called otherwise; distances and bearings as they are."""
    rows = []
    for row in log.splitlines():
        words = row.split(" ")
        if words[0] in {"at", "to", "close"}:
            words[1] = names[words[1]]
        rows.append(" ".join(words))
    return "\n".join(rows) + "\n"


def with_control(log, name):
    return log.replace("pace", f"grid EPSG:25833\ncontrol {name} 512300 E 6712400 N\npace")


@pytest.mark.parametrize("framed", [False, True])
def test_a_log_numbered_anew_with_a_leg_too_long_is_paired_by_shape_and_that_leg_alone_told(framed):
    log = renamed(LOOP, RENAMED).replace("045 50p", "045 117p")
    if framed:
        log = with_control(log, "11")
    found = held(log, with_control(LOOP, "1"))
    assert paired(found) == {new: old for old, new in RENAMED.items()}
    assert {one.by for one in found.standing.pairs} == {PairedBy.SHAPE}
    told = [*(one.span.line for one in found.causes), *(one.span.line for one in found.apart)]
    assert [log.splitlines()[line - 1] for line in told] == ["to 7 045 117p"]
    assert any("the shape of the walk" in note for note in found.notes)
    assert any("2 is the key's 4" in note or "4 is the key's 2" in note for note in found.for_leader)


def test_names_that_share_nothing_are_paired_by_shape():
    names = dict(zip("123456", ("A1", "A2", "A3", "A4", "A5", "A6"), strict=True))
    found = held(renamed(LOOP, names), with_control(LOOP, "1"))
    assert paired(found) == {new: old for old, new in names.items()}
    assert (found.causes, found.apart) == ((), ())


@pytest.mark.parametrize("side", ["060", "061"])
def test_a_loop_of_four_walked_the_other_way_round_is_paired_by_shape_and_told(side):
    square = HEAD + "\nat 1\nto 2 090 60p\nto 3 000 60p\nto 4 270 60p\nclose 1 180 60p\n"
    other = HEAD + f"\nat 1\nto 2 000 {side}p\nto 3 090 60p\nto 4 180 60p\nclose 1 270 60p\n"
    found = held(other, with_control(square, "1"))
    assert paired(found) == {"1": "1", "2": "4", "3": "3", "4": "2"}
    assert any("the other way round" in note for note in found.notes)
    assert (found.causes, found.apart) == ((), ())
    shape = next(one for one in found.marks if one.part is Part.SHAPE)
    assert shape.scored == shape.of


@pytest.mark.parametrize("of", ["45p", "117p"])
def test_one_wrong_leg_does_not_make_numbers_another_partys(of):
    found = held(LOOP.replace("000 60p", f"000 {of}"), with_control(LOOP, "1"))
    assert {one.by for one in found.standing.pairs} == {PairedBy.NAME}
    assert [one.span.line for one in (*found.causes, *found.apart)] == [
        LOOP.splitlines().index("to 4 000 60p") + 1
    ]


def test_a_turn_that_no_declination_does_is_told_the_leader():
    turned = LOOP
    for old, new in (("090 80p", "190 80p"), ("045 50p", "145 50p"), ("000 60p", "100 60p"), ("290 70p", "030 70p"), ("260 60p", "000 60p"), ("181 120p", "281 120p")):  # fmt: skip
        turned = turned.replace(old, new)
    found = held(turned, with_control(LOOP, "1"))
    assert {one.by for one in found.standing.pairs} == {PairedBy.NAME}
    assert (found.causes, found.apart) == ((), ())
    assert any("turned by +100°" in note for note in found.for_leader)


def test_a_log_numbered_anew_and_paced_in_feet_is_paired_by_shape_and_feet_told_alone():
    log = renamed(LOOP, RENAMED).replace("pace double 1.5 m", "pace double 4.92 m")
    found = held(log, with_control(LOOP, "1"))
    assert paired(found) == {new: old for old, new in RENAMED.items()}
    assert [one.cause for one in found.causes] == ["feet taken for metres"]
    assert found.apart == ()


@pytest.mark.parametrize("second", ["015 75p", "350 45p"])
def test_no_two_stations_of_a_log_are_one_of_the_keys(second):
    """A loop walked the other way round with a leg that is not the key's."""
    key = HEAD + "\nat 1\nto 2 080 60p\nto 3 010 69p\nto 4 262 70p\nclose 1 182 69p\n"
    other = HEAD + f"\nat 1\nto 2 {second}\nto 3 082 70p\nto 4 190 69p\nclose 1 260 60p\n"
    pairs = paired(held(other, with_control(key, "1")))
    assert {"2": "4", "3": "3", "4": "2"}.items() <= pairs.items()
    assert len(set(pairs.values())) == len(pairs)


@pytest.mark.in_turn
@pytest.mark.parametrize("seed", some(range(8), 4))
@pytest.mark.parametrize("way", [1, -1])
def test_names_shared_by_chance_pair_nothing_and_hang_nothing(seed, way):
    """Begun at another stop, numbered from there: the first station is called as the key's, and lies elsewhere."""
    ground = Ground(seed)
    order = [(4 + way * at) % ground.count for at in range(ground.count)]
    names = {stop: str(at + 1) for at, stop in enumerate(order)}
    found = round_held(ground.walk(("party", seed), order=order, names=names), ground.walk(("key", seed)))
    assert {one.station: one.key for one in found.standing.pairs} == {
        names[stop]: str(stop + 1) for stop in order
    }
    marks = {one.part: one.scored / one.of for one in found.marks}
    assert Part.LOCATION not in marks
    assert marks[Part.SHAPE] == 1.0
    assert found.causes == ()
    assert found.apart == ()


@pytest.mark.every(2)
@pytest.mark.parametrize(("seed", "turn"), each(range(3), [-12, 9, 14]))
def test_a_walk_that_is_turned_is_paired_by_its_shape_under_other_names(seed, turn):
    ground = Ground(seed)
    names = {at: f"S{at + 1}" for at in range(ground.count)}
    found = round_held(ground.walk((seed, "P"), names=names, bearings=turn), ground.walk((seed, "K")))
    assert {one.station: one.key for one in found.standing.pairs} == {
        name: str(at + 1) for at, name in names.items()
    }


def test_walks_of_two_valleys_are_not_paired_by_turning_one():
    ground, other = Ground(3), Ground(17)
    names = {at: f"S{at + 1}" for at in range(ground.count)}
    with pytest.raises(NoSharedStationError):
        round_held(ground.walk((3, "P"), names=names), other.walk((17, "K")))
