"""Block elimination of a network, place by place: the inverse on the pattern of its factor, or between a few places only."""

from __future__ import annotations

import heapq
from collections.abc import Callable

import numpy as np

from traverse.adjustment.records import Flags, Floats, Indices
from traverse.record import record

COST_LIMIT = 60_000_000
"""Block products up to which places are eliminated one by one; ground as walked stays below."""


@record(frozen=True, slots=True, kw_only=True)
class Order:
    """Places in the order in which they are eliminated."""

    place: Indices  # (n,) when each place's turn comes
    below: tuple[tuple[int, ...], ...]
    """By turn: the later turns that the place is joined to when its own comes, sorted."""


def minimum_degree(count: int, start: list[int], end: list[int]) -> Order | None:
    """The place with the fewest neighbours next; None where the elimination would cost too much.

    Source: minimum degree ordering, any text on sparse matrices.
    """
    near: list[set[int]] = [set() for _ in range(count)]
    for a, b in zip(start, end, strict=True):
        near[a].add(b)
        near[b].add(a)
    heap = [(len(neighbours), at) for at, neighbours in enumerate(near)]
    heapq.heapify(heap)
    turn = [-1] * count
    order: list[int] = []
    cost = 0
    while heap:
        degree, at = heapq.heappop(heap)
        if turn[at] >= 0 or degree != len(near[at]):
            continue
        turn[at] = len(order)
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
    below = tuple(tuple(sorted([turn[other] for other in near[at]])) for at in order)
    return Order(place=np.array(turn, dtype=np.intp), below=below)


def eliminate(
    start: Indices, end: Indices, diagonal: Floats, off: Floats, right: Floats, order: Order
) -> tuple[Floats, Floats, Floats]:
    """Solution (n, 3), diagonal blocks of the inverse (n, 3, 3), and its blocks of each edge (n_edges, 3, 3).

    Each place is eliminated in a small dense matrix of itself and what it is joined to by then; what is left of it
    goes to the first of those. The inverse is worked out the other way round, from the last place to the first.
    Source: multifrontal elimination (I. S. Duff and J. K. Reid, 1983) and selected inverse by the recurrence on the
    factor (K. Takahashi and others, 1973), both from memory.
    """
    place, below = order.place, order.below
    turns = np.argsort(place)
    lower = _lower(place[start], place[end], off)
    factors = _forward(diagonal[turns], lower, right[turns], below)
    shift, covariance, sides = _backward(factors, below)
    return shift[place], covariance[place], _of_edges(place[start], place[end], below, sides)


@record(frozen=True, slots=True, kw_only=True)
class _Factors:
    """By turn."""

    pivots: list[Floats]
    """Inverse of the place's own block when its turn comes, (3, 3)."""
    shares: list[Floats]
    """What of it goes to each place below, (3 d, 3)."""
    places: list[Indices]
    """Where what is below lies in the dense matrix of the first below, (3 d,)."""
    right: Floats  # (n, 3)


def _lower(first: Indices, second: Indices, off: Floats) -> list[list[tuple[int, Floats]]]:
    """By the earlier turn of each edge: the later one and the block in its row."""
    lower: list[list[tuple[int, Floats]]] = [[] for _ in range(int(max(first.max(), second.max())) + 1)]
    for a, b, block in zip(first.tolist(), second.tolist(), off, strict=True):
        if a < b:
            lower[a].append((b, block.T))
        else:
            lower[b].append((a, block))
    return lower


def _forward(
    diagonal: Floats,
    lower: list[list[tuple[int, Floats]]],
    right: Floats,
    below: tuple[tuple[int, ...], ...],
) -> _Factors:
    count = len(diagonal)
    pivots: list[Floats] = []
    shares: list[Floats] = []
    places: list[Indices] = []
    nothing, whole = np.zeros((0, 3)), np.arange(3)
    left: list[list[tuple[Indices, Floats]]] = [[] for _ in range(count)]
    solve = np.linalg.inv
    for j in range(count):
        under = below[j]
        size = len(under)
        if not size:
            pivots.append(solve(diagonal[j]))
            shares.append(nothing)
            places.append(whole[:0])
            continue
        parent = under[0]
        if size == 1:
            block = np.zeros((3, 3))
            for _, one in lower[j]:
                block += one
            for _, one in left[j]:
                diagonal[j] += one[:3, :3]
                block += one[3:, :3]
                diagonal[parent] += one[3:, 3:]
            left[j] = []
            pivot = solve(diagonal[j])
            share = block @ pivot
            diagonal[parent] -= share @ block.T
            right[parent] -= share @ right[j]
            at = whole
        else:
            front = np.zeros((3 * size + 3, 3 * size + 3))
            front[:3, :3] = diagonal[j]
            if lower[j]:
                turn = {other: 3 * i for i, other in enumerate(under, 1)}
                for other, one in lower[j]:
                    k = turn[other]
                    front[k : k + 3, :3] += one
            for at, one in left[j]:
                front[at[:, None], at] += one
            left[j] = []
            pivot = solve(front[:3, :3])
            block = front[3:, :3]
            share = block @ pivot
            update = front[3:, 3:]
            update -= share @ block.T
            around = (parent, *below[parent])
            at = (3 * np.searchsorted(around, under)[:, None] + whole).ravel()
            left[parent].append((at, update))
            right[list(under)] -= (share @ right[j]).reshape(size, 3)
        pivots.append(pivot)
        shares.append(share)
        places.append(at)
    return _Factors(pivots=pivots, shares=shares, places=places, right=right)


