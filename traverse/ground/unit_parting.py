"""Contacts that part nothing where their strike takes them, bent to where the walk says that the ground changes.

Along a strike that nearly follows the walk a straight line would run between ground of one unit; there the walk is
right, and the line goes where the two units meet.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from traverse.ground.arm_network import TOUCH_M
from traverse.ground.records import CrossedContact, UnitArea
from traverse.settled import settled, settled_shape
from traverse.shapes import lines_in
from traverse.trade import IN_ONE_UNIT_SHARE

_BESIDE_SHARE = 0.04
"""Nearer to the edge of its unit than this share of half the band, a line runs on the edge."""
_NEAR_SHARE = 0.075
_LEAST_SHARE = 0.25
_SIMPLE_SHARE = 0.04


def part_units(
    crossed: Sequence[CrossedContact], areas: Sequence[UnitArea], half_m: float
) -> tuple[CrossedContact, ...]:
    """The same contacts; those that run between ground of one unit in the line in which their two units meet."""
    ground = {area.unit: shapely.union_all(list(area.parts)) for area in areas if area.unit is not None}
    inner = {unit: settled_shape(one.buffer(-_BESIDE_SHARE * half_m)) for unit, one in ground.items()}
    return tuple(
        one
        if one.tied or not _in_one_unit(one.line, inner.values(), half_m)
        else _parted(one, ground, half_m)
        for one in crossed
    )


def _in_one_unit(line: LineString, inner: Iterable[BaseGeometry], half_m: float) -> bool:
    return any(line.intersection(one).length > IN_ONE_UNIT_SHARE * half_m for one in inner)


def _parted(one: CrossedContact, ground: dict[str, BaseGeometry], half_m: float) -> CrossedContact:
    younger, older = (ground.get(unit or "") for unit in (one.contact.younger, one.contact.older))
    if younger is None or older is None or one.contact.younger == one.contact.older:
        return one
    meeting = younger.boundary.intersection(settled_shape(older.buffer(TOUCH_M)))
    here = shapely.Point(one.at)
    pieces = [
        piece
        for piece in lines_in(shapely.line_merge(shapely.union_all(shapely.get_parts(meeting))))
        if piece.length > _LEAST_SHARE * half_m and piece.distance(here) < _NEAR_SHARE * half_m
    ]
    if not pieces:
        return one
    line = max(pieces, key=lambda piece: settled(piece.length, 2)).simplify(_SIMPLE_SHARE * half_m)
    assert isinstance(line, LineString)
    return replace(one, line=line)
