"""Stations, readings and contacts carried to a line of section, and the ground under it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from traverse.angle import axial_difference, wrap_360
from traverse.diagnostic import Diagnostic, Outcome, note, warning
from traverse.ground.records import Terrain
from traverse.location.records import HeightsMeasured, PlacedSpot, Survey
from traverse.log.records import Log, PlaneKind, Projection, SectionLine
from traverse.source import Span
from traverse.structure.attitude import Vectors, apparent_dip
from traverse.structure.place import Norths, nearest_strike
from traverse.structure.records import (
    Attitude,
    BandStretch,
    FoldAxis,
    PlacedContact,
    PointKind,
    ProfilePoint,
    Section,
    SectionPoint,
)
from traverse.structure.section_limits import section_limits, told
from traverse.structure.sides import younger_side

STRIKE_LIMIT_DEG = 30.0
"""A strike closer than this to the section can't carry a point to it."""
BEYOND_M = 0.5
"""Points farther than this beyond the ends are left out."""
_OVERHANG = 0.05
"""Share of its length by which a line that names no ends goes on beyond the walk."""
_SAMPLES = 120
"""Points of the ground profile."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Line:
    """The line on the map."""

    points: Vectors
    """(n, 2), east and north."""
    starts_m: Vectors
    """Distance at each point."""
    grid_azimuths_deg: tuple[float, ...]
    """Of each stretch."""

    @property
    def length_m(self) -> float:
        return float(self.starts_m[-1])


@dataclass(frozen=True, slots=True, kw_only=True)
class _Carried:
    """Where a point comes to lie on the line."""

    distance_m: float
    offset_m: float
    """Level distance carried; positive from the right of the line."""
    up_m: float | None
    stretch: int
    swing_m: float | None
    """Metres along the line that it moves for each radian that the strike or axis turns; None where carried square."""


def sections(
    log: Log,
    survey: Survey,
    attitudes: tuple[Attitude, ...],
    contacts: tuple[PlacedContact, ...],
    band: tuple[BandStretch, ...],
    axis: FoldAxis | None,
    terrain: Terrain | None = None,
) -> Outcome[tuple[Section, ...]]:
    """The sections that the log asks for; where it asks for none, one square to the beds (or along the walk)."""
    found: list[Section] = []
    said: list[Diagnostic] = []
    for booked in log.sections:
        line = _line_of(booked, survey)
        if line is None:
            said.append(
                warning(
                    "section-without-length",
                    f"section {booked.name} has no length: its ends lie at one place, or have none",
                    booked.span,
                    "name two stations that lie apart",
                )
            )
            continue
        maker = _Maker(log, survey, attitudes, contacts, band, axis, terrain)
        found.append(maker.section(line, booked=booked))
        said.extend(maker.said)
    if not log.sections:
        line = _default_line(survey, attitudes)
        if line is not None:
            found.append(
                _Maker(log, survey, attitudes, contacts, band, axis, terrain).section(line, booked=None)
            )
    return Outcome(tuple(found), tuple(said))


def _line(points: list[tuple[float, float]]) -> _Line | None:
    kept = [
        point
        for index, point in enumerate(points)
        if index == 0 or np.hypot(*np.subtract(point, points[index - 1])) > 1e-6
    ]
    if len(kept) < 2:
        return None
    array = np.array(kept, dtype=np.float64)
    steps = np.diff(array, axis=0)
    azimuths = tuple(wrap_360(float(np.degrees(np.arctan2(east, north)))) for east, north in steps)
    starts = np.concatenate([[0.0], np.cumsum(np.hypot(steps[:, 0], steps[:, 1]))])
    return _Line(points=array, starts_m=starts, grid_azimuths_deg=azimuths)


def _line_of(booked: SectionLine, survey: Survey) -> _Line | None:
    places = [survey.places[name] for name in booked.stations if name in survey.places]
    if len(places) != len(booked.stations):
        return None
    if booked.bearing is None:
        return _line([(place.east_m, place.north_m) for place in places])
    norths = Norths(survey)
    turn = norths.turn_deg(booked.conditions.bearings, booked.conditions, station=None)
    azimuth = booked.bearing.azimuth_deg + turn - (survey.frame.convergence_deg or 0.0)
    return _through((places[0].east_m, places[0].north_m), azimuth, survey)


def _through(point: tuple[float, float], grid_azimuth_deg: float, survey: Survey) -> _Line | None:
    """A line by azimuth, a little longer than the walk is along it.

    So no reading stands on an end.
    """
    way = np.array([np.sin(np.radians(grid_azimuth_deg)), np.cos(np.radians(grid_azimuth_deg))])
    where = np.array([(place.east_m, place.north_m) for place in survey.places.values()])
    along = (where - np.array(point)) @ way
    over = _OVERHANG * float(along.max() - along.min())
    first, last = np.array(point) + (along.min() - over) * way, np.array(point) + (along.max() + over) * way
    return _line([(float(first[0]), float(first[1])), (float(last[0]), float(last[1]))])


def _default_line(survey: Survey, attitudes: tuple[Attitude, ...]) -> _Line | None:
    """Through the middle of the walk, square to the mean strike where beds were measured, else along its length.

    It runs from west to east, as sections are looked at by custom; from north to south where it lies nearer to that.
    """
    if len(survey.places) < 2:
        return None
    where = np.array([(place.east_m, place.north_m) for place in survey.places.values()])
    middle = (where.min(axis=0) + where.max(axis=0)) / 2.0
    ways = [
        attitude.dip_direction_deg
        for attitude in attitudes
        if attitude.kind is PlaneKind.BED
        and attitude.dip_direction_deg is not None
        and (attitude.dip_deg or 0.0) > 5.0
    ]
    if ways:
        # Doubled, so that opposite dips of a fold add up to one line.
        doubled = np.radians(2.0 * np.array(ways))
        azimuth = float(np.degrees(np.arctan2(np.sin(doubled).sum(), np.cos(doubled).sum()))) / 2.0
        azimuth -= survey.frame.convergence_deg or 0.0
    else:
        _, vectors = np.linalg.eigh(np.cov(where.T))
        azimuth = float(np.degrees(np.arctan2(vectors[0, -1], vectors[1, -1])))
    azimuth = wrap_360(azimuth) % 180.0
    if azimuth < 22.5:
        azimuth += 180.0
    return _through((float(middle[0]), float(middle[1])), azimuth, survey)


class _Maker:
    """Carries everything to one line."""

    def __init__(
        self,
        log: Log,
        survey: Survey,
        attitudes: tuple[Attitude, ...],
        contacts: tuple[PlacedContact, ...],
        band: tuple[BandStretch, ...],
        axis: FoldAxis | None,
        terrain: Terrain | None,
    ) -> None:
        self.log, self.survey, self.terrain = log, survey, terrain
        self.attitudes, self.contacts, self.band, self.axis = attitudes, contacts, band, axis
        self.strike_near = nearest_strike(attitudes)
        self.younger_side = younger_side(log, survey, band)
        self.turn = survey.frame.convergence_deg or 0.0
        self.said: list[Diagnostic] = []
        self.oblique: list[Diagnostic] = []
        """Of readings whose strike can't carry them."""

    def section(self, line: _Line, *, booked: SectionLine | None) -> Section:
        """The section along a line."""
        projection = (booked.projection if booked else None) or Projection.SQUARE
        if projection is Projection.PLUNGE and self.axis is None:
            projection = Projection.SQUARE
            if booked is not None:
                self.said.append(
                    warning(
                        "no-axis",
                        f"no fold axis is determined, so section {booked.name} is carried square to its line",
                        booked.span,
                        "five beds, two of them 30° apart, make an axis; or `project square`",
                    )
                )
        name = booked.name if booked else "A-A'"
        first, last = _letters(name)
        points = [
            *self._stations(line, projection),
            *self._readings(line, projection),
            *self._contacts(line, projection, booked),
        ]
        points.sort(key=lambda point: (point.span.line, point.span.column))
        made = self._section(line, booked, name, (first, last), projection, tuple(points))
        limits = section_limits(made, self.attitudes, self.contacts)
        if not any(one.code == "strike-along-section" for one in limits):
            # Of a whole section along the strike it is said once.
            self.said.extend(self.oblique)
        made = replace(made, limits=limits)
        self.said.extend(told(made))
        return made

    def _section(
        self,
        line: _Line,
        booked: SectionLine | None,
        name: str,
        letters: tuple[str, str],
        projection: Projection,
        points: tuple[SectionPoint, ...],
    ) -> Section:
        first, last = letters
        return Section(
            booked=booked,
            name=name,
            first_letter=first,
            last_letter=last,
            line=tuple((float(east), float(north)) for east, north in line.points),
            azimuth_deg=wrap_360(line.grid_azimuths_deg[0] + self.turn),
            grid_azimuth_deg=line.grid_azimuths_deg[0],
            length_m=line.length_m,
            projection=projection,
            exaggeration=booked.exaggeration if booked else 1.0,
            depth_m=booked.depth_m if booked else None,
            profile=self._profile(line, projection),
            points=points,
            bends_m=tuple(float(distance) for distance in line.starts_m[1:-1]),
        )

    # --- carrying

    def _carry(
        self,
        line: _Line,
        east: float,
        north: float,
        up: float | None,
        *,
        strike_deg: float | None,
        projection: Projection,
    ) -> _Carried | None:
        """To the stretch that is nearest of those it falls on; None beyond the ends or inside a bend.

        `strike_deg` is the true strike that the point is carried along under `Projection.STRIKE`.
        """
        best: _Carried | None = None
        for stretch, azimuth_deg in enumerate(line.grid_azimuths_deg):
            course, drop, free = self._course(projection, azimuth_deg, strike_deg)
            azimuth = np.radians(azimuth_deg)
            way = np.array([np.sin(azimuth), np.cos(azimuth)])
            right = np.array([np.cos(azimuth), -np.sin(azimuth)])
            apart = np.array([east, north]) - line.points[stretch]
            offset = float(apart @ right)
            carry = np.array([np.sin(course), np.cos(course)])
            # Along the course until the line is met.
            share = -offset / float(carry @ right)
            along = float((apart + share * carry) @ way)
            length = float(line.starts_m[stretch + 1] - line.starts_m[stretch])
            low = -BEYOND_M if stretch == 0 else 0.0
            high = length + (BEYOND_M if stretch == len(line.grid_azimuths_deg) - 1 else 0.0)
            if not low <= along <= high:
                continue
            carried = _Carried(
                distance_m=float(line.starts_m[stretch]) + along,
                offset_m=float(np.copysign(abs(share), offset)) if offset else 0.0,
                up_m=None if up is None else up - share * drop,
                stretch=stretch,
                swing_m=abs(share) / max(1e-9, abs(float(np.sin(course - azimuth)))) if free else None,
            )
            if best is None or abs(carried.offset_m) < abs(best.offset_m):
                best = carried
        return best

    def _course(
        self, projection: Projection, azimuth_deg: float, strike_deg: float | None
    ) -> tuple[float, float, bool]:
        """Grid azimuth in radians that a point is carried along, metres it drops for each, and whether that was measured."""
        if projection is Projection.PLUNGE and self.axis is not None:
            course = self.axis.trend_deg - self.turn
            if axial_difference(course, azimuth_deg) > 1.0 and self.axis.plunge_deg < 89.0:
                return float(np.radians(course)), float(np.tan(np.radians(self.axis.plunge_deg))), True
        if projection is Projection.STRIKE and strike_deg is not None:
            course = strike_deg - self.turn
            if axial_difference(course, azimuth_deg) >= STRIKE_LIMIT_DEG:
                return float(np.radians(course)), 0.0, True
        return float(np.radians(azimuth_deg + 90.0)), 0.0, False

    def _stations(self, line: _Line, projection: Projection) -> list[SectionPoint]:
        spans: dict[str, Span] = {}
        for spot in self.log.spots:
            if spot.station is not None:
                spans.setdefault(spot.station, spot.span)
        beds: dict[str, Attitude] = {}
        for attitude in self.attitudes:
            if attitude.kind is PlaneKind.BED and attitude.booked.spot.station is not None:
                beds.setdefault(attitude.booked.spot.station, attitude)
        points = []
        for place in self.survey.places.values():
            bed = beds.get(place.name)
            carried = self._carry(
                line,
                place.east_m,
                place.north_m,
                place.up_m,
                strike_deg=None if bed is None else bed.strike_deg,
                projection=projection,
            )
            if carried is not None and place.name in spans:
                own = float(np.sqrt(((place.sd_east_m or 0.0) ** 2 + (place.sd_north_m or 0.0) ** 2) / 2.0))
                sd = self._sd(own, carried, projection, None if bed is None else (bed.sd_deg, bed.dip_deg))
                points.append(_point(PointKind.STATION, spans[place.name], place.name, carried, None, sd))
        return points

    def _readings(self, line: _Line, projection: Projection) -> list[SectionPoint]:
        points = []
        for attitude in self.attitudes:
            if attitude.dip_deg is None:
                continue
            carried = self._at(line, attitude.place, attitude.strike_deg, projection)
            if carried is None:
                continue
            if projection is Projection.STRIKE and attitude.strike_deg is not None:
                self._warn_oblique(line, carried, attitude)
            dip = self._apparent(line, carried, attitude.dip_deg, attitude.strike_deg)
            points.append(
                _point(
                    PointKind.ATTITUDE,
                    attitude.span,
                    attitude.station,
                    carried,
                    dip,
                    self._sd(attitude.place.sd_m, carried, projection, (attitude.sd_deg, attitude.dip_deg)),
                    attitude=attitude,
                )
            )
        return points

    def _contacts(
        self, line: _Line, projection: Projection, booked: SectionLine | None
    ) -> list[SectionPoint]:
        points = []
        for contact in self.contacts:
            carried = self._at(line, contact.place, contact.course_deg, projection)
            if carried is None:
                if booked is not None:
                    self.said.append(
                        note(
                            "off-section",
                            f"the contact lies beyond section {booked.name} and is not on it",
                            contact.booked.span,
                        )
                    )
                continue
            dip_deg, strike_deg = contact.dip_deg, contact.strike_deg
            dip = None if dip_deg is None else self._apparent(line, carried, dip_deg, strike_deg)
            kind = PointKind(contact.kind.value)
            label = f"{contact.younger}/{contact.older}" if contact.younger else "fault"
            plane = contact.booked.conditions.precision.attitude_deg, dip_deg
            sd = self._sd(contact.sd_m, carried, projection, plane)
            points.append(_point(kind, contact.booked.span, label, carried, dip, sd, contact=contact))
        return points

    def _sd(
        self,
        own_m: float,
        carried: _Carried,
        projection: Projection,
        plane: tuple[float, float | None] | None,
    ) -> float:
        """Of a distance along the line, from the place's own and the direction it was carried along, metres.

        Source: to first order the foot moves by L tan(sd) / sin(angle to the line); the strike of a plane is off by the sd
        of its pole over sin(dip), the axis by its rms over the root of the number of poles. `plane` is the sd of the pole
        and the dip, degrees; a dip that is not known counts as 30.
        """
        if carried.swing_m is None:
            return own_m
        if projection is Projection.PLUNGE and self.axis is not None:
            off = self.axis.rms_deg / np.sqrt(self.axis.n)
        elif plane is not None:
            off = plane[0] / max(0.02, float(np.sin(np.radians(plane[1] if plane[1] is not None else 30.0))))
        else:
            return own_m
        return float(np.hypot(own_m, carried.swing_m * np.tan(np.radians(min(off, 60.0)))))

    def _at(
        self, line: _Line, place: PlacedSpot, strike_deg: float | None, projection: Projection
    ) -> _Carried | None:
        return self._carry(
            line, place.east_m, place.north_m, place.up_m, strike_deg=strike_deg, projection=projection
        )

    def _apparent(self, line: _Line, carried: _Carried, dip_deg: float, strike_deg: float | None) -> float:
        if strike_deg is None:
            return 0.0
        azimuth = line.grid_azimuths_deg[carried.stretch] + self.turn
        return apparent_dip(dip_deg, dip_direction_deg=strike_deg + 90.0, azimuth_deg=azimuth)

    def _warn_oblique(self, line: _Line, carried: _Carried, attitude: Attitude) -> None:
        strike = (attitude.strike_deg or 0.0) - self.turn
        apart = axial_difference(strike, line.grid_azimuths_deg[carried.stretch])
        if apart < STRIKE_LIMIT_DEG:
            self.oblique.append(
                warning(
                    "strike-along-section",
                    f"the strike lies {apart:.0f}° from the section, too near to carry the reading along it; "
                    "it is carried square",
                    attitude.span,
                    "a section across the strike, or `project square`",
                )
            )

    # --- ground

    def _profile(self, line: _Line, projection: Projection) -> tuple[ProfilePoint, ...]:
        """Heights of the grid, else of the walk weighed by nearness, under the line; with the unit that lies there.

        Exact where the line follows the walk; between two arms of a loop a smooth guess from both.
        """
        terrain = self.terrain
        ground = self._walked()
        if len(ground) == 0 or (terrain is None and self.survey.heights is HeightsMeasured.NONE):
            return ()
        shares = np.linspace(0.0, line.length_m, _SAMPLES)
        east = np.interp(shares, line.starts_m, line.points[:, 0])
        north = np.interp(shares, line.starts_m, line.points[:, 1])
        squared = (east[:, None] - ground[None, :, 0]) ** 2 + (north[:, None] - ground[None, :, 1]) ** 2
        weights = 1.0 / (squared + 1.0) ** 2
        heights = (weights @ ground[:, 2]) / weights.sum(axis=1)
        if terrain is not None:
            known = terrain.at(east, north)
            if self.survey.heights is HeightsMeasured.NONE and not np.isfinite(known).all():
                return ()
            heights = np.where(np.isfinite(known), known, heights)
        units = self._units(line, shares, projection)
        return tuple(
            ProfilePoint(distance_m=float(distance), up_m=float(height), unit=unit)
            for distance, height, unit in zip(shares, heights, units, strict=True)
        )

    def _walked(self) -> Vectors:
        """Points along every leg, about 400 in all, shape (n, 3)."""
        total = sum(leg.horizontal_m for leg in self.survey.legs) or 1.0
        rows = []
        for leg in self.survey.legs:
            start, end = self.survey.places.get(leg.booked.start), self.survey.places.get(leg.booked.end)
            if start is None or end is None or start.up_m is None or end.up_m is None:
                continue
            steps = max(2, min(40, round(400 * leg.horizontal_m / total)))
            share = np.linspace(0.0, 1.0, steps)
            a, b = (np.array([place.east_m, place.north_m, place.up_m]) for place in (start, end))
            rows.append(a + share[:, None] * (b - a))
        return np.concatenate(rows) if rows else np.empty((0, 3))

    def _units(self, line: _Line, shares: Vectors, projection: Projection) -> list[str | None]:
        """Unit at each distance: what the contacts on both sides say, else what most of the walked ground there is on."""
        met: list[tuple[float, str | None, str | None]] = []
        for contact in self.contacts:
            carried = self._at(line, contact.place, contact.course_deg, projection)
            if contact.younger is not None and carried is not None:
                met.append((carried.distance_m, *self._sides(line, contact, carried.stretch)))
        met.sort(key=lambda one: one[0])
        cuts = [distance for distance, _, _ in met]
        edges = [-np.inf, *cuts, np.inf]
        votes: list[dict[str, float]] = [{} for _ in edges[1:]]
        for stretch in self.band:
            if stretch.unit is None or stretch.leg is None:
                continue
            for share in (0.1, 0.3, 0.5, 0.7, 0.9):
                east, north = (a + share * (b - a) for a, b in zip(stretch.start, stretch.end, strict=True))
                carried = self._carry(
                    line, east, north, None, strike_deg=self.strike_near(east, north), projection=projection
                )
                if carried is None:
                    continue
                interval = int(np.searchsorted(cuts, carried.distance_m))
                weight = float(np.hypot(*np.subtract(stretch.end, stretch.start))) / (
                    10.0 + abs(carried.offset_m)
                )
                votes[interval][stretch.unit] = votes[interval].get(stretch.unit, 0.0) + weight
        chosen = [max(vote, key=vote.__getitem__) if vote else None for vote in votes]
        for index, ((_, _, after), (_, before, _)) in enumerate(pairwise(met), start=1):
            # Both borders name it: an arm of the loop that does not cross it there tells nothing against it.
            if after is not None and after == before:
                chosen[index] = after
        for index, (_, before, after) in enumerate(met):
            chosen[index] = chosen[index] or before
            chosen[index + 1] = chosen[index + 1] or after
        return [chosen[int(np.searchsorted(cuts, distance))] for distance in shares]

    def _sides(self, line: _Line, contact: PlacedContact, stretch: int) -> tuple[str | None, str | None]:
        """Units before and after a contact with increasing distance; None where the walk does not tell."""
        azimuth = np.radians(line.grid_azimuths_deg[stretch])
        ahead = float(self.younger_side(contact)[:2] @ (np.sin(azimuth), np.cos(azimuth)))
        if abs(ahead) < 1e-6:
            return None, None
        return (contact.older, contact.younger) if ahead > 0.0 else (contact.younger, contact.older)


def _point(
    kind: PointKind,
    span: Span,
    label: str,
    carried: _Carried,
    dip: float | None,
    sd: float,
    *,
    attitude: Attitude | None = None,
    contact: PlacedContact | None = None,
) -> SectionPoint:
    return SectionPoint(
        kind=kind,
        span=span,
        label=label,
        distance_m=carried.distance_m,
        up_m=carried.up_m,
        carried_m=carried.offset_m,
        sd_m=sd,
        apparent_dip_deg=dip,
        attitude=attitude,
        contact=contact,
    )


def _letters(name: str) -> tuple[str, str]:
    """The two ends of a section's name.

    >>> _letters("A-A'"), _letters("North")
    (('A', "A'"), ('North', "North'"))
    """
    first, _, last = name.partition("-")
    return (first, last) if first and last else (name, f"{name}'")
