"""Contours and projected outcrops on the map: at their place, at a stated interval, with gaps where heights lack."""

from dataclasses import replace
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest
from scipy.interpolate import RegularGridInterpolator
from shapely import LineString, box

from tests.sheet.fixture_sheet import layer
from tests.sheet.pages import paths, words
from traverse.compile import blank_ground, compile_log, map_ground
from traverse.ground.records import Outcrop
from traverse.heights.records import Terrain
from traverse.length import FEET, METRES
from traverse.sheet.compose.compose import compose
from traverse.sheet.handout.handout import compose_blank
from traverse.sheet.map.contours import draw_ground, interval, place_heights
from traverse.sheet.paper.labels import Taken
from traverse.sheet.paper.page import Box
from traverse.sheet.paper.style import GREY_45, PENS, PROJECTED_BAND
from traverse.sheet.paper.window import Window
from traverse.sheet.template.reading import read_template
from traverse.source import Source, Span

WINDOW = Window(
    box=Box(x=14.0, y=89.0, width=192.0, height=107.0),
    scale=2500,
    east_m=1000.0,
    north_m=2000.0,
    convergence_deg=0.0,
)


def slope(share, step=20.0, hole=None):
    """Ground that rises to the east by a share, 100 m at 1000 E."""
    east, north = np.arange(900.0, 1601.0, step), np.arange(1900.0, 2401.0, step)
    up = np.tile(100.0 + share * (east - 1000.0), (len(north), 1))
    if hole is not None:
        up[:, (east > hole[0]) & (east < hole[1])] = np.nan
    return Terrain(name="h.xyz", east_m=east, north_m=north, up_m=up)


def drawn_ground(terrain, outcrops=(), *, window=WINDOW, walked=None, lengths=METRES):
    return draw_ground(terrain, outcrops, window, walked, lengths=lengths)


@pytest.mark.parametrize(
    ("share", "scale", "expected"),
    [(0.1, 2500, 5), (0.4, 2500, 10), (0.4, 10000, 50), (0.0, 2500, 1), (3.0, 25000, 1000)],
)
def test_the_interval_is_a_round_one_that_leaves_contours_apart(share, scale, expected):
    found = interval(slope(share), scale, METRES)
    assert found == expected
    if share:
        assert found / share * 1000.0 / scale >= 10.0 - 1e-9


def test_contours_end_at_the_norths():
    """Arrows among contours are lines among lines."""
    norths = Box(x=30.0, y=120.0, width=40.0, height=20.0)
    window = box(norths.x, norths.y, norths.right, norths.top)
    drawing = draw_ground(slope(0.1), (), WINDOW, None, lengths=METRES, norths=norths)
    lines = [LineString([command[1:3] for command in one.commands]) for one in drawing.contours]
    assert max(line.intersection(window).length for line in lines) == pytest.approx(0.0, abs=1e-6)
    assert len(lines) == len(drawn_ground(slope(0.1)).contours) + 2


def test_contours_stand_where_the_ground_has_their_height():
    drawing = drawn_ground(slope(0.1))
    xs = sorted({round(command[1], 3) for one in drawing.contours for command in one.commands})
    # 5 m of height are 50 m of ground, 20 mm at 1:2500; 100 m stands at the left edge.
    assert all((x - 14.0) / 20.0 == pytest.approx(round((x - 14.0) / 20.0), abs=1e-3) for x in xs)
    heavy = {
        round(one.commands[0][1], 3) for one in drawing.contours if one.pen == PENS["contour every fifth"]
    }
    assert {14.0, 114.0} <= heavy
    assert all(round((x - 14.0) / 20.0) % 5 == 0 for x in heavy)
    # Neat lines end beside the first one: it has no room for its figure, and no line stands in for it.
    assert {one.text for one in drawing.figures} >= {"105", "110", "125", "140"}
    for one in drawing.figures:
        for (x, _), turn in one.stands:
            assert float(one.text) == pytest.approx(100.0 + (x - 14.0) / 4.0, abs=0.01)
            assert abs(turn) == pytest.approx(90.0)
    assert "every 5\u00a0m" in drawing.words
    assert "20\u00a0m apart" in drawing.words


def test_a_party_in_feet_has_round_contours_in_feet():
    drawing = drawn_ground(slope(0.1), lengths=FEET)
    xs = sorted({round(command[1], 3) for one in drawing.contours for command in one.commands})
    # A foot of height is 3.048 m of this ground, 1.2192 mm on paper; the left edge stands at 100 m, 400 ft at 121.92 m.
    every = 10.0
    assert f"every {every:.0f}\u00a0ft" in drawing.words
    first = (400.0 * 0.3048 - 100.0) / 0.1 / 2.5
    assert all(
        (x - 14.0 - first) / (every * 1.2192)
        == pytest.approx(round((x - 14.0 - first) / (every * 1.2192)), abs=1e-3)
        for x in xs
    )
    assert drawing.figures
    assert all(float(one.text) % every == 0.0 for one in drawing.figures)
    # The spacing of the grid is one of its coordinates, which are metres.
    assert "20\u00a0m apart" in drawing.words


