"""The wave of an unconformity: along its line on a section and in the list of signs, and under a unit of the column."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from traverse.sheet.paper.page import Point

_HALF_MM, _HIGH_MM = 1.5, 0.5
"""Half a wave is about so long, and rises so high to either side; common practice, no source."""
_STEPS = 6
"""Points of half a wave."""


def waved(line: Sequence[Point]) -> list[Point]:
    """A line of points on paper as a wave about it, of whole half-waves from end to end; one too short for any as it is."""
    pairs = [(one, other) for one, other in pairwise(line) if math.dist(one, other) > 0.0]
    lengths = [math.dist(one, other) for one, other in pairs]
    total = math.fsum(lengths)
    halves = round(total / _HALF_MM)
    if halves < 2:
        return list(line)
    found: list[Point] = []
    at, run = 0, 0.0
    for step in range(halves * _STEPS + 1):
        along = total * step / (halves * _STEPS)
        while at + 1 < len(pairs) and along > run + lengths[at]:
            run += lengths[at]
            at += 1
        (x, y), (to_x, to_y) = pairs[at]
        way = ((to_x - x) / lengths[at], (to_y - y) / lengths[at])
        off = _HIGH_MM * math.sin(math.pi * step / _STEPS)
        on = min(along - run, lengths[at])
        found.append((x + on * way[0] - off * way[1], y + on * way[1] + off * way[0]))
    return found
