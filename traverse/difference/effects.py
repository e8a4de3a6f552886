"""What differs between two compiled versions of a log: stations, attitudes, closures, contacts, figures, what is said.

Records are paired by what they are called and by their order at one place; nothing is paired by nearness.
"""

from __future__ import annotations

import math
import re
from collections import Counter, defaultdict
from collections.abc import Callable, Hashable, Iterable, Mapping
from typing import TypeVar

import numpy as np

from traverse.adjustment.records import Floats
from traverse.angle import wrap_180
from traverse.compare.pairing import in_key_grid
from traverse.compile import Compiled
from traverse.difference.records import (
    ClosureChange,
    ClosureState,
    ContactMove,
    Effect,
    FigureChange,
    FigureOf,
    Saying,
    StationMove,
    Turning,
)
from traverse.ground.records import Traverse
from traverse.location.records import Closure, LoopKind, PlacedAddress
from traverse.numerals import EN_DASH
from traverse.settled import settled
from traverse.structure.readings.directions import dot, line, pole, pole_angle
from traverse.structure.readings.records import (
    Attitude,
    LineAttitude,
    PlacedContact,
    PlaneAttitude,
    StrikeAttitude,
)

_TOLD_M = 0.5
"""What moved less is told in no whole metre."""
_TOLD_DEG = 0.05
"""What turned less is what rounding makes of it."""
_SAME_TURN_DEG = 0.05
_LEAST: Mapping[FigureOf, float] = {
    FigureOf.DECLINATION: 0.005,
    FigureOf.CONVERGENCE: 0.005,
    FigureOf.PACE: 0.0005,
    FigureOf.THICKNESS: 0.5,
    FigureOf.LEAST_THICKNESS: 0.5,
    FigureOf.MEAN: 0.5,
    FigureOf.AXIS: 0.5,
    FigureOf.LARGEST_ERROR: 0.5,
}
"""Metres or degrees from which on a figure changed: half of what it is printed to."""

T = TypeVar("T")


def effect(was: Compiled, now: Compiled) -> Effect:
    """All that differs; both must be without errors."""
    assert was.trav is not None
    assert now.trav is not None
    old, new = was.trav, now.trav
    moves, both = _moves(old, new)
    closures = tuple(_closures(old, new))
    return Effect(
        moves=moves or (),
        of_stations=both,
        new_stations=tuple(one for one in new.survey.places if one not in old.survey.places),
        gone_stations=tuple(one for one in old.survey.places if one not in new.survey.places),
        turnings=_turnings(old, new),
        closures=closures,
        contacts=tuple(_contacts(old, new)),
        figures=tuple(_figures(old, new)),
        sayings=tuple(_sayings(was, now, untold=_OF_CLOSURES if closures else frozenset())),
        other_frame=moves is None and both > 0,
    )


def only_of(one: Effect, whole: Effect) -> Effect:
    """An effect without what another change undoes again: messages and sentences that both ends have, or neither."""
    kept = {(saying.what, saying.words, saying.gone) for saying in whole.sayings}
    return Effect(
        moves=one.moves,
        of_stations=one.of_stations,
        new_stations=one.new_stations,
        gone_stations=one.gone_stations,
        turnings=one.turnings,
        closures=one.closures,
        contacts=one.contacts,
        figures=one.figures,
        sayings=tuple(saying for saying in one.sayings if (saying.what, saying.words, saying.gone) in kept),
        other_frame=one.other_frame,
    )


def _paired(
    was: Iterable[T], now: Iterable[T], key: Callable[[T], Hashable]
) -> tuple[list[tuple[T, T]], list[T], list[T]]:
    """Those of one key in their order; then those that only the old has, and only the new."""
    left: defaultdict[Hashable, list[T]] = defaultdict(list)
    for one in was:
        left[key(one)].append(one)
    pairs: list[tuple[T, T]] = []
    added: list[T] = []
    for one in now:
        fellows = left[key(one)]
        if fellows:
            pairs.append((fellows.pop(0), one))
        else:
            added.append(one)
    return pairs, [one for fellows in left.values() for one in fellows], added


