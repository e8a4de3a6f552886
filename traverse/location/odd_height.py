"""The odd one among all that tells heights: readings, known points and slopes, each held against all the rest."""

from __future__ import annotations

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from traverse.adjustment.misread.forest import Forest
from traverse.adjustment.misread.slips import slips_of
from traverse.adjustment.records import Closing, Floats, Network, Vectors
from traverse.diagnostic import Diagnostic, warning
from traverse.length import Lengths
from traverse.location.elevation import hours_of, is_altimeter
from traverse.location.other_figures import OtherHeight, heights_misread, other_heights
from traverse.location.records import OddHeight, OddHeights, Place, Suspect
from traverse.log.items import Elevation
from traverse.log.records import Log
from traverse.record import record
from traverse.settled import settled
from traverse.trade import (
    ALONE,
    ALTIMETER_SET_M,
    DRIFT_SD_M_AN_HOUR,
    ELEVATION_SD_M,
    OUTLYING,
    UNCOMMON_SLIP,
    UP_REFUSE,
)

_MOST = 5
"""Odd ones that are set aside one after the other; where there are more, it is not the figures that are wrong."""
_FEW = 2
"""Slopes beside one that are told as well, and it is taken for the wrong one all the same; common practice, no source."""
_HELD = 200
"""So many heights are held against each other at once, as booked one after the other: a thousand at once take minutes."""
_HELD_SD_M = 0.1
"""Deviation of a known height that is held."""
_ANY_M = 3000.0
"""Deviation of an altimeter that was never set."""
_CUT_M2 = 1e8
"""Variance of a leg whose slope is set aside."""
_VAGUE = 2.0 * UNCOMMON_SLIP
"""Added to the rank of a figure that no usual slip explains."""


@dataclass
class _HeightsTold:
    """What tells heights, one element each."""

    station: list[int] = field(default_factory=list)
    height_m: list[float] = field(default_factory=list)
    sd_m: list[float] = field(default_factory=list)
    reading: list[Elevation | None] = field(default_factory=list)
    """None of a known point."""
    day: list[int] = field(default_factory=list)
    """Readings of one altimeter; -1 for what doesn't drift."""
    hour: list[float] = field(default_factory=list)


def odd_heights(
    log: Log, network: Network, raw_m: Floats, vectors: Vectors, closings: Sequence[Closing], *, failing: bool
) -> OddHeights:
    """Figures that all else contradicts, each found by what the rest says without it.

    All heights are told at once by the slopes, the known points and what was read, the drift of an altimeter a random walk.
    A figure is set aside where that takes more from the chi-square than one good reading in a thousand would, and where no other
    figure, and no altimeter set anew, explains it ten times better; those that explain it about as well are named with it.
    Another slope is held against the `closings` over its leg as well: what closes in height bears out the slopes as they stand.
    Where a circuit is already `failing` in height something is wrong, and only what is asked: one in a hundred is enough. Of
    slopes in circuits then none is set aside that more than `_FEW` others explain about as well.
    Source: W. Baarda (1968), A testing procedure for use in geodetic networks: data snooping; from memory.
    """
    found: list[OddHeight] = []
    over: dict[int, list[tuple[float, float, float]]] = defaultdict(list)
    for closing in closings:
        for step in closing.circuit.steps:
            over[step.edge].append(
                (step.sign, float(closing.misclosure_m[2]), float(closing.covariance_m2[2, 2]))
            )
    for told in _in_stretches(_told(log, network)):
        while len(found) < _MOST:
            odd = OddHeights(found=tuple(found))
            one = _worst(
                log,
                network,
                raw_m,
                vectors,
                over,
                told,
                odd,
                UP_REFUSE if failing and not found else OUTLYING**2,
            )
            # A circuit that fails by a slope names all that may be it: where they are many, none is set aside for the rest.
            as_likely = [] if one is None else [other for other in one.others if other.edge in over]
            if one is None or (failing and one.edge in over and len(as_likely) > _FEW):
                break
            found.append(one)
    return OddHeights(found=tuple(found))


def _in_stretches(told: _HeightsTold) -> Iterator[_HeightsTold]:
    """All that tells heights, or where it is more than can be held against each other, known points and some readings at a time."""
    known = [i for i, one in enumerate(told.reading) if one is None]
    read = [i for i, one in enumerate(told.reading) if one is not None]
    if len(told.station) <= _HELD:
        yield told
        return
    known = known[:_HELD]
    for first in range(0, len(read), _HELD) or (0,):
        of = known + read[first : first + _HELD]
        yield _HeightsTold(
            station=[told.station[i] for i in of],
            height_m=[told.height_m[i] for i in of],
            sd_m=[told.sd_m[i] for i in of],
            reading=[told.reading[i] for i in of],
            day=[told.day[i] for i in of],
            hour=[told.hour[i] for i in of],
        )


