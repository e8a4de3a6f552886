"""Notes that read as a hazard, which the list of hazards of a sheet would not have."""

from __future__ import annotations

import re

_SAID = re.compile(
    r"(hazards?|(?:danger|caution|warning)(?=[ \t]*[:–—-]))[ \t]*[:–—-]*\s+(?=\S)", re.IGNORECASE
)
_NAMED = re.compile(
    r"\b(?:"
    r"loose (?:blocks?|boulders?|ground|rocks?|scree|slabs?|stones?)|unstable|undercut|overhang(?:ing)?"
    r"|(?:rock|stone)[ -]?falls?|falling (?:rocks?|stones?)|land ?slips?"
    r"|cliff(?:[ -](?:edge|top))|(?:hidden|sheer|steep) (?:cliff|drop|edge)|(?:long|big) drop|quarry (?:edge|face)|bad step"
    r"|tides?|ford|deep (?:bog|mud|pool|river|snow|stream|water)|(?:river|stream|beck|burn)(?: is| in)? (?:high|spate|flood)"
    r"|bog|quicksand|sank|soft ground|slipp(?:ery|y)"
    r"|(?:mine|old|open|hidden) (?:adits?|mines?|shafts?)|mine ?shafts?|mine"
    r"|snow|ice|icy|verglas|avalanches?|cornices?|crevasses?"
    r"|bulls?|adders?|snakes?|wasps?|guns?|shooting|blasting|live (?:firing|wires?)"
    r"|lightning|thunder|beware|danger(?:ous)?|keep (?:back|clear|off|out)|stand clear"
    r")\b",
    re.IGNORECASE,
)
"""Words of what hurts people outdoors; common practice, no source."""
_DENIED = re.compile(r"\b(?:no|not|without|free of|former(?:ly)?|instead of)(?:\W+\w+)?\W*$", re.IGNORECASE)


def said_a_hazard(text: str) -> tuple[str, str] | None:
    """The word by which a note calls itself a hazard, and the rest of it."""
    found = _SAID.match(text)
    return None if found is None else (found[1], text[found.end() :])


def names_a_hazard(text: str) -> str | None:
    """What a note names that is a hazard as a rule, where it isn't denied."""
    for found in _NAMED.finditer(text):
        if _DENIED.search(text[: found.start()]) is None:
            return found[0]
    return None
