"""Places for labels and signs where nothing else is drawn; greedy in the order asked, the same every time."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from traverse.sheet.fonts import CAP_HEIGHT, width_mm
from traverse.sheet.page import Anchor, Box, Face, Item, Path, Point, Text
from traverse.sheet.style import MM_PER_POINT

Boxes = NDArray[np.float64]
"""Shape (n, 4): left, lower, right, upper."""
_DIRECTIONS = 24
_PAD_MM = 0.2
_LATER = 48


def text_size(text: str, face: Face, size_pt: float) -> tuple[float, float]:
    """Width and height of a label's box; the height is that of capitals and figures."""
    return width_mm(text, face, size_pt) + 2 * _PAD_MM, CAP_HEIGHT * size_pt * MM_PER_POINT + 2 * _PAD_MM


def base_of(centre: Point, size_pt: float) -> Point:
    """Base line of a label centred at a point."""
    return centre[0], centre[1] - CAP_HEIGHT * size_pt * MM_PER_POINT / 2


def around(first_deg: float) -> tuple[float, ...]:
    """Twenty-four directions, those nearest to the first one first."""
    step = 360.0 / _DIRECTIONS
    turns = [0.0]
    for index in range(1, _DIRECTIONS // 2):
        turns += [index * step, -index * step]
    turns.append(180.0)
    return tuple(first_deg + turn for turn in turns)


def boxes_at(centres: Sequence[Point], size: tuple[float, float]) -> Boxes:
    """Boxes of one size about centres."""
    at = np.asarray(centres, dtype=np.float64).reshape(-1, 2)
    half = np.array(size) / 2.0
    return np.hstack([at - half, at + half])


def pushed(at: Point, direction_deg: float, distance: float, size: tuple[float, float]) -> Point:
    """Centre of a box whose near side is that far from a point, in a direction clockwise from up."""
    sin, cos = math.sin(math.radians(direction_deg)), math.cos(math.radians(direction_deg))
    # The box as seen along the direction: an ellipse about it reads better than its corners.
    reach = math.hypot(size[0] / 2 * sin, size[1] / 2 * cos)
    return at[0] + sin * (distance + reach), at[1] + cos * (distance + reach)


@dataclass
class Taken:
    """What is drawn already, and the room that is left inside `frame`."""

    frame: Box
    _fixed: list[BaseGeometry] = field(default_factory=list)
    _tree: shapely.STRtree | None = None
    _later: list[BaseGeometry] = field(default_factory=list)
    _placed: list[tuple[float, float, float, float]] = field(default_factory=list)

    def block(self, geometry: BaseGeometry) -> None:
        """Keep labels off a shape."""
        if geometry.is_empty:
            return
        # Few shapes come once labels are being placed; a tree is not built again for each.
        (self._fixed if self._tree is None else self._later).append(geometry)
        if len(self._later) > _LATER:
            self._fixed += self._later
            self._later.clear()
            self._tree = None

    def block_box(self, box: Box) -> None:
        """Keep labels off a rectangle."""
        self._placed.append((box.x, box.y, box.right, box.top))

    def add(self, box: NDArray[np.float64]) -> None:
        """A label has been placed."""
        left, lower, right, upper = (float(value) for value in box)
        self._placed.append((left, lower, right, upper))

    def _hits(self, shapes: NDArray[np.object_]) -> NDArray[np.bool_]:
        hit = np.zeros(len(shapes), dtype=bool)
        if self._tree is None:
            self._tree = shapely.STRtree(self._fixed)
        if self._fixed:
            found, _ = self._tree.query(shapes, predicate="intersects")
            hit[found] = True
        for one in self._later:
            hit |= shapely.intersects(shapes, one)
        return hit

    def free(self, boxes: Boxes, *, leader_from: Point | None = None) -> NDArray[np.bool_]:
        """Which boxes are free; with a leader from a point to their middles, also which leaders cross no label."""
        frame = self.frame
        free = (
            (boxes[:, 0] >= frame.x)
            & (boxes[:, 1] >= frame.y)
            & (boxes[:, 2] <= frame.right)
            & (boxes[:, 3] <= frame.top)
        )
        placed = np.array(self._placed, dtype=np.float64).reshape(-1, 4)
        if len(placed):
            over = (
                (boxes[:, None, 0] < placed[None, :, 2])
                & (boxes[:, None, 2] > placed[None, :, 0])
                & (boxes[:, None, 1] < placed[None, :, 3])
                & (boxes[:, None, 3] > placed[None, :, 1])
            )
            free &= ~over.any(axis=1)
        rest = np.flatnonzero(free)
        if len(rest):
            free[rest] = ~self._hits(_shapes(boxes[rest]))
        rest = np.flatnonzero(free)
        if leader_from is not None and len(placed) and len(rest):
            middles = (boxes[rest, :2] + boxes[rest, 2:]) / 2
            starts = np.broadcast_to(np.asarray(leader_from), middles.shape)
            leaders = shapely.linestrings(np.stack([starts, middles], axis=1))
            crossed, _ = shapely.STRtree(_shapes(placed)).query(leaders, predicate="intersects")
            free[rest[crossed]] = False
        return free

    def drawn_on(self, leaders: NDArray[np.object_]) -> NDArray[np.bool_]:
        """Which leaders run over anything drawn."""
        return self._hits(leaders)

    def first(self, centres: Sequence[Point], size: tuple[float, float]) -> Point | None:
        """The first centre at which a box of that size is free; it is taken from then on."""
        boxes = boxes_at(centres, size)
        free = np.flatnonzero(self.free(boxes))
        if not len(free):
            return None
        self.add(boxes[free[0]])
        return centres[int(free[0])]

    def clearance(self, boxes: Boxes, most: float) -> NDArray[np.float64]:
        """Distance from each box to the nearest thing drawn, up to a limit."""
        shapes = _shapes(boxes)
        found = np.full(len(boxes), most)
        if self._tree is not None and self._fixed:
            nearest = self._tree.nearest(shapes)
            found = np.minimum(found, shapely.distance(shapes, np.array(self._fixed, dtype=object)[nearest]))
        for one in self._later:
            found = np.minimum(found, shapely.distance(shapes, one))
        placed = np.array(self._placed, dtype=np.float64).reshape(-1, 4)
        for start in range(0, len(placed), 64):
            labels = _shapes(placed[start : start + 64])
            found = np.minimum(found, shapely.distance(shapes[:, None], labels[None, :]).min(axis=1))
        return found

    def free_shape(self, shape: BaseGeometry) -> bool:
        """Whether a shape, such as a turned label, is free and inside the frame."""
        frame = self.frame
        if not shapely.box(frame.x, frame.y, frame.right, frame.top).contains(shape):
            return False
        placed = np.array(self._placed, dtype=np.float64).reshape(-1, 4)
        if len(placed) and shapely.intersects(_shapes(placed), shape).any():
            return False
        return not self._hits(np.array([shape], dtype=object))[0]

    def clear(self, at: Point, radius: float) -> bool:
        """Whether nothing is drawn within a distance of a point."""
        box = boxes_at([at], (2 * radius, 2 * radius))
        placed = np.array(self._placed, dtype=np.float64).reshape(-1, 4)
        over = (
            (box[0, 0] < placed[:, 2])
            & (box[0, 2] > placed[:, 0])
            & (box[0, 1] < placed[:, 3])
            & (box[0, 3] > placed[:, 1])
        )
        return not over.any() and not bool(self._hits(_shapes(box))[0])


def _shapes(boxes: Boxes) -> NDArray[np.object_]:
    return np.asarray(shapely.box(boxes[:, 0], boxes[:, 1], boxes[:, 2], boxes[:, 3]), dtype=object)


def shape_of(items: Sequence[Item], *, by: float = 0.15) -> BaseGeometry:
    """Area that items without text cover, as one shape, wider by a little."""
    parts: list[BaseGeometry] = []
    for item in items:
        if not isinstance(item, Path):
            continue
        points = [(command[-2], command[-1]) for command in item.commands if len(command) > 2]
        if len(points) < 2:
            continue
        around_mm = by + (item.pen.width_mm / 2 if item.pen else 0.0)
        closed = item.commands[-1][0] == "Z"
        line: BaseGeometry = (
            shapely.Polygon(points) if closed and len(points) > 3 else shapely.LineString(points)
        )
        parts.append(line.buffer(around_mm, quad_segs=2))
    return shapely.union_all(parts)


def label(
    text: str,
    centre: Point,
    *,
    face: Face = Face.REGULAR,
    size_pt: float,
    colour: str = "#000000",
    halo: str | None = None,
) -> Text:
    """A label centred at a point."""
    return Text(
        at=base_of(centre, size_pt),
        text=text,
        face=face,
        size_pt=size_pt,
        colour=colour,
        anchor=Anchor.MIDDLE,
        halo=halo,
    )
