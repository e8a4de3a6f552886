"""Damages logs and all files beside them, by words of the grammar and by bytes, and sees whether a command breaks.

`python tests/fuzz/run.py --minutes 10 --seed 3` goes through all that `targets.py` lists, `--of heights` through one.
A find is a status that is none of 0, 1 and 2, a refusal without a word, a warning of a library, a command to the terminal,
or no end within a minute of work, so that a busy machine is no find. What was damaged is kept in the folder that is printed, and becomes a case of `test_fuzz.py`.
"""

import argparse
import contextlib
import io
import random
import re
import shutil
import signal
import sys
import tempfile
import time
import warnings
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
from tests.fuzz.damage import ROOT
from tests.fuzz.targets import TARGETS

HEIGHTS = [*ROOT.glob("samples/*/*.xyz"), *ROOT.glob("tests/reference/logs/*.xyz")]
MOST_S = 60
"""Seconds of work of one command; of one that waits and does nothing ten times as many by the clock."""
_TO_TERMINAL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f\x9b\u202a-\u202e]")


class _TooLongError(BaseException):
    """A command that doesn't end."""


def _stop(*_):
    raise _TooLongError


def run(arguments):
    """The status of one command in this process, and what it said."""
    from traverse.__main__ import main

    out, said = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", errors="replace"), io.StringIO()
    before = [(one, signal.signal(one, _stop)) for one in (signal.SIGPROF, signal.SIGALRM)]
    signal.setitimer(signal.ITIMER_PROF, MOST_S)
    signal.setitimer(signal.ITIMER_REAL, 10 * MOST_S)
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(said), warnings.catch_warnings():
            warnings.simplefilter("always")
            try:
                status = main(list(arguments))
            except SystemExit as problem:
                status = problem.code
            except _TooLongError:
                status = f"no end in {MOST_S} s"
    finally:
        for timer in (signal.ITIMER_PROF, signal.ITIMER_REAL):
            signal.setitimer(timer, 0)
        for one, handler in before:
            signal.signal(one, handler)
    out.flush()
    return status, out.buffer.getvalue().decode("utf-8", "replace"), said.getvalue()


def wrong_with(arguments, status, out, said):
    """What a user would call a fault; None where all is well."""
    if status not in {0, 1, 2}:
        return f"status {status}: {said.strip()[-300:]}"
    if status and not (out + said).strip():
        return f"status {status} without a word"
    if "Warning:" in said or "Traceback" in said:
        return f"a library speaks: {said.strip()[-300:]}"
    carried = arguments[0] == "extract" and arguments[-1] == "-"
    found = _TO_TERMINAL.search(said if carried else out + said)
    return f"a command to the terminal: {found[0]!r}" if found else None


def hunt(draw, names, *, more, folder):
    """Damage things in turn while there is `more`; how many of each, and what broke."""
    count, finds = Counter(), []
    for one in HEIGHTS:
        shutil.copy(one, folder)
    with contextlib.chdir(folder):
        while more(count):
            name = draw.choice(names)
            count[name] += 1
            for command in TARGETS[name](draw, str(folder)):
                wrong = wrong_with(command, *run(command))
                if wrong is None:
                    continue
                kept = Path(folder) / f"find-{len(finds) + 1}"
                kept.mkdir()
                for one in sorted(Path().glob("*")):
                    if one.is_file():
                        shutil.copy(one, kept)
                finds.append(f"{kept.name} ({name}): {' '.join(command)}: {wrong}")
    return count, finds


def main():
    """Hunt, and print the finds; 1 where there are any."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--minutes", type=float, default=10.0)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--of", choices=TARGETS, action="append")
    given = options.parse_args()
    folder = tempfile.mkdtemp(prefix="traverse-fuzz-")
    end = time.monotonic() + 60.0 * given.minutes
    draw = random.Random(given.seed)  # noqa: S311 a seed makes the same damage again
    count, finds = hunt(draw, given.of or list(TARGETS), more=lambda _: time.monotonic() < end, folder=folder)
    for one in finds:
        print(one)
    told = ", ".join(f"{number} {name}" for name, number in sorted(count.items()))
    print(f"{sum(count.values())} damaged ({told}), {len(finds)} finds in {folder}")
    return int(bool(finds))


if __name__ == "__main__":
    sys.exit(main())
