"""The chain, run in order: text -> log -> survey -> geology -> ground. Every command reads a log through here."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from traverse.causes import under_causes
from traverse.diagnostic import (
    Answer,
    Diagnostic,
    Found,
    Label,
    Outcome,
    Severity,
    answered,
    has_error,
    in_order,
    note,
)
from traverse.ground.records import Traverse
from traverse.location.records import Survey
from traverse.log.items import Address
from traverse.log.own_letters import in_own_letters
from traverse.log.records import Log
from traverse.notation.read import read_log
from traverse.notation.use import Loader, not_had
from traverse.record import record, uncollected
from traverse.source import Source
from traverse.structure.records import Geology

if TYPE_CHECKING:
    from traverse.heights.records import Terrain


@record(frozen=True, slots=True, kw_only=True)
class Compiled:
    """A log and all that follows from it."""

    log: Log
    trav: Traverse | None
    """None where the log has errors: half a walk is not worked out. A log that it brings in is left out for its own."""
    diagnostics: tuple[Diagnostic, ...]
    """In the order of the log, answers attached."""
    sources: Mapping[str, Source]
    """Every file that was read, by name."""

    @property
    def survey(self) -> Survey | None:
        """The walk, placed; None where the log has errors."""
        return None if self.trav is None else self.trav.survey

    @property
    def geology(self) -> Geology | None:
        """What it says of the ground; None where the log has errors."""
        return None if self.trav is None else self.trav.geology

    @property
    def failed(self) -> bool:
        """Whether the log has errors."""
        return has_error(self.diagnostics)


def _terrain(log: Log, survey: Survey, load: Loader) -> Outcome[Terrain | None]:
    """The heights that a log names; None where it names none or they can't be used."""
    name, span = log.heading.terrain, log.heading.terrain_span
    if name is None or span is None:
        return Outcome(None)
    from traverse.heights.grid import read_terrain

    try:
        data = load(name)
    except (OSError, ValueError) as problem:
        missing = not_had("terrain-missing", name, span, problem, cut=", cut to the ground of the walk")
        return Outcome(None, (missing.diagnostic,))
    found = read_terrain(name, data, survey, span, lengths=log.lengths)
    # Where a known point is in doubt, or a leg of a loop that fails, so is whether the walk lies on the heights.
    failing = [one for one in survey.closures if not (one.adjusted and one.adjusted_up)]
    known = [one.span for one in log.controls] + ([one.span for one in log.legs] if failing else [])
    rests_on = tuple(Label(one, "") for one in known)
    return Outcome(found.value, tuple(replace(one, rests_on=rests_on) for one in found.diagnostics))


def _once(said: Sequence[Diagnostic]) -> list[Diagnostic]:
    """The messages; a line of which one says more than another is told of by that one alone."""
    lines = {code: {_line(one) for one in said if one.code == code} for code in _SAYS_MORE.values()}
    return [
        one
        for one in said
        if one.span is None or _line(one) not in lines.get(_SAYS_MORE.get(one.code, ""), ())
    ]


_SAYS_MORE: Final = {"younger-first": "contact-of-others", "pace-length": "party-differs"}
"""Code of a message, and that of one that takes its place where both are of one line."""


def _line(one: Diagnostic) -> tuple[str, int] | None:
    return None if one.span is None else (one.span.file, one.span.line)


def _answering_nothing(
    log: Log, geology: Geology | None, diagnostics: Iterable[Diagnostic]
) -> list[Diagnostic]:
    """A note for each `checked` under a line of which nothing is asked, and that no finding rests on."""
    asked = {
        (one.span.file, one.span.line)
        for one in diagnostics
        if one.severity is Severity.WARNING and one.span is not None
    }
    for told in () if geology is None else geology.findings:
        asked |= {(bed.span.file, bed.span.line) for bed in told.finding.twice}
    return [
        note(
            "answers-nothing",
            "nothing is asked of the line above that this could answer",
            one.span,
            "`checked` stands right below the line of its warning; it may stay where that is mended",
        )
        for one in log.checked
        if (one.of.file, one.of.line) not in asked
    ]


def _like_hazards(
    log: Log, said: Iterable[Diagnostic], answers: Mapping[tuple[str, int], Answer]
) -> Iterator[Address]:
    """Where notes were asked about as hazards, and no answer stands below them."""
    asked = {one.span for one in said if one.code == "hazard-noted"}
    for item in log.items if asked else ():
        if item.span in asked and (item.span.file, item.span.line) not in answers:
            yield item.address


