"""The slips people make in a reading, as other readings that the page may have said."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from traverse.angle import bearing_text, bearings_exchanged, is_quadrant, wrap_180, wrap_360
from traverse.length import METRES_PER_FOOT
from traverse.log.items import Leg
from traverse.log.readings import North, SlopeKind, Unit
from traverse.numerals import neighbours_exchanged
from traverse.record import record
from traverse.reduction.pace import metres
from traverse.reduction.slope import slope_rad
from traverse.source import Span
from traverse.trade import (
    COMMON_SLIP,
    FACTOR_SLIP,
    LEG_FIGURES,
    RARE_SLIP,
    STEEP_TO_PACE_DEG,
    UNCOMMON_SLIP,
)

LEVEL_RAD = 1e-6
"""A slope below this is the same in degrees and in per cent."""
TOLD_APART = 3.0 * math.sqrt(2.0)
"""Deviations of one bearing by which fore and back have to differ for one of them to be wrong."""
HUNDRED = 100.0
TWICE = "leg booked twice"
OTHER_DISTANCE = "distance misread"
"""Said of a distance that only the closure names."""
OTHER_BEARING = "bearing misread"
"""The same of a bearing."""
OTHER_PACE = "pace misread or miscounted"
"""The same of a pace."""
_ABOUT = "about "
_ONE_FIGURE_SHARE = 0.03
"""Lengths of one leg nearer than this are one figure; common practice, no source."""
GONE_BEFORE = "a leg already booked"


_PER_CENT, _DEGREES = "per cent taken for degrees", "degrees taken for per cent"


@record(frozen=True, slots=True, kw_only=True)
class Slip:
    """One reading changed: of a leg, or of what stands above all legs."""

    edge: int = -1
    """The leg; -1 where it is no leg's own reading."""
    span: Span | None = None
    """Where it stands, if not on the leg."""
    what: str = ""
    """Whose reading it is, if not the leg's: `control 5`."""
    slip: str
    """In trade words."""
    reading: str
    """What the page may have said."""
    written: str = ""
    """What the log says there."""
    turn_deg: float = 0.0
    """Added to the fore bearing."""
    stretch: float = 1.0
    """The distance is multiplied by it."""
    tilt: float = 1.0
    """The slope is multiplied by it."""
    share: float | None = None
    """Precision of the distance as changed, where that is another than it was booked with."""
    rank: float = 0.0
    both_turned: bool = False
    """Whether the back bearing is turned with the fore bearing, so that they agree as before."""
    begun_elsewhere: bool = False
    """Whether the leg would have begun at another station."""

    @property
    def of_reading(self) -> bool:
        """Whether it is a figure of the leg itself that may be wrong."""
        return self.edge >= 0 and (self.turn_deg, self.stretch, self.tilt) != (0.0, 1.0, 1.0)

    @property
    def way(self) -> str:
        """Which way the reading is off, without by how much; empty for a half turn, and for a slope turned about."""
        if self.turn_deg:
            return (
                ""
                if abs(self.turn_deg) == 180.0
                else f"too far to the {'left' if self.turn_deg > 0.0 else 'right'}"
            )
        if self.stretch != 1.0:
            return "too short" if self.stretch > 1.0 else "too long"
        return "" if self.tilt < 0.0 else "too gentle" if self.tilt > 1.0 else "too steep"

    @property
    def is_vague(self) -> bool:
        """Whether only the closure names what it would be."""
        return self.slip in {OTHER_DISTANCE, OTHER_BEARING, OTHER_PACE}

    @property
    def figure(self) -> str:
        """What may be typed in its place."""
        return self.reading.removeprefix(_ABOUT)

    @property
    def is_other_measure(self) -> bool:
        """Whether its slope is read in the other measure."""
        return self.slip in {_PER_CENT, _DEGREES}

    @property
    def is_bearing(self) -> bool:
        """Whether it is the bearing that may be wrong."""
        return self.turn_deg != 0.0


