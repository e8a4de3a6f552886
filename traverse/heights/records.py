"""Heights on a grid."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from traverse.record import record
from traverse.trade import HEIGHT_SD_SHARE


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

    @property
    def sd_up_m(self) -> float:
        """What a height of it is off by, the ground between its crossings with it."""
        return max(1.0, HEIGHT_SD_SHARE * self.spacing_m)

    def slope(self, east_m: float, north_m: float, step_m: float) -> NDArray[np.float64]:
        """Rise for each metre east and north, (2,), over a step to each hand of a place; NaN where it has no heights there."""
        up = self.at(
            east_m + step_m * np.array([1.0, -1.0, 0.0, 0.0]),
            north_m + step_m * np.array([0.0, 0.0, 1.0, -1.0]),
        )
        return np.array([up[0] - up[1], up[2] - up[3]]) / (2.0 * step_m)

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