def test_contours_of_real_ground_have_their_height_by_an_interpolation_of_others():
    """The sample `jacksboro_fault_dem.npz` of matplotlib, at 90 m, against scipy at every vertex."""
    folder = Path(find_spec("matplotlib").submodule_search_locations[0])
    found = np.load(folder / "mpl-data" / "sample_data" / "jacksboro_fault_dem.npz")
    up = found["elevation"].astype(float)[::-1]
    east, north = 1000.0 + 90.0 * np.arange(up.shape[1]), 2000.0 + 90.0 * np.arange(up.shape[0])
    window = replace(WINDOW, scale=50000, east_m=6000.0, north_m=8000.0)
    terrain = Terrain(name="j", east_m=east, north_m=north, up_m=up)
    drawing = drawn_ground(terrain, window=window)
    step = interval(terrain, window.scale, METRES)
    ground = RegularGridInterpolator((north, east), up)
    assert len(drawing.contours) > 15
    for one in drawing.contours:
        on_page = np.array([command[1:] for command in one.commands if len(command) == 3])
        places = (on_page - (14.0, 89.0)) * 50.0 + (6000.0, 8000.0)
        heights = ground(places[:, ::-1])
        level = round(heights[0] / step) * step
        assert heights == pytest.approx(level, abs=1e-6)
        assert (one.pen == PENS["contour every fifth"]) == (level % (5 * step) == 0)


def test_figures_stand_on_their_lines_off_the_walk_and_off_what_is_drawn():
    drawing = drawn_ground(slope(0.1))
    taken = Taken(WINDOW.box.inset(0.8))
    drawn = box(30.0, 89.0, 40.0, 196.0)
    taken.block(drawn)
    walked = box(60.0, 89.0, 200.0, 180.0)
    placed = {one.text: one for one in place_heights(drawing.figures, taken, walked)}
    # 105 m is drawn over from end to end; 115 m and those on are free above the walk alone.
    assert "105" not in placed
    assert placed["110"].at[1] < 100.0 or placed["110"].at[1] > 180.0
    for text in ("115", "130", "140"):
        assert placed[text].at[1] > 180.0
        assert placed[text].at[0] == pytest.approx(14.0 + 4.0 * (float(text) - 100.0), abs=1.2)
    assert placed["110"].colour == GREY_45


def test_a_figure_keeps_off_the_bends_of_its_line():
    """A pyramid: the contour lies under the figure from end to end, to 1 mm, as it can't about a corner."""
    east, north = np.arange(1000.0, 1481.0, 5.0), np.arange(2000.0, 2261.0, 5.0)
    x, y = np.meshgrid(east - 1240.0, north - 2130.0)
    hill = Terrain(name="h", east_m=east, north_m=north, up_m=160.0 - 0.4 * np.maximum(np.abs(x), np.abs(y)))
    drawing = drawn_ground(hill)
    assert drawing.figures
    for one in drawing.figures:
        for at, turn in one.stands:
            for along in (-2.5, 2.5):
                px, py = at[0] + along * np.cos(np.radians(turn)), at[1] + along * np.sin(np.radians(turn))
                ground = 2.5 * (px - 14.0) - 240.0, 2.5 * (py - 89.0) - 130.0
                assert max(map(abs, ground)) == pytest.approx((160.0 - float(one.text)) / 0.4, abs=2.5)


def test_a_hole_is_a_gap():
    drawing = drawn_ground(slope(0.1, hole=(1150.0, 1250.0)))
    xs = [command[1] for one in drawing.contours for command in one.commands]
    assert not any(14.0 + 0.4 * 145 < x < 14.0 + 0.4 * 255 for x in xs)
    assert any(x > 14.0 + 0.4 * 260 for x in xs)


def test_heights_beside_the_window_and_level_ground_draw_nothing():
    away = Terrain(
        name="h", east_m=np.array([0.0, 10.0]), north_m=np.array([0.0, 10.0]), up_m=np.zeros((2, 2))
    )
    for terrain in (away, slope(0.0), slope(0.1, hole=(0.0, 9999.0))):
        assert drawn_ground(terrain).contours == ()


