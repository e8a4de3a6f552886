"""Metres of a section to millimetres of the page, and what is already drawn there."""

from __future__ import annotations

from traverse.length import Lengths
from traverse.record import record
from traverse.sheet.paper.page import Box, Point

BESIDE_MM = 9.0
"""Height figures, to either side of the drawn section."""


@record(frozen=True, slots=True, kw_only=True)
class StripFrame:
    """Metres of the section to millimetres of the page."""

    box: Box
    """As drawn: as wide as the section at its scale."""
    mm_per_m: float
    exaggeration: float
    floor_m: float
    top_m: float
    lengths: Lengths
    """How heights and distances are told."""

    def x(self, distance_m: float) -> float:
        """Place of a distance along the section."""
        return self.box.x + distance_m * self.mm_per_m

    def y(self, up_m: float) -> float:
        """Place of a height."""
        return self.box.y + (up_m - self.floor_m) * self.mm_per_m * self.exaggeration

    def at(self, place: tuple[float, float]) -> Point:
        """Place of a distance and a height."""
        return (self.x(place[0]), self.y(place[1]))

    def place(self, at: Point) -> tuple[float, float]:
        """Back from the page to metres."""
        return (
            (at[0] - self.box.x) / self.mm_per_m,
            self.floor_m + (at[1] - self.box.y) / (self.mm_per_m * self.exaggeration),
        )
