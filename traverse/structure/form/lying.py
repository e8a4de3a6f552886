"""How each contact lies, which its own attitude tells or the beds about it do."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from traverse.angle import wrap_360
from traverse.log.items import ContactKind
from traverse.log.records import Log
from traverse.nearest import Nearest
from traverse.settled import settled
from traverse.structure.readings.directions import dip_of, pole_angle
from traverse.structure.readings.mean import mean_plane
from traverse.structure.readings.place_errors import bed_pole
from traverse.structure.readings.records import PlacedContact, PlaneAttitude, Surface
from traverse.structure.walk.across import piles_on
from traverse.trade import ALIKE_DEG, GENTLE_DEG, REACH_BED_M


def with_lying(
    log: Log, contacts: Sequence[PlacedContact], beds: Sequence[PlaneAttitude]
) -> tuple[PlacedContact, ...]:
    """The contacts with how they lie: as read there or through their places, else as the beds of their own pile near them.

    Of beds so gentle that one reading turns their strike far, as the mean of those about the place that agree with the
    nearest. A fault, a body that cuts the beds and loose ground have no plane of theirs.
    """
    loose = {unit.letters for unit in log.units if unit.loose}
    pile_of = {unit: number for number, pile in enumerate(piles_on(log).values(), 1) for unit in pile}
    piles: dict[int, list[PlaneAttitude]] = defaultdict(list)
    for bed in beds:
        piles[pile_of.get(bed.unit or "", 0)].append(bed)
    near = {
        pile: Nearest(np.array([(bed.place.east_m, bed.place.north_m) for bed in of]))
        for pile, of in piles.items()
    }
    found: list[PlacedContact] = []
    for one in contacts:
        lies = one.surface
        own = {one.younger, one.older}
        pile = pile_of.get(one.younger or "", 0)
        if (
            lies is None
            and one.kind is not ContactKind.FAULT
            and not own & (log.intrusive | loose)
            and pile in near
        ):
            lies = _as_beds(one, piles[pile], near[pile])
        found.append(one if lies is None else replace(one, lies=lies))
    return tuple(found)


def _as_beds(one: PlacedContact, beds: Sequence[PlaneAttitude], near: Nearest) -> Surface | None:
    at = (one.place.east_m, one.place.north_m)
    nearest = near.to(*at)
    if near.off_m(nearest, *at) > REACH_BED_M:
        return None
    bed = beds[nearest]
    if bed.dip_deg > GENTLE_DEG:
        return Surface(strike_deg=bed.strike_deg, dip_deg=bed.dip_deg, sd_deg=bed.sd_deg)
    within = np.flatnonzero(np.hypot(*(near.where_m - at).T) <= REACH_BED_M).tolist()
    own, _ = bed_pole(bed)
    about = [bed_pole(beds[index]) for index in within]
    mean, sd_deg = mean_plane([each for each in about if pole_angle(each[0], own) <= ALIKE_DEG])
    dip_deg, direction_deg = dip_of(mean)
    strike_deg = None if direction_deg is None else wrap_360(settled(direction_deg - 90.0))
    return Surface(strike_deg=strike_deg, dip_deg=settled(dip_deg), sd_deg=sd_deg)
