"""Sees and accepts what logs draw and export: `python tests/reference/renew.py`, with `--help` for the rest."""

from __future__ import annotations

import argparse
import difflib
import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from itertools import groupby
from pathlib import Path

_ROOT = Path(__file__).resolve().parent.parent.parent
# The tree that this file lies in comes before any that is installed: an older revision runs its own code.
sys.path.insert(0, str(_ROOT))

from tests.reference import digests  # noqa: E402
from tests.reference.drawn import logs, sheets_in_turn, texts  # noqa: E402

_BEGINNING, _ABOUT = 60, 120
"""Letters that `diff` prints of a long line: its beginning, and about the first place that differs."""


def _renew(options: argparse.Namespace) -> int:
    said, new = _differences(options)
    done = {path.stem for path in logs(options.of)}
    kept = {name: value for name, value in digests.stored().items() if name.split()[0] not in done}
    digests.store({**kept, **new})
    print("\n".join(said) or f"all {len(new)} are as they were")
    return 0


def _check(options: argparse.Namespace) -> int:
    """Exit status 1 where anything differs."""
    said = _differences(options)[0] if options.share is None else _of_share(options)
    if said:
        print("\n".join(said))
    return 1 if said else 0


def _of_share(options: argparse.Namespace) -> list[str]:
    """What differs where of each log one sheet of so many is drawn, the next log of its folder the next."""
    said, stored = [], digests.stored()
    for path in logs(options.of):
        sheets = sheets_in_turn(path, *options.share)
        said += digests.differences(
            digests.without_sheets(stored, path, sheets), _digests(dict(texts(path, sheets)))
        )
    return said


def _share(typed: str) -> tuple[int, int]:
    first, _, of = typed.partition("/")
    if not 0 < int(first) <= int(of):
        raise ValueError(typed)
    return int(first) - 1, int(of)


def _differences(options: argparse.Namespace) -> tuple[list[str], dict[str, str]]:
    """What differs from the stored digests, and the digests of now."""
    old, new = digests.stored(), _digests(digests.made(options.of))
    return digests.differences(digests.of_logs(old, logs(options.of)) if options.of else old, new), new


def _show(options: argparse.Namespace) -> int:
    name = " ".join(options.name)
    found = digests.made([name.split()[0]])
    if name in found:
        sys.stdout.write(found[name])
        return 0
    print(f"no text {name}; there are", *found, sep="\n  ", file=sys.stderr)
    return 2


def _diff(options: argparse.Namespace) -> int:
    """The old texts are made by the old revision: its program, its logs, and its own making of texts.

    So a move of modules between the two is no hindrance.
    """
    with tempfile.TemporaryDirectory() as folder:
        tree = Path(folder) / "tree"
        if not _git("worktree", "add", "--detach", "--quiet", str(tree), options.revision):
            return 2
        try:
            if not (tree / "tests" / "reference" / "renew.py").exists():
                print(f"{options.revision} has no tests/reference", file=sys.stderr)
                return 2
            return _compare(options, tree, options.revision, {})
        finally:
            _git("worktree", "remove", "--force", str(tree))


def _kernel(options: argparse.Namespace) -> int:
    """This tree against itself, with its linear algebra done as on another processor."""
    return _compare(options, _ROOT, options.kernel, {"OPENBLAS_CORETYPE": options.kernel})


def _compare(options: argparse.Namespace, tree: Path, label: str, setting: Mapping[str, str]) -> int:
    """Print how the texts that a tree makes differ from those of this one; both are made at once."""
    paths = logs(options.of)
    with tempfile.TemporaryDirectory() as folder:
        kept = Path(folder) / "texts.json"
        command = [sys.executable, "tests/reference/renew.py", "texts", str(kept)]
        with subprocess.Popen(command, cwd=tree, env={**os.environ, **setting}) as other:
            new = digests.made(options.of)
        if other.returncode:
            print(f"{label}: its texts could not be made", file=sys.stderr)
            return 2
        old = json.loads(kept.read_text(encoding="utf-8"))
    sys.stdout.writelines(_unified(digests.of_logs(old, paths) if options.of else old, new, label))
    return 0


