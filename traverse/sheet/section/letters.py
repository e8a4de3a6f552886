"""Letters of the coloured ground of the section."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from shapely import LineString
from shapely import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from traverse.sheet.paper.fonts import CAP_HEIGHT, width_mm
from traverse.sheet.paper.growing import GrowingBoxes, shapes_of
from traverse.sheet.paper.labels import boxes_at, cheapest, label, text_size
from traverse.sheet.paper.page import Face, Item, Path, Point, Role, Text, polyline
from traverse.sheet.paper.style import LARGE, MM_PER_POINT, PENS
from traverse.sheet.section.fills import Fill
from traverse.sheet.section.strip_frame import StripFrame
from traverse.structure.section.records import Section

_AWAY_MM = 3.2
"""From the middle of letters to their piece, farther than which a leader joins them."""

_SAME_MM = 1e-6

_COVERED_MM2 = 0.15
"""Area of a figure that letters may cover: a hair."""

_SEEN_MM2 = 0.5
"""A piece smaller than this under the lines about it is not seen: letters would name what lies beside it."""

_ON_LINE_MM = 0.2
"""Ground that ends so near to a line ends at it."""

_OFF_AXIS_MM = 0.8
"""From letters to the upright axes."""
_OFF_FLOOR_MM = 1.6
"""From letters to the floor: the bar of evidence lies along it, and covers what reaches there."""
_OVER_AXIS = 20.0
"""Cost of letters that an axis or that bar strikes out."""
_TOO_MUCH = 90.0
"""At this cost letters are left off."""
_LEVEL = 15.0
"""Cost of a leader that could be taken for a contact."""
_LEVEL_RISE = math.tan(math.radians(25.0))


def letters_of(
    section: Section,
    frame: StripFrame,
    depth_m: float,
    placed: GrowingBoxes,
    lines: GrowingBoxes,
    fills: Sequence[Fill],
    parting: Sequence[LineString],
) -> list[Item]:
    """Letters of each coloured piece: in its colour, else close below it, else above ground.

    Pieces that hold their letters come first, so that no leader of another runs through them. `parting` are the lines
    beyond which it is another unit's.
    """
    items: list[Item] = []
    lettered = GrowingBoxes()
    apart = shapely.union_all(parting)
    fills = [fill for fill in fills if fill.area.area >= _SEEN_MM2]
    sizes = [text_size(fill.of.unit, Face.SEMIBOLD, LARGE) for fill in fills]
    within = [[] if fill.of.base else _inside(fill, size) for fill, size in zip(fills, sizes, strict=True)]
    for index in sorted(
        range(len(fills)), key=lambda one: 0.0 if within[one] else 1.0 / fills[one].area.area
    ):
        fill, size = fills[index], sizes[index]
        beside = _beside(fill, section, frame, depth_m)
        # In a crowd letters over an axis count for more than none.
        places = within[index] + [(cost, _held(at, size, frame)) for cost, at in beside] + beside
        boxes = boxes_at([at for _, at in places], size)
        left, low, right, top = boxes.T
        costs = np.array([cost for cost, _ in places])
        costs += 12.0 * placed.overlap(boxes) + 8.0 * lines.overlap(boxes)
        # Two letters on each other name nothing: the legend has the colour.
        costs += np.where(lettered.overlap(boxes) > _COVERED_MM2, _TOO_MUCH, 0.0)
        costs += np.where((low > frame.box.y + 0.3) & (top < frame.box.top), 0.0, _TOO_MUCH)
        clear = (left > frame.box.x + _OFF_AXIS_MM) & (right < frame.box.right - _OFF_AXIS_MM)
        costs += np.where(clear, 0.0, _OVER_AXIS)
        middles = (left + right) / 2.0
        costs += np.where((middles > frame.box.x) & (middles < frame.box.right), 0.0, _OVER_AXIS)
        costs += np.where(low > frame.box.y + _OFF_FLOOR_MM - _SAME_MM, 0.0, _OVER_AXIS)
        leaders: dict[int, tuple[Point, Point] | None] = {}
        # A leader makes no place cheaper: it is laid at those alone that are the cheapest so far.
        while (best := cheapest(costs)) not in leaders and costs[best] < _TOO_MUCH:
            leader = _leader(places[best][1], float(low[best]), float(top[best]), fill, apart)
            leaders[best] = leader
            costs[best] += _TOO_MUCH if _struck(leader, placed) else 0.0
            costs[best] += _LEVEL if _is_level(leader) else 0.0
        if costs[best] < _TOO_MUCH:
            at = places[best][1]
            placed.add(boxes[best])
            lettered.add(boxes[best])
            if (leader := leaders[best]) is not None:
                items.append(Path(commands=polyline(leader), pen=PENS["leader"]))
                lines.add_line(*leader)
            items.append(label(fill.of.unit, at, face=Face.SEMIBOLD, size_pt=LARGE, role=Role.UNIT_LETTERS))
    return items


def letters_at_depth(
    named: Sequence[Fill], frame: StripFrame, placed: GrowingBoxes, lines: GrowingBoxes
) -> list[Item]:
    """Letters of ground deeper than the colour, lighter, where a piece holds them clear of all that stands there."""
    items: list[Item] = []
    for one in named:
        size = text_size(one.of.unit, Face.REGULAR, LARGE)
        places = _inside(one, size)
        if not places:
            continue
        boxes = boxes_at([at for _, at in places], size)
        left, _, right, _ = boxes.T
        over = placed.overlap(boxes) + lines.overlap(boxes)
        clear = (left > frame.box.x + _OFF_AXIS_MM) & (right < frame.box.right - _OFF_AXIS_MM)
        costs = np.array([cost for cost, _ in places]) + np.where((over > 0.0) | ~clear, _TOO_MUCH, 0.0)
        best = cheapest(costs)
        if costs[best] < _TOO_MUCH:
            placed.add(boxes[best])
            items.append(
                label(one.of.unit, places[best][1], face=Face.REGULAR, size_pt=LARGE, role=Role.UNIT_LETTERS)
            )
    return items


def off_letters(figures: Sequence[Text], letters: Iterable[Item]) -> list[Text]:
    """Figures that no letters cover: in a crowd a unit's letters count for more than one of many dips."""
    boxes = GrowingBoxes()
    for one in letters:
        if isinstance(one, Text):
            boxes.add(_box(one))
    return [one for one in figures if boxes.overlap(np.array([_box(one)]))[0] <= _COVERED_MM2]


