"""Constructed lines stopped where one would cross another."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from traverse.structure.readings.directions import Vectors
from traverse.structure.section.dip_domains import Point
from traverse.structure.section.drawing_plane import along
from traverse.structure.section.records import Stop

_MANY = 300
"""From this many straight parts on the pairs are looked up in a tree."""


class Half:
    """One half of a line, from its outcrop outward."""

    def __init__(
        self,
        *,
        points: tuple[Point, ...],
        rank: int,
        owner: object,
        back: bool,
        reason: Stop | None = None,
        end_m: float = np.inf,
    ) -> None:
        self.points = points
        self.rank = rank
        """What ends at what: contacts 0 at unconformities 1, both at faults 2 and 3; equals end at each other."""
        self.owner = owner
        """The line it is half of: halves of one line do not stop each other."""
        self.back = back
        self.reason = reason
        """Why it ends before the frame."""
        self.end_m = end_m


def stop_at_crossings(halves: Sequence[Half]) -> None:
    """End halves where they would cross, the nearest crossing to their outcrops first."""
    starts, ends, of, ran = _parts(halves)
    if not len(starts):
        return
    first, second = _near(starts, ends)
    keep = np.array(
        [halves[of[i]].owner is not halves[of[j]].owner for i, j in zip(first, second, strict=True)], bool
    )
    first, second = first[keep], second[keep]
    step, other = ends[first] - starts[first], ends[second] - starts[second]
    cross = step[:, 0] * other[:, 1] - step[:, 1] * other[:, 0]
    apart = starts[second] - starts[first]
    safe = np.where(np.abs(cross) > 1e-12, cross, 1.0)
    on_first = (apart[:, 0] * other[:, 1] - apart[:, 1] * other[:, 0]) / safe
    on_second = (apart[:, 0] * step[:, 1] - apart[:, 1] * step[:, 0]) / safe
    hit = (np.abs(cross) > 1e-12) & (on_first >= 0) & (on_first <= 1) & (on_second >= 0) & (on_second <= 1)
    met = [
        (
            ran[i] + share * float(np.hypot(*size)),
            ran[j] + part * float(np.hypot(*length)),
            of[i],
            of[j],
        )
        for i, j, share, part, size, length in zip(
            first[hit], second[hit], on_first[hit], on_second[hit], step[hit], other[hit], strict=True
        )
    ]
    met.sort(key=lambda one: max(one[0], one[1]))
    for run, back, i, j in met:
        one, two = halves[i], halves[j]
        # Lines that come out at one place part there; what was stopped before the place stops nothing there.
        if max(run, back) < 1e-6 or run > one.end_m + 1e-6 or back > two.end_m + 1e-6:
            continue
        if one.rank <= two.rank:
            _stop(one, run, two)
        if two.rank <= one.rank:
            _stop(two, back, one)
    for half in halves:
        if np.isfinite(half.end_m):
            half.points = along(half.points, half.end_m)


def _stop(half: Half, run_m: float, at: Half) -> None:
    if run_m < half.end_m:
        half.end_m = run_m
        half.reason = (Stop.AT_CONTACT, Stop.AT_UNCONFORMITY, Stop.AT_FAULT, Stop.AT_FAULT)[at.rank]


def _parts(halves: Sequence[Half]) -> tuple[Vectors, Vectors, list[int], list[float]]:
    """Every straight part: its ends, the half it belongs to, and the run at its start."""
    starts: list[Point] = []
    ends: list[Point] = []
    of: list[int] = []
    ran: list[float] = []
    for index, half in enumerate(halves):
        run = 0.0
        for one, other in zip(half.points, half.points[1:], strict=False):
            starts.append(one)
            ends.append(other)
            of.append(index)
            ran.append(run)
            run += float(np.hypot(other[0] - one[0], other[1] - one[1]))
    return np.array(starts, dtype=np.float64), np.array(ends, dtype=np.float64), of, ran


def _near(starts: Vectors, ends: Vectors) -> tuple[np.ndarray, np.ndarray]:
    """Pairs of parts whose boxes overlap, each once."""
    low, high = np.minimum(starts, ends), np.maximum(starts, ends)
    if len(starts) > _MANY:
        # Imported here because a day's page has few lines and should be checked at once.
        import shapely

        boxes = shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1])
        first, second = shapely.STRtree(boxes).query(boxes)
    else:
        over = np.all((low[:, None] <= high[None]) & (low[None] <= high[:, None]), axis=2)
        first, second = np.nonzero(over)
    once = first < second
    return first[once], second[once]
