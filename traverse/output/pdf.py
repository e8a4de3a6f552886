"""Writes a document as PDF/A: vectors, the family's fonts embedded, one optional-content layer for each named group.

The same document gives the same bytes on every day and machine; nothing of the clock or of a path goes in.
"""

from __future__ import annotations

import hashlib
import io
import math
import os
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import PurePosixPath
from threading import Lock
from typing import TYPE_CHECKING, Any

from reportlab import rl_config
from reportlab.pdfbase import pdfdoc
from reportlab.pdfbase.pdfmetrics import getFont
from reportlab.pdfgen.canvas import Canvas

from traverse.output.archive import KINDS, PDF_DATE, ended_streams, metadata, srgb_profile
from traverse.output.attached import described
from traverse.sheet.paper.document import Document
from traverse.sheet.paper.fonts import family, runs, visible, width_mm
from traverse.sheet.paper.look import drawn_with
from traverse.sheet.paper.page import (
    Command,
    Face,
    Group,
    Item,
    MapFrame,
    Page,
    Path,
    Pen,
    Text,
    Tile,
)
from traverse.sheet.paper.style import MM_PER_POINT
from traverse.version import __version__

if TYPE_CHECKING:
    from collections.abc import Iterator

_POINTS = 1.0 / MM_PER_POINT
_CAP_ROUND = 1
_FILL_AND_STROKE_MODE = 2


def write_pdf(document: Document) -> bytes:
    """The document as the bytes of a PDF file.

    Raises
    ------
    ValueError
        If a coordinate is not finite, which is a fault of the panel that made it.

    """
    with drawn_with(document.look):
        return _written(document)


def _written(document: Document) -> bytes:
    # Text encoding of streams costs a quarter in size and a third in time, and nothing needs it.
    rl_config.useA85 = 0
    file = io.BytesIO()
    first = document.pages[0]
    canvas = _SheetCanvas(
        file,
        pagesize=(first.width_mm * _POINTS, first.height_mm * _POINTS),
        pageCompression=1,
        invariant=1,
        pdfVersion=(1, 7),
        # Without this an unused Helvetica is named in the file.
        initialFontName=family(Face.REGULAR),
        lang="en",
    )
    canvas.set_day()
    canvas.setTitle(visible(document.title))
    canvas.setAuthor(visible(", ".join(document.authors)))
    canvas.setSubject(visible(document.subject))
    canvas.setKeywords("")
    program = f"traverse {__version__}"
    canvas.setCreator(program)
    canvas.setProducer(program)
    # A print dialog that fits the page to the paper makes the scale false.
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    for number, page in enumerate(document.pages, start=1):
        _page(canvas, page, number)
    canvas.attach(document.attachments)
    canvas.keep(metadata(document, program), srgb_profile())
    canvas.save()
    return ended_streams(file.getvalue(), canvas.offsets())


def _page(canvas: _SheetCanvas, page: Page, number: int) -> None:
    canvas.setPageSize((page.width_mm * _POINTS, page.height_mm * _POINTS))
    key = f"page-{number}"
    canvas.bookmarkPage(key)
    canvas.addOutlineEntry(visible(page.title), key)
    writer = _PdfWriter(canvas)
    for item in page.items:
        writer.draw(item)
    canvas.showPage()
    canvas.lay_on_earth(page)


