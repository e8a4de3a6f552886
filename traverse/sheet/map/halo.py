"""The colour of the ground under a point of the map."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import shapely
from shapely import Polygon

from traverse.sheet.map.on_page import DrawnArea
from traverse.sheet.paper.page import Point
from traverse.sheet.paper.style import WHITE, UnitStyle

_HALO_MM = 0.5
_NARROW_MM = 0.15


class Grounds:
    """The colour under a point, for halos."""

    def __init__(self, areas: Sequence[DrawnArea], styles: Mapping[str, UnitStyle]) -> None:
        self._colours: list[str] = []
        parts: list[Polygon] = []
        for area in areas:
            for part in area.parts:
                parts.append(part)
                style = styles.get(area.unit or "")
                self._colours.append(style.colour if style is not None else WHITE)
        shapely.prepare(parts)
        self._parts = parts
        self._tree = shapely.STRtree(parts)

    def colour(self, at: Point) -> str | None:
        """Colour of the unit under a point; None on white ground."""
        found = self._under(at)
        return None if found is None else self._colours[found]

    def halo(self, centre: Point, size: tuple[float, float]) -> tuple[str | None, float]:
        """Colour and width of the halo of a label: narrow where it would run over the edge of its ground."""
        found = self._under(centre)
        if found is None:
            return None, _HALO_MM
        wide, high = size[0] / 2 + _HALO_MM, size[1] / 2 + _HALO_MM
        box = shapely.box(centre[0] - wide, centre[1] - high, centre[0] + wide, centre[1] + high)
        return self._colours[found], _HALO_MM if shapely.covers(self._parts[found], box) else _NARROW_MM

    def _under(self, at: Point) -> int | None:
        found = self._tree.query(shapely.points(*at)).tolist()
        return next((one for one in found if shapely.intersects_xy(self._parts[one], *at)), None)
