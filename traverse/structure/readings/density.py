"""How closely readings crowd on the net, worked out for what draws one."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from traverse.settled import settled_all
from traverse.structure.readings.directions import Vectors, line
from traverse.structure.readings.records import PlaneAttitude, PoleDensity
from traverse.trade import DENSITY_KAPPA, DENSITY_READINGS

_LEVELS = (2, 4, 8, 16, 32)


def density(poles: Vectors, at: Vectors) -> NDArray[np.float64]:
    """How much closer lines crowd about directions than if they were spread evenly: 1 is even, shape (len(at),).

    `poles` and `at` are plunges and trends in degrees, (n, 2). Each line counts in its neighbourhood as Fisher's
    distribution, and on the other side as well, since it has two ends; `DENSITY_KAPPA` gives the reason for its width.

    Source: Fisher, Lewis and Embleton (1987), Statistical Analysis of Spherical Data, from memory.
    """
    # Readings are whole degrees, so many of a large log are the same.
    different, times = np.unique(poles, axis=0, return_counts=True)
    share = np.abs(_unit(at) @ _unit(different).T)
    return settled_all(DENSITY_KAPPA / len(poles) * np.exp(DENSITY_KAPPA * (share - 1.0)) @ times)


def _unit(lines: Vectors) -> Vectors:
    plunge, trend = lines.T
    return line(plunge, trend_deg=trend)


def pole_density(beds: Sequence[PlaneAttitude]) -> PoleDensity | None:
    """Lines of equal density of the poles that go down from beds; None under twenty readings."""
    if len(beds) < DENSITY_READINGS:
        return None
    from contourpy import LineType, contour_generator

    # A little over the rim, so that lines end on it: a line beyond it is the same as one on the other side.
    places = np.linspace(-1.04, 1.04, 105)
    x, y = np.meshgrid(places, places)
    # The way back from the equal-area projection: r = sqrt(2) sin((90 - plunge) / 2).
    plunge = 90.0 - 2.0 * np.degrees(np.arcsin(np.minimum(np.hypot(x, y) / math.sqrt(2.0), 1.0)))
    trend = np.degrees(np.arctan2(x, y))
    poles = np.array([(90.0 - bed.dip_deg, bed.dip_direction_deg + 180.0) for bed in beds])
    found = density(poles, np.stack([plunge.ravel(), trend.ravel()], axis=-1)).reshape(x.shape)
    highest = found[np.hypot(x, y) <= 1.0].max()
    levels = tuple(level for level in _LEVELS if level < highest)
    drawn = contour_generator(places, places, found, line_type=LineType.Separate)
    return PoleDensity(
        levels=levels,
        lines=tuple(
            tuple((float(px), float(py)) for px, py in np.asarray(points))
            for level in levels
            for points in drawn.lines(float(level))
        ),
    )
