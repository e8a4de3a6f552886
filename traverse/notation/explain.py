"""What was expected where a line could not be read, in trade words."""

from __future__ import annotations

from traverse.diagnostic import Diagnostic, error
from traverse.notation.parse import Unread
from traverse.notation.text import shortened
from traverse.source import Span


def explain(unread: Unread, *, file: str, line: str, typed: str) -> Diagnostic:
    """The message for a line that is no statement."""
    end = len(line) + 1
    return error(
        "unreadable",
        f"cannot read {shortened(line[unread.column - 1 :])}",
        Span(file, unread.line, unread.column, end),
    )
