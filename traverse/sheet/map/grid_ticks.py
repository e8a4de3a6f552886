"""Ticks of the grid with their coordinates along the neat line, and crosses inside it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from traverse.length import METRES
from traverse.sheet.paper.fonts import width_mm
from traverse.sheet.paper.page import Anchor, Box, Face, Item, Path, Point, Text, polyline
from traverse.sheet.paper.style import PENS, SMALL
from traverse.sheet.paper.window import Window
from traverse.sheet.paper.words import NO_BREAK, number

_LEAST_MM = 40.0
"""Least distance of ticks on paper."""
_TICK_MM = 1.8
_CROSS_MM = 2.6
_CORNER_MM = 9.0
REGISTER_MM = 2.4
"""Of an arm of a register cross, out of the neat line: what stands beside the map is farther off."""
_CLEAR_MM = 0.7
"""A figure's first stroke is so far from a register cross."""
_SHORT = 10_000
"""Coordinates below this are short enough to be written in full."""


def step_m(scale: int) -> int:
    """Distance of the grid's lines on the ground: 1, 2 or 5 with noughts, 40 mm or more on paper.

    >>> step_m(2500), step_m(1200), step_m(5000)
    (100, 50, 200)
    """
    wanted = _LEAST_MM * scale / 1000.0
    power = 10 ** math.floor(math.log10(wanted) + 1e-9)
    return next(int(digit * power) for digit in (1, 2, 5, 10) if digit * power >= wanted - 1e-6)


def _lines(first: float, length: float, step: int) -> Iterator[int]:
    value = math.ceil(first / step - 1e-9) * step
    while value <= first + length + 1e-9:
        yield value
        value += step


def grid_lines(window: Window) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Eastings and northings of the lines that pass the window."""
    step = step_m(window.scale)
    wide = window.box.width * window.scale / 1000.0
    high = window.box.height * window.scale / 1000.0
    return tuple(_lines(window.east_m, wide, step)), tuple(_lines(window.north_m, high, step))


def _labels(values: tuple[int, ...], letter: str) -> Iterator[tuple[int, str]]:
    """In full where the thousands begin or change, the first with its unit, else the last three figures; small and negative ones in full."""
    before = None
    for value in values:
        if value // 1000 != before or value < _SHORT:
            unit = f"{NO_BREAK}{METRES.sign}" if before is None else ""
            text = number(value) + (f"{unit}{NO_BREAK}{letter}" if value // 1000 != before else "")
        else:
            text = f"{value % 1000:03d}"
        before = value // 1000
        yield value, text


def grid_ticks(window: Window) -> tuple[Item, ...]:
    """Ticks inside the neat line on all sides, figures above it and, upright, to its left."""
    box = window.box
    easts, norths = grid_lines(window)
    items: list[Item] = []
    for value, text in _labels(easts, "E"):
        x, _ = window.at(value, window.north_m)
        for y, way in ((box.y, 1.0), (box.top, -1.0)):
            items.append(Path(commands=polyline([(x, y), (x, y + way * _TICK_MM)]), pen=PENS["tick"]))
        at, anchor = _kept_in(x, box.x, box.right, text)
        items.append(Text(at=(at, box.top + 1.1), text=text, anchor=anchor, size_pt=SMALL))
    for value, text in _labels(norths, "N"):
        _, y = window.at(window.east_m, value)
        for x, way in ((box.x, 1.0), (box.right, -1.0)):
            items.append(Path(commands=polyline([(x, y), (x + way * _TICK_MM, y)]), pen=PENS["tick"]))
        at, anchor = _kept_in(y, box.y, box.top, text)
        items.append(Text(at=(box.x - 1.1, at), text=text, anchor=anchor, turn_deg=90.0, size_pt=SMALL))
    return tuple(items)


def register_crosses(box: Box, within: Box | None) -> tuple[Item, ...]:
    """At each corner of the neat line a cross, by which a sheet is laid on another; its arms keep to what is printed on."""
    items: list[Item] = []
    for x, way in ((box.x, -1.0), (box.right, 1.0)):
        for y, up in ((box.y, -1.0), (box.top, 1.0)):
            # The other two arms of each are the neat line.
            for end in ((x + way * REGISTER_MM, y), (x, y + up * REGISTER_MM)):
                kept = end if within is None else _within(end, within)
                if kept != (x, y):
                    items.append(Path(commands=polyline([(x, y), kept]), pen=PENS["register cross"]))
    return tuple(items)


def _within(at: Point, box: Box) -> Point:
    return (min(max(at[0], box.x), box.right), min(max(at[1], box.y), box.top))


def _kept_in(at: float, low: float, high: float, text: str) -> tuple[float, Anchor]:
    """Centred on its tick, but a label near a corner starts or ends there."""
    half = width_mm(text, Face.REGULAR, SMALL) / 2
    if at - low < min(half, _CORNER_MM):
        return max(at, low + _CLEAR_MM), Anchor.START
    if high - at < min(half, _CORNER_MM):
        return min(at, high - _CLEAR_MM), Anchor.END
    return at, Anchor.MIDDLE


def grid_crosses(window: Window, free: Callable[[Point], bool]) -> tuple[Item, ...]:
    """Crosses where the lines meet and nothing else is drawn."""
    easts, norths = grid_lines(window)
    half = _CROSS_MM / 2
    items: list[Item] = []
    for east in easts:
        for north in norths:
            x, y = window.at(east, north)
            inside = window.box.inset(_TICK_MM + half)
            if not (inside.x <= x <= inside.right and inside.y <= y <= inside.top) or not free((x, y)):
                continue
            items.append(Path(commands=polyline([(x - half, y), (x + half, y)]), pen=PENS["grid cross"]))
            items.append(Path(commands=polyline([(x, y - half), (x, y + half)]), pen=PENS["grid cross"]))
    return tuple(items)
