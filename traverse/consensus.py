"""Which of several parties fit on each other, told before they are put together; and where those lie that do not."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import field, replace

import numpy as np

from traverse.adjustment.calibration import PacedAlike, stretches
from traverse.adjustment.closure import accusing_limits, judge_circuits, suspicious
from traverse.adjustment.hanging import hung_last, judge_alone
from traverse.adjustment.network import build_network
from traverse.adjustment.records import Closing, Floats, Network
from traverse.adjustment.vectors import Drawn, draw
from traverse.adjustment.weighed_ties import doubted
from traverse.diagnostic import Diagnostic, Outcome, warning
from traverse.location.crs import Grid
from traverse.location.doubted_ties import DoubtedTie, said_of_ties
from traverse.location.frame import grid_of
from traverse.location.known_points import known_points
from traverse.location.near_parties import near_parties
from traverse.location.party_fits import (
    PartyFit,
    at_known_places,
    caused_by,
    fit_on_others,
    names_of_others,
    party_fit,
    shared_with_others,
    undecided,
)
from traverse.location.records import (
    Closure,
    Fit,
    LoopKind,
    PartyCheck,
    PlaceKind,
    Survey,
    Suspect,
    WalkAside,
)
from traverse.log.items import Leg, Tie
from traverse.log.readings import Bearing
from traverse.log.records import Log, PartyLog
from traverse.log.united import without_places
from traverse.record import record
from traverse.reduction.attraction import local_attraction
from traverse.reduction.reduce import reduce_legs
from traverse.settled import settled_all
from traverse.source import Span
from traverse.survey import survey_log

_KNOWN_POINTS = ""
"""Stands among files for what is known apart from any party."""
_OF_LOOPS = frozenset({"closure-fails", "closures-disagree", "heights-fail"})
"""Messages about its own loops that a party is told although it takes no part."""
_MOST = 0.5
"""Share of what runs over a party that must fail before it is the party that does not fit; common practice, no source."""
_MET_LEAST = 3
"""Stations of two parties that come together from which on their walks tell which of two ties is right, if they are half of
them and four times as many as with the other; common practice, no source."""


@record(frozen=True, slots=True, kw_only=True)
class Misfit:
    """A party that does not fit on what it shares with the others."""

    party: PartyLog
    fit: PartyFit | None
    """Turn and scale, where it differs as a whole."""


@record(frozen=True, slots=True, kw_only=True)
class JudgedParties:
    """Parties that take no part, and those of which nothing says which is wrong."""

    log: Log
    """Of all of them."""
    aside: tuple[Misfit, ...] = ()
    undecided: frozenset[str] = frozenset()
    """Files; also of parties that do not fit, and without which the others are not joined."""
    hung: frozenset[str] = frozenset()
    """Files of those whose own loop fails: they hold no other."""
    by_open_tie: frozenset[str] = frozenset()
    """Files of those that only one of two ties places which contradict each other."""
    unused: tuple[DoubtedTie, ...] = ()
    """Ties between parties that are not used."""
    points: frozenset[str] = frozenset()
    """Known points that all else speaks against."""
    missing: frozenset[str] = frozenset()
    """Files of parties with a loop of their own that is not adjusted."""
    borne_out: frozenset[str] = frozenset()
    """Known points between which a sound party closes."""
    usual: bool = False
    """Whether one of them lies as a slip that people make in a heading would have it."""
    said: tuple[Diagnostic, ...] = ()
    loops: Mapping[str, Closing] = field(default_factory=dict)
    """By file of a party the worst loop that it closes by itself."""


def part_parties(log: Log) -> JudgedParties:
    """Ties that are not used, and parties that do not fit on the rest, with the question at the line of each.

    A party whose own loop fails would fail with every other, and hide which of them differs: the others are weighed
    without it, and it with those that are found sound.
    """
    if len(log.parties) + any(leg.span.file == log.file for leg in log.legs) < 2:
        return JudgedParties(log=log)
    by_itself = _alone(log)
    alone = judge_alone(log, by_itself)
    shaky = alone.failing
    sound = _weighed(log_without(log, shaky), shaky) if shaky else JudgedParties(log=log)
    if sound.undecided:
        # Too few are sound to bear each other out: those with a slip in one reading may tell which of them differs.
        every = _weighed(log, shaky)
        sound = sound if every.undecided or not every.aside else JudgedParties(log=log)
    absent = {one.party.file for one in sound.aside} | sound.undecided
    rest = without_ties(log_without(log, absent) if absent else log, sound.unused)
    rest = _without_points(rest, sound.points)
    judged = _together(sound, _weighed(rest, shaky))
    for _ in log.parties:
        hidden = _hidden(log, judged, shaky)
        if hidden is None:
            break
        judged = hidden
    used = without_ties(log, judged.unused)
    hung = (shaky | alone.off_points - judged.undecided) - {one.party.file for one in judged.aside}
    points, said = _points_beside_slips(used, hung, judged.points)
    return replace(
        judged,
        points=judged.points | points,
        missing=alone.missing,
        loops=_worst_loops(by_itself),
        borne_out=alone.borne_out - judged.points - points,
        said=(*judged.said, *said),
        log=replace(used, parties=tuple(replace(one, hung=one.file in hung) for one in log.parties)),
        hung=hung,
        by_open_tie=_by_open_ties(used, judged),
        unused=tuple(sorted(judged.unused, key=lambda one: _places(log, one.tie))),
    )


def _by_open_ties(used: Log, judged: JudgedParties) -> frozenset[str]:
    """Files of parties that only one of the ties places which contradict each other, where nothing tells the right one.

    What these ties alone join is taken apart: what a known point holds stays, else the most legs; the rest may lie as the
    other tie says.
    """
    doubts = [one for one in judged.unused if one.against and one.met is None]
    if not doubts:
        return frozenset()
    against = {tie for one in doubts for tie in one.against}
    aside = {one.party.file for one in judged.aside}
    legs = [leg for leg in used.legs if leg.span.file not in aside]
    group = {name: {name} for leg in legs for name in (leg.start, leg.end)}
    joined = [
        *((leg.start, leg.end) for leg in legs),
        *((tie.first, tie.second) for tie in used.ties if tie not in against),
    ]
    for one, other in joined:
        if one in group and other in group and group[one] is not group[other]:
            less, more = sorted((group[one], group[other]), key=len)
            more |= less
            group |= dict.fromkeys(less, more)
    ends = [
        name
        for one in doubts
        for tie in (one.tie, *one.alike, *one.against)
        for name in (tie.first, tie.second)
    ]
    pieces = {id(group[name]): group[name] for name in ends if name in group}
    held = {one.name for one in used.controls}
    if not any(held & names for names in pieces.values()) and pieces:
        held = max(
            pieces.values(), key=lambda names: (sum(leg.start in names for leg in legs), sorted(names))
        )
    loose = [names for names in pieces.values() if not held & names]
    return frozenset(leg.span.file for leg in legs if any(leg.start in names for names in loose))


def _alone(log: Log) -> dict[str, tuple[Network, tuple[Closing, ...]]]:
    """By file of each party what it closes over its own legs, and between known points."""
    found = {}
    for file in sorted({leg.span.file for leg in log.legs}):
        network, _, _, closings = _closings(walks_of(log, [leg for leg in log.legs if leg.span.file == file]))
        found[file] = network, closings
    return found


def _worst_loops(alone: Mapping[str, tuple[Network, tuple[Closing, ...]]]) -> dict[str, Closing]:
    loops = {file: [one for one in closings if one.circuit.closed] for file, (_, closings) in alone.items()}
    return {file: max(some, key=lambda one: one.q) for file, some in loops.items() if some}


def _party_checks(parting: JudgedParties, whole: AbstractSet[str]) -> Iterator[PartyCheck]:
    """What checks each party that walked; `whole` are files of those that something closes over as a whole."""
    walked = {leg.span.file for leg in parting.log.legs}
    for party in parting.log.parties:
        if party.file not in walked:
            continue
        loop = parting.loops.get(party.file)
        yield PartyCheck(
            log=party.file,
            loops=loop is not None,
            ratio=None if loop is None else loop.ratio,
            fails=loop is not None and not loop.used,
            whole=party.file in whole,
        )


def _hidden(log: Log, judged: JudgedParties, shaky: AbstractSet[str]) -> JudgedParties | None:
    """The same with one party more that does not fit, which nothing bears out: others with a slip hid it.

    Each of those is laid as it is without its own slip: one turned or stretched as a whole as its fit says, one whose own
    loop fails without the legs that the loop asks about. None where no usual cause explains how just one party lies then.
    """
    open_ties = [one for one in judged.unused if one.against and one.met is None]
    away = {one.party.file for one in judged.aside} | judged.undecided
    if not (open_ties or shaky or away):
        return None
    rest = _without_points(log, judged.points)
    used = _closed(without_ties(rest, judged.unused), away | shaky)
    borne_out = {file for one in _joint(used) if not one.fails for file in one.files}
    shut = [one for one in judged.unused if one not in open_ties]
    rest = without_ties(rest, shut)
    loose = [one for one in log.parties if one.letters and one.file not in {*away, *shaky, *borne_out}]
    fits = [(one, _behind(rest, one, judged, shaky, {other.file for other in loose})) for one in loose]
    found = [
        Misfit(party=party, fit=fit) for party, fit in fits if fit is not None and fit.usual and fit.whole
    ]
    if len(found) != 1 or _joining(rest, found):
        return None
    party = found[0].party
    at = log.parties.index(party)
    return replace(
        judged,
        aside=(*judged.aside, *found),
        unused=tuple(one for one in judged.unused if one in shut or at not in _whose(log, one.tie)),
        said=(*judged.said, _question(found[0], {}, joins=False)),
    )


def _behind(
    log: Log, party: PartyLog, judged: JudgedParties, shaky: AbstractSet[str], loose: AbstractSet[str]
) -> PartyFit | None:
    """How a party lies on the others as they are without the slips that have been found in them.

    Others that are as `loose` as it count only where it shares too little with the rest.
    """
    if len(names_of_others(log, party)) < 2:
        return None
    asked = {
        span for file in shaky - {party.file}
        for span in _asked_by_own_loops(walks_of(log, [leg for leg in log.legs if leg.span.file == file]))
    }  # fmt: skip
    turns = {
        one.party.file: one.fit.fit for one in judged.aside
        if one.fit is not None and one.fit.whole and one.fit.usual
    }  # fmt: skip
    absent = {one.party.file for one in judged.aside} - set(turns) | judged.undecided | {party.file}
    own = walks_of(log, [leg for leg in log.legs if leg.span.file == party.file])
    for without in (absent | loose, absent):
        walked = [leg for leg in log.legs if leg.span not in asked and leg.span.file not in without]
        legs = [_laid(leg, turns[leg.span.file]) if leg.span.file in turns else leg for leg in walked]
        if not legs:
            continue
        others = survey_log(walks_of(log, legs), explain=False).value
        shared = shared_with_others(log, party, others)
        if len(shared) > 1:
            return party_fit(own, party, others, shared, *_frame(log), log)
    return None


def _laid(leg: Leg, fit: Fit) -> Leg:
    """A leg as it is without what its party's heading does to all of them alike."""

    def turned(bearing: Bearing) -> Bearing:
        return replace(bearing, azimuth_deg=(bearing.azimuth_deg - fit.rotation_deg) % 360.0)

    return replace(
        leg,
        bearing=turned(leg.bearing),
        back_bearing=None if leg.back_bearing is None else turned(leg.back_bearing),
        distance=replace(leg.distance, value=leg.distance.value / fit.scale),
    )


