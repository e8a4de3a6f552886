"""What was booked, with the conventions in force applied and nothing computed.

The log as a whole; `readings` has what was read off an instrument, `items` what was met on the way.
All records are immutable. What came from text keeps its span and the words as written. Azimuths are degrees
clockwise from the north that the record's `conditions` name; nothing here is turned to another north.
Lines that `omit` takes out of the count are not among the records of their kind but in `Log.omitted`.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Mapping
from dataclasses import field
from enum import Enum
from functools import cached_property
from typing import TypeVar

from traverse.length import FEET, METRES, Lengths, metres_to_feet
from traverse.log.ages import Age, read_age
from traverse.log.items import (
    Address,
    Apparent,
    Contact,
    Correction,
    Item,
    Leg,
    Lines,
    Planes,
    Sight,
    Skipped,
    Tie,
    Words,
    WordsKind,
)
from traverse.log.numbering import number_skipped, out_of_order
from traverse.log.readings import Bearing, Conditions, PaceCourse, PlaneReading, Slope, SlopeKind, Unit
from traverse.record import record
from traverse.source import Span

T = TypeVar("T")

ALONE_AMONG = 5
"""Readings in another measure, or fewer, among which one alone in its own says nothing."""


class Rule(Enum):
    """Rule of adjustment."""

    COMPASS = "compass-rule"
    TRANSIT = "transit-rule"
    LEAST_SQUARES = "least-squares"
    NONE = "none"


class Projection(Enum):
    """How readings are carried to a section."""

    SQUARE = "square"
    STRIKE = "strike"
    PLUNGE = "plunge"


@record(frozen=True, slots=True, kw_only=True)
class Person:
    """A member of the party."""

    initials: str
    name: str | None
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class RockUnit:
    """A unit of the list, which stands youngest first."""

    letters: str
    name: str
    age: str | None
    colour: str | None
    """`#rrggbb`, lower case."""
    intrusive: bool = False
    """A body that cuts what it lies in: no part of the order of units, of folds or of thicknesses."""
    also: tuple[str, ...] = ()
    """What other parties call it."""
    span: Span

    @property
    def dated(self) -> Age | None:
        """What the chart makes of its age; None for an age that is not of the chart, and for none."""
        return read_age(self.age)

    @property
    def loose(self) -> bool:
        """Whether it is loose ground, a deposit that lies on the surface: all that is wholly of the Quaternary.

        Its borders are no planes that go down, and it lies over whatever it meets. What began before the Quaternary
        may be tilted and is taken for bedrock; so is an intrusive body. Common practice, no source.
        """
        return not self.intrusive and self.dated is not None and self.dated.quaternary


@record(frozen=True, slots=True, kw_only=True)
class Control:
    """A known point, either in the grid or by latitude and longitude."""

    name: str
    east_m: float | None
    north_m: float | None
    lat_deg: float | None
    also_m: tuple[float, float] | None = None
    """East and north that a file has beside latitude and longitude."""
    lon_deg: float | None
    sd_plan_m: float | None
    """None holds it in plan."""
    height_m: float | None
    sd_height_m: float | None
    """None holds its height, where it has one."""
    source: str | None
    written: str
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class ReceiverTrack:
    """A way that a receiver wrote down, from a file that the log names."""

    name: str | None
    pieces: tuple[tuple[tuple[float, float], ...], ...]
    """Latitude and longitude in degrees (WGS 84), along the way."""
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class SectionLine:
    """A line of section, through stations or by azimuth."""

    name: str
    """As written, such as A-A'."""
    stations: tuple[str, ...]
    """First end, bends, last end; a single one where the line runs through it by azimuth."""
    bearing: Bearing | None
    """Only for a line through one station; from the north in force at its line."""
    projection: Projection | None
    """None where the log leaves it open."""
    exaggeration: float
    depth_m: float | None
    conditions: Conditions
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class SheetOptions:
    """What the log asks of its sheet; None where it leaves it open."""

    scale: int | None = None
    paper: str | None = None
    """`A4`, `A3`, `Letter`, `Roll-610` and so on, as the template names it."""
    landscape: bool | None = None
    band_m: float | None = None
    """Width of ground looked at, to each side of the walk."""
    span: Span | None = None