class _PdfWriter:
    """Draws items on one page, and sets of the canvas's state only what changes."""

    def __init__(self, canvas: _SheetCanvas) -> None:
        self.canvas = canvas
        self.pen: Pen | None = None
        self.fill: str | None = None

    def draw(self, item: Item) -> None:
        if isinstance(item, Path):
            self._path(item)
        elif isinstance(item, Text):
            self._text(item)
        else:
            self._group(item)

    def _group(self, group: Group) -> None:
        if group.layer is not None:
            self.canvas.begin_layer(group.layer)
        if group.clip is None:
            for item in group.items:
                self.draw(item)
        else:
            with self._saved():
                self.canvas.clip_to(_traced(group.clip))
                for item in group.items:
                    self.draw(item)
        if group.layer is not None:
            self.canvas.end_layer()

    @contextmanager
    def _saved(self) -> Iterator[None]:
        """State of before comes back afterwards, here as in the file."""
        before = self.pen, self.fill
        self.canvas.saveState()
        yield
        self.canvas.restoreState()
        self.pen, self.fill = before

    def _path(self, path: Path) -> None:
        traced = _traced(path.commands)
        if path.pen is not None:
            self._set_pen(path.pen)
        if isinstance(path.fill, Tile):
            self.canvas.fill_tile(path.fill, traced)
            if path.pen is not None:
                self.canvas.draw(traced, stroke=True, fill=False)
            return
        if path.fill is not None:
            self._set_fill(path.fill)
        self.canvas.draw(traced, stroke=path.pen is not None, fill=path.fill is not None)

    def _set_pen(self, pen: Pen) -> None:
        before = self.pen
        if pen == before:
            return
        if before is None or pen.width_mm != before.width_mm:
            self.canvas.setLineWidth(pen.width_mm * _POINTS)
        if before is None or pen.colour != before.colour:
            self.canvas.setStrokeColorRGB(*_rgb(pen.colour))
        if before is None or pen.dash_mm != before.dash_mm:
            self.canvas.setDash([one * _POINTS for one in pen.dash_mm])
        if before is None or pen.round_cap != before.round_cap:
            self.canvas.setLineCap(_CAP_ROUND if pen.round_cap else 0)
        self.pen = pen

    def _set_fill(self, colour: str) -> None:
        if colour != self.fill:
            self.canvas.setFillColorRGB(*_rgb(colour))
            self.fill = colour

    def _text(self, text: Text) -> None:
        shown = self.canvas.words(text.text, text.face, text.size_pt)
        if not shown:
            return
        turn_rad = math.radians(text.turn_deg)
        sin, cos = math.sin(turn_rad), math.cos(turn_rad)
        back = text.anchor.value
        shift = back * width_mm(text.text, text.face, text.size_pt) if back else 0.0
        x = (text.at[0] - shift * cos) * _POINTS
        y = (text.at[1] - shift * sin) * _POINTS
        if not (math.isfinite(x) and math.isfinite(y)):
            raise ValueError(f"a coordinate of a text is {text.at}")
        turned = f"{cos:.6f} {sin:.6f} {-sin:.6f} {cos:.6f}" if text.turn_deg else "1 0 0 1"
        place = f"{turned} {x + _AWAY:.3f} {y + _AWAY:.3f} Tm".replace("-0.000 ", "0.000 ").replace(
            "-0.000000 ", "0.000000 "
        )
        if text.halo is not None:
            with self._saved():
                self._set_pen(Pen(width_mm=2.0 * text.halo_mm, colour=text.halo))
                self._set_fill(text.halo)
                self.canvas.setLineJoin(_CAP_ROUND)
                self.canvas.show(f"{place} {_FILL_AND_STROKE_MODE} Tr {shown}")
        self._set_fill(text.colour)
        self.canvas.show(f"{place} {shown}")


_AWAY = 1e-7
"""Points added before a figure is cut to 0.001: halves of that, as of a design in millimetres, stand well off the cut."""
_OPERATORS = {"M": "m", "L": "l", "C": "c", "Z": "h"}


def _traced(commands: tuple[Command, ...]) -> str:
    """Path operators in points; written out here, since the canvas's own path objects take four times as long."""
    parts: list[str] = []
    for command in commands:
        for number in command[1:]:
            if not math.isfinite(number):
                raise ValueError(f"a coordinate of a path is {number}")
            parts.append(f"{number * _POINTS + _AWAY:.3f}")
        parts.append(_OPERATORS[command[0]])
    return " ".join(parts).replace("-0.000", "0.000")


def _rgb(colour: str) -> tuple[float, float, float]:
    return (int(colour[1:3], 16) / 255.0, int(colour[3:5], 16) / 255.0, int(colour[5:7], 16) / 255.0)


_BEGINNING = Lock()


@contextmanager
def _no_clock() -> Iterator[None]:
    """Without the day that a build may set for the library, which nothing of a sheet shows, and which may be no number."""
    with _BEGINNING:
        day = os.environ.pop("SOURCE_DATE_EPOCH", None)
        try:
            yield
        finally:
            if day is not None:
                os.environ["SOURCE_DATE_EPOCH"] = day