def _unified(old: Mapping[str, str], new: Mapping[str, str], label: str) -> list[str]:
    found: list[str] = []
    for name in dict.fromkeys((*new, *old)):
        lines = difflib.unified_diff(
            old.get(name, "").splitlines(),
            new.get(name, "").splitlines(),
            f"{label}: {name}" if name in old else "nothing",
            name if name in new else "nothing",
            lineterm="",
            n=1,
        )
        for changed, run in groupby(lines, key=lambda line: line.startswith(("-", "+"))):
            lines_of_run = list(run)
            found += _narrowed(lines_of_run) if changed else [_cut(line, 0) for line in lines_of_run]
    return [line + "\n" for line in found]


def _narrowed(run: list[str]) -> list[str]:
    """Lines taken out and lines put in: where there are as many of both, each pair is cut to where it differs."""
    before = [line for line in run if line.startswith("-")]
    after = [line for line in run if line.startswith("+")]
    if len(before) != len(after):
        return [_cut(line, 0) for line in run]
    at = [_same(*pair) for pair in zip(before, after, strict=True)]
    return [_cut(line, first) for side in (before, after) for line, first in zip(side, at, strict=True)]


def _same(one: str, other: str) -> int:
    """How many letters are the same from the second on, with the first."""
    pairs = zip(one[1:], other[1:], strict=False)
    shorter = min(len(one), len(other))
    return next((place for place, (left, right) in enumerate(pairs, start=1) if left != right), shorter)


def _cut(line: str, at: int) -> str:
    """A line of a long path: its beginning, and what lies about one place."""
    if len(line) <= _BEGINNING + _ABOUT:
        return line
    first = max(at - _ABOUT // 3, _BEGINNING)
    last = first + _ABOUT
    left = " … " if first > _BEGINNING else ""
    return f"{line[:_BEGINNING]}{left}{line[first:last]}{' …' if last < len(line) else ''}"


def _texts(options: argparse.Namespace) -> int:
    options.file.write_text(json.dumps(digests.made()), encoding="utf-8")
    return 0


def _digests(texts: Mapping[str, str]) -> dict[str, str]:
    return {name: digests.digest(text) for name, text in texts.items()}


def _git(*words: str) -> bool:
    """Whether it was done; git itself says why not."""
    return subprocess.run(["git", *words], cwd=_ROOT, check=False).returncode == 0


def main() -> int:
    """Without a command the digests are made anew and stored."""
    parser = argparse.ArgumentParser(description="Without a command: accept what is drawn now.")
    parser.add_argument(
        "--check", action="store_true", help="store nothing; exit status 1 where anything differs"
    )
    parser.add_argument(
        "--share", type=_share, metavar="1/3", help="with --check: of each log so many of its sheets, in turn"
    )
    parser.set_defaults(run=None)
    commands = parser.add_subparsers(metavar="COMMAND")
    show = commands.add_parser("show", help="print one text")
    show.add_argument("name", nargs="+", help="as it stands in digests.txt")
    show.set_defaults(run=_show)
    diff = commands.add_parser("diff", help="every line that differs from a revision")
    diff.add_argument("revision", nargs="?", default="HEAD")
    diff.set_defaults(run=_diff)
    kernel = commands.add_parser(
        "kernel", help="every line that differs under another kernel of linear algebra"
    )
    kernel.add_argument("kernel", help="Haswell, Prescott, SkylakeX: what OPENBLAS_CORETYPE takes")
    kernel.set_defaults(run=_kernel)
    kept = commands.add_parser(
        "texts", help="write all texts into a file; what `diff` asks of an old revision"
    )
    kept.add_argument("file", type=Path)
    kept.set_defaults(run=_texts)
    for command in (parser, diff, kernel):
        command.add_argument(
            "--of",
            nargs="+",
            default=(),
            metavar="LOG",
            help="some logs, or the samples, logs or cases, alone",
        )
    options = parser.parse_args()
    try:
        return (options.run or (_check if options.check else _renew))(options)
    except BrokenPipeError:
        # Whoever reads has seen enough.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 1
    except LookupError as problem:
        print(problem.args[0], file=sys.stderr)
        return 2


if __name__ == "__main__":
    sys.exit(main())
