"""`traverse check LOG…`: read and reduce; what is wrong; how it closes."""

from __future__ import annotations

import argparse
import sys

from traverse.command.files import LogFiles, WrongUseError, complain, count, say, tell
from traverse.compile import compile_log
from traverse.diagnostic import Diagnostic
from traverse.ground.records import Traverse


def run(options: argparse.Namespace) -> int:
    """Messages to stderr, the report to stdout, log by log."""
    status = 0
    for index, name in enumerate(options.logs):
        try:
            files = LogFiles(name)
            source, unread = files.source()
        except WrongUseError as problem:
            status = max(status, complain(str(problem)))
            continue
        if source is None:
            tell(unread, {})
            status = max(status, 1)
            continue
        compiled = compile_log(source, load=files.load)
        tell(compiled.diagnostics, dict(compiled.sources), notes=options.notes)
        if index:
            say()
        if compiled.trav is not None:
            _print(compiled.trav, compiled.diagnostics)
        else:
            say(f"{name}: {count(compiled.diagnostics)}; mend these first, then it is worked out")
            status = max(status, 1)
    return status


def _print(trav: Traverse, diagnostics: tuple[Diagnostic, ...]) -> None:
    """To the width of a terminal, where stdout is one."""
    from traverse.output.report import report
    from traverse.output.report_lines import plain_text, show

    parts = report(trav, diagnostics)
    if sys.stdout.isatty():
        from rich.console import Console

        show(parts, Console())
    else:
        say(plain_text(parts))
