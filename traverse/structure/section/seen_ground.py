"""What the walk saw nearest to a line of section, for what was carried there from farther off."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from traverse.settled import SAME_M, first_least, settled_all
from traverse.structure.readings.directions import Vectors
from traverse.structure.section.carry import LineOfSection, off_stretches
from traverse.structure.section.records import PointKind, SectionPoint
from traverse.structure.walk.records import BandStretch
from traverse.trade import HEIGHT_BETWEEN_M, NEARER_SHARE, ONE_LINE_M, ONE_LINE_SAID_SHARE, SURE_SD

_STEP_M = 2.0
_TOGETHER = 64
"""Places next to each other that are held against the same stretches of the walk."""
_LEAST_FALL = 0.02
"""A bed that falls less for each metre counts as falling so much where it is followed to the ground."""


class SeenGround:
    """Units of the ground that was walked on nearest to one line of section."""

    def __init__(self, line: LineOfSection, band: Sequence[BandStretch]) -> None:
        self.length_m = line.length_m
        self.at_m: Vectors = np.arange(0.0, line.length_m + _STEP_M, _STEP_M)
        self.off_m: Vectors = np.full(len(self.at_m), np.inf)
        """By distance along the line: how far off that ground lies."""
        self.units: list[str | None] = [None] * len(self.at_m)
        """Its unit; None where nothing is known of it."""
        if not band:
            return
        places = np.column_stack(
            [np.interp(self.at_m, line.starts_m, line.points[:, axis]) for axis in (0, 1)]
        )
        starts = np.array([one.start for one in band], dtype=np.float64)
        ways = np.array([one.end for one in band], dtype=np.float64) - starts
        nearest = np.empty(len(places), dtype=np.intp)
        for first in range(0, len(places), _TOGETHER):
            here = slice(first, first + _TOGETHER)
            some = places[here]
            middle = some[len(some) // 2]
            # No place of these is farther than that from the middle one: what is nearest to it lies no farther off.
            round_m = float(np.hypot(*(some - middle).T).max())
            off = off_stretches(middle[None], starts, ways)[0]
            near = np.flatnonzero(off <= off.min() + 2.0 * round_m + SAME_M)
            off = settled_all(off_stretches(some, starts[near], ways[near]))
            nearest[here] = near[off.argmin(axis=1)]
            self.off_m[here] = off.min(axis=1)
        self.units = [band[index].unit for index in nearest.tolist()]

    def one_unit(self, low_m: float, high_m: float, *, within_m: float) -> str | None:
        """The unit that all ground between two distances was seen to be, no farther off; None where it was not, or is of several."""
        if low_m < -_STEP_M or high_m > float(self.at_m[-1]) + _STEP_M:
            return None
        first, last = np.searchsorted(self.at_m, (low_m - SAME_M, high_m + SAME_M))
        here = slice(max(0, int(first) - 1), int(last) + 1)
        if (self.off_m[here] > within_m).any():
            return None
        found = set(self.units[here])
        return found.pop() if len(found) == 1 else None


def against_seen(
    met: Sequence[SectionPoint],
    beds: Sequence[SectionPoint],
    seen: SeenGround,
    ground: tuple[Vectors, Vectors],
    *,
    half_m: float,
    over: frozenset[str],
) -> list[tuple[SectionPoint, str]]:
    """Contacts carried to where ground seen much nearer is of one unit as far as they may come out, each with that unit.

    What was seen stands: where beds turn about no one line, what was met aside of the line is not under it. `ground` are
    distances and heights under the line, `half_m` is how far to each side ground was looked at, and `over` are units that
    hide what lies under them.
    """
    found = []
    beds_m = np.array([one.distance_m for one in beds])
    for point in met:
        contact = point.contact
        if contact is None or point.kind is PointKind.FAULT or point.beside or abs(point.carried_m) <= half_m:
            continue
        # What was met nearer within reach of it is the same line.
        reach_m = max(SURE_SD * (point.sd_m or 0.0), ONE_LINE_M, ONE_LINE_SAID_SHARE * seen.length_m)
        within_m = max(half_m, NEARER_SHARE * abs(point.carried_m))
        over_m, out_m, upright = _comes_out(point, beds, beds_m, ground)
        unit = None
        if abs(over_m) > HEIGHT_BETWEEN_M:
            # Where it lies over the ground, what is on its upper side can't be the ground there.
            unit = seen.one_unit(point.distance_m - reach_m, point.distance_m + reach_m, within_m=within_m)
            upper = (over_m > 0.0) == upright
            unit = unit if unit == (contact.younger if upper else contact.older) else None
        if unit is None:
            low_m, high_m = sorted((point.distance_m, out_m))
            unit = seen.one_unit(low_m - reach_m, high_m + reach_m, within_m=within_m)
        if unit is not None and (unit not in over or unit in {contact.younger, contact.older}):
            found.append((point, unit))
    return found


def _comes_out(
    point: SectionPoint, beds: Sequence[SectionPoint], beds_m: Vectors, ground: tuple[Vectors, Vectors]
) -> tuple[float, float, bool]:
    """How far over the ground a contact was carried, where it comes out by its dip or the nearest bed's, and whether that is upright."""
    near = beds[first_least(np.abs(beds_m - point.distance_m))] if beds else None
    upright = near is None or near.attitude is None or not near.attitude.lies_over
    if point.up_m is None or not len(ground[0]):
        return 0.0, point.distance_m, upright
    over_m = point.up_m - float(np.interp(point.distance_m, *ground))
    dip_deg = point.apparent_dip_deg
    if dip_deg is None:
        dip_deg = 90.0 if near is None or near.apparent_dip_deg is None else near.apparent_dip_deg
    fall = math.tan(math.radians(dip_deg))
    fall = math.copysign(max(abs(fall), _LEAST_FALL), fall)
    return over_m, point.distance_m + over_m / fall, upright
