"""Contacts and faults on the map: lines by certainty, with the fault's ball and the plane's dip; narrow bodies."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from traverse.angle import axial_difference
from traverse.ground.records import HowSeen
from traverse.log.items import Certainty, ContactKind
from traverse.record import record
from traverse.shapes import lines_in
from traverse.sheet.map.fault_signs import draw_movement
from traverse.sheet.map.on_page import frame_of
from traverse.sheet.paper.page import Ink, Item, Path, Pen, Point, polyline
from traverse.sheet.paper.style import PENS
from traverse.sheet.signs.shown import sign_of
from traverse.sheet.signs.symbols import SIGNS, offsets, symbol

if TYPE_CHECKING:
    from traverse.sheet.map.on_page import DrawnBody, DrawnContact
    from traverse.sheet.paper.window import Window
    from traverse.structure.readings.records import PlacedContact

SEEN_MM = 4.0
"""A contact that was seen is solid for this far to each side of the walk, then approximate."""


NARROW_MM = 0.5
"""Half as wide as the line of a narrow body with its two edges."""
_LEAST_DASH_MM = 1.0
_SAME_MM = 0.05
_LEAST_END_MM = 0.3
"""A shorter end of a dash at the edge would be a blot on it."""
_QUERY_MM = 1.25
"""Half of the break for a query: its letter, and 0.75 clear on both sides (FGDC-STD-013-2006, 1.1.2)."""
_QUERY_OFF_MM = 6.2
"""From the walk to a query, so that two are about 12 mm apart, as there."""


@record(frozen=True, kw_only=True)
class Figure:
    """A figure wanted, and where it may stand, best first."""

    text: str
    centres: tuple[Point, ...]
    name: str
    """For the message when it finds no place."""
    led: tuple[Point, float] | None = None
    """Where a leader to it may begin, and which way it goes best, clockwise from up; None for what has none."""


@record(frozen=True, kw_only=True)
class ContactDrawing:
    """Lines, what stands on them, and what labels keep off."""

    items: tuple[Item, ...]
    signs: tuple[str, ...]
    obstacle: BaseGeometry
    figures: tuple[Figure, ...]
    doubts: tuple[Point, ...]
    """Where a query breaks the line."""


def draw_contact(crossed: DrawnContact, window: Window, *, down_true_deg: float | None) -> ContactDrawing:
    """The line of one contact from edge to edge of the band, or a piece of one beside the walk."""
    contact = crossed.contact
    fault = contact.kind is ContactKind.FAULT
    name = sign_of(contact.kind)
    certainty = contact.certainty or Certainty.CERTAIN
    line = crossed.line
    if crossed.beside is HowSeen.BETWEEN and certainty is Certainty.CERTAIN:
        # Nobody saw it there.
        certainty = Certainty.APPROXIMATE
    middle = line.project(shapely.Point(crossed.at))
    doubts = _doubts(line, middle) if contact.queried else []
    pieces = _pieces(line.length, middle, name, certainty, crossed.beside)
    items = [
        item
        for start, end, style in pieces
        for shown in _between(start, end, doubts)
        for item in _piece(line, *shown, style)
    ]
    # What of it was not seen is drawn as such, and the legend has both.
    frame = frame_of(window)
    signs = [style for start, end, style in pieces if substring(line, start, end).intersects(frame)]
    shapes: list[BaseGeometry] = [line.buffer(0.55 if fault else 0.43, quad_segs=1)]
    shapes += [line.interpolate(one).buffer(_QUERY_MM, quad_segs=1) for one in doubts]
    signs += ["queried"] if doubts else []
    figures: list[Figure] = []
    (x0, y0), (x1, y1) = line.coords[0], line.coords[-1]
    course = math.degrees(math.atan2(x1 - x0, y1 - y0))
    dip_at = middle - min(0.55 * middle, 6.0)
    if fault:
        kept = [*doubts, *([dip_at] if _has_arrow(contact) else [])]
        moved = draw_movement(
            contact, line, middle, window, down_true_deg=down_true_deg, kept=kept, room=_QUERY_MM / 2
        )
        items += moved.items
        signs += moved.signs
        shapes += moved.shapes
    if _has_arrow(contact) and contact.strike_deg is not None and crossed.beside is not HowSeen.BETWEEN:
        sign = f"{name} dip"
        at = line.interpolate(dip_at)
        turn = window.turn_deg(contact.strike_deg)
        if axial_difference(turn, course) < 75.0:
            items += symbol(sign, (at.x, at.y), turn_deg=turn)
            signs.append(sign)
            (tip,) = offsets((at.x, at.y), [(SIGNS[sign].tip, 0.0)], turn_deg=turn)
            shapes.append(shapely.LineString([(at.x, at.y), tip]).buffer(0.4, quad_segs=1))
            stand = SIGNS[sign].figure
            assert stand is not None
            stands = [
                (stand[0] + out, slide)
                for out in (0.0, 0.7, 1.4, 2.2, 3.0)
                for slide in (0.0, 1.2, -1.2, 2.0, -2.0)
            ]
            figures.append(
                Figure(
                    text=f"{contact.dip_deg:.0f}",
                    centres=offsets((at.x, at.y), stands, turn_deg=turn),
                    name=_named(crossed),
                )
            )
    return ContactDrawing(
        items=tuple(items),
        signs=tuple(signs),
        obstacle=shapely.union_all(shapes),
        figures=tuple(figures),
        doubts=tuple((at.x, at.y) for at in map(line.interpolate, doubts)),
    )


def unseen_pieces(line: LineString) -> tuple[list[LineString], list[Point]]:
    """The line of a contact that nobody booked, broken for its queries, and where these stand."""
    doubts = _doubts(line, line.length / 2.0)
    pieces = [
        piece
        for start, end in _between(0.0, line.length, doubts)
        for piece in lines_in(substring(line, start, end))
    ]
    return pieces, [(at.x, at.y) for at in map(line.interpolate, doubts)]


def draw_narrow(one: DrawnBody, colour: str) -> list[Item]:
    """A narrow intrusive body: a black line with the unit's colour within, so that a copy keeps it."""
    points = [(float(x), float(y)) for x, y in one.line.coords]
    return [
        Path(commands=polyline(points), pen=Pen(width_mm=2.0 * NARROW_MM)),
        Path(
            commands=polyline(points),
            pen=Pen(width_mm=2.0 * NARROW_MM - 0.4, colour=colour, ink=Ink.FADES),
            unit=one.body.unit,
        ),
    ]


