"""The columns of words under an upright map: what stands in each, and how high they are."""

from __future__ import annotations

from collections.abc import Sequence

from traverse.record import record
from traverse.sheet.paper.fitting import AGES_TOO, FEWER_HAZARDS, MOVE, NAMES_ALONE
from traverse.sheet.paper.panel import Panel
from traverse.sheet.paper.style import SMALL, line_mm

_COLUMNS = {
    3: (
        (("units", "structure"), ("signs",), ("closure", "limits")),
        (("units", "structure"), ("signs", "closure"), ("limits",)),
        (("units", "structure", "closure"), ("signs",), ("limits",)),
    ),
    2: ((("units", "signs", "structure"), ("closure", "limits")),),
}
"""Panels of each column, by how many there are; then other ways to part them, taken where one is lower."""
_CLOSURE_KEPT = {3: (("closure", "units", "structure"), ("signs",), ("limits",))}
"""Where how the walk closes must stand, whatever moves for it."""
_WORTH_MOVING_MM = 4.0
"""Height saved for which closure goes under the signs, or the units."""
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


@record(frozen=True, kw_only=True)
class ColumnHeights:
    """How high the columns are, in millimetres."""

    wished: float
    """The highest, with all that its panels say."""
    columns: tuple[tuple[tuple[str, tuple[float, ...]], ...], ...]
    """The name of each panel, and how high its forms are, the longest first."""
    with_hazards: float
    """The least column in which no hazard is left to a later sheet."""


def measured(panels: Sequence[Panel], widths: tuple[float, ...], *, short_words: bool) -> ColumnHeights:
    """The columns in which `upright_columns` parts the panels."""
    columns, wished = upright_columns(panels, widths, short_words=short_words)
    return ColumnHeights(
        wished=wished,
        columns=tuple(
            tuple((one.name, _heights(one, width, but=(AGES_TOO, NAMES_ALONE))) for one in there)
            for width, there in zip(widths, columns, strict=True)
        ),
        with_hazards=max(
            (
                min(_heights(one, width, but=(FEWER_HAZARDS,))) + line_mm(SMALL)
                for width, there in zip(widths, columns, strict=True)
                for one in there
                if one.name == "limits"
            ),
            default=0.0,
        ),
    )


def _heights(panel: Panel, width: float, *, but: tuple[str, ...]) -> tuple[float, ...]:
    # Names alone set no height: a panel would move while there is room elsewhere.
    forms = (form.draw for form in panel.shorter if form.step not in but)
    blocks = [draw(width=width) for draw in (panel.draw, *forms)]
    return tuple(0.0 if block is None else block.height for block in blocks)


def upright_height(found: ColumnHeights, *, room: float, spare: float) -> float:
    """Height of the columns, between what they wish and the least in which nothing moves that need not.

    `room` is what the lowest map leaves them, `spare` what a map leaves that holds the walk; millimetres.
    """
    # The map may be a little lower for a hazard's sake.
    most = room + _FOR_HAZARDS_MM - line_mm(SMALL)
    least = 0.0
    for there in found.columns:
        shortest = {name: heights[-1] for name, heights in there}
        for name, heights in there:
            if name == "limits":
                # Limits give way after all others have moved.
                shortest[name] = next((one for one in heights if one <= most), heights[-1])
                least = max(least, shortest[name] + line_mm(SMALL) if shortest[name] else 0.0)
        least = max(least, _least(shortest, room))
    return min(found.wished, max(min(spare, _MOST_MM), least))


def _least(shortest: dict[str, float], room: float) -> float:
    """Height of a column of all that the room holds; what it can't hold moves and takes none."""
    kept = dict(shortest)
    moved = False
    for name in MOVE:
        if sum(kept.values()) <= room - (line_mm(SMALL) if moved else 0.0):
            break
        moved = kept.pop(name, 0.0) > 0.0 or moved
    return sum(kept.values()) + (line_mm(SMALL) if moved else 0.0)
