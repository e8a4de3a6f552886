"""Coloured ground of the section on the page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import shapely
from shapely import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from traverse.ground.records import SectionCut, SectionFill
from traverse.record import record
from traverse.sheet.paper.page import Item, Path, Point, polyline
from traverse.sheet.paper.style import PENS, WHITE, UnitStyle
from traverse.sheet.section.strip_frame import StripFrame

_NARROW_MM = 0.1


@record(frozen=True, slots=True, kw_only=True)
class Fill:
    """Ground of one unit in its colour."""

    of: SectionFill
    colour: str
    outline: tuple[Point, ...]
    area: BaseGeometry
    """As much as the panel shows."""

    def path(self) -> Path:
        """As it is drawn; the panel cuts it."""
        return Path(commands=polyline(self.outline, close=True), fill=self.colour, unit=self.of.unit)


def fills_of(cut: SectionCut, frame: StripFrame, styles: Mapping[str, UnitStyle]) -> list[Fill]:
    """What the panel shows of the ground, in its colours."""
    shown = ((fill, styles[fill.unit].colour) for fill in cut.fills if fill.unit in styles)
    return [found for fill, colour in shown if (found := _on_page(fill, frame, colour)) is not None]


def named_of(cut: SectionCut, frame: StripFrame) -> list[Fill]:
    """What the panel shows of ground that has letters and no colour."""
    return [found for one in cut.named if (found := _on_page(one, frame, WHITE)) is not None]


def _on_page(fill: SectionFill, frame: StripFrame, colour: str) -> Fill | None:
    """As much as the panel shows; None where that is nothing."""
    box = frame.box
    outline = [frame.at((x, up)) for x, up in fill.area.exterior.coords]
    area = shapely.Polygon(outline).buffer(0.0).intersection(shapely.box(box.x, box.y, box.right, box.top))
    return None if area.is_empty else Fill(of=fill, colour=colour, outline=tuple(outline), area=area)


def base_lines(cut: SectionCut, frame: StripFrame) -> list[Item]:
    """Bases of loose ground."""
    bases = [[frame.at(place) for place in fill.base] for fill in cut.fills if fill.loose and fill.base]
    return [Path(commands=polyline(base), pen=PENS["section depth"]) for base in bases]


def halo_at(
    at: Point, size: tuple[float, float], fills: Sequence[Fill], *, halo_mm: float = 0.3
) -> tuple[str, float]:
    """Colour of the ground under words about a place, and width of their halo: narrow where they run over its edge.

    A wide one colours white paper there, or cuts a white slot into the ground.
    """
    place = ShapelyPoint(at)
    under = next((fill for fill in reversed(fills) if fill.area.contains(place)), None)
    wide, high = (side / 2.0 + halo_mm for side in size)
    box = shapely.box(at[0] - wide, at[1] - high, at[0] + wide, at[1] + high)
    if under is None:
        alone = not any(fill.area.intersects(box) for fill in fills)
        return WHITE, halo_mm if alone else _NARROW_MM
    return under.colour, halo_mm if under.area.contains(box) else _NARROW_MM
