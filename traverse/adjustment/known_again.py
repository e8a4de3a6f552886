"""Known points that fail: which of them is left out, and whether what then closes is tested again."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import replace

from traverse.adjustment.calibration import PacedAlike
from traverse.adjustment.closure import judge_circuits
from traverse.adjustment.network import build_network
from traverse.adjustment.records import Closing, Network, Vectors
from traverse.log.records import Log
from traverse.settled import settled

_MOST_TRIED = 40
"""With more known points at ties that fail it is not the figures of one that are wrong."""


def tested_again(
    log: Log,
    network: Network,
    vectors: Vectors,
    closings: Sequence[Closing],
    *,
    stretched: Sequence[PacedAlike],
) -> tuple[Closing, ...]:
    """The circuits, of which those that fail between known points leave out the one without which all the rest close.

    The ties that this makes between the other points come last. Where no single point does it, or two are all that
    there are, it is the last reached of each, and again of what then fails. A wrong leg between two points parts them as
    a wrong point does: the side with more points that agree is kept.
    """
    failing = [one for one in closings if _between_points(one) and not one.used]
    if not failing or len(network.fixes) < 3:
        return tuple(closings)

    def without(points: AbstractSet[int]) -> tuple[Closing, ...]:
        after = _without(log, network, vectors, points, stretched)
        return tuple(one for one in after if _between_points(one))

    tried = sorted({one.circuit.stations[at] for one in failing for at in (0, -1)})
    good = []
    for point in tried if len(tried) <= _MOST_TRIED else ():
        after = without({point})
        if after and all(one.used for one in after):
            # Of several that would do, the last reached is left out, as of two alone.
            good.append((settled(sum(one.q for one in after), 3), -point, after))
    if good:
        _, point, after = min(good, key=lambda one: one[:2])
        dropped, tested = {-point}, [*after]
    else:
        dropped, tested = _last_of(failing), []
        while True:
            after = without(dropped)
            tested += after
            last = _last_of(one for one in after if not one.used)
            if not last:
                break
            dropped |= last
    return _with_new(closings, dropped, tested)


def left_out_points(
    log: Log,
    network: Network,
    vectors: Vectors,
    closings: Sequence[Closing],
    points: AbstractSet[str],
    *,
    stretched: Sequence[PacedAlike],
) -> tuple[Closing, ...]:
    """The circuits, of which those that fail between known points leave out these, and the ties that this makes."""
    dropped = {network.index[name] for name in points if name in network.index}
    after = _without(log, network, vectors, dropped, stretched)
    return _with_new(closings, dropped, after)


def _without(
    log: Log, network: Network, vectors: Vectors, points: AbstractSet[int], stretched: Sequence[PacedAlike]
) -> tuple[Closing, ...]:
    """What closes between the other known points."""
    fixes = {network.names[at]: fix for at, fix in network.fixes.items() if at not in points}
    again = build_network(log, fixes)
    ties = replace(again, circuits=tuple(one for one in again.circuits if not one.closed))
    return judge_circuits(ties, vectors, anyway=False, stretched=stretched)


def _with_new(
    closings: Sequence[Closing], dropped: AbstractSet[int], tested: Iterable[Closing]
) -> tuple[Closing, ...]:
    known = {one.circuit.stations for one in closings}
    new = {one.circuit.stations: one for one in tested if one.circuit.stations not in known}
    return (*(_leaving_out(one, dropped) for one in closings), *new.values())


def _last_of(ties: Iterable[Closing]) -> set[int]:
    return {one.circuit.last_control for one in ties if one.circuit.last_control is not None}


def _between_points(closing: Closing) -> bool:
    return closing.circuit.last_control is not None


def _leaving_out(closing: Closing, dropped: AbstractSet[int]) -> Closing:
    """A tie that fails drops the one of its ends that is left out."""
    ends = [at for at in (closing.circuit.stations[-1], closing.circuit.stations[0]) if at in dropped]
    if closing.circuit.closed or closing.used or not ends or closing.circuit.last_control in dropped:
        return closing
    return replace(closing, circuit=replace(closing.circuit, last_control=ends[0]))
