"""Contacts from arm to arm of the walk, in grey where nobody walked."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from traverse.record import record
from traverse.shapes import lines_in, points_of
from traverse.sheet.map.on_page import frame_of, on_page
from traverse.sheet.paper.page import Item, Path, polyline
from traverse.sheet.paper.style import PENS
from traverse.sheet.paper.window import Window

if TYPE_CHECKING:
    from traverse.ground.records import Join

_LEAST_MM = 1.6
"""A gap between two arms that is shorter holds not even a dash."""


@record(frozen=True, kw_only=True)
class JoinDrawing:
    """Lines, their signs, and what labels keep off."""

    items: tuple[Item, ...]
    signs: tuple[str, ...]
    obstacle: BaseGeometry


def draw_joins(joins: Sequence[Join], window: Window, edge: BaseGeometry) -> JoinDrawing:
    """What was computed between the arms, from the edge of one to the edge of the other."""
    bare = frame_of(window).difference(edge)
    items: list[Item] = []
    signs: set[str] = set()
    shapes: list[BaseGeometry] = []
    for join in joins:
        sign = "computed fault trace" if join.fault else "computed trace"
        for points in join.lines:
            line = on_page(LineString(points), window)
            for part in lines_in(line.intersection(bare)):
                if part.length >= _LEAST_MM:
                    items.append(Path(commands=polyline(points_of(part)), pen=PENS[sign]))
                    shapes.append(part.buffer(0.3, quad_segs=1))
                    signs.add(sign)
    return JoinDrawing(items=tuple(items), signs=tuple(sorted(signs)), obstacle=shapely.union_all(shapes))
