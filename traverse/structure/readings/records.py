"""Readings where they were taken, turned to true north, and what they say together."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from enum import Enum
from typing import TypeAlias

from traverse.angle import wrap_180, wrap_360
from traverse.location.records import PlacedAddress
from traverse.log.items import (
    Apparent,
    Certainty,
    Contact,
    ContactKind,
    HowMet,
    LineKind,
    Lines,
    NotedThing,
    PlaneKind,
    Planes,
    Tops,
    UnitHere,
    WayUp,
)
from traverse.log.readings import Quality
from traverse.record import record
from traverse.settled import SAME_DEG, settled
from traverse.source import Span
from traverse.trade import ALIKE_DEG, FOLDED_DEG, LETTER_REFUSED_DEG, STRIKE_LOST_DEG


def strike_sd_deg(sd_deg: float, dip_deg: float) -> float:
    """Standard error of the strike of a plane, by that of its pole.

    Source: to first order the strike is off by the error of the pole over sin(dip).
    """
    return sd_deg / max(1e-6, math.sin(math.radians(dip_deg)))


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
    checked: bool = False
    """Whether a `checked` below its line says that it was looked at again."""
    as_limb_over: bool = False
    """Of one whose way-up was not seen: whether those about it that lie alike were seen to be overturned."""

    @property
    def lies_over(self) -> bool:
        """Whether it is drawn upside down: by its own way-up, else by that of its limb."""
        return self.as_limb_over if self.upside_down is None else self.upside_down

    @property
    def read_twice(self) -> bool:
        """Whether it is no slip of one reading: it was looked at again, or several of its surface agree."""
        several = self.n > 1 and isinstance(self.booked, Planes) and self.spread_deg <= ALIKE_DEG / 2.0
        return self.checked or several

    @property
    def strike_deg(self) -> float:
        """Right-handed, true; 0 of a flat one."""
        return 0.0 if self.flat else wrap_360(settled(self.dip_direction_deg - 90.0))

    @property
    def course_deg(self) -> float | None:
        """The strike that it is carried along; None of a flat one, which has none."""
        return None if self.flat else self.strike_deg

    @property
    def strike_known(self) -> bool:
        """Whether it strikes some way rather than any: so nearly flat, a bed's error turns its strike at will."""
        return not self.flat and strike_sd_deg(self.sd_deg, self.dip_deg) <= STRIKE_LOST_DEG + SAME_DEG

    @property
    def tops_along_strike(self) -> bool:
        """Whether the direction that it was seen to young to is nearer to its strike than to its dip, and tells no side."""
        if self.tops_toward_deg is None or self.flat:
            return False
        off = abs(wrap_180(self.tops_toward_deg - self.dip_direction_deg))
        return LETTER_REFUSED_DEG < off < 180.0 - LETTER_REFUSED_DEG

    @property
    def upside_down(self) -> bool | None:
        """Whether a bed is overturned, by what was seen of its way-up; None where nothing was.

        A direction of younging leans toward the dip in an upright bed and against it in an overturned one.
        """
        if self.tops is not None and self.tops.tops in {Tops.UP, Tops.DOWN}:
            return self.tops.tops is Tops.DOWN
        if self.tops_toward_deg is not None and not (self.flat or self.tops_along_strike):
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


@record(frozen=True, slots=True, kw_only=True)
class StrikeAttitude(Measured):
    """One line of readings of a plane whose dip was not read: a strike, which takes part in nothing that wants planes."""

    booked: Planes
    kind: PlaneKind
    strike_deg: float
    """True; of its two ends the one that was written."""


Attitude: TypeAlias = PlaneAttitude | LineAttitude | StrikeAttitude


def bedding(attitudes: Iterable[Attitude]) -> tuple[PlaneAttitude, ...]:
    """Those that are beds."""
    return tuple(one for one in attitudes if isinstance(one, PlaneAttitude) and one.kind is PlaneKind.BED)


