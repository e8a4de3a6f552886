"""What a warning says to people outdoors: how a log is typed is told at the desk, by `check`, and never on paper."""

from __future__ import annotations

import re

from traverse.diagnostic import Diagnostic
from traverse.sheet.paper.words import plain, quoted
from traverse.wording import capital

_OUTDOORS = {
    "contact-missing": "Look for where one gives way to the other.",
    "overturned-unsupported": "Look for graded beds, cross-beds, scour.",
    "two-units": "Look at it again.",
}
"""What to do where all that the hint says is to be typed."""
OF_A_HEADING = {
    "pace-length": ("Pace", "Count it again over a taped length."),
}
"""What to do outdoors about a line of the heading, which is no place, and what to call it; of others nothing is."""
_LINE = re.compile(r" \((?:[^()]*, )?lines? [^()]*\)")
_PART = re.compile(r"([.;:?]) (?=[^`]*(?:`[^`]*`[^`]*)*$)")
"""Between parts of a hint, and not within what it shows to be typed."""
_READ_AS = re.compile(r"(?:down|contact|unconformity|fault) (?=[A-Z0-9][\w/?.+-]*$)")
"""The first word of a statement that shows one reading; the two are words of the page, such as `down SE`."""
_JOINED = re.compile(
    r"(?:or|and) |else (?=(?:ask|count|look|read|sight|take|walk)\b)",
    re.IGNORECASE,
)
"""What joins something to do to what is left out; before a fact `else` stays, which without it would be said for sure."""
_TYPED = re.compile(r"`([^`]*)`")
_WORD = re.compile(r"[a-z]{3,}|[A-Z]{3,}|\.\.\.|…")
"""What a reading never has, as it stands on a page: `322/68`, `N47E`, `64p +3`."""


def to_do_outdoors(diagnostic: Diagnostic) -> str:
    """What its hint asks for on the ground or on the page, in sentences; empty where it only says what to type.

    A part of the hint that shows a statement is left out; a reading between the same marks stays.
    """
    if not diagnostic.hints:
        return ""
    *pairs, last = _PART.split(diagnostic.hints[0])
    parts = [*zip(pairs[::2], pairs[1::2], strict=True), (last, "")]
    if all(_is_typing(words) for words, _ in parts):
        return _OUTDOORS.get(diagnostic.code, "")
    said, mark, left_out = "", ".", False
    for words, after in parts:
        if _is_typing(words):
            # What leads to a part that is left out ends there, and what follows it is joined to nothing.
            left_out = True
            if said and mark != "?":
                said, mark = f"{said.rstrip(' ;:,.')}. ", "."
            continue
        alone = _JOINED.sub("", words, count=1) if left_out else words
        said += f"{capital(alone) if mark in {'.', '?'} else alone}{after} "
        mark, left_out = after, False
    said = plain(quoted(said.rstrip(" .;:")))
    return said if said.endswith("?") else f"{said}."


def on_paper(words: str) -> str:
    """Words of a message without the lines of the log that they name in brackets: nobody has the log in hand outdoors.

    >>> on_paper("this place is on Lt (line 10) and on Ms")
    'this place is on Lt and on Ms'
    """
    return _LINE.sub("", words)


def _is_typing(words: str) -> bool:
    return words.startswith(("type ", "write ")) or any(
        _WORD.search(_READ_AS.sub("", typed)) for typed in _TYPED.findall(words)
    )
