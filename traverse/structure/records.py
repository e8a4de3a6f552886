"""What the readings say once they are placed and turned to true north."""

from __future__ import annotations

import math
from collections.abc import Iterable
from enum import Enum
from itertools import pairwise
from typing import TypeAlias

from traverse.angle import wrap_180, wrap_360
from traverse.location.records import PlacedAddress
from traverse.log.records import (
    Apparent,
    Certainty,
    Contact,
    ContactKind,
    Crossing,
    LineKind,
    Lines,
    Photo,
    PlaneKind,
    Planes,
    Projection,
    Quality,
    RockUnit,
    Sample,
    SectionLine,
    Tops,
    UnitHere,
    WayUp,
    Words,
)
from traverse.record import record
from traverse.settled import part_at, settled
from traverse.source import Span


@record(frozen=True, slots=True, kw_only=True)
class Measured:
    """What every line of readings has, of a plane or of a line."""

    place: PlacedAddress
    order: int
    """Its place among the items of the log."""
    station: str
    """The station it is at, or that its leg starts from."""
    unit: str | None
    """The unit it was read in; None where none is known."""
    written: str
    n: int = 1
    spread_deg: float = 0.0
    sd_deg: float
    """Of the pole, or of the line."""
    queried: bool = False
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class PlaneAttitude(Measured):
    """One line of readings as one plane, in true north."""

    booked: Planes | Apparent
    kind: PlaneKind
    dip_deg: float
    dip_direction_deg: float
    """True; 0 of a flat one."""
    flat: bool = False
    """It has neither strike nor dip direction, and its dip is 0."""
    overturned: bool = False
    quality: Quality | None = None
    tops: WayUp | None = None
    """Way-up seen at the same address; on the first bed there."""
    tops_toward_deg: float | None = None
    """True; None where the beds young up, down, or no way that was seen."""

    @property
    def strike_deg(self) -> float:
        """Right-handed, true; 0 of a flat one."""
        return 0.0 if self.flat else wrap_360(settled(self.dip_direction_deg - 90.0))

    @property
    def course_deg(self) -> float | None:
        """The strike that it is carried along; None of a flat one, which has none."""
        return None if self.flat else self.strike_deg

    @property
    def upside_down(self) -> bool | None:
        """Whether a bed is overturned, by what was seen of its way-up; None where nothing was.

        A direction of younging leans toward the dip in an upright bed and against it in an overturned one.
        """
        if self.tops is not None and self.tops.tops in {Tops.UP, Tops.DOWN}:
            return self.tops.tops is Tops.DOWN
        if self.tops_toward_deg is not None and not self.flat:
            return abs(wrap_180(self.tops_toward_deg - self.dip_direction_deg)) > 90.0
        if self.overturned:
            return True
        said = isinstance(self.booked, Planes) and any(one.upright for one in self.booked.readings)
        return False if said else None


@record(frozen=True, slots=True, kw_only=True)
class LineAttitude(Measured):
    """One line of readings as one line, in true north."""

    booked: Lines
    kind: LineKind
    trend_deg: float
    """True."""
    plunge_deg: float
    both: bool = False
    """Its sense is unknown."""


Attitude: TypeAlias = PlaneAttitude | LineAttitude


def bedding(attitudes: Iterable[Attitude]) -> tuple[PlaneAttitude, ...]:
    """Those that are beds."""
    return tuple(one for one in attitudes if isinstance(one, PlaneAttitude) and one.kind is PlaneKind.BED)


@record(frozen=True, slots=True, kw_only=True)
class PlacedContact:
    """A contact, unconformity or fault on the ground."""

    booked: Contact
    place: PlacedAddress
    order: int
    """Its place among the items of the log."""
    kind: ContactKind
    younger: str | None
    older: str | None
    certainty: Certainty | None
    queried: bool
    half_width_m: float | None
    """Half the stretch it lies in."""
    sd_m: float
    """Along the leg: of its place there, joined with the station's own."""
    strike_deg: float | None
    """True and right-handed, as given on its line; None where none was."""
    dip_deg: float | None
    course_deg: float | None
    """True azimuth it is drawn along: its own strike, else that of the nearest bed; None where no bed is known."""


