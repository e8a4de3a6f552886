"""Text to log: every line of every file read, and everything that is wrong with them said at once."""

from __future__ import annotations

import posixpath
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TypeAlias

from lark import Token

from traverse.diagnostic import Outcome, error, in_order, warning
from traverse.log.check import check_log
from traverse.log.records import Heading, Log
from traverse.notation import answers, geology, heading, walk
from traverse.notation.attitude import Unsaid
from traverse.notation.draft import Draft, Mistake, nearest
from traverse.notation.explain import explain
from traverse.notation.parse import Parsed, Statement, Unread, parse
from traverse.notation.text import decode, shortened
from traverse.notation.use import DEEPEST, checked_path
from traverse.source import Source, Span

Loader: TypeAlias = Callable[[str], bytes]
"""Bytes of a file by its path as written after `use`, `/` between names; raises OSError when it can't be had."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A log, and the texts it was read from."""

    log: Log
    sources: Mapping[str, Source]
    """Every file read, by the name that spans give."""


def read_log(source: Source, *, load: Loader) -> Outcome[Reading]:
    """A log from its text and the files that it uses, with every error and warning of all of them.

    Never raises for anything a person can type. The log holds whatever could be read.
    """
    draft = Draft(file=source.name)
    files = _Files(load, draft)
    parsed = files.add(source)
    files.gather(source.name, parsed, (posixpath.basename(source.name),))
    if _begins(draft, source, parsed):
        _read_file(draft, files, source.name, parsed, used=False)
    walk.lone_faces(draft)
    walk.judge_loose(draft)
    _after(draft)
    log = _log(draft)
    found = [*draft.diagnostics, *check_log(log, unread=frozenset(draft.failed))]
    return Outcome(Reading(log=log, sources=files.sources), in_order(found))


class _Files:
    """Every file of a log, parsed, and what must be known before the first line is read."""

    def __init__(self, load: Loader, draft: Draft) -> None:
        self.load = load
        self.draft = draft
        self.sources: dict[str, Source] = {}
        self.used: dict[tuple[str, int], tuple[str, Parsed]] = {}
        """File that a `use` line reads, by the line's file and number."""

    def add(self, source: Source) -> Parsed:
        self.sources[source.name] = source
        return parse(source)

    def gather(self, file: str, parsed: Parsed, chain: tuple[str, ...]) -> None:
        """Take note of units, control points and `decimals`, here and in every file used."""
        draft = self.draft
        for one in parsed.lines:
            if isinstance(one, Token):
                continue
            words = one if type(one) is list else one.read  # type: ignore[union-attr]
            if not words or words[0].type not in _AHEAD:
                continue
            kind = words[0].type
            if kind == "UNIT":
                if (len(words) > 2 and type(one) is list) or (
                    type(one) is not list
                    and len(words) > 1
                    and words[-1].type in {"UNITNAME", "UNITPART", "SEMICOLON"}
                ):
                    draft.unit_order.setdefault(str(words[1]), len(draft.unit_order))
            elif kind == "CONTROL":
                if len(words) > 1:
                    draft.control_names.add(str(words[1]))
            elif kind == "DECIMALS":
                draft.comma = True
            elif type(one) is list:
                self._use(file, one, parsed, chain)

    def _use(self, file: str, statement: Statement, parsed: Parsed, chain: tuple[str, ...]) -> None:
        token = statement[1]
        span = Span(file, statement[0].line, token.column, token.end_column)  # type: ignore[arg-type]
        try:
            written = parsed.original[token.start_pos : token.end_pos].strip(" \t")
            path = checked_path(written, span)
            if path in chain:
                cycle = " -> ".join((*chain[chain.index(path) :], path))
                raise Mistake(
                    "use-cycle",
                    f"files use one another in a circle: {shortened(cycle, 200)}",
                    span,
                    "leave one `use` out",
                )
            if len(chain) > DEEPEST:
                raise Mistake(
                    "use-deep", f"more than {DEEPEST} files use one another in a row", span, "use fewer"
                )
            if any(path == other for other, _ in self.used.values()):
                return
            source = self._load(path, written, span)
        except Mistake as problem:
            self.draft.say(problem.diagnostic)
            self.draft.failed |= _HEADING_KINDS
            return
        if source is None:
            self.draft.failed |= _HEADING_KINDS
            return
        inner = self.add(source)
        self.used[file, statement[0].line] = (path, inner)  # type: ignore[index]
        self.gather(source.name, inner, (*chain, path))

    def _load(self, path: str, written: str, span: Span) -> Source | None:
        try:
            data = self.load(path)
        except (OSError, ValueError):
            raise Mistake(
                "use-missing", f"no file {shortened(written)}", span, "it is sought in the folder of the log"
            ) from None
        outcome = decode(written, data)
        self.draft.diagnostics.extend(outcome.diagnostics)
        return outcome.value


