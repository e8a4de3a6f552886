"""The normal equations of a network in blocks of three: their solution and its covariance."""

from __future__ import annotations

import heapq

import numpy as np

from traverse.adjustment.records import Flags, Floats, Indices
from traverse.record import record

DENSE_LIMIT = 120
"""Unknown places up to which the whole matrix is inverted at once."""


@record(frozen=True, slots=True, kw_only=True)
class Solved:
    """Shifts of the unknown places, and how well they are known."""

    shift: Floats  # (n, 3)
    covariance: Floats  # (n, 3, 3)
    between: Floats  # (n_edges, 3, 3), of each edge's start with its end


def solve(
    start: Indices,
    end: Indices,
    weight: Floats,
    misfit: Floats,
    *,
    own: Floats,
    own_right: Floats,
    fixed: Flags,
) -> Solved:
    """Shifts that make the weighted squares of the edges' misfits least.

    `start`, `end` (n_edges,), `weight` (n_edges, 3, 3) and `misfit` (n_edges, 3) are what was observed between
    places; `own` (n, 3, 3) and `own_right` (n, 3) what was observed of a place itself; `fixed` (n, 3) stay.
    """
    free = (~fixed).astype(np.float64)
    diagonal, right = own.copy(), own_right.copy()
    np.add.at(diagonal, start, weight)
    np.add.at(diagonal, end, weight)
    pull = np.einsum("eij,ej->ei", weight, misfit)
    np.add.at(right, start, -pull)
    np.add.at(right, end, pull)
    diagonal *= free[:, :, None] * free[:, None, :]
    axis = np.arange(3)
    diagonal[:, axis, axis] += 1.0 - free
    right *= free
    off = -weight * free[start][:, :, None] * free[end][:, None, :]
    solution = _dense if len(own) <= DENSE_LIMIT else _sparse
    shift, covariance, between = solution(start, end, diagonal, off, right)
    return Solved(
        shift=shift,
        covariance=covariance * (free[:, :, None] * free[:, None, :]),
        between=between * (free[start][:, :, None] * free[end][:, None, :]),
    )


def inverses(matrices: Floats) -> Floats:
    """Inverse of each matrix, (…, k, k)."""
    return np.asarray(np.linalg.inv(matrices), dtype=np.float64)


def _dense(
    start: Indices, end: Indices, diagonal: Floats, off: Floats, right: Floats
) -> tuple[Floats, Floats, Floats]:
    count = len(diagonal)
    blocks = np.zeros((count, count, 3, 3))
    np.add.at(blocks, (start, end), off)
    np.add.at(blocks, (end, start), off.transpose(0, 2, 1))
    every = np.arange(count)
    blocks[every, every] += diagonal
    inverse = inverses(blocks.transpose(0, 2, 1, 3).reshape(3 * count, 3 * count))
    shift: Floats = (inverse @ right.reshape(-1)).reshape(count, 3)
    pairs: Floats = inverse.reshape(count, 3, count, 3).transpose(0, 2, 1, 3)
    return shift, pairs[every, every], pairs[start, end]


def _sparse(
    start: Indices, end: Indices, diagonal: Floats, off: Floats, right: Floats
) -> tuple[Floats, Floats, Floats]:
    """Block elimination by minimum degree, and the inverse on the pattern of the factor only."""
    count = len(diagonal)
    order = _minimum_degree(count, start.tolist(), end.tolist())
    place = np.empty(count, dtype=np.intp)
    place[order] = np.arange(count)
    low: list[dict[int, Floats]] = [{} for _ in range(count)]
    rows, columns = place[start].tolist(), place[end].tolist()
    for a, b, block in zip(rows, columns, off, strict=True):
        first, other, lower = (a, b, block.T) if a < b else (b, a, block)
        column = low[first]
        column[other] = column[other] + lower if other in column else lower
    shift, covariance, inverse = _eliminate(diagonal[order], low, right[order])
    between = np.empty_like(off)
    for i, (a, b) in enumerate(zip(rows, columns, strict=True)):
        between[i] = inverse[a][b].T if a < b else inverse[b][a]
    return shift[place], covariance[place], between


def _minimum_degree(count: int, start: list[int], end: list[int]) -> list[int]:
    """Elimination order that takes the place with the fewest neighbours next."""
    near: list[set[int]] = [set() for _ in range(count)]
    for a, b in zip(start, end, strict=True):
        near[a].add(b)
        near[b].add(a)
    heap = [(len(neighbours), at) for at, neighbours in enumerate(near)]
    heapq.heapify(heap)
    done = [False] * count
    order = []
    while heap:
        degree, at = heapq.heappop(heap)
        if done[at] or degree != len(near[at]):
            continue
        done[at] = True
        order.append(at)
        neighbours = near[at]
        for other in neighbours:
            reach = near[other]
            reach |= neighbours
            reach.discard(at)
            reach.discard(other)
            heapq.heappush(heap, (len(reach), other))
    return order


def _eliminate(
    diagonal: Floats, low: list[dict[int, Floats]], right: Floats
) -> tuple[Floats, Floats, list[dict[int, Floats]]]:
    """Factor, solve and selected inverse; arguments in elimination order, overwritten.

    Source: K. Takahashi and others, selected inverse by the recurrence on the factor (1973), from memory.
    """
    count = len(diagonal)
    factor: list[Floats | None] = [None] * count
    rows: list[list[int]] = [[]] * count
    inverses = np.empty_like(diagonal)
    for j in range(count):
        below = rows[j] = sorted(low[j])
        inverses[j] = np.linalg.inv(diagonal[j])
        if not below:
            continue
        blocks = np.array([low[j][i] for i in below])
        factor[j] = share = blocks @ inverses[j]
        update = np.einsum("aij,bkj->abik", share, blocks)
        right[below] -= share @ right[j]
        for x, i in enumerate(below):
            diagonal[i] -= update[x, x]
            column = low[i]
            for y in range(x + 1, len(below)):
                other = below[y]
                column[other] = column[other] - update[y, x] if other in column else -update[y, x]
    shift, covariance = np.empty((count, 3)), np.empty((count, 3, 3))
    inverse: list[dict[int, Floats]] = [{}] * count
    for j in range(count - 1, -1, -1):
        below = rows[j]
        shift[j] = inverses[j] @ right[j]
        covariance[j] = inverses[j]
        share_or_none = factor[j]
        if share_or_none is None:
            continue
        size = len(below)
        shift[j] -= np.einsum("xji,xj->i", share_or_none, shift[below])
        square = np.empty((size, size, 3, 3))
        for x in range(size):
            square[x, x] = covariance[below[x]]
            for y in range(x + 1, size):
                square[y, x] = inverse[below[x]][below[y]]
                square[x, y] = square[y, x].T
        side = -np.einsum("xyij,yjk->xik", square, share_or_none)
        covariance[j] -= np.einsum("xji,xjk->ik", share_or_none, side)
        inverse[j] = dict(zip(below, side, strict=True))
    return shift, covariance, inverse
