"""The normal equations of a network in blocks of three: their solution and its covariance."""

from __future__ import annotations

import heapq

import numpy as np

from traverse.adjustment.records import Flags, Floats, Indices
from traverse.record import record

DENSE_LIMIT = 120
"""Unknown places up to which the whole matrix is inverted at once."""
COST_LIMIT = 12_000_000
"""Block products up to which places are eliminated one by one; ground as walked stays far below."""


@record(frozen=True, slots=True, kw_only=True)
class Solved:
    """Shifts of the unknown places, and how well they are known."""

    shift: Floats  # (n, 3)
    covariance: Floats  # (n, 3, 3)
    between: Floats  # (n_edges, 3, 3), of each edge's start with its end
    bounds: bool = False
    """Whether the covariances are upper bounds, because the network is too tangled for more."""


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
    order = None
    if len(own) > DENSE_LIMIT:
        order = _minimum_degree(len(own), start.tolist(), end.tolist())
        if order is None:
            shift = _solve_only(start, end, diagonal, off, right)
            covariance, between = _bounds(start, end, weight, own=own, fixed=fixed)
        else:
            shift, covariance, between = _sparse(start, end, diagonal, off, right, order)
    else:
        shift, covariance, between = _dense(start, end, diagonal, off, right)
    return Solved(
        shift=shift,
        covariance=covariance * (free[:, :, None] * free[:, None, :]),
        between=between * (free[start][:, :, None] * free[end][:, None, :]),
        bounds=len(own) > DENSE_LIMIT and order is None,
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
    start: Indices, end: Indices, diagonal: Floats, off: Floats, right: Floats, order: list[int]
) -> tuple[Floats, Floats, Floats]:
    """Block elimination by minimum degree, and the inverse on the pattern of the factor only."""
    count = len(diagonal)
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


def _solve_only(start: Indices, end: Indices, diagonal: Floats, off: Floats, right: Floats) -> Floats:
    """The shifts alone, by the sparse factorisation of scipy."""
    from scipy.sparse import bsr_matrix, coo_matrix
    from scipy.sparse.linalg import splu

    count = len(diagonal)
    every = np.arange(count)
    rows = np.concatenate((every, start, end))
    columns = np.concatenate((every, end, start))
    blocks = np.concatenate((diagonal, off, off.transpose(0, 2, 1)))
    where = coo_matrix((np.arange(len(rows)), (rows, columns)), shape=(count, count)).tocoo()
    by_row = np.lexsort((where.col, where.row))
    pointer = np.concatenate(([0], np.cumsum(np.bincount(where.row, minlength=count))))
    matrix = bsr_matrix(
        (blocks[where.data[by_row]], where.col[by_row], pointer), shape=(3 * count, 3 * count)
    ).tocsc()
    options = {"SymmetricMode": True}
    factor = splu(matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options=options)
    shift: Floats = factor.solve(right.reshape(-1)).reshape(count, 3)
    return shift


def _bounds(
    start: Indices, end: Indices, weight: Floats, *, own: Floats, fixed: Flags
) -> tuple[Floats, Floats]:
    """Upper bounds of the covariances: along the way of fewest legs from what is known.

    More observations never make a place worse known, so the whole network does at least as well.
    """
    count = len(own)
    spread = np.array([np.linalg.pinv(one) for one in weight]).reshape(-1, 3, 3)
    near: list[list[tuple[int, int]]] = [[] for _ in range(count)]
    for edge, (a, b) in enumerate(zip(start.tolist(), end.tolist(), strict=True)):
        near[a].append((b, edge))
        near[b].append((a, edge))
    covariance, between = np.zeros((count, 3, 3)), np.zeros((len(start), 3, 3))
    known = fixed.any(axis=1) | (own[:, 0, 0] > 0.0)
    for at in np.flatnonzero(known & (own[:, 0, 0] > 0.0)).tolist():
        covariance[at] = np.linalg.pinv(own[at])
    front = np.flatnonzero(known).tolist()
    for at in front:  # grows while it is walked
        for other, edge in near[at]:
            if not known[other]:
                known[other] = True
                covariance[other] = covariance[at] + spread[edge]
                between[edge] = covariance[at]
                front.append(other)
    return covariance, between


def _minimum_degree(count: int, start: list[int], end: list[int]) -> list[int] | None:
    """Elimination order that takes the place with the fewest neighbours next; None where it would cost too much."""
    near: list[set[int]] = [set() for _ in range(count)]
    for a, b in zip(start, end, strict=True):
        near[a].add(b)
        near[b].add(a)
    heap = [(len(neighbours), at) for at, neighbours in enumerate(near)]
    heapq.heapify(heap)
    done = [False] * count
    order: list[int] = []
    cost = 0
    while heap:
        degree, at = heapq.heappop(heap)
        if done[at] or degree != len(near[at]):
            continue
        done[at] = True
        order.append(at)
        neighbours = near[at]
        cost += degree * degree
        if cost > COST_LIMIT:
            return None
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
