"""What the sheet says in words of closure, accuracy and limits; every figure is computed."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from traverse.angle import wrap_360
from traverse.ground.records import Ground
from traverse.length import Lengths
from traverse.location.records import Closure, Frame, HeightsMeasured, LoopKind, PlaceKind, Survey
from traverse.log.items import Contact, LegKind, UnitHere
from traverse.log.readings import North
from traverse.log.records import Control, Log, Rule
from traverse.sheet.paper.words import (
    EN_DASH,
    NO_BREAK,
    azimuth,
    counted,
    number,
    plain,
    quoted,
    signed,
    whole_title,
)
from traverse.structure.form.records import Told
from traverse.structure.records import Geology
from traverse.structure.section.records import PointKind, Section
from traverse.trade import JOINED_DEG, POLE_SD_DEG, REACH_M
from traverse.wording import capital, listed, section_name

MOST_CLOSURES = 4
"""Loops and ties that are told one by one, in words."""

RULES = {
    Rule.COMPASS: "compass rule",
    Rule.TRANSIT: "transit rule",
    Rule.LEAST_SQUARES: "least squares",
    Rule.NONE: "no adjustment",
}
SKETCH = (
    "Compass-and-pace sketch map. Not a land survey; not for boundaries, engineering, excavation, blasting,"
    " well siting, rescue or navigation."
)
HAZARDS = "Hazards noticed are not all there are: local rules and the leader’s risk assessment come first."
_DECLINATION, _PACE = "declination", "pace"


def agrees_with_itself(north: str = _DECLINATION, lengths: str = _PACE) -> str:
    """What a loop that closes doesn't show; of one walk with what it has of `turned_and_stretched`."""
    return (
        f"A loop that closes shows only that it agrees with itself. It closes just as well with a wrong {north},"
        f" a wrong {lengths} length, feet taken for metres throughout, or a wrong start."
    )


def turned_and_stretched(survey: Survey) -> tuple[str, str]:
    """What turns the whole of a walk where it is wrong, and what stretches it: declination or north, pace or tape."""
    legs = [leg.booked for leg in survey.legs]
    magnetic = any(leg.conditions.bearings is North.MAGNETIC for leg in legs)
    paced = any(leg.distance.unit.is_pace for leg in legs)
    return _DECLINATION if magnetic else "north", _PACE if paced else "tape"


def grid_words(frame: Frame) -> str:
    """`ETRS89 / UTM zone 33N (EPSG:25833)`; of a local grid, what it counts from."""
    code = f" (EPSG:{frame.epsg})" if frame.epsg is not None else ""
    return f"{plain(frame.name)}{code}" + (", relative to the first station" if frame.local else "")


def closure_name(closure: Closure, *, several: bool = False) -> str:
    """`Loop of 17 legs`, where there are several `Loop 1–2–3–1`; or `Tie 3 to A-7`."""
    stations = closure.stations
    if closure.kind is LoopKind.LOOP:
        if not several or not stations:
            return f"Loop of {counted(len(closure.legs), 'leg')}"
        if len(stations) <= _SHORT_LOOP:
            return f"Loop {EN_DASH.join((*stations, stations[0]))}"
        return f"Loop {stations[0]}{EN_DASH}{stations[1]}{EN_DASH}…{EN_DASH}{stations[0]}"
    ends = [stations[0], stations[-1]] if stations else []
    return "Tie" + (f" {ends[0]} to {ends[1]}" if len(ends) == 2 and ends[0] != ends[1] else "")


_SHORT_LOOP = 5
"""Stations that a loop's name tells one by one."""