def _together(first: JudgedParties, then: JudgedParties) -> JudgedParties:
    return JudgedParties(
        log=then.log,
        aside=(*first.aside, *then.aside),
        undecided=first.undecided | then.undecided,
        unused=(*first.unused, *then.unused),
        points=first.points | then.points,
        usual=first.usual or then.usual,
        said=(*first.said, *then.said),
    )


def _weighed(log: Log, shaky: AbstractSet[str]) -> JudgedParties:
    """Some parties weighed with each other; of those that are `shaky` the own loop fails.

    Ties that all the rest speaks against are taken out before parties are judged by what the others join; those that
    contradict each other only where no party explains it that differs as people's headings do.
    """
    ties, points, turned = _doubted(log)
    log = _without_points(log, points)
    sure = [one for one in ties if not one.against]
    open_ties = [one for one in ties if one.against]
    judged = _parted(without_ties(log, sure), shaky, turned)
    if open_ties and (any(one.met is not None for one in open_ties) or not judged.usual):
        sure += open_ties
        judged = _parted(without_ties(log, sure), shaky, turned)
    return replace(judged, unused=tuple(sure), points=points)


def _without_points(log: Log, points: AbstractSet[str]) -> Log:
    return (
        replace(log, controls=tuple(one for one in log.controls if one.name not in points)) if points else log
    )


