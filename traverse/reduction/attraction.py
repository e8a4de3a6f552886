"""Local attraction: iron at a station turns every bearing read there by the same angle."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

import numpy as np

from traverse.diagnostic import Diagnostic, Outcome, warning
from traverse.log.records import Log
from traverse.reduction import backsight
from traverse.reduction.records import Flags, Floats, Indices
from traverse.settled import settled_all
from traverse.trade import REVERSED_DEG

DENSE_LIMIT = 300
"""Unknown deviations up to which the equations are solved as a whole matrix."""


def local_attraction(log: Log) -> Outcome[Mapping[str, float]]:
    """Deviation at each station in degrees: what was read there minus what a free compass would read.

    Stations joined by legs whose two bearings agree form groups; the largest is taken as free of iron and the
    others are solved by least squares on the disagreements of fore and back bearing. A deviation is believed
    only where two legs of the station agree on it, and where its group hangs by more than one leg on the
    others: one disagreement may as well be one figure misread. If all stations were attracted alike, nothing
    would show.
    """
    both = [leg for leg in log.legs if leg.back_bearing is not None]
    fore = np.array([leg.bearing.azimuth_deg for leg in both])
    back = np.array([leg.back_bearing.azimuth_deg for leg in both if leg.back_bearing is not None])
    difference = backsight.disagreement_deg(fore, back)
    limit = backsight.limit_deg(np.array([leg.conditions.precision.bearing_deg for leg in both]))
    agree = np.abs(difference) <= limit
    part = np.abs(difference) <= REVERSED_DEG
    if not (part & ~agree).any():
        return Outcome({})
    order = {name: i for i, name in enumerate(log.stations)}
    names = list(dict.fromkeys(name for leg in both for name in (leg.start, leg.end)))
    names.sort(key=lambda name: order.get(name, len(order)))
    index = {name: i for i, name in enumerate(names)}
    start = np.array([index[leg.start] for leg in both])
    end = np.array([index[leg.end] for leg in both])
    group = _groups(len(names), start[agree], end[agree])
    free = group == _largest(group)
    start, end, difference, limit = start[part], end[part], difference[part], limit[part]
    deviation = _solve(free, start, end, difference)
    residual = np.abs(difference - deviation[start] + deviation[end])
    agrees = residual <= limit  # False for what the free stations are not joined to
    outward = agrees & (group[start] != group[end])
    of_station = np.bincount(start[agrees], minlength=len(names)) + np.bincount(
        end[agrees], minlength=len(names)
    )
    of_group = np.bincount(group[start[outward]], minlength=len(names)) + np.bincount(
        group[end[outward]], minlength=len(names)
    )
    believed = ~free & (of_station >= 2) & (of_group[group] >= 2)
    found = {names[i]: float(deviation[i]) for i in np.flatnonzero(believed)}
    assumed = [names[i] for i in np.flatnonzero(free)]
    return Outcome(found, tuple(_remark(log, name, value, assumed) for name, value in found.items()))


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


def _remark(log: Log, name: str, degrees: float, free: list[str]) -> Diagnostic:
    leg = next(leg for leg in log.legs if leg.back_bearing is not None and name in {leg.start, leg.end})
    listed = ", ".join(free) if len(free) <= 6 else f"{', '.join(free[:5])} and {len(free) - 5} more"
    way = "high" if degrees > 0.0 else "low"
    return warning(
        "local-attraction",
        f"the compass read {abs(degrees):.0f} degrees {way} at {name}; that is taken out of all bearings and "
        f"attitudes read there, stations {listed} taken as free of iron",
        leg.span,
        f"look for iron near {name}: a fence, a vehicle, a hammer, dark rock; `checked WHO WHY` answers this",
    )
