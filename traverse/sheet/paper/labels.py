"""Places for labels and signs where nothing else is drawn; greedy in the order asked, the same every time."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from traverse.record import record
from traverse.settled import settled_all
from traverse.sheet.paper.fonts import CAP_HEIGHT, width_mm
from traverse.sheet.paper.growing import Boxes, GrowingBoxes, GrowingTree, Shapes, shapes_of
from traverse.sheet.paper.page import Anchor, Box, Face, Group, Item, Path, Point, Role, Text, rectangle
from traverse.sheet.paper.style import LARGE, MM_PER_POINT, PENS, WHITE

_DIRECTIONS = 24
_PAD_MM = 0.2
RINGS_OFF = (5.0, 6.5, 8.0, 10.0, 12.0, 14.5, 17.0, 20.0, 24.0)
"""Distances at which a label with a leader is tried off the band."""


def text_size(text: str, face: Face, size_pt: float) -> tuple[float, float]:
    """Width and height of a label's box; the height is that of capitals and figures."""
    return width_mm(text, face, size_pt) + 2 * _PAD_MM, CAP_HEIGHT * size_pt * MM_PER_POINT + 2 * _PAD_MM


def base_of(centre: Point, size_pt: float) -> Point:
    """Base line of a label centred at a point."""
    return centre[0], centre[1] - CAP_HEIGHT * size_pt * MM_PER_POINT / 2


def around(first_deg: float) -> tuple[float, ...]:
    """Twenty-four directions, those nearest to the first one first."""
    return tuple(first_deg + turn for turn in _TURNS_DEG)


