"""The key for the copier: patterns instead of colours, letters on white plates, lines on white casings."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from traverse.diagnostic import Diagnostic, Outcome
from traverse.ground.records import Traverse
from traverse.sheet.compose.compose import Composer
from traverse.sheet.compose.sheet_one import SheetOne
from traverse.sheet.paper.document import Document
from traverse.sheet.paper.fonts import CAP_HEIGHT, width_mm
from traverse.sheet.paper.layers import COPIED, Copied, Layer
from traverse.sheet.paper.page import (
    Box,
    Group,
    Ink,
    Item,
    Page,
    Path,
    Pen,
    Role,
    Text,
    Tile,
    rectangle,
)
from traverse.sheet.paper.style import BLACK, COVERED, GREY_25, MM_PER_POINT, WHITE
from traverse.sheet.said.stops import gather, rock_line, units_on_sheet
from traverse.sheet.signs.pattern import unit_patterns
from traverse.sheet.template.reading import Template

_CASING_MM = 0.35
"""White to each side of a line."""
_HALO_MM, _PLATE_MM = 0.9, 0.4
"""White about words, and about a unit's letters."""
_DARK = 0.25
"""Lightness of what was blue: dark enough for a copy."""


def compose_grey(
    trav: Traverse,
    diagnostics: tuple[Diagnostic, ...],
    *,
    template: Template,
    mark: str,
    report: bool = False,
) -> Outcome[Document]:
    """All pages of a log's sheet as `compose` makes them, for black ink."""
    key = Composer(trav, diagnostics, template, mark).settle()
    return _Copier(trav, diagnostics, template, mark, key, report=report).compose()


class _Copier(Composer):
    """Draws the key, and puts the pattern of a unit on its ground."""

    kind = "grey"
    fills = "patterns"

    def __init__(
        self,
        trav: Traverse,
        diagnostics: tuple[Diagnostic, ...],
        template: Template,
        mark: str,
        like: SheetOne,
        *,
        report: bool,
    ) -> None:
        super().__init__(trav, diagnostics, template, mark, like, report=report)
        self.said.clear()
        stops = gather(trav)
        # On the sheet first: they are neighbours there, whatever stands between them in the list.
        shown = units_on_sheet(trav.log, trav.geology)
        ordered = (*shown, *(one for one in trav.log.units if one not in shown))
        self.tiles = unit_patterns(
            ordered,
            {one.letters: rock_line(one.letters, trav.log, stops) for one in shown},
            trav.ground.meeting,
        )

    def _document(self, pages: tuple[Page, ...]) -> Document:
        drawn = tuple(replace(page, items=tuple(for_copier(page.items, self.tiles))) for page in pages)
        return super()._document(drawn)


def for_copier(
    items: Iterable[Item], tiles: Mapping[str, Tile], *, patterned: bool = False
) -> Iterable[Item]:
    """The same drawing without colour; `tiles` holds the pattern of each unit by its letters.

    Letters of units stand on white where they have a halo, and everywhere in a `patterned` panel.
    """
    for item in items:
        if isinstance(item, Group):
            copied = _copied(item)
            inner = patterned or Copied.PATTERNED in copied
            inside = tuple(for_copier(item.items, tiles, patterned=inner))
            if Copied.CASED in copied:
                inside = (*_casings(inside), *inside)
            if item.layer is Layer.MAP:
                inside = tuple(_plates_below(_casings_below(inside)))
            elif item.layer is Layer.SECTION:
                inside = _plates_in_section(inside)
            yield replace(item, items=inside)
        elif isinstance(item, Text):
            yield from _text(item, patterned=patterned)
        else:
            pen = _pen(item.pen) if item.pen is not None else None
            fill: str | Tile | None = tiles.get(item.unit or "")
            if fill is None:
                fill = _grey(item.fill) if isinstance(item.fill, str) else item.fill
            # Beside sandstone in dots, loose dots are no sign of their own; no unit is white.
            yield replace(item, pen=pen, fill=WHITE if fill == COVERED else fill)


def in_black_ink(items: Iterable[Item]) -> Iterable[Item]:
    """The same drawing in greys that last, down to contours and rulings: these are what a handout is drawn on."""
    for item in items:
        if isinstance(item, Group):
            yield replace(item, items=tuple(in_black_ink(item.items)))
        elif isinstance(item, Text):
            yield replace(
                item, colour=_grey(item.colour), halo=_grey(item.halo) if item.halo is not None else None
            )
        else:
            pen = _pen(item.pen) if item.pen is not None else None
            if pen is not None and pen.ink is Ink.BASE:
                pen = replace(pen, colour=_BASE_GREY, width_mm=max(pen.width_mm, _BASE_LINE_MM))
            yield replace(item, pen=pen, fill=_grey(item.fill) if isinstance(item.fill, str) else item.fill)


def _copied(group: Group) -> Copied:
    return COPIED[group.layer] if group.layer is not None else Copied.AS_IT_IS


