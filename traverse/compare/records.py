"""What comes of holding a log against the key. Metres, degrees, marks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field
from enum import Enum

from traverse.length import Lengths
from traverse.location.records import Suspect
from traverse.log.items import Certainty, Contact
from traverse.record import record
from traverse.source import Span
from traverse.structure.readings.records import PlacedContact, PlaneAttitude
from traverse.trade import SAME_CROSSING_M

_MOST_PLACED = 0.75
"""Where so much of a walk is paired by place, its stops are the key's; common practice, no source."""
_HIDDEN = frozenset({Certainty.INFERRED, Certainty.CONCEALED})


class PairedBy(Enum):
    """Why a station of a log is taken for one of the key's."""

    NAME = "name"
    TIE = "tie"
    """By another name that a `tie` gives its place."""
    PLACE = "place"
    ORDER = "order"
    """Neither: it stands between two that are paired, as many as the key has there."""
    SHAPE = "shape"
    """By the ways from stop to stop, where the two number their stations each their own way."""


class Part(Enum):
    """What marks are given for."""

    LOCATION = "location"
    SHAPE = "shape"
    ATTITUDES = "attitudes"
    CONTACTS = "contacts"
    UNITS = "units"
    PROCESS = "process"


class Grade(Enum):
    """How near an item comes; the scheme has a word for each."""

    FULL = "full"
    NEAR = "pass"
    PART = "part"
    NONE = "none"
    SERIOUS = "serious"
    MISSING = "missing"


class Reveal(Enum):
    """How much of the key a page that is handed back may hold."""

    NONE = "none"
    """Where to look."""
    DIRECTION = "direction"
    """And which way it is off."""
    VALUES = "values"
    """And what the key has."""


@record(frozen=True, slots=True, kw_only=True)
class Scheme:
    """A marking scheme, as the leader set it."""

    name: str
    by: str
    weights: Mapping[Part, float]
    place_m: float
    place_share: float
    place_part: float
    pair_m: float
    attitude_deg: tuple[float, float, float]
    """Full, pass and part: the largest angle between poles of each."""
    contact_met: float
    contact_kind: float
    contact_place: float
    contact_certainty: float
    contact_serious: float
    contact_turned: float
    contact_m: float
    contact_widest: float
    thickness_share: float
    pace_walks: int
    credits: Mapping[Grade, float]
    words: Mapping[Grade, str]


@record(frozen=True, slots=True, kw_only=True)
class StationPair:
    """A station of the log and the one of the key that it is taken for."""

    station: str
    key: str
    by: PairedBy
    east_m: float | None
    """Of the log less the key's, in the key's grid; None where the two have no frame in common."""
    north_m: float | None
    shape_m: float | None
    """What is left of it after the best shift, turn and scale; None with fewer than three pairs."""
    walked_m: float
    """Along the log's walk from the nearest known point that holds it; from its first station without one."""
    key_place_m: tuple[float, float]
    """East and north of the key's."""
    key_sd_m: float
    """Plan error of the key's own place; 0 where it is held."""
    log_sd_m: float
    """Plan error of the log's own that its known points bring, by what it states of them; 0 where they are held."""
    span: Span

    @property
    def moved_m(self) -> float | None:
        """How far apart the two lie."""
        if self.east_m is None or self.north_m is None:
            return None
        return float((self.east_m**2 + self.north_m**2) ** 0.5)


@record(frozen=True, slots=True, kw_only=True)
class AttitudePair:
    """A plane of the key and what the log read there."""

    station: str
    """Of the log; on a leg the one that it starts from."""
    key: PlaneAttitude
    log: PlaneAttitude | None
    """None where the log has none of the kind there."""
    pole_deg: float | None
    """Angle between the poles, 0 to 90."""


@record(frozen=True, slots=True, kw_only=True)
class ContactPair:
    """A contact of the key and what the log has of it."""

    key: PlacedContact
    log: PlacedContact | None
    moved_m: float | None
    """Square to the key's trace, what its stations are off taken out; None where the log has none, or no station beside it is paired
    and the two have no frame in common."""
    beside: tuple[Span, str] | None = None
    """Where the log has none: the line of its leg that came by the place, and that leg in words."""
    instead: PlacedContact | None = None
    """Where the log has none: a contact of its own there that parts one of the two units from another."""
    turned: bool = False
    """Whether it names as the younger what the key and its own list of units have as the older."""
    drift_m: float = 0.0
    """Where the log met it on a way that the key did not walk: what stations may have drifted by there, and how far off the
    key's walk that is."""

    @property
    def booked(self) -> Contact:
        """As the log has it, if only with another unit, else as the key."""
        return (self.log or self.instead or self.key).booked

    @property
    def too_sure(self) -> bool:
        """Whether the log says that it was seen, and the key's party, at the same place, could not see it."""
        if (
            self.log is None
            or self.log.certainty is not Certainty.CERTAIN
            or self.log.kind is not self.key.kind
        ):
            return False
        near = (self.moved_m or 0.0) <= SAME_CROSSING_M + (self.key.half_width_m or 0.0) + self.drift_m
        return near and not self.key.queried and self.key.certainty not in {None, Certainty.CERTAIN}

    @property
    def serious(self) -> bool:
        """Whether the log saw a contact where the key has the ground covered."""
        hidden = self.key.certainty in _HIDDEN or self.key.booked.address.covered
        return self.log is not None and self.log.certainty is Certainty.CERTAIN and hidden


