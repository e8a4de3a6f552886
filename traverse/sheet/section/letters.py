"""Letters of the coloured ground of the section."""

from __future__ import annotations

import math
from collections.abc import Sequence

from shapely import Point as ShapelyPoint
from shapely import box as rectangle_of

from traverse.sheet.paper.page import Box, Face, Item, Path, Point, Role, polyline
from traverse.sheet.paper.style import LARGE, PENS
from traverse.sheet.paper.taken import TakenBoxes, centred, text_box
from traverse.sheet.section.fills import Fill
from traverse.sheet.section.strip_frame import StripFrame
from traverse.structure.section.records import Section

_AWAY_MM = 3.2
"""From the middle of letters to their piece, farther than which a leader joins them."""


def letters_of(
    section: Section,
    frame: StripFrame,
    depth_m: float,
    placed: TakenBoxes,
    lines: TakenBoxes,
    fills: Sequence[Fill],
) -> list[Item]:
    """Letters of each coloured piece: in its colour, else close below it, else above ground."""
    items: list[Item] = []
    for fill in fills:
        addresses = [(cost, at) for cost, at in _inside(fill) if not fill.of.base]
        addresses += _beside(fill, section, frame, depth_m)
        boxes = [text_box(at, fill.of.unit, Face.SEMIBOLD, LARGE) for _, at in addresses]
        costs = [
            cost
            + 12.0 * placed.overlap(one)
            + 4.0 * lines.overlap(one)
            + (0.0 if one.y > frame.box.y + 0.3 and one.top < frame.box.top else 90.0)
            + (0.0 if one.x > frame.box.x and one.right < frame.box.right else 8.0)
            for (cost, _), one in zip(addresses, boxes, strict=True)
        ]
        best = costs.index(min(costs))
        if costs[best] < 90.0:
            placed.add(boxes[best])
            items += _leader(addresses[best][1], boxes[best], fill)
            items.append(
                centred(addresses[best][1], fill.of.unit, Face.SEMIBOLD, LARGE, role=Role.UNIT_LETTERS)
            )
    return items


def _leader(at: Point, box: Box, fill: Fill) -> list[Item]:
    """A line from letters that stand well away from their piece, to a point in it."""
    if fill.area.distance(ShapelyPoint(at)) < _AWAY_MM:
        return []
    inside = fill.area.representative_point()
    low, high = box.y - 0.3, box.top + 0.3
    start = (at[0], high if inside.y > high else low)
    return [Path(commands=polyline([start, (inside.x, inside.y)]), pen=PENS["leader"])]


def _inside(fill: Fill) -> list[tuple[float, Point]]:
    """Places in a coloured piece that hold its letters whole, with a cost that grows away from its middle."""
    left, low, right, high = fill.area.bounds
    if right - left < 1.0 or high - low < 1.0:
        return []
    middle = fill.area.representative_point()
    found: list[tuple[float, Point]] = []
    for column in range(1, 12):
        for row in range(1, 8):
            at = (left + (right - left) * column / 12, low + (high - low) * row / 8)
            one = text_box(at, fill.of.unit, Face.SEMIBOLD, LARGE)
            if fill.area.contains(rectangle_of(one.x, one.y, one.right, one.top)):
                found.append((0.02 * math.hypot(at[0] - middle.x, at[1] - middle.y), at))
    return found


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
