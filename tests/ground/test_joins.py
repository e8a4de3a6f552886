"""Traces between the arms of a loop, held against closed forms: planar beds, a hill of known shape, a real grid."""

import math
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest
from scipy.interpolate import RegularGridInterpolator
from scipy.optimize import brentq
from shapely import LineString, Point

from traverse.compile import compile_log
from traverse.ground.joins import _nearest_part
from traverse.ground.records import WhyApart
from traverse.source import Source

EAST, NORTH = 500000.0, 6000000.0
TO_M = 0.1
"""Lengths in the grid are 0.9996 of those on the ground here."""
HEAD = """notation 1
traverse Loop
grid EPSG:32630
bearings grid
attitudes dip-direction
pace MO double 100 m in 65, 66, 66
{terrain}unit Qa Alluvium ; Quaternary
unit Sh Shale ; Jurassic
unit Ss Sandstone ; Triassic
unit Sg Grit ; Permian
control 1 500000 E 6000000 N 100 m
"""
# Beds strike north; the northern arm runs along 0 N, the southern one along -150 N.
LOOP = """at 1
  unit Ss
  bed {north_bed}
to 2 090 200m level
along {north_at}m
  contact {pair} {certainty}{plane}
at 2
  unit Sh
to 3 180 150m level
at 3
  unit Sh
  bed {south_bed}
to 4 270 200m level
along {south_at}m
  contact {pair} {certainty}{plane}
at 4
  unit Ss
  bed {south_bed}
close 1 000 150m level
"""
USUAL = {
    "north_bed": "090/40", "south_bed": "090/40", "north_at": 100, "south_at": 100, "pair": "Sh/Ss",
    "certainty": "certain", "plane": "",
}  # fmt: skip


def text_of(east, north, up):
    rows = (f"{x:.2f} {y:.2f} {up[j, i]!r}" for j, y in enumerate(north) for i, x in enumerate(east))
    return "\n".join(rows).replace("np.float64(", "").replace(")", "").encode()


def compiled(text, heights=None):
    found = compile_log(
        Source(name="day.trav", text=HEAD.format(terrain="terrain h.xyz\n" if heights else "") + text),
        load=lambda name: {"h.xyz": heights}[name],
    )
    assert not found.failed, [one.message for one in found.diagnostics]
    return found


def joined(heights=None, **change):
    return compiled(LOOP.format(**{**USUAL, **change}), heights).trav.ground.joins


def farther(text):
    """The loop with its southern arm 350 m from the northern one."""
    return text.replace("180 150m", "180 350m").replace("000 150m", "000 350m")


@pytest.mark.parametrize(
    ("text", "why", "off_deg"),
    [
        (farther(LOOP.format(**USUAL)), WhyApart.FAR, None),
        # Straight across from each other: the plane through both strikes north, each bed 30 degrees off that.
        (LOOP.format(**{**USUAL, "north_bed": "120/90", "south_bed": "120/90"}), WhyApart.PLANES, 30.0),
        (LOOP.format(**{**USUAL, "north_bed": "090/08", "south_bed": "090/08"}), WhyApart.GENTLE, None),
        # Two limbs: the plane through both places is gentle, and it is their dips that keep them apart.
        (LOOP.format(**{**USUAL, "north_bed": "090/40", "south_bed": "270/30"}), WhyApart.PLANES, 35.0),
    ],
)
def test_what_keeps_two_contacts_apart_is_told(text, why, off_deg):
    ground = compiled(text).trav.ground
    assert not ground.joins
    (one,) = ground.apart
    assert one.why is why
    assert one.off_deg is None if off_deg is None else one.off_deg == pytest.approx(off_deg, abs=0.5)
    assert one.apart_m == pytest.approx(350.0 if why is WhyApart.FAR else 150.0, abs=1.0)


def test_contacts_that_are_joined_are_not_told_apart():
    assert compiled(LOOP.format(**USUAL)).trav.ground.apart == ()


def local(line):
    return np.array(line) - (EAST, NORTH)


def test_beds_of_one_plane_are_joined_straight_from_crossing_to_crossing():
    (one,) = joined()
    assert not one.fault
    assert not one.over_heights
    assert one.off_deg == pytest.approx(0.0, abs=0.01)
    assert local(one.lines[0]) == pytest.approx(np.array([(100.0, 0.0), (100.0, -150.0)]), abs=TO_M)
    assert np.abs(one.normal) == pytest.approx([math.sin(math.radians(40)), 0.0, math.cos(math.radians(40))])


