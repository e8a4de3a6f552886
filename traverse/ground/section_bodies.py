"""Intrusive bodies in the ground of a section: what they cut out of the beds."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from itertools import combinations

import shapely
from shapely import LineString, Polygon
from shapely import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from traverse.ground.records import CarriedLine, SectionFill
from traverse.ground.section_lines import certainty_along
from traverse.ground.section_runs import UnitRun
from traverse.log.items import Certainty
from traverse.record import record
from traverse.settled import GRID_M, SAME_M, settled, settled_shape
from traverse.shapes import areas_in, lines_in, settled_areas
from traverse.structure.section.records import (
    BodySide,
    ConstructedLine,
    PointKind,
    Section,
    SectionBody,
)
from traverse.trade import ONE_CONTACT_M

_TOUCHING_M = 0.05
_OUT_AGAIN_M = 1.0
"""So far beyond its sides a body comes out again."""
_SPECK_M2 = 0.05
"""A piece of ground smaller than this is nothing."""


@record(frozen=True, slots=True, kw_only=True)
class BodyCut:
    """A body in the ground of a section."""

    of: SectionBody
    whole: BaseGeometry
    """Between its sides, from the ground down; no deeper than was looked at where its course is not known, or turns."""
    area: BaseGeometry
    """Its own of that: not where a younger body cuts it, nor where one does of which nobody knows whether it is younger."""
    walls: tuple[CarriedLine, ...] = ()
    """Those that were met; both of a narrow body, and of a sill that is drawn along the beds."""

    @property
    def edges(self) -> tuple[LineString, ...]:
        """Its outline."""
        return tuple(LineString(part.exterior) for part in _polygons(self.area))

    def fills(self, looked_at: Polygon) -> Iterator[SectionFill]:
        """Its ground, as deep as that of the beds."""
        for part in _polygons(self.area.intersection(looked_at)):
            yield _fill(self.of.body.unit, part)


def where_seen(one: SectionBody, section: Section, seen: Sequence[UnitRun]) -> SectionBody:
    """A body with its sides where the map shows them, where the line of section runs over its ground there.

    One of which a side was not met ends, as steep as its other side, where its ground was last seen.
    """
    low, high = one.sides
    first = 0.0 if low is None else low.at[0]
    last = section.length_m if high is None else high.at[0]
    mine = [run for run in seen if run.unit == one.body.unit and run.start_m < last and first < run.end_m]
    if not mine:
        return one

    def moved(side: BodySide | None, distance: float) -> BodySide | None:
        # Farther off, what the map ends at there is the edge of the ground that was looked at.
        if side is None:
            met = low or high
            at_end = not SAME_M < distance < section.length_m - SAME_M
            if met is None or at_end or one.past_ends:
                return None
            return BodySide(at=(distance, section.ground_at(distance)), way=met.way, wall=None)
        if not 0.0 <= side.at[0] <= section.length_m:
            return side
        reach_m = ONE_CONTACT_M if side.wall is None else max(ONE_CONTACT_M, 3.0 * side.wall.sd_m)
        if abs(distance - side.at[0]) > reach_m:
            return side
        return replace(side, at=(distance, section.ground_at(distance)))

    return replace(one, sides=(moved(low, mine[0].start_m), moved(high, mine[-1].end_m)))


def against_seen(one: SectionBody, section: Section, seen: Sequence[UnitRun]) -> bool:
    """Whether the line of section was walked on other rock where a body would come out, by more than its walls are off.

    Near its strike a degree moves it far along the line: what was seen stands.
    """
    first, last = outcrop_of(one, section)
    off_m = [ONE_CONTACT_M]
    off_m += [3.0 * side.wall.sd_m for side in one.sides if side is not None and side.wall is not None]
    other_m = sum(
        max(0.0, min(run.end_m, last) - max(run.start_m, first)) for run in seen if run.unit != one.body.unit
    )
    return other_m > max(off_m)


def outcrop_of(one: SectionBody, section: Section) -> tuple[float, float]:
    """From where to where a body comes out along a section."""
    low, high = one.sides
    first = 0.0 if low is None else max(low.at[0], 0.0)
    return first, section.length_m if high is None else min(high.at[0], section.length_m)


def cut_bodies(
    section: Section,
    lines: Sequence[CarriedLine],
    looked_at: Polygon,
    younger: Collection[tuple[str, str]],
) -> tuple[BodyCut, ...]:
    """The bodies of a section, in its order; each ends at the faults there, since nothing tells which is the younger.

    Of two that cross the first cuts the other where their units are a pair in `younger`; else neither has the ground in
    which they do, nor is ruled through it.
    """
    if not section.bodies:
        return ()
    surface = settled_shape(LineString([(one.distance_m, one.up_m) for one in section.profile]))
    faults = shapely.union_all(
        [
            part.buffer(_TOUCHING_M / 4.0)
            for one in lines
            if one.of.kind is PointKind.FAULT
            for part in one.below
        ]
    )
    found: list[BodyCut] = []
    for one in section.bodies:
        area = _area(one, section, surface, looked_at).difference(faults)
        # What comes out of the ground where it was met; not again where it was not.
        place = _met(one, section)
        parts = [part for part in _polygons(area) if part.distance(place) < _TOUCHING_M * 4.0]
        area = _not_out_again(shapely.union_all(parts), one, section, surface) if parts else Polygon()
        found.append(BodyCut(of=one, whole=area, area=area))
    for at, to in _crossing(found):
        units = (found[at].of.body.unit, found[to].of.body.unit)
        for index, other, unit in ((at, to, units[0]), (to, at, units[1])):
            if unit != _younger(units, younger):
                # Without the whole of the other: what both share has its corners on the grid, and leaves slivers along the walls.
                area = found[index].area.difference(found[other].whole)
                found[index] = replace(found[index], area=area)
    return tuple(replace(one, walls=tuple(_walls(one.of, one.area, section))) for one in found)


def undecided(bodies: Sequence[BodyCut], younger: Collection[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    """Every two units whose bodies cross below ground, of which nothing tells which cuts the other."""
    pairs = ((bodies[at].of.body.unit, bodies[to].of.body.unit) for at, to in _crossing(bodies))
    return tuple(sorted({(min(pair), max(pair)) for pair in pairs if _younger(pair, younger) is None}))


def _crossing(bodies: Sequence[BodyCut]) -> list[tuple[int, int]]:
    """Every two bodies of different units with ground that both would have."""
    return [
        (at, to)
        for at, to in combinations(range(len(bodies)), 2)
        if bodies[at].of.body.unit != bodies[to].of.body.unit
        and _polygons(bodies[at].whole.intersection(bodies[to].whole))
    ]


def _younger(units: tuple[str, str], younger: Collection[tuple[str, str]]) -> str | None:
    """Of two units the first of their pair, whichever way it stands; None where there is none."""
    return next((pair[0] for pair in (units, units[::-1]) if pair in younger), None)


def without_body(
    lines: Sequence[CarriedLine], fills: Sequence[SectionFill], body: BodyCut
) -> tuple[tuple[CarriedLine, ...], tuple[SectionFill, ...]]:
    """The beds and their contacts, cut by a body."""
    if body.whole.is_empty:
        return tuple(lines), tuple(fills)
    cut_lines = tuple(
        replace(
            one,
            below=tuple(
                settled_shape(part) for line in one.below for part in lines_in(line.difference(body.whole))
            ),
        )
        for one in lines
    )
    cut_fills = tuple(
        _fill(one.unit, part) if part is not one.area else one
        for one in fills
        for part in (
            _polygons(shapely.difference(one.area, body.whole, grid_size=GRID_M))
            if one.area.intersects(body.whole)
            else (one.area,)
        )
    )
    return cut_lines, cut_fills


def _area(one: SectionBody, section: Section, surface: LineString, looked_at: Polygon) -> BaseGeometry:
    if one.shallow or not one.course_known:
        return _strip(one, section).intersection(looked_at)
    ends = surface.coords[0], surface.coords[-1]
    ground = Polygon([*surface.coords, (ends[1][0], one.floor_m), (ends[0][0], one.floor_m)])
    return _strip(one, section).intersection(ground)


def _strip(one: SectionBody, section: Section) -> BaseGeometry:
    """All between the two sides, without an end up or down."""
    tops = [point.up_m for point in section.profile]
    far = 4.0 * (section.length_m + max(tops) - one.floor_m) + 10.0
    found: BaseGeometry = shapely.box(-1.0, one.floor_m - 1.0, section.length_m + 1.0, max(tops) + far)
    place = _met(one, section)
    for side in one.sides:
        if side is not None:
            found = found.intersection(_half(side, place, far))
    return found


def _not_out_again(
    area: BaseGeometry, one: SectionBody, section: Section, surface: LineString
) -> BaseGeometry:
    """What lies this side of any place where it would come out of the ground and was not met."""
    low, high = one.sides
    first = 0.0 if low is None else low.at[0]
    last = section.length_m if high is None else high.at[0]
    start, end = -1.0, section.length_m + 1.0
    for part in lines_in(surface.intersection(area.buffer(_TOUCHING_M))):
        left, _, right, _ = part.bounds
        if right < first - _OUT_AGAIN_M:
            start = max(start, right)
        elif left > last + _OUT_AGAIN_M:
            end = min(end, left)
    _, bottom, _, top = area.bounds
    return settled_shape(area.intersection(shapely.box(start, bottom - 1.0, end, top + 1.0)))


def _half(side: BodySide, toward: ShapelyPoint, far: float) -> Polygon:
    """All that lies on the body's side of a wall."""
    (x, y), (dx, dy) = side.at, side.way
    nx, ny = -dy, dx
    if (toward.x - x) * nx + (toward.y - y) * ny < 0.0:
        nx, ny = -nx, -ny
    first, last = (x - far * dx, y - far * dy), (x + far * dx, y + far * dy)
    return Polygon(
        [first, last, (last[0] + far * nx, last[1] + far * ny), (first[0] + far * nx, first[1] + far * ny)]
    )


