"""Stations of two parties that may be one place: named with the line to type, never taken for one."""

from __future__ import annotations

from collections.abc import Container, Iterator
from itertools import combinations
from typing import TypeAlias

import numpy as np

from traverse.diagnostic import Diagnostic, note
from traverse.location.records import PlaceKind, Survey
from traverse.log.records import Log
from traverse.settled import settled, settled_all

_Pair: TypeAlias = "tuple[float, str, str]"
"""How far apart in metres, and the two stations."""
_SHOWN = 3
"""Pairs that the message names."""
_TRIED = 12
"""Pairs for each party whose own error is worked out, those nearest for what both are good to."""


def near_parties(log: Log, survey: Survey, without: Container[frozenset[int]]) -> Iterator[Diagnostic]:
    """What may be added: stations of two parties that come out nearer than their error, of all parties in one note.

    It is no doubt of any of them, and stands at no one's line. `without` are two parties each of which nothing says how
    one lies on the other.
    """
    of_party: dict[int, list[str]] = {}
    for name, place in survey.places.items():
        party = log.party_of(name)
        if party is not None and place.kind is not PlaceKind.SIGHTED:
            of_party.setdefault(party, []).append(name)
    close = sorted(
        pair
        for one, other in combinations(sorted(of_party), 2)
        if frozenset((one, other)) not in without
        for pair in _close(survey, of_party[one], of_party[other])
    )
    if not close:
        return
    pairs = [(apart, one, other) for _, apart, one, other in close[: _TRIED * len(of_party)]]
    sd_m = survey.apart_sd_m([(one, other) for _, one, other in pairs]).tolist()
    near = sorted(
        (settled(pair[0], 3), pair[1], pair[2]) for pair, sd in zip(pairs, sd_m, strict=True) if pair[0] <= sd
    )
    if near:
        yield _said(log, near)


def _said(log: Log, near: list[_Pair]) -> Diagnostic:
    (apart, one, other), *rest = near
    named = [f"{one} and {other} come out {log.lengths.said_finely(apart)}"]
    named += [f"{a} and {b} {log.lengths.said_finely(apart)}" for apart, a, b in rest[: _SHOWN - 1]]
    more = f", and {len(near) - _SHOWN} more pairs" if len(near) > _SHOWN else ""
    return note(
        "parties-near",
        f"{', '.join(named)} apart{more}: no more than their error, and no tie makes them one place",
        None,
        f"`tie {one} to {other}` if both parties stood there",
    )


def _close(survey: Survey, some: list[str], others: list[str]) -> list[tuple[float, float, str, str]]:
    """Pairs that may be nearer than their error, after what share of it they lie apart; not those that are one place already."""
    places = survey.places
    here = np.array([(places[name].east_m, places[name].north_m) for name in some])
    there = np.array([(places[name].east_m, places[name].north_m) for name in others])
    sd = [np.array([places[name].sd_plan_m for name in names]) for names in (some, others)]
    apart = settled_all(np.hypot(*(here[:, None] - there[None]).transpose(2, 0, 1)))
    most = sd[0][:, None] + sd[1][None]
    # No two places are farther apart by error than both their own errors together say.
    close = np.argwhere((apart > 0.0) & (apart < most))
    share = settled_all((apart / np.maximum(most, 1e-9))[close[:, 0], close[:, 1]])
    return [
        (float(part), float(apart[i, j]), some[i], others[j])
        for part, (i, j) in zip(share, close.tolist(), strict=True)
    ]
