"""The parties of a camp in words: who, with which log, how far they walked, how they lie on the rest."""

from __future__ import annotations

from traverse.location.records import Fit, Survey
from traverse.log.items import LegKind
from traverse.log.records import Log
from traverse.record import record
from traverse.sheet.paper.words import EN_DASH, number, plain


@record(frozen=True, slots=True, kw_only=True)
class PartyWords:
    """What is told of one party."""

    letters: str
    """A dash where its names are kept."""
    log: str
    who: str
    legs: int
    walked_m: float
    lies: str
    """How it lies on the places that it shares with others, where it differs; empty where it does not."""


def parties_told(log: Log, survey: Survey) -> tuple[PartyWords, ...]:
    """Every log that was brought in, in order."""
    fits = {one.log: one for one in survey.fits if one.log is not None}
    told = []
    for party in log.parties:
        legs = [leg for leg in survey.legs if leg.booked.span.file == party.file]
        fit = fits.get(party.file)
        told.append(
            PartyWords(
                letters=party.letters or EN_DASH,
                log=plain(party.file),
                who=", ".join(plain(one.name or one.initials) for one in party.people),
                legs=len(legs),
                walked_m=sum(leg.horizontal_m for leg in legs if leg.booked.kind is not LegKind.SIDE),
                lies="" if fit is None else _lies(fit),
            )
        )
    return tuple(told)


def _lies(fit: Fit) -> str:
    words = f"turned {number(fit.rotation_deg)}°, {fit.scale:.2f} times as long"
    return f"{words}: {plain(fit.cause)}" if fit.cause is not None else words
