"""Lines of a section that come out of the ground twice, joined between their two outcrops."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import permutations

import numpy as np

from traverse.settled import SAME_M, settled
from traverse.structure.section.dip_domains import Point, TracedLine
from traverse.structure.section.drawing_plane import along, runs
from traverse.structure.section.inputs import SectionInput, Start
from traverse.structure.section.records import PointKind
from traverse.trade import UNEVEN_DEG

Joined = dict[tuple[int, float], tuple[int, tuple[Point, ...]]]
"""By a start and the sense in which it is followed, the other start and the line to it."""


_OFF_SHARE = 0.35
"""Two limbs of one contact may miss each other by so much of the way between them."""


def joined_lines(
    given: SectionInput, paths: Mapping[tuple[int, float], TracedLine], out: Mapping[tuple[int, float], float]
) -> Joined:
    """Contacts through a fold, and unconformities under a hill or over a valley; `out` is the run at which a path emerges."""
    return {**_pairs(given, paths, out), **_surfaces(given, paths)}


def _pairs(
    given: SectionInput, paths: Mapping[tuple[int, float], TracedLine], out: Mapping[tuple[int, float], float]
) -> Joined:
    """Contacts whose one limb comes out near the other: by start and sense, the other start and the line between."""
    found: Joined = {}
    by_pair: dict[tuple[object, ...], list[int]] = {}
    for index, start in enumerate(given.starts):
        if start.points[0].kind is PointKind.CONTACT:
            by_pair.setdefault((start.block, start.pair), []).append(index)
    for indices in by_pair.values():
        # Both ways from the one to the other: those that meet best first, from whichever end the section is drawn.
        near: list[tuple[float, int, int]] = []
        ends: dict[tuple[int, int], tuple[tuple[Point, ...], tuple[Point, ...]]] = {}
        for index, other in permutations(indices, 2):
            there = _as_far_as(given, paths, out, (index, 1.0), other)
            back = _as_far_as(given, paths, out, (other, -1.0), index)
            if there is None or back is None:
                continue
            one_at, other_at = given.starts[index].at, given.starts[other].at
            off = _off(there[-1], other_at, given), _off(back[-1], one_at, given)
            if max(off) <= max(given.near, _OFF_SHARE * abs(other_at[0] - one_at[0])):
                near.append((settled(sum(off), 3), index, other))
                ends[index, other] = there, back
        for _, index, other in sorted(near):
            if (index, 1.0) in found or (other, -1.0) in found:
                continue
            there, back = ends[index, other]
            points = _blend(there, tuple(reversed(back)), paths[index, 1.0], paths[other, -1.0])
            found[index, 1.0] = (other, points)
            found[other, -1.0] = (index, points)
    return found


def _as_far_as(
    given: SectionInput,
    paths: Mapping[tuple[int, float], TracedLine],
    out: Mapping[tuple[int, float], float],
    key: tuple[int, float],
    other: int,
) -> tuple[Point, ...] | None:
    """A line from one start up to where it comes out; toward a start off the ground to where it passes that nearest.

    None of one that does not come out; past a place off the ground none of one that does before, or has no path.
    """
    if given.on_ground(given.starts[other].at):
        return along(paths[key].points, out[key]) if key in out else None
    if key not in paths or len(paths[key].points) < 2:
        return None
    points = along(paths[key].points, out[key]) if key in out else paths[key].points
    # Imported here, as a log with mistakes is told without it.
    from shapely import LineString
    from shapely import Point as ShapelyPoint

    run_m = LineString(points).project(ShapelyPoint(given.starts[other].at))
    return along(points, run_m) if run_m > SAME_M else None


def _off(end: Point, at: Point, given: SectionInput) -> float:
    """How far a line ends from a start: along the section on the ground, off it in any direction."""
    return abs(end[0] - at[0]) if given.on_ground(at) else math.dist(end, at)


def _surfaces(given: SectionInput, paths: Mapping[tuple[int, float], TracedLine]) -> Joined:
    """Unconformities that come out twice, as under a hill or over a valley: by start and sense, as in `_pairs`.

    The younger unit lies between the two where the ground is above the line that joins them, outside where it is below.
    """
    found: Joined = {}
    last: dict[tuple[object, ...], int] = {}
    for index, start in enumerate(given.starts):
        if start.points[0].kind is not PointKind.UNCONFORMITY:
            continue
        # What it cuts may be another unit on either side.
        key = (start.block, start.pair[0])
        before, last[key] = last.get(key), index
        if before is None or (before, 1.0) not in paths or (index, -1.0) not in paths:
            continue
        first = given.starts[before]
        chord = (first.at, start.at)
        over = _ground_over(given, chord)
        hill = first.ahead >= 0 and start.ahead <= 0 and over > 0.0
        valley = first.ahead <= 0 and start.ahead >= 0 and over < 0.0
        if (hill or valley) and all(_follows(given, one, chord) for one in (first, start)):
            found[before, 1.0] = (index, chord)
            found[index, -1.0] = (before, chord)
    return found


def _ground_over(given: SectionInput, chord: tuple[Point, Point]) -> float:
    """Mean height of the ground over a straight line."""
    shares = np.linspace(0.0, 1.0, 41)
    (x0, z0), (x1, z1) = chord
    line = [(x0 + share * (x1 - x0), z0 + share * (z1 - z0)) for share in shares]
    return -float(given.plane.above(line).mean())


def _follows(given: SectionInput, start: Start, chord: tuple[Point, Point]) -> bool:
    """Whether a line lies near enough to what was read of an unconformity, which is seldom quite even."""
    (x0, z0), (x1, z1) = chord
    way = given.way_at(start.points[0], start.block)
    apart = math.atan2(z1 - z0, x1 - x0) - math.atan(way[1] / way[0]) if abs(way[0]) > 1e-9 else math.inf
    return abs(apart) <= math.radians(UNEVEN_DEG)


def _blend(
    there: tuple[Point, ...], back: tuple[Point, ...], one: TracedLine, other: TracedLine
) -> tuple[Point, ...]:
    """A line from the first of two contacts to the second, exact at both: what differs is shared along the way.

    Through the same axial traces corner by corner, else by the share of the way run.
    """
    if (
        len(there) == len(back)
        and tuple(reversed(other.bounds[: len(back) - 2])) == one.bounds[: len(there) - 2]
    ):
        first, second = np.array(there), np.array(back)
    else:
        shares = np.linspace(0.0, 1.0, 41)
        first, second = (_resampled(line, shares) for line in (there, back))
    ran = runs([(float(x), float(z)) for x, z in (first + second) / 2.0])
    weight = (ran / ran[-1] if ran[-1] > 0.0 else ran)[:, None]
    mixed = (1.0 - weight) * first + weight * second
    return tuple((float(x), float(z)) for x, z in mixed)


def _resampled(points: Sequence[Point], shares: np.ndarray) -> np.ndarray:
    ran = runs(points)
    array = np.asarray(points, dtype=np.float64)
    at = shares * ran[-1]
    return np.column_stack((np.interp(at, ran, array[:, 0]), np.interp(at, ran, array[:, 1])))
