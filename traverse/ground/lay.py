"""From what a log says of the ground to what lies between the places where it was seen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from traverse.diagnostic import Found, Outcome
from traverse.ground.band_width import band_width
from traverse.ground.records import Ground, Join, Outcrop
from traverse.location.records import Survey
from traverse.log.records import Log
from traverse.structure.records import Geology

if TYPE_CHECKING:
    from traverse.heights.records import Terrain


def lay_ground(log: Log, survey: Survey, geology: Geology, terrain: Terrain | None) -> Outcome[Ground]:
    """What joins contacts from arm to arm, and the outcrops of every `trace` over the heights."""
    found = Found()
    joined: tuple[Join, ...] = ()
    traced: tuple[Outcrop, ...] = ()
    if len(geology.contacts) > 1:
        from traverse.ground.joins import joins

        joined = joins(survey, geology, terrain)
    if terrain is not None:
        from traverse.ground.outcrop import outcrops

        traced = found.keep(outcrops(terrain, log, survey, geology, joined))
    width = band_width(log.heading.sheet.band_m, survey, geology)
    ground = Ground(terrain=terrain, joins=joined, outcrops=traced, width=width)
    return Outcome(ground, tuple(found.diagnostics))