class _SheetCanvas(Canvas):  # type: ignore[misc]  # reportlab ships no types
    """Canvas with layers (optional content, ISO 32000-1, 8.11), tiling patterns (8.7.3) and attached files (7.11.4)."""

    def __init__(self, *args: Any, **options: Any) -> None:
        with _no_clock():
            super().__init__(*args, **options)
        self._groups: dict[str, tuple[str, Any]] = {}
        self._tiles: dict[Tile, tuple[str, Any]] = {}
        self._words: dict[tuple[str, Face, float], str] = {}

    def begin_layer(self, name: str) -> None:
        if name not in self._groups:
            group = pdfdoc.PDFDictionary({"Type": pdfdoc.PDFName("OCG"), "Name": pdfdoc.PDFString(name)})
            self._groups[name] = f"oc{len(self._groups)}", self._doc.Reference(group)
        self._code.append(f"/OC /{self._groups[name][0]} BDC")

    def end_layer(self) -> None:
        self._code.append("EMC")

    def draw(self, traced: str, *, stroke: bool, fill: bool) -> None:
        """Draw path operators; areas are filled by the even-odd rule."""
        operator = {(True, True): "B*", (True, False): "S", (False, True): "f*", (False, False): "n"}[
            stroke, fill
        ]
        self._code.append(f"{traced} {operator}")

    def words(self, text: str, face: Face, size_pt: float) -> str:
        """Operators that show a text, each piece of it in the font that has it; empty for nothing to show."""
        key = text, face, size_pt
        found = self._words.get(key)
        if found is None:
            parts: list[str] = []
            for name, piece in runs(text, face):
                font = getFont(name)
                for subset, codes in font.splitString(piece, self._doc):
                    internal = font.getSubsetInternalName(subset, self._doc)
                    parts.append(f"{internal} {size_pt:g} Tf ({self._escape(codes)}) Tj")
            found = self._words[key] = " ".join(parts)
        return found

    def show(self, operators: str) -> None:
        """A text; the canvas's own text objects take twice as long, and most words of a table come again."""
        self._code.append(f"BT {operators} ET")

    def clip_to(self, traced: str) -> None:
        """Draw only inside a path from here to the end of the saved state."""
        self._code.append(f"{traced} W* n")

    def fill_tile(self, tile: Tile, traced: str) -> None:
        """Fill an area with a pattern, whose cells are counted from the page's corner."""
        if tile not in self._tiles:
            self._tiles[tile] = f"tile{len(self._tiles)}", self._doc.Reference(_pattern(tile))
        self._code.append(f"q /Pattern cs /{self._tiles[tile][0]} scn {traced} f* Q")

    def set_day(self) -> None:
        """The day that the metadata say; else a variable of the environment sets another, and the file's identity."""
        self.setDateFormatter(lambda *_: PDF_DATE)
        self._doc.signature = hashlib.md5(PDF_DATE.encode(), usedforsecurity=False)

    def attach(self, files: Iterable[tuple[str, bytes]]) -> None:
        """Carry files along."""
        names: list[Any] = []
        associated: list[Any] = []
        ordered = sorted(files)
        for (name, content), said in zip(ordered, described(ordered), strict=True):
            kind = KINDS.get(PurePosixPath(name.lower()).suffix, "application/octet-stream")
            stream = _stream({"Type": "EmbeddedFile"}, content)
            stream.dictionary["Subtype"] = f"/{kind.replace('/', '#2F')}"
            stream.dictionary["Params"] = pdfdoc.PDFDictionary(
                {
                    "Size": len(content),
                    # MD5, as the standard has it (ISO 32000-1, 7.11.4, table 46).
                    # As bytes: taken for text they are refused, or changed where they happen to be some.
                    "CheckSum": pdfdoc.PDFString(
                        hashlib.md5(content, usedforsecurity=False).digest(), enc="raw"
                    ),
                    "ModDate": pdfdoc.PDFString(PDF_DATE),
                }
            )
            shown = pdfdoc.PDFString(name)
            specification = pdfdoc.PDFDictionary(
                {
                    "Type": pdfdoc.PDFName("Filespec"),
                    "F": shown,
                    "UF": shown,
                    "Desc": pdfdoc.PDFString(said.words()),
                    # The text that the pages were made from (ISO 32000-2, 7.11.3).
                    "AFRelationship": pdfdoc.PDFName("Source"),
                    "EF": pdfdoc.PDFDictionary({"F": self._doc.Reference(stream)}),
                }
            )
            associated.append(self._doc.Reference(specification))
            names += [shown, associated[-1]]
        if names:
            tree = pdfdoc.PDFDictionary({"Names": pdfdoc.PDFArray(names)})
            self._doc.Catalog.Names = pdfdoc.PDFDictionary({"EmbeddedFiles": tree})
            self._catalogue("AF", pdfdoc.PDFArray(associated))

    def keep(self, packet: bytes, profile: bytes) -> None:
        """Say what the file is, and which colours its red, green and blue are (ISO 19005-2, 6.6.2 and 6.2.3)."""
        self._doc.Catalog.Metadata = _stream({"Type": "Metadata", "Subtype": "XML"}, packet, plain=True)
        colours = _stream({"N": 3}, profile)
        intent = {
            "Type": pdfdoc.PDFName("OutputIntent"),
            "S": pdfdoc.PDFName("GTS_PDFA1"),
            "OutputConditionIdentifier": pdfdoc.PDFString("sRGB"),
            "Info": pdfdoc.PDFString("sRGB, IEC 61966-2-1"),
            "DestOutputProfile": self._doc.Reference(colours),
        }
        self._catalogue("OutputIntents", pdfdoc.PDFArray([pdfdoc.PDFDictionary(intent)]))

    def offsets(self) -> list[int]:
        """Where each object begins in the file that was saved, by their numbers from 1."""
        numbers = self._doc.numberToId
        return [self._doc.idToOffset[numbers[number]] for number in sorted(numbers)]

    def _catalogue(self, key: str, value: Any) -> None:
        """An entry of the catalogue that reportlab does not know."""
        catalog = self._doc.Catalog
        catalog.__NoDefault__ = [*catalog.__NoDefault__, key]
        setattr(catalog, key, value)

    def showPage(self) -> None:  # noqa: N802  # reportlab's own name
        super().showPage()
        page = self._doc.Pages.pages[-1]
        inherited = page.check_format

        def check_format(document: Any) -> None:
            inherited(document)
            page.Resources.Properties = pdfdoc.PDFDictionary(dict(self._groups.values()))
            page.Resources.Pattern = pdfdoc.PDFDictionary(dict(self._tiles.values()))

        page.check_format = check_format

    def lay_on_earth(self, page: Page) -> None:
        """Say of the page that was last shown where its maps lie (ISO 32000-2, 12.9 and 12.10)."""
        known = [_viewport(one) for one in page.maps if one.epsg is not None]
        if known:
            shown = self._doc.Pages.pages[-1]
            shown.__NoDefault__ = [*shown.__NoDefault__, "VP"]
            shown.VP = pdfdoc.PDFArray(known)

    def save(self) -> None:
        if self._groups:
            order = pdfdoc.PDFArray([reference for _, reference in self._groups.values()])
            # ISO 19005-2, 6.9: the configuration has a name, and its order holds every layer.
            shown = pdfdoc.PDFDictionary({"Name": pdfdoc.PDFString("Layers"), "Order": order})
            self._catalogue("OCProperties", pdfdoc.PDFDictionary({"OCGs": order, "D": shown}))
        super().save()


