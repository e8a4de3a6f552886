"""Notes that read as a hazard, which the list of hazards of a sheet would not have."""

from __future__ import annotations

import re

_SAID = re.compile(
    r"(hazards?|(?:danger|caution|warning)(?=[ \t]*[:–—-]))[ \t]*[:–—-]*\s+(?=\S)", re.IGNORECASE
)
_SURE = (
    r"loose (?:blocks?|boulders?|rocks?|scree|slabs?|stones?)|unstable"
    r"|(?:rock|stone)[ -]?falls?(?= (?:from|off|danger|risk))|stone[ -]?falls?|falling (?:rocks?|stones?)"
    r"|cliff[ -](?:edge|top)|(?:hidden|sheer) (?:cliff|drop|edge)|(?:long|big) drop|bad step"
    r"|deep (?:bog|ford|mud|pool|river|snow|stream|water)|(?:river|stream|beck|burn)(?: is| in)? (?:high|spate|flood)"
    r"|bog(?=, deep)|quicksand|sank(?= (?:in|to))|slipp(?:ery|y)"
    r"|(?:old|open|hidden) (?:(?:mine )?shafts?|adits?)"
    r"|verglas|avalanches?|cornices?|crevasses?"
    r"|bulls?(?= (?:in|at|on))|adders?|rattlesnakes?|wasps?|shooting|blasting|live (?:firing|wires?)"
    r"|lightning|beware|danger(?:ous)?|keep (?:back|clear|off|out)|stand clear"
)
_NAMED = re.compile(
    rf"\b(?:{_SURE}|"
    r"loose ground|undercut|overhang(?:ing)?|rock[ -]?falls?|land ?slips?"
    r"|steep (?:cliff|drop|edge)|quarry (?:edge|face)"
    r"|tides?|ford|bog|sank|soft ground"
    r"|(?:mine|old|open|hidden) (?:adits?|mines?|shafts?)|mine ?shafts?|mine|(?:sink|swallow|pot) ?holes?"
    r"|snow|ice|icy|bulls?|snakes?|guns?|thunder"
    r")\b",
    re.IGNORECASE,
)
"""Words of what hurts people outdoors; common practice, no source."""
_NOTHING_ELSE = re.compile(rf"\b(?:{_SURE})\b", re.IGNORECASE)
"""Those that are said of little else: a ford may be a place name, ice what polished a slab."""
_DENIED = re.compile(r"\b(?:no|not|without|free of|former(?:ly)?|instead of)(?:\W+\w+)?\W*$", re.IGNORECASE)


def said_a_hazard(text: str) -> tuple[str, str] | None:
    """The word by which a note calls itself a hazard, and the rest of it."""
    found = _SAID.match(text)
    return None if found is None else (found[1], text[found.end() :])


def names_a_hazard(text: str) -> tuple[str, bool] | None:
    """What a note names that is a hazard as a rule, where it isn't denied, and whether it is said of little else."""
    for words in (_NOTHING_ELSE, _NAMED):
        for found in words.finditer(text):
            if _DENIED.search(text[: found.start()]) is None:
                return found[0], words is _NOTHING_ELSE
    return None
