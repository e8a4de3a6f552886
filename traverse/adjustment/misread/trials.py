"""Readings tried as others: what each would do to every circuit it takes part in, and which of them explain the log."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from traverse.adjustment.misread.explained import Explained, Loops
from traverse.adjustment.misread.slips import Slip
from traverse.adjustment.records import Flags, Floats
from traverse.angle import wrap_180
from traverse.settled import first_least, settled
from traverse.trade import MENDS_LEAST, SECOND_SLIP, UNLIKELIER

ALIKE_DEG = 3.0
"""Bearings nearer together than this are one to a closure."""
ELSEWHERE = "the point lies elsewhere, or another was taken for it"
"""Said of a known point of which no figure is named."""
ALONE = 4.6
"""Twice the logarithm by which two slips together must be likelier than any other two: ten to one."""
MOST_IN_PAIRS = 500
"""Slips of a circuit up to which all pairs of them are tried."""
Through = Mapping[int, list[tuple[int, float]]]
"""By edge: circuits that run over it, and its sign there."""
Fitting = dict[int, list[Explained]]
"""By circuit."""


@dataclass
class Trials:
    """Slips with what each does: one row for each circuit that a slip takes part in."""

    slips: list[Slip] = field(default_factory=list)
    penalty: list[float] = field(default_factory=list)
    """By slip: how rare it is, and what other readings of the leg say against it."""
    trial: list[int] = field(default_factory=list)
    """By row: the slip."""
    circuit: list[int] = field(default_factory=list)
    shift_m: list[Floats] = field(default_factory=list)
    """Blocks of rows, (n, 3): what the misclosure grows by."""
    more_m2: list[Floats] = field(default_factory=list)
    """Blocks of rows, (n, 3, 3): what its covariance grows by."""

    def add(self, slip: Slip, penalty: float, rows: Sequence[tuple[int, Floats, Floats]]) -> None:
        """One slip with its circuits; one that no circuit sees is left out."""
        if rows:
            circuits, shifts, more = zip(*rows, strict=True)
            self.add_block(
                [slip], [penalty], [0] * len(rows), list(circuits), np.array(shifts), np.array(more)
            )

    def add_block(
        self,
        slips: Sequence[Slip],
        penalty: Sequence[float],
        trial: Sequence[int],
        circuit: Sequence[int],
        shift_m: Floats,
        more_m2: Floats,
    ) -> None:
        """Several slips, and the rows of all of them; `trial` counts from the first of these slips."""
        first = len(self.slips)
        self.trial += [first + one for one in trial]
        self.circuit += circuit
        self.shift_m.append(shift_m)
        self.more_m2.append(more_m2)
        self.slips += slips
        self.penalty += penalty


def through(loops: Loops, edges: Iterable[int]) -> Through:
    """Which circuits run over some edges."""
    found: dict[int, list[tuple[int, float]]] = {edge: [] for edge in edges}
    for i, steps in enumerate(loops.steps):
        for step in steps:
            if step.edge in found:
                found[step.edge].append((i, step.sign))
    return found


def judge(trials: Trials, loops: Loops) -> tuple[Fitting, Fitting]:
    """By circuit that closes badly: the slips that would mend it and whatever else they take part in.

    The second are those that mend the circuit, spoil no good one, but leave another failing.
    """
    if not trials.trial:
        return {}, {}
    count = len(trials.slips)
    trial, circuit = np.array(trials.trial, dtype=np.intp), np.array(trials.circuit, dtype=np.intp)
    after = loops.changed(circuit, np.concatenate(trials.shift_m), np.concatenate(trials.more_m2))

    def of_slip(values: Floats | Flags) -> Floats:
        return np.bincount(trial, weights=values, minlength=count).astype(np.float64)

    rank = np.array(trials.penalty) + of_slip(after.rank)
    failing = loops.failing[circuit]
    mends = of_slip(after.better) >= MENDS_LEAST
    whole = ((of_slip(~after.mends) == 0) & mends)[trial] & failing
    alone = (of_slip(~after.mends & ~failing) == 0)[trial] & failing & after.mends
    alone &= after.better >= MENDS_LEAST

    def listed(rows: Flags) -> Fitting:
        found: Fitting = defaultdict(list)
        for row in np.flatnonzero(rows).tolist():
            found[int(circuit[row])].append(
                Explained(
                    slip=trials.slips[trial[row]],
                    rank=float(rank[trial[row]]),
                    misclosure_after_m=float(after.distance_m[row]),
                    q_after=float(after.q[row]),
                )
            )
        return found

    return listed(whole), listed(alone)


def two_together(trials: Trials, loops: Loops, circuit: int) -> tuple[float, tuple[Slip, Slip]] | None:
    """The two slips on two legs that would mend a circuit together, with their rank, if no others are nearly as likely.

    Nearly any gap can be made up of two slips; so two are named only where the rest of the readings, such as back
    bearings, leaves these alone.
    """
    row = np.flatnonzero(np.array(trials.circuit) == circuit)
    trial = np.array(trials.trial, dtype=np.intp)[row]
    edge = np.array([trials.slips[k].edge for k in trial.tolist()], dtype=np.intp)
    # Readings of the legs alone: two ways that begin elsewhere may run over one leg, and don't add up.
    keep = np.array([trials.slips[k].of_reading for k in trial.tolist()], dtype=np.bool_)
    row, trial, edge = row[keep], trial[keep], edge[keep]
    if not 2 <= len(row) <= MOST_IN_PAIRS:
        return None
    shift, more = np.concatenate(trials.shift_m)[row], np.concatenate(trials.more_m2)[row]
    penalty = np.array(trials.penalty)[trial]
    a, b = np.triu_indices(len(row), 1)
    apart = edge[a] != edge[b]
    a, b = a[apart], b[apart]
    after = loops.changed(np.full(len(a), circuit), shift[a] + shift[b], more[a] + more[b])
    rank = np.where(after.mends, after.rank + penalty[a] + penalty[b], np.inf)
    if not np.isfinite(rank).any():
        return None
    best = first_least(rank, same=1e-6)
    near = rank <= rank[best] + ALONE
    legs = {
        (min(x, y), max(x, y)) for x, y in zip(edge[a[near]].tolist(), edge[b[near]].tolist(), strict=True)
    }
    if len(legs) != 1:
        return None
    return float(rank[best]) + SECOND_SLIP, (trials.slips[trial[a[best]]], trials.slips[trial[b[best]]])


def likeliest(found: Sequence[Explained]) -> list[Explained]:
    """Each reading once, the likeliest first; those a hundred times less likely than the first are left out.

    Of bearings of one leg that can't be told apart the likelier is named.
    """
    ranked = sorted(found, key=lambda one: settled(one.rank, 6))
    seen: set[tuple[int, str, str]] = set()
    kept: list[Explained] = []
    for one in ranked:
        key = (one.slip.edge, one.slip.what, one.slip.reading)
        alike = one.slip.is_bearing and any(
            other.slip.edge == one.slip.edge
            and other.slip.is_bearing
            and abs(wrap_180(other.slip.turn_deg - one.slip.turn_deg)) < ALIKE_DEG
            for other in kept
        )
        told = one.slip.slip == ELSEWHERE and any(other.slip.what == one.slip.what for other in kept)
        if key not in seen and not alike and not told and one.rank <= ranked[0].rank + UNLIKELIER:
            seen.add(key)
            kept.append(one)
    return kept
