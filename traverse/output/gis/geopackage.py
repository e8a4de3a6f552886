"""GeoPackage (OGC 12-128): all layers and tables in one file, in their own grid, with a data dictionary and styles.

GDAL writes the features, through pyogrio. The data dictionary is the schema extension of the standard (annex F.9), and
how a layer is drawn a Styled Layer Descriptor in the table `layer_styles`, where programs look for it by custom.
"""

from __future__ import annotations

import errno
import os
import shutil
import sqlite3
import tempfile
import warnings
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

from traverse.layers.records import About, Crs, Geometry, LayerSet, MapLayer
from traverse.output.gis.extras import UnfitError, library
from traverse.output.gis.layer_columns import column, columns_of, wkb

_KINDS = {
    Geometry.POINT: "Point",
    Geometry.LINE: "MultiLineString",
    Geometry.AREA: "MultiPolygon",
    Geometry.TABLE: None,
}
_NO_DAY = "2000-01-01"
"""Of a file whose log has no date: nothing of the clock goes in."""
_LEAST_FREE = 1 << 16
"""Bytes of a disk below which it is full for a file that grows by pages."""
_UNDEFINED_CARTESIAN = -1
"""The standard's own number for a grid that nothing is known of (OGC 12-128, 1.1.2.1.2)."""


def write_geopackage(layers: LayerSet) -> bytes:
    """The layers as the bytes of a GeoPackage; the same layers give the same bytes.

    Raises `MissingExtraError` without pyogrio, `UnfitError` for a system that GDAL does not know.
    """
    with tempfile.TemporaryDirectory(prefix="traverse-") as folder:
        path = Path(folder) / "layers.gpkg"
        fill_geopackage(path, layers.about, layers.layers, layers.styles)
        return path.read_bytes()


def fill_geopackage(
    path: Path, about: About, pieces: Iterable[MapLayer], styles: Mapping[str, str] | None = None
) -> None:
    """Write layers to a file that is not there yet; a layer may come in several pieces, each with some of its rows.

    Raises as `write_geopackage`, and OSError where the file takes no more.
    """
    pyogrio = library("pyogrio", extra="gis", what="GeoPackage")
    day = f"{about.date or _NO_DAY}T00:00:00.000Z"
    begun: dict[str, MapLayer] = {}
    errors = pyogrio.errors
    try:
        # The day of the log stands for the present; and a file that is read back at once need not wait for the disk.
        with _set(pyogrio, OGR_CURRENT_DATE=day, OGR_SQLITE_SYNCHRONOUS="OFF"):
            for piece in pieces:
                _write(pyogrio, path, piece, None if begun else about, append=piece.name in begun)
                begun.setdefault(piece.name, replace(piece, rows=(), shapes=()))
        _describe(path, tuple(begun.values()), styles or {}, day)
    except (errors.DataSourceError, errors.DataLayerError, errors.FeatureError, sqlite3.Error) as problem:
        full = shutil.disk_usage(path.parent).free < _LEAST_FREE
        number = errno.ENOSPC if full else errno.EIO
        raise OSError(number, os.strerror(number) if full else f"{problem}") from problem


@contextmanager
def _set(pyogrio: Any, **settings: str) -> Iterator[None]:
    """GDAL with some settings, and as it was afterwards."""
    before = {name: pyogrio.get_gdal_config_option(name) for name in settings}
    pyogrio.set_gdal_config_options(settings)
    try:
        yield
    finally:
        pyogrio.set_gdal_config_options(before)


def _write(pyogrio: Any, path: Path, layer: MapLayer, about: About | None, *, append: bool) -> None:
    arrays, masks = zip(*map(column, layer.fields, columns_of(layer)), strict=True)
    spatial = layer.geometry is not Geometry.TABLE
    options: dict[str, Any] = {"layer_options": {"DESCRIPTION": layer.means}}
    if spatial:
        options["layer_options"] |= _system(layer.crs)
    if about is not None:
        options["dataset_metadata"] = _metadata(about)
    with warnings.catch_warnings():
        # A local grid has no system to give; that is said with SRID.
        warnings.filterwarnings("ignore", message="'crs' was not provided")
        try:
            pyogrio.raw.write(
                path,
                wkb(layer) if spatial else None,
                list(arrays),
                [one.name for one in layer.fields],
                field_mask=list(masks),
                layer=layer.name,
                driver="GPKG",
                geometry_type=_KINDS[layer.geometry],
                crs=None if not spatial or layer.crs is None or layer.crs.local else f"EPSG:{layer.crs.epsg}",
                append=append,
                **options,
            )
        except pyogrio.errors.CRSError as unknown:
            raise UnfitError(
                f"GDAL does not know {layer.crs.name if layer.crs else 'this grid'}"
            ) from unknown


