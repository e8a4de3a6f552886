"""The sections of a log: their lines, and what is carried to them."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial

import numpy as np

from traverse.angle import axial_difference, mean_axis, wrap_360
from traverse.diagnostic import Diagnostic, Outcome, note, warning
from traverse.heights.records import Terrain
from traverse.location.records import Place, PlaceKind, Survey
from traverse.log.items import ContactKind, PlaneKind
from traverse.log.records import Log, Projection, SectionLine
from traverse.nearest import Nearest
from traverse.settled import SAME_DEG, SAME_M, least, settled, settled_all
from traverse.source import Span
from traverse.structure.form.fault_sides import FaultSides
from traverse.structure.readings.directions import Vectors
from traverse.structure.readings.on_heights import read_on, survey_on
from traverse.structure.readings.one_strike import one_strike
from traverse.structure.readings.place_errors import place_covariance, reading_covariance
from traverse.structure.readings.placed import Norths
from traverse.structure.readings.records import (
    Attitude,
    FoldAxis,
    PlacedContact,
    PlaneAttitude,
    Surface,
    bedding,
)
from traverse.structure.section.cannot_show import OffMap, section_limits, told
from traverse.structure.section.carry import Carried, Carrier, LineOfSection, LookedAt, too_near
from traverse.structure.section.level_beds import cover_contacts, level_contacts
from traverse.structure.section.line_errors import BedsAbout
from traverse.structure.section.lines_cut import CutContact, cut_contacts
from traverse.structure.section.profile import SectionGround
from traverse.structure.section.records import LevelContact, PointKind, Section, SectionPoint
from traverse.structure.section.seen_ground import SeenGround, against_seen
from traverse.structure.walk.records import BandStretch, ContactLine
from traverse.trade import (
    ALONG_ONE_STRIKE_DEG,
    ALONG_STRIKE_DEG,
    BAND_M,
    NEARLY_FLAT_DEG,
    ONE_LINE_M,
    OVERHANG_SHARE,
    SIDE_BANDS,
    SQUARE_TO_STRIKE_DEG,
    SURE_SD,
)
from traverse.wording import section_name

_FACES_SECTION = 0.75
"""The cosine of the angle between a plane and a section beyond which an error square to that plane grows to half as much
again in the section."""


def sections(
    log: Log,
    survey: Survey,
    attitudes: tuple[Attitude, ...],
    contacts: tuple[PlacedContact, ...],
    band: tuple[BandStretch, ...],
    axis: FoldAxis | None,
    terrain: Terrain | None = None,
    lines: tuple[ContactLine, ...] = (),
    cover: frozenset[str] = frozenset(),
    caps: frozenset[str] = frozenset(),
    not_counted: frozenset[Span] = frozenset(),
) -> Outcome[tuple[Section, ...]]:
    """The sections that the log asks for; where it asks for none, one square to the beds (or along the walk).

    Nothing is constructed from the readings `not_counted`, and no section laid by them.
    """
    if terrain is not None:
        survey = survey_on(terrain, survey)
        attitudes, contacts = read_on(terrain, attitudes), read_on(terrain, contacts)
    telling = tuple(one for one in attitudes if one.span not in not_counted)
    found: list[Section] = []
    said: list[Diagnostic] = []
    followed = tuple(part.contact for one in lines for part in one.parts)
    levels = level_contacts(log, survey, bedding(telling), (*contacts, *followed), band, caps)
    over = () if levels else cover_contacts(survey, bedding(telling), (*contacts, *followed), band, cover)
    made = partial(
        _SectionMaker,
        log,
        survey,
        attitudes,
        contacts,
        band,
        axis,
        terrain,
        lines,
        cover,
        caps,
        levels,
        over,
        not_counted,
    )
    for booked in log.sections:
        line = _line_of(booked, survey)
        if line is None:
            said.append(
                warning(
                    "section-without-length",
                    f"section {section_name(booked.name)} has no length: its ends lie at one place, or have none",
                    booked.span,
                    "name two stations that lie apart",
                )
            )
            continue
        maker = made()
        found.append(maker.section(line, booked=booked))
        said.extend(maker.said)
    line = None if log.sections else _default_line(survey, telling)
    if line is not None:
        maker = made()
        others = [*_across_levels(line, survey)] if levels and levels[0].lies_flat else []
        laid = least([line, *others], key=lambda one: -maker.units_under(one)) if others else line
        found.append(maker.section(laid or line, booked=None, laid_for_units=laid is not line))
    return Outcome(tuple(found), tuple(said))


def line_through(points: Sequence[tuple[float, float]]) -> LineOfSection | None:
    """The line of section through points of the map; None where they are one."""
    kept = [
        point
        for index, point in enumerate(points)
        if index == 0 or np.hypot(*np.subtract(point, points[index - 1])) > SAME_M
    ]
    if len(kept) < 2:
        return None
    array = settled_all(np.array(kept, dtype=np.float64))
    steps = np.diff(array, axis=0)
    azimuths = tuple(
        wrap_360(settled(math.degrees(math.atan2(east, north)))) for east, north in steps.tolist()
    )
    starts = settled_all(np.concatenate([[0.0], np.cumsum(np.hypot(steps[:, 0], steps[:, 1]))]))
    return LineOfSection(points=array, starts_m=starts, grid_azimuths_deg=azimuths)


def _line_of(booked: SectionLine, survey: Survey) -> LineOfSection | None:
    places = [survey.places[name] for name in booked.stations if name in survey.places]
    if len(places) != len(booked.stations):
        return None
    if booked.bearing is None:
        return line_through([(place.east_m, place.north_m) for place in places])
    norths = Norths(survey)
    turn = norths.turn_deg(booked.conditions.bearings, booked.conditions, station=None)
    azimuth = booked.bearing.azimuth_deg + turn - survey.frame.to_true_deg
    return _through((places[0].east_m, places[0].north_m), azimuth, survey)


def _through(
    point: tuple[float, float],
    grid_azimuth_deg: float,
    survey: Survey,
    course_deg: float | None = None,
) -> LineOfSection | None:
    """A line by azimuth, a little longer than the walk is along it, so that no reading stands on an end.

    The walk is carried to it square, or along a course in the grid.
    """
    azimuth = math.radians(grid_azimuth_deg)
    way = np.array([math.sin(azimuth), math.cos(azimuth)])
    where = _walked(survey)
    apart = where - np.array(point)
    along = (apart * way).sum(axis=1)
    if course_deg is not None:
        off = apart[:, 0] * way[1] - apart[:, 1] * way[0]
        along = along + off / math.tan(azimuth - math.radians(course_deg))
    over = OVERHANG_SHARE * float(along.max() - along.min())
    first, last = np.array(point) + (along.min() - over) * way, np.array(point) + (along.max() + over) * way
    return line_through([(float(first[0]), float(first[1])), (float(last[0]), float(last[1]))])


def _walked(survey: Survey) -> Vectors:
    """Where the walk came to, (n, 2) east and north: no section goes as far as a landmark that was only sighted."""
    places = survey.places.values()
    there = [place for place in places if place.kind is not PlaceKind.SIGHTED] or places
    return np.array([(place.east_m, place.north_m) for place in there])


def _default_line(survey: Survey, attitudes: tuple[Attitude, ...]) -> LineOfSection | None:
    """Through the middle of the walk, square to the mean strike where beds were measured, else along its length.

    It runs from west to east, as sections are looked at by custom; from north to south where it lies nearer to that.
    """
    if len(survey.places) < 2:
        return None
    where = _walked(survey)
    middle = (where.min(axis=0) + where.max(axis=0)) / 2.0
    ways = [bed.dip_direction_deg for bed in bedding(attitudes) if bed.dip_deg > NEARLY_FLAT_DEG]
    if ways:
        azimuth = mean_axis(ways)[0]
        azimuth -= survey.frame.to_true_deg
    else:
        # The longer axis of the scatter, in closed form; from west to east where it is as long one way as the other.
        east, north = (where - where.mean(axis=0)).T
        longer, both = float((north**2 - east**2).sum()), 2.0 * float((east * north).sum())
        even = math.hypot(longer, both) <= SAME_M * float((north**2 + east**2).sum())
        azimuth = 90.0 if even else math.degrees(math.atan2(both, longer)) / 2.0
    return _through((float(middle[0]), float(middle[1])), _as_looked_at(azimuth), survey)


def _as_looked_at(azimuth_deg: float) -> float:
    """The way along an axis in which a section is looked at."""
    azimuth = wrap_360(settled(azimuth_deg)) % 180.0
    return azimuth + 180.0 if azimuth < 22.5 else azimuth


def _across_levels(line: LineOfSection, survey: Survey) -> Iterator[LineOfSection]:
    """Other lines that flat beds leave free: over the highest station, along the walk, square to it or from the lowest."""
    known = [place for place in survey.places.values() if place.up_m is not None]
    high = least(known, key=lambda one: -(one.up_m or 0.0))
    low = least(known, key=lambda one: one.up_m or 0.0)
    if high is None or low is None:
        return
    along = line.grid_azimuths_deg[0]
    down = math.degrees(math.atan2(high.east_m - low.east_m, high.north_m - low.north_m))
    for azimuth in (along, along + 90.0, down):
        found = _through((high.east_m, high.north_m), _as_looked_at(azimuth), survey)
        if found is not None:
            yield found


class _SectionMaker:
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
        lines: tuple[ContactLine, ...],
        cover: frozenset[str],
        caps: frozenset[str],
        levels: tuple[LevelContact, ...],
        over: tuple[LevelContact, ...],
        not_counted: frozenset[Span],
    ) -> None:
        self.log, self.survey = log, survey
        self.attitudes, self.contacts, self.axis = attitudes, contacts, axis
        self.lines, self.band = lines, band
        self.over = cover | caps
        """Units that hide what lies under them."""
        self.turn = survey.frame.to_true_deg
        self.carrier = Carrier(axis, self.turn, LookedAt(band, log.heading.sheet.band_m or BAND_M))
        self.faults = FaultSides(log, survey, contacts)
        self.carrier.fault_between = self.faults.between if self.faults.lines else None
        self.carrier.passes_by = lambda line, fault: self.faults.beside(line.points, fault) is not None
        self.not_counted = not_counted
        self.beds = bedding([one for one in attitudes if one.span not in not_counted])
        self.ground = SectionGround(
            log, survey, self.beds, contacts, band, terrain, self.carrier, cover, levels, over
        )
        self.levels, self.on_worn = levels, over
        near_to = Nearest(np.array([(bed.place.east_m, bed.place.north_m) for bed in self.beds]))
        self.carrier.bed_near = lambda east, north: self.beds[near_to.to(east, north)] if self.beds else None
        self.folded = BedsAbout([bed for bed in self.beds if bed.unit not in self.over], self.turn)
        flat = bool(levels) and levels[0].lies_flat
        self.strike_deg = None if flat or cover else one_strike(self.beds, self.over | log.intrusive)
        """True, of all beds; None where they have not one."""
        self.doubtful = [] if all(one.adjusted for one in survey.closures) else [leg.span for leg in log.legs]
        """Lines that the course of a section rests on, where one of them is in doubt."""
        self.said: list[Diagnostic] = []
        self.behind: list[SectionPoint] = []
        self.oblique: list[Diagnostic] = []
        """Of readings whose strike can't carry them."""

    def units_under(self, line: LineOfSection) -> int:
        """How many units lie on the ground under a line."""
        return len({point.unit for point in self.ground.profile(line, Projection.SQUARE)})

    def section(
        self, line: LineOfSection, *, booked: SectionLine | None, laid_for_units: bool = False
    ) -> Section:
        """The section along a line."""
        asked = booked.projection if booked else None
        projection = asked or self._unasked(line)
        if asked is None and projection is Projection.PLUNGE and (booked is None or booked.bearing):
            line = self._as_long_along_axis(line)
        if projection is Projection.PLUNGE and self.axis is None:
            projection = Projection.SQUARE
            if booked is not None:
                self.said.append(
                    warning(
                        "no-axis",
                        f"no fold axis is determined, so section {section_name(booked.name)} is carried square to its line",
                        booked.span,
                        "the structure says what its beds lack for one; else `project square`",
                        # With what is asked about: where that spoils the axis, it is the cause.
                        rests_on=[*(bed.span for bed in bedding(self.attitudes)), *self.doubtful],
                    )
                )
        name = booked.name if booked else "A-A'"
        first, last = _letters(name)
        cut = cut_contacts(line, self.lines)
        self.carrier.ground = self.ground.heights(line)
        self.behind = []
        read = self._readings(line, projection)
        met = self._contacts(line, projection, booked, self.contacts)
        against = self._against_seen(line, projection, met, read)
        points = [
            *self._stations(line, projection),
            *read,
            *(one for one in met if all(one is not other for other, _ in against)),
            *self._contacts(line, projection, None, [one.contact for one in cut]),
        ]
        points.sort(key=lambda point: (point.span.line, point.span.column))
        made = self._section(
            line, booked, name, (first, last), projection, tuple(points), cut, [one for one, _ in against]
        )
        made = replace(made, laid_for_units=laid_for_units)
        limits = section_limits(
            made,
            anything=bool(self.beds or self.contacts or self.lines),
            lengths=self.log.lengths,
            slopes=any(leg.slope is not None for leg in self.log.legs),
            against_seen=against,
            off_map=self._off_map(line, booked, met),
            faults_beside=self.faults.all_beside(line.points, self.contacts),
        )
        if not any(one.code == "strike-along-section" for one in limits):
            # Of a whole section along the strike it is said once.
            self.said.extend(self.oblique)
        made = replace(made, limits=limits)
        self.said.extend(told(made, [*(bed.span for bed in self.beds), *self.doubtful]))
        return made

    def _unasked(self, line: LineOfSection) -> Projection:
        """How a section is carried that does not ask for a way: square, or along the strike where all beds have one.

        Carried square, a contact that crosses the line askew would come out once for each arm of the walk that met it.
        """
        strike_deg = self.strike_deg
        if strike_deg is None:
            return self._along_axis(line)
        apart = [axial_difference(strike_deg - self.turn, one) for one in line.grid_azimuths_deg]
        if min(apart) >= 90.0 - SQUARE_TO_STRIKE_DEG - SAME_DEG:
            self.carrier.along_strike = True
            return Projection.SQUARE
        self.carrier.along_strike = min(apart) >= ALONG_ONE_STRIKE_DEG - SAME_DEG
        self.carrier.one_strike_deg, self.carrier.least_deg = strike_deg, ALONG_ONE_STRIKE_DEG
        return Projection.STRIKE if max(apart) >= ALONG_ONE_STRIKE_DEG - SAME_DEG else Projection.SQUARE

    def _as_long_along_axis(self, line: LineOfSection) -> LineOfSection:
        """A line that was laid by a bearing, as long as the walk comes to it along the axis."""
        assert self.axis is not None
        start = (float(line.points[0][0]), float(line.points[0][1]))
        course_deg = self.axis.trend_deg - self.turn
        return _through(start, line.grid_azimuths_deg[0], self.survey, course_deg) or line

    def _along_axis(self, line: LineOfSection) -> Projection:
        """Down the plunge on a section that crosses a fold askew: carried square, beds would come over to the other limb.

        Not where other beds lie flat on the folded ones, or where the section runs too near to the axis.
        """
        if self.axis is None or self.levels or any(bed.unit in self.over for bed in self.beds):
            return Projection.SQUARE
        apart = [axial_difference(self.axis.trend_deg - self.turn, one) for one in line.grid_azimuths_deg]
        if min(apart) < ALONG_STRIKE_DEG - SAME_DEG or min(apart) >= 90.0 - SQUARE_TO_STRIKE_DEG - SAME_DEG:
            return Projection.SQUARE
        return Projection.PLUNGE

    def _off_map(
        self, line: LineOfSection, booked: SectionLine | None, met: Sequence[SectionPoint]
    ) -> OffMap | None:
        """How far a section that asks to be carried square has a contact off its place along what all beds hold in common.

        That is their one strike, else the fold axis. None where no contact lies off more than its error.
        """
        if booked is None or booked.projection is not Projection.SQUARE:
            return None
        if self.strike_deg is not None:
            projection, way_deg = Projection.STRIKE, self.strike_deg
        elif self.axis is not None and self._along_axis(line) is Projection.PLUNGE:
            projection, way_deg = Projection.PLUNGE, self.axis.trend_deg
        else:
            return None
        far_m = 0.0
        for point in met:
            contact = point.contact
            if contact is None or point.beside or contact.course_deg is None:
                continue
            along = self.carrier.at(line, contact.place, way_deg, projection)
            # One that comes out beyond the ends is off by as far as to the nearer of them.
            ends_m = min(point.distance_m, line.length_m - point.distance_m)
            off_m = ends_m if along is None else abs(along.distance_m - point.distance_m)
            if off_m > max(ONE_LINE_M, SURE_SD * (point.sd_m or 0.0)):
                far_m = max(far_m, off_m)
        return OffMap(projection=projection, way_deg=way_deg, far_m=far_m) if far_m else None

    def _section(
        self,
        line: LineOfSection,
        booked: SectionLine | None,
        name: str,
        letters: tuple[str, str],
        projection: Projection,
        points: tuple[SectionPoint, ...],
        cut: Sequence[CutContact],
        against: Sequence[SectionPoint],
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
            profile=self.ground.profile(
                line, projection, cut, left_out=frozenset(id(one.contact) for one in against)
            ),
            points=points,
            behind=tuple(self.behind),
            bends_m=tuple(float(distance) for distance in line.starts_m[1:-1]),
            levels=self.levels,
            over=self.on_worn,
        )

    def _stations(self, line: LineOfSection, projection: Projection) -> list[SectionPoint]:
        beds: dict[str, PlaneAttitude] = {}
        for one in self.beds:
            if one.booked.address.station is not None:
                beds.setdefault(one.booked.address.station, one)
        points = []
        for place in self.survey.places.values():
            bed = beds.get(place.name)
            carried = self.carrier.carry(
                line,
                place.east_m,
                place.north_m,
                place.up_m,
                strike_deg=self.carrier.strike_of(self._course_deg(bed, place.east_m, place.north_m)),
                projection=projection,
            )
            if carried is not None and place.name in self.log.first_at and not self.log.hangs(place.name):
                sd = self.carrier.sd(_station_m2(place), carried, None if bed is None else _pole_off(bed))
                points.append(
                    _point(
                        PointKind.STATION, self.log.first_at[place.name].span, place.name, carried, None, sd
                    )
                )
        return points

    def _readings(self, line: LineOfSection, projection: Projection) -> list[SectionPoint]:
        points: list[SectionPoint] = []
        for attitude in self.attitudes:
            if not isinstance(attitude, PlaneAttitude):
                continue
            place = attitude.place
            course_deg = self._course_deg(attitude, place.east_m, place.north_m)
            carried = self.carrier.at(line, place, course_deg, projection)
            if carried is None:
                continue
            parted = self.carrier.over_fault(line, carried, place.east_m, place.north_m)
            # Down a known axis its own block goes on under the fault, or over it, as it lies there; else nobody knows.
            if parted and projection is not Projection.PLUNGE:
                continue
            asked = self.carrier.one_strike_deg is None
            if projection is Projection.STRIKE and asked and not attitude.flat:
                self._warn_oblique(line, carried, attitude)
            dip = self.carrier.apparent(line, carried, attitude.dip_deg, attitude.course_deg)
            one = _point(
                PointKind.ATTITUDE,
                attitude.span,
                attitude.station,
                carried,
                dip,
                self.carrier.sd(reading_covariance(attitude), carried, _pole_off(attitude)),
                attitude=attitude,
                counts=attitude.span not in self.not_counted,
            )
            (self.behind if parted else points).append(one)
        return points

    def _course_deg(self, plane: PlaneAttitude | None, east: float, north: float) -> float | None:
        """True strike that a place is carried along: of the plane read there, or where its error turns that at will, of the nearest bed."""
        if plane is not None and (plane.strike_known or plane.kind is not PlaneKind.BED):
            return plane.course_deg
        return self.ground.strike_near(east, north)

    def _contacts(
        self,
        line: LineOfSection,
        projection: Projection,
        booked: SectionLine | None,
        contacts: Sequence[PlacedContact],
    ) -> list[SectionPoint]:
        points: list[SectionPoint] = []
        for contact in contacts:
            carried = self.carrier.contact(line, contact, projection)
            if carried is None:
                carried = self._as_mapped(line, contact)
            if carried is None:
                if booked is not None:
                    self.said.append(
                        note(
                            "off-section",
                            f"the contact lies beyond section {section_name(booked.name)} and is not on it",
                            contact.booked.span,
                        )
                    )
                continue
            if self._down_dip(line, carried, contact):
                continue
            parted = self.carrier.parted(line, carried, contact)
            if parted and not self._behind_a_fault(contact, carried):
                continue
            carried = self._along_beds(line, carried, contact)
            lies = contact.surface
            dip = (
                None if lies is None else self.carrier.apparent(line, carried, lies.dip_deg, lies.strike_deg)
            )
            kind = PointKind(contact.kind.value)
            label = f"{contact.younger}/{contact.older}" if contact.younger else "fault"
            plane = (
                (contact.booked.conditions.precision.attitude_deg, None)
                if lies is None
                else (lies.sd_deg, lies.dip_deg)
            )
            sd = self.carrier.sd(place_covariance(contact), carried, plane)
            one = _point(kind, contact.booked.span, label, carried, dip, sd, contact=contact)
            (self.behind if parted else points).append(one)
        return _one_of_each_plane(points)

    def _behind_a_fault(self, contact: PlacedContact, carried: Carried) -> bool:
        """Whether a contact that lies over a fault was met so near to the line that it may come out of it under the ground."""
        near_m = SIDE_BANDS * (self.log.heading.sheet.band_m or BAND_M)
        laid = contact.kind is ContactKind.CONTACT and not self.levels and not self.over
        return laid and carried.up_m is not None and abs(carried.offset_m) <= near_m

    def _as_mapped(self, line: LineOfSection, contact: PlacedContact) -> Carried | None:
        """A fault that runs too near along the section to be carried there, where the map has it cross between two of its places."""
        across_m = self.faults.on_section(line.points, contact)
        if across_m is None:
            return None
        east, north = line.at(across_m)
        place = contact.place
        way_deg = math.degrees(math.atan2(east - place.east_m, north - place.north_m)) + self.turn
        along = Carrier(None, self.turn, least_deg=2.0 * SAME_DEG).carry(
            line, place.east_m, place.north_m, None, strike_deg=way_deg, projection=Projection.STRIKE
        )
        # Between two places no strike leads on: neither its own nor that of the line through them turns it there.
        return None if along is None else replace(along, distance_m=across_m, swing_m=None)

    def _against_seen(
        self,
        line: LineOfSection,
        projection: Projection,
        met: Sequence[SectionPoint],
        read: Sequence[SectionPoint],
    ) -> list[tuple[SectionPoint, str]]:
        """Contacts that ground seen much nearer tells against, each with its unit; down a plunge the ground tells nothing."""
        if projection is Projection.PLUNGE or all(one.beside for one in met):
            return []
        return against_seen(
            met,
            [one for one in read if one.tells_bedding],
            SeenGround(line, self.band),
            self.ground.heights(line),
            half_m=self.log.heading.sheet.band_m or BAND_M,
            over=self.over,
        )

    def _along_beds(self, line: LineOfSection, carried: Carried, contact: PlacedContact) -> Carried:
        """A contact of beds that was carried square, as much higher as they lie there by what was read about the way."""
        if (
            carried.swing_m is not None
            or carried.up_m is None
            or contact.kind is not ContactKind.CONTACT
            or contact.younger in self.over
            or self.levels
        ):
            return carried
        start = np.array([contact.place.east_m, contact.place.north_m])
        to = np.array([np.interp(carried.distance_m, line.starts_m, line.points[:, axis]) for axis in (0, 1)])
        return replace(carried, up_m=settled(carried.up_m + self.folded.rise_m(start, to)))

    def _down_dip(self, line: LineOfSection, carried: Carried, contact: PlacedContact) -> bool:
        """Whether a contact would be carried down its dip at its own height, over ground that was not looked at.

        Along the strike of the beds a contact that was met beside the line lies at another height under it, or nowhere. Where
        all beds lie alike, `_along_beds` has that height; of those that face the section what a dip errs by is too much.
        """
        course = contact.course_deg
        if (
            contact.kind is ContactKind.FAULT
            or course is None
            or carried.beside
            or carried.swing_m is not None
        ):
            return False
        if self.folded.one_pole is not None:
            azimuth = math.radians(line.grid_azimuths_deg[carried.stretch])
            square = np.array([math.cos(azimuth), -math.sin(azimuth), 0.0])
            if abs(float(self.folded.one_pole @ square)) <= _FACES_SECTION:
                return False
        along = too_near(course - self.turn, line.grid_azimuths_deg[carried.stretch])
        return along and abs(carried.offset_m) > SIDE_BANDS * (self.log.heading.sheet.band_m or BAND_M)

    def _warn_oblique(self, line: LineOfSection, carried: Carried, attitude: PlaneAttitude) -> None:
        strike = attitude.strike_deg - self.turn
        azimuth = line.grid_azimuths_deg[carried.stretch]
        # A bed so nearly flat strikes any way, and no other line would lie better.
        if attitude.strike_known and too_near(strike, azimuth):
            apart = axial_difference(strike, azimuth)
            self.oblique.append(
                warning(
                    "strike-along-section",
                    f"the strike lies {apart:.0f}° from the section, too near to carry the reading along it; "
                    "it is carried square",
                    attitude.span,
                    "a section across the strike, or `project square`",
                    rests_on=[attitude.span, *self.doubtful],
                )
            )


