"""Where words have room on a page that is laid on another one."""

from __future__ import annotations

import copy
from collections.abc import Iterable, Iterator, Sequence
from typing import TypeAlias

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from traverse.sheet.paper.growing import GrowingTree, shapes_of
from traverse.sheet.paper.labels import shape_of_text
from traverse.sheet.paper.layers import Layer
from traverse.sheet.paper.page import Block, Box, Command, Group, Item, Path, Point, Text

_STEP_MM = 2.0
"""Between places that are tried."""
_AIR_MM = 1.0
"""About words."""


def ungrouped(items: Iterable[Item]) -> Iterator[Text | Path]:
    """Every text and path, wherever it is grouped."""
    for item in items:
        if isinstance(item, Group):
            yield from ungrouped(item.items)
        else:
            yield item


def texts_in(items: Iterable[Item]) -> Iterator[Text]:
    """Every text with words."""
    return (one for one in ungrouped(items) if isinstance(one, Text) and one.text.strip())


Form: TypeAlias = tuple[float, Block]
"""What may be placed, with its width."""


class Room:
    """What is left of a frame by a film and by the page `beneath` it; what is placed is taken from then on.

    Nothing ever stands in the `windows`, where a map is drawn on.
    """

    def __init__(
        self, frame: Box, *, film: Iterable[Item], beneath: Iterable[Item], windows: Iterable[Box] = ()
    ) -> None:
        self.frame = frame
        self._foot = frame.y
        film, beneath = tuple(film), tuple(beneath)
        self._film, self._words, self._ground, self._lines = (GrowingTree() for _ in range(4))
        self._film.add(shape_of_text(one) for one in texts_in(film))
        self._film.add(_drawn(film))
        self._film.add(shapely.box(one.x, one.y, one.right, one.top) for one in windows)
        self._words.add(shape_of_text(one) for one in texts_in(beneath))
        self._ground.add(_walked(beneath))
        self._lines.add(_drawn(beneath))

    def place(self, forms: Sequence[Form], *, clear: bool = False) -> tuple[Item, ...] | None:
        """The first of some forms that finds room, low on the page; None where none does.

        Where no form has room clear of everything it may stand on lines of the page below, then on ground that is to be
        drawn on, last on words there; never if it must be `clear`.
        """
        everything = (self._film, self._words, self._ground, self._lines)
        for trees in (everything[:count] for count in ((4,) if clear else (4, 3, 2, 1))):
            for width, block in forms:
                at = self._free(width, block.height, trees)
                if at is not None:
                    left, top = at
                    self._film.add([shapely.box(left, top - block.height, left + width, top)])
                    return block.at(left, top)
        return None

    def place_all(self, things: Sequence[Sequence[Form]]) -> tuple[Item, ...] | None:
        """Each in one of its forms, clear of everything; None, and nothing taken, where one of them has no room."""
        kept = copy.deepcopy(self._film)
        found = [self.place(forms, clear=True) for forms in things]
        if None in found:
            self._film = kept
            return None
        return tuple(item for one in found if one is not None for item in one)

    def foot(self, block: Block) -> tuple[Item, ...]:
        """A block at the foot of the page, over what stands there already."""
        self._foot += block.height
        return block.at(self.frame.x, self._foot)

    def _free(self, width: float, height: float, trees: Sequence[GrowingTree]) -> Point | None:
        frame = self.frame
        wide, high = frame.width - width, frame.height - height
        if wide < 0.0 or high < 0.0:
            return None
        lefts = frame.x + np.arange(0.0, wide + 1e-9, _STEP_MM)
        lows = frame.y + np.arange(0.0, high + 1e-9, _STEP_MM)
        corners = np.stack(np.meshgrid(lefts, lows), axis=-1).reshape(-1, 2)
        boxes = np.hstack([corners - _AIR_MM, corners + np.array([width + _AIR_MM, height + _AIR_MM])])
        shapes = shapes_of(boxes)
        free = np.arange(len(shapes))
        for tree in trees:
            free = free[~tree.hits(shapes[free])]
        if not len(free):
            return None
        left, low = corners[free[0]].tolist()
        return left, low + height


def _drawn(items: Iterable[Item], clip: BaseGeometry | None = None) -> Iterator[BaseGeometry]:
    """Lines, and areas that are filled, as far as they are seen."""
    for item in items:
        if isinstance(item, Group):
            inner = clip if item.clip is None else _area(item.clip)
            yield from _drawn(item.items, inner)
        elif isinstance(item, Path):
            shape = _area(item.commands) if item.fill is not None else _line(item.commands)
            seen = shape if clip is None else shape.intersection(clip)
            if not seen.is_empty:
                yield seen


def _walked(items: Iterable[Item]) -> Iterator[BaseGeometry]:
    """The ground that was seen, on the map of a page."""
    for item in items:
        if isinstance(item, Group) and item.layer is Layer.EDGE:
            for one in item.items:
                if isinstance(one, Path) and one.commands:
                    ground = _area(one.commands)
                    yield ground if item.clip is None else ground.intersection(_area(item.clip))
        elif isinstance(item, Group):
            yield from _walked(item.items)


def _parts(commands: Iterable[Command]) -> list[list[Point]]:
    parts: list[list[Point]] = []
    for command in commands:
        if command[0] == "M":
            parts.append([])
        if len(command) > 2:
            parts[-1].append((command[-2], command[-1]))
        elif parts[-1]:
            parts[-1].append(parts[-1][0])
    return parts


def _line(commands: Iterable[Command]) -> BaseGeometry:
    return shapely.MultiLineString([part for part in _parts(commands) if len(part) > 1])


def _area(commands: Iterable[Command]) -> BaseGeometry:
    """With its holes, whichever way its outlines run."""
    rings = [shapely.make_valid(shapely.Polygon(part)) for part in _parts(commands) if len(part) > 3]
    ground: BaseGeometry = shapely.Polygon()
    for ring in rings:
        ground = ground.symmetric_difference(ring)
    return ground
