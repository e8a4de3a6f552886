"""Which panel goes where on sheet 1, and at which scale the map fits it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from enum import Enum
from itertools import accumulate

from shapely.geometry.base import BaseGeometry

from traverse.ground.records import Traverse
from traverse.log.records import Log
from traverse.record import record
from traverse.sheet.map.framing import Framing, extent, frame_map, walks_to_show
from traverse.sheet.map.map_words import note_mm
from traverse.sheet.map.north import HEIGHT_MM
from traverse.sheet.paper.page import Box
from traverse.sheet.paper.upright import ColumnHeights, upright_height
from traverse.sheet.paper.window import STRIP_MM, round_scales
from traverse.sheet.section.strip import (
    ROOM_ABOVE_MM,
    ROOM_BESIDE_MM,
    least_height_mm,
    low_height_mm,
    note_lines,
    room_below_mm,
    wanted_height_mm,
)
from traverse.sheet.template.reading import LEAST_MAP_MM, Paper, Template
from traverse.structure.section.records import Section

_STRIP_GAP_MM = 0.7
_OVER_STRIP_MM = 1.5
"""Air over the strip at the foot."""
_FIGURES_OFF_MM = 1.5
"""Air between the section's right-hand figures and the column."""
_OVER_TABLES_MM = 2.0
_TABLES_MM, _NARROW_TABLES_MM = 182.0, 132.0
"""Column of all tables at the right of a large sheet, and where a narrower one leaves room for a larger map."""
_WIDE_TABLES_MM = (277.0, 230.0)
"""The same where the map leaves room: as on a page across, none of their words is cut."""
TABLES_SHARE = 0.35
"""Of the height of an upright one, what they may take at its foot."""
_LEAST_MAP_MM = 40.0
_LEAST_SECTION_MM = 12.0
_HAIR_MM = 0.01
_SMALL_MM = 180.0
_SMALLEST = 10_000_000
_THREE_COLUMNS_MM = 160.0
_WORTH_A_SHEET = 2
"""How many times smaller the map to hang up may be so that every section stands under it, and nothing on a second sheet."""
_MOST_FOR_HAZARDS = 0.3
"""Of the height of upright paper: columns so high leave none of the hazards to a later sheet, whatever gives way for them."""
_FOR_NORTHS = (0.25, 0.5, 0.75, 1.0)
"""Of the height of their diagram, what a map is higher so that it has a corner for them."""


class Strip(Enum):
    """What the strip at the foot of the sheet says there."""

    WHOLE = "whole"
    SHORT = "places, ways and what to do there"
    BRIEF = "places and ways alone"
    LATER = "on a later sheet"


@record(frozen=True, slots=True, kw_only=True)
class Yielding:
    """What gives way so that the map keeps a larger scale, in this order."""

    short_words: bool = False
    """Under an upright map: what is said of the structure, where the rest of it has a page of its own."""
    short_units: bool = False
    narrow: bool = False
    tight_signs: bool = False
    short_note: bool = False
    """Whether what stands under a section has one line, and says less there."""
    section_share: float = 1.0
    """Of the height that the section wants; 0 for the least."""
    strip: Strip = Strip.WHOLE
    sections: int = 1
    """How many stand on sheet 1."""
    for_blank: bool = True
    """Whether columns under an upright map are as high as those of the handout; else its signs have a later sheet."""
    tables_mm: float = _TABLES_MM
    """Width of the column of all tables at the right of a large sheet; narrow ones are in smaller type."""


_ALL = Yielding(short_words=True, short_units=True, narrow=True, tight_signs=True)
_NOTE_TOO = replace(_ALL, short_note=True)
STEPS = (
    Yielding(),
    Yielding(short_words=True),
    Yielding(short_words=True, short_units=True),
    Yielding(short_words=True, short_units=True, narrow=True),
    _ALL,
    _NOTE_TOO,
    *(
        replace(_NOTE_TOO, section_share=share, strip=strip)
        for share, strip in (
            (0.8, Strip.WHOLE),
            (0.6, Strip.WHOLE),
            (0.8, Strip.SHORT),
            (0.6, Strip.SHORT),
            (0.0, Strip.SHORT),
            (0.0, Strip.BRIEF),
        )
    ),
    replace(_NOTE_TOO, section_share=0.0, strip=Strip.BRIEF, for_blank=False),
    replace(_NOTE_TOO, section_share=0.0, strip=Strip.LATER, for_blank=False),
)
_GIVEN_BACK: tuple[Callable[[Yielding], Yielding], ...] = (
    lambda step: replace(step, tables_mm=max(step.tables_mm, _TABLES_MM)),
    lambda step: replace(step, for_blank=True),
    lambda step: replace(step, strip=Strip.SHORT) if step.strip is Strip.BRIEF else step,
    lambda step: replace(step, narrow=False),
    lambda step: replace(step, short_units=False),
    lambda step: replace(step, short_words=False),
    lambda step: replace(step, tight_signs=False),
    lambda step: replace(step, short_note=False),
)
"""What is taken back of a step where the walk fits without it."""

