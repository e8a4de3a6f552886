"""Legs that one mistake has turned or stretched alike."""

from __future__ import annotations

import numpy as np

from traverse.adjustment.misread.explained import Loops
from traverse.adjustment.misread.slips import Slip
from traverse.adjustment.records import Flags, Floats, Indices, Network
from traverse.record import record


@record(frozen=True, slots=True, kw_only=True)
class SharedMistake:
    """A mistake, and what it did to each leg."""

    slip: Slip
    legs: Flags  # (n_legs,)
    turn_deg: Floats  # (n_legs,)
    stretch: Floats | float = 1.0  # (n_legs,), or of all `legs`
    part: bool = False
    """Whether it is one pacer of several, or one heading of several, whose legs a loop tells from the others'."""


def steps_over_legs(loops: Loops, network: Network) -> list[tuple[Indices, Floats]]:
    """Of each circuit the legs that it runs over, and their signs there."""
    return [
        (
            np.array([step.edge for step in row if step.edge < network.leg_count], dtype=np.intp),
            np.array([step.sign for step in row if step.edge < network.leg_count]),
        )
        for row in loops.steps
    ]