def _told(log: Log, network: Network) -> _HeightsTold:
    told = _HeightsTold()
    placed = network.placed
    for station, fix in sorted(network.fixes.items()):
        if fix.has_height and not fix.resected:
            _add(told, station, float(fix.position_m[2]), max(fix.sd_height_m, _HELD_SD_M))
    days: dict[dt.date | None, list[Elevation]] = {}
    for item in log.items:
        if isinstance(item, Elevation):
            station = network.index.get(item.address.station or "", -1)
            if station < 0 or not placed[station]:
                continue
            if is_altimeter(item):
                days.setdefault(item.address.conditions.date, []).append(item)
            else:
                _add(told, station, item.height_m, _sd_m(item), item)
    for day, booked in enumerate(days.values()):
        for item, hour in zip(booked, hours_of(booked), strict=True):
            station = network.index[item.address.station or ""]
            _add(told, station, item.height_m, _sd_m(item), item, day, hour)
    return told


def _add(
    told: _HeightsTold, station: int, height_m: float, sd_m: float, reading: Elevation | None = None, day: int = -1,
    hour: float = 0.0,
) -> None:  # fmt: skip
    told.station.append(station)
    told.height_m.append(height_m)
    told.sd_m.append(sd_m)
    told.reading.append(reading)
    told.day.append(day)
    told.hour.append(hour)


def _sd_m(item: Elevation) -> float:
    return max(ELEVATION_SD_M if item.sd_m is None else item.sd_m, _HELD_SD_M)


def _worst(
    log: Log,
    network: Network,
    raw_m: Floats,
    vectors: Vectors,
    over: Mapping[int, Sequence[tuple[float, float, float]]],
    told: _HeightsTold,
    odd: OddHeights,
    least: float,
) -> OddHeight | None:
    """The likeliest odd one of what is not set aside; None where nothing is odd, or no single figure explains it."""
    forest = Forest(network)
    ways = [forest.from_root(station) for station in told.station]
    keep = [
        i
        for i, (way, station, reading) in enumerate(zip(ways, told.station, told.reading, strict=True))
        if way is not None
        and (station not in odd.controls if reading is None else id(reading) not in odd.readings)
    ]
    if len(keep) < 2:
        return None
    edges = sorted({step.edge for i in keep for step in ways[i] or ()})
    at = {edge: k for k, edge in enumerate(edges)}
    path = np.zeros((len(keep), len(edges)))
    for row, i in enumerate(keep):
        for step in ways[i] or ():
            path[row, at[step.edge]] = step.sign
    variance = np.maximum(vectors.covariance_m2[edges, 2, 2], 1e-6) if edges else np.zeros(0)
    variance = np.where(np.isin(edges, list(odd.edges)), _CUT_M2, variance)
    roots = [_root(forest, told.station[i]) for i in keep]
    gap = np.array([told.height_m[i] - raw_m[told.station[i], 2] for i in keep])
    if not np.isfinite(gap).all():
        return None
    fixed = (path * variance) @ path.T + np.diag([told.sd_m[i] ** 2 for i in keep])
    datum = np.array([[float(root == one) for one in sorted(set(roots))] for root in roots])
    drift_m2, either = (
        _drift_m2(told, keep),
        np.array([[told.day[i] == told.day[j] >= 0 for j in keep] for i in keep]),
    )
    rests = tuple(
        _HeldAgainst.of(gap, fixed + drift_m2 + either * sd_m**2, datum) for sd_m in (_ANY_M, ALTIMETER_SET_M)
    )
    enough = rests[0].chi_square - least
    likely: dict[tuple[int, int | None, int | None], list[OddHeight]] = {}
    for along, shift_m, one in _tried(log, network, told, keep, edges, path, vectors, odd, rests):
        worse = 0.0 if one.edge is None else _closes_worse(over.get(one.edge, ()), one.rise_m)
        rank = settled(_likely(rests, along, shift_m) + worse + one.rank, 6)
        key = (id(one.reading), one.control, one.edge)
        if rests[0].after(along, shift_m) + worse <= enough:
            rest = min(rests, key=lambda rest: rest.after(along, shift_m) + _VAGUE * (rest is rests[0]))
            after_m = settled(abs(shift_m - rest.best_m(along)))
            likely.setdefault(key, []).append(replace(one, rank=rank, after_m=after_m))
    if not likely:
        return None
    first, *more = sorted(map(_with_second, likely.values()), key=lambda one: (one.rank, one.span.line))
    anew = (
        _likely(rests, along, rest.best_m(along)) + UNCOMMON_SLIP
        for along in _set_anew(told, keep)
        for rest in rests
    )
    if min(anew, default=math.inf) <= first.rank:
        return None
    # Of two alone each might be the odd one: only the other unit tells which.
    if len(keep) < 3 and not first.in_other_unit:
        return None
    return replace(first, others=tuple(one for one in more if one.rank <= first.rank + ALONE))


