"""Sections: what was carried to them, and the lines constructed from it."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Collection, Sequence
from enum import Enum
from itertools import pairwise
from statistics import median

from traverse.angle import wrap_360
from traverse.log.items import Certainty, PlaneKind
from traverse.log.records import Projection, SectionLine
from traverse.record import record
from traverse.settled import SAME_M, part_at, settled
from traverse.source import Span
from traverse.structure.readings.records import PlacedContact, PlaneAttitude
from traverse.structure.walk.records import Body
from traverse.trade import LEVEL_DEG, NEARLY_FLAT_DEG, SURE_SD
from traverse.wording import capital

_LEAST_SHARE = 0.2
"""Of a section that sees beds more askew than this, nothing is held against how thick they are."""


_STEEP = math.sin(math.radians(60.0))
"""A wall of which a part of this size or more goes down lies no longer under the ground beside it."""


@record(frozen=True, slots=True, kw_only=True)
class Relief:
    """Height between the highest and the lowest place of a horizon on a section, by its construction."""

    section: str
    younger: str
    older: str
    high_m: float
    low_m: float
    at_least: bool
    """No crest, or no trough, was reached, or a limb goes beyond them."""

    @property
    def relief_m(self) -> float:
        """Difference of the two."""
        return self.high_m - self.low_m


class PointKind(Enum):
    """What stands on a section."""

    STATION = "station"
    ATTITUDE = "attitude"
    CONTACT = "contact"
    UNCONFORMITY = "unconformity"
    FAULT = "fault"


@record(frozen=True, slots=True, kw_only=True)
class SectionPoint:
    """Something carried to the line of section."""

    kind: PointKind
    span: Span
    label: str
    """Station name, or units of a contact."""
    distance_m: float
    """Along the line from its first end, over the bends."""
    up_m: float | None
    """Height it is carried to."""
    carried_m: float
    """How far it was carried, level; positive from the right of the line, facing along it."""
    apparent_dip_deg: float | None
    """Positive where beds go down with increasing distance, 90 to -90."""
    sd_m: float | None = None
    """Of its distance along the line: its own place, joined with what the strike or axis it was carried along is off by."""
    attitude: PlaneAttitude | None = None
    contact: PlacedContact | None = None
    beside: bool = False
    """Of a contact: whether the ground from where it was met to the line was looked at."""
    levels_m: tuple[float, ...] = ()
    """Of a contact: where on the line the map has it, drawn along its course, though on that slope it comes out elsewhere."""
    stretch: int = 0
    """Between which bends it lies, the one whose azimuth its apparent dip is for; at a bend, the stretch before."""
    counts: bool = True
    """Of a reading: whether nothing doubts it; else it is drawn, and nothing is constructed from it."""

    @property
    def where(self) -> str:
        """Where it was met or read, as a reader of the map finds it: `at 5`, `on leg 5–6 at 60m`."""
        return self.contact.booked.address.where if self.contact is not None else f"at {self.label}"

    @property
    def tells_bedding(self) -> bool:
        """Whether it is a reading of bedding that something may be constructed from."""
        return self.is_bed and self.counts

    @property
    def is_bed(self) -> bool:
        """Whether it is a reading of bedding."""
        return self.attitude is not None and self.attitude.kind is PlaneKind.BED


@record(frozen=True, slots=True, kw_only=True)
class ProfilePoint:
    """Ground under the line of section."""

    distance_m: float
    up_m: float
    unit: str | None = None
    """Unit from here on toward greater distance; None where nothing is known."""
    off_m: float = 0.0
    """How far off the walk lies whose heights stand for the ground; 0 where a grid of heights tells."""
    sd_m: float | None = None
    """What a height that is guessed may be off by; None where the ground was looked at, or a grid tells."""
    past_beds_m: float = 0.0
    """How far, square to the beds, it lies over all that was walked on; negative under all of it; 0 where it was looked at."""


@record(frozen=True, slots=True, kw_only=True)
class LinePiece:
    """Part of a constructed line, in the ground or above it."""

    eroded: bool
    """Above the ground: gone, if it ever was."""
    points: tuple[tuple[float, float], ...]
    """Distance and height, metres, at 1:1."""


class Stop(Enum):
    """Why a constructed line ends before the frame."""

    AT_FAULT = "at a fault"
    AT_UNCONFORMITY = "at an unconformity"
    AT_CONTACT = "meets another contact"
    OTHER_GROUND = "what it parts was seen on the other side"
    OUT_AGAIN = "out of the ground again, where it was not met"
    AT_HINGE = "at the hinge of its fold, as its other limb passes it"


@record(frozen=True, slots=True, kw_only=True)
class LineTurn:
    """Where a constructed contact turns with the beds, and how far that may be off."""

    at: tuple[float, float]
    """Distance and height."""
    sd_m: float
    """What the contact is off by beyond, square to it, as nobody saw where the beds turn."""
    reach_m: float
    """How far before it, or beyond, they may turn as well, along the contact."""


@record(frozen=True, slots=True, kw_only=True)
class LineError:
    """What a constructed contact may be off by, square to it: one standard deviation."""

    at: tuple[float, float]
    """Distance and height that it was carried to."""
    sd_m: float
    """There: of the place where it was met, of the direction it was carried in, and of how far beds turn on the way."""
    sd_deg: float
    """Of the direction in which it goes on."""
    turns: tuple[LineTurn, ...] = ()


@record(frozen=True, slots=True, kw_only=True)
class ConstructedLine:
    """A contact, unconformity or fault carried into the ground and above it."""

    kind: PointKind
    younger: str | None
    older: str | None
    """None also of an unconformity that cuts several units."""
    certainty: Certainty | None
    queried: bool
    contacts: tuple[PlacedContact, ...]
    """Those that it joins, by distance."""
    outcrops: tuple[tuple[float, float], ...]
    """Where it meets the ground, distance and height, by distance."""
    pieces: tuple[LinePiece, ...]
    """One after the other. Of a contact or unconformity they run so that the younger unit lies on their left: the
    unit on each side is told by that. None for the border of loose ground, which is no plane that goes down."""
    stopped: tuple[Stop, ...] = ()
    """Why it ends before the frame; one for each end that does."""
    course_known: bool = True
    """Whether a reading tells how it goes on; else it is drawn upright, and no deeper than the ground was looked at."""
    error: LineError | None = None
    """None where no reading tells how it goes on, and of a fault."""
    again: tuple[tuple[float, float], ...] = ()
    """Where it comes out of the ground again and was not met, distance and height."""
    over_m: float | None = None
    """How far over it, square to it on the section, its younger unit goes at most: no farther than it was crossed anywhere,
    with its error. None where nobody crossed it from base to top, or this is no contact between beds."""
    under_m: float | None = None
    """Likewise how far under it its older unit goes."""

    def sd_at(self, place: tuple[float, float]) -> float | None:
        """What it may be off by, square to it, at one of its places: distance and height; None where nothing tells."""
        error = self.error
        if error is None:
            return None
        path = [point for piece in self.pieces for point in piece.points]
        start, end = _run(path, error.at), _run(path, place)
        way = math.copysign(1.0, end - start)
        off = [error.sd_m, (end - start) * math.tan(math.radians(error.sd_deg))]
        for turn in error.turns:
            at = _run(path, turn.at)
            if (at - start) * way >= 0.0:
                off.append(turn.sd_m * _turned_share((end - at) * way / max(turn.reach_m, SAME_M)))
        return settled(math.hypot(*off))


def _sin(angle_deg: float) -> float:
    return math.sin(math.radians(angle_deg))


def _turned_share(past: float) -> float:
    """What of the error that a turn leaves beyond it is there so far past it, in shares of its reach, negative before it.

    The beds turn anywhere within the reach alike: the root mean square, over all that, of how far the line that turns there
    lies off the one that turns in the middle.
    """
    if past <= 0.0:
        return math.sqrt(max(0.0, 1.0 + past) ** 3 / 2.0)
    past = min(past, 1.0)
    return math.sqrt((1.0 + 3.0 * past**2 - 2.0 * past**3) / 2.0)


def _run(path: Sequence[tuple[float, float]], place: tuple[float, float]) -> float:
    """How far along a line the point of it lies that is nearest to a place."""
    best, run_m, ran = math.inf, 0.0, 0.0
    for one, other in pairwise(path):
        way = (other[0] - one[0], other[1] - one[1])
        long = math.hypot(*way)
        if long == 0.0:
            continue
        on = ((place[0] - one[0]) * way[0] + (place[1] - one[1]) * way[1]) / long
        on = min(max(on, 0.0), long)
        off = math.dist(place, (one[0] + on / long * way[0], one[1] + on / long * way[1]))
        if off < best - SAME_M:
            best, run_m = off, ran + on
        ran += long
    return run_m


@record(frozen=True, slots=True, kw_only=True)
class BodySide:
    """One side of an intrusive body on a section, straight through the place where it comes out."""

    at: tuple[float, float]
    """Distance and height on the ground."""
    way: tuple[float, float]
    """Down it, of length 1; straight down where its course is not known."""
    wall: PlacedContact | None
    """None where the walk came out of the body and no contact was booked."""
    off_ground: bool = False
    """Whether a gentle wall, as it lies, comes to no ground anywhere near: `at` is no place of it."""

    @property
    def gentle(self) -> bool:
        """Whether it goes on under the ground beside it, or over it, for a while."""
        return abs(self.way[1]) < _STEEP


@record(frozen=True, slots=True, kw_only=True)
class SectionBody:
    """An intrusive body on a section: it cuts the beds, and they go on beyond it."""

    body: Body
    sides: tuple[BodySide | None, BodySide | None]
    """By distance; None where the body goes on to the end of the section."""
    course_known: bool
    """Whether a wall was measured, or the beds tell; else it is drawn upright, and no deeper than the ground was looked at."""
    floor_m: float
    """Height down to which it is followed."""
    along_beds: bool = False
    """Whether nobody measured a wall of what is called a sill, and it is drawn along the bed beside."""
    shallow: bool = False
    """Whether its walls, read each its own way, turn as the beds beside them do: drawn no deeper than the ground was looked at."""
    past_ends: bool = False
    """Whether one of its walls was met past an end of the line: to that end all is its ground."""

    @property
    def off_ground(self) -> bool:
        """Whether one of its walls comes out nowhere near, so that where it lies under the line is not known."""
        return any(side is not None and side.off_ground for side in self.sides)


@record(frozen=True, slots=True, kw_only=True)
class AxialLine:
    """Trace of an axial surface on a section."""

    points: tuple[tuple[float, float], ...]
    """Distance and height, metres, upper end first."""
    left_dip_deg: float
    right_dip_deg: float
    """Apparent dips on either side, positive down with increasing distance; both signs of an overturned bed as read."""
    hinge: bool = False
    """Whether beds young the other way beyond it: the axis of a fold, not a change of dip within one limb."""


@record(frozen=True, slots=True, kw_only=True)
class LevelContact:
    """A contact of flat or gentle beds: at one height wherever it was met, or on one of the planes of one dip that hold all of them."""

    younger: str
    """Above it."""
    older: str | None
    """None of an unconformity, which lies on the worn edges of several units."""
    up_m: float
    """At `at`; everywhere, where it is level."""
    sd_m: float
    """Of its height where it was met."""
    own_sd_m: float
    """The same against the ground beside it, as the error of the walk moves both."""
    sd_deg: float
    """What it may be off level, or off its plane, by."""
    contacts: tuple[PlacedContact, ...]
    at: tuple[float, float] = (0.0, 0.0)
    """East and north."""
    rise: tuple[float, float] = (0.0, 0.0)
    """Metres that it rises for each to the east, and to the north; the same of all."""
    over_m: float = 0.0
    """How far over it the younger unit was walked on; what lies higher nobody saw, unless another contact bounds it."""
    under_m: float = 0.0
    """How far under it the older unit was walked on."""

    def up_at(self, place: Sequence[float]) -> float:
        """Its height over a place, east and north."""
        return self.up_m + sum(
            rise * (here - start) for rise, here, start in zip(self.rise, place, self.at, strict=True)
        )

    def across(self, section: Section) -> tuple[tuple[float, float], ...]:
        """Its line through a section from end to end, by the bends: distance and height."""
        distances = (0.0, *section.bends_m, section.length_m)
        return tuple(
            (distance_m, settled(self.up_at(place)))
            for distance_m, place in zip(distances, section.line, strict=True)
        )

    @property
    def is_level(self) -> bool:
        """Whether it is drawn level."""
        return self.rise == (0.0, 0.0)

    @property
    def dip_deg(self) -> float:
        """How steeply its plane dips."""
        return math.degrees(math.atan(math.hypot(*self.rise)))

    @property
    def grid_direction_deg(self) -> float:
        """Which way its plane dips, by grid north; without meaning where it is level."""
        east, north = self.rise
        return settled(math.degrees(math.atan2(-east, -north)))

    @property
    def lies_flat(self) -> bool:
        """Whether beds along it are said to lie flat."""
        return self.dip_deg <= NEARLY_FLAT_DEG


def unit_at(levels: Sequence[LevelContact], place: tuple[float, float], up_m: float) -> str | None:
    """The unit of flat beds at a place and height, by contacts from the highest down; on a contact the one above it.

    None under an unconformity.
    """
    return next((one.younger for one in levels if up_m >= one.up_at(place) - SAME_M), levels[-1].older)


class CarryRule(Enum):
    """How contacts are carried beyond what was seen."""

    DIP_DOMAINS = "dip domains"
    """Straight limbs of constant thickness."""
    ARCS = "arcs"
    """Arcs of constant thickness."""
    LEVEL = "level"
    """Each at the height where it was met, as all beds lie flat."""
    GENTLE = "gentle"
    """Each on its plane of those, all alike and gentle, that hold all of them."""
    STRAIGHT = "straight"
    """Each along its own dip, where no bed near the section tells how they bend."""


@record(frozen=True, slots=True, kw_only=True)
class Construction:
    """Contacts of a section carried beyond what was seen, by one rule; lighter than the data."""

    rule: CarryRule
    lines: tuple[ConstructedLine, ...] = ()
    axial: tuple[AxialLine, ...] = ()
    """Only of dip domains."""
    limbs: bool = False
    """Of arcs: whether straight limbs close a core in which these have no room."""
    sentences: tuple[str, ...] = ()
    """What it rests on, and where it can't go on."""


