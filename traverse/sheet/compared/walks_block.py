"""A party's walk over the leader's, at a round scale."""

from __future__ import annotations

from traverse.length import Lengths
from traverse.sheet.compared.handed import Walks
from traverse.sheet.paper.block import BELOW_MM, framed
from traverse.sheet.paper.page import Anchor, Block, Item, Path, Point, Text, polyline
from traverse.sheet.paper.style import PENS, SMALL
from traverse.sheet.paper.window import round_scales
from traverse.sheet.paper.words import plain

HIGH_MM, ALONE_MM = 95.0, 200.0
"""How high a walk may be drawn below other things, and on a page of its own."""
_EDGE_MM = 8.0
_HEAD_MM = 6.0
_CROSS_MM = 0.9
_UPRIGHT = ((_CROSS_MM, 0.0), (0.0, _CROSS_MM))
_SLANTING = ((_CROSS_MM, _CROSS_MM), (_CROSS_MM, -_CROSS_MM))


def walks_block(walks: Walks, *, width: float, lengths: Lengths, most_mm: float) -> Block:
    """All legs of the log in a solid line with its stations; north is up.

    Of the key only the stations that are paired, as slanting crosses, and dashed lines where a leg of the log joins two
    of them. A station that the leader calls otherwise has both names; the heading says whether causes are mended in what is drawn.
    """
    points = [*walks.log.values(), *walks.key.values()]
    (west, south), (east, north) = (
        tuple(of(axis) for axis in zip(*points, strict=True)) for of in (min, max)
    )
    wide, high = max(east - west, 1.0), max(north - south, 1.0)
    room = width - 2 * _EDGE_MM
    scale = next(
        one
        for one in round_scales(feet=lengths.in_feet)
        if wide * 1000.0 / one <= room and high * 1000.0 / one <= most_mm
    )
    tall = _HEAD_MM + high * 1000.0 / scale + 2 * _EDGE_MM
    left = (width - wide * 1000.0 / scale) / 2.0

    def at(place: tuple[float, float]) -> Point:
        return (
            left + (place[0] - west) * 1000.0 / scale,
            (place[1] - north) * 1000.0 / scale - _HEAD_MM - _EDGE_MM,
        )

    items: list[Item] = framed(
        f"Your walk over the leader's, {f'with {walks.mended}' if walks.mended else 'as typed'}",
        width=width,
        aside=[
            f"1:{scale}; yours solid, +; the leader's dashed, ×{where}; grid north up"
            + ("; laid on the leader's by the ×" if walks.laid else "")
            + ("; your name = the leader's" if walks.called else "")
            for where in (", at shared stations", "")
        ],
    )
    for places, pen in ((walks.key, "raw figure"), (walks.log, "adjusted figure")):
        items += [
            Path(commands=polyline([at(places[start]), at(places[end])]), pen=PENS[pen])
            for start, end in walks.legs
            if start in places and end in places
        ]
    for places, arms in ((walks.key, _SLANTING), (walks.log, _UPRIGHT)):
        for x, y in map(at, places.values()):
            items += [
                Path(commands=polyline([(x - dx, y - dy), (x + dx, y + dy)]), pen=PENS["tick"])
                for dx, dy in arms
            ]
    for name, place in walks.log.items():
        x, y = at(place)
        called = walks.called.get(name)
        both = plain(name) if called is None else f"{plain(name)} = {plain(called)}"
        items.append(Text(at=(x + 1.2, y + 1.0), text=both, size_pt=SMALL, anchor=Anchor.START))
    return Block(items=tuple(items), height=tall + BELOW_MM)
