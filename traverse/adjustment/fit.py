"""The raw walk laid on points known apart from it: what no loop can see, turn and scale, shows here."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

import numpy as np

from traverse.adjustment.closure import SINGULAR_M2
from traverse.adjustment.records import Floats, Network, Vectors
from traverse.length import METRES_PER_FOOT
from traverse.record import record
from traverse.settled import settled
from traverse.trade import MIRRORED

_SURE = 3.0
"""Standard errors; common practice, no source."""
_ROUNDING = 1e-13
"""Of the sum of all variances, a thousand last bits."""


@record(frozen=True, slots=True, kw_only=True)
class LaidNetwork:
    """How a piece of the walk lies on its known points."""

    stations: tuple[int, ...]
    rotation_deg: float
    """How far the walk is turned clockwise of the known points."""
    rotation_sd_deg: float
    scale: float
    """The walk's distances over theirs."""
    scale_sd: float
    mirrored: bool
    """Whether the walk fits far better as seen in a mirror."""
    chi_square: float
    """Of what shift, turn and scale leave, as seen in the mirror where that fits."""
    last_edge: int
    """Way by which its last known point was reached; -1 for none."""


def lay_on_known_points(network: Network, vectors: Vectors, raw_m: Floats) -> tuple[LaidNetwork, ...]:
    """Shift, turn and scale of each piece onto its known points, where it has two or more.

    Weighted by the covariance of the walk between them and of the points, to first order.
    Source: four-parameter similarity transformation by generalised least squares, any adjustment text.
    """
    found = []
    for members, chains in _pieces(network):
        if len(members) < 2:
            continue
        known = np.array([network.fixes[i].position_m[:2] for i in members])
        if np.hypot(*np.ptp(known, axis=0)) < 1.0:
            continue
        covariance = _covariance(network, vectors, members, chains)
        covariance += SINGULAR_M2 * np.eye(len(covariance))
        direct = similarity(known, raw_m[members, :2], covariance)
        mirrored, left = False, direct.chi_square
        if len(members) > 2:
            other = similarity(known * (-1.0, 1.0), raw_m[members, :2], covariance)
            mirrored = other.chi_square + MIRRORED < direct.chi_square
            left = other.chi_square if mirrored else left
        found.append(
            LaidNetwork(
                stations=tuple(members),
                rotation_deg=direct.rotation_deg,
                rotation_sd_deg=direct.rotation_sd_deg,
                scale=direct.scale,
                scale_sd=direct.scale_sd,
                mirrored=mirrored,
                chi_square=left,
                last_edge=chains[-1][-1] if chains[-1] else -1,
            )
        )
    return tuple(found)


@record(frozen=True, slots=True, kw_only=True)
class Similarity:
    """Places as walked against places known."""

    rotation_deg: float
    rotation_sd_deg: float
    scale: float
    scale_sd: float
    chi_square: float
    residual_m: Floats
    """Walked less what shift, turn and scale make of the known places, (n, 2), east and north."""


def similarity(known: Floats, walked: Floats, covariance: Floats) -> Similarity:
    """Walked = shift + scale x turn(known), by generalised least squares; coordinates taken about the middle.

    Places are (n, 2), east and north; `covariance` of walked less known is (2n, 2n), a place's two next to each other.
    Source: four-parameter similarity transformation, any adjustment text.
    """
    middle = known.mean(axis=0)
    east, north = (known - middle).T
    count = len(known)
    design = np.zeros((2 * count, 4))  # a = scale cos, b = scale sin of the clockwise turn, shift east, north
    design[0::2, 0], design[0::2, 1], design[0::2, 2] = east, north, 1.0
    design[1::2, 0], design[1::2, 1], design[1::2, 3] = north, -east, 1.0
    observed = (walked - middle).reshape(-1)
    # By the root of the covariance and an orthogonal reduction: normal equations would square what a point known to a
    # hair beside others known to metres makes of the last bit.
    # What rounding leaves of a way shared by two points may be below nothing.
    root = np.linalg.cholesky(covariance + _ROUNDING * np.trace(covariance) * np.eye(len(covariance)))
    white = np.linalg.solve(root, np.column_stack((design, observed)))
    turned, upper = np.linalg.qr(white[:, :4])
    solution = np.linalg.solve(upper, turned.T @ white[:, 4])
    left = white[:, 4] - white[:, :4] @ solution
    residual = observed - design @ solution
    a, b = float(solution[0]), float(solution[1])
    scale = math.hypot(a, b)
    inverse = np.linalg.inv(upper)[:2]
    spread = inverse @ inverse.T
    # A square laid on its mirror image has no scale at all.
    size = max(scale, 1e-12)
    along, across = np.array((a, b)) / size, np.array((-b, a)) / size
    return Similarity(
        rotation_deg=settled(math.degrees(math.atan2(b, a))),
        rotation_sd_deg=settled(math.degrees(math.sqrt(max(float(across @ spread @ across), 0.0)) / size)),
        scale=settled(scale),
        scale_sd=settled(math.sqrt(max(float(along @ spread @ along), 0.0))),
        chi_square=settled(float(left @ left)),
        residual_m=residual.reshape(-1, 2),
    )


