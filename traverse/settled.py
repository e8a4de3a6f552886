"""Figures that don't hang on the last bit.

One sum worked out on two processors may differ in its last bit: by the order in which a kernel of linear algebra adds,
or by the way a sine is computed. So what a step has worked out is settled once, where it makes its record, to a place far
below what is read and far above what is rounded: lengths to 0.000001 m, angles to 0.000000001 degree. And where a decision
compares figures, what lies nearer together than means anything on the ground is equal, and a stated rule decides: the first.

Imports what computes where it is needed: records import this, and a page with a mistake in it should be told so at once.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

SAME_M = 1e-3
"""Places on the ground nearer together than this are one place: far below what is paced, far above what is rounded."""
SAME_DEG = 1e-6
"""Directions nearer together than this are one direction."""
GRID_M = 1e-6
"""Corners of settled shapes stand on this grid, and shapes are joined and cut on it: a shape that was cut has corners that
lie off the uncut edge of its neighbour by a last bit, and the bit would say whether a slit or a spike stays between them."""
_AWAY = 0.5001
"""What is added before figures are cut: halves of the last place, as of 0.0625 m, stand well off the cut."""
_COARSE = 2.0**51
"""A figure of so many last places has none to spare: as a northing of thousands of kilometres it stands on a coarse grid
of its own."""
_SCALES = tuple(10.0**places for places in range(16))
"""By decimal places: figures are settled by the hundred thousand."""

T = TypeVar("T")
Shape = TypeVar("Shape", bound="BaseGeometry")


def settled(value: float, places: int = 9) -> float:
    """A figure to so many decimal places; never minus zero.

    >>> settled(149.99999999999997), settled(-1e-12), settled(29.999999999999996), settled(0.0625, 3)
    (150.0, 0.0, 30.0, 0.063)
    """
    scale = _SCALES[places]
    scaled = value * scale
    if not abs(scaled) < _COARSE:
        return value
    return math.floor(scaled + _AWAY) / scale


def settled_all(values: NDArray[np.float64], places: int = 9) -> NDArray[np.float64]:
    """An array of figures, as `settled`."""
    import numpy as np  # a log with a mistake in it is told so without

    scale = 10.0**places
    found = np.asarray(values * scale, dtype=np.float64)
    largest = np.maximum.reduce(np.abs(found), axis=None, initial=0.0)
    coarse = None if largest < _COARSE else ~(np.abs(found) < _COARSE)
    found += _AWAY
    np.floor(found, out=found)
    found /= scale
    found += 0.0
    if coarse is not None:
        found[coarse] = np.asarray(values)[coarse]
    return found


def settled_shape(shape: Shape, places: int = 6) -> Shape:
    """A shape of the sheet or the ground with its corners settled.

    Where edges run on in one line the last bit of an arc or a cut would say where they meet. A thin edge of an area may be
    folded over itself so; of such an area `settled_areas` keeps what is one.
    """
    import shapely

    moved: Shape = shapely.set_coordinates(shape, settled_all(shapely.get_coordinates(shape), places))
    return moved


def part_at(cuts: Sequence[float], at: float, *, same: float = SAME_M) -> int:
    """Which of the parts that rising cuts make a place belongs to; at a cut, the part before it.

    >>> part_at([100.0, 150.0], 149.99999999999997), part_at([100.0, 150.0], 150.0000001), part_at([150.0], 151.0)
    (1, 1, 1)
    """
    return bisect_left(cuts, at - same)


def least(items: Iterable[T], key: Callable[[T], float], *, same: float = SAME_M) -> T | None:
    """The item of the least key, the first of those that are as good; None of nothing.

    >>> least([160.0, 140.0], lambda one: abs(one - 149.99999999999997))
    160.0
    """
    keyed = [(key(item), item) for item in items]
    if not keyed:
        return None
    limit = min(value for value, _ in keyed) + same
    return next((item for value, item in keyed if value <= limit), keyed[0][1])


def first_least(values: NDArray[np.float64], *, same: float = SAME_M) -> int:
    """Index of the least of an array, the first of those that are as good."""
    return int((values <= values.min() + same).argmax())
