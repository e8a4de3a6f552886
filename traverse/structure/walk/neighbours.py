"""The beds next to a place of the walk."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import NamedTuple

import numpy as np

from traverse.log.items import ContactKind
from traverse.structure.readings.directions import Vectors
from traverse.structure.readings.place_errors import poles_of
from traverse.structure.readings.records import PlacedContact, PlaneAttitude
from traverse.structure.walk.order import WalkOrder


class _ArmBeds(NamedTuple):
    """Beds up to the end of an arm of the walk, in the order they were met in: last those where it comes back to a station."""

    beds: Sequence[int]
    at: Vectors
    before: Vectors
    """Of each bed the last one that was read at the address before its own."""
    after: Vectors
    faults: Vectors


class Neighbours:
    """Beds in the order of the log, with the ones next to each place on the walk, no fault and no unconformity between."""

    def __init__(
        self, beds: Sequence[PlaneAttitude], contacts: Sequence[PlacedContact], walk: WalkOrder
    ) -> None:
        self.beds = beds
        self.walk = walk
        self.at = np.array([bed.order for bed in beds])
        self.poles = poles_of(beds)
        self._orders = [bed.order for bed in beds]
        self._faults = sorted(one.order for one in contacts if one.kind is not ContactKind.CONTACT)
        self._line = cache(self._line_of)

    def _line_of(self, arm: int) -> _ArmBeds:
        on = self.walk.up_to(arm, self._orders)
        again, end = self.walk.closes_on(arm, self._orders)
        beds = [*on, *again]
        addresses = [self.beds[one].booked.address for one in beds]
        new = np.array(
            [not at or one is not addresses[at - 1] for at, one in enumerate(addresses)], dtype=bool
        )
        run = np.cumsum(new) - 1
        firsts = np.flatnonzero(new)
        faults = [self._faults[one] for one in self.walk.up_to(arm, self._faults)]
        return _ArmBeds(
            beds,
            np.array([self._orders[one] for one in on] + [end] * len(again), dtype=int),
            firsts[run] - 1 if beds else run,
            np.append(firsts[1:], len(beds))[run] if beds else run,
            np.array(faults, dtype=int),
        )

    def beside(self, item: int, address: object = None) -> list[int]:
        """The bed before and the bed after an item, at another address than `address`, no fault between."""
        line = self._line(self.walk.arm_of(item))
        place = int(np.searchsorted(line.at, item))
        found = []
        for step, start, beyond in ((-1, place - 1, line.before), (1, place, line.after)):
            index = start
            while 0 <= index < len(line.beds):
                if self.beds[line.beds[index]].booked.address is address:
                    index = int(beyond[index])
                elif line.at[index] == item:
                    index += step
                else:
                    break
            if 0 <= index < len(line.beds):
                low, high = sorted((item, int(line.at[index])))
                past, before = np.searchsorted(line.faults, low, "right"), np.searchsorted(line.faults, high)
                if past >= before and line.beds[index] not in found:
                    found.append(line.beds[index])
        return found
