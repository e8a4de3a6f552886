"""What was in force where: north, declination, attitudes and paces, which a log may change on the way."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import Final

from traverse.location.records import Deviation, PaceLength, Survey
from traverse.log.readings import Conditions, Convention, North
from traverse.log.records import Log
from traverse.record import record
from traverse.sheet.paper.words import NO_BREAK, plain, signed
from traverse.source import Span


@record(frozen=True, slots=True)
class ConventionWords:
    """How attitudes are written, in words."""

    full: str
    short: str
    in_table: str
    """After the north, over what was written."""


_CONVENTIONS: Final[Mapping[Convention, ConventionWords]] = MappingProxyType(
    {
        Convention.DIP_RIGHT: ConventionWords(
            "dip to the right of the strike as written",
            "dip right of strike",
            "dip to the right of the strike",
        ),
        Convention.DIP_LEFT: ConventionWords(
            "dip to the left of the strike as written", "dip left of strike", "dip to the left of the strike"
        ),
        Convention.DIP_DIRECTION: ConventionWords(
            "dip direction before dip", "dip direction/dip", "dip direction and dip"
        ),
        Convention.DIP_FIRST: ConventionWords(
            "dip before its direction", "dip/direction", "dip and its direction"
        ),
        Convention.LETTERS: ConventionWords(
            "strike and dip with the letter of the dip",
            "strike/dip, letter",
            "side of the dip by its letters",
        ),
    }
)


def with_changes(told: Sequence[tuple[str, str]]) -> str:
    """`magnetic; from 7 true`: what held first, and from which station on another."""
    return "; ".join(
        words if not index else f"from{NO_BREAK}{plain(station)} {words}"
        for index, (station, words) in enumerate(told)
    )


def turned_for_iron(survey: Survey) -> str:
    """What was turned because iron drew the compass aside, by station: `3 by −7°, 5 by +10°`; empty where nothing was."""
    return ", ".join(
        f"{plain(one.station)} by{NO_BREAK}{iron_turn(one)}"
        for one in survey.deviations
        if round(abs(one.degrees)) > 0
    )


def iron_turn(one: Deviation) -> str:
    """By how much what was read at a station is turned, to whole degrees."""
    return f"{signed(-one.degrees)}°"


def bearings_held(log: Log, survey: Survey) -> list[tuple[str, str]]:
    """North of the bearings from a station on, magnetic with what was added to it; empty where none was stated."""
    return _told(log.held(lambda one: _bearings(one, survey)))


def _bearings(conditions: Conditions, survey: Survey) -> str:
    if conditions.bearings is None:
        return ""
    added = _declination(conditions, survey) if conditions.bearings is North.MAGNETIC else None
    if added is None:
        return conditions.bearings.value
    return f"magnetic {'+' if added >= 0.0 else '−'} {abs(added):.1f}°"


def _declination(conditions: Conditions, survey: Survey) -> float | None:
    stated = conditions.declination
    if stated is None:
        return None
    if stated.from_model:
        models = survey.model_declinations
        return (
            models.get(conditions.date) if conditions.date is not None else next(iter(models.values()), None)
        )
    return stated.on(conditions.date)


def attitudes_held(log: Log, *, short: bool = False) -> list[tuple[str, str]]:
    """How attitudes were written from a station on; empty where nothing says so."""
    held = log.held(lambda one: one.convention)
    words = [(station, _CONVENTIONS[one] if one is not None else None) for station, one in held]
    return _told((station, "" if one is None else one.short if short else one.full) for station, one in words)


def attitude_norths(log: Log) -> list[tuple[str, str]]:
    """North of the attitudes from a station on, and how they were written."""
    held = log.held(lambda one: (one.attitudes_from or one.bearings, one.convention))
    return _told(
        (
            station,
            f"{north.value} north" + (f", {_CONVENTIONS[how].in_table}" if how is not None else "")
            if north is not None
            else "",
        )
        for station, (north, how) in held
    )


def _told(held: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
    """Without what is said of nothing, and without what says the same again."""
    told: list[tuple[str, str]] = []
    for station, words in held:
        if words and (not told or told[-1][1] != words):
            told.append((station if told else "", words))
    return told


def paces_from(log: Log, paces: Sequence[PaceLength]) -> dict[Span, str]:
    """The station from which each calibration counts, by its line; of the first none."""
    known = {one.course.span for one in paces}
    found: dict[Span, str] = {}
    for station, pace in log.held(lambda one: one.pace):
        if pace is not None and pace.span in known:
            found.setdefault(pace.span, station if found else "")
    return {span: station for span, station in found.items() if station}


def change_notes(log: Log, survey: Survey) -> Iterable[tuple[str, str]]:
    """What and how, of each thing that a log changes on the way."""
    for what, told in (
        ("bearings", bearings_held(log, survey)),
        ("attitudes", attitude_norths(log)),
    ):
        if len(told) > 1:
            yield what, with_changes(told)
