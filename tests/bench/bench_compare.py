"""Twelve parties against a key: over what reading and reducing the same logs takes. Prints the ratio; asserts nothing."""

import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent.parent))

from tests.bench.aims import told
from tests.compare.camp import VALLEY, no_files, walked_again
from traverse.compare.against_key import against_key
from traverse.compare.scheme import read_scheme
from traverse.compile import compile_log
from traverse.source import Source

PARTIES = 12
SLIPS = (("4.7 E", "4.7 W"), ("dip-direction", "dip-left"), ("double 100 m in", "double 200 m in"))
CALLED = 12
AIM_CLEAN, AIM_SLIP, AIM_TWO = 2.0, 8.0, 1 / 1.6
ROOT = Path(__file__).parent.parent.parent
CALL = "import sys; from traverse.command import compare; compare._MANY = int(sys.argv.pop(1)); from traverse.__main__ import main; main()"
"""The command with so many logs from which on it takes two processes."""


def logs():
    """Every second party with a slip of its heading."""
    for seed in range(PARTIES):
        text = walked_again(VALLEY, seed)
        yield text.replace(*SLIPS[seed // 2 % len(SLIPS)]) if seed % 2 else text


def by_the_clock(folder, texts, many):
    """Seconds of one call over all logs."""
    names = [f"p{index}.trav" for index in range(len(texts))]
    for name, text in zip(names, texts, strict=True):
        (folder / name).write_text(text, "utf-8")
    (folder / "key.trav").write_text(VALLEY, "utf-8")
    started = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-c", CALL, str(many), "compare", "key.trav", *names, "--to", "json"],
        cwd=folder, env={"PYTHONPATH": str(ROOT)}, capture_output=True, check=False,
    )  # fmt: skip
    assert done.returncode in {0, 1}, done.stderr
    return time.perf_counter() - started, done.stdout


def main():
    scheme = read_scheme(None)[0].value
    key = compile_log(Source(name="key.trav", text=VALLEY), load=no_files).trav
    reading, comparing = [0.0, 0.0], [0.0, 0.0]
    for seed, text in enumerate(logs()):
        started = time.perf_counter()
        compiled = compile_log(Source(name="party.trav", text=text), load=no_files)
        read = time.perf_counter()
        if compiled.failed:
            continue
        against_key("party.trav", compiled, key, scheme, no_files)
        reading[seed % 2] += read - started
        comparing[seed % 2] += time.perf_counter() - read
    told("comparing over reading, parties without a slip", comparing[0] / reading[0], AIM_CLEAN)
    told("comparing over reading, with a slip of the heading", comparing[1] / reading[1], AIM_SLIP)
    with tempfile.TemporaryDirectory() as folder:
        one, two = (by_the_clock(Path(folder), list(logs())[:CALLED], many) for many in (PARTIES + 1, 1))
    assert one[1] == two[1]
    told(f"{CALLED} logs over two processes, time over that of one", two[0] / one[0], AIM_TWO)


if __name__ == "__main__":
    main()
