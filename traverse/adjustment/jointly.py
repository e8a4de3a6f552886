"""All circuits of a log at once: what legs, known points and pacers that they share say of one by another."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from traverse.adjustment.calibration import PacedAlike, stretched_ways
from traverse.adjustment.closure import SINGULAR_M2
from traverse.adjustment.records import Closing, Flags, Floats, Network, Step, Vectors
from traverse.record import record
from traverse.settled import settled
from traverse.trade import ONE_IN_A_THOUSAND, PLAIN_ACCUSED, chi_square_limit

MOST = 12
"""Circuits up to which they are taken together; where more close, each is judged by itself."""


@record(frozen=True, slots=True, kw_only=True)
class Together:
    """Misclosures of all circuits with what they have in common."""

    misclosure_m: Floats  # (3 n,)
    covariance_m2: Floats  # (3 n, 3 n), up apart and 1 where an end has no height
    q: float
    freedom: int

    @property
    def fails(self) -> bool:
        """The log as a whole closes so badly that a wrong reading is looked for."""
        return self.q > chi_square_limit(self.freedom, PLAIN_ACCUSED)

    @property
    def limit(self) -> float:
        """What one good log in a thousand exceeds."""
        return chi_square_limit(self.freedom, ONE_IN_A_THOUSAND)


def taken_together(
    closings: Sequence[Closing], network: Network, vectors: Vectors, stretched: Sequence[PacedAlike]
) -> Together | None:
    """Chi-square of all circuits, those that share legs included; None where there is one, or too many.

    Two loops that share a leg may each close within its own limit and yet contradict each other.
    Source: generalised least squares on the condition equations, any adjustment text.
    """
    if not 2 <= len(closings) <= MOST:
        return None
    gap, covariance = misclosures(closings, network, vectors, stretched)
    q = settled(float(gap @ np.linalg.solve(covariance, gap)))
    freedom = 2 * len(closings) + sum(bool(one.q_up) for one in closings)
    return Together(misclosure_m=gap, covariance_m2=covariance, q=q, freedom=freedom)


def misclosures(
    closings: Sequence[Closing], network: Network, vectors: Vectors, stretched: Sequence[PacedAlike]
) -> tuple[Floats, Floats]:
    """The misclosures of all circuits, (3 n,), and their covariance, (3 n, 3 n), up apart and 1 where an end has no height."""
    count = len(closings)
    misclosure = np.array([closing.misclosure_m for closing in closings])
    flat = np.isnan(misclosure[:, 2])
    blocks = shared_m2([closing.circuit.steps for closing in closings], vectors)
    blocks += _known(closings, network)
    ways = np.array([stretched_ways(one.circuit, vectors.observed_m, stretched) for one in closings])
    blocks += np.einsum("ikx,jky->ijxy", ways, ways)
    blocks[np.arange(count), np.arange(count)] = [closing.covariance_m2 for closing in closings]
    gap: Floats = np.where(np.isnan(misclosure), 0.0, misclosure).reshape(-1)
    return gap, as_matrix(blocks, flat)


def shared_m2(several: Sequence[Sequence[Step]], vectors: Vectors) -> Floats:
    """What the legs that ways share add to the covariance of each two of them, (n, n, 3, 3)."""
    edges = sorted({step.edge for steps in several for step in steps})
    column = {edge: k for k, edge in enumerate(edges)}
    signs = np.zeros((len(several), len(edges)))
    for i, steps in enumerate(several):
        for step in steps:
            signs[i, column[step.edge]] += step.sign
    at = np.array(edges, dtype=np.intp)
    found: Floats = np.einsum("ie,je,exy->ijxy", signs, signs, vectors.covariance_m2[at], optimize=True)
    return found


def as_matrix(blocks: Floats, flat: Flags) -> Floats:
    """Blocks (n, n, 3, 3) as one matrix (3 n, 3 n); where `flat`, up is apart with a variance of one."""
    size = 3 * len(blocks)
    matrix = np.ascontiguousarray(blocks.transpose(0, 2, 1, 3)).reshape(size, size)
    up = 3 * np.flatnonzero(flat) + 2
    matrix[up, :] = 0.0
    matrix[:, up] = 0.0
    matrix[up, up] = 1.0
    return matrix + SINGULAR_M2 * np.eye(size)


def _known(closings: Sequence[Closing], network: Network) -> Floats:
    """What known points that ties share add to the covariance of each two of them, (n, n, 3, 3)."""
    signs = np.zeros((len(closings), len(network.fixes)))
    column = {station: k for k, station in enumerate(network.fixes)}
    for i, closing in enumerate(closings):
        if not closing.circuit.closed:
            signs[i, column[closing.circuit.stations[0]]] += 1.0
            signs[i, column[closing.circuit.stations[-1]]] -= 1.0
    variance = np.array([fix.variance_m2 for fix in network.fixes.values()]).reshape(-1, 3)
    # A known point without a height has no variance of it either.
    found: Floats = np.einsum("ik,jk,kx,xy->ijxy", signs, signs, np.nan_to_num(variance), np.eye(3))
    return found
