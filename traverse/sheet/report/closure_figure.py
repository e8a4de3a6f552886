"""Pictures of a closure: raw against adjusted, the gap enlarged, and bars of what each leg was moved."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import count

import shapely

from traverse.location.records import Place, PlacedLeg, PlaceKind, Survey
from traverse.log.items import LegKind
from traverse.log.records import Log
from traverse.sheet.paper.block import framed
from traverse.sheet.paper.labels import Taken, label, shapes_in, text_size
from traverse.sheet.paper.page import (
    Block,
    Box,
    Face,
    Item,
    Path,
    Point,
    Text,
    circle,
    polyline,
)
from traverse.sheet.paper.style import PENS, SMALL, WHITE
from traverse.sheet.paper.window import as_drawn, on_paper
from traverse.sheet.paper.words import cut, number
from traverse.sheet.report.closure_gap import GAP_RADIUS_MM, TINT, ellipse, gap_items, styled
from traverse.sheet.said.sentences import RULES, worst_first
from traverse.sheet.signs.symbols import symbol

_FACTORS = (1, 2, 5, 10, 20, 50, 100)
_ELLIPSE_MM = 4.5
"""Half-axis of the largest ellipse as drawn, at most."""


# --- raw against adjusted -----------------------------------------------------------------------------------


def figure_block(log: Log, survey: Survey, *, width: float, height: float) -> Block | None:
    """The walk as paced and as adjusted, with ellipses, and beside it the gap of the worst closure."""
    if not survey.closures:
        return None
    worst = worst_first(survey)[0]
    room = Box(
        x=0.0,
        y=9.0 - height,
        width=width - 2.0 * GAP_RADIUS_MM - 4.0,
        height=height - 17.0,
    )
    plot, words = _walk(survey, room)
    moved = any(one.adjusted for one in survey.closures)
    title = "Raw figure against adjusted" if moved else "Raw figure, not adjusted"
    items = framed(title, width=width, aside=words)
    items.extend(plot)
    y = 3.0 - height
    # Where nothing was moved one figure lies on the other.
    keyed = (
        ((0.0, "adjusted figure", f"adjusted, {RULES[survey.rule]}"), (40.0, "raw figure", "raw, as paced"))
        if moved
        else ((0.0, "adjusted figure", "as paced, not adjusted"),)
    )
    for left, pen, text in keyed:
        items += (
            Path(commands=polyline([(left, y + 0.85), (left + 7.0, y + 0.85)]), pen=PENS[pen]),
            Text(at=(left + 8.5, y), text=text, size_pt=SMALL),
        )
    centre = (width - GAP_RADIUS_MM - 1.0, -9.0 - GAP_RADIUS_MM - max(0.0, (height - 66.0) / 2.0))
    items.extend(gap_items(worst, survey, centre, log.lengths))
    return Block(items=tuple(items), height=height)


def _scales() -> Iterator[int]:
    """Scales of two figures: nobody measures on this figure, but it should fill its room."""
    yield from (round(digit * 10**power) for power in count(2) for digit in (1, 1.5, 2, 2.5, 3, 4, 5, 6, 8))


def _walk(survey: Survey, room: Box) -> tuple[list[Item], tuple[str, ...]]:
    """All legs at the largest round scale that fits, and what the heading says of it, the fullest first."""
    ends = [(place.east_m, place.north_m) for place in survey.places.values()]
    raw = [_raw_ends(leg, survey) for leg in survey.legs]
    ends += [end for pair in raw if pair is not None for end in pair]
    east = [one for one, _ in ends]
    north = [one for _, one in ends]
    wide, tall = max(east) - min(east), max(north) - min(north)
    scale = next(
        one
        for one in map(as_drawn, _scales())
        if wide * 1000.0 / one <= max(10.0, room.width - 8.0)
        and tall * 1000.0 / one <= max(10.0, room.height - 8.0)
    )
    middle = ((max(east) + min(east)) / 2.0, (max(north) + min(north)) / 2.0)
    centre = (room.x + room.width / 2.0, room.y + room.height / 2.0)

    def at(place: tuple[float, float]) -> Point:
        return (
            centre[0] + (place[0] - middle[0]) * 1000.0 / scale,
            centre[1] + (place[1] - middle[1]) * 1000.0 / scale,
        )

    items: list[Item] = []
    factor, drawn = _ellipses(survey, at, scale)
    items.extend(drawn)
    for leg, pair in zip(survey.legs, raw, strict=True):
        if pair is not None:
            items.append(Path(commands=polyline([at(pair[0]), at(pair[1])]), pen=PENS["raw figure"]))
        start = survey.places.get(leg.booked.start)
        if start is not None:
            end = (start.east_m + leg.adjusted.east_m, start.north_m + leg.adjusted.north_m)
            items.append(
                Path(
                    commands=polyline([at((start.east_m, start.north_m)), at(end)]),
                    pen=PENS["adjusted figure"],
                )
            )
    for leg, pair in zip(survey.legs, raw, strict=True):
        if pair is not None and leg.booked.kind is LegKind.CLOSE:
            items.append(Path(commands=circle(at(pair[1]), 0.75), pen=PENS["symbol fine"], fill=WHITE))
    lines = [item for item in items if isinstance(item, Path) and item.fill is None]
    items.extend(_names(survey, at, lines, room))
    told = on_paper(scale)
    ratio = f"1:{number(told) if told >= 10_000 else told}"
    if not factor:
        return items, (ratio,)
    larger = (f", drawn {factor} times too large", f" × {factor}") if factor > 1 else ("", "")
    ellipses = f"{ratio}; ellipses one standard deviation"
    return items, (f"{ellipses}{larger[0]}", f"{ellipses}{larger[1]}", f"{ratio}; ellipses 1 sd{larger[1]}")


def _raw_ends(leg: PlacedLeg, survey: Survey) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """A leg as paced, from the raw place of its start."""
    start = survey.places.get(leg.booked.start)
    if start is None:
        return None
    first = (start.raw.east_m, start.raw.north_m)
    return (first, (first[0] + leg.raw.east_m, first[1] + leg.raw.north_m))


def _ellipses(
    survey: Survey, at: Callable[[tuple[float, float]], Point], scale: int
) -> tuple[int, list[Item]]:
    """Ellipses about the start, and how many times too large they are drawn; 0 without any."""
    common = survey.common_control
    shared = (common.sd_plan_m or 0.0) ** 2 if common is not None else 0.0
    own: list[tuple[Place, float, float]] = []
    for place in survey.places.values():
        if place.ellipse is not None:
            major, minor = (
                math.sqrt(max(0.0, half**2 - shared))
                for half in (place.ellipse.major_m, place.ellipse.minor_m)
            )
            own.append((place, major, minor))
    largest = max((major for _, major, _ in own), default=0.0) * 1000.0 / scale
    if largest < 1e-6:
        return 0, []
    factor = max([one for one in _FACTORS if largest * one <= _ELLIPSE_MM] or [1])
    grow = factor * 1000.0 / scale
    return factor, [
        styled(
            ellipse(
                at((place.east_m, place.north_m)),
                major * grow,
                minor * grow,
                place.ellipse.azimuth_deg if place.ellipse is not None else 0.0,
            ),
            pen="ellipse",
            fill=TINT,
        )
        for place, major, minor in own
        if major > 0.005
    ]


def _names(
    survey: Survey, at: Callable[[tuple[float, float]], Point], lines: Sequence[Path], room: Box
) -> list[Item]:
    """Stations by name, outward from the middle of the walk where that is free; one that finds no room gives way."""
    places = [place for place in survey.places.values() if place.kind is not PlaceKind.SIGHTED]
    points = [at((place.east_m, place.north_m)) for place in places]
    middle = (
        sum(x for x, _ in points) / max(1, len(points)),
        sum(y for _, y in points) / max(1, len(points)),
    )
    taken = Taken(
        Box(x=room.x, y=room.y - _NAMES_OUT_MM, width=room.width, height=room.height + 2.0 * _NAMES_OUT_MM)
    )
    taken.block(*shapes_in(lines, by=0.1))
    taken.block(*shapely.buffer(shapely.points(points), 0.7, quad_segs=2))
    signs = [
        symbol("control" if place.kind is PlaceKind.CONTROL else "station", point)
        for place, point in zip(places, points, strict=True)
    ]
    items: list[Item] = [item for sign in signs for item in sign]
    taken.block(*shapes_in(items))
    # Where not all have room, those far from the others lead.
    for place, point in zip(places, points, strict=True):
        outward = math.atan2(point[0] - middle[0], point[1] - middle[1])
        name = cut(place.name, Face.BOLD, SMALL, 14.0)
        size = text_size(name, Face.BOLD, SMALL)
        around = [
            (
                point[0] + math.sin(outward + turn) * (off + size[0] / 2.0),
                point[1] + math.cos(outward + turn) * (off + size[1] / 2.0),
            )
            for off in _NAMES_OFF_MM
            for turn in _TURNS_RAD
        ]
        centre = taken.first(around, size)
        if centre is not None:
            items.append(label(name, centre, face=Face.BOLD, size_pt=SMALL))
    return items


_NAMES_OFF_MM = (0.9, 1.8, 2.6)
"""From a place to its name, the nearest first; beside the sign of a known point the last has room."""
_NAMES_OUT_MM = 4.0
"""How far names may stand over the room of the walk, above and below."""
_TURNS_RAD = tuple(math.radians(turn) for turn in (0, 30, -30, 60, -60, 90, -90, 120, -120, 150, -150, 180))
