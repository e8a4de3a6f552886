"""What the expected misclosure of a circuit is made of, and what the pace's calibration adds that no loop sees."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from traverse.adjustment.records import Closing, Floats, Network
from traverse.adjustment.vectors import Drawn, scaled_jacobian
from traverse.log.readings import PaceCourse
from traverse.record import record
from traverse.reduction.pace import pace_length_m, pace_sd_m
from traverse.reduction.records import ReducedLegs


@record(frozen=True, slots=True, kw_only=True)
class Made:
    """Plan variances that make up what a circuit is expected to miss by, square metres."""

    distance_m2: float
    slope_m2: float
    bearing_m2: float
    known_points_m2: float
    """Of the controls at its ends, and of a tie by name."""
    calibration_m: float
    """What one standard error of every pace's length does between its ends; no part of the test."""


def made_of(
    legs: ReducedLegs, network: Network, closings: Sequence[Closing], drawn: Drawn
) -> tuple[Made, ...]:
    """For each circuit: the sums of what its legs' distances, slopes and bearings bring, and the rest.

    The calibration is common to all legs of one pacer: it stretches the walk. Round a loop it cancels, between two
    points it adds up along the straight line; with several pacers, along what each of them walked.
    Source: propagation of variance with a common part, common practice, no source.
    """
    factor = scaled_jacobian(
        legs,
        azimuth_deg=legs.azimuth_deg - np.where(legs.from_grid, 0.0, drawn.convergence_deg),
        scale=drawn.scale,
    )
    parts: Floats = (factor[:, :2, :] ** 2).sum(axis=1)  # (n, 3) by distance, slope, bearing
    courses = _courses(legs)
    observed = drawn.vectors.observed_m
    found = []
    for closing in closings:
        steps = [step for step in closing.circuit.steps if step.edge < network.leg_count]
        edges = np.array([step.edge for step in steps], dtype=np.intp)
        distance, slope, bearing = parts[edges].sum(axis=0).tolist()
        total = float(np.trace(closing.covariance_m2[:2, :2]))
        stretched: dict[int, Floats] = {}
        shares: dict[int, float] = {}
        for step in steps:
            course = courses[step.edge]
            if course is None:
                continue
            key = id(course)
            if key not in shares:
                shares[key] = (pace_sd_m(course) or 0.0) / pace_length_m(course)
            stretched[key] = stretched.get(key, np.zeros(2)) + step.sign * observed[step.edge, :2]
        if closing.circuit.closed and len(stretched) < 2:
            stretched = {}  # it stretches the whole loop: what is left of it is a share of the gap
        found.append(
            Made(
                distance_m2=distance,
                slope_m2=slope,
                bearing_m2=bearing,
                known_points_m2=max(0.0, total - distance - slope - bearing),
                calibration_m=math.sqrt(
                    sum((shares[key] * float(np.hypot(*way))) ** 2 for key, way in stretched.items())
                ),
            )
        )
    return tuple(found)


def _courses(legs: ReducedLegs) -> list[PaceCourse | None]:
    """The calibration that each leg's distance rests on."""
    return [leg.conditions.pace if leg.distance.unit.is_pace else None for leg in legs.booked]
