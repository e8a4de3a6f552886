"""The structure sheet: what is said of the structure, thicknesses, the column, the rose, readings laid flat."""

from __future__ import annotations

from collections.abc import Callable

from traverse.location.records import Survey
from traverse.log.records import Log
from traverse.sheet.blocks import framed, structure_lines, text_block
from traverse.sheet.column import column_block
from traverse.sheet.page import Block, Box, Face, Item, Page, Text
from traverse.sheet.rose import restored_lines, rose_block
from traverse.sheet.style import HEAD, LARGE, SMALL, line_mm
from traverse.sheet.tables import short_title
from traverse.sheet.tabular import Pages, Place, flow, table_height
from traverse.sheet.thickness import relief_lines, thickness_table
from traverse.sheet.words import cut, plain
from traverse.structure.records import Geology

_Draw = Callable[[float, float, float], Block | None]
"""From x, top and width."""

_GAP_MM = 8.0
_HEAD_MM = 7.2
_BETWEEN_MM = 2.0
_TWO_COLUMNS_MM = 150.0
_SHARES = (0.0, 0.12, 0.26, 0.5, 0.72)
"""Where the columns of the readings begin, in shares of the width."""
_MOST_READINGS = 24


def structure_pages(
    log: Log,
    survey: Survey,
    geology: Geology,
    *,
    width: float,
    height: float,
    frame: Box,
    wanted: bool = False,
) -> tuple[Page, ...]:
    """Words and tables to the left, the column to the right; a second page where these leave no room for the rest.

    None where no thickness was measured and no current read, unless it is `wanted` for words that were cut on
    sheet 1. `width` and `height` are the paper's, `frame` is what may be filled, in millimetres.
    """
    builder = _Builder(log, survey, geology, frame)
    if not wanted and not builder.has_figures():
        return ()
    return tuple(
        Page(width_mm=width, height_mm=height, items=tuple(items), title="Structure")
        for items in builder.pages()
    )


class _Builder:
    """Blocks in two columns, each below the last; the next column where one is full. One column on narrow paper."""

    def __init__(self, log: Log, survey: Survey, geology: Geology, frame: Box) -> None:
        self.log, self.survey, self.geology, self.frame = log, survey, geology, frame
        self.sides = range(2 if frame.width >= _TWO_COLUMNS_MM else 1)
        self.wide = (frame.width - _GAP_MM * self.sides[-1]) / len(self.sides)
        self.room = frame.height - _HEAD_MM

    def has_figures(self) -> bool:
        """Whether a thickness was measured or a direction of flow read."""
        geology = self.geology
        return bool(geology.unit_thicknesses or geology.restored or geology.reliefs) or (
            rose_block(geology, x=0.0, top=0.0, width=self.wide) is not None
        )

    def pages(self) -> list[list[Item]]:
        """Items of each page."""
        pages = [self._head()]
        column = self._column(0.0, 0.0, self.wide)
        # The left column first, then the right one; of the right one the diagram of units has the upper part.
        tops = [self.frame.top - _HEAD_MM] * len(self.sides)
        if column is not None:
            self._put(pages[-1], self._column, self.sides[-1], tops)
        for draw in (self._words, self._thicknesses, self._reliefs, self._rose, self._restored):
            block = draw(0.0, 0.0, self.wide)
            if block is None:
                continue
            side = next((one for one in self.sides if tops[one] - block.height >= self.frame.y), None)
            if side is None:
                pages.append(self._head(again=True))
                tops = [self.frame.top - _HEAD_MM] * len(self.sides)
                side = 0
            self._put(pages[-1], draw, side, tops)
        return pages

    def _put(self, items: list[Item], draw: _Draw, side: int, tops: list[float]) -> None:
        block = draw(self.frame.x + side * (self.wide + _GAP_MM), tops[side], self.wide)
        assert block is not None
        items += block.items
        tops[side] -= block.height + _BETWEEN_MM

    def _head(self, *, again: bool = False) -> list[Item]:
        title = f"{short_title(self.log)}: structure" + (", continued" if again else "")
        return [
            Text(
                at=(self.frame.x, self.frame.top - 4.2),
                text=cut(title, Face.BOLD, LARGE, self.frame.width),
                face=Face.BOLD,
                size_pt=LARGE,
            )
        ]

    def _words(self, x: float, top: float, width: float) -> Block | None:
        lines = structure_lines(self.geology)
        whole = text_block("Structure", lines, x=x, top=top, width=width, size_pt=HEAD)
        if whole is not None and whole.height > self.room:
            return text_block("Structure", lines, x=x, top=top, width=width)
        return whole

    def _thicknesses(self, x: float, top: float, width: float) -> Block | None:
        table = thickness_table(self.geology)
        if table is None:
            return None
        tall = table_height(table)
        pages = Pages(Box(x=x, y=top - tall, width=width, height=tall))
        flow(table, pages, Place(0, 0.0), x=x, width=width, page_title=table.title)
        return Block(items=tuple(pages.on(0)), height=tall + 3.0)

    def _reliefs(self, x: float, top: float, width: float) -> Block | None:
        return text_block("Relief of horizons", relief_lines(self.geology), x=x, top=top, width=width)

    def _column(self, x: float, top: float, width: float) -> Block | None:
        return column_block(self.log, self.survey, self.geology, x=x, top=top, width=width, height=self.room)

    def _rose(self, x: float, top: float, width: float) -> Block | None:
        return rose_block(self.geology, x=x, top=top, width=width)

    def _restored(self, x: float, top: float, width: float) -> Block | None:
        return _restored_block(self.geology, x=x, top=top, width=width)


def _restored_block(geology: Geology, *, x: float, top: float, width: float) -> Block | None:
    rows = restored_lines(geology)
    if not rows:
        return None
    items = framed("Laid flat", x=x, top=top, width=width, aside="as read, and with the bed turned level")
    y = top - 7.2
    for row in rows[:_MOST_READINGS]:
        for index, (share, cell) in enumerate(zip(_SHARES, row, strict=True)):
            end = _SHARES[index + 1] if index + 1 < len(_SHARES) else 1.0
            face = Face.BOLD if index == 0 else Face.REGULAR
            words = cut(plain(cell), face, SMALL, (end - share) * width - 1.5)
            items.append(Text(at=(x + share * width, y), text=words, face=face, size_pt=SMALL))
        y -= line_mm(SMALL)
    if len(rows) > _MOST_READINGS:
        more = f"and {len(rows) - _MOST_READINGS} more"
        items.append(Text(at=(x, y), text=more, face=Face.ITALIC, size_pt=SMALL))
        y -= line_mm(SMALL)
    return Block(items=tuple(items), height=top - y + 1.0)
