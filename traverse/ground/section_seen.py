"""Ground along a section that the map shows as well: where the line runs through the band."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import shapely
from shapely import LineString

from traverse.ground.records import Band
from traverse.ground.section_runs import UnitRun
from traverse.settled import SAME_M, settled
from traverse.shapes import lines_in
from traverse.structure.section.records import Section


def seen_runs(section: Section, band: Band) -> tuple[UnitRun, ...]:
    """Stretches of the line over areas of the band whose unit is known, by distance, none over another."""
    found: list[UnitRun] = []
    start_m = 0.0
    for one, other in pairwise(section.line):
        line = LineString([one, other])
        for area in band.areas:
            if area.unit is None:
                continue
            for shared in lines_in(line.intersection(shapely.union_all(list(area.parts)))):
                ends = sorted(settled(start_m + math.dist(one, shared.coords[index])) for index in (0, -1))
                found.append(UnitRun(unit=area.unit, start_m=ends[0], end_m=ends[1]))
        start_m += line.length
    return _one_after_other(found)


def _one_after_other(found: Sequence[UnitRun]) -> tuple[UnitRun, ...]:
    """Runs of one unit that touch joined, and none begun before the one before it ends."""
    kept: list[UnitRun] = []
    for run in sorted(found, key=lambda one: (one.start_m, one.end_m)):
        last = kept[-1] if kept else None
        start_m = run.start_m if last is None else max(run.start_m, last.end_m)
        if run.end_m - start_m <= SAME_M:
            continue
        if last is not None and last.unit == run.unit and start_m - last.end_m <= SAME_M:
            kept[-1] = UnitRun(unit=run.unit, start_m=last.start_m, end_m=run.end_m)
        else:
            kept.append(UnitRun(unit=run.unit, start_m=start_m, end_m=run.end_m))
    return tuple(kept)
