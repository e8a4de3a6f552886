"""A log and a key without a known point in common, whose numbers are not the same stations."""

import pytest

from tests.compare.camp import held
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