def _one_of_each_plane(points: Sequence[SectionPoint]) -> list[SectionPoint]:
    """The places of contacts; of those that one plane through several places holds, those beside the line, or the nearest.

    The rest would be carried square to it, and the one plane drawn once for each.
    """
    groups: dict[tuple[str | None, str | None, Surface], list[SectionPoint]] = defaultdict(list)
    for point in points:
        contact = point.contact
        if contact is not None and contact.surface is not None and contact.booked.plane is None:
            groups[contact.younger, contact.older, contact.surface].append(point)
    dropped: set[int] = set()
    on_map_m: dict[int, tuple[float, ...]] = {}
    for same in groups.values():
        nearest = least(same, key=lambda one: abs(one.carried_m))
        beside = [one for one in same if one.beside]
        kept = beside or [one for one in same if one is nearest]
        dropped |= {id(one) for one in same if all(one is not other for other in kept)}
        on_map_m[id(kept[0])] = tuple(at_m for one in same for at_m in one.levels_m)
    return [
        replace(one, levels_m=on_map_m.get(id(one), one.levels_m)) for one in points if id(one) not in dropped
    ]


def _station_m2(place: Place) -> Vectors:
    """Covariance of a station in east and north, (2, 2); 0 where nothing is known."""
    if place.ellipse is None:
        return np.zeros((2, 2))
    azimuth = math.radians(place.ellipse.azimuth_deg)
    axes = np.array([[math.sin(azimuth), math.cos(azimuth)], [math.cos(azimuth), -math.sin(azimuth)]])
    return np.asarray(axes.T @ np.diag([place.ellipse.major_m**2, place.ellipse.minor_m**2]) @ axes)


