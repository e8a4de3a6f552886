"""Where the maps of a PDF and of a GeoTIFF lie, read by GDAL, pikepdf and pypdfium2, none of them part of the project."""

import io
from functools import cache
from pathlib import Path

import numpy as np
import pikepdf
import pypdfium2
import pytest
import rasterio
import rasterio.shutil
import rasterio.warp
import shapely

from tests.layers.tables import layers
from traverse.__main__ import main
from traverse.compile import compile_log, map_ground
from traverse.layers.registers import about_of
from traverse.output.gis.geotiff import write_geotiff
from traverse.output.pdf import write_pdf
from traverse.sheet.compose.compose import compose
from traverse.sheet.template.reading import read_template
from traverse.source import Source

VALLEY = Path(__file__).parent.parent.parent / "samples" / "oskerra-valley" / "oskerra-valley.trav"
DESERT = """notation 1
traverse Copper Flat
grid EPSG:26711
control 1 500120 E 4200200 N gps
bearings true
at 1
to 2 090 300m level
to 3 180 200m level
close 1 303.7 360.6m level
"""
LOCAL = DESERT.replace("grid EPSG:26711\ncontrol 1 500120 E 4200200 N gps\n", "")


@cache
def composed(text):
    found = compile_log(Source(name="a.trav", text=text), load=lambda one: (VALLEY.parent / one).read_bytes())
    assert found.trav is not None
    template = read_template("field").value
    return found.trav, compose(map_ground(found.trav), (), template=template, mark="").value


def viewports(text):
    with pikepdf.open(io.BytesIO(write_pdf(composed(text)[1]))) as file:
        return [
            (
                [float(one) for one in view.BBox],
                str(view.Measure.GCS.WKT),
                int(view.Measure.GCS.EPSG),
                np.array([float(one) for one in view.Measure.GPTS]).reshape(-1, 2),
                np.array([float(one) for one in view.Measure.LPTS]).reshape(-1, 2),
            )
            for view in file.pages[0].obj.get("/VP", [])
        ]


def grid_of(wkt, lat_lon):
    """Corners in the grid by GDAL, from its own reading of the system's well-known text."""
    system = rasterio.crs.CRS.from_wkt(wkt)
    own = rasterio.crs.CRS.from_wkt(wkt[wkt.index("GEOGCS") : wkt.index(",PROJECTION")])
    east, north = rasterio.warp.transform(own, system, lat_lon[:, 1].tolist(), lat_lon[:, 0].tolist())
    return np.column_stack([east, north])


@pytest.mark.every(2)
@pytest.mark.parametrize("text", [DESERT, VALLEY.read_text(encoding="utf-8")], ids=["NAD27", "ETRS89"])
def test_corners_of_a_map_are_those_of_its_ground_on_the_datum_of_its_grid(text):
    (frame,) = composed(text)[1].pages[0].maps
    ((box, wkt, epsg, lat_lon, corners),) = viewports(text)
    assert rasterio.crs.CRS.from_wkt(wkt).to_epsg(confidence_threshold=20) == epsg == frame.epsg
    ground = grid_of(wkt, lat_lon)
    wanted = np.array([frame.west_m, frame.south_m]) + corners * (frame.wide_m, frame.high_m)
    assert np.abs(ground - wanted).max() < 0.01
    # 1:n on paper: points of the page against metres of the ground.
    assert (box[2] - box[0]) * 25.4 / 72.0 * frame.scale / 1000.0 == pytest.approx(frame.wide_m, abs=0.001)


def test_a_coordinate_printed_along_the_edge_stands_where_the_dictionary_puts_it():
    text = VALLEY.read_text(encoding="utf-8")
    ((box, wkt, _, lat_lon, _),) = viewports(text)
    west, east = grid_of(wkt, lat_lon)[[0, 3], 0]
    pdf = pypdfium2.PdfDocument(write_pdf(composed(text)[1]))
    words = pdf[0].get_textpage()
    found = words.search("700")
    place = found.get_next()
    while place is not None:
        left, low, right, _ = np.array([words.get_charbox(place[0] + at) for at in range(3)]).T
        if low.min() > box[3]:
            at = (left.min() + right.max()) / 2.0
            assert west + (at - box[0]) / (box[2] - box[0]) * (east - west) == pytest.approx(412_700, abs=0.5)
            return
        place = found.get_next()
    pytest.fail("no 700 along the upper edge")


