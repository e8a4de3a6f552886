"""What is wrong, where, and what to type instead; worded and printed here and nowhere else."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from enum import Enum
from types import MappingProxyType
from typing import Generic, NamedTuple, TypeVar

from traverse.record import record
from traverse.source import Source, Span
from traverse.wording import capital

T = TypeVar("T")


class Severity(Enum):
    """How much a message matters."""

    ERROR = "error"
    """Impossible or unreadable: no sheet until it is mended."""
    WARNING = "warning"
    """May be right but is worth a look; `checked` answers it."""
    NOTE = "note"
    """Worth knowing; shown when asked for."""


class Label(NamedTuple):
    """Another place that a message speaks of."""

    span: Span
    text: str


class Answer(NamedTuple):
    """What a `checked` line says to the warnings of the line above it."""

    who: str
    why: str
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Diagnostic:
    """One message. `message` is the fact in trade words, lower case, without a full stop; a hint is the remedy."""

    code: str
    severity: Severity
    message: str
    span: Span | None
    """Where; None for what concerns the whole log."""
    labels: tuple[Label, ...] = ()
    hints: tuple[str, ...] = ()
    answer: Answer | None = None
    """Set on a warning that `checked` answered."""
    below: int = 0
    """Lines that rest on what is wrong here and are not called wrong as well."""
    rests_on: tuple[Label, ...] = ()
    """Readings that it follows from, and what it adds to a message that doubts one of them (nothing: it is counted)."""
    doubts: tuple[Span, ...] = ()
    """Lines that may be wrong instead of its own, and that other messages may rest on."""
    gives_way: str = ""
    """Of the hints a guess from this line alone, which is left out where what rests on the line is told with it."""

    @property
    def kind(self) -> str:
        """`error`, `warning`, `note`, or `answered` for a warning that was."""
        return "answered" if self.answer else self.severity.value


def error(
    code: str, message: str, span: Span | None, *hints: str, labels: tuple[Label, ...] = ()
) -> Diagnostic:
    """An error with its remedies."""
    return Diagnostic(
        code=code, severity=Severity.ERROR, message=message, span=span, hints=hints, labels=labels
    )


def warning(
    code: str,
    message: str,
    span: Span | None,
    *hints: str,
    labels: tuple[Label, ...] = (),
    rests_on: Iterable[Span] = (),
) -> Diagnostic:
    """A warning with its remedies. Where one of the readings it rests on is doubted, it is counted there."""
    return Diagnostic(
        code=code,
        severity=Severity.WARNING,
        message=message,
        span=span,
        hints=hints,
        labels=labels,
        rests_on=tuple(Label(one, "") for one in rests_on),
    )


def note(code: str, message: str, span: Span | None, *hints: str) -> Diagnostic:
    """A note."""
    return Diagnostic(code=code, severity=Severity.NOTE, message=message, span=span, hints=hints)


class Outcome(NamedTuple, Generic[T]):
    """What a step made, and what it has to say."""

    value: T
    diagnostics: tuple[Diagnostic, ...] = ()


@dataclass
class Found:
    """Gathers what the steps say while their values pass on: `legs = found.keep(reduce_legs(log))`."""

    diagnostics: list[Diagnostic] = field(default_factory=list)

    def keep(self, outcome: Outcome[T]) -> T:
        """Keep the messages and hand on the value."""
        self.diagnostics.extend(outcome.diagnostics)
        return outcome.value

    @property
    def failed(self) -> bool:
        """Whether any error was found."""
        return has_error(self.diagnostics)


def has_error(diagnostics: Iterable[Diagnostic]) -> bool:
    """Whether there is an error among them."""
    return any(one.severity is Severity.ERROR for one in diagnostics)


def in_order(diagnostics: Iterable[Diagnostic]) -> tuple[Diagnostic, ...]:
    """Messages by file and place, those without a place last; what is said twice of one place stands once."""
    unique = dict.fromkeys(diagnostics)
    files: dict[str, int] = {}
    for one in unique:
        if one.span is not None:
            files.setdefault(one.span.file, len(files))
    return tuple(
        sorted(
            unique,
            key=lambda one: (
                (files[one.span.file], one.span.line, one.span.column) if one.span else (len(files), 0, 0)
            ),
        )
    )


def answered(
    diagnostics: Iterable[Diagnostic], answers: Mapping[tuple[str, int], Answer]
) -> tuple[Diagnostic, ...]:
    """Warnings with the answer that `checked` gives, by the file and line of the statement it stands under."""
    return tuple(
        replace(one, answer=answers.get((one.span.file, one.span.line)))
        if one.severity is Severity.WARNING and one.span is not None
        else one
        for one in diagnostics
    )


_SAID = {"error": "can't be", "warning": "look again", "note": "by the way", "answered": "answered"}
"""How much a message matters, as one says it over somebody's shoulder."""


