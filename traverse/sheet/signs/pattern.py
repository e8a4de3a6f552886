"""Patterns in place of colours: one for every unit, by its rock where a name of rock stands in its words.

Kinds follow the numbers of the lithologic patterns of FGDC-STD-013-2006 (series 600 sedimentary, 700 metamorphic and
igneous; names and numbers by its published pattern chart); the drawing is our own, coarse enough for a copy of a copy.
"""

from __future__ import annotations

import math
import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from types import MappingProxyType

from traverse.log.records import RockUnit
from traverse.record import record
from traverse.sheet.paper.page import Command, Tile, circle, polyline
from traverse.sheet.paper.style import MM_PER_POINT


@record(frozen=True, slots=True, kw_only=True)
class Pattern:
    """A pattern by what tells it from others: what sort of drawing it is, how far apart its marks stand, how dark it is."""

    tile: Tile
    sort: str
    pitch_pt: float
    """From a mark to the next, from a rule to the next."""

    @property
    def ink(self) -> float:
        """Share of the ground that is black."""
        return ink_of(self.tile)

    def told_from(self, other: Pattern) -> int:
        """In how many of the three two patterns differ; units that meet want two, as a copy may take any one away."""
        narrow, wide = sorted((self.pitch_pt, other.pitch_pt))
        return (
            (self.sort != other.sort)
            + (wide >= _PITCH_STEP * narrow)
            + (abs(self.ink - other.ink) >= _WEIGHT_STEP)
        )


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


def _bricks(
    name: str, wide: float, high: float, line: float, *, lean: float = 0.0, dots: float = 0.0
) -> Tile:
    """Two courses of bricks, each with a dot in it where `dots` has its diameter."""
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
        dots=((wide * 0.75, half, dots), (wide * 0.25, 0.0, dots)) if dots else (),
    )


_FINE: Mapping[str, Pattern] = MappingProxyType(
    {
        "gravel": Pattern(
            tile=_tile("gravel", 11.0, 11.0, rings=((2.75, 2.75, 2.4), (8.25, 8.25, 2.4)), line_pt=0.55),
            sort="rings",
            pitch_pt=7.8,
        ),
        "conglomerate": Pattern(
            tile=_tile(
                "conglomerate",
                12.0,
                12.0,
                rings=((3.0, 3.0, 4.8), (9.0, 9.0, 4.8)),
                dots=((9.0, 3.0, 2.0), (3.0, 9.0, 2.0)),
                line_pt=0.55,
            ),
            sort="rings and dots",
            pitch_pt=6.0,
        ),
        "sand": Pattern(tile=_tile("sand", 4.4, 4.4, dots=((2.2, 2.2, 1.6),)), sort="dots", pitch_pt=4.4),
        "loose sand": Pattern(
            tile=_tile("loose sand", 9.0, 9.0, dots=((2.25, 2.25, 1.7), (6.75, 6.75, 1.7))),
            sort="dots",
            pitch_pt=6.4,
        ),
        "bedded sand": Pattern(
            tile=_tile(
                "bedded sand", 4.6, 7.0, lines=((0.0, 1.6, 4.6, 1.6),), line_pt=0.6, dots=((2.3, 5.1, 1.8),)
            ),
            sort="rules and dots",
            pitch_pt=7.0,
        ),
        "silt": Pattern(
            tile=_tile("silt", 8.0, 6.0, lines=((0.5, 1.5, 4.5, 1.5),), line_pt=0.7, dots=((6.2, 4.5, 1.4),)),
            sort="dashes and dots",
            pitch_pt=6.0,
        ),
        "shale": Pattern(
            tile=_tile("shale", 6.0, 2.6, lines=((0.0, 1.3, 6.0, 1.3),), line_pt=0.62),
            sort="rules",
            pitch_pt=2.6,
        ),
        "wide rules": Pattern(
            tile=_tile("wide rules", 6.0, 5.6, lines=((0.0, 2.8, 6.0, 2.8),), line_pt=0.6),
            sort="rules",
            pitch_pt=5.6,
        ),
        "marl": Pattern(
            tile=_tile(
                "marl", 9.0, 6.0, lines=((1.0, 1.5, 6.5, 1.5), (5.5, 4.5, 9.0, 4.5), (0.0, 4.5, 2.0, 4.5))
            ),
            sort="dashes",
            pitch_pt=3.0,
        ),
        "limestone": Pattern(tile=_bricks("limestone", 11.0, 9.0, 0.55), sort="bricks", pitch_pt=4.5),
        "sandy limestone": Pattern(
            tile=_bricks("sandy limestone", 15.0, 13.0, 0.55, dots=1.8), sort="bricks and dots", pitch_pt=6.5
        ),
        "chalk": Pattern(tile=_bricks("chalk", 17.0, 14.0, 0.55), sort="bricks", pitch_pt=7.0),
        "dolomite": Pattern(
            tile=_bricks("dolomite", 9.0, 7.0, 0.6, lean=3.0), sort="leaning bricks", pitch_pt=3.5
        ),
        "coal": Pattern(
            tile=_tile("coal", 6.0, 3.4, lines=((0.0, 1.7, 6.0, 1.7),), line_pt=1.4),
            sort="heavy rules",
            pitch_pt=3.4,
        ),
        "salt": Pattern(
            tile=_tile("salt", 7.0, 7.0, lines=((0.0, 3.5, 7.0, 3.5), (3.5, 0.0, 3.5, 7.0)), line_pt=0.5),
            sort="grid",
            pitch_pt=7.0,
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
            pitch_pt=7.1,
        ),
        "basalt": Pattern(
            tile=_tile(
                "basalt",
                7.0,
                7.0,
                lines=(
                    (0.35, 3.15, 1.75, 0.35),
                    (1.75, 0.35, 3.15, 3.15),
                    (3.85, 6.65, 5.25, 3.85),
                    (5.25, 3.85, 6.65, 6.65),
                ),
                line_pt=0.7,
            ),
            sort="vees",
            pitch_pt=4.9,
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
            pitch_pt=5.0,
        ),
        "slate": Pattern(
            tile=_tile("slate", 5.0, 5.0, lines=((0.0, 0.0, 5.0, 5.0),), line_pt=0.6),
            sort="slanting rules",
            pitch_pt=3.5,
        ),
        "back slant": Pattern(
            tile=_tile("back slant", 5.0, 5.0, lines=((0.0, 5.0, 5.0, 0.0),), line_pt=0.8),
            sort="back slanting rules",
            pitch_pt=3.5,
        ),
        "quartzite": Pattern(
            tile=_tile("quartzite", 7.0, 7.0, dots=((1.75, 1.75, 2.3), (5.25, 5.25, 2.3))),
            sort="heavy dots",
            pitch_pt=5.0,
        ),
        "upright rules": Pattern(
            tile=_tile("upright rules", 4.5, 6.0, lines=((2.25, 0.0, 2.25, 6.0),)),
            sort="upright rules",
            pitch_pt=4.5,
        ),
        "cross hatch": Pattern(
            tile=_tile(
                "cross hatch", 7.0, 7.0, lines=((0.0, 0.0, 7.0, 7.0), (0.0, 7.0, 7.0, 0.0)), line_pt=0.5
            ),
            sort="hatch",
            pitch_pt=4.9,
        ),
    }
)
"""Measures are ours, chosen so that two copies keep them."""


