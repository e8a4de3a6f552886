"""Readings tried as others: what each would do to every circuit it takes part in, and which of them explain the log."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from traverse.adjustment.misread.explained import Changes, Explained, Loops, Pairing
from traverse.adjustment.misread.slips import Slip, one_length
from traverse.adjustment.records import Flags, Floats, Indices
from traverse.angle import wrap_180
from traverse.settled import first_least, settled
from traverse.trade import ALONE, MENDS_LEAST, SECOND_SLIP, SPACE_REFUSE, UNLIKELIER

ALIKE_DEG = 3.0
"""Bearings nearer together than this are one to a closure."""
ELSEWHERE = "the point lies elsewhere, or another was taken for it"
"""Said of a known point of which no figure is named."""
MOST_IN_PAIRS = 500
"""Slips of a circuit up to which all pairs of them are tried."""
Through = Mapping[int, list[tuple[int, float]]]
"""By edge: circuits that run over it, and its sign there."""
Pair = tuple[int, int, Floats]
"""Two circuits, and what their covariance grows by, (3, 3)."""
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
    pairs: list[tuple[Indices, Indices, Indices, Floats]] = field(default_factory=list)
    """Blocks of rows, one for each two circuits of a slip: the slip, both, and what their covariance grows by, (n, 3, 3)."""

    def add(
        self,
        slip: Slip,
        penalty: float,
        rows: Sequence[tuple[int, Floats, Floats]],
        pairs: Sequence[Pair] = (),
    ) -> None:
        """One slip with its circuits, and each two of them; one that no circuit sees is left out."""
        if rows:
            circuits, shifts, more = zip(*rows, strict=True)
            self.add_block(
                [slip], [penalty], [0] * len(rows), list(circuits), np.array(shifts), np.array(more),
                [(0, *pair) for pair in pairs],
            )  # fmt: skip

    def add_block(
        self,
        slips: Sequence[Slip],
        penalty: Sequence[float],
        trial: Sequence[int],
        circuit: Sequence[int],
        shift_m: Floats,
        more_m2: Floats,
        pairs: Sequence[tuple[int, int, int, Floats]] = (),
    ) -> None:
        """Several slips, and the rows of all of them; `trial` counts from the first of these slips."""
        first = len(self.slips)
        if pairs:
            trials, ones, others, growth = zip(*pairs, strict=True)
            at = np.array(trials, dtype=np.intp) + first
            self.pairs.append(
                (at, np.array(ones, dtype=np.intp), np.array(others, dtype=np.intp), np.array(growth))
            )
        self.trial += [first + one for one in trial]
        self.circuit += circuit
        self.shift_m.append(shift_m)
        self.more_m2.append(more_m2)
        self.slips += slips
        self.penalty += penalty

    def changes(self) -> Changes:
        """All of them as arrays."""
        nothing = np.zeros(0, dtype=np.intp)
        pair_slip, first, second, pair_m2 = (
            [np.concatenate(column) for column in zip(*self.pairs, strict=True)]
            if self.pairs
            else (nothing, nothing, nothing, np.zeros((0, 3, 3)))
        )
        return Changes(
            count=len(self.slips),
            slip=np.array(self.trial, dtype=np.intp),
            circuit=np.array(self.circuit, dtype=np.intp),
            shift_m=np.concatenate(self.shift_m),
            more_m2=np.concatenate(self.more_m2),
            pair_slip=pair_slip,
            first=first,
            second=second,
            pair_m2=pair_m2,
        )


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
    changes = trials.changes()
    trial, circuit = changes.slip, changes.circuit
    after = loops.changed(circuit, changes.shift_m, changes.more_m2)
    whole = loops.whole(changes, after)
    rank = np.array(trials.penalty) + whole.rank
    failing = loops.failing[circuit]
    mended = (whole.fits & (whole.better >= MENDS_LEAST))[trial] & failing
    spoilt = np.bincount(trial, weights=~after.mends & ~failing, minlength=changes.count) > 0.0
    alone = ~spoilt[trial] & failing & after.mends & (after.better >= MENDS_LEAST)

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

    return listed(mended), listed(alone)


def two_together(
    trials: Trials, loops: Loops, circuit: int, denied: Container[int]
) -> tuple[float, Pairing] | None:
    """The likeliest two slips on two legs that would mend a circuit together, with their rank; None where none would.

    They spoil no circuit that closes well. Nearly any gap can be made up of two slips; they stand alone only where the rest of the readings, such as back
    bearings, leaves no others nearly as likely. Of legs that are `denied`, whose back bearing says otherwise, one
    bearing is wrong in any case.
    """
    row = np.flatnonzero(np.array(trials.circuit) == circuit)
    trial = np.array(trials.trial, dtype=np.intp)[row]
    # Readings of the legs alone: two ways that begin elsewhere may run over one leg, and don't add up.
    keep = np.array(
        [trials.slips[k].of_reading and not trials.slips[k].is_vague for k in trial.tolist()], dtype=np.bool_
    )
    row, trial = row[keep], trial[keep]
    edge = np.array([trials.slips[k].edge for k in trial.tolist()], dtype=np.intp)
    if not 2 <= len(row) <= MOST_IN_PAIRS:
        return None
    shift, more = np.concatenate(trials.shift_m)[row], np.concatenate(trials.more_m2)[row]
    penalty = np.array(trials.penalty)[trial]
    a, b = np.triu_indices(len(row), 1)
    apart = (edge[a] != edge[b]) & _near_in_plan(loops, circuit, shift, more, a, b)
    a, b = a[apart], b[apart]
    after = loops.changed(np.full(len(a), circuit), shift[a] + shift[b], more[a] + more[b])
    rank = np.where(after.mends, after.rank + penalty[a] + penalty[b], np.inf)
    mending = np.flatnonzero(after.mends)
    spoils = _spoils(trials, loops, trial[a[mending]], trial[b[mending]])
    rank[mending[spoils]] = np.inf
    if not np.isfinite(rank).any():
        return None
    best = first_least(rank, same=1e-6)
    near = rank <= rank[best] + ALONE
    legs = {
        (min(x, y), max(x, y)) for x, y in zip(edge[a[near]].tolist(), edge[b[near]].tolist(), strict=True)
    }
    slips = trials.slips[trial[a[best]]], trials.slips[trial[b[best]]]
    certain = any(slip.is_bearing and slip.edge in denied for slip in slips)
    return float(rank[best]) + (0.0 if certain else SECOND_SLIP), Pairing(slips=slips, alone=len(legs) == 1)


def _spoils(trials: Trials, loops: Loops, first: Indices, second: Indices) -> Flags:
    """Pairs of slips after which a circuit that closes well would not, (n,)."""
    spoilt = np.zeros(len(first), dtype=np.bool_)
    pairs = {*first.tolist(), *second.tolist()}
    rows = [row for row, slip in enumerate(trials.trial) if slip in pairs]
    shift, more = np.concatenate(trials.shift_m), np.concatenate(trials.more_m2)
    of_circuit: dict[int, list[int]] = defaultdict(list)
    for row in rows:
        if not loops.failing[trials.circuit[row]]:
            of_circuit[trials.circuit[row]].append(row)
    for circuit, own in of_circuit.items():
        count = len(trials.slips)
        shifts, growth = np.zeros((count, 3)), np.zeros((count, 3, 3))
        at = np.array([trials.trial[row] for row in own], dtype=np.intp)
        shifts[at], growth[at] = shift[own], more[own]
        open_to_it = np.isin(first, at) | np.isin(second, at)
        which = np.flatnonzero(open_to_it & ~spoilt)
        after = loops.changed(
            np.full(len(which), circuit, dtype=np.intp),
            shifts[first[which]] + shifts[second[which]],
            growth[first[which]] + growth[second[which]],
        )
        spoilt[which] = ~after.mends
    return spoilt


def _near_in_plan(
    loops: Loops, circuit: int, shift_m: Floats, more_m2: Floats, a: Indices, b: Indices
) -> Flags:
    """Pairs that may mend a circuit, judged by its plan alone, (n,): few of the many are left to be judged in full."""
    east, north = (loops.misclosure_m[circuit][k] + shift_m[a, k] + shift_m[b, k] for k in (0, 1))
    first, both, second = (
        loops.covariance_m2[circuit][i, j] + more_m2[a, i, j] + more_m2[b, i, j]
        for i, j in ((0, 0), (0, 1), (1, 1))
    )
    q = east * east * second - 2.0 * east * north * both + north * north * first
    return np.asarray(q <= (SPACE_REFUSE + 1.0) * np.maximum(first * second - both * both, 0.0))


def likeliest(found: Sequence[Explained]) -> list[Explained]:
    """Each reading once, the likeliest first; those a hundred times less likely than the first are left out.

    Of bearings of one leg that can't be told apart the likelier is named.
    """
    ranked = sorted(found, key=lambda one: settled(one.rank, 6))
    seen: set[tuple[int, str, str]] = set()
    kept: list[Explained] = []
    first_vague = next((one for one in ranked if one.slip.is_vague), None)
    for one in ranked:
        key = (one.slip.edge, one.slip.what, one.slip.reading)
        alike = one.slip.is_bearing and any(
            other.slip.edge == one.slip.edge
            and other.slip.is_bearing
            and abs(wrap_180(other.slip.turn_deg - one.slip.turn_deg)) < ALIKE_DEG
            for other in kept
        )
        told = one.slip.slip == ELSEWHERE and any(other.slip.what == one.slip.what for other in kept)
        # Of what only the closure names, the likeliest, and not where a slip of that leg comes to the same distance: others that
        # would do as well say no more.
        vague = (
            one.slip.is_vague
            and kept
            and not kept[0].slip.is_vague
            and (one is not first_vague or any(one_length(other.slip, one.slip) for other in kept))
        )
        if (
            key not in seen
            and not alike
            and not told
            and not vague
            and one.rank <= ranked[0].rank + UNLIKELIER
        ):
            seen.add(key)
            kept.append(one)
    return kept
