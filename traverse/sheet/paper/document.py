"""A document: all pages, what the file says of them, and the look that they were drawn with."""

from __future__ import annotations

from traverse.record import record
from traverse.sheet.paper.look import SHIPPED, Look
from traverse.sheet.paper.page import Page


@record(frozen=True, slots=True, kw_only=True)
class Document:
    """All pages and what is said of them in the file."""

    pages: tuple[Page, ...]
    title: str
    authors: tuple[str, ...] = ()
    subject: str = ""
    attachments: tuple[tuple[str, bytes], ...] = ()
    """Name and content of files carried along."""
    look: Look = SHIPPED
    """What the widths of its words were taken with; whoever writes it sets them in the same type."""
