"""The tables of a season as layers of one GeoPackage, in longitude and latitude; written by GDAL through pyogrio."""

from __future__ import annotations

import struct
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from traverse.season.season_tables import TABLES, Holds, Row, Rows, SeasonTable, Shape

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

MISSING = "a GeoPackage needs pyogrio: pip install 'traverse-notebook[gis]'"
_MOST_ROWS = 20_000
"""Of one table that are held before they are written."""
_SAME_DAY = "2000-01-01T00:00:00.000Z"
"""Stands for the time of writing, so that the same logs make the same bytes (GDAL, GPKG driver, `OGR_CURRENT_DATE`)."""
_SHAPES = {Shape.NONE: None, Shape.POINT: "Point", Shape.LINES: "MultiLineString"}


class NoWriterError(Exception):
    """What writes a GeoPackage is not installed."""


class LayersError(OSError):
    """The file could not be written."""


def writes_layers() -> bool:
    """Whether what writes a GeoPackage is installed."""
    from importlib.util import find_spec

    return find_spec("pyogrio") is not None


def write_layers(path: Path, logs: Iterable[Rows]) -> None:
    """Write all tables of all logs to a file that is there; the rows of `clashes` come as those of one more.

    No more than some thousand rows are held. Raises `NoWriterError`, and `LayersError` where the file takes no more.
    """
    try:
        import pyogrio
    except ImportError as problem:
        raise NoWriterError(MISSING) from problem
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": _SAME_DAY})
    path.unlink()
    held: dict[str, list[Row]] = {name: [] for name in TABLES}
    begun: set[str] = set()

    def flush(name: str) -> None:
        _write(path, TABLES[name], held[name], first=not begun, begun=name in begun)
        begun.add(name)
        held[name] = []

    try:
        for rows in logs:
            for name, waiting in held.items():
                waiting.extend(rows.get(name, ()))
                if len(waiting) >= _MOST_ROWS:
                    flush(name)
        for name in TABLES:
            if held[name] or name not in begun:
                flush(name)
    except (pyogrio.errors.DataSourceError, pyogrio.errors.DataLayerError, RuntimeError) as problem:
        raise LayersError(None, str(problem).strip() or "the disk may be full") from problem
    finally:
        pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": None})


def _write(path: Path, table: SeasonTable, rows: Sequence[Row], *, first: bool, begun: bool) -> None:
    import numpy as np
    from pyogrio import raw

    columns = [_column(rows, field.name, field.holds) for field in table.fields]
    shapes = None
    if table.shape is not Shape.NONE:
        shapes = np.empty(len(rows), dtype=object)
        shapes[:] = [_wkb(row.get("place"), table.shape) for row in rows]
    raw.write(
        path,
        shapes,
        [values for values, _ in columns],
        [field.name for field in table.fields],
        field_mask=[missing for _, missing in columns],
        layer=table.name,
        driver="GPKG",
        geometry_type=_SHAPES[table.shape],
        crs="EPSG:4326" if table.shape is not Shape.NONE else None,
        append=begun or not first,
        layer_options={"DESCRIPTION": table.about},
    )


def _column(rows: Sequence[Row], name: str, holds: Holds) -> tuple[NDArray[Any], NDArray[np.bool_]]:
    import numpy as np

    values = [row.get(name) for row in rows]
    missing = np.array([one is None for one in values], dtype=bool)
    if holds is Holds.WORDS:
        found = np.empty(len(values), dtype=object)
        found[:] = values
        return found, missing
    kind = {Holds.COUNT: np.int64, Holds.FIGURE: np.float64, Holds.YES: np.bool_}[holds]
    return np.array([0 if one is None else one for one in values], dtype=kind), missing


def _wkb(place: Any, shape: Shape) -> bytes | None:
    """Well-known binary, least byte first (OGC 06-103r4, 8.2; from memory)."""
    if place is None:
        return None
    if shape is Shape.POINT:
        return struct.pack("<BIdd", 1, 1, *place)
    lines = (
        struct.pack("<BII", 1, 2, len(line)) + b"".join(struct.pack("<dd", *corner) for corner in line)
        for line in place
    )
    return struct.pack("<BII", 1, 5, len(place)) + b"".join(lines)
