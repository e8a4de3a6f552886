"""Stations that are numbered on by one: where a number is missing, or the lines stand in another order than the numbers."""

from __future__ import annotations

from collections.abc import Sequence
from collections.abc import Set as AbstractSet
from itertools import pairwise

from traverse.log.items import Leg, LegKind, Skipped

LEAST_NUMBERED = 6
"""Stations from which on their numbers show a habit; common practice, no source."""
_AT_MOST_MISSING = 1
_AT_MOST_MOVED = 3
"""Places at which one block of lines that stands elsewhere breaks a row of numbers: where it is missing, before it, after it."""


def _numbers(legs: Sequence[Leg]) -> list[int]:
    """Numbers of the stations in the order of the lines; empty where some are named otherwise. The start may have a name."""
    walked = [leg for leg in legs if leg.kind is LegKind.TO]
    names = [one.start for one in legs[:1] if one.start.isdecimal()] + [one.end for one in walked]
    if len(names) < LEAST_NUMBERED or not all(name.isdecimal() and name == str(int(name)) for name in names):
        return []
    return [int(name) for name in names]


def number_skipped(legs: Sequence[Leg], known: AbstractSet[str]) -> Skipped | None:
    """The number that is missing, if it is the only one and the others run on by one; `known` are names that the page has elsewhere."""
    numbers = _numbers(legs)
    breaks = [(a, b) for a, b in pairwise(numbers) if b != a + 1]
    if len(breaks) != 1:
        return None
    [(a, b)] = breaks
    name = str(a + 1)
    if b != a + 1 + _AT_MOST_MISSING or name in known:
        return None
    came = next((i for i, leg in enumerate(legs) if leg.kind is LegKind.TO and leg.end == str(a)), -1)
    leg = next(
        (one for one in legs[came + 1 :] if one.kind is not LegKind.SIDE and one.start == str(a)), None
    )
    return None if leg is None else Skipped(name=name, before=str(a), after=str(b), leg=leg)


def out_of_order(legs: Sequence[Leg]) -> tuple[Leg, ...]:
    """Legs, each led on from the one before, whose ends are not numbered on by one, where no number is missing and one block of lines moved explains it."""
    numbers = _numbers(legs)
    if not numbers or sorted(numbers) != list(range(numbers[0], numbers[0] + len(numbers))):
        return ()
    walked = [leg for leg in legs if leg.kind is LegKind.TO]
    odd = [at for at, (a, b) in enumerate(pairwise(numbers)) if b != a + 1]
    if not 2 <= len(odd) <= _AT_MOST_MOVED or 2 * len(odd) > len(walked):
        return ()
    # A spur that begins elsewhere may have its numbers from another page.
    led = tuple(walked[at] for at in odd if walked[at].start == str(numbers[at]))
    return led if len(led) > 1 else ()
