"""The report that `check` prints: what was walked, how it closes, what nothing checks, where to look again."""

from __future__ import annotations

import textwrap
from collections import Counter
from collections.abc import Iterable, Sequence

from traverse.diagnostic import Diagnostic, Severity
from traverse.location.records import Closure, HeightsMeasured, LoopKind, Survey
from traverse.log.records import LegKind, Log, Rule
from traverse.sheet.sentences import AGREES_WITH_ITSELF, RULES, closure_name, misclosure, no_closure, verdict
from traverse.sheet.words import NO_BREAK, THOUSANDS, counted, dates, metres, number
from traverse.structure.records import Geology

_WIDTH = 96


def report(log: Log, survey: Survey, geology: Geology, diagnostics: Iterable[Diagnostic]) -> str:
    """Plain text, no wider than 96 columns but for words that are longer."""
    said = tuple(diagnostics)
    parts = [
        _head(log, survey, geology),
        _ground(survey),
        _closures(survey),
        _stations(survey),
        _structure(geology),
        _again(said),
    ]
    text = "\n\n".join("\n".join(part) for part in parts if part)
    return text.replace(NO_BREAK, " ").replace(THOUSANDS, " ")


def _wrapped(text: str, *, indent: str = "") -> list[str]:
    return textwrap.wrap(
        text, _WIDTH, initial_indent=indent, subsequent_indent=indent + "  ", break_long_words=False
    )


def _head(log: Log, survey: Survey, geology: Geology) -> list[str]:
    heading = log.heading
    who = ", ".join(person.name or person.initials for person in heading.party)
    days = dates(day.date for day in heading.days) if heading.days else ""
    walked = sum(leg.horizontal_m for leg in survey.legs if leg.booked.kind is not LegKind.SIDE)
    counts = Counter(type(thing.record).__name__ for thing in geology.things)
    parts = [
        counted(len(survey.places), "station"),
        f"{counted(len(survey.legs), 'leg')}, {metres(walked)} walked",
        counted(len(geology.attitudes), "attitude"),
        counted(len(geology.contacts), "contact"),
        *(counted(counts[kind], kind.lower()) for kind in ("Sample", "Photo") if counts[kind]),
    ]
    rows = [heading.title or log.file]
    if days or who:
        rows.extend(_wrapped(" · ".join(part for part in (days, who) if part)))
    return [*rows, *_wrapped("; ".join(parts) + ".")]


def _ground(survey: Survey) -> list[str]:
    frame = survey.frame
    rows = [f"Grid: {frame.name}" + (f" (EPSG:{frame.epsg})" if frame.epsg else "")]
    if frame.declination_deg is not None:
        source = f", {frame.declination_note}" if frame.declination_note else ""
        rows.append(f"Declination: {_east(frame.declination_deg)}{source}")
    if frame.convergence_deg is not None:
        rows.append(
            f"Grid north lies {_east(frame.convergence_deg, places=2)} of true north at the first control"
        )
    for pace in survey.paces:
        who = f"{pace.course.who}: " if pace.course.who else ""
        kind = f"{pace.course.kind.value} pace " if pace.course.kind else "pace "
        error = f" ± {number(pace.sd_m, places=3)} m" if pace.sd_m is not None else ""
        walks = f", {counted(len(pace.course.counts), 'walk')}" if pace.course.counts else ", as stated"
        rows.append(f"Pace: {who}{kind}{number(pace.length_m, places=3)} m{error}{walks}")
    if survey.heights is not HeightsMeasured.MEASURED:
        rows.append(
            "Heights: no slopes were read, all ground is taken as level"
            if survey.heights is HeightsMeasured.NONE
            else "Heights: some legs have no slope and are taken as level"
        )
    return rows


def _east(degrees: float, *, places: int = 1) -> str:
    return f"{number(abs(degrees), places=places)}° {'W' if degrees < 0.0 else 'E'}"


