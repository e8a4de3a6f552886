"""CSV: a header with `name`, then `lat` and `lon` (WGS 84) or `east` and `north`; `sd`, `height` and `sd_height` may follow."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator, Sequence
from contextlib import suppress

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
    """Every row that has a place."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        line = data.count(b"\n", 0, problem.start) + 1
        raise UnreadableError(f"{name}, line {line}: is no text in UTF-8", "save it as UTF-8") from problem
    comma = max(",;\t", key=text.partition("\n")[0].count)
    rows = list(_rows(name, text, comma))
    head = [one.strip().lower() for one in rows[0][1]] if rows else []
    while head and not head[-1]:
        head.pop()
    at = {key: place for key, names in _MEANT.items() if (place := _column(name, head, names)) is not None}
    by_degrees = {"lat_deg", "lon_deg"} <= set(at)
    if "name" not in at or not (by_degrees or {"east_m", "north_m"} <= set(at)):
        raise UnreadableError(f"{name}, line 1: no column says the name, or where it is", _HEAD)
    filled = [(number, row) for number, row in rows[1:] if any(one.strip() for one in row)]
    for number, row in filled:
        if len(row) < len(head) or any(one.strip() for one in row[len(head) :]):
            raise UnreadableError(
                f"{name}, line {number}: {len(row)} fields under {len(head)} names",
                "one field for each name of the first line, empty where nothing is known; a point before decimals, "
                'and a field with a comma in it between `"`',
            )
    points = [_point(name, number, row, at) for number, row in filled]
    unread = tuple(one for place, one in enumerate(head) if one and place not in at.values())
    return PointFile(points=tuple(one for one in points if one is not None), unread=unread)


def _rows(name: str, text: str, comma: str) -> Iterator[tuple[int, list[str]]]:
    """Every row with the number of the line that it begins on."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=comma, strict=True)
    number = 1
    try:
        for row in reader:
            yield number, row
            number = reader.line_num + 1
    except csv.Error as problem:
        raise UnreadableError(
            f"{name}, line {number}: no row of a table ({problem})", 'look at the quotes `"` from there on'
        ) from problem


def _column(name: str, head: Sequence[str], names: Sequence[str]) -> int | None:
    """The column that one of some names stands over; two of them are refused, for only one would count."""
    found = [place for place, one in enumerate(head) if one in names]
    if len(found) > 1:
        twice = " and ".join(f"`{head[place]}`" for place in found)
        raise UnreadableError(f"{name}, line 1: {twice} say the same", "leave the one that is not meant out")
    return found[0] if found else None


def _point(name: str, number: int, row: list[str], at: dict[str, int]) -> FilePoint | None:
    """The point of a row; None of one without a place."""
    said = {key: row[place].strip() for key, place in at.items()}
    figures: dict[str, float | None] = {
        key: _figure(name, number, value) for key, value in said.items() if key != "name"
    }
    for one, other in (("lat_deg", "lon_deg"), ("east_m", "north_m")):
        # A column alone, such as `n` for how many fixes, is no place.
        if {one, other} <= figures.keys() and (figures[one] is None) != (figures[other] is None):
            given, lacks = (
                _MEANT[key][0] for key in ((other, one) if figures.get(one) is None else (one, other))
            )
            raise UnreadableError(
                f"{name}, line {number}: `{given}` without `{lacks}`", "give both, or neither in this row"
            )
    # By latitude and longitude where a row has both: these say by themselves what they count from.
    by_degrees = figures.get("lat_deg") is not None and figures.get("lon_deg") is not None
    east, north = figures.get("east_m"), figures.get("north_m")
    also = (east, north) if by_degrees and east is not None and north is not None else None
    if by_degrees:
        figures |= {"east_m": None, "north_m": None}
    elif east is None or north is None:
        return None
    else:
        figures |= {"lat_deg": None, "lon_deg": None}
    if not said["name"]:
        raise UnreadableError(
            f"{name}, line {number}: a place without a name",
            "give it the name of its station, or take the row out",
        )
    return FilePoint(name=said["name"], line=number, also_m=also, **figures)


def _figure(name: str, number: int, value: str) -> float | None:
    if not value:
        return None
    # Python reads more than a table means: `1_000`, `nan`, `inf`.
    with suppress(ValueError):
        if "_" not in value and math.isfinite(figure := float(value)):
            return figure
    raise UnreadableError(
        f"{name}, line {number}: `{value[:40]}` is no figure",
        "a point before decimals, degrees as decimals; a field of which nothing is known is left empty",
    )