@pytest.mark.parametrize("south_at", [80, 110, 125])
def test_how_far_off_two_places_are_is_the_angle_between_the_planes(south_at):
    """In closed form: with n the pole of the beds and u the line between the places, sin(off) = n.u."""
    (one,) = joined(south_at=south_at)
    across, along = 100.0 - south_at, 150.0
    off = math.degrees(math.asin(math.sin(math.radians(40)) * abs(across) / math.hypot(across, along)))
    assert one.off_deg == pytest.approx(off, abs=0.01)


@pytest.mark.parametrize(
    "change",
    [
        {"south_at": 40},  # 22 degrees off the strike
        {"south_bed": "090/75"},  # another dip
        {"south_bed": "270/40"},  # the other limb
        {"south_bed": "090/40 overturned"},  # faces the other way
        {"plane": " flat"},
        {"north_bed": "090/2", "south_bed": "090/2"},  # level
        {"north_bed": "090/8", "south_bed": "090/8"},  # where it comes out on unknown ground nobody knows
        {"certainty": "concealed"},
    ],
    ids=str,
)
def test_what_does_not_belong_together_is_not_joined(change):
    assert joined(**change) == ()


@pytest.mark.parametrize("known_to", ["1", "150"])
def test_how_well_the_start_is_known_joins_nothing_more(known_to):
    """It moves both places alike: 11.7 degrees off the strike they belong apart as ever, and at 7.9 together."""

    def found(south_at):
        text = HEAD.format(terrain="").replace("100 m\n", f"100 m ±{known_to}\n")
        text += LOOP.format(**{**USUAL, "south_at": south_at})
        return compile_log(Source(name="day.trav", text=text), load=lambda _: b"").trav.ground.joins

    assert found(50) == ()
    assert len(found(67)) == 1


@pytest.mark.parametrize(("south", "expected"), [("up", 1), ("down", 0), ("E scours", 1), ("W scours", 0)])
def test_way_up_as_it_was_seen_tells_the_limbs_apart(south, expected):
    """Beds that dip east and whose younger side is to the west lie upside down."""
    # Nearer to the last bed than to the one before it.
    text = LOOP.format(**{**USUAL, "south_at": 110})
    head, tail = text.rsplit("  bed 090/40\n", 1)
    assert len(compiled(f"{head}  bed 090/40\n  tops {south}\n{tail}").trav.ground.joins) == expected


def test_a_surface_deposit_is_not_joined():
    text = LOOP.format(**{**USUAL, "pair": "Qa/Ss"}).replace("unit Sh", "unit Qa")
    assert compiled(text).trav.ground.joins == ()


def test_places_farther_apart_than_a_plane_is_carried_are_not_joined():
    text = LOOP.format(**USUAL)
    near = compiled(text.replace("150m", "299m")).trav.ground.joins
    assert len(near) == 1
    assert compiled(text.replace("150m", "301m")).trav.ground.joins == ()


def test_a_fault_between_stops_it_and_is_joined_itself():
    fault = "along 75m\n  fault 180/80\n"
    one_end = LOOP.format(**USUAL).replace("at 3\n", fault + "at 3\n", 1)
    assert compiled(one_end).trav.ground.joins == ()
    both = one_end + fault
    (found,) = compiled(both).trav.ground.joins
    assert found.fault
    assert local(found.lines[0]) == pytest.approx(np.array([(200.0, -75.0), (0.0, -75.0)]), abs=TO_M)
    # It strikes away from the contact's trace: both are drawn.
    aside = LOOP.format(**USUAL).replace("at 3\n", "along 75m\n  fault 090/80\nat 3\n", 1)
    assert [one.fault for one in compiled(aside).trav.ground.joins] == [False]


@pytest.mark.parametrize(
    ("second", "expected"),
    [(" Sg/Ss certain", 1), (" 180/80", 1), (" 180/40", 0), (" 120/80", 0)],
    ids=["without a plane", "the same plane", "another dip", "another strike"],
)
def test_faults_go_together_by_their_measured_planes_whatever_they_part(second, expected):
    text = LOOP.format(**USUAL).replace("at 3\n", "along 75m\n  fault 180/80\nat 3\n", 1)
    assert [one.fault for one in compiled(text + f"along 75m\n  fault{second}\n").trav.ground.joins] == [
        True
    ] * expected


