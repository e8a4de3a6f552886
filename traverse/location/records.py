"""Where everything lies, as the sheet, the structure and the exports take it."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import field
from enum import Enum
from typing import TYPE_CHECKING, Protocol, TypeAlias

from traverse.log.items import Address, Elevation, Leg, Sight, Tie
from traverse.log.readings import PaceCourse
from traverse.log.records import Control, Rule
from traverse.record import record
from traverse.source import Span
from traverse.trade import ClosingLimits, closing_limits
from traverse.wording import listed

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Rests: TypeAlias = tuple[tuple[str, float], ...]
"""What a place rests on: stations, each with its share of it."""


class PlaceKind(Enum):
    """How a station got its place."""

    CONTROL = "control"
    UNUSED = "control not used"
    """A known point that the walk contradicts: its place is where the walk came to."""
    WALKED = "walked"
    SIDE = "side"
    SIGHTED = "sighted"


class Standing(Enum):
    """What the closures of a walk say of a place or a leg."""

    ADJUSTED = "adjusted"
    """It lies on a loop or tie that closes."""
    UNCHECKED = "unchecked"
    """No loop or tie comes by."""
    NOT_ADJUSTED = "not adjusted"
    """It hangs on a loop or tie that was left open."""


class LoopKind(Enum):
    """What a misclosure is taken over."""

    LOOP = "loop"
    TIE = "tie"


class HeightsMeasured(Enum):
    """How many legs had a slope."""

    MEASURED = "measured"
    PARTLY = "partly"
    NONE = "none"


@record(frozen=True, slots=True, kw_only=True)
class Vector:
    """A difference or a place in the grid; `up` is None where no height is known."""

    east_m: float
    north_m: float
    up_m: float | None


@record(frozen=True, slots=True, kw_only=True)
class Ellipse:
    """Error ellipse of one standard deviation."""

    major_m: float
    minor_m: float
    azimuth_deg: float
    """Grid azimuth of the major axis, in [0, 180)."""


@record(frozen=True, slots=True, kw_only=True)
class PaceLength:
    """Length of a pace with its standard error."""

    course: PaceCourse
    length_m: float
    sd_m: float | None
    """Standard error of the mean; None with one walk or a stated length."""


@record(frozen=True, slots=True, kw_only=True)
class Place:
    """A station or landmark."""

    name: str
    kind: PlaceKind
    east_m: float
    north_m: float
    up_m: float | None
    raw: Vector
    """By the first leg that reached it, before adjustment."""
    lon_deg: float | None = None
    lat_deg: float | None = None
    sd_east_m: float | None = None
    """None where nothing is known; 0 where it is held."""
    sd_north_m: float | None = None
    sd_up_m: float | None = None
    ellipse: Ellipse | None = None
    relative_up_m: float = 0.0
    """As `up_m`; where no height is known, counted from the first control of the piece. For differences."""
    standing: Standing = Standing.UNCHECKED

    @property
    def sd_plan_m(self) -> float:
        """The root of its variances east and north, one standard deviation; 0 where nothing is known."""
        return math.hypot(self.sd_east_m or 0.0, self.sd_north_m or 0.0)


@record(frozen=True, slots=True, kw_only=True)
class ReadingCheck:
    """How the rest of the network checks one reading."""

    redundancy: float
    """Share of an error in the reading that would show, 0 to 1."""
    standardised: float | None
    """As read minus as adjusted, over its standard deviation; None where nothing checks it."""


@record(frozen=True, slots=True, kw_only=True)
class LegCheck:
    """How the rest of the network checks a leg, by least squares."""

    distance: ReadingCheck
    slope: ReadingCheck
    bearing: ReadingCheck


@record(frozen=True, slots=True, kw_only=True)
class NetworkTest:
    """Sum of the weighted squares of all residuals against what is expected."""

    chi_square: float
    freedom: int
    limit: float
    """95 good networks in 100 stay below."""


@record(frozen=True, slots=True, kw_only=True)
class PlacedLeg:
    """A leg reduced, and as it lies after adjustment."""

    booked: Leg
    azimuth_true_deg: float
    """Reconciled from fore and back bearing, from true north."""
    ground_m: float
    """As walked, along the slope unless `horizontal`."""
    horizontal_m: float
    """On the ground's own level."""
    rise_m: float
    """0 where no slope was booked."""
    slope_known: bool
    fore_back_deg: float | None
    """Fore minus back minus 180, in (-180, 180]; None without a back bearing."""
    bearing_sd_deg: float
    distance_sd_m: float
    """Along the ground."""
    raw: Vector
    """In the grid."""
    adjusted: Vector
    """As it is drawn: between its stations; `raw` of a leg that closes what was not adjusted."""
    check: LegCheck | None = None
    """None for a leg that took no part."""
    standing: Standing = Standing.UNCHECKED


