"""What was booked, with the conventions in force applied and nothing computed.

All records are immutable. What came from text keeps its span and the words as written. Azimuths are degrees
clockwise from the north that the record's `conditions` name; nothing here is turned to another north.
Lines that `omit` takes out of the count are not among the records of their kind but in `Log.omitted`.
"""

from __future__ import annotations

import datetime as dt
from enum import Enum
from functools import cached_property
from typing import TypeAlias

from traverse.length import FEET, METRES, Lengths, metres_to_feet
from traverse.log.ages import Age, read_age
from traverse.record import record
from traverse.source import Span


class North(Enum):
    """The north that an azimuth is counted from."""

    TRUE = "true"
    MAGNETIC = "magnetic"
    GRID = "grid"


class Convention(Enum):
    """How a pair of figures for a plane is to be read."""

    DIP_RIGHT = "dip-right"
    DIP_LEFT = "dip-left"
    DIP_DIRECTION = "dip-direction"
    LETTERS = "letters"


class PaceKind(Enum):
    """Whether a pace is one step or two."""

    SINGLE = "single"
    DOUBLE = "double"


class Unit(Enum):
    """Unit of a distance on the ground."""

    PACES = "p"
    DOUBLE_PACES = "dp"
    SINGLE_PACES = "sp"
    METRES = "m"
    FEET = "ft"

    @property
    def is_pace(self) -> bool:
        """Whether the distance was counted rather than measured."""
        return self in {Unit.PACES, Unit.DOUBLE_PACES, Unit.SINGLE_PACES}


class SlopeKind(Enum):
    """Unit of a slope."""

    DEGREES = "degrees"
    GRADE = "grade"
    """Per cent."""


class LegKind(Enum):
    """What a leg does."""

    TO = "to"
    CLOSE = "close"
    SIDE = "side"


class Side(Enum):
    """Side of a leg, facing forward along it."""

    LEFT = "left"
    RIGHT = "right"
    BOTH = "both"


class PlaneKind(Enum):
    """What a plane is."""

    BED = "bed"
    CROSSBED = "crossbed"
    FOLIATION = "foliation"
    CLEAVAGE = "cleavage"
    JOINT = "joint"
    VEIN = "vein"
    DIKE = "dike"
    AXIAL = "axial"


class LineKind(Enum):
    """What a line is."""

    LINEATION = "lineation"
    STRIATION = "striation"
    HINGE = "hinge"
    CURRENT = "current"


class Quality(Enum):
    """How good a surface was."""

    GOOD = "good"
    FAIR = "fair"
    POOR = "poor"


class Tops(Enum):
    """Way-up where it is not a direction."""

    UP = "up"
    DOWN = "down"
    UNSEEN = "unseen"


class ContactKind(Enum):
    """What kind of line two units meet in."""

    CONTACT = "contact"
    UNCONFORMITY = "unconformity"
    FAULT = "fault"


class Certainty(Enum):
    """How a contact is placed. `CERTAIN` means seen, both what it is and where."""

    CERTAIN = "certain"
    APPROXIMATE = "approximate"
    INFERRED = "inferred"
    CONCEALED = "concealed"


class Met(Enum):
    """How the walk met a contact."""

    CROSSED = "crossed"
    """On the walk: at a station, at a point of a leg, or somewhere in a stretch where it is hidden."""
    BESIDE = "beside"
    """At a place beside the walk, which goes on over the ground that it was on."""
    FOLLOWED = "followed"
    """Along a stretch, beside the walk or on it."""


class Movement(Enum):
    """What a fault did."""

    NORMAL = "normal"
    REVERSE = "reverse"
    THRUST = "thrust"
    LEFT_LATERAL = "left-lateral"
    RIGHT_LATERAL = "right-lateral"


class Rule(Enum):
    """Rule of adjustment."""

    COMPASS = "compass-rule"
    TRANSIT = "transit-rule"
    LEAST_SQUARES = "least-squares"
    NONE = "none"


class Projection(Enum):
    """How readings are carried to a section."""

    SQUARE = "square"
    STRIKE = "strike"
    PLUNGE = "plunge"


class GroundLine(Enum):
    """Lines of the ground that a walk may cross."""

    STREAM = "stream"
    PATH = "path"
    TRACK = "track"
    ROAD = "road"
    RIDGE = "ridge"
    CLIFF = "cliff"
    WALL = "wall"
    FENCE = "fence"


class WordsKind(Enum):
    """Statements that take words about a place."""

    ROCK = "rock"
    NOTE = "note"
    HAZARD = "hazard"
    FOSSIL = "fossil"
    SKETCH = "sketch"
    FLOAT = "float"


# --- readings -----------------------------------------------------------------------------------------------


