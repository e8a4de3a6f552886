"""What lies between the arms of a walk: a contact that was met on two of them, computed from one to the other.

All limits are common practice, no source. Two places of one pair of units belong together where the plane that holds
both, and lies closest to the mean of the two attitudes, is within 10 degrees of each, or within twice the error of the
attitude and the places where that is more, 15 degrees at most; and where they lie no farther apart than a plane is
carried. Beds that face up are not joined to beds that face down, and nothing is joined that lies level. Each way from
a place the nearest partner is taken. A trace is left out that would run over ground walked on without the contact, over
a fault, over another trace or, of a contact of beds, over the axial trace of a fold, and no bed beyond one tells how a
contact lies; it stops at a surface deposit.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from traverse.ground.plane import Vector, angle_deg, holding, normal
from traverse.ground.records import Join, KeptApart, WhyApart
from traverse.heights.records import Terrain
from traverse.location.records import Survey
from traverse.log.items import Certainty, ContactKind, HowMet
from traverse.nearest import Nearest
from traverse.record import record
from traverse.settled import settled
from traverse.structure.readings.records import PlacedContact, PlaneAttitude
from traverse.structure.records import Geology
from traverse.trade import (
    AT_END_M,
    BAND_M,
    FACES_ALIKE_DEG,
    JOIN_GENTLE_DEG,
    JOINED_DEG,
    JOINED_MOST_DEG,
    LEVEL_DEG,
    ONE_CONTACT_M,
    REACH_BED_M,
    REACH_M,
    WINDING,
)

_PLACE_M = 0.5
_PARTNERS = 12
_CELLS = 400

Points = NDArray[np.float64]
"""(n, 2) east and north."""


def joins(
    survey: Survey, geology: Geology, terrain: Terrain | None = None, *, half_m: float = BAND_M
) -> tuple[tuple[Join, ...], tuple[KeptApart, ...]]:
    """Every computed trace between two arms: of faults first, then of contacts, the shortest first; and what limit kept others apart.

    Over heights a trace is the outcrop of the plane that holds both places, else a straight line. None runs to a place
    that hangs on a loop which was not adjusted: it is off from the other by nobody knows how much. `half_m` is half of the
    band, metres.
    """
    ground = _Barrier(survey, geology)
    axes = _axes(survey, geology, half_m)
    met = _Meeting(survey, geology, terrain, axes)
    groups: dict[tuple[str | None, str | None], list[_ContactMet]] = defaultdict(list)
    faults: list[_ContactMet] = []
    for contact in geology.contacts:
        if contact.met is not HowMet.CROSSED or survey.left_open(contact.place.address):
            continue
        if contact.kind is ContactKind.FAULT:
            faults.append(met.fault(contact))
        elif (one := met.contact(contact)) is not None:
            # A body is one whatever it was seen against.
            body = met.walls.get(contact.booked.span)
            key = (contact.younger, contact.older) if body is None else (body[0].unit, None)
            groups[key].append(one)
    alike = [_once(one) for one in (faults, *groups.values())]
    found = _joined(_pairs(alike[0]), ground, terrain)
    ground.cut_by_faults(faults, found)
    walls = [key for key, group in groups.items() if group[0].contact.booked.span in met.walls]
    cutting = [pair for key in walls for pair in _pairs(_once(groups.pop(key)))]
    contacts = [pair for group in groups.values() for pair in _pairs(_once(group))]
    ground.axes = axes
    found += _joined(contacts, ground, terrain)
    if cutting:
        # A body cuts the beds: its walls may run over their traces, and they over its.
        ground = _Barrier(survey, geology)
        ground.cut_by_faults(faults, found)
        found += _joined(cutting, ground, terrain)
    return tuple(found), _kept_apart(alike[1:], found)


def _axes(survey: Survey, geology: Geology, half_m: float) -> tuple[Points, Points]:
    """Ends of the axial traces of folds."""
    found: tuple[tuple[tuple[float, float], tuple[float, float]], ...] = ()
    if geology.fold_axis is not None and geology.recognised:
        # Imported here: only of folds, as it brings shapes with it.
        from traverse.ground.fold_traces import axes_known

        found = axes_known(geology, half_m=half_m, convergence_deg=survey.frame.to_true_deg)
    ends = np.array(found).reshape(-1, 2, 2)
    return ends[:, 0], ends[:, 1]


@record(frozen=True, kw_only=True)
class _ContactMet:
    """A contact where the walk met it."""

    contact: PlacedContact
    at: Vector
    """As walked."""
    on_grid: Vector | None
    """With the height of the grid there."""
    normal: Vector | None
    """Toward the younger side; of a fault up, None where its plane was not measured."""
    sd_deg: float
    sd_m: float


@record(frozen=True, kw_only=True)
class _Pair:
    """Two that belong together."""

    first: _ContactMet
    second: _ContactMet
    start: Vector
    end: Vector
    normal: Vector
    off_deg: float
    apart_m: float
    over_heights: bool


@record(frozen=True, kw_only=True)
class _NotJoined:
    """What keeps two apart, and by how much."""

    why: WhyApart
    off_deg: float | None = None


class _Meeting:
    """Contacts with what their planes are taken to be."""

    def __init__(
        self,
        survey: Survey,
        geology: Geology,
        terrain: Terrain | None,
        axes: tuple[Points, Points],
    ) -> None:
        self.axes = axes
        self.turn_deg = -survey.frame.to_true_deg
        self.shared_m = survey.control_sd_m or 0.0
        self.caps = geology.caps
        self.terrain = terrain
        self.beds = geology.beds
        self.walls = {
            end.wall.booked.span: (body, other.place, end.place)
            for body in geology.bodies
            for end, other in (body.ends, body.ends[::-1])
            if end.wall is not None
        }
        self.where = Nearest(np.array([(bed.place.east_m, bed.place.north_m) for bed in self.beds]))

    def fault(self, contact: PlacedContact) -> _ContactMet:
        """A fault; its plane is its own or none."""
        return self._placed(contact, self._own(contact), contact.booked.conditions.precision.attitude_deg)

    def contact(self, contact: PlacedContact) -> _ContactMet | None:
        """A contact; None for one of a surface deposit or under it, and where no plane is known or it is level."""
        if contact.younger is None or {contact.younger, contact.older} & self.caps:
            return None
        if contact.certainty is Certainty.CONCEALED:
            return None
        if contact.booked.span in self.walls:
            return self._wall(contact)
        own, sd_deg = self._own(contact), 0.0 if contact.surface is None else contact.surface.sd_deg
        if own is None and contact.kind is ContactKind.UNCONFORMITY:
            # What lies on it need not lie as the beds below do.
            return None
        bed = self._near(contact)
        up = None if bed is None else normal(bed.strike_deg + self.turn_deg, bed.dip_deg)
        plane = own
        if plane is None:
            if up is None or bed is None:
                return None
            plane, sd_deg = up, bed.sd_deg
        if plane[2] > math.cos(math.radians(LEVEL_DEG)):
            return None
        if bed is not None and up is not None and bed.upside_down:
            plane = -plane if angle_deg(plane, up) < FACES_ALIKE_DEG else plane
        return self._placed(contact, plane, sd_deg)

    def _wall(self, contact: PlacedContact) -> _ContactMet | None:
        """The wall of a body by its own plane or that of the body, its normal out of the body, so that no wall is joined to the other."""
        body, inner, outer = self.walls[contact.booked.span]
        plane = self._own(contact)
        if plane is None and body.strike_deg is not None and body.dip_deg is not None:
            plane = normal(body.strike_deg + self.turn_deg, body.dip_deg)
        if plane is None or plane[2] > math.cos(math.radians(LEVEL_DEG)):
            return None
        outward = float(np.dot(np.subtract(outer, inner), plane))
        sd_deg = body.sd_deg or contact.booked.conditions.precision.attitude_deg
        return self._placed(contact, plane if outward >= 0.0 else -plane, sd_deg)

    def _own(self, contact: PlacedContact) -> Vector | None:
        if contact.surface is None:
            return None
        # A level one has no strike.
        return normal((contact.surface.strike_deg or 0.0) + self.turn_deg, contact.surface.dip_deg)

    def _near(self, contact: PlacedContact) -> PlaneAttitude | None:
        if not self.beds:
            return None
        at = (contact.place.east_m, contact.place.north_m)
        nearest = self.where.to(*at)
        if self.where.off_m(nearest, *at) > REACH_BED_M:
            return None
        if not self._parted(at, nearest):
            return self.beds[nearest]
        # The other limb is nearer.
        away = np.hypot(*(self.where.where_m - at).T)
        within = (int(one) for one in np.argsort(away, kind="stable") if away[one] <= REACH_BED_M)
        return next((self.beds[one] for one in within if not self._parted(at, one)), None)

    def _parted(self, at: tuple[float, float], bed: int) -> bool:
        """Whether the axial trace of a fold runs between a place and a bed."""
        if not len(self.axes[0]):
            return False
        way = np.array([at, self.where.where_m[bed]])
        return len(_crossings(way, _run(way), *self.axes)[0]) > 0

    def _placed(self, contact: PlacedContact, plane: Vector | None, sd_deg: float) -> _ContactMet:
        place = contact.place
        on_grid = None
        if self.terrain is not None:
            up = float(self.terrain.at(np.array([place.east_m]), np.array([place.north_m]))[0])
            on_grid = np.array([place.east_m, place.north_m, up]) if math.isfinite(up) else None
        return _ContactMet(
            contact=contact,
            at=np.array([place.east_m, place.north_m, place.relative_up_m]),
            on_grid=on_grid,
            normal=plane,
            sd_deg=sd_deg,
            # The error of the start moves both places alike.
            sd_m=math.sqrt(max(0.0, contact.sd_m**2 - self.shared_m**2)),
        )


def one_place_m(one: PlacedContact, other: PlacedContact) -> float:
    """How far apart two sightings of one contact may be booked that are one place, metres.

    Of one walk what it is off by moves both alike; of two parties it does not.
    """
    own = one.booked.span.file == other.booked.span.file
    sd_m = [each.own_sd_m if own else each.sd_m for each in (one, other)]
    return max(ONE_CONTACT_M, 2.0 * math.hypot(*sd_m))


def _once(group: Sequence[_ContactMet]) -> list[_ContactMet]:
    """Of those that are one place, as of two parties, the one that is known best: one line leads on from there."""
    kept: list[_ContactMet] = []
    where = np.array([one.at[:2] for one in group]).reshape(-1, 2)
    places = np.empty_like(where)
    for one in sorted(group, key=lambda each: (settled(each.sd_m, 3), each.contact.order)):
        away = np.hypot(*(places[: len(kept)] - one.at[:2]).T)
        near = np.flatnonzero(away <= max(ONE_CONTACT_M, 4.0 * one.contact.sd_m))
        if not any(_one_place(one, kept[index]) for index in near.tolist()):
            places[len(kept)] = one.at[:2]
            kept.append(one)
    return kept


def _one_place(one: _ContactMet, other: _ContactMet) -> bool:
    if math.dist(one.at[:2], other.at[:2]) > one_place_m(one.contact, other.contact):
        return False
    if one.normal is None or other.normal is None:
        return True
    return angle_deg(one.normal, other.normal) <= 2.0 * JOINED_MOST_DEG


def _kept_apart(groups: Sequence[Sequence[_ContactMet]], found: Sequence[Join]) -> tuple[KeptApart, ...]:
    """Of contacts that nothing joins the nearest of the same two units on another leg, each two once, in the order of the walk."""
    joined = {span for one in found for span in one.ends}
    told: dict[frozenset[int], KeptApart] = {}
    for group in groups:
        where = np.array([one.at[:2] for one in group]).reshape(-1, 2)
        alone = [one for one in group if one.contact.booked.span not in joined]
        for one in alone[:_PARTNERS]:
            away = np.hypot(*(where - one.at[:2]).T)
            legs = (group[index] for index in np.argsort(away, kind="stable").tolist())
            other = next((each for each in legs if each is not one and not _on_one_leg(one, each)), None)
            apart_m = 0.0 if other is None else math.dist(one.at[:2], other.at[:2])
            if other is None or apart_m < AT_END_M:
                continue
            first, second = sorted((one, other), key=lambda each: each.contact.order)
            pair = _pair(first, second) if apart_m <= REACH_M else _NotJoined(why=WhyApart.FAR)
            # What might be joined and is not was crossed, or its plane comes out nowhere between.
            off = pair if isinstance(pair, _NotJoined) else _NotJoined(why=WhyApart.CROSSED)
            if off.off_deg is not None and off.off_deg > FACES_ALIKE_DEG:
                # On the other limb of a fold, or upside down: not one line, whatever lay between.
                continue
            told[frozenset((first.contact.order, second.contact.order))] = KeptApart(
                ends=(first.contact.booked.span, second.contact.booked.span),
                apart_m=apart_m,
                why=off.why,
                off_deg=off.off_deg,
            )
    return tuple(told[key] for key in sorted(told, key=sorted))


def _pairs(group: Sequence[_ContactMet]) -> list[_Pair]:
    """All that may belong together, by their planes and how far they are apart."""
    found: list[_Pair] = []
    order = sorted(group, key=lambda one: float(one.at[0]))
    east = np.array([one.at[0] for one in order])
    north = np.array([one.at[1] for one in order])
    for index, first in enumerate(order):
        last = int(np.searchsorted(east, east[index] + REACH_M, side="right"))
        away = np.hypot(east[index + 1 : last] - east[index], north[index + 1 : last] - north[index])
        near = np.argsort(away, kind="stable")[:_PARTNERS]
        for other in near[away[near] <= REACH_M]:
            second = order[index + 1 + int(other)]
            pair = _pair(*sorted((first, second), key=lambda one: one.contact.booked.span.line))
            found += [pair] if isinstance(pair, _Pair) else []
    return found


def _on_one_leg(first: _ContactMet, second: _ContactMet) -> bool:
    legs = [one.contact.place.address.leg for one in (first, second)]
    return legs[0] is not None and legs[1] is not None and legs[0].index == legs[1].index


def _pair(first: _ContactMet, second: _ContactMet) -> _Pair | _NotJoined | None:
    """The two with the plane that holds both, or what keeps them apart; None of one leg, or with no plane to go by."""
    if _on_one_leg(first, second):
        return None
    over_heights = first.on_grid is not None and second.on_grid is not None
    start, end = (
        (first.on_grid, second.on_grid)
        if first.on_grid is not None and second.on_grid is not None
        else (first.at, second.at)
    )
    along = end - start
    apart = float(np.hypot(along[0], along[1]))
    known = [one for one in (first, second) if one.normal is not None]
    if apart < AT_END_M or not known:
        return None
    mean = sum((one.normal for one in known if one.normal is not None), np.zeros(3))
    plane = holding(mean, along)
    if plane is None:
        return None
    dip_deg = settled(math.degrees(math.acos(min(1.0, abs(float(plane[2]))))), 6)
    placed_deg = math.degrees(math.atan2(math.hypot(first.sd_m, second.sd_m), apart))
    off, far = 0.0, False
    for one in known:
        assert one.normal is not None
        this = angle_deg(plane, one.normal)
        far |= this > min(JOINED_MOST_DEG, max(JOINED_DEG, 2.0 * math.hypot(one.sd_deg, placed_deg)))
        off = max(off, this)
    if far:
        return _NotJoined(why=WhyApart.PLANES, off_deg=off)
    # Of two limbs the plane through both may be gentle too: what keeps them apart is how they lie.
    if dip_deg < (LEVEL_DEG if over_heights else JOIN_GENTLE_DEG):
        return _NotJoined(why=WhyApart.GENTLE)
    return _Pair(
        first=first,
        second=second,
        start=start,
        end=end,
        normal=plane,
        off_deg=off,
        apart_m=apart,
        over_heights=over_heights,
    )


def _joined(pairs: Iterable[_Pair], ground: _Barrier, terrain: Terrain | None) -> list[Join]:
    """The nearest first, each way from each place once."""
    used: set[tuple[int, bool]] = set()
    found: list[Join] = []
    for pair in sorted(pairs, key=lambda one: one.apart_m):
        ways = {(pair.first.contact.order, _way(pair)), (pair.second.contact.order, not _way(pair))}
        if used & ways:
            continue
        line: Points | None = np.array([pair.start[:2], pair.end[:2]])
        if pair.over_heights and terrain is not None:
            line = _outcrop(terrain, pair)
        lines = () if line is None else ground.kept(line, pair)
        if not lines:
            continue
        used |= ways
        found.append(
            Join(
                ends=(pair.first.contact.booked.span, pair.second.contact.booked.span),
                fault=pair.first.contact.kind is ContactKind.FAULT,
                lines=tuple(tuple((float(x), float(y)) for x, y in one) for one in lines),
                normal=(float(pair.normal[0]), float(pair.normal[1]), float(pair.normal[2])),
                off_deg=pair.off_deg,
                over_heights=pair.over_heights,
            )
        )
    return found


def _way(pair: _Pair) -> bool:
    """Whether the second lies ahead of the first along the strike."""
    along = pair.end - pair.start
    return bool(-pair.normal[1] * along[0] + pair.normal[0] * along[1] > 0.0)


class _Barrier:
    """What a trace may not run over."""

    def __init__(self, survey: Survey, geology: Geology) -> None:
        self.turn_deg = -survey.frame.to_true_deg
        known = [
            one for one in geology.band if one.unit is not None and not one.covered and one.leg is not None
        ]
        self.starts = np.array([one.start for one in known]).reshape(-1, 2)
        self.ends = np.array([one.end for one in known]).reshape(-1, 2)
        self.capped = np.array([one.unit in geology.caps for one in known], dtype=bool)
        self.drawn = _Segments()
        self.axes = (np.empty((0, 2)), np.empty((0, 2)))

    def cut_by_faults(self, faults: Sequence[_ContactMet], found: Sequence[Join]) -> None:
        """Beyond the places that it was joined between, a fault is taken to run on along its course."""
        joined: dict[object, list[Vector]] = defaultdict(list)
        for one in found:
            first, last = np.array(one.lines[0][0]), np.array(one.lines[-1][-1])
            joined[one.ends[0]].append((last - first) / math.dist(first, last))
            joined[one.ends[1]].append((first - last) / math.dist(first, last))
        for fault in faults:
            contact = fault.contact
            ways = joined[contact.booked.span]
            leg_deg = contact.place.leg_azimuth_deg
            if contact.course_deg is not None:
                azimuth = math.radians(contact.course_deg + self.turn_deg)
                course = np.array([math.sin(azimuth), math.cos(azimuth)])
            elif ways:
                course = ways[0]
            else:
                azimuth = math.radians(90.0 + (leg_deg or 0.0))
                course = np.array([math.sin(azimuth), math.cos(azimuth)])
            for ray in (course, -course):
                if not any(float((ray * way).sum()) > 0.5 + 1e-9 for way in ways):
                    self.drawn.add(np.array([fault.at[:2], fault.at[:2] + REACH_M * ray]))

    def kept(self, line: Points, pair: _Pair) -> tuple[Points, ...]:
        """What may be drawn of a trace, which then stands in the way of others; nothing where it must not be."""
        run = _run(line)
        near = [max(AT_END_M, 2.0 * one.sd_m) for one in (pair.first, pair.second)]

        along, _ = _crossings(line, run, *self.drawn.ends())
        # Two that part from one place meet there.
        if ((along > _PLACE_M) & (along < run[-1] - _PLACE_M)).any():
            return ()
        along, _ = _crossings(line, run, *self.axes)
        if ((along > near[0]) & (along < run[-1] - near[1])).any():
            return ()
        along, which = _crossings(line, run, self.starts, self.ends)
        inside = (along > near[0]) & (along < run[-1] - near[1])
        along, capped = along[inside], self.capped[which[inside]]
        if not capped.all():
            return ()
        self.drawn.add(line)
        if not len(along):
            return (line,)
        return (
            _until(line, run, float(along.min())),
            _until(line[::-1], _run(line[::-1]), float(run[-1] - along.max()))[::-1],
        )


class _Segments:
    """Straight parts of lines, in arrays that grow."""

    def __init__(self) -> None:
        self._parts = np.empty((64, 2, 2))
        self._count = 0

    def add(self, line: Points) -> None:
        """The parts of one more line."""
        count = self._count + len(line) - 1
        if count > len(self._parts):
            grown = np.empty((2 * count, 2, 2))
            grown[: self._count] = self._parts[: self._count]
            self._parts = grown
        self._parts[self._count : count, 0] = line[:-1]
        self._parts[self._count : count, 1] = line[1:]
        self._count = count

    def ends(self) -> tuple[Points, Points]:
        """First and second ends."""
        return self._parts[: self._count, 0], self._parts[: self._count, 1]


def _run(line: Points) -> NDArray[np.float64]:
    """Distance along a line at each of its points."""
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])


def _until(line: Points, run: NDArray[np.float64], along_m: float) -> Points:
    """A line as far as a distance along it."""
    end = [np.interp(along_m, run, line[:, axis]) for axis in (0, 1)]
    return np.vstack([line[run < along_m], [end]])


def _crossings(
    line: Points, run: NDArray[np.float64], starts: Points, ends: Points
) -> tuple[NDArray[np.float64], NDArray[np.intp]]:
    """How far along a line others cross it, each from its start to its end, and which."""
    (west, south), (east, north) = line.min(axis=0), line.max(axis=0)
    # One axis after the other: few parts of a long walk stand in the way of a line even by their east.
    rest = np.arange(len(starts))
    for axis, low, high in ((0, west, east), (1, south, north)):
        one, other = starts[rest, axis], ends[rest, axis]
        rest = rest[((one >= low) | (other >= low)) & ((one <= high) | (other <= high))]
    step, other = np.diff(line, axis=0)[:, None], (ends - starts)[rest][None]
    apart = starts[rest][None] - line[:-1][:, None]
    cross = step[..., 0] * other[..., 1] - step[..., 1] * other[..., 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        t = (apart[..., 0] * other[..., 1] - apart[..., 1] * other[..., 0]) / cross
        u = (apart[..., 0] * step[..., 1] - apart[..., 1] * step[..., 0]) / cross
    piece, hit = np.nonzero((t >= 0.0) & (t <= 1.0) & (u >= 0.0) & (u <= 1.0))
    return run[piece] + t[piece, hit] * np.diff(run)[piece], rest[hit]


def _outcrop(terrain: Terrain, pair: _Pair) -> Points | None:
    """Outcrop of the pair's plane from the one place to the other; None where it does not lead there.

    Every point but the ends lies where the contour of the ground less the plane crosses a line of the grid.
    """
    # Imported here, since few logs have heights.
    from contourpy import LineType, contour_generator

    start, end = pair.start[:2], pair.end[:2]
    margin = 0.5 * pair.apart_m + 2.0 * terrain.spacing_m
    low, high = np.minimum(start, end) - margin, np.maximum(start, end) + margin
    columns = np.flatnonzero((terrain.east_m >= low[0]) & (terrain.east_m <= high[0]))
    rows = np.flatnonzero((terrain.north_m >= low[1]) & (terrain.north_m <= high[1]))
    step = max(1, max(len(columns), len(rows)) // _CELLS)
    columns, rows = columns[::step], rows[::step]
    if len(columns) < 2 or len(rows) < 2:
        return None
    x, y = terrain.east_m[columns], terrain.north_m[rows]
    off = (
        (x[None, :] - pair.start[0]) * pair.normal[0]
        + (y[:, None] - pair.start[1]) * pair.normal[1]
        + (terrain.up_m[np.ix_(rows, columns)] - pair.start[2]) * pair.normal[2]
    )
    drawn = contour_generator(x, y, np.ma.masked_invalid(off), line_type=LineType.Separate).lines(0.0)
    near = 0.75 * step * terrain.spacing_m
    best: Points | None = None
    for points in drawn:
        line = np.asarray(points, dtype=np.float64)
        if len(line) < 2:
            continue
        first, last = _nearest_part(line, start), _nearest_part(line, end)
        if max(first[1], last[1]) > near:
            continue
        for way in _ways(line, first[0], last[0]):
            whole = np.vstack([start, way, end])
            if best is None or _run(whole)[-1] < _run(best)[-1]:
                best = whole
    return best if best is not None and _run(best)[-1] <= WINDING * pair.apart_m else None


def _nearest_part(line: Points, at: Vector) -> tuple[int, float]:
    """Which straight part of a line lies nearest to a place, and how near."""
    step = np.diff(line, axis=0)
    size = np.maximum((step**2).sum(axis=1), 1e-30)
    share = np.clip(((at - line[:-1]) * step).sum(axis=1) / size, 0.0, 1.0)
    away = np.hypot(*(line[:-1] + share[:, None] * step - at).T)
    index = int(away.argmin())
    return index, float(away[index])


def _ways(line: Points, first: int, last: int) -> list[Points]:
    """Points of a line between two of its parts, the other way round too where it is closed."""
    ways = [line[first + 1 : last + 1] if first <= last else line[last + 1 : first + 1][::-1]]
    if np.array_equal(line[0], line[-1]):
        ring = line[:-1]
        count = len(ring)
        forward = [(first + 1 + step) % count for step in range((last - first) % count)]
        back = [(first - step) % count for step in range((first - last) % count)]
        ways = [ring[forward], ring[back]]
    return ways
