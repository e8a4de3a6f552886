"""The report that `check` gives: what was walked, how it closes, what nothing checks, where to look again.

Parts without layout; `report_lines` lays them out.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from typing import TypeAlias

from traverse.diagnostic import Diagnostic, Severity
from traverse.ground.records import Traverse
from traverse.length import METRES, Lengths
from traverse.location.records import (
    Closure,
    HeightsMeasured,
    LoopKind,
    PaceLength,
    PlacedLeg,
    Standing,
    Survey,
)
from traverse.log.described import DESCRIBED, described
from traverse.log.items import LegKind
from traverse.log.records import Log, Rule
from traverse.record import record
from traverse.sheet.paper.words import EN_DASH, NOTHING, counted, dates, number, quoted
from traverse.sheet.said.cautions import hazard_sentences, hazards_closing
from traverse.sheet.said.emergency import emergency_sentences
from traverse.sheet.said.in_force import attitudes_held, bearings_held, with_changes
from traverse.sheet.said.parties import outcrops_told, parties_told
from traverse.sheet.said.sentences import (
    RULES,
    agrees_with_itself,
    between_known,
    closes_worse,
    closure_name,
    misclosure,
    named_sentences,
    no_closure,
    turned_and_stretched,
    verdict,
    worst_first,
)
from traverse.sheet.said.stops import gather
from traverse.sheet.said.thickness_words import differing_crossings
from traverse.sheet.said.tomorrow import in_walking_order, to_check
from traverse.structure.records import Geology
from traverse.trade import OUTLYING
from traverse.wording import capital

_ALWAYS = ("attitude", "contact")
"""Counted even where there are none."""
_COUNTED = dict.fromkeys((*_ALWAYS, *(one.counted for one in DESCRIBED.values() if one.counted)))
_SUSPECTS = 8
_STATIONS = 24
"""Stations of a loop that are named one by one."""
_LEGS = 40
"""Legs that the table lists, the worst loops first."""


@record(frozen=True, slots=True, kw_only=True)
class Sentences:
    """Paragraphs under a heading; the first stands without one in the head of the report."""

    heading: str | None
    paragraphs: tuple[str, ...]


@record(frozen=True, slots=True, kw_only=True)
class ReportTable:
    """Rows of cells under a heading, with what there is to say below."""

    heading: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    left: frozenset[int]
    """Columns of words."""
    below: tuple[str, ...] = ()


Part: TypeAlias = Sentences | ReportTable


def report(trav: Traverse, diagnostics: Iterable[Diagnostic]) -> tuple[Part, ...]:
    """The parts that have something to say, in the order in which they are read."""
    said, lengths = tuple(diagnostics), trav.log.lengths
    parts = (
        _head(trav),
        _look_here_first(trav.log, trav.survey),
        _parties(trav, lengths),
        _outcrops(trav),
        _ground(trav.log, trav.survey),
        _closures(trav.log, trav.survey),
        _legs(trav.log, trav.survey),
        _stations(trav.survey, lengths),
        _structure(trav.geology, trav.log),
        _counted(said),
        _tomorrow(trav, said),
        _hazards(trav),
        _emergency(trav),
    )
    return tuple(part for part in parts if part is not None)


def _head(trav: Traverse) -> Part:
    heading = trav.log.heading
    who = ", ".join(person.name or person.initials for person in heading.party)
    days = dates(day.date for day in heading.days) if heading.days else ""
    walked = sum(leg.horizontal_m for leg in trav.survey.legs if leg.booked.kind is not LegKind.SIDE)
    geology = trav.geology
    booked = (
        *(one.booked for one in geology.attitudes),
        *(one.booked for one in geology.contacts),
        *(one.record for one in geology.things),
    )
    counts = Counter(described(one).counted for one in booked)
    parts = [
        counted(len(trav.survey.places), "station"),
        f"{counted(len(trav.survey.legs), 'leg')}, {trav.log.lengths.printed(walked)} walked",
        *(counted(counts[name], name) for name in _COUNTED if counts[name] or name in _ALWAYS),
    ]
    rows = [" · ".join(part for part in (days, who) if part), "; ".join(parts) + "."]
    return Sentences(heading=heading.title or trav.log.file, paragraphs=tuple(row for row in rows if row))


def _look_here_first(log: Log, survey: Survey) -> Part | None:
    """What the page may have said, where a loop or tie closes badly."""
    if not survey.suspects:
        return None
    rows = tuple(
        (
            log.line_of(one.span),
            one.what if one.start is None else f"{one.start}{EN_DASH}{one.end}",
            one.written,
            one.reading,
            log.lengths.printed(one.misclosure_after_m),
            one.slip,
        )
        for one in survey.suspects[:_SUSPECTS]
    )
    below = []
    more = len(survey.suspects) + len(survey.unnamed_suspects) - len(rows)
    if more > 0:
        below.append(f"{more} more would fit as well.")
    several = len(survey.closures) > 1
    for closure in survey.closures:
        if closure.decides is not None:
            name = f"{closure_name(closure, several=True)}: " if several else ""
            below.append(f"{name}{closure.decides}." if several else f"{capital(closure.decides)}.")
    below.append("Each would explain what closes badly; nothing was changed. Look at the page first.")
    return ReportTable(
        heading="Look here first",
        columns=("line", "leg", "the log says", "was it", "gap then", "what would have happened"),
        rows=rows,
        left=frozenset({1, 2, 3, 5}),
        below=tuple(below),
    )


def _parties(trav: Traverse, lengths: Lengths) -> Part | None:
    """Who walked what, of a camp."""
    told = parties_told(trav.log, trav.survey, trav.geology.shared, trav.geology.doubted_rules)
    if not told:
        return None
    rows = [
        (
            one.letters,
            one.log,
            one.who,
            str(one.legs),
            lengths.printed(one.walked_m),
            one.closes,
            one.outcrops,
            one.lies,
        )
        for one in told
    ]
    columns = (
        "party",
        "log",
        "who",
        "legs",
        "walked",
        "own loop",
        "outcrops agree",
        "turn and scale where shared",
    )
    kept = [index for index in range(len(columns)) if index < 5 or any(row[index] for row in rows)]
    return ReportTable(
        heading="Parties",
        columns=tuple(columns[index] for index in kept),
        rows=tuple(tuple(row[index] for index in kept) for row in rows),
        left=frozenset(at for at, index in enumerate(kept) if index in {0, 1, 2, 7}),
    )


def _outcrops(trav: Traverse) -> Part | None:
    """Outcrops that several parties read."""
    told = outcrops_told(trav.log, trav.geology.shared)
    if not told:
        return None
    return ReportTable(
        heading="Outcrops of several parties",
        columns=("place", "what", "dip → its direction, true", "mean"),
        rows=tuple((one.place, one.what, one.read, one.mean) for one in told),
        left=frozenset({0, 1, 2, 3}),
    )


def _ground(log: Log, survey: Survey) -> Part:
    frame = survey.frame
    rows = [f"Grid: {frame.name}" + (f" (EPSG:{frame.epsg})" if frame.epsg else "")]
    if frame.declination_deg is not None:
        source = f", {frame.declination_note}" if frame.declination_note else ""
        rows.append(f"Declination: {_east(frame.declination_deg)}{source}")
    # What was changed on the way is said as it held; of the rest the heading of the log tells.
    for what, held in (("Bearings", bearings_held(log, survey)), ("Attitudes", attitudes_held(log))):
        if len(held) > 1:
            rows.append(f"{what}: {with_changes(held)}")
    if frame.convergence_deg is not None:
        rows.append(
            f"Grid north lies {_east(frame.convergence_deg, places=2)} of true north at the first control"
        )
    rows.extend(_pace(pace, log) for pace in survey.paces)
    if survey.heights is not HeightsMeasured.MEASURED:
        rows.append(
            "Heights: no slopes were read, all ground is taken as level"
            if survey.heights is HeightsMeasured.NONE
            else "Heights: some legs have no slope and are taken as level"
        )
    return Sentences(heading=None, paragraphs=tuple(rows))


def _pace(pace: PaceLength, log: Log) -> str:
    lengths = log.lengths
    # Parties of a camp may have pacers of the same initials, and each walked its course by itself.
    named = [one for one in (log.whose(pace.course.span), pace.course.who) if one]
    who = f"{', '.join(named)}: " if named else ""
    kind = f"{pace.course.kind.value} pace " if pace.course.kind else "pace "
    walks = f", {counted(len(pace.course.counts), 'walk')}" if pace.course.counts else ", as stated"
    words = f"Pace: {who}{kind}{lengths.figure(pace.length_m, places=3)} {lengths.sign}"
    if pace.sd_m is None:
        return f"{words}{walks}; how good it is can't be told"
    share = 100.0 * pace.sd_m / pace.length_m
    return (
        f"{words} ± {lengths.figure(pace.sd_m, places=3)} {lengths.sign}{walks}: all distances it gives may be {number(share, places=1)} %"
        " too long or too short together, which no loop shows"
    )


def _east(degrees: float, *, places: int = 1) -> str:
    return f"{number(abs(degrees), places=places)}° {'W' if degrees < 0.0 else 'E'}"


def _closures(log: Log, survey: Survey) -> Part:
    if not survey.closures:
        return Sentences(heading="Closure", paragraphs=(no_closure(log, survey),))
    rows = [row for closure in survey.closures for row in _closure(closure, log, survey)]
    if survey.done is not Rule.NONE:
        rows.append(f"Adjusted by {_article(survey.done)}.")
    if survey.anyway:
        rows.append(f"Adjusted all the same: {survey.anyway}")
    if survey.rule is Rule.LEAST_SQUARES and survey.network_test is not None:
        rows.append(_network(survey))
    if not any(between_known(one, survey) for one in survey.closures):
        rows.append(agrees_with_itself(*turned_and_stretched(survey)))
    return Sentences(heading="Closure", paragraphs=tuple(rows))


def _article(rule: Rule) -> str:
    return RULES[rule] if rule is Rule.LEAST_SQUARES else f"the {RULES[rule]}"


def _network(survey: Survey) -> str:
    """The global test in a sentence."""
    test = survey.network_test
    assert test is not None
    passes = test.chi_square <= test.limit
    judged = (
        "it passes"
        if passes
        else "it fails: the readings are poorer than the precision stated, or one of them is wrong"
    )
    return (
        f"All readings together: chi-square {number(test.chi_square, places=1)} with"
        f" {counted(test.freedom, 'degree')} of freedom, where 95 good walks in 100 stay below"
        f" {number(test.limit, places=1)}: {judged}."
    )


def _closure(closure: Closure, log: Log, survey: Survey) -> Iterator[str]:
    lengths = log.lengths
    stations = [*closure.stations, *(closure.stations[:1] if closure.kind is LoopKind.LOOP else ())]
    if len(stations) > _STATIONS:
        stations[_STATIONS // 2 : -_STATIONS // 2] = ["…"]
    route = EN_DASH.join(stations)
    judged = verdict(closure) or "passes"
    yield (
        f"{closure_name(closure)}, {lengths.printed(closure.length_m)}, line {log.line_of(closure.span)}: "
        f"{misclosure(closure, survey, lengths)}. {route}."
        f" {capital(closes_worse(closure.q, closure.q_up))} (a warning below 5 of {number(100 * closure.tests)}, not adjusted below 1): {judged}."
    )
    made = _made_of(closure, lengths)
    if made:
        yield made


def _made_of(closure: Closure, lengths: Lengths) -> str:
    """What dominates the expected closure."""
    shares = closure.shares
    if shares is None:
        return ""
    parts = sorted(
        (
            (shares.bearing, "bearings"),
            (shares.distance, "paces and tapes"),
            (shares.slope, "slopes"),
            (shares.known_points, "the known points"),
            (shares.calibration, "the pace's calibration"),
        ),
        reverse=True,
    )
    told = ", ".join(f"{100.0 * share:.0f} % {words}" for share, words in parts if share >= 0.005)
    expected = lengths.printed_finely(closure.expected_m)
    return f"The {expected} expected come from: {told}."


def _legs(log: Log, survey: Survey) -> Part | None:
    """Readings of the loops that close badly, and what least squares makes of each."""
    placed = {leg.booked.index: leg for leg in survey.legs}
    chosen: dict[int, PlacedLeg] = {}
    for closure in worst_first(survey):
        if closure.q > closure.limits.warn and len(chosen) < _LEGS:
            chosen.update({leg.index: placed[leg.index] for leg in closure.legs})
    if not chosen:
        return None
    rows = tuple(_leg(chosen[index], log) for index in sorted(chosen)[:_LEGS])
    below = []
    if any(leg.check is not None for leg in chosen.values()):
        below.append(
            f"Bearing first, then distance. Redundancy is the share of an error in a reading that the rest would show; a standardised residual above"
            f" {number(OUTLYING, places=2)} is that of one good reading in a thousand."
        )
    else:
        below.append(
            "While the loop stands open nothing else checks its readings one by one."
            " `adjust RULE anyway WHY` shows what it would put on each."
        )
    return ReportTable(
        heading="Legs of what closes badly",
        columns=("line", "leg", "fore", "back", "differ", "moved", "redundancy", "std. residual"),
        rows=rows,
        left=frozenset({1, 2, 3}),
        below=tuple(quoted(one) for one in below),
    )


def _leg(leg: PlacedLeg, log: Log) -> tuple[str, ...]:
    booked = leg.booked
    moved = (
        (leg.adjusted.east_m - leg.raw.east_m) ** 2 + (leg.adjusted.north_m - leg.raw.north_m) ** 2
    ) ** 0.5
    readings = (leg.check.bearing, leg.check.distance) if leg.check is not None else ()
    return (
        log.line_of(booked.span),
        f"{booked.start}{EN_DASH}{booked.end}",
        booked.bearing.written,
        booked.back_bearing.written if booked.back_bearing is not None else "",
        "" if leg.fore_back_deg is None else f"{number(leg.fore_back_deg, places=1)}°",
        log.lengths.printed(moved, places=1) if readings else NOTHING,
        " / ".join(number(one.redundancy, places=2) for one in readings) or NOTHING,
        " / ".join(number(one.standardised, places=1) for one in readings) or NOTHING,
    )


def _stations(survey: Survey, lengths: Lengths) -> Part | None:
    if not survey.places:
        return None
    heights = survey.heights is not HeightsMeasured.NONE
    columns = ("station", "east", "north", *(("height",) if heights else ()), "±", "fixed by")
    if lengths.in_feet:
        # Where lengths are feet, it must be said that places in the grid are not.
        grid, tall = METRES.sign, lengths.sign
        columns = (
            "station",
            f"east, {grid}",
            f"north, {grid}",
            *((f"height, {tall}",) if heights else ()),
            f"±, {tall}",
            "fixed by",
        )
    rows = []
    for place in survey.places.values():
        sds = [sd for sd in (place.sd_east_m, place.sd_north_m) if sd is not None]
        error = "" if not sds else lengths.error(max(sds))
        # By how much a walk is off that was not adjusted, no precision tells.
        error = "not adjusted" if place.standing is Standing.NOT_ADJUSTED else error
        rows.append(
            (
                place.name,
                str(round(place.east_m)),
                str(round(place.north_m)),
                *(("" if place.up_m is None else str(round(lengths.of(place.up_m))),) if heights else ()),
                error,
                place.kind.value,
            )
        )
    return ReportTable(
        heading="Stations", columns=columns, rows=tuple(rows), left=frozenset({0, len(columns) - 1})
    )


def _structure(geology: Geology, log: Log) -> Part | None:
    lengths = log.lengths
    rows = [one.whole for one in geology.findings]
    for one in geology.thicknesses:
        first, second = map(log.line_of, one.between)
        rows.append(
            f"{one.unit} {'at least ' if one.at_least else ''}{lengths.printed(one.true_m)} ± {lengths.printed(max(1.0, one.sd_m))} thick,"
            f" contacts of lines {first} and {second}"
        )
    rows += differing_crossings(geology, lengths)
    rows += [
        f"{one.unit}: true width {lengths.short_plus_minus(one.width_m, one.width_sd_m)},"
        f" walls of lines {' and '.join(log.line_of(wall.booked.span) for wall in one.walls)}"
        for one in geology.bodies
        if one.width_m is not None and one.width_sd_m is not None
    ]
    rows += [row for section in geology.sections for row in named_sentences(section, warned=False)]
    return Sentences(heading="Structure", paragraphs=tuple(rows)) if rows else None


def _tomorrow(trav: Traverse, said: Sequence[Diagnostic]) -> Part:
    """The list of the sheet, in the order in which one comes by the places."""
    tasks = in_walking_order(to_check(trav, gather(trav), said), trav.log)
    rows = tuple(
        (trav.log.line_of(task.span) if task.span is not None else "", f"{task.place}: {task.reason}")
        for task in tasks
    )
    if not rows:
        return Sentences(heading=None, paragraphs=("Nothing to look at again.",))
    return ReportTable(
        heading="Readings to check tomorrow",
        columns=("line", "in walking order"),
        rows=rows,
        left=frozenset({1}),
    )


def _hazards(trav: Traverse) -> Part:
    """Last, so that nobody goes out again without having read them."""
    closing = hazards_closing(trav.log)
    return Sentences(heading="Hazards noticed", paragraphs=(*hazard_sentences(trav.log), closing))


def _emergency(trav: Traverse) -> Part | None:
    """Whom to call and when to turn back, of what the log says."""
    told = emergency_sentences(trav.log.heading.emergency)
    return Sentences(heading="In an emergency", paragraphs=told) if told else None


def _counted(said: Sequence[Diagnostic]) -> Part | None:
    answers = sum(one.kind == "answered" for one in said)
    notes = sum(one.severity is Severity.NOTE for one in said)
    rows = []
    if answers:
        rows.append(f"{counted(answers, 'warning')} answered in the log")
    if notes:
        rows.append(f"{counted(notes, 'note')}, shown with --notes")
    return Sentences(heading=None, paragraphs=tuple(rows)) if rows else None
