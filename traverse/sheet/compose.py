"""Puts a log's results on pages: the map sheet, then tables, then the closure report."""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from functools import partial

from traverse.diagnostic import Diagnostic, Outcome, note, warning
from traverse.location.records import Survey
from traverse.log.records import Convention, Log, North
from traverse.record import record
from traverse.sheet.blocks import closure_block, limits_block, structure_block, structure_lines
from traverse.sheet.closure import closure_pages
from traverse.sheet.colour import check_colours, unit_styles
from traverse.sheet.fonts import choose, missing, width_mm
from traverse.sheet.framing import Framing
from traverse.sheet.layout import Layout, Paper, Yielding, lay_out
from traverse.sheet.legend import SIGN_PITCH_MM, TIGHT_SIGN_PITCH_MM, signs_block, units_block
from traverse.sheet.map import NOT_ADJUSTED, MapDrawing, has_map, map_panel, signs_expected
from traverse.sheet.page import Anchor, Block, Box, Document, Face, Group, Item, Page, Text
from traverse.sheet.placed import place
from traverse.sheet.scale import scale_strip
from traverse.sheet.sentences import closure_lines
from traverse.sheet.stops import units_on_sheet
from traverse.sheet.strip import (
    ROOM_ABOVE_MM,
    ROOM_BELOW_MM,
    ROOM_BESIDE_MM,
    section_panel,
    section_signs,
    wanted_height_mm,
)
from traverse.sheet.structure_page import structure_pages
from traverse.sheet.style import LARGE, SMALL, UnitStyle, line_mm
from traverse.sheet.tables import table_pages
from traverse.sheet.template import PAGES, Template
from traverse.sheet.tiles import index_of, lay_tiles, tile_pages
from traverse.sheet.title import title_block
from traverse.sheet.words import cut, dates, listing, number, plain
from traverse.structure.records import Geology, Section


def compose(
    log: Log,
    survey: Survey,
    geology: Geology,
    diagnostics: tuple[Diagnostic, ...],
    *,
    template: Template,
    mark: str,
) -> Outcome[Document]:
    """All pages of a log's sheet.

    `mark` names the text that the sheet was made from; it stands in the foot of every page. What could not be drawn
    as asked, or found no room, is said in the messages.
    """
    return Composer(log, survey, geology, diagnostics, template, mark).compose()


_SHORTEN = ("signs", "units", "structure", "closure")
"""What is shortened to make room, in this order."""
_SHORTEN_UPRIGHT = ("signs", "structure", "units", "closure")
"""The same in narrow columns, where units on one line would lose their ages."""


@record(frozen=True, kw_only=True)
class Panel:
    """A block of sheet 1: how to draw it, and whether it may move to a page of its own."""

    name: str
    draw: Callable[[float, float, float], Block | None]
    """From x, top and width."""
    shorter: tuple[Callable[[float, float, float], Block | None], ...] = ()
    """The same in fewer lines, the longest first."""
    part: Callable[[int, int, float, float, float], Block | None] | None = None
    """From a row to another: a list that may be longer than a page. None for what never is."""
    rows: int = 0


