"""Lines of a section that come out of the ground twice, joined between their two outcrops."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

import numpy as np

from traverse.settled import SAME_M, least, settled
from traverse.structure.section.dip_domains import Point, TracedLine
from traverse.structure.section.drawing_plane import along, cut_by, runs
from traverse.structure.section.inputs import SectionInput, Seen, Start
from traverse.structure.section.records import PointKind
from traverse.trade import UNEVEN_DEG

Joined = dict[tuple[int, float], tuple[int, tuple[Point, ...]]]
"""By a start and the sense in which it is followed, the other start and the line to it."""


_UP: Point = (0.0, 1.0)
_OFF_SHARE, _LIMBS_OFF_SHARE = 0.35, 0.75
"""Two limbs of one contact may miss each other by so much of the way between them, by the second share where the beds from
one to the other turn once, and so as the units do: they are one contact, however its beds roll between. Common practice, no
source."""


def joined_lines(
    given: SectionInput, paths: Mapping[tuple[int, float], TracedLine], out: Mapping[tuple[int, float], float]
) -> tuple[Joined, list[str], list[str]]:
    """Contacts through a fold, and unconformities under a hill or over a valley; `out` is the run at which a path emerges.

    With the names of those whose beds do not tell the way from limb to limb, and of those that a fault left off parts.
    """
    pairs, rolling, parted = _pairs(given, paths, out)
    return {**pairs, **_surfaces(given, paths)}, rolling, parted


def missed_limbs(given: SectionInput, joined: Joined) -> set[tuple[int, float]]:
    """Starts of contacts, each with the sense in which it is followed toward its other limb, that nothing joins to that.

    Past the hinge each would be a second line of the limb on which the other was met.
    """
    found: set[tuple[int, float]] = set()
    for indices in _by_contact(given).values():
        for index, other in pairwise(indices):
            ends = {(index, 1.0), (other, -1.0)}
            if not ends & joined.keys() and _are_limbs(given, index, other):
                found |= ends
    return found


def up_to_hinge(points: Sequence[Point]) -> tuple[Point, ...]:
    """A line up to its first crest or trough; all of one that has none."""
    before = 0.0
    for index, (one, other) in enumerate(pairwise(points)):
        rise = settled(other[1] - one[1], 6)
        if rise * before < 0.0:
            return tuple(points[: index + 1])
        before = rise or before
    return tuple(points)


def _by_contact(given: SectionInput) -> dict[tuple[object, ...], list[int]]:
    """The starts of each contact between two faults, by distance."""
    found: dict[tuple[object, ...], list[int]] = {}
    for index, start in enumerate(given.starts):
        if start.points[0].kind is PointKind.CONTACT:
            found.setdefault((start.block, start.pair), []).append(index)
    return found


def aloft_on_lines(given: SectionInput, joined: Joined) -> dict[int, int]:
    """Places of a contact carried off the ground that are no other line than one drawn between two of its outcrops.

    By each the first start of that line. They lie within reach of it, as all that they are joined to do.
    """
    aloft = {
        index
        for index, start in enumerate(given.starts)
        if start.points[0].kind is PointKind.CONTACT and not given.on_ground(start.at)
    }
    hosts = [
        (index, points)
        for (index, sense), (other, points) in joined.items()
        if sense > 0.0 and not {index, other} & aloft
    ]
    if not aloft or not hosts:
        return {}
    # Imported here, as a log with mistakes is told without it.
    from shapely import LineString
    from shapely import Point as ShapelyPoint

    found: dict[int, int] = {}
    for place in sorted(aloft):
        start = given.starts[place]
        of_it = [
            (settled(LineString(points).distance(ShapelyPoint(start.at))), index)
            for index, points in hosts
            if (given.starts[index].pair, given.starts[index].block) == (start.pair, start.block)
        ]
        off_m, index = min(of_it, default=(math.inf, 0))
        if off_m <= given.near:
            found[place] = index
    # What a place that is no part of it is joined to is a line of its own.
    while True:
        apart = {index for (index, _), (other, _) in joined.items() if index in found and other not in found}
        if not apart:
            return found
        found = {index: line for index, line in found.items() if index not in apart}


def _pairs(
    given: SectionInput, paths: Mapping[tuple[int, float], TracedLine], out: Mapping[tuple[int, float], float]
) -> tuple[Joined, list[str], list[str]]:
    """Contacts whose one limb comes out near the other: by start and sense, the other start and the line between.

    With the names of those that do not come out near, and are limbs of one fold, and of those that are not joined, as a fault
    that the section leaves off may run between.
    """
    found: Joined = {}
    rolling: list[str] = []
    parted: list[str] = []
    followed = _Followed(given, paths, out)
    for indices in _by_contact(given).values():
        # Both ways from the one to the other: those that meet best first, from whichever end the section is drawn.
        near: list[tuple[float, int, int]] = []
        lines: dict[tuple[int, int], tuple[Point, ...]] = {}
        far: set[tuple[int, int]] = set()
        for index, other, neighbours in followed.may_meet(indices):
            limbs = neighbours and _are_limbs(given, index, other)
            there = followed.as_far_as((index, 1.0), other, to_end=limbs)
            back = followed.as_far_as((other, -1.0), index, to_end=limbs)
            one_at, other_at = given.starts[index].at, given.starts[other].at
            apart_m = abs(other_at[0] - one_at[0])
            if limbs and (there is None or back is None):
                met = _past_each_other(given, paths, out, index, other)
                if met is not None and math.dist(met[0][-1], met[1][-1]) <= _LIMBS_OFF_SHARE * apart_m:
                    far.add((index, other))
                    near.append((settled(math.dist(met[0][-1], met[1][-1]), 3), index, other))
                    lines[index, other] = _met(*met)
                continue
            if there is None or back is None:
                continue
            off = followed.off(there[-1], other), followed.off(back[-1], index)
            near_m, most_m = (max(given.near, share * apart_m) for share in (_OFF_SHARE, _LIMBS_OFF_SHARE))
            if max(off) <= (most_m if limbs else near_m):
                apart = max(off) > near_m or bool({(index, 1.0), (other, -1.0)} - out.keys())
                # Places in the air, whose beds lead from one to the other, come out nowhere and miss nothing.
                if apart and max(off) > given.near:
                    far.add((index, other))
                near.append((settled(sum(off), 3), index, other))
                lines[index, other] = _blend(
                    there, tuple(reversed(back)), paths[index, 1.0], paths[other, -1.0], apart=apart
                )
        for _, index, other in sorted(near):
            if (index, 1.0) in found or (other, -1.0) in found:
                continue
            if given.parted(given.starts[index], given.starts[other]):
                parted.append(given.starts[index].points[0].label)
                continue
            points = lines[index, other]
            found[index, 1.0] = (other, points)
            found[other, -1.0] = (index, points)
            rolling += [given.starts[index].points[0].label] if (index, other) in far else []
    return found, rolling, parted


def _distance(bed: Seen) -> float:
    return bed.at[0]


def _are_limbs(given: SectionInput, index: int, other: int) -> bool:
    """Whether the beds from one start to another further on turn once: toward each other where the younger unit lies between."""
    first, last = given.starts[index], given.starts[other]
    if first.at[0] >= last.at[0] or first.ahead * last.ahead >= 0:
        return False
    beds = given.of_block(first.block)
    low = max(0, bisect_right(beds, first.at[0], key=_distance) - 1)
    high = min(bisect_left(beds, last.at[0], key=_distance), len(beds) - 1)
    toward = [first.ahead * settled(bed.younging_rad) for bed in beds[low : high + 1]]
    turn = sum(one > 0.0 for one in toward)
    turned = 0 < turn < len(toward) and all(one > 0.0 for one in toward[:turn])
    # Over half a turn the beds may as well go round the other way, of a fold that lies upside down.
    return turned and toward[turn - 1] - toward[turn] < math.pi - SAME_M


def _past_each_other(
    given: SectionInput,
    paths: Mapping[tuple[int, float], TracedLine],
    out: Mapping[tuple[int, float], float],
    index: int,
    other: int,
) -> tuple[tuple[Point, ...], tuple[Point, ...]] | None:
    """Two limbs each up to half-way between their ends, where they pass each other and so would be drawn twice.

    One of them leaves the section above or below before it comes out.
    """
    limbs = []
    for key in ((index, 1.0), (other, -1.0)):
        if key not in paths or len(paths[key].points) < 2:
            return None
        points = paths[key].points
        left = min(abs(points[-1][1] - edge) for edge in (given.plane.floor_m, given.plane.top_m)) <= SAME_M
        if key not in out and not left:
            return None
        limbs.append(along(points, out[key]) if key in out else points)
    first, last = (given.starts[one].at[0] for one in (index, other))
    low, high = max(first, limbs[1][-1][0]), min(last, limbs[0][-1][0])
    if high - low <= given.near:
        return None
    cut = [cut_by(limb, ((low + high) / 2.0, given.plane.floor_m), _UP) for limb in limbs]
    return (along(limbs[0], cut[0][0]), along(limbs[1], cut[1][0])) if all(hit for _, hit in cut) else None


class _Followed:
    """Contacts followed both ways; `out` is the run at which a path emerges."""

    def __init__(
        self,
        given: SectionInput,
        paths: Mapping[tuple[int, float], TracedLine],
        out: Mapping[tuple[int, float], float],
    ) -> None:
        self.given, self.paths, self.out = given, paths, out
        self.aloft = {index for index, start in enumerate(given.starts) if not given.on_ground(start.at)}
        """Starts off the ground."""
        self.emerging: dict[tuple[int, float], tuple[Point, ...]] = {}
        """Paths up to where they emerge, as they are asked for."""

    def may_meet(self, indices: Sequence[int]) -> Iterator[tuple[int, int, bool]]:
        """Two of some contacts, the one followed on and the other back, and whether they are neighbours.

        Without those of which `as_far_as` knows no line: of a thousand contacts few come out again.
        """
        aloft = [(place, index) for place, index in enumerate(indices) if index in self.aloft]
        back = [
            (place, index)
            for place, index in enumerate(indices)
            if (index, -1.0) in self.out and index not in self.aloft
        ]
        for place, index in enumerate(indices):
            beside = [(at, indices[at]) for at in (place - 1, place + 1) if 0 <= at < len(indices)]
            others = {*aloft, *beside}
            if (index, 1.0) in self.out:
                others |= {*(enumerate(indices) if index in self.aloft else back)}
            for at, other in others:
                if other != index:
                    yield index, other, abs(at - place) == 1

    def as_far_as(self, key: tuple[int, float], other: int, *, to_end: bool) -> tuple[Point, ...] | None:
        """A line from one start up to where it comes out; toward a start off the ground to where it passes that nearest.

        None of one that does not come out, but `to_end` to where it goes on past that end of the section, or past a fault;
        past a place off the ground none of one that does before, or has no path.
        """
        if other not in self.aloft:
            if key in self.out:
                return self._emerging(key)
            if not to_end or key not in self.paths:
                return None
            points = self.paths[key].points
            end_m = self.given.end_m(self.given.starts[key[0]].block, points[-1][1], key[1])
            return points if len(points) > 1 and abs(points[-1][0] - end_m) <= SAME_M else None
        if key not in self.paths or len(self.paths[key].points) < 2:
            return None
        points = self._emerging(key) if key in self.out else self.paths[key].points
        # Imported here, as a log with mistakes is told without it.
        from shapely import LineString
        from shapely import Point as ShapelyPoint

        run_m = LineString(points).project(ShapelyPoint(self.given.starts[other].at))
        return along(points, run_m) if run_m > SAME_M else None

    def _emerging(self, key: tuple[int, float]) -> tuple[Point, ...]:
        if key not in self.emerging:
            self.emerging[key] = along(self.paths[key].points, self.out[key])
        return self.emerging[key]

    def off(self, end: Point, index: int) -> float:
        """How far a line ends from a start: along the section on the ground, off it in any direction."""
        at = self.given.starts[index].at
        return math.dist(end, at) if index in self.aloft else abs(end[0] - at[0])


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
    there: tuple[Point, ...], back: tuple[Point, ...], one: TracedLine, other: TracedLine, *, apart: bool
) -> tuple[Point, ...]:
    """A line from the first of two contacts to the second, exact at both: what differs is shared along the way.

    Through the same axial traces corner by corner; through one of several, or where the limbs come out far `apart`, each limb up
    to that, as a corner of the one may lie far off that of the other; else by the share of the way run.
    """
    shared = [bound for bound in one.bounds[: len(there) - 2] if bound in other.bounds[: len(back) - 2]]
    if (
        not (apart and shared)
        and len(there) == len(back)
        and tuple(reversed(other.bounds[: len(back) - 2])) == one.bounds[: len(there) - 2]
    ):
        first, second = np.array(there), np.array(back)
    elif shared:
        # At the trace to which neither is carried farther than need be, from whichever end the section is drawn.
        limbs = [
            (there[: one.bounds.index(bound) + 2], back[::-1][: other.bounds.index(bound) + 2])
            for bound in shared
        ]
        met = least(limbs, key=lambda pair: max(float(runs(limb)[-1]) for limb in pair))
        assert met is not None
        return _met(*met)
    else:
        shares = np.linspace(0.0, 1.0, 41)
        first, second = (_resampled(line, shares) for line in (there, back))
    ran = runs([(float(x), float(z)) for x, z in (first + second) / 2.0])
    weight = (ran / ran[-1] if ran[-1] > 0.0 else ran)[:, None]
    mixed = (1.0 - weight) * first + weight * second
    return tuple((float(x), float(z)) for x, z in mixed)


def _met(limb: tuple[Point, ...], other: tuple[Point, ...]) -> tuple[Point, ...]:
    """Two limbs from their starts down to one trace, made to meet there: the shorter is carried less far, and counts for more."""
    ran, its = runs(limb), runs(other)
    share = float(ran[-1] / max(ran[-1] + its[-1], SAME_M))
    middle = (1.0 - share) * np.array(limb[-1]) + share * np.array(other[-1])
    sheared = []
    for line, run in ((limb, ran), (other, its)):
        off = (run / max(run[-1], SAME_M))[:, None] * (middle - np.array(line[-1]))
        sheared.append([(float(x), float(z)) for x, z in np.array(line) + off])
    return (*sheared[0], *sheared[1][-2::-1])


def _resampled(points: Sequence[Point], shares: np.ndarray) -> np.ndarray:
    ran = runs(points)
    array = np.asarray(points, dtype=np.float64)
    at = shares * ran[-1]
    return np.column_stack((np.interp(at, ran, array[:, 0]), np.interp(at, ran, array[:, 1])))
