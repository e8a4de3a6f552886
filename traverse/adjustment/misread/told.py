"""Suspects in the message of what closes badly: one cause, one message."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

from traverse.adjustment.records import Closing, Network
from traverse.diagnostic import Diagnostic, Label, warning
from traverse.length import Lengths
from traverse.log.items import Leg
from traverse.log.records import Log
from traverse.settled import settled
from traverse.source import Span
from traverse.trade import ALONE, MOST_LEFT
from traverse.wording import listed

if TYPE_CHECKING:
    from traverse.adjustment.misread.explained import Explained, Explanation, LegLeftOut
    from traverse.adjustment.misread.slips import Slip

SHOWN_STATIONS = 8
"""A longer loop is named by its ends and its middle."""
TOLD_SUSPECTS = 3
"""Readings that a message lists."""
SHOWN_SUSPECTS = 5
"""Readings that other messages are told under."""


def named(network: Network, closing: Closing) -> str:
    """A loop or tie by its stations, as it would be said: `loop 1-2-3-1`."""
    names = [network.names[i] for i in closing.circuit.stations]
    if closing.circuit.closed and not closing.circuit.is_tie:
        names.append(names[0])
    if len(names) > SHOWN_STATIONS:
        half = SHOWN_STATIONS // 2
        names = [*names[: half - 1], "…", *names[-half:]]
    between = "–" if any("-" in name for name in names) else "-"
    return f"{'tie' if closing.circuit.is_tie else 'loop'} {between.join(names)}"


def besides(closing: Closing, lengths: Lengths) -> str:
    """What a height fails by where the plan fails as well, or is poor."""
    up = float(closing.misclosure_m[2])
    east, north = closing.misclosure_m[:2].tolist()
    if closing.q > closing.limits.refuse:
        return f"it comes back {lengths.said_finely(abs(up))} too {'high' if up > 0.0 else 'low'} as well"
    return (
        f"in plan it misses by {lengths.said_finely(math.hypot(east, north))}, more than one expects as well"
    )


def cause_of(explanation: Explanation) -> tuple[int, str, str] | None:
    """The reading that is named first; None where none is."""
    if explanation.left_out is not None and not explanation.ranked:
        skipped = explanation.left_out.skipped
        return skipped.leg.index, skipped.name, "left out"
    if not explanation.ranked:
        return None
    slip = explanation.ranked[0].slip
    return slip.edge, slip.what, slip.reading


def add_consequence(found: list[Diagnostic], at: int, network: Network, closing: Closing) -> None:
    """One cause, one message: what else fails by it is told there."""
    one = found[at]
    words = (
        f"it would mend {named(network, closing)} (line {closing.circuit.span.line}), which fails, as well"
    )
    found[at] = replace(one, message=f"{one.message}; {words}")


def against_each_other(
    log: Log, network: Network, closings: tuple[Closing, ...], explained: Mapping[int, Explanation]
) -> Diagnostic:
    """Circuits that close within their limits one by one, and contradict each other where they share legs."""
    from traverse.adjustment.misread.trials import likeliest

    i = min(
        (i for i, one in explained.items() if one.ranked),
        key=lambda i: settled(explained[i].ranked[0].rank, 6),
    )
    closing = closings[i]
    every = likeliest([one for several in explained.values() for one in several.ranked])
    worst = closings[max(range(len(closings)), key=lambda k: (settled(closings[k].q, 6), -k))]
    loops = sum(one.circuit.closed for one in closings)
    lengths = log.lengths
    what = "loops" if loops == len(closings) else "ties" if not loops else "loops and ties"
    said = warning(
        "closures-disagree",
        f"each of the {len(closings)} {what} closes near enough by itself, {named(network, worst)} the worst with "
        f"{lengths.said_finely(math.hypot(*worst.misclosure_m[:2].tolist()))}, but where they share legs or points they "
        "contradict each other",
        closing.circuit.span,
        "look at the legs that they share",
        "they are adjusted all the same",
    )
    return with_suspects(said, log, network, closing, replace(explained[i], ranked=tuple(every)))


def with_suspects(
    said: Diagnostic, log: Log, network: Network, closing: Closing, explanation: Explanation
) -> Diagnostic:
    """The message with the readings that would explain it, each at its own line, and a leg that may be a copy."""
    told = _with_suspects(said, log, network, closing, explanation)
    copied = _copied(log, closing)
    if copied is None or explanation.iron:
        return told
    first, second = copied
    words = (
        f"{second.start} to {second.end} (line {second.span.line}) has every figure of {first.start} to {first.end} "
        f"(line {first.span.line}), as if it had been copied"
    )
    rest = told.message.removeprefix(said.message).removeprefix("; ")
    return replace(
        told,
        message=f"{said.message}; {words}" + (f"; else {rest}" if rest else ""),
        doubts=(*told.doubts, first.span, second.span),
    )


def _copied(log: Log, closing: Closing) -> tuple[Leg, Leg] | None:
    """Two legs of a circuit, one below the other on the page, with the same figures throughout."""
    edges = sorted({step.edge for step in closing.circuit.steps if step.edge < len(log.legs)})
    for a, b in pairwise(edges):
        first, second = log.legs[a], log.legs[b]
        if b == a + 1 and first.back_bearing is not None and _figures(first) == _figures(second):
            return first, second
    return None


def _figures(leg: Leg) -> tuple[object, ...]:
    slope = None if leg.slope is None else (leg.slope.value, leg.slope.kind)
    back = None if leg.back_bearing is None else leg.back_bearing.azimuth_deg
    return leg.bearing.azimuth_deg, leg.distance.value, leg.distance.unit, slope, back


def _with_suspects(
    said: Diagnostic, log: Log, network: Network, closing: Closing, explanation: Explanation
) -> Diagnostic:
    explained = explanation.ranked
    if explanation.iron and explanation.closes_m is not None:
        iron = " and ".join(explanation.iron)
        hint = (
            f"answer first what is asked of iron at {iron}: with it taken out this would close to "
            f"{log.lengths.said_finely(explanation.closes_m)}"
        )
        return replace(said, hints=(hint, *said.hints[1:]))
    lost = explanation.left_out
    loss, look = _leg_lost(log, lost) if lost is not None else ("", "")
    if lost is not None and not explained:
        return replace(
            said,
            message=f"{said.message}; {loss} would explain it",
            hints=(look, *said.hints[1:]),
            rests_on=over_legs(said, log, network, closing),
            doubts=(lost.skipped.leg.span,),
        )
    if not explained:
        ends = [network.names[closing.circuit.stations[i]] for i in (0, -1)]
        hint = "no one slip that is tried explains it, nor two: a figure was misread in another way, or more were"
        over = over_legs(said, log, network, closing)
        if explanation.together is not None:
            both = " and ".join(
                f"{log.legs[slip.edge].start} to {log.legs[slip.edge].end} ({slip.slip}, {slip.reading}, "
                f"line {log.legs[slip.edge].span.line})"
                for slip in explanation.together.slips
            )
            hint = "no one slip explains it; "
            hint += (
                f"two together would: {both}"
                if explanation.together.alone
                else f"several pairs would, the likeliest {both}"
            )
            over = tuple(Label(label.span, f"{label.text}; {hint}") for label in over)
        if not closing.circuit.closed:
            hint += f"; look at the legs, and at the figures of the known points {' and '.join(ends)}"
        return replace(said, hints=(hint, *said.hints[1:]), rests_on=over)
    labels: list[Label] = []
    rests_on: list[Label] = []
    asked_there: list[Label] = []
    line = closing.circuit.span.line
    east, north, up = (float(part) for part in closing.misclosure_m)
    now = math.hypot(east, north) if closing.q > closing.limits.warn else abs(up)
    lines = _lines(log, explained)
    lone = {one.span for one in log.lone_slopes}
    for number, one in enumerate(explained, 1):
        leg = log.legs[one.slip.edge] if one.slip.edge >= 0 else None
        span = _stands(log, one.slip)
        assert span is not None
        after = log.lengths.said_finely(one.misclosure_after_m)
        # Of the one slope in its measure that is asked about there, however likely others are.
        asked = leg is not None and leg.slope is not None and leg.slope.span in lone
        asked = asked and one.slip.is_other_measure
        if asked or _told_there(one, explanation, now):
            meant = leg.bearing.span if leg is not None and one.slip.is_bearing and span == leg.span else span
            (asked_there if asked else rests_on).append(
                Label(
                    meant,
                    f"{one.slip.reading}, {one.slip.slip}, would close {named(network, closing)} (line {line}) to {after}; "
                    f"it misses by {log.lengths.said_finely(now)}{_taken(said, network, closing)}{_or_another(span, lines)}",
                )
            )
        if number > SHOWN_SUSPECTS:
            continue
        whose = f"{leg.start} to {leg.end}" if leg is not None else one.slip.what
        labels.append(
            Label(
                span,
                f"({number}) {whose}: {one.slip.reading}, {one.slip.slip}; it would close to {after}",
            )
        )
    count, many = len(explained), len(explanation.named) < len(explained)
    if explained[0].slip.is_vague:
        others = (
            f"one other {'bearing' if explained[0].slip.is_bearing else 'distance'} would"
            if count == 1
            else f"each of {count} other readings would"
        )
        fact = f"no usual slip explains it; {others}"
    else:
        fact = (
            "one wrong reading would explain it"
            if count == 1
            else f"{count} single readings would explain it"
            + (f", {explanation.alike} of them about equally, so none is accused" if many else "")
        )
    hint = (
        "look at that figure on the page first"
        if count == 1
        else "look at them on the page, the likeliest first"
    )
    if not closing.circuit.closed and all(one.slip.edge >= 0 for one in explained):
        between = [closing.circuit.stations[i] for i in (0, -1)]
        if not all(network.fixes[i].sure for i in between):
            first, last = (network.names[i] for i in between)
            hint += f"; {first} or {last} may lie elsewhere as well: look at the figures of both known points"
    if explanation.decides is not None:
        hint += f"; {explanation.decides}"
    if count > TOLD_SUSPECTS:
        hint = f"{count - TOLD_SUSPECTS} more would fit as well{_at_lines(lines[TOLD_SUSPECTS:], told=[label.span.line for label in labels[:TOLD_SUSPECTS]])}; {hint}"
    if lost is not None:
        fact, hint = f"{loss} would explain it; else {fact}", f"{look}; else {hint}"
    if many:
        labels, rests_on = labels[:TOLD_SUSPECTS], rests_on[:TOLD_SUSPECTS]
    return replace(
        said,
        message=f"{said.message}; {fact}",
        labels=tuple(labels[:TOLD_SUSPECTS]),
        hints=(hint, *said.hints[1:]),
        rests_on=(*asked_there, *rests_on),
        doubts=(*((lost.skipped.leg.span,) if lost is not None else ()), *(label.span for label in labels)),
    )


def _leg_lost(log: Log, lost: LegLeftOut) -> tuple[str, str]:
    """What a leg that was left out is known by, and where to look for it."""
    skipped = lost.skipped
    return (
        (
            f"stations are numbered on by one, and no {skipped.name} stands between {skipped.before} and {skipped.after}: a leg of "
            f"{lost.said(log.lengths)} that was left out"
        ),
        f"look on the page for {skipped.name}, its leg and what was booked there, before line {skipped.leg.span.line}",
    )


def _lines(log: Log, explained: Sequence[Explained]) -> list[int]:
    return [span.line for one in explained if (span := _stands(log, one.slip)) is not None]


def _at_lines(lines: Sequence[int], *, told: Sequence[int]) -> str:
    """At which lines others are, that are not told themselves; each once."""
    others = [str(line) for line in sorted(set(lines) - set(told))]
    return f", also at line{'s' if len(others) > 1 else ''} {listed(others)}" if others else ""


def _told_there(one: Explained, explanation: Explanation, gap_m: float) -> bool:
    """Whether a circuit is told under what else is asked at the line of a reading: not where another is ten times likelier.

    Nor where it would leave most of the gap. Bearings that contradict each other say nothing of the length of their leg.
    """
    if one.misclosure_after_m > MOST_LEFT * gap_m:
        return False
    likely = settled(one.rank - explanation.ranked[0].rank, 6) <= ALONE
    return likely and (one.slip.is_bearing or one.slip.edge not in explanation.contradicted)


def _or_another(span: Span, lines: Sequence[int]) -> str:
    """That a reading is not the only one that would do, where its suspicion is told by itself at its own line."""
    others = sorted({line for line in lines if line != span.line})
    if not others:
        return ""
    shown = others[:SHOWN_SUSPECTS]
    more = "" if len(shown) == len(others) else " and more"
    return f"; so would another reading at line{'s' if len(others) > 1 else ''} {listed([str(one) for one in shown])}{more}"


def _taken(said: Diagnostic, network: Network, closing: Closing) -> str:
    """What became of a circuit, after what it misses by."""
    if not said.code.endswith(("-fails", "-fail")):
        return ""
    dropped = closing.circuit.last_control if not closing.used else None
    point = f": control {network.names[dropped]} is not used" if dropped is not None else ""
    plan = closing.q > closing.limits.refuse or not closing.used
    return f" and is not adjusted{point}" if plan else "; its heights are not adjusted"


def over_legs(said: Diagnostic, log: Log, network: Network, closing: Closing) -> tuple[Label, ...]:
    """The legs of a circuit of which no reading is accused: where one is in doubt by itself, the gap is told there."""
    east, north, up = (float(part) for part in closing.misclosure_m)
    plan = closing.q > closing.limits.warn
    gap = log.lengths.said_finely(math.hypot(east, north) if plan else abs(up)) + (
        "" if plan else " in height"
    )
    words = f"{named(network, closing)} (line {closing.circuit.span.line}) misses by {gap}{_taken(said, network, closing)}"
    return tuple(
        Label(log.legs[step.edge].span, words) for step in closing.circuit.steps if step.edge < len(log.legs)
    )


def _stands(log: Log, slip: Slip) -> Span | None:
    """The line on which a reading stands that may be wrong; of a leg begun elsewhere the `at` above it, where there is one."""
    if slip.edge < 0:
        return slip.span
    leg = log.legs[slip.edge]
    return log.begun_at.get(leg.index, leg.span) if slip.begun_elsewhere else leg.span
