"""What is said twice with nothing read in between: of two such lines the first counts for nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Final, NamedTuple, TypeAlias

from traverse.diagnostic import Label, note, warning
from traverse.source import Span

if TYPE_CHECKING:
    from traverse.notation.draft import Draft
    from traverse.notation.parse import Statement


class Given(NamedTuple):
    """A line that holds from there on."""

    value: object
    """What it says, equal to that of a line that says the same."""
    span: Span
    read: int
    """How much had been read above it."""


def ask_if_twice(draft: Draft, s: Statement) -> None:
    """Ask of a line just read whether it or one above it that says otherwise is wrong, where nothing was read in between."""
    kind = s[0].type
    said = _IN_FORCE.get(kind) or _GATHERED.get(kind)
    if said is None:
        return
    span = draft.whole(s)
    read = len(draft.addresses) + len(draft.items) + draft.mistakes
    for name, value in said(draft, s):
        earlier = draft.given.get(name)
        draft.given[name] = Given(value, span, read)
        if (
            earlier is None
            or (earlier.read, earlier.span.file) != (read, span.file)
            or earlier.value == value
        ):
            continue
        twice = f"`{name}` is given twice with nothing read in between"
        if kind in _GATHERED:
            draft.say(
                note(
                    "given-twice", f"{twice}; it is printed with that of {draft.at_line(earlier.span)}", span
                )
            )
            continue
        draft.say(
            warning(
                "given-twice",
                f"{twice}; this one counts, and not that of {draft.at_line(earlier.span)}",
                span,
                "leave out the wrong one; what changes on the way stands where it changes",
                labels=(Label(earlier.span, "first here"),),
            )
        )


_NOWHERE = Span("", 1, 1, 2)
_Said: TypeAlias = Callable[["Draft", "Statement"], Iterator[tuple[str, object]]]


def _one(value: Callable[[Draft], object]) -> _Said:
    return lambda draft, s: iter([(s[0].lower(), value(draft))])


def _words(_: Draft, s: Statement) -> Iterator[tuple[str, object]]:
    yield s[0].lower(), " ".join(" ".join(s[1:]).split())


def _declination(draft: Draft, _: Statement) -> Iterator[tuple[str, object]]:
    if draft.declination is not None:
        yield "declination", replace(draft.declination, span=_NOWHERE)


def _pace(draft: Draft, _: Statement) -> Iterator[tuple[str, object]]:
    last = draft.paces[-1]
    yield "pace" if last.who is None else f"pace {last.who}", replace(last, span=_NOWHERE)


def _precision(_: Draft, s: Statement) -> Iterator[tuple[str, object]]:
    words = [token for token in s[1:] if token.type != "COMMA"]
    for item, value in zip(words[::2], words[1::2], strict=True):
        yield f"precision {item.lower()}", str(value)


_IN_FORCE: Final[Mapping[str, _Said]] = {
    "DATE": _one(lambda draft: draft.date),
    "BEARINGS": _one(lambda draft: draft.bearings),
    "DECLINATION": _declination,
    "ATTITUDES": _one(lambda draft: (draft.convention, draft.attitudes_north)),
    "PACE": _pace,
    "PRECISION": _precision,
    "DISTANCES": _one(lambda draft: draft.bare),
    "PACER": _one(lambda draft: draft.pacer),
    "READER": _one(lambda draft: draft.reader),
    "COMPASS": _one(lambda draft: draft.compass),
}
"""Statements that put what they say in the place of what a line above said."""
_GATHERED: Final[Mapping[str, _Said]] = dict.fromkeys(("PARTY", "AREA", "WEATHER", "INSTRUMENT"), _words)
"""Statements that add to what a line above said: nothing of it is lost."""
