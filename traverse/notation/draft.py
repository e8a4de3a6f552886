"""What the reader knows while it walks down the lines."""

from __future__ import annotations

import datetime as dt
import posixpath
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from traverse.diagnostic import Diagnostic, Label, Severity
from traverse.log.items import Address, Correction, Item, Leg, Tie, Words
from traverse.log.readings import (
    Conditions,
    Convention,
    Declination,
    Distance,
    LineReading,
    North,
    PaceCourse,
    PlaneReading,
    Precision,
    SlopeKind,
    Unit,
)
from traverse.log.records import (
    Adjust,
    Checked,
    Control,
    Day,
    Emergency,
    Help,
    Log,
    Omitted,
    PartyLog,
    Person,
    ReceiverTrack,
    RockUnit,
    Ruling,
    SectionLine,
    SheetOptions,
    Trace,
)
from traverse.notation.guess import nearest
from traverse.notation.text import shortened
from traverse.points.records import PointFile
from traverse.record import record
from traverse.source import Source, Span

if TYPE_CHECKING:
    from lark import Token

    from traverse.notation.parse import Statement


_LONGEST_HINT = 160
_GUESSES = 100


class Mistake(Exception):  # noqa: N818 - a person's, not the program's
    """One thing wrong with the line being read, with its remedies."""

    def __init__(
        self, code: str, message: str, span: Span, *hints: str, labels: tuple[Label, ...] = ()
    ) -> None:
        self.diagnostic = Diagnostic(
            code=code,
            severity=Severity.ERROR,
            message=message,
            span=span,
            hints=tuple(shortened(hint, _LONGEST_HINT) for hint in hints),
            labels=labels,
        )
        super().__init__(message)


def unread(kind: str) -> tuple[tuple[str, str], ...]:
    """Keys of what follows from a line of a kind that could not be read, here or in a file that is used."""
    return ("unread", kind), ("unread", "USE")


class Unsaid(Mistake):
    """A mistake that follows from one that was told, or is told when all is read."""


class Loose(NamedTuple):
    """A station that a line goes to although nothing reaches it yet."""

    name: str
    span: Span
    walked: Leg | None
    """The leg that ends at the line above, where the party did not go to its end."""
    met: int
    """How many stations had been met."""
    led: bool
    """Whether that leg led to a place where the party had not stood."""


class LineInForce(NamedTuple):
    """A line that holds from there on."""

    value: object
    """What it says, equal to that of a line that says the same."""
    span: Span
    read: int
    """How much had been read above it."""


class Ruled(NamedTuple):
    """A `ruling` line, kept until every log is read."""

    station: str
    station_span: Span
    statement: str
    at: Span
    """Where the statement begins."""
    who: str
    date: dt.date
    why: str
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Reading:
    """A log, and the texts it was read from."""

    log: Log
    sources: Mapping[str, Source]
    """Every file read, by the name that spans give."""
    left_out: frozenset[str] = frozenset()
    """Files of logs that have errors of their own and take no part: the rest goes on without them."""


