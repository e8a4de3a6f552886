"""Slopes in degrees and per cent, and what a distance along one is on the level."""

from __future__ import annotations

import math
from collections.abc import Sequence

from traverse.log.readings import Slope, SlopeKind
from traverse.reduction.records import SlopeRow


def slope_rad(slope: Slope) -> float:
    """Angle of a slope, upward positive, in radians; a grade is the rise for 100 of level distance."""
    if slope.kind is SlopeKind.GRADE:
        return math.atan(slope.value / 100.0)
    return math.radians(slope.value)


def mean_slope_rad(fore: Slope, back: Slope | None) -> float:
    """Mean of the slope as read forward and the one read backward with its sign turned, in radians."""
    if back is None:
        return slope_rad(fore)
    return (slope_rad(fore) - slope_rad(back)) / 2.0


def horizontal_distance(slope_distance_m: float, *, slope_deg: float) -> float:
    """Distance on the level of a distance measured along the slope.

    Good for a leg on one even slope; break a leg where the slope changes.

    >>> round(horizontal_distance(100.0, slope_deg=30.0), 2)
    86.6
    """
    return slope_distance_m * math.cos(math.radians(slope_deg))


def slope_table(*, steps_deg: Sequence[int], of: float = 100.0) -> tuple[SlopeRow, ...]:
    """What a length along slopes of so many degrees is on the level, how far it rises, and the grade.

    >>> row = slope_table(steps_deg=(30,))[0]
    >>> round(row.level, 1), round(row.rise, 1), round(row.grade_percent)
    (86.6, 50.0, 58)
    """
    return tuple(
        SlopeRow(
            slope_deg=angle,
            grade_percent=100.0 * math.tan(math.radians(angle)),
            level=horizontal_distance(of, slope_deg=angle),
            rise=of * math.sin(math.radians(angle)),
        )
        for angle in steps_deg
    )
