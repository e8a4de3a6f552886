"""How lines of the map lie to a leg, to a course and along themselves: small figures worked out by hand."""

import math

import pytest
from shapely import LineString

from traverse.ground.crossed.computed_bends import _step
from traverse.ground.crossed.edge_to_edge import _ASIDE_SHARE, _gets_aside
from traverse.ground.unit_parting import _keeps_to

AT = (700.0, 250.0)


def laid(leg_deg, *along_and_aside):
    """A line by metres along a leg from the place, and to its right."""
    way = math.radians(leg_deg)
    return LineString(
        (
            AT[0] + along * math.sin(way) + aside * math.cos(way),
            AT[1] + along * math.cos(way) - aside * math.sin(way),
        )
        for along, aside in along_and_aside
    )


@pytest.mark.parametrize("leg_deg", [37, 160, 251, 342])
@pytest.mark.parametrize(("aside_m", "gets_aside"), [(0.9, False), (-0.9, False), (1.1, True), (-1.1, True)])
def test_a_line_gets_aside_of_a_leg_by_a_share_of_half_the_band(leg_deg, aside_m, gets_aside):
    far = aside_m * _ASIDE_SHARE * 10.0
    line = laid(leg_deg, (-40.0, 0.0), (0.0, 0.0), (40.0, far))
    assert _gets_aside(line, AT, leg_deg, 10.0) is gets_aside


@pytest.mark.parametrize(("along_m", "keeps"), [(55.0, True), (45.0, False)])
@pytest.mark.parametrize("course_deg", [37, 251])
def test_a_line_keeps_to_a_course_that_half_of_it_runs_about_as(course_deg, along_m, keeps):
    """Of 100 m so many along the course, and the rest square to it."""
    course = laid(course_deg, (0.0, 0.0), (10.0, 0.0))
    line = laid(course_deg, (0.0, 0.0), (along_m, 0.0), (along_m, 100.0 - along_m))
    assert _keeps_to(course, line) is keeps
    # Whichever end it is drawn from.
    assert _keeps_to(course, LineString(line.coords[::-1])) is keeps


def test_the_direction_of_a_line_is_that_from_its_first_point_to_its_last():
    """Of a 3-4-5 triangle."""
    assert _step(LineString([(705.0, 250.0), (706.0, 253.0), (708.0, 254.0)])) == pytest.approx((0.6, 0.8))