def misclosure(closure: Closure, survey: Survey, lengths: Lengths, *, length: bool = False) -> str:
    """`out by 6 m toward 103°, 1 in 154 (6 m expected); 2 m in height`; with the length walked where it is asked.

    What was expected of the height is told of a gap that is more than it.
    """
    gap = closure.misclosure
    if lengths.of(gap.distance_m) < 0.5:
        words = f"out by less than {lengths.one}"
    else:
        toward = wrap_360(gap.azimuth_deg + survey.frame.to_true_deg)
        words = f"out by {lengths.printed(gap.distance_m)} toward {azimuth(toward)}°"
    if length:
        words += f" in {lengths.printed(closure.length_m)}"
    if closure.ratio is not None and closure.ratio >= 1.0:
        words += f", 1{NO_BREAK}in{NO_BREAK}{number(closure.ratio)}"
    if closure.expected_m > 0.0:
        words += f" ({lengths.printed_finely(closure.expected_m)} expected)"
    if gap.up_m is not None and survey.heights is not HeightsMeasured.NONE:
        words += f"; {lengths.printed(abs(gap.up_m))} in height"
        if closure.sd_up_m and abs(gap.up_m) > closure.sd_up_m:
            words += f" ({lengths.printed_finely(closure.sd_up_m)} expected)"
    return words


def closes_worse(q: float, q_up: float | None = None) -> str:
    """How rare so large a gap is: of two freedoms, a share exp(-q/2) of walks closes worse by chance; in height, of one.

    Source: the chi-square distribution with two degrees of freedom, and with one, Abramowitz and Stegun, 26.4.

    >>> closes_worse(1.5), closes_worse(9.2), closes_worse(40.0)
    ('of 100 sound walks 47 close worse', 'of 100 sound walks 1 closes worse', 'of 200 sound walks none closes worse')
    >>> closes_worse(1.5, 20.0), closes_worse(1.5, 1.0)
    ('of 100 sound walks 47 close worse in plan, none of 200 in height', 'of 100 sound walks 47 close worse in plan, 32 in height')
    """
    of_100 = round(100.0 * math.exp(-q / 2.0))
    if of_100:
        words = f"of 100 sound walks {of_100} {'closes' if of_100 == 1 else 'close'} worse"
    else:
        words = "of 200 sound walks none closes worse"
    if q_up is None:
        return words
    of_100_up = round(100.0 * math.erfc(math.sqrt(q_up / 2.0)))
    up = f"{of_100_up}{'' if of_100 else ' of 100'}" if of_100_up else "none of 200" if of_100 else "none"
    return f"{words} in plan, {up} in height"


def doubtful_up(closure: Closure) -> float | None:
    """The figure by which the heights of a closure are tested where they fail it or nearly do; else None."""
    q_up = closure.q_up
    return q_up if q_up is not None and q_up > closure.limits.warn_up else None


def control_source(control: Control) -> str:
    """Where a known point comes from, as noted; the satellites' in capitals."""
    return re.sub(r"\bgps\b", "GPS", plain(control.source or ""), flags=re.IGNORECASE)


def verdict(closure: Closure) -> str:
    """Whether it passes its test, and what was done."""
    said: list[str] = []
    q, q_up = closure.q, closure.q_up
    if q > closure.limits.refuse:
        not_so = "one of its known points is left out" if closure.of_wrong_point else "NOT ADJUSTED"
        said.append(not_so if not closure.adjusted else "fails its test, adjusted all the same")
    elif not closure.adjusted:
        said.append("not used: a party’s own loop fails" if closure.hung else "not adjusted")
    elif q > closure.limits.warn:
        said.append("passes with a warning")
    if q_up is not None and q_up > closure.limits.refuse_up:
        said.append(
            "heights NOT ADJUSTED" if not closure.adjusted_up else "heights fail, adjusted all the same"
        )
    elif q_up is not None and q_up > closure.limits.warn_up:
        said.append("heights pass with a warning")
    return "; ".join(said)


def fails(survey: Survey) -> bool:
    """Whether a closure fails its test, or passes with a warning: then the report is wanted."""
    return any(verdict(one) for one in survey.closures)


def worst_first(survey: Survey, *, many: bool = True) -> tuple[Closure, ...]:
    """Loops and ties, what failed first, and after it what fails by a party's own loop alone; of `many` the worst first."""
    return tuple(sorted(survey.closures, key=lambda one: (_standing(one), -one.q if many else 0.0)))


