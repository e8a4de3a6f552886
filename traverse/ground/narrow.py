"""Intrusive bodies too narrow for the walk to tell their two walls apart on the map: each is one line."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from shapely.geometry.base import BaseGeometry

from traverse.ground.arms import Network
from traverse.ground.edge_to_edge import edge_to_edge
from traverse.ground.records import NarrowBody
from traverse.location.records import Survey
from traverse.structure.readings.records import PlacedContact
from traverse.structure.records import Geology
from traverse.structure.walk.records import BandStretch, Body


def without_narrow(geology: Geology) -> tuple[tuple[BandStretch, ...], tuple[PlacedContact, ...]]:
    """The walk and its contacts, with what lies before a narrow body in place of it, and without its walls."""
    host = {
        (one.leg, one.start_share): body.ends[0].host or body.ends[1].host
        for body in geology.bodies
        if body.narrow
        for one in body.stretches
    }
    if not host:
        return geology.band, geology.contacts
    walls = {wall.booked.span for body in geology.bodies if body.narrow for wall in body.walls}
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
    network: Network,
    whole: BaseGeometry,
    *,
    half_m: float,
    convergence_deg: float,
) -> tuple[NarrowBody, ...]:
    """The line of each, through its middle and along its walls; square to the leg where these were not measured."""

    def found() -> Iterator[NarrowBody]:
        for body in bodies:
            leg = body.stretches[0].leg
            if not body.narrow or leg is None:
                continue
            step = survey.legs[leg].adjusted
            leg_deg = math.degrees(math.atan2(step.east_m, step.north_m))
            line = edge_to_edge(
                body.middle, body.strike_deg, leg_deg, network, whole, half_m, convergence_deg
            )
            if line is not None:
                yield NarrowBody(body=body, line=line, course_known=body.strike_deg is not None)

    return tuple(found())
