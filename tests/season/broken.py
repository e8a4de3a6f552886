"""A season of hundreds of logs in four grids: indexed, broken, killed at random moments, resumed, and whole at the end.

    python tests/season/broken.py [--days 300] [--kills 20] [--seed 1]

After each kill the index must be the old one or the new one, and no process may be left. At the end it must hold, byte
for byte, what a run without any kill makes. Not part of the suite for its length.
"""

import argparse
import json
import os
import random
import re
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent.parent))

from tests.season.made import day, season

OUTPUTS = ("season.html", "season.gpkg")


def call(folder, output):
    return [sys.executable, "-m", "traverse", "season", str(folder), "-o", str(output), "--processes", "2"]


def children(pid):
    """Processes that were begun by one, by what Linux says; none elsewhere."""
    path = Path(f"/proc/{pid}/task/{pid}/children")
    return [int(one) for one in path.read_text("ascii").split()] if path.exists() else []


def whole(output):
    """Both files as bytes; raises where one can be no index."""
    import pyogrio

    found = {}
    for name in OUTPUTS:
        path = output / name
        found[name] = path.read_bytes() if path.exists() else None
    if found["season.html"] is not None:
        text = found["season.html"].decode()
        assert text.endswith("</html>\n"), "the page is cut"
        json.loads(re.search(r'id="season-days">(.*?)</script>', text, re.DOTALL)[1])
    if found["season.gpkg"] is not None:
        for name, _ in pyogrio.list_layers(output / "season.gpkg"):
            pyogrio.read_info(output / "season.gpkg", layer=name, force_feature_count=True)
    return found


def spoilt(folder, chance):
    """A change that people make between two runs."""
    logs = sorted(folder.rglob("*.trav"))
    one = chance.choice(logs)
    what = chance.randrange(5)
    if what == 0:
        one.write_bytes(one.read_bytes()[: chance.randrange(200)])
    elif what == 1:
        one.write_bytes(bytes(chance.randrange(256) for _ in range(300)))
    elif what == 2:
        one.unlink()
    elif what == 3:
        (one.parent / f"new {chance.randrange(10**6)}.trav").write_text(day(chance.randrange(10**6)), "utf-8")
    else:
        one.write_text(day(chance.randrange(10**6)), "utf-8")


def main():
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--days", type=int, default=300)
    options.add_argument("--kills", type=int, default=20)
    options.add_argument("--seed", type=int, default=1)
    given = options.parse_args()
    chance = random.Random(given.seed)  # noqa: S311 - when to kill
    with tempfile.TemporaryDirectory() as name:
        folder, output = Path(name) / "logs", Path(name) / "index"
        season(folder, given.days)
        before = dict.fromkeys(OUTPUTS)
        started = time.perf_counter()
        subprocess.run(call(folder, Path(name) / "first"), capture_output=True, check=False)
        took = time.perf_counter() - started
        print(f"{given.days} logs in {took:.1f} s")
        kills = left = 0
        while kills < given.kills:
            if kills > given.kills // 3:
                for _ in range(20):
                    spoilt(folder, chance)
            run = subprocess.Popen(call(folder, output), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
            begun = time.monotonic()
            while run.poll() is None and not (output / "season.state").exists():
                time.sleep(0.01)
            # From before the first log is read to after the index is written.
            time.sleep(chance.uniform(0.0, 0.2 if kills % 4 == 0 else time.monotonic() - begun + took / 2))
            own = children(run.pid)
            if run.poll() is None:
                run.send_signal(signal.SIGKILL)
                kills += 1
            run.wait()
            now = whole(output)
            for file in OUTPUTS:
                if now[file] is None:
                    assert before[file] is None, f"{file} is gone"
            before = now
            until = time.monotonic() + 20.0
            while any(Path(f"/proc/{pid}").exists() for pid in own) and time.monotonic() < until:
                time.sleep(0.05)
            left += sum(Path(f"/proc/{pid}").exists() for pid in own)
        print(f"{kills} kills: each file whole after each; {left} processes left")
        said = subprocess.run(call(folder, output), capture_output=True, text=True, check=False)
        print(said.stdout.strip())
        assert "Traceback" not in said.stderr, said.stderr
        fresh = Path(name) / "fresh"
        subprocess.run(call(folder, fresh), capture_output=True, check=False)
        same = [(output / one).read_bytes() == (fresh / one).read_bytes() for one in OUTPUTS]
        print(f"as one that was never killed: page {same[0]}, layers {same[1]}")
        hidden = [one.name for one in output.iterdir() if one.name.startswith(".")]
        print(f"unfinished files, which the next run after an hour sweeps: {len(hidden)}")
        return int(not all(same) or left > 0)


if __name__ == "__main__":
    os.environ.setdefault("PYTHONPATH", str(Path(__file__).parent.parent.parent))
    sys.exit(main())
