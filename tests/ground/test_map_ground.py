"""The ground that a map shows: parted once, in metres, and the same in every window."""

import math
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
import shapely

from tests.sheet.fixture_sheet import compiled
from traverse.command.files import LogFiles, read_source
from traverse.compile import compile_log, map_ground
from traverse.ground.lay import _hull
from traverse.ground.records import BandWidth
from traverse.log.items import GroundLine
from traverse.sheet.compose.tiles import ground_of, lay_tiles
from traverse.sheet.handout.given import PARTS, given
from traverse.sheet.map.on_page import band_on_page
from traverse.sheet.paper.page import Box
from traverse.source import Source

SAMPLES = Path(__file__).parents[2] / "samples"
FRAME = Box(x=10.0, y=15.0, width=277.0, height=185.0)
TWO_UNITS = """\
bearings true
attitudes dip-right
unit Aa Upper beds ; Jurassic
unit Bb Lower beds ; Triassic
at 1
  unit Aa
  bed 030/40
to 2 090 100m
along 40m
  contact Aa/Bb certain 030/40
at 2
  unit Bb
"""


def band_of(found, half_m=20.0):
    ground = replace(found.trav.ground, width=BandWidth(half_m=half_m, asked=True))
    return map_ground(replace(found.trav, ground=ground)).ground.map.band


def sample(name):
    source, _ = read_source(str(SAMPLES / name / f"{name}.trav"))
    found = compile_log(source, load=LogFiles(source.name).load)
    return map_ground(found.trav)


def test_a_contact_runs_along_its_strike_through_its_point_to_both_edges():
    found = compiled(TWO_UNITS)
    x, y = 40.0, 0.0
    band = band_of(found)
    (crossed,) = band.crossed
    assert crossed.line.distance(shapely.Point(x, y)) < 1e-6
    for end in (crossed.line.coords[0], crossed.line.coords[-1]):
        assert shapely.Point(end).distance(band.whole.boundary) < 1e-6
        # 030 from north: tan 30 across for each one up.
        assert abs(end[0] - x) == pytest.approx(abs(end[1] - y) * math.tan(math.radians(30.0)), abs=1e-6)


def test_colour_changes_at_the_contact():
    """Each unit fills its own side of the line; the two share no ground and leave none."""
    found = compiled(TWO_UNITS)
    band = band_of(found)
    areas = {area.unit: shapely.union_all(area.parts) for area in band.areas}
    x, y = 40.0, 0.0
    assert areas["Aa"].contains(shapely.Point(x - 2, y))
    assert areas["Bb"].contains(shapely.Point(x + 2, y))
    assert areas["Aa"].intersection(areas["Bb"]).area < 1e-3
    assert sum(area.area for area in areas.values()) == pytest.approx(band.whole.area, rel=1e-3)


def test_two_edges_of_a_strip_are_two_lines_and_one_contact_met_twice_is_one():
    """A gravel strip entered and left stays coloured; a contact met on both arms of a narrow loop is bent to one."""
    strip = compiled(
        "bearings true\nattitudes dip-right\nunit Qa Gravel ; Holocene\nunit Rs Sandstone ; Jurassic\nat 1\n"
        "  unit Rs\n  bed 000/20\nto 2 090 100m\nalong 45m\n  contact Qa/Rs approximate\nalong 52m\n"
        "  contact Qa/Rs approximate\nat 2\n  unit Rs\n"
    )
    band = band_of(strip)
    assert [one.tied for one in band.crossed] == [False, False]
    assert {area.unit for area in band.areas} == {"Qa", "Rs"}

    loop = compiled(
        "bearings true\nattitudes dip-right\nunit Aa Upper ; Jurassic\nunit Bb Lower ; Triassic\nat 1\n  unit Aa\n"
        "  bed 000/20\nto 2 090 100m\nalong 50m\n  contact Aa/Bb certain\nat 2\n  unit Bb\nto 3 000 20m\n  unit Bb\n"
        "to 4 270 100m\nalong 48m\n  contact Aa/Bb certain\nat 4\n  unit Aa\nclose 1 180 20m\n"
    )
    band = band_of(loop)
    assert [one.tied for one in band.crossed] == [True, True]
    assert band.crossed[0].line.coords[-1] == band.crossed[1].line.coords[-1]


def test_a_contact_met_on_two_arms_near_their_corner_has_its_colours_on_their_own_sides():
    """Along strike 020 from (70, 0) to (77, 20); its line runs farther past the second place than before the first."""
    found = compiled(
        "bearings true\nattitudes dip-right\nunit Aa Upper ; Jurassic\nunit Bb Lower ; Triassic\nat 1\n  unit Bb\n"
        "  bed 020/40\nto 2 090 77m\nalong 70m\n  contact Aa/Bb certain\nat 2\n  unit Aa\nto 3 090 90m\n  unit Aa\n"
        "at 2\nto 4 000 140m\nalong 20m\n  contact Aa/Bb certain\nat 4\n  unit Bb\n"
    )
    band = band_of(found)
    areas = {area.unit: shapely.union_all(area.parts) for area in band.areas}
    assert [one.tied for one in band.crossed] == [True, True]
    for north in (-15.0, -5.0, 10.0, 30.0, 45.0):
        on_line = 70.0 + north * math.tan(math.radians(20.0))
        assert areas["Bb"].contains(shapely.Point(on_line - 3.0, north)), north
        assert areas["Aa"].contains(shapely.Point(on_line + 3.0, north)), north