# --- the walk ---------------------------------------------------------------------------------------------------


def _moves(old: Traverse, new: Traverse) -> tuple[tuple[StationMove, ...] | None, int]:
    """Stations that moved by what is told, and how many both have; None where no frame holds both."""
    both = [one for one in new.survey.places if one in old.survey.places]
    before = in_key_grid(old.survey, new.survey)
    if before is None:
        return None, len(both)
    found = []
    for name in both:
        place, there = new.survey.places[name], old.survey.places[name]
        up = None if place.up_m is None or there.up_m is None else settled(place.up_m - there.up_m, 6)
        move = StationMove(
            station=name,
            east_m=settled(place.east_m - before[name][0], 6),
            north_m=settled(place.north_m - before[name][1], 6),
            up_m=up,
        )
        if move.distance_m >= _TOLD_M - 1e-6 or abs(up or 0.0) >= _TOLD_M - 1e-6:
            found.append(move)
    return tuple(found), len(both)


def _closures(old: Traverse, new: Traverse) -> Iterable[ClosureChange]:
    def by_line(one: Closure) -> Hashable:
        return one.kind, one.stations[:1], one.stations[-1:]

    pairs, less, more = _paired(
        old.survey.closures, new.survey.closures, lambda one: (one.kind, one.stations)
    )
    alike, gone, added = _paired(less, more, by_line)
    pairs += alike
    names = _closure_names(new.survey.closures), _closure_names(old.survey.closures)
    for before, after in pairs:
        state, earlier = _state(after), _state(before)
        if _closes_otherwise(earlier, state):
            yield ClosureChange(name=names[0][id(after)], was=earlier, now=state)
    for one in added:
        yield ClosureChange(name=names[0][id(one)], was=None, now=_state(one))
    for one in gone:
        yield ClosureChange(name=names[1][id(one)], was=_state(one), now=None)


def _closure_names(closures: tuple[Closure, ...]) -> dict[int, str]:
    """`the loop`, where there are several `the loop 1–2–3–1` or `the loop of 12 legs from 1`."""
    found = {}
    for one in closures:
        stations = one.stations
        if one.kind is not LoopKind.LOOP:
            name = f"the tie {stations[0]} to {stations[-1]}" if stations else "the tie"
        elif len(closures) == 1:
            name = "the loop"
        elif len(stations) <= 4:
            name = f"the loop {EN_DASH.join((*stations, stations[0]))}"
        else:
            name = f"the loop of {len(one.legs)} legs from {stations[0]} by {stations[-1]}"
        found[id(one)] = name
    return found


def _state(one: Closure) -> ClosureState:
    return ClosureState(
        distance_m=settled(one.misclosure.distance_m, 6), ratio=one.ratio, adjusted=one.adjusted
    )


def _closes_otherwise(was: ClosureState, now: ClosureState) -> bool:
    if was.adjusted is not now.adjusted or abs(was.distance_m - now.distance_m) >= _TOLD_M:
        return True
    ratios = was.ratio, now.ratio
    if None in ratios:
        return (was.ratio is None) is not (now.ratio is None) and max(was.distance_m, now.distance_m) > 0.01
    first, second = (settled(float(one or 0.0), 3) for one in ratios)
    return abs(first - second) > 0.02 * max(first, second) and abs(was.distance_m - now.distance_m) > 0.05


# --- what was read ----------------------------------------------------------------------------------------------


def _turnings(old: Traverse, new: Traverse) -> tuple[Turning, ...]:
    """Attitudes that are written as they were and lie otherwise, those that turned alike together."""

    def named(one: Attitude) -> Hashable:
        return type(one).__name__, one.kind, one.station, one.place.address.station is None, one.written

    pairs, _, _ = _paired(old.geology.attitudes, new.geology.attitudes, named)
    turned: dict[float | None, list[tuple[str, float]]] = {}
    for was, now in pairs:
        apart, turn = _apart(was, now)
        if apart < _TOLD_DEG and abs(turn or 0.0) < _TOLD_DEG:
            continue
        alike = next(
            (
                one
                for one in turned
                if (one is None) is (turn is None)
                and (one is None or turn is None or abs(wrap_180(one - turn)) < _SAME_TURN_DEG)
            ),
            turn,
        )
        turned.setdefault(alike, []).append((now.station, apart))
    return tuple(
        Turning(
            stations=tuple(station for station, _ in those),
            clockwise_deg=turn,
            apart_deg=settled(max(apart for _, apart in those), 6),
        )
        for turn, those in turned.items()
    )


