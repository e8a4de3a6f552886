"""What beds across the strike make by their dips and way-up: panels, reversals, domes.

Nothing is named from poles alone: a form (synform, antiform) needs positions, a name with an age (syncline, anticline)
the rock between or way-up on both limbs.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise, takewhile

import numpy as np

from traverse.angle import mean_azimuth, wrap_180
from traverse.settled import settled
from traverse.structure.form.limbs import (
    LIMB_BEDS,
    dip_of_limb,
    faces_apart,
    fold_of,
    parted_by_way_up,
    readings,
)
from traverse.structure.form.records import (
    Against,
    AllRound,
    DipTurns,
    EvenDip,
    Finding,
    Flexed,
    FoldAge,
    FormKind,
    Level,
    ManyTurns,
    OneOverturnedLimb,
    Other,
    OverturnedFold,
    Steepening,
    StructuralForm,
    TurnedBetween,
)
from traverse.structure.form.what_units_tell import rock_between
from traverse.structure.readings.directions import Vectors
from traverse.structure.walk.across import Across, at_one_place
from traverse.structure.walk.beds import Bed, listed_places, place_words
from traverse.trade import (
    ALIKE_DEG,
    ALL_ROUND_DEG,
    FOLD_BEDS,
    GENTLE_DEG,
    LEVEL_DEG,
    PANEL_DEG,
    STEEPENS,
    SURE_SD,
)

_MOST_RUNS = 5
"""More changes of the dip are no single folds."""


def turns_again(beds: Sequence[Bed]) -> bool:
    """Whether upright beds turn round more than once: each fold is then told by its own limbs."""
    lone = lone_beds(beds)
    dipping = [bed for bed in beds if bed.dips and not any(bed is one for one in lone)]
    if any(bed.overturned for bed in dipping):
        return False
    turns = sum(one.dip_deg * other.dip_deg < 0.0 for one, other in pairwise(dipping))
    return turns > 1


def lone_beds(beds: Sequence[Bed]) -> list[Bed]:
    """Beds that dip the other way between two that agree: one reading makes no limb."""
    dipping = [bed for bed in beds if bed.dips and not bed.overturned]
    return [
        bed
        for before, bed, after in zip(dipping, dipping[1:], dipping[2:], strict=False)
        if bed.dip_deg * before.dip_deg < 0.0
        and bed.dip_deg * after.dip_deg < 0.0
        and abs(before.dip_deg - after.dip_deg) <= ALIKE_DEG
    ]


def against(lone: Sequence[Bed]) -> Finding:
    """Beds that dip against those on both sides."""
    twice = tuple(bed for bed in readings(lone) if bed.read_twice)
    return Against(
        readings=readings(lone),
        level=Level.POSSIBLE,
        others=(Other.SMALL_FOLD, Other.FAULT, *((Other.READING,) if len(twice) < len(lone) else ())),
        decides=listed_places(readings(lone)),
        twice=twice,
    )


def by_dips(seen: Across, rank: Mapping[str, int]) -> list[Finding]:
    """What the dips make: folds where they turn round, else a panel, a flexure or a limb."""
    parts = parted_by_way_up([bed for bed in seen.beds if bed.sided])
    if parts is not None and seen.turning:
        over = _overturned_fold(seen, *parts, rank)
        if over is not None:
            return [over]
    dipping = [bed for bed in seen.beds if bed.dips]
    if len({bed.dip_deg > 0.0 for bed in dipping}) > 1:
        if at_one_place(dipping):
            return []
        return _reversals(seen, dipping, rank)
    one = _one_way(seen, dipping, rank) if dipping else None
    return [] if one is None else [one]


def _overturned_fold(
    seen: Across, left: list[Bed], right: list[Bed], rank: Mapping[str, int]
) -> Finding | None:
    """A fold that is known by way-up on both its limbs; None where the rock between belies it."""
    apart = faces_apart(left, right)
    core = rock_between(seen, left, right, rank)
    if core and (core == -1) != apart:
        return None
    kind = FormKind.ANTICLINE if apart else FormKind.SYNCLINE
    return OverturnedFold(
        form=StructuralForm(kind=kind, overturned=True, fold=fold_of(left, right)),
        side_deg=seen.toward_deg(-1.0 if sum(bed.overturned for bed in left) * 2 > len(left) else 1.0),
        readings=readings([*left, *right]),
        level=Level.FOLLOWS,
    )


def _one_way(seen: Across, dipping: list[Bed], rank: Mapping[str, int]) -> Finding | None:
    """Beds that dip to one side only."""
    over = [bed for bed in dipping if bed.overturned]
    known = [bed for bed in dipping if bed.known and not bed.overturned]
    if over and known:
        return TurnedBetween(
            readings=readings([*over, *known]),
            named=readings(over),
            upright=readings(known),
            level=Level.POSSIBLE,
            others=(Other.FOLD, Other.FAULT),
            decides=f"the beds between {place_words(over[0].attitude)} and {place_words(known[0].attitude)}",
        )
    if len(seen.beds) < 3:
        return None
    if over:
        return (
            None
            if len(over) < len(dipping)
            else OneOverturnedLimb(readings=readings(over), level=Level.FOLLOWS)
        )
    way_up = any(bed.known for bed in seen.beds)
    dips = np.array([bed.attitude.dip_deg for bed in seen.beds])
    tops = np.flatnonzero(dips == dips.max()).tolist()
    top, outer = int(tops[0]), (dips[: tops[0]], dips[tops[-1] + 1 :])
    gentle = [float(end.min()) if len(end) else np.inf for end in outer]
    # Of one steep reading it is only weighed, and of readings no farther apart than their errors reach nothing is said.
    errors = SURE_SD * math.sqrt(2.0) * max(bed.attitude.sd_deg for bed in seen.beds)
    stand = np.flatnonzero(dips >= max(gentle) + max(PANEL_DEG, errors))
    steep = len(stand)
    stands_out = steep > 1 or dips[top] - float(np.delete(dips, top).max()) > errors
    # Steep beds with gentle ones between them are what scatter gives of one panel, not the steep limb of a flexure.
    in_one = steep and dips[stand[0] : stand[-1] + 1].min() > (max(gentle) + dips[stand].min()) / 2.0
    if max(gentle) <= min(dips[top] / 2.0, dips[top] - PANEL_DEG) and in_one and stands_out:
        # Of those that dip alike what was read first.
        ends = (seen.beds[: tops[0]], seen.beds[tops[-1] + 1 :])
        first, last = (min(end, key=lambda bed: (bed.attitude.dip_deg, bed.attitude.order)) for end in ends)
        steepest = min((seen.beds[at] for at in tops), key=lambda bed: bed.attitude.order)
        shown = tuple(bed.attitude for bed in (first, steepest, last))
        sure = steep > 1 or shown[1].read_twice
        return Flexed(
            readings=readings(seen.beds),
            named=shown,
            form=StructuralForm(kind=FormKind.MONOCLINE) if sure else None,
            level=Level.FOLLOWS if sure else Level.POSSIBLE,
            others=() if sure else (Other.READING,),
            decides=None if sure else place_words(shown[1]),
            way_up=way_up,
            twice=shown[1:2] if sure and steep < 2 else (),
        )
    if dips.max() - dips.min() >= PANEL_DEG:
        return _gentle_limb(seen, rank) or _steepening(seen, dips)
    if dips.max() <= GENTLE_DEG:
        return None
    # A bed that dips along the strike of the others is no part of their panel, though it does not turn against them.
    ways = [bed.attitude.dip_direction_deg for bed in seen.beds if bed.attitude.dip_deg >= GENTLE_DEG]
    mean = mean_azimuth(ways)[0]
    if max(abs(wrap_180(way - mean)) for way in ways) > 30.0:
        return None
    return EvenDip(readings=readings(seen.beds), way_up=way_up, level=Level.FOLLOWS)


def _gentle_limb(seen: Across, rank: Mapping[str, int]) -> Finding | None:
    """The fold whose gentle limb dips the other way by the mean of its beds, of which none does by more than its own error."""
    for ends in (1, -1):
        inward = seen.beds[::ends]
        gentle = list(takewhile(lambda bed: not bed.dips, inward))
        limb = [bed for bed in inward[len(gentle) :] if bed.dips]
        if len(gentle) < FOLD_BEDS or len(limb) < LIMB_BEDS or any(bed.overturned for bed in seen.beds):
            continue
        dips = np.array([bed.dip_deg for bed in gentle])
        read = max(bed.attitude.sd_deg for bed in gentle)
        error = max(read, float(dips.std(ddof=1))) / math.sqrt(len(gentle))
        mean = float(dips.mean())
        if mean * dip_of_limb(limb) < 0.0 and settled(abs(mean) - SURE_SD * error, 6) > 0.0:
            return _reversal(seen, *((gentle, limb) if ends == 1 else (limb[::-1], gentle[::-1])), rank)
    return None


def _steepening(seen: Across, dips: Vectors) -> Finding | None:
    where = np.array([bed.across_m for bed in seen.beds])
    if np.ptp(where) <= 0.0:
        return None
    along = float(np.corrcoef(where, dips)[0, 1])
    if abs(along) < STEEPENS:
        return None
    order = list(seen.beds) if along > 0.0 else list(reversed(seen.beds))
    gentlest = min(order[: max(1, len(order) // 2)], key=lambda bed: abs(bed.dip_deg))
    steep = max(order, key=lambda bed: abs(bed.dip_deg))
    return Steepening(
        readings=readings(seen.beds),
        named=(gentlest.attitude, steep.attitude),
        toward_deg=seen.toward_deg(along),
        other_way=sum(bed.dip_deg * steep.dip_deg < 0.0 for bed in seen.beds),
        level=Level.FOLLOWS,
    )


def _reversals(seen: Across, dipping: list[Bed], rank: Mapping[str, int]) -> list[Finding]:
    """Forms at which the dip turns round, from beds that are not overturned."""
    upright = [bed for bed in dipping if not bed.overturned]
    runs: list[list[Bed]] = []
    for bed in upright:
        if runs and (runs[-1][-1].dip_deg > 0.0) == (bed.dip_deg > 0.0):
            runs[-1].append(bed)
        else:
            runs.append([bed])
    if len(runs) > _MOST_RUNS:
        return [
            ManyTurns(
                readings=readings(upright),
                times=len(runs) - 1,
                level=Level.POSSIBLE,
                others=(Other.SMALL_FOLD, Other.READING),
            )
        ]
    return [_reversal(seen, left, right, rank) for left, right in pairwise(runs)]


def _reversal(seen: Across, left: list[Bed], right: list[Bed], rank: Mapping[str, int]) -> Finding:
    hollow = dip_of_limb(left) > 0.0
    kind = FormKind.SYNCLINE if hollow else FormKind.ANTICLINE
    core = rock_between(seen, left, right, rank)
    if core:
        age = FoldAge.ROCK if (core == 1) == hollow else FoldAge.ROCK_REVERSED
    elif all(any(bed.known for bed in side) for side in (left, right)):
        age = FoldAge.WAY_UP
    else:
        age, kind = FoldAge.OPEN, FormKind.SYNFORM if hollow else FormKind.ANTIFORM
    single = [side[0].attitude for side in (left, right) if len(side) == 1]
    alone = [bed for bed in single if not bed.read_twice]
    twice = tuple(bed for bed in single if bed.read_twice)
    # That it was read twice makes it no slip; that it is a limb the rock or its way-up has to bear out.
    small = bool(twice) and age is FoldAge.OPEN
    over_fault = left[-1].block != right[0].block
    sure = not (alone or small or over_fault or age is FoldAge.ROCK_REVERSED)
    named = (left[-1].attitude, right[0].attitude)
    return DipTurns(
        readings=readings([*left, *right]),
        named=named,
        weighed=kind,
        age=age,
        lone=tuple(alone),
        over_fault=over_fault,
        form=StructuralForm(kind=kind, fold=fold_of(left, right)) if sure else None,
        level=Level.FOLLOWS if sure else Level.POSSIBLE,
        others=(
            *((Other.DRAG,) if over_fault else ()),
            *((Other.READING,) if alone else ()),
            *((Other.SMALL_FOLD,) if small else ()),
            *((Other.UPSIDE_DOWN, Other.LIST) if age is FoldAge.ROCK_REVERSED else ()),
        ),
        decides=None if sure else listed_places(alone or (twice if small else named)),
        twice=twice,
    )


def hinges(beds: Sequence[Bed], turns: Sequence[Finding]) -> list[float]:
    """How far across the strike folds lie that the dips show for certain, each half-way between the beds that turn there."""
    across_m = {id(bed.attitude): bed.across_m for bed in beds}
    return [
        sum(across_m[id(bed)] for bed in one.named) / len(one.named)
        for one in turns
        if isinstance(one, DipTurns) and one.level is Level.FOLLOWS
    ]


def _widest_gap(azimuths_deg: Vectors) -> float:
    """Widest angle between two azimuths with none between them."""
    sides = np.sort(azimuths_deg % 360.0)
    return float(np.diff(np.append(sides, sides[0] + 360.0)).max())


def all_round(beds: Sequence[Bed]) -> Finding | None:
    """Dome or basin: dips all away from the middle, or all toward it, with beds on every side."""
    dipping = [
        bed.attitude
        for bed in beds
        if bed.sided
        and bed.attitude.dip_deg >= max(LEVEL_DEG, SURE_SD * bed.attitude.sd_deg)
        and not bed.overturned
    ]
    if len(dipping) < 5:
        return None
    where = np.array([(bed.place.east_m, bed.place.north_m) for bed in dipping])
    out = where - (where.min(axis=0) + where.max(axis=0)) / 2.0
    bearing = np.degrees(np.arctan2(out[:, 0], out[:, 1]))
    ways = np.array([bed.dip_direction_deg for bed in dipping])
    # The two limbs of a long fold dip two ways alone, however its beds lie round the middle of the walk.
    if max(_widest_gap(bearing), _widest_gap(ways)) > ALL_ROUND_DEG:
        return None
    apart = np.abs((ways - bearing + 180.0) % 360.0 - 180.0)
    if np.all(apart <= 60.0):
        return AllRound(readings=tuple(dipping), form=StructuralForm(kind=FormKind.DOME), level=Level.FOLLOWS)
    if np.all(apart >= 120.0):
        return AllRound(
            readings=tuple(dipping), form=StructuralForm(kind=FormKind.BASIN), level=Level.FOLLOWS
        )
    return None
