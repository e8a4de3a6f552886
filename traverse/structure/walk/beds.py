"""Beds as they stand across the strike, and their places in words."""

from __future__ import annotations

from traverse.record import record
from traverse.structure.readings.records import Attitude, PlaneAttitude
from traverse.trade import LEVEL_DEG


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

    @property
    def where(self) -> str:
        """Its place in words."""
        return place_words(self.attitude)

    @property
    def faces(self) -> int:
        """Which way its younger side leans: 1 with increasing distance, -1 against it, 0 for a level bed."""
        if abs(self.dip_deg) < LEVEL_DEG:
            return 0
        return (1 if self.dip_deg > 0.0 else -1) * (-1 if self.overturned else 1)


def place_words(attitude: Attitude) -> str:
    """Where an attitude was read: its station, or the leg."""
    address = attitude.booked.address
    if address.station is not None or address.leg is None:
        return attitude.station
    return f"leg {address.leg.start}–{address.leg.end}"
