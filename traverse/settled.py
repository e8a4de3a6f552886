"""Figures that don't hang on the last bit.

One sum worked out on two processors may differ in its last bit: by the order in which a kernel of linear algebra adds,
or by the way a sine is computed. Where a decision compares such figures, what lies nearer together than means anything
on the ground is equal, and a stated rule decides: the first.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterable, Sequence
from typing import TypeVar

SAME_M = 1e-3
"""Places on the ground nearer together than this are one place: far below what is paced, far above what is rounded."""

T = TypeVar("T")


def part_at(cuts: Sequence[float], at: float, *, same: float = SAME_M) -> int:
    """Which of the parts that rising cuts make a place belongs to; at a cut, the part before it.

    >>> part_at([100.0, 150.0], 149.99999999999997), part_at([100.0, 150.0], 150.0000001), part_at([150.0], 151.0)
    (1, 1, 1)
    """
    return bisect_left(cuts, at - same)


def least(items: Iterable[T], key: Callable[[T], float], *, same: float = SAME_M) -> T | None:
    """The item of the least key, the first of those that are as good; None of nothing.

    >>> least([160.0, 140.0], lambda one: abs(one - 149.99999999999997))
    160.0
    """
    keyed = [(key(item), item) for item in items]
    if not keyed:
        return None
    limit = min(value for value, _ in keyed) + same
    return next(item for value, item in keyed if value <= limit)
