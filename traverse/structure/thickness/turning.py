"""Thickness where beds turn between two contacts: by a bend, and by an arc."""

from __future__ import annotations

import math

import numpy as np

from traverse.settled import SAME_M, settled
from traverse.structure.readings.directions import Vectors, dot

SHARES = (0.25, 0.5, 0.75)
"""Where the bend may lie between the two contacts when nothing tells."""
_PARALLEL = 1e-3


def by_bend(apart: Vectors, first: Vectors, second: Vectors, *, share: float = 0.5) -> float:
    """True thickness between two places with straight beds that bend at a share of the way, metres.

    `apart` leads from one place to the other, `first` and `second` are the poles there, shape (3,).

    Source: the beds' own normals over each part of the way; the dip-domain rule keeps what lies between.
    """
    second = second if dot(first, second) >= 0.0 else -second
    return settled(abs(share * dot(apart, first) + (1.0 - share) * dot(apart, second)))


def by_arc(apart: Vectors, first: Vectors, second: Vectors) -> float | None:
    """True thickness between two places whose beds are arcs about the axis that both planes share, metres.

    None where the normals meet between the two beds: no arc of constant thickness joins them.

    Source: concentric construction (Busk, 1929): the difference of the two radii.
    """
    second = second if dot(first, second) >= 0.0 else -second
    axis = np.cross(first, second)
    size = math.hypot(*axis.tolist())
    if size < _PARALLEL:
        return settled(abs(dot(apart, first + second)) / 2.0)
    axis = axis / size
    across = np.cross(axis, first)
    # In the plane square to the axis, on the first normal and across it: where do the two normals meet?
    way = dot(second, first), dot(second, across)
    to = dot(apart, first), dot(apart, across)
    on_second = -to[1] / way[1]
    on_first = to[0] + on_second * way[0]
    if on_first * on_second <= SAME_M**2:
        return None
    return settled(abs(abs(on_first) - abs(on_second)))