def _closes_worse(over: Sequence[tuple[float, float, float]], rise_m: float) -> float:
    """By how much the chi-square of circuits over a leg grows where it rises by so much more; 0 where they close better.

    Of each circuit the way it goes over the leg, its misclosure in height and the variance of that.
    """
    return settled(
        max(0.0, sum(((up + sign * rise_m) ** 2 - up**2) / max(var, 1e-6) for sign, up, var in over)), 6
    )


def _with_second(figures: list[OddHeight]) -> OddHeight:
    """The likeliest figure of one reading, with the second where that is about as likely."""
    first, *more = sorted(figures, key=lambda one: one.rank)
    second = next((one for one in more if one.meant and one.meant != first.meant), None)
    if second is None or not first.meant or second.rank > first.rank + ALONE:
        return first
    return replace(first, or_meant=f", or {second.meant}, {second.slip}")


@record(frozen=True, slots=True, kw_only=True)
class _HeldAgainst:
    """Generalised least squares of what tells heights, each datum free."""

    weight: Floats  # (n, n) of the gaps, the datums eliminated
    pull: Floats  # (n,) weight times gaps
    chi_square: float

    @classmethod
    def of(cls, gap_m: Floats, covariance_m2: Floats, datum: Floats) -> _HeldAgainst:
        inverse = np.linalg.inv(covariance_m2)
        held = inverse @ datum
        weight = inverse - held @ np.linalg.solve(datum.T @ held, held.T)
        pull = weight @ gap_m
        return cls(
            weight=np.asarray(weight, dtype=np.float64), pull=pull, chi_square=settled(float(gap_m @ pull), 6)
        )

    def after(self, along: Floats, shift_m: float) -> float:
        """Chi-square once gaps are shifted by so much along a direction."""
        return settled(
            self.chi_square
            + 2.0 * shift_m * float(along @ self.pull)
            + shift_m**2 * float(along @ self.weight @ along),
            6,
        )

    def best_m(self, along: Floats) -> float:
        """The shift along a direction after which the chi-square is least; 0 where nothing tells it."""
        own = float(along @ self.weight @ along)
        return -float(along @ self.pull) / own if own > 1e-9 else 0.0


def _likely(rests: Sequence[_HeldAgainst], along: Floats, shift_m: float) -> float:
    """The chi-square of a shift; that an altimeter was never set that morning is as rare as a figure without a slip."""
    never_set, well_set = (one.after(along, shift_m) for one in rests)
    return min(never_set + _VAGUE, well_set)


def _root(forest: Forest, station: int) -> int:
    while station in forest.hooks:
        station = forest.hooks[station][0]
    return station


def _drift_m2(told: _HeightsTold, keep: Sequence[int]) -> Floats:
    """Covariance of what the air does to an altimeter after its first reading, a random walk, (n, n)."""
    grown: dict[int, float] = {}
    last: dict[int, float] = {}
    at: list[float] = []
    for i in keep:
        day = told.day[i]
        step = (told.hour[i] - last.get(day, told.hour[i])) * DRIFT_SD_M_AN_HOUR
        grown[day] = 0.0 if day < 0 else grown.get(day, 0.0) + step**2
        last[day] = told.hour[i]
        at.append(grown[day])
    own = np.array([told.day[i] for i in keep])
    return np.where(own[:, None] == own[None, :], np.minimum.outer(at, at), 0.0)


def _set_anew(told: _HeightsTold, keep: Sequence[int]) -> Iterator[Floats]:
    """Each place in a day between two readings and two more at which an altimeter may have been set anew, as a direction."""
    for day in sorted({told.day[i] for i in keep} - {-1}):
        rows = [row for row, i in enumerate(keep) if told.day[i] == day]
        for first in range(2, len(rows) - 1):
            along = np.zeros(len(keep))
            along[rows[first:]] = 1.0
            yield along