def stations_squared(section: Section, log: Log, survey: Survey) -> tuple[SectionPoint, ...]:
    """The stations carried square to a section and down to its ground, however the section itself is carried."""
    line = line_through(section.line)
    if line is None:
        return ()
    carrier = Carrier(None, survey.frame.to_true_deg)
    points = []
    for name, place in survey.places.items():
        carried = carrier.carry(
            line, place.east_m, place.north_m, None, strike_deg=None, projection=Projection.SQUARE
        )
        if carried is not None and name in log.first_at and not log.hangs(name):
            points.append(_point(PointKind.STATION, log.first_at[name].span, name, carried, None, None))
    return tuple(points)


def _point(
    kind: PointKind,
    span: Span,
    label: str,
    carried: Carried,
    dip: float | None,
    sd: float | None,
    *,
    attitude: PlaneAttitude | None = None,
    contact: PlacedContact | None = None,
    counts: bool = True,
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
        stretch=carried.stretch,
        beside=carried.beside,
        levels_m=() if carried.level_m is None else (carried.level_m,),
        counts=counts,
    )


def _pole_off(plane: PlaneAttitude) -> tuple[float, float | None]:
    """What the pole of the plane is off by that a place is carried along, and its dip; not its own where another's tells the strike."""
    return plane.sd_deg, plane.dip_deg if plane.strike_known else None


def _letters(name: str) -> tuple[str, str]:
    """The two ends of a section's name.

    >>> _letters("A-A'"), _letters("North")
    (('A', "A'"), ('North', "North'"))
    """
    first, _, last = name.partition("-")
    return (first, last) if first and last else (name, f"{name}'")
