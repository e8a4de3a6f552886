"""The tables of a season as layers of one GeoPackage, in longitude and latitude, some thousand rows at a time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

import shapely
from shapely.geometry.base import BaseGeometry

from traverse.layers.records import WGS84, About, Geometry, MapLayer
from traverse.output.gis.geopackage import fill_geopackage
from traverse.season.season_tables import TABLES, Row, Rows, SeasonTable

_MOST_ROWS = 5_000
"""Of one table that are held before they are written."""


def write_layers(path: Path, about: About, logs: Iterable[Rows]) -> None:
    """Write all tables of all logs in place of an empty file; the rows of `clashes` come as those of one more.

    Raises `MissingExtraError`, and OSError where the file takes no more.
    """
    path.unlink()
    fill_geopackage(path, about, _pieces(logs))


def _pieces(logs: Iterable[Rows]) -> Iterator[MapLayer]:
    held: dict[str, list[Row]] = {name: [] for name in TABLES}
    begun: set[str] = set()
    for rows in logs:
        for name, waiting in held.items():
            waiting.extend(rows.get(name, ()))
            if len(waiting) >= _MOST_ROWS:
                yield _piece(TABLES[name], waiting)
                begun.add(name)
                held[name] = []
    for name, waiting in held.items():
        if waiting or name not in begun:
            yield _piece(TABLES[name], waiting)


def _piece(table: SeasonTable, rows: Sequence[Row]) -> MapLayer:
    spatial = table.geometry is not Geometry.TABLE
    return MapLayer(
        name=table.name,
        means=table.means,
        geometry=table.geometry,
        fields=table.fields,
        rows=tuple(tuple(row.get(field.name) for field in table.fields) for row in rows),
        shapes=tuple(_shape(row.get("place"), table.geometry) for row in rows) if spatial else (),
        crs=WGS84 if spatial else None,
    )


def _shape(place: Any, geometry: Geometry) -> BaseGeometry | None:
    if place is None:
        return None
    return shapely.Point(place) if geometry is Geometry.POINT else shapely.MultiLineString(place)
