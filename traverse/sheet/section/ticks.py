"""Readings of the section as ticks with figures, and the stations named over it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from heapq import heapify, heappop, heappush
from itertools import pairwise

from traverse.angle import nearest_point, wrap_360
from traverse.length import Lengths
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.labels import Apart, spread, thinned
from traverse.sheet.paper.page import Anchor, Face, Item, Path, Point, Text, polyline
from traverse.sheet.paper.style import HEAD, PENS, SMALL
from traverse.sheet.paper.taken import Taken, centred, text_box
from traverse.sheet.paper.words import NO_BREAK, number, plain
from traverse.sheet.section.fills import Fill, tint
from traverse.sheet.section.frame import Frame
from traverse.sheet.section.lines import (
    Ground,
    is_bed,
    other_sign,
)
from traverse.sheet.signs.symbols import symbol
from traverse.structure.section.records import PointKind, Section, SectionPoint
from traverse.trade import DASHED_SHARE

_NAME_PITCH_MM = 7.6
_CELL_MM = 5.0
_FIGURE_REACH_MM = 12.0
"""From a tick farther than any of its figure's places reaches."""
_FIGURES_IN_CELL = 4
"""Figures of dip that are tried in a cell; fewer have room there."""
_COVERED_MM2 = 0.5
"""Area of each digit that may be drawn over before a figure can't be read."""
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


def _where(point: SectionPoint, ground: Ground) -> tuple[float, float]:
    return (
        point.distance_m,
        point.up_m if point.up_m is not None else ground.at(point.distance_m),
    )


