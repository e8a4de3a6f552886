"""Several logs named in one call, put together as a camp file would."""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from pathlib import Path

from traverse.command.files import STANDARD, LogFiles, WrongUseError, one_place, read_source, warn
from traverse.diagnostic import Diagnostic, Severity
from traverse.notation.read import read_log
from traverse.source import Source

NAME = "together.trav"
"""What the log that brings the others in is called: in messages, and in a sheet, which carries it with them."""
_MOST_LINES = 4
"""Logs whose lines are shown; the others are written like them."""
_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


class LogsTogether(LogFiles):
    """A log of one `log` line for each of several logs, with the letters of its `group` line, else in order."""

    def __init__(self, names: Sequence[str]) -> None:
        """Raises `WrongUseError` for logs that can't be put together, or of which one can't be read."""
        if STANDARD in names:
            raise WrongUseError("--together takes files, not standard input")
        paths = [Path(name).resolve() for name in names]
        places = [one_place(name) for name in names]
        twice = next(
            (name for name, place in zip(names, places, strict=True) if places.count(place) > 1), None
        )
        if twice is not None:
            raise WrongUseError(f"{twice}: is named twice; each log once")
        folder = Path(os.path.commonpath([path.parent for path in paths]))
        if (folder / NAME).exists():
            raise WrongUseError(
                f"{folder / NAME}: is a file; draw it by its own name, or give it another one"
            )
        super().__init__(os.path.relpath(folder / NAME))
        self._parties = _letters(names)
        self._lines = [
            f"log {path.relative_to(folder).as_posix()} as {letters}"
            for path, letters in zip(paths, self._parties, strict=True)
        ]
        self._text = "\n".join(("notation 1", "traverse Several parties", *self._lines)) + "\n"

    def source(self) -> tuple[Source | None, tuple[Diagnostic, ...]]:
        """The log that brings them in."""
        self.kept[NAME] = self._text.encode()
        return Source(name=NAME, text=self._text), ()

    def explain(self, diagnostics: Sequence[Diagnostic], *, notes: bool = False) -> None:
        """Where messages name the log that is no file, or what only it can say, tell how to write one like it."""
        told = [one for one in diagnostics if notes or one.severity is not Severity.NOTE]
        of_parties = re.compile(rf"\b(?:{'|'.join(map(re.escape, self._parties))})-\w")
        if not any(
            (one.span is not None and one.span.file == NAME) or any(map(of_parties.search, one.hints))
            for one in told
        ):
            return
        shown = ["notation 1", *self._lines[:_MOST_LINES]]
        more = len(self._lines) - _MOST_LINES
        rest = f", and {more} more like them" if more > 0 else ""
        warn(
            f"traverse: {NAME} is no file, and stands for these lines: {', '.join(f'`{one}`' for one in shown)}{rest}. What is "
            f"to be typed with `{self._parties[0]}-` or `{self._parties[-1]}-` before a name goes below them, in a file of your own "
            f"in {Path(self.name).parent.resolve()}; then name that file alone, without --together"
        )


def _letters(names: Sequence[str]) -> list[str]:
    """Letters of the parties: what their logs say, and for the others the first that are free."""
    said = [_group(name) for name in names]
    free = iter(_spare({one.upper() for one in said if one is not None}, len(names)))
    return [next(free) if one is None else one for one in said]


def _group(name: str) -> str | None:
    source, _ = read_source(name)
    if source is None or re.search(r"^[ \t]*group\b", source.text, re.IGNORECASE | re.MULTILINE) is None:
        return None
    files = LogFiles(name)
    return read_log(source, load=files.load).value.log.heading.group


def _spare(taken: set[str], count: int) -> list[str]:
    """So many names of one letter, then of two."""
    names = [*_LETTERS, *(first + second for first in _LETTERS for second in _LETTERS)]
    return [name for name in names if name not in taken][:count]
