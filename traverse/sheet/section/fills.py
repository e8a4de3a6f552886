"""Coloured ground of the section, its letters, and the contacts drawn through it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum

from shapely import Point as ShapelyPoint
from shapely import Polygon, unary_union
from shapely import box as rectangle_of
from shapely.geometry.base import BaseGeometry

from traverse.log.records import Certainty
from traverse.settled import settled_shape
from traverse.sheet.paper.page import Box, Face, Item, Path, Pen, Point, Role, polyline
from traverse.sheet.paper.style import LARGE, PENS, WHITE, UnitStyle
from traverse.sheet.paper.taken import Taken, centred, text_box
from traverse.sheet.section.frame import Frame
from traverse.sheet.section.lines import Cut, Ground, Line, Ray, Run
from traverse.structure.section.records import PointKind
from traverse.trade import PRINTS_LEVEL_DEG

ERODED_MM = 22.0
"""How far what is gone is sketched."""
DOTS_MM = 2.2
"""How much of a line is dotted before it is stopped."""


_AWAY_MM = 3.2
"""From the middle of letters to their piece, farther than which a leader joins them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fill:
    """Coloured ground of one unit, on the page."""

    run: Run
    unit: str
    colour: str
    outline: tuple[Point, ...]
    area: BaseGeometry
    lens: bool = False

    def path(self) -> Path:
        """As it is drawn."""
        return Path(commands=polyline(self.outline, close=True), fill=self.colour, unit=self.unit)


def fills_of(
    cut_m: Cut, ground: Ground, frame: Frame, depth_m: float, styles: Mapping[str, UnitStyle]
) -> list[Fill]:
    """Colour of each run of ground, as deep as it was looked at, its borders along the contacts; lenses last."""
    loose = cut_m.surface_units
    if not cut_m.runs:
        return []
    bottoms = [_foot(run.right, ground, depth_m, otherwise=run.end_m) for run in cut_m.runs[:-1]]
    # Borders that would cross before the colour ends meet half-way instead.
    for index in range(1, len(bottoms)):
        if bottoms[index] < bottoms[index - 1]:
            bottoms[index] = bottoms[index - 1] = (bottoms[index] + bottoms[index - 1]) / 2.0
    # A border that leaves the section goes on beyond its end, where the panel cuts it.
    first = min(0.0, *bottoms, 0.0)
    last = max(float(ground.distance_m[-1]), *bottoms, 0.0)
    tops = [first, *(run.end_m for run in cut_m.runs[:-1]), last]
    feet = [first, *bottoms, last]
    panel = rectangle_of(frame.box.x, frame.box.y, frame.box.right, frame.box.top)
    found: list[Fill] = []

    def add(run: Run, unit: str | None, outline: list[Point]) -> None:
        if unit is None or unit not in styles or len(outline) < 3:
            return
        area = Polygon(outline).buffer(0.0).intersection(panel)
        if not area.is_empty:
            colour = styles[unit].colour
            found.append(Fill(run=run, unit=unit, colour=colour, outline=tuple(outline), area=area))

    for index, run in enumerate(cut_m.runs):
        unit = run.unit
        top = [frame.at((d, ground.at(d))) for d in _along(ground, tops[index], tops[index + 1])]
        if unit in loose:
            # What lies under loose ground is known only where both sides are one unit.
            left = cut_m.runs[index - 1].unit if index else None
            right = cut_m.runs[index + 1].unit if index + 1 < len(cut_m.runs) else None
            unit = left if left == right and left not in loose else None
        start, end = feet[index], max(feet[index], feet[index + 1])
        bottom = [frame.at((d, ground.at(d) - depth_m)) for d in reversed(_along(ground, start, end))]
        add(run, unit, [*top, *bottom])
    return _joined(found) + lenses_of(cut_m.runs, ground, frame, styles, loose)


def _joined(fills: Sequence[Fill]) -> list[Fill]:
    """Pieces of one unit that touch as one, such as the two sides of a lens of loose ground."""
    found: list[Fill] = []
    for fill in fills:
        before = found[-1] if found else None
        if before is not None and before.unit == fill.unit and before.run.end_m >= fill.run.start_m - 1e-6:
            outline = unary_union(
                [settled_shape(Polygon(one.outline).buffer(1e-4)) for one in (before, fill)]
            )
            if isinstance(outline, Polygon):
                found[-1] = replace(
                    before,
                    run=replace(before.run, end_m=fill.run.end_m, right=fill.run.right),
                    outline=tuple((x, y) for x, y in outline.exterior.coords),
                    area=before.area.union(fill.area),
                )
                continue
        found.append(fill)
    return found


