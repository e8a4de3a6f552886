"""Straight limbs of constant thickness: the dip domains of a section and the axial traces between them.

Plane coordinates are distance along the section and height, metres. A bed stands by its younging angle: how far the
normal on its younger side leans from upright toward increasing distance, radians, over half a turn for an overturned bed.
Following a bed with its younger side on the left, it runs along (cos, -sin) of that angle, through every fold.

A section need not run square to the strike: what of the unit normal of a bed lies on it is shorter than 1, and beds come out
so much farther apart there than they are thick.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable, Sequence
from functools import lru_cache
from itertools import pairwise

from traverse.record import record
from traverse.settled import SAME_M, part_at, settled
from traverse.trade import DOMAIN_DEG, PANEL_DEG

_UPRIGHT = 1e-9
_SAME_NORMAL = 1e-9
_FLAT_AXIAL = 0.05
"""An axial trace less upright than this runs along the ground and can't be swept down from it."""

Point = tuple[float, float]


@record(frozen=True, slots=True, kw_only=True)
class SectionReading:
    """A bed on the section."""

    at: Point
    younging_rad: float
    """In (-pi, pi]."""
    normal: float = 1.0
    """How long its unit normal is as seen on the section: 1 where that runs square to the strike."""
    stands_for: int = 1
    """Readings of its limb, where it stands for those beyond a bend of the section too."""


@record(frozen=True, slots=True, kw_only=True)
class TracedLine:
    """A bed followed one way."""

    points: tuple[Point, ...]
    bounds: tuple[int, ...] = ()
    """What was crossed at each point between the first and the last."""
    no_space: bool = False
    """Whether it came to a place where arcs have no room."""


@record(frozen=True, slots=True, kw_only=True)
class SectionFrame:
    """A rectangle of the section; beds need not be followed beyond it."""

    length_m: float
    floor_m: float
    top_m: float

    def holds(self, point: Point) -> bool:
        """Whether a place lies in it."""
        return 0.0 <= point[0] <= self.length_m and self.floor_m <= point[1] <= self.top_m


class Domain:
    """Neighbouring readings of one dip."""

    def __init__(
        self,
        *,
        younging_rad: float,
        first: Point,
        last: Point,
        middle: Point,
        count: int = 1,
        normal: float = 1.0,
    ) -> None:
        self.younging_rad = younging_rad
        self.normal = normal
        """As `SectionReading.normal`, the mean of its readings."""
        self.first = first
        self.last = last
        self.middle = middle
        """Mean place of its readings."""
        self.count = count
        self.readings = count
        """As `count`, with those beyond a bend of the section that one of them stands for."""

    @property
    def along(self) -> Point:
        """Direction of its beds, the younger side on the left."""
        level, rise = direction(self.younging_rad)
        return level, -rise


class Bound:
    """Part of an axial trace, with a domain on either side."""

    __slots__ = ("gap_m", "left", "length", "right", "start", "way")

    def __init__(
        self,
        *,
        start: Point,
        way: Point,
        left: int,
        right: int,
        gap_m: float = 0.0,
        length: float = math.inf,
    ) -> None:
        self.gap_m = gap_m
        """Square to it, between the beds that were read on either side: it lies anywhere there."""
        self.start = start
        self.way = way
        self.left = left
        self.right = right
        self.length = length


def wrap(angle_rad: float) -> float:
    """Angle in (-pi, pi]."""
    wrapped = math.fmod(angle_rad, 2.0 * math.pi)
    if wrapped <= -math.pi:
        return wrapped + 2.0 * math.pi
    return wrapped - 2.0 * math.pi if wrapped > math.pi else wrapped


def direction(angle_rad: float) -> Point:
    """Cosine and sine, settled: what is constructed from them is the same on every machine."""
    return settled(math.cos(angle_rad), 12), settled(math.sin(angle_rad), 12)


