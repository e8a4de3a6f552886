"""`traverse check LOG…`: read and reduce; what is wrong; how it closes."""

from __future__ import annotations

import argparse

from traverse.command.files import WrongUseError, complain, count, loader, read_source, tell
from traverse.compile import compile_log


def run(options: argparse.Namespace) -> int:
    """Messages to stderr, the report to stdout, log by log."""
    from traverse.output.report import report

    status = 0
    for index, name in enumerate(options.logs):
        try:
            source, unread = read_source(name)
        except WrongUseError as problem:
            status = max(status, complain(str(problem)))
            continue
        if source is None:
            tell(unread, {})
            status = max(status, 1)
            continue
        compiled = compile_log(source, load=loader(name))
        tell(compiled.diagnostics, dict(compiled.sources), notes=options.notes)
        if index:
            print()
        if compiled.survey is not None and compiled.geology is not None:
            print(report(compiled.log, compiled.survey, compiled.geology, compiled.diagnostics))
        else:
            print(f"{name}: {count(compiled.diagnostics)}; mend these first, then it is worked out")
            status = max(status, 1)
    return status
