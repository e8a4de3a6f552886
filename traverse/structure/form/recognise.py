"""What beds and units across the strike make together: folds, panels, repeats; each with its evidence.

Nothing is named from poles alone: a form (synform, antiform) needs positions, a name with an age (syncline, anticline)
the order of the units or way-up on both limbs, an overturned limb way-up. What is missing is said.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from traverse.angle import mean_azimuth, nearest_point, wrap_180
from traverse.record import record
from traverse.structure.form.limbs import angle_words, fold_of
from traverse.structure.form.records import Fold
from traverse.structure.readings.vectors import Vectors
from traverse.structure.thickness.records import Thickness
from traverse.structure.walk.across import Across, address_words
from traverse.structure.walk.arms import Step
from traverse.structure.walk.beds import Bed
from traverse.structure.words import article, listed
from traverse.trade import (
    ALIKE_DEG,
    ALL_ROUND_DEG,
    GENTLE_DEG,
    LEVEL_DEG,
    PANEL_DEG,
    STEEPENS,
    WALKED_SLOPE_DEG,
)

POINT_WORDS = {
    "N": "north",
    "NE": "north-east",
    "E": "east",
    "SE": "south-east",
    "S": "south",
    "SW": "south-west",
    "W": "west",
    "NW": "north-west",
}


@record(frozen=True, slots=True, kw_only=True)
class _Mirror:
    """Units that come back in mirrored order."""

    core: Step
    limb: tuple[str, ...]
    """From the core outward."""

    @property
    def order(self) -> str:
        """As they are met."""
        return ", ".join([*reversed(self.limb), self.core.unit, *self.limb])


class Said(NamedTuple):
    """A sentence, and the form that it states; None where it only weighs one, or states none."""

    text: str
    form: str | None = None
    fold: Fold | None = None


def recognised(seen: Across, rank: Mapping[str, int], thicknesses: Sequence[Thickness]) -> tuple[Said, ...]:
    """Sentences on the form of the beds, the best founded first."""
    said = [*_repeats(seen), *_by_the_ground(seen)]
    around = _all_round(seen.beds)
    if around is not None:
        # A walk round it crosses its units out and back, which is no repeat.
        return (around,)
    mirror = _mirror(seen)
    if mirror is not None and not _turns_again(seen.beds):
        return (*_mirrored(seen, mirror, rank, thicknesses), *said)
    lone = _lone(seen.beds)
    if lone:
        seen = replace(seen, beds=tuple(bed for bed in seen.beds if not any(bed is one for one in lone)))
        said.append(_against(lone))
    dipping = [bed for bed in seen.beds if abs(bed.dip_deg) >= LEVEL_DEG]
    if len({bed.dip_deg > 0.0 for bed in dipping}) > 1:
        return (*_reversals(seen, dipping, rank), *said)
    if not dipping:
        return tuple(said)
    form = _one_way(seen, dipping)
    return (*((form,) if form else ()), *said)


# --- units


def _mirror(seen: Across) -> _Mirror | None:
    """The deepest mirrored order on any arm; a fault between two units ends it."""
    best: _Mirror | None = None
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
                best = _Mirror(core=arm[index], limb=tuple(limb))
    return best


def _repeats(seen: Across) -> list[Said]:
    """Units that come again in the same order."""
    told: list[str] = []
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
                here = " and ".join(pair)
                where = dict.fromkeys(address_words(fault.booked.address) for fault in faults)
                told.append(
                    f"{here} come again in the same order across the fault {' and '.join(where)}: "
                    "repeated by the fault."
                    if faults
                    else f"{here} come again in the same order: a fault between them that is not logged, "
                    "or two folds."
                )
                break
    return [Said(one) for one in dict.fromkeys(told)][:1]


def _by_the_ground(seen: Across) -> list[Said]:
    """Outliers and inliers, which need neither fold nor fault."""
    return [
        Said(
            f"{one.unit} comes again on {one.within}, as an outlier: the ground rises through beds that keep their dip."
            if one.younger
            else f"{one.unit} comes again under {one.within}, as an inlier: the ground falls through beds that keep their dip."
        )
        for one in seen.outliers
    ]


def _mirrored(
    seen: Across, mirror: _Mirror, rank: Mapping[str, int], thicknesses: Sequence[Thickness]
) -> list[Said]:
    middle = (mirror.core.start_m + mirror.core.end_m) / 2.0
    left = [bed for bed in seen.beds if bed.across_m < middle]
    right = [bed for bed in seen.beds if bed.across_m >= middle]
    head = f"Units in mirrored order ({mirror.order})"
    gentle = min((abs(bed.dip_deg) for bed in seen.beds), default=0.0) < WALKED_SLOPE_DEG
    ground = ", or the ground, whose heights were not measured" if gentle and not seen.heights else ""
    if not left or not right:
        side = _toward(seen, 1.0 if not right else -1.0)
        return [Said(f"{head}: a fold or a fault{ground}; no bed was measured on its {side} side.")]
    name = "syncline" if rank.get(mirror.core.unit, 0) < rank.get(mirror.limb[0], 0) else "anticline"
    dips = (_mean_dip(left), _mean_dip(right))
    if dips[0] * dips[1] <= 0.0 or min(abs(dip) for dip in dips) < LEVEL_DEG:
        return _opposed(head, name, dips, *_by_dip(left, right, dips, mirror.core), ground)
    left, right = _by_way_up(left, right, mirror.core)
    turned = (_way(left), _way(right))
    toward = POINT_WORDS[nearest_point(seen.azimuth_deg + (0.0 if dips[0] > 0.0 else 180.0), points=8)]
    unlogged = f"a fault that is not logged{ground}{';' if ground else ','} not a fold"
    if None in turned and True not in turned:
        need = _wanting(left, right, turned)
        return [Said(f"{head}, all beds dip {toward}: a fold or a fault{ground}; way-up needed at {need}.")]
    if turned == (False, False):
        words = f"{head}, yet beds dip and young one way, {toward}: {unlogged}."
        return [Said(words)]
    overturned = [side for side, over in zip((left, right), turned, strict=True) if over]
    if len(overturned) == 2:
        words = f"{head}, all beds dip {toward} and are overturned: {unlogged}."
        return [Said(words)]
    # Of a syncline both limbs young toward the core.
    faces = 1 if dips[0] > 0.0 else -1
    faces = -faces if turned[0] else faces
    at = listed(_places(_booked(bed for bed in overturned[0] if bed.overturned)))
    if (faces == 1) != (name == "syncline"):
        words = f"{head}, but the way-up at {at} says the reverse of the order of units: look at both again."
        return [Said(words)]
    side = _toward(seen, -1.0 if overturned[0] is left else 1.0)
    fold = fold_of(left, right)
    return [
        Said(
            f"An overturned {name}, its overturned limb on the {side}: {angle_words(fold)}.",
            f"overturned {name}",
            fold,
        ),
        Said(f"{head}, all beds dip {toward}, overturned at {at}."),
        *_alike(seen, mirror, thicknesses),
    ]


def _by_way_up(left: list[Bed], right: list[Bed], core: Step) -> tuple[list[Bed], list[Bed]]:
    """The limbs, where just one is overturned outside the core: a bed in the core belongs to that whose way-up it has."""
    before = [bed for bed in left if bed.across_m < core.start_m]
    after = [bed for bed in right if bed.across_m > core.end_m]
    ways = (_way(before), _way(after))
    if (ways[0] is True) == (ways[1] is True):
        return left, right
    within = [bed for bed in (*left, *right) if core.start_m <= bed.across_m <= core.end_m]
    over_left = ways[0] is True
    first = [*before, *(bed for bed in within if bed.overturned == over_left)]
    last = [*(bed for bed in within if bed.overturned != over_left), *after]
    return (first, last) if first and last else (left, right)


def _by_dip(
    left: list[Bed], right: list[Bed], dips: tuple[float, float], core: Step
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
    head: str, name: str, dips: tuple[float, float], left: list[Bed], right: list[Bed], ground: str
) -> list[Said]:
    level = [abs(dip) < LEVEL_DEG for dip in dips]
    if any(level):
        words = (
            f"{head}, one side level: {article(name)} by the order of units{ground}; one limb hardly dips."
        )
        return [Said(words)]
    form = "synform" if dips[0] > 0.0 else "antiform"
    together = "toward each other" if form == "synform" else "away from each other"
    over = _places(_booked(bed for bed in (*left, *right) if bed.overturned))
    if (form == "synform") == (name == "syncline") and not over:
        fold = fold_of(left, right)
        return [Said(f"{head}, beds dip {together}: {article(name)}; {angle_words(fold)}.", name, fold)]
    if over:
        words = f"{head}, beds dip {together}, overturned at {listed(over)}: {article(form)}, upside down in part."
        return [Said(words, form)]
    core = "oldest" if form == "synform" else "youngest"
    return [
        Said(
            f"{head}, beds dip {together}: {article(form)} with the {core} unit in its core; either the beds are upside "
            "down, or the list of units is: way-up needed."
        )
    ]


def _alike(seen: Across, mirror: _Mirror, thicknesses: Sequence[Thickness]) -> list[Said]:
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
        means = [
            float(np.average([one.true_m for one in limb], weights=weight))
            for limb, weight in zip(limbs, weights, strict=True)
        ]
        thin, thick = sorted(means)
        sd = float(np.sqrt(sum(1.0 / sum(weight) for weight in weights)))
        if thick - thin <= 2.0 * sd:
            extent = " to ".join(dict.fromkeys((f"{thin:.0f} m", f"{thick:.0f} m")))
            return [
                Said(
                    f"{unit} is {extent} thick on both limbs, alike within the errors, as a fold has it; a fault repeat "
                    "would not need it."
                )
            ]
        return [
            Said(
                f"{unit} is {thin:.0f} m thick on one limb, {thick:.0f} m on the other, more apart than the errors."
            )
        ]
    return []


# --- beds


def _turns_again(beds: Sequence[Bed]) -> bool:
    """Whether upright beds turn round more than once: each fold is then told by its own limbs."""
    lone = _lone(beds)
    dipping = [bed for bed in beds if abs(bed.dip_deg) >= LEVEL_DEG and not any(bed is one for one in lone)]
    if any(bed.overturned for bed in dipping):
        return False
    turns = sum(one.dip_deg * other.dip_deg < 0.0 for one, other in pairwise(dipping))
    return turns > 1


def _lone(beds: Sequence[Bed]) -> list[Bed]:
    """Beds that dip the other way between two that agree: one reading makes no limb."""
    dipping = [bed for bed in beds if abs(bed.dip_deg) >= LEVEL_DEG and not bed.overturned]
    return [
        bed
        for before, bed, after in zip(dipping, dipping[1:], dipping[2:], strict=False)
        if bed.dip_deg * before.dip_deg < 0.0
        and bed.dip_deg * after.dip_deg < 0.0
        and abs(before.dip_deg - after.dip_deg) <= ALIKE_DEG
    ]


def _against(lone: Sequence[Bed]) -> Said:
    where = listed(_places(_booked(lone)))
    if len(lone) == 1:
        return Said(
            f"One bed, at {where}, dips against those on both sides, which agree: a small fold, a fault, or a reading to look "
            "at again."
        )
    return Said(
        f"Beds at {where} each dip against those on both sides, which agree: small folds, faults, or readings to look at "
        "again."
    )


def _one_way(seen: Across, dipping: list[Bed]) -> Said | None:
    """Beds that dip to one side only."""
    over = [bed for bed in dipping if bed.overturned]
    known = [bed for bed in dipping if bed.known and not bed.overturned]
    if over and known:
        return Said(
            f"Beds are overturned at {listed(_places(_booked(over)))} and upright at {listed(_places(_booked(known)))}, all dip one way: a "
            "fold between them, or a fault; no order of units tells which."
        )
    if len(seen.beds) < 3:
        return None
    tail = "" if any(bed.known for bed in seen.beds) else "; way-up not seen"
    if over:
        return (
            None if len(over) < len(dipping) else Said(f"All beds are overturned: one limb of a fold{tail}.")
        )
    dips = np.array([bed.attitude.dip_deg for bed in seen.beds])
    top = int(dips.argmax())
    gentle = [float(end.min()) if len(end) else np.inf for end in (dips[:top], dips[top + 1 :])]
    if max(gentle) <= min(dips[top] / 2.0, dips[top] - PANEL_DEG):
        first, last = seen.beds[0], seen.beds[-1]
        steep = int((dips >= max(gentle) + PANEL_DEG).sum())
        held = "" if steep > 1 else ", if the one steep reading holds"
        return Said(
            f"Flat, steep, flat with one dip direction and no reversal ({dips[0]:.0f}° at {first.where}, "
            f"{dips[top]:.0f}° at {seen.beds[top].where}, {dips[-1]:.0f}° at {last.where}): a monocline{held}{tail}.",
            None if held else "monocline",
        )
    if dips.max() - dips.min() >= PANEL_DEG:
        return _steepening(seen, dips)
    ways = [bed.attitude.dip_direction_deg for bed in dipping]
    mean = mean_azimuth(ways)[0]
    if dips.max() <= GENTLE_DEG or max(abs(wrap_180(way - mean)) for way in ways) > 30.0:
        return None
    extent = " to ".join(dict.fromkeys(f"{dip:.0f}°" for dip in (dips.min(), dips.max())))
    return Said(
        f"One panel of even dip, {extent}: a homocline as far as it was walked; no limb of a fold seen{tail}."
    )


def _steepening(seen: Across, dips: Vectors) -> Said | None:
    where = np.array([bed.across_m for bed in seen.beds])
    if np.ptp(where) <= 0.0:
        return None
    along = float(np.corrcoef(where, dips)[0, 1])
    if abs(along) < STEEPENS:
        return None
    order = list(seen.beds) if along > 0.0 else list(reversed(seen.beds))
    toward = _toward(seen, along)
    gentlest = min(order[: max(1, len(order) // 2)], key=lambda bed: abs(bed.dip_deg))
    steep = max(order, key=lambda bed: abs(bed.dip_deg))
    return Said(
        f"Beds steepen toward the {toward}, from {gentlest.attitude.dip_deg:.0f}° at {gentlest.where} to "
        f"{steep.attitude.dip_deg:.0f}° at {steep.where}, without a reversal: a steepening panel; the other limb is not seen."
    )


def _reversals(seen: Across, dipping: list[Bed], rank: Mapping[str, int]) -> list[Said]:
    """Forms at which the dip turns round, from beds that are not overturned."""
    upright = [bed for bed in dipping if not bed.overturned]
    runs: list[list[Bed]] = []
    for bed in upright:
        if runs and (runs[-1][-1].dip_deg > 0.0) == (bed.dip_deg > 0.0):
            runs[-1].append(bed)
        else:
            runs.append([bed])
    if len(runs) > 5:
        times = len(runs) - 1
        return [
            Said(
                f"The dip turns round {times} times across the walk: small folds, or readings to look at again."
            )
        ]
    said: list[Said] = []
    for left, right in pairwise(runs):
        form = "synform" if left[-1].dip_deg > 0.0 else "antiform"
        together = "toward each other" if form == "synform" else "away from each other"
        head = f"Beds dip {together} between {left[-1].where} and {right[0].where}"
        aged = "syncline" if form == "synform" else "anticline"
        core = _core(seen, left, right, rank)
        both = all(any(bed.known for bed in side) for side in (left, right))
        fold = fold_of(left, right)
        if core == (1 if form == "synform" else -1):
            word = "younger" if form == "synform" else "older"
            said.append(
                Said(f"{head}, with {word} rock between: {article(aged)}; {angle_words(fold)}.", aged, fold)
            )
        elif core:
            said.append(
                Said(
                    f"{head}, but the rock between is the wrong way about for {article(aged)}: way-up needed."
                )
            )
        elif both:
            words = f"{head} and way-up is seen on both sides: {article(aged)}; {angle_words(fold)}."
            said.append(Said(words, aged, fold))
        else:
            words = f"{head}: {article(form)}; no order of units across it, nor way-up on both limbs, tells its age."
            said.append(Said(words, form, fold))
    return said


def _core(seen: Across, left: list[Bed], right: list[Bed], rank: Mapping[str, int]) -> int:
    """1 where the rock between two runs of beds is the youngest, -1 where it is the oldest, 0 where that is open."""
    for arm in seen.arms:
        middle = (left[-1].across_m + right[0].across_m) / 2.0
        found = [_step_at(arm, at) for at in (left[0].across_m, middle, right[-1].across_m)]
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


def _step_at(arm: tuple[Step, ...], at_m: float) -> str | None:
    return next((step.unit for step in arm if step.start_m - 1e-6 <= at_m <= step.end_m + 1e-6), None)


def _all_round(beds: Sequence[Bed]) -> Said | None:
    """Dome or basin: dips all away from the middle, or all toward it, with beds on every side."""
    dipping = [bed.attitude for bed in beds if bed.attitude.dip_deg >= LEVEL_DEG and not bed.overturned]
    if len(dipping) < 5:
        return None
    where = np.array([(bed.place.east_m, bed.place.north_m) for bed in dipping])
    out = where - (where.min(axis=0) + where.max(axis=0)) / 2.0
    bearing = np.degrees(np.arctan2(out[:, 0], out[:, 1]))
    sides = np.sort(bearing % 360.0)
    gaps = np.diff(np.append(sides, sides[0] + 360.0))
    if gaps.max() > ALL_ROUND_DEG:
        return None
    ways = np.array([bed.dip_direction_deg for bed in dipping])
    apart = np.abs((ways - bearing + 180.0) % 360.0 - 180.0)
    if np.all(apart <= 60.0):
        return Said(f"Beds at {len(dipping)} places all round dip away from the middle: a dome.", "dome")
    if np.all(apart >= 120.0):
        return Said(f"Beds at {len(dipping)} places all round dip toward the middle: a basin.", "basin")
    return None


# --- figures and words


def _mean_dip(beds: Sequence[Bed]) -> float:
    return float(np.mean([bed.dip_deg for bed in beds]))


def _way(beds: Sequence[Bed]) -> bool | None:
    """Whether a limb is overturned; None where way-up was seen nowhere on it, or is told both ways."""
    told = {bed.overturned for bed in beds if bed.known}
    return told.pop() if len(told) == 1 else None


def _wanting(left: list[Bed], right: list[Bed], turned: tuple[bool | None, bool | None]) -> str:
    """Where way-up would tell most: on the steeper limb that lacks it, nearest to the core."""
    limbs = [limb for limb, way in ((list(reversed(left)), turned[0]), (right, turned[1])) if way is None]
    steeper = max(limbs, key=lambda limb: abs(_mean_dip(limb)))
    return " or ".join(_places(steeper)[:2])


def _toward(seen: Across, sense: float) -> str:
    return POINT_WORDS[nearest_point(seen.azimuth_deg + (0.0 if sense > 0.0 else 180.0), points=8)]


def _places(beds: Iterable[Bed]) -> list[str]:
    """Where beds were read, in the order given."""
    return list(dict.fromkeys(bed.where for bed in beds))


def _booked(beds: Iterable[Bed]) -> list[Bed]:
    """In the order of the log."""
    return sorted(beds, key=lambda bed: bed.attitude.span.line)
