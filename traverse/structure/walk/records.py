"""The ground under the walk, and the bodies that cut it."""

from __future__ import annotations

from traverse.record import record
from traverse.source import Span
from traverse.structure.readings.records import PlacedContact


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
class UnbookedChange:
    """Where one unit gives way to another on the walk, on open ground, and no contact was booked."""

    units: tuple[str, str]
    """In walking order."""
    younger: str
    older: str
    """By the list of units."""
    at: tuple[float, float]
    """East and north, metres."""
    leg: int
    """Index into `Survey.legs`."""
    share: float
    """Of that leg."""
    course_deg: float
    """Grid azimuth of the line that is drawn for it, square to the leg."""
    half_way: bool
    """Whether it lies half-way between the places where each unit was seen; else where the second was booked."""


@record(frozen=True, slots=True, kw_only=True)
class StationUnit:
    """The unit that a station is on."""

    station: str
    letters: str
    queried: bool
    carried: bool = False
    """Neither booked there nor told by a contact on a leg to it: that of the station before, carried on."""


@record(frozen=True, slots=True, kw_only=True)
class BodyEnd:
    """Where the walk came into a body, or out of it."""

    place: tuple[float, float, float]
    """East, north and height, metres; the height for differences."""
    up_m: float | None
    """Height above the datum; None where none is known."""
    wall: PlacedContact | None
    """None where no contact was booked there."""
    host: str | None
    """The unit beyond; None where the walk began or ended in the body, or nothing is known."""
    goes_on: bool
    """Whether the body may go on there: the walk began or ended in it, or it has a fault, a younger body or a
    younger cover there."""
    inward: tuple[float, float]
    """East and north of the way along the leg into the body, of length 1."""


@record(frozen=True, slots=True, kw_only=True)
class Body:
    """An intrusive body where the walk crossed it, or went into it."""

    unit: str
    ends: tuple[BodyEnd, BodyEnd]
    """In walking order."""
    stretches: tuple[BandStretch, ...]
    """The walk in it."""
    strike_deg: float | None
    """True and right-handed, the mean of its walls; None where neither was measured (nor a `dike` in it)."""
    dip_deg: float | None
    """Likewise."""
    sd_deg: float | None
    """Of the pole of its walls."""
    read_at: tuple[Span, ...]
    """Lines that its walls were read on."""
    walked_m: float
    """From end to end, level."""
    through: bool
    """Whether the walk came out on the other side; else it came out by the wall that it went in by, or not at all."""
    width_m: float | None
    """Square to its walls; None unless both were met, one was measured, and the walk went through."""
    width_sd_m: float | None
    narrow: bool
    """Whether it is narrower than the walk knows its place."""
    folded: bool = False
    """Whether both walls were read, each its own way and each as the bed beside it lies: a sill that is folded with its beds?"""
    as_on: str | None = None
    """`leg 2–3`: where the other crossing of the body was read whose plane it takes; None where its walls are its own."""

    @property
    def without_strike(self) -> bool:
        """Whether the walk went through it and nobody read which way its walls run."""
        return (
            self.through and self.strike_deg is None and all(wall.course_deg is None for wall in self.walls)
        )

    @property
    def walls(self) -> tuple[PlacedContact, ...]:
        """The contacts met, in walking order."""
        return tuple(end.wall for end in self.ends if end.wall is not None)

    @property
    def middle(self) -> tuple[float, float]:
        """East and north half-way through it."""
        (first, second) = (end.place for end in self.ends)
        return (first[0] + second[0]) / 2.0, (first[1] + second[1]) / 2.0


@record(frozen=True, slots=True, kw_only=True)
class LinePart:
    """Where a contact was seen beside the walk or on it."""

    contact: PlacedContact
    points: tuple[tuple[float, float, float], ...]
    """East, north and height for differences, metres: one place, or the two ends of a stretch."""
    corner: tuple[float, float, float] | None = None
    """The bend of the walk between it and the next part, where both lie on the walk."""


@record(frozen=True, slots=True, kw_only=True)
class ContactLine:
    """A contact beside the walk, or followed along it."""

    parts: tuple[LinePart, ...]
    """In the order of the walk."""
    side: int
    """Of the walk on which it lies, facing forward: 1 the right, -1 the left, 0 on it."""
    left: str | None
    """The unit on its left, in the order of its parts; None where that was not seen."""
    right: str | None


@record(frozen=True, slots=True, kw_only=True)
class UnsaidBody:
    """A unit without bedding of its own that lies as a body does."""

    unit: str
    called: str | None
    """What its name calls it: `dike`."""
    cut: PlacedContact | None
    """The border that cuts the beds beside it."""
    cut_deg: float
    host: str | None
    """The unit that lies on both sides of it."""

    @property
    def likely(self) -> bool:
        """Whether two of the three say so: one alone may be a fold, a name, or one reading."""
        return (self.called is not None) + (self.cut is not None) + (self.host is not None) > 1
