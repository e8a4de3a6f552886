"""A known point that lies elsewhere: its figures misread, or the point itself taken for another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from traverse.adjustment.closure import usable
from traverse.adjustment.misread.explained import Loops
from traverse.adjustment.misread.forest import Forest
from traverse.adjustment.misread.slips import Slip
from traverse.adjustment.misread.trials import ELSEWHERE, Trials
from traverse.adjustment.normal_equations import inverses
from traverse.adjustment.records import Floats, Network
from traverse.adjustment.vectors import Drawn
from traverse.length import Lengths
from traverse.record import record
from traverse.settled import settled
from traverse.trade import RARE_SLIP, UNCOMMON_SLIP

HEIGHT_IN_FEET = "height: feet taken for metres"
"""Said of a known point."""


@record(frozen=True, slots=True, kw_only=True)
class OtherPlace:
    """Where a known point would lie, were its figures others."""

    slip: str
    reading: str
    """The figures as they may have stood on the map or the receiver."""
    written: str
    position_m: Floats  # (3,) up is NaN where it has no height
    rank: float


def try_known_points(
    trials: Trials,
    network: Network,
    loops: Loops,
    known: Mapping[int, Sequence[OtherPlace]],
    lengths: Lengths,
    drawn: Drawn,
    tree: Forest,
) -> None:
    """Other figures of each known point, another's or another station's name on its line, and any other place for one that several ties share."""
    at: dict[int, list[tuple[int, float]]] = {}
    for i, closing in enumerate(loops.closings):
        if not closing.circuit.closed:
            first, last = (closing.circuit.stations[k] for k in (0, -1))
            at.setdefault(first, []).append((i, 1.0))
            at.setdefault(last, []).append((i, -1.0))
    nothing = np.zeros((3, 3))
    _all_in_feet(trials, network, loops, known)
    _names_exchanged(trials, network, loops, at)
    for station, circuits in at.items():
        if network.fixes[station].sure or not any(loops.failing[i] for i, _ in circuits):
            continue
        fix, name = network.fixes[station], network.names[station]
        for other in known.get(station, ()):
            shift = np.nan_to_num(other.position_m - fix.position_m)
            slip = Slip(
                span=fix.span, what=f"control {name}", slip=other.slip, reading=other.reading,
                written=other.written, rank=other.rank,
            )  # fmt: skip
            trials.add(slip, slip.rank, [(i, sign * shift, nothing) for i, sign in circuits])
        _other_names(trials, network, loops, station, circuits, drawn, tree)
        if len(circuits) > 1 or _vouched(loops, at, station, circuits[0][0]):
            shift = _best_shift(loops, circuits)
            far = float(np.hypot(shift[0], shift[1]))
            toward = round(np.degrees(np.arctan2(shift[0], shift[1]))) % 360
            slip = Slip(
                span=fix.span, what=f"control {name}", slip=ELSEWHERE,
                reading=f"about {lengths.said(settled(far))} toward {toward:03d}", written=name, rank=2.0 * UNCOMMON_SLIP,
            )  # fmt: skip
            trials.add(slip, slip.rank, [(i, sign * shift, nothing) for i, sign in circuits])


def _other_names(
    trials: Trials,
    network: Network,
    loops: Loops,
    station: int,
    circuits: Sequence[tuple[int, float]],
    drawn: Drawn,
    tree: Forest,
) -> None:
    """The stations next to a known point in the walk, as the one that its figures are of."""
    raw, covariance = drawn.raw.position_m, drawn.vectors.covariance_m2
    for other in (station - 1, station + 1):
        if not 0 <= other < len(network.names) or other in network.fixes or not network.placed[other]:
            continue
        way = tree.way(station, other)
        if way is None:
            continue
        shift = np.nan_to_num(raw[station] - raw[other])
        rows = []
        for i, sign in circuits:
            own = {step.edge for step in loops.steps[i]}
            # The tie grows by the legs between the two, or loses them.
            more = sum(
                (-covariance[edge] if edge in own else covariance[edge] for edge, _ in way), np.zeros((3, 3))
            )
            rows.append((i, sign * shift, more))
        name = network.names[station]
        slip = Slip(
            span=network.fixes[station].span, what=f"control {name}", slip="another station's name",
            reading=f"control {network.names[other]}", written=f"control {name}", rank=RARE_SLIP,
        )  # fmt: skip
        trials.add(slip, slip.rank, rows)


def _names_exchanged(
    trials: Trials, network: Network, loops: Loops, at: Mapping[int, Sequence[tuple[int, float]]]
) -> None:
    """Two known points each with the other's name, of every two that a tie which fails runs between."""
    failing = [
        (closing.circuit.stations[0], closing.circuit.stations[-1])
        for closing, fails in zip(loops.closings, loops.failing.tolist(), strict=False)
        if fails and not closing.circuit.closed
    ]
    for first, last in dict.fromkeys((min(one), max(one)) for one in failing):
        a, b = network.fixes[first], network.fixes[last]
        if a.sure or b.sure:
            continue
        apart = np.nan_to_num(b.position_m - a.position_m)
        shift: dict[int, Floats] = {}
        for station, way in ((first, 1.0), (last, -1.0)):
            for i, sign in at[station]:
                shift[i] = shift.get(i, np.zeros(3)) + way * sign * apart
        slip = Slip(
            span=a.span, what=f"control {network.names[first]}", slip="names of two known points exchanged",
            reading=f"control {network.names[last]}, and control {network.names[first]} on line {b.span.line}",
            written=f"control {network.names[first]}", rank=RARE_SLIP,
        )  # fmt: skip
        trials.add(slip, slip.rank, [(i, by, np.zeros((3, 3))) for i, by in shift.items()])


