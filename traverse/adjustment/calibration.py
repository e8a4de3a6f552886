"""The error of a pace's length, common to all legs of one pacer: it stretches what they walked."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from traverse.adjustment.records import Circuit, Floats, Indices
from traverse.log.readings import PaceCourse
from traverse.record import record
from traverse.reduction.pace import pace_length_m, pace_sd_m
from traverse.reduction.records import ReducedLegs
from traverse.trade import ONE_IN_A_HUNDRED, STATED_FREEDOM, chi_square_limit


@record(frozen=True, slots=True, kw_only=True)
class PacedAlike:
    """Legs that one calibration gives the length of."""

    share: float
    """Its standard error over the pace's length."""
    legs: Indices


def stretches(legs: ReducedLegs) -> tuple[PacedAlike, ...]:
    """Every calibration of the log that walks tell the error of, by the precision in force where its pace is first used."""
    of: dict[int, tuple[PaceCourse, list[int]]] = {}
    for i, leg in enumerate(legs.booked):
        course = leg.conditions.pace
        if leg.distance.unit.is_pace and course is not None:
            of.setdefault(id(course), (course, []))[1].append(i)
    shares = (
        (_share(course, legs.booked[edges[0]].conditions.precision.pace_share), edges)
        for course, edges in of.values()
    )
    return tuple(
        PacedAlike(share=share, legs=np.array(edges, dtype=np.intp))
        for share, edges in shares
        if share is not None
    )


def _share(course: PaceCourse, stated: float) -> float | None:
    """Standard error of a pace's length over it, from walks over a course; None where none or one was made.

    Three or four walks tell their own scatter poorly, and by chance may all count alike: each is a distance paced, as good
    as the log states for one, and the variances are pooled. Walks that scatter more than 99 in 100 of that precision
    belie it and count alone.

    Source: test of a variance by chi-square, and pooled variance, any text of statistics: that of the walks has n - 1
    degrees of freedom, that stated has `STATED_FREEDOM`.
    """
    sd_m = pace_sd_m(course)
    if sd_m is None:
        return None
    count = len(course.counts)
    share = sd_m / pace_length_m(course)
    squares = (count - 1) * count * share**2
    if squares > chi_square_limit(count - 1, ONE_IN_A_HUNDRED) * stated**2:
        return share
    pooled = (STATED_FREEDOM * stated**2 + squares) / (STATED_FREEDOM + count - 1)
    return math.sqrt(pooled / count)


def stretched_m2(circuit: Circuit, observed_m: Floats, several: Sequence[PacedAlike]) -> Floats:
    """What the calibrations add to the covariance of a misclosure, (3, 3).

    Between two points it adds up along the straight line. Round a loop of one pacer it cancels but for a share of the
    gap, which is nothing; with several pacers it adds up along what each of them walked.
    Source: propagation of variance with a common part, common practice, no source.
    """
    ways = stretched_ways(circuit, observed_m, several)
    return np.asarray(ways.T @ ways, dtype=np.float64)


def stretched_ways(circuit: Circuit, observed_m: Floats, several: Sequence[PacedAlike]) -> Floats:
    """What one standard error of each calibration moves a misclosure by, (n_calibrations, 3)."""
    edges = np.array([step.edge for step in circuit.steps], dtype=np.intp)
    signs = np.array([step.sign for step in circuit.steps])
    ways = np.zeros((len(several), 3))
    for k, one in enumerate(several):
        under = np.isin(edges, one.legs)
        if under.any() and not (circuit.closed and under.all()):
            ways[k] = one.share * (signs[under, None] * observed_m[edges[under]]).sum(axis=0)
    return ways
