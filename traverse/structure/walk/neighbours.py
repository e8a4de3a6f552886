"""The beds next to a place of the log."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from traverse.log.items import ContactKind
from traverse.structure.readings.place_errors import poles_of
from traverse.structure.readings.records import PlacedContact, PlaneAttitude


class Neighbours:
    """Beds in the order of the log, with the ones next to each place, no fault and no unconformity between."""

    def __init__(self, beds: Sequence[PlaneAttitude], contacts: Sequence[PlacedContact]) -> None:
        self.beds = beds
        self.faults = np.array([one.order for one in contacts if one.kind is not ContactKind.CONTACT])
        self.at = np.array([bed.order for bed in beds])
        self.poles = poles_of(beds)

    def beside(self, item: int, address: object = None) -> list[int]:
        """The bed before and the bed after an item, at another address than `address`, no fault between."""
        place = int(np.searchsorted(self.at, item))
        found = []
        for step, start in ((-1, place - 1), (1, place)):
            index = start
            while 0 <= index < len(self.beds) and (
                self.at[index] == item or self.beds[index].booked.address is address
            ):
                index += step
            if 0 <= index < len(self.beds):
                low, high = sorted((item, int(self.at[index])))
                if not bool(((self.faults > low) & (self.faults < high)).any()):
                    found.append(index)
        return found
