"""What must stand on all that leaves the program: limits, hazards, what was not adjusted, grid and datum, whose and when."""

from __future__ import annotations

from enum import Enum

from traverse.location.records import Survey
from traverse.log.items import Address, Words
from traverse.log.records import Log
from traverse.record import record
from traverse.sheet.paper.words import NO_BREAK, dates, number, plain
from traverse.sheet.said.emergency import emergency_sentences
from traverse.sheet.said.sentences import HAZARDS, SKETCH, accuracy, interpretation, not_adjusted
from traverse.sheet.said.stops import numbered_hazards
from traverse.wording import capital, listed

NONE_NOTED = "No hazard was noted."
_MOST_PLACES = 4
"""Named of notes that read like a hazard."""


class CautionKind(Enum):
    """What a caution is about."""

    ADJUSTMENT = "adjustment"
    LIMITS = "limits"
    HAZARD = "hazard"
    LOCAL_RULES = "local rules"
    EMERGENCY = "emergency"


@record(frozen=True, slots=True, kw_only=True)
class Caution:
    """A sentence that no reader of a drawing or of figures should be without."""

    kind: CautionKind
    text: str


def cautions_of(log: Log, survey: Survey | None, *, section: bool) -> tuple[Caution, ...]:
    """All of a log, hazards whole; of one with errors (no `survey`) those that need no figures.

    `section` is whether a section is drawn or exported.
    """
    limits = [SKETCH]
    open_walk = None
    if survey is not None:
        limits += [one for one in (accuracy(log, survey), interpretation(log, section=section)) if one]
        open_walk = not_adjusted(log, survey)
    return (
        *([Caution(kind=CautionKind.ADJUSTMENT, text=f"{open_walk}.")] if open_walk else []),
        *(Caution(kind=CautionKind.LIMITS, text=one) for one in limits),
        *(Caution(kind=CautionKind.HAZARD, text=one) for one in hazard_sentences(log)),
        Caution(kind=CautionKind.LOCAL_RULES, text=hazards_closing(log)),
        *(
            Caution(kind=CautionKind.EMERGENCY, text=one)
            for one in emergency_sentences(log.heading.emergency)
        ),
    )


def hazard_sentences(log: Log) -> tuple[str, ...]:
    """Every hazard whole, such as `H1, station 8: loose blocks above the path`, with a full stop."""
    return tuple(hazard_words(mark, hazard) for mark, hazard in numbered_hazards(log))


def hazard_words(mark: str, hazard: Words) -> str:
    """A hazard with its mark and its place, as a sentence."""
    words = plain(hazard.text).rstrip(" .")
    return f"{mark}, {_place(hazard.address)}: {words}."


def _place(address: Address) -> str:
    """`station 8`, `beyond station 8` on the leg from it."""
    on_leg = "beyond " if address.station is None else ""
    return f"{on_leg}station{NO_BREAK}{plain(address.at_or_from)}"


def hazards_closing(log: Log) -> str:
    """What follows the hazards, or stands in their place; of notes that read like one it says where they are."""
    booked = bool(numbered_hazards(log))
    places = list(dict.fromkeys(_place(one) for one in log.like_hazards))
    if not places:
        return HAZARDS if booked else f"{NONE_NOTED} {HAZARDS}"
    named = places[:_MOST_PLACES] if len(places) > _MOST_PLACES + 1 else places
    rest = [f"{number(len(places) - len(named))} more places"] if len(named) < len(places) else []
    read = f"{'A note reads' if len(log.like_hazards) == 1 else 'Notes read'} like a hazard"
    told = f"{read} that is not listed ({listed([*named, *rest])})."
    return f"{told} {HAZARDS}"


def days_and_party(log: Log) -> str:
    """`14 July 2026 · Ines Varga · Tomas Brand`, and which of the two the log does not state."""
    people = [plain(person.name or person.initials) for person in log.heading.party]
    days = dates(day.date for day in log.heading.days)
    return " · ".join(one for one in (days, *people, not_stated(log)) if one)


def not_stated(log: Log) -> str:
    """`Date and party not stated`, or one of them; empty of a log that states both."""
    missing = [word for word, has in (("date", log.heading.days), ("party", log.heading.party)) if not has]
    return f"{capital(listed(missing))} not stated" if missing else ""
