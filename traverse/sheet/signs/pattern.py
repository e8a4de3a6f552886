"""Patterns in place of colours: one for every unit, by its rock where a name of rock stands in its words.

Kinds follow the numbers of the lithologic patterns of FGDC-STD-013-2006 (series 600 sedimentary, 700 metamorphic and
igneous; names and numbers by its published pattern chart); the drawing is our own, coarse enough for a copy of a copy.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from types import MappingProxyType

from traverse.log.records import RockUnit
from traverse.record import record
from traverse.sheet.paper.page import Command, Tile, circle, polyline
from traverse.sheet.paper.style import MM_PER_POINT


@record(frozen=True, slots=True, kw_only=True)
class Pattern:
    """A pattern, and what sort of drawing it is: two of one sort should not lie side by side."""

    tile: Tile
    sort: str

    @property
    def ink(self) -> float:
        """Share of the ground that is black."""
        return ink_of(self.tile)


def ink_of(tile: Tile) -> float:
    """Share of a tile that is black, strokes that cross counted twice."""
    length = 0.0
    at = start = (0.0, 0.0)
    for operator, *numbers in tile.commands:
        end = (numbers[-2], numbers[-1]) if numbers else start
        if operator == "M":
            start = end
        elif operator == "C":
            # A quarter of a circle, the only curve that is drawn here.
            length += math.dist(at, end) * math.pi / (2.0 * math.sqrt(2.0))
        else:
            length += math.dist(at, end)
        at = end
    dots = sum(math.pi * radius**2 for _, _, radius in tile.dots)
    return (length * tile.line_mm + dots) / (tile.width_mm * tile.height_mm)


def _tile(
    name: str,
    width_pt: float,
    height_pt: float,
    *,
    lines: Sequence[tuple[float, float, float, float]] = (),
    line_pt: float = 0.6,
    dots: Sequence[tuple[float, float, float]] = (),
    rings: Sequence[tuple[float, float, float]] = (),
) -> Tile:
    """A tile by its strokes, dots and open rings in points; `dots` and `rings` by diameter."""
    mm = MM_PER_POINT
    commands: list[Command] = []
    for x0, y0, x1, y1 in lines:
        commands += polyline([(x0 * mm, y0 * mm), (x1 * mm, y1 * mm)])
    for x, y, wide in rings:
        commands += circle((x * mm, y * mm), wide * mm / 2.0)
    return Tile(
        name=name,
        width_mm=width_pt * mm,
        height_mm=height_pt * mm,
        commands=tuple(commands),
        line_mm=line_pt * mm,
        dots=tuple((x * mm, y * mm, wide * mm / 2.0) for x, y, wide in dots),
    )


def _bricks(name: str, wide: float, high: float, line: float, *, lean: float = 0.0) -> Tile:
    half = high / 2.0
    return _tile(
        name,
        wide,
        high,
        lines=(
            (0.0, half / 2, wide, half / 2),
            (0.0, half * 1.5, wide, half * 1.5),
            (wide * 0.25 - lean / 2, half / 2, wide * 0.25 + lean / 2, half * 1.5),
            (wide * 0.75 - lean / 2, half * 1.5, wide * 0.75, high),
            (wide * 0.75, 0.0, wide * 0.75 + lean / 2, half / 2),
        ),
        line_pt=line,
    )


PATTERNS: Mapping[str, Pattern] = MappingProxyType(
    {
        "gravel": Pattern(
            tile=_tile("gravel", 11.0, 11.0, rings=((2.75, 2.75, 2.4), (8.25, 8.25, 2.4)), line_pt=0.55),
            sort="rings",
        ),
        "sand": Pattern(tile=_tile("sand", 4.4, 4.4, dots=((2.2, 2.2, 1.6),)), sort="dots"),
        "loose sand": Pattern(
            tile=_tile("loose sand", 9.0, 9.0, dots=((2.25, 2.25, 1.7), (6.75, 6.75, 1.7))), sort="dots"
        ),
        "silt": Pattern(
            tile=_tile("silt", 8.0, 6.0, lines=((0.5, 1.5, 4.5, 1.5),), line_pt=0.7, dots=((6.2, 4.5, 1.4),)),
            sort="dashes and dots",
        ),
        "shale": Pattern(
            tile=_tile("shale", 6.0, 2.6, lines=((0.0, 1.3, 6.0, 1.3),), line_pt=0.62), sort="rules"
        ),
        "wide rules": Pattern(
            tile=_tile("wide rules", 6.0, 5.6, lines=((0.0, 2.8, 6.0, 2.8),), line_pt=0.6), sort="rules"
        ),
        "marl": Pattern(
            tile=_tile(
                "marl", 9.0, 6.0, lines=((1.0, 1.5, 6.5, 1.5), (5.5, 4.5, 9.0, 4.5), (0.0, 4.5, 2.0, 4.5))
            ),
            sort="dashes",
        ),
        "limestone": Pattern(tile=_bricks("limestone", 11.0, 9.0, 0.55), sort="bricks"),
        "chalk": Pattern(tile=_bricks("chalk", 17.0, 14.0, 0.55), sort="bricks"),
        "dolomite": Pattern(tile=_bricks("dolomite", 9.0, 7.0, 0.6, lean=3.0), sort="leaning bricks"),
        "coal": Pattern(
            tile=_tile("coal", 6.0, 3.4, lines=((0.0, 1.7, 6.0, 1.7),), line_pt=1.4), sort="heavy rules"
        ),
        "salt": Pattern(
            tile=_tile("salt", 7.0, 7.0, lines=((0.0, 3.5, 7.0, 3.5), (3.5, 0.0, 3.5, 7.0)), line_pt=0.5),
            sort="grid",
        ),
        "granite": Pattern(
            tile=_tile(
                "granite",
                10.0,
                10.0,
                lines=(
                    (1.0, 2.5, 4.0, 2.5),
                    (2.5, 1.0, 2.5, 4.0),
                    (6.0, 7.5, 9.0, 7.5),
                    (7.5, 6.0, 7.5, 9.0),
                ),
            ),
            sort="crosses",
        ),
        "basalt": Pattern(
            tile=_tile(
                "basalt",
                9.0,
                9.0,
                lines=(
                    (1.0, 3.8, 2.4, 1.0),
                    (2.4, 1.0, 3.8, 3.8),
                    (5.5, 8.3, 6.9, 5.5),
                    (6.9, 5.5, 8.3, 8.3),
                ),
                line_pt=0.7,
            ),
            sort="vees",
        ),
        "schist": Pattern(
            tile=_tile(
                "schist",
                8.0,
                5.0,
                lines=(
                    (0.0, 1.5, 2.0, 3.0),
                    (2.0, 3.0, 4.0, 1.5),
                    (4.0, 1.5, 6.0, 3.0),
                    (6.0, 3.0, 8.0, 1.5),
                ),
            ),
            sort="waves",
        ),
        "slate": Pattern(
            tile=_tile("slate", 5.0, 5.0, lines=((0.0, 0.0, 5.0, 5.0),), line_pt=0.6), sort="slanting rules"
        ),
        "back slant": Pattern(
            tile=_tile("back slant", 5.0, 5.0, lines=((0.0, 5.0, 5.0, 0.0),), line_pt=0.8),
            sort="back slanting rules",
        ),
        "quartzite": Pattern(
            tile=_tile("quartzite", 7.0, 7.0, dots=((1.75, 1.75, 2.3), (5.25, 5.25, 2.3))), sort="heavy dots"
        ),
        "upright rules": Pattern(
            tile=_tile("upright rules", 4.5, 6.0, lines=((2.25, 0.0, 2.25, 6.0),)), sort="upright rules"
        ),
        "cross hatch": Pattern(
            tile=_tile(
                "cross hatch", 7.0, 7.0, lines=((0.0, 0.0, 7.0, 7.0), (0.0, 7.0, 7.0, 0.0)), line_pt=0.5
            ),
            sort="hatch",
        ),
    }
)
"""Every pattern; measures are ours, chosen so that two copies keep them."""

_ROCKS: tuple[tuple[str, str, int], ...] = (
    ("marl|marls|marlstone", "marl", 623),
    ("conglomerate|gravel|gravels|alluvium|breccia|till|moraine|boulder|pebbles?", "gravel", 601),
    ("dolomite|dolostone", "dolomite", 642),
    ("chalk", "chalk", 626),
    ("limestone|limestones|oolite|oolites", "limestone", 627),
    ("sandstone|sandstones|greensand|greensands|sand|sands|grit|greywacke|arkose", "sand", 607),
    ("siltstone|siltstones|silt|loess", "silt", 616),
    ("shale|shales|mudstone|mudstones|clay|claystone|argillite", "shale", 620),
    ("coal|lignite", "coal", 658),
    ("gypsum|salt|anhydrite|halite", "salt", 668),
    ("quartzite", "quartzite", 702),
    ("slate|slates|phyllite", "slate", 703),
    ("schist|gneiss", "schist", 705),
    ("tuff|ash|basalt|andesite|dolerite|lava|gabbro", "basalt", 717),
    ("granite|granodiorite|rhyolite|diorite|syenite", "granite", 718),
)
"""Words of rock, our pattern, and the number in the standard's chart that it stands for."""


