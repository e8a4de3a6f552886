"""Stations of two parties that may be one place: named with the line to type, never taken for one."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeAlias

import numpy as np

from traverse.diagnostic import Diagnostic, warning
from traverse.location.records import PlaceKind, Survey
from traverse.log.records import Log
from traverse.settled import settled_all
from traverse.source import Span

_Pair: TypeAlias = "tuple[float, str, str]"
"""How far apart in metres, and the two stations."""
_SHOWN = 3
"""Pairs that one message names."""
_TRIED = 12
"""Pairs of a party whose own error is worked out, those nearest for what both are good to."""


def near_parties(log: Log, survey: Survey) -> Iterator[Diagnostic]:
    """A question for each party with stations that come out nearer to those of the parties before than their error.

    The error is that of the way between the two, the root of its variances east and north: what both rest on cancels.
    """
    of_party: dict[int, list[str]] = {}
    for name, place in survey.places.items():
        party = log.party_of(name)
        if party is not None and place.kind is not PlaceKind.SIGHTED:
            of_party.setdefault(party, []).append(name)
    near: dict[int, list[_Pair]] = {}
    before: list[str] = []
    for party in sorted(of_party):
        near[party] = _close(survey, before, of_party[party])
        before += of_party[party]
    pairs = [pair for found in near.values() for pair in found]
    if not pairs:
        return
    assert survey.apart_m2 is not None
    variance = survey.apart_m2([(((one, 1.0),), ((other, 1.0),)) for _, one, other in pairs])
    sd_m = dict(zip(pairs, np.sqrt(variance[:, 0, 0] + variance[:, 1, 1]).tolist(), strict=True))
    lines = [one.span for one in log.parties if one.letters is not None]
    for party, found in near.items():
        told = sorted(pair for pair in found if pair[0] <= sd_m[pair])
        if told:
            yield _question(log, told, lines[party])


def _question(log: Log, near: list[_Pair], span: Span) -> Diagnostic:
    (apart, one, other), *rest = near
    pairs = [f"{one} and {other} come out {log.lengths.said_finely(apart)}"]
    pairs += [f"{a} and {b} {log.lengths.said_finely(apart)}" for apart, a, b in rest[: _SHOWN - 1]]
    more = ", and others" if len(near) > _SHOWN else ""
    return warning(
        "parties-near",
        f"{', '.join(pairs)} apart{more}: no more than their error, and no tie makes them one place",
        span,
        f"`tie {one} to {other}` if both parties stood there; `checked WHO WHY` answers this",
    )


def _close(survey: Survey, some: list[str], others: list[str]) -> list[_Pair]:
    """Pairs that may be nearer than their error, the likeliest first; not those that are one place already."""
    if not some:
        return []
    places = survey.places
    here = np.array([(places[name].east_m, places[name].north_m) for name in some])
    there = np.array([(places[name].east_m, places[name].north_m) for name in others])
    sd = [np.array([_sd_m(survey, name) for name in names]) for names in (some, others)]
    apart = settled_all(np.hypot(*(here[:, None] - there[None]).transpose(2, 0, 1)))
    most = sd[0][:, None] + sd[1][None]
    # No two places are farther apart by error than both their own errors together say.
    close = np.argwhere((apart > 0.0) & (apart < most))
    share = settled_all((apart / np.maximum(most, 1e-9))[close[:, 0], close[:, 1]])
    order = np.argsort(share, kind="stable")[:_TRIED]
    return [(float(apart[i, j]), some[i], others[j]) for i, j in close[order].tolist()]


def _sd_m(survey: Survey, name: str) -> float:
    place = survey.places[name]
    return float(np.hypot(place.sd_east_m or 0.0, place.sd_north_m or 0.0))
