"""What is in a shape that cutting or joining has made: it may hold points and collections besides."""

from __future__ import annotations

from collections.abc import Iterator

from shapely import LineString, Polygon, make_valid
from shapely.geometry.base import BaseGeometry

from traverse.settled import SAME_M, settled_shape


def lines_in(shape: BaseGeometry) -> Iterator[LineString]:
    """Its lines, in order; not those so short that their ends are one place, which a cut by a last bit leaves.

    >>> from shapely import GeometryCollection, MultiLineString, Point
    >>> lines = MultiLineString([[(0, 0), (1, 0)], [(1, 1), (1, 1.000001)], [(2, 0), (4, 0)]])
    >>> [line.length for line in lines_in(GeometryCollection([Point(0, 0), lines]))]
    [1.0, 2.0]
    """
    for one in getattr(shape, "geoms", [shape]):
        if isinstance(one, LineString) and one.length > SAME_M:
            yield one
        elif hasattr(one, "geoms"):
            yield from lines_in(one)


def points_of(line: LineString) -> list[tuple[float, float]]:
    """Its corners."""
    return [(float(x), float(y)) for x, y in line.coords]


def areas_in(shape: BaseGeometry) -> Iterator[Polygon]:
    """Its areas that are not empty, in order.

    >>> from shapely import box, union_all
    >>> [area.area for area in areas_in(union_all([box(0, 0, 1, 1), box(2, 0, 4, 1)]))]
    [1.0, 2.0]
    """
    for one in getattr(shape, "geoms", [shape]):
        if isinstance(one, Polygon) and not one.is_empty:
            yield one
        elif hasattr(one, "geoms"):
            yield from areas_in(one)


def settled_areas(shape: BaseGeometry) -> list[Polygon]:
    """Its areas with their corners settled; one that this folds over itself at a thin edge is parted there.

    >>> from shapely import MultiPolygon, box
    >>> [area.bounds for area in settled_areas(box(0.00000001, 0, 1, 1))]
    [(0.0, 0.0, 1.0, 1.0)]
    >>> speck = box(5.00000001, 5.00000001, 5.00000002, 5.00000002)
    >>> thin = Polygon([(0, 0), (4, 0), (4, 4), (4, 4.0000001), (0, 0.0000001)])
    >>> [area.bounds for area in settled_areas(MultiPolygon([speck, thin]))]
    [(0.0, 0.0, 4.0, 4.0)]
    """
    moved = settled_shape(shape)
    if moved.is_valid:
        return list(areas_in(moved))
    # Each alone: one that shrank to a point beside another is refused.
    return [part for area in areas_in(moved) for part in areas_in(make_valid(area))]
