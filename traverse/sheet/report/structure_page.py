"""The structure sheet: what is said of the structure, thicknesses, the column, the rose, readings laid flat."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from itertools import accumulate

from traverse.ground.records import Traverse
from traverse.sheet.legend.blocks import structure_lines
from traverse.sheet.paper.block import text_block
from traverse.sheet.paper.page import Block, Box, Face, Item, Page, Text
from traverse.sheet.paper.style import HEAD, LARGE
from traverse.sheet.paper.table import Pages, Place, flow, table_height
from traverse.sheet.paper.words import cut
from traverse.sheet.report.column import column_block
from traverse.sheet.report.laid_flat import laid_flat_block
from traverse.sheet.report.net import NET_ROUND_MM, net_block
from traverse.sheet.report.rose import rose_block
from traverse.sheet.said.sentences import carried_sentences, named_sentences, short_title
from traverse.sheet.said.thickness_words import relief_lines, thickness_table

_Draw = Callable[[float], Block | None]
"""To a width."""
_Sized = tuple[_Draw, float]
"""With the height it takes."""

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
        self.sides = range(2 if frame.width >= _TWO_COLUMNS_MM else 1)
        self.wide = (frame.width - _GAP_MM * self.sides[-1]) / len(self.sides)
        self.room = frame.height - _HEAD_MM

    def has_figures(self) -> bool:
        """Whether a thickness was measured or a direction of flow read."""
        geology = self.geology
        return bool(geology.unit_thicknesses or geology.restored or geology.reliefs) or (
            rose_block(geology.rose, width=self.wide) is not None
        )

    def pages(self) -> list[list[Item]]:
        """Items of each page."""
        drawn = [
            (draw, block.height + _BETWEEN_MM)
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
        pages = [self._head()]
        tops = [self.frame.top - _HEAD_MM] * len(self.sides)
        first, rest = self._split(drawn)
        for draw, _ in first:
            self._put(pages[-1], draw, 0, tops)
        column = self._column_over(sum(tall for _, tall in rest)) if len(self.sides) > 1 else self._column
        if column(self.wide) is None:
            column = self._column
        tall = column(self.wide)
        if tall is not None:
            side = self.sides[-1]
            if tops[side] - tall.height < self.frame.y:
                self._turn(pages, tops)
                side = 0
            self._put(pages[-1], column, side, tops)
        for draw, height in rest:
            # Below the column on the first page, from the left on the next.
            order = self.sides if len(pages) > 1 else self.sides[-1:]
            side = next((one for one in order if tops[one] - height >= self.frame.y - 0.01), -1)
            if side < 0:
                self._turn(pages, tops)
                side = 0
            self._put(pages[-1], draw, side, tops)
        # The net stands with the closure; here it fills what would stay white.
        room = [top - self.frame.y for top in tops]
        side = room.index(max(room))
        draw = partial(self._net, height=room[side])
        net = draw(self.wide)
        if net is not None and net.height <= room[side]:
            self._put(pages[-1], draw, side, tops)
        return pages

    def _split(self, drawn: Sequence[_Sized]) -> tuple[list[_Sized], list[_Sized]]:
        """What stands in the first column, and what follows in the next or on another page.

        With a diagram of units as much as the first column holds; else so that both are about as high.
        """
        heights = list(accumulate(height for _, height in drawn))
        fits = sum(height <= self.room + _BETWEEN_MM for height in heights)
        if heights and len(self.sides) > 1 and self._column(self.wide) is None:
            fits = min(
                fits, 1 + min(range(len(heights)), key=lambda at: max(heights[at], heights[-1] - heights[at]))
            )
        return list(drawn[:fits]), list(drawn[fits:])

    def _turn(self, pages: list[list[Item]], tops: list[float]) -> None:
        """Go on on another page."""
        pages.append(self._head(again=True))
        tops[:] = [self.frame.top - _HEAD_MM] * len(self.sides)

    def _put(self, items: list[Item], draw: _Draw, side: int, tops: list[float]) -> None:
        block = draw(self.wide)
        assert block is not None
        items += block.at(self.frame.x + side * (self.wide + _GAP_MM), tops[side])
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
        tall = table_height(table)
        pages = Pages(Box(x=0.0, y=-tall, width=width, height=tall))
        flow(table, pages, Place(0, 0.0), x=0.0, width=width, page_title=table.title)
        return Block(items=tuple(pages.on(0)), height=tall + 3.0)

    def _reliefs(self, width: float) -> Block | None:
        return text_block("Relief of horizons", relief_lines(self.geology, self.log.lengths), width=width)

    def _sections(self, width: float) -> Block | None:
        told = [
            sentence
            for section in self.geology.sections
            for sentence in (*carried_sentences(section, self.log.lengths), *named_sentences(section))
        ]
        return text_block("Sections", told, width=width)

    def _column(self, width: float, *, height: float | None = None) -> Block | None:
        tall = self.room if height is None else height
        return column_block(self.trav, width=width, height=tall)

    def _column_over(self, below_mm: float) -> _Draw:
        """The column as high as leaves room for what stands below it, where it stays one to read off."""
        height = self.room - below_mm
        if below_mm <= 0.0 or height < _LEAST_COLUMN_MM:
            return self._column
        return partial(self._column, height=height)

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
