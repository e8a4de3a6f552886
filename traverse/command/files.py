"""Files and standard streams; the only place that opens them."""

from __future__ import annotations

import contextlib
import errno
import glob
import os
import stat
import sys
import tempfile
import time
import traceback
import unicodedata
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import TextIO

from traverse.diagnostic import COLOURS, Diagnostic, Marks, Severity, render, visible
from traverse.notation.text import decode
from traverse.source import Source, may_never_end

STANDARD = "-"
UNNAMED = "log.trav"
"""What a log from standard input is called where it needs a name."""
MOST_BYTES = 64 * 1024 * 1024
"""A log larger than this is not a log."""
_LEFT_S = 3600.0
"""An unfinished file older than this, in seconds, is no other run's at work."""
_MOST_NAMED_BYTES = 512 * 1024 * 1024
"""A file that a log names, such as a grid of heights."""


class WrongUseError(Exception):
    """The call can't be done as it was given; its text is for the user."""


class LogFiles:
    """The files that one log is made of, as they are read: the log, and what it names with `use` or `terrain`."""

    def __init__(self, name: str, *, alone: bool = False, own: bytes | None = None) -> None:
        """With its `own` bytes it is no file, and only called so; `alone` it may name no other."""
        self.name = name
        self.kept: dict[str, bytes] = {} if own is None else {Path(name).name: own}
        """Their bytes, by the name that a sheet carries them under: the log's own, else the path as the log has it."""
        self._paths: set[Path] = set() if name == STANDARD or own is not None else {_followed(name)}
        self._own = own or b""
        self._alone = alone

    def source(self) -> tuple[Source | None, tuple[Diagnostic, ...]]:
        """The log; None with an error where it is no text. Raises `WrongUseError` for a file that can't be read."""
        source, said, self._own = _read(self.name)
        if self.name != STANDARD:
            self.kept[Path(self.name).name] = self._own
        return source, said

    def load(self, path: str) -> bytes:
        """A file that the log names, in or below the log's own folder only.

        Links are followed before it is judged whether the file lies there.
        """
        if self._alone:
            raise FileNotFoundError(path)
        folder = Path.cwd() if self.name == STANDARD else Path(self.name).resolve().parent
        try:
            targets = [_followed(str(folder / one)) for one in spelt(path)]
        except WrongUseError:
            # What the log names is told at its line, beside what else is wrong with the log.
            looped = (folder / path).is_symlink()
            why = "a link that leads back to itself" if looped else "no file can have this name"
            raise OSError(errno.ELOOP, why) from None
        target = next((one for one in targets if one.exists()), targets[0])
        link = folder / path
        if not target.is_relative_to(folder.resolve()):
            by = "a link " if link.is_symlink() else ""
            raise OSError(errno.EACCES, f"{by}leads out of the log's folder")
        if not target.exists() and link.is_symlink():
            # The folder has the name, so it isn't missing.
            raise OSError(errno.ELOOP, f"a link to {as_text(str(link.readlink()))}, where no file is")
        if target.exists() and not target.is_file():
            raise OSError(errno.EINVAL, "is no file")
        with target.open("rb") as file:
            data = file.read(_MOST_NAMED_BYTES + 1)
        if len(data) > _MOST_NAMED_BYTES:
            raise OSError(errno.EFBIG, f"over {_MOST_NAMED_BYTES // 1024 // 1024} MB")
        self.kept[path] = data
        self._paths.add(target)
        return data

    def carried(self) -> dict[str, bytes]:
        """All of them, for a sheet: a log from standard input under a name that no other has."""
        if self.name != STANDARD:
            return {as_text(name): data for name, data in self.kept.items()}
        names = [UNNAMED, *(f"log-{number}.trav" for number in range(2, len(self.kept) + 3))]
        return {next(one for one in names if one not in self.kept): self._own, **self.kept}

    def explain(self, diagnostics: Sequence[Diagnostic], *, notes: bool = False) -> None:
        """Say below the messages what this log is, where it is none that can be opened."""

    def spare(self, output: str) -> None:
        """Raises `WrongUseError` where an output would replace one of them."""
        if output == STANDARD:
            return
        target = _followed(output)
        if target in self._paths:
            what = (
                "the log itself"
                if self.name != STANDARD and target == _followed(self.name)
                else "what the log was read from"
            )
            raise WrongUseError(f"{output}: is {what}; give it another name")


def spelt(path: str) -> tuple[str, ...]:
    """A path that a log names as files of it may be called: some systems keep an accent apart from its letter."""
    return tuple(dict.fromkeys((path, unicodedata.normalize("NFD", path))))