def by_rule(written: str) -> bool:
    """Whether a plane was written without a letter or an arrow, so that the line `attitudes` says which way it dips."""
    figures = written.partition(",")[0].split()
    first, _, second = figures[0].partition("/") if figures else ("", "", "")
    return first.isdigit() and (second.isdigit() or second.lower() in {"", "?", "vert", "vertical"})


def distinct(beds: Iterable[PlaneAttitude]) -> tuple[PlaneAttitude, ...]:
    """Beds without those logged twice, word for word at one place."""
    once: dict[tuple[float, float, str], PlaneAttitude] = {}
    for bed in beds:
        once.setdefault((bed.place.east_m, bed.place.north_m, bed.written), bed)
    return tuple(once.values())


@record(frozen=True, slots=True, kw_only=True)
class JointOutcrop:
    """One kind of plane at one place, as several parties read it."""

    kind: PlaneKind
    read: tuple[PlaneAttitude, ...]
    """In the order of the log."""
    off_deg: tuple[float, ...]
    """Of each, from the mean of the others."""
    out: tuple[bool, ...]
    """Which of them disagree: of two, both."""
    mean: PlaneAttitude | None
    """Of those that agree, at the place of the first of them; None where fewer than two do."""
    near: bool = False
    """Whether no tie says that it is one place, and no error parts the places."""

    @property
    def agreed(self) -> tuple[PlaneAttitude, ...]:
        """Those that don't lie out."""
        return tuple(one for one, out in zip(self.read, self.out, strict=True) if not out)


def each_once(attitudes: Sequence[Attitude], shared: Sequence[JointOutcrop]) -> tuple[Attitude, ...]:
    """The attitudes with the mean of an outcrop where parties agree, in place of what each of them read."""
    means = {one.agreed[0].span: one.mean for one in shared if one.mean is not None}
    gone = {two.span for one in shared if one.mean is not None for two in one.agreed[1:]}
    return tuple(means.get(one.span, one) for one in attitudes if one.span not in gone)


def on_each_walk(attitudes: Sequence[Attitude], shared: Sequence[JointOutcrop]) -> tuple[Attitude, ...]:
    """The attitudes with that mean at the line of each who agrees: what a party met is held against the beds of its own walk."""
    means = {
        two.span: _as_read(one.mean, two) for one in shared if one.mean is not None for two in one.agreed
    }
    return tuple(means.get(one.span, one) for one in attitudes)


def _as_read(mean: PlaneAttitude, one: PlaneAttitude) -> PlaneAttitude:
    """A mean as the plane of one of those that it is of."""
    return replace(
        one,
        dip_deg=mean.dip_deg,
        dip_direction_deg=mean.dip_direction_deg,
        flat=mean.flat,
        n=mean.n,
        spread_deg=mean.spread_deg,
        sd_deg=mean.sd_deg,
        tops=mean.tops,
        tops_toward_deg=mean.tops_toward_deg,
    )


@record(frozen=True, slots=True, kw_only=True)
class JointPlace:
    """One place that parties put in different units."""

    booked: tuple[UnitHere, ...]
    near: bool = False
    """Whether no tie says that it is one place, and no error parts the places."""

    @property
    def stations(self) -> tuple[str, ...]:
        """Its names."""
        return tuple(
            dict.fromkeys(one.address.station for one in self.booked if one.address.station is not None)
        )

    @property
    def letters(self) -> tuple[str, ...]:
        """Of the units, each once."""
        return tuple(dict.fromkeys(one.letters for one in self.booked))

    @property
    def alone(self) -> UnitHere | None:
        """What one party booked against two or more that agree; None where none stands alone so."""
        for one in self.booked:
            others = [other for other in self.booked if other.span.file != one.span.file]
            agree = len({other.letters for other in others}) == 1 and others[0].letters != one.letters
            if agree and len({other.span.file for other in others}) > 1:
                return one
        return None


