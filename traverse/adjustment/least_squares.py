"""Weighted least squares over the whole network: places, and the covariance of every station."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from traverse.adjustment.calibration import PacedAlike
from traverse.adjustment.closure import usable
from traverse.adjustment.normal_equations import Solved, inverses, solve
from traverse.adjustment.records import Flags, Floats, Indices, LeftOut, Network, Vectors
from traverse.record import record
from traverse.settled import settled_all


@record(frozen=True, slots=True, kw_only=True)
class PlaceObservation:
    """Something observed of one station's place: a height, or that it lies on a line of sight."""

    station: int
    value_m: Floats  # (3,)
    weight: Floats  # (3, 3), inverse square metres; singular where it says nothing of a direction


@record(frozen=True, slots=True, kw_only=True)
class Adjusted:
    """What least squares gives."""

    position_m: Floats  # (n_stations, 3)
    covariance_m2: Floats  # (n_stations, 3, 3), not scaled by the misfit; 0 where held
    between_m2: Floats  # (n_edges, 3, 3), of each edge's start with its end
    joint: Callable[[Indices], Floats]
    """Covariance of some stations (k,), each with each, (k, k, 3, 3)."""
    shared: Callable[[Indices, Indices], Floats]
    """Covariance of one station of each pair with the other, (k, 3, 3), for pairs by two lists (k,)."""
    bounds: bool
    """Whether the other covariances are upper bounds only."""


def least_squares(
    network: Network,
    vectors: Vectors,
    left: LeftOut,
    *,
    near_m: Floats,
    seen: Sequence[PlaceObservation] = (),
    stretched: Sequence[PacedAlike] = (),
) -> Adjusted:
    """Minimum of the weighted squares, with legs as vectors in three dimensions.

    A control with a deviation is an observation, one without is held; two names of one place are one unknown.
    The length of each calibrated pace is an unknown with the error of its calibration: a walk between known points
    mends it, and what a walk away from them can't mend widens the ellipses.
    `near_m` are places to start from, (n_stations, 3): exact for what is held, anything for the rest.
    Source: parametric least squares, any adjustment text; checks in tests/published.
    """
    count = len(network.names)
    node = _nodes(network, left)
    size = int(node.max()) + 1 if count else 0
    placed = network.placed
    place = np.zeros((size, 3))
    place[node[placed]] = np.nan_to_num(near_m[placed])
    fixed = np.zeros((size, 3), dtype=np.bool_)
    fixed[node[~placed]] = True
    own, own_right = np.zeros((size, 3, 3)), np.zeros((size, 3))
    for station, fix in network.fixes.items():
        at = node[station]
        for axes, sd, dropped in (
            ((0, 1), fix.sd_plan_m, left.controls),
            ((2,), fix.sd_height_m, left.controls_up),
        ):
            if station in dropped or (axes == (2,) and not fix.has_height):
                continue
            if axes == (0, 1) and fix.plan_covariance_m2 is not None:
                plan = inverses(fix.plan_covariance_m2)
                own[at, :2, :2] += plan
                own_right[at, :2] += plan @ (fix.position_m[:2] - place[at, :2])
                continue
            for axis in axes:
                if sd == 0.0:
                    fixed[at, axis] = True
                    place[at, axis] = fix.position_m[axis]
                else:
                    own[at, axis, axis] += 1.0 / sd**2
                    own_right[at, axis] += (fix.position_m[axis] - place[at, axis]) / sd**2
    edges = _used(network, node, left)
    start, end = node[network.start[edges]], node[network.end[edges]]
    weight = inverses(usable(vectors.covariance_m2[edges]))
    plan_only = np.isin(edges, list(left.edges_up))
    if plan_only.any():
        weight[plan_only] = 0.0
        weight[plan_only, :2, :2] = inverses(usable(vectors.covariance_m2[edges[plan_only], :2, :2]))
    heights = [one for one in seen if not one.weight[:2, :2].any()]
    _observe(heights, node, place, own, own_right)  # a height that was read is a datum, a sight alone is none
    _give_datum(network, node, fixed, own, start, end, plan_only)
    _observe([one for one in seen if one.weight[:2, :2].any()], node, place, own, own_right)
    misfit = vectors.observed_m[edges] - (place[end] - place[start])
    lengths = _PaceLengths.of(stretched, edges, vectors)
    solved = lengths.solve(start, end, weight, misfit, own=own, own_right=own_right, fixed=fixed)
    position = settled_all(place + settled_all(solved.shift))[node]
    position[~placed] = np.nan
    return Adjusted(
        position_m=position,
        covariance_m2=solved.covariance[node],
        between_m2=_between(network, node, edges, solved),
        joint=lambda stations: solved.joint(node[stations]),
        shared=lambda one, other: solved.shared(node[one], node[other]),
        bounds=solved.bounds,
    )


