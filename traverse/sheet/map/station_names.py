"""Names of the stations on the map."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence

import numpy as np
from shapely import LineString

from traverse.log.records import Log
from traverse.record import record
from traverse.sheet.map.halo import Grounds
from traverse.sheet.paper.growing import GrowingBoxes
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
_ON_EACH_OTHER_MM = 1.2
"""The dots of stations nearer than this touch, and their names can't stand each by its own."""
_APART_MM = np.array([-0.5, 0.0, 0.5, 0.0])
"""Air to the left and the right of a number, over that of its box, toward the next number."""
_CELL_MM = 20.0
_MOST_IN_CELL = 24
"""Numbers that are tried in a cell; about as many have room there."""


@record(frozen=True, slots=True, kw_only=True)
class SharedName:
    """What is printed beside one station, or once beside several that lie on each other."""

    words: str
    at: Point
    stations: tuple[str, ...]


def named_together(places: Sequence[tuple[str, Point]], log: Log) -> list[SharedName]:
    """The names of a map, one for stations of several parties that have one number and lie on each other: `A,C,E-5`.

    Each of their own with a leader would hide the ground that they stand on.
    """
    groups: list[tuple[str, Point, list[str]]] = []
    of_number: dict[str, list[tuple[str, Point, list[str]]]] = defaultdict(list)
    for name, at in places:
        party = log.party_of(name)
        number = name if party is None else name.removeprefix(f"{log.party_letters[party]}-")
        others = () if party is None else of_number[number]
        group = next((one for one in others if math.dist(one[1], at) <= _ON_EACH_OTHER_MM), None)
        if group is None:
            group = (number, at, [])
            groups.append(group)
            if party is not None:
                of_number[number].append(group)
        group[2].append(name)
    return [
        SharedName(
            words=mine[0]
            if len(mine) == 1
            else f"{','.join(one.removesuffix(f'-{number}') for one in mine)}-{number}",
            at=at,
            stations=tuple(mine),
        )
        for number, at, mine in groups
    ]


def name_stations(
    places: Sequence[tuple[str, Point]], middle: Point, taken: Taken, grounds: Grounds, numbers: GrowingBoxes
) -> Named:
    """Station numbers, outward from the middle of the walk first; farther off with a leader.

    They keep apart from the `numbers` that stand already, and join them.
    """
    items: list[Item] = []
    tried = thinned([at for _, at in places], cell_mm=_CELL_MM, most=_MOST_IN_CELL)
    placed: set[str] = set()
    for name, at in (places[number] for number in tried):
        size = text_size(name, Face.BOLD, SMALL)
        outward = math.degrees(math.atan2(at[0] - middle[0], at[1] - middle[1]))
        for rings, led in ((_RINGS, False), (_RINGS_WITH_LEADER, True)):
            boxes = boxes_at(ringed(at, outward, rings, size), size)
            # With no more than a hair between them two numbers beside each other read as one.
            boxes = boxes[numbers.overlap(boxes + _APART_MM) == 0.0]
            found = taken.best(boxes, leader_from=at if led else None)
            if found is None:
                continue
            taken.add(boxes[found])
            numbers.add(boxes[found])
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
