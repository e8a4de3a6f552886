"""What lies between the arms of a walk, and all that is known of a traverse in one record."""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum
from typing import TYPE_CHECKING, TypeAlias

from traverse.location.records import PaceLength, Survey
from traverse.log.items import Certainty, GroundLine
from traverse.log.readings import North
from traverse.log.records import Log
from traverse.record import record
from traverse.source import Span
from traverse.structure.readings.records import PlacedContact
from traverse.structure.records import Geology
from traverse.structure.section.records import ConstructedLine, Section
from traverse.structure.walk.records import Body, UnbookedChange
from traverse.trade import BAND_M

if TYPE_CHECKING:
    # Shapes and arrays are for what draws a map, and few logs have heights.
    from shapely import LineString, Polygon
    from shapely.geometry.base import BaseGeometry

    from traverse.heights.records import Terrain

Point: TypeAlias = tuple[float, float]
"""East and north in the grid; on a section distance and height; metres."""


@record(frozen=True, slots=True, kw_only=True)
class Outcrop:
    """Where a plane through a contact comes out on the grid of heights, as far as it may be projected."""

    younger: str
    older: str
    lines: tuple[tuple[tuple[float, float], ...], ...]
    """East and north, metres."""
    band: tuple[tuple[tuple[float, float], ...], ...]
    """Outlines of the ground in which it lies within one standard deviation of the heights."""
    strike_deg: float
    """True and right-handed."""
    dip_deg: float
    reach_m: float
    """How far from the contact it was projected at most."""
    sd_up_m: float
    """Height error at the contact."""
    contact: Span
    """The line of the contact that it runs from."""
    span: Span
    """The `trace` line."""


@record(frozen=True, slots=True, kw_only=True)
class Join:
    """Two places where one contact, or one fault, was met on two arms of the walk, and its trace between them."""

    ends: tuple[Span, Span]
    """The lines of the log that the two were written on."""
    fault: bool
    lines: tuple[tuple[tuple[float, float], ...], ...]
    """East and north in metres, from the first end to the second: one piece, or two where a surface deposit that was
    walked on lies between."""
    normal: tuple[float, float, float]
    """Of the plane that holds both places: east, north and up in the grid, of length 1; up, or down where the beds are
    overturned."""
    off_deg: float
    """How far that plane is from the farther one of the two attitudes."""
    over_heights: bool
    """Whether it follows the outcrop over the grid of heights; else it is straight."""


class WhyApart(Enum):
    """Which limit kept two places of one pair of units from being joined."""

    FAR = "farther apart"
    PLANES = "planes"
    """No plane that holds both lies near enough to both attitudes."""
    GENTLE = "gentle"
    """That plane dips too little to say where it comes out."""
    CROSSED = "crossed"
    """The line would run over a fault, a fold's axial trace, another line or ground walked without the contact."""


@record(frozen=True, slots=True, kw_only=True)
class KeptApart:
    """A contact that nothing joins to another arm, the nearest place of the same two units there, and why."""

    ends: tuple[Span, Span]
    apart_m: float
    why: WhyApart
    off_deg: float | None = None
    """Of `PLANES`, by how much the plane that holds both is off the attitude farther from it."""


@record(frozen=True, slots=True, kw_only=True)
class BandWidth:
    """How far to each side of the walk ground was looked at."""

    half_m: float
    asked: bool
    """Whether the log says so; else it is assumed."""


@record(frozen=True, slots=True, kw_only=True)
class UnitArea:
    """Ground of one unit, in as many parts as it has."""

    unit: str | None
    covered: bool
    queried: bool = False
    """Whether the unit is doubted there."""
    parts: tuple[Polygon, ...]


@record(frozen=True, slots=True, kw_only=True)
class CrossedContact:
    """A contact where the band is cut by it."""

    contact: PlacedContact
    at: Point
    line: LineString
    """From edge to edge of the band; or to half-way to the next place where the walk met the same contact."""
    course_known: bool
    tied: bool = False
    """Whether it goes on, from its last point, in the line of another crossing."""
    steep: bool = False
    """Whether it is known to dip so much that it runs on along its strike, whatever the ground does."""
    between: bool = False
    """Whether it does so from its first point too."""


class HowSeen(Enum):
    """How a piece of a contact beside the walk was seen."""

    AT = "at a place"
    ALONG = "all along"
    BETWEEN = "between two places"


@record(frozen=True, slots=True, kw_only=True)
class ContactPiece:
    """Part of a contact beside the walk, or followed along it."""

    contact: PlacedContact
    seen: HowSeen
    at: Point
    """Where it was seen; else its middle."""
    line: LineString
    course_known: bool


@record(frozen=True, slots=True, kw_only=True)
class NarrowBody:
    """An intrusive body that is narrower than the walk knows its place: one line."""

    body: Body
    line: LineString
    """From edge to edge of the band."""
    course_known: bool


@record(frozen=True, slots=True, kw_only=True)
class UnseenChange:
    """A change of unit that nobody booked, where it parts the ground of the two."""

    change: UnbookedChange
    line: LineString
    """Square to the leg, from edge to edge of the band."""


@record(frozen=True, slots=True, kw_only=True)
class Band:
    """The ground that was looked at."""

    whole: BaseGeometry
    areas: tuple[UnitArea, ...]
    crossed: tuple[CrossedContact, ...]
    narrow: tuple[NarrowBody, ...] = ()
    """Their ground is not among the areas, nor are their walls among what is crossed."""
    beside: tuple[ContactPiece, ...] = ()
    """Contacts beside the walk and along it."""
    unseen: tuple[UnseenChange, ...] = ()
    """Where one unit gives way to another and no contact was booked: half-way between the places where each was seen."""


