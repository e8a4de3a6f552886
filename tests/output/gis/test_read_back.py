"""Every export read back by a library that is no part of the project: counts, places to 1 cm, values, nulls, scripts."""

import csv
import html
import io
import json
import re
import sys
from functools import cache
from pathlib import Path
from xml.etree import ElementTree as ET

import ezdxf
import gpxpy
import numpy as np
import openpyxl
import pyogrio
import pyproj
import pytest
import shapely
from shapely import LinearRing

from tests.layers.tables import layers
from traverse.compile import compile_log
from traverse.layers.lay_layers import in_lon_lat
from traverse.layers.records import Geometry
from traverse.output.csv_file import write_csv
from traverse.output.gis.dxf import write_dxf
from traverse.output.gis.extras import MissingExtraError
from traverse.output.gis.geojson import write_geojson, write_geojson_layer
from traverse.output.gis.geopackage import write_geopackage
from traverse.output.gis.gpx import write_gpx
from traverse.output.gis.kml import write_kml
from traverse.output.gis.layer_columns import rounded
from traverse.output.gis.xlsx import write_xlsx
from traverse.sheet.said.sentences import SKETCH
from traverse.source import Source

ROOT = Path(__file__).parent.parent.parent.parent
VALLEY = ROOT / "samples" / "oskerra-valley" / "oskerra-valley.trav"
HARD = """notation 1
traverse Ærø-Süd & <Низ>, Tag 1
date 2026-07-14
party MO Мара Olsen
grid EPSG:25833
bearings true
attitudes dip-right
unit Sh Reed "Shale" ; Jurassic
unit Ss Pike Sandstone ; Triassic
control 1 412472 E 5168878 N 1164 m ±6 gps
at 1
  unit Ss
  bed 322/30
  current 010 both
  rock =HYPERLINK("http://x","y") <b>& "quoted"; 砂岩
  sample +TG-01 =1+1
  photo 12 looking 045
to 2 047 97m +3
along 40m
  contact Sh/Ss certain
at 2
  unit Sh
  bed 320/34, 319/35
  hazard loose blocks ]]> & %%d ^J above
to 3 138 79m -2
close 1 266 127m -1
"""


def compiled(text=None):
    text = VALLEY.read_text(encoding="utf-8") if text is None else text
    found = compile_log(Source(name="a.trav", text=text), load=lambda one: (VALLEY.parent / one).read_bytes())
    assert not found.failed, [one.message for one in found.diagnostics]
    return found.trav


TEXTS = {"valley": None, "hard": HARD, "local": re.sub(r"(?m)^(grid|control) .*\n", "", HARD)}


@cache
def of(name):
    trav = compiled(TEXTS[name])
    return trav, layers(trav)


@pytest.fixture(params=TEXTS)
def day(request):
    return of(request.param)


@pytest.fixture(params=["valley", "hard"])
def globe(request):
    trav, made = of(request.param)
    return in_lon_lat(made, trav, what="a map"), made, trav.survey.frame.epsg


def spatial(made):
    return [one for one in made.layers if one.geometry is not Geometry.TABLE]


def apart_m(found, layer, epsg):
    """The same of shapes, whose rings may begin elsewhere: how far the farther of two outlines goes off the other."""
    move = pyproj.Transformer.from_crs(4326, epsg, always_xy=True)
    there = shapely.transform(found, lambda at: np.column_stack(move.transform(at[:, 0], at[:, 1])))
    return shapely.hausdorff_distance(there, np.array(layer.shapes, dtype=object)).max(initial=0.0)


def off_m(lon_lat, layer, epsg):
    """How far coordinates read back are from those of a layer in its grid."""
    east, north = pyproj.Transformer.from_crs(4326, epsg, always_xy=True).transform(
        lon_lat[:, 0], lon_lat[:, 1]
    )
    return np.hypot(*(np.column_stack([east, north]) - shapely.get_coordinates(list(layer.shapes))).T).max(
        initial=0
    )


def same(value, wanted):
    """Whether a value that GDAL gives is the one written: it gives NaN for a number that is missing."""
    if wanted is None:
        return value is None or value != value  # noqa: PLR0124
    return value == wanted


@pytest.mark.every(2)
def test_geopackage_by_gdal(day, tmp_path):
    trav, made = day
    path = tmp_path / "a.gpkg"
    path.write_bytes(write_geopackage(made))
    there = dict(pyogrio.list_layers(path).tolist())
    assert set(there) - {"layer_styles"} == {one.name for one in made.layers}
    for layer in made.layers:
        told, _, shapes, values = pyogrio.raw.read(path, layer=layer.name)
        assert list(told["fields"]) == [one.name for one in layer.fields]
        for column, wanted in zip(values, rounded(layer), strict=True):
            assert len(column) == len(wanted)
            assert all(same(one, other) for one, other in zip(column.tolist(), wanted, strict=True)), (
                layer.name
            )
        if layer.geometry is Geometry.TABLE:
            continue
        epsg = trav.survey.frame.epsg
        assert told["crs"].startswith("LOCAL_CS" if epsg is None else f"EPSG:{epsg}")
        assert np.array_equal(
            shapely.get_coordinates(shapely.from_wkb(shapes)), shapely.get_coordinates(list(layer.shapes))
        )