def _bold_name(name: str) -> str:
    return f"{name}, bold"


def _bold(pattern: Pattern) -> Pattern:
    """The same drawing with heavier strokes and dots: another grey, and still the same rock."""
    tile = pattern.tile
    return replace(
        pattern,
        tile=replace(
            tile,
            name=_bold_name(tile.name),
            line_mm=_BOLD_LINE * tile.line_mm,
            dots=tuple((x, y, _BOLD_DOT * radius) for x, y, radius in tile.dots),
        ),
    )


_BOLD_LINE, _BOLD_DOT = 1.8, 1.35
_MOST_INK = 0.36
"""A darker ground hides lines and figures on it."""
PATTERNS: Mapping[str, Pattern] = MappingProxyType(
    {
        **_FINE,
        **{
            _bold_name(name): bold
            for name, bold in ((name, _bold(one)) for name, one in _FINE.items())
            if bold.ink <= _MOST_INK
        },
    }
)
"""Every pattern; after the fine ones those of them that are bold."""

_ROCKS: tuple[tuple[str, str, int], ...] = (
    ("marl|marls|marlstone", "marl", 623),
    (
        "conglomerate|gravel|gravels|alluvium|breccia|till|moraine|boulder[ -]clay|boulder|pebbles?",
        "gravel",
        601,
    ),
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


_OF_ROCK: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "gravel": ("gravel", "conglomerate"),
        "sand": ("sand", "bedded sand", "loose sand"),
        "shale": ("shale", "wide rules"),
        "limestone": ("limestone", "sandy limestone"),
    }
)
"""Patterns for several units of one rock, where there are more than the one of its name."""


STANDS_FOR_ROCK = frozenset(
    name
    for one in (*NUMBERS, "conglomerate", "bedded sand", "loose sand", "sandy limestone")
    for name in (one, _bold_name(one))
)
"""Patterns that say what rock a unit is; the others say nothing of it."""


_PHRASES_END = re.compile(
    r"[,;:()/&+]|\b(?:and|at|from|grading|in|interbedded|of|on|or|over|passing|to|under|with)\b"
)


