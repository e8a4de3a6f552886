"""The plane of a section: its ground, and lines cut to it; metres along the section and metres of height."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from traverse.record import record
from traverse.settled import settled_all
from traverse.structure.readings.directions import Vectors
from traverse.structure.section.dip_domains import Point, SectionFrame
from traverse.structure.section.records import LinePiece, Section
from traverse.trade import DEEP_M

_STEP_M = 5.0
"""Over so much to either side the ground has its slope."""
_CLEAR_M = 0.05
"""A line this near the ground has not left it."""


@record(frozen=True, slots=True, kw_only=True)
class Plane(SectionFrame):
    """Ground and frame of a section."""

    distance_m: Vectors
    up_m: Vectors
    level: bool
    """No height was measured: the ground is drawn level at 0."""

    def at(self, distance_m: float) -> float:
        """Height of the ground; level beyond the ends."""
        return float(np.interp(distance_m, self.distance_m, self.up_m))

    def rise_at(self, distance_m: float) -> float:
        """By how much the ground rises for each metre with increasing distance, over a step to either side."""
        low, high = (min(max(distance_m + step, 0.0), self.length_m) for step in (-_STEP_M, _STEP_M))
        return (self.at(high) - self.at(low)) / (high - low)

    @property
    def reach_m(self) -> float:
        """Longer than any line that stays in the frame."""
        return 4.0 * math.hypot(self.length_m, self.top_m - self.floor_m) + 1.0

    def above(self, points: Sequence[Point]) -> Vectors:
        """Heights over the ground."""
        array = np.asarray(points, dtype=np.float64)
        return np.asarray(array[:, 1] - np.interp(array[:, 0], self.distance_m, self.up_m), dtype=np.float64)


def plane_of(section: Section, *, below_m: float) -> Plane:
    """Frame deep and high enough for what a sheet may show: the relief and `below_m`, on short sections more."""
    heights = [point.up_m for point in section.profile]
    level = len(heights) < 2
    distances = (
        np.array([0.0, section.length_m]) if level else np.array([p.distance_m for p in section.profile])
    )
    ground = np.zeros(2) if level else np.array(heights)
    relief = float(np.ptp(ground))
    beyond = max(relief + below_m, min(section.length_m / 4.0, DEEP_M), section.depth_m or 0.0)
    return Plane(
        distance_m=distances,
        up_m=ground,
        length_m=section.length_m,
        floor_m=float(ground.min()) - beyond,
        top_m=float(ground.max()) + beyond,
        level=level,
    )


def along(points: Sequence[Point], run_m: float) -> tuple[Point, ...]:
    """The first `run_m` of a line."""
    kept = [points[0]]
    left = run_m
    for one, other in pairwise(points):
        size = math.dist(one, other)
        if size >= left:
            share = left / size if size else 0.0
            kept.append((one[0] + share * (other[0] - one[0]), one[1] + share * (other[1] - one[1])))
            break
        kept.append(other)
        left -= size
    return tuple(kept)


def runs(points: Sequence[Point]) -> Vectors:
    """Distance run at each point."""
    array = np.asarray(points, dtype=np.float64)
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(array, axis=0).T))])


def in_frame(points: Sequence[Point], plane: Plane) -> tuple[Point, ...]:
    """A line from inside the frame, up to where it first leaves it."""
    line = np.asarray(points, dtype=np.float64)
    low, high = np.array([0.0, plane.floor_m]), np.array([plane.length_m, plane.top_m])
    one, step = line[:-1], np.diff(line, axis=0)
    out = np.where(step > 0.0, line[1:] > high, (step < 0.0) & (line[1:] < low))
    leaves = np.flatnonzero(out.any(axis=1))
    if not len(leaves):
        return tuple(points)
    first = int(leaves[0])
    edge = np.where(step[first] > 0.0, high, low)
    share = min(
        max(0.0, float((edge[axis] - one[first, axis]) / step[first, axis]))
        for axis in (0, 1)
        if out[first, axis]
    )
    if first and not share:
        return tuple(points[: first + 1])
    (x, z), (way_x, way_z) = points[first], step[first].tolist()
    return (*points[: first + 1], (x + share * way_x, z + share * way_z))


def with_bends(points: Sequence[Point], bends_m: Sequence[float]) -> tuple[Point, ...]:
    """A line with a point wherever it passes a bend of the section."""
    kept = [points[0]]
    for one, other in pairwise(points):
        step = other[0] - one[0]
        shares = sorted(
            (bend - one[0]) / step for bend in bends_m if step and 0.0 < (bend - one[0]) / step < 1.0
        )
        kept += [(one[0] + share * step, one[1] + share * (other[1] - one[1])) for share in shares]
        kept.append(other)
    return tuple(kept)


def between_heights(points: Sequence[Point], low_m: float, high_m: float) -> tuple[Point, ...]:
    """The longest stretch of a line, level from point to point or gentle, that lies between two heights; none where it is nowhere."""
    broken: list[Point] = []
    for one, other in pairwise(points):
        shares = [0.0]
        if one[1] != other[1]:
            shares += sorted(
                share
                for share in ((bound - one[1]) / (other[1] - one[1]) for bound in (low_m, high_m))
                if 0.0 < share < 1.0
            )
        broken += [
            (one[0] + share * (other[0] - one[0]), one[1] + share * (other[1] - one[1])) for share in shares
        ]
    broken.append(points[-1])
    best: list[Point] = []
    here: list[Point] = broken[:1]
    for one, other in pairwise(broken):
        middle = (one[1] + other[1]) / 2.0
        here = [*here, other] if low_m <= middle <= high_m else [other]
        if here[-1][0] - here[0][0] > (best[-1][0] - best[0][0] if best else 0.0):
            best = here
    return tuple(best)


def cut_by(points: Sequence[Point], start: Point, way: Point) -> tuple[float, bool]:
    """Run at which a line first meets an endless straight one, and whether it does."""
    total = 0.0
    for one, other in pairwise(points):
        step = (other[0] - one[0], other[1] - one[1])
        size = math.hypot(*step)
        cross = step[0] * way[1] - step[1] * way[0]
        if abs(cross) > 1e-12:
            apart = (start[0] - one[0], start[1] - one[1])
            share = (apart[0] * way[1] - apart[1] * way[0]) / cross
            if 0.0 <= share <= 1.0 and total + share * size > 1e-6:
                return total + share * size, True
        total += size
    return total, False


def _broken(points: Sequence[Point], plane: Plane) -> tuple[list[Point], list[float]]:
    """A line with a point wherever it crosses the ground; heights over that at each point."""
    line = np.asarray(points, dtype=np.float64)
    up = line[:, 1]
    lowest, highest = float(plane.up_m.min()), float(plane.up_m.max())
    near = np.flatnonzero((np.maximum(up[:-1], up[1:]) >= lowest) & (np.minimum(up[:-1], up[1:]) <= highest))
    kept: list[Point] = []
    done = 0
    for part, share in _crossings(line[near], line[near + 1], plane):
        index = int(near[part])
        kept += points[done : index + 1]
        done = index + 1
        one, other = points[index], points[index + 1]
        kept.append((one[0] + share * (other[0] - one[0]), one[1] + share * (other[1] - one[1])))
    kept += points[done:]
    return kept, [float(value) for value in plane.above(kept)]


def _crossings(starts: Vectors, ends: Vectors, plane: Plane) -> list[tuple[int, float]]:
    """Which of some straight parts, (n, 2), cross the ground, and at what share of them, in their order."""
    if not len(starts):
        return []
    step = ends - starts
    first = np.searchsorted(plane.distance_m, np.minimum(starts[:, 0], ends[:, 0]), "right")
    inner = np.searchsorted(plane.distance_m, np.maximum(starts[:, 0], ends[:, 0])) - first
    # Each part from its start over what the ground has between to its end.
    count = np.maximum(inner, 0) + 2
    begins = np.cumsum(count) - count
    part = np.repeat(np.arange(len(starts)), count)
    place = np.arange(len(part)) - begins[part]
    share = np.where(place == 0, 0.0, 1.0)
    between = (place > 0) & (place < count[part] - 1)
    of, nth = part[between], place[between]
    ground = first[of] + np.where(step[of, 0] > 0.0, nth - 1, count[of] - 2 - nth)
    share[between] = (plane.distance_m[ground] - starts[of, 0]) / step[of, 0]
    x, z = (starts[part, axis] + share * step[part, axis] for axis in (0, 1))
    over = z - np.interp(x, plane.distance_m, plane.up_m)
    # A line in the ground itself crosses it nowhere, whatever the last bit says.
    side = np.sign(settled_all(over, 6))
    side = side[np.maximum.accumulate(np.where(side != 0.0, np.arange(len(side)), begins[part]))]
    change = np.flatnonzero((side[:-1] * side[1:] < 0.0) & (part[:-1] == part[1:]))
    at = share[change] + over[change] / (over[change] - over[change + 1]) * (
        share[change + 1] - share[change]
    )
    return list(zip(part[change].tolist(), at.tolist(), strict=True))


def emerges(points: Sequence[Point], plane: Plane) -> float | None:
    """Run at which a line that starts on the ground comes to its other side; None where it stays on one."""
    if len(points) < 2:
        return None
    broken, over = _broken(points, plane)
    ran = runs(broken)
    between = plane.above([((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0) for a, b in pairwise(broken)])
    side = 0.0
    for index, middle in enumerate(between.tolist()):
        # From one crossing to the next it may leave the ground and come back.
        height = max(over[index], over[index + 1], middle, key=abs)
        if abs(height) >= _CLEAR_M:
            if side and height * side < 0.0:
                return float(ran[index])
            side = math.copysign(1.0, height)
        if side and abs(over[index + 1]) < 1e-6:
            return float(ran[index + 1])
    return None


def grazes_ground(points: Sequence[Point], plane: Plane, *, off_m: float) -> bool:
    """Whether a line from the ground to the ground is off by more than it lies from it: on which side, nobody knows."""
    _, over = _broken(points, plane)
    return bool(np.abs(over).max() <= off_m)


def comes_out(points: Sequence[Point], plane: Plane) -> Point | None:
    """Where a line that starts off the ground first meets it; None where it does not."""
    broken, over = _broken(points, plane)
    met = next((one for one, height in zip(broken[1:], over[1:], strict=True) if abs(height) < 1e-6), None)
    return None if met is None else (float(met[0]), plane.at(float(met[0])))


def pieces(points: Sequence[Point], plane: Plane) -> tuple[LinePiece, ...]:
    """A line cut into what is above the ground and what is in it."""
    if len(points) < 2:
        return ()
    broken, _ = _broken(points, plane)
    middles = [((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0) for a, b in pairwise(broken)]
    found: list[tuple[bool, list[Point]]] = []
    for (one, other), over in zip(pairwise(broken), plane.above(middles), strict=True):
        if math.dist(one, other) < 1e-9:
            continue
        eroded = float(over) > 1e-6
        if found and found[-1][0] is eroded:
            found[-1][1].append(other)
        else:
            found.append((eroded, [one, other]))
    return tuple(LinePiece(eroded=eroded, points=straightened(line)) for eroded, line in found)


def straightened(points: Sequence[Point]) -> tuple[Point, ...]:
    """Without points that lie on the line between their neighbours."""
    kept = [points[0]]
    for here, after in pairwise(points[1:]):
        before = kept[-1]
        area = (here[0] - before[0]) * (after[1] - before[1]) - (here[1] - before[1]) * (after[0] - before[0])
        if abs(area) > 1e-6 * max(1.0, math.dist(before, after)):
            kept.append(here)
    return (*((float(x), float(z)) for x, z in kept), (float(points[-1][0]), float(points[-1][1])))


def meets_ground(at: Point, way: Point, plane: Plane, *, reach_m: float) -> Point:
    """Nearest place within `reach_m` where the line through a place meets the ground; else above or below it."""
    below = (at[0], plane.at(at[0]))
    if abs(below[1] - at[1]) < 1e-9 or abs(way[0]) < 0.02:
        return below
    best: Point | None = None
    for sense in (1.0, -1.0):
        run = sense * reach_m / abs(way[0])
        end = (at[0] + run * way[0], at[1] + run * way[1])
        broken, over = _broken([at, end], plane)
        place = next((point for point, height in zip(broken, over, strict=True) if abs(height) < 1e-6), None)
        if place is not None and (best is None or math.dist(at, place) < math.dist(at, best)):
            best = place
    if best is None or not 0.0 <= best[0] <= plane.length_m:
        return below
    return (float(best[0]), plane.at(float(best[0])))
