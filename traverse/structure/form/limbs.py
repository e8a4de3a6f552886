"""The limbs of a fold: their means, and the angles between them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from statistics import median

import numpy as np

from traverse.settled import first_least, settled
from traverse.structure.form.records import Fold, Limb
from traverse.structure.readings.directions import Vectors, along, dip_of, dot, pole_angle
from traverse.structure.readings.place_errors import poles_of
from traverse.structure.readings.records import PlaneAttitude
from traverse.structure.walk.beds import Bed
from traverse.trade import PANEL_DEG

_SAME = 1e-9
LIMB_BEDS = 2
"""One reading makes no limb."""
_STRAY_SHARE = 0.2


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
    left, right = ([bed for bed in side if bed.dips] or list(side) for side in (left, right))
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
    """Mean apparent dip of the beds whose side is known, positive down with increasing distance; 0 where there are none."""
    dips = [bed.dip_deg for bed in beds if bed.sided]
    return float(np.mean(dips)) if dips else 0.0


def side_of_limb(beds: Sequence[Bed]) -> int:
    """To which side a limb dips, 1 with increasing distance; 0 where as many of its beds dip each way, or none does.

    Beds about a hinge dip less than their error or the other way; they are fewer than half as many as those of the limb.
    """
    sides = [1 if bed.dip_deg > 0.0 else -1 for bed in beds if bed.dips]
    more, less = sides.count(1), sides.count(-1)
    if max(more, less) <= 2 * min(more, less):
        return 0
    return 1 if more > less else -1


def turned(beds: Sequence[Bed]) -> bool | None:
    """Whether a limb is overturned, by most of its beds; None where way-up was seen nowhere on it, or as often each way."""
    told = [bed.overturned for bed in beds if bed.known]
    over = sum(told)
    return None if 2 * over == len(told) else 2 * over > len(told)


def faces_apart(left: Sequence[Bed], right: Sequence[Bed]) -> bool:
    """Whether the younger sides of two limbs lean away from each other, as those of an anticline do."""
    return median(bed.facing_deg for bed in right) > median(bed.facing_deg for bed in left)


def parted_by_way_up(beds: Sequence[Bed]) -> tuple[list[Bed], list[Bed]] | None:
    """Beds by distance parted into an overturned limb and an upright one, in that order on the ground.

    Of each two beds or more were seen, and no more than one in five of all lies among the others; no fault between.
    """
    over = np.array([bed.overturned for bed in beds])
    count = len(over)
    if over.sum() < LIMB_BEDS or (~over).sum() < LIMB_BEDS:
        return None
    # Of each parting into limbs of enough beds, what lies among the others if the first is the overturned one, and if the last is.
    sizes = np.arange(LIMB_BEDS, count - LIMB_BEDS + 1)
    before = np.cumsum(over)[sizes - 1]
    after = over.sum() - before
    first, last = (sizes - before) + after, before + (count - sizes - after)
    strays = np.minimum(first, last)
    # Of as good ones that with the fewest beds on the overturned limb, from whichever end they are counted.
    best = int(np.lexsort((np.where(first < last, sizes, count - sizes), strays))[0])
    left, right = list(beds[: sizes[best]]), list(beds[sizes[best] :])
    if strays[best] > _STRAY_SHARE * count or left[-1].block != right[0].block:
        return None
    return left, right


def readings(beds: Iterable[Bed]) -> tuple[PlaneAttitude, ...]:
    """The readings of beds in the order of the log."""
    return tuple(sorted((bed.attitude for bed in beds), key=lambda one: one.order))
