"""The pages: the head with the tables to carry, and the ruled page, which is copied as often as the day needs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from traverse.sheet.notebook.bearing_rose import rose_to_carry
from traverse.sheet.notebook.columns import RuledColumn, leg_columns, there_columns
from traverse.sheet.notebook.head_block import (
    ROOM_MM,
    emergency_block,
    head_block,
    units_block,
    word_blocks,
)
from traverse.sheet.notebook.records import TakenOver
from traverse.sheet.notebook.tables import MOST_PACERS, pace_block, slope_block
from traverse.sheet.paper.block import page_head
from traverse.sheet.paper.document import Document
from traverse.sheet.paper.filling import FilledTo, Pages
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.look import SHIPPED, drawn_with
from traverse.sheet.paper.page import Anchor, Block, Box, Face, Item, Page, Path, Text, polyline
from traverse.sheet.paper.style import HEAD, PENS, SMALL, line_mm
from traverse.sheet.paper.words import wrap
from traverse.sheet.said.emergency import Call, calls
from traverse.sheet.said.sentences import HAZARDS, SKETCH

_TITLE = "Notebook page"
_MARGIN_MM, _GAP_MM = 10.0, 6.0
_UPRIGHT_MM = 250.0
"""Wide enough for the columns without turning the paper."""
_COLUMN_MM = 80.0
_CAUTIONS = (
    SKETCH,
    f"{HAZARDS} Nobody walks alone. Access, permits and protected sites: ask before you go.",
)
_HEADS_MM = 13.4
"""Group, name and hint of the columns."""
_SAID = (Call(name="traverse"), Call(name="date"), Call(name="page"))
"""What tells one ruled page from another, should they part."""


def notebook_pages(taken: TakenOver, *, width: float, height: float) -> Document:
    """Both pages on paper of a size, upright or lying, in millimetres."""
    if width < _UPRIGHT_MM:
        width, height = max(width, height), min(width, height)
    with drawn_with(SHIPPED):
        foot, used = _foot(taken, width=width)
        frame = Box(
            x=_MARGIN_MM,
            y=_MARGIN_MM + used,
            width=width - 2.0 * _MARGIN_MM,
            height=height - 2.0 * _MARGIN_MM - used,
        )
        pages = (
            *_tables(taken, frame).made(width=width, height=height, title="Head and tables"),
            Page(width_mm=width, height_mm=height, items=_ruled_page(taken, frame), title="Ruled page"),
        )
    return Document(
        pages=tuple(replace(page, items=(*page.items, *foot)) for page in pages),
        title=_TITLE,
        subject="Blank notebook page",
    )


def _foot(taken: TakenOver, *, width: float) -> tuple[list[Item], float]:
    """Cautions on every page, and the height that they take."""
    room = width - 2.0 * _MARGIN_MM
    lines = [line for words in _CAUTIONS for line in wrap(words, Face.SEMIBOLD, SMALL, room)]
    items: list[Item] = []
    base = _MARGIN_MM + 0.8
    for index, line in enumerate(reversed(lines)):
        at = (_MARGIN_MM, base + index * line_mm(SMALL))
        items.append(Text(at=at, text=line, face=Face.SEMIBOLD, size_pt=SMALL))
    if taken.mark:
        mark = f"head of log {taken.mark}"
        free = room - text_width_mm(lines[-1], Face.SEMIBOLD, SMALL) - 3.0
        if text_width_mm(mark, Face.REGULAR, SMALL) <= free:
            items.append(Text(at=(width - _MARGIN_MM, base), text=mark, size_pt=SMALL, anchor=Anchor.END))
    return items, len(lines) * line_mm(SMALL) + 2.0


def _blocks(taken: TakenOver, *, width: float) -> Iterator[Block]:
    yield head_block(taken, width=width)
    yield emergency_block(taken, width=width)
    yield rose_to_carry(taken.frame, taken.bearings, width=width)
    pacers = [taken.paces[at : at + MOST_PACERS] for at in range(0, len(taken.paces), MOST_PACERS)]
    for paces in pacers or [()]:
        yield pace_block(paces, taken.lengths, width=width)
    yield slope_block(taken.slopes, width=width)
    yield from word_blocks(width=width)
    units = units_block(taken, width=width)
    if units is not None:
        yield units


def _tables(taken: TakenOver, frame: Box) -> Pages:
    columns = max(1, int((frame.width + _GAP_MM) / (_COLUMN_MM + _GAP_MM)))
    head = page_head(_TITLE, "head, and tables to carry", width=frame.width)
    pages = Pages.of(frame, columns=columns, gap=_GAP_MM, heads=(head,))
    filled: list[FilledTo] = []
    for block in _blocks(taken, width=pages.width):
        # A short block may go below one that stands in an earlier column.
        index = next((i for i, at in enumerate(filled) if pages.room(at) >= block.height), len(filled))
        if index == len(filled):
            filled.append(pages.after(filled[-1]) if filled else FilledTo())
            filled[-1] = replace(filled[-1], used=0.0)
        filled[index] = pages.put(block, filled[index])
    return pages


def _ruled_page(taken: TakenOver, frame: Box) -> tuple[Item, ...]:
    """Lines to write on under the columns of the notation, and what help needs to know below them."""
    items: list[Item] = []
    y = frame.top - 6.0
    _prompts(items, _SAID, x=frame.x, y=y, width=frame.width, face=Face.BOLD)
    y -= 4.0
    columns = (*leg_columns(), *there_columns(taken.convention))
    widths = _widths(columns, width=frame.width)
    foot = frame.y + ROOM_MM + 1.5
    rows = int((y - _HEADS_MM - foot) / ROOM_MM)
    low = y - _HEADS_MM - rows * ROOM_MM
    _heads(items, columns, widths, x=frame.x, y=y, low=low)
    for row in range(rows + 1):
        at = y - _HEADS_MM - row * ROOM_MM
        pen = PENS["table rule" if row in {0, rows} else "ruled line"]
        items.append(Path(commands=polyline([(frame.x, at), (frame.right, at)]), pen=pen))
    help_by = calls(taken.emergency)
    _prompts(items, help_by, x=frame.x, y=frame.y + 3.0, width=frame.width, face=Face.REGULAR)
    return tuple(items)


def _widths(columns: Sequence[RuledColumn], *, width: float) -> list[float]:
    """By their shares, but each as wide as its name; the last, for words, takes what is left."""
    share = width / sum(column.width for column in columns)
    widths = [
        max(column.width * share, text_width_mm(column.name, Face.BOLD, HEAD) + 2.0) for column in columns
    ]
    return [*widths[:-1], width - sum(widths[:-1])]


def _heads(
    items: list[Item],
    columns: Sequence[RuledColumn],
    widths: Sequence[float],
    *,
    x: float,
    y: float,
    low: float,
) -> None:
    """Names over the columns and the rules between them; a heavy one where the way ends and the ground begins."""
    items.append(Path(commands=polyline([(x, y), (x + sum(widths), y)]), pen=PENS["table rule"]))
    left, group = x, ""
    for column, wide in zip(columns, widths, strict=True):
        begins = column.group != group
        if begins:
            group = column.group
            items.append(Text(at=(left + 1.0, y - 3.6), text=group, face=Face.ITALIC, size_pt=HEAD))
        if left > x:
            ends = [(left, y if begins else y - 4.6), (left, low)]
            items.append(Path(commands=polyline(ends), pen=PENS["table rule" if begins else "row rule"]))
        items.append(Text(at=(left + 1.0, y - 8.2), text=column.name, face=Face.BOLD, size_pt=HEAD))
        if column.below and text_width_mm(column.below, Face.ITALIC, SMALL) <= wide - 1.2:
            below = Text(at=(left + 1.0, y - 12.0), text=column.below, face=Face.ITALIC, size_pt=SMALL)
            items.append(below)
        left += wide


def _prompts(
    items: list[Item], prompts: Sequence[Call], *, x: float, y: float, width: float, face: Face
) -> None:
    """Words side by side, each with what is known of it, or a line to write on where that is not or has no room."""
    told = [text_width_mm(one.name, face, HEAD) for one in prompts]
    each = (width - sum(told)) / len(prompts)
    for one, wide in zip(prompts, told, strict=True):
        items.append(Text(at=(x, y), text=one.name, face=face, size_pt=HEAD))
        words = one.words if text_width_mm(one.words, Face.SEMIBOLD, HEAD) <= each - 4.5 else "see the head"
        if one.words:
            items.append(Text(at=(x + wide + 1.5, y), text=words, face=Face.SEMIBOLD, size_pt=HEAD))
        else:
            line = polyline([(x + wide + 1.5, y - 0.9), (x + wide + each - 3.0, y - 0.9)])
            items.append(Path(commands=line, pen=PENS["ruled line"]))
        x += wide + each
