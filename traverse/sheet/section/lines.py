"""Ground along a section by unit, its borders where the contacts come out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from traverse.sheet.signs.shown import SHOWN
from traverse.structure.section.records import PointKind, Section, SectionPoint


@dataclass(slots=True, kw_only=True)
class Line:
    """A contact on the section."""

    point: SectionPoint
    out_m: float
    """Where its line comes out of the ground."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """Ground on one unit, from one border to the next."""

    unit: str | None
    start_m: float
    end_m: float


def other_sign(point: SectionPoint) -> str | None:
    """The sign of a reading that is no bed but has an apparent dip worth drawing; None of anything else."""
    attitude = point.attitude
    if point.kind is not PointKind.ATTITUDE or attitude is None or point.apparent_dip_deg is None:
        return None
    return None if point.is_bed else SHOWN[attitude.kind.value].in_section


def runs_between(section: Section, lines: Sequence[Line], *, reach_m: float) -> tuple[Run, ...]:
    """Ground by unit; borders moved to where the contact there comes out, `reach_m` away at most."""
    profile = section.profile
    spacing = section.length_m / max(1, len(profile) - 1)
    borders: list[float] = []
    units: list[str | None] = [profile[0].unit]
    for before, after in pairwise(profile):
        if before.unit == after.unit:
            continue
        middle = (before.distance_m + after.distance_m) / 2.0
        pair = {before.unit, after.unit}

        def off(line: Line, middle: float = middle) -> float:
            """From the border to where the contact was carried, or to where its line comes out."""
            return min(abs(line.point.distance_m - middle), abs(line.out_m - middle))

        near = [
            line
            for line in lines
            if off(line) <= max(reach_m, 1.5 * spacing)
            and line.point.contact is not None
            and (None in pair or {line.point.contact.younger, line.point.contact.older} == pair)
        ]
        line = min(near, key=off, default=None)
        borders.append(line.out_m if line is not None else middle)
        units.append(after.unit)
    runs: list[Run] = []
    reached = 0.0
    for unit, (start, end) in zip(units, pairwise([0.0, *borders, section.length_m]), strict=True):
        start_m, end_m = max(reached, start), max(reached, end)
        if end_m - start_m > 1e-6:
            runs.append(Run(unit=unit, start_m=start_m, end_m=end_m))
        reached = end_m
    return tuple(runs)