def _has_arrow(contact: PlacedContact) -> bool:
    return contact.strike_deg is not None and contact.dip_deg is not None and 0.0 < contact.dip_deg < 89.5


def _doubts(line: LineString, middle: float) -> list[float]:
    """Distances along the line of its queries: on both sides of the walk where there is room, about 12 mm apart."""
    sides = ((-1.0, middle), (1.0, line.length - middle))
    found = [
        middle + side * min(0.8 * long, _QUERY_OFF_MM) for side, long in sides if 0.8 * long > 1.5 * _QUERY_MM
    ]
    return found or [middle + 0.5 * (line.length - middle)]


def _pieces(
    length: float, middle: float, name: str, certainty: Certainty, beside: HowSeen | None
) -> list[tuple[float, float, str]]:
    """From where to where along the line which pen draws: dashes begin at the walk, so that the crossing is inked."""
    if beside in {HowSeen.ALONG, HowSeen.BETWEEN}:
        return [(0.0, length, f"{name} {certainty.value}")]
    if certainty is not Certainty.CERTAIN:
        style = f"{name} {certainty.value}"
        return [
            (middle + way * start, middle + way * end, style)
            for way, room in ((-1.0, middle), (1.0, length - middle))
            for start, end in _with_gap(room, style)
        ]
    less = f"{name} approximate"
    dashes = PENS[less].dash_mm
    gap = dashes[1] if dashes else 0.0
    ends: list[float] = []
    found: list[tuple[float, float, str]] = []
    for way, room in ((-1.0, middle), (1.0, length - middle)):
        # What was not seen begins with a gap, or a short piece of it would read as certain.
        solid = room if room <= SEEN_MM + _SAME_MM else min(SEEN_MM, room - gap - _LEAST_DASH_MM)
        ends.append(middle + way * solid)
        if solid + gap < room:
            found.append((middle + way * (solid + gap), middle + way * room, less))
    return [(ends[0], ends[1], f"{name} certain"), *found]


def _with_gap(room: float, style: str) -> list[tuple[float, float]]:
    """Stretches of a line that nobody saw for certain, from the walk to the edge so far off: no less than one gap between.

    Dashes as long as the band is wide would read as certain: they are shortened, so that a gap stands on either side of
    the walk and half a dash beyond it.
    """
    dashes = PENS[style].dash_mm
    dash, gap = dashes[:2] if dashes else (0.0, 0.0)
    if room >= dash + gap + _LEAST_DASH_MM or dash < gap:
        return [(0.0, room)]
    first = min(dash, room - gap) / 2.0
    if first > _LEAST_END_MM:
        return [(0.0, first), (first + gap, room)]
    # Too narrow for that: the crossing alone, clear of the edges.
    return [(0.0, min(dash / 2.0, room / 2.0))]


def _between(start: float, end: float, doubts: list[float]) -> list[tuple[float, float]]:
    """A stretch less the room of the queries on it, in its own direction."""
    low, high = min(start, end), max(start, end)
    found: list[tuple[float, float]] = []
    for doubt in sorted(doubts):
        if doubt + _QUERY_MM <= low or doubt - _QUERY_MM >= high:
            continue
        if doubt - _QUERY_MM > low:
            found.append((low, doubt - _QUERY_MM))
        low = doubt + _QUERY_MM
    if low < high:
        found.append((low, high))
    return found if start <= end else [(b, a) for a, b in reversed(found)]


def _named(crossed: DrawnContact) -> str:
    contact = crossed.contact
    pair = f" {contact.younger}/{contact.older}" if contact.younger else ""
    return f"{contact.kind.value}{pair}"


def _piece(line: LineString, start: float, end: float, pen: str) -> list[Item]:
    if abs(end - start) < 1e-6:
        return []
    piece = substring(line, start, end)
    points = [(float(x), float(y)) for x, y in piece.coords]
    return [Path(commands=polyline(points), pen=PENS[pen])]
