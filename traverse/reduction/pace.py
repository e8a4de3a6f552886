"""Pace length from a measured course, and distances on the ground in metres."""

from __future__ import annotations

import math

from traverse.length import METRES_PER_FOOT
from traverse.log.readings import Distance, PaceCourse, PaceKind, Unit

_ROUNDED_SD = 1.0 / math.sqrt(12.0)
"""Standard deviation of what rounding to 1 takes off or adds."""


def pace_length_m(course: PaceCourse) -> float:
    """Length of one pace: the stated one, or the course over the mean count of its walks.

    A calibration says nothing of other ground: a pace shortens on slopes and on scree.
    Source: common practice, no source.
    """
    if course.length_m is not None:
        return course.length_m
    assert course.course_m is not None
    return course.course_m * len(course.counts) / math.fsum(course.counts)


def pace_sd_m(course: PaceCourse) -> float | None:
    """Standard error of the length: sample deviation of the walks' lengths over the root of their number.

    No less than a count to the whole pace leaves, or to the half where one is, which walks of the same count share: 1/√12
    of that over the count.
    Source of that: JCGM 100:2008 (GUM), F.2.2.1, resolution of an indication. None for a stated length and for a single walk, which tell nothing of their error.
    """
    if course.course_m is None or len(course.counts) < 2:
        return None
    lengths = [course.course_m / count for count in course.counts]
    count = len(lengths)
    mean = math.fsum(lengths) / count
    squares = math.fsum((length - mean) ** 2 for length in lengths)
    step = 1.0 if all(one % 1.0 == 0.0 for one in course.counts) else 0.5
    counted = step * _ROUNDED_SD * mean / (math.fsum(course.counts) / count)
    return max(math.sqrt(squares / (count - 1) / count), counted)


def paces_counted(distance: Distance, course: PaceCourse) -> float:
    """The count in the kind of pace that was calibrated; a pace not said to be double is one step."""
    double = course.kind is PaceKind.DOUBLE
    if distance.unit is Unit.DOUBLE_PACES and not double:
        return 2.0 * distance.value
    if distance.unit is Unit.SINGLE_PACES and double:
        return distance.value / 2.0
    return distance.value


def metres(distance: Distance, course: PaceCourse | None) -> float:
    """A distance as booked, in metres; 0 for paces that nothing says the length of."""
    if distance.unit is Unit.METRES:
        return distance.value
    if distance.unit is Unit.FEET:
        return distance.value * METRES_PER_FOOT
    return paces_counted(distance, course) * pace_length_m(course) if course else 0.0