def merge(readings: Sequence[SectionReading]) -> list[Domain]:
    """Readings by distance, neighbours joined as long as their means differ by less than `DOMAIN_DEG`.

    Those that differ least are joined first, of as good ones those nearer together: joined from one end on, the domains and
    so the lines would be others on a section drawn from the other end.
    """
    found = [_alone(one) for one in readings]
    before = list(range(-1, len(found) - 1))
    after = list(range(1, len(found) + 1))
    joined: set[int] = set()
    queue: list[tuple[float, float, int, int, int]] = []

    def watch(left: int, right: int) -> None:
        if left < 0 or right == len(found):
            return
        one, other = found[left], found[right]
        turn_deg = settled(abs(math.degrees(wrap(other.younging_rad - one.younging_rad))), 6)
        if turn_deg < DOMAIN_DEG:
            gap_m = settled(other.first[0] - one.last[0], 3)
            heapq.heappush(queue, (turn_deg, gap_m, left, right, one.count + other.count))

    for right in range(1, len(found)):
        watch(right - 1, right)
    while queue:
        _, _, left, right, count = heapq.heappop(queue)
        # Else one of the two has been joined to another since.
        if {left, right} & joined or found[left].count + found[right].count != count:
            continue
        found[left] = _together(found[left], found[right])
        joined.add(right)
        after[left] = after[right]
        if after[left] < len(found):
            before[after[left]] = left
        watch(before[left], left)
        watch(left, after[left])
    return [one for index, one in enumerate(found) if index not in joined]


def _alone(reading: SectionReading) -> Domain:
    at = reading.at
    domain = Domain(younging_rad=reading.younging_rad, normal=reading.normal, first=at, last=at, middle=at)
    domain.readings = reading.stands_for
    return domain


def _together(left: Domain, right: Domain) -> Domain:
    """Two neighbours as one, of the mean of all their readings."""
    count = left.count + right.count
    share = right.count / count
    both = Domain(
        younging_rad=wrap(left.younging_rad + share * wrap(right.younging_rad - left.younging_rad)),
        normal=left.normal + share * (right.normal - left.normal),
        first=left.first,
        last=right.last,
        middle=(
            left.middle[0] + share * (right.middle[0] - left.middle[0]),
            left.middle[1] + share * (right.middle[1] - left.middle[1]),
        ),
        count=count,
    )
    both.readings = left.readings + right.readings
    return both


def claim(domains: Sequence[Domain], sides: Sequence[tuple[Point, int, float]]) -> None:
    """Let domains reach to contacts between them of which one side was seen to be the younger as only one of the two has it.

    `sides` are contacts by distance: where they come out, 1 where the younger unit lies with increasing distance and -1
    where against it, and by how much the ground rises there for each metre.
    """
    for left, right in pairwise(domains):
        last, first = left.last, right.first
        for at, ahead, rise in sides:
            if not left.last[0] < at[0] < right.first[0]:
                continue
            before, beyond = (_ahead(one.younging_rad, rise) == ahead for one in (left, right))
            if before and not beyond:
                last = max(last, at)
            elif beyond and not before:
                first = min(first, at)
        # Half-way stands where it leaves each of them on its side, and where they contradict each other.
        half_m = (left.last[0] + right.first[0]) / 2.0
        if last[0] < first[0] and not last[0] < half_m < first[0]:
            left.last, right.first = last, first


def _ahead(younging_rad: float, rise: float) -> int:
    """1 where beds on ground that rises so young with increasing distance, -1 where against it."""
    upright, ahead = direction(younging_rad)
    across = settled(ahead + upright * rise)
    return (across > 0.0) - (across < 0.0)


def axial_trace(left: Domain, right: Domain) -> Point:
    """Direction of the axial trace between two domains, pointing down."""
    return axial_way(left.younging_rad, right.younging_rad, left.normal, right.normal)


@lru_cache(maxsize=4096)
def axial_way(
    left_rad: float, right_rad: float, left_normal: float = 1.0, right_normal: float = 1.0
) -> Point:
    """As `axial_trace`, by the younging angles of the domains and how long their unit normals are as seen on the section.

    Source: with constant thickness every place of the axial plane lies as far over a bed of the one limb as over the same
    bed of the other, so it is square to the difference of their unit normals: it halves the angle between the limbs. The
    section cuts it square to what that difference is as seen on it: along the mean of both normals where that runs square to
    the fold, and nowhere near there where it runs along it.
    """
    (up, level), (other_up, other_level) = direction(left_rad), direction(right_rad)
    across = left_normal * level - right_normal * other_level, left_normal * up - right_normal * other_up
    long = math.hypot(*across)
    if long < _SAME_NORMAL:
        way = direction(left_rad + wrap(right_rad - left_rad) / 2.0)[::-1]
    else:
        way = settled(-across[1] / long, 12), settled(across[0] / long, 12)
    inward = -(level + other_level) * way[0] - (up + other_up) * way[1]
    if abs(way[1]) < _FLAT_AXIAL and abs(inward) > _SAME_NORMAL:
        # Which of its ends dips hangs on the last degree: into the fold, each limb lies on its own side of it.
        return way if inward > 0.0 else (-way[0], -way[1])
    return way if way[1] < 0.0 else (-way[0], -way[1])


