"""Tables under names that the program chose: what it wrote may be replaced by it, as long as nobody changed it."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Sequence
from pathlib import Path

from traverse.command.files import WrongUseError, as_text

SUMS = "written.sha256"
"""In a folder of tables what each was when it was written, a line of checksum and name each, as `sha256sum` has it (manual of
the GNU core utilities, from memory)."""
_LINE = re.compile(r"([0-9a-f]{64})  ([^/\\]+)")


def with_sums(
    folder: Path, files: Sequence[tuple[str, bytes]], *, overwrite: bool = False, remedy: str
) -> list[tuple[str, bytes]]:
    """The files of one folder, and the one that tells them from others the next time.

    Raises `WrongUseError` where one would replace what is not from this program, or was changed since, unless it is to
    `overwrite` it; `remedy` says what to do then.
    """
    before = _sums(folder / SUMS)
    if before is None and not overwrite:
        raise WrongUseError(f"{folder / SUMS}: is there already, and not from this program; {remedy}")
    sums = dict(before or {})
    for name, data in files:
        path = Path(name)
        new = _sum(data)
        if path.is_file() and not overwrite:
            try:
                there = _sum(path.read_bytes())
            except OSError as problem:
                raise WrongUseError(f"{name}: can't be read: {problem.strerror or problem}") from problem
            if there not in {new, sums.get(path.name)}:
                what = "changed since this program wrote it" if path.name in sums else "not from this program"
                raise WrongUseError(f"{name}: is there already, and {what}; {remedy}")
        sums[path.name] = new
    kept = {
        name: one
        for name, one in sums.items()
        if name in {Path(n).name for n, _ in files} or (folder / name).exists()
    }
    text = "".join(f"{one}  {as_text(name)}\n" for name, one in sorted(kept.items()))
    return [*files, (str(folder / SUMS), text.encode())]


def _sum(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _sums(path: Path) -> dict[str, str] | None:
    """By name what was written; nothing where there is no such file, None where it is another one."""
    try:
        lines = path.read_text(encoding="utf-8").splitlines()
    except FileNotFoundError:
        return {}
    except (OSError, ValueError):
        return None
    found = [_LINE.fullmatch(line) for line in lines]
    if not all(found):
        return None
    return {one[2]: one[1] for one in found if one is not None}
