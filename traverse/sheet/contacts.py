"""Contacts and faults on the map: lines by certainty, with the fault's ball and the plane's dip."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from traverse.angle import axial_difference
from traverse.log.records import Certainty, ContactKind
from traverse.record import record
from traverse.sheet.page import Item, Path, Point, polyline
from traverse.sheet.style import PENS
from traverse.sheet.symbols import SIGNS, offset, symbol

if TYPE_CHECKING:
    from traverse.sheet.band import Crossed
    from traverse.sheet.scale import Window

_SEEN_MM = 4.0
"""A contact that was seen is solid for this far to each side of the walk, then approximate."""


@record(frozen=True, kw_only=True)
class Figure:
    """A figure wanted, and where it may stand, best first."""

    text: str
    centres: tuple[Point, ...]
    name: str
    """For the message when it finds no place."""


@record(frozen=True, kw_only=True)
class ContactDrawing:
    """Lines, what stands on them, and what labels keep off."""

    items: tuple[Item, ...]
    signs: tuple[str, ...]
    obstacle: BaseGeometry
    figures: tuple[Figure, ...]
    queries: tuple[Figure, ...]


def draw_contact(crossed: Crossed, window: Window, *, down_true_deg: float | None) -> ContactDrawing:
    """The line of one contact from edge to edge of the band."""
    contact = crossed.contact
    fault = contact.kind is ContactKind.FAULT
    name = "fault" if fault else "contact"
    certainty = contact.certainty or Certainty.CERTAIN
    pen = f"{name} {certainty.value}"
    items: list[Item] = []
    signs = [pen]
    line = crossed.line
    middle = line.project(shapely.Point(crossed.at))
    if certainty is Certainty.CERTAIN:
        near, far = max(0.0, middle - _SEEN_MM), min(line.length, middle + _SEEN_MM)
        items += _piece(line, near, far, pen)
        items += _piece(line, near, 0.0, f"{name} approximate")
        items += _piece(line, far, line.length, f"{name} approximate")
    else:
        # Dashes begin at the walk on both sides, so that the crossing itself is inked.
        items += _piece(line, middle, 0.0, pen)
        items += _piece(line, middle, line.length, pen)
    shapes: list[BaseGeometry] = [line.buffer(0.4 if fault else 0.3, quad_segs=1)]
    figures: list[Figure] = []
    (x0, y0), (x1, y1) = line.coords[0], line.coords[-1]
    course = math.degrees(math.atan2(x1 - x0, y1 - y0))
    if fault and down_true_deg is not None:
        right = math.sin(math.radians(window.turn_deg(down_true_deg) - course)) >= 0.0
        at = line.interpolate(middle + min(0.55 * (line.length - middle), 6.0))
        items += symbol("fault down", (at.x, at.y), turn_deg=course if right else course + 180.0)
        signs.append("fault down")
        ball = offset((at.x, at.y), (2.2, 0.0), turn_deg=course if right else course + 180.0)
        shapes.append(shapely.LineString([(at.x, at.y), ball]).buffer(0.7, quad_segs=2))
    if contact.strike_deg is not None and contact.dip_deg is not None and 0.0 < contact.dip_deg < 89.5:
        sign = "fault dip" if fault else "contact dip"
        at = line.interpolate(middle - min(0.55 * middle, 6.0))
        turn = window.turn_deg(contact.strike_deg)
        if axial_difference(turn, course) < 75.0:
            items += symbol(sign, (at.x, at.y), turn_deg=turn)
            signs.append(sign)
            tip = offset((at.x, at.y), (3.2 if fault else 2.4, 0.0), turn_deg=turn)
            shapes.append(shapely.LineString([(at.x, at.y), tip]).buffer(0.4, quad_segs=1))
            stand = SIGNS[sign].figure
            assert stand is not None
            figures.append(
                Figure(
                    text=f"{contact.dip_deg:.0f}",
                    centres=tuple(
                        offset((at.x, at.y), (stand[0] + out, slide), turn_deg=turn)
                        for out in (0.0, 0.7)
                        for slide in (0.0, 1.2, -1.2, 2.0, -2.0)
                    ),
                    name=_named(crossed),
                )
            )
    queries: list[Figure] = []
    if contact.queried:
        stands = [middle + share * (line.length - middle) for share in (0.6, 0.75, 0.45)]
        stands += [middle * (1.0 - share) for share in (0.6, 0.75, 0.45)]
        points = [line.interpolate(one) for one in stands]
        queries.append(
            Figure(
                text="?",
                centres=tuple(
                    offset((one.x, one.y), (aside, 0.0), turn_deg=course)
                    for one in points
                    for aside in (1.5, -1.5)
                ),
                name=_named(crossed),
            )
        )
    return ContactDrawing(
        items=tuple(items),
        signs=tuple(signs),
        obstacle=shapely.union_all(shapes),
        figures=tuple(figures),
        queries=tuple(queries),
    )


def _named(crossed: Crossed) -> str:
    contact = crossed.contact
    pair = f" {contact.younger}/{contact.older}" if contact.younger else ""
    return f"{contact.kind.value}{pair}"


def _piece(line: LineString, start: float, end: float, pen: str) -> list[Item]:
    if abs(end - start) < 1e-6:
        return []
    piece = substring(line, start, end)
    points = [(float(x), float(y)) for x, y in piece.coords]
    return [Path(commands=polyline(points), pen=PENS[pen])]