def _tried(
    log: Log,
    network: Network,
    told: _HeightsTold,
    keep: Sequence[int],
    edges: Sequence[int],
    path: Floats,
    vectors: Vectors,
    odd: OddHeights,
    rests: Sequence[_HeldAgainst],
) -> Iterator[tuple[Floats, float, OddHeight]]:
    """Other figures: the direction in which each shifts the gaps, by how much, and its record with how rare it is."""
    for row, i in enumerate(keep):
        along = np.zeros(len(keep))
        along[row] = 1.0
        reading, station = told.reading[i], told.station[i]
        if reading is not None:
            one = OddHeight(
                reading=reading, span=reading.span, written=reading.written, rank=0.0,
                what=f"the height at {network.names[station]}",
            )  # fmt: skip
            figures = _figures(reading)
        else:
            fix = network.fixes[station]
            if fix.sure:
                continue
            name = network.names[station]
            controls = [other for other in log.controls if other.name == name]
            one = OddHeight(
                control=station, span=fix.span, what=f"control {name}", written=name, rank=0.0,
                height_m=told.height_m[i],
            )  # fmt: skip
            figures = other_heights(controls[0]) if len(controls) == 1 else iter(())
        for other in figures:
            told_as = replace(
                one,
                meant=other.reading,
                written=other.written,
                slip=other.slip.removeprefix("height: "),
                rank=other.rank,
            )
            yield along, other.height_m - told.height_m[i], told_as
        for rest in rests:
            yield along, rest.best_m(along), replace(one, rank=_VAGUE)
    for k, edge in enumerate(edges):
        if edge >= network.leg_count or edge in odd.edges or log.legs[edge].slope is None:
            continue
        leg, rise_m = log.legs[edge], float(vectors.observed_m[edge, 2])
        for slip in slips_of(edge, leg, 0.0):
            if slip.tilt != 1.0 and leg.slope is not None:
                one = OddHeight(
                    edge=edge, span=leg.slope.span, what=f"{leg.start} to {leg.end}", written=slip.written,
                    meant=slip.reading, slip=slip.slip, rank=slip.rank, rise_m=rise_m * (slip.tilt - 1.0),
                )  # fmt: skip
                yield -path[:, k], rise_m * (slip.tilt - 1.0), one


def _figures(reading: Elevation) -> Iterator[OtherHeight]:
    """Other figures of a height that was read."""
    figure, _, unit = reading.written.partition(" ")
    try:
        yield from heights_misread(figure, unit, reading.height_m)
    except ValueError:
        return


def told_odd(
    odd: OddHeights, log: Log, places: Mapping[str, Place], lengths: Lengths
) -> tuple[list[Suspect], list[Diagnostic]]:
    """What is said of known points and slopes that are set aside, `places` being those without them; and what may be looked at."""
    suspects: list[Suspect] = []
    remarks: list[Diagnostic] = []
    for one in odd.found:
        suspects += [suspect_of(each) for each in one.others if each.meant]
        if one.reading is not None:
            continue
        suspects += [suspect_of(one)] if one.meant else []
        asked = f"; was it {one.meant}, {one.slip}{one.or_meant}?" if one.meant else ""
        if one.edge is None:
            rest = places[one.what.removeprefix("control ")].up_m or 0.0
            off = one.height_m - rest
            said = warning(
                "known-height-disagrees",
                f"the height of {one.what}, {lengths.said(one.height_m)}, lies {lengths.said(abs(off))} "
                f"{'above' if off > 0.0 else 'below'} what the other heights give, {lengths.said(rest)}; it is not used",
                one.span,
                f"look at the figure on the map or the receiver{asked}{one.or_others}",
            )
        else:
            leg = log.legs[one.edge]
            start, end = places[leg.start].up_m or 0.0, places[leg.end].up_m or 0.0
            said = warning(
                "slope-disagrees",
                f"the slope read here, {one.written}, does not lead from {leg.start} to {leg.end}, which by the other heights "
                f"lies {lengths.said(abs(end - start))} {'higher' if end > start else 'lower'}; it is not used",
                one.span,
                f"look at its sign and its figures on the page{asked}{one.or_others}",
            )
        remarks.append(replace(said, doubts=tuple(other.span for other in one.others)))
    return suspects, remarks


def suspect_of(one: OddHeight) -> Suspect:
    """As what may be looked at first."""
    return Suspect(
        span=one.span, start=None, end=None, what=one.what, slip=one.slip, reading=one.meant, written=one.written,
        misclosure_after_m=one.after_m, q_after=0.0,
    )  # fmt: skip
