"""Misclosure of each loop and tie, and the closing against what its precision leads one to expect."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from traverse.adjustment.calibration import PacedAlike, stretched_m2
from traverse.adjustment.records import (
    Circuit,
    Closing,
    Floats,
    LeftOut,
    Network,
    Vectors,
)
from traverse.settled import settled, settled_all
from traverse.trade import ACCUSED, ALL_ACCUSED, shared_limits

SINGULAR_M2 = 1e-8
"""Added to a covariance that says a place is known without error, so that it can be divided by."""
FLAT = 1e-10
"""A covariance is flat where its determinant is less than this of a round one's with the same trace."""


def judge_circuits(
    network: Network, vectors: Vectors, *, anyway: bool, stretched: Sequence[PacedAlike] = ()
) -> tuple[Closing, ...]:
    """Every loop and tie of the network, in the order of the log; `anyway` uses those that fail as well.

    The error of each pacer's calibration counts where it shows: between known points. All that closes over several parties
    shares one chance of a false alarm, since a camp has as many as its leader types; what a party closes by itself stands alone.
    """
    closings = [_test(circuit, network, vectors, stretched=stretched) for circuit in network.circuits]
    tests = tests_of([one for one in closings if one.circuit.of_parties])
    return tuple(_judged(one, tests if one.circuit.of_parties else 1, anyway=anyway) for one in closings)


def left_out(closings: tuple[Closing, ...]) -> LeftOut:
    """What the closings that failed leave out: a loop's closing leg, a tie by name, the control last reached."""
    edges: set[int] = set()
    edges_up: set[int] = set()
    controls: set[int] = set()
    controls_up: set[int] = set()
    for closing in closings:
        circuit = closing.circuit
        failed_up = not closing.used or (closing.q_up is not None and not closing.used_up)
        if circuit.last_control is None:
            edges.update(() if closing.used else (circuit.maker,))
            edges_up.update((circuit.maker,) if failed_up else ())
        else:
            controls.update(() if closing.used else (circuit.last_control,))
            controls_up.update((circuit.last_control,) if failed_up else ())
    return LeftOut(
        edges=frozenset(edges),
        edges_up=frozenset(edges_up),
        controls=frozenset(controls),
        controls_up=frozenset(controls_up),
    )


def suspicious(closings: Sequence[Closing]) -> list[bool]:
    """For each circuit, whether it closes so badly that a wrong reading is looked for.

    The more circuits and heights are tested, the more must be missed: of a hundred logs without a slip one alone is
    to be accused. Source: C. E. Bonferroni's inequality, any text on several tests at once.
    """
    plan, up = accusing_limits(closings)
    return [closing.q > plan or (closing.q_up is not None and closing.q_up > up) for closing in closings]


def accusing_limits(closings: Sequence[Closing]) -> tuple[float, float]:
    """Chi-square in plan and in height beyond which a wrong reading is looked for."""
    return limits(closings, ACCUSED - (ALL_ACCUSED if len(closings) > 1 else 0.0))


def limits(closings: Sequence[Closing], share: float) -> tuple[float, float]:
    """Chi-square in plan and in height that one of all circuits exceeds in this share of good logs."""
    return shared_limits(max(tests_of(closings), 1), share)


def tests_of(closings: Sequence[Closing]) -> int:
    """How many tests these are, in plan and in height."""
    return len(closings) + sum(closing.q_up is not None and closing.q_up > 0.0 for closing in closings)


def chi_square(misclosure_m: Floats, covariance_m2: Floats) -> float:
    """E' S^-1 e of a misclosure and its expected covariance.

    >>> round(chi_square(np.array([3.0, 4.0]), np.diag([9.0, 4.0])), 9)
    5.0
    """
    return float(misclosure_m @ np.linalg.solve(usable(covariance_m2), misclosure_m))


def usable(covariance_m2: Floats) -> Floats:
    """The covariance, made invertible where a precision of nothing has left it singular."""
    size = covariance_m2.shape[-1]
    mean = np.trace(covariance_m2, axis1=-2, axis2=-1) / size
    with np.errstate(all="ignore"):  # a slope of next to nothing underflows on the way
        flat = ~(np.linalg.det(covariance_m2) > FLAT * mean**size) | ~(mean > 0.0)
    return covariance_m2 + np.asarray(flat)[..., None, None] * (SINGULAR_M2 * np.eye(size))


def _judged(closing: Closing, tests: int, *, anyway: bool) -> Closing:
    one = replace(closing, tests=tests)
    used = anyway or one.q <= one.limits.refuse
    used_up = used and one.q_up is not None and (anyway or one.q_up <= one.limits.refuse_up)
    return replace(one, used=used, used_up=used_up)


def _test(
    circuit: Circuit, network: Network, vectors: Vectors, *, stretched: Sequence[PacedAlike]
) -> Closing:
    edges = np.array([step.edge for step in circuit.steps], dtype=np.intp)
    signs = np.array([step.sign for step in circuit.steps])
    misclosure = (signs[:, None] * vectors.observed_m[edges]).sum(axis=0)
    covariance = vectors.covariance_m2[edges].sum(axis=0)
    covariance = covariance + stretched_m2(circuit, vectors.observed_m, stretched)
    if not circuit.closed:
        first, last = (network.fixes[circuit.stations[i]] for i in (0, -1))
        misclosure = misclosure + (first.position_m - last.position_m)
        covariance = covariance + np.diag(first.variance_m2 + last.variance_m2)
    misclosure = settled_all(misclosure)
    q = settled(chi_square(misclosure[:2], covariance[:2, :2]))
    q_up = None
    if not math.isnan(misclosure[2]):
        q_up = settled(float(misclosure[2] ** 2 / max(covariance[2, 2], SINGULAR_M2)))
    return Closing(
        circuit=circuit,
        length_m=float(vectors.horizontal_m[edges].sum()),
        misclosure_m=misclosure,
        covariance_m2=covariance,
        q=q,
        q_up=q_up,
        used=False,
        used_up=False,
    )
