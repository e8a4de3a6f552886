"""Circuits that run another way: what a leg that began or ended at another station does to all over it."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations_with_replacement

import numpy as np

from traverse.adjustment.misread.explained import Loops
from traverse.adjustment.misread.forest import Forest
from traverse.adjustment.misread.trials import Pair
from traverse.adjustment.records import Floats, Network
from traverse.adjustment.vectors import Drawn

Rows = list[tuple[int, Floats, Floats]]
"""By circuit: what its misclosure grows by, (3,), and its covariance, (3, 3)."""


class Rerouted:
    """Ways over the trees of first reaching that circuits may take besides their own."""

    def __init__(self, network: Network, loops: Loops, drawn: Drawn) -> None:
        self.tree = Forest(network)
        self.loops = loops
        self.raw_m = drawn.raw.position_m
        self.covariance_m2 = drawn.vectors.covariance_m2
        self._signs: dict[int, dict[int, float]] = {}

    def _sign(self, circuit: int) -> dict[int, float]:
        """How often a circuit runs over each of its edges, and which way."""
        if circuit not in self._signs:
            signs: dict[int, float] = {}
            for step in self.loops.steps[circuit]:
                signs[step.edge] = signs.get(step.edge, 0.0) + step.sign
            self._signs[circuit] = signs
        return self._signs[circuit]

    def by(self, first: int, last: int, over: Sequence[tuple[int, float]]) -> tuple[Rows, list[Pair]] | None:
        """Circuits that would take the way between two stations as well, each in its sense; None where none leads."""
        way = self.tree.way(first, last)
        if way is None:
            return None
        at = np.array([edge for edge, _ in way], dtype=np.intp)
        direction = np.array([sign for _, sign in way])
        now = np.array([[self._sign(i).get(edge, 0.0) for edge in at.tolist()] for i, _ in over])
        then = now + np.array([[sign] for _, sign in over]) * direction
        rows: Rows = []
        pairs: list[Pair] = []
        for a, b in combinations_with_replacement(range(len(over)), 2):
            if a != b and self.loops.together is None:
                continue
            growth = then[a] * then[b] - now[a] * now[b]
            more = (growth[:, None, None] * self.covariance_m2[at]).sum(axis=0)
            if a != b:
                pairs.append((over[a][0], over[b][0], more))
            else:
                rows.append((over[a][0], over[a][1] * (self.raw_m[last] - self.raw_m[first]), more))
        return rows, pairs
