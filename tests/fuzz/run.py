"""Damages logs, by words of the grammar and by bytes, and sees whether a command breaks.

`python tests/fuzz/run.py --minutes 10 --seed 3` damages the logs of `samples/` and `tests/reference/logs/`. A status that
is none of 0, 1 and 2 is a find: the damaged log is kept in the folder that is printed, and becomes a test.
"""

import argparse
import contextlib
import io
import random
import re
import shutil
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))
LOGS = sorted([*ROOT.glob("samples/*/*.trav"), *ROOT.glob("tests/reference/logs/*.trav")])
HEIGHTS = sorted([*ROOT.glob("samples/*/*.xyz"), *ROOT.glob("tests/reference/logs/*.xyz")])
FIGURES = (
    "0",
    "-0",
    "0.001",
    "90.1",
    "-90",
    "360",
    "1000%",
    "12000",
    "100000.1",
    "1e5",
    "1/0",
    "½",
    "9" * 16,
    "²",
)
COMMANDS = (
    ("check", "x.trav"),
    ("export", "x.trav", "--to", "json", "-o", "x.json"),
    ("tidy", "x.trav"),
    ("sheet", "x.trav", "-o", "x.pdf"),
    ("sheet", "x.trav", "--blank", "-o", "blank.pdf"),
    ("extract", "x.pdf", "-o", "out", "--overwrite"),
    ("diff", "sound.trav", "x.trav", "-o", "walks.pdf"),
)


def words():
    """Terminals that the grammar spells out, and the lines of all logs."""
    grammar = "\n".join(one.read_text(encoding="utf-8") for one in ROOT.glob("grammar/*.lark"))
    lines = [line for log in LOGS for line in log.read_text(encoding="utf-8").splitlines() if line.strip()]
    return sorted(set(re.findall(r'"([a-z][a-z-]+)"', grammar))), lines


def damaged(text, draw, known, lines):
    """A log with one to four faults of the hand."""
    rows = text.splitlines()
    for _ in range(draw.choice((1, 1, 2, 4))):
        at = draw.randrange(len(rows))
        parts = rows[at].split(" ")
        match draw.randrange(6):
            case 0:
                rows.insert(at, draw.choice(lines))
            case 1 if len(rows) > 2:
                del rows[at]
            case 2:
                rows[at] = re.sub(r"\d+(\.\d+)?", lambda _: draw.choice(FIGURES), rows[at], count=1)
            case 3:
                parts[draw.randrange(len(parts))] = draw.choice(known)
                rows[at] = " ".join(parts)
            case 4:
                draw.shuffle(parts)
                rows[at] = " ".join(parts)
            case _:
                other = draw.randrange(len(rows))
                rows[at], rows[other] = rows[other], rows[at]
    data = bytearray("\n".join(rows).encode())
    if draw.random() < 0.2:
        data[draw.randrange(len(data))] = draw.randrange(256)
    return bytes(data)


def run(arguments):
    """The status of one command in this process, and what it said."""
    from traverse.__main__ import main

    said = io.StringIO()
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(said):
        try:
            return main(arguments), said.getvalue()
        except SystemExit as problem:
            return problem.code, said.getvalue()


def hunt(minutes, seed, folder):
    """How many logs were damaged, and what broke."""
    draw = random.Random(seed)  # noqa: S311 a seed makes the same damage again
    (known, lines), finds, count = words(), [], 0
    for one in HEIGHTS:
        shutil.copy(one, folder)
    with contextlib.chdir(folder):
        end = time.monotonic() + 60.0 * minutes
        while time.monotonic() < end:
            count += 1
            sound = draw.choice(LOGS).read_text(encoding="utf-8")
            Path("sound.trav").write_text(sound, encoding="utf-8")
            data = damaged(sound, draw, known, lines)
            Path("x.pdf").unlink(missing_ok=True)
            for command in COMMANDS:
                Path("x.trav").write_bytes(data)
                if command[0] == "extract":
                    if not Path("x.pdf").exists():
                        continue
                    if draw.random() < 0.8:
                        sheet = bytearray(Path("x.pdf").read_bytes())
                        sheet[draw.randrange(len(sheet))] ^= 1 << draw.randrange(8)
                        Path("x.pdf").write_bytes(bytes(sheet))
                status, said = run(list(command))
                if status not in {0, 1, 2} or "Warning:" in said:
                    kept = f"find-{len(finds) + 1}.trav"
                    Path(kept).write_bytes(data)
                    finds.append(f"{kept}: {' '.join(command)}: status {status}: {said.strip()[-200:]}")
    return count, finds


def main():
    """Hunt, and print the finds; 1 where there are any."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--minutes", type=float, default=10.0)
    options.add_argument("--seed", type=int, default=1)
    given = options.parse_args()
    folder = tempfile.mkdtemp(prefix="traverse-fuzz-")
    count, finds = hunt(given.minutes, given.seed, folder)
    for one in finds:
        print(one)
    print(f"{count} logs damaged, {len(finds)} finds in {folder}")
    return int(bool(finds))


if __name__ == "__main__":
    sys.exit(main())
