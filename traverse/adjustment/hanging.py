"""Parties of a camp whose own loop fails: they hold nobody, and are hung on those that are sound afterwards."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from traverse.adjustment.closure import left_out, limits
from traverse.adjustment.least_squares import least_squares
from traverse.adjustment.records import Circuit, Closing, Fix, Floats, LeftOut, Network, Vectors
from traverse.log.items import Tie
from traverse.log.records import Log, PartyLog, one_place

if TYPE_CHECKING:
    from traverse.adjustment.misread.explained import Explanation

_HUNG = 0.01
"""Share of camps without a slip in which a party is hung all the same. Source: as of a loop that is not adjusted, 99 %."""


def own_loop_fails(log: Log, network: Network, closings: Iterable[Closing]) -> frozenset[str]:
    """Files of parties with letters one of whose own circuits fails; none where no other party walked.

    The more parties close loops, the more must be missed: by itself each of six sound ones fails one day in a hundred,
    and of the camp one day in seventeen. A loop that misses by less is not adjusted, and its party holds as before.
    Source: C. E. Bonferroni's inequality, any text on several tests at once.
    """
    files = {one.file for one in log.parties if one.letters is not None and not one.aside}
    walked = {leg.span.file for leg in log.legs}
    own = [
        (whose & files, one) for one in closings if len(whose := _walked_by(log, network, one.circuit)) == 1
    ]
    most, _ = limits([one for whose, one in own if whose], _HUNG)
    failing = {file for whose, one in own if not one.used and one.q > most for file in whose}
    return frozenset(failing) if walked - failing else frozenset()


def hung_last(log: Log, files: AbstractSet[str]) -> Log:
    """The log with these parties hung on the others: each of their places tied once, and to a sound party's if it can be.

    Where two sound parties are joined by a place of a party that is hung alone, a tie joins them in its place.
    """
    if not files:
        return log
    parties = tuple(replace(one, hung=one.file in files) for one in log.parties)
    marked = replace(log, parties=parties)
    groups = one_place(log.ties)
    ties: list[Tie] = []
    joined: dict[str, str] = {}

    def head(name: str) -> str:
        while name in joined:
            name = joined[name]
        return name

    def take(first: str, second: str, tie: Tie) -> None:
        if head(first) != head(second):
            joined[head(first)] = head(second)
            ties.append(
                tie
                if {first, second} == {tie.first, tie.second}
                else replace(tie, first=first, second=second)
            )

    for tie in log.ties:
        if tie.sd_m is not None:
            ties.append(tie)
        elif not (marked.hangs(tie.first) or marked.hangs(tie.second)):
            take(tie.first, tie.second, tie)
    for tie in log.ties:
        if tie.sd_m is None and (marked.hangs(tie.first) or marked.hangs(tie.second)):
            sound = [one for one in log.stations if one in groups[tie.first] and not marked.hangs(one)]
            for one in sound[1:]:
                take(one, sound[0], tie)
            for one in (tie.first, tie.second):
                if marked.hangs(one):
                    on = next((name for name in (tie.first, tie.second) if name in sound), None)
                    other = tie.second if one == tie.first else tie.first
                    take(one, on or (sound[0] if sound else other), tie)
    return replace(marked, ties=tuple(ties))


def holds_others(log: Log, network: Network, circuit: Circuit) -> bool:
    """Whether a circuit would let a party that is hung hold another."""
    hung = _hung_files(log)
    if not hung:
        return False
    of = (_whose(log, network.names[station]) for station in circuit.stations)
    whose = _walked_by(log, network, circuit) | {party.file for party in of if party is not None}
    if not whose & hung or len(whose) == 1:
        return False
    return circuit.last_control is None or log.hangs(network.names[circuit.last_control])


def own_loops_first(
    log: Log,
    network: Network,
    closings: Sequence[Closing],
    every: Mapping[int, Explanation],
    by_itself: Mapping[int, Explanation],
) -> dict[int, Explanation]:
    """What explains each circuit, by its index, where what a party that is hung closes with others explains nothing.

    `every` explains all circuits at once, `by_itself` those in which no party that is hung would hold another. What the
    own loops of such a party name is told, and no reading of another beside it; only where one reading of its own would
    mend all that runs over it and sound parties, that is told alone.
    """
    hung = _hung_files(log)
    walked = [_walked_by(log, network, one.circuit) for one in closings]
    named = dict(by_itself)
    for i, one in every.items():
        whose = walked[i] & hung
        slips = _slips(one)
        if i not in named or len(whose) != 1 or not slips:
            continue
        own = all(edge >= 0 and log.legs[edge].span.file in whose for edge, _, _ in slips)
        if own and all(slips <= _slips(every[j]) for j in every if walked[j] & hung == whose):
            named[i] = one
    told = {slip for one in named.values() for slip in _slips(one)}
    beside = {i: one for i, one in every.items() if i not in named and one.ranked and _slips(one) <= told}
    return dict(sorted({**named, **beside}.items()))


def _slips(explained: Explanation) -> set[tuple[int, str, str]]:
    return {(one.slip.edge, one.slip.slip, one.slip.reading) for one in explained.ranked}


def holding_nobody(log: Log, network: Network, closings: Sequence[Closing]) -> tuple[Closing, ...]:
    """The circuits, of which those that would let a party that is hung hold another take no part."""
    return tuple(
        replace(one, used=False, used_up=False) if holds_others(log, network, one.circuit) else one
        for one in closings
    )


def hung_places(
    log: Log, network: Network, vectors: Vectors, closings: Sequence[Closing], position_m: Floats
) -> Floats:
    """Places with those of the parties that are hung laid on all their ties, (n_stations, 3); the others stay where they are.

    What fails in their own loops stays left out.
    """
    hung = _hung_files(log)
    if not hung:
        return position_m
    own = np.array([log.hangs(name) for name in network.names])
    loose = np.isnan(position_m).any(axis=1)
    held = {
        station: Fix(position_m=position_m[station], sd_plan_m=0.0, sd_height_m=0.0, span=log.legs[0].span)
        for station in np.flatnonzero(~own & ~loose).tolist()
    }
    left = left_out(tuple(one for one in closings if not holds_others(log, network, one.circuit)))
    edges = frozenset(edge for edge in left.edges if _of_files(log, network, edge, hung))
    edges_up = frozenset(edge for edge in left.edges_up if _of_files(log, network, edge, hung))
    laid = least_squares(
        replace(network, fixes=held),
        vectors,
        LeftOut(edges=edges, edges_up=edges_up),
        near_m=position_m,
    ).position_m
    found: Floats = np.where((own & ~loose)[:, None], laid, position_m)
    return found


def _of_files(log: Log, network: Network, edge: int, files: AbstractSet[str]) -> bool:
    return edge >= network.leg_count or log.legs[edge].span.file in files


def _walked_by(log: Log, network: Network, circuit: Circuit) -> set[str]:
    return {log.legs[step.edge].span.file for step in circuit.steps if step.edge < network.leg_count}


def _whose(log: Log, station: str) -> PartyLog | None:
    party = log.party_of(station)
    return None if party is None else [one for one in log.parties if one.letters is not None][party]


def _hung_files(log: Log) -> frozenset[str]:
    return frozenset(one.file for one in log.parties if one.hung)
