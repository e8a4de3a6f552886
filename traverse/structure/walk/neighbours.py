"""The beds next to a place of the log."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from traverse.log.items import ContactKind
from traverse.structure.readings.place_errors import poles_of
from traverse.structure.readings.records import PlacedContact, PlaneAttitude


class Neighbours:
    """Beds in the order of the log, with the ones next to each place, no fault and no unconformity between.

    `begins` are the items at which the walk of another party begins.
    """

    def __init__(
        self,
        beds: Sequence[PlaneAttitude],
        contacts: Sequence[PlacedContact],
        begins: Sequence[int] = (),
    ) -> None:
        self.beds = beds
        parted = [float(one.order) for one in contacts if one.kind is not ContactKind.CONTACT]
        self.faults = np.sort([*parted, *(at - 0.5 for at in begins)])
        self.at = np.array([bed.order for bed in beds])
        self.poles = poles_of(beds)
        new = np.array(
            [not at or bed.booked.address is not beds[at - 1].booked.address for at, bed in enumerate(beds)]
        )
        run = np.cumsum(new) - 1
        firsts = np.flatnonzero(new)
        self._before = firsts[run] - 1 if len(beds) else run
        """Of each bed the last one that was read at the address before its own."""
        self._after = np.append(firsts[1:], len(beds))[run] if len(beds) else run

    def beside(self, item: int, address: object = None) -> list[int]:
        """The bed before and the bed after an item, at another address than `address`, no fault between."""
        place = int(np.searchsorted(self.at, item))
        found = []
        for step, start, beyond in ((-1, place - 1, self._before), (1, place, self._after)):
            index = start
            while 0 <= index < len(self.beds):
                if self.beds[index].booked.address is address:
                    index = int(beyond[index])
                elif self.at[index] == item:
                    index += step
                else:
                    break
            if 0 <= index < len(self.beds):
                low, high = sorted((item, int(self.at[index])))
                past, before = (
                    np.searchsorted(self.faults, low, "right"),
                    np.searchsorted(self.faults, high),
                )
                if past >= before:
                    found.append(index)
        return found
