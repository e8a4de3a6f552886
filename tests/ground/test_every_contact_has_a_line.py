"""Every contact that was seen where the walk crossed it has its own line across the ground looked at, and parts it there."""

import math
from itertools import product

import numpy as np
import pytest
import shapely

from tests.invented.judge import compiled_walk
from tests.invented.models import KINDS, make
from tests.invented.walker import walked
from tests.thorough import some
from traverse.compile import compile_log, map_ground
from traverse.log.items import Certainty, HowMet
from traverse.source import Source
from traverse.trade import TRACE_LOST_DEG

HEAD = (
    "notation 1\nbearings true\nattitudes dip-direction\nunit Bb Upper ; Jurassic\nunit Aa Lower ; Triassic\n"
)


def lines_missing(trav):
    """Lines of the log whose contact is not drawn where it was met, or is shorter than half the band."""
    laid = map_ground(trav)
    band, half_m = laid.ground.map.band, laid.ground.width.half_m
    walls = {wall.booked.span for one in band.narrow for wall in one.body.walls}
    missing = []
    for one in laid.geology.contacts:
        seen = one.certainty in {Certainty.CERTAIN, Certainty.APPROXIMATE} and one.met is HowMet.CROSSED
        if not seen or one.booked.span in walls:
            continue
        alike = shapely.union_all(
            [
                other.line
                for other in band.crossed
                if (other.contact.kind, other.contact.younger, other.contact.older)
                == (one.kind, one.younger, one.older)
            ]
        )
        at = shapely.Point(one.place.east_m, one.place.north_m)
        pieces = shapely.get_parts(shapely.line_merge(alike)).tolist()
        own = min(pieces, key=lambda piece: piece.distance(at), default=None)
        if own is None or own.distance(at) > max(0.25 * half_m, 1.5 * one.sd_m) or own.length < 0.5 * half_m:
            missing.append(one.booked.span.line)
    return missing


USUAL = [(kind, at % 4) for at, kind in enumerate(KINDS) if at % 2 == 0]


@pytest.mark.every(2)
@pytest.mark.parametrize(("kind", "seed"), some(product(KINDS, range(4)), USUAL))
def test_on_invented_ground(kind, seed):
    assert lines_missing(compiled_walk(walked(make(kind, seed))).trav) == []


def across(bed, certainty, *, slope=14, kink=7):
    """A walk down into a valley and up again, with one contact on both sides."""
    lies = f"  bed {bed}\n" if bed else ""
    return (
        f"{HEAD}at 1\n  unit Bb\n{lies}to 2 {90 + kink:03d} 80m -{slope}\nalong 50m\n  contact Bb/Aa {certainty}\n"
        f"at 2\n  unit Aa\n{lies}to 3 {90 - kink:03d} 80m +{slope}\nalong 30m\n  contact Bb/Aa {certainty}\n"
        f"at 3\n  unit Bb\n{lies}sheet band 8 m\n"
    )


@pytest.mark.every(3)
@pytest.mark.parametrize("certainty", ["certain", "approximate"])
@pytest.mark.parametrize("bed", ["", "000/03", "000/06", "000/12", "000/30", "045/08", "090/05"])
def test_met_on_both_sides_of_a_valley_each_side_has_its_own_line(compile_text, bed, certainty):
    """The walk runs along the strike: a line from side to side would lie over the stream, which is in the lower unit."""
    trav = compile_text(across(bed, certainty)).trav
    assert lines_missing(trav) == []
    laid = map_ground(trav).ground.map.band
    floor = shapely.Point(79.0, -9.7).buffer(6.0)
    assert not any(one.line.intersects(floor) for one in laid.crossed)
    (lower,) = [shapely.union_all(list(one.parts)) for one in laid.areas if one.unit == "Aa"]
    assert lower.contains(floor)
    for one, rise in zip(laid.crossed, (-1.0, 1.0), strict=True):
        (x0, y0), (x1, y1) = one.line.coords[0], one.line.coords[-1]
        true_deg = trace_deg(bed or "flat", rise * math.tan(math.radians(14.0)))
        off_deg = math.remainder(math.degrees(math.atan2(x1 - x0, y1 - y0)) - true_deg, 180.0)
        # How the ground slopes across the walk is a guess: what is not lost is within one and a half of the most it may be off.
        assert not one.course_known or abs(off_deg) < 1.5 * TRACE_LOST_DEG


def trace_deg(bed, rise):
    """How a plane comes out on ground that rises to the east alone: along the line that both hold.

    Source: their line is square to both normals; any text of structural geology.
    """
    way, dip = (0.0, 0.0) if bed == "flat" else (math.radians(float(part)) for part in bed.split("/"))
    plane = (math.sin(dip) * math.sin(way), math.sin(dip) * math.cos(way), math.cos(dip))
    east, north, _ = np.cross(plane, (-rise, 0.0, 1.0))
    return math.degrees(math.atan2(east, north))


def test_what_is_drawn_square_though_beds_were_read_is_named_under_the_map(compile_text):
    """Beds that dip as the ground falls come out anywhere there; on the other bank they cross it, steep ones alone surely.

    How the ground slopes along the valley nobody walked.
    """
    laid = map_ground(compile_text(across("093/13", "certain")).trav)
    assert [one.course_known for one in laid.ground.map.band.crossed] == [False, False]
    steeper = map_ground(compile_text(across("093/35", "certain")).trav)
    assert [one.course_known for one in steeper.ground.map.band.crossed] == [False, True]


def test_on_level_ground_a_walk_that_bends_across_a_contact_and_back_meets_it_in_one_line(compile_text):
    """Beds at 45°: nothing forbids the line along their strike, with the younger unit north of it all along."""
    laid = map_ground(compile_text(across("000/45", "certain", slope=0, kink=13)).trav).ground.map.band
    first, second = laid.crossed
    assert first.line.coords[-1] == second.line.coords[-1]


@pytest.mark.every(2)
@pytest.mark.parametrize("bed", ["flat", "190/04", "010/60"])
@pytest.mark.parametrize("apart_m", [0.0, 1.0, 4.0])
def test_two_parties_that_meet_one_contact_on_one_leg_keep_its_line(bed, apart_m):
    """One walks it westward, the other eastward."""
    walk = "at {0}1\n  unit Bb\n  bed {1}\nto {0}2 {2} 100m\nalong {3:g}m\n  contact Bb/Aa certain\nat {0}2\n  unit Aa\n"
    back = "at {0}1\n  unit Aa\n  bed {1}\nto {0}2 {2} 100m\nalong {3:g}m\n  contact Bb/Aa certain\nat {0}2\n  unit Bb\n"
    files = {
        "east.trav": HEAD + walk.format("", bed, "086", 60.0),
        "west.trav": HEAD + back.format("", bed, "266", 40.0 + apart_m),
    }
    camp = (
        "notation 1\nbearings true\nlog east.trav as E\nlog west.trav as W\ntie E-1 to W-2\ntie E-2 to W-1\n"
        "sheet band 15 m\n"
    )
    trav = compile_log(Source(name="camp.trav", text=camp), load=lambda name: files[name].encode()).trav
    assert lines_missing(trav) == []
    laid = map_ground(trav).ground.map.band
    drawn = shapely.line_merge(shapely.union_all([one.line for one in laid.crossed]))
    assert drawn.geom_type == "LineString"
    assert sum(one.line.length for one in laid.crossed) == pytest.approx(drawn.length, abs=0.1)
