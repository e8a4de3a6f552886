"""Parties of a camp whose own loop fails: they hold nobody, and are hung on those that are sound afterwards."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from traverse.adjustment.closure import left_out, limits
from traverse.adjustment.least_squares import least_squares
from traverse.adjustment.records import Circuit, Closing, Fix, Floats, LeftOut, Network, Vectors
from traverse.log.items import Tie
from traverse.log.records import Log, PartyLog, one_place
from traverse.record import record

if TYPE_CHECKING:
    from traverse.adjustment.misread.explained import Explanation

_HUNG = 0.01
"""Share of camps without a slip in which a party is hung all the same. Source: as of a loop that is not adjusted, 99 %."""


@record(frozen=True, slots=True, kw_only=True)
class Alone:
    """What each party closes by itself."""

    failing: frozenset[str] = frozenset()
    """Files of parties with letters whose own loop fails: a reading is wrong, since one turned or stretched as a whole closes."""
    missing: frozenset[str] = frozenset()
    """Files with a loop of their own that is not adjusted, by the limit of one log read by itself."""
    off_points: frozenset[str] = frozenset()
    """Files of other parties whose walk between known points fails, where both are borne out by a party that closes."""
    borne_out: frozenset[str] = frozenset()
    """Known points that a party walks to from another one, and closes."""


def judge_alone(log: Log, alone: Mapping[str, tuple[Network, Sequence[Closing]]]) -> Alone:
    """Which parties fail by themselves; none where no other walked.

    `alone` has by file what each party closes by itself.
    The more parties close loops, the more must be missed: by itself each of six sound ones fails one day in a hundred,
    and of the camp one day in seventeen. A loop that misses by less is not adjusted, and its party holds as before.
    Source: C. E. Bonferroni's inequality, any text on several tests at once.
    """
    files = {one.file for one in log.parties if one.letters is not None and not one.aside}
    most, _ = limits([one for file in sorted(files & alone.keys()) for one in alone[file][1]], _HUNG)
    fails = {
        file: [_known_ends(network, one) for one in closings if not one.used and one.q > most]
        for file, (network, closings) in alone.items()
    }
    borne_out = frozenset(
        name
        for file, (network, closings) in alone.items()
        if not fails[file]
        for one in closings
        if one.used
        for name in _known_ends(network, one)
    )
    loops = {file for file in files & alone.keys() if any(not ends for ends in fails[file])}
    ties = {file for file in files & alone.keys() if any(ends and ends <= borne_out for ends in fails[file])}
    if not alone.keys() - loops:
        loops = set()
    missing = frozenset(
        file
        for file, (_, closings) in alone.items()
        if any(one.circuit.closed and not one.used for one in closings)
    )
    return Alone(
        failing=frozenset(loops), missing=missing, off_points=frozenset(ties - loops), borne_out=borne_out
    )


def _known_ends(network: Network, closing: Closing) -> set[str]:
    circuit = closing.circuit
    return set() if circuit.closed else {network.names[circuit.stations[at]] for at in (0, -1)}


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


def left_of_all(log: Log, network: Network, closings: Sequence[Closing], left: LeftOut) -> LeftOut:
    """What is left out as long as no party is hung yet: also what such a party closes between known points."""
    hung = _hung_files(log)
    edges = {
        one.circuit.maker
        for one in closings
        if not one.circuit.closed and one.used and _walked_by(log, network, one.circuit) <= hung
    }
    return replace(left, edges=left.edges | edges, edges_up=left.edges_up | edges) if edges else left


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
    left = left_out(tuple(_by_itself(log, network, one) for one in closings))
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


def _by_itself(log: Log, network: Network, closing: Closing) -> Closing:
    """A circuit as it closes: what a leg of a party that is hung closes on sound ones fails by that party's readings.

    A tie between two parties that takes no part joins them all the same.
    """
    if not holds_others(log, network, closing.circuit):
        return closing
    used = closing.circuit.maker >= network.leg_count or closing.q <= closing.limits.refuse
    return replace(
        closing,
        used=used,
        used_up=used and (closing.q_up is None or closing.q_up <= closing.limits.refuse_up),
    )


def _of_files(log: Log, network: Network, edge: int, files: AbstractSet[str]) -> bool:
    return edge >= network.leg_count or log.legs[edge].span.file in files


def _walked_by(log: Log, network: Network, circuit: Circuit) -> set[str]:
    return {log.legs[step.edge].span.file for step in circuit.steps if step.edge < network.leg_count}


def _whose(log: Log, station: str) -> PartyLog | None:
    party = log.party_of(station)
    return None if party is None else [one for one in log.parties if one.letters is not None][party]


def _hung_files(log: Log) -> frozenset[str]:
    return frozenset(one.file for one in log.parties if one.hung)
