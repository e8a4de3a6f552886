"""The closure report: how the walk closes, what that can't show, hazards, and what to read again tomorrow."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from traverse.diagnostic import Diagnostic
from traverse.ground.records import Traverse
from traverse.location.records import LoopKind, Survey
from traverse.log.records import Log
from traverse.sheet.paper.block import PAGE_HEAD_BASE_MM, page_head, set_lines
from traverse.sheet.paper.filling import FilledTo, Pages
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import Anchor, Block, Box, Face, Item, Page, Text
from traverse.sheet.paper.panel import Panel, Shelf
from traverse.sheet.paper.style import LARGE, SMALL, line_mm
from traverse.sheet.paper.words import number, plain, wrap
from traverse.sheet.report.closure_bars import bars_panel
from traverse.sheet.report.closure_figure import figure_block
from traverse.sheet.report.net_block import net_block
from traverse.sheet.report.tasks import tasks_panel
from traverse.sheet.report.unchecked_panel import unchecked_panel
from traverse.sheet.said.sentences import (
    closes_worse,
    closure_name,
    doubtful_up,
    misclosure,
    no_closure,
    short_title,
    verdict,
    worst_first,
)
from traverse.sheet.said.stops import gather
from traverse.sheet.said.tomorrow import to_check
from traverse.wording import capital

_GAP_MM = 7.0
_FIGURE_MM, _UPRIGHT_FIGURES_MM = 86.0, (96.0, 64.0)
"""On upright paper as high as still leaves the report on one page."""
_LEAST_TASKS_MM = 26.0
"""Room that the tasks want below the rest, else they begin on a page of their own."""
_MOST_CLOSURES = 6


TITLES = ("Closure", "What is unchecked")
"""Of its pages: with a loop or a tie, and without."""


def closure_pages(
    trav: Traverse,
    diagnostics: Sequence[Diagnostic],
    *,
    width: float,
    height: float,
    frame: Box,
) -> tuple[Page, ...]:
    """The report on one page, or on more where the paper is upright or the list is long.

    `width` and `height` are the paper's, `frame` is what may be filled, in millimetres. Nothing where the log holds
    neither a leg nor anything described.
    """
    if not trav.survey.legs and not trav.log.items:
        return ()
    stops = gather(trav)
    tasks = tasks_panel(to_check(trav, stops, diagnostics))
    heights = _UPRIGHT_FIGURES_MM if frame.height > frame.width else (_FIGURE_MM,)
    for figure_mm in heights:
        pages = _laid(trav, tasks, frame=frame, figure_mm=figure_mm)
        if pages.count == 1:
            break
    return pages.made(width=width, height=height, title=TITLES[0] if trav.survey.closures else TITLES[1])


def _laid(trav: Traverse, tasks: Panel, *, frame: Box, figure_mm: float) -> Pages:
    """The pages with a figure of the walk so high, in millimetres."""
    pages, at = Pages.of(frame, heads=tuple(_heads(trav.log, trav.survey, frame.width))), FilledTo()
    pages.begun(0)
    upright = frame.height > frame.width
    figure = Panel(
        name="figure",
        draw=partial(figure_block, trav.log, trav.survey, height=figure_mm),
    )
    bars = bars_panel(trav.survey, trav.log.lengths)
    net = Panel(name="net", draw=partial(net_block, trav.geology))
    words = unchecked_panel(trav)
    shelves: tuple[Shelf, ...]
    if upright:
        shelves = (
            Shelf(panels=((1.0, figure),), least=60.0),
            Shelf(panels=((0.68, bars),), least=40.0),
            Shelf(panels=((0.52, net), (0.48, words)), least=70.0),
        )
    else:
        shelves = (
            Shelf(panels=((0.495, figure), (0.505, bars)), least=60.0),
            Shelf(panels=((0.375, net), (0.31, words), (0.315, tasks)), least=70.0),
        )
    left: Panel | None = tasks if upright else None
    for shelf in shelves:
        for place in (at, pages.after(at)):
            room = pages.room(place)
            block, rest = shelf.begun(pages.width, room, gap=_GAP_MM)
            if block is None:
                break
            if not place.used or room >= max(shelf.least, block.height - 0.5):
                at, left = pages.put(block, place), next(iter(rest), left)
                break
    if left is not None:
        _put_tasks(left, pages, at, columns=2 if upright else 3)
    return pages


def _put_tasks(tasks: Panel, pages: Pages, at: FilledTo, *, columns: int) -> None:
    """Below the rest where they have room for a few, in one column where that holds all of them, else in more."""
    if pages.room(at) < _LEAST_TASKS_MM:
        at = pages.after(at)
    block, left = tasks.begun(pages.width, pages.room(at))
    if block is not None and left is None and tasks.first == 0 and block.height <= pages.room(at):
        pages.put(block, at)
        return
    (frame,) = pages.columns
    narrow = pages.within(*Pages.of(frame, columns=columns, gap=_GAP_MM).columns)
    rest: Panel | None = tasks
    for top in narrow.tops(at):
        block, left = rest.begun(narrow.width, narrow.room(top)) if rest is not None else (None, None)
        if block is None:
            return
        if not top.used or block.height <= narrow.room(top):
            narrow.put(block, top)
            rest = left


def _heads(log: Log, survey: Survey, width: float) -> Sequence[Block]:
    """Title and the sentence of the closure, or a line each where there are several; then the title alone."""
    what = "how the loop closes" if len(survey.closures) == 1 else "how the loops close"
    if not survey.closures:
        what = "what is unchecked"
    elif all(one.kind is LoopKind.TIE for one in survey.closures):
        what = "how the walk closes"
    first, again = (page_head(short_title(log), f"{what}{on}", width=width) for on in ("", ", continued"))
    sentences = _sentences(log, survey)
    items: list[Item] = [*first.items]
    height = first.height
    title = text_width_mm(f"{short_title(log)}: {what}", Face.BOLD, LARGE)
    room = width - min(title, width) - 5.0
    if len(sentences) == 1 and text_width_mm(sentences[0], Face.REGULAR, SMALL) <= room:
        at = (width, PAGE_HEAD_BASE_MM)
        items.append(Text(at=at, text=sentences[0], size_pt=SMALL, anchor=Anchor.END))
    else:
        lines = [line for one in sentences for line in wrap(one, Face.REGULAR, SMALL, width)]
        set_lines(items, lines, y=-8.6)
        height += 3.0 + line_mm(SMALL) * (len(lines) - 1) + 1.0
    return (Block(items=tuple(items), height=height), again)


def _sentences(log: Log, survey: Survey) -> list[str]:
    """A closure each: out by how much, expected, tested, passed or not. The worst first where there are many."""
    found: list[str] = []
    several = len(survey.closures) > 1
    for one in worst_first(survey)[:_MOST_CLOSURES]:
        words = misclosure(one, survey, log.lengths, length=True)
        words = words if several else words[0].upper() + words[1:]
        name = f"{plain(closure_name(one, several=True))}: " if several else ""
        poor = one.q > one.limits.warn or doubtful_up(one) is not None
        limit = "below 1 not adjusted" if poor else "a warning below 5"
        limit += f" of {number(100 * one.tests)}" if one.tests > 1 else ""
        passes = "the loop passes" if one.kind is LoopKind.LOOP else "the tie passes"
        found.append(
            f"{name}{words}. {capital(closes_worse(one.q, doubtful_up(one)))} ({limit}): {verdict(one) or passes}."
        )
    if len(survey.closures) > _MOST_CLOSURES:
        found.append(f"{len(survey.closures) - _MOST_CLOSURES} more close better than these.")
    if survey.anyway:
        found.append(f"Adjusted all the same: {plain(survey.anyway)}.")
    return found or [no_closure(log, survey)]
