"""Ground of a section by unit: between the profile, the constructed lines and the depth to which it was looked at.

What was seen on the ground stands, even where lines carried from the readings would have it otherwise. Tolerances are
shares of that depth, so that a day's walk and a week's are parted alike, whatever the paper.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial
from itertools import pairwise

import shapely
from shapely import LineString, Polygon
from shapely import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from traverse.ground.records import CarriedLine, Point, SectionFill
from traverse.ground.section_lines import room_about
from traverse.ground.section_runs import UnitRun
from traverse.record import record
from traverse.settled import GRID_M, least, settled_shape
from traverse.shapes import areas_in, lines_in, settled_areas
from traverse.structure.section.records import LevelContact, PointKind, Section, SectionBody, unit_at
from traverse.trade import (
    DISAGREE_SHARE,
    LENS_DEPTH_SHARE,
    LENS_WIDTH_SHARE,
    NEARLY_FLAT_DEG,
    SEEN_SHARE,
)

_TOUCHING_SHARE = 0.005
_HARDLY = 0.25
"""Of the width of ground, what may be coloured so that it has letters of its own at depth all the same."""
_AGAINST_SHARE = 0.25
"""Colour of another unit of this share of the depth, squared, is no sliver along a line."""
_SLIVER_SHARE = 0.025
"""Of the depth: a piece smaller than a square of this side is nothing."""
_ON_GROUND_M = 1e-5
"""A piece that comes so near to the ground comes out there."""
_LENS_STEPS = 12


@record(frozen=True, slots=True, kw_only=True)
class _Hidden:
    """Where a unit goes under a cover."""

    border_m: float
    sense: float
    """1 where the cover lies beyond the border, -1 where before it."""
    cover: str
    dip_deg: float | None
    """Apparent, of the bed of what lies under the cover that was read nearest before it; None where none was."""


class Parting:
    """The ground of one section while it is parted."""

    def __init__(
        self,
        section: Section,
        looked_at: Polygon,
        depth_m: float,
        order: Sequence[str] = (),
        seen: Sequence[UnitRun] | None = None,
    ) -> None:
        """`order` are the units from the youngest to the oldest; `seen` what the map shows, None where there is none."""
        self.seen = seen
        self.skins: list[UnitRun] = []
        """Units that lie flat on others, whose base no line tells."""
        self.past_rooms: list[tuple[str, Polygon]] = []
        """Ground without colour that lies farther from all contacts of its unit than that is thick, and that unit."""
        self.covers: dict[str, None] = {}
        """Units under which the colour of others ends where their beds were last seen."""
        self.ranks = {unit: rank for rank, unit in enumerate(order)}
        read = sorted(
            (point.distance_m, point.apparent_dip_deg, point.attitude.unit or "", point.attitude.dip_deg)
            for point in section.points
            if point.tells_bedding and point.attitude and point.apparent_dip_deg is not None
        )
        self.beds = [(at_m, dip_deg) for at_m, dip_deg, _, _ in read]
        self.units_read = [unit for _, _, unit, _ in read]
        self.true_dips_deg = [dip_deg for _, _, _, dip_deg in read]
        self.section, self.looked_at, self.depth_m = section, looked_at, depth_m
        self.surface = settled_shape(LineString([(one.distance_m, one.up_m) for one in section.profile]))
        self.touching_m = _TOUCHING_SHARE * depth_m
        self.seen_m = SEEN_SHARE * depth_m
        self.far_m = 4.0 * (section.length_m + depth_m)

    def fills(self, runs: Sequence[UnitRun], carried: Sequence[CarriedLine]) -> list[SectionFill]:
        """Each part in the unit found on it, else told by a line."""
        marks = [part for one in carried for part in one.below]
        edges: list[BaseGeometry] = [self.looked_at.exterior]
        edges += [self._reaching(part, [one for one in marks if one is not part]) for part in marks]
        untold = self._untold(runs, marks)
        hidden = self._hidden(runs, carried)
        parts: dict[str, list[Polygon]] = {}
        for cell in shapely.get_parts(shapely.polygonize(shapely.get_parts(shapely.union_all(edges)))):
            sliver = cell.area < (_SLIVER_SHARE * self.depth_m) ** 2
            if sliver or not self.looked_at.contains(cell.representative_point()):
                continue
            parted = self._between_levels(cell, runs) or self._by_ground(cell, runs, carried, untold)
            for unit, part in parted:
                if unit is None:
                    continue
                for near in self._within_room(unit, part, cell, carried):
                    parts.setdefault(unit, []).extend(self._last_seen(near, hidden.get(unit, ())))
        return [
            self._fill(unit, area)
            for unit, cells in parts.items()
            for area in settled_areas(shapely.union_all(cells, grid_size=GRID_M))
        ]

    def named(self, carried: Sequence[CarriedLine], fills: Sequence[SectionFill]) -> list[SectionFill]:
        """Ground without colour that all lines about it tell to be of one unit, where little or none of it is coloured.

        Colour of another unit in the midst of it tells against them.
        """
        marks = [part for one in carried for part in one.below]
        edges: list[BaseGeometry] = [self.looked_at.exterior]
        edges += [self._reaching(part, [one for one in marks if one is not part]) for part in marks]
        found: list[SectionFill] = []
        for cell in shapely.get_parts(shapely.polygonize(shapely.get_parts(shapely.union_all(edges)))):
            if not self.looked_at.contains(cell.representative_point()):
                continue
            # Of what an unconformity cuts it tells one place alone.
            told = {unit for cut, _, unit in self._told(cell, carried) if not cut}
            if len(told) != 1:
                continue
            (unit,) = told
            others = shapely.union_all([fill.area for fill in fills if fill.unit != unit and not fill.loose])
            if others.intersection(cell).area > _AGAINST_SHARE * self.depth_m**2:
                continue
            west, _, east, _ = cell.bounds
            own = (fill.area for fill in fills if fill.unit == unit)
            touching = [area.bounds for area in own if area.distance(cell) <= self.touching_m]
            if sum(min(right, east) - max(left, west) for left, _, right, _ in touching) <= _HARDLY * (
                east - west
            ):
                bare = cell.difference(shapely.union_all([fill.area for fill in fills]))
                found += [
                    self._fill(unit, area)
                    for one in areas_in(bare)
                    for near in self._within_room(unit, one, cell, carried)
                    for area in settled_areas(near)
                ]
        return found

    def _hidden(self, runs: Sequence[UnitRun], carried: Sequence[CarriedLine]) -> dict[str, list[_Hidden]]:
        """By unit, where it goes under a cover beyond which it was not seen again."""
        bases = {one.of.younger for one in carried if one.of.kind is PointKind.UNCONFORMITY and one.below}
        lowest = max((self.ranks[unit] for unit in bases if unit in self.ranks), default=-1)
        found: dict[str, list[_Hidden]] = {}
        for sense, along in ((1.0, list(runs)), (-1.0, list(reversed(runs)))):
            for index, (run, after) in enumerate(pairwise(along)):
                if run.unit is None or self.ranks.get(run.unit, -1) <= lowest:
                    continue
                if after.unit is None or self.ranks.get(after.unit, lowest + 1) > lowest:
                    continue
                comes = (
                    one.unit
                    for one in along[index + 1 :]
                    if self.ranks.get(one.unit or "", lowest + 1) > lowest
                )
                if next(comes, None) != run.unit:
                    border_m = self._border_met(run, sense)
                    found.setdefault(run.unit, []).append(
                        _Hidden(
                            border_m=border_m,
                            sense=sense,
                            cover=after.unit,
                            dip_deg=self._dip_before(border_m, sense, lowest),
                        )
                    )
        return found

    def _border_met(self, run: UnitRun, sense: float) -> float:
        """Where a unit goes under a cover: no farther on than the last place at which one was seen on the other.

        A gentle plane comes out of the ground far from there where it or the ground is off by little.
        """
        met = [
            point.distance_m
            for point in self.section.points
            if point.kind is PointKind.UNCONFORMITY and point.contact and point.contact.older == run.unit
        ]
        inside = [at_m for at_m in met if run.start_m < at_m < run.end_m]
        if not inside or len(inside) < len(met):
            return run.end_m if sense > 0.0 else run.start_m
        return max(inside) if sense > 0.0 else min(inside)

    def _dip_before(self, border_m: float, sense: float, lowest: int) -> float | None:
        """Dip of the bed nearest to where its unit goes under a cover, whose units rank up to `lowest`; of one before it, if any."""
        folded = [
            bed
            for bed, unit in zip(self.beds, self.units_read, strict=True)
            if self.ranks.get(unit, lowest + 1) > lowest
        ]
        own = [bed for bed in folded if (bed[0] - border_m) * sense <= 0.0]
        near = least(own or folded, key=lambda bed: abs(bed[0] - border_m))
        return None if near is None else near[1]

    def _last_seen(self, part: Polygon, hidden: Sequence[_Hidden]) -> list[Polygon]:
        """What of a unit lies before the last of its beds that was seen, where it goes under a cover."""
        left: BaseGeometry = part
        for one in hidden:
            beyond = self._beyond(one.border_m, dip_deg=one.dip_deg)
            before = left.difference(beyond) if one.sense > 0.0 else left.intersection(beyond)
            if left.area - before.area > _SLIVER_SHARE * self.depth_m**2:
                self.covers[one.cover] = None
            left = before
        return list(areas_in(left))

    def _untold(self, runs: Sequence[UnitRun], marks: Sequence[LineString]) -> frozenset[float]:
        """Borders of the ground that no line was constructed for."""
        _, low, _, high = self.looked_at.bounds
        found = []
        for run in runs[:-1]:
            upright = LineString([(run.end_m, low - self.depth_m), (run.end_m, high + self.depth_m)])
            out = upright.intersection(self.surface)
            if all(part.distance(out) > self.seen_m for part in marks):
                found.append(run.end_m)
        return frozenset(found)

    def _reaching(self, line: LineString, others: Sequence[LineString]) -> LineString:
        """A line with ends that reach over what they end at; one that ends in the midst goes on to the edge."""
        points = list(line.coords)
        for last, before in ((0, 1), (-1, -2)):
            (x, y), (bx, by) = points[last], points[before]
            long = math.dist((x, y), (bx, by))
            if long == 0.0:
                continue
            way = ((x - bx) / long, (y - by) / long)
            # At the ground, at the foot of the colour and at other lines a little more than up to them.
            place = ShapelyPoint(x, y)
            off_edge = self.looked_at.exterior.distance(place)
            reach = 2.0 * (self.seen_m if off_edge <= self.seen_m else self.touching_m)
            free = all(other.distance(place) > self.touching_m for other in others)
            if free and off_edge > self.seen_m and self.looked_at.contains(place):
                on = LineString([(x, y), (x + self.far_m * way[0], y + self.far_m * way[1])])
                met = [on.intersection(other) for other in (*others, self.looked_at.exterior)]
                reach += min((one.distance(place) for one in met if not one.is_empty), default=0.0)
            points[last] = (x + reach * way[0], y + reach * way[1])
        return settled_shape(LineString(points))

    # --- whose ground it is

    def _between_levels(self, cell: Polygon, runs: Sequence[UnitRun]) -> list[tuple[str | None, Polygon]]:
        """A piece between the planes of flat beds, which tell it wherever it comes out; nothing where beds are not flat.

        A unit that was walked on it and has no such plane lies over it as a skin whose base nobody saw.
        """
        levels = self.section.levels or self.section.over
        if not levels:
            return []
        inside = cell.representative_point()
        unit = unit_at(levels, self.section.plan_at(inside.x), inside.y)
        if unit is None:
            return []
        placed = {one for level in levels for one in (level.younger, level.older)}
        low, _, high, _ = cell.bounds
        self._as_skins(
            [
                run
                for run, _ in self._seen_on(cell, runs)
                if run.unit in self.ranks and run.unit not in placed
            ],
            low,
            high,
        )
        return [(unit, cell)]

    def _as_skins(self, runs: Sequence[UnitRun], low_m: float, high_m: float) -> None:
        """Keep what of some runs lies between two places as units that lie flat on others."""
        clipped = [
            replace(run, start_m=max(run.start_m, low_m), end_m=min(run.end_m, high_m)) for run in runs
        ]
        self.skins += [run for run in clipped if run.end_m - run.start_m > self.seen_m]

    def _by_ground(
        self,
        cell: Polygon,
        runs: Sequence[UnitRun],
        carried: Sequence[CarriedLine],
        untold: frozenset[float],
    ) -> list[tuple[str | None, Polygon]]:
        """A piece by what was seen on it, else by the lines about it; of one under a cover the cover tells nothing."""
        over = {level.younger for level in self.section.over}
        on_ground = self._without_guesses(
            self._seen_on(cell, [run for run in runs if run.unit not in over]), cell, carried
        )
        parted = self._parted(cell, on_ground, carried, untold)
        if parted:
            return parted
        unit = self._unit_of(cell, on_ground, carried)
        under = self._under(on_ground, self._told(cell, carried))
        if under is not None:
            skin = _skin(self.section, LENS_DEPTH_SHARE * self.depth_m)
            return [
                (of, one)
                for of, part in ((unit, cell.intersection(skin)), (under, cell.difference(skin)))
                for one in areas_in(part)
            ]
        if on_ground or all(one.of.kind is not PointKind.UNCONFORMITY for one in carried):
            return [(unit, cell)]
        return [(unit, part) for part in self._beside(cell, unit, carried)]

    def _within_room(
        self, unit: str, part: Polygon, cell: Polygon, carried: Sequence[CarriedLine]
    ) -> list[Polygon]:
        """What of a unit lies no farther from the contacts about its piece than it is thick, and what was seen to be of it.

        Beyond, another is likelier to lie there, whose contact no line tells.
        """
        rooms = [room for one in carried for room in self._rooms_at(unit, cell, one)]
        if not rooms:
            return [part]
        past = part.difference(shapely.union_all(rooms))
        low, high = part.bounds[1] - self.depth_m, part.bounds[3] + self.depth_m
        seen = (shapely.box(one.start_m, low, one.end_m, high) for one in self.seen or () if one.unit == unit)
        past = past.difference(shapely.union_all(list(seen)))
        beyond = [one for one in areas_in(past) if one.area > (_SLIVER_SHARE * self.depth_m) ** 2]
        if not beyond:
            return [part]
        self.past_rooms += [(unit, one) for one in beyond]
        return list(areas_in(part.difference(shapely.union_all(beyond))))

    def _rooms_at(self, unit: str, cell: Polygon, one: CarriedLine) -> Iterator[BaseGeometry]:
        """The room that a unit has at a line, if the piece lies on its side of it; none where nobody knows how thick it is."""
        for of, wide_m, on_left in (
            (one.of.younger, one.of.over_m, True),
            (one.of.older, one.of.under_m, False),
        ):
            if of != unit or wide_m is None:
                continue
            touching = cell.buffer(self.touching_m)
            shared = ((part, piece) for part in one.below for piece in lines_in(part.intersection(touching)))
            if any(
                piece.length > self.seen_m and self._on_left(cell, part, piece) is on_left
                for part, piece in shared
            ):
                yield room_about(one.of, wide_m, far_m=self.far_m)

    def _under(
        self, on_ground: Sequence[tuple[UnitRun, float]], told: Sequence[tuple[bool, float, str]]
    ) -> str | None:
        """The unit that all lines about a piece tell, where they run along it far and of another little came out of it.

        Such a line lies off by a little: what was seen on the ground is a skin over it.
        """
        names = {unit for cut, _, unit in told if not cut}
        seen = {run.unit: share for run, share in on_ground}
        if len(names) != 1 or names & set(seen) or not on_ground:
            return None
        along_m = -sum(long for cut, long, _ in told if not cut)
        return next(iter(names)) if along_m > 2.0 * sum(share for _, share in on_ground) else None

    def _beside(self, cell: Polygon, unit: str | None, carried: Sequence[CarriedLine]) -> list[Polygon]:
        """What of a piece under a cover a contact tells, where nothing came out: all between both contacts of its unit.

        By one alone no farther from it than ground was looked at: nobody saw where the unit ends.
        """
        room = cell.buffer(self.touching_m)
        own = [
            part
            for one in carried
            if one.of.kind is PointKind.CONTACT and unit in {one.of.younger, one.of.older}
            for part in one.below
            if part.intersection(room).length > self.seen_m
        ]
        if len(own) != 1:
            return [cell]
        return list(areas_in(cell.intersection(own[0].buffer(self.depth_m))))

    def _seen_on(self, cell: Polygon, runs: Sequence[UnitRun]) -> list[tuple[UnitRun, float]]:
        """What lies on the ground of a piece, and how wide it is there."""
        # A line that leaves the ground at a small angle keeps near it for long: only what the piece reaches counts.
        on = self.surface.intersection(cell.buffer(_ON_GROUND_M))
        spans = [(part.bounds[0], part.bounds[2]) for part in lines_in(on)]
        if sum(end - start for start, end in spans) <= self.seen_m:
            return []
        wide = [
            sum(max(0.0, min(end, run.end_m) - max(start, run.start_m)) for start, end in spans)
            for run in runs
        ]
        return [(run, share) for run, share in zip(runs, wide, strict=True) if share > 0.0]

    def _parted(
        self,
        cell: Polygon,
        on_ground: Sequence[tuple[UnitRun, float]],
        carried: Sequence[CarriedLine],
        untold: frozenset[float],
    ) -> list[tuple[str | None, Polygon]]:
        """A piece that no line parts though more than one unit was seen on it, cut along the beds; else nothing.

        What was seen stands, and it shows that the lines and the ground disagree, or that no line tells.
        """
        told_units = {unit for cut, _, unit in self._told(cell, carried) if not cut}
        on_ground = self._without_edges(on_ground, told_units)
        wide: dict[str | None, float] = {}
        for run, share in on_ground:
            wide[run.unit] = wide.get(run.unit, 0.0) + share
        kept = [run for run, share in on_ground if share > self.seen_m]
        told = all(one.end_m not in untold for one in kept[:-1])
        if sum(share > DISAGREE_SHARE * self.depth_m for share in wide.values()) < 2 and (
            told or len({one.unit for one in kept}) < 2
        ):
            return []
        flat = self._flat(cell, kept)
        if flat is not None:
            return [(flat, cell)]
        # Lines that tell two units of it are off by more than they state: what was seen is known, and nothing under it.
        left: BaseGeometry = cell
        if len(told_units) > 1:
            left = cell.intersection(_skin(self.section, LENS_DEPTH_SHARE * self.depth_m))
        found: list[tuple[str | None, Polygon]] = []
        for run, after in pairwise(kept):
            # Knowledge ends straight down; one unit meets another along the beds.
            known = run.unit is not None and after.unit is not None
            border_m = (run.end_m + after.start_m) / 2.0
            beyond = self._beyond(border_m, dip_deg=self._dip(border_m) if known else None)
            found += [(run.unit, one) for one in areas_in(left.difference(beyond))]
            left = left.intersection(beyond)
        return [*found, *((kept[-1].unit, one) for one in areas_in(left))]

    def _without_guesses(
        self,
        on_ground: list[tuple[UnitRun, float]],
        cell: Polygon,
        carried: Sequence[CarriedLine],
    ) -> list[tuple[UnitRun, float]]:
        """What was seen on a piece, without the units of ground carried there from afar where lines tell one that was seen.

        No line parts them from it: a sliver of a unit with none of its own around it would be a guess over a guess.
        """
        told = {unit for cut, _, unit in self._told(cell, carried) if not cut}
        if self.seen is None or len(told) != 1:
            return on_ground
        was_seen = [run.unit in told and self._seen_m(run) > self.seen_m for run, _ in on_ground]
        if not any(was_seen):
            return on_ground
        return [
            (run, share)
            for run, share in on_ground
            if run.unit is None or run.unit in told or self._seen_m(run) > self.seen_m
        ]

    def _seen_m(self, run: UnitRun) -> float:
        """How much of a run the map shows."""
        return sum(
            max(0.0, min(one.end_m, run.end_m) - max(one.start_m, run.start_m))
            for one in self.seen or ()
            if one.unit == run.unit
        )

    def _without_edges(
        self, on_ground: Sequence[tuple[UnitRun, float]], told: set[str]
    ) -> Sequence[tuple[UnitRun, float]]:
        """What was seen on a piece without narrow ground of another unit at its ends, where all lines tell the unit between.

        The border of the map and the line come out so little apart. So they do at both ends of another piece between, whose
        ground that is.
        """
        if len(told) != 1 or all(run.unit not in told for run, _ in on_ground):
            return on_ground
        near_m = DISAGREE_SHARE * self.depth_m
        low, high = 0, len(on_ground)
        while on_ground[low][0].unit not in told and on_ground[low][1] <= near_m:
            low += 1
        while on_ground[high - 1][0].unit not in told and on_ground[high - 1][1] <= near_m:
            high -= 1
        return [
            (run, share)
            for run, share in on_ground[low:high]
            if run.unit is None or run.unit in told or share > near_m or 2.0 * share > run.end_m - run.start_m
        ]

    def _flat(self, cell: Polygon, kept: Sequence[UnitRun]) -> str | None:
        """The oldest unit of a piece with flat beds, on which the younger ones lie as skins whose base nobody saw."""
        # Beds cut along their strike look flat and are not.
        near = [self._nearest(one.end_m) for one in kept[:-1]]
        known = [one.unit for one in kept if one.unit in self.ranks]
        if len(known) < len(kept) or any(
            one is None or self.true_dips_deg[one] > NEARLY_FLAT_DEG for one in near
        ):
            return None
        if self.section.dips_gently:
            # They are cut along their beds, as steeper ones are.
            return None
        oldest = max(known, key=lambda unit: self.ranks[unit])
        low, _, high, _ = cell.bounds
        self._as_skins([run for run in kept if run.unit != oldest], low, high)
        return oldest

    def _dip(self, at_m: float) -> float | None:
        """Apparent dip of the bed nearest to a place; None where no bed was read."""
        near = self._nearest(at_m)
        return None if near is None else self.beds[near][1]

    def _nearest(self, at_m: float) -> int | None:
        """Which bed was read nearest to a place; None where none was."""
        return least(range(len(self.beds)), key=lambda one: abs(self.beds[one][0] - at_m))

    def _beyond(self, border_m: float, *, dip_deg: float | None) -> Polygon:
        """The ground beyond a border that no line tells of: along beds of an apparent dip, upright where there are none."""
        at = (border_m, self.section.ground_at(border_m))
        dip_rad = math.radians(90.0 if dip_deg is None or dip_deg == 0.0 else dip_deg)
        way = (math.copysign(math.cos(dip_rad), dip_rad), -abs(math.sin(dip_rad)))
        # Under ground that falls more than the beds do they lie the other way.
        step_m = DISAGREE_SHARE * self.depth_m
        if at[1] + step_m * way[1] > self.section.ground_at(at[0] + step_m * way[0]):
            way = (-way[0], -way[1])
        foot = (at[0] + self.far_m * way[0], at[1] + self.far_m * way[1])
        east, low, top = 3.0 * self.far_m, at[1] - 2.0 * self.far_m, at[1] + self.far_m
        return Polygon([(at[0], top), at, foot, (foot[0], low), (east, low), (east, top)])

    def _unit_of(
        self, cell: Polygon, on_ground: Sequence[tuple[UnitRun, float]], carried: Sequence[CarriedLine]
    ) -> str | None:
        """The widest unit seen on a piece; of one that does not come out, the unit on this side of its longest edge."""
        seen = least(on_ground, key=lambda one: -one[1])
        if seen is not None:
            return seen[0].unit
        told = self._told(cell, carried)
        longest = least(
            [one for one in told if one[0] == min(cut for cut, _, _ in told)], key=lambda one: one[1]
        )
        return None if longest is None else longest[2]

    def _told(self, cell: Polygon, carried: Sequence[CarriedLine]) -> list[tuple[bool, float, str]]:
        """What lines say of the piece beside them: whether they cut it off, how long they run along it, negative, and its unit."""
        room = cell.buffer(self.touching_m)
        told: list[tuple[bool, float, str]] = []
        for one in carried:
            if one.of.kind is PointKind.FAULT:
                continue
            for part in one.below:
                for shared in lines_in(part.intersection(room)):
                    over = self._on_left(cell, part, shared)
                    unit = one.of.younger if over else one.of.older
                    if unit is not None and shared.length > self.seen_m:
                        # What an unconformity cuts was seen where it was met, and is another farther on.
                        cut = not over and one.of.kind is PointKind.UNCONFORMITY
                        told.append((cut, -shared.length, unit))
        return told

    def _on_left(self, cell: Polygon, line: LineString, shared: LineString) -> bool:
        """Whether a piece lies on the left of a line, where the younger unit does."""
        along = line.project(shared.interpolate(0.5, normalized=True))
        start, end = line.interpolate(along - self.touching_m), line.interpolate(along + self.touching_m)
        left = ShapelyPoint(
            (start.x + end.x) / 2.0 - 2.0 * (end.y - start.y),
            (start.y + end.y) / 2.0 + 2.0 * (end.x - start.x),
        )
        return bool(cell.contains(left))

    def _fill(self, unit: str, area: Polygon) -> SectionFill:
        on = self.surface.intersection(area.buffer(self.touching_m))
        bounds = [part.bounds for part in lines_in(on)] or [area.bounds]
        return SectionFill(
            unit=unit,
            area=area,
            start_m=min(one[0] for one in bounds),
            end_m=max(one[2] for one in bounds),
        )


def lenses(
    section: Section, runs: Sequence[UnitRun], *, depth_m: float, loose: bool = False
) -> list[SectionFill]:
    """Ground whose base nobody saw, `loose` or flat on what is older, as thin lenses."""
    found: list[SectionFill] = []
    for run in runs:
        if run.unit is None:
            continue
        top = [(at, section.ground_at(at)) for at in _places_of(section, run)]
        deep_m = min(LENS_DEPTH_SHARE * depth_m, LENS_WIDTH_SHARE * (run.end_m - run.start_m))
        base: list[Point] = []
        for step in range(_LENS_STEPS + 1):
            share = step / _LENS_STEPS
            at = run.end_m + share * (run.start_m - run.end_m)
            base.append((at, section.ground_at(at) - deep_m * 4.0 * share * (1.0 - share)))
        found.append(
            SectionFill(
                unit=run.unit,
                area=settled_shape(Polygon([*top, *base])),
                start_m=run.start_m,
                end_m=run.end_m,
                base=tuple(base),
                loose=loose,
            )
        )
    return found


def as_far_as_walked(
    fills: Sequence[SectionFill], section: Section, runs: Sequence[UnitRun], *, depth_m: float
) -> tuple[SectionFill, ...]:
    """The youngest unit up to its highest place, the oldest down to its lowest, both carried along the beds.

    Past them another contact may come at any depth: its unit was not seen there, and flat beds are thin. The ground itself
    keeps its colour, as a skin no thicker than one whose base nobody saw.
    """
    levels = section.levels or section.over
    far_m = 10.0 * section.length_m
    beyond: dict[str, BaseGeometry] = {}
    if levels:
        highest, lowest = levels[0], levels[-1]
        beyond[highest.younger] = _side(highest, section, highest.over_m, far_m)
        if lowest.older is not None:
            beyond[lowest.older] = _side(lowest, section, -lowest.under_m, -far_m)
    elif (rise := section.flat_rise) is not None:
        # No plane holds their contacts: each unit, along the beds, down to its own lowest ground.
        leans = partial(_lean_m, section, rise)
        low: dict[str, float] = {}
        for run in runs:
            if run.unit is not None:
                over_m = min(section.ground_at(at) - leans(at) for at in _places_of(section, run))
                low[run.unit] = min(over_m, low.get(run.unit, over_m))
        along = (0.0, *section.bends_m, section.length_m)
        for fill in fills:
            foot_m = low.get(fill.unit, math.inf)
            if math.isinf(foot_m):
                foot_m = max(up_m - leans(at) for at, up_m in fill.area.exterior.coords)
            foot = [(at, foot_m + leans(at)) for at in along]
            beyond[fill.unit] = Polygon([*foot, *((at, up_m - far_m) for at, up_m in reversed(foot))])
    if not beyond:
        return tuple(fills)
    skin = _skin(section, LENS_DEPTH_SHARE * depth_m)
    beyond = {unit: side.difference(skin) for unit, side in beyond.items()}
    return tuple(
        replace(fill, area=area)
        for fill in fills
        for area in (
            settled_areas(fill.area.difference(beyond[fill.unit])) if fill.unit in beyond else [fill.area]
        )
    )


def hosts_of_gentle(bodies: Sequence[SectionBody]) -> set[str]:
    """Units that bodies lie in of which a wall lies gently enough to go on under the ground beside it."""
    return {
        end.host
        for one in bodies
        if any(side is not None and side.gentle for side in one.sides)
        for end in one.body.ends
        if end.host is not None
    }


def over_left_off(
    fills: Sequence[SectionFill], left_off: Sequence[SectionBody], section: Section, *, depth_m: float
) -> tuple[SectionFill, ...]:
    """What is coloured, but for what lies deeper than a skin in the host of a body that lies gently and is left off.

    It goes through that ground somewhere, under what was walked on.
    """
    hosts = hosts_of_gentle(left_off)
    skin = _skin(section, LENS_DEPTH_SHARE * depth_m)
    return tuple(
        replace(fill, area=area)
        for fill in fills
        for area in (settled_areas(fill.area.intersection(skin)) if fill.unit in hosts else [fill.area])
    )


def _lean_m(section: Section, rise: tuple[float, float], at_m: float) -> float:
    """How much higher than at its first end a bed lies at a distance."""
    (east, north), (first_east, first_north) = section.plan_at(at_m), section.line[0]
    return rise[0] * (east - first_east) + rise[1] * (north - first_north)


def _places_of(section: Section, run: UnitRun) -> list[float]:
    """Distances at which the ground of a run is known."""
    inside = [one.distance_m for one in section.profile if run.start_m < one.distance_m < run.end_m]
    return [run.start_m, *inside, run.end_m]


def _side(level: LevelContact, section: Section, off_m: float, far_m: float) -> Polygon:
    """All that lies farther from a contact than `off_m`, up or down, from end to end of a section."""
    line = level.across(section)
    return Polygon(
        [
            *((distance_m, up_m + off_m) for distance_m, up_m in line),
            *((distance_m, up_m + far_m) for distance_m, up_m in reversed(line)),
        ]
    )


def _skin(section: Section, thick_m: float) -> Polygon:
    """What lies so little under the ground of a section."""
    top = [(one.distance_m, one.up_m) for one in section.profile]
    return Polygon([*top, *((distance_m, up_m - thick_m) for distance_m, up_m in reversed(top))])