Words = Callable[[tuple[float, ...], Yielding], tuple[ColumnHeights, ...]]
"""The blocks under an upright map by the widths of their columns: those of each sheet that must have its room there."""
TablesHeight = Callable[[float, float], float | None]
"""Height that all tables take in a column so wide; None where they are higher than the second figure."""
StripHeight = Callable[[float, Strip], float]
"""Height of the strip at the foot of the sheet by its width and what it says; 0 without one."""


@record(frozen=True, slots=True, kw_only=True)
class Layout:
    """Sheet 1."""

    paper: Paper
    yielding: Yielding
    map: Box
    strip_top: float
    section: Box | None
    """Between the axes; as wide as the section is at the scale."""
    hung: bool
    """Whether its first end lies under that end on the map."""
    further: tuple[Box, ...]
    """Of the sections after it, where they stand below it; the rest have pages of their own."""
    columns: tuple[Box, ...]
    """Of the blocks: one at the right, or some below."""
    tables: Box | None
    """All tables, where a large sheet has room for them; else they have pages of their own."""
    tomorrow: Box | None
    """The strip at the foot: beside a column under map and section, else over the width of the page."""
    title: Box
    scale: int
    framing: Framing
    cramped: bool
    """Whether the map is higher than the page has room for."""
    hazards_cut: bool
    """Whether hazards would be left to a later sheet that could stand here if something else gave way."""

    @property
    def note_lines(self) -> int:
        """Of what stands under each section."""
        return _note_lines(self.paper, self.yielding)


def lay_out(
    trav: Traverse,
    *,
    template: Template,
    papers: tuple[Paper, ...],
    title_height: float,
    words: Words,
    strip_height: StripHeight,
    tables_height: TablesHeight,
    asked: int | None,
    whole: bool,
) -> Layout:
    """The paper and the largest round scale at which the walk fits, whatever must give way for it.

    The scale that is `asked` for is taken where it fits, else the largest round one below it. Sections after the first
    stand under it where the map leaves them room. Where a sheet is `whole` it has all of them, if that saves a second
    one and costs the map little.
    """
    plan = _Planner(trav, template, title_height, words, strip_height, tables_height)
    steps = (*STEPS, *(replace(one, tables_mm=_NARROW_TABLES_MM) for one in STEPS)) if whole else STEPS
    layout = plan.with_wide_tables(plan.largest(papers, asked, steps))
    many = len(trav.geology.sections)
    if many < 2:
        return layout
    if whole and ("tables" not in template.show or layout.tables is not None):
        most = layout.scale * (1 if asked is not None else _WORTH_A_SHEET)
        other = plan.largest(papers, asked, tuple(replace(one, sections=many) for one in steps), most=most)
        if other.scale <= most and plan.fits(other):
            return plan.with_wide_tables(other)
    return plan.with_sections(layout)


def scales_from(log: Log, asked: int | None) -> Iterator[int]:
    """The scale that is asked for, then the round ones below it; all round ones where none is."""
    if asked is not None:
        yield asked
    for scale in round_scales(feet=log.lengths.in_feet):
        if asked is None or scale > asked:
            yield scale