@record(frozen=True, slots=True, kw_only=True)
class UnitPair:
    """The unit at a station by key and log."""

    station: str
    key: str
    log: str | None
    """In letters of the key where the log's unit is one of its; None where the log has none there."""
    written: str | None
    """In the log's own letters."""
    right: bool
    span: Span
    """Of the line that says it; where none does, of the station."""


@record(frozen=True, slots=True, kw_only=True)
class UnlistedUnit:
    """A unit of the log that is none of the key's by letters, name or `also`, while the key has one that is none of the log's."""

    span: Span
    letters: str
    name: str
    meant: str | None
    """The one of the key's that it may be; None where nothing shows which."""
    why: str
    """What shows it."""
    other_rock: str | None = None
    """The name of another unit of the key that has these letters."""


@record(frozen=True, slots=True, kw_only=True)
class ThicknessPair:
    """How thick a unit is by key and log."""

    unit: str
    """In the log's own letters."""
    key_m: float
    key_sd_m: float
    log_m: float
    log_sd_m: float


@record(frozen=True, slots=True, kw_only=True)
class Similar:
    """The log laid on the key by shift, turn and scale."""

    rotation_deg: float
    """How far the log is turned clockwise of the key."""
    rotation_sd_deg: float
    scale: float
    """The log's distances over the key's."""
    scale_sd: float
    n: int


@record(frozen=True, slots=True, kw_only=True)
class Paired:
    """All pairs of a log, as it stands or with causes mended."""

    pairs: tuple[StationPair, ...]
    alone: tuple[str, ...]
    """Stations of the log that the key lacks, also under the names that they are tied to."""
    missed: tuple[str, ...]
    """Stations of the key that the log lacks."""
    attitudes: tuple[AttitudePair, ...]
    contacts: tuple[ContactPair, ...]
    """Of the key's, on ground that the log's walk came by."""
    between: tuple[ContactPair, ...]
    """Contacts of the log on ways that the key did not walk, between two places where it met them; with one of these."""
    elsewhere: tuple[PlacedContact, ...]
    """Contacts of the key on ground that the log did not walk."""
    units: tuple[UnitPair, ...]
    order: tuple[tuple[str, str, bool], ...]
    """Of the key's neighbours in the list of units that the log has too: younger, older in the log's own letters, whether
    the log has them so."""
    thicknesses: tuple[ThicknessPair, ...]
    letters: Mapping[str, str]
    """Units of the key by the log's, in the letters of each."""
    unlisted: tuple[UnlistedUnit, ...]
    """Units of the log that nothing says to be any of the key's: what is named by them is not judged."""
    legs: tuple[tuple[str, str], ...]
    """All of the log, whether their stations are paired or not."""
    walk: Mapping[str, tuple[float, float]]
    """East and north in the key's grid of all stations of the log: by its own places where the two lie in one frame, else
    laid on the key by its pairs; empty where these are too few to lay it, or don't fit."""
    fit: Similar | None
    framed: bool
    """Whether log and key lie in one frame, so that places can be held against each other."""
    misnamed: tuple[str, ...] = ()
    """Stations of the log whose names the key has for other places, where most are so: they are not paired."""

    @property
    def near_by(self) -> frozenset[str]:
        """Stations that lie where the key has one and nothing else pairs: each may be another outcrop beside it.

        None where most of the walk is paired so: then its stops are the key's under other numbers.
        """
        by_place = frozenset(one.station for one in self.pairs if one.by is PairedBy.PLACE)
        most = len(by_place) >= _MOST_PLACED * (len(self.pairs) + len(self.alone))
        return frozenset() if most else by_place