@dataclass
class Draft:
    """The log so far. One for a whole log, whatever files it uses."""

    file: str
    folder: str = ""
    """Of the log, below that of the log that brings it in."""
    original: str = ""
    respelled: bool = False
    """Whether the tokens are in other spellings than the text."""
    sources: dict[str, Source] = field(default_factory=dict)
    """Every file read, by name."""
    diagnostics: list[Diagnostic] = field(default_factory=list)
    failed: set[str] = field(default_factory=set)
    """First words of lines that could not be read: what they would have said is not called missing."""
    told: set[tuple[str, str]] = field(default_factory=set)
    """What has been said once and is not said again of every later line."""
    causes: dict[tuple[str, str], Diagnostic] = field(default_factory=dict)
    """What has been said and later lines rest on."""
    resting: Counter[Diagnostic] = field(default_factory=Counter)
    """How many lines do."""
    guesses: int = 0
    mistakes: int = 0
    """Lines that could not be read."""
    more: list[str] = field(default_factory=list)
    """Continuation lines of the statement being read."""
    above: Statement | None = None
    """The nearest line above that is none of `checked`, `was` and `omit`."""
    above_read: bool = True
    comma: bool = False
    """Whether `decimals comma` stands anywhere."""

    # --- values of readings by their text: a long log says the same figures again and again
    bearing_of: dict[str, tuple[float, bool]] = field(default_factory=dict)
    distance_of: dict[tuple[str, Unit | None], tuple[float, Unit, bool]] = field(default_factory=dict)
    slope_of: dict[str, tuple[float, SlopeKind, bool]] = field(default_factory=dict)
    plane_of: dict[
        tuple[str, Convention | None], tuple[float | None, float | None, bool, str, bool | None]
    ] = field(default_factory=dict)

    # --- said once
    title: str | None = None
    area: str | None = None
    heights: str | None = None
    group: str | None = None
    epsg: int | None = None
    grid_span: Span | None = None
    terrain: str | None = None
    terrain_span: Span | None = None
    adjust: Adjust | None = None
    sheet: SheetOptions = field(default_factory=SheetOptions)
    once: dict[str, Span] = field(default_factory=dict)
    """Where each statement that may stand once was said."""
    given: dict[str, LineInForce] = field(default_factory=dict)
    """What each statement that holds from its line on said last."""

    # --- in force
    date: dt.date | None = None
    bearings: North | None = None
    bearings_span: Span | None = None
    declination: Declination | None = None
    convention: Convention | None = None
    convention_span: Span | None = None
    attitudes_north: North | None = None
    pace_of: dict[str | None, PaceCourse] = field(default_factory=dict)
    precision: Precision = field(default_factory=Precision)
    pacer: str | None = None
    pacer_span: Span | None = None
    reader: str | None = None
    compass: str | None = None
    page: str | None = None
    bare: Unit | None = None
    """What a bare number of a distance means."""
    bare_span: Span | None = None
    in_force: Conditions | None = None
    """The above as one record, until something changes."""
    first: Conditions | None = None
    last_time: tuple[dt.date | None, dt.time, Span] | None = None

    # --- gathered
    days: list[Day] = field(default_factory=list)
    party: list[Person] = field(default_factory=list)
    weather: list[str] = field(default_factory=list)
    instruments: list[str] = field(default_factory=list)
    emergency: dict[Help, Emergency] = field(default_factory=dict)
    people: list[tuple[str, Span]] = field(default_factory=list)
    """Initials where they are used."""
    units: list[RockUnit] = field(default_factory=list)
    unit_order: dict[str, int] = field(default_factory=dict)
    """Letters of every unit line of all files, in order; known before the first line is read."""
    unknown_units: dict[str, list[Span]] = field(default_factory=dict)
    """Where letters are used that no unit has."""
    across: dict[str, set[str]] = field(default_factory=dict)
    """By letters those that contacts have on their other side."""
    units_met: dict[str, None] = field(default_factory=dict)
    """Letters of units in the order in which the log came to them last."""
    met_before: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Of letters that no unit has those of units that were met before their first use, the last first."""
    against_order: list[tuple[tuple[str, str], Span]] = field(default_factory=list)
    """Contacts whose first unit, the younger, stands below the other in the list."""
    in_order: set[tuple[str, str]] = field(default_factory=set)
    """Pairs, turned round, that some contact names as the list has them."""
    intrusive: set[str] = field(default_factory=set)
    """Likewise of those that cut the others, and have no place in their order."""
    control_names: set[str] = field(default_factory=set)
    """Known before the first line is read, as the letters are."""
    controls: list[Control] = field(default_factory=list)
    point_files: dict[tuple[str, int], PointFile | Mistake] = field(default_factory=dict)
    """What the file of a `controls` line holds, or why it can't be read, by the line's file and number."""
    of_files: dict[Span, str] = field(default_factory=dict)
    """The `controls` lines whose points are among the controls, with the names of their files."""
    by_rule: int = 0
    """Azimuth strikes whose dip is where `attitudes dip-right` or `dip-left` has it."""
    against_rule: list[tuple[str, Span]] = field(default_factory=list)
    """Those whose letter says the other side, as written."""
    tracks: list[ReceiverTrack] = field(default_factory=list)
    paces: list[PaceCourse] = field(default_factory=list)
    stations: dict[str, Span] = field(default_factory=dict)
    """Where each was first reached."""
    visited: set[str] = field(default_factory=set)
    """Stations that an `at` line goes to."""
    struck: set[str] = field(default_factory=set)
    """Stations that only an omitted leg reaches."""
    places: dict[str, str] = field(default_factory=dict)
    """Names of stations and landmarks by what they look like, to find two that are nearly one."""
    loose: list[Loose] = field(default_factory=list)
    """Stations that `at` or `from` names before any leg reaches them."""
    past: dict[int, list[Distance]] = field(default_factory=dict)
    """Places along a leg, by its index, that lie past its end."""
    asked_along: list[tuple[int, int, Diagnostic]] = field(default_factory=list)
    """What is asked of places along a leg that may lie on another: the index of the leg and of the place, and the message."""
    legs: list[Leg] = field(default_factory=list)
    ties: list[Tie] = field(default_factory=list)
    tied_parties: list[Statement] = field(default_factory=list)
    """Lines that tie many places of two parties."""
    addresses: list[Address] = field(default_factory=list)
    items: list[Item] = field(default_factory=list)
    like_hazards: list[tuple[Words, Diagnostic]] = field(default_factory=list)
    """Words that read like a hazard, and what is asked of them where none is listed there."""
    traces: list[Trace] = field(default_factory=list)
    sections: list[SectionLine] = field(default_factory=list)
    section_stations: list[tuple[str, Span]] = field(default_factory=list)
    omitted: list[Omitted] = field(default_factory=list)
    checked: list[Checked] = field(default_factory=list)
    corrections: list[Correction] = field(default_factory=list)
    labels: dict[str, Span] = field(default_factory=dict)
    """Where each sample was taken."""
    parties: list[PartyLog] = field(default_factory=list)
    """Whole logs brought in."""
    own_letters: dict[str, dict[str, str]] = field(default_factory=dict)
    """By file of one of them, its letters of units by those of the camp, where the two differ."""
    ruled: list[Ruled] = field(default_factory=list)
    rulings: list[Ruling] = field(default_factory=list)
    earlier: frozenset[str] = frozenset()
    """Stations of the days before, where this log is one of several days of a party."""
    tied_ahead: set[str] = field(default_factory=set)
    """Names that any `tie` names, known before the first line is read."""
    faces: list[tuple[LineReading, Span, Conditions, Address]] = field(default_factory=list)
    """Faces of apparent dips at this place that wait for a second."""

    # --- where the party stands
    station: str | None = None
    address: Address | None = None
    walked: Leg | None = None
    """The leg that `along` and `covered` are on."""
    lost: bool = False
    """Whether the line that walked there could not be read: then `along` is not called wrong as well."""
    unnamed: list[Diagnostic] = field(default_factory=list)
    """Legs refused because their end has no name, or one that is taken: a new name after one is what was meant."""
    led_to: dict[Diagnostic, str] = field(default_factory=dict)
    """Where the lines below a refused leg go on, by its message."""
    plane: PlaneReading | None = None
    """The last plane measured at this place."""
    items_here: int = 0
    """Index of the first item of this place."""

    @cached_property
    def name(self) -> str:
        """The log's own path from the folder of the log that brings in all others."""
        return posixpath.join(self.folder, posixpath.basename(self.file))

    def span(self, token: Token) -> Span:
        """Where a word stands."""
        return Span(self.file, token.line, token.column, token.end_column)  # type: ignore[arg-type]

    def whole(self, statement: Statement) -> Span:
        """Where a statement stands."""
        first = statement[0]
        return Span(self.file, first.line, first.column, statement[-1].end_column)  # type: ignore[arg-type]

    def between(self, first: Token, last: Token) -> Span:
        """From one word to another of the same line."""
        return Span(self.file, first.line, first.column, last.end_column)  # type: ignore[arg-type]

    def written(self, token: Token) -> str:
        """A word as typed."""
        return (self.original[token.start_pos : token.end_pos] if self.respelled else token.value).rstrip(
            " \t"
        )

    def words(self, token: Token | None, *, joint: str = " ") -> str | None:
        """Free text as typed, with its continuation lines."""
        pieces = [self.written(token)] if token is not None else []
        pieces += self.more
        return joint.join(pieces) if pieces else None

    def line(self, number: int) -> str:
        """A line of the file being read, as typed."""
        return self.sources[self.file].line(number)

    def at_line(self, span: Span) -> str:
        """Where another line stands, in words: its number, after its file where that is another one."""
        return f"line {span.line}" if span.file == self.file else f"{span.file}, line {span.line}"

    def guess(self, name: str, known: Iterable[str]) -> str | None:
        """The name that was probably meant. The first mistakes get one; of thousands none is helped by it."""
        self.guesses += 1
        return nearest(name, known) if self.guesses <= _GUESSES else None

    def names_near(self, met: int | None = None) -> list[str]:
        """Stations and known points, those last met before the station of a number first."""
        names = list(self.stations)
        met = len(names) if met is None else met
        return [*reversed(names[:met]), *names[met:], *sorted(self.control_names.difference(names))]

    def say(self, one: Diagnostic) -> None:
        """Keep a message."""
        self.diagnostics.append(one)

    def cause(self, key: tuple[str, str], one: Diagnostic) -> None:
        """Remember a message as the cause of what follows from it; the first of a key stands."""
        self.causes.setdefault(key, one)

    def rests_on(self, *keys: tuple[str, str]) -> bool:
        """Whether what is wrong with this line follows from a message given already; if so it is counted there."""
        for key in keys:
            if key in self.causes:
                self.resting[self.causes[key]] += 1
                return True
        return False

    def meant(self, name: str) -> bool:
        """Whether a name that nothing reaches is that of a leg above, which was refused for its own."""
        if ("name", name) not in self.causes and self.unnamed:
            refused = self.unnamed.pop(0)
            self.led_to.setdefault(refused, name)
            self.cause(("name", name), refused)
        return self.rests_on(("name", name))

    def with_consequences(self) -> list[Diagnostic]:
        """The messages, each with the number of lines that rest on it."""
        resting = self.resting
        return [
            replace(self._with_name(one), below=resting[one]) if one in resting else one
            for one in self.diagnostics
        ]

    def _with_name(self, one: Diagnostic) -> Diagnostic:
        """A leg to a station that exists, where a new name follows below: that one was meant, or the leg comes back."""
        name = self.led_to.get(one)
        if name is None or one.code not in {"station-exists", "unknown-word"}:
            return one
        first, *rest = one.hints
        if one.code == "unknown-word":
            # A leg that was typed from its bearing on.
            return replace(one, hints=(first.replace("`to NAME ", f"`to {shortened(name)} "), *rest))
        return replace(one, hints=(f"`to {shortened(name)}`, where the lines below go on, or {first}", *rest))

    def conditions(self) -> Conditions:
        """What is in force here."""
        if self.in_force is None:
            if self.pacer is not None:
                pace = self.pace_of.get(self.pacer) or self.pace_of.get(None)
            else:
                pace = next(iter(self.pace_of.values())) if len(self.pace_of) == 1 else None
            self.in_force = Conditions(
                date=self.date,
                bearings=self.bearings,
                bearings_span=self.bearings_span,
                declination=self.declination,
                convention=self.convention,
                convention_span=self.convention_span,
                attitudes_from=self.attitudes_north or self.bearings,
                pace=pace,
                precision=self.precision,
                pacer=self.pacer,
                pacer_span=self.pacer_span,
                reader=self.reader,
                compass=self.compass,
                page=self.page,
            )
        return self.in_force
