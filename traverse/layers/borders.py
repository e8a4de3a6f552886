"""Layers of the ground: contacts as met and as lines, what was computed of them, areas, lines of the ground, sections."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import shapely
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from traverse.ground.records import (
    Band,
    FoldTrace,
    Join,
    MapGround,
    Outcrop,
    UnseenChange,
)
from traverse.layers.drawn_signs import scale_of
from traverse.layers.making import Known, Reference, degrees, flag, metres, number, points, shapes, text
from traverse.layers.records import Geometry, MapLayer
from traverse.log.described import described
from traverse.log.items import Certainty
from traverse.sheet.map.contacts import SEEN_MM
from traverse.source import Span
from traverse.structure.readings.records import PlacedContact


def border_layers(day: Reference, ground: MapGround) -> Iterator[MapLayer]:
    """Contacts, then areas, then lines."""
    yield _contacts(day)
    yield _contact_lines(day, ground)
    yield _computed_lines(day, ground)
    yield _computed_zones(day)
    yield _areas(day, ground)
    yield _ground_lines(day, ground)
    yield _section_lines(day)


_BORDER: tuple[Known[PlacedContact], ...] = (
    text("kind", "`contact`, `unconformity` or `fault`.", lambda one: described(one.booked).row_kind),
    text(
        "younger",
        "Letters of the younger unit; of a fault the upper in the list of units.",
        lambda one: one.younger,
    ),
    text("older", "Letters of the other.", lambda one: one.older),
    text(
        "certainty",
        "How it is placed: `certain` (seen, both what it is and where), `approximate`, `inferred`, `concealed`; missing of"
        " a fault without units.",
        lambda one: one.certainty.value if one.certainty else None,
    ),
    flag("queried", "Whether it is doubted that it is there, or what it is.", lambda one: one.queried),
    text(
        "met",
        "How the walk met it: `crossed`, `beside` it or `followed` along it.",
        lambda one: one.met.value,
    ),
    metres(
        "half_width",
        "Half the stretch that it lies in, or its ± as noted: what was seen.",
        lambda one: one.half_width_m,
    ),
    metres(
        "sd", "Standard deviation of its place along the leg, with that of the walk.", lambda one: one.sd_m
    ),
    degrees("strike", "True and right-handed, as read on its line.", lambda one: one.strike_deg),
    degrees("dip", "As read on its line.", lambda one: one.dip_deg),
    text(
        "movement",
        "What a fault did, as noted.",
        lambda one: one.booked.movement.value if one.booked.movement else None,
    ),
    text(
        "down",
        "Side that went down, as written.",
        lambda one: one.booked.down.written if one.booked.down else None,
    ),
)


def _contacts(day: Reference) -> MapLayer:
    return points(
        day,
        "contacts",
        "Contacts, unconformities and faults at the places where the walk met them.",
        day.trav.geology.contacts,
        (*_BORDER,),
        lambda one: (one.place.east_m, one.place.north_m, one.place.up_m),
        line=lambda one: one.booked.span,
    )


class _ContactRun(NamedTuple):
    """A contact with a piece of its line."""

    contact: PlacedContact
    line: BaseGeometry
    how: str
    course_known: bool
    certainty: Certainty | None
    """Of this piece."""


def _contact_lines(day: Reference, ground: MapGround) -> MapLayer:
    band = ground.band
    runs = [] if band is None else [*_runs(band, SEEN_MM * scale_of(day) / 1000.0)]
    return shapes(
        day,
        "contact_lines",
        "Contacts and faults through the places where they were met, carried along their attitude to the edge of the"
        " ground that was looked at, and no farther.",
        runs,
        (
            text(
                "seen",
                "How this piece of it was seen; `carried` of what was seen for certain, beyond the place where it was.",
                lambda one: one.how,
            ),
            flag(
                "course_known",
                "Whether an attitude tells its course; else it is drawn square to the leg, or along it.",
                lambda one: one.course_known,
            ),
            text(
                "certainty",
                "How this piece is placed; what is carried beyond a place where it was seen is `approximate`.",
                lambda one: one.certainty.value if one.certainty else None,
            ),
            *(_of_contact(one) for one in _BORDER if one.name != "certainty"),
        ),
        lambda one: one.line,
        line=lambda one: one.contact.booked.span,
    )


def _runs(band: Band, seen_m: float) -> Iterator[_ContactRun]:
    """Pieces of contacts; one that was crossed and seen is certain `seen_m` to each side of the walk, as on the sheet."""
    for crossed in band.crossed:
        contact, line = crossed.contact, crossed.line
        how, certainty = "where the walk crossed it", contact.certainty
        if certainty is Certainty.CERTAIN:
            at = line.project(shapely.Point(crossed.at))
            low, high = max(0.0, at - seen_m), min(line.length, at + seen_m)
            beyond = [substring(line, 0.0, low), substring(line, high, line.length)]
            far = shapely.MultiLineString([one for one in beyond if isinstance(one, shapely.LineString)])
            if not far.is_empty:
                yield _ContactRun(contact, far, "carried", crossed.course_known, Certainty.APPROXIMATE)
            seen = substring(line, low, high)
            yield _ContactRun(contact, seen, how, crossed.course_known, certainty)
        else:
            yield _ContactRun(contact, line, how, crossed.course_known, certainty)
    for piece in band.beside:
        yield _ContactRun(
            piece.contact, piece.line, piece.seen.value, piece.course_known, piece.contact.certainty
        )
    for narrow in band.narrow:
        for wall in narrow.body.walls[:1]:
            yield _ContactRun(
                wall,
                narrow.line,
                "wall of a body narrower than its place is known",
                narrow.course_known,
                wall.certainty,
            )


def _of_contact(known: Known[PlacedContact]) -> Known[_ContactRun]:
    """What is known of a contact, of a piece of its line."""
    return Known(
        name=known.name, kind=known.kind, means=known.means, value=lambda one: known.value(one.contact)
    )


class _Computed(NamedTuple):
    """A line that nobody walked along."""

    kind: str
    basis: str
    line: BaseGeometry
    younger: str | None = None
    older: str | None = None
    strike_deg: float | None = None
    dip_deg: float | None = None
    plunge_deg: float | None = None
    off_deg: float | None = None
    reach_m: float | None = None
    sd_up_m: float | None = None
    rests_on: tuple[Span, ...] = ()


def _computed_lines(day: Reference, ground: MapGround) -> MapLayer:
    found = [
        *_joined(day.trav.ground.joins, day.trav.geology.contacts),
        *_outcropping(day.trav.ground.outcrops),
    ]
    found += [_axial(one) for one in ground.folds]
    found += [_unbooked(one, day) for one in (ground.band.unseen if ground.band else ())]
    return shapes(
        day,
        "computed_lines",
        "Lines that were computed and that nobody walked along: contacts between two arms of the walk, outcrops of planes"
        " over the heights, axial traces, and where a unit gives way to another and nobody booked a contact.",
        found,
        (
            text(
                "kind",
                "`contact`, `fault`, `outcrop` of a plane, `axial trace`, or `unbooked change` of unit.",
                lambda one: one.kind,
            ),
            text("basis", "What it was computed from.", lambda one: one.basis),
            text("younger", "Letters of the younger unit.", lambda one: one.younger),
            text("older", "Letters of the older.", lambda one: one.older),
            degrees(
                "strike",
                "True azimuth of the plane, right-handed, or of the axial surface.",
                lambda one: one.strike_deg,
            ),
            degrees("dip", "Of the plane.", lambda one: one.dip_deg),
            degrees("plunge", "Of the fold axis.", lambda one: one.plunge_deg),
            degrees(
                "off",
                "How far the plane through both places is from the farther of their attitudes.",
                lambda one: one.off_deg,
            ),
            metres("reach", "How far it was carried at most.", lambda one: one.reach_m),
            metres("sd_up", "Height error that its zone was drawn with.", lambda one: one.sd_up_m),
            text("rests_on", "Lines of the log.", lambda one: day.lines(one.rests_on)),
        ),
        lambda one: one.line,
    )


def _joined(joins: Sequence[Join], contacts: Sequence[PlacedContact]) -> Iterator[_Computed]:
    by_span = {one.booked.span: one for one in contacts}
    for one in joins:
        end = by_span.get(one.ends[0])
        over = "where it comes out on the heights" if one.over_heights else "straight"
        yield _Computed(
            kind="fault" if one.fault else "contact",
            basis=f"the plane through two places, {over}",
            line=shapely.MultiLineString([list(line) for line in one.lines]),
            younger=end.younger if end else None,
            older=end.older if end else None,
            off_deg=one.off_deg,
            rests_on=one.ends,
        )


def _unbooked(one: UnseenChange, day: Reference) -> _Computed:
    change = one.change
    return _Computed(
        kind="unbooked change",
        basis="half-way between the places where each unit was seen; no contact was booked"
        if change.half_way
        else "where the second unit was booked, without a contact",
        line=one.line,
        younger=change.younger,
        older=change.older,
        rests_on=(day.trav.log.legs[change.leg].span,),
    )


def _outcropping(outcrops: Sequence[Outcrop]) -> Iterator[_Computed]:
    for one in outcrops:
        yield _Computed(
            kind="outcrop",
            basis="the plane through one contact, where it comes out on the heights",
            line=shapely.MultiLineString([list(line) for line in one.lines]),
            younger=one.younger,
            older=one.older,
            strike_deg=one.strike_deg,
            dip_deg=one.dip_deg,
            reach_m=one.reach_m,
            sd_up_m=one.sd_up_m,
            rests_on=(one.contact, one.span),
        )


def _axial(one: FoldTrace) -> _Computed:
    return _Computed(
        kind="axial trace",
        basis="the axial surface of the section, run on along its strike",
        line=shapely.MultiLineString([list(line) for line in one.lines]),
        strike_deg=one.strike_deg,
        plunge_deg=one.plunge_deg,
    )


def _computed_zones(day: Reference) -> MapLayer:
    return shapes(
        day,
        "computed_zones",
        "Ground in which a computed outcrop lies within one standard deviation of the heights.",
        tuple(one for one in day.trav.ground.outcrops if one.band),
        (
            text("younger", "Letters of the younger unit.", lambda one: one.younger),
            text("older", "Letters of the older.", lambda one: one.older),
            metres("sd_up", "Height error that it was drawn with.", lambda one: one.sd_up_m),
            text("rests_on", "Lines of the log.", lambda one: day.lines((one.contact, one.span))),
        ),
        lambda one: shapely.union_all([shapely.Polygon(ring) for ring in one.band]),
        geometry=Geometry.AREA,
    )


def _areas(day: Reference, ground: MapGround) -> MapLayer:
    units = {one.letters: one for one in day.trav.log.units}
    half_m = day.trav.ground.width.half_m
    return shapes(
        day,
        "areas",
        "The ground that was looked at, by unit.",
        () if ground.band is None else ground.band.areas,
        (
            text("unit", "Letters of the unit; missing where nothing is known.", lambda one: one.unit),
            text("name", "Its name.", lambda one: units[one.unit].name if one.unit in units else None),
            text("age", "Its age as noted.", lambda one: units[one.unit].age if one.unit in units else None),
            flag("covered", "Whether the ground hides it there.", lambda one: one.covered),
            flag("queried", "Whether the unit is doubted there.", lambda one: one.queried),
            metres("half_band", "How far to each side of the walk ground was looked at.", lambda _: half_m),
            flag(
                "assumed",
                "Whether that width is assumed; else the log says so.",
                lambda _: not day.trav.ground.width.asked,
            ),
        ),
        lambda one: shapely.MultiPolygon(list(one.parts)),
        geometry=Geometry.AREA,
    )


def _ground_lines(day: Reference, ground: MapGround) -> MapLayer:
    return shapes(
        day,
        "ground_lines",
        "Streams, paths, walls and other lines of the ground through the places where the walk met them.",
        ground.courses,
        (
            text(
                "kind",
                "`stream`, `path`, `track`, `road`, `ridge`, `cliff`, `wall` or `fence`.",
                lambda one: one.kind.value,
            ),
            text("name", "Its name, where one was noted.", lambda one: one.name),
        ),
        lambda one: one.line,
    )


def _section_lines(day: Reference) -> MapLayer:
    return shapes(
        day,
        "section_lines",
        "Lines of the sections.",
        tuple(one for one in day.trav.geology.sections if len(set(one.line)) > 1),
        (
            text("name", "Such as A-A'.", lambda one: one.name),
            degrees("azimuth", "True azimuth of its first stretch.", lambda one: one.azimuth_deg),
            metres("length", "From end to end.", lambda one: one.length_m),
            text("projection", "How readings were carried to it.", lambda one: one.projection.value),
            number("exaggeration", "Of heights over distances.", lambda one: one.exaggeration),
            flag(
                "chosen",
                "Whether the log asks for it; else the program laid it.",
                lambda one: one.booked is not None,
            ),
        ),
        lambda one: shapely.LineString(one.line),
        line=lambda one: None if one.booked is None else one.booked.span,
    )