def _along(ground: Ground, start: float, end: float) -> list[float]:
    """Distances of the profile between two, both of them included."""
    inside = ground.distance_m[(ground.distance_m > start) & (ground.distance_m < end)]
    return [start, *inside.tolist(), end]


def _foot(line: Line | None, ground: Ground, depth_m: float, *, otherwise: float) -> float:
    """Distance at which a contact comes to the depth where the colour ends."""
    if line is None or line.surface or line.down is None or abs(line.dip_deg) < PRINTS_LEVEL_DEG:
        return otherwise
    step = depth_m / 40.0
    for count in range(1, 2400):
        at = line.down.point(count * step)
        if ground.at(at[0]) - at[1] >= depth_m:
            return at[0]
    return otherwise


def _lens(run: Run, ground: Ground, frame: Frame) -> list[Point]:
    """Base of loose ground as a thin lens of unknown depth, from right to left."""
    deep_mm = min(2.4, 0.25 * (run.end_m - run.start_m) * frame.mm_per_m)
    base: list[Point] = []
    for step in range(13):
        share = step / 12
        distance = run.end_m + share * (run.start_m - run.end_m)
        x, y = frame.at((distance, ground.at(distance)))
        base.append((x, y - deep_mm * 4.0 * share * (1.0 - share)))
    return base


def lenses_of(
    runs: Sequence[Run],
    ground: Ground,
    frame: Frame,
    styles: Mapping[str, UnitStyle],
    loose: frozenset[str],
) -> list[Fill]:
    """Loose ground, coloured down to a base of unknown depth."""
    found: list[Fill] = []
    panel = rectangle_of(frame.box.x, frame.box.y, frame.box.right, frame.box.top)
    for run in runs:
        if run.unit is None or run.unit not in loose or run.unit not in styles:
            continue
        top = [frame.at((d, ground.at(d))) for d in _along(ground, run.start_m, run.end_m)]
        outline = (*top, *_lens(run, ground, frame))
        area = Polygon(outline).buffer(0.0).intersection(panel)
        if not area.is_empty:
            colour = styles[run.unit].colour
            found.append(Fill(run=run, unit=run.unit, colour=colour, outline=outline, area=area, lens=True))
    return found


def lens_lines(runs: Sequence[Run], loose: frozenset[str], ground: Ground, frame: Frame) -> list[Item]:
    """Bases of loose ground."""
    return [
        Path(commands=polyline(_lens(run, ground, frame)), pen=PENS["section depth"])
        for run in runs
        if run.unit in loose
    ]


def contact_lines(cut_m: Cut, ground: Ground, frame: Frame, depth_m: float) -> list[Item]:
    """Lines: near the data by their certainty, long dashes deeper, short grey ones above ground."""
    items: list[Item] = []
    for line in cut_m.lines:
        fault = line.point.kind is PointKind.FAULT
        for ray, most in ((line.down, math.inf), (line.up, ERODED_MM)):
            if ray is None:
                continue
            end = min(ray.end_m, most / _paper(ray, frame))
            stopped = ray.crossed and end == ray.end_m
            dotted = min(end, DOTS_MM / _paper(ray, frame)) if stopped and ray is line.down else 0.0
            for start, stop, state in _split(ray, ground, depth_m, end - dotted):
                items.append(_piece(ray, start, stop, frame, _line_pen(line, state, fault=fault)))
            if dotted:
                items.append(_piece(ray, end - dotted, end, frame, PENS["contact concealed"]))
    return items


def _paper(ray: Ray, frame: Frame) -> float:
    """Millimetres on the page for each metre run."""
    return math.hypot(ray.way[0], ray.way[1] * frame.exaggeration) * frame.mm_per_m


class _Depth(Enum):
    """Where a piece of a line lies."""

    GONE = "above ground"
    NEAR = "as deep as the colour"
    DEEP = "deeper"