def _doubted(log: Log) -> tuple[list[DoubtedTie], frozenset[str], frozenset[str]]:
    """Ties between two parties that the rest of the readings speaks against, or that contradict each other; known points.

    And the files of parties of which nothing but a turn or stretch of the whole explains what is left.
    """
    if not any(log.of_two_parties(tie.first, tie.second) for tie in log.ties):
        return [], frozenset(), frozenset()
    network, drawn, paces, closings = _closings(log)
    if not any(suspicious(closings)):
        return [], frozenset(), frozenset()
    known = [tie for tie in log.ties if tie.first in network.index and tie.second in network.index]
    of_edge = {network.leg_count + number: tie for number, tie in enumerate(known)}
    files = [one.file for one in log.parties if one.letters is not None]
    found = doubted(
        closings,
        network,
        drawn.vectors,
        paces,
        parties={
            edge: files.index(leg.span.file) for edge, leg in enumerate(log.legs) if leg.span.file in files
        },
        between={
            edge: frozenset(_whose(log, tie))
            for edge, tie in sorted(of_edge.items(), key=lambda one: _places(log, one[1]))
            if len(_whose(log, tie)) == 2
        },
    )
    doubts = (
        DoubtedTie(
            tie=of_edge[one.edge],
            against=tuple(of_edge[edge] for edge in one.against),
            alike=tuple(of_edge[edge] for edge in one.alike),
            doubt=one,
        )
        for one in found.ties
    )
    places = dict(zip(network.names, drawn.raw.position_m[:, :2], strict=True))
    ties = [_by_shape(log, one, places) if len(one.against) == 1 else one for one in doubts]
    points = frozenset(network.names[station] for station in found.points)
    return ties, points, frozenset(files[number] for number in found.parties)


def _points_beside_slips(
    log: Log, hung: AbstractSet[str], found: AbstractSet[str]
) -> tuple[frozenset[str], tuple[Diagnostic, ...]]:
    """Known points that all else speaks against, once the legs are put aside that parties' own loops ask about.

    A party whose own loop fails holds nobody, and bears out no point; without all legs of which one may be wrong the rest
    of its walk does. A point of its own, also of those `found` before, is told here without the likeliest of these legs,
    since nothing that runs over its party is told of the whole.
    """
    if len(log.controls) < 3 or not hung:
        return frozenset(), ()
    own = [walks_of(log, [leg for leg in log.legs if leg.span.file == file]) for file in sorted(hung)]
    asked = [_asked_by_own_loops(walks) for walks in own]
    every = {span for spans in asked for span in spans}
    if not every:
        return frozenset(), ()
    _, points, _ = _doubted(walks_of(log, [leg for leg in log.legs if leg.span not in every]))
    spans = {one.span for one in log.controls if one.name in {*points, *found} and one.span.file in hung}
    if not spans:
        return points, ()
    likeliest = {spans[0] for spans in asked if spans}
    rest = walks_of(log, [leg for leg in log.legs if leg.span not in likeliest])
    return points, tuple(
        replace(
            one, message=f"{one.message}; weighed without the leg that the loop of its party asks about first"
        )
        for one in survey_log(rest, points=points | found).diagnostics
        if one.code == "closure-fails" and any(label.span in spans for label in one.labels)
    )


