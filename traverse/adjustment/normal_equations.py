"""The normal equations of a network in blocks of three: their solution and its covariance."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np

from traverse.adjustment.elimination import contraction, eliminate, minimum_degree
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
    joint: Callable[[Indices], Floats]
    """Of some places (k,), each with each, (k, k, 3, 3); worked out when it is asked for."""
    shared: Callable[[Indices, Indices], Floats]
    """Of one place of each pair with the other (k, 3, 3), for pairs by two lists (k,); worked out when it is asked for."""
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
    columns: Callable[[Indices], Floats]
    between_pairs: Callable[[Indices, Indices], Floats]
    if len(own) > DENSE_LIMIT:
        order = minimum_degree(len(own), start.tolist(), end.tolist())
        if order is None:
            shift = _solve_only(start, end, diagonal, off, right)
            covariance, between = _bounds(start, end, weight, own=own, fixed=fixed)
        else:
            shift, covariance, between = eliminate(start, end, diagonal, off, right, order)
        columns = _contracted_columns(
            start, end, weight, own, free, otherwise=_sparse_columns(start, end, diagonal, off)
        )

        def between_pairs(one: Indices, other: Indices) -> Floats:
            found = _eliminated_between(start, end, diagonal, off, one, other)
            return _pair_by_pair(columns, one, other) if found is None else found
    else:
        shift, pairs = _dense(start, end, diagonal, off, right)
        every = np.arange(len(own))
        covariance, between = pairs[every, every], pairs[start, end]

        def columns(some: Indices) -> Floats:
            return pairs[np.ix_(some, some)]

        def between_pairs(one: Indices, other: Indices) -> Floats:
            return pairs[one, other]

    def joint(some: Indices) -> Floats:
        known = free[some]
        both = columns(some) * known[:, None, :, None] * known[None, :, None, :]
        return np.asarray(both, dtype=np.float64)

    def shared(one: Indices, other: Indices) -> Floats:
        both = between_pairs(one, other) * free[one][:, :, None] * free[other][:, None, :]
        return np.asarray(both, dtype=np.float64)

    return Solved(
        shift=shift,
        covariance=covariance * (free[:, :, None] * free[:, None, :]),
        between=between * (free[start][:, :, None] * free[end][:, None, :]),
        joint=joint,
        shared=shared,
        bounds=len(own) > DENSE_LIMIT and order is None,
    )


def inverses(matrices: Floats) -> Floats:
    """Inverse of each matrix, (…, k, k)."""
    return np.asarray(np.linalg.inv(matrices), dtype=np.float64)


def _dense(
    start: Indices, end: Indices, diagonal: Floats, off: Floats, right: Floats
) -> tuple[Floats, Floats]:
    """Shifts, and the inverse block by block, (n, n, 3, 3)."""
    count = len(diagonal)
    blocks = np.zeros((count, count, 3, 3))
    np.add.at(blocks, (start, end), off)
    np.add.at(blocks, (end, start), off.transpose(0, 2, 1))
    every = np.arange(count)
    blocks[every, every] += diagonal
    inverse = inverses(blocks.transpose(0, 2, 1, 3).reshape(3 * count, 3 * count))
    shift: Floats = (inverse @ right.reshape(-1)).reshape(count, 3)
    pairs: Floats = inverse.reshape(count, 3, count, 3).transpose(0, 2, 1, 3)
    return shift, pairs


def _solve_only(start: Indices, end: Indices, diagonal: Floats, off: Floats, right: Floats) -> Floats:
    """The shifts alone, by the sparse factorisation of scipy."""
    shift: Floats = _factored(start, end, diagonal, off)(right.reshape(-1)).reshape(len(diagonal), 3)
    return shift


def _sparse_columns(
    start: Indices, end: Indices, diagonal: Floats, off: Floats
) -> Callable[[Indices], Floats]:
    """A function that gives the inverse between some places, by a factorisation that is made once it is wanted."""
    factor = cache(lambda: _factored(start, end, diagonal, off))

    def columns(some: Indices) -> Floats:
        count = len(some)
        rows = (3 * some[:, None] + np.arange(3)).ravel()
        right = np.zeros((3 * len(diagonal), 3 * count))
        right[rows, np.arange(3 * count)] = 1.0
        found: Floats = factor()(right)[rows]
        return found.reshape(count, 3, count, 3).transpose(0, 2, 1, 3)

    return columns


_AT_ONCE = 32
"""Pairs of a tangled network that are solved together: few right sides with much in them are solved fastest."""


def _pair_by_pair(columns: Callable[[Indices], Floats], one: Indices, other: Indices) -> Floats:
    found = [np.zeros((0, 3, 3))]
    for first in range(0, len(one), _AT_ONCE):
        some = slice(first, first + _AT_ONCE)
        both = columns(np.concatenate((one[some], other[some])))
        every = np.arange(len(one[some]))
        found.append(both[every, every + len(every)])
    return np.concatenate(found)


def _eliminated_between(
    start: Indices, end: Indices, diagonal: Floats, off: Floats, one: Indices, other: Indices
) -> Floats | None:
    """The inverse between pairs of places, (k, 3, 3); None where that would cost too much.

    A pair is an edge of which nothing was observed: so the inverse on the pattern of the factor has its block, and a walk
    with few of them far apart costs hardly more than the walk alone.
    """
    if not len(one):
        return np.zeros((0, 3, 3))
    apart = one != other
    starts, ends = np.concatenate((start, one[apart])), np.concatenate((end, other[apart]))
    order = minimum_degree(len(diagonal), starts.tolist(), ends.tolist())
    if order is None:
        return None
    offs = np.concatenate((off, np.zeros((int(apart.sum()), 3, 3))))
    _, own, between = eliminate(starts, ends, diagonal.copy(), offs, np.zeros((len(diagonal), 3)), order)
    found: Floats = own[one]
    found[apart] = between[len(start) :]
    return found


def _contracted_columns(
    start: Indices,
    end: Indices,
    weight: Floats,
    own: Floats,
    free: Floats,
    *,
    otherwise: Callable[[Indices], Floats],
) -> Callable[[Indices], Floats]:
    """A function that gives the inverse between some places, by the network drawn together to them where few others stay."""
    held = (own != 0.0).any(axis=(1, 2)) | (free < 1.0).any(axis=1)
    keeping = cache(lambda: contraction(start, end, weight, held=held))

    def columns(some: Indices) -> Floats:
        # Two names of one place are one.
        once, back = np.unique(some, return_inverse=True)
        kept = keeping()(once)
        if len(kept.places) > len(once) + DENSE_LIMIT:
            return otherwise(some)
        known = free[kept.places]
        diagonal = own[kept.places]
        np.add.at(diagonal, kept.start, kept.weight)
        np.add.at(diagonal, kept.end, kept.weight)
        diagonal *= known[:, :, None] * known[:, None, :]
        axis = np.arange(3)
        diagonal[:, axis, axis] += 1.0 - known
        off = -kept.weight * known[kept.start][:, :, None] * known[kept.end][:, None, :]
        _, pairs = _dense(kept.start, kept.end, diagonal, off, np.zeros((len(diagonal), 3)))
        return pairs[np.ix_(back, back)]

    return columns


def _factored(start: Indices, end: Indices, diagonal: Floats, off: Floats) -> Callable[[Floats], Floats]:
    """What solves the equations for right sides (3 n,) or (3 n, k)."""
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
    return lambda right: np.asarray(factor.solve(right), dtype=np.float64)


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
