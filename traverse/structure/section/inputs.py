"""What a section gives to be constructed from: its readings, its contacts where they come out, its faults."""

from __future__ import annotations

import bisect
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from itertools import chain, groupby, pairwise, takewhile
from typing import Protocol

import numpy as np

from traverse.angle import axial_difference
from traverse.length import Lengths
from traverse.log.records import Projection
from traverse.record import record
from traverse.settled import SAME_DEG, SAME_M, least, part_at, settled
from traverse.source import Span
from traverse.structure.form.fault_sides import FaultSides
from traverse.structure.readings.directions import apparent_dip, normal_on
from traverse.structure.readings.place_errors import contact_pole, place_covariance, place_vector
from traverse.structure.readings.records import PlacedContact
from traverse.structure.section.dip_domains import Point, SectionReading, direction, wrap
from traverse.structure.section.drawing_plane import Plane, cut_by, meets_ground
from traverse.structure.section.records import PointKind, Section, SectionLimit, SectionPoint
from traverse.trade import (
    ALONG_STRIKE_DEG,
    DOMAIN_DEG,
    FAR_SHARE,
    ONE_LINE_M,
    ONE_LINE_SAID_SHARE,
    ONE_LINE_SHARE,
    SURE_SD,
)
from traverse.wording import listed, section_name

_UPRIGHT: Point = (0.0, -1.0)
_FLAT = 1e-6
"""A fault that falls less than this for each metre has no place at other heights."""
_OFF_M = 1.0
"""A line that passes the ground by more than this does not come out there."""
_PAST = 3
"""A place of a contact that lies along the strike of another is looked for so many places further along a section."""


@record(frozen=True, slots=True, kw_only=True)
class Seen(SectionReading):
    """A bed with its plane, so that it may be seen on another stretch of the section."""

    dip_deg: float
    dip_direction_deg: float
    """True."""
    overturned: bool
    stretch: int
    """That it was carried to."""
    sided: bool = True
    """Whether it is known to which side it dips: as steep as upright within its error, by its tops alone."""
    block: int = 0
    """Between which faults it was read."""


def _first_alike(readings: Sequence[Seen]) -> int:
    """How many of the first readings lie as the very first does, at least one."""
    if not readings:
        return 1
    first = readings[0].younging_rad
    alike = takewhile(lambda one: abs(wrap(one.younging_rad - first)) < math.radians(DOMAIN_DEG), readings)
    return sum(1 for _ in alike)


class Start:
    """A contact where it comes out, from one reading of it or more."""

    def __init__(self, *, points: list[SectionPoint], at: Point, ahead: int, block: int) -> None:
        self.points = points
        self.at = at
        self.ahead = ahead
        """1 where the younger unit lies with increasing distance, -1 where against it, 0 unknown."""
        self.block = block

    @property
    def contact(self) -> PlacedContact:
        """The first of its contacts."""
        found = self.points[0].contact
        assert found is not None
        return found

    @property
    def pair(self) -> tuple[str | None, str | None]:
        """Younger and older unit."""
        return self.contact.younger, self.contact.older


class ComesOutOfBeds(Protocol):
    """Where a contact, followed through its beds from where it was carried to, comes out of the ground; None where it does nowhere near."""

    def __call__(self, start: Start, place: Point, *, past_fault: bool) -> Point | None:
        """`past_fault` of one that was carried past the fault at which its block ends."""


class FaultLine:
    """A fault as one line, from every place where it was met."""

    def __init__(
        self, *, points: list[SectionPoint], at: Point, way: Point, measured: bool, by_map: bool = False
    ) -> None:
        self.points = points
        self.by_map = by_map
        """Whether it comes out where the map has it between two of its places: what was met before it there, is before it."""
        self.at = at
        self.way = way
        """Down it."""
        self.measured = measured

    def distance_at(self, up_m: float) -> float:
        """Where it lies at a height; of a flat fault where it comes out."""
        level, fall = self.way
        return self.at[0] + (up_m - self.at[1]) * level / fall if abs(fall) > _FLAT else self.at[0]


