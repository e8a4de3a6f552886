"""Ways over the trees of first reaching."""

from __future__ import annotations

from traverse.adjustment.records import Network, Step

LONGEST_WAY = 200
"""Legs between two stations up to which a way is followed."""


class Forest:
    """Trees of first reaching."""

    def __init__(self, network: Network) -> None:
        self.network = network
        self.hooks: dict[int, tuple[int, int, float]] = {}
        self.depth = [0] * len(network.names)
        for edge, forward in network.forest:
            a, b = int(network.start[edge]), int(network.end[edge])
            parent, child = (a, b) if forward else (b, a)
            self.hooks[child] = (parent, edge, 1.0 if forward else -1.0)
            self.depth[child] = self.depth[parent] + 1

    def reached_after(self, station: int, edge: int) -> bool:
        """Whether the walk came to a station by this leg or a later one."""
        return station in self.hooks and edge <= self.hooks[station][1] < self.network.leg_count

    def way(self, first: int, last: int) -> list[tuple[int, float]] | None:
        """Edges from one station to another with their signs; None where it is too long, or where none leads."""
        up: list[tuple[int, float]] = []
        down: list[tuple[int, float]] = []
        while first != last:
            if len(up) + len(down) > LONGEST_WAY:
                return None
            climb_first = self.depth[first] >= self.depth[last]
            at = first if climb_first else last
            if at not in self.hooks:
                return None
            parent, edge, sign = self.hooks[at]
            if climb_first:
                up.append((edge, -sign))
                first = parent
            else:
                down.append((edge, sign))
                last = parent
        return up + down[::-1]

    def from_root(self, station: int) -> tuple[Step, ...] | None:
        """Steps from where the piece of a station begins; None where they are too many."""
        steps: list[Step] = []
        while station in self.hooks:
            if len(steps) > LONGEST_WAY:
                return None
            station, edge, sign = self.hooks[station]
            steps.append(Step(edge=edge, forward=sign > 0.0))
        return tuple(reversed(steps))
