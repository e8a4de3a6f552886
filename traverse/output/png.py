"""Writes one page as PNG, rendered from the page's own PDF by pypdfium2, which the extra `preview` brings."""

from __future__ import annotations

import io
from dataclasses import replace

from traverse.output.pdf import write_pdf
from traverse.sheet.paper.document import Document

DOTS_PER_INCH = 200
_MOST_DOTS = 12_000
"""To a side: a sheet of A0 at 200 dpi has 9400."""


class NoRendererError(Exception):
    """pypdfium2 is not installed; its text says what to install."""


def write_png(document: Document, page: int = 0, *, dots_per_inch: float = DOTS_PER_INCH) -> bytes:
    """One page of a document as the bytes of a PNG file, at most 12 000 dots to a side.

    Raises
    ------
    NoRendererError
        If pypdfium2 can't be imported.

    """
    try:
        import pypdfium2
    except ImportError:
        raise NoRendererError(
            "a PNG needs pypdfium2: install it, or `traverse-notebook[preview]`; PDF and SVG need nothing"
        ) from None
    one = replace(document, pages=(document.pages[page],), attachments=())
    side_mm = max(one.pages[0].width_mm, one.pages[0].height_mm)
    scale = min(dots_per_inch / 72.0, _MOST_DOTS / (side_mm * 72.0 / 25.4))
    pdf = pypdfium2.PdfDocument(write_pdf(one))
    try:
        image = pdf[0].render(scale=scale).to_pil()
    finally:
        pdf.close()
    file = io.BytesIO()
    image.save(file, "PNG", dpi=(scale * 72.0, scale * 72.0))
    return file.getvalue()
