"""Writes one page as SVG: text as text, its letters carried along, layers as named groups, millimetres throughout.

The page model's `y` runs up and SVG's runs down; every point is turned over here, and nothing is drawn under a
mirroring transform, so that text and dashes can be edited as they stand.
"""

from __future__ import annotations

import math
import re
from xml.sax.saxutils import quoteattr

from traverse.output.markup import xml_text
from traverse.output.svg_fonts import families, rules
from traverse.sheet.paper.document import Document
from traverse.sheet.paper.fonts import visible
from traverse.sheet.paper.look import drawn_with
from traverse.sheet.paper.page import Anchor, Command, Face, Group, Item, Page, Path, Pen, Text, Tile
from traverse.sheet.paper.style import MM_PER_POINT

_FACES = {
    Face.REGULAR: "",
    Face.SEMIBOLD: ' font-weight="600"',
    Face.BOLD: ' font-weight="700"',
    Face.ITALIC: ' font-style="italic"',
}
_ANCHORS = {Anchor.START: "", Anchor.MIDDLE: ' text-anchor="middle"', Anchor.END: ' text-anchor="end"'}


def write_svg(document: Document, page: int = 0) -> bytes:
    """One page of a document as the bytes of an SVG file.

    Raises
    ------
    ValueError
        If a coordinate is not finite, which is a fault of the panel that made it.

    """
    with drawn_with(document.look):
        return _written(document.pages[page])


def _written(page: Page) -> bytes:
    writer = _SvgWriter(page.height_mm)
    for item in page.items:
        writer.draw(item)
    width, height = _number(page.width_mm), _number(page.height_mm)
    head = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{width}mm" height="{height}mm"'
            f' viewBox="0 0 {width} {height}" xml:space="preserve" font-family={quoteattr(families(Face.REGULAR))}'
            # As the PDF sets type and joins lines: no pairs, no joined letters, ISO 32000-1's limit of a mitre.
            ' font-kerning="none" font-variant-ligatures="none" text-rendering="geometricPrecision"'
            ' fill="none" fill-rule="evenodd" clip-rule="evenodd" stroke-miterlimit="10">'
        ),
        f"<title>{xml_text(page.title)}</title>",
    ]
    letters = rules(writer.texts)
    style = [f"<style>{letters}</style>"] if letters else []
    if style or writer.definitions:
        head += ["<defs>", *style, *writer.definitions, "</defs>"]
    paper = f'<rect width="{width}" height="{height}" fill="#ffffff"/>'
    return "\n".join([*head, paper, *writer.lines, "</svg>", ""]).encode()


class _SvgWriter:
    """Lines of the file, and what they refer to."""

    def __init__(self, height_mm: float) -> None:
        self.height = height_mm
        self.lines: list[str] = []
        self.texts: list[Text] = []
        self.definitions: list[str] = []
        self._tiles: dict[Tile, str] = {}
        self._clips = 0
        self._layers: dict[str, int] = {}

    def draw(self, item: Item) -> None:
        if isinstance(item, Path):
            self._path(item)
        elif isinstance(item, Text):
            self._text(item)
        else:
            self._group(item)

    def _group(self, group: Group) -> None:
        attributes = ""
        if group.layer is not None:
            # The same layer may come again, but an id only once.
            name = re.sub(r"[^\w.-]+", "-", group.layer)
            count = self._layers[name] = self._layers.get(name, 0) + 1
            attributes += f" id={quoteattr(name if count == 1 else f'{name}-{count}')} class={quoteattr(f'layer {name}')}"
        if group.clip is not None:
            self._clips += 1
            name = f"clip-{self._clips}"
            self.definitions.append(
                f'<clipPath id="{name}"><path d="{self._traced(group.clip)}"/></clipPath>'
            )
            attributes += f' clip-path="url(#{name})"'
        self.lines.append(f"<g{attributes}>")
        for item in group.items:
            self.draw(item)
        self.lines.append("</g>")

    def _path(self, path: Path) -> None:
        fill = path.fill
        if isinstance(fill, Tile):
            fill = f"url(#{self._tile(fill)})"
        attributes = f' fill="{fill}"' if fill is not None else ""
        attributes += _stroke(path.pen) if path.pen is not None else ""
        self.lines.append(f'<path d="{self._traced(path.commands)}"{attributes}/>')

    def _text(self, text: Text) -> None:
        words = visible(text.text)
        if not words:
            return
        x, y = _number(text.at[0]), _number(self.height - text.at[1])
        attributes = f' x="{x}" y="{y}" font-size="{_number(text.size_pt * MM_PER_POINT)}"'
        self.texts.append(text)
        if families(text.face) != families(Face.REGULAR):
            attributes += f" font-family={quoteattr(families(text.face))}"
        attributes += f' fill="{text.colour}"{_FACES[text.face]}{_ANCHORS[text.anchor]}'
        if text.turn_deg:
            attributes += f' transform="rotate({_number(-text.turn_deg)} {x} {y})"'
        if text.halo is not None:
            wide = _number(2.0 * text.halo_mm)
            attributes += (
                f' stroke="{text.halo}" stroke-width="{wide}" stroke-linejoin="round" paint-order="stroke"'
            )
        self.lines.append(f"<text{attributes}>{xml_text(words)}</text>")

    def _traced(self, commands: tuple[Command, ...]) -> str:
        parts: list[str] = []
        for command in commands:
            numbers = [
                _number(self.height - value if index % 2 else value)
                for index, value in enumerate(command[1:])
            ]
            parts.append(command[0] + " ".join(numbers))
        return "".join(parts)

    def _tile(self, tile: Tile) -> str:
        if tile not in self._tiles:
            name = self._tiles[tile] = f"tile-{len(self._tiles) + 1}"
            inside = ""
            # Cells are counted from the page's lower left corner, as in the PDF.
            inner = _SvgWriter(tile.height_mm)
            if tile.commands:
                traced = inner._traced(tile.commands)
                inside = f'<path d="{traced}" stroke="#000000" stroke-width="{_number(tile.line_mm)}"/>'
            for x, y, radius in tile.dots:
                inside += (
                    f'<circle cx="{_number(x)}" cy="{_number(tile.height_mm - y)}" r="{_number(radius)}"'
                    ' fill="#000000"/>'
                )
            shift = _number(self.height - tile.height_mm)
            self.definitions.append(
                f'<pattern id="{name}" patternUnits="userSpaceOnUse" width="{_number(tile.width_mm)}"'
                f' height="{_number(tile.height_mm)}" patternTransform="translate(0 {shift})">{inside}</pattern>'
            )
        return self._tiles[tile]


def _stroke(pen: Pen) -> str:
    attributes = f' stroke="{pen.colour}" stroke-width="{_number(pen.width_mm)}"'
    if pen.dash_mm:
        attributes += f' stroke-dasharray="{" ".join(map(_number, pen.dash_mm))}"'
    if pen.round_cap:
        attributes += ' stroke-linecap="round"'
    return attributes


def _number(value: float) -> str:
    """Millimetres to a thousandth, without zeros at the end."""
    if not math.isfinite(value):
        raise ValueError(f"a coordinate is {value}")
    shown = f"{value + 1e-7:.3f}".rstrip("0").rstrip(".")
    return "0" if shown == "-0" else shown
