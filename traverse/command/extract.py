"""`traverse extract SHEET`: the log that a sheet was made from, out of the sheet."""

from __future__ import annotations

import argparse
import io
import re
import sys
from pathlib import Path

from traverse.command.files import MOST_BYTES, STANDARD, WrongUseError, complain, write_whole

_LONGEST = 120
_UNFIT = re.compile(r'[<>:"|?*]')
"""What no file name may hold on one system or another."""
_DEVICES = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)


def run(options: argparse.Namespace) -> int:
    """Writes every file that the sheet carries, byte for byte, or none."""
    name = options.sheet
    folder = Path(options.output or f"{'sheet' if name == STANDARD else Path(name).stem}-log")
    try:
        carried = _carried(name)
        if not carried:
            print(f"{name}: carries no log", file=sys.stderr)
            return 1
        targets = _targets(carried, folder, overwrite=options.overwrite)
        for target, data in targets:
            try:
                target.parent.mkdir(parents=True, exist_ok=True)
            except OSError as problem:
                raise WrongUseError(
                    f"{target.parent}: can't be made a folder: {problem.strerror or problem}"
                ) from problem
            write_whole(str(target), data)
            print(target)
    except WrongUseError as problem:
        return complain(str(problem))
    return 0


def _carried(name: str) -> list[tuple[str, bytes]]:
    """Names and bytes of the files in a PDF."""
    from pypdf import PdfReader

    try:
        if name == STANDARD:
            data = sys.stdin.buffer.read(MOST_BYTES + 1)
        else:
            with Path(name).open("rb") as file:
                data = file.read(MOST_BYTES + 1)
    except (OSError, ValueError) as problem:
        raise WrongUseError(
            f"{name}: can't be read: {getattr(problem, 'strerror', None) or problem}"
        ) from problem
    if len(data) > MOST_BYTES:
        raise WrongUseError(f"{name}: over {MOST_BYTES // 1024 // 1024} MB; that is not a sheet")
    try:
        reader = PdfReader(io.BytesIO(data))
        return [(str(key), one) for key, several in reader.attachments.items() for one in several]
    except Exception as problem:  # a broken file can fail in the library in any way
        raise WrongUseError(f"{name}: is no PDF that can be read") from problem


def safe_name(name: str) -> str:
    r"""A path below a folder, whatever the sheet says: no way out, no hidden file, no name that a system forbids.

    >>> safe_name("heights/dale.trav"), safe_name("../../.ssh/keys"), safe_name("C:\\day.trav"), safe_name("..")
    ('heights/dale.trav', 'ssh/keys', 'C/day.trav', 'log.trav')
    """
    parts = []
    for part in re.split(r"[/\\]", name):
        clean = _UNFIT.sub("", "".join(char for char in part if char.isprintable()))[:_LONGEST].strip(" .")
        if _DEVICES.fullmatch(clean):
            clean = f"_{clean}"
        if clean:
            parts.append(clean)
    return "/".join(parts) or "log.trav"


def _targets(carried: list[tuple[str, bytes]], folder: Path, *, overwrite: bool) -> list[tuple[Path, bytes]]:
    """Where each file goes.

    Raises `WrongUseError` before anything is written, where one would replace another file or leave the folder.
    """
    found: dict[Path, bytes] = {}
    for name, data in carried:
        target = folder / safe_name(name)
        if not target.resolve().is_relative_to(folder.resolve()):
            raise WrongUseError(f"{target}: leads out of {folder}")
        if found.get(target, data) != data:
            raise WrongUseError(f"{target}: two files of the sheet would have this name")
        if target.exists() and not overwrite and (not target.is_file() or target.read_bytes() != data):
            raise WrongUseError(
                f"{target}: is there already and differs; name another folder with -o, or say --overwrite"
            )
        found[target] = data
    return list(found.items())
