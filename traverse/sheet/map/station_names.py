"""Numbers of the stations on the map."""

from __future__ import annotations

import math
from collections.abc import Sequence

from shapely import LineString

from traverse.sheet.map.halo import Grounds
from traverse.sheet.paper.labels import (
    Named,
    Taken,
    boxes_at,
    label,
    meets,
    ringed,
    text_size,
    thinned,
)
from traverse.sheet.paper.page import Face, Item, Path, Point, polyline
from traverse.sheet.paper.style import PENS, SMALL

_RINGS = (1.0, 1.5, 2.1, 2.6)
_RINGS_WITH_LEADER = (3.0, 4.0, 5.0, 6.5, 8.0)
_CELL_MM = 20.0
_MOST_IN_CELL = 24
"""Numbers that are tried in a cell; about as many have room there."""


def name_stations(
    places: Sequence[tuple[str, Point]], middle: Point, taken: Taken, grounds: Grounds
) -> Named:
    """Station numbers, outward from the middle of the walk first; farther off with a leader."""
    items: list[Item] = []
    tried = thinned([at for _, at in places], cell_mm=_CELL_MM, most=_MOST_IN_CELL)
    placed: set[str] = set()
    for name, at in (places[number] for number in tried):
        size = text_size(name, Face.BOLD, SMALL)
        outward = math.degrees(math.atan2(at[0] - middle[0], at[1] - middle[1]))
        for rings, led in ((_RINGS, False), (_RINGS_WITH_LEADER, True)):
            boxes = boxes_at(ringed(at, outward, rings, size), size)
            found = taken.best(boxes, leader_from=at if led else None)
            if found is None:
                continue
            taken.add(boxes[found])
            left, lower, right, upper = boxes[found].tolist()
            centre = ((left + right) / 2, (lower + upper) / 2)
            if led:
                end = meets(centre, at, size)
                items.append(Path(commands=polyline([at, end]), pen=PENS["leader"]))
                taken.block(LineString([at, end]).buffer(0.15, quad_segs=1))
            items.append(label(name, centre, face=Face.BOLD, size_pt=SMALL, halo=grounds.halo(centre, size)))
            placed.add(name)
            break
    return Named(items=tuple(items), left=tuple(name for name, _ in places if name not in placed))
