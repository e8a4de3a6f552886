"""A season of logs of some seventy lines, as ratios: over reading and reducing alone, two processes over one, unchanged.

By the time that all processes spend on the processors, which a busy machine leaves alone; what two processes save is by
the clock, turn about, and wants two processors that are free. Prints each beside its aim and asserts nothing.

    python tests/bench/bench_season.py [LOGS]
"""

import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent.parent))

from tests.bench.aims import told
from tests.season.made import season

LOGS = 24
ALONE = """
import sys
from pathlib import Path
from traverse.command.files import LogFiles
from traverse.compile import compile_log
for path in sorted(Path(sys.argv[1]).rglob("*.trav")):
    files = LogFiles(str(path))
    assert compile_log(files.source()[0], load=files.load).trav
"""


def spent(command):
    """Seconds on the processors, and by the clock."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    started = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True)
    clock = time.perf_counter() - started
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime, clock


def main():
    logs = int(sys.argv[1]) if len(sys.argv) > 1 else LOGS
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "logs"
        season(folder, logs)

        def run(output, processes):
            return [
                sys.executable, "-m", "traverse", "season", str(folder), "-o", str(Path(name) / output),
                "--processes", str(processes),
            ]  # fmt: skip

        alone, one, two = [], [], []
        for turn in range(3):
            alone.append(spent([sys.executable, "-c", ALONE, str(folder)]))
            one.append(spent(run(f"one-{turn}", 1)))
            two.append(spent(run(f"two-{turn}", 2)))
        same = [spent(run("one-0", 1)) for _ in range(3)]
    processor, clock = (
        {
            what: statistics.median(taken[which] for taken in found)
            for what, found in (("alone", alone), ("one", one), ("two", two), ("same", same))
        }
        for which in (0, 1)
    )
    print(f"{logs} logs; reading and reducing alone {1000 * processor['alone'] / logs:.0f} ms a log")
    told("cold over reading and reducing alone", processor["one"] / processor["alone"], 2.0)
    told("two processes, work over that of one", processor["two"] / processor["one"], 1.15)
    told("two processes, time over that of one", clock["two"] / clock["one"], 1 / 1.7)
    told("unchanged over cold", 100 * processor["same"] / processor["one"], 5.0, " %")


if __name__ == "__main__":
    main()
