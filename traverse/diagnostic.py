"""What is wrong, where, and what to type instead; worded and printed here and nowhere else."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from enum import Enum
from typing import Generic, NamedTuple, TypeVar

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


@dataclass(frozen=True, slots=True, kw_only=True)
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
    code: str, message: str, span: Span | None, *hints: str, labels: tuple[Label, ...] = ()
) -> Diagnostic:
    """A warning with its remedies."""
    return Diagnostic(
        code=code, severity=Severity.WARNING, message=message, span=span, hints=hints, labels=labels
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


_ASKS = re.compile(r"(^|: )((from|to) )?(where|which|who|whose|how|why)\b[^:.;]*$| what$")


def render(one: Diagnostic, sources: Mapping[str, Source], *, width: int = 100) -> str:
    """The message as the terminal shows it: where, the line with its words marked, and a sentence with the remedy.

    The place stands first, so that an editor can jump to it.
    """
    said = _SAID[one.kind]
    typed = ""
    if one.span is None:
        rows = [f"{said}"]
    else:
        rows = [f"{one.span.file}:{one.span.line}:{one.span.column}: {said}"]
        source = sources.get(one.span.file)
        if source is not None:
            typed = source.line(one.span.line)
            rows.extend(_excerpt(typed, one.span, width=width))
    rows.extend(
        textwrap.wrap(
            _sentences(one, typed),
            width,
            initial_indent="  ",
            subsequent_indent="  ",
            break_long_words=False,
            break_on_hyphens=False,
        )
    )
    return "\n".join(rows)


def _sentences(one: Diagnostic, typed: str) -> str:
    """The fact, where else to look, the remedy and the answer, in one breath."""
    # A fact that is a question is asked.
    asked = _ASKS.search(one.message) and "?" not in one.message
    parts = [f"{one.message}?" if asked else one.message]
    parts += [f"{label.text}: {_place(label.span, one.span)}" for label in one.labels]
    parts += one.hints
    if one.answer:
        parts.append(f"checked by {one.answer.who}: {one.answer.why}")
    return " ".join(_sentence("".join(map(_visible, part)), typed) for part in parts)


def _place(there: Span, here: Span | None) -> str:
    """A line, and its file where that is another one."""
    return (
        f"line {there.line}" if here is not None and there.file == here.file else f"{there.file}:{there.line}"
    )


def _sentence(words: str, typed: str) -> str:
    """With a capital and a full stop; what stands so in the line, or names a file, keeps its spelling."""
    first = words.partition(" ")[0].rstrip(":,;")
    if first.isalpha() and first not in typed.split():
        words = capital(words)
    return words if words.endswith((".", "?", "!", "…")) else f"{words}."


def _excerpt(line: str, span: Span, *, width: int) -> list[str]:
    """The line and the marks under it, cut to a window when it is long."""
    start = max(0, span.column - 1)
    first = 0 if span.end - 1 <= width else max(0, start - 20)
    # A line that is shown whole stands without its own indent.
    first = first or len(line[:start]) - len(line[:start].lstrip())
    window = "".join(_visible(char) for char in line[first : first + width])
    marks = max(1, min(span.end, first + width + 1) - span.column)
    lead = "… " if line[:first].strip() else ""
    tail = " …" if first + width < len(line) else ""
    return [
        f"    {lead}{window}{tail}".rstrip(),
        f"    {' ' * (len(lead) + start - first)}{'~' * marks}",
    ]


def _visible(char: str) -> str:
    """A character that takes one column and can't move the cursor."""
    if char.isspace():
        return " "
    return char if char.isprintable() else "�"
