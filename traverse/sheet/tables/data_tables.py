"""The data tables: stations and attitudes, legs, contacts with thicknesses, and what was noted in full."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from traverse.diagnostic import Diagnostic
from traverse.ground.records import Traverse
from traverse.length import Lengths
from traverse.sheet.paper.filling import FilledTo, Pages
from traverse.sheet.paper.page import Box, Page
from traverse.sheet.paper.table import CLOSE_ROW_MM, ROW_MM, TIGHT_ROW_MM, Table, flow
from traverse.sheet.said.sentences import short_title
from traverse.sheet.said.stops import Stops, gather
from traverse.sheet.tables.contact_rows import contacts_table, draw_thicknesses, thickness_lines
from traverse.sheet.tables.full_notes import NOTE_COLUMNS, answer_count, note_rows, trace_rows
from traverse.sheet.tables.leg_rows import legs_table
from traverse.sheet.tables.station_rows import cut_words, station_asides, station_columns, station_rows

_GAP_MM = 9.0

_WIDE_MM = 240.0
"""From this width on, legs and contacts stand side by side."""
_LEGS_SHARE = 0.475

_LEGS_MM, _CONTACTS_MM = 150.0, 200.0
"""Widths beyond which figures stand too far apart to be read across."""
_BETWEEN_MM = 4.0
_CLOSER = (
    (TIGHT_ROW_MM, True),
    (ROW_MM, False),
    (TIGHT_ROW_MM, False),
    (CLOSE_ROW_MM, True),
    (CLOSE_ROW_MM, False),
)
"""Distances of rows, and whether tables are kept whole: what is tried to save a page, in this order."""
_FEW_PAGES = 4
"""Of more pages than these, one saved is not worth laying them all again."""


def table_pages(
    trav: Traverse,
    diagnostics: Sequence[Diagnostic],
    *,
    width: float,
    height: float,
    frame: Box,
) -> tuple[Page, ...]:
    """Every table, on as many pages as it takes; none where nothing was booked.

    `width` and `height` are the paper's, `frame` is what may be filled, in millimetres. Foot lines are not drawn here.
    """
    stops = gather(trav)
    laid = _laid(trav, diagnostics, stops, Pages.of(frame), ROW_MM, whole=True)
    if 1 < len(laid.items) <= _FEW_PAGES:
        # Rows a little nearer, or a table broken over two pages, where that saves a page.
        for row_mm, whole in _CLOSER:
            other = _laid(trav, diagnostics, stops, Pages.of(frame), row_mm, whole=whole)
            if len(other.items) < len(laid.items):
                laid = other
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


def _laid(
    trav: Traverse,
    diagnostics: Sequence[Diagnostic],
    stops: Stops,
    pages: Pages,
    row_mm: float,
    *,
    whole: bool,
) -> Pages:
    """All tables on pages; `whole` keeps legs and contacts from breaking over a page where one can hold them."""
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
        at, laid = flow(table, pages, at, page_title=title, row_mm=row_mm)
        shortened.extend(cut_words(table, laid, keys))
    legs, contacts = legs_table(trav.log, trav.survey), contacts_table(trav, stops)
    thicknesses = thickness_lines(trav.geology, stops, trav.log.lengths)
    rows = [
        *note_rows(trav.log, trav.survey, shortened, diagnostics, trav.geology.shared),
        *trace_rows(trav.ground, trav.log.lengths),
    ]
    notes = (
        Table(
            title="Notes in full", asides=(answer_count(diagnostics),), columns=NOTE_COLUMNS, rows=tuple(rows)
        )
        if rows
        else None
    )
    if notes is not None and _fits_before(
        notes, legs, contacts, len(thicknesses), pages, at, row_mm, whole=whole
    ):
        at, _ = flow(notes, pages, _below(at), page_title=notes.title, row_mm=row_mm)
        notes = None
    at = _legs_and_contacts(legs, contacts, thicknesses, trav.log.lengths, pages, at, row_mm, whole=whole)
    if notes is not None:
        flow(notes, pages, _below(at), page_title=notes.title, row_mm=row_mm)
    return pages


def _fits_before(
    notes: Table,
    legs: Table | None,
    contacts: Table | None,
    thicknesses: int,
    pages: Pages,
    at: FilledTo,
    row_mm: float,
    *,
    whole: bool,
) -> bool:
    """Whether legs and contacts begin a page of their own and the notes have room before them."""
    if not at.used or not whole or not _side_by_side(legs, contacts, pages.width):
        return False
    assert legs is not None
    assert contacts is not None
    tall = _tall(legs, contacts, thicknesses, row_mm)
    if pages.room(_below(at)) >= tall or tall > pages.room(FilledTo()):
        return False
    spare = Pages(columns=pages.columns)
    alone, _ = flow(notes, spare, FilledTo(), page_title=notes.title, row_mm=row_mm)
    return alone.page == 0 and pages.room(_below(at)) >= alone.used


def _below(at: FilledTo) -> FilledTo:
    return replace(at, used=at.used + _BETWEEN_MM) if at.used else at


def _side_by_side(legs: Table | None, contacts: Table | None, width: float) -> bool:
    return legs is not None and contacts is not None and width >= _WIDE_MM


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
    row_mm: float,
    *,
    whole: bool,
) -> FilledTo:
    """Side by side where the paper is wide, else below each other."""
    start = _below(at)
    (frame,) = pages.columns
    if _side_by_side(legs, contacts, frame.width):
        assert legs is not None
        assert contacts is not None
        tall = _tall(legs, contacts, len(thicknesses), row_mm)
        # Both begin on a page of their own where that keeps them whole.
        if whole and pages.room(start) < tall <= frame.height:
            start = pages.after(start)
        first = frame.width * _LEGS_SHARE - _GAP_MM / 2.0
        left = pages.within(replace(frame, width=first))
        x = frame.x + first + _GAP_MM
        right = pages.within(replace(frame, x=x, width=frame.right - x))
        end, _ = flow(legs, left, start, page_title=legs.title, row_mm=row_mm)
        other, _ = flow(contacts, right, start, page_title=contacts.title, row_mm=row_mm)
        return max(end, draw_thicknesses(thicknesses, lengths, right, other))
    if legs is not None:
        narrow = pages.within(replace(frame, width=min(frame.width, _LEGS_MM)))
        start, _ = flow(legs, narrow, start, page_title=legs.title, row_mm=row_mm)
        start = _below(start)
    if contacts is not None:
        narrow = pages.within(replace(frame, width=min(frame.width, _CONTACTS_MM)))
        start, _ = flow(contacts, narrow, start, page_title=contacts.title, row_mm=row_mm)
        start = _below(draw_thicknesses(thicknesses, lengths, narrow, start))
    return start