def _begins(draft: Draft, source: Source, parsed: Parsed) -> bool:
    """Judge the first statement; whether to go on reading."""
    first = next((one for one in parsed.lines if not isinstance(one, Token)), None)
    words = first if type(first) is list else first.read if isinstance(first, Unread) else []
    hint = "the first line is `notation 1`"
    if words and words[0].type == "NOTATION":
        if type(first) is list and words[1] != "1":
            span = Span(source.name, words[1].line, words[1].column, words[1].end_column)  # type: ignore[arg-type]
            draft.say(
                error(
                    "notation",
                    f"notation {shortened(words[1])}: this program reads notation 1; nothing below is read",
                    span,
                    "`notation 1`",
                )
            )
            return False
        return True
    line = words[0].line if words else first.line if isinstance(first, Unread) else 1
    text = source.line(line or 1)
    span = Span(source.name, line or 1, 1, max(2, len(text) + 1))
    read = any(type(one) is list for one in parsed.lines)
    message = (
        "the log does not say which notation it is in" if read else "no line of this is a statement of a log"
    )
    draft.say(error("no-notation", message, span, hint))
    return read


def _read_file(draft: Draft, files: _Files, file: str, parsed: Parsed, *, used: bool) -> None:
    """Read the lines of one file in order."""
    before = draft.file, draft.original
    draft.file, draft.original = file, parsed.original
    lines = parsed.lines
    count = len(lines)
    at = 0
    first = True
    handlers = _HANDLERS
    while at < count:
        one = lines[at]
        at += 1
        if isinstance(one, Token):
            if one.type == "MORE":
                _stray(draft, one, bare=True)
            continue
        if at < count and isinstance(lines[at], Token):
            at = _continued(draft, lines, at, one)
        elif draft.more:
            draft.more = []
        if type(one) is not list:
            assert isinstance(one, Unread)
            _unread(draft, one, parsed)
            first = False
            continue
        kind = one[0].type
        try:
            if kind in _ANSWERS:
                handlers[kind](draft, one)
                continue
            draft.above = one
            draft.above_read = True
            if kind == "NOTATION":
                if not first:
                    raise Mistake(
                        "notation",
                        "`notation` stands once, in the first line",
                        draft.whole(one),
                        "leave this line out",
                    )
            elif used and kind not in _HEADING_KINDS:
                raise Mistake(
                    "used-file",
                    f"a file that is used holds heading and unit lines only; `{one[0].lower()}` is neither",
                    draft.whole(one),
                    "move the line to the log itself",
                )
            elif kind == "USE":
                inner = files.used.get((file, one[0].line))  # type: ignore[arg-type]
                if inner is not None:
                    name = files_name(files, inner)
                    if _begins(draft, files.sources[name], inner[1]):
                        _read_file(draft, files, name, inner[1], used=True)
                    draft.above = one
            else:
                handlers[kind](draft, one)
        except Mistake as problem:
            if problem.diagnostic.message and not isinstance(problem, Unsaid):
                draft.say(problem.diagnostic)
            if kind not in _ANSWERS:
                draft.above_read = False
            _failed(draft, one)
        first = False
    draft.file, draft.original = before


def files_name(files: _Files, inner: tuple[str, Parsed]) -> str:
    """Name of a used file, as its spans give it."""
    return next(name for name in files.sources if posixpath.normpath(name) == inner[0] or name == inner[0])