def _plates_below(layers: Iterable[Item]) -> Iterable[Item]:
    """White behind words under all lines instead of about each letter, where it would eat the bars and contacts by it."""
    plates: list[Item] = []
    above: list[Item] = []
    below: list[Item] = []
    for layer in layers:
        if not isinstance(layer, Group):
            above.append(layer)
            continue
        items: list[Item] = []
        for item in layer.items:
            named = Copied.NAMED in _copied(layer) or (isinstance(item, Text) and item.halo is not None)
            if isinstance(item, Text) and named and not item.turn_deg:
                plates.append(Path(commands=rectangle(_plate(item)), fill=WHITE))
                items.append(replace(item, halo=None))
            else:
                items.append(item)
        above.append(replace(layer, items=tuple(items)))
        if Copied.BELOW_PLATES in _copied(layer):
            below, above = [*below, *above], []
    yield from below
    if plates:
        yield Group(items=tuple(plates), layer=Layer.BEHIND_WORDS)
    yield from above


def _plates_in_section(items: tuple[Item, ...]) -> tuple[Item, ...]:
    """The same for a section, whose first group holds its grounds, one over the other, and then its lines."""
    if not items or not isinstance(items[0], Group):
        return items
    ground = items[0]
    plates: list[Item] = []
    rest: list[Item] = []
    for item in items[1:]:
        if not (isinstance(item, Text) and item.halo is not None and not item.turn_deg):
            rest.append(item)
            continue
        plates.append(Path(commands=rectangle(_plate(item)), fill=WHITE))
        if rest and rest[-1] == plates[-1]:
            rest.pop()
        rest.append(replace(item, halo=None))
    fills: list[Item] = []
    for item in ground.items:
        if isinstance(item, Path) and isinstance(item.fill, Tile):
            # A cover hides the pattern of what it lies on.
            fills += (replace(item, pen=None, fill=WHITE), item)
    lines = [one for one in ground.items if not (isinstance(one, Path) and isinstance(one.fill, Tile))]
    return (replace(ground, items=(*fills, *plates, *lines)), *rest)


def _casings(items: Iterable[Item]) -> Iterable[Item]:
    for item in items:
        if isinstance(item, Path) and item.pen is not None and item.fill is None:
            yield Path(
                commands=item.commands, pen=Pen(width_mm=item.pen.width_mm + 2 * _CASING_MM, colour=WHITE)
            )


def _casings_below(layers: Sequence[Item]) -> list[Item]:
    """White to the sides of lines over the patterns alone, from which it parts them: it would cut other lines.

    That beside a leg hid most of a dashed contact, and that beside a bar the triangle of a control.
    """
    casings: list[Item] = []
    found: list[Item] = []
    after = 0
    for layer in layers:
        if not isinstance(layer, Group):
            found.append(layer)
            continue
        casings += [one for one in layer.items if _is_casing(one)]
        found.append(replace(layer, items=tuple(one for one in layer.items if not _is_casing(one))))
        after = len(found) if layer.layer is Layer.UNITS else after
    if casings:
        found.insert(after, Group(items=tuple(casings), layer=Layer.UNITS))
    return found


def _is_casing(item: Item) -> bool:
    return isinstance(item, Path) and item.fill is None and item.pen is not None and item.pen.colour == WHITE


def _text(text: Text, *, patterned: bool) -> Iterable[Item]:
    letters = text.role is Role.UNIT_LETTERS
    if text.halo is not None or (patterned and letters):
        if letters:
            yield Path(commands=rectangle(_plate(text)), fill=WHITE)
        # A wide halo about letters in a low box would break its frame.
        text = replace(text, halo=WHITE, halo_mm=_PLATE_MM if letters else _HALO_MM)
    yield replace(text, colour=_letters(text.colour))


def _letters(colour: str) -> str:
    """As `_grey`, but black where that would make a grey of a colour: letters are thinner than lines."""
    grey = _grey(colour)
    return grey if grey == colour else BLACK


def _plate(text: Text) -> Box:
    wide = width_mm(text.text, text.face, text.size_pt)
    left = text.at[0] - text.anchor.value * wide
    high = CAP_HEIGHT * text.size_pt * MM_PER_POINT
    return Box(x=left, y=text.at[1], width=wide, height=high).inset(-_PLATE_MM)


def _grey(colour: str) -> str:
    """A colour as the grey that a copier needs: greys stay, others become dark."""
    red, green, blue = colour[1:3], colour[3:5], colour[5:7]
    if red == green == blue:
        return colour
    parts = [int(one, 16) for one in (red, green, blue)]
    # What is nearly grey, such as contours, keeps its lightness.
    if max(parts) - min(parts) < _NEARLY:
        return "#" + f"{round(sum(parts) / 3):02x}" * 3
    return "#" + f"{round(255 * _DARK):02x}" * 3


def _pen(pen: Pen) -> Pen:
    """A line that lasts: what fades goes in the first copy, so it becomes dark."""
    if pen.ink is not Ink.FADES:
        return replace(pen, colour=_grey(pen.colour))
    return replace(pen, colour=GREY_25, width_mm=max(pen.width_mm, _LEAST_LINE_MM))


_LEAST_LINE_MM = 0.2
_BASE_GREY, _BASE_LINE_MM = "#707070", 0.18
_NEARLY = 40