def test_two_faults_without_a_plane_are_not_joined():
    text = LOOP.format(**USUAL).replace("at 3\n", "along 75m\n  fault Sh/Sg certain\nat 3\n", 1)
    text += "along 75m\n  fault Sg/Ss certain\n"
    assert not any(one.fault for one in compiled(text).trav.ground.joins)


@pytest.mark.parametrize(
    ("here", "pieces"),
    [
        ("at 2a\n  unit Sh\n", 0),  # walked, and no contact there
        ("covered 0m to 163m scree\n", 1),  # nothing was seen
        ("along 30m\n  contact Qa/Sh approximate\nat 2a\n  unit Qa\n", 2),  # stops at the deposit
    ],
    ids=["walked", "covered", "deposit"],
)
def test_ground_that_was_walked_on_without_the_contact_stops_it(here, pieces):
    spur = "from 2 to 2a 247 163m level\n" + here
    found = compiled(LOOP.format(**USUAL) + spur).trav.ground.joins
    assert [len(one.lines) for one in found] == ([pieces] if pieces else [])
    if pieces == 2:
        # By hand: the spur leaves 2 toward 247 and crosses 100 E after 100 m of easting.
        north = -100.0 / math.tan(math.radians(67.0))
        first, last = (local(line) for line in found[0].lines)
        assert first == pytest.approx(np.array([(100.0, 0.0), (100.0, north)]), abs=TO_M)
        assert last == pytest.approx(np.array([(100.0, north), (100.0, -150.0)]), abs=TO_M)


@pytest.mark.parametrize("seed", range(4))
def test_the_part_of_a_trace_that_lies_nearest_to_a_contact_is_the_one_that_shapely_finds(seed):
    rng = np.random.default_rng(seed)
    line, at = rng.normal(size=(12, 2)).cumsum(axis=0), 3.0 * rng.normal(size=2)
    index, away_m = _nearest_part(line, at)
    for parts in (line, line[index : index + 2]):
        assert LineString(parts).distance(Point(at)) == pytest.approx(away_m)


def test_each_way_the_nearest_partner_is_taken():
    """Three arms: the middle one is joined to both, the outer ones not to each other."""
    text = """at 1
  unit Ss
  bed 090/40
to 2 090 200m level
along 100m
  contact Sh/Ss certain
at 2
  unit Sh
to 3 180 80m level
  unit Sh
to 4 270 200m level
along 100m
  contact Sh/Ss certain
at 4
  unit Ss
  bed 090/40
to 5 180 80m level
  unit Ss
to 6 090 200m level
along 100m
  contact Sh/Ss certain
at 6
  unit Sh
"""
    found = compiled(text).trav.ground.joins
    spans = [{end.line for end in one.ends} for one in found]
    assert len(found) == 2
    assert len(spans[0] & spans[1]) == 1
    ends = sorted(tuple(sorted(float(y) for _, y in local(one.lines[0]))) for one in found)
    assert ends == [pytest.approx((-160.0, -80.0), abs=TO_M), pytest.approx((-80.0, 0.0), abs=TO_M)]


def hill(height=25.0):
    """A round hill in the middle of the loop, on level ground; the legs run round its foot."""
    east, north = EAST + np.arange(-40.0, 241.0, 5.0), NORTH + np.arange(-190.0, 41.0, 5.0)

    def up(x, y):
        return 100.0 + height * np.exp(-(((x - 100.0) ** 2 + (y + 75.0) ** 2) / 30.0**2))

    x, y = np.meshgrid(east - EAST, north - NORTH)
    return east, north, up(x, y), up


def test_over_a_hill_the_trace_swings_up_the_dip_by_its_height_and_every_vertex_lies_on_the_plane():
    east, north, heights, up = hill()
    (one,) = joined(text_of(east, north, heights))
    assert one.over_heights
    points = local(one.lines[0])
    assert points[0] == pytest.approx([100.0, 0.0], abs=TO_M)
    assert points[-1] == pytest.approx([100.0, -150.0], abs=TO_M)
    at = RegularGridInterpolator((north - NORTH, east - EAST), heights)
    z = at(points[:, ::-1])
    normal = np.array(one.normal)
    off = np.column_stack([points - points[0], z - z[0]]) @ normal
    assert np.abs(off).max() < 1e-6
    # By hand: the beds dip 40 to the east, so they come out where the ground is (100 - x) tan 40 above the level.
    west = brentq(lambda x: up(x, -75.0) - 100.0 - (100.0 - x) * math.tan(math.radians(40.0)), 40.0, 99.0)
    assert points[:, 0].min() == pytest.approx(west, abs=0.5)
    assert west < 81.0


