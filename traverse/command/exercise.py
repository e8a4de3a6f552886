"""`traverse exercise KEY`: copies of a log with one known slip each, and the answers in a folder of their own."""

from __future__ import annotations

import argparse
import csv
import io
from pathlib import Path, PurePosixPath

from traverse.command.drawing import compiled_log
from traverse.command.files import (
    LogFiles,
    WrongUseError,
    complain,
    refuse_left_over,
    warn,
    write_in_folders,
)
from traverse.compare.exercise.slipped import ALL_KINDS, KINDS_MADE, Slipped, slipped
from traverse.output.csv_file import cell

_MOST = 500


def run(options: argparse.Namespace) -> int:
    """As many copies as were asked for, or as the log has slips of these kinds."""
    try:
        return _exercise(options)
    except WrongUseError as problem:
        return complain(str(problem))


def _exercise(options: argparse.Namespace) -> int:
    if not 1 <= options.number <= _MOST:
        raise WrongUseError(f"-n takes a number from 1 to {_MOST}")
    kinds = _kinds(options.kinds)
    files, folder = LogFiles(options.key), Path(options.output)
    compiled = compiled_log(files, str(folder / "answers" / "answers.csv"), "exercise")
    if compiled is None:
        return 1
    assert compiled.trav is not None
    made = slipped(compiled, files.load, count=options.number, seed=options.seed, kinds=kinds)
    if not made:
        warn(
            f"{options.key}: has no line where a slip of these kinds could be worked out; nothing was made",
        )
        return 1
    names = [f"exercise-{number:0{len(str(len(made)))}d}.trav" for number in range(1, len(made) + 1)]
    own = {Path(options.key).name}
    beside = {name: data for name, data in files.kept.items() if name not in own}
    out = [(str(folder / name), one.text.encode()) for name, one in zip(names, made, strict=True)]
    out += [(str(folder / PurePosixPath(name)), data) for name, data in beside.items()]
    out.append((str(folder / "answers" / "answers.csv"), _answers(names, made)))
    for name, _ in out:
        if name != str(folder / Path(name).name) or name not in beside:
            files.spare(name)
    refuse_left_over(folder, "exercise-*.trav", names, "a log")
    for name, data in out:
        path = Path(name)
        # Answers written over are gone, and the copies that they mark are in other hands by then.
        if path.name in {*names, "answers.csv"} and path.is_file() and path.read_bytes() != data:
            raise WrongUseError(f"{options.output}: holds another exercise; give another folder")
    write_in_folders(out)
    if len(made) < options.number:
        warn(f"{options.output}: {len(made)}, as the log has no more of these kinds that can be worked out")
    return 0


def _kinds(words: str | None) -> tuple[str, ...]:
    """Raises `WrongUseError` for a kind that there is not."""
    if words is None:
        return KINDS_MADE
    kinds = tuple(dict.fromkeys(one.strip().lower() for one in words.split(",") if one.strip()))
    unknown = [one for one in kinds if one not in ALL_KINDS]
    if unknown or not kinds:
        what = f"no slip is of the kind {unknown[0]}" if unknown else "--kinds names nothing"
        raise WrongUseError(f"{what}; there is {', '.join(ALL_KINDS)}")
    return kinds


def _answers(names: list[str], made: tuple[Slipped, ...]) -> bytes:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(("file", "line", "kind", "slip", "typed", "right"))
    for name, one in zip(names, made, strict=True):
        row = (name, one.line, one.kind, one.slip, one.typed, one.right)
        writer.writerow([cell(value) for value in row])
    return text.getvalue().encode()
