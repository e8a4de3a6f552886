"""Beds as arcs of constant thickness: between two readings they turn about the point where the normals meet.

Coordinates and younging angles as in `traverse.structure.section.dip_domains`.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from itertools import pairwise

from traverse.settled import SAME_M, part_at, settled
from traverse.structure.section.dip_domains import (
    Point,
    SectionFrame,
    SectionReading,
    TracedLine,
    direction,
    wrap,
)
from traverse.trade import AS_READ_M

_PARALLEL_DEG = 2.0
"""Normals nearer to parallel than this are a straight panel."""
_STEP_DEG = 3.0
"""An arc is drawn by chords of this."""
_SAME = 1e-6


class Arcs:
    """Readings by distance, with the arcs between them."""

    def __init__(self, *, readings: tuple[SectionReading, ...]) -> None:
        self.readings = readings
        self._at_m = [reading.at[0] for reading in readings]
        self._gaps: dict[int, _Gap] = {}

    def _gap(self, place: int) -> _Gap:
        """What lies before the reading of an index: the same for every bed that comes there."""
        if place not in self._gaps:
            self._gaps[place] = _Gap(self.readings[place - 1], self.readings[place])
        return self._gaps[place]

    def trace(
        self,
        start: Point,
        sense: float,
        *,
        reach_m: float,
        frame: SectionFrame | None = None,
        ground_m: float | None = None,
    ) -> TracedLine:
        """A bed followed from a place on the ground, no farther than out of `frame`; `sense` 1 keeps its younger side on the left.

        Ends where an arc would need a radius below zero, or where the normals come in another order than the readings.
        A place off the ground has the height of the ground there in `ground_m`.
        """
        points = [start]
        if ground_m is None:
            place = bisect_right(self._at_m, start[0] + SAME_M)
        else:
            place = sum(1 for reading in self.readings if _beyond(reading, start))
        came = 0
        run, measured = 0.0, 1
        while run < reach_m and (frame is None or frame.holds(points[-1])):
            if not 0 < place < len(self.readings):
                edge = self.readings[0 if place == 0 else -1]
                inward = 1 if place == 0 else -1
                ahead = sense * (_along(edge, edge.at) - _along(edge, points[-1])) > 0.0
                if came or not ahead or len(self.readings) == 1:
                    level, rise = direction(edge.younging_rad)
                    way = (sense * level, -sense * rise)
                    points.append((points[-1][0] + reach_m * way[0], points[-1][1] + reach_m * way[1]))
                    break
                points.extend(_onto(points[-1], edge) or [])
                came = inward
            else:
                gap = self._gap(place)
                step = 1 if sense * gap.onward > 0.0 else -1
                found = _between(points[-1], gap, to_right=step > 0) if came in {0, step} else None
                if found is None and len(points) == 1:
                    # Near the ground the bed still goes as it was read.
                    left, right = ends = (gap.left, gap.right)
                    near = ends[part_at([(left.at[0] + right.at[0]) / 2.0], start[0])]
                    run = sense * min(AS_READ_M, reach_m)
                    level, rise = direction(near.younging_rad)
                    points.append((start[0] + run * level, start[1] - run * rise))
                if found is None:
                    return TracedLine(points=tuple(points), no_space=True)
                points.extend(found)
                came = step
            place += came
            run += sum(math.dist(one, other) for one, other in pairwise(points[measured - 1 :]))
            measured = len(points)
        return TracedLine(points=tuple(points))


def _along(reading: SectionReading, point: Point) -> float:
    """How far a place lies along the bed of a reading."""
    level, rise = direction(reading.younging_rad)
    return point[0] * level - point[1] * rise


def _beyond(reading: SectionReading, point: Point) -> bool:
    """Whether a place off the ground lies beyond a reading's normal."""
    off = _along(reading, point) - _along(reading, reading.at)
    return math.copysign(1.0, direction(reading.younging_rad)[0]) * off >= -SAME_M


