"""`traverse check` on a day's page against what any program with its libraries must spend: fresh processes, medians.

The floor imports numpy and lark and loads the cached grammar; for a page in a map grid it imports pyproj and opens
the grid as well. Prints each with its ratio; asserts nothing.
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent.parent))

from tests.bench.aims import told

# As installed: byte code is kept, whatever this shell says.
COMPILED = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
RUNS = 3
PAGE = Path(__file__).parent.parent.parent / "samples" / "copperjar-wash" / "copperjar-wash.trav"
FLOOR = "import numpy, lark; from traverse.notation.parse import parser; parser()"
GRID = FLOOR + "; import pyproj; pyproj.Transformer.from_crs(26912, 4326, always_xy=True)"


def seconds(command):
    started = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True, env=COMPILED)
    return time.perf_counter() - started


def without_grid(folder):
    """The same page on a local grid."""
    lines = PAGE.read_text(encoding="utf-8").splitlines(keepends=True)
    log = Path(folder) / PAGE.name
    for other in PAGE.parent.iterdir():
        if other.is_file():
            (Path(folder) / other.name).write_bytes(other.read_bytes())
    log.write_text(
        "".join(line for line in lines if not line.startswith(("grid", "control"))), encoding="utf-8"
    )
    return log


def main():
    with tempfile.TemporaryDirectory() as folder:
        calls = {
            "floor": [sys.executable, "-c", FLOOR],
            "check": [sys.executable, "-m", "traverse", "check", str(without_grid(folder))],
            "floor with a grid": [sys.executable, "-c", GRID],
            "check with a grid": [sys.executable, "-m", "traverse", "check", str(PAGE)],
        }
        for command in calls.values():
            seconds(command)  # fills the caches
        taken = {name: [] for name in calls}
        for _ in range(RUNS):  # turn about, so that a busy machine slows both alike
            for name, command in calls.items():
                taken[name].append(seconds(command))
    for where in ("", " with a grid"):
        floor, check = (statistics.median(taken[name + where]) for name in ("floor", "check"))
        told(f"floor{where} {1000 * floor:.0f} ms, check {1000 * check:.0f} ms, ratio", check / floor, 1.3)


if __name__ == "__main__":
    main()