def _split(ray: Ray, ground: Ground, depth_m: float, end_m: float) -> list[tuple[float, float, _Depth]]:
    """A half in pieces up to `end_m` by where they lie."""
    if end_m <= 0.0:
        return []

    def state(run: float) -> _Depth:
        at = ray.point(run)
        below = ground.at(at[0]) - at[1]
        return _Depth.GONE if below < 0.0 else _Depth.NEAR if below <= depth_m else _Depth.DEEP

    step = max(depth_m / 20.0, end_m / 400.0)
    pieces: list[tuple[float, float, _Depth]] = []
    start, run, here = 0.0, 0.0, state(min(end_m, step) / 2.0)
    while run < end_m:
        middle = min(end_m, run + step / 2.0)
        if state(middle) is not here:
            pieces.append((start, run, here))
            start, here = run, state(middle)
        run = min(end_m, run + step)
    pieces.append((start, end_m, here))
    return [piece for piece in pieces if piece[1] > piece[0]]


def _line_pen(line: Line, state: _Depth, *, fault: bool) -> Pen:
    if state is _Depth.GONE:
        return PENS["section eroded"]
    if state is _Depth.DEEP:
        return deep_pen(fault=fault)
    return near_pen(line.point.contact.certainty if line.point.contact is not None else None, fault=fault)


def _piece(ray: Ray, start: float, end: float, frame: Frame, pen: Pen) -> Path:
    return Path(commands=polyline([frame.at(ray.point(start)), frame.at(ray.point(end))]), pen=pen)


def near_pen(certainty: Certainty | None, *, fault: bool) -> Pen:
    """Of a line as deep as the colour."""
    if certainty in {None, Certainty.CERTAIN}:
        return PENS["fault certain" if fault else "contact in section"]
    assert certainty is not None
    return PENS[f"{'fault' if fault else 'contact'} {certainty.value}"]


def deep_pen(*, fault: bool) -> Pen:
    """Of a line below the colour."""
    return PENS["fault approximate" if fault else "section depth"]


def tint(at: Point, fills: Sequence[Fill]) -> str:
    """Colour under a place of the page, for the halo of a figure."""
    place = ShapelyPoint(at)
    return next((fill.colour for fill in reversed(fills) if fill.area.contains(place)), WHITE)


def letters_of(
    ground: Ground,
    frame: Frame,
    depth_m: float,
    placed: Taken,
    lines: Taken,
    fills: Sequence[Fill],
) -> list[Item]:
    """Letters of each coloured piece: in its colour, else close below it, else above ground."""
    items: list[Item] = []
    for fill in fills:
        addresses = [(cost, at) for cost, at in _inside(fill) if not fill.lens]
        addresses += _beside(fill, ground, frame, depth_m)
        boxes = [text_box(at, fill.unit, Face.SEMIBOLD, LARGE) for _, at in addresses]
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
            items.append(centred(addresses[best][1], fill.unit, Face.SEMIBOLD, LARGE, role=Role.UNIT_LETTERS))
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
            one = text_box(at, fill.unit, Face.SEMIBOLD, LARGE)
            if fill.area.contains(rectangle_of(one.x, one.y, one.right, one.top)):
                found.append((0.02 * math.hypot(at[0] - middle.x, at[1] - middle.y), at))
    return found


def _beside(fill: Fill, ground: Ground, frame: Frame, depth_m: float) -> list[tuple[float, Point]]:
    """Places under the colour and over the ground, where a piece is too small for its letters."""
    run = fill.run
    deep_mm = depth_m * frame.mm_per_m * frame.exaggeration
    under = fill.area.centroid.x
    base = frame.y(ground.at(frame.place((under, 0.0))[0])) - deep_mm
    below = [(0.0, 2.4), (1.0, 4.0), (2.0, 6.0)]
    aside = [(0.0, 0.0), (0.6, 3.0), (0.6, -3.0), (1.2, 6.0), (1.2, -6.0)]
    found = [
        (3.0 + deep_cost + aside_cost, (under + shift, base - deep))
        for deep_cost, deep in below
        for aside_cost, shift in aside
        if not fill.lens
    ]
    for aside_cost, share in ((0.0, 0.5), (0.0, 0.3), (0.0, 0.7), (0.4, 0.1), (0.4, 0.9)):
        distance = run.start_m + share * (run.end_m - run.start_m)
        x, y = frame.at((distance, ground.at(distance)))
        found += [(3.2 + aside_cost + 0.6 * (high - 2.6), (x, y + high)) for high in (2.6, 4.2, 6.0)]
    return found