NUMBERS: Mapping[str, int] = MappingProxyType({name: number for _, name, number in _ROCKS})
"""Number of a pattern in the standard's chart; those without one stand for no rock."""


def rock_of(words: str) -> str | None:
    """The pattern of the first rock that words name; None of none.

    >>> rock_of("red-brown sandstone, thin shale"), rock_of("Wash gravel"), rock_of("Upper Member")
    ('sand', 'gravel', None)
    """
    found = [
        (match.start(), name)
        for pattern, name, _ in _ROCKS
        if (match := re.search(rf"\b(?:{pattern})\b", words.casefold())) is not None
    ]
    return min(found)[1] if found else None


def rock_patterns(units: Sequence[RockUnit], rocks: Mapping[str, str]) -> Mapping[str, Tile]:
    """The pattern of each unit's rock, by its letters, where units need not be told apart by it; `rocks` as `unit_patterns`.

    A unit without a word of rock has one that stands for none.
    """
    spare = [name for name in PATTERNS if name not in NUMBERS]
    chosen: dict[str, Tile] = {}
    unnamed = 0
    for unit in units:
        own = rock_of(unit.name) or rock_of(rocks.get(unit.letters, ""))
        if own is None:
            own = spare[unnamed % len(spare)]
            unnamed += 1
        chosen[unit.letters] = PATTERNS[own].tile
    return MappingProxyType(chosen)


