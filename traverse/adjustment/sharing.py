"""Places by first reaching, and the rules that share a misclosure out over the legs of its circuit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from traverse.adjustment.records import Circuit, Closing, Flags, Floats, LeftOut, Network, Step, Vectors
from traverse.record import record


def compass_weights(vectors: Vectors) -> Floats:
    """Each leg takes a share by its horizontal length, in east, north and up alike, (n_edges, 3).

    Exact least squares where the variance of a leg grows with its length and is the same in all directions.
    Source: the compass (Bowditch) rule, any survey text; worked examples in closings/published.
    """
    return np.repeat(vectors.horizontal_m[:, None], 3, axis=1)


def transit_weights(vectors: Vectors) -> Floats:
    """Each leg takes a share of east by its easting, of north by its northing, of up by its rise, (n_edges, 3).

    Depends on which way the axes run; kept to reproduce old sheets.
    Source: the transit rule, any survey text; worked examples in closings/published.
    """
    return np.abs(vectors.observed_m)


@record(frozen=True, slots=True, kw_only=True)
class Places:
    """Places in the plane."""

    position_m: Floats  # (n_stations, 3), NaN in what nothing places
    height_known: Flags  # (n_stations,)
    """False where no control lends a height: heights there count from the piece's first control."""


def raw_places(network: Network, observed_m: Floats) -> Places:
    """Places by the first leg that reached each station.

    A piece stands on its first control; its heights on its first control that has one.
    Where the log has no control its first station is at 0, 0, 0.
    """
    place = np.full((len(network.names), 3), np.nan)
    tree = np.full(len(network.names), -1)
    for root in network.roots:
        place[root] = network.fixes[root].position_m if root in network.fixes else 0.0
        place[root, 2] = 0.0
        tree[root] = root
    start, end = network.start.tolist(), network.end.tolist()
    rows = observed_m.tolist()
    values: list[list[float]] = place.tolist()
    trees: list[int] = tree.tolist()
    for edge, forward in network.forest:
        parent, child = (start[edge], end[edge]) if forward else (end[edge], start[edge])
        if trees[parent] < 0:
            continue  # a piece that nothing places
        sign = 1.0 if forward else -1.0
        values[child] = [a + sign * b for a, b in zip(values[parent], rows[edge], strict=True)]
        trees[child] = trees[parent]
    place, tree = np.array(values).reshape(-1, 3), np.array(trees)
    if network.fixes:
        lift = np.full(len(network.names) + 1, np.nan)
        for station in sorted(network.fixes):
            fix = network.fixes[station]
            if fix.has_height and np.isnan(lift[tree[station]]):
                lift[tree[station]] = fix.position_m[2] - place[station, 2]
        known = ~np.isnan(lift[tree])
        place[:, 2] += np.nan_to_num(lift[tree])
    else:
        known = np.ones(len(network.names), dtype=np.bool_)
    return Places(position_m=place, height_known=known)


def share_out(
    network: Network,
    vectors: Vectors,
    closings: Sequence[Closing],
    left: LeftOut,
    *,
    weights: Floats | None,
    raw: Places,
) -> Places:
    """Adjusted places: controls held, circuits in order, what is done held, the rest hanging.

    Plan and height are shared out apart. `weights` of None hangs everything on the controls.
    """
    place = np.full_like(raw.position_m, np.nan)
    known = raw.height_known
    for columns, dropped, used in (
        (slice(0, 2), left.controls, [closing.circuit for closing in closings if closing.used]),
        (slice(2, 3), left.controls_up, [closing.circuit for closing in closings if closing.used_up]),
    ):
        hanging = _Hanging.on_controls(network, vectors.observed_m, raw.position_m, dropped, columns)
        if weights is not None:
            for circuit in used:
                hanging.share(circuit, weights[:, columns])
        place[:, columns] = hanging.settle()
        known = ~hanging.floating
    return Places(position_m=place, height_known=known)


