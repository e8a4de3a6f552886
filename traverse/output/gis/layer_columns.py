"""Rows of a layer as columns, rounded as the fields' kinds say: what the libraries take."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
from numpy.typing import NDArray

from traverse.layers.records import FieldKind, Geometry, LayerField, MapLayer
from traverse.settled import settled_all

_PLACES = {FieldKind.METRES: 4, FieldKind.DEGREES: 6, FieldKind.ROTATION: 6, FieldKind.GEOGRAPHIC: 8}

_AZIMUTHS = {FieldKind.DEGREES, FieldKind.ROTATION}


def numbers(field: LayerField, values: tuple[object, ...]) -> NDArray[np.float64]:
    """A numeric column, rounded, (n,); NaN where a value is missing or no number."""
    found = np.array([np.nan if one is None else one for one in values], dtype=np.float64)
    found[~np.isfinite(found)] = np.nan
    places = _PLACES.get(field.kind)
    if places is not None:
        found = settled_all(found, places)
        # An azimuth that would be rounded to 360 is 0.
        return np.where(found >= 360.0, found - 360.0, found) if field.kind in _AZIMUTHS else found
    return np.array([float(f"{one:.6g}") for one in found * (1.0 + 1e-10)])


def rounded(layer: MapLayer) -> list[list[object]]:
    """The columns of a layer as plain values, None where one is missing."""
    found: list[list[object]] = []
    for field, values in zip(layer.fields, columns_of(layer), strict=True):
        if field.kind.numeric:
            array = numbers(field, values)
            missing = np.isnan(array)
            plain = array.tolist() if not missing.all() else [None] * len(array)
            found.append(
                [None if gone else one for one, gone in zip(plain, missing.tolist(), strict=True)]
                if missing.any()
                else plain
            )
        else:
            found.append(list(values))
    return found


def columns_of(layer: MapLayer) -> list[tuple[object, ...]]:
    """The columns as they are, (fields, rows)."""
    return list(zip(*layer.rows, strict=True)) if layer.rows else [() for _ in layer.fields]


def wkb(layer: MapLayer) -> NDArray[np.object_]:
    """The shapes of a layer as well-known binary, (n,); lines and areas in as many pieces as they have."""
    import shapely

    shapes = np.empty(len(layer.shapes), dtype=object)
    shapes[:] = layer.shapes
    if layer.geometry is Geometry.LINE:
        shapes = np.array([_several(one, shapely.MultiLineString) for one in shapes], dtype=object)
    elif layer.geometry is Geometry.AREA:
        shapes = np.array([_several(one, shapely.MultiPolygon) for one in shapes], dtype=object)
    found: NDArray[np.object_] = np.asarray(shapely.to_wkb(shapes), dtype=object)
    return found


def _several(shape: Any, kind: Any) -> Any:
    return shape if shape is None or shape.geom_type.startswith("Multi") else kind([shape])


def column(field: LayerField, values: tuple[object, ...]) -> tuple[NDArray[Any], NDArray[np.bool_] | None]:
    """A column as GDAL takes it, and where it is missing."""
    if field.kind.numeric:
        return numbers(field, values), None
    missing = np.array([one is None for one in values], dtype=bool)
    if field.kind is FieldKind.TEXT:
        found = np.empty(len(values), dtype=object)
        found[:] = values
        return found, None
    kept = [0 if one is None else one for one in values]
    kind = bool if field.kind is FieldKind.FLAG else np.int64
    return np.array(kept, dtype=kind), missing


def well_known_text(layer: MapLayer) -> list[str | None]:
    """The shapes of a layer as well-known text, to 0.0001 of its unit; None where there is none."""
    import shapely

    found = np.empty(len(layer.shapes), dtype=object)
    found[:] = layer.shapes
    return list(shapely.to_wkt(found, rounding_precision=4, trim=True))


_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""Characters that no XML 1.0 file can hold. Source: W3C, Extensible Markup Language 1.0, 2.2."""
_TURNING = re.compile("[\u202a-\u202e\u2066-\u2069]")
"""Characters that turn the words after them round. Source: Unicode Standard Annex 9, 2."""


def xml_text(value: str) -> str:
    r"""A text without the characters that XML can't hold, and without those that turn round the words after a name.

    >>> xml_text("a" + chr(11) + "b\u202ec")
    'a bc'
    """
    return _TURNING.sub("", _NOT_XML.sub(" ", value))
