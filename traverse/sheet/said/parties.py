"""The parties of a camp in words: who, with which log, how far they walked, how it closes and lies on the rest."""

from __future__ import annotations

import math
from collections.abc import Container, Sequence

from traverse.location.records import Fit, PartyCheck, Survey
from traverse.log.items import LegKind
from traverse.log.records import Log, PartyLog
from traverse.numerals import one_in
from traverse.record import record
from traverse.sheet.paper.words import EN_DASH, arrow, plain
from traverse.structure.readings.records import JointOutcrop, PlaneAttitude

NOTHING_CHECKS = "nothing checks turn and scale: no second place shared or known"
_RULE_DOUBTED = "attitudes by another rule than it says?"


@record(frozen=True, slots=True, kw_only=True)
class PartyWords:
    """What is told of one party."""

    letters: str
    """A dash where its names are kept."""
    log: str
    who: str
    legs: int
    walked_m: float
    closes: str
    """How its own worst loop does; empty without one."""
    lies: str
    """Its turn and its scale on the places that it shares with others, where it shares two; what else it differs in."""
    outcrops: str
    """At how many of the outcrops that it shares it reads what the others do; empty without any."""


def parties_told(
    log: Log, survey: Survey, shared: Sequence[JointOutcrop] = (), ruled: Container[str] = ()
) -> tuple[PartyWords, ...]:
    """Every log that was brought in, in order; the rule for attitudes of the files `ruled` is asked about."""
    fits = {one.log: one for one in survey.fits if one.log is not None}
    aside = {one.party: one for one in survey.aside}
    checks = {one.log: one for one in survey.party_checks}
    told = []
    for index, party in enumerate(log.parties):
        legs = [leg for leg in survey.legs if leg.booked.span.file == party.file]
        walked = sum(leg.horizontal_m for leg in legs if leg.booked.kind is not LegKind.SIDE)
        count = len(legs)
        check = checks.get(party.file)
        if (walk := aside.get(index)) is not None:
            count = len(walk.legs)
            walked = sum(math.dist(walk.places[start], walk.places[end]) for start, end in walk.legs)
        told.append(
            PartyWords(
                letters=party.letters or EN_DASH,
                log=plain(party.file),
                who=", ".join(plain(one.name or one.initials) for one in party.people),
                legs=count,
                walked_m=walked,
                closes="" if check is None else _closes(check),
                lies="; ".join(
                    filter(
                        None,
                        (
                            _standing(party),
                            _lies(fits.get(party.file)),
                            _RULE_DOUBTED if party.file in ruled else "",
                            NOTHING_CHECKS if check is not None and not check.whole else "",
                        ),
                    )
                ),
                outcrops=_outcrops(party, shared),
            )
        )
    return tuple(told)


def _closes(check: PartyCheck) -> str:
    if not check.loops:
        return ""
    ratio = one_in(check.ratio)
    return f"{ratio}, fails" if check.fails else ratio


def _standing(party: PartyLog) -> str:
    if party.aside:
        return "left out"
    if party.by_open_tie:
        return "placed by one of two ties that disagree"
    return "placed by its ties, holds no other" if party.hung else ""


def _lies(fit: Fit | None) -> str:
    if fit is None:
        return ""
    turned = f"{fit.rotation_deg:+.1f}° ±\u00a0{max(0.1, fit.rotation_sd_deg):.1f}°".replace("-", "−")
    sd = max(0.01, fit.scale_sd)
    words = (
        turned
        if abs(fit.scale - 1.0) <= 2.0 * sd
        else f"{turned}, {fit.scale:.2f} ±\u00a0{sd:.2f} times as long"
    )
    return f"{words}; {plain(fit.cause.partition(':')[0])}" if fit.cause is not None else words


def _outcrops(party: PartyLog, shared: Sequence[JointOutcrop]) -> str:
    read = [
        out
        for one in shared
        for two, out in zip(one.read, one.out, strict=True)
        if two.booked.address.span.file == party.file
    ]
    return f"{read.count(False)} of {len(read)}" if read else ""


@record(frozen=True, slots=True, kw_only=True)
class OutcropWords:
    """What is told of one outcrop that several parties read."""

    place: str
    what: str
    read: str
    """By whom what, in true north; who disagrees is marked."""
    mean: str
    """With the number of readings; empty where no two agree."""


def outcrops_told(log: Log, shared: Sequence[JointOutcrop]) -> tuple[OutcropWords, ...]:
    """Every outcrop that several parties read, in order."""
    letters = {party.file: party.letters for party in log.parties}

    def of(one: PlaneAttitude, *, out: bool) -> str:
        whose = letters.get(one.booked.address.span.file) or EN_DASH
        return f"{whose} {_plane(one)}" + (" disagrees" if out else "")

    return tuple(
        OutcropWords(
            place=", ".join(dict.fromkeys(plain(two.station) for two in one.read)),
            what=one.kind.value,
            read=", ".join(of(two, out=out) for two, out in zip(one.read, one.out, strict=True)),
            mean="" if one.mean is None else f"{_plane(one.mean)}, n {one.mean.n}",
        )
        for one in shared
    )


def _plane(one: PlaneAttitude) -> str:
    """Dip and its direction in true north."""
    return arrow(one.dip_deg, None if one.flat else one.dip_direction_deg)
