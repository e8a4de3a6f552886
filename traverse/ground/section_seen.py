"""Ground along a section that the map shows as well: where the line runs through the band; and what is carried there."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

import shapely
from shapely import LineString

from traverse.ground.records import Band, Evidence, EvidenceRun
from traverse.ground.section_runs import UnitRun
from traverse.location.records import PlacedLeg
from traverse.settled import SAME_M, settled
from traverse.shapes import areas_in, lines_in
from traverse.structure.section.records import PointKind, Section


def evidence_along(
    section: Section, band: Band | None, legs: Iterable[PlacedLeg], half_m: float
) -> tuple[EvidenceRun, ...]:
    """What a section rests on from place to place.

    Carried is ground within `half_m` of the distance at which a reading, a contact or a station stands, and between
    the stations of a leg.
    """
    if section.length_m <= SAME_M:
        return ()
    whole = shapely.box(0.0, 0.0, section.length_m, 1.0)
    walked = shapely.union_all([shapely.box(*ends, 1.0) for ends in _through(section, band)])
    stands = {one.label: one.distance_m for one in section.points if one.kind is PointKind.STATION}
    spans = [(one.distance_m, one.distance_m) for one in section.points]
    spans += [
        (stands[leg.booked.start], stands[leg.booked.end])
        for leg in legs
        if leg.booked.start in stands and leg.booked.end in stands
    ]
    near = [shapely.box(min(span) - half_m, 0.0, max(span) + half_m, 1.0) for span in spans]
    carried = shapely.union_all(near).intersection(whole).difference(walked)
    runs = [
        EvidenceRun(evidence=evidence, start_m=settled(part.bounds[0]), end_m=settled(part.bounds[2]))
        for evidence, ground in ((Evidence.WALKED, walked), (Evidence.CARRIED, carried))
        for part in areas_in(ground)
    ]
    return tuple(
        sorted((run for run in runs if run.end_m - run.start_m > SAME_M), key=lambda run: run.start_m)
    )


def _through(section: Section, band: Band | None) -> Iterator[tuple[float, float, float]]:
    """Where the line runs through the band: from, 0, to, as a box is given."""
    start_m = 0.0
    for one, other in pairwise(section.line):
        line = LineString([one, other])
        if band is not None:
            for part in lines_in(line.intersection(band.whole)):
                ends = sorted(start_m + math.dist(one, part.coords[index]) for index in (0, -1))
                yield ends[0], 0.0, ends[1]
        start_m += line.length


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