@record(frozen=True, slots=True, kw_only=True)
class BandStretch:
    """Part of a leg (or the ground at a station) and the unit under it."""

    start: tuple[float, float]
    """East and north, metres."""
    end: tuple[float, float]
    leg: int | None
    """Index into `Survey.legs`; None for the ground about a station without legs."""
    start_share: float
    end_share: float
    unit: str | None
    """None where nothing is known."""
    covered: bool
    queried: bool = False


@record(frozen=True, slots=True, kw_only=True)
class StationUnit:
    """The unit that a station is on."""

    station: str
    letters: str
    queried: bool


@record(frozen=True, slots=True, kw_only=True)
class Thickness:
    """True thickness of a unit crossed between two contacts."""

    unit: str
    true_m: float
    sd_m: float
    between: tuple[Span, Span]
    bend_m: tuple[float, float] | None = None
    """By dip domains, the bend a quarter and three quarters of the way along, the smaller first; None where one plane
    is known."""
    arc_m: float | None = None
    """By arcs; None where one plane is known or no arc joins the two."""
    at_least: bool = False
    """Its top is cut or covered: there may have been more."""

    @property
    def range_m(self) -> tuple[float, float]:
        """Least and most of what the rules give."""
        found = [self.true_m, *(self.bend_m or ()), *(() if self.arc_m is None else (self.arc_m,))]
        return min(found), max(found)


@record(frozen=True, slots=True, kw_only=True)
class LeastThickness:
    """Of a unit that was entered and not left: it is at least so thick."""

    unit: str
    true_m: float
    sd_m: float
    contact: Span
    """Where it was entered or left."""
    why: str
    """What hides the rest, in words."""


@record(frozen=True, slots=True, kw_only=True)
class UnitThickness:
    """One unit's thickness from all its crossings."""

    unit: str
    true_m: float | None
    """Mean weighted by 1/sd²; None where it was never crossed whole."""
    sd_m: float | None
    range_m: tuple[float, float] | None
    """Least and most that the rules give over all crossings."""
    n: int
    least_m: float | None
    """Most of what parts of it are thick, where that is all there is or is more than the mean."""


@record(frozen=True, slots=True, kw_only=True)
class Relief:
    """Height between the highest and the lowest place of a horizon on a section, by its construction."""

    section: str
    younger: str
    older: str
    high_m: float
    low_m: float
    at_least: bool
    """No crest, or no trough, was reached."""

    @property
    def relief_m(self) -> float:
        """Difference of the two."""
        return self.high_m - self.low_m


@record(frozen=True, slots=True, kw_only=True)
class MeanBedding:
    """Vector mean of the upward poles of every bed."""

    dip_deg: float
    dip_direction_deg: float
    kappa: float | None
    alpha95_deg: float | None
    n: int


@record(frozen=True, slots=True, kw_only=True)
class FoldAxis:
    """The line that the beds turn about."""

    trend_deg: float
    plunge_deg: float
    rms_deg: float
    n: int


@record(frozen=True, slots=True, kw_only=True)
class ContactPlane:
    """Plane through the contacts of one pair of units at three places or more."""

    younger: str
    older: str
    strike_deg: float | None
    """True and right-handed; None with all that follows where the places lie on one line."""
    dip_deg: float | None
    sd_strike_deg: float | None
    sd_dip_deg: float | None
    lines: tuple[Span, ...]


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
    stretch: int = 0
    """Between which bends it lies, the one whose azimuth its apparent dip is for; at a bend, the stretch before."""


@record(frozen=True, slots=True, kw_only=True)
class ProfilePoint:
    """Ground under the line of section."""

    distance_m: float
    up_m: float
    unit: str | None = None
    """Unit from here on toward greater distance; None where nothing is known."""


