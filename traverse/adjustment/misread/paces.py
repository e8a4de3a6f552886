"""A mistake of whose paces were counted, or of how long they are, which all legs of one pacer share."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np

from traverse.adjustment.closure import usable
from traverse.adjustment.misread.explained import Loops
from traverse.adjustment.misread.shared_mistake import SharedMistake, steps_over_legs
from traverse.adjustment.misread.slips import OTHER_PACE, Slip
from traverse.adjustment.records import Flags, Network
from traverse.adjustment.vectors import Drawn
from traverse.length import METRES_PER_FOOT
from traverse.log.items import Leg
from traverse.log.readings import PaceCourse, PaceKind
from traverse.log.records import Log
from traverse.reduction.pace import pace_length_m
from traverse.settled import first_least, settled
from traverse.source import Span
from traverse.trade import ANY_ANGLE, COMMON_SLIP, DOUBLE_PACE_M, RARE_SLIP, SINGLE_PACE_M

_LEAST_OTHER, _MOST_OTHER = 0.6, 1.6
"""By no more is one pace reckoned too long or short, but by the usual slips; common practice, no source."""
_ONE_PACE_SHARE = 0.03
"""Paces nearer than this are one; common practice, no source."""
_KINDS = (0.5, 2.0)
_LEAST_LEGS = 2
"""One leg alone has a count of its own."""


def other_paces(
    log: Log, booked: Sequence[Leg], loops: Loops, network: Network, drawn: Drawn
) -> Iterator[SharedMistake]:
    """Legs of one pacer reckoned by the pace of another, all or from one on; paces exchanged; a pace of any other length."""
    paced = [leg.conditions.pace if leg.distance.unit.is_pace else None for leg in booked]
    used = list({id(course): course for course in paced if course is not None}.values())
    others = [one for one in log.paces if _walked(one)]
    unused = [one for one in others if not any(one is other for other in used)]
    for course in used:
        under = np.array([one is course for one in paced], dtype=np.bool_)
        yield from _throughout(
            log, booked, course, under, _others(others, course), unused, part=len(used) > 1
        )
        for handed, legs in _by_line(booked, under):
            if legs.sum() < under.sum():
                for other in _others(others, course):
                    # Nobody gives a pace that is not counted.
                    rank = -COMMON_SLIP if other in unused else RARE_SLIP
                    slip = _by_another(course, other, handed, rank)
                    yield _shared(slip, legs, _stretch(course, other), part=True)
            for other in _others(unused, course):
                yield from _handed_over(booked, course, other, legs, loops, network, drawn)
        yield from _of_any_length(log, course, under, loops, network, drawn)
    for first, second in combinations(used, 2):
        if first.who != second.who:
            yield _exchanged(log, paced, first, second)


def _throughout(
    log: Log,
    booked: Sequence[Leg],
    course: PaceCourse,
    under: Flags,
    others: Sequence[PaceCourse],
    unused: Sequence[PaceCourse],
    *,
    part: bool,
) -> Iterator[SharedMistake]:
    """By the pace of another, or steps of one foot for those of both, on all legs of a pacer."""
    handed = next((leg.conditions.pacer_span for leg in booked if leg.conditions.pace is course), None)
    length = pace_length_m(course)
    written = log.lengths.printed(length, places=2)
    for other in others:
        rank = -COMMON_SLIP if other in unused else RARE_SLIP
        slip = _by_another(course, other, handed, rank)
        if handed is None:
            slip = Slip(
                span=course.span, what=_pacer(course), slip=slip.slip, reading=f"pace {other.who or ''}".rstrip(),
                written=written, rank=rank,
            )  # fmt: skip
        yield _shared(slip, under, _stretch(course, other), part=part)
    for words, times in (
        ("single paces counted as double throughout", 0.5),
        ("double paces counted as single throughout", 2.0),
        ("metres taken for feet on the pace course", 1.0 / METRES_PER_FOOT),
        ("feet taken for metres on the pace course", METRES_PER_FOOT),
        ("length of the pace course ten times too small", 10.0),
        ("length of the pace course ten times too large", 0.1),
    ):
        usual = times in _KINDS or _walked(course, times)
        if usual and (times != 0.5 or course.kind is not PaceKind.SINGLE):
            slip = Slip(
                span=course.span, what=_pacer(course), slip=words,
                reading=log.lengths.printed(times * length, places=2), written=written, rank=RARE_SLIP,
            )  # fmt: skip
            yield _shared(slip, under, times, part=part and times not in _KINDS)


def _by_line(booked: Sequence[Leg], under: Flags) -> Iterator[tuple[Span, Flags]]:
    """Legs below each `pacer` line."""
    lines = [
        leg.conditions.pacer_span if own else None for leg, own in zip(booked, under.tolist(), strict=True)
    ]
    for line in dict.fromkeys(lines):
        if line is not None:
            yield line, np.array([one == line for one in lines], dtype=np.bool_)


def _handed_over(
    booked: Sequence[Leg],
    course: PaceCourse,
    other: PaceCourse,
    legs: Flags,
    loops: Loops,
    network: Network,
    drawn: Drawn,
) -> Iterator[SharedMistake]:
    """From one leg on the paces of somebody whose pace the heading has, and who is said to count none; where it fits best."""
    steps, stretch = steps_over_legs(loops, network), _stretch(course, other)
    for i in np.flatnonzero(loops.failing).tolist():
        edges = np.array(
            sorted(set(steps[i][0].tolist()) & set(np.flatnonzero(legs).tolist())), dtype=np.intp
        )
        if len(edges) <= _LEAST_LEGS:
            continue
        sign = dict(zip(*(part.tolist() for part in steps[i]), strict=True))
        signs = np.array([sign[edge] for edge in edges.tolist()])
        observed = signs[:, None] * drawn.vectors.observed_m[edges]
        shift = (stretch - 1.0) * np.cumsum(observed[::-1], axis=0)[::-1]
        more = (stretch**2 - 1.0) * np.cumsum(drawn.vectors.covariance_m2[edges][::-1], axis=0)[::-1]
        after = loops.changed(np.full(len(edges), i, dtype=np.intp), shift, more)
        rank = np.where(after.mends, after.rank, np.inf)
        if not np.isfinite(rank[1:]).any():
            continue
        first = int(edges[1 + first_least(rank[1:], same=1e-6)])
        leg = booked[first]
        slip = Slip(
            span=leg.span, what=f"from {leg.start} on", slip=f"a line `pacer {other.who}` missing: {_reckoned(course, other)}",
            reading=f"pacer {other.who}", written=f"pacer {course.who}", rank=-COMMON_SLIP,
        )  # fmt: skip
        yield _shared(slip, legs & (np.arange(len(legs)) >= first), stretch, part=True)


def _exchanged(
    log: Log, paced: Sequence[PaceCourse | None], first: PaceCourse, second: PaceCourse
) -> SharedMistake:
    """Both pace lines, or both `pacer` lines, under the name of the other."""
    own = np.array([one is first for one in paced], dtype=np.bool_)
    others = np.array([one is second for one in paced], dtype=np.bool_)
    names = f"{first.who} and {second.who}"
    lengths = [log.lengths.printed(pace_length_m(one), places=2) for one in (first, second)]
    slip = Slip(
        span=first.span, what=f"the paces of {names}", slip=f"paces of {names} exchanged",
        reading=" and ".join(lengths[::-1]), written=" and ".join(lengths),
    )  # fmt: skip
    stretch = np.where(own, _stretch(first, second), np.where(others, _stretch(second, first), 1.0))
    return SharedMistake(
        slip=slip, legs=own | others, turn_deg=np.zeros(len(paced)), stretch=stretch, part=True
    )


def _of_any_length(
    log: Log, course: PaceCourse, legs: Flags, loops: Loops, network: Network, drawn: Drawn
) -> Iterator[SharedMistake]:
    """The pace with which a tie, or a loop over one pacer's legs and another's, closes best, where no usual slip makes it."""
    own = pace_length_m(course)
    usual = [*_KINDS, *(_stretch(course, other) for other in _others(log.paces, course))]
    steps = steps_over_legs(loops, network)
    for i in np.flatnonzero(loops.failing).tolist():
        edges, signs = steps[i]
        his = legs[edges]
        if his.sum() < _LEAST_LEGS:
            continue
        # A loop closes whatever the one pace of all its legs is; known points tell it.
        along = (signs[his, None] * drawn.vectors.observed_m[edges[his]])[:, :2].sum(axis=0)
        if not along.any():
            continue
        weights = np.linalg.inv(usable(loops.covariance_m2[i][:2, :2]))
        missing = loops.misclosure_m[i][:2]
        stretch = settled(1.0 - float(along @ weights @ missing) / float(along @ weights @ along), 6)
        if not _LEAST_OTHER < stretch < _MOST_OTHER or any(
            abs(stretch - one) <= _ONE_PACE_SHARE * one for one in usual
        ):
            continue
        slip = Slip(
            span=course.span, what=_pacer(course), slip=OTHER_PACE, stretch=stretch,
            reading=f"about {log.lengths.printed(stretch * own, places=2)}",
            written=log.lengths.printed(own, places=2), rank=ANY_ANGLE,
        )  # fmt: skip
        yield _shared(slip, legs, stretch, part=True)


def _shared(slip: Slip, legs: Flags, stretch: float, *, part: bool = False) -> SharedMistake:
    return SharedMistake(slip=slip, legs=legs, turn_deg=np.zeros(len(legs)), stretch=stretch, part=part)


def _others(paces: Sequence[PaceCourse], course: PaceCourse) -> list[PaceCourse]:
    """Paces of others."""
    return [one for one in paces if one is not course and one.who != course.who]


def _walked(course: PaceCourse, times: float = 1.0) -> bool:
    """Whether people step so far."""
    least, most = SINGLE_PACE_M if course.kind is PaceKind.SINGLE else DOUBLE_PACE_M
    return least <= times * pace_length_m(course) <= most


def _stretch(course: PaceCourse, other: PaceCourse) -> float:
    return pace_length_m(other) / pace_length_m(course)


def _reckoned(course: PaceCourse, other: PaceCourse) -> str:
    return f"paces of {other.who or 'another'} reckoned by the pace of {course.who or 'all'}"


def _by_another(course: PaceCourse, other: PaceCourse, handed: Span | None, rank: float) -> Slip:
    """At a `pacer` line, by the pace of another."""
    return Slip(
        span=handed, what=f"pacer {course.who}", slip=_reckoned(course, other),
        reading=f"pacer {other.who or ''}".rstrip(), written=f"pacer {course.who}", rank=rank,
    )  # fmt: skip


def _pacer(course: PaceCourse) -> str:
    return f"the pace of {course.who}" if course.who else "the pace"
