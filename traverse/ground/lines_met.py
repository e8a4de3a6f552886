"""Lines of the ground that the walk met: streams, paths, walls and their kin, joined by name."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from itertools import pairwise

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from traverse.ground.records import Course, Point
from traverse.log.items import Crossing, GroundLine
from traverse.record import record
from traverse.structure.records import Geology
from traverse.trade import COURSE_BEYOND

_RAY = 10.0
"""How far the edge of the band is looked for, over half its width."""
_ASKEW = 2.5
"""Half widths in the band that a line crosses at 25° or more; one that stays in it longer was not followed. Common practice, no source."""
_STEPS = 12
"""Straight pieces of a curve between two places."""


@record(frozen=True, kw_only=True)
class _LineMet:
    at: Point
    way: Point
    """In which it runs there, of length 1."""


def courses(
    geology: Geology, whole: BaseGeometry | None, *, half_m: float, convergence_deg: float
) -> tuple[Course, ...]:
    """Every line of the ground: a curve through the places of one name, in the direction it runs at each."""
    by_name: dict[tuple[GroundLine, str], list[_LineMet]] = defaultdict(list)
    for index, thing in enumerate(geology.things):
        booked = thing.record
        if not isinstance(booked, Crossing) or thing.azimuth_deg is None:
            continue
        way = math.radians(thing.azimuth_deg - convergence_deg)
        met = _LineMet(at=(thing.place.east_m, thing.place.north_m), way=(math.sin(way), math.cos(way)))
        by_name[booked.kind, booked.name or f"\x00{index}"].append(met)
    return tuple(
        _course(kind, None if name.startswith("\x00") else name, _along(met), whole, half_m)
        for (kind, name), met in by_name.items()
    )


def _along(met: Sequence[_LineMet]) -> list[_LineMet]:
    """In the order in which the line passes them; a course walked upstream is turned round where it must be."""
    east, north = sum(one.way[0] for one in met), sum(one.way[1] for one in met)
    return sorted(met, key=lambda one: one.at[0] * east + one.at[1] * north)


def _course(
    kind: GroundLine, name: str | None, met: Sequence[_LineMet], whole: BaseGeometry | None, half_m: float
) -> Course:
    """Through the places met, and on to both sides beyond the ground looked at; along the walk no farther than it was seen."""
    first, last = met[0], met[-1]
    start = _step(first, -_runs_on(first, -1.0, whole, half_m))
    end = _step(last, _runs_on(last, 1.0, whole, half_m))
    curves: list[tuple[Point, Point, Point]] = []
    points = [start, first.at]
    for before, after in pairwise(met):
        handle = math.dist(before.at, after.at) / 3.0
        curves.append((_step(before, handle), _step(after, -handle), after.at))
        corners = (before.at, *curves[-1])
        for index in range(1, _STEPS + 1):
            t = index / _STEPS
            weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
            points.append(
                (
                    sum(w * corner[0] for w, corner in zip(weights, corners, strict=True)),
                    sum(w * corner[1] for w, corner in zip(weights, corners, strict=True)),
                )
            )
    points.append(end)
    return Course(
        kind=kind,
        name=name,
        start=start,
        met=first.at,
        curves=tuple(curves),
        end=end,
        line=LineString(points),
    )


def _runs_on(one: _LineMet, sense: float, whole: BaseGeometry | None, half_m: float) -> float:
    """How far it is drawn from the place: to the edge of the ground looked at and beyond it.

    Where it would stay on that ground, the walk went beside it or over it again and booked nothing: it ends.
    """
    inside = _leaves(one, sense * _RAY * half_m, whole)
    return inside + COURSE_BEYOND * half_m if inside <= _ASKEW * half_m else _ASKEW * half_m


def _step(one: _LineMet, length_m: float) -> Point:
    return (one.at[0] + length_m * one.way[0], one.at[1] + length_m * one.way[1])


def _leaves(one: _LineMet, ray_m: float, whole: BaseGeometry | None) -> float:
    """How far it runs from there before it leaves the band."""
    if whole is None:
        return 0.0
    ray = LineString([one.at, _step(one, ray_m)]).intersection(whole)
    here = shapely.Point(one.at)
    return max((part.length for part in shapely.get_parts(ray) if part.distance(here) < 1e-6), default=0.0)
