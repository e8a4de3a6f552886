"""Contacts of a section as straight lines, and the coloured ground between them; metres along the line and height.

Each contact runs through the place it was carried to, along its apparent dip: its own where it was measured, else the
nearest bed's. It is cut where it would leave the panel, come out of the ground again or cross another. Bends of beds
between readings are not constructed here.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import combinations, pairwise

import numpy as np
from numpy.typing import NDArray

from traverse.log.records import PlaneKind
from traverse.sheet.signs.shown import SHOWN
from traverse.structure.section.records import PointKind, Section, SectionPoint
from traverse.trade import LOOSE_DEG

_RANK = {PointKind.FAULT: 2, PointKind.UNCONFORMITY: 1, PointKind.CONTACT: 0}
"""What ends at what: a contact at an unconformity, both at a fault; equals end at each other."""
_STEP_M = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """The profile as arrays, with what lies between its points taken straight."""

    distance_m: NDArray[np.float64]
    up_m: NDArray[np.float64]

    def at(self, distance_m: float) -> float:
        """Height of the ground; level beyond the ends."""
        return float(np.interp(distance_m, self.distance_m, self.up_m))


@dataclass(slots=True, kw_only=True)
class Ray:
    """One half of a contact: from the ground down, or from the ground up."""

    start: tuple[float, float]
    way: tuple[float, float]
    """Metres along and up for each metre run."""
    end_m: float
    """How far it runs."""
    crossed: bool = False
    """Whether it was stopped by another contact."""

    def point(self, run_m: float) -> tuple[float, float]:
        """Where it is after so many metres."""
        return (self.start[0] + run_m * self.way[0], self.start[1] + run_m * self.way[1])


@dataclass(slots=True, kw_only=True)
class Line:
    """A contact on the section."""

    point: SectionPoint
    dip_deg: float
    """Apparent dip, positive down with increasing distance."""
    outcrop: tuple[float, float]
    """Where it meets the ground."""
    surface: bool
    """A border of loose deposits: no plane that goes down."""
    down: Ray | None = None
    up: Ray | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """Ground on one unit, from one border to the next."""

    unit: str | None
    start_m: float
    end_m: float
    left: Line | None
    right: Line | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """Everything of a section that lies in the ground."""

    lines: tuple[Line, ...]
    runs: tuple[Run, ...]
    surface_units: frozenset[str] = field(default_factory=frozenset)


def ground_of(section: Section) -> Ground | None:
    """The profile, or None where no height was measured."""
    if len(section.profile) < 2:
        return None
    return Ground(
        distance_m=np.array([point.distance_m for point in section.profile]),
        up_m=np.array([point.up_m for point in section.profile]),
    )


def is_bed(point: SectionPoint) -> bool:
    """Whether a point is a reading of bedding that a dip is drawn for."""
    return (
        point.kind is PointKind.ATTITUDE
        and point.attitude is not None
        and point.attitude.kind is PlaneKind.BED
        and point.apparent_dip_deg is not None
    )


def other_sign(point: SectionPoint) -> str | None:
    """The sign of a reading that is no bed but has an apparent dip worth drawing; None of anything else."""
    attitude = point.attitude
    if point.kind is not PointKind.ATTITUDE or attitude is None or point.apparent_dip_deg is None:
        return None
    return None if attitude.kind is PlaneKind.BED else SHOWN[attitude.kind.value].in_section


def cut_ground(
    section: Section, ground: Ground, *, floor_m: float, top_m: float, loose: frozenset[str], near_m: float
) -> Cut:
    """Contacts as lines inside the panel, and the runs of ground between them.

    `loose` are the letters of surface deposits, whose borders are no planes. Where the arms of a loop bring one contact
    to the section twice within `near_m`, only the one that parts the ground there is drawn.
    """
    beds = [point for point in section.points if is_bed(point)]
    lines = [
        _line(point, beds, ground, loose=loose, length_m=section.length_m)
        for point in section.points
        if point.kind in _RANK
    ]
    lines.sort(key=lambda line: line.point.distance_m)
    lines = _without_doubles(lines, runs_between(section, lines), near_m)
    _keep_order(lines, ground)
    for line in lines:
        if not line.surface:
            _extend(line, ground, length_m=section.length_m, floor_m=floor_m, top_m=top_m)
    _stop_at_crossings(lines)
    return Cut(lines=tuple(lines), runs=runs_between(section, lines), surface_units=loose)


def _without_doubles(lines: list[Line], runs: Sequence[Run], near_m: float) -> list[Line]:
    """Less the contacts that part nothing beside one of the same pair that does, and faults beside a measured one."""
    borders = [run.right for run in runs if run.right is not None]

    def near(one: Line, other: Line) -> bool:
        return abs(one.outcrop[0] - other.outcrop[0]) <= near_m

    def doubled(line: Line) -> bool:
        if line.point.kind is PointKind.FAULT and line.point.apparent_dip_deg is None:
            return any(
                other.point.kind is PointKind.FAULT
                and other.point.apparent_dip_deg is not None
                and near(line, other)
                for other in lines
            )
        return not any(line is border for border in borders) and any(
            border.point.label == line.point.label
            and border.point.kind is line.point.kind
            and near(line, border)
            for border in borders
        )

    return [line for line in lines if not doubled(line)]


def _line(
    point: SectionPoint,
    beds: Sequence[SectionPoint],
    ground: Ground,
    *,
    loose: frozenset[str],
    length_m: float,
) -> Line:
    contact = point.contact
    pair = {contact.younger, contact.older} if contact is not None else set()
    dip = point.apparent_dip_deg
    # The border of loose ground is no plane that goes down, nor one that lies flat under the hill beside it.
    surface = bool(pair & loose) and (dip is None or abs(dip) < LOOSE_DEG)
    if dip is None:
        # A fault without a plane is drawn upright; anything else goes with the nearest bed.
        near = min(beds, key=lambda bed: abs(bed.distance_m - point.distance_m), default=None)
        dip = 90.0 if point.kind is PointKind.FAULT or near is None else near.apparent_dip_deg or 0.0
    at = (point.distance_m, point.up_m if point.up_m is not None else ground.at(point.distance_m))
    outcrop = (point.distance_m, ground.at(point.distance_m))
    if not surface:
        outcrop = _meets_ground(at, dip, ground, reach_m=0.25 * length_m) or outcrop
    return Line(point=point, dip_deg=dip, outcrop=outcrop, surface=surface)


def _meets_ground(
    at: tuple[float, float], dip_deg: float, ground: Ground, *, reach_m: float
) -> tuple[float, float] | None:
    """Nearest place where the line through a point meets the ground, within `reach_m` along the section."""
    if abs(dip_deg) > 89.0:
        return (at[0], ground.at(at[0]))
    slope = -math.tan(math.radians(dip_deg))
    inside = np.abs(ground.distance_m - at[0]) <= reach_m
    along = np.unique(np.append(ground.distance_m[inside], at[0]))
    above = at[1] + slope * (along - at[0]) - np.interp(along, ground.distance_m, ground.up_m)
    found: tuple[float, float] | None = None
    for (left, high), (right, low) in pairwise(zip(along.tolist(), above.tolist(), strict=True)):
        if high == 0.0:
            place = left
        elif high * low < 0.0:
            place = left + (right - left) * high / (high - low)
        elif low == 0.0:
            place = right
        else:
            continue
        if found is None or abs(place - at[0]) < abs(found[0] - at[0]):
            found = (place, ground.at(place))
    return found


def _keep_order(lines: list[Line], ground: Ground) -> None:
    """Where lines would come out in another order than the contacts were met, leave them where they were met."""
    for left, right in pairwise(lines):
        if left.outcrop[0] > right.outcrop[0]:
            for line in (left, right):
                distance = line.point.distance_m
                line.outcrop = (distance, ground.at(distance))


def _extend(line: Line, ground: Ground, *, length_m: float, floor_m: float, top_m: float) -> None:
    """Run both halves to the panel's edges or to where they meet the ground again."""
    dip = math.radians(line.dip_deg)
    # Down with increasing distance for a positive dip, down against it for a negative one.
    sense = 1.0 if line.dip_deg >= 0.0 else -1.0
    way = (sense * math.cos(dip), -abs(math.sin(dip)))
    for name, direction in (("down", way), ("up", (-way[0], -way[1]))):
        reach = _to_frame(line.outcrop, direction, length_m=length_m, floor_m=floor_m, top_m=top_m)
        reach = _to_ground(line.outcrop, direction, reach, ground)
        if reach > 0.0:
            setattr(line, name, Ray(start=line.outcrop, way=direction, end_m=reach))


