"""The columns of words under an upright map: what stands in each, and how high they are."""

from __future__ import annotations

from collections.abc import Sequence

from traverse.sheet.paper.panel import Panel
from traverse.sheet.paper.style import SMALL, line_mm

_COLUMNS = {
    3: (
        (("units", "structure"), ("signs",), ("closure", "limits")),
        (("units", "structure"), ("signs", "closure"), ("limits",)),
    ),
    2: ((("units", "signs", "structure"), ("closure", "limits")),),
}
"""Panels of each column, by how many there are; then another way to part them, taken where it is lower."""
_CLOSURE_KEPT = {3: (("closure", "units", "structure"), ("signs",), ("limits",))}
"""Where how the walk closes must stand, whatever moves for it."""
_WORTH_MOVING_MM = 4.0
"""Height saved for which closure goes under the signs."""
_MOST_MM = 110.0
_FOR_HAZARDS_MM = 20.0


def partings(panels: Sequence[Panel], columns: int, *, closure_kept: bool = False) -> list[list[list[Panel]]]:
    """The ways to part panels among so many columns, the usual one first."""
    ways: Sequence[Sequence[Sequence[str]]] = _COLUMNS[columns]
    if closure_kept and columns in _CLOSURE_KEPT:
        ways = (*ways, _CLOSURE_KEPT[columns])
    return [[[one for one in panels if one.name in there] for there in names] for names in ways]


def upright_columns(
    panels: Sequence[Panel], widths: tuple[float, ...], *, short_words: bool
) -> tuple[list[list[Panel]], float]:
    """What stands in each column, in the order that is always kept, and how high the highest is, in millimetres.

    With `short_words` one sentence of the structure stays.
    """
    found: list[tuple[list[list[Panel]], float]] = []
    for columns in partings(panels, len(widths)):
        highest = 0.0
        for width, there in zip(widths, columns, strict=True):
            forms = [
                one.shorter[-1].draw if short_words and one.name == "structure" and one.shorter else one.draw
                for one in there
            ]
            drawn = [form(width=width) for form in forms]
            highest = max(highest, sum(block.height for block in drawn if block is not None))
        found.append((columns, highest))
    usual, least = found[0], min(found, key=lambda one: one[1])
    return least if least[1] < usual[1] - _WORTH_MOVING_MM else usual


def upright_height(
    panels: Sequence[Panel], widths: tuple[float, ...], *, short_words: bool, room: float
) -> float:
    """Height of the highest column where the page can spare it, of the limits always; millimetres."""
    columns, highest = upright_columns(panels, widths, short_words=short_words)
    least = 0.0
    for width, there in zip(widths, columns, strict=True):
        for one in there:
            if one.name == "limits":
                # The map may be a little lower for a hazard's sake.
                block, _ = one.begun(width, room + _FOR_HAZARDS_MM - line_mm(SMALL))
                least = max(least, block.height + line_mm(SMALL) if block is not None else 0.0)
    return min(highest, max(min(room, _MOST_MM), least))
