"""The closure report: how the walk closes, what that can't show, hazards, and what to read again tomorrow."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from traverse.diagnostic import Diagnostic
from traverse.ground.records import Traverse
from traverse.location.records import LoopKind, Survey
from traverse.log.records import Log
from traverse.sheet.paper.block import framed, set_lines
from traverse.sheet.paper.filling import FilledTo, Pages
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import (
    Anchor,
    Block,
    Box,
    Face,
    Item,
    Page,
    Path,
    Text,
    polyline,
    rectangle,
    shifted,
    side_by_side,
)
from traverse.sheet.paper.style import HEAD, LARGE, PENS, SMALL, line_mm
from traverse.sheet.paper.words import NO_BREAK, address, cut, number, plain, wrap
from traverse.sheet.report.closure_bars import bars_block
from traverse.sheet.report.closure_figure import figure_block
from traverse.sheet.report.net_block import net_block
from traverse.sheet.said.sentences import (
    AGREES_WITH_ITSELF,
    HAZARDS,
    closure_name,
    misclosure,
    no_closure,
    short_title,
    verdict,
)
from traverse.sheet.said.stops import Stops, gather
from traverse.sheet.said.tomorrow import Task, to_check
from traverse.sheet.signs.symbols import symbol
from traverse.trade import BACK_AGREES_DEG, PLAN_REFUSE, PLAN_WARN
from traverse.wording import capital

_GAP_MM = 7.0
_HEAD_MM = 7.2
_FIGURE_MM = 86.0
_ROOM_FOR = ("Emergency number", "Meeting point, nearest road", "Turn back by")
_BOX_MM = 2.8
_TWO_COLUMNS_MM = 150.0
_BELOW_HAZARDS_MM = 30.0
"""The closing sentence and the three lines to fill in."""

_Draw = Callable[[float, float], Block | None]
"""To a width, in the height there is."""


def closure_pages(
    trav: Traverse,
    diagnostics: Sequence[Diagnostic],
    *,
    width: float,
    height: float,
    frame: Box,
) -> tuple[Page, ...]:
    """The report on one page, or on two where the paper is upright or the list is long.

    `width` and `height` are the paper's, `frame` is what may be filled, in millimetres. Nothing where the log holds
    neither a leg nor anything described.
    """
    if not trav.survey.legs and not trav.log.items:
        return ()
    stops = gather(trav)
    tasks = to_check(trav, stops, diagnostics)
    report = _Report(trav, stops, tasks, frame)
    title = "Closure" if trav.survey.closures else "What is unchecked"
    return tuple(
        Page(width_mm=width, height_mm=height, items=tuple(items), title=title) for items in report.pages()
    )


@dataclass(slots=True)
class _Shelf:
    """Panels side by side, with the share of the width that each takes."""

    panels: Sequence[tuple[float, _Draw]]
    least: float
    """Height below which it begins on a new page."""


class _Report:
    """Shelves of panels, one below the other."""

    def __init__(
        self,
        trav: Traverse,
        stops: Stops,
        tasks: Sequence[Task],
        frame: Box,
    ) -> None:
        self.log, self.survey, self.geology = trav.log, trav.survey, trav.geology
        self.stops, self.tasks, self.frame = stops, list(tasks), frame
        self.numbered = 0

    def pages(self) -> list[list[Item]]:
        """Items of each page."""
        frame = self.frame
        pages, at = Pages.of(frame, heads=(self._head(), self._head(again=True))), FilledTo()
        pages.on(0)
        for shelf in self._shelves():
            if not self._speaks(shelf):
                continue
            kept = list(self.tasks), self.numbered
            drawn = self._draw(shelf, pages.room(at)) if pages.room(at) >= shelf.least else None
            too_tall = drawn is None or drawn.height > pages.room(at) + 0.5
            if too_tall and at.used:
                self.tasks, self.numbered = kept
                at = pages.after(at)
                drawn = self._draw(shelf, pages.room(at))
            if drawn is not None:
                at = pages.put(drawn, at)
        count = 3 if frame.width > frame.height else 2
        lists = Pages.of(frame, count=count, gap=_GAP_MM, heads=pages.heads)
        listing, at = pages.within(*lists.columns), FilledTo(len(pages.items))
        while (listed := self._tasks(listing.width, listing.room(at))) is not None:
            listing.put(listed, at)
            at = listing.after(at)
        return pages.items

    def _speaks(self, shelf: _Shelf) -> list[tuple[float, _Draw]]:
        """The panels of a shelf that have something to say."""
        tasks, numbered = list(self.tasks), self.numbered
        there = [
            (share, draw)
            for share, draw in shelf.panels
            if draw(share * self.frame.width, self.frame.height) is not None
        ]
        self.tasks, self.numbered = tasks, numbered
        return there

    def _draw(self, shelf: _Shelf, room: float) -> Block | None:
        """The panels of a shelf; the room of those that have nothing to say goes to the others."""
        there = self._speaks(shelf)
        total = sum(share for share, _ in there)
        free = self.frame.width - _GAP_MM * (len(there) - 1)
        # A panel alone does not grow without end: lines of more than 130 mm are hard to follow.
        x = 0.0
        blocks: list[tuple[float, Block]] = []
        for share, draw in there:
            width = min(free * share / total, 1.5 * share * self.frame.width)
            block = draw(width, room)
            if block is not None:
                blocks.append((x, block))
            x += width + _GAP_MM
        return side_by_side(blocks) if blocks else None

    def _shelves(self) -> list[_Shelf]:
        upright = self.frame.height > self.frame.width
        height = _FIGURE_MM if not upright else 64.0

        def figure(width: float, room: float) -> Block | None:
            del room
            return figure_block(self.log, self.survey, width=width, height=height)

        def bars(width: float, room: float) -> Block | None:
            return bars_block(self.survey, self.log.lengths, width=width, height=min(room, 92.0))

        def net(width: float, room: float) -> Block | None:
            del room
            return net_block(self.geology, width=width)

        if upright:
            return [
                _Shelf(panels=[(1.0, figure)], least=60.0),
                _Shelf(panels=[(0.68, bars)], least=40.0),
                _Shelf(panels=[(0.52, net), (0.48, self._words)], least=70.0),
                _Shelf(panels=[(1.0, self._tasks_in_columns)], least=26.0),
            ]
        return [
            _Shelf(panels=[(0.495, figure), (0.505, bars)], least=60.0),
            _Shelf(panels=[(0.375, net), (0.31, self._words), (0.315, self._tasks)], least=70.0),
        ]

    # --- head -----------------------------------------------------------------------------------------------

    def _head(self, *, again: bool = False) -> Block:
        """Title and the sentence of the closure; more than one line where there are several."""
        frame = self.frame
        what = "how the loop closes" if len(self.survey.closures) == 1 else "how the loops close"
        if not self.survey.closures:
            what = "what is unchecked"
        elif all(one.kind is LoopKind.TIE for one in self.survey.closures):
            what = "how the walk closes"
        title = f"{short_title(self.log)}: {what}" + (", continued" if again else "")
        title_width = min(text_width_mm(title, Face.BOLD, LARGE), frame.width)
        words = cut(title, Face.BOLD, LARGE, frame.width)
        items: list[Item] = [Text(at=(0.0, -4.2), text=words, face=Face.BOLD, size_pt=LARGE)]
        used = _HEAD_MM
        sentences = [] if again else self._sentences()
        if sentences:
            room = frame.width - title_width - 5.0
            if len(sentences) == 1 and text_width_mm(sentences[0], Face.REGULAR, SMALL) <= room:
                items.append(
                    Text(
                        at=(frame.width, -4.2),
                        text=sentences[0],
                        size_pt=SMALL,
                        anchor=Anchor.END,
                    )
                )
            else:
                lines = [line for one in sentences for line in wrap(one, Face.REGULAR, SMALL, frame.width)]
                set_lines(items, lines, y=-8.6)
                used += 3.0 + line_mm(SMALL) * (len(lines) - 1) + 1.0
        return Block(items=tuple(items), height=used)

    def _sentences(self) -> list[str]:
        """A closure each: out by how much, expected, tested, passed or not. The worst first where there are many."""
        found: list[str] = []
        several = len(self.survey.closures) > 1
        for one in sorted(self.survey.closures, key=lambda one: -one.q)[:6]:
            words = misclosure(one, self.survey, self.log.lengths, length=True)
            words = words if several else capital(words)
            name = f"{plain(closure_name(one, several=True))}: " if several else ""
            limit = (
                f"above {number(PLAN_REFUSE, places=1)} not adjusted"
                if one.q > PLAN_WARN
                else f"warning above {number(PLAN_WARN, places=1)}"
            )
            judged = verdict(one) or "passes"
            if judged == "passes":
                judged = "the loop passes" if one.kind is LoopKind.LOOP else "the tie passes"
            found.append(f"{name}{words}. q = {number(one.q, places=1)} ({limit}): {judged}.")
        if len(self.survey.closures) > 6:
            found.append(f"{len(self.survey.closures) - 6} more close better than these.")
        if self.survey.anyway:
            found.append(f"Adjusted all the same: {plain(self.survey.anyway)}.")
        return found or [no_closure(self.survey, self.log.lengths)]

    # --- words ----------------------------------------------------------------------------------------------

    def _words(self, width: float, room: float) -> Block:
        """What can't be checked, and below it the hazards with lines to fill in, as many as there is room for."""
        floor = _BELOW_HAZARDS_MM - room
        heading = "What this loop cannot check" if self.survey.closures else "What nothing here checks"
        if len(self.survey.closures) > 1:
            heading = "What these cannot check"
        items = framed(heading, width=width)
        y = -7.4
        for paragraph in unchecked_paragraphs(self.log, self.survey):
            y = set_lines(items, wrap(paragraph, Face.REGULAR, HEAD, width), y=y, size_pt=HEAD) - 1.1
        y += line_mm(HEAD) - 4.2
        items += shifted(framed("Hazards noticed", width=width), 0.0, y)
        y -= 7.6
        indent = 5.6 + max([text_width_mm(mark, Face.BOLD, HEAD) for mark, _ in self.stops.hazards] or [0.0])
        for number_told, (mark, hazard) in enumerate(self.stops.hazards):
            words = f"{address(hazard.address)}: {plain(hazard.text)}"
            lines = wrap(words, Face.REGULAR, HEAD, width - indent)
            if y - len(lines) * line_mm(HEAD) < floor:
                rest = f"{len(self.stops.hazards) - number_told} more stand in the tables."
                y = set_lines(items, [rest], y=y, face=Face.SEMIBOLD, size_pt=HEAD)
                break
            items.extend(symbol("hazard", (1.5, y + 0.9)))
            items.append(Text(at=(4.6, y), text=mark, face=Face.BOLD, size_pt=HEAD))
            y = set_lines(
                items,
                lines,
                x=indent,
                y=y,
                size_pt=HEAD,
            )
            y -= 0.5
        closing = HAZARDS if self.stops.hazards else f"None was noted. {HAZARDS}"
        y = set_lines(items, wrap(closing, Face.REGULAR, HEAD, width), y=y, size_pt=HEAD)
        for words in _ROOM_FOR:
            y -= 1.9
            items.append(Text(at=(0.0, y), text=words, size_pt=HEAD))
            left = text_width_mm(_ROOM_FOR[1], Face.REGULAR, HEAD) + 3.0
            items.append(Path(commands=polyline([(left, y - 0.4), (width, y - 0.4)]), pen=PENS["ruled line"]))
            y -= line_mm(HEAD)
        return Block(items=tuple(items), height=-y)

    def _tasks_in_columns(self, width: float, room: float) -> Block | None:
        """The readings to check below each other, or in two columns where that leaves fewer for the next page."""
        kept = list(self.tasks), self.numbered
        block = self._tasks(width, room)
        if not self.tasks or width < _TWO_COLUMNS_MM:
            return block
        self.tasks, self.numbered = kept
        half = (width - _GAP_MM) / 2.0
        blocks = [(x, one) for x in (0.0, half + _GAP_MM) if (one := self._tasks(half, room)) is not None]
        both = side_by_side(blocks)
        # The air below the last of a full column is none of it.
        return replace(both, height=min(room, both.height))

    def _tasks(self, width: float, room: float) -> Block | None:
        """As many of the readings to check as there is room for; the rest stays for the next column."""
        if not self.tasks:
            return None
        items = framed("Readings to check tomorrow" + (", continued" if self.numbered else ""), width=width)
        y = -7.4
        floor = -room
        step = line_mm(HEAD)
        first = True
        while self.tasks:
            task = self.tasks[0]
            head = wrap(task.place, Face.SEMIBOLD, HEAD, width - 12.0)
            body = wrap(task.reason, Face.REGULAR, HEAD, width - 9.0)
            if not first and y - (len(head) + len(body) - 1) * step < floor:
                break
            first = False
            self.numbered += 1
            self.tasks.pop(0)
            box = Box(x=width - _BOX_MM, y=y - 0.5, width=_BOX_MM, height=_BOX_MM)
            items += (
                Text(at=(0.0, y), text=str(self.numbered), face=Face.BOLD, size_pt=HEAD),
                Path(commands=rectangle(box), pen=PENS["tick box"]),
            )
            y = set_lines(items, head, x=4.6, y=y, face=Face.SEMIBOLD, size_pt=HEAD)
            y = set_lines(items, body, x=4.6, y=y, size_pt=HEAD) - 0.9
        return Block(items=tuple(items), height=-y)


