"""Contacts that part nothing where their strike takes them, bent to where the walk says that the ground changes.

Along a strike that nearly follows the walk a straight line would run between ground of one unit; there the walk is
right, and the line goes where the two units meet. Everything here is on paper, in millimetres of the page.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from traverse.settled import settled, settled_shape

if TYPE_CHECKING:
    from traverse.sheet.map.band_areas import Area, Crossed

_ONE_COLOUR_MM = 3.0
"""A line may run so far between ground of one unit: a hand draws no bend for less."""
_BESIDE_MM = 0.3
_TOUCH_MM = 0.02
_NEAR_MM = 0.6
_LEAST_MM = 2.0
_SIMPLE_MM = 0.3


def part_units(crossed: Sequence[Crossed], areas: Sequence[Area]) -> tuple[Crossed, ...]:
    """The same contacts; those that run between ground of one unit in the line in which their two units meet."""
    ground = {area.unit: shapely.union_all(list(area.parts)) for area in areas if area.unit is not None}
    inner = {unit: settled_shape(one.buffer(-_BESIDE_MM)) for unit, one in ground.items()}
    return tuple(
        one if one.tied or not _in_one_colour(one.line, inner.values()) else _parted(one, ground)
        for one in crossed
    )


def _in_one_colour(line: LineString, inner: Iterable[BaseGeometry]) -> bool:
    return any(line.intersection(one).length > _ONE_COLOUR_MM for one in inner)


def _parted(one: Crossed, ground: dict[str, BaseGeometry]) -> Crossed:
    younger, older = (ground.get(unit or "") for unit in (one.contact.younger, one.contact.older))
    if younger is None or older is None or one.contact.younger == one.contact.older:
        return one
    meeting = younger.boundary.intersection(settled_shape(older.buffer(_TOUCH_MM)))
    here = shapely.Point(one.at)
    pieces = [
        piece
        for piece in shapely.get_parts(shapely.line_merge(shapely.union_all(shapely.get_parts(meeting))))
        if isinstance(piece, LineString) and piece.length > _LEAST_MM and piece.distance(here) < _NEAR_MM
    ]
    if not pieces:
        return one
    line = max(pieces, key=lambda piece: settled(piece.length, 2)).simplify(_SIMPLE_MM)
    assert isinstance(line, LineString)
    return replace(one, line=line)
