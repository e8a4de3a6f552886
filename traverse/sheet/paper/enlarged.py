"""A page and all that stands on it made larger."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from traverse.sheet.paper.page import Box, Command, Item, MapFrame, Page, Path, Pen, Text, Tile


def enlarged(page: Page, by: float) -> Page:
    """Paper, places, lines, patterns and type, all by one factor."""
    if by == 1.0:
        return page
    return replace(
        page,
        width_mm=_length(page.width_mm, by),
        height_mm=_length(page.height_mm, by),
        items=enlarged_items(page.items, by),
        maps=tuple(_map(one, by) for one in page.maps),
    )


def _map(shown: MapFrame, by: float) -> MapFrame:
    box = shown.box
    larger = Box(x=box.x * by, y=box.y * by, width=box.width * by, height=box.height * by)
    return replace(shown, box=larger, scale=round(shown.scale / by))


def enlarged_items(items: Iterable[Item], by: float) -> tuple[Item, ...]:
    """What stands on a page, larger about its lower left corner."""
    return tuple(_item(one, by) for one in items)


def _length(value: float, by: float) -> float:
    # Paper that was divided by the factor is its own size again.
    return round(value * by, 6)


def _item(item: Item, by: float) -> Item:
    if isinstance(item, Text):
        x, y = item.at
        return replace(item, at=(x * by, y * by), size_pt=item.size_pt * by, halo_mm=item.halo_mm * by)
    if isinstance(item, Path):
        fill = _tile(item.fill, by) if isinstance(item.fill, Tile) else item.fill
        pen = None if item.pen is None else _pen(item.pen, by)
        return replace(item, commands=_commands(item.commands, by), pen=pen, fill=fill)
    clip = None if item.clip is None else _commands(item.clip, by)
    return replace(item, items=enlarged_items(item.items, by), clip=clip)


def _commands(commands: Iterable[Command], by: float) -> tuple[Command, ...]:
    return tuple((command[0], *(value * by for value in command[1:])) for command in commands)


def _pen(pen: Pen, by: float) -> Pen:
    return replace(pen, width_mm=pen.width_mm * by, dash_mm=tuple(one * by for one in pen.dash_mm))


def _tile(tile: Tile, by: float) -> Tile:
    return replace(
        tile,
        width_mm=tile.width_mm * by,
        height_mm=tile.height_mm * by,
        commands=_commands(tile.commands, by),
        line_mm=tile.line_mm * by,
        dots=tuple((x * by, y * by, radius * by) for x, y, radius in tile.dots),
    )
