"""Text to log: every line of every file read, and everything that is wrong with them said at once."""

from __future__ import annotations

import posixpath
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import TypeAlias

from lark import Token

from traverse.diagnostic import Diagnostic, Outcome, error, in_order, warning
from traverse.log.checks import check_log
from traverse.log.described import DESCRIBED
from traverse.log.readings import Unit
from traverse.log.records import Heading, Help, Log
from traverse.notation import answers, control, geology, heading, walk
from traverse.notation.attitude import judge_letters
from traverse.notation.camp import RULED, BroughtBy, Camp, by_letters, ruling
from traverse.notation.draft import Draft, Mistake, Reading, Ruled, Unsaid
from traverse.notation.explain import explain, leg_without_end, leg_without_to, meant_word
from traverse.notation.parse import MOST_MISTAKES, Parsed, Statement, Unread, parse
from traverse.notation.prose.among_words import judge_words
from traverse.notation.prose.characters import judge_breaks, judge_unseen, with_characters
from traverse.notation.terms import BARE_DISTANCE
from traverse.notation.text import plain, shortened
from traverse.notation.use import HEADING_KINDS, Files, Loader, checked_path
from traverse.record import uncollected
from traverse.source import Source, Span


def read_log(source: Source, *, load: Loader, aside: frozenset[str] = frozenset()) -> Outcome[Reading]:
    """A log from its text and the files that it uses, with every error and warning of all of them.

    Of logs that it brings in, those whose files are in `aside` are read and take no part.
    Never raises for anything a person can type. The log holds whatever could be read.
    """
    with uncollected():
        return _read_log(Draft(file=source.name), source, load, BroughtBy(aside=aside))


def _read_log(draft: Draft, source: Source, load: Loader, by: BroughtBy) -> Outcome[Reading]:
    files = Files(load, draft)
    camp = Camp(draft, load, by, _read_log)
    parsed = files.log(source)
    if _begins(draft, source, parsed):
        _read_file(draft, files, camp, parsed, used=False)
    walk.lone_faces(draft)
    lost = walk.lost_legs(draft)
    walk.judge_past(draft)
    walk.judge_loose(draft)
    geology.judge_hazards(draft)
    judge_words(draft)
    judge_letters(draft)
    draft.diagnostics.extend(judge_breaks(draft.sources.values()))
    draft.diagnostics.extend(judge_unseen(draft.sources.values()))
    if camp.of_several or draft.ruled:
        with _own_texts(draft):
            camp.unite(_read_ruled)
    geology.judge_units(draft)
    geology.judge_order(draft)
    _judge_names(draft, camp)
    walk.judge_along(draft, lost)
    walk.in_order_along(draft)
    control.keep_stations(draft)
    log = _log(draft)
    checks = check_log(log, unread=frozenset(draft.failed))
    found = _one_order([*_bare_as_one(draft, draft.with_consequences()), *camp.own(checks)])
    found = with_characters(found, draft.sources)
    reading = Reading(log=log, sources=draft.sources, left_out=frozenset(camp.left_out))
    return Outcome(reading, in_order(found))


@contextmanager
def _own_texts(draft: Draft) -> Iterator[None]:
    """The log's own text is the one being read; what stands in it is looked up there."""
    before = draft.original, draft.respelled
    try:
        yield
    finally:
        draft.original, draft.respelled = before


def _read_ruled(draft: Draft, ruled: Ruled) -> bool:
    """Read the statement of a ruling at the place that stands in the draft; whether it could be read.

    It is read where it stands in its line, so that messages point there.
    """
    text = "\n" * (ruled.at.line - 1) + " " * (ruled.at.column - 1) + ruled.statement
    parsed = parse(Source(name=ruled.at.file, text=text))
    one = next((line for line in parsed.lines if line and not isinstance(line, Token)), None)
    draft.original, draft.respelled, draft.more = parsed.original, parsed.respelled, []
    if isinstance(one, Unread):
        draft.say(explain(one, file=ruled.at.file, typed=plain(text.rpartition("\n")[2])))
    elif one is not None:
        try:
            _refuse_ruling(draft, one)
            STATEMENTS[one[0].type](draft, one)
        except Mistake as problem:
            draft.say(problem.diagnostic)
        else:
            return True
    return False


