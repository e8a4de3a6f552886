"""Intrusive bodies on a section, each by its own walls.

A body is carried along the strike of its walls, not as the beds are, and does not bend with them. Walls that were read each
their own way are carried each along its own strike.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations
from typing import NamedTuple

import numpy as np

from traverse.angle import axial_difference, wrap_360
from traverse.location.records import Survey
from traverse.log.records import Projection
from traverse.settled import SAME_M, settled, settled_all
from traverse.structure.readings.records import PlacedContact
from traverse.structure.section.carry import Carried, Carrier, LineOfSection, LookedAt
from traverse.structure.section.drawing_plane import Plane, meets_ground
from traverse.structure.section.records import BodySide, Section, SectionBody
from traverse.structure.section.sections import line_through
from traverse.structure.walk.across import contact_words
from traverse.structure.walk.bodies import bed_beside, is_one_body, walls_agree
from traverse.structure.walk.records import Body, BodyEnd
from traverse.trade import (
    ALONG_WALL_DEG,
    BAND_M,
    LEVEL_DEG,
    ONE_CONTACT_M,
    ONE_LINE_M,
    ONE_LINE_SHARE,
    REACH_M,
    SIDE_BANDS,
)
from traverse.wording import listed

_UPRIGHT = (0.0, -1.0)
_OFF_GROUND_M = 1.0
"""A wall that passes the ground by so much does not come out there."""
_WALLS = 2


def with_bodies(
    survey: Survey,
    section: Section,
    plane: Plane,
    bodies: Sequence[Body],
    sills: frozenset[str] = frozenset(),
) -> Section:
    """The section with the bodies that come to it; one met on two arms of the walk where it was met nearest.

    `sills` are units whose names say that they lie along the beds.
    """
    line = line_through(section.line) if bodies else None
    if line is None:
        return section
    # A body goes along its own strike whatever ground was looked at between.
    carrier = Carrier(None, survey.frame.to_true_deg, LookedAt((), 0.0), least_deg=ALONG_WALL_DEG)
    along = {
        id(body): lies
        for body in bodies
        if body.unit in sills and (lies := _lies_along(body, section, survey.frame.to_true_deg)) is not None
    }
    met = [
        one
        for body in bodies
        if (one := _OnLine(body, section, line, plane, carrier, along.get(id(body)))).comes_to_it
    ]
    carried = [one for one in met if not one.runs_beside or one.holds_line]
    near = max(ONE_LINE_M, ONE_LINE_SHARE * section.length_m)
    kept: list[_OnLine] = []
    for one in sorted(carried, key=lambda one: round(one.offset_m, 3)):
        if not any(one.is_one_with(other, near) for other in kept):
            kept.append(one)
    kept.sort(key=lambda one: -round(one.body.walked_m, 3))
    made = tuple(one.record() for one in kept)
    # Over a level line nothing is drawn of them below the ground.
    said = () if plane.level else (*_told(made), *_beside(met, made), *_past_end(bodies, met, line))
    built, arcs = (
        replace(one, sentences=(*one.sentences, *said)) for one in (section.construction, section.arcs)
    )
    return replace(section, bodies=made, construction=built, arcs=arcs)


def _lies_along(body: Body, section: Section, turn_deg: float) -> _Lies | None:
    """The planes that hold the contacts of gentle beds, else the bed read nearest to a body whose walls nobody read.

    None where that is too far off to lie as the walls do.
    """
    if body.strike_deg is not None:
        return None
    beds = [
        one.attitude
        for one in section.points
        if one.tells_bedding and one.attitude is not None and one.attitude.course_deg is not None
    ]
    bed = bed_beside(body.middle, beds)
    if bed is None or bed.course_deg is None:
        return None
    if section.levels and not section.levels[0].is_level:
        level = section.levels[0]
        strike_deg = wrap_360(settled(level.grid_direction_deg - 90.0 + turn_deg))
        return _Lies(strike_deg, settled(level.dip_deg), level.sd_deg)
    return _Lies(bed.course_deg, bed.dip_deg, bed.sd_deg)


class _Lies(NamedTuple):
    """How a body lies whose walls nobody read, as a plane does."""

    strike_deg: float
    """True, right-handed."""
    dip_deg: float
    sd_deg: float


class _OnLine:
    """A body carried to a line of section."""

    def __init__(
        self,
        body: Body,
        section: Section,
        line: LineOfSection,
        plane: Plane,
        carrier: Carrier,
        lies: _Lies | None = None,
    ) -> None:
        self.along_beds = lies is not None
        if lies is not None:
            body = replace(body, strike_deg=lies.strike_deg, dip_deg=lies.dip_deg, sd_deg=lies.sd_deg)
        self.body, self.section, self.line, self.plane, self.carrier = body, section, line, plane, carrier
        self.ends = self._carried()

    def _carried(self) -> list[tuple[BodyEnd, Carried | None]]:
        """Its ends, each along the strike of its wall, where the walls don't meet on the way; else square to the line."""
        own, square = (
            [
                (
                    end,
                    self.carrier.carry(
                        self.line,
                        end.place[0],
                        end.place[1],
                        end.up_m,
                        strike_deg=strike_deg,
                        projection=Projection.SQUARE if strike_deg is None else Projection.STRIKE,
                    ),
                )
                for end, strike_deg in zip(self.body.ends, strikes, strict=True)
            ]
            for strikes in ([self._strike_deg(end) for end in self.body.ends], [None, None])
        )
        apart = [_apart_m(ends) for ends in (own, square)]
        return square if self.body.strike_deg is None and apart[0] * apart[1] < 0.0 else own

    def _strike_deg(self, end: BodyEnd) -> float | None:
        """True strike that an end is carried along: of the body, else of its wall, of the other where this one has none.

        None of a wall so gentle that it has no strike to run along.
        """
        if self.body.strike_deg is not None:
            return None if self._level else self.body.strike_deg
        other = next(one for one in self.body.ends if one is not end)
        wall = next((one for one in (end.wall, other.wall) if one and one.course_deg is not None), None)
        gentle = wall is not None and wall.dip_deg is not None and wall.dip_deg < LEVEL_DEG
        return None if wall is None or gentle else wall.course_deg

    @property
    def _level(self) -> bool:
        """Whether it lies so gently that it has no strike to run along."""
        return self.body.dip_deg is not None and self.body.dip_deg < LEVEL_DEG

    @property
    def comes_to_it(self) -> bool:
        """Whether any of it lies on the line."""
        return any(carried is not None for _, carried in self.ends)

    @property
    def runs_beside(self) -> bool:
        """Whether its walls strike along the line and lie off it: where they would come to it hangs on their last degree."""
        return (
            self.body.strike_deg is not None
            and not self._level
            and all(
                carried is None or (carried.swing_m is None and self._off_m(carried) > ONE_CONTACT_M)
                for _, carried in self.ends
            )
        )

    @property
    def holds_line(self) -> bool:
        """Whether all of the line lies between its two walls, run on along their strike no farther than a plane is carried."""
        strike_deg = self.body.strike_deg
        if strike_deg is None or not self.body.through or len(self.body.walls) < _WALLS:
            return False
        strike = math.radians(strike_deg - self.carrier.turn)
        way = np.array([[math.sin(strike), math.cos(strike)], [math.cos(strike), -math.sin(strike)]])
        along, off = np.moveaxis(
            np.array([(self.line.points - np.array(end.place[:2])) @ way.T for end in self.body.ends]), -1, 0
        )
        near = bool((settled_all(np.abs(along), 3).min(axis=0) <= REACH_M).all())
        return near and bool((settled_all(off[0] * off[1], 3) < 0.0).all())

    def _off_m(self, carried: Carried) -> float:
        """How far along the line a wall that was carried square to it comes to it by its strike."""
        strike_deg = (self.body.strike_deg or 0.0) - self.carrier.turn
        apart_rad = math.radians(axial_difference(strike_deg, self.line.grid_azimuths_deg[carried.stretch]))
        return settled(abs(carried.offset_m) / max(SAME_M, math.tan(apart_rad)))

    @property
    def offset_m(self) -> float:
        """How far it was carried."""
        return min(abs(carried.offset_m) for _, carried in self.ends if carried is not None)

    def crosses_with(self, other: _OnLine) -> bool:
        """Whether both are one body that was met on both sides of the line."""
        sides = {
            carried.offset_m > 0.0 for one in (self, other) for _, carried in one.ends if carried is not None
        }
        return (
            len(sides) > 1
            and self.body.unit == other.body.unit
            and is_one_body(self.body, other.body, to_true_deg=self.carrier.turn)
        )

    def gap_m(self, other: _OnLine) -> float:
        """How far two lie apart on the section."""
        (low, high), (first, last) = self._extent(), other._extent()
        return max(0.0, first - high, low - last)

    def is_one_with(self, other: _OnLine, near_m: float) -> bool:
        """Whether both are one body on the section: they come to it at one place, or one plane goes through both."""
        return self.body.unit == other.body.unit and (
            self.gap_m(other) <= near_m or is_one_body(self.body, other.body, to_true_deg=self.carrier.turn)
        )

    def _extent(self) -> tuple[float, float]:
        found = [carried.distance_m for _, carried in self.ends if carried is not None]
        return min(found), max(found)

    def record(self) -> SectionBody:
        """As it lies on the section."""
        if self.runs_beside:
            # The line never comes out of it, and comes nearer to one wall the deeper it goes.
            return SectionBody(
                body=self.body,
                sides=(None, None),
                course_known=True,
                shallow=True,
                floor_m=self.plane.floor_m,
            )
        low, high = (self._facing(sense) for sense in (1.0, -1.0))
        if low is None and high is not None:
            low = self._across(high, -1.0)
        elif high is None and low is not None:
            high = self._across(low, 1.0)
        return SectionBody(
            body=self.body,
            sides=(low, high),
            course_known=bool(self.body.read_at) or self.along_beds,
            along_beds=self.along_beds,
            shallow=self.body.folded,
            floor_m=self.plane.floor_m,
            past_ends=self.body.through
            and any(carried is None and end.wall is not None for end, carried in self.ends),
        )

    def _facing(self, sense: float) -> BodySide | None:
        """The side from which the body lies with increasing distance, or against it; of two the one carried less far."""
        mine = [
            (end, carried)
            for end, carried in self.ends
            if carried is not None and self._ahead(end, carried) == sense
        ]
        if not mine:
            return None
        return self._side(*min(mine, key=lambda one: round(abs(one[1].offset_m), 3)))

    def _across(self, side: BodySide, sense: float) -> BodySide | None:
        """The other side of a body whose width is known, of which the wall was met past an end of the line; else None.

        Square to a wall the section shows the width over the cosine of the angle between the two.
        """
        body = self.body
        ends = [
            end for end, carried in self.ends if carried is None and end.wall is not None and not end.goes_on
        ]
        if not ends or not self._parallel or self.plane.level:
            return None
        if body.width_m is None or body.strike_deg is None or body.dip_deg is None:
            return None
        azimuth_deg = self.section.azimuths_deg[self.section.stretch_at(side.at[0])]
        leans = math.sin(math.radians(body.dip_deg)) * math.cos(math.radians(body.strike_deg - azimuth_deg))
        # How far along the ground beyond the end, which is level there, the other wall comes out.
        rise = abs(side.way[1])
        if rise < math.sin(math.radians(LEVEL_DEG)) or abs(leans) >= 1.0:
            return None
        end_m = self.plane.length_m if sense > 0.0 else 0.0
        over_m = self.plane.at(end_m) - side.at[1]
        wide_m = body.width_m / math.sqrt(1.0 - leans**2) / rise
        at_m = side.at[0] - over_m * side.way[0] / rise + sense * wide_m
        if (at_m - end_m) * sense <= SAME_M:
            return None
        return BodySide(at=(settled(at_m), self.plane.at(end_m)), way=side.way, wall=ends[0].wall)

    @property
    def _parallel(self) -> bool:
        """Whether both walls go down as their mean: what two readings of one plane differ by is their scatter."""
        return self.body.width_m is not None and walls_agree(self.body.walls)

    def _ahead(self, end: BodyEnd, carried: Carried) -> float:
        """1 where the body lies with increasing distance from an end, -1 where against it."""
        other = next(there for here, there in self.ends if here is not end)
        if self.body.through and other is not None and abs(other.distance_m - carried.distance_m) > SAME_M:
            return 1.0 if other.distance_m > carried.distance_m else -1.0
        azimuth = math.radians(self.line.grid_azimuths_deg[carried.stretch])
        way = np.array([math.sin(azimuth), math.cos(azimuth)])
        inward = np.array(end.inward)
        if self.body.strike_deg is not None:
            # A leg that crosses the wall askew goes in, but along the section it may go the other way.
            strike = math.radians(self.body.strike_deg - self.carrier.turn)
            square = np.array([math.cos(strike), -math.sin(strike)])
            inward = float((inward * square).sum()) * square
        return 1.0 if float((inward * way).sum()) >= 0.0 else -1.0

    def _side(self, end: BodyEnd, carried: Carried | None) -> BodySide | None:
        if carried is None or end.goes_on:
            return None
        way = self._way(end, carried)
        at = min(max(carried.distance_m, 0.0), self.plane.length_m), carried.up_m
        if at[1] is None or self.plane.level or way == _UPRIGHT:
            place = (at[0], self.plane.at(at[0]))
        else:
            place = meets_ground((at[0], at[1]), way, self.plane, reach_m=self.section.length_m / 4.0)
        x, y = float(place[0]), float(place[1])
        # Where it meets no ground within reach, the place is that over or under it, off its line.
        past_m = 0.0 if at[1] is None else abs((y - at[1]) * way[0] - (x - at[0]) * way[1])
        side = BodySide(at=(x, y), way=way, wall=end.wall)
        return replace(side, off_ground=side.gentle and not self.plane.level and past_m > _OFF_GROUND_M)

    def _way(self, end: BodyEnd, carried: Carried) -> tuple[float, float]:
        """Down its own wall where that was measured, else as the rest of the body goes.

        Of a body whose width is known both walls go down as their mean, where they agree: what two readings of one plane differ
        by is their scatter, and would make it a wedge.
        """
        wall = end.wall
        dip, strike = self.body.dip_deg, self.body.strike_deg
        if wall is not None and wall.dip_deg is not None and not self._parallel:
            dip, strike = wall.dip_deg, wall.strike_deg
        if dip is None:
            return _UPRIGHT
        apparent = math.radians(self.carrier.apparent(self.line, carried, dip, strike))
        sense = 1.0 if apparent >= 0.0 else -1.0
        # A vertical wall goes straight down, whatever the last bit of a cosine says.
        level = 0.0 if abs(abs(apparent) - math.pi / 2.0) < 1e-9 else sense * math.cos(apparent)
        return level, -abs(math.sin(apparent))