def _box(text: Text) -> tuple[float, float, float, float]:
    """Of a text about its middle, from its base line, without air."""
    wide, high = width_mm(text.text, text.face, text.size_pt), CAP_HEIGHT * text.size_pt * MM_PER_POINT
    x, y = text.at
    return (x - wide / 2.0, y, x + wide / 2.0, y + high)


def _leader(
    at: Point, low: float, top: float, fill: Fill, parting: BaseGeometry
) -> tuple[Point, Point] | None:
    """From letters that stand well away from their piece, or beyond a line of it, to a point in it; None where they need none.

    Beyond a contact the ground is another unit's: letters there would name that.
    """
    middle = ShapelyPoint(at)
    if fill.area.distance(middle) < _AWAY_MM:
        way = shapely.shortest_line(middle, fill.area)
        # A contact may be the edge itself.
        if way.length < _SAME_MM or way.distance(parting) > _ON_LINE_MM:
            return None
    inside = fill.area.representative_point()
    return (at[0], top + 0.3 if inside.y > top + 0.3 else low - 0.3), (inside.x, inside.y)


def _is_level(leader: tuple[Point, Point] | None) -> bool:
    """Whether a leader lies as gentle contacts do.

    >>> _is_level(((0.0, 0.0), (10.0, 1.0))), _is_level(((0.0, 0.0), (1.0, -8.0))), _is_level(None)
    (True, False, False)
    """
    if leader is None:
        return False
    (x0, y0), (x1, y1) = leader
    return abs(y1 - y0) < _LEVEL_RISE * abs(x1 - x0)


def _struck(leader: tuple[Point, Point] | None, placed: GrowingBoxes) -> bool:
    """Whether a leader runs through words that stand already."""
    if leader is None:
        return False
    (x0, y0), (x1, y1) = leader
    near = placed.near(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))
    return bool(len(near)) and bool(shapely.intersects(shapes_of(near), LineString(leader)).any())


def _inside(fill: Fill, size: tuple[float, float]) -> list[tuple[float, Point]]:
    """Places in a coloured piece that hold its letters whole, with a cost that grows away from its middle."""
    left, low, right, high = fill.area.bounds
    if right - left < 1.0 or high - low < 1.0:
        return []
    middle = fill.area.representative_point()
    # A band that lies askew in its box holds its letters between the places of a coarse grid.
    for columns, rows in ((12, 8), (48, 32)):
        places = [
            (left + (right - left) * column / columns, low + (high - low) * row / rows)
            for column in range(1, columns)
            for row in range(1, rows)
        ]
        whole = shapely.contains(fill.area, shapes_of(boxes_at(places, size)))
        if whole.any():
            break
    return [
        (0.02 * math.hypot(at[0] - middle.x, at[1] - middle.y), at)
        for at, held in zip(places, whole.tolist(), strict=True)
        if held
    ]


def _held(at: Point, size: tuple[float, float], frame: StripFrame) -> Point:
    """The place, or the nearest to it at which letters stand clear of the upright axes and of what lies along the floor."""
    box, (wide, high) = frame.box, size
    aside = _OFF_AXIS_MM + wide / 2.0 + _SAME_MM
    if box.width < 2.0 * aside:
        return at
    return min(max(at[0], box.x + aside), box.right - aside), max(at[1], box.y + _OFF_FLOOR_MM + high / 2.0)


def _beside(fill: Fill, section: Section, frame: StripFrame, depth_m: float) -> list[tuple[float, Point]]:
    """Places under the colour and over the ground, where a piece is too small for its letters."""
    run = fill.of
    deep_mm = depth_m * frame.mm_per_m * frame.exaggeration
    under = fill.area.centroid.x
    base = frame.y(section.ground_at(frame.place((under, 0.0))[0])) - deep_mm
    below = [(0.0, 2.4), (1.0, 4.0), (2.0, 6.0)]
    aside = [(0.0, 0.0), (0.6, 3.0), (0.6, -3.0), (1.2, 6.0), (1.2, -6.0)]
    found = [
        (3.0 + deep_cost + aside_cost, (under + shift, base - deep))
        for deep_cost, deep in below
        for aside_cost, shift in aside
        if not fill.of.base
    ]
    for aside_cost, share in ((0.0, 0.5), (0.0, 0.3), (0.0, 0.7), (0.4, 0.1), (0.4, 0.9)):
        distance = run.start_m + share * (run.end_m - run.start_m)
        x, y = frame.at((distance, section.ground_at(distance)))
        found += [(3.2 + aside_cost + 0.6 * (high - 2.6), (x, y + high)) for high in (2.6, 4.2, 6.0)]
    return found
