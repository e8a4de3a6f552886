"""Stations and units that are called otherwise in the newer version and are the same: told once, and made first."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from traverse.difference.bookings import Aligned, Booking
from traverse.difference.records import Renaming
from traverse.notation.parse import Statement, parse
from traverse.source import Source

_LEGS: Final = frozenset({"to", "close", "side"})
_UNIT_KINDS: Final = frozenset({"LETTERS", "UNITPAIR"})


def find_renamings(texts: Iterable[Sequence[Aligned]]) -> tuple[Renaming, ...]:
    """One name for another throughout, where each text has only its own."""
    found = []
    pieces = [one for text in texts for one in text]
    for what, named in (("station", _station), ("unit", _unit)):
        pairs: Counter[tuple[str, str]] = Counter()
        borne_out: set[tuple[str, str]] = set()
        before = {named(one.was) for one in pieces if one.was is not None} - {None}
        after = {named(one.now) for one in pieces if one.now is not None} - {None}
        for piece in pieces:
            if piece.was is None or piece.now is None:
                continue
            was, now = named(piece.was), named(piece.now)
            if was is not None and now is not None and was != now:
                pairs[was, now] += 1
                if _rest(piece.was) is not None and _rest(piece.was) == _rest(piece.now):
                    borne_out.add((was, now))
        olds, news = Counter(was for was, _ in pairs), Counter(now for _, now in pairs)
        for was, now in pairs:
            alone = olds[was] == news[now] == 1 and (was, now) in borne_out
            if alone and was not in after and now not in before:
                found.append(Renaming(what=what, was=was, now=now))
    return tuple(found)


def _rest(one: Booking) -> str | None:
    """What is said of it beside its name; None of a line that says no more."""
    if one.word == "unit":
        return one.text.partition(" ")[2]
    return one.text if one.word in _LEGS else None


def _station(one: Booking) -> str | None:
    """The station that a line comes to."""
    return one.name if one.word in _LEGS or one.word == "at" else None


def _unit(one: Booking) -> str | None:
    """Letters of a unit, where it is defined."""
    return one.name if one.word == "unit" and one.text != one.name else None


def renamed(source: Source, renamings: Iterable[Renaming]) -> Source:
    """A text with the new names in place of the old; its lines stay where they are."""
    names = {
        what: {one.was: one.now for one in renamings if one.what == what} for what in ("station", "unit")
    }
    parsed = parse(source)
    changes: list[tuple[int, int, str]] = []
    for one in parsed.lines:
        if isinstance(one, list):
            changes += _changes(one, parsed.original, names)
    text = parsed.original
    for start, end, words in sorted(changes, reverse=True):
        text = text[:start] + words + text[end:]
    return Source(name=source.name, text=text)


def _changes(
    statement: Statement, original: str, names: Mapping[str, Mapping[str, str]]
) -> Iterable[tuple[int, int, str]]:
    for at, token in enumerate(statement):
        start, end = token.start_pos or 0, token.end_pos or 0
        typed = original[start:end]
        if token.type == "NAME" and not (statement[0].type == "SECTION" and at == 1):
            if typed in names["station"]:
                yield start, end, names["station"][typed]
        elif token.type in _UNIT_KINDS:
            words = re.sub(r"\w+", lambda found: names["unit"].get(found[0], found[0]), typed)
            if words != typed:
                yield start, end, words