def _pieces(network: Network) -> list[tuple[list[int], list[list[int]]]]:
    """Known points of each tree of first reaching, with the edges from its root to each of them."""
    hook: dict[int, tuple[int, int]] = {}
    for edge, forward in network.forest:
        a, b = int(network.start[edge]), int(network.end[edge])
        parent, child = (a, b) if forward else (b, a)
        hook[child] = (parent, edge)
    pieces: dict[int, tuple[list[int], list[list[int]]]] = {}
    for station in sorted(network.fixes):
        chain, at = [], station
        while at in hook:
            at, edge = hook[at]
            chain.append(edge)
        members, chains = pieces.setdefault(at, ([], []))
        members.append(station)
        chains.append(chain[::-1])
    return list(pieces.values())


def _covariance(network: Network, vectors: Vectors, members: list[int], chains: list[list[int]]) -> Floats:
    """Of walked minus known places, (2n, 2n): ways that two points share count for both."""
    count = len(members)
    blocks = np.zeros((count, count, 2, 2))
    on = [frozenset(chain) for chain in chains]
    for i in range(count):
        for j in range(i, count):
            shared = np.array(sorted(on[i] & on[j]), dtype=np.intp)
            blocks[i, j] = vectors.covariance_m2[shared][:, :2, :2].sum(axis=0)
            blocks[j, i] = blocks[i, j].T
        blocks[i, i] += np.diag(network.fixes[members[i]].variance_m2[:2])
    return blocks.transpose(0, 2, 1, 3).reshape(2 * count, 2 * count)


def likely_cause(
    laid: LaidNetwork,
    *,
    declination_deg: float,
    paced: bool,
    in_feet: bool,
    pace_share: float = 0.0,
    left_out_deg: Callable[[], float] | None = None,
) -> str | None:
    """The mistake that would turn or stretch a walk so, in trade words; None where none stands out.

    A cause is named where the fit lies within three of its standard errors of what the mistake would do, nearer than to
    any other, and more than three from doing nothing. A declination stretches nothing: it explains no walk that is
    stretched too. `pace_share` is the standard error of the pace's length over it: it stretches every leg alike, so that
    no scatter of the fit tells it. `declination_deg` is what magnetic bearings take, and `left_out_deg`, asked for a walk
    that is turned, what bearings that are called true would.
    """
    if laid.mirrored:
        return "the dial's E and W were exchanged: the walk fits as seen in a mirror"
    scale_sd = math.hypot(laid.scale_sd, pace_share * laid.scale)
    if abs(laid.rotation_deg) > _SURE * laid.rotation_sd_deg and abs(laid.scale - 1.0) <= _SURE * scale_sd:
        left_out = left_out_deg() if left_out_deg is not None else 0.0
        turns = {
            declination_deg: "declination applied twice: set on the compass and added again",
            2.0 * declination_deg: "declination of the wrong sign",
            -left_out: "declination left out: bearings were magnetic",
        }
        turns.pop(0.0, None)
        words = _nearest(turns, laid.rotation_deg, laid.rotation_sd_deg) if turns else None
        if words is not None:
            return words
    if abs(laid.scale - 1.0) > _SURE * laid.scale_sd:
        scales = (
            {2.0: "single paces counted as double", 0.5: "double paces counted as single"} if paced else {}
        )
        if in_feet:
            scales[METRES_PER_FOOT] = "metres taken for feet"
        else:
            scales[1.0 / METRES_PER_FOOT] = "feet taken for metres"
        return _nearest(scales, laid.scale, scale_sd)
    return None


def _nearest(causes: Mapping[float, str], found: float, sd: float) -> str | None:
    """The cause whose figure is nearest to what was found, within its error."""
    figure = min(causes, key=lambda one: abs(one - found))
    return causes[figure] if abs(figure - found) <= _SURE * sd else None