def read_source(name: str) -> tuple[Source | None, tuple[Diagnostic, ...]]:
    """A log by its path, or standard input for `-`; None with an error where it is no text.

    Raises `WrongUseError` for a file that can't be read.
    """
    return _read(name)[:2]


def _read(name: str) -> tuple[Source | None, tuple[Diagnostic, ...], bytes]:
    if name == STANDARD:
        data, shown = standard_input(MOST_BYTES + 1), "standard input"
    else:
        try:
            if may_never_end(name):
                raise WrongUseError(
                    f"{name}: is a pipe, and waiting on it may never end; `-` reads standard input"
                )
            if Path(name).is_dir():
                raise WrongUseError(f"{name}: is a folder; give a log, such as `{Path(name) / UNNAMED}`")
            with Path(name).open("rb") as file:
                data, shown = file.read(MOST_BYTES + 1), as_text(name)
        except OSError as problem:
            raise WrongUseError(f"{name}: can't be read: {problem.strerror or problem}") from problem
        except ValueError as problem:
            raise WrongUseError(f"{name!r}: no file can have this name") from problem
    if len(data) > MOST_BYTES:
        raise WrongUseError(f"{shown}: over {MOST_BYTES // 1024 // 1024} MB; that is not a log")
    decoded = decode(shown, data)
    return decoded.value, decoded.diagnostics, data


def read_once(names: Sequence[str]) -> None:
    """Raises `WrongUseError` where two of the logs are to come from standard input, which the first empties."""
    if list(names).count(STANDARD) > 1:
        raise WrongUseError("one log can come from standard input, not two; give the other by its name")


def standard_input(most: int) -> bytes:
    """So many bytes of standard input at most. Raises `WrongUseError` where whoever called closed it."""
    if sys.stdin is None:
        raise WrongUseError("standard input: is closed; give the log by its name")
    return sys.stdin.buffer.read(most)


def as_text(name: str) -> str:
    """A name to print and to keep: what of it is no UTF-8, as names from other systems have, by a stand-in."""
    return name.encode("utf-8", "surrogateescape").decode("utf-8", "replace")


def refuse_left_over(folder: Path, pattern: str, made: Iterable[str], what: str) -> None:
    """Raises `WrongUseError` where a folder holds files of this pattern that a run does not write: of another run."""
    own = {Path(name).name for name in made}
    left = sorted(as_text(path.name) for path in folder.glob(pattern) if path.name not in own)
    if left:
        more = f" and {len(left) - 1} more" if len(left) > 1 else ""
        raise WrongUseError(f"{folder}: holds {left[0]}{more}, {what} of another run; give another folder")


def _followed(name: str) -> Path:
    """Where a path leads, links followed. Raises `WrongUseError` where it leads nowhere."""
    try:
        return Path(name).resolve()
    except (OSError, RuntimeError, ValueError) as problem:
        raise WrongUseError(
            f"{name}: leads nowhere: {getattr(problem, 'strerror', None) or problem}"
        ) from problem


def one_place(name: str) -> object:
    """What is equal for two names of one file, be one of them a link of either kind."""
    try:
        at = Path(name).stat()
    except (OSError, ValueError):
        return name
    return at.st_dev, at.st_ino


def beside(name: str, ending: str) -> str:
    """A file beside a log with its name and another ending; of what has no name, such as a folder, reading it tells."""
    if name == STANDARD:
        return STANDARD
    path = Path(name)
    return str(path.with_name(f"{path.stem}{ending}")) if path.name else f"{name}{ending}"


def write_whole(name: str, data: bytes, *, replace_links: bool = False, alone: bool = False) -> None:
    """Write a file whole or not at all; `-` is standard output. `replace_links` and `alone` as in `make_all`.

    Raises `WrongUseError` where it can't be written.
    """
    if name == STANDARD:
        if closed(sys.stdout):
            raise WrongUseError("standard output: is closed; name a file with -o")
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()
        return
    make_all([(name, partial(_write, data))], replace_links=replace_links, alone=alone)


def keep_inside(path: Path, folder: Path, instead: str = "") -> None:
    """Raises `WrongUseError`, with what to do instead, where a path leads out of a folder through a link."""
    leads = _followed(str(path))
    if not leads.is_relative_to(_followed(str(folder))):
        raise WrongUseError(
            f"{path}: a link leads out of {folder}, to {leads}; nothing is written there{instead}"
        )