def _refuse_ruling(draft: Draft, one: Statement) -> None:
    if one[0].type not in RULED or (one[0].type == "UNIT" and len(one) > 2):
        raise Mistake(
            "ruling",
            f"`{one[0].lower()}` is nothing that parties read differently",
            draft.whole(one),
            "a ruling is of an attitude, a line, tops, a unit or a contact; write other lines below `at NAME`",
        )


_MANY_BARE = 5
"""Distances without a unit from which on what is missing is the line that says it for all; common practice, no source."""


def _bare_as_one(draft: Draft, found: list[Diagnostic]) -> list[Diagnostic]:
    """Distances without a unit, of which there are many, as one mistake at the first of them."""
    bare = [one for one in found if one.code == BARE_DISTANCE]
    if len(bare) < _MANY_BARE:
        return found
    first, *rest = sorted(bare, key=lambda one: (one.span is not None and one.span.line) or 0)
    # What other legs are written in is the likeliest.
    written = [one.distance.unit for one in draft.legs if one.distance.written[-1:].isalpha()]
    words = dict.fromkeys((*(_DISTANCES[unit] for unit in written[:1]), "paces", "metres", "feet"))
    likeliest, *others = (f"`distances {word}`" for word in words)
    one = replace(
        first,
        hints=(
            f"add {likeliest}, or {' or '.join(others)}, to the heading: no line says what a bare distance is",
        ),
        below=first.below + len(rest),
    )
    gone = {id(one) for one in rest}
    return [one if other is first else other for other in found if id(other) not in gone]


_DISTANCES = {
    Unit.PACES: "paces",
    Unit.SINGLE_PACES: "paces",
    Unit.DOUBLE_PACES: "paces",
    Unit.METRES: "metres",
    Unit.FEET: "feet",
}


def _one_order(found: list[Diagnostic]) -> list[Diagnostic]:
    """Without what follows from another.

    Of a list of units that is upside down no contact, and no pair of it, is called wrong as well, and of a pace line with
    a wild count not the length that it gives.
    """
    wild = {
        (one.span.file, one.span.line) for one in found if one.code == "pace-counts" and one.span is not None
    }
    found = [
        one
        for one in found
        if one.code != "pace-length" or one.span is None or (one.span.file, one.span.line) not in wild
    ]
    if all(one.code != "units-upside-down" for one in found):
        return found
    resting = sum(max(1, one.below) for one in found if one.code == "younger-first")
    return [
        replace(one, below=resting) if one.code == "units-upside-down" else one
        for one in found
        if one.code != "younger-first"
    ]


_MOST_FIGURES = 9


def _begins(draft: Draft, source: Source, parsed: Parsed) -> bool:
    """Judge the first statement; whether to go on reading."""
    first = next((one for one in parsed.lines if not isinstance(one, Token)), None)
    words = first.read if isinstance(first, Unread) else first or []
    if words and words[0].type == "NOTATION":
        version = words[1] if len(words) > 1 else None
        if version is None or version == "1":
            return True
        span = Span(source.name, version.line or 1, version.column or 1, version.end_column or 2)
        later = version.isascii() and version.isdigit() and int(version[:_MOST_FIGURES]) > 1
        draft.say(
            error(
                "notation",
                f"notation {shortened(version)}: this program reads notation 1; nothing below is read",
                span,
                # Lines of another notation may mean other things: nobody should turn one into the other by a figure.
                "leave the line as it is: a later version of this program reads it"
                if later
                else "`notation 1`",
            )
        )
        return False
    line = 1
    if words:
        line = words[0].line or 1
    elif isinstance(first, Unread):
        line = first.line
    span = Span(source.name, line, 1, max(2, len(source.line(line)) + 1))
    read = any(isinstance(one, list) for one in parsed.lines)
    message = (
        "the log does not say which notation it is in" if read else "no line here is a statement of a log"
    )
    draft.say(error("no-notation", message, span, "the first line is `notation 1`"))
    return read


