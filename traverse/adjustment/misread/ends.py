"""A leg that came to another station than the one written."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from traverse.adjustment.misread.explained import Loops
from traverse.adjustment.misread.rerouted import Rerouted
from traverse.adjustment.misread.slips import Slip
from traverse.adjustment.misread.trials import Trials, through
from traverse.adjustment.records import Floats, Network
from traverse.adjustment.vectors import Drawn
from traverse.log.records import Log
from traverse.trade import PLAN_WARN, RARE_SLIP

NEAREST = 12
"""Stations that are looked at: where more would fit, that a leg ended at one of them says little."""


def try_ends(
    trials: Trials,
    log: Log,
    network: Network,
    loops: Loops,
    failing: Sequence[int],
    drawn: Drawn,
    routes: Rerouted,
) -> None:
    """Stations of the whole walk at which a leg that makes a circuit would have ended well.

    One that is reached only later is none to close on.
    """
    makers = sorted({loops.closings[i].circuit.maker for i in failing})
    over = through(loops, makers)
    places = _Reachable(network, drawn)
    for leg in makers:
        if leg >= network.leg_count:
            continue
        start, written = int(network.start[leg]), int(network.end[leg])
        for station in places.near(start, leg):
            if station in {start, written} or routes.tree.reached_after(station, leg + 1):
                continue
            if log.of_two_parties(network.names[station], network.names[start]):
                continue
            changes = routes.by(station, written, over[leg])
            if changes is None:
                continue
            slip = Slip(
                edge=leg,
                slip="closed on the wrong station",
                reading=f"close {network.names[station]}",
                written=f"close {network.names[written]}",
                rank=RARE_SLIP,
            )
            trials.add(slip, slip.rank, *changes)


class _Reachable:
    """Stations by where they lie, with how sure that is."""

    def __init__(self, network: Network, drawn: Drawn) -> None:
        self.raw_m = drawn.raw.position_m
        self.vectors = drawn.vectors
        plan = np.trace(drawn.vectors.covariance_m2[:, :2, :2], axis1=1, axis2=2).tolist()
        self.spread_m2: Floats = np.zeros(len(network.names))
        """Sum of the plan variances of the legs from where the piece begins, (n_stations,)."""
        for station in network.roots:
            if station in network.fixes:
                self.spread_m2[station] = 2.0 * network.fixes[station].sd_plan_m ** 2
        for edge, forward in network.forest:
            a, b = int(network.start[edge]), int(network.end[edge])
            parent, child = (a, b) if forward else (b, a)
            self.spread_m2[child] = self.spread_m2[parent] + plan[edge]
        self.by_east = self.raw_m[:, 0].argsort(kind="stable")  # NaN last
        self.east_m = self.raw_m[self.by_east, 0]

    def near(self, start: int, leg: int) -> list[int]:
        """Stations that the walk's error allows a leg to have ended at, the nearest first."""
        arrived = self.raw_m[start] + self.vectors.observed_m[leg]
        own = self.spread_m2[start] + np.trace(self.vectors.covariance_m2[leg][:2, :2])
        most = np.sqrt(PLAN_WARN * (own + self.spread_m2.max()))
        first, last = np.searchsorted(self.east_m, (arrived[0] - most, arrived[0] + most))
        stations = self.by_east[first:last]
        apart = self.raw_m[stations, :2] - arrived[:2]
        distance = (apart**2).sum(axis=1)
        within = distance < PLAN_WARN * (own + self.spread_m2[stations])
        return [int(one) for one in stations[within][distance[within].argsort(kind="stable")][:NEAREST]]