@record(frozen=True, slots=True, kw_only=True)
class Bearing:
    """A direction as read."""

    azimuth_deg: float
    """In [0, 360), from the north in force."""
    written: str
    queried: bool = False
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Distance:
    """A distance on the ground as counted, taped or paced."""

    value: float
    unit: Unit
    """Never a bare number: `distances` has been applied."""
    written: str
    queried: bool = False
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Slope:
    """A slope as read, upward positive."""

    value: float
    """Degrees, or per cent where `kind` says so."""
    kind: SlopeKind
    written: str
    queried: bool = False
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class PlaneReading:
    """Attitude of a plane, by right-handed strike: the dip is to the right of it."""

    strike_deg: float | None
    """In [0, 360) from the north that the attitudes are read from; None for a flat bed."""
    dip_deg: float
    """0 to 90."""
    overturned: bool = False
    upright: bool = False
    """Said to be upright; neither word said leaves both False."""
    quality: Quality | None = None
    sd_deg: float | None = None
    """Of the pole, where ± gives it."""
    queried: bool = False
    written: str
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class LineReading:
    """Attitude of a line, by trend and plunge; a rake stays a rake until the plane is known."""

    trend_deg: float | None
    """From the north that the attitudes are read from; None for a rake."""
    plunge_deg: float | None
    rake_deg: float | None = None
    """Angle in the plane from the end named, 0 to 90 (or to 180)."""
    rake_from_deg: float | None = None
    """Azimuth of the compass point of that end, as written."""
    rake_on: PlaneReading | None = None
    both: bool = False
    """Sense unknown: a line without a head."""
    queried: bool = False
    written: str
    span: Span


# --- heading ------------------------------------------------------------------------------------------------


@record(frozen=True, slots=True, kw_only=True)
class Person:
    """A member of the party."""

    initials: str
    name: str | None
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Declination:
    """Angle from true north to magnetic north, east positive."""

    value_deg: float | None
    """None where it is to come from the model."""
    year: int | None
    change_deg: float | None
    """A year's change, east positive; None where it was not given."""
    source: str | None
    from_model: bool = False
    span: Span

    def on(self, date: dt.date | None) -> float | None:
        """Degrees east on a day: the value, plus whole years since its year times the change. None from a model."""
        if self.value_deg is None or self.change_deg is None or self.year is None or date is None:
            return self.value_deg
        return self.value_deg + (date.year - self.year) * self.change_deg


@record(frozen=True, slots=True, kw_only=True)
class PaceCourse:
    """A pace length: stated, or walked over a measured course."""

    who: str | None
    """Initials; None serves everybody."""
    kind: PaceKind | None
    length_m: float | None
    """Stated length; None where walks give it."""
    course_m: float | None
    counts: tuple[float, ...]
    """Paces counted on each walk of the course."""
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Precision:
    """Standard deviations that are taken where a line gives none."""

    bearing_deg: float = 1.0
    slope_deg: float = 1.0
    pace_share: float = 0.02
    tape_share: float = 0.005
    attitude_deg: float = 2.0
    """Of the pole."""


@record(frozen=True, slots=True, kw_only=True)
class Conditions:
    """What is in force at a line. One object serves all lines until something changes."""

    date: dt.date | None = None
    bearings: North | None = None
    declination: Declination | None = None
    convention: Convention | None = None
    attitudes_from: North | None = None
    """North of the attitudes: what `attitudes` names, else that of the bearings."""
    pace: PaceCourse | None = None
    """Calibration of whoever paces at this line."""
    precision: Precision = Precision()
    pacer: str | None = None
    reader: str | None = None
    compass: str | None = None
    page: str | None = None


@record(frozen=True, slots=True, kw_only=True)
class RockUnit:
    """A unit of the list, which stands youngest first."""

    letters: str
    name: str
    age: str | None
    colour: str | None
    """`#rrggbb`, lower case."""
    span: Span

    @property
    def dated(self) -> Age | None:
        """What the chart makes of its age; None for an age that is not of the chart, and for none."""
        return read_age(self.age)

    @property
    def loose(self) -> bool:
        """Whether it is loose ground, a deposit that lies on the surface: all that is wholly of the Quaternary.

        Its borders are no planes that go down, and it lies over whatever it meets. What began before the Quaternary
        may be tilted and is taken for bedrock. Common practice, no source.
        """
        return self.dated is not None and self.dated.quaternary


