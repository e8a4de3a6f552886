"""KML 2.2 (OGC 07-147r2) through GDAL: a folder for each layer, what is known of a feature in its table."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Mapping
from html import escape, unescape
from pathlib import Path
from typing import Any

import numpy as np

from traverse.layers.records import FieldKind, Geometry, LayerField, LayerSet, MapLayer
from traverse.output.gis.extras import library
from traverse.output.gis.layer_columns import column, columns_of, wkb, xml_text

_NAMED_BY = ("name", "label", "mark", "figure", "unit", "kind")
"""Fields that the name of a feature is taken from, the first that it has."""
_PEN = "PEN(c:#000000,w:2px)"
_STYLE = "OGR_STYLE"
_TAG = re.compile(r"<[A-Za-z/!?]")
"""What begins a mark of HTML; before anything else `<` is a letter. Source: WHATWG, HTML, 13.2.5.6 (tag open state)."""


def write_kml(layers: LayerSet) -> bytes:
    """Layers by longitude and latitude as the bytes of a KML file. Raises `MissingExtraError` without pyogrio."""
    pyogrio = library("pyogrio", extra="gis", what="KML")
    spatial = [one for one in layers.layers if one.geometry is not Geometry.TABLE and one.rows]
    colours = _unit_colours(layers)
    with tempfile.TemporaryDirectory(prefix="traverse-") as folder:
        path = Path(folder) / "layers.kml"
        options: dict[str, Any] = {
            "NAME": _kml_text(layers.about.title or "traverse"),
            "DESCRIPTION": _shown_text(layers.about.words),
        }
        for layer in spatial:
            _write(pyogrio, path, layer, colours, options)
            options = {}
        return path.read_bytes() if spatial else _empty(layers)


def _write(
    pyogrio: Any, path: Path, layer: MapLayer, colours: Mapping[str, str], options: dict[str, Any]
) -> None:
    fields, values = [*layer.fields], columns_of(layer)
    if "name" not in [one.name for one in fields]:
        fields.insert(0, LayerField(name="Name", kind=FieldKind.TEXT, means=""))
        values.insert(0, _names(layer))
    arrays: list[Any] = []
    masks: list[Any] = []
    for field, given in zip(fields, values, strict=True):
        told = _kml_text if field.name.lower() == "name" else _shown_text
        kept = tuple(told(one) if isinstance(one, str) else one for one in given)
        array, mask = column(field, kept)
        arrays.append(array)
        masks.append(mask)
    if layer.geometry is not Geometry.POINT:
        fields.append(LayerField(name=_STYLE, kind=FieldKind.TEXT, means=""))
        arrays.append(np.array(_styles(layer, colours), dtype=object))
        masks.append(None)
    pyogrio.raw.write(
        path,
        wkb(layer),
        arrays,
        [one.name for one in fields],
        field_mask=masks,
        layer=layer.name,
        driver="LIBKML",
        geometry_type={Geometry.POINT: "Point", Geometry.LINE: "MultiLineString"}.get(
            layer.geometry, "MultiPolygon"
        ),
        crs="EPSG:4326",
        layer_options={"DESCRIPTION": _shown_text(layer.means), "FOLDER": "YES"},
        **options,
    )


def _kml_text(value: str) -> str:
    """A text that ends no CDATA section, in which GDAL's writer puts what has marks of XML in it."""
    return xml_text(value).replace("]]>", "]] >")


def _shown_text(value: str) -> str:
    """A text for a balloon, which readers take as HTML (OGC 07-147r2; that they do, common practice, no source): its marks are letters there.

    What HTML reads as it stands is left so, for programs that take a field as plain text.

    >>> _shown_text("<b>a & b"), _shown_text("a & b < c")
    ('&lt;b&gt;a &amp; b', 'a & b < c')
    """
    plain = unescape(value) == value and not _TAG.search(value)
    return _kml_text(value if plain else escape(value, quote=False))


def _names(layer: MapLayer) -> tuple[object, ...]:
    names = [one.name for one in layer.fields]
    by = next((one for one in _NAMED_BY if one in names), None)
    return layer.column(by) if by else (None,) * len(layer.rows)


def _unit_colours(layers: LayerSet) -> dict[str, str]:
    units = next((one for one in layers.layers if one.name == "units"), None)
    if units is None:
        return {}
    return {
        str(letters): str(colour)
        for letters, colour in zip(units.column("letters"), units.column("colour"), strict=True)
    }


def _styles(layer: MapLayer, colours: Mapping[str, str]) -> list[str]:
    """How each is drawn, in GDAL's words for it: areas in the colour of their unit and half clear, lines black."""
    if layer.geometry is Geometry.LINE:
        return [_PEN] * len(layer.rows)
    units = layer.column("unit") if layer.name == "areas" else (None,) * len(layer.rows)
    return [f"BRUSH(fc:{colours.get(str(one), '#b3b3b3')}99);PEN(c:#737373,w:1px)" for one in units]


def _empty(layers: LayerSet) -> bytes:
    about = layers.about
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n<kml xmlns="http://www.opengis.net/kml/2.2"><Document>'
        f"<name>{escape(xml_text(about.title))}</name><description>{escape(_shown_text(about.words))}</description>"
        "</Document></kml>\n"
    ).encode()