@record(frozen=True, slots=True, kw_only=True)
class Surface:
    """How a contact or fault lies where it was met."""

    strike_deg: float | None
    """True and right-handed; None of a level one."""
    dip_deg: float
    sd_deg: float
    """Of its pole in any one direction."""
    through: int = 0
    """0 where it was read there; else it is the plane through so many places of the contact."""


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
    """Half the stretch it lies in, or its ± as noted."""
    own_sd_m: float = 0.0
    """Of its place along the walk, the error of the walk apart."""
    sd_m: float
    """Along the leg: of its place there, joined with the station's own."""
    strike_deg: float | None
    """True and right-handed, as given on its line; None where none was."""
    dip_deg: float | None
    course_deg: float | None
    """True azimuth it is drawn along: that of its surface, else that of the nearest bed; None where no bed is known."""
    surface: Surface | None = None
    """As read on its line, else through its own places, or as its fault was read at another; None where nothing tells."""
    lies: Surface | None = None
    """As its surface, else as the beds about it; None where neither tells."""
    of_fault: int | None = None
    """Number of the fault that it is one of several places of; None of one met once, and of what is no fault."""

    @property
    def met(self) -> HowMet:
        """How the walk met it."""
        return self.booked.met


@record(frozen=True, slots=True, kw_only=True)
class MeanBedding:
    """The plane nearest to all beds: the principal axis of their poles, which have no sense."""

    dip_deg: float
    dip_direction_deg: float
    kappa: float | None
    alpha95_deg: float | None
    n: int

    @property
    def stands_for_all(self) -> bool:
        """Whether it is a plane that the beds lie in: one, all alike, or a cone no wider than what tells two limbs apart."""
        return self.kappa is None or (self.alpha95_deg is not None and self.alpha95_deg <= FOLDED_DEG)


@record(frozen=True, slots=True, kw_only=True)
class FoldAxis:
    """The line that the beds turn about."""

    trend_deg: float
    plunge_deg: float
    rms_deg: float
    """Of the poles off their girdle."""
    n: int
    sd_deg: float | None = None
    """Standard error in the direction in which it is known worst."""


class NoGirdle(Enum):
    """Why beds make no axis."""

    FEW = "too few"
    ALIKE = "too much alike"
    SCATTERED = "too far off any girdle"
    NO_GIRDLE = "spread no more along a girdle than across it"
    CONICAL = "nearer to a cone than to a line"
    ONE_READING = "one reading alone lies apart"
    ACROSS_FAULT = "they turn across a fault alone"


ABOUT_NO_LINE = frozenset({NoGirdle.SCATTERED, NoGirdle.NO_GIRDLE, NoGirdle.CONICAL})
"""Of beds that are enough and turn, but about no one line."""


@record(frozen=True, slots=True, kw_only=True)
class NoAxis:
    """That beds make no axis, and what they lack."""

    why: NoGirdle
    n: int
    widest_deg: float | None = None
    """Most that two of them lie apart; None where they are too few."""
    rms_deg: float | None = None
    farthest: int | None = None
    """Which of them alone lies apart."""


@record(frozen=True, slots=True, kw_only=True)
class PoleDensity:
    """How closely the poles that go down from beds crowd."""

    levels: tuple[int, ...]
    """That are reached: multiples of the density of an even spread."""
    lines: tuple[tuple[tuple[float, float], ...], ...]
    """Of equal density, on an equal-area net of the lower hemisphere of radius 1 about (0, 0), north up; they run a
    little over its rim."""


@record(frozen=True, slots=True, kw_only=True)
class Placed:
    """A thing described at a place."""

    record: NotedThing
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
class Rose:
    """Directions of flow, from currents and cross-beds, with tilted beds laid flat first."""

    class_deg: float
    """Width of a class."""
    counts: tuple[float, ...]
    """Of each class clockwise, the first about true north; a line of unknown sense counts half on either side."""
    n: int
    n_axial: int
    """How many of them have no sense."""
    mean_deg: float | None
    """Vector mean of those whose sense is known, else the mean line, in [0, 180); None where they cancel."""
    strength: float
    """Length of the mean vector, 0 all ways alike to 1 all one way."""