@record(frozen=True, slots=True, kw_only=True)
class Misclosure:
    """Computed end minus known end."""

    east_m: float
    north_m: float
    up_m: float | None
    distance_m: float
    """Horizontal."""
    azimuth_deg: float
    """Grid azimuth from the known end to the computed one."""


@record(frozen=True, slots=True, kw_only=True)
class ErrorShares:
    """What an expected misclosure is made of: shares of its plan variance, together 1."""

    bearing: float
    distance: float
    slope: float
    known_points: float
    """Of the controls at its ends."""
    calibration: float = 0.0
    """Of the pace's length: common to all legs of one pacer, so no loop of theirs shows it."""


@record(frozen=True, slots=True, kw_only=True)
class Closure:
    """A loop or a tie, and how it closes."""

    kind: LoopKind
    span: Span
    """The line that makes it."""
    stations: tuple[str, ...]
    """Along the walk; a loop's first station once."""
    legs: tuple[Leg, ...]
    length_m: float
    """Horizontal, as walked."""
    misclosure: Misclosure
    ratio: float | None
    """Length over horizontal misclosure; None below 0.5 mm."""
    expected_m: float
    """Square root of the sum of the two plan variances expected from the precision."""
    covariance_m2: tuple[tuple[float, float], tuple[float, float]]
    """Expected covariance in east and north."""
    sd_up_m: float | None
    q: float
    """Chi-square with 2 degrees of freedom."""
    q_up: float | None
    """Chi-square with 1 degree of freedom."""
    adjusted: bool
    """Whether it took part in the adjustment in plan."""
    adjusted_up: bool
    tests: int = 1
    """Among how many tests its limits are shared: all ties between parties share one chance of a false alarm."""
    of_wrong_point: bool = False
    """Whether it fails by a known point that all else speaks against: that is set aside, and the walk holds by the rest."""
    hung: bool = False
    """Whether it would let a party whose own loop fails hold others: it takes no part, however it closes."""
    shares: ErrorShares | None = None
    """None where everything is held without error."""
    decides: str | None = None
    """Of what would explain it: the one thing to read on the ground that tells the likeliest apart."""

    @property
    def limits(self) -> ClosingLimits:
        """From which chi-square it is told, and from which it is not adjusted."""
        return closing_limits(self.tests)


@record(frozen=True, slots=True, kw_only=True)
class Suspect:
    """A reading that would explain a misclosure, were it another."""

    span: Span
    start: str | None
    """Of the leg; None for what is no leg's own reading, such as the figures of a control."""
    end: str | None
    what: str
    """Whose reading it is: `3 to 4`, `control 5`, `the declination`."""
    slip: str
    """In trade words, such as `E and W exchanged`."""
    reading: str
    """What the page may have said."""
    misclosure_after_m: float
    q_after: float
    written: str = ""
    """What the log says there."""
    left_out: str = ""
    """The station whose leg is not on the page, of the leg that stands in its place; empty for a reading."""


@record(frozen=True, slots=True, kw_only=True)
class OddHeight:
    """A figure that the rest of the heights contradicts: a reading, the height of a known point, or the slope of a leg."""

    reading: Elevation | None = None
    control: int | None = None
    """Its station."""
    edge: int | None = None
    span: Span
    what: str
    written: str
    height_m: float = 0.0
    """As it stands; of a height."""
    meant: str = ""
    """The likeliest other figure; empty where no usual slip explains it."""
    slip: str = ""
    after_m: float = 0.0
    """By how much it would be off."""
    rise_m: float = 0.0
    """How much more its leg would rise; of a slope."""
    rank: float
    """Twice the negative log-likelihood, but for a constant."""
    or_meant: str = ""
    """Another figure of the same that is about as likely, in words."""
    others: tuple[OddHeight, ...] = ()
    """Those that would explain it about as well."""

    @property
    def in_other_unit(self) -> bool:
        """Whether the figure may have been in feet and not in metres, or the other way about."""
        return " taken for " in self.slip

    @property
    def or_others(self) -> str:
        """Those in words."""
        each = [
            f"{other.what}{f', {other.meant},' if other.meant else ''} (line {other.span.line})"
            for other in self.others
        ]
        return f"; {listed(each, last='or')} would explain it about as well" if each else ""