@record(frozen=True, slots=True, kw_only=True)
class Control:
    """A known point, either in the grid or by latitude and longitude."""

    name: str
    east_m: float | None
    north_m: float | None
    lat_deg: float | None
    lon_deg: float | None
    sd_plan_m: float | None
    """None holds it in plan."""
    height_m: float | None
    sd_height_m: float | None
    """None holds its height, where it has one."""
    source: str | None
    written: str
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class SectionLine:
    """A line of section, through stations or by azimuth."""

    name: str
    """As written, such as A-A'."""
    stations: tuple[str, ...]
    """First end, bends, last end; a single one where the line runs through it by azimuth."""
    bearing: Bearing | None
    """Only for a line through one station; from the north in force at its line."""
    projection: Projection | None
    """None where the log leaves it open."""
    exaggeration: float
    depth_m: float | None
    conditions: Conditions
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class SheetOptions:
    """What the log asks of its sheet; None where it leaves it open."""

    scale: int | None = None
    paper: str | None = None
    """`A4`, `A3`, `Letter`, `Roll-610` and so on, as the template names it."""
    landscape: bool | None = None
    band_m: float | None = None
    """Width of ground looked at, to each side of the walk."""
    span: Span | None = None


@record(frozen=True, slots=True, kw_only=True)
class Adjust:
    """Rule of adjustment that the log asks for."""

    rule: Rule
    anyway: str | None
    """Why a loop that fails its test is adjusted all the same."""
    span: Span


# --- walking ------------------------------------------------------------------------------------------------


@record(frozen=True, slots=True, kw_only=True)
class Correction:
    """The line above once read otherwise."""

    old: str
    who: str
    date: dt.date | None
    why: str
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Leg:
    """A walk or a shot from one station to another."""

    kind: LegKind
    start: str
    end: str
    bearing: Bearing
    distance: Distance
    slope: Slope | None
    horizontal: bool
    """The pacer has allowed for the slope."""
    sd_m: float | None
    """The leg's own ±."""
    back_bearing: Bearing | None
    back_slope: Slope | None
    conditions: Conditions
    span: Span
    """The whole statement."""
    end_span: Span
    """The name of the station walked to."""
    index: int = -1
    """In `Log.legs`; -1 for a leg that counts for nothing."""
    corrections: tuple[Correction, ...] = ()


@record(frozen=True, slots=True, kw_only=True)
class Address:
    """Where what is described lies, as the walk tells it: at a station, or at or over part of a leg. One for all its lines."""

    station: str | None
    """None on a leg."""
    leg: Leg | None = None
    start: Distance | None = None
    """Along the leg, from its start."""
    end: Distance | None = None
    """End of a stretch; None for a point."""
    side: Side | None = None
    offset: Distance | None = None
    covered: bool = False
    words: str | None = None
    """What covers the ground."""
    time: dt.time | None = None
    """The first `time` read there."""
    index: int
    """In `Log.addresses`."""
    conditions: Conditions
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Tie:
    """One place under two names."""

    first: str
    second: str
    sd_m: float | None
    """None says that the two are one place exactly."""
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Sight:
    """A bearing to a landmark."""

    address: Address
    target: str
    bearing: Bearing
    slope: Slope | None
    conditions: Conditions
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Elevation:
    """A height read at a place."""

    address: Address
    height_m: float
    sd_m: float | None
    source: str | None
    time: dt.time | None
    written: str
    span: Span


# --- what is there ------------------------------------------------------------------------------------------


@record(frozen=True, slots=True, kw_only=True)
class UnitHere:
    """Which unit a place is on."""

    address: Address
    letters: str
    queried: bool
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Words:
    """Rock, note, hazard, fossil, sketch or float, in the party's words."""

    address: Address
    kind: WordsKind
    text: str
    """As written; a continuation line begins a new line of it."""
    unit: str | None = None
    """Of a float, where its first word is a unit."""
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Sample:
    """A sample taken."""

    address: Address
    label: str
    words: str | None
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Photo:
    """A photo taken."""

    address: Address
    number: str
    looking: Bearing | None
    words: str | None
    conditions: Conditions
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Planes:
    """One line of readings of one plane."""

    address: Address
    kind: PlaneKind
    readings: tuple[PlaneReading, ...]
    written: str
    """All of the line's readings."""
    conditions: Conditions
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Apparent:
    """One bed seen on two faces or more, as lines in it."""

    address: Address
    faces: tuple[LineReading, ...]
    """Two or more, by inclination (`plunge_deg`) and the direction it goes down (`trend_deg`)."""
    written: str
    conditions: Conditions
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Lines:
    """One line of readings of lines."""

    address: Address
    kind: LineKind
    readings: tuple[LineReading, ...]
    written: str
    conditions: Conditions
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class WayUp:
    """Which way the beds young."""

    address: Address
    tops: Tops | None
    toward: Bearing | None
    """Direction of younging, where it was given as a direction."""
    words: str | None
    conditions: Conditions
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Contact:
    """A contact, unconformity or fault where the walk meets it or sees it."""

    address: Address
    kind: ContactKind
    younger: str | None
    """First named; of a fault the upper in the list of units. None for a fault without units."""
    older: str | None
    named: tuple[str, str] | None
    """The two as written."""
    certainty: Certainty | None
    """None for a fault without units."""
    queried: bool
    plane: PlaneReading | None
    sd_m: float | None
    movement: Movement | None = None
    down: Bearing | None = None
    """Direction of the side that went down."""
    conditions: Conditions
    span: Span

    @property
    def met(self) -> Met:
        """How the walk met it, by where it was booked."""
        address = self.address
        aside = address.offset is not None
        if address.station is not None or address.covered or address.leg is None:
            return Met.CROSSED
        if address.end is None:
            return Met.BESIDE if aside else Met.CROSSED
        # What is hidden under the walk can't be followed on it: it lies somewhere in the stretch.
        hidden = self.certainty is Certainty.CONCEALED and not aside
        return Met.CROSSED if hidden else Met.FOLLOWED