def _read_file(draft: Draft, files: Files, camp: Camp, parsed: Parsed, *, used: bool) -> None:
    """Read the lines of one file in order."""
    lines = parsed.lines
    by_letters(lines)
    draft.original, draft.respelled = parsed.original, parsed.respelled
    count = len(lines)
    at = 0
    first = True
    while at < count:
        if draft.mistakes >= MOST_MISTAKES:
            draft.say(_no_more_of_it(draft, lines[at]))
            break
        one = lines[at]
        lines[at] = []  # read once, and a long log's words take more room than its records
        at += 1
        if isinstance(one, Token):
            if one.type == "MORE":
                _nothing_to_go_on_with(draft, one)
            continue
        if at < count and isinstance(lines[at], Token):
            at = _continued(draft, lines, at, one)
        elif draft.more:
            draft.more = []
        if isinstance(one, Unread):
            _unread(draft, one)
        elif one[0].type == "NOTATION" and any(one.span.file == draft.file for one in draft.addresses):
            draft.say(_second_log(draft, one))
            break
        elif one[0].type == "USE":
            draft.above, draft.above_read = one, True
            _read_used(draft, files, camp, one)
        else:
            try:
                _read_statement(draft, camp, one, first=first, used=used)
            except Mistake as problem:
                draft.mistakes += 1
                if not isinstance(problem, Unsaid):
                    draft.say(problem.diagnostic)
                    draft.cause(("unread", one[0].type), problem.diagnostic)
                _failed(draft, one)
        first = False


def _second_log(draft: Draft, one: Statement) -> Diagnostic:
    """That another log stands below this one in its file."""
    return error(
        "second-log",
        "a second log begins here, and nothing is read from here on",
        draft.whole(one),
        "put it in a file of its own; `log FILE as LETTERS` for each in a third file brings the two together",
    )


def _no_more_of_it(draft: Draft, one: Statement | Token | Unread) -> Diagnostic:
    """That reading ends here."""
    line = one.line if isinstance(one, Token | Unread) else one[0].line
    line = line or 1
    return error(
        "too-many-mistakes",
        f"{MOST_MISTAKES} lines above can't be read, and nothing is read from here on",
        Span(draft.file, line, 1, max(2, len(draft.line(line)) + 1)),
        "look whether this is a log, or what the first of them have in common",
    )


def _read_statement(draft: Draft, camp: Camp, one: Statement, *, first: bool, used: bool) -> None:
    kind = one[0].type
    if kind not in _ANSWERS:
        draft.above, draft.above_read = one, True
    if kind == "NOTATION":
        if not first:
            raise Mistake(
                "notation",
                "`notation` stands once, in the first line",
                draft.whole(one),
                "leave this line out",
            )
        return
    if used and kind not in HEADING_KINDS and kind not in _ANSWERS:
        raise Mistake(
            "used-file",
            f"a file that is used holds heading and unit lines only; `{one[0].lower()}` is neither",
            draft.whole(one),
            "move the line to the log itself",
        )
    if kind == "LOG":
        camp.bring(one)
        return
    STATEMENTS[kind](draft, one)
    heading.ask_if_twice(draft, one)


def _read_used(draft: Draft, files: Files, camp: Camp, one: Statement) -> None:
    """Read the file of a `use` line in its place."""
    inner = files.used(draft.file, one[0].line or 0)
    if inner is None:
        return
    source, parsed = inner
    before = draft.file, draft.original, draft.respelled
    draft.file = source.name
    if _begins(draft, source, parsed):
        _read_file(draft, files, camp, parsed, used=True)
    draft.file, draft.original, draft.respelled = before
    draft.above, draft.above_read = one, True