def _turns() -> tuple[float, ...]:
    step = 360.0 / _DIRECTIONS
    turns = [0.0]
    for index in range(1, _DIRECTIONS // 2):
        turns += [index * step, -index * step]
    return (*turns, 180.0)


_TURNS_DEG = _turns()


def boxes_at(centres: Sequence[Point] | NDArray[np.float64], size: tuple[float, float]) -> Boxes:
    """Boxes of one size about centres."""
    at = settled_all(np.asarray(centres, dtype=np.float64).reshape(-1, 2))
    half = np.array(size) / 2.0
    return np.hstack([at - half, at + half])


def cheapest(costs: NDArray[np.float64]) -> int:
    """Number of the place that costs least, the first of those that cost the same."""
    return int(np.argmin(settled_all(costs, 6)))


def ringed(
    at: Point, first_deg: float, distances: Sequence[float], size: tuple[float, float]
) -> NDArray[np.float64]:
    """Centres of boxes about a point whose near sides are so far from it: ring by ring, each from one direction on.

    Shape (rings times 24, 2). The direction is clockwise from up.
    """
    turns = np.radians(around(first_deg))
    ways = np.stack([np.sin(turns), np.cos(turns)], axis=1)
    # The box as seen along the direction: an ellipse about it reads better than its corners.
    reach = np.hypot(*(ways * (np.array(size) / 2)).T)
    out = np.asarray(distances, dtype=np.float64)[:, None] + reach[None, :]
    centres = np.array(at) + out[:, :, None] * ways[None, :, :]
    return np.asarray(centres.reshape(-1, 2), dtype=np.float64)


def thinned(points: Sequence[Point], *, cell_mm: float, most: int) -> tuple[int, ...]:
    """Numbers of the points that are left where no more than `most` may lie in a square cell, spread over them all.

    Where far more want a label than can stand there, looking for room for each would take long and find none.
    """
    cells: dict[tuple[int, int], list[int]] = {}
    for number, (x, y) in enumerate(points):
        cells.setdefault((math.floor(x / cell_mm), math.floor(y / cell_mm)), []).append(number)
    kept: list[int] = []
    for numbers in cells.values():
        count = min(most, len(numbers))
        kept += [numbers[index * len(numbers) // count] for index in range(count)]
    return tuple(sorted(kept))


class Apart:
    """Points kept at a distance from each other, looked up by cells as wide as it."""

    def __init__(self, distance_mm: float) -> None:
        self._distance = distance_mm
        self._cells: dict[tuple[int, int], list[Point]] = {}

    def add(self, at: Point) -> bool:
        """Take a point unless another one is nearer than that."""
        column, row = math.floor(at[0] / self._distance), math.floor(at[1] / self._distance)
        around = [(column + i, row + j) for i in (-1, 0, 1) for j in (-1, 0, 1)]
        if any(math.dist(at, one) < self._distance for cell in around for one in self._cells.get(cell, ())):
            return False
        self._cells.setdefault((column, row), []).append(at)
        return True


@record(frozen=True, kw_only=True)
class Named:
    """Labels drawn, and what found no place."""

    items: tuple[Item, ...]
    left: tuple[str, ...] = ()
    signs: tuple[str, ...] = ()


_PAST_MM, _OWN_MM = 1.5, 0.6
"""A leader nearer to a place than this passes it; a place nearer to its start is its own."""


@dataclass
class Taken:
    """What is drawn already, and the room that is left inside `frame`."""

    frame: Box
    _drawn: GrowingTree = field(default_factory=GrowingTree)
    _soft: GrowingTree = field(default_factory=GrowingTree)
    _placed: GrowingBoxes = field(default_factory=GrowingBoxes)
    _places: NDArray[np.float64] = field(default_factory=lambda: np.empty((0, 2)))

    def keep_leaders_off(self, places: Sequence[Point]) -> None:
        """Lead past none of these where there is another way: a leader that passes one is read as its own."""
        self._places = np.array(places, dtype=np.float64).reshape(-1, 2)

    def passes(self, start: Point, ends: NDArray[np.float64]) -> NDArray[np.bool_]:
        """Which leaders from a place run by another one, or end at it; `ends` has the shape (n, 2)."""
        lower = np.minimum(ends.min(axis=0), start) - _PAST_MM
        upper = np.maximum(ends.max(axis=0), start) + _PAST_MM
        near = ((self._places >= lower) & (self._places <= upper)).all(axis=1)
        near &= np.hypot(*(self._places - start).T) > _OWN_MM
        others, way = self._places[near] - start, ends - start
        # The nearest point of each leader to each place, as a share of its length.
        long = np.maximum((way**2).sum(axis=1), 1e-9)
        share = np.clip(way @ others.T / long[:, None], 0.0, 1.0)
        off = np.hypot(*(others[None, :, :] - share[:, :, None] * way[:, None, :]).transpose(2, 0, 1))
        return np.asarray((off < _PAST_MM).any(axis=1), dtype=bool)

    def block(self, *shapes: BaseGeometry) -> None:
        """Keep labels off shapes."""
        self._drawn.add(one for one in shapes if not one.is_empty)

    def discourage(self, *shapes: BaseGeometry) -> None:
        """Set labels on shapes only where there is no place off them."""
        self._soft.add(one for one in shapes if not one.is_empty)

    def block_box(self, box: Box) -> None:
        """Keep labels off a rectangle."""
        self._placed.add((box.x, box.y, box.right, box.top))

    def add(self, box: NDArray[np.float64]) -> None:
        """A label has been placed."""
        self._placed.add(box)

    def free(
        self, boxes: Boxes, *, leader_from: Point | None = None, leader_to: NDArray[np.float64] | None = None
    ) -> NDArray[np.bool_]:
        """Which boxes are free; with a leader from a point, also of which the leader crosses no label.

        It leads to the middle of the box, or to a point of its own for each, shape (n, 2).
        """
        free = self._inside(boxes)
        if not len(boxes):
            return free
        left, lower = boxes[:, :2].min(axis=0)
        right, upper = boxes[:, 2:].max(axis=0)
        if leader_from is not None:
            left, right = min(left, leader_from[0]), max(right, leader_from[0])
            lower, upper = min(lower, leader_from[1]), max(upper, leader_from[1])
        placed = self._placed.near(left, lower, right, upper)
        free &= ~_over(boxes, placed)
        rest = np.flatnonzero(free)
        free[rest] = ~self._drawn.hits(shapes_of(boxes[rest]))
        rest = np.flatnonzero(free)
        if leader_from is not None and len(placed) and len(rest):
            ends = (boxes[rest, :2] + boxes[rest, 2:]) / 2 if leader_to is None else leader_to[rest]
            starts = np.broadcast_to(np.asarray(leader_from), ends.shape)
            leaders = shapely.linestrings(np.stack([starts, ends], axis=1))
            crossed, _ = shapely.STRtree(shapes_of(placed)).query(leaders, predicate="intersects")
            free[rest[crossed]] = False
        return free

    def _inside(self, boxes: Boxes) -> NDArray[np.bool_]:
        frame = self.frame
        return (
            (boxes[:, 0] >= frame.x)
            & (boxes[:, 1] >= frame.y)
            & (boxes[:, 2] <= frame.right)
            & (boxes[:, 3] <= frame.top)
        )

    def crossed(self, leaders: Shapes) -> NDArray[np.intp]:
        """How many labels each leader runs through."""
        placed = self._placed.near(*shapely.total_bounds(leaders).tolist())
        found, _ = shapely.STRtree(shapes_of(placed)).query(leaders, predicate="intersects")
        return np.bincount(found, minlength=len(leaders))

    def drawn_on(self, leaders: Shapes) -> NDArray[np.bool_]:
        """Which leaders run over anything drawn."""
        return self._drawn.hits(leaders)

    def discouraged(self, shapes: Shapes) -> NDArray[np.bool_]:
        """Which shapes lie on something that labels had better keep off."""
        return self._soft.hits(shapes)

    def best(self, boxes: Boxes, *, leader_from: Point | None = None) -> int | None:
        """Number of the first free box; None for none.

        Of those that lie off every soft shape, and whose leader passes no other place, if there are any.
        """
        second: int | None = None
        # Most labels stand in the first ring; those farther out are looked at only where they do not.
        for start in range(0, len(boxes), _DIRECTIONS):
            part = boxes[start : start + _DIRECTIONS]
            free = np.flatnonzero(self.free(part, leader_from=leader_from))
            off = free[~self.discouraged(shapes_of(part[free]))]
            if leader_from is not None and len(off):
                off = off[~self.passes(leader_from, (part[off, :2] + part[off, 2:]) / 2.0)]
            if len(off):
                return start + int(off[0])
            if second is None and len(free):
                second = start + int(free[0])
        return second

    def first(self, centres: Sequence[Point], size: tuple[float, float]) -> Point | None:
        """The best of the centres at which a box of that size is free; it is taken from then on."""
        boxes = boxes_at(centres, size)
        found = self.best(boxes)
        if found is None:
            return None
        self.add(boxes[found])
        return centres[found]

    def clearance(self, boxes: Boxes, most: float) -> NDArray[np.float64]:
        """Distance from each box to the nearest thing drawn, up to a limit."""
        shapes = shapes_of(boxes)
        found = self._drawn.distance(shapes, most)
        found = np.minimum(found, self._soft.distance(shapes, most))
        left, lower = boxes[:, :2].min(axis=0) - most
        right, upper = boxes[:, 2:].max(axis=0) + most
        placed = self._placed.near(left, lower, right, upper)
        for start in range(0, len(placed), 64):
            labels = shapes_of(placed[start : start + 64])
            found = np.minimum(found, shapely.distance(shapes[:, None], labels[None, :]).min(axis=1))
        return found

    def free_shape(self, shape: BaseGeometry) -> bool:
        """Whether a shape, such as a turned label, is free and inside the frame."""
        return bool(self.free_shapes(np.array([shape], dtype=object))[0])

    def free_shapes(self, shapes: Shapes) -> NDArray[np.bool_]:
        """Which of some shapes, such as turned labels, are free and inside the frame."""
        frame = self.frame
        inside = shapely.box(frame.x, frame.y, frame.right, frame.top)
        shapely.prepare(inside)
        free = np.asarray(shapely.contains(inside, shapes), dtype=bool)
        free[free] = ~self._drawn.hits(shapes[free])
        for number in np.flatnonzero(free).tolist():
            placed = self._placed.near(*shapes[number].bounds)
            free[number] = not (len(placed) and shapely.intersects(shapes_of(placed), shapes[number]).any())
        return free

    def clear(self, at: Point, radius: float) -> bool:
        """Whether nothing is drawn within a distance of a point."""
        box = boxes_at([at], (2 * radius, 2 * radius))
        if self._placed.overlap(box)[0]:
            return False
        shapes = shapes_of(box)
        return not (self._drawn.hits(shapes)[0] or self._soft.hits(shapes)[0])


def meets(centre: Point, at: Point, size: tuple[float, float]) -> Point:
    """Where the line from a place to a label meets the label's box."""
    dx, dy = at[0] - centre[0], at[1] - centre[1]
    share = min(
        size[0] / 2 / abs(dx) if dx else math.inf,
        size[1] / 2 / abs(dy) if dy else math.inf,
        1.0,
    )
    return centre[0] + dx * share, centre[1] + dy * share


def _over(boxes: Boxes, placed: Boxes) -> NDArray[np.bool_]:
    """Which boxes cover a part of any that is placed; quicker than how much."""
    covered = boxes[:, None, 0] < placed[None, :, 2]
    covered &= boxes[:, None, 2] > placed[None, :, 0]
    covered &= boxes[:, None, 1] < placed[None, :, 3]
    covered &= boxes[:, None, 3] > placed[None, :, 1]
    return np.asarray(covered.any(axis=1), dtype=bool)


def shapes_in(items: Iterable[Item], *, by: float = 0.15) -> list[BaseGeometry]:
    """Areas that the lines and areas among items cover, each wider by a little."""
    lines: list[BaseGeometry] = []
    wider: list[float] = []
    for item in items:
        if not isinstance(item, Path):
            continue
        points = [(command[-2], command[-1]) for command in item.commands if len(command) > 2]
        if len(points) < 2:
            continue
        closed = item.commands[-1][0] == "Z" and len(points) > 3
        lines.append(shapely.Polygon(points) if closed else shapely.LineString(points))
        wider.append(by + (item.pen.width_mm / 2 if item.pen else 0.0))
    return list(shapely.buffer(np.array(lines, dtype=object), np.array(wider), quad_segs=2))


def ground_of(group: Group) -> BaseGeometry:
    """The ground that a group takes: all within its lines, areas and words."""
    words = [shape_of_text(one) for one in group.items if isinstance(one, Text)]
    return shapely.union_all([*shapes_in(group.items), *words]).convex_hull


def shape_of_text(text: Text) -> BaseGeometry:
    """Box of a text, turned with it, from a little below its base line to a little over its capitals."""
    wide, high = text_size(text.text, text.face, text.size_pt)
    start = -_PAD_MM - text.anchor.value * (wide - 2 * _PAD_MM)
    turn = math.radians(text.turn_deg)
    sin, cos = math.sin(turn), math.cos(turn)
    corners = [
        (u, v - _PAD_MM) for u, v in ((start, 0.0), (start + wide, 0.0), (start + wide, high), (start, high))
    ]
    return shapely.Polygon(
        [(text.at[0] + u * cos - v * sin, text.at[1] + u * sin + v * cos) for u, v in corners]
    )


def label(
    text: str,
    centre: Point,
    *,
    face: Face = Face.REGULAR,
    size_pt: float,
    colour: str = "#000000",
    halo: tuple[str | None, float] = (None, 0.5),
    role: Role = Role.WORDS,
) -> Text:
    """A label centred at a point; `halo` is its colour and its width in millimetres."""
    return Text(
        at=base_of(centre, size_pt),
        text=text,
        face=face,
        size_pt=size_pt,
        colour=colour,
        anchor=Anchor.MIDDLE,
        halo=halo[0],
        halo_mm=halo[1],
        role=role,
    )


def spread(places: Sequence[float], widths: Sequence[float], *, low: float, high: float) -> list[float]:
    """Places in order moved as little as may be so that no two are nearer than half their widths together.

    Neighbours that push each other move as one block about the mean of what they want; what is pushed over an edge
    is drawn back in, from the edge inward.

    >>> spread([0.0, 1.0, 20.0], [4.0, 4.0, 4.0], low=-10.0, high=30.0)
    [-1.5, 2.5, 20.0]
    """
    blocks: list[tuple[float, int]] = []
    starts = [0.0][: len(places)]
    for left, right in pairwise(widths):
        starts.append(starts[-1] + (left + right) / 2.0)
    # Less the room each needs, places must only not decrease: pool neighbours that do.
    for index, place in enumerate(places):
        total, count = place - starts[index], 1
        while blocks and blocks[-1][0] / blocks[-1][1] > total / count:
            before = blocks.pop()
            total, count = total + before[0], count + before[1]
        blocks.append((total, count))
    wanted = [total / count for total, count in blocks for _ in range(count)]
    moved = [place + start for place, start in zip(wanted, starts, strict=True)]
    limit = high
    for index in range(len(moved) - 1, -1, -1):
        moved[index] = min(moved[index], limit)
        if index:
            limit = moved[index] - (widths[index] + widths[index - 1]) / 2.0
    limit = low
    for index in range(len(moved)):
        moved[index] = max(moved[index], limit)
        if index + 1 < len(moved):
            limit = moved[index] + (widths[index] + widths[index + 1]) / 2.0
    return moved


def framed_letter(letter: str, base: Point, *, anchor: Anchor = Anchor.MIDDLE) -> tuple[Path, Text]:
    """The letter of a section's end, framed on white: `A` beside a unit A must not be read for it. `base` is of the letter."""
    wide = width_mm(letter, Face.BOLD, LARGE)
    left = base[0] - {Anchor.START: 0.0, Anchor.MIDDLE: wide / 2, Anchor.END: wide}[anchor]
    high = CAP_HEIGHT * LARGE * MM_PER_POINT
    frame = Box(
        x=left - FRAME_MM, y=base[1] - FRAME_MM, width=wide + 2 * FRAME_MM, height=high + 2 * FRAME_MM
    )
    return (
        Path(commands=rectangle(frame), pen=PENS["letter frame"], fill=WHITE),
        Text(at=base, text=letter, face=Face.BOLD, size_pt=LARGE, anchor=anchor),
    )


FRAME_MM = 0.7
"""From a letter to its frame."""
