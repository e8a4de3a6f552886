"""What follows sheet 1: under the last page where it has room there, else on pages of its own."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial

from traverse.sheet.paper.filling import FilledTo, Pages
from traverse.sheet.paper.fitting import CLOSER_LINES, CLOSER_SIGNS, CLOSER_UNITS
from traverse.sheet.paper.page import Block, Box, Page, lowest
from traverse.sheet.paper.panel import Panel, pieces
from traverse.sheet.template.reading import Paper

UNDER_MM, CLOSE_UNDER_MM = 8.0, 3.0
"""Between the end of one page's things and what stands under them; the second where that saves a page."""
LEAST_TABLES_MM = 40.0
"""Room that tables want at least, to stand under a section."""
LEAST_REPORT_MM = 70.0
"""Room that a report wants at least, to stand under another."""
_LEAST_COLUMN_MM = 58.0
_ONE_LIST_MM = 140.0
"""A page narrower than this is one column for signs that stand there alone."""
_CLOSER = frozenset({CLOSER_SIGNS, CLOSER_UNITS, CLOSER_LINES})
_LEAST_PART_MM = 22.0
"""Room in which a list may begin that goes on in the next column."""
_OVER_STRIP_MM = 2.0
_SHARES = (0.5, 0.65, 0.8, 0.9, 1.0)
"""Of the room that columns have, how much of it they fill: level where they need not fill it."""
_HAIR_MM = 0.5


def under(
    pages: list[Page],
    draw: Callable[..., tuple[Page, ...]],
    frame: Box,
    *,
    least_mm: float,
    alone: Callable[..., tuple[Page, ...]] | None = None,
    air_mm: float = UNDER_MM,
) -> list[Page]:
    """The pages and what is drawn next: under the last one where a short log has room there, else by itself.

    It wants `least_mm`, and `air_mm` above it; `alone` draws it on pages of its own, where that is another thing.
    """
    if pages:
        last = pages[-1]
        room = replace(frame, height=lowest(last.items) - air_mm - frame.y)
        below = draw(frame=room) if room.height > least_mm else ()
        if len(below) == 1 and lowest(below[0].items) >= room.y - _HAIR_MM:
            more = f"; {below[0].title.lower()}"
            title = last.title if last.title.endswith(more) else last.title + more
            return [*pages[:-1], replace(last, items=(*last.items, *below[0].items), title=title)]
    return [*pages, *(alone or draw)(frame=frame)]


def legend_pages(
    panels: Sequence[Panel],
    *,
    paper: Paper,
    gap: float,
    frame: Box,
    heads: tuple[Block, ...] = (),
    on_one: bool = False,
) -> tuple[Page, ...]:
    """Blocks that found no room on sheet 1, in columns; level and closer where one after the other they take a second page.

    Where they are asked for `on_one` page alone, nothing is drawn of what is sure to take more.
    """
    most = 3 if paper.landscape else 2
    count = max(1, min(most, int((frame.width + gap) / (_LEAST_COLUMN_MM + gap))))
    names = [one.name for one in panels]
    if names == ["tomorrow"] or (names == ["signs"] and frame.width < _ONE_LIST_MM):
        # The strip lies along the foot of a sheet: across the page it is lowest. Words of signs break in half of a small one.
        count = 1
    made = partial(Pages.made, width=paper.width, height=paper.height, title="Legend")
    pages, at = Pages.of(frame, columns=count, gap=gap, heads=heads), FilledTo()
    for block in pieces(panels, pages.width, pages.room(at)):
        at = pages.put(block, pages.fitting(block.height, at))
        if on_one and at.page > 1:  # of three pages no arrangement makes one
            return ()
    head = heads[0] if heads else Block(items=(), height=0.0)
    if pages.count == 1 and lowest(pages.on(0)) >= frame.y - _HAIR_MM:
        if len(panels) == 1 and at.column:
            # A list that goes on in the next column does so by halves, not with one line left over.
            return made(_level(panels, frame, columns=count, gap=gap, head=head) or pages)
        if at.column + 1 == count or len(panels) == 1:
            return made(pages)
        # Columns are left free: side by side, each block whole, they stand lower.
        whole = [replace(one, part=None) for one in panels]
        return made(_level(whole, frame, columns=count, gap=gap, head=head) or pages)
    level = (
        _level(forms, frame, columns=count, gap=gap, head=head)
        for forms in (panels, [_closer(one) for one in panels])
    )
    return made(next((one for one in level if one is not None), pages))


def _closer(panel: Panel) -> Panel:
    """The panel with rows that stand nearer, where it has such."""
    form = next((one for one in panel.shorter if one.step in _CLOSER), None)
    return panel if form is None else replace(panel, draw=form.draw, part=form.part)


def _level(panels: Sequence[Panel], frame: Box, *, columns: int, gap: float, head: Block) -> Pages | None:
    """One page of blocks in columns about as high as each other, the strip across its foot; None where they don't fit it."""
    strips = [one for one in panels if one.name == "tomorrow"]
    across = [block for one in strips if (block := one.draw(width=frame.width)) is not None]
    room = frame.height - head.height - sum(block.height + _OVER_STRIP_MM for block in across)
    others = [one for one in panels if one not in strips]
    for share in _SHARES if others else (1.0,):
        if room < 0.0:
            break
        pages = Pages.of(frame, columns=columns, gap=gap, heads=(head,))
        high = _filled(others, pages, share * room)
        if high is not None:
            below = Pages.of(frame)
            at = FilledTo(used=head.height + high)
            for block in across:
                at = below.put(block, replace(at, used=at.used + (_OVER_STRIP_MM if others else 0.0)))
            pages.begun(0)
            pages.placed[0].extend(below.placed[0] if across else ())
            return pages
    return None


def _filled(panels: Sequence[Panel], pages: Pages, room: float) -> float | None:
    """How high the columns of a page are with panels in them, no higher than the `room`; lists go on in the next one."""
    at, highest = FilledTo(), 0.0
    for panel in panels:
        rest: Panel | None = panel
        while rest is not None:
            free = room - at.used
            block, left = (rest.draw(width=pages.width), None) if not rest.first else (None, None)
            if rest.part is not None and (rest.first or (block is not None and block.height > free)):
                block, left = rest.begun(pages.width, free)
            if block is not None and (block.height > free or (left is not None and free < _LEAST_PART_MM)):
                if not at.used or pages.after(at).page:
                    return None
                at = pages.after(at)
                continue
            if block is not None:
                at = pages.put(block, at)
                highest = max(highest, at.used)
            rest = left
            if rest is not None:
                at = pages.after(at)
                if at.page:
                    return None
    return highest