@pytest.mark.every(2)
def test_geojson_by_a_published_model_and_by_gdal(globe, tmp_path):
    from geojson_pydantic import FeatureCollection

    made, grid, epsg = globe
    body = json.loads(write_geojson(made))
    # Source: the models of geojson-pydantic, after RFC 7946.
    found = FeatureCollection.model_validate(body)
    assert len(found.features) == sum(len(one.rows) for one in spatial(made))
    west, south, east, north = body["bbox"]
    assert -180 <= west < east <= 180
    assert -90 <= south < north <= 90
    assert SKETCH in {one["words"] for one in body["about"]}
    for name in ("units", "sources", "glossary", "dictionary"):
        assert name in body["tables"]
    for layer in spatial(grid):
        path = tmp_path / f"{layer.name}.geojson"
        path.write_bytes(write_geojson_layer(made.about, made.layer(layer.name)))
        if not layer.rows:
            continue
        told, _, shapes, _ = pyogrio.raw.read(path)
        assert told["crs"] == "EPSG:4326"
        assert apart_m(shapely.from_wkb(shapes), layer, epsg) < 0.01


def test_rings_of_geojson_are_right_handed(globe):
    """RFC 7946, 3.1.6: exterior rings counter-clockwise, holes clockwise."""
    made, *_ = globe
    areas = [
        one for one in json.loads(write_geojson(made))["features"] if one["properties"]["layer"] == "areas"
    ]
    assert areas
    for one in areas:
        for exterior, *holes in one["geometry"]["coordinates"]:
            assert LinearRing(exterior).is_ccw
            assert not any(LinearRing(hole).is_ccw for hole in holes)


@pytest.mark.every(2)
def test_kml_by_gdal(globe, tmp_path):
    made, grid, epsg = globe
    path = tmp_path / "a.kml"
    path.write_bytes(write_kml(made))
    there = [one for one in spatial(grid) if one.rows]
    assert [one for one, _ in pyogrio.list_layers(path).tolist()] == [one.name for one in there]
    for layer in there:
        told, _, shapes, values = pyogrio.raw.read(path, layer=layer.name)
        found = shapely.from_wkb(shapes)
        assert len(found) == len(layer.rows)
        assert apart_m(found, layer, epsg) < 0.01
        if layer.name == "stations":
            kept = dict(zip(told["fields"], values, strict=True))
            assert list(kept["Name"]) == list(layer.column("name"))
            assert list(kept["standing"]) == list(layer.column("standing"))
    text = path.read_text(encoding="utf-8")
    assert "Not a land survey" in text


def test_what_a_party_wrote_is_no_markup_in_the_balloons_of_a_kml():
    """Read as XML and then as HTML, as a reader shows it, every mark is a letter again."""
    trav = compiled(TEXTS["hard"].replace("bearings", "emergency call <img src=x>\nbearings", 1))
    made = layers(trav)
    root = ET.fromstring(write_kml(in_lon_lat(made, trav, what="a map")))  # noqa: S314 our own file
    shown = [
        one.text or "" for one in root.iter() if one.tag.rpartition("}")[2] in {"description", "SimpleData"}
    ]
    assert not any(re.search("<[A-Za-z/!?]", one) for one in shown)
    for wrote in ("<Низ>", '"http://x","y") <b>& "quoted"'):
        assert any(wrote in html.unescape(one) for one in shown)


def test_words_without_marks_come_out_of_a_kml_as_they_were_written(tmp_path):
    """Through GDAL, which takes a field as plain text."""
    words = "blocks < 2 m & scree, R&D > 3"
    trav = compiled(HARD.replace("loose blocks ]]> & %%d ^J above", words))
    path = tmp_path / "a.kml"
    path.write_bytes(write_kml(in_lon_lat(layers(trav), trav, what="a map")))
    told, _, _, values = pyogrio.raw.read(path, layer="hazards")
    assert list(dict(zip(told["fields"], values, strict=True))["words"]) == [words]


