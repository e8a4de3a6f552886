"""Local attraction: iron at a station turns every bearing read there by the same angle."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

import numpy as np

from traverse.diagnostic import Diagnostic, Outcome, note, warning
from traverse.log.items import Words, WordsKind
from traverse.log.records import Log
from traverse.record import record
from traverse.reduction import backsight
from traverse.reduction.records import Flags, Floats, Indices
from traverse.settled import settled_all
from traverse.trade import IRON_MOST_DEG, IRON_TAKEN_DEG

LEAST_SD_DEG = 1e-6
"""Least deviation of a bearing that a weight is taken with."""
DENSE_LIMIT = 300
"""Unknown deviations up to which the equations are solved as a whole matrix."""


@record(frozen=True, slots=True, kw_only=True)
class Attraction:
    """Local attraction in degrees by station: what was read there minus what a free compass would read."""

    taken: Mapping[str, float]
    """Taken out of what was read there."""
    asked: Mapping[str, float]
    """Too large to be taken on trust: asked about, and left in."""


def local_attraction(log: Log) -> Outcome[Attraction]:
    """Deviation at each station, where iron is likelier than slips.

    Stations joined by legs whose two bearings agree form groups; the largest is taken as free of iron and the
    others are solved by least squares on the disagreements of fore and back bearing. A deviation is believed where
    it is the same at all bearings of its station, two of them at least, within three of its standard errors of
    nothing it is none, and beyond 20 degrees it is no iron but a slip. One beyond 5 degrees is taken out where the log
    says by an `iron` line that there was some. A group is believed where fewer stations than
    legs would have to be at fault, or as many, if all its stations deviate alike. If all stations were attracted
    alike, nothing would show.
    """
    said = {
        item.address.station: item
        for item in log.items
        if isinstance(item, Words) and item.kind is WordsKind.IRON and item.address.station is not None
    }
    found, assumed = _found(log)
    taken = {name: value for name, value in found.items() if abs(value) <= IRON_TAKEN_DEG or name in said}
    asked = {name: value for name, value in found.items() if name not in taken}
    remarks = [
        _remark(log, name, value, assumed, taken=name in taken, said=said.get(name))
        for name, value in found.items()
    ]
    remarks += [_not_taken(item, name, assumed) for name, item in said.items() if name not in found]
    return Outcome(Attraction(taken=taken, asked=asked), tuple(remarks))


def _found(log: Log) -> tuple[dict[str, float], list[str]]:
    """Deviations that are believed, by station, and the stations taken as free of iron."""
    both = [leg for leg in log.legs if leg.back_bearing is not None]
    fore = np.array([leg.bearing.azimuth_deg for leg in both])
    back = np.array([leg.back_bearing.azimuth_deg for leg in both if leg.back_bearing is not None])
    difference = backsight.disagreement_deg(fore, back)
    sd = np.array([leg.conditions.precision.bearing_deg for leg in both])
    limit = backsight.limit_deg(sd)
    agree = np.abs(difference) <= limit
    part = np.abs(difference) <= IRON_MOST_DEG + limit
    if not (part & ~agree).any():
        return {}, list(dict.fromkeys(name for leg in both for name in (leg.start, leg.end)))
    order = {name: i for i, name in enumerate(log.stations)}
    names = list(dict.fromkeys(name for leg in both for name in (leg.start, leg.end)))
    names.sort(key=lambda name: order.get(name, len(order)))
    index = {name: i for i, name in enumerate(names)}
    count = len(names)
    start = np.array([index[leg.start] for leg in both])
    end = np.array([index[leg.end] for leg in both])
    group = _groups(count, start[agree], end[agree])
    free = group == _largest(group)
    start, end, difference, limit, sd = start[part], end[part], difference[part], limit[part], sd[part]
    free |= _like_nothing(free, _solve(free, start, end, difference), start, end, sd)
    deviation = _solve(free, start, end, difference)
    residual = np.abs(difference - deviation[start] + deviation[end])
    agrees = residual <= limit  # False for what the free stations are not joined to
    told = np.bincount(start, minlength=count) + np.bincount(end, minlength=count)
    off = np.bincount(start[~agrees], minlength=count) + np.bincount(end[~agrees], minlength=count)
    believed = ~free & (told >= 2) & (off == 0) & (np.abs(deviation) <= IRON_MOST_DEG)
    outward = agrees & (group[start] != group[end])
    legs = np.bincount(group[start[outward]], minlength=count) + np.bincount(
        group[end[outward]], minlength=count
    )
    size = np.bincount(group, minlength=count)
    for one in sorted(set(group[believed].tolist())):
        members = group == one
        spread = float(np.ptp(deviation[members]))
        fits = size[one] < legs[one] or (
            size[one] == legs[one] and spread <= float(limit.max()) and believed[members].all()
        )
        if not fits:
            believed[members] = False
    found = {names[i]: float(deviation[i]) for i in np.flatnonzero(believed)}
    return found, [names[i] for i in np.flatnonzero(free)]


def _like_nothing(free: Flags, deviation: Floats, start: Indices, end: Indices, sd: Floats) -> Flags:
    """Stations whose deviation is within three of its standard errors of nothing."""
    count = len(free)
    own = 0.5 / np.maximum(sd, LEAST_SD_DEG) ** 2
    weight = np.bincount(start, weights=own, minlength=count)
    weight += np.bincount(end, weights=own, minlength=count)
    with np.errstate(divide="ignore"):
        return np.asarray(~free & (np.abs(deviation) <= 3.0 / np.sqrt(weight)))


def _groups(count: int, start: Indices, end: Indices) -> Indices:
    """Group of each station, named by its first member."""
    parent = list(range(count))

    def find(at: int) -> int:
        while parent[at] != at:
            parent[at] = parent[parent[at]]
            at = parent[at]
        return at

    for a, b in zip(start.tolist(), end.tolist(), strict=True):
        ra, rb = find(a), find(b)
        parent[max(ra, rb)] = min(ra, rb)
    return np.array([find(at) for at in range(count)], dtype=np.intp)


def _largest(group: Indices) -> int:
    """The group with most stations, the first in the log among equals."""
    return int(np.bincount(group).argmax())


def _solve(free: Flags, start: Indices, end: Indices, difference: Floats) -> Floats:
    """Deviations by least squares on d = a(start) - a(end), (n,); NaN where no leg leads to a free station."""
    near: dict[int, list[int]] = defaultdict(list)
    for a, b in zip(start.tolist(), end.tolist(), strict=True):
        near[a].append(b)
        near[b].append(a)
    reached = free.copy()
    front = np.flatnonzero(free).tolist()
    for station in front:  # grows while it is walked
        for other in near[station]:
            if not reached[other]:
                reached[other] = True
                front.append(other)
    deviation = np.where(free, 0.0, np.nan)
    unknown = np.flatnonzero(reached & ~free)
    column = np.full(len(free), -1)
    column[unknown] = np.arange(len(unknown))
    use = reached[start] & ((column[start] >= 0) | (column[end] >= 0))
    a, b, d = column[start[use]], column[end[use]], difference[use]
    rows = np.arange(len(d))
    right = np.zeros(len(unknown))
    np.add.at(right, a[a >= 0], d[a >= 0])
    np.add.at(right, b[b >= 0], -d[b >= 0])
    if len(unknown) <= DENSE_LIMIT:
        design = np.zeros((len(d), len(unknown)))
        design[rows[a >= 0], a[a >= 0]] += 1.0
        design[rows[b >= 0], b[b >= 0]] -= 1.0
        deviation[unknown] = np.linalg.solve(design.T @ design, right) if len(unknown) else 0.0
        return settled_all(deviation)
    from scipy.sparse import coo_matrix
    from scipy.sparse.linalg import spsolve

    values = np.concatenate((np.ones((a >= 0).sum()), -np.ones((b >= 0).sum())))
    places = (
        np.concatenate((rows[a >= 0], rows[b >= 0])),
        np.concatenate((a[a >= 0], b[b >= 0])),
    )
    matrix = coo_matrix((values, places), shape=(len(d), len(unknown))).tocsc()
    deviation[unknown] = spsolve((matrix.T @ matrix).tocsc(), right)
    return settled_all(deviation)


def _remark(
    log: Log, name: str, degrees: float, free: list[str], *, taken: bool, said: Words | None
) -> Diagnostic:
    leg = next(leg for leg in log.legs if leg.back_bearing is not None and name in {leg.start, leg.end})
    listed = ", ".join(free) if len(free) <= 6 else f"{', '.join(free[:5])} and {len(free) - 5} more"
    way = "high" if degrees > 0.0 else "low"
    what = "a fence, a vehicle, a hammer, dark rock"
    if not taken:
        return warning(
            "local-attraction-asked",
            f"all bearings read at {name} are {abs(degrees):.0f} degrees {way} of those read from the other ends; "
            f"that is more than is taken out unasked, and nothing was turned",
            leg.span,
            f"was there iron at {name}: {what}? If so write `iron` and what it was below the line that comes to "
            f"{name}, such as `iron wire fence`, and {abs(degrees):.0f} degrees are taken out of all that was read there",
            "if not, read again some way off; `checked WHO WHY` answers this",
        )
    fact = (
        f"the compass read {abs(degrees):.0f} degrees {way} at {name}; that is taken out of all bearings and "
        f"attitudes read there, stations {listed} taken as free of iron"
    )
    if said is not None:
        return note("iron-taken", fact, said.span)
    return warning(
        "local-attraction",
        fact,
        leg.span,
        f"look for iron near {name}: {what}; if there was some write `iron` and what it was below the line that comes "
        f"to {name}; `checked WHO WHY` answers this",
    )


def _not_taken(said: Words, name: str, free: list[str]) -> Diagnostic:
    """Of iron that turned no bearing, or that no two bearings tell the size of."""
    if name in free:
        return note(
            "iron-small",
            f"the bearings read at {name} agree with those read from the other ends, so the iron there turned the "
            "compass by no more than they scatter; nothing is taken out",
            said.span,
        )
    return warning(
        "iron-unknown",
        f"by how much the iron at {name} turned the compass is not known, and nothing is taken out; what was read "
        "there may be off",
        said.span,
        f"read two legs of {name} both ways, or read there again some way off the iron and book that; "
        "`checked WHO WHY` answers this",
    )
