"""Where a section cuts a contact that was followed or joined beside the walk, by shapely; and lines that leave its frame."""

import math

import numpy as np
import pytest
import shapely

from traverse.structure.section.drawing_plane import Plane, in_frame
from traverse.structure.section.lines_cut import _meet, cut_contacts
from traverse.structure.section.sections import line_through

HEAD = "notation 1\nbearings true\nattitudes dip-direction\nunit Cm Cliff marl ;\nunit Gg Grey grit ;\ncontrol 1 1000 E 1000 N 100 m map\n"


def cut(compile_text, azimuth, *, here, side):
    """The cut of a line 8 m beside a walk of 120 m, by a section square to the walk at its middle."""
    compiled = compile_text(
        HEAD
        + f"at 1\nunit {here}\nto 2 {azimuth:03d} 120m level\nalong 20m {side} 8m\ncontact Cm/Gg certain\n"
        + f"along 100m {side} 8m\ncontact Cm/Gg certain\nat 2\nunit {here}\n"
    )
    x, y = math.sin(math.radians(azimuth)), math.cos(math.radians(azimuth))
    middle = (1000.0 + 60.0 * x, 1000.0 + 60.0 * y)
    ends = [(middle[0] + sense * 40.0 * y, middle[1] - sense * 40.0 * x) for sense in (-1.0, 1.0)]
    lines = compiled.geology.contact_lines
    (found,) = cut_contacts(line_through(ends), lines)
    ground = shapely.LineString([part.points[0][:2] for part in lines[0].parts])
    return found, ground.intersection(shapely.LineString(ends)), (y, -x)


@pytest.mark.parametrize("azimuth", [20, 115, 200, 290])
@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("here", ["Cm", "Gg"])
def test_a_section_cuts_a_line_where_it_lies_with_the_younger_unit_on_its_side(
    compile_text, azimuth, here, side
):
    """Beyond the line lies the unit that the walk is not on."""
    found, expected, right = cut(compile_text, azimuth, here=here, side=side)
    place = found.contact.place
    assert (place.east_m, place.north_m) == pytest.approx((expected.x, expected.y), abs=1e-6)
    toward_right = float(np.dot(found.toward_younger, right))
    beyond = 1.0 if side == "right" else -1.0
    assert math.copysign(1.0, toward_right) == (beyond if here == "Gg" else -beyond)
    assert abs(toward_right) > 1.0


def test_a_piece_of_a_line_is_cut_where_it_crosses_a_stretch_and_nowhere_else():
    """300 pairs of pieces at random, far from where distances count from; its height is that between its ends."""
    rng = np.random.default_rng(6)
    found = 0
    for ends in rng.uniform((412_000.0, 5_289_000.0), (412_100.0, 5_289_100.0), (300, 4, 2)):
        first, second = ((*ends[0], 20.0), (*ends[1], 80.0))
        expected = shapely.LineString(ends[:2]).intersection(shapely.LineString(ends[2:]))
        met = _meet(first, second, ends[2], ends[3])
        assert (met is None) == expected.is_empty
        if met is not None:
            found += 1
            share = math.dist(ends[0], met[:2]) / math.dist(ends[0], ends[1])
            assert met == pytest.approx((expected.x, expected.y, 20.0 + 60.0 * share), abs=1e-4)
    assert 50 < found < 150


@pytest.mark.parametrize("seed", range(12))
def test_a_line_is_kept_to_where_it_leaves_the_frame(seed):
    """The first stretch of shapely's intersection with the frame, from the start inside."""
    rng = np.random.default_rng(seed)
    plane = Plane(
        distance_m=np.array([0.0, 200.0]),
        up_m=np.zeros(2),
        length_m=200.0,
        floor_m=-60.0,
        top_m=60.0,
        level=False,
    )
    # It never crosses itself, where shapely would part it; every other one runs down the section.
    steps = np.stack((rng.uniform(2.0, 30.0, 14) * (-1.0) ** seed, rng.normal(0.0, 25.0, 14)), axis=1)
    points = np.cumsum(np.vstack(([100.0, 0.0], steps)), axis=0)
    line = shapely.LineString(points)
    frame = shapely.box(0.0, -60.0, 200.0, 60.0)
    parts = shapely.get_parts(line.intersection(frame)).tolist()
    first = next(one for one in parts if one.distance(shapely.Point(points[0])) < 1e-9)
    found = shapely.LineString(in_frame([tuple(one) for one in points.tolist()], plane))
    assert found.length == pytest.approx(first.length, rel=1e-9)
    assert found.hausdorff_distance(first) < 1e-6
