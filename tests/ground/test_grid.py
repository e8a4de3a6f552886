"""Grids of heights as text: what is read, and what each wrong one is told."""

import re

import numpy as np
import pytest

from traverse.compile import compile_log
from traverse.ground.records import Terrain
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
    terrain = found.geology.ground.terrain
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
        (b"\xff\xfe\x00", "not plain text"),
        (b"II*\0abc", "rasterio|no GeoTIFF"),
        (grid().replace("499900", "inf", 1), "no number"),
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


def test_heights_in_feet_or_of_another_datum_are_told():
    assert told(grid(height=328.0)) == [("terrain-heights", "warning")]
    assert told(grid(height=101.0)) == []


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


def geotiff(epsg, bounds, up):
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
            count=1,
            dtype="float64",
            nodata=-32768.0,
            crs=None if epsg is None else rasterio.crs.CRS.from_epsg(epsg),
            transform=from_bounds(*bounds, wide, high),
        ) as file:
            file.write(up, 1)
        return bytes(memory.getbuffer())


@pytest.mark.filterwarnings("ignore::PendingDeprecationWarning")
def test_a_geotiff_in_longitude_and_latitude_lies_where_pyproj_puts_it():
    """Heights that rise with latitude: at a place of the map grid they must be those of its latitude."""
    pytest.importorskip("rasterio")
    import pyproj

    west, south, east, north = -3.02, 54.13, -2.98, 54.16
    rows = 300
    latitudes = north - (np.arange(rows) + 0.5) * (north - south) / rows
    up = np.repeat((latitudes[:, None] - 54.0) * 1000.0, 300, axis=1)
    up[:20, :20] = -32768.0
    found = compiled(geotiff(4326, (west, south, east, north), up))
    assert not found.failed
    terrain = found.geology.ground.terrain
    back = pyproj.Transformer.from_crs(32630, 4326, always_xy=True)
    for x, y in ((500000.0, 6000000.0), (499500.0, 5999000.0), (500700.0, 6000900.0)):
        expected = (back.transform(x, y)[1] - 54.0) * 1000.0
        assert terrain.at(np.array([x]), np.array([y]))[0] == pytest.approx(expected, abs=0.1)
    assert np.isnan(terrain.up_m).any()
    assert np.nanmin(terrain.up_m) > 100.0


@pytest.mark.filterwarnings("ignore::PendingDeprecationWarning")
def test_a_geotiff_without_a_coordinate_system_is_refused():
    pytest.importorskip("rasterio")
    found = compiled(geotiff(None, (499000, 5999000, 501000, 6001000), np.full((20, 20), 100.0)))
    assert any("no coordinate system" in one.message for one in found.diagnostics)