def unit_patterns(units: Sequence[RockUnit], rocks: Mapping[str, str]) -> Mapping[str, Tile]:
    """A pattern for every unit by its letters; `rocks` holds what is said of the rock of each.

    The unit's own rock wins where no other unit has its pattern yet; else the first pattern that nobody has, of
    another sort than the neighbour's and of another weight. Beyond that many units patterns come again, never side by
    side.
    """
    taken: list[str] = []
    chosen: dict[str, Tile] = {}
    wanted = [rock_of(unit.name) or rock_of(rocks.get(unit.letters, "")) for unit in units]
    for index, unit in enumerate(units):
        own = wanted[index]
        before = PATTERNS[taken[-1]] if taken else None
        later = frozenset(name for name in wanted[index + 1 :] if name is not None)

        def cost(
            name: str,
            own: str | None = own,
            before: Pattern | None = before,
            later: frozenset[str] = later,
        ) -> tuple[int, ...]:
            pattern = PATTERNS[name]
            beside = before is not None and pattern.sort == before.sort
            alike = before is not None and abs(pattern.ink - before.ink) < _WEIGHT_STEP
            return (
                int(beside),
                taken.count(name),
                int(name != own),
                # No unit gets what stands for a rock that it isn't, while any that stands for none is left.
                int(name != own and name in NUMBERS),
                int(name in later),
                int(alike),
            )

        name = min(PATTERNS, key=cost)
        taken.append(name)
        chosen[unit.letters] = PATTERNS[name].tile
    return MappingProxyType(chosen)


_WEIGHT_STEP = 0.03
"""Shares of ink nearer than this look like one grey from arm's length."""
