"""What a fault did, as signs on its line: ball, teeth, block or arrows, each on the side that it tells of.

The side is that of the direction in which the log says that the ground went down, else that of the dip: the ground over
the plane went down on a normal fault and up on a reverse one or a thrust.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from shapely import LineString
from shapely.geometry.base import BaseGeometry

from traverse.log.items import Movement
from traverse.record import record
from traverse.sheet.paper.page import Item
from traverse.sheet.signs.symbols import SIGNS, offsets, symbol
from traverse.trade import PRINTS_LEVEL_DEG, PRINTS_UPRIGHT_DEG

if TYPE_CHECKING:
    from collections.abc import Sequence

    from traverse.sheet.paper.window import Window
    from traverse.structure.readings.records import PlacedContact

_TOOTH_FIRST_MM, _TOOTH_EVERY_MM = 1.8, 3.4
_SIDEWAYS = {Movement.LEFT_LATERAL: "fault left-lateral", Movement.RIGHT_LATERAL: "fault right-lateral"}
_OVER = {Movement.REVERSE: "fault reverse", Movement.THRUST: "fault thrust"}


@record(frozen=True, kw_only=True)
class FaultSigns:
    """What stands on the line of a fault."""

    items: tuple[Item, ...]
    signs: tuple[str, ...]
    shapes: tuple[BaseGeometry, ...]
    """What labels keep off."""


def movement_signs(contact: PlacedContact) -> tuple[str, ...]:
    """Names of the signs that tell what a fault did; none where neither its movement nor a side is known."""
    booked = contact.booked
    found: list[str] = []
    told = booked.down is not None
    if booked.movement in _OVER:
        found += [_OVER[booked.movement]] if told or _dips(contact) else []
    elif told or (booked.movement is Movement.NORMAL and _dips(contact)):
        found.append("fault down")
    if booked.movement in _SIDEWAYS:
        found.append(_SIDEWAYS[booked.movement])
    return tuple(found)


def draw_movement(
    contact: PlacedContact,
    line: LineString,
    middle: float,
    window: Window,
    *,
    down_true_deg: float | None,
    kept: Sequence[float],
    room: float,
) -> FaultSigns:
    """The signs along a line that the walk crosses at `middle`; nothing stands within `room` of a place in `kept`."""
    (x0, y0), (x1, y1) = line.coords[0], line.coords[-1]
    course = math.degrees(math.atan2(x1 - x0, y1 - y0))
    items: list[Item] = []
    signs: list[str] = []
    shapes: list[BaseGeometry] = []
    for name in movement_signs(contact):
        side = _side_deg(contact, window, down_true_deg, over=name in _OVER.values())
        right = side is None or math.sin(math.radians(side - course)) >= -1e-9
        turn = course if right else course + 180.0
        sign = SIGNS[name]
        for at_mm in _stands(name, line, middle, beside="fault down" in signs):
            if any(abs(at_mm - one) < room + sign.reach for one in kept):
                continue
            at = line.interpolate(at_mm)
            items += symbol(name, (at.x, at.y), turn_deg=turn)
            tips = [(sign.tip, -sign.reach), (sign.tip, sign.reach)]
            reach = offsets((at.x, at.y), tips, turn_deg=turn)
            shapes.append(LineString([(at.x, at.y), *reach]).convex_hull.buffer(0.2, quad_segs=1))
            signs.append(name)
    return FaultSigns(items=tuple(items), signs=tuple(dict.fromkeys(signs)), shapes=tuple(shapes))


def _dips(contact: PlacedContact) -> bool:
    return (
        contact.strike_deg is not None
        and contact.dip_deg is not None
        and PRINTS_LEVEL_DEG < contact.dip_deg < PRINTS_UPRIGHT_DEG
    )


def _side_deg(
    contact: PlacedContact, window: Window, down_true_deg: float | None, *, over: bool
) -> float | None:
    """Direction on the page of the side that a sign stands on: that which went down, or for `over` that which rode up."""
    if _dips(contact) and (over or down_true_deg is None):
        assert contact.strike_deg is not None
        return window.turn_deg(contact.strike_deg + 90.0)
    if down_true_deg is None:
        return None
    return window.turn_deg(down_true_deg) + (180.0 if over else 0.0)


def _stands(name: str, line: LineString, middle: float, *, beside: bool) -> list[float]:
    """Distances along the line: one for a ball or a pair of arrows, several for teeth and blocks."""
    after = line.length - middle
    if name == "fault down":
        return [middle + min(0.55 * after, 6.0)]
    if name in _SIDEWAYS.values():
        # On the other side of the walk where a ball stands on this one.
        return [middle - min(0.5 * middle, 4.5)] if beside else [middle + min(0.5 * after, 4.5)]
    reach = SIGNS[name].reach
    found: list[float] = []
    at = _TOOTH_FIRST_MM
    while at + reach <= max(after, middle):
        found += [one for one in (middle + at, middle - at) if reach <= one <= line.length - reach]
        at += _TOOTH_EVERY_MM
    return found or [middle + min(0.5 * after, 4.0)]
