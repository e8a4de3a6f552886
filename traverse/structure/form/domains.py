"""Domains of structure: the beds of one body, and the axis or the mean that they have together."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from traverse.location.records import PlacedAddress
from traverse.log.records import Log
from traverse.record import record
from traverse.structure.readings.directions import Vectors, along
from traverse.structure.readings.girdle import axis_or_lack, girdle_axis, scatter_deg
from traverse.structure.readings.mean import bedding_mean, orientation, widest_angle
from traverse.structure.readings.place_errors import poles_of
from traverse.structure.readings.records import (
    FoldAxis,
    MeanBedding,
    NoAxis,
    NoGirdle,
    PlacedContact,
    PlaneAttitude,
    distinct,
)
from traverse.structure.walk.fault_blocks import block_finder, body_beds
from traverse.trade import FOLD_BEDS, FOLD_SPREAD_DEG, SURE_SD, UNSTATED_ATTITUDE_DEG


@record(frozen=True, slots=True, kw_only=True)
class BedDomain:
    """Beds that may have one structure: of one body, with no angular unconformity between them."""

    body: int
    """0 the uppermost bedrock."""
    left_out: frozenset[str]
    """Units of other bodies."""
    beds: tuple[PlaneAttitude, ...]
    """In the order of the log, each surface once."""
    mean: MeanBedding | None
    axis: FoldAxis | None
    no_axis: NoAxis | None
    """What they lack where they have none."""


def domains(
    log: Log, beds: Sequence[PlaneAttitude], contacts: Sequence[PlacedContact]
) -> tuple[BedDomain, ...]:
    """The domains with a bed in them, that with most beds first, of two alike the lower."""
    bodies, block = body_beds(log, distinct(beds), contacts), block_finder(log, contacts)
    parted = dict(bodies.beds)
    if len(parted) > 1:
        # Loose ground has no structure, unless there is nothing else.
        parted.pop(-1, None)
    found = [
        _domain(
            where,
            own,
            block,
            frozenset(unit.letters for unit in log.units if bodies.body(unit.letters) != where),
        )
        for where, own in parted.items()
    ]
    return tuple(sorted(found, key=lambda one: (-len(one.beds), -one.body)))


def _domain(
    body: int,
    beds: tuple[PlaneAttitude, ...],
    block: Callable[[PlacedAddress, int], int | None],
    left_out: frozenset[str],
) -> BedDomain:
    poles = poles_of(beds)
    found = _axis(poles, [block(bed.place, bed.order) for bed in beds], sd_deg=_good_to_deg(beds, poles))
    axis = found if isinstance(found, FoldAxis) else None
    return BedDomain(
        body=body,
        left_out=left_out,
        beds=beds,
        mean=bedding_mean(poles),
        axis=axis,
        no_axis=None if isinstance(found, FoldAxis) else found,
    )


def _good_to_deg(beds: Sequence[PlaneAttitude], poles: Vectors) -> float:
    """What one reading is good to: as stated; where the log is silent no better than its beds scatter, up to a limit."""
    most = max(bed.sd_deg for bed in beds)
    stated = any(bed.booked.conditions.precision.attitude_stated for bed in beds)
    if stated or len(beds) < FOLD_BEDS:
        return most
    return max(most, min(UNSTATED_ATTITUDE_DEG, scatter_deg(poles)))


def _axis(poles: Vectors, blocks: Sequence[int | None], *, sd_deg: float) -> FoldAxis | NoAxis:
    """The axis of one fold, whose turning is seen within one block between faults; a block that does not fit is left out."""
    whole = axis_or_lack(poles, sd_deg=sd_deg)
    names = [name for name in dict.fromkeys(blocks) if name is not None]
    if len(names) < 2 or (isinstance(whole, NoAxis) and whole.why in {NoGirdle.FEW, NoGirdle.ALIKE}):
        return whole
    at = np.array([-1 if name is None else name for name in blocks])
    alone = {name: axis_or_lack(poles[at == name], sd_deg=sd_deg) for name in names}
    turning = {name: one for name, one in alone.items() if isinstance(one, FoldAxis)}
    if turning:
        best = max(turning, key=lambda name: turning[name].n)
        keep = at == best
        kept = girdle_axis(poles[keep])
        normal = orientation(poles[keep])[1][2]
        most = SURE_SD * max(kept.rms_deg, sd_deg)
        for name in names:
            off = np.degrees(np.arcsin(np.minimum(1.0, np.abs(along(poles[at == name], normal)))))
            if name != best and bool((off <= most).all()):
                keep |= at == name
        return axis_or_lack(poles[keep], sd_deg=sd_deg)
    if all(widest_angle(poles[at == name]) < FOLD_SPREAD_DEG for name in names):
        return NoAxis(why=NoGirdle.ACROSS_FAULT, n=len(poles), widest_deg=widest_angle(poles))
    return whole
