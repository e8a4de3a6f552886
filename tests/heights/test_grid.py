"""Grids of heights as text: what is read, and what each wrong one is told."""

import re
import tracemalloc

import numpy as np
import pytest

from traverse.compile import compile_log
from traverse.heights import grid as heights_grid
from traverse.heights.records import Terrain
from traverse.source import Source

LOG = """notation 1
traverse Heights
grid EPSG:32630
bearings grid
pace MO double 100 m in 65, 66, 66
terrain h.xyz
control 1 500000 E 6000000 N 100 m ±2
at 1
to 2 090 60p +2
"""


def grid(line="{x} {y} {z}", step=50, height=100.0):
    return "\n".join(
        line.format(x=x, y=y, z=height)
        for x in range(499900, 500201, step)
        for y in range(5999900, 6000101, step)
    )


def turned():
    """Crossings of a grid whose lines run askew to those of the map."""
    return "\n".join(
        f"{499900 + 13.5 * i + 4.5 * j:.1f} {5999900 - 4.5 * i + 13.5 * j:.1f} 100"
        for i in range(20)
        for j in range(20)
    )


def compiled(text, log=LOG):
    data = text if isinstance(text, bytes) else text.encode()
    return compile_log(Source(name="day.trav", text=log), load=lambda name: {"h.xyz": data}[name])


def told(text, log=LOG):
    return [(one.code, one.kind) for one in compiled(text, log).diagnostics if one.code.startswith("terrain")]


@pytest.mark.parametrize(
    "text",
    [
        grid(),
        grid("{x},{y},{z}"),
        grid("{x}\t{y}\t{z}"),
        "x y z\n" + grid(),
        "\ufeff# a\n\n" + grid(),
        grid() + "\r\n",
    ],
)
def test_the_usual_ways_to_write_it_are_read(text):
    found = compiled(text)
    assert not found.failed
    terrain = found.trav.ground.terrain
    assert terrain.up_m.shape == (5, 7)
    assert terrain.spacing_m == 50.0


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "no figures"),
        ("1 2\n", "2 figures"),
        (grid() + "\nhigh hill", "more than figures"),
        ("\n".join(f"{500000 + 7 * i * i} {6000000 + 11 * i * i * i} 1" for i in range(40)), "grid|spaced"),
        ("1 2 3\n1 3 4\n", "one easting"),
        (b"\xff\xfe\x00", "line 1 is not plain text"),
        (grid().encode().replace(b" 100.0\n", b" 1\xe900\n", 1), "line 1 is not plain text"),
        (b"II*\0abc", "rasterio|no GeoTIFF"),
        (grid().replace("500000 6000000 100.0", "500000 6000000 1_00.0", 1), "more than figures"),
        (grid().replace("499900", "inf", 1), "line 1: a coordinate is no number"),
        ("# east north up\n\n" + grid().replace("500000 6000000", "500000 6e9"), "line 15: a coordinate"),
        (grid().replace("500000 6000000", "500013 6000000"), "line 13: no other line has the easting 500013"),
        (grid().splitlines()[0], "one easting"),
        ("\n".join(grid().splitlines()[:5]), "one easting"),
        (grid(height=-9999.0), "no height in it"),
        (grid() + "\n" + grid(height=150.0), r"lines 1 and 36: two heights at 499900 E 5999900 N"),
        (
            "0 0 1\n1000000 1000000 2\n0.5 0.5 3",
            r"^h.xyz: lines 1 and 3: 0 E 0 N and 0.5 E 0.5 N fall on one crossing of a grid of 500000 by 500000",
        ),
        (grid("{x};{y};100,5"), "4 figures"),
        (turned(), "no grid that runs east"),
    ],
)
def test_what_is_no_grid_is_told_at_the_terrain_line(text, said):
    found = compiled(text)
    (one,) = [one for one in found.diagnostics if one.code.startswith("terrain")]
    assert one.kind == "error"
    assert re.search(said, one.message)
    assert one.span.line == 6
    assert one.hints


def test_a_file_that_is_not_there_and_a_walk_without_a_grid_and_heights_elsewhere():
    def load(name):
        raise FileNotFoundError(name)

    missing = compile_log(Source(name="day.trav", text=LOG), load=load)
    assert [one.code for one in missing.diagnostics if one.kind == "error"] == ["terrain-missing"]
    local = LOG.replace("grid EPSG:32630\n", "").replace("control 1 500000 E 6000000 N 100 m ±2\n", "")
    assert told(grid(), local) == [("terrain-without-grid", "warning")]
    assert told(grid("1{x} {y} {z}")) == [("terrain-elsewhere", "warning")]


