"""Degrees round a corner of the neat line, to lay a bearing off by hand."""

from __future__ import annotations

import math
from collections.abc import Sequence

import shapely
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from traverse.ground.records import Traverse
from traverse.sheet.map.framing import Framing, walked_band
from traverse.sheet.paper.fonts import CAP_HEIGHT, width_mm
from traverse.sheet.paper.labels import shapes_in
from traverse.sheet.paper.page import Anchor, Box, Command, Face, Group, Item, Path, Point, Text, polyline
from traverse.sheet.paper.style import MM_PER_POINT, PENS, SMALL, WHITE
from traverse.sheet.paper.words import azimuth

_RADII_MM = (32.0, 26.0)
_NUMBERED_MM = 30.0
"""On a smaller arc every second figure is left out."""
_TICKS = ((10, 2.4), (2, 1.2))
"""Every so many degrees a tick so long; single degrees would run together in a copy."""
_FIGURES_MM = 5.0
"""From the arc to the middle of a figure."""
_WORDS = ("degrees from", "grid north")
_OFF_LINE_MM = 1.4
"""From the neat line to the words."""
_UP_MM = 4.8
"""From the neat line below to the middle of both lines of them."""
_LEAST_SHARE = 0.45
"""Of the shorter side of the map, the most that a scale takes."""


def degree_scales(trav: Traverse, framing: Framing, *, off: Sequence[Item] = ()) -> tuple[Item, ...]:
    """A quarter of a circle in a corner that has the room, and one for the other quarters where a second has it; `off` lines besides.

    Its figures are the azimuths of lines that leave the corner, from grid north; the neat line is their first and last.
    """
    box = framing.window.box
    busy = shapely.union_all([_busy(trav, framing), *shapes_in(off)])
    items: list[Item] = []
    for pair in (((0.0, 0.0), (1.0, 1.0)), ((1.0, 0.0), (0.0, 1.0))):
        # Two corners that lie opposite each other serve the same lines.
        for radius in _RADII_MM:
            if radius > _LEAST_SHARE * min(box.width, box.height):
                continue
            found = [corner for corner in pair if not _quarter(box, corner, radius).intersects(busy)]
            if found:
                items.append(Group(items=tuple(_drawn(box, found[0], radius))))
                break
    return tuple(items)


def _busy(trav: Traverse, framing: Framing) -> BaseGeometry:
    """What the scale keeps clear of, on the page: the band with its labels, the norths, the lines of section."""
    window = framing.window
    per_m = 1000.0 / window.scale
    lines = [shapely.LineString(one.line) for one in trav.geology.sections if len(one.line) > 1]
    ground = shapely.union_all(
        [
            walked_band(trav, beyond_m=_CLEAR_MM / per_m),
            *(line.buffer(_CLEAR_MM / per_m) for line in lines),
        ]
    )
    placed = affine_transform(ground, [per_m, 0.0, 0.0, per_m, *window.at(0.0, 0.0)])
    norths = framing.norths
    return placed.union(shapely.box(norths.x, norths.y, norths.right, norths.top))


_CLEAR_MM = 2.0


def _quarter(box: Box, corner: Point, radius: float) -> BaseGeometry:
    """The ground that a scale in a corner takes."""
    x, y = box.x + corner[0] * box.width, box.y + corner[1] * box.height
    return shapely.Point(x, y).buffer(radius + 1.0)


def _drawn(box: Box, corner: Point, radius: float) -> list[Item]:
    """Arc, ticks on its inner side, and figures inside these."""
    x, y = box.x + corner[0] * box.width, box.y + corner[1] * box.height
    first = _first_deg(corner)

    def at(reach: float, degree: float) -> Point:
        turn = math.radians(degree)
        return (x + reach * math.sin(turn), y + reach * math.cos(turn))

    commands: list[Command] = [*polyline([at(radius, first + step) for step in range(91)])]
    figures: list[Item] = []
    half = CAP_HEIGHT * SMALL * MM_PER_POINT / 2.0
    for step in range(1, 90):
        length = next((long for every, long in _TICKS if step % every == 0), 0.0)
        if not length:
            continue
        commands += polyline([at(radius, first + step), at(radius - length, first + step)])
        if step % (10 if radius >= _NUMBERED_MM else 20) == 0:
            middle = at(radius - _FIGURES_MM, first + step)
            figures.append(_words(azimuth(first + step), (middle[0], middle[1] - half)))
    # Clear of the neat line, and of the figures: low in the corner, as wide as they are.
    aside = max(width_mm(words, Face.ITALIC, SMALL) for words in _WORDS) / 2.0 + _OFF_LINE_MM
    middle = (x + (aside if corner[0] == 0.0 else -aside), y + (1.0 if corner[1] == 0.0 else -1.0) * _UP_MM)
    figures += [
        _words(words, (middle[0], middle[1] + 0.6 - 3.0 * line), Face.ITALIC)
        for line, words in enumerate(_WORDS)
    ]
    return [Path(commands=tuple(commands), pen=PENS["tick"]), *figures]


def _first_deg(corner: Point) -> float:
    """Azimuth of the edge from which a corner's quarter turns clockwise to the other edge.

    >>> [_first_deg(corner) for corner in ((0.0, 0.0), (0.0, 1.0), (1.0, 1.0), (1.0, 0.0))]
    [0.0, 90.0, 180.0, 270.0]
    """
    right, up = corner
    return (180.0 if up else 270.0) if right else (90.0 if up else 0.0)


def _words(words: str, at: Point, face: Face = Face.REGULAR) -> Text:
    return Text(at=at, text=words, face=face, size_pt=SMALL, anchor=Anchor.MIDDLE, halo=WHITE)
