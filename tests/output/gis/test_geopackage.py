"""GeoPackages read back by GDAL, which is no part of the project, and by SQLite."""

import sqlite3
from contextlib import closing

import numpy as np
import pyogrio
import pytest
import shapely

from traverse.layers.records import About, Crs, FieldKind, Geometry, LayerField, LayerSet, MapLayer
from traverse.output.gis.geopackage import write_geopackage

ABOUT = About(
    title="Reed Side",
    date="2026-07-14",
    told=(("title", "Reed Side"), ("limits", "A sketch."), ("limits", "Not a survey.")),
)
UTM = Crs(epsg=25833, name="ETRS89 / UTM zone 33N")
LOCAL = Crs(epsg=None, name="local grid")


def fields(**kinds):
    return tuple(LayerField(name=name, kind=kind, means=f"the {name}") for name, kind in kinds.items())


def stations(crs=UTM):
    return MapLayer(
        name="stations",
        means="Stations.",
        geometry=Geometry.POINT,
        fields=fields(name=FieldKind.TEXT, up=FieldKind.METRES, tied=FieldKind.FLAG, line=FieldKind.WHOLE),
        rows=(("Ærø=1", 12.345678, True, 7), (None, None, None, None)),
        shapes=(shapely.Point(412472.125, 5168878.25), None),
        crs=crs,
    )


def written(tmp_path, *layers, styles=None):
    path = tmp_path / "a.gpkg"
    path.write_bytes(write_geopackage(LayerSet(about=ABOUT, layers=layers, styles=styles or {})))
    return path


def test_features_come_back_with_their_places_values_and_nulls(tmp_path):
    path = written(tmp_path, stations())
    told, _, shapes, values = pyogrio.raw.read(path, layer="stations")
    assert told["crs"] == "EPSG:25833"
    assert shapely.from_wkb(shapes[0]).coords[0] == (412472.125, 5168878.25)
    assert shapes[1] is None
    name, up, tied, line = values
    assert name.tolist() == ["Ærø=1", None]
    assert up[0] == 12.3457
    assert np.isnan(up[1])
    assert tied[0] == 1
    assert np.isnan(tied[1])
    assert line[0] == 7


def test_a_local_grid_is_kept_and_called_undefined(tmp_path):
    path = written(tmp_path, stations(LOCAL))
    assert pyogrio.read_info(path, layer="stations")["crs"].startswith("LOCAL_CS")


def test_tables_lines_and_areas_keep_their_kind_even_without_rows(tmp_path):
    line = MapLayer(
        name="legs",
        means="Legs.",
        geometry=Geometry.LINE,
        fields=fields(start=FieldKind.TEXT),
        rows=(("1",),),
        shapes=(shapely.LineString([(0, 0), (3, 4)]),),
        crs=UTM,
    )
    area = MapLayer(
        name="areas",
        means="Ground.",
        geometry=Geometry.AREA,
        fields=fields(unit=FieldKind.TEXT),
        rows=(),
        crs=UTM,
    )
    table = MapLayer(name="units", means="Units.", fields=fields(letters=FieldKind.TEXT), rows=(("Sh",),))
    path = written(tmp_path, line, area, table)
    kinds = dict(pyogrio.list_layers(path).tolist())
    assert kinds == {"legs": "MultiLineString", "areas": "MultiPolygon", "units": None}
    assert [pyogrio.read_info(path, layer=one)["features"] for one in kinds] == [1, 0, 1]


def test_what_the_figures_are_not_for_and_what_each_field_means_are_in_the_file(tmp_path):
    path = written(tmp_path, stations(), styles={"stations": "<StyledLayerDescriptor/>"})
    assert (
        pyogrio.read_info(path, layer="stations")["dataset_metadata"]["limits"] == "A sketch.\nNot a survey."
    )
    with closing(sqlite3.connect(path)) as base:
        means = base.execute("SELECT column_name, description FROM gpkg_data_columns").fetchall()
        styles = base.execute("SELECT f_table_name, styleSLD, useAsDefault FROM layer_styles").fetchall()
    assert ("up", "the up") in means
    assert styles == [("stations", "<StyledLayerDescriptor/>", 1)]


def test_the_same_layers_give_the_same_bytes():
    layers = LayerSet(about=ABOUT, layers=(stations(),), styles={})
    assert write_geopackage(layers) == write_geopackage(layers)


@pytest.mark.parametrize("kept", ["2001-02-03T00:00:00.000Z", None])
def test_the_setting_of_whoever_calls_stays_as_it_was(kept):
    before = pyogrio.get_gdal_config_option("OGR_CURRENT_DATE")
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": kept})
    try:
        write_geopackage(LayerSet(about=ABOUT, layers=(stations(),), styles={}))
        assert pyogrio.get_gdal_config_option("OGR_CURRENT_DATE") == kept
    finally:
        pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": before})