def hinted(text, log=LOG):
    """What is said to be done about heights."""
    return [one.hints[0] for one in compiled(text, log).diagnostics if one.code.startswith("terrain")]


def test_heights_in_feet_or_of_another_datum_are_told():
    assert told(grid(height=328.0)) == [("terrain-heights", "warning")]
    assert "as feet they would agree" in hinted(grid(height=328.0))[0]
    assert "datum" in hinted(grid(height=160.0))[0]
    assert told(grid(height=101.0)) == []


def test_what_is_likely_wrong_with_heights_elsewhere_is_said():
    assert "write east, then north" in hinted(grid("{y} {x} {z}"))[0]
    degrees = "\n".join(
        f"{-3 + 0.001 * x:.4f} {54.1 + 0.001 * y:.4f} 100" for x in range(9) for y in range(9)
    )
    assert "look like degrees" in hinted(degrees)[0]
    (where,) = hinted(grid("1{x} {y} {z}"))
    assert "it spans 1499900 to 1500200 E" in where
    assert "the walk 500000 to 5000" in where
    assert "a decimal" not in where


def test_a_decimal_comma_is_told_from_a_comma_between():
    assert "with a point" in hinted(grid("{x};{y};100,5"))[0]
    assert told(grid("{x}, {y}, 100.5")) == []


def test_a_crossing_given_twice_with_one_height_is_one_crossing():
    terrain = compiled(grid() + "\n" + grid(height=100.2)).trav.ground.terrain
    assert terrain.up_m.shape == (5, 7)
    assert terrain.up_m.max() == pytest.approx(100.2)


def test_a_file_that_is_a_folder_or_too_large_is_told_from_one_that_is_not_there(
    tmp_path, monkeypatch, capsys
):
    from traverse.__main__ import main
    from traverse.command import files

    (tmp_path / "h.xyz").mkdir()
    (tmp_path / "day.trav").write_text(LOG, encoding="utf-8")
    assert main(["check", str(tmp_path / "day.trav")]) == 1
    assert "h.xyz can't be read: is no file" in capsys.readouterr().err
    (tmp_path / "h.xyz").rmdir()
    (tmp_path / "h.xyz").write_text(grid(), encoding="utf-8")
    monkeypatch.setattr(files, "_MOST_NAMED_BYTES", 100)
    assert main(["check", str(tmp_path / "day.trav")]) == 1
    said = capsys.readouterr().err
    assert "h.xyz can't be read: over 0 MB" in said
    assert "cut to the ground of the walk" in " ".join(said.split())


def test_heights_between_crossings_are_bilinear_and_a_hole_has_none():
    terrain = Terrain(
        name="t",
        east_m=np.array([0.0, 10.0, 20.0]),
        north_m=np.array([0.0, 10.0]),
        up_m=np.array([[0.0, 10.0, np.nan], [20.0, 30.0, 40.0]]),
    )
    found = terrain.at(np.array([5.0, 2.5, 10.0, 15.0, 30.0]), np.array([5.0, 0.0, 10.0, 5.0, 5.0]))
    assert found[:3] == pytest.approx([15.0, 2.5, 30.0])
    assert np.isnan(found[3:]).all()


def geotiff(epsg, bounds, up, *, scale=1.0, offset=0.0, bands=1):
    """Bytes of a GeoTIFF whose cells fill the bounds; without a coordinate system for None."""
    rasterio = pytest.importorskip("rasterio")
    from rasterio.io import MemoryFile
    from rasterio.transform import from_bounds

    with MemoryFile() as memory:
        high, wide = up.shape
        with memory.open(
            driver="GTiff",
            width=wide,
            height=high,
            count=bands,
            dtype="float64",
            nodata=-32768.0,
            crs=None if epsg is None else rasterio.crs.CRS.from_epsg(epsg),
            transform=from_bounds(*bounds, wide, high),
        ) as file:
            file.write(np.where(up == -32768.0, up, (up - offset) / scale), 1)
            file.scales, file.offsets = (scale,) * bands, (offset,) * bands
        return bytes(memory.getbuffer())


