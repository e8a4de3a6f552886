"""The walk as it was gone: what stands next to each other on the page may lie on two of its arms."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from functools import cache
from itertools import chain
from typing import NamedTuple

from traverse.log.items import Address, LegKind
from traverse.log.records import Log


class _WalkArm(NamedTuple):
    """What was walked without going back to an earlier station."""

    begin: int
    """Its first item among those of the log."""
    parent: int | None = None
    """The arm on which the station lies that it begins from; None where nothing leads to it."""
    left: int = 0
    """The first item after those of that station."""
    closes: tuple[int, int] = (0, 0)
    """The items of the earlier station that it comes back to at its end, from the first to before the last; none where it does not."""


class WalkOrder:
    """Which items of a log come before and after which on the walk.

    An `at` that goes back to an earlier station begins a new arm there, and so does what goes on from a loop that was
    closed; before it comes what was met up to that station, and not what stands above it on the page. Nothing leads to
    where the walk of another party begins; days of one party go on from each other.
    """

    def __init__(self, log: Log) -> None:
        self._arms = _arms(log)
        self._begins = [arm.begin for arm in self._arms]
        self._end = len(log.items)
        self._parts = cache(self._parts_of)

    def arm_of(self, item: int) -> int:
        """The arm that an item of the log was met on."""
        return max(0, bisect_right(self._begins, item) - 1)

    def up_to(self, arm: int, items: Sequence[float]) -> list[int]:
        """Of items that rise those on an arm and on the way to where it begins, by their index: the order they were met in."""
        return self._within(arm, items, 0.0, math.inf)

    def closes_on(self, arm: int, items: Sequence[float]) -> tuple[list[int], int]:
        """Of items that rise those at the earlier station that an arm comes back to, by their index, and where they stand on it.

        They are met again after all that is on the arm, whichever station a loop begins at.
        """
        low, high = self._arms[arm].closes
        end = self._begins[arm + 1] if arm + 1 < len(self._begins) else self._end
        return list(range(bisect_left(items, low), bisect_left(items, high))), end

    def closed_by(self, item: int) -> int | None:
        """The first arm that comes back to the station at which an item was met; None where none does."""
        return next((at for at, arm in enumerate(self._arms) if arm.closes[0] <= item < arm.closes[1]), None)

    def around(self, items: Sequence[int], item: int) -> list[int]:
        """Of items that rise, those met next before and next after another on its arm, by their index."""
        place = bisect_left(items, item)
        before = self._last(items, self.arm_of(item), place - 1)
        on = place < len(items) and self.arm_of(items[place]) == self.arm_of(item)
        return [one for one in (before, place if on else None) if one is not None]

    def before(self, items: Sequence[int], at: int) -> int | None:
        """Of items that rise, the one met next before one of them, by their index."""
        return self._last(items, self.arm_of(items[at]), at - 1)

    def _last(self, items: Sequence[int], on: int, place: int) -> int | None:
        arm: int | None = on
        while arm is not None:
            one = self._arms[arm]
            if place >= 0 and items[place] >= one.begin:
                return place
            arm, place = one.parent, bisect_left(items, one.left) - 1
        return None

    def behind(self, items: Sequence[int], at: int) -> list[int]:
        """Those from which the walk came to one of them and met none between: the one before it, and where its arm begins the one after that station too."""
        before, one = self.before(items, at), self._arms[self.arm_of(items[at])]
        found = [] if before is None else [before]
        if one.parent is not None and (before is None or items[before] < one.begin):
            place = bisect_left(items, one.left)
            if place < len(items) and self.arm_of(items[place]) == one.parent:
                found.append(place)
        return found

    def after(self, items: Sequence[int], at: int) -> int | None:
        """Of items that rise, the one met next after one of them on its arm, by their index."""
        on = at + 1 < len(items) and self.arm_of(items[at + 1]) == self.arm_of(items[at])
        return at + 1 if on else None

    def connected(self, item: int, other: int) -> bool:
        """Whether the walk went from the one to the other, by whichever arms."""
        return self._root(self.arm_of(item)) == self._root(self.arm_of(other))

    def _root(self, arm: int) -> int:
        while (parent := self._arms[arm].parent) is not None:
            arm = parent
        return arm

    def between(self, items: Sequence[int], first: int, last: int) -> list[int]:
        """Of items that rise those met between one and a later one, by their index."""
        return self._within(self.arm_of(last), items, first + 1.0, float(last))

    def on_the_way(self, items: Sequence[float], first: int, last: int) -> list[int]:
        """Of items that rise those met on the way from one to another, by whichever arms, by their index."""
        return sorted(chain(*self.back_and_on(items, first, last)))

    def back_and_on(self, items: Sequence[float], first: int, last: int) -> tuple[list[int], list[int]]:
        """The same: those on the part of the way that was walked the other way round, from the first on, and those on the rest."""
        back, on = (
            [(low, min(high, float(at))) for low, high in self._parts(self.arm_of(at))]
            for at in (first, last)
        )
        while back and on and back[0][0] == on[0][0]:
            # Both were come to by the same ground, up to where they part.
            (_, one), (_, other) = back.pop(0), on.pop(0)
            if one != other:
                way = back if other < one else on
                way.insert(0, (min(one, other), max(one, other)))
                break
        within = [
            [at for low, high in way for at in range(bisect_left(items, low), bisect_left(items, high))]
            for way in (back, on)
        ]
        return within[0], [at for at in within[1] if items[at] != first]

    def _within(self, arm: int, items: Sequence[float], start: float, end: float) -> list[int]:
        found: list[int] = []
        for low, high in self._parts(arm):
            found += range(bisect_left(items, max(low, start)), bisect_left(items, min(high, end)))
        return found

    def _parts_of(self, arm: int) -> tuple[tuple[float, float], ...]:
        """The stretches of items up to the end of an arm, rising."""
        end = float(self._begins[arm + 1]) if arm + 1 < len(self._begins) else math.inf
        found: list[tuple[float, float]] = []
        at: int | None = arm
        while at is not None:
            one = self._arms[at]
            found.append((float(one.begin), end))
            at, end = one.parent, float(one.left)
        return tuple(reversed(found))


def _arms(log: Log) -> list[_WalkArm]:
    letters = {party.file: party.letters for party in log.parties}
    legs = {(leg.span.file, leg.span.line): leg for leg in log.legs}
    met = [item.address.index for item in log.items]
    arms = [_WalkArm(0)]
    left: dict[tuple[str | None, str], tuple[int, int]] = {}
    """The arm of each station, and the first item after those read there."""
    read: dict[tuple[str | None, str], tuple[int, int]] = {}
    """The items at each station."""
    here: str | None = None
    closed = False
    before: Address | None = None
    for address in log.addresses:
        name, whose = address.station, letters.get(address.span.file)
        if before is not None and whose != letters.get(before.span.file):
            arms.append(_WalkArm(bisect_left(met, address.index)))
            here, closed = None, False
        before = address
        if name is None:
            if here is not None and not closed:
                left[whose, here] = len(arms) - 1, bisect_right(met, address.index)
            continue
        leg = legs.get((address.span.file, address.span.line))
        start = name if leg is None else leg.start
        if (closed or start != here) and (whose, start) in left:
            parent, at = left[whose, start]
            arms.append(_WalkArm(bisect_left(met, address.index), parent, at))
            here, closed = start, False
        if leg is None or leg.kind is not LegKind.SIDE:
            here, closed = name, leg is not None and (whose, name) in left
            if closed:
                arms[-1] = arms[-1]._replace(closes=read[whose, name])
        read.setdefault((whose, name), (bisect_left(met, address.index), bisect_right(met, address.index)))
        if not closed:
            left[whose, name] = len(arms) - 1, bisect_right(met, address.index)
    return arms
