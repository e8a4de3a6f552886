"""The data tables: stations and attitudes, legs, contacts with thicknesses, and what was noted in full."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from traverse.diagnostic import Diagnostic
from traverse.ground.records import Traverse
from traverse.record import record
from traverse.sheet.paper.filling import FilledTo, Pages
from traverse.sheet.paper.page import Box, Page, lowest
from traverse.sheet.paper.table import (
    CLOSE_ROW_MM,
    ROW_MM,
    TIGHT_ROW_MM,
    Laying,
    Row,
    Table,
    flow,
)
from traverse.sheet.paper.words import number
from traverse.sheet.said.sentences import short_title
from traverse.sheet.said.stops import gather
from traverse.sheet.tables.contact_rows import contacts_table, draw_thicknesses, thickness_lines
from traverse.sheet.tables.full_notes import NOTE_COLUMNS, answer_count, note_rows, trace_rows
from traverse.sheet.tables.leg_rows import legs_table
from traverse.sheet.tables.station_rows import (
    cut_words,
    station_asides,
    station_columns,
    station_rows,
    words_together,
)

_GAP_MM, _CLOSE_GAP_MM = 9.0, 4.0

_WIDE_MM = 240.0
"""From this width on, legs and contacts stand side by side."""
_LEGS_SHARE = 0.475

_ENDLESS_MM = 10_000.0
_LEGS_MM, _CONTACTS_MM = 150.0, 200.0
"""Widths beyond which figures stand too far apart to be read across."""
_BETWEEN_MM, _CLOSE_BETWEEN_MM = 4.0, 2.5
_TWO_COLUMNS_MM = 380.0
"""From this width on, tables may run down two columns."""


@record(frozen=True, slots=True, kw_only=True)
class _Spacing:
    """How close tables stand on their pages."""

    row_mm: float = ROW_MM
    whole: bool = True
    """Whether legs and contacts are kept from breaking over a page where one can hold them."""
    close: bool = False
    """Whether all words of a station stand in one column, and legs and contacts side by side on narrow paper too."""
    columns: int = 1
    notes_beside: bool = False
    """Whether notes may stand below the shorter of two tables side by side."""

    def below(self, at: FilledTo) -> FilledTo:
        """Where the next table begins."""
        between = _CLOSE_BETWEEN_MM if self.close else _BETWEEN_MM
        return replace(at, used=at.used + between) if at.used else at


_USUAL = _Spacing()
_CLOSER = (
    _Spacing(row_mm=TIGHT_ROW_MM),
    _Spacing(columns=2),
    _Spacing(columns=2, close=True, whole=False),
    _Spacing(close=True),
    _Spacing(close=True, row_mm=TIGHT_ROW_MM),
    _Spacing(close=True, row_mm=CLOSE_ROW_MM),
    _Spacing(whole=False),
    _Spacing(whole=False, row_mm=TIGHT_ROW_MM),
    _Spacing(whole=False, row_mm=CLOSE_ROW_MM),
    _Spacing(whole=False, close=True, row_mm=CLOSE_ROW_MM),
    _Spacing(whole=False, close=True, row_mm=CLOSE_ROW_MM, columns=2),
    _Spacing(close=True, notes_beside=True),
    _Spacing(close=True, row_mm=TIGHT_ROW_MM, notes_beside=True),
    _Spacing(close=True, row_mm=CLOSE_ROW_MM, notes_beside=True),
)
"""What is tried to save a page, in this order."""
_CLOSEST = _Spacing(whole=False, close=True, row_mm=CLOSE_ROW_MM)
_SMALL_MM2 = 40_000.0
"""Pages smaller than this are of a notebook: smaller than A4, and than Letter."""
LEGS_ELSEWHERE = "a sheet with its report has it, and one on A4"
_FEW_PAGES = 4
"""Of more pages than these, one saved is not worth laying them all again."""


def table_pages(
    trav: Traverse,
    diagnostics: Sequence[Diagnostic],
    *,
    width: float,
    height: float,
    frame: Box,
    legs: bool = True,
    close: bool = False,
) -> tuple[Page, ...]:
    """Every table, on as many pages as it takes; none where nothing was booked.

    On small paper that many pages of them would fill, they stand as close as they may; without `legs` that table, which
    is the report's there, is left off, and a note says so. With `close` they leave on the last page as much room as they can
    on as few. `width` and `height` are the paper's, `frame` is what may be filled, in millimetres. Foot lines are not drawn here.
    """
    tables = _TableSet.of(trav, diagnostics)
    laid = tables.on(Pages.of(frame), _USUAL)
    if (1 if close else 2) <= laid.count <= _FEW_PAGES:
        # Rows a little nearer, two columns, or a table broken over two pages, where that saves a page.
        for setting in _CLOSER:
            if (laid.count == 1 and not close) or (setting.columns > 1 and frame.width < _TWO_COLUMNS_MM):
                continue
            pages = Pages.of(frame, columns=setting.columns, gap=_GAP_MM)
            other = tables.on(pages, setting)
            if other.count < laid.count or (
                close and other.count == laid.count and _left(other) > _left(laid)
            ):
                laid = other
    elif laid.count > _FEW_PAGES and frame.width * frame.height < _SMALL_MM2:
        for leg_table in (True, False) if not legs else (True,):
            laid = tables.on(Pages.of(frame), _CLOSEST, legs=leg_table)
            if laid.count <= _FEW_PAGES:
                break
    filled = [items for items in laid.items if items]
    return tuple(
        Page(
            width_mm=width,
            height_mm=height,
            items=tuple(items),
            title="Tables" + (f", {index + 1} of {len(filled)}" if len(filled) > 1 else ""),
        )
        for index, items in enumerate(filled)
    )


def _left(laid: Pages) -> float:
    """Height over the foot of the last page."""
    return lowest(laid.on(laid.count - 1))


@record(frozen=True, slots=True, kw_only=True)
class _TableSet:
    """All that the tables say, made once for every setting that they are tried in."""

    trav: Traverse
    diagnostics: Sequence[Diagnostic]
    stations: Table | None
    together: Table | None
    """The same with all words of a place in one column."""
    keys: Sequence[str]
    """Of each row of the stations, as `cut_words` names it."""
    legs: Table | None
    contacts: Table | None
    thicknesses: Sequence[tuple[str, str, str]]
    traces: Sequence[Row]
    laying: Laying
    notes: dict[tuple[bool, tuple[tuple[str, str, str], ...]], Table | None]
    """By whether legs are left off, and what tables cut: each once."""

    @classmethod
    def of(cls, trav: Traverse, diagnostics: Sequence[Diagnostic]) -> _TableSet:
        stops = gather(trav)
        rows, keys = station_rows(trav.log, trav.survey, stops)
        stations = (
            Table(
                title=f"{short_title(trav.log)}: stations and attitudes",
                asides=station_asides(trav.log, trav.survey),
                columns=station_columns(trav.log, trav.survey, trav.geology),
                rows=tuple(rows),
            )
            if rows
            else None
        )
        return cls(
            trav=trav,
            diagnostics=diagnostics,
            stations=stations,
            together=words_together(stations) if stations is not None else None,
            keys=keys,
            legs=legs_table(trav.log, trav.survey),
            contacts=contacts_table(trav, stops),
            thicknesses=thickness_lines(trav.geology, stops, trav.log.lengths),
            traces=trace_rows(trav.ground, trav.log.lengths, stops.contact_numbers),
            laying=Laying(),
            notes={},
        )

    def on(self, pages: Pages, setting: _Spacing, *, legs: bool = True) -> Pages:
        """All tables on pages, as they are set; without the `legs` a note in place of them."""
        at = FilledTo()
        shortened: tuple[tuple[str, str, str], ...] = ()
        table = self.together if setting.close else self.stations
        if table is not None:
            at, laid = flow(
                table, pages, at, page_title=table.title, row_mm=setting.row_mm, laying=self.laying
            )
            shortened = tuple(cut_words(table, laid, self.keys))
        left_off = self.legs is not None and not legs
        leg_table = None if left_off else self.legs
        if (left_off, shortened) not in self.notes:
            self.notes[left_off, shortened] = self._notes(shortened, left_off=left_off)
        notes = self.notes[left_off, shortened]
        if notes is not None and self._fits_before(notes, leg_table, pages, at, setting):
            at = self._flow(notes, pages, setting.below(at), setting)
            notes = None
        at, notes = self._legs_and_contacts(leg_table, pages, at, setting, notes)
        if notes is not None:
            self._flow(notes, pages, setting.below(at), setting)
        return pages

    def _notes(self, shortened: Sequence[tuple[str, str, str]], *, left_off: bool) -> Table | None:
        """What the tables do not say whole; with the legs `left_off`, where they are."""
        trav = self.trav
        rows = [
            *note_rows(
                trav.log,
                trav.survey,
                shortened,
                self.diagnostics,
                trav.geology.shared,
                trav.geology.doubted_rules,
            ),
            *self.traces,
        ]
        if left_off:
            many = number(len(trav.survey.legs))
            words = f"The table of the {many} legs is left off this paper: {LEGS_ELSEWHERE}."
            rows.insert(0, Row(cells=("walk", "legs", words)))
        if not rows:
            return None
        return Table(
            title="Notes in full",
            asides=(answer_count(self.diagnostics),),
            columns=NOTE_COLUMNS,
            rows=tuple(rows),
        )

    def _flow(self, table: Table, pages: Pages, at: FilledTo, setting: _Spacing) -> FilledTo:
        """Where a table ends."""
        at, _ = flow(table, pages, at, page_title=table.title, row_mm=setting.row_mm, laying=self.laying)
        return at

    def _fits_before(
        self, notes: Table, legs: Table | None, pages: Pages, at: FilledTo, setting: _Spacing
    ) -> bool:
        """Whether legs and contacts begin a page of their own and the notes have room before them."""
        if not at.used or not setting.whole or not self._side_by_side(legs, pages, setting):
            return False
        assert legs is not None
        assert self.contacts is not None
        tall = _tall(legs, self.contacts, len(self.thicknesses), setting.row_mm)
        if pages.room(setting.below(at)) >= tall or tall > pages.room(FilledTo()):
            return False
        alone = self._flow(notes, Pages(columns=pages.columns), FilledTo(), setting)
        return alone.page == 0 and pages.room(setting.below(at)) >= alone.used

    def _side_by_side(self, legs: Table | None, pages: Pages, setting: _Spacing) -> bool:
        if legs is None or self.contacts is None or len(pages.columns) > 1:
            return False
        least = self.laying.least_mm
        return pages.width >= _WIDE_MM or (
            setting.close and least(legs) + least(self.contacts) + _CLOSE_GAP_MM <= pages.width
        )

    def _legs_width(self, legs: Table, contacts: Table, width: float) -> tuple[float, float]:
        """Width of the legs where contacts stand beside them, and the gap between the two."""
        if width >= _WIDE_MM:
            return width * _LEGS_SHARE - _GAP_MM / 2.0, _GAP_MM
        least = self.laying.least_mm(legs)
        spare = width - _CLOSE_GAP_MM - least - self.laying.least_mm(contacts)
        return least + 0.3 * spare, _CLOSE_GAP_MM

    def _legs_and_contacts(
        self, legs: Table | None, pages: Pages, at: FilledTo, setting: _Spacing, notes: Table | None
    ) -> tuple[FilledTo, Table | None]:
        """Side by side where the paper is wide, else below each other; with where they end the notes, unless these stand beside."""
        start, contacts, lengths = setting.below(at), self.contacts, self.trav.log.lengths
        if self._side_by_side(legs, pages, setting):
            assert legs is not None
            assert contacts is not None
            (frame,) = pages.columns
            tall = _tall(legs, contacts, len(self.thicknesses), setting.row_mm)
            # Both begin on a page of their own where that keeps them whole.
            if setting.whole and pages.room(start) < tall <= frame.height:
                start = pages.after(start)
            first, gap = self._legs_width(legs, contacts, frame.width)
            left = pages.within(replace(frame, width=first))
            x = frame.x + first + gap
            right = pages.within(replace(frame, x=x, width=frame.right - x))
            end = self._flow(legs, left, start, setting)
            other = draw_thicknesses(
                self.thicknesses, lengths, right, self._flow(contacts, right, start, setting)
            )
            if notes is not None and setting.notes_beside:
                shorter, till = (left, end) if end < other else (right, other)
                below = self._notes_beside(notes, pages, shorter, till, max(end, other), setting)
                if below is not None:
                    return max(end, other, below), None
            return max(end, other), notes
        if legs is not None:
            start = setting.below(self._flow(legs, _narrowed(pages, _LEGS_MM), start, setting))
        if contacts is not None:
            narrow = _narrowed(pages, _CONTACTS_MM)
            start = self._flow(contacts, narrow, start, setting)
            start = setting.below(draw_thicknesses(self.thicknesses, lengths, narrow, start))
        return start, notes

    def _notes_beside(
        self, notes: Table, pages: Pages, column: Pages, at: FilledTo, longer: FilledTo, setting: _Spacing
    ) -> FilledTo | None:
        """Where the notes end below the shorter of two tables, if they are whole there and end higher than below both."""

        def tall(there: Pages) -> float:
            alone = Pages.of(replace(there.columns[0], height=_ENDLESS_MM))
            end, laid = flow(
                notes, alone, FilledTo(), page_title="", row_mm=setting.row_mm, laying=self.laying
            )
            return _ENDLESS_MM if laid.cut else end.used

        start, high = setting.below(at), tall(column)
        if high > column.room(start):
            return None
        below_both = setting.below(longer)
        if longer.page == at.page and start.used + high >= below_both.used + tall(pages):
            return None
        return self._flow(notes, column, start, setting)


def _tall(legs: Table, contacts: Table, thicknesses: int, row_mm: float) -> float:
    """Height of legs beside contacts, with the thicknesses below these."""
    return max(len(legs.rows), len(contacts.rows) + 3 + thicknesses) * row_mm + 18.0


def _narrowed(pages: Pages, most: float) -> Pages:
    """The same pages, no column wider than that."""
    return pages.within(*(replace(one, width=min(one.width, most)) for one in pages.columns))
