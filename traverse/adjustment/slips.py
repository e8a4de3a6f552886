"""The slips people make in a reading, as other readings that the page may have said."""

from __future__ import annotations

import re
from collections.abc import Iterator

from traverse.angle import wrap_180, wrap_360
from traverse.length import METRES_PER_FOOT
from traverse.log.records import Leg, North, Unit
from traverse.record import record

RARE = 2.4
"""Added to the rank of a slip less common than the rest: twice the logarithm of how much less."""

_QUADRANT = re.compile(r"\s*[NS].*\d.*[EW]\s*$", re.IGNORECASE)


@record(frozen=True, slots=True, kw_only=True)
class Slip:
    """One leg with one reading changed."""

    edge: int
    slip: str
    """In trade words."""
    reading: str
    """What the page may have said."""
    turn_deg: float = 0.0
    """Added to the fore bearing."""
    stretch: float = 1.0
    """The distance is multiplied by it."""
    tilt: float = 1.0
    """The slope is multiplied by it."""
    rank: float = 0.0


def slips_of(edge: int, leg: Leg, declination_deg: float) -> Iterator[Slip]:
    """Every slip that one leg can be tried with."""
    yield from _bearings(edge, leg, declination_deg)
    yield from _distances(edge, leg)
    if leg.slope is not None and leg.slope.value != 0.0:
        shown = f"{-leg.slope.value:+g}{'%' if leg.slope.kind.value == 'grade' else ''}"
        yield Slip(edge=edge, slip="sign of the slope lost", reading=shown, tilt=-1.0)


def _bearings(edge: int, leg: Leg, declination_deg: float) -> Iterator[Slip]:
    read = leg.bearing.azimuth_deg
    quadrant = bool(_QUADRANT.match(leg.bearing.written))

    def slip(words: str, azimuth: float, *, rank: float = 0.0) -> Slip:
        return Slip(
            edge=edge,
            slip=words,
            reading=bearing_text(azimuth, quadrant=quadrant),
            turn_deg=wrap_180(azimuth - read),
            rank=rank,
        )

    yield slip("bearing reversed", read + 180.0)
    if quadrant:
        if read % 180.0 != 0.0:
            yield slip("E and W exchanged", -read)
        if read % 180.0 != 90.0:
            yield slip("N and S exchanged", 180.0 - read)
    for step, rank in ((10.0, 0.0), (100.0, 0.0), (20.0, RARE)):
        for off in (-step, step):
            if quadrant and not _same_quadrant(read, off):
                continue
            way = "large" if off < 0.0 else "small"
            yield slip(f"bearing {step:.0f} degrees too {way}", read + off, rank=rank)
    for other in _exchanged(read, quadrant=quadrant):
        yield slip("digits exchanged", other)
    if leg.conditions.bearings is North.MAGNETIC and declination_deg != 0.0:
        yield slip("declination applied twice", read - declination_deg)


def _distances(edge: int, leg: Leg) -> Iterator[Slip]:
    value, unit = leg.distance.value, leg.distance.unit

    def slip(words: str, other: float, written: Unit, stretch: float, *, rank: float = 0.0) -> Slip:
        return Slip(edge=edge, slip=words, reading=f"{other:g}{written.value}", stretch=stretch, rank=rank)

    if unit is Unit.METRES:
        yield slip("feet taken for metres", value, Unit.FEET, METRES_PER_FOOT)
        return
    if unit is Unit.FEET:
        yield slip("metres taken for feet", value, Unit.METRES, 1.0 / METRES_PER_FOOT)
        return
    for lost, rank in ((100.0, 0.0), (10.0, RARE), (20.0, RARE), (50.0, RARE)):
        yield slip(f"{lost:.0f} paces dropped", value + lost, unit, (value + lost) / value, rank=rank)
        if value > lost:
            yield slip(f"{lost:.0f} paces too many", value - lost, unit, (value - lost) / value, rank=rank)
    yield slip("double paces counted as single", 2.0 * value, unit, 2.0, rank=RARE)
    yield slip("single paces counted as double", value / 2.0, unit, 0.5, rank=RARE)


def _same_quadrant(read: float, off: float) -> bool:
    """Whether the quadrant angle may be changed so and keep its letters."""
    return int(read // 90.0) % 4 == int(wrap_360(read + off) // 90.0) % 4 and abs(off) < 90.0


def _exchanged(read: float, *, quadrant: bool) -> list[float]:
    """Bearings with two neighbouring digits exchanged."""
    angle = quadrant_angle(read)[1] if quadrant else read
    whole, rest = divmod(angle, 1.0)
    digits = f"{int(whole):02d}" if quadrant else f"{int(whole):03d}"
    found: list[float] = []
    for i in range(len(digits) - 1):
        other = digits[:i] + digits[i + 1] + digits[i] + digits[i + 2 :]
        if other == digits or int(other) > (90 if quadrant else 359):
            continue
        if quadrant:
            first, _, last = quadrant_angle(read)
            sign = 1.0 if (first, last) in {("N", "E"), ("S", "W")} else -1.0
            found.append(wrap_360((0.0 if first == "N" else 180.0) + sign * (int(other) + rest)))
        else:
            found.append(int(other) + rest)
    return found


def quadrant_angle(azimuth_deg: float) -> tuple[str, float, str]:
    """Azimuth as N or S, an angle of 0 to 90, and E or W.

    >>> quadrant_angle(330.0), quadrant_angle(106.5)
    (('N', 30.0, 'W'), ('S', 73.5, 'E'))
    """
    azimuth = wrap_360(azimuth_deg)
    last = "E" if azimuth < 180.0 else "W"
    apart = abs(wrap_180(azimuth))
    return ("N", apart, last) if apart <= 90.0 else ("S", 180.0 - apart, last)


def bearing_text(azimuth_deg: float, *, quadrant: bool) -> str:
    """A bearing as it would stand on the page.

    >>> bearing_text(330.0, quadrant=True), bearing_text(47.5, quadrant=False), bearing_text(7, quadrant=False)
    ('N30W', '047.5', '007')
    """
    if quadrant:
        first, angle, last = quadrant_angle(azimuth_deg)
        return f"{first}{angle:g}{last}"
    azimuth = round(wrap_360(azimuth_deg), 6) % 360.0
    whole, rest = divmod(azimuth, 1.0)
    return f"{int(whole):03d}{f'{rest:.6f}'.rstrip('0').rstrip('.')[1:]}"