def test_two_arms_side_by_side_keep_their_ground_though_no_contact_parts_them():
    """Twenty metres apart in a band of twenty to each side: the line half-way, 10 m from either, parts them."""
    found = compiled(
        "bearings true\nunit Aa Upper ; Jurassic\nunit Bb Lower ; Triassic\nat 1\n  unit Aa\nto 2 090 150m\n"
        "  unit Aa\nto 3 000 20m\n  unit Bb\nto 4 270 150m\n  unit Bb\nsheet band 20 m\n"
    )
    band = band_of(found)
    areas = {area.unit: shapely.union_all(area.parts) for area in band.areas}
    for east in (5.0, 60.0, 120.0):
        for north, unit in ((-15.0, "Aa"), (8.5, "Aa"), (11.5, "Bb"), (35.0, "Bb")):
            assert areas[unit].contains(shapely.Point((east, north))), (east, north)
    assert sum(area.area for area in areas.values()) == pytest.approx(band.whole.area, rel=1e-3)


def test_ground_changes_where_the_walk_says_though_the_contact_runs_beside_it():
    """A contact at a bend, along the strike of the leg that leads there, parts nothing of that leg's band."""
    found = compiled(
        "bearings true\nattitudes dip-right\nunit Aa Upper ; Jurassic\nunit Bb Lower ; Triassic\nat 1\n  unit Bb\n"
        "to 2 045 100m\n  contact Aa/Bb certain 050/20\nto 3 135 80m\nalong 5m to 80m\n  unit Aa\n"
    )
    band = band_of(found)
    areas = {area.unit: shapely.union_all(area.parts) for area in band.areas}
    places = found.survey.places
    first = (places["1"].east_m, places["1"].north_m)
    last = (places["3"].east_m, places["3"].north_m)
    assert areas["Bb"].contains(shapely.Point(first))
    assert areas["Aa"].contains(shapely.Point(last))


def kinds_at(areas, places):
    """What lies under each place, as a number by the kind of ground; 0 off the band."""
    kinds = np.zeros(len(places), dtype=int)
    for area in areas:
        number = 1 + KINDS.setdefault((area.unit, area.covered, area.queried), len(KINDS))
        for part in area.parts:
            inside = shapely.contains_xy(part, places)
            assert not kinds[inside].any()
            kinds[inside] = number
    return kinds


KINDS = {}


@pytest.mark.every(2)
@pytest.mark.parametrize(("name", "scale"), [("copperjar-wash", 500), ("oskerra-valley", 600)])
def test_the_same_ground_is_of_the_same_unit_in_every_window(name, scale):
    """Once it was parted after it was cut to each window: 87 of 480 m² of the wash had another unit on the next map."""
    trav = sample(name)
    band = trav.ground.map.band
    tiles = lay_tiles(trav, frame=FRAME, scale=scale)
    assert len(tiles) > 2
    drawn = {tile.number: band_on_page(band, tile.window) for tile in tiles}
    rims = shapely.union_all([part.boundary for area in band.areas for part in area.parts])
    seen = 0
    for one, other in combinations(tiles, 2):
        both = ground_of(one.window).intersection(ground_of(other.window))
        if both.area < 1.0:
            continue
        left, lower, right, upper = both.bounds
        grid = np.meshgrid(np.arange(left + 0.3, right, 1.1), np.arange(lower + 0.3, upper, 1.1))
        places = np.stack(grid, axis=-1).reshape(-1, 2)
        # On a line between two units a place belongs to neither.
        places = places[shapely.distance(shapely.points(places), rims) > 0.01]
        wanted = kinds_at(band.areas, places)
        for tile in (one, other):
            on_page = np.array([tile.window.at(*place) for place in places])
            shown = kinds_at(drawn[tile.number].areas, on_page)
            assert (shown == wanted).all(), (tile.number, places[shown != wanted])
        seen += np.count_nonzero(wanted)
    assert seen > 100


@pytest.mark.parametrize("name", ["copperjar-wash", "oskerra-valley", "ternel-point"])
def test_units_share_no_ground_and_their_contacts_leave_none(name):
    """Ground of no unit is what no line of the log tells of; of the samples there is none."""
    band = sample(name).ground.map.band
    parts = [part for area in band.areas for part in area.parts]
    assert sum(part.area for part in parts) == pytest.approx(band.whole.area, rel=1e-3)
    assert shapely.union_all(parts).area == pytest.approx(band.whole.area, rel=1e-3)


