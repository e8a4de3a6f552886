"""Contacts beside the walk and along it: places that follow each other on one side, as one line."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple

from traverse.angle import wrap_180
from traverse.location.records import Survey
from traverse.log.items import ContactKind, HowMet, LegKind
from traverse.log.records import Log
from traverse.settled import settled
from traverse.structure.readings.records import PlacedContact
from traverse.structure.walk.records import BandStretch, ContactLine, LinePart
from traverse.structure.walk.sides import by_leg, walked_on
from traverse.trade import LEVEL_DEG, ONE_CONTACT_M, REACH_M, STANDING_DEG

_Point = tuple[float, float, float]
_Pair = tuple[ContactKind, str | None, str | None]


class _OpenLine(NamedTuple):
    """A line that may go on."""

    group: list[PlacedContact]
    side: int
    """On which side of the walk it lies, as far as that is told."""


def contact_lines(
    log: Log, survey: Survey, contacts: Sequence[PlacedContact], band: Sequence[BandStretch]
) -> tuple[ContactLine, ...]:
    """Every contact that was met beside the walk or followed, in the order of the log.

    Two places are of one line where they part the same units on the same side of the walk, on one leg or on two that
    follow each other, and the walk did not cross that contact between them.
    """
    open_lines: dict[_Pair, _OpenLine] = {}
    groups: list[list[PlacedContact]] = []
    for contact in contacts:
        pair = (contact.kind, contact.younger, contact.older)
        if contact.met is HowMet.CROSSED:
            open_lines.pop(pair, None)
            continue
        line = open_lines.get(pair)
        if line is not None and _follows(log, line, contact):
            line.group.append(contact)
            open_lines[pair] = line._replace(side=line.side or _side(contact))
        else:
            groups.append([contact])
            open_lines[pair] = _OpenLine(groups[-1], _side(contact))
    on_legs = by_leg(band)
    return tuple(_line(group, survey, on_legs) for group in groups)


def _side(contact: PlacedContact) -> int:
    """On which side of the walk it lies: 1 to the right, -1 to the left, 0 on it."""
    return (contact.place.right_m > 0.0) - (contact.place.right_m < 0.0)


def _follows(log: Log, line: _OpenLine, contact: PlacedContact) -> bool:
    last = line.group[-1]
    legs = (last.place.address.leg, contact.place.address.leg)
    if line.side * _side(contact) < 0 or legs[0] is None or legs[1] is None:
        return False
    apart = min(
        math.dist(one[:2], other[:2])
        for one in (_points(last)[0], _points(last)[-1])
        for other in _points(contact)
    )
    if apart > (REACH_M if contact.younger is not None else ONE_CONTACT_M):
        # A fault whose units nobody named is the same one only where it goes on.
        return False
    if legs[0].index == legs[1].index:
        return True
    between = log.legs[legs[0].index + 1 : legs[1].index]
    return legs[0].end == legs[1].start and all(leg.kind is LegKind.SIDE for leg in between)


def _points(contact: PlacedContact) -> tuple[_Point, ...]:
    place = contact.place
    if contact.met is HowMet.FOLLOWED and place.ends:
        return place.ends
    return ((place.east_m, place.north_m, place.relative_up_m),)


def _line(
    group: list[PlacedContact], survey: Survey, on_legs: Mapping[int, Sequence[BandStretch]]
) -> ContactLine:
    legs = [one.place.address.leg.index for one in group if one.place.address.leg is not None]
    order = {leg: at for at, leg in enumerate(dict.fromkeys(legs))}
    numbered = sorted(
        zip(legs, group, strict=True), key=lambda one: (order[one[0]], one[1].place.start_share or 0.0)
    )
    contacts = [contact for _, contact in numbered]
    parts = [list(_points(one)) for one in contacts]
    for first, second in pairwise(parts):
        _cut_corner(first, second)
    start, end = contacts[0].place.address.leg, contacts[-1].place.address.leg
    if len(parts) > 2 and start is not None and end is not None and end.end == start.start:
        # All round a hill.
        _cut_corner(parts[-1], parts[0])
    left, right = None, None
    for contact in contacts:
        left, right = left or _beside(contact, on_legs, -1), right or _beside(contact, on_legs, 1)
    if left is None and right is None:
        for contact in contacts:
            left, right = _by_dip(contact, survey)
            if left is not None:
                break
    return ContactLine(
        parts=tuple(
            LinePart(contact=contact, points=tuple(points), corner=_corner(contact, after, survey))
            for contact, points, after in zip(contacts, parts, [*contacts[1:], None], strict=True)
        ),
        side=next((side for side in map(_side, contacts) if side), 0),
        left=left,
        right=right,
    )


def _corner(contact: PlacedContact, after: PlacedContact | None, survey: Survey) -> _Point | None:
    """A contact followed on the walk round a bend goes with the walk."""
    leg, second = contact.place.address.leg, None if after is None else after.place.address.leg
    if leg is None or second is None or after is None or leg.index == second.index:
        return None
    if _side(contact) or _side(after):
        return None
    place = survey.places[leg.end]
    return place.east_m, place.north_m, place.relative_up_m


def _cut_corner(first: list[_Point], second: list[_Point]) -> None:
    """Two stretches that cross inside a bend of the walk end where they cross."""
    if len(first) < 2 or len(second) < 2:
        return
    (ax, ay, az), (bx, by, bz) = first
    (cx, cy, _), (dx, dy, _) = second
    across = (bx - ax) * (dy - cy) - (by - ay) * (dx - cx)
    if abs(across) < 1e-9:
        return
    t = ((cx - ax) * (dy - cy) - (cy - ay) * (dx - cx)) / across
    u = ((cx - ax) * (by - ay) - (cy - ay) * (bx - ax)) / across
    if 0.0 < t < 1.0 and 0.0 < u < 1.0:
        met = (settled(ax + t * (bx - ax)), settled(ay + t * (by - ay)), settled(az + t * (bz - az)))
        first[1] = second[0] = met


def _beside(contact: PlacedContact, on_legs: Mapping[int, Sequence[BandStretch]], way: int) -> str | None:
    """The unit on one side of a line beside the walk: toward it what was walked on, beyond it the other of the two."""
    side = _side(contact)
    if side == 0 or contact.younger is None or contact.older is None:
        return None
    near = walked_on(contact, on_legs)
    if near not in {contact.younger, contact.older}:
        return None
    far = contact.older if near == contact.younger else contact.younger
    return far if way == side else near


def _by_dip(contact: PlacedContact, survey: Survey) -> tuple[str | None, str | None]:
    """The units left and right of a contact followed on the walk: the younger lies where its plane dips to."""
    leg_deg, plane = contact.place.leg_azimuth_deg, contact.booked.plane
    if (
        leg_deg is None
        or plane is None
        or contact.strike_deg is None
        or contact.dip_deg is None
        or contact.kind is ContactKind.FAULT
        or plane.overturned
        or not LEVEL_DEG < contact.dip_deg < STANDING_DEG
    ):
        return None, None
    off = wrap_180(contact.strike_deg + 90.0 - survey.frame.to_true_deg - leg_deg)
    if abs(math.sin(math.radians(off))) < 0.5:
        return None, None
    return (contact.older, contact.younger) if off > 0.0 else (contact.younger, contact.older)