def _by_shape(log: Log, one: DoubtedTie, places: Mapping[str, Floats]) -> DoubtedTie:
    """Of two ties that contradict each other, the one with which fewer stations of the two parties come together.

    Two parties that made many stops alike are laid on each other by the right tie alone. `places` are as walked.
    """
    whose = _whose(log, one.tie)
    if whose != _whose(log, one.against[0]) or one.alike:
        return one
    party, other = sorted(whose)
    mine = [name for name in places if log.party_of(name) == party]
    theirs = [name for name in places if log.party_of(name) == other]
    here, there = (np.array([places[name] for name in names]) for names in (mine, theirs))

    def met(tie: Tie) -> int:
        first, second = (tie.first, tie.second) if tie.first in mine else (tie.second, tie.first)
        laid = there + (places[first] - places[second])
        apart = np.hypot(*(here[:, None] - laid[None]).transpose(2, 0, 1))
        return int((settled_all(apart, 3) <= 2.0 * one.doubt.expected_m).any(axis=0).sum()) - 1

    pair = met(one.against[0]), met(one.tie)
    more, fewer = max(pair), min(pair)
    if more < _MET_LEAST or 2 * more < min(len(mine), len(theirs)) or more < 4 * fewer:
        return one
    if pair[1] > pair[0]:
        return replace(one, tie=one.against[0], against=(one.tie,), met=pair[::-1])
    return replace(one, met=pair)


def _whose(log: Log, tie: Tie) -> set[int]:
    """The parties whose places a tie joins."""
    return {party for name in (tie.first, tie.second) if (party := log.party_of(name)) is not None}


def _places(log: Log, tie: Tie) -> tuple[int, int]:
    """Where a tie stands by its two places, whichever is written first."""
    first, second = sorted(log.stations.index(name) for name in (tie.first, tie.second))
    return first, second


def without_ties(log: Log, unused: Iterable[DoubtedTie]) -> Log:
    """The log as if these ties were not in it."""
    left = {one.tie for one in unused}
    return replace(log, ties=tuple(tie for tie in log.ties if tie not in left)) if left else log


def as_joined(log: Log, judged: JudgedParties) -> Log:
    """The log as its parties are joined: without ties that are not used, and with those hung whose own loop fails."""
    joined = hung_last(without_ties(log, judged.unused), judged.hung)
    if not judged.by_open_tie:
        return joined
    return replace(
        joined,
        parties=tuple(replace(one, by_open_tie=one.file in judged.by_open_tie) for one in joined.parties),
    )


def _parted(log: Log, shaky: AbstractSet[str], turned: AbstractSet[str]) -> JudgedParties:
    """The parties that do not fit on the rest, with the question at the line of their heading.

    Judged by what closes only over several parties, or between known points: the party in the largest share of what
    fails is taken out until nothing fails, and it is held against the others where two of these at least bear each
    other out. A party whose own loop fails has a slip in one reading of its own: it is not asked here, nor one in which
    a single reading explains all. `turned` are files of those that are turned or stretched as all readings weighed at
    once have it: a small turn makes no one circuit fail.
    """
    closed = _closed(log, frozenset())
    first = joint = _joint(closed)
    out: list[str] = []
    against: frozenset[str] = frozenset()
    if not any(one.fails for one in joint):
        by_heading = _by_heading(log, joint, out, shaky) or _as_weighed(log, joint, out, shaky, turned)
        if by_heading is None:
            return JudgedParties(log=log)
        out.append(by_heading)
        joint = _joint(_closed(log, set(out)))
    while any(one.fails for one in joint):
        share, worst = _most_failing(joint)
        if share < _MOST:
            # By chance, or by one reading: that is for what is told of each circuit. A small turn fails where it runs far.
            by_heading = _by_heading(log, joint, out, shaky)
            if by_heading is None:
                break
            out.append(by_heading)
            joint = _joint(_closed(log, set(out)))
            continue
        # Of those that are alike, the one whose own loop fails has been found wrong already.
        worst = [file for file in worst if file in shaky] or worst
        worst = _not_borne_out(log, worst, out) if len(worst) > 1 else worst
        conflict = next((one.files for one in joint if one.fails and one.files <= set(worst)), None)
        if len(worst) > 1 and conflict is not None:
            against = conflict
            break
        rest = {
            file: _joint(_closed(log, {*out, file})) for file in (worst[0], *_failing_more(joint, worst[0]))
        }
        # The one without which the least fails; a party of few circuits may fail in all of them by another's heading.
        worst[0], joint = min(rest.items(), key=lambda one: sum(circuit.fails for circuit in one[1]))
        out.append(worst[0])
    while not against and (by_heading := _as_weighed(log, joint, out, shaky, turned)) is not None:
        out.append(by_heading)
        joint = _joint(_closed(log, set(out)))
    sound = {file for one in joint if not one.fails for file in one.files} - {*out, *against}
    if len(sound) < 2 and {*out, *against} & shaky:
        # Its own loop tells of a wrong reading: how it lies on the other says no more of its heading.
        return JudgedParties(log=log)
    if len(sound) < 2:
        return _undecided(log, {*out, *against} - {_KNOWN_POINTS})
    judged = _held_against(log, out, first, sound, shaky, against)
    if any(one.fit is not None and one.fit.fit.cause is None for one in judged.aside):
        # It may be turned beside one that is turned: a usual slip of another's heading goes before a turn that none makes.
        other = _by_heading(log, first, (), shaky)
        if other is not None and other not in out:
            return _held_against(log, [other], first, _sound(log, {other}), shaky, frozenset())
    return judged


