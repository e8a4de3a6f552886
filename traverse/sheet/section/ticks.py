"""Readings of the section as ticks with figures."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from traverse.sheet.paper.growing import GrowingBoxes
from traverse.sheet.paper.labels import Apart, boxes_at, cheapest, label, text_size, thinned
from traverse.sheet.paper.page import Face, Item, Path, Point, Text
from traverse.sheet.paper.style import PENS, SMALL
from traverse.sheet.paper.words import number
from traverse.sheet.section.fills import Fill, halo_at
from traverse.sheet.section.strip_frame import StripFrame
from traverse.sheet.signs.shown import SHOWN
from traverse.sheet.signs.symbols import symbol
from traverse.structure.section.records import PointKind, Section, SectionPoint
from traverse.trade import DASHED_SHARE

_CELL_MM = 5.0
_FIGURES_IN_CELL = 4
"""Figures of dip that are tried in a cell; fewer have room there."""
_COVERED_MM2 = 0.5
"""Area of each digit that may be drawn over before a figure can't be read."""
_PLACES = (
    *((across, along) for across in (-2.1, 2.1, -2.7, 2.7) for along in (0.0, 1.2, -1.2)),
    *((0.0, along) for along in (4.1, -4.1)),
    *((across, along) for across in (-2.1, 2.1) for along in (2.4, -2.4)),
)
"""Of a figure from the middle of its tick, across it and along it, millimetres: below first, above, off its ends, at them."""
_CROWDED_MM = 1.5
"""Ticks nearer than this to each other run together."""
_SWARM_MM = 5.5
"""Where very many do: far enough for each to be seen alone, with its figure."""
_MOST_CROWDED = 30


def _tick_turn(apparent_dip_deg: float, exaggeration: float) -> float:
    """Clockwise from page-up: tan d' = VE tan d, and down to the right for a positive dip."""
    if abs(apparent_dip_deg) >= 89.99:
        return 180.0
    steep = math.degrees(math.atan(exaggeration * math.tan(math.radians(apparent_dip_deg))))
    return 90.0 + steep


def other_sign(point: SectionPoint) -> str | None:
    """The sign of a reading that is no bed but has an apparent dip worth drawing; None of anything else."""
    attitude = point.attitude
    if point.kind is not PointKind.ATTITUDE or attitude is None or point.apparent_dip_deg is None:
        return None
    return None if point.is_bed else SHOWN[attitude.kind.value].in_section


