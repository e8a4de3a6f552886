"""A log that hangs from no known point, held against a key on a local grid."""

import pytest

from tests.compare.round_walks import held
from traverse.compare.records import Part

WALK = """notation 1
traverse {title}
bearings true
attitudes dip-right
pace 1 m
{control}
at 1
to 2 045 100p level
to 3 135 100p level
to 4 225 100p level
close 1 315 100p level
"""
KNOWN = "control 1 1000 E 1000 N 300 m ±4 gps"


@pytest.mark.parametrize(
    ("party", "key", "framed"),
    [("", KNOWN, False), (KNOWN, "", False), (KNOWN, KNOWN, True), ("", "", True)],
    ids=["party has none", "key has none", "both have it", "neither has one"],
)
def test_a_first_station_is_at_no_place_in_a_grid_with_known_points(party, key, framed):
    """The two walks are the same, so no difference of place is one."""
    found = held(WALK.format(title="Party", control=party), WALK.format(title="Key", control=key))

    assert found.standing.framed is framed
    assert (Part.LOCATION in {one.part for one in found.marks}) is framed
    assert all(one.scored == one.of for one in found.marks if one.part is not Part.PROCESS)
    assert not found.for_leader
