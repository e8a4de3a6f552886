"""What is already drawn in a panel, as boxes that words keep clear of."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import Anchor, Box, Face, Point, Role, Text


class TakenBoxes:
    """Boxes that text must keep clear of."""

    def __init__(self) -> None:
        self._rows = np.empty((64, 4))
        """Left, lower, right, upper; those beyond `_count` are spare."""
        self._count = 0

    def add(self, box: Box) -> None:
        """Keep a box clear."""
        if self._count == len(self._rows):
            self._rows = np.concatenate([self._rows, np.empty((max(64, self._count), 4))])
        self._rows[self._count] = (box.x, box.y, box.right, box.top)
        self._count += 1

    def rows(self) -> NDArray[np.float64]:
        """Left, lower, right and upper edge of every box, shape (n, 4)."""
        return self._rows[: self._count]

    def about(self, at: Point, reach: float) -> TakenBoxes:
        """What comes nearer to a point than so many millimetres to every side."""
        left, lower, right, upper = self.rows().T
        near = (left < at[0] + reach) & (right > at[0] - reach)
        near &= (lower < at[1] + reach) & (upper > at[1] - reach)
        found = TakenBoxes()
        found._rows = self.rows()[near]
        found._count = len(found._rows)
        return found

    def overlap(self, box: Box) -> float:
        """Area shared with what is there, square millimetres."""
        left, lower, right, upper = self._rows[: self._count].T
        wide = np.minimum(right, box.right) - np.maximum(left, box.x)
        high = np.minimum(upper, box.top) - np.maximum(lower, box.y)
        return float((np.maximum(wide, 0.0) * np.maximum(high, 0.0)).sum())

    def add_line(self, start: Point, end: Point, *, wide: float = 0.5) -> None:
        """A line as small boxes along it."""
        steps = max(1, math.ceil(math.dist(start, end) / 0.8))
        for step in range(steps + 1):
            share = step / steps
            x, y = (a + share * (b - a) for a, b in zip(start, end, strict=True))
            self.add(Box(x=x - wide / 2, y=y - wide / 2, width=wide, height=wide))


def text_box(at: Point, text: str, face: Face, size_pt: float) -> Box:
    """Round a text that is centred on a point."""
    wide = text_width_mm(text, face, size_pt)
    tall = size_pt * 0.25
    return Box(x=at[0] - wide / 2 - 0.2, y=at[1] - tall / 2 - 0.1, width=wide + 0.4, height=tall + 0.2)


def centred(
    at: Point, text: str, face: Face, size_pt: float, *, halo: str | None = None, role: Role = Role.WORDS
) -> Text:
    """A text with its middle at a point."""
    return Text(
        at=(at[0], at[1] - size_pt * 0.116),
        text=text,
        face=face,
        size_pt=size_pt,
        anchor=Anchor.MIDDLE,
        halo=halo,
        halo_mm=0.3,
        role=role,
    )
