"""The head of a page as it was typed, to be carried out again on a new one."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from traverse.log.written_forms import HEADING_FORMS, WALKING_FORMS
from traverse.notation.layout import canonical
from traverse.notation.parse import parse
from traverse.source import Source

_HANDED_OVER: Final = frozenset({"reader", "pacer", "compass"})
"""May stand before the first place."""


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