def map_ground(trav: Traverse) -> Traverse:
    """The traverse with what map, sections and net show besides, for a command that draws a sheet."""
    from traverse.ground.lay_map import lay_band, lay_map
    from traverse.ground.lay_sections import lay_sections
    from traverse.ground.unit_parting import meeting_units

    with uncollected():
        band = lay_band(trav)
        cuts = lay_sections(trav, band)
        ground = replace(trav.ground, map=lay_map(trav, band), cuts=cuts, meeting=meeting_units(band, cuts))
    return replace(trav, geology=net_density(trav.geology), ground=ground)


def layer_ground(trav: Traverse) -> Traverse:
    """The traverse with what layers for other maps show besides: the ground of the map, without that under the sections."""
    from traverse.ground.lay_map import lay_band, lay_map

    with uncollected():
        return replace(trav, ground=replace(trav.ground, map=lay_map(trav, lay_band(trav))))


def blank_ground(trav: Traverse) -> Traverse:
    """As `map_ground`, of the records that a handout is given; on sections that have none, its stations square to them."""
    from traverse.structure.section.sections import stations_squared

    sections = tuple(
        one if one.points else replace(one, points=stations_squared(one, trav.log, trav.survey))
        for one in trav.geology.sections
    )
    return map_ground(replace(trav, geology=replace(trav.geology, sections=sections)))


def net_density(geology: Geology) -> Geology:
    """The geology with the density of its poles, for a command that draws the net alone."""
    from traverse.structure.readings.density import pole_density

    return replace(
        geology,
        density=pole_density([one for one in geology.distinct_beds if one.span not in geology.doubted]),
    )


def section_ground(trav: Traverse) -> Traverse:
    """The traverse with the ground under its sections, for a command that draws these alone."""
    from traverse.ground.lay_map import lay_band
    from traverse.ground.lay_sections import lay_sections

    return replace(trav, ground=replace(trav.ground, cuts=lay_sections(trav, lay_band(trav, drawn=False))))


def compile_log(source: Source, *, load: Loader) -> Compiled:
    """Read, reduce, adjust, place and interpret a log. Raises for nothing that a person can type."""
    found = Found()
    reading = found.keep(read_log(source, load=load))
    trav: Traverse | None = None

    def failed() -> bool:
        """Whether an error stops the work: one of a log that is left out does not."""
        return any(
            one.severity is Severity.ERROR and (one.span is None or one.span.file not in reading.left_out)
            for one in found.diagnostics
        )

    if not failed():
        # Imported here because a log with a mistake in it needs no arithmetic to be told so.
        from traverse.ground.lay import lay_ground
        from traverse.structure.interpret import interpret
        from traverse.survey import survey_log

        parting, undecided = None, frozenset[str]()
        points, sure = frozenset[str](), frozenset[str]()
        if reading.log.parties:
            from traverse.consensus import as_joined, part_parties, with_parties

            parting = part_parties(reading.log)
            undecided, points, sure = parting.undecided, parting.points, parting.borne_out
            aside = frozenset(one.party.file for one in parting.aside)
            if aside:
                found = Found()
                reading = found.keep(read_log(source, load=load, aside=aside))
            reading = replace(reading, log=as_joined(reading.log, parting))
            found.diagnostics += parting.said
        survey = found.keep(survey_log(reading.log, undecided, points, sure))
        if parting is not None:
            survey = found.keep(with_parties(reading.log, survey, parting))
        if not failed():
            terrain = found.keep(_terrain(reading.log, survey, load))
            read = interpret(reading.log, survey, terrain)
            geology = found.keep(Outcome(read.value, tuple(in_own_letters(read.diagnostics, reading.log))))
            ground = found.keep(lay_ground(reading.log, survey, geology, terrain))
            trav = Traverse(log=reading.log, survey=survey, geology=geology, ground=ground)
        found.diagnostics = _once(found.diagnostics)
    answers = {
        (checked.of.file, checked.of.line): Answer(checked.who, checked.why, checked.span)
        for checked in reading.log.checked
    }
    if not failed():
        found.diagnostics += _answering_nothing(
            reading.log, None if trav is None else trav.geology, found.diagnostics
        )
    log = replace(reading.log, like_hazards=tuple(_like_hazards(reading.log, found.diagnostics, answers)))
    return Compiled(
        log=log,
        trav=None if failed() or trav is None else replace(trav, log=log),
        diagnostics=in_order(under_causes(answered(found.diagnostics, answers))),
        sources=reading.sources,
    )