def test_gpx_by_gpxpy_and_by_gdal(globe, tmp_path):
    made, grid, epsg = globe
    data = write_gpx(made)
    found = gpxpy.parse(data.decode())
    stations = [one for one in found.waypoints if one.type == "stations"]
    layer = grid.layer("stations")
    assert [one.name for one in stations] == list(layer.column("name"))
    assert off_m(np.array([(one.longitude, one.latitude) for one in stations]), layer, epsg) < 0.01
    heights = [None if one is None else round(one, 4) for one in layer.column("up")]
    assert [None if one.elevation is None else round(one.elevation, 4) for one in stations] == heights
    assert SKETCH in found.description
    assert found.time is None
    path = tmp_path / "a.gpx"
    path.write_bytes(data)
    legs = sum(len(one.points) - 1 for track in found.tracks for one in track.segments)
    assert legs == len(grid.layer("legs").rows)
    assert pyogrio.read_info(path, layer="waypoints", force_feature_count=True)["features"] == len(
        found.waypoints
    )


@pytest.mark.every(2)
def test_dxf_by_the_auditor_of_ezdxf_and_by_gdal(day, tmp_path):
    _, made = day
    path = tmp_path / "a.dxf"
    path.write_bytes(write_dxf(made, scale=2500))
    drawing = ezdxf.readfile(path)
    assert drawing.audit().errors == []
    assert drawing.units == 6
    space = drawing.modelspace()
    points = [one.dxf.location for one in space.query("POINT[layer=='stations']")]
    wanted = shapely.get_coordinates(list(made.layer("stations").shapes))
    assert np.abs(np.array([(one.x, one.y) for one in points]) - wanted).max() < 1e-6
    names = [one.dxf.text for one in space.query("TEXT[layer=='stations_names']")]
    assert names == list(made.layer("stations").column("name"))
    told = {one[1] for one in space.query("POINT[layer=='planes']").first.get_xdata("TRAVERSE")}
    assert f"written: {made.layer('planes').column('written')[0]}" in told
    assert any("Not a land survey" in one.dxf.text for one in space.query("TEXT[layer=='about']"))
    assert any("Not a land survey" in value for _, value in drawing.header.custom_vars)
    assert len(space.query("HATCH[layer=='areas']")) == len(made.layer("areas").rows)
    _, _, shapes, _ = pyogrio.raw.read(path, where="Layer = 'legs'")
    assert len(shapes) == len(made.layer("legs").rows)
    for layer in drawing.layers:
        assert len(layer.dxf.name) <= 255


@pytest.mark.every(2)
def test_xlsx_by_openpyxl(day, tmp_path):
    _, made = day
    book = openpyxl.load_workbook(io.BytesIO(write_xlsx(made)))
    assert book.sheetnames == [one.name for one in made.layers]
    for layer in made.layers:
        page = book[layer.name]
        head, *rows = page.iter_rows()
        assert [one.value for one in head][: len(layer.fields)] == [one.name for one in layer.fields]
        assert len(rows) == len(layer.rows)
        for cells, wanted in zip(rows, zip(*rounded(layer), strict=True), strict=True):
            assert [one.value for one in cells][: len(wanted)] == list(wanted)
            assert all(one.data_type != "f" for one in cells)
        assert "Compass-and-pace" in page.oddFooter.left.text or "NOT ADJUSTED" in page.oddFooter.left.text


def test_csv_by_the_standard_library_and_well_known_text_by_geos(day):
    _, made = day
    for layer in made.layers:
        rows = list(csv.reader(io.StringIO(write_csv(layer).decode(), newline="")))
        assert len(rows) == len(layer.rows) + 1
        assert not any(cell.startswith(("=", "@", "+")) for row in rows for cell in row)
        if layer.geometry in {Geometry.LINE, Geometry.AREA} and layer.rows:
            found = shapely.from_wkt([row[-1] for row in rows[1:]])
            wanted = shapely.get_coordinates(list(layer.shapes))
            assert np.abs(shapely.get_coordinates(found) - wanted).max() < 0.01


WRITERS = {
    "gpkg": write_geopackage,
    "kml": write_kml,
    "gpx": write_gpx,
    "dxf": lambda made: write_dxf(made, scale=2500),
    "xlsx": write_xlsx,
    "geojson": write_geojson,
}


@pytest.mark.in_turn
@pytest.mark.parametrize("name", WRITERS)
def test_the_same_day_gives_the_same_bytes(name, day):
    trav, made = day
    if name in {"kml", "gpx", "geojson"}:
        if trav.survey.frame.epsg is None:
            return
        made = in_lon_lat(made, trav, what=name)
    assert WRITERS[name](made) == WRITERS[name](made)


@pytest.mark.parametrize(
    ("name", "module", "extra"),
    [
        ("gpkg", "pyogrio", "gis"),
        ("kml", "pyogrio", "gis"),
        ("gpx", "gpxpy", "gis"),
        ("dxf", "ezdxf", "dxf"),
        ("xlsx", "xlsxwriter", "table"),
    ],
)
def test_a_missing_library_is_named_by_the_extra_that_brings_it(name, module, extra, day, monkeypatch):
    monkeypatch.setitem(sys.modules, module, None)
    with pytest.raises(MissingExtraError, match=re.escape(f"pip install 'traverse-notebook[{extra}]'")):
        WRITERS[name](day[1])
