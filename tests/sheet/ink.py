"""Finds signs on a rendered page: the ink that a shape asks for, and the white around it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import pypdfium2
import shapely
from shapely import LineString, Point, Polygon
from shapely.affinity import rotate, translate

DPI = 300.0
PER_MM = DPI / 25.4
DARK = 110
"""Black ink is darker, the colour of every unit lighter."""
EDGE_MM = 0.09
"""Nearer than this to the edge of a shape, a pixel may be either."""
AROUND_MM = 0.6
"""White is looked for this far out."""


def stroke(*points, width=0.3):
    return LineString(points).buffer(width / 2, cap_style="flat", join_style="mitre")


def disc(x, y, radius):
    return Point(x, y).buffer(radius, quad_segs=24)


def ring(x, y, radius, width):
    return disc(x, y, radius + width / 2).difference(disc(x, y, radius - width / 2))


def area(*points):
    return Polygon(points)


def outlined(*points, width):
    """A polygon's outline."""
    return LineString([*points, points[0]]).buffer(width / 2, join_style="mitre")


@dataclass(frozen=True)
class Fit:
    """How well a shape lies on the ink."""

    score: float
    """1 where all that should be black is, and all that should be white."""
    at: tuple[float, float]
    turn_deg: float


class Render:
    """A page of a PDF in grey at 300 dots to the inch, read in millimetres from its lower left corner."""

    def __init__(self, data, page=0):
        self.page = pypdfium2.PdfDocument(data)[page]
        self.height = self.page.get_height() / 72.0 * 25.4
        self.grey = np.squeeze(self.page.render(scale=DPI / 72.0, grayscale=True).to_numpy())

    def dark(self, x, y):
        """Whether ink is at each of the places, as an array."""
        rows = np.clip(((self.height - np.asarray(y)) * PER_MM).astype(int), 0, self.grey.shape[0] - 1)
        columns = np.clip((np.asarray(x) * PER_MM).astype(int), 0, self.grey.shape[1] - 1)
        return self.grey[rows, columns] < DARK

    def score(self, shape, at, turn_deg, others=None):
        """How well a shape fits at a place, turned clockwise from page-up; what `others` cover is left out."""
        black, white = _clear(shape, at, turn_deg, others)
        return self._score(black, white, 0.0, 0.0)

    def inked(self, shape, at, turn_deg):
        """Share of a shape that is black at a place."""
        black, _ = _clear(shape, (0.0, 0.0), turn_deg, None)
        return float(self.dark(black[:, 0] + at[0], black[:, 1] + at[1]).mean())

    def _score(self, black, white, dx, dy):
        hit = self.dark(black[:, 0] + dx, black[:, 1] + dy).mean()
        miss = self.dark(white[:, 0] + dx, white[:, 1] + dy).mean() if len(white) else 0.0
        return float(hit - miss)

    def best(self, shape, at, turn_deg, others=None, *, reach=0.7, step=0.1, turns=range(-8, 9)):
        """The shift about a place, then the turn, at which a shape fits best."""
        black, white = _clear(shape, at, turn_deg, others)
        offs = np.arange(-reach, reach + 1e-9, step)
        found = max(
            (self._score(black, white, dx, dy), -math.hypot(dx, dy), dx, dy) for dx in offs for dy in offs
        )
        middle = (at[0] + found[2], at[1] + found[3])
        turned = max((self.score(shape, middle, turn_deg + turn, others), -abs(turn), turn) for turn in turns)
        return Fit(score=found[0], at=middle, turn_deg=turn_deg + turned[2])


def placed(shape, at, turn_deg):
    """A shape whose y runs up the page, turned clockwise about its origin and moved."""
    return translate(rotate(shape, -turn_deg, origin=(0.0, 0.0)), *at)


def _clear(shape, at, turn_deg, others):
    """The places of a shape that is turned and moved, as by `placed`, off what `others` cover."""
    turn = math.radians(turn_deg)
    turned = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    found = [points @ turned + at for points in _samples(shape)]
    if others is None:
        return found
    return [points[shapely.distance(others, shapely.points(points)) > EDGE_MM] for points in found]


@lru_cache(maxsize=64)
def _samples(shape):
    """Places well inside a shape, and places well outside but near."""
    left, low, right, top = shape.bounds
    margin = AROUND_MM + EDGE_MM
    xs = np.arange(left - margin, right + margin, 0.07)
    ys = np.arange(low - margin, top + margin, 0.07)
    grid = np.array(np.meshgrid(xs, ys)).reshape(2, -1).T
    points = shapely.points(grid)
    inner, outer = shape.buffer(-EDGE_MM), shape.buffer(EDGE_MM)
    shapely.prepare([inner, outer])
    black = shapely.contains_properly(inner, points)
    white = ~shapely.intersects(outer, points) & (shapely.distance(shape, points) < margin)
    return grid[black], grid[white]
