"""Planes in the grid, as their normals."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from traverse.settled import settled, settled_all

Vector = NDArray[np.float64]
"""(3,) east, north and up."""


def normal(strike_deg: float, dip_deg: float) -> Vector:
    """Upward normal, of length 1, of a plane by its right-handed strike and its dip."""
    way, dip = math.radians(strike_deg + 90.0), math.radians(dip_deg)
    return settled_all(
        np.array([math.sin(dip) * math.sin(way), math.sin(dip) * math.cos(way), math.cos(dip)]), 12
    )


def angle_deg(one: Vector, other: Vector) -> float:
    """Angle between two vectors, 0 to 180 degrees."""
    (a, b, c), (d, e, f) = one.tolist(), other.tolist()
    # By the tangent, since the cosine tells small angles badly.
    return settled(
        math.degrees(
            math.atan2(math.hypot(b * f - c * e, c * d - a * f, a * e - b * d), a * d + b * e + c * f)
        )
    )


def holding(plane: Vector, along: Vector) -> Vector | None:
    """Normal, of length 1, of the plane that holds a line and lies closest to a plane given by its normal.

    n' = n - (n.u) u with u along the line. None where the line is square to the plane.
    """
    unit = along / math.hypot(*along.tolist())
    turned = plane - float((plane * unit).sum()) * unit
    length = math.hypot(*turned.tolist())
    return None if length < 1e-9 else settled_all(turned / length, 12)
