"""The word or name that was probably meant, where one is near."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from difflib import SequenceMatcher, get_close_matches

LONGEST_NAME = 60
"""Characters of a name or label; a longer one fits no sheet."""
_NEAR = 500
"""Names that are looked through for one that is only alike: those nearest in the walk."""
_LEADING_ZEROS = re.compile(r"(?<![0-9])0+(?=[0-9])")
_MISREAD = {"1": "7", "7": "1", "4": "9", "9": "4", "5": "6", "6": "5", "3": "8", "8": "3"}
"""Figures that one hand writes like another."""


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


def nearest(name: str, known: Iterable[str]) -> str | None:
    """The name that was probably meant, if one is near; of equals the one that stands first in `known`.

    A number is never taken for another that is only alike, nor for any where it is the next of its row.

    >>> nearest("9", ["1", "2", "4"]), nearest("Lx", ["Ms", "Lt"]), nearest("12A", ["12a", "13"])
    ('4', 'Lt', '12a')
    >>> nearest("21", ["1", "2", "11", "12"]), nearest("18", ["17", "13", "12"]), nearest("21", ["11"])
    ('12', None, None)
    >>> nearest("Tirg", ["Tor", "Trig"])
    'Trig'
    """
    if len(name) > LONGEST_NAME:
        return None
    listed = list(known)
    looks = lookalike(name)
    for other in listed:
        if lookalike(other) == looks:
            return other
    pool = set(listed)
    if _before(name) in pool:
        return None
    misread = (name[:at] + _MISREAD.get(char, char) + name[at + 1 :] for at, char in enumerate(name))
    for other in (*swapped(name), *misread):
        if other in pool:
            return other
    if name.isdecimal():
        return None
    return _alike(name, [other for other in listed[:_NEAR] if not other.isdecimal()], cutoff=0.5)


def _before(name: str) -> str | None:
    """The name that stands before this one in a row of numbers, or of letters behind one number.

    >>> _before("18"), _before("12b"), _before("12a"), _before("1")
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
