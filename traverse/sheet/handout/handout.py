"""The handout: sheet 1 with what the leader gives, room to draw and write, and a ruled table to fill in."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from functools import partial

from traverse.diagnostic import Diagnostic, Outcome
from traverse.ground.records import Traverse
from traverse.location.records import PaceLength
from traverse.settled import settled
from traverse.sheet.compose.arrangement import Yielding
from traverse.sheet.compose.compose import WHOLE, Composer, reduced
from traverse.sheet.compose.following import LEAST_TABLES_MM, under
from traverse.sheet.compose.grey import in_black_ink
from traverse.sheet.compose.sheet_one import SheetOne
from traverse.sheet.handout.degree_scale import degree_scales
from traverse.sheet.handout.given import TO_COMPLETE, USUAL, Given, given
from traverse.sheet.legend.panels import listed_units
from traverse.sheet.legend.title import ASIDE, subtitle_width_mm, title_block
from traverse.sheet.legend.to_complete import panels_to_complete, ruled
from traverse.sheet.map.framing import Framing
from traverse.sheet.paper.document import Document
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import (
    Block,
    Box,
    Face,
    Item,
    Page,
    lowest,
    shifted,
)
from traverse.sheet.paper.panel import Panel
from traverse.sheet.paper.style import LARGE
from traverse.sheet.paper.window import PaceRule
from traverse.sheet.paper.words import plain
from traverse.sheet.report.tomorrow_strip import MOST_LINES, lines_to_fill_in, strip_to_complete
from traverse.sheet.said.emergency import calls
from traverse.sheet.section.strip import section_panel
from traverse.sheet.signs.signs_page import signs_pages
from traverse.sheet.tables.ruled_tables import ruled_tables
from traverse.sheet.template.reading import Paper, Template

_WHO_MM = 90.0
"""Room to write when and by whom a page was filled in."""


def compose_blank(
    trav: Traverse,
    diagnostics: tuple[Diagnostic, ...] = (),
    *,
    lay: Callable[[Traverse], Traverse],
    template: Template,
    mark: str,
    give: Iterable[str] = USUAL,
    boxes: int | None = None,
    title: str | None = None,
) -> Outcome[Document]:
    """A handout of the log, composed from an allow-list of its records; `diagnostics` are what its key was made with.

    `give` names what it shows beside the base, of `given.PARTS`. `boxes` is how many empty boxes the legend has, else
    as many as there are units. `title` stands in place of the log's. Paper, scale and window are those of the key, so
    that one can be laid on the other. `lay` lays the ground of the records that were given; that of the log never gets here.
    """
    shown = given(trav, parts=give, title=title)
    laid = replace(shown.value, trav=lay(shown.value.trav))
    key = Composer(trav, diagnostics, template, mark).settle()
    composed = _Blank(laid, template, mark, boxes, key).compose()
    return Outcome(composed.value, (*shown.diagnostics, *composed.diagnostics))


class _Blank(Composer):
    """Knows the given records only."""

    kind = "blank"
    made_from = "its key: log"

    def __init__(self, shown: Given, template: Template, mark: str, boxes: int | None, key: SheetOne) -> None:
        super().__init__(shown.trav, (), template, mark, key)
        self.reported = False
        self.given = shown
        self.boxes = shown.units if boxes is None else boxes

    def _title(self, *, width: float, band: bool) -> Block:
        heading = self.log.heading
        kept = self.given.subtitle
        forms = [f"{kept}: {words}" for words in (TO_COMPLETE, "to be completed", "exercise")] if kept else []
        # What it is matters more than which walk it is; in a band, lines to fill in stand beside it.
        free = subtitle_width_mm(width, band=band)
        words = next(
            (form for form in forms if text_width_mm(form, Face.SEMIBOLD, LARGE) <= free), TO_COMPLETE
        )
        shown = replace(self.log, heading=replace(heading, title=f"{self.given.head}, {words}"))
        room = ASIDE * width if band else width
        lines = (
            ruled((("Date ", 0.42), ("  Sheet of party ", 1.0)), room),
            ruled((("Names ", 1.0),), room),
        )
        return title_block(
            replace(self.trav, log=shown),
            width=width,
            band=band,
            kind=self.kind,
            lines=lines,
        )

    def _tomorrow(self, *, width: float, lines: int = MOST_LINES, whole: str = "") -> Block:
        help_by = calls(self.log.heading.emergency)
        return strip_to_complete(width=width, brief=not lines, help_by=help_by, whole=whole)

    def _strips_at_foot(self, width: float) -> Iterator[Block]:
        yield from super()._strips_at_foot(width)
        help_by = calls(self.log.heading.emergency)
        for rows in (2, 1):
            yield lines_to_fill_in(help_by, width, whole=WHOLE, rows=rows)
            yield lines_to_fill_in(help_by, width, brief=True, whole=WHOLE, rows=rows)

    @property
    def _paces(self) -> tuple[PaceRule, ...]:
        return tuple(pace_rule(one) for one in self.survey.paces)

    def _over(self, framing: Framing, *, off: Sequence[Item] = ()) -> tuple[Item, ...]:
        return degree_scales(self.trav, framing, off=off)

    def _section(self, index: int, box: Box) -> tuple[Item, ...]:
        return section_panel(
            self.trav.ground.cuts[index],
            self.trav,
            box=box,
            scale=self.scale,
            styles=self.styles,
            ruled=True,
            profile="profile" in self.given.parts,
            heights=self.one.strips[index],
            lines=self.one.note_lines,
        ).items

    def _panels(self, signs: tuple[str, ...], yielding: Yielding) -> list[Panel]:
        given_units = "units" in self.given.parts
        units: Panel | None = None
        if given_units:
            units = listed_units(self.trav, styles=self.styles, units=self.log.units)
        return panels_to_complete(
            self.trav,
            signs,
            boxes=self.boxes,
            closures=self.given.closures,
            units=units,
            half_m=self.half_m,
            tight=yielding.tight_signs,
            low=yielding.short_units,
            calls=self._calls_in_limits,
        )

    def _who(self) -> str:
        return ruled((("Date ", 0.3), ("  Names ", 1.0)), _WHO_MM)

    def _tables_there(self, frame: Box) -> tuple[Item, ...]:
        """The tables to fill in, where they fit the frame of those of the key."""
        drawn = reduced(
            lambda there: ruled_tables(self.log, self.survey, paper=self.one.paper, frame=there),
            frame.width,
            frame.height,
            self.look.grown,
        )
        self.tabled = drawn is not None
        return () if drawn is None else shifted(drawn, frame.x, frame.y)

    def _further(
        self, paper: Paper, pages: list[Page], *, close: bool = False, turned: bool = False
    ) -> list[Page]:
        if "tables" in self.template.show and "tables" in self.given.parts:
            lying = self._for_tables(paper, turned=turned)
            pages += self._tables(lying, close=close)(frame=self._frame(lying))
        if "tables" in self.template.show and not self.tabled:
            across = Paper(name=paper.name, width=paper.height, height=paper.width)
            after = [
                [
                    *pages,
                    *ruled_tables(self.log, self.survey, paper=one, frame=self._frame(one), close=close),
                ]
                for one in (paper, across)
            ]
            after.append(self._ruled_under(pages, paper, close=close))
            # Upright or lying, whichever leaves more room under the tables, where something is to stand there.
            pages = min(after, key=lambda one: (len(one), -self._free_under(one[-1]) if close else 0.0))
        if "reference" in self.template.show:
            # Always the same for every log, so that nothing is told by it.
            pages += signs_pages(width=paper.width, height=paper.height, frame=self._frame(paper))
        return pages

    def _free_under(self, page: Page) -> float:
        frame = self._frame(Paper(name="", width=page.width_mm, height=page.height_mm))
        return settled(lowest(page.items) - frame.y, 3)

    def _ruled_under(self, pages: list[Page], paper: Paper, *, close: bool) -> list[Page]:
        """The pages with the tables to fill in under the last of them, each where it has room."""

        def ruled(*, frame: Box, part: slice) -> tuple[Page, ...]:
            return tuple(
                ruled_tables(self.log, self.survey, paper=paper, frame=frame, part=part, close=close)
            )

        for part in (slice(0, 1), slice(1, 2)):
            pages = under(pages, partial(ruled, part=part), self._frame(paper), least_mm=LEAST_TABLES_MM)
        return pages

    def _document(self, pages: tuple[Page, ...]) -> Document:
        title = ", ".join(words for words in (self.given.head, self.given.subtitle) if words)
        if "units" not in self.given.parts:
            # Without the colours of units it goes through the copier as it is.
            pages = tuple(replace(page, items=tuple(in_black_ink(page.items))) for page in pages)
        return Document(pages=pages, title=f"{title}: {TO_COMPLETE}", subject="Exercise sheet")


def pace_rule(pace: PaceLength) -> PaceRule:
    """A rule of paces for somebody, or for all where one calibration serves."""
    kind = f"{pace.course.kind.value} " if pace.course.kind is not None else ""
    words = f"{plain(pace.course.who)}’s {kind}paces" if pace.course.who else f"{kind}paces"
    return PaceRule(words=words, length_m=pace.length_m)
