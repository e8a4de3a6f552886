"""What units across the strike make together, with the beds beside them: mirrored orders, repeats, what the ground lays bare.

A name with an age (syncline, anticline) needs the order of the units, an overturned limb way-up. What is missing is said.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from traverse.record import record
from traverse.structure.form.limbs import dip_of_limb, fold_of, readings, turned
from traverse.structure.form.records import (
    Finding,
    FormKind,
    LaidBare,
    LimbsThick,
    Mirror,
    OverturnedFold,
    StructuralForm,
    UnitsMirrored,
    UnitsRepeat,
)
from traverse.structure.readings.records import PlaneAttitude
from traverse.structure.thickness.records import Thickness
from traverse.structure.walk.across import Across
from traverse.structure.walk.arms import ArmStep
from traverse.structure.walk.beds import Bed
from traverse.trade import LEVEL_DEG, WALKED_SLOPE_DEG


@record(frozen=True, slots=True, kw_only=True)
class Mirrored:
    """Units that come back in mirrored order."""

    core: ArmStep
    limb: tuple[str, ...]
    """From the core outward."""

    @property
    def order(self) -> tuple[str, ...]:
        """As they are met."""
        return (*reversed(self.limb), self.core.unit, *self.limb)


def mirrored(seen: Across) -> Mirrored | None:
    """The deepest mirrored order on any arm; a fault between two units ends it."""
    best: Mirrored | None = None
    for arm in seen.arms:
        for index in range(1, len(arm) - 1):
            limb: list[str] = []
            left, right = index - 1, index + 1
            while (
                left >= 0
                and right < len(arm)
                and arm[left].unit == arm[right].unit
                and arm[left].unit not in {arm[index].unit, *limb}
                and arm[left + 1].fault_before is None
                and arm[right].fault_before is None
            ):
                limb.append(arm[left].unit)
                left, right = left - 1, right + 1
            if limb and (best is None or len(limb) > len(best.limb)):
                best = Mirrored(core=arm[index], limb=tuple(limb))
    return best


def repeats(seen: Across) -> list[Finding]:
    """The first two units that come again in the same order."""
    for arm in seen.arms:
        for first in range(len(arm) - 1):
            units = {arm[first].unit, arm[first + 1].unit}
            for second in range(first + 2, len(arm) - 1):
                pair = (arm[first].unit, arm[first + 1].unit)
                if pair != (arm[second].unit, arm[second + 1].unit):
                    # What comes back within one round is a fold's mirrored order, not a repeat.
                    if arm[second].unit in units:
                        break
                    units.add(arm[second].unit)
                    continue
                faults = [step.fault_before for step in arm[first + 1 : second + 1] if step.fault_before]
                return [UnitsRepeat(units=pair, contacts=tuple(faults))]
    return []


def by_the_ground(seen: Across) -> list[Finding]:
    """Outliers and inliers, which need neither fold nor fault."""
    return [LaidBare(unit=one.unit, within=one.within, younger=one.younger) for one in seen.outliers]


def fold_by_units(
    seen: Across, mirror: Mirrored, rank: Mapping[str, int], thicknesses: Sequence[Thickness]
) -> list[Finding]:
    """What a mirrored order makes with the dips and the way-up on both its sides."""
    middle = (mirror.core.start_m + mirror.core.end_m) / 2.0
    left = [bed for bed in seen.beds if bed.across_m < middle]
    right = [bed for bed in seen.beds if bed.across_m >= middle]
    gentle = min((abs(bed.dip_deg) for bed in seen.beds), default=0.0) < WALKED_SLOPE_DEG
    ground = gentle and not seen.heights
    order = mirror.order
    if not left or not right:
        side = seen.toward_deg(1.0 if not right else -1.0)
        return [UnitsMirrored(order=order, says=Mirror.ONE_SIDE, toward_deg=side, by_the_ground=ground)]
    older_out = rank.get(mirror.core.unit, 0) < rank.get(mirror.limb[0], 0)
    name = FormKind.SYNCLINE if older_out else FormKind.ANTICLINE
    dips = (dip_of_limb(left), dip_of_limb(right))
    if dips[0] * dips[1] <= 0.0 or min(abs(dip) for dip in dips) < LEVEL_DEG:
        return [_opposed(order, name, dips, *_by_dip(left, right, dips, mirror.core), ground=ground)]
    left, right = _by_way_up(left, right, mirror.core)
    over = (turned(left), turned(right))
    toward = seen.toward_deg(dips[0])
    if None in over and True not in over:
        need = _wanting(left, right, over)
        wanted = Mirror.WAY_UP_WANTED
        return [
            UnitsMirrored(order=order, says=wanted, toward_deg=toward, by_the_ground=ground, readings=need)
        ]
    if over[0] == over[1]:
        unlogged = Mirror.ALL_OVERTURNED if over[0] else Mirror.YOUNG_ONE_WAY
        return [UnitsMirrored(order=order, says=unlogged, toward_deg=toward, by_the_ground=ground)]
    limb = left if over[0] else right
    # Of a syncline both limbs young toward the core.
    faces = 1 if dips[0] > 0.0 else -1
    faces = -faces if over[0] else faces
    at = readings(bed for bed in limb if bed.overturned)
    if (faces == 1) != (name is FormKind.SYNCLINE):
        return [UnitsMirrored(order=order, says=Mirror.CONTRADICTED, weighed=name, readings=at)]
    return [
        OverturnedFold(
            form=StructuralForm(kind=name, overturned=True, fold=fold_of(left, right)),
            side_deg=seen.toward_deg(-1.0 if limb is left else 1.0),
            readings=readings((*left, *right)),
        ),
        UnitsMirrored(order=order, says=Mirror.OVERTURNED_LIMB, toward_deg=toward, readings=at),
        *_alike(seen, mirror, thicknesses),
    ]


def _by_way_up(left: list[Bed], right: list[Bed], core: ArmStep) -> tuple[list[Bed], list[Bed]]:
    """The limbs, where just one is overturned outside the core: a bed in the core belongs to that whose way-up it has."""
    before = [bed for bed in left if bed.across_m < core.start_m]
    after = [bed for bed in right if bed.across_m > core.end_m]
    ways = (turned(before), turned(after))
    if (ways[0] is True) == (ways[1] is True):
        return left, right
    within = [bed for bed in (*left, *right) if core.start_m <= bed.across_m <= core.end_m]
    over_left = ways[0] is True
    first = [*before, *(bed for bed in within if bed.overturned == over_left)]
    last = [*(bed for bed in within if bed.overturned != over_left), *after]
    return (first, last) if first and last else (left, right)


def _by_dip(
    left: list[Bed], right: list[Bed], dips: tuple[float, float], core: ArmStep
) -> tuple[list[Bed], list[Bed]]:
    """The limbs of a fold whose sides dip apart: a bed in the core belongs to that which dips as it does."""

    def strays(bed: Bed, own: float) -> bool:
        inside = core.start_m <= bed.across_m <= core.end_m
        return inside and abs(bed.dip_deg) >= LEVEL_DEG and bed.dip_deg * own < 0.0

    first = [bed for bed in left if not strays(bed, dips[0])]
    last = [bed for bed in right if not strays(bed, dips[1])]
    if not first or not last:
        return left, right
    return (
        [*first, *(bed for bed in right if strays(bed, dips[1]))],
        [*(bed for bed in left if strays(bed, dips[0])), *last],
    )


def _opposed(
    order: tuple[str, ...],
    name: FormKind,
    dips: tuple[float, float],
    left: list[Bed],
    right: list[Bed],
    *,
    ground: bool,
) -> UnitsMirrored:
    """Sides that dip toward each other, away from each other, or of which one lies level."""
    if any(abs(dip) < LEVEL_DEG for dip in dips):
        return UnitsMirrored(order=order, says=Mirror.LEVEL_SIDE, weighed=name, by_the_ground=ground)
    shape = FormKind.SYNFORM if dips[0] > 0.0 else FormKind.ANTIFORM
    over = readings(bed for bed in (*left, *right) if bed.overturned)
    if over:
        part = Mirror.PART_OVERTURNED
        return UnitsMirrored(
            order=order, says=part, weighed=shape, form=StructuralForm(kind=shape), readings=over
        )
    if shape.hollow == name.hollow:
        form = StructuralForm(kind=name, fold=fold_of(left, right))
        return UnitsMirrored(order=order, says=Mirror.FOLD, weighed=name, form=form)
    return UnitsMirrored(order=order, says=Mirror.REVERSED, weighed=shape)


def _wanting(
    left: list[Bed], right: list[Bed], over: tuple[bool | None, bool | None]
) -> tuple[PlaneAttitude, ...]:
    """Where way-up would tell most: the beds of the steeper limb that lacks it, nearest to the core first."""
    limbs = [limb for limb, way in ((list(reversed(left)), over[0]), (right, over[1])) if way is None]
    return tuple(bed.attitude for bed in max(limbs, key=lambda limb: abs(dip_of_limb(limb))))


def _alike(seen: Across, mirror: Mirrored, thicknesses: Sequence[Thickness]) -> list[Finding]:
    """One unit's thickness on both limbs, each by its mean over the crossings there; none where one was not crossed whole."""
    middle = (mirror.core.start_m + mirror.core.end_m) / 2.0
    for unit in mirror.limb[:-1] or mirror.limb:
        limbs: tuple[list[Thickness], list[Thickness]] = ([], [])
        for one in thicknesses:
            if one.unit == unit and not one.at_least:
                ends = [seen.contacts_m[span] for span in one.between]
                limbs[sum(ends) / 2.0 >= middle].append(one)
        if not all(limbs):
            continue
        weights = [[1.0 / max(one.sd_m, 1e-6) ** 2 for one in limb] for limb in limbs]
        thin, thick = sorted(
            float(np.average([one.true_m for one in limb], weights=weight))
            for limb, weight in zip(limbs, weights, strict=True)
        )
        sd = float(np.sqrt(sum(1.0 / sum(weight) for weight in weights)))
        return [LimbsThick(unit=unit, thin_m=thin, thick_m=thick, alike=thick - thin <= 2.0 * sd)]
    return []


def rock_between(seen: Across, left: Sequence[Bed], right: Sequence[Bed], rank: Mapping[str, int]) -> int:
    """1 where the rock between two runs of beds is the youngest, -1 where it is the oldest, 0 where that is open."""
    for arm in seen.arms:
        middle = (left[-1].across_m + right[0].across_m) / 2.0
        found = [_unit_at(arm, at) for at in (left[0].across_m, middle, right[-1].across_m)]
        if None in found:
            continue
        first, core, last = (rank.get(unit or "", -1) for unit in found)
        if min(first, core, last) < 0 or first == core == last:
            continue
        if core <= min(first, last):
            return 1
        if core >= max(first, last):
            return -1
    return 0


def _unit_at(arm: tuple[ArmStep, ...], at_m: float) -> str | None:
    return next((step.unit for step in arm if step.start_m - 1e-6 <= at_m <= step.end_m + 1e-6), None)
