"""Stations of two parties that may be one place: named with the line to type, never taken for one."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import numpy as np

from traverse.diagnostic import Diagnostic, warning
from traverse.location.records import PlaceKind, Survey
from traverse.log.records import Log

_SHOWN = 3
"""Pairs of two parties that one message names."""


def near_parties(log: Log, survey: Survey) -> Iterator[Diagnostic]:
    """A question for each two parties with stations that come out nearer to each other than their error.

    The error is that of the way between the two, the root of its variances east and north: what both rest on cancels.
    """
    of_party: dict[int, list[str]] = {}
    for name, place in survey.places.items():
        party = log.party_of(name)
        if party is not None and place.kind is not PlaceKind.SIGHTED:
            of_party.setdefault(party, []).append(name)
    lines = [one.span for one in log.parties if one.letters is not None]
    for first, second in combinations(sorted(of_party), 2):
        near = _near(survey, of_party[first], of_party[second])
        if near:
            (apart, one, other), *rest = near
            pairs = [f"{one} and {other} come out {log.lengths.said_finely(apart)}"]
            pairs += [f"{a} and {b} {log.lengths.said_finely(apart)}" for apart, a, b in rest[: _SHOWN - 1]]
            more = f", and {len(near) - _SHOWN} more pairs" if len(near) > _SHOWN else ""
            yield warning(
                "parties-near",
                f"{', '.join(pairs)} apart{more}: no more than their error, and no tie makes them one place",
                lines[second],
                f"`tie {one} to {other}` if both parties stood there; `checked WHO WHY` answers this",
            )


def _near(survey: Survey, some: list[str], others: list[str]) -> list[tuple[float, str, str]]:
    """Pairs nearer than their error, the nearest first; not those that are one place already."""
    assert survey.apart_m2 is not None
    places = survey.places
    here = np.array([(places[name].east_m, places[name].north_m) for name in some])
    there = np.array([(places[name].east_m, places[name].north_m) for name in others])
    sd = [np.array([_sd_m(survey, name) for name in names]) for names in (some, others)]
    apart = np.hypot(*(here[:, None] - there[None]).transpose(2, 0, 1))
    # No two places are farther apart by error than both their own errors together say.
    close = np.argwhere((apart > 0.0) & (apart < sd[0][:, None] + sd[1][None]))
    if not len(close):
        return []
    pairs = [(some[i], others[j]) for i, j in close.tolist()]
    variance = survey.apart_m2([(((one, 1.0),), ((other, 1.0),)) for one, other in pairs])
    error = np.sqrt(variance[:, 0, 0] + variance[:, 1, 1])
    found = [
        (float(apart[i, j]), *pair)
        for (i, j), pair, most in zip(close.tolist(), pairs, error.tolist(), strict=True)
        if apart[i, j] <= most
    ]
    return sorted(found)


def _sd_m(survey: Survey, name: str) -> float:
    place = survey.places[name]
    return float(np.hypot(place.sd_east_m or 0.0, place.sd_north_m or 0.0))