@record(frozen=True, slots=True, kw_only=True)
class OddHeights:
    """All that are set aside in a log."""

    found: tuple[OddHeight, ...] = ()

    @property
    def readings(self) -> frozenset[int]:
        """Identities of readings."""
        return frozenset(id(one.reading) for one in self.found if one.reading is not None)

    @property
    def controls(self) -> frozenset[int]:
        """Stations of known points whose height is set aside."""
        return frozenset(one.control for one in self.found if one.control is not None)

    @property
    def edges(self) -> frozenset[int]:
        """Legs whose slope is set aside."""
        return frozenset(one.edge for one in self.found if one.edge is not None)

    def of(self, reading: Elevation) -> OddHeight | None:
        """What is said of a reading."""
        return next((one for one in self.found if one.reading is reading), None)


@record(frozen=True, slots=True, kw_only=True)
class Deviation:
    """Local attraction at a station: what was read there minus what a free compass would read."""

    station: str
    degrees: float


@record(frozen=True, slots=True, kw_only=True)
class Fit:
    """The raw log against points known apart from it."""

    stations: tuple[str, ...]
    rotation_deg: float
    """How far the log is turned clockwise of the known points."""
    rotation_sd_deg: float
    scale: float
    """The log's distances over theirs."""
    scale_sd: float
    cause: str | None
    log: str | None = None
    """Of one party among several: its file. Then the places are those that others stood at as well."""
    span: Span | None = None
    """Line of its heading that the difference most likely comes from."""


@record(frozen=True, slots=True, kw_only=True)
class PartyCheck:
    """What checks the walk of one party among several."""

    log: str
    """Its file."""
    loops: bool
    """Whether it closes a loop by itself."""
    ratio: float | None
    """Of its worst loop, its length over how far it misses; None below 0.5 mm, and without one."""
    fails: bool
    """Whether that loop was not adjusted."""
    whole: bool
    """Whether anything closes over it and others, or between known points: a loop shows no turn and no scale."""


@record(frozen=True, slots=True, kw_only=True)
class WalkAside:
    """The walk of a party that takes no part, as walked from one place that it shares with the others."""

    party: int
    """Which of `Log.parties`."""
    hangs_on: str
    places: Mapping[str, tuple[float, float]]
    """East and north in the grid by its own names, that with which it hangs among them."""
    legs: tuple[tuple[str, str], ...]
    closures: tuple[Closure, ...] = ()
    """Of its own loops."""


@record(frozen=True, slots=True, kw_only=True)
class PlacedAddress:
    """Where an address lies on the ground."""

    address: Address
    east_m: float
    north_m: float
    up_m: float | None
    half_width_m: float | None
    """Half the length of a stretch; None for a point."""
    sd_m: float
    """Larger half-axis of the place's own error ellipse; 0 where it is held."""
    covariance_m2: tuple[tuple[float, float, float], ...] | None = None
    """Of the place in east, north and up, 3 by 3; the stretch it may lie in apart. None where nothing is known."""
    leg_azimuth_deg: float | None = None
    """Grid azimuth of the adjusted leg it lies on."""
    leg_slope_deg: float = 0.0
    """How steeply that leg rises."""
    start_share: float | None = None
    """Share of the leg at which it begins, 0 to 1."""
    end_share: float | None = None
    relative_up_m: float = 0.0
    """As `up_m`; where no height is known, counted from the first control of the piece. For differences."""
    right_m: float = 0.0
    """How far to the right of the leg it lies, facing forward; below 0 to the left."""
    ends: tuple[tuple[float, float, float], ...] = ()
    """Of a stretch: east, north and `relative_up_m` where it begins and where it ends. Empty for a point."""

    @property
    def rests_on(self) -> Rests:
        """Its station, or the two of its leg; a stretch by its middle."""
        return self._resting_at(self.middle_share or 0.0)

    @property
    def middle_share(self) -> float | None:
        """Share of the leg at which it lies, of a stretch half-way along; None at a station."""
        if self.start_share is None or self.end_share is None:
            return self.start_share
        return (self.start_share + self.end_share) / 2.0

    @property
    def ends_rest_on(self) -> tuple[Rests, ...]:
        """The same of both ends of a stretch; empty for a point."""
        return tuple(
            self._resting_at(one)
            for one in (self.start_share, self.end_share)
            if one is not None and self.ends
        )

    def _resting_at(self, share: float) -> Rests:
        leg = self.address.leg
        if leg is None or self.start_share is None:
            return ((self.address.station or "", 1.0),)
        return ((leg.start, 1.0 - share), (leg.end, share))


