"""Single slips of a field day, each in a log that is otherwise right: what every step together says of it.

`tests/notation/slips.py` types what can't be read; here most slips can be read and only later steps can tell them.
`python -m tests.day_slips [KIND] [LOG…]` prints what is said of each, and the figures by kind.
"""

from __future__ import annotations

import random
import re
import sys
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

from traverse.adjustment.misread.told import TOLD_SUSPECTS
from traverse.compile import Compiled, compile_log
from traverse.diagnostic import Diagnostic, render
from traverse.source import Source
from traverse.trade import PLAN_WARN, UP_WARN

ROOT = Path(__file__).resolve().parents[1]
LOGS = (
    *sorted(ROOT.glob("samples/*/*.trav")),
    *(ROOT / "tests" / "notation" / "pages" / f"{name}.trav" for name in ("alpine", "american", "british")),
    *(
        ROOT / "tests" / "reference" / "logs" / f"{name}.trav"
        for name in ("faults", "intrusive-bodies", "plunging-fold", "southern-feet", "unconformity")
    ),
)
SEED = 31415


class Slip(NamedTuple):
    """A log with one reading wrong."""

    kind: str
    path: Path
    line: int
    was: str
    typed: str
    text: str


Chance = random.Random
Line = list[str]
Wrong = Callable[[Line, int, Chance], str | None]
"""Of the lines, one by its index, a wrong one in its place; None where this slip can't be made there."""

LEG = re.compile(r"^(?:from \S+ +)?(?:to|close|side) +\S+ +")
AZIMUTH = re.compile(r"(?<=\s)(\d{3})(?=\s+\d)")
QUADRANT = re.compile(r"(?<=\s)([NS])(\d+(?: 1/2)?)([EW])(?=\s+\d)")
PLANE = re.compile(r"^(bed|cleavage|joint|crossbed|fault)\s")


def _leg(turn: Callable[[str, Chance], str | None]) -> Wrong:
    def wrong(lines: Line, index: int, chance: Chance) -> str | None:
        line = lines[index].strip()
        if not LEG.match(line):
            return None
        typed = turn(line, chance)
        return None if typed == line else typed

    return wrong


def _azimuth(change: Callable[[str, Chance], str | None]) -> Wrong:
    def turn(line: str, chance: Chance) -> str | None:
        found = AZIMUTH.search(line)
        if found is None:
            return None
        figure = change(found[1], chance)
        if figure is None or int(figure) >= 360:
            return None
        return line[: found.start(1)] + figure + line[found.end(1) :]

    return _leg(turn)


def _swapped(figure: str, chance: Chance) -> str:
    return figure[0] + figure[2] + figure[1] if chance.random() < 0.7 else figure[1] + figure[0] + figure[2]


_LOOKS_LIKE = {"1": "7", "7": "1", "4": "9", "9": "4", "5": "6", "6": "5", "3": "8", "8": "3"}


def _misread(figure: str, chance: Chance) -> str | None:
    places = [at for at, digit in enumerate(figure) if digit in _LOOKS_LIKE]
    if not places:
        return None
    at = chance.choice(places)
    return figure[:at] + _LOOKS_LIKE[figure[at]] + figure[at + 1 :]


def _quadrant(line: str, chance: Chance) -> str | None:
    found = QUADRANT.search(line)
    if found is None:
        return None
    ns, angle, ew = found.groups()
    if chance.random() < 0.5:
        ns = "S" if ns == "N" else "N"
    else:
        ew = "W" if ew == "E" else "E"
    if angle == "0":
        return None  # due north either way
    return line[: found.start()] + ns + angle + ew + line[found.end() :]


def _back_as_fore(line: str, chance: Chance) -> str | None:
    found = re.search(r"\bback (\S+(?: 1/2)?[EW]?)", line)
    fore = AZIMUTH.search(line) or QUADRANT.search(line)
    if found is None or fore is None:
        return None
    return line[: fore.start()] + found[1].replace(" ", " ") + line[fore.end() :]


def _distance(change: Callable[[str, str, Chance], str | None]) -> Wrong:
    def turn(line: str, chance: Chance) -> str | None:
        found = re.search(r"(?<=\s)(\d+)(p|m|ft|)\b(?=\s|$)(?!.*\s\d+(?:p|m|ft)\b)", line)
        if found is None or len(found[1]) < 2:
            return None
        new = change(found[1], found[2], chance)
        return None if new is None else line[: found.start()] + new + line[found.end() :]

    return _leg(turn)


def _tally(figure: str, unit: str, chance: Chance) -> str | None:
    lost = chance.choice([10, 20, 50, 100])
    value = int(figure) + (lost if chance.random() < 0.5 or int(figure) <= lost else -lost)
    return f"{value}{unit}"


