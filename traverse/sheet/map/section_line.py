"""The line of a section on the map: arrows at its ends, and letters beyond them."""

from __future__ import annotations

import math
from collections.abc import Iterable

from shapely import LineString
from shapely.geometry.base import BaseGeometry

from traverse.sheet.paper.labels import Taken, boxes_at, framed_letter, text_size
from traverse.sheet.paper.page import Face, Item, Path, Point, polyline
from traverse.sheet.paper.style import BLACK, LARGE, PENS
from traverse.sheet.paper.window import Window
from traverse.sheet.paper.words import end_letter
from traverse.structure.section.records import Section

_TICK_MM = 3.4
_HEAD_MM, _HEAD_WIDE_MM = 1.5, 1.3
"""An arrow the way the section is looked at: a bare tick would be read as the bar of a strike."""
_AT_STATION_MM, _BEYOND_SIGN_MM = 1.5, 2.8
_BEYOND_MM = (3.0, 3.7, 4.5, 5.5, 6.5, 8.0, 10.0, 12.0)
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


def draw_section_line(
    section: Section, window: Window, stations: Iterable[Point]
) -> tuple[list[Item], list[BaseGeometry]]:
    """The line with an arrow at each end the way it is looked at, and the shapes that labels keep off.

    Where an end is one of the `stations`, its arrow stands beyond the sign of that one.
    """
    points = _points(section, window)
    if not points:
        return [], []
    items: list[Item] = [Path(commands=polyline(points), pen=PENS["section line"])]
    shapes: list[BaseGeometry] = [LineString(points).buffer(0.2, quad_segs=1)]
    # Both point to the left of the line as it runs from its first end: so the first end is on the reader's left.
    there = tuple(stations)
    for (at, away), turn in zip(_ends(points), (math.pi / 2, -math.pi / 2), strict=True):
        off = _BEYOND_SIGN_MM if any(math.dist(at, one) < _AT_STATION_MM for one in there) else 0.0
        end = (at[0] + off * math.sin(away), at[1] + off * math.cos(away))
        tip = (end[0] + _TICK_MM * math.sin(away + turn), end[1] + _TICK_MM * math.cos(away + turn))
        items += _looking(end, tip)
        shapes.append(LineString([end, tip]).buffer(0.6, quad_segs=1))
    return items, shapes


def _looking(end: Point, tip: Point) -> tuple[Path, Path]:
    """A line from an end of the section, with a head."""
    long = math.dist(end, tip)
    along = ((tip[0] - end[0]) / long, (tip[1] - end[1]) / long)
    foot = (tip[0] - _HEAD_MM * along[0], tip[1] - _HEAD_MM * along[1])
    aside = (-along[1] * _HEAD_WIDE_MM / 2.0, along[0] * _HEAD_WIDE_MM / 2.0)
    corners = [tip, (foot[0] + aside[0], foot[1] + aside[1]), (foot[0] - aside[0], foot[1] - aside[1])]
    return (
        Path(commands=polyline([end, foot]), pen=PENS["section end"]),
        Path(commands=polyline(corners, close=True), fill=BLACK),
    )


def letter_ends(section: Section, window: Window, taken: Taken) -> list[Item]:
    """Letters beyond the ends that the window shows, farther out where something stands there."""
    points = _points(section, window)
    if not points:
        return []
    found: list[Item] = []
    letters = (end_letter(section.first_letter), end_letter(section.last_letter))
    for (end, away), letter in zip(_ends(points), letters, strict=True):
        if not window.shows(end):
            continue
        wide, high = text_size(letter, Face.BOLD, LARGE)
        size = (wide + 2 * _CLEAR_MM, high + 2 * _CLEAR_MM)
        centres = [
            (end[0] + out * math.sin(away + turn), end[1] + out * math.cos(away + turn))
            for out in _BEYOND_MM
            for turn in (0.0, 0.35, -0.35, 0.7, -0.7, 1.0, -1.0, 1.4, -1.4)
        ]
        centre = taken.first(centres, size)
        if centre is None:
            centre = centres[0]
            taken.add(boxes_at([centre], size)[0])
        found += framed_letter(letter, (centre[0], centre[1] - high / 2))
    return found
