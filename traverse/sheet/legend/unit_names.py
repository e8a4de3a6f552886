"""Letters and names of units alone, side by side, where a sheet has no room for more."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from traverse.ground.records import Traverse
from traverse.sheet.legend.unit_legend import unit_box
from traverse.sheet.paper.block import framed
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import Block, Box, Face, Item, Text
from traverse.sheet.paper.style import SMALL, UnitStyle, line_mm
from traverse.sheet.paper.words import plain, wrap
from traverse.sheet.said.stops import units_on_sheet

_HEAD_MM = 5.8
_BOX_MM, _HIGH_MM = 5.9, 3.2
_LETTERS_MM = 0.5
"""From the right edge of a box to its letters: left of them the copier's sheet shows the pattern, which a plate in the middle wiped."""
_PITCH_MM = 3.9
_SAME_MM = 0.01
_AIR_MM, _GAP_MM = 0.6, 1.2
_LEAST_COLUMN_MM = 26.0
"""Columns in which names take further lines are not narrower."""


def unit_names_block(trav: Traverse, *, width: float, styles: Mapping[str, UnitStyle]) -> Block | None:
    """Units that are on the sheet, youngest first, down as many columns as hold every name; None where there is none.

    A name is never cut: where a column is too narrow for it, it takes further lines.
    """
    units = units_on_sheet(trav.log, trav.geology)
    if not units:
        return None
    names = [plain(unit.name or unit.letters) + (" (intrusive)" if unit.intrusive else "") for unit in units]
    rows, widths = _columns(names, width)
    # Read across, columns would tell another order of ages.
    down = 1 < rows < len(units)
    aside = _aside(down=down, ages=any(unit.age for unit in units))
    items: list[Item] = framed("Units, youngest first", width=width, aside=aside)
    deepest = 0.0
    x = 0.0
    for first, wide in zip(range(0, len(units), rows), widths, strict=True):
        y = -_HEAD_MM
        for unit, name in zip(units[first : first + rows], names[first : first + rows], strict=True):
            lines = _wrapped(name, wide)
            box = Box(x=x, y=y - _HIGH_MM, width=_BOX_MM, height=_HIGH_MM)
            base = box.y + 0.85
            items += [
                *unit_box(box, unit, styles[unit.letters].colour, size_pt=SMALL, right_mm=_LETTERS_MM),
                *(
                    Text(
                        at=(x + _BOX_MM + _AIR_MM, base - index * line_mm(SMALL)),
                        text=line,
                        face=Face.SEMIBOLD,
                        size_pt=SMALL,
                    )
                    for index, line in enumerate(lines)
                ),
            ]
            y -= _PITCH_MM + (len(lines) - 1) * line_mm(SMALL)
        deepest = max(deepest, -y)
        x += wide + _GAP_MM
    return Block(items=tuple(items), height=deepest + 1.0)


def _aside(*, down: bool, ages: bool) -> list[str]:
    """Which way columns are read, and that the ages which this block leaves out stand elsewhere; longest form first."""
    ways = ["down, then right"] if down else []
    told = ("ages on a later sheet", "ages later") if ages else ()
    return ["; ".join((*ways, words)) for words in told] + ways


def _columns(names: Sequence[str], width: float) -> tuple[int, list[float]]:
    """Rows in each of as many columns as hold every name on one line, and how wide these are.

    Else the columns that are lowest with names that take further lines.
    """
    long = [text_width_mm(name, Face.SEMIBOLD, SMALL) for name in names]
    for columns in range(len(names), 1, -1):
        rows = -(-len(names) // columns)
        widths = [_BOX_MM + _AIR_MM + max(long[first : first + rows]) for first in range(0, len(names), rows)]
        if sum(widths) + (len(widths) - 1) * _GAP_MM <= width:
            return rows, widths
    most = max(1, int((width + _GAP_MM) / (_LEAST_COLUMN_MM + _GAP_MM)))
    level = []
    for columns in range(1, min(most, len(names)) + 1):
        rows = -(-len(names) // columns)
        parts = [names[first : first + rows] for first in range(0, len(names), rows)]
        each = (width - (len(parts) - 1) * _GAP_MM) / len(parts)
        lines = max(sum(len(_wrapped(name, each)) - 1 for name in part) for part in parts)
        level.append((rows * _PITCH_MM + lines * line_mm(SMALL), rows, [each] * len(parts)))
    _, rows, widths = min(level)
    return rows, widths


def _wrapped(name: str, wide: float) -> tuple[str, ...]:
    return wrap(name, Face.SEMIBOLD, SMALL, wide - _BOX_MM - _AIR_MM + _SAME_MM)
