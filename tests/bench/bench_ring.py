"""Memory of stations round one ring, 600 and 1,200 of them (twice as many with `--all`), each with a bed: one loop that is as long as the log.

What `check` and what `sheet` hold at most beyond what the program itself takes, each in a process of its own; twice the
stations may hold little more than twice as much, and a sheet stays under 500 MB. Of 10,000 it is refused, in less than
10 s of the processor. Prints; asserts nothing.
"""

import random
import subprocess
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent.parent))

from tests.bench.aims import told

ROOT = Path(__file__).resolve().parents[2]
SIZES = (1_200, 2_400) if "--all" in sys.argv else (600, 1_200)
REFUSED = 10_000
RUN = """
import sys
from resource import RUSAGE_SELF, getrusage
from traverse.__main__ import main
status = main(sys.argv[1:])
(line,) = [one for one in open("/proc/self/status") if one.startswith("VmHWM")]
print(status, line.split()[1], getrusage(RUSAGE_SELF).ru_utime)
"""


def ring(count):
    """Legs of 40 paces round a circle, read to a degree and two paces; two units, half the ring each."""
    draw = random.Random(5)  # noqa: S311 the same ring every time
    lines = ["notation 1", "bearings true", "attitudes dip-right", "pace 1 m", "adjust least-squares"]
    lines += ["unit Aa Upper beds ; Jurassic", "unit Bb Lower beds ; Triassic", "control 1 0 E 0 N", "at 1"]
    for number in range(1, count + 1):
        lines.append(f"  unit {'Aa' if number <= count / 2 else 'Bb'}")
        lines.append(f"  bed {30 + draw.randrange(10):03d}/{20 + draw.randrange(10)}")
        azimuth = round(360.0 * (number - 0.5) / count + draw.gauss(0.0, 1.0)) % 360
        paces = round(40.0 + draw.gauss(0.0, 1.0))
        lines.append(
            f"to {number + 1} {azimuth:03d} {paces}p" if number < count else f"close 1 {azimuth:03d} {paces}p"
        )
    # What a ring has drawn from its roundings is shared out, whatever it comes to.
    lines[4] += " anyway a bench"
    return "\n".join(lines) + "\n"


def held_mb(*arguments, folder):
    """Most memory that a command that is answered held, megabytes."""
    held, _, status = ran(*arguments, folder=folder)
    assert status == 0, arguments
    return held


def ran(*arguments, folder):
    """Most memory that a command held, megabytes, the seconds that it took of the processor, and its status."""
    done = subprocess.run(
        [sys.executable, "-c", RUN, *arguments],
        cwd=folder,
        env={"PYTHONPATH": str(ROOT), "PATH": "/usr/bin:/bin"},
        capture_output=True,
        text=True,
        check=True,
    )
    status, kilobytes, seconds = done.stdout.splitlines()[-1].split()
    return int(kilobytes) / 1024, float(seconds), int(status)


def main():
    with tempfile.TemporaryDirectory() as folder:
        for count in (10, *SIZES):
            Path(folder, f"{count}.trav").write_text(ring(count), encoding="utf-8")
        for command, more in (("check", ()), ("sheet", ("-o", "ring.pdf"))):
            alone, *held = (held_mb(command, f"{count}.trav", *more, folder=folder) for count in (10, *SIZES))
            print(f"{command}: {alone:.0f} MB alone, {held[0]:.0f} and {held[1]:.0f} MB with the stations")
            told(f"{command}, twice the stations", (held[1] - alone) / max(held[0] - alone, 1.0), 2.5)
            told(f"{command}, at most", held[1], 500, " MB")
        Path(folder, "long.trav").write_text(ring(REFUSED), encoding="utf-8")
        held, seconds, status = ran("sheet", "long.trav", "-o", "ring.pdf", folder=folder)
        assert status == 1, "drawn"
        told(f"sheet of {REFUSED:,} stations, refused in", seconds, 10, " s")
        told("and with", held, 500, " MB")


if __name__ == "__main__":
    main()
