"""What follows sheet 1: under the last page where it has room there, else on pages of its own."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from traverse.sheet.paper.filling import FilledTo, Pages
from traverse.sheet.paper.page import Block, Box, Page, lowest
from traverse.sheet.paper.panel import Panel, pieces
from traverse.sheet.template.reading import Paper

_UNDER_MM = 8.0
"""Between the end of one page's things and what stands under them."""
LEAST_TABLES_MM = 40.0
"""Room that tables want at least, to stand under a section."""
LEAST_REPORT_MM = 70.0
"""Room that a report wants at least, to stand under another."""
_LEAST_COLUMN_MM = 58.0


def under(
    pages: list[Page],
    draw: Callable[..., tuple[Page, ...]],
    frame: Box,
    *,
    least_mm: float,
    alone: Callable[..., tuple[Page, ...]] | None = None,
) -> list[Page]:
    """The pages and what is drawn next: under the last one where a short log has room there, else by itself.

    It wants `least_mm`; `alone` draws it on pages of its own, where that is another thing.
    """
    if pages:
        last = pages[-1]
        room = replace(frame, height=lowest(last.items) - _UNDER_MM - frame.y)
        below = draw(frame=room) if room.height > least_mm else ()
        if len(below) == 1 and lowest(below[0].items) >= room.y - 0.5:
            title = f"{last.title}; {below[0].title.lower()}"
            return [*pages[:-1], replace(last, items=(*last.items, *below[0].items), title=title)]
    return [*pages, *(alone or draw)(frame=frame)]


def legend_pages(
    panels: Sequence[Panel], *, paper: Paper, gap: float, frame: Box, heads: tuple[Block, ...] = ()
) -> tuple[Page, ...]:
    """Blocks that found no room on sheet 1, in columns."""
    most = 3 if paper.landscape else 2
    count = max(1, min(most, int((frame.width + gap) / (_LEAST_COLUMN_MM + gap))))
    if [one.name for one in panels] == ["tomorrow"]:
        # The strip lies along the foot of a sheet: across the page it is lowest.
        count = 1
    pages, at = Pages.of(frame, columns=count, gap=gap, heads=heads), FilledTo()
    for block in pieces(panels, pages.width, pages.room(at)):
        at = pages.put(block, pages.fitting(block.height, at))
    return pages.made(width=paper.width, height=paper.height, title="Legend")
