"""Where a measured plane comes out on a grid of heights, and how far that may be believed.

The plane through a contact is z = z0 - tan(dip) d, d being the distance down its dip; it comes out where the ground
less the plane is nought, which is found by contouring. Two things bound it: how far the dip may be carried, and the
ground in which the difference is smaller than its standard error.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely
from contourpy import FillType, LineType, contour_generator
from numpy.typing import NDArray
from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from traverse.diagnostic import Diagnostic, Outcome, note
from traverse.ground.plane import angle_deg, normal
from traverse.ground.records import Join, Outcrop
from traverse.heights.records import Terrain
from traverse.location.records import Survey
from traverse.log.items import Certainty, ContactKind
from traverse.log.records import Log, Trace
from traverse.settled import least, settled, settled_all, settled_shape
from traverse.shapes import areas_in, lines_in
from traverse.structure.readings.records import PlacedContact, PlaneAttitude
from traverse.structure.records import Geology
from traverse.trade import BAND_M, OTHER_DIP_DEG, POLE_SD_DEG, PRINTS_UPRIGHT_DEG, REACH_M

_HAIR_M = 0.01
_CELLS = 400
"""To a side: the difference is contoured on cells no finer than the grid and no more than these."""


def outcrops(
    terrain: Terrain, log: Log, survey: Survey, geology: Geology, joins: Sequence[Join]
) -> Outcome[tuple[Outcrop, ...]]:
    """Every `trace` of a log over its heights; a note for each that can't be drawn."""
    found: list[Outcrop] = []
    said: list[Diagnostic] = []
    for trace in log.traces:
        mine = [
            one
            for one in geology.contacts
            if {one.younger, one.older} == {trace.younger, trace.older} and one.kind is not ContactKind.FAULT
        ]
        # From the place that is known best; from another only what does not lie within the band of that.
        mine.sort(key=lambda one: (settled(one.sd_m), one.order))
        drawn: list[Outcrop] = []
        for contact in mine:
            for one in _outcrop(terrain, trace, contact, log, survey, geology, joins):
                # A body has two walls.
                walls = {trace.younger, trace.older} & log.intrusive
                drawn += (one,) if walls else _beside(one, drawn, terrain.spacing_m)
        found += drawn
        if not drawn and not any(_ways_joined(contact, joins) for contact in mine):
            said.append(
                note(
                    "trace-not-drawn",
                    f"no trace of {trace.younger}/{trace.older}: "
                    + ("no plane, or no heights there" if mine else "no contact of the two was placed"),
                    trace.span,
                    f"`trace {trace.younger}/{trace.older} STRIKE/DIP`"
                    if mine
                    else "place the contact first",
                )
            )
    return Outcome(tuple(found), tuple(said))


def _beside(one: Outcrop, drawn: Sequence[Outcrop], spacing_m: float) -> Iterator[Outcrop]:
    """An outcrop where no other of one contact has it already: there it is the same line, within what both are off by."""
    if not drawn:
        yield one
        return
    known = shapely.union_all([Polygon(area) for other in drawn for area in other.band])
    lines = [
        part
        for line in one.lines
        for part in lines_in(LineString(line).difference(known))
        if part.length > spacing_m
    ]
    if lines:
        band = [
            area
            for outline in one.band
            for area in areas_in(settled_shape(Polygon(outline).difference(known)))
            if any(area.distance(line) <= spacing_m for line in lines)
        ]
        yield replace(
            one,
            lines=tuple(tuple((x, y) for x, y in settled_shape(line).coords) for line in lines),
            band=tuple(tuple((x, y) for x, y in area.exterior.coords) for area in band),
        )


