"""Rows of the leg table, with the sums of loops and ties."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from traverse.length import FEET, METRES, Lengths
from traverse.location.records import (
    Closure,
    LoopKind,
    PaceLength,
    PlacedLeg,
    Standing,
    Survey,
)
from traverse.log.items import Leg, LegKind
from traverse.log.readings import North, PaceKind
from traverse.log.records import Log, Rule
from traverse.sheet.paper.page import Face
from traverse.sheet.paper.table import Column, Row, Table
from traverse.sheet.paper.words import (
    EN_DASH,
    NO_BREAK,
    NOTHING,
    counted,
    number,
    plain,
    signed,
    slope,
)
from traverse.sheet.said.in_force import bearings_held, paces_from, turned_for_iron, with_changes


def legs_table(log: Log, survey: Survey) -> Table | None:
    """Every leg as read and as it lies, with the sums of what closes; None without a leg."""
    if not survey.legs:
        return None
    lengths = log.lengths
    counted_legs = [leg for leg in log.legs if leg.distance.unit.is_pace]
    paced = len(counted_legs) == len(log.legs)
    kinds = {leg.conditions.pace.kind for leg in counted_legs if leg.conditions.pace is not None}
    unit = "double" if kinds == {PaceKind.DOUBLE} else "single" if kinds == {PaceKind.SINGLE} else "paces"
    norths = {leg.conditions.bearings for leg in log.legs}
    north = (
        {North.MAGNETIC: "mag.", North.TRUE: "true", North.GRID: "grid"}.get(
            next(iter(norths)) or North.TRUE, ""
        )
        if len(norths) == 1
        else "as read"
    )
    moved = "Raw" if survey.closures and survey.done is Rule.NONE else "Adj."
    columns = (
        Column(name="Leg", face=Face.BOLD),
        Column(name="Fore", unit=north, right=True),
        Column(name="Back", unit=north, right=True),
        Column(name="Differ", right=True),
        Column(name="Slope", right=True),
        Column(name="Paces" if paced else "As written", unit=unit if paced else "distance", right=True),
        Column(name="Ground", unit=lengths.sign, right=True),
        Column(name="Level", unit=lengths.sign, right=True),
        Column(name="Rise", unit=lengths.sign, right=True),
        Column(name=f"{moved} E", unit=lengths.sign, right=True),
        Column(name=f"{moved} N", unit=lengths.sign, right=True),
    )
    walked = [leg for leg in survey.legs if leg.booked.kind is not LegKind.SIDE]
    shots = [leg for leg in survey.legs if leg.booked.kind is LegKind.SIDE]
    some = survey.done is not Rule.NONE

    def row(leg: PlacedLeg) -> Row:
        return _leg_row(leg, lengths, paced=paced, raw=some and leg.standing is Standing.NOT_ADJUSTED)

    rows = [row(leg) for leg in walked]
    rows += [
        _sum_row(closure, survey, lengths, paced=paced, alone=len(survey.closures) == 1)
        for closure in survey.closures
    ]
    rows += [row(leg) for leg in shots]
    if survey.closures and shots:
        first = len(walked) + len(survey.closures)
        rows[first] = Row(cells=rows[first].cells, bold=rows[first].bold, rule_above=True)
    return Table(title="Legs", asides=_asides(log, survey), columns=columns, rows=tuple(rows))


def _asides(log: Log, survey: Survey) -> tuple[str, ...]:
    """Paces, and the norths where they change; shorter where both have no room."""
    paces = _paces_aside(log, survey.paces, log.lengths)
    norths = bearings_held(log, survey)
    iron = turned_for_iron(survey)
    if iron:
        turned = f"Turned for iron, bearings read at {iron}"
        more = "; bearings change, see notes" if len(norths) > 1 else ""
        return (f"{turned}. {paces}{more}" if paces else f"{turned}{more}", f"{turned}{more}", turned)
    if len(norths) < 2:
        return (paces,)
    bearings = f"Bearings {with_changes(norths)}"
    return (f"{bearings}. {paces}" if paces else bearings, bearings, "Bearings change, see notes")


def _paces_aside(log: Log, paces: Sequence[PaceLength], lengths: Lengths) -> str:
    said = []
    since = paces_from(log, paces)
    for pace in paces:
        course = pace.course
        kind = f"{course.kind.value} " if course.kind is not None else ""
        words = f"{kind}pace {lengths.figure(pace.length_m, places=3)}"
        if pace.sd_m is not None:
            words += f"{NO_BREAK}±{NO_BREAK}{lengths.figure(max(pace.sd_m, 0.001), places=3)}"
        words = lengths.with_unit(words)
        if course.counts and course.course_m is not None:
            words += f", from {counted(len(course.counts), 'walk')} of {_course(course.course_m)}"
        if course.span in since:
            words = f"from{NO_BREAK}{plain(since[course.span])} {words}"
        said.append(f"{course.who}: {words}" if course.who and len(paces) > 1 else words)
    return "; ".join(said)


def _course(length_m: float) -> str:
    """A measured course in the unit in which it is a whole number."""
    feet = FEET.of(length_m)
    if abs(feet - round(feet)) < 1e-6 and abs(length_m - round(length_m)) > 1e-6:
        return FEET.printed(length_m)
    return METRES.printed(length_m, places=0 if length_m == round(length_m) else 1)


def _leg_row(leg: PlacedLeg, lengths: Lengths, *, paced: bool, raw: bool) -> Row:
    """`raw` where it was left as walked among legs that were adjusted."""
    booked = leg.booked
    expected = math.sqrt(2.0) * booked.conditions.precision.bearing_deg
    bold = {0}
    if leg.fore_back_deg is not None and abs(leg.fore_back_deg) > 2.0 * expected:
        bold.add(3)
    return Row(
        cells=(
            f"{plain(booked.start)}{EN_DASH}{plain(booked.end)}",
            _queried(booked.bearing.written, queried=booked.bearing.queried),
            _queried(booked.back_bearing.written, queried=booked.back_bearing.queried)
            if booked.back_bearing is not None
            else NOTHING,
            f"{signed(leg.fore_back_deg)}°" if leg.fore_back_deg is not None else NOTHING,
            slope(booked.slope),
            _distance(booked, paced=paced),
            lengths.figure(leg.ground_m),
            lengths.figure(leg.horizontal_m),
            lengths.difference(leg.rise_m) if leg.slope_known else NOTHING,
            *(
                lengths.difference(value) + (f"{NO_BREAK}raw" if raw else "")
                for value in (leg.adjusted.east_m, leg.adjusted.north_m)
            ),
        ),
        bold=frozenset(bold),
    )


def _distance(leg: Leg, *, paced: bool) -> str:
    written = plain(leg.distance.written)
    if paced:
        value = leg.distance.value
        written = number(value, places=0 if value == round(value) else 1)
    return _queried(written, queried=leg.distance.queried) + (" level" if leg.horizontal else "")


def _queried(written: str, *, queried: bool) -> str:
    words = plain(written)
    return words + "?" if queried and not words.endswith("?") else words


def _forward(leg: Leg, here: str, stations: Sequence[str]) -> bool:
    """Whether a circuit that has come to `here` meets a leg as it was walked; a tie leads on from another name."""
    if here in {leg.start, leg.end}:
        return here == leg.start
    return (leg.start, leg.end) in {*pairwise(stations), (stations[-1], stations[0])}


def _sum_row(closure: Closure, survey: Survey, lengths: Lengths, *, paced: bool, alone: bool) -> Row:
    """Sums round a loop or along a tie, each leg counted in the sense it is met."""
    by_index = {leg.booked.index: leg for leg in survey.legs}
    legs = [by_index[leg.index] for leg in closure.legs if leg.index in by_index]
    senses: list[float] = []
    here = closure.stations[0] if closure.stations else ""
    for leg in legs:
        forward = _forward(leg.booked, here, closure.stations)
        senses.append(1.0 if forward else -1.0)
        here = leg.booked.end if forward else leg.booked.start
    pace_sum = sum(leg.booked.distance.value for leg in legs)
    known = all(leg.slope_known for leg in legs)
    if closure.kind is LoopKind.LOOP:
        # Two loops of several parties may begin at one known point.
        name = (
            "loop"
            if alone or len(closure.stations) < 2
            else f"loop {EN_DASH.join(closure.stations[:2])}{EN_DASH}…"
        )
    else:
        name = (
            "tie"
            if alone or len(closure.stations) < 2
            else f"{closure.stations[0]} to {closure.stations[-1]}"
        )
    return Row(
        cells=(
            plain(name),
            "",
            "",
            "",
            "",
            number(pace_sum, places=0 if pace_sum == round(pace_sum) else 1) if paced else "",
            lengths.figure(sum(leg.ground_m for leg in legs)),
            lengths.figure(sum(leg.horizontal_m for leg in legs)),
            lengths.difference(sum(sense * leg.rise_m for sense, leg in zip(senses, legs, strict=True)))
            if known
            else NOTHING,
            lengths.difference(
                sum(sense * leg.adjusted.east_m for sense, leg in zip(senses, legs, strict=True))
            ),
            lengths.difference(
                sum(sense * leg.adjusted.north_m for sense, leg in zip(senses, legs, strict=True))
            ),
        ),
        bold=frozenset(range(11)),
        rule_above=True,
    )