class MapSystem(Protocol):
    """The projected system behind a grid, for what goes out by longitude and latitude."""

    def to_lon_lat(
        self, east_m: NDArray[np.float64], north_m: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """WGS 84 longitude and latitude in degrees of places, each (n,)."""

    def own_lon_lat(
        self, east_m: NDArray[np.float64], north_m: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Longitude and latitude in degrees on the system's own datum, each (n,)."""

    @property
    def wkt(self) -> str:
        """The system in well-known text, version 1."""


@record(frozen=True, slots=True, kw_only=True)
class Frame:
    """The grid, and how the norths lie in it."""

    epsg: int | None
    name: str
    """Such as `ETRS89 / UTM zone 30N`, or `local grid`."""
    local: bool
    """Whether positions are only relative to the first station."""
    convergence_deg: float | None
    """At the first control: true azimuth minus grid azimuth; None in a local grid."""
    declination_deg: float | None
    """On the first day, east positive; None where none is in force."""

    @property
    def to_true_deg(self) -> float:
        """Degrees that turn an azimuth of the grid to true north; 0 in a local grid."""
        return 0.0 if self.convergence_deg is None else self.convergence_deg

    declination_note: str | None
    """Source and year in words."""
    accuracy_m: float | None = None
    """Of the transformation to latitude and longitude, where it is known."""
    system: MapSystem | None = field(default=None, compare=False, repr=False)
    """None of a local grid."""


@record(frozen=True, slots=True, kw_only=True)
class PlacedTrack:
    """A way that a receiver wrote down, in the grid."""

    name: str | None
    lines: tuple[tuple[tuple[float, float], ...], ...]
    """East and north, metres, along the way."""
    span: Span


@record(frozen=True, slots=True, kw_only=True)
class Survey:
    """The walk, reduced, adjusted and placed."""

    frame: Frame
    paces: tuple[PaceLength, ...]
    places: Mapping[str, Place]
    """By name, in the order of the log."""
    legs: tuple[PlacedLeg, ...]
    """In the order of the log."""
    addresses: tuple[PlacedAddress | None, ...]
    """As `Log.addresses`; None for what can't be placed."""
    closures: tuple[Closure, ...]
    rule: Rule
    """Rule that placed the stations."""
    anyway: str | None
    heights: HeightsMeasured
    unnamed_suspects: tuple[Suspect, ...] = ()
    """Readings that would explain a misclosure as well as many others do, beside the few of them that are suspects."""
    suspects: tuple[Suspect, ...] = ()
    deviations: tuple[Deviation, ...] = ()
    """Taken out of what was read there."""
    deviations_left: tuple[Deviation, ...] = ()
    """Too large to be taken out unasked: left in, and asked about."""
    fits: tuple[Fit, ...] = ()
    aside: tuple[WalkAside, ...] = ()
    """Parties that are left out, because they do not fit."""
    party_checks: tuple[PartyCheck, ...] = ()
    """Of the parties of a camp that walked."""
    ties: tuple[Tie, ...] = ()
    tracks: tuple[PlacedTrack, ...] = ()
    """Of receivers, to be drawn; no place rests on them."""
    sights: tuple[Sight, ...] = ()
    apart: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    """Known points that were sighted and never walked to: east and north in metres of the grid, by name."""
    model_declinations: Mapping[dt.date, float] = field(default_factory=dict)
    """Declination by day, degrees east, where the log takes it from the model."""
    network_test: NetworkTest | None = None
    """None where nothing is measured twice."""
    control_sd_m: float | None = None
    """Plan standard deviation of the first control; None where it is held or there is none."""
    common_control: Control | None = None
    """The one control whose own error all places share, so that theirs can be told apart from it."""
    joint_m2: Callable[[Sequence[Rests]], NDArray[np.float64]] | None = field(
        default=None, compare=False, repr=False
    )
    """Covariance of places by what they rest on, each with each, (n, n, 3, 3) in east, north and up: what two of them
    share is in the block between them, so that it cancels in a difference. For few; None of a survey without errors."""
    apart_m2: Callable[[Sequence[tuple[Rests, Rests]]], NDArray[np.float64]] | None = field(
        default=None, compare=False, repr=False
    )
    """Covariance of the way from one place to another, (n, 3, 3), for pairs by what they rest on: only the walk between
    counts. For many, next to each other on the walk; None of a survey without errors."""

    def apart_sd_m(self, pairs: Sequence[tuple[str, str]]) -> NDArray[np.float64]:
        """What two stations may come out apart by error, one standard deviation, of each pair of names, shape (n,).

        The root of the variances east and north of the way between the two: what both rest on cancels. Of a survey with errors.
        """
        assert self.apart_m2 is not None
        variance = self.apart_m2([(((one, 1.0),), ((other, 1.0),)) for one, other in pairs])
        found: NDArray[np.float64] = (variance[:, 0, 0] + variance[:, 1, 1]) ** 0.5
        return found

    @property
    def common_height_sd_m(self) -> float | None:
        """Of that control's height, where it alone holds all heights; None where heights that were read hold the start as well.

        Those make the start better than its control is, so that the error is no longer one that all places share.
        """
        common = self.common_control
        if common is None or common.sd_height_m is None or (start := self.places.get(common.name)) is None:
            return None
        held_m = start.sd_up_m
        return None if held_m is None or held_m < common.sd_height_m - _HAIR_M else common.sd_height_m

    def own_sd_m(self, sd_m: float | None) -> float | None:
        """A standard deviation in plan less the one that all places share; of several known points or none, as it is."""
        return own_sd(sd_m, None if self.common_control is None else self.common_control.sd_plan_m)

    def plan_sd_m(self, place: Place) -> float | None:
        """How well a place is known east and north, the worse of the two, after the adjustment and as `own_sd_m`.

        None where nothing tells it, as of what was not adjusted.
        """
        if place.sd_east_m is None or place.standing is Standing.NOT_ADJUSTED:
            return None
        return self.own_sd_m(max(place.sd_east_m, place.sd_north_m or 0.0))

    @property
    def worst_station_m(self) -> float | None:
        """The largest `plan_sd_m` of all stations, landmarks that were only sighted apart; None where none is known."""
        walked = {name for leg in self.legs for name in (leg.booked.start, leg.booked.end)}
        stations = (
            one for name, one in self.places.items() if one.kind is not PlaceKind.SIGHTED or name in walked
        )
        return max((sd for one in stations if (sd := self.plan_sd_m(one)) is not None), default=None)

    def at(self, address: Address) -> PlacedAddress | None:
        """Where an address lies, or None where its station has no place."""
        return self.addresses[address.index]

    def left_open(self, address: Address) -> bool:
        """Whether its station or leg hangs on a loop or tie that was not adjusted: no precision tells how far it is off."""
        if address.leg is not None and 0 <= address.leg.index < len(self.legs):
            return self.legs[address.leg.index].standing is Standing.NOT_ADJUSTED
        place = self.places.get(address.station or "")
        return place is not None and place.standing is Standing.NOT_ADJUSTED

    def way_open(self, first: Address, second: Address) -> bool:
        """Whether the way from one address to another is over what was not adjusted, so that no precision tells how far off it is."""
        if first.leg is not None and first.leg is second.leg:
            return False
        return self.left_open(first) or self.left_open(second)

    @property
    def adjusted(self) -> bool:
        """Whether every closure took part in the adjustment that does not fail by a wrong known point alone."""
        return all(one.adjusted or one.of_wrong_point for one in self.closures)

    @property
    def ends_elsewhere(self) -> Span | None:
        """The leg of which it is likeliest that it came to another station than the one written; None where none is."""
        first = self.suspects[0] if self.suspects else None
        came_elsewhere = first is not None and first.start is not None and first.reading.startswith("close ")
        return first.span if first is not None and came_elsewhere else None

    @property
    def done(self) -> Rule:
        """The rule that moved stations; none where no loop and no tie took part."""
        return self.rule if any(one.adjusted for one in self.closures) else Rule.NONE


def own_sd(sd_m: float | None, common_m: float | None) -> float | None:
    """A standard deviation less the one that all places share; 0 below a hair, None where none is known.

    >>> own_sd(5.0, 4.0), own_sd(4.0, 4.0), own_sd(2.0, None), own_sd(None, 4.0)
    (3.0, 0.0, 2.0, None)
    """
    if sd_m is None or common_m is None:
        return sd_m
    own = math.sqrt(max(0.0, sd_m**2 - common_m**2))
    return 0.0 if own < _HAIR_M else own


_HAIR_M = 0.005
