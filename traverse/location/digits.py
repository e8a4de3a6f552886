"""Figures as they may have been misread or mistyped."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from traverse.trade import RARE_SLIP, UNCOMMON_SLIP


def misread(figures: str) -> Iterator[tuple[str, str, float]]:
    """The figures with two neighbours exchanged, or with one digit another, with the words and how rare it is.

    >>> [other for other, words, _ in misread("12") if words == "two digits exchanged"]
    ['21']
    """
    at = [i for i, sign in enumerate(figures) if sign.isdigit()]
    for a, b in pairwise(at):
        if figures[a] != figures[b]:
            other = f"{figures[:a]}{figures[b]}{figures[a + 1 : b]}{figures[a]}{figures[b + 1 :]}"
            yield other, "two digits exchanged", RARE_SLIP
    for i in at:
        for digit in "0123456789":
            if digit != figures[i] and not (digit == "0" and i == at[0]):
                yield f"{figures[:i]}{digit}{figures[i + 1 :]}", "one digit misread", UNCOMMON_SLIP