def rock_of(words: str) -> str | None:
    """The pattern of the first rock that words name; None of none.

    Within a phrase the rock stands last, and what stands before it says where or of what kind: `Ash Marl` is a marl.

    >>> rock_of("red-brown sandstone, thin shale"), rock_of("Wash gravel"), rock_of("Upper Member")
    ('sand', 'gravel', None)
    >>> rock_of("Ash Marl"), rock_of("Sand Hill Limestone"), rock_of("Boulder Clay"), rock_of("Grit of Coal Hill")
    ('marl', 'limestone', 'gravel', 'sand')
    """
    for phrase in _PHRASES_END.split(words.casefold()):
        found = [
            (match.end(), -match.start(), name)
            for pattern, name, _ in _ROCKS
            for match in re.finditer(rf"\b(?:{pattern})\b", phrase)
        ]
        if found:
            return max(found)[2]
    return None


def rock_patterns(units: Sequence[RockUnit], rocks: Mapping[str, str]) -> Mapping[str, Tile]:
    """The pattern of each unit's rock, by its letters, where units need not be told apart by it; `rocks` as `unit_patterns`.

    A unit without a word of rock has one that stands for none.
    """
    spare = [name for name in PATTERNS if name not in STANDS_FOR_ROCK]
    chosen: dict[str, Tile] = {}
    unnamed = 0
    for unit in units:
        own = rock_of(unit.name) or rock_of(rocks.get(unit.letters, ""))
        if own is None:
            own = spare[unnamed % len(spare)]
            unnamed += 1
        chosen[unit.letters] = PATTERNS[own].tile
    return MappingProxyType(chosen)


def unit_patterns(
    units: Sequence[RockUnit], rocks: Mapping[str, str], meeting: Iterable[tuple[str, str]] = ()
) -> Mapping[str, Tile]:
    """A pattern for every unit by its letters; `rocks` holds what is said of the rock of each, `meeting` which of them meet.

    Units that meet, and neighbours in the list, differ in two of the three that tell a pattern, where there is one left
    that does. No two units have one pattern while there are enough; beyond that many patterns come again, never side by
    side. Among what that leaves a unit has a pattern of its own rock, of a sort that no other unit has.
    """
    beside: dict[str, set[str]] = defaultdict(set)
    for one, other in (*meeting, *pairwise(unit.letters for unit in units)):
        beside[one].add(other)
        beside[other].add(one)
    rock = {unit.letters: rock_of(unit.name) or rock_of(rocks.get(unit.letters, "")) for unit in units}
    chosen: dict[str, str] = {}

    def told(name: str, unit: RockUnit) -> list[int]:
        met = (chosen[one] for one in beside[unit.letters] if one in chosen)
        return [PATTERNS[name].told_from(PATTERNS[one]) for one in met]

    def narrow(name: str) -> bool:
        return name not in STANDS_FOR_ROCK and PATTERNS[name].pitch_pt <= _NARROW_PT

    def choose(unit: RockUnit) -> None:
        own = patterns_of(rock[unit.letters])
        others = [name for letters, name in chosen.items() if letters != unit.letters]
        taken, sorts = Counter(others), Counter(PATTERNS[name].sort for name in others)
        waiting = {letters for letters in rock if letters not in chosen} - {unit.letters}
        wanted = {name for letters in waiting for name in patterns_of(rock[letters])[:1]}

        def cost(name: str) -> tuple[int, ...]:
            apart = told(name, unit)
            return (
                # Never the very same side by side; then none used twice.
                sum(one == 0 for one in apart),
                taken[name],
                int(name not in own),
                # Of a body as narrow as a dike a wide pattern shows a mark here and there, or none.
                int(unit.intrusive and name not in own and not narrow(name)),
                sum(one < _TOLD_BY for one in apart),
                # No unit gets what stands for a rock that it isn't, while any that stands for none is left.
                int(name not in own and name in STANDS_FOR_ROCK),
                int(name in wanted),
                sorts[PATTERNS[name].sort],
                own.index(name) if name in own else int(name not in _FINE),
            )

        chosen[unit.letters] = min(PATTERNS, key=cost)

    # Those of a known rock first: what stands for none serves the others as well.
    ordered = sorted(units, key=lambda one: rock[one.letters] is None)
    for unit in ordered:
        choose(unit)
    # One that came first may have another pattern of its rock, where the other of two that are alike has none.
    for unit in ordered:
        if any(one < _TOLD_BY for one in told(chosen[unit.letters], unit)):
            choose(unit)
    return MappingProxyType({unit.letters: PATTERNS[chosen[unit.letters]].tile for unit in units})


def patterns_of(rock: str | None) -> tuple[str, ...]:
    """Patterns of a rock, its own first; of none, none."""
    if rock is None:
        return ()
    fine = _OF_ROCK.get(rock, (rock,))
    return (*fine, *(name for name in map(_bold_name, fine) if name in PATTERNS))


_TOLD_BY = 2
_NARROW_PT = 5.0
"""Marks so near stand side by side in a body 3.5 mm wide."""
_WEIGHT_STEP = 0.04
"""Shares of ink nearer than this look like one grey from arm's length."""
_PITCH_STEP = 1.4
"""Marks that stand nearer to as far apart as this look alike."""
