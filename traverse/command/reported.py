"""What a command reports on stdout: to the width of a terminal where it is one."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from traverse.command.files import WrongUseError, closed, say

if TYPE_CHECKING:
    from traverse.output.report import Part


def refuse_closed() -> None:
    """Raises `WrongUseError` where nobody can read what a command is asked for."""
    if closed(sys.stdout):
        raise WrongUseError("standard output: is closed, and the report has no other place to go to")


def print_parts(parts: Callable[[int], Sequence[Part]]) -> None:
    """Parts of a report, made for so many columns."""
    from traverse.output.report_lines import WIDTH, plain_text, show

    if sys.stdout.isatty():
        from rich.console import Console

        console = Console()
        show(parts(console.width), console)
    else:
        say(plain_text(parts(WIDTH)))
