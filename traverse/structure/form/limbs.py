"""The limbs of a fold: their means, and the angles between them."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from statistics import median

import numpy as np

from traverse.settled import settled
from traverse.structure.form.records import Fold, Limb
from traverse.structure.readings.directions import Vectors, dip_of, dot, pole_angle
from traverse.structure.readings.place_errors import poles_of
from traverse.structure.readings.records import PlaneAttitude
from traverse.structure.walk.beds import Bed
from traverse.trade import ONE_IN_A_THOUSAND, chi_square_limit

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

    Each limb goes from the hinge to where its beds turn back, as those beyond the next hinge do, and is told by its outer part
    that lies as one plane. A level bed at the hinge belongs to neither.
    """
    whole = [[bed for bed in side if bed.dips] or list(side) for side in (left, right)]
    halfway_deg = sum(median(bed.facing_deg for bed in side) for side in whole) / 2.0
    apart = 1.0 if faces_apart(*whole) else -1.0
    whole = [
        _to_the_next_hinge(whole[0][::-1], lambda bed: (bed.facing_deg - halfway_deg) * apart < 0.0),
        _to_the_next_hinge(whole[1], lambda bed: (bed.facing_deg - halfway_deg) * apart > 0.0),
    ]
    panels = [_outer_panel(side) for side in whole]
    straight = all(
        len(panel) >= LIMB_BEDS and 2 * len(panel) > len(side)
        for panel, side in zip(panels, whole, strict=True)
    )
    means, errors = zip(*map(_mean_and_error, panels), strict=True)
    first, second = means
    across = np.asarray(first - second, dtype=np.float64)
    dip, way = dip_of(across)
    error = math.hypot(*errors)
    return Fold(
        limbs=(_limb(first, len(panels[0])), _limb(second, len(panels[1]))),
        interlimb_deg=_interlimb(first, second),
        sd_deg=error if straight else None,
        axial_dip_deg=dip,
        axial_dip_direction_deg=way,
        sd_axial_deg=error / max(1e-6, math.hypot(*across.tolist())) if straight else None,
    )


def _to_the_next_hinge(outward: Sequence[Bed], own: Callable[[Bed], bool]) -> list[Bed]:
    """The beds of one limb, of those from the hinge outward: two running that face as the other limb does are beyond it."""
    found: list[Bed] = []
    others = 0
    for bed in outward:
        others = 0 if own(bed) else others + 1
        if own(bed):
            found.append(bed)
        elif found and others >= LIMB_BEDS:
            break
    return found or list(outward)


def _outer_panel(outward: Sequence[Bed]) -> list[Bed]:
    """The longest outer part of a limb whose beds scatter no more about their mean than they were misread."""
    inward = outward[::-1]
    sums = np.cumsum(_normals(inward), axis=0)
    sds = np.cumsum([bed.attitude.sd_deg**2 for bed in inward])
    for count in range(len(inward), 1, -1):
        # Of n unit vectors whose sum is R long, 2 (n - R) is the sum of squares about their mean, in radians each.
        spread = 2.0 * math.degrees(math.degrees(count - math.hypot(*sums[count - 1].tolist())))
        if settled(spread / (sds[count - 1] / count), 6) <= chi_square_limit(
            2 * (count - 1), ONE_IN_A_THOUSAND
        ):
            return list(inward[:count])
    return [inward[0]]


def _mean_and_error(panel: Sequence[Bed]) -> tuple[Vectors, float]:
    """The mean normal of beds of one plane, and its error in any one direction in degrees: by what they are read to or scatter."""
    normals = _normals(panel)
    mean = _mean(normals)
    read = float(np.mean([bed.attitude.sd_deg for bed in panel]))
    spread = sum(pole_angle(one, mean) ** 2 for one in normals) / (2.0 * max(1, len(panel) - 1))
    return mean, max(read, math.sqrt(spread)) / math.sqrt(len(panel))


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
