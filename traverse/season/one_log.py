"""One log of a season: whether it is as it was, and its rows. Runs in any process, on any machine that sees the folder."""

from __future__ import annotations

import hashlib
import json
import os
import posixpath
import traceback
import zlib
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

from traverse.command.files import LogFiles, WrongUseError
from traverse.source import Source
from traverse.version import __version__

if TYPE_CHECKING:
    from traverse.season.season_tables import Rows

MADE_BY = f"{__version__}.2"
"""Changes with the program and with what a row holds: then every log is read again."""

Seen: TypeAlias = list[list[str | None]]
"""Every file that a log asked for, itself first: its name as asked, and a checksum, or None where it could not be had."""


class Work(NamedTuple):
    """A log to read."""

    folder: str
    path: str
    """From the folder."""
    sheet: bool
    """Whether its sheet is drawn as well."""


class LogRead(NamedTuple):
    """What came of it."""

    path: str
    seen: Seen
    rows: bytes
    """As `packed`."""
    sheet: bytes | None
    fault: str | None
    """What the program itself stumbled over, for whoever mends it."""


def shown(path: str) -> str:
    """A path of the system as it is printed and kept in rows: `/` between names, nothing that turns a line."""
    spelt = os.fsencode(path).decode("utf-8", "replace").replace(os.sep, "/")
    return "".join(char if char.isprintable() else "�" for char in spelt)


def packed(rows: Rows) -> bytes:
    """Rows as bytes, the same for the same rows."""
    return zlib.compress(json.dumps(rows, ensure_ascii=False, separators=(",", ":")).encode(), 1)


def unpacked(data: bytes) -> Rows:
    """The rows again. Raises ValueError where the bytes are damaged."""
    try:
        rows: Rows = json.loads(zlib.decompress(data))
    except zlib.error as problem:
        raise ValueError(str(problem)) from problem
    return rows


class _Watched:
    """The files of a log, with note taken of each that was asked for."""

    def __init__(self, files: LogFiles) -> None:
        self._files = files
        self.seen: dict[str, str | None] = {}

    def load(self, name: str) -> bytes:
        self.seen[name] = None
        data = self._files.load(name)
        self.seen[name] = checksum(data)
        return data


def checksum(data: bytes) -> str:
    """Of the bytes of a file."""
    return hashlib.sha256(data).hexdigest()


def one_log(work: Work) -> LogRead:
    """Read a log and make its rows. Raises nothing: what goes wrong with one log is said in its own row."""
    name = shown(work.path)
    try:
        try:
            files = LogFiles(str(Path(work.folder) / work.path))
            watched = _Watched(files)
            source, unread = files.source()
        except WrongUseError as problem:
            words = str(problem).partition(": ")[2] or str(problem)
            return LogRead(work.path, [["", None]], packed(_unread(name, words)), None, None)
        own = checksum(files.kept[Path(work.path).name])
        if source is None:
            from traverse.season.day_rows import unread_rows

            rows = unread_rows(name, unread[0].message if unread else "is no text", unread)
            return LogRead(work.path, [["", own]], packed(rows), None, None)
        rows, sheet = _rows(name, source, files, watched, sheet=work.sheet)
        seen: Seen = [["", own], *([name, sha] for name, sha in watched.seen.items())]
        return LogRead(work.path, seen, packed(rows), sheet, None)
    except Exception:  # noqa: BLE001 one log that the program stumbles over never stops the rest
        rows = _unread(name, "a fault of this program, not of the page")
        # Without a checksum it is read again: the next program may not stumble.
        return LogRead(work.path, [["", None]], packed(rows), None, traceback.format_exc())


def _unread(name: str, words: str) -> Rows:
    from traverse.season.day_rows import unread_rows

    return unread_rows(name, words)


def _rows(
    name: str, source: Source, files: LogFiles, watched: _Watched, *, sheet: bool
) -> tuple[Rows, bytes | None]:
    from traverse.compile import compile_log
    from traverse.season.day_rows import day_rows

    compiled = compile_log(Source(name=name, text=source.text), load=watched.load)
    rows = day_rows(name, compiled)
    folder = posixpath.dirname(name)
    brought = {one.file for one in compiled.log.parties}
    rows["brings"] = [
        {"path": posixpath.normpath(posixpath.join(folder, one.file))} for one in compiled.log.parties
    ]
    rows["uses"] = [
        {"path": posixpath.normpath(posixpath.join(folder, one))}
        for one in watched.seen
        if one not in brought
    ]
    if not sheet or compiled.trav is None:
        return rows, None
    from traverse.season.sheets import sheet_of

    return rows, sheet_of(compiled, files)


class Checksums:
    """Checksums of files as they lie now, each worked out once for all logs that use it."""

    def __init__(self) -> None:
        self._known: dict[Path, str | None] = {}

    def as_it_was(self, folder: str, path: str, seen: Seen) -> bool:
        """Whether a log and every file that it asked for is as it was then, and what was missing is missing still."""
        (_, own), *others = seen
        if own is None:
            return False
        try:
            files = LogFiles(str(Path(folder) / path))
            if file_checksum(Path(folder) / path) != own:
                return False
            return all(self._of(files, str(name)) == sha for name, sha in others)
        except (OSError, ValueError, WrongUseError):
            return False

    def _of(self, files: LogFiles, name: str) -> str | None:
        target = (Path(files.name).parent / name).absolute()
        if target not in self._known:
            try:
                self._known[target] = checksum(files.load(name))
                files.kept.clear()
            except (OSError, ValueError, WrongUseError):
                self._known[target] = None
        return self._known[target]


def file_checksum(path: Path) -> str:
    """Of a file as it lies. Raises OSError."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