def unchecked_paragraphs(log: Log, survey: Survey) -> list[str]:
    """What the closures leave open, and what would close it."""
    said: list[str] = []
    loops = [one for one in survey.closures if one.kind is LoopKind.LOOP]
    ties = [one for one in survey.closures if one.kind is LoopKind.TIE]
    if loops:
        said.append(AGREES_WITH_ITSELF)
    elif not ties:
        said.append(
            "Nothing here would show a wrong reading: no loop closes and no second known point is reached."
            " A leg back to the start would check every reading of the walk."
        )
    control = next(iter(log.controls), None)
    tie = "A tie to a second known point, or a bearing to a landmark on the map, would check all four."
    if ties:
        said.append(
            "The tie between known points checks start, declination and pace as far as their own errors allow."
        )
    elif control is None:
        said.append(f"The start is a name only: the map may lie anywhere and be turned any way. {tie}")
    else:
        source = plain(control.source or "known point")
        good = (
            f", ±{NO_BREAK}{log.lengths.printed(control.sd_plan_m)}"
            if control.sd_plan_m is not None
            else ", taken as exact"
        )
        said.append(f"The start is one point ({source}{good}). {tie}")
    read = [abs(leg.fore_back_deg) for leg in survey.legs if leg.fore_back_deg is not None]
    if survey.legs and not read:
        said.append("No back bearings were read: iron near the compass would not show.")
    elif read:
        most = max(1.0, *read)
        every = "every leg" if len(read) == len(survey.legs) else f"the {len(read)} legs read both ways"
        if most <= BACK_AGREES_DEG:
            said.append(
                f"Fore and back bearings agree within {number(most)}° on {every}:"
                " no local attraction larger than that is hidden here."
            )
        else:
            said.append(
                f"Fore and back bearings differ by up to {number(most)}°: a slip, or iron near the compass."
                " Until that is settled every bearing there is in doubt."
            )
    for fit in survey.fits:
        cause = f": {plain(fit.cause)}" if fit.cause else ""
        said.append(
            f"Laid on the known points the walk is turned by {number(fit.rotation_deg, places=1)}°"
            f"{NO_BREAK}±{NO_BREAK}{number(fit.rotation_sd_deg, places=1)}° and {number(fit.scale, places=3)}"
            f"{NO_BREAK}±{NO_BREAK}{number(fit.scale_sd, places=3)} times as long{cause}."
        )
    return said
