"""Two intrusive bodies that cross in a section; level ground and planes, worked out by hand."""

from types import SimpleNamespace

import pytest
import shapely

from traverse.compile import section_ground
from traverse.ground.map_bodies import wall_marks

# The dike stands upright from 60 to 70 m east. The sill dips 45° to the east from 40 to 50 m: it is met again by the dike
# 20 m down on its roof's western end, which comes out at 50 m, and the ground is coloured to 40 m.
WALK = """notation 1
bearings true
attitudes dip-right
sheet band 40 m
unit Dk Dike ; {dike} ; intrusive
unit Sl Sill ; {sill} ; intrusive
unit Ss Sandstone ; Silurian
at 1
unit Ss
bed 000/45
to 2 090 100m level
along 40m
contact Sl/Ss certain 000/45
along 50m
contact Sl/Ss certain 000/45
along 60m
contact Dk/Ss certain 000/90
along 70m
contact Dk/Ss certain 000/90
at 2
unit Ss
bed 000/45
section A-A' from 1 to 2
"""
# Corners of what both would have: the sill's roof comes down 10 and 20 m at the dike's walls, its floor 20 and 30 m.
BOTH = shapely.Polygon([(60.0, -10.0), (70.0, -20.0), (70.0, -30.0), (60.0, -20.0)])
LEAST_M = 0.3


def cut_of(compile_text, dike, sill):
    trav = section_ground(compile_text(WALK.format(dike=dike, sill=sill)).trav)
    (cut,) = trav.ground.cuts
    up_m = cut.section.ground_at(50.0)
    return cut, shapely.affinity.translate(BOTH, yoff=up_m)


def coloured(cut, place):
    return {fill.unit for fill in cut.fills if fill.area.buffer(-LEAST_M).intersects(place)}


def ruled_m(cut, unit, place):
    """Metres of the walls of a unit within a place."""
    inner = place.buffer(LEAST_M)
    return sum(
        part.intersection(inner).length for one in cut.lines if one.of.younger == unit for part in one.below
    )


def told(cut):
    return [one.sentence for one in cut.section.limits if one.code == "section-bodies-cross"]


@pytest.mark.parametrize(
    ("dike", "sill"), [("Paleogene", "Paleogene"), ("Eocene", "Paleogene"), ("", "Permian")]
)
def test_neither_is_drawn_through_the_other_where_nothing_tells_which_is_younger(compile_text, dike, sill):
    """Nor are they by the list of units, in which a body may stand anywhere."""
    cut, both = cut_of(compile_text, dike, sill)
    assert coloured(cut, both.buffer(-LEAST_M)) == set()
    assert max(ruled_m(cut, unit, both) for unit in ("Dk", "Sl")) < 8.0 * LEAST_M
    (words,) = told(cut)
    assert words.startswith("Which of Dk and Sl cuts the other was not seen")
    # Beyond it both go on.
    for unit, place in (("Dk", (65.0, -35.0)), ("Sl", (75.0, -30.0)), ("Sl", (55.0, -10.0))):
        at = shapely.Point(place[0], place[1] + cut.section.ground_at(50.0))
        assert coloured(cut, at) == {unit}


@pytest.mark.parametrize(
    ("dike", "sill", "younger", "older"),
    [("Neogene", "Permian", "Dk", "Sl"), ("Permian", "Neogene", "Sl", "Dk")],
)
def test_the_younger_by_its_age_cuts_the_other(compile_text, dike, sill, younger, older):
    cut, both = cut_of(compile_text, dike, sill)
    assert coloured(cut, both.buffer(-LEAST_M)) == {younger}
    # Both walls of the dike lie 10 m high within the sill; the sill's are as wide as the dike, at 45°.
    long_m = 2.0 * (10.0 if younger == "Dk" else 10.0 * 2.0**0.5)
    assert ruled_m(cut, younger, both) == pytest.approx(long_m, abs=8.0 * LEAST_M)
    assert ruled_m(cut, older, both) < 8.0 * LEAST_M
    assert told(cut) == []


def test_below_the_colour_too_the_younger_cuts_walls_that_meet_it_at_no_round_corner(compile_text):
    text = WALK.format(dike="Neogene", sill="Permian").replace("000/45", "007/31").replace("000/90", "013/86")
    (cut,) = section_ground(compile_text(text).trav).ground.cuts
    younger, older = ([one for one in cut.lines if one.of.younger == unit] for unit in ("Dk", "Sl"))
    walls = [part for one in younger for part in one.below]
    inside = shapely.MultiLineString(walls).convex_hull.buffer(-LEAST_M)
    assert len(walls) == 2
    assert sum(part.intersection(inside).length for one in older for part in one.below) < LEAST_M


def test_a_sill_of_known_width_is_no_wedge_where_its_walls_were_read_a_little_apart(compile_text):
    text = WALK.format(dike="Permian", sill="Neogene")
    for dip in (49, 41):
        text = text.replace("contact Sl/Ss certain 000/45", f"contact Sl/Ss certain 000/{dip}", 1)
    (section,) = compile_text(text).geology.sections
    (sill,) = [one for one in section.bodies if one.body.unit == "Sl"]
    ways = [side.way for side in sill.sides]
    # Both as their mean, 45° toward the east.
    assert ways == [pytest.approx((0.5**0.5, -(0.5**0.5)), abs=1e-3)] * 2


def test_a_wall_that_is_drawn_at_the_walk_alone_stands_where_it_was_met_across_the_leg():
    place = SimpleNamespace(east_m=30.0, north_m=70.0, leg_azimuth_deg=60.0)
    (mark,) = wall_marks([SimpleNamespace(walls=[SimpleNamespace(place=place)])], 20.0)
    assert mark.at == (30.0, 70.0)
    (west, south), (east, north) = sorted(mark.line.coords)
    assert ((west + east) / 2.0, (south + north) / 2.0) == pytest.approx((30.0, 70.0))
    # Square to 060: toward 330 and 150.
    assert (north - south) / (east - west) == pytest.approx(-(3.0**0.5), rel=1e-4)
