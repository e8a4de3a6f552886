"""A log in one of its versions: a file, or `REV:path` as git keeps it, with the files it names from the same revision.

Git is asked through its plumbing, by a fixed list of arguments and never through a shell; whatever was typed stands
behind `--end-of-options` or is an object's own number.
"""

from __future__ import annotations

import os
import posixpath
import subprocess
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import NamedTuple

from traverse.command.files import MOST_BYTES, STANDARD, LogFiles, WrongUseError, spelt
from traverse.diagnostic import Diagnostic
from traverse.notation.text import decode
from traverse.notation.use import Loader
from traverse.source import Source

_GIT_S = 60.0
"""Seconds after which git is taken to hang."""
_MOST_LINKS = 40
"""Links that lead from one to the next; a system follows as many."""
_SHORT = 7
"""Figures of an object's number that are shown."""


class VersionRead(NamedTuple):
    """A version as far as it could be read."""

    name: str
    source: Source | None
    """None where it is no text."""
    diagnostics: tuple[Diagnostic, ...]
    load: Loader
    files: LogFiles | None
    """Of a file in a folder, what must not be written over."""


def read_version(name: str) -> VersionRead:
    """A file where there is one of this name, else a revision. Raises `WrongUseError` where it is neither."""
    revision = _revision(name)
    if name == STANDARD or Path(name).exists() or revision is None:
        return in_folder(name)
    before, path = revision
    tree = before and _asked("rev-parse", "--verify", "--quiet", "--end-of-options", f"{before}^{{tree}}")
    if tree is None:
        raise WrongUseError(f"{name}: no such file, and git knows no revision {before!r} here")
    path = _end_of_links(tree, path)
    blob = _object(tree, path)
    if blob is None:
        where = f"revision {before}" if before else "the index"
        raise WrongUseError(f"{name}: {where} has no file {path}")
    folder = posixpath.dirname(path)
    return _of_git(name, blob, partial(_within, tree, folder))


def in_folder(name: str, shown: str | None = None) -> VersionRead:
    """A file as it lies in its folder. Raises `WrongUseError` where it can't be read."""
    files = LogFiles(name)
    source, unread = files.source()
    if source is not None and shown is not None:
        source = Source(name=shown, text=source.text)
    return VersionRead(shown or name, source, unread, files.load, files)


def as_git_gives_it(path: str, file: str, number: str) -> VersionRead | None:
    """One side of what git hands to a difference driver: a file with the content, and the object's number.

    The file itself where it is the one in the work tree; else a copy, and what the log names is sought in a revision
    that has the object at this path. None where the side is empty. Raises `WrongUseError` where it can't be read.
    """
    if file in {os.devnull, "nul"}:
        return None
    if Path(file).exists() and Path(path).exists() and Path(file).resolve() == Path(path).resolve():
        return in_folder(path)
    copy = in_folder(file, f"{number[:_SHORT]}:{path}")
    return copy._replace(load=_AnyRevision(path, number).load, files=None)


class _AnyRevision:
    """What a log names, where only the number of its object is known."""

    def __init__(self, path: str, number: str) -> None:
        self._path, self._number = path, number
        self._tree: str | None = None
        self._sought = False

    def load(self, name: str) -> bytes:
        """A file of the revision that has the log. Raises `OSError` where there is none, or it lacks the file."""
        if not self._sought:
            self._tree, self._sought = self._found(), True
        if self._tree is None:
            raise FileNotFoundError(name)
        return _within(self._tree, posixpath.dirname(self._path), name)

    def _found(self) -> str | None:
        """A tree, or empty for the index."""
        for tree in ("HEAD", ""):
            if self._has(tree):
                return tree
        commits = _asked(
            "log", "--all", "--format=%H", "--max-count=20", f"--find-object={self._number}", "--", self._path
        )
        for commit in (commits or "").split():
            for tree in (commit, f"{commit}^"):
                if self._has(tree):
                    return tree
        return None

    def _has(self, tree: str) -> bool:
        found = _asked("rev-parse", "--verify", "--quiet", "--end-of-options", f"{tree}:{self._path}")
        return found is not None and found == self._number


