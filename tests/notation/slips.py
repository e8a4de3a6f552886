"""Single slips of the kinds that tired fingers make, over whole logs, always the same.

`python -m tests.notation.slips [KIND]` prints what is said of each.
"""

from __future__ import annotations

import random
import re
import sys
from collections.abc import Callable, Iterator
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

from traverse.diagnostic import Diagnostic, Severity, render
from traverse.notation.read import read_log
from traverse.source import Source

ROOT = Path(__file__).resolve().parents[2]
LOGS = (
    ROOT / "samples" / "oskerra-valley" / "oskerra-valley.trav",
    Path(__file__).parent / "pages" / "harrow-gill.trav",
)
SEED = 20260714
LEG = re.compile(r"^(?:from \S+ )?(?:to|close|side) \S+ +\S")


class Slip(NamedTuple):
    """A log with one thing wrong in it."""

    kind: str
    log: str
    line: int
    was: str
    text: str
    at: frozenset[int]
    """Lines at which it may be told: its own, or where it is missed."""


Wrong = Callable[[str, random.Random], str | None]
"""A line with the slip in it; None where it can't be made there."""


def _first_word(turn: Callable[[str, int], str]) -> Wrong:
    def wrong(line: str, chance: random.Random) -> str | None:
        word = re.match(r"\s*([a-z]{2,})(?= )", line)
        if word is None:
            return None
        at = chance.randrange(len(word[1]) - 1)
        typed = turn(word[1], at)
        return None if typed == word[1] else line[: word.start(1)] + typed + line[word.end(1) :]

    return wrong


def _sub(pattern: str, put: str | Callable[[re.Match[str]], str], *, only: str = "") -> Wrong:
    """The first match replaced, in a line that begins with one of the words."""

    def wrong(line: str, chance: random.Random) -> str | None:
        if only and line.split(maxsplit=1)[:1] not in [[word] for word in only.split()]:
            return None
        typed, count = re.subn(pattern, put, line, count=1)
        return typed if count and typed != line else None

    return wrong


