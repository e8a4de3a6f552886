"""Heights of a grid that no ground has beside those round them: a slip of a figure, or holes that nothing marks."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from traverse.heights.records import AboutWalk, Terrain
from traverse.record import record
from traverse.trade import JUMP_M, JUMP_SLOPE, SPIKE_SLOPE

_ROUND = tuple((up, right) for up in (-1, 0, 1) for right in (-1, 0, 1) if up or right)
_BESIDE = tuple((up, right) for up, right in _ROUND if not (up and right))
_LEAST_ROUND = 3
"""A corner of a grid has so many crossings round it."""


@record(frozen=True, slots=True, kw_only=True)
class OutOfLine:
    """A crossing of the grid, and another beside it that its height can hardly lie next to."""

    east_m: float
    north_m: float
    up_m: float
    beside_m: tuple[float, float, float]
    """East, north and height of the crossing next to it; of all round it the one whose height is nearest, where it stands alone."""
    alone: bool
    """Whether it lies above all round it, or below all of them; else it is told only that the two don't fit."""
    crossings: tuple[NDArray[np.intp], NDArray[np.intp]]
    """Rows and columns of all that are out of line, this one among them."""


def out_of_line(terrain: Terrain, walked: AboutWalk) -> OutOfLine | None:
    """The crossing about the walk that is farthest out of line; None where all may be ground.

    A crossing alone stands `JUMP_M` above all round it or below all of them, and by more than `SPIKE_SLOPE` over the
    distance to them. Any two next to each other are told where they lie `JUMP_M` apart and steeper than `JUMP_SLOPE`.
    """
    columns = np.flatnonzero((terrain.east_m >= walked.west_m) & (terrain.east_m <= walked.east_m))
    rows = np.flatnonzero((terrain.north_m >= walked.south_m) & (terrain.north_m <= walked.north_m))
    if len(columns) < 2 or len(rows) < 2:
        return None
    wide = np.full((len(rows) + 2, len(columns) + 2), np.nan)
    wide[1:-1, 1:-1] = terrain.up_m[np.ix_(rows, columns)]
    over, sides = _over_all(wide), _ROUND
    found = over > max(JUMP_M, SPIKE_SLOPE * terrain.spacing_m)
    alone = bool(found.any())
    if not alone:
        over, sides = _over_one(wide), _BESIDE
        found = over > max(JUMP_M, JUMP_SLOPE * terrain.spacing_m)
        if not found.any():
            return None
    row, column = (int(one) for one in np.unravel_index(np.argmax(over), over.shape))
    up = float(wide[row + 1, column + 1])

    def apart(side: tuple[int, int]) -> float:
        size = abs(up - float(wide[row + 1 + side[0], column + 1 + side[1]]))
        return np.inf if np.isnan(size) else size if alone else -size

    higher, right = min(sides, key=apart)
    east, north = terrain.east_m[columns], terrain.north_m[rows]
    return OutOfLine(
        east_m=float(east[column]),
        north_m=float(north[row]),
        up_m=up,
        beside_m=(
            float(east[column + right]),
            float(north[row + higher]),
            float(wide[row + 1 + higher, column + 1 + right]),
        ),
        alone=alone,
        crossings=(rows[np.nonzero(found)[0]], columns[np.nonzero(found)[1]]),
    )


def _over(wide: NDArray[np.float64], side: tuple[int, int]) -> NDArray[np.float64]:
    """How far each crossing lies above the one at a side of it; NaN at holes and edges."""
    rows, columns = (size - 2 for size in wide.shape)
    y, x = side
    return wide[1:-1, 1:-1] - wide[1 + y : 1 + y + rows, 1 + x : 1 + x + columns]


def _over_all(wide: NDArray[np.float64]) -> NDArray[np.float64]:
    """How far each lies at least above all round it, or below all of them; below zero where it does neither."""
    least = most = _over(wide, _ROUND[0])
    known = np.isfinite(least).astype(np.uint8)
    for side in _ROUND[1:]:
        over = _over(wide, side)
        known += np.isfinite(over)
        least, most = np.fmin(least, over), np.fmax(most, over)
    return np.where(known >= _LEAST_ROUND, np.maximum(least, -most), -1.0)


def _over_one(wide: NDArray[np.float64]) -> NDArray[np.float64]:
    """How far each lies at most above one of the four beside it in its row and column."""
    most = np.zeros((wide.shape[0] - 2, wide.shape[1] - 2))
    for side in _BESIDE:
        most = np.fmax(most, _over(wide, side))
    return most
