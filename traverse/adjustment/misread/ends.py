"""A leg that came to another station than the one written."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from traverse.adjustment.misread.explained import Explained, Loops
from traverse.adjustment.misread.slips import Slip
from traverse.adjustment.records import Floats, Indices, Network
from traverse.adjustment.vectors import Drawn
from traverse.record import record
from traverse.trade import MENDS_LEAST, PLAN_WARN, RARE_SLIP

NEAREST = 12
"""Stations that are looked at: where more would fit, that a leg ended at one of them says little."""


@record(frozen=True, slots=True, kw_only=True)
class Ends:
    """Where the legs that make circuits may have ended."""

    network: Network
    loops: Loops
    drawn: Drawn
    hooks: Mapping[int, tuple[int, int]]
    """By station: the one it was first reached from, and the leg."""
    depth: list[int]
    """By station: legs from where its piece begins."""
    by_east: Indices  # (n_stations,)
    east_m: Floats  # (n_stations,) in that order, NaN last
    spread_m2: Floats  # (n_stations,)
    """Sum of the plan variances of the legs from where the piece begins."""
    through: Mapping[int, list[tuple[int, float]]]
    """By edge that makes a circuit which closes badly: all circuits that run over it, and its sign there."""

    @classmethod
    def of(cls, network: Network, loops: Loops, drawn: Drawn) -> Ends:
        """Of a log, once for all its circuits."""
        plan = np.trace(drawn.vectors.covariance_m2[:, :2, :2], axis1=1, axis2=2).tolist()
        hooks = {}
        spread = np.zeros(len(network.names))
        depth = [0] * len(network.names)
        for station in network.roots:
            if station in network.fixes:
                spread[station] = 2.0 * network.fixes[station].sd_plan_m ** 2
        for edge, forward in network.forest:
            a, b = int(network.start[edge]), int(network.end[edge])
            parent, child = (a, b) if forward else (b, a)
            hooks[child] = (parent, edge)
            spread[child] = spread[parent] + plan[edge]
            depth[child] = depth[parent] + 1
        makers = {
            closing.circuit.maker
            for closing, failing in zip(loops.closings, loops.failing.tolist(), strict=False)
            if failing
        }
        through: dict[int, list[tuple[int, float]]] = {edge: [] for edge in makers}
        for i, steps in enumerate(loops.steps):
            for step in steps:
                if step.edge in makers:
                    through[step.edge].append((i, step.sign))
        by_east = drawn.raw.position_m[:, 0].argsort(kind="stable")
        return cls(
            network=network,
            loops=loops,
            drawn=drawn,
            hooks=hooks,
            depth=depth,
            by_east=by_east,
            east_m=drawn.raw.position_m[by_east, 0],
            spread_m2=spread,
            through=through,
        )

    def fitting(self, circuit: int) -> list[Explained]:
        """Stations of the whole walk at which the leg that makes a circuit would have ended well, with their rank.

        Each is judged by the legs that first reached it and the leg's start; a station that is reached only later
        is none to close on. Other circuits over the leg must not suffer.
        """
        network, loops = self.network, self.loops
        leg = loops.closings[circuit].circuit.maker
        if leg >= network.leg_count:
            return []
        start, written = int(network.start[leg]), int(network.end[leg])
        raw, vectors = self.drawn.raw.position_m, self.drawn.vectors
        walked = vectors.observed_m[leg]
        arrived = raw[start] + walked
        found = []
        for station in self._near(start, leg, arrived):
            if station in {start, written} or self._reached_after(station, leg):
                continue
            shifts, more = [], []
            for other, sign in self.through[leg]:
                if other == circuit:
                    covariance = vectors.covariance_m2[leg] + self._between(start, station)
                    shifts.append(arrived - raw[station] - loops.misclosure_m[circuit])
                    more.append(covariance - loops.covariance_m2[circuit])
                else:  # it runs by the station where the leg ended, and from there on to the one written
                    shifts.append(sign * (raw[written] - raw[station]))
                    more.append(self._between(station, written))
            circuits = [other for other, _ in self.through[leg]]
            after = loops.changed(np.array(circuits), np.array(shifts), np.array(more))
            if not after.mends.all() or after.better.sum() < MENDS_LEAST:
                continue
            own = circuits.index(circuit)
            slip = Slip(
                edge=leg,
                slip="closed on the wrong station",
                reading=f"close {network.names[station]}",
                written=f"close {network.names[written]}",
            )
            found.append(
                Explained(
                    slip=slip,
                    rank=float(after.rank.sum()) + RARE_SLIP,
                    misclosure_after_m=float(after.distance_m[own]),
                    q_after=float(after.q[own]),
                )
            )
        return found

    def _near(self, start: int, leg: int, arrived: Floats) -> list[int]:
        """Stations that the walk's error allows the leg to have ended at, the nearest first."""
        own = self.spread_m2[start] + np.trace(self.drawn.vectors.covariance_m2[leg][:2, :2])
        most = np.sqrt(PLAN_WARN * (own + self.spread_m2.max()))
        first, last = np.searchsorted(self.east_m, (arrived[0] - most, arrived[0] + most))
        stations = self.by_east[first:last]
        apart = self.drawn.raw.position_m[stations, :2] - arrived[:2]
        distance = (apart**2).sum(axis=1)
        within = distance < PLAN_WARN * (own + self.spread_m2[stations])
        return [int(one) for one in stations[within][distance[within].argsort(kind="stable")][:NEAREST]]

    def _reached_after(self, station: int, leg: int) -> bool:
        return station in self.hooks and leg < self.hooks[station][1] < self.network.leg_count

    def _between(self, first: int, second: int) -> Floats:
        """Covariance of the way between two stations over the trees of first reaching."""
        edges = []
        while first != second and (first in self.hooks or second in self.hooks):
            if self.depth[first] < self.depth[second]:
                first, second = second, first
            first, edge = self.hooks[first]
            edges.append(edge)
        total = self.drawn.vectors.covariance_m2[np.array(edges, dtype=np.intp)].sum(axis=0)
        if first != second:
            for root in (first, second):
                if root in self.network.fixes:
                    total = total + np.diag(self.network.fixes[root].variance_m2)
        return np.asarray(total, dtype=np.float64)
