"""A leg, and all that hangs on it, begun at another station: `at` forgotten or mistyped, `to` typed for `side`."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from traverse.adjustment.misread.explained import Loops
from traverse.adjustment.misread.rerouted import Rerouted
from traverse.adjustment.misread.slips import Slip
from traverse.adjustment.misread.trials import Trials, through
from traverse.adjustment.records import Network
from traverse.adjustment.vectors import Drawn
from traverse.log.items import Leg, LegKind
from traverse.log.records import Log
from traverse.trade import PLAN_REFUSE, RARE_SLIP, UNCOMMON_SLIP

NEAREST = 6
"""Stations that are looked at for each leg, the nearest to where it would have to begin."""


def try_starts(
    trials: Trials,
    log: Log,
    network: Network,
    loops: Loops,
    edges: Sequence[int],
    failing: Sequence[int],
    drawn: Drawn,
    routes: Rerouted,
) -> None:
    """Stations at which each leg of what closes badly would have had to begin for it to close."""
    raw, tree = drawn.raw.position_m, routes.tree
    by_east = raw[:, 0].argsort(kind="stable")
    east = raw[by_east, 0]
    over = through(loops, edges)
    bad, names = set(failing), _Names(log)
    for edge in edges:
        first = next(((i, sign) for i, sign in over[edge] if i in bad), None)
        if first is None:
            continue
        leg = log.legs[edge]
        start = int(network.start[edge])
        i, sign = first
        target = raw[start] - sign * loops.misclosure_m[i]
        reach = np.sqrt(PLAN_REFUSE * 2.0 * np.trace(loops.covariance_m2[i][:2, :2]))
        low, high = np.searchsorted(east, (target[0] - reach, target[0] + reach))
        near = by_east[low:high]
        apart = np.hypot(*(raw[near, :2] - target[:2]).T)
        near = near[apart <= reach][apart[apart <= reach].argsort(kind="stable")]
        for station in near[:NEAREST].tolist():
            # A leg begins where the party had been before it.
            if station in {start, int(network.end[edge])} or tree.reached_after(station, edge):
                continue
            if any(log.of_two_parties(network.names[station], one) for one in (leg.start, leg.end)):
                continue
            changes = routes.by(start, station, over[edge])
            if changes is None:
                continue
            slip = names.slip(log, edge, leg, network.names[station])
            trials.add(slip, slip.rank, *changes)


class _Names:
    """Stations by name: where they stand in the walk, and which leg first left them."""

    def __init__(self, log: Log) -> None:
        self.order = {name: i for i, name in enumerate(log.stations)}
        self.left: dict[str, int] = {}
        for i, leg in enumerate(log.legs):
            self.left.setdefault(leg.start, i)

    def slip(self, log: Log, edge: int, leg: Leg, other: str) -> Slip:
        """What would have happened, by whether the page says where the leg begins or leaves it to the line above."""
        before = log.legs[edge - 1] if edge else None
        here = None
        if before is not None:
            here = before.start if before.kind is LegKind.SIDE else before.end
        words, written, rank = "begun at another station", f"from {leg.start}", UNCOMMON_SLIP
        if before is not None and here == leg.start:
            words, rank = f"`at {other}` missing before it", RARE_SLIP
            if self.left.get(other, edge) < edge - 1:
                rank = 0.0  # a spur was walked from there
            if before.start == other and before.kind is LegKind.TO:
                rank = 0.0
                words = f"`at {other}` missing before it, or `to {leg.start}` for `side {leg.start}`"
        elif self._beside(leg.start, other):
            rank = 0.0
        return Slip(
            edge=edge, slip=words, reading=f"from {other}", written=written, rank=rank, begun_elsewhere=True
        )

    def _beside(self, name: str, other: str) -> bool:
        """Whether two stations stand next to each other in the walk, or one figure apart in their names."""
        if abs(self.order.get(name, -9) - self.order.get(other, -9)) == 1:
            return True
        return len(name) == len(other) and sum(a != b for a, b in zip(name, other, strict=True)) == 1
