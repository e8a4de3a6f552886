"""The walk and all that was met on it, place by place, as booked."""

from __future__ import annotations

import datetime as dt
from enum import Enum
from typing import TypeAlias

from traverse.log.readings import Bearing, Conditions, Distance, LineReading, PlaneReading, Slope
from traverse.record import record
from traverse.source import Span


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


class HowMet(Enum):
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

    @property
    def down_the_dip(self) -> bool | None:
        """Whether the side that the fault dips to went down; None where it moved along. Source: the definition of these words."""
        down = {Movement.NORMAL: True, Movement.REVERSE: False, Movement.THRUST: False}
        return down.get(self)


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
    IRON = "iron"
    FLOAT = "float"


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
class Skipped:
    """The one number that a page of stations numbered on by one does not have."""

    name: str
    before: str
    """The station with the number below it."""
    after: str
    """The station with the number above it."""
    leg: Leg
    """The one walked on from `before`, in front of which a leg is lost if the number was not just left out."""


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

    @property
    def at_or_from(self) -> str:
        """The station it is at, or that its leg starts from."""
        if self.station is not None:
            return self.station
        return self.leg.start if self.leg is not None else ""

    @property
    def where(self) -> str:
        """As a reader of the map finds it: `at 5`, `on leg 5–6 at 60m`, `on leg 5–6 at 11m to 51m`."""
        if self.leg is None:
            return f"at {self.station}"
        along = "" if self.start is None else f" at {self.start.written}"
        along += "" if self.start is None or self.end is None else f" to {self.end.written}"
        return f"on leg {self.leg.start}–{self.leg.end}{along}"


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


@record(frozen=True, slots=True, kw_only=True)
class UnitHere:
    """Which unit a place is on."""

    address: Address
    letters: str
    queried: bool
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Words:
    """Rock, note, hazard, fossil, sketch, iron or float, in the party's words."""

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
    def met(self) -> HowMet:
        """How the walk met it, by where it was booked."""
        address = self.address
        aside = address.offset is not None
        if address.station is not None or address.covered or address.leg is None:
            return HowMet.CROSSED
        if address.end is None:
            return HowMet.BESIDE if aside else HowMet.CROSSED
        # What is hidden under the walk can't be followed on it: it lies somewhere in the stretch.
        hidden = self.certainty is Certainty.CONCEALED and not aside
        return HowMet.CROSSED if hidden else HowMet.FOLLOWED


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
NotedThing: TypeAlias = UnitHere | Words | Sample | Photo | Crossing
"""What stands at its place as a thing, and not as a reading."""