@pytest.mark.filterwarnings("ignore::PendingDeprecationWarning")
@pytest.mark.parametrize(("scale", "offset"), [(1.0, 0.0), (0.1, 50.0)])
def test_a_geotiff_in_longitude_and_latitude_lies_where_pyproj_puts_it(scale, offset):
    """Heights that rise with latitude: at a place of the map grid they must be those of its latitude."""
    pytest.importorskip("rasterio")
    import pyproj

    west, south, east, north = -3.02, 54.13, -2.98, 54.16
    rows = 300
    latitudes = north - (np.arange(rows) + 0.5) * (north - south) / rows
    up = np.repeat((latitudes[:, None] - 54.0) * 1000.0, 300, axis=1)
    up[150:160, 112:125] = -32768.0
    found = compiled(geotiff(4326, (west, south, east, north), up, scale=scale, offset=offset))
    assert not found.failed
    terrain = found.trav.ground.terrain
    back = pyproj.Transformer.from_crs(32630, 4326, always_xy=True)
    for x, y in ((500000.0, 6000000.0), (499600.0, 5999600.0), (500450.0, 6000450.0)):
        expected = (back.transform(x, y)[1] - 54.0) * 1000.0
        assert terrain.at(np.array([x]), np.array([y]))[0] == pytest.approx(expected, abs=0.1)
    assert np.isnan(terrain.up_m).any()
    assert np.nanmin(terrain.up_m) > 100.0


@pytest.mark.filterwarnings("ignore::PendingDeprecationWarning")
def test_a_geotiff_without_a_coordinate_system_is_refused():
    pytest.importorskip("rasterio")
    found = compiled(geotiff(None, (499000, 5999000, 501000, 6001000), np.full((20, 20), 100.0)))
    assert any("no coordinate system" in one.message for one in found.diagnostics)


@pytest.mark.filterwarnings("ignore::PendingDeprecationWarning")
def test_where_a_geotiff_lies_that_no_station_is_on_is_told():
    """7 by 5 cells of 50 m, far to the south-east of the walk; none of it is read."""
    (hint,) = hinted(geotiff(32630, (700_000, 5_000_000, 700_350, 5_000_250), np.full((5, 7), 100.0)))
    assert "it spans 700000 to 700350 E and 5000000 to 5000250 N" in hint


@pytest.mark.filterwarnings("ignore::PendingDeprecationWarning")
@pytest.mark.parametrize(("most", "refused"), [(35, False), (34, True)])
def test_a_geotiff_of_more_heights_than_can_be_held_is_refused(monkeypatch, most, refused):
    """7 by 5 cells about the walk."""
    monkeypatch.setattr(heights_grid, "_MOST_CELLS", most)
    found = told(geotiff(32630, (499_875, 5_999_875, 500_225, 6_000_125), np.full((5, 7), 100.0)))
    assert bool(found) is refused


@pytest.mark.filterwarnings("ignore::PendingDeprecationWarning")
def test_a_picture_is_not_read_for_heights():
    """Three bands of colours; the first was taken for heights without a word."""
    pytest.importorskip("rasterio")
    found = compiled(geotiff(32630, (499000, 5999000, 501000, 6001000), np.full((20, 20), 100.0), bands=3))
    (one,) = [one for one in found.diagnostics if one.code.startswith("terrain")]
    assert one.kind == "error"
    assert "has 3 bands, as a picture has" in one.message


def test_heights_with_a_hole_about_the_walk_are_not_told_to_lie_elsewhere():
    walk = {500000.0, 500050.0, 500100.0, 499950.0}
    holed = "\n".join(
        line if float(line.split()[0]) not in walk else " ".join([*line.split()[:2], "-9999"])
        for line in grid().splitlines()
    )
    (said,) = hinted(holed)[:1]
    assert said == "it reaches the walk, and has no height there: its figures stand for none"