def closure_lines(log: Log, survey: Survey, *, most: int = MOST_CLOSURES) -> tuple[str, ...]:
    """A sentence for each loop and tie, what failed first and worst first where there are many, then the rule and what stays unchecked."""
    lines: list[str] = []
    lengths = log.lengths
    told = worst_first(survey, many=len(survey.closures) > most)[:most]
    for one in told:
        words = f"{closure_name(one, several=len(survey.closures) > 1)}, {lengths.printed(one.length_m)}: {misclosure(one, survey, lengths)}."
        judged = verdict(one)
        if judged:
            words += f" {capital(judged)}: {closes_worse(one.q, doubtful_up(one))}."
        lines.append(words)
    if len(survey.closures) > most:
        left = len(survey.closures) - most
        lines.append(f"{left} more, which close{'s' if left == 1 else ''} better.")
    if not survey.closures:
        return (no_closure(log, survey),)
    lines += [f"Compass drawn aside: {iron}."] if (iron := _drawn_aside(survey)) else []
    rule = f"{RULES[survey.done].capitalize()}. " if survey.done is not Rule.NONE else ""
    if survey.anyway:
        rule += f"Adjusted all the same: {survey.anyway.rstrip('.')}. "
    lines.append(rule + unchecked(survey))
    return tuple(lines)


def _standing(closure: Closure) -> int:
    """Of one that fails its test or was left open 0, of one that is doubted 1, of a sound one 2.

    A tie that is not used since a party's own loop fails says no more than that loop: it counts as doubted where it fails.
    """
    fails = closure.q > closure.limits.refuse
    if closure.hung:
        return 1 if fails else 2
    failed = fails or not closure.adjusted or not closure.adjusted_up
    return 0 if failed else 1 if verdict(closure) else 2


def _drawn_aside(survey: Survey) -> str:
    """`at 3 by +6°, left in and asked about; at 4 by −5°, taken out`; empty where it was nowhere."""
    kinds = ((survey.deviations_left, "left in and asked about"), (survey.deviations, "taken out"))
    return "; ".join(
        f"{listed([f'at {plain(one.station)} by{NO_BREAK}{signed(one.degrees)}°' for one in some])}, {what}"
        for found, what in kinds
        if (some := [one for one in found if abs(one.degrees) >= 0.5])
    )


def between_known(closure: Closure, survey: Survey) -> bool:
    """Whether a tie runs from one known point to another; one of two names of a place checks no more than a loop."""
    known = (survey.places[name].kind in _KNOWN for name in (closure.stations[0], closure.stations[-1]))
    return closure.kind is LoopKind.TIE and all(known)


_KNOWN = frozenset({PlaceKind.CONTROL, PlaceKind.UNUSED})


def unchecked(survey: Survey) -> str:
    """What the closures can't show."""
    north, lengths = turned_and_stretched(survey)
    if any(between_known(one, survey) for one in survey.closures):
        return f"A tie between known points checks start, {north} and {lengths} as well."
    return f"A loop cannot check the start, the {north} or the {lengths}."


def not_adjusted(log: Log, survey: Survey) -> str | None:
    """What was left open, in the words of the stamp; None where everything closes."""
    if (words := open_walk(log, survey)) is not None:
        return words
    failing = [
        one
        for one in survey.closures
        if not one.adjusted_up and one.q_up is not None and one.q_up > one.limits.refuse_up
    ]
    if not failing:
        return None
    held = [one for one in survey.closures if one.adjusted_up and not one.hung]
    whose = _open_party(log, survey, list(map(_files, failing)), held)
    return f"HEIGHTS {f'OF PARTY {whose[0]} ' if whose else ''}{NOT_ADJUSTED}"