def _held_against(
    log: Log,
    out: Sequence[str],
    first: Sequence[_Closed],
    sound: AbstractSet[str],
    shaky: AbstractSet[str],
    against: frozenset[str],
) -> JudgedParties:
    """Parties that are `out` held against those that bear each other out; `first` is how all of them close."""
    absent = {*out, *against, *(shaky if sound - shaky else ())}
    # What runs over another that nothing bears out may lie anywhere: it counts only where the rest is too little.
    open_to_doubt = {file for one in first if one.fails for file in one.files} - sound - {_KNOWN_POINTS}
    others = survey_log(log_without(log, absent | open_to_doubt), explain=False).value
    parties = [one for one in log.parties if one.file in out and one.letters is not None]
    if any(len(shared_with_others(log, one, others)) < 2 for one in parties):
        others = survey_log(log_without(log, absent), explain=False).value
    return _judged(log, out, others, shaky, against)


def _by_heading(
    log: Log, joint: Sequence[_Closed], out: Sequence[str], shaky: AbstractSet[str]
) -> str | None:
    """The party of which a line of the heading explains what is missed better than any one reading, and how it lies on others.

    `out` have been taken out already. A small turn fails by little, and only where a party walked far from what it shares.
    """
    missed = {file for one in joint if one.missed for file in one.files}
    files = {one.file for one in log.parties if one.letters is not None and one.file in missed - shaky}
    if not files:
        return None
    walks = log_without(log, set(out))
    points = {one.span for one in walks.controls}
    first = next(iter(survey_log(walks).value.suspects), None)
    if first is None or first.start is not None or first.span in points or first.span.file not in files:
        return None
    file = first.span.file
    return file if _lies_so(log, file, joint, out, shaky) else None


def _as_weighed(
    log: Log, joint: Sequence[_Closed], out: Sequence[str], shaky: AbstractSet[str], turned: AbstractSet[str]
) -> str | None:
    """A party that is turned as all readings weighed at once have it, and lies so on the others; `out` have been taken out."""
    return next(
        (file for file in sorted(turned - shaky - set(out)) if _lies_so(log, file, joint, out, shaky)), None
    )


def _lies_so(
    log: Log, file: str, joint: Sequence[_Closed], out: Sequence[str], shaky: AbstractSet[str]
) -> bool:
    """Whether a party lies on the others, which bear each other out, as a usual slip of a heading would have it."""
    sound = _sound(log, {*out, file})
    if len(sound) < 2:
        return False
    lies = _held_against(log, [*out, file], joint, sound, shaky, frozenset()).aside
    usual = (one.fit is not None and one.fit.usual and len(one.fit.fit.stations) > 2 for one in lies if one.party.file == file)  # fmt: skip
    return any(usual)


def _sound(log: Log, without: AbstractSet[str]) -> set[str]:
    """Files of the other parties that something closes over together with others, or known points."""
    return {file for one in _joint(_closed(log, without)) if not one.fails for file in one.files}


def _joint(closed: Sequence[_Closed]) -> list[_Closed]:
    return [one for one in closed if len(one.files) > 1]


def _not_borne_out(log: Log, alike: Sequence[str], out: Sequence[str]) -> list[str]:
    """Of parties that are in as much of what fails: the one without which the others close on each other; else all.

    Circuits are as few as there can be, and all may run over it where two others share places of their own.
    """
    found = []
    for file in alike:
        rest = _joint(_closed(log, {*out, file}))
        borne_out = {other for one in rest for other in one.files}
        if not any(one.fails for one in rest) and borne_out.issuperset(set(alike) - {file}):
            found.append(file)
    return found if len(found) == 1 else list(alike)


class _Closed:
    """What closes over one party or several; whether it fails in plan, and whether it is missed as in a log by itself."""

    __slots__ = ("fails", "files", "missed")

    def __init__(self, files: frozenset[str], *, fails: bool, missed: bool) -> None:
        self.files = files
        self.fails = fails
        self.missed = missed


def _most_failing(joint: Sequence[_Closed]) -> tuple[float, list[str]]:
    """The largest share of what fails among all that runs over a party, and the party; all of those that are alike."""
    fails: Counter[str] = Counter()
    all_of: Counter[str] = Counter()
    for one in joint:
        for file in one.files - {_KNOWN_POINTS}:
            all_of[file] += 1
            fails[file] += one.fails
    worst = max((fails[file] / all_of[file], fails[file]) for file in all_of)
    return worst[0], [file for file in sorted(all_of) if (fails[file] / all_of[file], fails[file]) == worst]


