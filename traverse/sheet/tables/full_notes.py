"""Notes in full: what the tables do not print whole, and what was changed, taken out or answered."""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping, Sequence
from itertools import groupby
from typing import assert_never

from traverse.diagnostic import Diagnostic
from traverse.ground.records import Ground, WhyApart
from traverse.length import Lengths
from traverse.location.records import Survey
from traverse.log.records import Log
from traverse.sheet.paper.fonts import width_mm
from traverse.sheet.paper.page import Face
from traverse.sheet.paper.style import LARGE, SMALL
from traverse.sheet.paper.table import Column, Row
from traverse.sheet.paper.words import (
    EN_DASH,
    NO_BREAK,
    counted,
    dates,
    number,
    plain,
    quoted,
    title_parts,
)
from traverse.sheet.paper.words import (
    address as address_words,
)
from traverse.sheet.said.in_force import change_notes
from traverse.sheet.said.parties import outcrops_told, parties_told
from traverse.sheet.said.sentences import trace_errors
from traverse.sheet.said.stops import names_by_line
from traverse.sheet.signs.shown import Printed, shown, told
from traverse.source import Span
from traverse.structure.readings.records import JointOutcrop
from traverse.trade import JOINED_DEG, REACH_M

_ALIKE = 12
"""Open warnings of one kind that are printed."""
_MOST_APART = 4
"""Pairs of contacts that are told to be kept apart."""
_NOTE_LINES = 40
"""Lines of a note in one row, so that no row is taller than a page."""
_HEAD_MM = 71.0
"""Width of the column that the head of sheet 1 stands in on Letter, and of its title beside the kind of the sheet."""
_TITLE_MM = 50.0
_TWO_LINES_PT = 13.5
NOTE_COLUMNS = (
    Column(name="Where", face=Face.BOLD, least_mm=22.0, most_lines=3),
    Column(name="What", least_mm=14.0, most_lines=2),
    Column(name="In full", takes_rest=True, least_mm=80.0, most_lines=_NOTE_LINES),
)


def note_rows(
    log: Log,
    survey: Survey,
    shortened: Sequence[tuple[str, str, str]],
    diagnostics: Sequence[Diagnostic],
    outcrops: Sequence[JointOutcrop] = (),
    rules: Container[str] = (),
) -> list[Row]:
    """What the tables do not print whole, and what was changed, taken out or answered."""
    rows: list[Row] = []

    def add(where: str, what: str, words: str, *, struck: bool = False, joined: bool = False) -> None:
        text = plain(words)
        # A row may not be taller than a page.
        for index, piece in enumerate(_chunks(text)):
            rows.append(
                Row(
                    cells=(plain(where) if not index else "", what if not index else "", piece),
                    struck=2 if struck else None,
                    joined=joined or index > 0,
                )
            )

    for what, words in _of_the_head(log):
        add("the head", what, words)
    for what, words in change_notes(log, survey):
        add("the walk", what, words)
    for party in parties_told(log, survey, outcrops, rules):
        walked = f"{party.who}; {counted(party.legs, 'leg')}, {log.lengths.printed(party.walked_m)}"
        closes = party.closes and f"own loop {party.closes}"
        agree = party.outcrops and f"reads as others at {party.outcrops} outcrops"
        add(
            f"party {party.letters}",
            "log",
            "; ".join(filter(None, (party.log, walked, closes, agree, party.lies))),
        )
    for outcrop in outcrops_told(log, outcrops):
        mean = outcrop.mean and f"mean {outcrop.mean}"
        add(outcrop.place, outcrop.what, "; ".join(filter(None, (outcrop.read, mean))))
    times = "; ".join(
        f"{address_words(one)} {one.time:%H:%M}" for one in log.addresses if one.time is not None
    )
    if times:
        add("the walk", "times", times)
    for place, items in groupby(log.items, key=lambda item: item.address.index):
        address = log.addresses[place]
        first = True
        for item in items:
            said = told(item)
            if said is not None and shown(item).printed is Printed.IN_FULL:
                add(address_words(address) if first else "", *said)
                first = False
    for place_words, column, words in shortened:
        add(place_words, column.lower(), words)
    names = names_by_line(log)
    for correction in log.corrections:
        leg = next(
            (leg for leg in log.legs if any(one.span == correction.span for one in leg.corrections)), None
        )
        where = (
            f"leg{NO_BREAK}{leg.start}{EN_DASH}{leg.end}"
            if leg is not None
            else f"line{NO_BREAK}{log.line_of(correction.span._replace(line=correction.span.line - 1))}"
        )
        day = f" {dates([correction.date])}" if correction.date is not None else ""
        add(where, "corrected", f"once read {correction.old}; {correction.who}{day}: {correction.why}")
    for ruled in log.rulings:
        settled = "; ".join(ruled.instead_of)
        words = f"{ruled.statement}; {ruled.who} {dates([ruled.date])}: {ruled.why}. In place of {settled}"
        add(f"station{NO_BREAK}{ruled.station}", "ruling", words)
    for omitted in log.omitted:
        add(_place_of(omitted.span, names, log.file), "left out", omitted.written, struck=True)
        add("", "", f"by {omitted.who}: {omitted.why}", joined=True)
    said_of = {(one.span.file, one.span.line): one for one in diagnostics if one.answer and one.span}
    for checked in log.checked:
        warned = said_of.get((checked.of.file, checked.of.line))
        about = f"{quoted(warned.message)}. " if warned is not None else ""
        add(_place_of(checked.of, names, log.file), "checked", f"{about}{checked.who}: {checked.why}")
    alike: dict[str, int] = {}
    for one in diagnostics:
        if one.kind == "warning":
            alike[one.code] = alike.get(one.code, 0) + 1
            if alike[one.code] <= _ALIKE:
                add(_place_of(one.span, names, log.file), "open", quoted(one.message))
    more = sum(max(0, count - _ALIKE) for count in alike.values())
    if more:
        add(
            "",
            "open",
            f"{counted(more, 'more warning')} of the same kinds; the check of the log lists them all",
        )
    return rows


