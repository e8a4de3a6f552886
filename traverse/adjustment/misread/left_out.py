"""A whole leg lost with its station, where stations numbered on by one lack a number and circuits miss there by one vector."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from traverse.adjustment.misread.explained import Explanation, LegLeftOut
from traverse.adjustment.records import Closing
from traverse.adjustment.vectors import Drawn
from traverse.log.records import Log
from traverse.settled import settled_all

SAME_VECTOR = 2.0
"""Standard errors within which two circuits over one gap miss alike; common practice, no source."""
LIKE_A_LEG = (0.25, 2.0)
"""Of the shortest and of the longest leg of a log, what a lost one is between; common practice, no source."""


def with_leg_left_out(
    log: Log, closings: Sequence[Closing], explained: Mapping[int, Explanation], drawn: Drawn
) -> Mapping[int, Explanation]:
    """The explanations, with the leg of a missing number in place of readings that are accused where it explains them better.

    It does where every circuit over the gap fails by one vector as long as a leg; with one such circuit, and a usual slip of a
    reading that explains it, the two are told beside each other.
    """
    skipped = log.skipped
    if skipped is None:
        return explained
    over: list[tuple[int, float]] = []
    for i, closing in enumerate(closings):
        over += [(i, step.sign) for step in closing.circuit.steps if step.edge == skipped.leg.index]
    if not over or any(i not in explained for i, _ in over):
        return explained
    missing = np.array([-sign * closings[i].misclosure_m[:2] for i, sign in over])
    spread = np.array([np.diagonal(closings[i].covariance_m2)[:2] for i, _ in over])
    alike = settled_all((missing - missing[0]) ** 2, 6) <= SAME_VECTOR**2 * (spread + spread[0])
    length = np.hypot(*drawn.vectors.observed_m[: len(log.legs), :2].T)
    east, north = (float(part) for part in missing[0])
    long = math.hypot(east, north)
    least, most = LIKE_A_LEG
    if not alike.all() or not least * float(length.min()) <= long <= most * float(length.max()):
        return explained
    lost = LegLeftOut(
        skipped=skipped, length_m=long, toward_deg=math.degrees(math.atan2(east, north)) % 360.0
    )
    only = over[0][0]
    first = explained[only].ranked
    if len(over) == 1 and first and not first[0].slip.is_vague:
        return {**explained, only: replace(explained[only], decides=None, left_out=lost)}
    return {
        **explained,
        **{i: replace(explained[i], ranked=(), decides=None, together=None, left_out=lost) for i, _ in over},
    }
