"""The rose to turn bearings by: true north outside and, where the needle points elsewhere, its own ring inside."""

from __future__ import annotations

import math

from traverse.location.records import Frame
from traverse.log.readings import North
from traverse.sheet.paper.block import framed, set_lines
from traverse.sheet.paper.fonts import CAP_HEIGHT
from traverse.sheet.paper.page import Anchor, Block, Command, Face, Item, Path, Point, Text, circle, polyline
from traverse.sheet.paper.style import BLACK, HEAD, MM_PER_POINT, PENS, SMALL, line_mm
from traverse.sheet.paper.words import azimuth, wrap

_MOST_RADIUS_MM = 36.0
_RING_MM = 11.0
"""From the outer ring to the inner one."""
_LABEL_MM = 4.6
"""From the end of the longest tick to the middle of a figure."""
_OUTER_MM = ((30, 2.6), (10, 2.0), (2, 0.9))
_INNER_MM = ((30, 2.6), (10, 2.0), (5, 1.1))
"""Every so many degrees a tick so long; closer ones would run together in a copy."""
_NONE_DEG = 0.05


def rose_to_carry(frame: Frame | None, bearings: North | None, *, width: float) -> Block:
    """The rose with the declination set, or with room to set it."""
    turned = frame.declination_deg if frame is not None and bearings in {North.MAGNETIC, None} else None
    items = framed("Rose", width=width)
    y = -7.6
    said = wrap(_words(frame, bearings, turned), Face.REGULAR, HEAD, width)
    y = set_lines(items, said, y=y, size_pt=HEAD)
    radius = min(_MOST_RADIUS_MM, width / 2.0 - _LABEL_MM - 3.0)
    centre = (width / 2.0, y - radius - _LABEL_MM - 0.5)
    items += _ring(centre, radius, turn_deg=0.0, outward=True)
    if turned is not None:
        inner = radius - _RING_MM
        items += _ring(centre, inner, turn_deg=turned, outward=False)
        items += _needle(centre, inner - 9.0, turned)
    else:
        items += _cross(centre, radius - 4.0)
    return Block(items=tuple(items), height=radius + _LABEL_MM + 4.5 - centre[1])


def _words(frame: Frame | None, bearings: North | None, turned: float | None) -> str:
    if turned is not None and frame is not None:
        figure = f"{abs(turned):.1f}° {'E' if turned > 0.0 else 'W'}" if abs(turned) >= _NONE_DEG else "0°"
        note = f", {frame.declination_note}" if frame.declination_note else ""
        return f"Declination {figure}{note}. Inside what the compass reads, outside the true bearing in line with it."
    if bearings is North.TRUE:
        return "The dial is set: what it reads is true. Write down what was set: ________"
    if bearings is North.GRID:
        return "Bearings are of the grid. Write down what was set or added: ________"
    return "True bearings. Declination ________ E W, year ________: draw magnetic north in."


def _at(centre: Point, reach: float, turn_deg: float) -> Point:
    turn = math.radians(turn_deg)
    return (centre[0] + reach * math.sin(turn), centre[1] + reach * math.cos(turn))


def _ring(centre: Point, radius: float, *, turn_deg: float, outward: bool) -> list[Item]:
    """A circle with ticks and figures, all on one side of it."""
    items: list[Item] = [Path(commands=circle(centre, radius), pen=PENS["tick"])]
    ticks = _OUTER_MM if outward else _INNER_MM
    commands: list[Command] = []
    for degree in range(360):
        length = next((long for every, long in ticks if degree % every == 0), 0.0)
        if length:
            ends = [_at(centre, reach, degree + turn_deg) for reach in (radius, radius - length)]
            commands += polyline(ends)
    items.append(Path(commands=tuple(commands), pen=PENS["tick"]))
    letters = {0: "N", 90: "E", 180: "S", 270: "W"}
    half = CAP_HEIGHT * SMALL * MM_PER_POINT / 2.0
    for degree in range(0, 360, 10 if outward else 30):
        out = radius + 2.4 if outward else radius - ticks[0][1] - 2.6
        x, y = _at(centre, out, degree + turn_deg)
        bold = degree % 90 == 0
        words = letters[degree] if bold and outward else azimuth(degree)
        items.append(
            Text(
                at=(x, y - half),
                text=words,
                face=Face.BOLD if bold else Face.REGULAR,
                size_pt=SMALL,
                anchor=Anchor.MIDDLE,
            )
        )
    return items


def _needle(centre: Point, reach: float, turn_deg: float) -> list[Item]:
    """An arrow with half a barb, as magnetic north has on the map."""
    tip, foot = _at(centre, reach, turn_deg), _at(centre, -reach, turn_deg)
    turn = math.radians(turn_deg)
    back = _at(centre, reach - 4.0, turn_deg)
    barb = (back[0] + 1.2 * math.cos(turn), back[1] - 1.2 * math.sin(turn))
    words = Text(
        at=(centre[0] + 2.0, centre[1] - line_mm(SMALL)),
        text="magnetic",
        face=Face.ITALIC,
        size_pt=SMALL,
    )
    return [
        Path(commands=polyline([foot, tip]), pen=PENS["leader"]),
        Path(commands=polyline([tip, back, barb], close=True), fill=BLACK),
        words,
    ]


def _cross(centre: Point, reach: float) -> list[Item]:
    """Lines to the four quarters, to draw from."""
    x, y = centre
    arms = (
        *polyline([(x - reach, y), (x + reach, y)]),
        *polyline([(x, y - reach), (x, y + reach)]),
    )
    return [Path(commands=arms, pen=PENS["leader"])]
