"""GeoJSON as RFC 7946 has it: longitude and latitude on WGS 84, outer rings counter-clockwise, one collection or one a layer.

Its members of its own, which the standard allows (section 6.1): `about`, the cautions; `tables`, what is no feature.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.polygon import orient

from traverse.layers.records import About, Geometry, LayerSet, MapLayer
from traverse.output.gis.layer_columns import rounded

_encoded = json.JSONEncoder(ensure_ascii=False, allow_nan=False).encode
_PLACES = 8
"""Of a degree: 1 mm. The standard holds six for enough (section 11.2); a walk is read back to 1 cm."""


def write_geojson(layers: LayerSet) -> bytes:
    """All layers as one collection of features; each has its `layer` among its properties."""
    spatial = [one for one in layers.layers if one.geometry is not Geometry.TABLE]
    tables = {
        one.name: _properties(one)
        for one in layers.layers
        if one.geometry is Geometry.TABLE and one.name != "about"
    }
    return _collection(layers.about, spatial, tables)


def write_geojson_layer(about: About, layer: MapLayer) -> bytes:
    """One layer as a collection of features."""
    return _collection(about, [layer], {})


def _collection(about: About, layers: Sequence[MapLayer], tables: dict[str, Any]) -> bytes:
    features: list[str] = []
    boxes: list[NDArray[np.float64]] = []
    for layer in layers:
        given = np.empty(len(layer.shapes), dtype=object)
        given[:] = layer.shapes
        shapes = shapely.transform(given, lambda at: np.round(at, _PLACES))
        if layer.geometry is Geometry.AREA:
            shapes = right_handed(shapes)
        geometries = shapely.to_geojson(shapes)
        for row, geometry in zip(_properties(layer, layer=layer.name), geometries, strict=True):
            features.append(
                f'{{"type": "Feature", "properties": {_encoded(row)}, "geometry": {geometry or "null"}}}'
            )
        at = shapely.get_coordinates(shapes)
        if len(at):
            boxes.append(at)
    head: dict[str, Any] = {
        "type": "FeatureCollection",
        "name": layers[0].name if len(layers) == 1 else about.title,
    }
    if boxes:
        head["bbox"] = bounds(np.concatenate(boxes))
    head["about"] = [{"what": what, "words": words} for what, words in about.told]
    if tables:
        head["tables"] = tables
    start = _encoded(head)
    return (start[:-1] + ', "features": [\n' + ",\n".join(features) + "\n]}\n").encode()


def _properties(of: MapLayer, **first: str) -> list[dict[str, Any]]:
    """What is known of each feature, after what is said `first` of all."""
    names = [*first, *(one.name for one in of.fields)]
    columns = [*([value] * len(of.rows) for value in first.values()), *rounded(of)]
    return [dict(zip(names, row, strict=True)) for row in zip(*columns, strict=True)]


def right_handed(shapes: NDArray[np.object_]) -> NDArray[np.object_]:
    """Shapes whose areas run counter-clockwise about their ground and clockwise about their holes (section 3.1.6)."""
    found = shapes.copy()
    for place, shape in enumerate(shapes):
        if shape is not None and shape.geom_type == "Polygon":
            found[place] = orient(shape)
        elif shape is not None and shape.geom_type == "MultiPolygon":
            found[place] = shapely.MultiPolygon([orient(one) for one in shape.geoms])
    return found


def bounds(at: NDArray[np.float64]) -> list[float]:
    """West, south, east, north; west is above east of a walk over the meridian of 180 degrees (section 5.2).

    >>> bounds(np.array([[179.9, -17.0], [-179.9, -16.0]]))
    [179.9, -17.0, -179.9, -16.0]
    """
    lon, lat = at[:, 0], at[:, 1]
    west, east = float(lon.min()), float(lon.max())
    if east - west > 180.0:
        west, east = float(lon[lon > 0.0].min()), float(lon[lon < 0.0].max())
    return [west, float(lat.min()), east, float(lat.max())]
