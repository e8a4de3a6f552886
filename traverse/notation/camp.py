"""A log that brings in whole logs of other parties or days: `log`, `ruling`, and what they all call alike."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import field, replace
from itertools import groupby
from typing import TYPE_CHECKING, Final, TypeAlias

from lark import Token

from traverse.diagnostic import Diagnostic, Label, Outcome, Severity, warning
from traverse.length import FEET
from traverse.log.items import (
    Apparent,
    Contact,
    ContactKind,
    Item,
    Lines,
    PlaneKind,
    Planes,
    Sample,
    Sight,
    Tie,
    UnitHere,
    WayUp,
)
from traverse.log.records import Control, Emergency, Help, Log, Omitted, PartyLog, RockUnit, Ruling, one_place
from traverse.log.renamed import Renamed
from traverse.log.unit_order import turned_round
from traverse.log.united import (
    OneLog,
    OtherFigures,
    SharedPlaces,
    also_of_nothing,
    clashing,
    landmarks_of,
    one_of_each,
    shared_places,
    unite_units,
    without_places,
)
from traverse.notation.draft import Draft, Mistake, Reading, Ruled
from traverse.notation.guess import lookalike
from traverse.notation.heading import initials, join_party
from traverse.notation.terms import check_name, date
from traverse.notation.text import decode, shortened
from traverse.notation.use import Loader, checked_path, not_had, not_in_circle
from traverse.record import record
from traverse.source import Source, Span

if TYPE_CHECKING:
    from traverse.notation.parse import Statement, Unread

RULED: Final = frozenset({
    "BED", "CROSSBED", "FOLIATION", "CLEAVAGE", "JOINT", "VEIN", "DIKE", "AXIAL", "LINEATION", "STRIATION", "HINGE",
    "CURRENT", "TOPS", "UNIT", "CONTACT", "UNCONFORMITY", "FAULT",
})  # fmt: skip
"""Statements that a ruling may make."""

_BOTH, _NAMED = 2, 5
"""The names of one tie; those of a row that a message names."""
_AS: Final = re.compile(r"(.*?)(?:[ \t]+as(?:[ \t]+(.*))?)?$", re.IGNORECASE | re.DOTALL)
_PARTY: Final = re.compile(r"[^\W\d_][^\W_]{0,4}$")
_RULING: Final = re.compile(
    r"(.*?)[ \t]+([^\W_]{1,5})[ \t]+(\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4})(?:[ \t]+(.*))?$", re.DOTALL
)
_SUCH: Final = "such as `ruling A-7 bed 128/42 MO 2026-06-21 the other was a joint`"
_OF_THE_WHOLE: Final = frozenset({"loose-piece", "no-grid", "grid-missing", "start-unknown", "no-terrain"})
"""Messages that are judged when all logs are together, not of one by itself."""
_PARTED: Final = "\0"
"""Between the number of a log and a name of it, until it is known whether others have the name."""


@record(frozen=True, slots=True)
class BroughtBy:
    """What brings a log in."""

    chain: tuple[str, ...] = ()
    """Logs that bring one another in, the outermost first."""
    files: dict[str, Span] = field(default_factory=dict)
    """Where each was brought in; one for all logs."""
    texts: dict[bytes, Span] = field(default_factory=dict)
    """The same by what they hold: a link, or a copy, is no other party."""
    aside: frozenset[str] = frozenset()
    """Files of those that take no part."""


ReadWhole: TypeAlias = "Callable[[Draft, Source, Loader, BroughtBy], Outcome[Reading]]"


@record(frozen=True, slots=True, kw_only=True)
class Brought:
    """A log that was brought in."""

    path: str
    letters: str | None
    log: Log
    files: frozenset[str]
    """Every file it was read from."""


def by_letters(lines: list[Statement | Token | Unread]) -> None:
    """Put each run of `log … as LETTERS` in the order of the letters, so that theirs says nothing.

    A run in which a file or letters stand twice keeps its order: a message says which was first.
    """
    run: list[int] = []
    for at, one in enumerate([*lines, None]):
        if isinstance(one, list) and one[0].type == "LOG":
            run.append(at)
        elif not (isinstance(one, Token) and one.type == "COMMENT"):
            named = [(_lettered(lines[each]), each) for each in run]
            letters, files = {name for (_, name), _ in named}, {file for (file, _), _ in named}
            if "" not in letters and len(letters) == len(files) == len(run):
                in_order = sorted(named, key=lambda one: (len(one[0][1]), one[0][1]))
                moved = [lines[each] for _, each in in_order]
                for place, line in zip(run, moved, strict=True):
                    lines[place] = line
            run = []


def _lettered(line: Statement | Token | Unread) -> tuple[str, str]:
    """File and letters of a `log` line, the letters in one spelling; empty without."""
    match = _AS.match(line[1]) if isinstance(line, list) and len(line) > 1 else None
    return ("", "") if match is None else (match[1].strip(), lookalike((match[2] or "").strip()))


class Camp:
    """The logs that a log brings in: read at their line, put together when all is read."""

    def __init__(self, draft: Draft, load: Loader, by: BroughtBy, read: ReadWhole) -> None:
        self._draft = draft
        self._load = load
        self._by = by
        self._read = read
        self.brought: list[Brought] = []
        self._controls_aside: list[Control] = []
        self._controls_unread: list[Control] = []
        """Of logs that have errors."""
        self._sighted_absent: set[str] = set()
        """Landmarks of logs that take no part."""
        self.left_out: set[str] = set()
        """Files of logs that have errors."""
        self._letters: dict[str, tuple[str, str, Span]] = {}
        self._absent: set[str] = set()
        """Names of logs that take no part."""
        self._unread: set[str | None] = set()
        """Letters of logs that could not be read."""

    @property
    def of_several(self) -> bool:
        """Whether other logs are brought in, read or not."""
        return bool(self.brought or self._absent or self._unread)

    # --- reading a log in -----------------------------------------------------------------------------------

    def bring(self, s: Statement) -> None:
        """`log FILE [as LETTERS]`."""
        draft = self._draft
        try:
            path, letters, span = self._named(s)
        except Mistake:
            self._unread.add(None)  # any name may be of it
            raise
        try:
            source = self._source(path, span)
        except Mistake:
            self._unread.add(letters)
            raise
        chain = (*self._by.chain, draft.name)
        inner = Draft(file=path, folder=posixpath.dirname(path))
        if letters is None:
            self._go_on(inner)
        outcome = self._read(inner, source, self._load, replace(self._by, chain=chain))
        reading, said = outcome.value, outcome.diagnostics
        draft.sources.update(reading.sources)
        told = [one for one in said if one.code not in _OF_THE_WHOLE]
        draft.diagnostics += told
        full = _full(letters)
        own = [*reading.log.stations, *(control.name for control in reading.log.controls)]
        stopping = [
            one
            for one in told
            if one.severity is Severity.ERROR and (one.span is None or one.span.file not in reading.left_out)
        ]
        self.left_out |= reading.left_out
        if stopping:
            self._absent.update(full(name) for name in own)
            self.left_out |= {one.span.file for one in stopping if one.span is not None} | {path}
            self._controls_unread += reading.log.controls if letters is not None else ()
            self._sighted_absent |= landmarks_of(reading.log).keys() if letters is not None else set()
            many = len(stopping)
            draft.say(
                warning(
                    "log-left-out",
                    f"{shortened(path)} has {many} error{'s' if many > 1 else ''} and takes no part; the rest goes on "
                    "without it",
                    draft.whole(s),
                    "mend it, and it is joined",
                )
            )
            return
        if letters is not None:
            self._free_names(own, full, path, span)
        if path in self._by.aside:
            self._absent.update(full(name) for name in own)
            self.left_out.add(path)
            self._controls_aside += reading.log.controls
            self._sighted_absent |= landmarks_of(reading.log).keys() if letters is not None else set()
            draft.parties.append(_party(path, letters, reading.log, span, aside=True))
            return
        files = frozenset(reading.sources)
        one = Brought(path=path, letters=letters, log=reading.log, files=files)
        self._take_in(one, span)

    def _named(self, s: Statement) -> tuple[str, str | None, Span]:
        """The file of a `log` line, from the folder of the outermost log, its letters, and where the line is."""
        draft = self._draft
        span = draft.whole(s)
        match = _AS.match(draft.written(s[1]))
        assert match is not None
        written, letters = match[1], match[2] and match[2].strip(" \t")
        kept = written.strip(" \t")
        if letters is None and re.search(r"[ \t]as$", draft.written(s[1]), re.IGNORECASE):
            raise Mistake("log-letters", "as what", span, f"`log {shortened(kept)} as A`")
        path = posixpath.join(draft.folder, checked_path(kept, draft.span(s[1]), "log"))
        if letters is not None:
            if _PARTY.match(letters) is None:
                raise Mistake(
                    "log-letters",
                    f"{shortened(letters)}: a party is named by letters, up to five",
                    draft.span(s[1]),
                    f"such as `log {shortened(kept)} as A`",
                )
            known = self._letters.setdefault(lookalike(letters), (letters, path, span))
            if known[2] is not span:
                raise Mistake(
                    "letters-taken",
                    f"{known[0]} is {shortened(known[1])}",
                    draft.span(s[1]),
                    f"`log {shortened(kept)} as {self._spare()}`, or other letters",
                    labels=(Label(known[2], f"{known[0]} is given here"),),
                )
        return path, letters, span

    def _spare(self) -> str:
        return next(
            (one for one in "ABCDEFGHJKLMNPQRSTUVWXYZ" if lookalike(one) not in self._letters), "LETTERS"
        )

    def _source(self, path: str, span: Span) -> Source:
        """The text of a log; a mistake where it can't be had, is in the count already, or brings in this one."""
        chain = (*self._by.chain, self._draft.name)
        shown = shortened(path)
        not_in_circle(path, chain, span, word="log")
        earlier = self._by.files.setdefault(path, span)
        if earlier is not span:
            raise _twice(f"{shown} is brought in already", span, earlier)
        try:
            data = self._load(path)
        except (OSError, ValueError) as problem:
            raise not_had("log-missing", shown, span, problem) from None
        outcome = decode(path, data)
        same = self._by.texts.setdefault(data, span)
        if same is not span:
            raise _twice(f"{shown} is, letter for letter, a log that is brought in already", span, same)
        if outcome.value is None:
            raise Mistake("log-missing", f"{shown} is no text", span, *outcome.diagnostics[0].hints)
        self._draft.diagnostics += outcome.diagnostics
        return outcome.value

    def _go_on(self, inner: Draft) -> None:
        """Let a day of the same party know the stations of the days before."""
        draft = self._draft
        inner.earlier = frozenset(draft.stations)
        inner.stations.update(draft.stations)
        inner.places.update(draft.places)
        inner.labels.update(draft.labels)
        inner.control_names |= draft.control_names
        inner.tied_ahead |= draft.tied_ahead

    def _free_names(self, own: Iterable[str], full: Callable[[str], str], path: str, span: Span) -> None:
        draft = self._draft
        for name in own:
            taken = draft.stations.get(full(name))
            if taken is not None:
                raise Mistake(
                    "letters-taken",
                    f"{shortened(full(name))} is a station already ({draft.at_line(taken)})",
                    span,
                    f"`log {shortened(path)} as {self._spare()}`, or other letters",
                    labels=(Label(taken, "here"),),
                )

    def _take_in(self, one: Brought, span: Span) -> None:
        """Put the records of a log behind those before it."""
        draft, log, number = self._draft, one.log, len(self.brought)
        self.brought.append(one)
        own = {*log.stations, *(control.name for control in log.controls)}
        own.update(name for leg in log.legs for name in (leg.start, leg.end))
        own.update(item.target for item in log.items if isinstance(item, Sight))
        full = _full(one.letters)
        parted = _parted(number)
        kept = one.letters is None
        renamed = Renamed(
            place=lambda name: full(name) if name in own else name,
            label=(lambda name: name) if kept else parted,
            who=(lambda name: name) if kept else parted,
            unit=parted,
            nobody=one.letters,
            legs_before=len(draft.legs),
            addresses_before=len(draft.addresses),
        )
        draft.legs += map(renamed.leg, log.legs)
        draft.addresses += map(renamed.address, log.addresses)
        draft.items += map(renamed.item, log.items)
        draft.ties += map(renamed.tie, log.ties)
        draft.controls += map(renamed.control, log.controls)
        draft.tracks += log.tracks
        draft.traces += map(renamed.trace, log.traces)
        draft.omitted += map(renamed.omitted, log.omitted)
        draft.checked += map(renamed.checked, log.checked)
        draft.corrections += map(renamed.correction, log.corrections)
        draft.rulings += map(renamed.ruling, log.rulings)
        draft.paces += map(renamed.pace, log.paces)
        for name in log.stations:
            first = log.first_at.get(name)
            draft.stations.setdefault(full(name), first.span if first is not None else span)
            draft.places.setdefault(lookalike(full(name)), full(name))
        draft.control_names.update(full(control.name) for control in log.controls)
        if kept:
            draft.labels.update((item.label, item.span) for item in log.items if isinstance(item, Sample))
        party = _party(one.path, one.letters, log, span)
        draft.parties.append(replace(party, people=tuple(map(renamed.person, party.people))))

    # --- putting together -----------------------------------------------------------------------------------

    def unite(self, read_ruled: Callable[[Draft, Ruled], bool]) -> None:
        """One list of units, one name for what is one place, one heading; and the leader's rulings."""
        draft = self._draft
        logs = [OneLog(one.letters, one.log) for one in self.brought]
        members = frozenset().union(*(one.files for one in self.brought)) - {draft.file}
        own_controls = [one for one in draft.controls if one.span.file not in members]
        aside, unread = self._controls_aside, self._controls_unread
        shared = shared_places(
            own_controls, frozenset(draft.stations), logs, aside, unread, self._sighted_absent
        )
        for differ in shared.otherwise:
            self._other_figures(differ)
        self._absent.update(name for name, points in shared.alone.items() if not points)
        draft.ties = [
            replace(
                tie, first=shared.meant(tie.first, tie.second), second=shared.meant(tie.second, tie.first)
            )
            for tie in draft.ties
        ]
        letters = self._units(logs)
        labels = clashing([
            (number, item.label, number)
            for number, (named, log) in enumerate(logs)
            for item in log.items
            if isinstance(item, Sample) and named is not None
        ])  # fmt: skip
        people = clashing([
            (number, person.initials, person.name or number)
            for number, (named, log) in enumerate(logs)
            for person in log.heading.party
            if named is not None
        ])  # fmt: skip

        def whole(name: str, clashes: frozenset[tuple[int, str]]) -> str:
            number, parted, bare = name.partition(_PARTED)
            if not parted:
                return name
            return f"{logs[int(number)].letters}-{bare}" if (int(number), bare) in clashes else bare

        def unit(name: str) -> str:
            number, parted, bare = name.partition(_PARTED)
            return letters.get((int(number), bare), bare) if parted else name

        renamed = Renamed(
            place=shared.meant,
            label=lambda name: whole(name, labels),
            who=lambda name: whole(name, people),
            unit=unit,
        )
        self._rename(renamed)
        numbers = {file: at for at, one in enumerate(self.brought) for file in one.files if file in members}
        draft.controls = list(one_of_each([(numbers.get(one.span.file, -1), one) for one in draft.controls]))
        for file, number in numbers.items():
            own = {joined: bare for (at, bare), joined in letters.items() if at == number and joined != bare}
            draft.own_letters.update({file: own} if own else {})
        self._order(letters, numbers)
        self._head(renamed)
        self._rule(read_ruled, shared)

    def _rename(self, renamed: Renamed) -> None:
        draft = self._draft
        draft.legs = list(map(renamed.leg, draft.legs))
        draft.addresses = list(map(renamed.address, draft.addresses))
        draft.items = list(map(renamed.item, draft.items))
        draft.ties = list(without_places(map(renamed.tie, draft.ties), self._absent))
        draft.controls = list(map(renamed.control, draft.controls))
        draft.traces = list(map(renamed.trace, draft.traces))
        draft.omitted = list(map(renamed.omitted, draft.omitted))
        draft.checked = list(map(renamed.checked, draft.checked))
        draft.corrections = list(map(renamed.correction, draft.corrections))
        draft.rulings = list(map(renamed.ruling, draft.rulings))
        draft.paces = list(map(renamed.pace, draft.paces))
        draft.parties = [replace(one, people=tuple(map(renamed.person, one.people))) for one in draft.parties]
        place = renamed.place
        stations: dict[str, Span] = {}
        for name, span in draft.stations.items():
            stations.setdefault(place(name), span)
        draft.stations = stations
        draft.control_names = {place(name) for name in draft.control_names}
        draft.sections = [replace(one, stations=tuple(map(place, one.stations))) for one in draft.sections]
        draft.section_stations = [(place(name), span) for name, span in draft.section_stations]

    def _other_figures(self, differ: OtherFigures) -> None:
        """At the line of the one that fewer logs have; where nothing decides, at the line that brings the later log in.

        Which is wrong a closure that fails may tell: then all is said there.
        """
        first, other, more, undecided = differ
        besides = f" and in {more} other log{'s' if more > 1 else ''}" if more else ""
        words = f"{shortened(first.name)} is {first.written} in {first.span.file}, line {first.span.line}{besides}"
        if not undecided:
            self._draft.say(
                warning(
                    "control-differs",
                    f"{words}, and other figures here: they are taken for two places",
                    other.span,
                    "look at these figures first, or give them another name; `checked WHO WHY` answers this",
                )
            )
            return
        brought = next(one.span for one in self._draft.parties if one.letters == self._letters_of(other))
        there = f"{other.written} in {other.span.file}, line {other.span.line}"
        said = warning(
            "control-differs",
            f"{words}, and {there}: they are taken for two places",
            brought,
            "look which of the two is right, or give one of them another name; `checked WHO WHY` answers this",
        )
        elsewhere = (
            Label(first.span, f"{first.name} is {there}"),
            Label(other.span, f"{first.name} is {words.partition(' is ')[2]}"),
        )
        self._draft.say(replace(said, rests_on=elsewhere))

    def _letters_of(self, control: Control) -> str | None:
        """Letters of the log that a known point is of."""
        return next((one.letters for one in self.brought if control.span.file in one.files), None)

    def _units(self, logs: list[OneLog]) -> dict[tuple[int, str], str]:
        """Make one list of units; their letters there by the number of a log and the letters in it."""
        draft = self._draft
        united = unite_units(draft.units, logs)
        for known, others in united.two_meanings:
            number, unit = others[0]
            theirs = f"{logs[number].letters}-" if logs[number].letters else ""
            said = f"unit {known.letters} {known.name}" + (f" ; {known.age}" if known.age else "")
            problem = Mistake(
                "two-meanings",
                f"{known.letters} is {known.name}, and {unit.name} here",
                unit.span,
                f"`{said} ; also {theirs}{unit.letters}` in {draft.file} if it is one unit",
                f"else `unit LETTERS {unit.name} ; also {theirs}{unit.letters}` there, with letters of its own",
                labels=(Label(known.span, f"{known.name} stands here"),),
            )
            draft.say(replace(problem.diagnostic, below=len(others) - 1))
        for known, number, unit in united.alike:
            draft.say(self._alike(known, f"{logs[number].letters}-" if logs[number].letters else "", unit))
        aside = {one.letters for one in draft.parties if one.aside}
        for unit, name in also_of_nothing(draft.units, logs):
            if self.elsewhere(name) or name.rpartition("-")[0] in aside:
                continue
            draft.say(
                warning(
                    "also-of-nothing",
                    f"no log that is brought in has a unit {name}: nothing is joined to {unit.letters} by it",
                    unit.span,
                    "look at the letters, of the log and of the unit in it",
                )
            )
        draft.units = united.units
        draft.unit_order = {one.letters: at for at, one in enumerate(united.units)}
        draft.intrusive |= {one.letters for one in united.units if one.intrusive}
        draft.unknown_units = {
            name: spans for name, spans in draft.unknown_units.items() if name not in draft.unit_order
        }
        return united.letters

    def _alike(self, known: RockUnit, theirs: str, unit: RockUnit) -> Diagnostic:
        """The question about a unit of one log that another has by a like name, under other letters."""
        also = f"also {', '.join((*known.also, theirs + unit.letters))}"
        said = f"unit {known.letters} {known.name}" + (f" ; {known.age}" if known.age else "")
        typed = (
            f"`{also}` on that `unit` line"
            if known.span.file == self._draft.file
            else f"`{said} ; {also}` in {self._draft.file}"
        )
        return warning(
            "unit-names-alike",
            f"{theirs}{unit.letters} {unit.name} is taken for another unit than {known.letters} {known.name}",
            unit.span,
            f"{typed} if it is one unit; else `checked WHO WHY` answers this",
            labels=(Label(known.span, f"{known.name} stands here"),),
        )

    def _order(self, letters: dict[tuple[int, str], str], numbers: dict[str, int]) -> None:
        """Bring contacts of other lists of units into the order of this one."""
        draft = self._draft
        rank = draft.unit_order
        own_rank = {
            number: {letters[number, unit.letters]: at for at, unit in enumerate(one.log.units)}
            for number, one in enumerate(self.brought)
        }
        items: list[Item] = []
        for item in draft.items:
            number = numbers.get(item.span.file)
            if isinstance(item, Contact) and item.younger is not None and item.older is not None:
                younger, older = item.younger, item.older
                if younger == older and item.kind is not ContactKind.FAULT:
                    self._within(item)
                    continue
                pair = younger, older
                if not turned_round(pair, rank) or draft.intrusive & {*pair}:
                    pass
                elif item.kind is ContactKind.FAULT:
                    items.append(replace(item, younger=older, older=younger))
                    continue
                elif number is not None and not turned_round(pair, own_rank[number]):
                    draft.against_order.append((pair, item.span))
            items.append(item)
        draft.items = items

    def _within(self, contact: Contact) -> None:
        """A contact between what is one unit here."""
        draft = self._draft
        draft.say(
            warning(
                "contact-within",
                f"both sides of this contact are {contact.younger} here; it counts for nothing",
                contact.span,
                f"give them letters of their own in {draft.file}, or leave it; `checked WHO WHY` answers this",
            )
        )

    def _head(self, renamed: Renamed) -> None:
        """What the log's own heading leaves open comes from the logs, in order."""
        draft = self._draft
        grids = [(one.log.heading.epsg, one) for one in self.brought if one.log.heading.epsg is not None]
        told: set[int] = set()
        for epsg, one in grids:
            draft.epsg = draft.epsg or epsg
            draft.grid_span = draft.grid_span or one.log.heading.grid_span
            if epsg != draft.epsg and epsg not in told:
                told.add(epsg)
                assert draft.grid_span is not None
                draft.say(
                    Mistake(
                        "two-grids",
                        f"EPSG:{epsg} here, and EPSG:{draft.epsg} before: one sheet has one grid",
                        one.log.heading.grid_span or draft.grid_span,
                        "look whether one of them is a slip; else give the known points in the grid of the sheet",
                        labels=(Label(draft.grid_span, "the other is here"),),
                    ).diagnostic
                )
        for party in draft.parties:
            for person in party.people:
                join_party(draft.party, person)
        days = {day.date: day for one in reversed(self.brought) for day in one.log.heading.days}
        days |= {day.date: day for day in draft.days}
        draft.days = [days[when] for when in sorted(days)]
        for one in self.brought:
            heading = one.log.heading
            draft.weather += [words for words in heading.weather if words not in draft.weather]
            draft.instruments += [words for words in heading.instruments if words not in draft.instruments]
            draft.area = draft.area or heading.area
            draft.heights = draft.heights or heading.heights
            if draft.terrain is None:
                draft.terrain, draft.terrain_span = heading.terrain, heading.terrain_span
        draft.emergency |= {one.kind: one for one in self._calls()}
        if self.brought and draft.bearings is None and draft.convention is None:
            draft.first = renamed.conditions(self.brought[0].log.heading.first)

    def _calls(self) -> Iterator[Emergency]:
        """What the logs say for an emergency and the camp does not; each party's under its letters where they differ."""
        for kind in Help:
            said = {
                one.letters: told
                for one in self.brought
                for told in one.log.heading.emergency
                if told.kind is kind
            }
            if not said or kind in self._draft.emergency:
                continue
            first = next(iter(said.values()))
            if len({told.words for told in said.values()}) == 1:
                yield first
                continue
            words = (f"{letters}: {told.words}" if letters else told.words for letters, told in said.items())
            yield replace(first, words="; ".join(words))

    # --- rulings --------------------------------------------------------------------------------------------

    def _rule(self, read: Callable[[Draft, Ruled], bool], shared: SharedPlaces) -> None:
        draft = self._draft
        for typed in draft.ruled:
            if typed.station in self._absent or self.elsewhere(typed.station):
                continue
            one = typed._replace(station=shared.meant(typed.station))
            names = self._one_place(one.station)
            addresses = [address for address in draft.addresses if address.station in names]
            if not addresses:
                guess = draft.guess(typed.station, draft.names_near())
                draft.say(
                    Mistake(
                        "unknown-station",
                        f"no station {shortened(typed.station)}"
                        + (f"; did you mean {shortened(guess)}?" if guess else ""),
                        one.station_span,
                        "look which station is meant: one of a log that is brought in",
                    ).diagnostic
                )
                continue
            before = len(draft.items)
            at_it = [address for address in addresses if address.station == one.station] or addresses
            named = self._files_of(typed.station)
            with_party = next((address for address in at_it if address.span.file in named), at_it[0])
            draft.address = with_party
            draft.plane, draft.items_here, draft.in_force = None, before, None
            own = draft.convention, draft.attitudes_north, draft.bearings
            if draft.convention is None or draft.bearings is None:
                held = with_party.conditions
                draft.convention, draft.attitudes_north = held.convention, held.attitudes_from
                draft.in_force = held
            done = read(draft, one)
            draft.convention, draft.attitudes_north, draft.bearings = own
            draft.in_force = None
            made = draft.items[before:]
            del draft.items[before:]
            if done and made:
                self._settle(one, made[0], names)

    def _files_of(self, station: str) -> frozenset[str]:
        """Files of the log whose letters a name of a station has."""
        return next(
            (
                one.files - {self._draft.file}
                for one in self.brought
                if one.letters is not None and station.startswith(f"{one.letters}-")
            ),
            frozenset[str](),
        )

    def _one_place(self, station: str) -> frozenset[str]:
        """Names that are exactly tied to one, itself included."""
        return one_place(self._draft.ties).get(station, frozenset((station,)))

    def _settle(self, one: Ruled, item: Item, names: frozenset[str]) -> None:
        """Put what was ruled in place of what it settles."""
        draft = self._draft
        settled = [
            known for known in draft.items if known.address.station in names and _same_thing(known, item)
        ]
        if not settled:
            word = one.statement.split()[0].lower()
            draft.say(
                Mistake(
                    "ruling-of-nothing",
                    f"no `{word}` is booked at {shortened(one.station)} to rule on",
                    one.span,
                    f"look which station is meant; what the leader read there stands below `at {shortened(one.station)}`",
                ).diagnostic
            )
            return
        before = [
            ruled
            for ruled in draft.rulings
            if any(
                (ruled.span.file, ruled.span.line) == (known.span.file, known.span.line) for known in settled
            )
        ]
        if before:
            draft.say(
                warning(
                    "ruling-twice",
                    f"line {before[-1].span.line} rules on the same, and this line is taken to count",
                    one.span,
                    "leave out the one that does not",
                    labels=(Label(before[-1].span, "the other ruling"),),
                )
            )
        own = next((known for known in settled if known.address.station == one.station), settled[0])
        at = next(index for index, known in enumerate(draft.items) if known is own)
        draft.items[at] = replace(item, address=own.address)
        gone = {id(known) for known in settled}
        draft.items = [known for known in draft.items if id(known) not in gone]
        instead: list[str] = []
        for known in settled:
            source = draft.sources[known.span.file]
            written = " ".join(
                source.line(known.span.line)[known.span.column - 1 : known.span.end - 1].split()
            )
            instead.append(f"{written} at {known.address.station}")
            draft.omitted.append(
                Omitted(
                    record=known,
                    who=one.who,
                    why=f"ruling of {one.date.isoformat()}: {one.why}",
                    written=written,
                    span=known.span,
                )
            )
        draft.rulings.append(
            Ruling(
                station=one.station,
                statement=one.statement,
                who=one.who,
                date=one.date,
                why=one.why,
                instead_of=tuple(instead),
                span=one.span,
            )
        )

    # --- judging --------------------------------------------------------------------------------------------

    def elsewhere(self, name: str) -> bool:
        """Whether a name that is not known is of a log that could not be read or is left out."""
        if name in self._absent or None in self._unread:
            return True
        return any(letters is not None and name.startswith(f"{letters}-") for letters in self._unread)

    def judge_tied_parties(self) -> set[tuple[str, int]]:
        """Say which letters of lines that tie many places are no party's; the lines."""
        draft = self._draft
        told: set[tuple[str, int]] = set()
        letters = [one for one, _, _ in self._letters.values()]
        for s in draft.tied_parties if None not in self._unread else ():
            whole = draft.whole(s)
            one, other = shortened(s[1]), shortened(s[3])
            if not letters:
                told.add((whole.file, whole.line))
                words = f"no log is brought in here as {one} or as {other}"
                hint = f"in a log of one party a line for each place, such as `tie 3 to {other}-3`"
                draft.say(Mistake("unknown-party", words, whole, hint).diagnostic)
                continue
            for token in (each for each in (s[1], s[3]) if each not in letters):
                told.add((whole.file, whole.line))
                spelt = self._letters.get(lookalike(token))
                hint = f"one of {', '.join(letters)}" if spelt is None else f"`{spelt[0]}`"
                words = f"no log here is party {shortened(token)}"
                draft.say(Mistake("unknown-party", words, draft.span(token), hint).diagnostic)
        return told

    def judge_ties(self, ties: Iterable[Tie], known: set[str]) -> None:
        """Say which names of ties no log has; of many in one row together."""
        draft = self._draft
        absent: dict[str, dict[Span, list[str]]] = {}
        for span, several in groupby(ties, key=lambda tie: tie.span):
            some = list(several)
            names = dict.fromkeys(name for tie in some for name in (tie.first, tie.second))
            missing = [
                name for name in names
                if not (name in known or self.elsewhere(name) or draft.places.get(lookalike(name)) == name)
            ]  # fmt: skip
            if span.file != draft.file and (off := [name for name in missing if self._of_no_party(name)]):
                for name in off:
                    absent.setdefault(lookalike(name.partition("-")[0]), {}).setdefault(span, []).append(name)
                continue
            if len(missing) > _BOTH:
                few = [shortened(name) for name in missing[:_NAMED]] + ["…"] * (len(missing) > _NAMED)
                self._no_station(f"no stations {', '.join(few)} in these logs", span)
                continue
            for name in missing:
                # A place is not tied to itself.
                tied = {
                    one for tie in some if name in {tie.first, tie.second} for one in (tie.first, tie.second)
                }
                near = [one for one in draft.names_near() if one not in tied]
                meant = [one for one in sorted(near) if one.partition("-")[2].casefold() == name.casefold()]
                if not meant and (guess := draft.guess(name, near)):
                    meant = [guess]
                few = [shortened(one) for one in meant[:_NAMED]]
                said = f"; did you mean {' or '.join(few)}?" if few else ""
                self._no_station(f"no station {shortened(name)} in these logs{said}", span)
        for lines in absent.values():
            self._tied_elsewhere(lines)

    def _tied_elsewhere(self, lines: Mapping[Span, Sequence[str]]) -> None:
        """Ties of parties to one log that is not here, such as the leader's key: said once, whoever has them."""
        names = list(dict.fromkeys(name for some in lines.values() for name in some))
        told = ", ".join(shortened(name) for name in names[:_NAMED]) + ", …" * (len(names) > _NAMED)
        first, *others = lines
        joins = "the ties join" if others else "the tie joins"
        words = f"{told} {'are' if len(names) > 1 else 'is'} of no log of this camp: {joins} nothing here"
        hint = "right where that log is held against these apart, as a key is; else look at the letters"
        labels = tuple(Label(span, ", ".join(lines[span][:_NAMED])) for span in others)
        self._draft.say(warning("tie-absent", words, first, hint, labels=labels))

    def _of_no_party(self, name: str) -> bool:
        """Whether a name has the letters of a log that is not here, as that of the leader's key is in a camp without it."""
        letters, dash, rest = name.partition("-")
        return bool(dash and rest) and letters.isalpha() and lookalike(letters) not in self._letters

    def _no_station(self, words: str, span: Span) -> None:
        hint = "a tie joins two names of one place"
        self._draft.say(Mistake("unknown-station", words, span, hint).diagnostic)

    def own(self, checks: Iterable[Diagnostic]) -> Iterator[Diagnostic]:
        """Of the checks of the whole, those that were not made of each log by itself."""
        members = frozenset().union(*(one.files for one in self.brought)) - {self._draft.file}
        for one in checks:
            if (
                one.span is None
                or one.span.file not in members
                or one.code in {"loose-piece", "no-grid", "grid-missing"}
            ):
                yield one


