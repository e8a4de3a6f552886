"""Beds off all of several around them, which agree: seen and told, with nothing said of what they may have been."""

from __future__ import annotations

import math
from collections.abc import Container, Iterator

from traverse.diagnostic import Diagnostic, note
from traverse.source import Span
from traverse.structure.readings.directions import pole_angle, pole_angles
from traverse.structure.readings.mean import principal_axis
from traverse.structure.walk.neighbours import Neighbours
from traverse.trade import ALIKE_DEG, OFF_AROUND_DEG, OFF_AROUND_SD, POLE_SD_DEG

_EACH_SIDE = 3
"""Beds before and after one that are looked at; common practice, no source."""
_LEAST_SIDE = 2
"""Of fewer on a side the end of the walk may be where another limb begins; common practice, no source."""


def beds_off(near: Neighbours, without: Container[Span]) -> Iterator[Diagnostic]:
    """Beds that lie farther off those around them than these scatter, where no unconformity stands between; beside a fault by far.

    Where beds turn, on a fold, those around scatter as much. `without` are beds that are asked about already; they don't
    count among those around another.
    """
    for index, bed in enumerate(near.beds):
        if bed.span in without:
            continue
        sides = [along_one_side(near, index, step, without) for step in (-1, 1)]
        least = OFF_AROUND_DEG
        if min(map(len, sides)) < _LEAST_SIDE:
            # A fault drags the beds beside it: what lies off there lies far off.
            sides = [along_one_side(near, index, step, without, over_faults=True) for step in (-1, 1)]
            least = ALIKE_DEG
        if min(map(len, sides)) < _LEAST_SIDE:
            continue
        around = near.poles[[one for side in sides for one in side]]
        if pole_angles(around, near.poles[index]).max() <= least:
            # So near to each of them it lies as near to their mean.
            continue
        mean = principal_axis(around)[0]
        off = pole_angle(near.poles[index], mean)
        if off <= least:
            continue
        apart = [pole_angle(one, mean) for one in around]
        sd = max(_scatter_deg(apart), bed.sd_deg, POLE_SD_DEG)
        # Those next to it on either side lie as one: a fold between them would show in one of them.
        if off > OFF_AROUND_SD * sd:
            yield note(
                "bed-off",
                f"bed {bed.written} lies {off:.0f}° off {len(around)} beds around it, which agree within {max(apart):.0f}°",
                bed.span,
                "look at it again: the figures on the page, or bedding and not a joint or a block on the ground",
            )


def _scatter_deg(apart_deg: list[float]) -> float:
    """Of poles about their mean, in one of two directions."""
    return math.sqrt(math.fsum(one**2 for one in apart_deg) / (2 * (len(apart_deg) - 1)))


def along_one_side(
    near: Neighbours, index: int, step: int, without: Container[Span], *, over_faults: bool = False
) -> list[int]:
    """Three beds next to one on one side, or as many as there are, the nearest first."""
    found: list[int] = []
    at, seen = index, {index}
    while len(found) < _EACH_SIDE:
        beside = near.next_to(at, over_faults=over_faults)
        beyond = [one for one in beside if (one - index) * step > 0 and one not in seen]
        if not beyond:
            break
        at = beyond[0]
        seen.add(at)
        if near.beds[at].span not in without:
            found.append(at)
    return found
