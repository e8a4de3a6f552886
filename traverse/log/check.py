"""Checks of a log that need no arithmetic."""

from __future__ import annotations

from traverse.diagnostic import Diagnostic
from traverse.log.records import Log


def check_log(log: Log, *, unread: frozenset[str] = frozenset()) -> tuple[Diagnostic, ...]:
    """What is missing from a log or can't be right in it."""
    return ()
