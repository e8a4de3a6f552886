"""The columns of the page, taken from the forms of the statements, so that a row is typed as it was written."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from traverse.log.readings import Convention
from traverse.log.written_forms import FORMS
from traverse.record import record


@record(frozen=True, slots=True, kw_only=True)
class RuledColumn:
    """A column to be written in."""

    name: str
    below: str = ""
    """What is written in it, under its name."""
    width: float
    """Share of the width."""
    group: str


_PAIRS: Final[Mapping[Convention, tuple[str, str]]] = MappingProxyType(
    {
        Convention.DIP_RIGHT: ("strike", "dip"),
        Convention.DIP_LEFT: ("strike", "dip"),
        Convention.DIP_DIRECTION: ("dip direction", "dip"),
        Convention.DIP_FIRST: ("dip", "dip direction"),
        Convention.LETTERS: ("strike", "dip, letters"),
    }
)
"""An attitude in the order in which it is written."""
_OPEN_PAIR: Final = ("first figure", "second figure")
"""Where the party has not yet said how it writes one."""
_WIDTHS: Final[Mapping[str, float]] = MappingProxyType(
    {"along": 21.0, "word": 21.0, "units": 20.0, "dip": 13.0, "dip direction": 24.0, "words": 88.0}
)
_USUAL_WIDTH: Final = 17.0
LEG, THERE = "the way there", "what is there, a line for each thing"


def written_pair(convention: Convention | None) -> tuple[str, str]:
    """The two figures of an attitude as a party writes them."""
    return _OPEN_PAIR if convention is None else _PAIRS[convention]


def leg_columns() -> tuple[RuledColumn, ...]:
    """Those of a leg, in the order of its statement, and where along it something was met.

    >>> [one.name for one in leg_columns()]
    ['to', 'bearing', 'distance', 'slope', 'back', 'along']
    """
    found = []
    for keyword, part in re.findall(r"([a-z]+ )?([A-Z]+)", FORMS["to"].form):
        name = keyword.strip() or part.lower()
        below = "or at, close" if name == "to" else part.lower() if keyword else ""
        found.append(_column(name, below, LEG))
    return (*found, _column("along", "or covered", LEG))


def there_columns(convention: Convention | None) -> tuple[RuledColumn, ...]:
    """Those of what is there: a first word, then the parts of a contact in their order, which others have some of.

    >>> [one.name for one in there_columns(Convention.DIP_DIRECTION)]
    ['word', 'units', 'how', 'dip direction', 'dip', 'words']
    """
    found = [_column("word", "bed, rock …", THERE)]
    for part in FORMS["contact"].form.split()[1:]:
        if part == "ATTITUDE":
            found += [_column(name, "", THERE) for name in written_pair(convention)]
        elif part == "YOUNGER/OLDER":
            found.append(_column("units", part.lower(), THERE))
        elif part.isalpha() and part.isupper():
            found.append(_column(part.lower(), "certain …" if part == "HOW" else "", THERE))
    return (*found, _column("words", "how it looks; number; hazard", THERE))


def _column(name: str, below: str, group: str) -> RuledColumn:
    return RuledColumn(name=name, below=below, width=_WIDTHS.get(name, _USUAL_WIDTH), group=group)