def _sub(pattern: str, put: str | Callable[[re.Match[str]], str], begins: str) -> Wrong:
    def wrong(lines: Line, index: int, chance: Chance) -> str | None:
        line = lines[index].strip()
        if not re.match(rf"(?:{begins})\b", line):
            return None
        typed, count = re.subn(pattern, put, line, count=1)
        return typed if count and typed != line else None

    return wrong


def _plane_figure(change: Callable[[int, int], tuple[int, int]]) -> Wrong:
    """Of the first plane of a line of bedding, written with figures."""

    def wrong(lines: Line, index: int, chance: Chance) -> str | None:
        line = lines[index].strip()
        found = re.match(r"^(bed\s+)(\d{3})/(\d+)(?!\s*[NSEW]\b)(.*)$", line)
        if found is None or "," in line or int(found[3]) < 15:
            return None
        strike, dip = change(int(found[2]), int(found[3]))
        return f"{found[1]}{strike % 360:03d}/{dip:02d}{found[4]}"

    return wrong


def _known_units(lines: Line) -> list[str]:
    return [match[1] for line in lines if (match := re.match(r"\s*unit\s+(\w+)\s.*;", line))]


def _other_unit(lines: Line, index: int, chance: Chance) -> str | None:
    found = re.match(r"^unit\s+(\w+)$", lines[index].strip())
    known = _known_units(lines)
    if found is None or found[1] not in known or len(known) < 3:
        return None
    return f"unit {chance.choice([one for one in known if one != found[1]])}"


def _contact_exchanged(lines: Line, index: int, chance: Chance) -> str | None:
    found = re.match(r"^(contact|unconformity|fault) (\w+)/(\w+)(.*)$", lines[index].strip())
    return None if found is None else f"{found[1]} {found[3]}/{found[2]}{found[4]}"


def _contact_other(lines: Line, index: int, chance: Chance) -> str | None:
    found = re.match(r"^(contact) (\w+)/(\w+)(.*)$", lines[index].strip())
    known = _known_units(lines)
    if found is None or len(known) < 3:
        return None
    others = [one for one in known if one not in {found[2], found[3]}]
    one = chance.choice(others)
    young, old = (one, found[3]) if chance.random() < 0.5 else (found[2], one)
    if known.index(young) > known.index(old):
        young, old = old, young
    return f"{found[1]} {young}/{old}{found[4]}"


def _station_reused(lines: Line, index: int, chance: Chance) -> str | None:
    line = lines[index].strip()
    found = re.match(r"^to (\d+)( .*)$", line)
    if found is None or int(found[1]) < 3:
        return None
    return f"to {int(found[1]) - chance.choice([1, 2])}{found[2]}"


def _at_other(lines: Line, index: int, chance: Chance) -> str | None:
    """`at` an earlier station than the one the walk has come to."""
    found = re.match(r"^at (\d+)$", lines[index].strip())
    if found is None or int(found[1]) < 3:
        return None
    return f"at {int(found[1]) - chance.choice([1, 2])}"


def _far_away(lines: Line, index: int, chance: Chance) -> str | None:
    line = lines[index].strip()
    found = re.match(r"^along (\d+)(p|m|ft|)(?=\s|$)(.*)$", line)
    return None if found is None else f"along {int(found[1]) + 100}{found[2]}{found[3]}"


def _samples(lines: Line, index: int, chance: Chance) -> str | None:
    line = lines[index].strip()
    earlier = [match[1] for one in lines[:index] if (match := re.match(r"\s*sample (\S+)", one))]
    found = re.match(r"^sample (\S+)(.*)$", line)
    return f"sample {earlier[-1]}{found[2]}" if found and earlier else None


