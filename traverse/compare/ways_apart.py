"""The ways of a party between stops that it shares with the key, over stops of its own: which are off, and what may be wrong.

The key has no such legs, so a wrong one is not seen by itself. The way is held against the key's two places, as a walk
between two known points is, and what would explain it is sought as for such a walk.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np

from traverse.compare.pairing import sd_of
from traverse.compare.records import LegApart, Paired, PairedBy, StationPair, WayApart
from traverse.ground.records import Traverse
from traverse.location.records import Closure, LoopKind, Survey
from traverse.log.readings import North
from traverse.log.records import Control, Log
from traverse.settled import settled
from traverse.survey import survey_log
from traverse.trade import CAUSE_PLACE_M, COMPASSES_APART_DEG, WAY_APART

_SAID = frozenset({PairedBy.NAME, PairedBy.TIE})
"""A stop that is paired by where it lies says nothing of the way to it."""
_ONE_NORTH_DEG = 0.01


def ways_apart(
    log: Log, survey: Survey, key: Traverse, standing: Paired, told: Sequence[LegApart]
) -> tuple[WayApart, ...]:
    """Ways of a log over stops of its own that are off the key's as a whole. `told` are legs that are said to be off already.

    The key's places are put in as known points, each with its error and what two parties differ by at one stop.
    """
    shared = {one.station: one for one in standing.pairs if one.by in _SAID}
    if len(shared) < 2 or len(shared) == len(log.stations) or log.parties or not _one_grid(log, survey, key):
        return ()
    held = replace(
        log,
        controls=tuple(_known(one, key) for one in shared.values()),
        heading=replace(log.heading, epsg=key.survey.frame.epsg),
    )
    walked = survey_log(held).value
    legs_told = {(one.start, one.end) for one in told}
    ways = [
        _way(tie, expected_m, shared, walked)
        for tie, expected_m in _off(walked)
        if len(tie.legs) > 1 and not legs_told & {(leg.start, leg.end) for leg in tie.legs}
    ]
    # One that goes on over another shared stop says nothing that the way to there does not.
    return tuple(one for one in ways if not any(set(other.spans) < set(one.spans) for other in ways))


def _one_grid(log: Log, survey: Survey, key: Traverse) -> bool:
    """Whether bearings of the log are the same in the key's grid as in its own."""
    if log.heading.epsg == key.survey.frame.epsg is not None:
        return True
    if key.survey.frame.epsg is not None:
        return all(leg.conditions.bearings is not North.GRID for leg in log.legs)
    apart = abs(survey.frame.to_true_deg - key.survey.frame.to_true_deg)
    return log.heading.epsg is None and settled(apart, 3) < _ONE_NORTH_DEG


def _known(pair: StationPair, key: Traverse) -> Control:
    place = key.survey.places[pair.key]
    return Control(
        name=pair.station,
        east_m=place.east_m,
        north_m=place.north_m,
        lat_deg=None,
        lon_deg=None,
        sd_plan_m=math.hypot(sd_of(place), CAUSE_PLACE_M),
        height_m=None,
        sd_height_m=None,
        source=None,
        written=pair.station,
        span=pair.span,
    )


def _off(walked: Survey) -> Iterator[tuple[Closure, float]]:
    """Ways that are off, each with its expected error, by which two compasses differ over it too."""
    for tie in walked.closures:
        if tie.kind is not LoopKind.TIE:
            continue
        start, end = (walked.places[tie.stations[at]] for at in (0, -1))
        missing = np.array((tie.misclosure.east_m, tie.misclosure.north_m))
        across = math.radians(COMPASSES_APART_DEG) * np.array(
            (end.north_m - start.north_m, start.east_m - end.east_m)
        )
        covariance = np.array(tie.covariance_m2) + np.outer(across, across)
        if settled(float(missing @ np.linalg.solve(covariance, missing)), 3) > WAY_APART:
            yield tie, settled(math.sqrt(float(np.trace(covariance))), 3)


def _way(tie: Closure, expected_m: float, shared: Mapping[str, StationPair], walked: Survey) -> WayApart:
    legs = {(leg.start, leg.end) for leg in tie.legs}
    places = {one.span for one in shared.values()}
    return WayApart(
        stops=tie.stations,
        key=(shared[tie.stations[0]].key, shared[tie.stations[-1]].key),
        spans=tuple(leg.span for leg in tie.legs),
        off_m=settled(tie.misclosure.distance_m, 3),
        expected_m=expected_m,
        may_be=tuple(
            one
            for one in walked.suspects
            if (one.start, one.end) in legs or (one.start is None and one.span not in places)
        ),
    )
