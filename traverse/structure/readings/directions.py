"""Planes and lines as unit vectors, and what two of them make together.

Vectors are east, north, up; arrays have the shape (..., 3). Poles point up, lines point down their plunge.
Azimuths are degrees clockwise from north, dips and plunges degrees below the horizontal.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from traverse.angle import wrap_180, wrap_360
from traverse.settled import settled, settled_all

Vectors = NDArray[np.float64]

_FLAT = 1e-9
"""Below this horizontal part a pole counts as vertical: its plane has no strike."""
_LEVEL = 1e-9
"""Below this vertical part a direction counts as level: neither end of it goes down."""
_PLACES = 12
"""Directions are settled to so many decimal places of a unit vector."""


def pole(dip_deg: ArrayLike, *, dip_direction_deg: ArrayLike) -> Vectors:
    """Upward unit normals of planes, shape (..., 3).

    >>> pole(30.0, dip_direction_deg=90.0).round(3).tolist()
    [0.5, 0.0, 0.866]

    Source: field geometry, see any text on structural geology; n = (sin dd sin d, cos dd sin d, cos d).
    """
    if isinstance(dip_deg, float) and isinstance(dip_direction_deg, float):
        # One plane at a time, as most callers ask, is a tenth of the work without arrays.
        one, way = math.radians(dip_deg), math.radians(dip_direction_deg)
        level = math.sin(one)
        parts = (math.sin(way) * level, math.cos(way) * level, math.cos(one))
        return np.array([settled(part, _PLACES) for part in parts])
    dip, azimuth = np.radians(dip_deg), np.radians(dip_direction_deg)
    return settled_all(
        np.stack(
            np.broadcast_arrays(np.sin(azimuth) * np.sin(dip), np.cos(azimuth) * np.sin(dip), np.cos(dip)),
            axis=-1,
        ),
        _PLACES,
    )


def line(plunge_deg: ArrayLike, *, trend_deg: ArrayLike) -> Vectors:
    """Downward unit vectors along lines, shape (..., 3)."""
    plunge, trend = np.radians(plunge_deg), np.radians(trend_deg)
    return settled_all(
        np.stack(
            np.broadcast_arrays(
                np.sin(trend) * np.cos(plunge), np.cos(trend) * np.cos(plunge), -np.sin(plunge)
            ),
            axis=-1,
        ),
        _PLACES,
    )


def dip_of(normal: Vectors) -> tuple[float, float | None]:
    """Dip and dip direction of the plane with this normal, of either sense; no direction for a flat plane.

    >>> dip, direction = dip_of(pole(42.0, dip_direction_deg=128.0))
    >>> round(dip, 9), round(direction, 9)
    (42.0, 128.0)
    """
    east, north, up = (float(value) for value in normal)
    if up < -_LEVEL or (abs(up) <= _LEVEL and _backward(east, north)):
        east, north, up = -east, -north, -up
    level = math.hypot(east, north)
    if level < _FLAT:
        return 0.0, None
    return (
        settled(math.degrees(math.atan2(level, max(up, 0.0)))),
        wrap_360(settled(math.degrees(math.atan2(east, north)))),
    )


def trend_of(vector: Vectors) -> tuple[float, float]:
    """Plunge and trend of a line, of either sense."""
    east, north, up = (float(value) for value in vector)
    if up > _LEVEL or (abs(up) <= _LEVEL and _backward(east, north)):
        east, north, up = -east, -north, -up
    plunge_deg = settled(math.degrees(math.atan2(max(-up, 0.0), math.hypot(east, north))))
    return plunge_deg, wrap_360(settled(math.degrees(math.atan2(east, north))))


def _backward(east: float, north: float) -> bool:
    """Whether a level direction points into the half from 180 up to 360 degrees: of its two ends the other is taken."""
    return east < -_LEVEL or (abs(east) <= _LEVEL and north < 0.0)


def planes_of(normals: Vectors) -> tuple[Vectors, Vectors]:
    """Dips and dip directions of many planes by their normals, shape (n, 3), of either sense; shapes (n,).

    A flat plane gets dip 0 and direction 0.
    """
    east, north, up = normals.T
    behind = (east < -_LEVEL) | ((np.abs(east) <= _LEVEL) & (north < 0.0))
    turned = (up < -_LEVEL) | ((np.abs(up) <= _LEVEL) & behind)
    east, north, up = np.where(turned, -normals.T, normals.T)
    level = np.hypot(east, north)
    flat = level < _FLAT
    dips = np.where(flat, 0.0, np.degrees(np.arctan2(level, np.maximum(up, 0.0))))
    ways = np.where(flat, 0.0, settled_all(np.degrees(np.arctan2(east, north))) % 360.0)
    return settled_all(dips), ways


def apparent_dips(dip_deg: ArrayLike, *, dip_direction_deg: ArrayLike, azimuth_deg: ArrayLike) -> Vectors:
    """Dips seen in upright sections, as `apparent_dip` for arrays of any one shape."""
    along = np.tan(np.radians(dip_deg)) * np.cos(np.radians(np.subtract(azimuth_deg, dip_direction_deg)))
    return settled_all(np.degrees(np.arctan(along)))


def apparent_dip(dip_deg: float, *, dip_direction_deg: float, azimuth_deg: float) -> float:
    """Dip seen in an upright section, positive where the bed goes down along its azimuth.

    Misleads where the section runs along the strike: near zero, whatever the true dip.

    >>> round(apparent_dip(42.0, dip_direction_deg=128.0, azimuth_deg=110.0), 1)
    40.6
    >>> apparent_dip(90.0, dip_direction_deg=128.0, azimuth_deg=110.0)
    90.0

    Source: tan(apparent) = tan(true) cos(azimuth - dip direction); Dennis (1972), Structural Geology.
    """
    dip = math.radians(dip_deg)
    along = math.sin(dip) * math.cos(math.radians(azimuth_deg - dip_direction_deg))
    # A vertical bed shows 90 in every section that crosses it, and cos(90 degrees) is not quite 0.
    return settled(math.degrees(math.atan2(along, math.cos(dip))))


def normal_on(dip_deg: float, dip_direction_deg: float, *, azimuth_deg: float) -> float:
    """How long the unit normal of a bed is as seen in an upright section: 1 where that runs square to the strike.

    >>> round(normal_on(48.0, 120.0, azimuth_deg=120.0), 3), round(normal_on(48.0, 120.0, azimuth_deg=30.0), 3)
    (1.0, 0.669)
    """
    dip = math.radians(dip_deg)
    along = math.sin(dip) * math.cos(math.radians(azimuth_deg - dip_direction_deg))
    return settled(math.hypot(along, math.cos(dip)))


def plane_through(lines: Vectors) -> Vectors:
    """Upward pole of the plane that best holds two lines or more, shape (n, 3); exact for two.

    Source: the eigenvector of the least eigenvalue of the sum of l l'.
    """
    _, vectors = np.linalg.eigh(lines.T @ lines)
    return upward(vectors[:, 0])


def rake_line(strike_deg: float, *, dip_deg: float, rake_deg: float, end_deg: float) -> tuple[float, float]:
    """Plunge and trend of a line that lies in a plane, by its angle from the end of the strike nearest `end_deg`.

    `strike_deg` is right-handed.

    >>> plunge, trend = rake_line(45.0, dip_deg=60.0, rake_deg=35.0, end_deg=45.0)
    >>> round(plunge, 1), round(trend)
    (29.8, 64)

    Source: sin(plunge) = sin(rake) sin(dip); see field manuals under rake (pitch).
    """
    from_strike = rake_deg if abs(wrap_180(end_deg - strike_deg)) <= 90.0 else 180.0 - rake_deg
    rake, dip = math.radians(from_strike), math.radians(dip_deg)
    plunge_deg = settled(math.degrees(math.asin(math.sin(rake) * math.sin(dip))))
    turn = math.degrees(math.atan2(math.sin(rake) * math.cos(dip), math.cos(rake)))
    return plunge_deg, wrap_360(settled(strike_deg + turn))


def rake_of(strike_deg: float, *, dip_deg: float, plunge_deg: float, trend_deg: float) -> float:
    """Rake of a line from the right-handed strike of its plane, 0 to 180 degrees; the inverse of `rake_line`.

    A line that lies off the plane is taken by its shadow on it.

    >>> round(rake_of(45.0, dip_deg=60.0, plunge_deg=29.785, trend_deg=64.296), 1)
    35.0

    Source: angle between the line and the strike, measured in the plane.
    """
    direction = line(plunge_deg, trend_deg=trend_deg)
    along = dot(direction, line(0.0, trend_deg=strike_deg))
    down = dot(direction, line(dip_deg, trend_deg=strike_deg + 90.0))
    rake_deg = settled(math.degrees(math.atan2(down, along)))
    return rake_deg if rake_deg >= 0.0 else rake_deg + 180.0


def intersections(first: Vectors, second: Vectors) -> tuple[Vectors, Vectors]:
    """Plunges and trends of the lines in which planes meet, by their poles, shapes (..., 3).

    NaN where two planes are parallel: they meet nowhere, or everywhere.

    >>> plunge, trend = intersections(pole(36.0, dip_direction_deg=266.0), pole(59.0, dip_direction_deg=146.0))
    >>> round(float(plunge)), round(float(trend))
    (26, 219)

    Source: cross product of the poles.
    """
    met = np.cross(first, second)
    size = np.linalg.norm(met, axis=-1)
    east, north, up = np.moveaxis(met, -1, 0)
    behind = (east < -_LEVEL) | ((np.abs(east) <= _LEVEL) & (north < 0.0))
    turned = (up > _LEVEL) | ((np.abs(up) <= _LEVEL) & behind)
    east, north, up = np.where(turned, -1.0, 1.0) * np.moveaxis(met, -1, 0)
    plunge = settled_all(np.degrees(np.arctan2(np.maximum(-up, 0.0), np.hypot(east, north))))
    trend = settled_all(np.degrees(np.arctan2(east, north))) % 360.0
    parallel = size < _FLAT
    return np.where(parallel, np.nan, plunge), np.where(parallel, np.nan, trend)


def pole_angle(first: Vectors, second: Vectors) -> float:
    """Angle between two planes, 0 to 90 degrees."""
    a, b, c = first.tolist()
    d, e, f = second.tolist()
    size = math.hypot(b * f - c * e, c * d - a * f, a * e - b * d)
    return settled(math.degrees(math.atan2(size, abs(a * d + b * e + c * f))))


def pole_angles(poles: Vectors, other: Vectors) -> Vectors:
    """Angle between each of many planes, by their poles, shape (n, 3), and another one; shape (n,), as `pole_angle`."""
    a, b, c = poles.T
    d, e, f = other.tolist()
    size = np.sqrt((b * f - c * e) ** 2 + (c * d - a * f) ** 2 + (a * e - b * d) ** 2)
    return settled_all(np.degrees(np.arctan2(size, np.abs(a * d + b * e + c * f))))


def dot(first: Vectors, second: Vectors) -> float:
    """Product of two vectors, shape (n,), added in one order on every machine."""
    return float(sum(one * other for one, other in zip(first.tolist(), second.tolist(), strict=True)))


def along(vectors: Vectors, way: Vectors) -> Vectors:
    """How far each of many vectors, shape (n, k), goes along one, shape (k,); shape (n,)."""
    # Column by column, in one order on every machine, and as fast as linear algebra.
    total = vectors[..., 0] * way[0]
    for part in range(1, len(way)):
        total = total + vectors[..., part] * way[part]
    return np.asarray(total, dtype=np.float64)


def upward(vector: Vectors) -> Vectors:
    """A direction found by linear algebra, settled, and of its two senses the one that points up.

    Of a level one the one that points into the half from 0 up to 180 degrees: linear algebra gives either.
    """
    east, north, up = (settled(part, _PLACES) for part in vector.tolist())
    found = np.array((east, north, up))
    turned = up < -_LEVEL or (abs(up) <= _LEVEL and _backward(east, north))
    return -found if turned else found