def _continued(
    draft: Draft, lines: list[Statement | Token | Unread], at: int, statement: Statement | Unread
) -> int:
    """Gather the continuation lines of a statement; the index of what comes after them."""
    draft.more = []
    takes_words = False
    if isinstance(statement, list):
        takes_words = statement[-1].type == "TEXT" or statement[0].type in _MAY_HAVE_WORDS
        last = statement[0].line
    else:
        last = statement.line
    told = not isinstance(
        statement, list
    )  # of a line that can't be read the continuation is not called wrong as well
    while at < len(lines):
        one = lines[at]
        if not isinstance(one, Token):
            break
        at += 1
        if one.type == "COMMENT":
            continue
        takes_words = takes_words and one.line == (last or 0) + 1
        last = one.line
        if one.type != "MORE":
            continue
        if takes_words:
            draft.more.append(draft.written(one)[1:].strip(" \t"))
        elif not told:
            told = True
            _nothing_to_go_on_with(draft, one)
    return at


def _nothing_to_go_on_with(draft: Draft, token: Token) -> None:
    draft.say(
        error(
            "nothing-to-go-on-with",
            "nothing to go on with",
            draft.span(token),
            "begin with `note`, or put it right below the words it goes on with",
        )
    )


def _unread(draft: Draft, one: Unread) -> None:
    """Say what is wrong with a line that is no statement, and let what follows it stand."""
    above = draft.above[0].line if draft.above else None
    problem = explain(
        one,
        file=draft.file,
        typed=plain(draft.line(one.line)),
        met=draft.stations,
        above=plain(draft.line(above)) if above is not None and above == one.line - 1 else "",
    )
    draft.mistakes += 1
    draft.say(problem)
    if one.read:
        draft.cause(("unread", one.read[0].type), problem)
        if one.read[0].type not in _ANSWERS:
            draft.above = one.read
        _failed(draft, one.read)
    else:
        # A misspelt line is not missing as well, and where it leads is known.
        typed = plain(draft.line(one.line)).split()
        line = " ".join(typed)
        bare_leg = leg_without_to(line, draft.stations)
        nameless = not bare_leg and leg_without_end(line)
        meant = "to" if bare_leg or nameless else meant_word(plain(draft.line(one.line)))
        if meant is not None:
            draft.failed.add(meant.upper())
            draft.cause(("unread", meant.upper()), problem)
        if (bare_leg or nameless) and problem.span is not None:
            walk.lead_there(draft, typed[0] if bare_leg else None, problem.span, side=False)
            if nameless:
                draft.unnamed.append(problem)
        elif meant in _LEADING and problem.span is not None:
            walk.lead_there(draft, typed[1] if len(typed) > 1 else None, problem.span, side=meant == "side")


def _failed(draft: Draft, words: Statement) -> None:
    """A line that could not be read still names its station and leads there."""
    kind = words[0].type
    draft.failed.add(kind)
    if kind not in _ANSWERS:
        draft.above_read = False
    if kind == "CONTROL" and len(words) > 1:
        draft.control_names.add(str(words[1]))
    elif kind in {"AT", "FROM", "TO", "CLOSE", "SIDE"}:
        walk.lead_to(draft, words)
    elif kind in {"ALONG", "COVERED"}:
        walk.nowhere(draft, words)


