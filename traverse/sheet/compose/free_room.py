"""Where words have room on a page that is laid on another one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from traverse.sheet.paper.growing import Boxes, GrowingTree, shapes_of
from traverse.sheet.paper.labels import shape_of_text
from traverse.sheet.paper.layers import Layer
from traverse.sheet.paper.page import Block, Box, Command, Group, Item, Path, Point, Text

_STEP_MM = 2.0
"""Between places that are tried."""
_AIR_MM = 1.0
"""About words."""
_CELL_MM = 1.0
_FIRST_ASKED = 32
"""Places of which the shapes themselves are asked first."""


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
_Bounds: TypeAlias = tuple[float, float, float, float]
"""Left, lower, right, upper."""


class _Occupied:
    """Shapes within a frame, and in which cells of a millimetre they have a point.

    A place that covers such a cell is taken; only where it covers none are the shapes themselves to be asked.
    """

    def __init__(self, frame: Box) -> None:
        self._tree = GrowingTree()
        margin = 2.0 * _AIR_MM
        self._corner = np.array([frame.x - margin, frame.y - margin])
        counts = np.ceil((np.array([frame.width, frame.height]) + 2.0 * margin) / _CELL_MM).astype(int)
        self._cells = np.zeros(counts, dtype=bool)
        self._sums: NDArray[np.int64] | None = None

    def add(self, shapes: Iterable[BaseGeometry]) -> None:
        shapes = tuple(shapes)
        self._tree.add(shapes)
        if shapes:
            points = shapely.get_coordinates(shapely.segmentize(np.array(shapes, dtype=object), _CELL_MM))
            cells = np.floor((points - self._corner) / _CELL_MM).astype(int)
            inside = ((cells >= 0) & (cells < self._cells.shape)).all(axis=1)
            self._cells[tuple(cells[inside].T)] = True
            self._sums = None

    def covered(self, stands: _Stands) -> NDArray[np.int64]:
        """How many cells within the box at each place have a point of a shape, shape (lows, lefts)."""
        if self._sums is None:
            sums = self._cells.cumsum(axis=0, dtype=np.int64).cumsum(axis=1)
            self._sums = np.ascontiguousarray(np.pad(sums, ((1, 0), (1, 0))).T)
        (left, right), (low, top) = (
            self._between(starts, ends, axis)
            for axis, (starts, ends) in enumerate(((stands.lefts, stands.rights), (stands.lows, stands.tops)))
        )
        of_top, of_low = self._sums[top], self._sums[low]
        return np.asarray(of_top[:, right] - of_top[:, left] - of_low[:, right] + of_low[:, left])

    def _between(
        self, starts: NDArray[np.float64], ends: NDArray[np.float64], axis: int
    ) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """The first cell between each two edges, and that after the last."""
        # Cells within the box by a hair at least, so that no point on an edge is decided here.
        first = np.ceil((starts - self._corner[axis]) / _CELL_MM + 1e-6).astype(int)
        end = np.floor((ends - self._corner[axis]) / _CELL_MM - 1e-6).astype(int)
        most = self._cells.shape[axis]
        return np.clip(first, 0, most), np.clip(np.maximum(end, first), 0, most)

    def hits(self, boxes: Boxes) -> NDArray[np.bool_]:
        """Which of some boxes touch a shape, asked of the shapes themselves."""
        return self._tree.hits(shapes_of(boxes))


class _Stands:
    """Where a form of some size may stand in a frame, row by row from its foot: the edges of what it takes there."""

    def __init__(self, frame: Box, width: float, height: float) -> None:
        self._x = frame.x + np.arange(0.0, frame.width - width + 1e-9, _STEP_MM)
        self._y = frame.y + np.arange(0.0, frame.height - height + 1e-9, _STEP_MM)
        self.lefts, self.rights = self._x - _AIR_MM, self._x + (width + _AIR_MM)
        self.lows, self.tops = self._y - _AIR_MM, self._y + (height + _AIR_MM)

    def boxes(self, places: NDArray[np.intp]) -> Boxes:
        """What is taken at some places, by their numbers."""
        row, column = np.divmod(places, len(self.lefts))
        return np.stack([self.lefts[column], self.lows[row], self.rights[column], self.tops[row]], axis=-1)

    def corner(self, place: int) -> Point:
        """The lower left corner of the form at a place."""
        row, column = divmod(place, len(self.lefts))
        return float(self._x[column]), float(self._y[row])

    def apart(self, box: _Bounds) -> NDArray[np.bool_]:
        """Which places are clear of a box, shape (lows, lefts)."""
        left, low, right, top = box
        return np.asarray(
            ((self.rights < left) | (self.lefts > right))[None, :]
            | ((self.tops < low) | (self.lows > top))[:, None]
        )


class Room:
    """What is left of a frame by a film and by the page `beneath` it; what is placed is taken from then on.

    Nothing ever stands in the `windows`, where a map is drawn on.
    """

    def __init__(
        self, frame: Box, *, film: Iterable[Item], beneath: Iterable[Item], windows: Iterable[Box] = ()
    ) -> None:
        self.frame = frame
        self._foot = frame.y
        self._in_vain: list[tuple[int, float, float, frozenset[_Bounds]]] = []
        film, beneath = tuple(film), tuple(beneath)
        self._film, self._words, self._strips, self._lines = (_Occupied(frame) for _ in range(4))
        self._film.add(shape_of_text(one) for one in texts_in(film))
        self._film.add(_drawn(film))
        self._film.add(shapely.box(one.x, one.y, one.right, one.top) for one in windows)
        self._words.add(shape_of_text(one) for one in texts_in(beneath))
        self._strips.add(_sections(beneath))
        self._lines.add(_drawn(beneath))

    def place(self, forms: Sequence[Form], *, most: int | None = None) -> tuple[Item, ...] | None:
        """The first of some forms that finds room, low on the page; None where none does.

        Where no form has room clear of everything, that which covers least stands on lines of the page below, then on
        a section, which is drawn on, never on words there; on no more than so many millimetres of lines with `most`.
        """
        found = self._best(forms, most, ())
        if found is None:
            return None
        self._film.add([shapely.box(*found[1])])
        return found[0]

    def place_apart(self, several: Iterable[Sequence[Form]]) -> tuple[Item, ...] | None:
        """Of each of several the first form that finds room clear of everything and of the others; None where one finds none."""
        items: tuple[Item, ...] = ()
        taken: list[_Bounds] = []
        for forms in several:
            found = self._best(forms, 0, taken)
            if found is None:
                return None
            items += found[0]
            taken.append(found[1])
        self._film.add(shapely.box(*one) for one in taken)
        return items

    def _best(
        self, forms: Sequence[Form], most: int | None, taken: Sequence[_Bounds]
    ) -> tuple[tuple[Item, ...], _Bounds] | None:
        """The form that has room, and the box that it takes; clear of what is `taken` besides."""
        for crossed in range(3 if most is None else 2 if most else 1):
            best: tuple[int, Form, Point] | None = None
            for form in forms:
                if self._known_too_large(form, crossed, taken):
                    continue
                found = self._free(form, crossed, taken)
                if found is None:
                    self._in_vain.append((crossed, form[0], form[1].height, frozenset(taken)))
                if found is not None and (best is None or found[0] < best[0]):
                    best = found[0], form, found[1]
                    if not crossed:
                        break
            if best is not None and (not crossed or most is None or best[0] <= most):
                _, (width, block), (left, top) = best
                return block.at(left, top), (left, top - block.height, left + width, top)
        return None

    def _known_too_large(self, form: Form, crossed: int, taken: Sequence[_Bounds]) -> bool:
        """Whether one no larger has found no place that way: there is never more room than there was."""
        width, height = form[0], form[1].height
        return any(
            way == crossed and wide <= width and high <= height and beside.issubset(taken)
            for way, wide, high, beside in self._in_vain
        )

    def foot(self, block: Block) -> tuple[Item, ...]:
        """A block at the foot of the page, over what stands there already."""
        self._foot += block.height
        return block.at(self.frame.x, self._foot)

    def _free(self, form: Form, crossed: int, taken: Sequence[_Bounds]) -> tuple[int, Point] | None:
        """The lowest place clear of everything, that on the fewest lines (1), or one on a section too (2), with how much it covers."""
        width, height = form[0], form[1].height
        if width > self.frame.width or height > self.frame.height:
            return None
        stands = _Stands(self.frame, width, height)
        avoided = (self._film, self._words, self._strips, self._lines)[: 4 - crossed]
        lines = self._lines.covered(stands)
        clear = np.ones(lines.shape, dtype=bool)
        for box in taken:
            clear &= stands.apart(box)
        for one in avoided:
            clear &= (lines if one is self._lines else one.covered(stands)) == 0
        lines = lines.ravel()
        left = np.flatnonzero(clear)
        # Of places on lines the one on the fewest, the lowest of those; the shapes are asked in that order, of few at first.
        left = left[np.argsort(lines[left], kind="stable")]
        count = _FIRST_ASKED
        while len(left):
            tried, left, count = left[:count], left[count:], 4 * count
            for one in avoided:
                tried = tried[~one.hits(stands.boxes(tried))]
            if len(tried):
                x, low = stands.corner(int(tried[0]))
                return int(lines[tried[0]]), (x, low + height)
        return None


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


def _sections(items: Iterable[Item]) -> Iterator[BaseGeometry]:
    """The sections of a page, each with its frame whole: one draws there as on its map."""
    for item in items:
        if isinstance(item, Group) and item.layer is Layer.SECTION:
            drawn = tuple(_drawn((item,)))
            if drawn:
                yield shapely.box(*shapely.total_bounds(drawn).tolist())
        elif isinstance(item, Group):
            yield from _sections(item.items)


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