@pytest.mark.filterwarnings("ignore::PendingDeprecationWarning")
def test_only_the_ground_about_the_walk_is_read_of_a_large_geotiff():
    """Twelve kilometres square at 10 m: half a kilometre about a walk of 90 m is a hundredth of it."""
    up = np.add.outer(np.arange(1200.0, 0.0, -1.0), np.zeros(1200)) + 100.0
    found = compiled(geotiff(32630, (494000, 5994000, 506000, 6006000), up))
    terrain = found.trav.ground.terrain
    assert 100 <= len(terrain.east_m) <= 125
    # Rows run down from the north, where the first of them has 1300 m.
    expected = 1300.0 - (6006000.0 - 5.0 - 6000000.0) / 10.0
    assert terrain.at(np.array([500000.0]), np.array([6000000.0]))[0] == pytest.approx(expected, abs=0.05)
    away = compiled(geotiff(32630, (594000, 5994000, 606000, 6006000), up))
    (said,) = [one for one in away.diagnostics if one.code == "terrain-elsewhere"]
    assert "it spans 594000 to 606000 E" in said.hints[0]


@pytest.mark.parametrize(
    "figure",
    [
        *("-9999.0", "-9999.9", "-32768", "-32767", "32767", "99999", "-99999", "1e20", "1e30", "1.70141e38"),
        *("1.70141183460469e+38", "3.4028235e38", "-3.4028235e+38", "1.7976931348623157e308", "nan"),
    ],
)
def test_a_figure_that_stands_for_no_height_is_a_hole_and_is_counted(figure, recwarn):
    """Those that grids of heights use for a hole; common practice, no source."""
    found = compiled(grid().replace(" 100.0", f" {figure}", 1))
    assert not found.failed
    assert np.isnan(found.trav.ground.terrain.up_m).sum() == 1
    assert np.nanmax(found.trav.ground.terrain.up_m) == 100.0
    said = [one.message for one in found.diagnostics if one.code == "terrain-holes"]
    assert said == ["1 figure stands for no height in h.xyz"]
    assert not recwarn.list


@pytest.mark.parametrize(
    "figure",
    ["1e300", "-1e300", "12001", "-12001", "1e6", "40000", "123456", "inf", "-inf", "1e400", "9" * 500],
)
def test_a_figure_where_no_ground_lies_is_refused_at_its_line(figure, recwarn):
    text = "# hill\n" + grid().replace(" 100.0", f" {figure}", 3)
    found = compiled(text)
    said = [one for one in found.diagnostics if one.code == "terrain"]
    assert found.failed
    assert len(said) == 1
    shown = figure if len(figure) < 20 else "9" * 20 + "…"
    assert said[0].message == f"h.xyz: line 2: no ground lies at a height of {shown}"
    assert said[0].span.line == 6
    assert not recwarn.list


def test_a_coordinate_beyond_the_earth_is_refused(recwarn):
    found = compiled(grid().replace("499900", "1e308"))
    assert "a coordinate is no number" in next(o.message for o in found.diagnostics if o.code == "terrain")
    assert not recwarn.list


@pytest.mark.filterwarnings("ignore::PendingDeprecationWarning")
@pytest.mark.parametrize(("figure", "holes"), [(3.4028234663852886e38, True), (-32768.0, True), (1e6, False)])
def test_a_hole_that_a_geotiff_does_not_declare_is_not_blended_into_its_neighbours(figure, holes):
    rasterio = pytest.importorskip("rasterio")
    from rasterio.io import MemoryFile
    from rasterio.transform import from_origin

    up = np.full((30, 30), 100.0, dtype="float32")
    up[3, 3] = figure
    with MemoryFile() as memory:
        with memory.open(
            driver="GTiff",
            width=30,
            height=30,
            count=1,
            dtype="float32",
            crs=rasterio.crs.CRS.from_epsg(32630),
            transform=from_origin(499850.0, 6000150.0, 10.0, 10.0),
        ) as file:
            file.write(up, 1)
        data = memory.read()
    found = compiled(data)
    if not holes:
        assert "holds 1000000" in next(one.message for one in found.diagnostics if one.code == "terrain")
        return
    heights = found.trav.ground.terrain.up_m
    assert np.isnan(heights).any()
    assert np.nanmin(heights) == np.nanmax(heights) == 100.0
    assert any(one.code == "terrain-holes" for one in found.diagnostics)


def out_of_line(text, log=LOG):
    """What is asked about heights that can't lie next to each other."""
    return [one for one in compiled(text, log).diagnostics if one.code == "terrain-jumps"]


def with_height(height, *places, ground=300):
    """The grid with another height at some crossings."""
    text = grid(height=ground)
    for place in places:
        text = text.replace(f"{place} {ground}", f"{place} {height}")
    return text


