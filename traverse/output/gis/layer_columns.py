"""Rows of a layer as columns, rounded as the fields' kinds say: what the libraries take."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from traverse.layers.records import FieldKind, LayerField, MapLayer
from traverse.settled import settled_all

_PLACES = {FieldKind.METRES: 4, FieldKind.DEGREES: 6, FieldKind.GEOGRAPHIC: 8}


def numbers(field: LayerField, values: tuple[object, ...]) -> NDArray[np.float64]:
    """A numeric column, rounded, (n,); NaN where a value is missing or no number."""
    found = np.array([np.nan if one is None else one for one in values], dtype=np.float64)
    found[~np.isfinite(found)] = np.nan
    places = _PLACES.get(field.kind)
    if places is not None:
        found = settled_all(found, places)
        # An azimuth that would be rounded to 360 is 0.
        return np.where(found >= 360.0, found - 360.0, found) if field.kind is FieldKind.DEGREES else found
    return np.array([float(f"{one:.6g}") for one in found * (1.0 + 1e-10)])


def rounded(layer: MapLayer) -> list[list[object]]:
    """The columns of a layer as plain values, None where one is missing."""
    found: list[list[object]] = []
    for field, values in zip(layer.fields, columns_of(layer), strict=True):
        if field.kind.numeric:
            array = numbers(field, values)
            found.append([None if one != one else one for one in array.tolist()])  # noqa: PLR0124  NaN alone differs
        else:
            found.append(list(values))
    return found


def columns_of(layer: MapLayer) -> list[tuple[object, ...]]:
    """The columns as they are, (fields, rows)."""
    return list(zip(*layer.rows, strict=True)) if layer.rows else [() for _ in layer.fields]