def slips_of(
    edge: int, leg: Leg, declination_deg: float, before: Leg | None = None, *, odd_unit: bool = False
) -> Iterator[Slip]:
    """Every slip that one leg can be tried with, each changed reading once; `before` is the leg above it.

    Of a leg whose unit no other leg has (`odd_unit`) the unit is the likeliest to be wrong.
    """
    seen: set[tuple[float, float, float, bool]] = set()
    for slip in (
        *_bearings(edge, leg, declination_deg),
        *_distances(edge, leg, odd_unit=odd_unit),
        *_slopes(edge, leg),
        *_legs(edge, leg, before),
    ):
        change = round(slip.turn_deg, 6), round(slip.stretch, 9), round(slip.tilt, 9), slip.both_turned
        if change not in seen:
            seen.add(change)
            yield slip


def _bearings(edge: int, leg: Leg, declination_deg: float) -> Iterator[Slip]:
    read = leg.bearing.azimuth_deg
    quadrant = is_quadrant(leg.bearing.written)

    def slip(words: str, azimuth: float, *, rank: float = 0.0) -> Slip:
        return Slip(
            edge=edge,
            slip=words,
            reading=bearing_text(azimuth, quadrant=quadrant),
            written=leg.bearing.written,
            turn_deg=wrap_180(azimuth - read),
            rank=rank,
        )

    back = leg.back_bearing
    from_back = None if back is None else wrap_360(back.azimuth_deg + 180.0)
    most = TOLD_APART * leg.conditions.precision.bearing_deg
    agree = from_back is not None and abs(wrap_180(from_back - read)) <= most
    if back is not None and agree:
        yield replace(
            slip("fore and back bearings exchanged", read + 180.0),
            reading=f"{back.written} back {leg.bearing.written}",
            written=f"{leg.bearing.written} back {back.written}",
            both_turned=True,
        )
    yield slip("bearing reversed", read + 180.0)
    if quadrant:
        if read % 180.0 != 0.0:
            yield slip("E and W exchanged", -read)
        if read % 180.0 != 90.0:
            yield slip("N and S exchanged", 180.0 - read)
    for step, rank in ((10.0, 0.0), (100.0, 0.0), (20.0, RARE_SLIP)):
        for off in (-step, step):
            if quadrant and not _same_quadrant(read, off):
                continue
            way = "large" if off < 0.0 else "small"
            yield slip(f"bearing {step:.0f} degrees too {way}", read + off, rank=rank)
            if back is not None and agree and step == 10.0:
                # As where the second is worked out from the first, or the needle is read by the wrong mark twice.
                turned = bearing_text(wrap_360(back.azimuth_deg + off), quadrant=quadrant)
                yield replace(
                    slip(
                        f"both bearings {step:.0f} degrees too {way}",
                        read + off,
                        rank=UNCOMMON_SLIP + RARE_SLIP,
                    ),
                    reading=f"{bearing_text(read + off, quadrant=quadrant)} back {turned}",
                    written=f"{leg.bearing.written} back {back.written}",
                    both_turned=True,
                )
    for other in bearings_exchanged(read, in_quadrants=quadrant):
        yield slip("digits exchanged", other)
    if not quadrant:
        for other in (read * 10.0, read / 10.0):
            if other < 360.0 and other % 1.0 in {0.0, 0.5} and read > 0.0:
                words = "a nought too few" if other > read else "a nought too many"
                yield slip(words, other, rank=UNCOMMON_SLIP)
    if quadrant and read % 90.0 not in {0.0, 45.0}:
        other = 90.0 * (2.0 * (read // 90.0) + 1.0) - read
        yield slip("quadrant angle read from the other end", other, rank=RARE_SLIP)
    if leg.conditions.bearings is North.MAGNETIC and declination_deg != 0.0:
        yield slip("declination applied twice", read - declination_deg)
    if from_back is not None and not agree:
        yield slip("misread: the back bearing is right", from_back, rank=RARE_SLIP)


def _distances(edge: int, leg: Leg, *, odd_unit: bool) -> Iterator[Slip]:
    value, unit = leg.distance.value, leg.distance.unit
    in_paces = -COMMON_SLIP if odd_unit else RARE_SLIP
    if value <= 0.0:
        return

    def slip(words: str, other: float, written: Unit, stretch: float, *, rank: float = 0.0) -> Slip:
        return Slip(
            edge=edge,
            slip=words,
            reading=f"{other:g}{written.value}",
            written=leg.distance.written,
            stretch=stretch,
            rank=rank,
        )

    precision, pace = leg.conditions.precision, leg.conditions.pace
    for factor, rank in FACTOR_SLIP:
        for stretch in (factor, 1.0 / factor):
            if _can_be_a_leg(value * stretch, unit):
                words = f"{factor:.0f} times too {'small' if stretch > 1.0 else 'large'}"
                yield slip(words, round(value * stretch, 6), unit, stretch, rank=rank)
    whole, rest = divmod(value, 1.0)
    what = "paces" if unit.is_pace else "distance"
    for figures in neighbours_exchanged(f"{whole:.0f}"):
        if int(figures) > 0:
            other = round(int(figures) + rest, 6)
            yield slip(f"digits of the {what} exchanged", other, unit, other / value, rank=RARE_SLIP)
    if not unit.is_pace:
        other_unit = Unit.FEET if unit is Unit.METRES else Unit.METRES
        factor = METRES_PER_FOOT if unit is Unit.METRES else 1.0 / METRES_PER_FOOT
        words = "feet taken for metres" if unit is Unit.METRES else "metres taken for feet"
        yield slip(words, value, other_unit, factor, rank=-COMMON_SLIP if odd_unit else 0.0)
        if pace is not None:
            counted = metres(replace(leg.distance, unit=Unit.PACES), pace)
            factor = counted / metres(leg.distance, None)
            words = f"paces taken for {'metres' if unit is Unit.METRES else 'feet'}"
            yield replace(slip(words, value, Unit.PACES, factor, rank=in_paces), share=precision.pace_share)
        yield slip("leg left out", value, unit, 2.0, rank=RARE_SLIP)
        yield slip(
            "a hundred left out", _plus(value, HUNDRED), unit, (value + HUNDRED) / value, rank=RARE_SLIP
        )
        # 74 for 274: a figure is lost as a hundred is, and which one it was is open.
        for first in range(2, 10) if 10.0 <= value < HUNDRED else ():
            more = _plus(value, first * HUNDRED)
            if _can_be_a_leg(more, unit):
                yield slip("first figure lost", more, unit, more / value, rank=UNCOMMON_SLIP)
        if _can_be_a_leg(value - HUNDRED, unit):
            yield slip(
                "a hundred too many", _plus(value, -HUNDRED), unit, (value - HUNDRED) / value, rank=RARE_SLIP
            )
        return
    if pace is not None:
        factor = value / metres(leg.distance, pace)
        taken = slip("metres taken for paces", value, Unit.METRES, factor, rank=in_paces)
        yield replace(taken, share=precision.tape_share)
    for lost, rank in ((100.0, 0.0), (10.0, RARE_SLIP), (20.0, RARE_SLIP), (50.0, RARE_SLIP)):
        yield slip(f"{lost:.0f} paces dropped", value + lost, unit, (value + lost) / value, rank=rank)
        if value > lost:
            yield slip(f"{lost:.0f} paces too many", value - lost, unit, (value - lost) / value, rank=rank)
    yield slip("double paces counted as single", 2.0 * value, unit, 2.0, rank=RARE_SLIP)
    yield slip("single paces counted as double", value / 2.0, unit, 0.5, rank=RARE_SLIP)


def _plus(value: float, more: float) -> float:
    """A figure with the decimals it was written with."""
    return round(value + more, 6)


def other_distance(edge: int, leg: Leg, stretch: float) -> Slip | None:
    """The distance misread in a way that is none of the usual; None where nobody would book it as one leg."""
    value, unit = leg.distance.value * stretch, leg.distance.unit
    if not _can_be_a_leg(value, unit):
        return None
    return Slip(
        edge=edge,
        slip=OTHER_DISTANCE,
        reading=f"{_ABOUT}{value:.0f}{unit.value}",
        written=leg.distance.written,
        stretch=stretch,
        rank=2.0 * UNCOMMON_SLIP,
    )


def one_length(slip: Slip, vague: Slip) -> bool:
    """Whether a slip of a distance comes to the length of the same leg that only the closure, or the key, names."""
    near = abs(slip.stretch - vague.stretch) <= _ONE_FIGURE_SHARE * vague.stretch
    return slip.edge == vague.edge and slip.stretch != 1.0 and near


def other_bearing(edge: int, leg: Leg, turn_deg: float) -> Slip:
    """The bearing misread in a way that is none of the usual, by so much and to the whole degree."""
    azimuth = float(round(leg.bearing.azimuth_deg + turn_deg))
    return Slip(
        edge=edge,
        slip=OTHER_BEARING,
        reading=f"{_ABOUT}{bearing_text(azimuth, quadrant=is_quadrant(leg.bearing.written))}",
        written=leg.bearing.written,
        turn_deg=wrap_180(azimuth - leg.bearing.azimuth_deg),
        rank=2.0 * UNCOMMON_SLIP,
    )


def _can_be_a_leg(value: float, unit: Unit) -> bool:
    """Whether anybody would count or tape so much and book it as one leg."""
    least, most = LEG_FIGURES
    return least <= value <= (most if unit is not Unit.FEET else most / METRES_PER_FOOT)


def _slopes(edge: int, leg: Leg) -> Iterator[Slip]:
    slope = leg.slope
    if slope is None or slope.value == 0.0:
        return
    mark = "%" if slope.kind is SlopeKind.GRADE else ""
    written = slope.written
    yield Slip(
        edge=edge,
        slip="sign of the slope lost",
        reading=f"{-slope.value:+g}{mark}",
        written=written,
        tilt=-1.0,
    )
    was = slope_rad(slope)
    if abs(was) < LEVEL_RAD:
        return
    for other in (slope.value * 10.0, slope.value / 10.0):
        if abs(other) <= STEEP_TO_PACE_DEG and abs(other) >= 0.5:
            after = replace(slope, value=other)
            words = f"10 times too {'gentle' if abs(other) > abs(slope.value) else 'steep'}"
            yield Slip(
                edge=edge,
                slip=f"slope {words}",
                reading=f"{other:+g}{mark}",
                written=written,
                tilt=slope_rad(after) / was,
                rank=RARE_SLIP,
            )
    for off in (-10.0, 10.0):  # `+14` for `+4`, and the other way round
        other = abs(slope.value) + off
        if 0.0 < other <= STEEP_TO_PACE_DEG:
            meant = math.copysign(other, slope.value)
            yield Slip(
                edge=edge,
                slip=f"slope too {'steep' if off < 0.0 else 'gentle'} by 10{mark or ' degrees'}",
                reading=f"{meant:+g}{mark}",
                written=written,
                tilt=slope_rad(replace(slope, value=meant)) / was,
                rank=RARE_SLIP,
            )
    if slope.kind is SlopeKind.DEGREES:
        tilt, words, mark = math.atan(slope.value / 100.0) / was, _PER_CENT, "%"
    elif abs(slope.value) < 90.0:
        tilt, words, mark = math.radians(slope.value) / was, _DEGREES, ""
    else:
        return
    yield Slip(
        edge=edge, slip=words, reading=f"{slope.value:+g}{mark}", written=written, tilt=tilt, rank=RARE_SLIP
    )


def _legs(edge: int, leg: Leg, before: Leg | None) -> Iterator[Slip]:
    """A leg that is one too many, or that stands for two alike; the surer where it says what the line above says."""
    written = f"{leg.bearing.written} {leg.distance.written}"
    same = (
        before is not None
        and before.bearing.azimuth_deg == leg.bearing.azimuth_deg
        and before.distance.value == leg.distance.value
        and before.distance.unit is leg.distance.unit
    )
    yield Slip(
        edge=edge,
        slip=TWICE,
        reading=GONE_BEFORE,
        written=written,
        stretch=0.0,
        rank=0.0 if same else RARE_SLIP,
    )


def _same_quadrant(read: float, off: float) -> bool:
    """Whether the quadrant angle may be changed so and keep its letters."""
    return int(read // 90.0) % 4 == int(wrap_360(read + off) // 90.0) % 4 and abs(off) < 90.0