@record(frozen=True, slots=True, kw_only=True)
class Adjust:
    """Rule of adjustment that the log asks for."""

    rule: Rule
    anyway: str | None
    """Why a loop that fails its test is adjusted all the same."""
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Trace:
    """A contact to be drawn over a grid of heights."""

    younger: str
    older: str
    plane: PlaneReading | None
    conditions: Conditions
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Omitted:
    """A line that is kept and counts for nothing."""

    record: Leg | Item | Control | Tie
    who: str
    why: str
    written: str
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Checked:
    """An answer to the warnings of a line."""

    of: Span
    """The statement answered."""
    who: str
    why: str
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Ruling:
    """What a leader says where parties differ; it counts, and what it settles stands in `Log.omitted`."""

    station: str
    statement: str
    """As written."""
    who: str
    date: dt.date
    why: str
    instead_of: tuple[str, ...]
    """Lines that it settles, as written, each with its place."""
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class PartyLog:
    """A whole log that this one brings in."""

    letters: str | None
    """Before the names of its stations; None where they are kept."""
    file: str
    title: str | None
    people: tuple[Person, ...]
    feet: bool
    """Whether it measures in feet."""
    distances: Span | None = None
    """Where its heading says what bare numbers stand for."""
    aside: bool = False
    """Whether it takes no part, because it does not fit the others."""
    hung: bool = False
    """Whether it holds no other, because its own loop fails."""
    by_open_tie: bool = False
    """Whether it is placed by nothing but one of two ties that contradict each other."""
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Day:
    """A date with the weather noted on it."""

    date: dt.date
    weather: str | None


class Help(Enum):
    """What must be known before help can be called, and so that it need not be."""

    CALL = "call"
    MEET = "meet"
    ROAD = "road"
    RADIO = "radio"
    BACK = "back"


@record(frozen=True, slots=True, kw_only=True)
class Emergency:
    """One such thing in words of the party; of `BACK` a time of day."""

    kind: Help
    words: str
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Heading:
    """What is said once for the whole log."""

    title: str | None = None
    area: str | None = None
    days: tuple[Day, ...] = ()
    party: tuple[Person, ...] = ()
    weather: tuple[str, ...] = ()
    instruments: tuple[str, ...] = ()
    heights: str | None = None
    """The height datum in words."""
    emergency: tuple[Emergency, ...] = ()
    """In the order of `Help`, each once."""
    group: str | None = None
    epsg: int | None = None
    grid_span: Span | None = None
    distances_span: Span | None = None
    """Where it is said what bare numbers stand for."""
    first: Conditions = Conditions()
    """What is in force at the end of the heading, before the first station."""
    sheet: SheetOptions = SheetOptions()
    adjust: Adjust | None = None
    terrain: str | None = None
    terrain_span: Span | None = None


