"""Beds as they stand across the strike, and their places in words."""

from __future__ import annotations

from collections.abc import Iterable

from traverse.record import record
from traverse.structure.readings.records import Attitude, PlaneAttitude
from traverse.trade import LEVEL_DEG, SURE_SD
from traverse.wording import listed


@record(frozen=True, slots=True, kw_only=True)
class Bed:
    """A bed as it stands across the strike."""

    across_m: float
    dip_deg: float
    """Apparent, positive down with increasing distance."""
    overturned: bool
    known: bool
    """Whether its way-up was seen or said."""
    attitude: PlaneAttitude
    block: int | None = 0
    """Which block between faults it lies in; None where no leg leads to it."""

    @property
    def sided(self) -> bool:
        """Whether it is known to which side it dips: one as steep as upright within its error has a side by its tops alone."""
        return self.known or self.attitude.dip_deg < 90.0 - SURE_SD * self.attitude.sd_deg

    @property
    def facing_deg(self) -> float:
        """How far its younger side leans over, positive with increasing distance; past 90 degrees it is overturned."""
        if not self.overturned:
            return self.dip_deg
        return self.dip_deg - 180.0 if self.dip_deg > 0.0 else self.dip_deg + 180.0

    @property
    def dips(self) -> bool:
        """Whether it dips across the walk, to a side that is known, by more than its own error."""
        return self.sided and abs(self.dip_deg) >= max(LEVEL_DEG, SURE_SD * self.attitude.sd_deg)


def place_words(attitude: Attitude) -> str:
    """Where an attitude was read: its station, or the leg."""
    address = attitude.booked.address
    if address.station is not None or address.leg is None:
        return attitude.station
    return f"leg {address.leg.start}–{address.leg.end}"


def count_places(beds: Iterable[Attitude]) -> int:
    """At how many places they were read: a station is one, and each place along a leg."""
    addresses = (bed.booked.address for bed in beds)
    return len({one.index if one.station is None else one.station for one in addresses})


def listed_places(beds: Iterable[Attitude]) -> str:
    """Where they were read, each place once, as a list in a sentence."""
    return listed(list(dict.fromkeys(place_words(bed) for bed in beds)))