def _closures(survey: Survey) -> list[str]:
    if not survey.closures:
        return ["Closure", *_wrapped(no_closure(survey), indent="  ")]
    rows = ["Closure"]
    for closure in survey.closures:
        rows.extend(_closure(closure, survey))
    if survey.rule is not Rule.NONE and any(one.adjusted for one in survey.closures):
        rows.append(f"  Adjusted by {_article(survey.rule)}.")
    if survey.anyway:
        rows.extend(_wrapped(f"Adjusted all the same: {survey.anyway}", indent="  "))
    if any(one.kind is LoopKind.TIE for one in survey.closures):
        return rows
    return [*rows, *_wrapped(AGREES_WITH_ITSELF, indent="  ")]


def _article(rule: Rule) -> str:
    return RULES[rule] if rule is Rule.LEAST_SQUARES else f"the {RULES[rule]}"


def _closure(closure: Closure, survey: Survey) -> list[str]:
    route = "–".join(
        (*closure.stations, closure.stations[0]) if closure.kind is LoopKind.LOOP else closure.stations
    )
    height = f", height {number(closure.q_up, places=1)} (3.8, 6.6)" if closure.q_up is not None else ""
    judged = verdict(closure) or "passes"
    return [
        *_wrapped(
            f"{closure_name(closure)}, {metres(closure.length_m)}, line {closure.span.line}: {misclosure(closure, survey)}.",
            indent="  ",
        ),
        *_wrapped(f"{route}", indent="    "),
        *_wrapped(
            f"q {number(closure.q, places=1)} (warning above 6.0, not adjusted above 9.2){height}: {judged}.",
            indent="    ",
        ),
    ]


def _stations(survey: Survey) -> list[str]:
    if not survey.places:
        return []
    heights = survey.heights is not HeightsMeasured.NONE
    rows = [("station", "east", "north", *(("height",) if heights else ()), "±", "fixed by")]
    for place in survey.places.values():
        sds = [sd for sd in (place.sd_east_m, place.sd_north_m) if sd is not None]
        error = "" if not sds else "held" if max(sds) == 0.0 else f"{max(1.0, *sds):.0f}"
        rows.append(
            (
                place.name,
                f"{place.east_m:.0f}",
                f"{place.north_m:.0f}",
                *(("" if place.up_m is None else f"{place.up_m:.0f}",) if heights else ()),
                error,
                place.kind.value,
            )
        )
    return _columns(rows, left={0, len(rows[0]) - 1})


def _columns(rows: Sequence[tuple[str, ...]], *, left: set[int]) -> list[str]:
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    return [
        "  ".join(
            cell.ljust(width) if column in left else cell.rjust(width)
            for column, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]


def _structure(geology: Geology) -> list[str]:
    rows: list[str] = []
    for sentence in geology.sentences:
        rows.extend(_wrapped(sentence, indent="  "))
    for one in geology.thicknesses:
        first, second = (span.line for span in one.between)
        rows.append(
            f"  {one.unit} {metres(one.true_m)} ± {metres(max(1.0, one.sd_m))} thick, contacts of lines {first} and {second}"
        )
    return ["Structure", *rows] if rows else []


def _again(said: tuple[Diagnostic, ...]) -> list[str]:
    open_ones = [one for one in said if one.kind == "warning"]
    answers = [one for one in said if one.kind == "answered"]
    rows: list[str] = []
    if open_ones:
        rows.append("To look at again")
        for one in open_ones:
            where = f"line {one.span.line}: " if one.span else ""
            rows.extend(_wrapped(f"{where}{one.message}", indent="  "))
    if answers:
        rows.append(f"{counted(len(answers), 'warning')} answered in the log")
    notes = sum(one.severity is Severity.NOTE for one in said)
    if notes:
        rows.append(f"{counted(notes, 'note')}, shown with --notes")
    return rows or ["Nothing to look at again."]
