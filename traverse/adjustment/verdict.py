"""What is said of each loop and tie: how it closes, and what its closing can't show."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from traverse.adjustment.misread.forest import Forest
from traverse.adjustment.records import Closing, Network
from traverse.diagnostic import Diagnostic, Label, error, note, warning
from traverse.length import Lengths
from traverse.log.items import LegKind
from traverse.log.records import Log
from traverse.source import Span
from traverse.trade import LUCKY, PLAN_REFUSE, PLAN_WARN, SHORT_LOOP_M, UP_REFUSE, UP_WARN

if TYPE_CHECKING:
    from traverse.adjustment.misread.explained import Explanation
    from traverse.adjustment.misread.slips import Slip
    from traverse.adjustment.vectors import Drawn

SHOWN_STATIONS = 8
"""A longer loop is named by its ends and its middle."""
LONGER_LEAST = 4
FAR_LONGER = 5.0
"""A leg so many times as long as the longest of three others or more is asked about; common practice, no source."""
CLOSES_LEAST = 4
"""Legs between two places that may be one; a short spur comes near its start by itself."""
TOLD_SUSPECTS = 3
"""Readings that a message lists."""
SHOWN_SUSPECTS = 5
"""Readings that other messages are told under."""


def verdicts(
    log: Log,
    network: Network,
    closings: tuple[Closing, ...],
    explained: Mapping[int, Explanation],
    *,
    wanted: bool,
    sighted: bool,
) -> list[Diagnostic]:
    """Messages on the lines that close something.

    `explained` are the readings that would mend a circuit, by its index. `wanted` is False where the log asks for
    no adjustment; `sighted` says that a sight to a known point has been compared with the map.
    """
    found: list[Diagnostic] = []
    for i, closing in enumerate(closings):
        said: list[Diagnostic] = []
        high = closing.q_up is not None and closing.q_up > UP_WARN
        if closing.q > PLAN_WARN:
            plan = _plan(network, closing, log.lengths, wanted=wanted)
            if high:
                plan = replace(
                    plan, message=f"{plan.message}; {_heights_too(closing, log.lengths, wanted=wanted)}"
                )
            said.append(plan)
        elif high:
            said.append(_height(network, closing, log.lengths, wanted=wanted))
        if said and i in explained and (closing.q > PLAN_REFUSE or not said[0].code.startswith("closure")):
            # A loop between the two limits may be ordinary bad work: it is asked about and accuses nobody.
            said[0] = _with_suspects(said[0], log, network, closing, explained[i])
        elif said:
            said[0] = replace(said[0], rests_on=_over_legs(said[0], log, network, closing))
        if closing.q < LUCKY and closing.length_m > SHORT_LOOP_M:
            said.append(
                note(
                    "closure-lucky",
                    f"{named(network, closing)} closes {_ratio(closing)}, better than ninety-nine in a hundred "
                    "would at this precision: luck, or a stated precision that is too poor",
                    closing.circuit.span,
                )
            )
        found += said
    if closings and not sighted and all(closing.circuit.closed for closing in closings):
        closing = closings[0]
        found.append(
            note(
                "unchecked",
                f"{named(network, closing)} closes {_ratio(closing)}; that does not check the declination, the pace "
                "length, feet taken for metres throughout, or the start, and nothing in this log does",
                closing.circuit.span,
                "take one bearing to a mapped landmark, or walk a leg to a second known point",
            )
        )
    return found


def nearly_met(log: Log, network: Network, drawn: Drawn) -> list[Diagnostic]:
    """A question where nothing closes and the walk ends on a new station so near an old one that they may be one."""
    if network.circuits or len(log.legs) < CLOSES_LEAST or network.loose:
        return []
    last = log.legs[-1]
    end = int(network.end[len(log.legs) - 1])
    raw, forest = drawn.raw.position_m, Forest(network)
    touching = sum(name == last.end for leg in log.legs for name in (leg.start, leg.end))
    if last.kind is not LegKind.TO or touching > 1:
        return []
    apart = np.hypot(*(raw[:, :2] - raw[end, :2]).T)
    for station in apart.argsort(kind="stable").tolist():
        way = forest.way(station, end)
        if way is None or len(way) < CLOSES_LEAST:
            continue
        at = np.array([edge for edge, _ in way], dtype=np.intp)
        error = math.sqrt(float(np.trace(drawn.vectors.covariance_m2[at][:, :2, :2].sum(axis=0))))
        if float(apart[station]) > 2.0 * error:
            return []
        name = network.names[station]
        return [
            warning(
                "nearly-met",
                f"{last.end} comes out {log.lengths.said_finely(float(apart[station]))} from {name}, no more than the "
                "error of the walk between them, and nothing closes",
                last.end_span,
                f"if it is {name}, write `close {name}` for `to {last.end}`",
            )
        ]
    return []


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
    listed = "; ".join(_listed(piece) for piece in pieces if piece)
    return [
        error(
            "pieces",
            f"the walk is in {len(pieces)} pieces that no leg joins: {listed}",
            _first_line(log, network),
            "walk or book a leg between them, `tie` two names of one place, or give each piece a `control`",
        )
    ]


def named(network: Network, closing: Closing) -> str:
    """A loop or tie by its stations, as it would be said: `loop 1-2-3-1`."""
    names = [network.names[i] for i in closing.circuit.stations]
    if closing.circuit.closed and not closing.circuit.is_tie:
        names.append(names[0])
    if len(names) > SHOWN_STATIONS:
        half = SHOWN_STATIONS // 2
        names = [*names[: half - 1], "…", *names[-half:]]
    return f"{'tie' if closing.circuit.is_tie else 'loop'} {'-'.join(names)}"


def _ratio(closing: Closing) -> str:
    distance = float(np.hypot(closing.misclosure_m[0], closing.misclosure_m[1]))
    return f"1 in {closing.length_m / distance:.0f}" if distance >= 0.0005 else "exactly"


def _plan(network: Network, closing: Closing, lengths: Lengths, *, wanted: bool) -> Diagnostic:
    east, north = float(closing.misclosure_m[0]), float(closing.misclosure_m[1])
    distance = math.hypot(east, north)
    toward = math.degrees(math.atan2(east, north)) % 360.0
    expected = math.sqrt(float(np.trace(closing.covariance_m2[:2, :2])))
    gap = f"misses by {lengths.said_finely(distance)} toward {round(toward) % 360:03d}"
    if not closing.circuit.closed:
        last = network.names[closing.circuit.stations[-1]]
        gap = f"puts {last} as walked {lengths.said_finely(distance)} toward {round(toward) % 360:03d} of its known place,"
    fact = (
        f"{named(network, closing)} {gap} "
        f"in {lengths.said_finely(closing.length_m)} ({_ratio(closing)}); its precision leads one to expect "
        f"about {lengths.said_finely(expected)}"
    )
    if closing.q > PLAN_REFUSE and not closing.used:
        left = _left_out(network, closing)
        return warning(
            "closure-fails",
            f"{fact}; {left if wanted else 'not adjusted'}",
            closing.circuit.span,
            "look for one reading that would explain it, on the page or on the ground, before adjusting"
            if closing.circuit.closed
            else "look at the readings of the walk, and at the figures of both known points",
            "to adjust all the same: `adjust RULE anyway WHY`",
        )
    taken = "adjusted all the same, as the log asks" if closing.q > PLAN_REFUSE else "adjusted"
    return warning(
        "closure-poor",
        f"{fact}; {taken if wanted else 'not adjusted'}",
        closing.circuit.span,
        "nineteen loops in twenty close better; look at its bearings and paces again",
    )


def _heights_fail(closing: Closing) -> bool:
    return closing.q_up is not None and closing.q_up > UP_REFUSE and not closing.used_up


def _too_high(closing: Closing, lengths: Lengths) -> str:
    up = float(closing.misclosure_m[2])
    return f"{lengths.said_finely(abs(up))} too {'high' if up > 0.0 else 'low'}"


def _heights_taken(closing: Closing, *, wanted: bool) -> str:
    fails = _heights_fail(closing) or not closing.used_up or not wanted
    return "heights not adjusted" if fails else "heights adjusted"


def _heights_too(closing: Closing, lengths: Lengths, *, wanted: bool) -> str:
    """Of a circuit that fails in plan and in height, which one reading may do."""
    return f"it comes back {_too_high(closing, lengths)} as well; {_heights_taken(closing, wanted=wanted)}"


def _height(network: Network, closing: Closing, lengths: Lengths, *, wanted: bool) -> Diagnostic:
    expected = math.sqrt(float(closing.covariance_m2[2, 2]))
    return warning(
        "heights-fail" if _heights_fail(closing) else "heights-poor",
        f"{named(network, closing)} comes back {_too_high(closing, lengths)}; its slopes lead one to expect "
        f"about {lengths.said_finely(expected)}; {_heights_taken(closing, wanted=wanted)}",
        closing.circuit.span,
        "look for a slope whose sign was lost, or per cent read for degrees",
    )


def _with_suspects(
    said: Diagnostic, log: Log, network: Network, closing: Closing, explanation: Explanation
) -> Diagnostic:
    """The message with the readings that would explain it, each at its own line."""
    explained = explanation.ranked
    if not explained:
        ends = [network.names[closing.circuit.stations[i]] for i in (0, -1)]
        hint = (
            "no one slip that is tried explains it: a figure was misread in another way, or more than one was"
        )
        if explanation.together is not None:
            both = " and ".join(
                f"{log.legs[slip.edge].start} to {log.legs[slip.edge].end} ({slip.slip}, {slip.reading}, "
                f"line {log.legs[slip.edge].span.line})"
                for slip in explanation.together
            )
            hint = f"no one slip explains it; two together would: {both}"
        if not closing.circuit.closed:
            hint += f"; look at the legs, and at the figures of the known points {' and '.join(ends)}"
        return replace(said, hints=(hint, *said.hints[1:]))
    labels, rests_on = [], []
    line = closing.circuit.span.line
    east, north, up = (float(part) for part in closing.misclosure_m)
    now = math.hypot(east, north) if closing.q > PLAN_WARN else abs(up)
    for number, one in enumerate(explained[:SHOWN_SUSPECTS], 1):
        leg = log.legs[one.slip.edge] if one.slip.edge >= 0 else None
        span = _stands(log, one.slip)
        assert span is not None
        after = log.lengths.said_finely(one.misclosure_after_m)
        rests_on.append(
            Label(
                span,
                f"{one.slip.reading}, {one.slip.slip}, would close {named(network, closing)} (line {line}) to {after}; "
                f"it misses by {log.lengths.said_finely(now)}{_taken(said)}",
            )
        )
        whose = f"{leg.start} to {leg.end}" if leg is not None else one.slip.what
        labels.append(
            Label(
                span,
                f"({number}) {whose}: {one.slip.reading}, {one.slip.slip}; it would close to {after}",
            )
        )
    count = len(explained)
    fact = "one wrong reading would explain it" if count == 1 else f"{count} single readings would explain it"
    hint = (
        "look at that figure on the page first"
        if count == 1
        else "look at them on the page, the likeliest first"
    )
    if not closing.circuit.closed and all(one.slip.edge >= 0 for one in explained):
        first, last = (network.names[closing.circuit.stations[i]] for i in (0, -1))
        hint += f"; {first} or {last} may lie elsewhere as well: look at the figures of both known points"
    if explanation.decides is not None:
        hint += f"; {explanation.decides}"
    if count > TOLD_SUSPECTS:
        hint = f"{count - TOLD_SUSPECTS} more would fit as well; {hint}"
    return replace(
        said,
        message=f"{said.message}; {fact}",
        labels=tuple(labels[:TOLD_SUSPECTS]),
        hints=(hint, *said.hints[1:]),
        rests_on=tuple(rests_on),
        doubts=tuple(label.span for label in labels),
    )


def _taken(said: Diagnostic) -> str:
    """What became of a circuit, after what it misses by."""
    return " and is not adjusted" if said.code.endswith(("-fails", "-fail")) else ""


def _over_legs(said: Diagnostic, log: Log, network: Network, closing: Closing) -> tuple[Label, ...]:
    """The legs of a circuit of which no reading is accused: where one is in doubt by itself, the gap is told there."""
    gap = log.lengths.said_finely(math.hypot(*(float(part) for part in closing.misclosure_m[:2])))
    words = f"{named(network, closing)} (line {closing.circuit.span.line}) misses by {gap}{_taken(said)}"
    return tuple(
        Label(log.legs[step.edge].span, words) for step in closing.circuit.steps if step.edge < len(log.legs)
    )


def _stands(log: Log, slip: Slip) -> Span | None:
    """The line on which a reading stands that may be wrong; of a leg begun elsewhere the `at` above it, where there is one."""
    if slip.edge < 0:
        return slip.span
    leg = log.legs[slip.edge]
    return log.begun_at.get(leg.index, leg.span) if slip.begun_elsewhere else leg.span


def _left_out(network: Network, closing: Closing) -> str:
    circuit = closing.circuit
    if circuit.last_control is not None:
        return f"not adjusted: control {network.names[circuit.last_control]} is not used"
    if circuit.maker >= network.leg_count:
        return "not adjusted: the tie is not used"
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
