"""The page of signs: every sign there is with its name and its measures, drawn from the table that the map draws from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from traverse.record import record
from traverse.sheet.paper.block import HEAD_BASE_MM, framed, set_lines
from traverse.sheet.paper.filling import FilledTo, Pages
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import (
    Anchor,
    Block,
    Box,
    Face,
    Item,
    Page,
    Path,
    Pen,
    Text,
    polyline,
    rectangle,
    shifted,
)
from traverse.sheet.paper.style import HEAD, LARGE, PENS, SMALL, line_mm
from traverse.sheet.paper.words import wrap
from traverse.sheet.signs.pattern import NUMBERS, PATTERNS
from traverse.sheet.signs.sign_list import SAMPLE_MM, sample
from traverse.sheet.signs.symbols import HEADINGS, LINES, SIGNS, SignHeading, symbol

SIGNS_TITLE = "Signs"
_SAID = (
    "Lengths and widths in millimetres on paper, of rings and dots the diameter, of triangles and squares from the"
    " middle to a corner. Signs of planes and lines are turned to where they point; these lie as if they struck or"
    " ran east. Certain means seen: what it is, and where. Approximate, inferred and concealed tell how it is"
    " placed; a query doubts what it is, or that it is there. On the map an unconformity is a contact, on a section a wave. Rocks have the numbers of the pattern chart of"
    " FGDC-STD-013-2006."
)
_HEAD_MM = 5.8
_BETWEEN_MM = 1.2
_LEAST_ROWS, _MOST_TOGETHER = 3, 6
"""Rows that stand below a heading at least, and a section short enough to be kept whole."""
_TOP_MM = 7.0
_WORDS_MM = 11.4
_PITCH_MM = 4.6
_AIR_MM = 0.6
_GAP_MM = 6.0
_LEAST_COLUMN_MM = 50.0
_QUERIED_MM = 10.4
"""From a line to the same line in doubt, in the list."""


@record(frozen=True, kw_only=True)
class _PageEntry:
    name: str
    words: str
    measures: str
    queried: bool = False


def signs_pages(*, width: float, height: float, frame: Box) -> tuple[Page, ...]:
    """All signs in sections, in as many columns and on as many pages as it takes.

    `width` and `height` are the paper's, `frame` is what may be filled, in millimetres.
    """
    return _laid(frame).made(width=width, height=height, title=SIGNS_TITLE)


def sections() -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Headings, and the names under each: every sign, line and pattern of rock once."""
    return (
        *((heading.value, _under(heading)) for heading in SignHeading),
        ("Rocks, in grey", tuple(NUMBERS)),
    )


def _under(heading: SignHeading) -> tuple[str, ...]:
    """In the order of the legend, but what stands by itself before what is shown on a line."""
    names = [name for name, its in HEADINGS.items() if its is heading]
    return tuple(sorted(names, key=lambda name: name in SIGNS and SIGNS[name].shown_on is not None))


def pen_words(pen: Pen) -> str:
    """Width and dashes of a line: `0.25, dash 3.5, gap 0.75`."""
    words = f"{pen.width_mm:g}"
    if not pen.dash_mm:
        return words
    if pen.round_cap and pen.dash_mm[0] < pen.width_mm:
        return f"dots {words}, every {sum(pen.dash_mm):g}"
    names = ("dash", "gap")
    return ", ".join([words, *(f"{names[i % 2]} {one:g}" for i, one in enumerate(pen.dash_mm))])


def _entry(name: str) -> _PageEntry:
    if name in NUMBERS:
        return _PageEntry(name=name, words=name, measures=str(NUMBERS[name]))
    if name in LINES:
        queried = name.startswith(("contact ", "fault "))
        return _PageEntry(name=name, words=LINES[name], measures=pen_words(PENS[name]), queried=queried)
    sign = SIGNS[name]
    return _PageEntry(name=name, words=sign.words, measures=sign.measures)


def _laid(frame: Box) -> Pages:
    """Pages of rows, in the fewest columns in which all fit one page, else in the most."""
    most = max(1, int((frame.width + _GAP_MM) / (_LEAST_COLUMN_MM + _GAP_MM)))
    for count in range(1, most):
        pages = _in_columns(frame, count)
        if pages.count == 1:
            return pages
    return _in_columns(frame, most)


