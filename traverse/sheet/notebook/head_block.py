"""The head of the page, a line for each statement, and the words that a line may begin with."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

from traverse.log.written_forms import DESCRIBING_FORMS, HEADING_FORMS, WALKING_FORMS
from traverse.sheet.notebook.records import TakenOver
from traverse.sheet.paper.block import framed, set_lines
from traverse.sheet.paper.fonts import width_mm as text_width_mm
from traverse.sheet.paper.page import Anchor, Block, Face, Item, Path, Text, polyline
from traverse.sheet.paper.style import HEAD, PENS, SMALL, line_mm
from traverse.sheet.paper.words import NO_BREAK, cut, plain, wrap
from traverse.sheet.said.emergency import calls
from traverse.wording import listed

ROOM_MM: Final = 8.0
"""A line that can be written on with cold hands."""
_NEW: Final = frozenset({"traverse", "date", "weather", "page"})
"""Another on each page."""
_ALWAYS: Final = _NEW | {"party", "instrument", "bearings", "declination", "attitudes", "pace"}
_NOT_HERE: Final = frozenset({"use", "terrain", "emergency"})
"""Files, which a page has none of, and what has a block of its own."""
_INDENT_MM: Final = 22.0
_HEAD_ROOM_MM: Final = 6.2
"""Above a line of the head, besides the words that stand under the one before."""


def head_block(taken: TakenOver, *, width: float) -> Block:
    """Each statement of the heading with what is known of it, else with a line to write on."""
    items = framed("Head of the page", width=width, aside="type it as it stands")
    y = -9.0
    for word, form in HEADING_FORMS.items():
        known = () if word in _NEW else taken.heading.get(word, ())
        if word == "notation":
            known = (form.form.partition(" ")[2],)
        if word in _NOT_HERE or not (known or word in _ALWAYS):
            continue
        for value in known or ("",):
            y = _line(items, word, plain(value), form.form.partition(" ")[2], y=y, width=width)
    return Block(items=tuple(items), height=3.0 - y - line_mm(HEAD))


def _line(items: list[Item], word: str, value: str, asked: str, *, y: float, width: float) -> float:
    """A statement from base `y`; the base of the next."""
    choices = asked.split("|") if "|" in asked and " " not in asked else []
    blank = not value and not choices
    if blank:
        y -= _HEAD_ROOM_MM - 1.15 * line_mm(HEAD)
    items.append(Text(at=(0.0, y), text=word, face=Face.BOLD, size_pt=HEAD))
    room = width - _INDENT_MM
    if blank:
        items.append(
            Path(commands=polyline([(_INDENT_MM, y - 0.9), (width, y - 0.9)]), pen=PENS["ruled line"])
        )
        hint = cut(_small(asked), Face.ITALIC, SMALL, room)
        items.append(Text(at=(width, y - 3.6), text=hint, face=Face.ITALIC, size_pt=SMALL, anchor=Anchor.END))
        return y - 4.2 - line_mm(SMALL)
    # What is to be ringed stands with wide gaps, and never breaks inside a word.
    words = value or "   ".join(choices).replace(" ", "\u2002")
    lines = wrap(words if value else words.replace("\u2002\u2002\u2002", " \u2002"), Face.REGULAR, HEAD, room)
    return set_lines(items, lines, x=_INDENT_MM, y=y, size_pt=HEAD) - 0.15 * line_mm(HEAD)


def units_block(taken: TakenOver, *, width: float) -> Block | None:
    """The units that were named, youngest first; None without any."""
    items = framed("Units", width=width, aside="youngest first")
    named = ", ".join(f"{unit.letters}{NO_BREAK}{plain(unit.name)}" for unit in taken.units)
    if not named:
        return None
    y = set_lines(items, wrap(named, Face.REGULAR, HEAD, width), y=-8.0, size_pt=HEAD)
    return Block(items=tuple(items), height=3.0 - y - line_mm(HEAD))


def _small(form: str) -> str:
    """What a form asks for, in small letters and in words; a letter that is typed as it stands is kept.

    >>> _small("VALUE E|W, YEAR"), _small("up|down|POINT WORDS")
    ('value E or W, year', 'up, down or point words')
    """
    form = re.sub(r"\w+(?:\|\w+)+", lambda found: listed(found[0].split("|"), last="or"), form)
    return re.sub(r"[A-Z]{2,}", lambda found: found[0].lower(), form)


def word_blocks(*, width: float) -> Iterable[Block]:
    """How lines are written: the words of a walk, then those of what is there, alike ones together."""
    for title, forms in (("Words for the way", WALKING_FORMS), ("Words for what is there", DESCRIBING_FORMS)):
        alike: dict[str, list[str]] = {}
        for word, one in forms.items():
            rest = one.form.removeprefix(f"{word} ").partition(", or in the heading")[0]
            alike.setdefault(_small(rest), []).append(word)
        items = framed(title, width=width)
        y = -8.0
        for rest, words in alike.items():
            said = ", ".join(words)
            wide = text_width_mm(said, Face.BOLD, SMALL)
            last = wrap(said, Face.BOLD, SMALL, width)
            indent = max(_INDENT_MM, wide + 3.0)
            if len(last) == 1 and indent + text_width_mm(rest, Face.REGULAR, SMALL) <= width:
                items.append(Text(at=(0.0, y), text=said, face=Face.BOLD, size_pt=SMALL))
            else:
                y, indent = set_lines(items, last, y=y, face=Face.BOLD, size_pt=SMALL), _INDENT_MM
            y = set_lines(
                items, wrap(rest, Face.REGULAR, SMALL, width - indent), x=indent, y=y, size_pt=SMALL
            )
        yield Block(items=tuple(items), height=3.0 - y - line_mm(SMALL))


def emergency_block(taken: TakenOver, *, width: float) -> Block:
    """What must be known before help can be called: as the log has it, else with a line to write on."""
    aside = "as in the log: look whether it still holds" if taken.emergency else "fill in before you go"
    items = framed("In an emergency", width=width, aside=aside)
    y = -11.5
    help_by = calls(taken.emergency)
    left = max(text_width_mm(one.name, Face.REGULAR, HEAD) for one in help_by) + 2.0
    for one in help_by:
        items.append(Text(at=(0.0, y), text=one.name, size_pt=HEAD))
        told = wrap(one.words, Face.SEMIBOLD, HEAD, width - left) if one.words else ()
        set_lines(items, told, x=left, y=y, face=Face.SEMIBOLD, size_pt=HEAD)
        y -= max(0, len(told) - 1) * line_mm(HEAD)
        items.append(Path(commands=polyline([(left, y - 0.9), (width, y - 0.9)]), pen=PENS["ruled line"]))
        y -= ROOM_MM
    return Block(items=tuple(items), height=4.0 - y - ROOM_MM)