@dataclass
class _Hanging:
    """Places in some of the three directions, while they are being settled."""

    observed: Floats  # (n_edges, k)
    place: Floats  # (n_stations, k)
    held: Flags  # (n_stations,)
    order: list[tuple[int, int, float]]
    """Station, the edge it hangs by and its sign; what it hangs from comes first."""
    hook: dict[int, tuple[int, int, float]]
    """By station: what it hangs from, the edge, the sign."""
    floating: Flags  # (n_stations,)
    """Hangs from a place that no control lends."""

    @classmethod
    def on_controls(
        cls, network: Network, observed: Floats, raw: Floats, dropped: frozenset[int], columns: slice
    ) -> _Hanging:
        raw, observed = raw[:, columns], observed[:, columns]
        place = np.full_like(raw, np.nan)
        held, floating = (np.zeros(len(place), dtype=np.bool_) for _ in range(2))
        for station, fix in network.fixes.items():
            known = fix.position_m[columns]
            if station not in dropped and not np.isnan(known).any():
                place[station], held[station] = known, True
        near: list[list[tuple[int, int, float]]] = [[] for _ in place]
        for edge in (*(edge for edge, _ in network.forest), *network.joins):
            a, b = int(network.start[edge]), int(network.end[edge])
            near[a].append((b, edge, 1.0))
            near[b].append((a, edge, -1.0))
        joins = frozenset(network.joins)
        order: list[tuple[int, int, float]] = []
        hook: dict[int, tuple[int, int, float]] = {}
        reached = held.copy()
        front = np.flatnonzero(held).tolist()
        waiting: list[tuple[int, int, int, float]] = []  # over a join, taken only if nothing else reaches
        roots = iter(network.roots)
        while True:
            for station in front:  # grows while it is walked
                for other, edge, sign in near[station]:
                    if reached[other]:
                        continue
                    if edge in joins:
                        waiting.append((other, station, edge, sign))
                        continue
                    reached[other], floating[other] = True, floating[station]
                    hook[other] = (station, edge, sign)
                    order.append((other, edge, sign))
                    front.append(other)
            waiting = [one for one in waiting if not reached[one[0]]]
            if waiting:
                other, station, edge, sign = waiting.pop(0)
                reached[other], floating[other] = True, floating[station]
                hook[other] = (station, edge, sign)
                order.append((other, edge, sign))
                front = [other]
                continue
            root = next((root for root in roots if not reached[root]), None)
            if root is None:
                break
            place[root], held[root], reached[root] = raw[root], True, True
            floating[root] = bool(network.fixes)
            front = [root]
        return cls(observed=observed, place=place, held=held, order=order, hook=hook, floating=floating)

    def share(self, circuit: Circuit, weights: Floats) -> None:
        """Share out what a circuit misses by, between each two of its stations that are held."""
        stations = list(circuit.stations)
        if circuit.closed:
            if not any(self.held[station] for station in stations) and not self._place(stations[0]):
                return
            turn = next(i for i, station in enumerate(stations) if self.held[station])
            stations = [*stations[turn:], *stations[:turn], stations[turn]]
            steps = [*circuit.steps[turn:], *circuit.steps[:turn]]
        else:
            steps = list(circuit.steps)
        fixed = [i for i, station in enumerate(stations) if self.held[station]]
        for a, b in pairwise(fixed):
            if b > a + 1:
                self._run(stations[a : b + 1], steps[a:b], weights)

    def _run(self, stations: list[int], steps: Sequence[Step], weights: Floats) -> None:
        edges = [step.edge for step in steps]
        signs = np.array([step.sign for step in steps])[:, None]
        walked = self.place[stations[0]] + np.cumsum(signs * self.observed[edges], axis=0)
        gap = walked[-1] - self.place[stations[-1]]
        share = np.cumsum(weights[edges], axis=0)
        whole = share[-1]
        share = np.divide(share, whole, out=np.zeros_like(share), where=whole > 0.0)
        inner = stations[1:-1]
        self.place[inner] = (walked - share * gap)[:-1]
        self.held[inner] = True

    def _place(self, station: int) -> bool:
        """Place a station by the way it hangs, and hold it."""
        chain = []
        while not self.held[station]:
            if station not in self.hook:
                return False
            chain.append(station)
            station = self.hook[station][0]
        place = self.place[station].copy()
        for below in reversed(chain):
            _, edge, sign = self.hook[below]
            place += sign * self.observed[edge]
        if chain:
            self.place[chain[0]], self.held[chain[0]] = place, True
        return True

    def settle(self) -> Floats:
        """Everything placed: what is not held hangs from what it was reached from."""
        for station, edge, sign in self.order:
            if not self.held[station]:
                self.place[station] = self.place[self.hook[station][0]] + sign * self.observed[edge]
        return self.place
