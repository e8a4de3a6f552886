"""Page, Path, Text, Group: all that an exporter can see. Millimetres, y up from the lower left corner."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from enum import Enum
from typing import TypeAlias

from traverse.record import record
from traverse.sheet.paper.layers import Layer

Point: TypeAlias = tuple[float, float]
"""x and y in millimetres."""

Command: TypeAlias = tuple[str, *tuple[float, ...]]
"""`("M", x, y)`, `("L", x, y)`, `("C", x1, y1, x2, y2, x, y)` or `("Z",)`, absolute."""


class Face(Enum):
    """A face of the sheet's one family."""

    # Widths and fonts are asked for by face for every word, and the hash of an enum is made anew from its name.
    __hash__ = object.__hash__

    REGULAR = "regular"
    SEMIBOLD = "semibold"
    BOLD = "bold"
    ITALIC = "italic"


class Anchor(Enum):
    """Which part of a text its point is: how much of the text lies before it."""

    START = 0.0
    MIDDLE = 0.5
    END = 1.0


class Ink(Enum):
    """What becomes of a line in a copy of a copy."""

    LASTS = "lasts"
    FADES = "fades"
    """Thin and of a middle grey: a copy needs it darker."""
    BASE = "base"
    """Pale on purpose, such as contours and rulings: darker only where it is what people draw on."""


@record(frozen=True, slots=True, kw_only=True)
class Pen:
    """How a line is drawn."""

    width_mm: float
    colour: str = "#000000"
    dash_mm: tuple[float, ...] = ()
    """Dash, gap, dash, gap and so on; empty for a solid line."""
    round_cap: bool = False
    ink: Ink = Ink.LASTS


@record(frozen=True, slots=True, kw_only=True)
class Tile:
    """A pattern to fill with: strokes and dots in a cell that repeats from the page's corner."""

    name: str
    width_mm: float
    height_mm: float
    commands: tuple[Command, ...] = ()
    """Strokes."""
    line_mm: float = 0.2
    dots: tuple[tuple[float, float, float], ...] = ()
    """x, y and radius of filled dots."""


@record(frozen=True, slots=True, kw_only=True)
class Path:
    """Lines and curves, stroked, filled or both."""

    commands: tuple[Command, ...]
    pen: Pen | None = None
    fill: str | Tile | None = None
    """`#rrggbb` or a pattern."""
    unit: str | None = None
    """Letters of the unit whose ground the area is."""


class Role(Enum):
    """What a text is, where that decides how it is drawn on another ground."""

    WORDS = "words"
    UNIT_LETTERS = "unit letters"


@record(frozen=True, slots=True, kw_only=True)
class Text:
    """One line of text; never markup. `at` lies on its base line."""

    at: Point
    text: str
    face: Face = Face.REGULAR
    size_pt: float = 7.2
    colour: str = "#000000"
    anchor: Anchor = Anchor.START
    turn_deg: float = 0.0
    """Counter-clockwise about `at`."""
    halo: str | None = None
    """Colour of a halo behind the letters; None for none."""
    halo_mm: float = 0.5
    role: Role = Role.WORDS


@record(frozen=True, slots=True, kw_only=True)
class Group:
    """Things that belong together: one layer, or clipped by one outline."""

    items: tuple[Item, ...]
    layer: Layer | None = None
    """An optional-content layer; the same again goes on with it."""
    clip: tuple[Command, ...] | None = None


Item: TypeAlias = Path | Text | Group


@record(frozen=True, slots=True, kw_only=True)
class Box:
    """A rectangle on the page."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """X of the right edge."""
        return self.x + self.width

    @property
    def top(self) -> float:
        """Y of the upper edge."""
        return self.y + self.height

    def inset(self, by: float) -> Box:
        """The rectangle smaller by `by` on every side."""
        return Box(x=self.x + by, y=self.y + by, width=self.width - 2 * by, height=self.height - 2 * by)


@record(frozen=True, slots=True, kw_only=True)
class Block:
    """Something drawn to a width, down from the origin: x from 0 to the right, y from 0 below it."""

    items: tuple[Item, ...]
    height: float

    def at(self, x: float, top: float) -> tuple[Item, ...]:
        """What is drawn, with its upper left corner at a place on the page."""
        return shifted(self.items, x, top)


def side_by_side(blocks: Sequence[tuple[float, Block]]) -> Block:
    """Blocks at their distances from the left, as high as the highest."""
    items = tuple(item for x, block in blocks for item in block.at(x, 0.0))
    return Block(items=items, height=max(block.height for _, block in blocks))


@record(frozen=True, slots=True, kw_only=True)
class MapFrame:
    """A map on a page, and the ground that it shows, by which it is laid over other maps."""

    box: Box
    west_m: float
    """Easting of its left edge."""
    south_m: float
    """Northing of its lower edge."""
    scale: int
    epsg: int | None = None
    """None of a local grid."""
    wkt: str = ""
    """The system of the code in well-known text; empty of a local grid."""
    corners_deg: tuple[tuple[float, float], ...] = ()
    """Latitude and longitude on the system's own datum, of the lower left corner and on clockwise; likewise."""

    @property
    def wide_m(self) -> float:
        """The ground from left to right."""
        return self.box.width * self.scale / 1000.0

    @property
    def high_m(self) -> float:
        """The ground from below to above."""
        return self.box.height * self.scale / 1000.0


