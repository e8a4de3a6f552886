"""Faults as lines on the map: what lies beyond one tells nothing of the ground before it."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from functools import cached_property
from itertools import pairwise

import numpy as np

from traverse.location.records import Survey
from traverse.log.items import ContactKind, HowMet
from traverse.log.records import Log
from traverse.settled import SAME_M, settled, settled_all
from traverse.source import Span
from traverse.structure.readings.directions import Vectors
from traverse.structure.readings.records import PlacedContact
from traverse.trade import BAND_M, REACH_BED_M, REACH_M

_STRAIGHT = 0.15
"""Places of a fault of unknown plane are of one line where they lie off it by no more than this share of its length.
Common practice, no source."""
_STEEP_DEG = 60.0
"""The trace of a fault that dips less follows the ground, and is straight no farther than it was looked at. Common practice,
no source."""


class FaultSides:
    """The faults that a walk crossed, each in the line that the map gives it, and a way on at its ends."""

    def __init__(self, log: Log, survey: Survey, contacts: Sequence[PlacedContact]) -> None:
        half_m = log.heading.sheet.band_m or BAND_M
        met = [one for one in contacts if one.kind is ContactKind.FAULT and one.met is HowMet.CROSSED]
        self.lines: list[Vectors] = []
        self.line_of: dict[Span, int] = {}
        """By the line of the log that booked a place of it."""
        for its in _groups(survey, met):
            points = np.array([(one.place.east_m, one.place.north_m) for one in its])
            courses = [
                one.course_deg for one in its if one.surface is not None and one.course_deg is not None
            ]
            if len(its) > 1:
                _, _, axes = np.linalg.svd(points - points.mean(axis=0))
                way = axes[0]
            else:
                course_deg = courses[0] - survey.frame.to_true_deg if courses else _square_to(its[0])
                if course_deg is None:
                    continue
                way = np.array([math.sin(math.radians(course_deg)), math.cos(math.radians(course_deg))])
            points = points[np.argsort(settled_all(points @ way), kind="stable")]
            steep = all(one.dip_deg is None or one.dip_deg >= _STEEP_DEG for one in its)
            on_m = REACH_BED_M if courses and steep else half_m
            line = settled_all(np.vstack([points[0] - on_m * way, points, points[-1] + on_m * way]))
            self.line_of |= {one.booked.span: len(self.lines) for one in its}
            self.lines.append(line)

    def between(self, one: tuple[float, float], other: tuple[float, float]) -> bool:
        """Whether a straight way from one place to another leads over a fault, and not back."""
        return any(_times_over(line, one, other) % 2 for line in self.lines)

    def another_between(
        self, faults: Sequence[PlacedContact], one: tuple[float, float], other: tuple[float, float]
    ) -> bool:
        """Whether a straight way from one place to another leads over any other line than those of these faults."""
        own = {self.line_of.get(fault.booked.span) for fault in faults}
        (west, east), (south, north) = (sorted(pair) for pair in zip(one, other, strict=True))
        low, high = self._bounds
        # Only those about the way: of a long log most faults lie far off it.
        about = (low <= (east, north)).all(axis=1) & (high >= (west, south)).all(axis=1)
        return any(
            _times_over(self.lines[number], one, other)
            for number in np.flatnonzero(about).tolist()
            if number not in own
        )

    @cached_property
    def _bounds(self) -> tuple[Vectors, Vectors]:
        """The south-western and the north-eastern corner about each line, each (n, 2)."""
        corners = [(line.min(axis=0), line.max(axis=0)) for line in self.lines]
        low, high = np.array(corners).reshape(-1, 2, 2).transpose(1, 0, 2)
        return low, high

    def may_part(self, fault: Span, one: tuple[float, float], other: tuple[float, float]) -> bool:
        """Whether a fault, run on however far, would lie between two places: nobody saw that it ends before."""
        number = self.line_of.get(fault)
        if number is None:
            return False
        line = self.lines[number]
        far_m = 2.0 * (math.dist(one, other) + math.dist(one, line[0]))
        return _times_over(_run_on(line, far_m), one, other) % 2 == 1

    def may_cross(self, section: Vectors, fault: Span) -> bool:
        """Whether a fault, run on by as much as a section, (n, 2) east and north, is long, would come to that, and doesn't pass it by."""
        number = self.line_of.get(fault)
        if number is None or self._off_m(section, self.lines[number]) is not None:
            return False
        line = _run_on(self.lines[number], float(np.hypot(*np.diff(section, axis=0).T).sum()))
        return any(_crossed_at(line, one, other) for one, other in pairwise(section.tolist()))

    def on_section(self, section: Vectors, contact: PlacedContact) -> float | None:
        """Where a fault comes to a line of section, (n, 2) east and north, between two places where it was met: along that line.

        None of one that does so nowhere, or more than once.
        """
        number = self.line_of.get(contact.booked.span)
        if number is None:
            return None
        met, found, before_m = self.lines[number][1:-1], [], 0.0
        for one, other in pairwise(section):
            long_m = float(np.hypot(*(other - one)))
            found += [before_m + share * long_m for share in _crossed_at(met, one.tolist(), other.tolist())]
            before_m += long_m
        return settled(found[0], 3) if len(found) == 1 else None

    def beside(self, section: Vectors, contact: PlacedContact) -> float | None:
        """How far from a line of section, (n, 2) east and north, a fault passes it by; None of one that comes to it.

        Of one that was met once, or runs toward the section, where it goes on is not known.
        """
        number = self.line_of.get(contact.booked.span)
        return None if number is None else self._off_m(section, self.lines[number])

    @staticmethod
    def _off_m(section: Vectors, trace: Vectors) -> float | None:
        """As `beside`, of the line of a fault on the map."""
        if len(trace) <= 3:
            return None
        ends = [(float(east), float(north)) for east, north in section]
        if any(_times_over(trace, one, other) for one, other in pairwise(ends)):
            return None
        # It runs past the section where both its ends lie on the fault's one side and along the length of it.
        way = (trace[-1] - trace[0]) / np.hypot(*(trace[-1] - trace[0]))
        along = (section - trace[0]) @ way
        if along.min() < -SAME_M or along.max() > float((trace[-1] - trace[0]) @ way) + SAME_M:
            return None
        off = (section - trace[0]) @ np.array([way[1], -way[0]])
        return settled(float(np.abs(off).min()), 3)

    def all_beside(self, section: Vectors, contacts: Sequence[PlacedContact]) -> tuple[float, ...]:
        """How far off the faults are that pass a section by, in the order in which they were met."""
        found: dict[int, float] = {}
        for one in contacts:
            off_m = self.beside(section, one)
            if off_m is not None:
                found.setdefault(self.line_of[one.booked.span], off_m)
        return tuple(found.values())


