"""The logs below a folder: each file once, and nothing that a link leads to outside it."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from traverse.record import record

ENDING = ".trav"


@record(frozen=True, slots=True, kw_only=True)
class LogsBelow:
    """What was found below a folder; paths from it, with the separators of the system."""

    logs: tuple[str, ...]
    """In order."""
    outside: tuple[str, ...]
    """Links that lead out of the folder, or nowhere."""
    shut: tuple[tuple[str, str], ...]
    """Folders that can't be looked into, each with why."""
    no_files: tuple[str, ...] = ()
    """Pipes and devices under the name of a log."""


def logs_below(folder: Path) -> LogsBelow:
    """Files ending in `.trav` in a folder, given resolved, and below it, but for hidden ones and those in hidden folders.

    No link to a folder is followed: what it leads to is found where it lies, or lies outside. A link to a file counts
    where that lies below the folder and is not a log that is found by itself.
    """
    logs: list[str] = []
    links: list[str] = []
    no_files: list[str] = []
    outside: list[str] = []
    shut: list[tuple[str, str]] = []
    for where, entry in files_below(folder, outside=outside, shut=shut):
        if entry.name.lower().endswith(ENDING) and not entry.name.startswith("."):
            if entry.is_symlink():
                links.append(where)
            elif entry.is_file():
                logs.append(where)
            else:
                no_files.append(where)
    found = {folder / one for one in logs}
    for where in sorted(links):
        target = _target(folder / where)
        if target is None or not target.is_relative_to(folder):
            outside.append(where)
        elif target.is_file() and target not in found:
            found.add(target)
            logs.append(where)
    return LogsBelow(
        logs=tuple(sorted(logs, key=lambda one: Path(one).parts)),
        outside=tuple(sorted(outside)),
        shut=tuple(shut),
        no_files=tuple(sorted(no_files)),
    )


def files_below(
    folder: Path, *, outside: list[str] | None = None, shut: list[tuple[str, str]] | None = None
) -> Iterator[tuple[str, os.DirEntry[str]]]:
    """What is no folder, with its path from the first folder; links that lead outside and what is shut are noted."""
    outside = [] if outside is None else outside
    shut = [] if shut is None else shut
    waiting = [""]
    while waiting:
        inside = waiting.pop()
        try:
            with os.scandir(folder / inside) as entries:
                for entry in entries:
                    where = os.path.join(inside, entry.name) if inside else entry.name  # noqa: PTH118 a hundred thousand
                    if entry.is_dir(follow_symlinks=False):
                        if not entry.name.startswith("."):
                            waiting.append(where)
                    elif entry.is_symlink() and _leads_to_folder(entry):
                        target = _target(folder / where)
                        if target is None or not target.is_relative_to(folder):
                            outside.append(where)
                    else:
                        yield where, entry
        except OSError as problem:
            shut.append((inside or ".", problem.strerror or str(problem)))


def _leads_to_folder(link: os.DirEntry[str]) -> bool:
    try:
        return link.is_dir()
    except OSError:  # a circle of links leads nowhere
        return False


def _target(path: Path) -> Path | None:
    """Where a link leads; None where it leads nowhere or in a circle."""
    try:
        target = path.resolve(strict=True)
    except (OSError, RuntimeError):
        return None
    return target