def _to_frame(
    start: tuple[float, float], way: tuple[float, float], *, length_m: float, floor_m: float, top_m: float
) -> float:
    limits = [math.hypot(length_m, top_m - floor_m)]
    for place, step, low, high in (
        (start[0], way[0], 0.0, length_m),
        (start[1], way[1], floor_m, top_m),
    ):
        if step > 1e-9:
            limits.append((high - place) / step)
        elif step < -1e-9:
            limits.append((low - place) / step)
    return max(0.0, min(limits))


def _to_ground(start: tuple[float, float], way: tuple[float, float], reach: float, ground: Ground) -> float:
    """How far a half runs before it comes to the other side of the ground."""
    run = np.arange(1.0, reach, max(_STEP_M, reach / 2000.0))
    if not len(run):
        return reach
    above = start[1] + run * way[1] - np.interp(start[0] + run * way[0], ground.distance_m, ground.up_m)
    clear = np.abs(above) > 0.3
    if not clear.any():
        return reach
    first = int(np.argmax(clear))
    side = above[first] > 0.0
    other = np.flatnonzero((above[first:] > 0.0) != side)
    return float(run[first + int(other[0])]) if len(other) else reach


def _stop_at_crossings(lines: Sequence[Line]) -> None:
    """End every half where it would cross another, the nearest crossing first; who ends is told by `_RANK`."""
    halves = [(line, ray) for line in lines for ray in (line.down, line.up) if ray is not None]
    crossings: list[tuple[float, Ray, float, int, Ray, float, int]] = []
    for (one, ray), (other, second) in combinations(halves, 2):
        if one is other:
            continue
        met = _meeting(ray, second)
        # Lines that come out at one place part there; they do not cross.
        if met is not None and max(met) > 1e-6:
            crossings.append(
                (
                    max(met),
                    ray,
                    met[0],
                    _RANK[one.point.kind],
                    second,
                    met[1],
                    _RANK[other.point.kind],
                )
            )
    crossings.sort(key=lambda crossing: crossing[0])
    for _, ray, run, rank, second, second_run, second_rank in crossings:
        # What was stopped before reaching the place does not stop the other there.
        if run > ray.end_m + 1e-6 or second_run > second.end_m + 1e-6:
            continue
        if rank <= second_rank:
            ray.end_m, ray.crossed = min(ray.end_m, run), True
        if second_rank <= rank:
            second.end_m, second.crossed = min(second.end_m, second_run), True