def _of_the_head(log: Log) -> Iterable[tuple[str, str]]:
    """What the head of sheet 1 has no room for whole; what fits its narrowest column is not said again."""
    heading = log.heading
    head, subtitle = title_parts(log)
    if width_mm(head, Face.BOLD, _TWO_LINES_PT) > 1.7 * _TITLE_MM or (
        width_mm(subtitle, Face.SEMIBOLD, LARGE) > _HEAD_MM
    ):
        yield "title", heading.title or ""
    names = " · ".join(plain(one.name or one.initials) for one in heading.party)
    if width_mm(names, Face.REGULAR, SMALL) > _HEAD_MM:
        yield "party", ", ".join(f"{one.initials} {one.name or ''}".strip() for one in heading.party)
    days = dates(day.date for day in heading.days)
    weather = "; ".join(dict.fromkeys(plain(words) for words in heading.weather if plain(words)))
    if weather and width_mm(f"{days} · {weather}", Face.REGULAR, SMALL) > _HEAD_MM:
        yield "weather", weather


def trace_rows(ground: Ground, lengths: Lengths, numbers: Mapping[Span, str]) -> list[Row]:
    """How the lines that were computed over ground that nobody walked were drawn, and what keeps other contacts apart.

    `numbers` are those of the contacts.
    """
    joined, *others = trace_errors(ground, lengths) or ("",)
    apart = _kept_apart(ground, lengths, numbers)
    told = [one for one in (" ".join(filter(None, (joined, apart))), *others) if one]
    return [
        Row(cells=("" if index else "map", "" if index else "traces", words), joined=index > 0)
        for index, words in enumerate(told)
    ]


def _kept_apart(ground: Ground, lengths: Lengths, numbers: Mapping[Span, str]) -> str:
    """`Not joined: c3–c12, 340 m apart; c5–c9, plane 18° off.`; empty where nothing might be."""
    told = []
    for one in ground.apart:
        match one.why:
            case WhyApart.FAR:
                why = f"{lengths.printed(one.apart_m)} apart"
            case WhyApart.PLANES:
                why = f"plane {number(one.off_deg or 0.0)}° off"
            case WhyApart.GENTLE:
                why = "plane too gentle"
            case WhyApart.CROSSED:
                why = "way crossed"
            case _:
                assert_never(one.why)
        told.append(f"{EN_DASH.join(numbers.get(span, '?') for span in one.ends)}, {why}")
    if not told:
        return ""
    more = [f"{len(told) - _MOST_APART} more"] if len(told) > _MOST_APART else []
    limits = "" if ground.joins else f" ({lengths.printed(REACH_M)} and {JOINED_DEG:.0f}° at most)"
    return f"Not joined{limits}: {'; '.join([*told[:_MOST_APART], *more])}."


def _place_of(span: Span | None, names: Mapping[tuple[str, int], str], file: str) -> str:
    """Where to look in the log: its line, after the station or leg that the line speaks of."""
    if span is None:
        return "the log"
    line = f"line{NO_BREAK}{span.line}"
    if span.file != file:
        line = f"{plain(span.file)}, {line}"
    name = names.get((span.file, span.line))
    if name is None:
        return line
    kind = "leg" if EN_DASH in name else "station"
    return f"{kind}{NO_BREAK}{plain(name)}, {line}"


def _chunks(text: str) -> Iterable[str]:
    """Pieces of a long note, each less than a page, cut at blanks where there are any."""
    while len(text) > _CHUNK:
        head, blank, _ = text[:_CHUNK].rpartition(" ")
        piece = head if blank and len(head) > _CHUNK // 2 else text[:_CHUNK]
        yield piece
        text = text[len(piece) :].lstrip(" ")
    yield text


_CHUNK = 2400


def answer_count(diagnostics: Sequence[Diagnostic]) -> str:
    """How many warnings were answered, and how many stand open."""
    answered = sum(1 for one in diagnostics if one.answer)
    still = sum(1 for one in diagnostics if one.kind == "warning")
    said = []
    if answered:
        said.append(f"{counted(answered, 'warning')} answered")
    if still:
        said.append(f"{counted(still, 'warning')} open")
    return ", ".join(said)
