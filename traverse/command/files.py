"""Files and standard streams; the only place that opens them."""

from __future__ import annotations

import errno
import os
import sys
import tempfile
from pathlib import Path

from traverse.diagnostic import Diagnostic, Severity, render
from traverse.notation.text import decode
from traverse.notation.use import Loader
from traverse.source import Source

STANDARD = "-"
UNNAMED = "log.trav"
"""What a log from standard input is called where it needs a name."""
MOST_BYTES = 64 * 1024 * 1024
"""A log larger than this is not a log."""
_MOST_NAMED_BYTES = 512 * 1024 * 1024
"""A file that a log names, such as a grid of heights."""


class WrongUseError(Exception):
    """The call can't be done as it was given; its text is for the user."""


def read_source(
    name: str, kept: dict[str, bytes] | None = None
) -> tuple[Source | None, tuple[Diagnostic, ...]]:
    """A log by its path, or standard input for `-`; None with an error where it is no text.

    Its bytes go into `kept` too, under the last part of its name. Raises `WrongUseError` for a file that can't be read.
    """
    if name == STANDARD:
        data, shown = sys.stdin.buffer.read(MOST_BYTES + 1), "standard input"
    else:
        try:
            with Path(name).open("rb") as file:
                data, shown = file.read(MOST_BYTES + 1), name
        except OSError as problem:
            raise WrongUseError(f"{name}: can't be read: {problem.strerror or problem}") from problem
        except ValueError as problem:
            raise WrongUseError(f"{name!r}: no file can have this name") from problem
    if len(data) > MOST_BYTES:
        raise WrongUseError(f"{shown}: over {MOST_BYTES // 1024 // 1024} MB; that is not a log")
    if kept is not None:
        kept[UNNAMED if name == STANDARD else Path(name).name] = data
    decoded = decode(shown, data)
    return decoded.value, decoded.diagnostics


def loader(name: str, kept: dict[str, bytes] | None = None) -> Loader:
    """Reads the files that a log names with `use`, in or below the log's own folder only.

    Links are followed before it is judged whether the file lies there. The bytes go into `kept` too, by the path.
    """
    folder = Path.cwd() if name == STANDARD else Path(name).resolve().parent

    def load(path: str) -> bytes:
        target = (folder / path).resolve()
        if not target.is_relative_to(folder.resolve()):
            raise PermissionError(f"{path} leads out of the log's folder")
        with target.open("rb") as file:
            data = file.read(_MOST_NAMED_BYTES + 1)
        if len(data) > _MOST_NAMED_BYTES:
            raise OSError(errno.EFBIG, f"over {_MOST_NAMED_BYTES // 1024 // 1024} MB")
        if kept is not None:
            kept[path] = data
        return data

    return load


def write_whole(name: str, data: bytes) -> None:
    """Write a file whole or not at all; `-` is standard output.

    Raises `WrongUseError` where it can't be written.
    """
    if name == STANDARD:
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()
        return
    path = Path(name)
    # What a link points to is replaced, not the link.
    path = path.resolve() if path.is_symlink() else path
    if path.exists() and not path.is_file():
        if path.is_dir():
            raise WrongUseError(f"{name}: is a folder; give a file")
        # A device or a pipe takes the bytes as they come.
        path.write_bytes(data)
        return
    temporary: str | None = None
    try:
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:40]}-", suffix=".tmp")
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        mode = path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~_umask()
        Path(temporary).chmod(mode)
        Path(temporary).replace(path)
        temporary = None
    except OSError as problem:
        raise WrongUseError(f"{name}: can't be written: {problem.strerror or problem}") from problem
    finally:
        if temporary is not None:
            Path(temporary).unlink(missing_ok=True)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def same_file(first: str, second: str) -> bool:
    """Whether two names lead to one file, so that an output would replace its own log."""
    if STANDARD in {first, second}:
        return False
    return Path(first).resolve() == Path(second).resolve()


def complain(text: str) -> int:
    """Say on stderr what was wrong with the call; the exit status."""
    print(f"traverse: {text}", file=sys.stderr)
    return 2


def tell(diagnostics: tuple[Diagnostic, ...], sources: dict[str, Source], *, notes: bool = False) -> None:
    """Print messages on stderr, a blank line between two."""
    shown = [one for one in diagnostics if notes or one.severity is not Severity.NOTE]
    try:
        for one in shown:
            print(render(one, sources), end="\n\n", file=sys.stderr)
        sys.stderr.flush()
    except BrokenPipeError:
        # Whoever read the messages has seen enough; the work itself goes on.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stderr.fileno())


def count(diagnostics: tuple[Diagnostic, ...]) -> str:
    """`1 error, 2 warnings, 1 answered`, leaving out what there is none of; empty where there is nothing."""
    kinds = [one.kind for one in diagnostics]
    parts = [
        f"{number} {word}{'s' if number != 1 and kind != 'answered' else ''}"
        for kind, word in (("error", "error"), ("warning", "warning"), ("answered", "answered"))
        if (number := kinds.count(kind))
    ]
    return ", ".join(parts)
