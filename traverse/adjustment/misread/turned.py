"""Everything from a station on turned by one angle: a compass set anew, or read by a second observer."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations

import numpy as np

from traverse.adjustment.misread.explained import Loops
from traverse.adjustment.misread.slips import Slip
from traverse.adjustment.misread.trials import Pair, Trials
from traverse.adjustment.records import Floats, Network
from traverse.adjustment.vectors import Drawn
from traverse.angle import bearing_text, is_quadrant
from traverse.log.items import Leg
from traverse.log.readings import North
from traverse.reduction.records import ReducedLegs
from traverse.trade import ANY_ANGLE, LEAST_SET_DEG, MOST_SET_DEG, UNCOMMON_SLIP

MOST_CIRCUITS = 50
"""In a log with more failing circuits than this it is not one compass that is wrong."""


def try_turns(
    trials: Trials, legs: ReducedLegs, network: Network, loops: Loops, drawn: Drawn, failing: Sequence[int]
) -> None:
    """Turns of all legs from some leg on.

    All legs that were walked later are turned with it, those of other circuits as well, which must be mended or
    stay good. Tried are the declination and twice it, either way, and the angle by which a circuit closes best:
    then the leg's start lies on the perpendicular bisector of the line that is missing.
    Source: the rule of the bisector, any survey text; for turned angles, never for one bad bearing.
    """
    if len(failing) > MOST_CIRCUITS:
        return
    walks = [_Walk(loops, i, network, drawn) for i in range(len(loops.steps))]
    for i in failing:
        tried = [
            (int(walks[i].edges[k]), *angle)
            for k in range(1, len(walks[i].edges) - 1)  # one leg alone is a bearing of its own
            for angle in _angles(legs, int(walks[i].edges[k]), walks[i], k)
        ]
        if not tried:
            continue
        shifts, more = (
            np.array(column)
            for column in zip(*(walks[i].change(edge, turn) for edge, turn, _, _ in tried), strict=True)
        )
        mends = loops.changed(np.full(len(tried), i), shifts, more).mends.tolist()
        for edge, turn, named, rank in (one for one, good in zip(tried, mends, strict=True) if good):
            touched = [j for j, walk in enumerate(walks) if len(walk.edges) and walk.edges[-1] >= edge]
            rows = [(j, *walks[j].change(edge, turn)) for j in touched]
            pairs: list[Pair] = []
            if loops.together is not None:
                pairs = [
                    (a, b, walks[a].change_with(walks[b], edge, turn)) for a, b in combinations(touched, 2)
                ]
            trials.add(_slip(legs.booked[edge], edge, turn, named), rank, rows, pairs)


class _Walk:
    """Legs of a circuit in the order they were walked, and what is walked from each of them on."""

    def __init__(self, loops: Loops, circuit: int, network: Network, drawn: Drawn) -> None:
        steps = [step for step in loops.steps[circuit] if step.edge < network.leg_count]
        steps.sort(key=lambda step: step.edge)
        self.edges = np.array([step.edge for step in steps], dtype=np.intp)
        signs = np.array([step.sign for step in steps]).reshape(-1, 1)
        vectors = drawn.vectors
        # (n + 1,): nothing comes after the last leg
        self.after = _sums_from(signs * vectors.observed_m[self.edges].reshape(-1, 3))
        self.own_m2 = vectors.covariance_m2[self.edges].reshape(-1, 3, 3)
        self.covariance = _sums_from(self.own_m2)
        self.signs = signs[:, 0]
        self.misclosure = loops.misclosure_m[circuit]

    def closing_turn_deg(self, k: int) -> float:
        """Clockwise angle that brings what follows leg k back as near as it can."""
        later = self.after[k, :2]
        rest = self.misclosure[:2] - later
        turn = math.degrees(math.atan2(-rest[0], -rest[1]) - math.atan2(later[0], later[1]))
        return (turn + 180.0) % 360.0 - 180.0

    def change(self, edge: int, turn_deg: float) -> tuple[Floats, Floats]:
        """Shift of the misclosure and growth of its covariance, were all legs from `edge` on turned."""
        k = int(np.searchsorted(self.edges, edge))
        rotation = _rotation(turn_deg)
        later, spread = self.after[k], self.covariance[k]
        return rotation @ later - later, rotation @ spread @ rotation.T - spread

    def change_with(self, other: _Walk, edge: int, turn_deg: float) -> Floats:
        """Growth of the covariance between two circuits, were all legs from `edge` on turned, (3, 3)."""
        _, mine, theirs = np.intersect1d(self.edges, other.edges, assume_unique=False, return_indices=True)
        later = self.edges[mine] >= edge
        mine, theirs = mine[later], theirs[later]
        signs = self.signs[mine] * other.signs[theirs]
        spread = (signs[:, None, None] * self.own_m2[mine]).sum(axis=0)
        rotation = _rotation(turn_deg)
        return np.asarray(rotation @ spread @ rotation.T - spread, dtype=np.float64)


def _rotation(turn_deg: float) -> Floats:
    """By an angle clockwise, (3, 3)."""
    turn = math.radians(turn_deg)
    return np.array(
        ((math.cos(turn), math.sin(turn), 0.0), (-math.sin(turn), math.cos(turn), 0.0), (0.0, 0.0, 1.0))
    )


def _sums_from(values: Floats) -> Floats:
    nothing = np.zeros((1, *values.shape[1:]))
    return np.concatenate((np.cumsum(values[::-1], axis=0)[::-1], nothing))


def _angles(legs: ReducedLegs, edge: int, walk: _Walk, k: int) -> list[tuple[float, str, float]]:
    """Turns to try, what each would be, and what is added to its rank."""
    leg, before = legs.booked[edge], legs.booked[int(walk.edges[k - 1])]
    handed_over = (leg.conditions.compass, leg.conditions.reader) != (
        before.conditions.compass,
        before.conditions.reader,
    )
    # Nobody sets a compass anew in the midst of a walk: it changes with the hand that holds it.
    rank = 0.0 if handed_over else UNCOMMON_SLIP
    angles = []
    declination = float(legs.declination_deg[edge])
    if leg.conditions.bearings is North.MAGNETIC and abs(declination) >= LEAST_SET_DEG:
        for times, words in ((1.0, "the declination"), (2.0, "twice the declination")):
            angles += [(sign * times * declination, words, rank) for sign in (-1.0, 1.0)]
    best = walk.closing_turn_deg(k)
    apart = 2.0 * float(legs.reading_sd_deg[edge])
    told = any(abs(best - turn) < apart for turn, _, _ in angles)
    if LEAST_SET_DEG <= abs(best) <= MOST_SET_DEG and not told:
        angles.append((best, "", rank + ANY_ANGLE))
    return angles


def _slip(leg: Leg, edge: int, turn_deg: float, named: str) -> Slip:
    way = "small" if turn_deg > 0.0 else "large"
    words = f"compass set anew: bearings from here on {abs(turn_deg):.0f} degrees too {way}"
    written = leg.bearing.written
    corrected = leg.bearing.azimuth_deg + (turn_deg if named else round(turn_deg))
    return Slip(
        edge=edge,
        slip=f"{words}, {named}" if named else words,
        reading=bearing_text(corrected, quadrant=is_quadrant(written)),
        written=written,
    )
