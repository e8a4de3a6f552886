"""Twenty parties of 40 stations as one network, over the sum of what each takes alone. Prints the ratio; asserts nothing."""

import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent.parent))

from tests.bench.aims import told
from traverse.compile import compile_log
from traverse.source import Source

PARTIES, STATIONS = 20, 40
ALIKE = range(3)
"""Parties that walk the same loop, and are tied at two of its stations."""
AIM_ALIKE, AIM_WRONG = 3.0, 3.0
HEAD = "notation 1\nbearings true\nattitudes dip-right\npace double 1.5 m\nprecision bearing 1, pace 2%\nunit Sh Reed Shale ; Jurassic\n"


def party(seed):
    """A loop of its own from the known point, read with its stated errors."""
    rng = np.random.default_rng(seed)
    angle = np.linspace(0.0, 2.0 * np.pi, STATIONS + 1)[:-1]
    shape = seed if seed >= len(ALIKE) else 0
    radius = 300.0 * (1.0 + 0.1 * np.sin(3.0 * angle + shape))
    at = np.stack((radius * np.sin(angle), radius * np.cos(angle)), axis=1)
    at -= at[0]
    rows = [HEAD + "control Cairn 412350 E 4289020 N", "at Cairn", "  unit Sh", "  bed 320/30"]
    for i in range(STATIONS):
        east, north = at[(i + 1) % STATIONS] - at[i]
        azimuth = round(float(np.degrees(np.arctan2(east, north)) + rng.normal(0.0, 1.0))) % 360
        paces = round(float(np.hypot(east, north) / 1.5 * (1.0 + rng.normal(0.0, 0.02))))
        word = f"to {i + 2}" if i + 1 < STATIONS else "close Cairn"
        rows.append(f"{word} {azimuth:03d} {paces}p level")
        if word != "close Cairn" and i % 4 == 0:
            rows.append("  unit Sh\n  bed 320/30")
    return "\n".join(rows) + "\n"


def turned(text):
    """The same with the declination of another compass: the whole walk lies turned."""
    return text.replace("bearings true", "bearings magnetic\ndeclination 9 E, 2026, map")


def letters(number):
    return chr(65 + number // 26) + chr(65 + number % 26)


def camp(files):
    rows = ["notation 1", "traverse Many parties", "grid EPSG:25833"]
    rows += [f"log {name} as {letters(index)}" for index, name in enumerate(files)]
    rows += [f"tie {letters(0)}-{at} to {letters(index)}-{at}" for index in ALIKE[1:] for at in (10, 20)]
    return "\n".join(rows) + "\n"


def seconds(text, files):
    started = time.process_time()
    found = compile_log(Source(name="camp.trav", text=text), load=lambda name: files[name].encode())
    taken = time.process_time() - started
    assert not found.failed, [one.message for one in found.diagnostics if one.kind == "error"][:3]
    return taken, found


def main():
    files = {f"p{index}.trav": party(index) for index in range(PARTIES)}
    grid = "grid EPSG:25833\n"
    seconds(files["p0.trav"].replace("unit Sh Reed", grid + "unit Sh Reed", 1), {})  # the imports
    alone = sum(
        seconds(text.replace("unit Sh Reed", grid + "unit Sh Reed", 1), {})[0] for text in files.values()
    )
    joined, found = seconds(camp(files), files)
    assert len(found.survey.legs) == PARTIES * STATIONS
    print(f"{PARTIES} parties: {alone:.1f} s alone, {joined:.1f} s as one network")
    told(f"{PARTIES} parties as one network over the sum of the parts", joined / alone, AIM_ALIKE)
    files["p1.trav"] = turned(files["p1.trav"])
    joined, found = seconds(camp(files), files)
    print(f"one of them turned: {joined:.1f} s, left out: {[one.party for one in found.survey.aside]}")
    told("with one that does not fit", joined / alone, AIM_WRONG)


if __name__ == "__main__":
    main()
