"""GeoPackage: the one layer of points with a `name`, through GDAL."""

from __future__ import annotations

import re
import tempfile
import warnings
from contextlib import suppress
from pathlib import Path
from typing import Any

import numpy as np

from traverse.points.records import FilePoint, PointFile, UnreadableError

_FIELDS = "a layer of points has the fields `name` and, where the file knows it, `sd`"


def read_geopackage(name: str, data: bytes) -> PointFile:
    """Points of the layer `controls`, else of the only layer of points that has names."""
    try:
        import pyogrio
    except ImportError as missing:
        raise UnreadableError(
            f"{name}: reading a GeoPackage needs a library that is not installed",
            "`pip install 'traverse-notebook[gis]'`, or give the points as CSV",
        ) from missing
    try:
        read = _layers(pyogrio, data)
    except Exception as problem:
        # GDAL has a family of errors, none of them ours to tell apart.
        raise UnreadableError(f"{name} is no GeoPackage that can be read", "write it anew") from problem
    named = {one: found for one, found in read.items() if "name" in found[0]["fields"]}
    chosen = named.get("controls") or (next(iter(named.values())) if len(named) == 1 else None)
    if chosen is None:
        if not named:
            raise UnreadableError(f"{name} has no layer of points with names", _FIELDS)
        raise UnreadableError(
            f"{name} has {len(named)} layers of points with names: {', '.join(named)}",
            "call the one that is meant `controls`",
        )
    return _points(name, chosen)


def _layers(pyogrio: Any, data: bytes) -> dict[str, Any]:
    """Every layer of points, as GDAL reads it from a file of its own ending."""
    with tempfile.TemporaryDirectory(prefix="traverse-") as folder, warnings.catch_warnings():
        # What GDAL finds odd in a file that it can read is no matter of the log.
        warnings.simplefilter("ignore")
        path = Path(folder) / "points.gpkg"
        path.write_bytes(data)
        named = [str(one) for one, kind in pyogrio.list_layers(path) if kind in {"Point", "Point Z"}]
        return {one: _in_lower_case(pyogrio.raw.read(path, layer=one)) for one in named}


def _in_lower_case(found: Any) -> Any:
    """A layer with its fields in lower case, as the names of a table of points are taken too."""
    told, *rest = found
    return {**told, "fields": [str(one).lower() for one in told["fields"]]}, *rest


def _points(name: str, found: Any) -> PointFile:
    import shapely

    told, _, shapes, values = found
    code = re.fullmatch(r"EPSG:(\d+)", str(told["crs"]))
    if code is None:
        raise UnreadableError(
            f"{name} does not say by a code of EPSG what its points count in", "give it one"
        )
    epsg = int(code[1])
    columns = dict(zip(told["fields"], values, strict=True))
    points: list[FilePoint] = []
    for place, shape in enumerate(shapely.from_wkb(shapes)):
        called = columns["name"][place]
        if shape is None or shape.is_empty or called is None or not str(called).strip():
            continue
        x, y = float(shape.x), float(shape.y)
        height = _of(name, columns, ("height", "up"), place)
        by_degrees = epsg == 4326
        points.append(
            FilePoint(
                name=str(called).strip(),
                lat_deg=y if by_degrees else None,
                lon_deg=x if by_degrees else None,
                east_m=None if by_degrees else x,
                north_m=None if by_degrees else y,
                height_m=height,
                sd_m=_of(name, columns, ("sd",), place),
                sd_height_m=None if height is None else _of(name, columns, ("sd_height", "sd_up"), place),
            )
        )
    return PointFile(points=tuple(points), epsg=None if epsg == 4326 else epsg)


def _of(file: str, columns: dict[str, Any], names: tuple[str, ...], place: int) -> float | None:
    """The figure of the first of some fields that a point has, as a number or as text; what is none is refused."""
    for name in names:
        value = columns[name][place] if name in columns else None
        if value is None or (isinstance(value, str) and not value.strip()):
            continue
        if isinstance(value, np.floating) and np.isnan(value):
            continue  # so GDAL gives a field of numbers that is left empty
        if isinstance(value, str | int | float | np.integer | np.floating) and not isinstance(value, bool):
            with suppress(ValueError):
                return float(value)
        raise UnreadableError(
            f"{file}: point {str(columns['name'][place])[:40]} has `{str(value)[:40]}` in `{name}`, which is no figure",
            "a bare number of metres with a point before decimals, or nothing",
        )
    return None
