"""A contact is held against the key's line, not against the point where the leader happened to cross it."""

import numpy as np
import pytest

from tests.compare.camp import held
from traverse.compare.records import Grade, Part

HEAD = """notation 1
bearings true
attitudes dip-right
precision bearing 1, tape 1%
unit Sh Reed Shale ; Jurassic
unit Ss Pike Sandstone ; Triassic
control 1 1000 E 2000 N

"""
KEY = (
    HEAD
    + """at 1
  unit Ss
  bed 300/40

to 2 000 100m level
along 50m
  contact Sh/Ss certain
at 2
  unit Sh
  bed 300/40

to 3 090 80m level
at 3
  unit Sh
  bed 300/40

to 4 180 100m level
along 96m
  contact Sh/Ss certain
at 4
  unit Ss
  bed 300/40

close 1 270 80m level
"""
)
"""An upright border would run from (1000, 2050) to (1080, 2004), along 120 degrees: the strike of the beds, on level ground."""


def party(along_m):
    """Goes north half-way between the key's two legs, and books the border so far along."""
    return (
        HEAD
        + f"""at 1
  unit Ss
  bed 300/40

to 5 090 40m level
  unit Ss

to 6 000 100m level
along {along_m}m
  contact Sh/Ss certain
at 6
  unit Sh

to 2 270 40m level
at 2
  unit Sh
  bed 300/40
"""
    )


def off(along_m):
    """Square to the line through the key's two places, by hand."""
    first, second = np.array([1000.0, 2050.0]), np.array([1080.0, 2004.0])
    way = (second - first) / np.hypot(*(second - first))
    here = np.array([1040.0, 2000.0 + along_m]) - first
    return abs(float(way[0] * here[1] - way[1] * here[0]))


@pytest.mark.parametrize("along_m", [27, 31, 45, 60])
def test_a_contact_between_two_places_of_the_key_is_off_by_the_square_to_their_line(along_m):
    """27 m along is on the line, and 46 m from the nearer of the two places."""
    met = [one for one in held(party(along_m), KEY).standing.contacts if one.log is not None]
    assert [round(one.moved_m, 1) for one in met] == [pytest.approx(off(along_m), abs=0.6)]


def test_on_the_line_it_has_full_marks_and_far_off_it_none():
    def grade(along_m):
        (part,) = [one for one in held(party(along_m), KEY).marks if one.part is Part.CONTACTS]
        return next(item.grade for item in part.items if item.grade is not Grade.MISSING)

    assert off(27) < 1.0
    assert grade(27) is Grade.FULL
    assert off(60) > 25.0
    assert grade(60) is not Grade.FULL
