"""Traces between the arms of 150 and of 600 contacts; a text grid of 250,000 heights against bare numpy.

Prints seconds and ratios of one run; asserts nothing. Aims: four times the contacts in less than eight times the time,
and less than the placing of them takes; a grid in three times what numpy wants for its figures.
"""

import io
import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent.parent))

from tests.bench.aims import told
from tests.bench.bench_network import seconds
from traverse.compile import compile_log
from traverse.ground.joins import joins
from traverse.heights.grid import read_terrain
from traverse.source import Source, Span

HEAD = """notation 1
traverse Rows
grid EPSG:32630
bearings grid
attitudes dip-direction
pace MO double 100 m in 65, 66, 66
unit Sh Shale ; Jurassic
unit Ss Sandstone ; Triassic
control 1 500000 E 6000000 N 100 m
at 1
  unit Ss
  bed 090/40
"""


def rows(count, across):
    """A walk to and fro over beds that strike across it, with a contact on every leg."""
    lines, station, younger = [HEAD], 1, False
    for row in range(count):
        for _ in range(across):
            station, younger = station + 1, not younger
            lines += [
                f"to {station} {'270' if row % 2 else '090'} 50m level",
                "along 20m",
                "  contact Sh/Ss certain",
                f"at {station}",
                f"  unit {'Sh' if younger else 'Ss'}",
                "  bed 090/40",
            ]
        station += 1
        lines.append(f"to {station} 180 60m level")
    return "\n".join(lines)


def main():
    taken = []
    for count, across in ((6, 25), (12, 50)):
        started = time.perf_counter()
        found = compile_log(Source(name="rows.trav", text=rows(count, across)), load=lambda name: b"")
        whole = time.perf_counter() - started
        assert not found.failed
        taken.append(seconds(lambda found=found: joins(found.survey, found.geology), runs=3))
        print(
            f"{len(found.geology.contacts):,} contacts, {len(found.trav.ground.joins):,} joined: {taken[-1]:.2f} s"
            f" of {whole:.1f} s for the log, ratio {taken[-1] / whole:.2f}"
        )
    told("four times the contacts, times the time", taken[1] / taken[0], 8)
    x, y = np.meshgrid(499000 + np.arange(500), 5999500 + np.arange(500))
    text = "\n".join(
        f"{a} {b} {100 + 0.01 * (a - 499000):.2f}" for a, b in zip(x.ravel(), y.ravel(), strict=True)
    )
    data, span = text.encode(), Span("rows.trav", 1, 1, 2)
    ours = seconds(lambda: read_terrain("h.xyz", data, found.survey, span, lengths=found.log.lengths), runs=1)
    bare = seconds(lambda: np.loadtxt(io.StringIO(text)), runs=1)
    told(f"{x.size:,} heights {ours:.2f} s, numpy alone {bare:.2f} s, ratio", ours / bare, 3)


if __name__ == "__main__":
    main()
