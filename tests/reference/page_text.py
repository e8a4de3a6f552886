"""A page as text: one item a line, in the order it is drawn, what a group holds set in by two blanks."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from traverse.sheet.paper.page import Anchor, Command, Face, Group, Item, Page, Path, Text, Tile

_PLACES = 3
_OFF_TIES = 1e-4
"""Share of the last place by which figures are moved before they are rounded.

Measures of the design end in halves of the last place as often as not (a bar of 0.125 mm from its middle), and a sum of
them is a hair above or below the half as the processor likes. With ties at 0.4999 instead of 0.5 none lies there.
"""


def figure(value: float) -> str:
    """A length or an angle to 0.001, the same on every processor; never minus zero.

    >>> figure(0.0625), figure(0.06249999999999), figure(-0.0625), figure(-1e-9), figure(-12.5)
    ('0.063', '0.063', '-0.062', '0', '-12.5')
    """
    whole = math.floor(value * 10**_PLACES + 0.5 + _OFF_TIES)
    units, rest = divmod(abs(whole), 10**_PLACES)
    decimals = f".{rest:0{_PLACES}d}".rstrip("0").rstrip(".")
    return f"{'-' if whole < 0 else ''}{units}{decimals}"


def page_text(page: Page) -> str:
    """All that is on a page; the patterns it fills with come last, each once."""
    tiles: dict[Tile, None] = {}
    lines = [f"page {_figures((page.width_mm, page.height_mm))} {page.title!r}"]
    lines += _lines(page.items, "", tiles)
    lines += [_tile(tile) for tile in tiles]
    return "\n".join(lines) + "\n"


def _lines(items: Iterable[Item], indent: str, tiles: dict[Tile, None]) -> Iterator[str]:
    for item in items:
        match item:
            case Group():
                yield indent + _group(item)
                yield from _lines(item.items, indent + "  ", tiles)
            case Text():
                yield indent + _text(item)
            case Path():
                if isinstance(item.fill, Tile):
                    tiles[item.fill] = None
                yield indent + _path(item)
            case _:
                raise TypeError(f"a page holds a {type(item).__name__}, which has no text here")


def _group(group: Group) -> str:
    layer = "" if group.layer is None else f" layer {str(group.layer)!r}"
    clip = "" if group.clip is None else f" clip {_commands(group.clip)}"
    return f"group{layer}{clip}"


def _text(text: Text) -> str:
    parts = [f"text {_figures(text.at)} {text.text!r} {figure(text.size_pt)} pt"]
    if text.face is not Face.REGULAR:
        parts.append(text.face.value)
    if text.anchor is not Anchor.START:
        parts.append(f"by its {text.anchor.name.lower()}")
    if text.turn_deg:
        parts.append(f"turn {figure(text.turn_deg)}")
    parts.append(text.colour)
    if text.halo is not None:
        parts.append(f"halo {text.halo} {figure(text.halo_mm)}")
    return " ".join(parts)


def _path(path: Path) -> str:
    parts = ["path"]
    if path.pen is not None:
        dash = f" dash {_figures(path.pen.dash_mm)}" if path.pen.dash_mm else ""
        ends = " round" if path.pen.round_cap else ""
        parts.append(f"pen {figure(path.pen.width_mm)} {path.pen.colour}{dash}{ends}")
    if path.fill is not None:
        parts.append(f"fill {path.fill.name if isinstance(path.fill, Tile) else path.fill}")
    return f"{' '.join(parts)}: {_commands(path.commands)}"


def _tile(tile: Tile) -> str:
    strokes = f" lines {figure(tile.line_mm)}: {_commands(tile.commands)}" if tile.commands else ""
    dots = "".join(f" dot {_figures(dot)}" for dot in tile.dots)
    return f"pattern {tile.name} {_figures((tile.width_mm, tile.height_mm))}{dots}{strokes}"


def _commands(commands: Iterable[Command]) -> str:
    return " ".join(" ".join((letter, *map(figure, figures))) for letter, *figures in commands)


def _figures(values: Iterable[float]) -> str:
    return " ".join(map(figure, values))
