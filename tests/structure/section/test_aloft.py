"""A contact carried off the ground, where the same contact is drawn between two of its outcrops: by hand, in metres."""

from types import SimpleNamespace

import pytest

from traverse.structure.section.joining import aloft_on_lines
from traverse.structure.section.records import PointKind


def start(at_m, up_m, *, pair=("Vb", "Vc"), block=0):
    point = SimpleNamespace(kind=PointKind.CONTACT)
    return SimpleNamespace(points=[point], at=(at_m, up_m), pair=pair, block=block)


def joined(*lines):
    """By both starts of each line, as they are joined."""
    found = {}
    for first, last, points in lines:
        found[first, 1.0] = (last, points)
        found[last, -1.0] = (first, points)
    return found


CREST = ((0.0, 0.0), (100.0, 50.0), (200.0, 0.0))
"""Over an anticline, from outcrop to outcrop."""


def found(*starts, lines, near_m=20.0):
    given = SimpleNamespace(starts=list(starts), near=near_m, on_ground=lambda at: at[1] == 0.0)
    return aloft_on_lines(given, joined(*lines))


@pytest.mark.parametrize(("up_m", "one"), [(35.0, True), (50.0, True), (80.0, False)])
def test_a_place_in_the_air_within_reach_of_the_line_between_two_outcrops_is_that_line(up_m, one):
    """Two arms met it as far apart as on the fold beside, 60 m from limb to limb; they were drawn as a fold of their own."""
    starts = [start(0.0, 0.0), start(70.0, up_m), start(130.0, up_m), start(200.0, 0.0)]
    lines = [(0, 3, CREST), (1, 2, ((70.0, up_m), (100.0, up_m + 15.0), (130.0, up_m)))]
    assert found(*starts, lines=lines) == ({1: 0, 2: 0} if one else {})


def test_no_other_contact_nor_one_across_a_fault_nor_one_with_a_limb_of_its_own_is_that_line():
    ends = start(0.0, 0.0), start(200.0, 0.0)
    lines = [(0, 1, CREST)]
    assert found(*ends, start(100.0, 40.0, pair=("Va", "Vb")), lines=lines) == {}
    assert found(*ends, start(100.0, 40.0, block=1), lines=lines) == {}
    far = start(300.0, 70.0)
    assert found(*ends, start(100.0, 40.0), far, lines=[*lines, (2, 3, ((100.0, 40.0), (300.0, 70.0)))]) == {}
    assert found(*ends, start(100.0, 40.0), far, lines=lines) == {2: 0}