@record(frozen=True, kw_only=True)
class Log:
    """A log as booked, in walking order."""

    file: str
    heading: Heading
    units: tuple[RockUnit, ...] = ()
    """Youngest first."""
    controls: tuple[Control, ...] = ()
    tracks: tuple[ReceiverTrack, ...] = ()
    paces: tuple[PaceCourse, ...] = ()
    stations: tuple[str, ...] = ()
    """Every station in the order in which the log first reaches it (by `at`, `to`, `close` or `side`)."""
    legs: tuple[Leg, ...] = ()
    ties: tuple[Tie, ...] = ()
    addresses: tuple[Address, ...] = ()
    """Every `at`, `to`, `close`, `side`, `along` and `covered`, whether or not anything is described there."""
    items: tuple[Item, ...] = ()
    """Everything described, in the order of the log."""
    traces: tuple[Trace, ...] = ()
    sections: tuple[SectionLine, ...] = ()
    omitted: tuple[Omitted, ...] = ()
    checked: tuple[Checked, ...] = ()
    corrections: tuple[Correction, ...] = ()
    rulings: tuple[Ruling, ...] = ()
    parties: tuple[PartyLog, ...] = ()
    """Whole logs that this one brings in, in order."""
    own_letters: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    """By file of a log brought in, what it calls units that have other letters here: its letters by these."""
    like_hazards: tuple[Address, ...] = ()
    """Where a note reads like a hazard, and neither `hazard` nor `checked` says whether it is one."""

    def party_of(self, station: str) -> int | None:
        """Which of the parties with letters a station is of, counted from 0; None where it is of none of them."""
        return next(
            (index for index, letters in enumerate(self.party_letters) if station.startswith(f"{letters}-")),
            None,
        )

    def line_of(self, span: Span) -> str:
        """A line in words: its number, and of another file than the log's whose it is: `108 of D`, `12 of units.trav`."""
        if span.file == self.file:
            return str(span.line)
        return f"{span.line} of {self.whose(span) or span.file}"

    def whose(self, span: Span) -> str | None:
        """Letters of the party in whose log a line stands; None where it has none."""
        return next((one.letters for one in self.parties if one.file == span.file and one.letters), None)

    def order_of(self, span: Span) -> tuple[int, int]:
        """Where a line stands: by its file, that of the log first and then those that it brings in, and its number."""
        files = [self.file, *(one.file for one in self.parties)]
        return (files.index(span.file) if span.file in files else len(files)), span.line

    def of_two_parties(self, name: str, other: str) -> bool:
        """Whether two stations are each of a party of their own; a place that several share is of none."""
        return bool(self.party_letters) and len({self.party_of(name), self.party_of(other)} - {None}) > 1

    def hangs(self, station: str) -> bool:
        """Whether a station is of a party that holds no other."""
        party = self.party_of(station)
        return party is not None and self._lettered[party].hung

    @cached_property
    def answered(self) -> frozenset[tuple[str, int]]:
        """Lines, by file and number, of which a `checked` says that they are right."""
        return frozenset((one.of.file, one.of.line) for one in self.checked)

    @cached_property
    def _lettered(self) -> tuple[PartyLog, ...]:
        return tuple(one for one in self.parties if one.letters is not None)

    @cached_property
    def party_letters(self) -> tuple[str, ...]:
        """Letters of the parties that have some, in order."""
        return tuple(one.letters for one in self.parties if one.letters is not None)

    @property
    def empty_points(self) -> tuple[Address, ...]:
        """Places of a leg at which nothing is booked."""
        booked = {item.address.index for item in self.items}
        booked |= {one.record.address.index for one in self.omitted if hasattr(one.record, "address")}
        return tuple(
            one
            for one in self.addresses
            if one.start is not None and one.end is None and one.words is None and one.index not in booked
        )

    @cached_property
    def hazards(self) -> tuple[Words, ...]:
        """Hazards as they were noted, placed or not."""
        return tuple(one for one in self.items if isinstance(one, Words) and one.kind is WordsKind.HAZARD)

    @cached_property
    def first_at(self) -> dict[str, Address]:
        """Each station where it was first written, in that order."""
        found: dict[str, Address] = {}
        for address in self.addresses:
            if address.station is not None:
                found.setdefault(address.station, address)
        return found

    @cached_property
    def out_of_order(self) -> tuple[Leg, ...]:
        """Legs whose ends are not numbered on by one, where lines in another order explain it."""
        return () if self.parties else out_of_order(self.legs)

    @cached_property
    def skipped(self) -> Skipped | None:
        """The one number that stations numbered on by one do not have; None in a camp, whose parties number by themselves."""
        if self.parties:
            return None
        known = {*self.stations, *(one.name for one in self.controls)}
        known |= {one.record.end for one in self.omitted if isinstance(one.record, Leg)}
        known |= {item.target for item in self.items if isinstance(item, Sight)}
        return number_skipped(self.legs, known)

    @cached_property
    def lone_slopes(self) -> tuple[Slope, ...]:
        """Slopes each of which is the one of its log in its measure, where several are in the other."""
        slopes: dict[str, list[Slope]] = {}
        for leg in self.legs:
            if leg.slope is not None and leg.slope.value != 0.0:
                slopes.setdefault(leg.span.file, []).append(leg.slope)
        return tuple(
            own[0]
            for read in slopes.values()
            for kind in (SlopeKind.GRADE, SlopeKind.DEGREES)
            if len(own := [one for one in read if one.kind is kind]) == 1 and len(read) > ALONE_AMONG
        )

    @cached_property
    def begun_at(self) -> dict[int, Span]:
        """The `at` line by which a leg begins where it does, by the leg's index; none where the walk just goes on."""
        walked = [(leg.span.line, leg.start, leg.index) for leg in self.legs]
        arrived = {(leg.span.file, leg.span.line) for leg in self.legs}
        found: dict[int, Span] = {}
        following = iter(walked)
        leg = next(following, None)
        last: Address | None = None
        for address in self.addresses:
            while leg is not None and leg[0] <= address.span.line:
                if last is not None and last.station == leg[1]:
                    found[leg[2]] = last.span
                last, leg = None, next(following, None)
            if address.station is not None and (address.span.file, address.span.line) not in arrived:
                last = address
        if leg is not None and last is not None and last.station == leg[1]:
            found[leg[2]] = last.span
        return found

    @cached_property
    def _stretches(self) -> tuple[tuple[str, Conditions], ...]:
        """What was in force along the walk, and the station at or from which it first counts; the first from none."""
        read = [
            *((leg.span, self._whose(leg.start, leg.span), leg.conditions) for leg in self.legs),
            *(
                (
                    item.span if item.span.file == item.address.span.file else item.address.span,
                    self._whose(item.address.at_or_from, item.address.span),
                    item.conditions,
                )
                for item in self.items
                if isinstance(item, Planes | Lines | Apparent | Contact | Sight)
            ),
        ]
        found = [("", self.heading.first)]
        files: dict[str, int] = {}
        for span, _, _ in read:
            files.setdefault(span.file, len(files))
        for _, station, conditions in sorted(read, key=lambda one: (files[one[0].file], one[0].line)):
            if conditions is not found[-1][1]:
                found.append((station, conditions))
        return tuple(found)

    def _whose(self, station: str, span: Span) -> str:
        """A station; at a place that belongs to no party the letters of the party whose line it is."""
        if not self.parties or self.party_of(station) is not None:
            return station
        return self.whose(span) or station

    def held(self, of: Callable[[Conditions], T]) -> tuple[tuple[str, T], ...]:
        """What of the conditions held from which station on, where it changed; the first from none."""
        found: list[tuple[str, T]] = []
        for station, conditions in self._stretches:
            value = of(conditions)
            if not found or found[-1][1] != value:
                found.append((station, value))
        return tuple(found)

    @cached_property
    def intrusive(self) -> frozenset[str]:
        """Letters of the units that are intrusive bodies."""
        return frozenset(unit.letters for unit in self.units if unit.intrusive)

    @cached_property
    def lengths(self) -> Lengths:
        """Words of lengths, in the unit in which the party measures.

        Feet where more of its legs are taped in feet than in metres; where that is undecided, more of what is told
        along legs; at last by calibrations over a whole number of either. A leg or two that are taped among paces
        decide nothing: one of them may be a slip. Of several parties that of the most.
        """
        if self.parties:
            return FEET if 2 * sum(one.feet for one in self.parties) > len(self.parties) else METRES
        booked = [leg.distance.unit for leg in self.legs]
        along = [
            one.unit
            for address in self.addresses
            for one in (address.start, address.end, address.offset)
            if one is not None
        ]
        for units in (booked, along):
            feet, metres = units.count(Unit.FEET), units.count(Unit.METRES)
            if feet != metres and 4 * (feet + metres) > len(units):
                return FEET if feet > metres else METRES
        courses = [pace.course_m for pace in self.paces if pace.course_m]
        feet = sum(_is_whole(metres_to_feet(course_m)) for course_m in courses)
        return FEET if feet > sum(map(_is_whole, courses)) else METRES


def one_place(ties: Iterable[Tie]) -> dict[str, frozenset[str]]:
    """Names that ties say to be one place exactly, by each of them, itself included."""
    groups: dict[str, set[str]] = {}
    for tie in ties:
        if tie.sd_m is None:
            both = groups.setdefault(tie.first, {tie.first}) | groups.setdefault(tie.second, {tie.second})
            groups.update(dict.fromkeys(both, both))
    return {name: frozenset(group) for name, group in groups.items()}


def _is_whole(length: float) -> bool:
    return abs(length - round(length)) < 1e-6
