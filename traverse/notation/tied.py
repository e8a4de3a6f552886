"""Places that two parties share, many in one line: `tie A to B at 3, 5, 7-9=12-14`."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from traverse.notation.draft import Draft, Mistake
from traverse.notation.terms import check_name
from traverse.notation.text import shortened

if TYPE_CHECKING:
    from lark import Token

    from traverse.notation.parse import Statement

_IN_A_ROW = re.compile(r"(.*?)(\d+)-(?:\1)?(\d+)")
"""From one number to another, with the letters before the first that all of them have."""
_MOST_IN_A_ROW = 500


def tied_places(s: Statement) -> Iterator[tuple[Token, list[str], list[str]]]:
    """The items of the line, each with the places of the one party and of the other in its order, unjudged."""
    for token in s[5:]:
        if token.type == "TIED":
            first, equals, second = (part.strip(" \t") for part in token.partition("="))
            yield token, _row(first), _row(second if equals else first)


def _row(text: str) -> list[str]:
    """The names that stand for a place or for several in a row, upward or downward.

    >>> _row("7-9"), _row("14-12"), _row("a9-11"), _row("Ford"), _row("09-10")
    (['7', '8', '9'], ['14', '13', '12'], ['a9', 'a10', 'a11'], ['Ford'], ['09', '10'])
    """
    found = _IN_A_ROW.fullmatch(text)
    if found is None:
        return [text]
    before, start, end = found[1], int(found[2]), int(found[3])
    if abs(end - start) >= _MOST_IN_A_ROW:
        return [text]
    step = 1 if end >= start else -1
    return [f"{before}{number:0{len(found[2])}d}" if found[2][0] == "0" else f"{before}{number}"
            for number in range(start, end + step, step)]  # fmt: skip


def tied_pairs(draft: Draft, s: Statement) -> Iterator[tuple[str, str, Token]]:
    """The two names of each place in the letters of a camp, and the item that says it."""
    letters = check_name(draft, s[1]), check_name(draft, s[3])
    if letters[0] == letters[1]:
        raise Mistake("tie", f"{shortened(letters[0])} is itself", draft.whole(s), "a tie joins two parties")
    met: set[tuple[str, str]] = set()
    for token, first, second in tied_places(s):
        if len(first) != len(second):
            one, other = (part.strip(" \t") for part in token.split("="))
            raise Mistake(
                "tie",
                f"{shortened(one)} {_many(first)}, and {shortened(other)} {_many(second)}",
                draft.span(token),
                "as many places of each party, such as `7-9=12-14`",
            )
        for here, there in zip(first, second, strict=True):
            pair = tuple(
                check_name(draft, token.update(value=f"{one}-{name}"))
                for one, name in zip(letters, (here, there), strict=True)
            )
            if pair in met:
                raise Mistake(
                    "tie",
                    f"{pair[0]} and {pair[1]} are tied twice in this line",
                    draft.span(token),
                    "name each two places once",
                )
            met.add((pair[0], pair[1]))
            yield pair[0], pair[1], token


def _many(row: list[str]) -> str:
    return "is one place" if len(row) == 1 else f"are {len(row)} places"