def _judge_names(draft: Draft, camp: Camp) -> None:
    """What can be judged only when every line is read."""
    members = {person.initials for person in draft.party}
    told: set[str] = set()
    if members and "PARTY" not in draft.failed and heading.NO_INITIALS not in draft.told:
        for who, span in draft.people:
            if who not in members and who not in told:
                told.add(who)
                guess = draft.guess(who, sorted(members))
                draft.say(
                    warning(
                        "not-in-party",
                        f"no {shortened(who)} in the party",
                        span,
                        *((f"did you mean {guess}?",) if guess else ()),
                        f"{'or ' if guess else ''}add `{shortened(who)} NAME` to the `party` line",
                    )
                )
    known = set(draft.stations) | draft.control_names
    for name, span in draft.section_stations:
        if name not in known and ("section", name) not in draft.told and not camp.elsewhere(name):
            draft.told.add(("section", name))
            if draft.meant(name):
                continue
            guess = draft.guess(name, draft.stations)
            draft.say(
                error(
                    "unknown-station",
                    f"no station {shortened(name)}"
                    + (f"; did you mean {shortened(guess)}?" if guess else ""),
                    span,
                    "a section runs between stations of the log",
                )
            )
    no_party = camp.judge_tied_parties()
    ties = [tie for tie in draft.ties if (tie.span.file, tie.span.line) not in no_party]
    if camp.of_several:
        camp.judge_ties(ties, known)
        ties = []
    for tie in ties:
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
    walked = {name for leg in draft.legs for name in (leg.start, leg.end)} if draft.struck else set()
    described = {item.address.station for item in draft.items} if draft.struck else set()
    nowhere = draft.struck - walked - described - draft.control_names
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
            emergency=tuple(draft.emergency[kind] for kind in Help if kind in draft.emergency),
            group=draft.group,
            epsg=draft.epsg,
            grid_span=draft.grid_span,
            distances_span=draft.bare_span,
            first=draft.first or draft.conditions(),
            sheet=draft.sheet,
            adjust=draft.adjust,
            terrain=draft.terrain,
            terrain_span=draft.terrain_span,
        ),
        units=tuple(draft.units),
        controls=tuple(draft.controls),
        tracks=tuple(draft.tracks),
        paces=tuple(draft.paces),
        stations=tuple(name for name in draft.stations if name not in nowhere and name not in draft.earlier),
        legs=tuple(draft.legs),
        ties=tuple(draft.ties),
        addresses=tuple(draft.addresses),
        items=tuple(draft.items),
        traces=tuple(draft.traces),
        sections=tuple(draft.sections),
        omitted=tuple(draft.omitted),
        checked=tuple(draft.checked),
        corrections=tuple(draft.corrections),
        rulings=tuple(draft.rulings),
        parties=tuple(draft.parties),
        own_letters=draft.own_letters,
    )


def _terrain(draft: Draft, s: Statement) -> None:
    """`terrain FILE`."""
    heading.once(draft, "TERRAIN", draft.whole(s))
    span = draft.span(s[1])
    draft.terrain = posixpath.join(draft.folder, checked_path(draft.written(s[1]), span, "terrain"))
    draft.terrain_span = span


_Handler: TypeAlias = Callable[[Draft, Statement], None]
_LEADING = frozenset({"at", "to", "close", "side"})
_ANSWERS = frozenset({"CHECKED", "WAS", "OMIT"})
_MAY_HAVE_WORDS = {"COVERED", *(word.upper() for word, one in DESCRIBED.items() if one.takes_words)}
STATEMENTS: dict[str, _Handler] = {
    "TRAVERSE": heading.title, "DATE": heading.day, "PARTY": heading.party, "AREA": heading.area,
    "WEATHER": heading.weather, "INSTRUMENT": heading.instrument, "HEIGHTS": heading.heights,
    "PAGE": heading.page, "EMERGENCY": heading.emergency, "GROUP": heading.group, "GRID": heading.grid, "BEARINGS": heading.bearings,
    "DECLINATION": heading.declination, "ATTITUDES": heading.attitudes, "PACE": heading.pace,
    "PRECISION": heading.precision, "DISTANCES": heading.distances, "DECIMALS": heading.decimals,
    "CONTROL": control.control, "CONTROLS": control.controls, "TERRAIN": _terrain,
    "AT": walk.at, "FROM": walk.leg, "TO": walk.leg, "CLOSE": walk.leg, "SIDE": walk.leg,
    "ALONG": walk.along, "COVERED": walk.along, "TIE": walk.tie, "TIME": walk.time,
    "READER": walk.hand_over, "PACER": walk.hand_over, "COMPASS": walk.hand_over,
    **{one.word.upper(): geology.READERS[one.record] for one in DESCRIBED.values() if one.record is not None},
    "TRACE": geology.trace, "RULING": ruling,
    "CHECKED": answers.checked, "WAS": answers.was, "OMIT": answers.omit,
    "ADJUST": answers.adjust, "SECTION": answers.section, "SHEET": answers.sheet,
}  # fmt: skip
"""What reads each statement, by its first word; `notation`, `use` and `log` are read by the file."""