class PieceStyle(Enum):
    """How surely a piece of a constructed line is known."""

    GROUND = "ground"
    """Within the depth of what was looked at."""
    DEPTH = "depth"
    ABOVE = "above"
    """Above the ground: eroded."""


@record(frozen=True, slots=True, kw_only=True)
class LinePiece:
    """Part of a constructed line in one style."""

    style: PieceStyle
    points: tuple[tuple[float, float], ...]
    """Distance and height, metres, at 1:1."""


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
    stopped: tuple[str, ...] = ()
    """Why it ends before the frame, in words; one for each end that does."""


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
class Construction:
    """Contacts of a section carried beyond what was seen, by one rule; lighter than the data."""

    name: str
    """`dip domains` or `arcs`."""
    lines: tuple[ConstructedLine, ...]
    axial: tuple[AxialLine, ...]
    """Only of dip domains."""
    sentences: tuple[str, ...]
    """What it rests on, and where it can't go on."""
    near_m: float
    """Depth of the pieces that are styled `ground`."""


@record(frozen=True, slots=True, kw_only=True)
class SectionLimit:
    """Something that a section can't show."""

    code: str
    fact: str
    """In trade words, lower case, without a full stop."""
    remedy: str
    grave: bool
    """Whether a section that the log asks for is warned of it."""

    @property
    def sentence(self) -> str:
        """Both, as they are printed."""
        return f"{self.fact[0].upper()}{self.fact[1:]}: {self.remedy}."


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
    bends_m: tuple[float, ...] = ()
    """Distances of the bends."""
    construction: Construction | None = None
    """By dip domains; None where no bed and no contact lies on it."""
    arcs: Construction | None = None
    """The same contacts by arcs."""
    limits: tuple[SectionLimit, ...] = ()
    """The gravest first."""

    def stretch_at(self, distance_m: float) -> int:
        """Between which bends a distance lies; at a bend, the stretch before."""
        return part_at(self.bends_m, distance_m)

    @property
    def azimuths_deg(self) -> tuple[float, ...]:
        """True azimuth of each stretch."""
        turn = self.azimuth_deg - self.grid_azimuth_deg
        return tuple(
            wrap_360(settled(math.degrees(math.atan2(b[0] - a[0], b[1] - a[1])) + turn))
            for a, b in pairwise(self.line)
        )


@record(frozen=True, slots=True, kw_only=True)
class Placed:
    """Something described at a place: a unit, words, a sample, a photo or a line of the ground."""

    record: UnitHere | Words | Sample | Photo | Crossing
    place: PlacedAddress
    station: str
    azimuth_deg: float | None = None
    """True azimuth of a photo's view or of the way a line of the ground runs."""


@record(frozen=True, slots=True, kw_only=True)
class Restored:
    """A cross-bed or a current with its bed laid flat again."""

    attitude: Attitude
    bed: PlaneAttitude
    """The bed it was turned back with."""
    here: bool
    """Whether that bed was measured at the same place; else it is the nearest, `away_m` from it."""
    away_m: float
    rotations: int
    """1, or 2 where the plunge of the fold was taken out first."""
    dip_deg: float
    """Of a current its plunge, below zero where it comes out rising."""
    direction_deg: float
    """True azimuth: which way a cross-bed dips, or a current flows."""


@record(frozen=True, slots=True, kw_only=True)
class RoseClass:
    """A class of directions."""

    start_deg: float
    """True azimuth; the class runs clockwise from here, its end not in it."""
    end_deg: float
    count: float
    """A line of unknown sense counts half on either side."""


@record(frozen=True, slots=True, kw_only=True)
class Rose:
    """Directions of flow, from currents and cross-beds, with tilted beds laid flat first."""

    classes: tuple[RoseClass, ...]
    """All round, from north."""
    n: int
    n_restored: int
    mean_deg: float | None
    """Vector mean of those whose sense is known, else the mean line; None where they cancel."""
    strength: float | None
    """Length of the mean vector, 0 all ways alike to 1 all one way."""
    axial: bool
    """No sense is known: the mean is a line, in [0, 180)."""


