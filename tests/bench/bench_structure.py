"""A hundred thousand attitudes against bare numpy on the same arrays; a section of 600 stations and its constructions.

Prints seconds and ratios of one run; asserts nothing. Aims: 2 times bare numpy; the constructions in less time than
drawing the sheet that shows them.
"""

import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent.parent))

from tests.bench.aims import told
from tests.bench.bench_network import seconds
from traverse.compile import compile_log, map_ground
from traverse.sheet.compose.compose import compose
from traverse.sheet.template.reading import read_template
from traverse.source import Source
from traverse.structure.readings.directions import apparent_dips, pole
from traverse.structure.readings.girdle import girdle_axis
from traverse.structure.readings.mean import bedding_mean, principal_axis
from traverse.structure.section import construct

STATIONS = 600


def bulk(count=100_000):
    rng = np.random.default_rng(1)
    dips, ways = rng.uniform(5, 80, count), rng.uniform(60, 120, count)
    azimuths = rng.uniform(0, 360, count)
    poles = pole(dips, dip_direction_deg=ways)

    def bare_pole():
        dip, way = np.radians(dips), np.radians(ways)
        return np.stack((np.sin(way) * np.sin(dip), np.cos(way) * np.sin(dip), np.cos(dip)), axis=1)

    def bare_apparent():
        return np.degrees(np.arctan(np.tan(np.radians(dips)) * np.cos(np.radians(azimuths - ways))))

    def bare_spread():
        axis = np.linalg.eigh(poles.T @ poles)[1][:, -1]
        return np.arccos(np.clip(np.abs(poles @ axis), 0, 1)).max()

    rows = [
        ("poles", lambda: pole(dips, dip_direction_deg=ways), bare_pole),
        ("vector mean", lambda: bedding_mean(poles), lambda: np.linalg.norm(poles.sum(axis=0))),
        (
            "principal axis and spread",
            lambda: principal_axis(poles),
            bare_spread,
        ),
        ("girdle", lambda: girdle_axis(poles), lambda: np.linalg.eigh(poles.T @ poles / count)),
        (
            "apparent dips",
            lambda: apparent_dips(dips, dip_direction_deg=ways, azimuth_deg=azimuths),
            bare_apparent,
        ),
    ]
    print(f"{count:,} attitudes, ours over bare numpy")
    for name, ours, bare in rows:
        mine, theirs = seconds(ours, runs=5), seconds(bare, runs=5)
        told(f"{name}, {1000 * mine:.1f} over {1000 * theirs:.1f} ms", mine / theirs, 2)


def long_walk(count=STATIONS):
    """A walk east over rolling folds: a unit of 60 m at a time, a bed at every station."""
    lines = ["notation 1", "bearings true", "attitudes dip-direction"]
    lines += [f"unit U{index} Unit {index} ;" for index in range(9)]
    lines += ["control 0 1000 E 1000 N 500 m", "at 0"]
    level, unit = 0.0, 4
    for index in range(1, count + 1):
        dip = 35.0 * np.sin(index / 25.0)
        way = "090" if dip >= 0 else "270"
        lines.append(f"to {index} 090 20m {3 * np.sin(index / 40.0):+.1f}")
        level += 20.0 * np.sin(np.radians(dip))
        found = int(np.clip(4 - level // 60.0, 0, 8))
        if found != unit:
            low, high = sorted((unit, found))
            if high - low == 1:
                lines += ["along 10m", f"contact U{low}/U{high} certain", f"at {index}"]
            unit = found
        lines += [f"unit U{unit}", f"bed {way}/{abs(dip):.0f}"]
    lines.append(f"section A-A' from 0 to {count}, depth 400 m")
    return "\n".join(lines) + "\n"


def section():
    source = Source(name="long.trav", text=long_walk())
    constructed = construct.constructed
    spent = []

    def timed(*arguments, **named):
        started = time.perf_counter()
        found = constructed(*arguments, **named)
        spent.append(time.perf_counter() - started)
        return found

    construct.constructed = timed
    started = time.perf_counter()
    compiled = compile_log(source, load=lambda path: None)
    lines = compiled.geology.sections[0].construction.lines
    whole = time.perf_counter() - started
    assert not compiled.failed, [one.message for one in compiled.diagnostics][:5]
    template = read_template("field").value
    started = time.perf_counter()
    compose(
        map_ground(compiled.trav),
        compiled.diagnostics,
        template=template,
        mark="bench",
    )
    draw = time.perf_counter() - started
    print(
        f"{STATIONS} stations, {len(lines)} lines: log compiled and its section constructed {whole:.2f} s, of which both constructions {spent[0]:.2f} s; "
        f"sheet drawn {draw:.2f} s"
    )


if __name__ == "__main__":
    bulk()
    section()
