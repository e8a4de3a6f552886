"""Puts a log's results on pages: the map sheet, then tables, then the closure report."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cache, partial

from traverse.diagnostic import Diagnostic, Outcome, note, warning
from traverse.ground.records import Traverse
from traverse.sheet.compose.arrangement import TABLES_SHARE, Layout, Strip, Yielding, is_small, lay_out
from traverse.sheet.compose.drop_lines import drop_lines
from traverse.sheet.compose.following import (
    CLOSE_UNDER_MM,
    LEAST_REPORT_MM,
    LEAST_TABLES_MM,
    UNDER_MM,
    legend_pages,
    under,
)
from traverse.sheet.compose.free_room import texts_in
from traverse.sheet.compose.placing import Placing, place
from traverse.sheet.compose.sheet_one import SheetOne
from traverse.sheet.compose.tiles import MapTile, index_of, lay_tiles, off_words, tile_pages
from traverse.sheet.compose.undrawn import undrawn
from traverse.sheet.legend.blocks import HAZARDS_WHOLE, MORE_UNPRINTED, MOST_HAZARDS
from traverse.sheet.legend.foot import foot_line
from traverse.sheet.legend.page_cautions import holds_hazards, page_cautions
from traverse.sheet.legend.panels import (
    IN_FULL,
    accuracy_panel,
    closure_in_full,
    closure_panel,
    hazards_panel,
    in_full_panel,
    left_off_panel,
    limits_panel,
    listed_units,
    signs_panel,
    structure_in_full,
    structure_panel,
    units_panel,
)
from traverse.sheet.legend.title import title_block
from traverse.sheet.legend.to_complete import panels_to_complete
from traverse.sheet.map.framing import Framing, map_frame
from traverse.sheet.map.map import MapDrawing, has_map, map_panel
from traverse.sheet.map.map_signs import base_signs, signs_expected
from traverse.sheet.map.map_words import TABLES, DrawnSquare, left_in_full
from traverse.sheet.paper.block import page_head
from traverse.sheet.paper.document import Document
from traverse.sheet.paper.enlarged import enlarged, enlarged_items
from traverse.sheet.paper.filling import FilledTo, Pages
from traverse.sheet.paper.fitting import (
    ACCURACY_MOVED,
    BESIDE,
    CLOSER_LINES,
    FEWER_HAZARDS,
    UPRIGHT,
    Fitted,
    fit,
)
from traverse.sheet.paper.layers import Layer
from traverse.sheet.paper.look import drawn_with
from traverse.sheet.paper.page import Block, Box, Group, Item, MapFrame, Page, Text, lowest, shifted
from traverse.sheet.paper.panel import Form, Panel, drawn_once
from traverse.sheet.paper.style import UnitStyle
from traverse.sheet.paper.upright import ColumnHeights, measured, partings, upright_columns
from traverse.sheet.paper.window import PaceRule, as_drawn, on_paper, scale_strip
from traverse.sheet.paper.words import NO_BREAK, dates, number, plain
from traverse.sheet.report.closure_report import TITLES as CLOSURE_TITLES
from traverse.sheet.report.closure_report import closure_pages
from traverse.sheet.report.structure_page import structure_pages
from traverse.sheet.report.tomorrow_strip import (
    MOST_LINES,
    lines_to_fill_in,
    tomorrow_strip,
    visits,
    words_fit,
)
from traverse.sheet.said.cautions import days_and_party
from traverse.sheet.said.emergency import calls
from traverse.sheet.said.sentences import fails, short_title
from traverse.sheet.said.stops import numbered_hazards, units_on_sheet
from traverse.sheet.section.note import MORE_OF_SECTION
from traverse.sheet.section.strip import (
    ROOM_ABOVE_MM,
    ROOM_BESIDE_MM,
    StripHeights,
    note_lines,
    room_below_mm,
    section_panel,
    signs_expected_in,
    signs_in_section,
    strip_heights,
    wanted_height_mm,
)
from traverse.sheet.signs.colour import check_colours, unit_styles
from traverse.sheet.signs.signs_page import SIGNS_TITLE, signs_pages
from traverse.sheet.tables.data_tables import table_pages
from traverse.sheet.tables.ruled_tables import ruled_tables
from traverse.sheet.template.growth import growth_of, shrunk
from traverse.sheet.template.own_look import look_of
from traverse.sheet.template.papers import papers_for
from traverse.sheet.template.reading import Paper, Template
from traverse.sheet.template.settings import PAGES
from traverse.wording import listed, section_name


def compose(
    trav: Traverse,
    diagnostics: tuple[Diagnostic, ...],
    *,
    template: Template,
    mark: str,
    report: bool = False,
) -> Outcome[Document]:
    """All pages of a log's sheet: map, legend, section and what to look at again; then tables.

    Structure and closure have pages of their own with `report`, and where a closure fails its test.
    `mark` names the text that the sheet was made from; it stands in the foot of every page. What could not be drawn
    as asked, or found no room, is said in the messages.
    """
    return Composer(trav, diagnostics, template, mark, report=report).compose()


class Composer:
    """One sheet while it is put together; a kind of sheet overrides what differs on it."""

    kind = "key"
    fills = "colour"
    """What the units are filled with, in words."""
    beneath: tuple[tuple[Item, ...], ...] | None = None
    """Of a film, the words and signs on each page of the handout that it is laid on."""
    made_from = "log"
    """What the mark in the foot is the mark of."""

    def __init__(
        self,
        trav: Traverse,
        diagnostics: tuple[Diagnostic, ...],
        template: Template,
        mark: str,
        like: SheetOne | None = None,
        *,
        report: bool = False,
    ) -> None:
        """`like` is what the key has settled; without it this is the key, which settles it."""
        # A template that places its panels may show a section by placing it alone.
        hidden = "section" not in template.show and "section" not in template.panels
        self.trav = trav
        if hidden:
            geology, ground = replace(trav.geology, sections=()), replace(trav.ground, cuts=())
            self.trav = replace(trav, geology=geology, ground=ground)
        self.log, self.survey, self.geology = self.trav.log, self.trav.survey, self.trav.geology
        self.diagnostics = diagnostics
        grown = growth_of(template, trav.log.heading.sheet)
        self.template = shrunk(template, grown)
        self.look = replace(look_of(template), grown=grown) if grown != 1.0 else look_of(template)
        self.mark = mark
        self.like = like
        self.reported = report or ("report" in template.show and fails(trav.survey))
        self.half_m: float | None = None
        self.map_left: float | None = None
        """Left edge of a map beside a column: the foot line below it begins there too."""
        self.moved: list[Panel] = []
        """What found no room on sheet 1."""
        self._alone: dict[tuple[tuple[int, ...], Paper], tuple[tuple[Panel, ...], tuple[Page, ...]]] = {}
        """Such blocks, and pages of their own of them, by which they are and the paper."""
        self.cut: set[str] = set()
        """Names of panels that say less there than they could."""
        self.unsaid: dict[int, str] = {}
        """All that there is to say of a section under which less is said."""
        self.tabled = False
        """Whether sheet 1 has all tables."""
        self.told_beside = False
        """Whether it has the report under them."""
        self.help_cut = False
        """Whether the strip on sheet 1 cuts what is said for an emergency."""
        self.limited = False
        """Whether sheet 1 has its block of limits."""
        self.sections: tuple[Page, ...] = ()
        """The sections after the first."""
        self.left: Mapping[str, Sequence[str]] = {}
        """What the map, or those that follow it, have no room for."""
        self.styles: Mapping[str, UnitStyle] = unit_styles(trav.log.units)
        self._tables_once = cache(self._drawn_tables)
        self._panels_once = cache(self._drawn_panels)
        self._units_once = cache(self._drawn_units)
        self._others_once = cache(self._drawn_others)
        self._blank_once = cache(self._blank_panels)
        self.said: list[Diagnostic] = list(check_colours(units_on_sheet(trav.log, trav.geology), self.styles))

    def compose(self) -> Outcome[Document]:
        """All pages, and what was said on the way."""
        with drawn_with(self.look):
            drawn = self._composed()
        pages = tuple(enlarged(one, self.look.grown) for one in drawn.value.pages)
        return Outcome(replace(drawn.value, pages=pages), drawn.diagnostics)

    def _composed(self) -> Outcome[Document]:
        self.one = one = self.like or self.settle()
        self.said += one.said
        if one.scale is not None:
            self.scale = one.scale
        paper = one.paper
        self.sections = self._sections(paper)
        first = self._beginning()
        pages = self._all_after(first)
        if not pages:
            # A template that leaves out all that there is still makes a sheet that says whose it is.
            pages = [self._without_map(paper)]
        if not self.limited and not self._holds_hazards(paper):
            # No sheet 1 tells them.
            self.moved = [hazards_panel(self.trav)]
            pages = self._with_moved(pages)
        if self.help_cut and len(pages) == 1:
            # The foot of every other page tells it whole: here there is none.
            frame = self._frame(paper)
            head = self._head("in an emergency", frame).at(frame.x, frame.top)
            pages.append(
                Page(width_mm=paper.width, height_mm=paper.height, items=tuple(head), title="In an emergency")
            )
        whole = next((n for n, page in enumerate(pages, start=1) if _tells_hazards(page)), 1)
        footed = tuple(
            replace(
                page,
                items=(
                    *page.items,
                    *(
                        ()
                        if number == 1 and self.limited
                        else self._cautions(page.width_mm, sheet=whole, title=self._unnamed(page))
                    ),
                    *self._foot(page, number, len(pages)),
                ),
            )
            for number, page in enumerate(pages, start=1)
        )
        self.said += undrawn(footed)
        self.said += self._left_to_report()
        return Outcome(replace(self._document(footed), look=self.look), tuple(self.said))

    def _all_after(self, first: list[Page]) -> list[Page]:
        """The pages from the first on; tables closer where what sheet 1 has no room for would have a page of its own."""

        def made(*, close: bool, turned: bool = False) -> list[Page]:
            further = self._further(self.one.paper, list(self.sections), close=close, turned=turned)
            return [*first, *self.maps, *further]

        found = self._fewest(made)
        cut = self._cut_short()
        if not cut:
            return found
        if told := self._with_cut(cut, found):
            return told
        moved = self.moved
        # With what moved there, or where tables stand closer.
        self.moved = [*moved, *cut]
        both = self._fewest(made)
        if len(both) == len(found):
            return self._told_later(cut, both)
        self.moved = moved
        close = self._with_moved(made(close=True))
        if len(close) == len(found) and (told := self._with_cut(cut, close)):
            return told
        for one in cut if len(cut) > 1 else ():
            found = self._with_cut([one], found) or found
        left = [one for one in cut if one.name in self.cut]
        if {one.name for one in left} - {"closure"} and is_small(self.one.paper):
            # Of a large sheet the report tells it; of small ones, which tell so little, a sheet more does. Which rule
            # closed the walk, and what no loop can check, is not worth one.
            found = self._told_later(left, [*found, *self._moved_under([], left)])
        return found

    def _fewest(self, made: Callable[..., list[Page]]) -> list[Page]:
        """The pages with what moved; tables closer, and else turned too, where it would have a page of its own."""
        pages = made(close=False)
        found = self._with_moved(pages)
        for turned in (False, True):
            if len(found) > len(pages):
                found = min((found, self._with_moved(made(close=True, turned=turned))), key=len)
        return found

    def _cut_short(self) -> list[Panel]:
        """In full, what is told shorter than it could be and by no page of a report."""
        if self.kind == "blank":
            return []
        gone = {one.name for one in self.moved} | (_REPORTS if self.reported else set())
        in_full = {
            "structure": partial(structure_in_full, self.geology),
            "closure": partial(closure_in_full, self.trav),
            "sections": partial(in_full_panel, "sections", [self.unsaid[at] for at in sorted(self.unsaid)]),
        }
        return [drawn_once(draw()) for name, draw in in_full.items() if name in self.cut - gone]

    def _with_cut(self, cut: Sequence[Panel], pages: list[Page]) -> list[Page] | None:
        """Pages with what is cut told in full on a later one; None where none has room for it."""
        for at in (len(pages), *range(2, len(pages))):
            if at > 1 and not pages[at - 1].maps:
                found = self._moved_under(pages[:at], cut)
                if len(found) == at:
                    return self._told_later(cut, [*found, *pages[at:]])
        return None

    def _told_later(self, cut: Sequence[Panel], pages: Sequence[Page]) -> list[Page]:
        """Pages whose shortened words name the later sheet that has them whole."""
        self.cut -= {one.name for one in cut}
        sheets = {
            heading: at
            for at, page in enumerate(pages[1:], start=2)
            for one in texts_in(page.items)
            for heading in IN_FULL.values()
            if one.text == heading
        }
        told = {one.name: sheets[IN_FULL[one.name]] for one in cut}
        return [
            replace(page, items=_with_more_on(told, page.items, sheet=at))
            for at, page in enumerate(pages, start=1)
        ]

    def _left_to_report(self) -> Iterable[Diagnostic]:
        """What of the words found no room, where no page of a report has it: the paper itself can't say how to get one."""
        short = [one for one in ("structure", "closure", "sections") if one in self.cut]
        if short and not self.reported and self.kind != "blank":
            yield warning(
                "words-left-out",
                f"sheet 1 has no room for all that is said of {' and '.join(short)}",
                None,
                "the pages that `--report` adds say the rest",
            )

    def _foot(self, page: Page, number: int, pages: int) -> tuple[Item, ...]:
        margin = self.template.margin
        return foot_line(
            self.log,
            self.survey,
            left=self.map_left if number == 1 and self.map_left is not None else margin,
            right=page.width_mm - margin,
            y=margin + _TAILS_MM,
            aside=f"{self.made_from} {self.mark} · sheet {number} of {pages}",
        )

    def _unnamed(self, page: Page) -> str:
        """The walk's name, where nothing on a page says which walk it is of: pages come apart.

        All signs that there are, and their measures, are no walk's.
        """
        title = plain(short_title(self.log))
        named = page.title == SIGNS_TITLE or any(
            isinstance(one, Text) and title in one.text for one in page.items
        )
        return "" if named else title

    def _cautions(self, page_width: float, *, sheet: int, title: str = "") -> tuple[Item, ...]:
        """Limits and hazards over the foot line; where the hazards are many, the `sheet` that tells them whole."""
        block = self._cautions_block(page_width, sheet=sheet, title=title)
        margin = self.template.margin
        return block.at(margin, margin + self.template.foot + block.height)

    def _cautions_block(self, page_width: float, *, sheet: int = 1, title: str = "") -> Block:
        width = page_width - 2.0 * self.template.margin
        who = " · ".join(one for one in (title, self._who()) if one)
        return page_cautions(self.log, width=width, who=who, elsewhere=f"on sheet {sheet}")

    def _who(self) -> str:
        """Whose page it is, and of when."""
        return days_and_party(self.log)

    def _holds_hazards(self, paper: Paper) -> bool:
        return holds_hazards(self.log, width=paper.width - 2.0 * self.template.margin)

    def _document(self, pages: tuple[Page, ...]) -> Document:
        """The pages, and what the file says of them."""
        days = dates(day.date for day in self.log.heading.days)
        return Document(
            pages=pages,
            title=plain(self.log.heading.title or "") or "Traverse",
            authors=tuple(plain(person.name or person.initials) for person in self.log.heading.party),
            subject=f"Traverse sheet, {days}" if days else "Traverse sheet",
        )

    def _further(
        self, paper: Paper, pages: list[Page], *, close: bool = False, turned: bool = False
    ) -> list[Page]:
        """The pages of the sections, and tables, structure and report after them, or under them where there is room.

        Tables that stand `close` leave the most room under them, or on paper `turned` from how it would lie.
        """
        shown = self.template.show
        width, height = paper.width, paper.height
        frame = self._frame(paper)
        before: list[Page] = []
        if "tables" in shown and not self.tabled:
            lying = self._for_tables(paper, turned=turned)
            tables = self._tables(lying, close=close)
            if lying is paper:
                pages = under(pages, tables, frame, least_mm=LEAST_TABLES_MM)
            else:
                before, pages = [*pages, *tables(frame=self._frame(lying))], []
        for report in () if self.told_beside else self._reports(wanted="structure" in self.cut):
            pages = under(pages, partial(report, width=width, height=height), frame, least_mm=LEAST_REPORT_MM)
        if "reference" in shown:
            pages += signs_pages(width=width, height=height, frame=frame)
        return [*before, *pages]

    def _reports(self, *, wanted: bool) -> tuple[Callable[..., tuple[Page, ...]], ...]:
        """What draws structure and closure, where they are told in full; structure without figures where it is `wanted`."""
        if not self.reported:
            return ()
        return (
            partial(structure_pages, self.trav, wanted=wanted),
            partial(closure_pages, self.trav, self.diagnostics),
        )

    def _tables(self, paper: Paper, *, close: bool = False) -> Callable[..., tuple[Page, ...]]:
        """Draws the tables for a frame on a paper; each is drawn once."""
        return partial(self._tables_once, paper, close=close)

    def _tables_there(self, frame: Box) -> tuple[Item, ...]:
        """All tables on sheet 1, and the report, in the frame that was found large enough for them."""
        wanted = "structure" in self.cut
        # In the height in which they were measured, lest columns break elsewhere.
        paper = self.one.paper
        high = frame.height if paper.landscape else max(frame.height, TABLES_SHARE * paper.height)
        drawn: tuple[Item, ...] | None = None
        for wanted in ("structure" in self.cut, True):
            drawn, self.told_beside = self._on_sheet_one(frame.width, high, wanted=wanted)
            if drawn is None or lowest(drawn) >= high - frame.height - _SAME_MM:
                break
        self.tabled = drawn is not None
        return () if drawn is None else shifted(drawn, frame.x, frame.top - high)

    def _on_sheet_one(
        self, width: float, height: float, *, wanted: bool
    ) -> tuple[tuple[Item, ...] | None, bool]:
        """All tables in a column from 0, 0, and whether the report stands under them: if there is one, and room for it."""

        def tables(there: Box) -> list[Page]:
            return list(self._drawn_tables(_paper_of(there), frame=there))

        def with_report(there: Box) -> list[Page]:
            pages = tables(there)
            for report in self._reports(wanted=wanted):
                draw = partial(report, width=there.width, height=there.height)
                pages = under(pages, draw, there, least_mm=0.0)
            return pages

        if self.reported:
            drawn = reduced(with_report, width, height, self.look.grown)
            if drawn is not None:
                return drawn, True
        return reduced(tables, width, height, self.look.grown), False

    def _drawn_tables(self, paper: Paper, *, frame: Box, close: bool = False) -> tuple[Page, ...]:
        return table_pages(
            self.trav,
            self.diagnostics,
            width=paper.width,
            height=paper.height,
            frame=frame,
            legs=self.reported,
            close=close,
        )

    def _for_tables(self, paper: Paper, *, turned: bool = False) -> Paper:
        """The paper, or turned where its short side is too narrow for the columns of the stations, or that saves a page.

        The other of the two where what stands under them wants them `turned`, and both are wide enough.
        """
        across = Paper(name=paper.name, width=paper.height, height=paper.width)
        narrow, wide = (across, paper) if paper.landscape else (paper, across)
        if self._frame(narrow).width < _TABLES_MM:
            return wide
        taken = len(self._tables(paper)(frame=self._frame(paper)))
        if not 1 < taken <= _FEW_PAGES:
            return paper
        saves = len(self._tables(across)(frame=self._frame(across))) < taken
        return across if saves is not turned else paper

    def _beginning(self) -> list[Page]:
        """Sheet 1, where the template has one."""
        self.moved, self.limited, self.tabled, self.help_cut = [], False, False, False
        self.cut = {"sections"} if self.unsaid else set()
        self.told_beside = False
        self.maps: tuple[Page, ...] = ()
        self.signs_of_maps: tuple[str, ...] = ()
        self.square = DrawnSquare({})
        self.short_traces = 0
        self.left = {}
        if self.template.panels:
            first = self._placed()
            if self.left and self._told_in == _LEGEND and self.beneath is None:
                self.moved.append(left_off_panel(left_in_full(self.left)))
            return [first]
        return [self._first()] if self.template.show - {*PAGES} else []

    @property
    def _told_in(self) -> str:
        """Where what the map has no room for is listed; empty where this template has no such page."""
        template = self.template
        if "tables" in template.show:
            return TABLES
        at_back = template.panels and "signs" in template.show and "signs" not in template.panels
        return _LEGEND if at_back else ""

    # --- paper ----------------------------------------------------------------------------------------------

    def settle(self) -> SheetOne:
        """Paper, scale, window and heights, as this log needs them."""
        with drawn_with(self.look):
            return self._settled()

    def _settled(self) -> SheetOne:
        template = self.template
        layout: Layout | None = None
        placing: Placing | None = None
        said: tuple[Diagnostic, ...] = ()
        if template.panels:
            assert template.page is not None
            paper = Paper(name="the page of this template", width=template.page[0], height=template.page[1])
            if has_map(self.survey):
                placing = place(self.trav, template=template)
        else:
            found = papers_for(self.log.heading.sheet, template, scale_on=self._scale_on)
            said = found.diagnostics
            if self._mapped():
                layout = self._lay_out(found.value)
                paper = layout.paper
            else:
                paper = found.value[-1] if template.show - {*PAGES} else found.value[0]
        settled = layout or placing
        strips = (
            ()
            if settled is None
            else tuple(self._strips(paper, settled.scale, settled.section, layout.further if layout else ()))
        )
        return SheetOne(
            paper=paper,
            layout=layout,
            placing=placing,
            tiles=() if settled is None or settled.framing is None else self._tiles(paper, settled.scale),
            strips=strips,
            larger=None if layout is None else self._larger(layout),
            said=(*said, *self._lowered(strips)),
        )

    def _larger(self, layout: Layout) -> int | None:
        """The scale on paper that would fill a sheet to hang up, where that of the log leaves it empty."""
        asked = self.log.heading.sheet.scale
        if asked is None or self.look.grown == 1.0 or layout.scale != as_drawn(asked):
            return None
        largest = on_paper(self._lay_out((layout.paper,), fixed=False).scale)
        return largest if largest < asked else None

    def _lowered(self, strips: Sequence[StripHeights | None]) -> Iterator[Diagnostic]:
        """Sections that are not as high as was asked for, or not even so in their frames."""
        for section, heights in zip(self.geology.sections, strips, strict=False):
            if heights is None:
                continue
            span = None if section.booked is None else section.booked.span
            name = f"section {section_name(section.name)}"
            if not heights.shows_all:
                yield warning(
                    "section-cut",
                    f"the ground of {name} is higher than its frame, which cuts it",
                    span,
                    "take a larger paper or a smaller scale; `traverse section` draws it whole",
                )
            elif heights.exaggeration < section.exaggeration:
                made, booked = (
                    number(one, places=0 if one == round(one) else 1)
                    for one in (heights.exaggeration, section.exaggeration)
                )
                yield warning(
                    "section-lower",
                    f"the ground of {name} has no room at exaggeration {booked}; it is drawn at {made}",
                    span,
                    "take a larger paper or a smaller scale; `traverse section` draws it as asked",
                )

    def _strips(
        self, paper: Paper, scale: int, first: Box | None, further: tuple[Box, ...]
    ) -> Iterator[StripHeights | None]:
        """Those on sheet 1 are as high as their panels; those on pages of their own have the room that they want."""
        most = (
            self._frame(paper).height
            - _HEAD_MM
            - ROOM_ABOVE_MM
            - room_below_mm(note_lines(paper.width))
            - 4.0
        )
        for index, section in enumerate(self.geology.sections):
            tall = min(wanted_height_mm(section, self.trav, scale=scale), most)
            if index <= len(further):
                panel = (first, *further)[index]
                tall = 0.0 if panel is None else panel.height
            yield strip_heights(section, self.trav, tall_mm=tall, scale=scale) if tall else None

    def _tiles(self, paper: Paper, scale: int) -> tuple[MapTile, ...]:
        """The map on sheets of its own where the scale asked for is too large for one."""
        asked = self.log.heading.sheet.scale
        if asked is None or scale == as_drawn(asked):
            return ()
        tiles = lay_tiles(self.trav, frame=self._frame(paper), scale=as_drawn(asked))
        return () if self._hardly_larger(tiles, scale) else tiles

    def _hardly_larger(self, tiles: Sequence[MapTile], scale: int) -> bool:
        """Whether they would be a second drawing of the whole walk, a little larger: not worth a sheet for everybody."""
        asked = self.log.heading.sheet.scale
        return len(tiles) == 1 and asked is not None and scale < _WORTH_A_PAGE * as_drawn(asked)

    def _scale_on(self, papers: tuple[Paper, ...]) -> int | None:
        return on_paper(self._lay_out(papers).scale) if has_map(self.survey) else None

    def _margins(self, paper: Paper) -> Box:
        """What may be printed on."""
        return Box(x=0.0, y=0.0, width=paper.width, height=paper.height).inset(self.template.margin)

    def _frame(self, paper: Paper) -> Box:
        """What tables and report may use of a page, over its cautions."""
        margin = self.template.margin
        base = (
            margin
            + self.template.foot
            + self._cautions_block(paper.width, title=plain(short_title(self.log))).height
        )
        return Box(x=margin, y=base, width=paper.width - 2 * margin, height=paper.height - margin - base)

    # --- sheet 1 --------------------------------------------------------------------------------------------

    def _first(self) -> Page:
        layout, paper = self.one.layout, self.one.paper
        if layout is None:
            return self._without_map(paper)
        index = self._tiled(layout.framing)
        if not index:
            self._tell_scale(layout)
        self.map_left = layout.map.x if paper.landscape else None
        drawing = self._map(layout.map, layout.framing, index)
        items: list[Item] = [Group(items=drawing.items, layer=Layer.MAP)]
        signs = drawing.signs
        strip = self._strip(x=layout.map.x, top=layout.strip_top, width=layout.map.width)
        items += strip
        if layout.section is not None:
            panel = self._section(0, layout.section)
            further = [self._section(index, box) for index, box in enumerate(layout.further, start=1)]
            items += [Group(items=one, layer=Layer.SECTION) for one in (panel, *further)]
            signs = (*signs, *(sign for one in (panel, *further) for sign in signs_in_section(one)))
            if layout.hung and self.beneath is None:
                section, window = self.geology.sections[0], layout.framing.window
                drops = drop_lines(
                    section,
                    window,
                    layout.section,
                    over=(*drawing.items, *panel),
                    below=strip,
                    scales=self._over(layout.framing),
                )
                items.append(Group(items=drops, layer=Layer.SECTION_LINES))
        items += self._blocks(layout, (*signs, *self._signs_further()))
        if "tomorrow" in self.template.show:
            items += self._at_foot(layout.tomorrow)
        if layout.tables is not None:
            items += self._tables_there(layout.tables)
        return Page(
            width_mm=paper.width,
            height_mm=paper.height,
            items=tuple(items),
            title="Map and section",
            maps=(map_frame(self.survey.frame, layout.framing.window),),
        )

    def _strip(self, *, x: float, top: float, width: float) -> tuple[Item, ...]:
        """What stands below the map to measure it by."""
        return scale_strip(self.scale, x=x, top=top, width=width, paces=self._paces)

    @property
    def _paces(self) -> tuple[PaceRule, ...]:
        """Rules of paces beside the bars of each map."""
        return ()

    def _over(self, framing: Framing, *, off: Sequence[Item] = ()) -> tuple[Item, ...]:  # noqa: ARG002 a handout asks where the ground lies
        """What comes over a map, to plot by, and keeps off other lines there."""
        return ()

    def _map(self, box: Box, framing: Framing, index: Sequence[Item] = ()) -> MapDrawing:
        """The map of sheet 1 at its scale, under the `index` of further maps; what it has to say is kept."""
        self.half_m = self.trav.ground.width.half_m
        over = self._over(framing)
        drawing = map_panel(
            self.trav,
            box=box,
            scale=self.scale,
            styles=self.styles,
            framing=framing,
            over=(*over, *index),
            register=self._margins(self.one.paper),
            beneath=None if self.beneath is None else self.beneath[0],
            elsewhere=" ".join(filter(None, (self._kept_scale(), self._sections_elsewhere()))),
            told_in=self._told_in,
        )
        self.left = self.left if index else drawing.left
        self.square = self.square.also(drawing.square)
        self.short_traces += drawing.short_traces
        # What the index of maps has no room for stands on those maps, which say themselves what they leave off.
        self.said += [one for one in drawing.diagnostics if not index or one.code != "no-room-on-map"]
        above = ((Layer.GRID, over), (Layer.INDEX, off_words(index, texts_in(drawing.items))))
        groups = [Group(items=tuple(items), layer=layer) for layer, items in above if items]
        return replace(drawing, items=(*drawing.items, *groups))

    def _kept_scale(self) -> str:
        """`Scale fixed by the log: 1:500 would fit A0.`; empty where the map is as large as its paper allows."""
        if self.one.larger is None:
            return ""
        return f"Scale fixed by the log: 1:{number(self.one.larger)} would fit {self.one.paper.name}."

    def _sections_elsewhere(self) -> str:
        """`Section B–B′: sheet 2.`; empty where sheet 1 has them all."""
        names = [section_name(one.name) for one in self.geology.sections[self._on_one :]]
        if not names or not self.sections:
            return ""
        on = " on" if len(self.sections) > 1 else ""
        return f"Section{'s' if len(names) > 1 else ''} {listed(names)}: sheet {2 + len(self.one.tiles)}{on}."

    def _tiled(self, framing: Framing) -> tuple[Item, ...]:
        """Draw the maps that follow sheet 1, if there are any; their index for sheet 1."""
        tiles, paper = self.one.tiles, self.one.paper
        if not tiles:
            return ()
        asked = self.log.heading.sheet
        maps = tile_pages(
            tiles,
            self.trav,
            width=paper.width,
            height=paper.height,
            styles=self.styles,
            register=self._margins(paper),
            beneath=None if self.beneath is None else self.beneath[1:],
            told_in=self._told_in,
            scales=self._over,
            paces=self._paces,
        )
        self.maps, self.signs_of_maps = maps.value.pages, maps.value.signs
        self.square, self.left = self.square.also(maps.value.square), maps.value.left
        self.said += maps.diagnostics
        self.said.append(
            note(
                "several-maps",
                f"the walk does not fit {paper.name} at 1:{number(on_paper(tiles[0].window.scale))}: {len(tiles)} maps follow"
                f" sheet 1, which is their index at 1:{number(on_paper(self.scale))}",
                asked.span,
            )
        )
        return index_of(tiles, framing, over=self._over(framing))

    def _mapped(self) -> bool:
        return has_map(self.survey) and "map" in self.template.show

    def _lay_out(self, papers: tuple[Paper, ...], *, fixed: bool = True) -> Layout:
        """The layout at the scale that the log has `fixed`, or at the largest that fits."""
        asked = self.log.heading.sheet.scale if fixed else None
        self.half_m = self.trav.ground.width.half_m
        title_height = self._shown_title(width=papers[-1].width, band=True).height
        in_sections = (name for one in self.geology.sections for name in signs_expected_in(one))
        expected = (*signs_expected(self.trav), *in_sections)
        return lay_out(
            self.trav,
            template=self.template,
            papers=papers,
            title_height=title_height,
            words=cache(partial(self._words_measured, expected)),
            strip_height=cache(self._strip_height),
            tables_height=cache(self._tables_height),
            asked=as_drawn(asked) if asked is not None else None,
            whole=self.look.grown > 1.0,
        )

    def _strip_height(self, width: float, strip: Strip) -> float:
        if "tomorrow" not in self.template.show or strip is Strip.LATER:
            return 0.0
        return self._tomorrow(width=width, lines=_STRIP_LINES[strip], whole=WHOLE).height

    def _tables_height(self, width: float, most: float) -> float | None:
        """On a large sheet what all tables take in a column; None elsewhere, and where they are higher than `most`."""
        if "tables" not in self.template.show or self.look.grown == 1.0:
            return None
        # Those of the handout stand in the same place.
        ruled = reduced(
            lambda frame: ruled_tables(self.log, self.survey, paper=_paper_of(frame), frame=frame),
            width,
            most,
            self.look.grown,
        )
        # What sheet 1 cuts of the structure is known when it is drawn.
        drawn, _ = self._on_sheet_one(width, most, wanted=True)
        return None if drawn is None else most - min(lowest(one) for one in (drawn, ruled) if one is not None)

    def _tomorrow(self, *, width: float, lines: int = MOST_LINES, whole: str = "") -> Block:
        """Where to look again, and whom to call."""
        places, more = visits(self.trav, self.diagnostics)
        help_by = calls(self.log.heading.emergency)
        return tomorrow_strip(places, more=more, width=width, lines=lines, help_by=help_by, whole=whole)

    def _moved_strip(self) -> Panel:
        """The strip for a later page, told in full or in the least height."""
        closer = Form(step=CLOSER_LINES, draw=partial(self._tomorrow, lines=0))
        return Panel(name="tomorrow", draw=self._tomorrow, shorter=(closer,))

    def _strips_at_foot(self, width: float) -> Iterator[Block]:
        """The strip, and what it is in less room."""
        for lines in range(MOST_LINES, -1, -1):
            yield self._tomorrow(width=width, lines=lines, whole=WHOLE)

    def _at_foot(self, box: Box | None) -> tuple[Item, ...]:
        """The strip where it has its room, as much of it as that holds; else it is kept for a later sheet."""
        if box is not None:
            fitting = [one for one in self._strips_at_foot(box.width) if one.height <= box.height + _SAME_MM]
            help_by = calls(self.log.heading.emergency)
            # What tells all for an emergency comes before what has more room for the rest.
            whole = next((one for one in fitting if words_fit(one, help_by)), None)
            self.help_cut = whole is None and bool(fitting)
            if fitting:
                block = whole or fitting[0]
                return block.at(box.x, box.y + block.height)
        self.moved.append(self._moved_strip())
        return ()

    def _for_emergency(self, box: Box) -> tuple[Item, ...]:
        """Whom to call and when to turn back, as much of it as the box holds; what it cuts stands on a later sheet."""
        help_by = calls(self.log.heading.emergency)
        forms = [
            lines_to_fill_in(help_by, box.width, brief=brief, whole=WHOLE, rows=rows, columns=columns)
            for columns in (2, 1)
            for rows in (3, 2, 1)
            for brief in (False, True)
        ]
        fitting = [one for one in forms if one.height <= box.height + _SAME_MM]
        if not fitting:
            self.moved.append(self._moved_strip())
            return ()
        whole = next((one for one in fitting if words_fit(one, help_by)), None)
        self.help_cut = whole is None
        return (whole or fitting[0]).at(box.x, box.top)

    def _placed(self) -> Page:
        """Sheet 1 with its panels where the template puts them; the page is the template's own."""
        template, paper, placing = self.template, self.one.paper, self.one.placing
        asked = self.log.heading.sheet
        if asked.paper is not None or asked.landscape is not None:
            self.said.append(
                note(
                    "paper-of-template",
                    f"this template has a page of its own, {paper.width:g} by {paper.height:g} mm",
                    asked.span,
                )
            )
        items: list[Item] = []
        signs: tuple[str, ...] = ()
        maps: tuple[MapFrame, ...] = ()
        if placing is not None:
            index: tuple[Item, ...] = ()
            if placing.map is not None and placing.framing is not None:
                index = self._tiled(placing.framing)
                drawing = self._map(placing.map, placing.framing, index)
                signs = drawing.signs
                items.append(Group(items=drawing.items, layer=Layer.MAP))
                maps = (map_frame(self.survey.frame, placing.framing.window),)
            if asked.scale is not None and placing.scale != asked.scale and not index:
                self._told_smaller(
                    placing.scale,
                    "the panels of this template",
                    f"ask for 1:{number(placing.scale)}, or give its panels more room",
                )
            strip = template.panels.get("scale")
            if strip is not None:
                items += self._strip(x=strip.x, top=strip.top, width=strip.width)
            if placing.section is not None:
                panel = self._section(0, placing.section)
                items.append(Group(items=panel, layer=Layer.SECTION))
                signs = (*signs, *signs_in_section(panel))
        signs = (*signs, *self._signs_further())
        title = template.panels.get("title")
        if title is not None:
            block = self._title(width=title.width, band=False)
            if title.width > _BAND_MM or block.height > title.height + _TITLE_AIR_MM:
                block = self._title(width=title.width, band=True)
            items += block.at(title.x, title.top)
        if "tomorrow" in template.panels:
            items += self._at_foot(template.panels["tomorrow"])
        if "emergency" in template.panels:
            items += self._for_emergency(template.panels["emergency"])
        for one in self._panels(signs, Yielding()):
            box = template.panels.get(one.name)
            if box is not None:
                items += self._column([one], box)
            elif one.name == "signs" and maps and "signs" in template.show:
                # A small page leaves its room to the map: what its signs mean stands at its back.
                self.moved.append(one)
        return Page(
            width_mm=paper.width, height_mm=paper.height, items=tuple(items), title="Sheet", maps=maps
        )

    def _told_smaller(self, scale: int, where: str, hint: str) -> None:
        asked = self.log.heading.sheet
        assert asked.scale is not None
        self.said.append(
            warning(
                "scale-too-large",
                f"the walk does not fit {where} at 1:{number(asked.scale)};"
                f" the sheet is made at 1:{number(on_paper(scale))}",
                asked.span,
                hint,
            )
        )

    def _roomier(self, paper: Paper, *, by: float, alone: bool) -> str:
        """What to ask for in place of a paper that should be `by` times as long and as wide: the least that is, if any.

        `alone` where the map would have room on a page without anything else, and is hardly larger there.
        """
        larger = min(
            (
                (wide * high, name)
                for name, (wide, high) in self.template.papers.items()
                if name not in self.template.rolls
                and min(wide, high) >= by * min(paper.width, paper.height)
                and max(wide, high) >= by * max(paper.width, paper.height)
            ),
            default=None,
        )
        if larger is None and alone:
            return "take a smaller scale; a map on a page of its own would be hardly larger"
        if larger is None:
            return "take a smaller scale; no paper holds this one"
        return f"take a larger paper, such as `paper {larger[1]}`, or a smaller scale"

    def _tell_scale(self, layout: Layout) -> None:
        asked = self.log.heading.sheet
        if asked.scale is not None and layout.scale != as_drawn(asked.scale):
            alone = lay_tiles(self.trav, frame=self._frame(layout.paper), scale=as_drawn(asked.scale))
            beside = " beside its section and its words" if alone else ""
            self._told_smaller(
                layout.scale,
                f"{layout.paper.name}{beside}",
                self._roomier(layout.paper, by=layout.scale / as_drawn(asked.scale), alone=bool(alone)),
            )
        elif self.one.larger is not None and asked.scale is not None and self.kind == "key":
            self.said.append(
                warning(
                    "scale-of-log",
                    f"the map keeps the scale of the log, 1:{number(asked.scale)}; 1:{number(self.one.larger)} would"
                    f" fill {layout.paper.name}",
                    asked.span,
                    "leave out `scale` for a sheet to hang up",
                )
            )
        elif not layout.framing.fits:
            self.said.append(
                warning(
                    "map-crowded",
                    "the norths had to be drawn over the walk",
                    asked.span,
                    "a larger paper has room",
                )
            )

    def _signs_further(self) -> tuple[str, ...]:
        """What the maps and sections on later pages show: sheet 1 has the legend for all of them."""
        return (*self.signs_of_maps, *signs_in_section(one for page in self.sections for one in page.items))

    def _title(self, *, width: float, band: bool) -> Block:
        return title_block(self.trav, width=width, band=band, kind=self.kind)

    def _shown_title(self, *, width: float, band: bool) -> Block:
        if "title" not in self.template.show:
            return Block(items=(), height=0.0)
        return self._title(width=width, band=band)

    def _shown(self, signs: tuple[str, ...], yielding: Yielding) -> list[Panel]:
        """Blocks of words that the template wants, where it leaves placing to the sheet."""
        return [one for one in self._panels(signs, yielding) if one.name in self.template.show]

    def _section(self, index: int, box: Box) -> tuple[Item, ...]:
        """One of the sections, with the heights that were settled."""
        drawing = section_panel(
            self.trav.ground.cuts[index],
            self.trav,
            box=box,
            scale=self.scale,
            styles=self.styles,
            fills=self.fills,
            # Of sections on later pages no name lies on a figure: theirs stand over the heights.
            beneath=None
            if self.beneath is None
            else tuple(texts_in(() if index >= self._on_one else self.beneath[0])),
            heights=self.one.strips[index],
            lines=self.one.note_lines,
            more=MORE_OF_SECTION,
        )
        if drawing.unsaid:
            self.unsaid[index] = drawing.unsaid
            self.cut.add("sections")
        return drawing.items

    @property
    def _calls_in_limits(self) -> bool:
        """Whether no strip or panel of the template tells what is said for an emergency."""
        placed = self.template.panels
        return placed.keys().isdisjoint(_TELL_CALLS) if placed else "tomorrow" not in self.template.show

    def _panels(self, signs: tuple[str, ...], yielding: Yielding) -> list[Panel]:
        return list(self._panels_once(signs, yielding.short_units, yielding.tight_signs, self.half_m))

    def _drawn_panels(
        self, signs: tuple[str, ...], short_units: bool, tight_signs: bool, half_m: float | None
    ) -> tuple[Panel, ...]:
        """By all that they hang on: the page is arranged in many ways, few of which change a panel."""
        return (
            self._units_once(short_units),
            drawn_once(signs_panel(signs, self.trav, half_m=half_m, tight=tight_signs)),
            *self._others_once(),
        )

    def _drawn_units(self, short: bool) -> Panel:
        return drawn_once(units_panel(self.trav, styles=self.styles, short=short))

    def _drawn_others(self) -> tuple[Panel, ...]:
        return (
            drawn_once(structure_panel(self.geology, reported=self.reported)),
            drawn_once(closure_panel(self.trav, reported=self.reported)),
            drawn_once(limits_panel(self.trav, calls=self._calls_in_limits)),
        )

    def _blocks(self, layout: Layout, signs: tuple[str, ...]) -> list[Item]:
        """Title and blocks, in the column beside the map or the columns below it."""
        # What gave way to the map in the layout is tried in full: another column may have been the highest.
        panels = self._shown(signs, Yielding())
        title = self._shown_title(width=layout.title.width, band=not layout.paper.landscape)
        items: list[Item] = list(title.at(layout.title.x, layout.title.top))
        if layout.paper.landscape:
            column = layout.columns[0]
            items += self._column(panels, replace(column, height=column.height - title.height))
        else:
            widths = tuple(column.width for column in layout.columns)
            columns, _ = upright_columns(panels, widths, short_words=layout.yielding.short_words)
            columns = self._with_fewest_moved(panels, columns, layout.columns)
            for column, there in zip(layout.columns, columns, strict=True):
                items += self._column(there, column, UPRIGHT)
        return items

    def _with_fewest_moved(
        self, panels: Sequence[Panel], usual: list[list[Panel]], boxes: Sequence[Box]
    ) -> list[list[Panel]]:
        """The panels in such columns that the fewest move to a later sheet, the usual ones where they do as well.

        How the walk closes has its room before all others where it fails.
        """

        def lost(columns: list[list[Panel]]) -> tuple[bool, int]:
            fitted = [self._fitted(there, box, UPRIGHT) for there, box in zip(columns, boxes, strict=True)]
            moved = [one.name for there in fitted for one in there.moved]
            return "closure" in moved and not self.survey.adjusted, len(moved)

        least = lost(usual)
        if least == (False, 0):
            return usual
        return min((usual, *partings(panels, len(boxes), closure_kept=not self.survey.adjusted)), key=lost)

    def _words_measured(
        self, signs: tuple[str, ...], widths: tuple[float, ...], yielding: Yielding
    ) -> tuple[ColumnHeights, ...]:
        """The columns that the key needs, and those of the handout that is laid under it."""
        panels = self._shown(signs, yielding)
        blank = self._blank_once(signs, self.half_m) if yielding.for_blank else None
        return tuple(
            measured(there, widths, short_words=yielding.short_words)
            for there in (panels, blank)
            if there is not None
        )

    def _blank_panels(self, signs: tuple[str, ...], half_m: float | None) -> list[Panel]:
        base = base_signs(self.trav)
        blank = panels_to_complete(
            self.trav,
            [one for one in signs if one in base],
            boxes=len(units_on_sheet(self.log, self.geology)),
            closures=len(self.survey.closures),
            half_m=half_m,
            tight=True,
            low=True,
            calls=self._calls_in_limits,
        )
        return [drawn_once(one) for one in blank if one.name in self.template.show]

    def _column(self, panels: list[Panel], column: Box, order: tuple[str, ...] = BESIDE) -> tuple[Item, ...]:
        """Panels one below the other; what found no room is kept for later pages."""
        fitted = self._fitted(panels, column, order)
        if fitted.units_named and self.kind != "blank":
            self.moved.append(listed_units(self.trav, styles=self.styles))
        self.moved += [one for one in fitted.moved if not (self.reported and one.name in _REPORTS)]
        self.cut |= fitted.shortened | {one.name for one in fitted.moved}
        if any(one.name == "limits" for one in panels):
            self.limited = True
            if fitted.last_step == FEWER_HAZARDS or len(numbered_hazards(self.log)) > MOST_HAZARDS:
                self.moved.append(hazards_panel(self.trav))
            if fitted.last_step in {ACCURACY_MOVED, FEWER_HAZARDS} and self.kind != "blank":
                self.moved.append(accuracy_panel(self.trav))
        return fitted.items

    def _fitted(self, panels: Sequence[Panel], column: Box, order: tuple[str, ...]) -> Fitted:
        """Panels in a column; of a walk that fails its test how it closes is kept longest."""
        return fit(
            panels,
            column,
            order,
            pages=_REPORTS if self.reported else frozenset(),
            kept_longest=None if self.survey.adjusted else "closure",
        )

    def _without_map(self, paper: Paper) -> Page:
        """A log in which nothing has a place yet: what there is of words."""
        frame = self._frame(paper)
        title = self._shown_title(width=frame.width, band=True)
        column = Box(
            x=frame.x, y=frame.y, width=min(frame.width, 110.0), height=frame.height - title.height - 4.0
        )
        items = [*title.at(frame.x, frame.top), *self._column(self._shown((), Yielding()), column)]
        return Page(width_mm=paper.width, height_mm=paper.height, items=tuple(items), title="Sheet")

    # --- further pages --------------------------------------------------------------------------------------

    @property
    def _on_one(self) -> int:
        """How many sections stand on sheet 1."""
        return 1 if self.one.layout is None else 1 + len(self.one.layout.further)

    def _sections(self, paper: Paper) -> tuple[Page, ...]:
        """Sections that sheet 1 has not, at the map's scale, as many to a page as stand below each other."""
        frame = self._frame(paper)
        pages, at = Pages.of(frame, heads=(self._head("sections", frame),)), FilledTo()
        for index, opened in enumerate(self.trav.ground.cuts[self._on_one :], start=self._on_one):
            section, heights = opened.section, self.one.strips[index]
            height = (
                wanted_height_mm(section, self.trav, scale=self.scale) if heights is None else heights.tall_mm
            )
            wide = section.length_m * 1000.0 / self.scale
            x = frame.x + max(ROOM_BESIDE_MM, (frame.width - wide) / 2)
            # Its caption goes on as far as the page does.
            free = max(wide, frame.right - ROOM_BESIDE_MM - x)
            box = Box(x=x, y=-ROOM_ABOVE_MM - height, width=free, height=height)
            tall = ROOM_ABOVE_MM + height + room_below_mm(self.one.note_lines)
            # Drawn where it stands from the left: its caption goes as far as the page does.
            items = Group(items=self._section(index, box), layer=Layer.SECTION)
            block = Block(items=shifted((items,), -frame.x, 0.0), height=tall + 6.0)
            at = pages.put(block, pages.fitting(tall, at))
        return pages.made(width=paper.width, height=paper.height, title="Sections")

    def _with_moved(self, pages: list[Page]) -> list[Page]:
        """Pages, and on the last of them, another with room or after them the blocks that found no room on sheet 1."""
        if any(title.lower() in page.title.lower() for page in pages for title in CLOSURE_TITLES):
            # It tells whom to call and what to look at again, in full.
            self.moved = [one for one in self.moved if one.name != "tomorrow"]
        if not self.moved:
            return pages
        # Tried on many pages, level and closer, in the same few widths.
        self.moved = [drawn_once(one) for one in self.moved]
        for at in (len(pages), *range(2, len(pages))):
            if at and (at == len(pages) or not pages[at - 1].maps):
                found = self._moved_under(pages[:at], self.moved)
                if len(found) == at:
                    return [*found, *pages[at:]]
        return self._moved_apart(pages)

    def _moved_apart(self, pages: list[Page]) -> list[Page]:
        """Pages with such blocks: those at the end of them that the last page has room for, or all on paper as sheet 1 is.

        Else, where neither saves a page, as they follow each other.
        """
        found = [self._moved_under(pages, self.moved), [*pages, *self._moved_under([], self.moved)]]
        for count in range(1, len(self.moved)):
            under_last = self._moved_under(pages, self.moved[-count:])
            if len(under_last) == len(pages):
                found.append([*under_last, *self._moved_under([], self.moved[:-count])])
        return min(found, key=len)

    def _moved_under(self, pages: list[Page], moved: Sequence[Panel]) -> list[Page]:
        """Pages with blocks that found no room on sheet 1, under the last or on a page more."""
        paper = self.one.paper
        if pages:
            paper = Paper(name=paper.name, width=pages[-1].width_mm, height=pages[-1].height_mm)
        frame = self._frame(paper)
        draw = partial(legend_pages, moved, paper=paper, gap=self.template.gap, on_one=True)
        alone = partial(self._moved_alone, tuple(moved), paper)
        placed = (
            under(pages, draw, frame, least_mm=0.0, alone=alone, air_mm=air)
            for air in (UNDER_MM, CLOSE_UNDER_MM)
        )
        usual = next(placed)
        if len(usual) == len(pages):
            return usual
        return min((usual, next(placed)), key=len)

    def _moved_alone(self, moved: tuple[Panel, ...], paper: Paper, *, frame: Box) -> tuple[Page, ...]:
        """Such blocks on pages of their own, drawn once: they are asked for under each page in turn."""
        key = (tuple(map(id, moved)), paper)
        if key not in self._alone:
            told = moved if {one.name for one in moved} <= IN_FULL.keys() else ()
            heads = (self._head("in full" if told else "legend", frame),)
            # Kept with the blocks: no other may have their numbers.
            self._alone[key] = (
                moved,
                legend_pages(moved, paper=paper, gap=self.template.gap, frame=frame, heads=heads),
            )
        return self._alone[key][1]

    def _head(self, what: str, frame: Box) -> Block:
        """Whose page it is, should it lie apart from sheet 1."""
        return page_head(short_title(self.log), what, width=frame.width, height=_HEAD_MM)