def _failing_more(joint: Sequence[_Closed], worst: str) -> list[str]:
    """The party over which most of what fails runs, where that is another than the one with the largest share of it."""
    fails = Counter(file for one in joint if one.fails for file in one.files - {_KNOWN_POINTS})
    file, most = max(sorted(fails.items()), key=lambda one: one[1])
    return [file] if file != worst and most > fails[worst] else []


def _closed(log: Log, without: AbstractSet[str]) -> list[_Closed]:
    """Every circuit of the walks of the other parties."""
    walks = log_without(log, without)
    network, _, _, closings = _closings(walks)
    most, _ = accusing_limits(closings)
    found = []
    for one in closings:
        steps = (step.edge for step in one.circuit.steps if step.edge < network.leg_count)
        files = {walks.legs[edge].span.file for edge in steps}
        known = set() if one.circuit.closed else {_KNOWN_POINTS}
        found.append(_Closed(frozenset(files | known), fails=one.q > most, missed=not one.used))
    return found


def _closings(walks: Log) -> tuple[Network, Drawn, tuple[PacedAlike, ...], tuple[Closing, ...]]:
    """The network of some walks, its legs drawn, what their paces have in common, and how each circuit closes."""
    grid, magnetic = _frame(walks)
    fixes = known_points(walks, grid).value
    legs = reduce_legs(walks, model=magnetic.get, deviations=local_attraction(walks).value.taken).value
    network = build_network(walks, fixes)
    drawn = draw(legs, network, grid.convergence_and_scale if grid is not None and network.fixes else None)
    paces = stretches(legs)
    return network, drawn, paces, judge_circuits(network, drawn.vectors, anyway=False, stretched=paces)


def _frame(log: Log) -> tuple[Grid | None, Mapping[dt.date, float]]:
    """The grid, and the declinations of the model where a leg asks for them."""
    grid = grid_of(log).value
    if not any(leg.conditions.declination and leg.conditions.declination.from_model for leg in log.legs):
        return grid, {}
    from traverse.location.magnetic import model_declinations

    return grid, model_declinations(log, grid, known_points(log, grid).value).value


def log_without(log: Log, files: AbstractSet[str]) -> Log:
    """The walks of the parties whose files are not these, and nothing that was described on them."""
    legs = [leg for leg in log.legs if leg.span.file not in files]
    return walks_of(log, legs)


def walks_of(log: Log, legs: Sequence[Leg]) -> Log:
    """Some legs of a log, with the known points and ties of their stations."""
    names = {name for leg in legs for name in (leg.start, leg.end)}
    absent = {name for tie in log.ties for name in (tie.first, tie.second)} - names
    return Log(
        file=log.file,
        heading=log.heading,
        controls=tuple(one for one in log.controls if one.name in names),
        stations=tuple(name for name in log.stations if name in names),
        legs=tuple(replace(leg, index=index) for index, leg in enumerate(legs)),
        ties=tuple(without_places(log.ties, absent)),
        paces=log.paces,
        parties=log.parties,
    )


def _judged(
    log: Log, out: Sequence[str], others: Survey, shaky: AbstractSet[str], against: frozenset[str]
) -> JudgedParties:
    """Of parties that fail with those that bear each other out, those that differ as a whole or in no one reading."""
    grid, magnetic = _frame(log)
    aside = []
    for party in log.parties:
        if party.file not in out or party.letters is None:
            continue
        own = [leg for leg in log.legs if leg.span.file == party.file]
        shared = shared_with_others(log, party, others)
        if len(shared) < 2:
            continue
        if party.file in shaky:
            fit = _fit_beside_own_slip(log, party, others, shared, grid, magnetic)
        else:
            fit = party_fit(walks_of(log, own), party, others, shared, grid, magnetic, log)
            if not (fit is not None and fit.whole and fit.usual) and not _own_loops_close(log, own):
                fit = _fit_beside_own_slip(log, party, others, shared, grid, magnetic) or fit
        at_two = fit is not None and len(fit.fit.stations) == 2 and party.file not in shaky
        if at_two and not _of_heading(log, party, others, shared):
            fit = None
        if fit is not None and fit.whole and (fit.usual or _own_loops_close(log, own)):
            aside.append(Misfit(party=party, fit=fit))
        elif party.file not in shaky:
            by_line = None if fit is None or at_two else _as_a_line_has_it(log, party, fit, others, shared)
            if by_line is not None:
                aside.append(Misfit(party=party, fit=by_line))
            elif not _explained(log, party, others, shared):
                aside.append(Misfit(party=party, fit=None))
    parted = _undecided(log, set(against) - {_KNOWN_POINTS}) if against else JudgedParties(log=log)
    joining = _joining(log, aside)
    said = [
        _question(one, shared_with_others(log, one.party, others), joins=one.party.file in joining)
        for one in aside
    ]
    usual = parted.usual or any(one.fit is not None and one.fit.fit.cause is not None for one in aside)
    return JudgedParties(
        log=log,
        aside=tuple(one for one in aside if one.party.file not in joining),
        undecided=parted.undecided | joining,
        usual=usual,
        said=(*said, *parted.said),
    )