NOTHING_CARRIED = Construction(rule=CarryRule.STRAIGHT)
"""Of a section that nothing lies on."""


@record(frozen=True, slots=True, kw_only=True)
class SectionLimit:
    """Something that a section can't show."""

    code: str
    fact: str
    """In trade words, lower case, without a full stop."""
    remedy: str
    grave: bool
    """Whether a section that the log asks for is warned of it."""

    brief: str = ""
    """In a few words, where what is drawn would be believed wrongly without it, so that it is told on the smallest paper too."""

    @property
    def sentence(self) -> str:
        """Both, as they are printed."""
        return f"{capital(self.fact)}: {self.remedy}."


@record(frozen=True, slots=True, kw_only=True)
class Section:
    """A section: its line, its ground, and what was carried to it."""

    booked: SectionLine | None
    """None for the line that is drawn where the log asks for none."""
    name: str
    first_letter: str
    last_letter: str
    line: tuple[tuple[float, float], ...]
    """East and north of its ends and bends, metres."""
    azimuth_deg: float
    """True azimuth of its first stretch."""
    grid_azimuth_deg: float
    length_m: float
    projection: Projection
    exaggeration: float
    depth_m: float | None
    profile: tuple[ProfilePoint, ...]
    """By increasing distance; empty where no height was measured."""
    points: tuple[SectionPoint, ...]
    """In the order of the log."""
    behind: tuple[SectionPoint, ...] = ()
    """What comes to the line past the fault at which its block ends, and under the ground, or over it, may lie on its own side
    of that: contacts met beside the line, and beds carried down the plunge."""
    bends_m: tuple[float, ...] = ()
    """Distances of the bends."""
    levels: tuple[LevelContact, ...] = ()
    """The contacts of the log where all its beds lie flat, or on planes of one gentle dip, the highest first; else none."""
    over: tuple[LevelContact, ...] = ()
    """The contacts of flat beds on the worn edges of others, the unconformity last; none where no planes hold them."""
    laid_for_units: bool = False
    """Whether nobody chose its line, and it was laid where it meets more units than along the walk."""
    bodies: tuple[SectionBody, ...] = ()
    """Wider ones first."""
    construction: Construction = NOTHING_CARRIED
    """By dip domains, or straight."""
    arcs: Construction = NOTHING_CARRIED
    """The same contacts by arcs, or straight."""
    limits: tuple[SectionLimit, ...] = ()
    """The gravest first."""

    @property
    def ground_off_m(self) -> float | None:
        """How far off the walk lies at most whose heights stand for ground that is guessed; None where none is."""
        return max((one.off_m for one in self.profile if one.sd_m is not None), default=None)

    @property
    def ground_sd_m(self) -> float | None:
        """What the height of ground that is guessed may be off by at most; None where none is."""
        return max((one.sd_m for one in self.profile if one.sd_m is not None), default=None)

    def guessed(self, over_m: float = 0.0) -> tuple[tuple[float, float], ...]:
        """Stretches of the ground, from and to a distance, whose height is guessed and may be off by more than `over_m`."""
        found: list[tuple[float, float]] = []
        for one, other in pairwise(self.profile):
            if max(one.sd_m or 0.0, other.sd_m or 0.0) > over_m:
                joins = bool(found) and found[-1][1] == one.distance_m
                start_m = found.pop()[0] if joins else one.distance_m
                found.append((start_m, other.distance_m))
        return tuple(found)

    def stretch_at(self, distance_m: float) -> int:
        """Between which bends a distance lies; at a bend, the stretch before."""
        return part_at(self.bends_m, distance_m)

    def plan_at(self, distance_m: float) -> tuple[float, float]:
        """East and north of a place on its line; straight on beyond its ends."""
        stretch = min(self.stretch_at(distance_m), len(self.line) - 2)
        (east, north), other = self.line[stretch], self.line[stretch + 1]
        start_m = (0.0, *self.bends_m)[stretch]
        share = (distance_m - start_m) / math.dist((east, north), other)
        return east + share * (other[0] - east), north + share * (other[1] - north)

    @property
    def as_far_as_walked(self) -> bool:
        """Whether its beds are gentle or flat: units are coloured no farther across them than they were walked."""
        return bool(self.levels) or self.flat_rise is not None

    @property
    def flat_rise(self) -> tuple[float, float] | None:
        """Metres that beds which lie nearly flat rise for each to the east, and to the north, in the grid.

        None where they do not lie so: half of them, and all together. 0 where the error of their mean hides its dip; beds of
        2° that agree with each other dip.
        """
        beds = [one.attitude for one in self.points if one.tells_bedding and one.attitude is not None]
        if not beds or any(one.lies_over for one in beds):
            return None
        most_deg = max(NEARLY_FLAT_DEG, 1.5 * median(one.sd_deg for one in beds))
        if median(one.dip_deg for one in beds) > most_deg:
            return None
        (east, north, up), dip_deg, sd_deg = self._mean_of(beds)
        if dip_deg <= SURE_SD * sd_deg:
            return (0.0, 0.0) if dip_deg <= LEVEL_DEG else None
        return (-settled(east / up), -settled(north / up)) if dip_deg <= NEARLY_FLAT_DEG else None

    @property
    def dips_gently(self) -> bool:
        """Whether its nearly flat beds agree on a dip, beyond the error of their mean."""
        beds = [
            one.attitude
            for one in self.points
            if one.tells_bedding and one.attitude is not None and one.attitude.dip_deg <= NEARLY_FLAT_DEG
        ]
        if not beds:
            return False
        _, dip_deg, sd_deg = self._mean_of(beds)
        return dip_deg > SURE_SD * sd_deg

    def thickness_shown(self, flat: Collection[str]) -> float | None:
        """By how much more of a thickness than there is it shows at most, by its beds but those of the `flat` units.

        A plane of which a pole leans by the angle a from the section shows 1 / cos a of it. None where no bed tells, or one lies
        too askew.
        """
        azimuths = self.azimuths_deg
        shares = [
            math.sqrt(1.0 - (_sin(bed.dip_deg) * _sin(bed.dip_direction_deg - azimuths[point.stretch])) ** 2)
            for point in self.points
            if point.tells_bedding and (bed := point.attitude) is not None and bed.unit not in flat
        ]
        least_share = min(shares, default=0.0)
        return 1.0 / least_share if least_share >= _LEAST_SHARE else None

    def _mean_of(self, beds: Sequence[PlaneAttitude]) -> tuple[tuple[float, float, float], float, float]:
        """The mean of beds: its pole in the grid, its dip and what that is off by, degrees."""
        # A log with mistakes is told without arrays being loaded.
        from traverse.structure.readings.mean import mean_bed

        axis, dip_deg, sd_deg = mean_bed(beds, to_true_deg=self.azimuth_deg - self.grid_azimuth_deg)
        east, north, up = axis.tolist()
        return (east, north, up), dip_deg, sd_deg

    def ground_at(self, distance_m: float) -> float:
        """Height of the ground, straight between the points of the profile and level beyond its ends.

        Only where heights were measured.
        """
        profile = self.profile
        index = bisect_right(profile, distance_m, key=lambda point: point.distance_m)
        if index in {0, len(profile)}:
            return profile[0 if index == 0 else -1].up_m
        before, after = profile[index - 1], profile[index]
        slope = (after.up_m - before.up_m) / (after.distance_m - before.distance_m)
        return slope * (distance_m - before.distance_m) + before.up_m

    def place_of(self, point: SectionPoint) -> tuple[float, float]:
        """Distance and height of what stands on it; on the ground where it has no height of its own."""
        up_m = point.up_m if point.up_m is not None else self.ground_at(point.distance_m)
        return (point.distance_m, up_m)

    @property
    def azimuths_deg(self) -> tuple[float, ...]:
        """True azimuth of each stretch."""
        turn = self.azimuth_deg - self.grid_azimuth_deg
        return tuple(
            wrap_360(settled(math.degrees(math.atan2(b[0] - a[0], b[1] - a[1])) + turn))
            for a, b in pairwise(self.line)
        )
