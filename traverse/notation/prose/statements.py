"""Readings that stand among words, where nothing is drawn or listed of them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from traverse.log.described import DESCRIBED, Rows
from traverse.log.items import Contact
from traverse.notation.parse import Statement, as_statement

_BEGINS = re.compile(
    r"(?<![\w`'/-])(?:"
    + "|".join(sorted(word for word, one in DESCRIBED.items() if one.counted is not None or word == "tops"))
    + r"|elevation|unit)(?=[ \t]+\S)",
    re.IGNORECASE,
)
_POINTS_ELSEWHERE = re.compile(
    r"\b(?:a|above|after|as|at|before|below|by|cf|compare|for|from|in|like|near|next|no|not|of|on|same|see|than|that|the|this|to|under|"
    r"with|without)\b\W*$",
    re.IGNORECASE,
)
"""Words before one that speaks of a reading which stands elsewhere."""
_PARTED = re.compile(r"(?:^|[;,.(\n])[ \t]*(?:and[ \t]+)?$", re.IGNORECASE)
_ENDS = re.compile(r"[;,\n)]|\.(?=\s|$)")
_PLANE = re.compile(r"(?:/|->|→)[ \t]*(?:\d|vert)|\brake[ \t]+\d", re.IGNORECASE)
_LABEL = re.compile(r"(?=.*\d)(?:.*[^\W\d]|.{3})")
_MOST_BEGUN, _MOST_ENDS = 10, 4
"""So many words are looked at in one text, and so many ends of what they begin."""
_READINGS = {word for word, one in DESCRIBED.items() if one.rows is Rows.ATTITUDES}
_BORDERS = {word for word, one in DESCRIBED.items() if one.record is Contact}
SIDED = {"tops", "unit"}
"""Words of which prose is full: they begin a statement only where the words before them have ended."""
UPSIDE_DOWN = re.compile(
    r"(?:the[ \t]+)?(?:beds?[ \t]+)?(?:(?:are|is|lies?)[ \t]+)?(?:overturned|upside[ -]down)[.!]?",
    re.IGNORECASE,
)
"""Words that say of the beds of a place that they are overturned, and nothing else."""


_ATTITUDE = re.compile(
    r"(?<![\w/.,:+-])(?:(?P<azimuth>\d{3})/(?P<dip>\d{2})|[NS]\d{1,2}[EW]/(?P<letter_dip>\d{1,2})[NESW]{1,2})"
    r"(?![\w/%°]|[.,:]\d|[ \t]*(?:c?m|mm|km|ft|feet|metres?|mesh|p|paces)\b)"
)
_NUMBERED = re.compile(
    r"(?:\b(?:bags?|box(?:es)?|film|grid|map|no|nos|nr|number|page|photos?|plate|ref|samples?|sheets?|slides?)\b|№|#)[\s.:]*(?:[\w./]+[,\s]+(?:and\s+)?)?$",
    re.IGNORECASE,
)
"""What is counted so, and no plane."""


class Begun(NamedTuple):
    """A statement among words."""

    at: int
    """Where it begins."""
    typed: str
    """As it would stand on a line of its own."""
    statement: Statement


def statements_in(text: str) -> Iterator[Begun]:
    """Statements that hold a reading, a label or a contact, among words.

    >>> [one.typed for one in statements_in("shale, black; joint 120/80, sample VG-09 from the base")]
    ['joint 120/80', 'sample VG-09 from the base']
    >>> [one.typed for one in statements_in("as bed 120/80; beds 20 cm; sample taken; hill tops W of here")]
    []
    """
    past = 0
    for count, found in enumerate(_BEGINS.finditer(text)):
        if count == _MOST_BEGUN:
            return
        at = found.start()
        if at < past or _POINTS_ELSEWHERE.search(text[:at]) is not None:
            continue
        word = found[0].lower()
        if word in SIDED and _PARTED.search(text[:at]) is None:
            continue
        if (one := _begun(text, at, word)) is not None:
            past = at + len(one.typed)
            yield one


def attitudes_in(text: str) -> Iterator[str]:
    """Figures among words that read as a plane, and as nothing else.

    >>> list(attitudes_in("shale 338/35, dips N35E/63NW")), list(attitudes_in("path 120/30 m wide, sheet 104/12, 400/20, 12/2026"))
    (['338/35', 'N35E/63NW'], [])
    """
    for found in _ATTITUDE.finditer(text):
        azimuth, dip = int(found["azimuth"] or 0), int(found["dip"] or found["letter_dip"])
        if azimuth <= 360 and dip <= 90 and _NUMBERED.search(text[: found.start()]) is None:
            yield found[0]


def _begun(text: str, at: int, word: str) -> Begun | None:
    """The longest statement that begins there and ends where words may."""
    ends = [found.start() for found in _ENDS.finditer(text, at)][:_MOST_ENDS]
    whole = [len(text)] if len(ends) < _MOST_ENDS else []
    for end in (*whole, *reversed(ends)):
        typed = text[at:end].strip(" \t")
        if "\n" in typed or not _holds_enough(word, typed):
            continue
        statement = as_statement(typed)
        if statement is not None and _is_reading(word, statement):
            return Begun(at, typed, statement)
    return None


def _holds_enough(word: str, typed: str) -> bool:
    """Whether it is worth reading."""
    if word in _READINGS:
        return _PLANE.search(typed) is not None
    return word not in _BORDERS or "/" in typed


def _is_reading(word: str, statement: Statement) -> bool:
    kinds = {token.type for token in statement}
    if word in _BORDERS:
        return "UNITPAIR" in kinds and bool(kinds & {"CERTAINTY", "PAIR", "ARROW"})
    if word == "sample":
        return _LABEL.match(statement[1]) is not None
    if word == "photo":
        return "LOOKING" in kinds
    if word == "elevation":
        return "LENGTH" in kinds
    return word != "unit" or len(statement) == 2
