"""A page of diagrams: the stratigraphic column, the rose of currents, and readings with the beds laid flat."""

from __future__ import annotations

from traverse.location.records import Survey
from traverse.log.records import Log
from traverse.sheet.blocks import framed
from traverse.sheet.column import column_block
from traverse.sheet.page import Block, Box, Face, Item, Page, Text
from traverse.sheet.rose import restored_lines, rose_block
from traverse.sheet.style import SMALL, line_mm
from traverse.sheet.words import cut, plain
from traverse.structure.records import Geology

_GAP_MM = 8.0
_SHARES = (0.0, 0.12, 0.26, 0.5, 0.72)
"""Where the columns of the readings begin, in shares of the width."""


def structure_pages(
    log: Log, survey: Survey, geology: Geology, *, width: float, height: float, frame: Box
) -> tuple[Page, ...]:
    """The page; none where no thickness was measured and no current."""
    wide = (frame.width - _GAP_MM) / 2.0
    column = column_block(
        log, survey, geology, x=frame.x, top=frame.top, width=wide, height=min(frame.height, 170.0)
    )
    right = frame.x if column is None else frame.x + wide + _GAP_MM
    items: list[Item] = [] if column is None else [*column.items]
    top = frame.top
    for draw in (rose_block, _restored_block):
        block = draw(geology, x=right, top=top, width=wide)
        if block is not None and top - block.height >= frame.y:
            items += block.items
            top -= block.height + 2.0
    if not items:
        return ()
    return (Page(width_mm=width, height_mm=height, items=tuple(items), title="Column and currents"),)


def _restored_block(geology: Geology, *, x: float, top: float, width: float) -> Block | None:
    rows = restored_lines(geology)
    if not rows:
        return None
    items = framed("Laid flat", x=x, top=top, width=width, aside="as read, and with the bed turned level")
    y = top - 7.2
    most = 24
    for row in rows[:most]:
        for index, (share, cell) in enumerate(zip(_SHARES, row, strict=True)):
            end = _SHARES[index + 1] if index + 1 < len(_SHARES) else 1.0
            face = Face.BOLD if index == 0 else Face.REGULAR
            words = cut(plain(cell), face, SMALL, (end - share) * width - 1.5)
            items.append(Text(at=(x + share * width, y), text=words, face=face, size_pt=SMALL))
        y -= line_mm(SMALL)
    if len(rows) > most:
        items.append(Text(at=(x, y), text=f"and {len(rows) - most} more", face=Face.ITALIC, size_pt=SMALL))
        y -= line_mm(SMALL)
    return Block(items=tuple(items), height=top - y + 1.0)
