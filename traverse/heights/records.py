"""Heights on a grid."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from traverse.record import record


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
class AboutWalk:
    """The ground that may come on a map of the walk, in the grid of the log."""

    west_m: float
    east_m: float
    south_m: float
    north_m: float
