"""What is to be typed into the log of one party, in the letters that this log has for its units."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from traverse.diagnostic import Diagnostic, Label
from traverse.log.items import ContactKind
from traverse.log.records import Log
from traverse.source import Span

_TYPED = re.compile(r"`([^`;]+)`")
_WORDS = "|".join(("unit", *(kind.value for kind in ContactKind)))
_OF_UNITS = re.compile(rf"(?:{_WORDS}) (?P<units>[^\s/]+(?:/[^\s/]+)?)(?: .*)?|(?P<pair>[^\s/]+/[^\s/]+)")
_LETTERS = re.compile(r"[^\s/?]+")


def in_own_letters(said: Iterable[Diagnostic], log: Log) -> Iterator[Diagnostic]:
    """Messages about a joined log, each line that they quote in the letters of the log where it stands."""
    for one in said:
        own = _own(one.span, log)
        labels = tuple(Label(span, _put(text, _own(span, log))) for span, text in one.labels)
        if own or labels != one.labels:
            hints = tuple(_put(hint, own) for hint in one.hints)
            one = replace(one, message=_put(one.message, own), hints=hints, labels=labels)  # noqa: PLW2901
        yield one


def _own(span: Span | None, log: Log) -> Mapping[str, str]:
    return {} if span is None else log.own_letters.get(span.file, {})


def _put(text: str, own: Mapping[str, str]) -> str:
    """A text with what it quotes of units in other letters.

    >>> _put("`unit He` does not fit, and `unit Gi` would", {"He": "Hn", "Gi": "Gn"})
    '`unit Hn` does not fit, and `unit Gn` would'
    """

    def quoted(found: re.Match[str]) -> str:
        whole = _OF_UNITS.fullmatch(found[1])
        if whole is None:
            return found[0]
        start, end = whole.span("units" if whole["units"] else "pair")
        units = _LETTERS.sub(lambda one: own.get(one[0], one[0]), found[1][start:end])
        return f"`{found[1][:start]}{units}{found[1][end:]}`"

    return _TYPED.sub(quoted, text) if own else text