def _outcrop(
    terrain: Terrain,
    trace: Trace,
    contact: PlacedContact,
    log: Log,
    survey: Survey,
    geology: Geology,
    joins: Sequence[Join],
) -> Iterator[Outcrop]:
    # A wall of an intrusive body goes by its own plane or that of the body, and by no bed.
    body = next(
        (one for one in geology.bodies for wall in one.walls if wall.booked.span == contact.booked.span), None
    )
    beds = () if body is not None else geology.beds
    plane = _plane(trace, contact, beds, survey)
    if plane is None and body is not None and body.strike_deg is not None and body.dip_deg is not None:
        plane = body.strike_deg, body.dip_deg, body.sd_deg or POLE_SD_DEG
    east, north = contact.place.east_m, contact.place.north_m
    up = float(terrain.at(np.array([east]), np.array([north]))[0])
    if plane is None or not math.isfinite(up):
        return
    strike, dip, sd_pole = plane
    reach = _reach(strike, dip, contact, beds)
    grid_strike = strike - survey.frame.to_true_deg
    x, y, height = _window(terrain, east, north, reach)
    if len(x) < 2 or len(y) < 2:
        return
    sd_up = terrain.sd_up_m
    away = np.hypot(x[None, :] - east, y[:, None] - north)
    turn, fall = math.radians(grid_strike + 90.0), math.radians(min(dip, PRINTS_UPRIGHT_DEG))
    down = (x[None, :] - east) * math.sin(turn) + (y[:, None] - north) * math.cos(turn)
    # Times cos(dip), so that a plane near the vertical stays finite: the distance of the ground from the plane.
    off = (height - up) * math.cos(fall) + down * math.sin(fall)
    if dip > PRINTS_UPRIGHT_DEG:
        off = np.where(np.isnan(height), np.nan, down)
    # A node of the grid often lies on the plane: the last bit would say on which side of it the outcrop runs.
    off = settled_all(off, 6)
    sd = np.hypot(
        np.hypot(sd_up * math.cos(fall), contact.sd_m * math.sin(fall)), away * math.radians(sd_pole)
    )
    room = _room(contact, reach, log, geology, survey, joins)
    lines = _parts(_contoured(x, y, off), room, Point(east, north), terrain.spacing_m)
    if not lines:
        return
    band = [
        area
        for area in areas_in(shapely.intersection(_filled(x, y, settled_all(off / sd, 6)), room))
        if any(area.intersects(line) for line in lines)
    ]
    yield Outcrop(
        younger=trace.younger,
        older=trace.older,
        lines=tuple(tuple((px, py) for px, py in line.coords) for line in lines),
        band=tuple(tuple((px, py) for px, py in area.exterior.coords) for area in band),
        strike_deg=strike % 360.0,
        dip_deg=dip,
        reach_m=reach,
        sd_up_m=sd_up,
        contact=contact.booked.span,
        span=trace.span,
    )


def _plane(
    trace: Trace, contact: PlacedContact, beds: Sequence[PlaneAttitude], survey: Survey
) -> tuple[float, float, float] | None:
    """True strike, dip, and what the pole is off by in degrees: of the `trace` line, else of the contact as read or through its places, else of the nearest bed."""
    if trace.plane is not None and trace.plane.dip_deg is not None:
        if trace.plane.strike_deg is None:
            return 0.0, trace.plane.dip_deg, POLE_SD_DEG
        return trace.plane.strike_deg + _to_true(trace, survey), trace.plane.dip_deg, POLE_SD_DEG
    if contact.surface is not None:
        lies = contact.surface
        return lies.strike_deg or 0.0, lies.dip_deg, lies.sd_deg if lies.through else POLE_SD_DEG
    near = least(beds, key=lambda bed: _apart(bed, contact))
    return None if near is None else (near.strike_deg, near.dip_deg, POLE_SD_DEG)


def _to_true(trace: Trace, survey: Survey) -> float:
    north = trace.conditions.attitudes_from or trace.conditions.bearings
    if north is None or north.value == "true":
        return 0.0
    if north.value == "grid":
        return survey.frame.to_true_deg
    return survey.frame.declination_deg or 0.0


def _apart(bed: PlaneAttitude, contact: PlacedContact) -> float:
    return math.hypot(bed.place.east_m - contact.place.east_m, bed.place.north_m - contact.place.north_m)


def _reach(strike_deg: float, dip_deg: float, contact: PlacedContact, beds: Sequence[PlaneAttitude]) -> float:
    """Half-way to the nearest bed of another dip, 300 m at most."""
    reach = REACH_M
    mine = normal(strike_deg, dip_deg)
    for bed in beds:
        between = angle_deg(mine, normal(bed.strike_deg, bed.dip_deg))
        if min(between, 180.0 - between) > OTHER_DIP_DEG:
            reach = min(reach, 0.5 * _apart(bed, contact))
    return reach


