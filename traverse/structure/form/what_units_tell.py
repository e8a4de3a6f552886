"""What units across the strike make together, with the beds beside them: mirrored orders, repeats, what the ground lays bare.

A name with an age (syncline, anticline) needs the order of the units, an overturned limb way-up. What is missing is said.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from itertools import chain, product, zip_longest

import numpy as np

from traverse.angle import axial_difference, mean_axis
from traverse.record import record
from traverse.settled import SAME_M, settled
from traverse.structure.form.limbs import (
    LIMB_BEDS,
    dip_of_limb,
    faces_apart,
    fold_of,
    readings,
    side_of_limb,
    turned,
)
from traverse.structure.form.records import (
    Finding,
    FormKind,
    LaidBare,
    Level,
    LimbsThick,
    Mirror,
    Other,
    OverturnedFold,
    Runs,
    StructuralForm,
    UnitsMirrored,
    UnitsRepeat,
)
from traverse.structure.readings.records import PlacedContact, PlaneAttitude, strike_sd_deg
from traverse.structure.thickness.records import Thickness
from traverse.structure.walk.across import Across, between
from traverse.structure.walk.arms import ArmStep
from traverse.structure.walk.beds import Bed, listed_places, place_words
from traverse.trade import ALONG_STRIKE_DEG, SURE_SD, WALKED_SLOPE_DEG


@record(frozen=True, slots=True, kw_only=True)
class Mirrored:
    """Units that come back in mirrored order."""

    core: ArmStep
    limb: tuple[str, ...]
    """From the core outward."""
    borders: tuple[PlacedContact, ...] = ()
    """Contacts of the core with its limbs."""

    @property
    def order(self) -> tuple[str, ...]:
        """As they are met."""
        return (*reversed(self.limb), self.core.unit, *self.limb)


def mirrored(seen: Across) -> Mirrored | None:
    """The deepest mirrored order on any arm; a fault between two units ends it."""
    best: Mirrored | None = None
    for arm in seen.arms:
        for index in range(1, len(arm) - 1):
            borders = seen.borders(arm, index)
            if arm[index - 1].unit == arm[index + 1].unit and seen.is_one_contact(borders):
                # Walked along, or met on the way out and on the way back.
                continue
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
                best = Mirrored(core=arm[index], limb=tuple(limb), borders=borders)
    return best


def _came_back(steps: Sequence[ArmStep]) -> bool:
    """Whether the walk went over one fault and back over it: it is on the same side again."""
    faults = [step.fault_before for step in steps if step.fault_before is not None]
    crossed = Counter(id(one) if one.of_fault is None else one.of_fault for one in faults)
    return bool(faults) and all(times % 2 == 0 for times in crossed.values())


def repeats(seen: Across, hinges_m: Sequence[float] = ()) -> list[Finding]:
    """The first two units that come again in the same order, as they were walked.

    `hinges_m` are how far across the strike folds were found that the dips show. Two of them, or four, bring a limb's order
    back, and nothing is asked where they lie between.
    """
    for arm in (_as_walked(seen, one) for one in seen.arms):
        for first in range(len(arm) - 1):
            units = {arm[first].unit, arm[first + 1].unit}
            for second in range(first + 2, len(arm) - 1):
                pair = (arm[first].unit, arm[first + 1].unit)
                if len(units) < 2:
                    # One unit on both sides of a fault is no order.
                    break
                if pair != (arm[second].unit, arm[second + 1].unit):
                    # What comes back within one round is a fold's mirrored order, not a repeat.
                    if arm[second].unit in units:
                        break
                    units.add(arm[second].unit)
                    continue
                if _came_back(arm[first + 1 : second + 1]):
                    continue
                faults = [step.fault_before for step in arm[first + 1 : second + 1] if step.fault_before]
                if faults:
                    return [_over_faults(seen, arm, first, second, faults)]
                borders = (seen.border(arm, first + 1), seen.border(arm, second + 1))
                met = tuple(one for one in borders if one is not None)
                if seen.is_one_contact(met):
                    continue
                low, high = sorted((arm[first].end_m, arm[second].end_m))
                folds = sum(low < hinge < high for hinge in hinges_m)
                if folds and folds % 2 == 0:
                    continue
                bare = next((at for at in range(first + 1, second + 2) if seen.border(arm, at) is None), None)
                look = f"the ground {between(met)}" if met else None
                if bare is not None:
                    look = (
                        f"the ground between {arm[bare - 1].unit} and {arm[bare].unit}, where no contact fits"
                    )
                return [
                    UnitsRepeat(
                        units=pair,
                        contacts=met,
                        level=Level.POSSIBLE,
                        others=(Other.FAULT, Other.TWO_FOLDS),
                        decides=look,
                    )
                ]
    return []


def _over_faults(
    seen: Across, arm: Sequence[ArmStep], first: int, second: int, faults: Sequence[PlacedContact]
) -> UnitsRepeat:
    """A pair that comes again over logged faults, with how these run by the strike of the beds on the way."""
    ends = [end for step in arm[first : second + 2] for end in (step.start_m, step.end_m)]
    beds = [bed for bed in seen.beds if min(ends) - SAME_M <= bed.across_m <= max(ends) + SAME_M]
    told = readings(bed for bed in beds if bed.attitude.strike_known)
    runs, beds_deg, fault_deg = runs_of(told, faults)
    borders = (seen.border(arm, first + 1), *faults, seen.border(arm, second + 1))
    return UnitsRepeat(
        units=(arm[first].unit, arm[first + 1].unit),
        faults=tuple({id(one): one for one in faults}.values()),
        runs=runs,
        beds_strike_deg=beds_deg,
        fault_strike_deg=fault_deg,
        readings=() if runs is Runs.OPEN else told,
        contacts=tuple({id(one): one for one in borders if one is not None}.values()),
        level=Level.OBSERVED if runs is Runs.OPEN else Level.FOLLOWS,
    )


def runs_of(
    beds: Sequence[PlaneAttitude], faults: Sequence[PlacedContact]
) -> tuple[Runs, float | None, float | None]:
    """How faults run by the strike of beds, and the two strikes.

    Near to it, or to square across, and within two standard errors surely nearer to that than to the other. The strike of a
    plane is off by the error of its pole over sin(dip); that of turning beds by as much as they turn.
    """
    planes = [one.surface for one in faults if one.surface is not None]
    cuts = [(one.strike_deg, one.sd_deg, one.dip_deg) for one in planes if one.strike_deg is not None]
    if not beds or len(cuts) < len(faults):
        return Runs.OPEN, None, None
    strike, _ = mean_axis([bed.strike_deg for bed in beds])
    own_deg2 = [strike_sd_deg(bed.sd_deg, bed.dip_deg) ** 2 for bed in beds]
    off_deg = [axial_difference(bed.strike_deg, strike) for bed in beds]
    turns_deg2 = max(0.0, (sum(off**2 for off in off_deg) - sum(own_deg2)) / len(beds))
    beds_deg2 = sum(own_deg2) / len(beds) ** 2 + turns_deg2
    found = set()
    for cut, sd_deg, dip_deg in cuts:
        apart = axial_difference(cut, strike)
        unsure = 2.0 * math.sqrt(beds_deg2 + strike_sd_deg(sd_deg, dip_deg) ** 2)
        near = min(apart, 90.0 - apart)
        sure = settled(near - ALONG_STRIKE_DEG, 6) <= 0.0 and settled(near + unsure - 45.0, 6) <= 0.0
        found.add((Runs.ALONG if apart < 45.0 else Runs.ACROSS) if sure else Runs.OPEN)
    way, _ = mean_axis([cut for cut, _, _ in cuts])
    return found.pop() if len(found) == 1 else Runs.OPEN, strike, way


def _as_walked(seen: Across, arm: tuple[ArmStep, ...]) -> tuple[ArmStep, ...]:
    """An arm from the end that was walked first, so that no direction of the compass tells which unit is named first."""
    met = [one for one in (seen.border(arm, index) for index in range(1, len(arm))) if one is not None]
    if len(met) < 2 or met[0].order <= met[-1].order:
        return arm
    faults = [*(step.fault_before for step in arm[1:]), None]
    return tuple(
        replace(step, start_m=step.end_m, end_m=step.start_m, fault_before=fault, ground=step.ground[::-1])
        for step, fault in zip(arm[::-1], faults[::-1], strict=True)
    )


def by_the_ground(seen: Across) -> list[Finding]:
    """Outliers and inliers, which need neither fold nor fault."""
    return [
        LaidBare(
            unit=one.unit,
            within=one.within,
            younger=one.younger,
            readings=readings(seen.beds),
            level=Level.FOLLOWS,
        )
        for one in seen.outliers
    ]


def fold_by_units(
    seen: Across, mirror: Mirrored, rank: Mapping[str, int], thicknesses: Sequence[Thickness]
) -> list[Finding]:
    """What a mirrored order makes with the dips and the way-up on both its sides."""
    middle = (mirror.core.start_m + mirror.core.end_m) / 2.0
    # A bed right at the middle lies on neither side.
    left = [bed for bed in seen.beds if bed.across_m < middle - SAME_M]
    right = [bed for bed in seen.beds if bed.across_m > middle + SAME_M]
    gentle = min((abs(bed.dip_deg) for bed in seen.beds), default=0.0) < WALKED_SLOPE_DEG
    ground = gentle and not seen.heights
    order, borders = mirror.order, mirror.borders
    body = seen.unsaid.get(mirror.core.unit) if len(mirror.limb) == 1 else None
    not_excluded = (*((Other.BODY,) if body else ()), *((Other.GROUND,) if ground else ()))

    def said(
        says: Mirror,
        *others: Other,
        named: Sequence[PlaneAttitude] = (),
        decides: str | None = None,
        toward_deg: float | None = None,
        weighed: FormKind | None = None,
    ) -> UnitsMirrored:
        return UnitsMirrored(
            order=order,
            says=says,
            readings=readings(seen.beds),
            contacts=borders,
            named=tuple(named),
            level=Level.POSSIBLE,
            others=(*others, *not_excluded),
            decides=decides,
            toward_deg=toward_deg,
            weighed=weighed,
            by_the_ground=ground,
            body=body,
        )

    if body is not None and body.likely:
        return [said(Mirror.BODY, Other.FOLD, Other.FAULT, decides=f"the borders of {body.unit}")]
    if not left or not right:
        side = seen.toward_deg(1.0 if not right else -1.0)
        return [said(Mirror.ONE_SIDE, Other.FOLD, Other.FAULT, toward_deg=side)]
    older_out = rank.get(mirror.core.unit, 0) < rank.get(mirror.limb[0], 0)
    name = FormKind.SYNCLINE if older_out else FormKind.ANTICLINE
    if not all(any(bed.sided for bed in side) for side in (left, right)):
        need = readings(bed for bed in (*left, *right) if not bed.sided)
        return [said(Mirror.UPRIGHT, Other.FOLD, Other.FAULT, named=need, decides=listed_places(need))]
    if any(bed.overturned for bed in (*left, *right)):
        left, right = _by_way_up(left, right, mirror.core)
    turns = (turned(left), turned(right))
    dips = (dip_of_limb(left), dip_of_limb(right))
    if (turns[0] is True) == (turns[1] is True):
        ends = _by_dip(left, right, dips, mirror.core) if dips[0] * dips[1] < 0.0 else (left, right)
        sides = (side_of_limb(ends[0]), side_of_limb(ends[1]))
        if 0 in sides:
            dips_to = {bed.dip_deg > 0.0 for bed in (*left, *right) if bed.dips}
            over = any(bed.overturned for bed in (*left, *right))
            if len(dips_to) == 1 and not over and sides != (0, 0):
                # A fold's other limb would dip the other way: a slope between two gentle ones brings units back as well.
                way_deg = seen.toward_deg(1.0 if True in dips_to else -1.0)
                return [said(Mirror.ONE_SLOPE, Other.FOLD, Other.FAULT, toward_deg=way_deg)]
            return [said(Mirror.LEVEL_SIDE, Other.FOLD, Other.FAULT, weighed=name)]
        if sides[0] != sides[1]:
            return [_opposed(said, name, *ends, borders=borders)]
    one_way = side_of_limb([*left, *right])
    toward = seen.toward_deg(one_way) if one_way else None
    if None in turns and True not in turns:
        need = _wanting(left, right, turns)
        where = " or ".join(list(dict.fromkeys(place_words(bed) for bed in need))[:2])
        return [
            said(
                Mirror.WAY_UP_WANTED,
                Other.FOLD,
                Other.FAULT,
                toward_deg=toward,
                named=need,
                decides=f"way-up at {where}",
            )
        ]
    if turns[0] == turns[1]:
        unlogged = Mirror.ALL_OVERTURNED if turns[0] else Mirror.YOUNG_ONE_WAY
        gap = f"the ground {between(borders)}" if borders else None
        return [said(unlogged, Other.FAULT, toward_deg=toward, decides=gap)]
    limb = left if turns[0] else right
    at = readings(bed for bed in limb if bed.overturned)
    if faces_apart(left, right) != (name is FormKind.ANTICLINE):
        return [
            said(
                Mirror.CONTRADICTED,
                Other.READING,
                Other.LIST,
                weighed=name,
                named=at,
                decides=f"way-up at {listed_places(at)}",
            )
        ]
    return [
        OverturnedFold(
            form=StructuralForm(kind=name, overturned=True, fold=fold_of(left, right)),
            side_deg=seen.toward_deg(-1.0 if limb is left else 1.0),
            readings=readings((*left, *right)),
            contacts=borders,
            level=Level.FOLLOWS,
        ),
        UnitsMirrored(
            order=order,
            says=Mirror.OVERTURNED_LIMB,
            toward_deg=toward,
            readings=readings((*left, *right)),
            contacts=borders,
            named=at,
        ),
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
        return inside and bed.dips and bed.dip_deg * own < 0.0

    first = [bed for bed in left if not strays(bed, dips[0])]
    last = [bed for bed in right if not strays(bed, dips[1])]
    if not first or not last:
        return left, right
    return (
        [*first, *(bed for bed in right if strays(bed, dips[1]))],
        [*(bed for bed in left if strays(bed, dips[0])), *last],
    )


def _opposed(
    said: Callable[..., UnitsMirrored],
    name: FormKind,
    left: list[Bed],
    right: list[Bed],
    *,
    borders: tuple[PlacedContact, ...],
) -> UnitsMirrored:
    """Sides that dip toward each other or away from each other."""
    shape = FormKind.SYNFORM if side_of_limb(left) > 0 else FormKind.ANTIFORM
    over = readings(bed for bed in (*left, *right) if bed.overturned)
    if not over and shape.hollow != name.hollow:
        where = listed_places(readings([left[-1], right[0]]))
        return said(
            Mirror.REVERSED, Other.UPSIDE_DOWN, Other.LIST, weighed=shape, decides=f"way-up at {where}"
        )
    small = [side for side in (left, right) if sum(bed.dips for bed in side) < LIMB_BEDS]
    twice = [readings(bed for bed in side if bed.dips and bed.attitude.read_twice) for side in small]
    few = [side for side, own in zip(small, twice, strict=True) if not own]
    if few:
        alone = readings(bed for bed in few[0] if bed.dips)
        return said(
            Mirror.FEW, Other.READING, Other.FAULT, weighed=shape, named=alone, decides=listed_places(alone)
        )
    kind = shape if over else name
    form = StructuralForm(kind=kind) if over else StructuralForm(kind=kind, fold=fold_of(left, right))
    return UnitsMirrored(
        order=said(Mirror.FOLD).order,
        says=Mirror.PART_OVERTURNED if over else Mirror.FOLD,
        weighed=kind,
        form=form,
        readings=readings((*left, *right)),
        contacts=borders,
        named=over,
        level=Level.FOLLOWS,
        twice=tuple(chain.from_iterable(twice)),
    )


def _wanting(
    left: list[Bed], right: list[Bed], over: tuple[bool | None, bool | None]
) -> tuple[PlaneAttitude, ...]:
    """Where way-up would tell most: the beds of the steeper limb that lacks it, nearest to the core first; of limbs as steep both."""
    limbs = [limb for limb, way in ((list(reversed(left)), over[0]), (right, over[1])) if way is None]
    dips = [settled(abs(dip_of_limb(limb)), 3) for limb in limbs]
    steep = [limb for limb, dip in zip(limbs, dips, strict=True) if dip == max(dips)]
    found: list[PlaneAttitude] = []
    for near in zip_longest(*steep):
        found += readings(bed for bed in near if bed is not None)
    return tuple(found)


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
        if 2.0 * sd < thick - thin <= SURE_SD * sd:
            # Neither alike nor surely apart.
            return []
        return [
            LimbsThick(
                unit=unit,
                thin_m=thin,
                thick_m=thick,
                alike=thick - thin <= 2.0 * sd,
                means=max(map(len, limbs)) > 1,
                contacts=tuple(
                    one
                    for one in seen.contacts
                    if any(one.booked.span in thick.between for limb in limbs for thick in limb)
                ),
            )
        ]
    return []


def rock_between(seen: Across, left: Sequence[Bed], right: Sequence[Bed], rank: Mapping[str, int]) -> int:
    """1 where the rock between two runs of beds is the youngest, -1 where it is the oldest, 0 where that is open.

    Open too where a contact lies half-way between them: it bounds the rock on both its sides. Of each arm what lies between
    the faults about the middle counts, as far as the runs go.
    """
    middle = (left[-1].across_m + right[0].across_m) / 2.0
    for whole in seen.arms:
        arm = _unfaulted(whole, middle)
        if not arm:
            continue
        ends = (max(left[0].across_m, arm[0].start_m), min(right[-1].across_m, arm[-1].end_m))
        found = [_units_at(arm, at) for at in (ends[0], middle, ends[1])]
        # At a contact both its units lie, and what only one of them says is open.
        says = {_youngest_between(*(rank.get(unit, -1) for unit in units)) for units in product(*found)}
        if len(says) == 1 and 0 not in says:
            return says.pop()
    return 0


def _unfaulted(arm: tuple[ArmStep, ...], at_m: float) -> tuple[ArmStep, ...]:
    """The steps of an arm about a distance, up to the next fault on each side; none where the arm does not reach it."""
    parts: list[list[ArmStep]] = []
    for step in arm:
        if step.fault_before is not None or not parts:
            parts.append([])
        parts[-1].append(step)
    return next((tuple(part) for part in parts if part[0].start_m <= at_m <= part[-1].end_m), ())


def _youngest_between(first: int, core: int, last: int) -> int:
    """1 where the middle one of three units, by rank, is the youngest, -1 where the oldest, else 0."""
    if min(first, core, last) < 0 or first == core == last:
        return 0
    return 1 if core <= min(first, last) else -1 if core >= max(first, last) else 0


def _units_at(arm: tuple[ArmStep, ...], at_m: float) -> list[str]:
    return [step.unit for step in arm if step.start_m - SAME_M <= at_m <= step.end_m + SAME_M]
