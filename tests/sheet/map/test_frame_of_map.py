"""Where the ground lies on the paper: the window, its crosses and its corners on the earth, by shapely and PROJ."""

import math

import pytest
import shapely
from pyproj import Transformer

from traverse.compile import map_ground
from traverse.sheet.map.framing import corners, frame_map, map_frame, walked
from traverse.sheet.map.grid_ticks import grid_crosses, grid_lines, grid_ticks, step_m
from traverse.sheet.paper.page import Box, Path, Text
from traverse.sheet.paper.window import Window

LOOP = """notation 1
bearings grid
grid EPSG:25833
control 1 612500 E 5214250 N 800 m
unit Sh Reed Shale ;
at 1
unit Sh
to 2 040 260m +3
to 3 130 140m -2
close 1 247 280m -2
"""
BOX = Box(x=14.0, y=89.0, width=192.0, height=107.0)


def window(east=612_312.0, north=5_214_177.0, scale=2500, **more):
    return Window(box=BOX, scale=scale, east_m=east, north_m=north, convergence_deg=0.0, **more)


def ends_of(path):
    """First and last point of a straight path."""
    points = [tuple(one[1:3]) for one in path.commands if len(one) > 2]
    return points[0], points[-1]


@pytest.mark.parametrize("scale", [1000, 2500, 6000])
def test_a_cross_stands_wherever_two_lines_of_the_grid_meet_with_room(scale):
    """Each has two arms through one place, alike long, whose ground is whole steps east and north."""
    view = window(scale=scale)
    step = step_m(scale)
    seen = []
    bars = [ends_of(one) for one in grid_crosses(view, lambda _: True)]
    for level, upright in zip(bars[::2], bars[1::2], strict=True):
        (x0, y0), (x1, y1) = level
        (x2, y2), (x3, y3) = upright
        assert (y0, x2) == pytest.approx((y1, x3))
        middle = ((x0 + x1) / 2.0, (y2 + y3) / 2.0)
        assert middle == pytest.approx((x2, y0))
        assert x1 - x0 == pytest.approx(y3 - y2)
        assert x1 - x0 > 0.5
        east = view.east_m + (middle[0] - BOX.x) * scale / 1000.0
        north = view.north_m + (middle[1] - BOX.y) * scale / 1000.0
        assert (east % step, north % step) == pytest.approx((0.0, 0.0), abs=1e-6) or math.isclose(
            east % step, step, abs_tol=1e-6
        )
        seen.append((round(east), round(north)))
    easts, norths = grid_lines(view)
    assert len(set(seen)) == len(seen)
    assert {one for one, _ in seen} <= set(easts)
    assert {one for _, one in seen} <= set(norths)
    # Every meeting that lies well inside has one.
    clear = shapely.box(BOX.x + 6.0, BOX.y + 6.0, BOX.right - 6.0, BOX.top - 6.0)
    well = {(e, n) for e in easts for n in norths if clear.contains(shapely.Point(view.at(e, n)))}
    assert well <= set(seen)
    assert well or scale == 6000
    assert grid_crosses(view, lambda _: False) == ()


def test_figures_stand_outside_the_neat_line_and_ticks_inside():
    for item in grid_ticks(window()):
        if isinstance(item, Text) and item.turn_deg:
            assert BOX.x - 3.0 < item.at[0] < BOX.x - 0.5
            assert BOX.y <= item.at[1] <= BOX.top
        elif isinstance(item, Text):
            assert BOX.top + 0.5 < item.at[1] < BOX.top + 3.0
            assert BOX.x <= item.at[0] <= BOX.right
        elif isinstance(item, Path):
            for x, y in ends_of(item):
                assert BOX.x - 1e-9 <= x <= BOX.right + 1e-9
                assert BOX.y - 1e-9 <= y <= BOX.top + 1e-9


def test_corners_for_the_norths_lie_in_the_corners():
    wanted = [(True, False), (False, False), (True, True), (False, True)]
    for corner, (right, top) in zip(corners(BOX), wanted, strict=True):
        assert BOX.x < corner.x < corner.right < BOX.right
        assert BOX.y < corner.y < corner.top < BOX.top
        assert (
            (corner.right + corner.x) / 2.0 > (BOX.x + BOX.right) / 2.0 if right else corner.x < BOX.x + 5.0
        )
        assert (BOX.top - corner.top < 5.0) is top


def test_a_walk_that_fits_lies_inside_the_window_and_off_the_norths(compile_text):
    """The ground of the chosen corner, worked out here from the scale, is as far from the walk as it is said to be."""
    trav = map_ground(compile_text(LOOP).trav)
    walk = walked(trav.survey, trav.geology)
    half = trav.ground.width.half_m
    room = walk.buffer(half)
    tried = set()
    for scale in (1500, 2000, 2500, 3000, 4000, 5000):
        found = frame_map(trav, box=BOX, scale=scale)
        view = found.window
        metres = scale / 1000.0

        def ground(box, view=view, metres=metres):
            west, south = view.east_m + (box.x - BOX.x) * metres, view.north_m + (box.y - BOX.y) * metres
            return shapely.box(west, south, west + box.width * metres, south + box.height * metres)

        assert found.wide_mm * metres > walk.bounds[2] - walk.bounds[0] + 2.0 * half
        assert found.high_mm * metres > walk.bounds[3] - walk.bounds[1] + 2.0 * half
        if found.holds:
            assert ground(BOX).contains(room)
        if found.fits:
            assert not ground(found.norths).intersects(room.buffer(-0.1))
        tried.add(found.fits)
    assert tried == {True, False}


def test_the_corners_of_a_map_are_on_the_earth_where_proj_puts_them(compile_text):
    """Lower left, upper left, upper right, lower right; asked of PROJ apart from the program."""
    trav = compile_text(LOOP).trav
    frame = trav.survey.frame
    assert frame.epsg is not None
    view = window()
    found = map_frame(frame, view)
    to_earth = Transformer.from_crs(frame.epsg, 4326, always_xy=True)
    wide, high = BOX.width * 2.5, BOX.height * 2.5
    for (lat, lon), (x, y) in zip(
        found.corners_deg, [(0, 0), (0, high), (wide, high), (wide, 0)], strict=True
    ):
        expected = to_earth.transform(view.east_m + x, view.north_m + y)
        assert (lon, lat) == pytest.approx(expected, abs=1e-5)