@record(frozen=True, slots=True, kw_only=True)
class _PaceLengths:
    """Lengths of the paces as unknowns of the adjustment."""

    walked_m: Floats  # (k, n_edges, 3) what each pacer walked
    share: Floats  # (k,)

    @classmethod
    def of(cls, stretched: Sequence[PacedAlike], edges: Indices, vectors: Vectors) -> _PaceLengths:
        under = [np.isin(edges, one.legs) for one in stretched]
        walked = np.zeros((len(stretched), len(edges), 3))
        for i, one in enumerate(under):
            walked[i] = vectors.observed_m[edges] * one[:, None]
        return cls(walked_m=walked, share=np.array([one.share for one in stretched]))

    def solve(
        self,
        start: Indices,
        end: Indices,
        weight: Floats,
        misfit: Floats,
        *,
        own: Floats,
        own_right: Floats,
        fixed: Flags,
    ) -> Solved:
        """As `solve`, with a common stretch of each pacer's legs.

        Source: elimination of parameters from normal equations, any adjustment text.
        """
        solved = solve(start, end, weight, misfit, own=own, own_right=own_right, fixed=fixed)
        count = len(self.share)
        if not count or solved.bounds:
            return solved
        nothing = np.zeros_like(own_right)
        moved = np.array(
            [
                solve(start, end, weight, walked, own=own, own_right=nothing, fixed=fixed).shift
                for walked in self.walked_m
            ]
        )  # (k, n, 3): what a stretch does to the places
        pull = np.einsum("eij,kej->kei", weight, self.walked_m)
        left = self.walked_m - (moved[:, end] - moved[:, start])
        normal = np.einsum("kei,lei->kl", pull, left) + np.diag(1.0 / self.share**2)
        right = np.einsum("kei,ei->k", pull, misfit - (solved.shift[end] - solved.shift[start]))
        spread = np.linalg.inv(normal)
        return Solved(
            shift=solved.shift - np.einsum("k,kni->ni", spread @ right, moved),
            covariance=solved.covariance + np.einsum("kni,kl,lnj->nij", moved, spread, moved),
            between=solved.between + np.einsum("kei,kl,lej->eij", moved[:, start], spread, moved[:, end]),
            joint=lambda nodes: (
                solved.joint(nodes) + np.einsum("kai,kl,lbj->abij", moved[:, nodes], spread, moved[:, nodes])
            ),
            shared=lambda one, other: (
                solved.shared(one, other)
                + np.einsum("kni,kl,lnj->nij", moved[:, one], spread, moved[:, other])
            ),
            bounds=False,
        )


def _observe(
    seen: Sequence[PlaceObservation], node: Indices, place: Floats, own: Floats, own_right: Floats
) -> None:
    for one in seen:
        at = node[one.station]
        own[at] += one.weight
        own_right[at] += one.weight @ (one.value_m - place[at])


def _nodes(network: Network, left: LeftOut) -> Indices:
    """Unknown place of each station: two names that a tie says are one share it."""
    same = list(range(len(network.names)))

    def find(station: int) -> int:
        while same[station] != station:
            station = same[station]
        return station

    for edge in range(network.leg_count, len(network.start)):
        if network.tie_sd_m[edge] == 0.0 and edge not in left.edges:
            a, b = find(int(network.start[edge])), find(int(network.end[edge]))
            same[max(a, b)] = min(a, b)
    merged = np.array([find(station) for station in range(len(same))], dtype=np.intp)
    first = np.zeros(len(same), dtype=np.bool_)
    first[merged] = True
    return (np.cumsum(first) - 1)[merged]


def _used(network: Network, node: Indices, left: LeftOut) -> Indices:
    edges = np.arange(len(network.start), dtype=np.intp)
    keep = node[network.start] != node[network.end]
    keep &= ~np.isin(edges, list(left.edges))
    keep &= network.placed[network.start]
    kept: Indices = edges[keep]
    return kept


def _give_datum(
    network: Network,
    node: Indices,
    fixed: Flags,
    own: Floats,
    start: Indices,
    end: Indices,
    plan_only: Flags,
) -> None:
    """Hold the first station of whatever no control holds, in plan or in height, where it stands."""
    size = len(fixed)
    for axis in (0, 1, 2):
        use = ~plan_only if axis == 2 else np.ones(len(start), dtype=np.bool_)
        parent = list(range(size))

        def find(at: int, parent: list[int] = parent) -> int:
            while parent[at] != at:
                parent[at] = parent[parent[at]]
                at = parent[at]
            return at

        for a, b in zip(start[use].tolist(), end[use].tolist(), strict=True):
            ra, rb = find(a), find(b)
            parent[max(ra, rb)] = min(ra, rb)
        held = {find(at) for at in np.flatnonzero(fixed[:, axis] | (own[:, axis, axis] > 0.0)).tolist()}
        # A known point may be parted from its root, where the leg that comes to it is left out.
        for root in (*network.roots, *sorted(network.fixes)):
            top = find(int(node[root]))
            if top not in held:
                held.add(top)
                fixed[node[root], axis] = True


def _between(network: Network, node: Indices, edges: Indices, solved: Solved) -> Floats:
    between = np.zeros((len(network.start), 3, 3))
    between[edges] = solved.between
    same = node[network.start] == node[network.end]
    between[same] = solved.covariance[node[network.start[same]]]
    return between
