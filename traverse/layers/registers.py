"""Tables that go with the layers: what they are about, units, thicknesses, sources, corrections, words, the dictionary."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from traverse.ground.records import Traverse
from traverse.layers.glossary import TERMS
from traverse.layers.making import Reference, flag, metres, number, table, text, whole
from traverse.layers.records import About, MapLayer
from traverse.log.records import RockUnit
from traverse.sheet.paper.words import plain
from traverse.sheet.said.cautions import cautions_of
from traverse.sheet.said.sentences import RULES, grid_words
from traverse.sheet.said.stops import units_on_sheet
from traverse.sheet.signs.colour import unit_styles
from traverse.source import Span
from traverse.version import __version__


def about_of(trav: Traverse, *, map_alone: bool = False) -> About:
    """Whose figures they are, in which grid, what was not adjusted, what they are not for, what is dangerous.

    Of a picture of the `map_alone`, with the names of its units and nothing of a section that it does not show.
    """
    heading, survey = trav.log.heading, trav.survey
    days = [day.date.isoformat() for day in heading.days]
    title = plain(heading.title or "")
    cautions = cautions_of(trav.log, survey, section=bool(trav.geology.sections) and not map_alone)
    told: list[tuple[str, str]] = [
        ("title", title),
        ("area", plain(heading.area or "")),
        *(("date", day) for day in days),
        *(("party", plain(person.name or person.initials)) for person in heading.party),
        ("grid", grid_words(survey.frame)),
        *([("units", _units_named(trav))] if map_alone else []),
        ("longitude and latitude", _earth(trav)),
        ("heights", plain(heading.heights or "") or "datum not stated"),
        ("adjusted", RULES[survey.done]),
        *((one.kind.value, one.text) for one in cautions),
    ]
    return About(
        title=title,
        date=days[0] if days else None,
        told=tuple((what, words) for what, words in told if words),
    )


def _units_named(trav: Traverse) -> str:
    """`Sh Reed Shale; Ss Pike Sandstone`, youngest first; empty of none."""
    return "; ".join(plain(f"{unit.letters} {unit.name}") for unit in units_on_sheet(trav.log, trav.geology))


def _earth(trav: Traverse) -> str:
    frame = trav.survey.frame
    if frame.epsg is None:
        return "none: the grid is local"
    off = f", good to {frame.accuracy_m:g} m from this grid" if frame.accuracy_m else ""
    return f"on WGS 84 (EPSG:4326){off}"


def about_table(day: Reference, about: About) -> MapLayer:
    """What the other tables and layers are about."""
    return table(
        day,
        "about",
        "Whose figures the others are, and what they are not for.",
        about.told,
        (
            text("what", "Title, date, party, grid, or the kind of caution.", lambda one: one[0]),
            text("words", "A sentence that must go wherever the figures go.", lambda one: one[1]),
        ),
    )


def registers(day: Reference) -> Iterator[MapLayer]:
    """Units, thicknesses, sources, corrections, glossary."""
    trav = day.trav
    yield _units(day)
    yield table(
        day,
        "thicknesses",
        "True thicknesses of units crossed between two contacts.",
        trav.geology.thicknesses,
        (
            text("unit", "Letters of the unit.", lambda one: one.unit),
            metres("true", "True thickness.", lambda one: one.true_m),
            metres("sd", "Its standard deviation.", lambda one: one.sd_m),
            text("between", "Lines of the two contacts.", lambda one: day.lines(one.between)),
            metres("range_low", "Least that the rules give.", lambda one: one.range_m[0]),
            metres("range_high", "Most that the rules give.", lambda one: one.range_m[1]),
            flag("at_least", "Whether its top is cut or covered.", lambda one: one.at_least),
        ),
    )
    yield _sources(day)
    yield table(
        day,
        "corrections",
        "Readings that once stood otherwise in the log.",
        trav.log.corrections,
        (
            text("old", "As it was written before.", lambda one: one.old),
            text("who", "Who corrected it.", lambda one: one.who),
            text("date", "When.", lambda one: one.date.isoformat() if one.date else None),
            text("why", "Why.", lambda one: one.why),
        ),
        line=lambda one: one.span,
    )
    yield table(
        day,
        "glossary",
        "Words that the values of other tables are.",
        TERMS,
        (
            text("field", "Field that it is a value of.", lambda one: one.field),
            text("word", "The value.", lambda one: one.word),
            text("means", "What it means.", lambda one: one.means),
        ),
    )


def _units(day: Reference) -> MapLayer:
    trav = day.trav
    colours = unit_styles(trav.log.units)
    thick = {one.unit: one for one in trav.geology.unit_thicknesses}

    def true(one: RockUnit) -> float | None:
        return thick[one.letters].true_m if one.letters in thick else None

    return table(
        day,
        "units",
        "Map units, youngest first.",
        trav.log.units,
        (
            text("letters", "Letters of the unit.", lambda one: one.letters),
            text("name", "Its name.", lambda one: one.name),
            text("age", "Its age as noted.", lambda one: one.age),
            whole(
                "order", "Its place in the list, 1 the youngest.", lambda one: trav.log.units.index(one) + 1
            ),
            text("colour", "Its colour on the sheet, #rrggbb.", lambda one: colours[one.letters].colour),
            flag("intrusive", "Whether it cuts what it lies in.", lambda one: one.intrusive),
            text("also", "What other parties call it.", lambda one: " ".join(one.also) or None),
            metres("thickness", "True, over all its crossings.", true),
        ),
        line=lambda one: one.span,
    )


class _Rest(NamedTuple):
    """Something that figures rest on, and where it comes from."""

    what: str
    value: str
    source: str | None = None
    sd: float | None = None
    span: Span | None = None


def _sources(day: Reference) -> MapLayer:
    return table(
        day,
        "sources",
        "What the figures rest on, and where it comes from.",
        tuple(_told(day)),
        (
            text("what", "Control, declination, pace, instrument and so on.", lambda one: one.what),
            text("value", "As written, or as worked out.", lambda one: one.value),
            text("source", "Where it comes from, as noted.", lambda one: one.source),
            number("sd", "Its standard deviation, in metres of a control and of a pace.", lambda one: one.sd),
        ),
        line=lambda one: one.span,
    )


def _told(day: Reference) -> Iterator[_Rest]:
    trav = day.trav
    heading, frame = trav.log.heading, trav.survey.frame
    yield _Rest("program", f"traverse {__version__}, notation 1")
    yield _Rest("log", trav.log.file)
    yield _Rest("grid", grid_words(frame), span=heading.grid_span)
    for control in trav.log.controls:
        yield _Rest(
            f"control {control.name}", control.written, control.source, control.sd_plan_m, control.span
        )
    declination = heading.first.declination
    if frame.declination_deg is not None:
        yield _Rest(
            "declination",
            f"{abs(frame.declination_deg):.2f}° {'E' if frame.declination_deg >= 0.0 else 'W'} on the first day",
            frame.declination_note,
            span=declination.span if declination else None,
        )
    if frame.convergence_deg is not None:
        yield _Rest(
            "convergence",
            f"{frame.convergence_deg:.3f}° from grid north to true north, east positive, at the first control",
        )
    yield from _paces(trav)
    for instrument in heading.instruments:
        yield _Rest("instrument", instrument)
    first = heading.first
    if first.bearings is not None:
        yield _Rest("bearings", f"from {first.bearings.value} north")
    if first.convention is not None:
        yield _Rest("attitudes", first.convention.value, span=first.convention_span)
    precision = first.precision
    yield _Rest(
        "precision",
        f"bearing {precision.bearing_deg:g}°, slope {precision.slope_deg:g}°, pace {100.0 * precision.pace_share:g} %,"
        f" tape {100.0 * precision.tape_share:g} %, attitude {precision.attitude_deg:g}°",
    )
    if heading.terrain is not None:
        yield _Rest("grid of heights", heading.terrain, span=heading.terrain_span)
    for weather in heading.weather:
        yield _Rest("weather", weather)
    for party in trav.log.parties:
        yield _Rest(
            "log of a party",
            f"{party.title or party.file}{f', stations {party.letters}-' if party.letters else ''}",
            span=party.span,
        )


def _paces(trav: Traverse) -> Iterator[_Rest]:
    for pace in trav.survey.paces:
        course = pace.course
        kind = f"{course.kind.value} pace" if course.kind else "pace"
        walked = (
            f"{course.course_m:g} m in {', '.join(f'{one:g}' for one in course.counts)}"
            if course.course_m
            else "stated"
        )
        yield _Rest(
            f"{kind} {course.who or 'of everybody'}", f"{pace.length_m:.3f} m", walked, pace.sd_m, course.span
        )


def dictionary(day: Reference, layers: Sequence[MapLayer]) -> MapLayer:
    """What every field of every layer and table means."""
    rows = [(layer, field) for layer in layers for field in layer.fields]
    return table(
        day,
        "dictionary",
        "What every field of every layer and table means.",
        rows,
        (
            text("layer", "Layer or table.", lambda one: one[0].name),
            text("field", "Field.", lambda one: one[1].name),
            text("kind", "Its values.", lambda one: one[1].kind.value),
            text("means", "What it means.", lambda one: one[1].means),
            text("of", "What the layer or table holds.", lambda one: one[0].means),
        ),
    )