def _apart(was: Attitude, now: Attitude) -> tuple[float, float | None]:
    """Degrees between two, and by how much the second turned clockwise; None where its dip or plunge changed."""
    if isinstance(was, StrikeAttitude) and isinstance(now, StrikeAttitude):
        turn = settled(wrap_180(now.strike_deg - was.strike_deg), 6)
        return abs(turn), turn
    if isinstance(was, LineAttitude) and isinstance(now, LineAttitude):
        vectors = (line(one.plunge_deg, trend_deg=one.trend_deg) for one in (was, now))
        turn = settled(wrap_180(now.trend_deg - was.trend_deg), 6)
        same = abs(now.plunge_deg - was.plunge_deg) < _TOLD_DEG
        return _between(*vectors), turn if same else None
    assert isinstance(was, PlaneAttitude)
    assert isinstance(now, PlaneAttitude)
    apart = settled(pole_angle(_pole(was), _pole(now)), 6)
    turn = settled(wrap_180(now.dip_direction_deg - was.dip_direction_deg), 6)
    same = abs(now.dip_deg - was.dip_deg) < _TOLD_DEG and now.flat is was.flat
    return apart, (0.0 if now.flat else turn) if same else None


def _between(first: Floats, second: Floats) -> float:
    return settled(float(np.degrees(np.arccos(np.clip(dot(first, second), -1.0, 1.0)))), 6)


def _pole(one: PlaneAttitude) -> Floats:
    return pole(one.dip_deg, dip_direction_deg=one.dip_direction_deg)


def _contacts(old: Traverse, new: Traverse) -> Iterable[ContactMove]:
    """Contacts that lie elsewhere between their own stations."""

    def named(one: PlacedContact) -> Hashable:
        stations = tuple(name for name, _ in one.place.rests_on)
        return one.kind, one.younger, one.older, stations

    pairs, _, _ = _paired(old.geology.contacts, new.geology.contacts, named)
    for was, now in pairs:
        off = _slid_m(was.place, old, now.place, new)
        if off >= _TOLD_M:
            units = "/".join(one for one in (now.younger, now.older) if one is not None)
            yield ContactMove(name=f"{now.kind.value} {units} {_where(now)}", moved_m=off)


def _slid_m(was: PlacedAddress, old: Traverse, now: PlacedAddress, new: Traverse) -> float:
    """How far a place slid on its leg and beside it.

    Along the leg it slid where neither its share of the leg nor its distance from the start is what it was: the one is
    kept where the pace changed, the other where the leg's far end did.
    """
    (share, along), (before, along_before) = _along(now, new), _along(was, old)
    length = along / share if share else 0.0
    slid = min(abs(share - before) * length, abs(along - along_before)) if share else abs(along_before)
    return settled(math.hypot(slid, now.right_m - was.right_m), 6)


def _along(one: PlacedAddress, trav: Traverse) -> tuple[float, float]:
    """Share of its leg, and metres from the leg's start; nothing at a station."""
    rests = one.rests_on
    if len(rests) != 2:
        return 0.0, 0.0
    ends = [trav.survey.places.get(name) for name, _ in rests]
    if ends[0] is None or ends[1] is None:
        return 0.0, 0.0
    long = math.hypot(ends[1].east_m - ends[0].east_m, ends[1].north_m - ends[0].north_m)
    return rests[1][1], rests[1][1] * long


def _where(one: PlacedContact) -> str:
    address = one.place.address
    if address.station is not None or address.leg is None:
        return f"at {address.station}"
    return f"on leg {address.leg.start}{EN_DASH}{address.leg.end}"


