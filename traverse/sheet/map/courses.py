"""Streams, paths, walls and their kin on the map, and their names along them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from traverse.ground.records import Course
from traverse.ground.records import Point as GroundPoint
from traverse.log.items import GroundLine
from traverse.record import record
from traverse.sheet.map.on_page import frame_of, on_page
from traverse.sheet.paper.fonts import width_mm
from traverse.sheet.paper.labels import Taken
from traverse.sheet.paper.page import Anchor, Command, Face, Item, Path, Text
from traverse.sheet.paper.style import GREY_25, MM_PER_POINT, PENS, SMALL, WATER
from traverse.sheet.paper.window import Window
from traverse.sheet.signs.symbols import symbol

_LEAST_MM = 4.0
"""Less of a line than this in the window needs no name there, and a stream no arrowhead."""
_ARROW_IN_MM = 2.0
"""From the edge of the map, or where a stream ends, to the middle of its arrowhead."""
_TWO_ARROWS_MM = 40.0
"""A stream shorter than this on the map has one arrowhead, at its lower end."""


@record(frozen=True, kw_only=True)
class DrawnCourse:
    """One line of the ground on paper."""

    kind: GroundLine
    name: str | None
    commands: tuple[Command, ...]
    line: LineString
    """The same, as straight pieces."""


def courses_on_page(courses: Sequence[Course], window: Window) -> tuple[DrawnCourse, ...]:
    """Every line of the ground."""
    return tuple(
        DrawnCourse(
            kind=one.kind,
            name=one.name,
            commands=(
                ("M", *window.at(*one.start)),
                ("L", *window.at(*one.met)),
                *(_curve(curve, window) for curve in one.curves),
                ("L", *window.at(*one.end)),
            ),
            line=on_page(one.line, window),
        )
        for one in courses
    )


def _curve(curve: tuple[GroundPoint, GroundPoint, GroundPoint], window: Window) -> Command:
    first, second, end = (window.at(*place) for place in curve)
    return ("C", *first, *second, *end)


def draw_courses(found: tuple[DrawnCourse, ...], window: Window) -> tuple[tuple[Item, ...], tuple[str, ...]]:
    """The lines, streams with arrowheads down the flow."""
    inside = frame_of(window)
    items: list[Item] = []
    signs: dict[str, None] = {}
    for course in found:
        items.append(Path(commands=course.commands, pen=PENS[course.kind.value]))
        signs[course.kind.value] = None
        if course.kind is GroundLine.STREAM:
            shown = [
                one for one in shapely.get_parts(course.line.intersection(inside)) if one.length > _LEAST_MM
            ]
            for line, at in _arrows(shown):
                tip, back = line.interpolate(at), line.interpolate(at - 1.0)
                turn = math.degrees(math.atan2(tip.x - back.x, tip.y - back.y))
                items += symbol("flow", (tip.x, tip.y), turn_deg=turn)
                signs["flow"] = None
    return tuple(items), tuple(signs)


def _arrows(shown: Sequence[LineString]) -> Iterator[tuple[LineString, float]]:
    """Lines and distances along them: near the lower edge of the map, and near the upper one of a long stream."""
    if not shown:
        return
    if sum(one.length for one in shown) > _TWO_ARROWS_MM:
        yield shown[0], min(_ARROW_IN_MM + 2.0, shown[0].length - 1.0)
    yield shown[-1], shown[-1].length - _ARROW_IN_MM


def name_courses(
    found: tuple[DrawnCourse, ...], window: Window, taken: Taken, *, avoid: BaseGeometry | None
) -> tuple[tuple[Item, ...], tuple[str, ...]]:
    """Names along the lines, off the band where that can be, and the names that found no place."""
    items: list[Item] = []
    left: list[str] = []
    inside = frame_of(window)
    for course in found:
        stream = course.kind is GroundLine.STREAM
        name = course.name or ("" if stream else course.kind.value)
        shown = course.line.intersection(inside)
        if not name or shown.length < _LEAST_MM:
            continue
        face = Face.ITALIC if stream else Face.REGULAR
        text: Text | None = None
        # Along it, else level at an end; over what was seen if it must be.
        for off in (avoid, None) if avoid is not None else (None,):
            text = text or _beside(shown, name, face, taken, off, course.kind)
            text = text or _at_end(shown, name, face, taken, inside, course.kind, off)
        if text is None:
            left.append(name)
        else:
            items.append(text)
    return tuple(items), tuple(left)


def _at_end(
    line: BaseGeometry,
    name: str,
    face: Face,
    taken: Taken,
    inside: BaseGeometry,
    kind: GroundLine,
    avoid: BaseGeometry | None,
) -> Text | None:
    """A level label off either end of the line."""
    wide, high = width_mm(name, face, SMALL), SMALL * MM_PER_POINT * 0.75
    for piece in shapely.get_parts(line):
        for x, y in (piece.coords[0], piece.coords[-1]) if not piece.is_empty else ():
            for left in (x + 0.8, x - 0.8 - wide, x - wide / 2.0):
                for low in (y - high / 2.0, y + 0.8, y - 0.8 - high):
                    shape = shapely.box(left, low - 0.4, left + wide, low + high)
                    if piece.intersects(shape) or not inside.contains(shape) or not taken.free_shape(shape):
                        continue
                    if avoid is not None and avoid.intersects(shape):
                        continue
                    taken.block(shape)
                    colour = WATER if kind is GroundLine.STREAM else GREY_25
                    return Text(at=(left, low), text=name, face=face, size_pt=SMALL, colour=colour)
    return None


def _beside(
    line: BaseGeometry,
    name: str,
    face: Face,
    taken: Taken,
    avoid: BaseGeometry | None,
    kind: GroundLine,
) -> Text | None:
    """A turned label beside the line."""
    wide = width_mm(name, face, SMALL)
    high = SMALL * MM_PER_POINT * 0.75
    for piece in shapely.get_parts(line):
        if piece.is_empty:
            # The line passes beside the window.
            continue
        steps = int(piece.length)
        order = sorted(range(steps + 1), key=lambda one: abs(one - steps / 2))
        for index in order:
            at = piece.interpolate(index)
            back = piece.interpolate(max(0.0, index - wide / 2))
            ahead = piece.interpolate(min(piece.length, index + wide / 2))
            dx, dy = ahead.x - back.x, ahead.y - back.y
            if math.hypot(dx, dy) < 0.6 * wide:
                continue
            if dx < 0.0:
                dx, dy = -dx, -dy
            turn = math.atan2(dy, dx)
            for aside in (0.9, -high - 0.8):
                x = at.x - math.sin(turn) * aside - math.cos(turn) * wide / 2
                y = at.y + math.cos(turn) * aside - math.sin(turn) * wide / 2
                corners = [(0.0, -0.4), (wide, -0.4), (wide, high), (0.0, high)]
                shape = shapely.Polygon(
                    [
                        (
                            x + u * math.cos(turn) - v * math.sin(turn),
                            y + u * math.sin(turn) + v * math.cos(turn),
                        )
                        for u, v in corners
                    ]
                )
                if shape.intersects(piece) or not taken.free_shape(shape):
                    continue
                if avoid is not None and avoid.intersects(shape):
                    continue
                text = Text(
                    at=(x, y),
                    text=name,
                    face=face,
                    size_pt=SMALL,
                    colour=WATER if kind is GroundLine.STREAM else GREY_25,
                    anchor=Anchor.START,
                    turn_deg=math.degrees(turn),
                )
                taken.block(shape)
                return text
    return None
