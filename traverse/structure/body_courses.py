"""The plane of an intrusive body that was crossed more than once: by its walls as they were read, and through its crossings."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from traverse.angle import wrap_360
from traverse.location.records import Survey
from traverse.log.records import Log
from traverse.settled import settled, settled_all
from traverse.structure.readings.directions import Vectors, dip_of, dot, pole
from traverse.structure.readings.place_errors import place_covariance
from traverse.structure.readings.records import PlacedContact
from traverse.structure.walk.bodies import is_one_body
from traverse.structure.walk.fault_blocks import block_finder
from traverse.structure.walk.records import Body

_STEEP_DEG = 60.0
"""Bodies as steep are hardly shifted on the ground by faults that move up and down; common practice, no source."""
_FEW = 8
"""So many crossings next to one are tried."""
_LEAST_M = 1.0
"""Of crossings nearer to each other the way from one to the other tells nothing."""


def through_crossings(
    log: Log, survey: Survey, bodies: Sequence[Body], contacts: Sequence[PlacedContact]
) -> tuple[Body, ...]:
    """The bodies, each that was crossed again in its block, or steep, with the plane that fits its readings and goes through the crossings.

    A strike read to 2° runs 9 m off within 250 m, where two walls that were met are known to a few. `sd_deg` stays that of
    the readings: of the dip the crossings tell little.
    """
    block = block_finder(log, contacts)
    turn_deg = survey.frame.to_true_deg
    where = [{block(wall.place, wall.order) for wall in body.walls} for body in bodies]

    middles = np.array([body.middle for body in bodies]).reshape(-1, 2)

    def again(index: int) -> Iterator[Body]:
        body = bodies[index]
        off_m = settled_all(np.hypot(*(middles - middles[index]).T), 3)
        tried = 0
        for at in np.argsort(off_m, kind="stable").tolist():
            other = bodies[at]
            if at == index or other.unit != body.unit or not other.read_at:
                continue
            if tried == _FEW:
                return
            tried += 1
            steep = min(body.dip_deg or 0.0, other.dip_deg or 0.0) >= _STEEP_DEG
            beside = steep or len(where[at] | where[index]) == 1
            if beside and is_one_body(body, other, to_true_deg=turn_deg):
                yield other

    return tuple(_fitted(body, list(again(index)), turn_deg) for index, body in enumerate(bodies))


def _fitted(body: Body, others: Sequence[Body], turn_deg: float) -> Body:
    """The plane by least squares: small tilts off the one that was read, each crossing and each reading by its error."""
    if not others or not body.read_at or body.strike_deg is None or body.dip_deg is None or not body.sd_deg:
        return body
    normal = _normal(body, turn_deg)
    steep = np.array([normal[1], -normal[0], 0.0])
    if float(np.linalg.norm(steep)) < math.sin(math.radians(1.0)):
        return body
    level = steep / np.linalg.norm(steep)
    tilts = np.array([level, np.cross(normal, level)])
    inverse = np.eye(2) / math.radians(body.sd_deg) ** 2
    pull = np.zeros(2)
    for other in others:
        if other.sd_deg:
            read = _normal(other, turn_deg)
            weight = 1.0 / math.radians(other.sd_deg) ** 2
            pull += weight * (tilts @ (read if dot(read, normal) >= 0.0 else -read))
            inverse += weight * np.eye(2)
        for way, sd_m in _ways(body, other, normal):
            along = tilts @ way
            inverse += np.outer(along, along) / sd_m**2
            pull -= along * dot(way, normal) / sd_m**2
    found = normal + settled_all(np.asarray(np.linalg.solve(inverse, pull), dtype=np.float64)) @ tilts
    dip, toward = dip_of(found / np.linalg.norm(found))
    if toward is None:
        return body
    return replace(body, dip_deg=dip, strike_deg=wrap_360(settled(toward - 90.0 + turn_deg)))


def _normal(body: Body, turn_deg: float) -> Vectors:
    return pole(body.dip_deg or 0.0, dip_direction_deg=(body.strike_deg or 0.0) + 90.0 - turn_deg)


def _ways(body: Body, other: Body, normal: Vectors) -> Iterator[tuple[Vectors, float]]:
    """From each wall to the same wall at the other crossing, with the standard error of that square to them, metres."""
    for end in body.ends:
        for there in other.ends:
            if end.wall is None or there.wall is None:
                continue
            sides = [dot(np.array([*one.inward, 0.0]), normal) for one in (end, there)]
            way = np.array(there.place) - np.array(end.place)
            if sides[0] * sides[1] > 0.0 and float(np.linalg.norm(way)) > _LEAST_M:
                both = place_covariance(end.wall) + place_covariance(there.wall)
                yield way, max(0.1, math.sqrt(max(0.0, float(normal @ both @ normal))))