@record(frozen=True, slots=True, kw_only=True)
class FoldTrace:
    """Where an axial surface of a section comes out, run on along its strike."""

    strike_deg: float
    """True azimuth, at the end nearer to the plunge."""
    plunge_deg: float
    """Of the fold axis."""
    lines: tuple[tuple[Point, Point], ...]
    """Toward the plunge: pieces between the arms of the walk, clear of them; one over the ground walked where none is."""


@record(frozen=True, slots=True, kw_only=True)
class Course:
    """A line of the ground that the walk met: a stream, a path, a wall."""

    kind: GroundLine
    name: str | None
    start: Point
    """So far it is drawn, back along the way it runs at the first place."""
    met: Point
    """The first place where the walk met it."""
    curves: tuple[tuple[Point, Point, Point], ...]
    """Cubic curves on to the next places: two handles and the place."""
    end: Point
    line: LineString
    """All of it as straight pieces."""


@record(frozen=True, slots=True, kw_only=True)
class MapGround:
    """What a map shows of the ground, once for all maps of a sheet."""

    band: Band | None
    """None where nobody walked."""
    folds: tuple[FoldTrace, ...]
    courses: tuple[Course, ...]


@record(frozen=True, slots=True, kw_only=True)
class CertaintyRun:
    """A stretch of a section along which a line is known as one of its sightings is; the outer two have no end."""

    start_m: float
    end_m: float
    certainty: Certainty


@record(frozen=True, slots=True, kw_only=True)
class CarriedLine:
    """A constructed line of a section, told apart by ground and air; distance and height, metres at 1:1."""

    of: ConstructedLine
    below: tuple[LineString, ...]
    """In the ground; the younger unit on the left."""
    above: tuple[LineString, ...]
    known: tuple[CertaintyRun, ...]
    """How well, from place to place, by distance."""


@record(frozen=True, slots=True, kw_only=True)
class SectionFill:
    """Ground of one unit on a section."""

    unit: str
    area: Polygon
    """Distance and height, metres at 1:1."""
    start_m: float
    """Between which distances it comes out; of what does not, between which it lies."""
    end_m: float
    base: tuple[Point, ...] = ()
    """Of ground whose base nobody saw, by falling distance: a lens, since how deep it goes is unknown. Else empty."""
    loose: bool = False
    """Whether its base is drawn as a line; that of flat beds is where nobody booked a contact, and colour tells it alone."""


class Evidence(Enum):
    """What a stretch of a section rests on."""

    WALKED = "walked"
    """Its line runs through the band."""
    CARRIED = "carried"
    """Ground walked beside it was carried there."""


@record(frozen=True, slots=True, kw_only=True)
class EvidenceRun:
    """A stretch of a section, by distance; what lies in no run rests on nothing."""

    evidence: Evidence
    start_m: float
    end_m: float


@record(frozen=True, slots=True, kw_only=True)
class SectionCut:
    """A section with the ground under it."""

    section: Section
    looked_at: Polygon
    """From the profile as deep as the ground was looked at; empty where no height was measured, and then there are no
    lines and fills."""
    lines: tuple[CarriedLine, ...]
    fills: tuple[SectionFill, ...]
    """Those of loose ground last, over the others."""
    edges: tuple[LineString, ...] = ()
    """Outlines of intrusive bodies, at which the contacts of the beds end."""
    evidence: tuple[EvidenceRun, ...] = ()
    """By distance, none over another."""
    named: tuple[SectionFill, ...] = ()
    """Ground deeper than the colour, between lines that all tell one unit which has no colour over it there."""
    white_over_m: float | None = None
    """Ground is left without colour where its height may be off by more, square to its beds; None where that leaves none so."""


@record(frozen=True, slots=True, kw_only=True)
class WayBack:
    """The way to a contact from a station on its leg."""

    span: Span
    station: str
    distance_m: float
    """On the level."""
    leg_m: float | None
    """How long its leg is on the level; None where it was booked at a station."""
    reads_deg: float | None
    """What the party's compass reads from there; None at the station."""
    north: North
    """That it counts from."""
    in_quadrants: bool
    """Whether the bearings of its leg were written as quadrant angles."""
    pace: PaceLength | None
    """Of whoever paced there; None where nobody did."""


@record(frozen=True, slots=True, kw_only=True)
class Ground:
    """The ground about the walk."""

    terrain: Terrain | None = None
    """Heights; None without a grid of them."""
    joins: Sequence[Join] = ()
    """Contacts that belong together on two arms of the walk, with what was computed between them."""
    apart: Sequence[KeptApart] = ()
    """Of those that nothing joins, the pairs that come nearest to it."""
    outcrops: tuple[Outcrop, ...] = ()
    """Of every `trace` of the log."""
    width: BandWidth = BandWidth(half_m=BAND_M, asked=False)
    """Of the band, and how deep below it the section is coloured."""
    map: MapGround | None = None
    """Laid for commands that draw a map only; None until then."""
    cuts: tuple[SectionCut, ...] = ()
    """Of the sections, in their order; laid for commands that draw only."""
    meeting: tuple[tuple[str, str], ...] = ()
    """Letters of every two units whose grounds meet on the map or on a section; found for commands that draw a sheet."""
    ways_back: tuple[WayBack, ...] = ()
    """Of the contacts, for whoever goes back there."""


@record(frozen=True, slots=True, kw_only=True)
class Traverse:
    """A traverse: what was booked, where it lies, what it says, and the ground about it."""

    log: Log
    survey: Survey
    geology: Geology
    ground: Ground = Ground()
