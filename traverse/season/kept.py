"""What a season keeps in its folder between two runs: for each log the checksums of its files and its rows.

An SQLite file: what was done is in it after a kill, it is locked while a season is at work, and rows are read from it
one log at a time, so that ten thousand logs take no more memory than one.
"""

from __future__ import annotations

import json
import os
import sqlite3
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from traverse.season.one_log import MADE_BY, LogRead, Seen, file_checksum, unpacked

if TYPE_CHECKING:
    from traverse.season.season_tables import Row, Rows

NAME = "season.state"
_TABLES = """
CREATE TABLE IF NOT EXISTS made_by (version TEXT NOT NULL);
CREATE TABLE IF NOT EXISTS shown (mark TEXT NOT NULL, summary TEXT NOT NULL);
CREATE TABLE IF NOT EXISTS logs (path BLOB PRIMARY KEY, seen TEXT NOT NULL, rows BLOB NOT NULL, sheet BLOB);
"""
_HEADER = b"SQLite format 3\0"
_BUSY = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}
_DAMAGED = {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB}


class AtWorkError(Exception):
    """Another season is at work in the folder."""


class UnwritableError(Exception):
    """The folder takes no file; its text says why."""


class DamagedError(Exception):
    """What was kept can't be read."""


class KnownLog(NamedTuple):
    """A log as it was read last."""

    seen: Seen
    sheet: str | None
    """Name of its sheet, from the folder of the index."""


def is_begun_anew(folder: Path) -> bool:
    """Whether a file stands under the name of the state that holds none, so that it would be replaced."""
    path = folder / NAME
    try:
        if path.is_symlink() or not path.is_file():
            return False
        with path.open("rb") as file:
            return file.read(len(_HEADER)) not in {b"", _HEADER}
    except OSError:
        return False


