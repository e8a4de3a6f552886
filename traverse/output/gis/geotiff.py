"""GeoTIFF (OGC 19-008r4) of the map of sheet 1, with the cautions on a strip below it.

The page is drawn as PDF and rendered by pypdfium2; GDAL writes the file, through rasterio.
"""

from __future__ import annotations

import io
import warnings
from dataclasses import replace

import numpy as np

from traverse.layers.records import About
from traverse.output.gis.extras import UnfitError, library
from traverse.output.pdf import write_pdf
from traverse.sheet.paper.document import Document
from traverse.sheet.paper.layers import Layer
from traverse.sheet.paper.look import drawn_with
from traverse.sheet.paper.page import Box, Face, Group, Item, MapFrame, Page, Path, Text, rectangle, shifted
from traverse.sheet.paper.style import SMALL, WHITE, line_mm
from traverse.sheet.paper.words import wrap

DOTS_PER_INCH = 300
_MOST_DOTS = 12_000
"""To a side, as of a PNG."""
_EDGE_MM = 1.0


def write_geotiff(document: Document, about: About) -> bytes:
    """The map of the first page as the bytes of a GeoTIFF, in its own grid; of a local one without a system.

    Raises `MissingExtraError` without rasterio or pypdfium2, `UnfitError` for a page without a map.
    """
    rasterio = library("rasterio", extra="gis", what="GeoTIFF")
    pypdfium2 = library("pypdfium2", extra="gis", what="GeoTIFF")
    page = document.pages[0]
    if not page.maps:
        raise UnfitError("this log has no map: nothing in it has a place")
    frame = page.maps[0]
    with drawn_with(document.look):
        alone = _alone(page, frame, about)
    side_mm = max(alone.width_mm, alone.height_mm)
    scale = min(DOTS_PER_INCH / 72.0, _MOST_DOTS / (side_mm * 72.0 / 25.4))
    pdf = pypdfium2.PdfDocument(write_pdf(replace(document, pages=(alone,), attachments=())))
    try:
        image = np.asarray(pdf[0].render(scale=scale).to_pil().convert("RGB"))
    finally:
        pdf.close()
    high, wide, _ = image.shape
    per_mm = frame.scale / 1000.0
    # A picture has whole dots: the sides of one are what makes all of them as wide and as high as the page.
    transform = rasterio.transform.Affine(
        alone.width_mm * per_mm / wide,
        0.0,
        frame.west_m,
        0.0,
        -alone.height_mm * per_mm / high,
        frame.south_m + frame.high_m,
    )
    try:
        crs = None if frame.epsg is None else rasterio.crs.CRS.from_epsg(frame.epsg)
    except rasterio.errors.CRSError as unknown:
        raise UnfitError(f"GDAL does not know EPSG:{frame.epsg}") from unknown
    file = io.BytesIO()
    with warnings.catch_warnings(), rasterio.MemoryFile() as memory:
        warnings.simplefilter("ignore", rasterio.errors.NotGeoreferencedWarning)
        with memory.open(
            driver="GTiff",
            width=wide,
            height=high,
            count=3,
            dtype="uint8",
            crs=crs,
            transform=transform,
            photometric="RGB",
            compress="deflate",
        ) as raster:
            raster.write(np.moveaxis(image, -1, 0))
            raster.update_tags(
                TIFFTAG_DOCUMENTNAME=about.title,
                TIFFTAG_IMAGEDESCRIPTION=about.words.replace("\N{NO-BREAK SPACE}", " "),
            )
        memory.seek(0)
        file.write(memory.read())
    return file.getvalue()


def _alone(page: Page, frame: MapFrame, about: About) -> Page:
    """The map without the rest of its page, what it is not for below it."""
    box = frame.box
    lines = [
        line
        for one in _sentences(about, frame)
        for line in wrap(one, Face.REGULAR, SMALL, box.width - 2 * _EDGE_MM)
    ]
    strip = len(lines) * line_mm(SMALL) + 2 * _EDGE_MM
    shown = [item for item in page.items if isinstance(item, Group) and item.layer is Layer.MAP]
    items: list[Item] = [
        Group(items=shifted(shown, -box.x, strip - box.y)),
        # Figures along the edge of the map reach below it.
        Path(commands=rectangle(Box(x=0.0, y=0.0, width=box.width, height=strip)), fill=WHITE),
    ]
    for number, line in enumerate(lines, start=1):
        items.append(Text(at=(_EDGE_MM, strip - number * line_mm(SMALL)), text=line, size_pt=SMALL))
    return Page(width_mm=box.width, height_mm=box.height + strip, items=tuple(items), title="Map")


def _sentences(about: About, frame: MapFrame) -> tuple[str, ...]:
    """Whose map it is, its scale and units, then what it is not for, whole."""
    head = " · ".join(words for what, words in about.told if what in {"title", "date", "party", "grid"})
    edges = (frame.west_m, frame.west_m + frame.wide_m, frame.south_m, frame.south_m + frame.high_m)
    west, east, south, north = (f"{one:.0f}" for one in edges)
    units = [words for what, words in about.told if what == "units"]
    return (
        head,
        f"Drawn at 1:{frame.scale:.0f}; the map reaches from {west} to {east} E and from {south} to {north} N.",
        *(f"Units, youngest first: {words}." for words in units),
        *(words for what, words in about.told if what in {"adjustment", "limits", "hazard", "local rules"}),
    )
