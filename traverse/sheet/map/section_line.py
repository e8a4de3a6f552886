"""The line of a section on the map: ticks at its ends, and letters beyond them."""

from __future__ import annotations

import math

from shapely import LineString
from shapely.geometry.base import BaseGeometry

from traverse.sheet.map.halo import Grounds
from traverse.sheet.paper.labels import Taken, boxes_at, label, text_size
from traverse.sheet.paper.page import Face, Item, Path, Point, Text, polyline
from traverse.sheet.paper.style import LARGE, PENS
from traverse.sheet.paper.window import Window
from traverse.sheet.paper.words import end_letter
from traverse.structure.section.records import Section

_TICK_MM = 2.6
_BEYOND_MM = (3.0, 3.7, 4.5, 5.5, 6.5, 8.0, 10.0)
"""From an end to the middle of its letter; farther where something stands there."""
_CLEAR_MM = 1.0
"""Air about a letter: it must not be read with the sign of a station."""


def _points(section: Section, window: Window) -> list[Point]:
    """The line on the page; empty where it has no length."""
    points = [window.at(east, north) for east, north in section.line]
    return [] if len(points) < 2 or points[0] == points[-1] else points


def _ends(points: list[Point]) -> tuple[tuple[Point, float], tuple[Point, float]]:
    """Both ends, and the direction in radians clockwise from up in which the line would run on beyond each."""
    (first, second), (before, last) = points[:2], points[-2:]
    return (
        (first, math.atan2(first[0] - second[0], first[1] - second[1])),
        (last, math.atan2(last[0] - before[0], last[1] - before[1])),
    )


def draw_section_line(section: Section, window: Window) -> tuple[list[Item], list[BaseGeometry]]:
    """The line with a tick at each end toward the reader, and the shapes that labels keep off."""
    points = _points(section, window)
    if not points:
        return [], []
    items: list[Item] = [Path(commands=polyline(points), pen=PENS["section line"])]
    shapes: list[BaseGeometry] = [LineString(points).buffer(0.2, quad_segs=1)]
    # Both ticks stand on the left of the line as it runs from its first end.
    for (end, away), turn in zip(_ends(points), (math.pi / 2, -math.pi / 2), strict=True):
        tip = (end[0] + _TICK_MM * math.sin(away + turn), end[1] + _TICK_MM * math.cos(away + turn))
        items.append(Path(commands=polyline([end, tip]), pen=PENS["section end"]))
        shapes.append(LineString([end, tip]).buffer(0.4, quad_segs=1))
    return items, shapes


def letter_ends(section: Section, window: Window, taken: Taken, grounds: Grounds) -> list[Text]:
    """Letters beyond the ends, farther out where something stands there."""
    points = _points(section, window)
    if not points:
        return []
    found: list[Text] = []
    letters = (end_letter(section.first_letter), end_letter(section.last_letter))
    for (end, away), letter in zip(_ends(points), letters, strict=True):
        wide, high = text_size(letter, Face.BOLD, LARGE)
        size = (wide + 2 * _CLEAR_MM, high + 2 * _CLEAR_MM)
        centres = [
            (end[0] + out * math.sin(away + turn), end[1] + out * math.cos(away + turn))
            for out in _BEYOND_MM
            for turn in (0.0, 0.35, -0.35, 0.7, -0.7, 1.0, -1.0)
        ]
        centre = taken.first(centres, size)
        if centre is None:
            centre = centres[0]
            taken.add(boxes_at([centre], size)[0])
        found.append(label(letter, centre, face=Face.BOLD, size_pt=LARGE, halo=grounds.halo(centre, size)))
    return found
