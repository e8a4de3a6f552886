"""One cause, one message: what follows from a reading that is doubtful is told in its message, or counted there."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace

from traverse.diagnostic import Diagnostic, Severity
from traverse.source import Span

_Line = tuple[str, int]


def under_causes(diagnostics: Iterable[Diagnostic]) -> tuple[Diagnostic, ...]:
    """Warnings and errors, each warning that rests on the line of another one folded into that.

    Where what is folded in names a reading of the line, that is the one underlined. What `checked` answers is right, so that nothing is folded into it, and what rests on it is told.
    """
    said = tuple(dict.fromkeys(diagnostics))
    at: dict[_Line, list[int]] = defaultdict(list)
    for index, one in enumerate(said):
        if one.answer is None and one.severity is not Severity.NOTE:
            for line in _accused(one):
                at[line].append(index)
    cause = {index: found for index, one in enumerate(said) if (found := _cause(index, said, at)) is not None}
    for index in tuple(cause):
        # Two that accuse each other: the first stays.
        seen, top = {index}, cause[index]
        while top in cause and top not in seen:
            seen.add(top)
            top = cause[top]
        if top in cause:
            del cause[min(seen)]
    adds: dict[int, list[str]] = defaultdict(list)
    below: dict[int, int] = defaultdict(int)
    meant: dict[int, Span] = {}
    for index, top in cause.items():
        one, direct, root = said[index], top, top
        while root in cause:
            root = cause[root]
        tells = next(
            (
                label
                for label in one.rests_on
                if label.text and _line(label.span.file, label.span.line) in _accused(said[direct])
            ),
            None,
        )
        if tells is not None:
            adds[root].append(tells.text)
            meant.setdefault(root, tells.span)
        else:
            below[root] += 1
        below[root] += one.below
    return tuple(
        replace(
            one,
            span=_underlined(one.span, meant.get(index)),
            hints=(*adds[index], *(hint for hint in one.hints if not adds[index] or hint != one.gives_way)),
            below=one.below + below[index],
        )
        for index, one in enumerate(said)
        if index not in cause
    )


def _underlined(own: Span | None, meant: Span | None) -> Span | None:
    """The reading that is meant, where it is another on the line of the message and no more than that."""
    if own is None or meant is None or _line(own.file, own.line) != _line(meant.file, meant.line):
        return own
    return own if meant.column <= own.column and own.end <= meant.end else meant


def _line(file: str, line: int) -> _Line:
    return file, line


def _accused(one: Diagnostic) -> frozenset[_Line]:
    own = [one.span] if one.span is not None else []
    return frozenset(_line(span.file, span.line) for span in (*own, *one.doubts))


def _cause(index: int, said: tuple[Diagnostic, ...], at: dict[_Line, list[int]]) -> int | None:
    """The first message that calls one of the readings doubtful that this one rests on; two of one kind are two mistakes.

    One that rests on no other reading, as where two lines of one bed contradict each other, goes before those that follow from several.
    """
    one = said[index]
    if one.severity is not Severity.WARNING or one.answer is not None:
        return None
    found = [
        (bool(said[other].rests_on), other)
        for label in one.rests_on
        for other in at.get(_line(label.span.file, label.span.line), ())
        if said[other].code != one.code
    ]
    return min(found)[1] if found else None
