"""Pictures of a closure: raw against adjusted, the gap enlarged, and bars of what each leg was moved."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import chain

from traverse.angle import wrap_180
from traverse.location.records import Closure, Place, PlacedLeg, PlaceKind, Survey, Vector
from traverse.log.records import LegKind, Log
from traverse.sheet.blocks import framed, set_lines
from traverse.sheet.fonts import width_mm as text_width_mm
from traverse.sheet.page import (
    Anchor,
    Block,
    Box,
    Command,
    Face,
    Group,
    Item,
    Path,
    Point,
    Text,
    circle,
    polyline,
    rectangle,
)
from traverse.sheet.scale import round_scales
from traverse.sheet.sentences import RULES, closure_name
from traverse.sheet.stops import common_control
from traverse.sheet.style import BLACK, GREY_70, PENS, SMALL, WHITE
from traverse.sheet.symbols import symbol
from traverse.sheet.words import EN_DASH, NO_BREAK, cut, metres, number, plain, signed, wrap
from traverse.trade import ELLIPSE_95

GAP_RADIUS_MM = 21.5
_TINT = "#ececec"
_FACTORS = (1, 2, 5, 10, 20, 50, 100)
_ELLIPSE_MM = 4.5
"""Half-axis of the largest ellipse as drawn, at most."""
_LEAST_PART_MM = 4.0
"""A part of the gap that is shorter has no room for a figure beside it."""
_ROW_MM = 4.1


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


def _styled(path: Path, *, pen: str, fill: str | None = None) -> Path:
    return Path(commands=path.commands, pen=PENS[pen], fill=fill)


# --- raw against adjusted -----------------------------------------------------------------------------------


def figure_block(
    log: Log, survey: Survey, *, x: float, top: float, width: float, height: float
) -> Block | None:
    """The walk as paced and as adjusted, with ellipses, and beside it the gap of the worst closure."""
    if not survey.closures:
        return None
    worst = max(survey.closures, key=lambda one: one.q)
    room = Box(
        x=x,
        y=top - height + 9.0,
        width=width - 2.0 * GAP_RADIUS_MM - 4.0,
        height=height - 17.0,
    )
    plot, words = _walk(log, survey, room)
    items = framed("Raw figure against adjusted", x=x, top=top, width=width, aside=words)
    items.extend(plot)
    y = top - height + 3.0
    rule = RULES[survey.rule]
    for left, pen, text in (
        (
            x,
            "adjusted figure",
            f"adjusted, {rule}"
            if any(one.adjusted for one in survey.closures)
            else "as placed, not adjusted",
        ),
        (x + 40.0, "raw figure", "raw, as paced"),
    ):
        items += (
            Path(commands=polyline([(left, y + 0.85), (left + 7.0, y + 0.85)]), pen=PENS[pen]),
            Text(at=(left + 8.5, y), text=text, size_pt=SMALL),
        )
    centre = (x + width - GAP_RADIUS_MM - 1.0, top - 9.0 - GAP_RADIUS_MM - max(0.0, (height - 66.0) / 2.0))
    items.extend(_gap(worst, survey, centre))
    return Block(items=tuple(items), height=height)


def _walk(log: Log, survey: Survey, room: Box) -> tuple[list[Item], str]:
    """All legs at the largest round scale that fits, and what the heading says of it."""
    ends = [(place.east_m, place.north_m) for place in survey.places.values()]
    raw = [_raw_ends(leg, survey) for leg in survey.legs]
    ends += [end for pair in raw if pair is not None for end in pair]
    east = [one for one, _ in ends]
    north = [one for _, one in ends]
    wide, tall = max(east) - min(east), max(north) - min(north)
    scale = next(
        one
        for one in round_scales(feet=False)
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
    factor, drawn = _ellipses(log, survey, at, scale)
    items.extend(drawn)
    for leg, pair in zip(survey.legs, raw, strict=True):
        if pair is not None:
            items.append(Path(commands=polyline([at(pair[0]), at(pair[1])]), pen=PENS["raw figure"]))
        start, end = survey.places.get(leg.booked.start), survey.places.get(leg.booked.end)
        if start is not None and end is not None:
            items.append(
                Path(
                    commands=polyline([at((start.east_m, start.north_m)), at((end.east_m, end.north_m))]),
                    pen=PENS["adjusted figure"],
                )
            )
    for leg, pair in zip(survey.legs, raw, strict=True):
        if pair is not None and leg.booked.kind is LegKind.CLOSE:
            items.append(Path(commands=circle(at(pair[1]), 0.75), pen=PENS["symbol fine"], fill=WHITE))
    items.extend(_names(survey, at))
    words = f"1:{number(scale) if scale >= 10_000 else scale}"
    if factor:
        words += "; ellipses one standard deviation" + (
            f", drawn {factor} times too large" if factor > 1 else ""
        )
    return items, words


def _raw_ends(leg: PlacedLeg, survey: Survey) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """A leg as paced, from the raw place of its start."""
    start = survey.places.get(leg.booked.start)
    if start is None:
        return None
    first = (start.raw.east_m, start.raw.north_m)
    return (first, (first[0] + leg.raw.east_m, first[1] + leg.raw.north_m))


def _ellipses(
    log: Log, survey: Survey, at: Callable[[tuple[float, float]], Point], scale: int
) -> tuple[int, list[Item]]:
    """Ellipses about the start, and how many times too large they are drawn; 0 without any."""
    common = common_control(log, survey)
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
        _styled(
            ellipse(
                at((place.east_m, place.north_m)),
                major * grow,
                minor * grow,
                place.ellipse.azimuth_deg if place.ellipse is not None else 0.0,
            ),
            pen="ellipse",
            fill=_TINT,
        )
        for place, major, minor in own
        if major > 0.005
    ]


def _names(survey: Survey, at: Callable[[tuple[float, float]], Point]) -> list[Item]:
    """Stations by name, outward from the middle of the walk; where names would meet, the later gives way."""
    places = [place for place in survey.places.values() if place.kind is not PlaceKind.SIGHTED]
    points = [at((place.east_m, place.north_m)) for place in places]
    middle = (
        sum(x for x, _ in points) / max(1, len(points)),
        sum(y for _, y in points) / max(1, len(points)),
    )
    taken: list[Box] = []
    items: list[Item] = []
    for place, point in zip(places, points, strict=True):
        sign = "control" if place.kind is PlaceKind.CONTROL else "station"
        items.extend(symbol(sign, point))
        dx, dy = point[0] - middle[0], point[1] - middle[1]
        far = math.hypot(dx, dy) or 1.0
        name = cut(place.name, Face.BOLD, SMALL, 14.0)
        wide = text_width_mm(name, Face.BOLD, SMALL)
        for off in (2.6, 3.8, -2.8):
            x, y = point[0] + dx / far * (off + wide / 3.0), point[1] + dy / far * off
            box = Box(x=x - wide / 2.0, y=y - 1.1, width=wide, height=2.2)
            if all(
                box.right < one.x or one.right < box.x or box.top < one.y or one.top < box.y for one in taken
            ):
                taken.append(box)
                items.append(
                    Text(
                        at=(x, y - 0.85),
                        text=name,
                        face=Face.BOLD,
                        size_pt=SMALL,
                        anchor=Anchor.MIDDLE,
                    )
                )
                break
    return items


# --- the gap ------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class _Spread:
    """Half-axes of the expected gap, and the azimuth of the larger."""

    major_m: float
    minor_m: float
    azimuth_deg: float


def expected_spread(closure: Closure) -> _Spread:
    """Ellipse of one standard deviation of what the precision leads one to expect."""
    (ee, en), (_, nn) = closure.covariance_m2
    half, mean = math.hypot((ee - nn) / 2.0, en), (ee + nn) / 2.0
    turn = 0.5 * math.atan2(2.0 * en, nn - ee)
    return _Spread(
        major_m=math.sqrt(max(0.0, mean + half)),
        minor_m=math.sqrt(max(0.0, mean - half)),
        azimuth_deg=math.degrees(turn),
    )


def _gap(closure: Closure, survey: Survey, centre: Point) -> list[Item]:
    """From the known end to where the walk came back, east and north parts, what was expected."""
    gap, spread = closure.misclosure, expected_spread(closure)
    reach = max(0.6 * gap.distance_m + 0.5 * spread.major_m, spread.major_m, 0.2)
    scale = next(
        one
        for one in chain((10, 20, 50, 100, 200, 400), round_scales(feet=False))
        if reach * 1000.0 / one <= 17.0
    )
    grow = 1000.0 / scale
    dx, dy = gap.east_m * grow, gap.north_m * grow
    start = (centre[0] - dx / 2.0, centre[1] - dy / 2.0)
    end = (start[0] + dx, start[1] + dy)
    rim = circle(centre, GAP_RADIUS_MM)
    inside: list[Item] = [
        _styled(
            ellipse(start, spread.major_m * grow, spread.minor_m * grow, spread.azimuth_deg),
            pen="ellipse",
            fill=_TINT,
        ),
        _styled(
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
    known = closure.stations[0] if closure.stations else ""
    if math.hypot(dx, dy) > 1.0:
        corner = (end[0], start[1])
        items.append(Path(commands=polyline([start, corner, end]), pen=PENS["ellipse 95"]))
        items.append(Path(commands=polyline([start, end]), pen=PENS["gap"]))
        places = 0 if gap.distance_m >= 20.0 else 1
        side = 1.0 if dy <= 0.0 else -1.0
        out = 1.0 if dx >= 0.0 else -1.0
        east = f"{number(abs(gap.east_m), places=places)}{NO_BREAK}m{NO_BREAK}{'E' if dx >= 0 else 'W'}"
        north = f"{number(abs(gap.north_m), places=places)}{NO_BREAK}m{NO_BREAK}{'N' if dy >= 0 else 'S'}"
        half, other = (text_width_mm(words, Face.REGULAR, SMALL) / 2.0 for words in (east, north))
        short = abs(dx) <= 2.0 * half
        if short and abs(dy) < _LEAST_PART_MM:
            # Too short to carry either figure: both stand across from the words at the end.
            over = max(start[1], end[1]) if side > 0.0 else min(start[1], end[1])
            items.append(_label((end[0], over + side * 3.0), f"{east}, {north}"))
        else:
            # Beside the corner where the east part is too short to carry its figure; clear of the ring at the end.
            x = corner[0] + out * (half + 1.0) if short else start[0] + dx / 2.0
            clear = 1.0 if abs(dy) > _LEAST_PART_MM else 1.8
            items += (
                _label((x, start[1] + side * 1.6), east),
                _label((corner[0] + out * (other + clear), (start[1] + end[1]) / 2.0), north),
            )
    items.extend(symbol("control" if _is_control(known, survey) else "station", start))
    items.append(Path(commands=circle(end, 0.75), pen=PENS["symbol fine"], fill=WHITE))
    # The start is named on the side away from the gap, the other end beyond it.
    begin = f"{plain(known)}, start"
    back = text_width_mm(begin, Face.SEMIBOLD, SMALL) / 2.0 + 2.4
    down = -1.0 if dy <= 0.0 else 1.0
    items += (
        _label((start[0] - back if dx >= 0.0 else start[0] + back, start[1]), begin, face=Face.SEMIBOLD),
        _label((end[0], end[1] + down * 3.0), f"{_far_end(closure)}, come back", face=Face.SEMIBOLD),
    )
    name = f"{plain(closure_name(closure, several=True))}: " if len(survey.closures) > 1 else ""
    ratio = f"{name}the gap at 1:{number(scale) if scale >= 10_000 else scale}"
    shown = ELLIPSE_95 * spread.minor_m * grow - math.hypot(dx, dy) / 2.0 < GAP_RADIUS_MM - 1.0
    below = "and 95 % (dashed) ellipse expected of it" if shown else "ellipse expected; 95 % lies outside"
    for index, line in enumerate((f"{ratio}, with the 1 sd (tint)", below)):
        items.append(
            Text(
                at=(centre[0], centre[1] - GAP_RADIUS_MM - 3.6 - 3.1 * index),
                text=line,
                size_pt=SMALL,
                anchor=Anchor.MIDDLE,
            )
        )
    return items


def _far_end(closure: Closure) -> str:
    """Name of the end that the walk came to."""
    if closure.stations and closure.kind.value == "tie":
        return plain(closure.stations[-1])
    return plain(closure.stations[0]) if closure.stations else ""


def _is_control(name: str, survey: Survey) -> bool:
    place = survey.places.get(name)
    return place is not None and place.kind is PlaceKind.CONTROL


def _label(at: Point, text: str, *, face: Face = Face.REGULAR) -> Text:
    return Text(
        at=(at[0], at[1] - 0.85), text=text, face=face, size_pt=SMALL, anchor=Anchor.MIDDLE, halo=WHITE
    )


# --- bars ---------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class _Bar:
    """One figure of a leg; None where it was not read."""

    value: float | None
    sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """What the adjustment did to a leg, and how its two bearings agree."""

    name: str
    length_m: float
    bars: tuple[_Bar, _Bar, _Bar]

    @property
    def worst(self) -> float:
        """Largest of its figures, in standard deviations."""
        return (
            max(abs(bar.value) / bar.sd for bar in self.bars if bar.value is not None)
            if any(bar.value is not None for bar in self.bars)
            else 0.0
        )


_BARS = (
    ("bearing correction", "°", 10.0, 1),
    ("length correction", "m", 4.5, 1),
    ("fore − back", "°", 4.0, 0),
)
"""Name, unit, millimetres for one of it, decimals."""
_HALF_MM = 13.5
"""Room to each side of zero, where the paper has it."""
_FIGURE_MM = 4.5
"""Half a figure under the head of a bar, and its distance from the next."""


def moved_legs(survey: Survey) -> tuple[Moved, ...]:
    """Corrections of every leg that was walked."""
    found: list[Moved] = []
    # What closes a loop that failed was left out: what it misses by is no correction.
    left_out = {one.span for one in survey.closures if not one.adjusted}
    moved = any(one.adjusted for one in survey.closures)
    for leg in survey.legs:
        if leg.booked.kind is LegKind.SIDE:
            continue
        told = moved and leg.booked.span not in left_out
        raw, adjusted = _polar(leg.raw), _polar(leg.adjusted)
        precision = leg.booked.conditions.precision.bearing_deg
        found.append(
            Moved(
                name=f"{plain(leg.booked.start)}{EN_DASH}{plain(leg.booked.end)}",
                length_m=leg.horizontal_m,
                bars=(
                    _Bar(
                        value=wrap_180(adjusted[1] - raw[1]) if told else None,
                        sd=max(leg.bearing_sd_deg, 1e-6),
                    ),
                    _Bar(value=adjusted[0] - raw[0] if told else None, sd=max(leg.distance_sd_m, 1e-6)),
                    _Bar(value=leg.fore_back_deg, sd=max(math.sqrt(2.0) * precision, 1e-6)),
                ),
            )
        )
    return tuple(found)


def _polar(vector: Vector) -> tuple[float, float]:
    """Length and azimuth."""
    return (
        math.hypot(vector.east_m, vector.north_m),
        math.degrees(math.atan2(vector.east_m, vector.north_m)) % 360.0,
    )


def bars_block(survey: Survey, *, x: float, top: float, width: float, height: float) -> Block | None:
    """Bars of every leg, or of the worst where there are more than fit; None with nothing to show."""
    legs = moved_legs(survey)
    shown = [index for index in range(3) if any(leg.bars[index].value is not None for leg in legs)]
    if not legs or not shown:
        return None
    most = max(3, int((height - 18.0) / _ROW_MM))
    chosen: Sequence[Moved] = legs
    heading = "What each leg was moved, and how its two bearings agree"
    if 0 not in shown:
        heading = "How the two bearings of each leg agree"
    elif 2 not in shown:
        heading = "What each leg was moved"
    aside = ""
    if len(legs) > most:
        worst = sorted(range(len(legs)), key=lambda index: -legs[index].worst)[:most]
        chosen = [legs[index] for index in sorted(worst)]
        aside = f"the {most} farthest off of {len(legs)}"
    items = framed(heading, x=x, top=top, width=width, aside=aside)
    column = (width - 25.0) / max(len(shown), 2)
    name_room = 15.0
    for place, index in enumerate(shown):
        zero = x + 27.0 + column * (place + 0.5) - 4.0
        items.extend(_bar_column(index, chosen, zero, top, min(_HALF_MM, column / 2.0 - _FIGURE_MM)))
    y = top - 13.6
    for leg in chosen:
        items += (
            Text(at=(x, y), text=cut(leg.name, Face.BOLD, SMALL, name_room), face=Face.BOLD, size_pt=SMALL),
            Text(at=(x + 21.0, y), text=metres(leg.length_m), size_pt=SMALL, anchor=Anchor.END),
        )
        y -= _ROW_MM
    note = "Black: more than twice its standard deviation."
    if survey.closures and survey.adjusted:
        note += f" {_RULE_NOTES.get(survey.rule.value, '')}"
    y = set_lines(items, wrap(note, Face.ITALIC, SMALL, width), x=x, y=y - 0.8, face=Face.ITALIC)
    return Block(items=tuple(items), height=top - y + 0.9)


_RULE_NOTES = {
    "compass-rule": "The compass rule shares the gap by length, so small even bars are what it makes.",
    "transit-rule": "The transit rule shares the gap by east and north parts, whatever the leg’s own error.",
    "least-squares": "Least squares moves most what is least sure; a lone long bar is worth a second look.",
    "none": "",
}


def _bar_column(index: int, legs: Sequence[Moved], zero: float, top: float, half: float) -> list[Item]:
    name, unit, usual, places = _BARS[index]
    if any(abs((leg.bars[index].value or 0.0) % 1.0 - 0.5) < 0.45 for leg in legs):
        # Half degrees were read.
        places = 1
    values = [abs(leg.bars[index].value or 0.0) for leg in legs]
    per = min(usual, half / max(values)) if max(values) > 0.0 else usual
    mark = next((one for one in (1, 2, 5, 10, 20, 50, 100, 200) if one * per >= 6.0), 500)
    head = top - 7.4
    bottom = top - 13.6 + 2.4 - _ROW_MM * len(legs) + 0.6
    items: list[Item] = [
        Text(at=(zero, head), text=name, face=Face.SEMIBOLD, size_pt=SMALL, anchor=Anchor.MIDDLE)
    ]
    gap = "" if unit == "°" else NO_BREAK
    for value in (-mark, 0, mark):
        at = zero + value * per
        if abs(at - zero) <= half + 3.0:
            items += (
                Text(
                    at=(at, head - 3.1),
                    text=f"{signed(value)}{gap}{unit}",
                    size_pt=SMALL,
                    anchor=Anchor.MIDDLE,
                ),
                Path(
                    commands=polyline([(at, head - 3.9), (at, bottom)]),
                    pen=PENS["axis" if value == 0 else "row rule"],
                ),
            )
    y = top - 13.6
    for leg in legs:
        bar = leg.bars[index]
        if bar.value is not None:
            long = bar.value * per
            black = abs(bar.value) > 2.0 * bar.sd
            if abs(long) > 0.05:
                box = Box(x=min(zero, zero + long), y=y - 0.35, width=abs(long), height=2.3)
                items.append(Path(commands=rectangle(box), pen=PENS["bar"], fill=BLACK if black else GREY_70))
            right = long >= 0.0
            items.append(
                Text(
                    at=(zero + long + (0.9 if right else -0.9), y),
                    text=signed(bar.value, places=places),
                    size_pt=SMALL,
                    face=Face.BOLD if black else Face.REGULAR,
                    anchor=Anchor.START if right else Anchor.END,
                    halo=WHITE,
                )
            )
        y -= _ROW_MM
    return items
