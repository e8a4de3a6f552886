"""A statement in its canonical words: keyword in small letters, one blank between words, a leg in order."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Final

from traverse.log.described import DESCRIBED
from traverse.log.items import Lines
from traverse.log.written_forms import HEADING_FORMS, WALKING_FORMS
from traverse.notation.parse import parse

if TYPE_CHECKING:
    from lark import Token

    from traverse.notation.parse import Statement
    from traverse.source import Source

ROLES = ("bearing", "distance", "slope", "horizontal", "length", "back", "back bearing", "back slope")
"""What a word of a leg can be, in the order in which `tidy` writes them."""
_HANDED_OVER: Final = frozenset({"reader", "pacer", "compass"})
"""May stand before the first place."""


def leg_roles(words: list[Token]) -> list[tuple[str, Token]]:
    """What each reading of a leg is. Bare numbers are bearing first, then distance; after `back`, from the far end."""
    found: list[tuple[str, Token]] = []
    turn = next((at for at, token in enumerate(words) if token.type == "BACK"), len(words))
    have_bearing = any(token.type == "BEARING" for token in words[:turn])
    for at, token in enumerate(words):
        kind = token.type
        if kind in {"BEARING", "FIGURE"} and at > turn:
            role = "back bearing"
        elif kind == "BEARING" or (kind == "FIGURE" and not have_bearing):
            role = "bearing"
            have_bearing = True
        elif kind == "SLOPE":
            role = "back slope" if at > turn else "slope"
        else:
            role = _ROLE_OF[kind]
        found.append((role, token))
    return found


_ROLE_OF = {
    "FIGURE": "distance",
    "DISTANCE": "distance",
    "HORIZONTAL": "horizontal",
    "TOLERANCE": "length",
    "SPREAD": "length",
    "BACK": "back",
}


_LEGS = frozenset({"FROM", "TO", "CLOSE", "SIDE"})
_LINES = frozenset(word.upper() for word, one in DESCRIBED.items() if one.record is Lines)
_SMALL = frozenset({
    "FROM", "TO", "CLOSE", "SIDE", "BACK", "LEFT", "RIGHT", "BOTH", "HORIZONTAL", "IN", "PACEKIND", "MODEL", "CHANGE",
    "VIA", "THROUGH", "PROJECT", "EXAGGERATION", "DEPTH", "SCALE", "PAPER", "LANDSCAPE", "PORTRAIT", "BAND", "ANYWAY",
    "DOWN", "MOVEMENT", "CERTAINTY",
})  # fmt: skip
"""Keywords inside a statement. Readings stay as they were typed: the sheet prints them so."""


_MEASURED = frozenset({"BEARING", "DISTANCE", "SLOPE", "LENGTH", "TOLERANCE", "SPREAD", "COORDINATE"})
_LOOSE = re.compile(r"(?<!\d)[ \t]+|[ \t]+(?!\d)")
"""Blanks of a reading that part nothing, as in `265 ft`; those between two figures do."""


def as_read(statement: Statement) -> list[tuple[str, str]]:
    """What a statement says, whatever the order of its words: the same before and after `tidy`."""
    return sorted(
        (token.type, token.lower() if at == 0 or token.type in _SMALL else _reading(token))
        for at, token in enumerate(statement)
    )


def _reading(token: Token) -> str:
    text = token.strip(" \t")
    return _LOOSE.sub("", text) if token.type in _MEASURED else text


def canonical(statement: Statement, original: str, *, width: int = 0, in_order: bool = True) -> str:
    """A statement as `tidy` writes it, its keyword padded to a width; readings and words as typed.

    The words of a leg are put in order, if wanted.
    """
    words = statement[1:]
    readings = statement[0].type not in _LINES
    if in_order and statement[0].type in _LEGS:
        words = _leg_in_order(statement)
    parts = [statement[0].lower().ljust(width)]
    for token in words:
        text = original[token.start_pos : token.end_pos].rstrip(" \t")
        if token.type == "COMMA":
            parts[-1] += ","
        else:
            parts.append(text.lower() if readings and token.type in _SMALL else text)
    return " ".join(parts)


def _leg_in_order(statement: Statement) -> list[Token]:
    """Words of a leg: bearing, distance, slope, then what was read from the far end."""
    named = 4 if statement[0].type == "FROM" else 2
    roles = leg_roles(statement[named:])
    if len({role for role, _ in roles}) < len(roles):
        return statement[1:]
    roles.sort(key=lambda one: ROLES.index(one[0]))
    return [*statement[1:named], *(token for _, token in roles)]


def heading_lines(sources: Iterable[Source]) -> Mapping[str, tuple[str, ...]]:
    """What follows each first word in the heads of the texts that one log is made of, comments left out.

    A head ends at the first place. The texts must be without mistakes.
    """
    found: dict[str, list[str]] = {}
    for source in sources:
        parsed = parse(source)
        for line in parsed.lines:
            if not isinstance(line, list):
                continue
            word = line[0].type.lower()
            if word in WALKING_FORMS and word not in _HANDED_OVER:
                break
            if word in HEADING_FORMS:
                found.setdefault(word, []).append(canonical(line, parsed.original).partition(" ")[2])
    return {word: tuple(dict.fromkeys(lines)) for word, lines in found.items()}