def make_folder(folder: Path) -> None:
    """Make a folder and those above it. Raises `WrongUseError` where it can't be."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as problem:
        why = getattr(problem, "strerror", None) or problem
        raise WrongUseError(f"{folder}: can't be made a folder: {why}") from problem


def write_all(files: Sequence[tuple[str, bytes]]) -> None:
    """Write several files: each is made beside its place first, and put there when all are made.

    Raises `WrongUseError` where one can't be written; then none is.
    """
    make_all([(name, partial(_write, data)) for name, data in files])


def write_in_folders(files: Sequence[tuple[str, bytes]]) -> None:
    """As `write_all`, in folders that are made where there are none; where a file can't be written, none of those is left.

    Raises `WrongUseError` where one can't be written; then none is.
    """
    folders = list(dict.fromkeys(Path(name).parent for name, _ in files))
    new = [
        one for one in {each for folder in folders for each in (folder, *folder.parents)} if not one.exists()
    ]
    try:
        for folder in folders:
            make_folder(folder)
        write_all(files)
    except WrongUseError:
        for one in sorted(new, key=lambda one: len(one.parts), reverse=True):
            with contextlib.suppress(OSError):
                one.rmdir()
        raise


_WRITABLE = stat.S_IWUSR | stat.S_IWGRP | stat.S_IWOTH


def make_all(
    files: Sequence[tuple[str, Callable[[Path], object]]], *, replace_links: bool = False, alone: bool = False
) -> None:
    """Make several files: each by what writes it to a path that it is given, and put in its place when all are made.

    What a link points to is replaced, not the link: whoever named it meant that. With `replace_links` it is the link,
    for files whose names the program chose. `alone` says that nobody else is at work on these files, so that whatever
    lies unfinished beside them was left by a killed run, however lately.

    Raises `WrongUseError` where one can't be written; then none is.
    """
    made: list[tuple[str, Path, Path]] = []
    try:
        for name, write in files:
            path = Path(name)
            try:
                replaced = replace_links and path.is_symlink()
                # Of `/dev/stdout` it may be a pipe without a path.
                if path.is_symlink() and not replaced and not _takes_bytes(path):
                    path = _followed(name)
                if path.is_dir() and not replaced:
                    raise WrongUseError(f"{name}: is a folder; give a file")
                if _takes_bytes(path) and not replaced:
                    write(path)
                    continue
                if not replaced and path.exists() and not path.stat().st_mode & _WRITABLE:
                    raise WrongUseError(f"{name}: is write-protected; nothing was written")
                _sweep(path, older_s=None if alone else _LEFT_S)
                made.append((name, _beside(path, write), path))
            except OSError as problem:
                raise WrongUseError(f"{name}: can't be written: {problem.strerror or problem}") from problem
        while made:
            name, temporary, path = made[0]
            try:
                temporary.replace(path)
            except OSError as problem:
                raise WrongUseError(f"{name}: can't be written: {problem.strerror or problem}") from problem
            made.pop(0)
    finally:
        for _, temporary, _ in made:
            temporary.unlink(missing_ok=True)


def _write(data: bytes, path: Path) -> None:
    path.write_bytes(data)


def _takes_bytes(path: Path) -> bool:
    """Whether a path is a device or a pipe, which takes bytes as they come."""
    return path.exists() and not path.is_file() and not path.is_dir()


def _sweep(path: Path, *, older_s: float | None) -> None:
    """Take away what killed runs left unfinished beside a place; None for all of it, else what is older."""
    for left in path.parent.glob(f"{glob.escape(_hidden(path))}*.tmp*"):
        with suppress(FileNotFoundError):  # another run sweeps too
            if older_s is None or time.time() - left.stat().st_mtime > older_s:
                left.unlink()


def _hidden(path: Path) -> str:
    """How the names of unfinished files begin."""
    return f".{path.name[:40]}-"


def _beside(path: Path, write: Callable[[Path], object]) -> Path:
    """A file beside its place, hidden, with what `write` puts in it."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=_hidden(path), suffix=f".tmp{path.suffix}")
    os.close(handle)
    temporary = Path(name)
    try:
        write(temporary)
        with temporary.open("rb+") as file:
            os.fsync(file.fileno())
        as_before = path.exists() and not path.is_symlink()
        temporary.chmod(path.stat().st_mode & 0o777 if as_before else 0o666 & ~_umask())
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
    return temporary


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def warn(text: str) -> None:
    """Print a line on stderr; what a log or a name of a file holds is text, never a command to the terminal."""
    try:
        print(visible(text), file=sys.stderr, flush=True)
    except OSError as problem:
        _unheard(problem)


def _unheard(problem: OSError) -> None:
    """Nobody reads what is told, or it has no room: the status stands all the same."""
    if not isinstance(problem, BrokenPipeError) and not is_full(problem):
        raise problem
    no_more(sys.stderr)


