"""Beds as arcs of constant thickness: between two readings they turn about the point where the normals meet.

Coordinates and younging angles as in `traverse.structure.section.dip_domains`.
"""

from __future__ import annotations

import math
from itertools import pairwise

from traverse.record import record
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


@record(frozen=True, slots=True, kw_only=True)
class Arcs:
    """Readings by distance, with the arcs between them."""

    readings: tuple[SectionReading, ...]

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
        place = sum(1 for reading in self.readings if _passed(reading, start, on=ground_m is None))
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
                left, right = self.readings[place - 1], self.readings[place]
                turn = wrap(right.younging_rad - left.younging_rad)
                middle = SectionReading(at=left.at, younging_rad=left.younging_rad + turn / 2.0)
                step = 1 if sense * (_along(middle, right.at) - _along(middle, left.at)) > 0.0 else -1
                found = _between(points[-1], left, right, to_right=step > 0) if came in {0, step} else None
                if found is None and len(points) == 1:
                    # Near the ground the bed still goes as it was read.
                    ends = (left, right)
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


def _passed(reading: SectionReading, point: Point, *, on: bool) -> bool:
    """Whether a place lies beyond a reading: on the ground by distance, off it beyond the reading's normal."""
    if on:
        return reading.at[0] <= point[0] + SAME_M
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


def _between(
    start: Point, left: SectionReading, right: SectionReading, *, to_right: bool
) -> list[Point] | None:
    """From a place between two normals, or on one of them, to the other."""
    target = right if to_right else left
    met = centre(left, right)
    if met is None:
        turn = wrap(right.younging_rad - left.younging_rad)
        if abs(turn) > math.pi / 2.0:
            return None
        return _onto(start, target, lean_rad=left.younging_rad + turn / 2.0)
    middle, on_left, on_right = met
    if on_left * on_right <= 0.0:
        return None
    radius = math.dist(start, middle)
    ways = [
        ((one.at[0] - middle[0]) / abs(off), (one.at[1] - middle[1]) / abs(off))
        for one, off in ((left, on_left), (right, on_right))
    ]
    toward = (ways[0][0] + ways[1][0], ways[0][1] + ways[1][1])
    if (start[0] - middle[0]) * toward[0] + (start[1] - middle[1]) * toward[1] <= 0.0 or radius < 1e-9:
        return None
    first = math.atan2(start[1] - middle[1], start[0] - middle[0])
    end = ways[0] if target is left else ways[1]
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