def ticks_of(
    section: Section,
    frame: Frame,
    ground: Ground,
    placed: Taken,
    lines: Taken,
    fills: Sequence[Fill],
) -> tuple[list[Item], list[Item], int, int]:
    """Apparent dips at the height they are carried to, their figures, and how many ticks and figures found no room."""
    ticks: list[Item] = []
    drawn: list[tuple[Point, float, SectionPoint]] = []
    beds = _inside([point for point in section.points if is_bed(point)], frame, ground)
    kept = _unswarmed(beds)
    crowded = len(beds) - len(kept)
    for at, point in kept:
        turn = _tick_turn(point.apparent_dip_deg or 0.0, frame.exaggeration)
        sign = symbol("apparent dip", at, turn_deg=turn)
        if abs(point.carried_m) > DASHED_SHARE * section.length_m:
            sign = tuple(
                Path(commands=shape.commands, pen=PENS["apparent dip far"], fill=shape.fill)
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
    others, more = _others(section, frame, ground, placed)
    ticks += others
    profile = [frame.at((one.distance_m, one.up_m)) for one in section.profile]
    ground_line = Taken()
    for start, end in pairwise(profile):
        ground_line.add_line(start, end, wide=0.6)
    figures: list[Item] = []
    # Where far more readings lie than figures can stand, looking for room for each would take long and find none.
    tried = thinned([at for at, _, _ in drawn], cell_mm=_CELL_MM, most=_FIGURES_IN_CELL)
    left = len(drawn) - len(tried)
    for at, turn_rad, point in (drawn[index] for index in tried):
        text = number(abs(point.apparent_dip_deg or 0.0))
        way = (math.sin(turn_rad), math.cos(turn_rad))
        # Square to the tick below it first, then above it, then off its ends.
        addresses = [
            (at[0] + along * way[0] + across * -way[1], at[1] + along * way[1] + across * way[0])
            for across in (-2.1, 2.1, -2.7, 2.7)
            for along in (0.0, 1.2, -1.2)
        ] + [(at[0] + along * way[0], at[1] + along * way[1]) for along in (4.1, -4.1)]
        boxes = [text_box(address, text, Face.ITALIC, SMALL) for address in addresses]
        here, ground_here, lines_here = (
            one.about(at, _FIGURE_REACH_MM) for one in (placed, ground_line, lines)
        )
        costs = [
            here.overlap(one) * 10.0
            + ground_here.overlap(one) * 8.0
            + lines_here.overlap(one) * 6.0
            + (
                0.0
                if frame.box.x <= one.x and one.right <= frame.box.right and one.y >= frame.box.y
                else 50.0
            )
            + 0.02 * rank
            for rank, one in enumerate(boxes)
        ]
        best = costs.index(min(costs))
        if here.overlap(boxes[best]) > _COVERED_MM2 * len(text):
            left += 1
            continue
        placed.add(boxes[best])
        figures.append(centred(addresses[best], text, Face.ITALIC, SMALL, halo=tint(addresses[best], fills)))
    return ticks, figures, crowded + more, left


def _inside(points: Sequence[SectionPoint], frame: Frame, ground: Ground) -> list[tuple[Point, SectionPoint]]:
    places = [(frame.at(_where(point, ground)), point) for point in points]
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


def _others(section: Section, frame: Frame, ground: Ground, placed: Taken) -> tuple[list[Item], int]:
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
        places = _inside(points, frame, ground)
        kept = _unswarmed(places)
        left += len(places) - len(kept)
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


def named_points(section: Section) -> list[SectionPoint]:
    """Points to name over the section: places of readings, else every station."""
    chosen: dict[str, SectionPoint] = {}
    readings = [point for point in section.points if is_bed(point)]
    for point in readings or [one for one in section.points if one.kind is PointKind.STATION]:
        chosen.setdefault(_label(point), point)
    return sorted(chosen.values(), key=lambda point: point.distance_m)


def _label(point: SectionPoint) -> str:
    """Station, or the leg that a reading lies on."""
    attitude = point.attitude
    if (
        attitude is not None
        and attitude.booked.address.station is None
        and attitude.booked.address.leg is not None
    ):
        leg = attitude.booked.address.leg
        return f"{leg.start}–{leg.end}"
    return point.label


def side_of(section: Section, point: SectionPoint, lengths: Lengths) -> str:
    """How far it was carried, and the side it came from: `59 N`."""
    if lengths.of(abs(point.carried_m)) < 0.5:
        return "0"
    way = section.azimuth_deg + (90.0 if point.carried_m > 0.0 else -90.0)
    return f"{lengths.figure(abs(point.carried_m))}{NO_BREAK}{nearest_point(wrap_360(way), points=8)}"


def names_of(section: Section, frame: Frame, ground: Ground, placed: Taken) -> tuple[list[Item], int]:
    """Stations over the section with how far each was carried, and how many found no room."""
    box = frame.box
    named = named_points(section)
    words = [(_label(point), side_of(section, point, frame.lengths)) for point in named]
    widths = [
        max(
            _NAME_PITCH_MM,
            text_width_mm(plain(name), Face.BOLD, HEAD) + 1.2,
            text_width_mm(side, Face.REGULAR, SMALL) + 1.2,
        )
        for name, side in words
    ]
    # The letters of the ends stand outside the axes, so names may use the width between them.
    kept = _fitting([point.distance_m for point in named], widths, box.width)
    places = spread(
        [frame.x(named[index].distance_m) for index in kept],
        [widths[index] for index in kept],
        low=box.x + _NAME_PITCH_MM / 2 - 0.6,
        high=box.right - _NAME_PITCH_MM / 2 + 0.6,
    )
    items: list[Item] = []
    for index, x in zip(kept, places, strict=True):
        point = named[index]
        name, side = words[index]
        items += (
            Text(
                at=(x, box.top + 4.0),
                text=plain(name),
                face=Face.BOLD,
                size_pt=HEAD,
                anchor=Anchor.MIDDLE,
            ),
            Text(at=(x, box.top + 1.0), text=side, size_pt=SMALL, anchor=Anchor.MIDDLE),
        )
        foot = frame.x(point.distance_m)
        down = max(box.y, frame.y(_where(point, ground)[1]) + 0.5)
        elbow = box.top - 1.6
        if down < elbow:
            items.append(
                Path(
                    commands=polyline([(x, box.top + 0.3), (foot, elbow), (foot, down)]),
                    pen=PENS["name leader"],
                )
            )
            placed.add_line((foot, elbow), (foot, max(down, elbow - 40.0)), wide=0.3)
    return items, len(named) - len(kept)


def _fitting(distances: Sequence[float], widths: Sequence[float], room: float) -> list[int]:
    """Numbers of the names left when the one with the nearest neighbours goes, again and again, until all fit.

    The ends stay. Both neighbours count, so that of names at equal distances every second goes.
    """
    count = len(distances)
    before, after = list(range(-1, count - 1)), list(range(1, count + 1))
    kept = [True] * count
    used = sum(widths)

    def gap(index: int) -> float:
        return distances[after[index]] - distances[before[index]]

    waiting = [(gap(index), index) for index in range(1, count - 1)]
    heapify(waiting)
    while used > room and waiting:
        wide, index = heappop(waiting)
        if not kept[index]:
            continue
        if gap(index) != wide:
            # A neighbour went since it was weighed.
            heappush(waiting, (gap(index), index))
            continue
        kept[index] = False
        used -= widths[index]
        after[before[index]], before[after[index]] = after[index], before[index]
    found = [index for index in range(count) if kept[index]]
    while found and sum(widths[index] for index in found) > room:
        found.pop()
    return found