def _party(path: str, letters: str | None, log: Log, span: Span, *, aside: bool = False) -> PartyLog:
    return PartyLog(
        letters=letters,
        file=path,
        title=log.heading.title,
        people=log.heading.party,
        feet=log.lengths is FEET,
        distances=log.heading.distances_span,
        aside=aside,
        span=span,
    )


def _twice(words: str, span: Span, earlier: Span) -> Mistake:
    hint = "leave one of the two lines out"
    return Mistake("log-twice", words, span, hint, labels=(Label(earlier, "first here"),))


def _full(letters: str | None) -> Callable[[str], str]:
    return (lambda name: name) if letters is None else lambda name: f"{letters}-{name}"


def _parted(number: int) -> Callable[[str], str]:
    return lambda name: f"{number}{_PARTED}{name}"


def _same_thing(known: Item, ruled: Item) -> bool:
    """Whether a ruling settles what was booked."""
    match ruled:
        case Planes():
            if isinstance(known, Apparent):
                return ruled.kind is PlaneKind.BED
            return isinstance(known, Planes) and known.kind is ruled.kind
        case Lines():
            return isinstance(known, Lines) and known.kind is ruled.kind
        case Contact():
            return isinstance(known, Contact) and {known.younger, known.older} == {ruled.younger, ruled.older}
    return type(known) is type(ruled) and isinstance(ruled, UnitHere | WayUp)


def ruling(draft: Draft, s: Statement) -> None:
    """`ruling STATION STATEMENT WHO DATE REASON`; it is read when every log is."""
    station = check_name(draft, s[1])
    text = draft.words(s[2])
    assert text is not None
    span = draft.whole(s)
    match = _RULING.match(text)
    if match is None or not match[4]:
        raise Mistake(
            "ruling",
            "who, when and why",
            span,
            f"`ruling {shortened(station)} STATEMENT WHO DATE WHY`",
            _SUCH,
        )
    initials(draft, s[2].update(value=match[2]), _SUCH)
    draft.ruled.append(
        Ruled(
            station=station,
            station_span=draft.span(s[1]),
            statement=match[1],
            at=draft.span(s[2]),
            who=match[2],
            date=date(match[3], draft.span(s[2])),
            why=match[4].strip(" \t"),
            span=span,
        )
    )