def _in_columns(frame: Box, count: int) -> Pages:
    pages, at = Pages.of(frame, columns=count, gap=_GAP_MM, heads=(_page_head(frame),)), FilledTo()
    for heading, names in sections():
        rows = [_row(_entry(name), pages.width) for name in names]
        head, further = (_head(words, pages.width) for words in (heading, f"{heading}, continued"))
        for index, row in enumerate(rows):
            # A heading wants a few rows below it.
            wanted = row.height
            if index == 0:
                least = len(rows) if len(rows) <= _MOST_TOGETHER else _LEAST_ROWS
                wanted = head.height + sum(one.height for one in rows[:least])
            here, at = at, pages.fitting(wanted, at)
            if index == 0 or at != here:
                at = pages.put(head if index == 0 else further, at)
            at = pages.put(row, at)
        at = replace(at, used=at.used + _BETWEEN_MM)
    return pages


def _head(words: str, width: float) -> Block:
    """A heading under its rule, in as many lines as it takes."""
    first, *more = wrap(words, Face.SEMIBOLD, HEAD, width)
    items = framed(first, width=width)
    below = HEAD_BASE_MM + line_mm(HEAD)
    set_lines(items, more, y=-below, face=Face.SEMIBOLD, size_pt=HEAD)
    return Block(items=tuple(items), height=_HEAD_MM + len(more) * line_mm(HEAD))


def _page_head(frame: Box) -> Block:
    items: list[Item] = [Text(at=(0.0, -3.7), text=SIGNS_TITLE, face=Face.BOLD, size_pt=LARGE)]
    said = wrap(_SAID, Face.REGULAR, SMALL, min(frame.width, 230.0))
    set_lines(items, said, y=-7.6)
    return Block(items=tuple(items), height=_TOP_MM + len(said) * line_mm(SMALL))


def _row(entry: _PageEntry, wide: float) -> Block:
    """A sample, its words, and its measures on the first line beside them or below them."""
    start = _WORDS_MM + (_QUERIED_MM if entry.queried else 0.0)
    room = wide - start
    words = wrap(entry.words, Face.REGULAR, SMALL, room)
    used = text_width_mm(words[-1], Face.REGULAR, SMALL)
    beside = used + 2.0 + text_width_mm(entry.measures, Face.ITALIC, SMALL) <= room
    measures = (entry.measures,) if beside else wrap(entry.measures, Face.ITALIC, SMALL, room)
    items = [*_samples(entry, 0.0, 0.0)]
    heights = [
        y for item in items if isinstance(item, Path) for _, *numbers in item.commands for y in numbers[1::2]
    ]
    lines = len(words) + (0 if beside or not entry.measures else len(measures))
    up = max([1.1, *heights]) + _AIR_MM / 2
    text = 1.5 + (lines - 1) * line_mm(SMALL)
    down = max([text, *(-y for y in heights)]) + _AIR_MM / 2
    spare = max(0.0, _PITCH_MM - up - down) / 2
    base = set_lines(items, words, x=start, y=-0.85)
    if not beside:
        set_lines(items, measures, x=start, y=base, face=Face.ITALIC)
    elif entry.measures:
        items.append(
            Text(
                at=(wide, base + line_mm(SMALL)),
                text=entry.measures,
                face=Face.ITALIC,
                size_pt=SMALL,
                anchor=Anchor.END,
            )
        )
    return Block(items=shifted(items, 0.0, -up - spare), height=up + down + 2.0 * spare)


def _samples(entry: _PageEntry, left: float, y: float) -> Sequence[Item]:
    if entry.name in SIGNS and SIGNS[entry.name].row_of is not None and SIGNS[entry.name].turns:
        return symbol(entry.name, (left + SAMPLE_MM / 2, y), turn_deg=90.0)
    if entry.name in NUMBERS:
        box = Box(x=left, y=y - 1.7, width=SAMPLE_MM, height=3.4)
        return [
            Path(commands=rectangle(box), fill=PATTERNS[entry.name].tile),
            Path(commands=rectangle(box), pen=PENS["unit box"]),
        ]
    items = list(sample(entry.name, left, y, ()))
    if entry.queried:
        items += _in_doubt(entry.name, left + _QUERIED_MM, y)
    return items


def _in_doubt(name: str, left: float, y: float) -> list[Item]:
    """A line with its query, as on the map: the letter in a break, 0.75 clear on both sides."""
    middle = left + SAMPLE_MM / 2
    pieces = ((middle - 1.25, left), (middle + 1.25, left + SAMPLE_MM))
    return [
        *(Path(commands=polyline([(start, y), (end, y)]), pen=PENS[name]) for start, end in pieces),
        Text(at=(middle, y - 0.85), text="?", face=Face.ITALIC, size_pt=SMALL, anchor=Anchor.MIDDLE),
    ]
