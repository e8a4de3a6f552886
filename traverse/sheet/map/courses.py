"""Lines of the ground that the walk met: streams, paths, walls and their kin, joined by name."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import pairwise

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from traverse.log.records import Crossing, GroundLine
from traverse.record import record
from traverse.sheet.paper.fonts import width_mm
from traverse.sheet.paper.labels import Taken
from traverse.sheet.paper.page import Anchor, Command, Face, Item, Path, Point, Text
from traverse.sheet.paper.style import GREY_25, MM_PER_POINT, PENS, SMALL, WATER
from traverse.sheet.paper.window import Window
from traverse.sheet.signs.symbols import symbol
from traverse.structure.records import Geology

_BEYOND_MM = 9.0
"""How far a line runs on beyond the band from where it was met: it was seen there, not walked. With a name, as far
as the name is long."""
_FAR_MM = 30.0
_LEAST_MM = 4.0
"""Less of a line than this in the window needs no name there, and a stream no arrowhead."""
_RAY_MM = 80.0
_ARROW_IN_MM = 2.0
"""From the edge of the map, or where a stream ends, to the middle of its arrowhead."""
_TWO_ARROWS_MM = 40.0
"""A stream shorter than this on the map has one arrowhead, at its lower end."""


@record(frozen=True, kw_only=True)
class Course:
    """One line of the ground on paper."""

    kind: GroundLine
    name: str | None
    commands: tuple[Command, ...]
    line: LineString
    """The same, as straight pieces."""


@record(frozen=True, kw_only=True)
class _Met:
    at: Point
    turn_rad: float
    """Of its course on the page, clockwise from up."""


def courses(geology: Geology, window: Window, edge: BaseGeometry | None) -> tuple[Course, ...]:
    """Every line of the ground: a curve through the places of one name, in the direction it runs at each."""
    by_name: dict[tuple[GroundLine, str], list[_Met]] = defaultdict(list)
    for index, thing in enumerate(geology.things):
        record = thing.record
        if not isinstance(record, Crossing) or thing.azimuth_deg is None:
            continue
        key = (record.kind, record.name or f"\x00{index}")
        by_name[key].append(
            _Met(
                at=window.at(thing.place.east_m, thing.place.north_m),
                turn_rad=math.radians(window.turn_deg(thing.azimuth_deg)),
            )
        )
    found: list[Course] = []
    for (kind, name), met in by_name.items():
        named = "" if name.startswith("\x00") else name
        beyond = max(_BEYOND_MM, min(width_mm(named, Face.ITALIC, SMALL) + 3.0, _FAR_MM))
        commands, line = _curve(_along(met), beyond, edge)
        found.append(
            Course(
                kind=kind,
                name=named or None,
                commands=commands,
                line=line,
            )
        )
    return tuple(found)


def _along(met: list[_Met]) -> list[_Met]:
    """In the order in which the line passes them; a course walked upstream is turned round where it must be."""
    east = sum(math.sin(one.turn_rad) for one in met)
    north = sum(math.cos(one.turn_rad) for one in met)
    return sorted(met, key=lambda one: one.at[0] * east + one.at[1] * north)


def _curve(
    met: list[_Met], beyond: float, edge: BaseGeometry | None
) -> tuple[tuple[Command, ...], LineString]:
    """Through the places met, and on to both sides by so much beyond the ground looked at."""

    def step(one: _Met, length: float) -> Point:
        return (one.at[0] + length * math.sin(one.turn_rad), one.at[1] + length * math.cos(one.turn_rad))

    def leaves(one: _Met, way: float) -> float:
        """How far it runs from there before it leaves the band."""
        if edge is None:
            return 0.0
        ray = LineString([one.at, step(one, way * _RAY_MM)]).intersection(edge)
        here = shapely.Point(one.at)
        return max(
            (part.length for part in shapely.get_parts(ray) if part.distance(here) < 1e-6), default=0.0
        )

    start = step(met[0], -beyond - leaves(met[0], -1.0))
    commands: list[Command] = [("M", *start), ("L", *met[0].at)]
    points = [start, met[0].at]
    for before, after in pairwise(met):
        handle = math.dist(before.at, after.at) / 3.0
        first, second = step(before, handle), step(after, -handle)
        commands.append(("C", *first, *second, *after.at))
        for index in range(1, 13):
            t = index / 12.0
            weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
            corners = (before.at, first, second, after.at)
            points.append(
                (
                    sum(w * corner[0] for w, corner in zip(weights, corners, strict=True)),
                    sum(w * corner[1] for w, corner in zip(weights, corners, strict=True)),
                )
            )
    end = step(met[-1], beyond + leaves(met[-1], 1.0))
    commands.append(("L", *end))
    points.append(end)
    return tuple(commands), LineString(points)


def draw_courses(found: tuple[Course, ...], window: Window) -> tuple[tuple[Item, ...], tuple[str, ...]]:
    """The lines, streams with arrowheads down the flow."""
    box = window.box
    inside = shapely.box(box.x, box.y, box.right, box.top)
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
    found: tuple[Course, ...], window: Window, taken: Taken, *, avoid: BaseGeometry | None
) -> tuple[tuple[Item, ...], tuple[str, ...]]:
    """Names along the lines, off the band where that can be, and the names that found no place."""
    items: list[Item] = []
    left: list[str] = []
    box = window.box
    inside = shapely.box(box.x, box.y, box.right, box.top)
    for course in found:
        stream = course.kind is GroundLine.STREAM
        name = course.name or ("" if stream else course.kind.value)
        shown = course.line.intersection(inside)
        if not name or shown.length < _LEAST_MM:
            continue
        face = Face.ITALIC if stream else Face.REGULAR
        text = _beside(shown, name, face, taken, avoid, course.kind)
        if text is None:
            left.append(name)
        else:
            items.append(text)
    return tuple(items), tuple(left)


def _beside(
    line: BaseGeometry, name: str, face: Face, taken: Taken, avoid: BaseGeometry | None, kind: GroundLine
) -> Text | None:
    """A turned label beside the line."""
    wide = width_mm(name, face, SMALL)
    high = SMALL * MM_PER_POINT * 0.75
    spare: tuple[Text, BaseGeometry] | None = None
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
            for aside in (0.9, -high - 0.3):
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
                text = Text(
                    at=(x, y),
                    text=name,
                    face=face,
                    size_pt=SMALL,
                    colour=WATER if kind is GroundLine.STREAM else GREY_25,
                    anchor=Anchor.START,
                    turn_deg=math.degrees(turn),
                )
                if avoid is None or not avoid.intersects(shape):
                    taken.block(shape)
                    return text
                spare = spare or (text, shape)
    if spare is None:
        return None
    taken.block(spare[1])
    return spare[0]
