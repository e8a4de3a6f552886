"""The structure sheet: what is said of the structure, thicknesses, the column, the rose, readings laid flat."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import accumulate

from traverse.ground.records import Traverse
from traverse.sheet.legend.blocks import structure_lines
from traverse.sheet.paper.block import text_block
from traverse.sheet.paper.filling import FilledTo, Pages
from traverse.sheet.paper.page import Block, Box, Face, Item, Page, Text
from traverse.sheet.paper.style import HEAD, LARGE
from traverse.sheet.paper.table import table_block
from traverse.sheet.paper.words import cut
from traverse.sheet.report.column import column_block
from traverse.sheet.report.laid_flat import laid_flat_block
from traverse.sheet.report.net_block import NET_ROUND_MM, net_block
from traverse.sheet.report.rose_block import rose_block
from traverse.sheet.said.sentences import carried_sentences, named_sentences, short_title
from traverse.sheet.said.thickness_words import relief_lines, thickness_table

_GAP_MM = 8.0
_HEAD_MM = 7.2
_BETWEEN_MM = 2.0
_TWO_COLUMNS_MM = 150.0
_LEAST_RADIUS_MM, _MOST_RADIUS_MM = 25.0, 45.0
_LEAST_COLUMN_MM = 75.0
"""Lower, thin units are drawn thicker than they are."""


def structure_pages(
    trav: Traverse,
    *,
    width: float,
    height: float,
    frame: Box,
    wanted: bool = False,
) -> tuple[Page, ...]:
    """Words and tables to the left, the column to the right and what is left over below it; the net where there is room.

    None where no thickness was measured and no current read, unless it is `wanted` for words that were cut on
    sheet 1. `width` and `height` are the paper's, `frame` is what may be filled, in millimetres.
    """
    builder = _Builder(trav, frame)
    if not wanted and not builder.has_figures():
        return ()
    return tuple(
        Page(width_mm=width, height_mm=height, items=tuple(items), title="Structure")
        for items in builder.pages()
    )


class _Builder:
    """Blocks in two columns, each below the last; the next column where one is full. One column on narrow paper."""

    def __init__(self, trav: Traverse, frame: Box) -> None:
        self.trav, self.log, self.survey, self.geology, self.frame = (
            trav,
            trav.log,
            trav.survey,
            trav.geology,
            frame,
        )
        count = 2 if frame.width >= _TWO_COLUMNS_MM else 1
        heads = (self._head(), self._head(again=True))
        self.filled = Pages.of(frame, count=count, gap=_GAP_MM, heads=heads)
        self.wide, self.room = self.filled.width, self.filled.room(FilledTo())

    def has_figures(self) -> bool:
        """Whether a thickness was measured or a direction of flow read."""
        geology = self.geology
        return bool(geology.unit_thicknesses or geology.restored or geology.reliefs) or (
            rose_block(geology.rose, width=self.wide) is not None
        )

    def pages(self) -> list[list[Item]]:
        """Items of each page."""
        pages = self.filled
        blocks = [
            _spaced(block)
            for draw in (
                self._words,
                self._thicknesses,
                self._reliefs,
                self._sections,
                self._rose,
                self._restored,
            )
            if (block := draw(self.wide)) is not None
        ]
        pages.on(0)
        ends = self._tops(0)
        first, rest = self._split(blocks)
        for block in first:
            ends[0] = pages.put(block, ends[0])
        column = self._column_over(sum(block.height for block in rest))
        if column is not None:
            if pages.room(ends[-1]) < column.height:
                ends = self._tops(len(pages.items))
                ends[0] = pages.put(_spaced(column), ends[0])
            else:
                ends[-1] = pages.put(_spaced(column), ends[-1])
        for block in rest:
            # Below the column on the first page, from the left on the next.
            order = range(len(ends)) if len(pages.items) > 1 else range(len(ends))[-1:]
            side = next((one for one in order if pages.room(ends[one]) >= block.height - 0.01), None)
            if side is None:
                ends, side = self._tops(len(pages.items)), 0
            ends[side] = pages.put(block, ends[side])
        # The net stands with the closure; here it fills what would stay white.
        emptiest = max(ends, key=pages.room)
        net = self._net(self.wide, height=pages.room(emptiest))
        if net is not None and net.height <= pages.room(emptiest):
            pages.put(net, emptiest)
        return pages.items

    def _tops(self, page: int) -> list[FilledTo]:
        return [FilledTo(page, side) for side in range(len(self.filled.columns))]

    def _split(self, blocks: Sequence[Block]) -> tuple[Sequence[Block], Sequence[Block]]:
        """What stands in the first column, and what follows in the next or on another page.

        With a diagram of units as much as the first column holds; else so that both are about as high.
        """
        heights = list(accumulate(block.height for block in blocks))
        fits = sum(height <= self.room + _BETWEEN_MM for height in heights)
        if heights and len(self.filled.columns) > 1 and self._column() is None:
            fits = min(
                fits, 1 + min(range(len(heights)), key=lambda at: max(heights[at], heights[-1] - heights[at]))
            )
        return blocks[:fits], blocks[fits:]

    def _head(self, *, again: bool = False) -> Block:
        title = f"{short_title(self.log)}: structure" + (", continued" if again else "")
        words = cut(title, Face.BOLD, LARGE, self.frame.width)
        text = Text(at=(0.0, -4.2), text=words, face=Face.BOLD, size_pt=LARGE)
        return Block(items=(text,), height=_HEAD_MM)

    def _words(self, width: float) -> Block | None:
        lines = structure_lines(self.geology)
        whole = text_block("Structure", lines, width=width, size_pt=HEAD)
        if whole is not None and whole.height > self.room:
            return text_block("Structure", lines, width=width)
        return whole

    def _thicknesses(self, width: float) -> Block | None:
        table = thickness_table(self.geology, self.log.lengths)
        if table is None:
            return None
        block = table_block(table, width=width)
        return replace(block, height=block.height + 3.0)

    def _reliefs(self, width: float) -> Block | None:
        return text_block("Relief of horizons", relief_lines(self.geology, self.log.lengths), width=width)

    def _sections(self, width: float) -> Block | None:
        told = [
            sentence
            for section in self.geology.sections
            for sentence in (*carried_sentences(section, self.log.lengths), *named_sentences(section))
        ]
        return text_block("Sections", told, width=width)

    def _column(self, *, height: float | None = None) -> Block | None:
        return column_block(self.trav, width=self.wide, height=self.room if height is None else height)

    def _column_over(self, below_mm: float) -> Block | None:
        """The column as high as leaves room for what stands below it, where it stays one to read off."""
        height = self.room - below_mm
        lower = None
        if len(self.filled.columns) > 1 and below_mm > 0.0 and height >= _LEAST_COLUMN_MM:
            lower = self._column(height=height)
        return self._column() if lower is None else lower

    def _net(self, width: float, *, height: float) -> Block | None:
        """As large as the room, within reason; None where that would be too small to plot on."""
        most = min(_MOST_RADIUS_MM, (height - NET_ROUND_MM) / 2.0 - _BETWEEN_MM)
        if most < _LEAST_RADIUS_MM:
            return None
        return net_block(self.geology, width=width, most_mm=most)

    def _rose(self, width: float) -> Block | None:
        return rose_block(self.geology.rose, width=width)

    def _restored(self, width: float) -> Block | None:
        return laid_flat_block(self.geology, self.log.lengths, width=width)


def _spaced(block: Block) -> Block:
    return replace(block, height=block.height + _BETWEEN_MM)
