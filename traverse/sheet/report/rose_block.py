"""The rose of currents: their directions after the beds were laid flat."""

from __future__ import annotations

import math

from traverse.sheet.paper.block import framed
from traverse.sheet.paper.fonts import width_mm
from traverse.sheet.paper.page import Anchor, Block, Face, Path, Point, Text, circle, polyline
from traverse.sheet.paper.style import BLACK, GREY_70, PENS, SMALL, line_mm
from traverse.sheet.paper.words import azimuth, counted
from traverse.structure.readings.records import Rose

_LEAST = 3
"""Fewer directions are a list, not a rose."""
_RADIUS_MM = 22.0
_LEAST_RADIUS_MM = 10.0


def is_rose(rose: Rose | None) -> bool:
    """Whether there are directions enough for one."""
    return rose is not None and rose.n >= _LEAST


def rose_block(rose: Rose | None, *, width: float) -> Block | None:
    """The rose with its numbers; None under three directions. The area of a petal is in proportion to its readings."""
    if rose is None or not is_rose(rose):
        return None
    highest = max(rose.counts)
    toward = None if rose.n_axial == rose.n else rose.mean_deg
    lines = [(f"n = {rose.n}", Face.SEMIBOLD)]
    if rose.n_axial < rose.n:
        if toward is not None:
            lines.append((f"mean toward {azimuth(toward)}", Face.REGULAR))
        lines.append((f"agreement {rose.strength:.2f} (1: all one way)", Face.REGULAR))
    if rose.n_axial:
        lines.append((f"{counted(rose.n_axial, 'reading')} without a sense,", Face.REGULAR))
        lines.append(("half on either side", Face.REGULAR))
    lines.append((f"rim: {highest:g} in {rose.class_deg:g}°,", Face.REGULAR))
    lines.append(("area by number", Face.REGULAR))
    beside = max(width_mm(words, face, SMALL) for words, face in lines)
    radius = min(_RADIUS_MM, max(_LEAST_RADIUS_MM, (width - beside - 12.0) / 2.0))
    items = framed("Currents", width=width, aside="beds laid flat, true north")
    centre = (radius + 5.0, -11.0 - radius)
    items.append(Path(commands=circle(centre, radius), pen=PENS["ellipse"]))
    for index, readings in enumerate(rose.counts):
        if readings:
            reach = radius * math.sqrt(readings / highest)
            items.append(
                Path(
                    commands=_petal(centre, reach, index * rose.class_deg, rose.class_deg),
                    pen=PENS["symbol fine"],
                    fill=GREY_70,
                )
            )
    if toward is not None and rose.strength > 0.05:
        tip = _at(centre, radius, toward)
        items.append(Path(commands=polyline([centre, tip]), pen=PENS["adjusted figure"]))
        items.append(Path(commands=circle(tip, 0.7), fill=BLACK))
    for letter, turn in (("N", 0.0), ("E", 90.0), ("S", 180.0), ("W", 270.0)):
        at = _at(centre, radius + 2.6, turn)
        items.append(
            Text(
                at=(at[0], at[1] - 0.85), text=letter, face=Face.SEMIBOLD, size_pt=SMALL, anchor=Anchor.MIDDLE
            )
        )
    y = -12.0
    for text, face in lines:
        items.append(Text(at=(centre[0] + radius + 7.0, y), text=text, face=face, size_pt=SMALL))
        y -= line_mm(SMALL)
    return Block(items=tuple(items), height=11.0 + 2.0 * radius + 7.0)


def _at(centre: Point, reach: float, turn_deg: float) -> Point:
    turn = math.radians(turn_deg)
    return (centre[0] + reach * math.sin(turn), centre[1] + reach * math.cos(turn))


def _petal(
    centre: Point, reach: float, middle_deg: float, wide_deg: float
) -> tuple[tuple[str, *tuple[float, ...]], ...]:
    rim = [_at(centre, reach, middle_deg + wide_deg * (step / 8 - 0.5)) for step in range(9)]
    return polyline([centre, *rim], close=True)