def _all_in_feet(
    trials: Trials, network: Network, loops: Loops, known: Mapping[int, Sequence[OtherPlace]]
) -> None:
    """The heights of all known points in feet where the log has metres."""
    feet = {
        station: other.position_m
        for station, places in known.items()
        for other in places
        if other.slip == HEIGHT_IN_FEET
    }
    rows, first = [], None
    for i, closing in enumerate(loops.closings):
        if closing.circuit.closed or loops.flat[i]:
            continue
        ends = [closing.circuit.stations[k] for k in (0, -1)]
        if any(one not in feet for one in ends):
            return
        start, end = (feet[one][2] - network.fixes[one].position_m[2] for one in ends)
        rows.append((i, np.array((0.0, 0.0, start - end)), np.zeros((3, 3))))
        if first is None and loops.failing[i]:
            first = network.fixes[ends[0]].span
    if first is not None:
        slip = Slip(
            span=first, what="the known points", slip="feet taken for metres", reading="all their heights",
            written="", rank=0.0,
        )  # fmt: skip
        trials.add(slip, slip.rank, rows)


def _vouched(loops: Loops, at: Mapping[int, Sequence[tuple[int, float]]], station: int, circuit: int) -> bool:
    """Whether the other end of the one tie to a point is borne out by a tie that closes well."""
    ends = loops.closings[circuit].circuit.stations
    other = ends[-1] if ends[0] == station else ends[0]
    return any(not loops.failing[i] for i, _ in at[other] if i != circuit)


def _best_shift(loops: Loops, circuits: Sequence[tuple[int, float]]) -> Floats:
    """What a known point must be moved by for the ties to it to close best, (3,)."""
    normal, right = np.zeros((2, 2)), np.zeros(2)
    for i, sign in circuits:
        weight = inverses(usable(loops.covariance_m2[i][:2, :2]))
        normal += weight
        right -= sign * weight @ loops.misclosure_m[i][:2]
    shift = np.zeros(3)
    shift[:2] = np.linalg.solve(normal, right)
    return shift