class SectionInput:
    """Readings, contacts and faults of one section, on its plane."""

    def __init__(
        self,
        *,
        section: Section,
        plane: Plane,
        caps: frozenset[str],
        cover: frozenset[str],
        above: Mapping[str, Sequence[str]],
        ahead: Callable[[SectionPoint], int],
        sides: FaultSides,
        turn_deg: float,
        lengths: Lengths,
    ) -> None:
        self.turn_deg = turn_deg
        """From grid to true north."""
        self.section, self.plane = section, plane
        self.above = above
        """By the unit on an unconformity, the pile that lies on it from the lowest up."""
        self.cover = cover
        """Units that lie flat on the worn edges of the others."""
        self.flat = caps | cover
        """Those and loose ground: no part of what was folded."""
        self.ahead = ahead
        self.sides = sides
        self.lengths = lengths
        self.azimuths = section.azimuths_deg
        self.near = max(ONE_LINE_M, ONE_LINE_SHARE * section.length_m)
        self.left_off: list[SectionPoint] = []
        """Places of faults that nothing tells the place of on the section: they end nothing there."""
        self.faults = self._faults()
        self.open_faults = self._open_faults()
        """Places of faults that are not drawn, and may come to the section: they end nothing there, and nothing is joined over them."""
        self.edges = [fault.at[0] for fault in self.faults]
        self.beds: dict[int, list[SectionPoint]] = {}
        for point in sorted(section.points, key=lambda one: one.distance_m):
            if point.tells_bedding:
                self.beds.setdefault(self._block_met(point), []).append(point)
        self.flat_beds = [
            point
            for point in section.points
            if point.tells_bedding and point.attitude is not None and point.attitude.unit in cover
        ]
        self.far: list[Seen] = []
        """Carried too far to take part, where anything nearer tells how beds lie."""
        self.readings = self._readings()
        self.by_block: dict[int, list[Seen]] = {}
        for reading in self.readings:
            self.by_block.setdefault(reading.block, []).append(reading)
        self.loose: list[SectionPoint] = []
        self.single = self._starts()
        """Contacts by distance, each as it was carried."""
        self.said: list[str]
        """What is to be said of how they were joined."""
        self.starts = self._joined(self.single)
        """The same, those that are one line joined."""

    # --- what goes in

    def _readings(self) -> list[Seen]:
        """Beds and measured contacts by distance; those of a cap and those carried too far left out."""
        kept: list[Seen] = []
        beds_behind = (one for one in self.section.behind if one.attitude is not None)
        for point in (*self.section.points, *beds_behind):
            dip = point.apparent_dip_deg
            if dip is None:
                continue
            bed, contact = point.attitude, point.contact
            if bed is not None and point.tells_bedding and bed.unit not in self.flat:
                over, plane = bed.lies_over, (bed.dip_deg, bed.dip_direction_deg)
                sided = bed.upside_down is not None or bed.dip_deg < 90.0 - SURE_SD * bed.sd_deg
            elif (
                point.kind is PointKind.CONTACT
                and contact is not None
                and contact.surface is not None
                and contact.younger not in self.flat
            ):
                # Where a contact's own plane says nothing of way-up, the bed nearest to it does.
                over = self._over_at(point, contact)
                lies = contact.surface
                plane = lies.dip_deg, 0.0 if lies.strike_deg is None else lies.strike_deg + 90.0
                sided = lies.dip_deg < 90.0 - SURE_SD * lies.sd_deg
            else:
                continue
            far = abs(point.carried_m) > FAR_SHARE * self.section.length_m
            (self.far if far else kept).append(
                Seen(
                    at=self.place(point),
                    younging_rad=_younging(dip, overturned=over),
                    normal=normal_on(*plane, azimuth_deg=self.azimuths[point.stretch]),
                    dip_deg=plane[0],
                    dip_direction_deg=plane[1],
                    overturned=over,
                    stretch=point.stretch,
                    sided=sided,
                    block=self._block_met(point),
                )
            )
        self.far.sort(key=lambda reading: reading.at[0])
        return self._standing(sorted(kept, key=lambda reading: reading.at[0]))

    def _standing(self, readings: list[Seen]) -> list[Seen]:
        """The readings; beds as steep as upright, that dip to no side, young as those before and after them do.

        Else two of one panel, read at 87° to either side, would be two limbs. Where no bed has a side, toward the younger
        units, or as the first was read.
        """
        sided = [index for index, one in enumerate(readings) if one.sided]
        if len(sided) == len(readings):
            return readings
        way = sum(map(self.ahead, (one for one in self.section.points if one.kind is PointKind.CONTACT)))
        found = list(readings)
        for index, one in enumerate(readings):
            if one.sided:
                continue
            near = least(sided, key=lambda other, index=index: abs(other - index))  # type: ignore[misc]
            if near is not None:
                toward = readings[near].younging_rad
            else:
                toward = math.copysign(math.pi / 2.0, way) if way else readings[0].younging_rad
            if abs(wrap(one.younging_rad - toward)) > math.pi / 2.0:
                turned = wrap(one.younging_rad + math.pi)
                found[index] = replace(one, younging_rad=turned, overturned=not one.overturned)
        alike: list[Seen] = []
        for sides, run in groupby(found, key=lambda one: one.sided):
            panel = list(run)
            if not sides:
                # All are upright within their errors: what they differ by is no bend.
                first = panel[0].younging_rad
                mean = wrap(first + math.fsum(wrap(one.younging_rad - first) for one in panel) / len(panel))
                panel = [replace(one, younging_rad=settled(mean)) for one in panel]
            alike += panel
        return alike

    def _over_at(self, point: SectionPoint, contact: PlacedContact) -> bool:
        """Whether beds lie overturned at a contact: as was said of its own plane, else as the nearest bed does."""
        read = contact.booked.plane
        if read is not None and (read.overturned or read.upright):
            return read.overturned
        return self._over_near(point)

    def _over_near(self, point: SectionPoint) -> bool:
        """Whether the bed nearest to a contact, no fault between, is overturned."""
        beds = self.beds.get(self._block_met(point), [])
        place = bisect.bisect_left(beds, point.distance_m, key=lambda one: one.distance_m)
        near = least(
            beds[max(0, place - 1) : place + 1], key=lambda one: abs(one.distance_m - point.distance_m)
        )
        return near is not None and near.attitude is not None and near.attitude.lies_over

    def place(self, point: SectionPoint) -> Point:
        """Where something was carried to; on the ground where it has no height, or was followed over the ground."""
        if point.up_m is None or point.beside or self.plane.level:
            return (point.distance_m, self.plane.at(point.distance_m))
        return (point.distance_m, point.up_m)

    def _block(self, at: Point) -> int:
        """Between which faults a place lies, at its height; at a fault, before it."""
        return sum(part_at([fault.distance_at(at[1])], at[0]) for fault in self.faults)

    def _block_met(self, point: SectionPoint) -> int:
        """Between which faults something was met: by where it was carried to.

        Carried down a plunge, by the map: it comes out at another height there than the fault that was met beside it.
        """
        at = self.place(point)
        return sum(self._beyond(fault, point, at) for fault in self.faults)

    def _beyond(self, fault: FaultLine, point: SectionPoint, at: Point) -> bool:
        met = (point.contact or point.attitude) if self.section.projection is Projection.PLUNGE else None
        spans = [one.contact.booked.span for one in fault.points if one.contact is not None]
        start, end = (
            (float(east), float(north)) for east, north in (self.section.line[0], self.section.line[-1])
        )
        if met is not None and spans and self.sides.may_part(spans[0], start, end):
            place = (met.place.east_m, met.place.north_m)
            off_m = min(
                math.dist(place, (one.contact.place.east_m, one.contact.place.north_m))
                for one in fault.points
                if one.contact is not None
            )
            if off_m > SAME_M:
                return self.sides.may_part(spans[0], start, place)
        edge_m = fault.at[0] if fault.by_map else fault.distance_at(at[1])
        return part_at([edge_m], at[0]) == 1

    def end_m(self, block: int, up_m: float, sense: float) -> float:
        """Where a block ends at a height, with increasing distance or against it: at a fault, else at the section's end."""
        index = block if sense > 0.0 else block - 1
        if 0 <= index < len(self.faults):
            return self.faults[index].distance_at(up_m)
        return self.plane.length_m if sense > 0.0 else 0.0

    def _faults(self) -> list[FaultLine]:
        """Faults by distance; places within reach of each other, or on one plane, are one, with the dip read at any of them."""
        groups: list[list[SectionPoint]] = []
        for point in sorted(
            (one for one in self.section.points if one.kind is PointKind.FAULT),
            key=lambda one: one.distance_m,
        ):
            mine = [one for one in groups if any(self._one_fault(other, point) for other in one)]
            groups = [one for one in groups if one not in mine]
            groups.append([*chain.from_iterable(mine), point])
        found = []
        for group in groups:
            dips = [point for point in group if point.apparent_dip_deg is not None]
            way = _down(_mean_dip_rad(dips)) if dips else _UPRIGHT
            across_m = self._across_line(group)
            if any(self.along_deg(point) is None or self._lies_there(point) for point in group):
                at = self._outcrop(group, way)
            elif across_m is not None:
                at = across_m, self.plane.at(across_m)
            else:
                self.left_off += group
                continue
            by_map = across_m is not None
            found.append(FaultLine(points=group, at=at, way=way, measured=bool(dips), by_map=by_map))
        return sorted(found, key=lambda fault: fault.at[0])

    def along_deg(self, point: SectionPoint) -> float | None:
        """The angle at which a fault strikes from the section, where that is too small to carry it there by its strike."""
        lies = None if point.contact is None else point.contact.surface
        if lies is None or lies.strike_deg is None:
            return None
        apart_deg = settled(axial_difference(lies.strike_deg, self.azimuths[point.stretch]))
        return apart_deg if apart_deg < ALONG_STRIKE_DEG - SAME_DEG else None

    def _lies_there(self, point: SectionPoint) -> bool:
        """Whether a fault along the section was met so near to it that it comes out about where it was carried to.

        One whose strike may as well be the section's own crosses it anywhere, or nowhere.
        """
        apart_deg, lies = self.along_deg(point), None if point.contact is None else point.contact.surface
        if apart_deg is None or lies is None:
            return True
        if apart_deg <= lies.sd_deg / max(0.02, math.sin(math.radians(lies.dip_deg))):
            return False
        return point.beside or abs(point.carried_m) <= math.tan(math.radians(apart_deg)) * self.near

    def _across_line(self, group: Sequence[SectionPoint]) -> float | None:
        """Where a fault that runs along the section comes to it, as its places on both sides of the line tell."""
        line = np.array(self.section.line)
        found = [
            None if point.contact is None else self.sides.on_section(line, point.contact) for point in group
        ]
        return found[0] if found[0] is not None and len(set(found)) == 1 else None

    def parted(self, one: Start, other: Start) -> bool:
        """Whether a fault that is not drawn may run between the places of two contacts."""
        at, beyond = (
            [
                (point.contact.place.east_m, point.contact.place.north_m)
                for point in start.points
                if point.contact is not None
            ]
            for start in (one, other)
        )
        return any(
            all(self.sides.may_part(fault, place, its) for place in at for its in beyond)
            for fault in self.open_faults
        )

    def _open_faults(self) -> list[Span]:
        line = np.array(self.section.line)
        drawn = {point.span for fault in self.faults for point in fault.points}
        left = [point.span for point in self.left_off]
        of_drawn = {self.sides.line_of.get(span) for span in (*drawn, *left)}
        rest = {number: span for span, number in self.sides.line_of.items() if number not in of_drawn}
        return [*left, *(span for span in rest.values() if self.sides.may_cross(line, span))]

    def _one_fault(self, one: SectionPoint, other: SectionPoint) -> bool:
        """Whether two places are one fault: near each other, or between the same units with both on the plane that was read.

        The plane may pass either place by three standard errors of the places and of itself.
        """
        if abs(other.distance_m - one.distance_m) <= self.near:
            return True
        met = [point.contact for point in (one, other) if point.contact is not None]
        if len(met) == 2 and met[0].of_fault is not None and met[0].of_fault == met[1].of_fault:
            return True
        if len(met) < 2 or met[0].younger is None or len({(each.younger, each.older) for each in met}) > 1:
            return False
        apart = place_vector(met[1].place) - place_vector(met[0].place)
        turn_deg = self.section.azimuth_deg - self.section.grid_azimuth_deg
        planes = [each for each in met if each.dip_deg is not None and each.strike_deg is not None]
        for each in planes:
            read = contact_pole(each, to_true_deg=turn_deg)
            if read is None:
                continue
            square, sd_deg = read
            places_m2 = sum(float(square @ place_covariance(place) @ square) for place in met)
            aim_m = float(np.linalg.norm(apart)) * math.radians(sd_deg)
            if abs(float(square @ apart)) > SURE_SD * math.hypot(math.sqrt(max(0.0, places_m2)), aim_m):
                return False
        return bool(planes)

    def _outcrop(self, points: Sequence[SectionPoint], way: Point) -> Point:
        """Where a line through carried places meets the ground; nearer ones count for more."""
        reach_m = self.section.length_m / 4.0
        places = [meets_ground(self.place(point), way, self.plane, reach_m=reach_m) for point in points]
        weights = _by_nearness(points)
        # What lies a step beyond an end still belongs to the section.
        middle = settled(float(np.average([place[0] for place in places], weights=weights)))
        distance = min(max(middle, 0.0), self.plane.length_m)
        return (distance, self.plane.at(distance))

    def _starts(self) -> list[Start]:
        """Bedrock contacts and unconformities by distance."""
        single: list[Start] = []
        for point in self.section.points:
            contact = point.contact
            if contact is None or point.kind is PointKind.FAULT:
                continue
            if self.section.over and contact.younger in self.cover:
                # It lies on its plane, wherever it was met.
                continue
            loose = contact.younger in self.flat - self.cover
            if loose and (point.kind is PointKind.CONTACT or contact.dip_deg is None):
                # Loose ground has a base of unknown depth, whatever it lies on, unless that was measured.
                self.loose.append(point)
                continue
            block = self._block_met(point)
            way = self.way_at(point, block)
            at = self._outcrop([point], way)
            if (
                self._block(at) != block
                or self._under_cover(point, at[0])
                or self._comes_out_nowhere(point, way, at)
            ):
                # On this side of the fault, or under what covers it: it starts where it was carried to.
                at = self._within_ends(self.place(point))
            single.append(Start(points=[point], at=at, ahead=self.ahead(point), block=block))
        single += [
            start
            for point in self.section.behind
            if point.contact is not None and (start := self._out_of_fault(point)) is not None
        ]
        return sorted(single, key=lambda start: start.at[0])

    def _out_of_fault(self, point: SectionPoint) -> Start | None:
        """A contact that comes to the section past the fault at which its block ends, from where it leaves that by its dip.

        None where it leads away from the fault, or leaves it below what is drawn.
        """
        fault = least(
            self.faults, key=lambda one: abs(one.distance_at(self.place(point)[1]) - point.distance_m)
        )
        if fault is None or point.up_m is None:
            return None
        at = self.place(point)
        index = next(place for place, one in enumerate(self.faults) if one is fault)
        block = index + (1 if at[0] < fault.distance_at(at[1]) else 0)
        way = self.way_at(point, block)
        # Down to the foot of the drawing, or so far up as it reaches.
        reach_m = self.plane.reach_m
        ahead = (at[0] + reach_m * way[0], at[1] + reach_m * way[1])
        run, met = cut_by([at, ahead], fault.at, fault.way)
        if not met:
            return None
        past = run + 0.1
        out = (at[0] + past * way[0], at[1] + past * way[1])
        if self._block(out) != block or not self.plane.holds(out) or out[1] > self.plane.at(out[0]):
            return None
        return Start(points=[point], at=out, ahead=self.ahead(point), block=block)

    def seat(self, comes_out: ComesOutOfBeds) -> None:
        """Move contacts that were carried off the ground to where their beds, followed from there, come out.

        One that comes out nowhere stays where it was carried to: the section shows it above the ground, or under it. Past its
        fault it is not on the section at all.
        """
        lost: list[Start] = []
        for start in self.single:
            point = start.points[0]
            place = self.place(point)
            if point.kind is not PointKind.CONTACT or self.covers(point) or self.on_ground(place):
                continue
            if self._block(place) != start.block:
                # Carried past its fault: it is known where its own dip brings it out on this side of that alone, and only
                # where no fold lies between.
                out = comes_out(start, place, past_fault=True)
                beside = out is not None and math.dist(out, start.at) <= self.near
                if start.points[0].apparent_dip_deg is None and self.on_ground(start.at) and not beside:
                    lost.append(start)
                continue
            at = comes_out(start, place, past_fault=False)
            if at is None or self._block(at) != start.block or self._under_cover(point, at[0]):
                at = place
            start.at = self._within_ends(at)
        self.single = [start for start in self.single if all(start is not one for one in lost)]
        self.single.sort(key=lambda start: start.at[0])
        self.starts = self._joined(self.single)

    def _within_ends(self, at: Point) -> Point:
        """A place a step beyond an end at that end."""
        return (min(max(at[0], 0.0), self.plane.length_m), at[1])

    def on_ground(self, at: Point) -> bool:
        """Whether a place lies on the ground."""
        return abs(at[1] - self.plane.at(at[0])) <= SAME_M

    def way_at(self, point: SectionPoint, block: int) -> Point:
        """Direction of a contact where it was met: its own plane's, else that of the nearest bed, else upright."""
        dip = point.apparent_dip_deg
        if dip is not None:
            return _down(math.radians(dip))
        if point.kind is PointKind.UNCONFORMITY or self.covers(point):
            # What covers lies as its own beds do, an unconformity as those on it.
            near = self.flat_beds if self.covers(point) else self._beds_on(point) or self.flat_beds
            own = least(near, key=lambda one: abs(one.distance_m - point.distance_m))
            dip = None if own is None else own.apparent_dip_deg
            if own is None or own.attitude is None or dip is None:
                return (1.0, 0.0)
            return _along(_younging(dip, overturned=own.attitude.lies_over))
        bed = self._nearest(point.distance_m, block)
        return _UPRIGHT if bed is None else _along(bed.younging_rad)

    def turned_by_asked(self, start: Start) -> bool:
        """Whether a contact would lie upside down by the beds that count, which no reading says, as a nearer one is asked about.

        By that it lies upright. Where the bed counts after all, the contact goes down the other way: its course is not known.
        """
        point = start.points[0]
        if point.kind is not PointKind.CONTACT or not start.ahead or point.apparent_dip_deg is not None:
            return False
        at_m = self.place(point)[0]
        rise = self.plane.rise_at(at_m)

        def upright(younging_rad: float) -> bool:
            level, up = math.sin(younging_rad), math.cos(younging_rad)
            return settled(start.ahead * (level + rise * up)) > 0.0

        def off_m(bed: SectionPoint) -> float:
            return settled(abs(bed.distance_m - at_m), 3)

        asked = [
            one
            for one in self.section.points
            if one.is_bed and not one.counts and self._block_met(one) == start.block
        ]
        doubted = least(asked, key=off_m)
        if doubted is None or doubted.attitude is None or doubted.apparent_dip_deg is None:
            return False
        bed = self._nearest(at_m, start.block)
        if (
            bed is None
            or not isinstance(bed, Seen)
            or bed.overturned
            or abs(bed.at[0] - at_m) <= off_m(doubted)
        ):
            return False
        as_read = _younging(doubted.apparent_dip_deg, overturned=doubted.attitude.lies_over)
        return upright(as_read) and not upright(bed.younging_rad)

    def _beds_on(self, point: SectionPoint) -> list[SectionPoint]:
        """Beds of the lowest unit of the pile on an unconformity that any was read in."""
        younger = None if point.contact is None else point.contact.younger
        for unit in self.above.get(younger or "", ()):
            beds = [
                one
                for one in self.section.points
                if one.tells_bedding and one.attitude is not None and one.attitude.unit == unit
            ]
            if beds:
                return beds
        return []

    def lies_over(self, contact: PlacedContact, unit: str) -> bool:
        """Whether a unit lies over an unconformity, or over a contact of the cover."""
        return unit in self.flat or unit in self.above.get(contact.younger or "", ())

    def open_m(self, start: Start) -> float:
        """How far along the section a contact may come out from where it is drawn: each of its places, to three errors."""
        found = [0.0]
        for point in start.points:
            out = self._outcrop([point], self.way_at(point, start.block))
            found.append(abs(out[0] - start.at[0]) + SURE_SD * (point.sd_m or 0.0))
        return settled(max(found))

    def _under_cover(self, point: SectionPoint, distance_m: float) -> bool:
        """Whether a contact of what was worn off would come out on what lies over it."""
        if point.kind is not PointKind.CONTACT or self.covers(point) or not self.cover:
            return False
        near = least(self.section.profile, key=lambda one: abs(one.distance_m - distance_m))
        return near is not None and near.unit in self.cover

    def _comes_out_nowhere(self, point: SectionPoint, way: Point, at: Point) -> bool:
        """Whether what covers, which lies flat, was carried past all ground: over it, or under it."""
        if point.kind is not PointKind.UNCONFORMITY and not self.covers(point):
            return False
        place = self.place(point)
        return abs((at[0] - place[0]) * way[1] - (at[1] - place[1]) * way[0]) > _OFF_M

    def covers(self, point: SectionPoint) -> bool:
        """Whether a contact lies within the cover."""
        contact = point.contact
        return contact is not None and {contact.younger, contact.older} <= self.cover

    def tells(self, point: SectionPoint) -> bool:
        """Whether anything tells how a contact or fault goes on into the ground."""
        own = point.apparent_dip_deg is not None or point.kind is not PointKind.CONTACT
        return own or bool(self.readings or self.far)

    def _nearest(self, distance_m: float, block: int) -> SectionReading | None:
        """The reading nearest along the section, of the same block where it has any, as it is seen there."""
        mine = self.by_block.get(block) or self.readings or self.far
        place = bisect.bisect_left(mine, distance_m, key=lambda one: one.at[0])
        near = mine[max(0, place - 1) : place + 1]
        best = least(near, key=lambda one: abs(one.at[0] - distance_m))
        return None if best is None else self._as_seen(best, self.section.stretch_at(distance_m))

    def _as_seen(self, one: Seen, stretch: int, *, at: Point | None = None) -> Seen:
        """A reading by its apparent dip on a stretch."""
        if stretch == one.stretch:
            return replace(one, at=at or one.at, stretch=stretch)
        dip = apparent_dip(
            one.dip_deg, dip_direction_deg=one.dip_direction_deg, azimuth_deg=self.azimuths[stretch]
        )
        return replace(
            one,
            at=at or one.at,
            younging_rad=_younging(dip, overturned=one.overturned),
            normal=normal_on(one.dip_deg, one.dip_direction_deg, azimuth_deg=self.azimuths[stretch]),
            stretch=stretch,
        )

    def _joined(self, single: list[Start]) -> list[Start]:
        """One contact met from both arms of a loop, on the same side both times, is one line.

        So is one that the section itself meets, and that comes to it again within three errors with nothing met between.

        Those nearest to each other are joined first, so that the lines are the same from whichever end the section is drawn.
        """
        self.said = []
        by_key: dict[tuple[object, ...], list[_OneLine]] = {}
        for start in single:
            line = _OneLine(starts=(start,), at=start.at, ahead=start.ahead)
            kind = start.points[0].kind
            # An unconformity cuts more than one unit, and is one surface.
            pair = start.pair[:1] if kind is PointKind.UNCONFORMITY else start.pair
            by_key.setdefault((kind, pair, start.block), []).append(line)
        found = [
            # What was carried stays as it is.
            Start(points=_surest_first(one.starts), at=one.at, ahead=one.ahead, block=one.starts[0].block)
            for lines in by_key.values()
            for one in self._nearest_first(lines)
        ]
        return sorted(found, key=lambda start: start.at[0])

    def _nearest_first(self, lines: list[_OneLine]) -> list[_OneLine]:
        """Lines of one contact by distance, those that are one line made one, the two nearest to each other first."""
        reach_m = max(self.near, ONE_LINE_SAID_SHARE * self.section.length_m)
        nearest = [self._next_of(lines, index, reach_m) for index in range(len(lines))]
        while True:
            best = min((one for one in nearest if one is not None), default=None)
            if best is None:
                return lines
            apart_m, index, other = best
            one, its = lines[index], lines[other]
            if apart_m > self.near:
                younger, older = one.starts[0].pair
                met = f"{younger}/{older} comes to the section twice"
                if its.starts[0].pair != one.starts[0].pair:
                    met = f"{younger}/{older} and {younger}/{its.starts[0].pair[1]} come to the section"
                where = "where it was seen on it" if _met_on(one, its) else "between"
                self.said.append(f"{met}, {self.lengths.said(apart_m)} apart: taken for one line {where}.")
            del lines[other], lines[index], nearest[other]
            starts = (*one.starts, *its.starts)
            made = _OneLine(starts=starts, at=self._one_at(starts), ahead=_ahead(starts))
            place = bisect.bisect_right(lines, made.at[0], hi=index, key=lambda line: line.at[0])
            if place == index:
                place = bisect.bisect_left(lines, made.at[0], lo=index, key=lambda line: line.at[0])
            lines.insert(place, made)
            # Those before it may have it, or another, for a neighbour now.
            for changed in range(max(0, min(place, index) - _PAST), len(lines)):
                before = nearest[changed]
                if changed <= max(place, other):
                    nearest[changed] = self._next_of(lines, changed, reach_m)
                elif before is not None:
                    nearest[changed] = (before[0], changed, before[2] - 1)

    def _next_of(
        self, lines: Sequence[_OneLine], index: int, reach_m: float
    ) -> tuple[float, int, int] | None:
        """How far on the nearest line is that may be one with another, with the numbers of both; None where there is none."""
        found = []
        for other in range(index + 1, min(index + 1 + _PAST, len(lines))):
            apart_m = self._apart_m(lines[index], lines[other], reach_m, following=other == index + 1)
            if apart_m is not None:
                found.append((apart_m, index, other))
        return min(found, default=None)

    def _apart_m(self, one: _OneLine, other: _OneLine, reach_m: float, *, following: bool) -> float | None:
        """How far apart two places of a contact come to the section that may be one line; None of two that are not."""
        if not self._alike(one, other) or not (following or self._along_strike(one, other)):
            return None
        apart_m = settled(other.at[0] - one.at[0], 3)
        return apart_m if apart_m <= reach_m or apart_m <= self._open_m(one, other) else None

    def _alike(self, one: _OneLine, other: _OneLine) -> bool:
        """Whether two places of a contact have its younger unit on the same side, so that both may be one line.

        One that does not tell is one with a line so near that it is the same.
        """
        if one.ahead and other.ahead:
            return one.ahead == other.ahead
        return settled(abs(other.at[0] - one.at[0]) - self.near) <= 0.0

    def _open_m(self, one: _OneLine, other: _OneLine) -> float:
        """How far apart two places of a contact may come to the section that are one, one of them met on it, by their errors."""
        low, high = sorted((one.at[0], other.at[0]))
        if not _met_on(one, other) or any(low < start.at[0] < high for start in self.single):
            return 0.0
        sd_m = [
            max(point.sd_m or 0.0 for start in line.starts for point in start.points) for line in (one, other)
        ]
        return SURE_SD * math.hypot(*sd_m)

    def _along_strike(self, one: _OneLine, other: _OneLine) -> bool:
        """Whether two places of a contact lie farther apart along it than across, so that what was met between is its other limb."""
        first, second = (line.starts[0].contact for line in (one, other))
        if first.course_deg is None:
            return False
        strike_rad = math.radians(first.course_deg - self.turn_deg)
        east, north = second.place.east_m - first.place.east_m, second.place.north_m - first.place.north_m
        along_m = east * math.sin(strike_rad) + north * math.cos(strike_rad)
        across_m = east * math.cos(strike_rad) - north * math.sin(strike_rad)
        return settled(abs(along_m) - abs(across_m)) > 0.0

    def _one_at(self, group: Sequence[Start]) -> Point:
        """Where one line of several comes out: where the line of section itself meets it if it does, else nearer places count for more."""
        told = [start for start in group if start.points[0].beside]
        told = told or [start for start in group if self.on_ground(start.at)] or list(group)
        if len(told) == 1:
            return told[0].at
        weights = _by_nearness([start.points[0] for start in told])
        distance, up = (
            settled(float(np.average([start.at[axis] for start in told], weights=weights))) for axis in (0, 1)
        )
        # Off the ground it is one line at the height between.
        return (distance, self.plane.at(distance) if self.on_ground(told[0].at) else up)

    def of_block(self, block: int) -> list[Seen]:
        """Readings between two faults; where there are contacts and no bed, the nearest of all."""
        mine = self.by_block.get(block, [])
        if mine or not self.readings or not any(start.block == block for start in self.starts):
            return mine
        low = self.edges[block - 1] if block else 0.0
        high = self.edges[block] if block < len(self.edges) else self.section.length_m
        middle = (low + high) / 2.0
        near = least(self.readings, key=lambda one: abs(one.at[0] - middle))
        assert near is not None
        at = (middle, self.plane.at(middle))
        return [self._as_seen(near, self.section.stretch_at(middle), at=at)]

    def stretches(self, block: int) -> list[tuple[float, float, list[SectionReading]]]:
        """Readings between two faults by the bends there: where each stretch begins and ends, and what is known on it.

        The plane nearest to a bend stands on both sides of it, with its own apparent dip on each.
        """
        mine = self.of_block(block)
        if not mine:
            return []
        low = self.edges[block - 1] if block else -math.inf
        high = self.edges[block] if block < len(self.edges) else math.inf
        # A bend at a fault lies on neither side of it.
        bends = [bend for bend in self.section.bends_m if low + SAME_M < bend < high - SAME_M]
        first = sum(bend <= low + SAME_M for bend in self.section.bends_m)
        if not bends:
            return [(-math.inf, math.inf, [self._as_seen(one, first) for one in mine])]
        last = first + len(bends)
        mine = [self._as_seen(one, min(max(one.stretch, first), last)) for one in mine]
        ends = [-math.inf, *bends, math.inf]
        found: list[tuple[float, float, list[SectionReading]]] = []
        for stretch, (start, end) in enumerate(pairwise(ends), start=first):
            here: list[SectionReading] = [one for one in mine if one.stretch == stretch]
            for bend in (start, end):
                if not math.isfinite(bend):
                    continue
                near = least(mine, key=lambda one: abs(one.at[0] - bend))
                assert near is not None
                if near.stretch != stretch:
                    # It keeps its place: half-way to the next reading is where it was.
                    beyond = [
                        one
                        for one in mine
                        if (one.stretch < stretch if bend == start else one.stretch > stretch)
                    ]
                    shown = replace(
                        self._as_seen(near, stretch),
                        stands_for=_first_alike(beyond[::-1] if bend == start else beyond),
                    )
                    here = [shown, *here] if bend == start else [*here, shown]
            found.append((start, end, here))
        return found

    def faults_assumed(self) -> list[SectionLimit]:
        """Of faults: which stand upright because no dip was measured, and which run too near to the section to be on it."""
        name = f"section {section_name(self.section.name)}"
        found = []
        assumed = [fault.points[0].where for fault in self.faults if not fault.measured]
        if assumed:
            one = len(assumed) == 1
            words = f"no dip of the fault{'' if one else 's'} {listed(assumed)} was measured, so {name} assumes {'it' if one else 'them'} upright"
            found.append(
                SectionLimit(
                    code="section-fault-upright", fact=words, remedy="read it on the plane", grave=False
                )
            )
        # Of a fault met at several places it is said of the nearest.
        nearest = (least(fault.points, key=lambda one: abs(one.carried_m)) for fault in self.faults)
        drawn = [(point, "its dip there is little sure", "") for point in nearest if point is not None]
        left_off = [
            (
                point,
                "its place and dip there are not told, and it is left off",
                f"fault {point.where} left off",
            )
            for point in self.left_off
        ]
        for point, words, brief in drawn + left_off:
            apart_deg = self.along_deg(point)
            if apart_deg is None:
                continue
            found.append(
                SectionLimit(
                    code="section-fault-along",
                    fact=f"the fault {point.where} strikes {apart_deg:.0f}° from {name}, so {words}",
                    remedy="lay one across it",
                    grave=False,
                    brief=brief,
                )
            )
        return found

    def limits(self) -> list[str]:
        """What the construction rests on too thinly, before any line is drawn."""
        said = []
        if self.readings and any(
            block not in self.by_block and self._has_start(block) for block in range(len(self.edges) + 1)
        ):
            said.append(
                "Between two faults no bed was measured: contacts there take the dip of the nearest bed."
            )
        bare = [
            point for one in self.starts if len(one.points) == 1 for point in one.points if self._level(point)
        ]
        if bare:
            names = list(dict.fromkeys(point.label for point in bare))
            one = len(names) == 1
            said.append(
                f"No bed on the unconformit{'y' if one else 'ies'} {listed(names)} was read: "
                f"{'it is' if one else 'they are'} drawn level."
            )
        return said

    def _level(self, point: SectionPoint) -> bool:
        """Whether an unconformity is drawn level since nothing tells how it lies."""
        told = point.apparent_dip_deg is not None or self._beds_on(point) or self.flat_beds
        return point.kind is PointKind.UNCONFORMITY and not told

    def _has_start(self, block: int) -> bool:
        return any(
            start.block == block and start.points[0].kind is PointKind.CONTACT for start in self.starts
        )