def _continued(
    draft: Draft, lines: list[Statement | Token | Unread], at: int, statement: Statement | Unread
) -> int:
    """Gather the continuation lines of a statement; the index of what comes after them."""
    draft.more = []
    taken = at
    last = statement[0].line if type(statement) is list else statement.line  # type: ignore[union-attr]
    takes_words = type(statement) is list and (
        statement[-1].type in _FREE or statement[0].type in _MAY_HAVE_WORDS
    )
    told = False
    while taken < len(lines):
        one = lines[taken]
        if not isinstance(one, Token):
            break
        if one.type == "COMMENT":
            taken += 1
            continue
        if one.type == "MORE":
            together = one.line == last + 1  # type: ignore[operator]
            if takes_words and together:
                draft.more.append(draft.written(one)[1:].strip(" \t"))
            elif not told and type(statement) is list:
                told = True
                _stray(draft, one, bare=False)
        elif one.line != last + 1:  # type: ignore[operator]
            takes_words = takes_words and any(False for _ in ())
        last = one.line  # type: ignore[assignment]
        taken += 1
    return taken


def _stray(draft: Draft, token: Token, *, bare: bool) -> None:
    del bare
    draft.say(
        error(
            "nothing-to-go-on-with",
            "nothing to go on with",
            draft.span(token),
            "begin with `note`, or put it right below the words it goes on with",
        )
    )


def _unread(draft: Draft, one: Unread, parsed: Parsed) -> None:
    """Say what is wrong with a line that is no statement, and let what follows it stand."""
    del parsed
    start = one
    draft.say(explain(one, file=draft.file, line=_line(draft, start.line), typed=_line(draft, start.line)))
    if one.read:
        if one.read[0].type not in _ANSWERS:
            draft.above = one.read
            draft.above_read = False
        _failed(draft, one.read)


def _line(draft: Draft, number: int) -> str:
    return draft.original.split("\n", number)[number - 1] if number else ""


def _failed(draft: Draft, words: Statement) -> None:
    """A line that could not be read still names its station and leads there."""
    kind = words[0].type
    draft.failed.add(kind)
    if kind == "CONTROL" and len(words) > 1:
        draft.control_names.add(str(words[1]))
    elif kind in {"AT", "FROM", "TO", "CLOSE", "SIDE"}:
        walk.lead_to(draft, words)
    elif kind in {"ALONG", "COVERED"}:
        draft.lost = True


def _after(draft: Draft) -> None:
    """What can be judged only when every line is read."""
    members = {person.initials for person in draft.party}
    told: set[str] = set()
    if members and "PARTY" not in draft.failed:
        for who, span in draft.people:
            if who not in members and who not in told:
                told.add(who)
                guess = nearest(who, sorted(members))
                draft.say(
                    warning(
                        "not-in-party",
                        f"no {shortened(who)} in the party",
                        span,
                        *((f"did you mean {guess}?",) if guess else ()),
                        f"or add `{shortened(who)}` to the `party` line",
                    )
                )
    known = set(draft.stations) | draft.control_names
    for name, span in draft.section_stations:
        if name not in known and ("section", name) not in draft.told:
            draft.told.add(("section", name))
            guess = nearest(name, list(draft.stations))
            draft.say(
                error(
                    "unknown-station",
                    f"no station {shortened(name)}"
                    + (f"; did you mean {shortened(guess)}?" if guess else ""),
                    span,
                    "a section runs between stations of the log",
                )
            )
    for tie in draft.ties:
        if tie.first not in known and tie.second not in known:
            draft.say(
                error(
                    "unknown-station",
                    f"neither {shortened(tie.first)} nor {shortened(tie.second)} is a station here",
                    tie.span,
                    "a tie begins at a station of this log",
                )
            )
    if draft.traces and draft.terrain is None and "TERRAIN" not in draft.failed:
        draft.say(
            error(
                "no-terrain",
                "no heights to draw on",
                draft.traces[0].span,
                "add `terrain FILE` to the heading",
            )
        )


