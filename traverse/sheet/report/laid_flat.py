"""Readings laid flat: each as read, and with the bed it was turned with."""

from __future__ import annotations

from itertools import accumulate

from traverse.length import Lengths
from traverse.log.items import PlaneKind
from traverse.sheet.paper.block import framed, set_lines
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import Block, Face, Text
from traverse.sheet.paper.style import SMALL, line_mm
from traverse.sheet.paper.words import azimuth, number, plain, wrap
from traverse.structure.records import Geology

_GAP_MM = 2.5
_LEAST_LAST_MM = 16.0
"""Of the bed that a reading was turned with."""
_MOST_READINGS = 24


def laid_flat_block(geology: Geology, lengths: Lengths, *, width: float) -> Block | None:
    """A line for each reading; None without any."""
    rows = _rows(geology, lengths)
    if not rows:
        return None
    items = framed(
        "Laid flat",
        width=width,
        aside=("as read, and with the bed turned level", "as read, and the bed level", "as read → level"),
    )
    rows, more_rows = rows[:_MOST_READINGS], len(rows) - _MOST_READINGS
    faces = (Face.BOLD, *(Face.REGULAR,) * (len(rows[0]) - 1))
    # All but the last as wide as what stands in it: a figure that is cut tells nothing.
    wide = [
        max(text_width_mm(plain(row[at]), faces[at], SMALL) for row in rows) + _GAP_MM
        for at in range(len(faces) - 1)
    ]
    lefts = list(accumulate(wide, initial=0.0))
    last = max(width - lefts[-1], _LEAST_LAST_MM)
    y = -7.2
    for row in rows:
        for at, cell in enumerate(row[:-1]):
            items.append(Text(at=(lefts[at], y), text=plain(cell), face=faces[at], size_pt=SMALL))
        y = set_lines(items, wrap(plain(row[-1]), Face.REGULAR, SMALL, last), x=lefts[-1], y=y)
    if more_rows > 0:
        more = f"and {more_rows} more"
        items.append(Text(at=(0.0, y), text=more, face=Face.ITALIC, size_pt=SMALL))
        y -= line_mm(SMALL)
    return Block(items=tuple(items), height=1.0 - y)


def _rows(geology: Geology, lengths: Lengths) -> list[tuple[str, ...]]:
    """Station, what it is, as read, laid flat, and the bed it was turned with."""
    rows: list[tuple[str, ...]] = []
    for one in geology.restored:
        kind = "cross-bed" if one.attitude.kind is PlaneKind.CROSSBED else "current"
        bed = "bed here" if one.here else f"bed {lengths.said(one.away_m)} off"
        turns = "one turn" if one.rotations == 1 else "plunge taken out first"
        rows.append(
            (
                one.attitude.station,
                kind,
                one.attitude.written,
                f"{number(one.dip_deg)}° → {azimuth(one.direction_deg)}",
                f"{bed}, {turns}",
            )
        )
    return rows
