"""The text of a log as lines, and spans that point into it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import NamedTuple

_OPEN_ALREADY = ("/dev/", "/proc/")
"""Where a shell puts the pipes that it writes to itself."""
_LINE_END = re.compile(r"\r\n|\r|\n")


class Span(NamedTuple):
    """Some characters of one line. A tuple, because a long log makes hundreds of thousands of them."""

    file: str
    """Name of the file as the user gave it, or as `use` names it."""
    line: int
    """Counted from 1."""
    column: int
    """First character, counted from 1; a tab is one column."""
    end: int
    """Column after the last character."""


def may_never_end(name: str) -> bool:
    """Whether a path is a pipe that nobody may ever write to."""
    return Path(name).is_fifo() and not name.startswith(_OPEN_ALREADY)


@dataclass(frozen=True)
class Source:
    r"""One file of text. Lines end in LF, CRLF or CR and in nothing else.

    >>> Source(name="day.trav", text="notation 1\rnote a\x0cb\n").lines
    ('notation 1', 'note a\x0cb')
    """

    name: str
    text: str

    @cached_property
    def lines(self) -> tuple[str, ...]:
        """The lines without their ends; an end at the very end of the text opens no further line."""
        lines = _LINE_END.split(self.text)
        if lines and not lines[-1]:
            lines.pop()
        return tuple(lines)

    def line(self, number: int) -> str:
        """Line by its number from 1; empty beyond the end."""
        return self.lines[number - 1] if 0 < number <= len(self.lines) else ""