def _log(draft: Draft) -> Log:
    legs = draft.legs
    return Log(
        file=draft.file,
        heading=Heading(
            title=draft.title,
            area=draft.area,
            days=tuple(draft.days),
            party=tuple(draft.party),
            weather=tuple(draft.weather),
            instruments=tuple(draft.instruments),
            heights=draft.heights,
            group=draft.group,
            epsg=draft.epsg,
            grid_span=draft.grid_span,
            first=draft.first or draft.conditions(),
            sheet=draft.sheet,
            adjust=draft.adjust,
            terrain=draft.terrain,
            terrain_span=draft.terrain_span,
        ),
        units=tuple(draft.units),
        controls=tuple(draft.controls),
        paces=tuple(draft.paces),
        stations=tuple(draft.stations),
        legs=tuple(legs),
        ties=tuple(draft.ties),
        spots=tuple(draft.spots),
        items=tuple(draft.items),
        traces=tuple(draft.traces),
        sections=tuple(draft.sections),
        omitted=tuple(draft.omitted),
        checked=tuple(draft.checked),
        corrections=tuple(draft.corrections),
    )


def _terrain(draft: Draft, s: Statement) -> None:
    """`terrain FILE`."""
    heading.once(draft, "TERRAIN", draft.whole(s))
    span = draft.span(s[1])
    draft.terrain = checked_path(draft.written(s[1]), span, "terrain")
    draft.terrain_span = span


_Handler: TypeAlias = Callable[[Draft, Statement], None]
_AHEAD = frozenset({"UNIT", "CONTROL", "DECIMALS", "USE"})
_ANSWERS = frozenset({"CHECKED", "WAS", "OMIT"})
_FREE = frozenset({"TEXT"})
_MAY_HAVE_WORDS = frozenset({"SAMPLE", "PHOTO", "TOPS", "CROSSES", "COVERED"})
_HEADING_KINDS = frozenset({
    "NOTATION", "TRAVERSE", "DATE", "PARTY", "AREA", "WEATHER", "INSTRUMENT", "HEIGHTS", "PAGE", "GROUP", "GRID",
    "BEARINGS", "DECLINATION", "ATTITUDES", "PACE", "PRECISION", "DISTANCES", "DECIMALS", "USE", "UNIT", "CONTROL",
    "TERRAIN",
})  # fmt: skip
_HANDLERS: dict[str, _Handler] = {
    "TRAVERSE": heading.title, "DATE": heading.day, "PARTY": heading.party, "AREA": heading.area,
    "WEATHER": heading.weather, "INSTRUMENT": heading.instrument, "HEIGHTS": heading.heights,
    "PAGE": heading.page, "GROUP": heading.group, "GRID": heading.grid, "BEARINGS": heading.bearings,
    "DECLINATION": heading.declination, "ATTITUDES": heading.attitudes, "PACE": heading.pace,
    "PRECISION": heading.precision, "DISTANCES": heading.distances, "DECIMALS": heading.decimals,
    "CONTROL": heading.control, "TERRAIN": _terrain,
    "AT": walk.at, "FROM": walk.leg, "TO": walk.leg, "CLOSE": walk.leg, "SIDE": walk.leg,
    "ALONG": walk.along, "COVERED": walk.along, "TIE": walk.tie, "SIGHT": walk.sight,
    "ELEVATION": walk.elevation, "TIME": walk.time,
    "READER": walk.hand_over, "PACER": walk.hand_over, "COMPASS": walk.hand_over,
    "UNIT": geology.unit,
    **dict.fromkeys(("ROCK", "NOTE", "HAZARD", "FOSSIL", "SKETCH", "FLOAT"), geology.words),
    "SAMPLE": geology.sample, "PHOTO": geology.photo,
    **dict.fromkeys(
        ("BED", "CROSSBED", "FOLIATION", "CLEAVAGE", "JOINT", "VEIN", "DIKE", "AXIAL"), geology.planes
    ),
    "APPARENT": geology.apparent,
    **dict.fromkeys(("LINEATION", "STRIATION", "HINGE", "CURRENT"), geology.lines),
    "TOPS": geology.tops, "CONTACT": geology.contact, "UNCONFORMITY": geology.contact,
    "FAULT": geology.contact, "TRACE": geology.trace, "CROSSES": geology.crosses,
    "CHECKED": answers.checked, "WAS": answers.was, "OMIT": answers.omit,
    "ADJUST": answers.adjust, "SECTION": answers.section, "SHEET": answers.sheet,
}  # fmt: skip
