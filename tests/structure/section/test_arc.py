"""Arcs: constant distance from the centre, and the core where they end."""

import math
from itertools import pairwise

import pytest

from traverse.structure.section.arc import Arcs, centre
from traverse.structure.section.dip_domains import SectionReading
from traverse.trade import AS_READ_M


def reading(x, angle, z=0.0):
    return SectionReading(at=(x, z), younging_rad=math.radians(angle))


def test_normals_of_a_circle_meet_in_its_centre():
    """Beds tangent to circles about (100, 150): at distance x the normal points to the centre."""
    beds = [reading(x, math.degrees(math.atan2(100.0 - x, 150.0))) for x in (0.0, 60.0, 140.0, 200.0)]
    for one, other in pairwise(beds):
        point, _, _ = centre(one, other)
        assert point == pytest.approx((100.0, 150.0))
    path = Arcs(readings=tuple(beds)).trace((0.0, 0.0), 1.0, reach_m=200.0)
    radius = math.hypot(100.0, 150.0)
    inside = [point for point in path.points if point[0] <= 200.0]
    assert len(inside) > 10
    for point in inside:
        assert math.dist(point, (100.0, 150.0)) == pytest.approx(radius)


def test_an_arc_with_its_centre_between_the_beds_ends_in_the_core():
    """Limbs that dip the same way, one upside down: the normals meet on opposite sides of the two beds."""
    path = Arcs(readings=(reading(0.0, 28), reading(70.0, -114))).trace((10.0, 0.0), 1.0, reach_m=300.0)
    assert path.no_space


def test_beyond_its_centre_a_bed_has_no_arc():
    beds = Arcs(readings=(reading(0.0, 45), reading(100.0, -45)))
    # Centre 50 above the middle: what comes out over it at 30 m height has a radius; nothing above 50 has.
    assert beds.trace((20.0, 0.0), 1.0, reach_m=100.0).no_space is False
    assert beds.trace((50.0, 60.0), 1.0, reach_m=100.0).no_space


def test_like_dips_are_a_straight_panel():
    path = Arcs(readings=(reading(0.0, 30), reading(100.0, 30.4))).trace((50.0, 0.0), 1.0, reach_m=100.0)
    angles = {
        round(math.degrees(math.atan2(one[1] - other[1], other[0] - one[0])))
        for one, other in pairwise(path.points)
    }
    assert angles == {30}


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_where_arcs_have_no_room_a_bed_still_begins_as_it_was_read(sense):
    """Straight on along the nearer reading, for the stretch that a reading is believed over."""
    readings = (reading(0.0, 28), reading(70.0, -114))
    path = Arcs(readings=readings).trace((10.0, 0.0), sense, reach_m=300.0)
    assert path.no_space
    (start, end) = path.points
    assert math.dist(start, end) == pytest.approx(AS_READ_M)
    lean = math.radians(28)
    assert end[0] - start[0] == pytest.approx(sense * AS_READ_M * math.cos(lean))
    assert end[1] - start[1] == pytest.approx(-sense * AS_READ_M * math.sin(lean))
