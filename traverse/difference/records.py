"""What comes of holding a log against an older version of itself. Metres and degrees; the new one less the old."""

from __future__ import annotations

import math
from enum import Enum

from traverse.angle import wrap_360
from traverse.length import Lengths
from traverse.record import record
from traverse.source import Span


class EditKind(Enum):
    """What a changed line can bring about."""

    HEADING = "heading"
    """It holds for all that follows: a declination, a pace, a known point."""
    WALK = "walk"
    """Where the walk went: legs, places, ties."""
    READING = "reading"
    """What was seen at one place."""
    WORDS = "words"
    """Words, which move no figure."""
    OUTPUT = "output"
    """What is asked of the sheet."""


@record(frozen=True, slots=True, kw_only=True)
class Edit:
    """A statement that was changed, added or taken out."""

    kind: EditKind
    word: str
    """Its first word."""
    place: str
    """`at 5`, `on leg 2–3, 31p`, or of a leg `2–3`; empty in the heading."""
    was: str | None
    """Its words without the first, in canonical layout; None of an added one."""
    now: str | None
    """None of one that was taken out."""
    was_at: Span | None
    now_at: Span | None
    was_place: str | None = None
    """Where it stood before, if elsewhere."""

    @property
    def span(self) -> Span | None:
        """Its line in the new log; of one that was taken out, in the old."""
        return self.now_at or self.was_at


@record(frozen=True, slots=True, kw_only=True)
class Renaming:
    """A station or unit that is called otherwise, and is the same."""

    what: str
    """`station` or `unit`."""
    was: str
    now: str


@record(frozen=True, slots=True, kw_only=True)
class StationMove:
    """A station of both logs that lies elsewhere."""

    station: str
    east_m: float
    north_m: float
    up_m: float | None
    """None where either has no height."""

    @property
    def distance_m(self) -> float:
        """How far it moved in plan."""
        return math.hypot(self.east_m, self.north_m)

    @property
    def azimuth_deg(self) -> float:
        """Which way, from grid north."""
        return wrap_360(math.degrees(math.atan2(self.east_m, self.north_m)))


@record(frozen=True, slots=True, kw_only=True)
class Turning:
    """Attitudes whose figures on the page are the same and that lie otherwise, all by as much."""

    stations: tuple[str, ...]
    """One for each of them."""
    clockwise_deg: float | None
    """Turn of strike or trend, in (-180, 180]; None where they did not all turn alike, or their dips changed."""
    apart_deg: float
    """Most that one of them lies from where it lay, between poles or lines."""


@record(frozen=True, slots=True, kw_only=True)
class ClosureState:
    """How a loop or tie closes."""

    distance_m: float
    ratio: float | None
    adjusted: bool


@record(frozen=True, slots=True, kw_only=True)
class ClosureChange:
    """A loop or tie that closes otherwise."""

    name: str
    """`the loop of 3 legs`."""
    was: ClosureState | None
    """None of one that is new."""
    now: ClosureState | None
    """None of one that is gone."""


@record(frozen=True, slots=True, kw_only=True)
class ContactMove:
    """A contact that was met elsewhere on the walk, what its stations moved taken out."""

    name: str
    """`contact Sh/Ss on leg 2–3`."""
    moved_m: float


class FigureOf(Enum):
    """What a figure is of."""

    DECLINATION = "declination"
    CONVERGENCE = "convergence"
    PACE = "pace"
    THICKNESS = "thickness"
    LEAST_THICKNESS = "least thickness"
    MEAN = "mean of the beds"
    AXIS = "axis"
    LARGEST_ERROR = "largest error of a station"


@record(frozen=True, slots=True, kw_only=True)
class FigureChange:
    """A figure that follows from many readings, and changed."""

    figure: FigureOf
    of: str
    """Whose pace, or which unit; empty of what there is one of."""
    was: tuple[float, ...] | None
    """Metres or degrees: of a plane or line, dip and dip direction or plunge and trend; of a thickness, its sd too."""
    now: tuple[float, ...] | None


@record(frozen=True, slots=True, kw_only=True)
class Saying:
    """A message or a sentence of the structure that only one of the two logs has."""

    what: str
    """`warning`, `answered`, or `structure`."""
    words: str
    gone: bool
    line: int | None
    """Of the log that has it."""


@record(frozen=True, slots=True, kw_only=True)
class Effect:
    """What followed."""

    moves: tuple[StationMove, ...] = ()
    of_stations: int = 0
    """How many stations both have."""
    new_stations: tuple[str, ...] = ()
    gone_stations: tuple[str, ...] = ()
    turnings: tuple[Turning, ...] = ()
    closures: tuple[ClosureChange, ...] = ()
    contacts: tuple[ContactMove, ...] = ()
    figures: tuple[FigureChange, ...] = ()
    sayings: tuple[Saying, ...] = ()
    other_frame: bool = False
    """The two lie in grids that have nothing in common, so no places were held against each other."""

    @property
    def empty(self) -> bool:
        """Whether nothing followed."""
        return not (
            self.moves
            or self.new_stations
            or self.gone_stations
            or self.turnings
            or self.closures
            or self.contacts
            or self.figures
            or self.sayings
            or self.other_frame
        )


@record(frozen=True, slots=True, kw_only=True)
class Caused:
    """Edits, and what followed from them and from nothing else: with all before them made, and none after."""

    edits: tuple[Edit, ...]
    effect: Effect


@record(frozen=True, slots=True, kw_only=True)
class DrawnWalk:
    """A walk to be drawn."""

    places: tuple[tuple[str, float, float], ...]
    """Station, east and north in the grid of the new log."""
    legs: tuple[tuple[str, str], ...]


@record(frozen=True, slots=True, kw_only=True)
class Difference:
    """Two versions of a log."""

    was: str
    """Name of the old one."""
    now: str
    causes: tuple[Caused, ...]
    """In the order in which they were made: the heading, the walk, readings."""
    edits: tuple[Edit, ...]
    """Those that nothing followed from."""
    whole: Effect | None
    """From the old log to the new one; None where one of them has errors or is not there."""
    renamings: tuple[Renaming, ...]
    """Made before all else."""
    lengths: Lengths
    """In which the party measures."""
    same_text: bool
    layout: bool
    """Whether lines differ in layout or comments alone, beside what is told."""
    notes: tuple[str, ...] = ()
    """What could not be held against each other, and why."""
    walks: tuple[DrawnWalk, DrawnWalk] | None = None
    """Old and new, where both can be drawn in one frame."""

    @property
    def none(self) -> bool:
        """Whether the two say the same."""
        return not (self.causes or self.edits or self.notes or self.renamings) and (
            self.whole is None or self.whole.empty
        )
