"""A file of points by its ending. Nothing that a file holds raises anything but `UnreadableError`."""

from __future__ import annotations

import math
import unicodedata
from dataclasses import replace

from traverse.points.records import FilePoint, PointFile, UnreadableError
from traverse.trade import MOST_HEIGHT_M, MOST_WITHIN_M

ENDINGS = (".gpx", ".csv", ".gpkg")
MOST_BYTES = 64 * 1024 * 1024
"""A file larger than this holds no points of a walk; days of a receiver have a few megabytes."""
MOST_POINTS = 100_000


def read_points(name: str, data: bytes) -> PointFile:
    """What the file of a name holds, every figure of it possible."""
    if len(data) > MOST_BYTES:
        raise UnreadableError(
            f"{name} is over {MOST_BYTES // 1024 // 1024} MB", "cut it to the ground of the walk"
        )
    ending = name.lower()
    if ending.endswith(".gpx"):
        from traverse.points.waypoints import read_gpx

        found = read_gpx(name, data)
    elif ending.endswith(".gpkg"):
        from traverse.points.point_layers import read_geopackage

        found = read_geopackage(name, data)
    else:
        from traverse.points.point_table import read_csv

        found = read_csv(name, data)
    if len(found.points) > MOST_POINTS:
        raise UnreadableError(
            f"{name} has {len(found.points)} points, over {MOST_POINTS}", "cut it to the ground of the walk"
        )
    return replace(found, points=tuple(_possible(name, one) for one in found.points))


def _possible(name: str, one: FilePoint) -> FilePoint:
    figures = (one.lat_deg, one.lon_deg, one.east_m, one.north_m, one.height_m, one.sd_m, one.sd_height_m)
    if not all(math.isfinite(figure) for figure in figures if figure is not None):
        raise _impossible(name, one, "a figure that is none")
    if one.lat_deg is not None and not abs(one.lat_deg) <= 90.0:
        raise _impossible(name, one, f"latitude {one.lat_deg:g}")
    if one.lon_deg is not None and not abs(one.lon_deg) <= 180.0:
        raise _impossible(name, one, f"longitude {one.lon_deg:g}")
    if one.height_m is not None and not abs(one.height_m) <= MOST_HEIGHT_M:
        raise _impossible(
            name,
            one,
            f"a height of {one.height_m:.10g} m: no ground lies so high or deep",
            f"look at the file; a height in metres is at most {MOST_HEIGHT_M:.0f}, and none is left empty",
        )
    for sd in (one.sd_m, one.sd_height_m):
        if sd is not None and not 0.0 < sd <= MOST_WITHIN_M:
            raise _impossible(name, one, f"±{sd:.10g} m")
    # An accent behind its letter is joined with it, as in a log.
    return replace(one, name=unicodedata.normalize("NFC", one.name))


def _impossible(name: str, one: FilePoint, what: str, hint: str = "look at the file") -> UnreadableError:
    at = name if one.line is None else f"{name}, line {one.line}"
    return UnreadableError(f"{at}: point {one.name[:40]} has {what}", hint)