@record(frozen=True, slots=True, kw_only=True)
class ColumnSample:
    """A sample by its level in its unit."""

    booked: Sample
    level_m: float | None
    """Above the base of its unit, square to the beds; None where no contact and bed tell, or the base is not known."""
    depth_m: float | None
    """Below the top of its unit; None as above."""
    share: float | None
    """Height over thickness where both borders of the unit were met where the sample was taken."""
    sd_m: float | None
    """Of `level_m`, else of `depth_m`."""


@record(frozen=True, slots=True, kw_only=True)
class ColumnUnit:
    """A unit of the column."""

    unit: RockUnit
    thickness: UnitThickness | None
    """None where nothing says how thick it is."""
    base: ContactKind | None
    """What it rests on its older neighbour with; None where that was not met."""
    samples: tuple[ColumnSample, ...]
    """Highest first, those without a level last."""


@record(frozen=True, slots=True, kw_only=True)
class Limb:
    """The mean of the beds on one side of a fold."""

    dip_deg: float
    dip_direction_deg: float | None
    overturned: bool
    n: int


@record(frozen=True, slots=True, kw_only=True)
class Fold:
    """A fold by its two limbs."""

    limbs: tuple[Limb, Limb]
    interlimb_deg: float
    """By the means of the limbs."""
    closest_deg: float
    """By the steepest bed of each: less where the beds of a limb go on turning, as round a circle."""
    axial_dip_deg: float
    """Of the axial surface, which halves the angle between the limbs."""
    axial_dip_direction_deg: float | None


@record(frozen=True, slots=True, kw_only=True)
class Form:
    """A form that the beds were recognised as, not one that is only weighed."""

    name: str
    """`overturned syncline`, `monocline`."""
    sentence: int
    """Index of the sentence that says so."""
    fold: Fold | None = None
    """None where it has no two limbs."""


@record(frozen=True, slots=True, kw_only=True)
class Geology:
    """All that was seen, placed, and what follows from it."""

    attitudes: tuple[Attitude, ...]
    contacts: tuple[PlacedContact, ...]
    things: tuple[Placed, ...]
    """Units, rock, notes, hazards, samples, photos and crossings in the order of the log."""
    band: tuple[BandStretch, ...]
    station_units: tuple[StationUnit, ...] = ()
    """Of each station whose unit is known."""
    thicknesses: tuple[Thickness, ...]
    bedding_mean: MeanBedding | None
    fold_axis: FoldAxis | None
    planes: tuple[ContactPlane, ...]
    sections: tuple[Section, ...]
    sentences: tuple[str, ...] = ()
    """What can be said of the structure."""
    forms: tuple[Form, ...] = ()
    """In the order of their sentences."""
    restored: tuple[Restored, ...] = ()
    """Cross-beds and currents where the bedding is tilted, with it laid flat, in the order of the log."""
    caps: frozenset[str] = frozenset()
    """Units that lie over the others: loose ground, or above an unconformity."""
    n_folded: int | None = None
    """Beds that an axis is sought from, all but those of `caps`; None for all."""
    least: tuple[LeastThickness, ...] = ()
    """Units that were entered and not left, in walking order."""
    unit_thicknesses: tuple[UnitThickness, ...] = ()
    """In the order of the units."""
    reliefs: tuple[Relief, ...] = ()
    """Horizons that turn on a section, by section and in the order of its lines."""
    rose: Rose | None = None
    """None where no direction of flow was read."""
    column: tuple[ColumnUnit, ...] = ()
    """Units that were met, youngest first."""

    @property
    def beds(self) -> tuple[PlaneAttitude, ...]:
        """Readings of bedding."""
        return bedding(self.attitudes)