@record(frozen=True, slots=True, kw_only=True)
class Cause:
    """One mistake that explains many differences, at the line to mend."""

    span: Span
    cause: str
    """In trade words."""
    about: str
    """What to look at, without saying what is wrong with it: `the declination`."""
    reading: str
    """What the line would say."""
    rests_on: str
    """On how much of the log it rests."""
    not_excluded: tuple[str, ...]
    """Other causes that would explain it as well."""
    way: str | None = None
    """Of a single figure: which way it is off, without by how much; empty where that alone would say what it was."""
    may_be_right: bool = False
    """Whether the log's party may well have seen what the key's did not: that shows no mistake."""

    @property
    def text(self) -> str:
        """The cause with what it rests on and what it doesn't exclude."""
        return f"{self.cause}: {self.rests_on}{self.others}"

    @property
    def others(self) -> str:
        """What it doesn't exclude, to be put behind it."""
        return f"; {' or '.join(self.not_excluded)} would do as well" if self.not_excluded else ""


@record(frozen=True, slots=True, kw_only=True)
class LegApart:
    """A leg between two paired stations that is not the key's, and that no one slip explains."""

    start: str
    end: str
    off_m: float
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class WayApart:
    """A way of a log over stops of its own, from one stop that it shares with the key to the next, that is off as a whole."""

    stops: tuple[str, ...]
    """In walking order, the two shared ones first and last."""
    key: tuple[str, str]
    """What the key calls these two."""
    spans: tuple[Span, ...]
    """Of its legs."""
    off_m: float
    expected_m: float
    """Square root of the sum of the two plan variances: the log's legs, the two places, two compasses."""
    may_be: tuple[Suspect, ...]
    """Single slips of these legs, or of a line above them all, that would explain it, the likeliest first; others are not
    excluded."""


@record(frozen=True, slots=True, kw_only=True)
class Marked:
    """One item with what it is worth of its part."""

    part: Part
    what: str
    """`bed at 4`, `contact Js/Ts`."""
    grade: Grade
    credit: float
    """0 to 1."""
    note: str = ""
    """What is off, without what the key has."""
    weight: float = 1.0
    """Beside the other items of the part."""
    span: Span | None = None
    pair: StationPair | AttitudePair | ContactPair | UnitPair | ThicknessPair | None = None
    """What of the key it was held against."""
    limit: float | None = None
    """Metres or degrees that it may be off for full marks."""


@record(frozen=True, slots=True, kw_only=True)
class PartMarks:
    """The marks of one part."""

    part: Part
    of: float
    scored: float
    items: tuple[Marked, ...]


@record(frozen=True, slots=True, kw_only=True)
class Comparison:
    """A log held against the key."""

    log: str
    """Its name, or its id."""
    standing: Paired
    mended: Paired
    """With the causes mended; the same where there are none."""
    causes: tuple[Cause, ...]
    apart: tuple[LegApart, ...]
    ways: tuple[WayApart, ...]
    marks: tuple[PartMarks, ...]
    """As the log stands."""
    marks_mended: tuple[PartMarks, ...]
    lengths: Lengths
    """In which the party measures."""
    notes: tuple[str, ...] = ()
    """What could not be compared, and why; and how stations were paired where their names do not say."""
    for_leader: tuple[str, ...] = ()
    """The same as far as it names what the key has."""
    files: Mapping[str, str] = field(default_factory=dict)
    """What the files besides the log's own are called, by name."""

    def line_of(self, span: Span) -> str:
        """A line in words: its number, and of another file than the log's whose it is."""
        called = self.files.get(span.file)
        return str(span.line) if called is None else f"{span.line} of {called}"

    def lines_of(self, spans: Sequence[Span]) -> str:
        """From the first of some lines of a way to the last, in words."""
        first, last = (self.line_of(spans[at]) for at in (0, -1))
        return f"line {first}" if first == last else f"lines {first} to {last}"


@record(frozen=True, slots=True, kw_only=True)
class PartyReading:
    """What one party read at an outcrop that others read too."""

    log: str
    dip_deg: float
    dip_direction_deg: float
    off_deg: float
    """Its pole from the mean of the others."""
    out: bool
    """Whether it lies out of what one plane is read as."""


@record(frozen=True, slots=True, kw_only=True)
class SharedOutcrop:
    """An outcrop that several parties measured."""

    station: str
    """Of the key."""
    kind: str
    readings: tuple[PartyReading, ...]
    dip_deg: float
    """Of the mean of those that don't lie out; of all where all do."""
    dip_direction_deg: float | None
    spread_deg: float
    """Root mean square of the poles about that mean."""
    n: int
    """Readings in the mean."""


def total(marks: tuple[PartMarks, ...]) -> tuple[float, float]:
    """Marks scored, and what they are out of."""
    return sum(one.scored for one in marks), sum(one.of for one in marks)