KINDS: dict[str, Wrong] = {
    "1 back bearing typed as fore": _leg(_back_as_fore),
    "2 quadrant letter": _leg(_quadrant),
    "4 wrong end of the needle": _azimuth(lambda f, c: f"{(int(f) + 180) % 360:03d}"),
    "5 ten degrees": _azimuth(lambda f, c: f"{(int(f) + c.choice([10, -10])) % 360:03d}"),
    "5 digits exchanged": _azimuth(_swapped),
    "8 tally lost": _distance(_tally),
    "9 single for double": _distance(lambda f, u, c: f"{int(f) * 2}{u}" if u == "p" else None),
    "10 feet for metres": _distance(lambda f, u, c: f"{f}{ {'m': 'ft', 'ft': 'm'}[u] }" if u in {"m", "ft"} else None),
    "10 factor ten": _distance(lambda f, u, c: f"{f}0{u}"),
    "12 per cent": _sub(r" ([+-](?:1\d|2\d))(?=\s|$)", r" \1%", "to|close"),
    "13 slope sign": _sub(r" ([+-])([4-9]|\d\d)(?=\s|$)", lambda m: f" {'-' if m[1] == '+' else '+'}{m[2]}", "to|close"),
    "14 station reused": _station_reused,
    "14 at another station": _at_other,
    "15 place past its leg": _far_away,
    "15 offset too far": _sub(r" (left|right) (\d+)(p|m|ft)", r" \1 \g<2>00\3", "along"),
    "16 strike the other way": _plane_figure(lambda s, d: (s + 180, d)),
    "17 letter that can't be": _sub(r"([NS])(\d+)([EW])/(\d+)([NS])([EW])", lambda m: f"{m[1]}{m[2]}{m[3]}/{m[4]}{m[1]}{m[3]}", "bed"),
    "18 strike for direction": _plane_figure(lambda s, d: (s + 90, d)),
    "19 dip over 90": _plane_figure(lambda s, d: (s, d + 90)),
    "19 bearing over 360": _leg(lambda line, c: AZIMUTH.sub(lambda m: f"4{m[1][1:]}", line, count=1)),
    "20 dip 90 for a letter": _sub(r"([NS]\d+[EW])/(\d+)([NSEW]+)", r"\1/90\3", "bed"),
    "20 overturned lost": _sub(r" overturned", "", "bed"),
    "20 overturned too many": _sub(r"(/\d+\w*)$", r"\1 overturned", "bed"),
    "21 crossbed as bed": _sub(r"^crossbed", "bed", "crossbed"),
    "24 one side of a contact": _sub(r"(contact|unconformity) (\w+)/\w+", r"\1 \2", "contact|unconformity"),
    "24 certainty that is none": _sub(r" (certain|approximate|inferred)", " sharp", "contact"),
    "26 contact exchanged": _contact_exchanged,
    "26 contact of another unit": _contact_other,
    "26 unit of a station": _other_unit,
    "27 iron at one reading": _azimuth(lambda f, c: f"{(int(f) + 15) % 360:03d}"),
    "29 east and north exchanged": _sub(r"(\d+) E (\d+) N", r"\2 E \1 N", "control"),
    "29 figure of a control lost": _sub(r"(\d\d)\d(\d+) N", r"\1\2 N", "control"),
    "29 zone of the grid": _sub(r"EPSG:(\d+)", lambda m: f"EPSG:{int(m[1]) + 40000}", "grid"),
    "30 sample number again": _samples,
    "31 month and day": _sub(r"(\d{4})-(\d\d)-(\d\d)", lambda m: f"{m[1]}-{int(m[3]) + 12}-{m[2]}", "date"),
    "32 dip of another surface": _plane_figure(lambda s, d: (s, d + 40 if d < 45 else d - 40)),
    "36 figure of a bearing misread": _azimuth(_misread),
    "36 figure of a strike misread": _plane_figure(lambda s, d: (int(_misread(f"{s:03d}", random.Random(s)) or s), d)),  # noqa: S311 - of a test
    "36 back bearing misread": _sub(r"\bback (\d)(\d)(\d)", lambda m: f"back {m[1]}{_LOOKS_LIKE.get(m[2], m[2])}{m[3]}", "to|close"),
    "6 side of the declination": _sub(r"(\d) ([EW]),", lambda m: f"{m[1]} {'W' if m[2] == 'E' else 'E'},", "declination"),
    "16 rule of attitudes": _sub(r"dip-(right|left|direction)", lambda m: {"right": "dip-left", "left": "dip-right", "direction": "dip-right"}[m[1]], "attitudes"),
    "9 paces of the other kind": _sub(r"\bdouble\b", "single", "pace"),
}  # fmt: skip


def all_of(kind: str, paths: tuple[Path, ...]) -> Iterator[Slip]:
    """Every slip of a kind over the logs."""
    chance = random.Random(f"{SEED} {kind}")  # noqa: S311 - of a test, and always the same
    for path in paths:
        lines = path.read_text("utf-8").split("\n")
        for index, line in enumerate(lines):
            if line.strip().startswith("#"):
                continue
            typed = KINDS[kind](lines, index, chance)
            if typed is None or typed == line.strip():
                continue
            margin = line[: len(line) - len(line.lstrip())]
            text = "\n".join([*lines[:index], margin + typed, *lines[index + 1 :]])
            yield Slip(kind, path, index + 1, line.strip(), typed, text)