def test_a_hole_on_the_way_leaves_it_out():
    east, north, heights, _ = hill()
    heights[np.abs(north - NORTH + 75.0) < 12.0] = math.nan
    assert joined(text_of(east, north, heights)) == ()


def test_where_the_heights_end_it_is_straight():
    east, north, heights, _ = hill()
    (one,) = joined(text_of(east, north[10:], heights[10:]))
    assert not one.over_heights
    assert len(one.lines[0]) == 2


@pytest.mark.parametrize("plane", ["060/35", "150/60", "285/20"])
def test_over_real_ground_it_is_the_outcrop_of_one_plane(plane):
    """The sample `jacksboro_fault_dem.npz` of matplotlib at 30 m: a plane, and two places where it comes out by scipy."""
    folder = Path(find_spec("matplotlib").submodule_search_locations[0])
    up = np.load(folder / "mpl-data" / "sample_data" / "jacksboro_fault_dem.npz")["elevation"].astype(float)
    up = up[::-1][100:160, 100:170]
    east, north = EAST + 30.0 * np.arange(70), NORTH + 30.0 * np.arange(60)
    at = RegularGridInterpolator((north - NORTH, east - EAST), up)
    way, dip = (math.radians(float(one)) for one in plane.split("/"))

    def off(run, start, turn):
        x, y = start + run * np.array([math.sin(turn), math.cos(turn)])
        down = (x - start[0]) * math.sin(way) + (y - start[1]) * math.cos(way)
        return (at((y, x)) - at(start[::-1])).item() + math.tan(dip) * down

    # The first place, and direction near the strike, from which the plane comes out again 100 to 200 m away.
    start, turn = next(
        (np.array([x, y]), turn)
        for x in range(600, 1500, 70)
        for y in range(600, 1300, 70)
        for turn in way + math.pi / 2 + np.radians([-15, -10, -5, 5, 10, 15])
        if off(100.0, np.array([x, y]), turn) * off(200.0, np.array([x, y]), turn) < 0.0
    )
    away = brentq(off, 100.0, 200.0, args=(start, turn))
    head = HEAD.replace("500000 E 6000000 N", f"{EAST + start[0]:.0f} E {NORTH + start[1]:.0f} N")
    text = f"""at 1
  contact Sh/Ss certain {plane}
to 2 {math.degrees(turn) % 360.0:07.3f} {away:.2f}m level
at 2
  contact Sh/Ss certain {plane}
"""
    found = compile_log(
        Source(name="day.trav", text=head.format(terrain="terrain h.xyz\n") + text),
        load=lambda name: {"h.xyz": text_of(east, north, up)}[name],
    )
    assert found.geology is not None, [one.message for one in found.diagnostics]
    (one,) = found.trav.ground.joins
    assert one.over_heights
    assert one.off_deg < 0.1
    points = local(one.lines[0])
    z = at(points[:, ::-1])
    assert len(points) > 5
    assert np.abs(np.column_stack([points - points[0], z - z[0]]) @ np.array(one.normal)).max() < 1e-6


SYNCLINE = """at 1
  unit Ss
  bed 090/25
to 2 090 100m level
along 50m
  contact Sh/Ss concealed
at 2
  unit Sh
  bed 090/14
to 3 090 300m level
along 130m
  contact Sh/Ss certain
at 3
  unit Ss
  bed 270/25
to 4 180 200m level
at 4
  unit Ss
  bed 270/25
to 5 270 300m level
along 200m
  contact Sh/Ss concealed
at 5
  unit Sh
  bed 090/14
to 6 270 100m level
along 10m
  contact Sh/Ss certain
at 6
  unit Ss
  bed 090/25
close 1 000 200m level
section A-A' from 1 to 3
"""


def test_no_contact_is_joined_from_limb_to_limb_of_a_fold():
    """On the north arm the bed nearest to the contact of the eastern limb is one of the western, and would join it there."""
    assert compiled(SYNCLINE).trav.ground.joins == ()
    # Without the fold the two lie on one plane.
    (one,) = compiled(SYNCLINE.replace("270/25", "090/14")).trav.ground.joins
    ends = sorted(float(local(end)[0]) for end in (one.lines[0][0], one.lines[0][-1]))
    assert ends == pytest.approx([90.0, 230.0], abs=TO_M)