def _normal(reading: SectionReading) -> Point:
    return direction(reading.younging_rad)[::-1]


def _onto(start: Point, target: SectionReading, *, lean_rad: float | None = None) -> list[Point] | None:
    """Straight along the bed to where it meets the target's normal."""
    angle = target.younging_rad if lean_rad is None else lean_rad
    (level, rise), (own, own_rise) = direction(angle), direction(target.younging_rad)
    way, along = (level, -rise), (own, -own_rise)
    share = way[0] * along[0] + way[1] * along[1]
    if abs(share) < 1e-9:
        return None
    apart = (target.at[0] - start[0], target.at[1] - start[1])
    run = (apart[0] * along[0] + apart[1] * along[1]) / share
    return [(start[0] + run * way[0], start[1] + run * way[1])]


def centre(left: SectionReading, right: SectionReading) -> tuple[Point, float, float] | None:
    """Where two normals meet, and how far along each; None where they are nearly parallel.

    Source: concentric construction of folds (Busk, 1929, Earth flexures).
    """
    first, second = _normal(left), _normal(right)
    cross = first[0] * second[1] - first[1] * second[0]
    if abs(cross) < math.sin(math.radians(_PARALLEL_DEG)):
        return None
    apart = (right.at[0] - left.at[0], right.at[1] - left.at[1])
    on_left = (apart[0] * second[1] - apart[1] * second[0]) / cross
    on_right = (apart[0] * first[1] - apart[1] * first[0]) / cross
    return (left.at[0] + on_left * first[0], left.at[1] + on_left * first[1]), on_left, on_right


class _Gap:
    """Two readings that follow each other, and the arcs between their normals."""

    def __init__(self, left: SectionReading, right: SectionReading) -> None:
        self.left, self.right = left, right
        self.turn_rad = wrap(right.younging_rad - left.younging_rad)
        self.lean_rad = left.younging_rad + self.turn_rad / 2.0
        middle = SectionReading(at=left.at, younging_rad=self.lean_rad)
        self.onward = _along(middle, right.at) - _along(middle, left.at)
        """Above 0 where beds go to the right reading with their younger side on the left."""
        self.met = centre(left, right)
        self.ways: list[Point] = []
        """From the centre to each reading, where arcs lie between."""
        if self.met is not None and self.met[1] * self.met[2] > 0.0:
            middle_at, *offs = self.met
            self.ways = [
                ((one.at[0] - middle_at[0]) / abs(off), (one.at[1] - middle_at[1]) / abs(off))
                for one, off in zip((left, right), offs, strict=True)
            ]


def _between(start: Point, gap: _Gap, *, to_right: bool) -> list[Point] | None:
    """From a place between two normals, or on one of them, to the other."""
    if gap.met is None:
        if abs(gap.turn_rad) > math.pi / 2.0:
            return None
        return _onto(start, gap.right if to_right else gap.left, lean_rad=gap.lean_rad)
    if not gap.ways:
        return None
    middle = gap.met[0]
    radius = math.dist(start, middle)
    toward = (gap.ways[0][0] + gap.ways[1][0], gap.ways[0][1] + gap.ways[1][1])
    if (start[0] - middle[0]) * toward[0] + (start[1] - middle[1]) * toward[1] <= 0.0 or radius < 1e-9:
        return None
    first = math.atan2(start[1] - middle[1], start[0] - middle[0])
    end = gap.ways[1 if to_right else 0]
    last = math.atan2(end[1], end[0])
    turn = wrap(last - first)
    steps = max(1, math.ceil(abs(turn) / math.radians(_STEP_DEG) - _SAME))
    return [
        (
            settled(middle[0] + radius * math.cos(first + turn * step / steps)),
            settled(middle[1] + radius * math.sin(first + turn * step / steps)),
        )
        for step in range(1, steps + 1)
    ]