# --- what follows from many readings ------------------------------------------------------------------------------


def _figures(old: Traverse, new: Traverse) -> Iterable[FigureChange]:
    before, after = _figures_of(old), _figures_of(new)
    for key in dict.fromkeys((*after, *before)):
        was, now = before.get(key), after.get(key)
        if _changed(key[0], was, now):
            yield FigureChange(figure=key[0], of=key[1], was=was, now=now)


def _changed(figure: FigureOf, was: tuple[float, ...] | None, now: tuple[float, ...] | None) -> bool:
    if was is None or now is None:
        return was is not now
    least = _LEAST[figure]
    if figure in {FigureOf.MEAN, FigureOf.AXIS}:
        steep = was[0] > 0.5 or now[0] > 0.5 or figure is FigureOf.AXIS
        turned = abs(wrap_180(settled(now[1] - was[1])))
        return abs(settled(now[0] - was[0])) >= least or (steep and turned >= least)
    return any(abs(settled(second - first)) >= least for first, second in zip(was, now, strict=True))


def _figures_of(trav: Traverse) -> dict[tuple[FigureOf, str], tuple[float, ...]]:
    survey, geology = trav.survey, trav.geology
    found: dict[tuple[FigureOf, str], tuple[float, ...]] = {}
    if survey.frame.declination_deg is not None:
        found[FigureOf.DECLINATION, ""] = (survey.frame.declination_deg,)
    if survey.frame.convergence_deg is not None:
        found[FigureOf.CONVERGENCE, ""] = (survey.frame.convergence_deg,)
    for pace in survey.paces:
        found.setdefault((FigureOf.PACE, pace.course.who or ""), (pace.length_m,))
    for one in geology.unit_thicknesses:
        if one.true_m is not None:
            found[FigureOf.THICKNESS, one.unit] = (one.true_m, one.sd_m or 0.0)
        elif one.least_m is not None:
            found[FigureOf.LEAST_THICKNESS, one.unit] = (one.least_m,)
    mean, axis = geology.told_mean, geology.fold_axis
    if mean is not None:
        found[FigureOf.MEAN, ""] = (mean.dip_deg, mean.dip_direction_deg)
    if axis is not None:
        found[FigureOf.AXIS, ""] = (axis.plunge_deg, axis.trend_deg)
    if worst := survey.worst_station_m:  # 0 is the start alone, as of a walk that was not adjusted
        found[FigureOf.LARGEST_ERROR, ""] = (worst,)
    return found


# --- what is said -----------------------------------------------------------------------------------------------


_FIGURES = re.compile(r"\d+(?:[.,]\d+)?")


_OF_CLOSURES = frozenset({"closure-fails", "closure-poor"})
"""Messages that say what a closure's own figures say."""


def _sayings(was: Compiled, now: Compiled, *, untold: frozenset[str]) -> Iterable[Saying]:
    before, after = _said(was, untold), _said(now, untold)
    counts = Counter(key for key, _ in before), Counter(key for key, _ in after)
    for said, less, gone in ((after, counts[0], False), (before, counts[1], True)):
        left = less.copy()
        for key, saying in said:
            if left[key]:
                left[key] -= 1
            else:
                yield Saying(what=saying.what, words=saying.words, gone=gone, line=saying.line)


def _said(one: Compiled, untold: frozenset[str]) -> list[tuple[Hashable, Saying]]:
    """Warnings and sentences of the structure, each with what makes it the same: not its line, and not its figures."""
    found: list[tuple[Hashable, Saying]] = []
    for told in one.diagnostics:
        if told.kind in {"warning", "answered"} and told.code not in untold:
            line_number = None if told.span is None else told.span.line
            saying = Saying(what=told.kind, words=told.message, gone=False, line=line_number)
            found.append(((told.kind, told.code, _FIGURES.sub("#", told.message)), saying))
    for finding in () if one.geology is None else one.geology.findings:
        saying = Saying(what="structure", words=finding.words, gone=False, line=None)
        found.append((("structure", finding.claim, _FIGURES.sub("#", finding.words)), saying))
    return found
