"""How each log of a season stands, and what all of them come to."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import NamedTuple

from traverse.season.clashes import Clashes
from traverse.season.one_log import Seen
from traverse.season.season_tables import Row, Rows

COUNTED, WITH_ERRORS, UNREADABLE, PART, COPY = (
    "counted",
    "with errors",
    "unreadable",
    "part of another",
    "copy",
)


class Counting(NamedTuple):
    """How a log stands in the season."""

    standing: str
    of: str | None
    """The log that it is part or a copy of."""


def standings(logs: Iterable[tuple[str, Seen, Rows]]) -> dict[str, Counting]:
    """By path. What a log uses or brings in is counted with that log, and a log that lies there twice once."""
    found: dict[str, Counting] = {}
    used: dict[str, str] = {}
    first: dict[tuple[str | None, ...], str] = {}
    for path, seen, rows in logs:
        row = rows["logs"][0]
        found[path] = Counting(row["standing"], None)
        for one in rows.get("uses", ()):
            used.setdefault(one["path"], path)
        if row["standing"] == COUNTED:
            for one in rows.get("brings", ()):
                used.setdefault(one["path"], path)
        sums = tuple(sha for _, sha in seen)
        if sums[0] is not None and first.setdefault(sums, path) != path:
            found[path] = Counting(COPY, first[sums])
    for part, whole in used.items():
        # Of files that bring one another in, which is an error of both, neither is part of the other.
        if part in found and part != whole and used.get(whole) != part:
            found[part] = Counting(PART, whole)
    return found


@dataclass
class UnitTally:
    """A unit over all logs that have it."""

    letters: str
    name: str
    age: str | None
    colour: str | None
    logs: int = 0
    attitudes: Counter[str] = field(default_factory=Counter)
    """By their kind."""


@dataclass
class PersonTally:
    """Somebody over all logs of theirs."""

    name: str
    logs: int = 0
    length_m: float = 0.0
    days: set[str] = field(default_factory=set)


@dataclass
class Tally:
    """What the logs of a season come to; taken log by log."""

    standing: Counter[str] = field(default_factory=Counter)
    figures: Counter[str] = field(default_factory=Counter)
    """Sums of the counts of the logs, by field; of those that are counted."""
    length_m: float = 0.0
    titles: Counter[str | None] = field(default_factory=Counter)
    """Logs by title, counted or not."""
    grids: Counter[str] = field(default_factory=Counter)
    """Logs by grid."""
    days: set[str] = field(default_factory=set)
    units: dict[tuple[str, str], UnitTally] = field(default_factory=dict)
    """By letters and name."""
    unknown: Counter[str] = field(default_factory=Counter)
    """Attitudes read where no unit is known, by kind."""
    people: dict[str, PersonTally] = field(default_factory=dict)
    bad: list[tuple[str, str]] = field(default_factory=list)
    """Logs that are not counted for their errors, each with the first."""
    unplaced: list[str] = field(default_factory=list)
    """Logs that are counted and have no longitude and latitude."""
    not_adjusted: list[str] = field(default_factory=list)
    clashes: Clashes = field(default_factory=Clashes)

    def take(self, rows: Rows) -> None:
        """Add one log."""
        log = rows["logs"][0]
        self.standing[log["standing"]] += 1
        self.titles[log["title"]] += 1
        if log["standing"] in {WITH_ERRORS, UNREADABLE}:
            self.bad.append((log["path"], log["look_first"] or ""))
        if log["standing"] in {COUNTED, WITH_ERRORS}:
            self.clashes.take(log["path"], rows)
        if log["standing"] == COUNTED:
            self._count(log, rows)

    def _count(self, log: Row, rows: Rows) -> None:
        for name in _SUMMED:
            self.figures[name] += log[name] or 0
        self.length_m += log["length"] or 0.0
        self.grids[log["grid"]] += 1
        days = {one for one in (log["date"], log["last_date"]) if one}
        self.days |= days
        if not log["place"] and not any(one["place"] for one in rows["stations"]):
            self.unplaced.append(log["path"])
        if log["caution"]:
            self.not_adjusted.append(log["path"])
        for one in rows["units"]:
            unit = self.units.setdefault(
                (one["letters"], one["name"]),
                UnitTally(one["letters"], one["name"], one["age"], one["colour"]),
            )
            unit.logs += 1
        names = {one["letters"]: one["name"] for one in rows["units"]}
        for one in rows["attitudes"]:
            unit_name = names.get(one["unit"])
            counts = self.unknown if unit_name is None else self.units[one["unit"], unit_name].attitudes
            counts[one["kind"]] += 1
        for name in dict.fromkeys(one["name"] for one in rows["people"]):
            person = self.people.setdefault(name, PersonTally(name))
            person.logs += 1
            person.length_m += log["length"] or 0.0
            person.days |= days


_SUMMED = (
    "stations",
    "legs",
    "loops",
    "attitudes",
    "contacts",
    "samples",
    "photos",
    "hazards",
    "answered",
    "warnings",
)
