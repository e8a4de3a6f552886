"""The page of signs: every sign there is with its name and its measures, drawn from the table that the map draws from."""

from __future__ import annotations

from collections.abc import Sequence

from traverse.record import record
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import Anchor, Box, Face, Item, Page, Path, Pen, Text, polyline, rectangle
from traverse.sheet.paper.style import HEAD, LARGE, PENS, SMALL, line_mm
from traverse.sheet.paper.words import wrap
from traverse.sheet.signs.pattern import NUMBERS, PATTERNS
from traverse.sheet.signs.sign_list import SAMPLE_MM, sample
from traverse.sheet.signs.symbols import HEADINGS, LINES, SIGNS, Heading, symbol

_TITLE = "Signs"
_SAID = (
    "Lengths and widths in millimetres on paper, of rings and dots the diameter, of triangles and squares from the"
    " middle to a corner. Signs of planes and lines are turned to where they point; these lie as if they struck or"
    " ran east. Certain means seen: what it is, and where. Approximate, inferred and concealed tell how it is"
    " placed; a query doubts what it is, or that it is there. On the map an unconformity is a contact. Rocks have the numbers of the pattern chart of"
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
_LEAST_COLUMN_MM = 60.0
_QUERIED_MM = 10.4
"""From a line to the same line in doubt, in the list."""


@record(frozen=True, kw_only=True)
class _Entry:
    name: str
    words: str
    measures: str
    queried: bool = False


def signs_pages(*, width: float, height: float, frame: Box) -> tuple[Page, ...]:
    """All signs in sections, in as many columns and on as many pages as it takes.

    `width` and `height` are the paper's, `frame` is what may be filled, in millimetres.
    """
    return tuple(
        Page(width_mm=width, height_mm=height, items=tuple(items), title=_TITLE) for items in _laid(frame)
    )


def sections() -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Headings, and the names under each: every sign, line and pattern of rock once."""
    return (
        *((heading.value, _under(heading)) for heading in Heading),
        ("Rocks, in grey", tuple(NUMBERS)),
    )


def _under(heading: Heading) -> tuple[str, ...]:
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


def _entry(name: str) -> _Entry:
    if name in NUMBERS:
        return _Entry(name=name, words=name, measures=str(NUMBERS[name]))
    if name in LINES:
        queried = name.startswith(("contact ", "fault "))
        return _Entry(name=name, words=LINES[name], measures=pen_words(PENS[name]), queried=queried)
    sign = SIGNS[name]
    return _Entry(name=name, words=sign.words, measures=sign.measures)


def _laid(frame: Box) -> list[list[Item]]:
    """Pages of rows, in the fewest columns in which all fit one page, else in the most."""
    most = max(1, int((frame.width + _GAP_MM) / (_LEAST_COLUMN_MM + _GAP_MM)))
    for count in range(1, most):
        pages = _in_columns(frame, count)
        if len(pages) == 1:
            return pages
    return _in_columns(frame, most)


def _in_columns(frame: Box, count: int) -> list[list[Item]]:
    wide = (frame.width - (count - 1) * _GAP_MM) / count
    top = frame.top - _TOP_MM - len(_said_lines(frame)) * line_mm(SMALL)
    pages = [_page_head(frame)]
    column, y = 0, top
    for heading, names in sections():
        rows = [_row(_entry(name), wide) for name in names]
        for index, row in enumerate(rows):
            # A heading wants a few rows below it.
            wanted = row.up + row.down
            if index == 0:
                least = len(rows) if len(rows) <= _MOST_TOGETHER else _LEAST_ROWS
                wanted = _HEAD_MM + sum(one.up + one.down for one in rows[:least])
            new = index == 0
            if y - wanted < frame.y:
                column, y, new = column + 1, top, True
                if column == count:
                    column = 0
                    pages.append(_page_head(frame))
            left = frame.x + column * (wide + _GAP_MM)
            if new:
                pages[-1] += _heading(heading if index == 0 else f"{heading}, continued", left, y, wide)
                y -= _HEAD_MM
            y -= row.up
            pages[-1] += _drawn(row, left, y, wide)
            y -= row.down
        y -= _BETWEEN_MM
    return pages


def _said_lines(frame: Box) -> tuple[str, ...]:
    return wrap(_SAID, Face.REGULAR, SMALL, min(frame.width, 230.0))


def _page_head(frame: Box) -> list[Item]:
    items: list[Item] = [
        Text(at=(frame.x, frame.top - 3.7), text=_TITLE, face=Face.BOLD, size_pt=LARGE),
    ]
    items += [
        Text(at=(frame.x, frame.top - 7.6 - index * line_mm(SMALL)), text=line, size_pt=SMALL)
        for index, line in enumerate(_said_lines(frame))
    ]
    return items


def _heading(words: str, left: float, top: float, wide: float) -> list[Item]:
    return [
        Path(commands=polyline([(left, top), (left + wide, top)]), pen=PENS["block rule"]),
        Text(at=(left, top - 3.7), text=words, face=Face.SEMIBOLD, size_pt=HEAD),
    ]


@record(frozen=True, kw_only=True)
class _Row:
    entry: _Entry
    words: tuple[str, ...]
    measures: tuple[str, ...]
    """On the first line beside the words, or below them."""
    beside: bool
    up: float
    down: float


def _row(entry: _Entry, wide: float) -> _Row:
    start = _WORDS_MM + (_QUERIED_MM if entry.queried else 0.0)
    room = wide - start
    words = wrap(entry.words, Face.REGULAR, SMALL, room)
    used = text_width_mm(words[-1], Face.REGULAR, SMALL)
    beside = used + 2.0 + text_width_mm(entry.measures, Face.ITALIC, SMALL) <= room
    measures = (entry.measures,) if beside else wrap(entry.measures, Face.ITALIC, SMALL, room)
    heights = [
        y
        for item in _samples(entry, 0.0, 0.0)
        if isinstance(item, Path)
        for _, *numbers in item.commands
        for y in numbers[1::2]
    ]
    lines = len(words) + (0 if beside or not entry.measures else len(measures))
    up = max([1.1, *heights]) + _AIR_MM / 2
    text = 1.5 + (lines - 1) * line_mm(SMALL)
    down = max([text, *(-y for y in heights)]) + _AIR_MM / 2
    spare = max(0.0, _PITCH_MM - up - down) / 2
    return _Row(entry=entry, words=words, measures=measures, beside=beside, up=up + spare, down=down + spare)


def _samples(entry: _Entry, left: float, y: float) -> Sequence[Item]:
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


def _drawn(row: _Row, left: float, y: float, wide: float) -> list[Item]:
    entry = row.entry
    items = list(_samples(entry, left, y))
    at = left + _WORDS_MM + (_QUERIED_MM if entry.queried else 0.0)
    base = y - 0.85
    for line in row.words:
        items.append(Text(at=(at, base), text=line, size_pt=SMALL))
        base -= line_mm(SMALL)
    if row.beside:
        base += line_mm(SMALL)
        if entry.measures:
            items.append(
                Text(
                    at=(left + wide, base),
                    text=entry.measures,
                    face=Face.ITALIC,
                    size_pt=SMALL,
                    anchor=Anchor.END,
                )
            )
        return items
    for line in row.measures:
        items.append(Text(at=(at, base), text=line, face=Face.ITALIC, size_pt=SMALL))
        base -= line_mm(SMALL)
    return items
