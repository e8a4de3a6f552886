"""Bars of what each leg was moved by the adjustment."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import partial

from traverse.angle import wrap_180
from traverse.length import Lengths
from traverse.location.records import Survey, Vector
from traverse.log.items import LegKind
from traverse.record import record
from traverse.sheet.paper.block import framed, set_lines
from traverse.sheet.paper.page import Anchor, Block, Box, Face, Item, Path, Text, polyline, rectangle
from traverse.sheet.paper.panel import Form, Panel
from traverse.sheet.paper.style import BLACK, GREY_70, PENS, SMALL, WHITE
from traverse.sheet.paper.words import EN_DASH, NO_BREAK, cut, plain, signed, wrap

ROW_MM = 4.1
_MOST_ROWS, _LEAST_ROWS = 18, 3
"""Legs that have a row, and how few there may be for want of room."""


@record(frozen=True, slots=True, kw_only=True)
class _LegFigure:
    """One figure of a leg; None where it was not read."""

    value: float | None
    sd: float


@record(frozen=True, slots=True, kw_only=True)
class Moved:
    """What the adjustment did to a leg, and how its two bearings agree."""

    name: str
    length_m: float
    bars: tuple[_LegFigure, _LegFigure, _LegFigure]

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
    ("length correction", None, 4.5, 1),
    ("fore − back", "°", 4.0, 0),
)
"""Name, unit (None where it is that of lengths), millimetres for one of it or for a metre, decimals."""


_HALF_MM = 13.5
"""Room to each side of zero, where the paper has it."""


_FIGURE_MM = 4.5
"""Half a figure under the head of a bar, and its distance from the next."""


def moved_legs(survey: Survey, lengths: Lengths) -> tuple[Moved, ...]:
    """Corrections of every leg that was walked."""
    found: list[Moved] = []
    # What closes a loop that failed was left out: what it misses by is no correction.
    left_out = {one.span for one in survey.closures if not (one.adjusted or one.hung)}
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
                    _LegFigure(
                        value=wrap_180(adjusted[1] - raw[1]) if told else None,
                        sd=max(leg.bearing_sd_deg, 1e-6),
                    ),
                    _LegFigure(
                        value=lengths.of(adjusted[0] - raw[0]) if told else None,
                        sd=lengths.of(max(leg.distance_sd_m, 1e-6)),
                    ),
                    _LegFigure(value=leg.fore_back_deg, sd=max(math.sqrt(2.0) * precision, 1e-6)),
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


def bars_panel(survey: Survey, lengths: Lengths) -> Panel:
    """Bars of every leg, or of the worst where there are more than fit."""
    legs = moved_legs(survey, lengths)
    rows = range(min(_MOST_ROWS, len(legs)), min(_LEAST_ROWS, len(legs)) - 1, -1)
    usual, *fewer = (partial(_block, legs, survey, lengths, most=most) for most in rows)
    return Panel(name="bars", draw=usual, shorter=tuple(Form(draw=draw) for draw in fewer))


def _block(
    legs: Sequence[Moved], survey: Survey, lengths: Lengths, *, width: float, most: int
) -> Block | None:
    """Bars of `most` legs, the worst of them; None with nothing to show."""
    shown = [index for index in range(3) if any(leg.bars[index].value is not None for leg in legs)]
    if not legs or not shown:
        return None
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
    items = framed(heading, width=width, aside=aside)
    column = (width - 25.0) / max(len(shown), 2)
    name_room = 15.0
    for place, index in enumerate(shown):
        zero = 27.0 + column * (place + 0.5) - 4.0
        items.extend(_bar_column(index, chosen, lengths, zero, min(_HALF_MM, column / 2.0 - _FIGURE_MM)))
    y = -13.6
    for leg in chosen:
        items += (
            Text(at=(0.0, y), text=cut(leg.name, Face.BOLD, SMALL, name_room), face=Face.BOLD, size_pt=SMALL),
            Text(at=(21.0, y), text=lengths.printed(leg.length_m), size_pt=SMALL, anchor=Anchor.END),
        )
        y -= ROW_MM
    note = "Black: more than twice its standard deviation."
    if survey.closures and survey.adjusted:
        note += f" {_RULE_NOTES.get(survey.rule.value, '')}"
    y = set_lines(items, wrap(note, Face.ITALIC, SMALL, width), y=y - 0.8, face=Face.ITALIC)
    return Block(items=tuple(items), height=0.9 - y)


_RULE_NOTES = {
    "compass-rule": "The compass rule shares the gap by length, so small even bars are what it makes.",
    "transit-rule": "The transit rule shares the gap by east and north parts, whatever the leg’s own error.",
    "least-squares": "Least squares moves most what is least sure; a lone long bar is worth a second look.",
    "none": "",
}


def _bar_column(index: int, legs: Sequence[Moved], lengths: Lengths, zero: float, half: float) -> list[Item]:
    name, unit, usual, places = _BARS[index]
    if unit is None:
        unit, usual = NO_BREAK + lengths.sign, usual * lengths.metres_each
    if any(abs((leg.bars[index].value or 0.0) % 1.0 - 0.5) < 0.45 for leg in legs):
        # Half degrees were read.
        places = 1
    values = [abs(leg.bars[index].value or 0.0) for leg in legs]
    per = min(usual, half / max(values)) if max(values) > 0.0 else usual
    mark = next((one for one in (1, 2, 5, 10, 20, 50, 100, 200) if one * per >= 6.0), 500)
    head = -7.4
    bottom = -13.6 + 2.4 - ROW_MM * len(legs) + 0.6
    items: list[Item] = [
        Text(at=(zero, head), text=name, face=Face.SEMIBOLD, size_pt=SMALL, anchor=Anchor.MIDDLE)
    ]
    for value in (-mark, 0, mark):
        at = zero + value * per
        if abs(at - zero) <= half + 3.0:
            items += (
                Text(
                    at=(at, head - 3.1),
                    text=f"{signed(value)}{unit}",
                    size_pt=SMALL,
                    anchor=Anchor.MIDDLE,
                ),
                Path(
                    commands=polyline([(at, head - 3.9), (at, bottom)]),
                    pen=PENS["axis" if value == 0 else "row rule"],
                ),
            )
    y = -13.6
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
        y -= ROW_MM
    return items