def _groups(survey: Survey, met: Sequence[PlacedContact]) -> list[list[PlacedContact]]:
    """Places of faults that are of one line each: those on one plane as it was read, and those of no plane in a row that nothing tells against."""
    by_number: dict[int | None, list[PlacedContact]] = defaultdict(list)
    for one in met:
        by_number[one.of_fault].append(one)
    single = [one for one in by_number.pop(None, ()) if one.surface is not None]
    bare = [one for one in met if one.of_fault is None and one.surface is None]
    row = [bare] if _in_a_row(survey, bare) else [[one] for one in bare]
    return [*by_number.values(), *([one] for one in single), *row]


def _in_a_row(survey: Survey, met: Sequence[PlacedContact]) -> bool:
    """Whether places lie on about one straight line, which the walk crosses where it met one of them and nowhere else."""
    if len(met) < 2:
        return False
    points = np.array([(one.place.east_m, one.place.north_m) for one in met])
    off = points - points.mean(axis=0)
    along, across = (off @ axis for axis in np.linalg.svd(off)[2])
    line = points[np.argsort(settled_all(along), kind="stable")]
    if np.ptp(across) > _STRAIGHT * np.ptp(along) or np.hypot(*np.diff(line, axis=0).T).max() > REACH_M:
        return False
    on = {one.place.address.leg.index for one in met if one.place.address.leg is not None}
    for leg in survey.legs:
        ends = [survey.places.get(name) for name in (leg.booked.start, leg.booked.end)]
        first, last = ((one.east_m, one.north_m) if one is not None else None for one in ends)
        if first is None or last is None or leg.booked.index in on:
            continue
        if _times_over(line, first, last):
            return False
    return True


def _square_to(contact: PlacedContact) -> float | None:
    """The grid azimuth square to the leg on which a fault was met: so the map draws one whose strike is not known."""
    leg_deg = contact.place.leg_azimuth_deg
    return None if leg_deg is None else leg_deg + 90.0


def _run_on(line: Vectors, by_m: float) -> Vectors:
    """A fault's line, straight on at both ends."""
    on = by_m * (line[-1] - line[0]) / np.hypot(*(line[-1] - line[0]))
    return np.vstack([line[0] - on, line, line[-1] + on])


def _times_over(line: Vectors, one: tuple[float, float], other: tuple[float, float]) -> int:
    """How often a straight way crosses a line; an end that lies on it is before it."""
    return len(_crossed_at(line, one, other))


def _crossed_at(line: Vectors, one: Sequence[float], other: Sequence[float]) -> list[float]:
    """The shares of a straight way at which it crosses a line.

    Without arrays: the line of a fault has a few points, and thousands of ways are asked about.
    """
    (from_east, from_north), (to_east, to_north) = one, other
    east, north = to_east - from_east, to_north - from_north
    if math.hypot(east, north) <= SAME_M:
        return []
    found = []
    for (begins_east, begins_north), (ends_east, ends_north) in pairwise(line.tolist()):
        step_east, step_north = ends_east - begins_east, ends_north - begins_north
        turn = east * step_north - north * step_east
        if turn == 0.0:
            continue
        apart_east, apart_north = begins_east - from_east, begins_north - from_north
        share = settled((apart_east * step_north - apart_north * step_east) / turn)
        if 0.0 < share < 1.0 and 0.0 <= settled((apart_east * north - apart_north * east) / turn) < 1.0:
            found.append(share)
    return found
