"""From a placed log to what it says of the ground."""

from __future__ import annotations

from traverse.diagnostic import Found, Outcome
from traverse.heights.records import Terrain
from traverse.location.records import Survey
from traverse.log.records import Log
from traverse.structure.doubts import doubts
from traverse.structure.form.contact_plane import contact_planes, with_surfaces
from traverse.structure.form.findings import findings
from traverse.structure.readings.mean import bedding_mean, fold_axis
from traverse.structure.readings.place_errors import poles_of
from traverse.structure.readings.placed import attitudes, contacts, things
from traverse.structure.readings.records import bedding
from traverse.structure.readings.rose import rose
from traverse.structure.readings.tilt import restored
from traverse.structure.records import Geology
from traverse.structure.section.construct import constructed
from traverse.structure.section.relief import reliefs
from traverse.structure.section.sections import sections
from traverse.structure.thickness.amounts import least_thicknesses, unit_thicknesses
from traverse.structure.thickness.succession import column
from traverse.structure.thickness.true_thickness import thicknesses
from traverse.structure.walk.across import across, caps_of
from traverse.structure.walk.band import band
from traverse.structure.walk.float_rule import float_limits
from traverse.structure.walk.unit_at import station_units, unit_finder


def interpret(log: Log, survey: Survey, terrain: Terrain | None = None) -> Outcome[Geology]:
    """Attitudes, contacts, band, thicknesses, means and sections of a log whose stations are placed.

    The ground of the sections is that of the `terrain` where there is one.
    """
    found = Found()

    # The walk and what was read on it.
    under = found.keep(band(log, survey))
    unit_at = unit_finder(log, under)
    measured = found.keep(attitudes(log, survey, unit_at))
    beds = bedding(measured)
    met = contacts(log, survey, beds)
    caps = caps_of(log, beds, met, under)

    # What the readings make together.
    # Beds laid down on the worn edges of a fold took no part in it.
    folded = [bed for bed in beds if bed.unit not in caps]
    mean, axis = bedding_mean(poles_of(beds)), fold_axis(poles_of(folded))
    laid_flat = found.keep(restored(measured, axis))
    planes = found.keep(contact_planes(log, survey, met, beds))
    met = with_surfaces(met, planes)

    # How thick the units are.
    thick = thicknesses(log, survey, met, beds, caps)
    least = least_thicknesses(log, survey, met, beds, under, caps)
    units_thick = unit_thicknesses(log, thick, least)

    # What lies under the ground, and what all of it says.
    carried = found.keep(sections(log, survey, measured, met, under, axis, terrain))
    drawn = constructed(log, survey, carried, under, thick, caps)
    seen = across(log, survey, beds, met, under, axis, caps)
    said = findings(log, seen, beds, met, thick, mean, axis, planes, caps)
    found.diagnostics.extend(doubts(log, survey, measured, met, under, planes, caps))
    found.diagnostics.extend(float_limits(log, survey, met, under))

    geology = Geology(
        attitudes=measured,
        contacts=met,
        things=things(log, survey),
        band=under,
        station_units=station_units(log, under),
        thicknesses=thick,
        bedding_mean=mean,
        fold_axis=axis,
        planes=planes,
        sections=drawn,
        findings=said,
        least=least,
        unit_thicknesses=units_thick,
        reliefs=reliefs(drawn),
        restored=laid_flat,
        rose=rose(measured, laid_flat),
        column=column(log, survey, beds, met, under, units_thick, caps, unit_at),
        caps=caps,
        n_folded=len(folded),
    )
    return Outcome(geology, tuple(found.diagnostics))
