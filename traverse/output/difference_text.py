"""Two versions of a log for the terminal: each change with what followed from it, then all other lines."""

from __future__ import annotations

from collections.abc import Iterator

from traverse.difference.records import Caused, Difference
from traverse.output.report import Part, Sentences
from traverse.sheet.paper.words import plain
from traverse.sheet.said.difference_words import (
    at_line,
    effect_words,
    heading_words,
    renaming_words,
    sentence,
    summary,
)
from traverse.wording import capital


def difference_parts(found: Difference) -> tuple[Part, ...]:
    """The parts that have something to say, without what could move a cursor: a pager lets it pass."""
    return tuple(
        Sentences(heading=plain(one.heading or ""), paragraphs=tuple(map(plain, one.paragraphs)))
        for one in _parts(found)
    )


def _parts(found: Difference) -> Iterator[Sentences]:
    head = [*summary(found)]
    said = [sentence(["in all, " + head[0], *head[1:]])] if head else []
    if found.same_text:
        said.append("The two are the same, word for word.")
    elif found.layout and found.none:
        said.append("Only layout and comments differ.")
    said += [f"{one}." for one in found.notes]
    said += [f"{capital(renaming_words(one))}." for one in found.renamings]
    yield Sentences(heading=heading_words(found), paragraphs=tuple(said))
    for one in found.causes:
        yield Sentences(
            heading=_changes(one, found) or "With no line of the log changed",
            paragraphs=tuple(sentence([clause]) for clause in effect_words(one.effect, found.lengths)),
        )
    if found.edits:
        rows = tuple(capital(at_line(edit, found)) for edit in found.edits)
        also = "Other lines, which moved no figure" if found.whole is not None else "Lines"
        yield Sentences(heading=also, paragraphs=rows)


def _changes(one: Caused, found: Difference) -> str:
    return capital("; ".join(at_line(edit, found) for edit in one.edits))
