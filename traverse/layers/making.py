"""How a layer is made: its fields, each with what it means and where its value comes from, over records of one kind."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Generic, TypeAlias, TypeVar

import numpy as np
import shapely

from traverse.angle import wrap_360
from traverse.ground.records import Traverse
from traverse.layers.records import Crs, FieldKind, Geometry, LayerField, MapLayer, Row, Value
from traverse.record import record
from traverse.settled import settled
from traverse.source import Span

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

T = TypeVar("T")
T_contra = TypeVar("T_contra", contravariant=True)
Points: TypeAlias = "NDArray[np.float64]"
"""East and north in metres, (n, 2)."""


@record(frozen=True, slots=True, kw_only=True)
class Known(Generic[T_contra]):
    """One field of a layer, and where its value is taken from a record."""

    name: str
    kind: FieldKind
    means: str
    value: Callable[[T_contra], Value]


def text(name: str, means: str, value: Callable[[T], str | None]) -> Known[T]:
    """A field of words."""
    return Known(name=name, kind=FieldKind.TEXT, means=means, value=value)


def flag(name: str, means: str, value: Callable[[T], bool | None]) -> Known[T]:
    """A field of yes or no."""
    return Known(name=name, kind=FieldKind.FLAG, means=means, value=value)


def whole(name: str, means: str, value: Callable[[T], int | None]) -> Known[T]:
    """A field of whole numbers."""
    return Known(name=name, kind=FieldKind.WHOLE, means=means, value=value)


def metres(name: str, means: str, value: Callable[[T], float | None]) -> Known[T]:
    """A field of lengths."""
    return Known(name=name, kind=FieldKind.METRES, means=means, value=value)


def degrees(name: str, means: str, value: Callable[[T], float | None]) -> Known[T]:
    """A field of angles."""
    return Known(name=name, kind=FieldKind.DEGREES, means=means, value=value)


def rotation(name: str, means: str, value: Callable[[T], float | None]) -> Known[T]:
    """A field of angles from the map's north."""
    return Known(name=name, kind=FieldKind.ROTATION, means=means, value=value)


def number(name: str, means: str, value: Callable[[T], float | None]) -> Known[T]:
    """A field of other numbers."""
    return Known(name=name, kind=FieldKind.NUMBER, means=means, value=value)


class Reference:
    """What all layers of a day refer to: its grid, its norths, and the lines of its log."""

    def __init__(self, trav: Traverse) -> None:
        self.trav = trav
        frame = trav.survey.frame
        self.to_true_deg = frame.to_true_deg
        self.crs = Crs(epsg=frame.epsg, name=frame.name)
        self.system = frame.system
        self._file = trav.log.file

    def rotation(self, true_deg: float) -> float:
        """An azimuth from true north, from the north of the grid."""
        return wrap_360(settled(true_deg - self.to_true_deg))

    def true(self, grid_deg: float) -> float:
        """An azimuth of the grid, from true north."""
        return wrap_360(settled(grid_deg + self.to_true_deg))

    def file(self, span: Span) -> str | None:
        """The file that a line stands in, where that is another than the log's own."""
        return None if span.file == self._file else span.file

    def lines(self, spans: Iterable[Span]) -> str | None:
        """Lines of the log, in words; None of none."""
        told = [f"{span.file}:{span.line}" if self.file(span) else str(span.line) for span in spans]
        return ", ".join(told) or None

    def lon_lat(self, points: Points) -> list[tuple[float | None, float | None]]:
        """Longitude and latitude of places, on WGS 84; nothing of a local grid."""
        if self.system is None or not len(points):
            return [(None, None)] * len(points)
        lon, lat = self.system.to_lon_lat(points[:, 0], points[:, 1])
        return list(zip(lon.tolist(), lat.tolist(), strict=True))


PLACE = (
    LayerField(
        name="east", kind=FieldKind.METRES, means="Easting in the grid, or east of the first station."
    ),
    LayerField(
        name="north", kind=FieldKind.METRES, means="Northing in the grid, or north of the first station."
    ),
    LayerField(
        name="up",
        kind=FieldKind.METRES,
        means="Height above the datum that `about` names; missing where none is known.",
    ),
    LayerField(
        name="lon",
        kind=FieldKind.GEOGRAPHIC,
        means="Longitude on WGS 84, east positive; missing in a local grid.",
    ),
    LayerField(
        name="lat",
        kind=FieldKind.GEOGRAPHIC,
        means="Latitude on WGS 84, north positive; missing in a local grid.",
    ),
)
"""Fields that every point has."""


def table(
    day: Reference,
    name: str,
    means: str,
    records: Sequence[T],
    known: Sequence[Known[T]],
    *,
    line: Callable[[T], Span | None] | None = None,
) -> MapLayer:
    """A table of records; `line` is where a record stands in the log, told last."""
    all_known = (*known, *_written_at(day, line))
    return MapLayer(
        name=name,
        means=means,
        fields=_fields(all_known),
        rows=tuple(tuple([one.value(record) for one in all_known]) for record in records),
    )


def points(
    day: Reference,
    name: str,
    means: str,
    records: Sequence[T],
    known: Sequence[Known[T]],
    place: Callable[[T], tuple[float, float, float | None]],
    *,
    line: Callable[[T], Span | None],
) -> MapLayer:
    """A layer of points: `place` gives east, north and height of a record; the fields of `PLACE` come last."""
    places = [place(one) for one in records]
    at = np.array([one[:2] for one in places], dtype=np.float64).reshape(-1, 2)
    rows = table(day, name, means, records, known, line=line)
    joined: list[Row] = [
        (*row, *where, *earth) for row, where, earth in zip(rows.rows, places, day.lon_lat(at), strict=True)
    ]
    return replace(
        rows,
        geometry=Geometry.POINT,
        fields=(*rows.fields, *PLACE),
        rows=tuple(joined),
        shapes=tuple(np.atleast_1d(np.asarray(shapely.points(at), dtype=object)).tolist()),
        crs=day.crs,
    )


def shapes(
    day: Reference,
    name: str,
    means: str,
    records: Sequence[T],
    known: Sequence[Known[T]],
    shape: Callable[[T], BaseGeometry],
    *,
    line: Callable[[T], Span | None] | None = None,
    geometry: Geometry = Geometry.LINE,
) -> MapLayer:
    """A layer of lines or areas."""
    return replace(
        table(day, name, means, records, known, line=line),
        geometry=geometry,
        shapes=tuple(shape(one) for one in records),
        crs=day.crs,
    )


def _written_at(day: Reference, line: Callable[[T], Span | None] | None) -> tuple[Known[T], ...]:
    """Line of the log, and its file."""
    if line is None:
        return ()
    at = line

    def number_of(one: T) -> int | None:
        span = at(one)
        return None if span is None else span.line

    def file_of(one: T) -> str | None:
        span = at(one)
        return None if span is None else day.file(span)

    return (
        whole("line", "Line of the log.", number_of),
        text("file", "File that the line stands in, where it is another than the log's own.", file_of),
    )


def _fields(known: Sequence[Known[T]]) -> tuple[LayerField, ...]:
    return tuple(LayerField(name=one.name, kind=one.kind, means=one.means) for one in known)