_ASKS = re.compile(r"(^|: )((from|to|on|of|by|in) )?(where|which|who|whose|how|why)\b[^:.;]*$| what$")


class Marks(NamedTuple):
    """What a terminal begins and ends words with, beside the letters."""

    underline: tuple[str, str]
    severity: Mapping[str, tuple[str, str]]
    """By what `Diagnostic.kind` says."""


_SET_MODE = chr(0x6D)


def _mode(number: int) -> str:
    """What sets a terminal's way of writing, by its number in ECMA-48 (from memory)."""
    return f"\x1b[{number}{_SET_MODE}"


COLOURS = Marks(
    underline=(_mode(4), _mode(24)),
    severity={
        kind: (_mode(colour), _mode(39))
        for kind, colour in (("error", 31), ("warning", 33), ("note", 36), ("answered", 32))
    },
)
"""Underlines and four of a terminal's own colours, so that they suit its ground."""
_NARROWEST, _WIDEST = 40, 100
"""Columns of a sentence; a longer row is hard to read."""


_IS_TYPED = re.compile(
    r"`[^`]*`(?! (?:lines?|walks|says|makes|goes|is|are|has|have|stands?|must|would|fits?|belongs?)\b)"
)
"""A hint that begins with what to type, and doesn't go on to speak of it."""


def render(
    one: Diagnostic,
    sources: Mapping[str, Source],
    *,
    width: int = 100,
    marks: Marks | None = None,
    paths: Mapping[str, str] = MappingProxyType({}),
) -> str:
    """The message as the terminal shows it: where, the line with its words marked, and a sentence with the remedy.

    The place stands first, so that an editor can jump to it. With `marks` the words are underlined where they stand,
    else by `~` below. `width` is that of the terminal, in columns. `paths` are files as one would open them, where that is
    not the name they have among the sources.
    """
    start, end = marks.severity[one.kind] if marks is not None else ("", "")
    said = f"{start}{_SAID[one.kind]}{end}"
    typed = ""
    if one.span is None:
        rows = [said]
    else:
        rows = [
            f"{visible(paths.get(one.span.file, one.span.file))}:{one.span.line}:{one.span.column}: {said}"
        ]
        source = sources.get(one.span.file)
        if source is not None:
            typed = source.line(one.span.line)
            rows.extend(_excerpt(typed, one.span, width=max(width, _NARROWEST), marks=marks))
    rows.extend(_wrapped(_sentences(one, typed, paths), min(max(width, _NARROWEST), _WIDEST)))
    return "\n".join(rows)


_TYPED = re.compile(r"`[^`]*`[.,;:?!]*")
_AMOUNT = re.compile(
    r"(?<=\d) (?=(?:m|ft|km|degrees?|paces)\b)|(?<=\b1 in) (?=\d)|(?<=\b1) (?=in \d)|(?<=\bline) (?=\d)"
)
_JOINT = "\x00"
"""Stands for a blank that no row ends at."""
_INDENT = "  "


def _wrapped(words: str, width: int) -> list[str]:
    """Rows of no more than so many columns; what is to be typed stays in one, where it has the room."""
    room = width - len(_INDENT)

    def joined(typed: re.Match[str]) -> str:
        return typed[0].replace(" ", _JOINT) if columns(typed[0]) <= room else typed[0]

    rows = [""]
    for word in _TYPED.sub(joined, _AMOUNT.sub(_JOINT, words)).split(" "):
        longer = f"{rows[-1]} {word}" if rows[-1] else word
        if columns(longer) <= room:
            rows[-1] = longer
            continue
        rest = word
        if rows[-1]:
            rows.append("")
        while columns(rest) > room:
            # A word without a blank that is wider than the terminal, as a sentence in Chinese is.
            cut = max(1, _fitting(rest, room))
            rows[-1:] = [rest[:cut], ""]
            rest = rest[cut:]
        rows[-1] = rest
    return [f"{_INDENT}{row.replace(_JOINT, ' ')}" for row in rows if row]