def extent(metres, *, band=""):
    """Of a walk whose farthest places lie so far apart."""
    return compiled(
        f"{band}bearings true\nat 1\nto 2 090 {metres}m\nat 1\nto 3 050 {metres / 2}m\n"
    ).trav.ground.width


@pytest.mark.parametrize(
    ("metres", "half"), [(10, 1.0), (59.7, 3.0), (300, 15.0), (400, 20.0), (800, 20.0), (1600, 40.0)]
)
def test_the_band_is_20_m_to_each_side_but_a_fortieth_to_a_twentieth_of_the_walk(metres, half):
    assert extent(metres).half_m == half
    assert not extent(metres).asked


@pytest.mark.parametrize("azimuth", [0, 20, 45, 77, 180, 270])
def test_its_width_goes_by_the_farthest_places_of_the_walk_whichever_way_it_runs(azimuth):
    """960 m and square to it 1280 m are 1600 m from end to end, of which 40 m are a fortieth; 960 m there and 1000 m back
    are 1000 m, of which that is 25 m."""
    there, back = (f"{(azimuth + turn) % 360:03d}" for turn in (90, 180))
    for text, half in (
        (f"to 2 {azimuth:03d} 960m\nto 3 {there} 1280m\n", 40.0),
        (f"to 2 {azimuth:03d} 960m\nto 3 {back} 1000m\n", 25.0),
    ):
        assert compiled(f"bearings true\nat 1\n{text}").trav.ground.width.half_m == half


def test_the_band_is_as_wide_as_the_log_says_whatever_the_walk():
    assert extent(1600, band="sheet band 25 m\n") == BandWidth(half_m=25.0, asked=True)


def test_its_width_does_not_hang_on_the_paper():
    text = "bearings true\nat 1\nto 2 090 300m\n"
    assert (
        compiled(text).trav.ground.width == compiled(f"sheet scale 1:500 paper A3\n{text}").trav.ground.width
    )


def test_a_stream_runs_on_through_its_places_beyond_the_ground_looked_at():
    found = compiled(
        "bearings true\nsheet band 10 m\nat 1\nto 2 090 80m\nalong 40m\n  crosses stream 180 Cold Beck\n"
    )
    (course,) = map_ground(found.trav).ground.map.courses
    assert (course.kind, course.name) == (GroundLine.STREAM, "Cold Beck")
    # 10 m to the edge and 25 m beyond it, each way.
    assert course.start == pytest.approx((40.0, 35.0))
    assert course.end == pytest.approx((40.0, -35.0))


def test_a_stream_met_once_is_not_drawn_over_the_ground_of_the_next_legs():
    """It is met at 5° to the walk: nobody said that it keeps to the walk."""
    found = compiled(
        "bearings true\nsheet band 10 m\nat 1\nto 2 090 100m\nalong 5m\n  crosses stream 095 Cold Beck\n"
    )
    (course,) = map_ground(found.trav).ground.map.courses
    assert course.end[0] == pytest.approx(5.0 + 25.0, abs=0.2)


@pytest.mark.parametrize("give", [(), PARTS])
def test_a_handout_lays_its_own_ground_and_knows_no_unit_of_the_key(give):
    source, _ = read_source(str(SAMPLES / "oskerra-valley" / "oskerra-valley.trav"))
    trav = map_ground(compile_log(source, load=LogFiles(source.name).load).trav)
    shown = given(trav, parts=give).value.trav
    assert shown.ground.map is None
    laid = map_ground(shown).ground.map
    assert not laid.band.areas
    assert not laid.folds
    assert {(one.contact.younger, one.contact.older) for one in laid.band.crossed} <= {(None, None)}


def test_what_only_checks_or_exports_lays_none():
    assert (
        compile_log(Source(name="a.trav", text=f"notation 1\n{TWO_UNITS}"), load=None).trav.ground.map is None
    )


@pytest.mark.thorough
def test_ground_of_a_walk_on_a_regular_net_is_parted():
    """Cells of points on a net cross themselves by a hair: once they had no union, and there was no sheet."""
    from tests.bench.bench_large_sheet import log

    found = compile_log(Source(name="net.trav", text=log(32, 31)), load=lambda name: b"")
    band = map_ground(found.trav).ground.map.band
    assert all(part.is_valid for area in band.areas for part in area.parts)


def test_the_farthest_places_of_a_walk_are_corners_of_its_hull():
    """Held against shapely's."""
    places = [tuple(one) for one in np.random.default_rng(1).normal(size=(300, 2)).tolist()]
    hull = shapely.MultiPoint(places).convex_hull
    assert sorted(_hull(places)) == sorted(set(hull.exterior.coords))
    assert _hull([]) == []
    assert set(_hull([(0.0, 0.0), (1.0, 0.0), (2.0, 0.0)])) == {(0.0, 0.0), (2.0, 0.0)}