@record(frozen=True, slots=True, kw_only=True)
class Page:
    """One page."""

    width_mm: float
    height_mm: float
    items: tuple[Item, ...]
    title: str
    """For the bookmark."""
    maps: tuple[MapFrame, ...] = ()
    """The maps on it."""


def polyline(points: tuple[Point, ...] | list[Point], *, close: bool = False) -> tuple[Command, ...]:
    """Commands for straight lines through points.

    >>> polyline([(0.0, 0.0), (1.0, 0.0)])
    (('M', 0.0, 0.0), ('L', 1.0, 0.0))
    """
    commands: list[Command] = [("M" if index == 0 else "L", x, y) for index, (x, y) in enumerate(points)]
    if close:
        commands.append(("Z",))
    return tuple(commands)


def shifted(items: Iterable[Item], dx: float, dy: float) -> tuple[Item, ...]:
    """Items moved to the right and up.

    >>> shifted([Text(at=(1.0, -2.0), text="a")], 10.0, 100.0)[0].at
    (11.0, 98.0)
    """

    def moved(item: Item) -> Item:
        # Every word and line of a page is moved several times; `replace` takes three times as long as to say it all.
        if isinstance(item, Text):
            return Text(
                at=(item.at[0] + dx, item.at[1] + dy),
                text=item.text,
                face=item.face,
                size_pt=item.size_pt,
                colour=item.colour,
                anchor=item.anchor,
                turn_deg=item.turn_deg,
                halo=item.halo,
                halo_mm=item.halo_mm,
                role=item.role,
            )
        if isinstance(item, Path):
            commands = _shifted(item.commands, dx, dy)
            return Path(commands=commands, pen=item.pen, fill=item.fill, unit=item.unit)
        clip = None if item.clip is None else _shifted(item.clip, dx, dy)
        return replace(item, items=shifted(item.items, dx, dy), clip=clip)

    return tuple(moved(item) for item in items)


def _shifted(commands: Iterable[Command], dx: float, dy: float) -> tuple[Command, ...]:
    return tuple(
        (one[0], one[1] + dx, one[2] + dy)
        if len(one) == 3
        else (one[0], *(value + (dy if index % 2 else dx) for index, value in enumerate(one[1:])))
        for one in commands
    )


def lowest(items: Iterable[Item]) -> float:
    """The lowest y that a point or a base line of some items has; infinite without any.

    >>> lowest([Path(commands=polyline([(0.0, 3.0), (1.0, 2.0)])), Text(at=(0.0, 2.5), text="a")])
    2.0
    """
    found = math.inf
    for item in items:
        if isinstance(item, Group):
            found = min(found, lowest(item.items))
        elif isinstance(item, Text):
            found = min(found, item.at[1])
        else:
            ys = (y for command in item.commands for y in list(command[1:])[1::2])
            found = min(found, min(ys, default=math.inf))
    return found


def rectangle(box: Box) -> tuple[Command, ...]:
    """Commands for the outline of a box."""
    return polyline([(box.x, box.y), (box.right, box.y), (box.right, box.top), (box.x, box.top)], close=True)


_KAPPA = 0.5522847498
"""Handle length of a cubic that stands for a quarter circle; off by 0.03 % of the radius at most."""


def circle(centre: Point, radius: float) -> tuple[Command, ...]:
    """Commands for a circle, as four cubics."""
    x, y = centre
    k = _KAPPA * radius
    return (
        ("M", x + radius, y),
        ("C", x + radius, y + k, x + k, y + radius, x, y + radius),
        ("C", x - k, y + radius, x - radius, y + k, x - radius, y),
        ("C", x - radius, y - k, x - k, y - radius, x, y - radius),
        ("C", x + k, y - radius, x + radius, y - k, x + radius, y),
        ("Z",),
    )
