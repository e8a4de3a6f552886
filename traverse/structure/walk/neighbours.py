"""The beds next to a place of the walk."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from functools import cache
from typing import NamedTuple

import numpy as np

from traverse.log.items import ContactKind
from traverse.structure.readings.place_errors import poles_of
from traverse.structure.readings.records import PlacedContact, PlaneAttitude
from traverse.structure.walk.order import WalkOrder


class _ArmBeds(NamedTuple):
    """Beds up to the end of an arm of the walk, in the order they were met in: last those where it comes back to a station."""

    beds: Sequence[int]
    at: Sequence[int]
    before: Sequence[int]
    """Of each bed the last one that was read at the address before its own."""
    after: Sequence[int]
    faults: Sequence[int]
    """Unconformities among them."""
    bases: Sequence[int]
    """Unconformities alone."""
    own: int
    """So many beds come before those where it comes back to a station."""
    end: int


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
        self._bases = sorted(one.order for one in contacts if one.kind is ContactKind.UNCONFORMITY)
        self._line = cache(self._line_of)
        self._next_to = cache(self._next_to_of)

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
        faults, bases = ([one[at] for at in self.walk.up_to(arm, one)] for one in (self._faults, self._bases))
        return _ArmBeds(
            beds,
            [*(self._orders[one] for one in on), *[end] * len(again)],
            (firsts[run] - 1).tolist() if beds else [],
            np.append(firsts[1:], len(beds))[run].tolist() if beds else [],
            faults,
            bases,
            len(on),
            end,
        )

    def next_to(self, bed: int, *, over_faults: bool = False) -> tuple[int, ...]:
        """The bed before and the bed after one, at other addresses; no fault between but `over_faults`."""
        return self._next_to(bed, over_faults)

    def _next_to_of(self, bed: int, over_faults: bool) -> tuple[int, ...]:
        item, address = self._orders[bed], self.beds[bed].booked.address
        return tuple(self.beside(item, address, over_faults=over_faults))

    def beside(self, item: int, address: object = None, *, over_faults: bool = False) -> list[int]:
        """The bed before and the bed after an item, at another address than `address`, no fault between but `over_faults`."""
        line = self._line(self.walk.arm_of(item))
        place = bisect_left(line.at, item)
        found = []
        for step, start, beyond in ((-1, place - 1, line.before), (1, place, line.after)):
            index = start
            while 0 <= index < len(line.beds):
                if self.beds[line.beds[index]].booked.address is address:
                    index = beyond[index]
                elif line.at[index] == item:
                    index += step
                else:
                    break
            if 0 <= index < len(line.beds):
                low, high = sorted((item, line.at[index]))
                cut = _any_between(line.bases if over_faults else line.faults, low, high)
                if not cut and line.beds[index] not in found:
                    found.append(line.beds[index])
        return found

    def closing(self, index: int) -> int | None:
        """The last bed of the loop that comes back to where a bed was read, no fault on the way; None where none does."""
        arm = self.walk.closed_by(int(self.at[index]))
        if arm is None:
            return None
        line, address = self._line(arm), self.beds[index].booked.address
        last = line.own - 1
        while last >= 0 and self.beds[line.beds[last]].booked.address is address:
            last = line.before[last]
        if last < 0 or _any_between(line.faults, line.at[last], line.end):
            return None
        return line.beds[last]

    def between(self, orders: Sequence[int], one: int, other: int) -> list[int]:
        """Of items that rise those met between two beds next to each other, by their index."""
        low, high = sorted((one, other))
        first, last = int(self.at[low]), int(self.at[high])
        if high not in self.next_to(low) and self.closing(low) == high:
            return [
                at for at in range(len(orders)) if last < orders[at] < self._line(self.walk.arm_of(last)).end
            ]
        return self.walk.between(orders, first, last)


def _any_between(orders: Sequence[int], low: int, high: int) -> bool:
    return bisect_right(orders, low) < bisect_left(orders, high)
