"""Heights on a grid, and outcrops projected over them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from traverse.record import record
from traverse.source import Span


@record(frozen=True, slots=True, kw_only=True)
class Terrain:
    """Heights at the crossings of a regular grid, in the grid and height datum of the log."""

    name: str
    """The file, as the log names it."""
    east_m: NDArray[np.float64]
    """(columns,), increasing."""
    north_m: NDArray[np.float64]
    """(rows,), increasing."""
    up_m: NDArray[np.float64]
    """(rows, columns); NaN in a hole."""

    @property
    def spacing_m(self) -> float:
        """The larger of the two distances between neighbours."""
        return float(max(self.east_m[1] - self.east_m[0], self.north_m[1] - self.north_m[0]))

    def at(self, east_m: NDArray[np.float64], north_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Heights at places, each (n,), between the crossings bilinear; NaN in holes and outside."""
        columns, rows = len(self.east_m), len(self.north_m)
        x = (east_m - self.east_m[0]) / (self.east_m[1] - self.east_m[0])
        y = (north_m - self.north_m[0]) / (self.north_m[1] - self.north_m[0])
        inside = (x >= 0) & (x <= columns - 1) & (y >= 0) & (y <= rows - 1)
        column = np.clip(np.nan_to_num(x), 0, columns - 2).astype(int)
        row = np.clip(np.nan_to_num(y), 0, rows - 2).astype(int)
        u, v = x - column, y - row
        height = np.zeros(np.shape(x))
        for right, upper, weight in (
            (0, 0, (1 - u) * (1 - v)),
            (1, 0, u * (1 - v)),
            (0, 1, (1 - u) * v),
            (1, 1, u * v),
        ):
            # A hole next to a crossing does not spoil the crossing itself.
            height += np.where(weight > 0, self.up_m[row + upper, column + right] * weight, 0.0)
        return np.where(inside, height, np.nan)


@record(frozen=True, slots=True, kw_only=True)
class Outcrop:
    """Where a plane through a contact comes out on the grid of heights, as far as it may be projected."""

    younger: str
    older: str
    lines: tuple[tuple[tuple[float, float], ...], ...]
    """East and north, metres."""
    band: tuple[tuple[tuple[float, float], ...], ...]
    """Outlines of the ground in which it lies within one standard deviation of the heights."""
    strike_deg: float
    """True and right-handed."""
    dip_deg: float
    reach_m: float
    """How far from the contact it was projected at most."""
    sd_up_m: float
    """Height error at the contact."""
    contact: Span
    """The line of the contact that it runs from."""
    span: Span
    """The `trace` line."""


@record(frozen=True, slots=True, kw_only=True)
class GroundModel:
    """Heights and what was projected over them."""

    terrain: Terrain
    outcrops: tuple[Outcrop, ...] = ()


@record(frozen=True, slots=True, kw_only=True)
class Join:
    """Two places where one contact, or one fault, was met on two arms of the walk, and its trace between them."""

    ends: tuple[Span, Span]
    """The lines of the log that the two were written on."""
    fault: bool
    lines: tuple[tuple[tuple[float, float], ...], ...]
    """East and north in metres, from the first end to the second: one piece, or two where a surface deposit that was
    walked on lies between."""
    normal: tuple[float, float, float]
    """Of the plane that holds both places: east, north and up in the grid, of length 1; up, or down where the beds are
    overturned."""
    off_deg: float
    """How far that plane is from the farther one of the two attitudes."""
    over_heights: bool
    """Whether it follows the outcrop over the grid of heights; else it is straight."""