def test_the_dictionary_has_the_entries_and_the_order_of_corners_that_gdal_writes(tmp_path):
    """GDAL's own PDF of a picture, as a witness of how ISO 32000-2, 12.10 is read."""
    picture = tmp_path / "a.tif"
    picture.write_bytes(geotiff(VALLEY.read_text(encoding="utf-8")))
    rasterio.shutil.copy(picture, tmp_path / "a.pdf", driver="PDF")
    with pikepdf.open(tmp_path / "a.pdf") as file:
        theirs = file.pages[0].obj.VP[0].Measure
        keys, lpts = set(theirs.keys()), [float(one) for one in theirs.LPTS]
        lat, lon = (float(theirs.GPTS[at]) for at in (0, 1))
    with pikepdf.open(io.BytesIO(write_pdf(composed(VALLEY.read_text(encoding="utf-8"))[1]))) as file:
        ours = file.pages[0].obj.VP[0].Measure
        assert keys <= set(ours.keys())
        assert {tuple(one) for one in np.reshape(lpts, (-1, 2))} == {
            tuple(float(part) for part in one) for one in np.reshape(list(ours.LPTS), (-1, 2))
        }
        # Latitude first; their picture goes on below the map.
        assert float(ours.GPTS[0]) == pytest.approx(lat, abs=0.01)
        assert float(ours.GPTS[1]) == pytest.approx(lon, abs=0.01)


def test_a_sheet_in_a_local_grid_claims_no_place_on_earth():
    assert viewports(LOCAL) == []


@cache
def geotiff(text):
    trav, document = composed(text)
    return write_geotiff(document, about_of(trav, map_alone=True))


def test_the_picture_has_the_colours_of_the_units_where_their_ground_is(tmp_path):
    text = VALLEY.read_text(encoding="utf-8")
    made = layers(composed(text)[0])
    colours = dict(
        zip(made.layer("units").column("letters"), made.layer("units").column("colour"), strict=True)
    )
    (tmp_path / "a.tif").write_bytes(geotiff(text))
    met: dict[str, list[bool]] = {}
    with rasterio.open(tmp_path / "a.tif") as picture:
        assert picture.crs.to_epsg() == 25833
        assert "Not a land survey" in picture.tags()["TIFFTAG_IMAGEDESCRIPTION"]
        areas = made.layer("areas")
        for unit, covered, shape in zip(
            areas.column("unit"), areas.column("covered"), areas.shapes, strict=True
        ):
            if covered:
                continue
            west, south, east, north = shape.bounds
            x, y = (
                one.ravel() for one in np.meshgrid(np.arange(west, east, 3.0), np.arange(south, north, 3.0))
            )
            inside = shapely.contains_xy(shapely.buffer(shape, -1.0), x, y)
            colour = [int(colours[unit][at : at + 2], 16) for at in (1, 3, 5)]
            met.setdefault(unit, []).extend(
                one.tolist() == colour for one in picture.sample(list(zip(x[inside], y[inside], strict=True)))
            )
    # Letters, legs and signs lie over the rest.
    assert len(met) == 5
    assert {unit: np.mean(seen) > 0.75 for unit, seen in met.items()} == dict.fromkeys(met, True)


def test_the_picture_of_a_local_grid_has_its_metres_and_no_system(tmp_path):
    (tmp_path / "a.tif").write_bytes(geotiff(LOCAL))
    with rasterio.open(tmp_path / "a.tif") as picture:
        assert picture.crs is None
        west, _, east, north = picture.bounds
        assert (west < 0.0, east > 300.0) == (True, True)
        assert north > 0.0


def test_the_same_log_gives_the_same_picture():
    assert geotiff.__wrapped__(DESERT) == geotiff(DESERT)


def test_a_log_in_which_nothing_has_a_place_has_no_picture(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    Path("a.trav").write_text("notation 1\ntraverse Nowhere\n", encoding="utf-8")
    assert main(["export", "a.trav", "--to", "geotiff", "-o", "a.tif"]) in {1, 2}
    assert not Path("a.tif").exists()


def test_a_picture_of_the_map_names_its_units_and_no_section():
    trav = composed(VALLEY.read_text(encoding="utf-8"))[0]
    assert trav.geology.sections
    told = dict(about_of(trav, map_alone=True).told)
    assert "Farrow Limestone" in told["units"]
    assert "below ground" not in about_of(trav, map_alone=True).words
    assert "below ground" in about_of(trav).words
