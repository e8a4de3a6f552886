"""Figures of the exports: how many digits each kind of value is written to."""

from __future__ import annotations

from traverse.angle import wrap_360
from traverse.settled import settled

_AWAY = 1.0 + 1e-10
"""Takes a figure of six places off the half of its last, where a last bit would decide."""


def length(metres: float | None) -> float | None:
    """To 0.0001 m; never minus zero."""
    return None if metres is None else settled(float(metres), 4)


def angle(degrees: float | None) -> float | None:
    """To 0.000001 degree; an azimuth that would be rounded to 360 is 0.

    >>> angle(359.9999999), angle(-0.0), angle(None)
    (0.0, 0.0, None)
    """
    if degrees is None:
        return None
    rounded = settled(float(degrees), 6)
    return wrap_360(rounded) if rounded >= 360.0 else rounded


def degree(degrees: float | None) -> float | None:
    """Longitude or latitude, to 0.00000001 degree."""
    return None if degrees is None else settled(float(degrees), 8)


def significant(value: float | None) -> float | None:
    """To six figures.

    >>> significant(123.4567891)
    123.457
    """
    return None if value is None else float(f"{value * _AWAY:.6g}") + 0.0
