"""`traverse check LOG…`: read and reduce; what is wrong; how it closes. Of many logs a line each."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from typing import NamedTuple

from traverse.command.files import LogFiles, WrongUseError, complain, count, read_once, say, tell
from traverse.command.reported import print_parts, refuse_closed
from traverse.command.together import LogsTogether
from traverse.compile import Compiled, compile_log
from traverse.diagnostic import Diagnostic, Severity


class _Read(NamedTuple):
    """A log as far as it could be read."""

    name: str
    compiled: Compiled | None
    """None where the file is no text."""
    diagnostics: tuple[Diagnostic, ...]

    @property
    def failed(self) -> bool:
        return any(one.severity is Severity.ERROR for one in self.diagnostics)


def run(options: argparse.Namespace) -> int:
    """Messages to stderr, the report to stdout. Of many logs a line each; in full with `--details`."""
    try:
        refuse_closed()
        if not options.together:
            read_once(options.logs)
    except WrongUseError as problem:
        return complain(str(problem))
    if options.together:
        return _one(lambda: LogsTogether(options.logs), notes=options.notes)
    if len(options.logs) > 1:
        return _many(options.logs, details=options.details, notes=options.notes)
    return _one(lambda: LogFiles(options.logs[0]), notes=options.notes)


def _one(files: Callable[[], LogFiles], *, notes: bool) -> int:
    try:
        log = files()
        one = _read(log)
    except WrongUseError as problem:
        return complain(str(problem))
    _in_full(one, notes=notes)
    log.explain(one.diagnostics, notes=notes)
    return int(one.failed)


def _many(names: Sequence[str], *, details: bool, notes: bool) -> int:
    status = 0
    found: list[_Read] = []
    for name in names:
        try:
            found.append(_read(LogFiles(name)))
        except WrongUseError as problem:
            status = max(status, complain(str(problem)))
    if found:
        _at_a_glance(found)
    for one in found:
        status = max(status, int(one.failed))
        if details:
            say()
            _in_full(one, notes=notes)
    if found and not details:
        say("  `traverse check LOG` tells of one in full, `--details` of all")
    return status


def _read(files: LogFiles) -> _Read:
    """Raises `WrongUseError` for a file that can't be read."""
    name = files.name
    source, unread = files.source()
    if source is None:
        return _Read(name, None, unread)
    compiled = compile_log(source, load=files.load)
    return _Read(name, compiled, compiled.diagnostics)


def _at_a_glance(found: Sequence[_Read]) -> None:
    from traverse.output.many_logs import CheckedLog, many_logs

    checked = [
        CheckedLog(
            name=one.name,
            log=None if one.compiled is None else one.compiled.log,
            survey=None if one.compiled is None else one.compiled.survey,
            diagnostics=one.diagnostics,
        )
        for one in found
    ]
    print_parts(lambda width: (many_logs(checked, width=width),))


def _in_full(one: _Read, *, notes: bool) -> None:
    if one.compiled is None:
        tell(one.diagnostics, {})
        return
    tell(one.diagnostics, dict(one.compiled.sources), of=one.name, notes=notes)
    trav = one.compiled.trav
    if trav is None:
        say(f"{one.name}: {count(one.diagnostics)}; mend these first, then it is worked out")
        return
    from traverse.output.report import report

    shown = [said for said in one.diagnostics if not (notes and said.kind == "note")]
    parts = report(trav, shown)
    print_parts(lambda _: parts)
