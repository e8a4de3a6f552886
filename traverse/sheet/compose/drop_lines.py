"""Hairlines from the ends of a section's line on the map down to the ends of its strip."""

from __future__ import annotations

from collections.abc import Iterable

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from traverse.shapes import lines_in
from traverse.sheet.paper.labels import ground_of, shape_of_text, shapes_in
from traverse.sheet.paper.page import Box, Group, Item, Path, Text, polyline
from traverse.sheet.paper.style import PENS
from traverse.sheet.paper.window import Window
from traverse.structure.section.records import Section

_CLEAR_MM = 0.6
"""Air about what stands in the way."""
_LEAST_MM = 1.0
"""A shorter piece is left out."""


def drop_lines(
    section: Section,
    window: Window,
    strip: Box,
    *,
    over: Iterable[Item],
    below: Iterable[Item],
    scales: Iterable[Item] = (),
) -> tuple[Item, ...]:
    """From each end on the map to that of the strip under it, interrupted at words and at `scales` to plot by.

    `over` is what stands on the map, where lines may be crossed, and `below` what stands between it and the strip,
    where nothing may.
    """
    words = [shape_of_text(one) for one in _texts((*over, *below))]
    whole = [ground_of(one) for one in scales if isinstance(one, Group)]
    blocked = shapely.union_all([*words, *whole, *shapes_in(below)]).buffer(_CLEAR_MM)
    found: list[Item] = []
    # The panel may be wider than the section, for the note below it.
    for end, x in ((section.line[0], strip.x), (section.line[-1], strip.x + window.mm(section.length_m))):
        way: BaseGeometry = LineString([window.at(*end), (x, strip.top)]).difference(blocked)
        found += [
            Path(commands=polyline([(float(px), float(py)) for px, py in part.coords]), pen=PENS["drop line"])
            for part in lines_in(way)
            if part.length >= _LEAST_MM
        ]
    return tuple(found)


def _texts(items: Iterable[Item]) -> Iterable[Text]:
    for item in items:
        if isinstance(item, Text):
            yield item
        elif isinstance(item, Group):
            yield from _texts(item.items)