LEGS = "to close side"
PLANES = "bed crossbed joint"
KINDS: dict[str, Wrong] = {
    "letters of a keyword swapped": _first_word(lambda word, at: word[:at] + word[at + 1] + word[at] + word[at + 2 :]),
    "letter of a keyword lost": _first_word(lambda word, at: word[:at] + word[at + 1 :] if len(word) > 3 else word),
    "letter of a keyword doubled": _first_word(lambda word, at: word[: at + 1] + word[at:]),
    "keyword with a colon": _first_word(lambda word, at: f"{word}:"),
    "unit of a distance lost": _sub(r" (\d+)[pm]\b", r" \1", only=LEGS),
    "unit of a distance in wrong letters": _sub(r" (\d+)[pm]\b", r" \1q", only=LEGS),
    "blank lost": _sub(r" (\d{3}) (\d+[pm])", r" \1\2", only=LEGS),
    "N95E": _sub(r"(?<=\S )\s*(?:\d{3}|[NS]\d+[EW])(?= \d)", " N95E", only=LEGS),
    "figure of an azimuth lost": _sub(r" (\d)\d(\d) (?=\d+[pm])", r" \1\2 ", only=LEGS),
    "azimuth out of range": _sub(r" \d(\d\d) (?=\d+[pm])", r" 4\1 ", only=LEGS),
    "sign of a slope lost": _sub(r" [+-](\d+)(?= |$)", r" \1", only=LEGS),
    "slope too large": _sub(r" ([+-]\d+)(?= |$)", r" \g<1>95", only=LEGS),
    "comma between readings": _sub(r" (\d{3}) (\d+[pm])", r" \1, \2", only=LEGS),
    "decimal comma": _sub(r" (\d+)([pm])\b", r" \1,5\2", only=LEGS),
    "bearing lost": _sub(r" +\d{3} (\d+[pm])", r" \1", only=LEGS),
    "distance lost": _sub(r" \d+[pm]\b", "", only=LEGS),
    "name of a station lost": _sub(r"^(to|close|side) \S+", r"\1", only=LEGS),
    "back misspelt": _sub(r"\bback\b", "bakc", only=LEGS),
    "back bearing lost": _sub(r"\bback \S+$", "back", only=LEGS),
    "back bearing out of range": _sub(r"\bback \d(\d\d)$", r"back 5\1", only=LEGS),
    "station repeated": _sub(r"^to (\d+)", lambda m: f"to {int(m[1]) - 1}", only="to"),
    "close of a station that is none": _sub(r"^close (\S+)", r"close 5\1", only="close"),
    "at of a station that is none": _sub(r"^at (\d+)$", lambda m: f"at {int(m[1]) + 40}", only="at"),
    "dip over 90": _sub(r"/(\d)\d", r"/1\g<1>5", only=PLANES),
    "slash of an attitude turned": _sub(r"(\d{3})/(\d\d)", r"\1\\\2", only=PLANES),
    "dip lost": _sub(r"(\d{3})/\d\d", r"\1", only=PLANES),
    "figure of a strike lost": _sub(r"(\d)\d(\d)/(\d\d)", r"\1\2/\3", only=PLANES),
    "modifier misspelt": _sub(r"overturned", "overtunred", only=PLANES),
    "letters of a unit wrong": _sub(r"^(\s*unit +)[A-Z][a-z](?=$| *#)", r"\1Zx", only="unit"),
    "letters of a contact wrong": _sub(r"[A-Z][a-z]/", "Zx/", only="contact fault"),
    "slash of a contact lost": _sub(r"([A-Z][a-z])/([A-Z])", r"\1 \2", only="contact fault"),
    "certainty misspelt": _sub(r"(certain|inferred|approximate|concealed)", lambda m: m[1][:2] + m[1][3] + m[1][2] + m[1][4:], only="contact fault"),
    "certainty lost": _sub(r" (certain|inferred|approximate|concealed)", "", only="contact"),
    "plus-minus without a unit": _sub(r"±(\d+) ?m", r"±\1", only="contact fault"),
    "place far past its leg": _sub(r"^along (\d+)p", r"along \g<1>55p", only="along"),
    "stretch backward": _sub(r"^covered (\d+)p to (\d+)p", r"covered \2p to \1p", only="covered along"),
    "unit of a place on a leg lost": _sub(r"^along (\d+)p", r"along \1", only="along"),
    "month of 13": _sub(r"-(\d\d)-(\d\d)$", r"-13-\2", only="date"),
    "day before year": _sub(r"(\d{4})-(\d\d)-(\d\d)", r"\3/\2/\1", only="date"),
    "time of 25": _sub(r"\d\d:(\d\d)", r"25:\1", only="time"),
    "letters of the grid swapped": _sub("EPSG", "ESPG", only="grid"),
    "side of the declination lost": _sub(r"(\d) [EW],", r"\1,", only="declination"),
    "year of the declination lost": _sub(r", \d{4},", ",", only="declination"),
    "comma of the declination lost": _sub(r"([EW]), (\d{4})", r"\1 \2", only="declination"),
    "which north misspelt": _sub(r"magnetic", "magentic", only="bearings"),
    "how attitudes are written misspelt": _sub(r"dip-", "dpi-", only="attitudes"),
    "unit of a pace lost": _sub(r"100 m in", "100 in", only="pace"),
    "comma of a count lost": _sub(r", (\d+)$", r" \1", only="pace"),
    "blank after a comma lost": _sub(r", (\d+), (\d+)$", r", \1,\2", only="pace"),
    "letter of a control lost": _sub(r"(\d) E (\d+) N", r"\1 \2 N", only="control"),
    "east and north of a control exchanged": _sub(r"(\d+) E (\d+) N", r"\2 N \1 E", only="control"),
    "blank in a figure of a control": _sub(r"(\d{3})(\d{3}) E", r"\1 \2 E", only="control"),
    "plus-minus after the source": _sub(r"(±\d+ m) (\w+)$", r"\2 \1", only="control elevation"),
    "per cent lost": _sub(r"%", "", only="precision"),
    "item of a precision misspelt": _sub(r"bearing", "baering", only="precision"),
    "unit of a height lost": _sub(r"(\d) m\b", r"\1", only="elevation"),
    "initials small": _sub(r"^(\S+ +)([A-Z]{2})", lambda m: m[1] + m[2].lower(), only="party pacer reader"),
    "semicolon of a unit lost": _sub(r" ;.*$", "", only="unit"),
    "colour of a unit short": _sub(r"(#\w{5})\w", r"\1", only="unit"),
    "scale without 1": _sub(r"1:(\d+)", r"\1", only="sheet"),
    "option of the sheet misspelt": _sub(r"landscape", "lanscape", only="sheet"),
    "end of a section lost": _sub(r" to \S+(,.*)?$", "", only="section"),
    "word people try": _sub(r"^(\s*)bed\b", r"\1dip", only="bed"),
    "two lines in one": _sub(r"$", " bed 272/73", only="unit"),
}  # fmt: skip


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