def _joining(log: Log, aside: Sequence[Misfit]) -> frozenset[str]:
    """Files of parties without which something that they join would lie nowhere."""
    controls = known_points(log, grid_of(log).value).value
    loose = build_network(log, controls).loose
    out: set[str] = set()
    for one in aside:
        rest = log_without(log, {*out, one.party.file})
        fixes = {name: fix for name, fix in controls.items() if name in rest.stations}
        if len(build_network(rest, fixes).loose) <= len(loose):
            out.add(one.party.file)
    return frozenset(one.party.file for one in aside) - out


def _fit_beside_own_slip(
    log: Log,
    party: PartyLog,
    others: Survey,
    shared: Mapping[str, str],
    grid: Grid | None,
    magnetic: Mapping[dt.date, float],
) -> PartyFit | None:
    """How a party lies whose own loop fails: without the leg that is to blame for that, where it does not lie so as it is.

    A wrong leg turns and stretches it as well: its heading is asked about only where a usual cause explains all that is
    left, whichever of the readings that would mend its loop is the wrong one.
    """
    own = [leg for leg in log.legs if leg.span.file == party.file]
    whole = party_fit(walks_of(log, own), party, others, shared, grid, magnetic, log)
    if whole is not None and whole.usual and whole.whole and len(whole.fit.stations) > 2:
        return whole
    found: dict[str | None, PartyFit] = {}
    for span in dict.fromkeys(_asked_by_own_loops(walks_of(log, own))):
        wrong = next((leg for leg in own if leg.span == span), None)
        if wrong is None:
            continue
        walks = walks_of(log, [leg for leg in own if leg is not wrong])
        called = f"its walk without leg {wrong.start}–{wrong.end}, which its own loop asks about,"
        fit = party_fit(walks, party, others, shared, grid, magnetic, log, called=called)
        if fit is None:
            return None
        if fit.usual and fit.whole:
            found.setdefault(fit.fit.cause, fit)
    return next(iter(found.values())) if len(found) == 1 else None


def _asked_by_own_loops(walks: Log) -> list[Span]:
    """The legs of which a reading would explain what fails in some walks, the likeliest first."""
    survey = survey_log(walks).value
    return [one.span for one in (*survey.suspects, *survey.unnamed_suspects) if one.start]


def _own_loops_close(log: Log, legs: Sequence[Leg]) -> bool:
    """Whether a party has loops of its own, and all of them close."""
    *_, closings = _closings(replace(walks_of(log, legs), controls=()))
    return bool(closings) and all(one.used for one in closings)


def _of_heading(log: Log, party: PartyLog, others: Survey, shared: Mapping[str, str]) -> bool:
    """Whether no reading of one leg explains better how a party lies on two places, which one leg alone may turn it to.

    A declination that its heading does not state is weighed against no leg: by itself its walk does not know it.
    """
    own = walks_of(log, [leg for leg in log.legs if leg.span.file == party.file])
    if all(leg.conditions.declination is None for leg in own.legs):
        return True
    suspects = survey_log(at_known_places(own, shared, others)).value.suspects
    return not suspects or not suspects[0].start


def _as_a_line_has_it(
    log: Log, party: PartyLog, fit: PartyFit, others: Survey, shared: Mapping[str, str]
) -> PartyFit | None:
    """How a party lies of which a line of its heading, and no leg, explains that best; with a slip of its own on top."""
    own = walks_of(log, [leg for leg in log.legs if leg.span.file == party.file])
    suspects = survey_log(at_known_places(own, shared, others)).value.suspects
    if not suspects or any(one.start is not None or one.what.startswith("control ") for one in suspects):
        return None
    return caused_by(fit, party, own.legs, suspects[0].slip)


def _explained(log: Log, party: PartyLog, others: Survey, shared: Mapping[str, str]) -> bool:
    """Whether one reading of a party, or one place that is not the one it is said to be, would explain how it lies."""
    own = walks_of(log, [leg for leg in log.legs if leg.span.file == party.file])
    if len(shared) < 3 or survey_log(at_known_places(own, shared, others)).value.suspects:
        return True
    fewer = ({mine: one for mine, one in shared.items() if mine != name} for name in shared)
    return any(survey_log(at_known_places(own, one, others), explain=False).value.adjusted for one in fewer)


def _question(one: Misfit, shared: Mapping[str, str], *, joins: bool) -> Diagnostic:
    then = "it takes part all the same" if joins else "it is left out of the adjustment and drawn dashed"
    then += ", since nothing else joins the others" if joins else ""
    if one.fit is not None:
        return replace(one.fit.question, message=f"{one.fit.question.message}; {then}")
    at = ", ".join(dict.fromkeys(shared))
    return warning(
        "party-differs",
        f"{one.party.letters} does not fit where it and others stood at one place ({at}), and no turn, no scale and no one "
        f"reading explains it; {then}",
        one.party.span,
        "look whether the places are the same ones, and at the page; mended, it is joined",
    )


