"""Error ellipses of one standard deviation."""

from __future__ import annotations

import numpy as np

from traverse.adjustment.records import Floats
from traverse.settled import settled_all


def ellipses(covariance_m2: Floats) -> tuple[Floats, Floats, Floats]:
    """Half-axes and azimuth of the longer one, in metres and degrees in [0, 180), each (n,).

    `covariance_m2` is (n, 2, 2), east then north. An ellipse of one standard deviation holds 39 in 100 places.

    >>> major, minor, azimuth = ellipses(np.array([[[9.0, 0.0], [0.0, 4.0]]]))
    >>> float(major[0]), float(minor[0]), float(azimuth[0])
    (3.0, 2.0, 90.0)

    Source: eigenvectors of the covariance, common practice, no source.
    """
    # To the square of 0.03 mm: the solution of a large network is good to little more.
    covariance_m2 = settled_all(covariance_m2)
    east, north, both = covariance_m2[:, 0, 0], covariance_m2[:, 1, 1], covariance_m2[:, 0, 1]
    middle, spread = (east + north) / 2.0, np.hypot((east - north) / 2.0, both)
    azimuth = np.degrees(0.5 * np.arctan2(2.0 * both, north - east))
    return (
        np.sqrt(np.maximum(middle + spread, 0.0)),
        np.sqrt(np.maximum(middle - spread, 0.0)),
        # A circle has no longer axis: what the last bit makes of it is none.
        np.where(spread > 1e-6 * middle, np.where(azimuth < 0.0, azimuth + 180.0, azimuth) % 180.0, 0.0),
    )
