"""Keeps an index true while logs are typed: looks at the files once a second, and reads what was saved."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from pathlib import Path
from typing import TypeAlias

from traverse.season.logs_below import ENDING, files_below

_LOOKS_S = 1.0
_SETTLES_S = 0.2
_Seen: TypeAlias = dict[str, tuple[int, int]]
"""Time of the last change and length, by file."""


def watch(
    folder: Path, output: Path, once: Callable[[], int], *, sleep: Callable[[float], None] = time.sleep
) -> int:
    """Make the index by `once`, then again whenever a file below the folder was saved that is not of the index itself.

    Goes on until a key stops it (KeyboardInterrupt), then 0; or 2 at once where the index can't be made at all.
    """
    seen: _Seen | None = None
    try:
        while True:
            now = _look(folder, output)
            if now == seen:
                sleep(_LOOKS_S)
                continue
            # What is being saved just now is read when it lies still.
            sleep(_SETTLES_S)
            while (later := _look(folder, output)) != now:
                now = later
                sleep(_SETTLES_S)
            status = once()
            if seen is None and status == 2:
                return status
            seen = now
    except KeyboardInterrupt:
        return 0


def _look(folder: Path, output: Path) -> _Seen:
    seen: _Seen = {}
    own = os.path.join(output, "")  # noqa: PTH118 a prefix of text, for a hundred thousand files
    for where, entry in files_below(folder):
        if entry.path.startswith(own) and not entry.name.lower().endswith(ENDING):
            continue
        try:
            found = entry.stat()
        except OSError:
            continue
        seen[where] = (found.st_mtime_ns, found.st_size)
    return seen
