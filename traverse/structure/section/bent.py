"""Beds followed over the bends of a section.

At a bend the view turns and the beds do not: they are cut upright, and go on from there by their dip as it appears on
the next stretch.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Generic, Protocol, TypeVar

from traverse.record import record
from traverse.settled import SAME_M, part_at
from traverse.structure.section.dip_domains import Point, SectionFrame, TracedLine

_MANY = 10_000
"""More than the traces of any stretch."""


class Field(Protocol):
    """A rule by which beds of one stretch are followed."""

    def trace(
        self,
        start: Point,
        sense: float,
        *,
        reach_m: float,
        frame: SectionFrame | None = None,
        ground_m: float | None = None,
    ) -> TracedLine:
        """A bed followed from a place on the ground, or off it where the height of the ground is given."""
        ...


F = TypeVar("F", bound=Field)


@record(frozen=True, slots=True, kw_only=True)
class Stretch(Generic[F]):
    """The beds between two bends."""

    low_m: float
    """Where it begins; minus infinity for the first."""
    high_m: float
    field: F


class Bent(Generic[F]):
    """Stretches by distance, one where the section has no bend."""

    def __init__(self, stretches: Sequence[Stretch[F]], ground: Callable[[float], float]) -> None:
        self.stretches = tuple(stretches)
        self.ground = ground

    def trace(self, start: Point, sense: float, *, reach_m: float, frame: SectionFrame) -> TracedLine:
        """A bed followed from a place, on the ground or off it, through every stretch it comes to."""
        here = part_at([one.high_m for one in self.stretches[:-1]], start[0])
        points: list[Point] = [start]
        crossed: list[int] = []
        left_m = reach_m
        turned = False
        while True:
            stretch = self.stretches[here]
            under_m = self.ground(points[-1][0])
            on_ground = len(points) == 1 and abs(start[1] - under_m) <= SAME_M
            ground_m = None if on_ground else under_m
            path = stretch.field.trace(points[-1], sense, reach_m=left_m, frame=frame, ground_m=ground_m)
            leaves = _leaves(path.points, stretch.low_m, stretch.high_m)
            bounds = [here * _MANY + bound for bound in path.bounds]
            if leaves is None:
                points.extend(path.points[1:])
                crossed.extend(bounds)
                return TracedLine(points=tuple(points), bounds=tuple(crossed), no_space=path.no_space)
            count, place, step = leaves
            if len(points) > 1 and count == 1 and math.dist(place, points[-1]) < 1e-9:
                # Seen from here it turns straight back: it goes along the bend.
                return TracedLine(points=tuple(points), bounds=tuple(crossed[:-1]))
            if len(points) > 1 or count > 1 or math.dist(place, start) > SAME_M or turned:
                points.extend([*path.points[1:count], place])
                crossed.extend([*bounds[: count - 1], -1 - max(here, here + step)])
            else:
                # It starts at the bend and goes the other way.
                turned = True
            here += step
            left_m = reach_m - sum(math.dist(one, other) for one, other in pairwise(points))

    def at(self, distance_m: float) -> F:
        """The beds of the stretch at a distance."""
        return self.stretches[part_at([one.high_m for one in self.stretches[:-1]], distance_m)].field

    def crossed(self, bound: int) -> tuple[F, int] | None:
        """The beds of a bound that a line crossed, and which of theirs it is; None where it crossed a bend."""
        return None if bound < 0 else (self.stretches[bound // _MANY].field, bound % _MANY)


def within(start: Point, end: Point, low_m: float, high_m: float) -> Point:
    """The end of a straight line that starts between two distances, or where it leaves them."""
    edge = high_m if end[0] > high_m + SAME_M else low_m if end[0] < low_m - SAME_M else None
    if edge is None:
        return end
    share = (edge - start[0]) / (end[0] - start[0])
    return (edge, start[1] + share * (end[1] - start[1]))


def _leaves(points: Sequence[Point], low_m: float, high_m: float) -> tuple[int, Point, int] | None:
    """How many points come before a line leaves a stretch, where it does, and to which side."""
    for index, (one, other) in enumerate(pairwise(points), start=1):
        for edge, beyond, step in (
            (high_m, other[0] > high_m + SAME_M, 1),
            (low_m, other[0] < low_m - SAME_M, -1),
        ):
            if beyond and math.isfinite(edge):
                share = (edge - one[0]) / (other[0] - one[0])
                return index, (edge, one[1] + share * (other[1] - one[1])), step
    return None