class Composer:
    """One sheet while it is put together; a kind of sheet overrides what differs on it."""

    kind = "key"

    def __init__(
        self,
        log: Log,
        survey: Survey,
        geology: Geology,
        diagnostics: tuple[Diagnostic, ...],
        template: Template,
        mark: str,
    ) -> None:
        self.log = log
        self.survey = survey
        hidden = not template.panels and "section" not in template.show
        self.geology = replace(geology, sections=()) if hidden else geology
        self.diagnostics = diagnostics
        self.template = template
        self.mark = mark
        self.half_m: float | None = None
        self.styles: Mapping[str, UnitStyle] = unit_styles(log.units)
        self.said: list[Diagnostic] = list(check_colours(units_on_sheet(log, geology), self.styles))

    def compose(self) -> Outcome[Document]:
        """All pages, and what was said on the way."""
        choose(self.template.fonts)
        pages, paper = self._beginning()
        pages += [*self.maps, *self._sections(paper), *self._moved(paper), *self._further(paper)]
        if not pages:
            # A template that leaves out all that there is still makes a sheet that says whose it is.
            pages = [self._without_map(paper)]
        footed = tuple(
            replace(page, items=(*page.items, *self._foot(paper, number, len(pages))))
            for number, page in enumerate(pages, start=1)
        )
        self.said += self._undrawn(footed)
        return Outcome(self._document(footed), tuple(self.said))

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
        log, survey, geology, shown = self.log, self.survey, self.geology, self.template.show
        width, height, frame = paper.width, paper.height, self._frame(paper)
        pages: list[Page] = []
        if "tables" in shown:
            pages += table_pages(
                log, survey, geology, self.diagnostics, width=width, height=height, frame=frame
            )
        wanted = "structure" in self.cut
        if "report" in shown or wanted:
            pages += structure_pages(
                log, survey, geology, width=width, height=height, frame=frame, wanted=wanted
            )
        if "report" in shown:
            pages += closure_pages(
                log, survey, geology, self.diagnostics, width=width, height=height, frame=frame
            )
        return pages

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
        """The paper as asked; both ways of turning it where the log leaves that open."""
        asked = self.log.heading.sheet
        name = self.template.paper
        if asked.paper is not None:
            known = self.template.paper_named(asked.paper)
            if known is None:
                self.said.append(
                    warning(
                        "unknown-paper",
                        f"no paper {asked.paper} in this template; the sheet is made on {name}",
                        asked.span,
                        f"it has {', '.join(self.template.papers)}",
                    )
                )
            name = known or name
        width, height = self.template.papers[name]
        if name in self.template.rolls:
            return self._cut(name, width, height)
        lying = Paper(name=name, width=height, height=width)
        standing = Paper(name=name, width=width, height=height)
        if asked.landscape is None:
            return (lying, standing)
        return (lying,) if asked.landscape else (standing,)

    def _cut(self, name: str, width: float, longest: float) -> tuple[Paper, ...]:
        """A roll, cut as short as the asked scale allows; to the shape of other papers where none is asked."""
        asked = self.log.heading.sheet.scale

        def cut(length: float) -> tuple[Paper, ...]:
            return (Paper(name=name, width=max(length, width * _LEAST_CUT), height=width),)

        if asked is None or not has_map(self.survey) or self._lay_out(cut(longest)).scale != asked:
            return cut(min(width * math.sqrt(2.0), longest))
        short, long = width * _LEAST_CUT, longest
        while long - short > _CUT_STEP_MM:
            middle = (short + long) / 2.0
            if self._lay_out(cut(middle)).scale == asked:
                long = middle
            else:
                short = middle
        return cut(math.ceil(long / _CUT_STEP_MM) * _CUT_STEP_MM)

    def _frame(self, paper: Paper) -> Box:
        """What tables and report may use of a page."""
        margin, base = self.template.margin, self.template.margin + self.template.foot
        return Box(x=margin, y=base, width=paper.width - 2 * margin, height=paper.height - margin - base)

    # --- sheet 1 --------------------------------------------------------------------------------------------

    def _first(self, papers: tuple[Paper, ...]) -> tuple[Page, Paper]:
        if not has_map(self.survey) or "map" not in self.template.show:
            return self._without_map(papers[-1]), papers[-1]
        layout = self._lay_out(papers)
        index = self._tiled(layout)
        self.scale = layout.scale
        drawing = self._map(layout.map, layout.framing)
        items: list[Item] = [Group(items=drawing.items, layer="map"), *index]
        items += scale_strip(layout.scale, x=layout.map.x, top=layout.strip_top, width=layout.map.width)
        if layout.section is not None:
            panel = self._section(self.geology.sections[0], layout.section)
            items.append(Group(items=panel, layer="section"))
        items += self._blocks(layout, drawing)
        return Page(
            width_mm=layout.paper.width,
            height_mm=layout.paper.height,
            items=tuple(items),
            title="Map and section",
        ), layout.paper

    def _map(self, box: Box, framing: Framing) -> MapDrawing:
        """The map of sheet 1 at its scale; what it has to say is kept."""
        self.half_m = framing.half_m
        drawing = map_panel(
            self.log,
            self.survey,
            self.geology,
            box=box,
            scale=self.scale,
            styles=self.styles,
            framing=framing,
        )
        self.said += drawing.diagnostics
        return drawing

    def _tiled(self, layout: Layout) -> tuple[Item, ...]:
        """The map on sheets of its own where the scale asked for is too large for one; their index for sheet 1."""
        asked, paper = self.log.heading.sheet, layout.paper
        if asked.scale is None or layout.scale == asked.scale:
            self._tell_scale(layout)
            return ()
        tiles = lay_tiles(self.log, self.survey, self.geology, frame=self._frame(paper), scale=asked.scale)
        if not tiles:
            self._tell_scale(layout)
            return ()
        self.maps = tile_pages(
            tiles,
            self.log,
            self.survey,
            self.geology,
            width=paper.width,
            height=paper.height,
            styles=self.styles,
        )
        self.said.append(
            note(
                "several-maps",
                f"the walk does not fit {paper.name} at 1:{number(asked.scale)}: {len(tiles)} maps follow sheet 1,"
                f" which is their index at 1:{number(layout.scale)}",
                asked.span,
            )
        )
        return (index_of(tiles, layout.framing.window),)

    def _lay_out(self, papers: tuple[Paper, ...]) -> Layout:
        title_height = self._shown_title(x=0.0, top=0.0, width=papers[-1].width, band=True).height
        expected = (*signs_expected(self.log, self.survey, self.geology), *self._section_signs())
        return lay_out(
            self.log,
            self.survey,
            self.geology,
            template=self.template,
            papers=papers,
            title_height=title_height,
            blocks_height=partial(self._blocks_height, expected),
        )

    def _placed(self) -> tuple[Page, Paper]:
        """Sheet 1 with its panels where the template puts them; the page is the template's own."""
        template = self.template
        assert template.page is not None
        paper = Paper(name="page", width=template.page[0], height=template.page[1])
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
            placing = place(self.log, self.survey, self.geology, template=template)
            self.scale = placing.scale
            if asked.scale is not None and placing.scale != asked.scale:
                self._told_smaller(placing.scale, "the panels of this template")
            if placing.map is not None and placing.framing is not None:
                drawing = self._map(placing.map, placing.framing)
                signs = drawing.signs
                items.append(Group(items=drawing.items, layer="map"))
            strip = template.panels.get("scale")
            if strip is not None:
                items += scale_strip(placing.scale, x=strip.x, top=strip.top, width=strip.width)
            if placing.section is not None:
                panel = self._section(self.geology.sections[0], placing.section)
                items.append(Group(items=panel, layer="section"))
                signs = (*signs, *self._section_signs())
        title = template.panels.get("title")
        if title is not None:
            band = title.width > _BAND_MM
            items += self._title(x=title.x, top=title.top, width=title.width, band=band).items
        for one in self._panels(signs, Yielding()):
            box = template.panels.get(one.name)
            if box is not None:
                items += self._column([one], box)
        page = Page(width_mm=paper.width, height_mm=paper.height, items=tuple(items), title="Sheet")
        return page, paper

    def _told_smaller(self, scale: int, where: str) -> None:
        asked = self.log.heading.sheet
        assert asked.scale is not None
        self.said.append(
            warning(
                "scale-too-large",
                f"the walk does not fit {where} at 1:{number(asked.scale)};"
                f" the sheet is made at 1:{number(scale)}",
                asked.span,
                "take a larger paper, such as `paper A3`, or a smaller scale",
            )
        )

    def _tell_scale(self, layout: Layout) -> None:
        asked = self.log.heading.sheet
        if asked.scale is not None and layout.scale != asked.scale:
            self._told_smaller(layout.scale, layout.paper.name)
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

    def _title(self, *, x: float, top: float, width: float, band: bool) -> Block:
        return title_block(
            self.log, self.survey, self.geology, x=x, top=top, width=width, band=band, kind=self.kind
        )

    def _shown_title(self, *, x: float, top: float, width: float, band: bool) -> Block:
        if "title" not in self.template.show:
            return Block(items=(), height=0.0)
        return self._title(x=x, top=top, width=width, band=band)

    def _shown(self, signs: tuple[str, ...], yielding: Yielding) -> list[Panel]:
        """Blocks of words that the template wants, where it leaves placing to the sheet."""
        return [one for one in self._panels(signs, yielding) if one.name in self.template.show]

    def _section(self, section: Section, box: Box) -> tuple[Item, ...]:
        return section_panel(
            section, self.log, self.survey, self.geology, box=box, scale=self.scale, styles=self.styles
        )

    def _panels(self, signs: tuple[str, ...], yielding: Yielding) -> list[Panel]:
        log, survey, geology = self.log, self.survey, self.geology

        listed_units = units_on_sheet(log, geology)

        def some_units(first: int, end: int, x: float, top: float, width: float) -> Block | None:
            return units_block(
                log,
                survey,
                geology,
                x=x,
                top=top,
                width=width,
                styles=self.styles,
                units=listed_units[first:end],
            )

        def units(x: float, top: float, width: float, *, short: bool = yielding.short_units) -> Block | None:
            return units_block(
                log, survey, geology, x=x, top=top, width=width, styles=self.styles, short=short
            )

        def listed(x: float, top: float, width: float, *, tight: bool = yielding.tight_signs) -> Block | None:
            pitch = TIGHT_SIGN_PITCH_MM if tight else SIGN_PITCH_MM
            return signs_block(
                signs, log, survey, geology, x=x, top=top, width=width, pitch=pitch, half_m=self.half_m
            )

        def structure(x: float, top: float, width: float, *, keep: int | None = None) -> Block | None:
            return structure_block(log, survey, geology, x=x, top=top, width=width, keep=keep)

        def closure(x: float, top: float, width: float, *, keep: int | None = None) -> Block | None:
            return closure_block(log, survey, geology, x=x, top=top, width=width, keep=keep)

        def limits(x: float, top: float, width: float) -> Block | None:
            return limits_block(log, survey, geology, x=x, top=top, width=width)

        return [
            Panel(
                name="units",
                draw=units,
                shorter=(partial(units, short=True),),
                part=some_units,
                rows=len(listed_units),
            ),
            Panel(name="signs", draw=listed, shorter=(partial(listed, tight=True),)),
            Panel(
                name="structure",
                draw=structure,
                shorter=tuple(
                    partial(structure, keep=keep) for keep in reversed(range(len(structure_lines(geology))))
                ),
            ),
            Panel(
                name="closure",
                draw=closure,
                shorter=tuple(
                    partial(closure, keep=keep) for keep in reversed(range(1, len(closure_lines(survey))))
                ),
            ),
            Panel(name="limits", draw=limits),
        ]

    def _blocks(self, layout: Layout, drawing: MapDrawing) -> list[Item]:
        """Title and blocks, in the column beside the map or the columns below it."""
        signs = (*drawing.signs, *self._section_signs())
        panels = self._shown(signs, layout.yielding)
        title = self._shown_title(
            x=layout.title.x,
            top=layout.title.top,
            width=layout.title.width,
            band=not layout.paper.landscape,
        )
        items = list(title.items)
        if layout.paper.landscape:
            column = layout.columns[0]
            items += self._column(panels, replace(column, height=column.height - title.height))
        else:
            for column, names in zip(layout.columns, _PORTRAIT, strict=True):
                items += self._column([one for one in panels if one.name in names], column, _SHORTEN_UPRIGHT)
        return items

    def _blocks_height(self, signs: tuple[str, ...], widths: tuple[float, ...], yielding: Yielding) -> float:
        """Height of the highest of the columns under the map, where the page can spare it."""
        panels = self._shown(signs, yielding)
        highest = 0.0
        for width, names in zip(widths, _PORTRAIT, strict=True):
            there = [one for one in panels if one.name in names]
            forms = [one.draw for one in there]
            if yielding.short_words:
                # One sentence stays.
                forms = [
                    one.shorter[-2:][0] if one.name == "structure" and one.shorter else one.draw
                    for one in there
                ]
            drawn = [form(0.0, 0.0, width) for form in forms]
            highest = max(highest, sum(block.height for block in drawn if block is not None))
        return min(highest, _MOST_BLOCKS_MM)

    def _column(self, panels: list[Panel], column: Box, order: tuple[str, ...] = _SHORTEN) -> list[Item]:
        """Panels one below the other; what does not fit gives way or moves to a page of its own."""
        x, width = column.x, column.width
        forms = {one.name: one.draw for one in panels}
        kept = list(panels)
        room = column.height + 1e-6

        def used() -> float:
            drawn = (forms[one.name](x, 0.0, width) for one in kept)
            return sum(block.height for block in drawn if block is not None)

        for panel in (one for name in order for one in panels if one.name == name):
            for form in panel.shorter:
                if used() <= room:
                    break
                forms[panel.name] = form
        if used() > room:
            room -= line_mm(SMALL)
        for name in _MOVE:
            if used() <= room:
                break
            kept = [one for one in kept if one.name != name or forms[name](x, 0.0, width) is None]
        for panel in panels:
            # What moved for the sake of a panel that then moved itself comes back.
            if panel not in kept:
                before, kept = kept, [one for one in panels if one in kept or one is panel]
                if used() > room:
                    kept = before
        moved = [one for one in panels if one not in kept]
        self.moved += moved
        self.cut |= {one.name for one in kept if forms[one.name] is not one.draw}
        items: list[Item] = []
        top = column.top
        for panel in kept:
            block = forms[panel.name](x, top, width)
            if block is not None:
                items += block.items
                top -= block.height
        if moved:
            words = cut(
                f"{listing([one.name for one in moved]).capitalize()}: next sheet", Face.ITALIC, SMALL, width
            )
            items.append(Text(at=(x, top - line_mm(SMALL)), text=words, face=Face.ITALIC, size_pt=SMALL))
        return items

    def _without_map(self, paper: Paper) -> Page:
        """A log in which nothing has a place yet: what there is of words."""
        frame = self._frame(paper)
        title = self._shown_title(x=frame.x, top=frame.top, width=frame.width, band=True)
        column = Box(
            x=frame.x, y=frame.y, width=min(frame.width, 110.0), height=frame.height - title.height - 4.0
        )
        items = [*title.items, *self._column(self._shown((), Yielding()), column)]
        return Page(width_mm=paper.width, height_mm=paper.height, items=tuple(items), title="Sheet")

    # --- further pages --------------------------------------------------------------------------------------

    def _sections(self, paper: Paper) -> list[Page]:
        """Sections after the first, at the map's scale, as many to a page as stand below each other."""
        frame = self._frame(paper)
        pages: list[Page] = []
        items: list[Item] = []
        top = frame.top
        for section in self.geology.sections[1:]:
            height = wanted_height_mm(section, self.log, self.geology, scale=self.scale)
            height = min(height, frame.height - ROOM_ABOVE_MM - ROOM_BELOW_MM - 4.0)
            if items and top - height - ROOM_ABOVE_MM - ROOM_BELOW_MM < frame.y:
                pages.append(self._page(paper, items, "Sections"))
                items, top = [], frame.top
            wide = section.length_m * 1000.0 / self.scale
            box = Box(
                x=frame.x + max(ROOM_BESIDE_MM, (frame.width - wide) / 2),
                y=top - ROOM_ABOVE_MM - height,
                width=wide,
                height=height,
            )
            items += self._section(section, box)
            top = box.y - ROOM_BELOW_MM - 6.0
        if items:
            pages.append(self._page(paper, items, "Sections"))
        return pages

    def _moved(self, paper: Paper) -> list[Page]:
        """Blocks that found no room on sheet 1, in columns."""
        if not self.moved:
            return []
        frame = self._frame(paper)
        count = 3 if paper.landscape else 2
        width = (frame.width - (count - 1) * self.template.gap) / count
        pages: list[Page] = []
        items: list[Item] = []
        column, top = 0, frame.top
        for draw in self._pieces(width, frame.height):
            block = draw(0.0, 0.0, width)
            if block is None:
                continue
            if top < frame.top and top - block.height < frame.y:
                column, top = column + 1, frame.top
                if column == count:
                    pages.append(self._page(paper, items, "Legend"))
                    items, column = [], 0
            placed = draw(frame.x + column * (width + self.template.gap), top, width)
            assert placed is not None
            items += placed.items
            top -= placed.height
        pages.append(self._page(paper, items, "Legend"))
        return pages

    def _pieces(self, width: float, height: float) -> Iterable[Callable[[float, float, float], Block | None]]:
        """Moved blocks; a list higher than a page in parts."""
        for panel in self.moved:
            block = panel.draw(0.0, 0.0, width)
            if panel.part is None or block is None or block.height <= height:
                yield panel.draw
                continue
            each = max(1, int((height - 8.0) / (block.height / panel.rows)))
            for start in range(0, panel.rows, each):
                yield partial(panel.part, start, min(start + each, panel.rows))

    def _page(self, paper: Paper, items: list[Item], title: str) -> Page:
        return Page(width_mm=paper.width, height_mm=paper.height, items=tuple(items), title=title)

    # --- foot and messages ----------------------------------------------------------------------------------

    def _foot(self, paper: Paper, page: int, pages: int) -> tuple[Item, ...]:
        """Grid, heights, bearings and attitudes in words; the log's mark; which sheet of how many."""
        margin = self.template.margin
        right = f"log {self.mark} · sheet {page} of {pages}"
        items: list[Item] = [
            Text(at=(paper.width - margin, margin), text=right, anchor=Anchor.END, size_pt=SMALL)
        ]
        end = paper.width - margin - width_mm(right, Face.REGULAR, SMALL) - 4.0
        if not self.survey.adjusted:
            items.append(
                Text(at=(end, margin), text=NOT_ADJUSTED, face=Face.BOLD, size_pt=LARGE, anchor=Anchor.END)
            )
            end -= width_mm(NOT_ADJUSTED, Face.BOLD, LARGE) + 4.0
        forms = [" ".join(one) for one in self._conventions()]
        fitting = (one for one in forms if width_mm(one, Face.REGULAR, SMALL) <= end - margin)
        words = next(fitting, cut(forms[-1], Face.REGULAR, SMALL, end - margin))
        items.append(Text(at=(margin, margin), text=words, size_pt=SMALL))
        return tuple(items)

    def _conventions(self) -> list[list[str]]:
        """Grid, heights, bearings and attitudes in words, and shorter and shorter; none of them is ever left out."""
        frame, first = self.survey.frame, self.log.heading.first
        name = plain(frame.name)
        code = f" (EPSG:{frame.epsg})" if frame.epsg is not None else ""
        local = ", relative to the first station" if frame.local else ""
        grid = [f"Grid: {name}{code}{local}.", f"{name}{code}{local}."]
        grid.append(f"EPSG:{frame.epsg}." if frame.epsg is not None else f"{name}.")
        heights = plain(self.log.heading.heights or "")
        said: list[list[str]] = [grid]
        if heights:
            said.append([f"Heights: {heights}.", f"Heights: {heights.partition(',')[0]}."])
        if first.bearings is North.MAGNETIC and frame.declination_deg is not None:
            sign = "+" if frame.declination_deg >= 0.0 else "−"
            added = f"{sign} {abs(frame.declination_deg):.1f}°."
            said.append([f"Bearings: magnetic {added}", f"Magnetic {added}"])
        elif first.bearings is not None:
            said.append([f"Bearings: {first.bearings.value}."])
        convention = _CONVENTIONS.get(first.convention) if first.convention is not None else None
        if convention is not None:
            said.append([f"Attitudes: {convention[0]}.", f"Attitudes: {convention[1]}."])
        # The name of the grid gives way first, the grid itself last.
        steps = [0] * len(said)
        forms = [[one[step] for one, step in zip(said, steps, strict=True)]]
        for index in (0, *range(len(said) - 1, 0, -1), 0):
            if steps[index] + 1 < len(said[index]):
                steps[index] += 1
                forms.append([one[step] for one, step in zip(said, steps, strict=True)])
        return forms

    def _undrawn(self, pages: tuple[Page, ...]) -> list[Diagnostic]:
        """A warning that names the characters that no font has."""
        found: dict[str, None] = {}
        for text in dict.fromkeys(one for page in pages for one in _texts(page.items)):
            if not text.isascii():
                found.update(dict.fromkeys(missing(text)))
        if not found:
            return []
        shown = ", ".join(
            f"{char} ({unicodedata.name(char, f'U+{ord(char):04X}').lower()})" for char in list(found)[:8]
        )
        more = f" and {len(found) - 8} more" if len(found) > 8 else ""
        return [
            warning(
                "characters-not-in-fonts",
                f"the sheet's fonts lack {shown}{more}; an empty box stands for each",
                None,
                "spell the word in letters that print",
            )
        ]


def _texts(items: Iterable[Item]) -> Iterable[str]:
    for item in items:
        if isinstance(item, Text):
            yield item.text
        elif isinstance(item, Group):
            yield from _texts(item.items)


_PORTRAIT = (("units", "structure"), ("signs",), ("closure", "limits"))
"""Blocks of each column under an upright map."""
_MOVE = ("structure", "closure", "signs", "units")
"""What moves off sheet 1, in this order; hazards and limits never do."""
_MOST_BLOCKS_MM = 110.0
_BAND_MM = 130.0
"""A placed title wider than this has its words side by side."""
_LEAST_CUT = 0.7
"""Shortest piece of a roll over its width."""
_CUT_STEP_MM = 10.0
_CONVENTIONS = {
    Convention.DIP_RIGHT: ("dip to the right of the strike as written", "dip right of strike"),
    Convention.DIP_LEFT: ("dip to the left of the strike as written", "dip left of strike"),
    Convention.DIP_DIRECTION: ("dip direction before dip", "dip direction/dip"),
    Convention.LETTERS: ("strike and dip with the letter of the dip", "strike/dip, letter"),
}
