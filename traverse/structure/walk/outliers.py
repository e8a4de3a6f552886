"""Units that come again because the ground rises and falls through beds that do not turn."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from traverse.settled import SAME_M
from traverse.structure.walk.arms import ArmStep, joined
from traverse.trade import OUTLIER_BED_DEG, OUTLIER_MEAN_DEG, OUTLIER_RISE, OUTLIER_SD_DEG

if TYPE_CHECKING:
    from traverse.structure.walk.beds import Bed


class Outlier(NamedTuple):
    """A unit between two stretches of its neighbour, as the ground lays it bare."""

    unit: str
    within: str
    younger: bool
    """Left on high ground; else laid bare in low ground, an inlier."""


def without_outliers(
    arms: Sequence[Sequence[ArmStep]], beds: Sequence[Bed], rank: Mapping[str, int]
) -> tuple[tuple[tuple[ArmStep, ...], ...], tuple[Outlier, ...]]:
    """Arms with each outlier and inlier joined to what lies round it, and what was joined, each pair once.

    One plane that the beds there follow goes through both its borders, and the ground between stands above the plane where
    the unit is the younger, below it where it is the older. Beds on both sides that make a fold of it leave no outlier.
    `beds` stand by distance. What has no heights is left as it is.
    """
    across = np.array([bed.across_m for bed in beds])
    found: dict[Outlier, None] = {}
    kept = []
    for arm in arms:
        steps = list(arm)
        # Outliers first: where two units take turns either may be taken to lie within the other.
        index, looks_for = 1, True
        while index < len(steps) - 1 or looks_for:
            if index >= len(steps) - 1:
                index, looks_for = 1, False
                continue
            before, core, after = steps[index - 1 : index + 2]
            younger = rank.get(core.unit, 0) < rank.get(after.unit, 0)
            if (
                before.unit == after.unit
                and younger >= looks_for
                and _is_outlier(core, after, beds, across, rank)
            ):
                found[Outlier(core.unit, after.unit, younger)] = None
                steps[index - 1 : index + 2] = [joined(joined(before, core), after)]
                # What is joined may itself lie within another.
                index = max(1, index - 1)
            else:
                index += 1
        kept.append(tuple(steps))
    return tuple(kept), tuple(found)


def _is_outlier(
    core: ArmStep, after: ArmStep, beds: Sequence[Bed], across: np.ndarray, rank: Mapping[str, int]
) -> bool:
    ground = np.array(core.ground)
    if (
        core.fault_before is not None
        or after.fault_before is not None
        or len(ground) < 3
        or not {core.unit, after.unit} <= rank.keys()
    ):
        return False
    (start, low), (end, high) = ground[0], ground[-1]
    if end - start <= 0.0:
        return False
    # A bed at a border is the one beyond it, at the one end as at the other.
    first = int(np.searchsorted(across, start + SAME_M, "right"))
    last = int(np.searchsorted(across, end - SAME_M, "left"))
    near = beds[max(0, first - 1) : last + 1]
    plane_deg = float(np.degrees(np.arctan2(low - high, end - start)))
    keep = [abs(bed.dip_deg - plane_deg) <= OUTLIER_BED_DEG for bed in near]
    # A bed beyond the border may lie round a bend; one within may not.
    inside = keep[min(first, 1) : len(keep) - (1 if last < len(beds) else 0)]
    if sum(keep) < 2 or not all(inside):
        return False
    over = sum(bed.overturned for bed in near) * 2 > len(near)
    younger = (rank[core.unit] < rank[after.unit]) != over
    if _is_fold(near[0], near[-1], hollow=younger):
        return False
    dips = np.array([bed.dip_deg for bed, kept in zip(near, keep, strict=True) if kept])
    if abs(dips.mean() - plane_deg) > OUTLIER_MEAN_DEG or dips.std() > OUTLIER_SD_DEG:
        return False
    above = ground[:, 1] - np.interp(ground[:, 0], (start, end), (low, high))
    above = above if younger else -above
    tolerance = OUTLIER_RISE * (end - start)
    return bool(above.max() > tolerance and above.min() >= -tolerance)


def _is_fold(first: Bed, last: Bed, *, hollow: bool) -> bool:
    """Whether beds on both sides of a unit dip toward each other, or away, so that a fold brings its neighbour back."""
    if not (first.dips and last.dips):
        return False
    return first.dip_deg > 0.0 > last.dip_deg if hollow else first.dip_deg < 0.0 < last.dip_deg