def test_a_projected_outcrop_has_its_pen_and_band_and_gives_way_to_what_was_walked():
    outcrop = Outcrop(
        younger="A",
        older="B",
        lines=(((1100.0, 2000.0), (1100.0, 2200.0)),),
        band=(((1090.0, 2000.0), (1110.0, 2000.0), (1110.0, 2200.0), (1090.0, 2200.0)),),
        strike_deg=0.0,
        dip_deg=30.0,
        reach_m=300.0,
        sd_up_m=1.0,
        contact=Span("a", 2, 1, 2),
        span=Span("a", 1, 1, 2),
    )
    (line,) = drawn_ground(slope(0.1), [outcrop]).traces
    assert line.commands == (("M", 54.0, 89.0), ("L", 54.0, 169.0))
    assert line.pen == PENS["projected trace"]
    drawing = drawn_ground(slope(0.1), [outcrop], walked=box(0.0, 109.0, 200.0, 119.0))
    assert [one.fill for one in drawing.bands] == [PROJECTED_BAND]
    assert sorted(one.commands[0][2] for one in drawing.traces) == [89.0, 119.0]
    assert "projected trace" in drawing.signs


LOG = """notation 1
traverse Heights
grid EPSG:32630
bearings grid
attitudes dip-direction
pace MO double 100 m in 65, 66, 66
terrain h.xyz
unit Sh Shale ; Jurassic
unit Ss Sandstone ; Triassic
control 1 500000 E 6000000 N 100 m ±2
trace Sh/Ss
at 1
  unit Ss
  bed 045/40
to 2 045 60p +3
along 30p
  contact Sh/Ss certain
at 2
  unit Sh
"""


def heights(name):
    rows = "\n".join(
        f"{x} {y} {100 + 0.05 * (x - 500000) + 0.1 * (y - 6000000):.2f}"
        for x in range(499700, 500401, 20)
        for y in range(5999700, 6000401, 20)
    )
    return {"h.xyz": rows.encode()}[name]


def test_a_handout_has_the_contours_and_no_outcrop():
    compiled = compile_log(Source(name="d.trav", text=LOG), load=heights)
    composed = compose_blank(compiled.trav, lay=blank_ground, template=read_template("field").value, mark="a")
    drawn = [one for page in composed.value.pages for one in paths(page.items)]
    assert [one for one in layer(composed.value.pages[0].items, "contours") if one.pen is not None]
    said = words([item for page in composed.value.pages for item in page.items])
    # The name of a file may tell what is to be found.
    assert "heights 20 m apart" in said
    assert "h.xyz" not in said
    # In a handout's own greys a line is known by its dashes.
    dashes = {one.pen.dash_mm for one in drawn if one.pen is not None}
    assert PENS["projected trace"].dash_mm not in dashes
    assert not any(one.fill == PROJECTED_BAND for one in drawn)


def test_a_sheet_states_interval_file_and_projection_and_without_a_grid_nothing_changes():
    def sheet(log):
        compiled = compile_log(Source(name="d.trav", text=log), load=heights)
        assert not compiled.failed
        document = compose(
            map_ground(compiled.trav),
            compiled.diagnostics,
            template=read_template("field").value,
            mark="a",
        ).value
        return document.pages[0].items

    items = sheet(LOG)
    assert "heights of h.xyz, 20 m apart" in words(items)
    assert "projected over heights" in words(items)
    assert any(one.pen == PENS["projected trace"] for one in paths(items))
    bare = sheet(LOG.replace("terrain h.xyz\n", "").replace("trace Sh/Ss\n", ""))
    assert not any(one.pen in {PENS["contour"], PENS["projected trace"]} for one in paths(bare))


def test_where_contours_crowd_every_fifth_alone_has_its_height():
    """Common practice, no source: on steep ground the heavy ones are read, and the rest is counted."""
    ground = slope(0.2)
    steep = np.where(ground.east_m > 1350.0, 0.8, 0.2)
    up = 100.0 + np.concatenate(([0.0], np.cumsum(steep[1:] * np.diff(ground.east_m))))
    ground = replace(ground, up_m=np.tile(up, (len(ground.north_m), 1)))
    drawn = drawn_ground(ground, window=replace(WINDOW, east_m=1050.0))
    assert drawn.words.startswith("contours every 5\u00a0m")
    figures = [
        (int(one.text), (place[0] - WINDOW.box.x) * 2.5 + 1050.0)
        for one in drawn.figures
        for place, _ in one.stands
    ]
    at_foot = {height for height, east in figures if east < 1320.0}
    above = {height for height, east in figures if east > 1380.0}
    assert at_foot & {130, 135, 140} == {130, 135, 140}
    assert above == {height for height in above if height % 25 == 0} != set()