def open_walk(log: Log, survey: Survey) -> str | None:
    """The words of the stamp where something is left open in plan, else None; of parties of a camp that hang on the others, whose it is."""
    by_tie = any(one.by_open_tie for one in log.parties)
    if survey.adjusted and not by_tie:
        return None
    loose = {one.file: one.letters for one in log.parties if (one.hung or one.by_open_tie) and one.letters}
    failing = [_files(one) for one in survey.closures if not (one.adjusted or one.hung or one.of_wrong_point)]
    if (failing or by_tie) and not any(files.isdisjoint(loose) for files in failing):
        whose = list(loose.values())
    else:
        held = [one for one in survey.closures if one.adjusted and not one.hung]
        whose = _open_party(log, survey, failing, held)
    if not whose:
        return NOT_ADJUSTED
    return f"{'PARTY' if len(whose) == 1 else 'PARTIES'} {listed(whose)} {NOT_ADJUSTED}"


def _files(closure: Closure) -> set[str]:
    return {leg.span.file for leg in closure.legs}


def _open_party(log: Log, survey: Survey, failing: list[set[str]], held: Sequence[Closure]) -> list[str]:
    """The letters of the one party over which all that fails runs, where what is held without it bears each other party out."""
    common = set.intersection(*failing) if failing else set[str]()
    if len(common) != 1 or len(log.parties) < 3:
        return []
    borne_out = {
        leg.span.file
        for one in held
        if common.isdisjoint(files := _files(one))
        if len(files) > 1 or between_known(one, survey)
        for leg in one.legs
    }
    walked = {leg.booked.span.file for leg in survey.legs} - common
    return [one.letters for one in log.parties if one.file in common and one.letters and walked <= borne_out]


def no_closure(log: Log, survey: Survey) -> str:
    """What to say of a walk that comes back to nothing."""
    if not survey.legs:
        return "No legs: nothing to close."
    words = "No loop and no tie: nothing checks this walk."
    if worst := survey.worst_station_m:
        words += f" By its precision its worst station is good to {log.lengths.printed(max(1.0, worst))}."
    return words


def accuracy(log: Log, survey: Survey) -> str:
    """How good the stations are, by the worst of them as the table has it: from the one control and in the grid, or in the grid alone.

    Where a closure was refused no error tells that: the walk is off by as much somewhere.
    """
    refused = [
        one.misclosure.distance_m for one in survey.closures if not (one.adjusted or one.of_wrong_point)
    ]
    if refused:
        gap = log.lengths.printed(max(1.0, *refused))
        return f"Not adjusted: a walk that leaves {gap} has stations off by up to that."
    worst = survey.worst_station_m
    if worst is None or not math.isfinite(worst):
        return "How good the stations are is not known."
    good = f"Stations good to {log.lengths.printed(max(1.0, worst))}"
    if len(log.controls) > 1 and not survey.frame.local:
        held = all(one.sd_plan_m is None for one in log.controls)
        return f"{good} in the grid{' if the known points are right' if held else ''} (1{NO_BREAK}sd)."
    words = f"{good} {'in the loop' if _is_one_loop(survey) else 'along the walk'}"
    if not survey.frame.local:
        common = survey.common_control
        joined = math.hypot(worst, (common.sd_plan_m if common is not None else None) or 0.0)
        words += f", {log.lengths.printed(max(1.0, joined))} in the grid"
        if common is None:
            words += " if the start is right"
    return words + f" (1{NO_BREAK}sd)."


def _is_one_loop(survey: Survey) -> bool:
    """Whether all that was walked lies between the legs of loops; side shots apart."""
    looped = {leg.index for one in survey.closures if one.kind is LoopKind.LOOP for leg in one.legs}
    walked = {one.booked.index for one in survey.legs if one.booked.kind is not LegKind.SIDE}
    return bool(looped) and walked <= looped


def named_structure(geology: Geology) -> Told | None:
    """What says the one form that the readings were recognised as; None of none or of several."""
    names = {one.finding.form.name for one in geology.recognised if one.finding.form is not None}
    return geology.recognised[0] if len(names) == 1 else None


def section_sentences(section: Section) -> tuple[str, ...]:
    """What a section and its construction can't show, the gravest first."""
    built = section.construction.sentences
    # A panel without heights says so itself.
    limits = [limit.sentence for limit in section.limits if limit.code != "section-level"]
    return tuple(plain(quoted(one)) for one in (*limits, *built))