@record(frozen=True, slots=True, kw_only=True)
class _OneLine:
    """A line of a contact, from one place of it or more: where it comes out, and where its younger unit lies."""

    starts: tuple[Start, ...]
    at: Point
    ahead: int


def _met_on(one: _OneLine, other: _OneLine) -> bool:
    """Whether the section itself meets one of two places and the other was carried to it."""
    return (
        sum(any(point.beside for start in line.starts for point in start.points) for line in (one, other))
        == 1
    )


def _ahead(group: Sequence[Start]) -> int:
    """Where the younger unit of one line lies, of the first of its places that tells; 0 where none does."""
    return next((start.ahead for start in group if start.ahead), 0)


def _surest_first(group: Sequence[Start]) -> list[SectionPoint]:
    """The places of one line, those first where the line of section itself meets it, then those carried less far."""
    points = (point for start in group for point in start.points)
    return sorted(points, key=lambda point: (not point.beside, settled(abs(point.carried_m), 3)))


def _by_nearness(points: Sequence[SectionPoint]) -> list[float]:
    return [1.0 / (10.0 + abs(point.carried_m)) for point in points]


def _mean_dip_rad(points: Sequence[SectionPoint]) -> float:
    """The apparent dip of one plane read at several places, nearer ones counting for more.

    As that of a line, which has no upper end: 89° to either side make 90° and not 0°.
    """
    doubled = np.radians([2.0 * (point.apparent_dip_deg or 0.0) for point in points])
    weights = np.array(_by_nearness(points))
    return settled(math.atan2(float(weights @ np.sin(doubled)), float(weights @ np.cos(doubled))) / 2.0)


def _younging(dip_deg: float, *, overturned: bool) -> float:
    """Younging angle of an apparent dip, radians."""
    angle = math.radians(dip_deg)
    return angle if not overturned else angle - math.copysign(math.pi, angle or 1.0)


def _along(younging_rad: float) -> Point:
    level, rise = direction(younging_rad)
    return level, -rise


def _down(dip_rad: float) -> Point:
    """Direction down a line of this apparent dip."""
    sense = 1.0 if dip_rad >= 0.0 else -1.0
    level, fall = direction(dip_rad)
    return (sense * level, -abs(fall))
