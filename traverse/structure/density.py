"""How densely directions lie over the lower hemisphere."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from traverse.log.records import LineKind, PlaneKind
from traverse.settled import settled_all
from traverse.structure.attitude import Vectors, line, pole
from traverse.structure.records import Attitude, Density

FEWEST = 20
"""Fewer readings make contours of chance; common practice, no source."""
_POINTS = 41
_SIGMA = 3.0
_BLOCK = 4096


def densities(attitudes: Sequence[Attitude]) -> tuple[Density, ...]:
    """Density of each kind of which there are `FEWEST` readings or more, in the order of the log."""
    kinds: dict[PlaneKind | LineKind, list[Attitude]] = {}
    for one in attitudes:
        kinds.setdefault(one.kind, []).append(one)
    found = []
    for kind, readings in kinds.items():
        if len(readings) < FEWEST:
            continue
        if isinstance(kind, LineKind):
            axes = line(
                [one.plunge_deg or 0.0 for one in readings],
                trend_deg=[one.trend_deg or 0.0 for one in readings],
            )
        else:
            axes = pole(
                [one.dip_deg or 0.0 for one in readings],
                dip_direction_deg=[one.dip_direction_deg or 0.0 for one in readings],
            )
        grid = density(axes)
        rows = tuple(tuple(None if np.isnan(value) else float(value) for value in row) for row in grid)
        found.append(Density(kind=kind, n=len(readings), step=2.0 / (_POINTS - 1), rows=rows))
    return tuple(found)


def net_directions(points: int = _POINTS) -> Vectors:
    """Unit vectors under a square grid over the equal-area net of radius 1, shape (points, points, 3).

    Rows from south to north, columns from west to east; NaN outside the net. Downward, as the lower hemisphere.

    Source: Lambert's equal-area projection, r = sqrt(2) sin(half the angle from the vertical).
    """
    side = np.linspace(-1.0, 1.0, points)
    east, north = np.meshgrid(side, side)
    squared = east**2 + north**2
    with np.errstate(invalid="ignore"):
        outward = np.sqrt(np.where(squared <= 1.0 + 1e-12, 2.0 - squared, np.nan))
    return np.stack((east * outward, north * outward, squared - 1.0), axis=-1)


def density(axes: Vectors, *, points: int = _POINTS) -> Vectors:
    """Density of axes, shape (n, 3), on the grid of `net_directions`, in multiples of an even spread.

    Misleads below `FEWEST` readings: then every reading is a peak.

    Source: Vollmer (1995), Computers & Geosciences 21, 31-49: the weight of a reading at an angle t is
    exp(f (|cos t| - 1)), f = 2 (1 + n / 9); here divided by its mean over the hemisphere, (1 - exp(-f)) / f.
    """
    n = len(axes)
    sharp = 2.0 * (1.0 + n / _SIGMA**2)
    grid = net_directions(points).reshape(-1, 3)
    inside = ~np.isnan(grid[:, 0])
    total = np.zeros(int(inside.sum()))
    for start in range(0, n, _BLOCK):
        near = np.abs(grid[inside] @ axes[start : start + _BLOCK].T)
        total += np.exp(sharp * (near - 1.0)).sum(axis=1)
    found = np.full(len(grid), np.nan)
    found[inside] = settled_all(total / n * sharp / -np.expm1(-sharp))
    return found.reshape(points, points)
