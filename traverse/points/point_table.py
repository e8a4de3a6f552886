"""CSV: a header with `name`, then `lat` and `lon` (WGS 84) or `east` and `north`; `sd`, `height` and `sd_height` may follow."""

from __future__ import annotations

import csv
import io

from traverse.points.records import FilePoint, PointFile, UnreadableError

_MEANT = {
    "name": ("name", "station", "point"),
    "lat_deg": ("lat", "latitude"),
    "lon_deg": ("lon", "longitude", "long"),
    "east_m": ("east", "easting", "e"),
    "north_m": ("north", "northing", "n"),
    "height_m": ("height", "up", "elevation"),
    "sd_m": ("sd", "error", "accuracy"),
    "sd_height_m": ("sd_height", "sd_up"),
}
"""What may stand over a column."""
_HEAD = "the first line is such as `name,east,north,sd` or `name,lat,lon,sd`"


def read_csv(name: str, data: bytes) -> PointFile:
    """Every row that has a name and a place."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        raise UnreadableError(f"{name} is no text in UTF-8", "save it as UTF-8") from problem
    comma = max(",;\t", key=text.partition("\n")[0].count)
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=comma, strict=True))
    except csv.Error as problem:
        raise UnreadableError(f"{name} is no table: {problem}", _HEAD) from problem
    head = [one.strip().lower() for one in rows[0]] if rows else []
    at = {
        key: head.index(found)
        for key, names in _MEANT.items()
        if (found := next((one for one in names if one in head), None)) is not None
    }
    by_degrees = {"lat_deg", "lon_deg"} <= set(at)
    if "name" not in at or not (by_degrees or {"east_m", "north_m"} <= set(at)):
        raise UnreadableError(f"{name}: no column says the name, or where it is", _HEAD)
    points = [_point(name, number, row, at) for number, row in enumerate(rows[1:], start=2) if any(row)]
    return PointFile(points=tuple(one for one in points if one is not None))


def _point(name: str, number: int, row: list[str], at: dict[str, int]) -> FilePoint | None:
    """The point of a row; None of one without a name or a place."""
    said = {key: row[place].strip() if place < len(row) else "" for key, place in at.items()}
    figures = {key: _figure(name, number, value) for key, value in said.items() if key != "name"}
    # By latitude and longitude where a row has both: these say by themselves what they count from.
    if figures.get("lat_deg") is not None and figures.get("lon_deg") is not None:
        figures |= {"east_m": None, "north_m": None}
    else:
        figures |= {"lat_deg": None, "lon_deg": None}
        if figures.get("east_m") is None or figures.get("north_m") is None:
            return None
    return FilePoint(name=said["name"], **figures) if said["name"] else None


def _figure(name: str, number: int, value: str) -> float | None:
    if not value:
        return None
    try:
        return float(value)
    except ValueError as problem:
        raise UnreadableError(
            f"{name}, line {number}: `{value[:40]}` is no figure",
            "a point before decimals, degrees as decimals",
        ) from problem
