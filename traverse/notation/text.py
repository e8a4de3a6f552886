"""Bytes to text, and text to the plain spellings that the grammar knows."""

from __future__ import annotations

import re
import unicodedata

from traverse.diagnostic import Outcome, error
from traverse.source import Source, Span

_SPELLINGS = {
    "°": "º˚",
    "'": "′’‘",
    '"': "″”“",
    "-": "−–—‐‑",
    "→": "⟶⇒",
    "/": "⁄∕",
}
_PLAIN = {ord(other): plain for plain, others in _SPELLINGS.items() for other in others}

_NOT_TEXT = frozenset(map(chr, [*range(0x20), *range(0x7F, 0xA0)])) - frozenset("\t\n\r\x0b\x0c\x85")
"""Control characters that no text holds. Form feed, vertical tab and U+0085 are characters inside a line."""

_OF_OTHER_CODINGS = frozenset(map(chr, [0, *range(0x80, 0xA0)]))
"""Such of them as come of a text in another coding: UTF-16, or one of a byte for a letter."""

_OTHER_FILES = {
    b"PK\x03\x04": (
        "a packed file, such as a word processor or a spreadsheet writes",
        "save the log as plain text in it",
    ),
    b"\xd0\xcf\x11\xe0": ("a file of a word processor or a spreadsheet", "save the log as plain text in it"),
    b"{\\rtf": ("a file of a word processor", "save the log as plain text in it"),
    b"%PDF": ("a PDF", "`traverse extract` gives back the log that a sheet carries"),
    b"\x1f\x8b": ("a packed file", "unpack it first"),
}
"""What files of other kinds begin with (common practice, from memory), and what to do with them."""


def _lone_zeros(text: str) -> bool:
    """Whether zero bytes stand in a text that is no UTF-16, in which every letter of the alphabet has one."""
    return 0 < 10 * text.count("\0") < len(text) and not any(0x80 <= ord(char) < 0xA0 for char in text)


def decode(name: str, data: bytes) -> Outcome[Source | None]:
    r"""Text of a file in UTF-8, with or without a byte-order mark.

    Bytes that are no UTF-8, and control characters, give one error at the first of them and no text. An accent that is
    typed behind its letter is joined with it (Unicode form NFC), so that a name is one name on every keyboard.

    >>> decode("day.trav", b"\xef\xbb\xbfnotation 1\n").value
    Source(name='day.trav', text='notation 1\n')
    """
    for begins, (what, remedy) in _OTHER_FILES.items():
        if data.startswith(begins):
            return Outcome(None, (error("not-text", f"{what}, not plain text", Span(name, 1, 1, 2), remedy),))
    try:
        text = data.decode("utf-8")
        broken = None
    except UnicodeDecodeError as problem:
        text = data[: problem.start].decode("utf-8")
        broken = len(text)
    first = next((at for at, char in enumerate(text) if char in _NOT_TEXT), broken)
    mark = text.startswith("\ufeff")
    if first is None:
        return Outcome(Source(name=name, text=unicodedata.normalize("NFC", text[mark:])))
    before = Source(name=name, text=text[mark:first] + "x").lines
    span = Span(name, len(before), len(before[-1]), len(before[-1]) + 1)
    # There is no text to show a line of, so the message brings its beginning.
    behind = before[-1][:-1].strip()
    where = f", behind `{shortened(behind)}`" if behind else ""
    if broken is None and (text[first] not in _OF_OTHER_CODINGS or _lone_zeros(text)):
        char = f"a control character, U+{ord(text[first]):04X}, which no page has"
        remedy = "delete it, and look whether a letter is missing where it stood"
        return Outcome(None, (error("not-text", f"{char}{where}", span, remedy),))
    return Outcome(None, (error("not-text", f"not plain UTF-8 text{where}", span, "save the log as UTF-8"),))


def plain(text: str) -> str:
    """The text in plain spellings, character for character, so that columns stay true.

    >>> plain("N 23° 30’ W − １０ ½")
    "N 23° 30' W - 10 ½"
    """
    if text.isascii():
        return text
    return text.translate({ord(char): _plain(char) for char in set(text) if not char.isascii()})


_NEARLY_LATIN = {"ı": "i", "İ": "I", "ſ": "s", "\u212a": "K"}
"""Letters that a comparison without regard to case takes for Latin ones, as a Turkish keyboard types them."""
_WITH_ONE = re.compile(rf"[a-z]*[{''.join(_NEARLY_LATIN)}][a-z{''.join(_NEARLY_LATIN)}]*", re.IGNORECASE)


def respelled(text: str, known: frozenset[str]) -> str:
    """The text with those of its words that are known but for the dot of an i in plain letters; names stay as typed.

    >>> respelled("unıt Is Işık Sandstone", frozenset({"unit"}))
    'unit Is Işık Sandstone'
    """
    if text.isascii() or not any(char in text for char in _NEARLY_LATIN):
        return text
    table = str.maketrans(_NEARLY_LATIN)

    def respell(match: re.Match[str]) -> str:
        word = match[0].translate(table)
        return word if word.lower() in known else match[0]

    return _WITH_ONE.sub(respell, text)


def _plain(char: str) -> str:
    code = ord(char)
    if code in _PLAIN:
        return _PLAIN[code]
    if 0xFF01 <= code <= 0xFF5E:
        return chr(code - 0xFEE0)
    if char.isdecimal():
        return str(unicodedata.decimal(char))
    return " " if unicodedata.category(char) == "Zs" else char


def shortened(text: str, limit: int = 40) -> str:
    """User text for a message: cut when it is long.

    >>> shortened("N47E"), shortened("a" * 50, 8)
    ('N47E', 'aaaaaaa…')
    """
    return text if len(text) <= limit else text[: limit - 1] + "…"
