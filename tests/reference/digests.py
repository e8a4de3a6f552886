"""The stored digests: a line for each text, its name and the start of its SHA-256."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from pathlib import Path

from tests.reference.drawn import Sheet, logs, sheets_of, texts

STORED = Path(__file__).parent / "digests.txt"
_HEAD = "# What every log draws and exports: a name, and the SHA-256 of its text. Renewed by renew.py, never by hand.\n"
_FIGURES = 16


def digest(text: str) -> str:
    """As much of the SHA-256 as tells some thousand texts apart."""
    return hashlib.sha256(text.encode()).hexdigest()[:_FIGURES]


def made(only: Iterable[str] = ()) -> dict[str, str]:
    """Every text by name, or those of some logs."""
    found: dict[str, str] = {}
    for path in logs(only):
        for name, text in texts(path):
            assert name not in found, f"two texts are called {name}"
            found[name] = text
    return found


def stored() -> dict[str, str]:
    """The digests as they were accepted."""
    lines = STORED.read_text(encoding="utf-8").splitlines() if STORED.exists() else []
    return dict(line.rsplit(maxsplit=1) for line in lines if line and not line.startswith("#"))


def store(digests: Mapping[str, str]) -> None:
    """Write them in the order of the logs, a blank line between two; none of a log that is gone."""
    order = {path.stem: place for place, path in enumerate(logs())}
    kept = [(name.split()[0], name, value) for name, value in digests.items() if name.split()[0] in order]
    lines, last = [_HEAD], None
    for log, name, value in sorted(kept, key=lambda one: order[one[0]]):
        lines.append(f"\n{name}  {value}\n" if log != last else f"{name}  {value}\n")
        last = log
    STORED.write_text("".join(lines), encoding="utf-8")


def of_logs(digests: Mapping[str, str], paths: Iterable[Path]) -> dict[str, str]:
    """The digests of some logs alone."""
    names = {path.stem for path in paths}
    return {name: value for name, value in digests.items() if name.split()[0] in names}


def without_sheets(digests: Mapping[str, str], path: Path, drawn: Iterable[Sheet]) -> dict[str, str]:
    """The digests of a log, but for those sheets that are not drawn."""
    left = tuple(f"{path.stem} {one.name} " for one in sheets_of(path) if one not in drawn)
    return {name: value for name, value in of_logs(digests, [path]).items() if not name.startswith(left)}


def differences(old: Mapping[str, str], new: Mapping[str, str]) -> list[str]:
    """What is new, gone or changed, by name, a line each."""
    said = [f"changed  {name}" for name, value in new.items() if name in old and old[name] != value]
    said += [f"new      {name}" for name in new if name not in old]
    said += [f"gone     {name}" for name in old if name not in new]
    return said
