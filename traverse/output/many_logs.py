"""Many logs at a glance: a row for each, with who walked, how it closes and where to look first."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from traverse.diagnostic import Diagnostic
from traverse.location.records import Closure, Survey, Suspect
from traverse.log.records import Log
from traverse.numerals import one_in
from traverse.output.report import ReportTable
from traverse.record import record
from traverse.sheet.paper.words import EN_DASH, counted
from traverse.source import Span
from traverse.wording import told_apart

_COLUMNS = ("log", "who", "closes", "err.", "warn.", "look first at")
_MOST_NAME, _MOST_WHO = 18, 10
"""Letters of a cell: ten logs stand on one screen, a row each."""
_LEAST_LOOK = 16
_ROOMY = 10
"""Logs that may take two rows each and still stand on one screen of 24 rows."""


@record(frozen=True, slots=True, kw_only=True)
class CheckedLog:
    """A log and what came of it."""

    name: str
    log: Log | None
    """None where the file could not be read."""
    survey: Survey | None
    """None where the log has errors."""
    diagnostics: tuple[Diagnostic, ...]


def many_logs(checked: Sequence[CheckedLog], *, width: int) -> ReportTable:
    """A row for each log, no wider than `width` columns where that leaves room for where to look."""
    rows = list(map(_row, told_apart([one.name for one in checked]), checked))
    cells = [_COLUMNS, *rows]
    used = sum(max(len(row[column]) for row in cells) + 2 for column in range(len(_COLUMNS) - 1)) + 2
    room = max(_LEAST_LOOK, width - used)
    most = 2 if len(rows) <= _ROOMY else 1
    return ReportTable(
        heading=counted(len(rows), "log"),
        columns=_COLUMNS,
        rows=tuple((*row[:-1], _rows(row[-1], room, most=most)) for row in rows),
        left=frozenset({0, 1, 2, 5}),
    )


def _rows(words: str, width: int, *, most: int) -> str:
    """No more words than fill so many rows."""
    rows = textwrap.wrap(words, width - 2, break_long_words=False)
    if len(rows) <= most:
        return words
    last = rows[most - 1]
    return " ".join([*rows[: most - 1], last]) + " …"


def _row(name: str, one: CheckedLog) -> tuple[str, ...]:
    kinds = [message.kind for message in one.diagnostics]
    people = one.log.heading.party if one.log is not None else ()
    who = ", ".join(dict.fromkeys(person.initials for person in people))
    return (
        _cut(name, _MOST_NAME),
        _cut(who, _MOST_WHO),
        how_it_closes(one.survey),
        str(kinds.count("error") or ""),
        str(kinds.count("warning") or ""),
        look_first(one),
    )


def _cut(words: str, most: int) -> str:
    return words if len(words) <= most else f"{words[: most - 1]}…"


def how_it_closes(survey: Survey | None) -> str:
    """How the worst loop or tie of a walk closes, in a word or two."""
    if survey is None:
        return "not yet"
    if not survey.closures:
        return "open"
    worst = max(survey.closures, key=lambda one: one.q)
    several = f", of {len(survey.closures)}" if len(survey.closures) > 1 else ""
    return f"{_how(worst)}{several}"


def _how(closure: Closure) -> str:
    gap = one_in(closure.ratio)
    if closure.q > closure.limits.refuse:
        return f"no: {gap}"
    return f"poorly: {gap}" if closure.q > closure.limits.warn else gap


def _whose(suspect: Suspect) -> str:
    """The leg, or what else was read: a control, the declination, a height."""
    if suspect.start is None or suspect.end is None:
        return suspect.what
    return f"{suspect.start}{EN_DASH}{suspect.end}"


def _line(one: CheckedLog, span: Span) -> str:
    return str(span.line) if one.log is None else one.log.line_of(span)


def look_first(one: CheckedLog) -> str:
    """The first error, else the likeliest reading to be wrong, else the first warning."""
    kinds = {kind: [said for said in one.diagnostics if said.kind == kind] for kind in ("error", "warning")}
    if not kinds["error"] and one.survey is not None and one.survey.suspects:
        suspect = one.survey.suspects[0]
        return f"line {_line(one, suspect.span)}: {_whose(suspect)}, {suspect.written}: was it {suspect.reading}?"
    for said in (*kinds["error"], *kinds["warning"]):
        return f"line {_line(one, said.span)}: {said.message}" if said.span is not None else said.message
    return ""
