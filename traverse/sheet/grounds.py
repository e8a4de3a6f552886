"""The colour of the ground under a point of the map."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import shapely
from shapely import Polygon

from traverse.sheet.band import Area
from traverse.sheet.page import Point
from traverse.sheet.style import WHITE, UnitStyle


class Grounds:
    """The colour under a point, for halos."""

    def __init__(self, areas: Sequence[Area], styles: Mapping[str, UnitStyle]) -> None:
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
        found = self._tree.query(shapely.Point(at)).tolist()
        there = (one for one in found if shapely.intersects_xy(self._parts[one], *at))
        return next((self._colours[one] for one in there), None)
