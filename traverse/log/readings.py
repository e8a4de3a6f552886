"""What was read off an instrument, and the conventions in force where it was.

Azimuths are degrees clockwise from the north that a record's `conditions` name; nothing here is turned to another.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from enum import Enum
from types import MappingProxyType
from typing import Final

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
    DIP_FIRST = "dip-first"
    """Dip, then its direction."""
    LETTERS = "letters"


TO_DIP_DEG: Final[Mapping[Convention, float]] = MappingProxyType(
    {
        Convention.DIP_RIGHT: 90.0,
        Convention.DIP_LEFT: -90.0,
        Convention.DIP_DIRECTION: 0.0,
        Convention.DIP_FIRST: 0.0,
    }
)
"""From the figure as written to the direction of the dip."""


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


class Quality(Enum):
    """How good a surface was."""

    GOOD = "good"
    FAIR = "fair"
    POOR = "poor"


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
    dip_deg: float | None
    """0 to 90; None where the strike alone was read: then the dip may be to either side of it."""
    overturned: bool = False
    upright: bool = False
    """Said to be upright; neither word said leaves both False."""
    quality: Quality | None = None
    sd_deg: float | None = None
    """Of the pole, where ± gives it."""
    queried: bool = False
    may_be_strike: bool = False
    """Upright, or without its dip, with an azimuth that is read as a dip direction and may be the strike."""
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
    attitude_stated: bool = False
    """Whether the log gives it; else it is what a careful reader repeats to."""


@record(frozen=True, slots=True, kw_only=True)
class Conditions:
    """What is in force at a line. One object serves all lines until something changes."""

    date: dt.date | None = None
    bearings: North | None = None
    bearings_span: Span | None = None
    """Where it is said."""
    declination: Declination | None = None
    convention: Convention | None = None
    convention_span: Span | None = None
    """Where it is said."""
    attitudes_from: North | None = None
    """North of the attitudes: what `attitudes` names, else that of the bearings."""
    pace: PaceCourse | None = None
    """Calibration of whoever paces at this line."""
    precision: Precision = Precision()
    pacer: str | None = None
    pacer_span: Span | None = None
    """The line that hands over to whoever paces."""
    reader: str | None = None
    compass: str | None = None
    page: str | None = None