class KeptLogs:
    """The state file of a folder, open and locked until `close`."""

    def __init__(self, folder: Path) -> None:
        """Raises `AtWorkError` and `UnwritableError`. A damaged file, or one of another version, is begun anew."""
        self.anew: str | None = None
        """Why it was begun anew, in words; None where it was not."""
        self._path = folder / NAME
        try:
            # What keeps a file from being made there is said better by the system than by SQLite.
            tempfile.TemporaryFile(dir=folder).close()
            self._drop_links()
            self._open()
        except OSError as problem:
            raise UnwritableError(problem.strerror or str(problem)) from problem
        except sqlite3.DatabaseError as problem:
            if _code(problem) not in _DAMAGED:
                raise _said(problem) from problem
            self.begin_anew()

    def begin_anew(self) -> None:
        """Give up what can't be read. Raises `UnwritableError`."""
        self._connection.close()
        try:
            self._path.unlink(missing_ok=True)
            self._open()
        except (OSError, sqlite3.DatabaseError) as again:
            raise _said(again) from again
        self.anew = f"{NAME} was damaged"

    def _drop_links(self) -> None:
        """SQLite would write to what a link under one of its names points to."""
        for ending in ("", "-journal", "-wal", "-shm"):
            path = self._path.with_name(f"{NAME}{ending}")
            if path.is_symlink():
                path.unlink()

    def _open(self) -> None:
        self._connection = sqlite3.connect(self._path, timeout=0.0, isolation_level=None)
        try:
            self._begin()
        except BaseException:
            # Left to itself it would hold the file until it is collected.
            self._connection.close()
            raise

    def _begin(self) -> None:
        run = self._connection.execute
        run("PRAGMA locking_mode = EXCLUSIVE")
        run("PRAGMA synchronous = NORMAL")
        # Nothing else may write to the folder until the connection ends, however it ends.
        run("BEGIN EXCLUSIVE")
        tables = {name for (name,) in run("SELECT name FROM sqlite_master WHERE type = 'table'")}
        if tables and "made_by" not in tables:
            raise UnwritableError(f"{NAME} there is no season's; give it another name")
        for one in _TABLES.split(";"):
            run(one)
        row = run("SELECT version FROM made_by").fetchone()
        if row is None or row[0] != MADE_BY:
            run("DELETE FROM logs")
            run("DELETE FROM made_by")
            run("INSERT INTO made_by VALUES (?)", (MADE_BY,))
            if row is not None:
                self.anew = "the program has changed"
        run("COMMIT")
        run("BEGIN")

    def close(self) -> None:
        """Keep what was put, where the disk takes it, and let others in."""
        with suppress(sqlite3.DatabaseError), closing(self._connection):
            if self._connection.in_transaction:
                self._connection.execute("COMMIT")

    def save(self) -> None:
        """Keep what was put so far, whatever comes. Raises `UnwritableError`."""
        try:
            self._connection.execute("COMMIT")
            self._connection.execute("BEGIN")
        except sqlite3.DatabaseError as problem:
            raise _said(problem) from problem

    def known(self) -> Iterator[tuple[str, KnownLog]]:
        """Every log that is kept. Raises `DamagedError`."""
        with _reading():
            for path, seen, sheet in self._connection.execute(
                "SELECT path, seen, sheet FROM logs ORDER BY path"
            ):
                known = KnownLog(json.loads(seen), None if sheet is None else os.fsdecode(sheet))
                yield os.fsdecode(path), known

    def put(self, done: LogRead, sheet: str | None) -> None:
        """Keep what came of a log. Raises `UnwritableError`."""
        name = None if sheet is None else os.fsencode(sheet)
        row = (os.fsencode(done.path), json.dumps(done.seen), done.rows, name)
        try:
            self._connection.execute("DELETE FROM shown")
            self._connection.execute("INSERT OR REPLACE INTO logs VALUES (?, ?, ?, ?)", row)
        except sqlite3.DatabaseError as problem:
            raise _said(problem) from problem

    def drop(self, paths: Sequence[str]) -> None:
        """Keep nothing of logs that are gone."""
        if paths:
            self._connection.execute("DELETE FROM shown")
        self._connection.executemany(
            "DELETE FROM logs WHERE path = ?", [(os.fsencode(one),) for one in paths]
        )

    def rows(self, paths: Sequence[str]) -> Iterator[tuple[str, Rows]]:
        """The rows of logs, one log at a time, in the order asked for. Raises `DamagedError`."""
        for path in paths:
            with _reading():
                data, sheet = self._connection.execute(
                    "SELECT rows, sheet FROM logs WHERE path = ?", (os.fsencode(path),)
                ).fetchone()
                rows = unpacked(data)
                rows["logs"][0]["sheet"] = os.fsdecode(sheet) if sheet else None
            yield path, rows

    def shown(self, mark: str, outputs: Iterable[Path]) -> Row | None:
        """What is told of these files, where they are as they were written of all that is kept, under the same mark."""
        row = self._connection.execute("SELECT mark, summary FROM shown").fetchone()
        if row is None or row[0] != _mark(mark, outputs):
            return None
        summary: Row = json.loads(row[1])
        return summary

    def showing(self, mark: str, outputs: Iterable[Path], summary: Row) -> None:
        """Take note that these files show all that is kept, and of what is told of them."""
        self._connection.execute("DELETE FROM shown")
        self._connection.execute(
            "INSERT INTO shown VALUES (?, ?)", (_mark(mark, outputs), json.dumps(summary))
        )


@contextmanager
def _reading() -> Iterator[None]:
    try:
        yield
    except (ValueError, TypeError, LookupError) as problem:
        raise DamagedError from problem
    except sqlite3.DatabaseError as problem:
        raise (DamagedError() if _code(problem) in _DAMAGED else _said(problem)) from problem


def _mark(mark: str, outputs: Iterable[Path]) -> str:
    sums = [_sum(one) for one in outputs]
    return json.dumps([mark, sums])


def _sum(path: Path) -> str | None:
    try:
        return file_checksum(path)
    except OSError:
        return None


def _code(problem: BaseException) -> int | None:
    """Its number without what SQLite adds to it."""
    code = getattr(problem, "sqlite_errorcode", None)
    return None if code is None else code & 0xFF


def _said(problem: BaseException) -> Exception:
    if _code(problem) in _BUSY:
        return AtWorkError()
    return UnwritableError(getattr(problem, "strerror", None) or str(problem))
