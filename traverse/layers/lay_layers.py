"""All layers of a day, from the records that the sheet and the JSON are made of."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray

from traverse.angle import wrap_360
from traverse.ground.records import Traverse
from traverse.layers.borders import border_layers
from traverse.layers.descriptors import styles_of
from traverse.layers.drawn_signs import sign_layer
from traverse.layers.making import Reference
from traverse.layers.measured import measured_layers
from traverse.layers.noted import noted_layers
from traverse.layers.records import WGS84, FieldKind, LayerSet, MapLayer, Row
from traverse.layers.registers import about_of, about_table, dictionary, registers
from traverse.layers.walked import walked_layers
from traverse.settled import settled

ABOUT = "about"
DICTIONARY = "dictionary"


def layers_of(trav: Traverse) -> LayerSet:
    """Layers and tables of a compiled day, in its own grid; its map is laid before (`compile.layer_ground`)."""
    assert trav.ground.map is not None
    day = Reference(trav)
    about = about_of(trav)
    layers = [
        about_table(day, about),
        *walked_layers(day),
        *measured_layers(day),
        sign_layer(day),
        *border_layers(day, trav.ground.map),
        *noted_layers(day),
        *registers(day),
    ]
    return LayerSet(
        about=about,
        layers=(*layers, dictionary(day, layers)),
        styles=styles_of(trav),
    )


class LocalGridError(Exception):
    """A local grid has no longitude and latitude; its text is for the user."""


def in_lon_lat(layers: LayerSet, trav: Traverse, *, what: str) -> LayerSet:
    """The layers by longitude and latitude on WGS 84, signs turned to true north.

    Raises `LocalGridError` of a local grid; `what` is the format that asks.
    """
    day = Reference(trav)
    if day.system is None:
        raise LocalGridError(
            f"{what} wants longitude and latitude, and this log has a local grid: name one with `grid` and"
            " tie a station to it with `control`; or `--to gpkg`, `dxf`, `csv` or `xlsx`, which keep a local grid"
        )
    return replace(layers, layers=tuple(_moved(one, day) for one in layers.layers))


def _moved(layer: MapLayer, day: Reference) -> MapLayer:
    if layer.crs is None:
        return layer
    system = day.system
    assert system is not None

    def to_earth(at: NDArray[np.float64]) -> NDArray[np.float64]:
        lon, lat = system.to_lon_lat(at[:, 0], at[:, 1])
        return np.column_stack([lon, lat])

    shapes = shapely.transform(np.array(layer.shapes, dtype=object), to_earth)
    return replace(layer, shapes=tuple(shapes), rows=_turned(layer, day.to_true_deg), crs=WGS84)


def _turned(layer: MapLayer, by_deg: float) -> tuple[Row, ...]:
    """Rows with their rotations from true north instead of grid north."""
    at = [place for place, one in enumerate(layer.fields) if one.kind is FieldKind.ROTATION]
    if not at or not by_deg:
        return layer.rows
    found: list[Row] = []
    for row in layer.rows:
        values = list(row)
        for place in at:
            value = values[place]
            if isinstance(value, float):
                values[place] = wrap_360(settled(value + by_deg))
        found.append(tuple(values))
    return tuple(found)
