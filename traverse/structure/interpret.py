"""From a placed log to what it says of the ground."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from traverse.diagnostic import Diagnostic, Found, Outcome
from traverse.heights.records import Terrain
from traverse.location.records import Survey
from traverse.log.items import HowMet
from traverse.log.records import Log
from traverse.record import Later
from traverse.structure.beds_apart import both_ways, doubts_uttered
from traverse.structure.body_courses import through_crossings
from traverse.structure.counting import (
    OF_A_RULE,
    not_counted,
    under_a_doubted_rule,
    without_doubted_planes,
)
from traverse.structure.doubts import doubts
from traverse.structure.form.contact_plane import contact_planes, open_legs, with_surfaces
from traverse.structure.form.domains import domains
from traverse.structure.form.fault_traces import with_fault_traces
from traverse.structure.form.findings import below_alone, findings
from traverse.structure.form.lying import with_lying
from traverse.structure.form.what_faults_tell import faults_seen
from traverse.structure.limbs_way_up import lying_as_their_limb
from traverse.structure.readings.near_places import near_outcrops, near_units, parted_places
from traverse.structure.readings.placed import attitudes, contacts, things
from traverse.structure.readings.records import PlacedContact, bedding, each_once, on_each_walk
from traverse.structure.readings.rose import rose
from traverse.structure.readings.shared import shared_doubts, shared_outcrops, shared_places
from traverse.structure.readings.tilt import restored
from traverse.structure.records import Geology
from traverse.structure.section.records import Relief, Section
from traverse.structure.thickness.amounts import least_thicknesses, unit_thicknesses
from traverse.structure.thickness.shifted import shifted_contacts
from traverse.structure.thickness.succession import as_thick_as_sampled, column
from traverse.structure.thickness.true_thickness import thicknesses
from traverse.structure.walk.across import across, caps_of, cover_of
from traverse.structure.walk.band import band
from traverse.structure.walk.between_contacts import units_between
from traverse.structure.walk.bodies import bodies_of, strata_of, with_courses
from traverse.structure.walk.contact_lines import contact_lines
from traverse.structure.walk.fault_blocks import block_finder, body_beds
from traverse.structure.walk.float_rule import float_limits
from traverse.structure.walk.misfits import misfits
from traverse.structure.walk.open_parties import open_parties, settled_lines, settled_stretches
from traverse.structure.walk.unbooked import unbooked_changes
from traverse.structure.walk.unit_at import station_units, unit_finder
from traverse.structure.walk.unsaid_bodies import unsaid_bodies


def interpret(log: Log, survey: Survey, terrain: Terrain | None = None) -> Outcome[Geology]:
    """Attitudes, contacts, band, thicknesses, means and sections of a log whose stations are placed.

    The ground of the sections is that of the `terrain` where there is one. Where the rule of one of several parties is
    asked about, all is told again without what it read.
    """
    found = _interpreted(log, survey, terrain, ())
    asked = [one for one in found.diagnostics if one.code in OF_A_RULE]
    files = {span.file for one in asked for span in one.doubts}
    others = {one.span.file for one in found.value.beds} - files
    if not files or not others or len(log.parties) < 2:
        return found
    return _interpreted(log, survey, terrain, asked)


def _interpreted(
    log: Log, survey: Survey, terrain: Terrain | None, asked: Sequence[Diagnostic]
) -> Outcome[Geology]:
    """By all but the attitudes that a question `asked` doubts; these are drawn and listed all the same."""
    found = Found()
    files = frozenset(span.file for one in asked for span in one.doubts)

    # The walk and what was read on it.
    under, missing = band(log, survey)
    unit_at = unit_finder(log, under)
    measured = found.keep(attitudes(log, survey, unit_at))
    ruled = under_a_doubted_rule(measured, files)
    shared = shared_outcrops(log, measured, ruled)
    doubted = not_counted(log, shared, ruled)
    near = near_outcrops(log, survey, measured, doubted)
    every_outcrop = (*shared, *near)
    doubted |= not_counted(log, every_outcrop, ruled)
    trusted = tuple(one for one in measured if one.span not in doubted)
    counted = tuple(one for one in each_once(measured, shared) if one.span not in doubted)
    walked = tuple(one for one in on_each_walk(measured, shared) if one.span not in doubted)
    beds = bedding(counted)
    met = contacts(log, survey, beds, files)
    # What the walk only saw beside it, or went along, is no border between what it walked on.
    cutting = bodies_of(log, survey, trusted, _crossed(met), under)
    met = with_courses(met, cutting)
    # All that is told by the order of units is told without the bodies that cut them.
    every = strata_of(log, under, met)
    loose_units = frozenset(unit.letters for unit in log.units if unit.loose)
    unfit = misfits(log, survey, met, under, missing)
    apart = shared_places(log)
    apart += near_units(log, survey, met, apart)
    # A contact whose units do not fit is no place of theirs.
    of_others = {one.span for one in unfit.said}
    fitting = tuple(one for one in every.contacts if one.booked.span not in of_others)
    planes = found.keep(contact_planes(survey, fitting, beds, log.lengths, loose_units))
    met, uncut = with_surfaces(met, planes), with_surfaces(every.contacts, planes)
    met, uncut = with_fault_traces(survey, met), with_fault_traces(survey, uncut)
    met = with_lying(log, met, beds)
    lines = contact_lines(log, survey, met, under)
    every = replace(every, contacts=uncut)
    strata = replace(every, contacts=_crossed(uncut))
    caps = caps_of(log, beds, every.contacts, strata.band)
    cover = cover_of(log, beds, caps)
    unsaid = unsaid_bodies(log, bedding(walked), strata.contacts, strata.band)

    strata_beds = tuple(one for one in beds if one.unit not in log.intrusive)
    walked_beds = tuple(one for one in bedding(walked) if one.unit not in log.intrusive)

    # What the readings make together, body by body: beds laid down on the worn edges of a fold took no part in it.
    parted = domains(log, strata_beds, strata.contacts)
    mean, axis, no_axis = (
        (parted[0].mean, parted[0].axis, parted[0].no_axis) if parted else (None, None, None)
    )
    laid_flat = found.keep(restored(trusted, axis))

    # What is met across the beds.
    block = block_finder(log, strata.contacts)
    seen = [
        (
            one,
            across(
                log,
                survey,
                one.beds,
                strata.contacts,
                strata.band,
                one.axis,
                one.left_out | caps,
                unsaid=unsaid,
                block=block,
            ),
        )
        for one in parted
    ]
    found.diagnostics.extend(unfit.said)
    found.diagnostics.extend(units_between(log, survey, (*unfit.said, *found.diagnostics)))
    # A contact whose own party's beds tell nothing is not held against those of another's walk.
    unsure = unfit.unsure | {one.booked.span for one in met if one.booked.span.file in files}
    agreed = frozenset(two.span for one in shared if one.mean is not None for two in one.agreed)
    found.diagnostics.extend(
        doubts(
            log,
            survey,
            counted,
            walked,
            strata,
            met,
            planes,
            caps,
            unsaid,
            parted,
            cutting,
            unsure,
            agreed,
        )
    )
    found.diagnostics.extend(asked)

    # How thick the units are, and what all of it says, by what no question says is something else.
    loose = open_parties(log)
    open_ones = not_counted(log, every_outcrop, ruled, found.diagnostics, loose)
    sure = body_beds(log, tuple(one for one in walked_beds if one.span not in open_ones), strata.contacts)
    # A contact whose attitude is asked about is where it is all the same.
    strata = replace(strata, contacts=without_doubted_planes(log, strata.contacts, found.diagnostics))
    thick = thicknesses(log, survey, strata.contacts, sure, caps, cutting, open_ones)
    least = least_thicknesses(log, survey, strata.contacts, sure, strata.band, caps, cutting, open_ones)
    units_thick = unit_thicknesses(log, thick, least)
    found.diagnostics.extend(shifted_contacts(survey, thick, strata.contacts, sure, log.lengths))
    told_by = tuple(one for one in strata.contacts if one.booked.span not in open_ones | of_others)
    faults = faults_seen(log, survey, told_by, sure, trusted, strata.band, caps)
    said = findings(
        log,
        seen,
        beds,
        strata.contacts,
        thick,
        planes,
        caps,
        survey.closures,
        faults,
        below_alone(cutting, strata.band, sure.body),
    )
    told = {one.span for one in found.diagnostics if one.span is not None}
    found.diagnostics.extend(doubts_uttered(said, told, agreed, open_legs(survey)))
    told |= {one.span for one in found.diagnostics if one.span is not None}
    found.diagnostics.extend(both_ways(beds, told, agreed))
    found.diagnostics.extend(shared_doubts(log, every_outcrop, parted_places(survey, met, apart), told))
    found.diagnostics.extend(float_limits(log, survey, strata.contacts, strata.band))

    # What lies under the ground, by the readings that nothing doubts.
    def carry(of: Log) -> Outcome[tuple[Section, ...]]:
        from traverse.structure.section.sections import sections

        return sections(
            of,
            survey,
            lying_as_their_limb(
                log,
                survey,
                tuple(one for one in counted if one.span.file not in loose),
                strata.contacts,
                strata.band,
            ),
            tuple(one for one in strata.contacts if one.booked.span.file not in loose),
            settled_stretches(log, strata.band, loose),
            axis,
            terrain,
            settled_lines(lines, loose),
            cover,
            caps,
            open_ones,
        )

    # Of one that no line of the log asks for nothing is said, so that it can wait until somebody looks at it.
    carried = found.keep(carry(log)) if log.sections else None

    def construct(of: Log, ready: tuple[Section, ...] | None) -> tuple[Section, ...]:
        from traverse.structure.section.construct import constructed

        return constructed(
            of,
            survey,
            carry(of).value if ready is None else ready,
            strata.band,
            thick,
            caps,
            cover,
            through_crossings(log, survey, cutting, strata.contacts),
            strata.contacts,
            units_thick,
            axis_known=axis is not None,
        )

    drawn = Later(lambda: construct(log, carried))

    def turning() -> tuple[Relief, ...]:
        from traverse.structure.section.relief import reliefs

        return reliefs(drawn)

    succession = column(
        log,
        survey,
        body_beds(log, walked_beds, strata.contacts),
        strata.contacts,
        strata.band,
        units_thick,
        caps,
        unit_at,
    )
    units_thick = as_thick_as_sampled(units_thick, succession)

    geology = Geology(
        attitudes=measured,
        contacts=met,
        contact_lines=lines,
        things=things(log, survey),
        band=under,
        unbooked=unbooked_changes(log, survey, under, met),
        station_units=station_units(log, under),
        thicknesses=thick,
        bedding_mean=mean,
        fold_axis=axis,
        planes=planes,
        sections=drawn,
        across_beds=Later(lambda: construct(replace(log, sections=()), None)) if log.sections else (),
        findings=said,
        least=least,
        unit_thicknesses=units_thick,
        reliefs=Later(turning),
        restored=laid_flat,
        rose=rose(trusted, laid_flat),
        column=succession,
        bodies=cutting,
        caps=caps,
        no_axis=no_axis,
        shared=shared,
        doubted=doubted,
        doubted_rules=files,
        open_parties=loose,
        shared_places=apart,
    )
    return Outcome(geology, tuple(found.diagnostics))


def _crossed(contacts: Sequence[PlacedContact]) -> tuple[PlacedContact, ...]:
    return tuple(one for one in contacts if one.met is HowMet.CROSSED)
