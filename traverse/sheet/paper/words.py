"""Words and figures as they are printed: wrapping, cutting, signs, thousands, arrows, dates."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Iterable
from functools import lru_cache
from itertools import pairwise

from traverse.log.items import Address
from traverse.log.readings import Slope, SlopeKind
from traverse.log.records import Log
from traverse.numerals import EN_DASH as EN_DASH
from traverse.numerals import MINUS as MINUS
from traverse.numerals import NO_BREAK as NO_BREAK
from traverse.numerals import NOTHING as NOTHING
from traverse.numerals import THOUSANDS as THOUSANDS
from traverse.numerals import number as number
from traverse.numerals import signed as signed
from traverse.sheet.paper.fonts import family, visible
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import Face
from traverse.wording import capital

ELLIPSIS = "\u2026"

_SEVERAL_BLANKS = re.compile(r" {2,}")
_FIGURES = re.compile(r"(\d+)")
_MONTHS = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
]


def plain(text: str) -> str:
    r"""User text on one line: blanks joined, control characters and marks that turn the reading order dropped.

    >>> plain("grey\tmarl,\n\x07 soft \u202eb")
    'grey marl, soft b'
    """
    return _SEVERAL_BLANKS.sub(" ", visible(text)).strip(" ")


def end_letter(letter: str) -> str:
    """The letter of a section's end, with a prime for the mark it is typed with.

    >>> end_letter("A'")
    'A′'
    """
    return plain(letter).replace("'", "′")


def quoted(message: str) -> str:
    """A message as it is printed: what is to be typed between quotation marks.

    >>> quoted("add `attitudes dip-right`")
    'add “attitudes dip-right”'
    """
    return _TYPED.sub(r"“\1”", message)


_TYPED = re.compile(r"`([^`]*)`")


_FIRST_TRIED = 64
"""Characters that are measured first of a word that may be too long for a line."""


def wrap(text: str, face: Face, size_pt: float, width_mm: float) -> tuple[str, ...]:
    """Lines no wider than `width_mm`, broken at blanks; a word that is wider than a line is broken inside.

    A no-break space holds its neighbours together. Empty text gives no line.
    """
    return _wrapped(text, face, family(face), size_pt, width_mm)


@lru_cache(maxsize=8192)
def _wrapped(text: str, face: Face, _family: str, size_pt: float, width_mm: float) -> tuple[str, ...]:
    """By the family that the look in force gives the face; a page is arranged in many ways with the same words."""
    blank = text_width_mm(" ", face, size_pt)
    lines: list[str] = []
    row: list[str] = []
    used = 0.0
    for word in _pieces(plain(text), face, size_pt, width_mm):
        wide = text_width_mm(word, face, size_pt)
        if row and used + blank + wide > width_mm:
            lines.append(" ".join(row))
            row, used = [], 0.0
        used += wide + (blank if row else 0.0)
        row.append(word)
    if row:
        lines.append(" ".join(row))
    return tuple(lines)


def _pieces(text: str, face: Face, size_pt: float, width_mm: float) -> Iterable[str]:
    """The words, those too long for a line in pieces that fit one."""
    for word in text.split(" "):
        at = 0
        while at < len(word):
            count = max(1, _fitting(word, face, size_pt, width_mm, at=at))
            yield word[at : at + count]
            at += count


def _fitting(text: str, face: Face, size_pt: float, width_mm: float, *, at: int = 0) -> int:
    """How many characters from one on fit the width; only about so many are measured, however long the text is."""
    rest = len(text) - at
    if rest <= _FIRST_TRIED and text_width_mm(text[at:], face, size_pt) <= width_mm:
        return rest
    low, high = 0, _FIRST_TRIED
    while high < len(text) - at and text_width_mm(text[at : at + high], face, size_pt) <= width_mm:
        low, high = high, 2 * high
    high = min(high, len(text) - at)
    while low < high:
        middle = (low + high + 1) // 2
        if text_width_mm(text[at : at + middle], face, size_pt) <= width_mm:
            low = middle
        else:
            high = middle - 1
    return low


def cut(text: str, face: Face, size_pt: float, width_mm: float) -> str:
    """The text if it fits, else as much of it as fits with an ellipsis, at a blank where one is near."""
    text = plain(text)
    if text_width_mm(text, face, size_pt) <= width_mm:
        return text
    room = width_mm - text_width_mm(ELLIPSIS, face, size_pt)
    kept = text[: _fitting(text, face, size_pt, room)] if room > 0.0 else ""
    head, _, _ = kept.rpartition(" ")
    if len(head) > 0.7 * len(kept):
        kept = head
    return kept.rstrip(" ,;:." + NO_BREAK) + ELLIPSIS


_LEAST_TITLE_MM = 12.0


def cut_before(whose: str, what: str, face: Face, size_pt: float, width_mm: float) -> str:
    """`Whose: what`, of which what it is stands whole: a long title is cut, or left out where next to nothing of it is left."""
    room = width_mm - text_width_mm(f": {what}", face, size_pt)
    kept = cut(whose, face, size_pt, room) if whose and room > _LEAST_TITLE_MM else ""
    return f"{kept}: {what}" if kept else cut(what[:1].upper() + what[1:], face, size_pt, width_mm)


def cut_lines(text: str, face: Face, size_pt: float, width_mm: float, *, most: int) -> tuple[str, ...]:
    """Wrapped into `most` lines at most, the last one ending in an ellipsis where more was said."""
    lines = wrap(text, face, size_pt, width_mm)
    if len(lines) <= most:
        return lines
    last = cut(lines[most - 1] + " " + lines[most], face, size_pt, width_mm)
    if not last.endswith(ELLIPSIS):
        last = cut(last + " " + ELLIPSIS * 3, face, size_pt, width_mm)
    return (*lines[: most - 1], last)


def azimuth(value_deg: float | None) -> str:
    """Three figures, 000 to 359, without a sign.

    >>> azimuth(7.4), azimuth(359.7), azimuth(None)
    ('007', '000', '–')
    """
    if value_deg is None or not math.isfinite(value_deg):
        return NOTHING
    return f"{round(value_deg) % 360:03d}"


def degrees(value_deg: float | None, *, places: int = 0) -> str:
    """An angle with its sign of degrees: `72°`."""
    return NOTHING if value_deg is None else number(value_deg, places=places) + "°"


def arrow(down_deg: float | None, toward_deg: float | None) -> str:
    """Dip to dip direction, or plunge to trend: `72° → 272°`; `flat` for a plane without a direction.

    >>> arrow(72.2, 272.0).replace("\u00a0", "_"), arrow(0.0, None)
    ('72°_→_272°', 'flat')
    """
    if down_deg is None or not math.isfinite(down_deg):
        return NOTHING
    if toward_deg is None:
        return "flat" if down_deg == 0.0 else degrees(down_deg)
    return f"{degrees(down_deg)}{NO_BREAK}→{NO_BREAK}{azimuth(toward_deg)}°"


def counted(count: int, thing: str) -> str:
    """A number of things: `1 leg`, `17 legs`."""
    return f"{count}{NO_BREAK}{thing}{'' if count == 1 else 's'}"


def natural(name: str) -> tuple[tuple[int, int, str], ...]:
    """Sorting key of names: 2 before 10, 12a after 12.

    >>> sorted(["10", "12a", "2", "12", "A-7"], key=natural)
    ['2', '10', '12', '12a', 'A-7']
    """
    return tuple(
        (0, int(piece), "") if piece.isascii() and piece.isdigit() else (1, 0, piece)
        for piece in _FIGURES.split(name)
        if piece
    )


def dates(days: Iterable[dt.date]) -> str:
    """Days in words: `14 July 2026`, `14–16 July 2026`, else their list.

    >>> dates([dt.date(2026, 7, 14), dt.date(2026, 7, 15)]), dates([dt.date(2026, 6, 30), dt.date(2026, 7, 2)])
    ('14–15 July 2026', '30 June 2026, 2 July 2026')
    """
    days = sorted(set(days))
    if not days:
        return ""
    first, last = days[0], days[-1]
    running = all((later - earlier).days == 1 for earlier, later in pairwise(days))
    if first == last or not running:
        return ", ".join(f"{day.day} {_MONTHS[day.month - 1]} {day.year}" for day in days)
    if (first.year, first.month) == (last.year, last.month):
        return f"{first.day}{EN_DASH}{last.day} {_MONTHS[first.month - 1]} {first.year}"
    return (
        f"{first.day} {_MONTHS[first.month - 1]}{'' if first.year == last.year else f' {first.year}'}"
        f" {EN_DASH} {last.day} {_MONTHS[last.month - 1]} {last.year}"
    )


def slope(reading: Slope | None) -> str:
    """A slope as read: `+3°`, `−8 %`; an en dash where none was."""
    if reading is None:
        return NOTHING
    unit = "°" if reading.kind is SlopeKind.DEGREES else NO_BREAK + "%"
    places = 0 if reading.value == round(reading.value) else 1
    return signed(reading.value, places=places) + unit + ("?" if reading.queried else "")


def address(where: Address) -> str:
    """A place in words: `station 8`, `leg 9–10, 22p, 6p left`."""
    if where.station is not None:
        return f"station{NO_BREAK}{where.station}"
    return ", ".join([f"leg{NO_BREAK}{leg_name(where)}", *along(where)])


def leg_name(where: Address) -> str:
    """A leg by its ends: `9–10`."""
    return "" if where.leg is None else f"{where.leg.start}{EN_DASH}{where.leg.end}"


def along(where: Address) -> tuple[str, ...]:
    """Where along its leg a place is, and how far off it."""
    words: list[str] = []
    if where.start is not None:
        stretch = where.start.written
        if where.end is not None:
            stretch = f"{stretch} to {where.end.written}"
        words.append(stretch)
    if where.offset is not None and where.side is not None:
        words.append(f"{where.offset.written} {where.side.value}")
    elif where.side is not None:
        words.append(where.side.value)
    return tuple(words)


def whole_title(log: Log) -> str:
    """The title as typed; the area where there is none."""
    return plain(log.heading.title or "") or plain(log.heading.area or "") or "Traverse"


def title_parts(log: Log) -> tuple[str, str]:
    """Title up to the first comma with a blank after it, and the rest as subtitle with a capital."""
    head, _, rest = whole_title(log).partition(", ")
    return head, capital(rest)