NEAR_300 = LOG.replace("100 m ±2", "300 m ±2")


@pytest.mark.parametrize("place", ["500000 6000000", "500050 5999950", "499900 5999900"])
@pytest.mark.parametrize(
    ("height", "said"), [(9999, "9699 m above all round it"), (30, "270 m below all round it")]
)
def test_one_height_that_no_ground_has_beside_it_is_asked_about_with_its_place(place, height, said):
    """A digit too many, and one too few, in the middle of the grid, beside the walk and at a corner."""
    text = "east north up\n" + with_height(height, place)
    line = 1 + next(n for n, one in enumerate(text.splitlines()) if one.startswith(place))
    (one,) = [one for one in compiled(text, NEAR_300).diagnostics if one.code.startswith("terrain")]
    east, north = place.split()
    assert one.message == f"h.xyz, line {line}, {east} E {north} N: the height {height} lies {said}"
    assert (one.kind, one.span.line) == ("warning", 6)
    assert "-9999" in one.hints[0]


def test_holes_that_are_written_as_a_height_are_told_as_a_jump():
    """Which of the two is wrong is not known, so both stand there."""
    (one,) = out_of_line(with_height(9999, "500000 6000000", "500000 6000050", "500050 6000000"), NEAR_300)
    assert "the height 9999 lies 9699 m above 300, next to it at" in one.message
    assert one.message.endswith("and 2 more like it")


def test_steep_ground_is_not_asked_about():
    """A cliff of 90 m, a mountain side of 75 degrees, a tower of 140 m and the edge of a hole may all be there."""
    side = "\n".join(
        f"{x} {y} {100 + max(0, x - 500000) * 3.73:.0f}"
        for x in range(499900, 500201, 50)
        for y in range(5999900, 6000101, 50)
    )
    assert out_of_line(side) == []
    assert out_of_line(with_height(390, "500000 6000000", "500050 6000000")) == []
    assert out_of_line(with_height(440, "500000 6000000", ground=300), NEAR_300) == []
    assert out_of_line(with_height(-9999, "500000 6000000"), NEAR_300) == []


def test_a_height_far_from_the_walk_is_not_asked_about():
    far = "\n".join(
        f"{x} {y} {9999 if (x, y) == (508000, 6000000) else 100}"
        for x in range(499000, 510001, 500)
        for y in range(5999000, 6001001, 500)
    )
    assert out_of_line(far) == []
    assert out_of_line(far.replace("9999", "100").replace("500500 6000000 100", "500500 6000000 9999"))


def test_a_height_out_of_line_can_be_answered():
    log = NEAR_300.replace("terrain h.xyz\n", "terrain h.xyz\nchecked MO a mast\n")
    (one,) = out_of_line(with_height(9999, "500000 6000000"), log)
    assert one.kind == "answered"


@pytest.mark.filterwarnings("ignore::PendingDeprecationWarning")
def test_a_height_out_of_line_is_found_in_a_geotiff():
    up = np.full((5, 7), 300.0)
    up[2, 2] = 9999.0
    (one,) = out_of_line(geotiff(32630, (499875, 5999875, 500225, 6000125), up), NEAR_300)
    assert "h.xyz, 500" in one.message
    assert "line" not in one.message


def many_lines(count, last):
    rows = [f"{499900 + 5 * (at % 500)} {5999900 + 5 * (at // 500)} 100.25" for at in range(count)]
    return "\n".join(["east north height", *rows, last]).encode()


@pytest.mark.every(3)
@pytest.mark.parametrize(
    ("last", "told"),
    [
        ("499950 none 100", "line 60002 holds more than figures"),
        ("499950 6000000 100 3", "line 60002 has 4 figures, not 3"),
        ("499950 6000000 20000", "line 60002: no ground lies at a height of 20000"),
    ],
)
def test_a_mistake_at_the_end_of_many_lines_is_told_at_its_line(last, told):
    said = [one.message for one in compiled(many_lines(60_000, last)).diagnostics if one.code == "terrain"]
    assert [one.partition(": ")[2] for one in said] == [told]


@pytest.mark.thorough
def test_many_lines_take_a_few_times_their_size():
    """Every line of them as records would take twenty times as much."""
    data = many_lines(100_000, "499950 none 100")
    tracemalloc.start()
    compiled(data)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most < 8 * len(data)