class DipDomains:
    """The plane of the section cut into domains."""

    def __init__(self, *, domains: list[Domain], starts: list[Point]) -> None:
        self.domains = domains
        self.starts = starts
        """Where each axial trace meets the ground, between a domain and the next."""
        self.bounds: list[Bound] = []
        self.beside: list[list[int]] = []
        """Bounds of each domain."""
        self.at_m: list[float] = []
        """Distances of the starts."""
        self.beside = [[] for _ in self.domains]
        self.at_m = [start[0] for start in self.starts]
        self._taken: dict[int, list[tuple[int, Point, Point, float]]] = {}
        self.along = [domain.along for domain in domains]
        """Direction of the beds of each, as in `Domain.along`."""
        for sense in (1.0, -1.0):
            self._sweep(sense)
        for index, bound in enumerate(self.bounds):
            self.beside[bound.left].append(index)
            self.beside[bound.right].append(index)

    def read_at(self, distance_m: float) -> int:
        """How many beds the domain that comes out at a distance is the mean of."""
        return self.domains[part_at(self.at_m, distance_m)].count

    @property
    def flat_axial(self) -> bool:
        """Whether an axial trace lies so flat that what is above and below it can't be told from the ground.

        Of beds of one panel the readings' scatter turns it at will, and it parts nothing.
        """
        return any(
            abs(bound.way[1]) < _FLAT_AXIAL
            and abs(wrap(self.domains[bound.right].younging_rad - self.domains[bound.left].younging_rad))
            >= math.radians(PANEL_DEG)
            for bound in self.bounds
        )

    def _sweep(self, sense: float) -> None:
        """Run the traces down (1) or up (-1); where two meet the domain between ends and the outer pair's goes on."""

        def launch(start: Point, left: int, right: int) -> int:
            before, beyond = self.domains[left], self.domains[right]
            way = axial_trace(before, beyond)
            self.bounds.append(
                Bound(
                    start=start,
                    way=(sense * way[0], sense * way[1]),
                    left=left,
                    right=right,
                    gap_m=abs(beyond.first[0] - before.last[0]) * abs(way[1]),
                )
            )
            return len(self.bounds) - 1

        order = [launch(start, index, index + 1) for index, start in enumerate(self.starts)]
        before: dict[int, int | None] = dict(zip(order, [None, *order], strict=False))
        after: dict[int, int | None] = dict(zip(order, [*order[1:], None], strict=False))
        alive = set(order)
        queue: list[tuple[float, int, int, Point]] = []

        def watch(one: int | None, other: int | None) -> None:
            if one is None or other is None:
                return
            met = meeting(self.bounds[one], self.bounds[other])
            if met is not None:
                heapq.heappush(queue, (-sense * met[1], one, other, met))

        for one, other in pairwise(order):
            watch(one, other)
        while queue:
            _, one, other, met = heapq.heappop(queue)
            if one not in alive or other not in alive:
                continue
            for ended in (one, other):
                alive.discard(ended)
                bound = self.bounds[ended]
                bound.length = math.dist(bound.start, met)
            new = launch(met, self.bounds[one].left, self.bounds[other].right)
            alive.add(new)
            before[new], after[new] = before[one], after[other]
            left, right = before[new], after[new]
            if left is not None:
                after[left] = new
            if right is not None:
                before[right] = new
            watch(left, new)
            watch(new, right)

    def trace(
        self,
        start: Point,
        sense: float,
        *,
        reach_m: float,
        frame: SectionFrame | None = None,
        ground_m: float | None = None,
    ) -> TracedLine:
        """A bed followed from a place on the ground for `reach_m`, no farther than out of `frame`.

        `sense` 1 keeps its younger side on the left. A place off the ground needs the height of the ground there.
        """
        here, at = self._from(start, sense, ground_m)
        points: list[Point] = [start]
        crossed: list[int] = []
        last = -1
        left_m = reach_m
        while left_m > 0.0 and len(crossed) <= 4 * len(self.bounds):
            if frame is not None and len(points) > 1 and not frame.holds(points[-1]):
                break
            along = self.along[here]
            way = (sense * along[0], sense * along[1])
            hit, run = self._next(at, way, here, last)
            step = min(left_m, run)
            at = (at[0] + step * way[0], at[1] + step * way[1])
            points.append(at)
            left_m -= step
            if hit is None or step < run:
                break
            bound = self.bounds[hit]
            here = bound.right if here == bound.left else bound.left
            crossed.append(hit)
            last = hit
        return TracedLine(points=tuple(points), bounds=tuple(crossed[: len(points) - 2]))

    def _from(self, start: Point, sense: float, ground_m: float | None) -> tuple[int, Point]:
        """The domain that a bed is followed into from a place, and that place, on a trace exactly where it lies at one.

        A place where a trace meets the ground lies in the domains on both sides: the bed goes on in the one it enters.
        """
        here = part_at(self.at_m, start[0])
        at = start if ground_m is None else (start[0], ground_m)
        while here < len(self.starts) and abs(self.at_m[here] - start[0]) <= SAME_M:
            at = self.starts[here]
            trace = axial_trace(self.domains[here], self.domains[here + 1])
            along = self.along[here]
            side = trace[0] * sense * along[1] - trace[1] * sense * along[0]
            if ground_m is not None and abs(trace[0]) > _UPRIGHT and abs(start[1] - ground_m) > SAME_M:
                side = math.copysign(1.0, trace[0] * (start[1] - ground_m))
            if side <= 0.0:
                break
            here += 1
        if ground_m is None:
            return here, at
        return self._under((at[0], at[1] + start[1] - ground_m), here, at[1]), (
            at[0],
            at[1] + start[1] - ground_m,
        )

    def _under(self, place: Point, here: int, ground_m: float) -> int:
        """The domain of a place off the ground: upright from the ground, over the traces between."""
        at, last = (place[0], ground_m), -1
        left_m = abs(place[1] - at[1])
        way = (0.0, math.copysign(1.0, place[1] - at[1]))
        while True:
            hit, run = self._next(at, way, here, last)
            if hit is None or run >= left_m:
                return here
            bound = self.bounds[hit]
            here = bound.right if here == bound.left else bound.left
            at, left_m, last = (at[0], at[1] + run * way[1]), left_m - run, hit

    def _next(self, start: Point, way: Point, domain: int, last: int) -> tuple[int | None, float]:
        """The bound of a domain that is met first, and how far off."""
        best, nearest = None, math.inf
        (x, z), (level, rise) = start, way
        for index, (x0, z0), (its_level, its_rise), length in self._bounds_beside(domain):
            if index == last:
                continue
            cross = level * its_rise - rise * its_level
            if abs(cross) < 1e-12:
                continue
            across, up = x0 - x, z0 - z
            run = (across * its_rise - up * its_level) / cross
            if 1e-9 < run < nearest and -1e-9 <= (across * rise - up * level) / cross <= length:
                best, nearest = index, run
        return best, nearest

    def _bounds_beside(self, domain: int) -> list[tuple[int, Point, Point, float]]:
        """Index, start, way and end of the bounds of a domain, taken out once: a long section asks for them at each step."""
        found = self._taken.get(domain)
        if found is None:
            found = self._taken[domain] = [
                (index, bound.start, bound.way, bound.length + 1e-9)
                for index in self.beside[domain]
                for bound in (self.bounds[index],)
            ]
        return found


def meeting(one: Bound, other: Bound) -> Point | None:
    """Where two traces meet, going their ways from their starts."""
    cross = one.way[0] * other.way[1] - one.way[1] * other.way[0]
    if abs(cross) < 1e-12:
        return None
    apart = (other.start[0] - one.start[0], other.start[1] - one.start[1])
    first = (apart[0] * other.way[1] - apart[1] * other.way[0]) / cross
    second = (apart[0] * one.way[1] - apart[1] * one.way[0]) / cross
    if first < -1e-9 or second < -1e-9:
        return None
    return (one.start[0] + first * one.way[0], one.start[1] + first * one.way[1])


def midpoints(domains: Sequence[Domain], ground: Callable[[float], float]) -> list[Point]:
    """Where traces meet the ground when nothing else is known: half-way between readings."""
    found = []
    for left, right in pairwise(domains):
        middle = (left.last[0] + right.first[0]) / 2.0
        found.append((middle, ground(middle)))
    return found