def _stream(names: dict[str, str | int], content: bytes, *, plain: bool = False) -> Any:
    """A stream, compressed unless it is to be `plain`, with names or numbers in its dictionary."""
    stream = pdfdoc.PDFStream(content=content, filters=None if plain else [pdfdoc.PDFZCompress])
    for key, value in names.items():
        stream.dictionary[key] = pdfdoc.PDFName(value) if isinstance(value, str) else value
    return stream


_CORNERS = (0, 0, 0, 1, 1, 1, 1, 0)
"""Of a viewport: the lower left, and on clockwise."""


def _viewport(one: MapFrame) -> Any:
    """Where a map lies on the page and on the earth: its corners by latitude and longitude, and its grid."""
    box = one.box
    points = [round(value * _POINTS, 6) for value in (box.x, box.y, box.right, box.top)]
    grid = {
        "Type": pdfdoc.PDFName("PROJCS"),
        "EPSG": one.epsg,
        "WKT": pdfdoc.PDFString(one.wkt),
    }
    measure = {
        "Type": pdfdoc.PDFName("Measure"),
        "Subtype": pdfdoc.PDFName("GEO"),
        "Bounds": pdfdoc.PDFArray(list(_CORNERS)),
        "GCS": pdfdoc.PDFDictionary(grid),
        "GPTS": pdfdoc.PDFArray([f"{value:.10f}" for corner in one.corners_deg for value in corner]),
        "LPTS": pdfdoc.PDFArray(list(_CORNERS)),
    }
    return pdfdoc.PDFDictionary(
        {
            "Type": pdfdoc.PDFName("Viewport"),
            "BBox": pdfdoc.PDFArray(points),
            "Name": pdfdoc.PDFString("Map"),
            "Measure": pdfdoc.PDFDictionary(measure),
        }
    )


def _pattern(tile: Tile) -> Any:
    """A tiling pattern, in points."""
    strokes = [_traced(tile.commands)] if tile.commands else []
    if strokes:
        strokes = [f"{tile.line_mm * _POINTS:.4f} w", *strokes, "S"]
    for x, y, radius in tile.dots:
        # A line of no length with round ends is a dot.
        strokes.append(
            f"1 J {2 * radius * _POINTS:.4f} w {x * _POINTS:.4f} {y * _POINTS:.4f} m"
            f" {x * _POINTS:.4f} {y * _POINTS:.4f} l S"
        )
    stream = pdfdoc.PDFStream(content="\n".join(strokes))
    width, height = tile.width_mm * _POINTS, tile.height_mm * _POINTS
    entries = {
        "Type": pdfdoc.PDFName("Pattern"),
        "PatternType": 1,
        "PaintType": 1,
        "TilingType": 1,
        "XStep": width,
        "YStep": height,
        "BBox": pdfdoc.PDFArray([0, 0, width, height]),
        "Resources": pdfdoc.PDFDictionary({}),
    }
    for key, value in entries.items():
        stream.dictionary[key] = value
    return stream