def _apart_m(ends: Sequence[tuple[BodyEnd, Carried | None]]) -> float:
    """How far along the line the second end lies beyond the first; 0 where not both come to it."""
    (_, first), (_, last) = ends
    return 0.0 if first is None or last is None else settled(last.distance_m - first.distance_m)


_WALLS_UNREAD = (
    "The walls of {units} were not measured: {are} drawn upright, no deeper than the ground was looked at."
)


def _told(made: Sequence[SectionBody]) -> tuple[str, ...]:
    """What bodies on a section rest on, where they were not read on both sides; the same said once of several."""
    rests: dict[str, list[str]] = {}
    for one in made:
        walls = [side.wall for side in one.sides if side is not None and side.wall is not None]
        form = _form(one, walls)
        if form is not None:
            where = " and ".join(dict.fromkeys(map(contact_words, walls)))
            units = rests.setdefault(form, [])
            unit = f"{one.body.unit} ({where})" if where else one.body.unit
            units += [] if unit in units else [unit]
    return tuple(
        form.format(
            units=listed(units),
            each=" each" if len(units) > 1 else "",
            are="they are" if len(units) > 1 else "it is",
        )
        # What nobody read at all comes first: the last is given up where there is little room.
        for form, units in sorted(rests.items(), key=lambda pair: pair[0] != _WALLS_UNREAD)
    )