def _undecided(log: Log, files: set[str]) -> JudgedParties:
    """Parties that do not fit on each other, where nothing says which of them is wrong."""
    parties = [one for one in log.parties if one.file in files]
    if len(parties) < 2:
        return JudgedParties(log=log)
    last = parties[-1]
    others = survey_log(log_without(log, {last.file}), explain=False).value
    own = walks_of(log, [leg for leg in log.legs if leg.span.file == last.file])
    fit = party_fit(own, last, others, shared_with_others(log, last, others), *_frame(log), log)
    usual = fit is not None and fit.fit.cause is not None
    return JudgedParties(log=log, undecided=frozenset(files), usual=usual, said=(undecided(parties, fit),))


def with_parties(log: Log, survey: Survey, parting: JudgedParties) -> Outcome[Survey]:
    """The survey of those that take part, with how each party lies on the others, and the walks of those left out.

    `log` is that of those that take part. Stations of two that may be one place are asked about.
    A party that takes part is laid on the places that all of them together give, where something closes over it and
    others and nothing that runs over it fails.
    """
    grid, magnetic = _frame(parting.log)
    aside = {one.party.file: one.fit for one in parting.aside}
    failing: set[str] = set()
    checked: set[str] = set()
    whole = {one.party.file for one in parting.aside} | parting.hung | parting.undecided
    for one in survey.closures:
        files = {leg.span.file for leg in one.legs}
        whole |= files if len(files) > 1 or one.kind is LoopKind.TIE else set()
        if one.hung or _to_unused_point(survey, one):
            continue
        failing |= set() if one.adjusted else files
        checked |= files if len(files) > 1 else set()
    found = []
    walks = []
    own_loops: list[Diagnostic] = []
    misread: list[Suspect] = []
    for party in parting.log.parties:
        legs = [leg for leg in parting.log.legs if leg.span.file == party.file]
        if party.letters is None or not legs:
            continue
        own = walks_of(parting.log, legs)
        shared = shared_with_others(parting.log, party, survey)
        if party.file in aside:
            fit = aside[party.file]
            found += [] if fit is None else [fit.fit]
            by_itself = survey_log(_holding_no_point(own), sure=parting.borne_out)
            walk = _as_walked(own, party, shared, survey)
            walks += [] if walk is None else [replace(walk, closures=by_itself.value.closures)]
            # What a wrong heading does between known points, one leg may seem to do; the party's own loops tell.
            of_heading = fit is not None and fit.fit.cause is not None and party.file not in parting.missing
            asked = None if fit is None or not of_heading else fit.fit.span
            own_loops += [one for one in by_itself.diagnostics if one.code in _OF_LOOPS and not of_heading]
            misread += [one for one in by_itself.value.suspects if not of_heading or one.span == asked]
        elif (
            party.file in checked - failing
            and (lies := fit_on_others(own, party, survey, shared, grid, magnetic, log)) is not None
        ):
            found.append(replace(lies[0], cause=None, span=party.span))
    ties = said_of_ties(log, survey, parting.unused)
    open_to_doubt = frozenset(
        frozenset(_whose(log, one.tie)) for one in parting.unused if one.against and one.met is None
    )
    near = near_parties(log, survey, open_to_doubt) if len(log.party_letters) > 1 else ()
    judged = replace(
        survey,
        party_checks=tuple(_party_checks(parting, whole)),
        fits=(*survey.fits, *found),
        aside=tuple(walks),
        suspects=(*survey.suspects, *misread),
    )
    return Outcome(judged, (*own_loops, *ties, *near))


def _holding_no_point(own: Log) -> Log:
    """The walk of a party that takes no part, which leaves out no known point."""
    return replace(own, parties=tuple(replace(one, hung=True) for one in own.parties))


def _to_unused_point(survey: Survey, closure: Closure) -> bool:
    ends = (survey.places.get(name) for name in (closure.stations[0], closure.stations[-1]))
    kinds = {one.kind for one in ends if one is not None}
    return closure.kind is LoopKind.TIE and kinds == {PlaceKind.CONTROL, PlaceKind.UNUSED}


def _as_walked(own: Log, party: PartyLog, shared: Mapping[str, str], survey: Survey) -> WalkAside | None:
    """The walk from the first place that it shares with the rest; None where it shares none."""
    hangs_on = next((name for name in own.stations if name in shared), None)
    if hangs_on is None:
        return None
    grid, magnetic = _frame(own)
    held = at_known_places(own, {hangs_on: shared[hangs_on]}, survey)
    legs = reduce_legs(held, model=magnetic.get).value
    network = build_network(held, known_points(held, grid).value)
    raw = draw(legs, network, grid.convergence_and_scale if grid is not None else None).raw
    placed = zip(network.names, raw.position_m.tolist(), network.placed.tolist(), strict=True)
    places = {_own_name(name, party): (float(at[0]), float(at[1])) for name, at, there in placed if there}
    ways = ((_own_name(leg.start, party), _own_name(leg.end, party)) for leg in held.legs)
    return WalkAside(
        party=own.parties.index(party),
        hangs_on=shared[hangs_on],
        places=places,
        legs=tuple(way for way in ways if all(name in places for name in way)),
    )


def _own_name(name: str, party: PartyLog) -> str:
    """A place's name with the letters of the party, at a place that others call so too."""
    return name if name.startswith(f"{party.letters}-") else f"{party.letters}-{name}"
