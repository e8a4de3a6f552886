"""Where units meet, what a line parts there, and how lines of the ground run on: boxes and curves of the test's own."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from shapely import LineString, Point, box

from traverse.ground import lines_met
from traverse.ground.records import CrossedContact, UnitArea
from traverse.ground.unit_parting import _Meetings, _share_out, meeting_units, part_units
from traverse.log.items import ContactKind

HALF_M = 20.0
AREAS = (
    UnitArea(unit="Aa", covered=False, parts=(box(0.0, 0.0, 100.0, 100.0),)),
    UnitArea(unit="Bb", covered=False, parts=(box(100.0, 0.0, 160.0, 100.0), box(160.0, 0.0, 200.0, 100.0))),
    UnitArea(unit=None, covered=True, parts=(box(0.0, 100.0, 200.0, 140.0),)),
)


def contact(line, at, *, younger="Aa", older="Bb", kind=ContactKind.CONTACT, **more):
    return CrossedContact(
        contact=SimpleNamespace(younger=younger, older=older, kind=kind),
        at=at,
        line=LineString(line),
        course_known=True,
        **more,
    )


def ends(line):
    return sorted((round(x, 3), round(y, 3)) for x, y in (line.coords[0], line.coords[-1]))


def test_a_line_that_parts_its_units_stays_as_it_is():
    one = contact([(100.0, 30.0), (100.0, 70.0)], (100.0, 50.0))
    assert part_units([one], AREAS, HALF_M) == (one,)


def test_one_that_runs_through_one_unit_runs_where_its_units_meet():
    """From edge to edge of both, though it was met 1.4 m beside that; beyond 1.5 m only what it parts is drawn."""
    for off, moved in ((1.4, True), (1.6, False)):
        one = contact([(100.0 - off, 50.0), (60.0, 50.0)], (100.0 - off, 50.0))
        (found,) = part_units([one], AREAS, HALF_M)
        assert (found.line.bounds == pytest.approx((100.0, 0.0, 100.0, 100.0), abs=0.03)) is moved
        assert (found.tied, found.between) == (False, False)
        # Square to its strike it keeps no course.
        assert not moved or not found.course_known


def test_several_that_meet_in_one_line_have_a_piece_each_in_their_order():
    """Thirds of it, the outer ones ending at the inner one."""
    one = LineString([(0.0, 0.0), (0.0, 90.0)])
    found = [contact(one.coords, (0.0, at)) for at in (80.0, 10.0, 45.0)]
    _share_out(found, [0, 1, 2])
    assert [ends(each.line) for each in found] == [
        [(0.0, 60.0), (0.0, 90.0)],
        [(0.0, 0.0), (0.0, 30.0)],
        [(0.0, 30.0), (0.0, 60.0)],
    ]
    assert [each.between for each in found] == [False, False, True]
    assert all(each.tied for each in found)
    # What ends at another ends there last.
    assert found[0].line.coords[-1] == (0.0, 60.0)
    assert found[1].line.coords[-1] == (0.0, 30.0)


def test_a_line_is_in_one_unit_where_it_runs_far_inside_of_it():
    from traverse.trade import IN_ONE_UNIT_SHARE

    meetings = _Meetings(AREAS, HALF_M)
    most = IN_ONE_UNIT_SHARE * HALF_M
    # Four hundredths of half the band in from the edge of Bb, whose two parts are one.
    inside = 100.0 + 0.04 * HALF_M
    for long, far in ((most - 0.1, False), (most + 0.1, True)):
        assert meetings.in_one_unit(LineString([(90.0, 50.0), (90.0 - 0.0, 50.0 + long)])) is far
        assert meetings.in_one_unit(LineString([(100.0, 50.0), (inside + long, 50.0)])) is far
    assert not meetings.in_one_unit(LineString([(100.0, 0.0), (100.0, 100.0)]))
    assert not meetings.in_one_unit(LineString([(0.0, 120.0), (200.0, 120.0)]))


def test_of_a_tied_line_what_parts_ground_about_its_place_is_kept():
    """Along the border for 40 m, then on into Bb."""
    one = contact([(100.0, 20.0), (100.0, 60.0), (180.0, 60.0)], (100.0, 40.0), tied=True)
    (found,) = part_units([one], AREAS, HALF_M)
    assert found.line.bounds == pytest.approx((100.0, 20.0, 100.8, 60.0))
    assert found.tied


def test_units_meet_on_the_map_and_on_sections():
    """Within a metre of each other; not with themselves, nor with ground of no unit."""
    band = SimpleNamespace(
        areas=[*AREAS, UnitArea(unit="Cc", covered=False, parts=(box(200.9, 0.0, 220.0, 9.0),)), UnitArea(unit="Dd", covered=False, parts=(box(221.1, 0.0, 230.0, 9.0),))],
        narrow=[SimpleNamespace(body=SimpleNamespace(unit="Xx"), line=LineString([(10.0, -0.5), (10.0, -9.0)]))],
    )  # fmt: skip
    cut = SimpleNamespace(
        fills=[
            SimpleNamespace(unit="Dd", area=box(0, 0, 5, 5)),
            SimpleNamespace(unit="Aa", area=box(5, 0, 9, 5)),
        ]
    )
    assert meeting_units(band, []) == (("Aa", "Bb"), ("Aa", "Xx"), ("Bb", "Cc"))
    assert meeting_units(None, [cut]) == (("Aa", "Dd"),)
    assert meeting_units(band, [cut]) == (("Aa", "Bb"), ("Aa", "Dd"), ("Aa", "Xx"), ("Bb", "Cc"))


# --- lines of the ground ----------------------------------------------------------------------------------------


def way(deg):
    return (math.sin(math.radians(deg)), math.cos(math.radians(deg)))


def met(east, north, deg):
    return lines_met._LineMet(at=(east, north), way=way(deg))


@pytest.mark.parametrize("turn", [0.0, 100.0, 220.0])
def test_a_stream_passes_the_places_met_in_the_direction_that_it_has_there(turn):
    """A cubic curve: its ends, and their tangents of a third of the way between."""
    first, last = met(0.0, 0.0, turn + 10.0), met(*(60.0 * part for part in way(turn)), turn - 25.0)
    course = lines_met._course(None, None, [first, last], None, HALF_M)
    ((one, other, at),) = course.curves
    assert at == last.at
    assert np.subtract(one, first.at) == pytest.approx(20.0 * np.array(first.way))
    assert np.subtract(last.at, other) == pytest.approx(20.0 * np.array(last.way))
    corners = np.array([first.at, one, other, last.at])
    for share, point in zip(np.linspace(0.0, 1.0, 13), course.line.coords[1:-1], strict=True):
        row = corners
        while len(row) > 1:
            row = row[:-1] * (1.0 - share) + row[1:] * share
        assert point == pytest.approx(tuple(row[0]))
    # On beyond both ends along the way that it runs there.
    from traverse.trade import COURSE_BEYOND

    assert np.subtract(course.start, first.at) == pytest.approx(-COURSE_BEYOND * HALF_M * np.array(first.way))
    assert np.subtract(course.end, last.at) == pytest.approx(COURSE_BEYOND * HALF_M * np.array(last.way))


@pytest.mark.parametrize(("off", "runs_on"), [(30.0, None), (49.0, None), (51.0, 50.0), (300.0, 50.0)])
@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_a_line_of_the_ground_ends_in_a_band_that_it_does_not_leave(off, runs_on, sense):
    """Two and a half halves of the band; else to its edge and beyond it."""
    from traverse.trade import COURSE_BEYOND

    x, y = way(40.0)
    whole = LineString([(-off * x, -off * y), (off * x, off * y)]).buffer(0.5, cap_style="flat")
    found = lines_met._runs_on(met(0.0, 0.0, 40.0), sense, whole, HALF_M)
    assert found == pytest.approx(off + COURSE_BEYOND * HALF_M if runs_on is None else runs_on)


def test_places_of_a_line_follow_each_other_along_it():
    places = [met(10.0, 40.0, 350.0), met(0.0, 0.0, 20.0), met(5.0, 90.0, 30.0)]
    assert [one.at[1] for one in lines_met._along(places)] == [0.0, 40.0, 90.0]
    assert shapely.Point(places[0].at).distance(Point(10.0, 40.0)) == 0.0
