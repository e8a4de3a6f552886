"""The word, name or figure that was probably meant, where one is near."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from difflib import SequenceMatcher, get_close_matches
from statistics import median
from typing import NamedTuple

from traverse.trade import APART_COUNT_SHARE, APART_COUNT_SPREADS

LONGEST_NAME = 60
"""Characters of a name or label; a longer one fits no sheet."""
_MISSPELT = 0.8
"""As like as this a long word is another; common practice, no source."""
_NEAR = 500
"""Names that are looked through for one that is only alike: those nearest in the walk."""
_LEADING_ZEROS = re.compile(r"(?<![0-9])0+(?=[0-9])")
_MISREAD = {"1": "7", "7": "1", "4": "9", "9": "4", "5": "6", "6": "5", "3": "8", "8": "3"}
"""Figures that one hand writes like another."""


def near_word(word: str, known: Sequence[str]) -> str | None:
    """The one of a few words that another is a misspelling of; None where it is one of them, or like none.

    >>> near_word("altimter", ("altimeter", "map")), near_word("altimeter", ("altimeter",)), near_word("gps", ("map",))
    ('altimeter', None, None)
    """
    return None if word in known else next(iter(get_close_matches(word, known, n=1, cutoff=_MISSPELT)), None)


def lookalike(name: str) -> str:
    """What a name looks like on a page: case, leading zeros and the making of accents apart.

    >>> lookalike("07A") == lookalike("7a")
    True
    """
    key = name.lower() if name.isascii() else unicodedata.normalize("NFC", name).casefold()
    return _LEADING_ZEROS.sub("", key) if "0" in key else key


def swapped(word: str) -> list[str]:
    """The word with two letters that stand side by side exchanged, in each place.

    >>> swapped("ot"), swapped("bde")
    (['to'], ['dbe', 'bed'])
    """
    return [
        word[:at] + word[at + 1] + word[at] + word[at + 2 :]
        for at in range(len(word) - 1)
        if word[at] != word[at + 1]
    ]


def figure_too_many(name: str, meant: str) -> bool:
    """Whether a number is another with one figure too many.

    >>> figure_too_many("11", "1"), figure_too_many("1", "11"), figure_too_many("T1", "1")
    (True, False, False)
    """
    return name.isdecimal() and any(meant == name[:at] + name[at + 1 :] for at in range(len(name)))


def misread(figures: str) -> tuple[frozenset[str], ...]:
    """Figures of which the given ones are one slip away, the commoner slips first.

    Two exchanged; one left out, or one written twice; one for another.

    >>> [("131" in misread(one)[k]) for k, one in enumerate(("113", "31", "181"))]
    [True, True, True]
    """
    digits = "0123456789"
    lost = {figures[:at] + one + figures[at:] for at in range(len(figures) + 1) for one in digits}
    doubled = {figures[:at] + figures[at + 1 :] for at in range(len(figures))}
    other = {figures[:at] + one + figures[at + 1 :] for at in range(len(figures)) for one in digits}
    return frozenset(swapped(figures)), frozenset(lost | doubled), frozenset(other - {figures})


_LIKE_FIGURES = str.maketrans("OoIl", "0011")
_FIGURES = re.compile(
    r"[+-]?[NSns]?(?P<body>[\dOoIl]+(?:\.[\dOoIl]+)?(?:/[\dOoIl]+)?)"
    r"(?P<unit>[NSEWnsew]{1,2}|[sd]?p|m|ft|[°%])?,?"
)


_MARKED = re.compile(r"[1-9]\d{0,2}([,.' ])\d{3}(?:\1\d{3})*(?:(?!\1)[.,](\d+))?")
_MARKED_IN = re.compile(
    rf"(?<![^ \t]){_MARKED.pattern}(?=[ \t]*(?:[sd]?p|m|ft|metres?|feet|paces?)?(?:[ \t]|$))"
)


def without_marks(figure: str, *, comma: bool = False) -> str | None:
    """A figure without the marks between its thousands; None where it has none, and for a point or a decimal `comma` alone.

    >>> without_marks("1,064"), without_marks("1.064,5"), without_marks("1'064"), without_marks("412 350")
    ('1064', '1064.5', '1064', '412350')
    >>> without_marks("62,5"), without_marks("0,125"), without_marks("1.064"), without_marks("1,064", comma=True)
    (None, None, None, None)
    """
    marked = _MARKED.fullmatch(figure)
    if marked is None:
        return None
    mark, decimals = marked[1], marked[2]
    if decimals is None and figure.count(mark) == 1 and (mark == "." or (mark == "," and comma)):
        return None
    whole = figure if decimals is None else figure[: -len(decimals) - 1]
    return re.sub(r"\D", "", whole) + ("" if decimals is None else f".{decimals}")


def marked_figure(text: str) -> tuple[int, str, str] | None:
    """Where in a line a figure stands whose thousands are parted so that it is read as two, as typed, and without the marks.

    >>> marked_figure("1 064m +3"), marked_figure("1,064m"), marked_figure("64p 047")
    ((0, '1 064', '1064'), None, None)
    """
    for found in _MARKED_IN.finditer(text):
        joined = without_marks(found[0], comma=True)
        if joined is not None and (found[1] != " " or text[found.end() :].lstrip(" \t")[:1].isalpha()):
            return found.start(), found[0], joined
    return None


def slash_pair(text: str) -> str | None:
    """Two units with a slash, where another sign stands between them.

    >>> slash_pair("Js|Ts"), slash_pair("JsTs")
    ('Js/Ts', None)
    """
    apart = re.fullmatch(r"([^\W\d_]\w*)[-\\|:.+&]+([^\W\d_]\w*)", text)
    return None if apart is None else f"{apart[1]}/{apart[2]}"


def in_figures(word: str) -> str | None:
    """A figure in which a letter stands that looks like one, in figures alone; None for any other word.

    >>> in_figures("O79"), in_figures("l4Op"), in_figures("+4"), in_figures("Old"), in_figures("NOTE")
    ('079', '140p', None, None, None)
    """
    match = _FIGURES.fullmatch(word)
    if match is None or not any(char.isdigit() for char in match["body"]):
        return None
    first, last = match.span("body")
    meant = word[first:last].translate(_LIKE_FIGURES)
    return None if meant == match["body"] else f"{word[:first]}{meant}{word[last:]}"


def letter_in(word: str, meant: str) -> str:
    """Which letter of a word stands for which figure of what was meant.

    >>> letter_in("O79", "079")
    'O79 has the letter O for the figure 0'
    """
    letter, figure = next(pair for pair in zip(word, meant, strict=True) if pair[0] != pair[1])
    return f"{word[:LONGEST_NAME]} has the letter {letter} for the figure {figure}"


def nearest(name: str, known: Iterable[str]) -> str | None:
    """The name that was probably meant, if one is near; of equals the one that stands first in `known`.

    A number is never taken for another that is only alike, nor for any where it is the next of its row.

    >>> nearest("9", ["1", "2", "4"]), nearest("Lx", ["Ms", "Lt"]), nearest("12A", ["12a", "13"])
    ('4', 'Lt', '12a')
    >>> nearest("21", ["1", "2", "11", "12"]), nearest("18", ["17", "13", "12"]), nearest("21", ["11"])
    ('12', None, None)
    >>> nearest("Tirg", ["Tor", "Trig"]), nearest("J1", ["Js", "Jl"])
    ('Trig', 'Jl')
    """
    if len(name) > LONGEST_NAME:
        return None
    listed = list(known)
    for written in (lookalike, _in_like_figures):
        looks = written(name)
        for other in listed:
            if written(other) == looks:
                return other
    pool = set(listed)
    if before(name) in pool:
        return None
    misread = (name[:at] + _MISREAD.get(char, char) + name[at + 1 :] for at, char in enumerate(name))
    for other in (*swapped(name), *misread):
        if other in pool:
            return other
    if name.isdecimal():
        return None
    return _alike(name, [other for other in listed[:_NEAR] if not other.isdecimal()], cutoff=0.5)


def _in_like_figures(name: str) -> str:
    return name.translate(_LIKE_FIGURES).lower()


def before(name: str) -> str | None:
    """The name that stands before this one in a row of numbers, or of letters behind one number.

    >>> before("18"), before("12b"), before("12a"), before("1")
    ('17', '12a', None, None)
    """
    if name.isdecimal() and name.isascii() and int(name) > 1:
        return str(int(name) - 1)
    if re.fullmatch(r"\d+[b-z]", name, re.IGNORECASE):
        return f"{name[:-1]}{chr(ord(name[-1]) - 1)}"
    return None


def _alike(word: str, known: Sequence[str], *, cutoff: float) -> str | None:
    close = get_close_matches(word, known, n=3, cutoff=cutoff)
    if not close:
        return None
    alike = SequenceMatcher(b=word)

    def likeness(other: str) -> float:
        alike.set_seq1(other)
        return alike.ratio()

    return max(sorted(close, key=known.index), key=likeness)


def nearest_word(word: str, known: Sequence[str]) -> str | None:
    """The word of the notation that was probably meant, of those that could stand there.

    >>> nearest_word("bakc", ["back", "horizontal"]), nearest_word("ot", ["at", "to"]), nearest_word("zzz", ["at"])
    ('back', 'to', None)
    """
    word = word.lower()[:40]
    for other in swapped(word):
        if other in known:
            return other
    begun = [other for other in known if len(word) > 2 and other.startswith(word)]
    return _alike(word, known, cutoff=0.6) or (begun[0] if begun else None)


class WildCount(NamedTuple):
    """A count that does not belong to the others of its line."""

    at: int
    """Its place in the line."""
    meant: str | None
    """What it probably was, where one figure among the others is one slip of the hand away."""


def wild_count(written: Sequence[str], counts: Sequence[float]) -> WildCount | None:
    """The one count that stands apart from others that agree; None where there is none, or two that differ.

    Half as far is enough where a slip of the pen makes it one of the others.

    >>> wild_count(["131", "123", "133", "132"], [131, 123, 133, 132])
    WildCount(at=1, meant='132')
    >>> wild_count(["31", "132", "131", "133"], [31, 132, 131, 133])
    WildCount(at=0, meant='131')
    >>> wild_count(["65", "66", "67"], [65, 66, 67]), wild_count(["50", "70", "90"], [50, 70, 90])
    (None, None)
    """
    if len(counts) < 3:
        return None
    middle = median(counts)
    at = max(range(len(counts)), key=lambda k: abs(counts[k] - middle))
    others = [one for k, one in enumerate(counts) if k != at]
    middle = median(others)
    spread = max(max(others) - min(others), 0.01 * middle)
    off = abs(counts[at] - middle)
    theirs = {one for k, one in enumerate(written) if k != at}
    near: set[str] = next((found for tier in misread(written[at]) if (found := theirs & tier)), set())
    meant = min(near) if len(near) == 1 else None
    share = APART_COUNT_SHARE if meant is None else APART_COUNT_SHARE / 2.0
    return None if off < max(APART_COUNT_SPREADS * spread, share * middle) else WildCount(at, meant)