def columns(text: str) -> int:
    """Columns of a terminal that a text takes: two for wide characters, none for what stands over another.

    Source: Unicode Standard Annex 11 (East Asian Width).

    >>> columns("Tarn"), columns("沢"), columns("e\u0301")
    (4, 2, 1)
    """
    return sum(map(_column, text)) if not text.isascii() else len(text)


def _column(char: str) -> int:
    if unicodedata.combining(char) or unicodedata.category(char) in {"Mn", "Me"}:
        return 0
    return 2 if unicodedata.east_asian_width(char) in {"W", "F"} else 1


def _fitting(text: str, room: int) -> int:
    """How many characters of a text stand in so many columns."""
    used = 0
    for count, char in enumerate(text):
        used += _column(char)
        if used > room:
            return count
    return len(text)


def _sentences(one: Diagnostic, typed: str, paths: Mapping[str, str]) -> str:
    """The fact, where else to look, the remedy and the answer, in one breath."""
    # A fact that is a question is asked.
    asked = _ASKS.search(one.message) and "?" not in one.message
    parts = [f"{one.message}?" if asked else one.message]
    parts += [f"{label.text}: {_place(label.span, one.span, paths)}" for label in one.labels]
    parts += [f"type {hint}" if _IS_TYPED.match(hint) else hint for hint in one.hints]
    if one.below:
        parts.append(
            "one more message follows from this line, and goes with it"
            if one.below == 1
            else f"{one.below} more messages follow from this line, and go with it"
        )
    if one.answer:
        parts.append(f"checked by {one.answer.who}: {one.answer.why}")
    return " ".join(_sentence(visible(part), typed) for part in parts)


def _place(there: Span, here: Span | None, paths: Mapping[str, str]) -> str:
    """A line, and its file where that is another one."""
    return (
        f"line {there.line}"
        if here is not None and there.file == here.file
        else f"{paths.get(there.file, there.file)}:{there.line}"
    )


def _sentence(words: str, typed: str) -> str:
    """With a capital and a full stop; what is quoted from the line, or names a file, keeps its spelling.

    A word is quoted that stands in the line and before a colon; the line's own first word begins a sentence as any other.
    """
    first, _, _ = words.partition(" ")
    word = first.rstrip(":,;")
    of_line = typed.split()
    quoted = word in of_line[1:] and (first.endswith(":") or not word.islower() or len(word) < 4)
    if word.isalpha() and not quoted and not (first.endswith(":") and word in of_line):
        words = capital(words)
    return words if words.endswith((".", "?", "!", "…")) else f"{words}."


_MARGIN = "    "


def _excerpt(line: str, span: Span, *, width: int, marks: Marks | None) -> list[str]:
    """The line and the marks in it or under it, cut to a window when it is long."""
    shown = visible(line)
    start = max(0, span.column - 1)
    # A line that is shown whole stands without its own indent.
    first = len(shown[:start]) - len(shown[:start].lstrip())
    room = width - len(_MARGIN)
    if columns(shown[first : span.end - 1]) > room:
        back = _fitting(shown[first:start][::-1], room // 4)
        first = max(first, start - back)
    lead = "… " if shown[:first].strip() else ""
    room -= columns(lead)
    stop = first + _fitting(shown[first:], room)
    tail = " …" if stop < len(shown) else ""
    if tail:
        stop = first + _fitting(shown[first:], room - columns(tail))
    end = min(span.end - 1, stop)
    before, words, after = shown[first:start], shown[start:end], shown[max(start, end) : stop]
    if marks is not None and words:
        begin, finish = marks.underline
        return [f"{_MARGIN}{lead}{before}{begin}{words}{finish}{after}{tail}".rstrip()]
    return [
        f"{_MARGIN}{lead}{before}{words}{after}{tail}".rstrip(),
        f"{_MARGIN}{' ' * (columns(lead) + columns(before))}{'~' * max(1, columns(words))}",
    ]


def visible(text: str) -> str:
    r"""A line that takes its columns and can't move the cursor or turn what stands beside it.

    >>> visible("H\x1b[31m:\u202ex")
    'H�[31m:�x'
    """
    return text if text.isascii() and text.isprintable() else "".join(map(_visible, text))


def _visible(char: str) -> str:
    """A character that takes one column and can't move the cursor."""
    if char.isspace():
        return " "
    return char if char.isprintable() else "�"
