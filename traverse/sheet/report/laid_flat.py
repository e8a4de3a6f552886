"""Readings laid flat: each as read, and with the bed it was turned with."""

from __future__ import annotations

from traverse.length import Lengths
from traverse.log.items import PlaneKind
from traverse.sheet.paper.block import framed
from traverse.sheet.paper.page import Block, Face, Text
from traverse.sheet.paper.style import SMALL, line_mm
from traverse.sheet.paper.words import azimuth, cut, number, plain
from traverse.structure.records import Geology

_SHARES = (0.0, 0.12, 0.26, 0.5, 0.72)
"""Where the columns of the readings begin, in shares of the width."""
_MOST_READINGS = 24


def laid_flat_block(geology: Geology, lengths: Lengths, *, width: float) -> Block | None:
    """A line for each reading; None without any."""
    rows = _rows(geology, lengths)
    if not rows:
        return None
    items = framed("Laid flat", width=width, aside="as read, and with the bed turned level")
    y = -7.2
    for row in rows[:_MOST_READINGS]:
        for index, (share, cell) in enumerate(zip(_SHARES, row, strict=True)):
            end = _SHARES[index + 1] if index + 1 < len(_SHARES) else 1.0
            face = Face.BOLD if index == 0 else Face.REGULAR
            words = cut(plain(cell), face, SMALL, (end - share) * width - 1.5)
            items.append(Text(at=(share * width, y), text=words, face=face, size_pt=SMALL))
        y -= line_mm(SMALL)
    if len(rows) > _MOST_READINGS:
        more = f"and {len(rows) - _MOST_READINGS} more"
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
