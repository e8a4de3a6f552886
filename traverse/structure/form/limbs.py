"""The limbs of a fold: their means, and the angles between them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np

from traverse.settled import first_least, settled
from traverse.structure.form.records import Fold, Limb
from traverse.structure.readings.directions import Vectors, along, dip_of, dot, pole_angle
from traverse.structure.readings.place_errors import poles_of
from traverse.structure.readings.records import PlaneAttitude
from traverse.structure.walk.beds import Bed
from traverse.trade import LEVEL_DEG, PANEL_DEG

_SAME = 1e-9


def _normals(beds: Sequence[Bed]) -> Vectors:
    """Younging normals, shape (n, 3)."""
    return (
        poles_of([bed.attitude for bed in beds])
        * np.where([bed.overturned for bed in beds], -1.0, 1.0)[:, None]
    )


def _mean(normals: Vectors) -> Vectors:
    total = normals.sum(axis=0)
    return np.asarray(total / max(1e-12, math.hypot(*total.tolist())), dtype=np.float64)


def fold_of(left: Sequence[Bed], right: Sequence[Bed]) -> Fold:
    """The limbs by the means of their younging normals, the angle between them, and the surface that halves it.

    A level bed at the hinge belongs to neither.
    """
    left, right = (
        [bed for bed in side if abs(bed.dip_deg) >= LEVEL_DEG] or list(side) for side in (left, right)
    )
    sides = (_normals(left), _normals(right))
    first, second = (_mean(side) for side in sides)
    between = closest = _interlimb(first, second)
    # The farther round its limb a bed has turned, the less it faces as the other limb does.
    facing = [along(side, other) for side, other in zip(sides, (second, first), strict=True)]
    ends = [side[first_least(share, same=_SAME)] for side, share in zip(sides, facing, strict=True)]
    starts = [side[first_least(-share, same=_SAME)] for side, share in zip(sides, facing, strict=True)]
    if max(pole_angle(end, start) for end, start in zip(ends, starts, strict=True)) > PANEL_DEG:
        closest = _interlimb(ends[0], ends[1])
    dip, way = dip_of(np.asarray(first - second, dtype=np.float64))
    return Fold(
        limbs=(_limb(first, len(left)), _limb(second, len(right))),
        interlimb_deg=between,
        closest_deg=closest,
        axial_dip_deg=dip,
        axial_dip_direction_deg=way,
    )


def _interlimb(first: Vectors, second: Vectors) -> float:
    apart = math.hypot(*np.cross(first, second).tolist())
    return settled(180.0 - math.degrees(math.atan2(apart, dot(first, second))))


def _limb(normal: Vectors, n: int) -> Limb:
    dip, way = dip_of(normal)
    return Limb(dip_deg=dip, dip_direction_deg=way, overturned=bool(normal[2] < 0.0), n=n)


def dip_of_limb(beds: Sequence[Bed]) -> float:
    """Mean apparent dip, positive down with increasing distance."""
    return float(np.mean([bed.dip_deg for bed in beds]))


def turned(beds: Sequence[Bed]) -> bool | None:
    """Whether a limb is overturned; None where way-up was seen nowhere on it, or is told both ways."""
    told = {bed.overturned for bed in beds if bed.known}
    return told.pop() if len(told) == 1 else None


def readings(beds: Iterable[Bed]) -> tuple[PlaneAttitude, ...]:
    """The readings of beds in the order of the log."""
    return tuple(sorted((bed.attitude for bed in beds), key=lambda one: one.order))
