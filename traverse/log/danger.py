"""Notes that read as a hazard, which the list of hazards of a sheet would not have."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Final

_SAID = re.compile(
    r"(hazards?|(?:danger|caution|warning)(?=[ \t]*[:–—-]))[ \t]*[:–—-]*\s+(?=\S)", re.IGNORECASE
)
_SAID_WITHIN = re.compile(r"[;,.(][ \t]*(hazards?)\b[ \t]*[,:–—-]*\s+(?=\S)", re.IGNORECASE)
_SURE = (
    r"loose (?:blocks?|boulders?|rocks?|scree|slabs?|stones?)|unstable"
    r"|(?:rock|stone)[ -]?falls?(?= (?:from|off|danger|risk))|stone[ -]?falls?|falling (?:rocks?|stones?)"
    r"|(?:cliff|crag|gorge|gully|ravine)[ -](?:edge|top)|edge of (?:the |a )?(?:cliff|crag|gorge|gully|quarry|ravine)|loose edge|(?:hidden|sheer) (?:cliff|drop|edge)"
    r"|(?:long|big) drop|\d+ ?(?:m|ft|feet|metres?|meters?) drop|drop of \d+|bad step"
    r"|deep (?:bog|ford|mud|pool|river|snow|stream|water)|(?:river|stream|beck|burn|ford)(?: is| was| in)? (?:deep|high|spate|flood)"
    r"|bog(?=, deep)|quicksand|sank(?= (?:in|to))|slipp(?:ery|y)"
    r"|(?:old|open|hidden) (?:(?:mine )?shafts?|adits?)"
    r"|verglas|avalanches?|cornices?|crevasses?"
    r"|bulls?(?= (?:in|at|on))|adders?|rattlesnakes?|wasps?|shooting|blasting|live (?:firing|wires?)"
    r"|lightning|beware|careful|danger(?:ous)?|keep (?:back|clear|off|out)|stand clear"
)
_NAMED = re.compile(
    rf"\b(?:{_SURE}|"
    r"loose ground|undercut|overhang(?:ing)?|rock[ -]?falls?|land ?slips?"
    r"|steep (?:cliff|drop|edge|gully)|quarry (?:edge|face)|drops?|crags?"
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


_OF_THE_ROCK = re.compile(
    r"\b(?:loose (?:blocks?|boulders?|rocks?|scree|slabs?|stones?)|unstable|quicksand|slippery)\b",
    re.IGNORECASE,
)
"""What describes the rock as well."""
_OVER_A_WAY = re.compile(
    r"\W+(?:above|across|along|beside|below|on|over|under) (?:the |our |a )?(?:camp|ford|path|road|route|steps?|track|us|walk|way)\b",
    re.IGNORECASE,
)
"""What follows where it is said of the way, and not of the rock."""


def said_a_hazard(text: str) -> tuple[str, str] | None:
    """The word by which words call themselves, or what stands behind it among them, a hazard, and the rest of them.

    >>> said_a_hazard("hazard: loose blocks"), said_a_hazard("edge of crag; HAZARD, 6 m drop"), said_a_hazard("no hazard")
    (('hazard', 'loose blocks'), ('HAZARD', '6 m drop'), None)
    """
    found = _SAID.match(text) or _SAID_WITHIN.search(text)
    return None if found is None else (found[1], text[found.end() :])


def hazard_beside_rock(text: str) -> tuple[str, bool] | None:
    """What words that describe the rock name besides that hurts people; never sure.

    >>> hazard_beside_rock("loose blocks of shale"), hazard_beside_rock("loose blocks above the path")
    (None, ('loose blocks', False))
    """
    return next(((one, False) for one in _beside_rock(text)), None)


def names_a_hazard(text: str) -> tuple[str, bool] | None:
    """What a note names that is a hazard as a rule, where it isn't denied, and whether it is said of little else."""
    for words in (_NOTHING_ELSE, _NAMED):
        for one in _not_denied(words, text):
            return one, words is _NOTHING_ELSE
    return None


def names_what_is_listed(text: str, listed: Iterable[str], *, of_rock: bool) -> bool:
    """Whether every hazard that words name is named by one of those that are listed: both say a cliff, a bog, a shaft.

    That both call something loose or deep is not enough, and where words name none it is not known which they mean.

    >>> names_what_is_listed("edge of crag", ["crag, 6 m drop, loose edge"], of_rock=True)
    True
    >>> names_what_is_listed("edge of crag; deep bog", ["crag, 6 m drop, loose edge"], of_rock=False)
    False
    """
    named = list(_beside_rock(text) if of_rock else _not_denied(_NAMED, text))
    things = [_things(one) for words in listed for one in _not_denied(_NAMED, words)]
    return bool(named) and all(any(_things(one) & thing for thing in things) for one in named)


def _beside_rock(text: str) -> Iterator[str]:
    for one in _found(_NOTHING_ELSE, text):
        if _OF_THE_ROCK.fullmatch(one[0]) is None or _OVER_A_WAY.match(text, one.end()):
            yield one[0]


def _not_denied(words: re.Pattern[str], text: str) -> Iterator[str]:
    """What of these words a text names and doesn't deny."""
    return (one[0] for one in _found(words, text))


def _found(words: re.Pattern[str], text: str) -> Iterator[re.Match[str]]:
    return (one for one in words.finditer(text) if _DENIED.search(text[: one.start()]) is None)


def _things(named: str) -> frozenset[str]:
    """The words that say what it is, in the singular."""
    words = (one.removesuffix("s") for one in re.findall(r"[a-z]+", named.lower()))
    return frozenset(words) - _NO_THING


_NO_THING: Final = {"loose", "hidden", "sheer", "steep", "long", "big", "bad", "deep", "old", "open", "falling", "live", "keep",
             "a", "at", "from", "in", "is", "of", "off", "on", "out", "the", "to"}  # fmt: skip
"""Words of hazards that tell no thing."""
