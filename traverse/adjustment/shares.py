"""What the expected misclosure of a circuit is made of, and what the pace's calibration brings."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from traverse.adjustment.calibration import stretched_m2, stretches
from traverse.adjustment.records import Closing, Floats, Network
from traverse.adjustment.vectors import Drawn, scaled_jacobian
from traverse.record import record
from traverse.reduction.records import ReducedLegs


@record(frozen=True, slots=True, kw_only=True)
class Made:
    """Plan variances that make up what a circuit is expected to miss by, square metres."""

    distance_m2: float
    slope_m2: float
    bearing_m2: float
    known_points_m2: float
    """Of the controls at its ends, and of a tie by name."""
    calibration_m2: float
    """Of the pace's length; nothing round a loop of one pacer."""


def made_of(
    legs: ReducedLegs, network: Network, closings: Sequence[Closing], drawn: Drawn
) -> tuple[Made, ...]:
    """For each circuit: the sums of what its legs' distances, slopes and bearings bring, and the rest.

    Source: propagation of variance with a common part, common practice, no source.
    """
    factor = scaled_jacobian(
        legs,
        azimuth_deg=legs.azimuth_deg - np.where(legs.from_grid, 0.0, drawn.convergence_deg),
        scale=drawn.scale,
    )
    parts: Floats = (factor[:, :2, :] ** 2).sum(axis=1)  # (n, 3) by distance, slope, bearing
    several = stretches(legs)
    observed = drawn.vectors.observed_m
    found = []
    for closing in closings:
        steps = [step for step in closing.circuit.steps if step.edge < network.leg_count]
        edges = np.array([step.edge for step in steps], dtype=np.intp)
        distance, slope, bearing = parts[edges].sum(axis=0).tolist()
        total = float(np.trace(closing.covariance_m2[:2, :2]))
        calibration = float(np.trace(stretched_m2(closing.circuit, observed, several)[:2, :2]))
        found.append(
            Made(
                distance_m2=distance,
                slope_m2=slope,
                bearing_m2=bearing,
                known_points_m2=max(0.0, total - distance - slope - bearing - calibration),
                calibration_m2=calibration,
            )
        )
    return tuple(found)
