"""The wrong reading, found: slips that would explain a misclosure, the likeliest first."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from traverse.adjustment.closure import is_suspicious
from traverse.adjustment.deciding import what_decides
from traverse.adjustment.ends import Ends
from traverse.adjustment.explained import Explained, Explanation, Loops
from traverse.adjustment.records import Closing, Flags, Floats, Indices, Network
from traverse.adjustment.slips import Slip, slips_of
from traverse.adjustment.turned import turned_from_here
from traverse.adjustment.vectors import Drawn, draw_legs
from traverse.record import record
from traverse.reduction import backsight
from traverse.reduction.records import ReducedLegs
from traverse.settled import settled

TINY_DEG = 1e-6
"""Least deviation of a bearing that a chi-square is taken with."""


@record(frozen=True, slots=True, kw_only=True)
class _Trials:
    """Every slip of every leg that takes part in a loop which closes badly, one element each."""

    slips: list[Slip]
    at: Indices  # (n,) the leg
    observed: Floats  # (n, 3) its vector as changed
    covariance: Floats  # (n, 3, 3)
    penalty: Floats  # (n,) of the slip, and of fore and back bearing as changed


def find_suspects(
    legs: ReducedLegs,
    network: Network,
    closings: tuple[Closing, ...],
    drawn: Drawn,
) -> dict[int, Explanation]:
    """For each circuit that closes badly, by its index: the slips that would explain it, likeliest first.

    Kept are slips after which q is below 5.99 and q_up below 6.63, or, if there are none, q below 9.21, in every
    circuit that closes badly and that the reading takes part in, and which spoil none that closes well; where no
    slip mends them all, there are two faults or more, and those that mend this circuit alone are kept. They are
    ranked by the chi-square of all three components and the logarithm of their covariance's determinant, both
    with the leg as changed and taken over all circuits of the reading, which is twice the negative
    log-likelihood; fore and back bearings that come to agree, or to disagree, count in the same way.
    """
    loops = Loops.of(closings)
    failing = [i for i, closing in enumerate(closings) if is_suspicious(closing)]
    found: dict[int, list[tuple[float, Explained]]] = {i: [] for i in failing}
    trials = _trials(legs, network, closings, failing, drawn)
    alone: dict[int, list[tuple[float, Explained]]] = {}
    if trials is not None:
        whole, alone = _judge(trials, loops, closings, drawn)
        for i, several in whole.items():
            found[i] += several
    ends = Ends.of(network, loops, drawn)
    for i in failing:
        found[i] += ends.fitting(i)
    for i, several in turned_from_here(legs, network, loops, drawn, failing).items():
        found[i] += several
    explained: dict[int, Explanation] = {}
    for i, several in found.items():
        fitting = several or alone.get(i, [])
        ranked = tuple(one for _, one in sorted(fitting, key=lambda pair: settled(pair[0])))
        explained[i] = Explanation(
            ranked=ranked, decides=what_decides(ranked, closings[i], legs, network, drawn)
        )
    return explained


def _trials(
    legs: ReducedLegs,
    network: Network,
    closings: Sequence[Closing],
    failing: Sequence[int],
    drawn: Drawn,
) -> _Trials | None:
    edges = sorted(
        {step.edge for i in failing for step in closings[i].circuit.steps if step.edge < network.leg_count}
    )
    booked = legs.booked
    declination = legs.declination_deg.tolist()
    slips = [
        slip
        for edge in edges
        for slip in slips_of(edge, booked[edge], declination[edge], booked[edge - 1] if edge else None)
    ]
    if not slips:
        return None
    at = np.array([slip.edge for slip in slips], dtype=np.intp)
    observed, covariance, contradiction = _changed(legs, slips, at, drawn)
    return _Trials(
        slips=slips,
        at=at,
        observed=observed,
        covariance=covariance,
        penalty=contradiction + np.array([slip.rank for slip in slips]),
    )


def _changed(
    legs: ReducedLegs, slips: list[Slip], at: Indices, drawn: Drawn
) -> tuple[Floats, Floats, Floats]:
    """Vector and covariance of the leg that each slip changes, reduced as any other, (n, 3) and (n, 3, 3).

    The third is by how much fore and back bearing then contradict each other more, as a chi-square, (n,).
    """
    turn = np.array([slip.turn_deg for slip in slips])
    stretch = np.array([slip.stretch for slip in slips])
    tilt = np.array([slip.tilt for slip in slips])
    share = np.array([np.nan if slip.share is None else slip.share for slip in slips])
    difference = backsight.wrap_180(legs.difference_deg[at] + turn)
    sd = legs.reading_sd_deg[at]
    azimuth, azimuth_sd, _ = backsight.reconciled(legs.fore_deg[at] + turn, difference, sd)
    own = {edge: legs.booked[edge].sd_m is not None for edge in set(at.tolist())}
    stated = np.array([own[edge] for edge in at.tolist()]) & (stretch != 0.0)
    ground = legs.ground_m[at] * stretch
    changed = replace(
        legs,
        azimuth_deg=azimuth,
        from_grid=legs.from_grid[at],
        ground_m=ground,
        level=legs.level[at],
        slope_rad=legs.slope_rad[at] * tilt,
        bearing_sd_deg=azimuth_sd,
        slope_sd_deg=legs.slope_sd_deg[at],
        distance_sd_m=np.where(
            np.isnan(share) | stated, legs.distance_sd_m[at] * np.where(stated, 1.0, stretch), share * ground
        ),
    )
    before = legs.difference_deg[at]
    contradiction: Floats = np.nan_to_num((difference**2 - before**2) / (2.0 * np.maximum(sd, TINY_DEG) ** 2))
    return *draw_legs(changed, drawn.convergence_deg[at], drawn.scale[at]), contradiction


def _judge(
    trials: _Trials, loops: Loops, closings: Sequence[Closing], drawn: Drawn
) -> tuple[dict[int, list[tuple[float, Explained]]], dict[int, list[tuple[float, Explained]]]]:
    """By circuit: rank and slip of the trials that would mend it and whatever else they take part in.

    The second are those that mend the circuit, spoil no good one, but leave another failing.
    """
    vectors = drawn.vectors
    through: dict[int, list[tuple[int, float]]] = defaultdict(list)
    for edge in set(trials.at.tolist()):
        through[edge] = []
    for i, closing in enumerate(closings):
        for step in closing.circuit.steps:
            if step.edge in through:
                through[step.edge].append((i, step.sign))
    at = trials.at.tolist()
    counts = np.array([len(through[edge]) for edge in at])
    trial = np.repeat(np.arange(len(at)), counts)
    pairs = np.array([pair for edge in at for pair in through[edge]])
    circuit, sign = pairs[:, 0].astype(np.intp), pairs[:, 1]
    edge = trials.at[trial]
    after = loops.changed(
        circuit,
        sign[:, None] * (trials.observed[trial] - vectors.observed_m[edge]),
        trials.covariance[trial] - vectors.covariance_m2[edge],
    )
    rank = trials.penalty + np.bincount(trial, weights=after.rank, minlength=len(at))
    failing = loops.failing[circuit]

    def never(flags: Flags) -> Flags:
        """By trial: whether no circuit that it takes part in is flagged."""
        return np.asarray(np.bincount(trial, weights=flags, minlength=len(at)) == 0)

    surely = never(~after.mends)[trial] & failing
    perhaps = never(~after.may_mend)[trial] & failing
    alone = never(~after.may_mend & ~failing)[trial] & failing & after.mends
    whole: dict[int, list[tuple[float, Explained]]] = {}
    partly: dict[int, list[tuple[float, Explained]]] = {}
    for fitting, found in ((perhaps & ~surely, whole), (surely, whole), (alone, partly)):
        better: dict[int, list[tuple[float, Explained]]] = defaultdict(list)
        for pair in np.flatnonzero(fitting).tolist():
            one = Explained(
                slip=trials.slips[trial[pair]],
                misclosure_after_m=float(after.distance_m[pair]),
                q_after=float(after.q[pair]),
            )
            better[int(circuit[pair])].append((float(rank[trial[pair]]), one))
        found.update(better)  # what surely mends a circuit takes the place of what may
    return whole, partly
