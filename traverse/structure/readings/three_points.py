"""The plane through three places of one surface, and how sure one may be of it."""

from __future__ import annotations

import math

import numpy as np

from traverse.record import record
from traverse.settled import settled
from traverse.structure.readings.directions import Vectors, dip_of, pole
from traverse.trade import THIN_TRIANGLE


@record(frozen=True, slots=True, kw_only=True)
class ThreePointPlane:
    """A plane through three places; with `refused` in its stead where they do not determine it."""

    dip_deg: float | None
    dip_direction_deg: float | None
    """None for a flat plane too."""
    sd_dip_deg: float | None
    sd_strike_deg: float | None
    """None for a flat plane, which has no strike."""
    refused: str | None = None
    """Why there is none, in a plain sentence."""


def three_point_plane(points: Vectors, *, covariances_m2: Vectors | None = None) -> ThreePointPlane:
    """Plane through three points, shape (3, 3): one a row, east, north and up in metres.

    `covariances_m2` (3, 3, 3) are those of the points; without them the plane is taken as exact.

    >>> plane = three_point_plane(np.array([(0.0, 0.0, 100.0), (400.0, 0.0, 60.0), (0.0, 300.0, 130.0)]))
    >>> round(plane.dip_deg, 3), round(plane.dip_direction_deg, 3)
    (8.049, 135.0)

    Source: cross product of two sides; errors to first order, the tilt that solves the three heights over the plane.
    """
    sides = np.roll(points, -1, axis=0) - points
    lengths = np.linalg.norm(sides, axis=1)
    longest = float(lengths.max())
    normal = np.cross(points[1] - points[0], points[2] - points[0])
    double_area = float(np.linalg.norm(normal))
    if longest <= 0.0 or double_area / longest**2 < THIN_TRIANGLE:
        share = 0.0 if longest <= 0.0 else double_area / longest**2
        return _refuse(f"the three places lie nearly on one line (height {share:.2f} of the longest side)")
    normal = np.asarray(normal / double_area, dtype=np.float64)
    covariances = np.zeros((3, 3, 3)) if covariances_m2 is None else covariances_m2
    if _on_a_line(points, sides, lengths, normal, covariances):
        return _refuse("the three places lie on one line within three of their standard errors")
    dip, direction = dip_of(normal)
    down = pole(dip + 90.0, dip_direction_deg=direction or 0.0)
    centred = points - points.mean(axis=0)
    matrix = np.column_stack((np.ones(3), centred @ down, centred @ np.cross(normal, down)))
    solve = np.linalg.inv(matrix)[1:]
    off = np.einsum("i,nij,j->n", normal, covariances, normal)
    sd_down, sd_along = np.degrees(np.sqrt((solve**2) @ np.maximum(off, 0.0)))
    return ThreePointPlane(
        dip_deg=dip,
        dip_direction_deg=direction,
        sd_dip_deg=settled(float(sd_down)),
        sd_strike_deg=None if direction is None else settled(float(sd_along) / math.sin(math.radians(dip))),
    )


def _on_a_line(
    points: Vectors, sides: Vectors, lengths: Vectors, normal: Vectors, covariances_m2: Vectors
) -> bool:
    """Whether the point opposite the longest side stands no more than three standard errors off it."""
    base = int(lengths.argmax())
    way = sides[base] / lengths[base]
    across = np.cross(normal, way)
    share = float((points[base - 1] - points[base]) @ way / lengths[base])
    height = abs(float((points[base - 1] - points[base]) @ across))
    weights = {base: 1.0 - share, (base + 1) % 3: share, (base + 2) % 3: 1.0}
    variance = sum(
        weight**2 * float(across @ covariances_m2[index] @ across) for index, weight in weights.items()
    )
    return height <= 3.0 * float(np.sqrt(max(0.0, variance)))


def _refuse(why: str) -> ThreePointPlane:
    return ThreePointPlane(
        dip_deg=None, dip_direction_deg=None, sd_dip_deg=None, sd_strike_deg=None, refused=why
    )
