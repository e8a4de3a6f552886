"""`traverse extract SHEET`: the log that a sheet was made from, out of the sheet."""

from __future__ import annotations

import argparse
import hashlib
import io
import logging
import re
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from traverse.command.files import (
    MOST_BYTES,
    STANDARD,
    WrongUseError,
    complain,
    keep_inside,
    say,
    standard_input,
    warn,
    write_in_folders,
    write_whole,
)
from traverse.output.attached import NAME_SUM, described, name_checksum, read_description
from traverse.record import record

if TYPE_CHECKING:
    from pypdf import PdfReader

_LONGEST = 120
_LONGEST_PATH = 400
"""Characters of a name with its folders; longer ones are no name that a log gave."""
_MOST_OUT = 256 * 1024 * 1024
"""All files of a sheet together are smaller."""


class _TooMuchError(Exception):
    """A sheet that would fill the disk."""


_EMBEDDED = re.compile(rb"/(EmbeddedFiles?|Filespec)\b")
"""What a PDF that carries a file says of it (ISO 32000-1, 7.11.4), wherever it stands."""
_UNFIT = re.compile(r'[<>:"|?*]')
"""What no file name may hold on one system or another."""
_DEVICES = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)


def run(options: argparse.Namespace) -> int:
    """Writes every file that the sheet carries, byte for byte, or none."""
    name = options.sheet
    folder = Path(options.output or f"{'sheet' if name == STANDARD else Path(name).stem}-log")
    try:
        if not options.output:
            keep_inside(folder, Path.cwd(), "; name a folder with -o")
        carried = _carried(name)
        whole = _whole(name, carried)
        if options.output == STANDARD:
            write_whole(STANDARD, _alone(name, whole))
            return 0
        targets = _targets(whole, folder, overwrite=options.overwrite)
        write_in_folders([(str(target), data) for target, data in targets])
        for target, _ in targets:
            say(str(target))
    except WrongUseError as problem:
        return complain(str(problem))
    return 0


def _alone(name: str, files: list[tuple[str, bytes]]) -> bytes:
    """The one file of a sheet, for standard output. Raises `WrongUseError` where there are more."""
    if len(files) > 1:
        names = ", ".join(one for one, _ in files)
        raise WrongUseError(
            f"{name}: carries {len(files)} files, {names}, and standard output takes one; name a folder with -o"
        )
    return files[0][1]


@record(frozen=True, slots=True, kw_only=True)
class _Attached:
    """A file in a sheet, with what the sheet says of it."""

    name: str
    names: frozenset[str]
    """The name wherever the sheet has it."""
    data: bytes
    size: int | None
    checksum: bytes | None
    """MD5, as the standard has it (ISO 32000-1, 7.11.4, table 46)."""
    description: str
    """As our sheets tell what they carry; empty in the oldest."""


def _whole(name: str, carried: list[_Attached]) -> list[tuple[str, bytes]]:
    """The files, if each is as it was put in and none is missing. Raises `WrongUseError` where that isn't so."""
    again = "and nothing was written; take another copy of the sheet"
    for one in carried:
        if not _is_name(one.name):
            raise WrongUseError(f"{name}: a name in it is damaged, {again}")
    for one in carried:
        sums = one.checksum is None or hashlib.md5(one.data, usedforsecurity=False).digest() == one.checksum
        if not sums or one.names != {one.name} or one.size not in {None, len(one.data)}:
            raise WrongUseError(f"{name}: {one.name} in it is damaged, {again}")
    files = [(one.name, one.data) for one in carried]
    if any(one.description for one in carried):
        if not _as_described(carried):
            raise WrongUseError(f"{name}: what it carries is damaged, or a file of it is missing, {again}")
        return files
    unsure = [one.name for one in carried if one.checksum is None]
    if unsure:
        warn(
            f"{name}: carries no checksum of {', '.join(unsure)}, so a damaged copy can't be told from a whole one; "
            "look at it against the pages",
        )
    return files


def _as_described(carried: list[_Attached]) -> bool:
    """Whether the files are those that the sheet tells of, all of them, each under its own name."""
    older = [NAME_SUM.fullmatch(one.description) for one in carried]
    if all(older):
        return all(
            found is not None and found[1] == name_checksum(one.name) and one.checksum is not None
            for one, found in zip(carried, older, strict=True)
        )
    ordered = sorted(carried, key=lambda one: one.name)
    told = [read_description(one.description) for one in ordered]
    return told == list(described([(one.name, one.data) for one in ordered]))


def _carried(name: str) -> list[_Attached]:
    """The files in a PDF, one or more."""
    from pypdf import PdfReader

    try:
        if name == STANDARD:
            data = standard_input(MOST_BYTES + 1)
        elif Path(name).is_dir():
            raise WrongUseError(f"{name}: is a folder; give a sheet, a PDF")
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
        with _in_silence():
            reader = PdfReader(io.BytesIO(data))
            locked = reader.is_encrypted and not _opens(reader)
            found = [] if locked else list(_attached(reader))
    except _TooMuchError:
        raise WrongUseError(
            f"{name}: would give more than {_MOST_OUT // 1024 // 1024} MB; that is no sheet of ours"
        ) from None
    except Exception as problem:  # a broken file can fail in the library in any way
        raise WrongUseError(f"{name}: is no PDF that can be read") from problem
    if locked:
        raise WrongUseError(
            f"{name}: is locked with a password, as no sheet is made; take the password out of it, or take another copy of the sheet"
        )
    if not found and _EMBEDDED.search(data):
        raise WrongUseError(
            f"{name}: is damaged: a file was put into it, and can't be found in it any more; take another copy of the sheet"
        )
    if not found:
        raise WrongUseError(
            f"{name}: carries no log; give the PDF of a sheet, as `traverse sheet` made it: handouts and drawings alone "
            "carry none"
        )
    return found


def _opens(reader: PdfReader) -> bool:
    """Whether a locked PDF is read without a password: then it is locked against other things than reading."""
    try:
        return bool(reader.decrypt(""))
    except Exception:  # noqa: BLE001 the library lacks what some locks need
        return False


@contextmanager
def _in_silence() -> Iterator[None]:
    """What the library says of a damaged file on its way is told in one message of ours."""
    log = logging.getLogger("pypdf")
    before = log.level
    log.setLevel(logging.CRITICAL + 1)
    try:
        yield
    finally:
        log.setLevel(before)


def _attached(reader: PdfReader) -> Iterator[_Attached]:
    left = _MOST_OUT
    for one in reader.attachment_list:
        # What it says of its size is believed as far as that stops it.
        left -= one.size or 0
        data = one.content if left >= 0 else b""
        left -= max(0, len(data) - (one.size or 0))
        if left < 0:
            raise _TooMuchError
        stream: Any = one.pdf_object.get_object()
        said = stream["/EF"]["/F"].get_object().get("/Params", {}).get("/CheckSum")
        # A string of bytes, which the library would read as letters.
        checksum = None if said is None else bytes(said.get_object().original_bytes)
        name = str(one.alternative_name or one.name)
        yield _Attached(
            name=name,
            names=frozenset({name, str(one.name), str(stream.get("/F", name))}),
            data=data,
            size=one.size,
            checksum=checksum,
            description=str(stream.get("/Desc", "")),
        )


def _is_name(name: str) -> bool:
    """Whether a text may be the name of a file with its folders, and not bytes that a damaged sheet ran into it."""
    return 0 < len(name) <= _LONGEST_PATH and not any(unicodedata.category(one) == "Cc" for one in name)


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