def slips(each: int, paths: tuple[Path, ...] = LOGS) -> list[Slip]:
    """So many of each kind, over as many logs as have room for it."""
    out: list[Slip] = []
    for kind in KINDS:
        pools: dict[Path, list[Slip]] = defaultdict(list)
        for slip in all_of(kind, paths):
            pools[slip.path].append(slip)
        chance = random.Random(f"{SEED} {kind} order")  # noqa: S311 - of a test, and always the same
        for pool in pools.values():
            chance.shuffle(pool)
        order = sorted(pools)
        chance.shuffle(order)
        taken: list[Slip] = []
        while len(taken) < each and any(pools.values()):
            taken += [pools[path].pop() for path in order if pools[path]]
        out += taken[:each]
    return out


def compiled(path: Path, text: str) -> Compiled:
    """The log as `check` has it."""
    return compile_log(Source(name=path.name, text=text), load=lambda name: (path.parent / name).read_bytes())


def _told(of: Compiled) -> list[Diagnostic]:
    return [one for one in of.diagnostics if one.kind in {"error", "warning"}]


def new(slip: Slip, clean: dict[Path, Counter[tuple[str, int]]]) -> tuple[list[Diagnostic], Compiled]:
    """What the slip brings that the log without it did not have."""
    if slip.path not in clean:
        before = _told(compiled(slip.path, slip.path.read_text("utf-8")))
        clean[slip.path] = Counter((one.code, one.span.line if one.span else 0) for one in before)
    had = clean[slip.path].copy()
    after = compiled(slip.path, slip.text)
    out = []
    for one in _told(after):
        key = one.code, one.span.line if one.span else 0
        if had[key]:
            had[key] -= 1
        else:
            out.append(one)
    return out, after


def names_line(one: Diagnostic, line: int) -> bool:
    """Whether the message stands at the line or names it."""
    return (
        (one.span is not None and one.span.line == line)
        or any(span.line == line for span in (*one.doubts, *(label.span for label in one.labels)))
        or bool(re.search(rf"\blines? {line}\b", " ".join((one.message, *one.hints))))
    )


AGREES = {
    "5 ten degrees",
    "6 side of the declination",
    "20 dip 90 for a letter",
    "21 crossbed as bed",
    "29 east and north exchanged",
    "29 figure of a control lost",
}
"""Kinds that leave a log which is right by itself, where nothing is said: only another reading would tell."""


def agrees(slip: Slip, after: Compiled) -> bool:
    """Whether the log with the slip contradicts itself nowhere by more than its own errors.

    A leg in no loop and with no back bearing, or in a loop that closes within its limits; a declination without a known
    place; figures of a local grid; a plane beside no two others that agree.
    """
    if slip.kind in AGREES or after.survey is None:
        return True
    legs = [leg for leg in after.log.legs if leg.span.line == slip.line]
    if legs:
        over = [one for one in after.survey.closures if legs[0] in one.legs]
        return not any(one.q > PLAN_WARN or (one.q_up or 0.0) > UP_WARN for one in over)
    return not any(loop.q > PLAN_WARN for loop in after.survey.closures)


def asks_about_a_loop(said: list[Diagnostic], after: Compiled) -> bool:
    """Whether one loop is asked about whose readings explain it alike: a gap too small to accuse one, or many that fit."""
    if len(said) != 1 or after.survey is None:
        return False
    (one,) = said
    return one.code.startswith(("closure-", "heights-")) and (
        not one.labels or len(one.labels) >= TOLD_SUSPECTS
    )


def verdict(slip: Slip, said: list[Diagnostic], after: Compiled) -> str:
    """`one`, `elsewhere`, `several` or `silent`.

    `its loop`: one message, of a loop that no one reading can be named of; `agrees`: nothing in the log contradicts it.
    """
    if not said:
        return "agrees" if agrees(slip, after) else "silent"
    if asks_about_a_loop(said, after) and not names_line(said[0], slip.line):
        return "its loop"
    at_line = names_line(said[0], slip.line)
    if len(said) == 1:
        return "one" if at_line else "elsewhere"
    return "several" if at_line else "several, first elsewhere"


if __name__ == "__main__":
    each = 8
    wanted = sys.argv[1] if len(sys.argv) > 1 else ""
    extra = tuple(Path(name) for name in sys.argv[2:])
    made = slips(each, (*LOGS, *extra))
    clean: dict[Path, Counter[tuple[str, int]]] = {}
    figures: dict[str, Counter[str]] = defaultdict(Counter)
    for slip in made:
        if wanted and wanted not in slip.kind:
            continue
        said, after = new(slip, clean)
        what = verdict(slip, said, after)
        figures[slip.kind][what] += 1
        if what != "one" or wanted:
            print(f"=== {what}: {slip.kind}: {slip.path.name}:{slip.line}: {slip.was}  ->  {slip.typed}")
            for one in said:
                print(render(one, after.sources))
    total: Counter[str] = Counter()
    for kind, counts in figures.items():
        print(f"{kind}: {dict(counts)}")
        total += counts
    print(dict(total), sum(total.values()))
