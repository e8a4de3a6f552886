"""The data tables: stations and attitudes, legs, contacts with thicknesses, and what was noted in full."""

from __future__ import annotations

from collections.abc import Sequence

from traverse.diagnostic import Diagnostic
from traverse.ground.records import Traverse
from traverse.length import Lengths
from traverse.sheet.paper.page import Box, Page
from traverse.sheet.paper.table import ROW_MM, TIGHT_ROW_MM, Pages, Place, Table, flow
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
    laid = _laid(trav, diagnostics, stops, Pages(frame), whole=True)
    if 1 < len(laid.items) <= _FEW_PAGES:
        # Rows a little nearer, or a table broken over two pages, where that saves a page.
        for row_mm, whole in ((TIGHT_ROW_MM, True), (ROW_MM, False), (TIGHT_ROW_MM, False)):
            other = _laid(trav, diagnostics, stops, Pages(frame, row_mm=row_mm), whole=whole)
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
    *,
    whole: bool,
) -> Pages:
    """All tables on pages; `whole` keeps legs and contacts from breaking over a page where one can hold them."""
    at = Place(0, 0.0)
    shortened: list[tuple[str, str, str]] = []
    rows, keys = station_rows(trav.log, trav.survey, stops)
    x, width = pages.frame.x, pages.frame.width
    if rows:
        title = f"{short_title(trav.log)}: stations and attitudes"
        table = Table(
            title=title,
            asides=station_asides(trav.log),
            columns=station_columns(trav.log, trav.survey),
            rows=tuple(rows),
        )
        at, laid = flow(table, pages, at, x=x, width=width, page_title=title)
        shortened.extend(cut_words(table, laid, keys))
    legs, contacts = legs_table(trav.log, trav.survey), contacts_table(trav, stops)
    thicknesses = thickness_lines(trav.geology, stops, trav.log.lengths)
    rows = [*note_rows(trav.log, shortened, diagnostics), *trace_rows(trav.ground, trav.log.lengths)]
    notes = (
        Table(
            title="Notes in full", asides=(answer_count(diagnostics),), columns=NOTE_COLUMNS, rows=tuple(rows)
        )
        if rows
        else None
    )
    if notes is not None and _fits_before(notes, legs, contacts, len(thicknesses), pages, at, whole=whole):
        at, _ = flow(notes, pages, _below(at), x=x, width=width, page_title=notes.title)
        notes = None
    at = _legs_and_contacts(legs, contacts, thicknesses, trav.log.lengths, pages, at, whole=whole)
    if notes is not None:
        flow(notes, pages, _below(at), x=x, width=width, page_title=notes.title)
    return pages


def _fits_before(
    notes: Table,
    legs: Table | None,
    contacts: Table | None,
    thicknesses: int,
    pages: Pages,
    at: Place,
    *,
    whole: bool,
) -> bool:
    """Whether legs and contacts begin a page of their own and the notes have room before them."""
    if not at.used or not whole or not _side_by_side(legs, contacts, pages.frame.width):
        return False
    assert legs is not None
    assert contacts is not None
    tall = _tall(legs, contacts, thicknesses, pages)
    if _below(at).y(pages) - tall >= pages.floor or tall > pages.frame.height:
        return False
    alone, _ = flow(
        notes,
        Pages(pages.frame, row_mm=pages.row_mm),
        Place(0, 0.0),
        x=pages.frame.x,
        width=pages.frame.width,
        page_title=notes.title,
    )
    return alone.page == 0 and _below(at).y(pages) - alone.used >= pages.floor


def _below(at: Place) -> Place:
    return Place(at.page, at.used + _BETWEEN_MM) if at.used else at


def _side_by_side(legs: Table | None, contacts: Table | None, width: float) -> bool:
    return legs is not None and contacts is not None and width >= _WIDE_MM


def _tall(legs: Table, contacts: Table, thicknesses: int, pages: Pages) -> float:
    """Height of legs beside contacts, with the thicknesses below these."""
    return max(len(legs.rows), len(contacts.rows) + 3 + thicknesses) * pages.row_mm + 18.0


def _legs_and_contacts(
    legs: Table | None,
    contacts: Table | None,
    thicknesses: Sequence[tuple[str, str, str]],
    lengths: Lengths,
    pages: Pages,
    at: Place,
    *,
    whole: bool,
) -> Place:
    """Side by side where the paper is wide, else below each other."""
    start = _below(at)
    x, width = pages.frame.x, pages.frame.width
    if _side_by_side(legs, contacts, width):
        assert legs is not None
        assert contacts is not None
        tall = _tall(legs, contacts, len(thicknesses), pages)
        # Both begin on a page of their own where that keeps them whole.
        if whole and start.y(pages) - tall < pages.floor and tall <= pages.frame.height:
            start = Place(start.page + 1, 0.0)
        first = width * _LEGS_SHARE - _GAP_MM / 2.0
        second, rest = x + first + _GAP_MM, width - first - _GAP_MM
        left, _ = flow(legs, pages, start, x=x, width=first, page_title=legs.title)
        right, _ = flow(contacts, pages, start, x=second, width=rest, page_title=contacts.title)
        return max(left, draw_thicknesses(thicknesses, lengths, pages, right, x=second, width=rest))
    if legs is not None:
        start, _ = flow(legs, pages, start, x=x, width=min(width, _LEGS_MM), page_title=legs.title)
        start = _below(start)
    if contacts is not None:
        wide = min(width, _CONTACTS_MM)
        start, _ = flow(contacts, pages, start, x=x, width=wide, page_title=contacts.title)
        start = _below(draw_thicknesses(thicknesses, lengths, pages, start, x=x, width=wide))
    return start
