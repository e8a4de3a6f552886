"""Places of several parties that no tie makes one and no error parts, where what was booked can't all be right."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from traverse.location.records import Survey
from traverse.log.items import PlaneKind, UnitHere
from traverse.log.records import Log
from traverse.settled import settled_all
from traverse.source import Span
from traverse.structure.readings.directions import pole_angle
from traverse.structure.readings.place_errors import poles_of
from traverse.structure.readings.records import (
    Attitude,
    JointOutcrop,
    JointPlace,
    PlacedContact,
    PlaneAttitude,
)
from traverse.structure.readings.shared import joint_outcrop, place_finder
from traverse.trade import ALIKE_DEG, FOLD_SPREAD_DEG, SAME_CROSSING_M

_NEAR_SD = 2.0
"""Two places may be one up to so many standard deviations of the way between them, as a length in plan: by error they come
out farther apart once in fifty times. Source: the chi-square with two degrees of freedom, for errors alike all round."""


def near_outcrops(
    log: Log, survey: Survey, attitudes: Sequence[Attitude], without: Collection[Span]
) -> tuple[JointOutcrop, ...]:
    """Beds that parties read so far apart that they would be limbs of a fold, at places that their errors don't part.

    In the order of the log, each bed but those `without` once at most, and first where most parties tell which lies out.
    What agrees is left to itself: nearness makes no mean. Nor is anything told where each that lies out agrees with the bed
    before or after it on its own walk, as it does where the fold is there.
    """
    beds = [
        one
        for one in attitudes
        if isinstance(one, PlaneAttitude)
        and one.kind is PlaneKind.BED
        and one.place.address.station in survey.places
        and one.span not in without
    ]
    poles = poles_of(beds)

    def contradict(at: int, others: NDArray[np.intp]) -> NDArray[np.bool_]:
        return np.array([pole_angle(poles[at], poles[one]) > FOLD_SPREAD_DEG for one in others], dtype=bool)

    groups = [
        [at, *near] for at, near in _near(log, survey, [(one.span, one.station) for one in beds], contradict)
    ]
    walks: dict[str, list[int]] = {}
    for at, one in enumerate(beds):
        walks.setdefault(one.span.file, []).append(at)

    def borne_out(at: int) -> bool:
        walk = walks[beds[at].span.file]
        here = walk.index(at)
        beside = [*walk[max(0, here - 1) : here], *walk[here + 1 : here + 2]]
        return any(pole_angle(poles[at], poles[two]) <= ALIKE_DEG for two in beside)

    found: dict[int, JointOutcrop] = {}
    used: set[int] = set()
    for group in sorted(groups, key=lambda one: (-len({beds[at].span.file for at in one}), one)):
        if not used.isdisjoint(group):
            continue
        outcrop = joint_outcrop(PlaneKind.BED, [beds[at] for at in group], near=True)
        if not all(borne_out(at) for at, out in zip(group, outcrop.out, strict=True) if out):
            used.update(group)
            found[group[0]] = outcrop
    return tuple(found[at] for at in sorted(found))


def parted_places(
    survey: Survey, contacts: Sequence[PlacedContact], shared: Sequence[JointPlace]
) -> tuple[JointPlace, ...]:
    """Of the places that are `shared` and put in two units, those at which no contact of just these two was met.

    Beside a contact each of two parties may stand on its own side of it, and both are right.
    """
    met = _met(contacts)
    pairs = [{one.younger, one.older} for one in contacts]

    def between_both(place: JointPlace) -> bool:
        return any(
            pairs[one] == set(place.letters)
            for name in place.stations
            if name in survey.places
            for one in np.flatnonzero(_beside(survey, name, met)).tolist()
        )

    return tuple(place for place in shared if not between_both(place))


def near_units(
    log: Log, survey: Survey, contacts: Sequence[PlacedContact], known: Sequence[JointPlace]
) -> tuple[JointPlace, ...]:
    """Places where one party booked a unit against two or more whose places their errors do not part from it and who agree.

    None where a contact of any of them runs there, or near a place that is `known` to be two units.
    """
    named = {name for place in known for name in place.stations}
    units = [
        item
        for item in log.items
        if isinstance(item, UnitHere)
        and item.address.station in survey.places
        and item.address.station not in named
    ]
    letters = np.array([one.letters for one in units])
    met = _met(contacts)

    def differ(at: int, others: NDArray[np.intp]) -> NDArray[np.bool_]:
        return np.asarray(letters[others] != letters[at])

    found = []
    for at, near in _near(log, survey, [(one.span, one.address.station or "") for one in units], differ):
        booked = tuple(units[one] for one in sorted([at, *near]))
        place = JointPlace(booked=booked, near=True)
        if place.alone is units[at] and not any(_beside(survey, name, met).any() for name in place.stations):
            found.append(place)
    return tuple(found)


def _met(contacts: Sequence[PlacedContact]) -> NDArray[np.float64]:
    """East and north of each, (n, 2), metres."""
    return np.array([(one.place.east_m, one.place.north_m) for one in contacts]).reshape(-1, 2)


def _beside(survey: Survey, name: str, met: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which places, (n, 2), a station may lie at by its error."""
    place = survey.places[name]
    off = settled_all(np.hypot(*(met - (place.east_m, place.north_m)).T))
    return np.asarray(off <= SAME_CROSSING_M + place.sd_plan_m)


def _near(
    log: Log,
    survey: Survey,
    booked: Sequence[tuple[Span, str]],
    contradict: Callable[[int, NDArray[np.intp]], NDArray[np.bool_]],
) -> Iterator[tuple[int, list[int]]]:
    """Of what was booked, by line and station, that which something of another party contradicts at a place that their errors don't part from it.

    With all of other parties there: both by index. What is one place by a tie is not told here.
    """
    if len(log.parties) < 2 or survey.apart_m2 is None or not booked:
        return
    of_place = place_finder(log)
    files = np.array([span.file for span, _ in booked])
    places = np.array([of_place(name) for _, name in booked])
    at_m = np.array([(survey.places[name].east_m, survey.places[name].north_m) for _, name in booked])
    sd_m = np.array([survey.places[name].sd_plan_m for _, name in booked])
    for one, (_, name) in enumerate(booked):
        off = settled_all(np.hypot(*(at_m - at_m[one]).T))
        # No two places are farther apart by error than both their own errors together say.
        may = (off <= _NEAR_SD * (sd_m + sd_m[one])) & (files != files[one]) & (places != places[one])
        others = np.flatnonzero(may)
        if not len(others) or not contradict(one, others).any():
            continue
        others = others[
            off[others] <= _NEAR_SD * survey.apart_sd_m([(name, booked[two][1]) for two in others.tolist()])
        ]
        if len(others) and contradict(one, others).any():
            yield one, others.tolist()
