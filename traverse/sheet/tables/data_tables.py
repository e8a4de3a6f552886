"""The data tables: stations and attitudes, legs, contacts with thicknesses, and what was noted in full."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from traverse.diagnostic import Diagnostic
from traverse.ground.records import Traverse
from traverse.length import Lengths
from traverse.record import record
from traverse.sheet.paper.filling import FilledTo, Pages
from traverse.sheet.paper.page import Box, Page, lowest
from traverse.sheet.paper.table import CLOSE_ROW_MM, ROW_MM, TIGHT_ROW_MM, Row, Table, flow, least_mm
from traverse.sheet.paper.words import number
from traverse.sheet.said.sentences import short_title
from traverse.sheet.said.stops import Stops, gather
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
    stops = gather(trav)
    laid = _laid(trav, diagnostics, stops, Pages.of(frame), _USUAL)
    if (1 if close else 2) <= len(laid.items) <= _FEW_PAGES:
        # Rows a little nearer, two columns, or a table broken over two pages, where that saves a page.
        for setting in _CLOSER:
            if (len(laid.items) == 1 and not close) or (
                setting.columns > 1 and frame.width < _TWO_COLUMNS_MM
            ):
                continue
            pages = Pages.of(frame, columns=setting.columns, gap=_GAP_MM)
            other = _laid(trav, diagnostics, stops, pages, setting)
            if len(other.items) < len(laid.items) or (
                close and len(other.items) == len(laid.items) and _left(other) > _left(laid)
            ):
                laid = other
    elif len(laid.items) > _FEW_PAGES and frame.width * frame.height < _SMALL_MM2:
        for leg_table in (True, False) if not legs else (True,):
            laid = _laid(trav, diagnostics, stops, Pages.of(frame), _CLOSEST, legs=leg_table)
            if len(laid.items) <= _FEW_PAGES:
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
    return lowest(laid.items[-1])


def _laid(
    trav: Traverse,
    diagnostics: Sequence[Diagnostic],
    stops: Stops,
    pages: Pages,
    setting: _Spacing,
    *,
    legs: bool = True,
) -> Pages:
    """All tables on pages, as they are set; without the `legs` a note in place of them."""
    at = FilledTo()
    shortened: list[tuple[str, str, str]] = []
    rows, keys = station_rows(trav.log, trav.survey, stops)
    if rows:
        title = f"{short_title(trav.log)}: stations and attitudes"
        table = Table(
            title=title,
            asides=station_asides(trav.log, trav.survey),
            columns=station_columns(trav.log, trav.survey),
            rows=tuple(rows),
        )
        table = words_together(table) if setting.close else table
        at, laid = flow(table, pages, at, page_title=title, row_mm=setting.row_mm)
        shortened.extend(cut_words(table, laid, keys))
    leg_table, contacts = legs_table(trav.log, trav.survey), contacts_table(trav, stops)
    thicknesses = thickness_lines(trav.geology, stops, trav.log.lengths)
    rows = [
        *note_rows(trav.log, trav.survey, shortened, diagnostics, trav.geology.shared),
        *trace_rows(trav.ground, trav.log.lengths),
    ]
    if leg_table is not None and not legs:
        many = len(trav.survey.legs)
        rows.insert(
            0,
            Row(
                cells=(
                    "walk",
                    "legs",
                    f"The table of the {number(many)} legs is left off this paper: {LEGS_ELSEWHERE}.",
                )
            ),
        )
        leg_table = None
    notes = (
        Table(
            title="Notes in full", asides=(answer_count(diagnostics),), columns=NOTE_COLUMNS, rows=tuple(rows)
        )
        if rows
        else None
    )
    if notes is not None and _fits_before(notes, leg_table, contacts, len(thicknesses), pages, at, setting):
        at, _ = flow(notes, pages, setting.below(at), page_title=notes.title, row_mm=setting.row_mm)
        notes = None
    at = _legs_and_contacts(leg_table, contacts, thicknesses, trav.log.lengths, pages, at, setting)
    if notes is not None:
        flow(notes, pages, setting.below(at), page_title=notes.title, row_mm=setting.row_mm)
    return pages


def _fits_before(
    notes: Table,
    legs: Table | None,
    contacts: Table | None,
    thicknesses: int,
    pages: Pages,
    at: FilledTo,
    setting: _Spacing,
) -> bool:
    """Whether legs and contacts begin a page of their own and the notes have room before them."""
    if not at.used or not setting.whole or not _side_by_side(legs, contacts, pages, setting):
        return False
    assert legs is not None
    assert contacts is not None
    tall = _tall(legs, contacts, thicknesses, setting.row_mm)
    if pages.room(setting.below(at)) >= tall or tall > pages.room(FilledTo()):
        return False
    spare = Pages(columns=pages.columns)
    alone, _ = flow(notes, spare, FilledTo(), page_title=notes.title, row_mm=setting.row_mm)
    return alone.page == 0 and pages.room(setting.below(at)) >= alone.used


def _side_by_side(legs: Table | None, contacts: Table | None, pages: Pages, setting: _Spacing) -> bool:
    if legs is None or contacts is None or len(pages.columns) > 1:
        return False
    return pages.width >= _WIDE_MM or (
        setting.close and least_mm(legs) + least_mm(contacts) + _CLOSE_GAP_MM <= pages.width
    )


def _legs_width(legs: Table, contacts: Table, width: float) -> tuple[float, float]:
    """Width of the legs where contacts stand beside them, and the gap between the two."""
    if width >= _WIDE_MM:
        return width * _LEGS_SHARE - _GAP_MM / 2.0, _GAP_MM
    least = least_mm(legs)
    return least + 0.3 * (width - _CLOSE_GAP_MM - least - least_mm(contacts)), _CLOSE_GAP_MM


def _tall(legs: Table, contacts: Table, thicknesses: int, row_mm: float) -> float:
    """Height of legs beside contacts, with the thicknesses below these."""
    return max(len(legs.rows), len(contacts.rows) + 3 + thicknesses) * row_mm + 18.0


def _legs_and_contacts(
    legs: Table | None,
    contacts: Table | None,
    thicknesses: Sequence[tuple[str, str, str]],
    lengths: Lengths,
    pages: Pages,
    at: FilledTo,
    setting: _Spacing,
) -> FilledTo:
    """Side by side where the paper is wide, else below each other."""
    start, row_mm = setting.below(at), setting.row_mm
    if _side_by_side(legs, contacts, pages, setting):
        assert legs is not None
        assert contacts is not None
        (frame,) = pages.columns
        tall = _tall(legs, contacts, len(thicknesses), row_mm)
        # Both begin on a page of their own where that keeps them whole.
        if setting.whole and pages.room(start) < tall <= frame.height:
            start = pages.after(start)
        first, gap = _legs_width(legs, contacts, frame.width)
        left = pages.within(replace(frame, width=first))
        x = frame.x + first + gap
        right = pages.within(replace(frame, x=x, width=frame.right - x))
        end, _ = flow(legs, left, start, page_title=legs.title, row_mm=row_mm)
        other, _ = flow(contacts, right, start, page_title=contacts.title, row_mm=row_mm)
        return max(end, draw_thicknesses(thicknesses, lengths, right, other))
    if legs is not None:
        start, _ = flow(legs, _narrowed(pages, _LEGS_MM), start, page_title=legs.title, row_mm=row_mm)
        start = setting.below(start)
    if contacts is not None:
        narrow = _narrowed(pages, _CONTACTS_MM)
        start, _ = flow(contacts, narrow, start, page_title=contacts.title, row_mm=row_mm)
        start = setting.below(draw_thicknesses(thicknesses, lengths, narrow, start))
    return start


def _narrowed(pages: Pages, most: float) -> Pages:
    """The same pages, no column wider than that."""
    return pages.within(*(replace(one, width=min(one.width, most)) for one in pages.columns))
