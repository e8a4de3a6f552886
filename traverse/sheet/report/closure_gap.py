"""The gap of a loop or tie enlarged: where the walk ended, where it should have, and what its precision leads one to expect."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import chain

from traverse.length import Lengths
from traverse.location.records import Closure, PlaceKind, Survey
from traverse.record import record
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import Anchor, Command, Face, Group, Item, Path, Point, Text, circle, polyline
from traverse.sheet.paper.style import PENS, SMALL, WHITE
from traverse.sheet.paper.window import as_drawn, on_paper, round_scales
from traverse.sheet.paper.words import NO_BREAK, cut, number, plain, wrap
from traverse.sheet.said.sentences import closure_name
from traverse.sheet.signs.symbols import symbol
from traverse.trade import ELLIPSE_95

GAP_RADIUS_MM = 21.5
_REACH_MM = GAP_RADIUS_MM + 1.0
"""From the middle of the figure to the edge of its words."""
_MOST_NAME_MM = 22.0


TINT = "#ececec"


LEAST_PART_MM = 4.0
"""A part of the gap that is shorter has no room for a figure beside it."""


def ellipse(centre: Point, major: float, minor: float, azimuth_deg: float) -> Path:
    """Outline of an ellipse, its major half-axis turned clockwise from page-up."""
    azimuth = math.radians(azimuth_deg)
    sin, cos = math.sin(azimuth), math.cos(azimuth)
    commands: list[Command] = []
    for name, *given in circle((0.0, 0.0), 1.0):
        numbers: list[float] = []
        for x, y in zip(given[::2], given[1::2], strict=True):
            across, along = x * minor, y * major
            numbers += [centre[0] + across * cos + along * sin, centre[1] - across * sin + along * cos]
        commands.append((name, *numbers))
    return Path(commands=tuple(commands))


def styled(path: Path, *, pen: str, fill: str | None = None) -> Path:
    """The same path with the pen of that name."""
    return Path(commands=path.commands, pen=PENS[pen], fill=fill)


@record(frozen=True, slots=True, kw_only=True)
class _GapSpread:
    """Half-axes of the expected gap, and the azimuth of the larger."""

    major_m: float
    minor_m: float
    azimuth_deg: float


def expected_spread(closure: Closure) -> _GapSpread:
    """Ellipse of one standard deviation of what the precision leads one to expect."""
    (ee, en), (_, nn) = closure.covariance_m2
    half, mean = math.hypot((ee - nn) / 2.0, en), (ee + nn) / 2.0
    turn = 0.5 * math.atan2(2.0 * en, nn - ee)
    return _GapSpread(
        major_m=math.sqrt(max(0.0, mean + half)),
        minor_m=math.sqrt(max(0.0, mean - half)),
        azimuth_deg=math.degrees(turn),
    )


def gap_items(closure: Closure, survey: Survey, centre: Point, lengths: Lengths) -> list[Item]:
    """From the known end to where the walk came back, east and north parts, what was expected."""
    gap, spread = closure.misclosure, expected_spread(closure)
    reach = max(0.6 * gap.distance_m + 0.5 * spread.major_m, spread.major_m, 0.2)
    scale = next(
        one
        for one in chain(map(as_drawn, (10, 20, 50, 100, 200, 400)), round_scales(feet=False))
        if reach * 1000.0 / one <= 17.0
    )
    grow = 1000.0 / scale
    dx, dy = gap.east_m * grow, gap.north_m * grow
    start = (centre[0] - dx / 2.0, centre[1] - dy / 2.0)
    end = (start[0] + dx, start[1] + dy)
    rim = circle(centre, GAP_RADIUS_MM)
    inside: list[Item] = [
        styled(
            ellipse(start, spread.major_m * grow, spread.minor_m * grow, spread.azimuth_deg),
            pen="ellipse",
            fill=TINT,
        ),
        styled(
            ellipse(
                start,
                ELLIPSE_95 * spread.major_m * grow,
                ELLIPSE_95 * spread.minor_m * grow,
                spread.azimuth_deg,
            ),
            pen="ellipse 95",
        ),
    ]
    items: list[Item] = [
        Group(items=tuple(inside), clip=rim),
        Path(commands=rim, pen=PENS["net circle"]),
    ]
    known = cut(closure.stations[0], Face.SEMIBOLD, SMALL, _MOST_NAME_MM) if closure.stations else ""
    if math.hypot(dx, dy) > 1.0:
        corner = (end[0], start[1])
        items.append(Path(commands=polyline([start, corner, end]), pen=PENS["ellipse 95"]))
        items.append(Path(commands=polyline([start, end]), pen=PENS["gap"]))
        places = 0 if lengths.of(gap.distance_m) >= 20.0 else 1
        side = 1.0 if dy <= 0.0 else -1.0
        out = 1.0 if dx >= 0.0 else -1.0
        east = f"{lengths.printed(abs(gap.east_m), places=places)}{NO_BREAK}{'E' if dx >= 0 else 'W'}"
        north = f"{lengths.printed(abs(gap.north_m), places=places)}{NO_BREAK}{'N' if dy >= 0 else 'S'}"
        half, other = (text_width_mm(words, Face.REGULAR, SMALL) / 2.0 for words in (east, north))
        short = abs(dx) <= 2.0 * half
        if short and abs(dy) < LEAST_PART_MM:
            # Too short to carry either figure: both stand across from the words at the end.
            over = max(start[1], end[1]) if side > 0.0 else min(start[1], end[1])
            items.append(figure_label((end[0], over + side * 3.0), f"{east}, {north}"))
        else:
            # Beside the corner where the east part is too short to carry its figure; clear of the ring at the end.
            x = corner[0] + out * (half + 1.0) if short else start[0] + dx / 2.0
            clear = 1.0 if abs(dy) > LEAST_PART_MM else 1.8
            items += (
                figure_label((x, start[1] + side * 1.6), east),
                figure_label((corner[0] + out * (other + clear), (start[1] + end[1]) / 2.0), north),
            )
    items.extend(symbol("control" if _is_control(closure, survey) else "station", start))
    items.append(Path(commands=circle(end, 0.75), pen=PENS["symbol fine"], fill=WHITE))
    # The start is named on the side away from the gap, the other end beyond it.
    begin = f"{known}, start"
    back = text_width_mm(begin, Face.SEMIBOLD, SMALL) / 2.0 + 2.4
    down = -1.0 if dy <= 0.0 else 1.0
    aside = start[0] - back if dx >= 0.0 else start[0] + back
    half = back - 2.4
    beside = abs(aside - centre[0]) + half <= _chord(start[1] - centre[1])
    # One that has no room beside it inside the circle stands below or above.
    named = (aside, start[1]) if beside else (start[0], start[1] - down * 4.6)
    room = max(0.0, _chord(named[1] - centre[1]) - half)
    named = (min(max(named[0], centre[0] - room), centre[0] + room), named[1])
    items += (
        figure_label(named, begin, face=Face.SEMIBOLD),
        figure_label((end[0], end[1] + down * 3.0), f"{_far_end(closure)}, come back", face=Face.SEMIBOLD),
    )
    name = f"{plain(closure_name(closure, several=True))}: " if len(survey.closures) > 1 else ""
    told = on_paper(scale)
    ratio = f"{name}the gap at 1:{number(told) if told >= 10_000 else told}"
    shown = ELLIPSE_95 * spread.minor_m * grow - math.hypot(dx, dy) / 2.0 < GAP_RADIUS_MM - 1.0
    below = (
        f"and 95{NO_BREAK}% (dashed) ellipse expected of it"
        if shown
        else f"ellipse expected of it; that of 95{NO_BREAK}% is larger than this figure"
    )
    caption = wrap(f"{ratio}, with the 1 sd (tint) {below}", Face.REGULAR, SMALL, 2.0 * _REACH_MM)
    for index, line in enumerate(caption):
        items.append(
            Text(
                at=(centre[0], centre[1] - GAP_RADIUS_MM - 3.6 - 3.1 * index),
                text=line,
                size_pt=SMALL,
                anchor=Anchor.MIDDLE,
            )
        )
    return [_kept_near(item, centre[0]) for item in items]


def _chord(off: float) -> float:
    """Half of what the circle holds, with air, so far above or below its middle."""
    return math.sqrt(max(0.0, GAP_RADIUS_MM**2 - (abs(off) + 1.2) ** 2)) - 0.8


def _kept_near(item: Item, middle: float) -> Item:
    """A text moved so that it leaves neither side of the figure."""
    if not isinstance(item, Text):
        return item
    half = text_width_mm(item.text, item.face, item.size_pt) / 2.0
    room = max(0.0, _REACH_MM - half)
    return replace(item, at=(min(max(item.at[0], middle - room), middle + room), item.at[1]))


def _far_end(closure: Closure) -> str:
    """Name of the end that the walk came to."""
    if not closure.stations:
        return ""
    end = -1 if closure.kind.value == "tie" else 0
    return cut(closure.stations[end], Face.SEMIBOLD, SMALL, _MOST_NAME_MM)


def _is_control(closure: Closure, survey: Survey) -> bool:
    place = survey.places.get(closure.stations[0]) if closure.stations else None
    return place is not None and place.kind in {PlaceKind.CONTROL, PlaceKind.UNUSED}


def figure_label(at: Point, text: str, *, face: Face = Face.REGULAR) -> Text:
    """Words of the figure, centred on a place."""
    return Text(
        at=(at[0], at[1] - 0.85), text=text, face=face, size_pt=SMALL, anchor=Anchor.MIDDLE, halo=WHITE
    )
