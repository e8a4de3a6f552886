"""Characters that nobody sees on a screen, or that look like others: what they do to a line, said where they stand."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from traverse.diagnostic import Diagnostic, Severity, warning
from traverse.source import Source, Span
from traverse.wording import LOOK_ALIKES

_BREAKS = {
    "\v": "a manual line break",
    "\f": "a page break",
    "\x85": "a line end of other systems",
    "\u2028": "a line separator",
    "\u2029": "a paragraph separator",
}
"""What word processors end lines with and a log doesn't."""
_ENDS_NO_LINE = "ends no line"
_BROKEN = re.compile(f"[{''.join(_BREAKS)}]")
_BREAK = re.compile(rf"[{''.join(_BREAKS)}](?=.*[^\s|])")
_UNSEEN = re.compile("[\u202a-\u202e\u2066-\u2069\U000e0000-\U000e007f]+")
"""Signs of direction, and tags, in the general category Cf. Source: Unicode Standard Annex 9, and the Tags block, from memory."""


def judge_breaks(sources: Iterable[Source]) -> Iterator[Diagnostic]:
    """What stands on one line of a log behind a line end that is none there, and is read as words of that line."""
    for source in sources:
        if source.text.isascii() and not ("\v" in source.text or "\f" in source.text):
            continue
        for number, line in enumerate(source.lines, start=1):
            found = [one for one in _BREAK.finditer(line) if line[: one.start()].strip()]
            if found:
                yield _break_inside(source.name, number, found)


def _break_inside(name: str, number: int, found: list[re.Match[str]]) -> Diagnostic:
    char = found[0][0]
    more = f"; so do {len(found) - 1} more" if len(found) > 1 else ""
    column = found[0].start() + 1
    return warning(
        "break-inside-line",
        f"{_BREAKS[char]}, U+{ord(char):04X}, stands inside this line and doesn't end it{more}: what follows is read as part "
        "of it",
        Span(name, number, column, column + 1),
        "press Enter there in its place, and save as plain text",
    )


def judge_unseen(sources: Iterable[Source]) -> Iterator[Diagnostic]:
    """Characters that turn the direction of what follows, or that are no writing at all, one message for each file.

    Nobody types them; they come with what is pasted, and a name with one of them is another name. What joins letters, or parts
    them, is of many scripts and is left.
    """
    for source in sources:
        if source.text.isascii() or not _UNSEEN.search(source.text):
            continue
        found = [
            (number, one)
            for number, line in enumerate(source.lines, start=1)
            for one in _UNSEEN.finditer(line)
        ]
        number, one = found[0]
        lines = dict.fromkeys(line for line, _ in found)
        more = (
            f"; {len(lines) - 1} more of its lines have one"
            if len(lines) > 2
            else "; one more line has one"
            if len(lines) > 1
            else ""
        )
        yield warning(
            "unseen-character",
            f"a {_named(one[0][0])}, stands in this line and is not seen{more}",
            Span(source.name, number, one.start() + 1, one.end() + 1),
            "type the word anew, or save as plain text and look at it again",
        )


def with_characters(found: Iterable[Diagnostic], sources: Mapping[str, Source]) -> list[Diagnostic]:
    """Errors as they are, but those that a hidden or foreign character explains say that and nothing else."""
    told = [_explained(one, sources) for one in found]
    broken = {
        (one.span.file, one.span.line)
        for one in told
        if one.span is not None
        and one.severity is Severity.ERROR
        and any(_ENDS_NO_LINE in hint for hint in one.hints)
    }
    return [
        one
        for one in told
        if one.code != "break-inside-line" or one.span is None or (one.span.file, one.span.line) not in broken
    ]


def _explained(one: Diagnostic, sources: Mapping[str, Source]) -> Diagnostic:
    if one.severity is not Severity.ERROR or one.span is None or one.span.file not in sources:
        return one
    line = sources[one.span.file].line(one.span.line)
    broken = _BROKEN.search(line, max(0, one.span.column - 2), one.span.end)
    # Where there are more, the warning counts them.
    if broken is not None and len(_BROKEN.findall(line)) == 1:
        name = _BREAKS[broken[0]].partition(" ")[2]
        hint = f"take out the {name}, U+{ord(broken[0]):04X}: it stands there unseen, and {_ENDS_NO_LINE}"
        return replace(one, hints=(hint,))
    if line.isascii():
        return one
    # Reading may have stopped a blank behind the word that is not what it looks like.
    for word in re.finditer(r"\S+", line):
        if word.start() + 1 >= one.span.end or word.end() + 2 < one.span.column:
            continue
        hidden = [char for char in word[0] if unicodedata.category(char) == "Cf"]
        foreign = [char for char in word[0] if char in LOOK_ALIKES]
        others = (char for char in word[0] if char not in foreign)
        if hidden:
            return replace(
                one, hints=(f"type the word anew: a {_named(hidden[0])}, which can't be seen, stands in it",)
            )
        if foreign and all(char.isascii() for char in others):
            return replace(one, hints=(f"type the word anew: its `{foreign[0]}` is a {_named(foreign[0])}",))
    return one


def _named(char: str) -> str:
    script, _, rest = unicodedata.name(char, "character without a name").partition(" ")
    script = script.capitalize() if script in {"CYRILLIC", "GREEK"} else script.lower()
    return f"{script} {rest.lower()}, U+{ord(char):04X}"
