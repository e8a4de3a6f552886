"""What is said of each loop and tie: how it closes, and what its closing can't show."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from traverse.adjustment.hanging import holds_others
from traverse.adjustment.misread.forest import Forest
from traverse.adjustment.misread.told import (
    SHOWN_STATIONS,
    add_consequence,
    against_each_other,
    besides,
    cause_of,
    named,
    over_legs,
    with_suspects,
)
from traverse.adjustment.records import Closing, Network
from traverse.angle import wrap_360
from traverse.diagnostic import Diagnostic, Label, error, note, warning
from traverse.length import Lengths
from traverse.log.items import LegKind
from traverse.log.records import Log
from traverse.numerals import one_in
from traverse.settled import settled_all
from traverse.source import Span
from traverse.trade import LUCKY, SHORT_LOOP_M
from traverse.wording import listed

if TYPE_CHECKING:
    from traverse.adjustment.misread.explained import Explanation
    from traverse.adjustment.vectors import Drawn

LONGER_LEAST = 4
FAR_LONGER = 5.0
"""A leg so many times as long as the longest of three others or more is asked about; common practice, no source."""
CLOSES_LEAST = 4
"""Legs between two places that may be one; a short spur comes near its start by itself."""
FEW_WITHOUT_SLOPE = 3
"""Legs without a slope that a message names; of more the party took no slopes there."""
_MOST_CLOSE_BETTER = (
    "nineteen loops in twenty close better",
    "in nineteen camps of twenty every tie closes better",
)
_SAME_MISS = 2.0
"""Standard errors within which two circuits over one reading miss alike; common practice, no source."""
_FAILS = {"closure-fails", "heights-fail"}


def verdicts(
    log: Log,
    network: Network,
    closings: tuple[Closing, ...],
    explained: Mapping[int, Explanation],
    *,
    to_true_deg: float,
    wanted: bool,
    sighted: bool,
) -> list[Diagnostic]:
    """Messages on the lines that close something.

    `explained` are the readings that would mend a circuit, by its index; `to_true_deg` is added to an azimuth from the
    plane's north to have it from true north, as the sheet has it. `wanted` is False where the log asks for
    no adjustment; `sighted` says that a sight to a known point has been compared with the map.
    """
    found: list[Diagnostic] = []
    told: dict[tuple[int, str, str], int] = {}  # by the first suspect: which message names it
    follow: list[tuple[tuple[int, str, str], Closing, Diagnostic]] = []
    accused = False
    moved = {leg.span for leg in log.out_of_order}
    for i, closing in enumerate(closings):
        said: list[Diagnostic] = []
        if holds_others(log, network, closing.circuit) and not (i in explained and explained[i].ranked):
            continue  # a loop of one of its parties fails, which is told of that
        if closing.q > closing.limits.warn:
            said.append(_plan(network, closing, log.lengths, to_true_deg=to_true_deg, wanted=wanted))
        if closing.q_up is not None and closing.q_up > closing.limits.warn_up:
            said.append(_height(log, network, closing, wanted=wanted))
        failed = next((k for k, one in enumerate(said) if one.code in _FAILS), None)
        if failed is not None and i not in explained and len(said) == 1:
            cause = _named_elsewhere(closings, i, explained)
            if cause is not None:
                follow.append((cause, closing, said[0]))
                continue
        if failed is not None and i in explained:
            # A loop between the two limits may be ordinary bad work: it is asked about and accuses nobody.
            accused = True
            main = said.pop(failed)
            if said and (explained[i].ranked or explained[i].left_out is not None):  # one slip put out both
                main = replace(main, message=f"{main.message}; {besides(closing, log.lengths)}")
                said.clear()
            cause = cause_of(explained[i])
            if cause is not None and cause in told and not said:
                add_consequence(found, told[cause], network, closing)
                continue
            if cause is not None:
                told[cause] = len(found)
            told_whole = with_suspects(main, log, network, closing, explained[i])
            said.insert(
                0,
                replace(
                    told_whole,
                    rests_on=(
                        *told_whole.rests_on,
                        *_known_ends(network, closing),
                        *(one for one in over_legs(main, log, network, closing) if one.span in moved),
                    ),
                ),
            )
        elif said:
            first, *rest = said
            if rest:
                first = replace(first, message=f"{first.message}; {besides(closing, log.lengths)}")
            said = [replace(first, rests_on=over_legs(first, log, network, closing))]
        if closing.q < LUCKY and closing.length_m > SHORT_LOOP_M:
            said.append(
                note(
                    "closure-lucky",
                    f"{named(network, closing)} closes {one_in(closing.ratio)}, better than ninety-nine in a hundred "
                    "would at this precision: luck, or a stated precision that is too poor",
                    closing.circuit.span,
                )
            )
        found += said
    for cause, closing, by_itself in follow:
        if cause in told:
            add_consequence(found, told[cause], network, closing)
        else:
            found.append(by_itself)
    # One that fails and is adjusted all the same, as the log asks, does not close by itself.
    each_closes = all(
        one.q <= one.limits.refuse and (one.q_up or 0.0) <= one.limits.refuse_up for one in closings
    )
    if not accused and each_closes and any(one.ranked for one in explained.values()):
        found = [one for one in found if one.code not in {"closure-poor", "heights-poor"}]  # by the same
        found.append(against_each_other(log, network, closings, explained))
    if closings and not sighted and all(closing.circuit.closed for closing in closings):
        closing = closings[0]
        found.append(
            note(
                "unchecked",
                f"{named(network, closing)} closes {one_in(closing.ratio)}; that does not check the declination, the pace "
                "length, feet taken for metres throughout, or the start, and nothing in this log does",
                closing.circuit.span,
                "take one bearing to a mapped landmark, or walk a leg to a second known point",
            )
        )
    return found


def _named_elsewhere(
    closings: Sequence[Closing], index: int, explained: Mapping[int, Explanation]
) -> tuple[int, str, str] | None:
    """The reading named for another circuit that makes this one fail too: it runs over it, and misses by as much there."""
    own = closings[index]
    signs = {step.edge: step.sign for step in own.circuit.steps}
    for i, explanation in explained.items():
        cause = cause_of(explanation)
        if cause is None or cause[0] not in signs:
            continue
        other = closings[i]
        sign = next((step.sign for step in other.circuit.steps if step.edge == cause[0]), None)
        if sign is None:
            continue
        apart = own.misclosure_m - sign * signs[cause[0]] * other.misclosure_m
        spread = np.diagonal(own.covariance_m2) + np.diagonal(other.covariance_m2)
        if bool((settled_all(apart**2, 6) <= _SAME_MISS**2 * spread).all()):
            return cause
    return None


def _known_ends(network: Network, closing: Closing) -> tuple[Label, ...]:
    """The lines of the known points between which a tie runs: it fails where one of them lies elsewhere."""
    if closing.circuit.closed:
        return ()
    return tuple(Label(network.fixes[i].span, "") for i in closing.circuit.stations if i in network.fixes)


def nearly_met(log: Log, network: Network, drawn: Drawn) -> list[Diagnostic]:
    """A question about a new station so near an old one, by a long way round, that they may be one.

    Of the last one of a walk where nothing closes; where something does, of one at which an arm ends with nothing booked:
    whoever went there for its own sake booked something.
    """
    if len(log.legs) < CLOSES_LEAST or network.loose:
        return []
    if network.circuits:
        found = [_near_old(log, network, drawn, edge) for edge in _silent_ends(log, network)]
        return [one for one in found if one is not None]
    last = log.legs[-1]
    at_known = last.kind is LegKind.CLOSE and int(network.end[len(log.legs) - 1]) in network.fixes
    touching = sum(name == last.end for leg in log.legs for name in (leg.start, leg.end))
    if not (last.kind is LegKind.TO or at_known) or touching > 1:
        return []
    one = _near_old(log, network, drawn, len(log.legs) - 1)
    return [] if one is None else [one]


def _silent_ends(log: Log, network: Network) -> list[int]:
    """Legs to a new station from which nothing goes on, and at which nothing was booked."""
    touching = Counter(name for leg in log.legs for name in (leg.start, leg.end))
    touching.update(name for tie in log.ties for name in (tie.first, tie.second))
    legs = {leg.span for leg in log.legs}
    told = {item.address.station for item in log.items}
    told |= {one.station for one in log.addresses if one.span not in legs}
    return [
        i
        for i, leg in enumerate(log.legs)
        if leg.kind is LegKind.TO
        and touching[leg.end] == 1
        and leg.end not in told
        and int(network.end[i]) not in network.fixes
    ]


def _near_old(log: Log, network: Network, drawn: Drawn, edge: int) -> Diagnostic | None:
    last, end = log.legs[edge], int(network.end[edge])
    at_known = last.kind is LegKind.CLOSE and end in network.fixes
    raw, forest = drawn.raw.position_m, Forest(network)
    apart = np.hypot(*(raw[:, :2] - raw[end, :2]).T)
    for station in apart.argsort(kind="stable").tolist():
        way = forest.way(station, end)
        if way is None or len(way) < CLOSES_LEAST:
            continue
        at = np.array([edge for edge, _ in way], dtype=np.intp)
        error = math.sqrt(float(np.trace(drawn.vectors.covariance_m2[at][:, :2, :2].sum(axis=0))))
        if float(apart[station]) > 2.0 * error:
            return None
        name = network.names[station]
        if log.of_two_parties(name, last.end):
            continue
        if at_known and station != network.start[0]:
            return None
        begun = log.addresses[0].span if at_known and log.addresses else None
        why = "nothing was booked there" if network.circuits else "nothing closes"
        return warning(
            "nearly-met",
            f"{last.end} comes out {log.lengths.said_finely(float(apart[station]))} from {name}, no more than the "
            f"error of the walk between them, and {why}",
            begun or last.end_span,
            f"if the walk began there, write `at {last.end}` for `at {name}`"
            if begun
            else f"if it is {name}, write `close {name}` for `to {last.end}`",
        )
    return None


def far_longer(log: Log, network: Network, drawn: Drawn) -> list[Diagnostic]:
    """A question about a leg that is many times as long as every other, where no loop or tie would show it."""
    checked = {step.edge for circuit in network.circuits for step in circuit.steps}
    length = np.hypot(*drawn.vectors.observed_m[: len(log.legs), :2].T)
    if len(length) < LONGER_LEAST:
        return []
    last, longest = length.argsort(kind="stable")[-2:].tolist()
    times = float(length[longest]) / max(float(length[last]), 1.0)
    if longest in checked or times < FAR_LONGER:
        return []
    leg = log.legs[longest]
    return [
        warning(
            "far-longer",
            f"leg {leg.start} to {leg.end} is {log.lengths.said(float(length[longest]))} long, {times:.0f} times as long "
            "as the longest of the others, and nothing closes over it",
            leg.distance.span,
            "look at the page: a nought too many, or another unit",
        )
    ]


def loose_pieces(log: Log, network: Network) -> list[Diagnostic]:
    """An error for stations that no leg joins to what is placed."""
    if not network.loose:
        return []
    placed = [network.names[i] for i in np.flatnonzero(network.placed)]
    pieces = [placed, *([network.names[i] for i in piece] for piece in network.loose)]
    each = "; ".join(_listed(piece) for piece in pieces if piece)
    return [
        error(
            "pieces",
            f"the walk is in {len(pieces)} pieces that no leg joins: {each}",
            _first_line(log, network),
            "walk or book a leg between them, `tie` two names of one place, or give each piece a `control`",
        )
    ]


def _plan(
    network: Network, closing: Closing, lengths: Lengths, *, to_true_deg: float, wanted: bool
) -> Diagnostic:
    east, north = float(closing.misclosure_m[0]), float(closing.misclosure_m[1])
    distance = math.hypot(east, north)
    toward = wrap_360(math.degrees(math.atan2(east, north)) + to_true_deg)
    expected = math.sqrt(float(np.trace(closing.covariance_m2[:2, :2])))
    gap = f"misses by {lengths.said_finely(distance)} toward {round(toward) % 360:03d}"
    if not closing.circuit.closed:
        last = network.names[closing.circuit.stations[-1]]
        gap = f"puts {last} as walked {lengths.said_finely(distance)} toward {round(toward) % 360:03d} of its known place,"
    fact = (
        f"{named(network, closing)} {gap} "
        f"in {lengths.said_finely(closing.length_m)} ({one_in(closing.ratio)}); its precision leads one to expect "
        f"about {lengths.said_finely(expected)}"
    )
    if closing.q > closing.limits.refuse and not closing.used:
        left = _left_out(network, closing)
        return warning(
            "closure-fails",
            f"{fact}; {left if wanted else 'not adjusted'}",
            closing.circuit.span,
            "look for one reading that would explain it, on the page or on the ground, before adjusting"
            if closing.circuit.closed
            else "look at the readings of the walk, and at the figures of both known points",
            "adjust all the same with `adjust RULE anyway WHY`",
        )
    taken = "adjusted all the same, as the log asks" if closing.q > closing.limits.refuse else "adjusted"
    return warning(
        "closure-poor",
        f"{fact}; {taken if wanted else 'not adjusted'}",
        closing.circuit.span,
        f"{_MOST_CLOSE_BETTER[closing.tests > 1]}; look at its bearings and paces again",
    )


def _height(log: Log, network: Network, closing: Closing, *, wanted: bool) -> Diagnostic:
    lengths = log.lengths
    up = float(closing.misclosure_m[2])
    expected = math.sqrt(float(closing.covariance_m2[2, 2]))
    assert closing.q_up is not None
    fails = closing.q_up > closing.limits.refuse_up and not closing.used_up
    known = [
        network.fixes[i]
        for i in closing.circuit.stations
        if i in network.fixes and not closing.circuit.closed
    ]
    own = all(one.span.file == closing.circuit.span.file for one in known)
    lines = f", lines {listed([str(one.span.line) for one in known])}" if own else ""
    ends = f"; and at the heights of both known points{lines}" if len(known) > 1 else ""
    way = "high" if up > 0.0 else "low"
    taken = "heights not adjusted" if fails or not closing.used_up or not wanted else "heights adjusted"
    return warning(
        "heights-fail" if fails else "heights-poor",
        f"{named(network, closing)} comes back {lengths.said_finely(abs(up))} too {way}; its slopes lead one to expect "
        f"about {lengths.said_finely(expected)}; {_slopes_left_out(log, closing)}{taken}",
        closing.circuit.span,
        f"look for a slope whose sign was lost, one with a figure too many, or per cent read for degrees{ends}",
    )


def _slopes_left_out(log: Log, closing: Closing) -> str:
    """The few legs of a circuit on which no slope was booked; empty where it has none, or was walked without."""
    walked = [log.legs[step.edge] for step in closing.circuit.steps if step.edge < len(log.legs)]
    without = [leg for leg in walked if leg.slope is None and not leg.horizontal]
    if not 0 < len(without) <= FEW_WITHOUT_SLOPE or 2 * len(without) > len(walked):
        return ""
    which = listed([f"{leg.start} to {leg.end} (line {leg.span.line})" for leg in without])
    return f"no slope was booked from {which}, and it is taken as level; "


def _left_out(network: Network, closing: Closing) -> str:
    circuit = closing.circuit
    if circuit.last_control is not None:
        return f"not adjusted: control {network.names[circuit.last_control]} is not used"
    if circuit.maker >= network.leg_count:
        return "not adjusted: the tie is not used; are its two names one place?"
    return "not adjusted: its closing leg is left out"


def waiting_ties(log: Log, network: Network) -> list[Diagnostic]:
    """A note for each tie to a place that another party's log may know."""
    found = []
    for tie in log.ties:
        missing = [name for name in (tie.first, tie.second) if name not in network.index]
        if missing:
            found.append(
                note(
                    "tie-elsewhere",
                    f"{' and '.join(missing)}: no station of this log; the tie is kept, not yet computed, for when "
                    "logs are put together",
                    tie.span,
                )
            )
    return found


def _first_line(log: Log, network: Network) -> Span | None:
    """Where the first piece that nothing places begins."""
    names = {network.names[i] for i in network.loose[0]}
    spans = [leg.span for leg in log.legs if leg.start in names or leg.end in names]
    spans += [address.span for address in log.addresses if address.station in names]
    return min(spans, key=lambda span: span.line, default=None)


def _listed(names: list[str]) -> str:
    if len(names) <= SHOWN_STATIONS:
        return ", ".join(names)
    return f"{', '.join(names[: SHOWN_STATIONS - 2])}, … {names[-1]} ({len(names)} stations)"
