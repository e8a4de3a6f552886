"""Shapes and boxes that come one by one, found by where they lie; looking one up costs the logarithm of their number."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from traverse.sheet.paper.page import Point

Boxes: TypeAlias = NDArray[np.float64]
"""Shape (n, 4): left, lower, right, upper, in millimetres."""
Shapes: TypeAlias = NDArray[np.object_]
"""Shape (n,), of shapely geometries."""
_LOOSE = 24
_CELL_MM = 10.0


def shared(boxes: Boxes, others: Boxes) -> NDArray[np.float64]:
    """Area that each box shares with each of the others, shape (boxes, others), square millimetres."""
    upper = np.minimum(boxes[:, None, 2:], others[None, :, 2:])
    sides = np.maximum(upper - np.maximum(boxes[:, None, :2], others[None, :, :2]), 0.0)
    return np.asarray(sides[..., 0] * sides[..., 1], dtype=np.float64)


def shapes_of(boxes: Boxes) -> Shapes:
    """Boxes as polygons."""
    return np.asarray(shapely.box(boxes[:, 0], boxes[:, 1], boxes[:, 2], boxes[:, 3]), dtype=object)


@dataclass
class GrowingTree:
    """A tree of shapes that can be added to.

    Shapely's tree is built once. Here shapes wait in a short list, and become a tree that takes in every tree that is
    less than twice as large as itself: each tree is at most half the one before, so there are few to be asked, and
    each shape is built into one as often as the logarithm of their number.
    """

    _trees: list[shapely.STRtree] = field(default_factory=list)
    _loose: list[BaseGeometry] = field(default_factory=list)
    _bounds: Boxes | None = None
    """Of the loose shapes, once they were asked for."""

    def add(self, shapes: Iterable[BaseGeometry]) -> None:
        """Take in shapes, none of them empty."""
        self._loose.extend(shapes)
        self._bounds = None

    def _loose_bounds(self) -> Boxes:
        if self._bounds is None:
            self._bounds = np.asarray(shapely.bounds(np.array(self._loose, dtype=object)), dtype=np.float64)
        return self._bounds

    def _settle(self) -> None:
        if len(self._loose) <= _LOOSE:
            return
        shapes = np.array(self._loose, dtype=object)
        self._loose, self._bounds = [], None
        while self._trees and len(self._trees[-1]) < 2 * len(shapes):
            shapes = np.concatenate([self._trees.pop().geometries, shapes])
        self._trees.append(shapely.STRtree(shapes))

    def hits(self, shapes: Shapes) -> NDArray[np.bool_]:
        """Which of some shapes touch any that was taken in."""
        hit = np.zeros(len(shapes), dtype=bool)
        if not len(shapes):
            return hit
        self._settle()
        for tree in self._trees:
            rest = np.flatnonzero(~hit)
            found, _ = tree.query(shapes[rest], predicate="intersects")
            hit[rest[found]] = True
        if self._loose:
            own, bounds = shapely.bounds(shapes), self._loose_bounds()
            # An empty shape has no bounds, and meets nothing.
            lower, upper = np.fmin.reduce(own[:, :2]), np.fmax.reduce(own[:, 2:])
            near = (bounds[:, :2] <= upper).all(axis=1) & (bounds[:, 2:] >= lower).all(axis=1)
            for number in np.flatnonzero(near).tolist():
                hit |= shapely.intersects(shapes, self._loose[number])
        return hit

    def distance(self, shapes: Shapes, most: float) -> NDArray[np.float64]:
        """Distance of each of some shapes from the nearest that was taken in, up to a limit."""
        found = np.full(len(shapes), most)
        self._settle()
        for tree in self._trees:
            asked, there = tree.query(shapes, predicate="dwithin", distance=most)
            np.minimum.at(found, asked, shapely.distance(shapes[asked], tree.geometries[there]))
        for one in self._loose:
            found = np.minimum(found, shapely.distance(shapes, one))
        return found


@dataclass
class GrowingBoxes:
    """Upright boxes in square cells."""

    _boxes: list[tuple[float, float, float, float]] = field(default_factory=list)
    _cells: dict[tuple[int, int], list[int]] = field(default_factory=lambda: defaultdict(list))

    def add(self, box: Iterable[float]) -> None:
        """Take in a box by its left, lower, right and upper edge."""
        left, lower, right, upper = (float(value) for value in box)
        for cell in _cells((left, lower, right, upper)):
            self._cells[cell].append(len(self._boxes))
        self._boxes.append((left, lower, right, upper))

    def add_line(self, start: Point, end: Point, *, wide: float = 0.5) -> None:
        """Take in a line as small boxes along it."""
        steps = max(1, math.ceil(math.dist(start, end) / 0.8))
        for step in range(steps + 1):
            x, y = (a + step / steps * (b - a) for a, b in zip(start, end, strict=True))
            self.add((x - wide / 2, y - wide / 2, x + wide / 2, y + wide / 2))

    def all(self) -> Boxes:
        """Every box, in the order in which they came."""
        return np.array(self._boxes, dtype=np.float64).reshape(-1, 4)

    def overlap(self, boxes: Boxes) -> NDArray[np.float64]:
        """Area that each of some boxes shares with what was taken in, square millimetres, once for each that it meets."""
        if not len(boxes):
            return np.zeros(0)
        left, lower = boxes[:, :2].min(axis=0)
        right, upper = boxes[:, 2:].max(axis=0)
        return np.asarray(shared(boxes, self.near(left, lower, right, upper)).sum(axis=1), dtype=np.float64)

    def near(self, left: float, lower: float, right: float, upper: float) -> Boxes:
        """The boxes that reach into the cells of a rectangle, in the order in which they came."""
        wanted = _cells((left, lower, right, upper))
        if len(wanted) > len(self._boxes):
            return self.all()
        numbers = {number for cell in wanted for number in self._cells.get(cell, ())}
        return np.array([self._boxes[number] for number in sorted(numbers)], dtype=np.float64).reshape(-1, 4)


def _cells(box: tuple[float, float, float, float]) -> list[tuple[int, int]]:
    left, lower, right, upper = (math.floor(value / _CELL_MM) for value in box)
    return [(column, row) for column in range(left, right + 1) for row in range(lower, upper + 1)]