def _with_more_on(told: Mapping[str, int], items: Sequence[Item], *, sheet: int) -> tuple[Item, ...]:
    """Words and panels of a sheet, whose shortened blocks say on which one each is told whole, by its name."""
    found: list[Item] = []
    heading = ""
    for one in items:
        if isinstance(one, Group):
            found.append(replace(one, items=_with_more_on(told, one.items, sheet=sheet)))
        elif isinstance(one, Text) and one.text == MORE_UNPRINTED and heading.lower() in told:
            found.append(replace(one, text=f"more on sheet {told[heading.lower()]}"))
        elif isinstance(one, Text) and MORE_OF_SECTION in one.text and "sections" in told:
            at = told["sections"]
            where = "below" if at == sheet else f"on{NO_BREAK}sheet{NO_BREAK}{at}"
            found.append(replace(one, text=one.text.replace(MORE_OF_SECTION, f"More{NO_BREAK}{where}.")))
        else:
            found.append(one)
        heading = one.text if isinstance(one, Text) else heading
    return tuple(found)


def _tells_hazards(page: Page) -> bool:
    """Whether every hazard stands on it in full."""
    return any(isinstance(one, Text) and one.text == HAZARDS_WHOLE for one in page.items)


def _paper_of(frame: Box) -> Paper:
    return Paper(name="", width=frame.width, height=frame.height)


