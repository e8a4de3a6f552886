"""Letters of units: inside their ground while any size of them has room there."""

import pytest
from shapely import LineString, box, union_all

from traverse.sheet.map.halo import Grounds
from traverse.sheet.map.on_page import DrawnArea
from traverse.sheet.map.unit_letters import letter_areas
from traverse.sheet.paper.labels import Taken
from traverse.sheet.paper.page import Box, Text
from traverse.sheet.paper.style import HEAD, LARGE


@pytest.mark.parametrize(
    ("high", "size_pt", "leaders"),
    [(6.0, LARGE, 0), (2.6, HEAD, 0), (1.8, LARGE, 1)],
)
def test_letters_of_a_narrow_arm_are_smaller_before_they_stand_outside(high, size_pt, leaders):
    arm = box(20, 50, 34, 50 + high)
    area = DrawnArea(unit="Sg", covered=False, queried=False, parts=(arm,))
    taken = Taken(Box(x=0.0, y=0.0, width=100.0, height=100.0))
    drawn = letter_areas([area], arm, taken, Grounds((), {})).items
    (letters,) = [one for one in drawn if isinstance(one, Text)]
    assert letters.size_pt == size_pt
    assert len(drawn) == 1 + leaders
    assert (arm.bounds[1] < letters.at[1] < arm.bounds[3]) is not bool(leaders)


def test_a_leader_crosses_no_ground_of_others_where_another_way_is_free():
    """All that is near on one side of the arm is another unit's: the letters stand on the other."""
    arm, other = box(20, 50, 34, 51.8), box(10, 53, 44, 60)
    taken = Taken(Box(x=0.0, y=0.0, width=100.0, height=100.0))
    area = DrawnArea(unit="Sg", covered=False, queried=False, parts=(arm,))
    drawn = letter_areas([area], union_all([arm, other]), taken, Grounds((), {})).items
    (letters,) = [one for one in drawn if isinstance(one, Text)]
    (leader,) = [one for one in drawn if not isinstance(one, Text)]
    (_, x0, y0), (_, x1, y1) = leader.commands
    assert letters.at[1] < arm.bounds[1]
    assert not LineString([(x0, y0), (x1, y1)]).intersects(other)