def _revision(name: str) -> tuple[str, str] | None:
    """Revision and path of `REV:path`, as gitrevisions(7) has it: the first colon outside of braces parts them."""
    depth = 0
    for at, letter in enumerate(name):
        depth += (letter == "{") - (letter == "}")
        if letter == ":" and not depth:
            before, path = name[:at], name[at + 1 :]
            drive = at == 1 and path.startswith(("\\", "/"))
            return None if drive or not path or before.startswith("-") or "\0" in name else (before, path)
    return None


def _of_git(name: str, blob: str, load: Callable[[str], bytes]) -> VersionRead:
    try:
        decoded = decode(name, _blob(blob))
    except OSError as problem:
        raise WrongUseError(f"{name}: {problem}") from problem
    return VersionRead(name, decoded.value, decoded.diagnostics, load, None)


def _within(tree: str, folder: str, name: str) -> bytes:
    """A file of a tree, in or below the log's folder only. Raises `OSError` where it is not there."""
    path = posixpath.normpath(posixpath.join(folder, name))
    if folder not in {"", "."} and not path.startswith(f"{posixpath.normpath(folder)}/"):
        raise PermissionError(f"{name} leads out of the log's folder")
    if folder.startswith("."):
        path = f"./{path}" if not path.startswith("../") else path
    for one in spelt(path):
        blob = _object(tree, one)
        if blob is not None:
            return _blob(blob)
    raise FileNotFoundError(name)


def _object(tree: str, path: str) -> str | None:
    """The number of a file, links that git keeps followed as far as they stay in the tree; in the index none is."""
    if tree and "\n" not in path:
        found = _asked("cat-file", "--batch-check", "--follow-symlinks", given=f"{tree}:{path}\n".encode())
        number, *kind = (found or "none").split()
        # Else it says that it is missing, or how a link leads nowhere.
        return number if kind[:1] in (["blob"], ["tree"]) else None
    return _asked("rev-parse", "--verify", "--quiet", "--end-of-options", f"{tree}:{path}")


def _end_of_links(tree: str, path: str) -> str:
    """The path of the file that a link leads to: from its folder the names count that a log has."""
    for _ in range(_MOST_LINKS):
        own = _asked("rev-parse", "--verify", "--quiet", "--end-of-options", f"{tree}:{path}")
        if own is None or own == _object(tree, path):
            break
        try:
            leads = _blob(own).decode()
        except (OSError, UnicodeDecodeError):
            break
        ahead = "./" if path.startswith("./") else ""
        path = ahead + posixpath.normpath(posixpath.join(posixpath.dirname(path), leads))
    return path


def _blob(number: str) -> bytes:
    """Content of an object. Raises `OSError` where it is none, or too large for a log or what it names."""
    size = _asked("cat-file", "-s", number)
    if size is None or _asked("cat-file", "-t", number) != "blob":
        raise OSError("is no file")
    if int(size) > MOST_BYTES:
        raise OSError(f"over {MOST_BYTES // 1024 // 1024} MB")
    return _run("cat-file", "blob", number)


def _asked(*arguments: str, given: bytes = b"") -> str | None:
    """What git answers, on one line or several; None where it has no answer."""
    try:
        return _run(*arguments, given=given).decode(errors="replace").strip()
    except subprocess.CalledProcessError:
        return None


def _run(*arguments: str, given: bytes = b"") -> bytes:
    """Raises `WrongUseError` where git is not there or hangs."""
    try:
        return subprocess.run(  # noqa: S603 a fixed program and list; see the module's own words
            ["git", "--no-pager", *arguments],  # noqa: S607 whichever git the party uses
            check=True,
            input=given,
            capture_output=True,
            timeout=_GIT_S,
            env={**os.environ, "GIT_OPTIONAL_LOCKS": "0", "GIT_LITERAL_PATHSPECS": "1"},
        ).stdout
    except FileNotFoundError:
        raise WrongUseError("a revision is read by git, which is not installed here") from None
    except subprocess.TimeoutExpired:
        raise WrongUseError(f"git did not answer within {_GIT_S:.0f} s") from None