def _meeting(first: Ray, second: Ray) -> tuple[float, float] | None:
    """How far along each of two halves they meet."""
    (ax, ay), (ux, uy) = first.start, first.way
    (bx, by), (vx, vy) = second.start, second.way
    cross = ux * vy - uy * vx
    if abs(cross) < 1e-9:
        return None
    run = ((bx - ax) * vy - (by - ay) * vx) / cross
    other = ((bx - ax) * uy - (by - ay) * ux) / cross
    if 0.0 <= run <= first.end_m and 0.0 <= other <= second.end_m:
        return (run, other)
    return None


def runs_between(section: Section, lines: Sequence[Line], *, reach_m: float = 0.0) -> tuple[Run, ...]:
    """Ground by unit; borders moved to where the contact there comes out, `reach_m` away at most."""
    profile = section.profile
    spacing = section.length_m / max(1, len(profile) - 1)
    borders: list[tuple[float, Line | None]] = []
    units: list[str | None] = [profile[0].unit]
    for before, after in pairwise(profile):
        if before.unit == after.unit:
            continue
        middle = (before.distance_m + after.distance_m) / 2.0
        pair = {before.unit, after.unit}

        def off(line: Line, middle: float = middle) -> float:
            """From the border to where the contact was carried, or to where its line comes out."""
            return min(abs(line.point.distance_m - middle), abs(line.outcrop[0] - middle))

        near = [
            line
            for line in lines
            if off(line) <= max(reach_m, 1.5 * spacing)
            and line.point.contact is not None
            and (None in pair or {line.point.contact.younger, line.point.contact.older} == pair)
        ]
        line = min(near, key=off, default=None)
        borders.append((line.outcrop[0] if line is not None else middle, line))
        units.append(after.unit)
    edges: list[tuple[float, Line | None]] = [(0.0, None), *borders, (section.length_m, None)]
    runs: list[Run] = []
    reached = 0.0
    for unit, (start, left), (end, right) in zip(units, edges, edges[1:], strict=False):
        start_m, end_m = max(reached, start), max(reached, end)
        if end_m - start_m > 1e-6:
            runs.append(Run(unit=unit, start_m=start_m, end_m=end_m, left=left, right=right))
        reached = end_m
    return tuple(runs)
