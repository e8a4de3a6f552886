"""Angles on the compass: azimuths, differences, quadrant bearings and compass points."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence

from traverse.numerals import neighbours_exchanged
from traverse.settled import settled

_QUADRANT = re.compile(r"\s*[NS].*\d.*[EW]\s*$", re.IGNORECASE)

POINTS = (
    "N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW",
)  # fmt: skip
"""The sixteen points, each 22.5 degrees on from the one before."""

POINT_DEG = {point: 22.5 * index for index, point in enumerate(POINTS)}


def wrap_360(angle_deg: float) -> float:
    """Azimuth in [0, 360).

    >>> wrap_360(-15.0), wrap_360(360.0), wrap_360(-1e-17)
    (345.0, 0.0, 0.0)
    """
    wrapped = math.fmod(angle_deg, 360.0)
    if wrapped < 0.0:
        wrapped += 360.0
    return 0.0 if wrapped >= 360.0 else wrapped


def wrap_180(angle_deg: float) -> float:
    """Difference of two azimuths in (-180, 180].

    >>> wrap_180(358.0 - 4.0), wrap_180(180.0), wrap_180(-180.0)
    (-6.0, 180.0, 180.0)
    """
    wrapped = wrap_360(angle_deg)
    return wrapped - 360.0 if wrapped > 180.0 else wrapped


def axial_difference(first_deg: float, second_deg: float) -> float:
    """Angle between two lines that have no sense, in [0, 90].

    >>> axial_difference(10.0, 185.0)
    5.0
    """
    apart = abs(wrap_180(first_deg - second_deg))
    return min(apart, 180.0 - apart)


def mean_azimuth(azimuths_deg: Sequence[float]) -> tuple[float, float]:
    """Mean direction in [0, 360), and how strongly they agree: the length of the mean vector, 0 to 1.

    Misleads where the strength is near 0: then there is no mean, and north stands for it.

    >>> mean, strength = mean_azimuth([350.0, 10.0])
    >>> round(mean, 6) % 360.0, round(strength, 4)
    (0.0, 0.9848)

    Source: Mardia and Jupp (2000), Directional Statistics, from memory.
    """
    east = settled(math.fsum(math.sin(math.radians(one)) for one in azimuths_deg) / len(azimuths_deg))
    north = settled(math.fsum(math.cos(math.radians(one)) for one in azimuths_deg) / len(azimuths_deg))
    return wrap_360(settled(math.degrees(math.atan2(east, north)))), settled(math.hypot(east, north))


def mean_axis(azimuths_deg: Sequence[float]) -> tuple[float, float]:
    """Mean of lines that have no sense, such as strikes, in [0, 180), and how strongly they agree, 0 to 1.

    Angles are doubled, so that opposite dips of a fold add up to one line.

    >>> mean, strength = mean_axis([10.0, 200.0])
    >>> round(mean, 6), round(strength, 4)
    (15.0, 0.9848)

    Source: Mardia and Jupp (2000), Directional Statistics, from memory.
    """
    mean, strength = mean_azimuth([2.0 * one for one in azimuths_deg])
    return mean / 2.0, strength


def quadrant(first: str, angle_deg: float, last: str) -> float:
    """Azimuth of a quadrant bearing such as N 30 W: from N or S, by an angle of 0 to 90, toward E or W.

    >>> quadrant("N", 30.0, "W"), quadrant("S", 73.5, "E"), quadrant("N", 90.0, "W")
    (330.0, 106.5, 270.0)
    """
    toward_east = last.upper() == "E"
    if first.upper() == "N":
        return wrap_360(angle_deg if toward_east else -angle_deg)
    return wrap_360(180.0 - angle_deg if toward_east else 180.0 + angle_deg)


def nearest_point(azimuth_deg: float, *, points: int = 16) -> str:
    """Compass point nearest to an azimuth, of 4, 8 or 16.

    >>> nearest_point(232.0), nearest_point(97.0, points=4), nearest_point(350.0, points=8)
    ('SW', 'E', 'N')
    """
    step = 360.0 / points
    return POINTS[(math.floor(wrap_360(azimuth_deg) / step + 0.5) % points) * (16 // points)]


def is_quadrant(written: str) -> bool:
    """Whether a bearing was written as a quadrant angle.

    >>> is_quadrant("N 47 E"), is_quadrant("047")
    (True, False)
    """
    return bool(_QUADRANT.match(written))


def quadrant_angle(azimuth_deg: float) -> tuple[str, float, str]:
    """Azimuth as N or S, an angle of 0 to 90, and E or W.

    >>> quadrant_angle(330.0), quadrant_angle(106.5), quadrant_angle(205.0)
    (('N', 30.0, 'W'), ('S', 73.5, 'E'), ('S', 25.0, 'W'))
    """
    azimuth = wrap_360(azimuth_deg)
    last = "E" if azimuth < 180.0 else "W"
    apart = abs(wrap_180(azimuth))
    return ("N", apart, last) if apart <= 90.0 else ("S", 180.0 - apart, last)


def bearing_text(azimuth_deg: float, *, quadrant: bool) -> str:
    """A bearing as it would stand on the page.

    >>> bearing_text(330.0, quadrant=True), bearing_text(47.5, quadrant=False), bearing_text(7, quadrant=False)
    ('N30W', '047.5', '007')
    >>> bearing_text(359.9999999, quadrant=False)
    '000'
    """
    if quadrant:
        first, angle, last = quadrant_angle(azimuth_deg)
        return f"{first}{angle:g}{last}"
    azimuth = round(wrap_360(azimuth_deg), 6) % 360.0
    whole, rest = divmod(azimuth, 1.0)
    return f"{int(whole):03d}{f'{rest:.6f}'.rstrip('0').rstrip('.')[1:]}"


def bearings_exchanged(read_deg: float, *, in_quadrants: bool) -> Iterator[float]:
    """Azimuths of a bearing with two neighbouring digits exchanged, those of its quadrant angle where it was read so.

    >>> list(bearings_exchanged(291.0, in_quadrants=False))
    [219.0]
    """
    first, angle, last = quadrant_angle(read_deg) if in_quadrants else ("N", read_deg, "E")
    whole, rest = divmod(angle, 1.0)
    for other in neighbours_exchanged(f"{int(whole):02d}" if in_quadrants else f"{int(whole):03d}"):
        if int(other) + rest <= 90.0 and in_quadrants:
            yield quadrant(first, int(other) + rest, last)
        elif int(other) < 360 and not in_quadrants:
            yield int(other) + rest
