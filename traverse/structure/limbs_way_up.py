"""Which way up a bed lies of which nothing was said, by the limb that it belongs to."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Generic, TypeVar

import numpy as np

from traverse.location.records import PlacedAddress, Survey
from traverse.log.items import ContactKind, HowMet
from traverse.log.records import Log
from traverse.settled import SAME_M, settled, settled_all
from traverse.structure.readings.directions import pole_angle
from traverse.structure.readings.place_errors import bed_pole
from traverse.structure.readings.records import Attitude, PlacedContact, PlaneAttitude, bedding
from traverse.structure.walk.fault_blocks import block_finder
from traverse.structure.walk.records import BandStretch
from traverse.structure.walk.sides import younger_side
from traverse.trade import ALIKE_DEG

_FEW = 16
"""Of so many beds or contacts about a bed those that tell are sought."""
_CONTACTS = 2
"""So many contacts next to a bed say that it lies upright."""

T = TypeVar("T", PlacedContact, PlaneAttitude)


def lying_as_their_limb(
    log: Log,
    survey: Survey,
    attitudes: tuple[Attitude, ...],
    contacts: Sequence[PlacedContact],
    band: tuple[BandStretch, ...],
) -> tuple[Attitude, ...]:
    """The same, but beds of unread way-up overturned where the nearest that lies alike and was seen either way is so.

    Each of them would else be a fold of its own among overturned ones. Of beds of one block between faults; one stays upright
    where the order of the units at the contacts next to it has it so.
    """
    beds = bedding(attitudes)
    seen = [bed for bed in beds if bed.upside_down is not None]
    if len(seen) == len(beds) or not any(bed.upside_down for bed in seen):
        return attitudes
    block = block_finder(log, contacts)
    borders = [one for one in contacts if one.kind is ContactKind.CONTACT and one.met is HowMet.CROSSED]
    about, met = _NearBed(seen, block), _NearBed(borders, block)
    younger = younger_side(log, survey, band)

    def over(bed: PlaneAttitude) -> bool:
        pole = bed_pole(bed)[0]
        lies = (one for one in about.nearest(bed) if pole_angle(pole, bed_pole(one)[0]) <= ALIKE_DEG)
        known = next(lies, None)
        return known is not None and bool(known.upside_down) and not upright(bed)

    def upright(bed: PlaneAttitude) -> bool:
        way = math.radians(bed.dip_direction_deg - survey.frame.to_true_deg)
        down = np.array([math.sin(way), math.cos(way)])
        toward = [settled(float(younger(one)[:2] @ down)) for one in met.nearest(bed)[:_CONTACTS]]
        return bool(toward) and min(toward) > SAME_M

    turned = {bed.span for bed in beds if bed.upside_down is None and over(bed)}
    return tuple(
        replace(one, as_limb_over=True) if isinstance(one, PlaneAttitude) and one.span in turned else one
        for one in attitudes
    )


class _NearBed(Generic[T]):
    """What was read or met about a bed, the nearest first and of as near ones the first of the log."""

    def __init__(self, ones: Sequence[T], block: Callable[[PlacedAddress, int], int | None]) -> None:
        from scipy.spatial import KDTree

        self.ones: Sequence[T] = ones
        self.block = block
        self.blocks = [block(one.place, one.order) for one in ones]
        where = np.array([(one.place.east_m, one.place.north_m) for one in ones]).reshape(-1, 2)
        self.tree = KDTree(where) if len(ones) else None

    def nearest(self, bed: PlaneAttitude) -> list[T]:
        """A few of the same block."""
        if self.tree is None:
            return []
        ranks = list(range(1, min(_FEW, len(self.ones)) + 1))
        found = self.tree.query(np.array([(bed.place.east_m, bed.place.north_m)]), k=ranks)
        far_m, which = (np.asarray(one)[0] for one in found)
        own = self.block(bed.place, bed.order)
        order = sorted(zip(settled_all(far_m, 3).tolist(), which.tolist(), strict=True))
        return [self.ones[at] for _, at in order if self.blocks[at] == own]
