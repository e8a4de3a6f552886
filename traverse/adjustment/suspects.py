"""The wrong reading, found: slips that would explain a misclosure, the likeliest first."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace

import numpy as np

from traverse.adjustment.closure import chi_square, is_suspicious, usable
from traverse.adjustment.records import REFUSE, REFUSE_UP, WARN, Closing, Floats, Indices, Network, Vectors
from traverse.adjustment.slips import RARE, Slip, slips_of
from traverse.adjustment.vectors import Drawn, draw_legs
from traverse.record import record
from traverse.reduction import backsight
from traverse.reduction.records import ReducedLegs

TINY_DEG = 1e-6
"""Least deviation of a bearing that a chi-square is taken with."""


@record(frozen=True, slots=True, kw_only=True)
class Explained:
    """A slip, and how the circuit would close without it."""

    slip: Slip
    misclosure_after_m: float
    q_after: float


@record(frozen=True, slots=True, kw_only=True)
class _Trials:
    """Every slip of every leg of a circuit, one element each."""

    slips: list[Slip]
    at: Indices  # (n,) the leg
    observed: Floats  # (n, 3) its vector as changed
    covariance: Floats  # (n, 3, 3)
    contradiction: Floats  # (n,)


def find_suspects(
    legs: ReducedLegs,
    network: Network,
    closings: tuple[Closing, ...],
    drawn: Drawn,
) -> dict[int, tuple[Explained, ...]]:
    """For each circuit that closes badly, by its index: the slips that would explain it, likeliest first.

    Kept are slips after which q is below 5.99 and q_up below 6.63, or, if there are none, q below 9.21. They are
    ranked by the chi-square of all three components and the logarithm of their covariance's determinant, both
    with the leg as changed, which is twice the negative log-likelihood; fore and back bearings that come to agree,
    or to disagree, count in the same way. A slip that would spoil another circuit which closes well is none.
    """
    vectors = drawn.vectors
    through: dict[int, list[int]] = defaultdict(list)
    for i, closing in enumerate(closings):
        for step in closing.circuit.steps:
            through[step.edge].append(i)
    found: dict[int, tuple[Explained, ...]] = {}
    for i, closing in enumerate(closings):
        if not is_suspicious(closing):
            continue
        edges = [step.edge for step in closing.circuit.steps if step.edge < network.leg_count]
        slips = [slip for e in edges for slip in slips_of(e, legs.booked[e], float(legs.declination_deg[e]))]
        if not slips:
            continue
        at = np.array([slip.edge for slip in slips], dtype=np.intp)
        observed, covariance, contradiction = _changed(legs, slips, at, drawn)
        trials = _Trials(
            slips=slips, at=at, observed=observed, covariance=covariance, contradiction=contradiction
        )
        explained = [
            (rank, one)
            for rank, k, one in _judge(closing, vectors, trials)
            if not _spoils(k, i, trials, vectors, closings, through)
        ]
        explained += _other_ends(closing, network, vectors)
        found[i] = tuple(one for _, one in sorted(explained, key=lambda pair: pair[0]))
    return found


def _changed(
    legs: ReducedLegs, slips: list[Slip], at: Indices, drawn: Drawn
) -> tuple[Floats, Floats, Floats]:
    """Vector and covariance of the leg that each slip changes, reduced as any other, (n, 3) and (n, 3, 3).

    The third is by how much fore and back bearing then contradict each other more, as a chi-square, (n,).
    """
    turn = np.array([slip.turn_deg for slip in slips])
    stretch = np.array([slip.stretch for slip in slips])
    tilt = np.array([slip.tilt for slip in slips])
    difference = backsight.wrap_180(legs.difference_deg[at] + turn)
    sd = legs.reading_sd_deg[at]
    azimuth, azimuth_sd, _ = backsight.reconciled(legs.fore_deg[at] + turn, difference, sd)
    stated = np.array([legs.booked[i].sd_m is not None for i in at.tolist()])
    changed = replace(
        legs,
        booked=tuple(legs.booked[i] for i in at.tolist()),
        azimuth_deg=azimuth,
        from_grid=legs.from_grid[at],
        ground_m=legs.ground_m[at] * stretch,
        level=legs.level[at],
        slope_rad=legs.slope_rad[at] * tilt,
        bearing_sd_deg=azimuth_sd,
        slope_sd_deg=legs.slope_sd_deg[at],
        distance_sd_m=legs.distance_sd_m[at] * np.where(stated, 1.0, stretch),
    )
    before = legs.difference_deg[at]
    contradiction: Floats = np.nan_to_num((difference**2 - before**2) / (2.0 * np.maximum(sd, TINY_DEG) ** 2))
    return *draw_legs(changed, drawn.convergence_deg[at], drawn.scale[at]), contradiction


def _judge(closing: Closing, vectors: Vectors, trials: _Trials) -> list[tuple[float, int, Explained]]:
    """Rank and number of the trials that would mend a circuit."""
    signs = {step.edge: step.sign for step in closing.circuit.steps}
    sign = np.array([signs[edge] for edge in trials.at.tolist()])
    misclosure = closing.misclosure_m + sign[:, None] * (trials.observed - vectors.observed_m[trials.at])
    spread = usable(closing.covariance_m2 + trials.covariance - vectors.covariance_m2[trials.at])
    q = _chi_squares(misclosure[:, :2], spread[:, :2, :2])
    heights = closing.q_up is not None
    q_up = misclosure[:, 2] ** 2 / spread[:, 2, 2] if heights else np.zeros(len(q))
    size = 3 if heights else 2
    rank = _chi_squares(misclosure[:, :size], spread[:, :size, :size])
    rank += np.linalg.slogdet(spread[:, :size, :size])[1] + trials.contradiction
    rank += np.array([slip.rank for slip in trials.slips])
    keep = (q < WARN) & (q_up < REFUSE_UP)
    if not keep.any():
        keep = (q < REFUSE) & (q_up < REFUSE_UP)
    distance = np.hypot(misclosure[:, 0], misclosure[:, 1])
    return [
        (
            float(rank[k]),
            k,
            Explained(slip=trials.slips[k], misclosure_after_m=float(distance[k]), q_after=float(q[k])),
        )
        for k in np.flatnonzero(keep).tolist()
    ]


def _other_ends(closing: Closing, network: Network, vectors: Vectors) -> list[tuple[float, Explained]]:
    """A closing leg that came to another station of its loop than the one written."""
    circuit = closing.circuit
    if not circuit.closed or circuit.maker >= network.leg_count or len(circuit.stations) < 3:
        return []
    edges = np.array([step.edge for step in circuit.steps], dtype=np.intp)
    signs = np.array([step.sign for step in circuit.steps])[:, None]
    # From the station written onward each further station leaves out one step more of the way round.
    walked = np.cumsum((signs * vectors.observed_m[edges])[::-1], axis=0)[::-1]
    spread = usable(np.cumsum(vectors.covariance_m2[edges][::-1], axis=0)[::-1])
    q = _chi_squares(walked[:, :2], spread[:, :2, :2])
    q_up = walked[:, 2] ** 2 / spread[:, 2, 2]
    rank = _chi_squares(walked, spread) + np.linalg.slogdet(spread)[1] + RARE
    found = []
    for j in range(1, len(circuit.stations) - 1):
        if q[j] < WARN and q_up[j] < REFUSE_UP:
            slip = Slip(
                edge=circuit.maker,
                slip="closed on the wrong station",
                reading=f"close {network.names[circuit.stations[j]]}",
            )
            away = float(np.hypot(walked[j, 0], walked[j, 1]))
            found.append((float(rank[j]), Explained(slip=slip, misclosure_after_m=away, q_after=float(q[j]))))
    return found


def _spoils(
    k: int,
    circuit: int,
    trials: _Trials,
    vectors: Vectors,
    closings: tuple[Closing, ...],
    through: dict[int, list[int]],
) -> bool:
    """Whether a circuit that closes well would no longer, were trial k the reading."""
    edge = trials.slips[k].edge
    for other in through[edge]:
        closing = closings[other]
        if other == circuit or is_suspicious(closing):
            continue
        sign = next(step.sign for step in closing.circuit.steps if step.edge == edge)
        misclosure = closing.misclosure_m + sign * (trials.observed[k] - vectors.observed_m[edge])
        spread = usable(closing.covariance_m2 + trials.covariance[k] - vectors.covariance_m2[edge])
        if chi_square(misclosure[:2], spread[:2, :2]) > REFUSE:
            return True
        if closing.q_up is not None and misclosure[2] ** 2 / spread[2, 2] > REFUSE_UP:
            return True
    return False


def _chi_squares(misclosure: Floats, covariance: Floats) -> Floats:
    solved = np.linalg.solve(covariance, misclosure[..., None])[..., 0]
    return np.asarray((misclosure * solved).sum(axis=-1), dtype=np.float64)