def complain(text: str) -> int:
    """Say on stderr what was wrong with the call; the exit status."""
    warn(f"traverse: {text}")
    return 2


_MOST_TOLD = 100
"""Messages in full; nobody reads on, and the first of them are mended first."""
_CAUSE = 120
"""Characters of a cause that are shown; all of it is among the details."""
_COLUMNS = 100
"""Of a row where no terminal says how many it has."""


def _terminal(stream: TextIO) -> tuple[int, Marks | None]:
    """Columns of a terminal, and how it marks words; None where the stream is none or no colour is wished.

    Source of the variable: no-color.org, an informal standard, from memory.
    """
    if not stream.isatty():
        return _COLUMNS, None
    plain = os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb"
    try:
        width = os.get_terminal_size(stream.fileno()).columns or _COLUMNS
    except (OSError, ValueError):
        width = _COLUMNS
    return width, None if plain else COLOURS


def tell(
    diagnostics: tuple[Diagnostic, ...],
    sources: dict[str, Source],
    *,
    of: str = STANDARD,
    notes: bool = False,
) -> None:
    """Print messages on stderr, a blank line between two.

    `of` is the log: what it brings in is named from its folder, and is shown as one would open it from here.
    """
    folder = Path(of).parent
    paths = {name: name if name == of else str(folder / name) for name in sources}
    shown = [one for one in diagnostics if notes or one.severity is not Severity.NOTE]
    width, marks = _terminal(sys.stderr)
    try:
        for one in shown[:_MOST_TOLD]:
            print(render(one, sources, width=width, marks=marks, paths=paths), end="\n\n", file=sys.stderr)
        rest = shown[_MOST_TOLD:]
        if rest:
            print(f"and more of the kind: {count(tuple(rest))}", end="\n\n", file=sys.stderr)
        sys.stderr.flush()
    except OSError as problem:
        _unheard(problem)


def say(text: str = "") -> None:
    """Print lines of results on stdout, of which none is a command to the terminal."""
    try:
        print("\n".join(map(visible, text.split("\n"))))
    except BrokenPipeError:
        no_more(sys.stdout)


def closed(stream: TextIO) -> bool:
    """Whether a stream stands in place of one that was closed."""
    return getattr(stream, "name", None) == os.devnull


def no_more(stream: TextIO) -> None:
    """Whoever read a pipe has seen enough; the work itself goes on, and its status stands."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def count(diagnostics: tuple[Diagnostic, ...]) -> str:
    """`1 error, 2 warnings, 1 answered`, leaving out what there is none of; empty where there is nothing."""
    kinds = [one.kind for one in diagnostics]
    parts = [
        f"{number} {word}{'s' if number != 1 and kind != 'answered' else ''}"
        for kind, word in (("error", "error"), ("warning", "warning"), ("answered", "answered"))
        if (number := kinds.count(kind))
    ]
    return ", ".join(parts)


def each(names: Sequence[str], one: Callable[[str], int]) -> int:
    """Do one thing with every log; what goes wrong with one does not end the others. The highest exit status."""
    try:
        read_once(names)
    except WrongUseError as problem:
        return complain(str(problem))
    status = 0
    for name in names:
        try:
            status = max(status, one(name))
        except WrongUseError as problem:
            status = max(status, complain(str(problem)))
        except BrokenPipeError:
            raise
        except Exception as problem:
            if is_full(problem):
                raise
            status = max(status, fault(problem, name))
    return status


def is_full(problem: Exception) -> bool:
    """Whether a stream takes no more."""
    return isinstance(problem, OSError) and problem.errno in {errno.ENOSPC, errno.EIO, errno.EBADF}


def fault(problem: Exception, name: str | None = None) -> int:
    """Say that the program itself failed, and where the details are; the exit status."""
    details = details_of("".join(traceback.format_exception(problem)))
    about = "" if name is None else f"{name}: "
    warn(
        f"traverse: {about}a fault of this program, not of your page ({cause_of(problem)}); nothing was written. "
        f"Details are in {details}",
    )
    return 3


def cause_of(problem: BaseException) -> str:
    """What stopped the program, for whoever mends it, on part of a line."""
    words = " ".join(str(problem).split())
    return f"{type(problem).__name__}: {words[:_CAUSE]}" if words else type(problem).__name__


def details_of(text: str) -> str:
    """The name of a file that holds what whoever mends the program needs."""
    handle, details = tempfile.mkstemp(prefix="traverse-fault-", suffix=".txt")
    with os.fdopen(handle, "w", encoding="utf-8", errors="backslashreplace") as file:
        file.write(text)
    return details