def _beside(met: Sequence[_OnLine], made: Sequence[SectionBody]) -> tuple[str, ...]:
    """That bodies which strike along the line and lie off it are not drawn, where none of the unit is.

    Of one that was met on both sides of the line that it crosses it somewhere.
    """
    drawn = {one.body.unit for one in made}
    off = [one for one in met if one.runs_beside and one.body.unit not in drawn]
    crossing = {one.body.unit for one, other in combinations(off, 2) if one.crosses_with(other)}
    found = []
    for where, crosses in (
        (", beside it: not drawn.", False),
        (" and {were} met on both sides of it: not drawn, as nobody saw where {it}.", True),
    ):
        units = list(dict.fromkeys(one.body.unit for one in off if (one.body.unit in crossing) is crosses))
        if units:
            single = len(units) == 1
            words = where.format(
                were="was" if single else "were", it="it crosses" if single else "they cross"
            )
            found.append(f"{listed(units)} {'strikes' if single else 'strike'} along the line{words}")
    return tuple(found)


def _past_end(bodies: Sequence[Body], met: Sequence[_OnLine], line: LineOfSection) -> tuple[str, ...]:
    """That bodies of which nothing tells how they run were met by the end of the line, and past it: they may come to it or not."""
    on_line = {one.body.unit for one in met}
    ends = [(float(line.points[index][0]), float(line.points[index][1])) for index in (0, -1)]
    near = [
        one
        for one in bodies
        if one.unit not in on_line
        and one.strike_deg is None
        and all(wall.course_deg is None for wall in one.walls)
        and settled(min(math.dist(end.place[:2], at) for end in one.ends for at in ends))
        <= SIDE_BANDS * BAND_M
    ]
    units = list(dict.fromkeys(one.unit for one in near))
    if not units:
        return ()
    were, they = ("was", "it runs") if len(units) == 1 else ("were", "they run")
    return (f"{listed(units)} {were} met past an end of the line, and nothing tells how {they}: not drawn.",)


def _form(one: SectionBody, walls: Sequence[PlacedContact]) -> str | None:
    """The sentence of a body, with room for its unit; None where it was read on both sides."""
    body = one.body
    if not any(one.sides) or one.off_ground:
        return None
    if body.as_on is not None:
        on = str(body.as_on).replace("{", "{{").replace("}", "}}")
        return f"The walls of {{units}} were not measured: drawn with those on {on}, whose plane goes through both."
    if one.along_beds:
        return "The walls of {units} were not measured: drawn along the bed beside, as a sill lies."
    if not body.read_at:
        return _WALLS_UNREAD
    if one.shallow:
        return (
            "The walls of {units} lie each as the bed beside: drawn no deeper than the ground was looked at."
        )
    if any(wall.dip_deg is None for wall in walls) and any(wall.dip_deg is not None for wall in walls):
        return "One wall{each} of {units} was measured: the other is drawn with the same dip."
    return None