@record(frozen=True, slots=True, kw_only=True)
class Crossing:
    """A line of the ground that the walk meets."""

    address: Address
    kind: GroundLine
    runs: Bearing
    """Which way it runs; a stream, which way it flows."""
    name: str | None
    conditions: Conditions
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Trace:
    """A contact to be drawn over a grid of heights."""

    younger: str
    older: str
    plane: PlaneReading | None
    conditions: Conditions
    span: Span


Item: TypeAlias = (
    UnitHere
    | Words
    | Sample
    | Photo
    | Planes
    | Apparent
    | Lines
    | WayUp
    | Contact
    | Crossing
    | Sight
    | Elevation
)
"""Whatever is described at an address."""


@record(frozen=True, slots=True, kw_only=True)
class Omitted:
    """A line that is kept and counts for nothing."""

    record: Leg | Item | Control | Tie
    who: str
    why: str
    written: str
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Checked:
    """An answer to the warnings of a line."""

    of: Span
    """The statement answered."""
    who: str
    why: str
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Day:
    """A date with the weather noted on it."""

    date: dt.date
    weather: str | None


@record(frozen=True, slots=True, kw_only=True)
class Heading:
    """What is said once for the whole log."""

    title: str | None = None
    area: str | None = None
    days: tuple[Day, ...] = ()
    party: tuple[Person, ...] = ()
    weather: tuple[str, ...] = ()
    instruments: tuple[str, ...] = ()
    heights: str | None = None
    """The height datum in words."""
    group: str | None = None
    epsg: int | None = None
    grid_span: Span | None = None
    first: Conditions = Conditions()
    """What is in force at the end of the heading, before the first station."""
    sheet: SheetOptions = SheetOptions()
    adjust: Adjust | None = None
    terrain: str | None = None
    terrain_span: Span | None = None


@record(frozen=True, kw_only=True)
class Log:
    """A log as booked, in walking order."""

    file: str
    heading: Heading
    units: tuple[RockUnit, ...] = ()
    """Youngest first."""
    controls: tuple[Control, ...] = ()
    paces: tuple[PaceCourse, ...] = ()
    stations: tuple[str, ...] = ()
    """Every station in the order in which the log first reaches it (by `at`, `to`, `close` or `side`)."""
    legs: tuple[Leg, ...] = ()
    ties: tuple[Tie, ...] = ()
    addresses: tuple[Address, ...] = ()
    """Every `at`, `to`, `close`, `side`, `along` and `covered`, whether or not anything is described there."""
    items: tuple[Item, ...] = ()
    """Everything described, in the order of the log."""
    traces: tuple[Trace, ...] = ()
    sections: tuple[SectionLine, ...] = ()
    omitted: tuple[Omitted, ...] = ()
    checked: tuple[Checked, ...] = ()
    corrections: tuple[Correction, ...] = ()

    @cached_property
    def lengths(self) -> Lengths:
        """Words of lengths, in the unit in which the party measures.

        Feet where more of its legs are taped in feet than in metres; where that is undecided, more of what is told
        along legs; at last by calibrations over a whole number of either.
        """
        booked = [leg.distance.unit for leg in self.legs]
        along = [
            one.unit
            for address in self.addresses
            for one in (address.start, address.end, address.offset)
            if one is not None
        ]
        for units in (booked, along):
            feet, metres = units.count(Unit.FEET), units.count(Unit.METRES)
            if feet != metres:
                return FEET if feet > metres else METRES
        courses = [pace.course_m for pace in self.paces if pace.course_m]
        feet = sum(_is_whole(metres_to_feet(course_m)) for course_m in courses)
        return FEET if feet > sum(map(_is_whole, courses)) else METRES


def _is_whole(length: float) -> bool:
    return abs(length - round(length)) < 1e-6