def ticks_of(
    section: Section,
    frame: StripFrame,
    placed: GrowingBoxes,
    lines: GrowingBoxes,
    fills: Sequence[Fill],
    *,
    near_m: float,
) -> tuple[list[Item], list[Text], int, int]:
    """Apparent dips at the height they are carried to, their figures, and how many ticks and figures found no room.

    Ticks fade with the distance: black within `near_m`, then grey, beyond a quarter of the section paler and dashed.
    """
    ticks: list[Item] = []
    drawn: list[tuple[Point, float, SectionPoint]] = []
    beds = [point for point in section.points if point.is_bed]
    kept = _unswarmed(_inside(beds, section, frame))
    crowded = len(beds) - len(kept)
    for at, point in kept:
        turn = _tick_turn(point.apparent_dip_deg or 0.0, frame.exaggeration)
        sign = symbol("apparent dip", at, turn_deg=turn)
        far = abs(point.carried_m) > DASHED_SHARE * section.length_m
        if far or abs(point.carried_m) > near_m:
            pen = PENS["apparent dip far" if far else "apparent dip carried"]
            sign = tuple(
                Path(commands=shape.commands, pen=pen, fill=shape.fill)
                if isinstance(shape, Path) and shape.pen == PENS["apparent dip"]
                else shape
                for shape in sign
            )
        ticks.extend(sign)
        turn_rad = math.radians(turn)
        way = (math.sin(turn_rad), math.cos(turn_rad))
        placed.add_line(
            (at[0] - 2.6 * way[0], at[1] - 2.6 * way[1]),
            (at[0] + 2.6 * way[0], at[1] + 2.6 * way[1]),
            wide=0.9,
        )
        drawn.append((at, turn_rad, point))
    others, more = _others(section, frame, placed)
    ticks += others
    profile = [frame.at((one.distance_m, one.up_m)) for one in section.profile]
    ground_line = GrowingBoxes()
    for start, end in pairwise(profile):
        ground_line.add_line(start, end, wide=0.6)
    figures: list[Text] = []
    # Where far more readings lie than figures can stand, looking for room for each would take long and find none.
    tried = thinned([at for at, _, _ in drawn], cell_mm=_CELL_MM, most=_FIGURES_IN_CELL)
    left = len(drawn) - len(tried)
    for at, turn_rad, point in (drawn[index] for index in tried):
        text = number(abs(point.apparent_dip_deg or 0.0))
        way = (math.sin(turn_rad), math.cos(turn_rad))
        addresses = [
            (at[0] + along * way[0] + across * -way[1], at[1] + along * way[1] + across * way[0])
            for across, along in _PLACES
        ]
        size = text_size(text, Face.ITALIC, SMALL)
        boxes = boxes_at(addresses, size)
        over = placed.overlap(boxes)
        inside = (boxes[:, :2] >= (frame.box.x, frame.box.y)).all(axis=1) & (boxes[:, 2] <= frame.box.right)
        costs = 10.0 * over + 8.0 * ground_line.overlap(boxes) + 6.0 * lines.overlap(boxes)
        costs += np.where(inside, 0.0, 50.0) + 0.02 * np.arange(len(boxes))
        best = cheapest(costs)
        if over[best] > _COVERED_MM2 * len(text):
            left += 1
            continue
        placed.add(boxes[best])
        halo = halo_at(addresses[best], size, fills)
        figures.append(label(text, addresses[best], face=Face.ITALIC, size_pt=SMALL, halo=halo))
    return ticks, figures, crowded + more, left


def _inside(
    points: Sequence[SectionPoint], section: Section, frame: StripFrame
) -> list[tuple[Point, SectionPoint]]:
    places = [(frame.at(section.place_of(point)), point) for point in points]
    return [(at, point) for at, point in places if frame.box.y <= at[1] <= frame.box.top]


def _unswarmed(places: Sequence[tuple[Point, SectionPoint]]) -> list[tuple[Point, SectionPoint]]:
    """All of them; where many would run into one black bar, those that stand apart, the least far carried first."""
    if len(places) - len(_apart(places, _CROWDED_MM)) <= _MOST_CROWDED:
        return list(places)
    return _apart(places, _SWARM_MM)


def _apart(
    places: Sequence[tuple[Point, SectionPoint]], distance_mm: float
) -> list[tuple[Point, SectionPoint]]:
    kept = Apart(distance_mm)
    order = sorted(range(len(places)), key=lambda index: abs(places[index][1].carried_m))
    return [places[index] for index in sorted(index for index in order if kept.add(places[index][0]))]


def _others(section: Section, frame: StripFrame, placed: GrowingBoxes) -> tuple[list[Item], int]:
    """Cleavage and joints, thinner than beds and without figures, those on one line at one place once; and how many found no room."""
    items: list[Item] = []
    drawn: set[tuple[str, int, int, int]] = set()
    left = 0
    by_sign: dict[str, list[SectionPoint]] = {}
    for point in section.points:
        name = other_sign(point)
        if name is not None:
            by_sign.setdefault(name, []).append(point)
    for name, points in by_sign.items():
        kept = _unswarmed(_inside(points, section, frame))
        left += len(points) - len(kept)
        for at, point in kept:
            turn = _tick_turn(point.apparent_dip_deg or 0.0, frame.exaggeration)
            seen = (name, round(at[0]), round(at[1]), round(turn / 3.0))
            if seen in drawn:
                continue
            drawn.add(seen)
            items += symbol(name, at, turn_deg=turn)
            way = (math.sin(math.radians(turn)), math.cos(math.radians(turn)))
            placed.add_line(
                (at[0] - 2.4 * way[0], at[1] - 2.4 * way[1]), (at[0] + 2.4 * way[0], at[1] + 2.4 * way[1])
            )
    return items, left
