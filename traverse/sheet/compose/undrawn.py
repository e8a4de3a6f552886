"""Characters that no font of the sheet has."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

from traverse.diagnostic import Diagnostic, warning
from traverse.sheet.paper.fonts import missing
from traverse.sheet.paper.page import Group, Item, Page, Text

_MOST = 8


def undrawn(pages: Iterable[Page]) -> list[Diagnostic]:
    """A warning that names them; nothing where there are none."""
    found: dict[str, None] = {}
    for text in dict.fromkeys(one for page in pages for one in _texts(page.items)):
        if not text.isascii():
            found.update(dict.fromkeys(missing(text)))
    if not found:
        return []
    shown = ", ".join(
        f"{char} ({unicodedata.name(char, f'U+{ord(char):04X}').lower()})" for char in list(found)[:_MOST]
    )
    more = f" and {len(found) - _MOST} more" if len(found) > _MOST else ""
    return [
        warning(
            "characters-not-in-fonts",
            f"the sheet's fonts lack {shown}{more}; an empty box stands for each",
            None,
            "spell the word in letters that print",
        )
    ]


def _texts(items: Iterable[Item]) -> Iterable[str]:
    for item in items:
        if isinstance(item, Text):
            yield item.text
        elif isinstance(item, Group):
            yield from _texts(item.items)
