"""Crossings of a contact that was followed: their line runs on in the one that was seen, and no other is drawn beside it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from traverse.ground.beside import Beside
from traverse.ground.joins import one_place_m
from traverse.ground.records import CrossedContact, Point
from traverse.log.items import HowMet
from traverse.settled import least, settled_shape
from traverse.shapes import points_of
from traverse.trade import JOINED_DEG

_OFF = math.tan(math.radians(JOINED_DEG))
_SLACK_SHARE = 0.15
"""So far outside of the ground that was looked at a line to what was followed may run, over half the band: past a corner."""
_LEAST_M = 0.05


def onto_followed(
    crossed: Sequence[CrossedContact], beside: Sequence[Beside], whole: BaseGeometry, half_m: float
) -> tuple[CrossedContact, ...]:
    """The crossings; each half of a line that runs along where its contact was followed ends at what was seen there.

    The place may lie off the followed line by the errors of both, and by what a strike may be off on the way to its end.
    One whose half runs on beyond where it was followed, over other ground that was looked at, keeps it.
    """
    followed = [one for one in beside if any(part.contact.met is not HowMet.BESIDE for part in one.of.parts)]
    if not followed:
        return tuple(crossed)
    held = whole.buffer(_SLACK_SHARE * half_m)
    return tuple(_onto(one, followed, held, half_m) for one in crossed)


def _onto(
    one: CrossedContact, followed: Sequence[Beside], held: BaseGeometry, half_m: float
) -> CrossedContact:
    points = points_of(one.line)
    if len(points) not in {2, 3} or one.line.distance(shapely.Point(one.at)) > _LEAST_M:
        return one
    own = [other for other in followed if _one_contact(one, other)]
    ends = points[:1] + points[-1:]
    onto = [_seen_from(one, end, own, held, half_m) for end in ends]
    if onto == [None, None]:
        return one
    tied = [onto[0] is not None or one.between, onto[1] is not None or one.tied]
    line = [new or end for new, end in zip(onto, ends, strict=True)]
    if tied[0] and not tied[1]:
        line.reverse()
    kept = [line[0], one.at, line[1]]
    if onto.count(None) == 1 and any(
        end is not None and math.dist(end, one.at) <= _one_place_m(one, own) for end in onto
    ):
        # It was crossed where it was followed, by the errors of both: one place, and the followed line has it.
        kept = [line[0], line[1]]
    kept = [place for at, place in enumerate(kept) if at == 0 or math.dist(place, kept[at - 1]) > _LEAST_M]
    if len(kept) < 2:
        return one
    return replace(one, line=settled_shape(LineString(kept)), tied=True, between=all(tied))


def _one_contact(one: CrossedContact, other: Beside) -> bool:
    mine = one.contact
    return any(
        (mine.kind, mine.younger, mine.older) == (its.kind, its.younger, its.older)
        for its in (part.contact for part in other.of.parts)
    )


def _one_place_m(one: CrossedContact, followed: Sequence[Beside]) -> float:
    return max(one_place_m(one.contact, part.contact) for other in followed for part in other.of.parts)


def _seen_from(
    one: CrossedContact, end: Point, own: Sequence[Beside], held: BaseGeometry, half_m: float
) -> Point | None:
    """The nearest place of a followed line along which half a line runs, from where it was crossed to one of its ends."""
    long = math.dist(one.at, end)
    if long <= _LEAST_M:
        return None
    way = ((end[0] - one.at[0]) / long, (end[1] - one.at[1]) / long)
    here = shapely.Point(one.at)
    found: list[Point] = []
    for other in own:
        if other.line.distance(shapely.Point(end)) > half_m:
            continue
        near_m = _one_place_m(one, [other])
        place = nearest_points(other.line, here)[0]
        step = (place.x - one.at[0], place.y - one.at[1])
        far = math.hypot(*step)
        ahead = max((x - one.at[0]) * way[0] + (y - one.at[1]) * way[1] for x, y in points_of(other.line))
        off = abs(way[0] * step[1] - way[1] * step[0])
        if (
            ahead > near_m
            and off <= near_m + far * _OFF
            and held.covers(LineString([one.at, (place.x, place.y)]))
        ):
            found.append((place.x, place.y))
    return least(found, key=lambda place: math.dist(place, one.at))