def _backward(factors: _Factors, below: tuple[tuple[int, ...], ...]) -> tuple[Floats, Floats, list[Floats]]:
    """Solution, inverse blocks, and by turn the inverse with what is below, (3 d, 3)."""
    count = len(below)
    pivots, shares, places, right = factors.pivots, factors.shares, factors.places, factors.right
    children: list[list[int]] = [[] for _ in range(count)]
    stack = []
    for j, under in enumerate(below):
        if under:
            children[under[0]].append(j)
        else:
            stack.append(j)
    shift, covariance = np.empty((count, 3)), np.empty((count, 3, 3))
    sides = list(shares)
    square: dict[int, Floats] = {}
    waiting = [len(one) for one in children]
    while stack:
        j = stack.pop()
        under = below[j]
        pivot = pivots[j]
        if not under:
            shift[j] = pivot @ right[j]
            covariance[j] = pivot
            square[j] = pivot
            stack += children[j]
            continue
        parent = under[0]
        share, at = shares[j], places[j]
        if len(under) == 1:
            known = square[parent][:3, :3]
            shift[j] = pivot @ right[j] - shift[parent] @ share
        else:
            known = square[parent][at[:, None], at]
            shift[j] = pivot @ right[j] - shift[list(under)].reshape(-1) @ share
        waiting[parent] -= 1
        if not waiting[parent]:
            del square[parent]
        sides[j] = side = -(known @ share)
        covariance[j] = own = pivot - share.T @ side
        if children[j]:
            size = len(side)
            square[j] = one = np.empty((size + 3, size + 3))
            one[:3, :3] = own
            one[3:, :3] = side
            one[:3, 3:] = side.T
            one[3:, 3:] = known
            stack += children[j]
    return shift, covariance, sides


def _of_edges(
    first: Indices, second: Indices, below: tuple[tuple[int, ...], ...], sides: list[Floats]
) -> Floats:
    """The inverse between the ends of each edge, start then end."""
    count = len(below)
    sizes = [len(under) for under in below]
    owner = np.repeat(np.arange(count), sizes)
    keys = owner * count + np.fromiter((other for under in below for other in under), np.intp, len(owner))
    blocks = np.concatenate(sides).reshape(-1, 3, 3)
    early, late = np.minimum(first, second), np.maximum(first, second)
    found: Floats = blocks[np.searchsorted(keys, early * count + late)]  # rows by the later end
    return np.where((first < second)[:, None, None], found.transpose(0, 2, 1), found)


# --- few places of many


@record(frozen=True, slots=True, kw_only=True)
class Contracted:
    """What is left: the places that stay, and what was observed between them."""

    places: Indices
    """Of the network, those that were asked for first."""
    start: Indices  # (n_edges,), by place that stays
    end: Indices
    weight: Floats  # (n_edges, 3, 3)


def contraction(
    start: Indices, end: Indices, weight: Floats, *, held: Flags
) -> Callable[[Indices], Contracted]:
    """A function that keeps some places of a network, and those of which more is known or at which it branches.

    `held` (n,) are places of which something is known by itself. An unobserved place between two legs says nothing of
    them: the two are one leg whose covariance is the sum; what hangs on such a place alone goes.
    Source: propagation of error along an open traverse, any text on surveying.
    """
    count = len(held)
    legs: list[list[int]] = [[] for _ in range(count)]
    first, second = start.tolist(), end.tolist()
    for leg, (a, b) in enumerate(zip(first, second, strict=True)):
        if a != b:
            legs[a].append(leg)
            legs[b].append(leg)
    # A leg that says nothing of one direction has no covariance to add.
    open_legs = np.linalg.matrix_rank(weight) == 3 if len(weight) else np.zeros(0, dtype=np.bool_)
    spread = np.zeros_like(weight)
    spread[open_legs] = np.linalg.inv(weight[open_legs])
    stays = held | (np.array([len(one) for one in legs]) > 2)
    for ends in (start, end):
        stays[ends[~open_legs]] = True

    def kept(some: Indices) -> Contracted:
        stay = stays.copy()
        stay[some] = True
        places = np.concatenate((some, np.flatnonzero(stay & ~np.isin(np.arange(count), some))))
        number = {place: at for at, place in enumerate(places.tolist())}
        used = [False] * len(first)
        chains: list[list[int]] = []
        ends: list[tuple[int, int]] = []
        for place in places.tolist():
            for leg in legs[place]:
                if used[leg]:
                    continue
                chain, here = [], place
                following: int | None = leg
                while following is not None:
                    used[following] = True
                    chain.append(following)
                    here = second[following] if first[following] == here else first[following]
                    if here in number:
                        break
                    following = next((one for one in legs[here] if not used[one]), None)
                if here in number and here != place:
                    chains.append(chain)
                    ends.append((number[place], number[here]))
        weights = np.array(
            [weight[one[0]] if len(one) == 1 else np.linalg.inv(spread[one].sum(axis=0)) for one in chains]
        ).reshape(-1, 3, 3)
        both = np.array(ends, dtype=np.intp).reshape(-1, 2)
        return Contracted(places=places, start=both[:, 0], end=both[:, 1], weight=weights)

    return kept
