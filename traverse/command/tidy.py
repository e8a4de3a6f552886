"""`traverse tidy LOG…`: the one canonical layout."""

from __future__ import annotations

import argparse
from functools import partial

from traverse.command.files import STANDARD, each, read_source, say, tell, warn, write_whole
from traverse.diagnostic import Severity
from traverse.notation.tidy_text import tidy


def run(options: argparse.Namespace) -> int:
    """Rewrite each log in place; a log with errors stays as it is."""
    return each(options.logs, partial(_tidy, check=options.check))


def _tidy(name: str, *, check: bool) -> int:
    source, unread = read_source(name)
    if source is None:
        tell(unread, {})
        return 1
    outcome = tidy(source)
    errors = tuple(one for one in outcome.diagnostics if one.severity is Severity.ERROR)
    if errors:
        tell(errors, {source.name: source})
        warn(f"{name}: has errors, left as it is")
        return 1
    if check:
        if outcome.value != source.text:
            say(f"{name}: not tidy; `traverse tidy {name}` lays it out")
            return 1
    elif name == STANDARD or outcome.value != source.text:
        write_whole(name, outcome.value.encode())
    return 0
