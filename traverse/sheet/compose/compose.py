"""Puts a log's results on pages: the map sheet, then tables, then the closure report."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import cache, partial

from traverse.diagnostic import Diagnostic, Outcome, note, warning
from traverse.ground.records import SectionCut, Traverse
from traverse.sheet.compose.arrangement import Layout, Yielding, lay_out
from traverse.sheet.compose.following import LEAST_REPORT_MM, legend_pages, under
from traverse.sheet.compose.placing import place
from traverse.sheet.compose.tiles import index_of, lay_tiles, tile_pages
from traverse.sheet.compose.undrawn import undrawn
from traverse.sheet.legend.blocks import (
    hazards_whole,
)
from traverse.sheet.legend.foot import foot_line
from traverse.sheet.legend.panels import (
    closure_panel,
    hazards_panel,
    limits_panel,
    signs_panel,
    structure_panel,
    units_panel,
)
from traverse.sheet.legend.title import title_block
from traverse.sheet.map.framing import Framing
from traverse.sheet.map.map import MapDrawing, has_map, map_panel
from traverse.sheet.map.map_signs import signs_expected
from traverse.sheet.paper.block import page_head
from traverse.sheet.paper.document import Document
from traverse.sheet.paper.filling import FilledTo, Pages
from traverse.sheet.paper.fitting import BESIDE, UPRIGHT, fit
from traverse.sheet.paper.layers import Layer
from traverse.sheet.paper.look import drawn_with
from traverse.sheet.paper.page import Block, Box, Group, Item, Page, shifted
from traverse.sheet.paper.panel import Panel
from traverse.sheet.paper.style import UnitStyle
from traverse.sheet.paper.upright import upright_columns, upright_height
from traverse.sheet.paper.window import scale_strip
from traverse.sheet.paper.words import dates, number, plain
from traverse.sheet.report.closure_report import closure_pages
from traverse.sheet.report.structure_page import structure_pages
from traverse.sheet.said.sentences import short_title
from traverse.sheet.said.stops import units_on_sheet
from traverse.sheet.section.strip import (
    ROOM_ABOVE_MM,
    ROOM_BELOW_MM,
    ROOM_BESIDE_MM,
    section_panel,
    section_signs,
    wanted_height_mm,
)
from traverse.sheet.signs.colour import check_colours, unit_styles
from traverse.sheet.signs.signs_page import signs_pages
from traverse.sheet.tables.data_tables import table_pages
from traverse.sheet.template.own_look import look_of
from traverse.sheet.template.papers import papers_for
from traverse.sheet.template.reading import Paper, Template
from traverse.sheet.template.settings import PAGES


def compose(
    trav: Traverse,
    diagnostics: tuple[Diagnostic, ...],
    *,
    template: Template,
    mark: str,
) -> Outcome[Document]:
    """All pages of a log's sheet.

    `mark` names the text that the sheet was made from; it stands in the foot of every page. What could not be drawn
    as asked, or found no room, is said in the messages.
    """
    return Composer(trav, diagnostics, template, mark).compose()


class Composer:
    """One sheet while it is put together; a kind of sheet overrides what differs on it."""

    kind = "key"
    fills = "colour"
    """What the units are filled with, in words."""

    def __init__(
        self,
        trav: Traverse,
        diagnostics: tuple[Diagnostic, ...],
        template: Template,
        mark: str,
    ) -> None:
        hidden = not template.panels and "section" not in template.show
        self.trav = trav
        if hidden:
            geology, ground = replace(trav.geology, sections=()), replace(trav.ground, cuts=())
            self.trav = replace(trav, geology=geology, ground=ground)
        self.log, self.survey, self.geology = self.trav.log, self.trav.survey, self.trav.geology
        self.diagnostics = diagnostics
        self.template = template
        self.look = look_of(template)
        self.mark = mark
        self.half_m: float | None = None
        self.map_left: float | None = None
        """Left edge of a map beside a column: the foot line below it begins there too."""
        self.styles: Mapping[str, UnitStyle] = unit_styles(trav.log.units)
        self.said: list[Diagnostic] = list(check_colours(units_on_sheet(trav.log, trav.geology), self.styles))

    def compose(self) -> Outcome[Document]:
        """All pages, and what was said on the way."""
        with drawn_with(self.look):
            return self._composed()

    def _composed(self) -> Outcome[Document]:
        pages, paper = self._beginning()
        pages += [*self.maps, *self._moved(paper, [*self._sections(paper)]), *self._further(paper)]
        if not pages:
            # A template that leaves out all that there is still makes a sheet that says whose it is.
            pages = [self._without_map(paper)]
        footed = tuple(
            replace(page, items=(*page.items, *self._foot(page, number, len(pages))))
            for number, page in enumerate(pages, start=1)
        )
        self.said += undrawn(footed)
        return Outcome(replace(self._document(footed), look=self.look), tuple(self.said))

    def _foot(self, page: Page, number: int, pages: int) -> tuple[Item, ...]:
        margin = self.template.margin
        return foot_line(
            self.log,
            self.survey,
            left=self.map_left if number == 1 and self.map_left is not None else margin,
            right=page.width_mm - margin,
            y=margin + _TAILS_MM,
            aside=f"log {self.mark} · sheet {number} of {pages}",
        )

    def _document(self, pages: tuple[Page, ...]) -> Document:
        """The pages, and what the file says of them."""
        days = dates(day.date for day in self.log.heading.days)
        return Document(
            pages=pages,
            title=plain(self.log.heading.title or "") or "Traverse",
            authors=tuple(plain(person.name or person.initials) for person in self.log.heading.party),
            subject=f"Traverse sheet, {days}" if days else "Traverse sheet",
        )

    def _further(self, paper: Paper) -> list[Page]:
        """Tables, structure and report."""
        shown = self.template.show
        width, height = paper.width, paper.height
        frame, wanted = self._frame(paper), "structure" in self.cut
        lying = self._for_tables(paper)
        pages: list[Page] = []
        turned: list[Page] = []
        if "tables" in shown:
            tables = turned if lying is not paper else pages
            tables += table_pages(
                self.trav,
                self.diagnostics,
                frame=self._frame(lying),
                width=lying.width,
                height=lying.height,
            )
        reports: list[Callable[..., tuple[Page, ...]]] = []
        if "report" in shown or wanted:
            reports.append(partial(structure_pages, self.trav, wanted=wanted))
        if "report" in shown:
            reports.append(partial(closure_pages, self.trav, self.diagnostics))
        for report in reports:
            pages = under(pages, partial(report, width=width, height=height), frame, least_mm=LEAST_REPORT_MM)
        if "reference" in shown:
            pages += signs_pages(width=width, height=height, frame=frame)
        return [*turned, *pages]

    def _for_tables(self, paper: Paper) -> Paper:
        """The paper, or turned where its short side is too narrow for the columns of the stations."""
        if self._frame(paper).width >= _TABLES_MM or paper.landscape:
            return paper
        return Paper(name=paper.name, width=paper.height, height=paper.width)

    def _beginning(self) -> tuple[list[Page], Paper]:
        """Sheet 1, where the template has one, and its paper."""
        self.moved: list[Panel] = []
        self.cut: set[str] = set()
        self.maps: tuple[Page, ...] = ()
        if self.template.panels:
            page, paper = self._placed()
            return [page], paper
        papers = self._papers()
        if not self.template.show - {*PAGES}:
            return [], papers[0]
        page, paper = self._first(papers)
        return [page], paper

    # --- paper ----------------------------------------------------------------------------------------------

    def _papers(self) -> tuple[Paper, ...]:
        """The papers that sheet 1 may be made on."""
        found = papers_for(self.log.heading.sheet, self.template, scale_on=self._scale_on)
        self.said += found.diagnostics
        return found.value

    def _scale_on(self, papers: tuple[Paper, ...]) -> int | None:
        return self._lay_out(papers).scale if has_map(self.survey) else None

    def _frame(self, paper: Paper) -> Box:
        """What tables and report may use of a page."""
        margin, base = self.template.margin, self.template.margin + self.template.foot
        return Box(x=margin, y=base, width=paper.width - 2 * margin, height=paper.height - margin - base)

    # --- sheet 1 --------------------------------------------------------------------------------------------

    def _first(self, papers: tuple[Paper, ...]) -> tuple[Page, Paper]:
        if not self._mapped():
            return self._without_map(papers[-1]), papers[-1]
        layout = self._lay_out(papers)
        index = self._tiled(layout.paper, layout.scale, layout.framing)
        if not index:
            self._tell_scale(layout)
        self.scale = layout.scale
        self.map_left = layout.map.x if layout.paper.landscape else None
        drawing = self._map(layout.map, layout.framing, index)
        items: list[Item] = [Group(items=drawing.items, layer=Layer.MAP)]
        items += self._strip(x=layout.map.x, top=layout.strip_top, width=layout.map.width)
        if layout.section is not None:
            panel = self._section(self.trav.ground.cuts[0], layout.section)
            items.append(Group(items=panel, layer=Layer.SECTION))
        items += self._blocks(layout, drawing)
        return Page(
            width_mm=layout.paper.width,
            height_mm=layout.paper.height,
            items=tuple(items),
            title="Map and section",
        ), layout.paper

    def _strip(self, *, x: float, top: float, width: float) -> tuple[Item, ...]:
        """What stands below the map to measure it by."""
        return scale_strip(self.scale, x=x, top=top, width=width)

    def _over(self, framing: Framing) -> tuple[Item, ...]:  # noqa: ARG002 a handout asks where the ground lies
        """What comes over the map, to plot by."""
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
        )
        self.said += drawing.diagnostics
        above = ((Layer.GRID, over), (Layer.INDEX, index))
        groups = [Group(items=tuple(items), layer=layer) for layer, items in above if items]
        return replace(drawing, items=(*drawing.items, *groups))

    def _tiled(self, paper: Paper, scale: int, framing: Framing) -> tuple[Item, ...]:
        """The map on sheets of its own where the scale asked for is too large for one; their index for sheet 1.

        None where it is not, or where they would be too many.
        """
        asked = self.log.heading.sheet
        if asked.scale is None or scale == asked.scale:
            return ()
        tiles = lay_tiles(self.trav, frame=self._frame(paper), scale=asked.scale)
        if not tiles:
            return ()
        maps = tile_pages(
            tiles,
            self.trav,
            width=paper.width,
            height=paper.height,
            styles=self.styles,
        )
        self.maps = maps.value
        self.said += maps.diagnostics
        self.said.append(
            note(
                "several-maps",
                f"the walk does not fit {paper.name} at 1:{number(asked.scale)}: {len(tiles)} maps follow sheet 1,"
                f" which is their index at 1:{number(scale)}",
                asked.span,
            )
        )
        return index_of(tiles, framing)

    def first_layout(self) -> Layout | None:
        """How sheet 1 is laid out; None where its template places the panels, or has no map."""
        if self.template.panels or not self._mapped():
            return None
        with drawn_with(self.look):
            return self._lay_out(self._papers())

    def _mapped(self) -> bool:
        return has_map(self.survey) and "map" in self.template.show

    def _lay_out(self, papers: tuple[Paper, ...], *, scale: int | None = None) -> Layout:
        title_height = self._shown_title(width=papers[-1].width, band=True).height
        expected = (*signs_expected(self.trav), *self._section_signs())
        return lay_out(
            self.trav,
            template=self.template,
            papers=papers,
            title_height=title_height,
            blocks_height=cache(partial(self._blocks_height, expected)),
            asked=self.log.heading.sheet.scale if scale is None else scale,
        )

    def _placed(self) -> tuple[Page, Paper]:
        """Sheet 1 with its panels where the template puts them; the page is the template's own."""
        template = self.template
        assert template.page is not None
        paper = Paper(name="the page of this template", width=template.page[0], height=template.page[1])
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
        if has_map(self.survey):
            placing = place(self.trav, template=template)
            self.scale = placing.scale
            index: tuple[Item, ...] = ()
            if placing.map is not None and placing.framing is not None:
                index = self._tiled(paper, placing.scale, placing.framing)
                drawing = self._map(placing.map, placing.framing, index)
                signs = drawing.signs
                items.append(Group(items=drawing.items, layer=Layer.MAP))
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
                panel = self._section(self.trav.ground.cuts[0], placing.section)
                items.append(Group(items=panel, layer=Layer.SECTION))
                signs = (*signs, *self._section_signs())
        title = template.panels.get("title")
        if title is not None:
            block = self._title(width=title.width, band=False)
            if title.width > _BAND_MM or block.height > title.height + _TITLE_AIR_MM:
                block = self._title(width=title.width, band=True)
            items += block.at(title.x, title.top)
        for one in self._panels(signs, Yielding()):
            box = template.panels.get(one.name)
            if box is not None:
                items += self._column([one], box)
        page = Page(width_mm=paper.width, height_mm=paper.height, items=tuple(items), title="Sheet")
        return page, paper

    def _told_smaller(self, scale: int, where: str, hint: str) -> None:
        asked = self.log.heading.sheet
        assert asked.scale is not None
        self.said.append(
            warning(
                "scale-too-large",
                f"the walk does not fit {where} at 1:{number(asked.scale)};"
                f" the sheet is made at 1:{number(scale)}",
                asked.span,
                hint,
            )
        )

    def _tell_scale(self, layout: Layout) -> None:
        asked = self.log.heading.sheet
        if asked.scale is not None and layout.scale != asked.scale:
            self._told_smaller(
                layout.scale,
                layout.paper.name,
                "take a larger paper, such as `paper A3`, or a smaller scale",
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

    def _section_signs(self) -> tuple[str, ...]:
        return tuple(name for section in self.geology.sections for name in section_signs(section))

    def _title(self, *, width: float, band: bool) -> Block:
        return title_block(self.trav, width=width, band=band, kind=self.kind)

    def _shown_title(self, *, width: float, band: bool) -> Block:
        if "title" not in self.template.show:
            return Block(items=(), height=0.0)
        return self._title(width=width, band=band)

    def _shown(self, signs: tuple[str, ...], yielding: Yielding) -> list[Panel]:
        """Blocks of words that the template wants, where it leaves placing to the sheet."""
        return [one for one in self._panels(signs, yielding) if one.name in self.template.show]

    def _section(self, opened: SectionCut, box: Box) -> tuple[Item, ...]:
        return section_panel(
            opened,
            self.trav,
            box=box,
            scale=self.scale,
            styles=self.styles,
            fills=self.fills,
        )

    def _panels(self, signs: tuple[str, ...], yielding: Yielding) -> list[Panel]:
        return [
            units_panel(self.trav, styles=self.styles, short=yielding.short_units),
            signs_panel(signs, self.trav, half_m=self.half_m, tight=yielding.tight_signs),
            structure_panel(self.geology),
            closure_panel(self.trav),
            limits_panel(self.trav, reported=self._reported()),
        ]

    def _reported(self) -> bool:
        """Whether a closure page tells every hazard in full."""
        return "report" in self.template.show

    def _blocks(self, layout: Layout, drawing: MapDrawing) -> list[Item]:
        """Title and blocks, in the column beside the map or the columns below it."""
        signs = (*drawing.signs, *self._section_signs())
        panels = self._shown(signs, layout.yielding)
        title = self._shown_title(width=layout.title.width, band=not layout.paper.landscape)
        items: list[Item] = list(title.at(layout.title.x, layout.title.top))
        if layout.paper.landscape:
            column = layout.columns[0]
            items += self._column(panels, replace(column, height=column.height - title.height))
        else:
            widths = tuple(column.width for column in layout.columns)
            columns, _ = upright_columns(panels, widths, short_words=layout.yielding.short_words)
            for column, there in zip(layout.columns, columns, strict=True):
                items += self._column(there, column, UPRIGHT)
        return items

    def _blocks_height(
        self, signs: tuple[str, ...], widths: tuple[float, ...], yielding: Yielding, room: float
    ) -> float:
        panels = self._shown(signs, yielding)
        return upright_height(panels, widths, short_words=yielding.short_words, room=room)

    def _column(self, panels: list[Panel], column: Box, order: tuple[str, ...] = BESIDE) -> tuple[Item, ...]:
        """Panels one below the other; what found no room is kept for later pages."""
        fitted = fit(panels, column, order, pages=_REPORTS if self._reported() else frozenset())
        self.moved += [one for one in fitted.moved if not (self._reported() and one.name in _REPORTS)]
        self.cut |= fitted.shortened | {one.name for one in fitted.moved}
        if not self._reported() and any(one.name == "limits" for one in panels):
            whole = hazards_whole(self.trav, width=column.width)
            if "limits" in fitted.shortened or not whole:
                self.moved.append(hazards_panel(self.trav))
        return fitted.items

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

    def _sections(self, paper: Paper) -> tuple[Page, ...]:
        """Sections after the first, at the map's scale, as many to a page as stand below each other."""
        frame = self._frame(paper)
        pages, at = Pages.of(frame, heads=(self._head("sections", frame),)), FilledTo()
        for opened in self.trav.ground.cuts[1:]:
            section = opened.section
            height = wanted_height_mm(section, self.trav, scale=self.scale)
            height = min(height, pages.room(FilledTo()) - ROOM_ABOVE_MM - ROOM_BELOW_MM - 4.0)
            wide = section.length_m * 1000.0 / self.scale
            box = Box(
                x=frame.x + max(ROOM_BESIDE_MM, (frame.width - wide) / 2),
                y=-ROOM_ABOVE_MM - height,
                width=wide,
                height=height,
            )
            tall = ROOM_ABOVE_MM + height + ROOM_BELOW_MM
            # Drawn where it stands from the left: its caption goes as far as the page does.
            items = shifted(self._section(opened, box), -frame.x, 0.0)
            block = Block(items=items, height=tall + 6.0)
            at = pages.put(block, pages.fitting(tall, at))
        return pages.made(width=paper.width, height=paper.height, title="Sections")

    def _moved(self, paper: Paper, before: list[Page]) -> list[Page]:
        """Pages, and on them or after them the blocks that found no room on sheet 1."""
        if not self.moved:
            return before
        frame = self._frame(paper)
        draw = partial(legend_pages, self.moved, paper=paper, gap=self.template.gap)
        alone = partial(draw, heads=(self._head("legend", frame),))
        return under(before, draw, frame, least_mm=0.0, alone=alone)

    def _head(self, what: str, frame: Box) -> Block:
        """Whose page it is, should it lie apart from sheet 1."""
        return page_head(f"{short_title(self.log)}: {what}", width=frame.width, height=_HEAD_MM)


_REPORTS = frozenset({"structure", "closure"})
"""Blocks that have a page of their own in the report."""
_HEAD_MM = 8.0
_TABLES_MM = 150.0
_TAILS_MM = 0.6
"""What the letters of the foot line reach below its base."""
_BAND_MM = 130.0
"""A placed title wider than this has its words side by side, and one that is too low for all of them too."""
_TITLE_AIR_MM = 2.4
"""What a title leaves free at its foot."""