def section_briefs(section: Section, unsaid: Sequence[str] | None = None) -> tuple[str, ...]:
    """What stands with a section whatever the paper, in a few words; of the sentences in `unsaid` alone, where these are given.

    Of several of one kind the first is told, with how many there are.
    """
    told = [
        one
        for one in section.limits
        if one.brief and (unsaid is None or plain(quoted(one.sentence)) in unsaid)
    ]
    kinds: dict[str, dict[str, None]] = {}
    for one in told:
        kinds.setdefault(one.code, {})[one.brief] = None
    return tuple(
        plain(quoted(f"{first}{f', and {len(more)} more' if more else ''}"))
        for first, *more in kinds.values()
    )


def carried_sentences(section: Section, lengths: Lengths) -> tuple[str, ...]:
    """How far readings and contacts were carried to a section, and how good that leaves their places on it."""
    carried = [
        point for point in section.points if point.kind is not PointKind.STATION and point.sd_m is not None
    ]
    if not carried or max(abs(point.carried_m) for point in carried) < 0.5:
        return ()
    far = max(abs(point.carried_m) for point in carried)
    sds = [max(1.0, point.sd_m or 0.0) for point in carried]
    extent = lengths.with_unit(lengths.extent(sds))
    words = f"Section {section_name(section.name)}: carried up to {lengths.printed(far)}; places along it good to {extent} (1{NO_BREAK}sd)."
    return (plain(words),)


def named_sentences(section: Section, *, warned: bool = True) -> tuple[str, ...]:
    """The same with the name of the section in each; less what the log was warned of, unless that is `warned` too."""
    left_out = section.booked is not None and not warned
    limits = [limit.sentence for limit in section.limits if not (left_out and limit.grave)]
    built = section.construction.sentences
    named = (*limits, *(f"Section {section_name(section.name)}: {one}" for one in built))
    return tuple(plain(quoted(one)) for one in named)


def interpretation(log: Log, *, section: bool) -> str:
    """That dashes and depth are inferred, also those of a contact that was seen; empty where neither is drawn."""
    units = {item.letters for item in log.items if isinstance(item, UnitHere)}
    if len(units) < 2 and not any(isinstance(item, Contact) for item in log.items):
        return "All below ground is inferred." if section else ""
    inferred = "dashes, dots and all below ground" if section else "dashes and dots"
    return f"Solid contacts were seen; {inferred} are inferred."


def trace_errors(ground: Ground, lengths: Lengths) -> tuple[str, ...]:
    """How far the lines that nobody walked along may be believed, in the limits by which they were drawn."""
    said: list[str] = []
    if ground.joins:
        over = (
            "where it comes out on the heights"
            if all(one.over_heights for one in ground.joins)
            else "straight"
        )
        said.append(
            f"Lines from arm to arm were computed: the plane through both places, no more than"
            f" {lengths.printed(REACH_M)} apart, within {math.ceil(max(JOINED_DEG, *(one.off_deg for one in ground.joins)))}° of each attitude, {over};"
            f" nobody walked there, and such limits are rules of thumb."
        )
    if ground.outcrops:
        sd_up = max(one.sd_up_m for one in ground.outcrops)
        said.append(
            f"Projected traces run {lengths.printed(max(one.reach_m for one in ground.outcrops))} from their contact"
            f" at most; the grey band is 1{NO_BREAK}sd by rules of thumb: heights good to {lengths.printed(sd_up)}, attitudes to"
            f" {POLE_SD_DEG:.0f}°."
        )
    return tuple(said)


NOT_ADJUSTED = "NOT ADJUSTED"


def short_title(log: Log) -> str:
    """Place and day as the head of a page: the title as typed, what follows its comma up to the first colon."""
    head, comma, rest = whole_title(log).partition(", ")
    whole = f"{head}{comma}{rest.partition(':')[0]}"
    return whole if len(whole) <= 60 else whole[:57].rstrip(" ,") + "…"
