"""The structure sheet: what is said of the structure, thicknesses, the column, the rose, readings laid flat."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import partial
from itertools import accumulate, islice

from traverse.ground.records import Traverse
from traverse.sheet.legend.blocks import structure_lines
from traverse.sheet.paper.block import page_head, text_block
from traverse.sheet.paper.filling import FilledTo, Pages
from traverse.sheet.paper.page import Block, Box, Page
from traverse.sheet.paper.panel import Form, Panel
from traverse.sheet.paper.style import HEAD
from traverse.sheet.paper.table import table_block
from traverse.sheet.report.column import column_block
from traverse.sheet.report.laid_flat import laid_flat_block
from traverse.sheet.report.rose_block import is_rose, rose_block
from traverse.sheet.report.thickness_table import thickness_table
from traverse.sheet.said.sentences import carried_sentences, named_sentences, short_title
from traverse.sheet.said.thickness_words import differing_crossings, relief_lines
from traverse.structure.records import Geology

_GAP_MM = 8.0
_BETWEEN_MM = 2.0
_TWO_COLUMNS_MM = 150.0
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
    """Words and tables to the left, the column to the right and what is left over below it. The net stands with the closure.

    None where no thickness was measured and no current read, unless it is `wanted` for words that were cut on
    sheet 1. `width` and `height` are the paper's, `frame` is what may be filled, in millimetres.
    """
    if not wanted and not _has_figures(trav.geology):
        return ()
    whose = short_title(trav.log)
    heads = tuple(page_head(whose, f"structure{on}", width=frame.width) for on in ("", ", continued"))
    columns = 2 if frame.width >= _TWO_COLUMNS_MM else 1
    pages = Pages.of(frame, columns=columns, gap=_GAP_MM, heads=heads)
    _fill(pages, trav)
    return pages.made(width=width, height=height, title="Structure")


def _has_figures(geology: Geology) -> bool:
    """Whether a thickness was measured or a direction of flow read."""
    return bool(geology.unit_thicknesses or geology.restored or geology.reliefs or is_rose(geology.rose))


def _panels(trav: Traverse) -> Iterable[Panel]:
    geology, lengths = trav.geology, trav.log.lengths
    words = partial(text_block, "Structure", structure_lines(geology))
    yield Panel(name="words", draw=partial(words, size_pt=HEAD), shorter=(Form(draw=words),))
    table = thickness_table(geology, lengths)
    if table is not None:
        yield Panel(name="thicknesses", draw=partial(table_block, table, below_mm=3.0))
    told = differing_crossings(geology, lengths)
    yield Panel(name="differing", draw=partial(text_block, "Thicknesses that differ", told))
    yield Panel(name="relief", draw=partial(text_block, "Relief of horizons", relief_lines(geology, lengths)))
    sections = [
        sentence
        for section in geology.sections
        for sentence in (*carried_sentences(section, lengths), *named_sentences(section))
    ]
    yield Panel(name="sections", draw=partial(text_block, "Sections", sections))
    yield Panel(name="rose", draw=partial(rose_block, geology.rose))
    yield Panel(name="laid flat", draw=partial(laid_flat_block, geology, lengths))


def _fill(pages: Pages, trav: Traverse) -> None:
    """Words and tables from the left, the column of units in the last column, and below it what is left over."""
    pages.begun(0)
    room = pages.room(FilledTo())
    begun = (panel.begun(pages.width, room) for panel in _panels(trav))
    blocks = [_spaced(block) for block, _ in begun if block is not None]
    column = column_block(trav, width=pages.width, height=room)
    first, rest = _split(blocks, pages, parted=column is None)
    ends = _tops(pages, 0)
    for block in first:
        ends[0] = pages.put(block, ends[0])
    if column is not None:
        low = room - sum(block.height for block in rest)
        if rest and len(ends) > 1 and low >= _LEAST_COLUMN_MM:
            # As high as leaves room for what stands below it, where it stays one to read off.
            column = column_block(trav, width=pages.width, height=low) or column
        if pages.room(ends[-1]) < column.height:
            ends = _tops(pages, pages.count)
            ends[0] = pages.put(_spaced(column), ends[0])
        else:
            ends[-1] = pages.put(_spaced(column), ends[-1])
    for block in rest:
        # Below the column on the first page, from the left on the next.
        order = range(len(ends)) if pages.count > 1 else range(len(ends))[-1:]
        side = next((one for one in order if pages.room(ends[one]) >= block.height - 0.01), None)
        if side is None:
            ends, side = _tops(pages, pages.count), 0
        ends[side] = pages.put(block, ends[side])


def _tops(pages: Pages, page: int) -> list[FilledTo]:
    return list(islice(pages.tops(FilledTo(page)), len(pages.columns)))


def _split(blocks: Sequence[Block], pages: Pages, *, parted: bool) -> tuple[Sequence[Block], Sequence[Block]]:
    """What stands in the first column, and what follows in the next or on another page.

    As much as the first column holds; `parted`, without a diagram of units, so that both are about as high.
    """
    heights = list(accumulate(block.height for block in blocks))
    fits = sum(height <= pages.room(FilledTo()) + _BETWEEN_MM for height in heights)
    if heights and len(pages.columns) > 1 and parted:
        fits = min(
            fits, 1 + min(range(len(heights)), key=lambda at: max(heights[at], heights[-1] - heights[at]))
        )
    return blocks[:fits], blocks[fits:]


def _spaced(block: Block) -> Block:
    return replace(block, height=block.height + _BETWEEN_MM)
