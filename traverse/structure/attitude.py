"""Planes and lines as unit vectors, and what two of them make together.

Vectors are east, north, up; arrays have the shape (..., 3). Poles point up, lines point down their plunge.
Azimuths are degrees clockwise from north, dips and plunges degrees below the horizontal.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from traverse.angle import wrap_180, wrap_360

Vectors = NDArray[np.float64]

_FLAT = 1e-9
"""Below this horizontal part a pole counts as vertical: its plane has no strike."""


def pole(dip_deg: ArrayLike, *, dip_direction_deg: ArrayLike) -> Vectors:
    """Upward unit normals of planes, shape (..., 3).

    >>> pole(30.0, dip_direction_deg=90.0).round(3).tolist()
    [0.5, 0.0, 0.866]

    Source: field geometry, see any text on structural geology; n = (sin dd sin d, cos dd sin d, cos d).
    """
    dip, azimuth = np.radians(dip_deg), np.radians(dip_direction_deg)
    return np.stack(
        np.broadcast_arrays(np.sin(azimuth) * np.sin(dip), np.cos(azimuth) * np.sin(dip), np.cos(dip)),
        axis=-1,
    )


def line(plunge_deg: ArrayLike, *, trend_deg: ArrayLike) -> Vectors:
    """Downward unit vectors along lines, shape (..., 3)."""
    plunge, trend = np.radians(plunge_deg), np.radians(trend_deg)
    return np.stack(
        np.broadcast_arrays(np.sin(trend) * np.cos(plunge), np.cos(trend) * np.cos(plunge), -np.sin(plunge)),
        axis=-1,
    )


def dip_of(normal: Vectors) -> tuple[float, float | None]:
    """Dip and dip direction of the plane with this normal, of either sense; no direction for a flat plane.

    >>> dip, direction = dip_of(pole(42.0, dip_direction_deg=128.0))
    >>> round(dip, 9), round(direction, 9)
    (42.0, 128.0)
    """
    east, north, up = (float(value) for value in (normal if normal[2] >= 0.0 else -normal))
    level = float(np.hypot(east, north))
    dip_deg = float(np.degrees(np.arctan2(level, up)))
    if level < _FLAT:
        return 0.0, None
    return dip_deg, wrap_360(float(np.degrees(np.arctan2(east, north))))


def trend_of(vector: Vectors) -> tuple[float, float]:
    """Plunge and trend of a line, of either sense."""
    east, north, up = (float(value) for value in (vector if vector[2] <= 0.0 else -vector))
    plunge_deg = float(np.degrees(np.arctan2(-up, np.hypot(east, north))))
    return plunge_deg, wrap_360(float(np.degrees(np.arctan2(east, north))))


def apparent_dip(dip_deg: float, *, dip_direction_deg: float, azimuth_deg: float) -> float:
    """Dip seen in an upright section, positive where the bed goes down along its azimuth.

    Misleads where the section runs along the strike: near zero, whatever the true dip.

    >>> round(apparent_dip(42.0, dip_direction_deg=128.0, azimuth_deg=110.0), 1)
    40.6
    >>> apparent_dip(90.0, dip_direction_deg=128.0, azimuth_deg=110.0)
    90.0

    Source: tan(apparent) = tan(true) cos(azimuth - dip direction); Dennis (1972), Structural Geology.
    """
    dip = np.radians(dip_deg)
    along = np.sin(dip) * np.cos(np.radians(azimuth_deg - dip_direction_deg))
    apparent = float(np.degrees(np.arctan2(along, np.cos(dip))))
    # A vertical bed shows 90 in every section that crosses it, and cos(90 degrees) is not quite 0.
    return round(apparent, 12) if abs(abs(apparent) - 90.0) < 1e-9 else apparent


def plane_through(lines: Vectors) -> Vectors:
    """Upward pole of the plane that best holds two lines or more, shape (n, 3); exact for two.

    Source: the eigenvector of the least eigenvalue of the sum of l l'.
    """
    _, vectors = np.linalg.eigh(lines.T @ lines)
    normal = vectors[:, 0]
    return np.asarray(normal if normal[2] >= 0.0 else -normal, dtype=np.float64)


def rake_line(strike_deg: float, *, dip_deg: float, rake_deg: float, end_deg: float) -> tuple[float, float]:
    """Plunge and trend of a line that lies in a plane, by its angle from the end of the strike nearest `end_deg`.

    `strike_deg` is right-handed.

    >>> plunge, trend = rake_line(45.0, dip_deg=60.0, rake_deg=35.0, end_deg=45.0)
    >>> round(plunge, 1), round(trend)
    (29.8, 64)

    Source: sin(plunge) = sin(rake) sin(dip); see field manuals under rake (pitch).
    """
    from_strike = rake_deg if abs(wrap_180(end_deg - strike_deg)) <= 90.0 else 180.0 - rake_deg
    rake, dip = np.radians(from_strike), np.radians(dip_deg)
    plunge_deg = float(np.degrees(np.arcsin(np.sin(rake) * np.sin(dip))))
    turn = float(np.degrees(np.arctan2(np.sin(rake) * np.cos(dip), np.cos(rake))))
    return plunge_deg, wrap_360(strike_deg + turn)


def pole_angle(first: Vectors, second: Vectors) -> float:
    """Angle between two planes, 0 to 90 degrees."""
    return float(np.degrees(np.arctan2(np.linalg.norm(np.cross(first, second)), abs(first @ second))))
