"""Layers: features of one kind with what is known of each, ready for a map or a table of another program."""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum
from typing import TYPE_CHECKING, TypeAlias

from traverse.record import record

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

Value: TypeAlias = str | float | int | bool | None
Row: TypeAlias = tuple[Value, ...]


class Geometry(Enum):
    """What the features of a layer are on the map."""

    TABLE = "table"
    """Nothing: rows alone."""
    POINT = "points"
    LINE = "lines"
    """Each in one piece or in several."""
    AREA = "areas"
    """Likewise."""


class FieldKind(Enum):
    """What the values of a field are, which says how they are rounded and in what type they are kept."""

    TEXT = "text"
    FLAG = "yes or no"
    WHOLE = "whole number"
    METRES = "metres"
    """To 0.0001 m."""
    DEGREES = "degrees"
    """To 0.000001 degree."""
    ROTATION = "degrees from the map's north"
    """Likewise; another where the coordinates of a layer are turned to another north."""
    GEOGRAPHIC = "degrees of longitude or latitude"
    """To 0.00000001 degree, 1 mm."""
    NUMBER = "number"
    """To six figures."""

    @property
    def numeric(self) -> bool:
        """Whether its values are numbers with a fraction."""
        return self not in {FieldKind.TEXT, FieldKind.FLAG, FieldKind.WHOLE}


@record(frozen=True, slots=True, kw_only=True)
class LayerField:
    """One thing that is known of each feature."""

    name: str
    kind: FieldKind
    means: str
    """For the data dictionary: what it is, from which north or in which unit, and when it is missing."""


@record(frozen=True, slots=True, kw_only=True)
class Crs:
    """What the coordinates of a layer count in."""

    epsg: int | None
    """None of a local grid: metres east and north of a point of its own."""
    name: str

    @property
    def local(self) -> bool:
        """Whether nothing is known of where it lies on the earth."""
        return self.epsg is None


WGS84 = Crs(epsg=4326, name="WGS 84")
"""Longitude, then latitude, in degrees."""


@record(frozen=True, slots=True, kw_only=True)
class MapLayer:
    """Features of one kind, or rows of a table."""

    name: str
    """Lower case, with `_` between words: a name that every format takes."""
    means: str
    """What its features are, in one sentence."""
    geometry: Geometry = Geometry.TABLE
    fields: tuple[LayerField, ...]
    rows: tuple[Row, ...]
    """A value for each field; None where it does not apply."""
    shapes: tuple[BaseGeometry | None, ...] = ()
    """A shape for each row, x east and y north in `crs`, or x longitude and y latitude; empty of a table."""
    crs: Crs | None = None
    """None of a table."""

    def column(self, name: str) -> tuple[Value, ...]:
        """The values of one field."""
        place = [one.name for one in self.fields].index(name)
        return tuple(row[place] for row in self.rows)


@record(frozen=True, slots=True, kw_only=True)
class About:
    """What must go wherever the layers go: whose they are, and what they are not for."""

    title: str
    date: str | None
    """The first day, as year-month-day."""
    told: tuple[tuple[str, str], ...]
    """Kind and words: title, dates, party, grid and datum, what was not adjusted, limits, hazards; in this order."""

    @property
    def words(self) -> str:
        """All of it, a line for each."""
        return "\n".join(f"{what}: {words}" for what, words in self.told)


@record(frozen=True, slots=True, kw_only=True)
class LayerSet:
    """All layers of a day, or of an index of days."""

    about: About
    layers: tuple[MapLayer, ...]
    styles: Mapping[str, str]
    """How a layer is drawn, by its name: a Styled Layer Descriptor (OGC 02-070)."""

    def layer(self, name: str) -> MapLayer:
        """The layer of a name; raises LookupError where there is none."""
        for one in self.layers:
            if one.name == name:
                return one
        raise LookupError(name)
