"""Single slips of the kinds that tired fingers make, over whole logs, always the same.

`python -m tests.notation.slips [KIND]` prints what is said of each.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Iterator
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

from traverse.compare.exercise.typing_slips import KINDS, Wrong
from traverse.diagnostic import Diagnostic, Severity, render
from traverse.notation.read import read_log
from traverse.source import Source

ROOT = Path(__file__).resolve().parents[2]
LOGS = (
    ROOT / "samples" / "oskerra-valley" / "oskerra-valley.trav",
    Path(__file__).parent / "pages" / "harrow-gill.trav",
)
SEED = 20260714


class Slip(NamedTuple):
    """A log with one thing wrong in it."""

    kind: str
    log: str
    line: int
    was: str
    text: str
    at: frozenset[int]
    """Lines at which it may be told: its own, or where it is missed."""


def _lines(path: Path) -> list[str]:
    return path.read_text("utf-8").split("\n")


def _each(kind: str, wrong: Wrong, chance: random.Random) -> Iterator[Slip]:
    for path in LOGS:
        lines = _lines(path)
        for number, line in enumerate(lines, 1):
            if (
                number < 3
                or not line.strip()
                or line.startswith("#")
                or (kind == "two lines in one" and ";" in line)
            ):
                continue
            margin = line[: len(line) - len(line.lstrip())]
            typed = wrong(line.strip(), chance)
            if typed is None:
                continue
            text = "\n".join([*lines[: number - 1], margin + typed, *lines[number:]])
            yield Slip(kind, path.name, number, line.strip(), text, frozenset({number}))


def lost_lines() -> Iterator[Slip]:
    """Logs without one of their lines; it may be missed wherever something needs it."""
    for path in LOGS:
        lines = _lines(path)
        for number, line in enumerate(lines, 1):
            if number > 2 and line.strip() and not line.startswith("#"):
                text = "\n".join([*lines[: number - 1], *lines[number:]])
                yield Slip("line lost", path.name, number, line.strip(), text, frozenset())


def swapped_units() -> Iterator[Slip]:
    """Logs in whose list of units two lines are exchanged."""
    for path in LOGS:
        lines = _lines(path)
        for number, (one, other) in enumerate(pairwise(lines), 1):
            if one.startswith("unit ") and other.startswith("unit "):
                text = "\n".join([*lines[: number - 1], other, one, *lines[number + 1 :]])
                yield Slip("units exchanged", path.name, number, one, text, frozenset({number}))


def slips(count: int) -> list[Slip]:
    """So many slips, every kind in turn."""
    chance = random.Random(SEED)  # noqa: S311 - of a test, and always the same
    pools = []
    for kind, wrong in KINDS.items():
        found = list(_each(kind, wrong, chance))
        chance.shuffle(found)
        pools.append(found)
    out: list[Slip] = []
    while len(out) < count and any(pools):
        out += [pool.pop() for pool in pools if pool]
    return out[:count]


@cache
def said_of(slip: Slip) -> list[Diagnostic]:
    """Errors and warnings that the slip brings."""
    outcome = read_log(Source(name=slip.log, text=slip.text), load=lambda path: b"")
    return [one for one in outcome.diagnostics if one.severity is not Severity.NOTE]


def is_one(slip: Slip, said: list[Diagnostic]) -> bool:
    """Whether just one error is told, at its line."""
    return (
        len(said) == 1
        and said[0].severity is Severity.ERROR
        and said[0].span is not None
        and said[0].span.line in slip.at
    )


if __name__ == "__main__":
    made = slips(int(sys.argv[2]) if len(sys.argv) > 2 else 200)
    bad = 0
    for slip in made:
        said = said_of(slip)
        wanted = len(sys.argv) > 1 and sys.argv[1] in slip.kind
        if not is_one(slip, said) or wanted:
            bad += not is_one(slip, said)
            sources = {slip.log: Source(name=slip.log, text=slip.text)}
            print(f"=== {slip.kind}: {slip.was}")
            for one in said:
                print(render(one, sources))
    print(f"{len(made) - bad} of {len(made)} slips of {len(KINDS)} kinds give one message at their line")
