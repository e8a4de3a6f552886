"""A contact carried past the fault at which its block ends comes out only where no fold lies between."""

import math
from types import SimpleNamespace

import pytest

from traverse.log.records import Projection
from traverse.structure.section.inputs import FaultLine, SectionInput, Start
from traverse.structure.section.records import PointKind


def seated(place, at, comes_out):
    """The contacts that are left of one carried to a `place` and drawn `at` the ground by its dip; the fault lies at 0 on the ground."""
    given = SectionInput.__new__(SectionInput)
    point = SimpleNamespace(kind=PointKind.CONTACT, apparent_dip_deg=None, contact=SimpleNamespace())
    given.near, given.single = 12.0, [Start(points=[point], at=at, ahead=1, block=1)]
    given.covers = lambda one: False
    given.place = lambda one: place
    given.on_ground = lambda one: one[1] == 0.0
    given._block = lambda one, met=False: int(one[0] > one[1])
    given._within_ends = lambda one: one
    given._joined = lambda single: single
    given.seat(lambda start, place, past_fault: comes_out if past_fault else None)
    return [start.at for start in given.starts]


def test_one_that_its_beds_bring_out_elsewhere_or_nowhere_is_not_on_the_section():
    place, at = (20.0, 50.0), (110.0, 0.0)
    assert seated(place, at, (112.0, 0.0)) == [at]
    assert seated(place, at, (160.0, 0.0)) == []
    assert seated(place, at, None) == []


def out_of_fault(at, way, *, fault_way=(0.26, -0.966)):
    """Where a contact carried to a place before the fault, which comes out at 100 on level ground, leaves it under that."""
    given = SectionInput.__new__(SectionInput)
    fault = FaultLine(points=[], at=(100.0, 0.0), way=fault_way, measured=True)
    given.faults = [fault]
    given.place = lambda one: at
    given.way_at = lambda one, block: way
    given.ahead = lambda one: 1
    given._block = lambda place, met=False: int(place[0] > fault.distance_at(place[1]))
    given.plane = SimpleNamespace(
        reach_m=400.0, at=lambda x: 0.0, holds=lambda place: -60.0 <= place[1] <= 60.0
    )
    return given._out_of_fault(SimpleNamespace(distance_m=at[0], up_m=at[1]))


def test_one_met_beyond_a_fault_that_dips_steeper_comes_out_of_it_under_the_ground():
    """At 45° from 4 m before it: where its line and the fault's meet, by their equations."""
    start = out_of_fault((96.0, 0.0), (math.sqrt(0.5), -math.sqrt(0.5)))
    down = 4.0 / (1.0 - 0.26 / 0.966)
    assert start.at == pytest.approx((96.0 + down, -down), abs=0.1)
    assert start.block == 1
    # From beyond it, a contact of the block before.
    other = out_of_fault((104.0, 0.0), (-math.sqrt(0.5), -math.sqrt(0.5)), fault_way=(-0.26, -0.966))
    assert other.at == pytest.approx((104.0 - down, -down), abs=0.1)
    assert other.block == 0


def test_one_that_leads_away_from_it_or_meets_it_below_what_is_drawn_is_not_on_the_section():
    assert out_of_fault((96.0, 0.0), (-math.sqrt(0.5), -math.sqrt(0.5))) is None
    assert out_of_fault((40.0, 0.0), (math.sqrt(0.5), -math.sqrt(0.5))) is None


def block_met(place, *, plunge, at):
    """The block of something met at a place on a map with a fault north to south at east 100; carried to the section `at`."""
    given = SectionInput.__new__(SectionInput)
    contact = SimpleNamespace(
        booked=SimpleNamespace(span="fault"), place=SimpleNamespace(east_m=100.0, north_m=50.0)
    )
    given.faults = [
        FaultLine(
            points=[SimpleNamespace(contact=contact)], at=(100.0, 0.0), way=(-0.5, -0.866), measured=True
        )
    ]
    given.section = SimpleNamespace(
        projection=Projection.PLUNGE if plunge else Projection.SQUARE, line=((0.0, 0.0), (200.0, 0.0))
    )
    given.sides = SimpleNamespace(may_part=lambda span, one, other: (one[0] < 100.0) != (other[0] < 100.0))
    given.place = lambda one: at
    here = SimpleNamespace(place=SimpleNamespace(east_m=place[0], north_m=place[1]))
    return given._block_met(SimpleNamespace(contact=here, attitude=None))


def test_down_a_plunge_a_contact_lies_on_the_side_of_a_fault_that_the_map_has_it_on():
    """Carried 60 m down, west of a fault that dips west, it comes out east of that."""
    assert block_met((90.0, 120.0), plunge=True, at=(90.0, -60.0)) == 0
    assert block_met((110.0, 120.0), plunge=True, at=(60.0, -60.0)) == 1
    assert block_met((90.0, 120.0), plunge=False, at=(90.0, -60.0)) == 1


OVER_A_FOLD = """notation 1
bearings true
attitudes dip-direction
unit Bb Upper ; Triassic
unit Aa Lower ; Permian
at 1
  unit Aa
  bed 090/30
to 2 090 60m level
along 10m
  contact Bb/Aa certain
at 2
  unit Bb
  bed 090/30
to 3 090 40m level
at 3
  bed 270/30
to 4 000 120m level
along 80m
  fault Bb/Bb certain 180/50
at 4
  bed 270/30
to 5 090 100m level
along 50m
  contact Bb/Aa certain
at 5
  unit Aa
  bed 270/30
from 4 to 8 270 40m level
at 8
  bed 090/30
to 6 270 40m level
at 6
  unit Bb
  bed 090/30
to 7 180 120m level
along 40m
  fault Bb/Bb certain 180/50
at 7
  unit Bb
section A-A' from 1 to 5, project plunge
"""
"""A level syncline that runs north at 80 m east, and a fault that runs east through it and dips south."""


def test_beds_carried_down_an_axis_over_a_fault_tell_how_their_block_lies_under_it(compile_text):
    """The beds at 4 and 6 come to it over the block in the south: under the fault their own turns at the axis all the same."""
    (section,) = compile_text(OVER_A_FOLD).geology.sections
    assert [one.label for one in section.behind if one.attitude is not None] == ["4", "6"]
    east = math.hypot(200.0, 120.0) / 200.0
    lines = [
        [point for piece in one.pieces for point in piece.points]
        for one in section.construction.lines
        if any(at == "on leg 4–5 at 50m" for at in (met.booked.address.where for met in one.contacts))
    ]
    (points,) = lines
    low = min(points, key=lambda point: point[1])
    assert low == pytest.approx((80.0 * east, -70.0 * math.tan(math.radians(30.0))), abs=0.5)
    # By hand: west of the axis it rises at 0.495, and ends at the fault, which leaves the ground at 155.5 m and falls at 0.613.
    assert min(points) == pytest.approx((91.25, -39.4), abs=0.3)