def _met(one: SectionBody, section: Section) -> ShapelyPoint:
    """A place of the body on the ground, between its sides."""
    first, last = outcrop_of(one, section)
    middle = settled((first + last) / 2.0)
    return ShapelyPoint(middle, section.ground_at(middle))


def _walls(one: SectionBody, area: BaseGeometry, section: Section) -> Iterator[CarriedLine]:
    """Its walls along the edge of its ground."""
    room = area.buffer(_TOUCHING_M)
    tops = [point.up_m for point in section.profile]
    far = 4.0 * (section.length_m + max(tops) - one.floor_m) + 10.0
    for side in one.sides:
        if side is None or (side.wall is None and not one.body.narrow and not one.along_beds):
            continue
        (x, y), (dx, dy) = side.at, side.way
        whole = LineString([(x - far * dx, y - far * dy), (x, y), (x + far * dx, y + far * dy)])
        below = tuple(settled_shape(part) for part in lines_in(whole.intersection(room)))
        wall = _line(side, one)
        yield CarriedLine(of=wall, below=below, above=(), known=certainty_along(wall, ()))


def _line(side: BodySide, one: SectionBody) -> ConstructedLine:
    wall, outcrop = side.wall, side.at
    return ConstructedLine(
        kind=PointKind.CONTACT,
        younger=one.body.unit if wall is None else wall.younger,
        older=None if wall is None else wall.older,
        # A side that nobody saw is as good as the one across is carried.
        certainty=Certainty.APPROXIMATE if wall is None else wall.certainty,
        queried=wall is not None and wall.queried,
        contacts=() if wall is None else (wall,),
        outcrops=(outcrop,),
        pieces=(),
        course_known=one.course_known,
    )


def _fill(unit: str, area: Polygon) -> SectionFill:
    left, _, right, _ = area.bounds
    return SectionFill(unit=unit, area=area, start_m=left, end_m=right)


def _polygons(shape: BaseGeometry) -> list[Polygon]:
    return [
        one
        for part in areas_in(shape)
        if math.isfinite(part.area)
        for one in settled_areas(part)
        if one.area > _SPECK_M2
    ]
