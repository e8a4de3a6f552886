"""Ties between parties that are not used: what speaks against each, and which stations lie there instead."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from traverse.adjustment.weighed_ties import TieDoubt
from traverse.diagnostic import Diagnostic, Label, warning
from traverse.location.records import PlaceKind, Survey
from traverse.log.items import Tie
from traverse.log.records import Log
from traverse.record import record
from traverse.settled import settled
from traverse.wording import listed


@record(frozen=True, slots=True, kw_only=True)
class DoubtedTie:
    """A tie that is not used, and why."""

    tie: Tie
    against: tuple[Tie, ...]
    """Those that it contradicts, where nothing says which of them is wrong."""
    alike: tuple[Tie, ...]
    """Others that are not used and miss alike."""
    doubt: TieDoubt
    met: tuple[int, int] | None = None
    """How many stations of the one party come out where the other stood with the one tie that it contradicts, and with this
    one, where that tells them apart."""


def said_of_ties(log: Log, survey: Survey, unused: Sequence[DoubtedTie]) -> Iterator[Diagnostic]:
    """What is asked at each tie that is not used; of those that miss alike at the first.

    `log` and `survey` are as they stand without them.
    """
    told: list[Tie] = []
    for one in unused:
        if one.tie not in told:
            told += [one.tie, *one.alike]
            yield _contradicted(log, one) if one.against else _outvoted(log, survey, one)


def _outvoted(log: Log, survey: Survey, one: DoubtedTie) -> Diagnostic:
    """All the rest speaks against it."""
    count = one.doubt.borne_out
    return warning(
        "tie-differs",
        f"{_gap(log, one)}, while {count} other ties of {_parties(log, one.tie)} agree and no reading of "
        f"a leg explains it; the tie is not used{_instead(log, survey, one.tie)}",
        one.tie.span,
        "ask which stations they were" + _to_type(log, survey, one.tie),
    )


def _contradicted(log: Log, one: DoubtedTie) -> Diagnostic:
    """It and others can't all be right, and nothing says which is wrong."""
    these = [one.tie, *one.alike]
    call, those = _called(these), _called(one.against)
    apart = log.lengths.said_finely(one.doubt.gap_m)
    expected = log.lengths.said_finely(one.doubt.expected_m)
    if len(these) == 1 and len(one.against) == 1:
        rest = "one of them is wrong"
        on = "each rests on its own line, and no third place bears one of them out"
        if one.met is not None:
            on = (
                f"{one.met[0]} more stations of the two parties come out together with {one.against[0].first} to "
                f"{one.against[0].second}, and {one.met[1] or 'none'} with the other: that is the one to look at"
            )
    else:
        rest = "one side is wrong"
        on = f"{len(these)} and {len(one.against)} that agree among themselves are too few to say which"
    return warning(
        "tie-differs",
        f"{call} and {those} disagree by {apart}, where about {expected} is expected; {rest}, or a party lies turned; {on}"
        f"; {_called(one.against)} {'are' if len(one.against) > 1 else 'is'} used meanwhile",
        one.tie.span,
        f"ask which stations they were; a third place of {_parties(log, one.tie)} decides",
        labels=tuple(Label(tie.span, "contradicts it") for tie in one.against),
    )


def _gap(log: Log, one: DoubtedTie) -> str:
    apart = log.lengths.said_finely(one.doubt.gap_m)
    expected = log.lengths.said_finely(one.doubt.expected_m)
    return f"{one.tie.first} and {one.tie.second} come out {apart} apart by all the rest, where about {expected} is expected"


def _called(ties: Sequence[Tie]) -> str:
    return listed([f"tie {one.first} to {one.second} (line {one.span.line})" for one in ties])


def _parties(log: Log, tie: Tie) -> str:
    parties = sorted({party for name in (tie.first, tie.second) if (party := log.party_of(name)) is not None})
    return listed([log.party_letters[party] for party in parties])


def _instead(log: Log, survey: Survey, tie: Tie) -> str:
    """Which station of the other party comes out where each of the two does."""
    near = [f"{name} comes out {log.lengths.said_finely(apart)} from {other}" for name, other, apart in _near(log, survey, tie)]  # fmt: skip
    return f"; {' and '.join(near)}" if near else ""


def _to_type(log: Log, survey: Survey, tie: Tie) -> str:
    pairs = [f"`tie {name} to {other}`" for name, other, _ in _near(log, survey, tie)]
    return f"; {' or '.join(pairs)} would agree" if pairs else ""


def _near(log: Log, survey: Survey, tie: Tie) -> Iterator[tuple[str, str, float]]:
    """Each of the two places with the other party's station nearest to it, where that is no more than three errors off."""
    places = survey.places
    for name, of in ((tie.first, tie.second), (tie.second, tie.first)):
        party, here = log.party_of(of), places.get(name)
        if here is None:
            continue
        found = [
            (settled(math.dist((here.east_m, here.north_m), (there.east_m, there.north_m)), 3), other)
            for other, there in places.items()
            if other not in {name, of}
            and log.party_of(other) == party
            and there.kind is not PlaceKind.SIGHTED
        ]
        if not found:
            continue
        apart, other = min(found)
        there = places[other]
        sd = (here.sd_east_m, here.sd_north_m, there.sd_east_m, there.sd_north_m)
        if apart <= 3.0 * math.hypot(*(one or 0.0 for one in sd)):
            yield name, other, apart
