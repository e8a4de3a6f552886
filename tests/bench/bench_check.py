"""`traverse check` on a day's page against what any program with its libraries must spend: fresh processes, medians.

The floor imports numpy and lark and loads the cached grammar. Prints both and their ratio; asserts nothing.
"""

import statistics
import subprocess
import sys
import time
from pathlib import Path

RUNS = 15
PAGE = Path(__file__).parent.parent.parent / "samples" / "copperjar-wash" / "copperjar-wash.trav"
FLOOR = "import numpy, lark; from traverse.notation.parse import parser; parser()"


def seconds(command):
    started = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True)
    return time.perf_counter() - started


def main():
    calls = {
        "floor": [sys.executable, "-c", FLOOR],
        "check": [sys.executable, "-m", "traverse", "check", str(PAGE)],
    }
    for command in calls.values():
        seconds(command)  # fills the caches
    taken = {name: [] for name in calls}
    for _ in range(RUNS):  # turn about, so that a busy machine slows both alike
        for name, command in calls.items():
            taken[name].append(seconds(command))
    floor, check = (statistics.median(taken[name]) for name in ("floor", "check"))
    print(f"floor {1000 * floor:.0f} ms, check {1000 * check:.0f} ms, ratio {check / floor:.2f} (aim 1.3)")


if __name__ == "__main__":
    main()