def _system(crs: Crs | None) -> dict[str, str]:
    return {"SRID": str(_UNDEFINED_CARTESIAN)} if crs is None or crs.local else {}


def _metadata(about: About) -> dict[str, str]:
    """About, each kind once, its sentences on lines of their own."""
    found: dict[str, str] = {}
    for what, words in about.told:
        found[what] = f"{found[what]}\n{words}" if what in found else words
    return found


def _describe(path: Path, layers: Sequence[MapLayer], styles: Mapping[str, str], day: str) -> None:
    """The data dictionary and the styles, as tables beside those of the features."""
    with closing(sqlite3.connect(path)) as base, base:
        base.execute("PRAGMA synchronous = OFF")
        _dictionary(base, layers)
        _styles(base, styles, layers, day)


def _dictionary(base: sqlite3.Connection, layers: Sequence[MapLayer]) -> None:
    """Source of the tables: OGC 12-128, annex F.9, from memory."""
    base.execute(
        "CREATE TABLE gpkg_data_columns (table_name TEXT NOT NULL, column_name TEXT NOT NULL, name TEXT,"
        " title TEXT, description TEXT, mime_type TEXT, constraint_name TEXT,"
        " CONSTRAINT pk_gdc PRIMARY KEY (table_name, column_name),"
        " CONSTRAINT gdc_tn UNIQUE (table_name, name))"
    )
    base.execute(
        "CREATE TABLE gpkg_data_column_constraints (constraint_name TEXT NOT NULL, constraint_type TEXT NOT NULL,"
        " value TEXT, min NUMERIC, min_is_inclusive BOOLEAN, max NUMERIC, max_is_inclusive BOOLEAN,"
        " description TEXT, CONSTRAINT gdcc_ntv UNIQUE (constraint_name, constraint_type, value))"
    )
    base.executemany(
        "INSERT INTO gpkg_extensions (table_name, column_name, extension_name, definition, scope)"
        " VALUES (?, NULL, 'gpkg_schema', 'http://www.geopackage.org/spec121/#extension_schema', 'read-write')",
        [("gpkg_data_columns",), ("gpkg_data_column_constraints",)],
    )
    base.executemany(
        "INSERT INTO gpkg_data_columns (table_name, column_name, name, title, description) VALUES (?, ?, ?, ?, ?)",
        [
            (layer.name, field.name, field.name, field.name.replace("_", " "), field.means)
            for layer in layers
            for field in layer.fields
        ],
    )


def _styles(
    base: sqlite3.Connection, styles: Mapping[str, str], layers: Sequence[MapLayer], day: str
) -> None:
    spatial = {one.name for one in layers if one.geometry is not Geometry.TABLE}
    wanted = [(name, style) for name, style in styles.items() if name in spatial]
    if not wanted:
        return
    base.execute(
        "CREATE TABLE layer_styles (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, f_table_catalog TEXT,"
        " f_table_schema TEXT, f_table_name TEXT, f_geometry_column TEXT, styleName TEXT, styleSLD TEXT,"
        " useAsDefault BOOLEAN, description TEXT, owner TEXT, update_time DATETIME)"
    )
    base.executemany(
        "INSERT INTO layer_styles (f_table_catalog, f_table_schema, f_table_name, f_geometry_column, styleName,"
        " styleSLD, useAsDefault, description, owner, update_time)"
        " VALUES ('', '', ?, 'geom', ?, ?, 1, 'as on the sheet', '', ?)",
        [(name, name, style, day) for name, style in wanted],
    )
    base.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, last_change)"
        " VALUES ('layer_styles', 'attributes', 'layer_styles', 'how layers are drawn', ?)",
        (day,),
    )
