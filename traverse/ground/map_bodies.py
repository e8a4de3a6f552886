"""Intrusive bodies on the map that are no ground from edge to edge of what was looked at.

One that is narrower than the walk knows its place is a line; one of which nobody read which way its walls run is drawn at
the walk alone.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from traverse.ground.arm_network import ArmNetwork, straight
from traverse.ground.crossed.edge_to_edge import edge_to_edge
from traverse.ground.records import CrossedContact, NarrowBody, Point, UnitArea
from traverse.location.records import Survey
from traverse.settled import SAME_M, settled_shape
from traverse.shapes import areas_in
from traverse.structure.readings.records import PlacedContact
from traverse.structure.records import Geology
from traverse.structure.walk.records import BandStretch, Body

_MARK_SHARE = 0.5
"""So far to each side of the walk, over half the band, a body is drawn of which nobody read which way it runs."""


def drawn_at_walk(bodies: Sequence[Body], half_m: float) -> tuple[Body, ...]:
    """Those crossed whose walls may run either way; of a body longer on the walk than that, the walk saw more than a line."""
    return tuple(one for one in bodies if one.without_strike and not one.narrow and one.walked_m <= half_m)


def without_bodies(
    geology: Geology, taken: Sequence[Body]
) -> tuple[tuple[BandStretch, ...], tuple[PlacedContact, ...]]:
    """The walk and its contacts, with what lies before a body in place of it, and without its walls."""
    host = {
        (one.leg, one.start_share): body.ends[0].host or body.ends[1].host
        for body in taken
        for one in body.stretches
    }
    if not host:
        return geology.band, geology.contacts
    walls = {wall.booked.span for body in taken for wall in body.walls}
    return (
        tuple(
            replace(one, unit=host[one.leg, one.start_share], queried=False)
            if (one.leg, one.start_share) in host
            else one
            for one in geology.band
        ),
        tuple(one for one in geology.contacts if one.booked.span not in walls),
    )


def narrow_bodies(
    survey: Survey,
    bodies: Sequence[Body],
    network: ArmNetwork,
    whole: BaseGeometry,
    *,
    half_m: float,
    convergence_deg: float,
) -> tuple[NarrowBody, ...]:
    """The line of each, through its middle and along its walls; a mark square to the leg where these were not measured."""

    def found() -> Iterator[NarrowBody]:
        for body in bodies:
            leg = body.stretches[0].leg
            if not body.narrow or leg is None:
                continue
            step = survey.legs[leg].adjusted
            leg_deg = math.degrees(math.atan2(step.east_m, step.north_m))
            known = body.strike_deg is not None
            line = (
                edge_to_edge(body.middle, body.strike_deg, leg_deg, network, whole, half_m, convergence_deg)
                if known
                else _mark(body.middle, leg_deg, half_m)
            )
            if line is not None:
                yield NarrowBody(body=body, line=line, course_known=known)

    return tuple(found())


def with_marks(
    areas: Sequence[UnitArea], bodies: Sequence[Body], whole: BaseGeometry, half_m: float
) -> tuple[UnitArea, ...]:
    """The ground of the map with that of bodies at the walk alone."""
    marks: list[tuple[str, BaseGeometry]] = []
    for body in bodies:
        strips = [
            straight(one.start, one.end).buffer(_MARK_SHARE * half_m, cap_style="flat")
            for one in body.stretches
        ]
        marks.append((body.unit, settled_shape(shapely.union_all(strips).intersection(whole))))
    if not marks:
        return tuple(areas)
    taken = shapely.union_all([mark for _, mark in marks])
    found = [
        replace(
            one,
            parts=tuple(
                part
                for whole_part in one.parts
                for part in (
                    areas_in(shapely.difference(whole_part, taken, grid_size=SAME_M))
                    if whole_part.intersects(taken)
                    else (whole_part,)
                )
            ),
        )
        for one in areas
    ]
    for unit, mark in marks:
        found.append(UnitArea(unit=unit, covered=False, parts=tuple(areas_in(mark))))
    return tuple(one for one in found if one.parts)


def wall_marks(bodies: Sequence[Body], half_m: float) -> Iterator[CrossedContact]:
    """The walls of bodies that are drawn at the walk alone."""
    for body in bodies:
        for wall in body.walls:
            at = (wall.place.east_m, wall.place.north_m)
            line = _mark(at, wall.place.leg_azimuth_deg or 0.0, half_m)
            yield CrossedContact(contact=wall, at=at, line=line, course_known=False)


def _mark(at: Point, leg_deg: float, half_m: float) -> LineString:
    """A short line across the walk."""
    sin, cos = math.sin(math.radians(leg_deg + 90.0)), math.cos(math.radians(leg_deg + 90.0))
    reach = _MARK_SHARE * half_m
    line = LineString(
        [(at[0] - reach * sin, at[1] - reach * cos), (at[0] + reach * sin, at[1] + reach * cos)]
    )
    return settled_shape(line)