class _Planner:
    def __init__(
        self,
        trav: Traverse,
        template: Template,
        title_height: float,
        words: Words,
        strip_height: StripHeight,
        tables_height: TablesHeight,
    ) -> None:
        self.trav = trav
        self.log = trav.log
        self.survey = trav.survey
        self.geology = trav.geology
        self.template = template
        self.title_height = title_height
        self.words = words
        self.strip_height = strip_height
        self.tables_height = tables_height
        self.walks = walks_to_show(trav.survey, trav.geology)
        self.note_mm = note_mm(trav)

    def largest(
        self,
        papers: tuple[Paper, ...],
        asked: int | None,
        steps: Sequence[Yielding],
        *,
        most: int | None = None,
    ) -> Layout:
        """The layout at the scale that is asked for, or the largest round one, at which one of the steps fits; none is sought beyond `most`."""
        for scale in scales_from(self.log, asked):
            fitting = self.fitting(papers, scale, steps)
            if fitting or scale > _SMALLEST or (most is not None and scale > most):
                # Where even that does not fit, it is drawn as it is.
                fitting = fitting or [self.at(paper, scale, steps[0]) for paper in papers]
                return max(
                    fitting,
                    key=lambda one: (one.map.width * one.map.height > 0, one.map.width * one.map.height),
                )
        raise AssertionError("the scales have no end")

    def at(self, paper: Paper, scale: int, yielding: Yielding) -> Layout:
        """The layout at a scale, whether or not the walk fits it; with what was sighted where that fits."""
        for walk in self.walks:
            layout = self._around(walk, paper, scale, yielding)
            if self.fits(layout):
                break
        return layout

    def _around(self, walk: BaseGeometry, paper: Paper, scale: int, yielding: Yielding) -> Layout:
        layout = self._at(walk, paper, scale, yielding)
        if paper.landscape or layout.framing.fits or not layout.framing.holds:
            return layout
        # The walk has its room and the norths have none: words give way for them too.
        higher = (self._at(walk, paper, scale, yielding, over=share * HEIGHT_MM) for share in _FOR_NORTHS)
        return next((one for one in higher if self.fits(one)), layout)

    def _at(
        self, walk: BaseGeometry, paper: Paper, scale: int, yielding: Yielding, *, over: float = 0.0
    ) -> Layout:
        """The same for one walk; an upright map has so many millimetres `over` what that needs before words have theirs."""
        template = self.template
        margin, gap = template.margin, template.gap
        left = margin + template.coordinates
        base = margin + template.foot
        sections = self.geology.sections[: yielding.sections]
        heights = [self._section_height(one, paper, scale, yielding) for one in sections]
        tables = self._tables(paper, base, wide=yielding.tables_mm)
        foot = self._foot(paper, yielding, tables)
        over_foot = base if foot is None else foot.top + _OVER_STRIP_MM
        if tables is not None and not paper.landscape:
            tables = replace(tables, y=over_foot)
            over_foot = tables.top + _OVER_TABLES_MM
        below = room_below_mm(_note_lines(paper, yielding))
        above_section = over_foot + sum(
            below + high + ROOM_ABOVE_MM + _STRIP_GAP_MM for high in heights if high
        )
        hazards_cut = False
        if paper.landscape:
            column = self._column_mm(paper, yielding)
            column_x = (paper.width - margin if tables is None else tables.x - gap) - column
            columns: tuple[Box, ...] = (
                Box(x=column_x, y=base, width=column, height=paper.height - margin - base),
            )
            title = Box(x=column_x, y=paper.height - margin, width=column, height=0.0)
            right, top = column_x - gap, paper.height - margin - template.coordinates
            bottom = above_section + STRIP_MM + self.note_mm
        else:
            title = Box(
                x=margin,
                y=paper.height - margin - self.title_height,
                width=paper.width - 2 * margin,
                height=self.title_height,
            )
            right, top = paper.width - margin, title.y - template.coordinates
            bottom = above_section + STRIP_MM + self.note_mm + 1.0
            widths = self._widths(paper)
            room = top - bottom - LEAST_MAP_MM
            spare = min(room, top - bottom - self._walk_high_mm(walk, scale) - over)
            words = self.words(widths, yielding)
            high = max(upright_height(one, room=room, spare=spare) for one in words)
            for_hazards = max(one.with_hazards for one in words)
            hazards_cut = high + 1e-6 < for_hazards <= _MOST_FOR_HAZARDS * paper.height
            bottom += high
            xs = accumulate((width + gap for width in widths[:-1]), initial=margin)
            columns = tuple(
                Box(x=x, y=over_foot, width=width, height=high) for x, width in zip(xs, widths, strict=True)
            )
        height = max(top - bottom, _LEAST_MAP_MM)
        box = Box(x=left, y=top - height, width=right - left, height=height)
        beside = self._beside(paper)
        framing = frame_map(self.trav, box=box, scale=scale, beside=beside, walk=walk, note=self.note_mm)
        boxes, hung = self._section_boxes(framing, box, heights, beside, below)
        return Layout(
            paper=paper,
            yielding=yielding,
            map=box,
            strip_top=box.y - self.note_mm,
            section=boxes[0] if boxes else None,
            hung=hung,
            further=tuple(boxes[1:]),
            columns=columns,
            tables=tables,
            tomorrow=foot,
            title=title,
            scale=scale,
            framing=framing,
            # What is lower than this makes no room by being lower still.
            cramped=top - bottom < _LEAST_MAP_MM and max(heights, default=0.0) > _LEAST_SECTION_MM,
            hazards_cut=hazards_cut,
        )

    def _beside(self, paper: Paper) -> tuple[float, float]:
        """Room that the first section wants beside its ends, left and right."""
        # Its height figures may stand left of the map, and in the gap to the column beside it.
        right_free = self.template.gap - _FIGURES_OFF_MM if paper.landscape else 0.0
        return ROOM_BESIDE_MM - self.template.coordinates, ROOM_BESIDE_MM - right_free

    def _may_fit(self, paper: Paper, scale: int) -> bool:
        """Whether the walk would have room if all that can gave way: most scales are too large, and are known so at once."""
        template = self.template
        wide = paper.width - 2.0 * template.margin - template.coordinates
        if paper.landscape:
            column = template.columns.get(paper.name, template.column)
            wide -= min(column, template.narrow_column) + template.gap
        high = paper.height - 2.0 * template.margin - template.coordinates - template.foot
        left, lower, right, upper = extent(
            self.trav, scale=scale, walk=self.walks[-1], beside=self._beside(paper)
        )
        mm = 1000.0 / scale
        return (right - left) * mm <= wide + _HAIR_MM and (upper - lower) * mm <= max(
            high, _LEAST_MAP_MM
        ) + _HAIR_MM

    def _walk_high_mm(self, walk: BaseGeometry, scale: int) -> float:
        """Height of the map that the walk needs, and the lines of sections."""
        _, lower, _, upper = extent(self.trav, scale=scale, walk=walk)
        return (upper - lower) * 1000.0 / scale

    def _column_mm(self, paper: Paper, yielding: Yielding) -> float:
        """Width of the column beside the map."""
        column = self.template.columns.get(paper.name, self.template.column)
        return min(column, self.template.narrow_column) if yielding.narrow else column

    def _tables(self, paper: Paper, base: float, *, wide: float) -> Box | None:
        """Where all tables stand on a large sheet: at its right, or upright at its foot; None where they do not fit there."""
        margin = self.template.margin
        if paper.landscape:
            tall = paper.height - margin - base
            for across in dict.fromkeys((wide, max(wide, _TABLES_MM))):
                if self.tables_height(across, tall) is not None:
                    return Box(x=paper.width - margin - across, y=base, width=across, height=tall)
            return None
        across = paper.width - 2.0 * margin
        high = self.tables_height(across, TABLES_SHARE * paper.height)
        return None if high is None else Box(x=margin, y=base, width=across, height=high)

    def _foot(self, paper: Paper, yielding: Yielding, tables: Box | None) -> Box | None:
        """Where the strip at the foot stands."""
        template = self.template
        left, right = template.margin, paper.width - template.margin
        if paper.landscape:
            left += template.coordinates
            right -= self._column_mm(paper, yielding) + template.gap
            right -= 0.0 if tables is None else tables.width + template.gap
        high = self.strip_height(right - left, yielding.strip)
        if not high:
            return None
        return Box(x=left, y=template.margin + template.foot, width=right - left, height=high)

    def _widths(self, paper: Paper) -> tuple[float, ...]:
        """Columns under an upright map: three, or two of one width on paper too narrow for words in three."""
        template = self.template
        wide = paper.width - 2.0 * template.margin
        shares = template.portrait_columns if wide >= _THREE_COLUMNS_MM else (1.0, 1.0)
        room = wide - template.gap * (len(shares) - 1)
        return tuple(room * share / sum(shares) for share in shares)

    def _section_height(self, section: Section, paper: Paper, scale: int, yielding: Yielding) -> float:
        template = self.template
        wanted = wanted_height_mm(section, self.trav, scale=scale)
        if wanted <= template.least_section_height:
            return wanted if yielding.section_share else low_height_mm(section, self.trav, scale=scale)
        most = max(template.section_height, template.most_section_share * paper.height)
        lower = yielding.section_share * wanted
        # Its ground never gives way: a map a step smaller shows it whole.
        least = max(template.least_section_height, least_height_mm(section, scale=scale))
        return min(max(lower, least), most)

    def _section_boxes(
        self,
        framing: Framing,
        box: Box,
        heights: Sequence[float],
        beside: tuple[float, float],
        below: float,
    ) -> tuple[list[Box], bool]:
        """Of the sections on sheet 1, one below the other under the map, with room `below` each; and whether the first is `hung`.

        One that runs east hangs under its own end on the map, so that a ruler laid upright joins the two.
        """
        if not any(heights):
            return [], False
        found: list[Box] = []
        hung = False
        window = framing.window
        top = box.y - STRIP_MM - self.note_mm - _STRIP_GAP_MM
        for section, height in zip(self.geology.sections, heights, strict=False):
            wide = window.mm(section.length_m)
            # One that is too long to stand in the middle uses the room of the coordinates, left of the map.
            least = box.x - self.template.coordinates + ROOM_BESIDE_MM
            x = max(least, min(box.x + (box.width - wide) / 2, box.right - ROOM_BESIDE_MM - wide))
            if not found and runs_east(section):
                end, _ = window.at(*section.line[0])
                if box.x + beside[0] - 1e-6 <= end <= box.right - beside[1] - wide + 1e-6:
                    x, hung = end, True
            y = top - ROOM_ABOVE_MM - height
            # The note below may go on to the right edge of the map.
            found.append(Box(x=x, y=y, width=max(wide, box.right - ROOM_BESIDE_MM - x), height=height))
            top = y - below - _STRIP_GAP_MM
        return found, hung

    def fits(self, layout: Layout) -> bool:
        """Whether everything has its room."""
        cut = layout.cramped or layout.hazards_cut
        return layout.framing.fits and not cut and self.section_fits(layout)

    def section_fits(self, layout: Layout) -> bool:
        """Whether every section has the width of the map to stand in, with its axes."""
        room = layout.map.width - 2 * ROOM_BESIDE_MM + self.template.coordinates
        if layout.paper.landscape:
            room += self.template.gap - _FIGURES_OFF_MM
        return all(layout.framing.window.mm(one.length_m) <= room + 1e-6 for one in self.geology.sections)

    def fitting(self, papers: tuple[Paper, ...], scale: int, steps: Sequence[Yielding]) -> list[Layout]:
        """The layouts that fit on some of the papers when as little as can be gives way."""
        large = [one for one in papers if self._may_fit(one, scale)]
        for step in steps if large else ():
            found = [self.at(paper, scale, step) for paper in large]
            fitting = [
                one
                for one in found
                if self.fits(one) and (step.strip is not Strip.LATER or is_small(one.paper))
            ]
            if fitting:
                return [self.given_back(one) for one in fitting]
        return []

    def with_sections(self, layout: Layout) -> Layout:
        """The layout with as many sections as stand under the first and take nothing from words that have their room."""
        for count in range(len(self.geology.sections), 1, -1):
            other = self.at(layout.paper, layout.scale, replace(layout.yielding, sections=count))
            lower = any(
                one.height < there.height - _HAIR_MM
                for one, there in zip(other.columns, layout.columns, strict=True)
            )
            if self.fits(other) and not lower:
                return other
        return layout

    def given_back(self, layout: Layout) -> Layout:
        """The layout without what gave way in vain: a narrow column makes no map higher."""
        for change in _GIVEN_BACK:
            step = change(layout.yielding)
            if step != layout.yielding:
                other = self.at(layout.paper, layout.scale, step)
                layout = other if self.fits(other) else layout
        return layout

    def with_wide_tables(self, layout: Layout) -> Layout:
        """The layout with tables beside the map as wide as they wish, where the map leaves them room."""
        if layout.tables is None or not layout.paper.landscape:
            return layout
        wider = (
            self.at(layout.paper, layout.scale, replace(layout.yielding, tables_mm=wide))
            for wide in _WIDE_TABLES_MM
        )
        return next((one for one in wider if self.fits(one)), layout)


def _note_lines(paper: Paper, yielding: Yielding) -> int:
    """Of what stands under a section."""
    return 1 if yielding.short_note else note_lines(paper.width)


def is_small(paper: Paper) -> bool:
    """Whether the strip may be left to a later sheet: whom to call stands on what is carried wherever it can."""
    return min(paper.width, paper.height) < _SMALL_MM


def runs_east(section: Section) -> bool:
    """Whether it runs within 15 degrees of east on the sheet, in one straight line."""
    return abs(section.grid_azimuth_deg - 90.0) <= 15.0 and len(section.line) == 2
