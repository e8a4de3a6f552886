"""Contacts on the map up to the unconformity that cuts them, or that they lie on: no bed runs on through it.

A fault and the wall of a body may be older or younger, and loose ground lies on whatever it meets: those are left as they
are. So is a line between two crossings of one contact.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import shapely
from shapely import LineString

from traverse.ground.arm_network import TOUCH_M
from traverse.ground.crossed.one_line import toward_younger, unit_beyond
from traverse.ground.records import CrossedContact, Point
from traverse.log.items import ContactKind
from traverse.log.records import Log
from traverse.settled import least, settled_shape
from traverse.shapes import lines_in, points_of
from traverse.structure.walk.records import BandStretch


def up_to_unconformities(
    crossed: Sequence[CrossedContact], stretches: Sequence[BandStretch], log: Log
) -> tuple[CrossedContact, ...]:
    """The crossings; of each contact that lies wholly below an unconformity, or above it, what is on that side of it."""
    bases = [one for one in crossed if one.contact.kind is ContactKind.UNCONFORMITY]
    if not bases:
        return tuple(crossed)
    passes = {unit.letters for unit in log.units if unit.loose or unit.intrusive}
    ranks = {unit.letters: rank for rank, unit in enumerate(log.units) if unit.letters not in passes}
    tree = shapely.STRtree([one.line for one in bases])
    found: list[CrossedContact] = []
    for one in crossed:
        left = one
        for index in sorted(tree.query(one.line, "intersects").tolist()):
            base = bases[index]
            beyond = _beyond(one, base, ranks)
            if beyond is not None and not _is_on(beyond, base, one.at, stretches):
                left = _up_to(left, base.line)
        found.append(left)
    return tuple(found)


def _beyond(one: CrossedContact, base: CrossedContact, ranks: Mapping[str, int]) -> str | None:
    """The unit of an unconformity beyond which a contact isn't; None where it may run on through it.

    Of two unconformities the upper one cuts the other.
    """
    on, under = base.contact.younger, base.contact.older
    units = (one.contact.younger, one.contact.older)
    known = [ranks[unit] for unit in units if unit is not None and unit in ranks]
    if one.contact.kind is ContactKind.FAULT or len(known) < 2 or on is None or on not in ranks:
        return None
    if min(known) > ranks[on]:
        return on
    return under if one.contact.kind is ContactKind.CONTACT and max(known) <= ranks[on] else None


def _is_on(unit: str, base: CrossedContact, at: Point, stretches: Sequence[BandStretch]) -> bool:
    """Whether a place lies on that unit's side of an unconformity as drawn, and so tells against its line."""
    younger = toward_younger(base, stretches)
    return younger is not None and unit_beyond(base, younger, shapely.Point(at)) == unit


def _up_to(one: CrossedContact, base: LineString) -> CrossedContact:
    """A contact as far as a line to each hand; all of it where that would part it from its other crossings."""
    # Of several sightings of one place the line runs through their mean.
    here = one.line.interpolate(one.line.project(shapely.Point(one.at)))
    kept = least(lines_in(one.line.difference(base)), key=lambda part: part.distance(here))
    if kept is None or one.between or here.distance(base) <= TOUCH_M:
        return one
    if one.tied and points_of(kept)[-1] != points_of(one.line)[-1]:
        return one
    return replace(one, line=settled_shape(kept))
