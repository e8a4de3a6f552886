"""Intrusive bodies at the side of the column: they cut the pile and are no part of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from traverse.ground.records import Traverse
from traverse.log.records import RockUnit
from traverse.sheet.paper.page import Anchor, Box, Face, Item, Path, Role, Text, Tile, rectangle
from traverse.sheet.paper.style import LARGE, PENS
from traverse.sheet.paper.words import plain
from traverse.sheet.said.thickness_words import width_forms
from traverse.structure.records import Geology

SIDE_MM = 11.0
"""From one body to the next."""
_WIDE_MM = 5.0
_LETTERS_MM = 4.2


def seen_in(letters: str, geology: Geology) -> tuple[str, ...]:
    """Units on the other side of the walls of a body, in walking order."""
    hosts = (end.host for body in geology.bodies if body.unit == letters for end in body.ends)
    return tuple(dict.fromkeys(host for host in hosts if host is not None))


def bodies_beside(
    bodies: Sequence[RockUnit],
    geology: Geology,
    stands: Mapping[str, tuple[float, float]],
    patterns: Mapping[str, Tile],
    *,
    right: float,
) -> Iterator[Item]:
    """Each body as an upright bar along the units that it was seen in; `stands` is where their top and base are drawn."""
    for index, unit in enumerate(bodies):
        cut = [stands[host] for host in seen_in(unit.letters, geology) if host in stands]
        if not cut:
            continue
        top, base = max(high for high, _ in cut), min(low for _, low in cut)
        x = right - SIDE_MM * (len(bodies) - index) + (SIDE_MM - _WIDE_MM) / 2.0
        box = Box(x=x, y=base, width=_WIDE_MM, height=top - base)
        yield Path(commands=rectangle(box), fill=patterns[unit.letters], pen=PENS["axis"], unit=unit.letters)
        yield Text(
            at=(x + _WIDE_MM / 2.0, top + _LETTERS_MM - 3.0),
            text=plain(unit.letters),
            face=Face.SEMIBOLD,
            size_pt=LARGE,
            anchor=Anchor.MIDDLE,
            role=Role.UNIT_LETTERS,
        )


def bodies_words(unit: RockUnit, trav: Traverse) -> str:
    """A body in a line: its name, how wide it is, what it was seen in."""
    hosts = seen_in(unit.letters, trav.geology)
    parts = [f"{plain(unit.letters)}, {plain(unit.name)}: intrusive", *width_forms(trav, unit.letters)[:1]]
    parts += ["seen in " + ", ".join(hosts)] if hosts else []
    return ", ".join(parts).replace(", width", ", true width", 1)
