"""The wrong reading, found: slips that would explain a misclosure, the likeliest first."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np

from traverse.adjustment.closure import usable
from traverse.adjustment.jointly import Together
from traverse.adjustment.misread.deciding import what_decides
from traverse.adjustment.misread.ends import try_ends
from traverse.adjustment.misread.everywhere import try_everywhere
from traverse.adjustment.misread.explained import Check, Explanation, Loops
from traverse.adjustment.misread.known import OtherPlace, try_known_points
from traverse.adjustment.misread.rerouted import Rerouted
from traverse.adjustment.misread.slips import Slip, other_bearing, other_distance, slips_of
from traverse.adjustment.misread.starts import try_starts
from traverse.adjustment.misread.trials import Trials, judge, likeliest, through, two_together
from traverse.adjustment.misread.turned import try_turns
from traverse.adjustment.records import Closing, Flags, Floats, Indices, Network
from traverse.adjustment.vectors import Drawn, draw_legs
from traverse.log.records import Log
from traverse.reduction import backsight
from traverse.reduction.records import ReducedLegs
from traverse.settled import first_least, settled
from traverse.trade import ALONE, BACK_BEARING_MOST, MOST_LEFT, SLOPES_LEAST_DEG, STEEPER_SLIP

MOST_PAIRED = 5
"""Circuits that close badly up to which pairs of slips are tried; where more do, there are more than two."""
OTHER_BEARING_LEAST_DEG = 3.0
"""A bearing that is nearer to what would close is no misreading but its error; common practice, no source."""
ODD_UNIT_LEAST = 4
"""Of fewer legs none is the odd one by its unit."""
TINY_DEG = 1e-6
"""Least deviation of a bearing that a chi-square is taken with."""


def find_suspects(
    log: Log,
    legs: ReducedLegs,
    network: Network,
    closings: tuple[Closing, ...],
    drawn: Drawn,
    *,
    known: Mapping[int, Sequence[OtherPlace]],
    checks: Sequence[Check] = (),
    together: Together | None = None,
    model_deg: float | None = None,
) -> dict[int, Explanation]:
    """For each circuit that closes badly, by its index: the slips that would explain it, likeliest first.

    Kept are slips after which every circuit that closes badly and that the reading takes part in closes as one in a
    hundred does, all together as one in a thousand, and which spoil none that closes well; where no slip mends them all,
    there are two faults or more, and those that mend this circuit alone are kept. They are ranked by the chi-square of
    all circuits at once and the logarithm of their covariance's determinant, both with the reading as changed, which is
    twice the negative log-likelihood; fore and back bearings that come to agree, or to disagree, slopes that are
    steeper than the others, sights and heights count in the same way. What is a hundred times less likely than the
    first is left out.

    `known` are other places that the figures of each known point may have said, `model_deg` is the declination that the
    magnetic model gives.
    """
    loops = Loops.of(closings, checks, vectors=drawn.vectors, together=together)
    failing = [i for i in np.flatnonzero(loops.failing).tolist() if i < len(closings)]
    if not failing:
        return {}
    edges = sorted({step.edge for i in failing for step in loops.steps[i] if step.edge < network.leg_count})
    trials = Trials()
    _try_legs(trials, legs, loops, edges, drawn)
    routes = Rerouted(network, loops, drawn)
    try_starts(trials, log, network, loops, edges, failing, drawn, routes)
    try_ends(trials, log, network, loops, failing, drawn, routes)
    try_turns(trials, legs, network, loops, drawn, failing)
    try_everywhere(trials, log, legs, loops, network, drawn, model_deg=model_deg)
    try_known_points(trials, network, loops, known, log.lengths, drawn, routes.tree)
    found, alone = judge(trials, loops)
    contradicted = set(np.flatnonzero(_contradicted(legs)).tolist())
    explained: dict[int, Explanation] = {}
    for i in failing:
        fitting = found.get(i) or alone.get(i, [])
        up, gap_m = loops.in_height[i], closings[i].misclosure_m
        now_m = abs(gap_m[2]) if up else math.hypot(gap_m[0], gap_m[1])
        fitting = [one for one in fitting if one.misclosure_after_m <= MOST_LEFT * now_m] or fitting
        ranked = tuple(likeliest(fitting))
        denied = contradicted.intersection(step.edge for step in loops.steps[i])
        pair = None
        if len(failing) <= MOST_PAIRED and (not ranked or denied - {ranked[0].slip.edge}):
            pair = two_together(trials, loops, i, denied)
        if pair is not None and ranked:
            # The back bearing of a leg may be the wrong one of the two: its question stands by itself where the other leg
            # explains the circuit alone.
            rest = {slip.edge for slip in pair[1].slips if not (slip.is_bearing and slip.edge in denied)}
            explains = rest and rest <= {one.slip.edge for one in ranked}
            if explains or ranked[0].rank < pair[0] + ALONE:
                pair = None
        ranked = () if pair is not None else ranked
        explained[i] = Explanation(
            ranked=ranked,
            decides=what_decides(ranked, closings[i], legs, network, drawn),
            together=None if pair is None else pair[1],
            contradicted=frozenset(contradicted),
        )
    return explained


def _contradicted(legs: ReducedLegs) -> Flags:
    """Legs whose back bearing says that the fore bearing is wrong, or the other way round, (n,)."""
    return np.asarray(np.abs(legs.difference_deg) > backsight.limit_deg(legs.reading_sd_deg))


def _try_legs(trials: Trials, legs: ReducedLegs, loops: Loops, edges: Sequence[int], drawn: Drawn) -> None:
    """Every slip of every leg that takes part in what closes badly."""
    booked = legs.booked
    declination = legs.declination_deg.tolist()
    units = Counter(leg.distance.unit for leg in booked)
    slips = [
        slip
        for edge in edges
        for slip in slips_of(
            edge,
            booked[edge],
            declination[edge],
            booked[edge - 1] if edge else None,
            odd_unit=units[booked[edge].distance.unit] == 1 and len(booked) > ODD_UNIT_LEAST,
        )
    ]
    slips += _other_figures(legs, loops, edges, drawn)
    if not slips:
        return
    at = np.array([slip.edge for slip in slips], dtype=np.intp)
    observed, covariance, against = _changed(legs, slips, at, drawn)
    against = against + _steepness(legs, slips, at)
    over = through(loops, edges)
    counts = np.array([len(over[edge]) for edge in at.tolist()])
    trial = np.repeat(np.arange(len(slips)), counts)
    pairs = np.array([pair for edge in at.tolist() for pair in over[edge]])
    edge = at[trial]
    more = covariance - drawn.vectors.covariance_m2[at]
    both = (
        []
        if loops.together is None
        else [
            (k, a, b, s * t * more[k])
            for k, one in enumerate(at.tolist())
            for (a, s), (b, t) in combinations(over[one], 2)
        ]
    )
    trials.add_block(
        slips,
        (against + np.array([slip.rank for slip in slips])).tolist(),
        trial.tolist(),
        pairs[:, 0].astype(np.intp).tolist(),
        pairs[:, 1:] * (observed[trial] - drawn.vectors.observed_m[edge]),
        more[trial],
        both,
    )


def _other_figures(legs: ReducedLegs, loops: Loops, edges: Sequence[int], drawn: Drawn) -> Iterator[Slip]:
    """The distance, and the bearing, with which a circuit over each leg closes best, whatever slip would make it.

    Source: the leg whose distance is wrong runs along the line that is missing, and of the leg whose bearing is wrong
    that line is the chord of its turn, any survey text.
    """
    over = through(loops, edges)
    for edge in edges:
        first = next(((i, sign) for i, sign in over[edge] if loops.failing[i]), None)
        along = drawn.vectors.observed_m[edge, :2]
        if first is None or not along.any():
            continue
        i, sign = first
        weights = np.linalg.inv(usable(loops.covariance_m2[i][:2, :2]))
        missing = sign * loops.misclosure_m[i][:2]
        stretch = 1.0 - float(along @ weights @ missing) / float(along @ weights @ along)
        slip = other_distance(edge, legs.booked[edge], settled(stretch, 6))
        if slip is not None:
            yield slip
        turn_deg = _best_turn_deg(along, missing, np.asarray(weights, dtype=np.float64))
        if abs(turn_deg) > OTHER_BEARING_LEAST_DEG:
            yield other_bearing(edge, legs.booked[edge], turn_deg)


def _best_turn_deg(along_m: Floats, missing_m: Floats, weights: Floats) -> float:
    """By how much a leg is turned, clockwise, where the circuit then closes best; degrees, -180 to 180.

    The shapes are (2,), (2,) and (2, 2), east before north. Bearings are read to a degree, so whole ones are tried.
    """
    turns = np.arange(-179.0, 181.0)
    cos, sin = np.cos(np.radians(turns)), np.sin(np.radians(turns))
    east = along_m[0] * (cos - 1.0) + along_m[1] * sin + missing_m[0]
    north = along_m[1] * (cos - 1.0) - along_m[0] * sin + missing_m[1]
    gaps = np.stack((east, north), axis=1)
    chi_square = ((gaps @ weights) * gaps).sum(axis=1)
    return float(turns[first_least(chi_square, same=1e-6)])


def _steepness(legs: ReducedLegs, slips: Sequence[Slip], at: Indices) -> Floats:
    """What the other slopes of the log say against each slip: a slope as they are is likelier than a steep one, (n,)."""
    slope = np.degrees(legs.slope_rad)
    own = legs.slope_known
    others = (own * slope**2).sum() - own[at] * slope[at] ** 2
    scatter = np.maximum(others / np.maximum(own.sum() - own[at], 1), SLOPES_LEAST_DEG**2)
    tilt = np.array([slip.tilt for slip in slips])
    found: Floats = np.clip(slope[at] ** 2 * (tilt**2 - 1.0) / scatter, -STEEPER_SLIP, STEEPER_SLIP)
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
    share = np.array([np.nan if slip.share is None else slip.share for slip in slips])
    both_turned = np.array([slip.both_turned for slip in slips], dtype=np.bool_)
    difference = backsight.wrap_180(legs.difference_deg[at] + np.where(both_turned, 0.0, turn))
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
    apart = 2.0 * np.maximum(sd, TINY_DEG) ** 2
    before, after = (
        np.minimum(np.nan_to_num(one) ** 2 / apart, BACK_BEARING_MOST)
        for one in (legs.difference_deg[at], difference)
    )
    contradiction: Floats = after - before
    return *draw_legs(changed, drawn.convergence_deg[at], drawn.scale[at]), contradiction
