"""`traverse tidy LOG…`: the one canonical layout."""

from __future__ import annotations

import argparse
import sys

from traverse.command.files import STANDARD, WrongUseError, complain, read_source, tell, write_whole
from traverse.diagnostic import Severity
from traverse.notation.tidy_text import tidy


def run(options: argparse.Namespace) -> int:
    """Rewrite each log in place; a log with errors stays as it is."""
    status = 0
    for name in options.logs:
        try:
            source, unread = read_source(name)
            if source is None:
                tell(unread, {})
                status = max(status, 1)
                continue
            outcome = tidy(source)
            errors = tuple(one for one in outcome.diagnostics if one.severity is Severity.ERROR)
            if errors:
                tell(errors, {source.name: source})
                print(f"{name}: has errors, left as it is", file=sys.stderr)
                status = max(status, 1)
            elif options.check:
                if outcome.value != source.text:
                    print(f"{name}: not tidy; `traverse tidy {name}` lays it out")
                    status = max(status, 1)
            elif name == STANDARD or outcome.value != source.text:
                write_whole(name, outcome.value.encode())
        except WrongUseError as problem:
            status = max(status, complain(str(problem)))
    return status