def reduced(
    draw: Callable[[Box], Sequence[Page]], width: float, height: float, grown: float
) -> tuple[Item, ...] | None:
    """What is drawn for a frame from 0, 0 on one page, smaller where it has no room: one stands near to read tables.

    None where it fits only smaller than on a page in the hand.
    """
    for by in _REDUCED:
        if by * grown < 1.0:
            break
        if width / by < _LEAST_WIDE_MM:
            continue
        pages = draw(Box(x=0.0, y=0.0, width=width / by, height=height / by))
        if len(pages) == 1 and lowest(pages[0].items) >= -_SAME_MM:
            return enlarged_items(pages[0].items, by)
        if len(pages) > _FAR_TOO_MANY:
            break
    return None


_LEAST_WIDE_MM = 180.0
"""In less the columns of all tables would be cut."""
_REDUCED = (1.0, 0.85, 0.7, 0.6, 0.5)
_FAR_TOO_MANY = 20
"""So many pages fit none at half the size, which holds four of them."""
_REPORTS = frozenset({"structure", "closure"})
"""Blocks that have a page of their own in the report."""
_STRIP_LINES = {Strip.WHOLE: MOST_LINES, Strip.SHORT: 2, Strip.BRIEF: 0}
_TELL_CALLS = frozenset({"tomorrow", "emergency"})
WHOLE = "on sheet 2"
"""Where the foot of a page tells whole what the strip on sheet 1 cuts of an emergency."""
_HEAD_MM = 8.0
_WORTH_A_PAGE = 1.5
"""A map of the whole on a page of its own is larger than that of sheet 1 by this at least."""
_SAME_MM = 0.01
_LEGEND = "the legend"
"""Where a template without tables, whose signs stand on a later page, lists what its map has no room for."""
_TABLES_MM = 150.0
_FEW_PAGES = 3
"""Of more pages of tables than these, one saved is not worth turning them."""
_TAILS_MM = 0.6
"""What the letters of the foot line reach below its base."""
_BAND_MM = 130.0
"""A placed title wider than this has its words side by side, and one that is too low for all of them too."""
_TITLE_AIR_MM = 2.4
"""What a title leaves free at its foot."""