def _window(
    terrain: Terrain, east: float, north: float, reach: float
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """The part of the grid about a place."""
    margin = reach + terrain.spacing_m
    columns = np.flatnonzero(np.abs(terrain.east_m - east) <= margin)
    rows = np.flatnonzero(np.abs(terrain.north_m - north) <= margin)
    step = max(1, max(len(columns), len(rows)) // _CELLS)
    columns, rows = columns[::step], rows[::step]
    return terrain.east_m[columns], terrain.north_m[rows], terrain.up_m[np.ix_(rows, columns)]


def _contoured(x: NDArray[np.float64], y: NDArray[np.float64], off: NDArray[np.float64]) -> BaseGeometry:
    drawn = contour_generator(x, y, np.ma.masked_invalid(off), line_type=LineType.Separate).lines(0.0)
    return shapely.MultiLineString([np.asarray(line) for line in drawn if len(line) > 1])


def _filled(x: NDArray[np.float64], y: NDArray[np.float64], share: NDArray[np.float64]) -> BaseGeometry:
    drawn = contour_generator(x, y, np.ma.masked_invalid(share), fill_type=FillType.OuterOffset).filled(
        -1.0, 1.0
    )
    areas: list[BaseGeometry] = []
    for points, offsets in zip(*drawn, strict=True):
        rings = [points[start:end] for start, end in itertools.pairwise(offsets)]
        areas.append(Polygon(rings[0], rings[1:]).buffer(0.0))
    return shapely.union_all(areas)


def _room(
    contact: PlacedContact, reach: float, log: Log, geology: Geology, survey: Survey, joins: Sequence[Join]
) -> BaseGeometry:
    """Ground on which a trace may be drawn: near enough, on this side of every fault, not under younger ground."""
    place = Point(contact.place.east_m, contact.place.north_m)
    room: BaseGeometry = settled_shape(place.buffer(reach))
    for line in _faults(contact, geology, survey, joins):
        sides = shapely.get_parts(shapely.difference(room, line.buffer(0.01)))
        room = next((side for side in sides if side.distance(place) < 1.0), room)
    for east, north in _ways_joined(contact, joins):
        # What was computed to the next arm takes its place there.
        room = room.difference(_half_plane(place, east, north))
    over = _over(contact, log)
    for stretch in geology.band:
        if stretch.unit in over and not _concealed(contact):
            hidden = LineString([stretch.start, stretch.end]).buffer(BAND_M, cap_style="flat")
            room = room.difference(hidden)
    return room


def _over(contact: PlacedContact, log: Log) -> frozenset[str]:
    """Units that hide a contact where they lie: the younger ones; of the wall of a body loose ground alone."""
    if {contact.younger, contact.older} & log.intrusive:
        return frozenset(unit.letters for unit in log.units if unit.loose)
    order = [unit.letters for unit in log.units]
    return frozenset(order[: order.index(contact.younger)] if contact.younger in order else ())


def _faults(
    contact: PlacedContact, geology: Geology, survey: Survey, joins: Sequence[Join]
) -> Iterator[LineString]:
    """Every fault but the contact itself, far beyond where it was met: as it was joined, else along its course."""
    far = 4.0 * REACH_M
    joined = [join for join in joins if join.fault and contact.booked.span not in join.ends]
    for join in joined:
        points = [np.array(point) for line in join.lines for point in line]
        way = (points[-1] - points[0]) / math.dist(points[0], points[-1])
        yield LineString([points[0] - far * way, *points, points[-1] + far * way])
    known = {span for join in joined for span in join.ends}
    for fault in geology.contacts:
        if (
            fault.kind is not ContactKind.FAULT
            or fault is contact
            or fault.course_deg is None
            or fault.booked.span in known
        ):
            continue
        course = math.radians(fault.course_deg - survey.frame.to_true_deg)
        at = np.array([fault.place.east_m, fault.place.north_m])
        way = np.array([math.sin(course), math.cos(course)])
        yield LineString([at - far * way, at + far * way])


def _ways_joined(contact: PlacedContact, joins: Sequence[Join]) -> list[tuple[float, float]]:
    """Directions, of length 1, in which a contact was joined to the same one on another arm."""
    ways: list[tuple[float, float]] = []
    for join in joins:
        ends = join.lines[0][0], join.lines[-1][-1]
        for span, (here, there) in zip(join.ends, (ends, ends[::-1]), strict=True):
            if span == contact.booked.span:
                length = math.dist(here, there)
                ways.append(((there[0] - here[0]) / length, (there[1] - here[1]) / length))
    return ways


def _half_plane(place: Point, east: float, north: float) -> Polygon:
    """All ground within reach on one side of a place."""
    far = 4.0 * REACH_M
    corners = ((0.0, far), (far, far), (far, -far), (0.0, -far))
    return Polygon([(place.x + u * east - v * north, place.y + u * north + v * east) for u, v in corners])


def _concealed(contact: PlacedContact) -> bool:
    return contact.certainty is Certainty.CONCEALED


def _parts(lines: BaseGeometry, room: BaseGeometry, place: Point, spacing_m: float) -> list[LineString]:
    """Pieces of the outcrop inside its room that hang together with the contact itself."""
    found = list(lines_in(lines.intersection(room)))
    if not found:
        return []
    whole = shapely.get_parts(shapely.line_merge(shapely.MultiLineString(found)))
    near = [one for one in whole if one.distance(place) <= 2.0 * spacing_m]
    simple = (one.simplify(0.02 * spacing_m) for one in near)
    # A node of the grid that touches the plane makes a line of no length.
    return [_through(one, place) for one in simple if isinstance(one, LineString) and one.length > _HAIR_M]


def _through(line: LineString, place: Point) -> LineString:
    """The line with the contact itself on it: in a cell it is drawn straight, beside the place that it is through."""
    along = line.project(place)
    points = [(x, y) for x, y in line.coords if abs(line.project(Point(x, y)) - along) > _HAIR_M]
    before = [point for point in points if line.project(Point(point)) < along]
    return LineString([*before, (place.x, place.y), *points[len(before) :]])
